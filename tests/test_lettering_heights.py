"""Which shape of a found line is its shortest letter, and which words belong to a block of lines; rows are made by hand."""

import math
from types import SimpleNamespace

import numpy as np
import pytest

from preflight.measure.letter_candidates import _printed_in
from preflight.measure.letter_found import _is_set_with
from preflight.measure.letter_frame import Fit, Frame, extents
from preflight.measure.letter_heights import letter_heights
from preflight.measure.letter_shapes import shape_of

LEVEL = Frame(np.array([0.0, 0.0]), np.array([1.0, 0.0]))


def box(left, bottom, wide, tall, ink=0, is_open=False):
    """A shape standing `bottom` mm above the baseline y = 0; down is positive in art."""
    ring = [(left, -bottom), (left + wide, -bottom), (left + wide, -bottom - tall), (left, -bottom - tall)]
    return shape_of([np.array(ring, float)], ink, is_open)


def shortest(shapes, letter):
    """The shortest letter of shapes on a level baseline, which read as letters so surely."""
    spans, levels = extents(shapes, LEVEL)
    fit = Fit(LEVEL, spans, levels, float(np.median(levels[:, 1])), 0.0, 0.0)
    likeness = SimpleNamespace(
        letter=np.array(letter), capital=np.ones(len(letter)), others=np.zeros((len(letter), 5))
    )
    return letter_heights(shapes, fit, likeness).shortest


def row(*heights, bottoms=None):
    return [box(4.0 * i, (bottoms or [0.0] * len(heights))[i], 3.0, tall) for i, tall in enumerate(heights)]


def test_small_letters_that_read_as_letters_are_the_shortest():
    assert shortest(row(5, 5, 3, 5, 3, 5), [0.95] * 6) == pytest.approx(3)


def test_pieces_that_hardly_read_as_letters_are_not():
    assert shortest(row(5, 5, 3, 5, 3, 5, 5), [0.95, 0.95, 0.2, 0.9, 0.25, 0.95, 0.9]) == pytest.approx(5)


def test_but_not_where_they_are_most_of_the_line():
    assert shortest(row(5, 3, 3, 3, 5), [0.9, 0.2, 0.2, 0.2, 0.9]) == pytest.approx(3)


@pytest.mark.parametrize("reads, height", [(0.97, 2.9), (0.6, 5.0)])
def test_a_lone_low_letter_counts_where_it_surely_is_one(reads, height):
    assert shortest(row(5, 5, 5, 2.9, 5), [0.9, 0.9, 0.9, reads, 0.9]) == pytest.approx(height)


def test_what_hangs_from_the_tops_of_letters_is_a_piece_of_one():
    heights = row(5, 5, 5, 3.8, 5, 5, bottoms=[0, 0, 0, 1.2, 0, 0])
    assert shortest(heights, [0.9] * 6) == pytest.approx(5)


def test_but_letters_may_hang_below_the_line():
    heights = row(3, 3, 3, 4.2, 3, 3, bottoms=[0, 0, 0, -1.2, 0, 0])
    assert shortest(heights, [0.9] * 6) == pytest.approx(3)


def test_the_inline_of_a_letter_is_not_the_shortest():
    shapes = row(6, 6, 6, 6)
    opening = box(4.3, 0.3, 2.4, 5.4, is_open=True)
    opening.around = shapes[1]
    inline = box(4.6, 0.8, 1.8, 4.4)
    inline.around = opening
    assert shortest([*shapes, inline], [0.9] * 5) == pytest.approx(6)
    inline.around = None
    assert shortest([*shapes, inline], [0.9] * 5) == pytest.approx(4.4)


def line(turn=0.0):
    """Twelve letters of 5 mm, 60 mm long from (0, 0), turned by degrees."""
    frame = Frame(
        np.array([0.0, 0.0]), np.array([math.cos(math.radians(turn)), math.sin(math.radians(turn))])
    )
    spans = np.array([(5.0 * i, 5.0 * i + 4.0) for i in range(12)])
    fit = Fit(frame, spans, np.tile([0.0, 5.0], (12, 1)), 5.0, 0.0, 0.0)
    return SimpleNamespace(fit=fit, members=[])


@pytest.mark.parametrize(
    "left, below, turn, together",
    [
        (25.5, 2.0, 0.0, True),  # centred, like the second line of a badge
        (0.0, 2.0, 0.0, True),  # flush left
        (51.0, 2.0, 0.0, True),  # flush right
        (20.0, 2.0, 0.0, False),  # neither
        (25.5, 20.0, 0.0, False),  # far below
        (25.5, -4.0, 0.0, False),  # on the line itself, where an ornament stands
        (25.5, 2.0, 8.0, False),  # the line runs another way
    ],
)
def test_a_word_is_set_with_a_line_that_it_is_centred_on_or_flush_with(left, below, turn, together):
    members = [box(left, -below - 4.0, 3.5, 4.0), box(left + 4.5, -below - 4.0, 3.5, 4.0)]
    spans, levels = extents(members, LEVEL)
    word = SimpleNamespace(fit=Fit(LEVEL, spans, levels, 4.0, 0.0, 0.0), members=members)
    assert _is_set_with(word, line(turn)) is together


def test_letters_that_one_ink_leaves_open_are_a_row_of_the_ink_that_prints_them():
    openings = [box(4.0 * i, 0, 3, 5, ink=0, is_open=True) for i in range(4)]
    printed = [box(4.0 * i + 0.01, 0, 3, 5, ink=1) for i in range(4)]
    others = [box(4.0 * i, 9, 3, 5, ink=1) for i in range(4)]
    groups = [openings, [*others, *printed]]
    [(found, around)] = _printed_in([openings], groups, 0.05)
    assert found == printed and around is groups[1]
    assert _printed_in([openings, printed], groups, 0.05) == []
    assert _printed_in([openings], [openings, others], 0.05) == []
