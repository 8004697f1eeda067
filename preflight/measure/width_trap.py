"""How far inks that touch overlap: the trap there is to hide a shift between two printings.

Where ink A ends inside ink B and B ends inside A, the strip both cover is the trap.  Where one lies wholly on the other
(overprinted lettering on a solid) nothing can gape, and there is no trap to measure.
"""

import math
from dataclasses import dataclass
from itertools import combinations

import cv2
import numpy as np
from scipy.spatial import cKDTree

from preflight.artwork import Artwork, Box
from preflight.measure.width_coarse import STEP, look
from preflight.measure.width_source import Window, finest_resolution, render

#: Pixels a mm the overlap is measured at.
DENSITY = 16.0
#: And at its worst place.
CLOSER = 96.0
#: Overlaps beyond this are no trap but shapes on shapes, mm.
MOST_TRAP = 2.0
#: An edge counts from this length on, mm: where two outlines cross the overlap is nought at the crossing itself.
SHORTEST_EDGE = 1.0
#: The overlap stays the same along an edge within this factor and so many pixels.
EVEN, SLACK = 1.25, 0.35
#: The reported overlap: so much of such an edge has less, at corners above all.
NARROWEST = 0.1
#: Side of a window in level 1 pixels, its margin, and how many are looked at for one pair of inks, spread over the art.
TILE, MARGIN, MOST_WINDOWS = 24, 6, 40
#: Least coverage, of 255, at level 1 for an ink to be at hand.
AT_HAND = 24
#: Overlaps under so many pixels are edges that just meet.
MEET = 0.35
#: An edge lies where this much of 255 is covered.
HALF = 127.5
_SQUARE = np.ones((3, 3), np.uint8)


@dataclass(frozen=True, slots=True)
class Trap:
    """The least overlap of two inks, mm, and where, worst first; `seen` windows of `windows`."""

    inks: tuple[int, int]
    width: float
    boxes: tuple[Box, ...]
    seen: int
    windows: int


def traps(art: Artwork, without: frozenset[int] = frozenset()) -> list[Trap]:
    """The trap of every pair of inks that touch or overlap in part; inks `without` are left out."""
    return art.once(("widths.traps", without), lambda: _traps(art, without))


def _traps(art: Artwork, without: frozenset[int]) -> list[Trap]:
    coarse = look(art)
    levels = {n: own[0] for n, own in coarse.levels.items() if n not in without}
    near = {
        n: cv2.dilate(cv2.threshold(level, AT_HAND - 1, 255, cv2.THRESH_BINARY)[1], _SQUARE)
        for n, level in levels.items()
    }
    found = []
    for a, b in combinations([ink.number for ink in art.inks if ink.number in levels], 2):
        x, y, width, height = cv2.boundingRect(cv2.bitwise_and(near[a], near[b]))
        if not width:
            continue
        left, top = (max(0, at - MARGIN) // TILE * TILE for at in (x, y))
        here = np.s_[top : y + height + MARGIN, left : x + width + MARGIN]
        first, second = levels[a][here], levels[b][here]
        both = cv2.bitwise_and(near[a][here], near[b][here])
        # deep inside an overlap there is no edge: only where one of them ends
        deep = cv2.threshold(cv2.min(first, second), 253, 255, cv2.THRESH_BINARY)[1]
        edge = cv2.bitwise_or(cv2.morphologyEx(both, cv2.MORPH_GRADIENT, _SQUARE), cv2.subtract(both, deep))
        # one that lies wholly on the other has no end of its own: only where both go past the other
        beyond = (cv2.subtract(first, second), cv2.subtract(second, first))
        tiles = [tile for tile in _tiles(edge) if all(_holds(part, tile) for part in beyond)]
        if not tiles:
            continue
        chosen = [tiles[i] for i in np.unique(np.linspace(0, len(tiles) - 1, MOST_WINDOWS).astype(int))]
        measured = []
        for tile in chosen:
            on_level = (left + tile[0], top + tile[1], *tile[2:])
            measured += _in_tile(art, a, b, on_level, coarse.density / STEP, coarse.origin(1))
        if measured:
            measured.sort(key=lambda item: item.width)
            least = _again(art, a, b, measured[0])
            most = measured[0].width * EVEN + SLACK / DENSITY
            boxes = tuple(one.box for one in measured if one.width <= most)
            found.append(Trap((a, b), least, boxes, len(chosen), len(tiles)))
    return found


def _tiles(edge: np.ndarray) -> list[tuple[int, int, int, int]]:
    """The box of what lies in each tile that holds anything: left, top, width, height in pixels of level 1."""
    found = []
    for top in range(0, edge.shape[0], TILE):
        strip = edge[top : top + TILE]
        held = np.bincount(np.flatnonzero(strip.max(axis=0)) // TILE)
        for left in (np.flatnonzero(held) * TILE).tolist():
            x, y, width, height = cv2.boundingRect(strip[:, left : left + TILE])
            found.append((left + x, top + y, width, height))
    return found


def _holds(cover: np.ndarray, tile: tuple[int, int, int, int]) -> bool:
    """Is there an ink in a tile or its margin?"""
    left, top, width, height = tile
    around = cover[
        max(0, top - MARGIN) : top + height + MARGIN, max(0, left - MARGIN) : left + width + MARGIN
    ]
    return cv2.minMaxLoc(around)[1] >= AT_HAND


@dataclass(frozen=True, slots=True)
class _Overlap:
    """The least overlap in a window, its box and a place where it is, mm."""

    width: float
    box: Box
    place: tuple[float, float]


def _in_tile(
    art: Artwork, a: int, b: int, tile: tuple[int, int, int, int], density: float, origin: float
) -> list[_Overlap]:
    """The overlap in one tile (left, top, width, height), if the inks touch in it."""
    fine = finest_resolution(art, DENSITY)
    k = fine / density
    offset = origin * fine
    left, top, width, height = tile
    window = Window(
        round((left - MARGIN) * k - offset), round((top - MARGIN) * k - offset),
        round((width + 2 * MARGIN) * k), round((height + 2 * MARGIN) * k),
    )  # fmt: skip
    return _in_window(art, a, b, window, fine, round(MARGIN * k / 2))


def _again(art: Artwork, a: int, b: int, first: _Overlap) -> float:
    """The overlap measured finer at its worst place: engines draw round edges in steps of a part of a pixel."""
    fine = finest_resolution(art, CLOSER)
    if not first.width or fine <= DENSITY:
        return first.width
    rim = math.ceil((first.width * EVEN + 2 / DENSITY) * fine)
    half = rim + round(SHORTEST_EDGE * fine)
    x, y = (round(v * fine) for v in first.place)
    found = _in_window(art, a, b, Window(x - half, y - half, 2 * half, 2 * half), fine, rim)
    return found[0].width if found else first.width


def _in_window(art: Artwork, a: int, b: int, window: Window, fine: float, rim: int) -> list[_Overlap]:
    """The overlap in a window, with only the far side looked up in its rim of so many pixels."""
    first = render(art, a, window, fine)
    if not cv2.minMaxLoc(first)[1]:
        return []
    second = render(art, b, window, fine)
    one = cv2.threshold(first, 127, 255, cv2.THRESH_BINARY)[1]
    other = cv2.threshold(second, 127, 255, cv2.THRESH_BINARY)[1]
    if not all(cv2.countNonZero(cv2.subtract(*pair)) for pair in ((one, other), (other, one))):
        return []
    # edges that just meet may leave a seam of one pixel that neither covers half
    x, y, inside = _ends(first, other)
    inner = (x >= rim) & (x < window.width - rim) & (y >= rim) & (y < window.height - rim)
    x, y, inside = x[inner], y[inner], inside[inner]
    if not len(x):
        return []
    to_x, to_y, _ = _ends(second, one)
    if not len(to_x):
        return []
    width = np.zeros(len(x))
    width[inside], _ = cKDTree(np.stack([to_x, to_y], axis=1)).query(
        np.stack([x[inside], y[inside]], axis=1), distance_upper_bound=MOST_TRAP * fine + 1
    )
    width[width < MEET] = 0.0
    kept = width <= MOST_TRAP * fine
    order = np.argsort(width[kept], kind="stable")
    x, y, width = x[kept][order], y[kept][order], width[kept][order]
    if not len(width):
        return []
    stop = np.searchsorted(width, width * EVEN + SLACK, side="right")
    enough = stop - np.arange(len(width)) >= min(SHORTEST_EDGE * fine, 0.5 * len(width))
    if not enough.any():
        return []
    first_even = int(np.argmax(enough))
    at = first_even + int(NARROWEST * (stop[first_even] - first_even))
    box = (
        (window.x + x.min()) / fine, (window.y + y.min()) / fine,
        (window.x + x.max()) / fine, (window.y + y.max()) / fine,
    )  # fmt: skip
    place = (float(window.x + x[at]) / fine, float(window.y + y[at]) / fine)
    return [_Overlap(float(width[at]) / fine, tuple(float(v) for v in box), place)]  # type: ignore[arg-type]


def _ends(grey: np.ndarray, other: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Where a plate ends in another ink, or a pixel before it, to a part of a pixel.

    Coverage is read between two neighbours where it passes a half, so round and slanted edges are as true as straight.

    Args:
        grey: coverage of the plate.
        other: uint8, 255 where the other ink is.

    Returns:
        x, y (pixels, 0 at the window's edge), and whether the first pixel outside is the other ink's.
    """
    found = []
    left, top, wide, high = cv2.boundingRect(other)
    # it ends there or a pixel before, and the pixel on the other side of its end counts too
    left, top, right, bottom = max(0, left - 2), max(0, top - 2), left + wide + 2, top + high + 2
    grey = grey[top:bottom, left:right]
    covered = cv2.threshold(grey, 127, 255, cv2.THRESH_BINARY)[1]
    framed = cv2.copyMakeBorder(other[top:bottom, left:right], 1, 1, 1, 1, cv2.BORDER_REPLICATE)
    flat, width = framed.reshape(-1), framed.shape[1]
    for down in (0, 1):  # from left to right, then from top to bottom
        over = 1 - down
        before = np.s_[: grey.shape[0] - down, : grey.shape[1] - over]
        points = cv2.findNonZero(cv2.bitwise_xor(covered[before], covered[down:, over:]))
        if points is None:
            continue
        columns, rows = points.reshape(-1, 2).T
        from_first = grey[rows, columns].astype(float)
        from_second = grey[rows + down, columns + over].astype(float)
        part = 0.5 + (HALF - from_first) / (from_second - from_first)
        goes_on = from_first > HALF
        step = width if down else 1
        at = (rows + 1) * width + columns + 1
        inside = flat[at + step * goes_on] > 0  # the first pixel outside
        wanted = inside | (flat[at + np.where(goes_on, 2 * step, -step)] > 0)  # or the one after that
        x = left + columns + (part if over else 0.5)
        y = top + rows + (part if down else 0.5)
        found.append((x[wanted], y[wanted], inside[wanted]))
    if not found:
        return np.empty(0), np.empty(0), np.empty(0, bool)
    x, y, inside = (np.concatenate(parts) for parts in zip(*found, strict=True))
    return x, y, inside
