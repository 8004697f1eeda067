"""What a PDF holds besides the marks on its page: boxes, layers, further pages, annotations, output intents."""

from collections.abc import Callable
from dataclasses import replace
from typing import Any

from preflight.artwork import Artwork, Box, Fact, placed, union
from preflight.load.device import MM, mu
from preflight.load.recorder import Recorder
from preflight.quantity import plain

__all__ = ["at_bounds", "overlap_mm", "page_facts", "trim_box", "union"]

#: A trim box nearer to the page's edge than this, mm, is the page.
SAME_EDGE = 0.3
#: Hidden layers that are looked into.
MOST_LAYERS = 20


def trim_box(page: Any) -> Box | None:
    """The trim box in mm of the page (top left origin, rotation and UserUnit done); None where it is the page itself."""
    r = mu.fz_bound_page_box(page.this, mu.FZ_TRIM_BOX)
    full = mu.fz_bound_page(page.this)
    box = (r.x0 * MM, r.y0 * MM, r.x1 * MM, r.y1 * MM)
    sheet = (full.x0 * MM, full.y0 * MM, full.x1 * MM, full.y1 * MM)
    if box[2] <= box[0] or box[3] <= box[1]:
        return None
    inside = (max(box[0], sheet[0]), max(box[1], sheet[1]), min(box[2], sheet[2]), min(box[3], sheet[3]))
    if inside[2] <= inside[0] or inside[3] <= inside[1]:
        return None
    if all(abs(a - b) < SAME_EDGE for a, b in zip(inside, sheet, strict=True)):
        return None
    return inside


def overlap_mm(a: Box, b: Box) -> Box | None:
    """Where two boxes overlap; None where they do not."""
    found = (max(a[0], b[0]), max(a[1], b[1]), min(a[2], b[2]), min(a[3], b[3]))
    return found if found[0] < found[2] and found[1] < found[3] else None


def at_bounds(art: Artwork, bounds: Box) -> Artwork:
    """The art with its origin at the top left of its bounds, and their size as its own."""
    width, height = bounds[2] - bounds[0], bounds[3] - bounds[1]
    moved = placed(art, 1.0, (bounds[0], bounds[1]))
    return replace(
        moved, width_mm=width, height_mm=height, file_width_mm=width, file_height_mm=height, cache={}
    )


def page_facts(
    document: Any, page: Any, number: int, drawn: int, record: Callable[[Any], tuple[Recorder, int]]
) -> list[Fact]:
    """Hidden layers, annotations, further pages, an output intent."""
    facts = []
    others = document.page_count - 1
    if others > 0:
        facts.append(
            Fact(
                "extra page",
                f"The file has {document.page_count} pages; page {number} was checked.",
                None,
                others,
            )
        )
    for annotation in page.annots() or ():
        r = annotation.rect
        facts.append(
            Fact("annotation", f"A comment or stamp ({plain(annotation.type[1], 30)}) lies on the page.",
                 (r.x0 * MM, r.y0 * MM, r.x1 * MM, r.y1 * MM))
        )  # fmt: skip
    widgets = list(page.widgets() or ())
    if widgets:
        facts.append(Fact("annotation", "The page has form fields.", None, len(widgets)))
    facts += _hidden_layers(document, page, drawn, record)
    if document.xref_get_key(document.pdf_catalog(), "OutputIntents")[0] not in ("null", "none"):
        facts.append(Fact("output intent", "The file says which printing condition it was made for."))
    return facts


def _hidden_layers(
    document: Any, page: Any, drawn: int, record: Callable[[Any], tuple[Recorder, int]]
) -> list[Fact]:
    """Layers that are switched off and hold marks on this page: each is switched on, and the page recorded again."""
    facts = []
    try:
        settings = [s for s in document.layer_ui_configs() if not s["on"] and s["type"] != "label"]
    except (RuntimeError, mu.FzErrorBase):
        return [Fact("damaged", "The list of layers is damaged and could not be read.")]
    for setting in settings[:MOST_LAYERS]:
        document.set_layer_ui_config(setting["number"], 0)
        recorder, _ = record(page)
        document.set_layer_ui_config(setting["number"], 2)
        more = len(recorder.drawn) - drawn
        if more > 0:
            name = plain(setting["text"], 60)
            facts.append(
                Fact(
                    "hidden layer",
                    f"The layer “{name}” is switched off and holds {more} objects.",
                    None,
                    more,
                )
            )
    return facts
