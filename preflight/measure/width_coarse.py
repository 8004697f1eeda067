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


#: 6 to 24 pixels for the widest of a band: enough to tell a line from a tip.  What is reported is measured again, finer.
#: Most methods ask up to 0.35 or 0.4 mm, so two bands answer them; the thinnest things are rare and get the most pixels.
BANDS = (
    Band(0.0, 0.13, 0, 48.0),
    Band(0.13, 0.4, 0, 17.5),
    Band(0.4, 1.6, 1, 14.0),
    Band(1.6, 6.4, 2, 4.0),
    Band(6.4, 20.0, 3, 1.0),
)
#: The first band is looked for in the windows of the second, which has the coarse look's level 0.
NARROW = 1
#: Pixels a mm of the coarse look: 3.6 pixels for the highest width on level 0.
COARSE = 9.0
#: Each level of the pyramid is this much smaller than the one before.
STEP = 4
LEVELS = 4
#: Sides of the blocks in pixels, by level.
BLOCK = (4, 4, 4, 4)
#: Rows of one strip, a multiple of STEP**3.
STRIP = 192
#: Columns looked at together; a piece that is all bare or all covered is skipped.
CHUNK = 384
#: Empty pixels round the art at level 0, a multiple of STEP**3.
PAD = 64
#: Least coverage, of 255, that counts as ink (or of a gap as bare): a dot of 0.05 mm on the corner of four pixels has 10.
LEAST = 8
#: Two pixels beside something wide, no more than so many pixels in a square of so many, with less coverage than this,
#: are its corner.
CORNER_PIXELS, CORNER, FAINT = 3, 9, 40
#: More coarse pixels than this over all inks and a coarser look has to do.
MOST_COARSE = 400_000_000
#: Pixels of a block under which it is a tip or a corner.
FEW = 2
#: Neighbours at level 1 that differ by more than this, of 255, show an edge.
EDGE = 2
#: Level 1 pixels without an edge that are rendered all the same, rather than start another window.
JOIN = 40
#: A valley in the coverage so deep, of 255, of more pixels than this, parts what is narrow; and how thick such a block counts.
VALLEY, NOTCH_PIXELS, PARTED = 30, 2, 128
#: Mm round the art that are looked at: its bounds are good to a part of this.
OUTSIDE = 0.3
_SQUARE, _FIVE = np.ones((3, 3), np.uint8), np.ones((5, 5), np.uint8)


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


def mark(
    target: np.ndarray,
    cover: np.ndarray,
    element: np.ndarray,
    side: int,
    inner: tuple[slice, slice],
    wanted: np.ndarray | None = None,
) -> None:
    """Note what an opening takes away beyond the grey fringe of one pixel, by blocks of side x side pixels.

    Args:
        target: uint8 blocks of the inner part: the `thickness_of` what is there, where more than before.
        cover: uint8 coverage of the inner part and what lies round it.
        element: what the opening passes.
        side: of the blocks.
        inner: rows and columns of the inner part.
        wanted: blocks of the inner part; pieces without any are skipped.
    """
    rows, columns = inner
    reach = element.shape[0] + 4
    for left in range(columns.start, columns.stop, CHUNK):
        right = min(left + CHUNK, columns.stop)
        if wanted is not None:
            first = (left - columns.start) // side
            if not wanted[:, first : first + CHUNK // side].any():
                continue
        start = max(0, left - reach)
        part = cover[:, start : right + reach]
        lowest, highest, _, _ = cv2.minMaxLoc(part)
        if highest < LEAST or lowest >= 254:
            continue
        core = cv2.threshold(part, 127, 255, cv2.THRESH_BINARY)[1]
        opened = cv2.morphologyEx(core, cv2.MORPH_OPEN, element, borderType=cv2.BORDER_REPLICATE)
        fringe = cv2.dilate(opened, _SQUARE)
        rest = cv2.subtract(cv2.threshold(part, LEAST - 1, 255, cv2.THRESH_BINARY)[1], fringe)
        if not cv2.countNonZero(rest):
            continue
        # the last pixels of a corner lie beyond the fringe, but they are faint, and few
        x, y, width, height = cv2.boundingRect(rest)
        here = np.s_[max(0, y - 1) : y + height + 1, max(0, x - 1) : x + width + 1]
        firm = cv2.threshold(part[here], FAINT - 1, 255, cv2.THRESH_BINARY)[1]
        faint = cv2.bitwise_and(rest[here], cv2.subtract(cv2.dilate(fringe[here], _SQUARE), firm))
        if cv2.countNonZero(faint):
            rest[here] = cv2.subtract(rest[here], cv2.bitwise_and(faint, _few(faint, CORNER_PIXELS)))
        rest = rest[rows, left - start : right - start]
        x, y, width, height = cv2.boundingRect(rest)
        if not width:
            continue
        # whole blocks
        x0, y0, x1, y1 = x // side, y // side, -(-(x + width) // side), -(-(y + height) // side)
        window = np.s_[y0 * side : y1 * side, x0 * side : x1 * side]
        found = thickness_of(part[rows, left - start : right - start][window], rest[window], side)
        column = (left - columns.start) // side + x0
        view = target[y0:y1, column : column + x1 - x0]
        np.maximum(view, found[: view.shape[0], : view.shape[1]], out=view)


def _few(mask: np.ndarray, most: int) -> np.ndarray:
    """Which pixels of a mask have no more than `most` of it near them: uint8 255; of other pixels it says nothing."""
    if cv2.countNonZero(mask) <= most:
        return mask
    company = cv2.boxFilter(
        cv2.bitwise_and(mask, 1), -1, (CORNER, CORNER), normalize=False, borderType=cv2.BORDER_CONSTANT
    )
    return cv2.threshold(company, most, 255, cv2.THRESH_BINARY_INV)[1]


def mark_parted(
    target: np.ndarray, cover: np.ndarray, side: int, inner: tuple[slice, slice], narrow: np.ndarray
) -> None:
    """Note the blocks where something narrow is parted lengthwise by a gap: a valley in its coverage.

    Beside a thin line a gap lies in the fringe of what is bare, and does not show by itself.

    Args:
        target: uint8 blocks of the inner part, set to PARTED where nothing is noted.
        cover: uint8 coverage of the inner part and what lies round it.
        side: of the blocks.
        inner: rows and columns of the inner part.
        narrow: blocks of the inner part that hold something narrow; others are left out.
    """
    x, y, width, height = cv2.boundingRect((narrow > 0).astype(np.uint8))
    if not width:
        return
    rows, columns = inner
    top, left = rows.start + y * side, columns.start + x * side
    first_row, first_column = max(0, top - CORNER), max(0, left - CORNER)
    part = cover[first_row : top + height * side + CORNER, first_column : left + width * side + CORNER]
    depth = cv2.morphologyEx(part, cv2.MORPH_BLACKHAT, _SQUARE)
    valley = cv2.threshold(depth, VALLEY - 1, 255, cv2.THRESH_BINARY)[1]
    if not cv2.countNonZero(valley):
        return
    valley = cv2.subtract(valley, _few(valley, NOTCH_PIXELS))  # the notch of a corner
    inside = valley[top - first_row :, left - first_column :][: height * side, : width * side]
    view = target[y : y + height, x : x + width]
    blocks = blocks_of(inside, side)[: view.shape[0], : view.shape[1]]
    view[(blocks > 0) & (narrow[y : y + height, x : x + width] > 0) & (view == 0)] = PARTED


def thickness_of(cover: np.ndarray, mask: np.ndarray, side: int) -> np.ndarray:
    """How thick what lies in each block of side x side pixels looks, uint8 1 (thin) to 255; 0 where there is nothing.

    A line w pixels wide touches about w + 1 pixels across, so their mean coverage is w / (w + 1), however it lies.
    Blocks with only a few pixels, as at a corner, count as thick.
    """
    held = _averaged(mask, side)
    thickness = cv2.max(cv2.divide(_averaged(cv2.bitwise_and(cover, mask), side), held, scale=255), 1)
    few = cv2.threshold(held, math.ceil(255 * FEW / side**2) - 1, 255, cv2.THRESH_BINARY_INV)[1]
    there = cv2.threshold(held, 0, 255, cv2.THRESH_BINARY)[1]
    return cv2.bitwise_and(cv2.bitwise_or(thickness, few), there)


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
    while side % 2 == 0:  # OpenCV halves four times as fast as it quarters
        side //= 2
        mask = cv2.resize(mask, (side * columns, side * rows), interpolation=cv2.INTER_AREA)
    return mask if side == 1 else cv2.resize(mask, (columns, rows), interpolation=cv2.INTER_AREA)


def look(art: Artwork) -> Coarse:
    """The quick look at every ink, taken once: its level 1, and what is narrow on level 0."""
    return art.once("widths.coarse", lambda: _look(art))


def look_for(art: Artwork, band: int) -> Coarse:
    """The same, with the blocks of this band; those of the first are `width_middle`'s."""
    coarse = look(art)
    if BANDS[band].level:
        art.once(("widths.coarse", band), lambda: _higher_band(art, coarse, band))
    return coarse


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
    _level_nought(art, coarse, width, height)
    return coarse


def _level_nought(art: Artwork, coarse: Coarse, width: int, height: int) -> None:
    """Level 1 as a whole, then strips of level 0 where level 1 shows an edge; fills the band of level 0."""
    density, side = coarse.density, BLOCK[0]
    element = disc(BANDS[NARROW].high * density)
    halo = (element.shape[0] + 4 + side - 1) // side * side
    shape = (-(-height // side), -(-width // side))
    edges: dict[int, np.ndarray] = {}
    held: dict[int, np.ndarray] = {}
    least = EDGE if art.composite else 0
    for ink in art.inks:
        small = Window(-PAD // STEP, -PAD // STEP, width // STEP, height // STEP)
        level = render(art, ink.number, small, density / STEP)
        coarse.levels[ink.number] = [level]
        edges[ink.number] = cv2.morphologyEx(level, cv2.MORPH_GRADIENT, _SQUARE) > least
        held[ink.number] = blocks_of(cv2.threshold(level, 63, 255, cv2.THRESH_BINARY)[1], side // STEP)
        coarse.lines[ink.number, NARROW] = np.zeros(shape, np.uint8)
        coarse.gaps[ink.number, NARROW] = np.zeros(shape, np.uint8)
    near = _near_two(held)
    coarse.between[NARROW] = np.zeros(shape, np.uint8)
    for top in range(0, height, STRIP):
        first, last = max(0, top - halo), min(height, top + STRIP + halo)
        rows = slice(top // side, (top + STRIP) // side)
        both = near is not None and bool(near[rows].any())
        union: np.ndarray | None = None
        for ink in art.inks:
            number = ink.number
            for start, stop in _runs(np.any(edges[number][first // STEP : -(-last // STEP)], axis=0), JOIN):
                left = max(0, (start * STEP - 2 * halo) // side * side)
                right = min(width, -(-(stop * STEP + 2 * halo) // side) * side)
                cover = render(
                    art, number, Window(left - PAD, top - halo - PAD, right - left, STRIP + 2 * halo), density
                )
                blocks = (rows, slice(left // side, -(-right // side)))
                inner = (slice(halo, halo + STRIP), slice(0, right - left))
                bare = cv2.bitwise_not(cover)
                lines, gaps = coarse.lines[number, NARROW][blocks], coarse.gaps[number, NARROW][blocks]
                mark(lines, cover, element, side, inner)
                mark(gaps, bare, element, side, inner)
                mark_parted(gaps, cover, side, inner, lines)
                mark_parted(lines, bare, side, inner, gaps)
                if both:
                    if union is None:
                        union = np.zeros((cover.shape[0], width), np.uint8)
                    part = union[:, left:right]
                    cv2.max(part, cover, dst=part)
        if union is not None and near is not None:
            inner = (slice(halo, halo + STRIP), slice(0, width))
            mark(coarse.between[NARROW][rows], cv2.bitwise_not(union), element, side, inner, near[rows])
    if near is not None:
        coarse.between[NARROW][~near] = 0
    _leave_out(art, coarse, NARROW)


def _runs(columns: Any, join: int) -> list[tuple[int, int]]:
    """Where a row of flags is set: (start, stop), with breaks up to `join` closed."""
    at = np.flatnonzero(columns)
    if not len(at):
        return []
    breaks = np.flatnonzero(np.diff(at) > join)
    starts = at[np.r_[0, breaks + 1]]
    stops = at[np.r_[breaks, len(at) - 1]] + 1
    return list(zip(starts.tolist(), stops.tolist(), strict=True))


def _near_two(held: dict[int, np.ndarray]) -> np.ndarray | None:
    """Blocks with two inks at hand, bool: gaps elsewhere are gaps of one ink.  None for one ink."""
    if len(held) < 2:
        return None
    near: np.ndarray | None = None
    for one in held.values():
        wide = cv2.dilate(one, _SQUARE)
        near = wide if near is None else cv2.add(near, wide)
    assert near is not None
    return near > 1


def _higher_band(art: Artwork, coarse: Coarse, band: int) -> bool:
    """The same in a level of the pyramid."""
    number = BANDS[band].level
    side, element = BLOCK[number], disc(BANDS[band].high * coarse.density_of(number))
    border = element.shape[0] + 4
    held: dict[int, np.ndarray] = {}
    union: np.ndarray | None = None

    def blocks(cover: np.ndarray, bare: bool, wanted: np.ndarray | None = None) -> np.ndarray:
        framed = cv2.copyMakeBorder(cover, border, border, border, border, cv2.BORDER_CONSTANT, value=0)
        if bare:
            framed = cv2.bitwise_not(framed)
        found = np.zeros((-(-cover.shape[0] // side), -(-cover.shape[1] // side)), np.uint8)
        inner = (slice(border, border + cover.shape[0]), slice(border, border + cover.shape[1]))
        mark(found, framed, element, side, inner, wanted)
        return found

    for ink in art.inks:
        levels = coarse.levels[ink.number]
        while len(levels) < number:
            last = levels[-1]
            levels.append(
                cv2.resize(last, (last.shape[1] // STEP, last.shape[0] // STEP), interpolation=cv2.INTER_AREA)
            )
        cover = levels[number - 1]
        coarse.lines[ink.number, band] = blocks(cover, False)
        coarse.gaps[ink.number, band] = blocks(cover, True)
        held[ink.number] = blocks_of(cv2.threshold(cover, 127, 255, cv2.THRESH_BINARY)[1], side)
        union = cover if union is None else cv2.max(union, cover)
    near = _near_two(held)
    if union is not None and near is not None:
        coarse.between[band] = np.where(near, blocks(union, True, near), 0).astype(np.uint8)
    _leave_out(art, coarse, band)
    return True


def _leave_out(art: Artwork, coarse: Coarse, band: int) -> None:
    """Forget the blocks of a band that lie wholly in continuous tone or outside the art, where crop marks are."""
    maps = [m for (_, own), m in [*coarse.lines.items(), *coarse.gaps.items()] if own == band]
    level = BANDS[band].level
    a_block = BLOCK[level] / coarse.density_of(level)
    first = math.floor((coarse.origin(level) - OUTSIDE) / a_block)
    right, bottom = (
        math.ceil((v + coarse.origin(level) + OUTSIDE) / a_block) for v in (art.width_mm, art.height_mm)
    )
    for blocks in [*maps, *([coarse.between[band]] if band in coarse.between else [])]:
        blocks[:first], blocks[bottom:] = 0, 0
        blocks[:, :first], blocks[:, right:] = 0, 0
        for box in tone_boxes(art):
            x0, y0 = (math.ceil((v + coarse.origin(level)) / a_block) for v in box[:2])
            x1, y1 = (math.floor((v + coarse.origin(level)) / a_block) for v in box[2:])
            blocks[max(0, y0) : max(0, y1), max(0, x0) : max(0, x1)] = 0
