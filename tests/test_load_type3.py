"""Type 3 fonts: glyphs that are shapes alone (`d1`) take the paint of the text, those with colours (`d0`) keep their own.

ISO 32000-1, 9.6.5 and table 113.  Programs that chart and old distillers write such fonts.  The truth: squares of known size.
"""

import pytest

from pdf_made import Array, Dictionary, Name, pdf_of, separation
from preflight.load import load
from preflight.order import Order

SQUARE = "700 0 0 0 700 700 d1 0 0 700 700 re f"  # of a 10 mm font: 7 x 7 mm
STENCIL = "700 0 0 0 700 700 d1 700 0 0 700 0 0 cm BI /IM true /W 8 /H 1 /BPC 1 /D [1 0] ID \xff EI"
COLOURED = "700 0 d0 0 0.5 0 rg 0 0 700 700 re f"
TEXT = "BT /T 10 Tf 20 20 Td (A) Tj ET"


def type3(pdf, glyph, resources=None):
    return pdf.make_indirect(
        Dictionary(
            Type=Name.Font, Subtype=Name.Type3, FontBBox=[0, 0, 700, 700], FontMatrix=[0.001, 0, 0, 0.001, 0, 0],
            CharProcs=Dictionary(square=pdf.make_stream(glyph.encode("latin-1"))), FirstChar=65, LastChar=65,
            Widths=[700], Encoding=Dictionary(Type=Name.Encoding, Differences=Array([65, Name.square])),
            Resources=resources if resources is not None else Dictionary(),
        )
    )  # fmt: skip


def resources(glyph, **more):
    def prepare(pdf):
        return Dictionary(
            Font=Dictionary(T=type3(pdf, glyph)),
            ColorSpace=Dictionary(S=separation(pdf, "Kite Red", (0, 1, 1, 0))),
            ExtGState=Dictionary(Clear=Dictionary(ca=0), Over=Dictionary(op=True, OP=True, OPM=1)), **more,
        )  # fmt: skip

    return prepare


def art_of(content, glyph=SQUARE):
    return load(pdf_of(content, prepare=resources(glyph)), Order(ground="#ffffff"))


def area(art, ink):
    cover = art.coverage(ink.number, (0, 0, art.width_mm, art.height_mm), 20)
    return float(cover.mean()) / 255 * art.width_mm * art.height_mm


@pytest.mark.parametrize("glyph", [SQUARE, STENCIL], ids=["outline", "stencil"])
@pytest.mark.parametrize("drawn", [TEXT, f"1 Tr {TEXT}"], ids=["filled", "stroked"])
def test_a_bare_glyph_takes_the_colour_of_the_text(glyph, drawn):
    # painted the same whatever the text's mode is (ISO 32000-1, 9.3.6: "shall have no effect" on type 3)
    art = art_of(f"0.2 0.4 0.8 rg 0.2 0.4 0.8 RG {drawn}", glyph)
    (ink,) = art.inks
    assert ink.hex == "#3366cc"
    assert area(art, ink) == pytest.approx(49, rel=0.01)


def test_it_takes_the_spot_colour_too():
    (ink,) = art_of(f"/S cs 1 scn {TEXT}").inks
    assert (ink.name, ink.kind) == ("Kite Red", "spot")


def test_the_same_glyph_in_two_colours_is_two_inks():
    art = art_of(f"1 0 0 rg {TEXT} 0 0 1 rg BT /T 10 Tf 40 20 Td (A) Tj ET")
    assert sorted(ink.hex for ink in art.inks) == ["#0000ff", "#ff0000"]
    assert [area(art, ink) for ink in art.inks] == pytest.approx([49, 49], rel=0.01)


def test_white_bare_glyphs_knock_out():
    art = art_of(f"0 0 1 rg 10 10 40 30 re f 1 g {TEXT}")
    (ink,) = [one for one in art.inks if one.hex == "#0000ff"]
    assert area(art, ink) == pytest.approx(1200 - 49, rel=0.005)


def test_a_coloured_glyph_keeps_its_colours():
    (ink,) = art_of(f"1 0 0 rg {TEXT}", COLOURED).inks
    assert ink.hex == "#008000"


def test_bare_glyphs_set_in_a_bare_glyph_take_the_outer_colour():
    def prepare(pdf):
        inner = Dictionary(Font=Dictionary(I=type3(pdf, SQUARE)))
        outer = type3(pdf, "700 0 0 0 700 700 d1 BT /I 1000 Tf 0 0 Td (A) Tj ET", inner)
        return Dictionary(Font=Dictionary(T=outer))

    (ink,) = load(pdf_of(f"0.2 0.4 0.8 rg {TEXT}", prepare=prepare), Order(ground="#ffffff")).inks
    assert ink.hex == "#3366cc"


def test_see_through_text_shows_nothing():
    art = art_of(f"0 0 1 rg 10 10 40 30 re f /Clear gs 1 0 0 rg {TEXT}")
    assert [ink.hex for ink in art.inks] == ["#0000ff"]


def test_overprint_is_that_of_the_text():
    art = art_of(f"0 0 1 rg 10 10 40 30 re f /Over gs /S cs 1 scn {TEXT}")
    assert [mark.overprint for mark in art.marks if mark.ink is not None][-1]
