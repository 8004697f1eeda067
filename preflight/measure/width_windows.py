"""Windows round the blocks that the coarse look names: tight where there are few, large where the art is full."""

from collections import defaultdict
from collections.abc import Callable, Collection, Iterator
from dataclasses import dataclass, field, replace
from typing import Any

import cv2
import numpy as np

from preflight.artwork import Artwork
from preflight.measure.width_coarse import BANDS, BLOCK, NARROW, look_for
from preflight.measure.width_looks import grouped, looks_of, touching
from preflight.measure.width_sheet import CELL
from preflight.measure.width_source import Window, label_type

#: Sides of the tiles that windows are cut along, in fine pixels.  In a small tile each cluster of blocks gets a window.
SMALL_TILE, LARGE_TILE = 576, 1344
#: From so many pixels on a band is crowded, and its tiles are of so many.
CROWDED, CROWDED_TILE = 600_000, 288
#: Windows have about so many times the pixels of their blocks, where those lie close together.
CROWDED_BLOCKS = 1.3
#: From so many drawing objects on, drawing a window costs more for its objects than for its pixels.
MANY_MARKS = 3000
#: A large tile whose blocks fill this part of their box is one window; so is every one when drawing is slow.
FULL = 0.35
#: What a window costs besides its pixels, in pixels: drawing starts anew for each, and its margin is drawn too.
A_WINDOW = 4000
#: The parts of a window with gaps lie in tiles of so many pixels; a part costs so many besides its own, and together they
#: have to cost less than this share of the window.
PART_TILE, A_PART, PARTS_SHARE = 96, 300, 0.7
#: The window reaches this many limits past the blocks.
HALO = 1.2
#: On a map with more than so many times as many blocks as are set, touching ones are found by their numbers, not by looking.
FEW_BLOCKS = 200


@dataclass(slots=True)
class Job:
    """One window: of which ink (None: all), what is looked for in it, and how thick that looks.

    `looks` are the least thickness, 0 for none, of lines that go on for some blocks, of others, and the same of gaps.
    `fallback` holds what is kept if this closer look finds nothing; `part_of` is the long stretch that it looks at one place of,
    and its window.  `gap_parts` hold all of the window that has gaps, where that is a good deal less than the whole.
    """

    ink: int | None
    window: Window
    line: bool
    gap: bool
    looks: tuple[int, ...]
    fallback: list[tuple["Job", Any, str]] = field(default_factory=list)
    part_of: tuple["Job", Any] | None = None
    gap_parts: tuple[Window, ...] = ()

    def may_hold(self, kind: str) -> bool:
        """Does the coarse look leave it open that the window holds something of this kind?"""
        return self.may_hold_any((kind,))

    def may_hold_any(self, kinds: Collection[str]) -> bool:
        """Does it leave that open for any of these kinds?"""
        if self.ink is None:
            return "between" in kinds
        return (self.line and ("line" in kinds or "speck" in kinds)) or (
            self.gap and ("gap" in kinds or "hole" in kinds)
        )


@dataclass(frozen=True, slots=True)
class Places:
    """Square blocks of the plates that may hold something narrow.

    Attributes:
        side: of a block, mm.
        origin: from the top left corner of the first block to the art's, mm.
        inks: numbers of the inks whose plates they are; None: gaps between inks, on all plates together.
        plates: of each block, which of the inks.
        rows, columns: of the blocks, each at least 0.
        lines, gaps: uint8, how thick a line or a gap in each looks, 1 (thin) to 255; 0 where there is none.
    """

    side: float
    origin: float
    inks: tuple[int | None, ...]
    plates: np.ndarray
    rows: np.ndarray
    columns: np.ndarray
    lines: np.ndarray
    gaps: np.ndarray

    def __getitem__(self, chosen: np.ndarray) -> "Places":
        """Those of some of the blocks."""
        held = (of[chosen] for of in (self.plates, self.rows, self.columns, self.lines, self.gaps))
        return Places(self.side, self.origin, self.inks, *held)


def places(art: Artwork, band: int) -> Places:
    """What the quick look names for a band; for the first band see `width_middle`."""
    return art.once(("widths.places", band), lambda: _places(art, band))


def _places(art: Artwork, band: int) -> Places:
    coarse, level = look_for(art, band), BANDS[band].level
    maps: dict[int | None, tuple[np.ndarray, np.ndarray]] = {
        ink.number: (coarse.lines[ink.number, band], coarse.gaps[ink.number, band]) for ink in art.inks
    }
    if band in coarse.between:
        maps[None] = (np.zeros_like(coarse.between[band]), coarse.between[band])
    found = []
    for plate, (lines, gaps) in enumerate(maps.values()):
        points = cv2.findNonZero(cv2.bitwise_or(lines, gaps))  # numpy's own takes seven times as long
        if points is not None:
            columns, rows = points.reshape(-1, 2).T
            at = rows, columns
            found.append((np.full(len(rows), plate), rows, columns, lines[at], gaps[at]))
    held = [np.concatenate(of) for of in zip(*found, strict=True)] or [np.empty(0, int)] * 5
    return Places(BLOCK[level] / coarse.density_of(level), coarse.origin(level), tuple(maps), *held)


def jobs(held: Places, band: int, density: float, slow: bool, tile: int = LARGE_TILE) -> list[Job]:
    """The windows of one band, plate by plate.

    Args:
        held: the blocks that have to be looked at.
        band: widths looked for.
        density: pixels a mm of the windows.
        slow: every window costs, because many objects have to be drawn for each.
        tile: side of the tiles that large windows are cut along, pixels.
    """
    if not len(held.rows):
        return []
    block = held.side
    box_of = _boxed(held, block * density, slow, tile)
    order = np.argsort(box_of, kind="stable")
    rows, columns = held.rows[order], held.columns[order]
    first = np.flatnonzero(np.diff(box_of[order], prepend=-1))
    of_lines, of_gaps = held.lines[order], held.gaps[order]
    of_looks = [
        of[order]
        for kind in (held.lines, held.gaps)
        for of in looks_of(held.plates, held.rows, held.columns, kind)
    ]
    # the thinnest of each; 0 stands for nothing there, and its wrap-around to the greatest is wanted
    looks = np.stack([np.minimum.reduceat(of - np.uint8(1), first) + np.uint8(1) for of in of_looks], axis=1)
    with_line, with_gap = (np.maximum.reduceat(of, first) > 0 for of in (of_lines, of_gaps))
    halo = HALO * BANDS[band].high
    # whole cells lie in the windows that the first band's places are looked for in
    grid = CELL if band == NARROW else 1

    def pixels(blocks: np.ndarray, margin: float) -> np.ndarray:
        return (blocks * block - held.origin + margin) * density

    low_x, low_y = (
        grid * np.floor(pixels(np.minimum.reduceat(of, first), -halo) / grid) for of in (columns, rows)
    )
    high_x, high_y = (np.ceil(pixels(np.maximum.reduceat(of, first) + 1, halo)) for of in (columns, rows))
    boxes = np.stack([low_x, low_y, high_x, high_y], axis=1).astype(int)
    parts = _gap_parts(rows, columns, box_of[order], of_gaps > 0, boxes, pixels, block * density, halo)
    plates = held.plates[order][first]
    in_turn = np.argsort(plates, kind="stable")
    facts = (of[in_turn].tolist() for of in (plates, boxes, with_line, with_gap, looks))
    return [
        Job(
            held.inks[plate],
            Window(x0, y0, x1 - x0, y1 - y0),
            line,
            gap,
            tuple(look),
            gap_parts=parts.get(number, ()) if line else (),
        )
        for number, plate, (x0, y0, x1, y1), line, gap, look in zip(in_turn.tolist(), *facts, strict=True)
    ]


def _gap_parts(
    rows: np.ndarray, columns: np.ndarray, boxes: np.ndarray, gap: np.ndarray, windows: np.ndarray,
    pixels: Callable[[np.ndarray, float], np.ndarray], block: float, halo: float,
) -> dict[int, tuple[Window, ...]]:  # fmt: skip
    """By number of the window, the parts of it that have gaps: lettering is full of lines, and has a few gaps.

    Args:
        rows: of blocks, in order of their boxes.
        columns: the same.
        boxes: number of the box each belongs to.
        gap: which of them may hold a gap.
        windows: left, top, right, bottom of each box in its order, pixels.
        pixels: gives the place of a block's side, in pixels, with a margin in mm.
        block: pixels of one block.
        halo: mm round the blocks.
    """
    window_of = np.cumsum(np.diff(boxes, prepend=boxes[0]) > 0)[gap]
    rows, columns = rows[gap], columns[gap]
    if not len(rows):
        return {}
    tile = max(2, round(PART_TILE / block))
    tiles = (window_of * (int(rows.max()) // tile + 1) + rows // tile) * (int(columns.max()) // tile + 1)
    tiles += columns // tile
    order = np.argsort(tiles, kind="stable")
    first = np.flatnonzero(np.diff(tiles[order], prepend=-1))
    owner = window_of[order][first]
    rows, columns = rows[order], columns[order]
    low = (np.floor(pixels(np.minimum.reduceat(of, first), -halo)) for of in (columns, rows))
    high = (np.ceil(pixels(np.maximum.reduceat(of, first) + 1, halo)) for of in (columns, rows))
    (x0, y0), (x1, y1) = low, high
    left, top, right, bottom = windows[owner].T
    x0, y0, x1, y1 = np.maximum(x0, left), np.maximum(y0, top), np.minimum(x1, right), np.minimum(y1, bottom)
    cost = np.bincount(owner, (x1 - x0) * (y1 - y0) + A_PART, minlength=len(windows))
    size = (windows[:, 2] - windows[:, 0]) * (windows[:, 3] - windows[:, 1])
    parted = (cost < PARTS_SHARE * size)[owner]
    found: dict[int, list[Window]] = defaultdict(list)
    sides = np.stack([x0, y0, x1 - x0, y1 - y0], axis=1)[parted].astype(int)
    for number, box in zip(owner[parted].tolist(), sides.tolist(), strict=True):
        found[number].append(Window(*box))
    return {number: tuple(parts) for number, parts in found.items()}


def all_jobs(art: Artwork, held: Places, band: int, density: float) -> list[Job]:
    """The windows of a band on the plates of all inks, and of gaps between inks."""
    found = art.once(("widths.jobs", band, density), lambda: _all_jobs(art, held, band, density))
    return [*found]


def _all_jobs(art: Artwork, held: Places, band: int, density: float) -> list[Job]:
    blocks = len(held.rows) * (held.side * density) ** 2
    tile = CROWDED_TILE if CROWDED_BLOCKS * blocks > CROWDED else LARGE_TILE
    return jobs(held, band, density, len(art.marks) > MANY_MARKS, tile)


def parts_with_gaps(job: Job, cover: np.ndarray) -> Iterator[tuple[Job, np.ndarray]]:
    """A window and its coverage, or the parts of it that have gaps."""
    if not job.gap_parts:
        yield job, cover
    for part in job.gap_parts:
        x, y = part.x - job.window.x, part.y - job.window.y
        yield replace(job, window=part, gap_parts=()), cover[y : y + part.height, x : x + part.width]


def _boxed(held: Places, pixels: float, slow: bool, tile: int) -> np.ndarray:
    """Of each block the number of the box it goes into; a block is so many fine pixels wide."""
    large, small = (max(2, round(side / pixels)) for side in (tile, SMALL_TILE))
    # the plates one below the other, whole tiles apart, so that no box has blocks of two
    rows = held.rows + held.plates * ((int(held.rows.max()) + 1) // large + 1) * large
    columns = held.columns
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
    count, cluster = connected(rows + down, columns + over)
    tile_of = np.empty(count, np.int64)
    _, tiles = np.unique(down * (int(over.max()) + 1) + over, return_inverse=True)
    tile_of[cluster] = tiles
    # many small windows cost more than one that holds them all
    apart = np.bincount(tile_of, _cost(np.stack(_extents(rows, columns, cluster, count)[2:], 1), pixels))
    whole = np.prod(_extents(rows, columns, tiles, len(apart))[2:], axis=0) * pixels**2 + A_WINDOW
    together = (np.bincount(tile_of) > 1) & (apart > whole)
    return np.where(together[tiles], count + tiles, cluster)


def connected(rows: np.ndarray, columns: np.ndarray) -> tuple[int, np.ndarray]:
    """How many groups of blocks that touch, also at corners, there are, and the number of each block's group."""
    top, left = rows - rows.min(), columns - columns.min()
    high, wide = int(top.max()) + 1, int(left.max()) + 1
    if high * wide <= FEW_BLOCKS * len(rows):
        there = np.zeros((high, wide), np.uint8)
        there[top, left] = 1
        count, labels = cv2.connectedComponents(there, connectivity=8, ltype=label_type(len(rows)))
        return count - 1, labels[top, left].astype(np.int64) - 1
    wide += 1  # no row's end touches the next one's beginning
    key = top.astype(np.int64) * wide + left
    order = np.argsort(key)
    count, group = grouped(touching(key[order], wide), len(key))
    found = np.empty_like(group)
    found[order] = group
    return count, found


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
