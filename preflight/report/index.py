"""A folder of jobs at a glance: the page, the table for a spreadsheet, and the table for scripts."""

import csv
import io
import json
import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any
from urllib.parse import quote

from preflight.findings import Report, Severity, Verdict
from preflight.quantity import plain
from preflight.report import wording
from preflight.report.data import clean, job_text, numbered
from preflight.report.html import data_uri, fill

SCHEMA = "artwork-preflight-summary/1"
#: The documents of a job's folder, as they are named and linked.
DOCUMENTS = {
    "report.html": "Report", "report.pdf": "PDF", "reply.txt": "Reply", "reply.eml": "Mail draft", "report.json": "JSON",
}  # fmt: skip
COLUMNS = (
    "verdict", "file", "page", "job", "customer", "method", "item", "width_mm", "height_mm", "musts", "queries", "notes",
    "worst_check", "worst", "folder", "note",
)  # fmt: skip
_ORDER = {Verdict.FAIL: 0, Verdict.QUERY: 1, Verdict.PASS: 2}
#: What makes a spreadsheet take a cell for a formula; the last four are the same signs in full width.
_FORMULA = "=+-@\t\r＝＋－＠"
#: The same behind a separator, for a program that splits at other signs than we do.
_BEHIND = re.compile(rf"([;|\t])(\s*)([{re.escape(_FORMULA)}])")


@dataclass(frozen=True)
class JobRow:
    """One job of a run.

    Attributes:
        report: its report.
        folder: of its documents, relative to the index, with "/" between names.
        thumbnail: PNG, or None when there is no picture.
        note: about the run, one line: "unchanged since the last run", "row 7: ...".
        documents: the files that are in the folder, of `DOCUMENTS`.
    """

    report: Report
    folder: str
    thumbnail: bytes | None = None
    note: str = ""
    documents: tuple[str, ...] = tuple(DOCUMENTS)


def by_need(rows: Iterable[JobRow]) -> list[JobRow]:
    """Rows sorted by what needs attention first: verdict, then how much there is to do, then name."""

    def need(row: JobRow) -> tuple[int, int, int, str]:
        musts, queries, _ = wording.tally(row.report)
        return _ORDER[row.report.verdict], -musts, -queries, row.report.file

    return sorted(rows, key=need)


def link(*names: str) -> str:
    """A relative address of a file below the index: every name percent-encoded, no way up or out."""
    parts = [
        part for name in names for part in name.replace("\\", "/").split("/") if part not in ("", ".", "..")
    ]
    return "./" + "/".join(quote(part, safe="", errors="replace") for part in parts)


def render(rows: Iterable[JobRow], title: str = "Artwork received") -> str:
    """The page of a run."""
    ordered = by_need(rows)
    verdicts = [row.report.verdict for row in ordered]
    counts = {verdict: verdicts.count(verdict) for verdict in _ORDER}
    return fill(
        "index.html",
        title=plain(title),
        total=len(ordered),
        headline=_headline(counts, len(ordered)),
        filters=[
            ("all", f"All ({len(ordered)})"),
            ("fail", f"To mend ({counts[Verdict.FAIL]})"),
            ("query", f"With a question ({counts[Verdict.QUERY]})"),
            ("pass", f"Ready ({counts[Verdict.PASS]})"),
        ],
        rows=[_shown(row) for row in ordered],
    )


def _headline(counts: dict[Verdict, int], total: int) -> str:
    if not total:
        return "No jobs yet"
    words = {Verdict.FAIL: "to mend", Verdict.QUERY: "with a question", Verdict.PASS: "ready"}
    parts = [f"{counts[verdict]} {words[verdict]}" for verdict in _ORDER if counts[verdict]]
    return f"{wording.count(total, 'job')}: {wording.listed(parts)}"


def _shown(row: JobRow) -> dict[str, Any]:
    report = clean(row.report)
    findings = numbered(report.findings)
    worst = findings[0].finding if findings and findings[0].finding.severity is not Severity.NOTE else None
    where = [job_text(report, "job"), job_text(report, "customer")]
    return {
        "verdict": report.verdict.value,
        "word": wording.VERDICTS[report.verdict],
        "tally": wording.tally_words(report) if findings else "",
        "file": plain(report.file, 120),
        "page": f"page {report.page} of {report.pages}" if report.pages > 1 else "",
        "order": ", ".join(part for part in where if part),
        "method": ", ".join(part for part in (wording.method_name(report), job_text(report, "item")) if part),
        "size": wording.size(report),
        "worst": plain(worst.says, 240) if worst else "",
        "note": plain(row.note),
        "thumbnail": data_uri(row.thumbnail) if row.thumbnail else "",
        "links": [(link(row.folder, name), DOCUMENTS[name]) for name in row.documents if name in DOCUMENTS],
    }


def _record(row: JobRow) -> dict[str, Any]:
    report = clean(row.report)
    findings = numbered(report.findings)
    musts, queries, notes = wording.tally(report)
    art, worst = report.art, findings[0].finding if findings else None
    return {
        "verdict": report.verdict.value,
        "file": report.file,
        "page": report.page,
        "job": job_text(report, "job"),
        "customer": job_text(report, "customer"),
        "method": job_text(report, "method"),
        "item": job_text(report, "item"),
        "width_mm": round(art.width_mm, 2) if art else None,
        "height_mm": round(art.height_mm, 2) if art else None,
        "musts": musts,
        "queries": queries,
        "notes": notes,
        "worst_check": worst.check.value if worst else "",
        "worst": worst.says if worst else "",
        "folder": plain(row.folder),
        "note": plain(row.note),
    }


def cell(value: Any) -> str:
    """A value for a spreadsheet: text that it might take for a formula begins with an apostrophe."""
    if value is None:
        return ""
    if isinstance(value, int | float):
        return f"{value}"
    text = _BEHIND.sub(r"\1\2'\3", str(value))
    return (
        "'" + text
        if (text.lstrip() or text).startswith(tuple(_FORMULA)) or text[:1] in ("\t", "\r")
        else text
    )


def summary_csv(rows: Iterable[JobRow]) -> str:
    """The rows as CSV (RFC 4180), a header first."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(COLUMNS)
    for row in by_need(rows):
        record = _record(row)
        writer.writerow([cell(record[column]) for column in COLUMNS])
    return out.getvalue()


def summary_json(rows: Iterable[JobRow]) -> str:
    """The rows as JSON, with the counts."""
    ordered = by_need(rows)
    verdicts = [row.report.verdict for row in ordered]
    whole = {
        "schema": SCHEMA,
        "counts": {verdict.value: verdicts.count(verdict) for verdict in _ORDER},
        "jobs": [_record(row) for row in ordered],
    }
    return json.dumps(whole, ensure_ascii=False, indent=2, allow_nan=False) + "\n"
