"""The job as ordered: method, size, article, ground and the rest; and the words in it as tags."""

from dataclasses import dataclass, field
from typing import Any


@dataclass(frozen=True, kw_only=True)
class Order:
    """One row of an orders file, or the options of one command.  Lengths in mm; None or "" where nobody said.

    Attributes:
        method: one of the method ids.
        ground: the article's colour as "#rrggbb", already looked up; None when not stated.
        ground_words: the same as the orderer wrote it.
        colours: the inks or threads the client named, in order.
        accepted: checks or rule ids that someone has answered.
        tags: what the words mean: "textile", "flat-goods", "cap", "metal", "dark-ground" ... (`preflight.order.tags_of`).
        charts: ink and thread charts of the shop, if any.
    """

    method: str = ""
    width_mm: float | None = None
    height_mm: float | None = None
    item: str = ""
    position: str = ""
    ground: str | None = None
    ground_words: str = ""
    material: str = ""
    colours: tuple[str, ...] = ()
    quantity: int | None = None
    diameter_mm: float | None = None
    page: int = 1
    customer: str = ""
    job: str = ""
    accepted: tuple[str, ...] = ()
    tags: frozenset[str] = field(default_factory=frozenset)
