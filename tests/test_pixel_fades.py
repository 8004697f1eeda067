"""Fades in bitmaps that are easily missed, and flat art that is easily taken for one: the truth is how it was drawn."""

import subprocess
import sys
from pathlib import Path

import cv2
import numpy as np
import pytest
import skimage.data
from PIL import Image, ImageDraw, ImageFont

import tone_art
from eval_tone import overlap
from preflight.pixels import Tone, analyse

WHITE, RED, NAVY, GOLD = (255, 255, 255), (200, 30, 40), (29, 43, 79), (250, 215, 40)


def sheet(width: int = 800, height: int = 600, shade=WHITE) -> np.ndarray:
    return np.full((height, width, 3), shade, np.uint8)


def blended(shape: np.ndarray, near, far, under: np.ndarray) -> np.ndarray:
    """A shape (coverage 0 to 255) in a gradient from left to right of the sheet, over what is under it."""
    ramp = np.linspace(0, 1, shape.shape[1])[None, :, None]
    paint = np.array(near) * (1 - ramp) + np.array(far) * ramp
    cover = shape[..., None] / 255
    return np.rint(under * (1 - cover) + paint * cover).astype(np.uint8)


def sent(art: np.ndarray, quality: int | None) -> Tone:
    """The picture read as it was sent: without loss, or as a JPEG."""
    if quality is None:
        return analyse(art)
    return analyse(tone_art.compressed(art, "jpeg", quality), lossy=True, quality=quality)


def rings(thickness: int) -> np.ndarray:
    """Two rings and a frame, anti-aliased: coverage 0 to 255."""
    lines = np.zeros((600, 800), np.uint8)
    cv2.circle(lines, (200, 180), 110, 255, thickness, cv2.LINE_AA)
    cv2.circle(lines, (200, 180), 60, 255, thickness, cv2.LINE_AA)
    cv2.rectangle(lines, (470, 320), (690, 520), 255, thickness, cv2.LINE_AA)
    return lines


@pytest.mark.parametrize("quality", [None, 85, 50])
@pytest.mark.parametrize("far", [GOLD, (60, 90, 200)])
def test_a_gradient_along_outlines_is_found_with_its_boxes(quality, far):
    tone = sent(blended(rings(7), RED, far, sheet()), quality)
    boxes = [fade.box for fade in tone.fades]
    assert {fade.kind for fade in tone.fades} <= {"gradient", "soft edge"}
    for place in ((86, 66, 314, 294), (466, 316, 694, 524)):
        assert max((overlap(place, box) for box in boxes), default=0) > 0.7


@pytest.mark.parametrize("quality", [None, 75, 50])
@pytest.mark.parametrize("shade", [RED, (190, 230, 60)])
def test_outlines_in_one_colour_do_not_fade(quality, shade):
    tone = sent(blended(rings(7), shade, shade, sheet()), quality)
    assert not tone.fades and len(tone.inks) == 2


@pytest.mark.parametrize("quality", [50, 80])
def test_webp_of_outlines_in_one_colour_does_not_fade(quality):
    """WebP halves the resolution of colour at every quality (RFC 9649), and does not say its quality."""
    art = sheet(700, 540, (212, 196, 88))
    for k, shade in enumerate(((190, 40, 160), (60, 120, 60), (40, 90, 220))):
        cv2.circle(art, (120 + 220 * k, 150), 80, shade, 7, cv2.LINE_AA)
        cv2.rectangle(art, (50 + 220 * k, 300), (190 + 220 * k, 480), shade, 6, cv2.LINE_AA)
    tone = analyse(tone_art.compressed(art, "webp", quality), lossy=True)
    assert not tone.fades and len(tone.inks) == 4


@pytest.mark.parametrize("thickness", [6, 10])
def test_two_inks_in_one_outline_are_two(thickness):
    """The halves of a frame in two colours: a step, with nothing between them."""
    lines = rings(thickness)
    art = blended(lines, RED, RED, sheet())
    other = blended(lines, NAVY, NAVY, sheet())
    art[:, 580:] = other[:, 580:]
    for quality in (None, 75):
        tone = sent(art, quality)
        assert not tone.fades and len(tone.inks) == 3


@pytest.mark.parametrize("quality", [None, 75])
def test_a_tint_hardly_darker_than_the_sheet_has_no_soft_edge(quality):
    """At ten megapixels its edge is one small step; a craftsman prints it flat."""
    art, tint = sheet(3650, 2740), (240, 240, 240)
    cv2.circle(art, (900, 900), 400, tint, -1, cv2.LINE_AA)
    cv2.rectangle(art, (2000, 1500), (3000, 2300), NAVY, -1)
    cv2.circle(art, (3000, 600), 300, tint, 60, cv2.LINE_AA)
    assert not sent(art, quality).fades


def shadowed(mask: np.ndarray, reach: int, ink) -> np.ndarray:
    """Art in one ink that throws a soft shadow on white."""
    move = np.float32([[1, 0, reach / 2], [0, 1, reach / 2]])
    soft = cv2.warpAffine(
        cv2.GaussianBlur(mask.astype(np.float32) / 255, (0, 0), reach / 2), move, mask.shape[::-1]
    )
    art = sheet(mask.shape[1], mask.shape[0]) * (1 - 0.6 * soft[..., None])
    cover = mask[..., None] / 255
    return np.rint(art * (1 - cover) + np.array(ink) * cover).astype(np.uint8)


@pytest.mark.parametrize("quality", [None, 75])
def test_the_shadow_of_a_word_is_one_place(quality):
    mask = Image.new("L", (1000, 400))
    ImageDraw.Draw(mask).text((80, 110), "HARVEST", 255, ImageFont.load_default(size=170))
    tone = sent(shadowed(np.asarray(mask), 14, NAVY), quality)
    assert len(tone.fades) == 1
    x0, y0, x1, y1 = mask.getbbox()
    assert overlap(tone.fades[0].box, (x0, y0, x1 + 20, y1 + 20)) > 0.7


@pytest.mark.parametrize("quality", [75, 50])
def test_what_is_left_of_a_shadow_is_no_photograph(quality):
    mask = np.zeros((600, 800), np.uint8)
    for k, middle in enumerate(((150, 150), (420, 180), (660, 420), (220, 430))):
        cv2.circle(mask, middle, 60 + 12 * k, 255, -1 if k % 2 else 26, cv2.LINE_AA)
    kinds = {fade.kind for fade in sent(shadowed(mask, 24, RED), quality).fades}
    assert kinds and "photograph" not in kinds


def test_a_photograph_of_gravel_in_flat_art_is_one():
    """Its shades are all mixtures of the black, grey and white found in it (photograph of scikit-image)."""
    art = sheet(900, 700, (160, 145, 35))
    art[120:460, 300:700] = skimage.data.gravel()[:340, :400, None]
    cv2.circle(art, (150, 550), 90, NAVY, -1, cv2.LINE_AA)
    found = [fade for fade in analyse(art).fades if fade.kind == "photograph"]
    assert found and max(overlap(fade.box, (300, 120, 700, 460)) for fade in found) > 0.8


@pytest.mark.parametrize("quality", [None, 85])
def test_hatching_too_fine_for_a_flat_pixel_is_an_ink(quality):
    """Lines of half a period that never lie on whole pixels: one ink on the sheet, no photograph."""
    y, x = np.mgrid[0:700, 0:900].astype(np.float32)
    along = (x * np.cos(0.3) + y * np.sin(0.3)) / 3.6
    lines = np.clip(2 * np.cos(2 * np.pi * along) + 0.5, 0, 1)
    cover = np.zeros((700, 900), np.float32)
    cv2.circle(cover, (600, 350), 230, 1.0, -1, cv2.LINE_AA)
    cover = (cover * lines)[..., None]
    art = np.rint(sheet(900, 700) * (1 - cover) + np.array((150, 150, 150)) * cover).astype(np.uint8)
    cv2.rectangle(art, (60, 60), (260, 300), RED, -1)
    tone = sent(art, quality)
    assert "photograph" not in {fade.kind for fade in tone.fades}


def test_fine_dots_in_a_ring_are_a_halftone():
    """A ring narrower than the large tiles; its dots are told from outlines by the small ones."""
    y, x = np.mgrid[0:700, 0:900]
    spot = np.cos(2 * np.pi * (x * 0.966 + y * 0.259) / 5.5) + np.cos(
        2 * np.pi * (y * 0.966 - x * 0.259) / 5.5
    )
    ring = np.zeros((700, 900), np.uint8)
    cv2.circle(ring, (450, 350), 250, 255, 56)
    art = np.where(((spot > -0.2) & (ring > 0))[..., None], np.array(NAVY), 255).astype(np.uint8)
    (fade,) = analyse(art).fades
    assert fade.kind == "halftone" and fade.period == pytest.approx(5.5, rel=0.1)


@pytest.mark.slow
def test_the_table_of_the_labelled_set_is_one_command():
    """The whole of it takes a quarter of an hour; every sixtieth picture by two workers shows that it runs to its end."""
    script = Path(__file__).with_name("eval_tone.py")
    words = [sys.executable, str(script), "--half", "1", "--every", "60", "--workers", "2", "--failures"]
    done = subprocess.run(words, capture_output=True, text=True, timeout=500, check=False)
    assert done.returncode == 0, done.stderr
    assert "7 pictures, peak memory" in done.stdout and "boxes overlap truth by 0.7" in done.stdout


def grey_rock() -> np.ndarray:
    """A flat plain with a few dark holes (photograph of scikit-image), grey (280, 280)."""
    return np.ascontiguousarray(skimage.data.moon()[60:340, 60:340])


@pytest.mark.parametrize("quality", [50, 60, 85])
def test_a_soft_grey_photograph_in_flat_art_is_one_after_compression(quality):
    """All of its shades may be taken for inks, and compression leaves hardly a step between its pixels."""
    art = sheet(900, 560)
    art[140:420, 300:580] = grey_rock()[..., None]
    cv2.circle(art, (150, 400), 90, NAVY, -1, cv2.LINE_AA)
    cv2.rectangle(art, (640, 60), (840, 300), GOLD, -1)
    found = [fade for fade in sent(art, quality).fades if fade.kind == "photograph"]
    assert found and max(overlap(fade.box, (300, 140, 580, 420)) for fade in found) > 0.7


@pytest.mark.parametrize("sigma", [4, 10])
def test_noise_on_flat_art_is_no_photograph(sigma):
    """A scanner's noise has no mottle: the means of its cells differ no more than the size of a cell explains."""
    art = sheet(900, 700).astype(np.float32)
    cv2.circle(art, (250, 350), 160, NAVY, -1, cv2.LINE_AA)
    cv2.rectangle(art, (500, 200), (800, 500), RED, -1)
    art += np.random.default_rng(4).normal(0, sigma, art.shape)
    tone = sent(np.clip(np.rint(art), 0, 255).astype(np.uint8), 85)
    assert "photograph" not in {fade.kind for fade in tone.fades}


@pytest.mark.parametrize("quality", [50, 60, 75])
@pytest.mark.parametrize(
    ("near", "far"), [((255, 236, 255), WHITE), ((236, 255, 255), WHITE), (WHITE, (224, 190, 252))]
)
def test_a_gentle_gradient_of_the_whole_sheet_survives_compression(near, far, quality):
    """Its steps are lost in the coarse levels of a poor JPEG, whose blocks are no halftone either."""
    y, x = np.mgrid[0:600, 0:800]
    part = np.clip(np.hypot(x - 400, y - 300) / 420, 0, 1)[..., None]
    art = np.rint(np.array(near) * part + np.array(far) * (1 - part)).astype(np.uint8)
    cv2.circle(art, (200, 200), 70, NAVY, 12, cv2.LINE_AA)
    cv2.rectangle(art, (500, 380), (700, 520), RED, 10)
    assert {fade.kind for fade in sent(art, quality).fades} & {"gradient", "soft edge"}


def test_dots_of_eight_pixels_along_the_sides_are_a_halftone():
    """They repeat as the blocks of a JPEG do."""
    y, x = np.mgrid[0:640, 0:640]
    spot = np.cos(2 * np.pi * x / 8) + np.cos(2 * np.pi * y / 8)
    tone = np.linspace(-1.2, 1.2, 640)[None]
    art = np.where((spot > tone)[..., None], np.array(NAVY), 255).astype(np.uint8)
    for quality in (None, 75):
        assert {fade.kind for fade in sent(art, quality).fades} == {"halftone"}


@pytest.mark.parametrize("square", [5, 16])
def test_a_small_shadow_drawn_large_by_squares_is_no_halftone(square):
    """As renderers draw a coarse picture: each of its pixels a square."""
    y, x = np.mgrid[0:60, 0:60]
    soft = np.clip(1 - np.hypot(x - 30, y - 30) / 26, 0, 1)
    shade = np.rint(255 * (1 - 0.7 * soft)).astype(np.uint8)
    art = np.kron(shade, np.ones((square, square), np.uint8))
    kinds = {fade.kind for fade in analyse(np.dstack([art] * 3)).fades}
    assert kinds and "halftone" not in kinds
