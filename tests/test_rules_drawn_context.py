"""A single fault among good things is found: small letters on an arc, a thin ring in an emblem, one dot too small."""

from dataclasses import replace

import pytest
import shapely
from shapely.affinity import rotate

from drawn import context
from drawn.drawn_pixels import jpeg, png, rendered
from drawn.paper import Paper, capitals
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
    if draw is context.small_arch and rule_id not in found:
        # small letters on an arch are not always sure enough to be judged by their height: then a person is told of them
        assert f"{method.id}/lettering-recognised" in found
        return
    assert rule_id in found, [f"{f.rule} {f.measured}" for f in report.findings]
    finding = found[rule_id]
    assert finding.severity is (Severity.MUST if rule.must is not None else Severity.QUERY), finding.says
    assert abs(finding.measured - value) <= SLACK * value + 10 ** -decimals(value, rule.unit), (
        value,
        finding.says,
    )


def bar(width: float) -> Paper:
    return Paper(30, 26).fill(rotate(shapely.box(5, 5, 5 + width, 21), 9)).box(14, 5, 8, 16)


def gap(width: float) -> Paper:
    return Paper(30, 24).box(4, 4, 10, 12).box(14 + width, 4, 10, 12)


def dot(size: float) -> Paper:
    return Paper(30, 20).box(4, 4, 8, 8).disc(18, 8, size / 2)


def words(height: float) -> Paper:
    letters = capitals("KITE FAIR", 4, 4 + height, height)
    return Paper(letters.bounds[2] + 4, height + 8).fill(letters)


PIXELS = [
    ("uv-print/line-width", bar, HARD, 1200, png),
    ("heat-transfer/line-width", bar, CLOTH, 600, png),
    ("embroidery/line-width", bar, CLOTH, 600, jpeg),
    ("embroidery/gap-width", gap, CLOTH, 600, png),
    ("deboss/gap-width", gap, BOOK, 600, jpeg),
    ("embroidery/capital-height", words, CLOTH, 600, png),
    ("uv-print/capital-height", words, HARD, 1200, png),
    ("embroidery/smallest-part", dot, CLOTH, 600, png),
]


@pytest.mark.parametrize(
    "rule_id, draw, said, ppi, form",
    PIXELS,
    ids=lambda part: getattr(part, "__name__", str(part)) if not isinstance(part, dict) else "",
)
def test_pixels_are_measured_like_outlines(rule_id, draw, said, ppi, form):
    """15 % past a limit fails (or asks) and 12 % inside it is left alone, in PNG and JPEG as well."""
    method = methods()[rule_id.partition("/")[0]]
    rule = next(rule for rule in method.rules if rule.id == rule_id)
    limits = [limit for limit in (rule.must, rule.query) if limit is not None]
    severity = Severity.MUST if rule.must is not None else Severity.QUERY
    for value, expected in ((0.85 * min(limits), severity), (1.12 * max(limits), None)):
        pixels, width = rendered(draw(value), ppi)
        order = order_from({**said, "width": f"{width:.4f}"})
        report = job.check(
            form(pixels, ppi), "kite", order, replace(method, rules=(rule,), production=None)
        ).report
        found = report.findings[0] if report.findings else None
        assert (found.severity if found else None) is expected, (value, found)
        if found:
            assert abs(found.measured - value) <= max(0.04 * value, 0.5 * 25.4 / ppi) + 10 ** -decimals(
                value, rule.unit
            ), found.says
