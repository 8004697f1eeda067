"""Lines and slots of a few hundredths of a millimetre, filled and not stroked: one place each, as long as they are."""

import numpy as np
import pytest
from shapely import affinity
from shapely.geometry import LineString, Point, Polygon

from boards.plates import drawn
from boards.shapes import bar, rectangle
from pdf_made import pdf_of
from preflight.load import load
from preflight.measure import gaps, strokes
from preflight.order import Order

ORDER = Order()
ARC = LineString([(20 + 8 * np.cos(turn), 15 + 8 * np.sin(turn)) for turn in np.linspace(0, 3, 60)])
SOLID = rectangle(50, 5, 58, 13)


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


def outline(*shapes, close: str, number: str) -> str:
    """Polygons as path data of SVG or PDF, y down or up as it comes."""
    out = []
    for shape in shapes:
        for ring in (
            r for part in getattr(shape, "geoms", [shape]) for r in (part.exterior, *part.interiors)
        ):
            points = list(ring.coords)[:-1]
            out += [
                number.format(step, *point)
                for step, point in zip("m" + "l" * len(points), points, strict=False)
            ]
            out.append(close)
    return " ".join(out)


def as_svg(*shapes, colour="#123a6e", under="") -> bytes:
    data = outline(*shapes, close="Z", number="{0}{1:.5f} {2:.5f}").replace("m", "M").replace("l", "L")
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="30mm" viewBox="0 0 60 30">'
        f'{under}<path fill-rule="evenodd" fill="{colour}" d="{data}"/></svg>'
    ).encode()


def as_pdf(*shapes) -> bytes:
    return pdf_of(
        "0.2 0.3 0.5 rg " + outline(*shapes, close="h", number="{1:.5f} {2:.5f} {0}") + " f*", 60, 30
    )


def hair(width: float, angle: float, offset: float = 0.0):
    return affinity.rotate(rectangle(12, 15 + offset, 28, 15 + offset + width), angle, (20, 15))


@pytest.mark.parametrize("width", [0.003, 0.01, 0.02, 0.029, 0.034])
@pytest.mark.parametrize("angle", [0, 0.05, 0.2, 7, 45, 89.8, 90])
@pytest.mark.parametrize("made", [as_svg, as_pdf])
def test_a_hair_in_a_file_is_one_line_however_it_lies(width, angle, made):
    for offset in (0.0, 0.0371, 0.0742):
        art = load(made(hair(width, angle, offset), SOLID), ORDER)
        found = list(strokes.lines(art, ORDER, up_to=0.3))
        assert [one.value for one in found] == pytest.approx([width], abs=0.001)
        assert found[0].facts["length_mm"] == pytest.approx(16, rel=0.03)


@pytest.mark.parametrize("width", [0.004, 0.01, 0.02, 0.03])
@pytest.mark.parametrize("made", [as_svg, as_pdf])
def test_thin_strokes_made_outlines_are_lines_as_wide_as_the_pen(width, made):
    zigzag = LineString([(3 + i * 2, 10 + (i % 2) * 6) for i in range(12)])
    ring = Point(20, 15).buffer(8, 64).difference(Point(20, 15).buffer(8 - width, 64))
    for shape, length in (
        (ARC.buffer(width / 2, cap_style="flat"), ARC.length),
        (zigzag.buffer(width / 2, join_style="mitre"), zigzag.length),
        (ring, 16 * np.pi),
    ):
        found = list(strokes.lines(load(made(shape, SOLID), ORDER), ORDER, up_to=0.3))
        assert [one.value for one in found] == pytest.approx([width], abs=0.001)
        assert found[0].facts["length_mm"] == pytest.approx(length, rel=0.03)


@pytest.mark.parametrize("width", [0.004, 0.02, 0.03])
def test_a_hair_cut_out_of_a_shape_or_painted_white_over_it_is_a_gap(width):
    cut = Point(20, 15).buffer(12).difference(ARC.buffer(width / 2, cap_style="flat"))
    under = '<circle cx="20" cy="15" r="12" fill="#123a6e"/>'
    for data in (
        as_svg(cut, SOLID),
        as_pdf(cut, SOLID),
        as_svg(hair(width, 0.3), colour="#fff", under=under),
    ):
        art = load(data, ORDER)
        assert not list(strokes.lines(art, ORDER, up_to=0.3))
        assert [one.value for one in gaps.gaps(art, ORDER, up_to=0.3)] == pytest.approx([width], abs=0.001)


def test_a_hair_that_nobody_sees_is_none():
    shown = '<rect x="5" y="5" width="30" height="20" fill="#123a6e"/>'
    art = load(as_svg(hair(0.02, 0), SOLID, under=shown), ORDER)  # on a solid of its own ink
    assert not list(strokes.lines(art, ORDER, up_to=0.3))


def test_crumbs_and_tips_are_no_hairs():
    crumb = Polygon([(5, 15), (5.05, 15), (5.05, 15.03)])
    tip = Polygon([(5, 15), (25, 13.6), (25, 16.4)])
    art = load(as_svg(crumb, tip, SOLID), ORDER)
    assert not list(strokes.lines(art, ORDER, up_to=0.3))
