"""Letters that touch on the plate but were drawn apart: their own outlines put in place of the piece they make together."""

from collections.abc import Iterator, Sequence

import cv2
import numpy as np

from preflight.artwork import Artwork, Box, Mark
from preflight.measure.letter_objects import MOST_OUTLINES, outline_boxes
from preflight.measure.letter_shapes import LEAST_AREA_MM2, LEAST_LETTER_MM, Shape, shape_of
from preflight.measure.rings import signed_area

#: So many outlines of one object, and of the whole art, are looked at.
_MOST_RINGS = 300
_TOLERANCE_MM = 0.005
#: So much of a shape must show on its plate.
_VISIBLE = 0.85


def parted(
    art: Artwork, shapes: Sequence[Shape], coverage: np.ndarray, window: Box, scale: float
) -> list[Shape]:
    """The covered or the open shapes of one plate, those that several drawn outlines make up replaced by these.

    Args:
        art: the art.
        shapes: covered shapes of one ink, or shapes it leaves open, as letters painted over it in white do.
        coverage: its plate over `window`; of open shapes its negative.
        window: mm.
        scale: pixels per mm of the plate.
    """
    if not shapes or art.composite or shapes[0].ink is None:
        return list(shapes)
    marks = _several(art, shapes, 2 / scale)
    drawn = [s for s in _drawn(marks, shapes[0]) if _shows(s, coverage, window, scale)] if marks else []
    if not drawn:
        return list(shapes)
    centres, boxes = np.array([d.centre for d in drawn]), np.array([d.box for d in drawn])
    areas = np.array([d.area for d in drawn])
    slack = 2 / scale
    out: list[Shape] = []
    for shape in shapes:
        low, high = np.array(shape.box[:2]) - slack, np.array(shape.box[2:]) + slack
        within = np.all(boxes[:, :2] >= low, 1) & np.all(boxes[:, 2:] <= high, 1)
        inside = [
            i for i in np.flatnonzero(within) if cv2.pointPolygonTest(_flat(shape), tuple(map(float, centres[i])), False) >= 0
            or _rim_inside(drawn[i], shape)
        ]  # fmt: skip
        parts = [drawn[i] for i in inside if drawn[i].size < 0.97 * shape.size]
        # The parts make up the whole, give or take where they overlap.
        if len(parts) >= 2 and areas[inside].max() < 0.9 * shape.area:
            total = sum(p.area for p in parts)
            if 0.9 * shape.area <= total <= 1.6 * shape.area:
                for part in parts:
                    part.whole, part.around = shape, shape.around
                out += parts
                continue
        out.append(shape)
    return out


def _several(art: Artwork, shapes: Sequence[Shape], slack: float) -> list[Mark]:
    """The filled objects that may make up a shape together with others.  By boxes alone, which cost little."""
    covers = not shapes[0].is_open
    marks = [
        m for m in art.marks if m.kind == "fill" and (m.ink == shapes[0].ink) == covers and m.run is None
    ]
    found = [outline_boxes(mark) for mark in marks]
    boxes = np.vstack(found) if found else np.empty((0, 4))
    owners = np.repeat(np.arange(len(found)), [len(f) for f in found])
    large = (boxes[:, 2:] - boxes[:, :2]).max(1) >= LEAST_LETTER_MM if len(boxes) else np.zeros(0, bool)
    boxes, owners = boxes[large], owners[large]
    if len(boxes) < 2 or len(boxes) > MOST_OUTLINES:
        return []
    wanted: set[int] = set()
    middles = (boxes[:, :2] + boxes[:, 2:]) / 2
    sizes = (boxes[:, 2:] - boxes[:, :2]).max(1)
    for shape in shapes:
        low, high = np.array(shape.box[:2]) - slack, np.array(shape.box[2:]) + slack
        inside = np.all(middles >= low, 1) & np.all(middles <= high, 1)
        # An outline as large as the shape is the shape, and the others in it its counters.
        whole = np.abs(boxes[inside] - shape.box).max(1) < 0.03 * shape.size + slack
        if inside.sum() >= 2 and not whole.any():
            wanted |= set(owners[inside & (sizes < 1.1 * shape.size)].tolist())
    return [marks[n] for n in sorted(wanted)]


def _flat(shape: Shape) -> np.ndarray:
    return shape.rings[0].astype(np.float32).reshape(-1, 1, 2)


def _rim_inside(part: Shape, whole: Shape) -> bool:
    """Do most points of a part lie in the whole, or on its edge?"""
    points = part.rings[0][:: max(1, len(part.rings[0]) // 12)]
    flat = _flat(whole)
    return sum(cv2.pointPolygonTest(flat, (float(x), float(y)), True) > -0.1 for x, y in points) >= 0.8 * len(
        points
    )


def _drawn(marks: Sequence[Mark], like: Shape) -> Iterator[Shape]:
    """Shapes as filled objects draw them, each once, of the ink of another shape and open where that is."""
    for mark in marks:
        yield from _shapes_of(mark, like)


def _shapes_of(mark: Mark, like: Shape) -> Iterator[Shape]:
    assert mark.path is not None
    rings = [r for r in mark.path.polygons(_TOLERANCE_MM) if len(r) > 2 and abs(signed_area(r)) > 1e-4]
    if not rings or len(rings) > _MOST_RINGS:
        return
    order = sorted(range(len(rings)), key=lambda i: -abs(signed_area(rings[i])))
    flat = [r.astype(np.float32).reshape(-1, 1, 2) for r in rings]
    boxes = np.array([[*r.min(0), *r.max(0)] for r in rings])
    parent: dict[int, int] = {}
    depth: dict[int, int] = {}
    for place, i in enumerate(order):
        depth[i] = 0
        for j in reversed(order[:place]):  # the smallest one round it
            if (boxes[i, :2] >= boxes[j, :2]).all() and (boxes[i, 2:] <= boxes[j, 2:]).all():
                points = rings[i][:: max(1, len(rings[i]) // 5)][:5]
                if all(cv2.pointPolygonTest(flat[j], (float(x), float(y)), False) >= 0 for x, y in points):
                    parent[i], depth[i] = j, depth[j] + 1
                    break
    for i in order:
        if depth[i] % 2:
            continue
        inner = [rings[k] for k, p in parent.items() if p == i]
        shape = shape_of([rings[i], *inner], like.ink, like.is_open)
        if shape and shape.size >= LEAST_LETTER_MM and shape.area >= LEAST_AREA_MM2:
            yield shape


def _shows(shape: Shape, coverage: np.ndarray, window: Box, scale: float) -> bool:
    """Is the shape on the plate as it was drawn, neither clipped nor covered?"""
    x0, y0 = (int((v - w) * scale) for v, w in zip(shape.box[:2], window[:2], strict=True))
    x1, y1 = (int((v - w) * scale) + 1 for v, w in zip(shape.box[2:], window[:2], strict=True))
    if x0 < 0 or y0 < 0 or x1 > coverage.shape[1] or y1 > coverage.shape[0]:
        return False
    mask = np.zeros((y1 - y0, x1 - x0), np.uint8)
    corners = [
        np.round(((r - window[:2]) * scale - (x0, y0) - 0.5) * 16).astype(np.int32) for r in shape.rings
    ]
    cv2.fillPoly(mask, corners, 1, shift=4)
    under = coverage[y0:y1, x0:x1][mask > 0]
    return bool(len(under) and float(np.mean(under)) >= _VISIBLE * 255)
