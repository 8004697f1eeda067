"""Art that any craftsman would accept raises no alarm: whole jobs, every rule of the method, complete orders.

Sizes come from each method's wanted limits with room to spare, so that a changed limit breaks nothing.  Where the rulebook
truly has to ask something although the art is good, the case lists it with the reason.
"""

import io
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import pikepdf
import pytest
from PIL import Image, ImageDraw

from drawn import quiet
from drawn.case import by_cut
from drawn.drawn_pixels import jpeg, pasted, photo, png, rendered, tiff
from drawn.paper import NAVY, PLAIN, PT, Array, Paper, disc, height_of, lettering, live, rounded
from drawn.quiet import Comfort, comfort
from preflight import job
from preflight.findings import Severity
from preflight.methods import methods
from preflight.order import order_from

#: Complete orders: what a good coordinator writes.
ORDERS: dict[str, dict[str, Any]] = {
    "screen-print": {
        "item": "hoodie",
        "position": "front",
        "material": "cotton",
        "ground": "white",
        "quantity": 50,
    },
    "pad-print": {"item": "plaque", "material": "ceramic", "ground": "white", "quantity": 200},
    "yag-laser": {"item": "plaque", "material": "stainless steel", "ground": "#b9bcbe", "quantity": 50},
    "co2-laser": {"item": "plaque", "material": "oak", "ground": "oak", "quantity": 50},
    "sticker": {"item": "sticker", "quantity": 500},
    "dome": {"item": "sticker", "quantity": 500},
    "heat-transfer": {
        "item": "hoodie",
        "position": "front",
        "material": "cotton",
        "ground": "white",
        "quantity": 20,
    },
    "uv-print": {"item": "plaque", "material": "ceramic", "ground": "white", "quantity": 20},
    "deboss": {"item": "notebook", "material": "leather", "ground": "#6b3f22", "quantity": 50},
    "foil": {
        "item": "notebook",
        "material": "paper",
        "ground": "#1d2b4f",
        "colours": "gold foil",
        "quantity": 50,
    },
    "embroidery": {
        "item": "hoodie",
        "position": "left chest",
        "material": "cotton",
        "ground": "white",
        "quantity": 50,
    },
}
BITMAP = "good pixels do, but the machine follows outlines: someone has to say that pixels will be engraved"


@dataclass(frozen=True)
class Quiet:
    """One piece of good art.

    `make(comfort)` gives the sheet or (bytes, true width in mm).  `asks`: rules that must ask, and why.
    """

    name: str
    method: str
    make: Any
    order: dict[str, Any] = field(default_factory=dict)
    asks: dict[str, str] = field(default_factory=dict)
    form: str = "pdf"


def _file(art: Quiet, c: Comfort) -> tuple[bytes, float]:
    made = art.make(c)
    if not isinstance(made, Paper):
        return made
    rule = methods()[art.method].rules[0]
    width = made.size(by_cut(rule))[0]
    return {"pdf": made.pdf, "svg": made.svg_file, "eps": made.eps}[art.form](), width


def held(art: Quiet) -> list[str]:
    """The findings nobody should have raised."""
    said = {**ORDERS[art.method], **art.order}
    said = {k: v for k, v in said.items() if v is not None}
    c = comfort(art.method, order_from(said))
    data, width = _file(art, c)
    report = job.check(
        data, f"{art.name}.{art.form}", order_from({"width": f"{width:.3f}", **said}), methods()[art.method]
    ).report
    alarms = [
        f"{f.severity.value} {f.rule}: {f.says} (measured {f.measured}, limit {f.limit}, {[p.box_mm for p in f.where[:3]]})"
        for f in report.findings
        if f.severity is not Severity.NOTE and f.rule not in art.asks
    ]
    missing = set(art.asks) - {f.rule for f in report.findings}
    alarms += [f"{rule} is listed as asking, but did not: take it out" for rule in missing]
    if report.size_window is None:
        alarms.append("no size window")
    elif not report.size_window.possible:
        alarms.append(f"size window says impossible: {report.size_window}")
    return alarms


# ------------------------------------------------------------------ files of other makes


def _k_black(c: Comfort) -> tuple[bytes, float]:
    """The same word in 100 % K, as office and layout programs write black."""
    paper = quiet.wordmark(c, spot=False)
    paper.content = [line.replace(paper._set(NAVY, False), "0 0 0 1 k") for line in paper.content]
    return paper.pdf(), paper.size()[0]


def _grouped(c: Comfort) -> tuple[bytes, float]:
    """A page with a transparency group and a graphics state that change nothing, as drawing programs export it."""
    paper = quiet.wordmark(c)
    state = paper.states
    state["GS"] = {"ca": 1, "CA": 1, "BM": pikepdf.Name.Normal, "SMask": pikepdf.Name("/None"), "AIS": False}
    paper.content.insert(0, "/GS gs")
    paper.page_keys["/Group"] = pikepdf.Dictionary(
        S=pikepdf.Name.Transparency, CS=pikepdf.Name.DeviceCMYK, I=True, K=False
    )
    return paper.pdf(), paper.size()[0]


def _trimmed(c: Comfort) -> tuple[bytes, float]:
    """A page with a trim box and crop marks outside of it."""
    paper = quiet.wordmark(c, margin=14.0)
    width = paper.size()[0]
    w, h, k = paper.width, paper.height, paper.scale
    for x, y, dx, dy in (
        (8, 0, 0, 4),
        (0, 8, 4, 0),
        (w - 8, 0, 0, 4),
        (w - 4, 8, 4, 0),
        (8, h - 4, 0, 4),
        (0, h - 8, 4, 0),
    ):
        paper.content.append(f"0 0 0 1 K 0.1 w {x} {y} m {x + dx} {y + dy} l S")
    paper.page_keys["/TrimBox"] = Array([round(v * k * PT, 4) for v in (8, 8, w - 8, h - 8)])
    return paper.pdf(), width


def _layered(c: Comfort) -> tuple[bytes, float]:
    """Visible layers, an embedded title, metadata: an ordinary export."""
    paper = quiet.three_inks(c)
    paper.content = ["/OC /L0 BDC", *paper.content, "EMC"]

    def adds(pdf: Any, found: Any) -> None:
        layer = pdf.make_indirect(pikepdf.Dictionary(Type=pikepdf.Name.OCG, Name=pikepdf.String("Logo")))
        found.Properties = pikepdf.Dictionary(L0=layer)
        pdf.Root.OCProperties = pikepdf.Dictionary(
            OCGs=Array([layer]), D=pikepdf.Dictionary(Order=Array([layer]), ON=Array([layer]))
        )
        pdf.docinfo["/Title"] = "Otter badge"

    paper.resources.append(adds)
    return paper.pdf(), paper.size()[0]


def _clipped(c: Comfort) -> tuple[bytes, float]:
    """A kite filled with broad stripes through a clipping path."""
    size = 30 * max(c.line, c.gap)
    shape = quiet.kite(size / 2 + 4, 4, size)
    paper = Paper(size + 8, size + 8)
    step = 6 * max(c.line, c.gap)
    stripes = " ".join(
        f"0 {4 + n * step:.4f} {size + 8:.4f} {step - 1.5 * c.gap:.4f} re"
        for n in range(int(size / step) + 1)
    )
    from drawn.paper import path

    paper.say(f"q {path(shape)} W n {paper._set(NAVY, False)} {stripes} f Q", shape)
    return paper.pdf(), paper.size()[0]


def _live(c: Comfort) -> tuple[bytes, float]:
    """Live text in an embedded font, in black."""
    em = max(c.cap / height_of("H", PLAIN), c.line / 0.075)
    x0, _, x1, _ = lettering("Kite fair on the marsh", 4, 4 + em, em, PLAIN).bounds
    return live("Kite fair on the marsh", 4, 4 + em, em, width=x1 + 4, height=2 * em + 8), x1 - x0


def _styled_svg(c: Comfort) -> tuple[bytes, float]:
    """An SVG as drawing programs write it: classes, groups moved and scaled, `use`, a title, no width."""
    k = max(c.line, c.gap)
    body = (
        '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" viewBox="0 0 400 240">'
        "<title>Otter badge</title>"
        "<style>.a{fill:#1d2b4f}.b{fill:none;stroke:#1d2b4f;stroke-width:14;stroke-linejoin:round;stroke-linecap:round}</style>"
        '<defs><g id="k"><path class="a" d="M0-60 40-10 0 70-40-10Z"/></g></defs>'
        '<g transform="translate(100 90)"><use xlink:href="#k"/></g>'
        '<g transform="translate(280 100) scale(.8) rotate(15)"><use xlink:href="#k"/></g>'
        '<path class="b" d="M40 200c40-30 70-30 105 0s70 30 105 0 70-30 105 0"/></svg>'
    )
    return body.encode(), 329 * max(k / 14, 0.1) * 1.3


def _photo(width: float, ppi: int) -> tuple[bytes, float]:
    pixels = photo(round(width / 25.4 * ppi), round(0.7 * width / 25.4 * ppi))
    return jpeg(pixels, ppi), width


def _photo_in_pdf(c: Comfort) -> tuple[bytes, float]:
    pixels = photo(720, 500)
    return pasted(pixels, 50, 50 * 500 / 720), 50.0


def _photo_sticker(c: Comfort) -> tuple[bytes, float]:
    """A photograph with bleed under a cut line, in one PDF."""
    out = io.BytesIO()
    with pikepdf.open(io.BytesIO(pasted(photo(720, 600), 60, 50))) as pdf:
        shape = rounded(6, 6, 48, 38, 5)
        with pikepdf.open(io.BytesIO(Paper(60, 50, scale=1.0).cut(shape).pdf())) as line:
            page = pikepdf.Page(pdf.pages[0])
            page.add_overlay(pikepdf.Page(line.pages[0]))
        pdf.save(out)
    return out.getvalue(), 48.0


def _badge_png(c: Comfort, ppi: int = 600) -> tuple[bytes, float]:
    """Art on a transparent ground, its edges anti-aliased."""
    pixels, width = rendered(quiet.three_inks(c), ppi, alpha=True)
    return png(pixels, ppi), width


def _flat_tiff(c: Comfort) -> tuple[bytes, float]:
    pixels, width = rendered(quiet.three_inks(c), 600)
    return tiff(pixels, 600), width


def _one_bit(c: Comfort) -> tuple[bytes, float]:
    """Line art in one bit at 1200 ppi, as scanners make it."""
    pixels, width = rendered(quiet.wordmark(c), 1200)
    out = io.BytesIO()
    Image.fromarray(pixels).convert("L").point(lambda v: 255 * (v > 128)).convert("1").save(
        out, "TIFF", dpi=(1200, 1200), compression="group4"
    )
    return out.getvalue(), width


def _soft_badge(c: Comfort) -> tuple[bytes, float]:
    """A photograph cut out to a disc with a clean, smooth edge: PNG at 400 ppi."""
    side = 480
    mask = Image.new("L", (side * 4, side * 4))
    ImageDraw.Draw(mask).ellipse((8, 8, side * 4 - 8, side * 4 - 8), fill=255)
    pixels = np.dstack([photo(side, side), np.asarray(mask.resize((side, side), Image.Resampling.LANCZOS))])
    return png(pixels, 400), side / 400 * 25.4


def _coded(c: Comfort, form: str, mode: str = "RGB") -> tuple[bytes, float]:
    """Flat art at 620 ppi in another bitmap format."""
    pixels, width = rendered(quiet.three_inks(c), 620)
    out = io.BytesIO()
    image = Image.fromarray(pixels)
    image = image.quantize(32, dither=Image.Dither.NONE) if mode == "P" else image.convert(mode)
    more: dict[str, Any] = (
        {"lossless": True} if form == "WEBP" else {"quality": 95, "subsampling": 0} if form == "JPEG" else {}
    )
    image.save(out, form, dpi=(620, 620), **more)
    return out.getvalue(), width


def _cmyk(c: Comfort) -> tuple[bytes, float]:
    """Process colours, as for a leaflet."""
    paper = quiet.three_inks(c, spot=False)
    shades = iter(("1 0.85 0.3 0.3 k", "0.1 1 0.9 0 k", "0.85 0.2 0.9 0.1 k"))
    paper.content = [f"{next(shades)} " + line.partition(" rg ")[2] for line in paper.content]
    return paper.pdf(), paper.size()[0]


def _turned(c: Comfort) -> tuple[bytes, float]:
    """A page that is shown turned by a quarter: its art is as wide as it was high."""
    paper = quiet.stacked(c)
    paper.page_keys["/Rotate"] = 90
    return paper.pdf(), paper.size()[1]


def _sticker_by_trim(c: Comfort) -> tuple[bytes, float]:
    """A print-ready sheet: bleed box and trim box instead of a cut line."""
    paper = Paper(66, 46, scale=1.0)
    paper.box(0, 0, 66, 46, quiet.SKY).fill(quiet.middled("TIDE", 33, 26, c, 5), None)
    paper.page_keys |= {
        "/TrimBox": Array([round(v * PT, 4) for v in (3, 3, 63, 43)]),
        "/BleedBox": Array([0, 0, 66 * PT, 46 * PT]),
    }
    return paper.pdf(), 60.0


def _sticker_layer(c: Comfort) -> tuple[bytes, float]:
    """The cut line on a layer named for it, drawn in magenta."""
    shape = rounded(8, 8, 50, 34, 5)
    paper = quiet.sticker(c, shape, cut=False)
    paper.cut_line = shape
    from drawn.paper import path

    paper.say(f"/OC /L0 BDC 1 0 1 RG 0.25 w {path(shape)} S EMC")

    def adds(pdf: Any, found: Any) -> None:
        layer = pdf.make_indirect(pikepdf.Dictionary(Type=pikepdf.Name.OCG, Name=pikepdf.String("Die cut")))
        found.Properties = pikepdf.Dictionary(L0=layer)
        pdf.Root.OCProperties = pikepdf.Dictionary(
            OCGs=Array([layer]), D=pikepdf.Dictionary(Order=Array([layer]))
        )

    paper.resources.append(adds)
    return paper.pdf(), 50.0


def _white_sticker(c: Comfort) -> Paper:
    """Words on white film, nothing near the cut."""
    return (
        Paper(66, 50)
        .fill(quiet.middled("TIDE", 33, 27, c, 6), NAVY)
        .disc(33, 16, 4, quiet.RED)
        .cut(rounded(8, 8, 50, 34, 6))
    )


def _film(c: Comfort) -> Paper:
    """Letters for cut film, a cut line round each as the plotter takes it."""
    word = quiet.words("TIDE", 6, 20, c, 14)
    paper = Paper(word.bounds[2] + 6, 26).fill(word, quiet.YELLOW)
    return paper.cut(word.shape)


def _barcode(c: Comfort) -> tuple[bytes, float]:
    """A bar code (EAN-13) on a white sticker."""
    from reportlab.graphics import renderPDF
    from reportlab.graphics.barcode import createBarcodeDrawing
    from reportlab.lib.units import mm

    drawing = createBarcodeDrawing(
        "EAN13", value="5901234123457", barHeight=18 * mm, barWidth=0.4 * mm, quiet=True, humanReadable=False
    )
    out = io.BytesIO()
    with pikepdf.open(io.BytesIO(renderPDF.drawToString(drawing))) as pdf:
        wide, high = (float(v) / PT for v in pdf.pages[0].mediabox[2:])
        shape = rounded(1, 1, wide + 14, high + 10, 4)
        with pikepdf.open(io.BytesIO(Paper(wide + 16, high + 12, scale=1.0).cut(shape).pdf())) as sheet:
            x, y = 8 * PT, 6 * PT
            pikepdf.Page(sheet.pages[0]).add_overlay(
                pikepdf.Page(pdf.pages[0]), pikepdf.Rectangle(x, y, x + wide * PT, y + high * PT)
            )
            sheet.save(out)
    return out.getvalue(), wide + 14


def _dome(c: Comfort) -> Paper:
    return quiet.sticker(Comfort(0.4, 0.6, 3.0, 0), rounded(8, 8, 44, 30, 4))


STICKER = Comfort(0.5, 0.7, 3.0, 0)
WHITE_BASE = {
    "screen-print/white-base": "colours on navy cloth need a white base, and someone has to allow for it"
}

CASES = [
    # screen printing
    Quiet("wordmark", "screen-print", quiet.wordmark),
    Quiet("ring", "screen-print", quiet.ringed),
    Quiet("white words out of a disc", "screen-print", quiet.knocked_out),
    Quiet("serifs", "screen-print", quiet.serifed),
    Quiet("moon and stars", "screen-print", quiet.starry),
    Quiet("three inks", "screen-print", quiet.three_inks),
    Quiet("trapped", "screen-print", quiet.trapped),
    Quiet("black overprints", "screen-print", quiet.overprinted),
    Quiet("code", "screen-print", lambda c: quiet.coded(c, 1.0)),
    Quiet("three inks on navy", "screen-print",
          lambda c: quiet.three_inks(c, shades={NAVY: (0.95, 0.75, 0.05), quiet.RED: (0.95, 0.55, 0.5)}),
          {"ground": "navy"}, asks=WHITE_BASE),
    Quiet("white on navy", "screen-print", lambda c: quiet.wordmark(c, shades={NAVY: (1, 1, 1)}), {"ground": "navy"}),
    Quiet("wordmark on a bag", "screen-print", quiet.wordmark, {"item": "cotton bag", "position": None}),
    Quiet("flat goods", "screen-print", quiet.ringed, {"item": "plaque", "material": "oak", "position": None}),
    Quiet("EPS", "screen-print", quiet.wordmark, form="eps"),
    Quiet("group that changes nothing", "screen-print", _grouped),
    Quiet("crop marks", "screen-print", _trimmed),
    Quiet("layers", "screen-print", _layered),
    Quiet("clipping path", "screen-print", _clipped),
    Quiet("K black", "screen-print", _k_black),
    Quiet("white sheet", "screen-print", quiet.white_sheet),
    Quiet("lower case", "screen-print", quiet.lone_dot),
    Quiet("pennants", "screen-print", quiet.bunting),
    Quiet("compass rose", "screen-print", quiet.compass),
    Quiet("shapes in pieces", "screen-print", quiet.patchwork),
    Quiet("two lines of words", "screen-print", quiet.stacked),
    Quiet("stripes of three inks on a bag", "screen-print", quiet.blocks, {"item": "cotton bag", "position": None}),
    Quiet("turned page", "screen-print", _turned),
    Quiet("large back print", "screen-print", lambda c: quiet.three_inks(Comfort(2, 2, 36, 0)), {"position": "back"}),
    Quiet("snowflake on a shirt", "screen-print", quiet.snowflake, {"item": "t-shirt"}),
    Quiet("arrow", "screen-print", quiet.arrow),
    Quiet("sun", "screen-print", quiet.sun),
    Quiet("gear", "screen-print", quiet.gear),
    Quiet("target", "screen-print", quiet.target, {"item": "t-shirt"}),
    Quiet("figures", "screen-print", quiet.year),
    # pad printing
    Quiet("dunes", "uv-print", quiet.mountains),
    Quiet("initials", "pad-print", quiet.initials),
    Quiet("on a pen", "pad-print", quiet.wordmark, {"item": "pen", "material": "aluminium", "position": "barrel"}),
    Quiet("shell", "pad-print", quiet.spiral),
    Quiet("heart", "pad-print", quiet.heart),
    Quiet("trapped", "pad-print", lambda c: quiet.trapped(c, 3.0)),
    Quiet("wordmark", "pad-print", quiet.wordmark),
    Quiet("tide", "pad-print", quiet.tide),
    Quiet("squares and dots", "pad-print", quiet.squares),
    Quiet("serifs", "pad-print", quiet.serifed),
    Quiet("SVG with the inks named", "pad-print", _styled_svg, {"colours": "#1d2b4f"}, form="svg"),
    # lasers
    Quiet("wordmark", "yag-laser", quiet.wordmark),
    Quiet("ring", "yag-laser", quiet.ringed),
    Quiet("live text", "yag-laser", _live),
    Quiet("SVG", "yag-laser", quiet.starry, form="svg"),
    Quiet("one bit", "yag-laser", _one_bit, asks={"yag-laser/outlines": BITMAP}, form="tiff"),
    Quiet("compass rose", "yag-laser", quiet.compass),
    Quiet("on a memory stick", "yag-laser", quiet.wordmark, {"item": "usb stick", "material": "aluminium"}),
    Quiet("snowflake", "yag-laser", quiet.snowflake),
    Quiet("shapes in pieces", "yag-laser", quiet.patchwork),
    Quiet("fish", "yag-laser", quiet.fish),
    Quiet("chequered", "yag-laser", quiet.chequered),
    Quiet("gear", "co2-laser", quiet.gear),
    Quiet("bubble", "co2-laser", quiet.speech),
    Quiet("broken line", "co2-laser", quiet.dashed),
    Quiet("pennants", "co2-laser", quiet.bunting),
    Quiet("shell as SVG", "co2-laser", quiet.spiral, form="svg"),
    Quiet("no ground stated", "co2-laser", quiet.framed, {"ground": None}),
    Quiet("leaves", "co2-laser", quiet.leaf),
    Quiet("kite with a pen", "co2-laser", quiet.outlined),
    Quiet("plate", "co2-laser", quiet.framed),
    Quiet("code", "co2-laser", lambda c: quiet.coded(c, 1.2)),
    # stickers and domes
    Quiet("rounded sticker", "sticker", lambda c: quiet.sticker(STICKER, rounded(8, 8, 50, 34, 5))),
    Quiet("round sticker", "sticker", lambda c: quiet.sticker(STICKER, disc(30, 30, 22))),
    Quiet("photograph under a cut line", "sticker", _photo_sticker),
    Quiet("trim box", "sticker", lambda c: _sticker_by_trim(STICKER),
          asks={"sticker/corner-radius": "a trim box has square corners, and the rulebook advises round ones"}),
    Quiet("cut line on a layer", "sticker", lambda c: _sticker_layer(STICKER)),
    Quiet("words on white film", "sticker", lambda c: _white_sticker(STICKER)),
    Quiet("oval sticker", "sticker", lambda c: quiet.sticker(STICKER, quiet.scale(disc(36, 28, 20), 1.4, 1))),
    Quiet("bar code", "sticker", _barcode),
    Quiet("dome", "dome", _dome),
    Quiet("round dome", "dome", lambda c: quiet.sticker(Comfort(0.4, 0.6, 3.0, 0), disc(26, 26, 18))),
    # full colour
    Quiet("transparent PNG", "heat-transfer", _badge_png, form="png"),
    Quiet("photograph cut out clean", "heat-transfer", _soft_badge, form="png"),
    Quiet("three inks", "heat-transfer", quiet.three_inks),
    Quiet("cut film", "heat-transfer", _film, {"material": "cotton, flex film", "ground": "navy"}),
    Quiet("CMYK", "heat-transfer", _cmyk),
    Quiet("compass rose", "heat-transfer", quiet.compass),
    Quiet("bubble", "uv-print", quiet.speech),
    Quiet("target", "uv-print", quiet.target),
    Quiet("CMYK", "uv-print", _cmyk),
    Quiet("palette PNG", "uv-print", lambda c: _coded(c, "PNG", "P"), form="png"),
    Quiet("lossless WebP", "uv-print", lambda c: _coded(c, "WEBP"), form="webp"),
    Quiet("fine JPEG of flat art", "uv-print", lambda c: _coded(c, "JPEG"), form="jpg"),
    Quiet("BMP", "uv-print", lambda c: _coded(c, "BMP"), form="bmp"),
    Quiet("narrow on a mug", "uv-print", lambda c: quiet.wordmark(Comfort(0.3, 0.5, 2.2, 0)), {"item": "mug", "diameter": 82}),
    Quiet("photograph", "uv-print", lambda c: _photo(60, 300), form="jpg"),
    Quiet("photograph in a PDF", "uv-print", _photo_in_pdf),
    Quiet("TIFF of flat art", "uv-print", _flat_tiff, form="tiff"),
    Quiet("knocked out", "uv-print", quiet.knocked_out),
    Quiet("SVG", "uv-print", quiet.three_inks, form="svg"),
    # pressing and foil
    Quiet("wordmark", "deboss", quiet.wordmark),
    Quiet("ring", "deboss", lambda c: quiet.ringed(c)),
    Quiet("EPS", "deboss", quiet.tide, form="eps"),
    Quiet("heart", "deboss", quiet.heart),
    Quiet("shapes in pieces", "deboss", quiet.patchwork),
    Quiet("initials", "deboss", quiet.initials),
    Quiet("anchor", "deboss", quiet.anchor),
    Quiet("fish", "foil", quiet.fish),
    Quiet("shell", "foil", quiet.spiral),
    Quiet("two lines of words", "foil", quiet.stacked),
    Quiet("wordmark", "foil", quiet.wordmark),
    Quiet("leaves", "foil", quiet.leaf),
    Quiet("moon and stars", "foil", quiet.starry),
    # embroidery
    Quiet("wordmark", "embroidery", quiet.wordmark),
    Quiet("three threads", "embroidery", quiet.three_inks),
    Quiet("tide", "embroidery", quiet.tide),
    Quiet("anchor", "embroidery", quiet.anchor),
    Quiet("initials", "embroidery", quiet.initials),
    Quiet("arrow", "embroidery", quiet.arrow),
    Quiet("heart", "embroidery", quiet.heart),
    Quiet("pennants", "embroidery", quiet.bunting),
    Quiet("shapes in pieces", "embroidery", quiet.patchwork),
    Quiet("shell", "embroidery", quiet.spiral),
    Quiet("white words out of a disc", "embroidery", quiet.knocked_out),
    Quiet("stars on a cap", "embroidery", quiet.starry, {"item": "cap", "position": None}),
    Quiet("SVG", "embroidery", quiet.squares, form="svg"),
]  # fmt: skip


def test_every_method_has_its_quiet_art():
    assert {art.method for art in CASES} == set(methods())
    assert len(CASES) >= 40 and len({(art.method, art.name) for art in CASES}) == len(CASES)


def _swept() -> list[Any]:
    """Every case; one whose design was held against another method already is left to the slow sweep."""
    found, seen = [], set()
    for art in CASES:
        again = art.name in seen and art.name not in ("wordmark", "SVG")
        found.append(
            pytest.param(art, marks=[pytest.mark.slow] if again else [], id=f"{art.method}: {art.name}")
        )
        seen.add(art.name)
    return found


@pytest.mark.parametrize("art", _swept())
def test_good_art_is_left_in_peace(art):
    alarms = held(art)
    assert not alarms, "\n" + "\n".join(alarms)
