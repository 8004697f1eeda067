"""The sample inbox: what its files are, by tools of others; that they can be drawn again; that the checker says what is true."""

import csv
import gzip
import importlib.util
import io
import json
import re
import subprocess
import sys
import zipfile
from pathlib import Path

import cv2
import numpy as np
import pikepdf
import pypdfium2
import pytest
import resvg_py
import shapely
from lxml import etree
from PIL import Image, ImageChops

from test_cli import ROOT, preflight

ART = ROOT / "sample_art"
INBOX = ART / "inbox"
MM = 25.4 / 72  # of a point


def _module(name):
    """A module of the sample folder under its own name, without leaving that folder on the path for other tests."""
    sys.path.insert(0, str(ART))
    try:
        if name not in sys.modules:
            spec = importlib.util.spec_from_file_location(name, ART / f"{name}.py")
            module = importlib.util.module_from_spec(spec)
            sys.modules[name] = module
            spec.loader.exec_module(module)
        return sys.modules[name]
    finally:
        sys.path.remove(str(ART))


truth, draw = _module("truth"), _module("draw")


# ------------------------------------------------------------------------------------------------ the folder as a whole


def test_every_file_is_ordered_and_every_order_has_its_file():
    files = {path.name for path in INBOX.iterdir()} - {"orders.csv"}
    assert files == set(draw.FILES)
    assert {row.file for row in truth.ROWS} == files | {"never-arrived.pdf"}
    assert len(files) >= 16
    assert (INBOX / "orders.csv").read_bytes() == draw.orders()


def test_all_methods_and_all_verdicts_appear():
    from preflight.order import METHODS

    assert {row.method for row in truth.ROWS} == set(METHODS)
    assert {row.verdict for row in truth.ROWS} == {"pass", "query", "fail"}
    assert all(bool(row.checks) != (row.verdict == "pass") for row in truth.ROWS)


def test_the_table_in_the_readme_is_the_truth():
    text = (ART / "README.md").read_text("utf-8")
    assert text.split("<!-- table -->")[1].split("<!-- /table -->")[0].strip() == draw.table()


def test_the_folder_stays_small():
    assert sum(path.stat().st_size for path in ART.rglob("*") if path.is_file()) < 3_000_000


# ------------------------------------------------------------------------------------------------ drawn again


@pytest.mark.parametrize("name", draw.FILES)
def test_a_file_can_be_drawn_again(name):
    """The same content: bytes where a format has one way to say it, pixels or objects where libraries differ."""
    again, before = draw.FILES[name](), (INBOX / name).read_bytes()
    if again == before:
        return
    suffix = Path(name).suffix
    if suffix in {".png", ".gif", ".webp", ".tif", ".jpg"}:
        one, two = Image.open(io.BytesIO(again)), Image.open(io.BytesIO(before))
        assert (one.size, one.mode) == (two.size, two.mode)
        # Pixels at edges may fall either side of a rounding; a lossy encoder of another version may differ a little.
        off = np.asarray(ImageChops.difference(one.convert("RGBA"), two.convert("RGBA")))
        assert (off > 8).mean() < 0.002
    elif suffix in {".svg", ".svgz", ".eps"}:
        one, two = _text(again), _text(before)
        _same_words(one, two)
        draws = {".eps": _drawn_eps}.get(suffix, _drawn_svg)
        _same_look(draws(one), draws(two))
    elif suffix == ".pdf" and again[:4] == b"%PDF" and not name.startswith("half-sent"):
        password = "spring tide" if name.startswith("locked") else ""
        with (
            pikepdf.open(io.BytesIO(again), password=password) as one,
            pikepdf.open(io.BytesIO(before), password=password) as two,
        ):
            assert len(one.pages) == len(two.pages) == 1
            _same_words(_content(one), _content(two))
        _same_look(*(_drawn_pdf(data, password) for data in (again, before)))
    else:
        pytest.fail(f"{name} came out different")


def _text(data):
    return (gzip.decompress(data) if data[:2] == b"\x1f\x8b" else data).decode()


def _content(pdf):
    return pdf.pages[0].Contents.read_bytes().decode("latin-1")


def _same_words(one, two):
    """The same tokens beside the outlines; numbers to 0.02.

    A union of shapes begins its outline where the processor's last bit says, so outlines are compared by their look.
    """
    number = re.compile(r"-?\d+(?:\.\d+)?")
    outline = re.compile(r'(?<= d=")[^"]*|(?:^[-\d. ]*\b[mlch]\n)+', re.M)
    one, two = (outline.sub("outline ", text) for text in (one, two))
    assert number.sub("#", one) == number.sub("#", two)
    assert np.allclose(*(np.array(number.findall(text), float) for text in (one, two)), atol=0.02)


def _same_look(one, two):
    """The same picture at 300 ppi but for a few pixels of the edges, where a curve is fitted from another beginning."""
    assert one.shape == two.shape
    assert one.std() > 5  # not an empty sheet twice
    off = np.abs(one.astype(int) - two)
    assert (off > 32).mean() < 0.0005


def _drawn_pdf(data, password):
    with pypdfium2.PdfDocument(data, password=password or None) as pdf:
        return pdf[0].render(scale=300 / 72).to_numpy().copy()


def _drawn_svg(text):
    return _opened(bytes(resvg_py.svg_to_bytes(svg_string=text, dpi=300)))


def _drawn_eps(text):
    asked = "gs -q -dSAFER -dBATCH -dNOPAUSE -dEPSCrop -sDEVICE=png16m -r300 -dGraphicsAlphaBits=4 -sOutputFile=- -"
    return _opened(subprocess.run(asked.split(), input=text.encode(), capture_output=True, check=True).stdout)


def _opened(png):
    return np.asarray(Image.open(io.BytesIO(png)).convert("RGBA"))


# ------------------------------------------------------------------------------------------------ what the files are


def spots_of(name):
    with pikepdf.open(INBOX / name) as pdf:
        spaces = pdf.pages[0].Resources.get("/ColorSpace", {})
        return {str(space[1])[1:] for _, space in spaces.items() if space[0] == "/Separation"}


def size_of(name):
    """Width and height of the page, mm."""
    with pikepdf.open(INBOX / name) as pdf:
        box = [float(v) for v in pdf.pages[0].mediabox]
    return (box[2] - box[0]) * MM, (box[3] - box[1]) * MM


def operators_of(name):
    with pikepdf.open(INBOX / name) as pdf:
        return [(str(i.operator), list(i.operands)) for i in pikepdf.parse_content_stream(pdf.pages[0])]


@pytest.mark.parametrize(
    ("name", "spots"),
    [
        ("otter-two-spots-clean.pdf", {"Marsh Green", "Kite Red"}),
        ("kite-58x38-clean.pdf", {"Kite Red", "Tide Blue"}),
        ("curlew-38x58-turned-clean.pdf", {"Slate"}),
        ("otter-cap-four-threads.pdf", {"Otter Brown", "Sand", "Slate", "Tide Blue"}),
        ("fair-map-six-colours.pdf", {"Reed Ochre", "Sand", "Marsh Green", "Tide Blue", "Kite Red", "Slate"}),
        ("crest-hairlines-0.12mm.pdf", {"Reed Ochre"}),
        ("kites-cut-line-and-bleed-clean.pdf", {"Cut Line"}),
        ("otter-dome-35mm-clean.pdf", {"Cut Line"}),
    ],
)
def test_spot_colours_are_named(name, spots):
    assert spots_of(name) == spots


def test_only_the_wrapped_bitmap_holds_an_image():
    for path in sorted(INBOX.glob("*.pdf")):
        if path.name.startswith(("locked", "programme", "half-sent")):
            continue
        listed = subprocess.run(
            ["pdfimages", "-list", path], capture_output=True, text=True, check=True
        ).stdout
        images = [line.split() for line in listed.splitlines()[2:]]
        if path.name == "otter-bitmap-wrapped.pdf":
            assert [(i[2], i[3], i[4]) for i in images] == [("image", "669", "669")]
            assert 198 <= int(images[0][12]) <= 202  # x-ppi
        else:
            assert images == [], path.name


def test_only_the_poster_has_live_text_and_its_font_is_missing():
    for path in sorted(INBOX.glob("*.pdf")):
        if path.name.startswith(("locked", "programme", "half-sent")):
            continue
        listed = subprocess.run(["pdffonts", path], capture_output=True, text=True, check=True).stdout
        fonts = [line.split() for line in listed.splitlines()[2:]]
        if path.name == "poster-font-missing.pdf":
            assert [f[0] for f in fonts] == ["ReedSansBold"] and "no" in fonts[0]
        else:
            assert fonts == [], path.name
    assert "Tj" in {operator for operator, _ in operators_of("poster-font-missing.pdf")}


def test_pixels_are_what_the_names_say():
    opened = {
        path.name: Image.open(io.BytesIO(path.read_bytes()))
        for path in INBOX.iterdir()
        if path.suffix in {".png", ".jpg", ".tif", ".gif", ".webp"}
    }
    assert {name: (image.format, image.mode) for name, image in opened.items()} == {
        "kite-alpha-600ppi-clean.png": ("PNG", "RGBA"),
        "web-banner-72ppi.jpg": ("JPEG", "RGB"),
        "marsh-dawn-cmyk-300ppi-clean.tif": ("TIFF", "CMYK"),
        "curlew-one-bit-600ppi.tif": ("TIFF", "1"),
        "kite-flat-600ppi-clean.gif": ("GIF", "P"),
        "reed-club-450ppi.webp": ("WEBP", "RGB"),
    }
    assert (np.asarray(opened["kite-alpha-600ppi-clean.png"])[..., 3] == 0).mean() > 0.5
    for row in truth.ROWS:
        if row.file in opened and (said := re.search(r"(\d+)ppi", row.file)):
            ppi = opened[row.file].width / float(row.order["width_mm"]) * 25.4
            assert ppi == pytest.approx(float(said[1]), rel=0.01), row.file


def test_cut_lines_and_bleed():
    for name, cut, bleed in (
        ("kites-cut-line-and-bleed-clean.pdf", (80, 50), 3),
        ("kites-no-bleed.pdf", (80, 50), 0),
        ("otter-dome-35mm-clean.pdf", (35, 35), 3),
    ):
        steps = operators_of(name)
        start = next(i for i, (_, operands) in enumerate(steps) if "/Knife" in map(str, operands))
        points = np.array(
            [
                [float(v) for v in operands[-2:]]
                for operator, operands in steps[start:]
                if operator in {"m", "l", "c"}
            ]
        )
        assert np.ptp(points, axis=0) == pytest.approx(cut, abs=0.01), name
        assert size_of(name) == pytest.approx([side + 2 * bleed for side in cut], abs=0.05), name


def test_outlined_sizes():
    assert size_of("kite-58x38-clean.pdf") == pytest.approx((58, 38), abs=0.6)
    assert size_of("curlew-38x58-turned-clean.pdf") == pytest.approx((38, 58), abs=0.5)
    assert size_of("fair-map-six-colours.pdf") == pytest.approx((70, 45), abs=0.05)
    assert size_of("otter-cap-four-threads.pdf")[1] == pytest.approx(50, abs=0.05)


def test_svg_files_hold_outlines_only():
    for name in (
        "reed-club-one-colour-clean.svg",
        "otter-plate-wide-lines-clean.svg",
        "lettering-3.2mm-whiskers-0.3mm.svg",
        "curlew-one-colour-clean.svgz",
    ):
        root = etree.fromstring(_text((INBOX / name).read_bytes()).encode())
        tags = {etree.QName(e).localname for e in root.iter()}
        assert tags == {"svg", "title", "path"}, name
        colours = {e.get("fill") for e in root.iter("{*}path")}
        assert len(colours) == (5 if name.startswith("lettering") else 1), name


def test_the_small_print_has_capitals_of_3_2_mm_and_whiskers_of_0_3_mm():
    """By OpenCV's smallest rectangle round each straight-edged letter, and shapely's area of a whisker over half its edge."""
    root = etree.fromstring((INBOX / "lettering-3.2mm-whiskers-0.3mm.svg").read_bytes())
    sides, whiskers = [], []
    for path in root.iter("{*}path"):
        for contour in path.get("d").split("M")[1:]:
            points = np.array(re.findall(r"(-?[\d.]+) (-?[\d.]+)", contour), np.float32)
            (_, y), size, _ = cv2.minAreaRect(points)
            if "C" not in contour and y > 50:
                sides.append(min(size, key=lambda side: abs(side - 3.2)))
            shape = shapely.Polygon(points)
            if max(size) > 5 and (thick := 2 * shape.area / shape.length) < 0.5:
                whiskers.append(thick)
    assert sum(abs(side - 3.2) < 0.03 for side in sides) >= 8, sides
    assert len(whiskers) == 6 and whiskers == pytest.approx([0.3] * 6, abs=0.03)


def test_the_hairlines_are_0_12_mm_wide():
    steps = operators_of("crest-hairlines-0.12mm.pdf")
    contours, now = [], []
    for operator, operands in steps:
        if operator == "m":
            now = [operands]
        elif operator in {"l", "c"}:
            now.append(operands)
        elif operator == "h":
            contours.append(now)
    thin = 0
    for contour in contours:
        if len(contour) == 4 and all(len(p) == 2 for p in contour):
            points = np.array(contour, float)
            sides = np.linalg.norm(points - np.roll(points, 1, axis=0), axis=1)
            thin += abs(sides.min() - 0.12) < 0.005
    assert thin == 60


def test_special_files_are_what_their_names_say():
    with pytest.raises(pikepdf.PasswordError):
        pikepdf.open(INBOX / "locked-with-password.pdf")
    assert zipfile.is_zipfile(INBOX / "programme-text-document.pdf")
    with zipfile.ZipFile(INBOX / "programme-text-document.pdf") as archive:
        assert "word/document.xml" in archive.namelist()
    assert b"%%EOF" not in (INBOX / "half-sent-truncated.pdf").read_bytes()
    with pikepdf.open(INBOX / "otter-hidden-layer.pdf") as pdf:
        layers = pdf.Root.OCProperties
        assert [str(layer.Name) for layer in layers.D.OFF] == ["Last year"]
    with pikepdf.open(INBOX / "sunset-gradient.pdf") as pdf:
        assert sorted(int(s.ShadingType) for _, s in pdf.pages[0].Resources.Shading.items()) == [2, 2]
    head = (INBOX / "tide-clock-hand-written-clean.eps").read_bytes()
    assert head.startswith(b"%!PS-Adobe-3.0 EPSF-3.0\n%%BoundingBox: 0 0 91 95\n") and b"(Tide Blue)" in head


def test_the_codes_hold_the_address():
    """Drawn by pdfium, read by OpenCV's own reader."""
    import pypdfium2

    page = pypdfium2.PdfDocument(INBOX / "qr-0.8mm-squares-clean.pdf")[0]
    grey = np.asarray(page.render(scale=10).to_pil().convert("L"))
    grey = np.pad(grey, 120, constant_values=255)
    assert cv2.QRCodeDetector().detectAndDecode(grey)[0] == _module("odd").LINK


# ------------------------------------------------------------------------------------------------ what the checker says


@pytest.fixture(scope="module")
def ran(tmp_path_factory):
    out = tmp_path_factory.mktemp("reports")
    done = preflight("inbox", INBOX, "--out", out, "--workers", "2")
    summary = json.loads((out / "summary.json").read_text("utf-8"))
    with (out / "summary.csv").open(encoding="utf-8-sig", newline="") as file:
        rows = list(csv.DictReader(file))
    return done, summary, rows, out


def test_the_inbox_run_ends_with_failures(ran):
    done, summary, rows, _ = ran
    assert done.returncode == 1, done.stderr
    assert len(summary["jobs"]) == len(rows) == len(truth.ROWS)


@pytest.mark.parametrize("row", truth.ROWS, ids=lambda row: row.job)
def test_a_row_gets_its_verdict(ran, row):
    _, summary, rows, out = ran
    (line,) = [r for r in rows if r["job"] == row.job] or [
        r for r in rows if r["file"] == row.file == "never-arrived.pdf"
    ]
    assert line["verdict"] == row.verdict, line
    if row.file == "never-arrived.pdf":
        assert "no such file" in line["worst"] or "no such file" in json.dumps(line)
        return
    report = json.loads(next((out / line["folder"]).glob("*.json")).read_text("utf-8"))
    decisive = {
        f["check"]
        for f in report["findings"]
        if f["severity"] == {"fail": "must", "query": "query"}.get(row.verdict)
    }
    assert set(row.checks) <= decisive, [(f["severity"], f["rule"], f["says"]) for f in report["findings"]]
