"""One job in the terminal: the verdict first, then what to do, then what was looked at."""

import textwrap

from preflight.findings import Report, Severity, Verdict
from preflight.report import facts, wording
from preflight.report.data import Numbered, clean, numbered

_COLOURS = {
    Severity.MUST: "1;31", Severity.QUERY: "1;36", Severity.NOTE: "2",
    Verdict.FAIL: "1;31", Verdict.QUERY: "1;36", Verdict.PASS: "1;32",
}  # fmt: skip
_NARROWEST, _WIDEST = 24, 100


def render(report: Report, colour: bool = False, width: int = 88) -> str:
    """The text of one job, ending with a line break.

    Args:
        report: the report.
        colour: with ANSI colours (SGR); without, the text is plain.  Severities are words either way.
        width: columns of the terminal.
    """
    report = clean(report)
    width = max(_NARROWEST, min(width - 1, _WIDEST))
    blocks = [_head(report, colour, width)]
    blocks += [_finding(item, colour, width) for item in numbered(report.findings)]
    blocks.append(_rest(report, width))
    return "\n\n".join(block for block in blocks if block) + "\n"


def _paint(words: str, code: str, colour: bool) -> str:
    return f"\x1b[{code}m{words}\x1b[0m" if colour else words


def _wrapped(words: str, width: int, indent: str = "", hang: str | None = None) -> str:
    rest = indent if hang is None else hang
    filled = textwrap.fill(
        wording.bound(words), width, initial_indent=indent, subsequent_indent=rest, break_on_hyphens=False
    )
    return filled.replace(wording.NO_BREAK, " ")


def _head(report: Report, colour: bool, width: int) -> str:
    word = wording.VERDICTS[report.verdict].upper()
    asked = [wording.method_name(report), wording.job_text(report, "item"), wording.size(report)]
    ground = facts.ground_words(report)
    line = ", ".join(part for part in asked if part) + (f", on {ground}" if ground else "")
    name = _wrapped(f"{word}  {report.file}", width, hang="  ")
    return "\n".join([
        _paint(name[: len(word)], _COLOURS[report.verdict], colour) + name[len(word) :],
        _wrapped(line, width, "  "),
        _wrapped(f"{wording.headline(report)}{wording.besides(report)}.", width, "  "),
    ])  # fmt: skip


def _finding(item: Numbered, colour: bool, width: int) -> str:
    found = item.finding
    mark = f"{item.number:>2}  "
    word = wording.ASKS[found.severity] if not found.accepted else "Accepted"
    first = _wrapped(f"{mark}{word}: {found.says}", width, hang="    ")
    start = len(mark)
    end = start + len(word)
    lines = [first[:start] + _paint(first[start:end], _COLOURS[found.severity], colour) + first[end:]]
    lines += [_wrapped(words, width, "    ") for words in (found.why, found.remedy) if words]
    small = [facts.finding_figures(found).rstrip("."), found.rule]
    lines.append(
        _paint(_wrapped("[" + " | ".join(part for part in small if part) + "]", width, "    "), "2", colour)
    )
    return "\n".join(lines)


def _rest(report: Report, width: int) -> str:
    pairs = [("Checked", facts.checked_summary(report))]
    pairs += [
        ("Not measured", f"{facts.checked_title(row)}: {row.reason or 'no reason given'}")
        for row in report.checked
        if row.outcome.value == "not measured"
    ]
    window = wording.size_window(report)
    pairs += [("Size", part) for part in (wording.size_of_file(report), window) if part]
    for colour in report.colours:
        parts = [facts.colour_name(colour), facts.colour_area(colour), facts.colour_match(colour)]
        pairs.append(("Colour", ", ".join(part for part in parts if part)))
    measured = ", ".join(f"{label.lower()} {value}" for label, value in facts.measure_lines(report))
    pairs += [("Measured", measured)] if measured else []
    pairs += [("Workshop", f"{label}: {value}") for label, value in facts.production_lines(report.production)]
    pairs += [("Caution", words) for words in report.cautions]
    column = 14 if width >= 50 else 2
    lines, before = [], ""
    for label, words in pairs:
        shown = "" if label == before else label
        before = label
        if column > 2:
            lines.append(_wrapped(words, width, f"{shown:<{column}}", " " * column))
        else:
            lines += [shown] if shown else []
            lines.append(_wrapped(words, width, "  "))
    return "\n".join(lines)
