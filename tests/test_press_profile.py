"""CMYK without a profile looks the same from a PDF and from a bitmap, and as a second colour engine sees it."""

import io
import subprocess

import numpy as np
import pytest
from PIL import Image, ImageCms

from pdf_made import pdf_of
from preflight.load import load
from preflight.load.press_profile import default_cmyk
from preflight.order import Order

MIXES = [
    (0.0, 1.0, 0.9, 0.1),
    (0.9, 0.3, 0.3, 0.5),
    (0.6, 0.1, 0.9, 0.0),
    (0.0, 0.3, 0.9, 0.0),
    (0.2, 0.2, 0.2, 0.4),
]


def test_the_profile_is_a_printing_profile_and_says_whose_it_is():
    profile = ImageCms.ImageCmsProfile(io.BytesIO(default_cmyk())).profile
    assert (profile.xcolor_space.strip(), profile.device_class) == ("CMYK", "prtr")
    assert "Artifex" in profile.copyright


@pytest.mark.parametrize("mix", MIXES)
def test_pdf_and_bitmap_agree(mix):
    tiff = io.BytesIO()
    Image.new("CMYK", (60, 60), tuple(round(255 * c) for c in mix)).save(tiff, "TIFF", dpi=(150, 150))
    bitmap = load(tiff.getvalue(), Order()).inks[0]
    page = load(pdf_of("{} {} {} {} k 10 10 30 20 re f".format(*mix)), Order()).inks[0]
    one, other = (np.array([int(ink.hex[i : i + 2], 16) for i in (1, 3, 5)]) for ink in (bitmap, page))
    assert np.abs(one - other).max() <= 3, (bitmap.hex, page.hex)


@pytest.mark.parametrize("mix", MIXES[:3])
def test_ghostscript_sees_the_same_colour(mix, tmp_path):
    """Ghostscript converts device CMYK through its own copy of the profile."""
    path, out = tmp_path / "a.pdf", tmp_path / "a.png"
    path.write_bytes(pdf_of("{} {} {} {} k 0 0 100 60 re f".format(*mix)))
    command = [
        "gs",
        "-q",
        "-dBATCH",
        "-dNOPAUSE",
        "-dSAFER",
        "-sDEVICE=png16m",
        "-r20",
        f"-sOutputFile={out}",
        str(path),
    ]
    subprocess.run(command, check=True, capture_output=True)
    theirs = np.asarray(Image.open(out).convert("RGB"))[20, 40].astype(int)
    ink = load(path.read_bytes(), Order()).inks[0]
    mine = np.array([int(ink.hex[i : i + 2], 16) for i in (1, 3, 5)])
    assert np.abs(mine - theirs).max() <= 6, (ink.hex, theirs)
