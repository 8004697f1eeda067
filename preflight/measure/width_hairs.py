"""Filled shapes too thin to be trusted to a picture: bars, bands and rings a few hundredths of a millimetre across.

A drawing engine samples a pixel in rows and columns, and between two of them a hair leaves little or nothing.  So its
outline is measured instead, as if a pen of its width had drawn it.  Artists' programs make such shapes of thin strokes.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from preflight.artwork import Artwork, Mark, Path, Pen
from preflight.measure.rings import perimeter, signed_area
from preflight.measure.width_outlines import Outlines, outlines

#: Filled shapes thinner than this are measured by their outline, mm, if they are so long: what is shorter is a crumb.
TRUSTED_FROM, CRUMB = 0.035, 0.3
#: Control points of curves bulge: what looks thinner than so many times that is measured properly.  So many at most.
BULGE, MOST_HAIRS = 2.0, 2000
#: Curves are flattened to within so many mm.
TOLERANCE = 0.0004
#: Boxes are good to so many mm.
ROUNDED = 0.001


@dataclass(frozen=True, slots=True)
class _Rings:
    """All subpaths of an art's outlines, by their control points.

    Attributes:
        filled: whether each belongs to a shape, not to a letter.
        owner: which mark each belongs to.
        area: mm², without a sign.
        around: their perimeters, mm.
        low, high: (n, 2) corners of its box, mm.
    """

    filled: np.ndarray
    owner: np.ndarray
    area: np.ndarray
    around: np.ndarray
    low: np.ndarray
    high: np.ndarray


def hairs(art: Artwork) -> Iterator[tuple[Mark, float]]:
    """Filled hairs as strokes along their outline, and what part of its length they are long: it goes there and back.

    One in an ink that may be a hole in another shape of its path follows once more as one of bare ground.
    """
    held = outlines(art)
    if held is None:
        return
    rings = _rings(held)
    several = np.bincount(rings.owner)[rings.owner] > 1
    for one, other in _candidates(rings):
        mark = held.marks[rings.owner[one]]
        outline = held.subpath(one)
        area, around = _measured(outline)
        if other is not None:
            inner, along = _measured(held.subpath(other))
            area, around = abs(area - inner), around + along
        width, length = _sides(area, around)
        if width >= TRUSTED_FROM or length < CRUMB:
            continue
        x0, y0, x1, y1 = mark.box
        box = (x0 - ROUNDED, y0 - ROUNDED, x1 + ROUNDED, y1 + ROUNDED)  # its outline lies on its box
        stroke = replace(mark, kind="stroke", path=outline, pen=Pen(width, width), box=box)
        share = 0.5 if other is None else 1.0
        yield stroke, share
        if mark.ink is not None and several[one] and other is None:
            yield replace(stroke, ink=None), share


def _rings(held: Outlines) -> _Rings:
    first, after = held.first, held.after
    low, high = np.minimum.reduceat(held.points, first), np.maximum.reduceat(held.points, first)
    points = held.points - np.repeat(low, after - first, axis=0)
    moves = points[held.following] - points
    cross = points[:, 0] * moves[:, 1] - points[:, 1] * moves[:, 0]
    area = np.abs(np.add.reduceat(cross, first)) / 2
    around = np.add.reduceat(np.hypot(*moves.T), first)
    filled = np.array([mark.kind == "fill" for mark in held.marks])[held.owner]
    return _Rings(filled, held.owner, area, around, low, high)


def _candidates(rings: _Rings) -> Iterator[tuple[int, int | None]]:
    """Subpaths that look as thin as a hair, and pairs of one path that look like the two sides of a thin ring."""
    most = BULGE * TRUSTED_FROM
    looks = 2 * rings.area / np.maximum(rings.around, 1e-9)
    thin = np.flatnonzero(rings.filled & (looks < most) & (rings.around > 2 * CRUMB))
    for one in thin[np.argsort(looks[thin], kind="stable")][:MOST_HAIRS]:
        yield int(one), None
    # the outer side comes next to the inner one, and its box is larger by the ring's width
    a = np.flatnonzero(rings.filled[1:] & (rings.owner[1:] == rings.owner[:-1]))
    b = a + 1
    near = np.abs(rings.low[a] - rings.low[b]).max(1) < most
    near &= np.abs(rings.high[a] - rings.high[b]).max(1) < most
    near &= 2 * np.abs(rings.area[a] - rings.area[b]) < most * (rings.around[a] + rings.around[b])
    near &= (looks[a] >= most) & (looks[b] >= most)
    for one in a[near][:MOST_HAIRS]:
        yield int(one), int(one) + 1


def _measured(outline: Path) -> tuple[float, float]:
    """Area and perimeter of a subpath, mm² and mm."""
    rings = outline.polygons(TOLERANCE)
    return (abs(signed_area(rings[0])), perimeter(rings[0])) if rings else (0.0, 0.0)


def _sides(area: float, around: float) -> tuple[float, float]:
    """Width and length of the bar of this area and so far around, mm; without width for what is too compact for a bar."""
    root = around**2 - 16 * area
    if root < 0:
        return math.inf, 0.0
    width = (around - math.sqrt(root)) / 4
    return width, around / 2 - width
