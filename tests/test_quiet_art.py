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
from drawn import quiet
from drawn.case import by_cut
from drawn.drawn_pixels import jpeg, pasted, photo, png, rendered, tiff
from drawn.paper import NAVY, PLAIN, PT, Array, Paper, disc, height_of, lettering, live, rounded
from drawn.quiet import Comfort, comfort
from PIL import Image, ImageDraw

from preflight import job
from preflight.findings import Severity
from preflight.methods import methods
from preflight.order import order_from

#: Complete orders: what a good coordinator writes.
ORDERS: dict[str, dict[str, Any]] = {
    "screen-print": {"item": "hoodie", "position": "front", "material": "cotton", "ground": "white", "quantity": 50},
    "pad-print": {"item": "plaque", "material": "ceramic", "ground": "white", "quantity": 200},
    "yag-laser": {"item": "plaque", "material": "stainless steel", "ground": "#b9bcbe", "quantity": 50},
    "co2-laser": {"item": "plaque", "material": "oak", "ground": "oak", "quantity": 50},
    "sticker": {"item": "sticker", "quantity": 500},
    "dome": {"item": "sticker", "quantity": 500},
    "heat-transfer": {"item": "hoodie", "position": "front", "material": "cotton", "ground": "white", "quantity": 20},
    "uv-print": {"item": "plaque", "material": "ceramic", "ground": "white", "quantity": 20},
    "deboss": {"item": "notebook", "material": "leather", "ground": "#6b3f22", "quantity": 50},
    "foil": {"item": "notebook", "material": "paper", "ground": "#1d2b4f", "colours": "gold foil", "quantity": 50},
    "embroidery": {"item": "hoodie", "position": "left chest", "material": "cotton", "ground": "white", "quantity": 50},
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
    report = job.check(data, f"{art.name}.{art.form}", order_from({"width": f"{width:.3f}", **said}), methods()[art.method]).report
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
    paper.page_keys["/Group"] = pikepdf.Dictionary(S=pikepdf.Name.Transparency, CS=pikepdf.Name.DeviceCMYK, I=True, K=False)
    return paper.pdf(), paper.size()[0]


def _trimmed(c: Comfort) -> tuple[bytes, float]:
    """A page with a trim box and crop marks outside of it."""
    paper = quiet.wordmark(c, margin=14.0)
    width = paper.size()[0]
    w, h, k = paper.width, paper.height, paper.scale
    for x, y, dx, dy in ((8, 0, 0, 4), (0, 8, 4, 0), (w - 8, 0, 0, 4), (w - 4, 8, 4, 0), (8, h - 4, 0, 4), (0, h - 8, 4, 0)):
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
        pdf.Root.OCProperties = pikepdf.Dictionary(OCGs=Array([layer]), D=pikepdf.Dictionary(Order=Array([layer]), ON=Array([layer])))
        pdf.docinfo["/Title"] = "Otter badge"

    paper.resources.append(adds)
    return paper.pdf(), paper.size()[0]


def _clipped(c: Comfort) -> tuple[bytes, float]:
    """A kite filled with broad stripes through a clipping path."""
    size = 30 * max(c.line, c.gap)
    shape = quiet.kite(size / 2 + 4, 4, size)
    paper = Paper(size + 8, size + 8)
    step = 6 * max(c.line, c.gap)
    stripes = " ".join(f"0 {4 + n * step:.4f} {size + 8:.4f} {step - 1.5 * c.gap:.4f} re" for n in range(int(size / step) + 1))
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
        '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" viewBox="0 0 400 240"><title>Otter badge</title>'
        "<style>.a{fill:#1d2b4f}.b{fill:none;stroke:#1d2b4f;stroke-width:14;stroke-linejoin:round;stroke-linecap:round}</style>"
        '<defs><g id="k"><path class="a" d="M0-60 40-10 0 70-40-10Z"/></g></defs>'
        '<g transform="translate(100 90)"><use xlink:href="#k"/></g><g transform="translate(280 100) scale(.8) rotate(15)"><use xlink:href="#k"/></g>'
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
    Image.fromarray(pixels).convert("L").point(lambda v: 255 * (v > 128)).convert("1").save(out, "TIFF", dpi=(1200, 1200), compression="group4")
    return out.getvalue(), width


def _soft_badge(c: Comfort) -> tuple[bytes, float]:
    """A photograph cut out to a disc with a clean, smooth edge: PNG at 400 ppi."""
    side = 480
    mask = Image.new("L", (side * 4, side * 4))
    ImageDraw.Draw(mask).ellipse((8, 8, side * 4 - 8, side * 4 - 8), fill=255)
    pixels = np.dstack([photo(side, side), np.asarray(mask.resize((side, side), Image.Resampling.LANCZOS))])
    return png(pixels, 400), side / 400 * 25.4


def _dome(c: Comfort) -> Paper:
    return quiet.sticker(Comfort(0.4, 0.6, 3.0, 0), rounded(8, 8, 44, 30, 4))


STICKER = Comfort(0.5, 0.7, 3.0, 0)
WHITE_BASE = {"screen-print/white-base": "colours on navy cloth need a white base, and someone has to allow for it"}

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
    # pad printing
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
    Quiet("leaves", "co2-laser", quiet.leaf),
    Quiet("kite with a pen", "co2-laser", quiet.outlined),
    Quiet("plate", "co2-laser", quiet.framed),
    Quiet("code", "co2-laser", lambda c: quiet.coded(c, 1.2)),
    # stickers and domes
    Quiet("rounded sticker", "sticker", lambda c: quiet.sticker(STICKER, rounded(8, 8, 50, 34, 5))),
    Quiet("round sticker", "sticker", lambda c: quiet.sticker(STICKER, disc(30, 30, 22))),
    Quiet("photograph under a cut line", "sticker", _photo_sticker),
    Quiet("dome", "dome", _dome),
    Quiet("round dome", "dome", lambda c: quiet.sticker(Comfort(0.4, 0.6, 3.0, 0), disc(26, 26, 18))),
    # full colour
    Quiet("transparent PNG", "heat-transfer", _badge_png, form="png"),
    Quiet("photograph cut out clean", "heat-transfer", _soft_badge, form="png"),
    Quiet("three inks", "heat-transfer", quiet.three_inks, {"ground": "navy", "colours": None}, asks={
        "heat-transfer/shape-contrast": "navy on navy goods: a tone on tone that someone has to want",
        "heat-transfer/lettering-contrast": "the same", "heat-transfer/vanishing-colour": "the same"}) if False else
    Quiet("three inks", "heat-transfer", quiet.three_inks),
    Quiet("photograph", "uv-print", lambda c: _photo(60, 300), form="jpg"),
    Quiet("photograph in a PDF", "uv-print", _photo_in_pdf),
    Quiet("TIFF of flat art", "uv-print", _flat_tiff, form="tiff"),
    Quiet("knocked out", "uv-print", quiet.knocked_out),
    Quiet("SVG", "uv-print", quiet.three_inks, form="svg"),
    # pressing and foil
    Quiet("wordmark", "deboss", quiet.wordmark),
    Quiet("ring", "deboss", lambda c: quiet.ringed(c)),
    Quiet("EPS", "deboss", quiet.tide, form="eps"),
    Quiet("wordmark", "foil", quiet.wordmark),
    Quiet("leaves", "foil", quiet.leaf),
    Quiet("moon and stars", "foil", quiet.starry),
    # embroidery
    Quiet("wordmark", "embroidery", quiet.wordmark),
    Quiet("three threads", "embroidery", quiet.three_inks),
    Quiet("tide", "embroidery", quiet.tide),
    Quiet("white words out of a disc", "embroidery", quiet.knocked_out),
    Quiet("stars on a cap", "embroidery", quiet.starry, {"item": "cap", "position": None}),
    Quiet("SVG", "embroidery", quiet.squares, form="svg"),
]  # fmt: skip


def test_every_method_has_its_quiet_art():
    assert {art.method for art in CASES} == set(methods())
    assert len(CASES) >= 40 and len({(art.method, art.name) for art in CASES}) == len(CASES)


@pytest.mark.parametrize("art", CASES, ids=lambda art: f"{art.method}: {art.name}")
def test_good_art_is_left_in_peace(art):
    alarms = held(art)
    assert not alarms, "\n" + "\n".join(alarms)
