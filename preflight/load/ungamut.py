"""A colour space without a gamut: XYZ relative to its white, which any colour of a file can be converted to.

sRGB cuts off the colours it cannot show, a press's cyan among them; their Lab has to come from the file's own space.
"""

import functools
import struct
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pymupdf

from preflight.artwork import Lab
from preflight.colour import D50, lab_of_xyz

mu: Any = pymupdf.mupdf
#: MuPDF's number of the type of three-component spaces like RGB.
_RGB_TYPE = 2
#: And those of the spaces that a bitmap's profile may be of, by the count of its components.
_TYPES = {1: 1, 3: 2, 4: 4}
#: Colour conversion as it is by default.  Kept alive: `internal()` points into the object, which must outlive the call.
_PARAMS = mu.FzColorParams()
_PLAIN = _PARAMS.internal()
#: Pixels this near to a look, 0 to 255 a component, show its colour; as many of them say so.
NEAR, LEAST = 6, 4
#: Where the tags of a profile begin: its header and the count of tags (ICC.1:2022, 7.1 and 7.3).
_HEADER, _COUNT, _TAG = 128, 4, 12


@functools.cache
def relative_xyz() -> Any:
    """MuPDF's colour space of X, Y and Z as parts of D50's, each 0 to 1: no surface reflects more than white."""
    data = mu.fz_new_buffer_from_copied_data(profile())
    return mu.ll_fz_new_icc_colorspace(_RGB_TYPE, 0, "relative XYZ", data.m_internal)


def lab_of(space: Any, values: Sequence[float]) -> Lab:
    """Lab (D50) of a colour in a space of MuPDF's, relative colorimetric with black point compensation.

    Args:
        space: of MuPDF.
        values: its components, 0 to 1 (of Lab in its own ranges).

    Raises:
        RuntimeError: when MuPDF cannot convert from the space.
    """
    numbers = mu.new_floats(max(4, len(values)))
    try:
        for i, value in enumerate(values):
            mu.floats_setitem(numbers, i, value)
        parts = mu.ll_fz_convert_color(space, numbers, relative_xyz(), None, _PLAIN)[:3]
    finally:
        mu.delete_floats(numbers)
    lightness, a, b = (round(float(v), 3) for v in lab_of_xyz(np.array(parts) * D50))
    return (lightness, a, b)


@dataclass(frozen=True)
class Source:
    """Some pixels of a bitmap as its file gives them.

    Attributes:
        profile: the ICC profile of their space.
        rgb: how they look, uint8 (n, 3), sRGB.
        values: their components, uint8 (n, 1), (n, 3) or (n, 4).
    """

    profile: bytes
    rgb: np.ndarray
    values: np.ndarray

    def lab(self, rgb: tuple[int, int, int]) -> Lab | None:
        """Lab (D50) of what looks so, where sRGB may have clipped it; None elsewhere, and where the profile says nothing."""
        count = self.values.shape[1]
        if not {0, 255} & set(rgb) or count not in _TYPES:
            return None
        near = np.abs(self.rgb.astype(np.int16) - np.array(rgb, np.int16)).max(1) <= NEAR
        if np.count_nonzero(near) < LEAST:
            return None
        middle = np.median(self.values[near], 0) / 255
        try:
            data = mu.fz_new_buffer_from_copied_data(self.profile)
            space = mu.ll_fz_new_icc_colorspace(_TYPES[count], 0, "of a bitmap", data.m_internal)
            return lab_of(space, [float(v) for v in middle])
        except (mu.FzErrorBase, RuntimeError):
            return None  # its look is told by LittleCMS all the same


def profile() -> bytes:
    """An ICC profile (version 2.4) of a matrix and no curves, whose three primaries are X, Y and Z of D50."""
    white = tuple(float(v) for v in D50)
    name = b"relative XYZ\0"
    tags = [
        # textDescriptionType of ICC.1:2001, 6.5.17: its Unicode and script code parts are empty
        (b"desc", b"desc\0\0\0\0" + struct.pack(">I", len(name)) + name + bytes(4 + 4 + 2 + 1 + 67)),
        (b"cprt", b"text\0\0\0\0public domain\0"),
        (b"wtpt", _xyz(white)),
        *(
            (tag, _xyz(tuple(white[i] if i == axis else 0.0 for i in range(3))))
            for axis, tag in enumerate((b"rXYZ", b"gXYZ", b"bXYZ"))
        ),
        *((tag, b"curv" + bytes(8)) for tag in (b"rTRC", b"gTRC", b"bTRC")),  # no points: as they are
    ]
    table, content = struct.pack(">I", len(tags)), b""
    start = _HEADER + _COUNT + _TAG * len(tags)
    for tag, data in tags:
        table += tag + struct.pack(">II", start + len(content), len(data))
        content += data + bytes(-len(data) % 4)
    head = struct.pack(">I4xI4s4s4s", start + len(content), 0x02400000, b"mntr", b"RGB ", b"XYZ ")
    head += bytes(12) + b"acsp" + bytes(24) + bytes(4) + _fixed(white)
    return head + bytes(_HEADER - len(head)) + table + content


def _xyz(value: tuple[float, ...]) -> bytes:
    return b"XYZ \0\0\0\0" + _fixed(value)


def _fixed(value: tuple[float, ...]) -> bytes:
    """Numbers as s15Fixed16 (ICC.1:2022, 4.6)."""
    return b"".join(struct.pack(">i", round(v * 65536)) for v in value)
