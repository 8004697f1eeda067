"""Contrast: inks against what they can be seen against, on drawn sheets whose colours are known."""

import io

import pytest
from reportlab.lib.colors import HexColor
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas

from flat_art import Sheet
from preflight import colour
from preflight.artwork import Mark
from preflight.load import load
from preflight.measure import contrast
from preflight.order import Order
from preflight.rulebook import SURE

WHITE, NAVY, BLACK = "#ffffff", "#1d2b4f", "#000000"


def on(ground):
    return Order(ground=ground)


def by_ink(readings):
    return {reading.facts["ink"]: reading for reading in readings}


def test_shapes_against_the_ground():
    sheet = Sheet(40, 20)
    sheet.disc(sheet.ink("yellow", "#ffdd00"), 10, 10, 8)
    sheet.box(sheet.ink("navy", NAVY), 22, 2, 38, 18)
    found = by_ink(contrast.shapes(sheet.art(), on(WHITE)))
    assert found[0].value == pytest.approx(colour.contrast("#ffdd00", WHITE)) and found[0].value < 1.5
    assert found[1].value > 10
    assert found[0].where[0] == pytest.approx((2, 2, 18, 18), abs=0.1)
    assert contrast.shapes(sheet.art(), Order()) == []


@pytest.mark.parametrize("gap", [0, 0.1])
def test_white_words_in_a_dark_disc_on_a_white_shirt_do_not_alarm(gap):
    sheet = Sheet(60, 60)
    navy, white = sheet.ink("navy", NAVY), sheet.ink("white", "#fdfdfd")
    sheet.disc(navy, 30, 30, 28)
    if gap:  # a register gap round the words, through which ground shows
        sheet.words(None, "KITES", 12, 34, 9 + 2 * gap, pen=1.4 + 2 * gap)
    sheet.words(white, "KITES", 12, 34, 9, pen=1.4)
    art = sheet.art("#ffffff")
    assert list(by_ink(contrast.shapes(art, on(WHITE)))) == [0]
    assert contrast.vanishing(art, on(WHITE)) == []
    for line in contrast.lettering(art, on(WHITE)):
        assert line.value > 10


def test_the_same_words_beside_the_disc_do():
    sheet = Sheet(120, 60)
    navy, white = sheet.ink("navy", NAVY), sheet.ink("white", "#fdfdfd")
    sheet.disc(navy, 30, 30, 28)
    sheet.words(white, "KITES", 70, 34, 9, pen=1.4)
    (reading,) = contrast.vanishing(sheet.art("#ffffff"), on(WHITE))
    assert reading.facts["ink"] == 1 and reading.value < 1.1
    assert len(reading.where) == 5  # letters
    assert all(box[0] > 68 for box in reading.where)


def test_a_colour_with_an_outline_is_seen_by_its_outline():
    sheet = Sheet(60, 30)
    black, white = sheet.ink("black", "#0a0a0a"), sheet.ink("white", WHITE)
    sheet.box(white, 5, 5, 55, 25)
    sheet.box(black, 6, 6, 54, 24)
    assert list(by_ink(contrast.shapes(sheet.art("#111111"), on("#111111")))) == [1]
    assert contrast.vanishing(sheet.art("#111111"), on("#111111")) == []


def test_five_per_cent_of_bare_rim_decides():
    def half_ringed(share):
        # A bar 2 mm high: the white frame leaves `share` of its rim open on the right.
        sheet = Sheet(60, 20)
        dark, white = sheet.ink("dark", "#151515"), sheet.ink("white", WHITE)
        sheet.box(white, 4, 4, 55, 16)
        sheet.box(dark, 5, 5, 54, 15)
        rim = 2 * (49 + 10)
        sheet.box(None, 54, 10 - share * rim / 2, 60, 10 + share * rim / 2)
        return contrast.vanishing(sheet.art("#101010"), on("#101010"))

    assert half_ringed(0.03) == []
    assert len(half_ringed(0.08)) == 1


def test_vanishing_only_where_ink_and_ground_look_the_same():
    for ground, shade in (("#c8102e", "#2e8b57"), (NAVY, "#4b1d4f"), (BLACK, NAVY)):
        sheet = Sheet(20, 20)
        sheet.disc(sheet.ink("ink", shade), 10, 10, 8)
        assert colour.difference(colour.lab_of(ground), colour.lab_of(shade)) > 5
        assert contrast.vanishing(sheet.art(ground), on(ground)) == []
        assert len(contrast.shapes(sheet.art(ground), on(ground))) == 1


def test_what_is_only_lettering_is_not_asked_about_twice():
    sheet = Sheet(60, 40)
    words = sheet.ink("Tide navy", "#14324e")
    sheet.words(words, "KITE FAIR", 4, 24, 9, pen=1.3)
    sheet.disc(sheet.ink("Mud", "#4b1d4f"), 30, 33, 5)
    order = on(NAVY)
    assert [line.value < 3 for line in contrast.lettering(sheet.art(NAVY), order)] == [True]
    assert list(by_ink(contrast.shapes(sheet.art(NAVY), order))) == [1]
    sheet.disc(words, 8, 6, 4)  # now a shape as well
    assert list(by_ink(contrast.shapes(sheet.art(NAVY), order))) == [0, 1]


def test_thin_lines_are_seen():
    sheet = Sheet(200, 200)
    sheet.box(sheet.ink("ivory", "#fefef8"), 10, 100, 190, 100.12)
    assert len(contrast.vanishing(sheet.art(), on(WHITE))) == 1


def test_tints_are_judged_at_their_strength():
    sheet = Sheet(40, 20)
    red = sheet.ink("Kite Red", "#c8102e")
    sheet.box(red, 2, 2, 18, 18)
    sheet.box(red, 22, 2, 38, 18)
    art = sheet.art(
        marks=(
            Mark("fill", (2, 2, 18, 18), 0, hex="#c8102e"),
            Mark("fill", (22, 2, 38, 18), 0, hex="#fbe9eb"),
        )
    )
    object.__setattr__(art.inks[0], "tints", (0.08,))
    values = sorted(reading.value for reading in contrast.shapes(art, on(WHITE)))
    assert values == pytest.approx([colour.contrast("#fbe9eb", WHITE), colour.contrast("#c8102e", WHITE)])


def white_marks(*marks):
    sheet = Sheet(40, 20)
    sheet.box(sheet.ink("red", "#c8102e"), 2, 2, 18, 18)
    return contrast.vanishing(sheet.art(marks=marks), on(WHITE))


def test_words_in_the_colour_of_the_goods_are_found():
    (reading,) = white_marks(
        Mark("glyph", (22, 5, 25, 9), hex=WHITE), Mark("glyph", (26, 5, 29, 9), hex="#fefefe")
    )
    assert reading.value < 1.1 and len(reading.where) == 2 and reading.sure >= 0.85
    (reading,) = white_marks(Mark("glyph", (5, 22, 9, 26), hex=WHITE))  # below what is printed
    assert reading.value == 1


@pytest.mark.parametrize(
    "mark",
    [
        Mark("fill", (0, 0, 40, 20), hex=WHITE),  # a sheet behind everything
        Mark("fill", (-10, -10, 0, 90), hex=WHITE),  # left over beside the art
        Mark("glyph", (6, 6, 9, 9), hex=WHITE),  # a letter left open in the red
        Mark("fill", (19, 3, 25, 8), hex=WHITE),  # beside the red: it cuts or carries
        Mark("picture", (22, 5, 25, 9)),
        Mark("glyph", (22, 5, 22.05, 5.05), hex=WHITE),
    ],
)
def test_knock_outs_and_sheets_do_not_vanish(mark):
    if mark.box[0] == 19:
        mark = Mark("fill", (17.8, 3, 25, 8), hex=WHITE)
    assert white_marks(mark) == []


# Which inks need white beneath on dark goods: common practice.
def test_needs_white():
    sheet = Sheet(60, 20)
    for number, (name, shade) in enumerate(
        [("Kite Red", "#c8102e"), ("White", WHITE), ("Black", "#111111"), ("Metallic Gold", "#b08d57")]
    ):
        sheet.box(sheet.ink(name, shade), 1 + 15 * number, 1, 14 + 15 * number, 19)
    (reading,) = contrast.needs_white(sheet.art(NAVY), on(NAVY))
    assert (reading.value, reading.what) == (1, "the ink Kite Red")
    assert contrast.needs_white(sheet.art(), on("#e0e0e0")) == []
    assert contrast.needs_white(sheet.art(), Order()) == []


def test_white_already_beneath():
    sheet = Sheet(30, 20)
    white, red = sheet.ink("White", WHITE), sheet.ink("Kite Red", "#c8102e")
    sheet.box(white, 2, 2, 20, 18)
    sheet.box(red, 2.1, 2.1, 19.9, 17.9, overprint=True)
    (reading,) = contrast.needs_white(sheet.art(NAVY), on(NAVY))
    assert reading.value == 0


def test_lines_over_white_are_those_of_the_inks_that_need_it():
    sheet = Sheet(40, 20)
    red, white = sheet.ink("Kite Red", "#c8102e"), sheet.ink("White", WHITE)
    sheet.box(red, 2, 5, 38, 5.5)
    sheet.box(white, 2, 12, 38, 12.4)
    art = sheet.art(NAVY)
    (reading,) = contrast.lines_over_white(art, on(NAVY), up_to=0.9)
    assert reading.value == pytest.approx(0.5, abs=0.02)
    assert contrast.lines_over_white(art, on(WHITE), up_to=0.9) == []


def pdf_words(background: str, words: str, text_at=(12, 26)) -> bytes:
    """A PDF of 60 x 40 mm with live text, drawn by another library."""
    kept = io.BytesIO()
    canvas = Canvas(kept, pagesize=(60 * mm, 40 * mm))
    if background:
        canvas.setFillColor(HexColor(background))
        canvas.roundRect(2 * mm, 2 * mm, 56 * mm, 36 * mm, 8 * mm, stroke=0, fill=1)
    else:  # something that keeps the size of the art
        canvas.setFillColor(HexColor("#c8102e"))
        canvas.rect(2 * mm, 2 * mm, 56 * mm, 3 * mm, stroke=0, fill=1)
    canvas.setFillColor(HexColor(words))
    canvas.setFont("Helvetica-Bold", 24)
    canvas.drawString(text_at[0] * mm, 16 * mm, "KITES")
    canvas.save()
    return kept.getvalue()


@pytest.mark.parametrize(
    ("background", "words", "ground"),
    [
        ("", "#eeee66", WHITE),  # on the ground itself
        (NAVY, "#2d3b60", WHITE),  # on a panel, both dark
        (NAVY, "#fafafa", WHITE),  # paper white in a panel: knocked out
        (NAVY, "#ffdd00", BLACK),
        ("#ffdd00", "#1d2b4f", NAVY),  # words in the colour of the goods, left open in yellow
    ],
)
def test_lettering_is_held_against_what_surrounds_it(background, words, ground):
    order = on(ground)
    art = load(pdf_words(background, words), order)
    readings = [r for r in contrast.lettering(art, order) if r.sure > 0.9]
    truth = colour.contrast(words, background or ground)
    assert [r.value for r in readings] == pytest.approx([truth], rel=0.06)
    assert contrast.lettering(art, Order()) == []


ALL = [
    contrast.lettering,
    contrast.shapes,
    contrast.vanishing,
    contrast.needs_white,
    contrast.lines_over_white,
]


@pytest.mark.parametrize("measure", ALL, ids=lambda measure: measure.__name__)
def test_nothing_to_measure(measure):
    for ground in (None, WHITE, NAVY):
        assert measure(Sheet(10, 10).art(), Order(ground=ground)) == []
        for width, height in ((0.01, 0.01), (10, 0.01), (300, 200)):
            sheet = Sheet(10, 10)
            sheet.ink("red", "#ff0000")
            measure(sheet.art(width_mm=width, height_mm=height), Order(ground=ground))
        full = Sheet(1, 1)
        full.box(full.ink("red", "#ff0000"), 0, 0, 1, 1)
        measure(full.art(), Order(ground=ground))


def test_what_vanishes_is_told_once():
    sheet = Sheet(40, 20)
    sheet.box(sheet.ink("navy", "#1e2c50"), 2, 2, 18, 18)
    sheet.box(sheet.ink("red", "#c8102e"), 22, 2, 38, 18)
    art = sheet.art(NAVY)
    assert [r.facts["ink"] for r in contrast.vanishing(art, on(NAVY))] == [0]
    assert list(by_ink(contrast.shapes(art, on(NAVY)))) == [1]


def test_a_white_base_on_white_goods_is_asked_about():
    # the file was made for dark goods: its white ink is not needed here, but nothing is spoilt
    sheet = Sheet(40, 20)
    white, red = sheet.ink("White", WHITE), sheet.ink("Otter Red", "#c8102e")
    sheet.box(white, 2, 2, 38, 18)
    sheet.box(red, 4, 4, 36, 16)
    (reading,) = contrast.vanishing(sheet.art(WHITE), on(WHITE))
    assert reading.facts["ink"] == 0 and reading.sure < SURE


@pytest.mark.parametrize(("ground", "told"), [(BLACK, True), (WHITE, False)])
def test_shapes_beside_the_art_in_the_colour_of_dark_goods_are_told(ground, told):
    svg = f"""<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="60mm" viewBox="0 0 100 60">
    <rect x="10" y="10" width="30" height="40" fill="#e61a1a"/><rect x="50" y="10" width="30" height="40" fill="{ground}"/>
    </svg>"""
    art = load(svg.encode(), on(ground))
    found = contrast.vanishing(art, on(ground))
    assert bool(found) == told
    assert all(reading.sure < SURE for reading in found)
