"""Lettering whose strokes are finer than a pixel, whose letters are drawn in squares, or whose words fell into parts.

Real files through the loaders; truth from the fonts' own outlines (fontTools), of squares from how they were drawn.
"""

import math
import random

import numpy as np
import pytest

import lettering_set as the_set
from lettering_faces import Face
from preflight.artwork import Path
from preflight.load import load
from preflight.measure import lettering
from preflight.measure.letter_candidates import Around, _told_apart, candidates
from preflight.measure.letter_corners import over_corners
from preflight.measure.letter_shapes import Shape, shape_of
from preflight.order import Order
from test_measure_lettering import Shipped, outlined, png_of

ORDER = Order(method="embroidery")
BLUE, WHITE = "#1b2a6b", "#ffffff"


def drawn(paths, knocked_out: bool, width=60.0, height=25.0) -> the_set.Scene:
    panel = [the_set.Item(the_set.rectangle(1, 1, width - 1, height - 1), BLUE)] if knocked_out else []
    return the_set.Scene(
        width, height, panel + [the_set.Item(p, WHITE if knocked_out else BLUE) for p in paths], []
    )


@pytest.mark.parametrize("knocked_out", [False, True])
@pytest.mark.parametrize(
    "file,height,ppi",
    [("DejaVuSans-ExtraLight.ttf", 1.5, 150), ("DejaVuSans-ExtraLight.ttf", 2.0, 150), ("Lato-Thin.ttf", 2.0, 200)],
)  # fmt: skip
def test_strokes_finer_than_a_pixel_are_letters_still(file, height, ppi, knocked_out):
    """Of such strokes a pixel holds less than half: they broke up, and what was left of the letters was too low, or nothing."""
    line = the_set.set_line(random.Random(1), Face(file, "sans"), "L", height, "Marsh kites")
    art = load(png_of(drawn(the_set.place(line, 30, 14), knocked_out), ppi), ORDER)
    (found,) = lettering.lines(art)
    assert found.ruled and len(found.letters) >= 8  # neighbours may run together in so coarse a picture
    assert found.shortest == pytest.approx(height, rel=0.05)
    assert found.knocked_out == knocked_out


#: Letters in squares, five by seven.
SQUARES = {
    "V": "10001 10001 10001 10001 01010 01010 00100",
    "A": "00100 01010 10001 10001 11111 10001 10001",
    "N": "10001 10001 11001 10101 10011 10001 10001",
}


def in_squares(char: str, size: float, at: tuple[float, float], degrees: float) -> Path:
    """A letter of squares made one outline, as a pixel face draws it."""
    turn = math.radians(degrees)
    matrix = np.array([[math.cos(turn), math.sin(turn)], [-math.sin(turn), math.cos(turn)]])
    paths = []
    for row, cells in enumerate(SQUARES[char].split()):
        for column, cell in enumerate(cells):
            if cell == "1":
                corners = (np.array([(0, 0), (1, 0), (1, 1), (0, 1)]) + (column, row - 7)) * size
                paths.append(Path("mlllh", np.vstack([corners, corners[:1]]) @ matrix + at))
    return the_set._welded(paths)


def test_letters_whose_squares_meet_at_corners_are_as_tall_as_all_their_squares():
    """Knocked out, the legs of the V hung together with nothing: they were measured as letters of four squares."""
    turn = math.radians(17)
    paths = [
        in_squares(c, 1.0, (14 + 6 * n * math.cos(turn), 20 + 6 * n * math.sin(turn)), 17)
        for n, c in enumerate("VAN")
    ]
    (line,) = [
        one for one in lettering.lines(load(the_set.pdf(drawn(paths, True, 70, 70)), ORDER)) if one.ruled
    ]
    assert len(line.letters) == 3
    assert line.shortest == pytest.approx(7.0, rel=0.01)


def polygon(*corners) -> Shape:
    """A shape with its outline in short steps, as one from a plate has it."""
    ends = [*corners[1:], corners[0]]
    steps = [
        np.linspace(a, b, 40, endpoint=False)
        for a, b in zip(np.array(corners, float), np.array(ends, float), strict=True)
    ]
    shape = shape_of([np.vstack(steps)], 0, False)
    assert shape is not None
    return shape


def square(x: float, y: float, side: float = 2.0) -> Shape:
    return polygon((x, y), (x + side, y), (x + side, y + side), (x, y + side))


@pytest.mark.parametrize(
    "shapes,pieces",
    [
        ([square(0, 0), square(2.05, 2.05)], [2]),
        ([square(0, 0), square(2.05, 2.05), square(4.1, 0)], [3]),
        ([square(0, 0), square(2.05, 0.3)], []),  # side by side: two letters set tight
        ([square(0, 0), square(2.3, 2.3)], []),  # apart
        ([square(0, 0), polygon((2.05, 2.05), (5, 2.6), (4.4, 4.4))], []),  # no right angle
        ([square(0, 0)], []),
        ([], []),
    ],
)
def test_only_right_angled_corners_that_meet_make_a_letter(shapes, pieces):
    found = over_corners(shapes, 0.125)
    assert [len(one.rings) for one in found] == pieces


def test_texture_of_squares_is_not_put_together():
    board = [square(2 * x, 2 * y) for x in range(30) for y in range(30) if (x + y) % 2]
    assert over_corners(board, 0.1) == []


def test_a_letter_of_the_next_line_is_none_of_this_one():
    """An o under a descender, that the row grew into, is left to its own line."""
    shipped = Shipped("figo")
    scene = outlined(shipped, "gulling", 6.0, at=(12, 20))
    scene.items += outlined(shipped, "o", 4.0, at=(30, 24.0)).items
    (group,) = [
        g for g in candidates(load(the_set.pdf(scene), ORDER)).groups if len(g) > 5 and not g[0].is_open
    ]
    low = max(group, key=lambda s: s.box[1])
    assert len(group) == 9 and low.size < 3.5  # seven letters, the dot of the i, and the o of the next line
    letters = [s for s in group if s.size > 1.5]
    (row, *_) = _told_apart(letters, Around(group), lambda shape: False)
    assert len(letters) == 8 and len(row.members) == 7
    assert not any(s is low for s in row.members)


def test_parts_of_a_connected_word_are_no_words():
    """Letters that join by twos and threes, drawn as one outline each: pairs of pieces were measured as words of capitals."""
    line = the_set.set_line(random.Random(1), Face("lobster.otf", "script"), "L", 7.95, "dra ridra tamgarbro")
    art = load(the_set.pdf(drawn([the_set._welded(the_set.place(line, 110, 25))], False, 220, 50)), ORDER)
    (found,) = lettering.lines(art)
    assert found.script == "joined" and not found.ruled and len(found.letters) >= 8
    assert [r.value for r in lettering.unsure(art, ORDER)] == [1]
