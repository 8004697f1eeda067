"""Windows round the blocks that the coarse look names: tight where there are few, large where the art is full."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

import cv2
import numpy as np

from preflight.artwork import Artwork
from preflight.measure.width_coarse import BANDS, BLOCK, Band, Coarse
from preflight.measure.width_source import Window, label_type

#: Sides of the tiles that windows are cut along, in fine pixels.  In a small tile each cluster of blocks gets a window.
SMALL_TILE, LARGE_TILE = 576, 1344
#: From so many pixels on a band is crowded, and its tiles are of so many.
CROWDED, CROWDED_TILE = 600_000, 288
#: And they are looked at in batches of so many pixels or this share of all.
BATCH, BATCH_SHARE = 300_000, 0.1
#: Windows have about so many times the pixels of their blocks, where those lie close together.
CROWDED_BLOCKS = 1.3
#: From so many drawing objects on, drawing a window costs more for its objects than for its pixels.
MANY_MARKS = 3000
#: A large tile whose blocks fill this part of their box is one window; so is every one when drawing is slow.
FULL = 0.35
#: What a window costs besides its pixels, in pixels: drawing starts anew for each, and its margin is drawn too.
A_WINDOW = 4000
#: The window reaches this many limits past the blocks.
HALO = 1.2


@dataclass(slots=True)
class Job:
    """One window: of which ink (None: all), what is looked for in it, and how thick it looks, 1 to 255.

    `fallback` holds what is kept if this closer look finds nothing; `part_of` is the long stretch that it looks at one place of,
    and its window.
    """

    ink: int | None
    window: Window
    line: bool
    gap: bool
    thickness: int
    fallback: list[tuple["Job", Any, str]] = field(default_factory=list)
    part_of: tuple["Job", Any] | None = None

    def may_hold(self, kind: str) -> bool:
        """Does the coarse look leave it open that the window holds something of this kind?"""
        if self.ink is None:
            return kind == "between"
        return self.line if kind in ("line", "speck") else self.gap and kind in ("gap", "hole")


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
    points = cv2.findNonZero(cv2.bitwise_or(lines, gaps))  # numpy's own takes seven times as long
    if points is None:
        return []
    columns, rows = points.reshape(-1, 2).T
    block = BLOCK[band.level] / coarse.density_of(band.level)  # mm
    box_of = _boxed(rows, columns, block * density, slow, tile)
    order = np.argsort(box_of, kind="stable")
    rows, columns = rows[order], columns[order]
    first = np.flatnonzero(np.diff(box_of[order], prepend=-1))
    of_lines, of_gaps = lines[rows, columns], gaps[rows, columns]
    # the thinnest of either kind; 0 stands for nothing there, and its wrap-around to the greatest is wanted
    thin = np.minimum.reduceat(np.minimum(of_lines - np.uint8(1), of_gaps - np.uint8(1)), first)
    with_line, with_gap = (np.maximum.reduceat(of, first) > 0 for of in (of_lines, of_gaps))
    origin, halo = coarse.origin(band.level), HALO * band.high

    def pixels(blocks: np.ndarray, margin: float) -> np.ndarray:
        return (blocks * block - origin + margin) * density

    low_x, low_y = (np.floor(pixels(np.minimum.reduceat(of, first), -halo)) for of in (columns, rows))
    high_x, high_y = (np.ceil(pixels(np.maximum.reduceat(of, first) + 1, halo)) for of in (columns, rows))
    boxes = np.stack([low_x, low_y, high_x - low_x, high_y - low_y], axis=1).astype(int).tolist()
    flags = zip(with_line.tolist(), with_gap.tolist(), (thin.astype(int) + 1).tolist(), strict=True)
    return [
        Job(ink, Window(*box), line, gap, thickness)
        for box, (line, gap, thickness) in zip(boxes, flags, strict=True)
    ]


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


def pixels_of(jobs: Sequence[Job]) -> int:
    """Pixels of all windows."""
    return sum(job.window.width * job.window.height for job in jobs)


def in_batches(jobs: Sequence[Job]) -> list[list[Job]]:
    """All at once, or of a crowd so many pixels at a time."""
    total = pixels_of(jobs)
    if total <= CROWDED:
        return [list(jobs)] if jobs else []
    batch = max(BATCH, total * BATCH_SHARE)
    batches: list[list[Job]] = [[]]
    pixels = 0
    for job in jobs:
        if pixels > batch:
            batches.append([])
            pixels = 0
        batches[-1].append(job)
        pixels += job.window.width * job.window.height
    return batches


def _boxed(rows: np.ndarray, columns: np.ndarray, pixels: float, slow: bool, tile: int) -> np.ndarray:
    """Of each block (row, column) the number of the box it goes into; a block is so many fine pixels wide."""
    large, small = (max(2, round(side / pixels)) for side in (tile, SMALL_TILE))
    across = int(columns.max()) // large + 1
    numbers, tiles = np.unique(rows // large * across + columns // large, return_inverse=True)
    if slow:
        return tiles
    count = np.bincount(tiles)
    full = count >= FULL * np.prod(_extents(rows, columns, tiles, len(numbers))[2:], axis=0)
    loose = np.flatnonzero(~full[tiles])
    box_of = tiles.copy()
    if len(loose):
        box_of[loose] = len(numbers) + _clusters(rows[loose], columns[loose], pixels, large, small)
    return box_of


def _clusters(rows: np.ndarray, columns: np.ndarray, pixels: float, large: int, small: int) -> np.ndarray:
    """The cluster each block belongs to, within small tiles; those of one tile are one where that costs less."""
    a_tile = -(-large // small)  # small tiles in a large one; the last may be narrower
    down, over = (at // large * a_tile + at % large // small for at in (rows, columns))
    # a bare line along every tile keeps clusters of two tiles apart
    top, left = rows + down, columns + over
    top, left = top - top.min(), left - left.min()
    there = np.zeros((int(top.max()) + 1, int(left.max()) + 1), np.uint8)
    there[top, left] = 1
    count, labels = cv2.connectedComponents(there, connectivity=8, ltype=label_type(len(rows)))
    cluster = labels[top, left].astype(np.int64) - 1
    tile_of = np.empty(count - 1, np.int64)
    _, tiles = np.unique(down * (int(over.max()) + 1) + over, return_inverse=True)
    tile_of[cluster] = tiles
    # many small windows cost more than one that holds them all
    apart = np.bincount(tile_of, _cost(np.stack(_extents(rows, columns, cluster, count - 1)[2:], 1), pixels))
    whole = np.prod(_extents(rows, columns, tiles, len(apart))[2:], axis=0) * pixels**2 + A_WINDOW
    together = (np.bincount(tile_of) > 1) & (apart > whole)
    return np.where(together[tiles], count + tiles, cluster)


def _extents(
    rows: np.ndarray, columns: np.ndarray, group: np.ndarray, count: int
) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Left, top, width and height of what belongs to each group; none of them is empty."""
    # sorted by whole numbers of 16 bits where they do: numpy counts those, which is far quicker than comparing
    order = np.argsort(group.astype(np.uint16) if count < 65_536 else group, kind="stable")
    first = np.searchsorted(group[order], np.arange(count))
    sides = []
    for at in (columns[order], rows[order]):
        low = np.minimum.reduceat(at, first)
        sides.append((low, np.maximum.reduceat(at, first) - low + 1))
    (left, width), (top, height) = sides
    return left, top, width, height


def _cost(sizes: np.ndarray, pixels: float) -> np.ndarray:
    """What windows of these blocks cost, in pixels."""
    return np.prod(sizes * pixels, axis=1) + A_WINDOW
