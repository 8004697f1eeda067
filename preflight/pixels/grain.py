"""Photographs told by their grain: places that change everywhere, through many shades.

Their shades may all be mixtures of inks that were found in them, so that no pixel of them is unexplained.
"""

import cv2
import numpy as np

from preflight.pixels.detail import luma_step
from preflight.pixels.lab import lab_of, steps
from preflight.pixels.photographs import BLOCK, LIVELY_STEP, blocks
from preflight.pixels.places import Place
from preflight.pixels.reduction import Work

#: A picture is grainy when it changes by small steps itself (median, Delta E), and when, reduced by so much, a quarter and
#: a half of its steps under GRAIN_MOST are above these: a scan's noise is averaged out by then, flat art has none.
GRAIN_NOISE, GRAIN_CELL, GRAIN_MOST, GRAIN_QUARTER, GRAIN_HALF = 0.3, 8, 20.0, 1.5, 2.2
#: A block is busy when nearly all of it changes by more than grain does not (the first two of LIVELY_STEP); a busy place has so
#: many blocks, without and with loss,
BUSY_PART, BUSY_BLOCKS = 0.8, (40, 100)
#: so much contrast (luma 0 to 255), this part of its pixels in the middle of it, without and with loss,
BUSY_CONTRAST, BUSY_MIDDLE = 30.0, (0.38, 0.42)
#: and its lightest and its darkest pixels around each place differ by this part of it, and by a step of the compression's luma
#: that alone may make them differ: the two inks of a hatching do not.
BUSY_SIDE, BUSY_SPREAD = 9, 0.15
#: Means of cells of so many pixels show a photograph's mottle, which compression and noise leave alone and flat art has none of:
#: each lies this far from the mean of its four neighbours, Delta E; more is an edge.
CELL, MOTTLE = 8, (0.25, 6.0)
#: Around a mottled cell, in a square of so many, this part is; a mottled place has so many of them.
MOTTLED_AROUND, MOTTLED_PART, MOTTLED_CELLS = 5, 0.6, 24
#: Its contrast and that of its middle four fifths (luma 0 to 255), the part of its pixels that lie in the middle of each, and how
#: far its lightest and its darkest pixels around each place differ, as a part of the contrast: shades, no two inks.
MOTTLED_CONTRAST, MOTTLED_MIDDLE, MOTTLED_SPREAD = (20.0, 8.0), (0.06, 0.24), 0.14
#: The median of the mottle's L* is more than this (bands of a gradient's levels make less), and than this part of the
#: deviation inside a cell (luma 0 to 255): white noise leaves half of that.
LEAST_MOTTLE, MOTTLED_NOISE = 0.5, 0.13
#: A row of cells at its side belongs to it when more than this part of it is uneven.
MOTTLED_SIDE = 0.3
#: Less of it than this is the noise of compression along an edge.
MOTTLED_FILLED = 0.08
#: What is a slope by more than this part is one.
MOTTLED_SLOPE = 0.5


def is_grainy(work: Work) -> bool:
    """Whether colour changes nearly everywhere, and still does when the picture is reduced so far that noise is averaged out."""
    height, width = work.raw.shape[0] // GRAIN_CELL, work.raw.shape[1] // GRAIN_CELL
    if work.noise < GRAIN_NOISE or min(height, width) < GRAIN_CELL:
        return False
    whole = work.raw[: height * GRAIN_CELL, : width * GRAIN_CELL]
    small = steps(lab_of(cv2.resize(whole, (width, height), interpolation=cv2.INTER_AREA)))
    soft = small[small < GRAIN_MOST]
    if soft.size < 0.5 * small.size:
        return False
    quarter, half = np.percentile(soft, [25, 50])
    return bool(quarter > GRAIN_QUARTER and half > GRAIN_HALF)


def busy(work: Work, quality: float | None = None) -> list[Place]:
    """Places that change everywhere, through all shades between their lightest and their darkest: gravel, grass, cloth.

    Their shades may all be mixtures of inks that were found in them.  Hatching and dots change everywhere too, but between two
    inks; small drawings between few, with little in the middle.

    Args:
        work: the reduced picture.
        quality: of its compression, 1 to 100, where known.
    """
    lossy = int(work.lossy)
    noise = luma_step(work.lossy, quality)
    moving = work.raw_steps > LIVELY_STEP[lossy]
    cells = cv2.morphologyEx(
        blocks(moving, BUSY_PART).astype(np.uint8), cv2.MORPH_OPEN, np.ones((3, 3), np.uint8)
    )
    _, labels, stats, _ = cv2.connectedComponentsWithStats(cells, connectivity=4)
    found = []
    for number in np.flatnonzero(stats[1:, cv2.CC_STAT_AREA] >= BUSY_BLOCKS[lossy]) + 1:
        x, y, w, h, area = (int(v) for v in stats[number])
        window = (slice(y * BLOCK, (y + h) * BLOCK), slice(x * BLOCK, (x + w) * BLOCK))
        luma = cv2.cvtColor(np.ascontiguousarray(work.raw[window]), cv2.COLOR_RGB2GRAY)
        inside = np.kron(labels[y : y + h, x : x + w] == number, np.ones((BLOCK, BLOCK), bool))
        low, high = (float(v) for v in np.percentile(luma[inside], [2, 98]))
        contrast = high - low
        if contrast < BUSY_CONTRAST:
            continue
        between = (luma > low + 0.3 * contrast) & (luma < high - 0.3 * contrast)
        kernel = np.ones((BUSY_SIDE, BUSY_SIDE), np.uint8)
        ends = (cv2.dilate(luma, kernel)[inside], cv2.erode(luma, kernel)[inside])
        spread = min(float(np.ptp(np.percentile(end, [10, 90]))) for end in ends)
        if np.mean(between[inside]) > BUSY_MIDDLE[lossy] and spread - noise > BUSY_SPREAD * contrast:
            found.append(
                Place("photograph", _trimmed(moving, (x, y, x + w, y + h)), area * BLOCK * BLOCK, 0.9)
            )
    return found


def mottled(work: Work, sloping: np.ndarray) -> list[Place]:
    """Places that go up and down at every eight pixels, through many shades: photographs too soft or too plain to be busy.

    All shades of a grey sheet of rock may be taken for inks, and compression leaves few steps between its pixels; the means of
    cells still differ.  `sloping` is bool (h, w).
    """
    rows, columns = work.raw.shape[0] // CELL, work.raw.shape[1] // CELL
    if min(rows, columns) < MOTTLED_AROUND:
        return []
    whole = np.ascontiguousarray(work.raw[: rows * CELL, : columns * CELL])
    means = lab_of(cv2.resize(whole, (columns, rows), interpolation=cv2.INTER_AREA))
    around = np.array([[0, 1, 0], [1, -4, 1], [0, 1, 0]], np.float32) / 4
    bumps = cv2.filter2D(means, -1, around, borderType=cv2.BORDER_REFLECT)
    apart = np.linalg.norm(bumps, axis=2)
    uneven = (apart > MOTTLE[0]) & (apart < MOTTLE[1])
    dense = cv2.blur(uneven.astype(np.float32), (MOTTLED_AROUND,) * 2) > MOTTLED_PART
    cells = cv2.morphologyEx(dense.astype(np.uint8), cv2.MORPH_OPEN, np.ones((3, 3), np.uint8))
    if np.count_nonzero(cells) < MOTTLED_CELLS:
        return []
    luma = cv2.cvtColor(whole, cv2.COLOR_RGB2GRAY)
    _, labels, stats, _ = cv2.connectedComponentsWithStats(cells, connectivity=4)
    found = []
    for number in np.flatnonzero(stats[1:, cv2.CC_STAT_AREA] >= MOTTLED_CELLS) + 1:
        x, y, w, h, area = (int(v) for v in stats[number])
        here = labels[y : y + h, x : x + w] == number
        window = (slice(y * CELL, (y + h) * CELL), slice(x * CELL, (x + w) * CELL))
        inside = np.kron(here, np.ones((CELL, CELL), bool))
        if sloping[window][inside].mean() > MOTTLED_SLOPE:
            continue
        mottle = float(
            np.median(np.abs(bumps[..., 0][labels == number]))
        )  # of L*: compression stores noise in colour, too
        if _is_shaded(luma[window], inside, here, mottle):
            place = _with_sides(apart > MOTTLE[0], (x, y, x + w, y + h), area)
            x0, y0, x1, y1 = place.box
            if place.area > MOTTLED_FILLED * (x1 - x0) * (y1 - y0):
                found.append(place)
    return found


def _is_shaded(luma: np.ndarray, inside: np.ndarray, cells: np.ndarray, mottle: float) -> bool:
    """Whether a place (luma uint8 (h, w), bool, and the same by cells) runs through many shades, not noise, nor between two."""
    values = luma[inside].astype(np.float32)
    ends = np.percentile(values, [[2, 98], [10, 90]])
    for (low, high), contrast, middle in zip(ends, MOTTLED_CONTRAST, MOTTLED_MIDDLE, strict=True):
        if high - low < contrast:
            return False
        margin = 0.3 * (high - low)
        if np.mean((values > low + margin) & (values < high - margin)) <= middle:
            return False
    kernel = np.ones((BUSY_SIDE, BUSY_SIDE), np.uint8)
    extremes = (cv2.dilate(luma, kernel)[inside], cv2.erode(luma, kernel)[inside])
    spread = min(float(np.ptp(np.percentile(end, [10, 90]))) for end in extremes)
    if spread <= MOTTLED_SPREAD * float(ends[0][1] - ends[0][0]):
        return False
    by_cells = luma.reshape(cells.shape[0], CELL, cells.shape[1], CELL).std(axis=(1, 3))
    return mottle > max(LEAST_MOTTLE, MOTTLED_NOISE * float(np.median(by_cells[cells])))


def _with_sides(uneven: np.ndarray, cells: tuple[int, int, int, int], area: int) -> Place:
    """A place of cells grown by the rows and columns of cells at its sides that are uneven: its calm parts belong to it."""
    left, top, right, bottom = cells
    grown: tuple[int, int, int, int] | None = None
    while grown != (left, top, right, bottom):
        grown = (left, top, right, bottom)
        left -= left > 0 and uneven[top:bottom, left - 1].mean() > MOTTLED_SIDE
        top -= top > 0 and uneven[top - 1, left:right].mean() > MOTTLED_SIDE
        right += right < uneven.shape[1] and uneven[top:bottom, right].mean() > MOTTLED_SIDE
        bottom += bottom < uneven.shape[0] and uneven[bottom, left:right].mean() > MOTTLED_SIDE
    box = (left * CELL, top * CELL, right * CELL, bottom * CELL)
    return Place("photograph", box, area * CELL * CELL, 0.9)


def _trimmed(moving: np.ndarray, cells: tuple[int, int, int, int]) -> tuple[int, int, int, int]:
    """A box of blocks in pixels, a block larger or smaller where its rows and columns move or do not."""
    height, width = moving.shape
    left, top, right, bottom = cells
    x0, y0 = max(0, (left - 1) * BLOCK), max(0, (top - 1) * BLOCK)
    x1, y1 = min(width, (right + 1) * BLOCK), min(height, (bottom + 1) * BLOCK)
    part = moving[y0:y1, x0:x1]
    inner = (slice(top * BLOCK - y0, bottom * BLOCK - y0), slice(left * BLOCK - x0, right * BLOCK - x0))
    rows = np.flatnonzero(part[:, inner[1]].mean(1) > 0.5)
    columns = np.flatnonzero(part[inner[0]].mean(0) > 0.5)
    if not len(rows) or not len(columns):
        return left * BLOCK, top * BLOCK, right * BLOCK, bottom * BLOCK
    return x0 + int(columns[0]), y0 + int(rows[0]), x0 + int(columns[-1]) + 1, y0 + int(rows[-1]) + 1
