"""Facts the workshop needs to price and make a job: one function a method, (art, order) -> plain data.

Names carry their unit at the end.  A fact that cannot be known is None and has a neighbour `..._note` that says why.
Every figure is for one article unless its name says total.
"""

import math
from collections.abc import Callable
from typing import Any

from preflight.artwork import Artwork
from preflight.measure import curve, production_sewing, resolution, solids, strokes
from preflight.measure import production_pieces as pieces
from preflight.measure import production_print as printing
from preflight.measure.attempt import attempt
from preflight.measure.request import quoted
from preflight.order import Order, unknown_material, words_tagged

#: Dome height in mm (common practice) and resin for a cm² of face in ml (from memory).
DOME_MM, RESIN_ML_PER_CM2 = 1.8, 0.16
#: Height fall a flat-bed print takes, and takes with ease, mm (from memory).
FALL_MM, EASY_FALL_MM = 3.0, 1.5
#: Plate left round a pad-printing motif, mm (common practice).
PLATE_MARGIN_MM = 25.0
#: Solids wider than this need a screened plate, mm; etches for fine, usual and screened plates, micrometres (common practice).
SCREENED_MM, ETCHES_UM = 10.0, (15, 25, 30)


def _known(name: str, make: Callable[[], dict[str, Any]]) -> dict[str, Any]:
    """A group of facts; when its measurement breaks the rest still stands."""
    facts, broke = attempt(name, make)
    return {name: None, f"{name}_note": broke} if facts is None else facts


def _total(order: Order, key: str, each: float | None, digits: int = 2) -> dict[str, Any]:
    return {key: round(each * order.quantity, digits)} if order.quantity and each is not None else {}


def screen_print(art: Artwork, order: Order) -> dict[str, Any]:
    """Screens, coverage, mesh and positives.

    screens = visible inks, and one for white beneath where dark or clear goods need it.  coverage_cm2 is the printed area
    of each, coverage_percent its share of the box round the art.  mesh = the usual one of the goods (62 threads a cm on
    cloth, 120 on flat goods), or the coarsest finer one whose pitch goes three times into the finest line (twice at the
    least) and four times an inch into the ruling.  impressions_total = screens x quantity.
    """

    def screens() -> dict[str, Any]:
        plates, white = printing.plates(art, order), printing.white_beneath(art, order)
        if white["white_base"]:
            plates = [
                {"name": "white base", "coverage_cm2": round(printing.covered_mm2(art) / 100, 2)},
                *plates,
            ]
        count = len(plates)
        return {
            "screens": count, "plates": plates, **white, "positives": count, **_total(order, "impressions_total", count, 0)
        }  # fmt: skip

    return {
        **_known("screens", screens), **_known("mesh", lambda: _mesh(art, order)),
        **_known("printed_area", lambda: _printed(art)), **pieces.quantity(order),
    }  # fmt: skip


def _mesh(art: Artwork, order: Order) -> dict[str, Any]:
    line, lpi = printing.finest_line_mm(art), printing.ruling_lpi(art, order)
    flat = "flat-goods" in order.tags and "textile" not in order.tags
    mesh, note = printing.mesh_for(line, lpi, printing.USUAL_FLAT if flat else printing.USUAL_CLOTH)
    facts: dict[str, Any] = _line(line)
    if lpi:
        facts |= {"halftone_lpi": round(lpi), "ten_percent_dot_mm": round(printing.dot_mm(lpi, 0.10), 3)}
    if mesh is None:
        return facts | {"threads_per_cm_of_mesh": None, "mesh_note": note}
    return facts | {
        "threads_per_cm_of_mesh": mesh.threads_per_cm, "threads_per_inch_of_mesh": mesh.threads_per_inch,
        "mesh_opening_um": round(mesh.opening_um), "mesh_note": note,
    }  # fmt: skip


def _line(line: float | None) -> dict[str, Any]:
    return {"finest_line_mm": line} | (
        {} if line is not None else {"finest_line_note": "no thin line was found"}
    )


def _printed(art: Artwork) -> dict[str, Any]:
    area = printing.covered_mm2(art)
    box = art.width_mm * art.height_mm
    return {
        "printed_area_cm2": round(area / 100, 2),
        "printed_area_percent": round(100 * min(area / box, 1.0), 1) if box > 0 else 0.0,
    }


def pad_print(art: Artwork, order: Order) -> dict[str, Any]:
    """Plates, their size and etch, hits.

    plates = visible inks.  plate_width_mm = art + 25 mm on each side.  etch = 15 um for lines under 0.2 mm, 30 um on a
    screened plate for solids wider than 10 mm, else 25 um (common practice).  hits: on dark goods two for each ink that is
    not opaque, else one.
    """

    def plates() -> dict[str, Any]:
        found, white = printing.plates(art, order), printing.white_beneath(art, order)
        hits = None if white["white_base"] is None else 2 if white["white_base"] else 1
        facts: dict[str, Any] = {"plates": len(found), "plate_list": found, "hits_per_colour": hits}
        if hits is None:
            facts["hits_note"] = white["white_base_note"]
        return facts

    def etch() -> dict[str, Any]:
        line = printing.finest_line_mm(art)
        widest = max((r.value or 0.0 for r in strokes.widest(art, order)), default=0.0)
        fine, usual, screened = ETCHES_UM
        depth = screened if widest > SCREENED_MM else fine if line is not None and line < 0.2 else usual
        return {
            **_line(line), "widest_solid_mm": round(widest, 2), "etch_um": depth,
            "screened_plate": widest > SCREENED_MM,
        }  # fmt: skip

    return {
        **_known("plates", plates), **_known("etch", etch),
        "plate_width_mm": round(art.width_mm + 2 * PLATE_MARGIN_MM, 1),
        "plate_height_mm": round(art.height_mm + 2 * PLATE_MARGIN_MM, 1),
        **_known("printed_area", lambda: _printed(art)), **pieces.quantity(order),
    }  # fmt: skip


def _laser(art: Artwork, order: Order) -> dict[str, Any]:
    never, maybe = words_tagged(order, "never-laser"), words_tagged(order, "maybe-laser")
    unknown = unknown_material(order)
    if never:
        caution = f"never: {quoted(never)} must not be lasered"
    elif maybe or unknown or not order.material.strip() and "substance-known" not in order.tags:
        caution = f"ask first: {quoted(maybe or unknown) or 'the material is not stated'}; get its safety data sheet"
    else:
        caution = "usual: extraction on, never unattended"
    return {
        **_known("marked_area", lambda: {"marked_area_cm2": round(printing.covered_mm2(art) / 100, 2)}),
        **_known("thin_line_length", lambda: pieces.marked(art)),
        "swept_area_cm2": round(art.width_mm * art.height_mm / 100, 2), "material_caution": caution,
        "laser_class": "class 1 closed, class 4 with the housing open (IEC 60825-1)", **pieces.quantity(order),
    }  # fmt: skip


def yag_laser(art: Artwork, order: Order) -> dict[str, Any]:
    """Marked area, lengths and caution of the metal-marking laser.

    marked_area = what any ink covers.  swept_area = the box round the art that a raster passes over.  thin_line_length =
    lines under 1 mm along their middle, bar_length = bars up to 7 mm, both as area by local width.  The caution follows the
    words for the material.
    """
    return _laser(art, order)


def co2_laser(art: Artwork, order: Order) -> dict[str, Any]:
    """Marked area, lengths and caution of the carbon-dioxide laser, as `yag_laser`; and the length of cut lines if any."""
    facts = _laser(art, order)
    if any(mark.role == "cut" for mark in art.marks):
        facts |= _known("cut_length", lambda: pieces.cutting(art, order))
    return facts


def sticker(art: Artwork, order: Order) -> dict[str, Any]:
    """Cut length, area and film.

    cut_length = sum of the outlines of all pieces; film = box of the pieces and 2 mm to the next, by the quantity;
    looks_sharp_from = distance at which the coarsest picture's pixels vanish, 25.4 / (ppi x tan 1/60 degree).
    """
    return {
        **_known("cut_length", lambda: pieces.cutting(art, order)), **_known("printed_area", lambda: _printed(art)),
        **_known("looks_sharp_from", lambda: _sharp(art)),
    }  # fmt: skip


def _sharp(art: Artwork) -> dict[str, Any]:
    ppi = resolution.lowest(art)
    if not ppi:
        return {}
    return {"lowest_ppi": round(ppi), "looks_sharp_from_mm": round(printing.sharp_from_mm(ppi))}


def dome(art: Artwork, order: Order) -> dict[str, Any]:
    """As `sticker`, and the resin: face in cm² x 0.16 ml for a dome of about 1.8 mm (from memory), total by the quantity."""
    facts = sticker(art, order)
    area = facts.get("piece_area_cm2")
    facts["dome_height_mm"] = DOME_MM
    if area is None:
        return facts | {"resin_ml": None, "resin_note": "there is no outline to dome"}
    resin = area * RESIN_ML_PER_CM2
    return facts | {"resin_ml": round(resin, 2), **_total(order, "resin_total_ml", resin, 1)}


def heat_transfer(art: Artwork, order: Order) -> dict[str, Any]:
    """Film, cut length, parts to weed and the white layer.

    weeding_pieces = separate pieces and the openings inside them, when the contours are cut.  Pressed at 155 degC for 15 s,
    15 s a piece (common practice).
    """

    def press() -> dict[str, Any]:
        facts: dict[str, Any] = {"press_degc": 155, "press_seconds": 15}
        return facts | ({"press_total_minutes": round(order.quantity * 15 / 60, 1)} if order.quantity else {})

    return {
        **_known("cut_length", lambda: pieces.cutting(art, order)), **_known("weeding_pieces", lambda: pieces.weeding(art)),
        **_known("white_base", lambda: printing.white_beneath(art, order)), **press(),
        **_known("printed_area", lambda: _printed(art)), **_known("looks_sharp_from", lambda: _sharp(art)),
    }  # fmt: skip


def uv_print(art: Artwork, order: Order) -> dict[str, Any]:
    """White layer, print area, and the fall of a round article.

    height_fall = D/2 - sqrt((D/2)² - (w/2)²) across the width; greatest_width = 2 sqrt(s (D - s)) for a fall s of 3 mm, and
    of 1.5 mm for comfort (from memory).
    """

    def fall() -> dict[str, Any]:
        if not order.diameter_mm:
            return {"height_fall_mm": None, "height_fall_note": "no diameter is stated: taken as flat"}
        found = curve.sagitta(art.width_mm, order.diameter_mm)
        facts: dict[str, Any] = {"height_fall_mm": None if found is None else round(found, 2)}
        if found is None:
            facts["height_fall_note"] = "the print is wider than the article"
        for key, most in (("greatest_width_mm", FALL_MM), ("easy_width_mm", EASY_FALL_MM)):
            reach = max(0.0, most * (order.diameter_mm - most))
            facts[key] = round(2 * math.sqrt(reach) if most < order.diameter_mm / 2 else order.diameter_mm, 1)
        return facts

    return {
        **_known("white_base", lambda: printing.white_beneath(art, order)), **_known("height_fall", fall),
        **_known("plates", lambda: {"inks": printing.plates(art, order)}),
        **_known("printed_area", lambda: _printed(art)), **_known("looks_sharp_from", lambda: _sharp(art)),
        **pieces.quantity(order),
    }  # fmt: skip


def deboss(art: Artwork, order: Order) -> dict[str, Any]:
    """The block and the area pressed.

    block = box of the art and 5 mm on every side (from memory); pressed_area = what any ink covers; largest_solid = the
    largest connected part of it.
    """

    def pressed() -> dict[str, Any]:
        largest = max((r.value or 0.0 for r in solids.largest(art, order)), default=0.0)
        return {
            "pressed_area_cm2": round(printing.covered_mm2(art) / 100, 2), "largest_solid_mm2": round(largest, 1)
        }  # fmt: skip

    return {"blocks": 1, **pieces.block(art), **_known("pressed_area", pressed), **pieces.quantity(order)}


def foil(art: Artwork, order: Order) -> dict[str, Any]:
    """Blocks, passes and foil.

    One block and one pass for each ink.  block as for `deboss`.  foil = box of the art, fed 5 mm further each time (from
    memory), for each pass; foil_total by the quantity.
    """

    def passes() -> dict[str, Any]:
        plates = printing.plates(art, order)
        each = (
            (art.width_mm + 2 * pieces.BLOCK_MARGIN_MM)
            * (art.height_mm + pieces.FOIL_FEED_MM)
            * max(len(plates), 1)
        )
        return {
            "blocks": len(plates), "passes": len(plates), "foils": plates, "foil_cm2": round(each / 100, 2),
            **_total(order, "foil_total_m2", each / 1e6, 4), **_total(order, "impressions_total", len(plates), 0),
        }  # fmt: skip

    return {**deboss(art, order), **_known("passes", passes)}


def embroidery(art: Artwork, order: Order) -> dict[str, Any]:
    """Stitches, threads and time.

    stitches = fill area x 1.86 + satin length x 5.9 + run length x 0.8 + letters by their height + 8 a tie, low 30 % less,
    high 50 % more.  sewing_minutes = stitches / (stitches a minute x 0.72); cycle = that + 1.5 min reload; pieces_an_hour =
    60 x heads / cycle; machine_hours = runs of all heads x cycle.  12 heads, 15 needles and 800 stitches a minute (500 on
    leather) where the shop file says nothing (common practice).
    """
    return {
        "sewn_width_mm": round(art.width_mm, 1), "sewn_height_mm": round(art.height_mm, 1),
        **_known("stitches", lambda: production_sewing.sewing(art, order)),
    }  # fmt: skip
