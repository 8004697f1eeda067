"""Windows round the blocks that the coarse look names: tight where there are few, large where the art is full."""

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

import cv2
import numpy as np

from preflight.measure.width_coarse import BLOCK, Band, Coarse
from preflight.measure.width_source import Window

#: Sides of the tiles that windows are cut along, in fine pixels.  In a small tile each cluster of blocks gets a window.
SMALL_TILE, LARGE_TILE = 576, 1344
#: A large tile whose blocks fill this part of their box is one window; so is every one when drawing is slow.
FULL = 0.35
#: The window reaches this many limits past the blocks.
HALO = 2.2


@dataclass(slots=True)
class Job:
    """One window: of which ink (None: all), what is looked for in it, and how thick it looks, 1 to 255.

    `fallback` holds what is kept if this closer look finds nothing.
    """

    ink: int | None
    window: Window
    line: bool
    gap: bool
    thickness: int
    fallback: list[tuple["Job", Any, str]] = field(default_factory=list)


def jobs(
    coarse: Coarse,
    band: Band,
    density: float,
    ink: int | None,
    lines: np.ndarray,
    gaps: np.ndarray,
    slow: bool,
    tile: int = LARGE_TILE,
) -> list[Job]:
    """The windows of one ink and band.

    Args:
        coarse: the quick look.
        band: widths looked for.
        density: pixels a mm of the windows.
        ink: whose plate; None for all inks together.
        lines: blocks of the coarse look that may hold lines, by thickness.
        gaps: the same for gaps.
        slow: every window costs, because many objects have to be drawn for each.
        tile: side of the tiles that large windows are cut along, pixels.
    """
    block = BLOCK[band.level] / coarse.density_of(band.level)  # mm
    halo = HALO * band.high
    found = []
    # 255 where something is thinnest, 0 where nothing is: the wrap-around of 0 - 1 is wanted
    thin = cv2.max(255 - (lines - np.uint8(1)), 255 - (gaps - np.uint8(1)))
    for left, top, right, bottom in _boxes(cv2.bitwise_or(lines, gaps), block * density, slow, tile):
        inside = np.s_[top:bottom, left:right]
        line, gap = cv2.minMaxLoc(lines[inside])[1] > 0, cv2.minMaxLoc(gaps[inside])[1] > 0
        mm = (
            np.array([left, top, right, bottom]) * block
            - coarse.origin(band.level)
            + (-halo, -halo, halo, halo)
        )
        x0, y0 = (int(v) for v in np.floor(mm[:2] * density))
        x1, y1 = (int(v) for v in np.ceil(mm[2:] * density))
        thickness = 256 - int(cv2.minMaxLoc(thin[inside])[1])
        found.append(Job(ink, Window(x0, y0, x1 - x0, y1 - y0), line, gap, thickness))
    return found


def _boxes(blocks: np.ndarray, pixels: float, slow: bool, tile: int) -> Iterator[tuple[int, int, int, int]]:
    """Left, top, right, bottom in blocks; a block is so many fine pixels wide."""
    large, small = (max(2, round(side / pixels)) for side in (tile, SMALL_TILE))
    for left, top, part in _tiles(blocks, large):
        rows, columns = np.flatnonzero(part.any(1)), np.flatnonzero(part.any(0))
        x0, y0, x1, y1 = columns[0], rows[0], columns[-1] + 1, rows[-1] + 1
        if slow or np.count_nonzero(part) >= FULL * (x1 - x0) * (y1 - y0):
            yield int(left + x0), int(top + y0), int(left + x1), int(top + y1)
            continue
        for dx, dy, piece in _tiles(part, small):
            _, _, stats, _ = cv2.connectedComponentsWithStats((piece > 0).astype(np.uint8), connectivity=8)
            for x, y, width, height in stats[1:, :4].tolist():
                yield left + dx + x, top + dy + y, left + dx + x + width, top + dy + y + height


def _tiles(blocks: np.ndarray, side: int) -> Iterator[tuple[int, int, np.ndarray]]:
    """The tiles that hold anything: (left, top, blocks)."""
    for top in range(0, blocks.shape[0], side):
        strip = blocks[top : top + side]
        if not strip.any():
            continue
        for left in range(0, blocks.shape[1], side):
            tile = strip[:, left : left + side]
            if tile.any():
                yield left, top, tile
