"""Pixels that compression tints beside a tip or in a ripple are no dots of another ink; dots that were drawn stay dots."""

import io

import cv2
import numpy as np
import pytest
from PIL import Image

from preflight.colour import rgb_of
from preflight.load import load
from preflight.measure import strokes
from preflight.order import Order

OCHRE, RED, SLATE = (217, 152, 47), (200, 56, 46), (44, 58, 71)
FINE, PPI = 16, 300
PIXEL = 25.4 / PPI


def art_of(form: str, quality: int, dots: tuple[float, ...] = ()):
    """Narrow tips of ochre and slate beside a red panel, and red dots of so many pixels, on white: 300 x 260 pixels."""
    big = np.full((260 * FINE, 300 * FINE, 3), 255, np.uint8)

    def polygon(points, colour):
        cv2.fillPoly(big, [np.rint(np.array(points) * FINE).astype(np.int32)], colour)

    polygon([(20, 20), (80, 22), (52.3, 120.7)], OCHRE)
    polygon([(100, 20), (160, 22), (141.6, 121.2)], SLATE)
    polygon([(180, 20), (280, 20), (280, 120), (180, 120)], RED)
    polygon([(20, 150), (120, 139), (20, 175)], OCHRE)
    polygon([(20, 190), (131, 201), (20, 215)], RED)
    for number, size in enumerate(dots):
        at = (round((170.4 + 25 * number) * FINE), round(190.6 * FINE))
        cv2.circle(big, at, round(size * FINE / 2), RED, -1)
    out = io.BytesIO()
    small = cv2.resize(big, (300, 260), interpolation=cv2.INTER_AREA)
    Image.fromarray(small).save(out, form, quality=quality, dpi=(PPI, PPI))
    return load(out.getvalue(), Order())


@pytest.mark.parametrize(
    "form, quality", [("JPEG", 60), ("JPEG", 75), ("JPEG", 90), ("WEBP", 75), ("AVIF", 60)]
)
def test_the_tips_of_a_compressed_drawing_leave_no_specks(form, quality):
    art = art_of(form, quality)
    assert len(art.inks) == 3
    pixel = 25.4 / art.plate_ppi
    assert not [(one.value / pixel, one.facts) for one in strokes.specks(art, Order(), up_to=6 * pixel)]


@pytest.mark.parametrize("form, quality", [("JPEG", 75), ("JPEG", 90), ("WEBP", 75)])
def test_dots_that_were_drawn_are_found(form, quality):
    """Discs of 4, 5 and 7 pixels; error at most half a pixel."""
    dots = (4.0, 5.0, 7.0)
    art = art_of(form, quality, dots)
    pixel = 25.4 / art.plate_ppi
    found = sorted(one.value / pixel for one in strokes.specks(art, Order(), up_to=9 * pixel))
    assert found == pytest.approx(dots, abs=0.5)


SAND, MARSH = (226, 201, 150), (44, 84, 64)


def words_of(quality: int, size: float):
    """Dark green words on sand, slate as dark as they below, and slate dots of some pixels beside a green panel: 300 x 220."""
    big = np.full((220 * FINE, 300 * FINE, 3), SAND, np.uint8)
    for text, y in (("SALT", 50), ("MARSH", 95)):
        cv2.putText(big, text, (20 * FINE, y * FINE), cv2.FONT_HERSHEY_SIMPLEX, 1.3 * FINE, MARSH, 5 * FINE)
    cv2.rectangle(big, (20 * FINE, 130 * FINE), (120 * FINE, 200 * FINE), MARSH, -1)
    cv2.rectangle(big, (200 * FINE, 130 * FINE), (280 * FINE, 200 * FINE), SLATE, -1)
    for number in range(4):
        at = (round(139.4 * FINE), round((139.6 + 17 * number) * FINE))
        cv2.circle(big, at, round(size * FINE / 2), SLATE, -1)
    out = io.BytesIO()
    small = cv2.resize(big, (300, 220), interpolation=cv2.INTER_AREA)
    Image.fromarray(small).save(out, "JPEG", quality=quality, dpi=(PPI, PPI))
    return load(out.getvalue(), Order())


@pytest.mark.parametrize("quality, size", [(38, 9.0), (50, 5.0), (65, 7.0)])
def test_the_dark_rims_of_letters_are_no_lines_of_another_dark_ink(quality, size):
    """Inks 36 apart in sRGB, edges of more than 150: a JPEG disturbs the one past the other.  The dots stay dots."""
    art = words_of(quality, size)
    assert len(art.inks) == 3
    slate = min(
        art.inks, key=lambda ink: sum(abs(a - b) for a, b in zip(rgb_of(ink.hex), SLATE, strict=True))
    )
    cover = art.coverage(slate.number, (0, 0, 300 * PIXEL, 110 * PIXEL), 1 / PIXEL)
    assert not (np.asarray(cover) > 127).any()
    below = art.coverage(slate.number, (128 * PIXEL, 125 * PIXEL, 152 * PIXEL, 205 * PIXEL), 1 / PIXEL)
    count, _ = cv2.connectedComponents((np.asarray(below) > 127).astype(np.uint8))
    assert count - 1 == 4
