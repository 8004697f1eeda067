"""Lines of lettering found by their geometry, in outlined art and bitmaps alike."""

from __future__ import annotations

import functools
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from preflight.artwork import Artwork, union
from preflight.measure.letter_chains import chains, without_patterns
from preflight.measure.letter_contours import body_in, is_filled, printed_letters
from preflight.measure.letter_frame import Fit, Frame, fit, settled
from preflight.measure.letter_heights import Heights, letter_heights
from preflight.measure.letter_line import LIKELY, LetterLine
from preflight.measure.letter_marks import parted
from preflight.measure.letter_outline import nominal_stroke, serif_share, smallest_counter
from preflight.measure.letter_portrait import Likeness, Network, flipped, network, portrait
from preflight.measure.letter_shapes import MOST_SHAPES, Shape, plate_shapes, resolution

#: What a row of shapes can be; the first is not reported.
KINDS = ("none", "letters", "joined", "arabic", "cjk")
#: Rows less likely than this to be any writing are left out altogether.
FAINT = 0.30
_MARGIN_MM = (
    1.0  # plates are looked at with so much bare ground round the art, so that letters at its edge are whole
)


@dataclass(slots=True)
class Candidate:
    """A row of shapes, the right way up, with what speaks for its being lettering."""

    members: list[Shape]
    fit: Fit
    likeness: Likeness
    heights: Heights
    features: np.ndarray
    chances: np.ndarray | None = None
    contour: bool = False  # drawn round letters of another ink, or left open for them

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
    for number in [*plates, None] if len(plates) > 1 else plates:
        coverage = inked if number is None else art.coverage(number, window, scale)
        shapes = plate_shapes(coverage, window[:2], scale, number)
        covered = parted(art, [s for s in shapes if not s.is_open], coverage, window, scale)
        for group in (covered, [s for s in shapes if s.is_open]):
            kept = without_patterns([s for s in group if not _inside_live(s, live)])
            crowded |= len(kept) >= MOST_SHAPES
            for row in _rows(kept):
                found += _told_apart(row, kept, lambda s: is_filled(s, inked, window[:2], scale))
    return found, crowded


def _rows(shapes: list[Shape]) -> list[list[Shape]]:
    """Chains, and the single shapes that may be whole words of connected writing."""
    rows = chains(shapes)
    in_rows = {id(s) for row in rows if len(row) > 3 for s in row}
    return rows + [[s] for s in shapes if id(s) not in in_rows and s.solidity < 0.72 and s.filled < 0.92]


def _told_apart(row: list[Shape], shapes: list[Shape], filled: Callable[[Shape], bool]) -> list[Candidate]:
    """A row as a candidate; as the letters that print where it is the inside of letters drawn as outlines."""
    contour = False
    if row[0].is_open:
        outlines = printed_letters(row) if len(row) > 1 else None
        if any(filled(s) for s in row[:3]) and np.mean([filled(s) for s in row]) > 0.5:
            contour = True  # another ink prints these letters, and is measured on its own plate
        elif outlines and (one := candidate(outlines, shapes)):
            return [one]
    else:
        bodies = [body for s in row if (body := body_in(s)) is not None]
        contour = bool(len(bodies) >= 0.7 * len(row) and np.mean([filled(s) for s in bodies]) > 0.5)
    one = candidate(row, shapes)
    if one is None:
        return []
    one.contour = contour
    return [one]


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


def candidate(members: list[Shape], around: Sequence[Shape] = ()) -> Candidate | None:
    """A row the right way up, with its features; None where nothing in it could be a letter."""
    first = fit(members)
    portraits = _portraits(members, first.frame)
    upright, reverse = Likeness(portraits), Likeness(flipped(portraits))
    if _evidence(reverse) > _evidence(upright) + 0.1:
        first, upright = settled(members, first.frame.flipped()), reverse
    heights = letter_heights(first, upright)
    if heights is None or not math.isfinite(heights.shortest):
        return None
    return Candidate(members, first, upright, heights, features(members, first, upright, heights, around))


def _portraits(members: Sequence[Shape], frame: Frame) -> np.ndarray:
    drawn = []
    for shape in members[:80]:
        step = max(1, len(shape.rings[0]) // 200)
        rings = [frame.place(ring[::step]) for ring in shape.rings if len(ring) > 4]
        drawn.append(portrait(rings or [frame.place(shape.rings[0])]))
    drawn += drawn[-1:] * (len(members) - len(drawn))
    return np.array(drawn)


def _evidence(likeness: Likeness) -> float:
    """How well shapes read as letters this way up: the mean logarithm of their likeness, none counting for more than e^-4."""
    return float(np.log(np.maximum(likeness.letter, 0.018)).mean())


FEATURES = (
    "log members", "bottoms aligned", "tops in two levels", "stroke/height", "stroke variation", "solidity",
    "with openings", "shape diversity", "gap variation", "gap", "aspect", "aspect variation", "height variation",
    "residual", "arched", "filled solidity", "crowding", "stroke from usual", "pair", "share of plate",
    "solid members", "single", "letter mean", "letter least", "letter quarter", "none mean", "flipped mean",
    "joined mean", "arabic mean", "cjk mean", "clear mean", "clear letters", "case agreement", "height mm", "open",
    "different letters",
)  # fmt: skip


def features(
    members: Sequence[Shape], line: Fit, likeness: Likeness, heights: Heights, around: Sequence[Shape]
) -> np.ndarray:
    """What a row is judged by, in the order of FEATURES; lengths in heights of the line."""
    n = len(members)
    tall = line.levels[:, 1] - line.levels[:, 0]
    height = max(float(np.percentile(tall, 85)), 1e-6)
    strokes = np.array([s.stroke for s in members])
    wide = line.spans[:, 1] - line.spans[:, 0]
    order = np.argsort(line.spans.mean(1))
    gaps = line.spans[order][1:, 0] - line.spans[order][:-1, 1] if n > 1 else np.zeros(1)
    tops = line.levels[:, 1] - line.base
    near = np.abs(tops[:, None] - tops[None]) < 0.07 * height
    best = int(near.sum(1).argmax())
    rest = ~near[best]
    two = near[best].mean() + ((near & rest[None]).mean(1)[rest].max() if rest.any() else 0.0)
    stroke = float(np.median(strokes)) / height
    aspect = wide / np.maximum(tall, 1e-6)
    kinds = {
        (round(float(a) / 0.15), round(s.solidity / 0.06), round(s.openings / 0.1))
        for a, s in zip(aspect, members, strict=True)
    }
    letter = likeness.letter
    weight = letter / max(float(letter.sum()), 1e-9)
    lean = float((likeness.capital * weight).sum())
    return np.array(
        [
            math.log(n),
            float(np.mean(np.abs(line.levels[:, 0] - line.base) < 0.09 * height)),
            float(two),
            stroke,
            float(strokes.std() / max(strokes.mean(), 1e-9)),
            float(np.mean([s.solidity for s in members])),
            float(np.mean([s.openings > 0.01 for s in members])),
            len(kinds) / n,
            float(gaps.std() / height),
            float(np.median(gaps) / height),
            float(np.median(aspect)),
            float(aspect.std()),
            float(tall.std() / height),
            line.residual,
            float(line.frame.arched),
            float(np.mean([s.filled for s in members])),
            _crowding(members, around, height),
            abs(math.log(max(0.01, stroke) / 0.12)),
            float(n == 2),
            n / max(n, len(around)),
            float(np.mean([s.solidity > 0.93 for s in members])),
            float(n == 1),
            float(letter.mean()),
            float(letter.min()),
            float(np.percentile(letter, 25)),
            *(float(v) for v in likeness.others.mean(0)),
            float(likeness.clear.mean()),
            float((likeness.clear > 0.6).sum()) ** 0.5,
            abs(2 * lean - 1),
            math.log(height),
            float(members[0].is_open),
            len(set(likeness.best)) / n,
        ]
    )


def _crowding(members: Sequence[Shape], around: Sequence[Shape], height: float) -> float:
    """Share of the members that have shapes of their size beside them which are not in the row."""
    own = {id(s) for s in members}
    others = [s for s in around if id(s) not in own]
    if not others:
        return 0.0
    centres = np.array([s.centre for s in others])
    sizes = np.array([s.size for s in others])
    close = 0
    for shape in members:
        away = np.hypot(*(centres - shape.centre).T)
        close += bool(((away < 1.5 * height) & (sizes > 0.6 * shape.size) & (sizes < 1.7 * shape.size)).any())
    return close / len(members)


@functools.cache
def _judge() -> Network:
    return network("line")


def judged(found: list[Candidate]) -> list[Candidate]:
    """The candidates with their chances of being each of KINDS."""
    if found:
        for one, chances in zip(found, _judge()(np.array([c.features for c in found])), strict=True):
            one.chances = chances
    return found


def chosen(found: list[Candidate]) -> list[Candidate]:
    """Of candidates that share a place the likeliest; what is faint is left out."""
    ranked = sorted(
        (c for c in found if c.sure >= FAINT),
        key=lambda c: -_rank(c),
    )
    kept: list[Candidate] = []
    for one in ranked:
        if not any(_same_place(one, other) for other in kept):
            kept.append(one)
    return kept


def _rank(one: Candidate) -> float:
    length = math.sqrt(len(one.members) + (4 if len(one.members) == 1 else 0))
    return one.sure * length * one.fit.height * (0.3 if one.contour else 1.0)


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
