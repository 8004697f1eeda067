"""Short lines that stand on a solid, and short slits cut into one: the truth is analytic, bars of a known width and length.

A spur a few pixels of the first look long can hide in the last grey of the solid's edge.  From 0.15 mm on none may be missed that
is three times as long as wide; of thinner ones most are found, more of them the longer they are.
"""

import numpy as np
import pytest
from shapely.affinity import rotate, translate
from shapely.geometry import Polygon, box

from boards.plates import drawn
from preflight.measure import gaps, strokes
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
@pytest.mark.parametrize(
    ("width", "widths", "share"), [(0.3, 3, 1), (0.15, 3, 1), (0.1, 4, 1), (0.08, 4, 0.95), (0.06, 5, 0.95)]
)
def test_a_spur_is_a_line_and_a_slit_a_gap(width, widths, share, slit):
    found = [value for seed in (1, 2) for value in measured(width, widths, slit, seed)]
    seen = [value for value in found if value is not None]
    assert len(seen) >= share * len(found)
    assert max(abs(value - width) for value in seen) <= 0.005
