"""Findings as they go out: what someone has answered is a note, and what was missed for one reason is said once."""

from collections.abc import Iterable

import msgspec

from preflight.findings import Check, Finding, Severity

#: Between the title of a rule and the reason why it could not be checked, as rules write it (a test holds the two together).
NOT_CHECKED = " could not be checked: "
SAYS_SO = " Accepted: someone has answered this."


def cleared(findings: Iterable[Finding], accepted: Iterable[str]) -> list[Finding]:
    """The findings, those queries turned to notes whose check or rule id is accepted.

    A must stays a must, whoever accepts it: it cannot be produced.  What another finding tells already is left out, and
    rules that could not be checked for the same reason are gathered in the first of them; `Report.checked` still lists
    each.
    """
    names = frozenset(accepted)
    findings = once_told(findings)
    return gathered([_noted(finding) if _answered(finding, names) else finding for finding in findings])


def _answered(finding: Finding, names: frozenset[str]) -> bool:
    return finding.severity is Severity.QUERY and bool({finding.check.value, finding.rule} & names)


def _noted(finding: Finding) -> Finding:
    return msgspec.structs.replace(
        finding, severity=Severity.NOTE, accepted=True, says=finding.says.rstrip() + SAYS_SO
    )


def once_told(findings: Iterable[Finding]) -> list[Finding]:
    """The findings without those whose cause another one names better.

    Art in the very colour of the article is told as such, not as a blank page; lettering that is too small to be made is
    not also noted as hard to read.
    """
    found = list(findings)
    vanished = any(_is(f, "vanishing-colour") and f.severity is Severity.MUST for f in found)
    small = any(
        f.check is Check.LETTERING_HEIGHT and f.severity is not Severity.NOTE and f.measured for f in found
    )
    return [
        f
        for f in found
        if not (vanished and _is(f, "art-present"))
        and not (small and f.severity is Severity.NOTE and _is(f, "reading-capitals", "reading-lower-case"))
    ]


def _is(finding: Finding, *names: str) -> bool:
    return finding.rule.partition("/")[2] in names


def gathered(findings: Iterable[Finding]) -> list[Finding]:
    """The findings, with those that could not be checked for one and the same reason said in one sentence."""
    out: list[Finding] = []
    first: dict[tuple[Severity, str], int] = {}
    for finding in findings:
        titles, between, reason = finding.says.partition(NOT_CHECKED)
        place = first.setdefault((finding.severity, reason), len(out)) if between else len(out)
        if place == len(out):
            out.append(finding)
            continue
        before, _, _ = out[place].says.partition(NOT_CHECKED)
        says = f"{before.replace('” and “', '”, “')} and {titles}{between}{reason}"
        out[place] = msgspec.structs.replace(out[place], says=says)
    return out
