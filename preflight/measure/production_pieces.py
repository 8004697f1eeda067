"""Figures for what is cut, pressed or marked: lengths, areas, film, blocks."""

from typing import Any

from preflight.artwork import Artwork
from preflight.measure import stitches
from preflight.measure.cut_outline import Cut, cut_of
from preflight.measure.rings import perimeter, signed_area
from preflight.order import Order

#: Film left between two stickers or transfers, mm (common practice).
GAP_MM = 2.0
#: Metal left round the art on a block, and foil fed past it, mm (from memory).
BLOCK_MARGIN_MM, FOIL_FEED_MM = 5.0, 5.0


def area_mm2(cut: Cut) -> float:
    """Area of all pieces less their holes, mm²."""
    return sum(
        abs(signed_area(p.outer)) - sum(abs(signed_area(hole)) for hole in p.holes) for p in cut.pieces
    )


def length_mm(cut: Cut, holes: bool = True) -> float:
    """Length of the knife's way for one set of pieces, mm: the sum of their outlines."""
    return sum(perimeter(ring) for piece in cut.pieces for ring in (piece.rings if holes else (piece.outer,)))


def film(cut: Cut, order: Order) -> dict[str, Any]:
    """Film for the order: each set of pieces in a box of its own, 2 mm from the next."""
    boxes = [piece.box for piece in cut.pieces]
    if not boxes:
        return {"film_cm2": None, "film_note": "there is no outline to cut"}
    width = max(b[2] for b in boxes) - min(b[0] for b in boxes)
    height = max(b[3] for b in boxes) - min(b[1] for b in boxes)
    one = (width + GAP_MM) * (height + GAP_MM)
    facts: dict[str, Any] = {"film_cm2": round(one / 100, 2)}
    if order.quantity:
        facts["film_total_m2"] = round(one * order.quantity / 1e6, 4)
    return facts


def quantity(order: Order) -> dict[str, Any]:
    """The quantity, or that nobody stated it."""
    if order.quantity:
        return {"quantity": order.quantity}
    return {"quantity": None, "quantity_note": "not stated, so no totals for the order"}


def cutting(art: Artwork, order: Order) -> dict[str, Any]:
    """Pieces, their area and the length of the cut for one and for the order."""
    cut = cut_of(art)
    if not cut.pieces:
        note = "the cut line does not close" if cut.loose_ends else "there is nothing to cut out"
        return {"cut_length_mm": None, "cut_length_note": note, **quantity(order)}
    holes = not cut.derived
    length = length_mm(cut, holes)
    facts: dict[str, Any] = {
        "outline": {"named": "in the file", "hairline": "a hairline in the file", "trim": "the trim box of the file",
                    "art": "derived from the art"}[cut.source],
        "pieces": len(cut.pieces), "holes": sum(len(p.holes) for p in cut.pieces) if holes else 0,
        "cut_length_mm": round(length, 1), "piece_area_cm2": round(area_mm2(cut) / 100, 2), **film(cut, order),
        **quantity(order),
    }  # fmt: skip
    if order.quantity:
        facts["cut_length_total_m"] = round(length * order.quantity / 1000, 2)
    return facts


def weeding(art: Artwork) -> dict[str, Any]:
    """Loose parts to pick by hand when the contours themselves are cut: pieces, and openings inside them."""
    cut = cut_of(art)
    openings = sum(len(piece.holes) for piece in cut.pieces)
    return {"weeding_pieces": len(cut.pieces) + openings, "weeding_openings": openings}


def block(art: Artwork) -> dict[str, Any]:
    """Size of one block: the box of the art and 5 mm on every side (from memory)."""
    width, height = art.width_mm + 2 * BLOCK_MARGIN_MM, art.height_mm + 2 * BLOCK_MARGIN_MM
    return {
        "block_width_mm": round(width, 1), "block_height_mm": round(height, 1),
        "block_area_cm2": round(width * height / 100, 2),
    }  # fmt: skip


def marked(art: Artwork) -> dict[str, Any]:
    """Length of thin lines (under 1 mm, along their middle) and of bars up to 7 mm, by the widths of the plates; mm."""
    every = stitches.sewings(art)
    return {
        "thin_line_length_mm": round(sum(s.run_mm for s in every), 1),
        "bar_length_mm": round(sum(s.satin_mm for s in every), 1),
    }
