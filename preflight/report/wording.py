"""The sentences of the reports: verdicts, counts, sizes and figures in plain words.  They judge nothing."""

import math
import re
from collections.abc import Iterable, Mapping
from typing import Any

from preflight.findings import Check, Checked, Colour, Finding, Outcome, Report, Severity, SizeWindow, Verdict
from preflight.quantity import COUNTED, plain, written
from preflight.report.data import MOST, job_text, numbered, of

#: A check as a noun that fits in a sentence for a client.
NOUNS = {
    Check.UNREADABLE: "the file itself",
    Check.ORDER_DETAILS: "details of the order",
    Check.VECTOR_REQUIRED: "outlines instead of a bitmap",
    Check.RESOLUTION: "the resolution of the pictures",
    Check.ART_SIZE: "the size of the art",
    Check.LINE_WIDTH: "thin lines",
    Check.GAP_WIDTH: "narrow gaps",
    Check.ISOLATED_DETAIL: "small specks",
    Check.LETTERING_HEIGHT: "small lettering",
    Check.GRADIENT: "fades and photographs",
    Check.COLOUR_COUNT: "the number of colours",
    Check.SPOT_COLOUR: "how the inks are named",
    Check.GROUND_CONTRAST: "contrast with the ground",
    Check.BACKGROUND: "a box behind the art",
    Check.TRANSPARENCY: "transparency",
    Check.OVERPRINT: "overprint settings",
    Check.REGISTRATION: "inks that touch",
    Check.SOLID_AREA: "large solid areas",
    Check.FONT: "fonts",
    Check.HIDDEN_CONTENT: "hidden parts of the file",
    Check.BLEED: "bleed and margins",
    Check.CUT_SHAPE: "the cut outline",
    Check.MATERIAL: "the material",
    Check.STITCH_COUNT: "the stitches",
    Check.COLOUR_MATCH: "the match of the colours",
    Check.CODE_LEGIBILITY: "codes to be scanned",
    Check.RENDERING: "how the file draws",
}
#: What a severity asks of the client, in a word.
ASKS = {Severity.MUST: "To mend", Severity.QUERY: "Question", Severity.NOTE: "Note"}
#: The same over a list of them.
GROUPS = {
    Severity.MUST: ("To mend", "To mend"),
    Severity.QUERY: ("A question for you", "Questions for you"),
    Severity.NOTE: ("For your information", "For your information"),
}
OUTCOMES = {
    Outcome.OK: "well",
    Outcome.MUST: "to mend",
    Outcome.QUERY: "asked",
    Outcome.NOTE: "noted",
    Outcome.NOT_MEASURED: "not measured",
    Outcome.DOES_NOT_APPLY: "does not apply",
}
VERDICTS = {Verdict.PASS: "Ready", Verdict.QUERY: "Question", Verdict.FAIL: "To mend"}
#: Parts of a method's id that are not written as words are.
_ACRONYMS = {"uv": "UV", "yag": "YAG", "co2": "CO₂"}
#: Endings of production facts that are units.
_UNITS = {
    "mm": "mm", "cm": "cm", "m": "m", "mm2": "mm²", "cm2": "cm²", "m2": "m²", "g": "g", "kg": "kg", "ml": "ml",
    "l": "l", "s": "s", "seconds": "s", "min": "min", "minutes": "min", "h": "h", "hours": "h", "percent": "%",
    "ppi": "ppi", "lpi": "lpi", "um": "µm", "degc": "°C", "w": "W", "n": "N", "bar": "bar", "rpm": "rpm", "spm": "a minute",
}  # fmt: skip
NO_BREAK = "\u00a0"
_NUMBER_AND_UNIT = re.compile(r"(?<=\d) (?=(?:mm|cm|m|in|ppi|lpi|stitch|ΔE|: 1|g/m|°C)\S{0,8}(?:\W|$))")
_SMALL = "no one two three four five six seven eight nine ten eleven twelve".split()


def bound(words: str) -> str:
    """The words with each number tied to its unit, so that no line ends between them."""
    return _NUMBER_AND_UNIT.sub(NO_BREAK, words)


def count(number: int, noun: str, nouns: str = "") -> str:
    """ "1 question", "2 questions"."""
    return f"{number} {noun if number == 1 else nouns or noun + 's'}"


def _in_words(number: int, noun: str) -> str:
    word = _SMALL[number] if number < len(_SMALL) else str(number)
    return f"{word} {noun if number == 1 else noun + 's'}"


def method_name(report: Report) -> str:
    """The method as it is said: the order's own `method_name` if it has one, else made from the id."""
    name = job_text(report, "method_name")
    if name:
        return name
    words = [_ACRONYMS.get(word, word) for word in job_text(report, "method").split("-")]
    joined = " ".join(words) or "decorating"
    return joined[:1].upper() + joined[1:]


def in_sentence(name: str) -> str:
    """A method's name inside a sentence: "Pad print" becomes "pad print", "UV print" stays."""
    first = name.split(" ", 1)[0]
    return name if sum(c.isupper() for c in first) > 1 else name[:1].lower() + name[1:]


def is_unreadable(report: Report) -> bool:
    """Could the file not be opened at all?"""
    return any(f.check is Check.UNREADABLE and f.severity is Severity.MUST for f in report.findings)


def headline(report: Report) -> str:
    """The one clear answer."""
    musts, queries, _ = tally(report)
    if report.verdict is Verdict.PASS:
        return "Ready to make"
    if report.verdict is Verdict.QUERY:
        words = _in_words(queries, "question") if queries else "a look by eye"
        return f"{words[:1].upper()}{words[1:]} before we can make it"
    if is_unreadable(report):
        return "We could not read this file"
    words = _in_words(musts, "thing") if musts else "this art"
    return f"{words[:1].upper()}{words[1:]} to mend before we can make it"


def answer(report: Report) -> str:
    """What the headline means for the client, one or two sentences."""
    musts, queries, notes = tally(report)
    name = in_sentence(method_name(report))
    where = f" at {size(report)}" if size(report) else ""
    if report.verdict is Verdict.PASS:
        tail = f" There {'is' if notes == 1 else 'are'} {count(notes, 'note')} below; nothing is asked of you." if notes else ""
        return f"We measured your art for {name}{where}, and every limit holds.{tail}"
    if report.verdict is Verdict.QUERY:
        stands = "the question" if queries == 1 else "the questions"
        return f"We measured your art for {name}{where}. Only {stands} below must be answered before we go on."
    if is_unreadable(report):
        return "Nothing could be measured. Below is what we saw, and what to send instead."
    also = f" There {'is' if queries == 1 else 'are'} also {count(queries, 'question')} for you." if queries else ""
    mended = "this is" if musts == 1 else "these are"
    return f"We measured your art for {name}{where}. Once {mended} mended, please send the file again.{also}"


def tally(report: Report) -> tuple[int, int, int]:
    """How many musts, queries and notes."""
    found = [finding.severity for finding in report.findings]
    return found.count(Severity.MUST), found.count(Severity.QUERY), found.count(Severity.NOTE)


def tally_words(report: Report) -> str:
    """ "2 to mend, 1 question, 3 notes"; "nothing to mend" when there is nothing at all."""
    musts, queries, notes = tally(report)
    parts = [f"{musts} to mend"] if musts else []
    parts += [count(queries, "question")] if queries else []
    parts += [count(notes, "note")] if notes else []
    return ", ".join(parts) or "nothing to mend, nothing to ask"


def size(report: Report) -> str:
    """Width and height as produced: "80 × 42.1 mm"; "" where there is no art."""
    return f"{_mm(report.art.width_mm)} × {_mm(report.art.height_mm)} mm" if report.art else ""


def _mm(value: float) -> str:
    return written(value, "mm").removesuffix(" mm")


def size_of_file(report: Report) -> str:
    """How the ordered size compares with that in the file: one sentence."""
    art = report.art
    if not art or min(art.file_width_mm, art.file_height_mm, art.width_mm) <= 0:
        return ""
    percent = art.width_mm / art.file_width_mm * 100
    if abs(percent - 100) < 0.05:
        return "The file has this size already."
    shown = f"{percent:.0f}" if percent >= 10 else f"{percent:.2g}"
    return (
        f"In the file it measures {_mm(art.file_width_mm)} × {_mm(art.file_height_mm)} mm; "
        f"we measured it at {shown}% of that, the size it will be made."
    )


def size_window(window: SizeWindow | None) -> str:
    """ "between 62 and 104 mm wide" as a whole sentence; "" where nobody worked it out."""
    if window is None:
        return ""
    low, high = window.min_width_mm, window.max_width_mm
    reasons = _reasons(window)
    if not window.possible:
        return f"There is no width at which this art can be made as it is{reasons}. It has to be redrawn."
    if low is None and high is None:
        return "Nothing that was measured binds the size."
    ends = _ends(low, high)
    return f"As drawn, this art can be made {ends} wide{reasons}."


def widths(window: SizeWindow | None) -> str:
    """The same in a table's cell."""
    if window is None:
        return "not worked out"
    if not window.possible:
        return "none, as drawn"
    if window.min_width_mm is None and window.max_width_mm is None:
        return "any"
    return _ends(window.min_width_mm, window.max_width_mm)


def _ends(low: float | None, high: float | None) -> str:
    """The ends, the lower rounded up and the upper down, so that the printed widths hold too."""
    for places in (0, 1, 2):
        if places == 0 and min(v for v in (low, high) if v is not None) < 20:
            continue
        step = 10**places
        least = None if low is None else math.ceil(round(low * step, 6)) / step
        most = None if high is None else math.floor(round(high * step, 6)) / step
        if least is None or most is None or least < most:
            break
    if least is None:
        return f"up to {most:g} mm"
    if most is None:
        return f"{least:g} mm or more"
    return f"between {least:g} and {most:g} mm" if least < most else f"at {_mm((low or 0) / 2 + (high or 0) / 2)} mm"


def _reasons(window: SizeWindow) -> str:
    words = [NOUNS[Check(name)] if name in set(Check) else plain(name) for name in window.because]
    return f" (because of {listed(words)})" if words else ""


def listed(words: Iterable[str]) -> str:
    """ "a, b and c"."""
    each = list(words)
    return " and ".join([", ".join(each[:-1]), each[-1]] if len(each) > 2 else each)


def figures(measured: float | None, limit: float | None, unit: str, well: bool) -> str:
    """Measured against its limit: "3.4 mm; at least 5 mm is needed".

    A finding does not say which way its limit binds; that it is past it does.

    Args:
        measured: in the unit.
        limit: in the unit.
        unit: a base unit of `preflight.quantity`.
        well: the limit holds.
    """
    measured = measured if measured is not None and math.isfinite(measured) else None
    limit = limit if limit is not None and math.isfinite(limit) else None
    if measured is None and limit is None:
        return ""
    if measured is None:
        return f"limit {written(limit or 0.0, unit)}"
    got = "none" if measured == 0 and unit in COUNTED else written(measured, unit)
    if limit is None:
        return got
    if limit == 0 and unit in COUNTED:
        return f"{got}; none may be there"
    if measured == limit:
        return f"{got}; the limit is {written(limit, unit)}"
    lower = (measured > limit) is well
    return f"{got}; {'at least' if lower else 'at most'} {written(limit, unit)} is {'needed' if lower else 'allowed'}"


def finding_figures(finding: Finding) -> str:
    """The same of a finding."""
    return figures(finding.measured, finding.limit, finding.unit, well=False)


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


def production_lines(production: Mapping[str, Any]) -> list[tuple[str, str]]:
    """Production facts as label and value; an ending like `_mm` or `_minutes` becomes the unit."""
    lines: list[tuple[str, str]] = []
    for key, value in production.items():
        if isinstance(value, Mapping):
            label, _ = _label(key)
            lines += [(f"{label}: {inner[:1].lower()}{inner[1:]}", text) for inner, text in production_lines(value)]
        else:
            label, unit = _label(key)
            lines.append((label, _value(value, unit)))
    return lines[:MOST]


def _label(key: str) -> tuple[str, str]:
    words = plain(key).replace("_", " ").split()
    unit = _UNITS.get(words[-1].lower(), "") if len(words) > 1 else ""
    label = " ".join(words[:-1] if unit else words)
    return label[:1].upper() + label[1:], unit


def _value(value: Any, unit: str) -> str:
    if value is None:
        return "not known"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        return f"{_number(value)} {unit}".strip()
    if isinstance(value, Mapping):
        named = {"Name": ""}
        return ", ".join(
            f"{named.get(label, label.lower())} {text}".strip() for label, text in production_lines(value)
        )
    if isinstance(value, list | tuple):
        return "; ".join(_value(item, unit) for item in value[:MOST]) or "none"
    return f"{plain(str(value))} {unit}".strip()


def _number(value: float) -> str:
    if not math.isfinite(value):
        return "not known"
    if float(value).is_integer() or abs(value) >= 100:
        return f"{value:,.0f}".replace(",", "\u202f")
    return f"{value:.2f}".rstrip("0").rstrip(".")


def in_the_way(report: Report, severity: Severity) -> str:
    """The checks that raised findings of one severity, as nouns; "" when there are none."""
    checks = dict.fromkeys(item.finding.check for item in of(severity, numbered(report.findings)))
    return listed(NOUNS[check] for check in checks)


def closing(report: Report) -> str:
    """What happens next."""
    if report.verdict is Verdict.PASS:
        return "There is nothing for you to change. We make it as shown once you have approved it."
    if report.verdict is Verdict.QUERY:
        return "We start when the questions are answered." if tally(report)[1] != 1 else "We start when the question is answered."
    if is_unreadable(report):
        return "Nothing can be made until we have a file that opens."
    return "Nothing is made until we have the mended art. If you would rather we mended it, please say so."


def accepted(report: Report) -> list[str]:
    """What somebody has accepted already."""
    return [item.finding.says for item in of(Severity.NOTE, numbered(report.findings)) if item.finding.accepted]
