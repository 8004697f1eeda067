"""Heights of lettering: live, outlined and in bitmaps; straight, rotated and arched; positive and knocked out.

Live text is measured exactly from its glyphs.  Everything else is found by its geometry: letters are shapes of like
height and stroke in a row on a common baseline.  A found line carries a certainty: from 0.85 it is called lettering,
from 0.5 it still is but may only ask, and below that a person is asked what it is (`unsure`).  Definitions: the shortest
letter is the lowest one that counts, in a line of capitals the capitals; figures count like capitals; punctuation, dots
and accents do not count.
"""

from collections.abc import Callable, Iterator

from preflight.artwork import Artwork, Box
from preflight.measure import codes, measures
from preflight.measure.letter_found import found_lines
from preflight.measure.letter_line import LIKELY, LetterLine
from preflight.measure.letter_live import live_lines
from preflight.order import Order
from preflight.quantity import plain
from preflight.reading import Reading


def lines(art: Artwork) -> list[LetterLine]:
    """Every line of lettering in the art, and what looks like it; shared by all measurements."""
    return art.once("lettering lines", lambda: _all_lines(art))[0]


def _all_lines(art: Artwork) -> tuple[list[LetterLine], bool]:
    found, crowded = found_lines(art)
    if any(line.script for line in found):
        # rows of a code's modules look like dotted writing; a letter in the middle of one is still measured
        found = [line for line in found if not (line.script and _in_a_code(art, line.box))]
    return live_lines(art) + found, crowded


def _in_a_code(art: Artwork, box: Box) -> bool:
    middle = ((box[0] + box[2]) / 2, (box[1] + box[3]) / 2)
    places = [code.box for code in codes.codes(art)]
    return any(x0 <= middle[0] <= x1 and y0 <= middle[1] <= y1 for x0, y0, x1, y1 in places)


def _readings(
    art: Artwork,
    value_of: Callable[[LetterLine], float | None],
    which: Callable[[LetterLine], bool] = lambda line: True,
) -> Iterator[Reading]:
    for line in lines(art):
        value = value_of(line) if line.ruled and which(line) else None
        if value is not None:
            yield _reading(line, value)


def _reading(line: LetterLine, value: float) -> Reading:
    facts: dict[str, object] = {
        "live": line.live,
        "knocked_out": line.knocked_out,
        "script": line.script,
        "kind": line.kind,
        "serif": line.serif,
    }
    if line.text:
        facts["text"] = plain(line.text)
    if line.note:
        facts["note"] = line.note
    what = f"{line.name} (set in a font the file does not carry)" if line.note else line.name
    return Reading(
        value=value, what=what, where=(line.box,), sure=line.sure, margin=line.uncertainty(value), facts=facts
    )


@measures("mm")
def cap_height(art: Artwork, order: Order) -> Iterator[Reading]:
    """Height of the shortest capital or figure of each line that has one, mm."""
    yield from _readings(art, lambda line: line.cap)


@measures("mm")
def x_height(art: Artwork, order: Order) -> Iterator[Reading]:
    """Height of the lower-case letters of each line that has them, mm."""
    yield from _readings(art, lambda line: line.x_height)


@measures("mm")
def shortest_letter(art: Artwork, order: Order) -> Iterator[Reading]:
    """Height of the shortest letter of each line that counts, mm."""
    yield from _readings(art, lambda line: line.shortest)


@measures("mm")
def knocked_out_height(art: Artwork, order: Order) -> Iterator[Reading]:
    """Height of letters left open in a solid, mm: of the capitals where there are any, else of the shortest letter."""
    yield from _readings(
        art, lambda line: line.cap if line.cap is not None else line.shortest, lambda line: line.knocked_out
    )


@measures("mm")
def cap_or_equivalent(art: Artwork, order: Order) -> Iterator[Reading]:
    """Capital height of each line, mm; of a line in lower case that of the capitals that would go with it."""
    yield from _readings(art, lambda line: line.cap_or_equivalent)


@measures("mm")
def letter_stroke(art: Artwork, order: Order) -> Iterator[Reading]:
    """Nominal stroke width of each line, mm."""
    yield from _readings(art, lambda line: line.stroke)


@measures("mm")
def counters(art: Artwork, order: Order) -> Iterator[Reading]:
    """Width of the smallest opening enclosed by a letter of each line, mm."""
    yield from _readings(art, lambda line: line.counter)


@measures("mm")
def serif_height(art: Artwork, order: Order) -> Iterator[Reading]:
    """Height of the shortest letter of each line set in a face with serifs or a written one, mm."""
    yield from _readings(art, lambda line: line.shortest, lambda line: line.serif)


@measures("")
def unsure(art: Artwork, order: Order) -> Iterator[Reading]:
    """How many places a person has to look at: what is only like lettering, and scripts the ruler is not made for."""
    everything, crowded = art.once("lettering lines", lambda: _all_lines(art))
    doubtful = [line for line in everything if not line.ruled]
    if not everything and not crowded:
        return
    yield Reading(
        value=float(len(doubtful) + crowded),
        what=_doubt(doubtful, crowded),
        where=tuple(line.box for line in doubtful) or ((art.box,) if crowded else ()),
        facts={"scripts": sorted({line.script for line in doubtful if line.script})},
    )


def _doubt(doubtful: list[LetterLine], crowded: bool) -> str:
    if not doubtful:
        return "art with more small shapes than can be looked at" if crowded else "the lettering"
    first = doubtful[0]
    if first.kind == "joined":
        return "connected writing, whose letters cannot be told apart"
    if first.script and not first.ruled and first.sure >= LIKELY:
        script = {"cjk": "Han", "hiragana": "Japanese", "katakana": "Japanese"}.get(
            first.script, first.script.title()
        )
        return f"{first.name} in {script} script, which has no capitals or x-height to measure"
    return "a lettering-like row of shapes, please check"


def smallest(art: Artwork) -> Reading | None:
    """The shortest letter of the whole art; None where no lettering was found."""
    return min(shortest_letter(art, Order()), key=lambda reading: reading.value or 0.0, default=None)


@measures("mm")
def edge_distance(art: Artwork, order: Order) -> Iterator[Reading]:
    """Least distance from each line of lettering to the outer edge of the art, mm."""
    yield from _readings(art, lambda line: _to_edge(art, line.box))


def _to_edge(art: Artwork, box: Box) -> float:
    return max(0.0, min(box[0], box[1], art.width_mm - box[2], art.height_mm - box[3]))
