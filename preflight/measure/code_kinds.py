"""Codes other than QR and bar codes: found and named, so that somebody tries them; their margins are not measured."""

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


@dataclass(frozen=True)
class OtherCode:
    """A code that is only named.

    Attributes:
        kind: as it is said inside a sentence.
        text: what it says, safe to print.
        box: mm.
        module: width of one of its squares, mm; None where its version does not tell it.
    """

    kind: str
    text: str
    box: Box
    module: float | None

    @property
    def called(self) -> str:
        """As it is said inside a sentence."""
        size = f", its squares {self.module:.2g} mm wide" if self.module else ""
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
            code = _code(read, scale)
            if code and not any(_same(code.box, other.box) for other in (*known, *found)):
                found.append(code)
    return found


def _code(read: Any, scale: float) -> OtherCode | None:
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
    return OtherCode(
        kind,
        plain(read.text, 80),
        (float(low[0]), float(low[1]), float(high[0]), float(high[1])),
        side / across if across else None,
    )


def _same(one: Box, other: Box) -> bool:
    x, y = (one[0] + one[2]) / 2, (one[1] + one[3]) / 2
    return other[0] <= x <= other[2] and other[1] <= y <= other[3]
