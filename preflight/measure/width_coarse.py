"""Where something narrow may be: a quick look at the whole art, ink by ink, that gives small blocks worth a fine look.

A small picture of each ink shows where its edges are: only there is it rendered larger, in strips.  What is wider is looked for
in the small picture.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass, field

import cv2
import numpy as np

from preflight.artwork import Artwork
from preflight.measure.width_blocks import blocks_of, disc, mark, mark_parted
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
#: Empty pixels round the art at level 0, a multiple of STEP**3.
PAD = 64
#: More coarse pixels than this over all inks and a coarser look has to do.
MOST_COARSE = 400_000_000
#: Neighbours at level 1 that differ by more than this, of 255, show an edge.
EDGE = 2
#: Level 1 pixels without an edge that are rendered all the same, rather than start another window.
JOIN = 40
#: Mm round the art that are looked at: its bounds are good to a part of this.
OUTSIDE = 0.3
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
        steps = cv2.morphologyEx(level, cv2.MORPH_GRADIENT, _SQUARE)
        edges[ink.number] = cv2.threshold(steps, least, 255, cv2.THRESH_BINARY)[1]
        held[ink.number] = blocks_of(cv2.threshold(level, 63, 255, cv2.THRESH_BINARY)[1], side // STEP)
        coarse.lines[ink.number, NARROW] = np.zeros(shape, np.uint8)
        coarse.gaps[ink.number, NARROW] = np.zeros(shape, np.uint8)
    near = _near_two(held)
    solid = _solid(coarse) if near is not None else np.empty(0)
    coarse.between[NARROW] = np.zeros(shape, np.uint8)
    for top in range(0, height, STRIP):
        strip = slice(top // side, (top + STRIP) // side)
        both = near is not None and bool(near[strip].any())
        union: np.ndarray | None = None
        for ink in art.inks:
            number = ink.number
            for rows, columns in _parts(edges[number], top, halo):
                place = Window(
                    columns.start - PAD,
                    rows.start - PAD,
                    columns.stop - columns.start,
                    rows.stop - rows.start,
                )
                cover = render(art, number, place, density)
                own = slice(max(rows.start, top), min(rows.stop, top + STRIP))
                blocks = np.s_[
                    own.start // side : own.stop // side, columns.start // side : columns.stop // side
                ]
                inner = (slice(own.start - rows.start, own.stop - rows.start), slice(0, place.width))
                bare = cv2.bitwise_not(cover)
                lines, gaps = coarse.lines[number, NARROW][blocks], coarse.gaps[number, NARROW][blocks]
                mark(lines, cover, element, side, inner)
                mark(gaps, bare, element, side, inner)
                mark_parted(gaps, cover, side, inner, lines)
                mark_parted(lines, bare, side, inner, gaps)
                if both:
                    if union is None:
                        union = _solid_rows(solid, top - halo, STRIP + 2 * halo)
                    part = union[rows.start - top + halo : rows.stop - top + halo, columns]
                    cv2.max(part, cover, dst=part)
        if union is not None and near is not None:
            inner = (slice(halo, halo + STRIP), slice(0, width))
            mark(coarse.between[NARROW][strip], cv2.bitwise_not(union), element, side, inner, near[strip])
    if near is not None:
        coarse.between[NARROW][~near] = 0
    _leave_out(art, coarse, NARROW)


def _parts(edges: np.ndarray, top: int, halo: int) -> Iterator[tuple[slice, slice]]:
    """Rows and columns of level 0 that are worth rendering in the strip from `top` on: where it has edges, and round them.

    Args:
        edges: uint8, where level 1 has any.
        top: of the strip, pixels of level 0.
        halo: pixels round it that are rendered too.
    """
    first = max(0, top - halo)
    held = edges[first // STEP : -(-(top + STRIP + halo) // STEP)]
    for start, stop in _runs(held.max(axis=0), JOIN):
        _, above, _, high = cv2.boundingRect(held[:, start:stop])
        upper, lower = first + above * STEP - 2 * halo, first + (above + high) * STEP + 2 * halo
        yield (
            slice(max(top - halo, upper), min(top + STRIP + halo, lower)),
            slice(max(0, start * STEP - 2 * halo), min(STEP * edges.shape[1], stop * STEP + 2 * halo)),
        )


def _runs(flags: np.ndarray, join: int) -> list[tuple[int, int]]:
    """Where a row of flags is set: (start, stop), with breaks up to `join` closed."""
    at = np.flatnonzero(flags)
    if not len(at):
        return []
    breaks = np.flatnonzero(at[1:] - at[:-1] > join)
    starts = [int(at[0]), *at[breaks + 1].tolist()]
    stops = [*(at[breaks] + 1).tolist(), int(at[-1]) + 1]
    return list(zip(starts, stops, strict=True))


def _solid(coarse: Coarse) -> np.ndarray:
    """Level 1 pixels that some ink covers wholly, uint8 255: where they have no edge they are not rendered again."""
    most = None
    for level, *_ in coarse.levels.values():
        most = level if most is None else cv2.max(most, level)
    return cv2.threshold(most, 254, 255, cv2.THRESH_BINARY)[1]


def _solid_rows(solid: np.ndarray, top: int, rows: int) -> np.ndarray:
    """The same of so many rows of level 0 from `top` on, as large as there; bare beyond the picture."""
    above = max(0, -top)
    held = solid[(top + above) // STEP : (top + rows) // STEP]
    found = np.zeros((rows, STEP * solid.shape[1]), np.uint8)
    if len(held):
        large = cv2.resize(held, None, fx=STEP, fy=STEP, interpolation=cv2.INTER_NEAREST)
        found[above : above + len(large)] = large
    return found


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
