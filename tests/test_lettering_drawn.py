"""Found lettering that is hard to see or to measure: round a ring, short, in pieces, in odd letters, in other scripts.

Real files through the loaders; truth from the fonts' own outlines (fontTools).
"""

import math
from pathlib import Path as File

import numpy as np
import pytest

import lettering_set as the_set
from lettering_faces import Face
from preflight.artwork import Path
from preflight.load import load
from preflight.measure import codes, lettering
from preflight.measure.letter_candidates import candidates
from preflight.measure.letter_contours import without_rims
from preflight.measure.letter_pieces import put_together
from preflight.measure.letter_shapes import plate_shapes
from preflight.order import Order
from test_measure_lettering import Shipped, outlined, png_of, values

ORDER = Order(method="embroidery")


@pytest.fixture(scope="module")
def shipped() -> Shipped:
    return Shipped("figo")


def set_round(shipped, text, em, radius, middle=(60.0, 60.0), clockwise_from=0.0) -> list[Path]:
    """Letters with their feet on a circle, tops outward; the text's middle at the top, or turned by some degrees."""
    k = em / shipped.em
    widths = [(shipped.glyphs[shipped.map[ord(c)]].width if c != " " else 0.3 * shipped.em) * k for c in text]
    at, paths = -sum(widths) / 2, []
    for char, width in zip(text, widths, strict=True):
        turn = math.radians(clockwise_from) + (at + width / 2) / radius
        c, s = math.cos(turn), math.sin(turn)
        x, y = middle[0] + radius * s - width / 2 * c, middle[1] - radius * c - width / 2 * s
        if char != " ":
            paths.append(shipped.path(char, (k * c, k * s, k * s, -k * c, x, y)))
        at += width
    return paths


def pdf_of(paths, size=(120, 120), colour="#1b2a6b", under=()) -> bytes:
    items = [*under, *(the_set.Item(p, colour) for p in paths)]
    return the_set.pdf(the_set.Scene(*size, items, []))


@pytest.mark.parametrize("share", [0.4, 0.6, 0.75, 0.9])
def test_lettering_round_most_of_a_ring(shipped, share):
    text, em = "SALT MARSH KITE FAIR EVERY SUMMER", 6.0
    width = sum(
        (shipped.glyphs[shipped.map[ord(c)]].width / shipped.em if c != " " else 0.3) * em for c in text
    )
    paths = set_round(shipped, text, em, width / (2 * math.pi * share))
    found = values(lettering.shortest_letter, load(pdf_of(paths), ORDER))
    assert found == [pytest.approx(em * shipped.height("E"), rel=0.03)]


@pytest.mark.parametrize("text", ["Xop", "pex", "qua", "Gly", "Bel"])
@pytest.mark.parametrize("bitmap", [False, True])
def test_a_short_word_is_not_measured_askew(shipped, text, bitmap):
    scene = outlined(shipped, text, 7.0)
    art = load(png_of(scene, 250) if bitmap else the_set.pdf(scene), ORDER)
    wanted = 7.0 / shipped.height("E") * min(shipped.height(c) for c in text)
    assert values(lettering.shortest_letter, art) == [pytest.approx(wanted, rel=0.03)]


@pytest.mark.parametrize("text", ["ELK", "HIM"])
@pytest.mark.parametrize("degrees", [-40, 0, 55])
def test_a_short_word_on_a_bend_of_its_own(shipped, text, degrees):
    """Nothing else in the art tells where the centre of the bend is: the letters' own stems do."""
    paths = set_round(shipped, text, 9.0, 16.0, clockwise_from=degrees)
    found = values(lettering.shortest_letter, load(pdf_of(paths), ORDER))
    assert found == [pytest.approx(9.0 * shipped.height("E"), rel=0.05)]


@pytest.mark.parametrize(
    "text,radius", [("VFX", 11.0), ("SAL", 11.0), ("SAL", 18.0), ("Fly", 11.0), ("Fly", 14.0)]
)
def test_three_letters_without_stems_at_the_ends_on_a_bend(shipped, text, radius):
    """No upright stroke tells how the first and the last are turned: how the word reads does."""
    paths = set_round(shipped, text, 9.0, radius)
    found = values(lettering.shortest_letter, load(pdf_of(paths), ORDER))
    wanted = 9.0 * min(shipped.height(c) for c in text)
    assert found == [pytest.approx(wanted, rel=0.03)]


@pytest.mark.parametrize(
    "text,slant",
    [
        *((text, slant) for text in ("Kiln", "fine", "MILE", "HILL") for slant in (10, 14)),
    ],
)
def test_a_short_word_in_italics_stands_on_its_own_baseline(shipped, text, slant):
    """Its stems lean; its feet and tops are level all the same."""
    em, lean, x, paths = 10.0, math.tan(math.radians(slant)), 12.0, []
    k = em / shipped.em
    for char in text:
        paths.append(shipped.path(char, (k, 0, lean * k, -k, x, 30.0)))
        x += shipped.glyphs[shipped.map[ord(char)]].width * k
    found = values(lettering.shortest_letter, load(pdf_of(paths, (80, 50)), ORDER))
    bare = {"i": "x", "f": "f"}
    wanted = em * min(shipped.height(bare.get(c, c)) for c in text)
    assert found == [pytest.approx(wanted, rel=0.03)]


@pytest.mark.parametrize("text", ["BOARDED", "DOORS"])
@pytest.mark.parametrize("radius", [None, 26.0])
def test_the_rims_of_counters_are_no_letters(shipped, text, radius):
    """A letter drawn as an outline has two lines where it has a counter: the inner one is no letter of the row."""
    em, pen = 10.0, 0.5
    straight = [g.path for g in shipped.run(text, em, (12, 40)).glyphs]
    paths = set_round(shipped, text, em, radius) if radius else straight
    items = [the_set.Item(p, "#1b2a6b", pen) for p in paths]
    art = load(the_set.pdf(the_set.Scene(120, 120, items, [])), ORDER)
    found = values(lettering.shortest_letter, art)
    wanted = em * min(shipped.height(c) for c in text) + pen
    assert found == [pytest.approx(wanted, rel=0.03)]


def test_a_letter_in_a_thin_ring_stays(shipped):
    """One hollow letter in a round frame of about its own stroke is no rim of a counter."""
    run = shipped.run("O", 6.0, (17.8, 22.0))
    body = load(
        pdf_of([run.glyphs[0].path], under=[the_set.Item(the_set.ellipse(20, 20, 9, 9), "#1b2a6b", 0.8)]),
        ORDER,
    )
    window = (-1.0, -1.0, body.width_mm + 1, body.height_mm + 1)
    shapes = plate_shapes(body.coverage(0, window, 20), window[:2], 20, 0)
    covered = [s for s in shapes if not s.is_open]
    assert len(covered) == 2 and without_rims(covered) == covered


def test_rows_that_one_ink_prints_alone_are_looked_at_once(shipped):
    first, second = shipped.run("MARSH", 6.0, (10, 20)), shipped.run("KITES", 6.0, (10, 34))
    items = [the_set.Item(g.path, "#1b2a6b") for g in first.glyphs]
    items += [the_set.Item(g.path, ("#1b2a6b", "#b3121d")[n % 2]) for n, g in enumerate(second.glyphs)]
    art = load(the_set.pdf(the_set.Scene(60, 45, items, [])), ORDER)
    rows = [c for c in candidates(art).found if len(c.members) == 5]
    assert sorted(c.members[0].ink is None for c in rows) == [False, True]
    assert values(lettering.shortest_letter, art) == pytest.approx(
        [6.0 * shipped.height("E")] * len(lettering.lines(art)), rel=0.03
    )


def test_a_lower_o_counts_though_it_is_a_plain_ring(shipped):
    """In drawn faces the O is often the lowest letter; alone it looks like an ornament."""
    k, x, paths = 12.0 / shipped.em, 10.0, []
    for char in "MOTOR":
        size = 0.9 * k if char == "O" else k
        paths.append(shipped.path(char, (size, 0, 0, -size, x, 30.0)))
        x += shipped.glyphs[shipped.map[ord(char)]].width * k
    found = values(lettering.shortest_letter, load(pdf_of(paths, (90, 45)), ORDER))
    assert found == [pytest.approx(0.9 * 12.0 * shipped.height("O"), rel=0.02)]


def bridged(shipped, text, em, bridge) -> the_set.Scene:
    """Capitals with an upright bridge through the middle of each, as a stencil has."""
    k, x, items = em / shipped.em, 8.0, []
    for char in text:
        path = shipped.path(char, (k, 0, 0, -k, x, 30.0))
        items.append(the_set.Item(path, "#1b2a6b"))
        low, high = path.box()[0], path.box()[2]
        middle = low + 0.42 * (high - low)
        items.append(the_set.Item(the_set.rectangle(middle, 5, middle + bridge, 35), "#ffffff"))
        x += shipped.glyphs[shipped.map[ord(char)]].width * k * 1.08
    return the_set.Scene(x + 10, 45, items, [])


@pytest.mark.parametrize("text", ["BOARDED", "BROADER", "GARBAGE"])
def test_letters_with_stencil_bridges_are_measured_whole(shipped, text):
    em = 11.0
    found = values(lettering.shortest_letter, load(the_set.pdf(bridged(shipped, text, em, 0.7)), ORDER))
    assert found == [pytest.approx(em * min(shipped.height(c) for c in text), rel=0.03)]


def test_letters_that_are_whole_are_left_as_they_are(shipped):
    """Nothing is put together in a line without a letter in pieces, though letters stand close."""
    for text in ("filling", "MILLIMETRE", "rnrnrn", "Salt marsh hill"):
        art = load(the_set.pdf(outlined(shipped, text, 6.0, size=(110, 60))), ORDER)
        line = max(lettering.lines(art), key=lambda one: len(one.letters))
        assert len(line.letters) == len(text.replace(" ", "")), text


def test_a_row_of_one_or_two_shapes_has_no_pieces_to_put_together():
    assert put_together([], None, np.array([])) is None


def test_a_shadow_does_not_make_letters_taller_in_a_bitmap(shipped):
    plain = outlined(shipped, "MARSH KITE", 5.0)
    shade = [the_set.Item(i.path.moved(1, 0.5, 0.5), "#e07b00") for i in plain.items]
    art = load(png_of(the_set.Scene(plain.width, plain.height, shade + plain.items, []), 300), ORDER)
    assert min(values(lettering.shortest_letter, art)) == pytest.approx(5.0, rel=0.04)


# ------------------------------------------------------------------------- scripts the ruler is not made for


def set_in(face: Face, script: str, text: str, height: float, weld=False) -> bytes:
    """A line in an open font of the system, as a PDF of outlines."""
    rng = the_set.random.Random(1)
    line = the_set.set_line(rng, face, script, height, text)
    paths = the_set.place(line, line.width / 2 + 10, 30)
    return pdf_of([the_set._welded(paths)] if weld else paths, (line.width + 20, 60))


@pytest.mark.parametrize("weld", [False, True], ids=["each letter an outline", "one outline"])
@pytest.mark.parametrize("file", ["DancingScript-Bold.otf", "lobster.otf"])
@pytest.mark.parametrize("text", ["Salt marsh", "Kite fair"])
def test_connected_writing_is_asked_about_however_it_was_drawn(file, text, weld):
    art = load(set_in(Face(file, "script"), "L", text, 5.0, weld), ORDER)
    assert values(lettering.shortest_letter, art) == []
    assert values(lettering.unsure, art)[0] >= 1


AMIRI, DEJAVU = "Amiri-Regular.ttf", "DejaVuSans-Bold.ttf"


@pytest.mark.parametrize(
    "file,text",
    [(file, text) for file in (DEJAVU, AMIRI) for text in ("سلمون", "كلميد", "طابور", "درهال نورفا")],
)
def test_arabic_is_asked_about_and_measured_by_no_ruler(file, text):
    art = load(set_in(Face(file, "arabic", "A"), "A", text, 7.0), ORDER)
    assert values(lettering.shortest_letter, art) == []
    assert values(lettering.unsure, art)[0] >= 1


@pytest.mark.parametrize("text", ["山風海", "さくら", "カモメ", "바람소금"])
def test_han_kana_and_hangul_are_asked_about(text):
    art = load(set_in(Face("wqy-microhei.ttc", "cjk", "J"), "J", text, 8.0), ORDER)
    assert values(lettering.shortest_letter, art) == []
    assert values(lettering.unsure, art)[0] >= 1


@pytest.mark.parametrize("colour", ["#1b2a6b", "#ffffff"], ids=["printed", "knocked out"])
@pytest.mark.parametrize("tight", [0.93, 0.87])
def test_letters_that_touch_are_no_connected_writing(shipped, tight, colour):
    """Set close, each an outline of its own: measured, and not asked about as a script would be."""
    panel = [the_set.Item(the_set.rectangle(2, 15, 88, 42), "#b3121d")] if colour == "#ffffff" else []
    k, x, paths = 9.0 / shipped.em, 10.0, []
    for char in "HARMED":
        paths.append(shipped.path(char, (k, 0, 0, -k, x, 30.0)))
        x += shipped.glyphs[shipped.map[ord(char)]].width * k * tight
    art = load(pdf_of(paths, (90, 50), colour, panel), ORDER)
    assert values(lettering.shortest_letter, art) == [pytest.approx(9.0 * shipped.height("E"), rel=0.02)]
    assert values(lettering.unsure, art) == [0]


@pytest.mark.parametrize("name", ["qr-no-margin.svg", "qr-0.8mm-squares-clean.pdf"])
def test_the_squares_of_a_code_are_no_writing(name):
    art = load((File(__file__).parents[1] / "sample_art" / "inbox" / name).read_bytes(), Order())
    assert codes.codes(art)
    assert not [line.script for line in lettering.lines(art) if line.script]
