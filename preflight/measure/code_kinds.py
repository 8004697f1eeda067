"""Codes other than QR and bar codes: found and named, so that somebody tries them; squares are measured, margins are not."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import zxingcpp

from preflight.artwork import Box
from preflight.quantity import plain

_FORMAT = zxingcpp.BarcodeFormat
#: Kinds that are looked for, and how they are called.  Each corrects its own errors, so that chance does not make one.
KINDS = {
    "DataMatrix": "Data Matrix code",
    "AztecCode": "Aztec code",
    "Aztec": "Aztec code",
    "PDF417": "PDF417 code",
    "CompactPDF417": "PDF417 code",
    "MicroPDF417": "MicroPDF417 code",
    "MicroQRCode": "Micro QR code",
    "RMQRCode": "rectangular Micro QR code",
    "MaxiCode": "MaxiCode",
}
FORMATS = [getattr(_FORMAT, name) for name in KINDS if hasattr(_FORMAT, name)]
#: Squares along the first side, where the version says it: "16x16" (rows by columns), "R11x27", "M2".
_ACROSS = re.compile(r"R?\d+x(\d+)")
_MICRO = {"M1": 11, "M2": 13, "M3": 15, "M4": 17}  # ISO/IEC 18004:2015, from memory
#: Squares along a side of an Aztec code of so many layers, in its compact form and in the full one without its reference grid
#: and with it (ISO/IEC 24778:2008, from memory); the rings round its middle are one square wide each.
_COMPACT_LAYERS, _GRIDLESS_LAYERS = 4, 4
_RINGS = 4
#: Hexagons along a row of a MaxiCode (ISO/IEC 16023:2000, from memory): all are of one size.
_HEXAGONS = 30


@dataclass(frozen=True)
class OtherCode:
    """A code that is only named.

    Attributes:
        kind: as it is said inside a sentence.
        text: what it says, safe to print.
        box: mm.
        module: width of one of its squares (of a MaxiCode, of its hexagons), mm; None where nothing tells it.
    """

    kind: str
    text: str
    box: Box
    module: float | None

    @property
    def called(self) -> str:
        """As it is said inside a sentence."""
        part = "hexagons" if self.kind == "MaxiCode" else "squares"
        size = f", its {part} {self.module:.2g} mm wide" if self.module else ""
        return f"{'an' if self.kind[0] in 'AE' else 'a'} {self.kind} (“{self.text}”{size})"


def others(picture: np.ndarray, scale: float, known: Sequence[OtherCode] = ()) -> list[OtherCode]:
    """The codes in a picture of the whole art, each once.

    Args:
        picture: uint8 (rows, columns), dark on light or light on dark.
        scale: its pixels a mm.
        known: codes found before; the same ones are left out.
    """
    found: list[OtherCode] = []
    for look in (255 - picture, picture):
        for read in zxingcpp.read_barcodes(look, formats=FORMATS, try_invert=False):
            code = _code(read, scale, look)
            if code and not any(_same(code.box, other.box) for other in (*known, *found)):
                found.append(code)
    return found


def _code(read: Any, scale: float, picture: np.ndarray) -> OtherCode | None:
    kind = KINDS.get(read.format.name)
    if kind is None:
        return None
    place = read.position
    corners = np.array(
        [(p.x, p.y) for p in (place.top_left, place.top_right, place.bottom_right, place.bottom_left)], float
    )
    low, high = corners.min(0) / scale, (corners.max(0) + 1) / scale
    version = str((read.extra or {}).get("Version", ""))
    match = _ACROSS.fullmatch(version)
    across = int(match[1]) if match else _MICRO.get(version)
    side = float(np.hypot(*(corners[1] - corners[0])) + 1) / scale
    if kind == "MaxiCode":
        across = _HEXAGONS
    elif kind == "Aztec code" and version.isdigit():
        ring = _ring(picture, corners.mean(0)) / scale
        counts = _aztec_sides(int(version))
        across = min(counts, key=lambda count: abs(side / count - ring)) if ring else None
    return OtherCode(
        kind,
        plain(read.text, 80),
        (float(low[0]), float(low[1]), float(high[0]), float(high[1])),
        side / across if across else None,
    )


def _aztec_sides(layers: int) -> list[int]:
    """Squares along the side of an Aztec code of so many layers: as it is in the compact form, if there is one, and the full."""
    compact = [11 + 4 * layers] if layers <= _COMPACT_LAYERS else []
    plain_side = 14 + 4 * layers
    return [*compact, plain_side + 1 + 2 * ((plain_side // 2 - 1) // 15)]


def _ring(picture: np.ndarray, middle: np.ndarray) -> float:
    """Width of the rings round a point (x, y), pixels: the mean of four rays; 0.0 where there are none.  Dark on light."""
    reach = min(picture.shape) // 2
    turns = np.arange(0, reach, 0.25)
    widths = []
    for dx, dy in ((1, 0), (-1, 0), (0, 1), (0, -1)):
        x = np.clip(np.rint(middle[0] + dx * turns).astype(int), 0, picture.shape[1] - 1)
        y = np.clip(np.rint(middle[1] + dy * turns).astype(int), 0, picture.shape[0] - 1)
        dark = picture[y, x] < 128
        changes = turns[np.flatnonzero(dark[1:] != dark[:-1]) + 1]
        if len(changes) >= _RINGS:
            widths.append((changes[_RINGS - 1] - changes[0]) / (_RINGS - 1))
    return float(np.median(widths)) if widths else 0.0


def _same(one: Box, other: Box) -> bool:
    x, y = (one[0] + one[2]) / 2, (one[1] + one[3]) / 2
    return other[0] <= x <= other[2] and other[1] <= y <= other[3]
