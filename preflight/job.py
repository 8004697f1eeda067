"""One job: one file, one order, every rule of its method.  Read this file first.

    bytes -> load -> artwork (mm, at the ordered size) -> measure -> rules -> findings -> verdict

It is one pure function of (bytes, order, rules): a folder of jobs maps over any executor.
"""

import hashlib
import logging
import time
from collections.abc import Sequence
from dataclasses import dataclass, fields, replace
from typing import Any

from preflight import load
from preflight.artwork import Artwork, Box
from preflight.clearing import cleared
from preflight.errors import Unreadable
from preflight.findings import Check, Checked, Finding, Outcome, Report, Severity, verdict, worst_first
from preflight.measure import cut, summary
from preflight.measure.attempt import attempt
from preflight.order import Order
from preflight.quantity import plain
from preflight.rulebook import Method
from preflight.size_window import size_window

log = logging.getLogger(__name__)

#: The rule of what is found before any rule of a method can be held against the art.
READABLE = "file/readable"


@dataclass(frozen=True)
class Judged:
    """A job's report, and the art it is about for the pictures; None where the file could not be read."""

    report: Report
    art: Artwork | None


def check(data: bytes, name: str, order: Order, method: Method, cut_words: Sequence[str] = ()) -> Judged:
    """The whole flow for one file.

    Args:
        data: the file's bytes.
        name: the file's name for the report; never used as a path.
        order: what was ordered.
        method: the decorating method with its rules, the shop's own limits already in them.
        cut_words: the shop's further words that mean a cut outline.
    """
    return check_against(data, name, order, [method], cut_words)[0]


def check_against(
    data: bytes, name: str, order: Order, methods: Sequence[Method], cut_words: Sequence[str] = ()
) -> list[Judged]:
    """One file against several methods: the art is loaded once, and measured once at each size that is ordered."""
    begun = time.perf_counter()
    digest = hashlib.sha256(data).hexdigest()
    judged: list[Judged] = []
    arts: dict[str | None, Artwork] = {}  # by the ground they were read for
    sizes: dict[
        tuple[str | None, Box | None], Artwork
    ] = {}  # methods that order one size share its measurements
    for method in methods:
        started = begun if not judged else time.perf_counter()
        own = replace(order, method=method.id)
        # where no ink is laid down, white in a file is bare article, whatever its colour
        ground = None if "inkless" in method.tags else order.ground
        try:
            if ground not in arts:
                arts[ground] = load.read(data, replace(order, ground=ground), cut_words)
        except Unreadable as trouble:
            return [
                Judged(unreadable(name, digest, replace(order, method=m.id), trouble, m.name, begun), None)
                for m in methods
            ]
        art = arts[ground]
        reference = cut.outline_box(art) if method.size_of == "cut outline" else None
        if (ground, reference) not in sizes:
            sizes[ground, reference] = load.sized(art, order, reference)
        sized = sizes[ground, reference]
        judged.append(Judged(judge(sized, name, digest, own, method, started), sized))
    return judged


def judge(art: Artwork, name: str, digest: str, order: Order, method: Method, begun: float) -> Report:
    """Every rule held against the art, and the facts around them."""
    findings: list[Finding] = []
    checked: list[Checked] = []
    for rule in method.rules:
        try:
            finding, line = rule.check_art(art, order)
        except (
            Exception
        ):  # one measurement that breaks must not hide what the others find; it is reported as a query
            log.exception("rule %s could not be measured", rule.id)
            finding, line = rule.broke()
        checked.append(line)
        if finding is not None:
            findings.append(finding)
    findings = list(worst_first(cleared(findings, order.accepted)))
    window, _ = attempt("the size window", lambda: size_window(art, order, method))
    facts, why = attempt(
        "the facts of production", lambda: dict(method.production(art, order)) if method.production else {}
    )
    return Report(
        file=plain(name),
        sha256=digest,
        page=art.page,
        pages=art.pages,
        job={**order_facts(order), "method_name": method.name},
        verdict=verdict(findings),
        art=summary.art_facts(art),
        colours=summary.colours(art, order),
        measures=summary.measures(art, order),
        findings=tuple(findings),
        size_window=window,
        production=facts if facts is not None else {"facts": None, "facts_note": why},
        checked=tuple(checked),
        cautions=method.cautions,
        seconds=round(time.perf_counter() - begun, 3),
    )


def unreadable(
    name: str,
    digest: str,
    order: Order,
    trouble: Unreadable,
    method_name: str = "",
    begun: float | None = None,
) -> Report:
    """The report of a file that is not artwork that can be opened."""
    finding = Finding(
        rule=READABLE,
        check=Check.UNREADABLE,
        severity=Severity.MUST,
        says=trouble.says,
        why="Without the artwork nothing can be checked or made.",
        remedy=trouble.remedy,
        source="our default",
    )
    line = Checked(rule=READABLE, title="A file that can be opened", outcome=Outcome.MUST)
    return Report(
        file=plain(name),
        sha256=digest,
        page=order.page,
        job={**order_facts(order), **({"method_name": method_name} if method_name else {})},
        verdict=verdict([finding]),
        findings=(finding,),
        checked=(line,),
        seconds=round(time.perf_counter() - begun, 3) if begun else 0.0,
    )


def order_facts(order: Order) -> dict[str, Any]:
    """The order as plain data for the report: what was said, without charts and inner tags."""
    said: dict[str, Any] = {}
    for field in fields(order):
        value = getattr(order, field.name)
        if field.name in ("charts", "machines") or value in (None, "", (), frozenset()):
            continue
        said[field.name] = (
            sorted(value)
            if isinstance(value, frozenset)
            else list(value)
            if isinstance(value, tuple)
            else value
        )
    return said
