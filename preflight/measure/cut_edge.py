"""The edge of a piece as it is looked at: places along it, pictures around it, and frames that follow it.  In mm."""

from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np

from preflight.artwork import Artwork, Box, union
from preflight.measure.cut_outline import Cut, Piece
from preflight.measure.cut_shape import samples, thinned
from preflight.measure.rings import perimeter

cv2.setNumThreads(1)

#: Pixels per mm, and pixels at most, of the pictures the edge is looked at in.
_FINE, _MOST_PIXELS = 12.0, 8_000_000
#: The edge is looked at so often, mm, but not at more places than the second number.
_SPACING, _MOST_SAMPLES = 0.3, 4000
#: Rings are thinned to within this before anything is sampled along them or measured to them, mm.
_THINNED_MM = 0.003
#: Colours further apart than this (sum over R, G and B, of 765) are two colours.
_COLOUR_STEP = 60
#: Of two distances along an edge, even means no further apart than the larger of these: mm, share.
_EVEN_MM, _EVEN_SHARE = 0.3, 0.25
#: A frame follows at least this share of the outline.
_FOLLOWS = 0.8


@dataclass(frozen=True)
class Near:
    """Something near the cut: how near, in mm, what, and where."""

    value: float
    what: str
    box: Box


@dataclass(frozen=True)
class Sheet:
    """A picture of a window of the art, one plane or three."""

    pixels: np.ndarray
    box: Box
    scale: float  # pixels per mm

    def at(self, points: np.ndarray) -> np.ndarray:
        """Its values at points (rows, columns, 2) or (rows, 2) in mm, bilinear; 0 outside."""
        x = ((points[..., 0] - self.box[0]) * self.scale - 0.5).astype(np.float32)
        y = ((points[..., 1] - self.box[1]) * self.scale - 0.5).astype(np.float32)
        flat_x, flat_y = np.atleast_2d(x), np.atleast_2d(y)
        # OpenCV cannot remap more than 32 767 rows or columns.
        parts = [
            cv2.remap(
                self.pixels,
                flat_x[i : i + 30_000, :30_000],
                flat_y[i : i + 30_000, :30_000],
                cv2.INTER_LINEAR,
            )
            for i in range(0, len(flat_x), 30_000)
        ]
        return np.concatenate(parts).reshape(*x.shape, *self.pixels.shape[2:])


def scale_for(box: Box, finest: float = _FINE) -> float:
    """Pixels per mm at which a window is looked at."""
    area = max((box[2] - box[0]) * (box[3] - box[1]), 1e-6)
    return min(finest, (_MOST_PIXELS / area) ** 0.5)


def around(cut: Cut, rim: float) -> Box:
    """The box of all pieces and so much more on every side."""
    x0, y0, x1, y1 = union([piece.box for piece in cut.pieces])
    return (x0 - rim, y0 - rim, x1 + rim, y1 + rim)


def box_ring(box: Box) -> np.ndarray:
    """The four corners of a box as a ring."""
    x0, y0, x1, y1 = box
    return np.array([[x0, y0], [x1, y0], [x1, y1], [x0, y1]], float)


def thin(piece: Piece) -> Piece:
    """The piece with few points on its curves: plenty to sample along and measure to."""
    outer, *holes = (thinned(ring, _THINNED_MM, 1500) for ring in piece.rings[:40])
    return Piece(outer, tuple(holes))


def edge_samples(piece: Piece) -> tuple[np.ndarray, np.ndarray]:
    """Places along all rings of a piece, (n, 2), and unit normals out of the material."""
    spacing = max(_SPACING, sum(perimeter(ring) for ring in piece.rings) / _MOST_SAMPLES)
    points, normals = [], []
    for number, ring in enumerate(piece.rings):
        at, inward, _ = samples(ring, spacing)
        keep = np.linspace(0, len(at) - 1, min(len(at), 2 * _MOST_SAMPLES)).astype(int)
        points.append(at[keep])
        normals.append(inward[keep] if number else -inward[keep])
    return np.vstack(points), np.vstack(normals)


def even(distance: np.ndarray) -> bool:
    """Do distances along an edge stay the same, but for a tenth of them either way?"""
    low, middle, high = np.percentile(distance, (10, 50, 90))
    return bool(high - low <= max(_EVEN_MM, _EVEN_SHARE * middle))


def border(art: Artwork, piece: Piece, cut: Cut, widest: float = 10.0) -> dict[str, Any] | None:
    """A frame of one colour that runs evenly along the edge of a piece, no wider than `widest` mm; None when there is none.

    Returns:
        width_mm: at its narrowest (the 5 % quantile); median_mm; share of the edge it follows; box.
    """
    piece = thin(piece)
    spacing = max(_SPACING, perimeter(piece.outer) / 1500)
    points, inward, _ = samples(piece.outer, spacing)
    x0, y0, x1, y1 = piece.box
    box = (x0 - 0.5, y0 - 0.5, x1 + 0.5, y1 + 0.5)
    scale = scale_for(box)
    widest = min(widest, 0.4 * min(x1 - x0, y1 - y0))
    band = cut.pen_mm / 2 + cut.grain_mm + 1.5 / scale
    ways = np.arange(band, widest, 1 / scale)
    if len(ways) < 3 or len(points) < 8:
        return None
    sheet = Sheet(art.picture(box, scale), box, scale)
    seen = sheet.at(points[:, None, :] + inward[:, None, :] * ways[None, :, None]).astype(np.int16)
    changed = np.abs(seen - seen[:, :1]).sum(2) > _COLOUR_STEP
    ends = changed.any(1)
    if ends.mean() < _FOLLOWS:
        return None
    width = ways[changed[ends].argmax(1)] - 0.5 / scale
    low, middle = np.percentile(width, (5, 50))
    if not even(width):
        return None
    # The colour must be one along the edge, or it is a picture that happens to change there.
    first = seen[ends, 0]
    if (np.abs(first - np.median(first, axis=0)).sum(1) > _COLOUR_STEP).mean() > 0.1:
        return None
    return {"width_mm": float(low), "median_mm": float(middle), "share": float(ends.mean()), "box": piece.box}
