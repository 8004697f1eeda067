"""How far inks that touch overlap: the trap there is to hide a shift between two printings.

Where ink A ends inside ink B and B ends inside A, the strip both cover is the trap.  Where one lies wholly on the other
(overprinted lettering on a solid) nothing can gape, and there is no trap to measure.
"""

from dataclasses import dataclass
from itertools import combinations

import cv2
import numpy as np

from preflight.artwork import Artwork, Box
from preflight.measure.width_coarse import STEP, look
from preflight.measure.width_source import Window, finest_resolution, render

#: Pixels a mm the overlap is measured at.
DENSITY = 24.0
#: Overlaps beyond this are no trap but shapes on shapes, mm.
MOST_TRAP = 2.0
#: An edge counts from this length on, mm: where two outlines cross the overlap is nought at the crossing itself.
SHORTEST_EDGE = 1.0
#: The overlap stays the same along an edge within this factor and so many pixels.
EVEN, SLACK = 1.25, 1.5
#: Side of a window in level 1 pixels, its margin, and how many are looked at for one pair of inks, spread over the art.
TILE, MARGIN, MOST_WINDOWS = 40, 10, 40
#: Least coverage, of 255, at level 1 for an ink to be at hand.
AT_HAND = 24
#: Overlaps under so many pixels are edges that just meet.
MEET = 1.0
_SQUARE = np.ones((3, 3), np.uint8)
_WIDE_SQUARE = np.ones((5, 5), np.uint8)


@dataclass(frozen=True, slots=True)
class Trap:
    """The least overlap of two inks, mm, and where, worst first; `seen` windows of `windows`."""

    inks: tuple[int, int]
    width: float
    boxes: tuple[Box, ...]
    seen: int
    windows: int


def traps(art: Artwork) -> list[Trap]:
    """The trap of every pair of inks that touch or overlap in part."""
    return art.once("widths.traps", lambda: _traps(art))


def _traps(art: Artwork) -> list[Trap]:
    coarse = look(art)
    near = {
        n: cv2.dilate((levels[0] >= AT_HAND).astype(np.uint8), _SQUARE) for n, levels in coarse.levels.items()
    }
    held = {n: bool(m.any()) for n, m in near.items()}
    found = []
    for a, b in combinations([ink.number for ink in art.inks], 2):
        if not (held[a] and held[b]):
            continue
        both = near[a] & near[b]
        if not both.any():
            continue
        # deep inside an overlap there is no edge: only where one of them ends
        deep = _full(coarse.levels[a][0]) & _full(coarse.levels[b][0])
        edge = cv2.morphologyEx(both, cv2.MORPH_GRADIENT, _SQUARE) | (both & ~deep)
        rows, columns = np.nonzero(edge)
        tiles = np.unique(np.stack([rows // TILE, columns // TILE], axis=1), axis=0)
        chosen = tiles[np.unique(np.linspace(0, len(tiles) - 1, MOST_WINDOWS).astype(int))]
        measured = []
        for row, column in chosen:
            measured += _in_tile(art, a, b, int(row), int(column), coarse.density / STEP, coarse.origin(1))
        if measured:
            measured.sort(key=lambda item: item[0])
            least = measured[0][0]
            boxes = tuple(box for width, box in measured if width <= least * EVEN + SLACK / DENSITY)
            found.append(Trap((a, b), least, boxes, len(chosen), len(tiles)))
    return found


def _full(level: np.ndarray) -> np.ndarray:
    return (level >= 254).astype(np.uint8)


def _in_tile(
    art: Artwork, a: int, b: int, row: int, column: int, density: float, origin: float
) -> list[tuple[float, Box]]:
    """(overlap, box) of one tile, if the inks touch in it."""
    fine = finest_resolution(art, DENSITY)
    k = fine / density
    offset = origin * fine
    window = Window(
        round((column * TILE - MARGIN) * k - offset), round((row * TILE - MARGIN) * k - offset),
        round((TILE + 2 * MARGIN) * k), round((TILE + 2 * MARGIN) * k),
    )  # fmt: skip
    one = cv2.threshold(render(art, a, window, fine), 127, 255, cv2.THRESH_BINARY)[1]
    other = cv2.threshold(render(art, b, window, fine), 127, 255, cv2.THRESH_BINARY)[1]
    overlap = one & other
    only_one, only_other = one & ~overlap, other & ~overlap
    if not only_one.any() or not only_other.any():
        return []
    # edges that just meet may leave a seam of one pixel that neither covers half
    edge = only_other & cv2.dilate(overlap | only_one, _WIDE_SQUARE)
    edge &= cv2.dilate(cv2.bitwise_not(only_other), _SQUARE)
    distance = cv2.distanceTransform(cv2.bitwise_not(only_one), cv2.DIST_L2, 5)
    inner = np.zeros_like(edge)
    rim = round(MARGIN * k / 2)
    inner[rim:-rim, rim:-rim] = edge[rim:-rim, rim:-rim]
    y, x = np.nonzero(inner)
    if not len(x):
        return []
    width = np.maximum(0.0, distance[y, x] - 1.0)
    width[width < MEET] = 0.0
    kept = width <= MOST_TRAP * fine
    x, y, width = x[kept], y[kept], np.sort(width[kept]) if kept.any() else width[kept]
    if not len(width):
        return []
    stop = np.searchsorted(width, width * EVEN + SLACK, side="right")
    enough = stop - np.arange(len(width)) >= min(SHORTEST_EDGE * fine, 0.5 * len(width))
    if not enough.any():
        return []
    least = float(width[int(np.argmax(enough))])
    box = (
        (window.x + x.min()) / fine, (window.y + y.min()) / fine,
        (window.x + x.max() + 1) / fine, (window.y + y.max() + 1) / fine,
    )  # fmt: skip
    return [(least / fine, tuple(float(v) for v in box))]  # type: ignore[list-item]
