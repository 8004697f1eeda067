"""Tone measured on artwork with known fades, tints and pictures."""

from dataclasses import replace

import numpy as np
import pytest

from preflight.artwork import Artwork, Fade, Ink, Mark, Picture, placed
from preflight.colour import lab_of
from preflight.measure import tone
from preflight.order import Order
from preflight.pixels import Tone

ORDER = Order()


class NoPlates:
    """These measurements draw nothing."""

    def coverage(self, ink, box, pixels_per_mm):
        raise AssertionError

    def picture(self, box, pixels_per_mm, ground):
        raise AssertionError


def ink(number: int, shade: str, tints: tuple[float, ...] = ()) -> Ink:
    return Ink(number, f"ink {number}", "spot", shade, lab_of(shade), tints)


def artwork(**parts) -> Artwork:
    base = Artwork(
        format="pdf", kind="vector", page=1, pages=1, width_mm=80, height_mm=40, file_width_mm=80, file_height_mm=40,
        ground="#ffffff", inks=(ink(0, "#1d2b4f"),), marks=(Mark("fill", (0, 0, 80, 40), 0, hex="#1d2b4f"),), text=(),
        pictures=(), fonts=(), fades=(), facts=(), plates=NoPlates(),
    )  # fmt: skip
    return replace(base, **parts)


def only(readings):
    assert len(readings) == 1
    return readings[0]


KINDS = {
    tone.gradients: "gradient",
    tone.photographs: "photograph",
    tone.soft_edges: "soft edge",
    tone.halftones: "halftone",
}


@pytest.mark.parametrize("measure", [*KINDS, tone.continuous])
def test_flat_art_counts_none(measure):
    found = only(measure(artwork(), ORDER))
    assert found.value == 0 and not found.where


@pytest.mark.parametrize(("measure", "kind"), KINDS.items())
def test_each_kind_counts_its_own_and_marks_the_surest_first(measure, kind):
    fades = (
        Fade(kind, (0, 0, 10, 10), sure=0.7),
        Fade(kind, (20, 0, 30, 10), sure=0.95),
        *(Fade(other, (50, 0, 60, 10)) for other in KINDS.values() if other != kind),
    )
    found = only(measure(artwork(fades=fades), ORDER))
    assert found.value == 2
    assert found.where == ((20, 0, 30, 10), (0, 0, 10, 10))
    assert found.sure == 0.95
    assert only(tone.continuous(artwork(fades=fades), ORDER)).value == 5


def test_a_bitmap_nobody_looked_into_is_no_pass():
    unseen = Picture(pixels=(300, 300), box=(0, 0, 10, 10), ppi=(300, 300))
    found = only(tone.gradients(artwork(pictures=(unseen,)), ORDER))
    assert found.value is None and found.reason and found.where == ((0, 0, 10, 10),)
    for seen in (
        replace(unseen, tone=Tone()),
        replace(unseen, flat=True),
        replace(unseen, stencil=True),
        replace(unseen, bits=1),
    ):
        assert only(tone.gradients(artwork(pictures=(seen,)), ORDER)).value == 0


def test_a_blank_page_has_nothing_to_count():
    assert tone.gradients(artwork(inks=(), marks=()), ORDER) == []
    assert tone.levels(artwork(inks=(), marks=()), ORDER) == []


def test_tints_are_read_per_ink_in_per_cent():
    art = artwork(inks=(ink(0, "#1d2b4f", (0.85, 0.12)), ink(1, "#c81e28")))
    light, dark = only(tone.tints(art, ORDER)), only(tone.darkest_tint(art, ORDER))
    assert light.value == pytest.approx(12) and dark.value == pytest.approx(85)
    assert "ink 0" in light.what


def test_a_see_through_mark_is_a_tint():
    marks = (
        Mark("fill", (0, 0, 9, 9), 0, hex="#1d2b4f"),
        Mark("fill", (20, 0, 29, 9), 0, hex="#1d2b4f", opacity=0.3),
    )
    found = only(tone.tints(artwork(marks=marks), ORDER))
    assert found.value == pytest.approx(30) and found.where == ((20, 0, 29, 9),)


@pytest.mark.parametrize(
    ("inks", "marks", "fades", "levels"),
    [
        ((ink(0, "#000000"),), (Mark("fill", (0, 0, 9, 9), 0, hex="#000000"),), (), 1),
        ((ink(0, "#000000"), ink(1, "#ff0000")), (), (), 2),
        ((ink(0, "#000000", (0.5,)),), (Mark("fill", (0, 0, 9, 9), 0, hex="#000000"),), (), 2),
        ((ink(0, "#000000", (0.5,)),), (Mark("fill", (0, 0, 9, 9), 0, hex="#808080"),), (), 1),  # never solid
        ((ink(0, "#000000"),), (), (Fade("gradient", (0, 0, 9, 9)),), 3),
        ((ink(0, "#000000"),), (), (Fade("halftone", (0, 0, 9, 9), lpi=45),), 1),  # dots of one colour
    ],
)
def test_levels_of_tone(inks, marks, fades, levels):
    assert only(tone.levels(artwork(inks=inks, marks=marks, fades=fades), ORDER)).value == levels


def test_ruling_is_given_at_the_produced_size_with_its_margin():
    art = artwork(fades=(Fade("halftone", (0, 0, 40, 20), lpi=60.0), Fade("halftone", (50, 0, 60, 9))))
    known, unknown = tone.halftone_ruling(placed(art, 2.0, (0.0, 0.0)), ORDER)
    assert known.value == pytest.approx(30) and known.margin > 0 and known.where == ((0, 0, 80, 40),)
    assert unknown.value is None and unknown.reason
    assert tone.halftone_ruling(artwork(), ORDER) == []


def test_nothing_measured_is_not_a_number():
    fades = tuple(
        Fade(kind, (0, 0, 1, 1), sure=float(s)) for kind in KINDS.values() for s in np.linspace(0, 1, 5)
    )
    art = artwork(fades=fades, inks=(ink(0, "#123456", (0.0, 0.004, 0.999)),))
    for measure in (*KINDS, tone.continuous, tone.levels, tone.tints, tone.darkest_tint):
        for reading in measure(art, ORDER):
            assert reading.value is None or np.isfinite(reading.value)


def test_an_ink_beyond_srgb_is_still_printed_solid_where_its_mark_says_so():
    """The mark knows its clipped look only, the ink the Lab of the file: a press's cyan."""
    cyan = replace(ink(0, "#00aeef", (0.5,)), lab=(62.3, -44.2, -50.2))
    art = artwork(inks=(cyan,), marks=(Mark("fill", (0, 0, 80, 40), 0, hex="#00aeef"),))
    assert only(tone.levels(art, ORDER)).value == 2
