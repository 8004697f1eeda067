"""Photographs in a reduced picture: places whose pixels no ink explains, and places all of which is grain."""

import cv2
import numpy as np

from preflight.pixels.lab import lab_of, steps
from preflight.pixels.mixture import Palette
from preflight.pixels.places import Place
from preflight.pixels.reduction import Work

#: Side of the blocks that are unexplained as a whole, the part of their pixels that makes them so, how many it takes
#: at least, and their least share of the picture.
BLOCK, BLOCK_PART, LEAST_BLOCKS, BLOCKS_SHARE = 16, 0.5, 5, 0.0015
#: Photographs' blocks nearer than this many blocks are one, and their boxes nearer than this part of the smaller side.
BLOCKS_JOINED, BOXES_JOINED = 5, 0.08
#: A block is lively when so much of it changes by steps from the first or, with loss, the second to the third of these, Delta
#: E: a photograph's texture.  Where more than this part of the picture is lively, it is noise that says nothing.
LIVELY_STEP, LIVELY_PART, LIVELY_MOST = (0.7, 1.5, 12.0), 0.5, 0.9
#: A block so much of which does not change at all is flat, though its colour may have been counted with a near one.
STILL_STEP, STILL_PART = 0.3, 0.6
#: Where something fades, a place with fewer unexplained blocks than the first is the rest of that fade if this part of it is a
#: slope, and one with fewer than the second if this part of its blocks is flat: no photograph has so many.
FEW_BLOCKS, FADE_PART, FLAT_BLOCKS = (36, 60), 0.03, 0.4
#: It is shadows, too, if this part of what is strange in it fades as a shadow found does.
CAST_PART = 0.6
#: Photographs that cover this much of a picture without a ground are the picture.
WHOLE_PICTURE = 0.6
#: Boxes that are joined, largest first: bounded work.
MOST_BOXES = 200
#: A place is one flat colour when this part of what is strange in it is this near to it, sRGB, and less of it is lively.
PLAIN, PLAIN_PART, PLAIN_GRAIN = 20.0, 0.38, 0.2
#: A place is no photograph when more than this part of what is strange in it is a slope.
NOT_SLOPE = 0.6
#: A picture is grainy when it changes by small steps itself (median, Delta E), and when, reduced by so much, a quarter and
#: a half of its steps under GRAIN_MOST are above these: a scan's noise is averaged out by then, flat art has none.
GRAIN_NOISE, GRAIN_CELL, GRAIN_MOST, GRAIN_QUARTER, GRAIN_HALF = 0.3, 8, 20.0, 1.5, 2.2
#: A small drawing's edges seem grainy too; but in no photograph do so many inks hold this part of it.
INKED, INKED_PART = 4, 0.68
#: A block is busy when nearly all of it changes by more than grain does not (the first two of LIVELY_STEP); a busy place has so
#: many blocks, without and with loss,
BUSY_PART, BUSY_BLOCKS = 0.8, (40, 100)
#: so much contrast (luma 0 to 255), this part of its pixels in the middle of it, without and with loss,
BUSY_CONTRAST, BUSY_MIDDLE = 30.0, (0.38, 0.42)
#: and its lightest and its darkest pixels around each place differ by this part of it: the two inks of a hatching do not.
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
#: In hatching they differ by no more than this part of it.
HATCHED_SPREAD = 0.12


def painted(cells: np.ndarray, shape: tuple[int, ...]) -> np.ndarray:
    """Blocks as pixels of a picture: bool (h, w)."""
    mask = np.zeros(shape[:2], bool)
    large = np.kron(cells, np.ones((BLOCK, BLOCK), bool))[: shape[0], : shape[1]]
    mask[: large.shape[0], : large.shape[1]] = large
    return mask


def without_soft(
    work: Work,
    photographs: list[Place],
    odd: np.ndarray,
    beside: np.ndarray,
    strange: np.ndarray,
    cast: np.ndarray,
) -> tuple[list[Place], list[tuple[int, int, int, int]]]:
    """The photographs without the places that are the rest of a fade around flat shapes, and the boxes of those."""
    unchanged = blocks(work.steps < STILL_STEP, STILL_PART)
    kept: list[Place] = []
    soft: list[tuple[int, int, int, int]] = []
    for place in photographs:
        x0, y0, x1, y1 = place.box
        window = (slice(y0 // BLOCK, y1 // BLOCK + 1), slice(x0 // BLOCK, x1 // BLOCK + 1))
        strong = int(odd[window].sum())
        flat = strong < FEW_BLOCKS[1] and unchanged[window].mean() > FLAT_BLOCKS
        touching = strong < FEW_BLOCKS[0] and beside[y0:y1, x0:x1].mean() > FADE_PART
        mine = strange[y0:y1, x0:x1]
        shadow = np.count_nonzero(mine & cast[y0:y1, x0:x1]) > CAST_PART * np.count_nonzero(mine)
        if flat or touching or shadow:
            soft.append(place.box)
        else:
            kept.append(place)
    return kept, soft


def without_hatched(
    work: Work, photographs: list[Place], odd: np.ndarray, known: np.ndarray
) -> tuple[list[Place], list[np.ndarray]]:
    """The photographs without the places of lines or dots in one ink that no pixel lies flat inside; and those inks, sRGB.

    The lightest pixels around each place are one colour there, and the darkest another: that farther from every known colour
    (sRGB, float32 (n, 3)) is the ink.
    """
    kernel = np.ones((BUSY_SIDE, BUSY_SIDE), np.uint8)
    kept: list[Place] = []
    found: list[np.ndarray] = []
    for place in photographs:
        x0, y0, x1, y1 = place.box
        left, top, right, bottom = x0 // BLOCK, y0 // BLOCK, -(-x1 // BLOCK), -(-y1 // BLOCK)
        here = odd[top:bottom, left:right]
        inside = np.kron(here, np.ones((BLOCK, BLOCK), bool))
        pixels = work.raw[top * BLOCK :, left * BLOCK :][: inside.shape[0], : inside.shape[1]]
        inside = inside[: pixels.shape[0], : pixels.shape[1]]
        luma = cv2.cvtColor(np.ascontiguousarray(pixels), cv2.COLOR_RGB2GRAY)
        ends = (cv2.erode(luma, kernel)[inside], cv2.dilate(luma, kernel)[inside])
        levels = [float(np.median(end)) for end in ends]
        most = HATCHED_SPREAD * (levels[1] - levels[0])
        if not inside.any() or max(float(np.ptp(np.percentile(end, [15, 85]))) for end in ends) > most:
            kept.append(place)
            continue
        shown, own = pixels[inside], luma[inside].astype(np.float32)
        near = max(HATCHED_SPREAD * (levels[1] - levels[0]), 2)
        looks = np.array([np.median(shown[np.abs(own - level) <= near], 0) for level in levels], np.float32)
        apart = np.linalg.norm(looks[:, None] - known[None], axis=2).min(1)
        found.append(looks[int(apart.argmax())])
    return kept, found


def without_plain(
    work: Work, photographs: list[Place], strange: np.ndarray, lively: np.ndarray
) -> tuple[list[Place], list[np.ndarray]]:
    """The photographs without the places of one flat colour, which compression has disturbed so far that no ink was found in
    it; and those colours, sRGB.
    """
    kept: list[Place] = []
    plain: list[np.ndarray] = []
    for place in photographs:
        x0, y0, x1, y1 = place.box
        pixels = work.rgb[y0:y1, x0:x1][strange[y0:y1, x0:x1]].astype(np.float32)
        middle = np.median(pixels, 0)
        for _ in range(3):
            apart = np.linalg.norm(pixels - middle, axis=1)
            middle = np.median(pixels[apart <= np.median(apart)], 0)
        near = np.mean(np.linalg.norm(pixels - middle, axis=1) < PLAIN)
        grain = lively[y0 // BLOCK : y1 // BLOCK + 1, x0 // BLOCK : x1 // BLOCK + 1]
        if near > PLAIN_PART and grain.mean() < PLAIN_GRAIN:
            plain.append(np.asarray(middle, np.float32))
        else:
            kept.append(place)
    return kept, plain


def from_blocks(
    blocks: np.ndarray, lively: np.ndarray, strange: np.ndarray, sloping: np.ndarray
) -> list[Place]:
    """Boxes around the unexplained blocks that are not slopes, near ones joined, each with the lively blocks it touches."""
    near = cv2.morphologyEx(
        cv2.copyMakeBorder(blocks.astype(np.uint8), *(BLOCKS_JOINED,) * 4, cv2.BORDER_CONSTANT, value=0),
        cv2.MORPH_CLOSE, np.ones((BLOCKS_JOINED, BLOCKS_JOINED), np.uint8),
    )[BLOCKS_JOINED:-BLOCKS_JOINED, BLOCKS_JOINED:-BLOCKS_JOINED]  # fmt: skip
    _, labels, stats, _ = cv2.connectedComponentsWithStats(
        (near > 0).astype(np.uint8) | lively, connectivity=8
    )
    held = set(np.unique(labels[blocks]).tolist())
    boxes = [[int(x), int(y), int(x + w), int(y + h)] for x, y, w, h, _ in stats[sorted(held - {0})]]
    boxes = _merged(boxes, max(2, round(BOXES_JOINED * min(blocks.shape))))
    places = []
    for left, top, right, bottom in boxes:
        strong = int(blocks[top:bottom, left:right].sum())
        if strong < LEAST_BLOCKS:
            continue
        x0, y0 = max(0, (left - 1) * BLOCK), max(0, (top - 1) * BLOCK)
        window = strange[y0 : (bottom + 1) * BLOCK, x0 : (right + 1) * BLOCK]
        slope = sloping[y0 : (bottom + 1) * BLOCK, x0 : (right + 1) * BLOCK]
        if np.count_nonzero(slope & window) > NOT_SLOPE * np.count_nonzero(window):
            continue
        shown = window | slope
        large = np.kron(lively[top:bottom, left:right], np.ones((BLOCK, BLOCK), np.uint8)) > 0
        inner = shown[top * BLOCK - y0 :, left * BLOCK - x0 :][: large.shape[0], : large.shape[1]]
        inner |= large[: inner.shape[0], : inner.shape[1]]
        ys, xs = np.nonzero(shown)
        box = (x0 + int(xs.min()), y0 + int(ys.min()), x0 + int(xs.max()) + 1, y0 + int(ys.max()) + 1)
        places.append(Place("photograph", box, len(ys), 0.95 if strong >= 4 * LEAST_BLOCKS else 0.86))
    return places


def lively_blocks(work: Work, sloping: np.ndarray) -> np.ndarray:
    """Blocks that change all over by small steps, as texture does and flat art does not: uint8 (rows, columns)."""
    step = work.raw_steps
    least = LIVELY_STEP[1] if work.lossy else LIVELY_STEP[0]
    lively = blocks((step > least) & (step < LIVELY_STEP[2]) & ~sloping, LIVELY_PART)
    lively = cv2.morphologyEx(lively.astype(np.uint8), cv2.MORPH_OPEN, np.ones((2, 2), np.uint8))
    return lively if lively.mean() < LIVELY_MOST else np.zeros_like(lively)


def as_one(places: list[Place], shape: tuple[int, ...], clear: np.ndarray | None) -> list[Place]:
    """The photographs of a picture that has no ground as the whole of it, where they cover most: its opaque bounds."""
    if not places:
        return places
    x0, y0, x1, y1 = 0, 0, shape[1], shape[0]
    if clear is not None:
        ys, xs = np.nonzero(~clear)
        x0, y0, x1, y1 = int(xs.min()), int(ys.min()), int(xs.max()) + 1, int(ys.max()) + 1
    corners = np.array([place.box for place in places])
    left, top, right, bottom = (int(v) for v in (*corners[:, :2].min(0), *corners[:, 2:].max(0)))
    if (right - left) * (bottom - top) < WHOLE_PICTURE * (x1 - x0) * (y1 - y0):
        return places
    sure = max(place.sure for place in places)
    return [Place("photograph", (x0, y0, x1, y1), sum(place.area for place in places), sure)]


def _merged(boxes: list[list[int]], gap: int) -> list[list[int]]:
    """Boxes with those nearer than a gap made one, until none are."""
    boxes = sorted(boxes, key=lambda b: (b[0] - b[2]) * (b[1] - b[3]), reverse=True)[:MOST_BOXES]
    changed = True
    while changed:
        changed = False
        kept: list[list[int]] = []
        for box in boxes:
            for other in kept:
                apart = max(box[0] - other[2], other[0] - box[2], box[1] - other[3], other[1] - box[3])
                if apart <= gap:
                    other[:] = [
                        min(box[0], other[0]), min(box[1], other[1]), max(box[2], other[2]), max(box[3], other[3])
                    ]  # fmt: skip
                    changed = True
                    break
            else:
                kept.append(box)
        boxes = kept
    return boxes


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


def is_inked(work: Work, palette: Palette) -> bool:
    """Whether a picture lies inside a few inks but for its edges, as drawn art does."""
    return len(palette.rgb) >= INKED and float(palette.labels(work.raw)[1].mean()) > INKED_PART


def blocks(mask: np.ndarray, least: float = BLOCK_PART) -> np.ndarray:
    """Blocks more than this part of whose pixels is set: bool (rows, columns)."""
    rows, columns = mask.shape[0] // BLOCK, mask.shape[1] // BLOCK
    if not rows or not columns:
        return np.zeros((1, 1), bool)
    part = mask[: rows * BLOCK, : columns * BLOCK].astype(np.float32)
    return cv2.resize(part, (columns, rows), interpolation=cv2.INTER_AREA) > least


def busy(work: Work) -> list[Place]:
    """Places that change everywhere, through all shades between their lightest and their darkest: gravel, grass, cloth.

    Their shades may all be mixtures of inks that were found in them.  Hatching and dots change everywhere too, but between two
    inks; small drawings between few, with little in the middle.
    """
    lossy = int(work.lossy)
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
        if np.mean(between[inside]) > BUSY_MIDDLE[lossy] and spread > BUSY_SPREAD * contrast:
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


def with_busy(photographs: list[Place], grain: list[Place]) -> list[Place]:
    """Both kinds of photographs; those that lie over each other are one."""
    for place in grain:
        x0, y0, x1, y1 = place.box
        area = place.area
        apart = []
        for other in photographs:
            a0, b0, a1, b1 = other.box
            if min(x1, a1) > max(x0, a0) and min(y1, b1) > max(y0, b0):
                x0, y0, x1, y1 = min(x0, a0), min(y0, b0), max(x1, a1), max(y1, b1)
                area = max(area, other.area)
            else:
                apart.append(other)
        photographs = [*apart, Place("photograph", (x0, y0, x1, y1), area, place.sure)]
    return photographs
