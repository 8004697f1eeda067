"""How a colour of a page looks: default colour spaces, printing conditions, and the white that Lab colours are given for.

Device colours are read by the file's own `DefaultGray`, `DefaultRGB` and `DefaultCMYK`, else by its output intent, else as
MuPDF reads them; the same holds where a spot colour's look is given in a device space (ISO 32000-1:2008, 8.6.5.6 and
14.11.5).
"""

import functools
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pymupdf

from preflight import colour
from preflight.artwork import Lab
from preflight.load import ungamut

mu: Any = pymupdf.mupdf
#: Colour conversion as it is by default.  Kept alive here: `internal()` points into the object, which must outlive the call.
_PARAMS = mu.FzColorParams()
PLAIN = _PARAMS.internal()

_SPACES = {1: "Gray", 2: "RGB", 3: "RGB", 4: "CMYK", 5: "Lab", 6: "Indexed", 7: "Separation"}
RGB = tuple[int, int, int]
_LAB_WHITE = re.compile(r"/Lab\s*<<[^>]*?/WhitePoint\s*\[\s*([^\]]{1,80})\]")
_ALTERNATE = re.compile(r"(?:Separation|DeviceN)\((Device(?:CMYK|RGB|Gray)|Lab),")
#: Device spaces by the names MuPDF gives them.
_DEVICES = {
    "DeviceCMYK": mu.ll_fz_device_cmyk, "DeviceRGB": mu.ll_fz_device_rgb, "DeviceGray": mu.ll_fz_device_gray,
}  # fmt: skip
#: Objects of a file that are looked through for the white of its Lab colours.
MOST_OBJECTS = 20_000
#: Whites nearer to each other than this, in X or Z, are one: files round D50 to three or four figures.
SAME_WHITE = 0.01


@dataclass(frozen=True, slots=True)
class Paint:
    """A colour as the file gives it.

    Attributes:
        space: Gray, RGB, CMYK, Lab or Separation (that is Separation and DeviceN).
        values: its components, 0 to 1 (Lab in its own ranges).
        rgb: how it looks, sRGB 0 to 255.
        solid: how the spot ink looks undiluted; `rgb` for everything else.
        spots: names and strengths of the spot inks in it, strongest first.
        solids: how each of them looks undiluted and by itself.
        lab: its Lab (D50) out of the file's own space, also where sRGB cannot show it; None where `rgb` is all there is.
        solid_labs: the same of each spot ink.
    """

    space: str
    values: tuple[float, ...]
    rgb: RGB
    solid: RGB
    spots: tuple[tuple[str, float], ...] = ()
    solids: tuple[RGB, ...] = ()
    lab: Lab | None = None
    solid_labs: tuple[Lab | None, ...] = ()


class Look:
    """Turns colours of a page of a PDF into sRGB."""

    def __init__(self, document: Any = None) -> None:
        self.document = document
        self.defaults: Any = mu.FzDefaultColorspaces()

    @functools.cached_property
    def white(self) -> np.ndarray | None:
        """XYZ of the white that the file's Lab colours are relative to, where it is not D50; looked for when one is met."""
        return None if self.document is None else lab_white(self.document)

    def use(self, defaults: Any) -> None:
        """From now on device colours mean these (a borrowed pointer to MuPDF's default colour spaces)."""
        self.defaults = mu.FzDefaultColorspaces(mu.ll_fz_keep_default_colorspaces(defaults))

    def hand_to(self, device: Any) -> None:
        """Let a device draw device colours as they are meant here."""
        if self.defaults.m_internal is not None:
            mu.fz_set_default_colorspaces(device, self.defaults)

    def paint(self, space: Any, values: tuple[float, ...]) -> Paint:
        """What a colour is: its space, look, and the spot inks in it."""
        kind = _SPACES.get(space.type, "RGB") if space is not None else "Gray"
        rgb, lab = self.look(space, values)
        if kind == "CMYK" and max(values[:3]) < 0.005 and values[3] > 0.995:
            # full black ink alone is meant as black; a press profile shows it as dark grey (common practice)
            rgb, lab = (0, 0, 0), None
        if kind != "Separation":
            return Paint(kind, values, rgb, rgb, lab=lab)
        names = [mu.ll_fz_colorspace_colorant(space, i) for i in range(space.n)]
        spots = sorted(((n, v) for n, v in zip(names, values, strict=True) if v > 0), key=lambda s: -s[1])
        looks = [self.look(space, [float(n == name) for n in names]) for name, _ in spots]
        solids, labs = tuple(look[0] for look in looks), tuple(look[1] for look in looks)
        if spots and all(name == "Black" for name, _ in spots):  # the press's black by its own name
            solids, labs = ((0, 0, 0),), (None,)
            rgb, lab = (solids[0], None) if spots[0][1] > 0.995 else (rgb, lab)
        return Paint(kind, values, rgb, solids[0] if solids else rgb, tuple(spots), solids, lab, labs)

    def rgb(self, space: Any, values: Sequence[float]) -> RGB:
        """SRGB 0 to 255 of a colour in any of MuPDF's spaces."""
        return self.look(space, values)[0]

    def look(self, space: Any, values: Sequence[float]) -> tuple[RGB, Lab | None]:
        """SRGB 0 to 255 of a colour in any of MuPDF's spaces, clipped to what sRGB can show; and its Lab (D50) unclipped.

        Lab is None for colours that are given in sRGB.  Both are relative colorimetric with black point compensation.
        """
        if space is None or not values:
            return (0, 0, 0), None
        alternate = _ALTERNATE.match(space.name)
        if space.type == 5 and self.white is not None:
            lab = colour.d50_from((values[0], values[1], values[2]), self.white)
            return colour.rgb_of(colour.hex_of_lab(lab)), lab
        if alternate and alternate[1].startswith("Device"):
            device = _DEVICES[alternate[1]]()
            if self._meant(device) is not None:
                values = _converted(space, values, device)
                space = device
        if (
            space.name == "DeviceGray" and self._meant(space) is None
        ):  # by its profile MuPDF tints greys by a step of 255
            return _numbers([255 * values[0]] * 3), None
        meant = self._meant(space) or space
        if meant.name == "DeviceRGB":
            return _numbers(255 * v for v in values), None
        lab = ungamut.lab_of(meant, values)
        if alternate and alternate[1] == "Lab" and self.white is not None:
            lab = colour.d50_from(lab, self.white)
            return colour.rgb_of(colour.hex_of_lab(lab)), lab
        return _numbers(255 * v for v in _converted(meant, values, mu.ll_fz_device_rgb())), lab

    def _meant(self, space: Any) -> Any:
        """What the file means by a device space; None where it says nothing, and for all other spaces."""
        internal = self.defaults.m_internal
        if internal is None or not space.name.startswith("Device"):
            return None
        given = {"DeviceCMYK": internal.cmyk, "DeviceRGB": internal.rgb, "DeviceGray": internal.gray}.get(space.name)  # fmt: skip
        return None if given is None or given.name == space.name or given.n != space.n else given


def labs_of(paints: Iterable[Paint]) -> dict[RGB, Lab]:
    """Lab (D50) out of the file's own space by the look of a paint, and of each spot ink in it."""
    found: dict[RGB, Lab] = {}
    for paint in paints:
        for rgb, lab in ((paint.rgb, paint.lab), *zip(paint.solids, paint.solid_labs, strict=False)):
            if lab is not None:
                found.setdefault(rgb, lab)
    return found


def _converted(space: Any, values: Sequence[float], to: Any) -> tuple[float, ...]:
    numbers = mu.new_floats(max(4, len(values)))
    try:
        for i, value in enumerate(values):
            mu.floats_setitem(numbers, i, value)
        return tuple(mu.ll_fz_convert_color(space, numbers, to, None, PLAIN)[: to.n])
    finally:
        mu.delete_floats(numbers)


def _numbers(values: Any) -> RGB:
    r, g, b = (int(round(min(255.0, max(0.0, float(v))))) for v in values)
    return (r, g, b)


def lab_white(document: Any) -> np.ndarray | None:
    """XYZ of the white that a PDF's Lab colours are relative to; None for D50, for none, and where they disagree."""
    whites: list[np.ndarray] = []
    for xref in range(1, min(document.xref_length(), MOST_OBJECTS)):
        try:
            text = document.xref_object(xref, compressed=True)
        except (RuntimeError, mu.FzErrorBase):
            continue  # a damaged object holds no colours either; that the file is damaged is told elsewhere
        for found in _LAB_WHITE.findall(text) if "/Lab" in text else ():
            try:
                white = np.array([float(v) for v in found.split()])
            except ValueError:
                continue
            if white.shape == (3,) and np.isfinite(white).all() and (white > 0).all():
                whites.append(white)
    if not whites or any(np.abs(white - whites[0]).max() > SAME_WHITE for white in whites):
        return None
    return None if np.abs(whites[0] - colour.D50).max() <= SAME_WHITE else whites[0]
