"""The artwork model: what will be produced, in millimetres at the ordered size.

Origin top left of the art bounds, x right, y down.  Loaders fill it, measurements read it, nobody changes it.
The model holds plain numbers; pixels are made on demand by `Artwork.coverage` and `Artwork.picture`.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from typing import Any, Literal, Protocol

import numpy as np

#: left, top, right, bottom in mm.
Box = tuple[float, float, float, float]
#: CIE L*a*b* relative to D50, the white of printing (ISO 13655) and of ICC profiles.
Lab = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class Path:
    """An outline as drawn, in mm: `steps` holds one letter a segment, `points` their end and control points.

    m (1 point) begins a subpath, l (1) is a line, c (3) a cubic Bezier curve, h (0) closes.
    """

    steps: str
    points: np.ndarray  # (n, 2) float64, mm
    even_odd: bool = False

    def moved(self, scale: float, dx: float, dy: float) -> "Path":
        """The path scaled, then shifted."""
        return Path(self.steps, self.points * scale + (dx, dy), self.even_odd)

    def polygons(self, tolerance_mm: float = 0.002) -> list[np.ndarray]:
        """Each subpath as an (n, 2) array of mm, curves flattened to within `tolerance_mm`; the last point is not repeated."""
        rings: list[np.ndarray] = []
        ring: list[np.ndarray] = []
        at = 0
        for step in self.steps:
            if step == "m":
                if len(ring) > 1:
                    rings.append(np.vstack(ring))
                ring = [self.points[at : at + 1]]
                at += 1
            elif step == "l":
                ring.append(self.points[at : at + 1])
                at += 1
            elif step == "c":
                ring.append(_bezier(ring[-1][-1], self.points[at : at + 3], tolerance_mm))
                at += 3
            elif len(ring) > 1:
                first = ring[0]
                rings.append(np.vstack(ring))
                ring = [first]
        if len(ring) > 1:
            rings.append(np.vstack(ring))
        return [ring[:-1] if len(ring) > 2 and np.allclose(ring[0], ring[-1]) else ring for ring in rings]

    def box(self) -> Box:
        """The box of its points; control points are counted, so it may be a little large."""
        if not len(self.points):
            return (0.0, 0.0, 0.0, 0.0)
        (x0, y0), (x1, y1) = self.points.min(0), self.points.max(0)
        return (float(x0), float(y0), float(x1), float(y1))


def _bezier(start: np.ndarray, points: np.ndarray, tolerance: float) -> np.ndarray:
    """Points of a cubic Bezier curve after its start, as few as keep within the tolerance."""
    bend = max(
        np.hypot(*(start - 2 * points[0] + points[1])), np.hypot(*(points[0] - 2 * points[1] + points[2]))
    )
    count = int(np.clip(np.ceil(np.sqrt(0.75 * bend / max(tolerance, 1e-9))), 1, 400))
    t = (np.arange(1, count + 1) / count)[:, None]
    u = 1 - t
    return u**3 * start + 3 * u * u * t * points[0] + 3 * u * t * t * points[1] + t**3 * points[2]


@dataclass(frozen=True, slots=True)
class Ink:
    """One flat colour that needs its own screen, plate, thread or foil.

    Attributes:
        number: its place in `Artwork.inks`.
        name: the spot colour's name, or a plain colour word with its hex value; safe to print.
        kind: how the file gives it.  "rgb" is also used for the inks found in a bitmap.
        hex: its look as sRGB, "#rrggbb".
        tints: fractions under 1 in which a tint of it is printed, each once.
    """

    number: int
    name: str
    kind: Literal["spot", "process", "rgb", "grey"]
    hex: str
    lab: Lab
    tints: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class Pen:
    """How a stroke is drawn: widths in mm across and along the stretch of its matrix; zero is a hairline."""

    least_mm: float
    greatest_mm: float
    dash_mm: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class Mark:
    """One drawing object that leaves something visible.

    Attributes:
        kind: "glyph" is one letter of live text; "stencil" a one-bit picture painted in an ink.
        box: what is visible of it, clipped, mm.
        ink: number of its ink; None for pictures, shadings and whatever has the colour of the ground.
        path: its outline (of a stroke: the middle line); None for pictures and shadings.
        hex: its own colour as sRGB, before near-equal colours were merged to an ink.
        opacity: 0 to 1.
        run: number of the `Artwork.text` line a glyph belongs to, else None.
        overprint: it is set to leave other plates uncut.
        layer: name of the innermost layer it is in.
        spot: name of the spot colour it is painted in, "" for others.
        role: "cut" for a cut outline: it guides a knife and is not printed, so it has no ink and is on no plate.
    """

    kind: Literal["fill", "stroke", "glyph", "stencil", "picture", "shading"]
    box: Box
    ink: int | None = None
    path: Path | None = None
    pen: Pen | None = None
    hex: str = ""
    opacity: float = 1.0
    run: int | None = None
    overprint: bool = False
    layer: str = ""
    even_odd: bool = False
    spot: str = ""
    role: str = ""


@dataclass(frozen=True, slots=True)
class Font:
    """A font that live text uses."""

    name: str
    embedded: bool
    substituted: bool = False  # drawn with a shipped font because the file does not carry it


@dataclass(frozen=True, slots=True)
class Glyph:
    """One letter of live text: its character, its outline in mm (None where the font has none) and its origin."""

    char: str
    path: Path | None
    origin: tuple[float, float]


@dataclass(frozen=True, slots=True)
class TextRun:
    """One run of live text in one font on one baseline.

    Attributes:
        along: unit vector along the baseline; `up` the unit vector square to it, towards the tops of the letters.
        em_mm: the em (point size) after every transform, mm, measured along `up`.
        visible: False for text drawn invisibly (render mode 3), as search layers of scans have it.
    """

    glyphs: tuple[Glyph, ...]
    font: Font
    em_mm: float
    along: tuple[float, float]
    up: tuple[float, float]
    ink: int | None
    box: Box
    visible: bool = True
    text: str = ""


@dataclass(frozen=True, slots=True)
class Picture:
    """A bitmap placed in the art.

    Attributes:
        pixels: width and height in pixels.
        box: where it is visible, mm.
        ppi: pixels per inch at the produced size across and down, after every scale in the file.
        true_ppi: the same counted at the detail it really has; None where that was not looked at.
        bits: bits a component; 1 for line art.
        jpeg_quality: estimated from its quantisation tables, 1 to 100; None where it is no JPEG.
        flat: one colour all over, so it is a box and not a picture.
        tone: what its pixels say (`preflight.pixels`), None for a flat one or a stencil.
    """

    pixels: tuple[int, int]
    box: Box
    ppi: tuple[float, float]
    true_ppi: tuple[float, float] | None = None
    bits: int = 8
    space: str = ""
    has_alpha: bool = False
    stencil: bool = False
    flat: bool = False
    jpeg_quality: float | None = None
    tone: Any = None

    @property
    def lowest_ppi(self) -> float:
        """The smaller of the two directions."""
        return min(self.ppi)


@dataclass(frozen=True, slots=True)
class Fade:
    """Continuous tone that is visible: a gradient, a soft shadow, a photograph, a halftone."""

    kind: Literal["gradient", "soft edge", "photograph", "halftone"]
    box: Box
    share: float = 1.0  # of the box that fades
    sure: float = 1.0
    lpi: float | None = None  # of a halftone


@dataclass(frozen=True, slots=True)
class Fact:
    """Something about the file's construction that a rule may mind, with its place.

    `kind` is one of: "hidden layer", "annotation", "extra page", "further channel", "off page", "invisible text",
    "hidden object", "soft mask", "blend mode", "opacity", "overprint", "white overprint", "registration colour", "marks
    outside trim", "removed link", "unsupported", "rendering", "damaged", "unread colour", "output intent",
    "proportions", "unsized" (the file does not say how large it is), "approximate colour" (shown as well as can be, and
    said so).
    """

    kind: str
    text: str
    box: Box | None = None
    count: int = 1


class Plates(Protocol):
    """What draws the art: one list of drawing calls an ink, at any resolution.  All lengths in mm of the file's page."""

    def coverage(self, ink: int | None, box: Box, pixels_per_mm: float) -> np.ndarray:
        """8-bit coverage of one ink (None: of all of them together)."""

    def picture(self, box: Box, pixels_per_mm: float, ground: tuple[int, int, int]) -> np.ndarray:
        """(h, w, 3) uint8 sRGB picture of the art on a ground."""


@dataclass(frozen=True, kw_only=True)
class Artwork:
    """One page of art at the ordered size.

    `marks`, `text`, `pictures`, `fades` and `facts` are in drawing order.  `ground` is what it goes on, as assumed or
    stated ("#ffffff" when nobody said).  `scale` is produced mm per mm of the file, `offset` the art's top left corner in
    mm of the file's page.
    """

    format: str
    kind: Literal["vector", "bitmap", "mixed"]
    page: int
    pages: int
    width_mm: float
    height_mm: float
    file_width_mm: float
    file_height_mm: float
    ground: str
    inks: tuple[Ink, ...]
    marks: tuple[Mark, ...]
    text: tuple[TextRun, ...]
    pictures: tuple[Picture, ...]
    fonts: tuple[Font, ...]
    fades: tuple[Fade, ...]
    facts: tuple[Fact, ...]
    plates: Plates = field(repr=False, compare=False)
    trim: Box | None = None  # the file's trim box in mm of the art
    page_box: Box = (0.0, 0.0, 0.0, 0.0)  # the sheet in mm of the art
    composite: bool = (
        False  # plates were derived from the composite picture (bitmap art, or live transparency)
    )
    plate_ppi: float | None = None  # of that picture at the produced size; None for exact plates
    scale: float = 1.0
    offset: tuple[float, float] = (0.0, 0.0)
    page_pdf: bytes | None = field(
        default=None, repr=False, compare=False
    )  # its page as PDF, for reports to place
    cache: dict[Any, Any] = field(default_factory=dict, repr=False, compare=False)

    def coverage(self, ink: Ink | int | None, box_mm: Box, pixels_per_mm: float) -> np.ndarray:
        """How far each pixel of a window is covered by an ink, knock-outs cut.

        Args:
            ink: the ink or its number; None for all inks together.
            box_mm: the window, mm from the top left of the art; it may reach past the art, where nothing is covered.
            pixels_per_mm: at the produced size.

        Returns:
            uint8 (rows, columns), 0 bare to 255 covered; round((right - left) * pixels_per_mm) columns and likewise rows.
            A tint counts as covered: its plate holds the shape, `Ink.tints` the strength.
        """
        number = ink.number if isinstance(ink, Ink) else ink
        return self.plates.coverage(number, self._on_page(box_mm), pixels_per_mm * self.scale)

    def picture(self, box_mm: Box, pixels_per_mm: float, ground: str | None = None) -> np.ndarray:
        """The look of a window on the ground, as (rows, columns, 3) uint8 sRGB."""
        shade = (ground or self.ground).lstrip("#")
        rgb = (int(shade[0:2], 16), int(shade[2:4], 16), int(shade[4:6], 16))
        return self.plates.picture(self._on_page(box_mm), pixels_per_mm * self.scale, rgb)

    def _on_page(self, box: Box) -> Box:
        (dx, dy), k = self.offset, self.scale
        return (box[0] / k + dx, box[1] / k + dy, box[2] / k + dx, box[3] / k + dy)

    @property
    def box(self) -> Box:
        """The whole art."""
        return (0.0, 0.0, self.width_mm, self.height_mm)

    def facts_of(self, *kinds: str) -> Iterator[Fact]:
        """The facts of these kinds, in order."""
        return (fact for fact in self.facts if fact.kind in kinds)

    def once(self, key: Any, make: Callable[[], Any]) -> Any:
        """`make()` the first time, the same result after that: a measurement shared by many rules is taken once."""
        if key not in self.cache:
            self.cache[key] = make()
        return self.cache[key]

    def resized(self, scale: float) -> "Artwork":
        """The same art produced `scale` times larger."""
        return placed(self, scale, (0.0, 0.0))


def placed(art: Artwork, scale: float, origin: tuple[float, float]) -> Artwork:
    """The art with `origin` (mm) as its new top left corner, then enlarged `scale` times; width and height are only scaled."""
    dx, dy = -origin[0] * scale, -origin[1] * scale

    def box(b: Box) -> Box:
        return (b[0] * scale + dx, b[1] * scale + dy, b[2] * scale + dx, b[3] * scale + dy)

    def path(p: Path | None) -> Path | None:
        return p.moved(scale, dx, dy) if p else None

    def pen(p: Pen | None) -> Pen | None:
        return (
            Pen(p.least_mm * scale, p.greatest_mm * scale, tuple(d * scale for d in p.dash_mm)) if p else None
        )

    def ppi(p: tuple[float, float]) -> tuple[float, float]:
        return (p[0] / scale, p[1] / scale)

    def run(t: TextRun) -> TextRun:
        glyphs = tuple(
            Glyph(g.char, path(g.path), (g.origin[0] * scale + dx, g.origin[1] * scale + dy))
            for g in t.glyphs
        )
        return replace(t, glyphs=glyphs, em_mm=t.em_mm * scale, box=box(t.box))

    return replace(
        art,
        width_mm=art.width_mm * scale,
        height_mm=art.height_mm * scale,
        marks=tuple(replace(m, box=box(m.box), path=path(m.path), pen=pen(m.pen)) for m in art.marks),
        text=tuple(run(t) for t in art.text),
        pictures=tuple(
            replace(p, box=box(p.box), ppi=ppi(p.ppi), true_ppi=ppi(p.true_ppi) if p.true_ppi else None)
            for p in art.pictures
        ),
        fades=tuple(replace(f, box=box(f.box), lpi=f.lpi and f.lpi / scale) for f in art.fades),
        facts=tuple(replace(f, box=box(f.box) if f.box else None) for f in art.facts),
        trim=box(art.trim) if art.trim else None,
        page_box=box(art.page_box),
        plate_ppi=art.plate_ppi and art.plate_ppi / scale,
        scale=art.scale * scale,
        offset=(art.offset[0] + origin[0] / art.scale, art.offset[1] + origin[1] / art.scale),
        cache={},
    )


def union(boxes: Sequence[Box]) -> Box:
    """The box around boxes; of none, an empty one at the origin."""
    if not boxes:
        return (0.0, 0.0, 0.0, 0.0)
    return (
        min(b[0] for b in boxes),
        min(b[1] for b in boxes),
        max(b[2] for b in boxes),
        max(b[3] for b in boxes),
    )
