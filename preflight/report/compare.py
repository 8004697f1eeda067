"""The same art against every method, side by side, what works first.

All reports are of one file at one size; each is judged by its own method.
"""

import shutil
import textwrap
from typing import Any

from preflight.findings import Check, Report, Severity, Verdict
from preflight.report import facts, wording
from preflight.report.data import clean, ground, numbered
from preflight.report.html import data_uri, fill
from preflight.report.picture import Pictures
from preflight.report.production import in_brief

_ORDER = {Verdict.PASS: 0, Verdict.QUERY: 1, Verdict.FAIL: 2}


def by_promise(reports: list[Report]) -> list[Report]:
    """Reports sorted by what works: verdict, then how little there is to do; otherwise as given."""
    return sorted(reports, key=lambda report: (_ORDER[report.verdict], *wording.tally(report)[:2]))


def headline(reports: list[Report]) -> str:
    """How many methods would do."""
    if _of_the_file(reports):
        return (
            wording.headline(reports[0])
            if wording.is_unreadable(reports[0])
            else "There is no art to advise on"
        )
    verdicts = [report.verdict for report in reports]
    ready, asked = verdicts.count(Verdict.PASS), verdicts.count(Verdict.QUERY)
    if ready:
        return f"{wording.count(ready, 'method')} can make this art as it is"
    if asked:
        return f"No method takes it without a question; {wording.count(asked, 'method')} would once it is answered"
    return "No method can make this art as it is"


def _of_the_file(reports: list[Report]) -> tuple[str, str] | None:
    """What is wrong with the file itself and what to do, where no method could do anything about it; else None."""
    found = [
        next(
            (f for f in report.findings if f.check is Check.UNREADABLE and f.severity is Severity.MUST), None
        )
        for report in reports
    ]
    first = found[0] if found else None
    return None if first is None or None in found else (first.says, first.remedy)


def _row(report: Report) -> dict[str, Any]:
    return {
        "verdict": report.verdict.value,
        "method": wording.method_name(report),
        "word": wording.VERDICTS[report.verdict],
        "tally": wording.tally_words(report),
        "mend": wording.in_the_way(report, Severity.MUST),
        "ask": wording.in_the_way(report, Severity.QUERY),
        "first": next(
            (
                item.finding.says
                for item in numbered(report.findings)
                if item.finding.severity is not Severity.NOTE
            ),
            "",
        ),
        "widths": wording.widths(report.size_window),
        "colours": ""
        if report.measures.colour_count is None
        else wording.count(report.measures.colour_count, "colour"),
        "facts": in_brief(report.production),
    }


def render_text(reports: list[Report], width: int | None = None) -> str:
    """The methods as text, ending with a line break.  A wide terminal gets a table, a narrow one a list."""
    if not reports:
        return "No method was asked for.\n"
    width = max(24, min(width or shutil.get_terminal_size((100, 24)).columns, 120) - 1)
    ordered = [clean(report) for report in by_promise(reports)]
    first = ordered[0]
    size = f" at {wording.size(first)}" if wording.size(first) else ""
    trouble = _of_the_file(ordered)
    if trouble:  # no table: every row of it would say the same
        lines = [f"{first.file}: {headline(ordered)}.", *trouble]
        return "\n".join(textwrap.fill(line, width) for line in lines) + "\n"
    top = textwrap.fill(f"{first.file}{size}: {headline(ordered)}.", width)
    rows = [_row(report) for report in ordered]
    body = _table(rows, width) if width >= 84 else "\n".join(_item(row, width) for row in rows)
    return f"{top}\n\n{body}\n"


def _in_the_way(row: dict[str, Any]) -> str:
    parts = [f"to mend: {row['mend']}"] if row["mend"] else []
    parts += [f"asks about {row['ask']}"] if row["ask"] else []
    return "; ".join(parts) or "nothing"


def _table(rows: list[dict[str, Any]], width: int) -> str:
    columns = [
        ("Method", [row["method"] for row in rows], 14),
        ("Answer", [row["word"] for row in rows], 8),
        ("Widths that work", [row["widths"] for row in rows], 16),
        ("In the way", [_in_the_way(row) for row in rows], 0),
        ("Making", [row["facts"] for row in rows], 20),
    ]
    wide = width - sum(size for *_, size in columns) - 2 * (len(columns) - 1)
    sizes = [size or wide for *_, size in columns]

    def line(cells: list[str]) -> str:
        filled = [textwrap.wrap(text, size) or [""] for text, size in zip(cells, sizes, strict=True)]
        deep = max(map(len, filled))
        return "\n".join(
            "  ".join(
                f"{part[at] if at < len(part) else '':<{size}}"
                for part, size in zip(filled, sizes, strict=True)
            ).rstrip()
            for at in range(deep)
        )

    head = line([name for name, *_ in columns])
    rule = "  ".join("-" * size for size in sizes)
    return "\n".join([head, rule, *(line([cells[at] for _, cells, _ in columns]) for at in range(len(rows)))])


def _item(row: dict[str, Any], width: int) -> str:
    lines = [
        f"{row['word'].upper()}  {row['method']}",
        f"widths that work: {row['widths']}",
        _in_the_way(row),
        row["facts"],
    ]
    return "\n".join(
        textwrap.fill(words, width, initial_indent="  " if at else "", subsequent_indent="    ")
        for at, words in enumerate(lines)
        if words
    )


def render_html(reports: list[Report], pictures: Pictures | None = None) -> str:
    """The methods as one self-contained HTML page."""
    ordered = [clean(report) for report in by_promise(reports)]
    first = ordered[0] if ordered else None
    return fill(
        "compare.html",
        headline=headline(ordered),
        file=first.file if first else "",
        size=wording.size(first) if first else "",
        ground_words=facts.ground_words(first) if first else "",
        ground=ground(first) if first else "#ffffff",
        colours=first.colours if first else (),
        trouble=_of_the_file(ordered),
        rows=[_row(report) for report in ordered],
        picture=data_uri(pictures.clean) if pictures else "",
        picture_size=pictures.clean_size if pictures else (0, 0),
    )
