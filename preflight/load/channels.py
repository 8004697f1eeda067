"""Channels of a bitmap besides its colours and its transparency: spot inks and saved selections, which no picture shows.

Sources: TIFF 6.0, tags 262, 277 and 338; layered pictures (PSD): header, image resources 1007 and 1077, from memory.
"""

import struct
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any, cast

from PIL import Image

from preflight.errors import Unreadable

#: Colour channels by PSD colour mode: bitmap, grey, indexed, RGB, CMYK, duotone, Lab.
_PSD_COLOURS = {0: 1, 1: 1, 2: 1, 3: 3, 4: 4, 8: 1, 9: 3}
_MULTICHANNEL = 7
#: Samples a pixel by TIFF PhotometricInterpretation: white is zero, black is zero, RGB, palette, mask, CMYK, YCbCr, Lab.
_TIFF_COLOURS = {0: 1, 1: 1, 2: 3, 3: 1, 4: 1, 5: 4, 6: 3, 8: 3}
#: Of the kinds of channel in resources 1007 and 1077 (a selection, its negative, a spot ink) the last.
_SPOT = 2
_UNSPECIFIED = 0


@dataclass(frozen=True, slots=True)
class Further:
    """How many further channels may be inks, and whether what a reader took for transparency is one of them."""

    inks: int = 0
    instead_of_alpha: bool = False


def further(image: Image.Image, name: str, data: bytes) -> Further:
    """The further channels of a picture as Pillow opened it.

    Args:
        image: opened, not necessarily loaded.
        name: of its format, "psd", "tiff" or another.
        data: the file.

    Raises:
        Unreadable: it has nothing but such channels.
    """
    if name == "psd":
        return _of_psd(image, data)
    return Further(_of_tiff(image)) if name == "tiff" else Further()


def _of_psd(image: Image.Image, data: bytes) -> Further:
    channels, mode = struct.unpack(">H", data[12:14])[0], struct.unpack(">H", data[24:26])[0]
    if mode == _MULTICHANNEL:
        raise Unreadable(
            "This layered picture keeps each ink in a channel of its own and no picture that could be shown.",
            "Please send a PDF in which each ink is a spot colour, or a flat picture.",
        )
    extra = channels - _PSD_COLOURS.get(mode, channels)
    if extra <= 0:
        return Further()
    kinds = _kinds((number, content) for number, _, content in cast(Any, image).resources)
    transparent = _merged_alpha(data)
    if kinds:
        spots = kinds.count(_SPOT)
        return Further(spots, instead_of_alpha=not transparent and kinds[0] == _SPOT)
    # RGB and grey with one more channel is a picture with transparency, whoever wrote it
    return Further(max(0, extra - transparent)) if mode not in (1, 3) or extra > 1 else Further()


def _merged_alpha(data: bytes) -> bool:
    """Is the first further channel the picture's transparency?  So says a negative number of layers."""
    at = 26
    for _ in range(2):  # the palette, the image resources
        at += 4 + int.from_bytes(data[at : at + 4], "big")
    return data[at + 8 : at + 9] >= b"\x80" and int.from_bytes(data[at : at + 4], "big") > 6


def _of_tiff(image: Image.Image) -> int:
    tags = cast(Any, image).tag_v2
    samples, colours = int(tags.get(277, 1)), _TIFF_COLOURS.get(tags.get(262, 1))
    if colours is None or samples <= colours:
        return 0
    listed = tags.get(338, ())
    meant = [int(kind) for kind in (listed if isinstance(listed, tuple) else (listed,))]
    unknown = meant.count(_UNSPECIFIED) + max(0, samples - colours - len(meant))
    block = tags.get(34377, b"")
    kinds = _kinds(_resources(bytes(block[0] if isinstance(block, tuple) else block)))
    return min(unknown, kinds.count(_SPOT)) if kinds else unknown


def _kinds(resources: Iterable[tuple[int, bytes]]) -> list[int]:
    """The kinds of the further channels, as far as they are stated."""
    found = dict(resources)
    if content := found.get(1077):  # a version number, then 13 bytes a channel
        return [content[at + 12] for at in range(4, len(content) - 12, 13)]
    content = found.get(1007, b"")
    return [content[at + 12] for at in range(0, len(content) - 12, 14)]


def _resources(block: bytes) -> Iterator[tuple[int, bytes]]:
    """(number, content) of each image resource of a block."""
    at = 0
    while block[at : at + 4] == b"8BIM" and at + 12 <= len(block):
        number = int.from_bytes(block[at + 4 : at + 6], "big")
        at += 6 + (1 + block[at + 6] + 1) // 2 * 2  # a name with its length, padded to an even number
        size = int.from_bytes(block[at : at + 4], "big")
        yield number, block[at + 4 : at + 4 + size]
        at += 4 + size + size % 2
