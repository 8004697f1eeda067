"""A labelled set of bitmaps: flat art, gradients, shadows, photographs, halftones, textures, grounds, in eleven parts.

Everything is drawn anew from a seed, so the truth is known before a pixel is looked at.  The first is for tuning; the
others have their own seeds.  Failures of the second and the fourth have been looked at, and figures of the third; nothing
was tuned on the fifth before its table was printed, and its failures were looked at after; so it was with the sixth, whose
failures were mended since: it is seen like the others.  The seventh was run once, and false and missed fades and
halftones of it were mended since.  The eighth was run once, and its failures were looked at and mended after: it is seen
too.  The ninth was run once; three flat pictures of it that were taken to fade have been looked at and mended since, so it is
seen.  The tenth was run once and its table read: the hatching of other pictures was mended after.  The eleventh was
run once, and nothing was tuned on it: every figure that is asked for was reached.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass, field

import cv2
import numpy as np

import tone_marks
from tone_art import (
    RESAMPLING,
    Layout,
    compressed,
    countable,
    difference,
    enlarged,
    flat_art,
    hexed,
    labels,
    layout,
    palette,
    photograph,
    render,
    scanned,
    shapes,
)

SEEDS = {
    1: 20_417,
    2: 77_003,
    3: 55_511,
    4: 90_127,
    5: 612_839,
    6: 480_733,
    7: 722_980,
    8: 401_568,
    9: 538_261,
    10: 874_519,
    11: 316_087,
}
Box = tuple[int, int, int, int]
#: Sizes in megapixels and how often each is drawn: most clients send small ones.
SIZES = ((0.42, 0.5), (0.8, 0.25), (2.0, 0.15), (5.0, 0.06), (12.0, 0.03), (20.0, 0.01))
#: A shadow is seen where it darkens the sheet by this part, over at least so many 700ths of the picture's width.
SEEN_SHADOW, SEEN_WIDTH = 0.06, 3
#: A place is asked for when its colours span this much, CIEDE2000, and it has this share of the picture.
SEEN_FADE, LEAST_PLACE = 4.0, 0.0008


@dataclass
class Sample:
    """One labelled bitmap.  `colours` is None where the number of inks is not asked for."""

    name: str
    kind: str  # flat, gradient, shadow, photograph, halftone, texture, thin, ground
    treatment: str
    rgb: np.ndarray
    alpha: np.ndarray | None = None
    lossy: bool = False
    quality: int | None = None
    colours: list[tuple[int, int, int]] | None = None
    boxes: list[Box] = field(default_factory=list)
    scale: float = 1.0
    repeated: bool = False
    period: float | None = None
    ground: str = ""  # "" where it is not asked for
    halo: bool | None = None

    @property
    def megapixels(self) -> float:
        return self.rgb.shape[0] * self.rgb.shape[1] / 1e6


@dataclass(frozen=True)
class Draw:
    """What one sample is drawn with."""

    rng: np.random.Generator
    half: int
    material: str | None
    megapixels: float

    @property
    def width(self) -> int:
        """Width for the size asked for, at the mean proportion of the art."""
        return int(math.sqrt(self.megapixels * 1.28e6))

    @property
    def pool(self) -> tuple[str, ...]:
        return shapes(self.material, self.half)


def sent(draw: Draw, sample: Sample) -> Sample:
    """The sample as a client sends it: without loss, or as a JPEG of quality 50 to 95."""
    quality = draw.rng.choice([0, 0, 50, 60, 75, 85, 92])
    if quality:
        sample.rgb = compressed(sample.rgb, "jpeg", int(quality))
        sample.lossy, sample.quality, sample.treatment = True, int(quality), f"jpeg {quality}"
    return sample


# ------------------------------------------------------------------ kinds


def flat(draw: Draw, treatment: str) -> Sample:
    """Flat art of 1 to 12 colours after one treatment."""
    rng, words = draw.rng, treatment.split()
    scale, width = 1.0, draw.width
    count = int(rng.integers(1, 13)) if words[0] != "up" else int(rng.integers(2, 9))
    if count == 1 and rng.random() < 0.7:
        count = 2
    if words[0] == "up":
        scale = float(words[1])
        width = max(int(width / scale), 200)
    rgb, colours = flat_art(rng, width, count, draw.half, draw.material)
    sample = Sample("", "flat", treatment, rgb, colours=colours)
    if words[0] == "jpeg":
        sample.rgb, sample.lossy, sample.quality = compressed(rgb, "jpeg", int(words[1])), True, int(words[1])
        if words[-1] == "resaved":  # nobody can tell from the file that it was a JPEG once
            sample.lossy, sample.quality = False, None
    elif words[0] == "webp":
        sample.rgb, sample.lossy = compressed(rgb, "webp", int(words[1])), True
    elif words[0] == "gif":
        sample.rgb = compressed(rgb, "gif")
    elif words[0] == "crisp":
        sample.rgb = np.array(colours, np.uint8)[_nearest(rgb, colours)]
    elif words[0] == "up":
        sample.rgb = enlarged(rgb, scale, words[2])
        sample.scale, sample.repeated = scale, words[2] == "nearest"
        if words[-1] == "jpeg":
            sample.rgb, sample.lossy, sample.quality = compressed(sample.rgb, "jpeg", 80), True, 80
    elif words[0] == "scan":
        sample.rgb, sample.lossy, sample.quality = compressed(scanned(rng, rgb), "jpeg", 85), True, 85
    elif words[0] == "tint":  # one half of the sheet about 1 Delta E off: still one ink to the eye
        shift = np.array([2, -1, 2]) * (1 if rgb.mean() < 128 else -1)
        sample.rgb = rgb.astype(int)
        sample.rgb[:, rgb.shape[1] // 2 :] += shift
        sample.rgb = np.clip(sample.rgb, 0, 255).astype(np.uint8)
    elif words[0] == "cutout":
        return cutout(draw)
    return sample


def cutout(draw: Draw) -> Sample:
    """Flat art on nothing."""
    while True:
        art = layout(draw.rng, draw.width, int(draw.rng.integers(2, 8)), draw.pool)
        if countable(labels(art), len(art.colours)):
            break
    art.ground = False
    picture = render(art.svg(), art.width)
    return Sample(
        "", "flat", "cutout", picture[..., :3], picture[..., 3], colours=art.colours[1:], ground="transparent",
        halo=False,
    )  # fmt: skip


def _nearest(rgb: np.ndarray, colours: list[tuple[int, int, int]]) -> np.ndarray:
    return np.stack([np.abs(rgb.astype(int) - c).sum(2) for c in colours]).argmin(0)


def gradient(draw: Draw, shape: str, span: float) -> Sample:
    """Flat art one colour of which is a linear or radial gradient that spans about `span` CIEDE2000."""
    rng = draw.rng
    while True:
        art = layout(rng, draw.width, int(rng.integers(2, 7)), draw.pool)
        index = labels(art)
        which = int(rng.integers(0, len(art.colours)))
        mask = index == which
        if countable(index, len(art.colours)) and mask.mean() > 0.008:
            break
    ys, xs = np.nonzero(mask)
    x0, y0, x1, y1 = int(xs.min()), int(ys.min()), int(xs.max()) + 1, int(ys.max()) + 1
    start = np.array(art.colours[which], float)
    while True:
        end = np.clip(start + rng.normal(0, 2.2 * span, 3), 0, 255)
        if abs(float(difference([start], [end])[0, 0]) - span) < 0.15 * span:
            break
    stops = f'<stop offset="0" stop-color="{hexed(start)}"/><stop offset="1" stop-color="{hexed(end)}"/>'
    if shape == "linear":
        angle = rng.uniform(0, 2 * math.pi)
        along = xs * math.cos(angle) + ys * math.sin(angle)
        near, far = float(along.min()), float(along.max())
        ends = [(t * math.cos(angle), t * math.sin(angle)) for t in (near, far)]
        art.defs = (
            f'<linearGradient id="fade" gradientUnits="userSpaceOnUse" x1="{ends[0][0]}" y1="{ends[0][1]}" '
            f'x2="{ends[1][0]}" y2="{ends[1][1]}">{stops}</linearGradient>'
        )
    else:
        art.defs = (
            f'<radialGradient id="fade" gradientUnits="userSpaceOnUse" cx="{(x0 + x1) / 2}" cy="{(y0 + y1) / 2}" '
            f'r="{max(x1 - x0, y1 - y0) / 2}">{stops}</radialGradient>'
        )
    sheet = Layout(art.width, art.height, [], [], ["url(#fade)"], art.defs)
    art.fills[which] = "url(#fade)"
    _unturned(art, which)
    # A place's colours are those of the paint alone: the edges of a line in one colour span as much as a fade.
    boxes = _joined_boxes(mask, _drawn(sheet))
    return sent(draw, Sample("", "gradient", "png", _drawn(art), boxes=boxes))


def _unturned(art: Layout, which: int) -> None:
    """Gradient coordinates are of the sheet, but a fill is inherited into turned groups: paint the piece through a mask."""
    if which == 0:
        return
    art.defs += f'<mask id="piece"><g fill="#fff" color="#fff">{art.pieces[which - 1]}</g></mask>'
    art.pieces[which - 1] = '<rect width="100%" height="100%" fill="url(#fade)" mask="url(#piece)"/>'


def _drawn(art: Layout) -> np.ndarray:
    return render(art.svg(), art.width)[..., :3]


def shadow(draw: Draw, radius: float) -> Sample:
    """Flat art every shape of which throws a soft shadow; sometimes on nothing, where the shadow is in the alpha."""
    rng = draw.rng
    while True:
        art = layout(rng, draw.width, int(rng.integers(2, 6)), draw.pool)
        if min(difference([art.colours[0]], [(0, 0, 0)])[0]) > 25:  # a shadow on black is not seen
            break
    radius *= draw.width / 700
    strength = rng.uniform(0.35, 0.7)
    clear = rng.random() < 0.25
    shade = np.zeros((art.height, art.width), np.float32)
    picture = np.ones((art.height, art.width, 3), np.float32) * np.array(art.colours[0], np.float32)
    cover = np.zeros_like(shade)
    inked = np.zeros(shade.shape, bool)
    for number, colour in enumerate(art.colours[1:], 1):
        shape = render(art.svg(number), art.width)[..., 3].astype(np.float32) / 255
        move = np.float32([[1, 0, 0.6 * radius], [0, 1, 0.6 * radius]])
        soft = cv2.warpAffine(cv2.GaussianBlur(shape, (0, 0), radius / 2), move, shape.shape[::-1]) * strength
        picture = picture * (1 - soft[..., None]) if not clear else _over(picture, cover, np.zeros(3), soft)
        cover = cover + soft * (1 - cover)
        picture = picture * (1 - shape[..., None]) + np.array(colour, np.float32) * shape[..., None]
        cover = np.maximum(cover, shape)
        shade = np.maximum(shade * (1 - shape), soft)
        shade[shape > 0.02] = 0
        inked |= shape > 0.02
    seen = (shade > SEEN_SHADOW).astype(np.uint8)
    side = max(3, round(SEEN_WIDTH * draw.width / 700))
    mask = cv2.morphologyEx(seen, cv2.MORPH_OPEN, np.ones((side, side), np.uint8)) > 0
    rgb = np.clip(np.rint(picture), 0, 255).astype(np.uint8)
    shown = rgb if not clear else 255 - (255 - rgb) * cover[..., None]
    sample = Sample("", "shadow", "png", rgb, boxes=_joined_boxes(mask, shown, inked))
    if clear:
        sample.alpha = np.rint(255 * cover).astype(np.uint8)
        sample.ground = "transparent"
        return sample
    return sent(draw, sample)


def _over(picture: np.ndarray, cover: np.ndarray, colour: np.ndarray, part: np.ndarray) -> np.ndarray:
    """Colour, not premultiplied, of a layer over what is there."""
    total = part + cover * (1 - part)
    share = np.where(total > 0, part / np.maximum(total, 1e-6), 0)[..., None]
    return picture * (1 - share) + colour * share


def pictured(draw: Draw, whole: bool) -> Sample:
    """A photograph, alone or placed in flat art."""
    picture = photograph(draw.rng, draw.half)
    if whole:
        h, w = picture.shape[:2]
        return sent(draw, Sample("", "photograph", "png", picture, boxes=[(0, 0, w, h)]))
    art = layout(draw.rng, max(draw.width, 500), int(draw.rng.integers(2, 6)), draw.pool)
    rgb = _drawn(art).copy()
    h, w = min(picture.shape[0], int(art.height * 0.8)), min(picture.shape[1], int(art.width * 0.8))
    x, y = int(draw.rng.integers(0, art.width - w)), int(draw.rng.integers(0, art.height - h))
    rgb[y : y + h, x : x + w] = picture[:h, :w]
    return sent(draw, Sample("", "photograph", "png", rgb, boxes=[(x, y, x + w, y + h)]))


def halftone(draw: Draw, number: int) -> Sample:
    """A gradient or a photograph in dots of one ink or of four, all over or within a shape."""
    rng = draw.rng
    w, h = draw.width, int(draw.width * rng.uniform(0.6, 1))
    resolution = int(rng.choice([200, 300, 400, 600]))
    ruling = min(int(rng.integers(30, 66)), int(resolution / 4.2))
    if number % 2:
        angle = rng.uniform(0, 2 * math.pi)
        y, x = np.mgrid[0:h, 0:w]
        along = x * math.cos(angle) + y * math.sin(angle)
        tone = 0.08 + 0.84 * (along - along.min()) / np.ptp(along)
    else:
        grey = cv2.cvtColor(photograph(rng, draw.half), cv2.COLOR_RGB2GRAY)
        tone = cv2.resize(grey, (w, h)).astype(np.float64) / 255 * 0.9 + 0.05
    fine = int(rng.choice([1, 3])) if draw.megapixels < 3 else 1  # dots with and without anti-aliasing
    tone = np.repeat(np.repeat(tone, fine, 0), fine, 1)
    if number % 5 == 4:
        rgb = np.full((h, w, 3), 255.0)
        for angle, ink in zip(
            (15, 75, 0, 45), ((0, 160, 230), (230, 0, 130), (255, 240, 0), (30, 30, 30)), strict=True
        ):
            dots = _dots(tone * 0.6 + 0.35, ruling / resolution / fine, math.radians(angle), fine)
            rgb *= 1 - dots[..., None] * (1 - np.array(ink) / 255)
    else:
        angle = math.radians(float(rng.choice([0, 15, 22.5, 45, 61, 75])))
        dots = _dots(tone, ruling / resolution / fine, angle, fine)[..., None]
        paper, ink = palette(rng, 2, 30)
        rgb = np.array(paper) * (1 - dots) + np.array(ink) * dots
    box = (0, 0, w, h)
    if number % 3 == 0:
        fragment = draw.pool[int(rng.integers(len(draw.pool)))]
        side = int(min(w, h) * 0.7)
        x, y = (w - side) // 2, (h - side) // 2
        svg = (
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {w} {h}" width="{w}" height="{h}">'
            f'<g color="#000" transform="translate({x} {y}) scale({side / 24})">{fragment}</g></svg>'
        )
        cover = render(svg, w)[:h, :w, 3:].astype(np.float64) / 255
        rgb = 255 * (1 - cover) + rgb * cover
        ys, xs = np.nonzero(cover[..., 0] > 0.5)
        box = (int(xs.min()), int(ys.min()), int(xs.max()) + 1, int(ys.max()) + 1)
    sample = Sample(
        "", "halftone", "png", np.rint(rgb).astype(np.uint8), boxes=[box], period=resolution / ruling
    )
    return sent(draw, sample)


def _dots(tone: np.ndarray, frequency: float, angle: float, fine: int) -> np.ndarray:
    """Ink coverage 0 to 1 of a round-dot screen whose dots have the area the tone asks for, reduced `fine` times."""
    y, x = np.mgrid[0 : tone.shape[0], 0 : tone.shape[1]]
    turn = 2 * math.pi * frequency
    c, s = math.cos(angle), math.sin(angle)
    spot = np.cos(turn * (x * c + y * s)) + np.cos(turn * (y * c - x * s))
    levels = np.sort(spot.ravel()[::5])
    threshold = np.searchsorted(levels, spot) / len(levels)
    ink = (tone <= threshold).astype(np.float64)
    h, w = ink.shape[0] // fine, ink.shape[1] // fine
    return ink.reshape(h, fine, w, fine).mean((1, 3))


def texture(draw: Draw, number: int) -> Sample:
    """Flat art whose shapes are filled with a pattern of two flat colours: it does not fade, and is no screen."""
    rng = draw.rng
    count = int(rng.integers(3, 6))
    while True:
        art = layout(rng, draw.width, count, draw.pool)
        if countable(labels(art), count):
            break
    piece, other = 1 + int(rng.integers(0, count - 1)), art.colours[0]
    base = max(4.0, art.width / 160)
    step = base * rng.uniform(1.5, 4)
    kind = ("stripes", "bricks", "spots", "stipple")[number % 4]
    drawing = {
        "stripes": f'<rect width="{step / 2}" height="{step}" fill="{hexed(other)}"/>',
        "bricks": f'<path d="M0 0H{step * 3}M0 {step}H{step * 3}M0 0V{step}M{step * 1.5} {step}V{step * 2}" '
        f'stroke="{hexed(other)}" stroke-width="{max(1.5, step / 5)}"/>',
        "spots": f'<circle cx="{step * 2}" cy="{step * 3}" r="{step}" fill="{hexed(other)}"/>',
        "stipple": "".join(
            f'<circle cx="{rng.uniform(0, 12 * step)}" cy="{rng.uniform(0, 12 * step)}" r="{step / rng.uniform(3, 9)}" '
            f'fill="{hexed(other)}"/>'
            for _ in range(60)
        ),
    }[kind]
    cell = {
        "stripes": (step, step),
        "bricks": (3 * step, 2 * step),
        "spots": (7 * step, 5 * step),
        "stipple": (12 * step,) * 2,
    }[kind]
    art.defs = (
        f'<pattern id="fade" patternUnits="userSpaceOnUse" width="{cell[0]}" height="{cell[1]}" '
        f'patternTransform="rotate({rng.uniform(-60, 60):.1f})">'
        f'<rect width="100%" height="100%" fill="{art.fills[piece]}"/>{drawing}</pattern>'
    )
    art.fills[piece] = "url(#fade)"
    _unturned(art, piece)
    return sent(draw, Sample("", "texture", "png", _drawn(art), colours=art.colours))


def standing(draw: Draw, treatment: str) -> Sample:
    """Art whose ground is asked for: cut out by a wand or cleanly, or in an opaque box."""
    if treatment in ("halo", "clean cut"):
        rgb, alpha = tone_marks.cut_out(draw, treatment == "halo")
        return Sample("", "ground", treatment, rgb, alpha, ground="transparent", halo=treatment == "halo")
    rgb, colours = tone_marks.boxed(draw, treatment == "white box")
    sample = Sample(
        "", "ground", treatment, rgb, colours=colours, ground="white" if treatment == "white box" else "solid"
    )
    return sent(draw, sample)


def _joined_boxes(mask: np.ndarray, rgb: np.ndarray, inked: np.ndarray | None = None) -> list[Box]:
    """Boxes of the places of a mask, places nearer than a fiftieth of the picture taken as one.

    The shadow of one thing (`inked`: where the things that throw it are) is one place, though the thing hides some of it.
    Crumbs are left out, and places where so little of the fade is seen that it is a flat colour to the eye.
    """
    reach = max(3, round(0.02 * min(mask.shape))) | 1
    joined = cv2.morphologyEx(mask.astype(np.uint8), cv2.MORPH_CLOSE, np.ones((reach, reach), np.uint8))
    if inked is not None:
        joined |= inked
    count, numbers = cv2.connectedComponents(joined, connectivity=8)
    numbers[~mask] = 0
    areas = np.bincount(numbers.ravel(), minlength=count)
    most = int(areas[1:].max(initial=0))
    boxes = []
    for number in np.flatnonzero(areas[1:] > max(0.1 * most, LEAST_PLACE * mask.size)) + 1:
        ys, xs = np.nonzero(numbers == number)
        ends = np.percentile(rgb[ys, xs], [4, 96], axis=0)
        if difference(ends[:1], ends[1:])[0, 0] > SEEN_FADE:
            boxes.append((int(xs.min()), int(ys.min()), int(xs.max()) + 1, int(ys.max()) + 1))
    return nested(boxes)


def nested(boxes: list[Box]) -> list[Box]:
    """Boxes made one that lie over each other by half of the smaller (the parts of one shadow around a shape), or in a row: of
    nearly one height, on one level, less than an eighth of it apart (the letters of a word, the bars of a list)."""
    kept: list[Box] = []
    for box in sorted(boxes, key=lambda b: (b[0] - b[2]) * (b[3] - b[1])):
        for number, other in enumerate(kept):
            w = min(box[2], other[2]) - max(box[0], other[0])
            h = min(box[3], other[3]) - max(box[1], other[1])
            smaller = min((b[2] - b[0]) * (b[3] - b[1]) for b in (box, other))
            over = w > 0 and h > 0 and w * h > smaller / 2
            if (
                over
                or _in_a_row((box[0], box[2]), (other[0], other[2]), h, box[3] - box[1], other[3] - other[1])
                or _in_a_row((box[1], box[3]), (other[1], other[3]), w, box[2] - box[0], other[2] - other[0])
            ):
                corners = np.array([box, other])
                x0, y0, x1, y1 = (int(v) for v in (*corners[:, :2].min(0), *corners[:, 2:].max(0)))
                kept[number] = (x0, y0, x1, y1)
                break
        else:
            kept.append(box)
    return kept if len(kept) == len(boxes) else nested(kept)


def _in_a_row(
    one: tuple[int, int], other: tuple[int, int], common: int, height: int, other_height: int
) -> bool:
    """Whether two stretches of one line are close, of things as high as that which share so much of it."""
    gap = max(one[0] - other[1], other[0] - one[1])
    return common > 0.7 * max(height, other_height) and gap < 0.12 * min(height, other_height)


# ------------------------------------------------------------------ the set


def plan() -> list[tuple[str, str]]:
    """Kind and treatment of every sample of one part: 420 of them."""
    flats = ["clean"] * 30 + ["crisp"] * 6 + ["gif"] * 6 + ["scan"] * 8 + ["tint"] * 6 + ["cutout"] * 10
    flats += [f"jpeg {q}" for q in (20, 35) for _ in range(5)]
    flats += [f"jpeg {q}" for q in (50, 65, 75, 85, 95) for _ in range(10)] + ["jpeg 75 resaved"] * 6
    flats += ["webp 50"] * 4 + ["webp 80"] * 4
    flats += [
        f"up {f} {how}{tail}" for f in (1.5, 2, 3, 4, 6) for how in RESAMPLING for tail in ("", " jpeg")
    ]
    kinds = [("flat", t) for t in flats]
    kinds += [
        ("gradient", f"{shape} {span}")
        for shape in ("linear", "radial")
        for span in (8, 15, 30)
        for _ in range(8)
    ]
    kinds += [("shadow", str(radius)) for radius in (6, 9, 14, 20) for _ in range(6)]
    kinds += [("photograph", "whole"), ("photograph", "placed")] * 12
    kinds += [("halftone", str(n)) for n in range(26)] + [("texture", str(n)) for n in range(20)]
    kinds += [
        ("ground", what) for what in ("halo", "clean cut", "white box", "coloured box") for _ in range(12)
    ]
    kinds += [
        ("thin", f"{how} {what}")
        for what in ("alone", "beside")
        for how in ("png", "jpeg", "scan")
        for _ in range(5)
    ]
    kinds += [("texture", "hatched")] * 20
    return kinds


def samples(half: int, material: str | None = None, every: int = 1) -> Iterator[Sample]:
    """The samples of one part, or every n-th of them; each has its own seed, so they can be drawn alone."""
    for number, (kind, treatment) in enumerate(plan()):
        if number % every == 0:
            yield drawn(half, number, kind, treatment, material)


def drawn(
    half: int,
    number: int,
    kind: str,
    treatment: str,
    material: str | None = None,
    most_megapixels: float = 20.0,
) -> Sample:
    """One sample."""
    rng = np.random.default_rng([SEEDS[half], number])
    size = rng.choice([s for s, _ in SIZES], p=[p for _, p in SIZES]) * rng.uniform(1, 1.3)
    draw = Draw(rng, half, material, min(float(size), most_megapixels))
    if kind == "flat":
        sample = flat(draw, treatment)
    elif kind in ("gradient", "shadow"):
        while True:
            words = treatment.split()
            sample = (
                gradient(draw, words[0], float(words[1]))
                if len(words) == 2
                else shadow(draw, float(treatment))
            )
            if sample.boxes:
                break  # else nobody can see that anything fades
    elif kind == "photograph":
        sample = pictured(draw, treatment == "whole")
    elif kind == "halftone":
        sample = halftone(draw, int(treatment))
    elif kind == "ground":
        sample = standing(draw, treatment)
    elif kind == "thin":
        how, what = treatment.split()
        rgb, colours = tone_marks.thin(draw, what == "alone", how)
        sample = Sample("", kind, treatment, rgb, lossy=how != "png", colours=colours)
    elif treatment == "hatched":
        rgb, colours = tone_marks.hatched(draw)
        sample = sent(draw, Sample("", kind, "png", rgb, colours=colours))
    else:
        sample = texture(draw, int(treatment))
    sample.name = f"{half}/{number:03d} {kind} {treatment}"
    return sample
