"""What the pixels of one bitmap say, as plain data."""

from dataclasses import dataclass
from typing import Literal

from preflight.colour import hex_of, lab_of

#: left, top, right, bottom in pixels; right and bottom are one past the last pixel.
PixelBox = tuple[int, int, int, int]
FadeKind = Literal["gradient", "soft edge", "photograph", "halftone"]
Ground = Literal["transparent", "white", "solid", "mixed"]


@dataclass(frozen=True, slots=True)
class PixelInk:
    """One flat colour of a bitmap, as the eye would count it.

    Attributes:
        hex: sRGB "#rrggbb".
        lab: CIE L*a*b* (D50).
        share: of the opaque pixels, 0 to 1.
        background: it is the sheet the art stands on.
    """

    hex: str
    lab: tuple[float, float, float]
    share: float
    background: bool = False

    @classmethod
    def of(cls, rgb: "tuple[float, float, float]", share: float, background: bool = False) -> "PixelInk":
        """The ink of an sRGB colour with components from 0 to 255."""
        shade = hex_of(rgb)
        return cls(shade, lab_of(shade), float(share), background)


@dataclass(frozen=True, slots=True)
class PixelFade:
    """A place of continuous tone.

    Attributes:
        box: pixels.
        share: of the box that fades, 0 to 1.
        sure: certainty, 0 to 1.
        period: distance of a halftone's dots in pixels, along the screen; None for the other kinds.
    """

    kind: FadeKind
    box: PixelBox
    share: float
    sure: float
    period: float | None = None


@dataclass(frozen=True, slots=True)
class Tone:
    """What the pixels of one bitmap say.

    Attributes:
        inks: flat colours, largest area first, the background among them.
        fades: places of continuous tone, largest first.
        enlargement: how much it was scaled up before it was sent; 1.0 when it was not.
        pixel_doubled: it was scaled up by repeating pixels.
        ground: what the art stands on; "mixed" when the picture runs to its edges.
        ground_hex: colour of that ground; "" when it is transparent or mixed.
        halo: the cut-out carries a rim of the paper it was cut from.
        ragged: length of the cut-out's outline over that of the same outline smoothed; 1.0 when it is not cut out.
        continuous: most of what it shows fades: treat it as a picture, not as line art.
        noise: median small step between neighbouring pixels, Delta E (CIE 1976).
        dithered: its shades are made of single pixels of other colours; the inks are those the eye mixes from them, where they
            are more than the sheet and one ink.
    """

    inks: tuple[PixelInk, ...] = ()
    fades: tuple[PixelFade, ...] = ()
    enlargement: float = 1.0
    pixel_doubled: bool = False
    ground: Ground = "mixed"
    ground_hex: str = ""
    halo: bool = False
    ragged: float = 1.0
    continuous: bool = False
    noise: float = 0.0
    dithered: bool = False
