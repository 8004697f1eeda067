"""Cut outlines of an SVG: a layer or object named so keeps its name on the way through PDF by a colour of its own.

SVG has no spot colours that survive the conversion, and layers lose their names in it.  So whatever is named as a cut
outline is stroked in a reserved colour, and that colour is given the name of a spot.
"""

import re

from lxml import etree

from preflight.load.inking import CUT_WORDS, names_a_cut

#: No drawing uses this colour by chance, and none is drawn in it: it stands for a knife.
RESERVED = "#fe01fb"
NAME = "cut outline"
_SHAPES = frozenset({"path", "rect", "circle", "ellipse", "line", "polyline", "polygon", "use"})
_LABELS = ("{http://www.inkscape.org/namespaces/inkscape}label", "id", "class")
_NOT_DRAWN = frozenset({"defs", "clipPath", "mask", "pattern", "marker", "symbol"})


def mark_cut_lines(root: "etree._Element", words: tuple[str, ...] = CUT_WORDS) -> int:
    """Stroke whatever is named as a cut outline in the reserved colour; how many shapes that were."""
    count = 0
    for element in root.iter():
        if not isinstance(element.tag, str) or etree.QName(element).localname not in _SHAPES:
            continue
        line = [element, *element.iterancestors()]
        if any(etree.QName(each).localname in _NOT_DRAWN for each in line if isinstance(each.tag, str)):
            continue
        if not any(_named(each, words) for each in line if each is not root):
            continue
        style = element.get("style", "").rstrip("; ")
        has_width = element.get("stroke-width") or "stroke-width" in style
        width = "" if has_width else ";stroke-width:0.5px"
        element.set("style", f"{style};fill:none;stroke:{RESERVED};stroke-opacity:1{width}".lstrip(";"))
        count += 1
    return count


def _named(element: "etree._Element", words: tuple[str, ...]) -> bool:
    said = [str(element.get(label) or "") for label in _LABELS]
    return any(names_a_cut(re.sub(r"([a-z])([A-Z])", r"\1 \2", text), words) for text in said if text)
