"""One job as one self-contained HTML file, for the client first and the workshop below.

No scripts, no styles from elsewhere, nothing fetched: a policy in the file forbids it, and admits only the one style
sheet by its digest and pictures that are in the file.  Everything that came from outside is escaped by the templates.
"""

import base64
import functools
import hashlib
from datetime import date
from importlib import resources
from typing import Any

import jinja2
from markupsafe import Markup

from preflight.findings import Report, Severity
from preflight.report import facts, wording
from preflight.report.data import Letterhead, clean, day, ground, job_text, numbered, of
from preflight.report.marks import SHADES
from preflight.report.picture import Pictures, severities

#: A sheet with margins: larger art is not shown at true size.
_SHEET_MM = (178.0, 230.0)
_KEYS = {Severity.MUST: "to mend", Severity.QUERY: "a question", Severity.NOTE: "a note"}


@functools.cache
def environment() -> jinja2.Environment:
    """The templates; every value is escaped."""
    made = jinja2.Environment(
        loader=jinja2.PackageLoader("preflight.report"),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.filters["bound"] = wording.bound
    made.globals["shades"] = {severity.value: shade for severity, shade in SHADES.items()}
    return made


@functools.cache
def style() -> tuple[Markup, str]:
    """The style sheet, and the content security policy that admits it and nothing else (CSP Level 3)."""
    sheet = resources.files("preflight.report").joinpath("templates/page.css")
    css = sheet.read_text("utf-8").replace("\r\n", "\n")
    digest = base64.b64encode(hashlib.sha256(css.encode()).digest()).decode()
    allowed = f"img-src data:; style-src 'sha256-{digest}'"
    return Markup(css), f"default-src 'none'; {allowed}; base-uri 'none'; form-action 'none'"


def data_uri(png: bytes) -> str:
    """A PNG as an address that holds it."""
    return "data:image/png;base64," + base64.b64encode(png).decode()


def fill(template: str, **values: Any) -> str:
    """A template with its values, and the style sheet."""
    css, policy = style()
    return environment().get_template(template).render(css=css, policy=policy, **values)


def render(
    report: Report, pictures: Pictures | None, letterhead: Letterhead | None = None, when: date | None = None
) -> str:
    """The HTML of one job.

    Args:
        report: the report.
        pictures: None when the art could not be read.
        letterhead: of the workshop.
        when: the day of the check; today if None.
    """
    report = clean(report)
    findings = numbered(report.findings)
    groups = [
        (severity, wording.GROUPS[severity][len(items) != 1], items)
        for severity in Severity
        if (items := of(severity, findings))
    ]
    parts = [
        wording.method_name(report),
        job_text(report, "item"),
        job_text(report, "position"),
        wording.size(report),
    ]
    return fill(
        "report.html",
        report=report,
        letterhead=(letterhead or Letterhead()).clean(),
        date=day(when),
        job=job_text(report, "job"),
        customer=job_text(report, "customer"),
        asked=" · ".join(part for part in parts if part),
        headline=wording.headline(report),
        answer=wording.answer(report),
        pictures=pictures,
        marked=data_uri(pictures.marked) if pictures else "",
        alt=_alt(report, pictures) if pictures else "",
        keys=[(severity, _KEYS[severity]) for severity in severities(pictures)] if pictures else [],
        uri=data_uri,
        groups=groups,
        asks=wording.ASKS,
        figures=facts.finding_figures,
        colours=report.colours,
        area=facts.colour_area,
        match=facts.colour_match,
        ground=ground(report),
        ground_words=facts.ground_words(report),
        size=wording.size(report),
        size_of_file=wording.size_of_file(report),
        size_window=wording.size_window(report),
        true_size=_true_size(report) if pictures else None,
        closing=wording.closing(report),
        order_lines=facts.order_lines(report),
        file_lines=facts.file_lines(report),
        production_lines=facts.production_lines(report.production),
        measure_lines=facts.measure_lines(report),
        checked_summary=facts.checked_summary(report),
        checked_title=facts.checked_title,
        checked_figures=facts.checked_figures,
        outcomes=facts.OUTCOMES,
        sources=facts.sources(report),
    )


def _alt(report: Report, pictures: Pictures) -> str:
    on = facts.ground_words(report) or "white"
    where = wording.listed(str(number) for number in sorted(pictures.marked_numbers))
    marked = (
        f", with the {'places' if len(pictures.marks) > 1 else 'place'} of {where} marked" if where else ""
    )
    return f"Your art on {on}{marked}"


def _true_size(report: Report) -> tuple[str, str] | None:
    art = report.art
    if art is None or art.width_mm > _SHEET_MM[0] or art.height_mm > _SHEET_MM[1]:
        return None
    return f"{art.width_mm:.3f}", f"{art.height_mm:.3f}"
