"""Soft shadows that renderers draw as pixels: they fade, and are neither a coarse bitmap of the client's nor a halftone."""

import io
import json
import subprocess
import sys

import numpy as np
import pytest
from PIL import Image

from pdf_made import Dictionary, Name, pdf_of
from preflight.load import load
from preflight.load.svg_pictures import data_link
from preflight.order import Order


def drawing(deviation: float, more: str = "") -> bytes:
    """A round blur on nothing; a drawing of 100 x 60 mm."""
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 100 60" width="100mm" height="60mm">'
        f'<filter id="f" x="-50%" y="-50%" width="200%" height="200%"><feGaussianBlur stdDeviation="{deviation}"/></filter>'
        f'<circle cx="50" cy="30" r="15" fill="#1d2b4f" filter="url(#f)"/>{more}</svg>'
    ).encode()


def placed(pixels: int) -> str:
    """A small bitmap of two colours, 30 mm wide."""
    squares = np.kron(np.indices((pixels // 8, pixels // 8)).sum(0) % 2, np.ones((8, 8))) * 255
    kept = io.BytesIO()
    Image.fromarray(squares.astype(np.uint8)).save(kept, "PNG")
    return f'<image x="0" y="0" width="30" height="30" href="{data_link("png", kept.getvalue())}"/>'


def rules_broken(path, method="screen-print"):
    """Ids of the findings of the command, without the method."""
    ran = subprocess.run(
        [sys.executable, "-m", "preflight", "check", "--method", method, "--width", "80", "--format", "json", str(path)],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    return {finding["rule"].partition("/")[2] for finding in json.loads(ran.stdout)[0]["findings"]}


@pytest.mark.parametrize("deviation", [1.5, 5])
def test_a_blur_alone_is_a_soft_shadow_and_no_coarse_bitmap(tmp_path, deviation):
    path = tmp_path / "kite.svg"
    path.write_bytes(drawing(deviation))
    broken = rules_broken(path)
    assert "gradients" in broken
    assert not [rule for rule in broken if "resolution" in rule or "enlarged" in rule]


@pytest.mark.parametrize("deviation", [1.5, 5, 12])
def test_the_fade_of_a_blur_is_a_soft_edge(deviation):
    art = load(drawing(deviation), Order(ground="#ffffff"))
    assert {fade.kind for fade in art.fades} == {"soft edge"} and not art.pictures and art.kind == "vector"


def test_a_bitmap_placed_beside_a_blur_is_still_the_clients(tmp_path):
    path = tmp_path / "kite.svg"
    path.write_bytes(drawing(1.5, placed(64)))
    assert [rule for rule in rules_broken(path) if "resolution" in rule]
    art = load(path.read_bytes(), Order(ground="#ffffff"))
    assert [picture.pixels for picture in art.pictures] == [(64, 64)]


def multiplied(pixels: int) -> bytes:
    """A page with a square under a round soft shadow of so many pixels each way, which multiplies."""

    def prepare(pdf):
        y, x = np.mgrid[0:pixels, 0:pixels]
        soft = np.clip(1 - np.hypot(x - pixels / 2, y - pixels / 2) / (0.43 * pixels), 0, 1)
        shade = pdf.make_stream(
            np.rint(255 * (1 - 0.7 * soft)).astype(np.uint8).tobytes(), Type=Name.XObject, Subtype=Name.Image,
            Width=pixels, Height=pixels, ColorSpace=Name.DeviceGray, BitsPerComponent=8,
        )  # fmt: skip
        return Dictionary(ExtGState=Dictionary(M=Dictionary(BM=Name.Multiply)), XObject=Dictionary(I=shade))

    content = ".9 .5 .1 rg 35 15 30 30 re f q /M gs 54 0 0 54 23 3 cm /I Do Q"
    return pdf_of(content, prepare=prepare)


@pytest.mark.parametrize("pixels", [60, 100, 300])
def test_a_round_shadow_that_multiplies_is_no_halftone(pixels):
    """The finished page shows each pixel of the shadow as a square, and the squares repeat as dots do."""
    art = load(multiplied(pixels), Order(ground="#ffffff"))
    kinds = {fade.kind for fade in art.fades}
    assert kinds and "halftone" not in kinds


@pytest.mark.parametrize("method", ["screen-print", "pad-print"])
def test_the_command_calls_a_shadow_that_multiplies_a_gradient_and_no_halftone(tmp_path, method):
    path = tmp_path / "kite.pdf"
    path.write_bytes(multiplied(100))
    broken = rules_broken(path, method)
    assert "gradients" in broken and not [rule for rule in broken if "halftone" in rule]
