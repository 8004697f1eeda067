"""The stairs of a picture without greys, turned back into the slanted edges they stand for.

Where every pixel is either covered or bare, a slanted edge is a flight of steps one pixel high.  The edge that left them
passes near the middle of each step (it is a digital straight line: R. Klette and A. Rosenfeld, "Digital straightness: a
review", Discrete Applied Mathematics 139, 2004), so a straight line is laid from the middle of each step to the next, and
each pixel is given the part of it that lies on the covered side.  That is right to a fraction of a pixel.  Upright and
level edges, corners, ends of lines and steps of more than one pixel stay as they are.
"""

from dataclasses import dataclass

import numpy as np

#: Coverage from here to as far below full is a grey; with fewer of them than this part of its edges a picture has none.
GREY, FEW_GREYS = 24, 0.1
#: With more than this part of its pixels at an edge it is a screen or a dither, and has no slanted edges to lay.
MOST_EDGES = 0.2
#: Edges looked for at once: bounds the memory.
STRIP_PIXELS = 8_000_000


@dataclass(frozen=True, slots=True)
class _Runs:
    """Level edges of a picture, row by row.

    An edge lies between two rows: its key is (number of the lower row) * `stride` + column.  `sign` is 1 where the lower
    row is covered, −1 where the upper one is.
    """

    start: np.ndarray
    length: np.ndarray
    sign: np.ndarray
    stride: int


@dataclass(frozen=True, slots=True)
class _Steps:
    """Where one run ends and another goes on a row lower (`down` 1) or higher (−1): their numbers, left and right."""

    left: np.ndarray
    right: np.ndarray
    down: np.ndarray


def without_greys(plate: np.ndarray) -> bool:
    """Does the coverage (uint8) go from bare to covered in whole pixels?"""
    grey = edges = 0
    for top in range(0, plate.shape[0], rows := max(1, STRIP_PIXELS // max(1, plate.shape[1]))):
        part = plate[top : top + rows]
        grey += int(np.count_nonzero((part > GREY) & (part < 255 - GREY)))
        edges += int(np.count_nonzero((part[:, 1:] > 127) != (part[:, :-1] > 127)))
    return edges > 0 and grey < FEW_GREYS * edges


def smoothed(plate: np.ndarray) -> np.ndarray:
    """Coverage (uint8, rows x columns) with slanted edges in place of stairs; as it is when it has none, or greys."""
    if not without_greys(plate):
        return plate
    covered = plate > 127
    most = MOST_EDGES * plate.size
    level, upright = _runs(covered, most), _runs(covered.T, most)
    if level is None or upright is None:
        return plate
    steep = _steps(upright)
    kept = np.maximum(upright.length[steep.left], upright.length[steep.right]) > 1
    steep = _Steps(steep.left[kept], steep.right[kept], steep.down[kept])
    flat = _steps(level)
    flat = _without(flat, level, _crossings(steep, upright, level.stride))
    at, change = _areas(flat, level)
    at_steep, change_steep = _areas(steep, upright)
    rows, columns = plate.shape
    down, across = np.divmod(at_steep, upright.stride)  # of the turned picture
    down_flat, across_flat = np.divmod(at, level.stride)
    flat_index = np.concatenate([down_flat * columns + across_flat, across * columns + down])
    if not len(flat_index):
        return plate
    changes = np.concatenate([change, change_steep])
    order = np.argsort(flat_index, kind="stable")
    flat_index, changes = flat_index[order], changes[order]
    first = np.flatnonzero(np.concatenate([[True], flat_index[1:] != flat_index[:-1]]))
    where, summed = flat_index[first], np.add.reduceat(changes, first)
    made = plate.copy()
    made.ravel()[where] = np.clip(np.rint(made.ravel()[where] + 255 * summed), 0, 255).astype(np.uint8)
    return made


def _runs(covered: np.ndarray, most: float) -> _Runs | None:
    """The level edges of a picture; None when there are more than so many pixels of them.  All around it is bare."""
    rows, columns = covered.shape
    stride = columns + 1  # so that the end of one row does not touch the next
    keys, signs = [], []
    count = 0
    strip = max(1, STRIP_PIXELS // max(1, columns))
    for top in range(0, rows + 1, strip):
        bottom = min(rows + 1, top + strip)
        part = np.zeros((bottom - top + 1, columns), np.int8)
        first, last = max(0, top - 1), min(rows, bottom)
        part[first - top + 1 : last - top + 1] = covered[first:last]
        change = part[1:] - part[:-1]
        y, x = np.nonzero(change)
        keys.append((y + top) * stride + x)
        signs.append(change[y, x])
        count += len(y)
        if count > most:
            return None
    key, sign = np.concatenate(keys), np.concatenate(signs)
    if not len(key):
        return _Runs(key, key.copy(), sign, stride)
    new = np.concatenate([[True], (np.diff(key) != 1) | (sign[1:] != sign[:-1])])
    start = np.flatnonzero(new)
    length = np.diff(np.concatenate([start, [len(key)]]))
    return _Runs(key[start], length, sign[start], stride)


def _steps(runs: _Runs) -> _Steps:
    """All steps one pixel high.  Covered or bare pixels that touch at a corner are one line."""
    count = len(runs.start)
    if not count:
        nothing = np.empty(0, np.int64)
        return _Steps(nothing, nothing, nothing)
    end = runs.start + runs.length
    ends_free = np.ones(count, bool)
    ends_free[:-1] = runs.start[1:] != end[:-1]
    left, right, down = [], [], []
    for direction in (1, -1):
        wanted = end + direction * runs.stride
        at = np.minimum(np.searchsorted(runs.start, wanted), count - 1)
        found = ends_free & (runs.start[at] == wanted) & (runs.sign[at] == runs.sign)
        # nor may another run come up to where the right one begins
        at_found = at[found]
        found[found] = (at_found == 0) | (end[at_found - 1] != runs.start[at_found])
        number = np.flatnonzero(found)
        left.append(number)
        right.append(at[number])
        down.append(np.full(len(number), direction))
    return _Steps(np.concatenate(left), np.concatenate(right), np.concatenate(down))


def _crossings(steps: _Steps, runs: _Runs, stride: int) -> np.ndarray:
    """The edges that these steps are, as keys of the picture turned back, sorted."""
    row, column = np.divmod(runs.start[steps.left] + runs.length[steps.left], runs.stride)
    return np.sort(column * stride + row - (steps.down < 0))


def _without(steps: _Steps, runs: _Runs, taken: np.ndarray) -> _Steps:
    """Leave out steps between edges of one pixel that are themselves steps of a steeper edge."""
    short = (runs.length[steps.left] == 1) & (runs.length[steps.right] == 1)
    if not short.any() or not len(taken):
        return steps
    both = np.stack([runs.start[steps.left[short]], runs.start[steps.right[short]]])
    steeper = (taken[np.minimum(np.searchsorted(taken, both), len(taken) - 1)] == both).any(0)
    kept = np.ones(len(short), bool)
    kept[np.flatnonzero(short)[steeper]] = False
    return _Steps(steps.left[kept], steps.right[kept], steps.down[kept])


def _areas(steps: _Steps, runs: _Runs) -> tuple[np.ndarray, np.ndarray]:
    """What the pixels along the runs gain or lose, in parts of a pixel: (row * stride + column, change)."""
    places, changes = [], []
    for own, other, side in ((steps.left, steps.right, 1), (steps.right, steps.left, -1)):
        # a slanted edge has steps of about one length: beside a shorter one the line is no longer than that
        reach = np.minimum(runs.length[own] / 2, (runs.length[other] + 1) / 2)
        count = np.ceil(reach).astype(np.int64)
        total = int(count.sum())
        number = np.arange(total) - np.repeat(np.cumsum(count) - count, count)
        reach = np.repeat(reach, count)
        near, far = number.astype(np.float64), np.minimum(number + 1.0, reach)
        area = 0.5 * ((far - far**2 / (2 * reach)) - (near - near**2 / (2 * reach)))
        begin = runs.start[own] + (runs.length[own] - 1 if side > 0 else 0)
        edge = np.repeat(begin, count) - side * number
        lower = np.repeat(side * steps.down > 0, count)  # the line runs through the row below the edge
        places.append(np.where(lower, edge, edge - runs.stride))
        changes.append(np.where(lower, -area, area) * np.repeat(runs.sign[own], count))
    return np.concatenate(places), np.concatenate(changes)
