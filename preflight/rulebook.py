"""What a rule file is made of, and how a rule judges a measured value.

A rule is one measurement, one limit and words.  The limit is written once, in quotes with its unit; the words hold
{measured}, {limit}, {wanted}, {minimum} or {maximum}, never a digit.  If a rule needs an `if`, write a measurement.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any, Literal

from preflight.artwork import Artwork
from preflight.findings import Check, Checked, Finding, Outcome, Place, Severity
from preflight.measure import Measurement
from preflight.order import Order
from preflight.quantity import COUNTED, parse, rounded, written
from preflight.reading import Reading

#: What may stand in `source` when nothing is published.
UNPUBLISHED = ("common practice", "from memory", "computed", "our default")
#: A value past a limit by no more than this part of it asks instead of failing: no shop holds its own limit closer.
TOLERANCE = 0.05
#: A reading less certain than this never fails a job, it asks.
SURE = 0.85
#: In the reason of a measurement that found no lines because all of the art is a picture (a test holds them together).
A_PICTURE = ("continuous tone", "is a photograph")
#: How a length of nothing is said in a sentence.
NOTHING_LEFT = (
    (" is 0 mm wide", " is a hairline without a width of its own (0 mm)"),
    ("overlap by 0 mm", "do not overlap"),
    ("runs only 0 mm past the cut", "stops at the cut (0 mm past it)"),
    ("comes within 0 mm of the cut", "touches the cut (0 mm away)"),
    ("has a radius of 0 mm", "is sharp (a radius of 0 mm)"),
)
#: So many places are shown; the sentence says how many more there are.
MOST_PLACES = 40
#: How a value changes with the size of the art: a length, an area, pixels an inch, the fall of a round article under
#: the print (its chord formula), or not at all.
#: Spare art round the edge is a length too, but it is drawn, never gained by enlarging: it bounds how small a good
#: file may be made, "while it holds".
Scales = Literal["with size", "with its square", "against size", "on the round", "while it holds", ""]
_SCALES: dict[str, Scales] = {
    "mm": "with size",
    "mm2": "with its square",
    "ppi": "against size",
    "lpi": "against size",
}


@dataclass(frozen=True, kw_only=True)
class Rule:
    """A measurement, its limit, and the words that go to the client.

    Attributes:
        id: `method/what-is-measured`, for ever.
        check: the kind of finding.
        title: the good state, for tables: "Capitals tall enough to sew".
        measure: a function of `preflight.measure`.
        minimum, maximum: past it the finding is a must.
        wanted_minimum, wanted_maximum: past it the finding is a query.
        only_to: values past this are another rule's, and left to it: "0.8 mm" where thinner lines have their own rule.
        scales: how its values change with the size of the art, for the size window; follows from the unit.
        least: finds the worst value of the whole art however good it is (art -> Reading or None), where `measure` only
            looks as far as the limit; for the size window.
        exact: the limit is a machine's, no tolerance is given (counts never get any).
        notes_only: whatever is past the limit is only noted.
        when, unless: words of the order's tags, parted by spaces: it applies when all of `when` are there and none of
            `unless`.
        says: the finding in one sentence with the number: may hold {measured}; {limit}, the limit it is past; {wanted}, the
            value that raises no question; {minimum} and {maximum}; and {what}.  A number can bring its noun:
            {measured:hidden layer|hidden layers}.
        why: what would happen, one sentence.
        fix: what to do about it, one sentence; may hold the same.
        source: a publication with its year, or one of UNPUBLISHED.
    """

    id: str
    check: Check | str
    title: str
    measure: Measurement
    minimum: str | None = None
    maximum: str | None = None
    wanted_minimum: str | None = None
    wanted_maximum: str | None = None
    only_to: str | None = None
    scales: Scales | None = None
    least: Callable[[Artwork], Reading | None] | None = None
    exact: bool = False
    notes_only: bool = False
    when: str = ""
    unless: str = ""
    says: str
    why: str
    fix: str
    source: str

    def __post_init__(self) -> None:
        try:
            object.__setattr__(self, "check", Check(self.check))
            if self.scales is None:
                object.__setattr__(self, "scales", _SCALES.get(self.measure.unit, ""))
            self._check_limits()
            self._check_words()
        except (ValueError, KeyError, IndexError) as error:
            raise ValueError(f"rule {self.id}: {error}") from None

    def _check_limits(self) -> None:
        lower, upper = (self.minimum, self.wanted_minimum), (self.maximum, self.wanted_maximum)
        if any(lower) == any(upper):
            raise ValueError(
                "give limits on one side: minimum and wanted_minimum, or maximum and wanted_maximum"
            )
        for text in filter(None, (*lower, *upper, self.only_to)):
            if parse(text).unit != self.measure.unit:
                raise ValueError(f"{text!r} should be in {self.measure.unit or 'plain numbers'}")
        if self.must is not None and self.query is not None and not self._past(self.must, self.query):
            raise ValueError("the wanted limit must be stricter than the limit itself")
        if self.only_to and not all(self._past(parse(self.only_to).value, limit) for limit in self._limits):
            raise ValueError("`only_to` must lie past every limit of the rule")

    def _check_words(self) -> None:
        for words in (self.says, self.why, self.fix):
            self._filled(words, Reading(value=0.0), self.query or self.must or 0.0)

    @property
    def unit(self) -> str:
        """The base unit of its limit and values."""
        return self.measure.unit

    @property
    def direction(self) -> str:
        """ "min" when values must reach the limit, "max" when they must not pass it."""
        return "min" if self.minimum or self.wanted_minimum else "max"

    @property
    def must(self) -> float | None:
        """The limit past which the job fails, in the base unit; None where there is none."""
        text = self.minimum or self.maximum
        return parse(text).value if text else None

    @property
    def query(self) -> float | None:
        """The limit past which someone is asked; None where there is none."""
        text = self.wanted_minimum or self.wanted_maximum
        return parse(text).value if text else None

    @property
    def furthest(self) -> float:
        """The limit furthest out: nothing beyond it interests this rule."""
        return max(self._limits) if self.direction == "min" else min(self._limits)

    @property
    def _limits(self) -> list[float]:
        return [limit for limit in (self.must, self.query) if limit is not None]

    def applies(self, order: Order) -> bool:
        """Is it for this job?"""
        return set(self.when.split()) <= order.tags and not set(self.unless.split()) & order.tags

    def _past(self, value: float, limit: float) -> bool:
        value, limit = rounded(value, self.unit), rounded(limit, self.unit)
        return value < limit if self.direction == "min" else value > limit

    def judged(self, reading: Reading) -> tuple[Severity, float] | None:
        """How bad one value is, and the limit it is past; None when it is well.  The limit itself is good enough."""
        assert reading.value is not None
        value = reading.value
        if self.only_to and self._past(value, parse(self.only_to).value):
            return None
        found: tuple[Severity, float] | None = None
        if self.query is not None and self._past(value, self.query):
            found = (Severity.QUERY, self.query)
        if self.must is not None and self._past(value, self.must):
            found = (Severity.QUERY if self._borderline(reading) else Severity.MUST, self.must)
        if found and self.notes_only:
            found = (Severity.NOTE, found[1])
        return found

    def _borderline(self, reading: Reading) -> bool:
        """Past the limit by no more than the tolerance or the measurement's own uncertainty, or not sure what it is."""
        assert reading.value is not None and self.must is not None
        if reading.sure < SURE:
            return True
        if self.unit in COUNTED:
            return False
        slack = reading.margin if self.exact else max(reading.margin, TOLERANCE * self.must)
        return abs(reading.value - self.must) <= slack + 1e-9

    def check_art(self, art: Artwork, order: Order) -> tuple[Finding | None, Checked]:
        """Measure, compare, conclude: the finding if there is one, and the line for the list of what was looked at."""
        if not self.applies(order):
            return None, self._checked(Outcome.DOES_NOT_APPLY)
        readings = self.measure(art, order, up_to=self.furthest)
        unmeasured = next((r for r in readings if r.value is None), None)
        measured = [r for r in readings if r.value is not None]
        sign = 1 if self.direction == "min" else -1
        measured.sort(key=lambda r: sign * (r.value or 0.0))
        bad = [(r, j) for r in measured if (j := self.judged(r))]
        if bad:
            return self._found(art, bad)
        if unmeasured:
            return self.not_measured(unmeasured.reason), self._checked(
                Outcome.NOT_MEASURED, reason=unmeasured.reason
            )
        if not measured:
            return None, self._checked(
                Outcome.DOES_NOT_APPLY, reason="there is nothing of this kind in the art"
            )
        return None, self._checked(Outcome.OK, measured[0].value)

    def _found(
        self, art: Artwork, bad: list[tuple[Reading, tuple[Severity, float]]]
    ) -> tuple[Finding, Checked]:
        order = {Severity.MUST: 0, Severity.QUERY: 1, Severity.NOTE: 2}
        bad.sort(key=lambda item: order[item[1][0]])
        worst, (severity, limit) = bad[0]
        boxes = [box for reading, _ in bad for box in reading.where]
        says = self._filled(self.says, worst, limit) + self._how_many(bad, limit, len(boxes))
        finding = Finding(
            rule=self.id,
            check=Check(self.check),
            severity=severity,
            measured=rounded(float(worst.value or 0.0), self.unit),
            limit=rounded(limit, self.unit),
            unit=self.unit,
            where=tuple(Place(page=art.page, box_mm=_round(box)) for box in boxes[:MOST_PLACES]),
            says=says,
            why=self._filled(self.why, worst, limit),
            remedy=self._filled(self.fix, worst, limit),
            source=self.source,
        )
        return finding, self._checked(Outcome(severity.value), worst.value, limit)

    def _how_many(self, bad: list[tuple[Reading, tuple[Severity, float]]], limit: float, boxes: int) -> str:
        """The sentences that count: what is past the limit, and what is only past the softer one."""
        count = sum(past == limit for _, (_, past) in bad)
        softer = len(bad) - count
        crowded = boxes > MOST_PLACES
        says = ""
        if count > 1:
            places = boxes if crowded and not softer else count
            says = f" There are {places} such places; the worst is given."
        if softer:
            more = "1 more place keeps" if softer == 1 else f"{softer} more places keep"
            says += f" {more} to that, but not to the {written(self.query or 0.0, self.unit)} that we advise."
        if crowded:
            says += f" {MOST_PLACES} of the {boxes} places are marked."
        return says

    def not_measured(self, reason: str) -> Finding:
        """The finding of a rule whose measurement could not be taken: a person has to look.

        Only noted where the art is a picture all over: it has no lines to look at, and what a method asks of pictures
        stands in rules of its own.
        """
        picture = any(words in reason for words in A_PICTURE)
        only_noted = self.notes_only or picture
        return Finding(
            rule=self.id,
            check=Check(self.check),
            severity=Severity.NOTE if only_noted else Severity.QUERY,
            unit=self.unit,
            says=f"“{self.title}” could not be checked: {reason}",
            why="Such art is judged as a picture; this limit is meant for drawings and lettering."
            if picture
            else "What was not looked at has not passed.",
            remedy="Nothing needs to be done."
            if only_noted
            else "We will look at this by eye before going on.",
            source="our default",
        )

    def broke(self) -> tuple[Finding, Checked]:
        """The same when the measurement itself failed: then somebody always looks."""
        reason = "the measurement failed on this file."
        finding = replace(self, notes_only=False).not_measured(reason)
        return finding, self._checked(Outcome.NOT_MEASURED, reason=reason)

    def _checked(
        self, outcome: Outcome, measured: float | None = None, limit: float | None = None, reason: str = ""
    ) -> Checked:
        if limit is None:
            limit = self.query if self.query is not None else self.must
        return Checked(
            rule=self.id,
            title=self.title,
            outcome=outcome,
            measured=None if measured is None else rounded(float(measured), self.unit),
            limit=None if limit is None else rounded(limit, self.unit),
            unit=self.unit,
            reason=reason,
            source=self.source,
        )

    def _filled(self, words: str, reading: Reading, limit: float) -> str:
        lower, upper = self.minimum or self.wanted_minimum, self.maximum or self.wanted_maximum
        filled = words.format(
            measured=_Said(written(reading.value or 0.0, self.unit)),
            limit=_Said(written(limit, self.unit)),
            minimum=_said(lower),
            maximum=_said(upper),
            wanted=_said(self.wanted_minimum or self.wanted_maximum or lower or upper),
            what=reading.what.rstrip(".") or "this place",
        )
        if self.unit == "mm" and not reading.value:
            for number, plainly in NOTHING_LEFT:
                filled = filled.replace(number, plainly)
        return filled[:1].upper() + filled[1:]

    def words(self) -> tuple[str, str]:
        """Why and what to do, with the limits filled in, for tables."""
        limit = self.query if self.query is not None else self.must or 0.0
        return tuple(self._filled(text, Reading(value=limit), limit) for text in (self.why, self.fix))  # type: ignore[return-value]

    def with_limit(self, text: str) -> "Rule":
        """The same rule with another limit (from the shop file): a must where the rule has one, else the wanted one.

        A wanted limit that is then no stricter than the must is dropped.

        Raises:
            ValueError: in plain words, when the text is no limit for this rule.
        """
        name = next(n for n in _LIMITS if getattr(self, n))
        changes: dict[str, Any] = {name: text}
        given = parse(text)
        if given.unit == self.unit:
            if self.must is not None and self.query is not None and not self._past(given.value, self.query):
                changes |= {"wanted_minimum": None, "wanted_maximum": None}
            if self.only_to and not self._past(parse(self.only_to).value, given.value):
                changes["only_to"] = None
        return replace(self, **changes)

    def with_wanted(self, text: str) -> "Rule":
        """The same rule asking from another limit on; its must stays.

        Raises:
            ValueError: in plain words, when the text is no limit for this rule.
        """
        name = "wanted_minimum" if self.direction == "min" else "wanted_maximum"
        changes: dict[str, Any] = {name: text}
        return replace(self, **changes)


class _Said(str):
    """A number as it stands in a sentence: "{measured:place|places}" gives it a noun."""

    def __format__(self, nouns: str) -> str:
        if not nouns:
            return str(self)
        one, many = nouns.split("|")
        return f"{self} {one if str(self) == '1' else many}"


_LIMITS = ("minimum", "maximum", "wanted_minimum", "wanted_maximum")


def _said(text: str | None) -> _Said:
    if not text:
        return _Said("")
    found = parse(text)
    return _Said(written(found.value, found.unit))


def _round(box: tuple[float, float, float, float]) -> tuple[float, float, float, float]:
    x0, y0, x1, y1 = (
        round(float(side), 2) for side in box
    )  # plain numbers, whatever the measurement reckons in
    return (x0, y0, x1, y1)


@dataclass(frozen=True, kw_only=True)
class Method:
    """A way of decorating.

    Attributes:
        id: as it is written on the command line.
        name: as it is said.
        tells: one sentence for a client: what it is.
        rules: in the order they are reported.
        production: facts the workshop needs, each with its formula in the docstring: (art, order) -> plain data.
        cautions: the usual ones for the people who do the work.
        shop_notes: what a file cannot decide.
        size_of: whose size is ordered.
    """

    id: str
    name: str
    tells: str
    rules: tuple[Rule, ...]
    production: Callable[[Artwork, Order], Mapping[str, Any]] | None = None
    cautions: tuple[str, ...] = ()
    shop_notes: tuple[str, ...] = ()
    size_of: str = "art"  # or "cut outline"
    tags: frozenset[str] = field(default_factory=frozenset)
