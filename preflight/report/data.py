"""What every document shares: a report made safe to print, its findings numbered, the workshop's letterhead.

A report repeats words from art and orders.  `clean` is the one door they come through: after it no string holds a
control character, a line break or a direction mark.  Escaping for HTML, CSV or mail is then each document's own.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

import msgspec

from preflight.findings import Finding, Report, Severity, worst_first
from preflight.quantity import plain

#: Longest string a document repeats; a sentence of a rule is far shorter.
LONGEST = 900
#: Most entries shown of a list or a mapping that came from outside.
MOST = 400
_HEX = re.compile(r"#[0-9a-fA-F]{6}")
_MONTHS = "January February March April May June July August September October November December".split()


@dataclass(frozen=True, kw_only=True)
class Letterhead:
    """The workshop as it signs its reports (`[letterhead]` of the shop file).

    Attributes:
        name: of the workshop.
        lines: address, telephone and the like, each one line.
        email: where answers go; the sender of a mail draft.
    """

    name: str = ""
    lines: tuple[str, ...] = ()
    email: str = ""

    def clean(self) -> "Letterhead":
        """The same, safe to print."""
        return replace(
            self,
            name=plain(self.name),
            lines=tuple(plain(line) for line in self.lines if plain(line)),
            email=plain(self.email),
        )


@dataclass(frozen=True)
class Numbered:
    """A finding and the number it carries in every document and picture of its job."""

    number: int
    finding: Finding


def numbered(findings: "tuple[Finding, ...] | list[Finding]") -> tuple[Numbered, ...]:
    """The findings counted from 1, worst first: the one numbering that all documents and pictures follow."""
    return tuple(Numbered(number, finding) for number, finding in enumerate(worst_first(findings), 1))


def of(severity: Severity, findings: tuple[Numbered, ...]) -> tuple[Numbered, ...]:
    """Those of one severity."""
    return tuple(item for item in findings if item.finding.severity is severity)


def clean(report: Report) -> Report:
    """The report with every string safe to print, and its colours either "#rrggbb" or white."""
    loose = _clean(msgspec.to_builtins(report, enc_hook=str), 0)
    for colour in loose.get("colours", ()):
        colour["hex"] = shade(colour["hex"])
    return msgspec.convert(loose, type=Report)


def _clean(value: Any, depth: int) -> Any:
    if isinstance(value, str):
        return plain(value, LONGEST)
    if depth > 12:
        return "…"
    if isinstance(value, Mapping):
        return {plain(str(key)): _clean(item, depth + 1) for key, item in list(value.items())[:MOST]}
    if isinstance(value, list | tuple):
        return [_clean(item, depth + 1) for item in value[:MOST]]
    return value


def shade(text: Any) -> str:
    """ "#rrggbb" if it is that, else white: nothing else may reach a style or a drawing."""
    return text.lower() if isinstance(text, str) and _HEX.fullmatch(text) else "#ffffff"


def job_text(report: Report, key: str) -> str:
    """One entry of the order as text; "" where nobody said."""
    value = report.job.get(key)
    if value is None or isinstance(value, bool):
        return ""
    if isinstance(value, list | tuple):
        return plain(", ".join(str(item) for item in value))
    return plain(str(value))


def ground(report: Report) -> str:
    """The ground as "#rrggbb"; white where nobody said."""
    return shade(report.job.get("ground"))


def day(when: date | None = None) -> str:
    """ "3 May 2031"; today if no day is given."""
    when = when or date.today()
    return f"{when.day} {_MONTHS[when.month - 1]} {when.year}"
