"""The shelf of methods: every file in `rules/` that holds a METHOD, found by being there; and the table of limits."""

import functools
import importlib
import pkgutil
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import rules
from preflight.errors import PreflightError
from preflight.order import METHODS, nearest
from preflight.quantity import written
from preflight.rulebook import Method, Rule

if TYPE_CHECKING:
    from preflight.shop import Shop


@functools.cache
def _found() -> dict[str, Method]:
    modules = (importlib.import_module(f"rules.{info.name}") for info in pkgutil.iter_modules(rules.__path__))
    found = [module.METHOD for module in modules if hasattr(module, "METHOD")]
    known = list(METHODS)
    found.sort(key=lambda method: known.index(method.id) if method.id in known else len(known))
    return {method.id: method for method in found}


def methods(shop: "Shop | None" = None) -> dict[str, Method]:
    """Every method by its id, in the order of the README; with a shop's own limits where one is given.

    Raises:
        PreflightError: the shop sets a limit that no rule can take; it says which.
    """
    found = dict(_found())
    if shop is None:
        return found
    ids = {rule.id: method for method in found.values() for rule in method.rules}
    for name in shop.limits:
        if name not in ids:
            raise PreflightError(f"{shop.where('limits', name)}there is no rule “{name}”{nearest(name, ids)}")
    touched = {ids[name].id for name in shop.limits}
    for method_id in touched:
        method = found[method_id]
        found[method_id] = replace(method, rules=tuple(_with_limits(rule, shop) for rule in method.rules))
    return found


def _with_limits(rule: Rule, shop: "Shop") -> Rule:
    own = shop.limits.get(rule.id)
    if own is None:
        return rule
    try:
        must, query = own
        if must is not None:
            rule = rule.with_limit(must)
        return rule.with_wanted(query) if query is not None else rule
    except ValueError as error:
        reason = str(error).removeprefix(f"rule {rule.id}: ")
        raise PreflightError(f"{shop.where('limits', rule.id)}“{rule.id}”: {reason}") from None


class LimitRow(dict[str, Any]):
    """One limit as the JSON has it; `title` is its rule's good state, for people; `noted`: past it nothing is asked."""

    title: str = ""
    noted: bool = False


def limits(method: str | None = None, shop: "Shop | None" = None) -> list[LimitRow]:
    """The limits in force, of one method or of all, one rule a row, as README.md describes their JSON.

    `must` is the limit past which a job fails, `query` the one past which someone is asked (or told, where a rule only
    notes); None where there is none.  `when` are the tags of an order it is for; "not x" where it is for all others.

    Raises:
        PreflightError: there is no such method, or the shop's limits cannot be used.
    """
    shelf = methods(shop)
    if method is not None and method not in shelf:
        raise PreflightError(f"there is no method “{method}”{nearest(method, shelf)}")
    chosen = [shelf[method]] if method is not None else list(shelf.values())
    return [_row(m, rule) for m in chosen for rule in m.rules]


def _row(method: Method, rule: Rule) -> LimitRow:
    why, remedy = rule.words()
    row = LimitRow({
        "rule": rule.id,
        "check": rule.check,
        "method": method.id,
        "direction": rule.direction,
        "must": None if rule.notes_only else rule.must,
        "query": rule.must if rule.notes_only and rule.query is None else rule.query,
        "unit": rule.unit,
        "when": rule.when.split() + [f"not {tag}" for tag in rule.unless.split()],
        "why": why,
        "remedy": remedy,
        "source": rule.source,
    })  # fmt: skip
    row.title, row.noted = rule.title, rule.notes_only
    return row


_HEAD = "| rule | must | asks | when | why | source |\n| --- | --- | --- | --- | --- | --- |"


def limits_table(shop: "Shop | None" = None) -> str:
    """The limits as Markdown for the README: one table of what holds for every method, then one for each."""
    shelf = methods(shop)
    noted = {rule.id for method in shelf.values() for rule in method.rules if rule.notes_only}
    tables = {method: [_line(row, row["rule"] in noted) for row in limits(method, shop)] for method in shelf}
    first = next(iter(tables.values()), [])
    shared = [line for line in first if all(line in lines for lines in tables.values())]
    parts = [_table("Every method", [line.format(method="*") for line in shared])]
    for method, lines in tables.items():
        own = [line.format(method=method) for line in lines if line not in shared]
        parts.append(_table(f"{shelf[method].name} (`{method}`)", own))
    return "\n\n".join(parts) + "\n"


def _table(title: str, lines: list[str]) -> str:
    return "\n".join((f"### {title}\n", _HEAD, *lines))


def _line(row: dict[str, Any], noted: bool) -> str:
    """One row of the table, the method's id in its rule left open as {method}."""
    must, query = (_cell(row, side) for side in ("must", "query"))
    query += " (only noted)" if noted else ""
    rule = f"`{{method}}/{row['rule'].partition('/')[2]}`"
    cells = (must, query, ", ".join(row["when"]), row["why"], row["source"])
    return f"| {rule} | " + " | ".join(_escaped(cell) for cell in cells) + " |"


def _escaped(cell: str) -> str:
    return cell.replace("|", "\\|").replace("{", "{{").replace("}", "}}")


def _cell(row: dict[str, Any], side: str) -> str:
    if row[side] is None:
        return ""
    word = "at least" if row["direction"] == "min" else "at most"
    return f"{word} {written(row[side], row['unit'])}"
