"""Shapes that may be letters, from the plates: what an ink covers, and what it leaves open, as rings in mm."""

from collections.abc import Sequence
from dataclasses import dataclass, field

import cv2
import numpy as np

from preflight.artwork import Artwork, Box
from preflight.measure.rings import perimeter, signed_area

cv2.setNumThreads(1)

#: Plates are looked at with so many pixels per mm: 2 mm capitals are 40 pixels tall.
PIXELS_PER_MM = 20.0
#: Large art is looked at more coarsely, but never so coarsely that 5 mm capitals have fewer than 30 pixels ...
LEAST_PIXELS_PER_MM = 6.0
#: ... unless a plate would hold more than the second number of pixels; up to the first it keeps its full resolution.
_FULL, _MOST = 6_000_000, 24_000_000
#: Nothing smaller than this is taken for a letter, mm and mm2: no method renders it.
LEAST_LETTER_MM, LEAST_AREA_MM2 = 0.5, 0.04
#: So many shapes of one plate are looked at; more is texture, and the largest are kept.
MOST_SHAPES = 1500
#: An outline is held against baselines by its hull and so many points besides.
_MOST_POINTS = 80


@dataclass(eq=False, slots=True)
class Shape:
    """One connected piece of a plate, or of what the plate leaves open.

    Attributes:
        rings: outlines in mm, the outer one first, then its openings.
        ink: number of the ink of its plate; None for all inks together.
        is_open: it is left open by the ink (a knocked-out letter), not covered.
        stroke: mean stroke width, mm: 2 area / perimeter, as of a long bar.
        solidity: area over that of its convex hull.
        filled: the same with its openings filled.
        openings: share of its filled area that its openings take.
        inner: the shapes that lie in its openings; `around` the shape in whose opening it lies.
        whole: the piece of the plate that it makes up with others, where it was drawn apart from them.
    """

    rings: list[np.ndarray]
    ink: int | None
    is_open: bool
    area: float
    stroke: float
    solidity: float
    filled: float
    openings: float
    box: Box
    centre: np.ndarray
    size: float
    hull: np.ndarray
    points: np.ndarray
    is_disc: bool
    inner: list["Shape"] = field(default_factory=list)
    around: "Shape | None" = None
    whole: "Shape | None" = None


def shape_of(rings: Sequence[np.ndarray], ink: int | None, is_open: bool) -> Shape | None:
    """A shape from its rings in mm; None where they enclose nothing to speak of."""
    outer = rings[0]
    outer_area = abs(signed_area(outer))
    area = outer_area - sum(abs(signed_area(ring)) for ring in rings[1:])
    if len(outer) < 3 or area <= 0 or outer_area <= 0:
        return None
    hull = cv2.convexHull(outer.astype(np.float32))[:, 0].astype(float)
    hull_area = max(abs(signed_area(hull)), 1e-9)
    (x0, y0), (x1, y1) = outer.min(0), outer.max(0)
    width, height = x1 - x0, y1 - y0
    size = float(max(width, height))
    step = max(1, len(outer) // _MOST_POINTS)
    disc = abs(width - height) <= 0.1 * size and abs(area / (np.pi / 4 * width * height) - 1) < 0.1
    return Shape(
        rings=list(rings),
        ink=ink,
        is_open=is_open,
        area=area,
        stroke=2 * area / max(sum(perimeter(ring) for ring in rings), 1e-9),
        solidity=min(1.0, area / hull_area),
        filled=min(1.0, outer_area / hull_area),
        openings=1 - area / outer_area,
        box=(float(x0), float(y0), float(x1), float(y1)),
        centre=np.array([(x0 + x1) / 2, (y0 + y1) / 2]),
        size=size,
        hull=hull,
        points=np.vstack([outer[::step], hull]),
        is_disc=bool(disc),
    )


def together(parts: Sequence[Shape]) -> Shape:
    """Several shapes as one: a letter that is in pieces."""
    points = np.vstack([part.points for part in parts])
    hull = cv2.convexHull(np.vstack([part.hull for part in parts]).astype(np.float32))[:, 0].astype(float)
    (x0, y0), (x1, y1) = hull.min(0), hull.max(0)
    area = sum(part.area for part in parts)
    enclosed = sum(part.area / max(1 - part.openings, 1e-9) for part in parts)
    hull_area = max(abs(signed_area(hull)), 1e-9)
    first = max(parts, key=lambda part: part.area)
    return Shape(
        rings=[ring for part in parts for ring in part.rings],
        ink=first.ink,
        is_open=first.is_open,
        area=area,
        stroke=2 * area / max(sum(2 * part.area / max(part.stroke, 1e-9) for part in parts), 1e-9),
        solidity=min(1.0, area / hull_area),
        filled=min(1.0, enclosed / hull_area),
        openings=1 - area / enclosed,
        box=(float(x0), float(y0), float(x1), float(y1)),
        centre=np.array([(x0 + x1) / 2, (y0 + y1) / 2]),
        size=float(max(x1 - x0, y1 - y0)),
        hull=hull,
        points=points,
        is_disc=False,
        inner=[inner for part in parts for inner in part.inner],
        around=first.around,
    )


def resolution(art: Artwork) -> float:
    """Pixels per mm at which the plates of an art are looked at."""
    area = max((art.width_mm + 2) * (art.height_mm + 2), 1.0)
    wanted = max(LEAST_PIXELS_PER_MM, min(PIXELS_PER_MM, (_FULL / area) ** 0.5))
    return min(wanted, (_MOST / area) ** 0.5)


def plate_shapes(
    coverage: np.ndarray, origin: tuple[float, float], pixels_per_mm: float, ink: int | None, cut: int = 128
) -> list[Shape]:
    """The pieces of one plate and of what it leaves open, letters' sizes only.

    Args:
        coverage: uint8 (rows, columns), 0 bare to 255 covered.
        origin: mm of its top left corner.
        pixels_per_mm: of the plate.
        ink: number of the ink.
        cut: what is covered from so much on; edges lie where coverage passes it.

    Returns:
        shapes with their edges placed to a fraction of a pixel.
    """
    solid = (coverage >= cut).astype(np.uint8)
    lift = 0.5 - cut / 256
    contours, tree = cv2.findContours(solid, cv2.RETR_TREE, cv2.CHAIN_APPROX_NONE)
    if tree is None:
        return []
    tree = tree[0]
    depth = np.zeros(len(contours), int)
    for i, parent in enumerate(tree[:, 3]):  # parents come before their children
        depth[i] = depth[parent] + 1 if parent >= 0 else 0
    least = max(LEAST_LETTER_MM * pixels_per_mm, 5.0)
    corners = np.array([cv2.boundingRect(c) for c in contours]).reshape(-1, 4)
    large = np.flatnonzero(corners[:, 2:].max(1) >= least)
    if len(large) > 2 * MOST_SHAPES:
        order = np.argsort(-corners[large, 2:].max(1), kind="stable")
        large = np.sort(large[order[: 2 * MOST_SHAPES]])
    wanted = set(large.tolist())
    children: dict[int, list[int]] = {}
    for i, parent in enumerate(tree[:, 3]):
        if parent >= 0:
            children.setdefault(int(parent), []).append(i)
    slope_x = cv2.Sobel(coverage, cv2.CV_32F, 1, 0, ksize=3)
    slope_y = cv2.Sobel(coverage, cv2.CV_32F, 0, 1, ksize=3)

    bottom, right = coverage.shape[0] - 1, coverage.shape[1] - 1

    def ring(number: int) -> np.ndarray:
        pixels = contours[number][:, 0]
        x, y = pixels[:, 0], pixels[:, 1]
        gx, gy = slope_x[y, x], slope_y[y, x]
        norm = np.maximum(np.hypot(gx, gy), 1e-6)
        # How far outward coverage falls through one half: on a sharp edge what this pixel and the next are covered by, less
        # half a pixel; on a soft one by interpolation.
        nx, ny = -gx / norm, -gy / norm
        dx, dy = np.rint(nx).astype(int), np.rint(ny).astype(int)
        here = coverage[y, x] / 255.0 + lift
        there = coverage[np.clip(y + dy, 0, bottom), np.clip(x + dx, 0, right)] / 255.0 + lift
        fall = here - there
        soft = (here - 0.5) / np.maximum(fall, 1e-3) * np.hypot(dx, dy)
        out = np.where(there < 0.5, np.where(fall < 0.5, np.minimum(soft, 1.4), here + there - 0.5), 0.0)
        edge = np.stack([x + 0.5 + nx * out, y + 0.5 + ny * out], 1)
        return edge / pixels_per_mm + origin

    found: dict[int, Shape] = {}
    for i in sorted(wanted):
        parts = [ring(i)] + [ring(c) for c in children.get(i, []) if len(contours[c]) >= 4]
        shape = shape_of(parts, ink, bool(depth[i] % 2)) if len(contours[i]) >= 4 else None
        if shape is not None and shape.area >= LEAST_AREA_MM2:
            found[i] = shape
    for i, shape in found.items():
        parent = int(tree[i, 3])
        if parent in found:
            found[parent].inner.append(shape)
            shape.around = found[parent]
    return list(found.values())
