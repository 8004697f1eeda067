"""The PDF proof and the mail draft, read back with other libraries."""

import email
import email.policy
import io

import numpy as np
import pypdfium2
import pytest
from reportlab.pdfgen import canvas

import report_demo as demo
from preflight.findings import ArtFacts
from preflight.report import mail, pdf, picture
from preflight.report.data import Letterhead

EVERY = demo.reports()
MM = 72 / 25.4


def words_of(made):
    document = pypdfium2.PdfDocument(made)
    return [page.get_textpage().get_text_bounded().replace("\r\n", "\n") for page in document]


def flat(text):
    return " ".join(text.replace("\u00a0", " ").replace("\ufffe", "-").split())


@pytest.fixture(scope="module")
def made():
    return {name: pdf.render(r, demo.pictures_of(name), None, demo.LETTERHEAD) for name, r in EVERY.items()}


def test_pages_are_a4_and_numbered(made):
    for name, one in made.items():
        document = pypdfium2.PdfDocument(one)
        for number, (page, words) in enumerate(zip(document, words_of(one), strict=True), 1):
            assert page.get_size() == pytest.approx((595.28, 841.89), abs=0.1)
            assert f"Page {number} of {len(document)}" in flat(words), name


def test_the_proof_shows_what_a_proof_must_show(made):
    """A proof's contents: common practice."""
    words = flat(" ".join(words_of(made["asking"])))
    for part in (
        "One question before we can make it",
        "Samphire Yard Printing",
        "Job KF-0412",
        "A speck of 0.4 mm lies alone",
        "true size",
        "80 × 56 mm",
        "50 mm",
        "Beacon red",
        "Ground navy",
        "Embroidery",
        "Stitches",
        "spelling",
        "Accepted already",
        "otter-badge.pdf",
        "Screen colours",
        "Name Signature Date",
        "collar, edge or seam",
    ):
        assert part in words, part


def test_failing_art_is_not_offered_for_signature(made):
    words = flat(" ".join(words_of(made["failing"])))
    assert "There is nothing to sign yet" in words and "Signature" not in words and "common practice" in words


def test_words_from_outside_are_never_markup(made):
    words = flat(" ".join(words_of(made["hostile"])))
    assert '#read("/etc/passwd")' in words and "<script>alert(1)</script>" in words and "{{7*7}}" in words
    assert b"/JavaScript" not in made["hostile"] and b"/URI" not in made["hostile"]


def test_only_shipped_faces_are_used_and_embedded(made):
    import pikepdf

    with pikepdf.open(io.BytesIO(made["failing"])) as document:
        faces = {
            str(o.BaseFont)
            for o in document.objects
            if isinstance(o, pikepdf.Dictionary) and o.get("/Type") == "/Font"
        }
    assert faces and all("FiraGO" in face or "Noto" in face for face in faces), faces


def test_east_asian_names_are_set():
    report = demo.report(demo.SPECK, job={"method": "foil", "customer": "風箏 연"})
    assert "風箏 연" in flat(words_of(pdf.render(report, None))[0])


def test_renaming_a_face_leaves_it_a_face():
    """Read by another library."""
    from fontTools.ttLib import TTFont

    from preflight.report import faces

    face = TTFont(io.BytesIO(faces.wanted_for("風")["east.ttf"]), checkChecksums=2)
    assert face["name"].getDebugName(6) == "DroidSansFallback" and 0x98A8 in face.getBestCmap()
    assert "east.ttf" not in faces.wanted_for("kite, été, ΔE00")


def client_pdf():
    """Art of 40 x 20 mm (a red bar with a navy square) at (30, 50) mm from the top left of a larger page with a link."""
    out = io.BytesIO()
    page = canvas.Canvas(out, pagesize=(200 * MM, 150 * MM))
    page.setFillColorRGB(0.8, 0.1, 0.1)
    page.rect(30 * MM, (150 - 70) * MM, 40 * MM, 20 * MM, stroke=0, fill=1)
    page.setFillColorRGB(0.1, 0.1, 0.4)
    page.rect(30 * MM, (150 - 60) * MM, 10 * MM, 10 * MM, stroke=0, fill=1)
    page.linkURL("https://saltmarsh.example", (0, 0, 500, 500))
    page.save()
    return out.getvalue()


def client_art(scale=2.0):
    from dataclasses import replace

    return replace(
        demo.art(), width_mm=40 * scale, height_mm=20 * scale, scale=scale, offset=(30.0, 50.0), format="pdf"
    )


def test_a_clients_page_is_drawn_anew_and_cut_to_the_art():
    alone = picture.page_alone(client_pdf(), client_art())
    page = pypdfium2.PdfDocument(alone)[0]
    assert page.get_size() == pytest.approx((40 * MM, 20 * MM), abs=0.01)
    shown = np.asarray(page.render(scale=4).to_pil().convert("RGB")).astype(int)
    assert (np.abs(shown - (204, 26, 26)).max(2) < 6).mean() == pytest.approx(7 / 8, abs=0.02)
    assert (np.abs(shown[: shown.shape[0] // 2 - 4, : shown.shape[1] // 4 - 4] - (26, 26, 102)) < 6).all()
    assert b"/URI" not in alone and b"/Annots" not in alone
    for broken in (b"", b"%PDF-1.7 nothing", client_pdf()[:200]):
        with pytest.raises(ValueError, match="can't be drawn"):
            picture.page_alone(broken, client_art())


@pytest.mark.parametrize("outlines", [True, False])
def test_the_art_stands_at_true_size(outlines):
    """80 x 40 mm of red, counted on a rendering of the page by another engine."""
    art = client_art()

    class Bar:
        def picture(self, box, per_mm, rgb):
            return np.full(
                (round((box[3] - box[1]) * per_mm), round((box[2] - box[0]) * per_mm), 3),
                (204, 26, 26),
                np.uint8,
            )

    from dataclasses import replace

    shown = picture.make(replace(art, plates=Bar()), (), "#ffffff")
    facts = ArtFacts(
        format="pdf", kind="vector", width_mm=80, height_mm=40, file_width_mm=40, file_height_mm=20
    )
    report = demo.report(art=facts, colours=(), job={"method": "foil", "ground": "#ffffff"})
    made = pdf.render(report, shown, picture.page_alone(client_pdf(), art) if outlines else None)
    page = next(p for p in pypdfium2.PdfDocument(made) if "true size" in p.get_textpage().get_text_bounded())
    scale = 200 / 25.4
    rendered = np.asarray(page.render(scale=scale / MM).to_pil().convert("RGB")).astype(int)
    red = np.abs(rendered - (204, 26, 26)).max(2) < 12
    rows = np.flatnonzero(red.sum(1) > 20)
    rows = rows[np.flatnonzero(np.diff(rows, prepend=-9) > 20)[-1] :]  # the last red thing on the page
    columns = np.flatnonzero(red[rows].sum(0) > 20)
    assert np.ptp(columns) / scale == pytest.approx(80, abs=0.4) and np.ptp(rows) / scale == pytest.approx(
        40, abs=0.4
    )
    if outlines:
        assert not any(
            o.type == 3 and o.get_size() == shown.clean_size
            for o in page.get_objects()
            if hasattr(o, "get_size")
        )


@pytest.mark.parametrize(
    "size, heading, landscape",
    [
        ((178.0, 205.0), "The art at true size", False),
        ((250.0, 100.0), "The art at true size", True),
        ((720.0, 504.0), "reduced to 25%", False),
    ],
)
def test_larger_art_turns_the_sheet_or_is_reduced_and_says_so(size, heading, landscape):
    facts = ArtFacts(
        format="pdf", kind="vector", width_mm=size[0], height_mm=size[1], file_width_mm=80, file_height_mm=56
    )
    shown = picture.make(demo.art(), (), demo.NAVY)
    document = pypdfium2.PdfDocument(pdf.render(demo.report(art=facts), shown))
    pages = [(page, flat(page.get_textpage().get_text_bounded())) for page in document]
    page, words = next((page, words) for page, words in pages if heading in words)
    assert (page.get_width() > page.get_height()) is landscape
    assert "mm" in words and len(document) <= 5


def draft(report, letterhead=demo.LETTERHEAD):
    return email.message_from_bytes(
        mail.render(report, b"%PDF-1.7 demo", letterhead), policy=email.policy.default
    )


def test_the_draft_holds_the_reply_and_the_pdf():
    message = draft(demo.failing())
    assert (
        message["X-Unsent"] == "1" and message["From"] == "bench@samphire.example" and message["To"] is None
    )
    assert message["Subject"] == "Two things to mend before we can make it: KF-0412"
    body = message.get_body(("plain",)).get_content()
    assert "Dear Heron Hide Kite Club," in body and "The attached report shows each place" in body
    (attached,) = message.iter_attachments()
    assert (
        attached.get_content() == b"%PDF-1.7 demo" and attached.get_filename() == "artwork-report-KF-0412.pdf"
    )
    assert attached.get_content_type() == "application/pdf" and not message.defects


def test_headers_cannot_be_slipped_in():
    raw = mail.render(
        demo.hostile(), b"x", Letterhead(name=demo.HOSTILE, email="a@b.example\r\nBcc: c@d.example")
    )
    message = email.message_from_bytes(raw, policy=email.policy.default)
    assert set(message.keys()) == {"Subject", "Date", "X-Unsent", "MIME-Version", "Content-Type"}
    head = raw.split(b"\r\n\r\n", 1)[0]
    assert not any(line.lower().startswith((b"bcc", b"to:", b"cc")) for line in head.split(b"\r\n"))
    (attached,) = message.iter_attachments()
    assert attached.get_filename().isascii() and "/" not in attached.get_filename()


@pytest.mark.parametrize(
    "address", ["bench", "a@b", "a b@c.example", "<a@b.example>", "a@b.example,c@d.example", ""]
)
def test_what_is_no_address_sends_nothing(address):
    assert draft(demo.passing(), Letterhead(email=address))["From"] is None


def test_other_scripts_survive_the_mail():
    message = draft(demo.report(demo.SPECK, job={"job": "凧 №5 – été", "method": "foil"}))
    assert message["Subject"].endswith("凧 №5 – été")


@pytest.mark.parametrize("described", [False, True], ids=["bare", "with a descriptor"])
def test_art_whose_font_is_missing_stands_as_shapes(described):
    """Its letters are those that were measured, on every computer; no font of another name is asked for."""
    import pikepdf
    import resvg_py
    from PIL import Image

    from pdf_made import pdf_of
    from preflight.load import load
    from preflight.order import Order

    def prepare(document):
        font = pikepdf.Dictionary(
            Type=pikepdf.Name.Font, Subtype=pikepdf.Name.TrueType, BaseFont=pikepdf.Name("/KiteSans"),
            Encoding=pikepdf.Name.WinAnsiEncoding,
        )  # fmt: skip
        if described:
            font.FirstChar, font.LastChar, font.Widths = 32, 126, [500] * 95
            font.FontDescriptor = document.make_indirect(
                pikepdf.Dictionary(
                    Type=pikepdf.Name.FontDescriptor, FontName=pikepdf.Name("/KiteSans"), Flags=32, StemV=80,
                    FontBBox=[0, -200, 1000, 900], ItalicAngle=0, Ascent=900, Descent=-200, CapHeight=700,
                )
            )  # fmt: skip
        return pikepdf.Dictionary(Font=pikepdf.Dictionary(F=font))

    data = pdf_of(
        '0.8 0.1 0.1 rg 10 10 60 4 re f 0 g BT /F 12 Tf 20 25 Td (HE<"&>LLO) Tj ET', 80, 40, prepare=prepare
    )
    art = load(data, Order(ground="#ffffff"))
    drawn = picture.page_alone(data, art)
    assert drawn.startswith(b"<svg") and b"<text" not in drawn and b"<image" not in drawn
    facts = ArtFacts(
        format="pdf", kind="vector", width_mm=art.width_mm, height_mm=art.height_mm, file_width_mm=art.width_mm,
        file_height_mm=art.height_mm,
    )  # fmt: skip
    report = demo.report(art=facts, colours=(), findings=(), job={"method": "foil", "ground": "#ffffff"})
    made = pdf.render(report, picture.make(art, (), "#ffffff"), drawn)
    with pikepdf.open(io.BytesIO(made)) as document:
        faces = {
            str(o.BaseFont)
            for o in document.objects
            if isinstance(o, pikepdf.Dictionary) and "/BaseFont" in o
        }
    assert faces and all("FiraGO" in face or "Noto" in face for face in faces), faces
    page = next(p for p in pypdfium2.PdfDocument(made) if "true size" in p.get_textpage().get_text_bounded())
    assert "LLO" not in page.get_textpage().get_text_bounded()
    # another engine draws the letters that were measured
    shown = np.asarray(
        Image.open(io.BytesIO(resvg_py.svg_to_bytes(svg_string=drawn.decode(), zoom=8))).convert("RGBA")
    )
    ours = art.coverage(None, art.box, shown.shape[1] / art.width_mm)
    rows, columns = min(len(ours), len(shown)), min(ours.shape[1], shown.shape[1])
    assert np.abs(ours[:rows, :columns].astype(int) - shown[:rows, :columns, 3]).mean() < 4
