"""Lines of lettering found by their geometry, in outlined art and bitmaps alike."""

from __future__ import annotations

import functools
import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from preflight.artwork import Artwork, union
from preflight.measure.letter_candidates import Candidate, candidates, second_look
from preflight.measure.letter_features import FEATURES
from preflight.measure.letter_line import CERTAIN, LIKELY, LetterLine
from preflight.measure.letter_outline import nominal_stroke, serif_share, smallest_counter
from preflight.measure.letter_portrait import Panel, panel
from preflight.measure.letter_shapes import Shape, resolution
from preflight.measure.rings import signed_area

#: What a row of shapes can be; the first is not reported.
KINDS = ("none", "letters", "joined", "arabic", "cjk")
#: Rows less likely than this to be any writing are left out altogether; single shapes, which most pictures are made of,
#: less likely than the second; and rows of letters less likely than the third, from which on they are measured.  Two icons
#: look like two letters sooner than a word does: pairs have to be likelier.
FAINT, FAINT_SINGLE, FAINT_LETTERS, FAINT_PAIR = 0.45, 0.55, LIKELY, 0.65
#: The same of the second look, which throws the dice again: of rows that cannot be measured, of pairs, of longer rows.
FAINT_AGAIN, FAINT_PAIR_AGAIN, FAINT_LETTERS_AGAIN = 0.85, 0.9, 0.7
#: Odds of none are so much less for a row of letters: a letter missed is worse than a row of icons measured.
_LETTERS_MISSED = 0.6
#: Writing that cannot be measured is named from this likelihood on, all its kinds together; a single shape from this of one.
_CLEAR, _CLEAR_SINGLE = 0.5, 0.4
#: A row that is so surely writing is asked about whatever it is.
_SURELY_WRITING = 0.8
#: A row is measured as letters from this share of its likelihood of being writing on.
_SURELY_LETTERS = 0.45
#: From this share on where the rest is joined writing most of all: its pieces are about as tall as its letters.
_SURELY_OR_JOINED = 0.33
#: So are four shapes and more from the first share on, if letters are so many times likelier than each other writing.
_RATHER_LETTERS, _CLEARLY = 0.33, 1.25
#: Three and more shapes are no letters from this likelihood of other writing on.
_SURELY_OTHER = 0.7
#: Where so many neighbours touch that were drawn apart, a row is connected writing from this share of its likelihood on.
_TOUCH, _PERHAPS_JOINED = 0.4, 0.12
_TOUCHING = FEATURES.index("touching")
_RUNS = FEATURES.index("runs across"), FEATURES.index("runs along")
#: Beside certain lettering rows of so few shapes are asked about from this likelihood of being writing on, or of one kind.
_FEW_SHAPES, _WRITING_BESIDE, _KIND_BESIDE = 3, 0.9, 0.8
#: And measured as letters from this one on.
_LETTERS_BESIDE = 0.8
#: Unless they are set with it: parallel but for so much of a turn, under or over it by so many of its heights, and centred on it
#: or flush with it to so many.  Then as much as any row of letters needs will do, whatever writing they are.
_PARALLEL, _LEADING, _CENTRED = math.sin(math.radians(2)), (0.2, 1.5), 0.1
#: Feet that lie so far off their baseline, in heights, are those of a line that was laid askew; how much less it ranks then.
_UNEVEN, _ASKEW = 0.05, 4.0
#: An art of so many rows has them all for a reason; from there on more of them look like lettering by chance.
_USUAL_ROWS = 50


@functools.cache
def _judge() -> Panel:
    return panel("line")


def judged(found: list[Candidate]) -> list[Candidate]:
    """The candidates with their chances of being each of KINDS.

    The more rows an art has, the more of them look like lettering by chance: the odds of none grow with their number.
    """
    if found:
        odds = max(1.0, len(found) / _USUAL_ROWS)
        for one, chances in zip(found, _judge()(np.array([c.features for c in found])), strict=True):
            rather = chances[1] >= _SURELY_LETTERS * chances[1:].sum() and len(one.members) > 1
            chances[0] *= odds * (_LETTERS_MISSED if rather else 1.0)
            one.chances = chances / chances.sum()
    return found


def chosen(found: list[Candidate]) -> list[Candidate]:
    """Of candidates that share a place the likeliest; what is faint is left out."""
    lines = [c for c in found if _lettering(c) and len(c.members) > _FEW_SHAPES]
    words = {id(c) for c in found if _is_word_set_with(c, lines)}
    likely = [c for c in found if c.sure >= _faint(c) or id(c) in words]
    ranked = sorted(
        (
            c
            for c in likely
            if _may_be_its_kind(c) and not (lines and _stands_beside(c) and id(c) not in words)
        ),
        key=lambda c: -_rank(c),
    )
    surely = [c for c in likely if c.members[0].ink is not None and not c.aside and _lettering(c)]
    unruled = [c for c in likely if c.sure >= CERTAIN and len(c.members) > 3 and kind_of(c) != "letters"]
    ranked = [c for c in ranked if not any(_part_of(c, whole) for whole in unruled)]
    kept: list[Candidate] = []
    for one in ranked:
        if one.members[0].ink is None and _printed_in_one_ink(one, surely):
            continue
        if not any(_same_place(one, other) for other in kept):
            kept.append(one)
    return kept


def _lettering(one: Candidate) -> bool:
    return one.sure >= CERTAIN and kind_of(one) == "letters"


def _part_of(one: Candidate, whole: Candidate) -> bool:
    """Are two shapes, or a third of a row at most, a part of other writing sooner than a word that stands apart?"""
    few = len(one.members) == 2 or 3 * len(one.members) <= len(whole.members)
    # a row of a second look may have got one more letter than the first saw
    return few and kind_of(one) == "letters" and _covered(one, whole) >= (0.5 if one.again else 1.0)


def _is_word_set_with(one: Candidate, lines: Sequence[Candidate]) -> bool:
    """Are a few shapes a word in a block of lines: parallel to certain lettering, close to it, centred on it or flush with it?"""
    if not 1 < len(one.members) <= _FEW_SHAPES or one.sure < FAINT_LETTERS or one.fit.frame.arched:
        return False
    return any(_is_set_with(one, line) for line in lines)


def _is_set_with(one: Candidate, line: Candidate) -> bool:
    along, by = one.fit.frame.along, line.fit.frame.along
    if line.fit.frame.arched or abs(float(along[0] * by[1] - along[1] * by[0])) > _PARALLEL:
        return False
    placed = line.fit.frame.place(np.vstack([shape.hull for shape in one.members]))
    (left, low), (right, high) = placed.min(0), placed.max(0)
    first, last = float(line.fit.spans.min()), float(line.fit.spans.max())
    height = line.fit.height
    apart = max(low - float(line.fit.levels.max()), float(line.fit.levels.min()) - high) / height
    off = min(abs(left + right - first - last) / 2, abs(left - first), abs(right - last)) / height
    return bool(_LEADING[0] <= apart <= _LEADING[1] and off <= _CENTRED)


def _stands_beside(one: Candidate) -> bool:
    """Are a few shapes beside certain lettering an ornament sooner than a word, or one of another script, which they may be?"""
    assert one.chances is not None
    if len(one.members) > _FEW_SHAPES:
        return False
    if kind_of(one) == "letters":
        return one.sure < _LETTERS_BESIDE
    surely = one.sure >= _WRITING_BESIDE and not one.again
    return not surely and float(one.chances[2:].max()) < _KIND_BESIDE


def _printed_in_one_ink(one: Candidate, lines: Sequence[Candidate]) -> bool:
    """Are nearly all shapes of a row of all inks together those of lines that one ink prints, as with a shadow?"""
    boxes = np.array([s.box for line in lines for s in line.members]).reshape(-1, 4)
    centres = np.array([s.centre for s in one.members])[:, None]
    inside = np.all((centres >= boxes[:, :2]) & (centres <= boxes[:, 2:]), axis=2).any(1)
    return float(inside.mean()) > 0.9


def _faint(one: Candidate) -> float:
    """How likely a row has to be writing to be looked at."""
    pair = len(one.members) == 2
    if len(one.members) == 1:
        return FAINT_SINGLE if not one.again else FAINT_AGAIN
    if kind_of(one) != "letters":
        return FAINT if not one.again else FAINT_AGAIN
    if one.again:
        return FAINT_PAIR_AGAIN if pair else FAINT_LETTERS_AGAIN
    return FAINT_PAIR if pair else FAINT_LETTERS


def kind_of(one: Candidate) -> str:
    """What writing a row is, of KINDS; letters only if that is likely against all others together.

    Taking Han or Arabic for Latin would fail or pass it on a height that means nothing; a person is asked instead.
    """
    assert one.chances is not None
    written = 1.0 - one.chances[0]
    if one.features[_TOUCHING] > _TOUCH and one.chances[2] > _PERHAPS_JOINED * written:
        return "joined"
    if one.chances[1] >= _SURELY_LETTERS * written:
        return "letters"
    if one.chances[1] >= _SURELY_OR_JOINED * written and int(np.argmax(one.chances[2:])) == 0:
        return "letters"
    rather = one.chances[1] >= max(_RATHER_LETTERS * written, _CLEARLY * float(one.chances[2:].max()))
    if rather and len(one.members) > _FEW_SHAPES:
        return "letters"
    return KINDS[2 + int(np.argmax(one.chances[2:]))]


def _may_be_its_kind(one: Candidate) -> bool:
    """Is a row that is no row of letters, nor likeliest to be one, clearly other writing?  A person is asked about nothing less.

    A single shape has to be clearly of one kind: what is a little like each of several scripts is an ornament.  And a few
    plain strokes that a straight line crosses once only are whiskers or pennants, not connected writing or Han.
    """
    assert one.chances is not None
    kind = kind_of(one)
    if kind == "letters" or one.chances[1] >= one.chances[2:].max():
        return True
    if len(one.members) == 1:
        clear = one.chances[KINDS.index(kind)] >= _CLEAR_SINGLE
    else:
        clear = one.chances[2:].sum() >= _CLEAR or one.sure >= _SURELY_WRITING
        clear |= (
            one.chances[2] >= _CLEAR_SINGLE
        )  # a capital that stands apart before one piece of connected writing
    plain = len(one.members) <= 4 and max(one.features[_RUNS[0]], one.features[_RUNS[1]]) <= 1.05
    return bool(clear) and not (plain and kind in ("joined", "cjk"))


def _rank(one: Candidate) -> float:
    """Which of several rows in one place is the lettering: the surer, longer, taller; letters before connected writing."""
    assert one.chances is not None
    read = len(one.members) * (0.15 + float(one.likeness.letter.mean()))
    rank = one.sure * math.sqrt(read * one.fit.height)
    rank *= max(0.5, 1 - _ASKEW * max(0.0, one.fit.residual - _UNEVEN))
    if kind_of(one) == "joined":
        rank *= 0.5
    if one.aside:
        rank *= 0.4
    if one.members[0].ink is None:
        rank *= 0.6  # all inks together: for words whose letters are in several inks
    return rank


def _same_place(one: Candidate, other: Candidate) -> bool:
    """Do most shapes of the smaller lie in those of the other, or the other way round?"""
    slack = 0.05 * max(one.fit.height, other.fit.height)
    a, b = one.box, other.box
    if a[0] > b[2] + slack or b[0] > a[2] + slack or a[1] > b[3] + slack or b[1] > a[3] + slack:
        return False
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
    found, crowded = rows_of(art)
    scale = resolution(art)
    kept = chosen(found)
    if art.composite:
        kept = [_steadied(one, found) for one in kept]
    return [_line(art, one, scale) for one in kept], crowded


def rows_of(art: Artwork) -> tuple[list[Candidate], bool]:
    """Every row of an art that might be lettering, judged; and whether there was too much in it to look at all."""
    look = candidates(art)
    judged(look.found)
    more = second_look(look, [c for c in look.found if _settled(c)])
    return judged(look.found + more) if more else look.found, look.crowded


def _settled(one: Candidate) -> bool:
    """Is it so sure what a row is that its shapes need not be looked at again?"""
    assert one.chances is not None
    clear = kind_of(one) == "letters" or float(one.chances[2:].sum()) >= _SURELY_OTHER
    clear |= one.features[_TOUCHING] > _TOUCH
    return bool(clear) and len(one.members) > 2 and one.sure >= CERTAIN and one.fit.residual < _UNEVEN


def _steadied(one: Candidate, found: Sequence[Candidate]) -> Candidate:
    """A row of a bitmap with the heights it has in all inks together, where these are nearly the same.

    Between two colours lie pixels of mixtures, which may look like a third: the edge of all inks together has none of it.
    """
    if one.members[0].ink is None or one.members[0].is_open:
        return one
    for other in found:
        alike = 0.95 < other.heights.shortest / one.heights.shortest < 1.12
        whole = other.members[0].ink is None and not other.members[0].is_open
        surely = other.sure > 0.8 * one.sure and len(other.members) == len(one.members)
        if alike and whole and surely and _same_place(one, other) and not _shifted(one, other):
            heights = replace(other.heights, counts=one.heights.counts, lowest=one.heights.lowest)
            return replace(one, heights=heights)
    return one


def _shifted(one: Candidate, other: Candidate) -> bool:
    """Do the letters of two rows lie off each other to one side, as with a shadow?  A rim lies all round."""
    own, others = (np.array([s.centre for s in c.members]) for c in (one, other))
    nearest = np.argmin(np.hypot(*(own[:, None] - others[None]).transpose(2, 0, 1)), axis=1)
    return float(np.hypot(*np.median(others[nearest] - own, axis=0))) > 0.02 * one.fit.height


def _line(art: Artwork, one: Candidate, scale: float) -> LetterLine:
    assert one.chances is not None
    kind = kind_of(one)
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
    return normal if signed_area(points) > 0 else -normal
