"""Short lines that stand on a solid, and short slits cut into one: the truth is analytic, bars of a known width and length.

A spur a few pixels of the first look long hides in the last grey of the solid's edge, but its outline shows it.  None
may be missed that is three times as long as wide.
"""

import numpy as np
import pytest
from shapely.affinity import rotate, translate
from shapely.geometry import Polygon, box

from boards.plates import drawn
from pdf_made import pdf_of
from preflight.load import load
from preflight.measure import gaps, strokes, width_ends
from preflight.order import Order

CELL, SIDE = 8, 64


def measured(width: float, widths: float, slit: bool, seed: int) -> list[float | None]:
    """What is found at each of 64 squares that a spur stands on, or that a slit is cut into, one at every angle."""
    random = np.random.default_rng(seed)
    shapes, places = [], []
    for row in range(CELL // 2, SIDE, CELL):
        for column in range(CELL // 2, SIDE, CELL):
            square, turn = box(-2, -2, 2, 2), random.uniform(0, 360)
            if slit:
                one = square.difference(box(2 - widths * width, -width / 2, 2.1, width / 2))
            else:
                one = square.union(box(1.9, -width / 2, 2 + widths * width, width / 2))
            x, y = column + random.uniform(0, 0.3), row + random.uniform(0, 0.3)
            assert isinstance(one, Polygon)
            shapes.append(translate(rotate(one, turn, origin=(0, 0)), x, y))
            middle = 2 + (-1 if slit else 1) * widths * width / 2
            places.append((x + middle * np.cos(np.radians(turn)), y + middle * np.sin(np.radians(turn))))
    art = drawn(SIDE + 2, SIDE + 2, {0: shapes})
    seen = (gaps.gaps if slit else strokes.lines)(art, Order(), up_to=0.35)
    found: list[float | None] = []
    for x, y in places:
        near = [
            one.value
            for one in seen
            if one.where
            and one.value is not None
            and one.value < 0.35
            and np.hypot(
                (one.where[0][0] + one.where[0][2]) / 2 - x, (one.where[0][1] + one.where[0][3]) / 2 - y
            )
            < 0.5
        ]
        assert len(near) <= 1
        found.append(near[0] if near else None)
    # squares without anything narrow are quiet
    assert len([one for one in seen if one.value is not None and one.value < 0.35]) == sum(
        one is not None for one in found
    )
    return found


@pytest.mark.parametrize("slit", [False, True], ids=["spur", "slit"])
@pytest.mark.parametrize("width", [0.3, 0.15, 0.13, 0.1, 0.08, 0.06, 0.05])
def test_a_spur_is_a_line_and_a_slit_a_gap(width, slit):
    found = [value for seed in (1, 2) for value in measured(width, 3, slit, seed)]
    assert None not in found
    assert found == pytest.approx([width] * len(found), abs=0.005)


def with_teeth(width: float, tooth: str, bare: bool) -> bytes:
    """A PDF of a solid with a thin tooth on each side (or a slit, painted white), its end square, round or slanted."""
    turns = []
    for turn in (0, 90, 180, 270):
        cos, sin = np.cos(np.radians(turn)), np.sin(np.radians(turn))
        turns.append(f"q {cos:.6f} {sin:.6f} {-sin:.6f} {cos:.6f} 20 15 cm {tooth} h f Q")
    return pdf_of(f"0.07 0.23 0.43 rg 14 9 12 12 re f {'1 g' if bare else ''} {' '.join(turns)}", 40, 30)


@pytest.mark.parametrize("bare", [False, True], ids=["spur", "slit"])
@pytest.mark.parametrize("width", [0.05, 0.08])
@pytest.mark.parametrize("end", ["square", "round", "slanted"])
def test_the_end_of_a_spur_may_have_any_form(end, width, bare):
    half, out = width / 2, -1 if bare else 1
    start, stop = 6 - 0.5 * out, 6 + out * 3.5 * width
    k = 0.5523 * half * out
    tip = {
        "square": f"{stop} {-half} l {stop} {half} l",
        "slanted": f"{stop} {-half} l {stop + 0.6 * width * out} {half} l",
        "round": f"{stop} {-half} l {stop + k} {-half} {stop + half * out} {-abs(k)} {stop + half * out} 0 c "
        f"{stop + half * out} {abs(k)} {stop + k} {half} {stop} {half} c",
    }[end]
    tooth = f"{start} {-half} m {tip} {start} {half} l"
    art = load(with_teeth(width, tooth, bare), Order())
    found = list((gaps.gaps if bare else strokes.lines)(art, Order(), up_to=0.3))
    assert [one.value for one in found if one.value is not None] == pytest.approx([width] * 4, abs=0.005)


def test_what_lies_far_off_the_art_neither_hides_an_end_nor_costs_a_look():
    thin = " ".join(f"{900 + i} 900 0.03 3 re f" for i in range(width_ends.MOST))
    far = f"{thin} -9e9 -9e9 m 9e30 8e30 l 9e9 -9e9 l -9e9 -9e9 l h f"
    spur = "14 9 12 12 re f 25 15 1.2 0.06 re f"
    clip = "q 1 1 38 28 re W n"
    art = load(pdf_of(f"0.07 0.23 0.43 rg {clip} {spur} Q {far}", 40, 30), Order())
    found = list(strokes.lines(art, Order(), up_to=0.3))
    assert [one.value for one in found if one.value is not None] == pytest.approx([0.06], abs=0.005)


def test_an_outline_may_begin_anywhere():
    """A spur whose outline begins at its tip, on its side, and at its root."""
    spur = [(16, 9), (16, 15), (16.25, 15), (16.25, 15.06), (16, 15.06), (16, 21), (4, 21), (4, 9)]
    for start in range(len(spur)):
        outline = Polygon(spur[start:] + spur[:start])
        found = list(strokes.lines(drawn(24, 30, {0: [outline]}), Order(), up_to=0.3))
        assert [one.value for one in found if one.value is not None] == pytest.approx([0.06], abs=0.005)
