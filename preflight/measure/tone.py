"""Tone: gradients, soft edges, photographs, halftones and tints, and how many levels of tone the art has."""

from collections.abc import Iterator

from preflight.artwork import Artwork, Fade, Ink, Picture
from preflight.colour import difference, lab_of
from preflight.measure import measures
from preflight.order import Order
from preflight.reading import Reading

#: A tint or an opacity nearer to 0 or 1 than this is nothing, or the solid (fraction).
NO_TINT = 0.01
#: A mark whose colour is this close to its ink's is printed solid, CIEDE2000.
SOLID = 3.0
#: A fade adds at least its two ends to the levels of tone.
LEVELS_OF_A_FADE = 2
#: Uncertainty of a halftone's ruling read from a spectrum, as a part of it.
RULING_MARGIN = 0.05

_PLURAL = {
    "gradient": "gradients",
    "photograph": "photographs",
    "soft edge": "soft edges and shadows",
    "halftone": "halftones",
}


@measures("")
def gradients(art: Artwork, order: Order) -> Iterator[Reading]:
    """Gradients and shadings, how many."""
    yield from _counted(art, "gradient")


@measures("")
def photographs(art: Artwork, order: Order) -> Iterator[Reading]:
    """Photographs and other continuous pictures, how many."""
    yield from _counted(art, "photograph")


@measures("")
def soft_edges(art: Artwork, order: Order) -> Iterator[Reading]:
    """Soft shadows, glows and edges that fade out, how many."""
    yield from _counted(art, "soft edge")


@measures("")
def halftones(art: Artwork, order: Order) -> Iterator[Reading]:
    """Areas of halftone dots in bitmaps, how many."""
    yield from _counted(art, "halftone")


@measures("")
def continuous(art: Artwork, order: Order) -> Iterator[Reading]:
    """Places of any continuous tone: gradients, soft edges, photographs and halftones, how many."""
    yield from _counted(art, "gradient", "soft edge", "photograph", "halftone")


@measures("%")
def tints(art: Artwork, order: Order) -> Iterator[Reading]:
    """Strength of the lightest tint of each ink that is printed in tints, per cent."""
    for ink in art.inks:
        strengths = strengths_of(art, ink)
        if strengths:
            yield _tint(art, ink, min(strengths))


@measures("%")
def darkest_tint(art: Artwork, order: Order) -> Iterator[Reading]:
    """Strength of the darkest tint under solid of each ink that is printed in tints, per cent."""
    for ink in art.inks:
        strengths = strengths_of(art, ink)
        if strengths:
            yield _tint(art, ink, max(strengths))


@measures("lpi")
def halftone_ruling(art: Artwork, order: Order) -> Iterator[Reading]:
    """Ruling of each halftone found in a bitmap, lines per inch at the produced size."""
    for fade in art.fades:
        if fade.kind != "halftone":
            continue
        if fade.lpi is None:
            yield Reading(
                value=None,
                what="a halftone",
                where=(fade.box,),
                reason="there are halftone dots, but their ruling could not be told.",
            )
        else:
            yield Reading(
                value=fade.lpi,
                what="a halftone",
                where=(fade.box,),
                sure=fade.sure,
                margin=RULING_MARGIN * fade.lpi,
            )


@measures("")
def levels(art: Artwork, order: Order) -> Iterator[Reading]:
    """Levels of tone: 1 for art in one flat colour; every further ink, tint and end of a fade adds one."""
    if not art.inks and not art.fades:
        return
    count = sum(len(strengths_of(art, ink)) + _is_solid_too(art, ink) for ink in art.inks)
    fading = [fade for fade in art.fades if fade.kind != "halftone"]  # its dots are one flat colour
    count += LEVELS_OF_A_FADE * len(fading)
    yield Reading(
        value=float(count),
        what="the art",
        where=tuple(fade.box for fade in fading) + _tinted_boxes(art),
        sure=min([fade.sure for fade in fading], default=1.0) if len(art.inks) <= 1 else 1.0,
        facts={"inks": len(art.inks), "fades": len(fading)},
    )


def strengths_of(art: Artwork, ink: Ink) -> list[float]:
    """Strengths under solid in which an ink is printed, fractions in rising order: its tints, and its see-through marks."""
    found = set(ink.tints)
    found |= {mark.opacity for mark in art.marks if mark.ink == ink.number}
    return sorted({round(f, 3) for f in found if NO_TINT < f < 1 - NO_TINT})


def _is_solid_too(art: Artwork, ink: Ink) -> bool:
    """Whether the ink is printed solid somewhere, beside any tints."""
    if not ink.tints and not any(mark.opacity < 1 for mark in art.marks if mark.ink == ink.number):
        return True
    own = [mark for mark in art.marks if mark.ink == ink.number]
    return any(
        mark.opacity >= 1 - NO_TINT
        and (not mark.hex or difference(lab_of(mark.hex), lab_of(ink.hex)) < SOLID)
        for mark in own
    )


def _tinted_boxes(art: Artwork) -> tuple[tuple[float, float, float, float], ...]:
    """Boxes of the marks that are a tint by their opacity."""
    return tuple(m.box for m in art.marks if m.ink is not None and NO_TINT < m.opacity < 1 - NO_TINT)


def _tint(art: Artwork, ink: Ink, strength: float) -> Reading:
    where = tuple(
        mark.box for mark in art.marks if mark.ink == ink.number and abs(mark.opacity - strength) < 0.001
    )
    return Reading(
        value=100 * strength,
        what=f"the ink {ink.name}",
        where=where,
        facts={"ink": ink.name, "tints": len(ink.tints)},
    )


def _counted(art: Artwork, *kinds: str) -> Iterator[Reading]:
    """One reading: how many fades of these kinds, boxes surest first; and that a bitmap was not looked at."""
    found: list[Fade] = sorted((f for f in art.fades if f.kind in kinds), key=lambda f: -f.sure)
    word = _PLURAL[kinds[0]] if len(kinds) == 1 else "continuous tone"
    if found:
        yield Reading(
            value=float(len(found)),
            what=word,
            where=tuple(fade.box for fade in found),
            sure=found[0].sure,
            facts={"kinds": sorted({fade.kind for fade in found})},
        )
        return
    unseen = [picture for picture in art.pictures if not_looked_at(picture)]
    if unseen:
        yield Reading(
            value=None,
            what=word,
            where=tuple(picture.box for picture in unseen),
            reason="the pixels of a bitmap in the art could not be looked at.",
        )
    elif art.marks or art.pictures or art.inks:
        yield Reading(value=0.0, what=word)


def not_looked_at(picture: Picture) -> bool:
    """Whether nobody has looked at a bitmap's pixels although they may hold tone."""
    return picture.tone is None and not picture.flat and not picture.stencil and picture.bits > 1
