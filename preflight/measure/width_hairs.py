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
    """All subpaths of the filled shapes of an art, by their control points.

    Attributes:
        owner: which shape each belongs to.
        first, last: its points in the shape.
        steps: its segments, as of `Path`.
        area: mm², without a sign.
        around: their perimeters, mm.
        low, high: (n, 2) corners of its box, mm.
    """

    owner: np.ndarray
    first: np.ndarray
    last: np.ndarray
    steps: list[str]
    area: np.ndarray
    around: np.ndarray
    low: np.ndarray
    high: np.ndarray


def hairs(art: Artwork) -> Iterator[tuple[Mark, float]]:
    """Filled hairs as strokes along their outline, and what part of its length they are long: it goes there and back.

    One in an ink that may be a hole in another shape of its path follows once more as one of bare ground.
    """
    filled = [mark for mark in art.marks if mark.kind == "fill" and mark.path is not None]
    rings = _rings([mark.path for mark in filled if mark.path is not None])
    if rings is None:
        return
    several = np.bincount(rings.owner)[rings.owner] > 1
    for one, other in _candidates(rings):
        mark = filled[rings.owner[one]]
        assert mark.path is not None
        outline = _subpath(mark.path, rings, one)
        area, around = _measured(outline)
        if other is not None:
            inner, along = _measured(_subpath(mark.path, rings, other))
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


def _rings(paths: list[Path]) -> _Rings | None:
    # all paths as one: there may be many thousands, and a call of numpy for each would take longer than the rest
    joined = "".join(path.steps for path in paths)
    steps = np.frombuffer(joined.encode(), np.uint8)
    counts = np.array([len(path.points) for path in paths], int)
    sizes = np.select([steps == ord("c"), steps == ord("h")], [3, 0], 1)
    first = (np.cumsum(sizes) - sizes)[steps == ord("m")]
    if not len(first):
        return None
    shifts = np.cumsum(counts) - counts
    owner = np.searchsorted(shifts, first, side="right") - 1
    points = np.concatenate([path.points for path in paths])
    after = np.append(first[1:], len(points))
    low, high = np.minimum.reduceat(points, first), np.maximum.reduceat(points, first)
    points = points - np.repeat(low, after - first, axis=0)
    following = np.arange(1, len(points) + 1)
    following[after - 1] = first
    moves = points[following] - points
    cross = points[:, 0] * moves[:, 1] - points[:, 1] * moves[:, 0]
    area = np.abs(np.add.reduceat(cross, first)) / 2
    around = np.add.reduceat(np.hypot(*moves.T), first)
    return _Rings(
        owner, first - shifts[owner], after - shifts[owner], joined.split("m")[1:], area, around, low, high
    )


def _candidates(rings: _Rings) -> Iterator[tuple[int, int | None]]:
    """Subpaths that look as thin as a hair, and pairs of one path that look like the two sides of a thin ring."""
    most = BULGE * TRUSTED_FROM
    looks = 2 * rings.area / np.maximum(rings.around, 1e-9)
    thin = np.flatnonzero((looks < most) & (rings.around > 2 * CRUMB))
    for one in thin[np.argsort(looks[thin], kind="stable")][:MOST_HAIRS]:
        yield int(one), None
    # the outer side comes next to the inner one, and its box is larger by the ring's width
    a = np.flatnonzero(rings.owner[1:] == rings.owner[:-1])
    b = a + 1
    near = np.abs(rings.low[a] - rings.low[b]).max(1) < most
    near &= np.abs(rings.high[a] - rings.high[b]).max(1) < most
    near &= 2 * np.abs(rings.area[a] - rings.area[b]) < most * (rings.around[a] + rings.around[b])
    near &= (looks[a] >= most) & (looks[b] >= most)
    for one in a[near][:MOST_HAIRS]:
        yield int(one), int(one) + 1


def _subpath(path: Path, rings: _Rings, number: int) -> Path:
    """One subpath, closed, by its number."""
    steps = "m" + rings.steps[number].replace("h", "") + "h"
    return Path(steps, path.points[rings.first[number] : rings.last[number]])


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
