"""Specks and holes, each measured in a window of its own, wherever they lie; and tips of small stars, which are none.

The truth is analytic: bars of 2:1 and discs of a known size, drawn as polygons.
"""

import math

import numpy as np
import pytest
from shapely.affinity import translate

from boards.judge import art_of, bitmap_of, judge
from boards.plates import drawn
from boards.shapes import bar, disc, rectangle, star
from boards.sheets import Board
from preflight.artwork import Artwork
from preflight.measure import gaps, strokes
from preflight.order import Order

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


@pytest.mark.parametrize("kind", ["alone", "cut out", "beside"])
@pytest.mark.parametrize("size", [0.05, 0.06, 0.08])
def test_a_dot_that_lies_in_one_pixel_of_a_look_is_found(size, kind):
    """However it lies to the pixels: alone, cut out of a solid, or .2 mm beside one; at 17.5 pixels a mm one has .057 mm."""
    random = np.random.default_rng(3)
    shapes, places = [], []
    for column in range(10):
        for row in range(10):
            x, y = 3 + 5 * column + random.uniform(0, 1), 3 + 5 * row + random.uniform(0, 1)
            dot, solid = disc(x, y, size / 2, 1e-3), rectangle(x - 1, y - 1, x + 1, y + 1)
            if kind == "cut out":
                shapes.append(solid.difference(dot))
            else:
                beside = translate(solid, 1 + size / 2 + 0.2, random.uniform(-0.5, 0.5))
                shapes += [dot, beside] if kind == "beside" else [dot]
            places.append((x, y))
    found = (gaps.pinholes if kind == "cut out" else strokes.specks)(
        drawn(60, 60, {0: shapes}), Order(), up_to=0.4
    )
    assert len(found) == len(places)
    for one in found:
        assert one.value == pytest.approx(size, abs=0.005)
        x0, y0, x1, y1 = one.where[0]
        assert min(math.hypot((x0 + x1) / 2 - x, (y0 + y1) / 2 - y) for x, y in places) < 0.02
