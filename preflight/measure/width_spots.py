"""Specks and holes: small shapes that stand alone in a picture of coverage.  Everything here is in pixels."""

import math
from collections.abc import Callable, Sequence
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
#: Pixels between the points of a chord, and shapes whose chords are taken at once.
CHORD_STEP, CHORDS_AT_ONCE = 0.2, 128
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
    numbers = np.flatnonzero(small)[np.argsort(area[small], kind="stable")][:MOST_SPOTS].tolist()
    boxes = stats[:, :4].T.copy()
    boxes[2:] += boxes[:2]
    found = []
    measured = _measured([_alone(cover, labels, stats[number], number) for number in numbers], pixel)
    for number, spot in zip(numbers, measured, strict=True):
        # the sides of a dot of two pixels are all grid: it is kept for its area, and measured again
        if spot is None or (spot.diameter if spot.tiny else spot.size) < least or spot.size >= limit:
            continue
        if spot.long_side > LONGEST * spot.short_side:
            continue
        larger = area > LARGER * area[number]
        if not _in_company(labels, boxes, larger, spot, frames[number]) and not spot.strokes:
            found.append(spot)
    return found


def _in_company(
    labels: np.ndarray, boxes: np.ndarray, larger: np.ndarray, spot: Spot, frame: np.ndarray
) -> bool:
    """Is a larger shape near, in the same frame?  The labels, and their boxes, are at half the resolution."""
    reach = COMPANY * spot.long_side
    a, b, c, d = spot.box
    left, top, right, bottom = frame.tolist()
    x0, y0 = max(left // 2, int((a - reach) / 2)), max(top // 2, int((b - reach) / 2))
    x1, y1 = min(right // 2, int((c + reach) / 2)), min(bottom // 2, int((d + reach) / 2))
    meets = (boxes[0] < x1) & (boxes[1] < y1) & (boxes[2] > x0) & (boxes[3] > y0) & larger
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
    return _measured([(cv2.multiply(cover, own), 0, 0)], pixel)[0]


def _alone(
    cover: np.ndarray, labels: np.ndarray, stat: np.ndarray, number: int
) -> tuple[np.ndarray, int, int]:
    """The full coverage of one shape of the half-size labels, without any other's, and where that picture lies."""
    left, top, width, height = stat[:4].tolist()
    h0, v0 = max(0, left - 1), max(0, top - 1)
    h1, v1 = min(labels.shape[1], left + width + 1), min(labels.shape[0], top + height + 1)
    x0, y0 = 2 * h0, 2 * v0
    own = labels[v0:v1, h0:h1]
    grey = cover[y0 : 2 * v1, x0 : 2 * h1]
    others = (own != number) & (own != 0)
    if others.any():
        grey = grey.copy()
        grey[np.repeat(np.repeat(others, 2, axis=0), 2, axis=1)] = 0
    return grey, x0, y0


@dataclass(frozen=True, slots=True)
class _Moments:
    """The box of what covers half a pixel in a small picture, and the moments of its coverage: area, middle, variances."""

    box: tuple[int, int, int, int]
    area: float
    x: float
    y: float
    xx: float
    yy: float
    xy: float

    @property
    def diameter(self) -> float:
        return 2 * math.sqrt(self.area / math.pi)

    @property
    def turn(self) -> float:
        return 0.5 * math.atan2(2 * self.xy, self.xx - self.yy)

    @property
    def alike(self) -> bool:
        """Don't they tell how it lies?"""
        return math.hypot(self.xx - self.yy, 2 * self.xy) < ALIKE * (self.xx + self.yy)


def _moments(grey: np.ndarray) -> _Moments | None:
    """None when nothing covers half a pixel."""
    box = cv2.boundingRect(cv2.threshold(grey, 127, 255, cv2.THRESH_BINARY)[1])
    if not box[2]:
        return None
    of = cv2.moments(grey)
    area = of["m00"]
    return _Moments(
        box, area / 255, of["m10"] / area, of["m01"] / area, of["mu20"] / area, of["mu02"] / area, of["mu11"] / area
    )  # fmt: skip


def _measured(shapes: Sequence[tuple[np.ndarray, int, int]], pixel: float) -> list[Spot | None]:
    """Measure shapes, each the only one in a small picture whose left and top follow it.

    None for one that never covers half a pixel.
    """
    known = [_moments(grey) for grey, _, _ in shapes]
    smallest = TOO_SMALL * max(1.0, pixel)
    sides: dict[int, tuple[float, float]] = {}
    for alike in (False, True):
        some = {
            n: one for n, one in enumerate(known) if one and one.diameter >= smallest and one.alike == alike
        }
        chords = _chords([(shapes[n][0], one) for n, one in some.items()], TURNS if alike else TURNS[:1])
        sides |= dict(zip(some, chords, strict=True))
    found: list[Spot | None] = []
    for number, (one, (grey, x0, y0)) in enumerate(zip(known, shapes, strict=True)):
        if one is None:
            found.append(None)
            continue
        left, top, width, height = one.box
        ellipse = 4 * math.pi * math.sqrt(max(one.xx * one.yy - one.xy * one.xy, 0.0))
        short_side, long_side = sides[number] if number in sides else _tiny_sides(one, pixel)
        found.append(
            Spot(
                x0 + one.x, y0 + one.y, (x0 + left, y0 + top, x0 + left + width, y0 + top + height), one.diameter,
                short_side, long_side, one.area >= COMPACT * ellipse, number not in sides, grey,
            )
        )  # fmt: skip
    return found


def _tiny_sides(one: _Moments, pixel: float) -> tuple[float, float]:
    """Sides of the rectangle of its moments, less what the pixels themselves add to them: a chord is all fringe."""
    middle, off = (one.xx + one.yy) / 2, math.hypot((one.xx - one.yy) / 2, one.xy)
    blur = _blur(pixel)
    short_side, long_side = (math.sqrt(12 * max(v - blur, 0.0)) for v in (middle - off, middle + off))
    # the blur is known roughly and may be all there is; but no shape has more area than its sides have
    long_side = max(long_side, math.sqrt(one.area))
    return max(short_side, one.area / long_side), long_side


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


def _chords(shapes: Sequence[tuple[np.ndarray, _Moments]], turns: np.ndarray) -> list[tuple[float, float]]:
    """Coverage of each along two lines through its middle, one turned from how it lies and one across: lesser, greater.

    Of several turns the one that gives the smallest rectangle.
    """
    found: list[tuple[float, float]] = []
    for first in range(0, len(shapes), CHORDS_AT_ONCE):
        some = shapes[first : first + CHORDS_AT_ONCE]
        # the pictures side by side, each with a bare rim: beyond it nothing is covered
        high, wide = (max(grey.shape[axis] for grey, _ in some) + 2 for axis in (0, 1))
        row = max(1, math.isqrt(len(some) * high // wide))
        sheet = np.zeros((-(-len(some) // row) * high, row * wide), np.uint8)
        for number, (grey, _) in enumerate(some):
            top, left = number // row * high + 1, number % row * wide + 1
            sheet[top : top + grey.shape[0], left : left + grey.shape[1]] = grey
        down, over = np.array(np.divmod(np.arange(len(some)), row))[:, :, None, None]
        shape = np.array([grey.shape for grey, _ in some])
        place = np.array([(one.x, one.y, one.turn) for _, one in some])
        x, y, turn = place.T[:, :, None, None]
        reach = np.hypot(*shape.T).max() / 2 + 1
        along = np.arange(-reach, reach + 0.1, CHORD_STEP)
        dx, dy = np.cos(turn + turns[:, None]), np.sin(turn + turns[:, None])
        ends = shape.T[:, :, None, None]
        sums = []
        for to_x, to_y in ((dx, dy), (-dy, dx)):
            map_x = np.clip(x + to_x * along, -1, ends[1]) + (over * wide + 1)
            map_y = np.clip(y + to_y * along, -1, ends[0]) + (down * high + 1)
            flat_x, flat_y = (at.reshape(-1, len(along)).astype(np.float32) for at in (map_x, map_y))
            value = cv2.remap(sheet, flat_x, flat_y, cv2.INTER_LINEAR)
            sums.append(value.sum(axis=1, dtype=np.int64).reshape(len(some), -1) * CHORD_STEP / 255)
        one, other = sums
        best = (one * other).argmin(axis=1)[:, None]
        one, other = (np.take_along_axis(of, best, axis=1)[:, 0] for of in (one, other))
        found += zip(np.minimum(one, other).tolist(), np.maximum(one, other).tolist(), strict=True)
    return found
