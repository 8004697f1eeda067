"""Colour: sRGB, CIE Lab (D50), CIEDE2000 and contrast; one door to colormath, scikit-image and LittleCMS.

Lab is relative to D50 everywhere in this program, because ICC profiles and print standards are (ISO 13655).
sRGB is defined for D65; it is adapted with the Bradford matrix, as ICC profiles of sRGB are.
"""

import functools
import io
import re

import numpy as np
from PIL import Image, ImageCms, ImageColor

from preflight.artwork import Lab

#: XYZ (D65) to XYZ (D50), Bradford: ICC.1:2022 Annex E; figures as B. Lindbloom prints them.
BRADFORD_D65_TO_D50 = np.array(
    [
        [1.0478112, 0.0228866, -0.0501270],
        [0.0295424, 0.9904844, -0.0170491],
        [-0.0092345, 0.0150436, 0.7521316],
    ]
)
#: XYZ to the cone responses that are scaled in it (ICC.1:2022 Annex E).
BRADFORD = np.array([[0.8951, 0.2664, -0.1614], [-0.7502, 1.7135, 0.0367], [0.0389, -0.0685, 1.0296]])
#: Linear sRGB to XYZ (D65), IEC 61966-2-1:1999.
SRGB_TO_XYZ = np.array(
    [[0.4124564, 0.3575761, 0.1804375], [0.2126729, 0.7151522, 0.0721750], [0.0193339, 0.1191920, 0.9503041]]
)
D50 = np.array([0.9642, 1.0, 0.8249])  # ICC.1:2022, the profile connection space
D65 = np.array([0.95047, 1.0, 1.08883])  # ASTM E308-01, 2 degree observer: the white of sRGB
_TO_D50 = BRADFORD_D65_TO_D50 @ SRGB_TO_XYZ
_TO_D50 *= (D50 / _TO_D50.sum(1))[:, None]  # the published figures are rounded: make white exactly white
_EPSILON, _KAPPA = 216 / 24389, 24389 / 27  # CIE 15:2004
_HEX = re.compile(r"#?([0-9a-fA-F]{6})")


def hex_of(rgb: "tuple[float, float, float] | np.ndarray") -> str:
    """ "#rrggbb" of sRGB components from 0 to 255."""
    return "#" + "".join(f"{int(round(min(255.0, max(0.0, float(c))))):02x}" for c in rgb[:3])


def rgb_of(shade: str) -> tuple[int, int, int]:
    """Components 0 to 255 (sRGB) of "#rrggbb".

    Raises:
        ValueError: when it is not six hexadecimal digits.
    """
    match = _HEX.fullmatch(shade)
    if not match:
        raise ValueError(f"{shade!r} is not a colour written #rrggbb")
    value = int(match[1], 16)
    return (value >> 16, value >> 8 & 255, value & 255)


def named(text: str) -> str | None:
    """ "#rrggbb" of a colour written so or of a CSS colour name (CSS Color 4); None when it is neither."""
    words = text.strip().lower()
    if _HEX.fullmatch(words):
        return "#" + words.lstrip("#")
    if re.fullmatch(r"#[0-9a-f]{3}", words):
        return "#" + "".join(c * 2 for c in words[1:])
    name = words.replace(" ", "").replace("-", "")
    return hex_of(ImageColor.getrgb(name)[:3]) if name in ImageColor.colormap else None


def linear(srgb: np.ndarray) -> np.ndarray:
    """Linear light from sRGB components 0 to 1 (IEC 61966-2-1:1999)."""
    return np.where(srgb <= 0.04045, srgb / 12.92, ((srgb + 0.055) / 1.055) ** 2.4)


_LINEAR8 = linear(np.arange(256) / 255.0).astype(np.float32)


def lab_of_pixels(rgb: np.ndarray) -> np.ndarray:
    """Lab (D50) of sRGB pixels: uint8 (..., 3) in, float32 (..., 3) out."""
    xyz = _LINEAR8[rgb] @ (_TO_D50.T / D50).astype(np.float32)
    f = np.where(xyz > _EPSILON, np.cbrt(np.maximum(xyz, 0)), (_KAPPA * xyz + 16) / 116)
    return np.stack([116 * f[..., 1] - 16, 500 * (f[..., 0] - f[..., 1]), 200 * (f[..., 1] - f[..., 2])], -1)


@functools.lru_cache(maxsize=4096)
def lab_of(shade: str) -> Lab:
    """Lab (D50) of "#rrggbb"."""
    value = lab_of_pixels(np.array(rgb_of(shade), np.uint8))
    return (round(float(value[0]), 3), round(float(value[1]), 3), round(float(value[2]), 3))


def xyz_of_lab(lab: "Lab | np.ndarray", white: np.ndarray = D50) -> np.ndarray:
    """XYZ (Y of white = 1) of Lab (..., 3) relative to `white` (CIE 15:2004)."""
    value = np.asarray(lab, float)
    fy = (value[..., 0] + 16) / 116
    f = np.stack([fy + value[..., 1] / 500, fy, fy - value[..., 2] / 200], -1)
    return np.where(f**3 > _EPSILON, f**3, (116 * f - 16) / _KAPPA) * white


def lab_of_xyz(xyz: np.ndarray, white: np.ndarray = D50) -> np.ndarray:
    """Lab (..., 3) of XYZ relative to `white` (CIE 15:2004)."""
    ratio = np.asarray(xyz, float) / white
    f = np.where(ratio > _EPSILON, np.cbrt(np.maximum(ratio, 0)), (_KAPPA * ratio + 16) / 116)
    return np.stack([116 * f[..., 1] - 16, 500 * (f[..., 0] - f[..., 1]), 200 * (f[..., 1] - f[..., 2])], -1)


def d50_from_d65(lab: Lab) -> Lab:
    """Lab relative to D50 of a colour given relative to D65 (Bradford adaptation, ICC.1:2022 Annex E)."""
    xyz = BRADFORD_D65_TO_D50 @ xyz_of_lab(lab, D65)
    white = BRADFORD_D65_TO_D50 @ D65
    value = lab_of_xyz(xyz, white)
    return (float(value[0]), float(value[1]), float(value[2]))


def d50_from(lab: Lab, white: np.ndarray) -> Lab:
    """Lab relative to D50 of a colour given relative to `white` (XYZ, Y = 1), by Bradford adaptation (ICC.1:2022 Annex E)."""
    gain = (BRADFORD @ D50) / (BRADFORD @ (np.asarray(white, float) / white[1]))
    cones = BRADFORD @ xyz_of_lab(lab, np.asarray(white, float) / white[1])
    value = lab_of_xyz(np.linalg.solve(BRADFORD, gain * cones))
    return (float(value[0]), float(value[1]), float(value[2]))


def hex_of_lab(lab: Lab) -> str:
    """The nearest sRGB "#rrggbb" of a Lab (D50) colour; out of gamut is clipped."""
    light = np.clip(np.linalg.solve(_TO_D50, xyz_of_lab(lab)), 0, 1)
    return hex_of(255 * np.where(light <= 0.0031308, 12.92 * light, 1.055 * light ** (1 / 2.4) - 0.055))


def difference(one: Lab, other: Lab) -> float:
    """CIEDE2000 between two Lab colours (CIE 142-2001; Sharma, Wu & Dalal 2005)."""
    return _difference(
        (float(one[0]), float(one[1]), float(one[2])), (float(other[0]), float(other[1]), float(other[2]))
    )


@functools.lru_cache(maxsize=4096)  # a page asks for the same two colours for each of its objects
def _difference(one: Lab, other: Lab) -> float:
    return float(differences(one, np.array([other]))[0])


def differences(one: "Lab | np.ndarray", others: np.ndarray) -> np.ndarray:
    """CIEDE2000 of one Lab colour to each row of (n, 3)."""
    # `color_diff` of colormath 3 fails on numpy 2; its matrix functions do not.
    from colormath import color_diff_matrix

    return np.asarray(color_diff_matrix.delta_e_cie2000(np.asarray(one, float), np.asarray(others, float)))


def luminance(shade: str) -> float:
    """Relative luminance 0 to 1 (WCAG 2.1, 2018)."""
    return float(linear(np.array(rgb_of(shade)) / 255.0) @ (0.2126, 0.7152, 0.0722))


def contrast(one: str, other: str) -> float:
    """Contrast ratio 1 to 21 of two "#rrggbb" colours (WCAG 2.1, 2018)."""
    a, b = sorted((luminance(one), luminance(other)))
    return (b + 0.05) / (a + 0.05)


def is_dark(shade: str) -> bool:
    """Ground so dark that most inks need white beneath: L* under 60 (common practice)."""
    return lab_of(shade)[0] < 60


_WORDS = (
    ("black", (0, 0, 0)), ("dark grey", (75, 75, 75)), ("grey", (128, 128, 128)),
    ("light grey", (200, 200, 200)), ("white", (255, 255, 255)), ("red", (215, 35, 40)),
    ("dark red", (125, 20, 30)), ("orange", (240, 125, 30)), ("brown", (120, 75, 40)),
    ("gold", (190, 150, 60)), ("yellow", (250, 215, 40)), ("beige", (225, 205, 165)),
    ("green", (40, 150, 70)), ("dark green", (20, 80, 50)), ("light green", (150, 210, 110)),
    ("teal", (20, 125, 130)), ("turquoise", (60, 190, 195)), ("light blue", (140, 195, 235)),
    ("blue", (35, 95, 185)), ("navy", (28, 42, 82)), ("violet", (100, 65, 150)), ("pink", (240, 150, 180)),
    ("magenta", (205, 30, 125)),
)  # fmt: skip


@functools.lru_cache(maxsize=1024)
def word(shade: str) -> str:
    """A plain word for a colour, as a client would call it."""
    table = np.array([lab_of(hex_of(rgb)) for _, rgb in _WORDS])
    return _WORDS[int(differences(lab_of(shade), table).argmin())][0]


SRGB = ImageCms.createProfile("sRGB")
_PLAIN_CMYK = "it is CMYK without a colour profile, so its colours on screen are only a rough guess"


def to_srgb(image: Image.Image, fallback_cmyk: bytes | None = None) -> tuple[Image.Image, str]:
    """The image in sRGB by its embedded profile, and a note when that could not be done ("" otherwise).

    The rendering intent is relative colorimetric with black point compensation.  Transparency is dropped.
    A CMYK image without a usable profile is converted by `fallback_cmyk` (bytes of an ICC profile) where
    given.
    """
    image = _eight_bit(image)
    data, note = image.info.get("icc_profile"), ""
    if data:
        converted, note = _by_profile(image, data)
        if converted is not None:
            return converted, ""
    if image.mode == "CMYK":
        if fallback_cmyk:
            converted, trouble = _by_profile(image, fallback_cmyk)
            if converted is not None:
                return converted, note
            note = note or trouble
        note = note or _PLAIN_CMYK
    return image.convert("RGB"), note


def _by_profile(image: Image.Image, data: bytes) -> tuple[Image.Image | None, str]:
    """The image through a profile, or None and why not: another space, cut short, or no profile at all."""
    try:
        # LittleCMS reads a profile that was cut short without complaint when the tables it wants are still
        # there.
        if len(data) < 128 or int.from_bytes(data[:4], "big") > len(data):
            raise OSError("the profile is cut short")
        profile = ImageCms.ImageCmsProfile(io.BytesIO(data))
        return ImageCms.profileToProfile(
            image, profile, SRGB, renderingIntent=ImageCms.Intent.RELATIVE_COLORIMETRIC, outputMode="RGB",
            flags=ImageCms.Flags.BLACKPOINTCOMPENSATION,
        ), ""  # fmt: skip
    except (ImageCms.PyCMSError, OSError, ValueError) as error:
        return None, f"its colour profile could not be used ({type(error).__name__})"


def _eight_bit(image: Image.Image) -> Image.Image:
    """The image in a mode that a profile fits, 8 bits a component; deeper greys are scaled, not clipped."""
    if image.mode in ("RGB", "RGBA", "CMYK", "L", "LA", "LAB"):
        return image
    if image.mode.startswith(("I", "F")):
        value = np.asarray(image, np.float64)
        most = float(np.nanmax(value, initial=0.0))
        # 16-bit files open as "I;16" or, big-endian or from PNG, as "I"; float ones hold 0 to 1 (TIFF) or 0
        # to 255.
        if image.mode != "F":
            full = 65535.0 if image.mode.startswith("I;16") or most > 255 else 255.0
        else:
            full = 1.0 if most <= 1 else 255.0 if most <= 255 else most
        grey = np.clip(np.nan_to_num(value) * (255 / full), 0, 255)
        deep = Image.fromarray(np.rint(grey).astype(np.uint8))
        deep.info = dict(image.info)
        return deep
    mode = "L" if image.mode == "1" else "RGB"
    plain = image.convert(mode)
    plain.info.setdefault("icc_profile", image.info.get("icc_profile"))
    return plain
