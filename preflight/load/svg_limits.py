"""Bounds of what an SVG may unpack to, nest, draw out and cost: files beyond them are refused, dear effects left out."""

import re
from collections.abc import Mapping

from lxml import etree

from preflight.errors import Unreadable
from preflight.load.svg_ledger import REMEDY, Ledger
from preflight.load.svg_syntax import SVG, URL, fraction, local_name, numbers

MAX_BYTES = 64 << 20  # of the file, unpacked
MAX_PIXELS = 100_000_000  # of all placed pictures together
MAX_ELEMENTS = 300_000  # also after every `use`, pattern and marker is drawn out
MAX_NESTING = 100  # of elements in elements, references followed: deeper ones overflow the engines' stacks
MAX_ISOLATED = 40  # of groups in groups that need a canvas of their own (opacity, filter, mask, clip)
MAX_STYLE_WORK = 10_000_000  # style rules times elements
MAX_TILES = 1_000_000  # of a pattern on the page
MAX_LETTERS = 100_000  # of live text, blanks not counted
MAX_VALUE = 2000  # characters of a colour, a font or a link in a style
MAX_NESTED_DRAWINGS = 3  # drawings placed in drawings
#: typst draws whatever has a filter as a bitmap of 4 pixels a point: 3 a CSS pixel.
FILTER_PX = 3.0
MAX_FILTER_PIXELS = 60_000_000  # of the page at that resolution
MAX_FILTER_WORK = 2e9  # pixels times taps of one filter primitive: about ten seconds (measured)
_ISOLATING = ("opacity", "filter", "mask", "clip-path", "mix-blend-mode")


def count_elements(root: "etree._Element", ledger: Ledger) -> None:
    """Add a drawing's elements to the total.  Raises Unreadable where they are too many or nested too deep."""
    level = 0
    for event, _ in etree.iterwalk(root, events=("start", "end")):
        level += 1 if event == "start" else -1
        ledger.elements += event == "start"
        if level > MAX_NESTING:
            raise Unreadable(f"This SVG has groups in groups more than {MAX_NESTING} deep.", REMEDY)
        if ledger.elements > MAX_ELEMENTS:
            raise Unreadable(f"This SVG has more than {MAX_ELEMENTS} elements.", REMEDY)


def bound_expansion(root: "etree._Element", owned: "Mapping[etree._Element, Mapping[str, str]]") -> None:
    """Refuse what would grow or nest beyond the engines: `use`, patterns, markers and masks in one another.

    `owned` gives the properties of each element itself.  Raises Unreadable.
    """
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
            raise Unreadable("This SVG has references in references without end.", REMEDY)
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
                else [next(filter(None, found), "") for found in URL.findall(value)]
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
        raise Unreadable(f"This SVG grows to more than {MAX_ELEMENTS} elements when it is drawn.", REMEDY)
    if nesting > 2 * MAX_NESTING or isolated > MAX_ISOLATED:
        raise Unreadable("This SVG has groups in groups deeper than it can be drawn.", REMEDY)


def bound_effects(root: "etree._Element", width: float, height: float, ledger: Ledger) -> None:
    """Refuse endless pattern tiles (Unreadable); empty filters that would take minutes.  Width and height in px."""
    view = numbers(root.get("viewBox")) or [0.0, 0.0, width, height]
    for pattern in root.iter(f"{{{SVG}}}pattern"):
        across, down = fraction(pattern.get("width")), fraction(pattern.get("height"))
        area = abs(across * down) * _area_scale(pattern.get("patternTransform", ""))
        sheet = view[2] * view[3] if pattern.get("patternUnits") == "userSpaceOnUse" else 1.0
        if area > 0 and sheet / area > MAX_TILES:
            raise Unreadable("This SVG has a pattern too fine to be drawn.", REMEDY)
    pixels = width * height * FILTER_PX**2
    for each in root.iter(f"{{{SVG}}}filter"):
        unit = max(view[2:]) if each.get("primitiveUnits") == "objectBoundingBox" else 1.0
        reach = unit * max(width / view[2], height / view[3]) * FILTER_PX
        work = pixels * max((_taps(part, reach) for part in each), default=1.0)
        if len(each) and (pixels > MAX_FILTER_PIXELS or work > MAX_FILTER_WORK or len(each) > 50):
            empty_filter(each)
            ledger.note("unsupported", "A live effect that would take minutes to draw was left out.")
        for turbulence in each.iter(f"{{{SVG}}}feTurbulence"):
            octaves = numbers(turbulence.get("numOctaves")) or [1.0]
            turbulence.set("numOctaves", str(int(min(8.0, max(0.0, octaves[0])))))


def empty_filter(element: "etree._Element") -> None:
    """Make a filter pass on what it is given."""
    for part in list(element):
        element.remove(part)
    etree.SubElement(element, f"{{{SVG}}}feOffset")


def _taps(primitive: "etree._Element", pixels_per_unit: float) -> float:
    """Samples that one pixel of a filter primitive takes."""
    name = local_name(primitive)
    if name == "feMorphology":
        radius = max(numbers(primitive.get("radius")) or [0.0]) * pixels_per_unit
        return (2 * radius + 1) ** 2
    if name == "feConvolveMatrix":
        order = numbers(primitive.get("order")) or [3.0]
        return 4 * abs(order[0] * order[-1])  # each four times as slow as a tap of the others (measured)
    return {"feTurbulence": 40.0, "feGaussianBlur": 3.0, "feDropShadow": 4.0}.get(name, 1.0)


def _area_scale(transform: str) -> float:
    """How a transform list changes areas."""
    factor = 1.0
    for name, inside in re.findall(r"(matrix|scale)\(([^)]*)\)", transform):
        v = numbers(inside)
        if name == "matrix" and len(v) == 6:
            factor *= abs(v[0] * v[3] - v[1] * v[2])
        elif name == "scale" and v:
            factor *= abs(v[0] * v[-1])
    return factor
