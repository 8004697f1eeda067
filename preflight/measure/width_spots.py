"""Specks and holes: small shapes that stand alone in a picture of coverage.  Everything here is in pixels."""

import math
from collections.abc import Callable
from dataclasses import dataclass

import cv2
import numpy as np

from preflight.measure.width_source import label_type

#: Longer than this many short sides it is a line.
LONGEST = 3.2
#: A larger shape of the same kind within this many of its own lengths: it belongs to that one, as the dot to an i.
COMPANY = 1.5
#: How much larger that one has to be.
LARGER = 1.5
#: A shape of some size has at least this part of the area of that size squared (a disc has 0.79 of it).
SMALLEST_SHARE = 0.5
#: A shape with more area than this times the strip of its length and of its widest place is made of several strokes, as a
#: letter is: a disc has 0.79 of it, a bar 1, a plus 1.2, a T 1.4, an A 1.7, a ring 3.  Its strokes are lines then.
SEVERAL_STROKES = 1.3
#: As compact as this part of the ellipse of its moments (a bar has 0.95, a triangle 0.83, an M 0.6): surely no strokes.
COMPACT = 0.93
#: Strokes cannot be told in a shape of fewer pixels, nor its sides along a chord.
TOO_SMALL = 6.0
#: Moments of a square don't tell how it lies: where they differ by less than this part, it is tried at so many angles, a
#: quarter turn in all, and lies so that its sides are the shortest.
ALIKE, TURNS = 0.12, np.arange(16) * math.pi / 32
#: Pixels across a shape when its widest place is looked for, so that a dot of four pixels is not all grid.
ENLARGED = 48
#: Least coverage, of 255, at half the resolution: a dot of two pixels on the corner of four has 50.
HALF_LEAST = 45
#: Spots measured in one picture; of a crowd the smallest are taken.
MOST_SPOTS = 2000


@dataclass(slots=True)
class Spot:
    """A small shape: centre, box, diameter of the disc of its area, short and long side.

    `compact` says that its area lies about as close to its middle as an ellipse's; `tiny` that it is too small for a chord;
    `grey` is its own coverage.
    """

    x: float
    y: float
    box: tuple[int, int, int, int]
    diameter: float
    short_side: float
    long_side: float
    compact: bool
    tiny: bool
    grey: np.ndarray

    @property
    def strokes(self) -> bool:
        """Is it made of several strokes, bent or crossing, and no dot?"""
        if self.compact or self.tiny:
            return False
        area = math.pi / 4 * self.diameter**2
        return area > SEVERAL_STROKES * _widest(self.grey) * self.long_side

    @property
    def size(self) -> float:
        """The smaller of its equivalent diameter and its short side: bars of 2:1 are as thin as they are."""
        if self.round:
            return self.diameter
        return min(self.diameter, self.short_side)

    @property
    def round(self) -> bool:
        """Does it fill its box as a disc does?  Then the diameter of its area is truer than a chord a few pixels long."""
        filled = math.pi / 4 * self.diameter**2 / max(self.short_side * self.long_side, 1e-9)
        # a disc 0.79, a square 1
        return self.long_side < 1.25 * self.short_side and (filled < 0.88 or self.tiny)


def spots(
    cover: np.ndarray, least: float, limit: float, frame_at: Callable[[np.ndarray], np.ndarray] | None = None,
    pixel: float = 0.0,
) -> list[Spot]:  # fmt: skip
    """Shapes of a size from `least` up to `limit` that keep no company.

    They are looked for at half the resolution, which is four times as fast, and measured at the full one.

    Args:
        cover: uint8 coverage.
        least: pixels.
        limit: pixels.
        frame_at: gives, for points (n, 2), the frame (n, 4: left, top, right, bottom) each lies in, where `cover` is made of
            several pictures; what reaches a side of its frame is cut off there, and left out.
        pixel: pixels that one of the bitmap's own fills; 0 for an exact plate.
    """
    rows, columns = cover.shape[0] // 2, cover.shape[1] // 2
    if not rows or not columns:
        return []
    half = cv2.resize(cover[: 2 * rows, : 2 * columns], (columns, rows), interpolation=cv2.INTER_AREA)
    shape = cv2.threshold(half, HALF_LEAST, 255, cv2.THRESH_BINARY)[1]
    count, labels, stats, _ = cv2.connectedComponentsWithStats(
        shape, connectivity=8, ltype=label_type(cv2.countNonZero(shape))
    )
    if count < 2:
        return []
    area = stats[:, 4]
    reach = limit / 2 + 2  # the grey fringe counts at half the resolution
    small = np.maximum(stats[:, 2], stats[:, 3]) < LONGEST * reach
    small &= (area < LONGEST * reach * reach) & (area >= SMALLEST_SHARE * least * least / 4)
    small[0] = False
    frames = np.tile((0, 0, cover.shape[1], cover.shape[0]), (count, 1))
    if frame_at is not None:
        some = np.flatnonzero(small)
        boxes = 2 * stats[some, :4]
        ends = boxes[:, :2] + boxes[:, 2:]
        frames[some] = own = frame_at((boxes[:, :2] + ends) / 2)
        small[some] = (boxes[:, :2] > own[:, :2]).all(1) & (ends < own[:, 2:]).all(1)
    found = []
    for number in np.flatnonzero(small)[np.argsort(area[small], kind="stable")][:MOST_SPOTS]:
        spot = _spot(cover, labels, stats[number], int(number), pixel)
        # the sides of a dot of two pixels are all grid: it is kept for its area, and measured again
        if spot is None or (spot.diameter if spot.tiny else spot.size) < least or spot.size >= limit:
            continue
        if spot.long_side > LONGEST * spot.short_side:
            continue
        if not _in_company(labels, stats, int(number), spot, frames[number]) and not spot.strokes:
            found.append(spot)
    return found


def _in_company(labels: np.ndarray, stats: np.ndarray, number: int, spot: Spot, frame: np.ndarray) -> bool:
    """Is a larger shape near, in the same frame?  The labels are at half the resolution."""
    area = int(stats[number, 4])
    reach = COMPANY * spot.long_side
    a, b, c, d = spot.box
    left, top, right, bottom = (int(v) for v in frame)
    x0, y0 = max(left // 2, int((a - reach) / 2)), max(top // 2, int((b - reach) / 2))
    x1, y1 = min(right // 2, int((c + reach) / 2)), min(bottom // 2, int((d + reach) / 2))
    meets = (stats[:, 0] < x1) & (stats[:, 0] + stats[:, 2] > x0)
    meets &= (stats[:, 1] < y1) & (stats[:, 1] + stats[:, 3] > y0) & (stats[:, 4] > LARGER * area)
    meets[0] = False
    if not meets.any():
        return False
    return bool(meets[labels[y0:y1, x0:x1]].any())  # a box may meet what the shape itself does not


def spot_in(cover: np.ndarray, pixel: float = 0.0) -> Spot | None:
    """The shape in the middle of a small window, whatever its size; None when nothing is there.

    Args:
        cover: uint8 coverage.
        pixel: pixels that one of the bitmap's own fills; 0 for an exact plate.
    """
    shape = cv2.threshold(cover, 127, 255, cv2.THRESH_BINARY)[1]
    count, labels, _, middles = cv2.connectedComponentsWithStats(shape, connectivity=8)
    if count < 2:
        return None
    apart = np.hypot(*(middles[1:] - ((cover.shape[1] - 1) / 2, (cover.shape[0] - 1) / 2)).T)
    number = int(apart.argmin()) + 1
    own = cv2.dilate(
        (labels == number).astype(np.uint8), np.ones((3, 3), np.uint8), iterations=max(1, round(pixel))
    )
    own[(labels != number) & (labels != 0)] = 0
    return _measured(cv2.multiply(cover, own), 0, 0, pixel)


def _spot(cover: np.ndarray, labels: np.ndarray, stat: np.ndarray, number: int, pixel: float) -> Spot | None:
    """Measure one shape of the half-size labels on the full coverage; None when it never covers half a pixel."""
    left, top, width, height = (int(v) for v in stat[:4])
    h0, v0 = max(0, left - 1), max(0, top - 1)
    h1, v1 = min(labels.shape[1], left + width + 1), min(labels.shape[0], top + height + 1)
    x0, y0 = 2 * h0, 2 * v0
    own = labels[v0:v1, h0:h1]
    grey = cover[y0 : 2 * v1, x0 : 2 * h1]
    others = (own != number) & (own != 0)
    if others.any():
        grey = grey.copy()
        grey[np.repeat(np.repeat(others, 2, axis=0), 2, axis=1)] = 0
    return _measured(grey, x0, y0, pixel)


def _measured(grey: np.ndarray, x0: int, y0: int, pixel: float) -> Spot | None:
    """Measure the only shape in a small picture whose top left is x0, y0; None when it never covers half a pixel."""
    left, top, width, height = cv2.boundingRect(cv2.threshold(grey, 127, 255, cv2.THRESH_BINARY)[1])
    if not width:
        return None
    box = (x0 + left, y0 + top, x0 + left + width, y0 + top + height)
    moments = cv2.moments(grey)
    area = moments["m00"]
    mx, my = moments["m10"] / area, moments["m01"] / area
    xx, yy, xy = (moments[key] / area for key in ("mu20", "mu02", "mu11"))
    turn = 0.5 * math.atan2(2 * xy, xx - yy)
    area /= 255
    ellipse = 4 * math.pi * math.sqrt(max(xx * yy - xy * xy, 0.0))
    diameter = 2 * math.sqrt(area / math.pi)
    tiny = diameter < TOO_SMALL * max(1.0, pixel)
    if tiny:
        # the sides of the rectangle of its moments, less what the pixels themselves add to them: a chord is all fringe
        middle, off = (xx + yy) / 2, math.hypot((xx - yy) / 2, xy)
        blur = _blur(pixel)
        short_side, long_side = (math.sqrt(12 * max(v - blur, 0.0)) for v in (middle - off, middle + off))
        # the blur is known roughly and may be all there is; but no shape has more area than its sides have
        long_side = max(long_side, math.sqrt(area))
        short_side = max(short_side, area / long_side)
    else:
        alike = math.hypot(xx - yy, 2 * xy) < ALIKE * (xx + yy)
        short_side, long_side = _chords(grey, mx, my, turn + TURNS if alike else TURNS[:1] + turn)
    compact = area >= COMPACT * ellipse
    return Spot(x0 + mx, y0 + my, box, diameter, short_side, long_side, compact, tiny, grey)


def _blur(pixel: float) -> float:
    """What pixels add to a shape's second moments, pixels²: an even spread over a pixel has 1/12 of its square.

    One of a bitmap's own, enlarged, is spread evenly over itself and then by lines to the next: 1/12 + 1/6.
    """
    return max(1 / 12, pixel**2 / 4) if pixel >= 1 else 1 / 12 + pixel**2 / 6


def _widest(grey: np.ndarray) -> float:
    """Diameter of the largest disc in a small picture, pixels."""
    larger = max(1, math.ceil(ENLARGED / max(grey.shape)))
    size = (grey.shape[1] * larger, grey.shape[0] * larger)
    shape = cv2.resize(grey, size, interpolation=cv2.INTER_LINEAR) > 127
    framed = cv2.copyMakeBorder(shape.astype(np.uint8), 1, 1, 1, 1, cv2.BORDER_CONSTANT, value=0)
    return (2 * float(cv2.distanceTransform(framed, cv2.DIST_L2, 5).max()) - 0.5) / larger


def _chords(grey: np.ndarray, x: float, y: float, turns: np.ndarray) -> tuple[float, float]:
    """Coverage along two lines through the middle, one so turned and one across it: the lesser, the greater.

    Of several turns the one that gives the smallest rectangle.
    """
    dx, dy = np.cos(turns)[:, None], np.sin(turns)[:, None]
    reach = math.hypot(*grey.shape) / 2 + 1
    along = np.arange(-reach, reach + 0.1, 0.2)
    map_x = np.concatenate([x + dx * along, x - dy * along]).astype(np.float32)
    map_y = np.concatenate([y + dy * along, y + dx * along]).astype(np.float32)
    value = cv2.remap(grey, map_x, map_y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_CONSTANT, borderValue=0)
    one, other = value.sum(axis=1, dtype=np.int64).reshape(2, -1) * 0.2 / 255
    best = int((one * other).argmin())
    return min(float(one[best]), float(other[best])), max(float(one[best]), float(other[best]))
