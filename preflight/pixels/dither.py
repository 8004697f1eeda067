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
#: Dithered places have so many blocks side by side, and cover this part of the picture.
SIDE, LEAST_SHARE = 2, 0.004
#: The mean that the eye sees is taken with this deviation, pixels; and by cells of so many of them the colours are counted.
BLUR, CELL = 2.5, 4
#: Samples that tell a picture of more colours.
SAMPLES = 40_000


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
    if _colours(rgb[::stride, ::stride]) > MOST_COLOURS or (count := _colours(rgb)) > MOST_COLOURS:
        return None
    alone, small = _counted(rgb)
    dots = (alone > ALONE_PART) & (small <= FEW_SMALL)
    kernel = np.ones((SIDE, SIDE), np.uint8)
    dots = cv2.morphologyEx(dots.astype(np.uint8), cv2.MORPH_OPEN, kernel)
    if dots.mean() < LEAST_SHARE or not dots.any():
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
    """How many colours a picture has."""
    code = rgb[..., 0].astype(np.int32) << 16
    code |= rgb[..., 1].astype(np.int32) << 8
    code |= rgb[..., 2]
    met = np.zeros(1 << 24, bool)
    met[code.ravel()] = True
    return int(np.count_nonzero(met))


def _counted(rgb: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """By block: the part of its pixels that stand alone, and the part of its changes that are small; float (rows, columns)."""
    around = np.array([[0, 1, 0], [1, 0, 1], [0, 1, 0]], np.uint8)
    high, low = cv2.dilate(rgb, around), cv2.erode(rgb, around)
    up = cv2.subtract(rgb, high)  # lighter than all four neighbours by so much
    down = cv2.subtract(low, rgb)
    alone = _most(cv2.max(up, down)) >= STEP
    across = _most(cv2.absdiff(rgb[:, 1:], rgb[:, :-1]))
    changes = cv2.copyMakeBorder(across, 0, 0, 0, 1, cv2.BORDER_CONSTANT, value=0)
    changed, small = _by_block(changes > 0), _by_block((changes > 0) & (changes < STEP))
    return _by_block(alone), small / np.maximum(changed, 1e-6)


def _most(picture: np.ndarray) -> np.ndarray:
    """The largest component of each pixel."""
    red, green, blue = cv2.split(picture)
    return cv2.max(cv2.max(red, green), blue)


def _by_block(mask: np.ndarray) -> np.ndarray:
    """The part of each block that is set."""
    rows, columns = mask.shape[0] // BLOCK, mask.shape[1] // BLOCK
    whole = mask[: rows * BLOCK, : columns * BLOCK].astype(np.float32)
    return cv2.resize(whole, (columns, rows), interpolation=cv2.INTER_AREA)
