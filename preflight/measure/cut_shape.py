"""Geometry of cut outlines, exact on their polygons: corner radii, necks, least widths, distances.  All in mm.

A ring is an (n, 2) array of points without the first one repeated.
"""

from collections.abc import Iterator, Sequence

import cv2
import numpy as np
from scipy.ndimage import gaussian_filter1d

from preflight.measure.rings import perimeter, signed_area

#: A corner is judged over a chord of this part of its radius each way: corners that turn by less than about 14 degrees
#: are part of a curve, and an arc longer than half its radius reads its own radius.
CHORD = 0.25
#: Cosine of the angle between the two sides of a tongue or slot, seen from its middle: 169 degrees, so nearly parallel.
_FACING = -0.98
#: Within so many widths either way a neck may not fall below this part of its width: it would be a tip that runs out.
_REACH, _NARROWER = 4.0, 0.85
#: So many places of an outline at most are compared with one another, and they lie no nearer than the second, mm.
MOST_SAMPLES, _SPACING = 2400, 0.04


def thinned(ring: np.ndarray, tolerance: float, most: int | None = None) -> np.ndarray:
    """The ring with fewer points, each within `tolerance` mm of the line; more is given up where more than `most` stay."""
    origin = ring.mean(0)  # the library counts in single precision
    for _ in range(12):
        fewer = cv2.approxPolyDP((ring - origin).astype(np.float32).reshape(-1, 1, 2), tolerance, True)
        if most is None or len(fewer) <= most:
            break
        tolerance *= 2
    fewer = fewer.reshape(-1, 2).astype(float) + origin
    if most is not None and len(fewer) > most:
        fewer = fewer[:: -(-len(fewer) // most)]
    return fewer if len(fewer) > 2 else ring


def eased(ring: np.ndarray, sigma: float) -> np.ndarray:
    """The ring evenly resampled and smoothed along itself by a Gaussian of `sigma` mm; a ring too short for it is given back.

    A contour traced from pixels wavers by a tenth of one, which over a pixel's length looks like a corner.
    """
    around = perimeter(ring)
    count = int(min(2 * around / max(sigma, 1e-9), 200_000))
    if count < 24:
        return ring
    closed = np.vstack([ring, ring[:1]])
    length = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(closed, axis=0).T))])
    even = _at(closed, length, np.arange(count) * (around / count))
    return np.asarray(gaussian_filter1d(even, sigma * count / around, axis=0, mode="wrap"))


def contains(ring: np.ndarray, points: np.ndarray) -> np.ndarray:
    """Which points lie inside a ring, by the even-odd rule: bool (m,)."""
    inside = np.zeros(len(points), bool)
    (x0, y0), (x1, y1) = ring.T, np.roll(ring, -1, 0).T
    for part in _chunks(len(points), len(ring)):
        px, py = points[part, 0][:, None], points[part, 1][:, None]
        crosses = (y0 > py) != (y1 > py)
        with np.errstate(divide="ignore", invalid="ignore"):
            at = x0 + (py - y0) / (y1 - y0) * (x1 - x0)
        inside[part] = (crosses & (px < at)).sum(1) % 2 == 1
    return inside


def distances(points: np.ndarray, rings: Sequence[np.ndarray]) -> np.ndarray:
    """Distance of each point to the nearest line of closed rings: (m,)."""
    nearest = np.full(len(points), np.inf)
    for ring in rings:
        start, step = ring, np.roll(ring, -1, 0) - ring
        length2 = np.maximum((step * step).sum(1), 1e-18)
        for part in _chunks(len(points), len(ring)):
            away = points[part, None, :] - start
            along = np.clip((away * step).sum(2) / length2, 0, 1)
            away -= along[:, :, None] * step
            nearest[part] = np.minimum(nearest[part], np.sqrt((away * away).sum(2).min(1)))
    return nearest


def _chunks(rows: int, columns: int) -> Iterator[slice]:
    step = max(1, 2_000_000 // max(columns, 1))
    return (slice(at, min(at + step, rows)) for at in range(0, rows, step))


def samples(ring: np.ndarray, spacing: float) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Points along a ring no further apart than `spacing`, never on a corner.

    Returns:
        points (m, 2); unit normals (m, 2) pointing into the ring; lengths of the pieces they stand for (m,).
    """
    step = np.roll(ring, -1, 0) - ring
    length = np.hypot(*step.T)
    keep = length > 1e-9
    start, step, length = ring[keep], step[keep], length[keep]
    count = np.maximum(1, np.ceil(length / spacing).astype(int))
    which = np.repeat(np.arange(len(start)), count)
    within = np.arange(len(which)) - np.repeat(np.cumsum(count) - count, count)
    points = start[which] + ((within + 0.5) / count[which])[:, None] * step[which]
    along = step[which] / length[which, None]
    inward = np.column_stack([-along[:, 1], along[:, 0]])
    if signed_area(ring) < 0:
        inward = -inward
    return points, inward, (length / count)[which]


def corner_radii(ring: np.ndarray, most: float = 25.0, least: float = 0.05) -> np.ndarray:
    """Radius of curvature at each point of a ring, convex or concave, mm: (n,).

    The smallest radius r at which the circle through the point and its neighbours at CHORD x r along the ring is no
    larger than r.  So a smooth round corner reads its radius, a sharp one 0, and a curve drawn as a polygon the curve's.
    Points on straight stretches, or flatter than `most`, read inf; whatever is below `least` reads 0.
    """
    closed = np.vstack([ring, ring[:1]])
    length = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(closed, axis=0).T))])
    around = length[-1]
    found = np.full(len(ring), np.inf)
    if around <= 0 or len(ring) < 3:
        return found
    active = np.arange(len(ring))
    before = np.full(len(ring), np.nan)  # how many times too large the circle was at the last radius
    radius, ratio = least, 1.05
    while radius <= most * ratio and 2 * CHORD * radius < around / 3 and len(active):
        reach = CHORD * radius
        circle = _circumradius(
            _at(closed, length, length[active] - reach),
            ring[active],
            _at(closed, length, length[active] + reach),
        )
        excess = circle / radius
        hit = excess <= 1.0
        if hit.any():
            past, now = before[active[hit]], np.maximum(excess[hit], 1e-6)
            # Between the last radius and this one the excess fell through 1: take the place on the log scale.
            with np.errstate(divide="ignore", invalid="ignore"):
                share = np.log(np.minimum(past, 1e9)) / np.log(np.minimum(past, 1e9) / now)
            at = radius / ratio * ratio ** np.clip(np.nan_to_num(share, nan=1.0), 0, 1)
            found[active[hit]] = np.where(np.isnan(past), 0.0, at)
        before[active] = excess
        active = active[~hit]
        radius *= ratio
    found[found > most] = np.inf
    return found


def _at(closed: np.ndarray, length: np.ndarray, where: np.ndarray) -> np.ndarray:
    where = np.mod(where, length[-1])
    return np.column_stack([np.interp(where, length, closed[:, 0]), np.interp(where, length, closed[:, 1])])


def _circumradius(a: np.ndarray, b: np.ndarray, c: np.ndarray) -> np.ndarray:
    sides = np.hypot(*(b - a).T) * np.hypot(*(c - b).T) * np.hypot(*(c - a).T)
    cross = np.abs((b - a)[:, 0] * (c - a)[:, 1] - (b - a)[:, 1] * (c - a)[:, 0])
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.where(cross > 1e-15, sides / (2 * cross), np.where(sides > 0, np.inf, 0.0))


def corners(ring: np.ndarray, up_to: float, least: float = 0.05) -> list[tuple[float, np.ndarray]]:
    """The corners of a ring rounder than `up_to` or sharper: (radius, place), one a corner, tightest first."""
    radii = corner_radii(ring, up_to, least)
    at = np.flatnonzero(np.isfinite(radii))
    if not len(at):
        return []
    length = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(ring, axis=0).T))])
    around = perimeter(ring)
    found: list[tuple[float, np.ndarray]] = []
    taken: list[tuple[float, float]] = []
    for index in at[np.argsort(radii[at], kind="stable")]:
        radius = float(radii[index])
        apart = (abs(length[index] - place) for place, _ in taken)
        # Points of one arc belong together: within its own length of a quarter turn, and a little more.
        if any(min(gap, around - gap) < 1.7 * max(radius, other, least) + least
               for gap, (_, other) in zip(apart, taken, strict=True)):  # fmt: skip
            continue
        taken.append((float(length[index]), radius))
        found.append((radius, ring[index]))
        if len(found) == 60:
            break
    return found


def least_width(ring: np.ndarray) -> float:
    """Least distance of two parallel lines that hold the ring between them, mm: the shorter side of a rectangle."""
    around = hull(ring)
    if len(around) < 3:
        return 0.0
    step = np.roll(around, -1, 0) - around
    step = step[np.hypot(*step.T) > 1e-12]
    normals = np.column_stack([-step[:, 1], step[:, 0]]) / np.hypot(*step.T)[:, None]
    least = np.inf
    for part in _chunks(len(normals), len(around)):
        across = around @ normals[part].T
        least = min(least, float((across.max(0) - across.min(0)).min()))
    return least


def hull(points: np.ndarray) -> np.ndarray:
    """Convex hull of points (n, 2), by Andrew's monotone chain (1979)."""
    order = points[np.lexsort((points[:, 1], points[:, 0]))]

    def half(row: np.ndarray) -> list[np.ndarray]:
        chain: list[np.ndarray] = []
        for p in row:
            while len(chain) > 1 and (
                (chain[-1][0] - chain[-2][0]) * (p[1] - chain[-2][1])
                <= (chain[-1][1] - chain[-2][1]) * (p[0] - chain[-2][0])
            ):
                chain.pop()
            chain.append(p)
        return chain

    return np.array(half(order)[:-1] + half(order[::-1])[:-1])


def necks(
    outer: np.ndarray, holes: Sequence[np.ndarray], outside: bool, most: int = MOST_SAMPLES
) -> list[tuple[float, np.ndarray, np.ndarray]]:
    """Narrow places of a piece: (width, one side, other side), narrowest first, one a place.

    At every point of the outline the largest circle that touches it there and crosses nothing is found; where it
    touches two facing sides, its diameter is the width of the tongue there, or with `outside` of the slot.  A tip that
    runs out to nothing is a corner, not a neck: a neck goes on to both sides, no narrower.  The
    outline is looked at in `most` places at most.
    """
    rings = [thinned(ring, 0.002, most) for ring in (outer, *holes[:100])]
    spacing = max(sum(perimeter(r) for r in rings) / most * 1.2, _SPACING)
    parts = [samples(ring, spacing) for ring in rings]
    points = np.vstack([p for p, _, _ in parts])
    # Into the material: inwards from the outer ring, outwards from a hole.
    normals = np.vstack([n if i == 0 else -n for i, (_, n, _) in enumerate(parts)])
    if len(points) > most:
        keep = np.linspace(0, len(points) - 1, most).astype(int)
        points, normals = points[keep], normals[keep]
    if outside:
        normals = -normals
    diameter, other = _touching(points, normals)
    diameter = np.minimum(diameter, 1e6)
    centre = points + normals * (diameter / 2)[:, None]
    with np.errstate(divide="ignore", invalid="ignore"):  # two points may coincide
        facing = ((points - centre) * (points[other] - centre)).sum(1) / (diameter / 2) ** 2
    at = np.flatnonzero(facing < _FACING)
    between = np.flatnonzero(facing < -0.8)
    along, widths = centre[between], diameter[between]
    found: list[tuple[float, np.ndarray, np.ndarray]] = []
    middles: list[np.ndarray] = []
    for i in at[np.argsort(diameter[at], kind="stable")]:
        middle = (points[i] + points[other[i]]) / 2
        if any(np.hypot(*(middle - m)) < max(3 * diameter[i], 1.0) for m in middles):
            continue
        if not _goes_on(points[i] - points[other[i]], middle, float(diameter[i]), along, widths):
            continue
        middles.append(middle)
        found.append((float(diameter[i]), points[i], points[other[i]]))
        if len(found) == 20:
            break
    return found


def _goes_on(
    across: np.ndarray, middle: np.ndarray, width: float, along: np.ndarray, widths: np.ndarray
) -> bool:
    """Do the circles between facing sides go on to both sides of this one, none of them much smaller?"""
    away = along - middle
    near = np.hypot(*away.T) <= _REACH * width
    if (widths[near] < _NARROWER * width).any():
        return False
    forth = (away[near] @ np.array([-across[1], across[0]])) / max(np.hypot(*across), 1e-12)
    return bool((forth > 0.2 * width).any() and (forth < -0.2 * width).any())


def _touching(points: np.ndarray, normals: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Diameter of the largest empty circle touching each point on the side of its normal, and the other point it touches."""
    diameter, other = np.full(len(points), np.inf), np.zeros(len(points), int)
    points = points - points.mean(
        0
    )  # keeps the digits that the products below would lose far from the origin
    square, own = (points * points).sum(1), (points * normals).sum(1)
    for part in _chunks(len(points), len(points)):
        ahead = normals[part] @ points.T - own[part, None]
        apart = square[part, None] + square - 2 * points[part] @ points.T
        with np.errstate(divide="ignore", invalid="ignore"):
            across = np.where(ahead > 1e-6, apart / ahead, np.inf)
        other[part] = across.argmin(1)
        diameter[part] = across[np.arange(across.shape[0]), other[part]]
    return diameter, other
