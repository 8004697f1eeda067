"""Where two colours of a bitmap blend into what looks like a third ink there is no line and no speck of that.

The pictures are drawn eight times as large and reduced, as drawing programs smooth their edges.
"""

import io

import numpy as np
import pytest
from PIL import Image, ImageDraw

from preflight.load import load
from preflight.measure import strokes
from preflight.order import Order

BLACK, BLUE, PALE, WHITE = "#000000", "#2070d0", "#90b8e8", "#ffffff"  # pale is the mean of blue and white
MORE = 8
PPI = 300


def art_of(draw, **save):
    """300 x 200 pixels at 300 ppi; `draw` gets a pen that draws in whole pixels of the reduced picture or parts of one."""
    picture = Image.new("RGB", (300 * MORE, 200 * MORE), WHITE)
    pen = ImageDraw.Draw(picture)

    def shape(kind, box, colour):
        getattr(pen, kind)([MORE * v for v in box], fill=colour)

    shape("rectangle", (20, 130, 120, 190), PALE)
    draw(shape)
    file = io.BytesIO()
    picture.resize((300, 200), Image.Resampling.BOX).save(
        file, **({"format": "PNG", "dpi": (PPI, PPI)} | save)
    )
    return load(file.getvalue(), Order())


def thin(art):
    found = [*strokes.lines(art, Order(), up_to=0.3), *strokes.specks(art, Order(), up_to=0.3)]
    return sorted(one.value for one in found if one.value is not None and one.value < 0.3)


@pytest.mark.parametrize("seed", [2, 8, 11, 24])
def test_the_edge_of_blue_on_white_beside_black_is_no_pale_blue(seed):
    """Discs that all but touch the edge from inside leave a pixel of it here and there, half blue and half white."""
    random = np.random.default_rng(seed)

    def draw(shape):
        top, bottom = 20 + random.uniform(), 100 + random.uniform()
        shape("rectangle", (20, top, 280, bottom), BLUE)
        for x in range(30, 240, 45):
            left, high, past = x + random.uniform(), random.uniform(26, 32), random.uniform(0, 1.5, 2)
            shape("ellipse", (left, top - past[0], left + 30, top + high), BLACK)
            shape("ellipse", (left, bottom - high, left + 30, bottom + past[1]), BLACK)

    art = art_of(draw)
    assert len(art.inks) == 3
    assert thin(art) == []


@pytest.mark.parametrize("wide", [1.6, 2.5])
def test_a_thin_pale_line_on_white_or_on_blue_is_a_line(wide):
    def draw(shape):
        shape("rectangle", (20, 20, 140, 100), BLUE)
        shape("rectangle", (60, 50, 100, 50 + wide), PALE)

    assert thin(art_of(draw)) == pytest.approx([wide * 25.4 / PPI], abs=0.5 * 25.4 / PPI)


def test_a_small_pale_dot_on_white_is_a_speck():
    def draw(shape):
        shape("rectangle", (20, 20, 140, 100), BLUE)
        shape("rectangle", (200, 50, 202, 52), PALE)

    assert thin(art_of(draw))


@pytest.mark.parametrize("quality", [60, 80, 92])
@pytest.mark.parametrize("off", [0.3, 0.8])
def test_what_jpeg_leaves_along_the_edge_of_dark_red_on_black_is_no_light_red(quality, off):
    """Colour is kept at half the resolution of lightness (ITU-T T.81), so black pixels take red from their neighbours."""

    def draw(shape):
        shape("rectangle", (140, 20, 290, 190), BLACK)
        shape("rectangle", (160 + off, 41 + off, 270, 90), "#d22f26")
        shape("rectangle", (160 + off, 131 + off, 271, 170), "#ea5a47")
        shape("ellipse", (20, 20, 100, 100), "#d22f26")

    art = art_of(draw, format="JPEG", quality=quality, subsampling=2)
    assert len(art.inks) == 4
    assert thin(art) == []
