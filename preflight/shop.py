"""The shop file: a workshop's own limits, charts, machines, letterhead and words (TOML).

[limits]
"embroidery/capital-height" = "6 mm"
"pad-print/line-width" = { must = "0.15 mm", query = "0.25 mm" }

[charts]
inks = "inks.csv"
threads = ["threads.csv", "metallic-threads.csv"]

[machines.embroidery]
heads = 12
needles = 15
speed = 800

[letterhead]
name = "The workshop"
lines = ["Seawall Lane", "Saltmarsh"]
email = "art@example.org"

[words]
cut-outline = ["knife line"]
"""

import re
import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from types import MappingProxyType
from typing import Any

from preflight.errors import PreflightError
from preflight.order import METHODS, nearest
from preflight.quantity import parse, plain
from preflight.report.data import Letterhead

MOST_BYTES = 1_000_000
_TABLES = ("limits", "charts", "machines", "letterhead", "words")
#: What may be said about the machines of a method, and the largest sensible number.
MACHINES: dict[str, dict[str, int]] = {
    "embroidery": {"heads": 100, "needles": 64, "speed": 3000},
    "screen-print": {"stations": 32, "speed": 5000},
    "pad-print": {"stations": 16, "speed": 10_000},
}
_SPEED_ONLY = {"speed": 100_000}
#: A machine's number that is a limit: rule id, unit.
_LIMITED = {
    ("embroidery", "needles"): ("embroidery/thread-colours", "colours"),
    ("screen-print", "stations"): ("screen-print/colours", "colours"),
    ("pad-print", "stations"): ("pad-print/colours", "colours"),
}

Limit = tuple[str | None, str | None]


@dataclass(frozen=True, kw_only=True)
class Shop:
    """A workshop's settings; all of them may be missing.

    Attributes:
        limits: rule id -> (limit, asking limit); None where the built-in one stays.
        charts: ink and thread charts (`preflight.charts.Chart`).
        machines: method id -> heads, needles, stations, speed (embroidery: stitches a minute, else pieces an hour).
        letterhead: how reports are signed.
        cut_words: further words that mean a cut outline in a layer's or spot colour's name.
        tags: what follows from the machines: "manual-press".
        lines: (table, key) -> line in the file, for errors.
        name: of the file, safe to print.
    """

    limits: Mapping[str, Limit] = field(default_factory=dict)
    charts: tuple[Any, ...] = ()
    machines: Mapping[str, Mapping[str, float]] = field(default_factory=dict)
    letterhead: Letterhead | None = None
    cut_words: tuple[str, ...] = ()
    tags: frozenset[str] = frozenset()
    lines: Mapping[tuple[str, str], int] = field(default_factory=dict)
    name: str = ""

    def where(self, table: str, key: str) -> str:
        """ "the shop file “shop.toml”, line 3: " for an error."""
        return _where(self.name, self.lines.get((table, key)))


def _where(name: str, line: int | None) -> str:
    return f"the shop file “{name}”{f', line {line}' if line else ''}: "


def read_shop(path: Path) -> Shop:
    """The settings in a shop file; charts are found relative to it.

    Raises:
        PreflightError: in one plain line with the line number and, for a wrong name, the nearest valid one.
    """
    name = plain(path.name)
    try:
        with path.open("rb") as file:
            data = file.read(MOST_BYTES + 1)
    except OSError as error:
        raise PreflightError(
            f"the shop file “{name}” cannot be read: {error.strerror or 'unknown error'}"
        ) from None
    if len(data) > MOST_BYTES:
        raise PreflightError(f"the shop file “{name}” is larger than {MOST_BYTES // 1_000_000} MB")
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        raise PreflightError(f"{_where(name, line)}not UTF-8 text; save it as UTF-8") from None
    return read_text(text, path.parent, name)


def read_text(text: str, folder: Path, name: str = "shop.toml") -> Shop:
    """The same from the file's text; `folder` is where its charts are.

    Raises:
        PreflightError: as `read_shop`.
    """
    try:
        data = tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        raise PreflightError(f"the shop file “{name}” is not valid TOML: {plain(str(error))}") from None
    read = _Reader(data, _lines(text), folder, name)
    return read.shop()


def _lines(text: str) -> dict[tuple[str, str], int]:
    """Where each table and key begins: (table, key) -> line; the table itself under key ""."""
    found: dict[tuple[str, str], int] = {}
    table = ""
    for number, line in enumerate(text.split("\n"), start=1):
        if match := re.match(r"\s*\[+\s*([^\]]+?)\s*\]", line):
            table = match[1].replace('"', "").replace("'", "").replace(" ", "")
            found.setdefault((table, ""), number)
        elif match := re.match(r"""\s*("[^"]*"|'[^']*'|[\w.-]+)\s*=""", line):
            key = match[1].strip("\"'")
            found.setdefault((table, key), number)
            if "." in key and match[1] == key:  # limits.x = ... outside a table
                found.setdefault((table or key.split(".")[0], key.split(".")[-1]), number)
    return found


class _Reader:
    """One shop file being checked: every message names its line."""

    def __init__(self, data: dict[str, Any], lines: dict[tuple[str, str], int], folder: Path, name: str):
        self.data, self.lines, self.folder, self.name = data, lines, folder, name

    def shop(self) -> Shop:
        self._known("", self.data, _TABLES, "table")
        for table in self.data:
            if not isinstance(self.data[table], dict):
                raise self._wrong("", table, f"write it as a table: [{table}]")
        machines, tags = self._machines()
        return Shop(
            limits=MappingProxyType({**self._machine_limits(machines), **self._limits()}),
            charts=self._charts(),
            machines=machines,
            letterhead=self._letterhead(),
            cut_words=self._words(),
            tags=tags,
            lines=self.lines,
            name=self.name,
        )

    def _wrong(self, table: str, key: str, reason: str) -> PreflightError:
        line = self.lines.get((table, key)) or self.lines.get((f"{table}.{key}" if table else key, ""))
        line = line or self.lines.get((table, "")) or self.lines.get(tuple(table.partition(".")[::2]))  # type: ignore[arg-type]
        shown = f"[{table}] {plain(key)}" if table else plain(key)
        return PreflightError(f"{_where(self.name, line)}{shown}: {reason}")

    def _known(
        self, table: str, given: Mapping[str, Any], valid: Iterable[str], noun: str = "setting"
    ) -> None:
        valid = list(valid)
        for key in given:
            if key not in valid:
                raise self._wrong(table, key, f"there is no such {noun}{nearest(key, valid)}")

    def _strings(self, table: str, key: str, value: Any, most: int = 50) -> tuple[str, ...]:
        values = [value] if isinstance(value, str) else value
        if not isinstance(values, list) or not all(isinstance(v, str) and v.strip() for v in values):
            raise self._wrong(table, key, 'write text in quotes, or a list of such: ["…", "…"]')
        if len(values) > most or any(len(v) > 300 for v in values):
            raise self._wrong(table, key, f"give at most {most} entries of 300 letters")
        return tuple(values)

    def _limits(self) -> dict[str, Limit]:
        return {key: self._limit(key, value) for key, value in self.data.get("limits", {}).items()}

    def _limit(self, key: str, value: Any) -> Limit:
        if isinstance(value, dict):
            self._known(f"limits.{key}", value, ("must", "query"))
            pair = (value.get("must"), value.get("query"))
        else:
            pair = (value, None)
        for text in pair:
            if text is None:
                continue
            if not isinstance(text, str):
                raise self._wrong("limits", key, 'write the limit in quotes with its unit, like "6 mm"')
            try:
                parse(text)
            except ValueError as error:
                raise self._wrong("limits", key, str(error)) from None
        if pair == (None, None):
            raise self._wrong("limits", key, 'give a limit like "6 mm", or { must = "…", query = "…" }')
        return pair

    def _charts(self) -> tuple[Any, ...]:
        given = self.data.get("charts", {})
        self._known("charts", given, ("inks", "threads"))
        if not given:
            return ()
        from preflight import charts  # numpy: only where a chart is named

        found = []
        for key, value in given.items():
            for text in self._strings("charts", key, value):
                if "\0" in text:
                    raise self._wrong("charts", key, "this is no file name")
                try:
                    found.append(charts.read(self.folder / text, kind=key.removesuffix("s")))
                except PreflightError as error:
                    raise self._wrong("charts", key, str(error)) from None
        return tuple(found)

    def _machines(self) -> tuple[Mapping[str, Mapping[str, float]], frozenset[str]]:
        given = self.data.get("machines", {})
        self._known("machines", given, METHODS, "method")
        found: dict[str, Mapping[str, float]] = {}
        tags: set[str] = set()
        for method, settings in given.items():
            table = f"machines.{method}"
            if not isinstance(settings, dict):
                raise self._wrong("machines", method, f"write it as a table: [{table}]")
            most = MACHINES.get(method, _SPEED_ONLY)
            self._known(table, settings, [*most, *(("press",) if method == "screen-print" else ())])
            numbers = {}
            for key, value in settings.items():
                if key == "press":
                    if value not in ("automatic", "manual"):
                        raise self._wrong(table, key, 'write "automatic" or "manual"')
                    tags |= {"manual-press"} if value == "manual" else set()
                elif isinstance(value, bool) or not isinstance(value, int) or not 1 <= value <= most[key]:
                    raise self._wrong(table, key, f"write a whole number from 1 to {most[key]}")
                else:
                    numbers[key] = float(value)
            found[method] = MappingProxyType(numbers)
        return MappingProxyType(found), frozenset(tags)

    @staticmethod
    def _machine_limits(machines: Mapping[str, Mapping[str, float]]) -> dict[str, Limit]:
        return {
            rule: (f"{machines[method][key]:.0f} {unit}", None)
            for (method, key), (rule, unit) in _LIMITED.items()
            if key in machines.get(method, {})
        }

    def _letterhead(self) -> Letterhead | None:
        given = self.data.get("letterhead", {})
        self._known("letterhead", given, ("name", "lines", "email"))
        if not given:
            return None
        for key in ("name", "email"):
            if not isinstance(given.get(key, ""), str) or len(given.get(key, "")) > 200:
                raise self._wrong("letterhead", key, "write text in quotes, up to 200 letters")
        lines = self._strings("letterhead", "lines", given["lines"], 12) if given.get("lines") else ()
        return Letterhead(name=given.get("name", ""), lines=lines, email=given.get("email", "")).clean()

    def _words(self) -> tuple[str, ...]:
        given = self.data.get("words", {})
        self._known("words", given, ("cut-outline",))
        if "cut-outline" not in given:
            return ()
        return tuple(plain(w) for w in self._strings("words", "cut-outline", given["cut-outline"]))
