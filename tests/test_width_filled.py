"""Slots in one ink that another ink fills, in whole or in part: one cause gives one finding."""

import pytest

from boards.plates import drawn
from boards.shapes import bar, disc, letters, pieces, rectangle
from preflight.measure import gaps, strokes
from preflight.order import Order

ORDER = Order()
SOLID = rectangle(2, 2, 28, 18)


def narrower(measure, art, up_to=0.5):
    return [r.value for r in measure(art, ORDER, up_to=up_to) if r.value is not None and r.value < up_to]


@pytest.mark.parametrize("angle", [0.0, 23.0, 90.0])
@pytest.mark.parametrize("overlap", [0.0, 0.05])
def test_a_line_of_another_ink_in_its_slot_is_a_line_and_no_gap(angle, overlap):
    slot = bar(15, 10, 0.3, 9, angle)
    art = drawn(30, 20, {0: [SOLID.difference(slot)], 1: [bar(15, 10, 0.3 + 2 * overlap, 9, angle)]})
    assert narrower(gaps.gaps, art) == []
    assert narrower(gaps.between_inks, art) == []
    assert narrower(strokes.lines, art) == pytest.approx([0.3 + 2 * overlap], abs=0.005)
    assert [r.value for r in gaps.trap(art, ORDER)] == pytest.approx([overlap], abs=0.01)


def test_a_bare_slot_beside_another_ink_is_still_a_gap():
    slot = bar(15, 10, 0.3, 9, 23)
    art = drawn(30, 20, {0: [SOLID.difference(slot)], 1: [rectangle(2, 18.5, 28, 19.5)]})
    assert narrower(gaps.gaps, art) == pytest.approx([0.3], abs=0.005)


def test_a_slot_filled_for_half_its_length_is_still_a_gap():
    slot = bar(15, 10, 0.3, 12)
    art = drawn(30, 20, {0: [SOLID.difference(slot)], 1: [rectangle(9, 9.85, 15, 10.15)]})
    assert narrower(gaps.gaps, art) == pytest.approx([0.3], abs=0.005)


def test_a_thin_line_in_a_wider_slot_leaves_gaps_between_the_inks():
    slot = bar(15, 10, 0.7, 9)
    art = drawn(30, 20, {0: [SOLID.difference(slot)], 1: [bar(15, 10, 0.3, 9)]})
    assert narrower(gaps.gaps, art) == []
    assert narrower(gaps.between_inks, art) == pytest.approx([0.2, 0.2], abs=0.005)


def test_a_hole_that_a_dot_of_another_ink_fills_is_no_pinhole():
    hole = disc(8, 10, 0.15)
    plain = drawn(30, 20, {0: [SOLID.difference(hole).difference(disc(20, 10, 0.15))], 1: [hole]})
    assert len(narrower(gaps.pinholes, plain)) == 1


def test_lettering_reversed_and_filled_with_a_second_ink():
    """The stems of 2.5 mm print are 0.25 mm and more; counters stay ink of the first plate, and are no gaps of it."""
    word = [p for shape in letters("Hill", 2.5, x=6, y=12) for p in pieces(shape)]
    solid = SOLID
    for p in word:
        solid = solid.difference(p)
    art = drawn(30, 20, {0: pieces(solid), 1: word})
    assert narrower(gaps.gaps, art, 0.4) == []
    bare = drawn(30, 20, {0: pieces(solid), 1: [rectangle(3, 3, 5, 5)]})
    assert narrower(gaps.gaps, bare, 0.4)
