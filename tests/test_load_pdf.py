"""The PDF loader against files whose truth is known otherwise: written by hand, or measured by another program."""

import io
import math
import re
import subprocess

import numpy as np
import pikepdf
import pypdfium2
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from PIL import Image
from reportlab.lib.utils import ImageReader
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen import canvas

from pdf_made import PT, Array, Dictionary, Name, String, pdf_of, separation
from preflight.errors import Unreadable
from preflight.load import load
from preflight.order import Order

DEJAVU = "/usr/share/fonts/truetype/dejavu/DejaVuSans.ttf"


def art_of(data, **order):
    return load(data, Order(**order))


def area(art, ink, ppm=10):
    return float(art.coverage(ink, art.box, ppm).sum()) / 255 / ppm**2


def kinds(art):
    return [fact.kind for fact in art.facts]


# ------------------------------------------------------------------ size, bounds, geometry


def test_bounds_are_those_of_the_marks():
    art = art_of(pdf_of("0.8 0 0 rg 12.5 7.25 40 30.5 re f"))
    assert art.width_mm == pytest.approx(40, abs=0.01)
    assert art.height_mm == pytest.approx(30.5, abs=0.01)
    assert area(art, 0) == pytest.approx(40 * 30.5, rel=1e-3)


def test_white_sheet_on_white_goods_is_no_art():
    art = art_of(pdf_of("1 g 0 0 100 60 re f 0 g 20 20 30 10 re f"))
    assert (round(art.width_mm, 1), round(art.height_mm, 1)) == (30, 10)
    assert [ink.hex for ink in art.inks] == ["#000000"]


def test_white_box_on_navy_goods_is_art():
    art = art_of(pdf_of("1 g 0 0 100 60 re f 0.8 0 0 rg 20 20 30 10 re f"), ground="#1d2b4f")
    assert round(art.width_mm) == 100
    assert {ink.hex for ink in art.inks} == {"#ffffff", "#cc0000"}


def test_white_art_with_no_ground_stated_keeps_its_bounds():
    art = art_of(pdf_of("1 g 20 20 30 10 re f"))
    assert (round(art.width_mm), round(art.height_mm)) == (30, 10)
    assert [ink.hex for ink in art.inks] == ["#ffffff"]


def test_ordered_size_scales_everything():
    art = art_of(pdf_of("0 g 10 10 40 20 re f 0.5 w 10 45 m 50 45 l S"), width_mm=80.0)
    assert art.width_mm == pytest.approx(80)
    assert art.file_width_mm == pytest.approx(40, abs=0.01)
    stroke = next(mark for mark in art.marks if mark.kind == "stroke")
    assert stroke.pen.least_mm == pytest.approx(1.0, rel=1e-3)


def test_contradicting_size_is_fitted_inside_and_said():
    art = art_of(pdf_of("0 g 10 10 40 20 re f"), width_mm=80.0, height_mm=80.0)
    assert (round(art.width_mm), round(art.height_mm)) == (80, 40)
    assert "proportions" in kinds(art)


@pytest.mark.parametrize("turn", [0, 90, 180, 270])
@pytest.mark.parametrize("unit", [1, 2.5])
def test_page_geometry_agrees_with_another_library(turn, unit):
    """UserUnit, rotation and crop box: where pypdfium2 renders the mark is where the art lies."""

    def prepare(pdf):
        return Dictionary()

    keys = {
        "/Rotate": turn,
        "/UserUnit": unit,
        "/CropBox": Array([5 * PT, 5 * PT, 95 * PT, 55 * PT]),
    }
    data = pdf_of("0 g 20 12 40 15 re f", prepare=prepare, page_keys=keys)
    art = art_of(data)
    page = pypdfium2.PdfDocument(data)[0]
    scale = 4
    bitmap = page.render(scale=scale).to_numpy()[:, :, 0] < 128
    rows, columns = np.flatnonzero(bitmap.any(1)), np.flatnonzero(bitmap.any(0))
    # pdfium leaves UserUnit to its caller (ISO 32000-2, 7.7.3.3: size of user space units)
    per_mm = scale * PT / unit
    assert art.width_mm == pytest.approx((columns[-1] - columns[0] + 1) / per_mm, abs=2 / per_mm)
    assert art.height_mm == pytest.approx((rows[-1] - rows[0] + 1) / per_mm, abs=2 / per_mm)
    assert art.offset[0] == pytest.approx(columns[0] / per_mm, abs=2 / per_mm)
    assert art.offset[1] == pytest.approx(rows[0] / per_mm, abs=2 / per_mm)


def test_crop_marks_outside_the_trim_do_not_count():
    marks = "0 G 0.1 w 2 15 m 8 15 l S 92 45 m 98 45 l S"
    data = pdf_of(
        "0.8 0 0 rg 15 18 60 20 re f " + marks,
        page_keys={"/TrimBox": Array([10 * PT, 10 * PT, 90 * PT, 50 * PT])},
    )
    art = art_of(data)
    assert (round(art.width_mm), round(art.height_mm)) == (60, 20)
    assert art.trim is not None


def test_invisible_and_clipped_things_are_not_art():
    art = art_of(
        pdf_of(
            "0 g 10 10 20 20 re f q 60 10 5 5 re W n 0.8 0 0 rg 80 40 10 10 re f Q 0 0 0.8 rg -30 -30 10 10 re f"
        )
    )
    assert len(art.inks) == 1
    assert "off page" in kinds(art)


def test_an_ink_hidden_under_others_is_no_ink():
    art = art_of(pdf_of("0.8 0 0 rg 10 10 20 20 re f 0 g 5 5 40 40 re f"))
    assert [ink.hex for ink in art.inks] == ["#000000"]
    assert "hidden object" in kinds(art)


# ------------------------------------------------------------------ inks


def test_spot_colours_keep_their_names_and_tints():
    def prepare(pdf):
        return Dictionary(
            ColorSpace=Dictionary(
                A=separation(pdf, "Kite red", [0, 0.9, 0.8, 0]),
                B=separation(pdf, "Reed", [0.6, 0.2, 0.9, 0.1]),
            )
        )

    art = art_of(
        pdf_of(
            "/A cs 1 scn 5 5 20 20 re f 0.4 scn 30 5 20 20 re f /B cs 1 scn 60 5 10 20 re f", prepare=prepare
        )
    )
    assert [(ink.name, ink.kind, ink.tints) for ink in art.inks] == [
        ("Kite red", "spot", (0.4,)),
        ("Reed", "spot", ()),
    ]
    assert area(art, 0) == pytest.approx(800, rel=2e-3)  # a tint has the whole shape on its plate
    assert area(art, 1) == pytest.approx(200, rel=2e-3)


def test_knock_out_cuts_and_overprint_does_not():
    def prepare(pdf):
        return Dictionary(
            ColorSpace=Dictionary(
                A=separation(pdf, "Under", [1, 0, 0, 0]), B=separation(pdf, "Over", [0, 0, 0, 1])
            ),
            ExtGState=Dictionary(O=Dictionary(OP=True, op=True, OPM=1)),
        )

    under = "/A cs 1 scn 10 10 40 40 re f "
    cut = art_of(pdf_of(under + "/B cs 1 scn 20 20 20 20 re f", prepare=prepare))
    left = art_of(pdf_of(under + "/O gs /B cs 1 scn 20 20 20 20 re f", prepare=prepare))
    numbers = {ink.name: ink for ink in cut.inks}
    assert area(cut, numbers["Under"]) == pytest.approx(1600 - 400, rel=2e-3)
    numbers = {ink.name: ink for ink in left.inks}
    assert area(left, numbers["Under"]) == pytest.approx(1600, rel=2e-3)
    assert "overprint" in kinds(left) and "overprint" not in kinds(cut)


def test_nearly_equal_paints_are_one_ink_and_rich_black_is_black():
    art = art_of(
        pdf_of(
            "0.8 0.1 0.1 rg 5 5 20 20 re f 0.805 0.1 0.1 rg 30 5 20 20 re f "
            "0 0 0 1 k 55 5 10 10 re f 0.6 0.5 0.5 1 k 70 5 10 10 re f"
        )
    )
    assert len(art.inks) == 2


RED = "0.8 0 0 rg 20 20 30 10 re f "
ALL = "/A CS /A cs 1 SCN 1 scn "


@pytest.mark.parametrize(
    ("content", "trimmed", "told", "size", "inks"),
    [
        # marks for the press beside the art, as every drawing program sets them: no fault, and no ink
        (RED + ALL + "0.2 w 5 20 m 15 20 l S 55 30 m 65 30 l S", False, 0, (30, 10), 1),
        (RED + ALL + "0.2 w 5 20 m 9 20 l S 2 2 6 6 re f", True, 0, (30, 10), 1),
        # art in that colour, by mistake for black
        (ALL + "20 20 20 10 re f 50 20 10 10 re f", False, 2, (40, 10), 1),
        (RED + ALL + "30 22 10 5 re f", False, 1, (30, 10), 2),
        (RED + ALL + "60 22 10 5 re f", False, 1, (50, 10), 2),
        (RED + ALL + "0.2 w 25 25 m 45 25 l S", False, 1, (30, 10), 2),
    ],
    ids=["marks", "outside the trim", "all of it", "on it", "beside it", "a line on it"],
)
def test_registration_colour_is_a_fault_in_art_and_right_in_marks(content, trimmed, told, size, inks):
    def prepare(pdf):
        return Dictionary(ColorSpace=Dictionary(A=separation(pdf, "All", [1, 1, 1, 1])))

    trim = {"/TrimBox": Array([10 * PT, 10 * PT, 90 * PT, 50 * PT])} if trimmed else {}
    art = art_of(pdf_of(content, prepare=prepare, page_keys=trim))
    assert sum(fact.count for fact in art.facts_of("registration colour")) == told
    assert (round(art.width_mm), round(art.height_mm)) == size
    assert len(art.inks) == inks


def test_what_lies_outside_the_trim_needs_no_ink():
    trim = {"/TrimBox": Array([10 * PT, 10 * PT, 90 * PT, 50 * PT])}
    bars = "0 1 1 rg 2 2 5 5 re f 1 0 1 rg 2 52 5 5 re f "
    assert [ink.hex for ink in art_of(pdf_of(RED + bars, page_keys=trim)).inks] == ["#cc0000"]
    # a trim box that holds nothing says nothing
    assert len(art_of(pdf_of(bars, page_keys=trim)).inks) == 2


# ------------------------------------------------------------------ fades


def shading(pdf, same=False):
    function = Dictionary(
        FunctionType=2, Domain=[0, 1], C0=[1, 0, 0], C1=[1, 0, 0] if same else [0, 0, 1], N=1
    )
    return Dictionary(
        ShadingType=2,
        ColorSpace=Name.DeviceRGB,
        Coords=[10, 0, 50, 0],
        Function=function,
        Extend=[True, True],
    )


def fading(same=False):
    return lambda pdf: Dictionary(Shading=Dictionary(S=shading(pdf, same)))


def test_a_shading_is_a_gradient_where_it_is_seen():
    art = art_of(pdf_of("q 10 10 40 20 re W n /S sh Q", prepare=fading()))
    assert [fade.kind for fade in art.fades] == ["gradient"]
    assert art.fades[0].box == pytest.approx((0, 0, 40, 20), abs=0.1)


def test_flat_hidden_and_clipped_away_shadings_do_not_count():
    assert not art_of(pdf_of("q 10 10 40 20 re W n /S sh Q", prepare=fading(same=True))).fades
    assert not art_of(pdf_of("q 10 10 40 20 re W n /S sh Q 0 g 5 5 60 40 re f", prepare=fading())).fades
    assert not art_of(
        pdf_of("0 g 5 5 9 9 re f q 80 10 5 20 re W n 10 10 5 5 re W n /S sh Q", prepare=fading())
    ).fades


def test_a_shading_inside_a_pattern_inside_a_form_is_found():
    def prepare(pdf):
        pattern = Dictionary(PatternType=2, Shading=shading(pdf), Matrix=[PT, 0, 0, PT, 0, 0])
        form = pdf.make_stream(
            b"/Pattern cs /P scn 12 12 30 15 re f", Type=Name.XObject, Subtype=Name.Form, BBox=[0, 0, 100, 60],
            Resources=Dictionary(Pattern=Dictionary(P=pattern)),
        )  # fmt: skip
        return Dictionary(XObject=Dictionary(F=form))

    art = art_of(pdf_of("/F Do", prepare=prepare))
    assert [fade.kind for fade in art.fades] == ["gradient"]
    assert (round(art.width_mm), round(art.height_mm)) == (30, 15)


def test_tiles_of_a_pattern_are_on_the_plate():
    def prepare(pdf):
        pattern = pdf.make_stream(
            b"0 0.5 0 rg 0 0 1 2 re f", PatternType=1, PaintType=1, TilingType=1, BBox=[0, 0, 2, 2], XStep=2, YStep=2,
            Resources=Dictionary(), Matrix=[PT, 0, 0, PT, 0, 0],
        )  # fmt: skip
        return Dictionary(Pattern=Dictionary(P=pattern))

    art = art_of(pdf_of("/Pattern cs /P scn 10 10 40 20 re f", prepare=prepare))
    assert len(art.inks) == 1
    assert area(art, 0, 20) == pytest.approx(400, rel=0.02)  # half of the area


# ------------------------------------------------------------------ pictures


def picture_pdf(image, boxes, mode_mask=None):
    out = io.BytesIO()
    page = canvas.Canvas(out, pagesize=(100 * PT, 60 * PT))
    for box in boxes:
        page.drawImage(ImageReader(image), *(v * PT for v in box), mask=mode_mask)
    page.save()
    return out.getvalue()


def logo(width=300, height=200):
    image = Image.new("RGB", (width, height), "white")
    pixels = np.asarray(image).copy()
    y, x = np.mgrid[:height, :width]
    pixels[(x - width / 3) ** 2 + (y - height / 2) ** 2 < (height / 3) ** 2] = (200, 30, 40)
    pixels[height // 4 : height // 2, width * 2 // 3 : width - 10] = (20, 60, 120)
    return Image.fromarray(pixels)


def test_effective_ppi_agrees_with_poppler(tmp_path):
    data = picture_pdf(logo(), [(10, 10, 60, 40), (75, 10, 20, 10)])
    path = tmp_path / "two.pdf"
    path.write_bytes(data)
    listed = subprocess.run(
        ["pdfimages", "-list", str(path)], capture_output=True, text=True, check=True
    ).stdout
    theirs = sorted(tuple(map(float, line.split()[12:14])) for line in listed.splitlines()[2:])
    mine = sorted(picture.ppi for picture in art_of(data).pictures)
    assert len(mine) == 2
    for one, other in zip(mine, theirs, strict=True):
        assert one == pytest.approx(other, abs=1)  # poppler prints whole numbers


def test_a_bitmap_wrapped_in_a_pdf_is_a_bitmap():
    art = art_of(picture_pdf(logo(), [(10, 10, 60, 40)]))
    assert art.kind == "bitmap"
    assert len(art.inks) == 2
    # the disc and the bar, in pixels of 0.2 mm
    disc = math.pi * (200 / 3) ** 2 * 0.04
    assert area(art, art.inks[0]) == pytest.approx(disc, rel=0.02)


def test_one_pixel_stretched_as_a_flat_box_is_no_bitmap():
    art = art_of(picture_pdf(Image.new("RGB", (1, 1), (200, 30, 40)), [(10, 10, 60, 40)]))
    assert art.kind == "vector"
    assert [picture.flat for picture in art.pictures] == [True]
    assert area(art, 0) == pytest.approx(2400, rel=5e-3)


def test_vector_and_bitmap_are_mixed_with_one_list_of_inks():
    out = io.BytesIO()
    page = canvas.Canvas(out, pagesize=(100 * PT, 60 * PT))
    page.drawImage(ImageReader(logo()), 5 * PT, 5 * PT, 40 * PT, 30 * PT)
    page.setFillColorRGB(200 / 255, 30 / 255, 40 / 255)
    page.rect(60 * PT, 5 * PT, 20 * PT, 20 * PT, stroke=0, fill=1)
    page.save()
    art = art_of(out.getvalue())
    assert art.kind == "mixed"
    assert len(art.inks) == 2


def test_soft_mask_of_a_picture_is_its_alpha():
    rgba = logo().convert("RGBA")
    pixels = np.asarray(rgba).copy()
    pixels[(pixels[..., :3] > 250).all(2)] = 0
    art = art_of(picture_pdf(Image.fromarray(pixels), [(10, 10, 60, 40)], "auto"), ground="#1d2b4f")
    assert len(art.inks) == 2  # no white: it is clear
    assert art.pictures[0].has_alpha


# ------------------------------------------------------------------ text


def text_pdf(text="Hx", size_mm=10.0, embed=True, turn=0.0, mode=0):
    out = io.BytesIO()
    page = canvas.Canvas(out, pagesize=(100 * PT, 60 * PT))
    name = "Helvetica"
    if embed:
        pdfmetrics.registerFont(TTFont("DejaVu", DEJAVU))
        name = "DejaVu"
    page.translate(20 * PT, 20 * PT)
    page.rotate(turn)
    body = page.beginText(0, 0)
    body.setFont(name, size_mm * PT)
    body.setTextRenderMode(mode)
    body.textOut(text)
    page.drawText(body)
    page.setFillColorRGB(0, 0, 0)
    page.rect(0, -15 * PT, 10 * PT, 2 * PT, stroke=0, fill=1)
    page.save()
    return out.getvalue()


@pytest.mark.parametrize("turn", [0, 33, 90])
def test_glyph_heights_agree_with_fonttools(turn):
    from fontTools.pens.boundsPen import BoundsPen
    from fontTools.ttLib import TTFont as Font

    font = Font(DEJAVU)
    glyphs, table = font.getGlyphSet(), font.getBestCmap()
    art = art_of(text_pdf(turn=turn))
    (run,) = art.text
    assert run.em_mm == pytest.approx(10, rel=1e-4)
    for glyph in run.glyphs:
        pen = BoundsPen(glyphs)
        glyphs[table[ord(glyph.char)]].draw(pen)
        true = (pen.bounds[3] - pen.bounds[1]) / font["head"].unitsPerEm * 10
        heights = np.vstack(glyph.path.polygons(0.001)) @ np.array(run.up)
        assert heights.max() - heights.min() == pytest.approx(true, abs=0.01)


def test_embedded_fonts_agree_with_pdffonts(tmp_path):
    for embed in (True, False):
        path = tmp_path / f"{embed}.pdf"
        path.write_bytes(text_pdf(embed=embed))
        listed = subprocess.run(["pdffonts", str(path)], capture_output=True, text=True, check=True).stdout
        lines = [re.split(r"\s+", line.strip()) for line in listed.splitlines()[2:]]
        theirs = {line[0].split("+")[-1]: line[-5] == "yes" for line in lines}
        (font,) = art_of(path.read_bytes()).fonts  # pdffonts also lists fonts that nothing is set in
        assert font.embedded == theirs[font.name] == embed


def test_invisible_text_is_reported_and_not_read():
    art = art_of(text_pdf(mode=3))
    assert not art.text
    assert "invisible text" in kinds(art)


# ------------------------------------------------------------------ structure


def test_hidden_layers_annotations_and_further_pages():
    def prepare(pdf):
        layer = pdf.make_indirect(Dictionary(Type=Name.OCG, Name=String("Old logo")))
        pdf.Root.OCProperties = Dictionary(OCGs=[layer], D=Dictionary(OFF=[layer], Order=[layer]))
        note = pdf.make_indirect(
            Dictionary(Type=Name.Annot, Subtype=Name.Square, Rect=[10, 10, 40, 40], F=4, C=[1, 0, 0])
        )
        pdf.pages[0].obj.Annots = Array([note])
        return Dictionary(Properties=Dictionary(L=layer))

    data = pdf_of("0 g 10 10 30 10 re f /OC /L BDC 0.8 0 0 rg 60 10 30 30 re f EMC", prepare=prepare, pages=3)
    art = art_of(data)
    assert {"hidden layer", "annotation", "extra page"} <= set(kinds(art))
    assert len(art.inks) == 1
    assert art.pages == 3


def test_live_transparency_is_read_from_the_finished_picture():
    def prepare(pdf):
        mask = pdf.make_stream(
            b"0.5 g 0 0 100 60 re f", Type=Name.XObject, Subtype=Name.Form, BBox=[0, 0, 300, 200],
            Group=Dictionary(S=Name.Transparency, CS=Name.DeviceGray),
        )  # fmt: skip
        return Dictionary(ExtGState=Dictionary(M=Dictionary(SMask=Dictionary(S=Name.Luminosity, G=mask))))

    art = art_of(pdf_of("/M gs 0.8 0 0 rg 10 10 40 20 re f", prepare=prepare))
    assert "soft mask" in kinds(art)
    assert art.composite
    assert (round(art.width_mm), round(art.height_mm)) == (40, 20)


# ------------------------------------------------------------------ what is no art


def test_locked_file_says_so():
    pdf = pikepdf.open(io.BytesIO(pdf_of("0 g 10 10 30 10 re f")))
    out = io.BytesIO()
    pdf.save(out, encryption=pikepdf.Encryption(owner="a", user="b"))
    with pytest.raises(Unreadable, match="password"):
        art_of(out.getvalue())


def test_missing_page_says_how_many_there_are():
    with pytest.raises(Unreadable, match="3 pages"):
        art_of(pdf_of("0 g 10 10 30 10 re f", pages=3), page=4)


SAMPLE = pdf_of("0.8 0 0 rg 10 10 30 10 re f 0 G 0.3 w 5 5 m 90 50 l S")


@settings(max_examples=40, deadline=None, suppress_health_check=list(HealthCheck))
@given(st.data())
def test_damaged_files_are_read_or_refused_in_words(data):
    """Whatever bytes are lost or changed, nothing but Unreadable comes out."""
    spoiled = bytearray(SAMPLE)
    for _ in range(data.draw(st.integers(0, 12))):
        spoiled[data.draw(st.integers(0, len(spoiled) - 1))] = data.draw(st.integers(0, 255))
    cut = data.draw(st.integers(10, len(spoiled)))
    try:
        art = art_of(bytes(spoiled[:cut]))
    except Unreadable as trouble:
        assert trouble.says.endswith(".") and trouble.remedy.endswith(".")
    else:
        assert art.width_mm > 0


@pytest.mark.parametrize("ppm", [7.3, 11.0, 23.1])
def test_an_upright_clip_cuts_where_it_says(ppm):
    """MuPDF alone would clip to whole pixels: a line made only by a clip would be a whole pixel wide."""
    art = art_of(
        pdf_of("q 10 10 0.23 30 re W n 0 g 0 0 60 60 re f Q q 30 10.1 20 0.41 re W n 0 g 0 0 60 60 re f Q")
    )
    lying = art.coverage(None, (20 - 10, 0, 60 - 10, art.height_mm), ppm)
    assert float(lying.sum()) / 255 / ppm**2 == pytest.approx(20 * 0.41, rel=0.02)
    standing = art.coverage(None, (-1, 0, 5, art.height_mm), ppm)
    assert float(standing.sum()) / 255 / ppm**2 == pytest.approx(30 * 0.23, rel=0.02)
