"""Specks and holes: small shapes that stand alone in a picture of coverage.  Everything here is in pixels."""

import math
from dataclasses import dataclass

import cv2
import numpy as np

#: Longer than this many short sides it is a line.
LONGEST = 3.2
#: A larger shape of the same kind within this many of its own lengths: it belongs to that one, as the dot to an i.
COMPANY = 2.0
#: How much larger that one has to be.
LARGER = 1.5
#: Spots measured in one picture; of a crowd the smallest are taken.
MOST_SPOTS = 2000


@dataclass(slots=True)
class Spot:
    """A small shape: centre, box, diameter of the disc of its area, short and long side."""

    x: float
    y: float
    box: tuple[int, int, int, int]
    diameter: float
    short_side: float
    long_side: float

    @property
    def size(self) -> float:
        """The smaller of its equivalent diameter and its short side: bars of 2:1 are as thin as they are."""
        return min(self.diameter, self.short_side)


def spots(cover: np.ndarray, limit: float) -> list[Spot]:
    """Shapes smaller than `limit` that keep no company."""
    shape = cv2.threshold(cover, 127, 255, cv2.THRESH_BINARY)[1]
    count, labels, stats, _ = cv2.connectedComponentsWithStats(shape, connectivity=8)
    if count < 2:
        return []
    width, height, area = stats[:, 2], stats[:, 3], stats[:, 4]
    long_side = np.maximum(width, height)
    small = (long_side < LONGEST * limit) & (area < LONGEST * limit * limit)
    small[0] = False
    found = []
    for number in np.flatnonzero(small)[np.argsort(area[small], kind="stable")][:MOST_SPOTS]:
        if _in_company(labels, stats, int(number)):
            continue
        spot = _spot(cover, labels, stats[number], int(number))
        if spot.size < limit and spot.long_side <= LONGEST * spot.short_side:
            found.append(spot)
    return found


def _in_company(labels: np.ndarray, stats: np.ndarray, number: int) -> bool:
    left, top, width, height, area = (int(v) for v in stats[number])
    reach = int(COMPANY * max(width, height)) + 1
    around = labels[max(0, top - reach) : top + height + reach, max(0, left - reach) : left + width + reach]
    others = np.unique(around)
    return any(o not in (0, number) and stats[o, 4] > LARGER * area for o in others)


def _spot(cover: np.ndarray, labels: np.ndarray, stat: np.ndarray, number: int) -> Spot:
    left, top, width, height, _ = (int(v) for v in stat)
    x0, y0 = max(0, left - 2), max(0, top - 2)
    own = labels[y0 : top + height + 2, x0 : left + width + 2]
    grey = cover[y0 : top + height + 2, x0 : left + width + 2].astype(np.float64) / 255
    grey[(own != number) & (own != 0)] = 0.0
    y, x = np.mgrid[0 : grey.shape[0], 0 : grey.shape[1]]
    area = grey.sum()
    mx, my = (grey * x).sum() / area, (grey * y).sum() / area
    xx, yy = (grey * (x - mx) ** 2).sum() / area, (grey * (y - my) ** 2).sum() / area
    xy = (grey * (x - mx) * (y - my)).sum() / area
    turn = 0.5 * math.atan2(2 * xy, xx - yy)
    long_side = _chord(grey, mx, my, math.cos(turn), math.sin(turn))
    short_side = _chord(grey, mx, my, -math.sin(turn), math.cos(turn))
    diameter = 2 * math.sqrt(area / math.pi)
    short_side, long_side = sorted((short_side, long_side))
    return Spot(x0 + mx, y0 + my, (left, top, left + width, top + height), diameter, short_side, long_side)


def _chord(grey: np.ndarray, x: float, y: float, dx: float, dy: float) -> float:
    """Coverage along a line through the middle."""
    reach = math.hypot(*grey.shape) / 2 + 1
    along = np.arange(-reach, reach + 0.1, 0.2, dtype=np.float32)
    map_x, map_y = (x + along * dx).astype(np.float32)[None], (y + along * dy).astype(np.float32)[None]
    value = cv2.remap(
        grey.astype(np.float32), map_x, map_y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_CONSTANT, borderValue=0
    )
    return float(value.sum()) * 0.2
