"""How windows are laid out on sheets and parted: nothing overlaps, nothing is lost, whatever their sizes."""

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from preflight.measure.width_merge import merged
from preflight.measure.width_narrow import Narrow
from preflight.measure.width_sheet import SIDE, sheets
from preflight.measure.width_source import Window
from preflight.measure.width_windows import Places, jobs, parts_with_gaps

sizes = st.lists(st.tuples(st.integers(1, 400), st.integers(1, 400)), max_size=60)


@settings(max_examples=60, deadline=None)
@given(sizes=sizes, apart=st.integers(1, 9))
def test_windows_on_a_sheet_lie_apart_and_each_lies_on_one(sizes, apart):
    windows = [Window(7 * n, -n, width, height) for n, (width, height) in enumerate(sizes)]
    seen = []
    for sheet in sheets(windows, apart):
        taken = np.zeros((sheet.height + apart, sheet.width + apart), int)
        owners = sheet.owners(windows)
        for number, left, top in sheet.places:
            one = windows[number]
            assert left + one.width <= sheet.width
            assert top + one.height <= sheet.height
            taken[top : top + one.height + apart, left : left + one.width + apart] += 1
            cell = sheet.owners(windows)
            assert owners[top // 4, left // 4] == number
            assert cell[(top + one.height - 1) // 4, (left + one.width - 1) // 4] == number
            seen.append(number)
        assert taken.max() <= 1
        assert sheet.height <= max(SIDE, max(windows[n].height for n, *_ in sheet.places) + apart + 4)
    assert sorted(seen) == list(range(len(windows)))


@settings(max_examples=40, deadline=None)
@given(data=st.data(), seed=st.integers(0, 999), many=st.integers(1, 400))
def test_every_block_lies_in_a_window_of_its_plate_and_every_gap_in_a_part_of_one(data, seed, many):
    random = np.random.default_rng(seed)
    at = np.unique(random.integers(0, data.draw(st.sampled_from((12, 60, 400))), (many, 2)), axis=0)
    inks, plates = (4, 1, None), random.integers(0, 3, len(at))
    kinds = random.integers(0, 3, len(at))
    lines, gaps = (np.where(kinds != k, 90, 0).astype(np.uint8) for k in (0, 1))
    side, density = 0.4, 17.5
    places = Places(side, 2.0, inks, plates, at[:, 0], at[:, 1], lines, gaps)
    found = jobs(places, 1, density, slow=False, tile=data.draw(st.sampled_from((288, 1344))))
    assert [inks.index(one.ink) for one in found] == sorted(inks.index(one.ink) for one in found)

    def holds(window: Window, row: int, column: int) -> bool:
        x0, y0 = ((v * side - 2.0) * density for v in (column, row))
        x1, y1 = x0 + side * density, y0 + side * density
        return (
            window.x <= x0
            and window.y <= y0
            and x1 <= window.x + window.width
            and y1 <= window.y + window.height
        )

    for (row, column), line, gap, plate in zip(at.tolist(), lines, gaps, plates.tolist(), strict=True):
        own = [one for one in found if one.ink == inks[plate]]
        assert not line or any(one.line and holds(one.window, row, column) for one in own)
        parts = [
            part.window
            for one in own
            if one.gap
            for part, _ in parts_with_gaps(one, np.zeros((one.window.height, one.window.width), np.uint8))
        ]
        assert not gap or any(holds(part, row, column) for part in parts)
    for one in found:
        cover = random.integers(0, 255, (one.window.height, one.window.width), dtype=np.uint8)
        for part, own in parts_with_gaps(one, cover):
            assert own.shape == (part.window.height, part.window.width)


def test_pieces_put_together_once_are_not_put_together_again():
    def piece(x: float) -> Narrow:
        points = np.array([[x, 0.0], [x + 1.0, 0.0]])
        return Narrow("line", (0,), 0.2, 0.2, 1.0, (x, -0.1, x + 1, 0.1), points, 1.0, 0.3, (x, 0.0), 17.5)

    known: dict = {}
    pieces = [piece(0.0), piece(1.0), piece(5.0)]
    first = merged(pieces, known)
    assert [one.length for one in first] == [2.0, 1.0]
    assert [id(one) for one in merged(pieces, known)] == [id(one) for one in first]
    assert [one.length for one in merged(pieces[:2], known)] == [2.0]
    assert [one.length for one in merged(pieces[1:], known)] == [1.0, 1.0]
