"""Solids: areas of drawn shapes against geometry."""

import math

import pytest

from flat_art import Sheet
from preflight.measure import solids
from preflight.order import Order

NONE = Order()


def test_area_of_a_box_and_a_disc():
    sheet = Sheet(80, 50)
    red, navy = sheet.ink("Kite Red", "#c8102e"), sheet.ink("Navy", "#1d2b4f")
    sheet.box(red, 5, 5, 35.5, 25.25)
    sheet.box(red, 5, 30, 15, 40)  # smaller, apart
    sheet.disc(navy, 60, 25, 15)
    readings = {r.facts["ink"]: r for r in solids.largest(sheet.art(), NONE)}
    assert readings[0].value == pytest.approx(30.5 * 20.25, rel=0.005)
    assert readings[0].where[0] == pytest.approx(
        (5, 5, 35.5, 25.25), abs=0.25
    )  # a pixel of the coarse picture
    assert readings[1].value == pytest.approx(math.pi * 15**2, rel=0.005)
    shares = {r.facts["ink"]: r.value for r in solids.share(sheet.art(), NONE)}
    assert shares[0] == pytest.approx(100 * (30.5 * 20.25 + 100) / 4000, rel=0.005)


def test_thin_lines_neither_join_nor_count():
    sheet = Sheet(80, 40)
    red = sheet.ink("red", "#c8102e")
    sheet.box(red, 5, 5, 25, 25)
    sheet.box(red, 55, 5, 75, 25)
    sheet.box(red, 20, 14, 60, 15)  # a line from one to the other
    sheet.box(red, 2, 30, 78, 31.5)
    (reading,) = solids.largest(sheet.art(), NONE)
    assert reading.value == pytest.approx(400, rel=0.01)
    assert len(solids.solids(sheet.art())) == 2


def test_knock_outs_are_no_solid():
    sheet = Sheet(40, 40)
    red = sheet.ink("red", "#c8102e")
    sheet.box(red, 0, 0, 40, 40)
    sheet.disc(None, 20, 20, 10)
    (reading,) = solids.largest(sheet.art(), NONE)
    assert reading.value == pytest.approx(1600 - 100 * math.pi, rel=0.005)


def test_all_lines_is_nothing():
    sheet = Sheet(40, 40)
    sheet.words(sheet.ink("red", "#c8102e"), "KITE", 2, 20, 8, pen=1.2)
    assert solids.largest(sheet.art(), NONE) == []
    assert solids.share(sheet.art(), NONE) == []


@pytest.mark.parametrize("scale", [0.3, 1, 8])
def test_areas_follow_the_size(scale):
    sheet = Sheet(40, 40)
    sheet.disc(sheet.ink("red", "#c8102e"), 20, 20, 18)
    (reading,) = solids.largest(sheet.art().resized(scale), NONE)
    assert reading.value == pytest.approx(math.pi * 18**2 * scale**2, rel=0.01)


def test_share_of_large_boxes_only():
    sheet = Sheet(10, 10)
    sheet.box(sheet.ink("red", "#c8102e"), 0, 0, 10, 6)
    art = sheet.art()
    assert solids.share_of_large_box(art, NONE) == []
    (reading,) = solids.share_of_large_box(art.resized(15), NONE)
    assert reading.value == pytest.approx(60, rel=0.01)


def test_narrowest_side_is_the_widest_circle():
    sheet = Sheet(40, 40)
    sheet.box(sheet.ink("red", "#c8102e"), 2, 2, 38, 12)
    (reading,) = solids.narrowest_side(sheet.art(), NONE)
    assert reading.value == pytest.approx(10, rel=0.02)


@pytest.mark.parametrize("measure", [solids.largest, solids.share, solids.share_of_large_box])
def test_nothing_to_measure(measure):
    assert measure(Sheet(10, 10).art(), NONE) == []
    for width, height in ((0.001, 0.001), (10, 0.01), (1000, 1000)):
        sheet = Sheet(10, 10)
        sheet.ink("red", "#ff0000")
        assert measure(sheet.art(width_mm=width, height_mm=height), NONE) == []
        sheet.box(0, 0, 0, 10, 10)
        measure(sheet.art(width_mm=width, height_mm=height), NONE)
