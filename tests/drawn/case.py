"""What a rule is held against: art drawn relative to its own limit, with the order it comes with."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from typing import Any

from drawn.paper import Paper
from preflight.findings import Severity
from preflight.measure import Measurement
from preflight.methods import methods
from preflight.order import Order, order_from
from preflight.quantity import COUNTED, parse, rounded
from preflight.rulebook import Rule

#: An order that leaves nothing unsaid; what the rule at hand asks for comes on top.
SAID = {"item": "plaque", "ground": "white", "position": "front"}
#: Words that bring a tag of a rule's `when`.
BRINGS: dict[str, dict[str, Any]] = {
    "dark-ground": {"ground": "#1d2b4f"}, "coloured-ground": {"ground": "#c8102e"}, "flat-goods": {"item": "plaque"},
    "made-up": {"item": "cotton bag"}, "padded": {"item": "padded jacket"}, "waterproof": {"item": "softshell jacket"},
    "cap": {"item": "cap", "position": None}, "left-chest": {"item": "hoodie", "position": "left chest"},
    "garment": {"item": "hoodie"}, "deep": {"material": "oak, deep engraved"}, "cut-through": {"material": "plywood, laser cut"},
    "cut-film": {"item": "hoodie", "material": "cotton, flex film"}, "light-cloth": {"item": "t-shirt"},
    "heat-careful": {"item": "scarf", "material": "wool"}, "pvc": {"material": "PVC"}, "manual-press": {"item": "hoodie"},
}  # fmt: skip
#: Words that keep a tag of a rule's `unless` away.
AVOIDS: dict[str, dict[str, Any]] = {"flat-goods": {"item": "hoodie", "material": "cotton"}}
#: A value is past a limit by this part of it where it must fail, where it may only ask, and on the good side.
PAST, HAIR, GOOD = 0.08, 0.025, 0.06


@dataclass(frozen=True)
class Drawn:
    """A file and what the order says of it; an option that is None is not said.

    `size` is the width that makes the drawn mm true; "width" in `options` wins over it.
    """

    data: bytes
    options: dict[str, Any] = field(default_factory=dict)
    charts: tuple[Any, ...] = ()
    tags: tuple[str, ...] = ()


Drawer = Callable[[float, Rule], Drawn]
#: The drawing of each measurement; several where the same value comes in different guises.
DRAW: dict[str, list[Drawer]] = {}


def name_of(measure: Measurement) -> str:
    """ "strokes.lines"."""
    return f"{measure.__module__.rsplit('.', 1)[-1]}.{measure.__name__}"


def draws(*names: str) -> Callable[[Drawer], Drawer]:
    """Registers a drawing for measurements."""

    def register(drawer: Drawer) -> Drawer:
        for name in names:
            DRAW.setdefault(name, []).append(drawer)
        return drawer

    return register


def method_of(rule: Rule) -> str:
    """The id of its method."""
    return rule.id.partition("/")[0]


def by_cut(rule: Rule) -> bool:
    """Is the size of the cut outline ordered?"""
    return methods()[method_of(rule)].size_of == "cut outline"


def of(paper: Paper, rule: Rule, **options: Any) -> Drawn:
    """A sheet as PDF, ordered at the size it is drawn."""
    return Drawn(paper.pdf(), {"width": f"{paper.size(by_cut(rule))[0]:.4f}", **options})


def order_for(rule: Rule, drawn: Drawn) -> Order:
    """The order of a drawing, with what the rule needs to apply."""
    said: dict[str, Any] = dict(SAID)
    for tag in rule.unless.split():
        said |= AVOIDS.get(tag, {})
    for tag in rule.when.split():
        said |= BRINGS[tag]
    said |= drawn.options
    tags = (*drawn.tags, *(["manual-press"] if "manual-press" in rule.when.split() else []))
    return order_from({k: v for k, v in said.items() if v is not None}, charts=drawn.charts, tags=tags)


@dataclass(frozen=True)
class Case:
    """A value to draw and how it has to come out; severity None is well."""

    name: str
    value: float
    severity: Severity | None


def cases(rule: Rule) -> Iterator[Case]:
    """Just failing, within the tolerance, in the query tier, just well: as many as the rule has."""
    counted = rule.unit in COUNTED and rule.unit != "stitches"  # those are estimates in the thousands
    worse = -1 if rule.direction == "min" else 1
    strict = rule.query if rule.query is not None else rule.must
    assert strict is not None
    yield Case("well", strict if counted else strict * (1 - worse * GOOD), None)
    if rule.query is not None:
        if counted:
            yield Case("asks", rule.query + worse, Severity.NOTE if rule.notes_only else Severity.QUERY)
        elif rule.only_to:
            yield Case("asks", (rule.query + parse(rule.only_to).value) / 2, Severity.QUERY)
        elif rule.must is not None and abs(rule.query - rule.must) < 2 * PAST * rule.query:
            yield Case("asks", (rule.query + rule.must) / 2, Severity.QUERY)
        else:
            yield Case("asks", rule.query * (1 + worse * PAST), Severity.QUERY)
    if rule.must is not None:
        failing = Severity.NOTE if rule.notes_only else Severity.MUST
        if rule.only_to:
            yield Case("fails", (rule.must + parse(rule.only_to).value) / 2, failing)
        else:
            yield Case("fails", rule.must + worse if counted else rule.must * (1 + worse * PAST), failing)
        if not counted and not rule.notes_only and rule.must != 0:
            hair = rule.must * (1 + worse * HAIR)
            if rounded(hair, rule.unit) != rounded(rule.must, rule.unit):
                yield Case("within tolerance", hair, Severity.MUST if rule.exact else Severity.QUERY)
