"""Rows of shapes that may be lines of lettering, each on its likeliest baseline and the right way up."""

from __future__ import annotations

import functools
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import numpy as np
from scipy.spatial import cKDTree

from preflight.artwork import Artwork, Box, union
from preflight.measure.letter_chains import chains, short_rows, without_patterns
from preflight.measure.letter_contours import (
    filled_out,
    is_contour,
    is_filled,
    lies_apart,
    printed_letters,
    without_rims,
)
from preflight.measure.letter_corners import rows_of_squares
from preflight.measure.letter_features import features
from preflight.measure.letter_fine import fine_rows, fine_shapes
from preflight.measure.letter_frame import FEW, Fit, Frame, fit, fits, settled, uprightness
from preflight.measure.letter_heights import Heights, letter_heights
from preflight.measure.letter_marks import parted
from preflight.measure.letter_objects import Objects
from preflight.measure.letter_pieces import put_together
from preflight.measure.letter_portrait import Likeness, flipped, likelihoods, portrait, windows
from preflight.measure.letter_shapes import MOST_SHAPES, Shape, plate_shapes, resolution

#: So many rows of an art are looked at closely; more is texture.
MOST_ROWS = 300
#: A short row that reads less like any writing than this on its likeliest baseline is not tried on others.
_HOPELESS = 0.1
#: How much straight edges that stand upright or level speak for a baseline, against how well the row reads on it.
_UPRIGHT = 2.0
#: How much worse alignment of tops and feet, in heights, speaks against a baseline of three letters and more: the stems of
#: italics lean, and their baseline is not square to them.
_ALIGNED = 6.0
#: Three shapes stand on a bend of their own only if they read as letters there so well on average.
_BENT_LETTERS = 0.5
#: The second look is at plates with so few shapes that no sure line has, and at so many rows of each.
_MOST_FREE, _MOST_MORE = 40, 10
#: A row of the second look has to read at least so much like writing on its likeliest baseline.
_LEAST_MORE = 0.3
#: What is taller than the first against the line but reaches up less than the second is no letter of it.
_LETTER, _BELOW = 0.5, 0.15
#: Corners that meet lie so many pixels of the plate apart at most.
_CORNER_PIXELS = 2.5
#: So much bare ground round the art is looked at with it, mm, so that letters at its edge are whole.
_MARGIN_MM = 1.0


@dataclass(frozen=True, slots=True)
class Around:
    """What a row is seen with.

    Attributes:
        shapes: those of its plate.
        centres: of arcs it may be bent round.
        objects: how shapes were drawn.
        least: a row that reads less like writing than this on its likeliest baseline is not looked at.
    """

    shapes: Sequence[Shape] = ()
    centres: Sequence[np.ndarray] = ()
    objects: Objects | None = None
    least: float = 0.0


@dataclass(slots=True)
class Candidate:
    """A row of shapes, the right way up, with what speaks for its being lettering."""

    members: list[Shape]
    fit: Fit
    likeness: Likeness
    heights: Heights
    features: np.ndarray
    chances: np.ndarray | None = None
    aside: bool = False  # a contour round letters, an opening for them or in them: it gives way to the letters themselves
    again: bool = False  # found by a second look only, or among shapes that were sought once more
    box: Box = field(init=False)

    def __post_init__(self) -> None:
        self.box = union([shape.box for shape in self.members])

    @property
    def sure(self) -> float:
        """How likely it is writing of any kind."""
        assert self.chances is not None
        return 1.0 - float(self.chances[0])


@dataclass(slots=True)
class Look:
    """What was seen in an art: its candidates, and the shapes they were made of.

    Attributes:
        found: every row of shapes that might be lettering.
        crowded: some shapes were too many to be looked at.
        groups: the shapes of every plate that may be letters, covered ones and open ones apart.
        centres, objects: as of `Around`.
        filled: whether another ink fills an opening.
    """

    found: list[Candidate]
    crowded: bool
    groups: list[list[Shape]]
    centres: Sequence[np.ndarray]
    objects: Objects
    filled: Callable[[Shape], bool]


def candidates(art: Artwork) -> Look:
    """Every row of shapes in the art that might be lettering."""
    scale = resolution(art)
    window = (-_MARGIN_MM, -_MARGIN_MM, art.width_mm + _MARGIN_MM, art.height_mm + _MARGIN_MM)
    plates = [ink.number for ink in art.inks]
    live = _live_boxes(art)
    inked = art.coverage(None, window, scale)
    crowded = False
    groups: list[list[Shape]] = []
    fine: list[list[Shape]] = []
    for number in [*plates, None] if len(plates) > 1 else plates:
        coverage = inked if number is None else art.coverage(number, window, scale)
        shapes = plate_shapes(coverage, window[:2], scale, number)
        covered = without_rims([s for s in shapes if not s.is_open])
        groups.append(parted(art, covered, coverage, window, scale))
        groups.append(parted(art, [s for s in shapes if s.is_open], 255 - coverage, window, scale))
        for is_open, known in zip((False, True), groups[-2:], strict=True):
            fine.append(fine_shapes(coverage, window[:2], scale, number, is_open, known))
    pixel = 25.4 / art.plate_ppi if art.plate_ppi else 0.0
    rows: list[
        tuple[list[Shape], list[Shape], bool]
    ] = []  # with the shapes around, and whether it was sought once more
    everything: list[list[Shape]] = []
    for group, finer in zip(groups, fine, strict=True):
        kept = without_patterns([s for s in group if not _inside_live(s, live)])
        everything.append(kept)
        crowded |= len(kept) >= MOST_SHAPES
        own = _rows(kept)
        if kept and kept[0].ink is None and not art.composite:
            own = _in_several_inks(own, groups, 1 / scale)
        rows += [(row, kept, False) for row in own]
        if finer:
            finer = without_patterns([s for s in finer if not _inside_live(s, live)])
            rows += [(row, finer, True) for row in fine_rows(finer, group, scale)]
        rows += [(row, kept, True) for row in rows_of_squares(kept, max(_CORNER_PIXELS / scale, pixel))]
    rows += [
        (row, around, False)
        for row, around in _printed_in([row for row, *_ in rows], everything, 1.5 / scale)
    ]
    objects = Objects(art, [shape for group in groups for shape in group])
    rows.sort(key=lambda one: -len(one[0]))  # a stable order: the longest rows first
    crowded |= any(len(row) > 2 for row, *_ in rows[MOST_ROWS:])
    del rows[MOST_ROWS:]
    centres = _centres([row for row, *_ in rows], groups)
    filled = functools.lru_cache(None)(lambda s: is_filled(s, inked, window[:2], scale))
    look = Look([], crowded, everything, centres, objects, filled)
    for row, kept, again in rows:
        some = _told_apart(row, Around(kept, centres, objects, _LEAST_MORE if again else 0.0), filled)
        for one in some:
            one.again = again
        look.found += some
    return look


def second_look(look: Look, sure: Sequence[Candidate]) -> list[Candidate]:
    """Short rows besides those found, of shapes that no sure line has.

    A shape goes to the first row that takes it, which may be that of an icon beside a word, or of the line above.

    Args:
        look: the first look.
        sure: the lines of it that are sure.
    """
    taken = np.array([s.box for one in sure for s in one.members]).reshape(-1, 4)
    known = {frozenset(id(s) for s in one.members) for one in look.found}
    more: list[Candidate] = []
    for group in look.groups:
        if not group or group[0].ink is None:
            continue
        middles = np.array([s.centre for s in group])[:, None]
        within = np.all((middles >= taken[:, :2]) & (middles <= taken[:, 2:]), axis=2).any(1)
        free = [s for s, inside in zip(group, within, strict=True) if not inside]
        if len(free) > _MOST_FREE:
            continue
        for row in short_rows(free, known, _MOST_MORE):
            more += _told_apart(row, Around(group, look.centres, look.objects, _LEAST_MORE), look.filled)
    for one in more:
        one.again = True
    return more


def _own(one: Candidate) -> list[Shape]:
    """The members of a line less what is as tall as letters but stands off it: a letter of the line below or above."""
    tall = one.fit.levels[:, 1] - one.fit.levels[:, 0]
    off = (tall > _LETTER * one.fit.height) & (one.fit.levels[:, 1] - one.fit.base < _BELOW * one.fit.height)
    return [s for s, away in zip(one.members, off, strict=True) if not away]


def _rows(shapes: list[Shape]) -> list[list[Shape]]:
    """Chains, and the single shapes that may be whole words of connected writing."""
    rows = chains(shapes)
    in_rows = {id(s) for row in rows if len(row) > 3 for s in row}
    return rows + [[s] for s in shapes if id(s) not in in_rows and s.solidity < 0.72 and s.filled < 0.92]


def _in_several_inks(
    rows: list[list[Shape]], groups: Sequence[Sequence[Shape]], slack: float
) -> list[list[Shape]]:
    """Rows of all inks together, less those that one ink prints alone: these are looked at on its own plate.

    Args:
        rows: rows on the plate of all inks together.
        groups: the shapes of every plate.
        slack: mm by which the box of the same shape may differ from plate to plate.
    """
    alone = [s for group in groups for s in group if s.ink is not None]
    if not alone:
        return rows
    boxes = cKDTree(np.array([s.box for s in alone]))
    kept = []
    for row in rows:
        away, nearest = boxes.query(np.array([s.box for s in row]), p=np.inf)
        same = {(alone[i].ink, alone[i].is_open) for i in nearest}
        if away.max() > slack or same != {(next(iter(same))[0], row[0].is_open)}:
            kept.append(row)
    return kept


def _printed_in(
    rows: Sequence[list[Shape]], groups: Sequence[list[Shape]], slack: float
) -> list[tuple[list[Shape], list[Shape]]]:
    """Rows that one ink leaves open, as another prints them, where that ink's own shapes made no such row.

    Args:
        rows: of all plates.
        groups: the shapes of every plate, covered ones and open ones apart.
        slack: mm by which the box of the same shape may differ from plate to plate.

    Returns:
        such rows, each with the shapes of its plate.
    """
    known = {frozenset(id(s) for s in row) for row in rows}
    found = []
    for group in groups:
        if not group or group[0].is_open or group[0].ink is None:
            continue
        boxes = cKDTree(np.array([s.box for s in group]))
        for row in rows:
            if len(row) < 3 or not row[0].is_open or row[0].ink in (group[0].ink, None):
                continue
            away, nearest = boxes.query(np.array([s.box for s in row]), p=np.inf)
            same = frozenset(id(group[i]) for i in nearest)
            if away.max() <= slack and same not in known:
                known.add(same)
                found.append(([group[i] for i in nearest], group))
    return found


def _centres(rows: Sequence[Sequence[Shape]], groups: Sequence[Sequence[Shape]]) -> list[np.ndarray]:
    """Centres that short lines may be bent round: those of longer bent lines, and of rings and discs; four at most."""
    found = [(float(len(r)), one.frame.origin) for r in rows if len(r) >= 6 and (one := fit(r)).frame.arched]
    found += [
        (s.size, s.centre)
        for group in groups
        for s in group
        if s.size > 8 and abs(s.area / max(1 - s.openings, 1e-9) / (math.pi / 4 * s.size**2) - 1) < 0.03
    ]
    kept: list[np.ndarray] = []
    for _, centre in sorted(found, key=lambda one: -one[0]):
        if all(np.hypot(*(centre - other)) > 1.0 for other in kept):
            kept.append(centre)
    return kept[:4]


def _told_apart(row: list[Shape], around: Around, filled: Callable[[Shape], bool]) -> list[Candidate]:
    """A row as candidates: as it is, and as the letters that print where it is the outline or the inside of letters."""
    found = [one] if (one := candidate(row, around)) else []
    if found and 2 < len(own := _own(found[0])) < len(row):
        found = [one] if (one := candidate(own, around)) else []
    for one in found[:1]:
        in_one = put_together(one.members, one.fit, one.likeness.apart)
        if in_one and (whole := candidate(in_one, around)):
            one.aside = whole.likeness.letter.mean() > one.likeness.letter.mean()
            found.append(whole)
    if row[0].is_open:
        outside = printed_letters(row) if len(row) > 1 else None
        if np.mean([filled(s) for s in row]) > 0.5:
            for one in found:
                one.aside = True  # another ink prints these letters, and is measured on its own plate
        elif outside or lies_apart(row):
            for one in found:
                one.aside = True
            if outside and (whole := candidate(outside, around)):
                found.append(whole)
        return found
    if np.mean([is_contour(s, filled) for s in row]) > 0.5:
        for one in found:
            one.aside = True
    elif (whole_letters := filled_out(row)) and (whole := candidate(whole_letters, around)):
        found.append(whole)
    return found


def _live_boxes(art: Artwork) -> np.ndarray:
    """(n, 8): the box of every visible live glyph and that of its run, each a little enlarged."""
    rows = []
    for run in art.text:
        slack = 0.1 * run.em_mm * np.array([-1, -1, 1, 1])
        for glyph in run.glyphs if run.visible else ():
            if glyph.path is not None:
                rows.append(np.concatenate([glyph.path.box() + slack, run.box + slack]))
    return np.array(rows).reshape(-1, 8)


def _inside_live(shape: Shape, live: np.ndarray) -> bool:
    """Is the shape a piece of live text, which is measured from its glyphs?"""
    if not len(live):
        return False
    here = np.concatenate([shape.centre, shape.box[:2]])
    there = np.concatenate([shape.centre, shape.box[2:]])
    return bool(np.any(np.all(live[:, [0, 1, 4, 5]] <= here, 1) & np.all(live[:, [2, 3, 6, 7]] >= there, 1)))


def candidate(members: list[Shape], around: Around) -> Candidate | None:
    """A row on its likeliest baseline, the right way up, with its features; None where nothing in it could be a letter.

    Of a few letters the tops and feet alone do not tell how they are turned: then how well they read decides.
    """
    few = len(members) <= FEW
    more = fits(members, around.centres if few else ())
    ways = [next(more)]
    read = _read(members, ways)
    written = max(float(one.pieces[:, [0, 3, 4, 5]].sum(1).mean()) for one in read)
    if written < around.least:
        return None
    if few and written > _HOPELESS:
        others = list(more)
        ways += others
        read += _read(members, others) if others else []
    upright = [_upright(members, way.frame) for way in ways] if len(ways) > 1 else [0.0]
    best: tuple[float, Fit, Likeness] | None = None
    for number, way in enumerate(ways):
        aligned = (2.0 if len(members) < 3 else _ALIGNED) * (way.residual - ways[0].residual)
        penalty = aligned + 0.1 * (number > 0)
        for turned in (False, True):
            likeness = read[2 * number + turned]
            if len(members) == 3 and way.frame.arched and likeness.letter.mean() < _BENT_LETTERS:
                continue
            worth = _evidence(likeness, way, turned) - penalty + (_UPRIGHT * upright[number] if few else 0.0)
            if best is None or worth > best[0]:
                best = (worth, settled(members, way.frame.flipped()) if turned else way, likeness)
    assert best is not None
    _, first, likeness = best
    heights = letter_heights(members, first, likeness)
    if heights is None or not math.isfinite(heights.shortest):
        return None
    return Candidate(
        members, first, likeness, heights, features(members, first, likeness, around.shapes, around.objects)
    )


def _upright(members: Sequence[Shape], frame: Frame) -> float:
    """Share of the members' outlines that runs upright or level in a frame, 0 to 1."""
    found = [uprightness([frame.place(ring) for ring in shape.rings]) for shape in members]
    return sum(one[0] for one in found) / max(sum(one[1] for one in found), 1e-9)


def _read(members: Sequence[Shape], ways: Sequence[Fit]) -> list[Likeness]:
    """How a row reads on each of its baselines, each both ways up."""
    drawn = [_portraits(members, way.frame) for way in ways]
    drawn = [pair for one in drawn for pair in (one, (flipped(one[0]), flipped(one[1])))]
    sizes = np.cumsum([len(a) + len(b) for a, b in drawn])[:-1]
    chances = np.split(likelihoods(np.concatenate([p for pair in drawn for p in pair])), sizes)
    return [Likeness(*pair, some) for pair, some in zip(drawn, chances, strict=True)]


def _portraits(members: Sequence[Shape], frame: Frame) -> tuple[np.ndarray, np.ndarray]:
    """Portraits of the members; and of the pieces they are looked at in, windows along wide ones in place of these."""
    drawn, pieces = [], []
    for shape in members[:80]:
        step = max(1, len(shape.rings[0]) // (200 if len(members) > 2 else 600))
        rings = [frame.place(ring[::step]) for ring in shape.rings if len(ring) > 4]
        rings = rings or [frame.place(shape.rings[0])]
        drawn.append(portrait(rings))
        wide = windows(rings)
        pieces.append(wide if len(wide) else drawn[-1][None])
    drawn += drawn[-1:] * (len(members) - len(drawn))
    return np.array(drawn), np.concatenate(pieces)


def _evidence(likeness: Likeness, way: Fit, turned: bool) -> float:
    """How much speaks for a row being writing this way up.

    Its shapes read as letters, and each as one certain letter (mean logarithms of their likeness), rather than as letters
    upside down; they are capitals or small letters, not a mixture, but for the first one; feet are better aligned than
    tops; and hardly anybody writes upside down.
    """
    letters = float(np.log((likeness.apart + 0.02) / np.sqrt(likeness.others[:, 1] + 0.02)).mean())
    clear = float(np.log(likeness.clear + 0.02).mean())
    sides = []
    for side in way.levels.T:
        near = np.abs(side[:, None] - side[None]) < 0.08 * way.height
        sides.append(float(near.sum(1).max()) / len(side))
    feet, tops = sides if not turned else sides[::-1]
    steep = abs(float(way.frame.along[0])) < 0.5 or way.frame.arched
    worth = letters + 0.5 * clear + 0.5 * _one_case(likeness, way, turned) + 0.5 * (feet - tops)
    return worth - (0.1 if steep else 0.3) * turned


def _one_case(likeness: Likeness, way: Fit, turned: bool) -> float:
    """How surely all letters of a row are capitals, or all small ones, or small ones after a capital; 0 to 1."""

    def capital(some: np.ndarray) -> float:
        return float((likeness.capital[some] * likeness.letter[some]).sum()) / max(
            float(likeness.letter[some].sum()), 1e-9
        )

    order = np.argsort(way.spans.mean(1))[:: -1 if turned else 1]
    usual = abs(2 * capital(order) - 1)
    if len(order) < 3 or likeness.capital[order[0]] < 0.5:
        return usual
    return max(usual, 1 - 2 * capital(order[1:]))
