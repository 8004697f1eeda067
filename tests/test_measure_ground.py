"""Boxes and sheets behind the art, and rims round cut-outs: drawn sheets, and real files through the loader."""

import io

import numpy as np
import pytest
from PIL import Image, ImageDraw
from reportlab.lib.colors import HexColor
from reportlab.lib.units import mm
from reportlab.lib.utils import ImageReader
from reportlab.pdfgen.canvas import Canvas

from flat_art import Sheet
from preflight.artwork import Mark, Picture
from preflight.load import load
from preflight.measure import contrast, ground, inks, solids
from preflight.order import Order
from preflight.pixels.tone import Tone

WHITE, NAVY = "#ffffff", "#1d2b4f"


def one(measure, art, order):
    (reading,) = measure(art, order)
    return reading


def boxed(shade, then):
    sheet = Sheet(60, 40)
    back, other = sheet.ink("back", shade), sheet.ink("Kite Red", "#c8102e")
    sheet.box(back, 0, 0, 60, 40)
    then(sheet, other)
    return sheet.art(NAVY)


def test_white_box_on_coloured_goods():
    art = boxed(WHITE, lambda sheet, red: sheet.disc(red, 30, 20, 12))
    reading = one(ground.boxes, art, Order(ground=NAVY))
    assert (reading.value, reading.facts["kind"]) == (1, "white")
    assert reading.where == ((0, 0, 60, 40),)


def test_coloured_box_with_letters_left_open():
    art = boxed("#f0c000", lambda sheet, red: sheet.words(None, "KITES", 5, 28, 15, pen=3))
    reading = one(ground.boxes, art, Order(ground=NAVY))
    assert (reading.value, reading.facts["kind"]) == (1, "coloured")


def test_two_panels_with_a_bare_gap_between_them_are_no_box():
    sheet = Sheet(60, 40)
    red = sheet.ink("Kite Red", "#c8102e")
    sheet.box(red, 0, 0, 28.5, 40)
    sheet.box(red, 31.5, 0, 60, 40)
    assert one(ground.boxes, sheet.art(NAVY), Order(ground=NAVY)).value == 0


def test_the_white_of_a_box_is_no_colour_to_press_and_no_solid_to_break_up():
    art = boxed(WHITE, lambda sheet, red: sheet.disc(red, 30, 20, 12))
    order = Order(ground=NAVY)
    assert one(ground.colours_on_it, art, order).value == 1 and one(inks.count, art, order).value == 2
    assert [r.facts["ink"] for r in solids.largest(art, order)] == [1]
    cream = Order(ground="#e8dcc0")
    assert [r.facts["ink"] for r in contrast.shapes(art, cream)] == []  # the red lies on the box
    blue = boxed("#2255aa", lambda sheet, red: sheet.disc(red, 30, 20, 12))
    assert one(ground.colours_on_it, blue, order).value == 2
    assert [r.facts["ink"] for r in solids.largest(blue, order)] == [0, 1]


def test_white_box_round_a_disc_in_the_colour_of_the_goods():
    art = boxed(WHITE, lambda sheet, red: (sheet.disc(None, 22, 20, 18), sheet.words(red, "KITE", 42, 22, 5)))
    assert one(ground.boxes, art, Order(ground=NAVY)).facts["kind"] == "white"


@pytest.mark.parametrize(
    "draw",
    [
        lambda s, back, red: s.disc(back, 30, 20, 20),  # a badge
        lambda s, back, red: s.box(back, 0, 0, 60, 40),  # nothing on it: it is the art
        lambda s, back, red: (s.box(back, 0, 0, 60, 40), s.box(None, 3, 3, 57, 37), s.disc(red, 30, 20, 9)),
        lambda s, back, red: (s.box(back, 0, 0, 60, 20), s.box(red, 0, 20, 60, 40)),  # a two-coloured flag
        lambda s, back, red: (s.box(back, 20, 0, 40, 40), s.box(back, 0, 10, 60, 30), s.disc(red, 30, 20, 5)),
        lambda s, back, red: s.words(back, "KITES", 2, 30, 20),
    ],
    ids=["badge", "alone", "frame", "flag", "cross", "words"],
)
def test_what_is_no_box(draw):
    sheet = Sheet(60, 40)
    draw(sheet, sheet.ink("back", "#f0c000"), sheet.ink("Kite Red", "#c8102e"))
    assert one(ground.boxes, sheet.art(NAVY), Order(ground=NAVY)).value == 0


def jpeg(back=(255, 255, 255), size=(300, 200)) -> io.BytesIO:
    picture = Image.new("RGB", size, back)
    ImageDraw.Draw(picture).ellipse((60, 30, 240, 170), fill=(200, 16, 46))
    kept = io.BytesIO()
    picture.save(kept, "JPEG", quality=85, dpi=(150, 150))
    return kept


@pytest.mark.parametrize(("order", "value"), [(NAVY, 1), (WHITE, 0), (None, 0)])
def test_a_jpeg_on_white(order, value):
    order = Order(ground=order, width_mm=50)
    art = load(jpeg().getvalue(), order)
    assert one(ground.boxes, art, order).value == value
    sheets = ground.white_sheet(art, order)
    assert [reading.value for reading in sheets] == ([1] if order.ground is None else [])


def page(draw) -> bytes:
    kept = io.BytesIO()
    canvas = Canvas(kept, pagesize=(100 * mm, 60 * mm))
    draw(canvas)
    canvas.save()
    return kept.getvalue()


def red_disc(canvas):
    canvas.setFillColor(HexColor("#c8102e"))
    canvas.circle(50 * mm, 30 * mm, 20 * mm, stroke=0, fill=1)


def white_page(canvas):
    canvas.setFillColor(HexColor(WHITE))
    canvas.rect(0, 0, 100 * mm, 60 * mm, stroke=0, fill=1)
    red_disc(canvas)


@pytest.mark.parametrize(
    ("draw", "goods", "boxes", "sheets"),
    [
        (white_page, NAVY, 1, None),
        (white_page, WHITE, 0, None),
        (white_page, None, 0, 1),
        (red_disc, NAVY, 0, None),
        (red_disc, None, 0, 0),
    ],
)
def test_vector_sheets(draw, goods, boxes, sheets):
    order = Order(ground=goods)
    art = load(page(draw), order)
    assert one(ground.boxes, art, order).value == boxes
    assert [r.value for r in ground.white_sheet(art, order)] == ([] if sheets is None else [sheets])


@pytest.mark.parametrize(("back", "value"), [((255, 255, 255), 1), ((29, 43, 79), 0)])
def test_a_picture_with_its_own_box_inside_vector_art(back, value):
    def draw(canvas):
        canvas.setFillColor(HexColor("#e0a020"))
        canvas.circle(80 * mm, 30 * mm, 15 * mm, stroke=0, fill=1)
        canvas.circle(6 * mm, 54 * mm, 5 * mm, stroke=0, fill=1)
        canvas.drawImage(ImageReader(jpeg(back)), 10 * mm, 10 * mm, 45 * mm, 30 * mm)

    order = Order(ground=NAVY)
    art = load(page(draw), order)
    reading = one(ground.boxes, art, order)
    assert reading.value == value


def test_halo():
    def picture(**more):
        return Picture((10, 10), (0, 0, 5, 5), (50, 50), tone=Tone(**more))

    art = Sheet(10, 10).art(pictures=(picture(), picture(halo=True), Picture((1, 1), (0, 0, 1, 1), (9, 9))))
    reading = one(ground.halo, art, Order())
    assert reading.value == 1 and len(reading.where) == 1
    assert ground.halo(Sheet(10, 10).art(), Order()) == []


def test_halo_of_a_real_cut_out():
    # White removed by a wand from a JPEG: what is left of the soft edge is paler than the art.
    pixels = np.asarray(Image.open(jpeg(size=(600, 400))).convert("RGB"))
    soft = np.asarray(Image.fromarray(pixels).resize((300, 200)).resize((600, 400), Image.Resampling.BICUBIC))
    alpha = np.where((255 - soft.astype(int)).max(-1) < 12, 0, 255).astype(np.uint8)
    for rgb, value in ((soft, 1), (np.broadcast_to(np.uint8([200, 16, 46]), soft.shape), 0)):
        kept = io.BytesIO()
        Image.fromarray(np.dstack([rgb, alpha])).save(kept, "PNG", dpi=(300, 300))
        order = Order(ground=NAVY)
        assert one(ground.halo, load(kept.getvalue(), order), order).value == value


@pytest.mark.parametrize("measure", [ground.boxes, ground.white_sheet, ground.halo])
def test_nothing_to_measure(measure):
    assert measure(Sheet(10, 10).art(), Order()) == []
    for width, height in ((0.001, 0.001), (10, 0.01), (1000, 1000)):
        sheet = Sheet(10, 10)
        sheet.box(sheet.ink("red", "#ff0000"), 0, 0, 10, 10)
        marks = (Mark("fill", (0, 0, 0, 0), hex=WHITE),)
        measure(sheet.art(width_mm=width, height_mm=height, marks=marks), Order())
