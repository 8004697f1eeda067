"""What the order does not say: size, ground, material, position, article, inks; and where it contradicts the art.

Every function yields one Reading: 1 when it is missing, else 0.
"""

from collections.abc import Iterator

from preflight import order as orders
from preflight.artwork import Artwork
from preflight.measure import measures
from preflight.order import Order
from preflight.quantity import plain, written
from preflight.reading import Reading

#: Stated sizes may be off by the larger of these before they contradict the art: sizes are written in whole
#: millimetres, and a hundredth is within any fitting (our default).
ROUNDING_MM = 0.5
ROUNDING_SHARE = 0.01


def _missing(missing: bool, what: str) -> Iterator[Reading]:
    yield Reading(value=float(missing), what=what)


@measures("")
def no_size(art: Artwork, order: Order) -> Iterator[Reading]:
    """Neither width nor height is stated: 1, else 0."""
    yield from _missing(order.width_mm is None and order.height_mm is None, "the finished width or height")


@measures("")
def no_ground(art: Artwork, order: Order) -> Iterator[Reading]:
    """The colour of the article is not stated, or not understood: 1, else 0; "clear" is an answer too."""
    what = "the colour of the article"
    if order.ground is None and order.ground_words:
        what += f" (“{plain(order.ground_words, 60)}” is not a colour we know)"
    yield from _missing(order.ground is None and "clear" not in order.tags, what)


@measures("")
def no_material(art: Artwork, order: Order) -> Iterator[Reading]:
    """The material is not stated, and the article does not tell it: 1, else 0."""
    missing = not order.material.strip() and "substance-known" not in order.tags
    yield from _missing(missing, "the material and its coating")


@measures("")
def no_position(art: Artwork, order: Order) -> Iterator[Reading]:
    """The place on the article is not stated: 1, else 0."""
    yield from _missing(not order.position.strip(), "the place on the article")


@measures("")
def no_item(art: Artwork, order: Order) -> Iterator[Reading]:
    """The article is not stated: 1, else 0."""
    yield from _missing(not order.item.strip(), "the article")


@measures("")
def no_inks(art: Artwork, order: Order) -> Iterator[Reading]:
    """No ink or thread is named: neither in the order nor, as a spot colour for every ink, in the file: 1, else 0."""
    in_file = bool(art.inks) and all(ink.kind == "spot" for ink in art.inks)
    yield from _missing(not order.colours and not in_file, "the ink or thread references")


@measures("")
def proportions(art: Artwork, order: Order) -> Iterator[Reading]:
    """Stated width and height contradict the art's proportions: 1, else 0; nothing unless both are stated."""
    if not order.width_mm or not order.height_mm:
        return
    told = next(art.facts_of("proportions"), None)
    if told is not None:
        yield Reading(value=1.0, what=plain(told.text) or "the stated width and height", where=(art.box,))
        return
    if art.width_mm <= 0 or art.height_mm <= 0:
        return
    # Is there one scale at which both sides agree with what is stated, as exactly as sizes are stated?
    sides = ((order.width_mm, art.width_mm), (order.height_mm, art.height_mm))
    spans = [
        ((stated - slack) / side, (stated + slack) / side)
        for stated, side in sides
        for slack in (max(ROUNDING_MM, ROUNDING_SHARE * stated),)
    ]
    wrong = max(low for low, _ in spans) > min(high for _, high in spans)
    what = "the stated width and height"
    if wrong:
        fit = min(stated / side for stated, side in sides)
        what += f" (fitted inside, the art is {written(art.width_mm * fit, 'mm')} × {written(art.height_mm * fit, 'mm')})"
    yield Reading(value=float(wrong), what=what, where=(art.box,) if wrong else ())


@measures("")
def unknown_words(art: Artwork, order: Order) -> Iterator[Reading]:
    """Words for the article or its material that the list of articles does not know, a count."""
    if not order.item.strip() and not order.material.strip():
        return
    words = orders.unknown_words(order)
    yield Reading(
        value=float(len(words)), what=quoted(words) or "the article and its material", facts={"words": words}
    )


def quoted(words: tuple[str, ...]) -> str:
    """Words of the order as they are said in a sentence: “PVC”, “foam” and “card”."""
    shown = [f"“{plain(word, 60)}”" for word in words[:6]]
    return shown[0] if len(shown) == 1 else ", ".join(shown[:-1]) + " and " + shown[-1] if shown else ""
