"""Inks: how many the eye counts, how much of each there is, what they are called and what they match.

Which paints are one ink is decided when the file is read.  Areas are summed from anti-aliased coverage, so
they are right well below a pixel: within 1 % for all but dust.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations

import cv2
import numpy as np

from preflight import charts, colour
from preflight.artwork import Artwork, Box, Ink, Lab
from preflight.charts import Chart, Entry, Match
from preflight.measure import measures
from preflight.order import Order
from preflight.quantity import plain
from preflight.reading import Reading

cv2.setNumThreads(1)

#: Pixels of one plate in a survey, and of all of them together.
PLATE_PIXELS, ALL_PIXELS = 800_000, 24_000_000
#: Small art is not drawn finer than this; pixels per mm.
FINEST = 60.0
#: CIEDE2000 up to which an ink is plain black or white out of the tin, and needs no reference (our default).
PLAIN = 4.0
#: Black ink as CMYK files show it: 100 % K through a press profile (common practice).
BLACKS = ("#000000", "#231f20")


@dataclass(frozen=True)
class Survey:
    """All plates at one resolution: uint8 coverage of each ink by its number, and of all inks together."""

    pixels_per_mm: float
    plates: dict[int, np.ndarray]
    together: np.ndarray

    def box(self, mask: np.ndarray) -> Box | None:
        """The box in mm of what is not zero in a picture of the survey's size; None when all of it is."""
        rows, columns = np.flatnonzero(mask.any(1)), np.flatnonzero(mask.any(0))
        if not len(rows):
            return None
        k = self.pixels_per_mm
        return (columns[0] / k, rows[0] / k, (columns[-1] + 1) / k, (rows[-1] + 1) / k)

    def mm2(self, plate: np.ndarray) -> float:
        """Area covered, mm²."""
        return float(plate.sum(dtype=np.float64)) / 255 / self.pixels_per_mm**2


def survey(art: Artwork) -> Survey:
    """Every plate of the art, drawn once for all measurements that look at whole inks."""
    return art.once("ink survey", lambda: _surveyed(art))


def _surveyed(art: Artwork) -> Survey:
    count = max(1, len(art.inks) + 1)
    pixels = min(PLATE_PIXELS, ALL_PIXELS / count)
    scale = min(FINEST, (pixels / max(art.width_mm * art.height_mm, 1e-6)) ** 0.5)
    # A whole number of pixels, so that no part of the art is cut off.
    columns, rows = (max(1, int(np.ceil(side * scale - 1e-6))) for side in (art.width_mm, art.height_mm))
    box = (0.0, 0.0, columns / scale, rows / scale)
    plates = {ink.number: art.coverage(ink, box, scale) for ink in art.inks}
    if len(plates) == 1:
        together = next(iter(plates.values()))
    else:
        together = art.coverage(None, box, scale) if plates else np.zeros((rows, columns), np.uint8)
    return Survey(scale, plates, together)


def areas(art: Artwork) -> list[tuple[Ink, float, float]]:
    """Each ink, its printed area in mm² and that as a share (0 to 1) of the print box; a tint counts as area."""

    def make() -> list[tuple[Ink, float, float]]:
        whole = survey(art)
        box = max(art.width_mm * art.height_mm, 1e-9)
        return [
            (ink, area, min(1.0, area / box))
            for ink in art.inks
            for area in [whole.mm2(whole.plates[ink.number])]
        ]

    return art.once("ink areas", make)


def where(art: Artwork, *inks: Ink) -> tuple[Box, ...]:
    """The boxes of these inks, of those that show."""
    whole = survey(art)
    boxes = (whole.box(whole.plates[ink.number] >= 64) for ink in inks)
    return tuple(box for box in boxes if box)


def called(ink: Ink) -> str:
    """An ink as it is said inside a sentence."""
    return f"the ink {plain(ink.name, 60)}"


def visible(art: Artwork) -> list[Ink]:
    """The inks that leave a mark: one wholly hidden under others needs no screen."""
    return [ink for ink, area, _ in areas(art) if area > 0]


@measures("colours")
def count(art: Artwork, order: Order) -> Iterator[Reading]:
    """How many inks the art needs; tints of an ink are that ink, and what has the colour of the ground is none."""
    seen = visible(art)
    if seen:
        names = [plain(ink.name, 60) for ink in seen]
        yield Reading(value=float(len(seen)), what="the art", where=where(art, *seen), facts={"inks": names})


@measures("")
def unnamed(art: Artwork, order: Order) -> Iterator[Reading]:
    """How many inks are not named as spot colours; plain black and white need no name."""
    seen = visible(art)
    if seen:
        nameless = [ink for ink in seen if ink.kind != "spot" and not is_black(ink) and not is_white(ink)]
        yield _counted(art, nameless, "without a named reference")


@measures("dE00")
def too_close(art: Artwork, order: Order) -> Iterator[Reading]:
    """CIEDE2000 of the two inks most alike; metallics and varnishes have no look of their own on screen."""
    seen = [ink for ink in visible(art) if not effect(ink)]
    if len(seen) >= 2:
        one, other = min(combinations(seen, 2), key=lambda two: colour.difference(two[0].lab, two[1].lab))
        yield Reading(
            value=colour.difference(one.lab, other.lab),
            what=f"{called(one)} beside {plain(other.name, 60)}",
            where=where(art, one, other),
            facts={"inks": [plain(one.name), plain(other.name)]},
        )


@measures("")
def registration_colour(art: Artwork, order: Order) -> Iterator[Reading]:
    """How many objects are in registration colour, which prints on every plate."""
    if art.marks or art.inks:
        found = list(art.facts_of("registration colour"))
        yield Reading(
            value=float(sum(fact.count for fact in found)),
            what="what is set in registration colour",
            where=tuple(fact.box for fact in found if fact.box),
        )


@measures("colours")
def metallic(art: Artwork, order: Order) -> Iterator[Reading]:
    """How many inks are metallic, fluorescent or a varnish by their name."""
    seen = visible(art)
    if seen:
        yield _counted(art, [ink for ink in seen if effect(ink)], "by name metallic, fluorescent or varnish")


@measures("colours")
def white(art: Artwork, order: Order) -> Iterator[Reading]:
    """How many white inks there are on a dark ground; on an unknown or light ground nothing is said."""
    if order.ground and colour.is_dark(order.ground) and art.inks:
        yield _counted(art, [ink for ink in visible(art) if is_white(ink)], "white")


@measures("%")
def coverage(art: Artwork, order: Order) -> Iterator[Reading]:
    """Share of the print box that is printed, by whatever ink, %."""
    if art.inks:
        whole = survey(art)
        share = whole.mm2(whole.together) / max(art.width_mm * art.height_mm, 1e-9)
        yield Reading(value=min(100.0, 100 * share), what="the art", where=(art.box,))


def _counted(art: Artwork, found: list[Ink], kind: str) -> Reading:
    names = [plain(ink.name, 60) for ink in found]
    what = called(found[0]) if len(found) == 1 else f"the inks {', '.join(names[:6])}" if found else "the art"
    more = f" and {len(found) - 6} more" if len(found) > 6 else ""
    return Reading(
        value=float(len(found)),
        what=what + more,
        where=where(art, *found),
        facts={"inks": names, "kind": kind},
    )


# What an ink is by its look or name
# ------------------------------------------------------------------------

#: Words in a spot colour's name for inks that have no look on screen (common practice).
_EFFECT = frozenset(
    "metallic metal metalic foil chrome copper bronze gold silver pearl pearlescent glitter fluorescent fluor fluo "
    "neon luminous glow phosphorescent reflective varnish lacquer gloss".split()
)
#: Of these, the ones that cover a dark ground without white beneath (common practice).
_OPAQUE = frozenset("metallic metal metalic foil chrome copper bronze gold silver glitter".split())


def _words(ink: Ink) -> set[str]:
    return set(re.findall(r"[a-z]+", ink.name.lower())) if ink.kind == "spot" else set()


def effect(ink: Ink) -> bool:
    """Is it metallic, fluorescent or a varnish, by its name?"""
    return bool(_words(ink) & _EFFECT)


def opaque(ink: Ink) -> bool:
    """Does it cover a dark ground by itself: black, white, metals (common practice)?"""
    return is_black(ink) or is_white(ink) or bool(_words(ink) & _OPAQUE)


def is_black(ink: Ink) -> bool:
    """Does it look like plain black?"""
    return any(colour.difference(ink.lab, colour.lab_of(shade)) < PLAIN for shade in BLACKS)


def is_white(ink: Ink) -> bool:
    """Does it look like plain white, or nearly and is called so?"""
    far = colour.difference(ink.lab, (100.0, 0.0, 0.0))
    return far < PLAIN or ("white" in _words(ink) and far < 3 * PLAIN)


def is_base(ink: Ink) -> bool:
    """Is it a white by its name as well, as the white beneath colours on dark goods is called (common practice)?"""
    return is_white(ink) and bool(_words(ink) & {"white", "base", "underbase"})


# Charts and references
# ---------------------------------------------------------------------------------------


def fitting(order: Order) -> tuple[Chart, ...]:
    """The shop's charts of what the method lays down: thread where it sews, else ink; those of no kind fit both."""
    kind = "thread" if order.method == "embroidery" else "ink"
    return tuple(chart for chart in order.charts if chart.kind in ("", kind))


def chart_match(ink: Ink, order: Order) -> Match | None:
    """The chart entry an ink is called after, else the nearest one; None without a chart."""
    shelf = fitting(order)
    named = charts.entry_named(ink.name, shelf) if ink.kind == "spot" else None
    if named:
        chart, entry = named
        return Match(chart.name, entry, colour.difference(ink.lab, entry.lab))
    return charts.nearest(ink.lab, shelf)


@measures("dE00")
def unmatched(art: Artwork, order: Order) -> Iterator[Reading]:
    """CIEDE2000 from each ink to the chart entry of its name, else to the nearest; nothing without a chart.

    Plain black and white come out of the tin or off the cone, whether a chart lists them or not.
    """
    for ink in visible(art):
        plainly = ink.kind != "spot" and (is_black(ink) or is_white(ink))
        match = chart_match(ink, order) if not effect(ink) and not plainly else None
        if match:
            yield Reading(
                value=match.delta_e,
                what=f"{called(ink)}, nearest “{match.entry.name}” of the chart “{match.chart}”,",
                where=where(art, ink),
                facts={"ink": ink.number, "chart_entry": match.entry.name, "chart": match.chart},
            )


@measures("dE00")
def named_distance(art: Artwork, order: Order) -> Iterator[Reading]:
    """CIEDE2000 from each colour the client named to the nearest ink of the art.

    Words that are no chart entry, CSS colour or #rrggbb are references for a person: they have no distance.
    A plain colour word ("red") is no exact reference either: it is only measured when no ink of the art
    would be called so.
    """
    inks = visible(art)
    for words in order.colours if inks else ():
        lab = reference(words, order)
        if lab is None:
            continue
        same = [ink for ink in inks if charts.key(ink.name) == charts.key(words)]
        nearest = min(same or inks, key=lambda ink: colour.difference(lab, ink.lab))
        far = colour.difference(lab, nearest.lab)
        ground = colour.difference(lab, colour.lab_of(order.ground or art.ground))
        if ground < min(far, NEAR_GROUND) or (_is_plain_word(words, order) and _answers(words, lab, inks)):
            continue
        shown = plain(words, 60)
        yield Reading(
            value=far,
            what=f"“{shown}”, which is nearest to {called(nearest)},",
            where=where(art, nearest),
            facts={"named": shown, "ink": nearest.number},
        )


#: A named colour this near the goods (CIEDE2000), and nearer than any ink, is the goods themselves: "white"
#: on white.
NEAR_GROUND = 10.0
#: CIEDE2000 within which a plain colour word fits an ink: reds called red lie this far apart (our default).
PLAIN_WORD = 20.0
_PLAIN_WORD = re.compile(
    r"(?:(?:dark|light|bright|mid|pale|deep|royal) ?)?(?:black|white|gr[ea]y|red|orange|brown|gold|silver|yellow|beige|cream"
    r"|green|teal|turquoise|blue|navy|violet|purple|pink|magenta|maroon|cyan|lime)"
)
_FAMILY = {"navy": "blue", "gold": "yellow", "turquoise": "teal", "magenta": "pink", "beige": "brown"}


def reference(words: str, order: Order) -> Lab | None:
    """Lab (D50) of a colour the client named: a chart entry, a CSS colour name or #rrggbb; None for other words."""
    entry = _entry(words, order)
    if entry:
        return entry.lab
    shade = colour.named(words)
    return colour.lab_of(shade) if shade else None


def _is_plain_word(words: str, order: Order) -> bool:
    return bool(_PLAIN_WORD.fullmatch(words.strip().lower())) and _entry(words, order) is None


def _entry(words: str, order: Order) -> Entry | None:
    """The chart entry of that name: in the charts that fit the method, else in any."""
    found = charts.entry_named(words, (*fitting(order), *order.charts))
    return found[1] if found else None


def _answers(words: str, lab: Lab, inks: list[Ink]) -> bool:
    """Would anyone call one of the inks so?"""
    meant = {_family(words.strip().lower()), _family(colour.word(colour.hex_of_lab(lab)))}
    return any(
        colour.difference(lab, ink.lab) < PLAIN_WORD or _family(colour.word(ink.hex)) in meant for ink in inks
    )


def _family(word: str) -> str:
    last = word.split()[-1]
    return _FAMILY.get(last, last)
