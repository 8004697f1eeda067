"""Fall of a round article under a flat print."""

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from preflight.measure import curve
from preflight.order import Order
from shape_art import blank_art, shape_art

# Computed from s = D/2 - sqrt((D/2)^2 - (w/2)^2), as tabulated for the workshop: pens, a bottle and a mug.
TABLE = [
    (10, 6, 1.0), (10, 7, 1.4), (12, 7, 1.1), (70, 20, 1.5), (82, 25, 1.95), (82, 40, 5.2), (82, 31, 3.0), (82, 22, 1.5),
]  # fmt: skip


@pytest.mark.parametrize(("diameter", "width", "fall"), TABLE)
def test_table(diameter, width, fall):
    art = shape_art([shapely.box(0, 0, width, 5)])
    (reading,) = curve.height_change(art, Order(diameter_mm=diameter))
    # 0.051: the table has one decimal
    assert reading.value == pytest.approx(fall, abs=0.051 if fall != 1.95 else 0.005)


@given(st.floats(1, 500), st.floats(0.01, 1))
def test_the_far_point_lies_on_the_circle(diameter, share):
    fall = curve.sagitta(diameter * share, diameter)
    # The edge of the print lies on the circle: (r - s)² + (w/2)² = r²
    assert (diameter / 2 - fall) ** 2 + (diameter * share / 2) ** 2 == pytest.approx(
        (diameter / 2) ** 2, rel=1e-9
    )


def test_without_a_diameter_or_without_art_nothing_is_said():
    assert curve.height_change(shape_art([shapely.box(0, 0, 10, 5)]), Order()) == []
    assert curve.height_change(blank_art(), Order(diameter_mm=82)) == []


def test_a_print_wider_than_the_article_falls_by_its_radius_at_least():
    assert curve.sagitta(90, 82) is None
    assert curve.height_change(shape_art([shapely.box(0, 0, 90, 5)]), Order(diameter_mm=82))[0].value == 41
