"""The frame of a photograph placed in flat art: the rectangle that holds what is photographed and little else.

What is strange or lively lies in it, the bare sheet and flat shapes that touch it lie out of it: of all rectangles in reach,
the one with the greatest sum over its cells of weights that are positive for the one and negative for the others (the
maximum sum subarray of J. Bentley, "Programming pearls", 1984, from memory, in two dimensions).
"""

import cv2
import numpy as np

from preflight.pixels.lab import lab_of_colours
from preflight.pixels.photographs import BLOCK, LIVELY_STEP
from preflight.pixels.places import Place
from preflight.pixels.reduction import Work
from preflight.pixels.tone import PixelBox

#: Weights of a pixel that is strange, that fades, that is bare sheet, that changes as texture does (without and with loss: what
#: compression leaves in flat shapes changes, too), and of any other: where the photograph was found, a calm part of it; elsewhere
#: a flat shape.
STRANGE, FADING, BARE, LIVELY, CALM, FLAT = 1.0, 0.5, -0.35, (1.0, 0.15), 0.03, -0.1
#: A frame holds this part of what is strange or lively in the photograph as it was found: else there is none to be seen.
HELD = 0.4
#: Nearer to the sheet than this, Delta E, a pixel is bare.
SHEET_APART = 6.0
#: A sheet is level: in the middle its pixels lie no further than this from it, Delta E.  The sky of a photograph does.
SHEET_NOISE = 1.2
#: A row at the frame's side belongs to it when no more than this part of it is bare.
MOST_BARE = 0.5
#: Frames that lie over each other by this part of the smaller are one.
SAME = 0.5


def framed(
    work: Work, places: list[Place], strange: np.ndarray, sloping: np.ndarray, ground: np.ndarray | None
) -> list[Place]:
    """The photographs with their frames; as they are where the art stands on no sheet.

    Args:
        work: the reduced picture.
        places: its photographs.
        strange: bool (h, w), pixels that no ink explains.
        sloping: bool (h, w), where it fades.
        ground: sRGB of the sheet, float32 (3,); None where there is none or it is transparent.
    """
    if work.clear is not None:
        bare = work.clear
    elif ground is not None:
        apart = np.linalg.norm(work.lab - lab_of_colours(ground[None])[0], axis=2)
        bare = apart < SHEET_APART
        if bare.any() and float(np.median(apart[bare])) > SHEET_NOISE:
            return places
    else:
        return places
    shape = bare.shape
    rows, columns = shape[0] // BLOCK, shape[1] // BLOCK
    if not places or not rows or not columns:
        return places
    step = work.raw_steps
    lively = (step > LIVELY_STEP[work.lossy]) & (step < LIVELY_STEP[2])
    weights = np.full(shape, FLAT, np.float32)
    weights[sloping] = FADING
    weights[lively & ~sloping] = LIVELY[work.lossy]
    weights[strange] = STRANGE
    weights[bare] = BARE
    other = weights == FLAT
    things = cv2.morphologyEx((~bare).astype(np.uint8), cv2.MORPH_OPEN, np.ones((3, 3), np.uint8))
    _, labels, stats, _ = cv2.connectedComponentsWithStats(things, connectivity=8)
    found: list[Place] = []
    for place in places:
        x0, y0, x1, y1 = place.box
        count = np.bincount(labels[y0:y1, x0:x1].ravel())
        count[0] = 0
        if count.any():  # all of the thing that it is, and what touches it
            left, top, width, height = (int(v) for v in stats[int(count.argmax())][:4])
            x0, y0, x1, y1 = min(x0, left), min(y0, top), max(x1, left + width), max(y1, top + height)
        own = (slice(place.box[1], place.box[3]), slice(place.box[0], place.box[2]))
        weights[own][other[own]] = CALM
        whole = weights[: rows * BLOCK, : columns * BLOCK]
        cells = cv2.resize(whole, (columns, rows), interpolation=cv2.INTER_AREA)
        weights[own][other[own]] = FLAT
        window = (x0 // BLOCK, y0 // BLOCK, min(columns, -(-x1 // BLOCK)), min(rows, -(-y1 // BLOCK)))
        box = _to_pixels(bare, _best(cells, window))
        shown = strange | lively & ~bare
        held = [np.count_nonzero(shown[b:d, a:c]) for a, b, c, d in (box, place.box)]
        if held[0] < HELD * held[1]:
            found.append(place)
            continue
        found.append(
            Place(place.kind, box, min(place.area, (box[2] - box[0]) * (box[3] - box[1])), place.sure)
        )
    return found


def _best(cells: np.ndarray, window: PixelBox) -> PixelBox:
    """The rectangle of cells with the greatest sum, within a window of them."""
    left, top, right, bottom = window
    sums = np.pad(cells[top:bottom, left:right], ((1, 0), (0, 0))).cumsum(0)
    best, found = -np.inf, window
    for first in range(bottom - top):
        strips = sums[first + 1 :] - sums[first]  # rows from the first to each later one, column by column
        run, start = np.zeros(len(strips)), np.zeros(len(strips), int)
        for column in range(right - left):
            new = run <= 0
            start[new] = column
            run = np.where(new, 0, run) + strips[:, column]
            at = int(run.argmax())
            if run[at] > best:
                best = float(run[at])
                found = (left + int(start[at]), top + first, left + column + 1, top + first + at + 1)
    return found


def _to_pixels(bare: np.ndarray, cells: PixelBox) -> PixelBox:
    """A rectangle of cells in pixels, a cell larger or smaller where the rows and columns at its sides are bare or not."""
    height, width = bare.shape
    x0, y0, x1, y1 = (side * BLOCK for side in cells)
    left, top = max(0, x0 - BLOCK), max(0, y0 - BLOCK)
    right, bottom = min(width, x1 + BLOCK), min(height, y1 + BLOCK)
    down = np.flatnonzero(bare[top:bottom, x0:x1].mean(1) < MOST_BARE)
    across = np.flatnonzero(bare[y0:y1, left:right].mean(0) < MOST_BARE)
    if not len(down) or not len(across):
        return x0, y0, min(width, x1), min(height, y1)
    return left + int(across[0]), top + int(down[0]), left + int(across[-1]) + 1, top + int(down[-1]) + 1
