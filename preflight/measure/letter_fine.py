"""Strokes finer than a pixel of the art: where a plate is covered by less than half, letters fall into pieces or vanish.

They are looked for once more where a plate is covered by less; what is found there only is an alternative, judged like any row.
"""

from collections.abc import Sequence

import cv2
import numpy as np
from scipy.spatial import cKDTree

from preflight.measure.letter_chains import chains
from preflight.measure.letter_shapes import Shape, plate_shapes

cv2.setNumThreads(1)

#: Covered from so much of 255 on; a stroke of a third of a pixel is.
_CUT = 80
#: Plates with fewer such pixels away from what is covered by half have no strokes to speak of there.
_LEAST_PIXELS = 12
#: A shape is another one than any found before where its box differs by more pixels than this.
_SAME = 3.5
#: Rows in which fewer shapes than this share are others are known already.
_LEAST_OTHERS = 0.3


def fine_shapes(
    coverage: np.ndarray,
    origin: tuple[float, float],
    pixels_per_mm: float,
    ink: int | None,
    is_open: bool,
    known: Sequence[Shape],
) -> list[Shape]:
    """The shapes of a plate, or those it leaves open, with their finest strokes; none where these change nothing.

    Args:
        coverage: uint8 (rows, columns), 0 bare to 255 covered.
        origin: mm of its top left corner.
        pixels_per_mm: of the plate.
        ink: number of the ink.
        is_open: whether the open ones are wanted.
        known: those found where the plate is covered by half.
    """
    plate = cv2.bitwise_not(coverage) if is_open else coverage
    solid, weak = plate >= 128, plate >= _CUT
    near = cv2.dilate(solid.view(np.uint8), np.ones((5, 5), np.uint8))
    if np.count_nonzero(weak & (near == 0)) < _LEAST_PIXELS:
        return []
    cut = _CUT if not is_open else 256 - _CUT
    shapes = [s for s in plate_shapes(coverage, origin, pixels_per_mm, ink, cut) if s.is_open == is_open]
    return shapes if any(other_ones(shapes, known, _SAME / pixels_per_mm)) else []


def other_ones(shapes: Sequence[Shape], known: Sequence[Shape], slack: float) -> list[bool]:
    """Which shapes have another box than any known one; `slack` in mm."""
    if not shapes or not known:
        return [True] * len(shapes)
    away, _ = cKDTree(np.array([s.box for s in known])).query(np.array([s.box for s in shapes]), p=np.inf)
    return [bool(one > slack) for one in away]


def fine_rows(shapes: list[Shape], known: Sequence[Shape], pixels_per_mm: float) -> list[list[Shape]]:
    """Rows of shapes that were not there, or in pieces, without their finest strokes."""
    others = other_ones(shapes, known, _SAME / pixels_per_mm)
    new = {id(s) for s, other in zip(shapes, others, strict=True) if other}
    return [row for row in chains(shapes) if sum(id(s) in new for s in row) >= _LEAST_OTHERS * len(row)]
