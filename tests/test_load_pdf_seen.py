"""What of a page can be seen: shadings under covers and in clips, and see-through objects over others."""

import pytest

from pdf_made import PT, Array, Dictionary, Name, pdf_of, separation
from preflight import colour
from preflight.load import load
from preflight.measure import extent, inks
from preflight.order import Order

RED, BLUE = [0.8, 0.1, 0.1], [0.1, 0.2, 0.7]
BAR = "0.8 0.1 0.1 rg 10 10 80 8 re f "
SHADE = "q 20 20 40 30 re W n /G sh Q "
COVER = "0.8 0.1 0.1 rg 19 19 42 32 re f "


def art_of(content, prepare=None, ground="#ffffff"):
    return load(pdf_of(content, prepare=prepare), Order(ground=ground))


def shading(coords, first=RED, last=BLUE):
    """An axial shading that goes on flat past both its ends, and a half see-through state."""

    def prepare(pdf):
        ramp = Dictionary(FunctionType=2, Domain=[0, 1], C0=first, C1=last, N=1)
        made = Dictionary(
            ShadingType=2, ColorSpace=Name.DeviceRGB, Coords=coords, Function=ramp, Extend=[True, True]
        )
        pattern = Dictionary(PatternType=2, Shading=made, Matrix=[PT, 0, 0, PT, 0, 0])
        return Dictionary(
            Shading=Dictionary(G=pdf.make_indirect(made)),
            Pattern=Dictionary(P=pdf.make_indirect(pattern)),
            ExtGState=Dictionary(H=Dictionary(ca=0.5)),
        )

    return prepare


@pytest.mark.parametrize(
    ("content", "coords", "fades"),
    [
        (SHADE, [20, 0, 60, 0], True),
        (SHADE + COVER, [20, 0, 60, 0], False),
        # covered by two shapes that meet, and all but for a rim of a hundredth of a millimetre
        (SHADE + "0.8 0.1 0.1 rg 19 19 22 32 re f 40.9 19 22 32 re f", [20, 0, 60, 0], False),
        (SHADE + "0.8 0.1 0.1 rg 20.01 20.01 39.98 29.98 re f", [20, 0, 60, 0], False),
        # a triangle whose box holds the ramp in the corner that it leaves out
        ("q 20 20 m 70 20 l 70 55 l h W n /G sh Q", [20, 55, 30, 48], False),
        # what a cover leaves is the flat end
        ("q 20 20 70 30 re W n /G sh Q " + COVER, [20, 0, 60, 0], False),
        ("q 20 20 70 30 re W n /G sh Q 0.8 0.1 0.1 rg 19 19 32 32 re f", [20, 0, 60, 0], True),
        # a see-through cover hides nothing
        (SHADE + "/H gs " + COVER, [20, 0, 60, 0], True),
        ("/Pattern CS /P SCN 1 w 20 30 m 60 30 l S", [20, 0, 60, 0], True),
        ("/Pattern cs /P scn 20 20 40 30 re f " + COVER, [20, 0, 60, 0], False),
    ],
    ids="plain covered two-covers rim triangle flat-end half-covered see-through stroke pattern".split(),
)
def test_a_shading_counts_by_what_is_visible_of_it(content, coords, fades):
    art = art_of(BAR + content, shading(coords))
    assert bool(art.fades) == fades


def test_the_flat_end_of_a_shading_is_an_ink():
    art = art_of(BAR + "q 20 20 70 30 re W n /G sh Q " + COVER, shading([20, 0, 60, 0]))
    areas = {ink.hex: area for ink, area, _ in inks.areas(art)}
    assert areas[max(areas)] == pytest.approx(80 * 8 + 42 * 32, rel=0.01)  # the red
    assert areas[min(areas)] == pytest.approx(29 * 30, rel=0.01)  # what is left of the blue end


def ghost(pdf):
    spots = Dictionary(
        R=separation(pdf, "Otter Red", [0, 1, 0.9, 0]), B=separation(pdf, "Reed Blue", [1, 0.6, 0, 0])
    )
    return Dictionary(ExtGState=Dictionary(H=Dictionary(ca=0.5)), ColorSpace=spots)


@pytest.mark.parametrize(
    ("content", "mm2"),
    [
        # half of (26, 51, 179) on white and on (204, 26, 26); ISO 32000-1:2008, 11.3.3
        (
            ".8 .1 .1 rg 10 10 40 40 re f /H gs .1 .2 .7 rg 30 10 40 40 re f",
            {"#cc1a1a": 800, "#8c99d9": 800, "#732666": 800},
        ),
        (".8 .1 .1 rg 10 10 40 40 re f /H gs 1 g 20 20 10 10 re f", {"#cc1a1a": 1500, "#e68c8c": 100}),
        # boxes that overlap where the shapes do not: nothing shows through, and plates stay exact
        (
            ".8 .1 .1 rg 10 10 m 50 10 l 10 50 l f /H gs .1 .2 .7 rg 50 50 m 50 20 l 20 50 l f",
            {"#cc1a1a": 800, "#8c99d9": 450},
        ),
    ],
    ids=["over", "white", "beside"],
)
def test_what_shows_through_is_a_colour_of_its_own(content, mm2):
    art = art_of(content, ghost)
    found = inks.areas(art)
    assert len(found) == len(mm2)
    for shade, area in mm2.items():
        ink, seen, _ = min(found, key=lambda item: colour.difference(item[0].lab, colour.lab_of(shade)))
        assert colour.difference(ink.lab, colour.lab_of(shade)) < 1.5
        assert seen == pytest.approx(area, rel=0.01)
    assert art.composite == ("30 10" in content or "1 g" in content)


def test_see_through_spots_stay_on_their_plates():
    content = "/R cs 1 scn 10 10 40 40 re f /H gs /B cs 1 scn 30 10 40 40 re f"
    found = {ink.name: (round(area), ink.tints) for ink, area, _ in inks.areas(art_of(content, ghost))}
    assert found == {"Otter Red": (1600, ()), "Reed Blue": (1600, (0.5,))}


def test_art_whose_colours_blend_is_no_blank_page():
    def multiply(pdf):
        return Dictionary(ExtGState=Dictionary(M=Dictionary(BM=Name.Multiply)))

    art = art_of(".8 .1 .1 rg 10 10 40 40 re f /M gs .1 .6 .7 rg 30 10 40 40 re f", multiply)
    assert art.kind == "vector"
    assert extent.printed(art) > 0
    assert {mark.ink is None for mark in art.marks} == {False}


def test_what_is_wholly_see_through_is_not_there():
    def prepare(pdf):
        inside = pdf.make_stream(
            b".1 .2 .7 rg 60 60 100 40 re f", Type=Name.XObject, Subtype=Name.Form, BBox=[0, 0, 300, 200],
            Group=Dictionary(S=Name.Transparency, Type=Name.Group),
        )  # fmt: skip
        return Dictionary(ExtGState=Dictionary(Z=Dictionary(ca=0, CA=0)), XObject=Dictionary(G=inside))

    art = art_of(".8 .1 .1 rg 10 10 40 40 re f /Z gs .1 .2 .7 rg 30 10 60 40 re f /G Do", prepare)
    assert [ink.hex for ink in art.inks] == ["#cc1a1a"] and not art.composite
    assert (round(art.width_mm), len(art.marks)) == (40, 1)
    assert sum(fact.count for fact in art.facts_of("hidden object")) == 2


def test_text_that_is_wholly_see_through_is_not_lettering():
    svg = b"""<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="60mm" viewBox="0 0 100 60">
    <rect x="10" y="10" width="40" height="40" fill="#c8102e"/>
    <text x="60" y="30" font-size="1" opacity="0">tiny</text><text x="60" y="40" font-size="1" visibility="hidden">tiny</text>
    </svg>"""
    art = load(svg, Order(ground="#ffffff"))
    assert (art.text, art.fonts) == ((), ())
    assert round(art.width_mm) == 40


def test_a_colour_read_off_the_picture_is_that_of_the_file():
    svg = b"""<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="60mm" viewBox="0 0 100 60">
    <rect x="10" y="10" width="40" height="40" fill="#c8102e"/>
    <rect x="30" y="20" width="40" height="20" fill="#1d2b4f" opacity=".5"/></svg>"""
    art = load(svg, Order(ground="#ffffff"))
    assert art.composite and "#c8102e" in [ink.hex for ink in art.inks] and len(art.inks) == 3


@pytest.mark.parametrize(
    ("content", "tints"),
    [
        ("/M gs /R cs 1 scn 10 10 30 30 re f .5 scn 50 10 30 30 re f", (0.5,)),
        ("/R cs 1 scn 10 10 30 30 re f /H gs /G Do", (0.5,)),  # a group at half its strength
    ],
    ids=["blended", "group"],
)
def test_a_spot_keeps_its_name_and_tints_where_transparency_is_live(content, tints):
    def prepare(pdf):
        made = ghost(pdf)
        made.ExtGState.M = Dictionary(BM=Name.Multiply)
        made.XObject = Dictionary(
            G=pdf.make_stream(
                b"/R cs 1 scn 50 10 30 30 re f", Type=Name.XObject, Subtype=Name.Form, BBox=[0, 0, 300, 200],
                Group=Dictionary(S=Name.Transparency, I=True), Resources=Dictionary(ColorSpace=made.ColorSpace),
            )
        )  # fmt: skip
        return made

    art = art_of(content, prepare)
    ((ink, area, _),) = inks.areas(art)
    assert art.composite and (ink.name, ink.kind, ink.tints) == ("Otter Red", "spot", tints)
    assert area == pytest.approx(1800, rel=0.01)


@pytest.mark.parametrize(
    ("last", "width"), [([0.9, 0.1, 0.1], 40), ([0.86, 0.1, 0.1], 40), (BLUE, 0.25), (BLUE, 1)],
    ids=["weak", "faint", "hair", "short"],
)  # fmt: skip
def test_a_weak_or_short_fade_is_no_row_of_stripes(last, width):
    content = f"q 20 20 {width} 30 re W n /G sh Q "
    assert art_of(BAR + content, shading([20, 0, 20 + width, 0], last=last)).fades


@pytest.mark.parametrize("covered", [False, True])
def test_a_shading_with_hard_stops_is_flat_stripes(covered):
    def prepare(pdf):
        flat = [Dictionary(FunctionType=2, Domain=[0, 1], C0=c, C1=c, N=1) for c in (RED, BLUE, [1, 1, 1])]
        stops = Dictionary(
            FunctionType=3, Domain=[0, 1], Functions=Array(flat), Bounds=[0.5, 0.75], Encode=[0, 1] * 3
        )
        made = Dictionary(
            ShadingType=2,
            ColorSpace=Name.DeviceRGB,
            Coords=[20, 0, 60, 0],
            Function=stops,
            Extend=[True, True],
        )
        return Dictionary(Shading=Dictionary(G=pdf.make_indirect(made)))

    content = SHADE + ("0.1 0.2 0.7 rg 20 20 10 30 re f" if covered else "")
    art = art_of(content, prepare)
    assert not art.fades and art.kind == "vector"
    areas = {colour.word(ink.hex): area for ink, area, _ in inks.areas(art)}
    # 256 steps are drawn between the ends of a shading, so a stop is known to 40 / 256 mm
    wanted = {"red": 300, "navy": 600} if covered else {"red": 600, "navy": 300}
    assert {name: pytest.approx(area, abs=10) for name, area in wanted.items()} == areas
    assert round(art.width_mm, 1) == pytest.approx(30, abs=0.2)  # the last stripe is bare paper
