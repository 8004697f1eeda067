"""Outlines of letters as rings of points: their raster, stroke width, openings and serifs."""

from collections.abc import Sequence

import cv2
import numpy as np

from preflight.measure.rings import signed_area

cv2.setNumThreads(1)

#: Letters are rasterised this many pixels high where strokes and openings are measured.
_PIXELS_HIGH = 160
_SHIFT = 4  # cv2 takes corners in 1/16 pixel


def raster(rings: Sequence[np.ndarray], scale: float, even_odd: bool = True) -> np.ndarray:
    """Rings as a picture, uint8 0 or 1, with one pixel of margin; row 0 holds the least second coordinate.

    Args:
        rings: (n, 2) arrays.
        scale: pixels per unit.
        even_odd: the fill rule; else non-zero winding.
    """
    points = np.vstack(rings)
    low, high = points.min(0), points.max(0)
    width, height = np.ceil((high - low) * scale).astype(int) + 3
    picture = np.zeros((min(height, 4096), min(width, 16384)), np.uint8)
    corners = [np.round(((r - low) * scale + 0.5) * (1 << _SHIFT)).astype(np.int32) for r in rings]
    if even_odd:
        cv2.fillPoly(picture, corners, 1, shift=_SHIFT)
        return picture
    winding = np.zeros(picture.shape, np.int16)
    for ring, corner in zip(rings, corners, strict=True):
        single = cv2.fillPoly(np.zeros_like(picture), [corner], 1, shift=_SHIFT)
        winding += single if signed_area(ring) > 0 else -single.astype(np.int16)
    return (winding != 0).astype(np.uint8)


def ridge_widths(picture: np.ndarray) -> np.ndarray:
    """Widths in pixels along the middle lines of what is drawn: twice the distance to the edge on its ridge."""
    distance = cv2.distanceTransform(np.pad(picture, 1), cv2.DIST_L2, 5)
    ridge = (distance >= cv2.dilate(distance, np.ones((3, 3), np.uint8)) - 1e-3) & (distance >= 1.0)
    return 2.0 * distance[ridge] - 0.5  # a bar w pixels wide has w / 2 or (w + 1) / 2 on its ridge


def nominal_stroke(
    letters: Sequence[Sequence[np.ndarray]], height: float, even_odd: bool = True
) -> float | None:
    """The stroke width that most of a line is drawn with, in the units of its rings; None where nothing is drawn.

    The commonest width in bins of 3 %, then the median of what lies within 6 % of it.
    """
    scale = _PIXELS_HIGH / max(height, 1e-9)
    found = [ridge_widths(raster(rings, scale, even_odd)) for rings in letters[:60]]
    widths = np.concatenate(found) if found else np.empty(0)
    widths = widths[widths > 0]
    if not len(widths):
        return None
    bins = np.round(np.log(widths) / np.log(1.03)).astype(int)
    counts = np.bincount(bins - bins.min())
    smooth = np.convolve(counts, (1, 2, 3, 2, 1), "same")
    middle = 1.03 ** float(int(smooth.argmax()) + bins.min())
    near = widths[np.abs(widths / middle - 1) <= 0.06]
    return float(np.median(near) if len(near) else middle) / scale


def smallest_counter(
    letters: Sequence[Sequence[np.ndarray]], height: float, even_odd: bool = True
) -> float | None:
    """Width of the narrowest opening enclosed by a letter, in the units of its rings; None where no letter has one."""
    scale = _PIXELS_HIGH / max(height, 1e-9)
    least = None
    for rings in letters[:60]:
        if len(rings) < 2:
            continue
        ground = 1 - np.pad(raster(rings, scale, even_odd), 1)
        cv2.floodFill(ground, None, (0, 0), 0)
        count, labels = cv2.connectedComponents(ground, connectivity=4)
        if count < 2:
            continue
        distance = cv2.distanceTransform(ground, cv2.DIST_L2, 5)
        for number in range(1, count):
            width = (2 * float(distance[labels == number].max()) - 0.5) / scale
            # Specks between two overlapping contours are no counters.
            if width > 0.02 * height and (least is None or width < least):
                least = width
    return least


def serif_share(letters: Sequence[Sequence[np.ndarray]], even_odd: bool = True) -> float:
    """Share of the upright stems of a line that end in a foot wider than the stem on both sides.

    The rings are upright, second coordinate up from the baseline.  Stems are the runs of ink at three tenths of a
    letter's height; a round bottom joins two of them and an E widens on one side only, so neither counts.
    """
    stems = feet = 0
    for rings in letters[:60]:
        points = np.vstack(rings)
        height = float(np.ptp(points[:, 1]))
        if height <= 0:
            continue
        picture = raster(rings, _PIXELS_HIGH / height, even_odd)
        upper = _runs(picture[1 + int(0.30 * _PIXELS_HIGH)])
        lower = _runs(picture[1 + int(0.025 * _PIXELS_HIGH)])
        for start, end in upper:
            width = end - start
            if width > 0.45 * _PIXELS_HIGH:
                continue
            under = [run for run in lower if run[0] < end and run[1] > start]
            if len(under) != 1:
                continue
            left, right = under[0]
            if sum(run[0] < right and run[1] > left for run in upper) != 1:
                continue
            stems += 1
            grown = min(start - left, right - end)
            feet += grown > max(2, 0.15 * width) and right - left < 4.5 * width + 6
    return feet / stems if stems else 0.0


def _runs(row: np.ndarray) -> list[tuple[int, int]]:
    edges = np.flatnonzero(np.diff(np.concatenate(([0], row, [0])).astype(np.int8)))
    return [(int(a), int(b)) for a, b in zip(edges[::2], edges[1::2], strict=True)]
