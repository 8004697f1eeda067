"""Outlines in mm, y downwards: built, moved, joined and parted.

A shape is a set of closed contours filled by the even-odd rule.  A contour is its start point and segments of one point (a
straight line) or three (a cubic Bézier).  Boolean work goes through shapely on finely flattened contours; what comes back is
fitted with cubics again (Schneider 1990, "An Algorithm for Automatically Fitting Digitized Curves", Graphics Gems).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import LinearRing, MultiPolygon, Polygon

Point = tuple[float, float]
Contour = tuple[Point, tuple[tuple[Point, ...], ...]]
KAPPA = 0.5522847498  # control arm of a quarter circle


@dataclass(frozen=True)
class Shape:
    """Closed contours, filled by the even-odd rule."""

    contours: tuple[Contour, ...]

    def map(self, a: float, b: float, c: float, d: float, e: float, f: float) -> Shape:
        """The affine image x' = a x + c y + e, y' = b x + d y + f."""

        def go(p: Point) -> Point:
            return (a * p[0] + c * p[1] + e, b * p[0] + d * p[1] + f)

        return Shape(
            tuple((go(s), tuple(tuple(go(p) for p in g) for g in segments)) for s, segments in self.contours)
        )

    def at(self, x: float, y: float, scale: float = 1.0, turn: float = 0.0, mirror: bool = False) -> Shape:
        """Scaled, mirrored left to right, turned (degrees, clockwise as seen), then moved."""
        c, s = math.cos(math.radians(turn)) * scale, math.sin(math.radians(turn)) * scale
        m = -1 if mirror else 1
        return self.map(c * m, s * m, -s, c, x, y)

    def __add__(self, other: Shape) -> Shape:
        return Shape(self.contours + other.contours)

    def rings(self, steps: int = 64) -> list[np.ndarray]:
        """Every contour as points, curves cut into `steps`."""
        t = np.linspace(0, 1, steps + 1)[1:, None]
        out = []
        for start, segments in self.contours:
            here, points = np.array(start), [np.array([start])]
            for g in segments:
                if len(g) == 1:
                    points.append(np.array(g))
                else:
                    p1, p2, p3 = (np.array(p) for p in g)
                    points.append(
                        (1 - t) ** 3 * here + 3 * (1 - t) ** 2 * t * p1 + 3 * (1 - t) * t**2 * p2 + t**3 * p3
                    )
                here = np.array(g[-1])
            out.append(np.concatenate(points))
        return out

    def area(self) -> shapely.Geometry:
        """The filled region."""
        region: shapely.Geometry = Polygon()
        for ring in self.rings():
            if len(ring) > 2:
                region = region.symmetric_difference(Polygon(ring).buffer(0))
        return region

    @property
    def box(self) -> tuple[float, float, float, float]:
        rings = np.concatenate(self.rings())
        return (*rings.min(axis=0), *rings.max(axis=0))


def shape_of(region: shapely.Geometry, tolerance: float = 0.012, smallest: float = 0.0) -> Shape:
    """A region fitted with cubic curves, within `tolerance` mm; islands under `smallest` mm² are dropped."""
    contours = []
    for part in getattr(region, "geoms", [region]):
        if not isinstance(part, Polygon) or part.is_empty or part.area <= smallest:
            continue
        part = shapely.simplify(part, tolerance / 30)
        contours += [_fitted(np.array(ring.coords), tolerance) for ring in (part.exterior, *part.interiors)]
    return Shape(tuple(contours))


def union(*shapes: Shape) -> Shape:
    return shape_of(shapely.unary_union([s.area() for s in shapes]))


def within(shape: Shape, mask: Shape, inset: float = 0.0) -> Shape:
    """What of the shape lies in the mask."""
    return shape_of(shape.area().intersection(mask.area().buffer(-inset, quad_segs=64)))


def cut(shape: Shape, *others: Shape, gap: float = 0.0) -> Shape:
    """The shape without the others and without a gap round them; slivers are opened away."""
    away = shapely.unary_union([o.area() for o in others]).buffer(gap, quad_segs=64)
    left = shape.area().difference(away)
    if gap:
        left = left.buffer(-gap / 2.5, quad_segs=64).buffer(gap / 2.5, quad_segs=64)
    return shape_of(left, smallest=gap * gap)


def grown(shape: Shape, by: float) -> Shape:
    return shape_of(shape.area().buffer(by, quad_segs=64))


def rounded(shape: Shape, radius: float) -> Shape:
    """The shape with its points rounded off; slivers narrower than twice the radius go."""
    return shape_of(shape.area().buffer(-radius, quad_segs=64).buffer(radius, quad_segs=64))


# ------------------------------------------------------------------------------------------------ plain figures


def polygon(points: Sequence[Point]) -> Shape:
    return Shape(((points[0], tuple((p,) for p in points[1:])),))


def ellipse(x: float, y: float, rx: float, ry: float | None = None) -> Shape:
    ry = rx if ry is None else ry
    k, m = KAPPA * rx, KAPPA * ry
    return Shape(
        (
            (
                (x + rx, y),
                (
                    ((x + rx, y + m), (x + k, y + ry), (x, y + ry)),
                    ((x - k, y + ry), (x - rx, y + m), (x - rx, y)),
                    ((x - rx, y - m), (x - k, y - ry), (x, y - ry)),
                    ((x + k, y - ry), (x + rx, y - m), (x + rx, y)),
                ),
            ),
        )
    )


def ring(x: float, y: float, outer: float, inner: float) -> Shape:
    return ellipse(x, y, outer) + ellipse(x, y, inner)


def panel(x0: float, y0: float, x1: float, y1: float, radius: float = 0.0) -> Shape:
    """A rectangle with round corners."""
    if not radius:
        return polygon([(x0, y0), (x1, y0), (x1, y1), (x0, y1)])
    r, k = radius, radius * (1 - KAPPA)
    return Shape(
        (
            (
                (x0 + r, y0),
                (
                    ((x1 - r, y0),),
                    ((x1 - k, y0), (x1, y0 + k), (x1, y0 + r)),
                    ((x1, y1 - r),),
                    ((x1, y1 - k), (x1 - k, y1), (x1 - r, y1)),
                    ((x0 + r, y1),),
                    ((x0 + k, y1), (x0, y1 - k), (x0, y1 - r)),
                    ((x0, y0 + r),),
                    ((x0, y0 + k), (x0 + k, y0), (x0 + r, y0)),
                ),
            ),
        )
    )


def smooth(points: Sequence[tuple[float, ...]], closed: bool = True) -> Shape:
    """A curve through the points (centripetal in feel: arms a sixth of the chord); (x, y, 1) is a corner."""
    n = len(points)
    p = [np.array(q[:2], float) for q in points]
    corner = [len(q) > 2 for q in points]

    def arm(i: int, j: int, out: bool) -> np.ndarray:
        """The control arm at point i towards neighbour j."""
        reach = np.linalg.norm(p[j] - p[i])
        if corner[i]:
            return p[i] + (p[j] - p[i]) / 3
        before, after = p[(i - 1) % n] - p[i], p[(i + 1) % n] - p[i]
        lb, la = np.linalg.norm(before), np.linalg.norm(after)
        tangent = after / la * lb - before / lb * la
        tangent /= np.linalg.norm(tangent)
        return p[i] + (tangent if out else -tangent) * reach * 0.36

    segments = []
    for i in range(n):
        j = (i + 1) % n
        if corner[i] and corner[j]:
            segments.append(((float(p[j][0]), float(p[j][1])),))
            continue
        segments.append(tuple((float(q[0]), float(q[1])) for q in (arm(i, j, True), arm(j, i, False), p[j])))
    return Shape((((float(p[0][0]), float(p[0][1])), tuple(segments)),))


def ribbon(spine: Sequence[Point], widths: Sequence[float], round_ends: bool = True) -> Shape:
    """A stroke of changing width along a smooth spine; `widths` are spread evenly along it."""
    line = _spine(spine)
    along = np.concatenate([[0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))])
    half = np.interp(along / along[-1], np.linspace(0, 1, len(widths)), widths) / 2
    tangent = np.gradient(line, axis=0)
    tangent /= np.linalg.norm(tangent, axis=1)[:, None]
    normal = np.stack([-tangent[:, 1], tangent[:, 0]], axis=1) * half[:, None]
    region = Polygon(np.concatenate([line + normal, (line - normal)[::-1]])).buffer(0)
    if round_ends:
        ends = [shapely.Point(line[i]).buffer(max(half[i], 1e-3), quad_segs=24) for i in (0, -1)]
        region = shapely.unary_union([region, *ends])
    if isinstance(region, MultiPolygon):
        region = max(region.geoms, key=lambda g: g.area)
    return shape_of(region)


def _spine(points: Sequence[Point], steps: int = 40) -> np.ndarray:
    """A Catmull-Rom line through the points."""
    p = np.array([points[0], *points, points[-1]], float)
    t = np.linspace(0, 1, steps, endpoint=False)[:, None]
    parts = []
    for a, b, c, d in zip(p, p[1:], p[2:], p[3:], strict=False):
        parts.append(
            0.5 * (2 * b + (c - a) * t + (2 * a - 5 * b + 4 * c - d) * t**2 + (3 * b - a - 3 * c + d) * t**3)
        )
    return np.concatenate([*parts, p[-1:]])


def together(shapes: Iterable[Shape]) -> Shape:
    """All contours in one shape: inside another, they are holes."""
    return Shape(tuple(c for s in shapes for c in s.contours))


# ------------------------------------------------------------------------------------------------ fitting


def _fitted(points: np.ndarray, tolerance: float) -> Contour:
    points = points[:-1] if np.allclose(points[0], points[-1]) else points
    before, after = points - np.roll(points, 1, axis=0), np.roll(points, -1, axis=0) - points
    lengths = np.linalg.norm(after, axis=1)
    turn = np.abs(
        np.arctan2(before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0], (before * after).sum(axis=1))
    )
    corners = np.flatnonzero(turn > math.radians(22))
    # Ends of long straight edges are joints too, or a fit would round them.
    beside = np.minimum(np.roll(lengths, 1), np.roll(lengths, -1))
    straight = np.flatnonzero(lengths > 6 * beside)
    joints = np.unique(np.concatenate([corners, straight, (straight + 1) % len(points)])).astype(int)
    if len(joints) == 0:
        joints = np.array([0, len(points) // 2])
    first, n = joints[0], len(points)
    segments: list[tuple[Point, ...]] = []
    for i, j in zip(joints, np.append(joints[1:], first + len(points)), strict=True):
        run = points[np.arange(i, j + 1) % len(points)]
        if len(run) == 2:
            segments.append(((float(run[1][0]), float(run[1][1])),))
        else:
            if len(corners):
                ways = _end(run), -_end(run[::-1])
            else:
                ways = tuple(_middle(*points[[(k - 1) % n, k % n, (k + 1) % n]]) for k in (i, j))
            segments += _fit(run, *ways, tolerance)
    return ((float(points[first][0]), float(points[first][1])), tuple(segments))


def _end(run: np.ndarray) -> np.ndarray:
    """Unit tangent at the run's first point: of the parabola through its first three."""
    if len(run) < 3:
        way = run[1] - run[0]
    else:
        h1, h2 = np.linalg.norm(run[1] - run[0]), np.linalg.norm(run[2] - run[1])
        first, second = (run[1] - run[0]) / h1, (run[2] - run[1]) / h2
        way = first - h1 * (second - first) / (h1 + h2)
    return way / np.linalg.norm(way)


def _middle(before: np.ndarray, here: np.ndarray, after: np.ndarray) -> np.ndarray:
    """Unit tangent at the middle one of three points: of the parabola through them."""
    h1, h2 = np.linalg.norm(here - before), np.linalg.norm(after - here)
    way = (here - before) / h1 * h2 + (after - here) / h2 * h1
    return way / np.linalg.norm(way)


def _fit(run: np.ndarray, t0: np.ndarray, t1: np.ndarray, tolerance: float) -> list[tuple[Point, ...]]:
    """Cubics along the run; `t0` points into it at the start, `t1` onwards along it at the end."""
    chord = np.concatenate([[0], np.cumsum(np.linalg.norm(np.diff(run, axis=0), axis=1))])
    u = chord / chord[-1]
    p0, p3 = run[0], run[-1]
    if len(run) == 2:
        return [((float(p3[0]), float(p3[1])),)]
    worst, split = 0.0, len(run) // 2
    for _ in range(5):
        b0, b1, b2, b3 = (1 - u) ** 3, 3 * u * (1 - u) ** 2, 3 * u**2 * (1 - u), u**3
        a1, a2 = b1[:, None] * t0, -b2[:, None] * t1
        rest = run - (b0 + b1)[:, None] * p0 - (b2 + b3)[:, None] * p3
        m = np.array([[(a1 * a1).sum(), (a1 * a2).sum()], [(a1 * a2).sum(), (a2 * a2).sum()]])
        v = np.array([(a1 * rest).sum(), (a2 * rest).sum()])
        arms = np.linalg.solve(m, v) if abs(np.linalg.det(m)) > 1e-12 else np.zeros(2)
        if min(arms) < 1e-4 * chord[-1] or max(arms) > 2 * chord[-1]:
            arms = np.full(2, chord[-1] / 3)
        p1, p2 = p0 + t0 * arms[0], p3 - t1 * arms[1]
        curve = b0[:, None] * p0 + b1[:, None] * p1 + b2[:, None] * p2 + b3[:, None] * p3
        off = np.linalg.norm(curve - run, axis=1)
        worst, split = float(off.max()), int(np.clip(off.argmax(), 1, len(run) - 2))
        if worst <= tolerance:
            return [tuple((float(p[0]), float(p[1])) for p in (p1, p2, p3))]
        d1 = (
            3 * ((1 - u) ** 2)[:, None] * (p1 - p0)
            + 6 * ((1 - u) * u)[:, None] * (p2 - p1)
            + 3 * (u**2)[:, None] * (p3 - p2)
        )
        d2 = 6 * (1 - u)[:, None] * (p2 - 2 * p1 + p0) + 6 * u[:, None] * (p3 - 2 * p2 + p1)
        top = ((curve - run) * d1).sum(axis=1)
        low = (d1 * d1).sum(axis=1) + ((curve - run) * d2).sum(axis=1)
        u = np.clip(u - np.where(np.abs(low) > 1e-12, top / np.where(low == 0, 1, low), 0), 0, 1)
        u = np.maximum.accumulate(u)
        u[0], u[-1] = 0, 1
    way = _middle(*run[split - 1 : split + 2])
    return _fit(run[: split + 1], t0, way, tolerance) + _fit(run[split:], way, t1, tolerance)


__all__ = [
    "Contour", "LinearRing", "Point", "Shape", "cut", "ellipse", "grown", "panel", "polygon", "ribbon", "ring", "rounded",
    "shape_of", "smooth", "together", "union", "within",
]  # fmt: skip
