"""Lines and isolated detail of each ink, as its plate will print them: knock-outs cut, strokes, fills and letters alike.

Vector art is measured to 0.005 mm or 1 %, bitmaps to half a pixel (the margin of each Reading).
"""

from collections.abc import Iterator

import cv2
import numpy as np

from preflight.artwork import Artwork
from preflight.measure import measures
from preflight.measure.width_coarse import look
from preflight.measure.width_solids import solids, widest_place
from preflight.measure.width_source import all_tone, margin_of
from preflight.measure.widths import WIDEST, found, ink_name, least, reading_of, readings, shown
from preflight.order import Order
from preflight.reading import Reading

#: A line finer than this loses its edges under the heat that a large solid in the same block needs (foil blocking;
#: common practice: the trade asks for two blocks where hairlines stand beside solids).
FINE_DETAIL = 0.5
#: Solids from this area up need more heat and dwell than fine lines can take, mm² (our default for the rule of thumb
#: "large solid").
LARGE_SOLID = 600.0
#: The block is one temperature within about this distance of the solid, mm.
BESIDE = 3.0
#: Whatever is thinner than this is no part of a solid, mm.
SOLID_FROM = 1.5


@measures("mm")
def lines(art: Artwork, order: Order, up_to: float | None = None) -> Iterator[Reading]:
    """Width of every printed line thinner than `up_to`, mm, thinnest first.

    Strokes of no width or under 0.1 mm count with their pen.  Where none is thinner the finest line there is.
    """
    yield from readings(art, ("line",), WIDEST if up_to is None else up_to, "line", True)


@measures("mm")
def specks(art: Artwork, order: Order, up_to: float | None = None) -> Iterator[Reading]:
    """Size of isolated dots and short bars smaller than `up_to`, mm: equivalent diameter or short side, the smaller."""
    yield from readings(art, ("speck",), WIDEST if up_to is None else up_to, "isolated detail")


def finest_line(art: Artwork) -> Reading | None:
    """Width of the finest line of the whole art, mm, up to 20 mm; of art without lines its narrowest solid.

    None when everything is wider, when there is nothing, or when the art is all continuous tone.
    """
    if all_tone(art):
        return None
    one = least(art, ("line",))
    if one is not None:
        return reading_of(art, one, "line")
    places = [(place, ink) for ink in art.inks if (place := widest_place(art, ink.number)) is not None]
    if not places:
        return None
    (width, box), ink = min(places, key=lambda item: item[0][0])
    if width > WIDEST:
        return None
    return Reading(
        value=width, what=f"the shape in {ink_name(art, ink.number)}", where=(box,), margin=margin_of(art),
        facts={"ink": ink_name(art, ink.number)},
    )  # fmt: skip


def smallest_detail(art: Artwork) -> Reading | None:
    """Size of the smallest isolated dot or bar of the whole art, mm, up to 20 mm; None when there is none."""
    if all_tone(art):
        return None
    one = least(art, ("speck",))
    return None if one is None else reading_of(art, one, "isolated detail")


@measures("mm")
def widest(art: Artwork, order: Order) -> Iterator[Reading]:
    """Diameter of the largest circle that fits in each ink's areas, mm: one Reading an ink, at its widest place."""
    for ink in art.inks:
        place = widest_place(art, ink.number)
        if place is not None:
            name = ink_name(art, ink.number)
            yield Reading(
                value=place[0],
                what=f"the widest solid in {name}",
                where=(place[1],),
                margin=margin_of(art),
                facts={"ink": name},
            )


@measures("")
def fine_detail_beside_solid(art: Artwork, order: Order) -> Iterator[Reading]:
    """How many lines finer than 0.5 mm lie within 3 mm of a solid over 600 mm² of the same ink."""
    if not art.inks or all_tone(art):
        return
    boxes = []
    names: list[str] = []
    for ink in art.inks:
        large = solids(art, ink.number, LARGE_SOLID, SOLID_FROM)
        if large is None:
            continue
        mask, density = large
        apart = cv2.distanceTransform(cv2.bitwise_not(mask), cv2.DIST_L2, 5) / density
        from_origin = look(art).origin(1)
        for one in found(art, ("line",), FINE_DETAIL).things:
            if one.inks != (ink.number,):
                continue
            at = np.floor((one.points + from_origin) * density).astype(int)
            columns = np.clip(at[:, 0], 0, mask.shape[1] - 1)
            rows = np.clip(at[:, 1], 0, mask.shape[0] - 1)
            if apart[rows, columns].min() <= BESIDE:
                boxes.append(shown(art, one))
                names.append(ink_name(art, ink.number))
    if not boxes:
        yield Reading(value=0, what="fine lines beside large solids")
        return
    listed = " and ".join(sorted(set(names)))
    facts = {"ink": listed, "count": len(boxes)}
    yield Reading(
        value=len(boxes), what=f"fine lines beside a large solid in {listed}", where=tuple(boxes), facts=facts
    )
