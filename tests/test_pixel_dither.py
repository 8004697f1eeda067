"""Art turned into a small palette by dithering: named as dots, with the inks that the eye mixes from them.

The truth is the art as it was drawn, before it was dithered.
"""

import json
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner
from PIL import Image

import tone_art
from preflight import pixels
from preflight.cli import cli
from preflight.pixels import analyse, dither

LEVELS = (0, 51, 102, 153, 204, 255)
#: The 216 colours that web browsers once agreed on: six levels of each component (common practice).
WEB = [(r, g, b) for r in LEVELS for g in LEVELS for b in LEVELS]
#: The 8 and the 16 colours of display systems (CSS 2.1 names the 16).
EIGHT = [(r, g, b) for r in (0, 255) for g in (0, 255) for b in (0, 255)]
SIXTEEN = [
    (0, 0, 0), (128, 0, 0), (0, 128, 0), (128, 128, 0), (0, 0, 128), (128, 0, 128), (0, 128, 128), (192, 192, 192),
    (128, 128, 128), (255, 0, 0), (0, 255, 0), (255, 255, 0), (0, 0, 255), (255, 0, 255), (0, 255, 255), (255, 255, 255),
]  # fmt: skip


def diffused(rgb: np.ndarray, palette: list[tuple[int, int, int]]) -> np.ndarray:
    """By Pillow's error diffusion (R. Floyd and L. Steinberg, 1976)."""
    table = Image.new("P", (1, 1))
    flat = [component for colour in palette for component in colour]
    table.putpalette(flat + flat[:3] * (256 - len(palette)))
    made = Image.fromarray(rgb).quantize(palette=table, dither=Image.Dither.FLOYDSTEINBERG)
    return np.array(made.convert("RGB"))


def ordered(rgb: np.ndarray, levels: int) -> np.ndarray:
    """By an 8 x 8 threshold matrix (B. Bayer, 1973) in each component."""
    matrix = np.array([[0]])
    while len(matrix) < 8:
        matrix = np.block([[4 * matrix, 4 * matrix + 2], [4 * matrix + 3, 4 * matrix + 1]])
    height, width = rgb.shape[:2]
    threshold = np.tile((matrix + 0.5) / 64, (height // 8 + 1, width // 8 + 1))[:height, :width, None]
    step = 255 / (levels - 1)
    return np.rint(np.clip(np.floor(rgb / step + threshold), 0, levels - 1) * step).astype(np.uint8)


def drawn(number: int) -> tuple[np.ndarray, int]:
    """Flat art of 3 to 5 colours, and how many."""
    count = 3 + number % 3
    rgb, colours = tone_art.flat_art(np.random.default_rng([4711, number]), 760, count, 1, None)
    return rgb, len(colours)


@pytest.mark.parametrize("number", range(4))
@pytest.mark.parametrize("how", ["web", "eight", "sixteen", "web ordered", "eight ordered"])
def test_dithered_flat_art_is_dots_and_keeps_its_inks(number, how):
    rgb, count = drawn(number)
    words = how.split()
    if words[-1] == "ordered":
        sent = ordered(rgb, 6 if words[0] == "web" else 2)
    else:
        sent = diffused(rgb, {"web": WEB, "eight": EIGHT, "sixteen": SIXTEEN}[how])
    tone = analyse(sent)
    assert [fade.kind for fade in tone.fades] == ["halftone"] and tone.dithered
    assert len(tone.inks) == count and tone.enlargement == 1 and not tone.continuous


@pytest.mark.parametrize("how", ["diffused", "ordered"])
def test_grey_in_black_and_white_is_one_ink_in_dots(how):
    """Its coverage is the mean: what is printed is as much ink as there are black pixels."""
    art = np.full((600, 800), 255, np.uint8)
    art[100:500, 100:400] = 150
    art[100:500, 500:700] = 60
    rgb = np.repeat(art[..., None], 3, 2)
    sent = ordered(rgb, 2) if how == "ordered" else np.array(Image.fromarray(art).convert("1").convert("RGB"))
    tone = analyse(sent, bilevel=True)
    assert [fade.kind for fade in tone.fades] == ["halftone"]
    assert sorted(ink.hex for ink in tone.inks) == ["#000000", "#ffffff"]
    black = next(number for number, ink in enumerate(tone.inks) if ink.hex == "#000000")
    cover = pixels.plates(sent, None, tone.inks, dithered=tone.dithered)[black]
    assert cover.mean() / 255 == pytest.approx(float(np.mean(sent == 0)), rel=0.01)
    assert cover[150:450, 150:350].mean() / 255 == pytest.approx(1 - 150 / 255, abs=0.02)
    assert np.ptp(cover[150:450, 150:350]) < 100  # no dots are left to be measured


@pytest.mark.parametrize("number", range(3))
def test_a_small_palette_alone_is_no_dither(number):
    rgb, _ = drawn(number)
    for palette in (WEB, SIXTEEN):
        image = Image.fromarray(rgb)
        table = Image.new("P", (1, 1))
        table.putpalette([c for colour in palette for c in colour] + [0] * 3 * (256 - len(palette)))
        assert dither.dither(np.array(image.quantize(palette=table, dither=0).convert("RGB"))) is None
    assert dither.dither(rgb) is None


def test_hairlines_and_hatching_without_greys_are_no_dither():
    art = np.full((400, 600, 3), 255, np.uint8)
    art[50:350:4, 50:250] = 0  # lines a pixel wide
    down, across = np.mgrid[0:300, 0:250]
    art[50:350, 300:550][(down + across) % 3 < 1] = (200, 30, 40)  # aslant
    assert dither.dither(art) is None


def test_a_dithered_photograph_is_a_picture_in_dots():
    import skimage.data

    tone = analyse(diffused(skimage.data.astronaut(), EIGHT))
    assert [fade.kind for fade in tone.fades] == ["halftone"] and tone.continuous


def test_a_dithered_web_logo_through_the_command(tmp_path: Path):
    """The report counts the inks as they were drawn, and calls the dots by their name."""
    art = np.full((500, 700, 3), 255, np.uint8)
    art[80:420, 60:340] = (198, 90, 70)
    art[80:420, 380:640] = (30, 70, 120)
    file = tmp_path / "kite-fair.gif"
    Image.fromarray(diffused(art, WEB)).quantize(216, dither=0).save(file)
    result = CliRunner().invoke(
        cli, ["check", str(file), "--method", "screen-print", "--width", "90", "--format", "json"]
    )
    (report,) = json.loads(result.stdout)
    assert {colour["hex"] for colour in report["colours"]} == {"#c65a46", "#1e4678"}
    assert any("halftone" in finding["rule"] for finding in report["findings"])
