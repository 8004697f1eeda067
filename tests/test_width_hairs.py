"""Lines and slots of a few hundredths of a millimetre, filled and not stroked: one place each, as long as they are."""

import pytest

from boards.plates import drawn
from boards.shapes import bar, rectangle
from preflight.measure import gaps, strokes
from preflight.order import Order


@pytest.mark.parametrize(
    ("width", "angle"),
    [(0.015, 0), (0.015, 90), (0.021, 17), (0.032, 0), (0.032, 17), (0.045, 17), (0.045, 90)],
)
def test_a_long_hair_is_one_line_as_long_as_it_is(width, angle):
    found = list(strokes.lines(drawn(40, 30, {0: [bar(20, 15, width, 20, angle)]}), Order(), up_to=0.3))
    assert [one.value for one in found] == pytest.approx([width], abs=0.002)
    assert found[0].facts["length_mm"] == pytest.approx(20, rel=0.1)


@pytest.mark.parametrize(("width", "angle"), [(0.015, 0), (0.015, 90), (0.032, 17), (0.032, 90)])
def test_a_long_hair_of_bare_ground_is_one_gap_as_long_as_it_is(width, angle):
    solid = rectangle(2, 2, 38, 28).difference(bar(20, 15, width, 20, angle))
    found = list(gaps.gaps(drawn(40, 30, {0: [solid]}), Order(), up_to=0.3))
    assert [one.value for one in found] == pytest.approx([width], abs=0.002)
    assert found[0].facts["length_mm"] == pytest.approx(20, rel=0.15)


@pytest.mark.parametrize("offset", [0.0, 0.0052, 0.0104, 0.0156])
def test_a_hair_is_found_wherever_it_lies_on_the_grid(offset):
    art = drawn(20, 10, {0: [rectangle(2, 5 + offset, 18, 5.032 + offset)]})
    assert strokes.finest_line(art).value == pytest.approx(0.032, abs=0.002)
