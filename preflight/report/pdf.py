"""One job as an A4 PDF: the answer, the findings, a proof at true size to sign, and the workshop's part.

Typst sets the pages from a template and a JSON file, so nothing read from art or order is taken for markup.  Typst
sees one temporary folder of our own files, and the faces are those that ship with the program.
"""

import json
import tempfile
from datetime import UTC, date, datetime
from importlib import resources
from pathlib import Path
from typing import Any

import typst

from preflight.findings import Colour, Report, Severity, Verdict
from preflight.report import faces, facts, wording
from preflight.report.data import Letterhead, Numbered, clean, day, ground, job_text, numbered, of
from preflight.report.marks import SHADES
from preflight.report.picture import Pictures, nice_length, severities

#: Room for the art on an upright and on a lying sheet of A4, mm, with its heading, bar and words.
_UPRIGHT_MM, _LYING_MM = (178.0, 205.0), (265.0, 112.0)
#: Room for the marked picture below the answer, mm.
_PICTURE_MM = (178.0, 142.0)
_KEYS = {Severity.MUST: "to mend", Severity.QUERY: "a question", Severity.NOTE: "a note"}


def render(
    report: Report,
    pictures: Pictures | None,
    outlines: bytes | None = None,
    letterhead: Letterhead | None = None,
    when: date | None = None,
) -> bytes:
    """The PDF of one job.

    Args:
        report: the report.
        pictures: None when the art could not be read.
        outlines: the art alone cut to its bounds, a one-page PDF or an SVG (`picture.page_alone`), placed as outlines;
            None: the clean picture is placed.
        letterhead: of the workshop.
        when: the day of the check; today if None.
    """
    report = clean(report)
    when = when or date.today()
    files: dict[str, bytes] = {
        "main.typ": resources.files("preflight.report").joinpath("templates/report.typ").read_bytes()
    }
    if pictures:
        files["marked.png"], files["clean.png"] = pictures.marked, pictures.clean
        files.update({f"near-{near.number}.png": near.png for near in pictures.close_ups})
    drawn = None
    if outlines:
        drawn = "art.pdf" if outlines.startswith(b"%PDF") else "art.svg"
        files[drawn] = outlines
    content = _content(report, pictures, drawn, (letterhead or Letterhead()).clean(), when)
    files["data.json"] = json.dumps(content, ensure_ascii=False, allow_nan=False).encode()
    with tempfile.TemporaryDirectory() as folder:
        for name, data in files.items():
            Path(folder, name).write_bytes(data)
        shipped = Path(folder, "faces")
        shipped.mkdir()
        for name, data in faces.wanted_for(str(content)).items():
            (shipped / name).write_bytes(data)
        made = typst.compile(
            str(Path(folder, "main.typ")),
            root=folder,
            font_paths=[str(shipped)],
            ignore_system_fonts=True,
            timestamp=datetime(when.year, when.month, when.day, tzinfo=UTC),
        )
    assert isinstance(made, bytes)
    return made


def _content(
    report: Report, pictures: Pictures | None, drawn: str | None, letterhead: Letterhead, when: date
) -> dict[str, Any]:
    """What the template shows: plain strings and numbers."""
    findings = numbered(report.findings)
    size, words = wording.size(report), facts.ground_words(report)
    head = [
        f"Job {job_text(report, 'job')}" if job_text(report, "job") else "",
        job_text(report, "customer"),
        day(when),
    ]
    asked = [wording.method_name(report), job_text(report, "item"), job_text(report, "position"), size]
    page = f", page {report.page} of {report.pages}" if report.pages > 1 else ""
    boxes = [
        ("Order", facts.order_lines(report)),
        ("File", facts.file_lines(report)),
        ("Production", facts.production_lines(report.production)),
        ("Measured", facts.measure_lines(report)),
    ]
    return {
        "title": f"{wording.headline(report)}: {report.file}",
        "author": letterhead.name,
        "faces": list(faces.FAMILIES),
        "shades": {severity.value: shade for severity, shade in SHADES.items()},
        "verdict": report.verdict.value,
        "letterhead": {"name": letterhead.name, "lines": list(letterhead.lines)},
        "head": [line for line in head if line],
        "footer": f"{report.file}{page}. Checked on {day(when)}. Screen colours are not exact.",
        "asked": " · ".join(part for part in asked if part),
        "headline": wording.headline(report),
        "answer": wording.answer(report),
        "marked": "marked.png" if pictures else None,
        "marked_mm": _fitted(pictures.width, pictures.height, _PICTURE_MM) if pictures else None,
        "alt": "The art on its ground with the numbered places marked",
        "keys": [(s.value, _KEYS[s]) for s in severities(pictures)] if pictures else [],
        "caption": f"Your art{', ' + size + ',' if size else ''} on {words or 'white, as no ground was named'}.",
        "groups": [
            {
                "title": wording.GROUPS[severity][len(items) != 1],
                "items": [_item(item, pictures) for item in items],
            }
            for severity in Severity
            if (items := of(severity, findings))
        ],
        "ground": ground(report),
        "ground_words": words or "not named; white is assumed",
        "colours": [_colour(colour) for colour in report.colours],
        "art": drawn,
        "clean": "clean.png",
        "true_size": _true_size(report) if pictures else None,
        "size": size,
        "size_words": [part for part in (wording.size_of_file(report), wording.size_window(report)) if part],
        "closing": wording.closing(report),
        "accepted": wording.accepted(report),
        "signs": report.verdict is not Verdict.FAIL,
        "boxes": [{"title": title, "lines": lines} for title, lines in boxes if lines],
        "cautions": list(report.cautions),
        "checked_summary": facts.checked_summary(report),
        "checked": _checked(report),
    }


def _item(item: Numbered, pictures: Pictures | None) -> dict[str, Any]:
    found = item.finding
    near = pictures.close_up(item.number) if pictures else None
    return {
        "number": str(item.number),
        "severity": found.severity.value,
        "says": wording.bound(found.says),
        "why": wording.bound(found.why),
        "remedy": wording.bound(found.remedy),
        "figures": facts.finding_figures(found),
        "accepted": found.accepted,
        "near": f"near-{item.number}.png" if near else None,
    }


def _colour(colour: Colour) -> dict[str, Any]:
    value = "" if colour.hex in colour.name.lower() else colour.hex
    lines = [value, facts.colour_area(colour), facts.colour_match(colour)]
    return {"hex": colour.hex, "name": colour.name, "lines": [line for line in lines if line]}


def _checked(report: Report) -> list[dict[str, str]]:
    sources = facts.sources(report)
    return [
        {
            "title": facts.checked_title(row),
            "rule": row.rule,
            "outcome": facts.OUTCOMES[row.outcome],
            "figures": facts.checked_figures(row),
            "reason": row.reason,
            "source": sources.get(row.rule, ""),
        }
        for row in report.checked
    ]


def _fitted(width: float, height: float, room: tuple[float, float]) -> tuple[float, float]:
    scale = min(room[0] / width, room[1] / height)
    return width * scale, height * scale


def _true_size(report: Report) -> dict[str, Any] | None:
    """Size on the sheet in mm: 1:1 on an upright or a lying sheet where it fits, else reduced to the upright one."""
    art = report.art
    if art is None or min(art.width_mm, art.height_mm) <= 0:
        return None
    size = (art.width_mm, art.height_mm)
    fits = [size[0] <= room[0] and size[1] <= room[1] for room in (_UPRIGHT_MM, _LYING_MM)]
    scale = 1.0 if any(fits) else _fitted(*size, _UPRIGHT_MM)[0] / size[0]
    bar = nice_length(min(100.0, 120.0 / scale if scale < 1 else 100.0)) if scale < 1 else 50.0
    percent = f"{scale * 100:.0f}%" if scale >= 0.1 else f"{scale * 100:.2g}%"
    return {
        "width": size[0] * scale,
        "height": size[1] * scale,
        "scale": scale,
        "percent": percent,
        "bar": bar,
        "tick": bar / 5,
        "landscape": fits == [False, True],
    }
