"""Every rule of every method, held against art drawn relative to its own limit: real bytes through the real job.

Just failing, within the tolerance, in the query tier and just well (`drawn.case.cases`).  What is drawn is known to the
micrometre, so the figure in the report is checked as well as the verdict.  A limit may be changed without breaking a test.
"""

import functools
import json
import subprocess
import sys
from dataclasses import replace

import numpy as np
import pytest

from drawn import (  # noqa: F401 (they register)
    drawn_bars,
    drawn_colour,
    drawn_cut,
    drawn_lines,
    drawn_order,
    drawn_pixels,
    drawn_words,
)
from drawn.case import DRAW, SAID, Case, Drawn, by_cut, cases, method_of, name_of, order_for
from preflight import job
from preflight.colour import rgb_of
from preflight.findings import Outcome, Severity
from preflight.load import load
from preflight.methods import methods
from preflight.order import Order
from preflight.quantity import COUNTED, decimals
from preflight.rulebook import Rule

RULES = [rule for method in methods().values() for rule in method.rules]
MEASURES = sorted({name_of(rule.measure) for rule in RULES})
#: Rules no art is drawn for, and why.
UNDRAWN: dict[str, str] = {}
#: Cases that cannot be drawn, by (measurement, case), and why.
IMPOSSIBLE = {
    ("materials.never_laser", "well"): "the rule about PVC applies only where there is PVC",
}
#: Measurements that yield nothing where all is well.
SILENT = {
    "tone.tints", "tone.darkest_tint", "resolution.scaled_up", "request.no_material", "inks.metallic", "gaps.trap",
    "materials.never_laser", "stitches.density",
    "gaps.between_inks", "strokes.specks",
}  # fmt: skip
#: Figures that are estimates: the part by which the reported one may be off (others 2 %).
LOOSE = {
    "stitches.estimate": 0.05, "stitches.density": 0.08, "tone.halftone_ruling": 0.05, "resolution.scaled_up": 0.4,
    "codes.quiet_zone": 0.05,
    "inks.too_close": 0.1, "inks.named_distance": 0.1, "inks.unmatched": 0.1, "lettering.counters": 0.08, "cut.border": 0.06,
    "curve.height_change": 0.02, "lettering.cap_or_equivalent": 0.035, "cut.bleed": 0.04,
}  # fmt: skip
OUTCOMES = {
    None: {Outcome.OK},
    Severity.MUST: {Outcome.MUST},
    Severity.QUERY: {Outcome.QUERY},
    Severity.NOTE: {Outcome.NOTE},
}


@functools.cache
def _drawn(name: str, guise: int, value: float, key: tuple) -> Drawn:
    rule = next(rule for rule in RULES if name_of(rule.measure) == name and _key(rule) == key)
    return DRAW[name][guise](value, rule)


def _key(rule: Rule) -> tuple:
    """Rules of one measurement that may share a drawing."""
    own = method_of(rule) if name_of(rule.measure) == "extent.area_used" else ""
    return (rule.when, rule.unless, by_cut(rule), own)


def _jobs(name: str, guise: int, most: int | None = None) -> dict:
    """(value, key) -> the cases drawn alike: each file is read once for all methods.  Of many, `most` spread over all."""
    found: dict = {}
    for rule in RULES:
        if name_of(rule.measure) == name and rule.id not in UNDRAWN:
            for case in cases(rule):
                if (name, case.name) in IMPOSSIBLE and (
                    name != "materials.never_laser" or rule.when == "pvc"
                ):
                    continue
                found.setdefault((round(case.value, 6), _key(rule)), []).append((rule, case))
    keys = sorted(found, key=repr)
    return {key: found[key] for key in keys[guise % 2 :: max(1, len(keys) // most)]} if most else found


def _wrong(rule: Rule, case: Case, report) -> str:
    name = name_of(rule.measure)
    line = next(line for line in report.checked if line.rule == rule.id)
    finding = next((f for f in report.findings if f.rule == rule.id), None)
    allowed = OUTCOMES[case.severity]
    if case.severity is None and name in SILENT:
        allowed = allowed | {Outcome.DOES_NOT_APPLY}
    said = f"{rule.id} {case.name}, drawn {case.value:.4g} {rule.unit}: "
    if line.outcome not in allowed:
        return (
            said
            + f"{line.outcome.value} (measured {line.measured}, limit {line.limit}) {finding.says if finding else line.reason}"
        )
    if finding is not None:
        if rule.unit in COUNTED and rule.unit != "stitches":
            near = finding.measured == case.value or name in (
                "tone.continuous",
                "stitches.estimate",
                "structure.rendering",
            )
        else:
            slack = LOOSE.get(name, 0.02) * case.value + 0.6 * 10 ** -decimals(case.value, rule.unit)
            near = abs(finding.measured - case.value) <= slack
        if not near:
            return said + f"{finding.measured} reported"
    return ""


def _held(name: str, guise: int, whole: bool = False) -> list[str]:
    wrong = []
    some = (
        None if whole or not guise else 2
    )  # other guises of the same value: a few of them, all in the slow sweep
    for (value, key), held in _jobs(name, guise, some).items():
        drawn = _drawn(name, guise, value, key)
        order = order_for(held[0][0], drawn)
        wanted = {rule.id for rule, _ in held}
        judging = [
            method if whole else replace(method, rules=rules, production=None)
            for method in methods().values()
            if (rules := tuple(rule for rule in method.rules if rule.id in wanted))
        ]
        reports = {
            m.id: one.report
            for m, one in zip(judging, job.check_against(drawn.data, "kite.pdf", order, judging), strict=True)
        }
        for rule, case in held:
            report = reports[method_of(rule)]
            if not any(line.rule == rule.id for line in report.checked):
                wrong.append(f"{rule.id} {case.name}: {report.findings[0].says}")
            elif problem := _wrong(rule, case, report):
                wrong.append(problem)
    return wrong


def test_no_rule_is_without_a_drawing():
    missing = [rule.id for rule in RULES if name_of(rule.measure) not in DRAW and rule.id not in UNDRAWN]
    assert missing == []
    assert all(UNDRAWN.values()), "an exception needs a reason"
    assert set(UNDRAWN) <= {rule.id for rule in RULES}
    assert set(DRAW) <= set(MEASURES), "a drawing that no rule asks for"


def test_every_rule_applies_to_what_is_drawn_for_it():
    """No test may pass because the rule was not for the job."""
    idle = []
    for rule in RULES:
        name = name_of(rule.measure)
        if rule.id in UNDRAWN or name not in DRAW:
            continue
        worst = [case for case in cases(rule)][-1]
        order = order_for(rule, _drawn(name, 0, round(worst.value, 6), _key(rule)))
        if not rule.applies(order):
            idle.append(rule.id)
    assert idle == []


GUISES = [(name, n) for name in MEASURES for n in range(len(DRAW.get(name, ())))]


@pytest.mark.parametrize("name, guise", GUISES, ids=lambda part: str(part))
def test_each_limit_is_held(name, guise):
    wrong = _held(name, guise)
    assert not wrong, "\n" + "\n".join(wrong)


@pytest.mark.slow
@pytest.mark.parametrize("name, guise", GUISES, ids=lambda part: str(part))
def test_each_limit_is_held_among_all_the_rules_of_its_method(name, guise):
    wrong = _held(name, guise, whole=True)
    assert not wrong, "\n" + "\n".join(wrong)


def test_colours_are_read_alike_every_time():
    """The same ink has the same colour in every file that is read, however many were read before."""
    data = drawn_colour.discs(["Clay", "Sun yellow", "Moss"]).pdf()
    seen = {tuple(sorted(ink.hex for ink in load(data, Order(width_mm=25.0)).inks)) for _ in range(100)}
    assert len(seen) == 1
    for said, drawn in zip(seen.pop(), ("#404c1a", "#996140", "#f2bf0d"), strict=True):
        assert np.abs(np.array(rgb_of(said)) - rgb_of(drawn)).max() <= 1


@pytest.mark.parametrize(
    "rule_id, name",
    [("embroidery/capital-height", "fails"), ("pad-print/line-width", "asks"), ("dome/bleed", "well")],
)
def test_the_command_line_says_the_same(rule_id, name, tmp_path):
    rule = next(rule for rule in RULES if rule.id == rule_id)
    case = next(case for case in cases(rule) if case.name == name)
    drawn = DRAW[name_of(rule.measure)][0](case.value, rule)
    said = {**SAID, **drawn.options}
    options = [part for key, value in said.items() if value is not None for part in (f"--{key}", str(value))]
    art = tmp_path / "kite fair.pdf"
    art.write_bytes(drawn.data)
    command = [
        sys.executable,
        "-m",
        "preflight",
        "check",
        str(art),
        "--method",
        method_of(rule),
        "--format",
        "json",
        *options,
    ]
    done = subprocess.run(command, capture_output=True, text=True, timeout=120)
    (report,) = json.loads(done.stdout)
    line = next(line for line in report["checked"] if line["rule"] == rule_id)
    assert line["outcome"] == (case.severity.value if case.severity else "ok")
    assert done.returncode == (1 if report["verdict"] == "fail" else 0)
    if case.severity is Severity.MUST:
        assert done.returncode == 1
