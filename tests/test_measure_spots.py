"""Specks and holes, each measured in a window of its own; and tips of small stars, which are none.

The truth is analytic: bars of 2:1 and discs of a known size, drawn as polygons.
"""

import math

import pytest

from boards.judge import art_of, bitmap_of, judge
from boards.shapes import bar, disc, rectangle, star
from boards.sheets import Board
from preflight.artwork import Artwork

SIZES = (0.1, 0.17, 0.26, 0.38)


def spots() -> Board:
    """Bars twice as long as wide and dots, alone and cut out of a solid."""
    board = Board(60.0)
    for size in SIZES:
        for angle in (0, 23, 45, 71):
            board.put(bar(0, 0, size, 2 * size, angle), f"bar {size} at {angle}", ("speck", size))
            solid = rectangle(-2, -2, 2, 2)
            board.put(
                solid.difference(bar(0, 0, size, 2 * size, angle)), f"slot {size} at {angle}", ("hole", size)
            )
        board.put(disc(0, 0, size / 2), f"dot {size}", ("speck", size))
        board.put(rectangle(-2, -2, 2, 2).difference(disc(0, 0, size / 2)), f"hole {size}", ("hole", size))
    return board


def errors(board: Board, art: Artwork) -> list[tuple[float, float, str]]:
    verdict = judge(board, art, 0.41)
    assert not verdict.missed
    return verdict.errors


def test_spots_of_exact_plates_are_good_to_five_thousandths_or_one_per_cent():
    board = spots()
    assert not [e for e in errors(board, art_of(board)) if e[0] > max(0.005, 0.01 * e[1])]


def squares() -> Board:
    """Squares, nearly squares and triangles, at angles that their moments don't show."""
    board = Board(60.0)
    for size in (0.2, 0.33, 0.9, 1.5):
        for angle in (0, 9, 23, 45, 62):
            board.put(bar(0, 0, size, size, angle), f"square {size} at {angle}", ("speck", size))
            board.put(
                bar(0, 0, size, 1.06 * size, angle), f"nearly square {size} at {angle}", ("speck", size)
            )
            if size > 1:
                continue  # beside the larger squares it would keep company
            triangle = star(0, 0, 0.6 * size, 0.3 * size, 3, angle)
            across = 2 * (triangle.area / math.pi) ** 0.5
            board.put(triangle, f"triangle {size} at {angle}", ("speck", across))
    return board


def test_a_square_is_as_small_as_its_side_however_it_lies():
    board = squares()
    verdict = judge(board, art_of(board), 1.6)
    assert not verdict.missed
    assert not [e for e in verdict.errors if e[0] > max(0.005, 0.01 * e[1])]


@pytest.mark.parametrize("ppi", [600, 1200])
def test_spots_of_a_bitmap_are_good_to_half_a_pixel(ppi):
    board = spots()
    assert not [e for e in errors(board, bitmap_of(board, ppi)) if e[0] > 12.7 / ppi]


@pytest.mark.parametrize("ppi", [300, 600])
def test_tips_of_small_stars_in_a_bitmap_are_no_lines(ppi):
    board = Board(60.0)
    for points in (8, 12, 16):
        for part in (0.4, 0.6):
            for turn in (0, 11, 23, 37, 52):
                board.put(star(0, 0, 3.0, 3.0 * part, points, turn), f"star of {points}, {part}, at {turn}")
    assert not judge(board, bitmap_of(board, ppi), 0.35).false
