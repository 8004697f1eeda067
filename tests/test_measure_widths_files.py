"""Lines, gaps and trap of real files, through the loaders: the ways a width can hide in a file."""

import io

import numpy as np
import pikepdf
import pytest
from PIL import Image
from reportlab.lib.colors import CMYKColorSep
from reportlab.pdfgen.canvas import Canvas
from shapely.geometry import Polygon

from boards.judge import art_of, judge
from boards.loads import line_field
from boards.plates import drawn
from boards.shapes import affinity, bar, disc, letters, rectangle, ring, star, stem
from boards.sheets import situations
from preflight.load import load
from preflight.measure import gaps, strokes
from preflight.order import Order

ORDER = Order()
MM = 72 / 25.4


def svg(body: str, width: float = 60, height: float = 40) -> bytes:
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}mm" height="{height}mm" '
        f'viewBox="0 0 {width} {height}">{body}</svg>'
    ).encode()


def canvas(draw) -> bytes:
    """A PDF of 60 x 40 mm drawn with reportlab, in mm from the bottom left."""
    out = io.BytesIO()
    page = Canvas(out, (60 * MM, 40 * MM))
    page.scale(MM, MM)
    draw(page)
    page.save()
    return out.getvalue()


def widths(measure, data: bytes, up_to: float = 0.5) -> list[float]:
    return [r.value for r in measure(load(data, ORDER), ORDER, up_to=up_to) if r.value < up_to]


BLUE = "#1f3a6e"
WAYS = {
    "stroke": f'<path d="M5 5 L40 21" stroke="{BLUE}" stroke-width="0.23"/>',
    "filled outline": f'<path d="M5 5 H45 V5.23 H5 Z" fill="{BLUE}" transform="rotate(24 5 5)"/>',
    "scaled by the matrix": f'<g transform="scale(0.1)"><path d="M50 50 L400 210" stroke="{BLUE}" stroke-width="2.3"/></g>',
    "clipped": (
        '<clipPath id="c"><path d="M5 9.885 L45 12 V12.23031 L5 10.1153 Z"/></clipPath>'
        f'<rect x="4" y="4" width="45" height="12" fill="{BLUE}" clip-path="url(#c)"/>'
    ),
    "in a used group": (
        f'<defs><g id="g"><path d="M0 0 L35 16" stroke="{BLUE}" stroke-width="0.23"/></g></defs><use href="#g" x="5" y="5"/>'
    ),
}


@pytest.mark.parametrize("way", WAYS)
def test_a_line_is_found_however_it_is_drawn(way):
    frame = f'<rect x="2" y="30" width="50" height="8" fill="{BLUE}"/>'
    assert widths(strokes.lines, svg(WAYS[way] + frame)) == pytest.approx([0.23], abs=0.005)


def test_a_white_stroke_over_a_solid_is_a_gap():
    body = f'<rect x="2" y="2" width="50" height="30" fill="{BLUE}"/><path d="M8 8 L45 25" stroke="#fff" stroke-width="0.3"/>'
    assert widths(gaps.gaps, svg(body)) == pytest.approx([0.3], abs=0.005)


@pytest.mark.parametrize("pen", [0.0, 0.005, 0.015, 0.05])
def test_hairlines_have_the_width_of_their_pen(pen):
    def draw(page):
        page.rect(2, 2, 50, 10, stroke=0, fill=1)
        page.setLineWidth(pen)
        page.line(5, 20, 40, 33)

    found = strokes.lines(load(canvas(draw), ORDER), ORDER, up_to=0.3)
    assert [r.value for r in found] == pytest.approx([pen], abs=0.001)
    assert found[0].facts["length_mm"] == pytest.approx(np.hypot(35, 13), rel=0.02)


def test_a_hairline_round_its_own_fill_is_no_line():
    def draw(page):
        page.setLineWidth(0.01)
        page.rect(5, 5, 30, 20, stroke=1, fill=1)

    assert widths(strokes.lines, canvas(draw), 0.3) == []


def overprinted(on: bool) -> bytes:
    def draw(page):
        page.setFillColor(CMYKColorSep(0, 0.2, 0.8, 0, spotName="Reed", density=1))
        page.rect(5, 5, 40, 25, stroke=0, fill=1)
        page.setFillColor(CMYKColorSep(1, 0.6, 0, 0.3, spotName="Tide", density=1))
        page.setFillOverprint(on)
        page.rect(10, 15, 30, 0.3, stroke=0, fill=1)

    return canvas(draw)


@pytest.mark.parametrize("on", [True, False])
def test_a_line_on_another_ink_is_a_line_and_no_gap(on):
    """Set to overprint it needs no trap; else it has to register with the slot it cuts, which nothing leaves open."""
    assert widths(strokes.lines, overprinted(on)) == pytest.approx([0.3], abs=0.005)
    assert widths(gaps.gaps, overprinted(on)) == []
    assert [r.value for r in gaps.trap(load(overprinted(on), ORDER), ORDER)] == ([] if on else [0.0])


def test_a_tint_of_a_spot_is_its_ink_and_leaves_no_gap():
    def draw(page):
        page.setFillColor(CMYKColorSep(1, 0.6, 0, 0.3, spotName="Tide", density=1))
        page.rect(5, 5, 20, 25, stroke=0, fill=1)
        page.setFillColor(CMYKColorSep(1, 0.6, 0, 0.3, spotName="Tide", density=0.4))
        page.rect(25, 5, 0.3, 25, stroke=0, fill=1)
        page.rect(25.3, 5, 20, 25, stroke=0, fill=1)

    art = load(canvas(draw), ORDER)
    assert len(art.inks) == 1
    assert not [r for r in strokes.lines(art, ORDER, up_to=0.5) if r.value < 0.5]
    assert not [r for r in gaps.gaps(art, ORDER, up_to=0.5) if r.value < 0.5]


def test_touching_inks_have_no_trap_and_a_gap_between_them_is_told_apart():
    two = f'<rect x="2" y="2" width="20" height="20" fill="{BLUE}"/><rect x="{{}}" y="2" width="20" height="20" fill="#c8402e"/>'
    abutting = load(svg(two.format(22)), ORDER)
    assert [r.value for r in gaps.trap(abutting, ORDER)] == [0.0]
    assert gaps.between_inks(abutting, ORDER, up_to=0.5) == []
    apart = load(svg(two.format(22.2)), ORDER)
    assert gaps.trap(apart, ORDER) == []
    assert [r.value for r in gaps.between_inks(apart, ORDER, up_to=0.5)] == pytest.approx([0.2], abs=0.005)


@pytest.mark.parametrize("ppi", [300, 600, 1200])
def test_a_bitmap_is_measured_to_half_a_pixel_and_says_so(ppi):
    k = ppi / 25.4
    width, height = round(30 * k), round(20 * k)
    exact = drawn(
        30, 20, {0: [rectangle(2, 2, 14, 18).difference(bar(8, 10, 0.35, 9, 31)), bar(22, 10, 0.3, 14, 62)]}
    )
    cover = exact.coverage(0, (0, 0, width / k, height / k), k)
    out = io.BytesIO()
    Image.fromarray(255 - cover).save(out, "PNG", dpi=(ppi, ppi))
    art = load(out.getvalue(), ORDER)
    pixel = 25.4 / ppi
    lines, openings = strokes.lines(art, ORDER, up_to=0.5), gaps.gaps(art, ORDER, up_to=0.6)
    assert min(r.value for r in lines) == pytest.approx(0.3, abs=pixel / 2)
    assert min(r.value for r in openings) == pytest.approx(0.35, abs=pixel / 2)
    assert lines[0].margin == pytest.approx(pixel / 2, rel=0.01)


@pytest.mark.parametrize("name", ["DejaVuSans", "LiberationSans-Regular", "Lato-Regular"])
def test_the_stem_of_a_letter_is_what_the_font_says(name):
    size = 0.4 / stem(name)
    art = drawn(size, 2 * size, {0: letters("l", size, name, x=0.3 * size, y=1.4 * size)})
    assert strokes.finest_line(art).value == pytest.approx(0.4, abs=0.005)


def narrowest_between(shape: Polygon) -> float:
    """Width of a shape with two long parallel sides, from shapely alone: the short side of its tightest rectangle."""
    box = np.asarray(shape.minimum_rotated_rectangle.exterior.coords)
    return float(min(np.hypot(*(box[1] - box[0])), np.hypot(*(box[2] - box[1]))))


def test_a_hundred_shapes_agree_with_an_independent_measurement():
    """Against shapely's rotated rectangles and distances between outlines, none of which these measurements use."""
    random = np.random.default_rng(42)
    for number in range(120):
        width, angle = float(random.uniform(0.1, 2.0)), float(random.uniform(0, 180))
        side = 5 * width + 3
        shape = affinity.translate(
            bar(0, 0, width, 3.2 * width + 1, angle), *(side / 2 + random.uniform(0, 0.1, 2))
        )
        if number % 2:
            other = affinity.translate(
                shape, -width * 1.5 * np.sin(np.radians(angle)), width * 1.5 * np.cos(np.radians(angle))
            )
            art = drawn(side + 3, side + 3, {0: [affinity.translate(s, 1.5, 1.5) for s in (shape, other)]})
            assert gaps.narrowest_gap(art).value == pytest.approx(shape.distance(other), abs=0.01)
        else:
            art = drawn(side, side, {0: [shape]})
        assert strokes.finest_line(art).value == pytest.approx(narrowest_between(shape), abs=0.01)


def test_a_board_of_situations_has_no_miss_and_no_false_alarm():
    board = situations(0.25, 101, 13.0)
    verdict = judge(board, art_of(board), 0.25)
    assert verdict.violations + verdict.quiet > 250
    assert verdict.missed == []
    assert verdict.false == []
    assert verdict.error(0.95) <= 0.005
    assert not [e for e in verdict.beyond(0.005, 0.01) if "speck" not in e[2] and "hole" not in e[2]]


@pytest.mark.slow
def test_the_one_thin_line_of_a_crowd_is_the_first():
    art = drawn(210, 297, line_field(210, 297, 0.2, 0.5, 30, finest=0.1))
    found = strokes.lines(art, ORDER, up_to=0.3)
    assert found[0].value == pytest.approx(0.1, abs=0.005)
    assert found[0].facts["places_not_measured"] > 0
    assert "more crowded places" in found[0].what


def test_rings_stars_and_discs():
    art = drawn(40, 30, {0: [ring(10, 10, 6, 0.4), star(28, 12, 8, 4, 7), disc(9, 26, 2)]})
    assert strokes.finest_line(art).value == pytest.approx(0.4, abs=0.005)
    assert strokes.smallest_detail(art).value == pytest.approx(4.0, abs=0.04)


@pytest.mark.parametrize("size", [(1.0, 0.8), (2000.0, 15.0)])
def test_tiny_and_huge_art(size):
    width, height = size
    art = drawn(
        width, height, {0: [rectangle(0, 0, width, height * 0.3), rectangle(0, height * 0.5, width, height)]}
    )
    assert gaps.narrowest_gap(art).value == pytest.approx(0.2 * height, rel=0.02)


def test_a_form_inside_a_pattern_still_shows_its_line():
    """A tiling pattern drawn with pikepdf: each cell holds one bar of 0.2 mm."""
    pdf = pikepdf.new()
    pdf.add_blank_page(page_size=(60 * MM, 40 * MM))
    cell = pdf.make_stream(
        f"{MM} 0 0 {MM} 0 0 cm 0 g 1 1 8 0.2 re f".encode(),
        Type=pikepdf.Name.Pattern, PatternType=1, PaintType=1, TilingType=1, BBox=[0, 0, 10 * MM, 5 * MM],
        XStep=10 * MM, YStep=5 * MM, Resources=pikepdf.Dictionary(),
    )  # fmt: skip
    page = pdf.pages[0]
    page.Resources = pikepdf.Dictionary(Pattern=pikepdf.Dictionary(P=cell))
    page.Contents = pdf.make_stream(f"/Pattern cs /P scn 0 0 {60 * MM} {40 * MM} re f".encode())
    out = io.BytesIO()
    pdf.save(out)
    found = widths(strokes.lines, out.getvalue(), 0.4)
    assert found
    assert found == pytest.approx([0.2] * len(found), abs=0.005)
