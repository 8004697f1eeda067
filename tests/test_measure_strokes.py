"""Lines, specks, solids: against shapes whose widths are known."""

import numpy as np
import pytest
from shapely import affinity

from boards.loads import line_field
from boards.plates import drawn
from boards.shapes import bar, disc, letters, pieces, rectangle, ring
from preflight.measure import strokes
from preflight.order import Order

ORDER = Order()


@pytest.mark.parametrize("width", [0.05, 0.1, 0.2, 0.3, 0.5, 0.9, 1.5, 2.0, 3.0])
@pytest.mark.parametrize("angle", [0.0, 7.3, 30.0, 45.0, 61.7])
def test_a_bar_three_times_as_long_as_wide_is_measured(width, angle):
    length = 3.05 * width
    side = 4 * width + 2
    art = drawn(side, side, {0: [bar(side / 2 + 0.013, side / 2 + 0.037, width, length, angle)]})
    found = strokes.lines(art, ORDER, up_to=width * 1.5)
    assert len(found) == 1
    assert found[0].value == pytest.approx(width, abs=max(0.005, 0.01 * width))
    assert found[0].facts["ink"] == "deep blue"


def test_nothing_is_said_of_an_empty_sheet():
    art = drawn(50, 40, {0: []})
    assert strokes.lines(art, ORDER, up_to=0.5) == []
    assert strokes.finest_line(art) is None
    assert strokes.smallest_detail(art) is None
    assert strokes.widest(art, ORDER) == []


def test_a_pen_of_no_width_is_a_line_of_no_width():
    art = drawn(40, 40, {}, {0: [(np.array([(5.0, 5.0), (30.0, 20.0)]), 0.0)]})
    found = strokes.lines(art, ORDER, up_to=0.2)
    assert [r.value for r in found] == [0.0]
    assert found[0].facts["length_mm"] == pytest.approx(np.hypot(25, 15), abs=0.1)


def test_the_widest_place_is_the_largest_circle_that_fits():
    art = drawn(60, 40, {0: [rectangle(5, 5, 50, 12.5)], 1: [disc(30, 28, 6.2)]})
    assert [r.value for r in strokes.widest(art, ORDER)] == pytest.approx([7.5, 12.4], rel=0.01)


@pytest.mark.parametrize(("line", "pitch", "turn"), [(0.1, 0.2, 0.0), (0.2, 0.4, 30.0), (0.3, 0.5, 70.0)])
def test_the_widest_place_of_fine_lines_side_by_side_is_a_line(line, pitch, turn):
    """From afar they are one grey area, and from a little nearer every other gap closes."""
    art = drawn(60, 40, line_field(60, 40, line, pitch, turn))
    assert [r.value for r in strokes.widest(art, ORDER)] == pytest.approx([line], abs=0.02)  # a pixel


def test_a_fine_line_beside_a_large_solid_is_counted():
    solid = rectangle(5, 5, 35, 35)
    near, far = bar(20, 37, 0.3, 20), bar(20, 50, 0.3, 20)
    assert strokes.fine_detail_beside_solid(drawn(40, 60, {0: [solid, near, far]}), ORDER)[0].value == 1
    assert strokes.fine_detail_beside_solid(drawn(40, 60, {0: [solid, far]}), ORDER)[0].value == 0


@pytest.mark.parametrize("height", [1.2, 2.5, 6.0])
def test_a_letter_is_no_dot(height):
    found = []
    for number, letter in enumerate("MAKEWX"):
        found += [
            p
            for shape in letters(letter, height, x=4 + 3 * height * number, y=4 + height)
            for p in pieces(shape)
        ]
    art = drawn(20 * height + 8, 8 + 2 * height, {0: found})
    assert strokes.specks(art, ORDER, up_to=3.0) == []


@pytest.mark.parametrize("size", [0.09, 0.2925, 0.3412, 1.1])
def test_dots_squares_and_short_bars_are_specks(size):
    side = 12 * size + 6
    art = drawn(
        side, side,
        {0: [disc(side / 4, side / 4, size / 2, 1e-4), bar(3 * side / 4, side / 4, size, 1.3 * size, 20),
             bar(side / 4, 3 * side / 4, size, 2.2 * size, 75)]},
    )  # fmt: skip
    found = [r.value for r in strokes.specks(art, ORDER, up_to=1.5 * size)]
    assert found == pytest.approx([size, size, size], abs=max(0.005, 0.01 * size))


@pytest.mark.parametrize("angle", [0.0, 33.0])
def test_a_notch_shorter_than_it_is_wide_makes_no_thin_line_of_a_stroke(angle):
    stroke = affinity.rotate(rectangle(4, 4, 7, 4.42).difference(disc(5.2, 4.62, 0.3)), angle)
    art = drawn(12, 9, {0: [stroke]})
    (found,) = strokes.lines(art, ORDER, up_to=0.5)
    assert 0.38 < found.value < 0.43  # 0.32 at the notch, over a third of its width


def test_a_thin_thing_that_spreads_over_the_art_is_marked_at_its_narrowest_place():
    circle = ring(20, 20, 18, 0.2)
    (found,) = strokes.lines(drawn(40, 40, {0: pieces(circle)}), ORDER, up_to=0.3)
    ((x0, y0, x1, y1),) = found.where
    assert x1 - x0 <= 3.3 and y1 - y0 <= 3.3
    assert circle.intersects(rectangle(x0, y0, x1, y1))
    (level,) = strokes.lines(drawn(40, 40, {0: [bar(20, 20, 0.2, 34)]}), ORDER, up_to=0.3)
    assert level.where[0][2] - level.where[0][0] == pytest.approx(34, abs=0.7)
