"""Live text slanted, covered, repeated and left open; heights of the typeface are read with fontTools."""

import io

import pymupdf_fonts
import pytest
from fontTools.ttLib import TTFont
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont as Embedded
from reportlab.pdfgen import canvas

from preflight.load import load
from preflight.measure import lettering
from preflight.measure.letter_live import live_lines
from preflight.order import Order

MM = 72 / 25.4
FONT = pymupdf_fonts.myfont("notos")
pdfmetrics.registerFont(Embedded("Shipped", io.BytesIO(FONT)))


def cap_height():
    """Height of the capital H in em."""
    font = TTFont(io.BytesIO(FONT))
    glyph = font["glyf"][font.getBestCmap()[ord("H")]]
    return (glyph.yMax - glyph.yMin) / font["head"].unitsPerEm


def page(draw):
    out = io.BytesIO()
    sheet = canvas.Canvas(out, pagesize=(100 * MM, 60 * MM))
    sheet.setFillColorRGB(0.8, 0.1, 0.1)
    sheet.rect(0, 0, 100 * MM, 4 * MM, stroke=0, fill=1)
    sheet.setFillColorRGB(0, 0, 0)
    draw(sheet)
    sheet.showPage()
    sheet.save()
    return load(out.getvalue(), Order(method="embroidery", ground="#ffffff"))


def word(sheet, text="HILT", cap_mm=5.0, at=(20, 28)):
    sheet.setFont("Shipped", cap_mm / cap_height() * MM)
    sheet.drawString(at[0] * MM, at[1] * MM, text)


def box(sheet, shade, x, y, width, height):
    sheet.setFillColorRGB(*shade)
    sheet.rect(x * MM, y * MM, width * MM, height * MM, stroke=0, fill=1)
    sheet.setFillColorRGB(0, 0, 0)


@pytest.mark.parametrize(
    ("matrix", "cap"),
    [((1, 0, 0.21, 1), 5.0), ((1, 0, 0.3, 0.4), 2.0), ((1, 0, -0.5, -1), 5.0), ((0.8, 0.6, -0.6, 0.8), 5.0)],
    ids=["slanted", "slanted and flattened", "mirrored", "turned"],
)
def test_capitals_are_measured_square_to_the_baseline(matrix, cap):
    def draw(sheet):
        sheet.saveState()
        sheet.transform(*matrix, 30 * MM, 25 * MM)
        word(sheet, at=(0, 0))
        sheet.restoreState()

    (line,) = live_lines(page(draw))
    assert line.cap == pytest.approx(cap, rel=0.002)
    (reading,) = lettering.cap_or_equivalent(page(draw), Order(method="embroidery"))
    assert reading.value == pytest.approx(cap, rel=0.002)


BLUE, BLACK, WHITE = (0.1, 0.2, 0.7), (0, 0, 0), (1, 1, 1)


def covered(sheet):
    word(sheet)
    box(sheet, BLUE, 15, 25, 60, 15)


def in_its_own_ink(sheet):
    box(sheet, BLACK, 15, 25, 60, 15)
    word(sheet)


def left_open_then_filled(sheet):
    box(sheet, BLUE, 15, 25, 60, 15)
    sheet.setFillColorRGB(*WHITE)
    word(sheet)
    box(sheet, BLUE, 15, 25, 60, 15)


def half_covered(sheet):
    word(sheet)
    box(sheet, BLUE, 15, 25, 10, 15)


def left_open(sheet):
    box(sheet, BLUE, 15, 25, 60, 15)
    sheet.setFillColorRGB(*WHITE)
    word(sheet)


def drawn_twice(sheet):
    word(sheet)
    word(sheet)


def beside_a_box(sheet):
    word(sheet)
    box(sheet, BLUE, 15, 36, 60, 10)


@pytest.mark.parametrize(
    ("draw", "seen"),
    [(covered, False), (in_its_own_ink, False), (left_open_then_filled, False), (half_covered, True), (left_open, True),
     (drawn_twice, True), (beside_a_box, True)],
)  # fmt: skip
def test_only_text_that_can_be_seen_counts(draw, seen):
    lines = live_lines(page(draw))
    assert bool(lines) == seen
    assert all(line.cap == pytest.approx(5, rel=0.002) for line in lines)
