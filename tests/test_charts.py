"""Charts: what may be written in them, what errors say, and the nearest entry."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from preflight import charts, colour
from preflight.errors import PreflightError


def test_shipped_charts_are_sound():
    for name, kind in charts.SHIPPED.items():
        chart = charts.shipped(name)
        assert (chart.name, chart.kind) == (name, kind)
        assert len(chart.entries) >= 20
        assert hash(chart) == hash(charts.shipped(name))


@pytest.mark.parametrize("end", ["\n", "\r\n"])
@pytest.mark.parametrize("mark", ["", "\ufeff"])
@pytest.mark.parametrize("parted", [",", ";", "\t"])
def test_separators_byte_order_mark_and_line_ends(tmp_path, parted, mark, end):
    file = tmp_path / "inks.csv"
    rows = [["Name", "L", "a", "b"], ["Tide Blue", "36.5", "6.5", "-52"], [], ["Sand", "78.5", "+4", "20.50"]]
    file.write_bytes((mark + end.join(parted.join(row) for row in rows)).encode())
    chart = charts.read(file, kind="ink")
    assert (chart.name, chart.kind) == ("inks", "ink")
    assert [(e.name, e.lab) for e in chart.entries] == [
        ("Tide Blue", (36.5, 6.5, -52.0)),
        ("Sand", (78.5, 4.0, 20.5)),
    ]


def test_decimal_commas_and_quotes():
    chart = charts.parsed('name;L*;a*;b*\n"Sand; wet";"60,5";3,2;-1\n', "book")
    assert chart.entries[0] == charts.Entry(
        "Sand; wet", (60.5, 3.2, -1.0), colour.hex_of_lab((60.5, 3.2, -1))
    )


def test_hex_and_lab_in_one_chart():
    chart = charts.parsed("name,hex,L,a,b\nRed,C8102E,,,\nGrey,,50,0,0\n", "book")
    assert chart.entries[0].hex == "#c8102e"
    assert chart.entries[0].lab == colour.lab_of("#c8102e")
    assert chart.entries[1].lab == (50, 0, 0)


def test_white_point_is_adapted():
    # The blue of sRGB: CIELAB under D65 is 32.30, 79.19, -107.86 (IEC 61966-2-1, widely printed);
    # under D50 29.57, 68.30, -112.03 (CSS Color 4, from memory).
    chart = charts.parsed("name,L,a,b,white\nd65,32.30,79.19,-107.86,d65\nd50,29.57,68.30,-112.03,D50\n", "b")
    d65, d50 = chart.entries
    assert d65.lab == pytest.approx((29.57, 68.30, -112.03), abs=0.1)
    assert colour.difference(d65.lab, d50.lab) < 0.05
    assert d65.hex == "#0000ff"


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "line 1: the header must name"),
        ("Tide Blue,36,6,-52\n", "line 1: the header must name"),
        ("name,L,a\nx,1,2\n", "line 1: the header must name"),
        ("name,hex\n", "no colours"),
        ("name,hex\n\nred,#c8102\n", "line 3: '#c8102' is no colour"),
        ("name,hex\n,#c8102e\n", "line 2: the colour has no name"),
        ("name,L,a,b\nx,50,zero,1\n", "line 2: a is 'zero', not a number"),
        ("name,L,a,b\nx,50,nan,1\n", "a is 'nan', not a number"),
        ("name,L,a,b\nx,50,1\n", "line 2: b is '', not a number"),
        ("name,L,a,b\nx,150,1,1\n", "line 2: L is 150"),
        ("name,L,a,b\nx,50,1,-400\n", "line 2: a and b are 1 and -400"),
        ("name,L,a,b,white\nx,50,1,1,E\n", "line 2: the white point 'E'"),
        ("name,hex\nred,#c8102e\nRed,#c8102f\n", "line 3: “Red” is already on line 2"),
        ('name,hex\n"red,#c8102e\n', "line 2:"),
    ],
)
def test_errors_say_where_and_why(text, says):
    with pytest.raises(PreflightError, match=r"The chart book") as caught:
        charts.parsed(text, "book")
    assert says in str(caught.value)


def test_files_that_cannot_be_read(tmp_path):
    with pytest.raises(PreflightError, match="cannot be opened"):
        charts.read(tmp_path / "none.csv")
    with pytest.raises(PreflightError, match="cannot be opened"):
        charts.read(tmp_path)
    latin = tmp_path / "latin.csv"
    latin.write_bytes("name,hex\nGrün,#00aa00\n".encode("latin-1"))
    with pytest.raises(PreflightError, match="line 2: not UTF-8"):
        charts.read(latin)
    large = tmp_path / "large.csv"
    large.write_bytes(b"name,hex\n" + b"x" * charts.LARGEST_FILE)
    with pytest.raises(PreflightError, match="larger than 4 MB"):
        charts.read(large)


@given(st.text(max_size=200))
def test_any_text_is_a_chart_or_a_plain_error(text):
    try:
        chart = charts.parsed("name,hex\n" + text, "book")
    except PreflightError as error:
        assert "\x1b" not in str(error) and "\n" not in str(error)
    else:
        assert all(entry.name.isprintable() for entry in chart.entries)


def test_nearest_is_the_least_of_all():
    both = [charts.shipped(name) for name in charts.SHIPPED]
    for shade in ("#c8102e", "#003366", "#ffffff", "#7fff00", "#808080"):
        lab = colour.lab_of(shade)
        match = charts.nearest(lab, both)
        least = min(colour.difference(lab, entry.lab) for chart in both for entry in chart.entries)
        assert match is not None and match.delta_e == pytest.approx(least)
        assert colour.difference(lab, match.entry.lab) == pytest.approx(least)
    assert charts.nearest((50, 0, 0), []) is None


def test_entries_are_found_by_name():
    both = [charts.shipped(name) for name in charts.SHIPPED]
    found = charts.entry_named(" night-NAVY", both)
    assert found is not None and (found[0].name, found[1].name) == ("workshop ink book", "Night Navy")
    assert charts.entry_named("Gull Red 12", both) is None
    assert charts.entry_named("", both) is None
