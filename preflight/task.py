"""What the parent asks of a child, and what it gets back: plain data only."""

from dataclasses import dataclass, field
from pathlib import Path

from preflight.order import Order

#: Bytes of one file at most; larger ones are not even read.
MOST_BYTES = 400 << 20


@dataclass(frozen=True, kw_only=True)
class Task:
    """One job for a child.

    Attributes:
        path: the art; opened by the child only.
        name: how it is called in reports.
        order: what was ordered; its method may be "" for `methods` several.
        methods: method ids it is held against.
        shop: the shop file, or None.
        documents: reports to write: (kind, path) with kind html, pdf, json, txt, eml or compare.
        thumbnail: a small picture is wanted back.
        trouble: the row was bad: says and remedy, the art is not opened.
    """

    path: Path
    name: str
    order: Order
    methods: tuple[str, ...]
    shop: Path | None = None
    documents: tuple[tuple[str, Path], ...] = ()
    thumbnail: bool = False
    trouble: tuple[str, str] | None = None


@dataclass(frozen=True)
class Done:
    """What a child hands back: reports as JSON bytes, one a method, and a small PNG."""

    reports: tuple[bytes, ...]
    thumbnail: bytes | None = None
    log: tuple[str, ...] = field(default=())
