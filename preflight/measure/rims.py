"""What lies around an ink: bare ground, or other inks.  An ink is only judged against what it can be seen against."""

from collections.abc import Mapping
from dataclasses import dataclass

import cv2
import numpy as np

from preflight.artwork import Box

cv2.setNumThreads(1)

#: Coverage from which a pixel counts as printed when looking for neighbours.
PRINTED = 64
#: An ink this near (mm) is a neighbour although a sliver of ground shows between: a register gap is no edge
#: to the eye.
REACH_MM = 0.2
#: Bare pixels added around, so that what ends at the art's edge has a rim.
PAD = 3


@dataclass(frozen=True)
class Rim:
    """The pixels just outside a shape, and who owns each.

    Attributes:
        shape: uint8 mask of the shape, 255 in it, padded by `pad` pixels on every side.
        at: flat indices of the rim's pixels in it.
        owner: number of the ink that each pixel belongs to, -1 where it is bare ground.
    """

    shape: np.ndarray
    at: np.ndarray
    owner: np.ndarray
    pad: int
    pixels_per_mm: float

    def shares(self) -> dict[int, float]:
        """Share of the rim that each neighbour has, the greatest first; -1 is bare ground."""
        numbers, counts = np.unique(self.owner, return_counts=True)
        found = {int(n): float(c) / len(self.owner) for n, c in zip(numbers, counts, strict=True)}
        return dict(sorted(found.items(), key=lambda item: -item[1]))

    def bare_parts(self, most: int = 40) -> tuple[Box, ...]:
        """Boxes (mm) of the shape's connected parts that touch bare ground, the largest first."""
        count, labels, stats, _ = cv2.connectedComponentsWithStats(self.shape, connectivity=8)
        grown = cv2.dilate(labels.astype(np.float32), np.ones((5, 5), np.uint8))
        touching = np.unique(grown.ravel()[self.at[self.owner == -1]].astype(int))
        touching = touching[(touching > 0) & (touching < count)]
        touching = touching[np.argsort(-stats[touching, cv2.CC_STAT_AREA], kind="stable")][:most]
        k = self.pixels_per_mm
        corners = (
            (stats[i, 0] - self.pad, stats[i, 1] - self.pad, stats[i, 2], stats[i, 3]) for i in touching
        )
        return tuple((x / k, y / k, (x + w) / k, (y + h) / k) for x, y, w, h in corners)


def grown(plate: np.ndarray, pixels_per_mm: float) -> np.ndarray:
    """A plate (uint8 coverage) as a neighbour is looked for: padded, and widened by its reach."""
    side = 2 * max(1, round(REACH_MM * pixels_per_mm)) + 1
    return cv2.dilate(_padded(plate), cv2.getStructuringElement(cv2.MORPH_RECT, (side, side)))


def rim(plate: np.ndarray, neighbours: Mapping[int, np.ndarray], pixels_per_mm: float) -> Rim | None:
    """The rim of what a plate covers (uint8 coverage), among `grown` plates; None if it covers nothing."""
    most = int(plate.max(initial=0))
    if most == 0:
        return None
    shape = _padded((plate >= min(PRINTED, most)).astype(np.uint8) * 255)
    square = cv2.getStructuringElement
    near = cv2.dilate(shape, square(cv2.MORPH_RECT, (3, 3)))
    ring = cv2.dilate(shape, square(cv2.MORPH_RECT, (5, 5))) & ~near
    at = np.flatnonzero(ring)
    owner = np.full(len(at), -1, np.int32)
    strongest = np.full(len(at), PRINTED - 1, np.uint8)
    for number, neighbour in neighbours.items():
        there = neighbour.ravel()[at]
        stronger = there > strongest
        owner[stronger], strongest[stronger] = number, there[stronger]
    return Rim(shape, at, owner, PAD, pixels_per_mm) if len(at) else None


def _padded(plate: np.ndarray) -> np.ndarray:
    return cv2.copyMakeBorder(plate, PAD, PAD, PAD, PAD, cv2.BORDER_CONSTANT, value=0)
