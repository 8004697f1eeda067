"""The figures a craftsman would ask for first: finest line, narrowest gap, smallest lettering, resolution, inks.

Each is taken on its own: one that breaks becomes None and is logged, and the others stand.
"""

import logging
from collections.abc import Callable
from typing import TypeVar

from preflight.artwork import Artwork, Ink
from preflight.findings import ArtFacts, Colour, FontFacts, ImageFacts, Measures
from preflight.measure import gaps, inks, lettering, resolution, strokes, tone
from preflight.order import Order
from preflight.quantity import decimals, plain
from preflight.reading import Reading

_log = logging.getLogger(__name__)
T = TypeVar("T")
#: So many bitmaps and fonts are listed.
MOST = 200


def measures(art: Artwork, order: Order) -> Measures:
    """The figures of one page of art at the ordered size; None where one does not apply or could not be taken."""
    return Measures(
        finest_line_mm=_value("finest line", lambda: strokes.finest_line(art)),
        narrowest_gap_mm=_value("narrowest gap", lambda: gaps.narrowest_gap(art)),
        smallest_lettering_mm=_value("smallest lettering", lambda: lettering.smallest(art)),
        smallest_detail_mm=_value("smallest detail", lambda: strokes.smallest_detail(art)),
        lowest_ppi=_taken("lowest resolution", lambda: _round(resolution.lowest(art), 1)),
        colour_count=_taken("colours", lambda: _colour_count(art, order)),
        ink_area_mm2=_taken("ink area", lambda: _ink_area(art)),
        has_gradient=_taken("gradients", lambda: _has_gradient(art, order)),
    )


def _taken(what: str, make: Callable[[], T]) -> T | None:
    try:
        return make()
    except Exception:
        _log.exception("the %s could not be measured", what)
        return None


def _value(what: str, make: Callable[[], Reading | None]) -> float | None:
    reading = _taken(what, make)
    if reading is None or reading.value is None:
        return None
    # One decimal more than a report prints: figures here are for reckoning on.
    return round(float(reading.value), decimals(reading.value, "mm") + 1)


def _round(value: float | None, digits: int) -> float | None:
    return None if value is None else round(float(value), digits)


def _colour_count(art: Artwork, order: Order) -> int | None:
    counted = [reading.value for reading in inks.count(art, order) if reading.value is not None]
    return int(max(counted)) if counted else None


def _ink_area(art: Artwork) -> float | None:
    """What the inks cover, each by itself: two inks over one another count twice."""
    return round(sum(area for _, area, _ in inks.areas(art)), 1) if art.inks else None


def _has_gradient(art: Artwork, order: Order) -> bool | None:
    values = [reading.value for reading in tone.continuous(art, order)]
    if any(values):
        return True
    return None if None in values else False


def colours(art: Artwork, order: Order) -> tuple[Colour, ...]:
    """Each ink with its printed area, its share of the print box, and the chart entry of its name or nearest to it."""
    found = _taken("ink areas", lambda: inks.areas(art))
    areas = {ink.number: (area, share) for ink, area, share in found or ()}
    listed = []
    for ink in art.inks:
        area, share = areas.get(ink.number, (None, None))
        if area != 0:  # an ink wholly hidden under others is not printed
            listed.append(_colour(ink, area, share, order))
    return tuple(listed)


def _colour(ink: Ink, area: float | None, share: float | None, order: Order) -> Colour:
    match = _taken("chart entry", lambda: inks.chart_match(ink, order))
    return Colour(
        name=plain(ink.name), kind=ink.kind, hex=ink.hex, lab=tuple(round(float(v), 2) for v in ink.lab),  # type: ignore[arg-type]
        area_mm2=_round(area, 1), share=_round(share, 4), tints=tuple(round(float(t), 3) for t in ink.tints),
        chart_entry=plain(match.entry.name) if match else None, delta_e=round(float(match.delta_e), 2) if match else None,
    )  # fmt: skip


def art_facts(art: Artwork) -> ArtFacts:
    """What the art is: format, kind, sizes, its bitmaps and fonts."""
    return ArtFacts(
        format=art.format,
        kind=art.kind,
        width_mm=round(art.width_mm, 3),
        height_mm=round(art.height_mm, 3),
        file_width_mm=round(art.file_width_mm, 3),
        file_height_mm=round(art.file_height_mm, 3),
        images=tuple(
            ImageFacts(
                ppi=round(float(picture.lowest_ppi), 1),
                true_ppi=_round(min(picture.true_ppi), 1) if picture.true_ppi else None,
                box_mm=tuple(round(float(v), 2) for v in picture.box),  # type: ignore[arg-type]
                pixels=picture.pixels,
                jpeg_quality=_round(picture.jpeg_quality, 1),
            )
            for picture in [p for p in art.pictures if not p.flat][:MOST]
        ),
        fonts=tuple(
            FontFacts(name=plain(font.name, 80), embedded=font.embedded and not font.substituted)
            for font in art.fonts[:MOST]
        ),
    )
