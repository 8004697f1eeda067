"""Where something narrow may be: a quick look at the whole art, ink by ink, that gives small blocks worth a fine look.

A shape that an opening with a disc as wide as the limit takes away is narrower than the limit.  Grey coverage is kept
down to a tenth, so that a hairline far thinner than a pixel is not overlooked.  A small picture of each ink shows where
its edges are: only there is it rendered larger, in strips.  What is wider is looked for in the small picture.
"""

import math
from dataclasses import dataclass, field
from typing import Any

import cv2
import numpy as np

from preflight.artwork import Artwork
from preflight.measure.width_source import Window, render, tone_boxes


@dataclass(frozen=True, slots=True)
class Band:
    """Widths looked for together: from `low` up to `high` mm, at `fine` pixels a mm, on level `level` of the pyramid."""

    low: float
    high: float
    level: int
    fine: float


#: 12 to 20 pixels for the widest of a band: enough to tell a line from a tip.  What is reported is measured again, finer.
BANDS = (Band(0.0, 0.25, 0, 40.0), Band(0.25, 1.0, 1, 14.0), Band(1.0, 4.0, 2, 4.0), Band(4.0, 20.0, 3, 1.0))
#: Pixels a mm of the coarse look: 3.6 pixels for the highest width of the first band.
COARSE = 14.4
#: Each level of the pyramid is this much smaller than the one before.
STEP = 4
LEVELS = 4
#: Sides of the blocks in pixels, by level.
BLOCK = (8, 4, 4, 4)
#: Rows of one strip, a multiple of STEP**3.
STRIP = 384
#: Columns looked at together; a piece that is all bare or all covered is skipped.
CHUNK = 384
#: Empty pixels round the art at level 0, a multiple of STEP**3.
PAD = 64
#: Least coverage, of 255, that counts as ink (or of a gap as bare): a dot of 0.05 mm on the corner of four pixels has 26.
LEAST = 20
#: More coarse pixels than this over all inks and a coarser look has to do.
MOST_COARSE = 400_000_000
#: Pixels of a block under which it is a tip or a corner.
FEW = 8
#: Neighbours at level 1 that differ by more than this, of 255, show an edge.
EDGE = 2
#: Level 1 pixels without an edge that are rendered all the same, rather than start another window.
JOIN = 40
_SQUARE = np.ones((3, 3), np.uint8)


@dataclass(slots=True)
class Coarse:
    """The result of the quick look.

    Attributes:
        density: pixels a mm of level 0.
        lines, gaps: by (ink number, band): how thick something in each block looks that may be narrower than the band's
            high end (`thickness_of`); 0 where there is nothing.
        between: by band: the same for gaps in all inks together that have two inks at hand.
        levels: by ink number: coverage at levels 1 to 3.
    """

    density: float
    lines: dict[tuple[int, int], np.ndarray] = field(default_factory=dict)
    gaps: dict[tuple[int, int], np.ndarray] = field(default_factory=dict)
    between: dict[int, np.ndarray] = field(default_factory=dict)
    levels: dict[int, list[np.ndarray]] = field(default_factory=dict)

    def density_of(self, level: int) -> float:
        """Pixels a mm of a level."""
        return self.density / STEP**level

    def origin(self, level: int) -> float:
        """Mm from a level's top left corner to the art's."""
        return PAD / self.density


def disc(width: float) -> np.ndarray:
    """The structuring element that passes what is wider than `width` pixels, with an odd side."""
    side = max(3, math.ceil(width + 1.2))
    side += 1 - side % 2
    return cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (side, side))


def residue(cover: np.ndarray, element: np.ndarray, least: int) -> np.ndarray | None:
    """What an opening takes away beyond the grey fringe of one pixel; None when nothing, uint8 0 or 255."""
    reach = element.shape[0] + 4
    found = None
    for left in range(0, cover.shape[1], CHUNK):
        start = max(0, left - reach)
        part = cover[:, start : left + CHUNK + reach]
        lowest, highest, _, _ = cv2.minMaxLoc(part)
        if highest < least or lowest >= 254:
            continue
        core = cv2.threshold(part, 127, 255, cv2.THRESH_BINARY)[1]
        opened = cv2.morphologyEx(core, cv2.MORPH_OPEN, element, borderType=cv2.BORDER_REPLICATE)
        opened = cv2.dilate(opened, _SQUARE)
        rest = cv2.subtract(cv2.threshold(part, least - 1, 255, cv2.THRESH_BINARY)[1], opened)
        rest = rest[:, left - start : left - start + CHUNK]
        if found is None:
            found = np.zeros_like(cover)
        found[:, left : left + rest.shape[1]] = rest
    return found


def thickness_of(cover: np.ndarray, mask: np.ndarray | None, side: int) -> np.ndarray | None:
    """How thick what lies in each block of side x side pixels looks, uint8 1 (thin) to 255; 0 where there is nothing.

    A line w pixels wide touches about w + 1 pixels across, so their mean coverage is w / (w + 1), however it lies.
    Blocks with only a few pixels, as at a corner, count as thick.
    """
    if mask is None:
        return None
    held = _averaged(mask, side).astype(np.int32)
    inked = _averaged(cv2.bitwise_and(cover, mask), side).astype(np.int32)
    thickness = np.clip(inked * 255 // np.maximum(held, 1), 1, 255)
    thickness[held * side * side < 255 * FEW] = 255
    thickness[held == 0] = 0
    return thickness.astype(np.uint8)


def blocks_of(mask: np.ndarray, side: int) -> np.ndarray:
    """Which blocks of side x side pixels hold anything; uint8 0 or 1."""
    return (_averaged(mask, side) > 0).astype(np.uint8)


def _averaged(mask: np.ndarray, side: int) -> np.ndarray:
    rows, columns = -(-mask.shape[0] // side), -(-mask.shape[1] // side)
    if mask.shape != (rows * side, columns * side):
        mask = cv2.copyMakeBorder(
            mask,
            0,
            rows * side - mask.shape[0],
            0,
            columns * side - mask.shape[1],
            cv2.BORDER_CONSTANT,
            value=0,
        )
    # a single pixel of 64 averages to 4 of 255, so nothing is rounded away
    return cv2.resize(mask, (columns, rows), interpolation=cv2.INTER_AREA)


def look(art: Artwork) -> Coarse:
    """The quick look at every ink, taken once."""
    return art.once("widths.coarse", lambda: _look(art))


def _look(art: Artwork) -> Coarse:
    density = COARSE
    while (
        density > COARSE / 16
        and art.width_mm * art.height_mm * density**2 * max(1, len(art.inks)) > MOST_COARSE
    ):
        density /= 2
    coarse = Coarse(density)
    whole = STEP ** (LEVELS - 1)
    width = -(-math.ceil(art.width_mm * density) // whole) * whole + 2 * PAD
    height = -(-math.ceil(art.height_mm * density) // whole) * whole + 2 * PAD
    _first_band(art, coarse, width, height)
    for band in range(1, len(BANDS)):
        _higher_band(art, coarse, band)
    _leave_out_tone(art, coarse)
    return coarse


def _first_band(art: Artwork, coarse: Coarse, width: int, height: int) -> None:
    """Level 1 as a whole, then strips of level 0 where level 1 shows an edge; fills band 0."""
    density, side = coarse.density, BLOCK[0]
    element = disc(BANDS[0].high * density)
    halo = (element.shape[0] + side) // side * side
    shape = (-(-height // side), -(-width // side))
    edges: dict[int, np.ndarray] = {}
    held: dict[int, np.ndarray] = {}
    for ink in art.inks:
        small = Window(-PAD // STEP, -PAD // STEP, width // STEP, height // STEP)
        level = render(art, ink.number, small, density / STEP)
        coarse.levels[ink.number] = [level]
        edges[ink.number] = cv2.morphologyEx(level, cv2.MORPH_GRADIENT, _SQUARE) > EDGE
        held[ink.number] = blocks_of(cv2.threshold(level, 63, 255, cv2.THRESH_BINARY)[1], side // STEP)
        coarse.lines[ink.number, 0] = np.zeros(shape, np.uint8)
        coarse.gaps[ink.number, 0] = np.zeros(shape, np.uint8)
    between = np.zeros(shape, np.uint8)

    def put(target: np.ndarray, cover: np.ndarray, least: int, top: int, left: int) -> None:
        mask = residue(cover, element, least)
        inner = slice(halo, halo + STRIP)
        found = thickness_of(cover[inner], None if mask is None else mask[inner], side)
        if found is None:
            return
        row, column = top // side, left // side
        view = target[row : row + found.shape[0], column : column + found.shape[1]]
        np.maximum(view, found[: view.shape[0], : view.shape[1]], out=view)

    for top in range(0, height, STRIP):
        first, last = max(0, top - halo), min(height, top + STRIP + halo)
        busy = {n: np.any(edge[first // STEP : -(-last // STEP)], axis=0) for n, edge in edges.items()}
        union: np.ndarray | None = None
        present = 0
        for number, columns in busy.items():
            for start, stop in _runs(columns, JOIN):
                left = max(0, (start * STEP - 2 * halo) // side * side)
                right = min(width, -(-(stop * STEP + 2 * halo) // side) * side)
                cover = render(
                    art, number, Window(left - PAD, top - halo - PAD, right - left, STRIP + 2 * halo), density
                )
                put(coarse.lines[number, 0], cover, LEAST, top, left)
                put(coarse.gaps[number, 0], cv2.bitwise_not(cover), LEAST, top, left)
                if len(art.inks) > 1:
                    if union is None:
                        union = np.zeros((cover.shape[0], width), np.uint8)
                    part = union[:, left:right]
                    cv2.max(part, cover, dst=part)
            present += bool(columns.any())
        if union is not None and present > 1:
            put(between, cv2.bitwise_not(union), LEAST, top, 0)
    coarse.between[0] = _near_two(between, held)


def _runs(columns: Any, join: int) -> list[tuple[int, int]]:
    """Where a row of flags is set: (start, stop), with breaks up to `join` closed."""
    at = np.flatnonzero(columns)
    if not len(at):
        return []
    breaks = np.flatnonzero(np.diff(at) > join)
    starts = at[np.r_[0, breaks + 1]]
    stops = at[np.r_[breaks, len(at) - 1]] + 1
    return list(zip(starts.tolist(), stops.tolist(), strict=True))


def _near_two(between: np.ndarray, held: dict[int, np.ndarray]) -> np.ndarray:
    """Only blocks with two inks at hand: the others are gaps of one ink."""
    if len(held) < 2:
        return np.zeros_like(between)
    near = np.zeros(between.shape, np.uint8)
    for one in held.values():
        near += cv2.dilate(one, _SQUARE)
    return np.where(near > 1, between, 0).astype(np.uint8)


def _higher_band(art: Artwork, coarse: Coarse, band: int) -> None:
    """The same in a level of the pyramid."""
    number = BANDS[band].level
    side, element = BLOCK[number], disc(BANDS[band].high * coarse.density_of(number))
    border = 2 * element.shape[0]
    held: dict[int, np.ndarray] = {}
    union: np.ndarray | None = None

    def blocks(cover: np.ndarray, least: int, bare: bool) -> np.ndarray:
        framed = cv2.copyMakeBorder(cover, border, border, border, border, cv2.BORDER_CONSTANT, value=0)
        if bare:
            framed = cv2.bitwise_not(framed)
        mask = residue(framed, element, least)
        inner = np.s_[border:-border, border:-border]
        found = thickness_of(framed[inner], None if mask is None else mask[inner], side)
        return (
            found
            if found is not None
            else np.zeros((-(-cover.shape[0] // side), -(-cover.shape[1] // side)), np.uint8)
        )

    for ink in art.inks:
        levels = coarse.levels[ink.number]
        while len(levels) < number:
            last = levels[-1]
            levels.append(
                cv2.resize(last, (last.shape[1] // STEP, last.shape[0] // STEP), interpolation=cv2.INTER_AREA)
            )
        cover = levels[number - 1]
        coarse.lines[ink.number, band] = blocks(cover, LEAST, False)
        coarse.gaps[ink.number, band] = blocks(cover, LEAST, True)
        held[ink.number] = blocks_of(cv2.threshold(cover, 127, 255, cv2.THRESH_BINARY)[1], side)
        union = cover if union is None else cv2.max(union, cover)
    if union is not None and len(held) > 1:
        coarse.between[band] = _near_two(blocks(union, LEAST, True), held)


def _leave_out_tone(art: Artwork, coarse: Coarse) -> None:
    """Forget the blocks that lie wholly in continuous tone."""
    boxes = tone_boxes(art)
    if not boxes:
        return
    maps = [(band, m) for (_, band), m in [*coarse.lines.items(), *coarse.gaps.items()]]
    for band, blocks in [*maps, *coarse.between.items()]:
        level = BANDS[band].level
        a_block = BLOCK[level] / coarse.density_of(level)
        for box in boxes:
            x0, y0 = (math.ceil((v + coarse.origin(level)) / a_block) for v in box[:2])
            x1, y1 = (math.floor((v + coarse.origin(level)) / a_block) for v in box[2:])
            blocks[max(0, y0) : max(0, y1), max(0, x0) : max(0, x1)] = 0
