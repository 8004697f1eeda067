"""The faces reports are set in: those that ship with the program's libraries, never the machine's."""

import functools
import struct

import pymupdf
import pymupdf_fonts

#: Families in the order in which they are asked for a character.
FAMILIES = ("FiraGO", "Noto Sans Symbols2", "Droid Sans Fallback")
_SHIPPED = ("figo", "figbo", "symbol2")
_EAST = 0x2E80  # from here on: East Asian scripts, which the shipped faces lack


def wanted_for(words: str) -> dict[str, bytes]:
    """File name to TrueType data of the faces that some words need; the large East Asian one only if they do."""
    found = {f"{name}.ttf": pymupdf_fonts.myfont(name) for name in _SHIPPED}
    if any(ord(char) >= _EAST for char in words):
        found["east.ttf"] = _east_asian()
    return found


@functools.cache
def _east_asian() -> bytes:
    """MuPDF's own fallback face for Chinese, Japanese and Korean, with the names that a typesetter asks of a font."""
    return renamed(pymupdf.Font("cjk").buffer, FAMILIES[-1])


def renamed(font: bytes, family: str) -> bytes:
    """A TrueType font with a new `name` table: family, style, full and PostScript name (OpenType 1.9.1, "name").

    MuPDF's face has no PostScript name, and a font without one is passed over.
    """
    names = {1: family, 2: "Regular", 4: family, 6: family.replace(" ", "")}
    texts = {number: name.encode("utf-16-be") for number, name in names.items()}
    records, at = b"", 0
    for number, text in texts.items():
        records += struct.pack(">6H", 3, 1, 0x409, number, len(text), at)
        at += len(text)
    table = struct.pack(">3H", 0, len(texts), 6 + len(records)) + records + b"".join(texts.values())
    data = bytearray(font) + b"\0" * (-len(font) % 4)
    (tables,) = struct.unpack_from(">H", data, 4)
    for entry in range(12, 12 + 16 * tables, 16):
        if data[entry : entry + 4] == b"name":
            padded = table + b"\0" * (-len(table) % 4)
            total = sum(struct.unpack(f">{len(padded) // 4}I", padded)) & 0xFFFFFFFF
            struct.pack_into(">3I", data, entry + 4, total, len(data), len(table))
    return bytes(data) + table
