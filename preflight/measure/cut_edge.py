"""How the art meets the cut: how far ink runs past it, how near to it lettering comes, and frames that follow it.  In mm."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np

from preflight.artwork import Artwork, Box, Mark
from preflight.measure.cut_outline import Cut, Piece
from preflight.measure.cut_shape import contains, distances, perimeter, samples, thinned

cv2.setNumThreads(1)

#: Pixels per mm, and pixels at most, of the pictures the edge is looked at in.
_FINE, _MOST_PIXELS = 12.0, 8_000_000
#: The edge is looked at so often, mm, but not at more places than the second number.
_SPACING, _MOST_SAMPLES = 0.3, 4000
#: Directions in which ink may run past the cut, degrees from straight out.
_FAN = np.radians([-60, -45, -30, -15, 0, 15, 30, 45, 60])
#: Colours further apart than this (sum over R, G and B, of 765) are two colours.
_COLOUR_STEP = 60
#: Of two distances along an edge, even means no further apart than the larger of these: mm, share.
_EVEN_MM, _EVEN_SHARE = 0.3, 0.25
#: A frame follows at least this share of the outline, and a panel inside it this share of the piece's box.
_FOLLOWS, _PANEL = 0.8, 0.6
#: Stretches of the edge whose bleed differs by less than this are one stretch, mm.
_STEP_MM = 0.5
#: Stretches shorter than this are short, mm.
_SHORT_MM = 2.5
#: Rings are thinned to within this before anything is sampled along them or measured to them, mm.
_THINNED_MM = 0.003


@dataclass(frozen=True)
class Near:
    """Something near the cut: how near, in mm, what, and where."""

    value: float
    what: str
    box: Box


def _scale_for(box: Box) -> float:
    area = max((box[2] - box[0]) * (box[3] - box[1]), 1e-6)
    return min(_FINE, (_MOST_PIXELS / area) ** 0.5)


def _around(cut: Cut, rim: float) -> Box:
    boxes = [piece.box for piece in cut.pieces]
    return (
        min(b[0] for b in boxes) - rim, min(b[1] for b in boxes) - rim,
        max(b[2] for b in boxes) + rim, max(b[3] for b in boxes) + rim,
    )  # fmt: skip


def _read(picture: np.ndarray, box: Box, scale: float, points: np.ndarray) -> np.ndarray:
    """The picture at points (..., 2) in mm, bilinear; 0 outside."""
    x = ((points[..., 0] - box[0]) * scale - 0.5).astype(np.float32)
    y = ((points[..., 1] - box[1]) * scale - 0.5).astype(np.float32)
    # OpenCV cannot remap rows longer than 32 767.
    flat_x, flat_y = x.reshape(-1, x.shape[-1]), y.reshape(-1, y.shape[-1])
    parts = [
        cv2.remap(picture, flat_x[i : i + 30_000], flat_y[i : i + 30_000], cv2.INTER_LINEAR)
        for i in range(0, len(flat_x), 30_000)
    ]
    return np.concatenate(parts).reshape(*x.shape, *picture.shape[2:])


def _thinned(piece: Piece) -> Piece:
    return Piece(*_rings(piece))


def _rings(piece: Piece) -> tuple[np.ndarray, tuple[np.ndarray, ...]]:
    outer, *holes = (thinned(ring, _THINNED_MM, 1500) for ring in piece.rings[:40])
    return outer, tuple(holes)


def _edge_samples(piece: Piece) -> tuple[np.ndarray, np.ndarray]:
    """Points along all rings of a piece and normals out of the material."""
    spacing = max(_SPACING, sum(perimeter(ring) for ring in piece.rings) / _MOST_SAMPLES)
    points, normals = [], []
    for number, ring in enumerate(piece.rings):
        at, inward, _ = samples(ring, spacing)
        keep = np.linspace(0, len(at) - 1, min(len(at), 2 * _MOST_SAMPLES)).astype(int)
        points.append(at[keep])
        normals.append(inward[keep] if number else -inward[keep])
    return np.vstack(points), np.vstack(normals)


# ------------------------------------------------------------------------------------------------------- bleed


def bleeds(art: Artwork, cut: Cut, furthest: float) -> list[Near]:
    """Where ink reaches the cut: how far it runs on past it, one stretch of the edge each, least first.

    At each place the ink is followed outwards, straight and up to 60 degrees aside, so that a stripe that crosses the
    cut aslant counts as far as it reaches; the way counts by its distance from the cut.  At most `furthest` is said.
    Places without ink at the cut need no bleed and are not given.
    """
    rim = furthest + 1
    box = _around(cut, rim)
    scale = _scale_for(box)
    covered = art.coverage(None, box, scale)
    found: list[Near] = []
    for piece in map(_thinned, cut.pieces[:200]):
        points, normals = _edge_samples(piece)
        # The line itself may be printed: look beyond it.
        band = cut.printed_mm / 2 + 1.0 / scale
        touched = _read(covered, box, scale, points - normals * band) >= 128
        if not touched.any():
            continue
        reach = np.full(len(points), np.nan)
        at = np.flatnonzero(touched)
        reach[at] = _reaches(covered, box, scale, piece, points[at], normals[at], band, furthest)
        found += _stretches(points, reach)
    return sorted(found, key=lambda near: near.value)


def _reaches(
    covered: np.ndarray, box: Box, scale: float, piece: Piece, points: np.ndarray, normals: np.ndarray, band: float,
    furthest: float,
) -> np.ndarray:  # fmt: skip
    """Distance from the cut to which ink runs on unbroken from each point; 0 where it ends at the cut."""
    pixel = 1 / scale
    best = np.zeros(len(points))
    for angle in _FAN:
        turned = normals @ np.array([[np.cos(angle), np.sin(angle)], [-np.sin(angle), np.cos(angle)]])
        ways = np.arange(band, furthest / np.cos(angle) + 2 * pixel, pixel)
        values = _read(covered, box, scale, points[:, None, :] + turned[:, None, :] * ways[None, :, None])
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
    return np.where(best <= band + 0.25 * pixel, 0.0, best)


def _stretches(points: np.ndarray, reach: np.ndarray) -> list[Near]:
    """One Near for each stretch of like reach; a dip at a single place is taken for noise."""
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
            found.append(Near(value, "the colour at the cut", box))
    # At corners the reach changes gradually: short stretches beside long ones are told only where they fall short of them.
    long = [near for near in found if _size(near.box) > 1 + _SHORT_MM]
    floor = min((near.value for near in long), default=np.inf)
    return [near for near in found if near in long or near.value < floor - 0.1] or found


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


# ------------------------------------------------------------------------------------------------------ margin


def margins(art: Artwork, cut: Cut, furthest: float) -> list[Near]:
    """Lettering and marks that lie inside the cut without crossing it, and their distance to it, nearest first.

    Panels and frames that follow the outline evenly are no marks: see `border`.  At least the nearest is given, and all
    that are nearer than `furthest`.
    """
    if art.composite or art.kind == "bitmap" or cut.derived:
        return _pixel_margins(art, cut, furthest)
    found: list[Near] = []
    for piece in map(_thinned, cut.pieces[:100]):
        found += _mark_margins(art, cut, piece, furthest)
    return sorted(found, key=lambda near: near.value)


def _mark_margins(art: Artwork, cut: Cut, piece: Piece, furthest: float) -> list[Near]:
    marks = [
        m for i, m in enumerate(art.marks) if i not in cut.marks and m.role != "cut" and m.opacity > 0.02
    ]
    if not marks:
        return []
    boxes = np.array([mark.box for mark in marks])
    middles = (boxes[:, :2] + boxes[:, 2:]) / 2
    rings = piece.rings
    inside = contains(piece.outer, middles)
    half = np.hypot(*(boxes[:, 2:] - boxes[:, :2]).T) / 2
    # No point of a mark is nearer to the edge than this.
    least = np.where(inside, distances(middles, rings) - half, -half)
    found: list[Near] = []
    best = np.inf
    for number in np.argsort(least):
        if least[number] > max(best, furthest):
            break
        near = _mark_margin(marks[number], piece, rings)
        if near is not None:
            best = min(best, near.value)
            found.append(near)
        if len(found) > 500:
            break
    return [near for near in found if near.value <= max(best, furthest)]


def _mark_margin(mark: Mark, piece: Piece, rings: tuple[np.ndarray, ...]) -> Near | None:
    """How near one mark comes to the edge from inside; None when it crosses it, lies outside or is a panel."""
    lines = mark.path.polygons(0.01) if mark.path is not None else [box_ring(mark.box)]
    points = np.vstack(lines) if lines else np.zeros((0, 2))
    if mark.path is not None and mark.kind != "stroke":
        x0, y0, x1, y1 = mark.box  # what is clipped away is not there
        held = (points >= (x0 - 0.05, y0 - 0.05)).all(1) & (points <= (x1 + 0.05, y1 + 0.05)).all(1)
        points = points[held] if held.any() else box_ring(mark.box)
    if not len(points) or not np.isfinite(points).all():
        return None
    points = points[:: max(1, len(points) // 4000)]
    within = contains(piece.outer, points)
    if not within.any():
        return None
    lettering = mark.kind == "glyph"
    what = "lettering" if lettering else "a line" if mark.kind == "stroke" else "a mark"
    if not within.all():
        # A background or a picture may run off; a letter that does is cut through.
        return Near(0.0, "lettering across the cut", mark.box) if lettering else None
    for hole in piece.holes:
        if contains(hole, points).any():
            return None
    half = mark.pen.greatest_mm / 2 if mark.kind == "stroke" and mark.pen else 0.0
    apart = distances(points, rings)
    back = _back(piece, lines)
    value = float(min(apart.min(), back.min() if len(back) else np.inf)) - half
    if value <= 0.005 and not lettering:
        return None
    if _follows(mark.box, piece, back):
        return None
    return Near(max(value, 0.0), what, mark.box)


def _back(piece: Piece, lines: list[np.ndarray]) -> np.ndarray:
    """Distances from places along the edge to a mark's outline: an edge may be nearest between two of its points."""
    points, _ = _edge_samples(piece)
    points = points[:: max(1, len(points) // 600)]
    fewer = [line[:: max(1, len(line) // 1500)] for line in lines[:50] if len(line) > 1]
    return distances(points, fewer)


def box_ring(box: Box) -> np.ndarray:
    """The four corners of a box as a ring."""
    x0, y0, x1, y1 = box
    return np.array([[x0, y0], [x1, y0], [x1, y1], [x0, y1]], float)


def _even(distance: np.ndarray) -> bool:
    low, middle, high = np.percentile(distance, (10, 50, 90))
    return bool(high - low <= max(_EVEN_MM, _EVEN_SHARE * middle))


def _follows(box: Box, piece: Piece, back: np.ndarray) -> bool:
    """Is a mark a panel or frame at an even distance all along the outline?"""
    outer = piece.box
    share = (box[2] - box[0]) * (box[3] - box[1]) / max((outer[2] - outer[0]) * (outer[3] - outer[1]), 1e-9)
    return share >= _PANEL and len(back) > 0 and _even(back)


def _pixel_margins(art: Artwork, cut: Cut, furthest: float) -> list[Near]:
    """The same for bitmaps and derived outlines: pieces of each plate, and of the bare ground, that do not touch the edge."""
    box = _around(cut, 0.5)
    scale = _scale_for(box)
    columns, rows = round((box[2] - box[0]) * scale), round((box[3] - box[1]) * scale)
    if columns < 3 or rows < 3:
        return []
    within = np.zeros((rows, columns), np.uint8)
    for piece in cut.pieces[:200]:
        rings = [np.round((ring - box[:2]) * scale * 16 - 8).astype(np.int32) for ring in piece.rings]
        cv2.fillPoly(within, rings[:1] if cut.derived else rings, 1, lineType=cv2.LINE_8, shift=4)
    edge = cv2.distanceTransform(within, cv2.DIST_L2, cv2.DIST_MASK_PRECISE) / scale
    plates = [(ink.name, art.coverage(ink, box, scale) >= 128) for ink in art.inks[:12]]
    bare = art.coverage(None, box, scale) < 128
    found: list[Near] = []
    for name, plate in [
        *((f"a mark in {name}", plate) for name, plate in plates),
        ("a mark left open", bare),
    ]:
        found += _plate_margins(
            (plate & (within > 0)).astype(np.uint8), edge, box, scale, name, cut, furthest
        )
    found.sort(key=lambda near: near.value)
    return [near for near in found if near.value <= max(furthest, found[0].value)][:200]


def _plate_margins(
    plate: np.ndarray, edge: np.ndarray, box: Box, scale: float, what: str, cut: Cut, furthest: float
) -> list[Near]:
    count, labels, stats, _ = cv2.connectedComponentsWithStats(plate, connectivity=8)
    if count < 2:
        return []
    nearest = np.full(count, np.inf, np.float32)
    at = np.flatnonzero(plate)
    flat = labels.ravel()[at]
    order = np.argsort(flat, kind="stable")
    starts = np.searchsorted(flat[order], np.arange(1, count))
    nearest[1:] = np.minimum.reduceat(edge.ravel()[at][order], starts)
    touching = 2.5 / scale + cut.grain_mm + cut.printed_mm / 2
    found: list[Near] = []
    outer = _around(cut, 0)
    whole = (outer[2] - outer[0]) * (outer[3] - outer[1])
    for number in np.argsort(nearest[1:]) + 1:
        value = float(nearest[number])
        if value > furthest and found:
            break
        x, y, width, height, area = stats[number]
        # Dust and the rims between two plates are no marks.
        if value <= touching or area / scale**2 < 0.1 or min(width, height) / scale < 0.15:
            continue
        if width * height / scale**2 >= _PANEL * whole and _panel(labels, number, stats[number], edge):
            continue
        place = (
            box[0] + x / scale,
            box[1] + y / scale,
            box[0] + (x + width) / scale,
            box[1] + (y + height) / scale,
        )
        found.append(Near(value - 0.5 / scale, what, tuple(map(float, place))))  # type: ignore[arg-type]
        if len(found) == 100:
            break
    return found


def _panel(labels: np.ndarray, number: int, stats: np.ndarray, edge: np.ndarray) -> bool:
    x, y, width, height, _ = stats
    shape = (labels[y : y + height, x : x + width] == number).astype(np.uint8)
    contours, _ = cv2.findContours(shape, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    rim = max(contours, key=len).reshape(-1, 2)
    return _even(edge[y : y + height, x : x + width][rim[:, 1], rim[:, 0]])


# ------------------------------------------------------------------------------------------------------ border


def border(art: Artwork, piece: Piece, cut: Cut, widest: float = 10.0) -> dict[str, Any] | None:
    """A frame of one colour that runs evenly along the edge of a piece, no wider than `widest` mm; None when there is none.

    Returns:
        width_mm: at its narrowest (the 5 % quantile); median_mm; share of the edge it follows; box.
    """
    piece = _thinned(piece)
    spacing = max(_SPACING, perimeter(piece.outer) / 1500)
    points, inward, _ = samples(piece.outer, spacing)
    x0, y0, x1, y1 = piece.box
    box = (x0 - 0.5, y0 - 0.5, x1 + 0.5, y1 + 0.5)
    scale = _scale_for(box)
    widest = min(widest, 0.4 * min(x1 - x0, y1 - y0))
    band = cut.pen_mm / 2 + cut.grain_mm + 1.5 / scale
    ways = np.arange(band, widest, 1 / scale)
    if len(ways) < 3 or len(points) < 8:
        return None
    picture = art.picture(box, scale)
    seen = _read(picture, box, scale, points[:, None, :] + inward[:, None, :] * ways[None, :, None]).astype(
        np.int16
    )
    changed = np.abs(seen - seen[:, :1]).sum(2) > _COLOUR_STEP
    ends = changed.any(1)
    if ends.mean() < _FOLLOWS:
        return None
    width = ways[changed[ends].argmax(1)] - 0.5 / scale
    low, middle, high = np.percentile(width, (5, 50, 90))
    if np.percentile(width, 90) - np.percentile(width, 10) > max(_EVEN_MM, _EVEN_SHARE * middle):
        return None
    # The colour must be one along the edge, or it is a picture that happens to change there.
    first = seen[ends, 0]
    if (np.abs(first - np.median(first, axis=0)).sum(1) > _COLOUR_STEP).mean() > 0.1:
        return None
    return {"width_mm": float(low), "median_mm": float(middle), "share": float(ends.mean()), "box": piece.box}
