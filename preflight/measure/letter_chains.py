"""Rows of shapes of like size and stroke, side by side on a straight or bent line: candidates for lines of lettering."""

import math
from collections import Counter
from collections.abc import Sequence

import cv2
import numpy as np
from scipy.spatial import cKDTree

from preflight.measure.letter_frame import fit, median
from preflight.measure.letter_shapes import MOST_SHAPES, Shape

cv2.setNumThreads(1)

_NEIGHBOURS = 13
_STEPS = 90  # directions over half a turn at which the reach of every shape is known
_LEAST_OVERLAP = 0.62  # of two letters across the line, of the lower one
_HEIGHTS = (0.38, 2.1)  # least and greatest height of a letter against the chain's
_STROKES = 2.4  # greatest ratio of two letters' strokes
_GREATEST_GAP = 1.15  # in heights: word spaces are bridged
_WIDEST_TURN = math.cos(math.radians(40))
_SHORT = 6  # letters of a short row


def without_patterns(shapes: list[Shape]) -> list[Shape]:
    """Shapes less what is pattern: discs in number, and groups of more than 25 like solid shapes."""
    if sum(shape.is_disc for shape in shapes) > 12:
        shapes = [shape for shape in shapes if not shape.is_disc]
    signs = [_sign(shape) for shape in shapes]
    count = Counter(signs)
    kept = [s for s, sign in zip(shapes, signs, strict=True) if count[sign] <= 25 or s.openings > 0.05]
    return sorted(kept, key=lambda s: -s.size)[:MOST_SHAPES] if len(kept) > MOST_SHAPES else kept


def _sign(shape: Shape) -> tuple[int, ...]:
    """What shapes that are the same, however turned, have in common."""
    moments = cv2.moments(shape.rings[0].astype(np.float32))
    area = max(abs(moments["m00"]), 1e-9) ** 2
    sign = 1 if moments["m00"] >= 0 else -1
    mu20, mu02, mu11 = (sign * moments[key] / area for key in ("mu20", "mu02", "mu11"))
    spread = math.hypot(mu20 - mu02, 2 * mu11)
    return (round(math.log(shape.area) / 0.08), round((mu20 + mu02) / 0.02), round(spread / 0.02))


class _Field:
    """The shapes of one plate with their neighbours and their reach in every direction, as plain floats."""

    def __init__(self, shapes: Sequence[Shape]):
        self.shapes = shapes
        self.centres = [(float(s.centre[0]), float(s.centre[1])) for s in shapes]
        self.sizes = [s.size for s in shapes]
        self.strokes = [s.stroke for s in shapes]
        turn = np.arange(_STEPS) * math.pi / _STEPS
        directions = np.stack([np.cos(turn), np.sin(turn)])
        reach = [s.hull @ directions for s in shapes]
        self.low = [r.min(0).tolist() for r in reach]
        self.high = [r.max(0).tolist() for r in reach]
        count = min(len(shapes), _NEIGHBOURS + 1)
        _, nearest = cKDTree(np.array(self.centres)).query(np.array(self.centres), k=count)
        self.near = [
            [
                int(j)
                for j in row[1:]
                if self.distance(i, int(j)) <= 2.6 * max(self.sizes[i], self.sizes[int(j)])
            ]
            for i, row in enumerate(np.atleast_2d(nearest))
        ]

    def distance(self, i: int, j: int) -> float:
        return math.dist(self.centres[i], self.centres[j])

    def reach(self, i: int, angle: float) -> tuple[float, float]:
        """From where to where shape i reaches along a direction."""
        step = round(angle / math.pi * _STEPS)
        if (step // _STEPS) % 2:
            return -self.high[i][step % _STEPS], -self.low[i][step % _STEPS]
        return self.low[i][step % _STEPS], self.high[i][step % _STEPS]

    def height(self, i: int, angle: float) -> float:
        low, high = self.reach(i, angle + math.pi / 2)
        return high - low

    def fits(self, i: int, j: int, angle: float, height: float) -> bool:
        """May j be the letter after i, on a line in this direction with letters of this height?"""
        a0, a1 = self.reach(i, angle + math.pi / 2)
        b0, b1 = self.reach(j, angle + math.pi / 2)
        if min(a1, b1) - max(a0, b0) < _LEAST_OVERLAP * min(a1 - a0, b1 - b0):
            return False
        if not _HEIGHTS[0] * height < b1 - b0 < _HEIGHTS[1] * height:
            return False
        thin, thick = sorted((self.strokes[i], self.strokes[j]))
        if thick > _STROKES * thin:
            return False
        s0, s1 = self.reach(i, angle)
        e0, e1 = self.reach(j, angle)
        return -0.6 * min(s1 - s0, e1 - e0) <= e0 - s1 <= _GREATEST_GAP * height

    def ahead(self, i: int, k: int, angle: float, height: float, most: float) -> float | None:
        """How far ahead of i, on a line in this direction with letters of this height, k is.

        None where it does not go with i, or lies `most` ahead or more.
        """
        wx, wy = self.centres[k][0] - self.centres[i][0], self.centres[k][1] - self.centres[i][1]
        length = math.hypot(wx, wy)
        along = wx * math.cos(angle) + wy * math.sin(angle)
        if length == 0 or along <= 0 or along < _WIDEST_TURN * length or along >= most:
            return None
        towards = math.atan2(
            0.6 * math.sin(angle) + 0.4 * wy / length, 0.6 * math.cos(angle) + 0.4 * wx / length
        )
        return along if self.fits(i, k, towards, height) else None

    def tangents(self, i: int, j: int) -> list[float]:
        """Directions, from i to j, of the two lines that both shapes touch from inside: where their feet and tops are.

        Between a capital and a small letter the middles run downhill; the feet do not.
        """
        both = np.vstack([self.shapes[i].hull, self.shapes[j].hull]).astype(np.float32)
        corners = cv2.convexHull(both, returnPoints=False)[:, 0]
        of_j = corners >= len(self.shapes[i].hull)
        found = []
        for n in np.flatnonzero(of_j != np.roll(of_j, -1)):
            a, b = corners[n], corners[(n + 1) % len(corners)]
            a, b = (b, a) if of_j[n] else (a, b)
            found.append(math.atan2(float(both[b, 1] - both[a, 1]), float(both[b, 0] - both[a, 0])))
        return found

    def pairs(self) -> list[tuple[float, int, int]]:
        """Neighbours of like size and stroke, the likeliest first."""
        found = []
        for i, near in enumerate(self.near):
            for j in near:
                if i > j and i in self.near[j]:
                    continue
                small, large = sorted((self.sizes[i], self.sizes[j]))
                thin, thick = sorted((self.strokes[i], self.strokes[j]))
                if large < 3 * small and thick < 2.2 * thin:
                    found.append((self.distance(i, j) / large + 0.3 * (large / small - 1), i, j))
        return sorted(found)

    def grow(self, path: list[int], used: list[bool], height: float) -> None:
        """Add the next letters at the end of a path while there are any; a bent line keeps its bend."""
        taken = set(path)
        while True:
            end, before = path[-1], path[max(0, len(path) - 4)]
            dx, dy = (
                self.centres[end][0] - self.centres[before][0],
                self.centres[end][1] - self.centres[before][1],
            )
            if dx == dy == 0:
                return
            angle = math.atan2(dy, dx)
            ways = [angle, *self.tangents(before, end)] if len(path) == 2 else [angle]
            if len(path) >= 6:
                far = self.centres[path[max(0, len(path) - 7)]]
                last = math.atan2(self.centres[before][1] - far[1], self.centres[before][0] - far[0])
                turn = (angle - last + math.pi) % (2 * math.pi) - math.pi
                if abs(turn) < 1.2:
                    ways = [angle + 0.5 * turn]
            best: tuple[float, int] | None = None
            for k in self.near[end]:
                if used[k] or k in taken:
                    continue
                for angle in ways:
                    ahead = self.ahead(end, k, angle, height, best[0] if best else math.inf)
                    if ahead is not None:
                        best = (ahead, k)
            if best is None:
                return
            path.append(best[1])
            taken.add(best[1])

    def row_from(self, i: int, j: int, used: list[bool]) -> list[int]:
        """The row that two shapes side by side grow into, both ways, out of those not used; empty where they are no pair."""
        angle = math.atan2(self.centres[j][1] - self.centres[i][1], self.centres[j][0] - self.centres[i][0])
        height = max(self.height(i, angle), self.height(j, angle))
        if not self.fits(i, j, angle, height):
            return []
        path = [i, j]
        self.grow(path, used, height)
        path.reverse()
        self.grow(path, used, height)
        return path


def chains(shapes: Sequence[Shape]) -> list[list[Shape]]:
    """Rows of two and more shapes, each shape in one row at most."""
    if len(shapes) < 2:
        return []
    field = _Field(shapes)
    used = [False] * len(shapes)
    found: list[list[int]] = []
    short: list[list[int]] = []
    for _, i, j in field.pairs():
        if used[i] or used[j]:
            continue
        if not (path := field.row_from(i, j, used)):
            continue
        if len(path) == 2:
            short.append(path)
        elif fit([shapes[k] for k in path]).residual <= 0.28:
            found.append(path)
            for k in path:
                used[k] = True
    for path in short:
        if not used[path[0]] and not used[path[1]]:
            used[path[0]] = used[path[1]] = True
            found.append(path)
    return _joined([[shapes[k] for k in path] for path in found])


def short_rows(shapes: Sequence[Shape], known: set[frozenset[int]], most: int) -> list[list[Shape]]:
    """Rows of two to six of a few shapes, the likeliest first; a shape may be in several.

    Args:
        shapes: what may be in a row.
        known: the `id`s of the shapes of every row looked at already; those found are added.
        most: so many rows at most.
    """
    if len(shapes) < 2:
        return []
    field, free = _Field(shapes), [False] * len(shapes)
    found: list[list[Shape]] = []
    for _, i, j in field.pairs():
        if not (path := field.row_from(i, j, free)):
            continue
        for row in ([shapes[k] for k in path], [shapes[i], shapes[j]]):
            members = frozenset(id(s) for s in row)
            if members not in known and len(row) <= _SHORT and (len(row) == 2 or fit(row).residual <= 0.2):
                known.add(members)
                found.append(row)
                break
        if len(found) >= most:
            break
    return found


def _joined(rows: list[list[Shape]]) -> list[list[Shape]]:
    """Rows that are parts of one line made one; not in art with very many of them, which is texture."""
    rows = sorted(rows, key=len, reverse=True)
    if len(rows) > 150:
        return rows
    usual = [_usual(row) for row in rows]
    i = 0
    while i < len(rows):
        j = i + 1
        while j < len(rows):
            if _like(usual[i], usual[j]) and _one_line(rows[i], rows[j], max(usual[i][0], usual[j][0])):
                rows[i] = rows[i] + rows.pop(j)
                usual[i] = _usual(rows[i])
                del usual[j]
                j = i + 1
            else:
                j += 1
        i += 1
    return rows


def _usual(row: Sequence[Shape]) -> tuple[float, float]:
    """Median size and stroke of a row, mm."""
    return median(np.array([s.size for s in row])), median(np.array([s.stroke for s in row]))


def _like(one: tuple[float, float], other: tuple[float, float]) -> bool:
    (small, large), (thin, thick) = (sorted(pair) for pair in zip(one, other, strict=True))
    return large <= 1.8 * small and thick <= 1.6 * thin


def _one_line(one: Sequence[Shape], other: Sequence[Shape], large: float) -> bool:
    if len(one) + len(other) < 4:
        return False
    a, b = (np.array([s.centre for s in row]) for row in (one, other))
    if np.hypot(*(a[:, None] - b[None]).transpose(2, 0, 1)).min() > 2.6 * large:
        return False
    both = fit([*one, *other])
    if both.residual >= 0.12 or both.height > 1.6 * median(both.levels[:, 1] - both.levels[:, 0]):
        return False  # no line; or as tall as two lines are
    order = np.argsort(both.spans[:, 0])
    gaps = (both.spans[order][1:, 0] - both.spans[order][:-1, 1]) / both.height
    # Two lines one above the other are not one: nearly every shape has to reach well into the common band, and most of
    # either part.
    bottoms, tops = both.levels[:, 0] - both.base, both.levels[:, 1] - both.base
    shared = np.minimum(tops, both.height) - np.maximum(bottoms, 0)
    within = shared > 0.45 * np.minimum(tops - bottoms, both.height)
    if within.mean() < 0.85 or min(within[: len(one)].mean(), within[len(one) :].mean()) < 0.6:
        return False
    return bool(gaps.max() < 1.4 and gaps.min() > -0.6)
