"""Measurements: functions (Artwork, Order) -> Readings.  They know no limits and no methods.

A measurement may be told how far to look (`up_to`, mm): it then need not report what lies beyond.
"""

from collections.abc import Callable, Iterable
from functools import wraps
from typing import Protocol

from preflight.artwork import Artwork
from preflight.order import Order
from preflight.reading import Reading


class Measurement(Protocol):
    """What a rule calls.  `unit` is the base unit of its values, `title` its name for tables."""

    unit: str
    __name__: str
    __module__: str

    def __call__(self, art: Artwork, order: Order, up_to: float | None = None) -> list[Reading]:
        """The readings, worst or not, in any order."""


def measures(unit: str) -> Callable[[Callable[..., Iterable[Reading]]], Measurement]:
    """Declare the base unit of a measurement.

    The decorated function takes (art, order), or (art, order, up_to) if it has a parameter of that name.
    """

    def decorate(function: Callable[..., Iterable[Reading]]) -> Measurement:
        far = "up_to" in function.__code__.co_varnames[: function.__code__.co_argcount]

        @wraps(function)
        def measure(art: Artwork, order: Order, up_to: float | None = None) -> list[Reading]:
            return list(function(art, order, up_to) if far else function(art, order))

        measure.unit = unit  # type: ignore[attr-defined]
        return measure  # type: ignore[return-value]

    return decorate
