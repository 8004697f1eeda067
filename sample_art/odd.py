"""Files with something special inside: cut lines, a code, a hidden layer, live text, a lock, a wrapped bitmap."""

import io
import zipfile
from typing import Any

import designs
import pikepdf
import segno
from designs import FOAM, MARSH, OCHRE, RED, SAND, SLATE, TIDE, Ink
from letters import line
from motifs import kite, swell
from pikepdf import Array, Dictionary, Name, String
from shapes import Shape, cut, ellipse, panel, together, within
from writers import Drawing, flattened, operators, pdf, pixels, separation

CUT = Ink("Cut Line", (230, 0, 126), (0.0, 1.0, 0.0, 0.0))
LINK = "HTTPS://KITE-FAIR.EXAMPLE/TIDE"  # .example leads nowhere (RFC 2606)


def _with_cut(drawing: Drawing, outline: Shape) -> bytes:
    """Process colours, and a hairline in a spot colour of its own that the knife follows."""

    def knife(out: pikepdf.Pdf, page: Any) -> str:
        page.obj.Resources.ColorSpace = Dictionary(Knife=separation(out, CUT))
        page.obj.Resources.ExtGState = Dictionary(Over=Dictionary(OP=True, op=True, OPM=1))
        return f"/Over gs /Knife CS 1 SCN 0.1 w\n{operators(outline)}\nS"

    return pdf(drawing, spot=False, extra=knife)


def sticker(bleed: float) -> bytes:
    b = bleed
    drawing = designs.poster(80, 50, bleed)
    outline = panel(b, b, b + 80, b + 50, 6)
    if not bleed:
        drawing.layers = [(within(shape, outline), ink) for shape, ink in drawing.layers]
    return _with_cut(drawing, outline)


def dome() -> bytes:
    drawing = designs.dome()
    return _with_cut(drawing, ellipse(drawing.width / 2, drawing.height / 2, 17.5))


# ------------------------------------------------------------------------------------------------ codes


def _squares(x: float, y: float, module: float) -> Shape:
    """The dark squares of the link's QR code, each row's neighbours joined; its corner at (x, y)."""
    out = []
    for j, row in enumerate(segno.make(LINK, error="m", micro=False, boost_error=False).matrix):
        start = None
        for i, dark in enumerate([*row, 0]):
            if dark and start is None:
                start = i
            elif not dark and start is not None:
                out.append(panel(x + start * module, y + j * module, x + i * module, y + (j + 1) * module))
                start = None
    return together(out)


def code(width: float) -> Drawing:
    """A bare code; the article round it is its margin."""
    count = len(segno.make(LINK, error="m", micro=False, boost_error=False).matrix)
    return Drawing(width, width).add(_squares(0, 0, width / count), SLATE)


def tight_code() -> Drawing:
    """A code whose dark frame leaves it one square of margin."""
    count = len(segno.make(LINK, error="m", micro=False, boost_error=False).matrix)
    side, module = 30.0, 0.9
    edge = (side - (count + 2) * module) / 2
    frame = panel(0, 0, side, side, 2) + panel(edge, edge, side - edge, side - edge)
    return Drawing(side, side).add(frame, MARSH).add(_squares(edge + module, edge + module, module), SLATE)


# ------------------------------------------------------------------------------------------------ structure


def hidden_layer() -> bytes:
    """The otter badge, and last year's line in a layer that is switched off."""
    drawing = designs.otter_badge()
    drawing.height += 10
    last_year = line("LAST YEAR: SPRING TIDE, FIRST QUARTER", 3, x=drawing.width / 2, y=drawing.height - 2)

    def hide(out: pikepdf.Pdf, page: Any) -> str:
        layer = out.make_indirect(Dictionary(Type=Name.OCG, Name=String("Last year")))
        out.Root.OCProperties = Dictionary(
            OCGs=Array([layer]), D=Dictionary(Order=Array([layer]), OFF=Array([layer]), Name=String("Layers"))
        )
        page.obj.Resources.Properties = Dictionary(LastYear=layer)
        return f"/OC /LastYear BDC\n/Ink2 cs 1 scn\n{operators(last_year)}\nf*\nEMC"

    return pdf(drawing, extra=hide)


def live_text() -> bytes:
    """A small poster whose words are live text in a font that is not in the file."""
    w, h = 120.0, 80.0
    drawing = Drawing(w, h).add(panel(0, 0, w, h, 4), SAND)
    drawing.add(within(swell(0, w, 66, 2.4, 15, h), panel(0, 0, w, h, 4)), TIDE)
    first, second, tail = (part.at(24, 25, scale=0.36, turn=14) for part in kite(gap=0, bows=2))
    drawing.add(tail, SLATE).add(second, OCHRE).add(first, RED)

    def words(out: pikepdf.Pdf, page: Any) -> str:
        sketch = Dictionary(Type=Name.FontDescriptor, FontName=Name.ReedSansBold, Flags=32, FontBBox=[-100, -200, 1100, 900],
                            ItalicAngle=0, Ascent=750, Descent=-220, CapHeight=700, StemV=140)  # fmt: skip
        page.obj.Resources.Font = Dictionary(
            Reed=Dictionary(
                Type=Name.Font, Subtype=Name.TrueType, BaseFont=Name.ReedSansBold, FirstChar=32, LastChar=126,
                Widths=[600] * 95, Encoding=Name.WinAnsiEncoding, FontDescriptor=out.make_indirect(sketch),
            )
        )  # fmt: skip
        ink = " ".join(f"{c / 255:.3f}" for c in SLATE.rgb)
        lines = (("Saltmarsh", 12, 28), ("Kite Fair", 12, 42), ("at every spring tide", 5.6, 53))
        return "\n".join(
            f"BT {ink} rg /Reed {size} Tf 1 0 0 -1 44 {y} Tm ({text}) Tj ET" for text, size, y in lines
        )

    return pdf(drawing, spot=False, extra=words)


def sunset() -> bytes:
    """A round badge whose sky and sea fade."""
    sky, sea = ellipse(40, 40, 39), within(swell(0, 80, 52, 2.2, 13, 80), ellipse(40, 40, 39))
    sun = cut(ellipse(40, 40, 17), swell(0, 80, 52, 2.2, 13, 80), gap=1.4)
    first, second, tail = (part.at(57, 21, scale=0.19, turn=16) for part in kite(gap=0, bows=0))
    drawing = Drawing(80, 80)

    def fades(out: pikepdf.Pdf, page: Any) -> str:
        shades = Dictionary()
        for name, top, low, y0, y1 in (("Sky", RED, OCHRE, 2, 52), ("Sea", TIDE, MARSH, 50, 79)):
            function = Dictionary(
                FunctionType=2,
                Domain=[0, 1],
                C0=[c / 255 for c in top.rgb],
                C1=[c / 255 for c in low.rgb],
                N=1,
            )
            shades[f"/{name}"] = Dictionary(
                ShadingType=2,
                ColorSpace=Name.DeviceRGB,
                Coords=[0, y0, 0, y1],
                Function=function,
                Extend=[True, True],
            )
        page.obj.Resources.Shading = shades
        flat = [(sun, SAND), (second, FOAM), (first, SLATE)]
        marks = "\n".join(
            f"{' '.join(f'{c / 255:.3f}' for c in ink.rgb)} rg\n{operators(shape)}\nf*" for shape, ink in flat
        )
        return f"q\n{operators(sky)}\nW* n /Sky sh Q\n{marks}\nq\n{operators(sea)}\nW* n /Sea sh Q"

    return pdf(drawing, spot=False, extra=fades)


def wrapped_bitmap() -> bytes:
    """The otter badge as pixels of 200 ppi inside a PDF."""
    drawing = designs.otter_badge()
    picture = flattened(pixels(drawing, 200))

    def place(out: pikepdf.Pdf, page: Any) -> str:
        image = out.make_stream(picture.tobytes())
        for key, value in {
            "/Type": Name.XObject, "/Subtype": Name.Image, "/Width": picture.width, "/Height": picture.height,
            "/ColorSpace": Name.DeviceRGB, "/BitsPerComponent": 8,
        }.items():  # fmt: skip
            image[key] = value
        page.obj.Resources.XObject = Dictionary(Picture=image)
        return f"q {drawing.width} 0 0 {-drawing.height} 0 {drawing.height} cm /Picture Do Q"

    return pdf(Drawing(drawing.width, drawing.height), spot=False, extra=place)


def locked() -> bytes:
    """The kite mark behind a password."""
    stream = io.BytesIO()
    with pikepdf.open(io.BytesIO(pdf(designs.kite_small()))) as plain:
        plain.save(
            stream,
            static_id=True,
            encryption=pikepdf.Encryption(
                user="spring tide", owner="spring tide", R=3, aes=False, metadata=False
            ),
        )
    return stream.getvalue()


def text_document() -> bytes:
    """What a word processor saves: a zip archive of XML, under a PDF's name."""
    parts = {
        "[Content_Types].xml": '<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types">'
        '<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
        '<Override PartName="/word/document.xml" ContentType='
        '"application/vnd.openxmlformats-officedocument.wordprocessingml.document.main+xml"/></Types>',
        "_rels/.rels": '<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">'
        '<Relationship Id="r1"'
        ' Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/officeDocument" Target="word/document.xml"/>'
        "</Relationships>",
        "word/document.xml": '<w:document xmlns:w="http://schemas.openxmlformats.org/wordprocessingml/2006/main"><w:body><w:p><w:r>'
        "<w:t>Programme of the Saltmarsh Kite Fair: please take the logo out of this document.</w:t>"
        "</w:r></w:p></w:body></w:document>",
    }
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w") as archive:
        for name, text in parts.items():
            archive.writestr(zipfile.ZipInfo(name, (2020, 1, 1, 0, 0, 0)), text, zipfile.ZIP_DEFLATED)
    return stream.getvalue()
