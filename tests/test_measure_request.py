"""What the order leaves out, and what its words for articles and materials mean."""

from dataclasses import replace

import pytest
import shapely

from preflight.artwork import Fact
from preflight.measure import materials, request
from preflight.order import Order, tags_of
from shape_art import blank_art, ink, shape_art

ART = shape_art([shapely.box(0, 0, 80, 40)], inks=[ink(0, kind="process")])
FULL = Order(
    width_mm=80, ground="#1d2b4f", ground_words="navy", material="cotton", position="left chest", item="T-shirt",
    colours=("white",),
)  # fmt: skip

MISSING = {
    request.no_size: {"width_mm": None},
    request.no_ground: {"ground": None, "ground_words": ""},
    request.no_material: {"material": "", "item": ""},
    request.no_position: {"position": " "},
    request.no_item: {"item": ""},
    request.no_inks: {"colours": ()},
}


@pytest.mark.parametrize("measure", MISSING, ids=lambda m: m.__name__)
def test_what_is_missing_counts_1_and_a_full_order_0(measure):
    assert [r.value for r in measure(ART, FULL)] == [0]
    (reading,) = measure(ART, replace(FULL, **MISSING[measure]))
    assert reading.value == 1
    assert reading.what.startswith("the ")


def test_one_of_width_and_height_is_size_enough():
    assert request.no_size(ART, Order(height_mm=30))[0].value == 0


def test_a_colour_nobody_knows_is_no_ground_and_is_quoted_safely():
    (reading,) = request.no_ground(ART, Order(ground_words="saltmarsh\x1b[2J haze"))
    assert reading.value == 1
    assert "saltmarsh" in reading.what
    assert "\x1b" not in reading.what


def test_an_article_that_tells_its_material_needs_no_more_words():
    order = Order(item="T-shirt")
    assert request.no_material(ART, replace(order, tags=tags_of(order)))[0].value == 0


def test_named_spot_inks_in_the_file_are_references():
    art = shape_art([shapely.box(0, 0, 80, 40)], inks=[ink(0, name="Reed Green")])
    assert request.no_inks(art, Order())[0].value == 0
    assert request.no_inks(blank_art(), Order())[0].value == 1


@pytest.mark.parametrize(
    ("width", "height", "wrong"),
    [
        (80, 40, 0),
        (100, 50, 0),
        (83, 41, 0),
        (80, 60, 1),
        (80, 30, 1),
        (25, 12, 0),
        (400, 205, 1),
        (400, 202, 0),
    ],
)
def test_proportions(width, height, wrong):
    (reading,) = request.proportions(ART, Order(width_mm=width, height_mm=height))
    assert reading.value == wrong


def test_proportions_need_both_sides_and_take_the_loaders_word():
    assert request.proportions(ART, Order(width_mm=80)) == []
    told = replace(ART, facts=(Fact("proportions", "the order says 80 × 60"),))
    (reading,) = request.proportions(told, Order(width_mm=80, height_mm=60))
    assert (reading.value, reading.what) == (1, "the order says 80 × 60")


EVERY = [getattr(materials, name) for name in dir(materials) if hasattr(getattr(materials, name), "unit")]


@pytest.mark.parametrize("measure", EVERY, ids=lambda m: m.__name__)
def test_no_words_no_reading(measure):
    assert measure(ART, Order()) == []


@pytest.mark.parametrize(
    ("measure", "item", "material", "value"),
    [
        (materials.never_laser, "key ring", "PVC", 1),
        (materials.never_laser, "key ring", "beech wood", 0),
        (materials.maybe_laser, "notebook", "faux leather", 1),
        (materials.textile, "T-shirt", "", 1),
        (materials.textile, "mug", "ceramic", 0),
        (materials.heat_tender, "jacket", "nylon", 1),
        (materials.not_flat, "mug", "", 1),
        (materials.low_energy, "cup", "polypropylene", 1),
        (materials.hard, "mug", "", 1),
        (materials.clear, "tumbler", "clear glass", 2),
        (materials.clear, "T-shirt", "", 0),
        (materials.unknown, "", "oojamaflip", 1),
        (materials.unknown, "", "cotton", 0),
        (materials.cloth_weight, "T-shirt", "cotton 180 g/m2", 180),
    ],
)  # common practice: what each material is
def test_words_carry_their_tags(measure, item, material, value):
    order = Order(item=item, material=material)
    order = replace(order, tags=tags_of(order))
    (reading,) = measure(ART, order)
    assert reading.value == value
    assert reading.what


def test_words_nobody_knows_are_counted_and_quoted_safely():
    order = Order(item="oojamaflip\x1b[31m")
    (reading,) = request.unknown_words(ART, replace(order, tags=tags_of(order)))
    assert reading.value >= 1
    assert "\x1b" not in reading.what
    assert request.unknown_words(ART, Order()) == []
