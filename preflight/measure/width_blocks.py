"""What is narrow in a picture of coverage, noted by small square blocks.

A shape that an opening with a disc as wide as the limit takes away is narrower than the limit.  Grey coverage is kept
down to a tenth, so that a hairline far thinner than a pixel is not overlooked.  Everything here is in pixels.
"""

import math

import cv2
import numpy as np
from scipy.special import erf

#: Columns looked at together; a piece that is all bare or all covered is skipped.
CHUNK = 384
#: Least coverage, of 255, that counts as ink (or of a gap as bare): a dot of 0.05 mm on the corner of four pixels has 10.
LEAST = 8
#: Two pixels beside something wide, no more than so many pixels in a square of so many, with less coverage than this,
#: are its corner.
CORNER_PIXELS, CORNER, FAINT = 3, 9, 20
#: Pixels of a block under which it is a tip or a corner.
FEW = 2
#: A valley in the coverage so deep, of 255, of more pixels than this, parts what is narrow.
VALLEY, NOTCH_PIXELS = 30, 2
#: A round spot: the side it is cut to, and its standard deviation, pixels.
SPOT, SPREAD = 5, 1.0
#: Pixels in a square of so many are of one thing; and how far away counts for the thickness of a block.
NEAR = 5
AROUND = SPOT // 2 + NEAR // 2
_SQUARE = np.ones((3, 3), np.uint8)
_NEAR = np.ones((NEAR, NEAR), np.uint8)


def disc(width: float) -> np.ndarray:
    """The structuring element that passes what is wider than `width` pixels, with an odd side."""
    side = max(3, math.ceil(width + 1.2))
    side += 1 - side % 2
    return cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (side, side))


def mark(
    target: np.ndarray,
    cover: np.ndarray,
    element: np.ndarray,
    side: int,
    inner: tuple[slice, slice],
    wanted: np.ndarray | None = None,
) -> None:
    """Note what an opening takes away beyond the grey fringe of one pixel, by blocks of side x side pixels.

    Args:
        target: uint8 blocks of the inner part: the `thickness_of` what is there, where more than before.
        cover: uint8 coverage of the inner part and what lies round it.
        element: what the opening passes.
        side: of the blocks.
        inner: rows and columns of the inner part.
        wanted: blocks of the inner part; pieces without any are skipped.
    """
    rows, columns = inner
    reach = element.shape[0] + 4
    for left in range(columns.start, columns.stop, CHUNK):
        right = min(left + CHUNK, columns.stop)
        if wanted is not None:
            first = (left - columns.start) // side
            if not wanted[:, first : first + CHUNK // side].any():
                continue
        start = max(0, left - reach)
        part = cover[:, start : right + reach]
        lowest, highest, _, _ = cv2.minMaxLoc(part)
        if highest < LEAST or lowest >= 254:
            continue
        core = cv2.threshold(part, 127, 255, cv2.THRESH_BINARY)[1]
        opened = cv2.morphologyEx(core, cv2.MORPH_OPEN, element, borderType=cv2.BORDER_REPLICATE)
        fringe = cv2.dilate(opened, _SQUARE)
        rest = cv2.subtract(cv2.threshold(part, LEAST - 1, 255, cv2.THRESH_BINARY)[1], fringe)
        if not cv2.countNonZero(rest):
            continue
        # the last pixels of a corner lie beyond the fringe, but they are faint, and few
        x, y, width, height = cv2.boundingRect(rest)
        here = np.s_[max(0, y - 1) : y + height + 1, max(0, x - 1) : x + width + 1]
        firm = cv2.threshold(part[here], FAINT - 1, 255, cv2.THRESH_BINARY)[1]
        beside = cv2.bitwise_and(rest[here], cv2.dilate(fringe[here], _SQUARE))
        faint = cv2.subtract(beside, firm)
        if cv2.countNonZero(faint):
            rest[here] = cv2.subtract(rest[here], cv2.bitwise_and(faint, _few(faint, CORNER_PIXELS)))
        roots = np.zeros_like(rest)
        roots[here] = beside
        x, y, width, height = cv2.boundingRect(rest[rows, left - start : right - start])
        if not width:
            continue
        # whole blocks
        x0, y0, x1, y1 = x // side, y // side, -(-(x + width) // side), -(-(y + height) // side)
        place = (rows.start + y0 * side, left - start + x0 * side, y1 - y0, x1 - x0)
        found = _thickness_at(part, rest, side, place, roots)
        column = (left - columns.start) // side + x0
        view = target[y0:y1, column : column + x1 - x0]
        np.maximum(view, found[: view.shape[0], : view.shape[1]], out=view)


def _few(mask: np.ndarray, most: int) -> np.ndarray:
    """Which pixels of a mask have no more than `most` of it near them: uint8 255; of other pixels it says nothing."""
    if cv2.countNonZero(mask) <= most:
        return mask
    company = cv2.boxFilter(
        cv2.bitwise_and(mask, 1), -1, (CORNER, CORNER), normalize=False, borderType=cv2.BORDER_CONSTANT
    )
    return cv2.threshold(company, most, 255, cv2.THRESH_BINARY_INV)[1]


def mark_parted(
    target: np.ndarray, cover: np.ndarray, side: int, inner: tuple[slice, slice], narrow: np.ndarray
) -> None:
    """Note the blocks where something narrow is parted lengthwise by a gap: a valley in its coverage.

    Beside a thin line a gap lies in the fringe of what is bare, and does not show by itself.

    Args:
        target: uint8 blocks of the inner part: the `thickness_of` what parts them, where nothing is noted.
        cover: uint8 coverage of the inner part and what lies round it.
        side: of the blocks.
        inner: rows and columns of the inner part.
        narrow: blocks of the inner part that hold something narrow; others are left out.
    """
    x, y, width, height = cv2.boundingRect(narrow)
    if not width:
        return
    rows, columns = inner
    top, left = rows.start + y * side, columns.start + x * side
    first_row, first_column = max(0, top - CORNER), max(0, left - CORNER)
    part = cover[first_row : top + height * side + CORNER, first_column : left + width * side + CORNER]
    depth = cv2.morphologyEx(part, cv2.MORPH_BLACKHAT, _SQUARE)
    valley = cv2.threshold(depth, VALLEY - 1, 255, cv2.THRESH_BINARY)[1]
    if not cv2.countNonZero(valley):
        return
    valley = cv2.subtract(valley, _few(valley, NOTCH_PIXELS))  # the notch of a corner
    top, left = top - first_row, left - first_column
    view = target[y : y + height, x : x + width]
    held = blocks_of(valley[top : top + height * side, left : left + width * side], side)
    wanted = (
        (held[: view.shape[0], : view.shape[1]] > 0)
        & (narrow[y : y + height, x : x + width] > 0)
        & (view == 0)
    )
    column, row, wide, high = cv2.boundingRect(wanted.view(np.uint8))
    if not wide:
        return
    here = np.s_[row : row + high, column : column + wide]
    place = (top + row * side, left + column * side, high, wide)
    blocks = _thickness_at(cv2.bitwise_not(part), valley, side, place)
    view[here][wanted[here]] = blocks[wanted[here]]


def _thickness_at(
    cover: np.ndarray,
    mask: np.ndarray,
    side: int,
    place: tuple[int, int, int, int],
    beside: np.ndarray | None = None,
) -> np.ndarray:
    """The `thickness_of` the blocks at a place: its top and left in pixels, and how many blocks it is high and wide."""
    top, left, high, wide = place
    above, before = min(AROUND, top), min(AROUND, left)
    bottom, right = top + high * side, left + wide * side
    window = np.s_[top - above : bottom + AROUND, left - before : right + AROUND]
    own = np.s_[above : above + high * side, before : before + wide * side]
    return thickness_of(
        spots_of(cover[window]), mask[window], side, own, None if beside is None else beside[window]
    )


def spots_of(cover: np.ndarray) -> np.ndarray:
    """How much of a round spot on each pixel is covered, uint8: on the middle of a line the more, the thicker it is.

    By rendering bars at every angle and offset: 1.5 pixels give 118 to 140, 1.8 pixels 142 to 159, 2 pixels 154 to 170.
    """
    return cv2.GaussianBlur(cover, (SPOT, SPOT), SPREAD)


def thickness_on_middle(width: np.ndarray) -> np.ndarray:
    """What `spots_of` gives on the middle of long lines so many pixels wide, without the grid: uint8, at least 1.

    A band w wide takes erf(w / (2 sqrt 2 s)) of a Gaussian of standard deviation s on its middle.
    """
    return np.clip(255 * erf(width / (2 * math.sqrt(2) * SPREAD)), 1, 255).astype(np.uint8)


def thickness_of(
    spots: np.ndarray,
    mask: np.ndarray,
    side: int,
    own: tuple[slice, slice] = np.s_[:, :],
    beside: np.ndarray | None = None,
) -> np.ndarray:
    """How thick what lies in each block of side x side pixels looks, uint8 1 (thin) to 255; 0 where there is nothing.

    Every pixel counts as the thickest near it, since at its end and in its fringe a line looks thinner than it is.  Blocks with
    only a few pixels, as at a corner, count as thick.

    Args:
        spots: how thick it looks at every pixel (`spots_of`).
        mask: uint8, 255 where it counts.
        side: of the blocks.
        own: rows and columns of the blocks; what lies round them may be near.
        beside: uint8, 255 for pixels beside something wide: corners and the roots of tips, which count as thick.
    """
    held = _averaged(mask[own], side)
    thick = cv2.bitwise_and(cv2.dilate(cv2.bitwise_and(spots, mask), _NEAR), mask)
    if beside is not None:
        thick = cv2.max(thick, cv2.bitwise_and(beside, mask))
    thickness = cv2.max(cv2.divide(_averaged(thick[own], side), held, scale=255), 1)
    few = cv2.threshold(held, math.ceil(255 * FEW / side**2) - 1, 255, cv2.THRESH_BINARY_INV)[1]
    there = cv2.threshold(held, 0, 255, cv2.THRESH_BINARY)[1]
    return cv2.bitwise_and(cv2.bitwise_or(thickness, few), there)


def blocks_of(mask: np.ndarray, side: int) -> np.ndarray:
    """Which blocks of side x side pixels hold anything; uint8 0 or 1."""
    return (_averaged(mask, side) > 0).astype(np.uint8)


def _averaged(mask: np.ndarray, side: int) -> np.ndarray:
    rows, columns = -(-mask.shape[0] // side), -(-mask.shape[1] // side)
    if mask.shape != (rows * side, columns * side):
        mask = cv2.copyMakeBorder(
            mask,
            0,
            rows * side - mask.shape[0],
            0,
            columns * side - mask.shape[1],
            cv2.BORDER_CONSTANT,
            value=0,
        )
    # a single pixel of 64 averages to 4 of 255, so nothing is rounded away
    while side % 2 == 0:  # OpenCV halves four times as fast as it quarters
        side //= 2
        mask = cv2.resize(mask, (side * columns, side * rows), interpolation=cv2.INTER_AREA)
    return mask if side == 1 else cv2.resize(mask, (columns, rows), interpolation=cv2.INTER_AREA)
