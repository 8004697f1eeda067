"""What strokes and gaps share: the narrow things of an art up to a width, thinnest first, and how they are reported."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from preflight.artwork import Artwork, Box
from preflight.measure.width_coarse import BANDS
from preflight.measure.width_filled import open_ones
from preflight.measure.width_fringes import without_fringes
from preflight.measure.width_merge import merged
from preflight.measure.width_narrow import KINDS, Narrow
from preflight.measure.width_pens import thin_strokes, without_thin_strokes
from preflight.measure.width_refine import larger_spots, refine
from preflight.measure.width_scan import SPOT_BANDS, Scanner, scan
from preflight.measure.width_slivers import without_slivers
from preflight.measure.width_source import all_tone, margin_of, tone_boxes
from preflight.quantity import plain
from preflight.reading import Reading

#: So many places are reported one by one; the first says how many more there are.
MOST_READINGS = 400
#: So many of the thinnest are measured again, finer, where the first measurement may be wrong by so many pixels.
MOST_REFINED, UNSURE_PIXELS = 200, 0.3
WIDEST = BANDS[-1].high
#: A box with this part of the art's area is marked by its narrowest place: a square of so many mm, or of this part of the art.
FRAMES_TOO_MUCH, LEAST_FRAME, FRAME_SHARE = 0.2, 3.0, 0.08


@dataclass(frozen=True, slots=True)
class Found:
    """Narrow things of some kinds up to a width, thinnest first; `unseen` places of a crowd were not looked at."""

    things: tuple[Narrow, ...]
    unseen: int


def found(art: Artwork, kinds: Sequence[str], up_to: float) -> Found:
    """All narrow things of these kinds thinner than `up_to` mm."""
    last = next((i for i, band in enumerate(BANDS) if up_to <= band.high), len(BANDS) - 1)
    scanners = [scan(art, band) for band in range(last + 1)]
    have: list[Narrow] = []
    for scanner in scanners:
        enough = [kind for kind in KINDS if sum(s.count([kind]) for s in scanners) >= scanners[0].enough]
        have = scanner.go_on(kinds, up_to, have, enough)
    progress = tuple(scanner.done(kinds) for scanner in scanners)
    whole = art.once(("widths.found", tuple(kinds), progress), lambda: _found(art, kinds, scanners))
    in_question = [one for one in whole.things if one.width < up_to + UNSURE_PIXELS / max(one.density, 1.0)]
    refine(art, sorted(in_question, key=lambda one: one.width)[:MOST_REFINED])
    things = sorted((one for one in in_question if one.width < up_to), key=lambda one: (one.width, one.box))
    return Found(tuple(things), whole.unseen)


def _found(art: Artwork, kinds: Sequence[str], scanners: Sequence[Scanner]) -> Found:
    pens = [pen for pen in thin_strokes(art) if pen.kind in kinds]
    things = [one for scanner in scanners for one in scanner.found if one.kind in kinds]
    if len(scanners) > SPOT_BANDS:
        things += [spot for kind in ("speck", "hole") if kind in kinds for spot in larger_spots(art, kind)]
    unseen = sum(scanner.unseen(kinds) for scanner in scanners)
    whole = merged([*pens, *without_thin_strokes(things, pens)], art.once("widths.wholes", dict))
    return Found(tuple(without_fringes(art, without_slivers(art, open_ones(art, whole)))), unseen)


def least(art: Artwork, kinds: Sequence[str]) -> Narrow | None:
    """The narrowest thing of these kinds in the whole art, looked for with growing widths."""
    for band in BANDS:
        things = found(art, kinds, band.high).things
        if things:
            return things[0]
    return None


def readings(
    art: Artwork, kinds: Sequence[str], up_to: float, noun: str, else_narrowest: bool = False
) -> Iterator[Reading]:
    """One Reading a narrow thing; of a crowd the thinnest, and how many more.

    With `else_narrowest`, where nothing is narrower than `up_to` the narrowest there is: so a report can say how far
    off the limit it is.
    """
    tone = all_tone(art)
    if tone:
        yield Reading(value=None, what=f"the {noun}s", reason=tone)
        return
    all_of_them = found(art, kinds, up_to)
    things, unseen = all_of_them.things, all_of_them.unseen
    if not things and unseen:
        yield Reading(
            value=None, what=f"the {noun}s",
            reason=f"The art is so full of fine detail that {unseen} places could not be measured one by one.",
        )  # fmt: skip
        return
    if not things:
        one = least(art, kinds) if else_narrowest else None
        if one is not None:
            yield reading_of(art, one, noun)
        return
    more = max(0, len(things) - MOST_READINGS)
    for number, one in enumerate(things[:MOST_READINGS]):
        yield reading_of(art, one, noun, more if number == 0 else 0, unseen if number == 0 else 0)


def reading_of(art: Artwork, one: Narrow, noun: str, more: int = 0, unseen: int = 0) -> Reading:
    """The Reading of one narrow thing."""
    names = [ink_name(art, number) for number in one.inks]
    facts: dict[str, object] = {
        "length_mm": round(one.length, 2), "ink": " and ".join(names), "usual_width_mm": round(one.typical, 4),
    }  # fmt: skip
    what = f"the {noun} between {names[0]} and {names[1]}" if len(names) == 2 else f"the {noun} in {names[0]}"
    if more:
        facts["more"] = more
        what += f", the narrowest of {MOST_READINGS + more}"
    if unseen:
        facts["places_not_measured"] = unseen
        what += f" ({unseen} more crowded places were not measured one by one)"
    if tone_boxes(art):
        facts["left_out"] = "continuous tone"
    return Reading(
        value=one.width, what=what, where=(shown(art, one),), margin=margin_of(art, one.box), facts=facts
    )


def shown(art: Artwork, one: Narrow) -> Box:
    """Where it is marked: its box, or round its narrowest place where the box would frame a good part of the art.

    Rays, rings and branches hang together: a frame round all of them shows nobody which line is thin.
    """
    x0, y0, x1, y1 = padded(one)
    if (x1 - x0) * (y1 - y0) <= FRAMES_TOO_MUCH * art.width_mm * art.height_mm:
        return (x0, y0, x1, y1)
    middle = one.points[len(one.points) // 2]  # pens are as thin all along
    x, y = one.place if any(one.place) else (float(middle[0]), float(middle[1]))
    half = max(LEAST_FRAME, FRAME_SHARE * max(art.width_mm, art.height_mm)) / 2
    return (max(x0, x - half), max(y0, y - half), min(x1, x + half), min(y1, y + half))


def padded(one: Narrow) -> Box:
    """Its box, never without extent, so that it can be drawn."""
    x0, y0, x1, y1 = one.box
    grow = max(0.0, 0.05 - min(x1 - x0, y1 - y0)) / 2
    return (x0 - grow, y0 - grow, x1 + grow, y1 + grow)


def ink_name(art: Artwork, number: int) -> str:
    """An ink's name, safe to print."""
    return next((plain(ink.name) for ink in art.inks if ink.number == number), "an ink")
