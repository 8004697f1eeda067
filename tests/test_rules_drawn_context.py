"""A single fault among good things is found: small letters on an arc, a thin ring in an emblem, one dot too small."""

import pytest

from drawn import context
from drawn.quiet import comfort
from preflight import job
from preflight.findings import Severity
from preflight.methods import methods
from preflight.order import order_from
from preflight.quantity import decimals

CLOTH = {"item": "hoodie", "position": "front", "material": "cotton", "ground": "white"}
HARD = {"item": "plaque", "material": "ceramic", "ground": "white"}
BOOK = {"item": "notebook", "material": "leather"}
#: rule, how it is drawn, the order; the value drawn is 12 % past its limit (the must where there is one).
CASES = [
    ("screen-print/capital-height-cloth", context.small_arch, CLOTH),
    ("screen-print/capital-height-cloth", context.small_slope, CLOTH),
    ("screen-print/capital-height-knocked-out", context.small_open, CLOTH),
    ("screen-print/line-width-cloth", context.hair_ring, CLOTH),
    ("screen-print/gap-width-cloth", context.white_slope, CLOTH),
    ("screen-print/smallest-dot", context.lone_dot, CLOTH),
    ("pad-print/capital-height", context.small_line, HARD),
    ("pad-print/line-width", context.thin_slope, HARD),
    ("pad-print/gap-width", context.close_rings, HARD),
    ("yag-laser/capital-height", context.small_arch, {"item": "plaque", "material": "stainless steel"}),
    ("co2-laser/line-width", context.light_letters, {"item": "plaque", "material": "oak"}),
    ("uv-print/capital-height", context.small_slope, HARD),
    ("uv-print/line-width", context.hair_ring, HARD),
    ("deboss/line-width", context.light_letters, BOOK),
    ("deboss/gap-width", context.close_rings, BOOK),
    ("foil/line-width", context.thin_slope, {"item": "notebook", "material": "paper"}),
    ("heat-transfer/gap-width", context.white_slope, CLOTH),
    ("embroidery/capital-height", context.small_line, CLOTH),
    ("embroidery/capital-height", context.small_arch, CLOTH),
    ("embroidery/serif-height", context.small_serifs, CLOTH),
    ("embroidery/line-width", context.hair_ring, CLOTH),
    ("embroidery/smallest-part", context.lone_dot, CLOTH),
]
SLACK = 0.05


#: The others of a kind run in the slow sweep.
ONCE = [pytest.param(*case, marks=[pytest.mark.slow] if n % 2 else []) for n, case in enumerate(CASES)]


@pytest.mark.parametrize(
    "rule_id, draw, said",
    ONCE,
    ids=lambda part: getattr(part, "__name__", part if isinstance(part, str) else ""),
)
def test_one_fault_is_found_among_good_things(rule_id, draw, said):
    method = methods()[rule_id.partition("/")[0]]
    rule = next(rule for rule in method.rules if rule.id == rule_id)
    limit = rule.must if rule.must is not None else rule.query
    value = 0.88 * limit
    paper = draw(comfort(method.id, order_from(said)), value)
    order = order_from({**said, "width": f"{paper.size()[0]:.4f}"})
    report = job.check(paper.pdf(), "emblem.pdf", order, method).report
    found = {finding.rule: finding for finding in report.findings}
    assert rule_id in found, [f"{f.rule} {f.measured}" for f in report.findings]
    finding = found[rule_id]
    assert finding.severity is (Severity.MUST if rule.must is not None else Severity.QUERY), finding.says
    assert abs(finding.measured - value) <= SLACK * value + 10 ** -decimals(value, rule.unit), (
        value,
        finding.says,
    )
