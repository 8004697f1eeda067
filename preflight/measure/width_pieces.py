"""The stretch of a ridge whose widths lie between two, of many ridges at once.  Everything here is in pixels."""

from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np

from preflight.measure.width_stretch import Stretch

#: A stretch: (widths may grow by this factor, plus so many pixels, over a length of so many widths).  Short but even,
#: or long and less even.  A free bar of 3:1 has an even ridge of two widths; a 7 degree wedge grows by 12 % a width.
TIERS = ((1.08, 0.28, 1.7), (1.25, 0.35, 4.0))
#: A stretch of so many widths is a line even if it lies in several pieces.
LONG = 40
#: The distance map is good to so many pixels: a ridge's pixel that looks so much wider may belong to the stretch.
ROUGHLY = 1.5
#: The reported width: so much of a stretch's length is narrower, which leaves out the noise of single points.
NARROWEST = 0.1
_SQUARE = np.ones((3, 3), np.uint8)


@dataclass(frozen=True, slots=True)
class Measured:
    """Ridges, and the points of theirs that were measured.

    Attributes:
        xy: int (n, 2), columns and rows of the ridges' pixels, those of each ridge after those of the one before.
        near: width at each as the distance map has it.
        first: number of each ridge's first pixel, and at the end n.
        picked: which pixels were measured, in their order.
        width: as measured at each of those.
        normal: (m, 2), unit normals there.
        length: of the ridge that each stands for.
        first_picked: as `first`, of the measured.
    """

    xy: np.ndarray
    near: np.ndarray
    first: np.ndarray
    picked: np.ndarray
    width: np.ndarray
    normal: np.ndarray
    length: np.ndarray
    first_picked: np.ndarray


def between(ridges: Measured, wanted: Sequence[tuple[int, float, float]]) -> list[Stretch | None]:
    """Of each (number of a ridge, least width, most width) the stretch; None where that is scattered over short pieces."""
    numbers = np.array([number for number, _, _ in wanted], int)
    low, high = (np.array([one[i] for one in wanted], float) for i in (1, 2))
    at, owner = _spread(ridges.first_picked, numbers)
    inside = (ridges.width[at] >= low[owner]) & (ridges.width[at] <= high[owner])
    at, owner = at[inside], owner[inside]
    pixels, of_pixels = _spread(ridges.first, numbers)
    thin = ridges.near[pixels] <= high[of_pixels] + ROUGHLY
    all_thin = np.bincount(of_pixels[~thin], minlength=len(wanted)) == 0
    pixels, of_pixels = pixels[thin], of_pixels[thin]
    total = np.bincount(owner, ridges.length[at], len(wanted))
    in_pieces = np.flatnonzero(~all_thin & (total < LONG * high))
    if len(in_pieces):
        kept, kept_pixels = np.ones(len(at), bool), np.ones(len(pixels), bool)
        firsts = (np.searchsorted(of, np.arange(len(wanted) + 1)) for of in (owner, of_pixels))
        first, first_pixel = (of.tolist() for of in firsts)
        for number in in_pieces.tolist():
            own = slice(first[number], first[number + 1])
            own_pixels = slice(first_pixel[number], first_pixel[number + 1])
            kept[own], kept_pixels[own_pixels] = _long_pieces(ridges, at[own], pixels[own_pixels])
        at, owner = at[kept], owner[kept]
        pixels, of_pixels = pixels[kept_pixels], of_pixels[kept_pixels]
    return _stretches(ridges, at, owner, pixels, of_pixels, len(wanted))


def _spread(first: np.ndarray, numbers: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """What belongs to each of some numbers, one after the other, and the place of its number among them."""
    sizes = first[numbers + 1] - first[numbers]
    owner = np.repeat(np.arange(len(numbers)), sizes)
    before = np.cumsum(sizes) - sizes
    return np.arange(int(sizes.sum())) + (first[numbers] - before)[owner], owner


def _long_pieces(ridges: Measured, at: np.ndarray, pixels: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Which measured points and which pixels of one ridge lie in a piece of it that is long enough for a line.

    Args:
        ridges: all of them.
        at: measured points whose width is wanted.
        pixels: those of the ridge that look thin enough.
    """
    none = np.zeros(len(at), bool), np.zeros(len(pixels), bool)
    if not len(at):
        return none
    xy = ridges.xy[pixels]
    points = ridges.xy[ridges.picked[at]]
    corner = np.minimum(xy.min(axis=0), points.min(axis=0)) - 1 if len(xy) else points.min(axis=0) - 1
    wide, high = (np.maximum(xy.max(axis=0, initial=0), points.max(axis=0)) - corner + 2).tolist()
    (x, y), (at_x, at_y) = (xy - corner).T, (points - corner).T
    mask = np.zeros((high, wide), np.uint8)
    mask[y, x] = 255
    count, pieces = cv2.connectedComponents(cv2.dilate(mask, _SQUARE), connectivity=8)
    if count <= 2:
        return ~none[0], ~none[1]
    piece = pieces[at_y, at_x]
    length = np.bincount(piece, ridges.length[at], count)
    length[0] = 0
    least = np.full(count, np.inf)
    np.minimum.at(least, piece, ridges.width[at])
    kept = length >= TIERS[0][2] * np.maximum(least, 1.0)
    return kept[piece], kept[pieces[y, x]]


def _stretches(
    ridges: Measured, at: np.ndarray, owner: np.ndarray, pixels: np.ndarray, of_pixels: np.ndarray, count: int
) -> list[Stretch | None]:
    """The stretches of measured points and pixels, each with the number of the one it belongs to."""
    widths, lengths = ridges.width[at], ridges.length[at]
    order = np.lexsort((widths, owner))
    ordered, summed = widths[order], np.cumsum(lengths[order])
    numbers = np.arange(count)
    first, last = (np.searchsorted(owner, numbers, side=side) for side in ("left", "right"))
    there = np.flatnonzero(last > first)
    found: list[Stretch | None] = [None] * count
    if not len(there):
        return found
    first, last = first[there], last[there]
    before = summed[first] - lengths[order][first]
    total = summed[last - 1] - before
    narrow = NARROWEST * total
    growth, slack, long = TIERS[0]
    thinnest = ordered[first]
    hardly_wider = ordered <= np.repeat(thinnest * growth + slack, last - first)
    even = np.bincount(owner[order], lengths[order] * hardly_wider, count)[there]
    # a joint in an uneven line, as where the bowl of a letter meets its stem, is no line by itself
    joint = even < long * thinnest
    narrow[joint] = np.maximum(narrow, np.minimum(long * thinnest, 0.5 * total))[joint]
    narrowest, typical = (
        ordered[np.clip(np.searchsorted(summed, before + part), first, last - 1)]
        for part in (narrow, 0.5 * total)
    )
    points = ridges.xy[ridges.picked[at]].astype(np.float64)
    normals, path = ridges.normal[at], ridges.xy[pixels].astype(np.float64)
    path_first, path_last = (
        np.searchsorted(of_pixels, there, side=side).tolist() for side in ("left", "right")
    )
    columns = zip(
        there.tolist(), first.tolist(), last.tolist(), path_first, path_last,
        narrowest.tolist(), typical.tolist(), total.tolist(), strict=True,
    )  # fmt: skip
    for number, a, b, c, d, width, usual, length in columns:
        found[number] = Stretch(
            width, usual, length, points[a:b, 0], points[a:b, 1], widths[a:b], normals[a:b], lengths[a:b], path[c:d]
        )  # fmt: skip
    return found
