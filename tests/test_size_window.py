"""The size window: the arithmetic against geometry, and the ends against the rules themselves.

The widths on a round article are the handbook's computed examples (s = D/2 - sqrt((D/2)² - (w/2)²)): a print that may
fall away by 3 mm is about 31 mm wide on a mug of 82 mm, by 1.5 mm about 22 mm.
"""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from preflight.artwork import Artwork
from preflight.findings import Severity
from preflight.measure import measures
from preflight.order import Order
from preflight.reading import Reading
from preflight.rulebook import Method, Rule
from preflight.size_window import Worst, bounds, measured, size_window, window

UNITS = {"mm": "with size", "mm2": "with its square", "ppi": "against size"}


def art(width=80.0, height=40.0):
    return Artwork(
        format="svg", kind="vector", page=1, pages=1, width_mm=width, height_mm=height, file_width_mm=width,
        file_height_mm=height, ground="#ffffff", inks=(), marks=(), text=(), pictures=(), fonts=(), fades=(), facts=(),
        plates=None,
    )  # fmt: skip


def rule(unit="mm", readings=(), check="line-width", **more):
    @measures(unit)
    def fake(art, order):
        yield from readings

    words = {
        "says": "It is {measured}.",
        "why": "So it is.",
        "fix": "Mend it.",
        "source": "our default",
        "title": "Good",
    }
    limit = (
        {} if {"maximum", "wanted_minimum", "wanted_maximum"} & more.keys() else {"minimum": f"0.4 {unit}"}
    )
    return Rule(id=f"kite-print/{check}", check=check, measure=fake, **words | limit | more)


def test_a_line_half_as_thick_as_needed_doubles_the_least_width():
    found = window(80.0, [Worst(rule(), 0.2)])
    assert (found.min_width_mm, found.max_width_mm, found.possible, found.because) == (
        160.0,
        None,
        True,
        ("line-width",),
    )


def test_resolution_bounds_the_other_end():
    found = window(80.0, [Worst(rule("ppi", check="resolution", minimum="300 ppi"), 150.0)])
    assert (found.min_width_mm, found.max_width_mm, found.because) == (None, 40.0, ("resolution",))


def test_areas_go_with_the_square():
    found = window(80.0, [Worst(rule("mm2", check="solid-area", maximum="4 cm2"), 1600.0)])
    assert found.max_width_mm == 40.0


def test_a_clash_names_both_ends():
    """The contract's own example: lettering 3.4 mm high on 80 mm must be 5 mm, and a cap takes 54 mm of height."""
    lettering = Worst(rule(check="lettering-height", minimum="5 mm"), 3.4)
    cap = Worst(rule(check="art-size", maximum="54 mm", exact=True), 42.1)
    found = window(80.0, [lettering, cap])
    assert (found.min_width_mm, found.max_width_mm) == (117.7, 102.6)
    assert not found.possible and found.because == ("lettering-height", "art-size")


def test_the_tightest_limit_of_each_end_decides():
    found = window(
        100.0,
        [
            Worst(rule(minimum="1 mm"), 2.0),
            Worst(rule(check="gap-width", minimum="1 mm"), 1.25),
            Worst(rule(check="art-size", maximum="60 mm"), 50.0),
            Worst(rule(check="solid-area", maximum="60 mm"), 40.0),
        ],
    )
    assert (found.min_width_mm, found.max_width_mm, found.because) == (80.0, 120.0, ("gap-width", "art-size"))


def test_a_hairline_is_too_thin_at_any_size():
    found = window(80.0, [Worst(rule(), 0.0)])
    assert not found.possible and found.min_width_mm is None and found.because == ("line-width",)


def test_a_limit_that_could_not_be_measured_bounds_nothing_and_is_named():
    found = window(80.0, [Worst(rule(), None), Worst(rule(check="gap-width"), 0.8)])
    assert found.min_width_mm == 40.0 and found.because == ("gap-width",)
    assert found.unmeasured == ("line-width",)


def test_spare_art_bounds_how_small_a_good_file_may_be_and_is_never_gained_by_enlarging():
    bleed = rule(check="bleed", minimum="2 mm", scales="while it holds")
    assert bounds(bleed, 5.0, 40.0) == (16.0, None)
    assert bounds(bleed, 1.5, 40.0) == bounds(bleed, 0.0, 40.0) == (None, None)


def test_nothing_that_bounds_leaves_both_ends_open():
    assert window(80.0, []).possible and window(80.0, []).because == ()


@pytest.mark.parametrize(
    "fall, diameter, width", [(3.0, 82.0, 31.0), (1.5, 82.0, 22.0), (1.0, 10.0, 6.0), (1.5, 70.0, 20.0)]
)
def test_widths_on_a_round_article_are_the_handbooks(fall, diameter, width):
    least, greatest = bounds(
        rule(check="art-size", maximum=f"{fall} mm", scales="on the round"), 0.0, 50.0, diameter_mm=diameter
    )
    assert least is None and greatest == pytest.approx(width, rel=0.03)
    circle = np.linspace(0, np.pi, 200_001)  # the fall of a print that wide, off the circle itself
    x, y = diameter / 2 * np.cos(circle), diameter / 2 * (1 - np.sin(circle))
    assert y[np.abs(x) <= greatest / 2].max() == pytest.approx(fall, abs=2e-3)


def test_without_a_diameter_the_fall_bounds_nothing():
    assert bounds(rule(maximum="3 mm", scales="on the round"), 1.0, 50.0) == (None, None)


def test_a_fall_of_half_the_article_never_bounds():
    found = window(50.0, [Worst(rule(maximum="3 mm", scales="on the round"), 1.0)], diameter_mm=5.0)
    assert found.max_width_mm is None and found.possible


@given(
    value=st.floats(0.05, 500), limit=st.floats(0.5, 400), width=st.floats(5, 400), unit=st.sampled_from(sorted(UNITS)),
    low=st.booleans(),
)  # fmt: skip
def test_at_its_end_a_limit_just_holds_and_past_it_fails(value, limit, width, unit, low):
    side = {"minimum": f"{limit:.3f} {unit}"} if low else {"maximum": f"{limit:.3f} {unit}"}
    one = rule(unit, **side)
    least, greatest = bounds(one, value, width)
    end = least if least is not None else greatest
    assert (least is None) != (greatest is None)
    assume(1 < end < 10_000)

    def at(new_width):
        factor = new_width / width
        return {
            "with size": value * factor,
            "with its square": value * factor**2,
            "against size": value / factor,
        }[UNITS[unit]]

    inside, outside = (1.0001, 0.85) if least is not None else (0.9999, 1.15)
    for new_width, good in ((end * inside, True), (end * outside, False)):
        held = at(new_width) >= one.must if low else at(new_width) <= one.must
        assert held == good


@given(value=st.floats(0.01, 50), width=st.floats(1, 500), factor=st.floats(0.1, 10))
def test_the_window_does_not_depend_on_the_size_it_was_measured_at(value, width, factor):
    one = window(width, [Worst(rule(), value)])
    other = window(width * factor, [Worst(rule(), value * factor)])
    assert one.min_width_mm == pytest.approx(other.min_width_mm, abs=0.11)


def test_the_rounded_ends_hold():
    """The least width is rounded up and the greatest down, so that a job ordered at either passes."""
    for value in (0.1234, 0.377, 0.3999):
        found = window(80.0, [Worst(rule(), value)])
        assert value * found.min_width_mm / 80 >= 0.4 - 1e-6
        found = window(80.0, [Worst(rule(maximum="0.4 mm"), value)])
        assert value * found.max_width_mm / 80 <= 0.4 + 1e-6
        assert math.isclose(found.max_width_mm * 10, round(found.max_width_mm * 10))


# ------------------------------------------------------------------------------------------------ which rules count


def method(*rules):
    return Method(id="kite-print", name="Kite printing", tells="It prints kites.", rules=tuple(rules))


def test_only_musts_that_change_with_size_and_apply_to_the_order_count():
    bad = (Reading(value=0.1),)
    rules = [
        rule(readings=bad),
        rule(readings=bad, wanted_minimum="0.5 mm", minimum=None),  # asks only
        rule(readings=bad, notes_only=True),
        rule(readings=bad, scales=""),
        rule(readings=bad, when="cap"),
        rule("", readings=(Reading(value=3.0),), maximum="0"),  # no size mends a count
    ]
    assert [item.rule for item in measured(art(), Order(), method(*rules))] == rules[:1]
    with_cap = measured(art(), Order(tags=frozenset({"cap"})), method(*rules))
    assert [item.rule for item in with_cap] == [rules[0], rules[4]]


def test_what_passes_now_still_has_a_least_size():
    """The measurement looks no further than the limit; the search without end does."""
    one = rule(readings=(), least=lambda art: Reading(value=1.6))
    assert size_window(art(), Order(), method(one)).min_width_mm == 20.0
    none_there = rule(readings=(), least=lambda art: None)
    assert size_window(art(), Order(), method(none_there)).because == ()


def test_what_is_not_certain_bounds_nothing_because_it_never_fails():
    shaky, sure = Reading(value=0.05, sure=0.6), Reading(value=0.2)
    (item,) = measured(art(), Order(), method(rule(readings=(shaky, sure))))
    assert item.value == 0.2


def test_at_the_least_width_the_rule_itself_no_longer_fails():
    one = rule(readings=(Reading(value=0.31), Reading(value=0.5)))
    found = size_window(art(), Order(), method(one))
    factor = found.min_width_mm / 80
    larger = replace(
        one, measure=rule(readings=(Reading(value=0.31 * factor), Reading(value=0.5 * factor))).measure
    )
    assert larger.check_art(art(), Order())[0] is None
    smaller = replace(one, measure=rule(readings=(Reading(value=0.31 * factor * 0.9),)).measure)
    assert smaller.check_art(art(), Order())[0].severity is Severity.MUST
