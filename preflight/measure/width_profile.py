"""The width across a line at points of its ridge, from grey coverage.

The direction along the ridge comes from the second moments of the ridge's own pixels around a point; the width is the
coverage integrated across it.  That is exact for straight edges, however they lie to the pixels.
"""

from collections.abc import Iterator
from dataclasses import dataclass

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
#: Rows OpenCV remaps at once.
MOST_ROWS = 30_000


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
    """(value, places) of each value of a small whole number."""
    counts = np.bincount(key)
    order = np.argsort(key, kind="stable")
    stop = np.cumsum(counts)
    for number in np.flatnonzero(counts):
        yield int(number), order[stop[number] - counts[number] : stop[number]]


def _directions(
    labels: np.ndarray, x: np.ndarray, y: np.ndarray, near: np.ndarray
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Unit normals, the ridge's length a pixel, and how far its middle is, from the ridge's own pixels nearby."""
    reach_of = np.clip(np.rint(REACH * near), LEAST_REACH, MOST_REACH).astype(int)
    # a row's end is its neighbour's beginning here, and the last row's the first's: another ridge's label, or none
    flat, stride = labels.ravel(), labels.shape[1]
    at = y.astype(np.int64) * stride + x
    last = len(flat) - 1 - MOST_REACH * (stride + 1)
    normal, length, off = np.empty((len(x), 2)), np.empty(len(x)), np.empty(len(x))
    for reach, members in _groups(reach_of):
        dy, dx = np.mgrid[-reach : reach + 1, -reach : reach + 1]
        inside = dx * dx + dy * dy <= reach * reach
        dx, dy = dx[inside], dy[inside]
        around = at[members][:, None] + (dy * stride + dx)[None, :]
        if int(at[members].max()) > last:
            around %= len(flat)
        own = flat[around] == flat[at[members]][:, None]
        basis = np.stack([np.ones(len(dx)), dx, dy, dx * dx, dx * dy, dy * dy], axis=1).astype(np.float32)
        sums = cv2.gemm(own.astype(np.float32), basis, 1.0, None, 0.0)  # one thread: see `guard.ONE_THREAD`
        count, mx, my, xx, xy, yy = sums.T.astype(np.float64)
        mx, my = mx / count, my / count
        xx, xy, yy = xx / count - mx * mx, xy / count - mx * my, yy / count - my * my
        turn = 0.5 * np.arctan2(2 * xy, xx - yy)
        spread = 0.5 * (xx + yy + np.hypot(xx - yy, 2 * xy))  # variance along the ridge
        nx, ny = -np.sin(turn), np.cos(turn)
        pixel = 1 / np.maximum(np.abs(nx), np.abs(ny))
        normal[members] = np.stack([nx, ny], axis=1)
        off[members] = np.hypot(mx, my)
        length[members] = np.sqrt(12 * np.maximum(spread, 0) + pixel**2) / count
    return normal, length, off


def _integrals(
    cover: np.ndarray, x: np.ndarray, y: np.ndarray, normal: np.ndarray, half: float, step: float
) -> np.ndarray:
    """Coverage summed along each normal, from the middle out to `half` pixels, never rising again."""
    along = np.arange(0, half + step / 2, step, dtype=np.float32)
    clamp = int(CLAMP_FROM / step)
    total = np.zeros(len(x))
    x32, y32, normal32 = x.astype(np.float32), y.astype(np.float32), normal.astype(np.float32)
    for sign in (1, -1):
        map_x = x32[:, None] + normal32[:, :1] * (sign * along)
        map_y = y32[:, None] + normal32[:, 1:] * (sign * along)
        value = _sampled(cover, map_x, map_y)
        np.minimum.accumulate(value[:, clamp:], axis=1, out=value[:, clamp:])
        total += value.sum(axis=1, dtype=np.uint32)
    # the middle was counted on both sides
    return (total - value[:, 0]) * step / 255


def _sampled(cover: np.ndarray, map_x: np.ndarray, map_y: np.ndarray) -> np.ndarray:
    """Coverage between pixels, bilinear; OpenCV takes no more than 32,767 rows at once."""
    parts = [
        cv2.remap(
            cover,
            map_x[i : i + MOST_ROWS],
            map_y[i : i + MOST_ROWS],
            cv2.INTER_LINEAR,
            borderMode=cv2.BORDER_REPLICATE,
        )
        for i in range(0, len(map_x), MOST_ROWS)
    ]
    return parts[0] if len(parts) == 1 else np.concatenate(parts)
