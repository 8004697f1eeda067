"""The width across a line at points of its ridge, from grey coverage.

The direction along the ridge comes from the second moments of the ridge's own pixels around a point; the width is the
coverage integrated across it.  That is exact for straight edges, however they lie to the pixels.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from itertools import pairwise

import cv2
import numpy as np

#: Pixels round a point whose ridge gives the direction: least, most, and as a multiple of the width.
LEAST_REACH, MOST_REACH, REACH = 4, 6, 0.8
#: Pixels beyond the half width that the integral reaches, for the grey fringe and the distance map's own error.
FRINGE = 3.0
#: Beyond this many pixels from the middle coverage may only fall, so that a neighbour is not counted in.
CLAMP_FROM = 1.0
#: Steps of the integral, pixels, and the half width from which the coarser will do.
STEP, COARSE_STEP, COARSE_FROM = 0.125, 0.25, 3
#: Points measured at once: as many as a processor's nearest memory holds, and fewer than the rows OpenCV remaps at once.
AT_ONCE = 1024


@dataclass(slots=True)
class Profiles:
    """Of every sampled point: its width, its unit normal (n, 2), the length of ridge one of its pixels stands for, and how
    far it lies from the middle of the ridge's pixels nearby: at an end of the ridge that is half their reach.
    """

    width: np.ndarray
    normal: np.ndarray
    length: np.ndarray
    off: np.ndarray

    def __getitem__(self, chosen: np.ndarray) -> "Profiles":
        """Those of some of the points."""
        return Profiles(self.width[chosen], self.normal[chosen], self.length[chosen], self.off[chosen])


def measure(
    cover: np.ndarray, labels: np.ndarray, x: np.ndarray, y: np.ndarray, near: np.ndarray
) -> Profiles:
    """Widths at points of ridges.

    Args:
        cover: uint8 coverage of what is measured.
        labels: whole numbers, the ridges numbered from 1.
        x: pixel columns of the points, each on a ridge.
        y: their rows.
        near: width at each point as the distance map has it, pixels.
    """
    normal, length, off = _directions(labels, x, y, near)
    width = np.empty(len(x))
    half = np.ceil(near / 2 + FRINGE).astype(int)
    for number, members in _groups(half):
        step = COARSE_STEP if number > COARSE_FROM else STEP
        width[members] = _integrals(cover, x[members], y[members], normal[members], number, step)
    return Profiles(width, normal, length, off)


def _groups(key: np.ndarray) -> Iterator[tuple[int, np.ndarray]]:
    """(value, places) of each value of a small whole number, AT_ONCE places at a time."""
    counts = np.bincount(key)
    order = np.argsort(key, kind="stable")
    stop = np.cumsum(counts)
    for number in np.flatnonzero(counts):
        for first in range(stop[number] - counts[number], stop[number], AT_ONCE):
            yield int(number), order[first : min(first + AT_ONCE, stop[number])]


def _directions(
    labels: np.ndarray, x: np.ndarray, y: np.ndarray, near: np.ndarray
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Unit normals, the ridge's length a pixel, and how far its middle is, from the ridge's own pixels nearby."""
    reach_of = np.clip(np.rint(REACH * near), LEAST_REACH, MOST_REACH).astype(int)
    # a row's end is its neighbour's beginning here, and the last row's the first's: another ridge's label, or none
    flat, stride = labels.ravel(), labels.shape[1]
    at = y.astype(np.int64) * stride + x
    sums = np.empty((6, len(x)))
    for reach, members in _groups(reach_of):
        dx, dy, basis = _disc(reach)
        around = at[members][:, None] + (dy * stride + dx)
        own = flat.take(around, mode="wrap") == flat[at[members]][:, None]
        # one thread: see `guard.ONE_THREAD`
        sums[:, members] = cv2.gemm(own.astype(np.float32), basis, 1.0, None, 0.0).T
    count, mx, my, xx, xy, yy = sums
    mx, my = mx / count, my / count
    xx, xy, yy = xx / count - mx * mx, xy / count - mx * my, yy / count - my * my
    turn = 0.5 * np.arctan2(2 * xy, xx - yy)
    spread = 0.5 * (xx + yy + np.hypot(xx - yy, 2 * xy))  # variance along the ridge
    nx, ny = -np.sin(turn), np.cos(turn)
    pixel = 1 / np.maximum(np.abs(nx), np.abs(ny))
    length = np.sqrt(12 * np.maximum(spread, 0) + pixel**2) / count
    return np.stack([nx, ny], axis=1), length, np.hypot(mx, my)


@cache
def _disc(reach: int) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """The pixels no farther than `reach` from a point, and of each 1, x, y and their products."""
    dy, dx = np.mgrid[-reach : reach + 1, -reach : reach + 1]
    inside = dx * dx + dy * dy <= reach * reach
    dx, dy = dx[inside], dy[inside]
    products = [np.ones(len(dx)), dx, dy, dx * dx, dx * dy, dy * dy]
    return dx, dy, np.stack(products, axis=1).astype(np.float32)


def _integrals(
    cover: np.ndarray, x: np.ndarray, y: np.ndarray, normal: np.ndarray, half: float, step: float
) -> np.ndarray:
    """Coverage summed along each normal, from the middle out to `half` pixels either way, never rising again."""
    steps = int(half / step)
    along = step * np.arange(-steps, steps + 1, dtype=np.float32)[:, None]
    x32, y32, (nx, ny) = x.astype(np.float32), y.astype(np.float32), normal.T.astype(np.float32)
    value = cv2.remap(
        cover, x32 + nx * along, y32 + ny * along, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE
    )
    clamp = int(CLAMP_FROM / step)
    for side in (value[steps + clamp :], value[steps - clamp :: -1]):
        for before, here in pairwise(
            side
        ):  # a tenth of the time of numpy's accumulate, which goes down each column
            np.minimum(before, here, out=here)
    return value.sum(axis=0, dtype=np.uint32) * step / 255
