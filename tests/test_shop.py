"""The shop file: what it sets, and that whatever is wrong in it is refused with its line and the nearest valid name."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from preflight.errors import PreflightError
from preflight.methods import limits, methods
from preflight.order import order_from
from preflight.shop import Shop, read_shop, read_text

FULL = """
[limits]
"embroidery/capital-height" = "6 mm"
"pad-print/line-width" = { must = "0.15 mm", query = "0.25 mm" }

[charts]
inks = "inks.csv"

[machines.embroidery]
heads = 12
needles = 9
speed = 800

[machines.screen-print]
press = "manual"

[letterhead]
name = "The kite workshop"
lines = ["Seawall", "Saltmarsh"]
email = "art@example.org"

[words]
cut-outline = ["knife line"]
"""


@pytest.fixture
def shop(tmp_path):
    (tmp_path / "inks.csv").write_text("name,hex\nharbour blue,#123456\n")
    (tmp_path / "shop.toml").write_text(FULL)
    return read_shop(tmp_path / "shop.toml")


def test_everything_it_may_say(shop):
    assert shop.limits["pad-print/line-width"] == ("0.15 mm", "0.25 mm")
    assert shop.machines["embroidery"]["heads"] == 12 and shop.tags == {"manual-press"}
    assert shop.letterhead.name == "The kite workshop" and shop.letterhead.lines == ("Seawall", "Saltmarsh")
    assert shop.cut_words == ("knife line",)
    (chart,) = shop.charts
    assert chart.find("Harbour blue").hex == "#123456"


def test_its_charts_and_machines_reach_the_order(shop):
    order = order_from({"ground": "harbour blue"}, charts=shop.charts, tags=shop.tags, machines=shop.machines)
    assert order.ground == "#123456" and {"chart", "manual-press", "dark-ground"} <= order.tags
    assert order.machines["embroidery"]["speed"] == 800


def test_the_needles_are_a_limit_unless_one_is_given(shop):
    rows = {row["rule"]: row for row in limits(shop=shop)}
    assert rows["embroidery/thread-colours"]["query"] == 9
    both = read_text(
        '[machines.embroidery]\nneedles = 9\n[limits]\n"embroidery/thread-colours" = "7 colours"\n', "."
    )
    assert {row["rule"]: row for row in limits(shop=both)}["embroidery/thread-colours"]["query"] == 7


def test_an_empty_file_changes_nothing(tmp_path):
    (tmp_path / "shop.toml").write_text("")
    assert methods(read_shop(tmp_path / "shop.toml")) == methods(Shop()) == methods()


@pytest.mark.parametrize(
    "text, message",
    [
        ("[limit]\n", "line 1: limit: there is no such table; did you mean “limits”"),
        ("\n[letterhead]\nnmae = 'x'\n", "line 3: .*nmae: there is no such setting; did you mean “name”"),
        ("[machines.embroidry]\nheads = 3\n", "line 1: .*did you mean “embroidery”"),
        ("[machines.embroidery]\nneedle = 3\n", "line 2: .*did you mean “needles”"),
        ("[machines.embroidery]\nheads = 0\n", "line 2: .*whole number from 1 to 100"),
        ("[machines.embroidery]\nheads = true\n", "line 2: .*whole number"),
        ("[machines.embroidery]\nheads = 2.5\n", "line 2: .*whole number"),
        ("[machines]\nembroidery = 3\n", "line 2: .*write it as a table"),
        ("[machines.foil]\nneedles = 3\n", "line 2: .*no such setting"),
        ("[machines.screen-print]\npress = 'steam'\n", 'line 2: .*"automatic" or "manual"'),
        ("limits = 3\n", "line 1: .*write it as a table"),
        ("[limits]\n'foil/line-width' = 0.3\n", "line 2: .*in quotes with its unit"),
        ("[limits]\n'foil/line-width' = '0,3 mm'\n", "line 2: .*not a quantity"),
        (
            "[limits]\n'foil/line-width' = { most = '1 mm' }\n",
            "line 2: .*most: there is no such setting; did you mean “must”",
        ),
        ("[limits]\n'foil/line-width' = {}\n", "line 2: .*give a limit"),
        ("[charts]\nink = 'a.csv'\n", "line 2: .*did you mean “inks”"),
        ("[charts]\ninks = 3\n", "line 2: .*list"),
        ("[charts]\ninks = 'gone.csv'\n", "line 2: .*gone.csv"),
        ("[charts]\ninks = 'a\\u0000b.csv'\n", "line 2|not valid TOML|invalid"),
        ("[letterhead]\nlines = [3]\n", "line 2: .*list"),
        ("[words]\ncut = ['x']\n", "line 2: .*did you mean “cut-outline”|no such setting"),
        ("[limits\n", "not valid TOML.*line 1"),
        ("[limits]\nx = 1\nx = 2\n", "not valid TOML.*line 3"),
        ("a = " + "[" * 5000, "not valid TOML"),
    ],
)
def test_what_is_wrong_is_refused_with_its_line(tmp_path, text, message):
    with pytest.raises(PreflightError, match=message) as error:
        read_text(text, tmp_path)
    assert "\n" not in str(error.value)


@pytest.mark.parametrize("data, message", [(b"\xff\xfe", "not UTF-8"), (b"a" * 1_000_001, "larger than")])
def test_bytes_that_are_no_shop_file(tmp_path, data, message):
    (tmp_path / "shop.toml").write_bytes(data)
    with pytest.raises(PreflightError, match=message):
        read_shop(tmp_path / "shop.toml")


def test_a_missing_shop_file(tmp_path):
    with pytest.raises(PreflightError, match="cannot be read"):
        read_shop(tmp_path / "gone.toml")


@given(st.text(alphabet='[]limtsachrneop="{}\n.-/ 3\x1b\u202e', max_size=200))
@settings(max_examples=200, deadline=None)
def test_any_text_is_a_shop_or_one_plain_line(text):
    try:
        read_text(text, "/nonexistent-folder")
    except PreflightError as error:
        assert "\n" not in str(error) and "\x1b" not in str(error) and "\u202e" not in str(error)
