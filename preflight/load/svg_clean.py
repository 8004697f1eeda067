"""The cleaner: an SVG made safe (nothing is fetched, nothing grows without end) and honest.

What both drawing engines would misread in silence is rewritten in simple terms, and what can't be rewritten is reported.
"""

import re

from lxml import etree

from preflight.errors import Unreadable
from preflight.load.svg_fonts import SANS
from preflight.load.svg_ledger import REMEDY, Ledger
from preflight.load.svg_limits import (
    MAX_BYTES,
    MAX_NESTED_DRAWINGS,
    MAX_STYLE_WORK,
    bound_expansion,
    count_elements,
)
from preflight.load.svg_pictures import data_link, drawable_picture, holds_drawing, link_content
from preflight.load.svg_read import root_of, unpacked
from preflight.load.svg_report import note_looks
from preflight.load.svg_styles import Index, as_style, declarations, read_sheets, rules_of
from preflight.load.svg_syntax import HREF, SVG, local_name
from preflight.load.svg_values import PAINTS, note_link, rewrite, rewrite_paint, rewrite_value
from preflight.quantity import plain

#: Never drawn by any engine, or not to be acted on.
_DROPPED = frozenset(
    {
        "script", "foreignObject", "animate", "animateColor", "animateTransform", "animateMotion", "set", "discard",
        "handler", "listener", "audio", "video", "iframe", "canvas", "font", "font-face", "color-profile", "cursor",
        "metadata", "desc", "title",
    }
)  # fmt: skip
#: Drawn by some programs, by no engine here: what to call it in a report.
_VANISHING = {
    "meshgradient": "mesh gradient", "meshGradient": "mesh gradient", "hatch": "hatching", "flowRoot": "flowed text",
    "font": "letters drawn as an SVG font", "foreignObject": "a piece of web page",
}  # fmt: skip


def clean(data: bytes, ledger: Ledger, depth: int = 0) -> "etree._Element":
    """The cleaned root element of an SVG or SVGZ file that lies `depth` drawings deep in the client's; notes go to the ledger.

    Raises Unreadable: not well-formed, not SVG, or past a limit.
    """
    data = unpacked(data)
    ledger.bytes += len(data)
    if ledger.bytes > 2 * MAX_BYTES:
        raise Unreadable("The drawings placed in this SVG are too large together.", REMEDY)
    if re.search(rb"<\?xml-stylesheet\b", data[:4096]):
        ledger.note("removed link", "A style sheet outside the file is not read.")
    root = root_of(data)
    count_elements(root, ledger)
    _name_solid_colours(root, ledger)
    _drop(root, ledger)
    elements = list(root.iter())
    sheets = read_sheets(elements, ledger)
    rules = [rule for blocks in sheets.values() for block in blocks for rule in rules_of(*block)]
    if len(rules) * len(elements) > MAX_STYLE_WORK:
        raise Unreadable("This SVG has more style rules than its elements can be held against.", REMEDY)
    index = Index(rules)
    owned = {element: own for element in elements if (own := index.declared(element))}
    note_looks(root, owned, ledger)
    bound_expansion(root, owned)
    for element, blocks in sheets.items():
        element.text = "\n".join(f"{who}{{{as_style(rewrite(what, ledger))}}}" for who, what in blocks)
    for element in elements:
        _rewrite_attributes(element, ledger, depth)
    for name, value in (("font-family", SANS), ("font-size", "16px")):  # CSS's "medium", where engines differ
        if not root.get(name):
            root.set(name, value)
    return root


def _name_solid_colours(root: "etree._Element", ledger: Ledger) -> None:
    """SVG Tiny 1.2 `solidColor` is a named colour; no engine here knows it, so it turns into an even gradient."""
    for element in list(root.iter(f"{{{SVG}}}solidColor", f"{{{SVG}}}solidcolor")):
        declared = {str(k): str(v) for k, v in element.attrib.items()} | declarations(
            element.get("style", "")
        )
        shade = rewrite_paint(declared.get("solid-color", "black"), ledger)
        title = element.findtext(f"{{{SVG}}}title") or ""
        generated = re.search(r"^(solid|colou?r|paint|swatch)|\d$|^.{0,3}$", element.get("id", ""), re.I)
        name = title.strip() or ("" if generated else element.get("id", ""))
        if name and shade.startswith("#"):
            ledger.spot_names[shade] = plain(name, 80)
        element.tag = f"{{{SVG}}}linearGradient"
        element.attrib.pop("style", "")
        stop = {"stop-color": shade, "stop-opacity": declared.get("solid-opacity", "1")}
        for offset in "01":
            etree.SubElement(element, f"{{{SVG}}}stop", stop | {"offset": offset})


def _drop(root: "etree._Element", ledger: Ledger) -> None:
    """Remove what is never drawn, or must not act: scripts, animation, foreign elements."""
    gone = set()
    for element in list(root.iter()):
        if element.getparent() in gone:
            gone.add(element)
            continue
        name = etree.QName(element) if isinstance(element.tag, str) else None
        if name is not None and name.namespace == SVG and name.localname not in _DROPPED | _VANISHING.keys():
            continue
        if element is root:
            continue
        what = _VANISHING.get(name.localname) if name is not None and name.namespace == SVG else None
        if what and (len(element) or (element.text or "").strip()) and not element.get("requiredExtensions"):
            ledger.note("unsupported", f"It holds {what}, which is not drawn.")
        gone.add(element)
        _remove(element)


def _rewrite_attributes(element: "etree._Element", ledger: Ledger, depth: int) -> None:
    """Rewrite links, styles and paints of one element; what would act or point elsewhere goes."""
    for key, text in list(element.attrib.items()):
        name, value = etree.QName(key).localname, str(text)
        if name == "href":
            _rewrite_link(element, str(key), value.strip(), ledger, depth)
        elif name == "style":
            element.set(key, as_style(rewrite(declarations(value), ledger)))
        elif name.lower().startswith("on") or name in ("base", "src"):
            del element.attrib[key]
        elif (
            name in PAINTS
            or name in ("font-family", "vector-effect", "stroke-dasharray")
            or "url(" in value.lower()
        ):
            element.set(key, rewrite_value(name, value, ledger))


def _rewrite_link(element: "etree._Element", key: str, target: str, ledger: Ledger, depth: int) -> None:
    """Keep links within the file and what the file holds itself; any other link goes, and is noted."""
    if target.startswith("#"):
        return
    tag = local_name(element)
    del element.attrib[key]
    if tag == "a":
        return
    if target[:5].lower() == "data:" and tag in ("image", "feImage"):
        if kept := _placed(target, ledger, depth):
            element.set(HREF, kept)
    else:
        note_link(target, ledger)


def _placed(link: str, ledger: Ledger, depth: int) -> str | None:
    """A placed picture or drawing as a data link that both engines draw; None where it can't be drawn."""
    content = link_content(link)
    if not holds_drawing(link, content):
        return drawable_picture(content, ledger)
    if depth >= MAX_NESTED_DRAWINGS:
        raise Unreadable("This SVG holds drawings in drawings in drawings.", REMEDY)
    return data_link("svg+xml", etree.tostring(clean(content, ledger, depth + 1), encoding="utf-8"))


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
