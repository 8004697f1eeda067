"""Resolution measured on artwork with known bitmaps; true detail on files whose history is known."""

from dataclasses import replace

import cv2
import numpy as np
import pytest

from preflight.artwork import Picture, placed
from preflight.measure import resolution
from preflight.pixels import Tone, analyse
from test_measure_tone import ORDER, artwork, only

FLAT = Tone(continuous=False)
CONTINUOUS = Tone(continuous=True)
LOGO = Picture(
    pixels=(1200, 600), box=(0, 0, 101.6, 50.8), ppi=(300.0, 300.0), true_ppi=(300.0, 300.0), tone=FLAT
)


def test_line_art_and_pictures_are_kept_apart():
    art = artwork(pictures=(LOGO, replace(LOGO, tone=CONTINUOUS, ppi=(200.0, 250.0), true_ppi=None)))
    assert only(resolution.line_art(art, ORDER)).value == 300
    assert only(resolution.pictures(art, ORDER)).value == 200
    assert resolution.lowest(art) == 200


@pytest.mark.parametrize("change", [{"stencil": True, "tone": None}, {"bits": 1, "tone": None}])
def test_one_bit_is_line_art(change):
    art = artwork(pictures=(replace(LOGO, **change),))
    assert only(resolution.line_art(art, ORDER)).value == 300
    assert resolution.pictures(art, ORDER) == []


def test_a_flat_box_has_no_resolution():
    art = artwork(pictures=(replace(LOGO, flat=True, pixels=(1, 1), ppi=(0.4, 0.4), tone=None),))
    assert (
        resolution.line_art(art, ORDER)
        == resolution.pictures(art, ORDER)
        == resolution.scaled_up(art, ORDER)
        == []
    )
    assert resolution.lowest(art) is None


def test_true_detail_limits_the_resolution_and_widens_the_margin():
    art = artwork(pictures=(replace(LOGO, true_ppi=(100.0, 100.0), tone=Tone(enlargement=3.0)),))
    found = only(resolution.line_art(art, ORDER))
    assert found.value == 100 and found.margin == pytest.approx(15) and found.facts["ppi"] == 300
    assert only(resolution.scaled_up(art, ORDER)).value == pytest.approx(3)


def test_repeated_pixels_are_exact():
    art = artwork(
        pictures=(replace(LOGO, true_ppi=(100.0, 100.0), tone=Tone(enlargement=3.0, pixel_doubled=True)),)
    )
    assert only(resolution.line_art(art, ORDER)).margin == 0
    assert only(resolution.scaled_up(art, ORDER)).margin == 0


def test_small_enlargements_are_not_reported():
    assert resolution.scaled_up(artwork(pictures=(replace(LOGO, tone=Tone(enlargement=1.4)),)), ORDER) == []


def test_an_unseen_bitmap_is_an_unsure_picture():
    found = only(resolution.pictures(artwork(pictures=(replace(LOGO, tone=None),)), ORDER))
    assert found.value == 300 and found.sure < 0.85


def test_twice_the_size_is_half_the_resolution():
    art = placed(artwork(pictures=(LOGO,)), 2.0, (0.0, 0.0))
    assert only(resolution.line_art(art, ORDER)).value == 150


@pytest.mark.parametrize("how", [cv2.INTER_NEAREST, cv2.INTER_LINEAR, cv2.INTER_CUBIC, cv2.INTER_LANCZOS4])
def test_an_enlarged_logo_counts_at_the_detail_it_was_drawn_with(how):
    drawn = np.full((300, 400, 3), 255, np.uint8)
    cv2.circle(drawn, (140, 150), 97, (40, 30, 200), -1, cv2.LINE_AA)
    cv2.putText(drawn, "KITE", (190, 200), cv2.FONT_HERSHEY_DUPLEX, 2.6, (20, 20, 20), 8, cv2.LINE_AA)
    sent = cv2.resize(drawn, None, fx=3, fy=3, interpolation=how)
    seen = analyse(sent)
    true = 300 / seen.enlargement
    picture = replace(LOGO, pixels=(1200, 900), true_ppi=(true, true), tone=seen)
    found = only(resolution.line_art(artwork(pictures=(picture,)), ORDER))
    assert found.value == pytest.approx(100, rel=0.2)
    assert seen.pixel_doubled == (how == cv2.INTER_NEAREST)
    assert analyse(drawn).enlargement == 1.0
