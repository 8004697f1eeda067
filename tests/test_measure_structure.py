"""How the file is built, from the facts a loader leaves."""

from dataclasses import replace

import pytest
import shapely

from preflight.artwork import Fact, Fade, Picture
from preflight.measure import structure
from preflight.order import Order
from preflight.pixels.tone import Tone
from shape_art import Shape, bitmap_art, line, shape_art

DRAWN = shape_art([shapely.box(0, 0, 40, 25)])
BOX = (5.0, 5.0, 25.0, 15.0)

COUNTED = {
    structure.hidden_layers: ("hidden layer",),
    structure.hidden_objects: ("off page", "invisible text", "hidden object"),
    structure.annotations: ("annotation",),
    structure.transparency: ("soft mask", "blend mode", "opacity"),
    structure.white_overprint: ("white overprint",),
    structure.rendering: ("rendering",),
    structure.unread: ("damaged", "unsupported", "unread colour", "removed link"),
    structure.extra_pages: ("extra page",),
}


@pytest.mark.parametrize("measure", COUNTED, ids=lambda m: m.__name__)
def test_clean_art_reads_0(measure):
    (reading,) = measure(DRAWN, Order())
    assert reading.value == 0
    assert reading.where == ()
    assert reading.what


@pytest.mark.parametrize("measure", COUNTED, ids=lambda m: m.__name__)
def test_every_fact_of_its_kinds_counts_and_no_other(measure):
    every = sorted(
        {k for kinds in COUNTED.values() for k in kinds} | {"output intent", "proportions", "overprint"}
    )
    facts = tuple(Fact(kind, f"a {kind}", BOX, count=2) for kind in every)
    (reading,) = measure(replace(DRAWN, facts=facts), Order())
    assert reading.value == 2 * len(COUNTED[measure])
    assert reading.where == (BOX,) * len(COUNTED[measure])


def test_one_fact_alone_speaks_for_itself_and_safely():
    art = replace(DRAWN, facts=(Fact("hidden layer", "the layer “draft\x1b[31m\u202e”"),))
    (reading,) = structure.hidden_layers(art, Order())
    assert reading.what == "the layer “draft [31m”"


def test_pages_count_even_where_no_fact_was_left():
    assert structure.extra_pages(replace(DRAWN, pages=3), Order())[0].value == 2


def picture(**more):
    return Picture(pixels=(400, 200), box=BOX, ppi=(508, 508), **more)


@pytest.mark.parametrize(
    ("one", "count"),
    [
        (picture(), 1),
        (picture(flat=True), 0),
        (picture(tone=Tone(continuous=True)), 0),
        (picture(tone=Tone(continuous=False)), 1),
        (picture(stencil=True, tone=Tone(continuous=True)), 1),
    ],
    ids=["line art", "flat box", "photograph", "flat colours", "stencil"],
)
def test_bitmaps_in_drawn_art(one, count):
    art = replace(DRAWN, kind="mixed", pictures=(one,))
    for measure in (structure.bitmap, structure.line_art_bitmaps):
        (reading,) = measure(art, Order())
        assert reading.value == count
        assert reading.where == (BOX,) * count


def test_a_photograph_known_only_by_its_fade_is_no_line_art():
    art = replace(
        DRAWN, kind="mixed", pictures=(picture(),), fades=(Fade("photograph", (4.0, 4.0, 26.0, 16.0)),)
    )
    assert structure.bitmap(art, Order())[0].value == 0
    beside = replace(art, fades=(Fade("photograph", (30.0, 4.0, 36.0, 16.0)),))
    assert structure.bitmap(beside, Order())[0].value == 1


def test_bitmap_art_is_bitmap_whatever_it_shows():
    art = bitmap_art([shapely.box(5, 5, 30, 20)], (40, 25))
    assert structure.bitmap(art, Order())[0].value == 1
    assert structure.bitmap(DRAWN, Order())[0].value == 0


BASE, OVER = shapely.box(0, 0, 30, 20), shapely.box(10, 5, 20, 15)


@pytest.mark.parametrize(
    ("shape", "count"),
    [
        (Shape(OVER, 1, overprint=True), 1),
        (Shape(OVER, 1), 0),
        (Shape(OVER, 5, overprint=True), 0),
        (Shape(shapely.box(32, 5, 40, 15), 1, overprint=True), 0),
        (Shape(line((2, 2), (28, 18)), 1, pen_mm=0.7, overprint=True), 0),
        (Shape(line((2, 2), (28, 18)), 1, pen_mm=4, overprint=True), 1),
    ],
    ids=["mixes", "knocks out", "black", "beside", "trap", "wide stroke"],
)
def test_overprint_counts_only_what_changes_the_print(shape, count):
    (reading,) = structure.overprint(shape_art([BASE, shape], (40, 25)), Order())
    assert reading.value == count
    assert len(reading.where) == count
