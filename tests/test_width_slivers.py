"""Colour that peeps out beside another colour drawn over its edge is no line; thin lines that are meant still are.

Widths are known by construction (two circles, two bars), the files are SVG as a client sends them.
"""

import math

import pytest

from preflight.load import load
from preflight.measure import gaps, strokes
from preflight.order import Order

NAVY, GOLD, RUST = "#1f3a6e", "#e0b020", "#c8402e"


def art_of(body: str):
    """An SVG of 40 x 30 mm."""
    head = '<svg xmlns="http://www.w3.org/2000/svg" width="40mm" height="30mm" viewBox="0 0 40 30">'
    return load((head + body + "</svg>").encode(), Order())


def lines(body: str, up_to: float = 0.3) -> list[float]:
    art = art_of(body)
    found = [*strokes.lines(art, Order(), up_to=up_to), *strokes.specks(art, Order(), up_to=up_to)]
    return sorted(one.value for one in found if one.value is not None and one.value < up_to)


def ring(x: float, y: float, inner: float, outer: float, colour: str) -> str:
    """A ring as an outline of its own, not as a stroke."""
    circles = "".join(
        f"M{x - r} {y}a{r} {r} 0 1 0 {2 * r} 0a{r} {r} 0 1 0 {-2 * r} 0z" for r in (inner, outer)
    )
    return f'<path fill-rule="evenodd" fill="{colour}" d="{circles}"/>'


def circle(x: float, y: float, r: float, colour: str) -> str:
    return f'<circle cx="{x}" cy="{y}" r="{r}" fill="{colour}"/>'


def outline(x: float, y: float, r: float, width: float, colour: str) -> str:
    return f'<circle cx="{x}" cy="{y}" r="{r}" fill="none" stroke="{colour}" stroke-width="{width}"/>'


@pytest.mark.parametrize(("peeps", "angle"), [(0.008, 33), (0.02, 0), (0.05, 33), (0.09, 90)])
def test_a_fill_that_peeps_out_beside_its_outline_is_no_line(peeps, angle):
    """The fill ends in the outline's outer edge, but lies `peeps` off to one side: a crescent as wide as that."""
    x, y = (peeps * f(math.radians(angle)) for f in (math.cos, math.sin))
    body = circle(20 + x, 15 + y, 10.5, GOLD) + outline(20, 15, 10, 1, NAVY)
    assert lines(body) == []
    assert lines(circle(20, 15, 14, RUST) + body) == []  # on another colour as well


def test_a_hair_all_along_an_outline_is_no_line():
    assert lines(circle(20, 15, 10.52, GOLD) + outline(20, 15, 10, 1, NAVY)) == []


def test_the_size_does_not_hang_on_a_sliver():
    body = circle(20.02, 15, 10.5, GOLD) + outline(20, 15, 10, 1, NAVY)
    assert strokes.finest_line(art_of(body)).value == pytest.approx(1, abs=0.01)


@pytest.mark.parametrize("width", [0.05, 0.09])
def test_a_keyline_as_wide_all_round_is_a_line(width):
    assert lines(circle(20, 15, 10, NAVY) + ring(20, 15, 10, 10 + width, GOLD)) == pytest.approx(
        [width], abs=0.005
    )


@pytest.mark.parametrize("width", [0.01, 0.03, 0.06])
def test_a_stroke_between_two_colours_is_a_line(width):
    assert lines(circle(20, 15, 10, NAVY) + outline(20, 15, 10, width, GOLD)) == pytest.approx(
        [width], abs=0.005
    )


@pytest.mark.parametrize("width", [0.02, 0.06])
def test_a_thin_line_on_one_colour_is_a_line(width):
    bar = f'<rect x="12" y="15" width="16" height="{width}" fill="{GOLD}"/>'
    assert lines(circle(20, 15, 10, NAVY) + bar) == pytest.approx([width], abs=0.005)


@pytest.mark.parametrize("width", [0.04, 0.08])
def test_a_thin_line_from_one_colour_to_the_next_is_a_line(width):
    """On either side of it lies the same colour, wherever it is."""
    bar = f'<rect x="5" y="15" width="30" height="{width}" fill="{GOLD}"/>'
    half = f'<rect x="2" y="2" width="18" height="26" fill="{NAVY}"/>'
    found = lines(half + bar)
    assert found
    assert found == pytest.approx([width] * len(found), abs=0.005)


def test_a_wide_crescent_is_a_line():
    body = circle(20.25, 15, 10.5, GOLD) + outline(20, 15, 10, 1, NAVY)
    assert lines(body)


def test_a_thin_ring_that_stands_free_is_a_line():
    body = circle(20, 15, 5, RUST) + ring(20, 15, 10, 10.05, GOLD)
    assert lines(body) == pytest.approx([0.05], abs=0.005)


def between(body: str) -> list[float]:
    found = gaps.between_inks(art_of(body), Order(), up_to=0.3)
    return [one.value for one in found if one.value is not None]


@pytest.mark.parametrize("short", [0.01, 0.07])
def test_a_fill_that_falls_short_of_its_outline_touches_it(short):
    """The fill ends in the outline's inner edge, but lies `short` off to one side: a bare crescent as wide as that."""
    body = circle(20 + short, 15, 9.5, GOLD) + ring(20, 15, 9.5, 10.5, NAVY)
    assert between(body) == []
    assert [one.value for one in gaps.trap(art_of(body), Order())] == pytest.approx([0], abs=0.005)


@pytest.mark.parametrize("width", [0.05, 0.08])
def test_a_gap_as_wide_all_round_is_a_gap_between_two_inks(width):
    body = circle(20, 15, 9.5 - width, GOLD) + ring(20, 15, 9.5, 10.5, NAVY)
    assert between(body) == pytest.approx([width], abs=0.005)
