"""The fair's emblems, each drawn at the size it is ordered in: mm from the top left of its sheet."""

from letters import arch, line
from motifs import curlew, kite, otter, otter_head, otter_lines, reeds, swell, tide_clock
from shapes import Shape, cut, ellipse, grown, panel, ribbon, ring, rounded, together, within
from writers import Drawing, Ink

# The palette of the marsh.  The CMYK values are the stand-ins of the spot colours.
MARSH = Ink("Marsh Green", (38, 84, 72), (0.80, 0.35, 0.65, 0.40))
RED = Ink("Kite Red", (200, 56, 46), (0.10, 0.90, 0.85, 0.05))
TIDE = Ink("Tide Blue", (44, 122, 158), (0.80, 0.30, 0.20, 0.10))
SLATE = Ink("Slate", (44, 58, 71), (0.70, 0.50, 0.40, 0.55))
SAND = Ink("Sand", (226, 201, 150), (0.05, 0.18, 0.45, 0.05))
OCHRE = Ink("Reed Ochre", (217, 152, 47), (0.05, 0.42, 0.90, 0.05))
FUR = Ink("Otter Brown", (104, 72, 52), (0.30, 0.60, 0.70, 0.50))
FOAM = Ink("Foam White", (255, 255, 255), (0.0, 0.0, 0.0, 0.0))
BLACK = Ink("Black", (0, 0, 0), (0.0, 0.0, 0.0, 1.0))


def lettered_ring(r: float, inner: float, capitals: float, top: str, bottom: str, spacing: float) -> Shape:
    """A band with its lettering left open, round (r, r)."""
    middle = (r + inner) / 2
    words = [ring(r, r, r, inner), arch(top, capitals, middle - capitals / 2, spacing=spacing, x=r, y=r)]
    if bottom:
        words.append(arch(bottom, capitals, middle + capitals / 2, spacing=spacing, x=r, y=r, below=True))
        for side in (-1, 1):
            words.append(ellipse(r + side * middle, r + capitals * 0.35, capitals * 0.2))
    return together(words)


def fitted(drawing: Drawing, width: float) -> Drawing:
    """The drawing scaled until its art, without empty margins, is `width` wide and fills its sheet."""
    boxes = [shape.box for shape, _ in drawing.layers]
    x0, y0, x1, y1 = (
        pick(values) for pick, values in zip((min, min, max, max), zip(*boxes, strict=True), strict=True)
    )
    s = width / float(x1 - x0)
    layers = [(shape.map(s, 0, 0, s, -x0 * s, -y0 * s), ink) for shape, ink in drawing.layers]
    return Drawing(width, float(y1 - y0) * s, layers)


def otter_badge(r: float = 42.5) -> Drawing:
    """Two inks: an otter's face over the tide, under a kite, in a lettered ring."""
    s = r / 42.5
    inside = ellipse(r, r, 27.2 * s)
    fur, _, nose, lips = (
        part.at(r, r + 4.6 * s, scale=0.362 * s) for part in otter(gap=2.3, mouth=2.8, whisker=2.8)
    )
    crests = (0, 2 * r, r + 16.8 * s, 2.0 * s, 9.0 * s, 2 * r, 0.22)
    water = within(swell(*crests), inside)
    low = swell(0, 2 * r, r + 20.9 * s, 2.0 * s, 9.0 * s, 2 * r, 0.72)
    top = cut(water, swell(0, 2 * r, r + 19.6 * s, 2.0 * s, 9.0 * s, 2 * r, 0.72))
    water = rounded(together([top, within(low, inside)]), 0.3 * s)
    fur, lips = (cut(part, grown(swell(*crests), 1.3 * s)) for part in (fur, lips))
    first, second, _ = (part.at(r, r - 16.9 * s, scale=0.155 * s) for part in kite(gap=6))
    return (
        Drawing(2 * r, 2 * r)
        .add(lettered_ring(r, 29 * s, 6.4 * s, "SALTMARSH KITE FAIR", "OTTER MARSHAL", 0.75 * s), MARSH)
        .add(together([fur, nose, lips]), MARSH)
        .add(water, MARSH)
        .add(together([first, second]), RED)
    )


def reed_club(r: float = 35.0, capitals: float = 5.4) -> Drawing:
    """One colour: reed mace over water in a lettered ring."""
    s = r / 35.0
    inside = ellipse(r, r, 21.6 * s)
    tuft = reeds(3.2).at(r, r - 0.5 * s, scale=0.33 * s)
    water = within(swell(0, 2 * r, r + 12.2 * s, 1.7 * s, 8.6 * s, r + 15 * s), inside)
    deep = within(swell(0, 2 * r, r + 16.6 * s, 1.7 * s, 8.6 * s, 2 * r, 0.5), inside)
    low = cut(water, swell(0, 2 * r, r + 15.3 * s, 1.7 * s, 8.6 * s, 2 * r, 0.5))
    tuft = cut(tuft, swell(0, 2 * r, r + 11.2 * s, 1.7 * s, 8.6 * s, 2 * r))
    return Drawing(2 * r, 2 * r).add(
        together([
            lettered_ring(r, 23.6 * s, capitals * s, "REED BED CLUB", "SALTMARSH", 1.0 * s), tuft, low, deep,
        ]), MARSH,
    )  # fmt: skip


def curlew_mark(width: float = 44.0, ink: Ink = SLATE, words: str = "CURLEW WATCH") -> Drawing:
    """One colour, upright: a curlew in the reeds over two lines."""
    s = width / 44.0
    bird = curlew(2.6).at(width / 2 - 4 * s, 21.4 * s, scale=0.40 * s)
    shore = within(swell(0, width, 45.6 * s, 1.1 * s, 7.33 * s, 47.2 * s), panel(0, 40 * s, width, 47.2 * s))
    text = line(words, 4.5 * s, spacing=0.35 * s, x=width / 2, y=54.2 * s)
    return Drawing(width, 54.4 * s).add(together([bird, shore, text]), ink)


def curlew_tall(width: float = 38.0, height: float = 58.0) -> Drawing:
    """One colour, taller than wide: the curlew on its shore over two lines as wide as the shore."""
    bird = curlew(2.6).at(width * 0.36, 15.6, scale=0.342)
    shore = within(swell(0, width, 36.4, 1.0, width / 6, 37.8), panel(0, 34, width, 37.8))
    words = []
    for text, capitals, y in (("CURLEW", 6.1, 46.6), ("WATCH", 7.6, height + 0.6)):
        bare = line(text, capitals).box
        spread = (width - (bare[2] - bare[0])) / (len(text) - 1)
        words.append(line(text, capitals, spacing=spread, x=width / 2, y=y))
    return fitted(Drawing(width, height).add(together([bird, shore, *words]), SLATE), width)


def kite_mark(
    width: float = 90.0, first: Ink = RED, second: Ink = OCHRE, third: Ink = TIDE, text: Ink = SLATE
) -> Drawing:
    """A kite with its tail beside the fair's name in two lines, a swell beneath."""
    s = width / 90.0
    a, b, tail = (part.at(14.6 * s, 18.0 * s, scale=0.345 * s, turn=10) for part in kite(gap=4.6))
    words = together([
        line("SALTMARSH", 7.6 * s, spacing=0.6 * s, x=60.4 * s, y=21.5 * s),
        line("KITE FAIR", 7.6 * s, spacing=1.55 * s, x=60.4 * s, y=34 * s),
    ])  # fmt: skip
    water = swell(32.6 * s, 88.2 * s, 43 * s, 2.0 * s, 9.27 * s, 60 * s)
    band = cut(water, swell(30 * s, 95 * s, 46.4 * s, 2.0 * s, 9.27 * s, 60 * s, 0.28))
    return (
        Drawing(width, 58.6 * s)
        .add(a, first)
        .add(b, second)
        .add(tail, text)
        .add(words, text)
        .add(band, third)
    )


def tide_mark(width: float = 32.0, ink: Ink = TIDE) -> Drawing:
    """One colour: the tide clock with its name on the dial's rim."""
    r, s = width / 2, width / 32.0
    dial = tide_clock(3.6).at(r, r, scale=0.215 * s)
    words = together([
        arch("TIDE CLOCK", 2.7 * s, r - 3.15 * s, spacing=0.5 * s, x=r, y=r),
        arch("KITE FAIR", 2.7 * s, r - 0.45 * s, spacing=0.5 * s, x=r, y=r, below=True),
    ])  # fmt: skip
    dots = together([ellipse(r + side * (r - 1.8 * s), r, 0.7 * s) for side in (-1, 1)])
    return Drawing(width, width).add(together([dial, words, dots]), ink)


def otter_cap(height: float = 50.0) -> Drawing:
    """Four threads for a cap: an otter's face under its kite, with one word beneath."""
    s = height / 50.0
    w = 62 * s
    fur, face, nose, lips = (
        part.at(w / 2, 17.8 * s, scale=0.47 * s) for part in otter(gap=3.0, mouth=3.4, whisker=3.4)
    )
    word = line("OTTER", 10 * s, spacing=2.4 * s, x=w / 2, y=49.8 * s)
    return Drawing(w, height).add(rounded(fur, 0.5 * s), FUR).add(face, SAND).add(nose, SLATE).add(word, TIDE)


def kite_small(width: float = 58.0) -> Drawing:
    """Two inks: the kite mark cut down for a small plate."""
    return kite_mark(width, RED, RED, TIDE, TIDE)


def fair_map(width: float = 70.0, height: float = 45.0) -> Drawing:
    """Six inks: the fair seen from the sea wall."""
    frame = panel(0, 0, width, height, 4)
    out = Drawing(width, height)
    sky = ellipse(54, 12, 4.9)
    hills = within(swell(0, width, 25, 4, 35, 31), frame)
    hills = cut(hills, sky, gap=0.8)
    marsh = within(cut(swell(0, width, 33, 1.6, 14, 40, 0.4), hills, gap=0.7), frame)
    water = within(cut(swell(0, width, 41.5, 1.2, 7, 50, 0.2), marsh, gap=0.7), frame)
    a, b, tail = (part.at(17, 8.96, scale=0.2, turn=20) for part in kite(gap=6, bows=2))
    reed = reeds(3.4).at(40, 20, scale=0.23)
    hills, marsh = cut(hills, a, b, tail, reed, gap=0.7), cut(marsh, reed, tail, gap=0.7)
    return (
        out.add(sky, OCHRE).add(hills, SAND).add(marsh, MARSH).add(water, TIDE).add(together([a, b]), RED)
        .add(tail, SLATE).add(reed, SLATE)
    )  # fmt: skip


def poster(width: float, height: float, bleed: float) -> Drawing:
    """A sticker of the fair in full colour: kites over the swell; `bleed` mm of colour outside the cut on every side."""
    w, h = width + 2 * bleed, height + 2 * bleed
    b = bleed
    out = Drawing(w, h).add(panel(0, 0, w, h), TIDE)
    out.add(ellipse(b + width * 0.69, b + height * 0.36, height * 0.19), OCHRE)
    for x, y, scale, turn, one, two in (
        (0.22, 0.305, 0.25, 16, RED, SAND), (0.47, 0.24, 0.15, -12, SAND, OCHRE), (0.89, 0.20, 0.11, 20, RED, FOAM),
    ):  # fmt: skip
        first, second, tail = (
            part.at(b + width * x, b + height * y, scale=scale * height / 50, turn=turn)
            for part in kite(gap=0, bows=2)
        )
        out.add(tail, FOAM).add(second, two).add(first, one)
    out.add(within(swell(0, w, b + height * 0.66, 2, 12, h), panel(0, 0, w, h)), MARSH)
    out.add(within(swell(0, w, b + height * 0.90, 1.6, 9, h, 0.3), panel(0, 0, w, h)), SLATE)
    out.add(
        line("SALTMARSH KITE FAIR", height * 0.09, spacing=0.6, x=b + width / 2, y=b + height * 0.815), FOAM
    )
    return out


def dome(size: float = 35.0, bleed: float = 3.0) -> Drawing:
    """A round label: the otter's face on the tide."""
    r = size / 2 + bleed
    s = size / 35.0
    fur, face, nose, lips = (
        part.at(r, r + 2.2 * s, scale=0.205 * s) for part in otter(gap=0, mouth=2.6, whisker=2.4)
    )
    out = Drawing(2 * r, 2 * r).add(panel(0, 0, 2 * r, 2 * r), TIDE)
    out.add(within(swell(0, 2 * r, r + 7 * s, 1.2 * s, 6 * s, 2 * r, 0.2), panel(0, 0, 2 * r, 2 * r)), MARSH)
    out.add(otter_head().at(r, r + 2.2 * s, scale=0.205 * s), SAND).add(fur, FUR).add(nose, SLATE).add(
        lips, SLATE
    )
    return out.add(arch("OTTER MARSHAL", 2.7 * s, 11.6 * s, spacing=0.4 * s, x=r, y=r), FOAM)


def otter_plate(width: float = 60.0) -> Drawing:
    """One colour in wide lines: the otter's face and two words, for a debossing plate."""
    s = width / 60.0
    face = otter_lines(3.0).at(width / 2, 20 * s, scale=0.5 * s)
    word = line("FIELD NOTES", 5.6 * s, spacing=1.3 * s, x=width / 2, y=52 * s)
    return Drawing(width, 52.3 * s).add(together([face, word]), BLACK)


def small_print_badge() -> Drawing:
    """For thread: a sound otter, but whiskers of 0.3 mm, and a lower line whose capitals stand 3.2 mm high."""
    r = 40.72  # the art is then 76 mm wide
    x, y, scale = r, r + 7, 0.36
    fur, face, nose, _ = (part.at(x, y, scale=scale) for part in otter(gap=2.85, mouth=3.4, whisker=0))
    fur = rounded(fur, 0.45)
    whiskers = []
    for start, bend, end in (
        ((53, 4), (62, 2.5), (72, 3.5)),
        ((53, 12), (62, 13), (72, 16.5)),
        ((51.5, 20), (60, 23.5), (69, 29.5)),
    ):
        hair = ribbon([start, bend, end], [0.3 / scale, 0.3 / scale]).at(x, y, scale=scale)
        whiskers += [hair, hair.map(-1, 0, 0, 1, 2 * x, 0)]
    first, second, _ = (part.at(r + 1, r - 19, scale=0.175, turn=14) for part in kite(gap=7.2))
    words = together(
        [
            arch("SALTMARSH KITE FAIR", 5.4, r - 5.55, spacing=1.0, x=r, y=r),
            arch("FLYING AT EVERY SPRING TIDE", 3.2, r - 1.6, spacing=0.75, x=r, y=r, below=True),
        ]
    )
    return fitted(
        Drawing(2 * r, 2 * r)
        .add(ring(r, r, r - 7.4, r - 9.2), TIDE)
        .add(fur, FUR)
        .add(face, SAND)
        .add(together([nose, *whiskers]), SLATE)
        .add(together([first, second]), RED)
        .add(words, SLATE),
        76.0,
    )


def hairline_crest() -> Drawing:
    """For foil: the reed club's crest, with rays of 0.12 mm round it."""
    size = 64.0
    crest = reed_club(22.0)
    out = Drawing(size, size)
    rays = [panel(31.94, 1, 32.06, 8.2).at(0, 0) for _ in range(1)]
    turned = [rays[0].at(-32, -32).at(32, 32, turn=angle) for angle in range(0, 360, 6)]
    rims = together([ring(32, 32, 31.06, 30.94)])
    return out.add(together([*(s.at(10, 10) for s, _ in crest.layers), *turned]), OCHRE).add(rims, OCHRE)
