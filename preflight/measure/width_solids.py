"""Solids: the widest place of each ink's areas, and large areas."""

import cv2
import numpy as np

from preflight.artwork import Artwork, Box
from preflight.measure.width_coarse import STEP, look
from preflight.measure.width_source import Window, render

#: Pixels across the widest place when it is measured, so that a pixel is under a half per cent.
ACROSS = 220
#: A widest place with a smaller radius than this part of the picture it is measured in is looked at closer.
SMALL_PART = 0.06
#: Pixels a mm no widest place needs more of.
FINEST = 48.0
#: Half coverage.
HALF = 127
#: Places at least so near the widest at first sight are measured, and how many at most.
NEARLY, MOST_RIVALS = 0.96, 3


def widest_place(art: Artwork, ink: int) -> tuple[float, Box] | None:
    """Diameter of the largest circle that fits in an ink's areas, mm, and its box; None for an ink without area."""
    return art.once(("widths.widest", ink), lambda: _widest_place(art, ink))


def _widest_place(art: Artwork, ink: int) -> tuple[float, Box] | None:
    coarse = look(art)
    cover = coarse.levels[ink][0]
    highest = int(cover.max()) if cover.size else 0
    if highest < 1:
        return None
    shape = cv2.threshold(cover, min(HALF, highest // 2), 255, cv2.THRESH_BINARY)[1]
    # the 5 x 5 mask is good to 2 %, in a tenth of the time: all places that near the widest are measured again
    distance = cv2.distanceTransform(shape, cv2.DIST_L2, 5)
    rivals: list[tuple[float, Box]] = []
    widest = 0.0
    for _ in range(MOST_RIVALS):
        _, high, _, (column, row) = cv2.minMaxLoc(distance)
        widest = max(widest, high)
        if high <= 0 or high < NEARLY * widest:
            break
        density = coarse.density / STEP
        x, y = (column + 0.5) / density - coarse.origin(1), (row + 0.5) / density - coarse.origin(1)
        if (place := _measured(art, ink, x, y, (high + 2) / density)) is not None:
            rivals.append(place)
        cv2.circle(distance, (column, row), max(1, round(high)), 0, -1)
    return max(rivals, key=lambda place: place[0], default=None)


def _measured(
    art: Artwork, ink: int, x: float, y: float, reach: float, beyond: float = 0.0
) -> tuple[float, Box] | None:
    """The widest place whose middle lies no farther than `reach` from a point, mm, and its box.

    With so many mm `beyond` that in the picture, as an area that it cuts off looks as wide as what it shows of its bare side.
    """
    density = min(FINEST, ACROSS / (2 * (reach + beyond)))
    side = round(2 * (reach + beyond) * density) + 2
    left, top = (round((at - reach - beyond) * density) for at in (x, y))
    fine = render(art, ink, Window(left, top, side, side), density)
    shape = cv2.threshold(fine, HALF, 255, cv2.THRESH_BINARY)[1]
    rim = round(beyond * density)
    distance = cv2.distanceTransform(shape, cv2.DIST_L2, cv2.DIST_MASK_PRECISE)[
        rim : side - rim, rim : side - rim
    ]
    _, high, _, (column, row) = cv2.minMaxLoc(distance)
    if high <= 0:
        return None
    diameter = (2 * high - 0.5) / density
    x, y = (left + rim + column + 0.5) / density, (top + rim + row + 0.5) / density
    if density < FINEST and high < SMALL_PART * side:  # fine lines side by side looked like one area
        return _measured(art, ink, x, y, diameter, diameter) or (diameter, _box(x, y, diameter))
    return diameter, _box(x, y, diameter)


def _box(x: float, y: float, diameter: float) -> Box:
    return (x - diameter / 2, y - diameter / 2, x + diameter / 2, y + diameter / 2)


def solids(art: Artwork, ink: int, least_area: float, least_width: float) -> tuple[np.ndarray, float] | None:
    """Which pixels of level 1 lie in solids of at least so many mm², parts thinner than `least_width` mm cut off.

    Returns:
        uint8 mask and its pixels a mm; None when there is no such solid.
    """
    coarse = look(art)
    density = coarse.density / STEP
    shape = cv2.threshold(coarse.levels[ink][0], HALF, 255, cv2.THRESH_BINARY)[1]
    side = max(3, round(least_width * density) | 1)
    opened = cv2.morphologyEx(
        shape, cv2.MORPH_OPEN, cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (side, side))
    )
    count, labels, stats, _ = cv2.connectedComponentsWithStats(opened, connectivity=8)
    large = np.flatnonzero(stats[1:count, 4] >= least_area * density**2) + 1
    if not len(large):
        return None
    return np.isin(labels, large).astype(np.uint8) * 255, density
