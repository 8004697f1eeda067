"""Every rule of every method keeps the promises of a rule file, and every known limit of the trade has its rule.

Readings are made relative to each limit, so that a craftsman's lawful change of a limit breaks nothing here but the table of
the trade's limits at the end, which is the record of what the workshop's handbook says (sources as in each rule's file).
"""

import functools
import io
import re
from dataclasses import replace

import pytest
import skimage.data
from PIL import Image

from limit_rows import ROWS
from preflight.artwork import Artwork
from preflight.clearing import NOT_CHECKED
from preflight.findings import Check, Outcome, Severity
from preflight.load import load
from preflight.measure import measures
from preflight.methods import limits, limits_table, methods
from preflight.order import METHODS, Order, vocabulary
from preflight.quantity import COUNTED, parse, rounded
from preflight.reading import Reading
from preflight.rulebook import A_PICTURE, TOLERANCE, UNPUBLISHED, Method, Rule

RULES = [(method, rule) for method in methods().values() for rule in method.rules]
every_method = pytest.mark.parametrize("method", methods().values(), ids=lambda method: method.id)
ART = Artwork(
    format="svg", kind="vector", page=1, pages=1, width_mm=50, height_mm=30, file_width_mm=50, file_height_mm=30,
    ground="#ffffff", inks=(), marks=(), text=(), pictures=(), fonts=(), fades=(), facts=(), plates=None,
)  # fmt: skip
#: Tags that no word list gives: they come from the order or from the shop file.
OTHER_TAGS = {
    "dark-ground", "coloured-ground", "inks-named", "chart", "substance-known", "page-stated", "cap-front", "manual-press",
}  # fmt: skip


def every_rule(check):
    """Hold a check against every rule of a method: one test a method, which names all rules that fail."""

    @every_method
    @functools.wraps(check)
    def test(method):
        wrong = []
        for rule in method.rules:
            try:
                check(method, rule)
            except (AssertionError, ValueError) as error:
                wrong.append(f"{rule.id}: {str(error).splitlines()[0] if str(error) else error!r}")
        assert not wrong, "\n".join(wrong)

    del test.__wrapped__  # pytest would ask for a fixture called `rule`
    return test


def order_for(rule: Rule) -> Order:
    return Order(tags=frozenset(rule.when.split()))


def reading(rule: Rule, value: float | None, **more: object) -> Rule:
    """The rule with a measurement that gives this value."""

    @measures(rule.unit)
    def fake(art, order):
        yield Reading(value=value, what="the letters “KITE FAIR”", where=((1.0, 2.0, 3.0, 4.0),), **more)

    return replace(rule, measure=fake, least=None)


def concluded(rule: Rule, value: float | None, **more: object) -> Severity | None:
    finding, checked = reading(rule, value, **more).check_art(ART, order_for(rule))
    assert (finding is None) == (checked.outcome in (Outcome.OK, Outcome.DOES_NOT_APPLY))
    if finding and value is not None:
        assert finding.limit in {
            rounded(limit, rule.unit) for limit in (rule.must, rule.query) if limit is not None
        }
        assert checked.outcome.value == finding.severity.value
    return finding.severity if finding else None


def parse_limit(rule: Rule) -> float:
    return rule.query if rule.query is not None else rule.must  # type: ignore[return-value]


def past(rule: Rule, limit: float, part: float = 0.2) -> float:
    """A value past a limit by a part of it, one whole step for what is counted."""
    sign = -1 if rule.direction == "min" else 1
    step = 1 if rule.unit in COUNTED else max(part * limit, 0.05)
    return limit + sign * step


# ------------------------------------------------------------------------------------------------ the rule files


def test_every_method_of_the_contract_has_a_file_and_no_other():
    assert tuple(methods()) == METHODS


def test_ids_are_unique():
    ids = [rule.id for _, rule in RULES]
    assert sorted(ids) == sorted(set(ids))


@every_rule
def test_the_id_is_the_method_and_what_is_measured(method: Method, rule: Rule):
    assert re.fullmatch(rf"{method.id}/[a-z]+(-[a-z]+)*", rule.id)


@every_rule
def test_words_are_complete(method: Method, rule: Rule):
    assert rule.title[0].isupper() and rule.title[-1].isalpha()
    for words in (rule.says, rule.why, rule.fix):
        assert words.rstrip().endswith(".") and "  " not in words and len(words) <= 160
        assert re.match(r"[A-Z{]", words)
    for limit in filter(None, (rule.must, rule.query)):
        for value in (past(rule, limit), 0.0, 1.0, 1234.5678):
            for words in (rule.says, rule.why, rule.fix):
                said = rule._filled(words, Reading(value=value, what="the art"), limit)
                assert not re.search(r"[{}|]|None", said) and said[0] == said[0].upper()


@every_rule
def test_words_hold_no_digits(method: Method, rule: Rule):
    words = re.sub(r"\{[^}]*\}", "", " ".join((rule.title, rule.says, rule.why, rule.fix)))
    assert not re.search(r"\d", words), "write {limit} or {wanted}, so that one edit changes every sentence"


@every_rule
def test_a_measured_limit_is_said(method: Method, rule: Rule):
    if rule.unit not in COUNTED:
        assert "{measured}" in rule.says
        if parse_limit(rule) != 100 and not rule.notes_only:
            assert re.search(r"\{(limit|minimum|maximum|wanted)\}", rule.says + rule.fix)


@every_rule
def test_the_source_is_a_dated_publication_or_says_where_it_comes_from(method: Method, rule: Rule):
    kind = rule.source.split(":")[0]
    assert kind in UNPUBLISHED or re.search(r"(?<!\d)(19|20)\d\d(?!\d)", rule.source)
    if kind == "computed":
        assert rule.source.partition(": ")[2], "a computed limit gives its formula"


@every_rule
def test_conditions_are_words_that_an_order_can_mean(method: Method, rule: Rule):
    lists = vocabulary()
    known = OTHER_TAGS.union(*lists.things.values(), *lists.places.values(), *lists.on_cloth.values())
    assert set(rule.when.split()) | set(rule.unless.split()) <= known


@every_rule
def test_the_check_is_one_of_the_contract(method: Method, rule: Rule):
    assert rule.check in set(Check)


@every_method
def test_a_method_is_complete(method: Method):
    assert method.name and method.tells.endswith(".") and not re.search(r"\d", method.tells)
    assert callable(method.production)
    assert method.cautions and all(line.endswith(".") for line in method.cautions)
    assert any("trained" in line for line in method.cautions), "cautions defer to licensed practice"
    assert method.shop_notes
    assert method.size_of in ("art", "cut outline")


# ------------------------------------------------------------------------------------------------ how each rule judges


@every_rule
def test_the_limit_itself_is_good_enough(method: Method, rule: Rule):
    strictest = rule.query if rule.query is not None else rule.must
    assert strictest is not None
    assert concluded(rule, strictest) is None


@every_rule
def test_well_inside_the_limit_passes(method: Method, rule: Rule):
    strictest = rule.query if rule.query is not None else rule.must
    sign = 1 if rule.direction == "min" else -1
    assert concluded(rule, strictest + sign * max(strictest * 0.5, 1)) is None


@every_rule
def test_past_the_must_limit_fails(method: Method, rule: Rule):
    if rule.must is None:
        return
    expected = Severity.NOTE if rule.notes_only else Severity.MUST
    value = past(rule, rule.must, 0.1 if rule.only_to else 0.2)
    assert concluded(rule, value) is expected


@every_rule
def test_a_hair_past_the_must_limit_asks_except_for_counts_and_machine_sizes(method: Method, rule: Rule):
    if rule.must is None or rule.unit in COUNTED or rule.notes_only or rule.must == 0:
        return
    value = past(rule, rule.must, TOLERANCE * 0.9)
    value = (
        rule.must
        + (value - rule.must) * 0
        + (TOLERANCE * 0.9 * rule.must) * (-1 if rule.direction == "min" else 1)
    )
    if rounded(value, rule.unit) == rounded(rule.must, rule.unit):
        return
    assert concluded(rule, value) is (Severity.MUST if rule.exact else Severity.QUERY)
    beyond = rule.must + (TOLERANCE * 1.6 * rule.must) * (-1 if rule.direction == "min" else 1)
    if abs(rounded(beyond, rule.unit) - rule.must) > TOLERANCE * rule.must * 1.01:
        assert concluded(rule, beyond) is Severity.MUST


@every_rule
def test_between_the_two_limits_asks(method: Method, rule: Rule):
    if rule.query is None:
        return
    value = past(rule, rule.query) if rule.must is None else (rule.must + rule.query) / 2
    if rule.unit in COUNTED:
        value = round(value)
    if rule.only_to:
        value = (parse(rule.only_to).value + rule.query) / 2
    assert concluded(rule, value) is (Severity.NOTE if rule.notes_only else Severity.QUERY)


@every_rule
def test_what_is_left_to_another_rule_is_not_said_twice(method: Method, rule: Rule):
    if rule.only_to:
        assert concluded(rule, past(rule, parse(rule.only_to).value)) is None


@every_rule
def test_what_could_not_be_measured_asks(method: Method, rule: Rule):
    noted = rule.notes_only
    assert concluded(rule, None, reason="it is too full.") is (Severity.NOTE if noted else Severity.QUERY)
    assert concluded(rule, None, reason="It is a picture in continuous tone.") is Severity.NOTE
    assert rule.broke()[0].severity is Severity.QUERY


@every_rule
def test_what_is_not_certain_never_fails(method: Method, rule: Rule):
    if rule.must is not None and not rule.notes_only:
        assert concluded(rule, past(rule, rule.must), sure=0.6) is Severity.QUERY


@every_rule
def test_it_holds_only_for_its_orders(method: Method, rule: Rule):
    worst = past(rule, rule.must if rule.must is not None else rule.query)
    fake = reading(rule, worst)
    if rule.when:
        assert fake.check_art(ART, Order())[1].outcome is Outcome.DOES_NOT_APPLY
    for tag in rule.unless.split():
        tags = frozenset({*rule.when.split(), tag})
        assert fake.check_art(ART, Order(tags=tags))[1].outcome is Outcome.DOES_NOT_APPLY


# ------------------------------------------------------------------------------------------------ the trade's limits


def _row_of(name: str) -> list[dict]:
    found = [
        row
        for row in limits()
        if (row["rule"].split("/")[1] == name[2:] if name[:2] == "*/" else row["rule"] == name)
    ]
    assert found, f"no rule {name}"
    return found


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row.method}: {row.limit}")
def test_every_limit_of_the_trade_has_its_rule_or_is_the_shops(row):
    if not row.rule:
        assert row.reason
        return
    for found in _row_of(row.rule):
        assert found[row.tier] == pytest.approx(row.value, abs=1e-3), found
        assert found[{"must": "query", "query": "must"}[row.tier]] != found[row.tier]


def test_the_two_tiers_of_the_lasers_and_the_lettering_rules_are_never_the_wrong_way_round():
    for row in limits():
        if row["must"] is not None and row["query"] is not None:
            stricter = row["query"] > row["must"] if row["direction"] == "min" else row["query"] < row["must"]
            assert stricter, row["rule"]


def test_the_table_of_limits_names_every_rule_once():
    table = limits_table()
    for _, rule in RULES:
        name = rule.id.split("/")[1]
        assert table.count(f"| `{rule.id}` |") + table.count(f"| `*/{name}` |") == 1
    assert "at least 5 mm" in table and "at most 54 mm" in table


# ------------------------------------------------------------------------------------------------ the two sins


def _ids(method: str) -> set[str]:
    return {rule.id.split("/")[1] for rule in methods()[method].rules}


@pytest.mark.parametrize("method", ["sticker", "dome", "heat-transfer", "uv-print"])
def test_full_colour_methods_mind_neither_many_colours_nor_gradients_nor_unnamed_inks(method):
    assert not _ids(method) & {
        "colours",
        "gradients",
        "tints",
        "named-inks",
        "outlines",
        "alike-colours",
        "trap",
        "transparency",
    }


@pytest.mark.parametrize("method", METHODS)
def test_a_photograph_is_judged_as_a_picture_and_not_for_its_lines(method):
    """Full-colour methods ask for pixels, the others about the shades; none asks about lines it cannot have."""
    kept = io.BytesIO()
    Image.fromarray(skimage.data.chelsea()).save(kept, "PNG", dpi=(300, 300))
    art = load(kept.getvalue(), Order())
    found = {rule.id: rule.check_art(art, Order())[0] for rule in methods()[method].rules}
    missed = [finding for finding in found.values() if finding and NOT_CHECKED in finding.says]
    assert missed and all(finding.severity is Severity.NOTE for finding in missed)
    assert all(any(words in finding.says for words in A_PICTURE) for finding in missed)
    checks = {str(f.check) for f in found.values() if f and f.severity is not Severity.NOTE}
    assert ("vector-required" in checks) == (method in ("pad-print", "deboss", "foil"))
    assert ("gradient" in checks) == (method not in ("sticker", "dome", "heat-transfer", "uv-print"))


@pytest.mark.parametrize("method", ["yag-laser", "co2-laser", "deboss", "foil", "embroidery"])
def test_methods_without_ink_do_not_ask_for_ink_names(method):
    assert "named-inks" not in _ids(method)


@pytest.mark.parametrize("method", METHODS)
def test_a_complete_order_is_asked_nothing(method):
    from preflight.order import order_from

    material = {"screen-print": "cotton", "heat-transfer": "cotton", "embroidery": "cotton", "yag-laser": "stainless steel",
                "co2-laser": "oak", "deboss": "leather", "foil": "paper"}.get(method, "ceramic")  # fmt: skip
    item = {"cotton": "hoodie", "leather": "notebook", "paper": "notebook"}.get(material, "tile")
    order = order_from(
        {"method": method, "width": "80", "item": item, "position": "left chest", "ground": "white", "material": material,
         "colours": "navy", "quantity": "50"}
    )  # fmt: skip
    asked = []
    for rule in methods()[method].rules:
        if rule.check in (Check.ORDER_DETAILS, Check.MATERIAL):
            finding, _ = rule.check_art(ART, order)
            if finding:
                asked.append(finding.rule)
    assert asked == []


@pytest.mark.parametrize(
    "method, gradient, outlines",
    [
        ("screen-print", "query", "must"), ("pad-print", "must", "must"), ("yag-laser", "query", "query"),
        ("co2-laser", "query", "query"), ("deboss", "must", "must"), ("foil", "must", "must"), ("embroidery", "must", "note"),
    ],
)  # fmt: skip
def test_how_hard_gradients_and_pixels_are_taken(method, gradient, outlines):
    for name, expected in (("gradients", gradient), ("outlines", outlines)):
        rule = next(rule for rule in methods()[method].rules if rule.id == f"{method}/{name}")
        finding, _ = reading(rule, 1.0).check_art(ART, order_for(rule))
        assert finding.severity.value == expected


@pytest.mark.parametrize(
    "width, expected",
    [
        (0.35, "must"),
        (0.39, "query"),
        (0.5, "query"),
        (0.79, "query"),
        (0.8, "query"),
        (0.95, "query"),
        (1.0, None),
    ],
)
def test_strokes_in_embroidery_have_three_tiers(width, expected):
    """Under 0.4 mm fail; 0.4 to 0.8 a single thread line; 0.8 to 1.0 expert satin: one finding each (common practice)."""
    findings = []
    for rule in methods()["embroidery"].rules:
        if rule.id in ("embroidery/line-width", "embroidery/satin-line"):
            finding, _ = reading(rule, width).check_art(ART, Order())
            findings += [finding] if finding else []
    assert [f.severity.value for f in findings] == ([expected] if expected else [])


@pytest.mark.parametrize(
    "long, short, fails", [(60, 40, False), (60.1, 10, True), (50, 41, True), (40, 40, False)]
)
def test_the_pad_turns_with_the_art_and_gives_no_tolerance(long, short, fails):
    sides = {"pad-print/long-side": long, "pad-print/short-side": short}
    found = []
    for rule in methods()["pad-print"].rules:
        if rule.id in sides:
            finding, _ = reading(rule, sides[rule.id]).check_art(ART, Order())
            found += [finding.severity] if finding else []
    assert bool(found) == fails and set(found) <= {Severity.MUST}


@pytest.mark.parametrize("height, expected", [(54, None), (54.1, "must"), (60, "must")])
def test_the_front_of_a_cap_gives_no_tolerance(height, expected):
    (cap,) = [rule for rule in methods()["embroidery"].rules if rule.id == "embroidery/cap-height"]
    finding, _ = reading(cap, height).check_art(ART, Order(tags=frozenset({"cap"})))
    assert (finding.severity.value if finding else None) == expected


@pytest.mark.parametrize("method", ["yag-laser", "co2-laser"])
@pytest.mark.parametrize(
    "material, expected",
    [
        ("soft PVC", {"pvc": "must"}),
        ("ABS", {"never-laser": "must"}),
        ("faux leather", {"maybe-never-laser": "query"}),
        ("powder-coated steel", {"maybe-never-laser": "query"}),
        ("PVC-free zorgle", {"unknown-material": "query"}),
        ("anodised aluminium", {}),
    ],
)
def test_materials_on_the_lasers_fail_ask_or_pass_each_for_one_reason(method, material, expected):
    """Those on the never-laser lists fail; words that only may mean them, and unknown ones, ask (common practice)."""
    from preflight.order import order_from

    order = order_from({"method": method, "item": "panel", "material": material})
    found = {}
    for rule in methods()[method].rules:
        if rule.check == Check.MATERIAL and not rule.id.endswith("unsuitable-material"):
            finding, _ = rule.check_art(ART, order)
            if finding:
                found[finding.rule.split("/")[1]] = finding.severity.value
                assert "{" not in finding.says
    assert found == expected
