"""Gaps, pinholes and trap: against shapes whose distances are known."""

from dataclasses import replace
from types import SimpleNamespace

import pytest
from shapely import Polygon

from boards.judge import bitmap_of
from boards.plates import drawn
from boards.shapes import bar, disc, rectangle
from preflight.measure import gaps
from preflight.order import Order

ORDER = Order()


@pytest.mark.parametrize("width", [0.05, 0.1, 0.25, 0.5, 1.0, 2.0])
@pytest.mark.parametrize("angle", [0.0, 12.0, 45.0])
def test_a_slot_in_a_solid_is_a_gap(width, angle):
    side = 6 * width + 4
    solid = rectangle(0.5, 0.5, side - 0.5, side - 0.5).difference(
        bar(side / 2, side / 2, width, 4 * width, angle)
    )
    found = gaps.gaps(drawn(side, side, {0: [solid]}), ORDER, up_to=1.5 * width)
    assert len(found) == 1
    assert found[0].value == pytest.approx(width, abs=max(0.005, 0.01 * width))


@pytest.mark.parametrize("width", [0.05, 0.1, 0.24, 0.6])
def test_a_gap_between_two_inks_is_not_a_gap_of_one(width):
    art = drawn(20, 12, {0: [rectangle(2, 2, 9, 10)], 1: [rectangle(9 + width, 2, 18, 10)]})
    found = gaps.between_inks(art, ORDER, up_to=0.7)
    assert [r.value for r in found] == pytest.approx([width], abs=0.005)
    assert found[0].what == "the gap between deep blue and rust red"
    assert not [r for r in gaps.gaps(art, ORDER, up_to=0.7) if r.value < 0.7]
    assert gaps.narrowest_gap(art).value == pytest.approx(width, abs=0.005)


@pytest.mark.parametrize("overlap", [0.0, 0.1, 0.2, 0.5])
def test_trap_is_the_overlap_of_inks_that_touch(overlap):
    art = drawn(20, 12, {0: [rectangle(2, 2, 9 + overlap, 10)], 1: [rectangle(9, 2, 18, 10)]})
    (found,) = gaps.trap(art, ORDER)
    assert found.value == pytest.approx(overlap, abs=0.004)
    assert (found.value == 0.0) == (overlap == 0.0)


@pytest.mark.parametrize("overlap", [0.05, 0.184, 0.371])
def test_trap_of_round_edges_is_as_true(overlap):
    hole = rectangle(1, 1, 23, 19).difference(disc(12, 10, 6, 1e-3))
    (found,) = gaps.trap(drawn(24, 20, {0: [hole], 1: [disc(12, 10, 6 + overlap, 1e-3)]}), ORDER)
    assert found.value == pytest.approx(overlap, abs=0.004)


def test_a_white_box_behind_the_art_asks_for_no_trap():
    frame = rectangle(0, 0, 30, 20).difference(rectangle(5, 5, 15, 15))
    coloured, art = (drawn(30, 20, {0: [frame], 1: [rectangle(5, 5, 15, 15)]}) for _ in range(2))
    assert [r.value for r in gaps.trap(coloured, ORDER)] == [0.0]
    whitened = replace(art, inks=(replace(art.inks[0], hex="#ffffff", lab=(100.0, 0.0, 0.0)), art.inks[1]))
    assert gaps.trap(whitened, ORDER) == []


def test_no_trap_is_asked_for_what_lies_on_a_solid_or_apart():
    on_top = drawn(20, 12, {0: [rectangle(2, 2, 18, 10)], 1: [bar(10, 6, 0.2, 5)]})
    assert gaps.trap(on_top, ORDER) == []
    apart = drawn(20, 12, {0: [rectangle(2, 2, 9, 10)], 1: [rectangle(9.5, 2, 18, 10)]})
    assert gaps.trap(apart, ORDER) == []


def test_a_small_hole_in_a_solid_is_a_pinhole():
    art = drawn(12, 12, {0: [rectangle(1, 1, 11, 11).difference(disc(6, 6, 0.1))]})
    assert [r.value for r in gaps.pinholes(art, ORDER, up_to=0.3)] == pytest.approx([0.2], abs=0.006)


@pytest.mark.parametrize("half_opening", [0.35, 0.5, 0.8])
def test_the_stair_at_the_end_of_a_notch_is_no_gap_in_a_bitmap_without_greys(half_opening):
    notch = Polygon([(6 - half_opening, 1), (6 + half_opening, 1.13), (6.07, 7)])
    sheet = SimpleNamespace(width=12, height=9, polygons={0: [rectangle(1, 1, 11, 8).difference(notch)]})
    found = [r.value for r in gaps.gaps(bitmap_of(sheet, 600, bilevel=True), ORDER, up_to=0.2)]
    assert not [width for width in found if width < 0.2]
