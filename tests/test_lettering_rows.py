"""Which shapes make a row: short words beside icons and under long lines, shadows, ornaments beside lettering."""

from pathlib import Path as File

import numpy as np
import pytest

import lettering_set as the_set
from preflight.load import load
from preflight.measure import lettering
from preflight.measure.letter_chains import chains, short_rows
from preflight.measure.letter_shapes import shape_of
from preflight.order import Order
from test_measure_lettering import Shipped, outlined, values

ORDER = Order(method="embroidery")
INBOX = File(__file__).parent.parent / "sample_art" / "inbox"


@pytest.fixture(scope="module")
def shipped() -> Shipped:
    return Shipped("figo")


def lines_of(scene) -> list[int]:
    """Letters of each line that is found and measured, fewest first."""
    found = lettering.lines(load(the_set.pdf(scene), ORDER))
    return sorted(len(line.letters) for line in found if line.ruled)


def square(x, y, size):
    return shape_of([np.array([(x, y), (x + size, y), (x + size, y + size), (x, y + size)], float)], 0, False)


@pytest.mark.parametrize("word", ["BRO", "Mar", "up"])
def test_a_short_word_under_a_long_line_is_a_line_of_its_own(shipped, word):
    scene = outlined(shipped, "SALT MARSH TIDES 1999", 5.0, size=(120, 40), at=(8, 12))
    scene.items += outlined(shipped, word, 5.0, size=(120, 40), at=(50, 20.5)).items
    assert lines_of(scene) == [len(word), 18]


def test_a_word_of_two_letters_beside_an_icon(shipped):
    """The icon is nearer to either letter than the other letter is."""
    scene = outlined(shipped, "W", 10.0, size=(90, 60), at=(20, 30))
    scene.items += outlined(shipped, "M", 10.0, size=(90, 60), at=(38, 30)).items
    scene.items += [the_set.Item(the_set.rectangle(x, 33, x + 6, 39), "#1b2a6b") for x in (27, 36)]
    assert 2 in lines_of(scene)


def test_a_shape_may_be_in_several_short_rows_but_no_row_comes_twice():
    row = [square(0, 0, 4), square(5, 0, 4), square(10, 0, 4), square(5, 5, 4)]
    known = {frozenset(id(s) for s in one) for one in chains(row)}
    before = set(known)
    found = [frozenset(id(s) for s in one) for one in short_rows(row, known, 20)]
    assert found and len(set(found)) == len(found) and not before & set(found)
    assert short_rows(row, known, 20) == []
    assert short_rows(row[:1], set(), 20) == []


def test_two_parallel_lines_of_like_letters_are_two_rows():
    upper, lower = [square(5 * n, 0, 4) for n in range(9)], [square(5 * n + 2.5, 10, 4) for n in range(7)]
    assert sorted(len(one) for one in chains(upper + lower)) == [7, 9]


def test_a_line_with_a_shadow_is_its_own_ink_s(shipped):
    """With the shadow in another ink the letters of all inks together are longer, and here touch those of the line below."""
    lines = (
        outlined(shipped, "MARSH", 6.0, at=(12, 20)).items
        + outlined(shipped, "KITES", 6.0, at=(12, 27)).items
    )
    shade = [the_set.Item(i.path.moved(1, 0.6, 0.6), "#e07b00") for i in lines]
    art = load(the_set.pdf(the_set.Scene(90, 60, shade + lines, [])), ORDER)
    assert values(lettering.shortest_letter, art) == [pytest.approx(6.0, rel=0.03)] * 2


@pytest.mark.parametrize(
    "file,width",
    [
        ("reed-club-one-colour-clean.svg", 70),
        ("crest-hairlines-0.12mm.pdf", 62.12),
        ("tide-clock-hand-written-clean.eps", 32),
        ("web-banner-72ppi.jpg", 120),
        ("otter-two-spots-clean.pdf", 85),
        ("reed-club-450ppi.webp", 50),
    ],
)
def test_reeds_whiskers_and_waves_beside_lettering_are_no_other_script(file, width):
    """What the inbox draws beside its lettering is an ornament; all its lettering is in Latin letters that are found."""
    art = load((INBOX / file).read_bytes(), Order(width_mm=width))
    assert values(lettering.unsure, art) == [0]
    assert len(values(lettering.shortest_letter, art)) == 2
