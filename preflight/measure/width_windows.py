"""Windows round the blocks that the coarse look names: tight where there are few, large where the art is full."""

import math
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

import cv2
import numpy as np

from preflight.artwork import Artwork
from preflight.measure.width_coarse import BANDS, BLOCK, Band, Coarse
from preflight.measure.width_source import Window

#: Sides of the tiles that windows are cut along, in fine pixels.  In a small tile each cluster of blocks gets a window.
SMALL_TILE, LARGE_TILE = 576, 1344
#: From so many pixels on a band is crowded, and its tiles are of so many.
CROWDED, CROWDED_TILE = 600_000, 400
#: Windows have about so many times the pixels of their blocks, where those lie close together.
CROWDED_BLOCKS = 1.3
#: From so many drawing objects on, drawing a window costs more for its objects than for its pixels.
MANY_MARKS = 3000
#: A large tile whose blocks fill this part of their box is one window; so is every one when drawing is slow.
FULL = 0.35
#: What a window costs besides its pixels, in pixels: drawing starts anew for each, and its margin is drawn too.
A_WINDOW = 5000
#: The window reaches this many limits past the blocks.
HALO = 1.4


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
    origin = coarse.origin(band.level)
    for left, top, right, bottom in _boxes(cv2.bitwise_or(lines, gaps), block * density, slow, tile):
        inside = np.s_[top:bottom, left:right]
        x0 = math.floor((left * block - origin - halo) * density)
        y0 = math.floor((top * block - origin - halo) * density)
        x1 = math.ceil((right * block - origin + halo) * density)
        y1 = math.ceil((bottom * block - origin + halo) * density)
        found.append(
            Job(
                ink, Window(x0, y0, x1 - x0, y1 - y0), bool(lines[inside].any()), bool(gaps[inside].any()),
                256 - int(thin[inside].max()),
            )
        )  # fmt: skip
    return found


def all_jobs(art: Artwork, coarse: Coarse, band: int, density: float) -> list[Job]:
    """The windows of a band on the plates of all inks, and of gaps between inks."""
    found = art.once(("widths.jobs", band, density), lambda: _all_jobs(art, coarse, band, density))
    return [*found]


def _all_jobs(art: Artwork, coarse: Coarse, band: int, density: float) -> list[Job]:
    maps: list[tuple[int | None, np.ndarray, np.ndarray]] = [
        (ink.number, coarse.lines[ink.number, band], coarse.gaps[ink.number, band]) for ink in art.inks
    ]
    if band in coarse.between:
        gaps = coarse.between[band]
        maps.append((None, np.zeros_like(gaps), gaps))
    limits = BANDS[band]
    block = BLOCK[limits.level] * density / coarse.density_of(limits.level)
    blocks = sum(cv2.countNonZero(cv2.bitwise_or(lines, gaps)) for _, lines, gaps in maps)
    tile = CROWDED_TILE if CROWDED_BLOCKS * blocks * block**2 > CROWDED else LARGE_TILE
    slow = len(art.marks) > MANY_MARKS
    return [
        job
        for ink, lines, gaps in maps
        for job in jobs(coarse, limits, density, ink, lines, gaps, slow, tile)
    ]


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
            own = stats[1:, :4]
            # many small windows cost more than one that holds them all
            whole = int(np.ptp(np.r_[own[:, 0], own[:, 0] + own[:, 2]])) * int(
                np.ptp(np.r_[own[:, 1], own[:, 1] + own[:, 3]])
            )
            if len(own) > 1 and _cost(own[:, 2:4], pixels).sum() > whole * pixels**2 + A_WINDOW:
                x, y = own[:, :2].min(0)
                right, bottom = (own[:, :2] + own[:, 2:4]).max(0)
                own = np.array([[x, y, right - x, bottom - y]])
            for x, y, width, height in own.tolist():
                yield left + dx + x, top + dy + y, left + dx + x + width, top + dy + y + height


def _cost(sizes: np.ndarray, pixels: float) -> np.ndarray:
    """What windows of these blocks cost, in pixels."""
    return np.prod(sizes * pixels, axis=1) + A_WINDOW


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
