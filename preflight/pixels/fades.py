"""Places of continuous tone in a reduced picture: gradients, soft edges, photographs.

Three witnesses: slopes whose steps point one way, surfaces through gentle fades, and pixels that no ink nor an edge
between two inks explains.  A gradient is mostly slope; a photograph is mostly unexplained.
"""

from dataclasses import dataclass

import cv2
import numpy as np

from preflight.pixels import inks, slopes
from preflight.pixels.lab import lab_of, lab_of_colours, steps
from preflight.pixels.mixture import Palette, unexplained
from preflight.pixels.reduction import SOLID_ALPHA, Work
from preflight.pixels.slopes import Slope
from preflight.pixels.tone import FadeKind

#: Least travel of a slope and of a surface to be believed in a lossy picture, and at poor quality, Delta E.
TRAVEL_LOSSY, TRAVEL_POOR, SURFACE_LOSSY, SURFACE_POOR = 5.0, 12.0, 3.5, 5.0
#: Under this quality colour blurs across edges.
CLEAN_QUALITY = 75
#: Slopes of this share of the picture tell that it fades; smaller ones then show where else.
TELLING_AREA = 0.0005
#: Share of the picture that telling slopes cover at least, without and with loss.
SLOPE_AREA, SLOPE_AREA_LOSSY = 0.0012, 0.0045
#: Distance from a mixture of two inks that is still one, sRGB and as a part of the contrast, without and with loss.
STRANGE, STRANGE_LOSSY = (10.0, 0.05), (20.0, 0.1)
#: Inks further away than this many pixels do not mix.
MIXING_REACH = 3
#: A disturbed pixel of a line in any of the inks has at most this part of the ink beside the line.
THIN_LOSSY = 0.3
#: Side of the blocks that are unexplained as a whole, the part of their pixels that makes them so, how many it takes
#: at least, and their least share of the picture.
BLOCK, BLOCK_PART, LEAST_BLOCKS, BLOCKS_SHARE = 16, 0.5, 5, 0.0015
#: A fade reaches on from where it was found, over pixels that are at least this far from any flat ink, Delta E,
GROWN_APART = 4.0
#: (nearer than BLANK it has ended)
BLANK = 3
#: across no edge, and no further than this many pixels.
GROWN_STEP, GROWTH = 12.0, 16
#: Places nearer than this part of the picture's smaller side are one.
JOINED = 0.02
#: Photographs' blocks nearer than this many blocks are one, and their boxes nearer than this part of the smaller side.
BLOCKS_JOINED, BOXES_JOINED = 5, 0.08
#: A block is lively when so much of it changes by steps from the first or, with loss, the second to the third of these, Delta
#: E: a photograph's texture.  Where more than this part of the picture is lively, it is noise that says nothing.
LIVELY_STEP, LIVELY_PART, LIVELY_MOST = (0.7, 1.5, 12.0), 0.5, 0.9
#: A block so much of which does not change at all is flat, though its colour may have been counted with a near one.
STILL_STEP, STILL_PART = 0.3, 0.6
#: The edge of a fade is no mixture of two inks either: so many pixels around it count with it.
BESIDE = 5
#: Photographs that cover this much of a picture without a ground are the picture.
WHOLE_PICTURE = 0.6
#: Boxes that are joined, largest first: bounded work.
MOST_BOXES = 200
#: A place is one flat colour when this part of what is strange in it is this near to it, sRGB, and less of it is lively.
PLAIN, PLAIN_PART, PLAIN_GRAIN = 20.0, 0.38, 0.2
#: A place is no photograph when more than this part of what is strange in it is a slope.
NOT_SLOPE = 0.6
#: A soft edge fades into the ground: its lightest or darkest colours come this near, Delta E, and this part of its rim is ground.
INTO_GROUND, GROUND_RIM = 8.0, 0.3
#: A fade goes the way of another when so large a part of its colours lies this near to that one's path, sRGB.
ALONG, ALONG_PART = 12.0, 0.75
#: Boxes that lie over each other by this part of the smaller are one place.
NESTED = 0.5
#: A picture is grainy when it changes by small steps itself (median, Delta E), and when, reduced by so much, a quarter and
#: a half of its steps under GRAIN_MOST are above these: a scan's noise is averaged out by then, flat art has none.
GRAIN_NOISE, GRAIN_CELL, GRAIN_MOST, GRAIN_QUARTER, GRAIN_HALF = 0.3, 8, 20.0, 1.5, 2.2
#: Places smaller than this many pixels are crumbs.
LEAST_PLACE = 24


@dataclass(frozen=True, slots=True)
class Place:
    """A place that fades: box in pixels of the reduced picture, how many of them fade, how sure."""

    kind: FadeKind
    box: tuple[int, int, int, int]
    area: int
    sure: float


def believed(work: Work, quality: float | None) -> list[Slope]:
    """The slopes and surfaces that no compression makes."""
    thickness = 3 if work.blur < 1.78 else 4 if work.blur < 2.07 else 6
    flat = work.steps < inks.FLAT_STEP
    poor = work.lossy and quality is not None and quality < CLEAN_QUALITY
    steep = slopes.slopes(work.lab, work.steps, thickness, poor)
    gentle = slopes.surfaces(work.lab, *inks.flat_parts(flat))
    if work.lossy:
        least = TRAVEL_POOR if quality and quality < slopes.POOR_QUALITY else TRAVEL_LOSSY
        steep = [slope for slope in steep if slope.travel >= least]
        gentle = [slope for slope in gentle if slope.travel >= (SURFACE_POOR if poor else SURFACE_LOSSY)]
    if poor:
        steep = [slope for slope in steep if not slopes.is_blurred_edge(slope, work.lab)]
    telling = [slope for slope in steep if slope.area >= TELLING_AREA * flat.size]
    area = np.count_nonzero(slopes.painted(telling, flat.shape)) / flat.size
    if area <= (SLOPE_AREA_LOSSY if work.lossy else SLOPE_AREA):
        return gentle
    return steep + gentle


def places(
    work: Work, fading: list[Slope], colours: np.ndarray, ground: np.ndarray | None, alpha: np.ndarray | None,
    lines: bool = False,
) -> tuple[list[Place], list[np.ndarray]]:  # fmt: skip
    """The places that fade, largest first; and flat colours (sRGB) that are in nothing but disturbed places.

    Args:
        work: the reduced picture.
        fading: slopes and surfaces in it.
        colours: sRGB of its inks outside those, float32 (n, 3).
        ground: sRGB of the sheet, float32 (3,); None where there is none.
        alpha: uint8, of the reduced picture; None when it is opaque.
        lines: some of the inks are those of lines too thin for a pixel to lie inside.
    """
    shape = work.steps.shape
    sloping = slopes.painted(fading, shape)
    if sloping.mean() < 0.5 and is_grainy(work):
        return [Place("photograph", (0, 0, shape[1], shape[0]), shape[0] * shape[1], 0.95)], []
    if not len(colours):
        colours = np.zeros((1, 3), np.float32)
    palette = Palette(colours)
    tolerance, relative = STRANGE_LOSSY if work.lossy else STRANGE
    still = work.lossy and not fading  # where something fades, what seems disturbed may be more of it
    thin = 1.0 if lines and not fading else THIN_LOSSY if still else 0.0
    strange = unexplained(work.raw, palette, tolerance, relative, MIXING_REACH, thin)
    if work.clear is not None:
        strange &= ~work.clear
    strange = cv2.morphologyEx(strange.astype(np.uint8), cv2.MORPH_OPEN, np.ones((3, 3), np.uint8)) > 0
    beside = cv2.dilate(sloping.astype(np.uint8), np.ones((BESIDE, BESIDE), np.uint8)) > 0
    blocks = _blocks(strange & ~beside) & ~_blocks(work.steps < STILL_STEP, STILL_PART)
    picture = blocks.sum() >= LEAST_BLOCKS and blocks.mean() >= BLOCKS_SHARE
    fades = sloping
    if sloping.any():
        apart = palette.apart(work.rgb)
        coarse = slopes.painted([slope for slope in fading if slope.level > 0], shape)
        coarse &= ~slopes.painted([slope for slope in fading if slope.level <= 0], shape)
        blank = coarse & (apart < BLANK)  # the coarse levels reach past the end of a fade
        fades = _grown(sloping & ~blank, (apart > GROWN_APART) & (work.steps < GROWN_STEP))
        if work.clear is not None:
            fades &= ~work.clear
    photographs: list[Place] = []
    plain: list[np.ndarray] = []
    if picture:
        lively = _lively(work, beside)
        photographs = _photographs(blocks, lively, strange, beside)
        if still:
            photographs, plain = _without_plain(work, photographs, strange, lively)
        if ground is None:
            photographs = _as_one(photographs, shape, work.clear)
        for place in photographs:  # what fades inside a photograph is part of it
            x0, y0, x1, y1 = place.box
            fades[y0:y1, x0:x1] = False
        if not photographs and not plain:
            fades = fades | strange
    found = photographs + (_kinds(work, fades, sloping, ground, alpha) if fades.any() else [])
    return sorted(found, key=lambda place: -place.area), plain


def _without_plain(
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


def _photographs(
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


def _lively(work: Work, sloping: np.ndarray) -> np.ndarray:
    """Blocks that change all over by small steps, as texture does and flat art does not: uint8 (rows, columns)."""
    step = steps(lab_of(work.raw)) if work.raw is not work.rgb else work.steps
    least = LIVELY_STEP[1] if work.lossy else LIVELY_STEP[0]
    lively = _blocks((step > least) & (step < LIVELY_STEP[2]) & ~sloping, LIVELY_PART)
    lively = cv2.morphologyEx(lively.astype(np.uint8), cv2.MORPH_OPEN, np.ones((2, 2), np.uint8))
    return lively if lively.mean() < LIVELY_MOST else np.zeros_like(lively)


def _as_one(places: list[Place], shape: tuple[int, ...], clear: np.ndarray | None) -> list[Place]:
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


def _blocks(mask: np.ndarray, least: float = BLOCK_PART) -> np.ndarray:
    """Blocks more than this part of whose pixels is set: bool (rows, columns)."""
    rows, columns = mask.shape[0] // BLOCK, mask.shape[1] // BLOCK
    if not rows or not columns:
        return np.zeros((1, 1), bool)
    part = mask[: rows * BLOCK, : columns * BLOCK].astype(np.float32)
    return cv2.resize(part, (columns, rows), interpolation=cv2.INTER_AREA) > least


def _grown(seed: np.ndarray, allowed: np.ndarray) -> np.ndarray:
    """A mask grown over allowed pixels, GROWTH pixels at most."""
    mask = seed.astype(np.uint8)
    room = (allowed | seed).astype(np.uint8)
    kernel = np.ones((3, 3), np.uint8)
    for _ in range(GROWTH):
        mask = cv2.bitwise_and(cv2.dilate(mask, kernel), room)
    return mask > 0


def _kinds(
    work: Work, fades: np.ndarray, sloping: np.ndarray, ground: np.ndarray | None, alpha: np.ndarray | None
) -> list[Place]:
    """The connected places of a mask that are gradients or soft edges."""
    reach = max(3, round(JOINED * min(fades.shape))) | 1
    joined = cv2.morphologyEx(fades.astype(np.uint8), cv2.MORPH_CLOSE, np.ones((reach, reach), np.uint8))
    count, labels, stats, _ = cv2.connectedComponentsWithStats(joined, connectivity=8)
    ground_lab = None if ground is None else lab_of_colours(ground[None])[0]
    found = []
    for number in range(1, count):
        x, y, w, h, _ = (int(v) for v in stats[number])
        window = (slice(y, y + h), slice(x, x + w))
        mask = (labels[window] == number) & fades[window]
        area = int(np.count_nonzero(mask))
        if area < LEAST_PLACE:
            continue
        if not (mask & sloping[window]).any():
            continue  # a few strange pixels far from any slope: compression
        kind: FadeKind = "gradient"
        if _is_soft_edge(work, mask, (x, y, x + w, y + h), ground_lab, alpha):
            kind = "soft edge"
        found.append(Place(kind, (x, y, x + w, y + h), area, 0.9 if work.lossy else 0.97))
    found = sorted(found, key=lambda place: -place.area)[:MOST_BOXES]
    if len(found) > 1:
        found = _by_thing(work, found, fades, joined, ground_lab)
    return _nested(found)


def _by_thing(
    work: Work, places: list[Place], fades: np.ndarray, joined: np.ndarray, ground: np.ndarray | None
) -> list[Place]:
    """The fades of one thing that go the same way made one: it hides some of its own shadow, and parts of a gradient."""
    if work.clear is not None:
        things = ~work.clear
    elif ground is not None:
        things = (np.linalg.norm(work.lab - ground, axis=2) > INTO_GROUND) | (joined > 0)
    else:
        return places
    _, labels = cv2.connectedComponents(things.astype(np.uint8), connectivity=8)
    kept: list[tuple[int, np.ndarray, Place]] = []
    apart: list[Place] = []
    for place in sorted(places, key=lambda place: (place.kind != "soft edge", -place.area)):
        x0, y0, x1, y1 = place.box
        mine = fades[y0:y1, x0:x1] & (labels[y0:y1, x0:x1] > 0)
        if np.count_nonzero(mine) < LEAST_PLACE:
            apart.append(place)
            continue
        thing = int(np.bincount(labels[y0:y1, x0:x1][mine]).argmax())
        colours = work.rgb[y0:y1, x0:x1][mine].astype(np.float32)
        for number, (other, path, joint) in enumerate(kept):
            both = place.kind == "soft edge" == joint.kind
            if thing == other and (both or _is_along(colours, path)):
                kept[number] = (thing, path, _union(joint, place))
                break
        else:
            kept.append((thing, _path(colours), place))
    return sorted([*apart, *(place for _, _, place in kept)], key=lambda place: -place.area)


def _path(colours: np.ndarray) -> np.ndarray:
    """The two ends of the straight path in sRGB that the colours of a fade lie on."""
    middle = colours.mean(0)
    _, directions = np.linalg.eigh(np.cov((colours - middle).T) + 1e-3 * np.eye(3))
    ends = np.percentile((colours - middle) @ directions[:, -1], [1, 99])
    return np.asarray(middle + ends[:, None] * directions[:, -1])


def _is_along(colours: np.ndarray, path: np.ndarray) -> bool:
    """Whether most of the colours lie on a path, sRGB."""
    along = path[1] - path[0]
    part = np.clip(
        (colours - path[0]) @ along / max(float(along @ along), 1e-6), -1, 2
    )  # it may go on, once as far
    aside = np.linalg.norm(colours - path[0] - part[:, None] * along, axis=1)
    return bool(np.mean(aside < ALONG) > ALONG_PART)


def _union(one: Place, other: Place) -> Place:
    """Two places as one of the first's kind."""
    x0, y0 = min(one.box[0], other.box[0]), min(one.box[1], other.box[1])
    x1, y1 = max(one.box[2], other.box[2]), max(one.box[3], other.box[3])
    return Place(one.kind, (x0, y0, x1, y1), one.area + other.area, max(one.sure, other.sure))


def _nested(places: list[Place]) -> list[Place]:
    """Places of one kind whose boxes lie over each other by half made one: the parts of one shadow around a shape."""
    kept: list[Place] = []
    for place in places:
        for number, other in enumerate(kept):
            if place.kind == other.kind and _covers(place.box, other.box) > NESTED:
                kept[number] = _union(place, other)
                break
        else:
            kept.append(place)
    return kept if len(kept) == len(places) else _nested(kept)


def _covers(one: tuple[int, int, int, int], other: tuple[int, int, int, int]) -> float:
    """Common part of two boxes, of the smaller one."""
    w, h = min(one[2], other[2]) - max(one[0], other[0]), min(one[3], other[3]) - max(one[1], other[1])
    areas = [(b[2] - b[0]) * (b[3] - b[1]) for b in (one, other)]
    return w * h / max(min(areas), 1) if w > 0 and h > 0 else 0.0


def _is_soft_edge(
    work: Work,
    mask: np.ndarray,
    box: tuple[int, int, int, int],
    ground: np.ndarray | None,
    alpha: np.ndarray | None,
) -> bool:
    """Whether a place fades into the ground, or into nothing."""
    x0, y0, x1, y1 = box
    if alpha is not None:
        part = alpha[y0:y1, x0:x1][mask]
        return bool(np.mean(part < SOLID_ALPHA) > 0.5)
    if ground is None:
        return False
    apart = np.linalg.norm(work.lab[y0:y1, x0:x1] - ground, axis=2)
    if np.percentile(apart[mask], 3) > INTO_GROUND:
        return False
    rim = cv2.dilate(mask.astype(np.uint8), np.ones((5, 5), np.uint8)).astype(bool) & ~mask
    return bool(rim.any() and np.mean(apart[rim] < INTO_GROUND) > GROUND_RIM)
