"""How shapes were drawn: as objects of their own, as parts of one object, in the order of a line; vector art only."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

import numpy as np
from scipy.spatial import cKDTree

from preflight.artwork import Artwork, Mark
from preflight.measure.letter_shapes import Shape

#: So many outlines of an art are looked at; art with more of them is texture and tells nothing.
MOST_OUTLINES = 4000
#: A shape is an outline if their boxes differ by less than this against its size: control points may lie outside.
_LIKE = 0.12
_POINTS = np.zeros(128, int)
_POINTS[[ord("m"), ord("l"), ord("c")]] = 1, 1, 3


def outline_boxes(mark: Mark) -> np.ndarray:
    """(n, 4) mm: the box of each subpath of a mark, control points counted, half the pen's width added."""
    if mark.path is None or not len(mark.path.points):
        return np.empty((0, 4))
    steps = np.frombuffer(mark.path.steps.encode("ascii"), np.uint8)
    before = np.cumsum(_POINTS[steps]) - _POINTS[steps]
    starts = before[steps == ord("m")]
    if not len(starts) or starts[0] != 0 or starts[-1] >= len(mark.path.points):
        return np.empty((0, 4))
    low = np.minimum.reduceat(mark.path.points, starts)
    high = np.maximum.reduceat(mark.path.points, starts)
    pen = mark.pen.greatest_mm / 2 if mark.pen is not None and mark.kind == "stroke" else 0.0
    return np.hstack([low - pen, high + pen])


class Objects:
    """The outlines of an art's objects, and which of them each shape is."""

    def __init__(self, art: Artwork, shapes: Sequence[Shape]):
        self.outline: dict[int, int] = {}
        self.mark: list[int] = []
        self.shared: Counter[int] = Counter()
        boxes: list[np.ndarray] = []
        for number, mark in enumerate(() if art.composite else art.marks):
            if mark.kind not in ("fill", "stroke") or mark.run is not None:
                continue
            found = outline_boxes(mark)
            boxes.append(found)
            self.mark += [number] * len(found)
            if len(self.mark) > MOST_OUTLINES:
                return
        if not self.mark or not shapes:
            return
        away, nearest = cKDTree(np.vstack(boxes)).query(np.array([s.box for s in shapes]), p=np.inf)
        for shape, distance, number in zip(shapes, away, nearest, strict=True):
            if distance < _LIKE * shape.size + 0.05:
                self.outline[id(shape)] = int(number)
                self.shared[self.mark[number]] += 1

    def told(self, members: Sequence[Shape], along: np.ndarray) -> tuple[float, float, float]:
        """What is known of a row.

        Args:
            members: its shapes.
            along: (n,) where each stands along the line.

        Returns:
            the share of its shapes that are outlines of objects; how much of the objects it takes parts of lies in it; and
            how well the order of drawing follows the line, 0 to 1 (Spearman's rank correlation).
        """
        numbers = [self.outline.get(id(s), -1) for s in members]
        known = np.array([n >= 0 for n in numbers])
        if not known.any():
            return 0.0, 0.0, 0.0
        own = Counter(self.mark[n] for n in numbers if n >= 0)
        whole = sum(own[self.mark[n]] / max(self.shared[self.mark[n]], 1) for n in numbers if n >= 0)
        order = 0.0
        if known.sum() >= 3:
            drawn = np.argsort(np.argsort(np.array(numbers)[known], kind="stable"))
            stands = np.argsort(np.argsort(along[known], kind="stable"))
            order = abs(float(np.corrcoef(drawn, stands)[0, 1]))
        return float(known.mean()), whole / len(members), order
