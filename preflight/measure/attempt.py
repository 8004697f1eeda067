"""Facts beside the verdict: one that breaks is logged and left out, and the others stand.

Rules are not taken this way: a rule whose measurement breaks asks a person (`preflight.rulebook`).
"""

import logging
from collections.abc import Callable
from typing import TypeVar

_log = logging.getLogger(__name__)
T = TypeVar("T")

#: Why a fact is missing whose measurement broke.
BROKE = "the measurement failed on this file"


def attempt(what: str, make: Callable[[], T]) -> tuple[T | None, str]:
    """(what `make` gives, ""), or (None, BROKE) where it raises anything; the failure is logged with its traceback."""
    try:
        return make(), ""
    except Exception:  # whatever breaks one fact must not take the report down
        _log.exception("%s could not be measured", what)
        return None, BROKE
