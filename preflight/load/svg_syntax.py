"""Names, lengths, links and calls as SVG and CSS write them: what every other SVG module reads values with."""

import math
import re

from lxml import etree

#: Namespaces, and attribute names in them as lxml writes them (a prefix for LAYER).
SVG = "http://www.w3.org/2000/svg"
XLINK = "http://www.w3.org/1999/xlink"
LAYER = "{http://www.inkscape.org/namespaces/inkscape}"
HREF = f"{{{XLINK}}}href"
#: Elements that draw, elements that hold letters, and elements whose content is drawn only where it is referred to.
GRAPHICS = frozenset(
    {"path", "rect", "circle", "ellipse", "line", "polyline", "polygon", "text", "image", "use"}
)
TEXT = frozenset({"text", "tspan", "textPath", "tref", "altGlyph", "a"})
UNDRAWN = frozenset({"defs", "symbol", "clipPath", "mask", "pattern", "marker", "filter"})
#: CSS Values and Units 4: absolute lengths in px; em and ex at the initial font size.
_PX = {
    "": 1.0, "px": 1.0, "pt": 96 / 72, "pc": 16.0, "mm": 96 / 25.4, "cm": 96 / 2.54, "in": 96.0, "q": 96 / 101.6,
    "em": 16.0, "rem": 16.0, "ex": 8.0,
}  # fmt: skip
#: A link in a style value: its target is whichever of the three groups is not empty.
URL = re.compile(r"url\(\s*(?:\"([^\"]*)\"|'([^']*)'|([^)\"']*))\s*\)", re.I)
#: A function of CSS without another in it: name, arguments.
CALL = re.compile(r"\s*([a-z][a-z-]*)\(([^()]*)\)\s*", re.I)


def local_name(element: "etree._Element") -> str:
    """The tag without its namespace."""
    return etree.QName(element).localname


def length_px(text: str | None) -> float | None:
    """A CSS length in px; None for percentages and whatever else can't be told."""
    match = re.fullmatch(
        r"\s*\+?(\d+\.?\d*(?:e[+-]?\d+)?|\.\d+(?:e[+-]?\d+)?)\s*([a-z]*)\s*", text or "", re.I
    )
    if not match or match[2].lower() not in _PX:
        return None
    value = float(match[1]) * _PX[match[2].lower()]
    return value if 0 < value < math.inf else None


def numbers(text: str | None) -> list[float]:
    """All numbers in a text, whatever is between them; units are read past."""
    found = re.findall(r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?", text or "")
    return [float(n) for n in found]


def fraction(text: str | None) -> float:
    """A number, a length in px, or a percentage as a fraction; 0 where there is none."""
    found = numbers(text)
    if not found:
        return 0.0
    return found[0] / 100 if (text or "").strip().endswith("%") else length_px(text) or found[0]
