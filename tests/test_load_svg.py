"""SVG: exact size, real vectors and right colours by outside tools; hostile files refused or made harmless."""
# ruff: noqa: E501 - a drawing in one line reads better than one in four

import base64
import contextlib
import gzip
import io
import socket
import subprocess
import threading
import time
import warnings

import numpy as np
import pikepdf
import pypdfium2
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image

from preflight.errors import Unreadable
from preflight.load.svg import Converted, to_pdf

with warnings.catch_warnings():  # it warns that its plotting is not installed
    warnings.simplefilter("ignore")
    import colour as colour_science

SPACES = 'xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"'


def svg(body: str, attributes: str = 'width="100" height="100"') -> bytes:
    return f"<svg {SPACES} {attributes}>{body}</svg>".encode()


def drawn(art: Converted, pixels: int = 100) -> np.ndarray:
    """The PDF as pdfium draws it, (rows, columns, 3)."""
    with contextlib.closing(pypdfium2.PdfDocument(art.pdf)) as document:
        sheet = document[0]
        image = sheet.render(scale=pixels / sheet.get_width()).to_pil().convert("RGB")
        sheet.close()
    return np.asarray(image)


def again(art: Converted, pixels: int = 100) -> np.ndarray:
    """The second engine's picture on white, (rows, columns, 3)."""
    rgba = art.second(pixels).astype(float)
    return np.round(rgba[..., :3] * rgba[..., 3:] / 255 + 255 - rgba[..., 3:]).astype(np.uint8)


def middle(art: Converted) -> tuple[np.ndarray, np.ndarray]:
    """The colour at the centre by both engines."""
    first, second = drawn(art), again(art)
    return (first[first.shape[0] // 2, 50].astype(int), second[second.shape[0] // 2, 50].astype(int))


def kinds(art: Converted) -> list[str]:
    return [fact.kind for fact in art.facts]


def png(image: Image.Image, form: str = "PNG") -> str:
    buffer = io.BytesIO()
    image.save(buffer, form)
    return f"data:image/{form.lower()};base64," + base64.b64encode(buffer.getvalue()).decode()


def content(art: Converted) -> str:
    with pikepdf.open(io.BytesIO(art.pdf)) as document:
        return document.pages[0].Contents.read_bytes().decode("latin-1")


class TestSize:
    @pytest.mark.parametrize(
        ("attributes", "size"),
        [
            ('width="70mm" height="45mm"', (70, 45)),
            ('width="70mm" height="45mm" viewBox="0 0 700 450"', (70, 45)),
            ('width="7cm" height="4.5cm"', (70, 45)),
            ('width="2in" height="1in"', (50.8, 25.4)),
            ('width="96" height="48px"', (25.4, 12.7)),
            ('width="72pt" height="6pc"', (25.4, 25.4)),
            ('width="40Q" height="40Q"', (10, 10)),
            ('width="50mm" viewBox="0 0 200 100"', (50, 25)),
            ('height="50mm" viewBox="0 0 200 100"', (100, 50)),
            ('viewBox="10 10 192 96"', (50.8, 25.4)),
            ('width="100%" height="100%" viewBox="0 0 192 96"', (50.8, 25.4)),
            ('width="auto" viewBox="0,0 192,96"', (50.8, 25.4)),
            ('width="0" height="0" viewBox="0 0 192 96"', (50.8, 25.4)),
            ('width="2.5e1mm" height="+10mm"', (25, 10)),
        ],
    )
    def test_the_page_is_as_stated(self, attributes, size):
        # CSS Values and Units 4: 1 in = 96 px = 72 pt = 25.4 mm, 1 Q = 0.25 mm.
        art = to_pdf(svg('<rect width="9" height="9"/>', attributes))
        assert (art.width_mm, art.height_mm) == pytest.approx(size, abs=1e-6)
        with pikepdf.open(io.BytesIO(art.pdf)) as document:
            assert len(document.pages) == 1
            assert [float(v) * 25.4 / 72 for v in document.pages[0].MediaBox[2:]] == pytest.approx(
                size, abs=1e-4
            )
        assert art.second(200).shape == pytest.approx((200 * size[1] / size[0], 200, 4), abs=1)

    def test_without_any_size_it_is_what_is_drawn(self):
        art = to_pdf(svg('<rect x="-40" y="20" width="60" height="30"/><circle cx="30" cy="40" r="10"/>', ""))
        assert (art.width_mm, art.height_mm) == pytest.approx((80 * 25.4 / 96, 30 * 25.4 / 96), abs=0.01)
        assert drawn(art)[5, 5].max() == 0

    def test_coordinates_keep_their_digits(self):
        # 0.05 mm lines at odd places of a 70 mm page: figures in the PDF, times its matrix, against the file's own.
        art = to_pdf(
            svg(
                '<path d="M1.23456 2.5L68.76543 44.4321" stroke="#000" stroke-width=".05"/>',
                'width="70mm" height="45mm" viewBox="0 0 70 45"',
            )
        )
        words = content(art).split()
        scale = float(words[[i for i, word in enumerate(words) if word.startswith("cm")][-1] - 6])
        end = [i for i, word in enumerate(words) if word == "l"][-1]
        assert scale * 25.4 / 72 == pytest.approx(1, abs=1e-6)
        assert float(words[words.index("w") - 1]) == pytest.approx(0.05, abs=1e-6)
        assert [float(v) for v in words[end - 2 : end]] == pytest.approx([68.76543, 44.4321], abs=1e-4)

    @pytest.mark.parametrize("box", ["0 0 2 1", "0 0 200000 100000"])
    def test_figures_without_a_meaning_keep_their_proportions(self, box):
        art = to_pdf(svg('<rect width="100%" height="100%" fill="#2f6b4f"/>', f'viewBox="{box}"'))
        assert (
            art.width_mm / art.height_mm == pytest.approx(2)
            and art.height_mm > 2
            and art.width_mm <= 5000.001
        )
        assert art.facts == () and np.abs(drawn(art).astype(int) - (0x2F, 0x6B, 0x4F)).max() <= 1

    def test_a_stated_size_beyond_use_is_reported(self):
        assert (
            kinds(to_pdf(svg("<rect width='9' height='9'/>", 'width="40m" height="20m" viewBox="0 0 9 9"')))
            == []
        )
        assert kinds(to_pdf(svg("<rect width='9' height='9'/>", 'width="40000mm" height="20000mm"'))) == [
            "unsupported"
        ]

    @pytest.mark.parametrize("attributes", ['width="1mm" height="6000mm"', 'viewBox="0 0 1e-30 1e30"'])
    def test_endlessly_thin(self, attributes):
        with pytest.raises(Unreadable):
            to_pdf(svg("<rect width='9' height='9'/>", attributes))


class TestVectors:
    def test_nothing_becomes_pixels_but_filters(self):
        art = to_pdf(
            svg(
                '<defs><linearGradient id="g"><stop stop-color="#c8102e"/><stop offset="1" stop-color="#e8d9b5"/></linearGradient>'
                '<radialGradient id="r"><stop stop-color="#fff"/><stop offset="1" stop-color="#000"/></radialGradient></defs>'
                '<rect width="50" height="50" fill="url(#g)"/><circle cx="70" cy="70" r="20" fill="url(#r)"/>'
                '<path d="M5 60c10 20 30-20 40 5" fill="none" stroke="#000" stroke-dasharray="3 1"/>'
            )
        )
        with pikepdf.open(io.BytesIO(art.pdf)) as document:
            assert not document.pages[0].get_images(recursive=True)
            patterns = document.pages[0].Resources.Pattern.values()
            assert sorted(int(p.Shading.ShadingType) for p in patterns) == [2, 3]
        assert " d " in content(art).replace("\n", " ") and art.pixel_sizes == ()

    def test_pictures_keep_their_pixels_and_effects_are_told_from_them(self):
        pixels = np.random.default_rng(5).integers(0, 256, (20, 30, 3)).astype(np.uint8)
        art = to_pdf(
            svg(
                f'<image width="60" height="40" href="{png(Image.fromarray(pixels))}"/>'
                '<filter id="f"><feGaussianBlur stdDeviation="2"/></filter><rect x="60" y="60" width="20" height="20" filter="url(#f)"/>'
            )
        )
        with pikepdf.open(io.BytesIO(art.pdf)) as document:
            found = {}
            for image in document.pages[0].get_images(recursive=True).values():
                found[int(image.Width), int(image.Height)] = image
            assert art.pixel_sizes == ((30, 20),) and (30, 20) in found and len(found) == 2
            kept = pikepdf.PdfImage(found[30, 20]).as_pil_image().convert("RGB")
            assert np.array_equal(np.asarray(kept), pixels)
        assert kinds(art) == ["soft mask"]

    @pytest.mark.parametrize("form", ["PNG", "JPEG", "GIF", "WEBP", "BMP", "TIFF"])
    def test_placed_pictures_are_drawn_by_both(self, form):
        art = to_pdf(
            svg(
                f'<image width="100" height="100" xlink:href="{png(Image.new("RGB", (40, 40), (47, 107, 79)), form)}"/>'
            )
        )
        for seen in middle(art):
            assert np.abs(seen - (47, 107, 79)).max() <= 6
        assert art.pixel_sizes == ((40, 40),) and art.facts == ()

    def test_a_cmyk_picture_is_not_inverted(self):
        art = to_pdf(
            svg(
                f'<image width="100" height="100" href="{png(Image.new("CMYK", (16, 16), (0, 255, 255, 0)), "JPEG")}"/>'
            )
        )
        for seen in middle(art):
            assert seen[0] > 200 and seen[1] < 90 and seen[2] < 90

    def test_a_damaged_picture_is_reported(self):
        whole = png(Image.effect_noise((64, 64), 90))
        for link in (
            whole[:900],
            "data:image/png;base64,AAAA",
            "data:image/png;base64,!!",
            "data:,",
            "data:image/png,%89PNG",
        ):
            assert kinds(to_pdf(svg(f'<image width="9" height="9" href="{link}"/>'))) == ["damaged"]

    @pytest.mark.parametrize("coding", ["base64", "percent"])
    def test_a_drawing_in_a_drawing(self, coding):
        inner = svg('<rect width="100" height="100" fill="device-cmyk(0 0 0 1)" onclick="x()"/>')
        link = (
            base64.b64encode(inner).decode()
            if coding == "base64"
            else inner.decode().replace("#", "%23").replace('"', "%22")
        )
        link = link.replace("<", "%3C").replace(">", "%3E") if coding == "percent" else link
        art = to_pdf(
            svg(
                f'<image width="100" height="100" href="data:image/svg+xml{";base64" * (coding == "base64")},{link}"/>'
            )
        )
        assert all(seen.max() <= 2 for seen in middle(art)) and kinds(art) == ["approximate colour"]


def expected(space: str, *values: float) -> tuple[int, int, int]:
    """8-bit sRGB by colour-science."""
    cs = colour_science
    d50 = cs.CCS_ILLUMINANTS["CIE 1931 2 Degree Standard Observer"]["D50"]
    if space == "lab":
        rgb = cs.XYZ_to_sRGB(cs.Lab_to_XYZ(values, d50), d50, "Bradford")
    else:
        rgb = cs.XYZ_to_sRGB(cs.Oklab_to_XYZ(values))
    return tuple(int(round(255 * min(1, max(0, v)))) for v in rgb)


COLOURS = [
    ("#c8102e", (200, 16, 46)), ("#C12", (204, 17, 34)), ("RED", (255, 0, 0)), ("rebeccapurple", (102, 51, 153)),
    ("rgb(200,16,46)", (200, 16, 46)), ("rgb(200 16 46)", (200, 16, 46)), ("rgb(50% 25% 0% / 1)", (128, 64, 0)),
    ("rgba(200,16,46,1)", (200, 16, 46)), ("RGB(200 16 46 / 100%)", (200, 16, 46)), ("hsl(120 100% 25%)", (0, 128, 0)),
    ("hsl(120deg, 100%, 25%)", (0, 128, 0)), ("hsl(0.333333turn 100% 25% / 1)", (0, 128, 0)), ("hwb(120 0% 49.8%)", (0, 128, 0)),
    ("lab(50 40 -20)", expected("lab", 50, 40, -20)), ("lab(50% 32% -16%)", expected("lab", 50, 40, -20)),
    ("lch(50 44.72136 333.43495deg)", expected("lab", 50, 40, -20)),
    ("oklab(0.6 0.1 0.05)", expected("oklab", 0.6, 0.1, 0.05)), ("oklab(60% 25% 12.5%)", expected("oklab", 0.6, 0.1, 0.05)),
    ("oklch(0.6 0.1118034 26.565051)", expected("oklab", 0.6, 0.1, 0.05)), ("color(srgb 0.5 0.25 0)", (128, 64, 0)),
    ("#2f6b4f icc-color(press, 0.7, 0.1, 0.7, 0.4)", (47, 107, 79)), ("var(--marsh)", (47, 107, 79)),
    ("var(--none, #2f6b4f)", (47, 107, 79)), ("var(--none, rgb(47 107 79))", (47, 107, 79)), ("currentColor", (47, 107, 79)),
    ("url(#missing) #2f6b4f", (47, 107, 79)), ("url(other.svg#x) #2f6b4f", (47, 107, 79)), ("#2f6b4f !important", (47, 107, 79)),
]  # fmt: skip


class TestColours:
    @pytest.mark.parametrize(("written", "rgb"), COLOURS, ids=[written for written, _ in COLOURS])
    def test_every_way_to_write_a_colour(self, written, rgb):
        root = 'width="100" height="100" style="--marsh:#2f6b4f" color="#2f6b4f"'
        art = to_pdf(
            svg(f'<style>.a{{fill:{written}}}</style><rect class="a" width="100" height="100"/>', root)
        )
        for seen in middle(art):
            assert np.abs(seen - rgb).max() <= 1
        if "!" not in written:
            for seen in middle(to_pdf(svg(f'<rect fill="{written}" width="100" height="100"/>', root))):
                assert np.abs(seen - rgb).max() <= 1
        assert "unread colour" not in kinds(art)

    def test_published_values(self):
        # CSS Color 4, the examples of sections 9.3 and 9.4: one colour written as Lab, LCH, Oklab and OkLCh is #7d2329.
        for written in (
            "lab(29.2345% 39.3825 20.0664)", "lch(29.2345% 44.2 27)", "oklab(40.101% 0.1147 0.0453)", "oklch(40.101% 0.12332 21.555)"
        ):  # fmt: skip
            for seen in middle(to_pdf(svg(f'<rect fill="{written}" width="100" height="100"/>'))):
                assert np.abs(seen - (0x7D, 0x23, 0x29)).max() <= 1

    @pytest.mark.parametrize(
        "alpha", ["rgba(0,0,0,.5)", "rgb(0 0 0 / 50%)", "#00000080", "hsl(0 0% 0% / .5)"]
    )
    def test_see_through(self, alpha):
        for seen in middle(to_pdf(svg(f'<rect fill="{alpha}" width="100" height="100"/>'))):
            assert np.abs(seen - 127).max() <= 1

    def test_gradient_stops_too(self):
        stop = '<stop offset="{}" style="stop-color:rgb(47 107 79 / 100%)"/>'
        art = to_pdf(
            svg(
                f'<linearGradient id="g">{stop.format(0)}{stop.format(1)}</linearGradient><rect width="100" height="100" fill="url(#g)"/>'
            )
        )
        for seen in middle(art):
            assert np.abs(seen - (47, 107, 79)).max() <= 1

    @pytest.mark.parametrize(
        "written",
        [
            "color-mix(in srgb, red, blue)",
            "var(--two)",
            "kite",
            "c8102e",
            "#12345",
            "color(display-p3 1 0 0)",
            "rgb(a b c)",
        ],
    )
    def test_what_can_not_be_read_is_said(self, written):
        art = to_pdf(
            svg(
                f'<g style="--two:red"/><g style="--two:blue"/><rect fill="{written}" width="100" height="100"/>'
            )
        )
        assert kinds(art) == ["unread colour"]

    def test_cmyk_is_approximate_and_says_so(self):
        art = to_pdf(svg('<rect fill="device-cmyk(0% 100% 100% 0%)" width="100" height="100"/>'))
        assert kinds(art) == ["approximate colour"] and all(
            np.abs(seen - (255, 0, 0)).max() <= 1 for seen in middle(art)
        )

    def test_named_inks(self):
        # `icc-named-color` is of SVG Color 1.2 Part 2, `solidColor` of SVG Tiny 1.2 section 11.13.
        art = to_pdf(
            svg(
                '<solidColor id="p1" solid-color="#D8352A"><title>Kite Red</title></solidColor>'
                '<solidColor id="ReedBed" style="solid-color:#8a9a3b"/><solidColor id="solidColor77" solid-color="#123456"/>'
                '<rect width="100" height="100" fill="url(#p1)"/><rect width="9" height="9" style="fill:#2f6b4f icc-named-color(inks, \'Marsh Green\')"/>'
            )
        )
        assert art.spot_names == {"#d8352a": "Kite Red", "#8a9a3b": "ReedBed", "#2f6b4f": "Marsh Green"}
        assert all(np.abs(seen - (0xD8, 0x35, 0x2A)).max() <= 1 for seen in middle(art))


class TestText:
    def fonts(self, art: Converted, tmp_path) -> str:
        (tmp_path / "art.pdf").write_bytes(art.pdf)
        return subprocess.run(
            ["pdffonts", "art.pdf"], cwd=tmp_path, capture_output=True, text=True, check=True
        ).stdout

    def test_it_stays_text_in_a_shipped_font(self, tmp_path):
        art = to_pdf(
            svg('<text x="5" y="40" font-size="20" font-family="Marsh Hand, cursive">Otter 21</text>')
        )
        rows = self.fonts(art, tmp_path).splitlines()[2:]
        assert len(rows) == 1 and "FiraGO-Regular" in rows[0]
        (tmp_path / "art.pdf").write_bytes(art.pdf)
        said = subprocess.run(
            ["pdftotext", "art.pdf", "-"], cwd=tmp_path, capture_output=True, text=True, check=True
        ).stdout
        assert said.strip() == "Otter 21"
        assert [(f.name, f.embedded, f.substituted) for f in art.fonts] == [("Marsh Hand", False, True)]

    @pytest.mark.parametrize(
        ("body", "font"),
        [
            (
                '<style>.t{font:italic bold 20px/1.2 "Marsh Hand",serif}</style><text class="t" y="30">Otter</text>',
                "FiraGO-BoldItalic",
            ),
            ('<g style="font-weight:700"><text y="30" font-size="20">Otter</text></g>', "FiraGO-Bold"),
            ('<text y="30" font-size="20" font-style="italic">Otter</text>', "FiraGO-Italic"),
            ('<text y="30" font-size="20" font-family="monospace">Otter</text>', "FiraMono-Regular"),
        ],
    )
    def test_weights_slants_and_widths(self, body, font, tmp_path):
        art = to_pdf(svg(body))
        assert font in self.fonts(art, tmp_path) and len(art.fonts) == 1

    def test_height_of_capitals(self):
        # FiraGO's capitals are 689/1000 of the em: OS/2 table of the font file, version 1.001.
        art = to_pdf(svg('<text x="10" y="90" font-size="80">H</text>'))
        rows = np.nonzero((drawn(art, 1000) < 128).any((1, 2)))[0]
        assert rows.max() - rows.min() + 1 == pytest.approx(80 * 0.689 * 10, abs=2)

    def test_default_size_is_the_same_for_both_engines(self):
        art = to_pdf(svg('<text x="5" y="50">Reed bed club</text>'))
        assert (np.abs(drawn(art, 400).astype(int) - again(art, 400)).max(2) > 80).mean() < 0.01
        assert [f.name for f in art.fonts] == ["default font"]

    def test_only_families_of_text_that_is_there_are_reported(self):
        art = to_pdf(
            svg(
                '<style>.a{font-family:Never}.b{font-family:Curlew}#c{font-family:Heron !important}</style><g font-family="Empty"><text> </text></g>'
                '<rect class="a" width="5" height="5"/><text class="b" y="20">a<tspan style="font-family:\'Reed Sans\'">b</tspan></text>'
                '<text id="c" y="40">c</text><g display="none"><text font-family="Hidden">d</text></g>'
            )
        )
        assert [f.name for f in art.fonts] == ["Curlew", "Reed Sans", "Heron"]
        assert to_pdf(svg('<style>text{font-family:Never}</style><rect width="5" height="5"/>')).fonts == ()

    def test_signs_no_shipped_font_has(self):
        art = to_pdf(svg('<text y="30">漢字 and ☀</text>'))
        assert [(fact.kind, fact.count) for fact in art.facts] == [("unsupported", 2)]

    def test_font_names_are_made_safe(self):
        art = to_pdf(svg('<text y="30" font-family="Ev\u202eil&#10;&lt;b>">x</text>'))
        assert [f.name for f in art.fonts] == ["Evil <b>"]


class TestReports:
    def test_hidden_layers_and_objects(self):
        art = to_pdf(
            svg(
                '<g id="Layer_2" style="display:none"><rect width="9" height="9"/></g>'
                '<g xmlns:i="http://www.inkscape.org/namespaces/inkscape" i:groupmode="layer" i:label="Old logo" display="none"><path d="M0 0h9"/></g>'
                '<style>.off{display:none}</style><g><rect class="off" width="4" height="4"/><path d="M0 0h5" visibility="hidden"/></g>'
                '<g visibility="hidden"><rect visibility="visible" width="50" height="50"/></g>'
                '<defs><g display="none"><rect width="1" height="1"/></g></defs><g display="none"><desc>nothing</desc></g>'
            )
        )
        assert [(fact.kind, fact.count) for fact in art.facts] == [
            ("hidden layer", 1),
            ("hidden layer", 1),
            ("hidden object", 2),
        ]
        assert "“Layer_2”" in art.facts[0].text and "“Old logo”" in art.facts[1].text

    @pytest.mark.parametrize(
        ("body", "kind"),
        [
            ('<path vector-effect="non-scaling-stroke" d="M0 0L50 50" stroke="#000"/>', "unsupported"),
            (
                '<style>path{vector-effect:non-scaling-stroke}</style><path d="M0 0L50 50" stroke="#000"/>',
                "unsupported",
            ),
            (
                '<meshgradient id="m"><meshrow/></meshgradient><rect width="50" height="50" fill="url(#m)"/>',
                "unsupported",
            ),
            ("<flowRoot><flowPara>reed</flowPara></flowRoot>", "unsupported"),
            (
                '<foreignObject width="9" height="9"><p xmlns="http://www.w3.org/1999/xhtml">reed</p></foreignObject>',
                "unsupported",
            ),
            ('<rect width="50" height="50" style="clip-path:circle(40%)"/>', "unsupported"),
            ('<image href="otter.png" width="9" height="9"/>', "removed link"),
            ('<use xlink:href="shapes.svg#otter"/>', "removed link"),
            ("<style>@import url(marsh.css);</style>", "removed link"),
            ('<rect width="9" height="9" filter="url(shapes.svg#soft)"/>', "removed link"),
            (
                '<filter id="f"><feMorphology radius="40"/></filter><rect width="90" height="90" filter="url(#f)"/>',
                "unsupported",
            ),
        ],
    )
    def test_what_is_not_drawn_as_meant(self, body, kind):
        assert kind in kinds(to_pdf(svg(body + '<rect width="20" height="20"/>')))

    @pytest.mark.parametrize(
        "body",
        [
            '<a href="http://marsh.invalid/"><rect width="50" height="50"/></a>',
            "<script>alert(1)</script><animate attributeName='x'/><metadata><x xmlns='urn:x'/></metadata><title>Otter</title>",
            '<switch><foreignObject requiredExtensions="urn:x"><p/></foreignObject><g><rect width="9" height="9"/></g></switch>',
            '<g opacity="1" style="visibility:visible;display:inline"><rect width="9" height="9"/></g><defs><path d="M0 0"/></defs>',
            '<font-face/><rect width="9" height="9" fill="none" stroke="inherit" font-family="Reed"/>',
        ],
    )
    def test_what_any_craftsman_accepts_is_not_reported(self, body):
        art = to_pdf(svg(body + '<rect x="60" width="9" height="9"/>'))
        assert art.facts == () and art.fonts == ()

    def test_a_style_sheet_outside(self):
        assert kinds(
            to_pdf(
                b'<?xml version="1.0"?><?xml-stylesheet href="marsh.css"?>'
                + svg('<rect width="9" height="9"/>')
            )
        ) == ["removed link"]


class TestReading:
    BODY = '<rect width="100" height="100" fill="#2f6b4f"/><desc>Möwe – Küste</desc>'

    @pytest.mark.parametrize(
        "data",
        [
            svg(BODY), gzip.compress(svg(BODY), mtime=0), b"\xef\xbb\xbf" + svg(BODY), b"\n \n" + svg(BODY), svg(BODY) + b"\0\0\n",
            svg(BODY).decode().encode("utf-16"), ('<?xml version="1.0" encoding="utf-16"?>' + svg(BODY).decode()).encode("utf-16"),
            ('<?xml version="1.0" encoding="iso-8859-1"?>' + svg(BODY).decode().replace("–", "-")).encode("latin-1"),
            svg(BODY).decode().encode("cp1252"),
            svg(BODY).replace(b'xmlns="http://www.w3.org/2000/svg" ', b""),
            svg(BODY + '<use xlink:href="#none"/>').replace(b' xmlns:xlink="http://www.w3.org/1999/xlink"', b""),
            b'<!DOCTYPE svg [<!ENTITY ink "#2f6b4f"><!ENTITY ns "http://www.w3.org/2000/svg">]>'
            + svg(BODY).replace(b'"#2f6b4f"', b'"&ink;"').replace(b"http://www.w3.org/2000/svg", b"&ns;"),
            b'<s:svg xmlns:s="http://www.w3.org/2000/svg" width="100" height="100"><s:rect width="100" height="100" fill="#2f6b4f"/></s:svg>',
        ],
        ids=["plain", "gz", "mark", "blanks", "padding", "utf-16", "utf-16 said", "latin-1", "cp1252 unsaid", "no namespace", "no prefix", "entities", "prefix"],
    )  # fmt: skip
    def test_encodings_and_forgivable_faults(self, data):
        art = to_pdf(data)
        assert all(np.abs(seen - (47, 107, 79)).max() <= 1 for seen in middle(art)) and art.facts == ()

    def test_a_placed_picture_of_ten_megabytes(self):
        noise = Image.fromarray(np.random.default_rng(1).integers(0, 256, (1900, 1900, 3)).astype(np.uint8))
        data = svg(f'<image width="100" height="100" href="{png(noise)}"/>')
        assert len(data) > 12_000_000 and to_pdf(data).pixel_sizes == ((1900, 1900),)

    @pytest.mark.parametrize(
        ("data", "words"),
        [
            (svg("<rect/>")[:-4], "well-formed"), (b"", "well-formed"), (b"<html/>", "not an SVG"), (svg("<g>")[:-2], "well-formed"),
            (gzip.compress(svg(""), mtime=0)[:-12], "cut off"), (b"\x1f\x8b" + b"\xff" * 40, "damaged"), (svg("", ""), "draws nothing"),
            (svg("<text>&nbsp;</text>"), "well-formed"),
        ],
        ids=["end cut off", "empty", "web page", "element left open", "gz cut off", "gz damaged", "no size", "unknown entity"],
    )  # fmt: skip
    def test_broken_files(self, data, words):
        with pytest.raises(Unreadable, match=words):
            to_pdf(data)


def nested(opening: str, closing: str, times: int) -> bytes:
    return svg(opening * times + '<rect width="9" height="9"/>' + closing * times)


def chained(form: str, last: str, times: int, spread: int = 1) -> str:
    """Elements that refer to the next, each `spread` times over."""
    return "".join(
        form.format(i=i, body="".join(last.format(next=i + 1) for _ in range(spread))) for i in range(times)
    )


BOMBS = {
    "entities": b'<!DOCTYPE svg [<!ENTITY a "reed">'
    + "".join(f'<!ENTITY {chr(98 + i)} "{f"&{chr(97 + i)};" * 10}">' for i in range(9)).encode()
    + b"]>"
    + svg("<text>&j;</text>"),
    "long entities": b'<!DOCTYPE svg [<!ENTITY a "' + b"reed" * 15000 + b'">]>' + svg("<text>" + "&a;" * 5000 + "</text>"),
    "entity of a file": b'<!DOCTYPE svg [<!ENTITY a SYSTEM "file:///etc/hostname">]>' + svg("<text>&a;</text>"),
    "endless entity": b'<!DOCTYPE svg [<!ENTITY a "&b;"><!ENTITY b "&a;">]>' + svg("<text>&a;</text>"),
    "gz": gzip.compress(b"<svg>" + b" " * (80 << 20), 1, mtime=0),
    "deep groups": nested("<g>", "</g>", 5000),
    "deep see-through groups": nested('<g opacity=".9">', "</g>", 90),
    "deep drawings": nested("<svg>", "</svg>", 300),
    "uses of uses": svg("<rect id='u12' width='1' height='1'/>" + chained('<g id="u{i}">{body}</g>', '<use xlink:href="#u{next}"/>', 12, 10) + '<use href="#u0"/>'),
    "long chain of uses": svg("<rect id='u900' width='1' height='1'/>" + chained('<g id="u{i}">{body}</g>', '<use href="#u{next}"/>', 900) + '<use href="#u0"/>'),
    "long chain of clips": svg(chained('<clipPath id="c{i}" clip-path="url(#c{i})">{body}</clipPath>', '<use href="#c{next}" clip-path="url(#c{next})"/>', 900)),
    "patterns in patterns": svg(
        chained('<pattern id="p{i}" width="9" height="9" patternUnits="userSpaceOnUse">{body}</pattern>', '<path d="M0 0h9v9" fill="url(\'#p{next}\')"/>', 8, 12)
        + '<rect width="99" height="99" style="fill:url(#p0)"/>'
    ),
    "patterns by style": svg(
        chained('<style>.k{i}{{fill:url(#p{i})}}</style><pattern id="p{i}" width="9" height="9">{body}</pattern>', '<path d="M0 0h9v9" class="k{next}"/>', 8, 12)
        + '<rect width="99" height="99" class="k0"/>'
    ),
    "fine pattern": svg('<pattern id="p" width="1" height="1" patternUnits="userSpaceOnUse" patternTransform="scale(.001)"><path d="M0 0h1"/></pattern><rect width="100" height="100" fill="url(#p)"/>'),
    "many elements": svg("<g/>" * 400_000),
    "many style rules": svg("<style>" + ".a{fill:red}" * 20_000 + "</style>" + '<path class="a"/>' * 3000),
    "markers": svg('<marker id="m">' + "<path d='M0 0'/>" * 500 + '</marker><path marker-mid="url(#m)" d="M0 0' + "l1 1" * 20_000 + '"/>'),
    "much text": svg("<text>" + "reed " * 60_000 + "</text>"),
    "drawings in drawings": svg("<rect/>"),
    "many pixels": svg(f'<image href="{png(Image.new("1", (12_000, 12_000)))}"/>'),
    "pixels altogether": svg(f'<image href="{png(Image.new("1", (6_000, 6_000)))}"/>' * 3),
}  # fmt: skip
for _ in range(6):
    link = base64.b64encode(BOMBS["drawings in drawings"]).decode()
    BOMBS["drawings in drawings"] = svg(f'<image href="data:image/svg+xml;base64,{link}"/>')


class TestHostile:
    @pytest.mark.parametrize("name", BOMBS)
    def test_bombs_are_refused_in_time(self, name):
        begun = time.perf_counter()
        with pytest.raises(Unreadable) as caught:
            to_pdf(BOMBS[name])
        assert time.perf_counter() - begun < 6 and caught.value.says.endswith(".")

    @pytest.mark.parametrize(
        "body",
        [
            '<g id="a"><use href="#a"/></g>',
            '<pattern id="p" width="9" height="9"><path d="M0 0h9" fill="url(#p)"/></pattern><path d="M0 0h9" fill="url(#p)"/>',
            '<mask id="m" mask="url(#m)"><rect mask="url(#m)" width="9" height="9"/></mask><rect mask="url(#m)" width="9" height="9"/>',
            '<filter id="f"><feImage href="#r"/></filter><rect id="r" filter="url(#f)" width="9" height="9"/>',
            '<path d="M1e300 nan L-1e308 1e308" stroke="red" stroke-width="1e30"/><rect width="1e38" height="1e38" transform="scale(1e30)"/>',
            '<path d="M0 0L99 99" stroke="#000" stroke-dasharray="1e-6 1e-6"/>',
            '<filter id="f"><feTurbulence baseFrequency=".05" numOctaves="1000"/></filter><rect width="50" height="50" filter="url(#f)"/>',
            '<filter id="f"><feConvolveMatrix order="90" kernelMatrix="' + "1 " * 8100 + '"/></filter><rect width="90" height="90" filter="url(#f)"/>',
            '<linearGradient id="g" href="#h"/><linearGradient id="h" href="#g"/><rect width="9" height="9" fill="url(#g)"/>',
            "<style>" + "{" * 50_000 + "</style>", "<style>@media print{" * 300 + "</style>" * 300,
            "<style>.a{fill:var(--a)} :root{--a:var(--b);--b:var(--a)var(--a)}</style><rect class='a' width='9' height='9'/>",
            "<rect style='" + "a" * 300_000 + "'/>", "<rect style='fill:" + "(" * 100_000 + "'/>", "<rect fill='" + "rgb(" * 50_000 + "'/>",
            "<rect fill='url(" + "x" * 200_000 + "' width='9' height='9'/>", "<text font-family='" + "," * 100_000 + "'>x</text>",
        ],
        ids=["use of itself", "pattern in itself", "mask in itself", "filter of itself", "endless figures", "fine dashes", "turbulence", "large matrix",
             "gradients in a circle", "braces", "media in media", "variables in a circle", "long style", "open brackets", "open calls", "open link", "commas"],
    )  # fmt: skip
    def test_traps_are_drawn_or_refused_in_time(self, body):
        begun = time.perf_counter()
        with contextlib.suppress(Unreadable):
            art = to_pdf(svg(body))
            art.second(100)
        assert time.perf_counter() - begun < 6

    @pytest.mark.parametrize(
        "link",
        ['<image width="100" height="100" href="{}"/>', '<image width="100" height="100" xlink:href="file://{}"/>',
         '<filter id="f" x="0" y="0" width="1" height="1"><feImage href="{}"/></filter><rect width="100" height="100" fill="#fff" filter="url(#f)"/>',
         '<image width="100" height="100" xml:base="{}" href="{}"/>', '<g xml:base="file://"><image width="100" height="100" href="{}"/></g>',
         '<image width="100" height="100"><set attributeName="href" to="{}"/></image>',
         '<style>@import url({});image{{href:url({})}}</style>', '<image width="100" height="100" src="{}"/>'],
        ids=["href", "file link", "filter", "base", "base above", "animation", "style", "src"],
    )  # fmt: skip
    def test_no_file_of_the_machine_is_shown(self, link, tmp_path):
        Image.new("RGB", (8, 8), (200, 16, 46)).save(tmp_path / "secret.png")
        art = to_pdf(svg(link.replace("{}", str(tmp_path / "secret.png"))))
        assert drawn(art).min() >= 254 and again(art).min() >= 254

    def test_nothing_is_fetched(self):
        asked: list[bytes] = []
        with socket.create_server(("127.0.0.1", 0)) as server:
            server.settimeout(0.05)
            place, stop = f"http://127.0.0.1:{server.getsockname()[1]}/", threading.Event()

            def listen() -> None:
                while not stop.is_set():
                    with contextlib.suppress(TimeoutError):
                        asked.append(server.accept()[0].recv(100))

            listener = threading.Thread(target=listen)
            listener.start()
            art = to_pdf(
                f'<?xml version="1.0"?><?xml-stylesheet href="{place}1"?><!DOCTYPE svg SYSTEM "{place}2">'.encode()
                + svg(
                    f'<image href="{place}3" width="9" height="9"/><use href="{place}4#a"/><script href="{place}5"/>'
                    f'<style>@import "{place}6"; @font-face{{font-family:x;src:url({place}7)}} rect{{fill:url({place}8#a)}}</style>'
                    f'<rect width="50" height="50" mask="url({place}9#a)"/><text font-family="x" y="9">reed</text>'
                    f'<image href="data:image/svg+xml;base64,{base64.b64encode(svg(f"<image href={chr(34)}{place}10{chr(34)}/>")).decode()}"/>'
                )
            )
            art.second(50)
            time.sleep(0.1)
            stop.set()
            listener.join()
        assert asked == [] and kinds(art).count("removed link") >= 5

    def test_names_from_the_file_are_made_safe(self):
        art = to_pdf(
            svg(
                '<g id="&#x202e;Layer&#10;two" display="none"><rect width="9" height="9"/></g><image href="&#x1b;[31m.png" width="9" height="9"/>'.replace(
                    "&#x1b;", ""
                )
            )
        )
        assert all("\u202e" not in fact.text and "\n" not in fact.text for fact in art.facts)

    def test_too_wide_a_second_picture(self):
        with pytest.raises(Unreadable):
            to_pdf(svg('<rect width="9" height="9"/>')).second(20_000)


GOOD = svg(
    '<style>.a{fill:rgb(47 107 79);font:12px "Reed"} @media print{.b{fill:url(#g)}}</style><defs><linearGradient id="g"><stop stop-color="#c8102e"/>'
    '<stop offset="1" stop-color="var(--s, #fff)"/></linearGradient><clipPath id="c"><circle cx="50" cy="50" r="40"/></clipPath></defs>'
    '<g clip-path="url(#c)" transform="rotate(9)"><rect class="a" width="50" height="50"/><path class="b" d="M0 0c9 9 30-9 60 60z" stroke="#345" stroke-width="2"/></g>'
    '<use href="#t" opacity=".5"/><text id="t" class="a" x="5" y="90">Otter<tspan dx="3" font-weight="bold">21</tspan></text>'
)


def test_both_engines_agree_on_good_art():
    art = to_pdf(GOOD)
    assert (np.abs(drawn(art, 300).astype(int) - again(art, 300)).max(2) > 60).mean() < 0.01


def test_the_same_file_gives_the_same_page():
    assert to_pdf(GOOD).pdf == to_pdf(GOOD).pdf


@given(st.data())
@settings(max_examples=120, deadline=None)
def test_changed_files_are_drawn_or_refused(data):
    whole = bytearray(GOOD)
    for _ in range(data.draw(st.integers(1, 5))):
        whole[data.draw(st.integers(0, len(whole) - 1))] = data.draw(st.integers(0, 255))
    with contextlib.suppress(Unreadable):
        art = to_pdf(bytes(whole))
        assert art.pdf.startswith(b"%PDF-") and art.second(40).shape[1:] == (40, 4)


_WORDS = st.sampled_from(
    [
        "none",
        "0",
        "-1",
        "1e9",
        "50%",
        "url(#a)",
        "url(#b) red",
        "#a",
        "inherit",
        "var(--a)",
        "rgb(1 2 3/4)",
        "M0 0h9",
        "scale(0)",
        "1 2 3 4",
        "",
        "'",
        ")",
        "a{b:c}",
    ]
)
_NAMES = st.sampled_from(
    ["fill", "stroke", "style", "class", "id", "href", "xlink:href", "d", "transform", "width", "height", "viewBox", "font", "font-family", "filter", "mask",
     "clip-path", "marker-mid", "points", "r", "x", "stroke-width", "stroke-dasharray", "opacity", "display", "visibility", "result", "in", "offset"]
)  # fmt: skip
_TAGS = st.sampled_from(
    ["g", "rect", "path", "use", "text", "tspan", "style", "pattern", "mask", "clipPath", "filter", "feImage", "feFlood", "marker", "svg", "symbol", "image",
     "linearGradient", "stop", "switch", "a", "polygon", "textPath", "solidColor", "foreignObject", "defs"]
)  # fmt: skip
_ELEMENTS = st.recursive(
    st.text("reed &#x;{}<", max_size=6).map(lambda t: t.replace("&", "&amp;").replace("<", "&lt;")),
    lambda inner: st.builds(
        lambda tag, attributes, body: f"<{tag} " + " ".join(f'{n}="{v}"' for n, v in attributes.items()) + f">{''.join(body)}</{tag}>",
        _TAGS, st.dictionaries(_NAMES, _WORDS, max_size=4), st.lists(inner, max_size=3),
    ),
    max_leaves=12,
)  # fmt: skip


@given(
    _ELEMENTS,
    st.dictionaries(
        st.sampled_from(["width", "height", "viewBox"]),
        st.sampled_from(["9", "9mm", "0 0 9 9", "x", "100%", "-3", "1e-9"]),
    ),
)
@settings(max_examples=150, deadline=None)
def test_any_tree_of_elements_is_drawn_or_refused(body, size):
    with contextlib.suppress(Unreadable):
        to_pdf(svg(body, " ".join(f'{name}="{value}"' for name, value in size.items()))).second(30)
