"""Places of continuous tone in a reduced picture: gradients, soft edges, photographs.

Three witnesses: slopes whose steps point one way, surfaces through gentle fades, and pixels that no ink nor an edge
between two inks explains.  A gradient is mostly slope; a photograph is mostly unexplained.
"""

from dataclasses import dataclass

import cv2
import numpy as np

from preflight.pixels import inks, slopes
from preflight.pixels.lab import lab_of_colours
from preflight.pixels.mixture import Palette, unexplained
from preflight.pixels.reduction import SOLID_ALPHA, Work
from preflight.pixels.slopes import EDGE_STEP, Slope
from preflight.pixels.tone import FadeKind

#: Least travel of a slope and of a surface to be believed in a lossy picture, and at poor quality, Delta E.
TRAVEL_LOSSY, TRAVEL_POOR, SURFACE_LOSSY = 5.0, 12.0, 3.5
POOR_QUALITY = 45
#: Share of the picture that slopes cover at least, without and with loss.
SLOPE_AREA, SLOPE_AREA_LOSSY = 0.0012, 0.0045
#: Distance from a mixture of two inks that is still one, sRGB and as a part of the contrast, without and with loss.
STRANGE, STRANGE_LOSSY = (10.0, 0.05), (20.0, 0.1)
#: Inks further away than this many pixels do not mix.
MIXING_REACH = 3
#: Side of the blocks that are unexplained as a whole, the part of their pixels that makes them so, how many it takes
#: at least, and their least share of the picture.
BLOCK, BLOCK_PART, LEAST_BLOCKS, BLOCKS_SHARE = 16, 0.5, 5, 0.0015
#: A fade reaches on from where it was found, over pixels that are at least this far from any flat ink, Delta E,
GROWN_APART = 4.0
#: across no edge, and no further than this many pixels.
GROWN_STEP, GROWTH = 12.0, 16
#: Places nearer than this part of the picture's smaller side are one.
JOINED = 0.02
#: A place is a photograph when this part of it is not slope.
NOT_SLOPE = 0.45
#: A soft edge fades into the ground: its lightest or darkest colours come this near, Delta E, and this part of its rim is ground.
INTO_GROUND, GROUND_RIM = 8.0, 0.3
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
    steep = slopes.slopes(work.lab, work.steps, thickness)
    gentle = slopes.surfaces(work.lab, *inks.flat_parts(flat))
    if work.lossy:
        least = TRAVEL_POOR if quality and quality < POOR_QUALITY else TRAVEL_LOSSY
        steep = [slope for slope in steep if slope.travel >= least]
        gentle = [slope for slope in gentle if slope.travel >= SURFACE_LOSSY]
    area = np.count_nonzero(slopes.painted(steep, flat.shape)) / flat.size
    if area <= (SLOPE_AREA_LOSSY if work.lossy else SLOPE_AREA):
        return gentle
    return steep + gentle


def places(work: Work, fading: list[Slope], colours: np.ndarray, ground: np.ndarray | None, alpha: np.ndarray | None) -> list[Place]:
    """The places that fade, largest first.

    Args:
        work: the reduced picture.
        fading: slopes and surfaces in it.
        colours: sRGB of its inks outside those, float32 (n, 3).
        ground: sRGB of the sheet, float32 (3,); None where there is none.
        alpha: uint8, of the reduced picture; None when it is opaque.
    """
    shape = work.steps.shape
    sloping = slopes.painted(fading, shape)
    if not len(colours):
        colours = np.zeros((1, 3), np.float32)
    palette = Palette(colours)
    tolerance, relative = STRANGE_LOSSY if work.lossy else STRANGE
    strange = unexplained(work.rgb, palette, tolerance, relative, MIXING_REACH)
    if work.clear is not None:
        strange &= ~work.clear
    strange = cv2.morphologyEx(strange.astype(np.uint8), cv2.MORPH_OPEN, np.ones((3, 3), np.uint8)) > 0
    blocks = _blocks(strange & ~sloping)
    picture = blocks.sum() >= LEAST_BLOCKS and blocks.mean() >= BLOCKS_SHARE
    fades = sloping
    if sloping.any():
        apart = palette.apart(work.rgb) > GROWN_APART
        fades = _grown(sloping, apart & (work.steps < GROWN_STEP))
    if picture:
        large = np.kron(blocks, np.ones((BLOCK, BLOCK), bool))
        busy = strange.copy()
        busy[: large.shape[0], : large.shape[1]] |= large
        fades = fades | busy
    if not fades.any():
        return []
    return _kinds(work, fades, sloping, blocks if picture else np.zeros_like(blocks), ground, alpha)


def _blocks(mask: np.ndarray) -> np.ndarray:
    """Blocks most of whose pixels are set: bool (rows, columns)."""
    rows, columns = mask.shape[0] // BLOCK, mask.shape[1] // BLOCK
    if not rows or not columns:
        return np.zeros((1, 1), bool)
    part = mask[: rows * BLOCK, : columns * BLOCK].astype(np.float32)
    return cv2.resize(part, (columns, rows), interpolation=cv2.INTER_AREA) > BLOCK_PART


def _grown(seed: np.ndarray, allowed: np.ndarray) -> np.ndarray:
    """A mask grown over allowed pixels, GROWTH pixels at most."""
    mask = seed.astype(np.uint8)
    room = (allowed | seed).astype(np.uint8)
    kernel = np.ones((3, 3), np.uint8)
    for _ in range(GROWTH):
        mask = cv2.bitwise_and(cv2.dilate(mask, kernel), room)
    return mask > 0


def _kinds(
    work: Work, fades: np.ndarray, sloping: np.ndarray, blocks: np.ndarray, ground: np.ndarray | None,
    alpha: np.ndarray | None,
) -> list[Place]:  # fmt: skip
    """The connected places of a mask, and what each of them is."""
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
        slope = np.count_nonzero(mask & sloping[window]) / area
        strange = int(np.count_nonzero(blocks[y // BLOCK : (y + h) // BLOCK + 1, x // BLOCK : (x + w) // BLOCK + 1]))
        kind: FadeKind = "gradient"
        if strange >= LEAST_BLOCKS and slope < 1 - NOT_SLOPE:
            kind = "photograph"
        elif not slope:
            continue  # a few strange pixels far from any slope: compression
        elif _is_soft_edge(work, mask, (x, y, x + w, y + h), ground_lab, alpha):
            kind = "soft edge"
        sure = 0.95 if strange >= 4 * LEAST_BLOCKS or not work.lossy else 0.9
        found.append(Place(kind, (x, y, x + w, y + h), area, sure))
    return sorted(found, key=lambda place: -place.area)


def _is_soft_edge(
    work: Work, mask: np.ndarray, box: tuple[int, int, int, int], ground: np.ndarray | None, alpha: np.ndarray | None
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
