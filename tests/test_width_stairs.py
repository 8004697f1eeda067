"""Bitmaps without greys: slanted edges laid through their stairs, and what is measured on them."""

import numpy as np
import pymupdf
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from boards.judge import Verdict, bitmap_of, judge
from boards.sheets import situations
from preflight.load import load
from preflight.measure import strokes
from preflight.order import Order
from preflight.pixels import smoothed, without_greys

SIDE, FINE = 120, 16


def half_plane(degrees: float, shift: float) -> np.ndarray:
    """Exact share of each pixel on one side of a line near the middle, from many points a pixel."""
    turn = np.radians(degrees)
    at = (np.arange(SIDE * FINE) + 0.5) / FINE - SIDE / 2
    inside = at[None, :] * np.cos(turn) + at[:, None] * np.sin(turn) > shift
    return inside.reshape(SIDE, FINE, SIDE, FINE).mean((1, 3))


def bits(share: np.ndarray) -> np.ndarray:
    return np.where(share > 0.5, 255, 0).astype(np.uint8)


@pytest.mark.parametrize("degrees", [3, 10, 20, 33, 40, 50, 57, 70, 85, 123, 215, 300])
def test_a_slanted_edge_is_laid_through_its_stairs(degrees):
    inner = np.s_[15:-15, 15:-15]
    before = after = 0.0
    for shift in (0.03, 0.21, 0.4, 0.62, 0.87):
        share = half_plane(degrees, shift)
        stairs = bits(share)
        before += float(((stairs / 255 - share)[inner] ** 2).sum())
        after += float(((smoothed(stairs) / 255 - share)[inner] ** 2).sum())
    assert after < 0.5 * before


def test_upright_and_level_edges_stay_as_they_are():
    random = np.random.default_rng(4)
    picture = np.zeros((200, 300), np.uint8)
    for _ in range(25):
        x, y, width, height = random.integers(1, (260, 160, 40, 40))
        picture[y : y + height, x : x + width] = random.choice([0, 255])
    picture = np.kron(picture, np.ones((2, 2), np.uint8))  # no step of one pixel
    assert np.array_equal(smoothed(picture), picture)


@pytest.mark.parametrize("rise", [0, 1, 7, 30, 60])
def test_a_line_of_one_pixel_lives_on(rise):
    picture = np.zeros((90, 100), np.uint8)
    columns = np.arange(10, 90)
    picture[10 + columns * rise // 100, columns] = 255
    made = smoothed(picture)
    assert made.sum() == pytest.approx(picture.sum(), rel=0.02)
    assert made.max(0)[10:90].min() >= 120


@settings(max_examples=150, deadline=None)
@given(arrays(np.bool_, st.tuples(st.integers(1, 24), st.integers(1, 24))))
def test_bare_and_covered_are_treated_alike(pattern):
    framed = np.pad(pattern, 40).astype(np.uint8) * 255  # room, so that few pixels lie at an edge
    made, other = smoothed(framed), smoothed(255 - framed)
    inner = np.s_[1:-1, 1:-1]
    assert np.abs(made.astype(int) + other - 255)[inner].max() <= 1
    changed = np.abs(made.astype(int) - framed)
    assert changed.max(initial=0) <= 255
    # only pixels beside an edge change
    beside = np.zeros(framed.shape, bool)
    beside[1:] |= framed[1:] != framed[:-1]
    beside[:-1] |= framed[1:] != framed[:-1]
    beside[:, 1:] |= framed[:, 1:] != framed[:, :-1]
    beside[:, :-1] |= framed[:, 1:] != framed[:, :-1]
    assert not changed[~beside].any()


def test_greys_and_screens_are_left_alone():
    soft = (half_plane(20, 0.3) * 255).astype(np.uint8)
    assert not without_greys(soft)
    assert np.array_equal(smoothed(soft), soft)
    dither = (np.random.default_rng(1).random((300, 300)) < 0.4).astype(np.uint8) * 255
    assert np.array_equal(smoothed(dither), dither)
    for empty in (np.zeros((0, 0), np.uint8), np.zeros((5, 7), np.uint8), np.full((5, 7), 255, np.uint8)):
        assert np.array_equal(smoothed(empty), empty)


def visible(missed: list[str], limit: float, ppi: float) -> list[str]:
    """Misses that pixels of this size can show, and that are surely under the limit."""
    pixel = 25.4 / ppi
    least = {"line": 2 * pixel, "gap": 2 * pixel, "speck": 4 * pixel, "hole": 4 * pixel}
    return [m for m in missed if least[m.split()[-2]] <= float(m.split()[-1]) < limit - pixel / 2]


def test_a_board_in_black_and_white_pixels_has_no_miss():
    board = situations(0.35, 511, 58.0)
    verdict = judge(board, bitmap_of(board, 600, bilevel=True), 0.35)
    assert visible(verdict.missed, 0.35, 600) == []
    assert len(verdict.false) <= 1
    assert verdict.error(0.95) <= 25.4 / 600 / 2


@pytest.mark.slow
@pytest.mark.parametrize("ppi", [600, 1200])
def test_boards_in_black_and_white_pixels(ppi):
    """A bar three pixels wide and nine long may look like a tip: hardly more than one violation in a hundred may be missed."""
    total, missed = Verdict(), []
    for number, limit in enumerate((0.25, 0.5, 0.35)):
        board = situations(limit, 531 + number, 17.0 + 50 * number)
        verdict = judge(board, bitmap_of(board, ppi, bilevel=True), limit)
        missed += visible(verdict.missed, limit, ppi)
        total += verdict
    assert total.violations > 300
    assert total.quiet > 300
    assert len(missed) <= total.violations / 80, missed
    assert len(total.false) <= 3, total.false
    assert total.error(0.95) <= 25.4 / ppi / 2


def stencil_pdf(bits: np.ndarray, ppi: float) -> bytes:
    """A PDF page with one image mask painted black (ISO 32000-1, 8.9.6.2: a sample of 0 is painted)."""
    rows, columns = bits.shape
    width, height = columns * 72 / ppi, rows * 72 / ppi
    document = pymupdf.open()
    page = document.new_page(width=width, height=height)
    picture, content = document.get_new_xref(), document.get_new_xref()
    document.update_object(
        picture,
        f"<</Type/XObject/Subtype/Image/Width {columns}/Height {rows}/ImageMask true/BitsPerComponent 1>>",
    )
    document.update_stream(picture, np.packbits(~bits, axis=1).tobytes())
    document.update_object(content, "<<>>")
    document.update_stream(content, f"q 0 g {width:.5f} 0 0 {height:.5f} 0 0 cm /M Do Q".encode())
    document.xref_set_key(page.xref, "Resources", f"<</XObject<</M {picture} 0 R>>>>")
    document.xref_set_key(page.xref, "Contents", f"{content} 0 R")
    return document.tobytes()


@pytest.mark.parametrize("ppi", [600, 1200])
@pytest.mark.parametrize("degrees", [7, 13, 30, 45, 77])
def test_a_one_bit_picture_painted_in_an_ink_has_slanted_edges_too(ppi, degrees):
    density, width = ppi / 25.4, 0.3
    y, x = ((np.mgrid[0 : int(16 * density), 0 : int(20 * density)] + 0.5) / density) - [[[8]], [[10]]]
    turn = np.radians(degrees)
    along, across = x * np.cos(turn) + y * np.sin(turn), y * np.cos(turn) - x * np.sin(turn)
    bar = (abs(along) < 6) & (abs(across) < width / 2)
    finest = strokes.finest_line(load(stencil_pdf(bar, ppi), Order()))
    assert finest.value == pytest.approx(width, abs=0.5 / density)
