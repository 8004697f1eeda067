"""The shelf of methods, their limits as data and as a table, and a shop's own limits in them."""

import re

import pytest

from preflight.errors import PreflightError
from preflight.methods import limits, limits_table, methods
from preflight.order import METHODS
from preflight.report.limits import render
from preflight.shop import Shop, read_text

KEYS = ["rule", "check", "method", "direction", "must", "query", "unit", "when", "why", "remedy", "source"]


def test_rows_are_as_the_contract_says():
    rows = limits()
    assert all(list(row) == KEYS for row in rows)
    assert {row["method"] for row in rows} == set(METHODS)
    assert {row["direction"] for row in rows} == {"min", "max"}
    for row in rows:
        assert isinstance(row["when"], list) and row["must"] is not None or row["query"] is not None
        assert not {"{", "}"} & set(row["why"] + row["remedy"]), "words in the table are filled in"


def test_the_contracts_own_example():
    (row,) = [row for row in limits("embroidery") if row["rule"] == "embroidery/capital-height"]
    assert (row["check"], row["direction"], row["must"], row["query"], row["unit"]) == (
        "lettering-height",
        "min",
        5.0,
        None,
        "mm",
    )
    (row,) = [row for row in limits("embroidery") if row["rule"] == "embroidery/cap-height"]
    assert (row["direction"], row["must"], row["when"]) == ("max", 54.0, ["cap"])


def test_the_terminal_says_what_fails_and_what_asks():
    text = render(limits("embroidery"), 90)
    assert text.startswith("embroidery\n==========\n")
    for line in (
        "Something to produce on the page: fails otherwise\n    embroidery/art-present\n",
        "Finished size stated: asks otherwise\n",
        "Low enough for the front of a cap: fails over 54 mm\n    embroidery/cap-height (cap)\n",
        "No invisible objects: is noted otherwise\n",
    ):
        assert line in text
    assert re.search(r"Small letters tall enough to sew: fails under \S+ mm; asks under \S+ mm\n", text)
    assert all(len(line) <= 110 for line in text.splitlines())


def test_rows_are_json():
    import json

    assert json.loads(json.dumps(limits("foil"))) == limits("foil")


def test_one_method_only_and_an_unknown_one():
    assert {row["method"] for row in limits("foil")} == {"foil"}
    with pytest.raises(PreflightError, match="did you mean “foil”"):
        limits("foyl")


def test_a_shops_limits_hold_and_others_stay():
    shop = read_text(
        '[limits]\n"embroidery/capital-height" = "6 mm"\n"foil/line-width" = { query = "0.5 mm" }\n', "."
    )
    changed = {row["rule"]: row for row in limits(shop=shop)}
    assert changed["embroidery/capital-height"]["must"] == 6.0
    assert (changed["foil/line-width"]["must"], changed["foil/line-width"]["query"]) == (0.2, 0.5)
    before = {row["rule"]: row for row in limits()}
    assert {r for r in before if before[r] != changed[r]} == {"embroidery/capital-height", "foil/line-width"}
    assert "at least 6 mm" in limits_table(shop)
    assert methods() == methods(Shop())


def test_a_shops_limit_is_in_the_words_too():
    shop = read_text('[limits]\n"embroidery/capital-height" = "6 mm"\n', ".")
    (row,) = [row for row in limits("embroidery", shop) if row["rule"] == "embroidery/capital-height"]
    assert "6 mm" in row["remedy"] and "5 mm" not in row["remedy"]


@pytest.mark.parametrize(
    "line, message",
    [
        (
            '"embroidery/capital-hight" = "6 mm"',
            "line 2: there is no rule .*did you mean “embroidery/capital-height”",
        ),
        ('"embroidery/capital-height" = "6 ppi"', "line 2: .*should be in mm"),
        ('"foil/line-width" = { must = "0.2 mm", query = "0.1 mm" }', "line 2: .*stricter"),
    ],
)
def test_a_limit_no_rule_can_take_is_refused_with_its_line(line, message):
    shop = read_text(f"[limits]\n{line}\n", ".")
    with pytest.raises(PreflightError, match=message):
        methods(shop)


def test_the_table_is_markdown_with_one_row_a_rule():
    lines = limits_table().splitlines()
    shared = sum(line.startswith("| `*/") for line in lines)
    own = sum(line.startswith("| `") for line in lines) - shared
    assert own + shared * len(METHODS) == len(limits()) and shared > 10
    for line in lines:
        if line.startswith("|"):
            assert line.replace("\\|", "").count("|") == 7
