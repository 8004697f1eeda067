"""Values of properties rewritten so that both drawing engines understand them; the rest is noted and made harmless."""

import re
from collections.abc import Mapping

from preflight import colour
from preflight.load.svg_colours import read_colour
from preflight.load.svg_fonts import stand_in
from preflight.load.svg_ledger import Ledger
from preflight.load.svg_limits import MAX_VALUE
from preflight.load.svg_styles import font_longhands, split_important
from preflight.load.svg_syntax import CALL, URL, numbers
from preflight.quantity import plain

#: Properties whose value is a colour or another paint.
PAINTS = frozenset({"fill", "stroke", "stop-color", "flood-color", "lighting-color", "color", "solid-color"})
#: Paints that are a word, by that word in small letters.
_KEYWORDS = {
    word.lower(): word
    for word in ("none", "inherit", "currentColor", "context-fill", "context-stroke", "initial", "unset")
}


def rewrite(declared: Mapping[str, str], ledger: Ledger) -> dict[str, str]:
    """Declarations, property to value, in terms that both engines understand."""
    written: dict[str, str] = {}
    for name, value in declared.items():
        if name == "font":  # no engine here reads the shorthand
            bare, important = split_important(value)
            longhands = font_longhands(bare)
            written |= {
                each: rewrite_value(each, part, ledger) + important for each, part in longhands.items()
            }
        elif not name.startswith("--"):
            written[name] = rewrite_value(name, value, ledger)
    return written


def rewrite_value(name: str, value: str, ledger: Ledger) -> str:
    """The value of one property in terms that both engines understand; links out of the file turn into `none`."""
    value, important = split_important(value)
    if len(value) > MAX_VALUE:
        ledger.note("unsupported", f"A {plain(name, 30)} of many thousand characters is left out.")
        return "none"
    if name in PAINTS:
        return rewrite_paint(value, ledger) + important
    if name == "font-family":
        return stand_in(value) + important
    if name == "vector-effect" and "non-scaling-stroke" in value:
        ledger.note(
            "unsupported",
            "Lines set to keep their width at any size are drawn and measured as if they scaled.",
        )
    if name == "stroke-dasharray" and 0 < sum(numbers(value)) < 0.01:
        return "none"  # dashes nobody could see, of which there would be millions
    if name == "clip-path" and re.match(r"(circle|ellipse|inset|polygon|path|rect|xywh)\(", value):
        ledger.note("unsupported", "A part is cut to a shape by its style, which is not done here.")
    if "url(" in value.lower():
        value = URL.sub(lambda link: _inner_link(link, ledger), value)
    return value + important


def rewrite_paint(value: str, ledger: Ledger) -> str:
    """A paint as a keyword, a link within the file, #rrggbb or rgba(); the name of a spot colour goes to the ledger."""
    value = value.strip()
    if value.lower() in _KEYWORDS or not value:
        return _KEYWORDS.get(value.lower(), "")
    if link := URL.match(value):
        rest, inner = value[link.end() :].strip(), _inner_link(link, ledger)
        paint = rewrite_paint(rest, ledger) if rest else ""
        return paint or inner if inner == "none" else f"{inner} {paint}".strip()
    spot = ""
    for call in list(CALL.finditer(value)):
        if call[1].lower() in ("icc-color", "icc-named-color"):  # SVG 1.1 section 12.3, SVG Color 1.2
            words = [word.strip().strip("\"'") for word in call[2].split(",")]
            spot = words[1] if call[1].lower() == "icc-named-color" and len(words) == 2 else ""
            value = value.replace(call[0], " ").strip()
    found = read_colour(value)
    if found is None:
        ledger.note("unread colour", f"The colour “{plain(value, 60)}” can't be read and is drawn black.")
        return "#000000"
    if value.lower().startswith("device-cmyk"):
        ledger.note(
            "approximate colour", "CMYK values without a colour profile are shown only approximately."
        )
    shade = colour.hex_of(found[:3])
    if spot:
        ledger.spot_names[shade] = plain(spot, 80)
    return shade if found[3] >= 1 else f"rgba({found[0]},{found[1]},{found[2]},{found[3]:.4f})"


def _inner_link(match: "re.Match[str]", ledger: Ledger) -> str:
    target = next((group for group in match.groups() if group), "").strip()
    if target.startswith("#"):
        return f"url({target})"
    note_link(target, ledger)
    return "none"


def note_link(target: str, ledger: Ledger) -> None:
    """Note a link that leads out of the file."""
    if target and target[:5].lower() != "data:":
        ledger.note("removed link", f"“{plain(target, 60)}” lies outside the file and is not drawn.")
