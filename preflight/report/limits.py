"""The limits in force as a table for the terminal."""

import textwrap
from collections.abc import Iterable, Mapping
from typing import Any

from preflight.quantity import written


def _parts(row: Mapping[str, Any]) -> list[str]:
    """ "fails under 0.1 mm", "asks under 0.2 mm"; "asks" alone where any is too many and one is too few."""
    side = "under" if row["direction"] == "min" else "over"
    parts = []
    for name, word in (("must", "fails"), ("query", "is noted" if getattr(row, "noted", False) else "asks")):
        if row[name] is None:
            continue
        bare = not row["unit"] and row[name] == (1 if row["direction"] == "min" else 0)
        parts.append(f"{word} otherwise" if bare else f"{word} {side} {written(row[name], row['unit'])}")
    return parts


def render(rows: Iterable[Mapping[str, Any]], columns: int = 100) -> str:
    """The rows of `preflight.methods.limits` as text: what fails and what asks, why, and where it comes from."""
    width = max(40, min(columns, 120))
    blocks = []
    before = ""
    for row in rows:
        if row["method"] != before:
            before = row["method"]
            blocks.append(f"\n{before}\n{'=' * len(before)}")
        when = f" ({', '.join(row['when'])})" if row["when"] else ""
        lines = [f"{getattr(row, 'title', '') or row['check']}: {'; '.join(_parts(row))}"]
        lines.append(f"    {row['rule']}{when}")
        lines += textwrap.wrap(row["why"], width, initial_indent="    ", subsequent_indent="    ")
        lines += textwrap.wrap(
            f"Source: {row['source']}", width, initial_indent="    ", subsequent_indent="    "
        )
        blocks.append("\n".join(lines))
    return "\n".join(blocks).lstrip("\n")
