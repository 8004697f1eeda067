"""Gaps: what has to stay open within an ink, between two inks, in a solid; and the trap of inks that touch."""

from collections.abc import Iterator

from preflight.artwork import Artwork
from preflight.measure import ground, measures
from preflight.measure.width_source import all_tone, finest_resolution, margin_of
from preflight.measure.width_trap import DENSITY, traps
from preflight.measure.widths import WIDEST, ink_name, least, reading_of, readings
from preflight.order import Order
from preflight.reading import Reading


@measures("mm")
def gaps(art: Artwork, order: Order, up_to: float | None = None) -> Iterator[Reading]:
    """Width of every gap and knocked-out line within one ink narrower than `up_to`, mm, narrowest first.

    Shapes in the colour of the ground make gaps.  Where none is narrower the narrowest gap there is.
    """
    yield from readings(art, ("gap",), WIDEST if up_to is None else up_to, "gap", True)


@measures("mm")
def between_inks(art: Artwork, order: Order, up_to: float | None = None) -> Iterator[Reading]:
    """Width of every gap between two different inks narrower than `up_to`, mm, narrowest first."""
    if len(art.inks) > 1:
        yield from readings(art, ("between",), WIDEST if up_to is None else up_to, "gap")


@measures("mm")
def pinholes(art: Artwork, order: Order, up_to: float | None = None) -> Iterator[Reading]:
    """Size of small holes in a solid, mm: equivalent diameter or short side, the smaller, smallest first."""
    yield from readings(art, ("hole",), WIDEST if up_to is None else up_to, "hole")


@measures("mm")
def trap(art: Artwork, order: Order) -> Iterator[Reading]:
    """Overlap of every pair of inks that touch, mm: 0 where their edges only meet.

    Inks that lie wholly on another one have no edge that could gape, and are not listed; nor is the white of a box
    behind the art, which has to go anyway.
    """
    if all_tone(art):
        return
    for one in sorted(traps(art, ground.sheets(art)), key=lambda t: t.width):
        names = [ink_name(art, number) for number in one.inks]
        yield Reading(
            value=one.width, what=f"{names[0]} against {names[1]}", where=one.boxes,
            margin=max(margin_of(art), 1 / finest_resolution(art, DENSITY)) if one.width else 0.0,
            facts={"inks": names, "places": len(one.boxes)},
        )  # fmt: skip


def narrowest_gap(art: Artwork) -> Reading | None:
    """Width of the narrowest gap of the whole art, within an ink or between two, mm, up to 20 mm; None when there is none."""
    if all_tone(art):
        return None
    one = least(art, ("gap", "between"))
    return None if one is None else reading_of(art, one, "gap")
