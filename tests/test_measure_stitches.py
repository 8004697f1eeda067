"""Stitch estimates: published worked examples by the formula, analytic shapes by the pixels."""

from dataclasses import replace

import numpy as np
import pytest
import shapely
from shapely import affinity

from preflight.artwork import Fade
from preflight.measure import stitches
from preflight.measure.letter_line import LetterLine
from preflight.measure.stitches import Coefficients, counted, letter_stitches
from preflight.order import Order
from shape_art import Shape, bitmap_art, blank_art, circle, joined, shape_art

ORDER = Order(method="embroidery")
INCH, SQUARE_INCH = 25.4, 645.16


# -------------------------------------------------------------------------------------------- the published rules


def test_example_1_fill_satin_and_letters():
    """5 sq in of fill at 1 200, 28 in of satin at 150, 8 letters of 100: 11 000 (common practice, one published page)."""
    assert counted(5 * SQUARE_INCH, 28 * INCH, 0, 8 * letter_stitches(6.4)) == pytest.approx(
        11_000, rel=0.002
    )


# Stitches a sq in or mm², an in or mm, and a mm of run, by the rules seen; what they make of example 1 (computed).
RULES = {
    "seminar 1990, promotional": (Coefficients(1.10, 4.4, 1.0), 7_478),
    "seminar 1990, standard": (Coefficients(1.30, 4.7, 1.0), 8_336),
    "seminar 1990, premium": (Coefficients(1.60, 5.0, 1.0), 9_517),
    "two-source rule": (Coefficients(), 11_000),
    "trainer 2011": (Coefficients(1_600 / SQUARE_INCH, 175 / INCH, 0.8), 14_100),
    "quick quoting": (Coefficients(2_000 / SQUARE_INCH, 200 / INCH, 0.8), 16_400),
}


@pytest.mark.parametrize("name", RULES)
def test_the_range_spans_what_other_rules_make_of_example_1(name):
    per, stated = RULES[name]
    letters = 8 * (150 if "trainer" in name else 100)
    if "quick" in name or "seminar" in name:
        letters = 8 * 100
    found = counted(5 * SQUARE_INCH, 28 * INCH, 0, letters, per=per)
    assert found == pytest.approx(stated, rel=0.015)
    assert stitches.LOW * 11_000 * 0.97 <= stated <= stitches.HIGH * 11_000


@pytest.mark.parametrize(
    ("area", "stated"), [(1.5 * 2, 6_000), (1 * 3, 6_000), (0.5 * 0.5, 500)]
)  # common practice, two published pages: length x width x 2 thousand
def test_example_2_quick_quoting(area, stated):
    assert counted(area * SQUARE_INCH, 0, 0, per=RULES["quick quoting"][0]) == pytest.approx(stated)


def test_example_5_from_seminar_figures():
    """12 cm² x 130 + 30 cm x 47 + 20 cm x 10 = 3 170 (seminar table 1990; computed)."""
    assert counted(1200, 300, 200, per=Coefficients(1.30, 4.7, 1.0)) == pytest.approx(3_170)


def test_example_6_from_trainers_figures():
    """6 letters of 12.7 mm x 200 + 2 sq in x 1 600 + 4 in x 175 = 5 100 (a trainer's figures, 2011; computed)."""
    per = Coefficients(1_600 / SQUARE_INCH, 175 / INCH, 0.8)
    assert counted(2 * SQUARE_INCH, 4 * INCH, 0, 6 * letter_stitches(12.7), per=per) == pytest.approx(5_100)


def test_satin_agrees_with_its_spacing():
    """Rows every 0.4 mm with two penetrations each are 5.0 a mm; the published 57, 50 and 44 a cm for 0.35, 0.40, 0.45 mm."""
    for spacing, per_cm in ((0.35, 57), (0.40, 50), (0.45, 44)):
        assert 10 * 2 / spacing == pytest.approx(per_cm, abs=0.5)
    assert stitches.USUAL.satin_per_mm > 2 / 0.40  # underlay comes on top


@pytest.mark.parametrize(("height", "count"), [(6.4, 100), (12.7, 200), (19, 350), (25.4, 500), (31.8, 600)])
def test_letter_table(height, count):  # common practice, four published pages
    assert letter_stitches(height) == count


@pytest.mark.parametrize(
    ("count", "words"), [(4_999, "to 5 000"), (5_001, "to 7 500"), (15_001, "over 15 000")]
)
def test_bands(count, words):
    assert stitches.band(count) == words


# ------------------------------------------------------------------------------------------------ shapes of known size


def sewing(*shapes, **more):
    return stitches.sewings(shape_art(list(shapes), **more))[0]


@pytest.mark.parametrize("width", [1.0, 1.4, 2.5, 4.0, 6.5])
@pytest.mark.parametrize("turn", [0, 31])
def test_a_bar_up_to_7_mm_is_satin_as_long_as_it_is(width, turn):
    bar = affinity.rotate(shapely.box(10, 30, 90, 30 + width), turn)
    found = sewing(bar, size=(100, 80))
    assert found.satin_mm == pytest.approx(80, rel=0.06)
    assert (found.fill_mm2, found.run_mm) == pytest.approx((0, 0), abs=4)
    assert found.columns[0].width == pytest.approx(width, abs=0.1)


@pytest.mark.parametrize("width", [0.3, 0.5, 0.8])
def test_a_line_under_1_mm_is_run(width):
    found = sewing(circle(30, 30, 20).difference(circle(30, 30, 20 - width)), size=(60, 60))
    assert found.run_mm == pytest.approx(2 * np.pi * (20 - width / 2), rel=0.1)
    assert (found.fill_mm2, found.satin_mm) == (0, 0)


@pytest.mark.parametrize(
    "shape", [shapely.box(5, 5, 35, 25), circle(20, 20, 15), shapely.box(5, 5, 85, 12.6)]
)
def test_a_wide_shape_is_fill_to_its_corners(shape):
    found = sewing(shape, size=(90, 40))
    assert found.fill_mm2 == pytest.approx(shape.area, rel=0.01)
    assert found.satin_mm + found.run_mm == pytest.approx(0, abs=0.5)


def test_fill_beside_a_thin_line_keeps_its_width():
    found = sewing(shapely.box(0, 0, 30, 30), shapely.box(30.7, 0, 31.2, 30), size=(40, 30))
    assert found.fill_mm2 == pytest.approx(900, rel=0.01)
    assert found.run_mm == pytest.approx(30, rel=0.12)


def test_example_1_drawn():
    """The art of example 1, its letters as 2 mm strokes left out: 6 000 and 4 200 stitches (common practice)."""
    side = (5 * SQUARE_INCH) ** 0.5
    bars = [shapely.box(70, 6 * i, 70 + 28 * INCH / 8, 6 * i + 2) for i in range(8)]
    art = shape_art([shapely.box(0, 0, side, side), *bars])
    (reading,) = stitches.estimate(art, ORDER)
    assert reading.value == pytest.approx(10_200, rel=0.03)
    assert reading.facts["low"] == pytest.approx(0.7 * reading.value, abs=1)
    assert reading.facts["high"] == pytest.approx(1.5 * reading.value, abs=1)
    assert reading.facts["band"] == "to 15 000"


def test_letters_that_were_found_count_by_the_table_and_not_twice(monkeypatch):
    boxes = [(10.0 + 12 * i, 10.0, 18.0 + 12 * i, 22.7) for i in range(6)]
    letters = [joined(shapely.box(a, b, a + 2, d), shapely.box(a, b, c, b + 2)) for a, b, c, d in boxes]
    art = shape_art([*letters, shapely.box(10, 40, 40, 60)], size=(90, 70))
    line = LetterLine(
        shortest=12.7, cap=12.7, x_height=None, stroke=2.0, counter=None, box=(10, 10, 78, 22.7), small=boxes[0],
        letters=tuple(boxes), ink=0,
    )  # fmt: skip
    monkeypatch.setattr(stitches.lettering, "lines", lambda art: [line])
    found = stitches.sewings(art)[0]
    assert (found.letters, found.letter_stitches) == (6, 1200)
    assert found.satin_mm == pytest.approx(0, abs=0.5)
    assert found.fill_mm2 == pytest.approx(600, rel=0.01)


def test_parts_are_tied_off_and_colours_changed():
    one = shapely.box(0, 0, 20, 20)
    art = shape_art([one, Shape(shapely.box(30, 0, 50, 20), 0), Shape(shapely.box(60, 0, 80, 20), 1)])
    assert stitches.total(art) == pytest.approx(3 * 400 * 1.86 + 2 * stitches.TIES, rel=0.005)


def test_the_estimate_grows_with_the_area():
    art = shape_art([circle(20, 20, 15)])
    assert stitches.total(art.resized(2)) == pytest.approx(4 * stitches.total(art), rel=0.01)


def test_density_is_over_the_box_of_the_design():
    (reading,) = stitches.density(shape_art([circle(20, 20, 20)]), ORDER)
    assert reading.value == pytest.approx(1.86 * np.pi / 4, rel=0.01)


def test_satin_width_leaves_out_what_can_only_be_filled():
    art = shape_art(
        [shapely.box(0, 0, 80, 9), shapely.box(0, 20, 80, 35), Shape(shapely.box(0, 40, 60, 43), 1)]
    )
    values = [r.value for r in stitches.satin_width(art, ORDER, up_to=7)]
    assert values == pytest.approx([9, 3], abs=0.1)


@pytest.mark.parametrize("ppi", [100, 300])
def test_a_bitmap_counts_like_its_drawing(ppi):
    shapes = [shapely.box(5, 5, 35, 25), shapely.box(5, 30, 75, 32.5)]
    drawn, pixels = shape_art(shapes, (80, 40)), bitmap_art(shapes, (80, 40), ppi)
    assert stitches.total(pixels) == pytest.approx(stitches.total(drawn), rel=0.06)


# --------------------------------------------------------------------------------------------------- robustness


@pytest.mark.parametrize(
    "art",
    [
        blank_art(),
        blank_art(0, 0),
        shape_art([shapely.box(0, 0, 0.02, 0.02)]),
        bitmap_art([], (0.09, 0.09), inks=()),
    ],
    ids=["blank", "no size", "a pixel", "blank bitmap"],
)
@pytest.mark.parametrize("measure", [stitches.estimate, stitches.density, stitches.satin_width])
def test_nothing_to_sew_is_no_reading(measure, art):
    assert all(np.isfinite(r.value) for r in measure(art, ORDER))


@pytest.mark.parametrize(
    "shapes", [[], [circle(30, 20, 15), Shape(circle(10, 10, 4), 1)]], ids=["no inks", "inks"]
)
def test_a_photograph_cannot_be_counted_and_says_why(shapes):
    art = replace(bitmap_art(shapes, (60, 40)), fades=(Fade("photograph", (0, 0, 60, 40)),))
    for measure in (stitches.estimate, stitches.density, stitches.satin_width):
        (reading,) = measure(art, ORDER)
        assert reading.value is None
        assert reading.reason.endswith(".")


def test_a_small_photograph_beside_drawn_art_does_not_hide_the_rest():
    art = replace(
        shape_art([shapely.box(0, 0, 40, 20)], (60, 40)), fades=(Fade("photograph", (45, 25, 55, 35)),)
    )
    assert stitches.estimate(art, ORDER)[0].value == pytest.approx(800 * 1.86, rel=0.01)


def test_large_art_is_looked_at_coarsely():
    art = shape_art([shapely.box(0, 0, 500, 400)])
    assert stitches.total(art) == pytest.approx(200_000 * 1.86, rel=0.005)
    assert max(k * k * 500 * 400 for _, _, k in art.plates.calls) < 3e7
