"""Two thin lines close together, and two thin slots: the gap between them and their own width, known by construction.

Nothing of this shows in a quick look at the whole sheet: together they look like one line.
"""

import numpy as np
import pytest
from shapely import affinity

from boards.loads import pieces_of
from boards.plates import drawn
from boards.shapes import bar, rectangle
from preflight.measure import gaps, strokes


def pairs(count: int, seed: int):
    """(width, gap, shape, shape) of bars 0.1 to 0.3 mm wide and 0.05 to 0.2 mm apart, at every angle."""
    random = np.random.default_rng(seed)
    for _ in range(count):
        width, gap = float(random.uniform(0.1, 0.3)), float(random.uniform(0.05, 0.2))
        angle = float(random.choice([0, 45, 90, random.uniform(0, 180)]))
        length = 3.2 * max(width, gap) * float(random.uniform(1, 3))
        one = bar(5 + random.uniform(0, 0.2), 5 + random.uniform(0, 0.2), width, length, angle)
        turned = np.radians(angle)
        other = affinity.translate(one, -(width + gap) * np.sin(turned), (width + gap) * np.cos(turned))
        assert one.distance(other) == pytest.approx(gap)
        yield width, gap, one, other


def wrong(count: int, seed: int) -> list[str]:
    """What is not measured to 0.01 mm."""
    found = []
    for width, gap, one, other in pairs(count, seed):
        lines = drawn(10, 10, {0: [one, other]})
        slots = drawn(10, 10, {0: pieces_of([rectangle(1, 1, 9, 9).difference(one).difference(other)])})
        readings = {
            "gap": gaps.narrowest_gap(lines), "web": strokes.finest_line(slots),
            "line": strokes.finest_line(lines), "slot": gaps.narrowest_gap(slots),
        }  # fmt: skip
        for name, reading in readings.items():
            truth = gap if name in ("gap", "web") else width
            if reading is None or abs(reading.value - truth) > 0.01:
                found.append(f"{name} {truth:.3f} of {width:.3f} and {gap:.3f}: {reading and reading.value}")
    return found


def test_lines_close_together_are_parted():
    assert wrong(40, 5) == []


@pytest.mark.slow
def test_a_thousand_close_lines_are_parted():
    assert len(wrong(1000, 17)) <= 8  # of four thousand readings
