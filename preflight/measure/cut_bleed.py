"""How far ink runs on past the cut where it reaches it.  In mm."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from preflight.artwork import Artwork, Box
from preflight.measure.cut_edge import Near, Sheet, around, edge_samples, scale_for, thin
from preflight.measure.cut_outline import Cut, Piece
from preflight.measure.cut_shape import contains, distances

#: Directions in which ink may run past the cut, degrees from straight out.
_FAN = np.radians([-60, -45, -30, -15, 0, 15, 30, 45, 60])
#: Stretches of the edge whose bleed differs by less than this are one stretch, mm; shorter than the second are short.
_STEP_MM, _SHORT_MM = 0.5, 2.5
#: So many stretches are looked at again with so many pixels per mm, at so many places each.
_AGAIN, _CLOSE, _PLACES = 12, 60.0, 5


@dataclass(frozen=True)
class _Stretch:
    value: float
    box: Box
    worst: np.ndarray  # numbers of the places with the least bleed


def bleeds(art: Artwork, cut: Cut, furthest: float) -> list[Near]:
    """Where ink reaches the cut: how far it runs on past it, one stretch of the edge each, least first.

    At each place the ink is followed outwards, straight and up to 60 degrees aside, so that a stripe that crosses the
    cut aslant counts as far as it reaches; the way counts by its distance from the cut.  At most `furthest` is said.
    Places without ink at the cut need no bleed and are not given.  The worst places are looked at again, closely.
    """
    box = around(cut, furthest + 1)
    scale = scale_for(box)
    sheet = Sheet(art.coverage(None, box, scale), box, scale)
    found: list[Near] = []
    for piece in map(thin, cut.pieces[:200]):
        points, normals = edge_samples(piece)
        reach = _reaches(sheet, piece, points, normals, cut.printed_mm / 2, furthest)
        for number, stretch in enumerate(_stretches(points, reach)):
            value = stretch.value
            if number < _AGAIN and value < furthest:
                near = _closer(art, cut, piece, points[stretch.worst], normals[stretch.worst], furthest)
                value = value if near is None or abs(near - value) > 2 / scale else near
            found.append(Near(value, "the colour at the cut", stretch.box))
    return sorted(found, key=lambda near: near.value)


def _closer(
    art: Artwork, cut: Cut, piece: Piece, points: np.ndarray, normals: np.ndarray, furthest: float
) -> float | None:
    """The least reach of a few places, from a close look at each; None where ink is not seen there after all."""
    values = []
    for number in range(len(points)):
        rim = 2 * furthest + 0.5  # as far as the fan reaches
        x, y = points[number]
        box = (float(x) - rim, float(y) - rim, float(x) + rim, float(y) + rim)
        scale = scale_for(box, _CLOSE if not art.plate_ppi else min(_CLOSE, 2 * art.plate_ppi / 25.4))
        sheet = Sheet(art.coverage(None, box, scale), box, scale)
        one = slice(number, number + 1)
        values.append(_reaches(sheet, piece, points[one], normals[one], cut.printed_mm / 2, furthest)[0])
    seen = np.array(values)
    return None if np.isnan(seen).all() else float(np.nanmedian(seen))


def _reaches(
    sheet: Sheet, piece: Piece, points: np.ndarray, normals: np.ndarray, line: float, furthest: float
) -> np.ndarray:
    """Distance from the cut to which ink runs on unbroken from each place; nan where there is none, 0 where it ends there.

    The cut line itself may be printed, `line` mm to either side: what lies beyond it counts.
    """
    pixel = 1 / sheet.scale
    band = line + pixel
    reach = np.full(len(points), np.nan)
    inked = np.flatnonzero(sheet.at(points - normals * band) >= 128)
    if not len(inked):
        return reach
    points, normals = points[inked], normals[inked]
    best = np.zeros(len(points))
    for angle in _FAN:
        turned = normals @ np.array([[np.cos(angle), np.sin(angle)], [-np.sin(angle), np.cos(angle)]])
        ways = np.arange(band, furthest / np.cos(angle) + 2 * pixel, pixel)
        values = sheet.at(points[:, None, :] + turned[:, None, :] * ways[None, :, None])
        bare = values < 128
        first = np.where(bare.any(1), bare.argmax(1), len(ways))
        ended = first < len(ways)
        after = np.minimum(first, len(ways) - 1)
        before = np.maximum(after - 1, 0)
        row = np.arange(len(points))
        high, low = values[row, before].astype(float), values[row, after].astype(float)
        part = np.where((first > 0) & (high > low), (high - 127.5) / np.maximum(high - low, 1), 0.0)
        way = np.where(first > 0, ways[before] + part * pixel, 0.0)
        way = np.where(ended, way, furthest)
        ends = points + turned * way[:, None]
        inside = contains(piece.outer, ends)
        for hole in piece.holes:
            inside &= ~contains(hole, ends)
        apart = np.where(way > 0, np.minimum(distances(ends, piece.rings), furthest), 0.0)
        # Straight out and into the piece again is a slot that is inked all across; aslant it tells nothing.
        apart = np.where(inside & (way > band), furthest if angle == 0 else 0.0, apart)
        best = np.maximum(best, apart)
    # Ink that only fills the pixel on the cut does not run past it.
    reach[inked] = np.where(best <= band + 0.25 * pixel, 0.0, best)
    return reach


def _stretches(points: np.ndarray, reach: np.ndarray) -> list[_Stretch]:
    """The stretches of like reach, least first; a dip at a single place is taken for noise."""
    values = reach.copy()
    known = ~np.isnan(values)
    smooth = np.fmax(values, np.fmin(np.roll(values, 1), np.roll(values, -1)))
    values[known] = smooth[known]
    found = []
    steps = np.where(known, np.round(np.where(known, values, 0) / _STEP_MM), -1)
    for step in np.unique(steps[known]):
        for group in _groups(points, steps == step):
            (x0, y0), (x1, y1) = points[group].min(0), points[group].max(0)
            value = float(np.nanmin(values[group]))
            box = (float(x0) - 0.5, float(y0) - 0.5, float(x1) + 0.5, float(y1) + 0.5)
            found.append(_Stretch(value, box, group[np.argsort(values[group])[:_PLACES]]))
    # At corners the reach changes gradually: short stretches beside long ones are told only where they fall short of them.
    floor = min((s.value for s in found if _size(s.box) > 1 + _SHORT_MM), default=np.inf)
    told = [s for s in found if _size(s.box) > 1 + _SHORT_MM or s.value < floor - 0.1]
    return sorted(told or found, key=lambda s: s.value)


def _size(box: Box) -> float:
    return max(box[2] - box[0], box[3] - box[1])


def _groups(points: np.ndarray, inside: np.ndarray) -> Iterator[np.ndarray]:
    """Runs of neighbouring places, small breaks in them passed over."""
    at = np.flatnonzero(inside)
    if not len(at):
        return
    step = np.hypot(*(points[at[1:]] - points[at[:-1]]).T)
    breaks = np.flatnonzero((np.diff(at) > 8) | (step > 5)) + 1
    yield from np.split(at, breaks)
