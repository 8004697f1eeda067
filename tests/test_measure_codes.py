"""QR and bar codes drawn by other libraries (segno, reportlab), found, read and measured.

The size of a module and of the margin is what they were drawn with.
"""

import io
import time

import numpy as np
import pytest
import segno
import zxingcpp
from PIL import Image
from reportlab.graphics import renderPDF
from reportlab.graphics.barcode import createBarcodeDrawing
from reportlab.lib.colors import HexColor
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas

from flat_art import Sheet
from preflight import colour
from preflight.load import load
from preflight.measure import codes, inks
from preflight.measure.code_shapes import corners, finders, outlines
from preflight.order import Order

NONE = Order()
TEXT = "https://kite-fair.invalid/marsh"
NAVY = "#1d2b4f"


def matrix(text=TEXT, error="m", version=None):
    code = segno.make(text, error=error, version=version, micro=False, boost_error=False)
    return np.array([list(row) for row in code.matrix], bool)


def drawn(module=0.5, at=(10, 10), shade="#000000", ground="#ffffff", bits=None, size=(60, 50), more=None):
    sheet = Sheet(*size)
    ink = sheet.ink("ink", shade)
    bits = matrix() if bits is None else bits
    sheet.bits(ink, bits, *at, module)
    if more:
        more(sheet, ink, at[0] + len(bits) * module, at[1] + len(bits) * module)
    return sheet.art(ground)


def one(measure, art):
    (reading,) = measure(art, NONE)
    return reading


SWEEP = pytest.mark.slow


@pytest.mark.parametrize(
    ("module", "version"),
    [
        pytest.param(
            module, version, marks=() if (module, version) in {(0.2, 7), (0.4, 3), (1.0, 1)} else SWEEP
        )
        for module in (0.2, 0.25, 0.4, 0.73, 1.0)
        for version in (1, 3, 7)
    ],
)
def test_module_of_drawn_codes(module, version):
    bits = matrix("7" * 9, version=version)
    art = drawn(module, bits=bits, size=(max(60, 20 + len(bits) * module),) * 2)
    reading = one(codes.module_size, art)
    assert reading.value == pytest.approx(module, rel=0.01)
    assert reading.facts["text"] == "7" * 9
    (code,) = codes.codes(art)
    end = 10 + len(bits) * module
    assert code.box == pytest.approx((10, 10, end, end), abs=0.1)
    assert one(codes.unreadable, art).value == 0


@pytest.mark.parametrize(
    ("modules", "side"),
    [
        pytest.param(
            modules,
            side,
            marks=() if (modules, side) in {(0.5, "left"), (2, "below"), (3.5, "corner")} else SWEEP,
        )
        for modules in (0.5, 1, 2, 3.5, 5)
        for side in ("left", "below", "corner")
    ],
)
def test_quiet_zone(modules, side):
    module, clear = 0.5, modules * 0.5

    def neighbour(sheet, ink, x, y):
        if side == "left":
            sheet.box(ink, 2, 12, 10 - clear, 20)
        elif side == "below":
            sheet.box(ink, 8, y + clear, 22, y + clear + 3)
        else:
            sheet.box(ink, x + clear, y + clear, x + clear + 3, y + clear + 3)

    art = drawn(module, more=neighbour)
    reading = one(codes.quiet_zone, art)
    assert reading.value == pytest.approx(modules, abs=0.35)
    assert one(codes.module_size, art).value == pytest.approx(module, rel=0.01)


def test_quiet_zone_ends_with_its_white_box():
    # ISO/IEC 18004:2015, 9.1 (from memory): four modules on all sides.
    sheet = Sheet(60, 50)
    white, black = sheet.ink("White", "#ffffff"), sheet.ink("Black", "#000000")
    bits, module = matrix(), 0.6
    end = 10 + len(bits) * module
    sheet.box(white, 10 - 2 * module, 10 - 4 * module, end + 4 * module, end + 4 * module)
    sheet.bits(black, bits, 10, 10, module)
    art = sheet.art(NAVY)
    assert one(codes.quiet_zone, art).value == pytest.approx(2, abs=0.2)
    assert one(codes.contrast, art).value == pytest.approx(21)


@pytest.mark.parametrize(("shade", "ground"), [("#000000", "#ffffff"), ("#9a9a9a", "#e8e8e8"), ("#c8102e", NAVY),
                                               ("#d0d0d0", "#ffffff"), ("#ffffff", NAVY)])  # fmt: skip
def test_contrast_of_its_two_colours(shade, ground):
    art = drawn(shade=shade, ground=ground)
    reading = one(codes.contrast, art)
    assert reading.value == pytest.approx(colour.contrast(shade, ground), rel=0.02)
    light_on_dark = colour.luminance(shade) > colour.luminance(ground)
    assert reading.facts["inverse"] == light_on_dark
    assert one(codes.inverse, art).value == light_on_dark


def test_code_left_open_in_a_solid():
    bits, module = matrix(), 0.5
    sheet = Sheet(60, 50)
    sheet.box(sheet.ink("navy", NAVY), 5, 5, 40, 40)
    sheet.bits(None, bits, 10, 10, module)
    art = sheet.art()
    assert one(codes.module_size, art).value == pytest.approx(module, rel=0.01)
    assert one(codes.quiet_zone, art).value == pytest.approx(6)
    assert one(codes.inverse, art).value == 1


@pytest.mark.parametrize("dot", [0.45, 0.4])
def test_code_drawn_in_dots(dot):
    bits, module = matrix(), 0.8
    sheet = Sheet(60, 50)
    ink = sheet.ink("black", "#000000")
    radius = dot * module * sheet.fine
    step = int(module * sheet.fine)
    yy, xx = np.mgrid[0:step, 0:step] + 0.5
    stamp = np.clip(radius - np.hypot(xx - step / 2, yy - step / 2) + 0.5, 0, 1)
    start = 10 * int(sheet.fine)
    drawing = np.rint(255 * np.kron(bits, stamp)).astype(np.uint8)
    sheet.masks[ink][start : start + len(drawing), start : start + len(drawing)] = drawing
    art = sheet.art()
    assert one(codes.module_size, art).value == pytest.approx(module, rel=0.02)
    assert one(codes.unreadable, art).value == 0


def test_tiny_code_on_a_small_article_is_found():
    art = drawn(0.12, at=(3, 3), size=(12, 10))
    assert one(codes.module_size, art).value == pytest.approx(0.12, rel=0.03)


def test_code_in_two_inks():
    bits, module = matrix(), 0.6
    sheet = Sheet(60, 50)
    eyes, data = sheet.ink("red", "#a01020"), sheet.ink("navy", NAVY)
    sheet.bits(data, bits, 10, 10, module)
    n = len(bits)
    for u, v in ((0, 0), (n - 7, 0), (0, n - 7)):
        eye = np.zeros_like(bits)
        eye[v : v + 7, u : u + 7] = bits[v : v + 7, u : u + 7]
        sheet.bits(eyes, eye, 10, 10, module)
    (code,) = codes.codes(sheet.art())
    assert code.text == TEXT


def test_damaged_code_is_a_finding():
    def damage(sheet, ink, x, y):
        sheet.box(None, 15, 15, x - 1, y - 1)
        sheet.words(ink, "KITE", 15, 19, 3, pen=0.6)

    art = drawn(more=damage)
    (code,) = codes.codes(art)
    if code.text is None:
        reading = one(codes.unreadable, art)
        assert (reading.value, reading.what) == (1, "what looks like a QR code")
    bits = matrix()
    bits[9:20, 9:20] ^= np.random.default_rng(3).random((11, 11)) < 0.5
    bits[9:, 9:] ^= np.random.default_rng(4).random(bits[9:, 9:].shape) < 0.4
    art = drawn(bits=bits)
    reading = one(codes.unreadable, art)
    assert reading.value == 1 and reading.sure == codes.UNREAD_SQUARES
    assert reading.where[0] == pytest.approx((10, 10, 24.5, 24.5), abs=0.2)


def test_several_codes_are_told_apart():
    sheet = Sheet(80, 40)
    ink = sheet.ink("black", "#000000")
    for number in range(3):
        sheet.bits(ink, matrix(f"kite {number}"), 5 + 25 * number, 8, 0.6)
    found = codes.codes(sheet.art())
    assert sorted(code.text for code in found) == ["kite 0", "kite 1", "kite 2"]
    assert all(code.measured.quiet == pytest.approx(6) for code in found)


def test_text_of_a_code_is_made_plain():
    art = drawn(bits=matrix("a\x1b[31m\u202e<b>\r\n=cmd"))
    reading = one(codes.module_size, art)
    assert reading.what.isprintable() and reading.facts["text"].isprintable()
    assert "\x1b" not in reading.what and "\u202e" not in reading.what
    assert len(one(codes.module_size, drawn(0.3, bits=matrix("k" * 400))).what) < 120


# Codes in real files


def page(kind, angle=0, shade="#000000", **options) -> bytes:
    kept = io.BytesIO()
    canvas = Canvas(kept, pagesize=(140 * mm, 120 * mm))
    canvas.setFillColor(HexColor("#c8102e"))
    canvas.rect(0, 0, 140 * mm, 3 * mm, stroke=0, fill=1)
    canvas.rect(0, 117 * mm, 140 * mm, 3 * mm, stroke=0, fill=1)
    canvas.translate(60 * mm, 50 * mm)
    canvas.rotate(angle)
    if kind == "QR":
        options["barFillColor"] = HexColor(shade)
    renderPDF.draw(createBarcodeDrawing(kind, **options), canvas, 0, 0)
    canvas.save()
    return kept.getvalue()


@pytest.mark.parametrize("angle", [0, 17, pytest.param(90, marks=SWEEP), pytest.param(-45, marks=SWEEP)])
def test_turned_qr_codes_in_a_pdf(angle):
    art = load(page("QR", angle, value=TEXT, barWidth=25 * mm, barHeight=25 * mm), NONE)
    reading = one(codes.module_size, art)
    assert reading.value == pytest.approx(25 / 33, rel=0.01)  # 25 squares and 4 of margin on either side
    assert reading.facts["text"] == TEXT


BARS = [
    (
        "EAN13",
        "EAN13",
        "5901234123457",
        dict(value="590123412345", barWidth=0.33 * mm, barHeight=20 * mm),
        0.33,
    ),
    ("EAN8", "EAN8", "96385074", dict(value="9638507", barWidth=0.3 * mm, barHeight=15 * mm), 0.3),
    ("UPCA", "UPCA", "0036000291452", dict(value="03600029145", barWidth=0.33 * mm, barHeight=20 * mm), 0.33),
    ("Code128", "Code128", "KITE-0042", dict(value="KITE-0042", barWidth=0.4 * mm, barHeight=15 * mm), 0.4),
    (
        "Standard39",
        "Code39",
        "KITE42",
        dict(value="KITE42", barWidth=0.4 * mm, barHeight=15 * mm, checksum=0),
        0.4,
    ),
    (
        "I2of5",
        "ITF",
        "12345678",
        dict(value="12345678", barWidth=0.4 * mm, barHeight=15 * mm, checksum=0, bearers=0),
        0.4,
    ),
    ("Codabar", "Codabar", "A1234567B", dict(value="A1234567B", barWidth=0.4 * mm, barHeight=15 * mm), 0.4),
]


@pytest.mark.parametrize("angle", [pytest.param(0, marks=SWEEP), 17, pytest.param(180, marks=SWEEP)])
@pytest.mark.parametrize(
    ("kind", "symbology", "text", "options", "module"), BARS, ids=[row[0] for row in BARS]
)
def test_bar_codes_in_a_pdf(kind, symbology, text, options, module, angle):
    art = load(page(kind, angle, **options), NONE)
    reading = one(codes.bar_module_size, art)
    assert reading.value == pytest.approx(module, rel=0.02)
    assert (reading.facts["symbology"], reading.facts["text"]) == (symbology, text)
    assert one(codes.bar_quiet_zone, art).value == 100
    assert one(codes.contrast, art).value == pytest.approx(21, rel=0.01)
    assert one(codes.unreadable, art).value == 0
    assert codes.module_size(art, NONE) == []


@pytest.mark.parametrize(
    ("side", "clear", "share"), [("left", 5.5, 50), ("right", 3.5, 50), ("left", 11, 100)]
)
def test_quiet_zone_of_a_retail_code(side, clear, share):
    # ISO/IEC 15420 (from memory): EAN-13 wants 11 modules on the left and 7 on the right, and is 95 modules wide.
    module = 0.4
    sheet = Sheet(80, 40)
    ink = sheet.ink("black", "#000000")
    pattern = ean13("5901234123457")
    sheet.bits(ink, np.array([[bit == "1" for bit in pattern]]), 15, 10, module)
    for mask in sheet.masks:  # stretched to 15 mm high
        mask[200:500] = mask[204]
    end = 15 + 95 * module
    if side == "left":
        sheet.box(ink, 2, 8, 15 - clear * module, 30)
    else:
        sheet.box(ink, end + clear * module, 8, 78, 30)
    art = sheet.art()
    assert one(codes.bar_quiet_zone, art).value == pytest.approx(share, abs=6)
    assert one(codes.bar_module_size, art).value == pytest.approx(module, rel=0.02)


def ean13(digits: str) -> str:
    """Bars and spaces of an EAN-13 code (ISO/IEC 15420, tables 1 and 2, from memory; reportlab draws the same)."""
    odd = "0001101 0011001 0010011 0111101 0100011 0110001 0101111 0111011 0110111 0001011".split()
    first = "OOOOOO OOEOEE OOEEOE OOEEEO OEOOEE OEEOOE OEEEOO OEOEOE OEOEEO OEEOEO".split()[int(digits[0])]
    even = ["".join("10"[int(bit)] for bit in code)[::-1] for code in odd]
    right = ["".join("10"[int(bit)] for bit in code) for code in odd]
    left = "".join((odd if way == "O" else even)[int(d)] for way, d in zip(first, digits[1:7], strict=True))
    return "101" + left + "01010" + "".join(right[int(d)] for d in digits[7:]) + "101"


def test_code_in_a_photographed_or_scanned_picture():
    bits = np.pad(matrix(), 6)
    grey = np.where(np.kron(bits, np.ones((9, 9))) > 0, 30, 235).astype(np.uint8)
    grey = np.clip(grey + np.random.default_rng(0).normal(0, 6, grey.shape), 0, 255).astype(np.uint8)
    kept = io.BytesIO()
    Image.fromarray(grey).rotate(8, expand=True, fillcolor=235).save(kept, "JPEG", quality=80, dpi=(600, 600))
    art = load(kept.getvalue(), NONE)
    reading = one(codes.module_size, art)
    assert reading.value == pytest.approx(9 * 25.4 / 600, rel=0.02)
    assert reading.facts["text"] == TEXT


# No codes


def sheets():
    def checkerboard(sheet, a, b):
        sheet.bits(a, np.indices((20, 20)).sum(0) % 2 == 0, 5, 5, 2)

    def grid(sheet, a, b):
        for x in range(5, 75, 2):
            sheet.box(a, x, 5, x + 0.5, 55)
        for y in range(5, 55, 2):
            sheet.box(a, 5, y, 75, y + 0.5)

    def stripes(sheet, a, b):
        for x in range(5, 75, 2):
            sheet.box(a, x, 5, x + 1, 55)

    def uneven_stripes(sheet, a, b):
        rng, x = np.random.default_rng(1), 5.0
        while x < 72:
            wide = rng.uniform(0.5, 2.5)
            sheet.box(a, x, 5, x + wide, 55)
            x += wide + rng.uniform(0.5, 2.5)

    def two_width_stripes(sheet, a, b):
        x = 5.0
        for number in range(28):
            wide = 1.25 if number % 3 == 0 else 0.5
            sheet.box(a, x, 5, x + wide, 55)
            x += wide + (1.25 if number % 4 == 0 else 0.5)

    def targets(sheet, a, b):
        for x in (10, 30, 50):
            for y in (10, 30):
                sheet.box(a, x, y, x + 14, y + 14)
                sheet.box(None, x + 2, y + 2, x + 12, y + 12)
                sheet.box(b, x + 4, y + 4, x + 10, y + 10)

    def one_ink_targets(sheet, a, b):
        targets(sheet, a, a)

    def logo(sheet, a, b):
        sheet.disc(a, 20, 20, 15)
        sheet.words(b, "KITE FAIR", 5, 50, 9)
        sheet.words(None, "K", 12, 27, 14)

    def windows(sheet, a, b):
        sheet.box(a, 5, 5, 75, 55)
        for x in range(8, 70, 10):
            for y in range(8, 50, 10):
                sheet.box(None, x, y, x + 7, y + 7)
                sheet.box(a, x + 2, y + 2, x + 5, y + 5)

    return [
        checkerboard,
        grid,
        stripes,
        uneven_stripes,
        two_width_stripes,
        targets,
        one_ink_targets,
        logo,
        windows,
    ]


@pytest.mark.parametrize("draw", sheets(), ids=lambda draw: draw.__name__)
def test_patterns_are_no_codes(draw):
    sheet = Sheet(80, 60)
    draw(sheet, sheet.ink("a", NAVY), sheet.ink("b", "#c8102e"))
    art = sheet.art()
    assert codes.codes(art) == []
    assert codes.others(art) == []
    for measure in ALL:
        assert measure(art, NONE) == []


@pytest.mark.parametrize(
    "name", ["chelsea", "page", *(pytest.param(n, marks=SWEEP) for n in ("camera", "coins", "brick"))]
)
def test_photographs_hold_no_codes(name):
    import skimage.data

    kept = io.BytesIO()
    Image.fromarray(getattr(skimage.data, name)()).save(kept, "PNG", dpi=(200, 200))
    art = load(kept.getvalue(), NONE)
    assert codes.codes(art) == []
    assert codes.others(art) == []


OTHERS = [
    ("Data Matrix code", "reportlab", 0.6),
    ("Micro QR code", "segno", 0.5),
    ("rectangular Micro QR code", "RMQRCode", 0.5),
    ("Aztec code", "Aztec", 0.5),
    ("PDF417 code", "PDF417", None),
]


@pytest.mark.parametrize(("kind", "maker", "module"), OTHERS, ids=[row[1] for row in OTHERS])
@pytest.mark.parametrize("form", ["drawn", "left open", "bitmap"])
def test_codes_of_other_kinds_are_named(kind, maker, module, form):
    from reportlab.graphics.barcode.ecc200datamatrix import ECC200DataMatrix

    text = "12345" if maker == "segno" else "KITE 77"
    if maker == "reportlab":
        code = ECC200DataMatrix(value=text)
        code.validate()
        code.encode()
        bits = np.array(code.encoded, bool)
    elif maker == "segno":
        bits = np.array([list(row) for row in segno.make(text, micro=True).matrix], bool)
    else:  # the library that reads wrote it too: what is checked is that it is found
        made = zxingcpp.create_barcode(text, getattr(zxingcpp.BarcodeFormat, maker))
        bits = np.array(made.to_image(add_quiet_zones=False)) == 0
    side = module or 0.5
    if form == "bitmap":
        pixels = np.kron(np.pad(~bits, 8, constant_values=True), np.ones((6, 6), bool)).astype(np.uint8) * 255
        kept = io.BytesIO()
        Image.fromarray(pixels).save(kept, "PNG", dpi=(6 * 25.4 / side,) * 2)
        art = load(kept.getvalue(), NONE)
    else:
        sheet = Sheet(80, 60)
        ink = sheet.ink("ink", NAVY)
        if form == "left open":
            sheet.box(ink, 2, 2, 78, 58)
            sheet.bits(None, bits, 10, 10, side)
        else:
            sheet.bits(ink, bits, 10, 10, side)
            sheet.box(ink, 60, 50, 75, 55)
        art = sheet.art()
    (reading,) = codes.only_named(art, NONE)
    (code,) = codes.others(art)
    assert (reading.value, code.kind, code.text.removesuffix("<NUL>")) == (
        1,
        kind,
        text,
    )  # C40 text is filled up
    assert kind in reading.what and text in reading.what
    if module:
        assert code.module == pytest.approx(module, rel=0.04)


@pytest.mark.parametrize(
    ("length", "squares"), [(5, 15), (20, 19), (60, 27), (200, 49), (600, 79)], ids=lambda v: str(v)
)
def test_squares_of_an_aztec_code_of_any_size(length, squares):
    """Compact and full ones, with and without a reference grid: the writer's picture has one pixel a square."""
    made = zxingcpp.create_barcode("Kite " * (length // 5), zxingcpp.BarcodeFormat.Aztec)
    bits = np.array(made.to_image(add_quiet_zones=False)) == 0
    assert bits.shape == (squares, squares)
    sheet = Sheet(60, 60)
    sheet.bits(sheet.ink("ink", NAVY), bits, 6, 6, 0.6)
    (reading,) = codes.module_size(sheet.art(), NONE)
    assert reading.value == pytest.approx(0.6, rel=0.03) and "Aztec" in reading.what


@pytest.mark.parametrize("pitch", [0.88, 0.3])
def test_hexagons_of_a_maxicode(pitch):
    """A row of them is as wide as the code, whose 30 hexagons the writer draws about 5 pixels apart."""
    made = zxingcpp.create_barcode("KITE 77", zxingcpp.BarcodeFormat.MaxiCode)
    bits = np.array(made.to_image(scale=4, add_quiet_zones=False)) == 0
    columns = np.flatnonzero(bits.any(0))
    side = 30 * pitch / (columns[-1] + 1 - columns[0])
    sheet = Sheet(60, 60)
    sheet.bits(sheet.ink("ink", NAVY), bits, 10, 10, side)
    (reading,) = codes.module_size(sheet.art(), NONE)
    assert reading.value == pytest.approx(pitch, rel=0.04) and "hexagons" in reading.what


def test_a_qr_code_is_not_named_among_the_others():
    assert one(codes.only_named, drawn()).value == 0


def test_a_logo_without_codes_costs_little():
    kept = io.BytesIO()
    canvas = Canvas(kept, pagesize=(80 * mm, 50 * mm))
    for number, shade in enumerate(("#c8102e", NAVY, "#f0c000")):
        canvas.setFillColor(HexColor(shade))
        canvas.circle((15 + 25 * number) * mm, 30 * mm, 11 * mm, stroke=0, fill=1)
        canvas.setFont("Helvetica-Bold", 20)
        canvas.drawString((5 + 22 * number) * mm, 5 * mm, "KITES")
    canvas.save()
    least = 9.0
    for _ in range(5):
        art = load(kept.getvalue(), NONE)
        inks.survey(art)  # shared with other measurements
        start = time.process_time()
        assert codes.codes(art) == []
        least = min(least, time.process_time() - start)
    assert least < 0.1  # 0.015 s of processor time on an idle machine


def test_finder_patterns_are_measured_to_a_tenth_of_a_pixel():
    bits = matrix("kite", version=2)
    picture = np.kron(bits, np.full((7, 7), 255)).astype(np.uint8)
    picture = np.pad(picture, 40)
    found = outlines(picture)
    assert found is not None
    squares = finders(found)
    assert len(squares) == 3
    (group,) = corners(squares)
    assert group.module == pytest.approx(7, rel=0.03)
    assert group.apart == pytest.approx(7 * (25 - 7), abs=0.2)
    assert (group.corner.x, group.corner.y) == pytest.approx((40 + 3.5 * 7,) * 2, abs=0.3)


ALL = [codes.module_size, codes.quiet_zone, codes.bar_module_size, codes.bar_quiet_zone, codes.contrast,
       codes.inverse, codes.unreadable]  # fmt: skip


@pytest.mark.parametrize("measure", ALL, ids=lambda measure: measure.__name__)
def test_nothing_to_measure(measure):
    assert measure(Sheet(10, 10).art(), NONE) == []
    for width, height in ((0.001, 0.001), (10, 0.01), (1000, 1000)):
        sheet = Sheet(10, 10)
        sheet.box(sheet.ink("red", "#ff0000"), 0, 0, 10, 10)
        assert measure(sheet.art(width_mm=width, height_mm=height), NONE) == []


@pytest.mark.parametrize("angle", [0, 17])
def test_bars_left_open_in_a_solid(angle):
    kept = io.BytesIO()
    canvas = Canvas(kept, pagesize=(100 * mm, 100 * mm))
    canvas.setFillColor(HexColor(NAVY))
    canvas.rect(5 * mm, 5 * mm, 90 * mm, 90 * mm, stroke=0, fill=1)
    canvas.translate(30 * mm, 35 * mm)
    canvas.rotate(angle)
    bars = createBarcodeDrawing(
        "EAN13", value="590123412345", barWidth=0.4 * mm, barHeight=20 * mm, humanReadable=0,
        barFillColor=HexColor("#ffffff"), quiet=0,
    )  # fmt: skip
    renderPDF.draw(bars, canvas, 0, 0)
    canvas.save()
    art = load(kept.getvalue(), Order(ground="#ffffff"))
    reading = one(codes.bar_module_size, art)
    assert (reading.facts["text"], reading.facts["inverse"]) == ("5901234123457", True)
    assert reading.value == pytest.approx(0.4, rel=0.03)
    assert one(codes.inverse, art).value == 1


@pytest.mark.parametrize(
    ("bars", "ground", "share"),
    # the red of sRGB in linear light (IEC 61966-2-1:1999): 230 is 0.791
    [("#e61a1a", "#ffffff", 20.9), ("#000000", "#e61a1a", 79.1), ("#103080", "#ffffff", 99.5)],
)
def test_bars_in_red_light(bars, ground, share):
    kept = io.BytesIO()
    canvas = Canvas(kept, pagesize=(80 * mm, 40 * mm))
    canvas.setFillColor(HexColor(ground))
    canvas.rect(0, 0, 80 * mm, 40 * mm, stroke=0, fill=1)
    code = createBarcodeDrawing(
        "EAN13",
        value="590123412345",
        barWidth=0.4 * mm,
        barHeight=20 * mm,
        humanReadable=0,
        barFillColor=HexColor(bars),
    )
    renderPDF.draw(code, canvas, 15 * mm, 10 * mm)
    canvas.save()
    reading = one(codes.bar_red_contrast, load(kept.getvalue(), Order(ground="#ffffff")))
    assert reading.value == pytest.approx(share, abs=0.5)


@pytest.mark.parametrize(("square", "found"), [(0.25, True), (0.6, False)])
def test_an_aztec_code_with_squares_too_small_is_a_finding(tmp_path, square, found):
    """Through the real command: the limit of a telephone lies between the two."""
    import json
    import subprocess
    import sys

    made = zxingcpp.create_barcode("KITE 77", zxingcpp.BarcodeFormat.Aztec)
    pixels = np.kron(
        np.pad(np.array(made.to_image(add_quiet_zones=False)), 8, constant_values=255), np.ones((8, 8))
    )
    path = tmp_path / "code.png"
    Image.fromarray(pixels.astype(np.uint8)).save(path, dpi=(8 * 25.4 / square,) * 2)
    ran = subprocess.run(
        [sys.executable, "-m", "preflight", "check", "--method", "screen-print", "--format", "json", str(path)],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    rules = {finding["rule"] for finding in json.loads(ran.stdout)[0]["findings"]}
    assert ("screen-print/code-module" in rules) is found
