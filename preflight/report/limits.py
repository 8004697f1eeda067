"""The limits in force as a table for the terminal."""

import textwrap
from collections.abc import Iterable, Mapping
from typing import Any

from preflight.quantity import written


def render(rows: Iterable[Mapping[str, Any]], columns: int = 100) -> str:
    """The rows of `preflight.methods.limits` as text: what must hold, what is wished for, why, and where it comes from."""
    width = max(40, min(columns, 120))
    blocks = []
    before = ""
    for row in rows:
        if row["method"] != before:
            before = row["method"]
            blocks.append(f"\n{before}\n{'=' * len(before)}")
        side = "at least" if row["direction"] == "min" else "at most"
        parts = []
        for name, word in (("must", "must be"), ("query", "should be")):
            if row[name] is not None:
                parts.append(f"{word} {side} {written(row[name], row['unit'])}")
        when = f" ({', '.join(row['when'])})" if row["when"] else ""
        lines = [f"{row['rule']}{when}: {'; '.join(parts)}"]
        lines += textwrap.wrap(row["why"], width, initial_indent="    ", subsequent_indent="    ")
        lines += textwrap.wrap(
            f"Source: {row['source']}", width, initial_indent="    ", subsequent_indent="    "
        )
        blocks.append("\n".join(lines))
    return "\n".join(blocks).lstrip("\n")
