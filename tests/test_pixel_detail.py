"""True detail, where edges alone mislead: colours as light as each other, pictures out of focus, the poorest compression."""

import cv2
import numpy as np
import pytest
import skimage.data

import tone_art
from preflight.pixels import analyse
from preflight.pixels.inks import FLAT_STEP, colours
from preflight.pixels.lab import lab_of, steps
from preflight.pixels.resampling import is_resampled

#: Two colours of nearly one luma (ITU-R BT.601: 166.5 and 169.5), far apart to the eye.
AS_LIGHT = ((38, 255, 48), (167, 192, 60))


def marks(ground, shade) -> np.ndarray:
    """A disc, a bar and a box, anti-aliased by exact coverage (4 x 4 samples a pixel)."""
    cover = np.zeros((1600, 2000), np.uint8)
    cv2.circle(cover, (600, 700), 380, 255, -1)
    cv2.line(cover, (100, 1400), (1900, 300), 255, 50)
    cv2.rectangle(cover, (1300, 800), (1800, 1400), 255, -1)
    part = cv2.resize(cover, (500, 400), interpolation=cv2.INTER_AREA)[..., None] / 255
    return np.rint(np.array(ground) * (1 - part) + np.array(shade) * part).astype(np.uint8)


def sent(rgb: np.ndarray, quality: int | None) -> float:
    """The enlargement of a picture sent without loss or as a JPEG."""
    if quality is None:
        return analyse(rgb).enlargement
    return analyse(tone_art.compressed(rgb, "jpeg", quality), lossy=True, quality=quality).enlargement


def crop(name: str, box: tuple[int, int, int, int], softness: float = 0.0) -> np.ndarray:
    """A part of a photograph that ships inside scikit-image, out of focus by a Gaussian blur."""
    picture = getattr(skimage.data, name)()
    picture = np.dstack([picture] * 3) if picture.ndim == 2 else picture
    part = np.ascontiguousarray(picture[box[1] : box[3], box[0] : box[2]])
    return cv2.GaussianBlur(part, (0, 0), softness) if softness else part


@pytest.mark.parametrize(("scale", "how"), [(2, "bicubic"), (3, "lanczos"), (4, "bilinear"), (4, "nearest")])
def test_colours_as_light_as_each_other_have_edges_too(scale, how):
    big = tone_art.enlarged(marks(*AS_LIGHT), scale, how)
    assert sent(big, None) == pytest.approx(scale, rel=0.25)
    if scale == 4:
        assert sent(big, 80) == pytest.approx(scale, rel=0.25)


@pytest.mark.parametrize("quality", [None, 50, 60, 75, 90])
def test_the_halved_colour_of_a_jpeg_is_no_enlargement(quality):
    assert sent(marks(*AS_LIGHT), quality) == 1.0


def test_overshoots_cut_off_at_black_and_white_make_no_edge_sharp():
    """Upright edges on whole pixels, enlarged by a cubic: 255 over the steepest step is 1.69 pixels at twice the size."""
    art = np.full((300, 400, 3), 255, np.uint8)
    for x in range(40, 360, 60):
        art[40:260, x : x + 30] = 0
    assert sent(art, None) == 1.0
    assert sent(tone_art.enlarged(art, 2, "bicubic"), None) == pytest.approx(2, rel=0.25)


@pytest.mark.parametrize("quality", [15, 20, 30])
def test_pale_edges_are_as_wide_as_the_poorest_compression_makes_them(quality):
    assert sent(marks((255, 255, 255), (138, 255, 249)), quality) == 1.0


@pytest.mark.parametrize("quality", [None, 50, 85])
@pytest.mark.parametrize(
    ("name", "box", "softness"),
    [
        ("cell", (0, 0, 500, 600), 0.0),
        ("retina", (100, 100, 1100, 1000), 0.5),
        ("coffee", (100, 60, 350, 260), 0.8),
        ("astronaut", (60, 40, 360, 340), 0.8),
        ("brick", (0, 0, 210, 210), 0.8),
        ("coins", (141, 88, 341, 288), 0.8),
    ],
)
def test_a_photograph_out_of_focus_is_not_enlarged(name, box, softness, quality):
    """Microscopes, soft lenses and soft subjects widen edges; nothing was interpolated."""
    assert sent(crop(name, box, softness), quality) == 1.0


@pytest.mark.parametrize("how", ["bilinear", "bicubic", "lanczos"])
@pytest.mark.parametrize("scale", [2, 3, 4])
def test_interpolation_leaves_a_rhythm_and_a_lens_none(scale, how):
    """Without loss at any scale, the soft subject too; through a JPEG at those that are no rhythm of its blocks."""
    for name, box in (("cell", (60, 60, 260, 300)), ("gravel", (0, 0, 200, 200))):
        part = crop(name, box)
        big = tone_art.enlarged(part, scale, how)
        assert is_resampled(cv2.cvtColor(big, cv2.COLOR_RGB2GRAY), lossy=False)
        grey = cv2.cvtColor(cv2.GaussianBlur(part, (0, 0), 1.2), cv2.COLOR_RGB2GRAY)
        assert not is_resampled(grey, lossy=False)
        assert not is_resampled(
            cv2.cvtColor(tone_art.compressed(part, "jpeg", 70), cv2.COLOR_RGB2GRAY), lossy=True
        )
    if scale == 3:
        packed = tone_art.compressed(big, "jpeg", 75)
        assert is_resampled(cv2.cvtColor(packed, cv2.COLOR_RGB2GRAY), lossy=True)


def test_a_soft_subject_enlarged_is_found_by_its_rhythm():
    assert sent(tone_art.enlarged(crop("cell", (0, 0, 500, 500)), 3, "bicubic"), None) > 2


def test_a_photograph_of_doubled_pixels_is_found():
    """The moon of scikit-image: each pixel of it stands there twice both ways (its own differences say so)."""
    moon = skimage.data.moon()
    assert (
        not np.diff(moon.astype(int), axis=0)[::2].any()
        and not np.diff(moon.astype(int), axis=1)[:, ::2].any()
    )
    tone = analyse(np.dstack([moon] * 3))
    assert tone.pixel_doubled and tone.enlargement == 2


@pytest.mark.parametrize("scale", [2, 3, 4])
def test_a_soft_photograph_of_repeated_pixels_is_found_without_an_edge(scale):
    """Its steps are all too small for edges; every one of them lies on the coarser grid, be the picture cut or not."""
    soft = crop("astronaut", (60, 40, 310, 290), 4.0)
    big = np.kron(soft, np.ones((scale, scale, 1), np.uint8))
    for part in (big, big[1:, 1:]):
        tone = analyse(np.ascontiguousarray(part))
        assert tone.pixel_doubled and tone.enlargement == scale
    assert not analyse(soft).pixel_doubled


# ------------------------------------------------------------------ inks of enlarged art


@pytest.mark.parametrize("scale", [3, 4])
def test_narrow_strokes_of_enlarged_art_keep_their_ink(scale):
    """Strokes of three pixels before the enlargement: reduced by more than it, no pixel would be left level in them."""
    art = np.full((200, 260, 3), (104, 183, 16), np.uint8)
    for k, shade in enumerate(((120, 44, 62), (41, 41, 41), (15, 58, 25))):
        corners = cv2.boxPoints(((45 + 80 * k, 60), (50, 56), 7 * k))
        cv2.polylines(art, [np.rint(corners * 16).astype(np.int32)], True, shade, 3, cv2.LINE_AA, 4)
        cv2.circle(art, (45 + 80 * k, 145), 30, shade, 3, cv2.LINE_AA)
    assert len(analyse(tone_art.enlarged(art, scale, "bilinear")).inks) == 4


def test_a_small_tint_between_two_larger_inks_is_no_edge_of_theirs():
    """Dark brown on the straight line between black and brown in Lab; a level strip as narrow as an edge is none."""
    for width, counted in ((5, 3), (3, 2)):
        art = np.zeros((200, 200, 3), np.uint8)
        art[:, 100:] = (165, 121, 57)
        art[60:80, 100 - width : 100] = (106, 70, 47)
        lab = lab_of(art)
        assert len(colours(lab, steps(lab) < FLAT_STEP, lossy=False)) == counted
