"""The figures a craftsman would ask for first: finest line, narrowest gap, smallest lettering, resolution, inks.

Each is taken on its own: one that breaks becomes None and is logged, and the others stand.
"""

from collections.abc import Callable

from preflight.artwork import Artwork, Ink
from preflight.findings import ArtFacts, Colour, FontFacts, ImageFacts, Measures
from preflight.measure import gaps, inks, lettering, resolution, strokes, tone
from preflight.measure.attempt import attempt
from preflight.measure.width_source import all_tone
from preflight.order import Order
from preflight.quantity import decimals, plain
from preflight.reading import Reading

#: So many bitmaps and fonts are listed.
MOST = 200


def measures(art: Artwork, order: Order) -> Measures:
    """The figures of one page of art at the ordered size; each that is None has its reason in `not_taken`."""
    picture = all_tone(art)
    figures: dict[str, tuple[Callable[[], float | None], str]] = {
        "finest_line_mm": (lambda: _value(strokes.finest_line(art)), picture or "there is no line under 20 mm"),
        "narrowest_gap_mm": (lambda: _value(gaps.narrowest_gap(art)), picture or "there is no gap under 20 mm"),
        "smallest_lettering_mm": (lambda: _value(lettering.smallest(art)), "no lettering was found"),
        "smallest_detail_mm": (
            lambda: _value(strokes.smallest_detail(art)), picture or "there is no isolated detail under 20 mm",
        ),
        "lowest_ppi": (lambda: _round(resolution.lowest(art), 1), "there is no bitmap in the art"),
        "colour_count": (lambda: _colour_count(art, order), "a picture has no colours that could be counted"),
        "ink_area_mm2": (lambda: _ink_area(art), "no inks were told apart"),
        "has_gradient": (lambda: _has_gradient(art, order), "it could not be looked for in all of the art"),
    }  # fmt: skip
    taken: dict[str, float | None] = {}
    not_taken: dict[str, str] = {}
    for name, (make, why_none) in figures.items():
        taken[name], broke = attempt(name, make)
        if taken[name] is None:
            not_taken[name] = broke or why_none
    return Measures(**taken, not_taken=not_taken)  # type: ignore[arg-type]


def _value(reading: Reading | None) -> float | None:
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
    found, _ = attempt("the inks' areas", lambda: inks.areas(art))
    areas = {ink.number: (area, share) for ink, area, share in found or ()}
    listed = []
    for ink in art.inks:
        area, share = areas.get(ink.number, (None, None))
        if area != 0:  # an ink wholly hidden under others is not printed
            listed.append(_colour(ink, area, share, order))
    return tuple(listed)


def _colour(ink: Ink, area: float | None, share: float | None, order: Order) -> Colour:
    match, _ = attempt("the chart entry", lambda: inks.chart_match(ink, order))
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
