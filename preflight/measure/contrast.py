"""Contrast: how well inks show on the goods and on each other, as the WCAG 2.1 ratio (1 to 21).

An ink is held against the ground only where it touches bare ground; lettering inside a solid is held
against the solid. Nothing is said where the ground is not stated.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import cv2
import numpy as np

from preflight import colour
from preflight.artwork import Artwork, Box, Ink, Mark
from preflight.measure import ground as backing
from preflight.measure import inks, measures, strokes
from preflight.measure.letter_line import LetterLine
from preflight.measure.lettering import lines
from preflight.measure.rims import PRINTED, REACH_MM, Rim, grown, rim
from preflight.measure.widths import ink_name
from preflight.order import Order
from preflight.quantity import plain
from preflight.reading import Reading

cv2.setNumThreads(1)

#: Certainty from which letters are held to the contrast of lettering.
SURELY = 0.85
#: Share of an ink's rim that has to lie on bare ground before it is held against the ground.
TOUCHES = 0.05
#: CIEDE2000 below which an ink is taken for the ground itself (contract of this program).
SAME = 5.0
#: The contrast under which it is, too; the rule on vanishing colours has it as its limit.
SAME_RATIO = 1.1
#: L* from which goods are white, and so are the sheets and masks that drawing leaves behind.
WHITE_GOODS = 90.0
#: How sure it is that a white ink on white goods is a fault.
WHITE_BASE = 0.8
#: Pixels that the shortest letter of a line is drawn tall, and pixels of a line at most.
LETTER_PIXELS, LINE_PIXELS = 24, 1_000_000
#: Share of an ink that lies on a white plate when it has its white beneath already.
UNDERLAID = 0.8


@dataclass(frozen=True)
class _Seen:
    """An ink that can be seen against the ground: in one of its strengths, with the parts that are."""

    ink: Ink
    hex: str
    share: float  # of its rim that is bare
    where: tuple[Box, ...]


def _rim(art: Artwork, ink: Ink) -> Rim | None:
    whole = inks.survey(art)

    def make() -> Rim | None:
        neighbours = art.once("grown plates", make_all)
        others = {number: plate for number, plate in neighbours.items() if number != ink.number}
        return rim(whole.plates[ink.number], others, whole.pixels_per_mm)

    def make_all() -> dict[int, np.ndarray]:
        return {number: grown(plate, whole.pixels_per_mm) for number, plate in whole.plates.items()}

    return art.once(("rim", ink.number), make)


def _on_ground(art: Artwork) -> list[_Seen]:
    """The inks that touch bare ground; one that is printed in tints as well counts once a strength."""

    def make() -> list[_Seen]:
        found = []
        for ink in art.inks:
            edge = _rim(art, ink)
            share = edge.shares().get(-1, 0.0) if edge else 0.0
            if edge and share > TOUCHES:
                parts = edge.bare_parts()
                for shade, boxes in _strengths(art, ink, parts):
                    found.append(_Seen(ink, shade, share, boxes))
        return found

    return art.once("inks on the ground", make)


def _strengths(art: Artwork, ink: Ink, parts: tuple[Box, ...]) -> Iterator[tuple[str, tuple[Box, ...]]]:
    """Each strength an ink is printed in, as the marks that lie in these parts show it."""
    if not ink.tints:
        yield ink.hex, parts
        return
    shades: dict[str, list[Box]] = {}
    for mark in art.marks:
        if mark.ink == ink.number and mark.hex and any(_meet(mark.box, part) for part in parts):
            shades.setdefault(mark.hex, []).append(mark.box)
    if not shades:
        yield ink.hex, parts
    for shade, boxes in list(shades.items())[:12]:
        yield shade, tuple(boxes)


@measures("ratio")
def shapes(art: Artwork, order: Order) -> Iterator[Reading]:
    """Contrast of each ink with the ground, where it touches it; inks that lie inside others show against those.

    An ink that touches the ground in nothing but lettering is left to `lettering`, a white box behind the art to
    `ground.boxes`, what is the ground itself to `vanishing`.
    """
    if not order.ground:
        return
    sheets = backing.sheets(art)
    for seen in _on_ground(art):
        if seen.ink.number in sheets or _only_words(art, seen) or _vanishes(seen.hex, order.ground):
            continue
        yield Reading(
            value=colour.contrast(seen.hex, order.ground),
            what=inks.called(seen.ink) if seen.hex == seen.ink.hex else f"a tint of {inks.called(seen.ink)}",
            where=seen.where,
            facts={"ink": seen.ink.number, "bare": round(seen.share, 3)},
        )


def _only_words(art: Artwork, seen: _Seen) -> bool:
    words = [
        line.box
        for line in lines(art)
        if _is_lettering(line) and line.ink == seen.ink.number and not line.knocked_out
    ]
    return bool(words) and all(any(_inside(part, box) for box in words) for part in seen.where)


def _inside(part: Box, box: Box) -> bool:
    """Does a part lie in a box, give or take half a millimetre?"""
    return (
        part[0] >= box[0] - 0.5
        and part[1] >= box[1] - 0.5
        and part[2] <= box[2] + 0.5
        and part[3] <= box[3] + 0.5
    )


@measures("ratio")
def vanishing(art: Artwork, order: Order) -> Iterator[Reading]:
    """Contrast of what has the colour of the ground (CIEDE2000 under 5) and touches it; nothing for all other inks."""
    if not order.ground:
        return
    for seen in _on_ground(art):
        far = _apart(seen.hex, order.ground)
        if far < SAME:
            yield Reading(
                value=colour.contrast(seen.hex, order.ground),
                what=inks.called(seen.ink),
                where=seen.where,
                # white ink on white goods: a base that these goods do not need, so we ask
                sure=WHITE_BASE if inks.is_base(seen.ink) else 1.0,
                facts={"ink": seen.ink.number, "delta_e": round(far, 2)},
            )
    yield from _unprinted(art, order.ground)


def _apart(one: str, other: str) -> float:
    return colour.difference(colour.lab_of(one), colour.lab_of(other))


def _vanishes(shade: str, ground: str) -> bool:
    """Do both measures say that the colour is the ground itself (contract of this program)?"""
    return _apart(shade, ground) < SAME and colour.contrast(shade, ground) < SAME_RATIO


def _unprinted(art: Artwork, ground: str) -> Iterator[Reading]:
    """Shapes and words in the very colour of the ground, standing alone on it: nobody will see them.

    Such marks have no ink.  Those that lie on, under or beside an ink are knock-outs or sheets, and show by
    it.
    """
    lab = colour.lab_of(ground)
    alone = [
        mark
        for mark in art.marks
        if mark.ink is None
        and mark.kind in ("fill", "stroke", "glyph")
        and mark.hex
        and colour.difference(colour.lab_of(mark.hex), lab) < SAME
        and _alone(art, mark, lab[0] > WHITE_GOODS)
    ]
    for words in (True, False):
        found = [mark for mark in alone if (mark.kind == "glyph") == words]
        if found:
            yield Reading(
                value=colour.contrast(found[0].hex, ground),
                what="the words in the colour of the ground"
                if words
                else "what is drawn in the colour of the ground",
                where=tuple(mark.box for mark in found),
                sure=1.0
                if not art.inks
                else 0.9
                if words
                else 0.8,  # where nothing else is seen, it is the art
                facts={"marks": len(found)},
            )


def _alone(art: Artwork, mark: Mark, white_goods: bool) -> bool:
    x0, y0, x1, y1 = mark.box
    if not (x1 - x0 >= 0.2 and y1 - y0 >= 0.2):
        return False
    inside = x0 < art.width_mm and y0 < art.height_mm and x1 > 0 and y1 > 0
    if not inside:
        # White things beside the art on white goods are left over from its making; nobody leaves black ones on black.
        return mark.kind == "glyph" or not white_goods
    whole = inks.survey(art)
    k = whole.pixels_per_mm
    reach = max(1, round(2 * REACH_MM * k))
    rows = slice(max(int(y0 * k) - reach, 0), max(int(np.ceil(y1 * k)) + reach, 0))
    columns = slice(max(int(x0 * k) - reach, 0), max(int(np.ceil(x1 * k)) + reach, 0))
    return int(whole.together[rows, columns].max(initial=0)) < PRINTED


@measures("colours")
def needs_white(art: Artwork, order: Order) -> Iterator[Reading]:
    """How many inks need white beneath: on a stated dark ground (L* under 60), not black, white or metal.

    An ink that lies on a white plate of the file already has its white.
    """
    if not (order.ground and colour.is_dark(order.ground) and art.inks):
        return
    needing = _needing_white(art)
    names = [plain(ink.name, 60) for ink in needing]
    what = inks.called(needing[0]) if len(needing) == 1 else f"the inks {', '.join(names[:6])}"
    yield Reading(
        value=float(len(needing)),
        what=what if needing else "the art",
        where=inks.where(art, *needing),
        facts={"inks": names, "white_inks": sum(map(inks.is_white, art.inks))},
    )


@measures("mm")
def lines_over_white(art: Artwork, order: Order, up_to: float | None = None) -> Iterator[Reading]:
    """Width of every line thinner than `up_to` in an ink that needs white beneath, mm (see `needs_white`)."""
    if order.ground and colour.is_dark(order.ground) and art.inks:
        names = {ink_name(art, ink.number) for ink in _needing_white(art)}
        yield from (line for line in strokes.lines(art, order, up_to) if line.facts.get("ink") in names)


def _needing_white(art: Artwork) -> list[Ink]:
    return [ink for ink in inks.visible(art) if not inks.opaque(ink) and not _underlaid(art, ink)]


def _underlaid(art: Artwork, ink: Ink) -> bool:
    plates = inks.survey(art).plates
    whites = [
        plates[white.number] for white in art.inks if inks.is_white(white) and white.number != ink.number
    ]
    if not whites:
        return False
    printed = plates[ink.number] >= 128
    white = np.maximum.reduce(whites) >= 128
    return bool(printed.any()) and float(white[printed].mean()) >= UNDERLAID


@measures("ratio")
def lettering(art: Artwork, order: Order) -> Iterator[Reading]:
    """Contrast of each line of lettering with what surrounds its letters: the ground, or the ink they stand in."""
    if not order.ground:
        return
    for line in lines(art):
        if _is_lettering(line):
            found = _around(art, line, order.ground)
            if found:
                value, against = found
                yield Reading(
                    value=value,
                    what=line.name,
                    where=(line.box,),
                    sure=line.sure,
                    facts={"ink": line.ink, "against": against, "knocked_out": line.knocked_out},
                )


def _is_lettering(line: LetterLine) -> bool:
    """What only may be lettering, or looks like writing, is held as a shape."""
    return line.ruled and line.sure >= SURELY


def _around(art: Artwork, line: LetterLine, ground: str) -> tuple[float, int | str] | None:
    """The contrast that at least half of the letters' rim reaches, and the neighbour that has most of it."""
    height = line.shortest or line.cap or line.x_height or (line.box[3] - line.box[1])
    x0, y0, x1, y1 = line.box
    margin = 0.3 * height + 0.4
    box = (x0 - margin, y0 - margin, x1 + margin, y1 + margin)
    area = (box[2] - box[0]) * (box[3] - box[1])
    if not (height > 0 and area > 0):
        return None
    scale = min(LETTER_PIXELS / height, (LINE_PIXELS / area) ** 0.5)
    plates = {ink.number: art.coverage(ink, box, scale) for ink in art.inks if _printed_in(art, ink, box)}
    letters = _letters(line, plates, box, scale)
    others = {n: grown(p, scale) for n, p in plates.items() if n != line.ink or line.knocked_out}
    edge = rim(letters, others, scale)
    if edge is None:
        return None
    picture = art.picture(box, scale, ground)
    shade = _look(picture, letters) if line.ink is not None and not line.knocked_out else ground
    shares = edge.shares()
    ratios = sorted(
        (
            (colour.contrast(shade, ground if n < 0 else _look(picture, plates[n])), share)
            for n, share in shares.items()
        ),
        reverse=True,
    )
    reached = np.cumsum([share for _, share in ratios])
    ratio = ratios[int(np.searchsorted(reached, 0.5 - 1e-9))][0]
    most = next(iter(shares))
    return ratio, "ground" if most < 0 else most


def _printed_in(art: Artwork, ink: Ink, box: Box) -> bool:
    whole = inks.survey(art)
    k = whole.pixels_per_mm
    rows = slice(max(int(box[1] * k), 0), max(int(np.ceil(box[3] * k)), 0))
    columns = slice(max(int(box[0] * k), 0), max(int(np.ceil(box[2] * k)), 0))
    return bool(whole.plates[ink.number][rows, columns].any())


def _letters(line: LetterLine, plates: dict[int, np.ndarray], box: Box, scale: float) -> np.ndarray:
    """Coverage of the letters alone: of their ink, or of the bare ground where they are left open."""
    size = next(iter(plates.values())).shape if plates else (1, 1)
    if line.ink in plates and not line.knocked_out:
        shape = plates[line.ink]
    else:
        printed = np.zeros(size, np.uint16)
        for plate in plates.values():
            printed += plate
        shape = 255 - np.minimum(printed, 255).astype(np.uint8)
    inside = np.zeros(size, np.uint8)
    for x0, y0, x1, y1 in line.letters or (line.box,):
        top, bottom = int((y0 - box[1]) * scale) - 1, int(np.ceil((y1 - box[1]) * scale)) + 1
        left, right = int((x0 - box[0]) * scale) - 1, int(np.ceil((x1 - box[0]) * scale)) + 1
        inside[max(top, 0) : max(bottom, 0), max(left, 0) : max(right, 0)] = 255
    return np.minimum(shape, inside)


def _look(picture: np.ndarray, plate: np.ndarray) -> str:
    """The colour of what a plate covers fully, else of what it covers most."""
    most = int(plate.max(initial=0))
    pixels = picture[plate >= min(250, most)]
    return colour.hex_of(np.median(pixels, axis=0))


def _meet(one: Box, other: Box) -> bool:
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]
