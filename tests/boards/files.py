"""One subject of known width, drawn in every way a file knows: as PDF, SVG and EPS, and as pixels.

A sheet is 30 x 20 mm, y down.  A subject fits into its left half, so that a pattern can repeat it.
"""

import io
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from pikepdf import Array, Dictionary, Name, Pdf
from PIL import Image
from shapely.geometry import LineString

from boards.plates import drawn, ring_path
from boards.shapes import affinity, bar, letters, pieces, rectangle, ring, stem
from pdf_made import PT, pdf_of

WIDTH, HEIGHT, CELL = 30.0, 20.0, 15.0
#: Sea blue, as parts of 1.
INK = (0.12, 0.23, 0.43)
MIDDLE = (7.5, 10.0)


@dataclass(frozen=True)
class Stroke:
    """A polyline with a pen; `bare` paints it white over what lies below."""

    points: np.ndarray
    pen: float
    bare: bool = False
    dash: float = 0.0  # 3.6 of it on, 2.4 off
    closed: bool = False


@dataclass(frozen=True)
class Subject:
    """`kind` and `width` are the truth, `shapes` the whole as polygons, `base` and `strokes` the same with pens."""

    kind: str
    width: float
    shapes: Sequence[object]
    base: Sequence[object] = ()
    strokes: Sequence[Stroke] = ()


def _bar(width: float, angle: float) -> Subject:
    length = max(6.0, 4 * width)
    return Subject("line", width, [bar(*MIDDLE, width, length, angle)], (), [_straight(width, length, angle)])


def _straight(width: float, length: float, angle: float, bare: bool = False, dash: float = 0.0) -> Stroke:
    along = np.array([np.cos(np.radians(angle)), np.sin(np.radians(angle))]) * length / 2
    return Stroke(np.array([MIDDLE - along, MIDDLE + along]), width, bare, dash)


def _ring(width: float, angle: float) -> Subject:
    turns = np.radians(np.arange(0, 360, 0.5))
    middle = np.c_[MIDDLE[0] + 5 * np.cos(turns), MIDDLE[1] + 5 * np.sin(turns)]
    outline = ring(*MIDDLE, 5 + width / 2, width)
    return Subject("line", width, [outline], (), [Stroke(middle, width, closed=True)])


def _solid(angle: float) -> object:
    return affinity.rotate(rectangle(3, 5, 12, 15), angle, origin=MIDDLE)


def _gap(width: float, angle: float) -> Subject:
    solid = _solid(angle)
    cut = bar(*MIDDLE, width, 30, angle)
    return Subject(
        "gap", width, pieces(solid.difference(cut)), [solid], [_straight(width, 30, angle, bare=True)]
    )


def _notch(width: float, angle: float) -> Subject:
    solid = _solid(angle)
    turned = np.radians(angle)
    start = np.array(MIDDLE) + 8 * np.array([np.cos(turned), np.sin(turned)])
    line = np.array([MIDDLE - 0.3 * (start - MIDDLE), start])
    cut = LineString(line).buffer(width / 2, cap_style="flat")
    return Subject("gap", width, pieces(solid.difference(cut)), [solid], [Stroke(line, width, bare=True)])


def _knockout(width: float, angle: float) -> Subject:
    solid = _solid(0)
    length = max(5.0, 3.2 * width)
    cut = bar(*MIDDLE, width, length, angle)
    return Subject(
        "gap", width, [solid.difference(cut)], [solid], [_straight(width, length, angle, bare=True)]
    )


def _letter(width: float, angle: float) -> Subject:
    size = width / stem("DejaVuSans")
    (shape,) = letters("l", min(size, 14.0), "DejaVuSans")
    width = min(width, 14.0 * stem("DejaVuSans"))
    x0, y0, x1, y1 = shape.bounds
    placed = affinity.translate(shape, MIDDLE[0] - (x0 + x1) / 2, MIDDLE[1] - (y0 + y1) / 2)
    middle = [(MIDDLE[0], MIDDLE[1] - (y1 - y0) / 2), (MIDDLE[0], MIDDLE[1] + (y1 - y0) / 2)]
    turned = affinity.rotate(LineString(middle), angle, origin=MIDDLE)
    pen = Stroke(np.array(turned.coords), width)
    return Subject("line", width, [affinity.rotate(placed, angle, origin=MIDDLE)], (), [pen])


def _hairline(width: float, angle: float) -> Subject:
    """A fifth of the width, but never more than a hair."""
    return _bar(min(max(width / 5, 0.05), 0.08), angle)


def _dash(width: float, angle: float) -> Subject:
    """Two dashes of 3.6 widths, 2.4 widths apart."""
    along = np.array([np.cos(np.radians(angle)), np.sin(np.radians(angle))])
    bars = [bar(*(MIDDLE + at * width * along), width, 3.6 * width, angle) for at in (-3, 3)]
    line = np.array([MIDDLE - 4.8 * width * along, MIDDLE + 4.8 * width * along])
    return Subject("line", width, bars, (), [Stroke(line, width, dash=width)])


SUBJECTS: dict[str, Callable[[float, float], Subject]] = {
    "bar": _bar, "ring": _ring, "gap": _gap, "notch": _notch, "knock-out": _knockout, "letter stem": _letter,
    "hairline": _hairline, "dash": _dash,
}  # fmt: skip
WAYS = (
    "stroke",
    "filled outline",
    "clipped",
    "scaled by the matrix",
    "scaled stroke",
    "in a form",
    "in a pattern",
)


def pdf(subject: Subject, way: str) -> bytes:
    """The sheet as PDF."""
    body = f"1 0 0 -1 0 {HEIGHT} cm\n"
    prepare = None
    if way in ("in a form", "in a pattern"):
        paint = _operators(subject, "filled outline")

        def prepare(file: Pdf) -> Dictionary:
            if way == "in a form":
                inner = file.make_stream(
                    paint.encode(), Type=Name.XObject, Subtype=Name.Form, BBox=[-50, -50, 50, 50],
                    Matrix=[0.5, 0, 0, 0.5, 0, 0],
                )  # fmt: skip
                outer = file.make_stream(
                    b"q 2 0 0 2 0 0 cm /F Do Q", Type=Name.XObject, Subtype=Name.Form, BBox=[-50, -50, 50, 50],
                    Resources=Dictionary(XObject=Dictionary(F=inner)),
                )  # fmt: skip
                return Dictionary(XObject=Dictionary(G=outer))
            cell = file.make_stream(
                paint.encode(), Type=Name.Pattern, PatternType=1, PaintType=1, TilingType=1,
                BBox=[0, 0, CELL, HEIGHT], XStep=CELL, YStep=HEIGHT, Resources=Dictionary(),
                Matrix=Array([PT, 0, 0, -PT, 0, HEIGHT * PT]),
            )  # fmt: skip
            return Dictionary(Pattern=Dictionary(P=cell))

        body += "/G Do" if way == "in a form" else f"/Pattern cs /P scn 0 0 {WIDTH} {HEIGHT} re f"
    else:
        body += _operators(subject, way)
    return pdf_of(body, WIDTH, HEIGHT, prepare=prepare)


def _operators(subject: Subject, way: str) -> str:
    """Page description in mm, y down; the same words serve PostScript after `eps` has translated them."""
    r, g, b = INK
    ink = f"{r} {g} {b} rg {r} {g} {b} RG"
    if way in ("stroke", "scaled stroke"):
        k = 10.0 if way == "scaled stroke" else 1.0
        lines = [ink, f"{1 / k} 0 0 {1 / k} 0 0 cm"]
        lines += [_path(ring_path(shape), k, k) + "\nf*" for shape in subject.base]
        for stroke in subject.strokes:
            lines.append("1 1 1 RG" if stroke.bare else ink)
            if stroke.dash:
                lines.append(f"[{3.6 * stroke.dash * k:.6f} {2.4 * stroke.dash * k:.6f}] 0 d")
            lines.append(f"{stroke.pen * k:.6f} w")
            lines.append(_path([stroke.points], k, k, stroke.closed) + "\nS")
        return "\n".join(lines)
    across, down = (10.0, 4.0) if way == "scaled by the matrix" else (1.0, 1.0)
    paths = [_path(ring_path(shape), across, down) for shape in subject.shapes]
    if way == "clipped":
        return "\n".join(f"q {path}\nW* n {ink} -20 -20 90 90 re f Q" for path in paths)
    return "\n".join([ink, f"{1 / across} 0 0 {1 / down} 0 0 cm", *(f"{path}\nf*" for path in paths)])


def _path(rings: Sequence[np.ndarray], across: float, down: float, closed: bool = True) -> str:
    lines = []
    for points in rings:
        for number, (x, y) in enumerate(points):
            lines.append(f"{x * across:.6f} {y * down:.6f} {'l' if number else 'm'}")
        if closed and len(points) > 2:
            lines.append("h")
    return "\n".join(lines)


def eps(subject: Subject, way: str) -> bytes:
    """The sheet as EPS: the operators of the PDF under their PostScript names (PostScript Language Reference, 3rd ed.)."""
    kind = "filled outline" if way in ("in a form", "in a pattern") else way
    body = _operators(subject, kind)
    words = {
        "m": "moveto", "l": "lineto", "h": "closepath", "f*": "eofill", "S": "stroke", "w": "setlinewidth",
        "rg": "setrgbcolor", "RG": "setrgbcolor", "q": "gsave", "Q": "grestore", "d": "setdash", "W*": "eoclip",
        "n": "newpath",
    }  # fmt: skip
    body = body.replace("-20 -20 90 90 re f", "-20 -20 90 90 rectfill")
    lines = []
    for line in body.split("\n"):
        if line.endswith(" cm"):
            a, _, _, d, _, _ = line.split()[:6]
            lines.append(f"{a} {d} scale")
        else:
            lines.append(" ".join(words.get(token, token) for token in line.split(" ")))
    drawn_body = "\n".join(lines)
    if way == "in a form":
        drawn_body = f"/shape {{ {drawn_body} }} bind def gsave 2 2 scale 0.5 0.5 scale shape grestore"
    elif way == "in a pattern":
        drawn_body = (
            f"<< /PatternType 1 /PaintType 1 /TilingType 1 /BBox [0 0 {CELL} {HEIGHT}] /XStep {CELL} /YStep {HEIGHT} "
            f"/PaintProc {{ pop {drawn_body} }} bind >> matrix makepattern setpattern 0 0 {WIDTH} {HEIGHT} rectfill"
        )
    head = f"%!PS-Adobe-3.0 EPSF-3.0\n%%BoundingBox: 0 0 {round(WIDTH * PT) + 1} {round(HEIGHT * PT) + 1}\n%%EndComments\n"
    return (
        f"{head}gsave {PT:.8f} {-PT:.8f} scale 0 {-HEIGHT} translate\n{drawn_body}\ngrestore\nshowpage\n%%EOF\n"
    ).encode()


def svg(subject: Subject, way: str) -> bytes:
    """The sheet as SVG."""
    shade = "#" + "".join(f"{round(255 * v):02x}" for v in INK)
    k = 10.0 if way in ("scaled stroke", "scaled by the matrix") else 1.0
    down = 4.0 if way == "scaled by the matrix" else k
    if way in ("stroke", "scaled stroke"):
        body = "".join(_svg_shape(shape, k, k, f'fill="{shade}"') for shape in subject.base)
        for stroke in subject.strokes:
            data = " ".join(
                f"{'L' if i else 'M'}{x * k:.6f} {y * k:.6f}" for i, (x, y) in enumerate(stroke.points)
            )
            dash = (
                f' stroke-dasharray="{3.6 * stroke.dash * k:.6f} {2.4 * stroke.dash * k:.6f}"'
                if stroke.dash
                else ""
            )
            paint = "#ffffff" if stroke.bare else shade
            body += (
                f'<path d="{data}{"Z" if stroke.closed else ""}" fill="none" stroke="{paint}" '
                f'stroke-width="{stroke.pen * k:.6f}"{dash}/>'
            )
    else:
        body = "".join(_svg_shape(shape, k, down, f'fill="{shade}"') for shape in subject.shapes)
    if way == "clipped":
        clips = "".join(_svg_shape(shape, 1, 1, 'clip-rule="evenodd"') for shape in subject.shapes)
        body = (
            f'<clipPath id="c">{clips}</clipPath>'
            f'<rect x="-20" y="-20" width="90" height="90" fill="{shade}" clip-path="url(#c)"/>'
        )
    elif k != 1:
        body = f'<g transform="scale({1 / k} {1 / down})">{body}</g>'
    elif way == "in a form":
        body = (
            f'<defs><symbol id="s" overflow="visible">{body}</symbol></defs>'
            '<g transform="scale(2)"><use href="#s" transform="scale(0.5)"/></g>'
        )
    elif way == "in a pattern":
        body = (
            f'<defs><pattern id="p" width="{CELL}" height="{HEIGHT}" patternUnits="userSpaceOnUse">{body}</pattern></defs>'
            f'<rect width="{WIDTH}" height="{HEIGHT}" fill="url(#p)"/>'
        )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{WIDTH}mm" height="{HEIGHT}mm" viewBox="0 0 {WIDTH} {HEIGHT}">'
        f"{body}</svg>"
    ).encode()


def _svg_shape(shape: object, across: float, down: float, paint: str) -> str:
    data = "".join(
        "M" + "L".join(f"{x * across:.6f} {y * down:.6f}" for x, y in points) + "Z"
        for points in ring_path(shape)
    )
    return f'<path d="{data}" fill-rule="evenodd" {paint}/>'


def pixels(subject: Subject, form: str, ppi: float) -> bytes:
    """The sheet as a bitmap file: "grey PNG", "1-bit PNG" or "1-bit TIFF"."""
    density = ppi / 25.4
    columns, rows = round(WIDTH * density), round(HEIGHT * density)
    exact = drawn(WIDTH, HEIGHT, {0: list(subject.shapes)})
    cover = exact.coverage(0, (0, 0, columns / density, rows / density), density)
    picture = Image.fromarray(255 - cover)
    if form.startswith("1-bit"):
        picture = picture.point(lambda v: 255 if v > 127 else 0).convert("1", dither=Image.Dither.NONE)
    out = io.BytesIO()
    picture.save(out, form.split()[-1], dpi=(ppi, ppi))
    return out.getvalue()
