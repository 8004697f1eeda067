"""What the reports tabulate: figures against limits, colours, the order and the file, as label and value."""

import math

from preflight.findings import Checked, Colour, Finding, Outcome, Report
from preflight.quantity import COUNTED, written
from preflight.report.data import MOST, job_text
from preflight.report.production import production_lines as production_lines
from preflight.report.wording import count, method_name, size

OUTCOMES = {
    Outcome.OK: "well",
    Outcome.MUST: "to mend",
    Outcome.QUERY: "asked",
    Outcome.NOTE: "noted",
    Outcome.NOT_MEASURED: "not measured",
    Outcome.DOES_NOT_APPLY: "does not apply",
}


def figures(measured: float | None, limit: float | None, unit: str, well: bool) -> str:
    """Measured against its limit: "3.4 mm; at least 5 mm is needed".

    A finding does not say which way its limit binds; that it is past it does.  A plain count held against none or one
    (things that are there or not) says nothing beside its sentence: "".

    Args:
        measured: in the unit.
        limit: in the unit.
        unit: a base unit of `preflight.quantity`.
        well: the limit holds.
    """
    measured = measured if measured is not None and math.isfinite(measured) else None
    limit = limit if limit is not None and math.isfinite(limit) else None
    if (measured is None and limit is None) or (unit == "" and limit in (0, 1)):
        return ""
    if measured is None:
        return f"limit {written(limit or 0.0, unit)}"
    got = "none" if measured == 0 and unit in COUNTED else written(measured, unit)
    if limit is None:
        return got
    if limit == 0 and unit in COUNTED:
        return f"{got}; none is expected"
    if measured == limit:
        return f"{got}; the limit is {written(limit, unit)}"
    lower = (measured > limit) is well
    verb = "are" if unit in COUNTED and limit != 1 else "is"
    return f"{got}; {'at least' if lower else 'at most'} {written(limit, unit)} {verb} {'needed' if lower else 'allowed'}"


def finding_figures(finding: Finding) -> str:
    """The same of a finding, as a sentence: "Measured: 3.4 mm; at least 5 mm is needed."."""
    words = figures(finding.measured, finding.limit, finding.unit, well=False)
    lead = "Limit" if finding.measured is None else "Found" if finding.unit in COUNTED else "Measured"
    return f"{lead}: {words.removeprefix('limit ')}." if words else ""


def checked_figures(row: Checked) -> str:
    """The same of a line of what was looked at."""
    if row.outcome in (Outcome.NOT_MEASURED, Outcome.DOES_NOT_APPLY):
        return figures(None, row.limit, row.unit, well=True)
    return figures(row.measured, row.limit, row.unit, well=row.outcome is Outcome.OK)


def checked_title(row: Checked) -> str:
    """The good state that was looked for."""
    return row.title or row.rule


def sources(report: Report) -> dict[str, str]:
    """Rule id to where its limit comes from, as far as the report tells."""
    found = {row.rule: getattr(row, "source", "") for row in report.checked}
    found.update({finding.rule: finding.source for finding in report.findings})
    return found


def checked_summary(report: Report) -> str:
    """ "31 looked at: 24 well, 2 to mend, 1 asked, 4 do not apply"."""
    rows = [row.outcome for row in report.checked]
    parts = [
        f"{rows.count(outcome)} {'do not apply' if outcome is Outcome.DOES_NOT_APPLY and rows.count(outcome) != 1 else word}"
        for outcome, word in OUTCOMES.items()
        if outcome in rows
    ]
    return f"{count(len(rows), 'thing')} looked at: {', '.join(parts)}" if rows else "nothing was looked at"


def colour_name(colour: Colour) -> str:
    """Its name, and its value unless the name says it already."""
    return colour.name if colour.hex in colour.name.lower() else f"{colour.name} ({colour.hex})"


def colour_area(colour: Colour) -> str:
    """How much of the art it covers."""
    parts = [] if colour.area_mm2 is None else [written(colour.area_mm2, "mm2")]
    if colour.share is not None:
        parts.append(f"{written(colour.share * 100, '%')} of the print box")
    return ", ".join(parts)


def colour_match(colour: Colour) -> str:
    """The nearest entry of the shop's chart, if one was given."""
    if not colour.chart_entry:
        return ""
    far = "" if colour.delta_e is None else f", {written(colour.delta_e, 'dE00')} away"
    return f"nearest in our chart: {colour.chart_entry}{far}"


def ground_words(report: Report) -> str:
    """The ground as it was ordered."""
    return job_text(report, "ground_words") or job_text(report, "ground")


def order_lines(report: Report) -> list[tuple[str, str]]:
    """What was ordered, as label and value; only what was said."""
    pairs = [
        ("Job", job_text(report, "job")),
        ("Customer", job_text(report, "customer")),
        ("Method", method_name(report)),
        ("Article", job_text(report, "item")),
        ("Place on it", job_text(report, "position")),
        ("Size", size(report)),
        ("Ground", ground_words(report)),
        ("Material", job_text(report, "material")),
        ("Colours named", job_text(report, "colours")),
        ("Quantity", job_text(report, "quantity")),
        ("Diameter", f"{job_text(report, 'diameter_mm')} mm" if job_text(report, "diameter_mm") else ""),
    ]
    return [pair for pair in pairs if pair[1]]


def measure_lines(report: Report) -> list[tuple[str, str]]:
    """The figures a craftsman would ask for; only those that were taken."""
    m = report.measures
    pairs = [
        ("Finest line", m.finest_line_mm, "mm"),
        ("Narrowest gap", m.narrowest_gap_mm, "mm"),
        ("Smallest lettering", m.smallest_lettering_mm, "mm"),
        ("Smallest detail", m.smallest_detail_mm, "mm"),
        ("Lowest resolution", m.lowest_ppi, "ppi"),
        ("Colours", None if m.colour_count is None else float(m.colour_count), ""),
        ("Ink area", m.ink_area_mm2, "mm2"),
    ]
    lines = [(label, written(value, unit)) for label, value, unit in pairs if value is not None]
    if m.has_gradient is not None:
        lines.append(("Fades or photographs", "yes" if m.has_gradient else "none"))
    return lines


def file_lines(report: Report) -> list[tuple[str, str]]:
    """The file: name, page, kind, fingerprint, fonts and pictures."""
    lines = [("File", report.file), ("SHA-256", report.sha256[:16])]
    if report.pages > 1:
        lines.append(("Page", f"{report.page} of {report.pages}"))
    if report.art:
        lines.append(("Kind", f"{report.art.format.upper()}, {report.art.kind}"))
        for font in report.art.fonts[:MOST]:
            lines.append(("Font", f"{font.name}{'' if font.embedded else ' (not embedded)'}"))
        for image in report.art.images[:20]:
            true = "" if image.true_ppi is None else f", {written(image.true_ppi, 'ppi')} of true detail"
            lines.append(("Picture", f"{written(image.ppi, 'ppi')}{true}"))
    return lines
