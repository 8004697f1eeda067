"""The size that an SVG is drawn at: stated, taken from its view box, or found from what it draws."""

import math

import pymupdf
from lxml import etree

from preflight.errors import Unreadable
from preflight.load.svg_draw import typeset
from preflight.load.svg_fonts import shipped_fonts
from preflight.load.svg_ledger import REMEDY, Ledger
from preflight.load.svg_limits import empty_filter
from preflight.load.svg_syntax import SVG, length_px, numbers

MAX_SIDE_PX = 96 * 5000 / 25.4  # a page side of 5 m
LEAST_SIDE_PX = 8.0  # a page side of just over 2 mm


def settle_size(root: "etree._Element", ledger: Ledger) -> tuple[float, float]:
    """Width and height in px, also written into the root: the engines differ where one of them is missing.

    Raises Unreadable where none can be found or used.
    """
    box = numbers(root.get("viewBox"))
    view = box if len(box) == 4 and 0 < box[2] < math.inf and 0 < box[3] < math.inf else None
    width, height = length_px(root.get("width")), length_px(root.get("height"))
    stated = width is not None or height is not None
    if view is None:
        root.attrib.pop("viewBox", "")
        if width is None or height is None:
            view = _drawn_box(root, ledger)
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
            ledger.note(
                "unsupported",
                "Its stated size is beyond all use (under 2 mm or over 5 m); another was taken.",
            )
        width, height = width * factor, height * factor
    if min(width, height) < 4:
        raise Unreadable("This SVG states a size that can't be drawn: it is endlessly long or thin.", REMEDY)
    root.set("width", f"{width:.9g}")
    root.set("height", f"{height:.9g}")
    return width, height


def _drawn_box(root: "etree._Element", ledger: Ledger) -> list[float]:
    """x, y, width, height of what is drawn, for a file that states no size at all: found by drawing it on a vast sheet."""
    side = 40_000.0
    for name, value in (
        ("viewBox", f"{-side / 2} {-side / 2} {side} {side}"),
        ("width", f"{side}"),
        ("height", f"{side}"),
    ):
        root.set(name, value)
    for each in root.iter(f"{{{SVG}}}filter"):
        empty_filter(each)
    pdf = typeset(etree.tostring(root, encoding="utf-8"), side, side, shipped_fonts(ledger))
    with pymupdf.open(stream=pdf, filetype="pdf") as document:
        boxes = [pymupdf.Rect(box) for _, box in document[0].get_bboxlog()]
    x0, y0, x1, y1 = (
        f(getattr(b, k) for b in boxes) if boxes else 0
        for f, k in ((min, "x0"), (min, "y0"), (max, "x1"), (max, "y1"))
    )
    box = [x0 / 0.75 - side / 2, y0 / 0.75 - side / 2, (x1 - x0) / 0.75, (y1 - y0) / 0.75]
    if box[2] <= 0 or box[3] <= 0:
        raise Unreadable("This SVG states no size and draws nothing.", REMEDY)
    return box
