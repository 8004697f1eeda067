"""Places of continuous tone in a reduced picture: gradients, soft edges, photographs.

Three witnesses: slopes whose steps point one way, surfaces through gentle fades, and pixels that no ink nor an edge
between two inks explains.  A gradient is mostly slope; a photograph is mostly unexplained.
"""

import cv2
import numpy as np

from preflight.pixels import frames, inks, shadows, slopes
from preflight.pixels import photographs as photos
from preflight.pixels.ground import commonest
from preflight.pixels.lab import lab_of_colours
from preflight.pixels.mixture import Palette, unexplained
from preflight.pixels.photographs import Place
from preflight.pixels.reduction import Work
from preflight.pixels.slopes import Slope
from preflight.pixels.tone import FadeKind

#: Least travel of a slope and of a surface to be believed in a lossy picture, and at poor quality, Delta E.
TRAVEL_LOSSY, TRAVEL_POOR, SURFACE_LOSSY, SURFACE_POOR = 5.0, 12.0, 3.5, 5.0
#: Under this quality, or where nobody knows it (WebP), colour blurs across edges.
CLEAN_QUALITY = 75
#: A slope that spans less, Delta E, may be the edge of a flat tint beside one hardly darker: no step of it is large.
EDGE_TRAVEL = 9.5
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
#: A fade reaches on from where it was found, over pixels that are at least this far from any flat ink, Delta E,
GROWN_APART = 4.0
#: (nearer than BLANK it has ended)
BLANK = 3
#: across no edge, and no further than this many pixels.
GROWN_STEP, GROWTH = 12.0, 16
#: Places nearer than this part of the picture's smaller side are one.
JOINED = 0.02
#: The edge of a fade is no mixture of two inks either: so many pixels around it count with it.
BESIDE = 5
#: A fade goes the way of another when so large a part of its colours lies this near to that one's path, sRGB.
ALONG, ALONG_PART = 12.0, 0.75
#: Boxes that lie over each other by this part of the smaller are one place.
NESTED = 0.5
#: Boxes are in a row when they share this part of the higher one's height, with gaps of less than this part of the lower one's.
SAME_LEVEL, ROW_GAP = 0.7, 0.12
#: What is narrower than this many pixels is no part of a place: the last level before the ground.
WIDE = 3
#: Places smaller than this many pixels are crumbs.
LEAST_PLACE = 24


def believed(work: Work, quality: float | None) -> list[Slope]:
    """The slopes and surfaces that no compression makes."""
    thickness = 3 if work.blur < 1.78 else 4 if work.blur < 2.07 else 6
    flat = work.steps < inks.FLAT_STEP
    poor = work.lossy and (quality is None or quality < CLEAN_QUALITY)
    steep = slopes.slopes(work.lab, work.steps, thickness, poor)
    gentle = slopes.surfaces(work.lab, *inks.flat_parts(flat), work.lossy, poor)
    if work.lossy:
        least = TRAVEL_POOR if quality and quality < slopes.POOR_QUALITY else TRAVEL_LOSSY
        steep = [slope for slope in steep if slope.travel >= least]
        wide = slopes.WIDE_BLOCKS * slopes.BLOCK**2
        gentle = [
            slope
            for slope in gentle
            if slope.travel >= (SURFACE_POOR if poor and slope.area < wide else SURFACE_LOSSY)
        ]
    doubted = np.inf if poor else EDGE_TRAVEL
    steep = [
        slope for slope in steep if slope.travel > doubted or not slopes.is_blurred_edge(slope, work.lab)
    ]
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
    steep = slopes.painted([slope for slope in fading if slope.level >= 0], shape)
    palette = Palette(colours if len(colours) else np.zeros((1, 3), np.float32))
    if steep.mean() < 0.5 and photos.is_grainy(work) and not photos.is_inked(work, palette):
        return [Place("photograph", (0, 0, shape[1], shape[0]), shape[0] * shape[1], 0.95)], []
    tolerance, relative = STRANGE_LOSSY if work.lossy else STRANGE
    still = work.lossy and not fading  # where something fades, what seems disturbed may be more of it
    thin = 1.0 if lines and not fading else THIN_LOSSY if still else 0.0
    strange = unexplained(work.raw, palette, tolerance, relative, MIXING_REACH, thin)
    if work.clear is not None:
        strange &= ~work.clear
    strange = cv2.morphologyEx(strange.astype(np.uint8), cv2.MORPH_OPEN, np.ones((3, 3), np.uint8)) > 0
    beside = cv2.dilate(sloping.astype(np.uint8), np.ones((BESIDE, BESIDE), np.uint8)) > 0
    blocks = photos.blocks(strange & ~beside) & ~photos.blocks(
        work.steps < photos.STILL_STEP, photos.STILL_PART
    )
    picture = blocks.sum() >= photos.LEAST_BLOCKS and blocks.mean() >= photos.BLOCKS_SHARE
    fades, cast = sloping, np.zeros_like(sloping)
    sheet = commonest(work.rgb) if ground is None and alpha is None else ground
    if sloping.any():
        apart = palette.apart(work.rgb)
        coarse = slopes.painted([slope for slope in fading if slope.level > 0], shape)
        coarse &= ~slopes.painted([slope for slope in fading if slope.level <= 0], shape)
        blank = coarse & (apart < BLANK)  # the coarse levels reach past the end of a fade
        fades = _grown(sloping & ~blank, (apart > GROWN_APART) & (work.steps < GROWN_STEP))
        if work.clear is not None:
            fades &= ~work.clear
        cast, faint = shadows.cast(work, fades, sheet)
        fades = (fades | cast) & ~faint
    photographs: list[Place] = []
    plain: list[np.ndarray] = []
    soft: list[tuple[int, int, int, int]] = []
    grain = photos.busy(work)
    if picture:
        lively = photos.lively_blocks(work, beside)
        photographs = photos.from_blocks(blocks, lively, strange, beside)
        if fading:
            photographs, soft = photos.without_soft(work, photographs, blocks, beside, strange, cast)
            filled = photos.painted(blocks, shape) & strange
            for x0, y0, x1, y1 in soft:
                fades[y0:y1, x0:x1] |= filled[y0:y1, x0:x1]
        photographs, hatched = photos.without_hatched(work, photographs, blocks, palette.rgb)
        if still:
            photographs, plain = photos.without_plain(work, photographs, strange, lively)
        plain = plain + hatched
    photographs = photos.with_busy(photographs, grain + photos.mottled(work, steep | cast))
    photographs = frames.framed(work, photographs, strange, fades, sheet)
    if ground is None:
        photographs = photos.as_one(photographs, shape, work.clear)
    for place in photographs:  # what fades inside a photograph is part of it
        x0, y0, x1, y1 = place.box
        fades[y0:y1, x0:x1] = False
    if picture and not photographs and not plain and not soft:
        fades = fades | strange
    if fades.any():
        photographs = photographs + _kinds(work, fades, sloping | cast, sheet)
    return sorted(photographs, key=lambda place: -place.area), plain


def _grown(seed: np.ndarray, allowed: np.ndarray) -> np.ndarray:
    """A mask grown over allowed pixels, GROWTH pixels at most."""
    mask = seed.astype(np.uint8)
    room = (allowed | seed).astype(np.uint8)
    kernel = np.ones((3, 3), np.uint8)
    for _ in range(GROWTH):
        mask = cv2.bitwise_and(cv2.dilate(mask, kernel), room)
    return mask > 0


def _kinds(work: Work, fades: np.ndarray, sloping: np.ndarray, ground: np.ndarray | None) -> list[Place]:
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
        if shadows.is_soft_edge(work, mask, (x, y, x + w, y + h), ground_lab):
            kind = "soft edge"
            x, y, w, h = _framed(mask, (x, y, w, h))
        found.append(Place(kind, (x, y, x + w, y + h), area, 0.9 if work.lossy else 0.97))
    found = sorted(found, key=lambda place: -place.area)[: photos.MOST_BOXES]
    if len(found) > 1:
        found = _by_thing(work, found, fades, joined, ground_lab)
    return _nested(found)


def _framed(mask: np.ndarray, box: tuple[int, int, int, int]) -> tuple[int, int, int, int]:
    """The box (left, top, width, height) of a place without its hairlines."""
    wide = cv2.morphologyEx(mask.astype(np.uint8), cv2.MORPH_OPEN, np.ones((WIDE, WIDE), np.uint8))
    x, y, w, h = cv2.boundingRect(wide)
    return (box[0] + x, box[1] + y, w, h) if w else box


def _by_thing(
    work: Work, places: list[Place], fades: np.ndarray, joined: np.ndarray, ground: np.ndarray | None
) -> list[Place]:
    """The fades of one thing that go the same way made one: it hides some of its own shadow, and parts of a gradient."""
    if work.clear is not None:
        things = ~work.clear | (joined > 0)
    elif ground is not None:
        things = (np.linalg.norm(work.lab - ground, axis=2) > shadows.INTO_GROUND) | (joined > 0)
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
    """Places of one kind made one whose boxes lie over each other by half (the parts of one shadow around a shape), or close in
    a row (a line of lettering, the tiles of a drawing).
    """
    kept: list[Place] = []
    for place in places:
        for number, other in enumerate(kept):
            together = _covers(place.box, other.box) > NESTED or _in_a_row(place.box, other.box)
            if place.kind == other.kind and together:
                kept[number] = _union(place, other)
                break
        else:
            kept.append(place)
    return kept if len(kept) == len(places) else _nested(kept)


def _in_a_row(one: tuple[int, int, int, int], other: tuple[int, int, int, int]) -> bool:
    """Whether two boxes are about as high, on one level, and close beside each other; or the same one above the other."""
    for near, far in ((0, 1), (1, 0)):
        sides = [box[far + 2] - box[far] for box in (one, other)]
        common = min(one[far + 2], other[far + 2]) - max(one[far], other[far])
        gap = max(one[near] - other[near + 2], other[near] - one[near + 2])
        if common > SAME_LEVEL * max(sides) and gap < ROW_GAP * min(sides):
            return True
    return False


def _covers(one: tuple[int, int, int, int], other: tuple[int, int, int, int]) -> float:
    """Common part of two boxes, of the smaller one."""
    w, h = min(one[2], other[2]) - max(one[0], other[0]), min(one[3], other[3]) - max(one[1], other[1])
    areas = [(b[2] - b[0]) * (b[3] - b[1]) for b in (one, other)]
    return w * h / max(min(areas), 1) if w > 0 and h > 0 else 0.0
