"""SVG becomes a one-page PDF with real vectors: cleaned with lxml, drawn once by typst, again by resvg for comparison.

Cleaning makes the file safe (nothing is fetched, nothing grows without end) and honest: what both engines would
misread in silence is rewritten in simple terms, and what can't be rewritten is reported.
"""

import base64
import binascii
import colorsys
import functools
import math
import re
import tempfile
import urllib.parse
import warnings
import zlib
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from io import BytesIO
from pathlib import Path
from typing import Any

import numpy as np
import pymupdf
import pymupdf_fonts
import resvg_py
import typst
from lxml import etree
from PIL import Image

from preflight import colour
from preflight.artwork import Fact, Font
from preflight.errors import Unreadable
from preflight.load.inking import CUT_WORDS
from preflight.load.svg_cut import NAME, RESERVED, mark_cut_lines
from preflight.quantity import plain

MAX_BYTES = 64 << 20  # of the file, unpacked
MAX_PIXELS = 100_000_000  # of all placed pictures together
MAX_ELEMENTS = 300_000  # also after every `use`, pattern and marker is drawn out
MAX_NESTING = 100  # of elements in elements, references followed: deeper ones overflow the engines' stacks
MAX_ISOLATED = 40  # of groups in groups that need a canvas of their own (opacity, filter, mask, clip)
MAX_STYLE_WORK = 10_000_000  # style rules times elements
MAX_TILES = 1_000_000  # of a pattern on the page
MAX_LETTERS = 100_000
MAX_VALUE = 2000  # characters of a colour, a font or a link in a style
MAX_NESTED_DRAWINGS = 3
MAX_SIDE_PX = 96 * 5000 / 25.4  # a page side of 5 m
LEAST_SIDE_PX = 8.0
#: typst draws whatever has a filter as a bitmap of 4 pixels a point: 3 a CSS pixel.
FILTER_PX = 3.0
MAX_FILTER_PIXELS = 60_000_000
MAX_FILTER_WORK = 2e9  # pixels times taps of one filter primitive: about ten seconds (measured)

SVG = "http://www.w3.org/2000/svg"
XLINK = "http://www.w3.org/1999/xlink"
_LAYER = "{http://www.inkscape.org/namespaces/inkscape}"
_HREF = f"{{{XLINK}}}href"
#: CSS Values and Units 4: absolute lengths in px; em and ex at the initial font size.
_PX = {
    "": 1.0, "px": 1.0, "pt": 96 / 72, "pc": 16.0, "mm": 96 / 25.4, "cm": 96 / 2.54, "in": 96.0, "q": 96 / 101.6,
    "em": 16.0, "rem": 16.0, "ex": 8.0,
}  # fmt: skip
_PAINTS = frozenset({"fill", "stroke", "stop-color", "flood-color", "lighting-color", "color", "solid-color"})
_KEYWORDS = {
    word.lower(): word
    for word in ("none", "inherit", "currentColor", "context-fill", "context-stroke", "initial", "unset")
}
_GRAPHICS = frozenset(
    {"path", "rect", "circle", "ellipse", "line", "polyline", "polygon", "text", "image", "use"}
)
_TEXT = frozenset({"text", "tspan", "textPath", "tref", "altGlyph", "a"})
_UNDRAWN = frozenset({"defs", "symbol", "clipPath", "mask", "pattern", "marker", "filter"})
#: Properties that decide what is reported and how far the drawing grows.
_TELLING = frozenset(
    {
        "display", "visibility", "font", "font-family", "font-weight", "font-style", "opacity", "filter", "mask",
        "clip-path", "mix-blend-mode", "fill", "stroke", "marker", "marker-start", "marker-mid", "marker-end", "href",
    }
)  # fmt: skip
_DROPPED = frozenset(
    {
        "script", "foreignObject", "animate", "animateColor", "animateTransform", "animateMotion", "set", "discard",
        "handler", "listener", "audio", "video", "iframe", "canvas", "font", "font-face", "color-profile", "cursor",
        "metadata", "desc", "title",
    }
)  # fmt: skip
_VANISHING = {
    "meshgradient": "mesh gradient", "meshGradient": "mesh gradient", "hatch": "hatching", "flowRoot": "flowed text",
    "font": "letters drawn as an SVG font", "foreignObject": "a piece of web page",
}  # fmt: skip
_ISOLATING = ("opacity", "filter", "mask", "clip-path", "mix-blend-mode")
_URL = re.compile(r"url\(\s*(?:\"([^\"]*)\"|'([^']*)'|([^)\"']*))\s*\)", re.I)
_CALL = re.compile(r"\s*([a-z][a-z-]*)\(([^()]*)\)\s*", re.I)

_REMEDY = "Please export it again as a plain SVG or as PDF."
#: Entities of the file itself are put in; ones that name a file are refused (lxml 5, not yet in its stubs).
_INTERNAL_ENTITIES: Any = "internal"
_SANS, _MONO = "FiraGO", "Fira Mono"


@dataclass(frozen=True)
class Converted:
    """An SVG as PDF.

    Attributes:
        pdf: one page of exactly `width_mm` x `height_mm`.
        facts: what was hidden, removed, not understood or is drawn as a live effect.
        fonts: the families that live text asks for; all are drawn with one shipped font.
        spot_names: "#rrggbb" to the name of the spot colour that the file gives it.
        second: draws the cleaned file with another engine: pixels across in, (rows, columns, 4) uint8 RGBA out, alpha
            not multiplied in; raises Unreadable where that engine can't.
        pixel_sizes: (width, height) of each placed picture; a bitmap of another size in the PDF is a drawn effect.
    """

    pdf: bytes
    facts: tuple[Fact, ...]
    fonts: tuple[Font, ...]
    spot_names: Mapping[str, str]
    width_mm: float
    height_mm: float
    second: Callable[[int], np.ndarray] = field(repr=False, compare=False)
    pixel_sizes: tuple[tuple[int, int], ...] = ()


def to_pdf(data: bytes, cut_words: tuple[str, ...] = CUT_WORDS) -> Converted:
    """Convert an SVG or SVGZ file; whatever a layer or object names with `cut_words` becomes the spot of a cut outline.

    Raises:
        Unreadable: it is not well-formed, not SVG, states no drawing, or grows past a limit when it is drawn.
    """
    cleaner = _Cleaner()
    try:
        root = cleaner.clean(data)
        width, height = _sized(root, cleaner)
        cleaner.bound_effects(root, width, height)
        if mark_cut_lines(root, cut_words):
            cleaner.spot_names[RESERVED] = NAME
        clean = etree.tostring(root, encoding="utf-8")
        shipped = cleaner.shipped_fonts()
        pdf = _typeset(clean, width, height, shipped)
        with pymupdf.open(stream=pdf, filetype="pdf") as document:
            live = bool(document.get_page_fonts(0))
    except (RecursionError, MemoryError) as error:
        raise Unreadable("This SVG is built too deep or too large to be drawn.", _REMEDY) from error
    except (etree.LxmlError, ValueError, RuntimeError, OverflowError) as error:
        raise Unreadable(f"This SVG can't be drawn ({type(error).__name__}).", _REMEDY) from error
    fonts = tuple(Font(name, embedded=False, substituted=True) for name in cleaner.fonts) if live else ()
    return Converted(
        pdf=pdf, facts=cleaner.facts(), fonts=fonts, spot_names=dict(cleaner.spot_names),
        width_mm=width * 25.4 / 96, height_mm=height * 25.4 / 96,
        second=functools.partial(_drawn_again, clean, width, height, shipped), pixel_sizes=tuple(cleaner.pixel_sizes),
    )  # fmt: skip


# ---- drawing


@contextmanager
def _font_folder(names: tuple[str, ...]) -> Iterator[str]:
    """A folder with shipped fonts, since both engines take fonts as files only."""
    with tempfile.TemporaryDirectory(prefix="preflight-") as folder:
        for name in names:
            (Path(folder) / f"{name}.ttf").write_bytes(_font_data(name))
        yield folder


@functools.cache
def _font_data(name: str) -> bytes:
    return bytes(pymupdf_fonts.myfont(name))


def _typeset(svg: bytes, width: float, height: float, fonts: tuple[str, ...]) -> bytes:
    """The drawing as a PDF page of width x height px."""
    size = f"width: {width * 0.75:.6f}pt, height: {height * 0.75:.6f}pt"
    source = f'#set page({size}, margin: 0pt, fill: none)\n#image("art.svg", {size}, fit: "stretch")'
    with _font_folder(fonts) as folder:
        (Path(folder) / "art.svg").write_bytes(svg)
        found = typst.Fonts(include_system_fonts=False, include_embedded_fonts=False, font_paths=[folder])
        with _panics_caught():
            compiler = typst.Compiler(source.encode(), root=folder, font_paths=found)
            made = compiler.compile(format="pdf", pdf_tags=False, timestamp=0)
    pdf = made[0] if isinstance(made, list) else made
    assert pdf is not None
    return pdf


def _drawn_again(
    svg: bytes, width: float, height: float, fonts: tuple[str, ...], pixels_across: int
) -> np.ndarray:
    if pixels_across < 1 or pixels_across**2 * height / width > MAX_PIXELS:
        raise Unreadable(f"A picture {pixels_across} pixels wide is more than can be drawn.", _REMEDY)
    # the engine rounds a drawing's own size to whole pixels: stated in the pixels asked for, that costs nothing
    root = etree.fromstring(svg, etree.XMLParser(resolve_entities=False, no_network=True, huge_tree=True))
    if not root.get("viewBox"):
        root.set("viewBox", f"0 0 {width!r} {height!r}")
    root.set("width", str(pixels_across))
    root.set("height", repr(pixels_across * height / width))
    with _font_folder(fonts) as folder, _panics_caught():
        png = resvg_py.svg_to_bytes(
            svg_string=etree.tostring(root, encoding="unicode"), width=pixels_across, dpi=96, languages=["en"],
            skip_system_fonts=True, font_files=[str(Path(folder) / f"{name}.ttf") for name in fonts],
            resources_dir=folder, font_family=_SANS, serif_family=_SANS, sans_serif_family=_SANS,
            cursive_family=_SANS, fantasy_family=_SANS, monospace_family=_MONO,
        )  # fmt: skip
        with Image.open(BytesIO(bytes(png))) as image:
            return np.array(image.convert("RGBA"))


@contextmanager
def _panics_caught() -> Iterator[None]:
    """Turn an engine's failure into Unreadable: a panic of theirs is no Exception in Python, and must not end the batch."""
    try:
        yield
    except Unreadable:
        raise
    except BaseException as error:
        if isinstance(error, Exception) or type(error).__name__ == "PanicException":
            raise Unreadable(
                "This SVG can't be drawn: the drawing engine gives up on it.", _REMEDY
            ) from error
        raise


# ---- reading


def _unpacked(data: bytes) -> bytes:
    if data[:2] == b"\x1f\x8b":
        unpacker = zlib.decompressobj(31)
        try:
            data = unpacker.decompress(data, MAX_BYTES + 1)
        except zlib.error:
            raise Unreadable("This compressed SVG is damaged.", _REMEDY) from None
        if len(data) <= MAX_BYTES and not unpacker.eof:
            raise Unreadable("This compressed SVG is cut off.", _REMEDY)
    if len(data) > MAX_BYTES:
        raise Unreadable(f"This SVG is larger than {MAX_BYTES >> 20} MB when it is unpacked.", _REMEDY)
    return data


def _parsed(data: bytes) -> "etree._Element":
    """The root element; nothing outside the file is read, and entities can't multiply."""
    if b"\0" not in data[:4]:  # not in UTF-16
        data = data.strip(b"\0 \t\r\n")
    for _ in range(8):
        parser = etree.XMLParser(
            resolve_entities=_INTERNAL_ENTITIES, no_network=True, load_dtd=False, dtd_validation=False, remove_comments=True,
            remove_pis=True, huge_tree=_entities_are_harmless(data),
        )  # fmt: skip
        try:
            return etree.fromstring(data, parser)
        except etree.XMLSyntaxError as error:
            repaired = _repaired(data, str(error))
            if repaired is None or repaired == data:
                line = f" (line {error.lineno})" if error.lineno else ""
                raise Unreadable(
                    f"This SVG is not well-formed XML{line}: it is damaged or cut off.", _REMEDY
                ) from error
            data = repaired
    raise Unreadable("This SVG is not well-formed XML.", _REMEDY)


def _repaired(data: bytes, trouble: str) -> bytes | None:
    """The two faults that drawing programs leave and browsers forgive: an undeclared prefix and an undeclared encoding."""
    prefix = re.search(r"Namespace prefix ([\w.-]+) .*not defined", trouble)
    if prefix:
        name = prefix[1].encode()
        space = XLINK if prefix[1] == "xlink" else f"urn:undeclared:{prefix[1]}"
        return re.sub(
            rb"<((?:[\w.-]+:)?svg)\b", rb"<\1 xmlns:" + name + b'="' + space.encode() + b'"', data, count=1
        )
    try:
        data.decode("utf-8")
    except UnicodeDecodeError:
        if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
            return None
        return re.sub(rb"^<\?xml[^>]*\?>", b"", data).decode("cp1252", "replace").encode("utf-8")
    return None


def _entities_are_harmless(data: bytes) -> bool:
    """Whether the parser's limits may be lifted, which pictures over 7 MB placed in the file need."""
    try:
        head = data[:1024].decode("ascii", "replace")
        data.decode("utf-8")
    except UnicodeDecodeError:
        return False
    encoding = re.search(r"encoding\s*=\s*[\"']([\w.-]+)", head)
    if encoding and encoding[1].lower() not in ("utf-8", "us-ascii", "ascii", "iso-8859-1"):
        return False
    entities = re.findall(rb"<!ENTITY\s+([\w.-]{1,60})\s+(?:\"([^\"]*)\"|'([^']*)')\s*>", data)
    if len(entities) != data.count(b"<!ENTITY") or len(entities) > 60:
        return False
    if any(b"&" in one + other or b"%" in one + other for _, one, other in entities):
        return False
    return (
        sum(data.count(b"&" + name + b";") * len(one + other) for name, one, other in entities) <= MAX_BYTES
    )


def _local(element: "etree._Element") -> str:
    return etree.QName(element).localname


def _length(text: str | None) -> float | None:
    """A CSS length in px; None for percentages and whatever else can't be told."""
    match = re.fullmatch(
        r"\s*\+?(\d+\.?\d*(?:e[+-]?\d+)?|\.\d+(?:e[+-]?\d+)?)\s*([a-z]*)\s*", text or "", re.I
    )
    if not match or match[2].lower() not in _PX:
        return None
    value = float(match[1]) * _PX[match[2].lower()]
    return value if 0 < value < math.inf else None


def _numbers(text: str | None) -> list[float]:
    found = re.findall(r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?", text or "")
    return [float(n) for n in found]


def _sized(root: "etree._Element", cleaner: "_Cleaner") -> tuple[float, float]:
    """Width and height in px, also written into the root: the engines differ where one of them is missing."""
    box = _numbers(root.get("viewBox"))
    view = box if len(box) == 4 and 0 < box[2] < math.inf and 0 < box[3] < math.inf else None
    width, height = _length(root.get("width")), _length(root.get("height"))
    stated = width is not None or height is not None
    if view is None:
        root.attrib.pop("viewBox", "")
        if width is None or height is None:
            view = _drawn_box(root, cleaner)
            root.set("viewBox", " ".join(f"{v:.9g}" for v in view))
            width = height = None
    if view:
        if width is None and height is None:
            width, height = view[2], view[3]
        elif height is None and width is not None:
            height = width * view[3] / view[2]
        elif width is None and height is not None:
            width = height * view[2] / view[3]
    assert width is not None and height is not None
    # Figures without a meaning, as CAD and icon programs write them: a page has to be between 3 pt (PDF) and 5 m.
    factor = max(1.0, LEAST_SIDE_PX / min(width, height)) if min(width, height) > 0 else 1.0
    factor = min(factor, MAX_SIDE_PX / max(width, height))
    if factor != 1:
        if view is None:
            root.set("viewBox", f"0 0 {width:.9g} {height:.9g}")
        if stated:
            cleaner.note(
                "unsupported",
                "Its stated size is beyond all use (under 2 mm or over 5 m); another was taken.",
            )
        width, height = width * factor, height * factor
    if min(width, height) < 4:
        raise Unreadable("This SVG states a size that can't be drawn: it is endlessly long or thin.", _REMEDY)
    root.set("width", f"{width:.9g}")
    root.set("height", f"{height:.9g}")
    return width, height


def _drawn_box(root: "etree._Element", cleaner: "_Cleaner") -> list[float]:
    """x, y, width, height of what is drawn, for a file that states no size at all: found by drawing it on a vast sheet."""
    side = 40_000.0
    for name, value in (
        ("viewBox", f"{-side / 2} {-side / 2} {side} {side}"),
        ("width", f"{side}"),
        ("height", f"{side}"),
    ):
        root.set(name, value)
    for each in root.iter(f"{{{SVG}}}filter"):
        _empty_filter(each)
    pdf = _typeset(etree.tostring(root, encoding="utf-8"), side, side, cleaner.shipped_fonts())
    with pymupdf.open(stream=pdf, filetype="pdf") as document:
        boxes = [pymupdf.Rect(box) for _, box in document[0].get_bboxlog()]
    x0, y0, x1, y1 = (
        f(getattr(b, k) for b in boxes) if boxes else 0
        for f, k in ((min, "x0"), (min, "y0"), (max, "x1"), (max, "y1"))
    )
    box = [x0 / 0.75 - side / 2, y0 / 0.75 - side / 2, (x1 - x0) / 0.75, (y1 - y0) / 0.75]
    if box[2] <= 0 or box[3] <= 0:
        raise Unreadable("This SVG states no size and draws nothing.", _REMEDY)
    return box


# ---- style sheets


@dataclass
class _Rule:
    """One selector with its declarations; only its last part (after blanks and > + ~) is matched, which errs to wide."""

    tag: str
    ids: frozenset[str]
    classes: frozenset[str]
    weight: tuple[int, int, int]
    declared: dict[str, str]

    def fits(self, tag: str, own_id: str, classes: frozenset[str]) -> bool:
        return (
            (not self.tag or self.tag == tag)
            and self.classes <= classes
            and (not self.ids or self.ids == frozenset({own_id}))
        )


def _blocks(css: str, cleaner: "_Cleaner", depth: int = 0) -> list[tuple[str, str]]:
    """(selectors, declarations) of a style sheet; @media for screens and print are opened, other @-rules left out."""
    css = re.sub(r"/\*.*?(?:\*/|\Z)|<!--|-->", " ", css, flags=re.S)
    found, at = [], 0
    while match := re.compile(r"[{;}]").search(css, at):
        prelude, at = css[at : match.start()].strip(), match.end()
        if prelude.lower().startswith("@import"):
            cleaner.note("removed link", "A style sheet outside the file is not read.")
        if match[0] != "{":
            continue
        if not prelude.startswith("@"):
            end = css.find("}", at)
            end = len(css) if end < 0 else end
            found.append((prelude, css[at:end]))
            at = end + 1
            continue
        start, level = at, 1
        while level and (brace := re.compile(r"[{}]").search(css, at)):
            level += 1 if brace[0] == "{" else -1
            at = brace.end()
        if level:
            break
        if re.match(r"@media\s+(?:only\s+)?(all|screen|print)\b[^,()]*$", prelude, re.I) and depth < 3:
            found += _blocks(css[start : at - 1], cleaner, depth + 1)
    return found


def _declarations(text: str) -> dict[str, str]:
    """Property to value; semicolons in quotes and brackets don't end a value."""
    parts, start, level, quote = [], 0, 0, ""
    for match in re.finditer(r"[;()\"']", text):
        sign = match[0]
        if quote:
            quote = "" if sign == quote else quote
        elif sign in "\"'":
            quote = sign
        elif sign == "(":
            level += 1
        elif sign == ")":
            level = max(0, level - 1)
        elif not level:
            parts.append(text[start : match.start()])
            start = match.end()
    declared = {}
    for part in (*parts, text[start:]):
        name, colon, value = part.partition(":")
        name = name.strip()
        if colon and re.fullmatch(r"-{0,2}[a-zA-Z_][\w-]{0,80}", name):
            declared[name if name.startswith("--") else name.lower()] = value.strip()
    return declared


def _written(declared: Mapping[str, str]) -> str:
    return ";".join(f"{name}:{value}" for name, value in declared.items())


def _important(value: str) -> tuple[str, str]:
    bare = value.strip()
    mark = re.search(r"!\s{0,9}important$", bare[-40:], re.I)
    return (bare[: len(bare) - len(mark[0])].strip(), " !important") if mark else (bare, "")


# ---- colours


def _colour(text: str) -> tuple[int, int, int, float] | None:
    """Red, green, blue 0 to 255 and alpha of a CSS Color 4 colour; None when it can't be told."""
    words = text.strip()
    if re.fullmatch(r"#[0-9a-fA-F]{4}|#[0-9a-fA-F]{8}", words):
        digits = words[1:] if len(words) == 9 else "".join(d * 2 for d in words[1:])
        return (*colour.rgb_of(digits[:6]), int(digits[6:], 16) / 255)
    if words.lower() == "transparent":
        return (0, 0, 0, 0.0)
    call = _CALL.fullmatch(words)
    if call is None:
        # Without its "#" a hexadecimal figure is no colour to any browser.
        named = words.startswith("#") or not re.fullmatch(r"[0-9a-fA-F]{3}|[0-9a-fA-F]{6}", words)
        shade = colour.named(words) if named and re.fullmatch(r"#?[a-zA-Z0-9]+", words) else None
        return (*colour.rgb_of(shade), 1.0) if shade else None
    try:
        return _called(call[1].lower(), call[2])
    except (ValueError, OverflowError):
        return None


def _called(name: str, inside: str) -> tuple[int, int, int, float] | None:
    """The colour functions of CSS Color 4 and 5.  Raises ValueError where an argument is none."""
    before, slash, after = inside.partition("/")
    given = [word for word in re.split(r"[\s,]+", before.strip()) if word]
    alpha = after.strip() if slash else ""
    space = given.pop(0).lower() if name == "color" and given else ""
    count = {"device-cmyk": 4, "device-gray": 1}.get(name, 3)
    if not alpha and len(given) == count + 1:
        alpha = given.pop()
    if len(given) != count:
        return None
    opacity = min(1.0, max(0.0, _part(alpha, 1.0))) if alpha else 1.0
    if name in ("rgb", "rgba"):
        rgb = [_part(v, 255.0) / 255 for v in given]
    elif name == "device-rgb" or (name == "color" and space == "srgb"):
        rgb = [_part(v, 1.0) for v in given]
    elif name in ("hsl", "hsla"):
        share = [_part(v if v.endswith("%") else v + "%", 1.0) for v in given[1:]]
        rgb = list(colorsys.hls_to_rgb(_turn(given[0]), share[1], share[0]))
    elif name == "hwb":
        white, black = (_part(v if v.endswith("%") else v + "%", 1.0) for v in given[1:])
        total = max(1.0, white + black)
        white, black = white / total, black / total
        rgb = [v * (1 - white - black) + white for v in colorsys.hls_to_rgb(_turn(given[0]), 0.5, 1.0)]
    elif name in ("lab", "lch"):  # CSS Color 4 section 9: relative to D50, as everywhere here
        first, second = _part(given[1], 125.0 if name == "lab" else 150.0), given[2]
        a, b = (first, _part(second, 125.0)) if name == "lab" else _polar(first, second)
        rgb = [v / 255 for v in colour.rgb_of(colour.hex_of_lab((_part(given[0], 100.0), a, b)))]
    elif name in ("oklab", "oklch"):
        first, second = _part(given[1], 0.4), given[2]
        a, b = (first, _part(second, 0.4)) if name == "oklab" else _polar(first, second)
        rgb = _from_oklab(_part(given[0], 1.0), a, b)
    elif name == "device-gray":
        rgb = [_part(given[0], 1.0)] * 3
    elif name == "device-cmyk":  # CSS Color 5 section 13: the naive conversion, in want of a profile
        c, m, y, k = (min(1.0, max(0.0, _part(v, 1.0))) for v in given)
        rgb = [1 - min(1.0, v * (1 - k) + k) for v in (c, m, y)]
    else:
        return None
    r, g, b = (int(round(255 * min(1.0, max(0.0, v)))) for v in rgb)
    return (r, g, b, opacity)


def _part(word: str, full: float) -> float:
    """A number, or a percentage of `full`."""
    if word.lower() == "none":
        return 0.0
    value = float(word[:-1]) / 100 * full if word.endswith("%") else float(word)
    if not math.isfinite(value):
        raise ValueError(word)
    return value


def _turn(word: str) -> float:
    """An angle as a fraction of a turn."""
    match = re.fullmatch(r"([-+.\deE]+?)(deg|grad|rad|turn)?", word, re.I)
    if not match:
        raise ValueError(word)
    return (
        float(match[1])
        / {"grad": 400.0, "rad": 2 * math.pi, "turn": 1.0}.get((match[2] or "").lower(), 360.0)
        % 1.0
    )


def _polar(chroma: float, hue: str) -> tuple[float, float]:
    angle = 2 * math.pi * _turn(hue)
    return chroma * math.cos(angle), chroma * math.sin(angle)


def _from_oklab(lightness: float, a: float, b: float) -> list[float]:
    """Components 0 to 1 (sRGB) of Oklab; matrices of B. Ottosson 2020, as in CSS Color 4 section 18."""
    l3 = (lightness + 0.3963377774 * a + 0.2158037573 * b) ** 3
    m3 = (lightness - 0.1055613458 * a - 0.0638541728 * b) ** 3
    s3 = (lightness - 0.0894841775 * a - 1.2914855480 * b) ** 3
    light = (
        4.0767416621 * l3 - 3.3077115913 * m3 + 0.2309699292 * s3,
        -1.2684380046 * l3 + 2.6097574011 * m3 - 0.3413193965 * s3,
        -0.0041960863 * l3 - 0.7034186147 * m3 + 1.7076147010 * s3,
    )
    return [12.92 * v if v <= 0.0031308 else 1.055 * v ** (1 / 2.4) - 0.055 for v in light]


# ---- cleaning


@dataclass
class _Look:
    """What an element inherits that matters for reports."""

    hidden: bool = False  # by display: none, which nothing inside can undo
    visible: bool = True
    undrawn: bool = False  # inside defs and the like
    family: str = ""
    bold: bool = False
    slanted: bool = False


class _Cleaner:
    """Cleans one file and the drawings placed in it, and keeps what there is to report."""

    def __init__(self) -> None:
        self.notes: Counter[tuple[str, str]] = Counter()
        self.fonts: dict[str, None] = {}
        self.spot_names: dict[str, str] = {}
        self.pixel_sizes: list[tuple[int, int]] = []
        self.letters: Counter[str] = Counter()
        self.elements = self.pixels = self.bytes = 0
        self.bold = self.slanted = self.mono = False
        self.variables: dict[str, set[str]] = {}

    def note(self, kind: str, text: str, count: int = 1) -> None:
        """Keep a fact; the same one is counted up."""
        self.notes[kind, text] += count

    def facts(self) -> tuple[Fact, ...]:
        """All facts, in the order they were met."""
        return tuple(Fact(kind, text, count=count) for (kind, text), count in self.notes.items())

    def shipped_fonts(self) -> tuple[str, ...]:
        """Names of the shipped fonts that the text of the file needs."""
        if not self.letters:
            return ()
        names = ["figo"]
        names += ["figbo"] * self.bold + ["figit"] * self.slanted + ["figbi"] * (self.bold and self.slanted)
        names += ["fimo"] * self.mono + ["fimbo"] * (self.mono and self.bold)
        missing = _without_glyph("figo", self.letters)
        for name in ("symbol1", "symbol2", "math"):
            left = _without_glyph(name, missing) if missing else missing
            if len(left) < len(missing):
                names.append(name)
            missing = left
        if missing:
            text = (
                "Some letters or signs can't be drawn: their font is not in the file, and none here has them."
            )
            self.notes["unsupported", text] = sum(self.letters[char] for char in missing)
        return tuple(names)

    # -- one drawing

    def clean(self, data: bytes, depth: int = 0) -> "etree._Element":
        """The cleaned root element of a drawing.  Raises Unreadable."""
        data = _unpacked(data)
        self.bytes += len(data)
        if self.bytes > 2 * MAX_BYTES:
            raise Unreadable("The drawings placed in this SVG are too large together.", _REMEDY)
        if re.search(rb"<\?xml-stylesheet\b", data[:4096]):
            self.note("removed link", "A style sheet outside the file is not read.")
        root = _in_svg_namespace(_parsed(data))
        self._count(root)
        self._name_solid_colours(root)
        self._drop(root)
        elements = list(root.iter())
        sheets = self._read_styles(elements)
        rules = [rule for blocks in sheets.values() for block in blocks for rule in _rules_of(*block)]
        if len(rules) * len(elements) > MAX_STYLE_WORK:
            raise Unreadable("This SVG has more style rules than its elements can be held against.", _REMEDY)
        index = _Index(rules)
        owned = {element: own for element in elements if (own := index.declared(element))}
        self._look(root, owned)
        _bound_expansion(root, owned)
        for element, blocks in sheets.items():
            element.text = "\n".join(f"{who}{{{_written(self._rewritten(what))}}}" for who, what in blocks)
        for element in elements:
            self._rewrite_attributes(element, depth)
        for name, value in (
            ("font-family", _SANS),
            ("font-size", "16px"),
        ):  # CSS's "medium", where engines differ
            if not root.get(name):
                root.set(name, value)
        return root

    def _count(self, root: "etree._Element") -> None:
        level = 0
        for event, _ in etree.iterwalk(root, events=("start", "end")):
            level += 1 if event == "start" else -1
            self.elements += event == "start"
            if level > MAX_NESTING:
                raise Unreadable(f"This SVG has groups in groups more than {MAX_NESTING} deep.", _REMEDY)
            if self.elements > MAX_ELEMENTS:
                raise Unreadable(f"This SVG has more than {MAX_ELEMENTS} elements.", _REMEDY)

    def _name_solid_colours(self, root: "etree._Element") -> None:
        """SVG Tiny 1.2 `solidColor` is a named colour; no engine here knows it, so it turns into an even gradient."""
        for element in list(root.iter(f"{{{SVG}}}solidColor", f"{{{SVG}}}solidcolor")):
            declared = {str(k): str(v) for k, v in element.attrib.items()} | _declarations(
                element.get("style", "")
            )
            shade = self._paint(declared.get("solid-color", "black"))
            title = element.findtext(f"{{{SVG}}}title") or ""
            generated = re.search(r"^(solid|colou?r|paint|swatch)|\d$|^.{0,3}$", element.get("id", ""), re.I)
            name = title.strip() or ("" if generated else element.get("id", ""))
            if name and shade.startswith("#"):
                self.spot_names[shade] = plain(name, 80)
            element.tag = f"{{{SVG}}}linearGradient"
            element.attrib.pop("style", "")
            stop = {"stop-color": shade, "stop-opacity": declared.get("solid-opacity", "1")}
            for offset in "01":
                etree.SubElement(element, f"{{{SVG}}}stop", stop | {"offset": offset})

    def _drop(self, root: "etree._Element") -> None:
        """Remove what is never drawn, or must not act: scripts, animation, foreign elements."""
        gone = set()
        for element in list(root.iter()):
            if element.getparent() in gone:
                gone.add(element)
                continue
            name = etree.QName(element) if isinstance(element.tag, str) else None
            if (
                name is not None
                and name.namespace == SVG
                and name.localname not in _DROPPED | _VANISHING.keys()
            ):
                continue
            if element is root:
                continue
            what = _VANISHING.get(name.localname) if name is not None and name.namespace == SVG else None
            if (
                what
                and (len(element) or (element.text or "").strip())
                and not element.get("requiredExtensions")
            ):
                self.note("unsupported", f"It holds {what}, which is not drawn.")
            gone.add(element)
            _remove(element)

    def _read_styles(
        self, elements: "list[etree._Element]"
    ) -> "dict[etree._Element, list[tuple[str, dict[str, str]]]]":
        """The blocks of every style element; custom properties are gathered, and put in everywhere."""
        sheets: dict[etree._Element, list[tuple[str, dict[str, str]]]] = {}
        declared_sets: list[dict[str, str]] = []
        self.variables = {}
        for element in elements:
            if _local(element) == "style":
                css = (
                    "".join(map(str, element.itertext())) if "css" in element.get("type", "text/css") else ""
                )
                sheets[element] = [(who, _declarations(body)) for who, body in _blocks(css, self)]
                for child in list(element):
                    element.remove(child)
                declared_sets += [declared for _, declared in sheets[element]]
            elif "--" in (style := element.get("style", "")):
                declared_sets.append(_declarations(style))
        for declared in declared_sets:
            for name, value in declared.items():
                if name.startswith("--"):
                    self.variables.setdefault(name, set()).add(_important(value)[0])
        for declared in declared_sets:
            for name, value in declared.items():
                if "var(" in value:
                    declared[name] = self._resolved(value)
        for element in elements:
            for key, text in element.attrib.items():
                if "var(" in text:
                    element.set(key, self._resolved(str(text)))
        return sheets

    def _resolved(self, value: str) -> str:
        """var(--x) replaced where the file gives --x one value only, or by its fallback (CSS Custom Properties 1)."""

        def known(match: "re.Match[str]") -> str:
            values = self.variables.get(match[1], set())
            if len(values) == 1:
                return next(iter(values))
            return match[2].strip() if not values and match[2] is not None else match[0]

        for _ in range(4):
            value = re.sub(r"var\(\s*(--[\w-]+)\s*(?:,([^()]*(?:\([^()]*\)[^()]*)?))?\)", known, value)[
                :100_000
            ]
        return value

    # -- values that both engines understand

    def _rewritten(self, declared: Mapping[str, str]) -> dict[str, str]:
        written: dict[str, str] = {}
        for name, value in declared.items():
            if name == "font":  # no engine here reads the shorthand
                bare, important = _important(value)
                longhands = _font_longhands(bare)
                written |= {each: self._value(each, part) + important for each, part in longhands.items()}
            elif not name.startswith("--"):
                written[name] = self._value(name, value)
        return written

    def _value(self, name: str, value: str) -> str:
        value, important = _important(value)
        if len(value) > MAX_VALUE:
            self.note("unsupported", f"A {plain(name, 30)} of many thousand characters is left out.")
            return "none"
        if name in _PAINTS:
            return self._paint(value) + important
        if name == "font-family":
            return _stand_in(value) + important
        if name == "vector-effect" and "non-scaling-stroke" in value:
            self.note(
                "unsupported",
                "Lines set to keep their width at any size are drawn and measured as if they scaled.",
            )
        if name == "stroke-dasharray" and 0 < sum(_numbers(value)) < 0.01:
            return "none"  # dashes nobody could see, of which there would be millions
        if name == "clip-path" and re.match(r"(circle|ellipse|inset|polygon|path|rect|xywh)\(", value):
            self.note("unsupported", "A part is cut to a shape by its style, which is not done here.")
        return _URL.sub(self._inner_link, value) + important if "url(" in value.lower() else value + important

    def _inner_link(self, match: "re.Match[str]") -> str:
        target = next((group for group in match.groups() if group), "").strip()
        if target.startswith("#"):
            return f"url({target})"
        self._note_link(target)
        return "none"

    def _note_link(self, target: str) -> None:
        if target and target[:5].lower() != "data:":
            self.note("removed link", f"“{plain(target, 60)}” lies outside the file and is not drawn.")

    def _paint(self, value: str) -> str:
        """A paint as a keyword, a link within the file, #rrggbb or rgba()."""
        value = value.strip()
        if value.lower() in _KEYWORDS or not value:
            return _KEYWORDS.get(value.lower(), "")
        if link := _URL.match(value):
            rest, inner = value[link.end() :].strip(), self._inner_link(link)
            paint = self._paint(rest) if rest else ""
            return paint or inner if inner == "none" else f"{inner} {paint}".strip()
        spot = ""
        for call in list(_CALL.finditer(value)):
            if call[1].lower() in ("icc-color", "icc-named-color"):  # SVG 1.1 section 12.3, SVG Color 1.2
                words = [word.strip().strip("\"'") for word in call[2].split(",")]
                spot = words[1] if call[1].lower() == "icc-named-color" and len(words) == 2 else ""
                value = value.replace(call[0], " ").strip()
        found = _colour(value)
        if found is None:
            self.note("unread colour", f"The colour “{plain(value, 60)}” can't be read and is drawn black.")
            return "#000000"
        if value.lower().startswith("device-cmyk"):
            self.note(
                "approximate colour", "CMYK values without a colour profile are shown only approximately."
            )
        shade = colour.hex_of(found[:3])
        if spot:
            self.spot_names[shade] = plain(spot, 80)
        return shade if found[3] >= 1 else f"rgba({found[0]},{found[1]},{found[2]},{found[3]:.4f})"

    # -- attributes

    def _rewrite_attributes(self, element: "etree._Element", depth: int) -> None:
        tag = _local(element)
        for key, text in list(element.attrib.items()):
            name, value = etree.QName(key).localname, str(text)
            if name == "href":
                self._rewrite_link(element, tag, str(key), value.strip(), depth)
            elif name == "style":
                element.set(key, _written(self._rewritten(_declarations(value))))
            elif name.lower().startswith("on") or name in ("base", "src"):
                del element.attrib[key]
            elif (
                name in _PAINTS
                or name in ("font-family", "vector-effect", "stroke-dasharray")
                or "url(" in value.lower()
            ):
                element.set(key, self._value(name, value))

    def _rewrite_link(self, element: "etree._Element", tag: str, key: str, target: str, depth: int) -> None:
        if target.startswith("#"):
            return
        del element.attrib[key]
        if tag == "a":
            return
        if target[:5].lower() == "data:" and tag in ("image", "feImage"):
            if kept := self._placed(target, depth):
                element.set(_HREF, kept)
        else:
            self._note_link(target)

    def _placed(self, link: str, depth: int) -> str | None:
        """A placed picture or drawing as a data link that both engines draw; None when it can't be drawn."""
        head, _, body = link.partition(",")
        try:
            if ";base64" in head.lower():
                body = re.sub(r"\s", "", urllib.parse.unquote(body) if "%" in body else body)
                raw = base64.b64decode(body + "=" * (-len(body) % 4))
            else:
                raw = urllib.parse.unquote_to_bytes(body)
        except (binascii.Error, ValueError):
            raw = b""
        if "svg" in head.lower() or raw[:2] == b"\x1f\x8b" or raw.lstrip()[:1] == b"<":
            if depth >= MAX_NESTED_DRAWINGS:
                raise Unreadable("This SVG holds drawings in drawings in drawings.", _REMEDY)
            inner = etree.tostring(self.clean(raw, depth + 1), encoding="utf-8")
            return "data:image/svg+xml;base64," + base64.b64encode(inner).decode()
        try:
            # Pillow's alarm at 89 megapixels is replaced by our cap, which counts all pictures together.
            with warnings.catch_warnings():
                warnings.simplefilter("ignore")
                image = Image.open(BytesIO(raw), formats=("PNG", "JPEG", "GIF", "WEBP", "BMP", "TIFF"))
                self.pixels += image.width * image.height
                if self.pixels > MAX_PIXELS:
                    raise Unreadable(f"Its pictures have over {MAX_PIXELS // 10**6} million pixels.", _REMEDY)
                kind = (image.format or "").lower()
                if kind not in ("png", "jpeg", "gif", "webp") or image.mode == "CMYK":
                    kind, raw = "png", _as_png(image)
                else:
                    image.load()
        except Unreadable:
            raise
        except Exception as error:  # Pillow's readers raise a dozen kinds at damaged pictures
            self.note(
                "damaged", f"A picture placed in it is damaged and can't be drawn ({type(error).__name__})."
            )
            return None
        self.pixel_sizes.append(image.size)
        return f"data:image/{kind};base64," + base64.b64encode(raw).decode()

    # -- what there is to report

    def _look(self, root: "etree._Element", owned: "Mapping[etree._Element, Mapping[str, str]]") -> None:
        """Go down the tree with what is inherited: hidden parts, families of live text, live effects."""
        looks: dict[etree._Element | None, _Look] = {}
        hidden = 0
        for element in root.iter():
            above = looks.get(element.getparent(), _Look())
            own, tag = owned.get(element, {}), _local(element)
            look = looks[element] = _inherited(above, own, tag)
            if look.hidden and not above.hidden and not look.undrawn:
                hidden += self._note_hidden(root, element, tag)
            elif not look.visible and not look.hidden and not look.undrawn and tag in _GRAPHICS:
                hidden += 1
            if look.hidden:
                continue
            if look.visible and not look.undrawn and own.get("filter", "").lower().startswith("url("):
                self.note("soft mask", "A live effect (such as blur or shadow) is drawn as pixels.")
            if tag in _TEXT:
                self._note_text(element, look)
        if hidden:
            self.note("hidden object", "Parts of the drawing are set to be invisible.", hidden)

    def _note_hidden(self, root: "etree._Element", element: "etree._Element", tag: str) -> int:
        """Note a hidden layer; the number of drawn things in any other hidden part."""
        count = sum(_local(each) in _GRAPHICS for each in element.iter())
        if not count:
            return 0
        parent = element.getparent()
        outermost = parent is root or (parent is not None and parent.getparent() is root and len(root) == 1)
        if tag != "g" or not (element.get(_LAYER + "groupmode") == "layer" or outermost):
            return count
        name = plain(element.get(_LAYER + "label") or element.get("id") or "", 60)
        self.note("hidden layer", f"The layer “{name}” is hidden." if name else "A layer is hidden.")
        return 0

    def _note_text(self, element: "etree._Element", look: _Look) -> None:
        if _local(element) == "a" and not any(_local(above) == "text" for above in element.iterancestors()):
            return
        letters = "".join(((element.text or "") + "".join(child.tail or "" for child in element)).split())
        if not letters:
            return
        self.letters.update(letters)
        if self.letters.total() > MAX_LETTERS:
            raise Unreadable(f"This SVG has more than {MAX_LETTERS} letters of live text.", _REMEDY)
        self.bold |= look.bold
        self.slanted |= look.slanted
        self.mono |= _MONO in _stand_in(look.family)
        first = look.family.split(",")[0].strip(" \t\r\n\"'")
        self.fonts[plain(first, 80) or "default font"] = None

    # -- limits

    def bound_effects(self, root: "etree._Element", width: float, height: float) -> None:
        """Refuse endless pattern tiles; empty filters that would take minutes.  Width and height in px."""
        view = _numbers(root.get("viewBox")) or [0.0, 0.0, width, height]
        for pattern in root.iter(f"{{{SVG}}}pattern"):
            across, down = _fraction(pattern.get("width")), _fraction(pattern.get("height"))
            area = abs(across * down) * _area_scale(pattern.get("patternTransform", ""))
            sheet = view[2] * view[3] if pattern.get("patternUnits") == "userSpaceOnUse" else 1.0
            if area > 0 and sheet / area > MAX_TILES:
                raise Unreadable("This SVG has a pattern too fine to be drawn.", _REMEDY)
        pixels = width * height * FILTER_PX**2
        for each in root.iter(f"{{{SVG}}}filter"):
            unit = max(view[2:]) if each.get("primitiveUnits") == "objectBoundingBox" else 1.0
            reach = unit * max(width / view[2], height / view[3]) * FILTER_PX
            work = pixels * max((_taps(part, reach) for part in each), default=1.0)
            if len(each) and (pixels > MAX_FILTER_PIXELS or work > MAX_FILTER_WORK or len(each) > 50):
                _empty_filter(each)
                self.note("unsupported", "A live effect that would take minutes to draw was left out.")
            for turbulence in each.iter(f"{{{SVG}}}feTurbulence"):
                octaves = _numbers(turbulence.get("numOctaves")) or [1.0]
                turbulence.set("numOctaves", str(int(min(8.0, max(0.0, octaves[0])))))


def _inherited(above: _Look, own: Mapping[str, str], tag: str) -> _Look:
    own = {**own, **(_font_longhands(own["font"]) if "font" in own else {})}
    weight, slant = own.get("font-weight", ""), own.get("font-style", "")
    heavy = weight.startswith("bold") or weight in ("600", "700", "800", "900")
    return _Look(
        hidden=above.hidden or own.get("display", "").startswith("none"),
        visible=own["visibility"].startswith("visible") if "visibility" in own else above.visible,
        undrawn=above.undrawn or tag in _UNDRAWN,
        family=own.get("font-family") or above.family,
        bold=heavy or (above.bold and not weight),
        slanted=slant.startswith(("italic", "oblique")) or (above.slanted and not slant),
    )


def _bound_expansion(root: "etree._Element", owned: "Mapping[etree._Element, Mapping[str, str]]") -> None:
    """Refuse what would grow or nest beyond the engines: `use`, patterns, markers and masks in one another."""
    ids = {element.get("id"): element for element in root.iter() if element.get("id")}
    known: dict[etree._Element, tuple[int, int, int]] = {}
    open_: set[etree._Element] = set()

    def measure(element: "etree._Element", level: int) -> tuple[int, int, int]:
        """Elements drawn, nesting, and nesting of groups with a canvas of their own."""
        if element in known:
            return known[element]
        if element in open_:  # a circle, which both engines cut
            return (0, 0, 0)
        if level > 2 * MAX_NESTING:
            raise Unreadable("This SVG has references in references without end.", _REMEDY)
        open_.add(element)
        own = owned.get(element, {})
        parts = [(child, 1) for child in element]
        for name, value in own.items():
            times = (
                max(1, len(element.get("d") or element.get("points") or "") // 4)
                if name.startswith("marker")
                else 1
            )
            links = (
                [value.strip()]
                if name == "href"
                else [next(filter(None, found), "") for found in _URL.findall(value)]
            )
            parts += [(ids[link[1:]], times) for link in links if link[:1] == "#" and link[1:] in ids]
        count, nesting, isolated = 1, 0, 0
        for part, times in parts:
            more, deep, canvases = measure(part, level + 1)
            count, nesting, isolated = count + more * times, max(nesting, deep), max(isolated, canvases)
        open_.discard(element)
        isolated += any(own.get(name, "none") not in ("none", "1", "1.0", "normal") for name in _ISOLATING)
        known[element] = (min(count, 10**12), nesting + 1, isolated)
        return known[element]

    count, nesting, isolated = measure(root, 0)
    if count > MAX_ELEMENTS:
        raise Unreadable(f"This SVG grows to more than {MAX_ELEMENTS} elements when it is drawn.", _REMEDY)
    if nesting > 2 * MAX_NESTING or isolated > MAX_ISOLATED:
        raise Unreadable("This SVG has groups in groups deeper than it can be drawn.", _REMEDY)


def _in_svg_namespace(root: "etree._Element") -> "etree._Element":
    """The root, checked to be `svg`; one that forgot its namespace is given it."""
    name = etree.QName(root)
    if name.localname != "svg":
        raise Unreadable("This is an XML file, but not an SVG drawing.", _REMEDY)
    if name.namespace != SVG:
        for element in root.iter():
            if isinstance(element.tag, str) and etree.QName(element).namespace == name.namespace:
                element.tag = f"{{{SVG}}}{_local(element)}"
    return root


def _remove(element: "etree._Element") -> None:
    """Take an element out and leave the text that follows it."""
    parent, before = element.getparent(), element.getprevious()
    if parent is None:
        return
    if element.tail and before is not None:
        before.tail = (before.tail or "") + element.tail
    elif element.tail:
        parent.text = (parent.text or "") + element.tail
    parent.remove(element)


def _empty_filter(element: "etree._Element") -> None:
    """A filter that passes on what it is given."""
    for part in list(element):
        element.remove(part)
    etree.SubElement(element, f"{{{SVG}}}feOffset")


def _taps(primitive: "etree._Element", pixels_per_unit: float) -> float:
    """Samples that one pixel of a filter primitive takes."""
    name = _local(primitive)
    if name == "feMorphology":
        radius = max(_numbers(primitive.get("radius")) or [0.0]) * pixels_per_unit
        return (2 * radius + 1) ** 2
    if name == "feConvolveMatrix":
        order = _numbers(primitive.get("order")) or [3.0]
        return 4 * abs(order[0] * order[-1])  # each four times as slow as a tap of the others (measured)
    return {"feTurbulence": 40.0, "feGaussianBlur": 3.0, "feDropShadow": 4.0}.get(name, 1.0)


def _area_scale(transform: str) -> float:
    """How a transform list changes areas."""
    factor = 1.0
    for name, inside in re.findall(r"(matrix|scale)\(([^)]*)\)", transform):
        v = _numbers(inside)
        if name == "matrix" and len(v) == 6:
            factor *= abs(v[0] * v[3] - v[1] * v[2])
        elif name == "scale" and v:
            factor *= abs(v[0] * v[-1])
    return factor


def _fraction(text: str | None) -> float:
    """A number, a length in px, or a percentage as a fraction; 0 where there is none."""
    found = _numbers(text)
    if not found:
        return 0.0
    return found[0] / 100 if (text or "").strip().endswith("%") else _length(text) or found[0]


def _stand_in(families: str) -> str:
    """The shipped family drawn for what was asked."""
    return f"'{_MONO}'" if re.search(r"mono\b|monospace|courier|typewriter", families, re.I) else f"'{_SANS}'"


def _font_longhands(value: str) -> dict[str, str]:
    """What a `font` value says property by property (CSS Fonts 4 section 2.7); nothing for a system font."""
    match = re.match(
        r"((?:[\w-]+\s+){0,4})([\d.]+(?:[a-z]{1,4}|%))(?:\s*/\s*[\w.%]+)?\s+(\S.*)", value, re.I | re.S
    )
    if not match:
        return {}
    longhands = {
        "font-style": "normal",
        "font-weight": "normal",
        "font-size": match[2],
        "font-family": match[3],
    }
    for word in match[1].lower().split():
        if word in ("italic", "oblique"):
            longhands["font-style"] = word
        elif word in ("bold", "bolder", "lighter") or word.isdigit():
            longhands["font-weight"] = word
    return longhands


def _without_glyph(font: str, letters: "Iterable[str]") -> list[str]:
    """The letters a shipped font doesn't have."""
    has = pymupdf.Font(fontbuffer=_font_data(font)).has_glyph
    return [char for char in letters if not has(ord(char))]


def _as_png(image: Image.Image) -> bytes:
    """A picture that not every engine draws (BMP, TIFF, CMYK) as PNG in sRGB, alpha kept."""
    alpha = (
        image.convert("RGBA").getchannel("A")
        if image.mode != "CMYK" and image.has_transparency_data
        else None
    )
    shown, _ = colour.to_srgb(image)
    if alpha is not None:
        shown.putalpha(alpha)
    shown.info = {}
    buffer = BytesIO()
    shown.save(buffer, "PNG")
    return buffer.getvalue()


def _rules_of(selectors: str, declared: dict[str, str]) -> Iterator[_Rule]:
    """The rules of one block, its selectors told apart (Selectors 3; attribute and pseudo parts are read past)."""
    telling = {name: _important(value)[0] for name, value in declared.items() if name in _TELLING}
    if not telling:
        return
    for selector in selectors.split(","):
        if len(selector) > MAX_VALUE:
            continue
        last = re.split(r"[\s>+~]+", re.sub(r"\[[^\]]*\]|::?[\w-]+(\([^)]*\))?", "", selector).strip())[-1]
        match = re.fullmatch(r"(\*|[\w-]*)((?:[.#][\w-]+)*)", last)
        if match and last:
            ids = frozenset(re.findall(r"#([\w-]+)", match[2]))
            classes = frozenset(re.findall(r"\.([\w-]+)", match[2]))
            tag = "" if match[1] == "*" else match[1]
            yield _Rule(
                tag, ids, classes, (selector.count("#"), selector.count("."), int(bool(tag))), telling
            )


class _Index:
    """Style rules by what their last part names, so that each element meets only those that may fit."""

    def __init__(self, rules: list[_Rule]) -> None:
        self.buckets: dict[str, list[_Rule]] = {}
        for rule in rules:
            key = (
                next((f"#{i}" for i in rule.ids), "")
                or next((f".{c}" for c in rule.classes), "")
                or rule.tag
                or "*"
            )
            self.buckets.setdefault(key, []).append(rule)

    def declared(self, element: "etree._Element") -> dict[str, str]:
        """The telling properties of an element itself: attributes, then rules by weight, then its style (CSS cascade)."""
        own = {}
        for key, value in element.attrib.items():
            name = etree.QName(key).localname
            if name in _TELLING and (name != "href" or value[:1] == "#"):
                own[name] = str(value)
        if self.buckets:
            tag, own_id, classes = (
                _local(element),
                element.get("id", ""),
                frozenset((element.get("class") or "").split()),
            )
            keys = ("*", tag, f"#{own_id}", *(f".{name}" for name in classes))
            fitting = [
                rule for key in keys for rule in self.buckets.get(key, ()) if rule.fits(tag, own_id, classes)
            ]
            for rule in sorted(fitting, key=lambda each: each.weight):
                own.update(rule.declared)
        for name, value in _declarations(element.get("style", "")).items():
            if name in _TELLING:
                own[name] = _important(value)[0]
        return own
