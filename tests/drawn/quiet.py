"""Good art of the kite fair, drawn relative to a method's own wanted limits: nothing a craftsman would send back."""

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import shapely
from shapely.affinity import rotate, scale, translate
from shapely.geometry.base import BaseGeometry

from drawn.case import name_of
from drawn.paper import (
    BOLD,
    NAVY,
    SERIF,
    Lettering,
    Paper,
    capitals,
    disc,
    height_of,
    lettering,
    rounded,
    smooth,
)
from preflight.methods import methods
from preflight.order import Order

RED, GREEN, YELLOW, SKY = "Poppy red", "Reed green", "Sun yellow", "Sky blue"
#: Thinnest strokes of the bold face and the gaps inside its letters, and hairlines of the face with serifs, in em.
THIN, APERTURE, HAIRLINE = 0.11, 0.11, 0.026
EASE = 1.3
OVERPRINT = {"OP": True, "op": True, "OPM": 1}


@dataclass(frozen=True)
class Comfort:
    """What a method wants for an order, with room to spare: mm."""

    line: float
    gap: float
    cap: float
    trap: float

    @property
    def serif_cap(self) -> float:
        """Capitals in the face with serifs whose hairlines are thick enough."""
        return max(self.cap, self.line / HAIRLINE * height_of("H", SERIF))


def comfort(method: str, order: Order) -> Comfort:
    """From the wanted limits of the rules that apply."""

    def most(*names: str) -> float:
        found = [
            rule.query if rule.query is not None else rule.must
            for rule in methods()[method].rules
            if name_of(rule.measure) in names and rule.applies(order)
        ]
        return max([value for value in found if value], default=0.0)

    line = EASE * max(most("strokes.lines", "contrast.lines_over_white", "strokes.specks"), 0.15)
    gap = EASE * max(most("gaps.gaps", "gaps.between_inks"), 0.15)
    cap = EASE * max(
        most("lettering.cap_height", "lettering.cap_or_equivalent", "lettering.knocked_out_height", "lettering.shortest_letter"),
        most("lettering.x_height") / 0.74, most("lettering.counters") / 0.16 * height_of("H"),
    )  # fmt: skip
    cap = max(cap, line / THIN * height_of("H"), gap / APERTURE * height_of("H"))
    return Comfort(line, gap, cap, EASE * most("gaps.trap"))


def words(text: str, x: float, y: float, c: Comfort, height: float | None = None, **more: Any) -> Lettering:
    """Bold capitals with a little air between the letters."""
    height = height or c.cap
    return capitals(text, x, y, height, spacing=max(c.gap - 0.04 * height, 0.02 * height), **more)


def middled(text: str, x: float, y: float, c: Comfort, height: float | None = None) -> Lettering:
    """The same set about a middle."""
    x0, _, x1, _ = words(text, 0, 0, c, height).bounds
    return words(text, x - (x0 + x1) / 2, y, c, height)


def kite(x: float, y: float, size: float) -> BaseGeometry:
    """A kite: four corners, the lower one long."""
    return shapely.Polygon(
        [(x, y), (x + 0.36 * size, y + 0.36 * size), (x, y + size), (x - 0.36 * size, y + 0.36 * size)]
    )


def star(x: float, y: float, radius: float, tips: int = 5, inner: float = 0.45) -> BaseGeometry:
    """A star with sharp tips."""
    points = []
    for n in range(2 * tips):
        r, turn = radius * (inner if n % 2 else 1), math.pi * n / tips
        points.append((x + r * math.sin(turn), y - r * math.cos(turn)))
    return shapely.Polygon(points)


def moon(x: float, y: float, radius: float) -> BaseGeometry:
    """A crescent: its tips run out to nothing."""
    return disc(x, y, radius).difference(disc(x + 0.45 * radius, y - 0.1 * radius, 0.85 * radius))


def wave(x: float, y: float, length: float, height: float, pen: float) -> BaseGeometry:
    """A wavy line with round ends."""
    line = [(x + length * t / 60, y - height / 2 * math.sin(2 * math.pi * 2 * t / 60)) for t in range(61)]
    return shapely.LineString(line).buffer(pen / 2, quad_segs=24)


def on_sheet(*parts: tuple[Any, str | None], margin: float = 4.0, **more: Any) -> Paper:
    """Shapes and lettering with their inks on a sheet just large enough."""
    shapes = [(part.shape if isinstance(part, Lettering) else part) for part, _ in parts]
    x0, y0, x1, y1 = shapely.GeometryCollection(shapes).bounds
    dx, dy = margin - x0, margin - y0
    paper = Paper(x1 - x0 + 2 * margin, y1 - y0 + 2 * margin, **more)
    for (part, ink), shape in zip(parts, shapes, strict=True):
        if isinstance(part, Lettering):  # its curves are kept: the sheet is moved under it
            moved = Lettering(
                _moved(part.operators, dx, dy),
                tuple(tuple((px + dx, py + dy) for px, py in ring) for ring in part.rings),
            )
            paper.fill(moved, ink)
        else:
            paper.fill(translate(shape, dx, dy), ink)
    return paper


def _moved(operators: str, dx: float, dy: float) -> str:
    found, odd = [], True
    for token in operators.split():
        if token in ("m", "l", "c", "h"):
            found.append(token)
            odd = True
        else:
            found.append(f"{float(token) + (dx if odd else dy):.5f}")
            odd = not odd
    return " ".join(found)


# ------------------------------------------------------------------ designs: comfort in, sheet out


def wordmark(c: Comfort, **more: Any) -> Paper:
    """A word and a kite in one ink."""
    word = words("KITE FAIR", 0, 0, c)
    x0, y0, x1, y1 = word.bounds
    size = 1.6 * c.cap
    return on_sheet(
        (word, NAVY), (kite(x0 - 0.36 * size - 0.6 * c.cap, y1 - c.cap / 2 - size / 2, size), NAVY), **more
    )


def ringed(c: Comfort, ring: float = 1.0, **more: Any) -> Paper:
    """An emblem: a ring, arched words inside it, a star in the middle."""
    cap = c.cap
    em = cap / height_of("H")
    spacing = max(1.4 * c.gap - 0.05 * em, 0.05 * em)
    straight = lettering("SALT MARSH KITES", 0, 0, em, BOLD, spacing).bounds
    radius = max((straight[2] - straight[0]) / 3.6, 2.2 * cap)

    def bend(x: float, y: float) -> tuple[float, float]:
        turn = (x - straight[2] / 2) / radius
        return (radius - y) * math.sin(turn), -(radius - y) * math.cos(turn)

    arched = lettering("SALT MARSH KITES", 0, 0, em, BOLD, spacing, bend)
    outer = radius + 1.75 * cap + c.line * ring
    return on_sheet(
        (disc(0, 0, outer).difference(disc(0, 0, outer - 1.2 * c.line * ring)), NAVY),
        (arched, NAVY), (star(0, 0, 0.6 * radius), NAVY),
        **more,
    )  # fmt: skip


def knocked_out(c: Comfort, **more: Any) -> Paper:
    """White words out of a disc."""
    word = middled("TIDE", 0, c.cap / 2, c)
    x0, _, x1, _ = word.bounds
    return on_sheet((disc(0, 0, (x1 - x0) / 2 + 1.1 * c.cap), NAVY), (word, None), **more)


def serifed(c: Comfort, **more: Any) -> Paper:
    """A word with serifs: thin and thick strokes, sharp terminals."""
    cap = c.serif_cap
    return on_sheet((capitals("MARSH", 0, 0, cap, SERIF, spacing=max(c.gap, 0.08 * cap)), NAVY), **more)


def starry(c: Comfort, **more: Any) -> Paper:
    """Stars and a moon: tips that run out to nothing are no thin lines."""
    r = max(8 * c.line, 2.5 * c.cap, 4.0)
    return on_sheet(
        (moon(0, 0, r), NAVY),
        (star(2.2 * r, -0.3 * r, 0.7 * r), NAVY),
        (star(3.4 * r, 0.5 * r, 0.5 * r, 8, 0.55), NAVY),
        **more,
    )


def tide(c: Comfort, **more: Any) -> Paper:
    """Three wavy lines under a sun."""
    length, pitch = 40 * c.line, c.line + 2.5 * c.gap
    waves = [(wave(0, n * pitch, length, pitch * 0.8, 1.1 * c.line), NAVY) for n in range(3)]
    r = length / 5
    return on_sheet((disc(length / 2, -pitch - r - c.gap, r), NAVY), *waves, **more)


def squares(c: Comfort, **more: Any) -> Paper:
    """A chequered flag and a row of dots."""
    side, gap = 3 * max(c.line, c.gap), 1.1 * c.gap
    parts: list[tuple[Any, str | None]] = [
        (shapely.box(x * (side + gap), y * (side + gap), x * (side + gap) + side, y * (side + gap) + side), NAVY)
        for x in range(5) for y in range(3)
    ]  # fmt: skip
    parts += [
        (disc(side / 2 + n * (side + gap), 3 * (side + gap) + side, max(1.2 * c.line, side / 4)), NAVY)
        for n in range(5)
    ]
    return on_sheet(*parts, **more)


def three_inks(c: Comfort, **more: Any) -> Paper:
    """A kite, a reed and a word in three inks that do not touch."""
    size = 3.0 * c.cap
    word = words("OTTER", 0, 0, c)
    _, _, x1, _ = word.bounds
    return on_sheet(
        (word, NAVY), (kite(x1 / 4, -c.cap - 0.6 * c.cap - size, size), RED),
        (rounded(0.62 * x1, -2.4 * c.cap, 0.3 * x1, 0.8 * c.cap, 0.4 * c.cap), GREEN), **more,
    )  # fmt: skip


def trapped(c: Comfort, r: float = 0.0, **more: Any) -> Paper:
    """Red disc in a navy ring, spread into it by an overprinting stroke of twice the trap."""
    r = r or max(3 * c.cap, 6 * c.trap, 5.0)
    paper = Paper(5 * r, 4 * r, **more)
    paper.fill(disc(2.5 * r, 2 * r, 1.8 * r).difference(disc(2.5 * r, 2 * r, r)), NAVY).disc(
        2.5 * r, 2 * r, r, RED
    )
    return paper.stroke(disc(2.5 * r, 2 * r, r).exterior, 2 * c.trap, RED, state=OVERPRINT)


def overprinted(c: Comfort, **more: Any) -> Paper:
    """Black words that overprint a yellow flag: good practice."""
    word = words("WIND", 0, 0, c)
    x0, y0, x1, y1 = word.bounds
    paper = on_sheet(
        (rounded(x0 - c.cap, y0 - c.cap, x1 - x0 + 2 * c.cap, y1 - y0 + 2 * c.cap, c.cap), YELLOW), **more
    )
    return paper.fill(words("WIND", 4 + c.cap - x0, 4 + c.cap - y0, c), "Black", state=OVERPRINT)


def coded(c: Comfort, module: float = 0.6, **more: Any) -> Paper:
    """A QR code with its margin, and words well below it."""
    from drawn.drawn_words import modules

    boxes = [
        shapely.box(x * module, y * module, (x + 1) * module, (y + 1) * module)
        for y, line in enumerate(modules()) for x, on in enumerate(line) if on
    ]  # fmt: skip
    code = shapely.unary_union(boxes)
    side = code.bounds[2]
    return on_sheet(
        (code, "Black"), (middled("TIDE", side / 2, side + 5 * module + c.cap, c), "Black"), **more
    )


def outlined(c: Comfort, **more: Any) -> Paper:
    """A kite drawn with a pen: mitred corners, a string and bows."""
    size = 30 * max(c.line, 0.8 * c.gap)
    frame = kite(0, 0, size)
    paper = Paper(size + 8, 1.4 * size + 8, **more)
    at = (0.5 * size + 4, 5)
    paper.stroke(translate(frame, *at).exterior, 1.1 * c.line)
    string = shapely.LineString(
        [
            (at[0], at[1] + size),
            (at[0] + 0.12 * size, at[1] + 1.15 * size),
            (at[0] - 0.05 * size, at[1] + 1.3 * size),
        ]
    )
    paper.stroke(string, 1.1 * c.line, more="1 j 1 J")
    return paper.fill(star(at[0], at[1] + 0.36 * size, 0.16 * size))


def leaf(c: Comfort, **more: Any) -> Paper:
    """Leaves: lens shapes with sharp ends, a white vein knocked out of one."""
    r = max(14 * c.line, 10 * c.gap, 5)
    lens = disc(0, -0.6 * r, r).intersection(disc(0, 0.6 * r, r))
    vein = shapely.box(-0.45 * r, -0.55 * c.gap, 0.45 * r, 0.55 * c.gap)
    return on_sheet(
        (rotate(lens, 20), NAVY),
        (rotate(vein, 20, origin=(0, 0)), None),
        (translate(rotate(lens, -35), 1.9 * r, 0.1 * r), NAVY),
        **more,
    )


def white_sheet(c: Comfort, **more: Any) -> Paper:
    """A word on the white page that drawing programs put behind: on white goods it is nothing."""
    word = words("MARSH", 0, 0, c)
    x0, y0, x1, y1 = word.bounds
    return on_sheet(
        (shapely.box(x0 - 3 * c.cap, y0 - 3 * c.cap, x1 + 3 * c.cap, y1 + 3 * c.cap), None),
        (word, NAVY),
        **more,
    )


def framed(c: Comfort, **more: Any) -> Paper:
    """Words in a plate with round corners and an inner line, knocked out."""
    word = middled("REEDS", 0, c.cap / 2, c)
    x0, _, x1, _ = word.bounds
    out = 1.2 * c.cap + 2.4 * (c.gap + c.line)
    shape = rounded(x0 - out, -c.cap / 2 - out, x1 - x0 + 2 * out, c.cap + 2 * out, 0.8 * c.cap)
    band = shape.buffer(-1.3 * c.line).difference(shape.buffer(-1.3 * c.line - 1.1 * c.gap))
    return on_sheet((shape, NAVY), (band, None), (word, None), **more)


def lone_dot(c: Comfort, **more: Any) -> Paper:
    """Lower-case words: dots of i and j, round bowls, a full stop."""
    em = c.cap / height_of("x")
    return on_sheet((lettering("tidal union.", 0, 0, em, BOLD, max(c.gap - 0.03 * em, 0)), NAVY), **more)


def bunting(c: Comfort, **more: Any) -> Paper:
    """Pennants on a string: their corners sit on it and come to sharp points."""
    side, pen = 10 * max(c.line, c.gap), 1.3 * c.line
    flags = [
        (shapely.Polygon([(x, 0), (x + side, 0), (x + side / 2, 1.4 * side)]), NAVY)
        for x in [n * (side + 1.6 * c.gap) for n in range(4)]
    ]
    return on_sheet((shapely.box(-side / 2, -pen, 4 * (side + 1.6 * c.gap), 0.01), NAVY), *flags, **more)


def compass(c: Comfort, **more: Any) -> Paper:
    """A compass rose: long thin tips, notches that close at the middle, a ring round it."""
    r = 26 * max(c.line, c.gap)
    rose = star(0, 0, r, 8, 0.5).union(star(0, 0, 1.25 * r, 4, 0.3))
    outer = 1.25 * r + 2.2 * c.gap + 1.3 * c.line
    return on_sheet(
        (disc(0, 0, outer).difference(disc(0, 0, outer - 1.2 * c.line)), NAVY), (rose, NAVY), **more
    )


def snowflake(c: Comfort, **more: Any) -> Paper:
    """Branches that meet: arms with side arms, and acute notches between them."""
    r, pen = 30 * max(c.line, 0.9 * c.gap), 1.4 * c.line
    arm = shapely.box(-pen / 2, -r, pen / 2, 0)
    for at in (0.45, 0.75):
        for side in (-1, 1):
            twig = shapely.LineString([(0, -at * r), (side * 0.25 * r, -(at + 0.16) * r)]).buffer(
                pen / 2, quad_segs=16
            )
            arm = arm.union(twig)
    return on_sheet(
        (shapely.unary_union([rotate(arm, 60 * n, origin=(0, 0)) for n in range(6)]), NAVY), **more
    )


def spiral(c: Comfort, **more: Any) -> Paper:
    """A shell: a spiral of even width, its turns well apart."""
    pitch = 1.3 * c.line + 1.6 * c.gap
    points = [
        (
            (1.5 + t / 40) * pitch * math.cos(2 * math.pi * t / 40),
            (1.5 + t / 40) * pitch * math.sin(2 * math.pi * t / 40),
        )
        for t in range(121)
    ]
    return on_sheet((shapely.LineString(points).buffer(0.65 * c.line, quad_segs=24), NAVY), **more)


def patchwork(c: Comfort, **more: Any) -> Paper:
    """One ink in pieces that share edges, copies lying on each other, and a stroke of the same ink: no gaps, no lines."""
    side = 12 * max(c.line, c.gap)
    paper = Paper(4 * side + 8, 2 * side + 8, **more)
    for n in range(3):
        paper.box(4 + n * side / 3, 4, side / 3, side)
    paper.disc(4 + 2.2 * side, 4 + side / 2, side / 2).disc(4 + 2.2 * side, 4 + side / 2, side / 2)
    paper.stroke(disc(4 + 2.2 * side, 4 + side / 2, side / 2).exterior, 0.1 * c.line)
    wedge = shapely.Polygon([(4 + 3.3 * side, 4), (4 + 3.3 * side, 4 + side), (4 + 3.0 * side, 4 + side / 2)])
    paper.fill(wedge).fill(scale(wedge, -1, 1, origin=(4 + 3.3 * side, 4)))
    return paper.box(4, 4 + side + 1.5 * c.gap, 3.5 * side, max(1.3 * c.line, side / 6))


def stacked(c: Comfort, **more: Any) -> Paper:
    """Two lines of words, one twice as tall, a rule between them."""
    big, small = middled("SALT", 0, 0, c, 2 * c.cap), middled("MARSH WINDS", 0, 2.4 * c.cap + 2 * c.gap, c)
    rule = shapely.box(-4 * c.cap, 0.6 * c.cap, 4 * c.cap, 0.6 * c.cap + 1.2 * c.line)
    return on_sheet((big, NAVY), (rule, NAVY), (small, NAVY), **more)


def dashed(c: Comfort, **more: Any) -> Paper:
    """A broken line of comfortable dashes round a kite."""
    size, pen = 26 * max(c.line, c.gap), 1.5 * c.line
    paper = Paper(2 * size + 8, 2 * size + 8, **more)
    ring = disc(size + 4, size + 4, 0.9 * size).exterior
    paper.stroke(ring, pen, more=f"[{4 * pen:.4f} {pen + 2.5 * c.gap:.4f}] 0 d")
    return paper.say("[] 0 d").fill(kite(size + 4, 0.5 * size + 4, size))


def blocks(c: Comfort, **more: Any) -> Paper:
    """Three inks in stripes with gaps of bare ground between."""
    wide, high, step = 30 * c.gap, 5 * max(c.line, c.gap), 5 * max(c.line, c.gap) + 1.3 * c.gap
    return on_sheet(
        *((rounded(0, n * step, wide, high, 0.2 * high), ink) for n, ink in enumerate((NAVY, RED, YELLOW))),
        **more,
    )


def heart(c: Comfort, **more: Any) -> Paper:
    """A heart: a sharp notch above, a point below."""
    r = max(6 * c.line, 4.0)
    lobes = disc(-0.7 * r, 0, r).union(disc(0.7 * r, 0, r))
    return on_sheet(
        (
            lobes.union(
                shapely.Polygon([(-1.62 * r, 0.42 * r), (1.62 * r, 0.42 * r), (0, 2.3 * r)]).buffer(0)
            ),
            NAVY,
        ),
        **more,
    )


def gear(c: Comfort, **more: Any) -> Paper:
    """A gear wheel."""
    r = 20 * max(c.line, c.gap)
    teeth = [rotate(shapely.box(-0.16 * r, -1.25 * r, 0.16 * r, 0), 36 * n, origin=(0, 0)) for n in range(10)]
    return on_sheet(
        (shapely.unary_union([disc(0, 0, r), *teeth]).difference(disc(0, 0, 0.4 * r)), NAVY), **more
    )


def sun(c: Comfort, **more: Any) -> Paper:
    """A sun: a disc and eight rays that come to points."""
    r = 12 * max(c.line, c.gap)
    ray = shapely.Polygon([(-0.25 * r, -1.25 * r), (0.25 * r, -1.25 * r), (0, -2 * r)])
    return on_sheet(
        (disc(0, 0, r), NAVY), *((rotate(ray, 45 * n, origin=(0, 0)), NAVY) for n in range(8)), **more
    )


def anchor(c: Comfort, **more: Any) -> Paper:
    """An anchor with an eye."""
    w, r = 1.5 * c.line, 12 * max(c.line, c.gap)
    stock = shapely.box(-w / 2, -r, w / 2, r).union(shapely.box(-0.5 * r, -0.6 * r, 0.5 * r, -0.6 * r + w))
    eye = disc(0, -1.2 * r, 0.25 * r + w).difference(disc(0, -1.2 * r, 0.25 * r + 0.2 * w))
    arms = (
        disc(0, 0.2 * r, r)
        .difference(disc(0, 0.2 * r, r - w))
        .intersection(shapely.box(-2 * r, 0.4 * r, 2 * r, 3 * r))
    )
    return on_sheet((shapely.unary_union([stock, eye, arms]), NAVY), **more)


def target(c: Comfort, **more: Any) -> Paper:
    """Rings round a disc."""
    pitch = 1.3 * (c.line + c.gap)
    radii = [n * pitch + 2 * c.line for n in range(1, 5)]
    return on_sheet(
        (disc(0, 0, 2 * c.line), NAVY),
        *((disc(0, 0, r + 1.3 * c.line).difference(disc(0, 0, r)), NAVY) for r in radii),
        **more,
    )


def mountains(c: Comfort, **more: Any) -> Paper:
    """Dunes with sharp crests, and the moon."""
    u = 10 * max(c.line, c.gap)
    dunes = shapely.Polygon([(0, 0), (2 * u, -2.5 * u), (3.2 * u, -1.2 * u), (4.5 * u, -3 * u), (7 * u, 0)])
    return on_sheet((dunes, NAVY), (disc(6 * u, -3.2 * u, 0.7 * u), NAVY), **more)


def arrow(c: Comfort, **more: Any) -> Paper:
    """A block arrow."""
    u = 6 * max(c.line, c.gap)
    points = [(0, -u / 3), (3 * u, -u / 3), (3 * u, -u), (5 * u, 0), (3 * u, u), (3 * u, u / 3), (0, u / 3)]
    return on_sheet((shapely.Polygon(points), NAVY), **more)


def fish(c: Comfort, **more: Any) -> Paper:
    """A fish with an open eye."""
    r = 9 * max(c.line, c.gap)
    body = disc(0, -0.5 * r, r).intersection(disc(0, 0.5 * r, r))
    tail = shapely.Polygon([(0.7 * r, 0), (1.5 * r, -0.6 * r), (1.3 * r, 0), (1.5 * r, 0.6 * r)])
    return on_sheet(
        (body.union(tail), NAVY), (disc(-0.4 * r, -0.1 * r, max(0.7 * c.gap, 0.08 * r)), None), **more
    )


def speech(c: Comfort, **more: Any) -> Paper:
    """Open words in a bubble."""
    word, p = words("AHOY", 0, 0, c), 1.2 * c.cap
    x0, y0, x1, y1 = word.bounds
    tip = shapely.Polygon([(x0 + p, y1 + p - 0.1), (x0 + 2 * p, y1 + p - 0.1), (x0 + 0.8 * p, y1 + 2 * p)])
    return on_sheet(
        (rounded(x0 - p, y0 - p, x1 - x0 + 2 * p, y1 - y0 + 2 * p, 0.8 * p).union(tip), NAVY),
        (word, None),
        **more,
    )


def chequered(c: Comfort, **more: Any) -> Paper:
    """Squares that meet at their corners."""
    s = 6 * max(c.line, c.gap)
    return on_sheet(
        *(
            (shapely.box(x * s, y * s, x * s + s, y * s + s), NAVY)
            for x in range(6)
            for y in range(4)
            if (x + y) % 2 == 0
        ),
        **more,
    )


def initials(c: Comfort, **more: Any) -> Paper:
    """Two letters in a ring."""
    r = 3 * c.cap
    return on_sheet(
        (disc(0, 0, r).difference(disc(0, 0, r - 1.5 * c.line)), NAVY),
        (middled("SM", 0, 0.6 * c.cap, c, 1.2 * c.cap), NAVY),
        **more,
    )


def year(c: Comfort, **more: Any) -> Paper:
    """Figures."""
    return on_sheet((words("2031", 0, 0, c, 1.4 * c.cap), NAVY), **more)


# ------------------------------------------------------------------ stickers and domes


def sticker(c: Comfort, shape: BaseGeometry, bleed: float = 3.0, cut: bool = True) -> Paper:
    """A coloured ground with bleed, words well inside, a cut line in a spot colour of its own."""
    x, y = shape.centroid.x, shape.centroid.y
    x0, y0, x1, y1 = shape.bounds
    paper = Paper(x1 + bleed + 5, y1 + bleed + 5)
    paper.fill(smooth(shape, bleed), SKY)
    paper.fill(star(x, y - 1.6 * c.cap, 1.4 * c.cap), YELLOW)
    paper.fill(middled("TIDE", x, y + 2.0 * c.cap, c, 1.3 * c.cap), None)
    return paper.cut(shape) if cut else paper


Design = Callable[..., Paper]
__all__ = ["Design", "scale"]
