"""The size window: between which widths every must-limit of a method holds for this art.

Each measured value changes with the size of the art in a known way (`Rule.scales`): lengths in step with it, areas with its
square, pixels an inch against it, the fall of a round article by its chord.  So the width at which a value just reaches its
limit follows from one measurement.  What no size mends (a gradient, a material, missing bleed) has no part in it.
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass

from preflight.artwork import Artwork
from preflight.findings import SizeWindow
from preflight.measure import cut
from preflight.order import Order
from preflight.reading import Reading
from preflight.rulebook import SURE, Method, Rule

#: Widths are given to this, mm: the least rounded up, the greatest down, so that both hold.
STEP_MM = 0.1


@dataclass(frozen=True)
class Worst:
    """The worst value of a rule with a must-limit, in the rule's unit; None where it could not be measured."""

    rule: Rule
    value: float | None


def size_window(art: Artwork, order: Order, method: Method) -> SizeWindow:
    """The window of the art for a method, measured at the size it has now; its widths are those that are ordered."""
    outline = cut.outline_box(art) if method.size_of == "cut outline" else None
    width = outline[2] - outline[0] if outline else art.width_mm  # the size that is ordered
    return window(width, measured(art, order, method), order.diameter_mm)


def measured(art: Artwork, order: Order, method: Method) -> list[Worst]:
    """The worst value of each rule that can bound the size: a must, for this order, that changes with size."""
    found = []
    for rule in method.rules:
        if rule.must is None or rule.notes_only or not rule.scales or not rule.applies(order):
            continue
        if rule.least is not None:
            least = rule.least(art)
            readings = [least] if least is not None else []
        else:
            readings = [r for r in rule.measure(art, order, up_to=rule.furthest) if r.sure >= SURE]
        if not readings:
            continue
        values = [float(r.value) for r in readings if r.value is not None]
        worst = (min if rule.direction == "min" else max)(values, default=None)
        found.append(Worst(rule, worst))
    return found


def window(width_mm: float, worst: Iterable[Worst], diameter_mm: float | None = None) -> SizeWindow:
    """The least and the greatest width in mm at which every must-limit holds.

    Args:
        width_mm: of the art when the values were measured.
        worst: a rule and its worst value at that width.
        diameter_mm: of a round article, for rules "on the round".

    Returns:
        The window; `because` names the check that decides the lower end, then the one of the upper; both of a clash.  A
        limit that could not be measured bounds nothing: its check stands in `unmeasured`.
    """
    lower: tuple[float, str] | None = None
    upper: tuple[float, str] | None = None
    unmeasured: list[str] = []
    for item in worst:
        check = str(item.rule.check)
        if item.value is None:
            unmeasured.append(check)
            continue
        least, greatest = bounds(item.rule, item.value, width_mm, diameter_mm)
        if least is not None and (lower is None or least > lower[0]):
            lower = (least, check)
        if greatest is not None and (upper is None or greatest < upper[0]):
            upper = (greatest, check)
    possible = (lower is None or math.isfinite(lower[0])) and (upper is None or upper[0] > 0)
    least_width = _up(lower[0]) if lower and math.isfinite(lower[0]) else None
    greatest_width = _down(upper[0]) if upper and upper[0] > 0 else None
    if possible and least_width is not None and greatest_width is not None:
        possible = least_width <= greatest_width
    ends = dict.fromkeys(end[1] for end in (lower, upper) if end)
    return SizeWindow(
        min_width_mm=least_width,
        max_width_mm=greatest_width,
        possible=possible,
        because=tuple(ends),
        unmeasured=tuple(dict.fromkeys(unmeasured)),
    )


def bounds(
    rule: Rule, value: float, width_mm: float, diameter_mm: float | None = None
) -> tuple[float | None, float | None]:
    """The least and the greatest width in mm at which one rule's must holds; infinite or 0 where no width does."""
    limit = rule.must
    assert limit is not None
    if rule.scales == "on the round":
        return None, _chord(limit, diameter_mm) if diameter_mm else None
    if rule.scales == "while it holds" and rule.judged(Reading(value=value)):
        return None, None
    if value <= 0:  # a hairline stays one at any size
        never = math.inf if rule.direction == "min" else None
        return (never, None) if rule.scales != "against size" else (None, 0.0 if never else None)
    ratio = limit / value
    if rule.scales == "with its square":
        ratio = math.sqrt(ratio)
    if rule.scales == "against size":
        width = width_mm / ratio
        return (None, width) if rule.direction == "min" else (width, None)
    width = width_mm * ratio
    return (width, None) if rule.direction == "min" else (None, width)


def _chord(fall_mm: float, diameter_mm: float) -> float:
    """The widest print across whose width a round article falls away by no more: w = 2 sqrt(s (D - s)).

    From s = D/2 - sqrt((D/2)² - (w/2)²); a fall of half the diameter is reached at the full width.
    """
    if fall_mm >= diameter_mm / 2:
        return math.inf
    return 2 * math.sqrt(fall_mm * (diameter_mm - fall_mm))


def _up(width: float) -> float:
    return round(math.ceil(width / STEP_MM - 1e-6) * STEP_MM, 3)


def _down(width: float) -> float | None:
    return round(math.floor(width / STEP_MM + 1e-6) * STEP_MM, 3) if math.isfinite(width) else None
