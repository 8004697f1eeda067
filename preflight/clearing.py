"""Findings as they go out: what someone has answered is a note, and what was missed for one reason is said once."""

from collections.abc import Iterable

import msgspec

from preflight.findings import Finding, Severity

#: Between the title of a rule and the reason why it could not be checked, as rules write it (a test holds the two together).
NOT_CHECKED = " could not be checked: "
SAYS_SO = " Accepted: someone has answered this."


def cleared(findings: Iterable[Finding], accepted: Iterable[str]) -> list[Finding]:
    """The findings, those queries turned to notes whose check or rule id is accepted.

    A must stays a must, whoever accepts it: it cannot be produced.  Rules that could not be checked for the same reason
    are gathered in the first of them; `Report.checked` still lists each.
    """
    names = frozenset(accepted)
    return gathered([_noted(finding) if _answered(finding, names) else finding for finding in findings])


def _answered(finding: Finding, names: frozenset[str]) -> bool:
    return finding.severity is Severity.QUERY and bool({finding.check.value, finding.rule} & names)


def _noted(finding: Finding) -> Finding:
    return msgspec.structs.replace(
        finding, severity=Severity.NOTE, accepted=True, says=finding.says.rstrip() + SAYS_SO
    )


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
