"""Sheets of vector art drawn in mm from the top left, written as PDF, SVG or EPS: their truth is in the numbers given.

Lettering is set from fonts that ship with the program's libraries, measured by fontTools.
"""

import functools
import io
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Any

import pikepdf
import pymupdf
import pymupdf_fonts
import shapely
from fontTools.cffLib import CFFFontSet
from fontTools.pens.basePen import BasePen
from fontTools.pens.boundsPen import BoundsPen
from fontTools.ttLib import TTFont
from shapely.affinity import scale as scaled
from shapely.geometry.base import BaseGeometry

from pdf_made import PT, Array, Dictionary, Name, String, pdf_of

#: Faces: a plain one, a bold one, one with serifs.
PLAIN, BOLD, SERIF, BOLD_SERIF = "figo", "figbo", "tiro", "tibo"
#: Inks of the kite fair: sRGB (0 to 1).  Written as Separation over DeviceRGB, so that no profile takes part.
INKS = {
    "Kite navy": (0.114, 0.169, 0.310), "Poppy red": (0.78, 0.09, 0.17), "Reed green": (0.10, 0.45, 0.27),
    "Sun yellow": (0.95, 0.75, 0.05), "Sky blue": (0.20, 0.55, 0.80), "Sea pink": (0.86, 0.45, 0.60),
    "Samphire": (0.55, 0.65, 0.20), "Dusk violet": (0.45, 0.25, 0.60), "Clay": (0.60, 0.38, 0.25), "Slate": (0.42, 0.47, 0.50),
    "Rust": (0.72, 0.35, 0.10), "Foam": (0.75, 0.88, 0.88), "Plum": (0.38, 0.08, 0.25), "Moss": (0.25, 0.30, 0.10),
    "Black": (0, 0, 0), "White": (1, 1, 1),
}  # fmt: skip
NAVY = "Kite navy"
CUT = "Cut"


def hex_of(rgb: Sequence[float]) -> str:
    """ "#rrggbb" of parts from 0 to 1."""
    return "#" + "".join(f"{round(255 * part):02x}" for part in rgb)


def smooth(geometry: BaseGeometry, radius: float) -> BaseGeometry:
    """Grown by a radius, round."""
    return geometry.buffer(radius, quad_segs=64)


def rounded(x: float, y: float, width: float, height: float, radius: float) -> BaseGeometry:
    """A rectangle with round corners."""
    if radius <= 0:
        return shapely.box(x, y, x + width, y + height)
    return smooth(shapely.box(x + radius, y + radius, x + width - radius, y + height - radius), radius)


def disc(x: float, y: float, radius: float) -> BaseGeometry:
    """A disc."""
    return shapely.Point(x, y).buffer(radius, quad_segs=96)


# ------------------------------------------------------------------ lettering


@functools.cache
def _face(face: str) -> tuple[Any, Any, float]:
    """A glyph set by character (function), its widths, and the em."""
    if face in (SERIF, BOLD_SERIF):
        fonts = CFFFontSet()
        fonts.decompile(io.BytesIO(pymupdf.Font(face).buffer), None)
        strings = fonts[0].CharStrings
        names = {" ": "space", ".": "period", "&": "ampersand"} | {str(n): w for n, w in enumerate(
            "zero one two three four five six seven eight nine".split())}  # fmt: skip
        return (lambda char: strings[names.get(char, char)]), strings, 1000.0
    font = TTFont(io.BytesIO(pymupdf_fonts.myfont(face)))
    glyphs, names = font.getGlyphSet(), font.getBestCmap()
    return (lambda char: glyphs[names[ord(char)]]), glyphs, float(font["head"].unitsPerEm)


@functools.cache
def height_of(char: str, face: str = BOLD) -> float:
    """Height of a character over the baseline, in em."""
    glyph_of, glyphs, em = _face(face)
    pen = BoundsPen(glyphs)
    glyph_of(char).draw(pen)
    return pen.bounds[3] / em


class _Operators(BasePen):
    """Glyphs as PDF path operators at a place, y down."""

    def __init__(self, glyphs: Any, place: Any):
        super().__init__(glyphs)
        self.place, self.parts, self.points = place, [], []

    def _say(self, points: Iterable[Any], operator: str) -> None:
        moved = [self.place(*p) for p in points]
        self.points += moved
        self.parts.append(" ".join(f"{x:.5f} {y:.5f}" for x, y in moved) + f" {operator}")

    def _moveTo(self, pt: Any) -> None:
        self._say([pt], "m")

    def _lineTo(self, pt: Any) -> None:
        self._say([pt], "l")

    def _curveToOne(self, pt1: Any, pt2: Any, pt3: Any) -> None:
        self._say([pt1, pt2, pt3], "c")

    def _closePath(self) -> None:
        self.parts.append("h")


def _flat(points: Sequence[Any], steps: Sequence[str]) -> list[list[tuple[float, float]]]:
    rings: list[list[tuple[float, float]]] = []
    at = 0
    for step in steps:
        if step == "m":
            rings.append([points[at]])
            at += 1
        elif step == "l":
            rings[-1].append(points[at])
            at += 1
        elif step == "c":
            a, (b, c, d) = rings[-1][-1], points[at : at + 3]
            for i in range(1, 25):
                t, u = i / 24, 1 - i / 24
                rings[-1].append(
                    tuple(
                        u**3 * a[k] + 3 * u * u * t * b[k] + 3 * u * t * t * c[k] + t**3 * d[k]
                        for k in (0, 1)
                    )
                )
            at += 3
    return rings


@dataclass(frozen=True)
class Lettering:
    """Outlined words: PDF operators in mm, y down, and their geometry."""

    operators: str
    rings: tuple[Any, ...]

    @functools.cached_property
    def shape(self) -> BaseGeometry:
        """The letters as one geometry, holes cut out (rings turn in or out by the even-odd rule)."""
        found: BaseGeometry = shapely.Polygon()
        for ring in self.rings:
            if len(ring) > 2:
                found = found.symmetric_difference(shapely.Polygon(ring).buffer(0))
        return found

    @property
    def bounds(self) -> tuple[float, float, float, float]:
        """x0, y0, x1, y1 in mm."""
        return self.shape.bounds

    @functools.cached_property
    def openings(self) -> list[float]:
        """Diameters of the largest circles in the openings that letters enclose, mm."""
        letters = getattr(self.shape, "geoms", [self.shape])
        holes = [shapely.Polygon(hole) for letter in letters for hole in letter.interiors]
        return sorted(
            2 * shapely.maximum_inscribed_circle(hole, 0.005).length for hole in holes if hole.area > 1e-3
        )


def lettering(
    words: str, x: float, y: float, em: float, face: str = BOLD, spacing: float = 0.0, bend: Any = None
) -> Lettering:
    """Words with their baseline at y, `em` mm of type; `bend(x, y)` maps points of straight text (arched text)."""
    glyph_of, glyphs, units = _face(face)
    k = em / units
    parts: list[str] = []
    rings: list[Any] = []
    at = x
    for char in words:
        glyph = glyph_of(char)

        def place(px: float, py: float, at: float = at) -> tuple[float, float]:
            straight = (at + px * k, y - py * k)
            return bend(*straight) if bend else straight

        pen = _Operators(glyphs, place)
        glyph.draw(pen)
        parts += pen.parts
        rings += _flat(pen.points, [part[-1] for part in pen.parts])
        at += glyph.width * k + spacing
    return Lettering(" ".join(parts), tuple(tuple(ring) for ring in rings))


def capitals(words: str, x: float, y: float, height: float, face: str = BOLD, **more: Any) -> Lettering:
    """Capitals `height` mm tall (that of the H), baseline at y."""
    return lettering(words, x, y, height / height_of("H", face), face, **more)


# ------------------------------------------------------------------ the sheet


@dataclass
class Paper:
    """A sheet of `width` x `height` mm; `scale` is the size of the file to the size drawn: the order gives the true one."""

    width: float = 60.0
    height: float = 40.0
    scale: float = 0.8
    spot: bool = True
    shades: dict[str, Sequence[float]] = field(default_factory=dict)
    content: list[str] = field(default_factory=list)
    printed: BaseGeometry = field(default_factory=shapely.Polygon)
    cut_line: BaseGeometry | None = None
    states: dict[str, dict[str, Any]] = field(default_factory=dict)
    resources: list[Any] = field(default_factory=list)
    page_keys: dict[str, Any] = field(default_factory=dict)
    used: list[str] = field(default_factory=list)
    svg: list[str] = field(default_factory=list)
    stroked: bool = False

    # ---- inks

    def shade(self, ink: str) -> Sequence[float]:
        """sRGB of an ink, 0 to 1."""
        return self.shades.get(ink) or INKS[ink]

    def _set(self, ink: str | None, stroke: bool, tint: float = 1.0) -> str:
        if ink is None:
            return "1 G" if stroke else "1 g"
        if ink == CUT:
            return self._spot(ink, stroke, 1.0)
        if not self.spot:
            parts = " ".join(f"{1 - tint * (1 - part):.5f}" for part in self.shade(ink))
            return f"{parts} {'RG' if stroke else 'rg'}"
        return self._spot(ink, stroke, tint)

    def _spot(self, ink: str, stroke: bool, tint: float) -> str:
        if ink not in self.used:
            self.used.append(ink)
        number = self.used.index(ink)
        return f"/I{number} {'CS' if stroke else 'cs'} {tint:g} {'SCN' if stroke else 'scn'}"

    # ---- shapes

    def fill(
        self, shape: Any, ink: str | None = NAVY, tint: float = 1.0, state: dict[str, Any] | None = None
    ) -> "Paper":
        """A shapely geometry or Lettering in an ink; None is the white of the paper.  `state`: a graphics state."""
        geometry = shape.shape if isinstance(shape, Lettering) else shape
        outline = shape.operators if isinstance(shape, Lettering) else path(geometry)
        paint = "f" if isinstance(shape, Lettering) else "f*"  # contours of letters may overlap
        body = f"{self._set(ink, False, tint)} {outline} {paint}"
        self.content.append(self._within(body, state))
        self._count(geometry, ink)
        colour = "#ffffff" if ink is None else hex_of([1 - tint * (1 - part) for part in self.shade(ink)])
        rule = "nonzero" if paint == "f" else "evenodd"
        self.svg.append(f'<path fill="{colour}" fill-rule="{rule}" d="{svg_path(outline)}"/>')
        return self

    def stroke(
        self,
        line: Any,
        pen: float,
        ink: str | None = NAVY,
        state: dict[str, Any] | None = None,
        more: str = "",
    ) -> "Paper":
        """The line of a shapely geometry drawn with a pen, mm; butt ends and mitred corners as PDF has them."""
        outline = path(line)
        self.content.append(self._within(f"{self._set(ink, True)} {pen:.5f} w {more} {outline} S", state))
        self._count(line.buffer(max(pen, 1e-3) / 2, cap_style="flat", join_style="mitre"), ink)
        colour = "#ffffff" if ink is None else hex_of(self.shade(ink))
        self.svg.append(
            f'<path fill="none" stroke="{colour}" stroke-width="{pen:g}" d="{svg_path(outline)}"/>'
        )
        return self

    def box(
        self, x: float, y: float, width: float, height: float, ink: str | None = NAVY, **more: Any
    ) -> "Paper":
        """A filled rectangle."""
        return self.fill(shapely.box(x, y, x + width, y + height), ink, **more)

    def disc(self, x: float, y: float, radius: float, ink: str | None = NAVY, **more: Any) -> "Paper":
        """A filled disc."""
        return self.fill(disc(x, y, radius), ink, **more)

    def cut(self, shape: BaseGeometry) -> "Paper":
        """A cut line in a spot colour of its own."""
        self.content.append(f"{self._spot(CUT, True, 1.0)} 0.1 w {path(shape)} S")
        self.cut_line = shape if self.cut_line is None else self.cut_line.union(shape)
        return self

    def say(self, operators: str, shape: BaseGeometry | None = None) -> "Paper":
        """Operators as they stand, and what they cover."""
        self.content.append(operators)
        if shape is not None:
            self._count(shape, "")
        return self

    def _within(self, body: str, state: dict[str, Any] | None) -> str:
        if not state:
            return body
        name = f"G{len(self.states)}"
        self.states[name] = state
        return f"q /{name} gs {body} Q"

    def _count(self, shape: BaseGeometry, ink: str | None) -> None:
        if ink is not None:
            self.printed = shapely.box(*self.printed.union(shapely.box(*shape.bounds)).bounds)

    # ---- what is ordered

    def size(self, by_cut: bool = False) -> tuple[float, float]:
        """Width and height that are to be ordered, mm."""
        shape = self.cut_line if by_cut and self.cut_line is not None else self.printed
        x0, y0, x1, y1 = shape.bounds
        return x1 - x0, y1 - y0

    # ---- files

    def pdf(self, **more: Any) -> bytes:
        """The sheet as PDF."""

        def prepare(pdf: pikepdf.Pdf) -> Any:
            spaces = {
                f"I{n}": _separation(pdf, ink, self.shades.get(ink) or INKS.get(ink, (1, 0, 1)))
                for n, ink in enumerate(self.used)
            }
            found = Dictionary(ColorSpace=Dictionary(**spaces), ExtGState=Dictionary(
                **{name: Dictionary(**state) for name, state in self.states.items()}))  # fmt: skip
            for adds in self.resources:
                adds(pdf, found)
            return found

        k = self.scale
        body = f"{k:g} 0 0 {-k:g} 0 {k * self.height:.6f} cm\n" + "\n".join(self.content)
        return pdf_of(
            body, self.width * k, self.height * k, prepare=prepare, page_keys=self.page_keys, **more
        )

    def svg_file(self, sized: bool = False) -> bytes:
        """The sheet as SVG, its view box in mm; with `sized`, width and height too."""
        size = f' width="{self.width:g}mm" height="{self.height:g}mm"' if sized else ""
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {self.width:g} {self.height:g}"{size}>'
            + "".join(self.svg)
            + "</svg>"
        ).encode()

    def eps(self) -> bytes:
        """The sheet as EPS in DeviceRGB or Separation: the same operators under their PostScript names."""
        k = PT
        words = {"m": "moveto", "l": "lineto", "c": "curveto", "h": "closepath"}
        lines = [
            "%!PS-Adobe-3.0 EPSF-3.0",
            f"%%BoundingBox: 0 0 {round(self.width * k) + 1} {round(self.height * k) + 1}", "%%EndComments",
            f"gsave {k:.6f} {-k:.6f} scale 0 {-self.height:g} translate",
        ]  # fmt: skip
        for number, ink in enumerate(self.used):
            r, g, b = self.shade(ink)
            lines.append(
                f"/I{number} [/Separation ({ink}) /DeviceRGB {{dup {r - 1:.5f} mul 1 add exch dup {g - 1:.5f} mul 1 add exch "
                f"{b - 1:.5f} mul 1 add}}] def"
            )
        for line in self.content:
            tokens = [words.get(token, token) for token in line.split()]
            said = " ".join(tokens)
            for number in range(len(self.used)):
                for tail in ("cs", "CS"):
                    said = said.replace(f"/I{number} {tail} ", f"I{number} setcolorspace ")
            said = (
                said.replace(" scn", " setcolor")
                .replace(" SCN", " setcolor")
                .replace(" f*", " eofill")
                .replace("h f", "h fill")
                .replace(" S", " stroke")
            )
            said = (
                said.replace(" rg ", " setrgbcolor ")
                .replace(" RG ", " setrgbcolor ")
                .replace(" w ", " setlinewidth ")
            )
            said = said.replace("1 g ", "1 setgray ").replace("1 G ", "1 setgray ")
            lines.append(said)
        return ("\n".join(lines) + "\ngrestore\n%%EOF\n").encode()


def _separation(pdf: pikepdf.Pdf, name: str, rgb: Sequence[float]) -> Any:
    function = Dictionary(FunctionType=2, Domain=[0, 1], C0=[1, 1, 1], C1=[float(part) for part in rgb], N=1)
    return pdf.make_indirect(Array([Name.Separation, Name("/" + name), Name.DeviceRGB, function]))


def path(geometry: BaseGeometry) -> str:
    """PDF path operators of a shapely geometry, mm."""
    parts = []
    for part in getattr(geometry, "geoms", [geometry]):
        if part.is_empty:
            continue
        closed = part.geom_type in ("Polygon", "LinearRing")
        rings = [part.exterior, *part.interiors] if part.geom_type == "Polygon" else [part]
        for ring in rings:
            points = list(ring.coords)[: -1 if closed else None]
            said = [f"{x:.5f} {y:.5f} {'l' if n else 'm'}" for n, (x, y) in enumerate(points)]
            parts.append(" ".join(said) + (" h" if closed else ""))
    return " ".join(parts)


def svg_path(operators: str) -> str:
    """The same path in SVG's words."""
    found, numbers = [], []
    for token in operators.split():
        if token in ("m", "l", "c", "h"):
            found.append({"m": "M", "l": "L", "c": "C", "h": "Z"}[token] + " ".join(numbers))
            numbers = []
        else:
            numbers.append(token)
    return "".join(found)


def live(
    words: str,
    x: float,
    y: float,
    em: float,
    face: str = PLAIN,
    *,
    width: float = 60,
    height: float = 40,
    scale: float = 0.8,
) -> bytes:
    """A PDF of live text in an embedded font, baseline at y; the file is `scale` of the true size."""
    document = pymupdf.open()
    page = document.new_page(width=width * scale * PT, height=height * scale * PT)
    font = pymupdf.Font(face).buffer if face in (SERIF, BOLD_SERIF, "cjk") else pymupdf_fonts.myfont(face)
    page.insert_font(fontname="F0", fontbuffer=font)
    page.insert_text((x * scale * PT, y * scale * PT), words, fontname="F0", fontsize=em * scale * PT)
    data: bytes = document.tobytes()
    document.close()
    return data


__all__ = ["Array", "Dictionary", "Name", "String", "scaled"]
