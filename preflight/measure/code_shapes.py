"""Where codes may be: the three nested squares of a QR code, and rows of parallel bars.

A cheap search that most art leaves with nothing; what it finds is then read and measured.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

import cv2
import numpy as np

cv2.setNumThreads(1)

#: Areas of the squares nested in a finder pattern: 7, 5 and 3 modules wide (ISO/IEC 18004:2015, 6.3.3, from
#: memory), with room for rounded corners and coarse pixels.
MIDDLE, INNER = (25 / 49 * 0.72, 25 / 49 * 1.3), (9 / 49 * 0.5, 9 / 49 * 1.55)
#: Modules between the centres of two finder patterns: 21 to 177 modules wide, less 7 (ISO/IEC 18004:2015,
#: 6.1, from memory).
APART = (21 - 7, 177 - 7)
#: Finder patterns and bars looked at, at most: more are a pattern, not codes.
MOST_FINDERS, MOST_BARS, MOST_SHAPES = 150, 3000, 60_000
#: Bars that make a bar code at least: the shortest retail code has 22 (ISO/IEC 15420), the shortest others
#: 12 or more (from memory).
FEWEST_BARS = 12


#: Share of neighbouring pixels that differ, above which a picture is noise: a code of 2 pixels a module all
#: over has 0.25.
NOISE = 0.27
#: No bar and no gap is wider than 4 modules (ISO/IEC 15420, 15417, from memory), with room for coarse pixels.
WIDEST = 5.0


@dataclass(frozen=True, slots=True)
class Finder:
    """One finder pattern: its centre and its module in pixels."""

    x: float
    y: float
    module: float


@dataclass(frozen=True, slots=True)
class Corners:
    """Three finder patterns of one QR code: that at the right angle, and the two beside it."""

    corner: Finder
    right: Finder
    below: Finder

    @property
    def module(self) -> float:
        """Mean module, pixels."""
        return (self.corner.module + self.right.module + self.below.module) / 3

    @property
    def apart(self) -> float:
        """Mean distance of the centres along the two sides, pixels."""
        one, other = self.right, self.below
        return (
            float(
                np.hypot(one.x - self.corner.x, one.y - self.corner.y)
                + np.hypot(other.x - self.corner.x, other.y - self.corner.y)
            )
            / 2
        )


@dataclass(frozen=True, slots=True)
class Bars:
    """A row of parallel bars: middle of the row, unit vector across the bars, half length of row and bars, pixels."""

    x: float
    y: float
    across: tuple[float, float]
    half_row: float
    half_bar: float
    widths: tuple[float, ...]


@dataclass(frozen=True)
class Outlines:
    """Every outline of a black and white picture, with what lies inside what."""

    contours: tuple[np.ndarray, ...]
    inside: np.ndarray  # (n, 4): next, previous, first child, parent

    def boxes(self, which: np.ndarray) -> np.ndarray:
        """The boxes of some of them, (n, 4): x, y, width, height."""
        return np.array([cv2.boundingRect(self.contours[i]) for i in which], float).reshape(-1, 4)


def outlines(picture: np.ndarray) -> Outlines | None:
    """The outlines of a grey picture cut at half; None when there are none."""
    black = cv2.threshold(picture, 127, 255, cv2.THRESH_BINARY)[1]
    if float((black[:, 1:] != black[:, :-1]).mean() if black.shape[1] > 1 else 0.0) > NOISE:
        return None
    contours, inside = cv2.findContours(black, cv2.RETR_TREE, cv2.CHAIN_APPROX_SIMPLE)
    if inside is None or not len(contours):
        return None
    return Outlines(tuple(contours), inside.reshape(-1, 4))


def finders(found: Outlines) -> list[Finder]:
    """The finder patterns among the outlines: three nested squares of the right proportions, dark or light."""
    child = _largest_child(found)
    outer = np.flatnonzero((child >= 0) & (child[child] >= 0))
    nested = [outer, child[outer], child[child[outer]]]
    # The boxes alone leave little: nested, about square (turned or not), centred on each other.
    box = [found.boxes(which) for which in nested]
    centre = [b[:, :2] + b[:, 2:] / 2 for b in box]
    wide, least, inner = box[0][:, 2:].max(1), box[0][:, 2:].min(1), box[2][:, 2:].max(1)
    off = np.maximum(np.abs(centre[1] - centre[0]).max(1), np.abs(centre[2] - centre[0]).max(1))
    fits = (wide >= 8) & (least > 0.75 * wide) & (off < 0.08 * wide + 1)
    fits &= (inner < 0.62 * wide) & (inner > 0.25 * wide)
    places = zip(*(which[fits] for which in nested), strict=True)
    squares = (_finder([found.contours[i] for i in three]) for three in places)
    return [square for square in squares if square][:MOST_FINDERS]


def _largest_child(found: Outlines) -> np.ndarray:
    """Of each outline the largest one directly inside it, -1 where there is none: specks do not hide a square."""
    child = found.inside[:, 2].copy()
    parent = found.inside[:, 3]
    several = np.flatnonzero((parent >= 0) & ((found.inside[:, 0] >= 0) | (found.inside[:, 1] >= 0)))
    if 0 < len(several) <= MOST_SHAPES:
        boxes = found.boxes(several)
        largest_last = several[np.argsort(boxes[:, 2] * boxes[:, 3], kind="stable")]
        child[parent[largest_last]] = largest_last
    return child


def _finder(three: list[np.ndarray]) -> Finder | None:
    # A contour runs through the middle of edge pixels: of ink it is half a pixel too small all round, of a
    # hole too large.
    sign = 1 if cv2.contourArea(three[0], True) < 0 else 1
    areas = []
    for i, contour in enumerate(three):
        step = sign * (1 if i % 2 == 0 else -1)
        areas.append(cv2.contourArea(contour) + step * 0.5 * cv2.arcLength(contour, True))
    whole, middle, inner = areas
    if whole <= 0 or not (MIDDLE[0] < middle / whole < MIDDLE[1] and INNER[0] < inner / whole < INNER[1]):
        return None
    (x, y), (w, h), _ = cv2.minAreaRect(three[0])
    if min(w, h) < 0.8 * max(w, h) or whole < 0.7 * w * h:
        return None
    return Finder(x + 0.5, y + 0.5, float((w + h + 2) / 14))


def corners(squares: list[Finder]) -> list[Corners]:
    """Groups of three finder patterns that stand like those of a QR code, the closest first, each used once."""
    if len(squares) < 3:
        return []
    at = np.array([(f.x, f.y) for f in squares])
    module = np.array([f.module for f in squares])
    groups: list[tuple[float, int, int, int]] = []
    for i in range(len(squares)):
        to = at - at[i]
        far = np.hypot(*to.T)
        steps = far / module[i]
        near = np.flatnonzero(
            (steps > APART[0] * 0.85) & (steps < APART[1] * 1.15) & (np.abs(module / module[i] - 1) < 0.3)
        )
        if len(near) < 2:
            continue
        cosine = np.abs(to[near] @ to[near].T) / np.outer(far[near], far[near])
        alike = np.abs(far[near][:, None] / far[near][None] - 1) < 0.12
        turn = to[near][:, None, 0] * to[near][None, :, 1] - to[near][:, None, 1] * to[near][None, :, 0]
        for j, k in np.argwhere((cosine < 0.12) & alike & (turn > 0)):
            groups.append((float(far[near[j]] + far[near[k]]), i, int(near[j]), int(near[k])))
    used: set[int] = set()
    found = []
    for _, i, j, k in sorted(groups):
        if not used & {i, j, k}:
            used |= {i, j, k}
            found.append(Corners(squares[i], squares[j], squares[k]))
    return found


def bars(found: Outlines) -> list[Bars]:
    """Rows of parallel bars of several widths, as bar codes have them."""
    if not FEWEST_BARS <= len(found.contours) <= MOST_SHAPES:
        return []
    tall = np.flatnonzero(found.boxes(np.arange(len(found.contours)))[:, 2:].max(1) >= 10)
    if not FEWEST_BARS <= len(tall) <= MOST_BARS:
        return []
    rects = [cv2.minAreaRect(found.contours[i]) for i in tall]
    rows = []
    for i, ((x, y), (w, h), angle) in zip(tall, rects, strict=True):
        length, width = max(w, h) + 1, min(w, h) + 1
        if length > 2.3 * width and cv2.contourArea(found.contours[i]) >= 0.65 * (length - 1) * (width - 1):
            along = (angle + (90 if h > w else 0)) % 180
            rows.append((x + 0.5, y + 0.5, along, length, width))
    return list(_rows(np.array(rows))) if len(rows) >= FEWEST_BARS else []


def _rows(bar: np.ndarray) -> Iterator[Bars]:
    """Bars (n, 5: x, y, direction in degrees, length, width) that stand beside each other, as rows."""
    left = np.ones(len(bar), bool)
    for first in np.argsort(-bar[:, 3]):
        if not left[first]:
            continue
        x, y, along, length, _ = bar[first]
        turned = np.abs((bar[:, 2] - along + 90) % 180 - 90)
        direction = np.array([np.cos(np.radians(along)), np.sin(np.radians(along))])
        across = np.array([-direction[1], direction[0]])
        offset = bar[:, :2] - (x, y)
        # Guard bars may be longer than the others, at one end.
        same = left & (turned < 4) & (bar[:, 3] > 0.65 * length) & (np.abs(offset @ direction) < 0.2 * length)
        row = np.flatnonzero(same)
        # All bars together know the direction better than one.
        along += float(np.median((bar[row, 2] - along + 90) % 180 - 90))
        direction = np.array([np.cos(np.radians(along)), np.sin(np.radians(along))])
        across = np.array([-direction[1], direction[0]])
        row = row[np.argsort(offset[row] @ across)]
        # Wider than any bar, or with wider gaps: not of the code.
        widest = WIDEST * float(np.percentile(bar[row, 4], 20)) + 2
        row = row[bar[row, 4] <= widest]
        place = offset[row] @ across
        gaps = np.diff(place) - (bar[row[1:], 4] + bar[row[:-1], 4]) / 2
        breaks = np.flatnonzero(gaps > widest) + 1
        for start, end in pairwise([0, *breaks.tolist(), len(row)]):
            part = row[start:end]
            if len(part) >= FEWEST_BARS and _varied(bar[part, 4], place[start:end]):
                ends = place[start] - bar[part[0], 4] / 2, place[end - 1] + bar[part[-1], 4] / 2
                middle = np.array([x, y]) + across * sum(ends) / 2
                down = float(np.median((bar[part, :2] - middle) @ direction))
                middle = middle + direction * down
                yield Bars(
                    float(middle[0]), float(middle[1]), (float(across[0]), float(across[1])),
                    float(ends[1] - ends[0]) / 2, float(bar[part, 3].min()) / 2, tuple(bar[part, 4].tolist()),
                )  # fmt: skip
        left[same] = False


def _varied(widths: np.ndarray, places: np.ndarray) -> bool:
    """Bars and gaps of several widths, close together: railings and rays have one, or wide gaps."""
    narrow = np.percentile(widths, 10)
    gaps = np.diff(places) - (widths[1:] + widths[:-1]) / 2
    return bool(widths.max() > 1.5 * narrow and gaps.max(initial=0) > 1.5 * np.percentile(gaps, 10))
