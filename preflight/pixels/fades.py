"""Places of continuous tone in a reduced picture: gradients, soft edges, photographs.

Three witnesses: slopes whose steps point one way, surfaces through gentle fades, and pixels that no ink nor an edge
between two inks explains.  A gradient is mostly slope; a photograph is mostly unexplained.
"""

import cv2
import numpy as np

from preflight.pixels import frames, grain, inks, shadows, slopes
from preflight.pixels import photographs as photos
from preflight.pixels.ground import commonest
from preflight.pixels.lab import lab_of_colours
from preflight.pixels.mixture import Palette, unexplained
from preflight.pixels.places import Place, nested, union
from preflight.pixels.reduction import Work
from preflight.pixels.slopes import Slope

#: Least travel of a slope and of a surface to be believed in a lossy picture, and at poor quality, Delta E.
TRAVEL_LOSSY, TRAVEL_POOR, SURFACE_LOSSY, SURFACE_POOR = 5.0, 12.0, 3.5, 5.0
#: and of a surface of few blocks: colour is stored by squares of four of them (ITU-T T.81, 4:2:0), a few of which may go one way.
SURFACE_NARROW = 7.0
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
#: A soft edge is seen where it is wider than this many pixels, and than this part of the picture's width: what is narrower is its
#: last level before the ground, or the noise of compression along a shape.
WIDE, SEEN_WIDTH = 3, 3 / 700
#: Soft edges smaller than this part of the largest are crumbs of it, without and with loss: compression hides much of some.
CRUMB = (0.1, 0.03)
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
        narrow = slopes.NARROW_BLOCKS * slopes.BLOCK**2
        gentle = [
            slope
            for slope in gentle
            if slope.travel
            >= (
                SURFACE_LOSSY
                if not poor or slope.area >= wide
                else SURFACE_POOR
                if slope.area >= narrow
                else SURFACE_NARROW
            )
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
    lines: bool = False, quality: float | None = None,
) -> tuple[list[Place], list[np.ndarray]]:  # fmt: skip
    """The places that fade, largest first; and flat colours (sRGB) that are in nothing but disturbed places.

    Args:
        work: the reduced picture.
        fading: slopes and surfaces in it.
        colours: sRGB of its inks outside those, float32 (n, 3).
        ground: sRGB of the sheet, float32 (3,); None where there is none.
        alpha: uint8, of the reduced picture; None when it is opaque.
        lines: some of the inks are those of lines too thin for a pixel to lie inside.
        quality: of the compression, 1 to 100, where known.
    """
    shape = work.steps.shape
    sloping = slopes.painted(fading, shape)
    steep = slopes.painted([slope for slope in fading if slope.level >= 0], shape)
    palette = Palette(colours if len(colours) else np.zeros((1, 3), np.float32))
    if steep.mean() < 0.5 and grain.is_grainy(work) and not photos.is_inked(work, palette):
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
    if picture:
        lively = photos.lively_blocks(work, beside)
        photographs = photos.from_blocks(blocks, lively, strange, beside)
        if fading:
            photographs, soft = photos.without_soft(work, photographs, blocks, beside, strange, cast)
            filled = photos.painted(blocks, shape) & strange
            for x0, y0, x1, y1 in soft:
                fades[y0:y1, x0:x1] |= filled[y0:y1, x0:x1]
        photographs, hatched = photos.without_hatched(work, photographs, blocks, palette.rgb, quality)
        if still:
            photographs, plain = photos.without_plain(work, photographs, strange, lively)
        plain = plain + hatched
    photographs = photos.with_busy(photographs, grain.busy(work, quality) + grain.mottled(work, steep | cast))
    photographs = frames.framed(work, photographs, strange, fades, sheet)
    if ground is None:
        photographs = photos.as_one(photographs, shape, work.clear)
    for place in photographs:  # what fades inside a photograph is part of it
        x0, y0, x1, y1 = place.box
        fades[y0:y1, x0:x1] = False
    if picture and not photographs and not plain and not soft:
        fades = fades | strange
    if fades.any():
        photographs = photographs + _kinds(work, fades, sloping, cast, sheet)
    return sorted(photographs, key=lambda place: -place.area), plain


def _grown(seed: np.ndarray, allowed: np.ndarray) -> np.ndarray:
    """A mask grown over allowed pixels, GROWTH pixels at most."""
    mask = seed.astype(np.uint8)
    room = (allowed | seed).astype(np.uint8)
    kernel = np.ones((3, 3), np.uint8)
    for _ in range(GROWTH):
        mask = cv2.bitwise_and(cv2.dilate(mask, kernel), room)
    return mask > 0


def _kinds(
    work: Work, fades: np.ndarray, sloping: np.ndarray, cast: np.ndarray, ground: np.ndarray | None
) -> list[Place]:
    """The connected places of a mask that are gradients or soft edges."""
    joined = _closed(fades)
    count, labels, stats, _ = cv2.connectedComponentsWithStats(joined, connectivity=8)
    ground_lab = None if ground is None else lab_of_colours(ground[None])[0]
    found = []
    soft = np.zeros_like(fades)
    for number in range(1, count):
        x, y, w, h, _ = (int(v) for v in stats[number])
        window = (slice(y, y + h), slice(x, x + w))
        mask = (labels[window] == number) & fades[window]
        area = int(np.count_nonzero(mask))
        if area < LEAST_PLACE:
            continue
        if not (mask & (sloping | cast)[window]).any():
            continue  # a few strange pixels far from any slope: compression
        if np.count_nonzero(mask & cast[window]) > shadows.OWN_ON_PATH * area or shadows.is_soft_edge(
            work, mask, (x, y, x + w, y + h), ground_lab
        ):
            soft[window] |= mask
        else:
            found.append(Place("gradient", (x, y, x + w, y + h), area, _sure(work.lossy)))
    if work.clear is not None:
        things = ~work.clear
    elif ground_lab is not None:
        things = np.linalg.norm(work.lab - ground_lab, axis=2) > shadows.INTO_GROUND
    else:
        return nested(sorted(found, key=lambda place: -place.area)[: photos.MOST_BOXES])
    found += _soft_places(soft, things, work.lossy)
    found = sorted(found, key=lambda place: -place.area)[: photos.MOST_BOXES]
    if len(found) > 1:
        found = _by_thing(work, found, fades, things | (joined > 0))
    return nested(found)


def _closed(mask: np.ndarray) -> np.ndarray:
    """A mask with its nearest parts joined, uint8."""
    reach = max(3, round(JOINED * min(mask.shape))) | 1
    return cv2.morphologyEx(mask.astype(np.uint8), cv2.MORPH_CLOSE, np.ones((reach, reach), np.uint8))


def _soft_places(soft: np.ndarray, things: np.ndarray, lossy: bool) -> list[Place]:
    """The soft edges of a mask, those of one thing made one: it hides some of its own shadow."""
    side = max(
        WIDE, round(SEEN_WIDTH * soft.shape[1]) - lossy
    )  # compression disturbs a pixel of it along the shape
    seen = _opened(soft, side)
    if not seen.any():
        seen = soft
    joined = things & ~soft | (_closed(seen) > 0)
    _, labels = cv2.connectedComponents(joined.astype(np.uint8), connectivity=8)
    labels[~seen] = 0
    areas = np.bincount(labels.ravel())
    areas[0] = 0
    least = max(LEAST_PLACE, CRUMB[lossy] * int(areas.max()))
    plain = _boxes(labels, len(areas))
    _with_ends(labels, _opened(soft, WIDE))
    whole = _boxes(labels, len(areas))
    return [
        Place("soft edge", whole[number], int(areas[number]), _sure(lossy), plain[number])
        for number in np.flatnonzero(areas >= least)
    ]


def _boxes(labels: np.ndarray, count: int) -> list[tuple[int, int, int, int]]:
    """The boxes of numbered places; of no meaning where a number is not met."""
    ys, xs = np.nonzero(labels)
    numbers = labels[ys, xs]
    low, high = np.full((count, 2), max(labels.shape)), np.zeros((count, 2), int)
    for axis, at in enumerate((xs, ys)):
        np.minimum.at(low[:, axis], numbers, at)
        np.maximum.at(high[:, axis], numbers, at + 1)
    return [(int(x0), int(y0), int(x1), int(y1)) for (x0, y0), (x1, y1) in zip(low, high, strict=True)]


def _with_ends(labels: np.ndarray, mask: np.ndarray) -> None:
    """Number the narrow ends of numbered places: the parts of a mask that touch one place and no other."""
    count, parts = cv2.connectedComponents(mask.astype(np.uint8), connectivity=8)
    inside = labels > 0
    low, high = np.full(count, labels.max() + 1), np.zeros(count, int)
    np.minimum.at(low, parts[inside], labels[inside])
    np.maximum.at(high, parts[inside], labels[inside])
    ends = mask & ~inside & (low == high)[parts]
    labels[ends] = low[parts[ends]]


def _opened(mask: np.ndarray, side: int) -> np.ndarray:
    """A mask without what is narrower than so many pixels."""
    return cv2.morphologyEx(mask.astype(np.uint8), cv2.MORPH_OPEN, np.ones((side, side), np.uint8)) > 0


def _sure(lossy: bool) -> float:
    """How sure a fade is that slopes tell of."""
    return 0.9 if lossy else 0.97


def _by_thing(work: Work, places: list[Place], fades: np.ndarray, things: np.ndarray) -> list[Place]:
    """The fades of one thing that go the same way made one: it hides parts of a gradient."""
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
            if thing == other and place.kind != "soft edge" and _is_along(colours, path):
                kept[number] = (thing, path, union(joint, place))
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
