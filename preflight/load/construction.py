"""How a page is built: transparency, overprint, invisible text, objects off the page, registration colour."""

from preflight.artwork import Fact
from preflight.load.device import Rect, overlap
from preflight.load.furniture import is_registration
from preflight.load.geometry import in_mm
from preflight.load.recorder import NOTHING, Drawn, Recorder

#: Facts of one kind at most: a page of ten thousand see-through objects is told once and again, not for ever.
MOST = 500


def facts_of(recorder: Recorder, page: Rect) -> list[Fact]:
    """What the recorder noted about the page's construction."""
    facts = [
        Fact("soft mask", "A soft mask fades part of the art.", in_mm(box))
        for box in recorder.soft_masks[:MOST]
    ]
    facts += [
        Fact("blend mode", f"Colours are blended ({name}).", in_mm(box))
        for name, box in recorder.blends[:MOST]
    ]
    facts += [
        Fact("opacity", "A group of objects is see-through.", in_mm(box))
        for box in recorder.group_alphas[:MOST]
    ]
    see_through = [one for one in recorder.drawn if one.box is not None and NOTHING <= one.alpha < 0.999]
    facts += [
        Fact("opacity", "An object is see-through.", in_mm(one.box)) for one in see_through[:MOST] if one.box
    ]
    facts += [
        Fact("invisible text", f"{count} characters are set invisibly.", in_mm(box), count)
        for box, count in recorder.invisible[:MOST]
    ]
    clear = sum(one.alpha < NOTHING for one in recorder.drawn)
    if clear:
        facts.append(Fact("hidden object", "Objects are wholly see-through.", None, clear))
    off = sum(
        one.box is None and one.alpha >= NOTHING and _outside(one.whole, page) for one in recorder.drawn
    )
    if off:
        facts.append(Fact("off page", "Objects lie outside the page.", None, off))
    return facts + _overprints(recorder.drawn) + _registration(recorder.drawn)


def _overprints(drawn: list[Drawn]) -> list[Fact]:
    facts: list[Fact] = []
    for index, one in enumerate(drawn):
        if one.box is None or not one.overprint or one.paint is None or len(facts) >= MOST:
            continue
        if _vanishes(one, drawn[:index]):
            text = "A white object is set to overprint, so it will not print."
            facts.append(Fact("white overprint", text, in_mm(one.box)))
        elif one.paint.space in ("CMYK", "Separation"):
            facts.append(Fact("overprint", "An object is set to overprint.", in_mm(one.box)))
    return facts


def _vanishes(one: Drawn, below: list[Drawn]) -> bool:
    """Is an overprinting object white, over something it would have had to cut out?

    White of CMYK or of a spot adds nothing to any plate; white grey or RGB paint leaves the spots beneath it
    (ISO 32000-1:2008, table 148).
    """
    assert one.paint is not None
    if one.paint.space in ("CMYK", "Separation"):
        return sum(one.paint.values) < 0.005
    if min(one.paint.rgb) < 250:
        return False
    return any(overlap(one.box, other.box) for other in below if other.paint and other.paint.spots)


def _registration(drawn: list[Drawn]) -> list[Fact]:
    found = [one for one in drawn if one.box is not None and is_registration(one)]
    text = "An object is painted in the registration colour, which prints on every plate."
    told = [Fact("registration colour", text, in_mm(one.box)) for one in found[:MOST] if one.box]
    more = len(found) - len(told)
    return [*told, Fact("registration colour", text, None, more)] if more else told


def _outside(box: Rect, page: Rect) -> bool:
    return box[2] < page[0] or box[3] < page[1] or box[0] > page[2] or box[1] > page[3]
