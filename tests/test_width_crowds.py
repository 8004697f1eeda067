"""A sheet with more thin lines than anybody wants listed: the thinnest come first, and the rest is counted.

The truth is analytic: bars of known widths, one of them thinner than all others, anywhere on the sheet.
"""

import numpy as np
import pytest
from shapely.affinity import rotate, translate

from boards.plates import drawn
from boards.shapes import bar, rectangle, ring, star
from preflight.measure import gaps, strokes, width_middle, width_scan
from preflight.order import Order

#: Bars across and down, mm from one to the next, and the width of the thinnest.
ACROSS, PITCH, THINNEST = 30, 5.0, 0.17
ORDER = Order()


def sheet():
    """900 bars of 0.22 to 0.38 mm at every angle, and among them one of 0.17 mm."""
    random = np.random.default_rng(20)
    widths = random.uniform(0.22, 0.38, ACROSS**2)
    widths[637] = THINNEST
    bars = [
        bar(PITCH * (i % ACROSS + 0.5), PITCH * (i // ACROSS + 0.5), width, 3.0, random.uniform(0, 180))
        for i, width in enumerate(widths)
    ]
    return drawn(ACROSS * PITCH, ACROSS * PITCH, {0: bars})


def lines(x, y, width, turn):
    return [bar(x, y, width, 3.0, turn)]


def short_lines(x, y, width, turn):
    return [bar(x, y, width, 3.5 * width, turn)]


def lines_beside_lines(x, y, width, turn):
    pair = (
        rectangle(-1.5, -width / 2, 1.5, width / 2),
        rectangle(-1.5, width / 2 + 0.3, 1.5, width / 2 + 0.65),
    )
    return [translate(rotate(one, turn, origin=(0, 0)), x, y) for one in pair]


def lines_beside_stars(x, y, width, turn):
    return [bar(x - 1.6, y, width, 2.5, 60 + turn / 3), star(x + 0.8, y, 1.4, 0.55, 5, turn)]


def rings(x, y, width, turn):
    return [ring(x, y, 1.5 + width / 2, width)]


def slots(x, y, width, turn):
    return [rectangle(x - 2, y - 2, x + 2, y + 2).difference(bar(x, y, width, 2.5, turn))]


def sheet_of(shapes, seed, thinnest, others):
    """A shape of every width, 900 of them, the thinnest somewhere among them."""
    random = np.random.default_rng(seed)
    widths = random.uniform(*others, ACROSS**2)
    widths[random.integers(ACROSS**2)] = thinnest
    found = []
    for i, width in enumerate(widths):
        x, y = PITCH * (i % ACROSS + 0.5), PITCH * (i // ACROSS + 0.5)
        found += shapes(x, y, width, random.uniform(0, 180))
    return drawn(ACROSS * PITCH, ACROSS * PITCH, {0: found})


@pytest.mark.parametrize("seed", [101, 102])
@pytest.mark.parametrize(
    "thinnest, others", [(0.17, (0.22, 0.38)), (0.17, (0.2, 0.2001)), (0.06, (0.08, 0.12))]
)
@pytest.mark.parametrize("shapes", [lines, short_lines, lines_beside_lines, lines_beside_stars, rings, slots])
def test_the_minimum_of_a_crowd_is_the_true_one(shapes, thinnest, others, seed):
    art = sheet_of(shapes, seed, thinnest, others)
    found = (gaps.gaps if shapes is slots else strokes.lines)(art, ORDER, up_to=0.5)
    assert found[0].value == pytest.approx(thinnest, abs=0.005)
    assert found[0].facts["places_not_measured"] > 0


@pytest.mark.parametrize("vast, least", [(1, 40), (10**9, 100)])
def test_of_a_crowd_the_thinnest_are_listed_and_the_rest_is_counted(vast, least, monkeypatch):
    monkeypatch.setattr(width_scan, "VAST", vast)
    found = strokes.lines(sheet(), ORDER, up_to=0.5)
    assert found[0].value == pytest.approx(THINNEST, abs=0.005)
    assert [one.value for one in found] == sorted(one.value for one in found)
    assert least <= len(found) < ACROSS**2
    assert found[0].facts["places_not_measured"] > 0
    assert "not measured one by one" in found[0].what


def test_a_vast_sheet_lists_fewer_than_a_full_one(monkeypatch):
    counts = []
    for vast in (1, 10**9):
        monkeypatch.setattr(width_scan, "VAST", vast)
        counts.append(len(strokes.lines(sheet(), ORDER, up_to=0.5)))
    assert counts[0] < counts[1]


def test_what_is_no_crowd_is_listed_in_full(monkeypatch):
    monkeypatch.setattr(width_scan, "VAST", 1)
    bars = [bar(5.0 * i + 3, 6, 0.2 + 0.005 * i, 4.0, 12.0 * i) for i in range(30)]
    found = strokes.lines(drawn(160, 12, {0: bars}), ORDER, up_to=0.5)
    assert len(found) == 30
    assert "places_not_measured" not in found[0].facts


@pytest.mark.parametrize("most", [0, 20_000])
def test_places_that_the_middle_look_leaves_out_count_as_thin(most, monkeypatch):
    """Of a page of 60 million pixels the rest is taken over as the coarse look saw it: nothing is lost by that."""
    monkeypatch.setattr(width_middle, "MOST_PIXELS", most)
    random = np.random.default_rng(4)
    widths = np.linspace(0.05, 0.125, 16)
    bars = [
        bar(4 * (i % 4 + 0.5), 4 * (i // 4 + 0.5), width, 2.0, random.uniform(0, 180))
        for i, width in enumerate(widths)
    ]
    slots = [translate(rectangle(0, 0, 4, 4).difference(translate(one, -x, -y)), x + 20, y) for one, x, y in (
        (one, 4 * (i % 4), 4 * (i // 4)) for i, one in enumerate(bars)
    )]  # fmt: skip
    art = drawn(40, 20, {0: bars, 1: slots})
    for found in (strokes.lines(art, ORDER, up_to=0.2), gaps.gaps(art, ORDER, up_to=0.2)):
        assert [one.value for one in found] == pytest.approx(widths.tolist(), abs=0.005)
