"""Cut outlines: found, bleed past them, margin inside them, and their shape; the truth is analytic or shapely's."""

from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import affinity

from preflight import load
from preflight.artwork import Mark, Path, Pen
from preflight.measure import cut, cut_shape
from preflight.measure.cut_outline import cut_of
from preflight.order import Order
from shape_art import Shape, bitmap_art, blank_art, circle, ink, joined, line, path_of, rounded, shape_art

ORDER = Order(method="sticker")


def with_cut(shapes, outline, size, layer="cut line", **more):
    """Art with a cut line: named for it, so it has no ink and stands on no plate."""
    art = shape_art(shapes, size, **more)
    outlines = outline if isinstance(outline, list) else [outline]
    lines = tuple(
        Mark(kind="stroke", box=tuple(o.bounds), path=path_of(o), pen=Pen(0.25, 0.25), spot=layer, role="cut")
        for o in outlines
    )
    return replace(art, marks=art.marks + lines)


def value(measure, art, **more):
    readings = measure(art, ORDER, **more)
    return readings[0].value if readings else None


def ring(polygon):
    return np.asarray(polygon.exterior.coords)[:-1]


# ---------------------------------------------------------------------------------------------- finding the cut


def test_a_named_line_is_the_outline():
    art = with_cut([rounded(0, 0, 54, 34, 0)], rounded(2, 2, 50, 30, 3), (54, 34))
    (reading,) = cut.outline(art, ORDER)
    assert reading.value == 1
    assert reading.facts["derived"] is False
    assert cut.outline_box(art) == pytest.approx((2, 2, 52, 32))


def test_without_a_line_the_outline_is_the_arts_own_and_says_so():
    art = shape_art([circle(20, 20, 20)])
    (reading,) = cut.outline(art, ORDER)
    assert (reading.value, reading.facts["derived"]) == (0, True)
    assert cut.outline_box(art) is None
    area = shapely.Polygon(cut_of(art).pieces[0].outer).area
    assert area == pytest.approx(np.pi * 400, rel=0.003)


def test_four_lines_that_meet_are_one_closed_outline_and_a_gap_is_not():
    corners = [(2, 2), (52, 2), (52, 32), (2, 32)]
    sides = [line(a, b) for a, b in zip(corners, corners[1:] + corners[:1], strict=True)]
    sides[1] = line((52, 32), (52, 2.05))  # drawn the other way round, its end a hair off
    art = with_cut([rounded(0, 0, 54, 34, 0)], sides, (54, 34))
    assert value(cut.outline, art) == 1
    assert cut.outline_box(art) == pytest.approx((2, 2, 52, 32), abs=0.06)
    opened = with_cut([rounded(0, 0, 54, 34, 0)], sides[:3], (54, 34))
    (reading,) = cut.outline(opened, ORDER)
    assert (reading.value, reading.facts["open"]) == (0, True)


def test_the_same_line_twice_or_as_a_thin_band_is_one_piece_without_a_hole():
    outline = rounded(2, 2, 50, 30, 3)
    band = outline.difference(outline.buffer(-0.35))
    for outlines in ([outline, outline], [band]):
        art = with_cut([rounded(0, 0, 54, 34, 0)], outlines, (54, 34))
        assert (value(cut.pieces, art), value(cut.holes, art)) == (1, 0)


def test_pieces_and_holes():
    outlines = [circle(20, 20, 15).difference(circle(20, 20, 4)), circle(60, 20, 10)]
    art = with_cut([rounded(0, 0, 80, 40, 0)], outlines, (80, 40))
    assert (value(cut.pieces, art), value(cut.holes, art)) == (2, 1)
    assert cut.holes(art, ORDER)[0].where[0] == pytest.approx((16, 16, 24, 24), abs=0.01)


def test_a_kiss_cut_piece_on_a_backing_is_the_piece():
    art = with_cut([rounded(0, 0, 80, 60, 0)], circle(40, 30, 20), (80, 60), layer="kiss cut")
    backing = Mark(
        kind="stroke",
        box=(0, 0, 80, 60),
        path=path_of(shapely.box(1, 1, 79, 59)),
        role="cut",
        spot="cut through",
    )
    art = replace(art, marks=(*art.marks, backing))
    assert (value(cut.pieces, art), value(cut.holes, art)) == (1, 0)
    assert cut.outline_box(art) == pytest.approx((20, 10, 60, 50), abs=0.01)


def test_an_outermost_closed_hairline_is_taken_for_the_cut_and_a_printed_frame_is_not():
    inside = Shape(circle(30, 20, 10), 0)
    frame = shapely.box(1, 1, 59, 39).exterior
    hairline = shape_art([inside, Shape(frame, 1, pen_mm=0.05)], (60, 40))
    assert cut.outline(hairline, ORDER)[0].facts["source"] == "hairline"
    assert cut.outline_box(hairline) == pytest.approx((1, 1, 59, 39))
    printed = shape_art([inside, Shape(frame, 1, pen_mm=0.5)], (60, 40))
    assert cut.outline_box(printed) is None


def test_a_hairline_stays_one_when_the_art_is_enlarged():
    art = shape_art([circle(30, 20, 10), Shape(shapely.box(1, 1, 59, 39).exterior, 1, pen_mm=0.09)], (60, 40))
    assert cut.outline_box(art.resized(3)) == pytest.approx((3, 3, 177, 117))


def test_a_trim_box_inside_the_sheet_is_a_cut():
    art = shape_art(
        [rounded(0, 0, 54, 34, 0)], (54, 34), trim=(2.0, 2.0, 52.0, 32.0), page_box=(0.0, 0.0, 54.0, 34.0)
    )
    assert cut.outline(art, ORDER)[0].facts["source"] == "trim"
    assert value(cut.bleed, art) == pytest.approx(2, abs=0.05)


# -------------------------------------------------------------------------------------------------------- bleed


@pytest.mark.parametrize("bleed", [0.5, 1.0, 2.0, 3.0])
@pytest.mark.parametrize("radius", [0, 3, 14])
@pytest.mark.parametrize("angle", [0, 17])
def test_bleed_is_how_far_a_background_runs_on(bleed, radius, angle):
    outline = affinity.rotate(rounded(10, 10, 50, 30, radius), angle)
    art = with_cut([outline.buffer(bleed, quad_segs=64)], outline, (70, 50))
    assert value(cut.bleed, art) == pytest.approx(bleed, abs=0.01)


def test_bleed_short_on_one_side_is_found_there():
    art = with_cut([shapely.box(0.5, 0, 54, 34)], shapely.box(2, 2, 52, 32), (54, 34))
    (reading, *_) = cut.bleed(art, ORDER, up_to=2)
    assert reading.value == pytest.approx(1.5, abs=0.06)
    x0, _, x1, _ = reading.where[0]
    assert (x0, x1) == pytest.approx((1.5, 2.5), abs=0.2)


def test_even_bleed_is_one_stretch_and_not_one_a_corner():
    outline = rounded(4, 4, 50, 30, 3)
    art = with_cut([outline.buffer(1, quad_segs=64)], outline, (58, 38))
    assert len(cut.bleed(art, ORDER, up_to=2)) <= 4
    square = with_cut([shapely.box(3, 3, 55, 35)], shapely.box(4, 4, 54, 34), (58, 38))
    assert len(cut.bleed(square, ORDER, up_to=2)) <= 4


@pytest.mark.parametrize(
    ("shape", "certain"), [(circle(20, 20, 20), True), (rounded(0, 0, 50, 30, 4), True), ("star", False)]
)
def test_a_plain_outline_without_bleed_is_certain_and_a_figure_asks(shape, certain):
    if shape == "star":
        around = zip(np.arange(10) * np.pi / 5, [20, 9] * 5, strict=True)
        shape = shapely.Polygon([(20 + r * np.sin(a), 20 - r * np.cos(a)) for a, r in around])
    (reading,) = cut.bleed(shape_art([shape]), ORDER, up_to=2)
    assert (reading.value, reading.sure >= 0.85) == (0, certain)


def test_no_ink_at_the_cut_needs_no_bleed():
    art = with_cut([circle(27, 17, 8)], shapely.box(2, 2, 52, 32), (54, 34))
    assert cut.bleed(art, ORDER) == []


def test_ink_that_ends_at_the_cut_has_none():
    outline = rounded(2, 2, 50, 30, 3)
    assert value(cut.bleed, with_cut([outline], outline, (54, 34))) == pytest.approx(0, abs=0.06)


@pytest.mark.parametrize("slant", [0, 20, 45, 55])
def test_a_stripe_across_the_cut_counts_as_far_as_it_reaches(slant):
    """A stripe that crosses the edge aslant is not short of bleed where its flank meets the edge."""
    outline = shapely.box(10, 10, 60, 40)
    stripe = affinity.rotate(shapely.box(32, -40, 38, 25), slant, origin=(35, 10)).intersection(
        shapely.box(0, 7, 70, 25)
    )
    assert value(cut.bleed, with_cut([stripe], outline, (70, 50))) == pytest.approx(3, abs=0.25)


def test_bleed_at_holes_counts_inwards():
    outline = shapely.box(5, 5, 55, 45).difference(circle(30, 25, 8))
    inked = shapely.box(2, 2, 58, 48).difference(circle(30, 25, 7))
    assert value(cut.bleed, with_cut([inked], outline, (60, 50))) == pytest.approx(1, abs=0.06)


def test_plain_art_without_a_cut_line_has_no_bleed_and_loose_lettering_needs_none():
    plain = shape_art([rounded(0, 0, 50, 30, 0), Shape(circle(25, 15, 5), 1)])
    (reading,) = cut.bleed(plain, ORDER)
    assert (reading.value, reading.facts["derived"]) == (0, True)
    assert reading.sure >= 0.85
    letters = shape_art([shapely.box(x, 0, x + 4, 10) for x in range(0, 60, 8)])
    for measure in (cut.bleed, cut.margin, cut.corner_radius, cut.neck, cut.border):
        assert measure(letters, ORDER, up_to=2) == []


# ------------------------------------------------------------------------------------------------------- margin


@pytest.mark.parametrize("margin", [0.4, 1.0, 2.5])
@pytest.mark.parametrize("kind", ["fill", "glyph"])
def test_margin_is_the_least_distance_of_a_mark_inside(margin, kind):
    outline = rounded(2, 2, 50, 30, 3)
    mark = Shape(shapely.box(20, 2 + margin, 30, 12), 1, kind=kind)
    art = with_cut([rounded(0, 0, 54, 34, 0), mark, Shape(circle(40, 20, 4), 1)], outline, (54, 34))
    (reading, *_) = cut.margin(art, ORDER, up_to=3)
    assert reading.value == pytest.approx(margin, abs=0.001)
    assert reading.where[0] == pytest.approx((20, 2 + margin, 30, 12))


def test_margin_counts_a_strokes_width_and_marks_left_open():
    outline = shapely.box(2, 2, 52, 32)
    stroke = Shape(line((10, 5), (40, 5)), 1, pen_mm=1.0)
    opened = Shape(shapely.box(20, 30, 30, 31.2), None, kind="glyph")
    art = with_cut([rounded(0, 0, 54, 34, 0), stroke, opened], outline, (54, 34))
    values = [r.value for r in cut.margin(art, ORDER, up_to=3)]
    assert values == pytest.approx([0.8, 2.5], abs=0.001)


def test_backgrounds_that_cross_and_panels_that_follow_the_edge_are_no_marks():
    outline = rounded(2, 2, 50, 30, 3)
    panel = Shape(outline.buffer(-1.0), 1)
    art = with_cut([rounded(0, 0, 54, 34, 0), panel], outline, (54, 34))
    assert cut.margin(art, ORDER, up_to=3) == []


def test_lettering_cut_through_has_no_margin():
    art = with_cut([Shape(shapely.box(20, 1, 24, 6), 0, kind="glyph")], shapely.box(2, 2, 52, 32), (54, 34))
    assert value(cut.margin, art) == 0


@settings(max_examples=25, deadline=None)
@given(st.floats(0, 360), st.floats(0.2, 4), st.floats(0.3, 3))
def test_margin_agrees_with_shapely_at_any_angle(angle, size, offset):
    outline = affinity.rotate(rounded(10, 10, 50, 30, 4), angle, origin=(35, 25))
    mark = affinity.rotate(
        shapely.box(35, 10 + offset, 35 + size, 10 + offset + size), angle, origin=(35, 25)
    )
    art = with_cut([Shape(mark, 0, kind="glyph")], outline, (80, 80))
    assert value(cut.margin, art) == pytest.approx(mark.distance(outline.exterior), abs=0.003)


def test_margin_in_a_bitmap_comes_from_its_pixels():
    mark, opened = Shape(shapely.box(10, 1.5, 20, 6), 1), Shape(circle(40, 25, 3), None)
    art = bitmap_art([rounded(0, 0, 50, 30, 0), mark, opened], (50, 30), ppi=300)
    readings = cut.margin(art, ORDER, up_to=3)
    assert [r.value for r in readings] == pytest.approx([1.5, 2.0], abs=0.15)


# -------------------------------------------------------------------------------------------------------- shape


@pytest.mark.parametrize("radius", [0.1, 0.3, 0.5, 1, 2, 3, 6])
@pytest.mark.parametrize("turn", [0, 33])
def test_a_round_corner_reads_its_radius(radius, turn):
    outline = affinity.rotate(rounded(5, 5, 50, 30, radius), turn)
    art = with_cut([circle(30, 20, 5)], outline, (60, 40))
    readings = cut.corner_radius(art, ORDER, up_to=10)
    assert [r.value for r in readings] == pytest.approx([radius] * 4, rel=0.05)


@pytest.mark.parametrize("angle", [20, 45, 90, 120, 150])
def test_a_sharp_corner_reads_0_whatever_its_angle(angle):
    tip = np.radians(angle)
    triangle = shapely.Polygon([(5, 5), (45, 5), (5 + 40 * np.cos(tip), 5 + 40 * np.sin(tip))])
    assert cut_shape.corner_radii(ring(triangle))[0] == 0


def test_bezier_corners_read_their_radius():
    # A quarter circle as one cubic: control points at 0.5522847498 of the radius (Riskus 2006; computed).
    r, k = 2.5, 2.5 * (1 - 0.5522847498)
    points = [
        (r, 0),
        (50 - r, 0),
        (50 - k, 0),
        (50, k),
        (50, r),
        (50, 30),
        (0, 30),
        (0, r),
        (0, k),
        (k, 0),
        (r, 0),
    ]
    path = Path("mlclllch", np.array(points, float))
    art = shape_art([circle(25, 15, 5)], (50, 30))
    art = replace(art, marks=(*art.marks, Mark(kind="stroke", box=(0, 0, 50, 30), path=path, role="cut")))
    values = [r.value for r in cut.corner_radius(art, ORDER, up_to=10)]
    assert values == pytest.approx([0, 0, r, r], rel=0.05)


def test_a_curve_drawn_as_a_polygon_is_no_row_of_corners():
    many = shapely.Point(0, 0).buffer(10, quad_segs=12)
    assert cut_shape.corner_radii(ring(many)).min() == pytest.approx(10, rel=0.06)


def test_concave_corners_count():
    notched = (
        shapely.box(0, 0, 50, 30).difference(shapely.box(20, -1, 30, 10)).buffer(-2).buffer(2, quad_segs=64)
    )
    notched = notched.buffer(1, quad_segs=64).buffer(-1, quad_segs=64)
    readings = cut.corner_radius(with_cut([circle(10, 20, 3)], notched, (50, 30)), ORDER, up_to=10)
    assert min(r.value for r in readings) == pytest.approx(1, rel=0.05)


@pytest.mark.parametrize("width", [0.8, 2.0, 4.0])
@pytest.mark.parametrize("turn", [0, 28])
def test_neck_of_two_plates_joined_by_a_tongue(width, turn):
    shape = joined(
        shapely.box(0, 0, 20, 20),
        shapely.box(19, 10 - width / 2, 41, 10 + width / 2),
        shapely.box(40, 0, 60, 20),
    )
    art = with_cut([circle(10, 10, 3)], affinity.rotate(shape, turn), (60, 20))
    assert value(cut.neck, art) == pytest.approx(width, rel=0.01)
    assert value(cut.feature, art) == pytest.approx(width, rel=0.01)


def test_slot_and_bridge():
    slotted = shapely.box(0, 0, 40, 25).difference(shapely.box(10, 10, 12.5, 30))
    (reading,) = cut.neck(with_cut([circle(30, 12, 3)], slotted, (40, 25)), ORDER)
    assert reading.value == pytest.approx(2.5, rel=0.01)
    assert "slot" in reading.what
    bridged = circle(20, 20, 10).difference(circle(25, 20, 3))
    assert value(cut.neck, with_cut([circle(15, 20, 2)], bridged, (40, 40))) == pytest.approx(2, rel=0.02)


@pytest.mark.parametrize("width", [1.0, 2.5])
def test_an_hourglass_has_its_neck_at_the_waist_and_a_tip_that_runs_out_is_none(width):
    left, right = circle(20 - width / 2 - 6, 15, 6), circle(20 + width / 2 + 6, 15, 6)
    hourglass = shapely.box(0, 0, 40, 30).difference(
        joined(left, right, shapely.box(-1, 9, 8, 21), shapely.box(32, 9, 41, 21))
    )
    art = with_cut([circle(20, 5, 2)], hourglass, (40, 30))
    assert value(cut.neck, art) == pytest.approx(width, rel=0.02)
    # Two discs side by side leave a cusp of material below them that runs out to nothing where they touch.
    cusp = shapely.box(0, 0, 40, 30).difference(joined(circle(14, 30, 6), circle(26, 30, 6)))
    found = cut.neck(with_cut([circle(20, 5, 2)], cusp, (40, 30)), ORDER, up_to=2)
    assert min((r.value for r in found), default=99) > 4
    spike = shapely.Polygon([(0, 0), (40, 0), (40, 10), (20, 10), (19, 28), (18, 10), (0, 10)])  # 6 degrees
    assert (value(cut.neck, with_cut([circle(20, 5, 2)], spike, (40, 30))) or 99) > 5


def test_a_plain_rectangle_is_as_narrow_as_its_short_side_and_a_wedge_is_no_neck():
    assert value(
        cut.neck, with_cut([circle(20, 15, 3)], rounded(0, 0, 50, 30, 3), (50, 30))
    ) == pytest.approx(30, rel=0.01)
    star = shapely.Polygon([(20 + r * np.sin(a), 20 - r * np.cos(a))
                            for a, r in zip(np.arange(10) * np.pi / 5, [20, 9] * 5, strict=True)])  # fmt: skip
    assert (value(cut.neck, with_cut([circle(20, 20, 3)], star, (40, 40))) or 99) > 8


@pytest.mark.parametrize("turn", [0, 30, 77])
def test_least_side(turn):
    art = with_cut(
        [circle(30, 20, 3)], [affinity.rotate(rounded(0, 0, 50, 7.5, 1), turn), circle(30, 60, 6)], (60, 80)
    )
    assert value(cut.least_side, art) == pytest.approx(7.5, abs=0.002)


def test_border_is_a_frame_that_follows_the_edge():
    outline = rounded(3, 3, 50, 30, 4)
    framed = [outline.buffer(3), Shape(outline.buffer(-1.5), 1), Shape(circle(28, 18, 6), 2)]
    (reading,) = cut.border(with_cut(framed, outline, (56, 36)), ORDER)
    assert reading.value == pytest.approx(1.5, abs=0.1)
    plain = [outline.buffer(3), Shape(circle(28, 18, 6), 2)]
    assert cut.border(with_cut(plain, outline, (56, 36)), ORDER) == []
    uneven = [outline.buffer(3), Shape(shapely.box(5, 5, 50, 25), 2)]
    assert cut.border(with_cut(uneven, outline, (56, 36)), ORDER) == []


def test_feature_of_cut_film_is_its_thinnest_part_counters_too():
    letter_o = circle(10, 10, 8).difference(circle(10.6, 10, 6))  # 1.4 mm at its thinnest
    bar = shapely.box(30, 2, 33, 18)
    art = shape_art([letter_o, bar], (40, 20))
    assert value(cut.feature, art) == pytest.approx(1.4, abs=0.1)
    assert value(cut.pieces, art) == 2


# --------------------------------------------------------------------------------------------------- robustness

EVERY = [getattr(cut, name) for name in dir(cut) if hasattr(getattr(cut, name), "unit")]


@pytest.mark.parametrize("measure", EVERY, ids=lambda m: m.__name__)
@pytest.mark.parametrize(
    "art",
    [
        blank_art(),
        blank_art(0.0, 0.0),
        shape_art([shapely.box(0, 0, 0.01, 0.01)]),
        shape_art([shapely.box(0, 0, 300, 0.05)]),
        bitmap_art([shapely.box(0, 0, 0.08, 0.08)], (0.09, 0.09)),
        with_cut([], line((0, 0), (20, 20)), (20, 20)),
        with_cut([], shapely.Polygon([(0, 0), (20, 0), (0, 0), (20, 0)]), (20, 20)),
        with_cut(
            [circle(5, 5, 2)], shapely.Polygon([(0, 0), (20, 20), (20, 0), (0, 20)]), (20, 20), inks=(ink(0),)
        ),
    ],
    ids=["blank", "no size", "a pixel", "a sliver", "bitmap dot", "open line", "flat ring", "bow tie"],
)
def test_strange_art_does_no_harm(measure, art):
    for up_to in (None, 2.0):
        for reading in measure(replace(art, cache={}), ORDER, up_to=up_to):
            assert reading.value is None or np.isfinite(reading.value)


def test_endless_and_broken_paths_do_no_harm():
    rng = np.random.default_rng(7)
    scribble = Path("m" + "l" * 20_000 + "h", rng.uniform(0, 50, (20_001, 2)))
    broken = Path("mllh", np.array([[0, 0], [np.nan, 5], [5, np.inf]]))
    art = shape_art([circle(25, 25, 5)], (50, 50))
    marks = tuple(Mark(kind="stroke", box=(0, 0, 50, 50), path=p, role="cut") for p in (scribble, broken))
    art = replace(art, marks=art.marks + marks)
    for measure in EVERY:
        measure(art, ORDER, up_to=2.0)


@pytest.mark.parametrize(
    ("drawn", "least", "most"),
    [
        ('<circle cx="30" cy="30" r="25"/>', None, None),  # a disc has no corner at all
        ('<ellipse cx="30" cy="30" rx="25" ry="12"/>', 5.2, None),  # b²/a = 5.76 mm at its tips
        ('<rect x="5" y="5" width="50" height="50" rx="4"/>', 3.8, 4.2),
        ('<rect x="5" y="5" width="50" height="50"/>', 0, 0),
    ],
    ids=["disc", "ellipse", "round", "square"],
)
def test_a_shape_without_a_cut_line_has_the_corners_it_is_drawn_with(drawn, least, most):
    svg = f'<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="60mm" viewBox="0 0 60 60" fill="#1433b2">{drawn}</svg>'
    art = load.read(svg.encode(), Order(method="dome"))
    readings = cut.corner_radius(art, ORDER, up_to=1)
    if least is None:
        assert not readings
    else:
        assert least <= readings[0].value <= (most if most is not None else 99)
        assert len([r for r in readings if r.value < 1]) == (4 if most == 0 else 0)
