"""Edges of bitmaps are shared between the inks that meet there, and never given to a third one that only looks alike.

A dark blue, a lighter blue and white: the grey-blue between dark blue and white resembles the lighter blue, and where a poor JPEG
overshoots, the edge of the lighter blue against white resembles the dark one.  Art like this is common practice.
"""

import io

import cv2
import numpy as np
import pytest
from PIL import Image, ImageDraw, ImageFont

from boards.shapes import installed_fonts
from preflight.load import load
from preflight.measure import strokes
from preflight.order import order_from

NAVY, TEAL = (30, 43, 77), (44, 122, 158)
ORDER = order_from({"method": "screen-print", "width": "90"})


def logo(width: int) -> Image.Image:
    """A slanted flag over a word, drawn four times as large and reduced, so that its edges are soft."""
    k = 4 * width / 100
    picture = Image.new("RGB", (round(100 * k), round(50 * k)), "white")
    pen = ImageDraw.Draw(picture)
    pen.polygon([(4 * k, 20 * k), (52 * k, 3 * k), (94 * k, 17 * k), (40 * k, 29 * k)], fill=TEAL)
    pen.text(
        (5 * k, 31 * k),
        "Saltmarsh",
        fill=NAVY,
        font=ImageFont.truetype(str(installed_fonts()["DejaVuSans"]), 15 * k),
    )
    small = cv2.resize(np.array(picture), None, fx=0.25, fy=0.25, interpolation=cv2.INTER_AREA)
    return Image.fromarray(small)


def specks(data: bytes) -> list[str]:
    art = load(data, ORDER)
    assert len(art.inks) == 2
    return [f"{r.what}: {r.value:.3f} at {r.where}" for r in strokes.specks(art, ORDER, up_to=0.35)]


@pytest.mark.parametrize("width", [260, 420])
def test_a_small_picture_has_no_specks_of_another_ink(width):
    out = io.BytesIO()
    logo(width).save(out, "PNG", dpi=(118, 118))
    assert specks(out.getvalue()) == []


@pytest.mark.parametrize("quality", [55, 70, 85])
def test_a_poor_jpeg_has_no_specks_of_another_ink(quality):
    out = io.BytesIO()
    logo(1000).save(out, "JPEG", quality=quality, subsampling=2, dpi=(283, 283))
    assert specks(out.getvalue()) == []
