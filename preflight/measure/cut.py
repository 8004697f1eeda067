"""The cut: bleed past it, margin inside it, and whether its shape can be cut, domed and weeded.

The outline is the one the file holds: lines in a spot colour or layer named for it, else the outermost closed hairline,
else the trim box.  Where there is none it is derived from the art (facts: derived=True, and the certainty is low, so that
no derived outline ever fails a job by its shape alone).
"""

from collections.abc import Iterator

import numpy as np

from preflight.artwork import Artwork, Box, union
from preflight.measure import cut_bleed, cut_edge, cut_margin, cut_shape, measures
from preflight.measure.cut_outline import Cut, Piece, cut_in_file, cut_of
from preflight.measure.rings import signed_area
from preflight.order import Order
from preflight.reading import Reading

#: Bleed and margin beyond this are not told apart, mm.
FAR = 6.0
#: Corners rounder than this are not told apart, mm.
ROUND = 12.0
#: Pixels over which an outline traced from the art is smoothed before its corners are looked at: a straight edge or an arc
#: then turns by less than a degree a pixel, and a sharp corner still reads as sharp.
TRACED = 1.5
#: So many pieces of a sheet, the largest, have their shapes measured.
_MOST_PIECES = 300


def outline_box(art: Artwork) -> Box | None:
    """The box of the cut outline the file holds, mm of the art; None where it holds none."""
    cut = cut_in_file(art)
    return union([piece.box for piece in cut.pieces]) if cut and cut.pieces else None


def _facts(cut: Cut, **more: object) -> dict[str, object]:
    return {"derived": cut.derived, "source": cut.source, **more}


def _line(cut: Cut) -> str:
    return "the outline of the art" if cut.derived else "the cut line"


@measures("")
def outline(art: Artwork, order: Order) -> Iterator[Reading]:
    """Closed cut outlines in the file, a count; 0 when it was derived from the art, or the line does not close."""
    cut = cut_of(art)
    if not cut.pieces and not cut.loose_ends:
        return
    closed = 0 if cut.derived or cut.loose_ends else len(cut.pieces)
    what = "a cut line that does not close" if cut.loose_ends else _line(cut)
    where = cut.loose_ends or tuple(piece.box for piece in cut.pieces[:20])
    # A hairline is only taken for a cut line, and a trim box cuts straight: still the knife has one closed line to follow.
    yield Reading(value=float(closed), what=what, where=where, facts=_facts(cut, open=bool(cut.loose_ends)))


@measures("mm")
def bleed(art: Artwork, order: Order, up_to: float | None = None) -> Iterator[Reading]:
    """How far ink runs on past the cut, mm, where it reaches it; nothing where no ink touches the cut.

    Art without a cut line that is one piece with straight or simple edges is taken to be cut along them: its bleed is 0.
    Loose lettering and figures without a cut line will be cut out around, and have no bleed to measure.
    """
    cut = cut_of(art)
    if not cut.pieces:
        return
    if cut.derived:
        piece = cut.pieces[0]
        if len(cut.pieces) > 1 and not _carries(cut):
            return
        sure = 0.9 if _compact(piece) > 0.97 else cut.sure
        yield Reading(
            value=0.0,
            what="the colour at the edge of the art",
            where=(piece.box,),
            sure=sure,
            facts=_facts(cut),
        )
        return
    furthest = max(FAR, 1.2 * (up_to or 0.0))
    found = art.once(("bleeds", furthest), lambda: cut_bleed.bleeds(art, cut, furthest))
    for number, near in enumerate(found):
        if number and near.value >= (up_to if up_to is not None else near.value):
            break
        yield Reading(
            value=near.value, what=near.what, where=(near.box,), sure=cut.sure, margin=_pixel(art),
            facts=_facts(cut, at_least=near.value >= furthest),
        )  # fmt: skip
        if up_to is None:
            break


def _pixel(art: Artwork) -> float:
    """How exactly edges of ink are placed, mm."""
    return 0.5 * 25.4 / art.plate_ppi if art.plate_ppi else 0.01


def _carries(cut: Cut) -> bool:
    """Is the largest piece a backing that all others are crumbs beside?"""
    areas = [abs(signed_area(piece.outer)) for piece in cut.pieces]
    return bool(areas) and areas[0] >= 0.95 * sum(areas)


def _compact(piece: Piece) -> float:
    """Share of its convex hull that a piece fills."""
    hull = abs(signed_area(cut_shape.hull(piece.outer)))
    return abs(signed_area(piece.outer)) / max(hull, 1e-9)


@measures("mm")
def margin(art: Artwork, order: Order, up_to: float | None = None) -> Iterator[Reading]:
    """Distance from lettering and marks that do not cross the cut to the cut, mm, nearest first."""
    cut = cut_of(art)
    if not cut.pieces or (cut.derived and not _carries(cut)):
        return
    furthest = up_to if up_to is not None else 0.0
    # Pixels speak of bitmaps; where pictures fade, what counts as a mark is uncertain.
    blurred = bool(art.fades) and (art.composite or art.kind != "vector")
    found = art.once(("margins", furthest), lambda: cut_margin.margins(art, cut, furthest))
    for near in found[:1] if up_to is None else found[:60]:
        letter = "lettering" in near.what
        sure = min(cut.sure, 0.7 if blurred else 1.0 if letter or not art.composite else 0.9)
        yield Reading(
            value=near.value, what=near.what, where=(near.box,), sure=sure,
            margin=0.05 + cut.grain_mm if art.composite or cut.derived else 0.01, facts=_facts(cut, lettering=letter),
        )  # fmt: skip


@measures("mm")
def corner_radius(art: Artwork, order: Order, up_to: float | None = None) -> Iterator[Reading]:
    """Radius of the tightest corners of the outline, convex or concave, mm; 0 for a sharp one.

    Nothing for loose parts without a cut line, whose outline nobody has drawn yet.
    One Reading for the tightest corner of all, and one for each other corner tighter than `up_to`.
    """
    cut = cut_of(art)
    least = max(0.05, 4 * cut.grain_mm)
    found: list[tuple[float, Box]] = []
    if cut.derived and not _carries(cut):
        return
    for piece in cut.pieces[:1] if cut.derived else cut.pieces[:100]:
        traced = (cut_shape.eased(piece.outer, TRACED * cut.grain_mm),) if cut.derived else ()
        for ring in traced or piece.rings:
            for radius, place in cut_shape.corners(ring, max(ROUND, up_to or 0.0), least):
                if cut.derived and radius:
                    radius += (
                        TRACED * cut.grain_mm
                    )  # the tightest spot of a wavering arc was taken: measured, it reads so much low
                reach = max(0.7, min(radius, 3.0))
                x, y = map(float, place)
                found.append((radius, (x - reach, y - reach, x + reach, y + reach)))
    found.sort(key=lambda item: item[0])
    for number, (radius, box) in enumerate(found[:100]):
        if number and (up_to is None or radius >= up_to):
            break
        yield Reading(
            value=radius, what=f"a corner of {_line(cut)}", where=(box,), sure=cut.sure,
            margin=max(0.02 * radius, 2 * cut.grain_mm, 0.0125),
            facts=_facts(cut),
        )  # fmt: skip


@measures("mm")
def neck(art: Artwork, order: Order, up_to: float | None = None) -> Iterator[Reading]:
    """Width of the narrowest tongue or slot of the outline, mm; more of them where narrower than `up_to`."""
    cut = cut_of(art)
    if cut.derived and not _carries(cut):
        return
    found: list[tuple[float, str, Box]] = []
    for number, piece in enumerate(cut.pieces[:_MOST_PIECES]):
        for outside, what in ((False, "a tongue"), (True, "a slot")):
            for width, one, other in _necks(art, cut, number, piece, outside, not cut.derived):
                found.append((width, f"{what} of {_line(cut)}", _span(one, other)))
    yield from _narrow(found, cut, up_to)


def _necks(
    art: Artwork, cut: Cut, number: int, piece: Piece, outside: bool, with_holes: bool
) -> list[tuple[float, np.ndarray, np.ndarray]]:
    # Sheets of many pieces are looked at more coarsely: the work grows with the square of the places.
    most = max(250, min(cut_shape.MOST_SAMPLES, 24_000 // len(cut.pieces)))
    holes = piece.holes if with_holes else ()
    key = ("necks", number, outside, with_holes and bool(holes))
    return art.once(key, lambda: cut_shape.necks(piece.outer, holes, outside, most))


def _span(one: np.ndarray, other: np.ndarray) -> Box:
    low, high = np.minimum(one, other) - 0.5, np.maximum(one, other) + 0.5
    return (float(low[0]), float(low[1]), float(high[0]), float(high[1]))


def _narrow(found: list[tuple[float, str, Box]], cut: Cut, up_to: float | None) -> Iterator[Reading]:
    found.sort(key=lambda item: item[0])
    for number, (width, what, box) in enumerate(found[:60]):
        if number and (up_to is None or width >= up_to):
            break
        yield Reading(
            value=width,
            what=what,
            where=(box,),
            sure=cut.sure,
            margin=0.01 + 2 * cut.grain_mm,
            facts=_facts(cut),
        )


@measures("")
def holes(art: Artwork, order: Order) -> Iterator[Reading]:
    """Holes in the pieces, a count; a derived outline is an outer one and has none."""
    cut = cut_of(art)
    if not cut.pieces:
        return
    rings = [] if cut.derived else [hole for piece in cut.pieces for hole in piece.holes]
    where = tuple(Piece(ring).box for ring in rings)
    what = "a hole in the piece" if len(rings) == 1 else "holes in the piece"
    yield Reading(value=float(len(rings)), what=what, where=where, facts=_facts(cut))


@measures("pieces")
def pieces(art: Artwork, order: Order) -> Iterator[Reading]:
    """Separate pieces to cut and weed, a count."""
    cut = cut_of(art)
    if cut.pieces:
        where = tuple(piece.box for piece in cut.pieces[:60])
        yield Reading(value=float(len(cut.pieces)), what="the pieces to cut", where=where, facts=_facts(cut))


@measures("mm")
def least_side(art: Artwork, order: Order) -> Iterator[Reading]:
    """Least width over all of the smallest piece, mm: between two parallel lines, so the short side of a rectangle."""
    cut = cut_of(art)
    if not cut.pieces:
        return
    # Without a cut line loose parts are one piece with what is between them.
    parts = cut.pieces if not cut.derived or _carries(cut) else (_whole(cut),)
    width, box = min((cut_shape.least_width(piece.outer), piece.box) for piece in parts[:300])
    yield Reading(
        value=width,
        what="the smallest piece",
        where=(box,),
        sure=cut.sure,
        margin=cut.grain_mm,
        facts=_facts(cut),
    )


def _whole(cut: Cut) -> Piece:
    x0, y0, x1, y1 = union([piece.box for piece in cut.pieces])
    return Piece(cut_edge.box_ring((x0, y0, x1, y1)))


@measures("mm")
def border(art: Artwork, order: Order) -> Iterator[Reading]:
    """Width of a frame that runs evenly along the cut, mm, at its narrowest; nothing where there is none."""
    cut = cut_of(art)
    if cut.derived and not _carries(cut):
        return
    for piece in cut.pieces[:1] if cut.derived else cut.pieces[:20]:
        found = cut_edge.border(art, piece, cut)
        if found:
            yield Reading(
                value=found["width_mm"], what="the frame along the cut", where=(found["box"],), sure=cut.sure, margin=0.1,
                facts=_facts(cut, median_mm=round(found["median_mm"], 2)),
            )  # fmt: skip


@measures("mm")
def feature(art: Artwork, order: Order, up_to: float | None = None) -> Iterator[Reading]:
    """Least width of anything that is cut out: of each piece over all, and of its tongues and bars, mm.

    For film cut along its contours; openings in a piece are cut too.
    """
    cut = cut_of(art)
    found: list[tuple[float, str, Box]] = []
    for number, piece in enumerate(cut.pieces[:_MOST_PIECES]):
        found.append((cut_shape.least_width(piece.outer), "a piece to cut", piece.box))
        for width, one, other in _necks(art, cut, number, piece, False, True):
            found.append((width, "a thin part to cut", _span(one, other)))
    yield from _narrow(found, cut, up_to)
