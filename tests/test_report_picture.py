"""Pictures: the art untouched, its places marked around and never covered, labels apart, scales true."""

import io

import numpy as np
import pytest
from PIL import Image

import report_demo as demo
from preflight.findings import Severity
from preflight.report import marks, picture
from preflight.report.data import numbered


def pixels(png):
    return np.asarray(Image.open(io.BytesIO(png)).convert("RGB")).astype(int)


@pytest.fixture(scope="module")
def failing():
    return demo.pictures_of("failing")


@pytest.fixture(scope="module")
def crowded():
    return demo.pictures_of("crowded")


def test_sizes_and_scale(failing):
    assert max(pixels(failing.marked).shape[:2]) == picture.LONG_SIDE == failing.width
    assert failing.clean_size[0] == pytest.approx(80 * failing.pixels_per_mm, abs=1)
    assert failing.frame[2] - failing.frame[0] == failing.clean_size[0]
    assert pixels(failing.thumbnail).shape == (picture.THUMBNAIL, picture.THUMBNAIL, 3)


def test_the_clean_picture_is_the_art_itself(failing):
    art = demo.art()
    assert np.array_equal(pixels(failing.clean), art.picture(art.box, failing.pixels_per_mm, demo.NAVY))


def test_every_place_stays_visible(failing):
    """Inside each finding's box the marked picture is the art, unless another finding's outline crosses it."""
    marked, clean = pixels(failing.marked), pixels(failing.clean)
    left, top = int(failing.frame[0]), int(failing.frame[1])
    shown = marked[top : top + clean.shape[0], left : left + clean.shape[1]]
    for finding in (demo.LETTERING, demo.SPECK):
        x0, y0, x1, y1 = (round(v * failing.pixels_per_mm) for v in finding.where[0].box_mm)
        assert np.array_equal(shown[y0:y1, x0:x1], clean[y0:y1, x0:x1])
        assert not np.array_equal(
            shown[y0 - 12 : y1 + 12, x0 - 12 : x1 + 12], clean[y0 - 12 : y1 + 12, x0 - 12 : x1 + 12]
        )


def test_outlines_lie_around_their_places(failing):
    places = {n.number: [p.box_mm for p in n.finding.where] for n in numbered(demo.failing().findings)}
    for mark in failing.marks:
        box = [(v - failing.frame[side % 2]) / failing.pixels_per_mm for side, v in enumerate(mark.outline)]
        assert any(
            box[0] < b[0] and box[1] < b[1] and box[2] > b[2] and box[3] > b[3] for b in places[mark.number]
        )
    assert failing.marked_numbers == {1, 2, 3, 4, 6}  # 5 has no place


@pytest.mark.parametrize("which", ["failing", "crowded"])
def test_labels_are_apart_inside_and_off_other_outlines(which, request):
    pictures = request.getfixturevalue(which)
    half = marks.LABEL / 2
    boxes = {
        mark: (mark.label[0] - half, mark.label[1] - half, mark.label[0] + half, mark.label[1] + half)
        for mark in pictures.marks
        if mark.label
    }
    assert len(boxes) >= 7
    for mark, box in boxes.items():
        assert box[0] >= 0 and box[1] >= 0 and box[2] <= pictures.width and box[3] <= pictures.height
        for other, there in boxes.items():
            assert (
                mark is other
                or box[0] >= there[2]
                or there[0] >= box[2]
                or box[1] >= there[3]
                or there[1] >= box[3]
            )
        for other in pictures.marks:
            x0, y0, x1, y1 = other.outline
            small = (x1 - x0) * (y1 - y0) < 0.05 * pictures.width * pictures.height
            assert not small or box[0] >= x1 or x0 >= box[2] or box[1] >= y1 or y0 >= box[3]


def test_labels_say_their_number_in_the_shape_of_their_severity(failing):
    shown = pixels(failing.marked)
    for mark in (m for m in failing.marks if m.label):
        x, y = (int(v) for v in mark.label)
        reach = int(marks.LABEL / 2) - 6
        shade = np.array([int(marks.SHADES[mark.severity][i : i + 2], 16) for i in (1, 3, 5)])
        corner = (
            np.abs(shown[y - reach, x - reach] - shade).max() < 12
        )  # a square fills its corner, a disc does not
        if mark.severity is Severity.MUST:
            assert corner
        elif mark.severity is Severity.QUERY:
            assert not corner and np.abs(shown[y - reach, x] - shade).max() < 12
        middle = shown[y - 14 : y + 14, x - 14 : x + 14]
        light, dark = (np.abs(middle - c).max(2) < 60 for c in (np.array([255, 255, 255]), shade))
        assert light.sum() > 40 and dark.sum() > 40  # a figure in two colours


def test_many_findings_keep_a_label_each_as_far_as_there_is_room(crowded):
    labelled = [mark.number for mark in crowded.marks if mark.label]
    assert labelled and len(labelled) == len(set(labelled)) <= 26 and set(range(1, 21)) <= set(labelled)
    assert len(crowded.marks) <= picture.MOST_OUTLINES and crowded.marked_numbers == set(range(1, 31))
    assert len(crowded.close_ups) <= picture.MOST_CLOSE_UPS


@pytest.mark.parametrize(
    "ground, art",
    [("#000000", "#000000"), ("#ffffff", "#ffffff"), ("#b33c00", "#b33c00"), ("#0a5a9c", "#0a5a9c")],
)
def test_outlines_show_on_any_art(ground, art):
    """On a ground of any colour, the mark's own included, something of the outline stands out by 3 to 1 (WCAG 2.2, 1.4.11)."""
    from preflight.colour import contrast, hex_of

    class Flat:
        def picture(self, box, per_mm, rgb):
            return np.full(
                (round((box[3] - box[1]) * per_mm), round((box[2] - box[0]) * per_mm), 3), rgb, np.uint8
            )

    for finding in (demo.LETTERING, demo.SPECK, demo.ACCEPTED):
        pictures = picture.make(demo.art(plates=Flat()), (finding,), ground)
        shown = pixels(pictures.marked)
        x0, y0, x1, _ = (int(v) for v in pictures.marks[0].outline)
        strip = shown[max(0, y0 - 4) : y0 + 5, x0 + 4 : x1 - 4].reshape(-1, 3)
        assert max(contrast(hex_of(p), ground) for p in strip[:: max(1, len(strip) // 400)]) >= 3


def test_the_scale_bar_is_as_long_as_it_says(failing):
    strip = pixels(failing.marked)[failing.height - 27]
    dark = np.flatnonzero((strip < 80).all(1))
    bar = dark[: np.flatnonzero(np.append(np.diff(dark), 9) > 1)[0] + 1]
    assert (bar[-1] - bar[0]) / failing.pixels_per_mm == pytest.approx(failing.scale_bar_mm, abs=0.3)


@pytest.mark.parametrize(
    "most, length", [(34.0, 20.0), (50.0, 50.0), (9.99, 5.0), (0.7, 0.5), (1.0, 1.0), (4999, 2000)]
)
def test_bars_are_round(most, length):
    assert picture.nice_length(most) == pytest.approx(length)


def test_close_ups_enlarge_the_worst_place_to_their_scale(failing):
    near = failing.close_up(1)
    assert near.pixels_per_mm >= 1.5 * failing.pixels_per_mm
    x0, y0, x1, y1 = near.box_mm
    box = demo.LETTERING.where[0].box_mm
    assert x0 < box[0] and y0 < box[1] and x1 > box[2] and y1 > box[3]
    assert (x1 - x0) * near.pixels_per_mm == pytest.approx(near.size[0])
    assert [c.number for c in failing.close_ups] == [1, 2, 3, 4]  # 5 has no place, 6 is large already
    speck = pixels(failing.close_up(4).png)[: picture.CLOSE_UP[1]]
    red = (np.abs(speck - np.array([0xC8, 0x31, 0x2B])) < 30).all(2)
    across = np.ptp(np.flatnonzero(red.any(0))) + 1
    assert across / failing.close_up(4).pixels_per_mm == pytest.approx(0.4, abs=0.05)  # the speck is 0.4 mm


def test_strange_places_are_shown_or_left_out_but_never_break():
    places = (
        demo.place(-50, -50, -40, -40),
        demo.place(200, 200, 300, 300),
        demo.place(5, 5, 5, 5),
        demo.place(9, 9, 4, 4),
        demo.place(1, 1, 2, 2, page=2),
        demo.place(float("nan"), 0, 1, 1),
        demo.place(0, 0, float("inf"), 1),
    )
    odd = demo.report(
        *(
            demo.Finding(
                rule=f"a/{n}",
                check=demo.Check.FONT,
                severity=Severity.MUST,
                says=".",
                remedy="",
                source="",
                where=(p,),
            )
            for n, p in enumerate(places)
        )
    )
    made = picture.make(demo.art(), odd.findings, "nonsense")
    assert made.ground == "#ffffff" and made.marked_numbers == {1, 2, 3, 4}


@pytest.mark.parametrize("width, height", [(900.0, 1.0), (0.5, 300.0), (4.0, 4.0), (5000.0, 3000.0)])
def test_any_shape_and_size(width, height):
    from dataclasses import replace

    class Half:
        def picture(self, box, per_mm, rgb):
            made = np.full(
                (max(1, round((box[3] - box[1]) * per_mm)), max(1, round((box[2] - box[0]) * per_mm)), 3),
                rgb,
                np.uint8,
            )
            made[:, : made.shape[1] // 2] = 200
            return made

    art = replace(demo.art(plates=Half()), width_mm=width, height_mm=height)
    made = picture.make(
        art,
        (
            demo.Finding(
                rule="a/b",
                check=demo.Check.FONT,
                severity=Severity.QUERY,
                says=".",
                remedy="",
                source="",
                where=(demo.place(0, 0, width, height),),
            ),
        ),
        "#1d2b4f",
    )
    assert max(made.width, made.height - 54) == pytest.approx(picture.LONG_SIDE, abs=2)
    assert len(made.marks) == 1 and made.marks[0].label


def test_coinciding_places_are_nested():
    same = [(n, Severity.MUST, (100.0, 100.0, 300.0, 200.0)) for n in (1, 2, 3)]
    drawn = [mark.outline for mark in marks.outlines(same, (600, 600))]
    assert all(b[0] <= a[0] - 8 and b[3] >= a[3] + 8 for a, b in zip(drawn, drawn[1:], strict=False))


def test_places_of_one_finding_that_meet_are_one():
    near = [
        (1, Severity.MUST, (100.0, 100.0, 120.0, 110.0)),
        (1, Severity.MUST, (122.0, 100.0, 140.0, 110.0)),
        (1, Severity.MUST, (400.0, 400.0, 420.0, 410.0)),
    ]
    assert len(marks.outlines(near, (600, 600))) == 2
