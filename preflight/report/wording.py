"""The sentences of the reports: answers, counts and sizes in plain words.  They judge nothing."""

import math
import re
from collections.abc import Iterable

from preflight.findings import Check, Report, Severity, SizeWindow, Verdict
from preflight.quantity import plain, written
from preflight.report.data import job_text, numbered, of

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
#: Checks that another size can mend.
SIZED = frozenset(
    {
        Check.RESOLUTION, Check.ART_SIZE, Check.LINE_WIDTH, Check.GAP_WIDTH, Check.ISOLATED_DETAIL, Check.LETTERING_HEIGHT,
        Check.SOLID_AREA, Check.STITCH_COUNT, Check.CUT_SHAPE, Check.CODE_LEGIBILITY,
    }
)  # fmt: skip
#: What a severity asks of the client, in a word.
ASKS = {Severity.MUST: "To mend", Severity.QUERY: "Question", Severity.NOTE: "Note"}
#: The same over a list of them.
GROUPS = {
    Severity.MUST: ("To mend", "To mend"),
    Severity.QUERY: ("A question for you", "Questions for you"),
    Severity.NOTE: ("For your information", "For your information"),
}
VERDICTS = {Verdict.PASS: "Ready", Verdict.QUERY: "Question", Verdict.FAIL: "To mend"}
#: Parts of a method's id that are not written as words are.
_ACRONYMS = {"uv": "UV", "yag": "YAG", "co2": "CO₂"}
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
    blocked = any(f.check is Check.UNREADABLE and f.severity is Severity.MUST for f in report.findings)
    return blocked and report.art is None  # a blank page was read


def headline(report: Report) -> str:
    """The one clear answer."""
    musts, queries, _ = tally(report)
    if report.verdict is Verdict.PASS:
        return "Ready to make"
    if report.verdict is Verdict.QUERY:
        words = _in_words(queries, "question") if queries else "a look by eye"
        return f"{words[:1].upper()}{words[1:]} before we can make it"
    if is_unreadable(report):
        return "We could not read this file" if job_text(report, "method") else "We could not read this order"
    words = _in_words(musts, "thing") if musts else "this art"
    return f"{words[:1].upper()}{words[1:]} to mend before we can make it"


def answer(report: Report) -> str:
    """What the headline means for the client, one or two sentences."""
    musts, queries, notes = tally(report)
    name = in_sentence(method_name(report))
    where = f" at {size(report)}" if size(report) else ""
    if report.verdict is Verdict.PASS:
        tail = (
            f" There {'is' if notes == 1 else 'are'} {count(notes, 'note')} below; nothing is asked of you."
            if notes
            else ""
        )
        return f"We measured your art for {name}{where}, and every limit holds.{tail}"
    if report.verdict is Verdict.QUERY:
        stands = "the question" if queries == 1 else "the questions"
        return (
            f"We measured your art for {name}{where}. Only {stands} below must be answered before we go on."
        )
    if is_unreadable(report):
        if not job_text(report, "method"):  # a row of an orders file that says no order
            return "Nothing was measured. Below is what is wrong with the row of the orders file."
        return "Nothing could be measured. Below is what we saw, and what to send instead."
    also = (
        f" There {'is' if queries == 1 else 'are'} also {count(queries, 'question')} for you."
        if queries
        else ""
    )
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


def besides(report: Report) -> str:
    """What the headline does not count: "; also 1 question, 3 notes", or ""."""
    musts, queries, notes = tally(report)
    asked = count(queries, "question") if musts and queries else ""
    parts = [part for part in (asked, count(notes, "note") if notes else "") if part]
    return f"; also {', '.join(parts)}" if parts else ""


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


def size_window(report: Report) -> str:
    """ "between 62 and 104 mm wide" as a whole sentence; "" where nobody worked it out."""
    window = report.size_window
    if window is None:
        return ""
    low, high = window.min_width_mm, window.max_width_mm
    reasons = _reasons(window)
    if not window.possible:
        return f"There is no width at which this art can be made as it is{reasons}. It has to be redrawn."
    if low is None and high is None:
        return f"Nothing that was measured binds the size{reasons}."
    ends = _ends(low, high)
    others = any(f.severity is Severity.MUST and f.check not in SIZED for f in report.findings)
    lead = "Once the rest is mended, this art" if others else "As drawn, this art"
    return f"{lead} can be made {ends} wide{reasons}."


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
    return (
        f"between {least:g} and {most:g} mm"
        if least < most
        else f"at {_mm((low or 0) / 2 + (high or 0) / 2)} mm"
    )


def _reasons(window: SizeWindow) -> str:
    deciding, missing = (
        [NOUNS[Check(name)] if name in set(Check) else plain(name) for name in names]
        for names in (window.because, window.unmeasured)
    )
    parts = [f"because of {listed(deciding)}"] if deciding else []
    parts += [f"{listed(missing)} could not be measured"] if missing else []
    return f" ({'; '.join(parts)})" if parts else ""


def listed(words: Iterable[str]) -> str:
    """ "a, b and c"."""
    each = list(words)
    return " and ".join([", ".join(each[:-1]), each[-1]] if len(each) > 2 else each)


def in_the_way(report: Report, severity: Severity) -> str:
    """The checks that raised findings of one severity, as nouns; "" when there are none."""
    checks = dict.fromkeys(item.finding.check for item in of(severity, numbered(report.findings)))
    return listed(NOUNS[check] for check in checks)


def closing(report: Report) -> str:
    """What happens next."""
    if report.verdict is Verdict.PASS:
        return "There is nothing for you to change. We make it as shown once you have approved it."
    if report.verdict is Verdict.QUERY:
        return (
            "We start when the questions are answered."
            if tally(report)[1] != 1
            else "We start when the question is answered."
        )
    if is_unreadable(report):
        if not job_text(report, "method"):
            return "It is checked as soon as the order can be read."
        return "Nothing can be made until we have a file that opens."
    return "Nothing is made until we have the mended art. If you would rather we mended it, please say so."


def accepted(report: Report) -> list[str]:
    """What somebody has accepted already."""
    return [
        item.finding.says for item in of(Severity.NOTE, numbered(report.findings)) if item.finding.accepted
    ]
