"""The plain-text reply to the client: the answer, what to mend and why, which sizes would do."""

import textwrap
from collections.abc import Iterator

from preflight.findings import Report, Severity, Verdict
from preflight.report import wording
from preflight.report.data import Letterhead, Numbered, clean, job_text, numbered, of

WIDTH = 72
_LEADS = {Severity.MUST: ("To mend:", "To mend:"), Severity.QUERY: ("Our question:", "Our questions:"),
          Severity.NOTE: ("For your information:", "For your information:")}  # fmt: skip


def render(report: Report, letterhead: Letterhead | None = None, attached: bool = False) -> str:
    """The reply, wrapped at 72 columns, ending with a line break.

    Args:
        report: the report.
        letterhead: who signs; nobody by name if None.
        attached: it goes out with the report as an attachment.
    """
    report = clean(report)
    signed = (letterhead or Letterhead()).clean()
    customer = job_text(report, "customer")
    blocks = [f"Dear {customer}," if customer else "Hello,", _opening(report), _in_short(report)]
    if report.verdict is not Verdict.PASS and not wording.is_unreadable(report):
        blocks.append(_what_now(report))
    text = [_wrapped(block) for block in blocks]
    for severity in Severity:
        text += _group(severity, of(severity, numbered(report.findings)))
    sizes = "" if wording.is_unreadable(report) else wording.size_window(report)
    tail = [
        sizes,
        "The attached report shows each place by its number."
        if attached and any(f.where for f in report.findings)
        else "",
        wording.closing(report),
        "Please look once more at spelling, names, numbers and colours: we make what is shown."
        if report.verdict is Verdict.PASS
        else "",
    ]
    text += [_wrapped(words) for words in tail if words]
    text.append("\n".join(["With kind regards", *filter(None, [signed.name]), *signed.lines]))
    return "\n\n".join(text) + "\n"


def _wrapped(words: str, first: str = "", rest: str = "") -> str:
    filled = textwrap.fill(
        wording.bound(words), WIDTH, initial_indent=first, subsequent_indent=rest, break_on_hyphens=False
    )
    return filled.replace(wording.NO_BREAK, " ")


def _opening(report: Report) -> str:
    job = job_text(report, "job")
    thanks = f"Thank you for the artwork “{report.file}”{f' (job {job})' if job else ''}."
    if not job_text(report, "method"):
        return f"{thanks} It has not been checked yet."
    item, size = job_text(report, "item"), wording.size(report)
    made = wording.in_sentence(wording.method_name(report))
    made += f" ({item})" if item else ""
    made += f" at {size}" if size else ""
    return f"{thanks} It was checked for {made}."


def _in_short(report: Report) -> str:
    answer = wording.headline(report)
    return f"In short: {answer[:1].lower()}{answer[1:]}."


def _what_now(report: Report) -> str:
    musts, queries, _ = wording.tally(report)
    if musts:
        ask = f", and answer {'the question' if queries == 1 else 'the questions'}" if queries else ""
        return f"Please mend what is listed below and send the file again{ask}."
    if queries == 1:
        return "The file itself can stay as it is if your answer to the point below allows it."
    return "The file itself can stay as it is if your answers to the points below allow it."


def _group(severity: Severity, items: tuple[Numbered, ...]) -> Iterator[str]:
    if not items:
        return
    yield _LEADS[severity][len(items) != 1]
    for item in items:
        lead = f"{item.number}. "
        hang = " " * len(lead)
        lines = [_wrapped(item.finding.says, lead, hang)]
        if severity is not Severity.NOTE:
            lines += [
                _wrapped(words, hang, hang) for words in (item.finding.why, item.finding.remedy) if words
            ]
        yield "\n".join(lines)
