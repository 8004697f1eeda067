"""Boxes of what fades: a craftsman frames what is visibly different from the sheet, and no flat shape beside it."""

import cv2
import numpy as np
import pytest
import skimage.data
from skimage.color import rgb2lab

import tone_art
from eval_tone import overlap
from preflight.pixels import Tone, analyse

WHITE, NAVY, LILAC, GREEN = (255, 255, 255), (29, 43, 79), (176, 128, 228), (60, 160, 80)


def sent(art: np.ndarray, quality: int | None) -> Tone:
    """The picture read as it was sent: without loss, or as a JPEG."""
    if quality is None:
        return analyse(art)
    return analyse(tone_art.compressed(art, "jpeg", quality), lossy=True, quality=quality)


def shadowed(shapes: list[tuple[np.ndarray, tuple[int, int, int]]], ground, reach: float, strength: float):
    """Shapes (coverage 0 to 255, colour) on a ground, each with a soft shadow; and where a shadow differs visibly from it.

    Visibly: by 4 of CIE 1976 Delta E, nearly twice what is just noticed (2.3 by M. Mahy and others 1994, from memory).
    """
    height, width = shapes[0][0].shape
    art = np.full((height, width, 3), ground, np.float32)
    shade = np.zeros((height, width), np.float32)
    move = np.float32([[1, 0, 0.6 * reach], [0, 1, 0.6 * reach]])
    for cover, colour in shapes:
        part = cover.astype(np.float32) / 255
        soft = cv2.warpAffine(cv2.GaussianBlur(part, (0, 0), reach / 2), move, (width, height)) * strength
        art = (
            art * (1 - soft[..., None]) * (1 - part[..., None])
            + np.array(colour, np.float32) * part[..., None]
        )
        shade = np.maximum(shade, soft) * (part < 0.02)
    lab = rgb2lab(art / 255) - rgb2lab(np.array(ground, float)[None, None] / 255)
    return np.rint(art).astype(np.uint8), (np.linalg.norm(lab, axis=2) > 4) & (shade > 0)


def bounds(mask: np.ndarray, part: tuple[slice, slice]) -> tuple[int, int, int, int]:
    """The box of what is set in a part of a mask."""
    ys, xs = np.nonzero(mask[part])
    x0, y0 = part[1].start, part[0].start
    return x0 + int(xs.min()), y0 + int(ys.min()), x0 + int(xs.max()) + 1, y0 + int(ys.max()) + 1


def bare(height: int = 640, width: int = 820) -> np.ndarray:
    return np.zeros((height, width), np.uint8)


@pytest.mark.parametrize(
    ("ground", "reach", "strength", "pen", "quality"),
    [
        ((120, 80, 160), 10, 0.5, 11, 85),
        ((120, 80, 160), 7, 0.7, 8, 75),
        (LILAC, 7, 0.7, 8, 75),
        (LILAC, 8, 0.6, 11, None),
    ],
)
def test_one_shadow_found_tells_of_the_narrow_ones_of_thin_lines(ground, reach, strength, pen, quality):
    """Shadows of lines are too narrow and too disturbed by a JPEG to be found by themselves."""
    disc, ring, cross, bars = bare(), bare(), bare(), bare()
    cv2.circle(disc, (150, 150), 75, 255, -1, cv2.LINE_AA)
    cv2.circle(ring, (620, 150), 70, 255, pen, cv2.LINE_AA)
    cv2.line(cross, (100, 420), (230, 560), 255, pen, cv2.LINE_AA)
    cv2.line(cross, (230, 420), (100, 560), 255, pen, cv2.LINE_AA)
    cv2.rectangle(bars, (540, 430), (700, 560), 255, pen, cv2.LINE_AA)
    shapes = [
        (disc, (214, 44, 120)),
        (ring, (110, 190, 140)),
        (cross, (100, 100, 100)),
        (bars, (200, 70, 30)),
    ]
    art, seen = shadowed(shapes, ground, reach, strength)
    fades = sent(art, quality).fades
    assert {fade.kind for fade in fades} <= {"soft edge", "gradient"}
    for down in (slice(0, 320), slice(320, 640)):
        for across in (slice(0, 400), slice(400, 820)):
            truth = bounds(seen, (down, across))
            assert max(overlap(truth, fade.box) for fade in fades) > 0.7, truth


@pytest.mark.parametrize("quality", [None, 85])
def test_shadows_of_things_apart_have_boxes_of_their_own(quality):
    """The items of a list, a disc and a bar each: bare sheet lies between all of them."""
    shapes = []
    places = []
    for y in (250, 333, 416):
        disc, bar = bare(960, 1145), bare(960, 1145)
        cv2.circle(disc, (222, y), 23, 255, -1, cv2.LINE_AA)
        cv2.rectangle(bar, (278, y - 14), (440, y + 14), 255, -1)
        shapes += [(disc, (50, 230, 90)), (bar, (50, 230, 90))]
        places += [(slice(y - 36, y + 46), slice(186, 268)), (slice(y - 24, y + 34), slice(268, 462))]
    art, seen = shadowed(shapes, WHITE, 10, 0.5)
    fades = sent(art, quality).fades
    for place in places:
        truth = bounds(seen, place)
        assert max(overlap(truth, fade.box) for fade in fades) > 0.7, truth


@pytest.mark.parametrize("quality", [None, 80])
def test_a_flat_panel_in_a_colour_of_the_shadow_is_no_shadow(quality):
    """A light grey panel lies on the path from white to a black shadow: it is an ink."""
    disc, panel = bare(), bare()
    cv2.circle(disc, (180, 200), 100, 255, -1, cv2.LINE_AA)
    cv2.rectangle(panel, (460, 120), (760, 560), 255, -1)
    art, _ = shadowed([(disc, NAVY)], WHITE, 14, 0.6)
    art[panel > 0] = (205, 205, 205)
    tone = sent(art, quality)
    assert any(fade.kind == "soft edge" and fade.box[2] < 400 for fade in tone.fades)
    assert all(fade.box[2] < 400 for fade in tone.fades)


@pytest.mark.parametrize("quality", [95, 88])
def test_a_sliver_of_a_flat_shape_is_no_end_of_a_grey_gradient(quality):
    """Black shows narrowly from behind a blue disc, and hangs together with a gradient from black to the white of the sheet."""
    art = np.full((2600, 3900, 3), 255, np.uint8)
    rng = np.random.default_rng(3)
    for _ in range(60):
        colour = rng.choice([[200, 30, 40], [20, 60, 160], [10, 10, 10], [240, 180, 20], [30, 140, 70]])
        x, y, radius = rng.integers(0, 3900), rng.integers(0, 2600), rng.integers(65, 325)
        cv2.circle(art, (int(x), int(y)), int(radius), [int(v) for v in colour], -1, cv2.LINE_AA)
    art[1300:1733, 1300:2275] = np.linspace(0, 255, 975).astype(np.uint8)[None, :, None]
    (place,) = sent(art, quality).fades
    assert overlap(place.box, (1300, 1300, 2275, 1733)) > 0.85


@pytest.mark.parametrize("quality", [85, 60])
def test_soft_shadows_close_to_each_other_are_no_photograph(quality):
    """What compression leaves of wide shadows is uneven; their colours still lie on one path from the sheet."""
    shapes = []
    for k in range(6):
        cover = bare(800, 1100)
        cv2.circle(cover, (160 + 320 * (k % 3), 200 + 330 * (k // 3)), 90, 255, 20, cv2.LINE_AA)
        cv2.line(
            cover,
            (110 + 320 * (k % 3), 200 + 330 * (k // 3)),
            (210 + 320 * (k % 3), 200 + 330 * (k // 3)),
            255,
            16,
        )
        shapes.append((cover, ((140, 140, 140), (180, 92, 8), (78, 78, 78))[k % 3]))
    art, _ = shadowed(shapes, WHITE, 22, 0.55)
    kinds = {fade.kind for fade in sent(art, quality).fades}
    assert "soft edge" in kinds and "photograph" not in kinds


@pytest.mark.parametrize("quality", [None, 75, 50])
@pytest.mark.parametrize("name", ["coffee", "camera"])
def test_the_frame_of_a_photograph_leaves_out_the_shapes_it_covers(name, quality):
    """Photographs of scikit-image over flat shapes that stick out at three sides of it."""
    picture = getattr(skimage.data, name)()
    picture = np.dstack([picture] * 3) if picture.ndim == 2 else picture
    art = np.full((700, 1000, 3), 255, np.uint8)
    cv2.circle(art, (300, 180), 110, GREEN, 18, cv2.LINE_AA)
    cv2.rectangle(art, (560, 300), (760, 440), (147, 60, 160), 20)
    cv2.line(art, (280, 420), (420, 640), (230, 140, 20), 22, cv2.LINE_AA)
    art[200:500, 300:660] = picture[60:360, 100:460]
    found = [fade for fade in sent(art, quality).fades if fade.kind == "photograph"]
    assert found and max(overlap(fade.box, (300, 200, 660, 500)) for fade in found) > 0.9


def test_a_photograph_with_a_calm_half_is_framed_whole():
    """The sky over the camera man is a gradient by itself, and so is most of a soft grey picture."""
    art = np.full((700, 900, 3), 255, np.uint8)
    art[150:550, 250:650] = skimage.data.camera()[:400, 100:500, None]
    cv2.rectangle(art, (600, 500), (760, 620), GREEN, 16)
    tone = analyse(art)
    (fade,) = (fade for fade in tone.fades if fade.kind == "photograph")
    assert overlap(fade.box, (250, 150, 650, 550)) > 0.95
    assert not any(other is not fade and overlap(other.box, fade.box) for other in tone.fades)


def test_a_photograph_of_the_night_has_no_frame_of_one_of_its_stars():
    """Its dark sky runs round it like a sheet."""
    (fade,) = (fade for fade in analyse(skimage.data.hubble_deep_field()).fades if fade.kind == "photograph")
    height, width = skimage.data.hubble_deep_field().shape[:2]
    assert overlap(fade.box, (0, 0, width, height)) > 0.7


@pytest.mark.parametrize("softness", [5, 7])
def test_a_narrow_shadow_on_nothing_is_found_by_its_alpha(softness):
    """Rings' shadows a few pixels wide, in the alpha alone, whose steps may be as large as those of an edge."""
    shades = ((164, 138, 141), (217, 217, 217), (47, 167, 115), (201, 41, 156))
    rgb, cover = np.zeros((1400, 1700, 3), np.uint8), bare(1400, 1700)
    for k, shade in enumerate(shades):
        ring = bare(1400, 1700)
        cv2.circle(ring, (450 + 800 * (k % 2), 370 + 660 * (k // 2)), 200, 255, 36, cv2.LINE_AA)
        rgb[ring > 0], cover = shade, np.maximum(cover, ring)
    move = np.float32([[1, 0, 8], [0, 1, 8]])
    soft = (
        cv2.warpAffine(cv2.GaussianBlur(cover.astype(np.float32), (0, 0), softness), move, (1700, 1400))
        * 0.65
    )
    fades = analyse(rgb, np.maximum(np.rint(soft).astype(np.uint8), cover)).fades
    for x, y in ((450, 370), (1250, 370), (450, 1030), (1250, 1030)):
        assert (
            max((overlap((x - 210, y - 210, x + 236, y + 236), fade.box) for fade in fades), default=0) > 0.7
        )
    assert not analyse(rgb, cover).fades


def test_dark_dots_in_outlined_shapes_are_a_halftone():
    """The outline on white is many times as strong as dots of blue in black."""
    y, x = np.mgrid[0:800, 0:820]
    turn = 2 * np.pi / 4.26
    c, s = np.cos(0.4), np.sin(0.4)
    spot = np.cos(turn * (x * c + y * s)) + np.cos(turn * (y * c - x * s))
    lines = bare(800, 820)
    cv2.rectangle(lines, (200, 190), (560, 600), 255, 46, cv2.LINE_AA)
    for k in range(4):
        cv2.line(
            lines,
            (290 + 90 * (k % 2), 300 + 90 * (k // 2)),
            (330 + 90 * (k % 2), 300 + 90 * (k // 2)),
            255,
            46,
        )
    cover = lines[..., None] / 255
    inner = np.where((spot > np.linspace(-0.6, 0.8, 820)[None])[..., None], (8, 8, 20), (20, 10, 150))
    art = np.rint(255 * (1 - cover) + inner * cover).astype(np.uint8)
    for quality in (None, 85):
        kinds = {fade.kind for fade in sent(art, quality).fades}
        assert kinds == {"halftone"}, quality


@pytest.mark.parametrize("angle", [0.6, 0.75])
def test_fine_hatching_in_a_shape_is_no_gradient(angle):
    """Anti-aliased lines as wide as their gaps swell and shrink with the grid of the pixels."""
    y, x = np.mgrid[0:900, 0:1100].astype(np.float32)
    along = (x * np.cos(angle) + y * np.sin(angle)) / 5.3
    lines = np.clip((np.abs(along - np.floor(along) - 0.5) - 0.22) * 5.3 + 0.5, 0, 1)
    shape = bare(900, 1100)
    cv2.ellipse(shape, (520, 480), (95, 90), 0, 0, 180, 255, -1, cv2.LINE_AA)
    cv2.rectangle(shape, (440, 90), (600, 210), 255, -1)
    cover = (shape / 255 * lines)[..., None]
    art = np.full((900, 1100, 3), (76, 197, 221)) * (1 - cover) + np.array((71, 219, 89)) * cover
    cv2.rectangle(art, (30, 30), (200, 200), (87, 47, 156), -1)
    assert not sent(np.rint(art).astype(np.uint8), 85).fades
