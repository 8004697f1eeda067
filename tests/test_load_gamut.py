"""Inks of bitmaps in spaces wider than sRGB: their Lab is that of the file, only their look is clipped."""

import io

import numpy as np
import pytest
from PIL import Image

from preflight import colour
from preflight.load import load
from preflight.load.ungamut import lab_of, mu, profile
from preflight.order import Order
from test_colour import profile_bytes
from test_load_pdf_colour import lab_by_littlecms


def disc(mode, ink, paper, form, **options):
    """A disc of one ink on paper, as a file."""
    y, x = np.mgrid[0:300, 0:400]
    inside = np.hypot(x - 200, y - 150) < 100
    pixels = np.where(inside[..., None], np.array(ink, np.uint8), np.array(paper, np.uint8))
    kept = io.BytesIO()
    Image.fromarray(pixels, mode).save(kept, form, dpi=(300, 300), **options)
    return kept.getvalue()


@pytest.mark.parametrize("form", ["TIFF", "JPEG"])
@pytest.mark.parametrize("ink", [(255, 0, 0, 0), (0, 255, 0, 0), (255, 0, 255, 0)])
def test_press_colours_of_a_bitmap_keep_their_lab(ink, form):
    data = profile_bytes("ps_cmyk")
    options = {"icc_profile": data, **({"quality": 92} if form == "JPEG" else {})}
    (found,) = load(disc("CMYK", ink, (0, 0, 0, 0), form, **options), Order(ground="#ffffff")).inks
    true = lab_by_littlecms(data, ink)
    assert colour.difference(found.lab, true) < (1.0 if form == "TIFF" else 2.0)
    assert colour.difference(colour.lab_of(found.hex), true) > 2.0  # else it would show nothing


def test_a_green_of_a_wide_rgb_keeps_its_lab():
    data = profile_bytes("a98")
    (found,) = load(
        disc("RGB", (0, 255, 0), (255,) * 3, "PNG", icc_profile=data), Order(ground="#ffffff")
    ).inks
    assert colour.difference(found.lab, lab_by_littlecms(data, (0, 255, 0), "RGB")) < 0.7


@pytest.mark.parametrize("ink", [(0, 120, 255), (40, 60, 90)])
def test_a_bitmap_in_srgb_has_the_lab_of_its_look(ink):
    (found,) = load(disc("RGB", ink, (255,) * 3, "PNG"), Order(ground="#ffffff")).inks
    assert found.lab == colour.lab_of(found.hex)


@pytest.mark.parametrize(
    "lab", [(100, 0, 0), (50, 0, 0), (5, 3, 3), (20, 50, -70), (90, -10, 110), (60, -60, -40)]
)
def test_relative_xyz_holds_any_surface_colour(lab):
    """There and back through MuPDF's own Lab space."""
    assert np.allclose(lab_of(mu.ll_fz_device_lab(), lab), lab, atol=0.05)


def test_the_profile_of_relative_xyz_is_one():
    """LittleCMS opens it, and white comes out white."""
    from PIL import ImageCms

    opened = ImageCms.ImageCmsProfile(io.BytesIO(profile()))
    assert opened.profile.xcolor_space.strip() == "RGB"
    shown = ImageCms.profileToProfile(
        Image.new("RGB", (1, 1), (255,) * 3), opened, ImageCms.createProfile("sRGB")
    )
    assert shown.getpixel((0, 0)) == (255, 255, 255)
