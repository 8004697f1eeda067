"""Inks of thin lines after a scanner's blur: one ink, however thin its lines are.  The truth is how they were drawn."""

import cv2
import numpy as np
import pytest

import tone_art
import tone_set
from preflight.pixels import analyse


def lines(shades: dict[int, tuple[int, int, int]], ground=(255, 255, 255)) -> np.ndarray:
    """Rings and bars of several widths (pixels), each in its colour, anti-aliased."""
    art = np.full((600, 800, 3), ground, np.float64)
    for number, (width, shade) in enumerate(shades.items()):
        for k in range(4):
            cover = np.zeros((2400, 3200), np.uint8)
            x, y = 400 + 800 * k, 400 + 1500 * number // max(1, len(shades) - 1)
            cv2.circle(cover, (x, y), 260, 255, width)
            cv2.line(cover, (x - 180, y), (x + 180, y), 255, width)
            part = cv2.resize(cover, (800, 600), interpolation=cv2.INTER_AREA)[..., None] / 255
            art = art * (1 - part) + np.array(shade) * part
    return np.rint(art).astype(np.uint8)


@pytest.mark.parametrize("number", [383, 384])
def test_scanned_lines_of_one_ink_and_several_widths_are_one(number):
    """Two scans of the labelled set: strokes of 1.3 to 3.2 pixels."""
    kind, treatment = tone_set.plan()[number]
    sample = tone_set.drawn(1, number, kind, treatment)
    tone = analyse(sample.rgb, lossy=True)
    assert (kind, treatment) == ("thin", "scan alone") and len(tone.inks) == 2 and not tone.fades


@pytest.mark.parametrize("quality", [None, 85])
def test_grey_lines_beside_black_ones_are_an_ink(quality):
    """Drawn, not scanned: a grey line is no black one that was blurred."""
    art = lines({16: (140, 140, 140), 17: (0, 0, 0)})
    sent = art if quality is None else tone_art.compressed(art, "jpeg", quality)
    assert len(analyse(sent, lossy=quality is not None, quality=quality).inks) == 3


@pytest.mark.parametrize("quality", [60, 80])
@pytest.mark.parametrize(
    ("ground", "shade"), [((45, 250, 193), (48, 16, 208)), ((229, 208, 71), (90, 60, 170))]
)
def test_what_a_jpeg_smears_beside_thin_lines_is_no_ink(ground, shade, quality):
    """JPEG stores colour at half the resolution of lightness (ITU-T T.81 allows it, 4:2:0 is usual): one ink is left one."""
    art = lines({6: shade, 9: shade}, ground)
    tone = analyse(tone_art.compressed(art, "jpeg", quality), lossy=True, quality=quality)
    assert len(tone.inks) == 2 and not tone.fades
