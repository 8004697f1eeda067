"""The CMYK profile that colours without one are read by: the one MuPDF carries and converts device CMYK with.

It is "Artifex CMYK SWOP Profile" (ICC version 2.1, copyright Artifex Software 2011), distributed with MuPDF and Ghostscript
under the AGPL-3.0.  Bitmaps are converted through it by LittleCMS, so that a CMYK TIFF and a CMYK PDF look alike.
"""

import functools
import io
import tempfile
from pathlib import Path

import pymupdf
from PIL import Image


@functools.cache
def default_cmyk() -> bytes | None:
    """The profile's bytes; None when this build of MuPDF carries none.

    MuPDF hands the profile out only inside a picture it saves: the layered bitmap format holds it whole.
    """
    pixmap = pymupdf.Pixmap(pymupdf.csCMYK, pymupdf.IRect(0, 0, 1, 1))
    pixmap.clear_with()
    with tempfile.TemporaryDirectory(prefix="preflight-") as folder:
        path = Path(folder) / "one.psd"
        pixmap.save(str(path))
        with Image.open(io.BytesIO(path.read_bytes()), formats=("PSD",)) as image:
            found = image.info.get("icc_profile")
    return bytes(found) if found else None
