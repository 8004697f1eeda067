"""One measured value: what it belongs to, where it is, and how sure the measurement is."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from preflight.artwork import Box


@dataclass(frozen=True, kw_only=True)
class Reading:
    """A value that was measured, or a reason why it could not be.

    Attributes:
        value: the number in `unit`'s base unit (mm, mm², ppi ...); None when it could not be taken, then `reason` says why.
        what: what the value belongs to, as it would be said inside a sentence: "the line “EST. 1921”", "the red ink".
            Plain text; whatever came from the file has been through `preflight.quantity.plain`.
        where: boxes in mm from the top left of the art bounds, worst first; empty where there is no place to show.
        sure: certainty from 0 to 1 that the thing measured is what it is taken for.
        margin: the measurement's own uncertainty, in the same unit: a limit inside it is borderline, and asks.
        reason: why the value is None, one plain sentence.
        facts: more plain data for reports and production facts (length_mm, ink, count ...).
    """

    value: float | None
    what: str = ""
    where: tuple[Box, ...] = ()
    sure: float = 1.0
    margin: float = 0.0
    reason: str = ""
    facts: Mapping[str, Any] = field(default_factory=dict)
