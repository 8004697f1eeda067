"""Fonts of live text."""

from dataclasses import replace

import numpy as np
import shapely

from preflight.artwork import Font, Glyph, TextRun
from preflight.measure import fonts
from preflight.order import Order
from shape_art import path_of, shape_art

ART = shape_art([shapely.box(0, 0, 40, 25)])
CARRIED, MISSING, REPLACED = (
    Font("Marsh Sans", True),
    Font("Kite Script", False),
    Font("Reed", True, substituted=True),
)


def run(font, box=(2.0, 2.0, 20.0, 6.0), visible=True):
    glyph = Glyph("A", path_of(shapely.box(*box)), (box[0], box[3]))
    return TextRun((glyph,), font, 4.0, (1.0, 0.0), (0.0, -1.0), 0, box, visible, "A")


def with_text(*runs):
    return replace(ART, text=runs, fonts=tuple(dict.fromkeys(r.font for r in runs)))


def test_outlined_art_has_no_live_fonts_and_nothing_to_embed():
    assert fonts.live(ART, Order())[0].value == 0
    assert fonts.not_embedded(ART, Order()) == []


def test_embedded_fonts_are_live_and_well():
    art = with_text(run(CARRIED))
    assert fonts.live(art, Order())[0].value == 1
    assert fonts.not_embedded(art, Order())[0].value == 0


def test_fonts_the_file_does_not_carry():
    art = with_text(
        run(CARRIED), run(MISSING, (5.0, 10.0, 30.0, 14.0)), run(REPLACED, (5.0, 16.0, 30.0, 20.0))
    )
    (reading,) = fonts.not_embedded(art, Order())
    assert reading.value == 2
    assert reading.where == ((5.0, 10.0, 30.0, 14.0), (5.0, 16.0, 30.0, 20.0))
    assert "Kite Script" in reading.what
    assert "Marsh Sans" not in reading.what


def test_a_font_used_only_by_invisible_text_spoils_nothing():
    art = with_text(run(CARRIED), run(MISSING, visible=False))
    assert fonts.not_embedded(art, Order())[0].value == 0
    assert fonts.live(art, Order())[0].value == 1


def test_hostile_font_names_are_made_plain():
    art = with_text(run(Font("\x1b]0;evil\x07" + "x" * 5000, False)))
    (reading,) = fonts.not_embedded(art, Order())
    assert "\x1b" not in reading.what
    assert "\x07" not in reading.what
    assert len(reading.what) < 120
    assert np.isfinite(reading.value)
