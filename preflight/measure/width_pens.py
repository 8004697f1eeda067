"""Strokes too thin to be trusted to a picture: their width comes from the pen, or from the outline of what is filled.

A drawing engine shows a stroke of no width at all as a line one pixel wide or a fraction of one, and widens whatever is
thinner than a fifth of a pixel, so the picture says nothing about it.
"""

import math
from collections import defaultdict

import numpy as np
from scipy.spatial import cKDTree

from preflight.artwork import Artwork, Mark
from preflight.measure.width_hairs import hairs
from preflight.measure.width_narrow import Narrow
from preflight.measure.width_source import Window, render

#: Strokes thinner than this are measured by their pen, mm.
TRUSTED_FROM = 0.1
#: Under this even a pen that its matrix stretches unevenly counts with its least width, mm.
NO_WIDTH = 0.02
#: A pen stretched by more than this factor draws lines of many widths: the picture knows better.
EVEN = 1.05
#: Is it a line by itself?  Looked up at so many places of each stroke, at so many pixels a mm, so far beside it in mm.
PLACES, DENSITY, BESIDE = 9, 24.0, 0.09
#: Side of the tiles rendered for that, pixels, and how many tiles; strokes beyond count as lines.
TILE, MOST_TILES = 320, 300
#: Least coverage in a stroke's middle for it to be seen, of 255.
SEEN = 12
#: Points along thin strokes kept in all, and mm between them.
MOST_POINTS, SPACING = 100_000, 0.1


def thin_strokes(art: Artwork) -> list[Narrow]:
    """Lines of every pen thinner than TRUSTED_FROM, and gaps of such pens in the colour of the ground over an ink."""
    return art.once("widths.pens", lambda: _thin_strokes(art))


def _thin(mark: Mark) -> bool:
    if mark.pen is None or mark.path is None:
        return False
    least, most = mark.pen.least_mm, mark.pen.greatest_mm
    return least < NO_WIDTH or (least < TRUSTED_FROM and most <= EVEN * least)


def _thin_strokes(art: Artwork) -> list[Narrow]:
    found: list[Narrow] = []
    looked_up: dict[tuple[int, int, int], np.ndarray] = {}
    left = MOST_POINTS
    strokes = [(mark, 1.0) for mark in art.marks if _thin(mark)]
    for mark, share in [*strokes, *hairs(art)]:
        points, normals, length = _along(mark)
        if not len(points):
            continue
        length *= share
        numbers = [ink.number for ink in art.inks] if mark.ink is None else [mark.ink]
        for number in numbers:
            if not _stands_alone(art, number, mark, points, normals, looked_up):
                continue
            every = max(1, math.ceil(len(points) / max(24, left)))
            left = max(0, left - len(points[::every]))
            assert mark.pen is not None
            width = mark.pen.least_mm
            kind = "line" if mark.ink is not None else "gap"
            found.append(
                Narrow(kind, (number,), width, width, length, mark.box, points[::every], length, 0.0)
            )
            break
    return found


def _along(mark: Mark) -> tuple[np.ndarray, np.ndarray, float]:
    """Points in the visible box of a stroke, unit normals there, and the stroke's length; mm."""
    assert mark.path is not None
    points, normals, length = [], [], 0.0
    for line in _lines(mark):
        steps = np.diff(line, axis=0)
        sizes = np.hypot(*steps.T)
        for start, step, size in zip(line[:-1], steps, sizes, strict=True):
            if size <= 0:
                continue
            count = max(1, min(2000, round(size / SPACING)))
            at = (np.arange(count) + 0.5) / count
            points.append(start + at[:, None] * step)
            normals.append(np.broadcast_to(np.array([-step[1], step[0]]) / size, (count, 2)))
            length += float(size)
    if not points:
        return np.empty((0, 2)), np.empty((0, 2)), 0.0
    where, across = np.concatenate(points), np.concatenate(normals)
    x0, y0, x1, y1 = mark.box
    seen = (where[:, 0] >= x0) & (where[:, 0] <= x1) & (where[:, 1] >= y0) & (where[:, 1] <= y1)
    return where[seen], across[seen], length * float(seen.mean())


def _lines(mark: Mark) -> list[np.ndarray]:
    """The stroke's middle lines, closed ones with their first point again at the end."""
    assert mark.path is not None
    found = []
    closed = _closed(mark.path.steps)
    for number, line in enumerate(mark.path.polygons(0.01)):
        if number < len(closed) and closed[number]:
            line = np.vstack([line, line[:1]])
        found.append(line)
    return found


def _closed(steps: str) -> list[bool]:
    """Of each subpath with more than one point: does it end with a close?"""
    return ["h" in part for part in steps.split("m") if part]


def _stands_alone(
    art: Artwork, ink: int, mark: Mark, points: np.ndarray, normals: np.ndarray,
    looked_up: dict[tuple[int, int, int], np.ndarray],
) -> bool:  # fmt: skip
    """Is the stroke seen, with bare plate on both sides (of a gap: with ink on both)?"""
    assert mark.pen is not None
    chosen = np.unique(np.linspace(0, len(points) - 1, PLACES).astype(int))
    off = mark.pen.least_mm / 2 + BESIDE
    gap = mark.ink is None
    alone = seen = 0
    for at in chosen:
        values = []
        for side in (0.0, off, -off):
            value = _value(art, ink, points[at] + side * normals[at], looked_up, 2 if side == 0.0 else 0, gap)
            if value is None:  # too many places to look at: it counts
                return True
            values.append(value)
        middle, one, other = values
        seen += middle >= SEEN
        alone += middle >= SEEN and one < 128 and other < 128
    return seen > 0 and 2 * alone >= seen


def _value(
    art: Artwork,
    ink: int,
    point: np.ndarray,
    looked_up: dict[tuple[int, int, int], np.ndarray],
    around: int,
    gap: bool,
) -> int | None:
    """Coverage (of a gap: bareness) at a point, the most within so many pixels of it."""
    x, y = (int(v) for v in np.floor(point * DENSITY))
    key = (ink, x // TILE, y // TILE)
    if key not in looked_up:
        if len(looked_up) >= MOST_TILES:
            return None
        margin = 4
        window = Window(key[1] * TILE - margin, key[2] * TILE - margin, TILE + 2 * margin, TILE + 2 * margin)
        looked_up[key] = render(art, ink, window, DENSITY)
    tile = looked_up[key]
    column, row = x - key[1] * TILE + 4, y - key[2] * TILE + 4
    part = tile[row - around : row + around + 1, column - around : column + around + 1]
    return int((255 - part if gap else part).max())


def without_thin_strokes(found: list[Narrow], pens: list[Narrow]) -> list[Narrow]:
    """Leave out what was measured in a picture and is a thin stroke: its pen knows better."""
    trees = {}
    by_key: dict[tuple[str, tuple[int, ...]], list[np.ndarray]] = defaultdict(list)
    for pen in pens:
        by_key[pen.kind, pen.inks].append(pen.points)
    for key, points in by_key.items():
        trees[key] = cKDTree(np.concatenate(points))
    kept = []
    for one in found:
        tree = trees.get((one.kind, one.inks))
        if tree is not None and one.typical < 1.5 * TRUSTED_FROM:
            apart, _ = tree.query(one.points)
            if np.median(apart) <= SPACING:
                continue
        kept.append(one)
    return kept
