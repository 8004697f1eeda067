"""Small windows are drawn from what lies near them: the same to the last grey, and in less time on a crowded page."""

import time

import numpy as np
import pymupdf
import pytest

from preflight.load import cells, load
from preflight.load.cells import Cells
from preflight.load.plates import _GREY, ALL, _render
from preflight.order import Order

MM = 72 / 25.4
rng = np.random.default_rng(41)


def crowded(count: int) -> bytes:
    """An A4 page of many small things of every kind: fills, thin and thick pens, dashes, clips, pictures, letters."""
    document = pymupdf.open()
    page = document.new_page(width=595, height=842)
    dots = pymupdf.Pixmap(pymupdf.csGRAY, 4, 4, bytes([0, 255] * 8), False)
    page.insert_image(pymupdf.Rect(10, 10, 40, 40), pixmap=dots)
    image = page.get_images()[0][7]
    page.insert_text((20, 60), "tide", fontsize=9)
    font = next(iter(page.get_fonts()))[4]
    content = []
    for number in range(count):
        x, y, size = rng.uniform(5, 580), rng.uniform(5, 830), rng.uniform(2, 30)
        kind = number % 6
        one = {
            0: f"{x:.2f} {y:.2f} {size:.2f} {size / 3:.2f} re f",
            1: f"0 w {x:.2f} {y:.2f} m {x + size:.2f} {y + size:.2f} l S",
            2: f"{size / 4:.2f} w [3 2] 0 d {x:.2f} {y:.2f} m {x + 3 * size:.2f} {y:.2f} l S",
            3: f"{x:.2f} {y:.2f} m {x + size:.2f} {y:.2f} l {x:.2f} {y + size:.2f} l h W n {x:.2f} {y:.2f} 50 50 re f",
            4: f"{size:.2f} 0 4 {size:.2f} {x:.2f} {y:.2f} cm /{image} Do",
            5: f"BT /{font} {size:.2f} Tf {x:.2f} {y:.2f} Td (kite) Tj ET",
        }[kind]
        content.append(f"q {one} Q")
    number = document.get_new_xref()
    document.update_object(number, "<<>>")
    document.update_stream(number, "\n".join(content).encode())
    document.xref_set_key(page.xref, "Contents", f"{number} 0 R")
    return document.tobytes()


@pytest.fixture(scope="module")
def art():
    return load(crowded(3000), Order())


def windows(count: int, most: float = 12.0):
    for _ in range(count):
        x, y, width, height = rng.uniform(-3, 205), rng.uniform(-3, 290), *rng.uniform(0.3, most, 2)
        yield (x, y, x + width, y + height)


@pytest.mark.parametrize("density", [48.0, 20.0, 9.0, 2.25])
def test_a_window_is_the_same_from_its_cell_as_from_the_whole_page(art, density):
    whole = art.plates.lists[ALL]
    cut = Cells(whole)
    cut._asked = cells.SOON
    from_cells = 0
    for box in windows(150):
        near = cut.near(*(at * MM for at in box))
        from_cells += near is not whole
        ours, theirs = (_render(one, box, density, _GREY, 255) for one in (near, whole))
        np.testing.assert_array_equal(ours, theirs)
    assert from_cells > 100


def test_a_few_windows_are_not_worth_cutting(art):
    cut = Cells(art.plates.lists[ALL])
    for box in windows(cells.SOON):
        assert cut.near(*box) is cut.whole


def test_windows_wider_than_a_cell_or_off_the_page_are_drawn_from_the_whole(art):
    cut = Cells(art.plates.lists[ALL])
    cut._asked = cells.SOON
    for box in ((0, 0, 595, 842), (100, 0, 120, 842), (-500, -500, -490, -490), (700, 10, 710, 20)):
        assert cut.near(*box) is cut.whole


def test_a_crowded_page_is_drawn_faster():
    boxes = [(x, y, x + 1.5, y + 1.5) for x, y, _, _ in windows(600)]
    crowd = load(crowded(12_000), Order())
    whole = crowd.plates.lists[ALL]
    cut = Cells(whole)
    spent = []
    for choose in (lambda box: whole, lambda box: cut.near(*(at * MM for at in box))):
        start = time.process_time()
        for box in boxes:
            _render(choose(box), box, 20.0, _GREY, 255)
        spent.append(time.process_time() - start)
    assert spent[1] < 0.7 * spent[0]
