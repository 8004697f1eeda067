"""Flat art that compression makes look like tone, and tone that looks like flat art; the truth is how each was drawn.

JPEG keeps lightness in steps of 16 * 50 / quality and colour at half its resolution (ITU-T T.81, annex K and A.1.1).
"""

import math

import cv2
import numpy as np
import pytest
import skimage.data

import tone_art
from preflight.pixels import Tone, analyse

FINE = 3


def sent(art: np.ndarray, quality: int) -> Tone:
    return analyse(tone_art.compressed(art, "jpeg", quality), lossy=True, quality=quality)


def hatched(ink: tuple, ground: tuple, step: float, degrees: float, part: float = 0.45) -> np.ndarray:
    """A rounded panel hatched in lines of the ground that take part of each step (pixels), anti-aliased: uint8 (560, 640, 3)."""
    y, x = np.mgrid[0 : 560 * FINE, 0 : 640 * FINE] / FINE
    along = x * math.cos(math.radians(degrees)) + y * math.sin(math.radians(degrees))
    lines = along % step >= part * step
    shape = np.zeros(lines.shape, np.uint8)
    cv2.rectangle(shape, (200 * FINE, 160 * FINE), (340 * FINE, 350 * FINE), 255, 30 * FINE)
    cv2.rectangle(shape, (200 * FINE, 160 * FINE), (340 * FINE, 350 * FINE), 255, -1)
    cover = cv2.resize((lines & (shape > 0)).astype(np.float32), (640, 560), interpolation=cv2.INTER_AREA)
    return np.rint(np.array(ground) * (1 - cover[..., None]) + np.array(ink) * cover[..., None]).astype(
        np.uint8
    )


@pytest.mark.parametrize("step, degrees, quality", [(3.4, -35, 50), (3.4, -35, 60)])
@pytest.mark.parametrize("ink, ground", [((141, 75, 18), (144, 22, 54)), ((190, 20, 200), (0, 0, 0))])
def test_hatching_in_inks_nearly_as_light_as_each_other_is_no_photograph(ink, ground, step, degrees, quality):
    assert not sent(hatched(ink, ground, step, degrees), quality).fades


def beside(art: np.ndarray, ink: tuple) -> np.ndarray:
    """The art with a disc in another ink, or the same."""
    return cv2.circle(art.copy(), (480, 250), 90, ink, -1, cv2.LINE_AA)


@pytest.mark.parametrize(
    "ink, ground, solid, step, degrees, quality",
    [
        ((192, 226, 235), (255, 255, 255), (156, 22, 24), 4.5, -35, 50),  # too pale to be strange
        ((213, 27, 87), (255, 255, 255), (117, 25, 24), 3.4, -35, 75),  # nearly the other's edge on white
        ((66, 229, 122), (255, 255, 255), (29, 19, 223), 3.4, -35, 50),  # lines and gaps seem two
        ((84, 87, 255), (0, 0, 0), (255, 255, 255), 6.5, 90, 50),
    ],
)
def test_hatching_is_in_one_ink_of_its_own(ink, ground, solid, step, degrees, quality):
    tone = sent(beside(hatched(ink, ground, step, degrees), solid), quality)
    assert not tone.fades and len(tone.inks) == 3


@pytest.mark.parametrize(
    "ink, step, quality", [((156, 22, 24), 3.4, 60), ((90, 90, 90), 6.5, 75), ((66, 229, 122), 6.5, 75)]
)
def test_hatching_in_an_ink_that_is_solid_elsewhere_is_no_other_ink(ink, step, quality):
    art = beside(hatched(ink, (255, 255, 255), step, -35), ink)
    assert len(sent(art, quality).inks) == 2


def arrows(ink: tuple, ground: tuple, thick: float) -> np.ndarray:
    """Two arrows of thin strokes beside a panel: uint8 (320, 420, 3)."""
    big = np.full((320 * FINE, 420 * FINE, 3), ground, np.uint8)
    for x, y, way in ((110, 120, 1), (160, 150, -1)):
        tip = (x * FINE, (y - 20 * way) * FINE)
        for dx, dy in ((0, 40 * way), (-18, 18 * way), (18, 18 * way)):
            end = (tip[0] + dx * FINE, tip[1] + dy * FINE)
            cv2.line(big, tip, end, ink, round(thick * FINE), cv2.LINE_AA)
    cv2.rectangle(big, (260 * FINE, 40 * FINE), (380 * FINE, 280 * FINE), (2, 143, 186), -1)
    return cv2.resize(big, (420, 320), interpolation=cv2.INTER_AREA)


@pytest.mark.parametrize("thick", [6, 7.5])
@pytest.mark.parametrize("ink, ground", [((90, 90, 90), (255, 60, 40)), ((73, 73, 73), (33, 243, 144))])
def test_thin_strokes_whose_colour_is_lost_are_one_ink(ink, ground, thick):
    """Their lightness is even where colour is not."""
    tone = sent(arrows(ink, ground, thick), 50)
    assert not tone.fades and len(tone.inks) == 3


@pytest.mark.parametrize("angle, quality", [(8, 75), (20, 75)])
def test_bricks_as_light_as_their_ground_do_not_fade(angle, quality):
    """Grey on pink of the same lightness: every edge is of colour alone, and as coarse as that is stored."""
    y, x = np.mgrid[0 : 560 * FINE, 0 : 640 * FINE] / FINE
    turn = math.radians(angle)
    u, v = x * math.cos(turn) + y * math.sin(turn), y * math.cos(turn) - x * math.sin(turn)
    row = np.floor(v / 20)
    joint = (v % 20 < 3.5) | ((u + 33 * (row % 2)) % 66 < 3.5)
    shape = np.hypot(x - 180, y - 180) < 90
    shape |= (np.abs(np.hypot(x - 430, y - 300) - 110) < 14) & (x > 430)
    cover = cv2.resize((shape & ~joint).astype(np.float32), (640, 560), interpolation=cv2.INTER_AREA)[
        ..., None
    ]
    art = np.rint(np.array((239, 98, 181)) * (1 - cover) + np.array((145, 145, 145)) * cover)
    assert not sent(art.astype(np.uint8), quality).fades


@pytest.mark.parametrize("name, quality", [("gravel", 50), ("grass", 60), ("chelsea", 50), ("grass", 75)])
def test_a_photograph_placed_in_flat_art_is_still_one(name, quality):
    """Photographs that come with scikit-image, between shapes in two inks."""
    picture = getattr(skimage.data, name)()
    picture = np.dstack([picture] * 3) if picture.ndim == 2 else picture
    art = np.full((480, 640, 3), 255, np.uint8)
    cv2.circle(art, (160, 200), 90, (200, 56, 46), -1, cv2.LINE_AA)
    cv2.rectangle(art, (60, 360), (580, 440), (44, 122, 158), -1)
    art[40:300, 330:610] = picture[10:270, 20:300]
    assert any(fade.kind == "photograph" for fade in sent(art, quality).fades)
