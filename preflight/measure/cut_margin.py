"""How near lettering and marks come to the cut from inside.  In mm."""

import cv2
import numpy as np

from preflight.artwork import Artwork, Box, Mark
from preflight.measure.cut_edge import Near, around, box_ring, edge_samples, even, scale_for, thin
from preflight.measure.cut_outline import Cut, Piece
from preflight.measure.cut_shape import contains, distances

cv2.setNumThreads(1)

#: A panel that follows the outline takes up at least this share of the piece's box.
_PANEL = 0.6


def margins(art: Artwork, cut: Cut, furthest: float) -> list[Near]:
    """Lettering and marks that lie inside the cut without crossing it, and their distance to it, nearest first.

    Panels and frames that follow the outline evenly are no marks: see `border`.  At least the nearest is given, and all
    that are nearer than `furthest`.
    """
    if art.composite or art.kind == "bitmap" or cut.derived:
        return _pixel_margins(art, cut, furthest)
    found: list[Near] = []
    for piece in map(thin, cut.pieces[:100]):
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
    points, _ = edge_samples(piece)
    points = points[:: max(1, len(points) // 600)]
    fewer = [line[:: max(1, len(line) // 1500)] for line in lines[:50] if len(line) > 1]
    return distances(points, fewer)


def _follows(box: Box, piece: Piece, back: np.ndarray) -> bool:
    """Is a mark a panel or frame at an even distance all along the outline?"""
    outer = piece.box
    share = (box[2] - box[0]) * (box[3] - box[1]) / max((outer[2] - outer[0]) * (outer[3] - outer[1]), 1e-9)
    return share >= _PANEL and len(back) > 0 and even(back)


def _pixel_margins(art: Artwork, cut: Cut, furthest: float) -> list[Near]:
    """The same for bitmaps and derived outlines: pieces of each plate, and of the bare ground, that do not touch the edge."""
    box = around(cut, 0.5)
    scale = scale_for(box)
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
    outer = around(cut, 0)
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
    return even(edge[y : y + height, x : x + width][rim[:, 1], rim[:, 0]])
