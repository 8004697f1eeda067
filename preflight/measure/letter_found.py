"""Lines of lettering found by their geometry, in outlined art and bitmaps alike."""

from __future__ import annotations

import functools
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from preflight.artwork import Artwork, union
from preflight.measure.letter_chains import chains, without_patterns
from preflight.measure.letter_contours import filled_out, is_contour, is_filled, lies_apart, printed_letters
from preflight.measure.letter_features import features
from preflight.measure.letter_frame import Fit, Frame, fit, fits, settled
from preflight.measure.letter_heights import Heights, letter_heights
from preflight.measure.letter_line import LIKELY, LetterLine
from preflight.measure.letter_marks import parted
from preflight.measure.letter_outline import nominal_stroke, serif_share, smallest_counter
from preflight.measure.letter_portrait import Likeness, Network, flipped, network, portrait
from preflight.measure.letter_shapes import MOST_SHAPES, Shape, plate_shapes, resolution

#: What a row of shapes can be; the first is not reported.
KINDS = ("none", "letters", "joined", "arabic", "cjk")
#: Rows less likely than this to be any writing are left out altogether; single shapes, which most pictures are made of,
#: less likely than the second.
FAINT, FAINT_SINGLE = 0.35, 0.45
#: So many rows of an art are looked at closely; more is texture.
MOST_ROWS = 300
_USUAL_ROWS = 50
#: So much bare ground round the art is looked at with it, mm, so that letters at its edge are whole.
_MARGIN_MM = 1.0


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

    @property
    def sure(self) -> float:
        """How likely it is writing of any kind."""
        assert self.chances is not None
        return 1.0 - float(self.chances[0])


def candidates(art: Artwork) -> tuple[list[Candidate], bool]:
    """Every row of shapes in the art that might be lettering; and whether some shapes were too many to be looked at."""
    scale = resolution(art)
    window = (-_MARGIN_MM, -_MARGIN_MM, art.width_mm + _MARGIN_MM, art.height_mm + _MARGIN_MM)
    plates = [ink.number for ink in art.inks]
    live = _live_boxes(art)
    inked = art.coverage(None, window, scale)
    found: list[Candidate] = []
    crowded = False
    groups: list[list[Shape]] = []
    for number in [*plates, None] if len(plates) > 1 else plates:
        coverage = inked if number is None else art.coverage(number, window, scale)
        shapes = plate_shapes(coverage, window[:2], scale, number)
        groups.append(parted(art, [s for s in shapes if not s.is_open], coverage, window, scale))
        groups.append([s for s in shapes if s.is_open])
    rows: list[tuple[list[Shape], list[Shape]]] = []
    for group in groups:
        kept = without_patterns([s for s in group if not _inside_live(s, live)])
        crowded |= len(kept) >= MOST_SHAPES
        rows += [(row, kept) for row in _rows(kept)]
    rows.sort(key=lambda one: -len(one[0]))  # a stable order: the longest rows first
    crowded |= any(len(row) > 2 for row, _ in rows[MOST_ROWS:])
    del rows[MOST_ROWS:]
    centres = _centres([row for row, _ in rows], groups)
    filled = functools.lru_cache(None)(lambda s: is_filled(s, inked, window[:2], scale))
    for row, kept in rows:
        found += _told_apart(row, kept, centres, filled)
    return found, crowded


def _rows(shapes: list[Shape]) -> list[list[Shape]]:
    """Chains, and the single shapes that may be whole words of connected writing."""
    rows = chains(shapes)
    in_rows = {id(s) for row in rows if len(row) > 3 for s in row}
    return rows + [[s] for s in shapes if id(s) not in in_rows and s.solidity < 0.72 and s.filled < 0.92]


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


def _told_apart(
    row: list[Shape], shapes: list[Shape], centres: Sequence[np.ndarray], filled: Callable[[Shape], bool]
) -> list[Candidate]:
    """A row as candidates: as it is, and as the letters that print where it is the outline or the inside of letters."""
    found = [one] if (one := candidate(row, shapes, centres)) else []
    if row[0].is_open:
        outside = printed_letters(row) if len(row) > 1 else None
        if np.mean([filled(s) for s in row]) > 0.5:
            for one in found:
                one.aside = True  # another ink prints these letters, and is measured on its own plate
        elif outside or lies_apart(row):
            for one in found:
                one.aside = True
            if outside and (whole := candidate(outside, shapes, centres)):
                found.append(whole)
        return found
    if np.mean([is_contour(s, filled) for s in row]) > 0.5:
        for one in found:
            one.aside = True
    elif (whole_letters := filled_out(row)) and (whole := candidate(whole_letters, shapes, centres)):
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


def candidate(
    members: list[Shape], around: Sequence[Shape] = (), centres: Sequence[np.ndarray] = ()
) -> Candidate | None:
    """A row on its likeliest baseline, the right way up, with its features; None where nothing in it could be a letter.

    Of a few letters the tops and feet alone do not tell how they are turned: then how well they read decides.
    """
    few = len(members) <= 6
    ways = fits(members, centres if few else ())[: 4 if few else 1]
    best: tuple[float, Fit, Likeness] | None = None
    for number, way in enumerate(ways):
        portraits = _portraits(members, way.frame)
        penalty = 2.0 * (way.residual - ways[0].residual) + 0.1 * (number > 0)
        for turned in (False, True):
            likeness = Likeness(flipped(portraits) if turned else portraits)
            worth = _evidence(likeness, way, turned) - penalty
            if best is None or worth > best[0]:
                best = (worth, settled(members, way.frame.flipped()) if turned else way, likeness)
    assert best is not None
    _, first, upright = best
    heights = letter_heights(first, upright)
    if heights is None or not math.isfinite(heights.shortest):
        return None
    return Candidate(members, first, upright, heights, features(members, first, upright, around))


def _portraits(members: Sequence[Shape], frame: Frame) -> np.ndarray:
    drawn = []
    for shape in members[:80]:
        step = max(1, len(shape.rings[0]) // 200)
        rings = [frame.place(ring[::step]) for ring in shape.rings if len(ring) > 4]
        drawn.append(portrait(rings or [frame.place(shape.rings[0])]))
    drawn += drawn[-1:] * (len(members) - len(drawn))
    return np.array(drawn)


def _evidence(likeness: Likeness, way: Fit, turned: bool) -> float:
    """How much speaks for a row being writing this way up.

    Its shapes read as letters, and each as one certain letter (mean logarithms of their likeness), rather than as letters
    upside down; they are capitals or small letters, not a mixture; feet are better aligned than tops; and hardly anybody
    writes upside down.
    """
    letters = float(np.log((likeness.letter + 0.02) / np.sqrt(likeness.others[:, 1] + 0.02)).mean())
    clear = float(np.log(likeness.clear + 0.02).mean())
    capital = float((likeness.capital * likeness.letter).sum() / max(float(likeness.letter.sum()), 1e-9))
    sides = []
    for side in way.levels.T:
        near = np.abs(side[:, None] - side[None]) < 0.08 * way.height
        sides.append(float(near.sum(1).max()) / len(side))
    feet, tops = sides if not turned else sides[::-1]
    steep = abs(float(way.frame.along[0])) < 0.5 or way.frame.arched
    worth = letters + 0.5 * clear + 0.5 * abs(2 * capital - 1) + 0.5 * (feet - tops)
    return worth - (0.1 if steep else 0.3) * turned


@functools.cache
def _judge() -> Network:
    return network("line")


def judged(found: list[Candidate]) -> list[Candidate]:
    """The candidates with their chances of being each of KINDS.

    The more rows an art has, the more of them look like lettering by chance: the odds of none grow with their number.
    """
    if found:
        odds = max(1.0, len(found) / _USUAL_ROWS)
        for one, chances in zip(found, _judge()(np.array([c.features for c in found])), strict=True):
            chances[0] *= odds
            one.chances = chances / chances.sum()
    return found


def chosen(found: list[Candidate]) -> list[Candidate]:
    """Of candidates that share a place the likeliest; what is faint is left out."""
    ranked = sorted(
        (c for c in found if c.sure >= (FAINT if len(c.members) > 1 else FAINT_SINGLE)),
        key=lambda c: -_rank(c),
    )
    kept: list[Candidate] = []
    for one in ranked:
        if not any(_same_place(one, other) for other in kept):
            kept.append(one)
    return kept


def _rank(one: Candidate) -> float:
    """Which of several rows in one place is the lettering: the surer, longer, taller; letters before connected writing."""
    assert one.chances is not None
    rank = one.sure * math.sqrt(len(one.members) * one.fit.height)
    if int(np.argmax(one.chances[1:])) > 0:
        rank *= 0.5
    if one.aside:
        rank *= 0.4
    if one.members[0].ink is None:
        rank *= 0.6  # all inks together: for words whose letters are in several inks
    return rank


def _same_place(one: Candidate, other: Candidate) -> bool:
    """Do most shapes of the smaller lie in those of the other, or the other way round?"""
    return _covered(one, other) > 0.5 or _covered(other, one) > 0.5


def _covered(one: Candidate, by: Candidate) -> float:
    boxes = np.array([s.box for s in by.members])
    slack = 0.05 * by.fit.height
    centres = np.array([s.centre for s in one.members])[:, None]
    above = np.all(centres >= boxes[None, :, :2] - slack, axis=2)
    inside = above & np.all(centres <= boxes[None, :, 2:] + slack, axis=2)
    return float(np.any(inside, axis=1).mean())


def found_lines(art: Artwork) -> tuple[list[LetterLine], bool]:
    """The lines of lettering and lettering-like rows of an art; and whether there was too much in it to look at all."""
    found, crowded = candidates(art)
    scale = resolution(art)
    return [_line(art, one, scale) for one in chosen(judged(found))], crowded


def _line(art: Artwork, one: Candidate, scale: float) -> LetterLine:
    assert one.chances is not None
    kind = KINDS[1 + int(np.argmax(one.chances[1:]))]
    heights, members = one.heights, one.members
    letters = [i for i in np.flatnonzero(heights.counts)]
    placed = [[one.fit.frame.place(r) - (0, one.fit.base) for r in members[i].rings] for i in letters[:60]]
    if one.sure < LIKELY:
        placed = []
    vector = not art.composite
    pixel = 25.4 / art.plate_ppi if art.plate_ppi else 0.0
    return LetterLine(
        shortest=heights.shortest,
        cap=heights.cap,
        x_height=heights.x_height,
        stroke=nominal_stroke(placed, one.fit.height),
        counter=smallest_counter(placed, one.fit.height),
        serif=serif_share(placed) >= 0.4,
        box=union([s.box for s in members]),
        small=members[heights.lowest].box,
        letters=tuple(members[i].box for i in letters),
        script="" if kind == "letters" else kind,
        kind="joined" if kind == "joined" else "arched" if one.fit.frame.arched else "straight",
        knocked_out=_knocked_out(art, members, scale),
        ink=members[0].ink,
        sure=one.sure,
        margin=0.05 if vector else 0.10,
        least_margin=pixel,
    )


def _knocked_out(art: Artwork, members: Sequence[Shape], scale: float) -> bool:
    """Are the letters open to the ground, not filled with another ink?"""
    if not members[0].is_open:
        return False
    outlines = [m.around for m in members if m.around is not None]
    if outlines and np.median([o.stroke for o in outlines]) < 0.6 * np.median([m.stroke for m in members]):
        return False  # the inside of letters drawn as outlines that touch
    if len(art.inks) < 2:
        return True
    box = union([s.box for s in members])
    union_of_inks = art.coverage(None, box, scale)
    inside = []
    for shape in members:
        points = shape.rings[0][:: max(1, len(shape.rings[0]) // 24)]
        nearer = points + 0.25 * min(shape.stroke, 1.0) * _inward(shape, points)
        at = ((nearer - box[:2]) * scale).astype(int)
        rows, columns = union_of_inks.shape
        at = at[(at >= 0).all(1) & (at[:, 0] < columns) & (at[:, 1] < rows)]
        inside += [union_of_inks[y, x] < 128 for x, y in at]
    return bool(np.mean(inside) > 0.5) if inside else True


def _inward(shape: Shape, points: np.ndarray) -> np.ndarray:
    """Unit normals into the shape at points that follow its outline."""
    ahead, behind = np.roll(points, -1, 0), np.roll(points, 1, 0)
    step = ahead - behind
    normal = np.stack([-step[:, 1], step[:, 0]], 1) / np.maximum(np.hypot(*step.T), 1e-9)[:, None]
    x, y = points[:, 0], points[:, 1]
    turned = np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1))
    return normal if turned > 0 else -normal
