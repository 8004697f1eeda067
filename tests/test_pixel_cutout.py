"""A drawing cut out of its white sheet by a hard edge: the rim keeps a mixture with white, which is none of the other inks."""

import io

import numpy as np
import pytest
from PIL import Image, ImageDraw

from preflight.load import load
from preflight.measure import strokes
from preflight.order import Order

NAVY, RED = (31, 58, 110), (200, 64, 46)
FINE, SIDE = 8, 400


def cut_out(ppi=300):
    """A navy disc and a red bar drawn 8 times finer and reduced; what is wholly white is made see-through."""
    big = Image.new("RGB", (SIDE * FINE, SIDE * FINE), "white")
    pen = ImageDraw.Draw(big)
    pen.ellipse([400, 400, 2000, 2000], fill=NAVY)
    pen.polygon([(2203, 300), (2907, 300), (2857, 2900), (2153, 2900)], fill=RED)
    rgb = np.asarray(big.reduce(FINE))
    alpha = np.where((rgb == 255).all(2), 0, 255).astype(np.uint8)
    out = io.BytesIO()
    Image.fromarray(np.dstack([rgb, alpha])).save(out, "PNG", dpi=(ppi, ppi))
    return out.getvalue()


@pytest.mark.parametrize("ground", ["#ffffff", "#1a1a1a"])
def test_the_rim_is_shared_with_the_sheet_and_not_with_another_ink(ground):
    art = load(cut_out(), Order(ground=ground))
    box = (0, 0, art.width_mm, art.height_mm)
    pixel = 25.4 / art.plate_ppi
    areas = {}
    for ink in art.inks:
        cover = art.coverage(ink.number, box, 1 / pixel)
        areas[ink.hex] = float(cover.sum()) / 255
    assert set(areas) == {"#1f3a6e", "#c8402e"}
    # closed forms, in pixels
    assert areas["#1f3a6e"] == pytest.approx(np.pi * 100**2, rel=0.005)
    assert areas["#c8402e"] == pytest.approx(88 * 325, rel=0.005)
    assert not list(strokes.specks(art, Order(ground=ground), up_to=0.4))
    assert not [one for one in strokes.lines(art, Order(ground=ground), up_to=0.4) if one.value < 0.4]
