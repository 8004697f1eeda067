"""Size of the art, and whether there is any."""

import numpy as np
import pytest
import shapely

from preflight.measure import extent
from preflight.order import Order
from shape_art import Shape, bitmap_art, blank_art, shape_art

SQUARE = shapely.box(0, 0, 40, 25)
SIDES = {
    extent.width: 40.0, extent.height: 25.0, extent.long_side: 40.0, extent.short_side: 25.0, extent.box_area: 1000.0,
}  # fmt: skip


@pytest.mark.parametrize("measure", SIDES, ids=lambda m: m.__name__)
def test_sides_are_those_of_the_art_as_produced(measure):
    art = shape_art([SQUARE])
    (reading,) = measure(art, Order())
    assert reading.value == pytest.approx(SIDES[measure])
    assert reading.where == ((0, 0, 40, 25),)


@pytest.mark.parametrize("measure", SIDES, ids=lambda m: m.__name__)
def test_sides_scale_with_the_art(measure):
    (reading,) = measure(shape_art([SQUARE]).resized(3), Order())
    power = 2 if measure is extent.box_area else 1
    assert reading.value == pytest.approx(SIDES[measure] * 3**power)


@pytest.mark.parametrize("measure", SIDES, ids=lambda m: m.__name__)
def test_a_blank_page_has_no_sides(measure):
    assert measure(blank_art(), Order()) == []


def test_marks():
    assert extent.marks(shape_art([SQUARE, Shape(SQUARE.buffer(-5), 1)]), Order())[0].value == 2
    assert extent.marks(blank_art(), Order())[0].value == 0


def test_what_has_the_colour_of_the_ground_is_no_mark():
    assert extent.marks(shape_art([Shape(SQUARE, None)], inks=()), Order())[0].value == 0


def test_a_blank_bitmap_is_blank_and_a_drawn_one_is_not():
    assert extent.marks(bitmap_art([], (40, 25), inks=()), Order())[0].value == 0
    assert extent.marks(bitmap_art([SQUARE.buffer(-5)], (40, 25)), Order())[0].value > 0
    # Not yet split into inks: looked at as a whole.
    dot = bitmap_art([shapely.box(30, 20, 31, 21)], (40, 25))
    assert extent.printed(type(dot)(**{**_fields(dot), "inks": ()})) > 0


def _fields(art):
    return {name: getattr(art, name) for name in art.__dataclass_fields__ if name != "cache"}


@pytest.mark.parametrize("size", [(0.0, 0.0), (0.01, 0.01), (0.001, 300.0)])
def test_degenerate_sizes_do_no_harm(size):
    for art in (bitmap_art([], (1, 1), inks=()), blank_art()):
        small = type(art)(**{**_fields(art), "width_mm": size[0], "height_mm": size[1]})
        assert extent.marks(small, Order())[0].value == 0


class Area:
    """What `preflight.order.print_area` gives."""

    def __init__(self, width_mm, height_mm, turns, words="the usual area on a kite winder"):
        self.width_mm, self.height_mm, self.turns, self.words = width_mm, height_mm, turns, words


@pytest.mark.parametrize(
    ("area", "share"),
    [
        (Area(50, 30, False), 25 / 30),
        (Area(25, 40, False), 40 / 25),
        (Area(25, 40, True), 1.0),
        (Area(80, 80, True), 0.5),
    ],
)
def test_area_used(monkeypatch, area, share):
    monkeypatch.setattr(extent, "print_area", lambda order: area)
    (reading,) = extent.area_used(shape_art([SQUARE]), Order(item="kite winder"))
    assert reading.value == pytest.approx(100 * share)
    assert reading.what == "the usual area on a kite winder"
    assert np.isfinite(reading.value)


def test_no_area_known_is_no_reading(monkeypatch):
    monkeypatch.setattr(extent, "print_area", lambda order: None)
    assert extent.area_used(shape_art([SQUARE]), Order()) == []
