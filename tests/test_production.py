"""Production facts against published worked examples and tables, and the summary figures of a report."""

import json
import math
from dataclasses import replace

import numpy as np
import pytest
import shapely

from preflight.artwork import Fade, Font, Mark, Picture
from preflight.job import judge
from preflight.measure import (
    production,
    production_print,
    production_sewing,
    resolution,
    strokes,
    summary,
)
from preflight.methods import methods
from preflight.order import Order, tags_of
from preflight.report.production import production_lines
from shape_art import Shape, bitmap_art, blank_art, circle, ink, path_of, rounded, shape_art

METHODS = (
    "screen_print", "pad_print", "yag_laser", "co2_laser", "sticker", "dome", "heat_transfer", "uv_print", "deboss",
    "foil", "embroidery",
)  # fmt: skip


def order_of(**more):
    order = Order(**more)
    return replace(order, tags=tags_of(order))


def facts(method, art, **more):
    return getattr(production, method)(art, order_of(**more))


ART = shape_art(
    [rounded(0, 0, 60, 40, 0), Shape(circle(20, 20, 10), 1), Shape(shapely.box(40, 10, 50, 11), 2)], (60, 40)
)

# ------------------------------------------------------------------------------------------ meshes and halftones

# Threads a cm, thread um, threads an inch, opening um, open %, ruling at mesh/4 and /5, 2 and 3 pitches in mm: thread
# diameters from a screen maker's training page, the rest computed (opening = 10 000/n - d).
MESHES = [
    (34, 100, 86, 194, 44, 22, 17, 0.59, 0.88), (43, 80, 109, 153, 43, 27, 22, 0.47, 0.70),
    (49, 55, 124, 149, 53, 31, 25, 0.41, 0.61), (62, 64, 157, 97, 36, 39, 31, 0.32, 0.48),
    (77, 55, 196, 75, 33, 49, 39, 0.26, 0.39), (90, 48, 229, 63, 32, 57, 46, 0.22, 0.33),
    (120, 34, 305, 49, 35, 76, 61, 0.17, 0.25), (140, 34, 356, 37, 27, 89, 71, 0.14, 0.21),
]  # fmt: skip


@pytest.mark.parametrize("row", MESHES, ids=lambda row: str(row[0]))
def test_mesh_table(row):
    count, thread, inch, opening, open_percent, at4, at5, two, three = row
    mesh = next(m for m in production_print.MESHES if m.threads_per_cm == count)
    assert (mesh.thread_um, mesh.threads_per_inch) == (thread, inch)
    assert mesh.opening_um == pytest.approx(opening, abs=0.6)
    assert 100 * mesh.open_share == pytest.approx(open_percent, abs=0.6)
    assert (mesh.ruling_lpi(), mesh.ruling_lpi(5)) == pytest.approx((at4, at5), abs=0.6)
    assert (mesh.least_line_mm, mesh.easy_line_mm) == pytest.approx((two, three), abs=0.006)


@pytest.mark.parametrize(
    ("line", "lpi", "usual", "count"),
    [
        (1.0, None, 62, 62), (0.48, None, 62, 77), (0.35, None, 62, 90), (0.18, None, 62, 120), (0.10, None, 62, None),
        (None, 55, 62, 90), (None, 85, 120, 140), (None, 120, 62, None), (0.5, None, 120, 120),
    ],
)  # fmt: skip
def test_mesh_advice(line, lpi, usual, count):
    """Three pitches to the line, two at the least (from memory); threads an inch over the ruling 4 (common practice)."""
    mesh, note = production_print.mesh_for(line, lpi, usual)
    assert (mesh and mesh.threads_per_cm) == count
    assert note


@pytest.mark.parametrize(
    ("share", "lpi", "dot"),
    [(0.05, 35, 0.18), (0.05, 45, 0.14), (0.05, 55, 0.12), (0.05, 65, 0.10), (0.10, 55, 0.165)],
)
def test_dot_diameter(share, lpi, dot):
    """d = (25.4/lpi) x sqrt(4p/pi) (computed); 0.165 is 0.1648."""
    assert production_print.dot_mm(lpi, share) == pytest.approx(dot, abs=0.006)
    # The dot covers that share of its cell.
    assert math.pi / 4 * production_print.dot_mm(lpi, share) ** 2 / (25.4 / lpi) ** 2 == pytest.approx(share)


@pytest.mark.parametrize(
    ("distance", "ppi"),
    [
        (200, 437),
        (250, 349),
        (300, 291),
        (400, 218),
        (500, 175),
        (700, 125),
        (1000, 87),
        (2000, 44),
        (3000, 29),
    ],
)
def test_pixels_for_a_distance(distance, ppi):
    """ppi = 25.4/(d x tan 1/60 degree) = 3438/inches: one minute of arc (widely published; computed)."""
    assert production_print.ppi_for_distance(distance) == pytest.approx(ppi, abs=0.6)
    assert production_print.ppi_for_distance(distance) == pytest.approx(3438 / (distance / 25.4), rel=0.001)
    assert production_print.sharp_from_mm(production_print.ppi_for_distance(distance)) == pytest.approx(
        distance
    )


# ------------------------------------------------------------------------------------------------- sewing time


def test_sewing_time_of_a_published_example():
    """7 500 stitches in six colours at 800 a minute: about 13 minutes, 15 with reloading (trade association, May 2017)."""
    assert pytest.approx(9.4, abs=0.03) == 7_500 / 800  # net, before any stop
    assert production_sewing.sewing_minutes(7_500, 800) == pytest.approx(13, abs=0.1)
    assert production_sewing.cycle_minutes(7_500, 800) == pytest.approx(15, abs=0.6)


def test_sewing_time_at_half_speed():
    """12 000 stitches at 1 200 a minute are 10 minutes raw and 20 in the shop (a machine maker's published rule, 2016)."""
    assert production_sewing.sewing_minutes(12_000, 1_200, efficiency=0.5) == 20
    # Our own allowance promises less time than that rule, and more than the raw figure.
    assert 10 < production_sewing.cycle_minutes(12_000, 1_200) < 20


def test_pieces_an_hour():
    """60 x heads / cycle (computed)."""
    cycle = 7_500 / (800 * 0.72) + 1.5
    assert production_sewing.pieces_per_hour(7_500, 800, 12) == pytest.approx(60 * 12 / cycle)


def test_embroidery_facts():
    art = shape_art([shapely.box(0, 0, 60, 50), Shape(shapely.box(70, 0, 100, 3), 1)])
    found = facts("embroidery", art, quantity=100, item="T-shirt")
    stitches = 3000 * 1.86 + 30 * 5.9 + 8
    assert found["stitches"] == pytest.approx(stitches, rel=0.02)
    assert (found["stitches_low"], found["stitches_high"]) == pytest.approx(
        (0.7 * stitches, 1.5 * stitches), rel=0.02
    )
    assert (found["band"], found["thread_colours"], found["colour_changes"]) == ("to 7 500", 2, 1)
    assert [t["hex"] for t in found["threads"]] == [i.hex for i in art.inks]
    assert (found["heads"], found["needles"], found["stitches_a_minute"]) == (12, 15, 800)
    assert found["runs"] == 9  # 100 pieces on 12 heads
    assert found["machine_hours"] == pytest.approx(9 * (stitches / 576 + 1.5) / 60, rel=0.03)


def test_the_shops_machine_counts_and_leather_is_sewn_slowly():
    machines = {"embroidery": {"heads": 4.0, "needles": 9.0, "speed": 700.0}}
    found = facts("embroidery", ART, machines=machines)
    assert (found["heads"], found["needles"], found["stitches_a_minute"]) == (4, 9, 700)
    leather = facts("embroidery", ART, item="wallet", material="leather")
    assert leather["stitches_a_minute"] == 500
    assert found["quantity"] is None
    assert found["quantity_note"]


# ------------------------------------------------------------------------------------------------------ methods


def test_screens_and_the_white_base():
    light = facts("screen_print", ART, ground="#ffffff", item="T-shirt", quantity=50)
    assert (light["screens"], light["white_base"], light["impressions_total"]) == (3, False, 150)
    dark = facts("screen_print", ART, ground="#111111", item="T-shirt", quantity=50)
    assert (dark["screens"], dark["white_base"], dark["impressions_total"]) == (4, True, 200)
    assert dark["plates"][0]["name"] == "white base"
    unknown = facts("screen_print", ART)
    assert unknown["white_base"] is None
    assert unknown["white_base_note"]


def test_coverage_of_each_screen():
    plates = facts("screen_print", ART, ground="#ffffff")["plates"]
    disc, bar = math.pi, 0.1
    assert [p["coverage_cm2"] for p in plates] == pytest.approx([24 - disc - bar, disc, bar], abs=0.05)
    assert [p["coverage_percent"] for p in plates] == pytest.approx(
        [100 * (24 - disc - bar) / 24, 100 * disc / 24, 0.4], abs=0.2
    )


@pytest.mark.parametrize(("line", "count"), [(0.40, 77), (1.0, 62), (0.1, None)])
def test_mesh_follows_the_finest_line(monkeypatch, line, count):
    monkeypatch.setattr(strokes, "finest_line", lambda art: replace_value(line))
    found = facts("screen_print", ART, item="T-shirt")
    assert found["threads_per_cm_of_mesh"] == count
    assert found["mesh_note"]


def replace_value(value):
    from preflight.reading import Reading

    return None if value is None else Reading(value=value)


def test_pad_plates(monkeypatch):
    found = facts("pad_print", ART, ground="#ffffff")
    assert found["plates"] == 3
    assert (found["plate_width_mm"], found["plate_height_mm"]) == (
        110,
        90,
    )  # 25 mm on every side, common practice
    assert (found["screened_plate"], found["etch_um"]) == (True, 30)
    monkeypatch.setattr(strokes, "widest", lambda art, order: [replace_value(4.0)])
    monkeypatch.setattr(strokes, "finest_line", lambda art: replace_value(0.15))
    assert facts("pad_print", ART)["etch_um"] == 15


@pytest.mark.parametrize(
    ("item", "material", "caution"),
    [("key ring", "PVC", "never"), ("notebook", "faux leather", "ask first"), ("", "", "ask first"),
     ("coaster", "beech wood", "usual")],
)  # fmt: skip
def test_laser_caution(item, material, caution):
    found = facts("co2_laser", ART, item=item, material=material)
    assert found["material_caution"].startswith(caution)
    assert found["marked_area_cm2"] == pytest.approx(24, abs=0.1)


def test_laser_line_length():
    ring = circle(30, 30, 20).difference(circle(30, 30, 19.5))
    found = facts("yag_laser", shape_art([ring], (60, 60)))
    assert found["thin_line_length_mm"] == pytest.approx(2 * math.pi * 19.75, rel=0.1)


def with_cut(outline, art=ART):
    mark = Mark(kind="stroke", box=tuple(outline.bounds), path=path_of(outline), role="cut")
    return replace(art, marks=(*art.marks, mark), cache={})


def test_cut_length_area_and_film():
    outline = rounded(5, 5, 50, 30, 3)
    found = facts("sticker", with_cut(outline), quantity=1000)
    assert found["cut_length_mm"] == pytest.approx(outline.length, rel=0.001)
    assert found["piece_area_cm2"] == pytest.approx(outline.area / 100, abs=0.01)
    assert found["cut_length_total_m"] == pytest.approx(outline.length, rel=0.001)
    assert found["film_cm2"] == pytest.approx(52 * 32 / 100, abs=0.02)
    assert found["film_total_m2"] == pytest.approx(52 * 32 / 1e6 * 1000, rel=0.001)
    assert found["outline"] == "in the file"


def test_resin_of_a_dome():
    found = facts("dome", with_cut(circle(30, 20, 10)), quantity=100)
    assert found["resin_ml"] == pytest.approx(math.pi * 0.16, abs=0.01)  # from memory: 0.16 ml a cm²
    assert found["resin_total_ml"] == pytest.approx(100 * math.pi * 0.16, rel=0.01)


def test_weeding_counts_pieces_and_openings():
    letters = [circle(10 + 20 * i, 10, 8).difference(circle(10 + 20 * i, 10, 5)) for i in range(3)]
    found = facts("heat_transfer", shape_art([*letters, shapely.box(70, 5, 80, 15)], (90, 20)), quantity=40)
    assert (found["weeding_pieces"], found["weeding_openings"]) == (7, 3)
    assert found["press_total_minutes"] == 10  # 40 x 15 s


# Height fall of round articles (computed): width that falls 3 mm and 1.5 mm on a mug of 82 mm.
def test_uv_height_fall():
    art = shape_art([shapely.box(0, 0, 25, 20)])
    found = facts("uv_print", art, diameter_mm=82, ground="#ffffff")
    assert found["height_fall_mm"] == pytest.approx(1.95, abs=0.005)
    assert (found["greatest_width_mm"], found["easy_width_mm"]) == pytest.approx((31, 22), abs=0.6)
    assert facts("uv_print", art)["height_fall_note"]


def test_blocks_and_foil():
    found = facts("foil", ART, quantity=200)
    assert (found["blocks"], found["passes"]) == (3, 3)
    assert (found["block_width_mm"], found["block_height_mm"]) == (70, 50)
    assert found["foil_cm2"] == pytest.approx(3 * 70 * 45 / 100)
    assert found["foil_total_m2"] == pytest.approx(200 * 3 * 70 * 45 / 1e6)
    pressed = facts("deboss", ART)
    assert pressed["blocks"] == 1
    assert pressed["pressed_area_cm2"] == pytest.approx(24, abs=0.1)


def test_pictures_say_from_where_they_look_sharp(monkeypatch):
    monkeypatch.setattr(resolution, "lowest", lambda art: 150.0)
    found = facts("sticker", ART)
    assert (found["lowest_ppi"], found["looks_sharp_from_mm"]) == (150, pytest.approx(582, abs=1))


@pytest.mark.parametrize("method", METHODS)
@pytest.mark.parametrize(
    "art",
    [
        ART,
        blank_art(),
        blank_art(0, 0),
        bitmap_art([circle(10, 10, 6)], (20, 20)),
        replace(bitmap_art([], (20, 20), inks=()), fades=(Fade("photograph", (0, 0, 20, 20)),)),
    ],
    ids=["drawn", "blank", "no size", "bitmap", "photograph"],
)
def test_facts_are_plain_data_and_a_missing_one_says_why(method, art):
    found = facts(method, replace(art, cache={}), quantity=12)
    assert json.loads(json.dumps(found)) == found or json.dumps(found)
    json.dumps(found, allow_nan=False)

    def look(data):
        for key, value in data.items():
            if value is None:
                assert any(k.endswith("_note") and k[:-5] in key for k in data), key
            for inner in value if isinstance(value, list) else [value]:
                if isinstance(inner, dict):
                    look(inner)

    look(found)


def test_one_broken_measure_does_not_take_the_others_down(monkeypatch, caplog):
    def broken(art):
        raise RuntimeError("no")

    monkeypatch.setattr(strokes, "finest_line", broken)
    found = facts("screen_print", ART, ground="#ffffff")
    assert found["screens"] == 3
    assert (found["mesh"], bool(found["mesh_note"])) == (None, True)
    assert "no" in caplog.text


def test_every_method_states_its_formulas():
    for method in METHODS:
        assert getattr(production, method).__doc__


# ------------------------------------------------------------------------------------------------------ summary


def test_measures_of_known_art():
    found = summary.measures(ART, Order())
    assert found.colour_count == 3
    assert found.ink_area_mm2 == pytest.approx(2400, rel=0.002)
    assert found.has_gradient is False
    assert found.lowest_ppi is None
    assert found.finest_line_mm == pytest.approx(1.0, abs=0.05)
    nulls = {name for name in found.__struct_fields__ if getattr(found, name) is None}
    assert set(found.not_taken) == nulls and found.not_taken["lowest_ppi"] == "there is no bitmap in the art"


def test_a_measure_that_breaks_is_null_and_logged(monkeypatch, caplog):
    def broken(*_):
        raise ZeroDivisionError

    for module, name in ((strokes, "finest_line"), (summary.inks, "areas"), (resolution, "lowest")):
        monkeypatch.setattr(module, name, broken)
    found = summary.measures(replace(ART, cache={}), Order())
    assert (found.finest_line_mm, found.ink_area_mm2, found.lowest_ppi) == (None, None, None)
    assert found.has_gradient is False
    assert caplog.text.count("could not be measured") >= 3
    for name in ("finest_line_mm", "ink_area_mm2", "lowest_ppi"):
        assert found.not_taken[name] == "the measurement failed on this file"
    colours = summary.colours(ART, Order())
    assert [colour.area_mm2 for colour in colours] == [None] * 3


def test_blank_art_has_no_figures():
    found = summary.measures(blank_art(), Order())
    assert (found.finest_line_mm, found.smallest_lettering_mm, found.narrowest_gap_mm) == (None, None, None)
    assert summary.colours(blank_art(), Order()) == ()


def test_colours():
    art = shape_art(
        [shapely.box(0, 0, 20, 10)], (40, 10), inks=[ink(0, "#c8102e", "Samphire Red\x1b[1m", tints=(0.5,))]
    )
    (colour,) = summary.colours(art, Order())
    assert colour.name == "Samphire Red [1m"
    assert (colour.area_mm2, colour.share, colour.tints) == (
        pytest.approx(200, abs=0.5),
        pytest.approx(0.5, abs=0.002),
        (0.5,),
    )


def test_art_facts():
    art = bitmap_art([circle(10, 10, 6)], (20, 20), 200)
    flat = Picture(pixels=(2, 2), box=(0, 0, 1, 1), ppi=(50, 50), flat=True)
    art = replace(
        art,
        pictures=(*art.pictures, flat),
        fonts=(Font("Reed\x07", True, substituted=True),),
        file_width_mm=31.41592,
    )
    found = summary.art_facts(art)
    assert (found.kind, found.format, found.file_width_mm) == ("bitmap", "png", 31.416)
    assert [image.ppi for image in found.images] == [200]
    assert [(font.name, font.embedded) for font in found.fonts] == [("Reed", False)]
    assert np.isfinite(found.width_mm)


def test_facts_that_break_leave_the_verdict_and_say_why(monkeypatch, caplog):
    def broken(*_):
        raise ZeroDivisionError

    method = replace(methods()["pad-print"], production=broken)
    monkeypatch.setattr("preflight.job.size_window", broken)
    report = judge(replace(ART, cache={}), "kites.pdf", "0" * 64, Order(), method, 0.0)
    assert report.findings and report.checked and report.size_window is None
    assert production_lines(report.production) == [
        ("Facts", "not known (the measurement failed on this file)")
    ]
    assert "the size window could not be measured" in caplog.text
