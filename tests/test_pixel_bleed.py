"""Small drawings badly compressed: what bleeds round their shapes is no ink, and what is drawn small is one.

JPEG keeps colour at half the resolution of lightness (ITU-T T.81, T.871); the truth is what was drawn.
"""

import io
import json

import cv2
import numpy as np
import pytest
from PIL import Image

from preflight.colour import rgb_of
from preflight.pixels import analyse
from preflight.pixels.lab import difference, lab_of_colours
from test_cli import ROOT, preflight

WHITE, SAND, RED, TIDE, SLATE, OCHRE, GREEN = (
    (255, 255, 255), (226, 201, 150), (200, 56, 46), (44, 122, 158), (44, 58, 71), (217, 152, 47), (60, 140, 70),
)  # fmt: skip
FINE = 8


def sent(
    painted: list, width: int, height: int, paper: tuple, quality: int, form: str = "JPEG"
) -> np.ndarray:
    """Words, rings and panels drawn 8 times finer, reduced, and compressed: uint8 (h, w, 3)."""
    big = np.full((height * FINE, width * FINE, 3), paper, np.uint8)
    for draw, colour in painted:
        draw(big, colour)
    small = cv2.resize(big, (width, height), interpolation=cv2.INTER_AREA)
    out = io.BytesIO()
    Image.fromarray(small).save(out, form, quality=quality)
    return np.asarray(Image.open(out).convert("RGB"))


def words(text: str, x: float, y: float, scale: float, thick: float):
    """Lettering with its base line at y, pixels of the reduced picture."""

    def draw(big, colour):
        at = (round(x * FINE), round(y * FINE))
        cv2.putText(big, text, at, cv2.FONT_HERSHEY_SIMPLEX, scale * FINE, colour, round(thick * FINE))

    return draw


def panel(x0: float, y0: float, x1: float, y1: float):
    def draw(big, colour):
        big[round(y0 * FINE) : round(y1 * FINE), round(x0 * FINE) : round(x1 * FINE)] = colour

    return draw


def ring(x: float, y: float, radius: float, thick: float):
    def draw(big, colour):
        cv2.circle(big, (round(x * FINE), round(y * FINE)), round(radius * FINE), colour, round(thick * FINE))

    return draw


def logo(ink: tuple, other: tuple) -> list:
    return [
        (panel(0, 84, 260, 110), other),
        (ring(35, 42, 26, 6), other),
        (ring(35, 42, 14, 5), ink),
        (words("TIDE FAIR", 72, 42, 1.0, 4), ink),
        (words("by the marsh", 76, 70, 0.7, 2.5), ink),
    ]


@pytest.mark.parametrize("quality", [60, 75, 90])
@pytest.mark.parametrize(
    "paper, ink, other", [(WHITE, TIDE, RED), (WHITE, TIDE, OCHRE), (SAND, SLATE, RED), (WHITE, RED, SLATE)]
)
def test_what_bleeds_is_no_ink(paper, ink, other, quality):
    rgb = sent(logo(ink, other), 260, 110, paper, quality)
    tone = analyse(rgb, lossy=True, quality=float(quality))
    assert not tone.fades
    assert len(tone.inks) == 3, [one.hex for one in tone.inks]
    drawn = lab_of_colours(np.array([paper, ink, other], np.float32))
    found = lab_of_colours(np.array([rgb_of(one.hex) for one in tone.inks], np.float32))
    assert (difference(drawn[:, None], found[None]).min(1) < 8).all()


@pytest.mark.parametrize("form, quality", [("JPEG", 60), ("JPEG", 85), ("WEBP", 75)])
def test_an_ink_as_light_as_another_and_between_two_is_one(form, quality):
    """A dull green as light as a grey and a strong green, with a body of its own beside both: three inks on white."""
    grey, dull, green = (128, 128, 128), (92, 137, 92), (0, 147, 42)
    art = [(panel(20, 20, 80, 90), grey), (panel(80, 20, 110, 90), dull), (panel(110, 20, 200, 90), green)]
    lab = lab_of_colours(np.array([grey, dull, green], np.float32))
    assert np.ptp(lab[:, 0]) < 4  # all as light: nothing but the colour tells them apart
    rgb = sent(art, 260, 110, WHITE, quality, form)
    tone = analyse(rgb, lossy=True, quality=float(quality) if form == "JPEG" else None)
    assert len(tone.inks) == 4


def test_the_web_banner_has_the_six_inks_it_was_drawn_in():
    """Through the command: 340 x 150 pixels at quality 38; sand, tide, marsh, red, ochre and slate."""
    path = ROOT / "sample_art" / "inbox" / "web-banner-72ppi.jpg"
    done = preflight("check", path, "--method", "heat-transfer", "--width", "120", "--format", "json")
    assert len(json.loads(done.stdout)[0]["colours"]) == 6


@pytest.mark.parametrize("quality", [60, 75, 90])
def test_a_small_drawing_on_a_pale_ground_is_no_photograph(quality):
    """White words on sand: the steps at their edges are as small as grain, but five inks hold nearly all of it."""
    art = [
        (panel(0, 66, 200, 88), TIDE),
        (ring(28, 30, 18, 6), SLATE),
        (ring(28, 30, 8, 4), RED),
        (words("SALTMARSH", 58, 32, 0.75, 3.4), WHITE),
        (words("KITE FAIR", 62, 58, 0.8, 3.4), WHITE),
    ]
    tone = analyse(sent(art, 200, 88, SAND, quality), lossy=True, quality=float(quality))
    assert not tone.fades
    assert not tone.continuous
    assert len(tone.inks) == 5


@pytest.mark.parametrize(
    "ink, other, quality",
    [(RED, TIDE, 50), (TIDE, RED, 60), (GREEN, SLATE, 50), (GREEN, SLATE, 75), (SLATE, OCHRE, 60)],
)
def test_words_that_have_lost_some_of_their_colour_are_no_second_ink(ink, other, quality):
    """A disc and small words of one ink: halved colour leaves the words paler than the disc, and their edges a mixture."""
    art = [
        (panel(0, 84, 260, 110), other),
        (ring(35, 42, 26, 6), other),
        (ring(35, 42, 6, 12), ink),
        (words("TIDE FAIR", 72, 42, 1.0, 3.4), ink),
        (words("by the marsh", 76, 70, 0.7, 2.5), ink),
    ]
    tone = analyse(sent(art, 260, 110, WHITE, quality), lossy=True, quality=float(quality))
    assert len(tone.inks) == 3, [one.hex for one in tone.inks]


@pytest.mark.parametrize(
    "ink, part, quality", [(TIDE, 0.4, 50), (RED, 0.55, 60), (SLATE, 0.4, 75), (GREEN, 0.55, 50)]
)
def test_a_tint_of_an_ink_is_an_ink(ink, part, quality):
    """As a mixture of its ink and the sheet a tint looks like their edge; but it has places of its own."""
    tint = tuple(round(255 + part * (c - 255)) for c in ink)
    art = [
        (panel(0, 90, 260, 110), ink),
        (ring(35, 42, 26, 8), tint),
        (ring(35, 42, 6, 12), ink),
        (words("TIDE", 90, 62, 1.8, 7), tint),
    ]
    tone = analyse(sent(art, 260, 110, WHITE, quality), lossy=True, quality=float(quality))
    assert len(tone.inks) == 3, [one.hex for one in tone.inks]
