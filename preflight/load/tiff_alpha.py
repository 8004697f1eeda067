"""CMYK TIFF files with transparency, which Pillow refuses though it opens the same file with an unnamed fifth channel.

Sources: TIFF 6.0, section 2 (the directory and its entries), tags 262, 277 and 338.
"""

import struct

import numpy as np
import pymupdf

_PHOTOMETRIC, _SAMPLES, _EXTRA = 262, 277, 338
_SEPARATED, _UNSPECIFIED, _SHORT = 5, 0, 3
#: Directories of one file that are read: bounded work.
_MOST_PAGES = 500


def unnamed(data: bytes) -> bytes | None:
    """The file with the further channel of its CMYK pages unnamed; None where it has no such page or is no plain TIFF."""
    if data[:4] not in (b"II*\0", b"MM\0*"):
        return None
    order = "<" if data[:2] == b"II" else ">"
    made = bytearray(data)
    changed = False
    seen: set[int] = set()
    try:
        at = struct.unpack_from(order + "I", data, 4)[0]
        while at and at not in seen and len(seen) < _MOST_PAGES:
            seen.add(at)
            count = struct.unpack_from(order + "H", data, at)[0]
            entries = {}
            for number in range(count):
                tag, kind, values, value = struct.unpack_from(order + "HHIH", data, at + 2 + 12 * number)
                entries[tag] = (kind, values, value, at + 2 + 12 * number + 8)
            photometric, samples, extra = (
                entries.get(tag, (0, 0, 0, 0)) for tag in (_PHOTOMETRIC, _SAMPLES, _EXTRA)
            )
            alone = extra[:2] == (_SHORT, 1) and extra[2] != _UNSPECIFIED
            if photometric[2] == _SEPARATED and samples[2] == 5 and alone:
                struct.pack_into(order + "H", made, extra[3], _UNSPECIFIED)
                changed = True
            at = struct.unpack_from(order + "I", data, at + 2 + 12 * count)[0]
    except struct.error:  # a directory beyond the end of the file: whoever opens it says so
        return None
    return bytes(made) if changed else None


def alpha(data: bytes, size: tuple[int, int]) -> np.ndarray | None:
    """Alpha of the first page, uint8 (rows, columns); None where it cannot be had at this size (columns, rows)."""
    try:
        pixels = pymupdf.Pixmap(data)
    except (RuntimeError, ValueError):  # MuPDF's own limits: the picture is then looked at as opaque
        return None
    if not pixels.alpha or (pixels.width, pixels.height) != size:
        return None
    return (
        np.frombuffer(pixels.samples, np.uint8)
        .reshape(pixels.height, pixels.stride)[:, pixels.n - 1 : pixels.width * pixels.n : pixels.n]
        .copy()
    )
