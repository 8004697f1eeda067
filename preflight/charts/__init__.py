"""Ink and thread charts: a table of named colours, and the entry nearest to a colour.

A chart is a CSV file with a header: `name` and either `L`, `a`, `b` or `hex`, and optionally `white`, the
white point that L, a, b are relative to: D50 (assumed, as spectrophotometers for print give it) or D65.
Commas, semicolons or tabs part the columns; with the last two a decimal comma may be used.
"""

import csv
import functools
import io
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from importlib import resources
from pathlib import Path

import numpy as np

from preflight import colour
from preflight.artwork import Lab
from preflight.errors import PreflightError
from preflight.quantity import plain

#: More than any chart needs; a larger file is a mistake.
LARGEST_FILE = 4_000_000
MOST_ENTRIES = 20_000
#: Invented charts to try the program with: name, and what is used of them.
SHIPPED = {"workshop ink book": "ink", "marsh thread book": "thread"}


@dataclass(frozen=True, slots=True)
class Entry:
    """One colour of a chart: Lab is relative to D50, `hex` its look on screen."""

    name: str
    lab: Lab
    hex: str


@dataclass(frozen=True, slots=True)
class Chart:
    """A named table of colours; `kind` is "ink", "thread" or "" where nobody said."""

    name: str
    entries: tuple[Entry, ...]
    kind: str = ""

    def find(self, words: str) -> Entry | None:
        """The entry of that name, whatever its capitals, spaces and hyphens."""
        return _names(self).get(key(words))


@dataclass(frozen=True, slots=True)
class Match:
    """An entry, the chart it is in, and how far it is from the colour looked for (CIEDE2000)."""

    chart: str
    entry: Entry
    delta_e: float


def nearest(lab: Lab, charts: Sequence[Chart]) -> Match | None:
    """The entry nearest to a Lab (D50) colour by CIEDE2000; None where the charts are empty."""
    best: Match | None = None
    for chart in charts:
        if chart.entries:
            far = colour.differences(lab, _table(chart))
            least = int(far.argmin())
            if best is None or far[least] < best.delta_e:
                best = Match(chart.name, chart.entries[least], float(far[least]))
    return best


def entry_named(words: str, charts: Sequence[Chart]) -> tuple[Chart, Entry] | None:
    """The entry of that name, whatever its capitals, spaces and hyphens; the first chart that has it."""
    for chart in charts:
        found = chart.find(words)
        if found:
            return chart, found
    return None


def key(words: str) -> str:
    """A name reduced to its letters and figures, to compare names."""
    return "".join(char for char in words.casefold() if char.isalnum())


def read(path: Path, name: str = "", kind: str = "") -> Chart:
    """The chart in a CSV file, called `name` or like the file.

    Raises:
        PreflightError: it cannot be read; the message names the file, the line and the way out.
    """
    shown = plain(path.name)
    try:
        with path.open("rb") as file:
            data = file.read(LARGEST_FILE + 1)
    except OSError as error:
        raise PreflightError(
            f"The chart {shown} cannot be opened ({error.strerror or type(error).__name__}); check its path."
        ) from None
    if len(data) > LARGEST_FILE:
        raise PreflightError(f"The chart {shown} is larger than 4 MB; give a CSV with one colour a line.")
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        raise PreflightError(f"The chart {shown}, line {line}: not UTF-8 text; save it as UTF-8.") from None
    return parsed(text, name or path.stem, kind, shown)


@functools.cache
def shipped(name: str) -> Chart:
    """One of the invented charts in `SHIPPED`.

    Raises:
        KeyError: there is none of that name.
    """
    file = resources.files(__name__) / f"{name.replace(' ', '-')}.csv"
    return parsed(file.read_text("utf-8"), name, SHIPPED[name], name)


def parsed(text: str, name: str, kind: str = "", shown: str = "") -> Chart:
    """The chart in a CSV text; `shown` is how errors call it.

    Raises:
        PreflightError: a line is wrong; the message says which and why.
    """
    shown = shown or plain(name)
    rows = _rows(text, shown)
    number, header = next(rows, (1, []))
    columns = _columns(header)
    if "name" not in columns or not ("hex" in columns or {"l", "a", "b"} <= columns.keys()):
        raise PreflightError(
            f"The chart {shown}, line {number}: the header must name columns: name, L, a, b or name, hex."
        )
    entries: list[Entry] = []
    seen: dict[str, int] = {}
    for number, cells in rows:
        try:
            entry = _entry(dict(zip(columns, _in_order(cells, columns), strict=True)))
            before = seen.setdefault(key(entry.name), number)
            if before != number:
                raise ValueError(f"“{entry.name}” is already on line {before}; give each colour its own name")
        except ValueError as error:
            raise PreflightError(f"The chart {shown}, line {number}: {error}.") from None
        entries.append(entry)
        if len(entries) > MOST_ENTRIES:
            raise PreflightError(f"The chart {shown} has more than {MOST_ENTRIES} colours; split it.")
    if not entries:
        raise PreflightError(f"The chart {shown} has no colours; give one a line below the header.")
    return Chart(plain(name), tuple(entries), kind)


def _rows(text: str, shown: str) -> Iterator[tuple[int, list[str]]]:
    """Line number and cells of each line that holds something."""
    first = next((line for line in text.splitlines() if line.strip()), "")
    parted = max("\t;,", key=first.count)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=parted, strict=True)
    try:
        for cells in reader:
            if any(cell.strip() for cell in cells):
                yield reader.line_num, [cell.strip() for cell in cells]
    except csv.Error as error:
        raise PreflightError(f"The chart {shown}, line {reader.line_num}: {plain(str(error))}.") from None


_CALLED = {
    "name": "name", "colour": "name", "entry": "name", "l": "l", "l*": "l", "a": "a", "a*": "a", "b": "b",
    "b*": "b", "hex": "hex", "srgb": "hex", "white": "white", "white point": "white", "whitepoint": "white",
    "illuminant": "white",
}  # fmt: skip


def _columns(header: list[str]) -> dict[str, int]:
    """Which of our columns stands where; columns we do not know are left alone."""
    found: dict[str, int] = {}
    for place, cell in enumerate(header):
        called = _CALLED.get(cell.lower().replace("_", " "))
        if called:
            found.setdefault(called, place)
    return found


def _in_order(cells: list[str], columns: dict[str, int]) -> list[str]:
    return [cells[place] if place < len(cells) else "" for place in columns.values()]


def _entry(cells: dict[str, str]) -> Entry:
    name = plain(cells["name"], 80)
    if not key(name):
        raise ValueError("the colour has no name")
    lab_cells = [cells.get(c, "") for c in "lab"]
    if not any(lab_cells):
        shade = cells.get("hex", "")
        if not re.fullmatch(r"#?[0-9a-fA-F]{6}", shade):
            raise ValueError(f"{plain(repr(shade))} is no colour; write it like #c8102e")
        shade = colour.hex_of(colour.rgb_of(shade))
        return Entry(name, colour.lab_of(shade), shade)
    lightness, a, b = (_number(cell, "Lab"[i]) for i, cell in enumerate(lab_cells))
    if not 0 <= lightness <= 100:
        raise ValueError(f"L is {lightness:g}; it runs from 0 to 100")
    if max(abs(a), abs(b)) > 150:
        raise ValueError(f"a and b are {a:g} and {b:g}; they run from -150 to 150")
    white = cells.get("white", "").upper()
    if white not in ("", "D50", "D65"):
        raise ValueError(f"the white point {plain(repr(white))} is not known; write D50 or D65")
    lab = (lightness, a, b)
    if white == "D65":
        lab = colour.d50_from_d65(lab)
    lab = (round(lab[0], 3), round(lab[1], 3), round(lab[2], 3))
    return Entry(name, lab, colour.hex_of_lab(lab))


def _number(cell: str, column: str) -> float:
    """A number with a decimal point or comma."""
    if not re.fullmatch(r"[+-]?(\d+([.,]\d*)?|[.,]\d+)", cell):
        raise ValueError(f"{column} is {plain(repr(cell))}, not a number")
    return float(cell.replace(",", "."))


@functools.lru_cache(maxsize=32)
def _table(chart: Chart) -> np.ndarray:
    return np.array([entry.lab for entry in chart.entries], float).reshape(-1, 3)


@functools.lru_cache(maxsize=32)
def _names(chart: Chart) -> dict[str, Entry]:
    return {key(entry.name): entry for entry in chart.entries}
