"""Bitmaps drawn for tests, with their truth: flat art in known colours, and what happens to art before it is sent.

Shapes are drawn here, or taken from generic icon packages when a folder that holds them is given; photographs are those
inside scikit-image's wheel.
"""

import io
import math
import re
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

import cv2
import numpy as np
import resvg_py
import skimage.data
from PIL import Image
from skimage.color import deltaE_ciede2000, rgb2lab

#: Photographs of scikit-image by part of the set: no other part shows those that were tuned on, the first.  The fifth has all
#: the others but the page of print and the handwriting, which a craftsman would call line art badly photographed.
PHOTOGRAPHS = {
    1: ("chelsea", "coins", "grass", "gravel", "hubble_deep_field"),
    2: ("coffee", "brick", "moon", "rocket", "immunohistochemistry"),
    3: ("retina", "motorcycle_left", "cell", "clock_motion"),
    4: ("camera", "page", "text"),
}
PHOTOGRAPHS[5] = (*PHOTOGRAPHS[2], *PHOTOGRAPHS[3], "camera", "motorcycle_right")
PHOTOGRAPHS[6] = PHOTOGRAPHS[5]  # other crops: there are no more
#: Each pixel of the moon stands there twice both ways: to call it enlarged is right, though nobody enlarged it here.
PHOTOGRAPHS[7] = tuple(name for name in PHOTOGRAPHS[6] if name != "moon")
PHOTOGRAPHS[8] = PHOTOGRAPHS[9] = PHOTOGRAPHS[10] = PHOTOGRAPHS[11] = PHOTOGRAPHS[7]
#: Names of icons that may be marks of somebody; the third part is drawn from all others that are not `GENERIC`.
MARKS = "brand|xbox|playstation|currency|flag|badge-"
GENERIC = """alarm anchor apple award balloon battery bell bolt book bookmark box briefcase brush bucket bug bulb cake
calendar camera candy carrot cherry circle clock cloud clover coin compass cookie crown diamond droplet egg eye feather
fish flag flame flask flower folder gear gem ghost gift hammer headphones heart hexagon home hourglass house key lamp leaf
lightning lock magnet map moon mountain mug mushroom music octagon palette paw pentagon pin pizza plant puzzle rocket
sailboat seeding shield ship shirt snowflake spade star stopwatch sun tag tent tree triangle trophy truck umbrella wind""".split()
RESAMPLING = {"nearest": 0, "bilinear": 2, "bicubic": 3, "lanczos": 1}
#: Least share of a picture that a counted colour has, and least radius in pixels of its largest place.
LEAST_SHARE, LEAST_RADIUS = 0.0025, 3.0


# ------------------------------------------------------------------ shapes


def _own_shapes() -> list[str]:
    """Shapes drawn here, each an SVG fragment in a box of 24 x 24, filled with currentColor."""

    def polygon(points: list[tuple[float, float]]) -> str:
        return f'<polygon points="{" ".join(f"{x:.3f},{y:.3f}" for x, y in points)}"/>'

    def around(count: int, radii: tuple[float, ...]) -> list[tuple[float, float]]:
        turn = 2 * math.pi / (count * len(radii))
        return [
            (12 + radii[k % len(radii)] * math.sin(k * turn), 12 - radii[k % len(radii)] * math.cos(k * turn))
            for k in range(count * len(radii))
        ]

    shapes = [polygon(around(n, (11,))) for n in (3, 4, 5, 6, 8)]
    shapes += [polygon(around(n, (11, r))) for n, r in ((4, 4), (5, 4.6), (6, 7), (8, 8), (12, 9))]
    shapes += [
        '<circle cx="12" cy="12" r="10.5"/>',
        '<path fill-rule="evenodd" d="M12 1a11 11 0 1 0 .01 0zM12 6a6 6 0 1 1-.01 0z"/>',
        '<path d="M2 20C2 8 8 3 22 2C22 16 16 22 2 20Z"/>',
        '<path d="M12 21C2 14 1 9 3 6C6 2 11 3 12 7C13 3 18 2 21 6C23 9 22 14 12 21Z"/>',
        '<path d="M12 1C18 9 20 12 20 15.500a8 8 0 0 1-16 0C4 12 6 9 12 1Z"/>',
        '<path d="M1 8H14V3L23 12L14 21V16H1Z"/>',
        '<path d="M9 1H15V9H23V15H15V23H9V15H1V9H9Z"/>',
        '<path d="M4 22L10 2H14L20 22H16L14.600 17H9.400L8 22ZM10.300 14H13.700L12 7Z" fill-rule="evenodd"/>',
        '<path d="M3 2H9V9H15V2H21V22H15V14H9V22H3Z"/>',
        '<path d="M1 12C4 4 8 4 12 12S20 20 23 12V17C20 25 16 25 12 17S4 9 1 17Z"/>',
        '<rect x="1" y="7" width="22" height="10" rx="5"/>',
    ]
    return shapes


@lru_cache(maxsize=4)
def shapes(material: str | None, half: int) -> tuple[str, ...]:
    """SVG fragments in a box of 24 x 24.

    With a folder of icon packages: every second generic icon for the first two parts, and the others for the third and
    fourth: those that are filled, and those that are drawn in outline.  The fifth has the filled ones too, and as many again that
    are strokes; the sixth the filled ones and other strokes; the seventh to the eleventh those again, there being no more.
    """
    if not material:
        return tuple(_own_shapes())
    found = []
    root = Path(material)
    generic = re.compile(rf"({'|'.join(GENERIC)})(-\w+)?-fill|({'|'.join(GENERIC)})")
    other = re.compile(rf"(?!.*({MARKS}|{'|'.join(GENERIC)}))[a-z]+(-[a-z]+)*")
    for path in sorted(root.glob("**/bootstrap-icons*/**/icons/*.svg")) + sorted(
        root.glob("**/*tabler*/**/filled/*.svg")
    ):
        outlined = path.parent.name == "icons" and not path.stem.endswith("-fill")
        if half >= 3 and outlined != (half == 4):
            continue
        if (other if half >= 3 else generic).fullmatch(path.stem):
            text = path.read_text()
            side = float(re.search(r'viewBox="0 0 ([\d.]+)', text)[1])
            inner = text[text.index(">", text.index("<svg")) + 1 : text.rindex("</svg>")]
            found.append(f'<g transform="scale({24 / side})">{inner}</g>')
    if half >= 5:
        strokes = [p for p in sorted(root.glob("**/*tabler*/**/outline/*.svg")) if other.fullmatch(p.stem)]
        every = max(1, len(strokes) // max(1, len(found)))
        for path in strokes[every // 2 * (half - 5) % every :: every]:
            text = path.read_text()
            inner = text[text.index(">", text.index("<svg")) + 1 : text.rindex("</svg>")]
            pen = 'fill="none" stroke="currentColor" stroke-width="2" stroke-linecap="round" stroke-linejoin="round"'
            found.append(f"<g {pen}>{inner}</g>")
    return tuple(found) if half >= 3 else tuple(found[half - 1 :: 2])


@lru_cache(maxsize=4)
def emoji(material: str | None, half: int) -> tuple[str, ...]:
    """Paths of flat colour pictures of the openmoji package, flags and its extras (which carry marks) left out."""
    if not material:
        return ()
    found = sorted(Path(material).glob("**/openmoji*/**/color/svg/*.svg"))
    plain = [str(p) for p in found if not p.stem.startswith(("E", "F", "1F1E", "1F1F", "1F3F4-E"))]
    return tuple(plain[0 if half in (1, 3) else 1 :: 2])


def render(svg: str, width: int, crisp: bool = False) -> np.ndarray:
    """(h, w, 4) uint8, alpha not premultiplied."""
    shape = "crisp_edges" if crisp else "geometric_precision"
    png = resvg_py.svg_to_bytes(svg_string=svg, width=width, shape_rendering=shape)
    return np.asarray(Image.open(io.BytesIO(bytes(png))).convert("RGBA"))


# ------------------------------------------------------------------ colours


def difference(ones: Any, others: Any) -> np.ndarray:
    """CIEDE2000 of sRGB colours 0-255, every one of the first to every one of the second."""
    lab = [rgb2lab(np.asarray(c, float).reshape(-1, 1, 3) / 255).reshape(-1, 3) for c in (ones, others)]
    return deltaE_ciede2000(
        np.repeat(lab[0][:, None], len(lab[1]), 1), np.repeat(lab[1][None], len(lab[0]), 0)
    )


def palette(rng: np.random.Generator, count: int, apart: float = 10) -> list[tuple[int, int, int]]:
    """Colours at least `apart` CIEDE2000 from each other; the first, the ground, is white one time in two."""
    draw = rng.random()
    first = (
        (255, 255, 255)
        if draw < 0.5
        else (0, 0, 0)
        if draw < 0.6
        else tuple(int(c) for c in rng.integers(0, 256, 3))
    )
    found = [first]
    tries = 0
    while len(found) < count:
        tries += 1
        grey = rng.random() < 0.15
        colour = tuple(
            int(c) for c in (np.repeat(rng.integers(0, 256), 3) if grey else rng.integers(0, 256, 3))
        )
        if rng.random() < 0.06:
            colour = (255, 255, 255)
        if difference([colour], found).min() >= apart * (1 if tries < 3000 else 0.8):
            found.append(colour)
    return found


def hexed(colour: Any) -> str:
    return "#" + "".join(f"{round(float(c)):02x}" for c in colour)


# ------------------------------------------------------------------ flat art


@dataclass
class Layout:
    """Flat art as drawn: its SVG in pieces, so that one piece can get another fill."""

    width: int
    height: int
    colours: list[tuple[int, int, int]]
    pieces: list[str]  # one <g> a colour after the first
    fills: list[str]
    defs: str = ""
    ground: bool = True

    def svg(self, only: int | None = None) -> str:
        """The art; or one piece alone in black on nothing."""
        if only is None:
            sheet = f'<rect width="100%" height="100%" fill="{self.fills[0]}"/>' if self.ground else ""
            body = sheet + "".join(
                f'<g fill="{f}" color="{f}">{p}</g>' for f, p in zip(self.fills[1:], self.pieces, strict=True)
            )
        else:
            body = f'<g fill="#000" color="#000">{self.pieces[only - 1]}</g>'
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {self.width} {self.height}" '
            f'width="{self.width}" height="{self.height}"><defs>{self.defs}</defs>{body}</svg>'
        )


def layout(rng: np.random.Generator, width: int, count: int, pool: tuple[str, ...]) -> Layout:
    """Shapes of `count` colours, the ground among them, each one to three times on a sheet."""
    height = int(width * rng.uniform(0.6, 1.0))
    colours = palette(rng, count)
    cells = max(1, math.ceil(math.sqrt(max(count - 1, 1) * rng.uniform(1, 2.2))))
    order = list(rng.permutation(cells * cells))
    pieces: list[str] = ["" for _ in colours[1:]]
    for number, cell in enumerate(order):
        if count < 2 or (number >= count - 1 and rng.random() < 0.5):
            continue
        which = number if number < count - 1 else int(rng.integers(0, count - 1))
        column, row = divmod(int(cell), cells)
        side = min(width, height) / cells * rng.uniform(0.55, 1.0)
        x = column * width / cells + rng.uniform(0, max(width / cells - side, 1))
        y = row * height / cells + rng.uniform(0, max(height / cells - side, 1))
        turn = rng.choice([0, 0, 0, rng.uniform(-40, 40)])
        pieces[which] += (
            f'<g transform="translate({x:.2f} {y:.2f}) scale({side / 24:.4f}) rotate({turn:.1f} 12 12)">'
            f"{pool[int(rng.integers(len(pool)))]}</g>"
        )
    return Layout(width, height, colours, pieces, [hexed(c) for c in colours])


def labels(art: Layout) -> np.ndarray:
    """Number of the colour of each pixel, drawn without anti-aliasing."""
    crisp = render(art.svg(), art.width, crisp=True)[..., :3]
    codes = packed(crisp)
    index = np.full(codes.shape, -1)
    for number, colour in reversed(list(enumerate(art.colours))):
        index[codes == packed(np.array(colour, np.uint8))] = number
    other = index < 0
    if other.any():
        apart = np.abs(crisp[other].astype(np.int32)[:, None] - np.array(art.colours)).sum(2)
        index[other] = apart.argmin(1)
    return index


def packed(rgb: np.ndarray) -> np.ndarray:
    """Three components as one number, many times faster to compare and count: uint8 (..., 3) in, uint32 (...) out."""
    wide = rgb.astype(np.uint32)
    return wide[..., 0] << 16 | wide[..., 1] << 8 | wide[..., 2]


def countable(index: np.ndarray, count: int) -> bool:
    """Whether the eye would count every colour: large and thick enough somewhere."""
    for number in range(count):
        mask = (index == number).astype(np.uint8)
        if mask.mean() < LEAST_SHARE:
            return False
        padded = cv2.copyMakeBorder(mask, 1, 1, 1, 1, cv2.BORDER_CONSTANT, value=0)
        if cv2.distanceTransform(padded, cv2.DIST_L2, 5).max() < LEAST_RADIUS:
            return False
    return True


def flat_art(
    rng: np.random.Generator, width: int, count: int, half: int, material: str | None
) -> tuple[np.ndarray, list[tuple[int, int, int]]]:
    """Anti-aliased flat art and its colours, at this width."""
    pictures = emoji(material, half)
    if pictures and rng.random() < 0.33:
        for _ in range(60):
            found = _emoji_art(pictures[int(rng.integers(len(pictures)))], width)
            if found:
                return found
    while True:
        art = layout(rng, width, count, shapes(material, half))
        if countable(labels(art), count):
            return render(art.svg(), width)[..., :3], art.colours


def _emoji_art(path: str, width: int) -> tuple[np.ndarray, list[tuple[int, int, int]]] | None:
    """A flat colour picture on white with its colours; None when it is ambiguous what the eye would count."""
    svg = Path(path).read_text(encoding="utf-8")
    if re.search(r'Gradient|opacity|filter|<image|style=|<use|id="grid"', svg):
        return None
    svg = re.sub(r"(<svg[^>]*>)", r'\1<rect width="100%" height="100%" fill="#fff"/>', svg, count=1)
    crisp = render(svg, width, crisp=True)[..., :3]
    codes = packed(crisp)
    values, counts = np.unique(codes, return_counts=True)
    share = counts / counts.sum()
    kept = share >= LEAST_SHARE
    if len(values) > 40 or ((share < LEAST_SHARE) & (share > 0.0002)).any():
        return None
    colours = np.stack([values >> 16, values >> 8 & 255, values & 255], 1)
    apart = difference(colours[kept], colours[kept]) + 99 * np.eye(int(kept.sum()))
    if apart.min() < 6:
        return None
    number = np.full(len(colours), -1)
    number[kept] = np.arange(int(kept.sum()))
    if not countable(number[np.searchsorted(values, codes)], int(kept.sum())):
        return None
    return render(svg, width)[..., :3], [tuple(int(v) for v in c) for c in colours[kept]]


# ------------------------------------------------------------------ what happens to art before it is sent


def compressed(rgb: np.ndarray, kind: str, quality: int | None = None) -> np.ndarray:
    """The picture after a trip through a file format."""
    out = io.BytesIO()
    image = Image.fromarray(rgb)
    if kind == "jpeg":
        image.save(out, "JPEG", quality=quality, subsampling=2 if (quality or 0) < 90 else 0)
    elif kind == "webp":
        image.save(out, "WEBP", quality=quality)
    else:
        image.quantize(64, dither=Image.Dither.NONE).save(out, "GIF")
    return np.asarray(Image.open(out).convert("RGB"))


def scanned(rng: np.random.Generator, rgb: np.ndarray) -> np.ndarray:
    """Blurred, greyed and noisy, as from a scanner's glass."""
    soft = cv2.GaussianBlur(rgb.astype(np.float32), (0, 0), 0.8) * 0.95 + 8
    return np.clip(np.rint(soft + rng.normal(0, 3.5, soft.shape)), 0, 255).astype(np.uint8)


def enlarged(rgb: np.ndarray, scale: float, how: str) -> np.ndarray:
    size = (round(rgb.shape[1] * scale), round(rgb.shape[0] * scale))
    return np.asarray(Image.fromarray(rgb).resize(size, RESAMPLING[how]))


def _photograph(name: str) -> np.ndarray:
    """A photograph of the wheel by its name, those without a function of their own included."""
    if hasattr(skimage.data, name):
        return getattr(skimage.data, name)()
    return np.asarray(Image.open(Path(skimage.data.__file__).with_name(f"{name}.png")))


def photograph(rng: np.random.Generator, half: int, least: int = 160) -> np.ndarray:
    """A random crop of one of the half's photographs."""
    names = PHOTOGRAPHS[half]
    whole = _photograph(names[int(rng.integers(len(names)))])
    whole = np.dstack([whole] * 3) if whole.ndim == 2 else whole[..., :3]
    part = rng.uniform(0.6, 1)
    h, w = max(least, int(whole.shape[0] * part)), max(least, int(whole.shape[1] * part))
    y, x = rng.integers(0, max(1, whole.shape[0] - h + 1)), rng.integers(0, max(1, whole.shape[1] - w + 1))
    return np.ascontiguousarray(whole[y : y + h, x : x + w])
