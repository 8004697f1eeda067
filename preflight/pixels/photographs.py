"""Photographs in a reduced picture: places whose pixels no ink explains."""

import cv2
import numpy as np

from preflight.pixels.detail import luma_step
from preflight.pixels.lab import LUMA
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
#: Or when this part is so near to it in lightness and so near in colour, which compression disturbs more (ITU-T T.81: colour at
#: half the resolution and in coarser steps), and less of it is lively.
EVEN, EVEN_COLOUR, EVEN_PART, EVEN_GRAIN = 12.0, 50.0, 0.5, 0.45
#: A place is no photograph when more than this part of what is strange in it is a slope.
NOT_SLOPE = 0.6
#: A small drawing's edges seem grainy too; but in no photograph do so many inks hold this part of it.
INKED, INKED_PART = 4, 0.68
#: Lines or dots in one ink on another: their lightest and their darkest pixels, each in a square of so many, differ by no more
#: than this part of the contrast, and so many steps of the compression's luma.
HATCHED_SIDE, HATCHED_SPREAD, HATCHED_STEPS = 9, 0.12, 2.0


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
    work: Work, photographs: list[Place], odd: np.ndarray, known: np.ndarray, quality: float | None = None
) -> tuple[list[Place], list[np.ndarray]]:
    """The photographs without the places of lines or dots in one ink that no pixel lies flat inside; and those inks, sRGB.

    The lightest pixels around each place are one colour there, and the darkest another: that farther from every known colour
    (sRGB, float32 (n, 3)) is the ink.  `quality` is that of the compression, 1 to 100, where known.
    """
    kernel = np.ones((HATCHED_SIDE, HATCHED_SIDE), np.uint8)
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
        most = HATCHED_SPREAD * (levels[1] - levels[0]) + HATCHED_STEPS * luma_step(work.lossy, quality)
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
        lightness = (pixels - middle) @ LUMA
        colour = np.linalg.norm(pixels - middle - lightness[:, None], axis=1)
        even = np.mean((np.abs(lightness) < EVEN) & (colour < EVEN_COLOUR))
        grain = lively[y0 // BLOCK : y1 // BLOCK + 1, x0 // BLOCK : x1 // BLOCK + 1].mean()
        if (near > PLAIN_PART and grain < PLAIN_GRAIN) or (even > EVEN_PART and grain < EVEN_GRAIN):
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
