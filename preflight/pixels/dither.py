"""Dithered pictures: shades made of single pixels in a few colours, by error diffusion or by an ordered pattern.

A picture turned into a small palette (216 colours of the web, 8 or 16 of a system, black and white) shows every other colour
as a mixture of pixels (R. Ulichney, "Digital halftoning", 1987, from memory).  Such pixels stand alone: lighter or darker
than all four neighbours by a whole step of the palette, and nothing lies between.  The eye sees their mean.
"""

import math
from dataclasses import dataclass

import cv2
import numpy as np

#: A palette has no more colours than this, and neighbouring ones differ by this much in a component.
MOST_COLOURS, STEP = 256, 24
#: Of so many it is the sheet and one ink, whose dots are printed as they are.
ONE_INK = 2
#: Blocks of so many pixels are dithered when more than the first part of their pixels stand alone, and no more than the second
#: part of what changes in them changes by less than a step of the palette.
BLOCK, ALONE_PART, FEW_SMALL = 16, 0.025, 0.04
#: In a hatching all blocks but those at its sides change one way; of dithered art a quarter do so by no more than this.
HATCHED = 0.65
#: Dithered places have so many blocks side by side, and cover this part of the picture.
SIDE, LEAST_SHARE = 2, 0.004
#: The mean that the eye sees is taken with this deviation, pixels; and by cells of so many of them the colours are counted.
BLUR, CELL = 2.5, 4
#: Samples that tell a picture of more colours.
SAMPLES = 40_000
#: About so many pixels of a large picture are looked at before all of it is; and that by so many at a time, to bound the memory.
LOOKED_AT, STRIP_PIXELS = 2_000_000, 2_000_000


@dataclass(frozen=True, slots=True)
class Dither:
    """Where a picture is dithered.

    Attributes:
        mask: bool (h, w).
        box: around that (left, top, right, bottom), pixels.
        colours: how many colours the whole picture is made of.
    """

    mask: np.ndarray
    box: tuple[int, int, int, int]
    colours: int

    @property
    def part(self) -> float:
        """Of the box that is dithered, 0 to 1."""
        x0, y0, x1, y1 = self.box
        return float(self.mask[y0:y1, x0:x1].mean())


def dither(rgb: np.ndarray) -> Dither | None:
    """Where a picture that was never compressed with loss is dithered, uint8 (h, w, 3); None when it is not."""
    height, width = rgb.shape[:2]
    rows, columns = height // BLOCK, width // BLOCK
    if not rows or not columns:
        return None
    stride = max(1, int(math.sqrt(height * width / SAMPLES)))
    if _colours(rgb[::stride, ::stride]) > MOST_COLOURS or not _looks_dithered(rgb):
        return None
    count = _colours(rgb)
    if count > MOST_COLOURS:
        return None
    strip = max(1, STRIP_PIXELS // (width * BLOCK))  # rows of blocks at a time
    dots, one_way = np.empty((rows, columns), np.uint8), np.empty((rows, columns), np.float32)
    for top in range(0, rows, strip):
        part, own = slice(top, top + strip), min(strip, rows - top)
        pixels = rgb[max(0, top * BLOCK - 1) : (top + strip) * BLOCK + 1]
        dots[part] = _dots(pixels, min(1, top), own)
        one_way[part] = _one_way(pixels[min(1, top) :], own)
    dots = cv2.morphologyEx(dots, cv2.MORPH_OPEN, np.ones((SIDE, SIDE), np.uint8))
    if dots.mean() < LEAST_SHARE or not dots.any():
        return None
    if np.percentile(one_way[dots > 0], 25) > HATCHED:
        return None
    mask = np.zeros((height, width), bool)
    large = np.kron(dots, np.ones((BLOCK, BLOCK), np.uint8)) > 0
    mask[: rows * BLOCK, : columns * BLOCK] = large
    mask[rows * BLOCK :] = mask[rows * BLOCK - 1]  # the rest beside the last blocks
    mask[:, columns * BLOCK :] = mask[:, columns * BLOCK - 1 : columns * BLOCK]
    x, y, w, h = cv2.boundingRect(mask.astype(np.uint8))
    return Dither(mask, (x, y, x + w, y + h), count)


def blurred(picture: np.ndarray, found: Dither) -> np.ndarray:
    """A dithered picture, or its coverage with an ink, as the eye sees it, uint8: the mean where it is dithered."""
    reach = 2 * BLOCK + 1  # the sides of a place have fewer dots
    near = cv2.dilate(found.mask.astype(np.uint8), np.ones((reach, reach), np.uint8)) > 0
    seen = cv2.GaussianBlur(picture, (0, 0), BLUR)
    seen[~near] = picture[~near]
    return seen


def _colours(rgb: np.ndarray) -> int:
    """How many colours a picture has; when they are more than MOST_COLOURS, some number above it."""
    met: set[int] = set()
    rows = max(1, STRIP_PIXELS // rgb.shape[1])
    for top in range(0, len(rgb), rows):
        part = rgb[top : top + rows]
        code = part[..., 0].astype(np.int32) << 16
        code |= part[..., 1].astype(np.int32) << 8
        code |= part[..., 2]
        changed = code.ravel()[1:][np.diff(code.ravel()) != 0]  # few, in flat art
        met.update(np.unique(changed).tolist(), [int(code[0, 0])])
        if len(met) > MOST_COLOURS:
            break
    return len(met)


def _looks_dithered(rgb: np.ndarray) -> bool:
    """Whether any of some rows of blocks, spread evenly, shows dots."""
    rows = rgb.shape[0] // BLOCK
    step = max(1, rgb.shape[0] * rgb.shape[1] // LOOKED_AT)
    return any(
        _dots(rgb[max(0, row * BLOCK - 1) : (row + 1) * BLOCK + 1], min(1, row), 1).any()
        for row in range(step // 2, rows, step)
    )


def _dots(rgb: np.ndarray, above: int, rows: int) -> np.ndarray:
    """The dithered blocks of some rows of them, uint8 (rows, columns): pixels are lighter or darker than all four neighbours
    by a step of the palette.  `above`: how many rows of pixels lie over the first.
    """
    around = np.array([[0, 1, 0], [1, 0, 1], [0, 1, 0]], np.uint8)
    alone = cv2.max(cv2.subtract(rgb, cv2.dilate(rgb, around)), cv2.subtract(cv2.erode(rgb, around), rgb))
    single = _by_block(_most(alone)[above:] >= STEP, rows)
    across = _most(cv2.absdiff(rgb[above:, 1:], rgb[above:, :-1]))
    changes = cv2.copyMakeBorder(across, 0, 0, 0, 1, cv2.BORDER_CONSTANT, value=0)
    changed, small = _by_block(changes > 0, rows), _by_block((changes > 0) & (changes < STEP), rows)
    return ((single > ALONE_PART) & (small <= FEW_SMALL * changed)).astype(np.uint8)


def _one_way(rgb: np.ndarray, rows: int) -> np.ndarray:
    """How far what changes in each block of some rows of them changes one way: the coherence of its structure tensor (J. Bigun
    and G. Granlund, 1987, from memory), 0 to 1.
    """
    luma = cv2.cvtColor(np.ascontiguousarray(rgb), cv2.COLOR_RGB2GRAY)
    across, down = cv2.Sobel(luma, cv2.CV_32F, 1, 0), cv2.Sobel(luma, cv2.CV_32F, 0, 1)
    xx, yy, xy = (_by_block(product, rows) for product in (across * across, down * down, across * down))
    return np.asarray(np.hypot(xx - yy, 2 * xy) / (xx + yy + 1))


def _most(picture: np.ndarray) -> np.ndarray:
    """The largest component of each pixel."""
    return cv2.max(
        cv2.max(cv2.extractChannel(picture, 0), cv2.extractChannel(picture, 1)),
        cv2.extractChannel(picture, 2),
    )


def _by_block(values: np.ndarray, rows: int) -> np.ndarray:
    """The mean of each block, in so many rows of them: of a mask the part that is set."""
    columns = values.shape[1] // BLOCK
    whole = values[: rows * BLOCK, : columns * BLOCK].astype(np.float32)
    return cv2.resize(whole, (columns, rows), interpolation=cv2.INTER_AREA)
