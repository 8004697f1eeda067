"""How far a round article falls away under a flat print."""

from collections.abc import Iterator

from preflight.artwork import Artwork
from preflight.measure import measures
from preflight.measure.extent import printed
from preflight.order import Order
from preflight.quantity import written
from preflight.reading import Reading


def sagitta(width_mm: float, diameter_mm: float) -> float | None:
    """Height fall in mm across a print `width_mm` wide on a cylinder: D/2 - sqrt((D/2)² - (w/2)²).

    None when the print is wider than the cylinder.
    """
    if width_mm > diameter_mm:
        return None
    radius, half = diameter_mm / 2, width_mm / 2
    # The same as radius - sqrt(radius² - half²), without the loss of digits on large articles.
    return half * half / (radius + (radius * radius - half * half) ** 0.5)


@measures("mm")
def height_change(art: Artwork, order: Order) -> Iterator[Reading]:
    """Height fall inside the print, mm, across its width on an article of the stated diameter; nothing without one."""
    if not order.diameter_mm or not printed(art):
        return
    fall = sagitta(art.width_mm, order.diameter_mm)
    if fall is None:
        # Wider than the article: beyond the horizon the fall is at least the radius.
        fall = order.diameter_mm / 2
    yield Reading(
        value=fall,
        what=f"a print {written(art.width_mm, 'mm')} wide on {written(order.diameter_mm, 'mm')}",
        where=(art.box,),
    )
