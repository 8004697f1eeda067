"""Where a corner comes near an edge in a bitmap: a neck shorter than it is wide is no gap, as the arm of a K beside its stem."""

import io
import math

import cv2
import numpy as np
import pytest
from PIL import Image

from preflight.load import load
from preflight.measure import gaps, strokes
from preflight.order import Order

FINE, PPI = 16, 600
PIXEL = 25.4 / PPI


def art_of(corners: list[list[tuple[float, float]]], turn: float, inked: bool = True):
    """Polygons in pixels round the middle of a 240 pixel sheet, turned, drawn 16 times finer and reduced; or white on black."""
    big = np.full((240 * FINE, 240 * FINE), 255 if inked else 0, np.uint8)
    c, s = math.cos(math.radians(turn)), math.sin(math.radians(turn))
    for points in corners:
        turned = [((c * x - s * y + 120.3) * FINE, (s * x + c * y + 119.6) * FINE) for x, y in points]
        cv2.fillPoly(big, [np.rint(turned).astype(np.int32)], 0 if inked else 255)
    out = io.BytesIO()
    Image.fromarray(cv2.resize(big, (240, 240), interpolation=cv2.INTER_AREA)).save(
        out, "PNG", dpi=(PPI, PPI)
    )
    return load(out.getvalue(), Order())


def arm(gap: float, opening: float, lean: float = 0.0) -> list[tuple[float, float]]:
    """A corner of 180 - 2 x opening degrees whose tip is `gap` pixels from the stem, leaning."""
    up, down = math.tan(math.radians(opening + lean)), math.tan(math.radians(opening - lean))
    return [(gap, 0.0), (gap + 60 * up, -60.0), (gap + 60 * up + 30, 0.0), (gap + 60 * down, 60.0)]


STEM = [(-40.0, -70.0), (0.0, -70.0), (0.0, 70.0), (-40.0, 70.0)]


@pytest.mark.parametrize("turn", [0, 13, 45, 78])
@pytest.mark.parametrize("gap", [0.7, 1.2, 2.1, 3.0])
@pytest.mark.parametrize("opening, lean", [(40, 0), (30, 8), (20, 5)])
def test_a_corner_near_an_edge_is_no_gap(gap, opening, lean, turn):
    art = art_of([STEM, arm(gap, opening, lean)], turn)
    assert not [one for one in gaps.gaps(art, Order(), up_to=0.4) if one.value < 3.5 * PIXEL]


@pytest.mark.parametrize("turn", [0, 13, 45])
@pytest.mark.parametrize("gap", [1.5, 2.1, 3.0])
def test_a_corner_near_an_edge_in_white_on_dark_is_no_line(gap, turn):
    art = art_of([STEM, arm(gap, 35)], turn, inked=False)
    assert not [one for one in strokes.lines(art, Order(), up_to=0.4) if one.value < 3.5 * PIXEL]


@pytest.mark.parametrize("turn", [0, 13, 45, 78])
@pytest.mark.parametrize("gap", [2.1, 3.0, 4.2])
@pytest.mark.parametrize("widths", [4, 6])
def test_a_slot_between_two_edges_is_a_gap_however_short(widths, gap, turn):
    """Two bars that face each other for 4 or 6 widths of the slot between them."""
    half = gap * widths / 2
    bars = [[(-30 - gap / 2, -half), (-gap / 2, -half), (-gap / 2, half), (-30 - gap / 2, half)]]
    bars += [[(-x, y) for x, y in bars[0]]]
    found = [one.value for one in gaps.gaps(art_of(bars, turn), Order(), up_to=0.4)]
    assert found
    assert min(found) == pytest.approx(gap * PIXEL, abs=PIXEL / 2)
