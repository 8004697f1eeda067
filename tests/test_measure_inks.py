"""Inks: areas against geometry, counts, names, charts and the client's own words."""

import math
from dataclasses import replace

import pytest

from flat_art import Sheet
from preflight import charts, colour
from preflight.artwork import Fact, Ink
from preflight.load import load
from preflight.measure import inks
from preflight.order import Order

NONE = Order()


def one(measure, art, order=NONE):
    readings = measure(art, order)
    assert len(readings) == 1
    return readings[0]


def badge():
    sheet = Sheet(60, 40)
    red, navy = sheet.ink("Kite Red", "#c8102e"), sheet.ink("navy #1d2b4f", "#1d2b4f", "process")
    sheet.disc(red, 20, 20, 15)
    sheet.box(navy, 40, 5, 55.25, 35.5)
    sheet.disc(None, 20, 20, 5)
    return sheet


def test_areas_are_those_of_geometry():
    truth = (math.pi * (15**2 - 5**2), 15.25 * 30.5)
    art = badge().art()
    for (ink, area, share), expected in zip(inks.areas(art), truth, strict=True):
        assert area == pytest.approx(expected, rel=0.003), ink.name
        assert share == pytest.approx(expected / 2400, rel=0.003)
    assert one(inks.coverage, art).value == pytest.approx(100 * sum(truth) / 2400, rel=0.003)


@pytest.mark.parametrize("scale", [0.1, 0.5, 7.3, 30])
def test_areas_follow_the_size(scale):
    art = badge().art().resized(scale)
    assert [area for _, area, _ in inks.areas(art)] == pytest.approx(
        [area * scale**2 for _, area, _ in inks.areas(badge().art())], rel=0.01
    )
    assert inks.survey(art).together.size <= 1.1 * inks.PLATE_PIXELS


def test_fine_lines_keep_their_area_on_large_art():
    sheet = Sheet(300, 100, pixels_per_mm=20)
    black = sheet.ink("black", "#000000", "grey")
    for i in range(50):
        sheet.box(black, 3 + 5 * i, 10, 3.15 + 5 * i, 90)
    assert inks.areas(sheet.art())[0][1] == pytest.approx(50 * 0.15 * 80, rel=0.01)


def test_count_leaves_out_inks_that_do_not_show():
    sheet = badge()
    sheet.ink("hidden", "#00ff00")
    reading = one(inks.count, sheet.art())
    assert reading.value == 2
    assert reading.facts["inks"] == ["Kite Red", "navy #1d2b4f"]
    assert reading.where[0] == pytest.approx((5, 5, 35, 35), abs=0.1)


def test_only_unnamed_colours_are_counted_and_black_and_white_need_no_name():
    sheet = badge()
    reading = one(inks.unnamed, sheet.art())
    assert (reading.value, reading.what) == (1, "the ink navy #1d2b4f")
    sheet = Sheet(10, 10)
    for number, shade in enumerate(["#000000", "#231f20", "#ffffff"]):
        sheet.box(sheet.ink("plain", shade, "process"), 1 + 3 * number, 1, 3 + 3 * number, 9)
    assert one(inks.unnamed, sheet.art()).value == 0


def test_too_close_is_the_least_pair():
    sheet = Sheet(30, 10)
    shades = ["#c8102e", "#d01830", "#1d2b4f"]
    for number, shade in enumerate(shades):
        sheet.box(sheet.ink(f"ink {number}", shade), 10 * number, 0, 10 * number + 9, 10)
    reading = one(inks.too_close, sheet.art())
    lab = [colour.lab_of(shade) for shade in shades]
    assert reading.value == pytest.approx(colour.difference(lab[0], lab[1]))
    assert set(reading.facts["inks"]) == {"ink 0", "ink 1"}
    # A varnish has no look of its own.
    sheet.inks[1] = ("matt varnish", "#d01830", "spot")
    assert one(inks.too_close, sheet.art()).value > 20


def test_registration_colour_is_reported():
    art = badge().art()
    assert one(inks.registration_colour, art).value == 0
    art = badge().art(facts=(Fact("registration colour", "All", (0, 0, 9, 9), 3),))
    reading = one(inks.registration_colour, art)
    assert (reading.value, reading.where) == (3, ((0, 0, 9, 9),))


@pytest.mark.parametrize(
    ("name", "is_effect", "covers"),
    [("Metallic Gold 2", True, True), ("Neon Pink", True, False), ("Gloss Varnish", True, False),
     ("Marigold", False, False), ("Silverweed Green", False, False), ("Silver", True, True)],
)  # fmt: skip
def test_special_inks_by_name(name, is_effect, covers):
    ink = Ink(0, name, "spot", "#b08040", colour.lab_of("#b08040"))
    assert (inks.effect(ink), inks.opaque(ink)) == (is_effect, covers)
    assert not inks.effect(replace(ink, kind="rgb"))  # then the name is only our word for its look


def test_white_is_an_ink_on_dark_goods_only():
    sheet = badge()
    sheet.box(sheet.ink("white #ffffff", "#ffffff", "rgb"), 1, 1, 4, 4)
    art = sheet.art(ground="#101020")
    assert one(inks.white, art, Order(ground="#101020")).value == 1
    assert one(inks.white, badge().art(), Order(ground="#101020")).value == 0
    assert inks.white(art, Order(ground="#dddddd")) == []
    assert inks.white(art, NONE) == []


def test_chart_matches():
    book = charts.parsed("name,hex\nKite Red,#c8102e\nDeep,#1d2b50\nOther,#00ff00\n", "book")
    order = Order(charts=(book,))
    by_ink = {r.facts["ink"]: r for r in inks.unmatched(badge().art(), order)}
    assert by_ink[0].value == pytest.approx(0, abs=1e-6)
    assert by_ink[0].facts["chart_entry"] == "Kite Red"
    lab = colour.lab_of
    assert by_ink[1].value == pytest.approx(colour.difference(lab("#1d2b4f"), lab("#1d2b50")))
    assert inks.unmatched(badge().art(), NONE) == []
    # plain black needs no entry: it comes out of the tin
    art = load(
        b'<svg xmlns="http://www.w3.org/2000/svg" width="9mm" height="9mm"><rect width="9" height="9"/></svg>',
        order,
    )
    assert [ink.hex for ink in art.inks] == ["#000000"] and inks.unmatched(art, order) == []
    # A spot is held against the entry of its name, though another is nearer.
    false = charts.parsed("name,hex\nkite-red,#aa3030\nOther,#c8102e\n", "book")
    reading = inks.unmatched(badge().art(), Order(charts=(false,)))[0]
    assert reading.facts["chart_entry"] == "kite-red" and reading.value > 5


def test_threads_are_held_against_thread_charts():
    thread = charts.parsed("name,hex\nBuoy,#c00000\n", "threads", kind="thread")
    ink = charts.parsed("name,hex\nKite,#c8102e\n", "inks", kind="ink")

    def entries(method):
        order = Order(method=method, charts=(thread, ink))
        return {reading.facts["chart_entry"] for reading in inks.unmatched(badge().art(), order)}

    assert entries("embroidery") == {"Buoy"}
    assert entries("screen-print") == entries("") == {"Kite"}
    both = Order(method="embroidery", colours=("Kite",), charts=(thread, ink))
    assert inks.reference("Kite", both) == colour.lab_of("#c8102e")  # named from another chart


def named(*words, ground=None, art=None, shelf=()):
    return inks.named_distance(art or badge().art(), Order(colours=words, ground=ground, charts=shelf))


def test_named_colours_are_measured():
    (reading,) = named("#c8102f")
    assert reading.value < 0.5 and reading.facts == {"named": "#c8102f", "ink": 0}
    (reading,) = named("cornflowerblue")
    assert reading.value == pytest.approx(
        min(colour.difference(colour.lab_of("#6495ed"), colour.lab_of(s)) for s in ("#c8102e", "#1d2b4f"))
    )
    assert named("Gull Red 12", "385 C") == []  # a person's references
    book = charts.parsed("name,hex\nGull Red 12,#c00020\n", "book")
    (reading,) = named("gull red 12", shelf=(book,))
    assert reading.value == pytest.approx(
        colour.difference(colour.lab_of("#c00020"), colour.lab_of("#c8102e"))
    )


def test_plain_colour_words_are_no_exact_reference():
    assert named("red", "navy", "dark blue", "blue") == []
    (reading,) = named("green")
    assert reading.value > 20
    assert "“green”" in reading.what


def test_the_colour_of_the_goods_is_no_missing_ink():
    assert named("white", "red") == []
    assert named("black", ground="#111111") == []
    assert len(named("white", ground="#111111")) == 1


def test_the_ink_of_that_name_is_taken_even_when_another_is_nearer():
    sheet = Sheet(20, 10)
    sheet.box(sheet.ink("Reed", "#c8102e"), 0, 0, 5, 5)
    sheet.box(sheet.ink("Gull", "#00a040"), 10, 0, 15, 5)
    book = charts.parsed("name,hex\nReed,#00a040\n", "book")
    (reading,) = named("Reed", art=sheet.art(), shelf=(book,))
    assert reading.facts["ink"] == 0 and reading.value > 50


def test_hostile_names_are_made_plain():
    sheet = Sheet(10, 10)
    sheet.box(sheet.ink("a\x1b[31m\u202e\nb", "#c02030"), 1, 1, 9, 9)
    order = Order(
        colours=("#00ff00\x1b", "\x1b]0;x\x07", "#00ff00"), charts=(charts.shipped("marsh thread book"),)
    )
    art = sheet.art()
    for measure in ALL:
        for reading in measure(art, order):
            shown = reading.what + repr(dict(reading.facts))
            assert shown.isprintable(), measure.__name__


ALL = [inks.count, inks.unnamed, inks.too_close, inks.registration_colour, inks.metallic, inks.white,
       inks.coverage, inks.unmatched, inks.named_distance]  # fmt: skip


@pytest.mark.parametrize("measure", ALL, ids=lambda measure: measure.__name__)
def test_nothing_to_measure(measure):
    order = Order(colours=("red",), ground="#101020", charts=(charts.shipped("marsh thread book"),))
    assert measure(Sheet(10, 10).art(), order) == []
    for width, height in ((0.001, 0.001), (10, 0.01), (1e-9, 1e-9), (5000, 5000)):
        sheet = Sheet(10, 10)
        sheet.ink("red", "#ff0000")
        measure(sheet.art(width_mm=width, height_mm=height), order)
