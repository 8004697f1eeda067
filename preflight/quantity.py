"""Quantities as a person writes them: "5 mm", "3.15in", "300 ppi", "12 colours".

Inside the program every length is a float in millimetres and every area a float in square millimetres;
this module is the only door.  A printed figure is the figure that is judged, so that no report ever says
"5 mm measured, at least 5 mm needed: fails".
"""

import re
import unicodedata
from dataclasses import dataclass

#: Unit as written: its base unit, and how many of the base make one.
UNITS = {
    "mm": ("mm", 1.0),
    "cm": ("mm", 10.0),
    "m": ("mm", 1000.0),
    "in": ("mm", 25.4),
    '"': ("mm", 25.4),
    "pt": ("mm", 25.4 / 72),  # CSS Values and Units 3, absolute lengths: 1 pt = 1/72 in
    "mm2": ("mm2", 1.0),
    "cm2": ("mm2", 100.0),
    "ppi": ("ppi", 1.0),
    "dpi": ("ppi", 1.0),
    "lpi": ("lpi", 1.0),
    "%": ("%", 1.0),
    "dE00": ("dE00", 1.0),
    "ratio": ("ratio", 1.0),
    "g/m2": ("g/m2", 1.0),
    "degC": ("degC", 1.0),
    "modules": ("modules", 1.0),
    "stitches/mm2": ("stitches/mm2", 1.0),
    "stitches": ("stitches", 1.0),
    "colours": ("colours", 1.0),
    "pieces": ("pieces", 1.0),
    "": ("", 1.0),
}
#: Units that count things: no tolerance is given on them, and they have no decimals.
COUNTED = frozenset({"", "colours", "pieces", "stitches"})
#: How a unit is written for a reader; units not named here are written as they are.
WRITTEN = {
    "mm2": "mm²",
    "dE00": "ΔE00",
    "ratio": ": 1",
    "g/m2": "g/m²",
    "degC": "°C",
    "stitches/mm2": "stitches/mm²",
}
_DECIMALS = {"mm2": 1, "%": 1, "dE00": 1, "ratio": 2, "stitches/mm2": 2, "modules": 1}
_NUMBER = re.compile(r"\s*([0-9]+(?:\.[0-9]+)?|\.[0-9]+)\s*([a-zA-Z%/\"]*[0-9]*)\s*")


def decimals(value: float, unit: str) -> int:
    """How many decimals a report prints, and a rule therefore judges."""
    if unit == "mm":
        return 3 if abs(value) < 0.2 else 2 if abs(value) < 10 else 1
    return _DECIMALS.get(unit, 0)


def rounded(value: float, unit: str) -> float:
    """The number as it will be printed."""
    if unit == "ppi" and value >= 250:
        # the edge of a bitmap is sure to a pixel, so nobody can tell 599 from 600
        return float(5 * round(value / 5))
    return round(value, decimals(value, unit))


@dataclass(frozen=True, order=True)
class Quantity:
    """A number in a base unit."""

    value: float
    unit: str

    def __str__(self) -> str:
        return written(self.value, self.unit)


def written(value: float, unit: str) -> str:
    """A number and its unit for a reader: 0.3 mm, 12 colours, 4.5 : 1.  Large areas are given in cm²."""
    value = rounded(value, unit)
    if unit == "mm2" and abs(value) >= 1000:
        number, unit = f"{value / 100:.1f}", "cm²"
    elif unit == "stitches":
        number = f"{value:,.0f}".replace(",", " ")
    else:
        number = f"{value:.{decimals(value, unit)}f}"
    if "." in number:
        number = number.rstrip("0").rstrip(".")
    if unit in ("colours", "pieces", "modules", "stitches") and number == "1":
        unit = "stitch" if unit == "stitches" else unit[:-1]
    unit = WRITTEN.get(unit, unit)
    return f"{number}{unit}" if unit == "%" else f"{number} {unit}".strip()


def parse(text: str) -> Quantity:
    """Read "5 mm".

    Raises:
        ValueError: in plain words, when it cannot be read.
    """
    match = _NUMBER.fullmatch(text) if isinstance(text, str) else None
    if not match or match[2] not in UNITS:
        raise ValueError(
            f'{plain(repr(text))} is not a quantity; write it in quotes like "5.5 mm", "300 ppi" or "12"'
        )
    base, factor = UNITS[match[2]]
    return Quantity(float(match[1]) * factor, base)


def length(text: str) -> float:
    """A length in mm from "80", "80mm", "8cm" or "3.15in"; a bare number is mm.

    Raises:
        ValueError: in plain words, when it is no length or not above zero.
    """
    found = parse(text)
    if found.unit not in ("mm", ""):
        raise ValueError(f"{plain(repr(text))} is not a length; write mm, cm or in, like 80mm or 3.15in")
    if not 0 < found.value <= 100_000:
        raise ValueError(f"{plain(repr(text))} is out of range; give a length above 0 and up to 100 m")
    return found.value


def plain(text: str, limit: int = 200) -> str:
    """Text from outside made safe to print: no control, direction or private characters, one line, not too long."""
    shown = []
    for char in text[: limit + 1]:
        category = unicodedata.category(char)
        if category in ("Cc", "Zl", "Zp"):
            shown.append(" ")
        elif not category.startswith("C"):
            shown.append(char)
    joined = " ".join("".join(shown).split())
    return joined if len(text) <= limit else joined[:limit] + "…"
