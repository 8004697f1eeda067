"""What a drawing hides, which families its live text asks for and where it has live effects, noted in the ledger."""

from collections.abc import Mapping
from dataclasses import dataclass

from lxml import etree

from preflight.errors import Unreadable
from preflight.load.svg_fonts import MONO, stand_in
from preflight.load.svg_ledger import REMEDY, Ledger
from preflight.load.svg_limits import MAX_LETTERS
from preflight.load.svg_styles import font_longhands
from preflight.load.svg_syntax import GRAPHICS, LAYER, TEXT, UNDRAWN, local_name
from preflight.quantity import plain


@dataclass
class _Look:
    """What an element inherits that matters for reports."""

    hidden: bool = False  # by display: none, which nothing inside can undo
    visible: bool = True
    undrawn: bool = False  # inside defs and the like
    family: str = ""
    bold: bool = False
    slanted: bool = False


def note_looks(
    root: "etree._Element", owned: "Mapping[etree._Element, Mapping[str, str]]", ledger: Ledger
) -> None:
    """Go down the tree with what is inherited: hidden parts, families of live text, live effects.

    `owned` gives the properties of each element itself.  Raises Unreadable where there are too many letters.
    """
    looks: dict[etree._Element | None, _Look] = {}
    hidden = 0
    for element in root.iter():
        above = looks.get(element.getparent(), _Look())
        own, tag = owned.get(element, {}), local_name(element)
        look = looks[element] = _inherited(above, own, tag)
        if look.hidden and not above.hidden and not look.undrawn:
            hidden += _note_hidden(root, element, tag, ledger)
        elif not look.visible and not look.hidden and not look.undrawn and tag in GRAPHICS:
            hidden += 1
        if look.hidden:
            continue
        if look.visible and not look.undrawn and own.get("filter", "").lower().startswith("url("):
            ledger.note("soft mask", "A live effect (such as blur or shadow) is drawn as pixels.")
        if tag in TEXT:
            _note_text(element, look, ledger)
    if hidden:
        ledger.note("hidden object", "Parts of the drawing are set to be invisible.", hidden)


def _note_hidden(root: "etree._Element", element: "etree._Element", tag: str, ledger: Ledger) -> int:
    """Note a hidden layer; the number of drawn things in any other hidden part."""
    count = sum(local_name(each) in GRAPHICS for each in element.iter())
    if not count:
        return 0
    parent = element.getparent()
    outermost = parent is root or (parent is not None and parent.getparent() is root and len(root) == 1)
    if tag != "g" or not (element.get(LAYER + "groupmode") == "layer" or outermost):
        return count
    name = plain(element.get(LAYER + "label") or element.get("id") or "", 60)
    ledger.note("hidden layer", f"The layer “{name}” is hidden." if name else "A layer is hidden.")
    return 0


def _note_text(element: "etree._Element", look: _Look, ledger: Ledger) -> None:
    if local_name(element) == "a" and not any(
        local_name(above) == "text" for above in element.iterancestors()
    ):
        return
    letters = "".join(((element.text or "") + "".join(child.tail or "" for child in element)).split())
    if not letters:
        return
    ledger.letters.update(letters)
    if ledger.letters.total() > MAX_LETTERS:
        raise Unreadable(f"This SVG has more than {MAX_LETTERS} letters of live text.", REMEDY)
    ledger.bold |= look.bold
    ledger.slanted |= look.slanted
    ledger.mono |= MONO in stand_in(look.family)
    first = look.family.split(",")[0].strip(" \t\r\n\"'")
    ledger.fonts[plain(first, 80) or "default font"] = None


def _inherited(above: _Look, own: Mapping[str, str], tag: str) -> _Look:
    own = {**own, **(font_longhands(own["font"]) if "font" in own else {})}
    weight, slant = own.get("font-weight", ""), own.get("font-style", "")
    heavy = weight.startswith("bold") or weight in ("600", "700", "800", "900")
    return _Look(
        hidden=above.hidden or own.get("display", "").startswith("none"),
        visible=own["visibility"].startswith("visible") if "visibility" in own else above.visible,
        undrawn=above.undrawn or tag in UNDRAWN,
        family=own.get("font-family") or above.family,
        bold=heavy or (above.bold and not weight),
        slanted=slant.startswith(("italic", "oblique")) or (above.slanted and not slant),
    )
