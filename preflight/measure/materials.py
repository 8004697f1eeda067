"""What the words for article and material mean for a method: forbidden, doubtful, unknown, soft, hard, round.

The words and their tags stand in the list of articles (`rules/articles.toml`); every function counts the order's own
words that carry a tag, and yields nothing when the order names neither article nor material.
"""

from collections.abc import Iterator

from preflight.artwork import Artwork
from preflight.measure import measures
from preflight.measure.request import quoted
from preflight.order import Order, unknown_material, words_tagged
from preflight.order import cloth_weight as stated_cloth_weight
from preflight.reading import Reading


def _tagged(order: Order, *tags: str) -> Iterator[Reading]:
    if order.item.strip() or order.material.strip():
        words = tuple(dict.fromkeys(word for tag in tags for word in words_tagged(order, tag)))
        yield Reading(value=float(len(words)), what=quoted(words) or "the article", facts={"words": words})


@measures("")
def never_laser(art: Artwork, order: Order) -> Iterator[Reading]:
    """Words for materials that must never be lasered, a count."""
    yield from _tagged(order, "never-laser")


@measures("")
def maybe_laser(art: Artwork, order: Order) -> Iterator[Reading]:
    """Words that may only mean such a material, a count."""
    yield from _tagged(order, "maybe-laser")


@measures("")
def unknown(art: Artwork, order: Order) -> Iterator[Reading]:
    """Words for the material that the list does not know, a count; nothing when no material is stated."""
    if order.material.strip():
        words = unknown_material(order)
        yield Reading(value=float(len(words)), what=quoted(words) or "the material", facts={"words": words})


@measures("")
def heat_tender(art: Artwork, order: Order) -> Iterator[Reading]:
    """Words for materials that melt, glaze or scorch under a heat press, a count."""
    yield from _tagged(order, "heat-tender")


@measures("")
def textile(art: Artwork, order: Order) -> Iterator[Reading]:
    """Words for cloth and made-up textiles, a count."""
    yield from _tagged(order, "textile")


@measures("")
def not_flat(art: Artwork, order: Order) -> Iterator[Reading]:
    """Words for round or uneven articles, a count."""
    yield from _tagged(order, "round", "uneven")


@measures("")
def unsuitable_for_thread(art: Artwork, order: Order) -> Iterator[Reading]:
    """Words for materials that needles spoil: leather, padding, waterproof cloth; a count."""
    yield from _tagged(order, "no-thread")


@measures("")
def low_energy(art: Artwork, order: Order) -> Iterator[Reading]:
    """Words for plastics that ink does not grip untreated, a count."""
    yield from _tagged(order, "low-energy")


@measures("")
def hard(art: Artwork, order: Order) -> Iterator[Reading]:
    """Words for hard materials that can be neither pressed nor sewn, a count."""
    yield from _tagged(order, "hard")


@measures("")
def not_for_yag(art: Artwork, order: Order) -> Iterator[Reading]:
    """Words for materials the metal-marking laser does not mark, a count."""
    yield from _tagged(order, "no-yag")


@measures("")
def not_for_co2(art: Artwork, order: Order) -> Iterator[Reading]:
    """Words for materials the carbon-dioxide laser does not mark, a count."""
    yield from _tagged(order, "no-co2")


@measures("")
def dye_bleed(art: Artwork, order: Order) -> Iterator[Reading]:
    """Words for cloth whose dye may wander into a print, a count."""
    yield from _tagged(order, "dye-bleed")


@measures("g/m2")
def cloth_weight(art: Artwork, order: Order) -> Iterator[Reading]:
    """Stated weight of the cloth, g/m²; nothing when the order does not state one."""
    weight = stated_cloth_weight(order)
    if weight is not None:
        yield Reading(value=weight, what="the cloth")


@measures("")
def clear(art: Artwork, order: Order) -> Iterator[Reading]:
    """Words for clear articles, a count; a ground that was stated as clear counts as one."""
    words = words_tagged(order, "clear")
    if words or "clear" in order.tags:
        yield Reading(
            value=float(len(words) or 1), what=quoted(words) or "the article", facts={"words": words}
        )
    elif order.item.strip() or order.material.strip():
        yield Reading(value=0.0, what="the article")
