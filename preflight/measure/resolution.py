"""Resolution: pixels per inch of each bitmap at the produced size, counted at the detail it really has.

A bitmap of flat colours or of one bit is line art and needs more than a picture; a bitmap of one colour all over is a
box, and has no resolution at all.
"""

from collections.abc import Iterator

from preflight.artwork import Artwork, Picture
from preflight.measure import measures
from preflight.measure.tone import not_looked_at
from preflight.order import Order
from preflight.reading import Reading

#: Uncertainty of an enlargement read from the width of edges, as a part of it; repeated pixels are exact.
DETAIL_MARGIN = 0.15
#: Smaller enlargements are not told from a soft original.
LEAST_ENLARGEMENT = 1.5
#: How sure it is that a bitmap nobody could look into is a picture rather than line art.
SURE_UNSEEN = 0.5


@measures("ppi")
def line_art(art: Artwork, order: Order) -> Iterator[Reading]:
    """Resolution of each bitmap of line art or flat colour, ppi at the produced size and at its true detail."""
    for picture in art.pictures:
        if not picture.flat and _is_line_art(picture):
            yield _resolution(picture, "bitmap")


@measures("ppi")
def pictures(art: Artwork, order: Order) -> Iterator[Reading]:
    """Resolution of each bitmap of continuous tone, ppi at the produced size and at its true detail."""
    for picture in art.pictures:
        if not picture.flat and not _is_line_art(picture):
            yield _resolution(picture, "picture")


@measures("ratio")
def scaled_up(art: Artwork, order: Order) -> Iterator[Reading]:
    """How many times each bitmap was enlarged before it was sent; only those enlarged noticeably."""
    for picture in art.pictures:
        scale = enlargement(picture)
        if not picture.flat and scale >= LEAST_ENLARGEMENT:
            exact = bool(getattr(picture.tone, "pixel_doubled", False))
            yield Reading(
                value=scale,
                what=_said(picture, "bitmap"),
                where=(picture.box,),
                margin=0.0 if exact else DETAIL_MARGIN * scale,
                facts={"ppi": min(picture.ppi), "true_ppi": effective(picture), "repeated_pixels": exact},
            )


def lowest(art: Artwork) -> float | None:
    """The lowest resolution of any bitmap in the art, ppi at its true detail; None when there is none."""
    return min((effective(picture) for picture in art.pictures if not picture.flat), default=None)


def effective(picture: Picture) -> float:
    """The smaller of the two directions, at the detail the bitmap really has, ppi."""
    return min(picture.lowest_ppi, *(picture.true_ppi or picture.ppi))


def enlargement(picture: Picture) -> float:
    """How many times a bitmap was enlarged before it was sent; 1.0 when it was not, or nobody looked."""
    by_pixels = float(getattr(picture.tone, "enlargement", 1.0))
    by_ppi = picture.lowest_ppi / effective(picture) if effective(picture) > 0 else 1.0
    return max(1.0, by_pixels, by_ppi)


def _is_line_art(picture: Picture) -> bool:
    if picture.stencil or picture.bits == 1:
        return True
    return picture.tone is not None and not picture.tone.continuous


def _resolution(picture: Picture, noun: str) -> Reading:
    value = effective(picture)
    limited = value < picture.lowest_ppi * 0.999
    exact = bool(getattr(picture.tone, "pixel_doubled", False))
    return Reading(
        value=value,
        what=_said(picture, noun),
        where=(picture.box,),
        sure=SURE_UNSEEN if not_looked_at(picture) else 1.0,
        margin=DETAIL_MARGIN * value if limited and not exact else 0.0,
        facts={"ppi": picture.lowest_ppi, "true_ppi": min(picture.true_ppi or picture.ppi)},
    )


def _said(picture: Picture, noun: str) -> str:
    across, down = picture.pixels
    return f"the {noun} of {across} × {down} pixels"
