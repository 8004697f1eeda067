"""The parts that found lettering is judged by: portraits, windows, drawn objects, outlines that touch."""

import io
import random
import re
from pathlib import Path as File

import numpy as np
import pymupdf
import pytest
from fontTools.ttLib import TTFont

import lettering_ornaments
import lettering_plain
import lettering_set as the_set
from lettering_faces import DEBIAN, FACES, Outline
from preflight.artwork import Mark, Path, Pen
from preflight.load import load
from preflight.measure import lettering
from preflight.measure.letter_candidates import candidates
from preflight.measure.letter_objects import Objects, outline_boxes
from preflight.measure.letter_portrait import SIDE, described, flipped, portrait, windows
from preflight.measure.letter_shapes import shape_of
from preflight.order import Order
from test_measure_lettering import Shipped, values

ORDER = Order(method="embroidery")
TRIANGLE = np.array([(0.0, 0.0), (4.0, 0.0), (1.0, 3.0)])


@pytest.fixture(scope="module")
def shipped() -> Shipped:
    return Shipped("figo")


def test_the_halves_share_no_family_and_no_icon():
    tune, held, unseen = (
        {face.file.split()[0] for face in FACES[part]} for part in ("tune", "held", "unseen")
    )
    assert not tune & unseen and not held & unseen and not tune & held
    sets = [
        {s for (half, _), some in lettering_plain._SETS.items() if half == h for s in some}
        for h in ("tune", "unseen")
    ]
    assert not sets[0] & sets[1]
    assert len(tune) >= 40 and len(unseen) >= 40


def test_continuous_integration_installs_the_fonts_of_the_set():
    script = (File(__file__).parents[1] / ".ci" / "run").read_text("utf-8")
    assert set(DEBIAN) <= set(re.findall(r"fonts-[a-z0-9-]+", script))


def test_a_portrait_turned_twice_is_itself_and_turned_once_that_of_the_shape_turned():
    one = portrait([TRIANGLE])[None]
    assert one.shape == (1, SIDE * SIDE + 1)
    assert np.array_equal(flipped(flipped(one)), one)
    assert np.abs(flipped(one)[0] - portrait([-TRIANGLE])).mean() < 0.002  # but for the odd pixel at a tip


def test_what_the_judge_takes_does_not_depend_on_size():
    small, large = (described(portrait([TRIANGLE * k])[None]) for k in (1.0, 37.0))
    assert small == pytest.approx(large, abs=0.02)
    assert np.isfinite(small).all()


def test_wide_shapes_are_looked_at_in_windows_and_others_are_not():
    bar = np.array([(0, 0), (10, 0), (10, 1), (0, 1)], float)
    found = windows([bar])
    assert len(found) >= 8
    # Windows of an even bar are alike, but for its ends.
    assert np.ptp(found[1:-1], axis=0).max() < 0.05
    assert len(windows([bar[:, ::-1]])) == 0
    assert len(windows([bar * (1000, 1)])) <= 10
    for height in (
        0,
        1e-9,
        1e-6,
    ):  # an outline without height, as of a line drawn as a shape: no writing, and no warning
        assert len(windows([bar * (1, height)])) == 0


def test_boxes_of_the_outlines_of_an_object():
    path = Path("mllhmllh", np.array([(0, 0), (2, 0), (0, 3), (10, 10), (12, 10), (10, 14)], float))
    assert outline_boxes(Mark("fill", (0, 0, 12, 14), 0, path)).tolist() == [[0, 0, 2, 3], [10, 10, 12, 14]]
    stroke = Mark("stroke", (0, 0, 12, 14), 0, path, Pen(1.0, 1.0))
    assert outline_boxes(stroke)[0].tolist() == [-0.5, -0.5, 2.5, 3.5]
    assert len(outline_boxes(Mark("picture", (0, 0, 1, 1)))) == 0


@pytest.mark.parametrize("compound", [False, True])
def test_a_word_drawn_as_objects_is_known_as_such(shipped, compound):
    run = shipped.run("MARSHES", 6.0)
    paths = [g.path for g in run.glyphs]
    scene = the_set.Scene(
        60, 40, [the_set.Item(p, "#000000") for p in ([the_set.joined(paths)] if compound else paths)], []
    )
    art = the_set.artwork(scene)
    left, top = art.offset
    shapes = [shape_of([r - (left, top) for r in p.polygons()], 0, False) for p in paths]
    objects = Objects(art, shapes)
    along = np.arange(len(shapes), dtype=float)
    assert objects.told(shapes, along) == pytest.approx((1.0, 1.0, 1.0))
    part = shapes[:3]
    assert objects.told(part, along[:3])[1] == pytest.approx(3 / 7 if compound else 1.0)
    assert objects.told(shapes[::-1], along)[2] == pytest.approx(1.0)  # the line may run either way
    stranger = shape_of([TRIANGLE + (30, 0)], 0, False)
    assert objects.told([stranger], along[:1]) == (0.0, 0.0, 0.0)


@pytest.mark.parametrize("squeeze", [1.0, 0.9])
def test_letters_drawn_as_outlines_are_as_tall_as_they_print_even_where_they_touch(shipped, squeeze):
    em, pen = 12.0, 0.5
    k, x, items = em / shipped.em, 10.0, []
    for char in "MARSHED":
        items.append(the_set.Item(shipped.path(char, (k, 0, 0, -k, x, 25.0)), "#1b2a6b", pen))
        x += shipped.glyphs[shipped.map[ord(char)]].width * k * squeeze
    art = load(the_set.pdf(the_set.Scene(90, 40, items, [])), ORDER)
    found = values(lettering.shortest_letter, art)
    assert len(found) == 1
    assert found[0] == pytest.approx(em * shipped.height("E") + pen, rel=0.02)


def test_han_characters_are_named_and_asked_about():
    font = TTFont(io.BytesIO(pymupdf.Font("cjk").buffer))
    glyphs, names = font.getGlyphSet(), font.getBestCmap()
    items = []
    for n, char in enumerate("山風海松梅"):
        k = 9.0 / font["head"].unitsPerEm
        pen = Outline(glyphs, (k, 0, 0, -k, 8 + 10 * n, 24))
        glyphs[names[ord(char)]].draw(pen)
        items.append(the_set.Item(Path("".join(pen.steps), np.array(pen.points, float)), "#1b2a6b"))
    art = load(the_set.pdf(the_set.Scene(80, 40, items, [])), ORDER)
    assert values(lettering.shortest_letter, art) == []
    assert values(lettering.unsure, art)[0] >= 1


@pytest.mark.parametrize("make", list(dict.fromkeys(lettering_ornaments.ORNAMENTS)), ids=lambda f: f.__name__)
def test_an_ornament_is_never_surely_lettering(make):
    for seed in (1, 2):
        scene = the_set.Scene(80, 50, make(random.Random(seed), 5, 5, 70, 40, "#1b2a6b"), [])
        art = the_set.artwork(scene)
        assert [line for line in lettering.lines(art) if line.ruled and line.sure >= 0.85] == []
        for one in candidates(art).found:
            assert np.isfinite(one.features).all()
