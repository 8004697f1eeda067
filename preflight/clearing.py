"""What someone has answered: a query that is named as accepted becomes a note that says so; a must stays."""

from collections.abc import Iterable

import msgspec

from preflight.findings import Finding, Severity

SAYS_SO = " Accepted: someone has answered this."


def cleared(findings: Iterable[Finding], accepted: Iterable[str]) -> list[Finding]:
    """The findings, those queries turned to notes whose check or rule id is accepted.

    A must stays a must, whoever accepts it: it cannot be produced.
    """
    names = frozenset(accepted)
    return [_noted(finding) if _answered(finding, names) else finding for finding in findings]


def _answered(finding: Finding, names: frozenset[str]) -> bool:
    return finding.severity is Severity.QUERY and bool({finding.check.value, finding.rule} & names)


def _noted(finding: Finding) -> Finding:
    return msgspec.structs.replace(
        finding, severity=Severity.NOTE, accepted=True, says=finding.says.rstrip() + SAYS_SO
    )
