"""The picture made ready to be looked at: on a telling ground, at its true detail, at about a megapixel."""

import math
from dataclasses import dataclass

import cv2
import numpy as np

from preflight.pixels.detail import Detail
from preflight.pixels.lab import difference, lab_of, lab_of_colours, steps

#: Pixels that colours and fades are looked for in.
WORK_PIXELS = 1.0e6
#: Pictures up to this are looked at as they are: to halve them would leave shadows too narrow to be seen.
WHOLE_PIXELS = 1.7e6
#: Alpha under this shows nothing, above SOLID_ALPHA everything.
CLEAR_ALPHA, SOLID_ALPHA = 16, 240
#: Edges wider than this many pixels are made narrower by reducing the picture.
SOFT = 2.0
#: Share of small steps, and how far those on block edges stand out, in a picture that was a JPEG once.
DISTURBED, BLOCKY = 0.025, 1.2
#: A pixel of the picture is level when its neighbours differ by no more than this in any component.
LEVEL = 4
#: A square whose pixels differ from their neighbours by this much in a component may hold a thin line.
UNEVEN = 48
#: Side of the part looked at for blocks.
BLOCKS_PART = 1600
#: Colours to put under transparent art: the one farthest from all its own is taken.
STAND_INS = (
    (255, 255, 255), (0, 0, 0), (128, 128, 128), (255, 0, 255), (0, 255, 255),
    (255, 255, 0), (0, 255, 0), (0, 0, 255), (255, 0, 0), (255, 128, 0),
)  # fmt: skip
#: A picture is noisy when its small steps are larger than this in the middle, Delta E.
NOISY = 0.5


@dataclass(frozen=True, slots=True)
class Work:
    """The reduced picture.

    Attributes:
        raw: uint8 (h, w, 3).
        marks: the same, but where a mark is too thin for the reduction, the pixel of it that stands out most.
        rgb: the same, smoothed by a 3 x 3 median where the picture is lossy.
        lab: that as float32, D65.
        steps: largest Delta E of each pixel to its four neighbours.
        raw_steps: the same of `raw`.
        level: bool (h, w), pixels level with their neighbours in the picture itself; None when that is this one.
        alpha: uint8 (h, w); None when it is opaque.
        scale: pixels of the picture per pixel of this one.
        blur: width of an edge left after the reduction, pixels.
        noise: median small step before smoothing, Delta E.
        lossy: it was compressed with loss, or is as noisy.
    """

    raw: np.ndarray
    marks: np.ndarray
    rgb: np.ndarray
    lab: np.ndarray
    steps: np.ndarray
    raw_steps: np.ndarray
    level: np.ndarray | None
    alpha: np.ndarray | None
    scale: float
    blur: float
    noise: float
    lossy: bool

    @property
    def clear(self) -> np.ndarray | None:
        """Where the art is transparent, bool (h, w); None when it is opaque."""
        return None if self.alpha is None else self.alpha < CLEAR_ALPHA


def stand_in(rgb: np.ndarray, alpha: np.ndarray) -> tuple[int, int, int]:
    """The colour farthest from the opaque colours of transparent art."""
    stride = max(1, int(math.sqrt(rgb.shape[0] * rgb.shape[1] / 40_000)))
    shown = rgb[::stride, ::stride][alpha[::stride, ::stride] >= 128]
    if not len(shown):
        return STAND_INS[0]
    levels, counts = np.unique(shown >> 4, axis=0, return_counts=True)
    levels = levels[counts >= 0.0005 * len(shown)] * 16.0 + 8
    if not len(levels):
        return STAND_INS[0]
    far = difference(lab_of_colours(np.array(STAND_INS))[:, None], lab_of_colours(levels)[None]).min(1)
    return STAND_INS[int(far.argmax())]


def laid_on(rgb: np.ndarray, alpha: np.ndarray, ground: tuple[int, int, int]) -> np.ndarray:
    """Transparent art on a ground: uint8 (h, w, 3), made strip by strip."""
    laid = np.empty_like(rgb)
    rows = max(1, 4_000_000 // max(rgb.shape[1], 1))
    under = np.array(ground, np.uint16)
    for top in range(0, len(rgb), rows):
        part = slice(top, top + rows)
        cover = alpha[part, :, None].astype(np.uint16)
        laid[part] = (rgb[part] * cover + under * (255 - cover) + 127) // 255
    return laid


def reduced(rgb: np.ndarray, alpha: np.ndarray | None, detail: Detail, lossy: bool) -> Work:
    """A picture (already laid on its ground) at its true detail and at about a megapixel."""
    height, width = rgb.shape[:2]
    small, cover, blur = rgb, alpha, detail.blur
    if detail.repeated:
        small = _sampled(rgb, detail.scale)
        cover = None if alpha is None else _sampled(alpha, detail.scale)
        blur = 1.0
    elif blur > SOFT:
        factor = int(blur)  # no more than it was enlarged: narrow strokes would have no level pixel left
        small, cover = _averaged(rgb, factor), None if alpha is None else _averaged(alpha, factor)
        blur /= factor
    pixels = small.shape[0] * small.shape[1]
    cell = 1 if pixels <= WHOLE_PIXELS else math.ceil(math.sqrt(pixels / WORK_PIXELS))
    small, marks, cover, level = _flattest(small, cover, cell)
    lab = lab_of(small)
    step = steps(lab)
    low = step[step < 12]
    noise = float(np.median(low)) if low.size else 0.0
    lossy = lossy or noise > NOISY or (detail.scale == 1 and _was_compressed(rgb, low))
    raw, raw_step = small, step
    if lossy:
        small = cv2.medianBlur(small, 3)
        lab = lab_of(small)
        step = steps(lab)
    scale = max(height / small.shape[0], width / small.shape[1])
    return Work(raw, marks, small, lab, step, raw_step, level, cover, scale, blur / cell, noise, lossy)


def _was_compressed(rgb: np.ndarray, low: np.ndarray) -> bool:
    """Whether a picture without loss was a JPEG once: its small steps are many, and sit on the edges of 8 x 8 blocks."""
    if not low.size or np.mean((low > 0.3) & (low < 3)) < DISTURBED:
        return False
    luma = cv2.cvtColor(np.ascontiguousarray(rgb[:BLOCKS_PART, :BLOCKS_PART]), cv2.COLOR_RGB2GRAY).astype(
        np.int16
    )
    for axis in (0, 1):
        step = np.abs(np.diff(luma, axis=axis))
        step[step > 8] = 0
        profile = step.mean(1 - axis)
        count = len(profile) // 8 * 8
        if count < 16:
            return False
        phases = np.sort(profile[:count].reshape(-1, 8).mean(0))
        if phases[7] < BLOCKY * (phases[:7].mean() + 1e-3):
            return False
    return True


def _sampled(picture: np.ndarray, scale: float) -> np.ndarray:
    """Repeated pixels taken once each."""
    rows = np.floor((np.arange(max(1, int(picture.shape[0] / scale))) + 0.5) * scale).astype(int)
    columns = np.floor((np.arange(max(1, int(picture.shape[1] / scale))) + 0.5) * scale).astype(int)
    return picture[rows][:, columns]


def _averaged(picture: np.ndarray, factor: int) -> np.ndarray:
    """Reduced by a whole factor, each pixel the mean of its cell."""
    height, width = max(1, picture.shape[0] // factor), max(1, picture.shape[1] // factor)
    part = picture[: height * factor, : width * factor]
    return cv2.resize(part, (width, height), interpolation=cv2.INTER_AREA)


def _flattest(
    rgb: np.ndarray, alpha: np.ndarray | None, cell: int
) -> tuple[np.ndarray, np.ndarray, np.ndarray | None, np.ndarray | None]:
    """Reduced by taking of each cell x cell square the pixel that differs least from its neighbours.

    A mean would make new colours along every edge; the flattest pixel is a colour that the picture really has.  The second
    picture takes of uneven squares the pixel that differs most from that: a thin line has no flat one.  The fourth
    array says which of the first are level with their neighbours in the picture itself; None when nothing was reduced.
    """
    height, width = rgb.shape[0] // cell, rgb.shape[1] // cell
    if cell == 1 or not height or not width:
        return rgb, rgb, alpha, None
    level = np.empty((height, width), bool)
    small = np.empty((height, width, 3), np.uint8)
    marks = np.empty_like(small)
    cover = None if alpha is None else np.empty((height, width), np.uint8)
    strip = max(1, 2_000_000 // (width * cell * cell))
    for top in range(0, height, strip):
        bottom = min(height, top + strip)
        above, below = max(0, top * cell - 1), min(len(rgb), bottom * cell + 1)
        red, green, blue = cv2.split(
            cv2.morphologyEx(rgb[above:below], cv2.MORPH_GRADIENT, np.ones((3, 3), np.uint8))
        )
        uneven = cv2.max(cv2.max(red, green), blue)[top * cell - above :][
            : (bottom - top) * cell, : width * cell
        ]
        choice, least, most = _extremes(uneven, cell)
        level[top:bottom] = least <= LEVEL
        rows = np.arange(top, bottom)[:, None] * cell + choice // cell
        columns = np.arange(width)[None] * cell + choice % cell
        small[top:bottom] = rgb[rows, columns]
        marks[top:bottom] = _outstanding(rgb, small[top:bottom], most > UNEVEN, top, cell)
        if cover is not None and alpha is not None:
            cover[top:bottom] = alpha[rows, columns]
    return small, marks, cover, level


def _extremes(values: np.ndarray, cell: int) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Of each cell x cell square: where (row by row) its least value is first met, that value, and its greatest."""
    least = values[::cell, ::cell].copy()
    most = least.copy()
    choice = np.zeros(least.shape, np.int64)
    for number in range(1, cell * cell):
        part = values[number // cell :: cell, number % cell :: cell]
        lower = part < least
        np.copyto(least, part, where=lower)
        np.copyto(choice, number, where=lower)
        np.maximum(most, part, out=most)
    return choice, least, most


def _outstanding(rgb: np.ndarray, small: np.ndarray, uneven: np.ndarray, top: int, cell: int) -> np.ndarray:
    """A strip of a reduced picture that starts at row `top`; in uneven squares, the pixel that differs most from it."""
    marks = small.copy()
    ys, xs = np.nonzero(uneven)
    rows, columns = (ys + top)[:, None] * cell, xs[:, None] * cell
    inner = np.arange(cell * cell)
    own = rgb[rows + inner // cell, columns + inner % cell].astype(np.int16)
    apart = np.abs(own - small[ys, xs][:, None]).sum(2).argmax(1)
    marks[ys, xs] = rgb[rows[:, 0] + apart // cell, columns[:, 0] + apart % cell]
    return marks
