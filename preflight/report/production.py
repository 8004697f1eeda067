"""Production facts for people: one readable line a fact, with the units and the order a workshop reads them in.

The JSON keeps the facts as they were computed; this table only words them.  A fact that has no line here is still shown,
by its own name.
"""

import math
import string
from collections.abc import Iterator, Mapping
from typing import Any

from preflight.quantity import plain
from preflight.report.data import MOST

#: Label, and the pieces of its line.  A piece holds facts by name, `{runs:run|runs}` gives a number its noun; it is
#: left out when one of its facts is not there.  Where the first piece's fact is not known, the note beside it says why.
LINES: tuple[tuple[str, tuple[str, ...]], ...] = (
    # embroidery
    ("Stitches", ("about {stitches} for one piece", "somewhere from {stitches_low} to {stitches_high}")),
    ("Price band", ("{band} stitches",)),
    ("Sewn size", ("{sewn_width_mm} × {sewn_height_mm} mm",)),
    ("Threads used", ("{thread_colours:colour|colours}", "{colour_changes:change|changes} of colour", "{trims:trim|trims}")),
    ("Letters", ("{letters_counted} among the stitches counted",)),
    ("Machine", ("{heads:head|heads}", "{needles:needle|needles}", "{stitches_a_minute} stitches a minute")),
    ("Sewing time", ("{sewing_minutes} min a run", "{cycle_minutes} min with reloading")),
    ("Output", ("{pieces_an_hour} pieces an hour from all heads",)),
    ("Machine time", ("{machine_hours} h for the order", "in {runs:run|runs}")),
    # printing from plates and screens
    ("Screens", ("{screens}", "one film positive each")),
    ("Plates", ("{plates}", "{plate_width_mm} × {plate_height_mm} mm each")),
    ("Hits", ("{hits_per_colour} for each colour",)),
    ("Etching", ("{etch_um} µm deep", "{screened_plate}")),
    ("White beneath", ("{white_base}",)),
    ("Mesh", (
        "{threads_per_cm_of_mesh} threads a cm", "{threads_per_inch_of_mesh} an inch", "openings of {mesh_opening_um} µm",
        "{mesh_note}",
    )),
    ("Dots", ("{halftone_lpi} lines an inch", "a dot of 10% is {ten_percent_dot_mm} mm across")),
    ("Finest line", ("{finest_line_mm} mm",)),
    ("Widest solid", ("{widest_solid_mm} mm",)),
    ("Blocks", ("{blocks}", "{block_width_mm} × {block_height_mm} mm", "{block_area_cm2} cm²")),
    ("Passes", ("{passes}",)),
    ("Pressed area", ("{pressed_area_cm2} cm²", "the largest solid {largest_solid_mm2} mm²")),
    ("Foil to buy", ("{foil_cm2} cm² a piece", "{foil_total_m2} m² for the order")),
    ("Printed area", ("{printed_area_cm2} cm²", "{printed_area_percent}% of the box round the art")),
    ("Impressions", ("{impressions_total} for the order",)),
    # lasers
    ("Marked area", ("{marked_area_cm2} cm²", "{swept_area_cm2} cm² swept by the beam")),
    ("Thin lines", ("{thin_line_length_mm} mm long together",)),
    ("Bars", ("{bar_length_mm} mm long together",)),
    ("Care with the material", ("{material_caution}",)),
    ("Laser class", ("{laser_class}",)),
    # cut, domed and pressed films
    ("Cut outline", ("{outline}", "{pieces:piece|pieces}", "{holes:hole|holes}")),
    ("Cut length", ("{cut_length_mm} mm for one", "{cut_length_total_m} m for the order")),
    ("Face", ("{piece_area_cm2} cm²",)),
    ("Film", ("{film_cm2} cm² for one", "{film_total_m2} m² for the order")),
    ("Weeding", ("{weeding_pieces:loose part|loose parts} if the contours are cut", "{weeding_openings} of them openings")),
    ("Dome", ("about {dome_height_mm} mm high",)),
    ("Resin", ("{resin_ml} ml for one", "{resin_total_ml} ml for the order")),
    ("Press", ("{press_degc} °C", "{press_seconds} s", "{press_total_minutes} min for the order")),
    ("Pictures", ("{lowest_ppi} ppi at the least", "sharp from {looks_sharp_from_mm} mm away on")),
    # round articles
    ("Fall of the surface", ("{height_fall_mm} mm across the print",)),
    ("Greatest width", ("{greatest_width_mm} mm on this diameter", "{easy_width_mm} mm with ease")),
    ("Quantity", ("{quantity}",)),
)  # fmt: skip
#: Lists of things, each of which gets a line of its own: the fact, and what one of them is called.
LISTS = {"plates": "Screen", "plate_list": "Plate", "foils": "Foil", "inks": "Ink", "threads": "Thread"}
#: The label they follow; the others stand at the end.
AFTER = {
    "Screens": "plates",
    "Plates": "plate_list",
    "Passes": "foils",
    "Threads used": "threads",
    "White beneath": "inks",
}
#: The pieces of such a line.
THING = (
    "{name}", "{hex}", "about {stitches} stitches", "{sewn_cm2} cm² sewn", "{coverage_cm2} cm²",
    "{coverage_percent}% of the box round the art", "with tints of {tints_percent}%", "nearest in our chart: {chart_entry}",
    "{delta_e} ΔE00 away",
)  # fmt: skip
#: Yes and no of a fact, in words.
YES_NO = {
    "white_base": ("needed", "not needed"),
    "screened_plate": ("screened plate for the wide solids", ""),
}
#: Facts that others already tell.
SAID = frozenset({"positives", "screens_note"})
#: Endings of facts without a line here that are units.
UNITS = {
    "mm": "mm", "cm": "cm", "m": "m", "mm2": "mm²", "cm2": "cm²", "m2": "m²", "g": "g", "kg": "kg", "ml": "ml",
    "l": "l", "s": "s", "seconds": "s", "min": "min", "minutes": "min", "h": "h", "hours": "h", "percent": "%",
    "ppi": "ppi", "lpi": "lpi", "um": "µm", "degc": "°C", "w": "W", "n": "N", "bar": "bar", "rpm": "rpm", "spm": "a minute",
}  # fmt: skip


def production_lines(production: Mapping[str, Any]) -> list[tuple[str, str]]:
    """Production facts as label and value, in a workshop's order; what has no line of its own follows by its name."""
    told: set[str] = set(SAID)
    lines: list[tuple[str, str]] = []
    for label, pieces in LINES:
        names = [name for piece in pieces for name in _names(piece)]
        if any(isinstance(production.get(name), list | Mapping) for name in names):
            continue  # the same name, another fact: a list has its own lines
        head = next((name for name in names if name in production), None)
        if head is None:
            continue
        text, used = _line(production, pieces)
        first = _names(pieces[0])[0]
        if not text or (first in production and production[first] is None):
            note = _note(production, names)
            text = f"not known ({plain(production[note], 200)})" if note else "not known"
            used = {*names, note or ""}
        told |= used | {n for n in names if production.get(n) is None}
        lines.append((label, text))
        lines += _things(production, AFTER.get(label, ""), told)
    lines += [line for key in LISTS for line in _things(production, key, told)]
    for key, value in production.items():
        note = production.get(f"{key}_note") if value is None else None
        if key in told:
            continue
        if isinstance(note, str):
            told.add(f"{key}_note")
            lines.append((_label(key)[0], f"not known ({plain(note, 200)})"))
        else:
            lines += _other(key, value)
    return lines[:MOST]


#: What one row of a comparison says of the making: the first of these that a method knows.
BRIEF = (
    "about {stitches} stitches", "{screens:screen|screens}", "{passes:pass|passes}", "{blocks:block|blocks}",
    "{plates:plate|plates}", "{marked_area_cm2} cm² marked", "{resin_ml} ml of resin", "{cut_length_mm} mm to cut",
    "{printed_area_cm2} cm² printed", "white beneath {white_base}",
)  # fmt: skip
_MOST_BRIEF = 2


def in_brief(production: Mapping[str, Any]) -> str:
    """The making in a few words: "3 screens, 4.4 cm² printed"; "" where nothing is known."""
    plain_facts = {key: value for key, value in production.items() if not isinstance(value, list | Mapping)}
    known = [piece for piece in BRIEF if all(plain_facts.get(name) is not None for name in _names(piece))]
    return _line(plain_facts, tuple(known[:_MOST_BRIEF]))[0]


def _things(production: Mapping[str, Any], key: str, told: set[str]) -> Iterator[tuple[str, str]]:
    """A line for each thing of a list of them; nothing for another list, or one that was told already."""
    things = production.get(key)
    if key in told or not isinstance(things, list | tuple) or not all(_is_thing(thing) for thing in things):
        return
    told.add(key)
    for place, thing in enumerate(things[:MOST], 1):
        name = str(thing["name"])
        # a name of the program's own making ends in the value already
        shown = {k: v for k, v in thing.items() if k != "hex" or str(v).lower() not in name.lower()}
        text, _ = _line(shown, THING)
        yield (f"{LISTS[key]} {place}" if len(things) > 1 else LISTS[key]), text


def _is_thing(thing: Any) -> bool:
    if not isinstance(thing, Mapping) or "name" not in thing:
        return False
    known = {name for piece in THING for name in _names(piece)}
    return set(thing) <= known


def _line(facts: Mapping[str, Any], pieces: tuple[str, ...]) -> tuple[str, set[str]]:
    """The pieces whose facts are known, joined; and which facts they told."""
    parts: list[str] = []
    used: set[str] = set()
    for piece in pieces:
        names = _names(piece)
        if any(facts.get(name) is None for name in names):
            continue
        if not names and not parts:
            continue
        shown = {name: _Number(_shown(name, facts[name])) for name in names}
        text = piece.format(**shown).strip()
        used |= set(names)
        if text:
            parts.append(text)
    if not used:
        return "", used
    return ", ".join(parts), used


def _note(facts: Mapping[str, Any], names: list[str]) -> str | None:
    """The note that says why the first of these is not known: "white_base_note", "mesh_note"."""
    candidates = [f"{name}_note" for name in names]
    candidates += [f"{name.rsplit('_', cut)[0]}_note" for name in names for cut in (1, 2)]
    return next((name for name in candidates if isinstance(facts.get(name), str)), None)


def _names(piece: str) -> list[str]:
    return [name for _, name, _, _ in string.Formatter().parse(piece) if name]


class _Number(str):
    """A fact as it stands in its line: "{runs:run|runs}" gives it a noun."""

    def __format__(self, nouns: str) -> str:
        if not nouns:
            return str(self)
        one, many = nouns.split("|")
        return f"{'no' if str(self) == '0' else self} {one if str(self) == '1' else many}"


def _shown(name: str, value: Any) -> str:
    if isinstance(value, bool):
        return YES_NO.get(name, ("yes", "no"))[not value]
    if isinstance(value, int | float):
        return number(value)
    if isinstance(value, list | tuple):
        return ", ".join(_shown(name, item) for item in value[:MOST])
    return plain(str(value))


# ------------------------------------------------------------------------------------------------ facts without a line


def _other(key: str, value: Any) -> Iterator[tuple[str, str]]:
    label, unit = _label(key)
    if isinstance(value, Mapping):
        for inner, text in production_lines(value):
            yield f"{label}: {inner[:1].lower()}{inner[1:]}", text
    else:
        yield label, _value(value, unit)


def _label(key: str) -> tuple[str, str]:
    words = plain(key).replace("_", " ").split()
    unit = UNITS.get(words[-1].lower(), "") if len(words) > 1 else ""
    label = " ".join(words[:-1] if unit else words)
    return label[:1].upper() + label[1:], unit


def _value(value: Any, unit: str) -> str:
    if value is None:
        return "not known"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        return f"{number(value)} {unit}".strip()
    if isinstance(value, Mapping):
        named = {"Name": ""}
        pairs = [pair for key, inner in value.items() for pair in _other(key, inner)]
        return ", ".join(f"{named.get(label, label.lower())} {text}".strip() for label, text in pairs)
    if isinstance(value, list | tuple):
        return "; ".join(_value(item, unit) for item in value[:MOST]) or "none"
    return f"{plain(str(value))} {unit}".strip()


def number(value: float) -> str:
    """ "6 120", "8.4", "0.05": at most two decimals, thousands parted by a thin space that does not break."""
    if not math.isfinite(value):
        return "not known"
    if float(value).is_integer() or abs(value) >= 100:
        return f"{value:,.0f}".replace(",", "\u202f")
    return f"{value:.2f}".rstrip("0").rstrip(".")
