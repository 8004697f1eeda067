"""CMYK TIFF files with transparency (TIFF 6.0, ExtraSamples 1 and 2): opened, with what is cut out cut out."""

import io
import json
import subprocess
import sys

import numpy as np
import pytest
import tifffile

from preflight.errors import Unreadable
from preflight.load.bitmap import decode
from preflight.load.tiff_alpha import unnamed


def kite(alpha: str, **options) -> bytes:
    """A magenta square on nothing, 80 x 60 pixels; a part of it is half transparent."""
    values = np.zeros((60, 80, 5), np.uint8)
    values[..., 1] = 220
    values[10:50, 10:70, 4] = 255
    values[20:26, 20:26, 4] = 128
    kept = io.BytesIO()
    tifffile.imwrite(kept, values, photometric="separated", extrasamples=[alpha], **options)
    return kept.getvalue()


@pytest.mark.parametrize("alpha", ["unassalpha", "assocalpha"])
@pytest.mark.parametrize("options", [{}, {"compression": "zlib"}, {"byteorder": ">"}])
def test_transparency_of_a_cmyk_tiff_is_read(alpha, options):
    art = decode(kite(alpha, **options))
    assert art.space == "CMYK" and art.alpha is not None and art.alpha.shape == (60, 80)
    assert (art.alpha[30, 40], art.alpha[0, 0], art.alpha[23, 23]) == (255, 0, 128)
    red, green, blue = (int(value) for value in art.rgb[30, 40])
    assert red > 150 > green + 40 and green < blue
    assert not [fact for fact in art.facts if fact.kind == "further channel"]


def test_a_second_page_with_transparency_is_opened_without_it():
    """Whose alpha is not looked at, which a fact says."""
    values = np.full((2, 40, 50, 5), 200, np.uint8)
    kept = io.BytesIO()
    with tifffile.TiffWriter(kept) as file:
        for page in values:
            file.write(page, photometric="separated", extrasamples=["unassalpha"], metadata=None)
    art = decode(kept.getvalue(), 2)
    assert art.pages == 2 and art.alpha is None
    assert [fact.count for fact in art.facts if fact.kind == "further channel"] == [1]


def test_broken_files_stay_refused():
    whole = kite("unassalpha")
    assert unnamed(b"no picture") is None and unnamed(b"II*\0") is None
    generator = np.random.default_rng(11)
    for _ in range(60):
        torn = bytearray(whole[: int(generator.integers(8, len(whole)))])
        for at in generator.integers(4, len(torn), 6):
            torn[at] = int(generator.integers(256))
        try:
            decode(bytes(torn))
        except Unreadable as error:
            assert error.args


def test_the_command_checks_one(tmp_path):
    path = tmp_path / "kite.tif"
    path.write_bytes(kite("unassalpha", resolution=(300, 300)))
    words = [
        sys.executable,
        "-m",
        "preflight",
        "check",
        "--method",
        "sticker",
        "--width",
        "20",
        "--format",
        "json",
        str(path),
    ]
    ran = subprocess.run(words, capture_output=True, text=True, check=False)
    (report,) = json.loads(ran.stdout)
    assert report["art"]["kind"] == "bitmap" and len(report["colours"]) == 1
    assert report["art"]["width_mm"] == pytest.approx(20) and report["art"]["height_mm"] == pytest.approx(
        20 * 40 / 60, abs=0.3
    )
