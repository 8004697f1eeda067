"""How large the art is, and whether there is any."""

from collections.abc import Iterator

from preflight.artwork import Artwork
from preflight.measure import measures
from preflight.order import Order, print_area
from preflight.reading import Reading


def printed(art: Artwork) -> int:
    """How many drawing objects leave something visible; 0 when the page is blank."""
    return art.once("extent.printed", lambda: _printed(art))


def _printed(art: Artwork) -> int:
    drawn = sum(mark.ink is not None or mark.kind == "shading" for mark in art.marks)
    pictures = sum(mark.kind == "picture" for mark in art.marks)
    if drawn or not (pictures or art.composite or art.kind == "bitmap"):
        return drawn + pictures
    if art.inks or art.fades or art.width_mm <= 0 or art.height_mm <= 0:
        return max(len(art.inks) + len(art.fades), pictures if art.inks or art.fades else 0)
    # A sheet of blank pixels is a picture mark too: look whether it covers anything.
    coarse = min(4.0, 1000 / max(art.width_mm, art.height_mm))
    covered = art.coverage(None, art.box, max(coarse, 1.01 / min(art.width_mm, art.height_mm)))
    return pictures or 1 if bool((covered > 12).any()) else 0


@measures("")
def marks(art: Artwork, order: Order) -> Iterator[Reading]:
    """Objects that leave something visible, a count; 0 when the page is blank."""
    yield Reading(value=float(printed(art)), what="this page", where=(art.box,) if printed(art) else ())


def _side(art: Artwork, value: float, what: str) -> Iterator[Reading]:
    if printed(art):
        yield Reading(value=value, what=what, where=(art.box,))


@measures("mm")
def width(art: Artwork, order: Order) -> Iterator[Reading]:
    """Width of the art as produced, mm."""
    yield from _side(art, art.width_mm, "the width of the art")


@measures("mm")
def height(art: Artwork, order: Order) -> Iterator[Reading]:
    """Height of the art as produced, mm."""
    yield from _side(art, art.height_mm, "the height of the art")


@measures("mm")
def long_side(art: Artwork, order: Order) -> Iterator[Reading]:
    """The longer of width and height, mm: for areas that may be turned."""
    yield from _side(art, max(art.width_mm, art.height_mm), "the longer side of the art")


@measures("mm")
def short_side(art: Artwork, order: Order) -> Iterator[Reading]:
    """The shorter of width and height, mm."""
    yield from _side(art, min(art.width_mm, art.height_mm), "the shorter side of the art")


@measures("mm2")
def box_area(art: Artwork, order: Order) -> Iterator[Reading]:
    """Area of the box around the art, mm²."""
    yield from _side(art, art.width_mm * art.height_mm, "the box around the art")


@measures("%")
def area_used(art: Artwork, order: Order) -> Iterator[Reading]:
    """The larger of width and height, each in % of the usual area of the article; nothing where no area is known.

    Where the area turns with the art, the better of upright and turned by a quarter counts.
    """
    area = print_area(order)
    if area is None or not printed(art):
        return
    across, down = art.width_mm, art.height_mm
    share = max(across / area.width_mm, down / area.height_mm)
    if area.turns:
        share = min(share, max(down / area.width_mm, across / area.height_mm))
    yield Reading(
        value=100 * share, what=area.words, where=(art.box,),
        facts={"area_width_mm": area.width_mm, "area_height_mm": area.height_mm},
    )  # fmt: skip
