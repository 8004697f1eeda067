"""Colour syntax: CSS Color 4 and the device colours of CSS Color 5 as 8-bit sRGB."""

import colorsys
import math
import re

from preflight import colour
from preflight.load.svg_syntax import CALL


def read_colour(text: str) -> tuple[int, int, int, float] | None:
    """Red, green, blue 0 to 255 and alpha of a CSS Color 4 colour; None where it can't be told."""
    words = text.strip()
    if re.fullmatch(r"#[0-9a-fA-F]{4}|#[0-9a-fA-F]{8}", words):
        digits = words[1:] if len(words) == 9 else "".join(d * 2 for d in words[1:])
        return (*colour.rgb_of(digits[:6]), int(digits[6:], 16) / 255)
    if words.lower() == "transparent":
        return (0, 0, 0, 0.0)
    call = CALL.fullmatch(words)
    if call is None:
        # Without its "#" a hexadecimal figure is no colour to any browser.
        named = words.startswith("#") or not re.fullmatch(r"[0-9a-fA-F]{3}|[0-9a-fA-F]{6}", words)
        shade = colour.named(words) if named and re.fullmatch(r"#?[a-zA-Z0-9]+", words) else None
        return (*colour.rgb_of(shade), 1.0) if shade else None
    try:
        return _called(call[1].lower(), call[2])
    except (ValueError, OverflowError):
        return None


def _called(name: str, inside: str) -> tuple[int, int, int, float] | None:
    """The colour functions of CSS Color 4 and 5.  Raises ValueError where an argument is none."""
    before, slash, after = inside.partition("/")
    given = [word for word in re.split(r"[\s,]+", before.strip()) if word]
    alpha = after.strip() if slash else ""
    space = given.pop(0).lower() if name == "color" and given else ""
    count = {"device-cmyk": 4, "device-gray": 1}.get(name, 3)
    if not alpha and len(given) == count + 1:
        alpha = given.pop()
    if len(given) != count:
        return None
    opacity = min(1.0, max(0.0, _part(alpha, 1.0))) if alpha else 1.0
    if name in ("rgb", "rgba"):
        rgb = [_part(v, 255.0) / 255 for v in given]
    elif name == "device-rgb" or (name == "color" and space == "srgb"):
        rgb = [_part(v, 1.0) for v in given]
    elif name in ("hsl", "hsla"):
        share = [_part(v if v.endswith("%") else v + "%", 1.0) for v in given[1:]]
        rgb = list(colorsys.hls_to_rgb(_turn(given[0]), share[1], share[0]))
    elif name == "hwb":
        white, black = (_part(v if v.endswith("%") else v + "%", 1.0) for v in given[1:])
        total = max(1.0, white + black)
        white, black = white / total, black / total
        rgb = [v * (1 - white - black) + white for v in colorsys.hls_to_rgb(_turn(given[0]), 0.5, 1.0)]
    elif name in ("lab", "lch"):  # CSS Color 4 section 9: relative to D50, as everywhere here
        first, second = _part(given[1], 125.0 if name == "lab" else 150.0), given[2]
        a, b = (first, _part(second, 125.0)) if name == "lab" else _polar(first, second)
        rgb = [v / 255 for v in colour.rgb_of(colour.hex_of_lab((_part(given[0], 100.0), a, b)))]
    elif name in ("oklab", "oklch"):
        first, second = _part(given[1], 0.4), given[2]
        a, b = (first, _part(second, 0.4)) if name == "oklab" else _polar(first, second)
        rgb = _from_oklab(_part(given[0], 1.0), a, b)
    elif name == "device-gray":
        rgb = [_part(given[0], 1.0)] * 3
    elif name == "device-cmyk":  # CSS Color 5 section 13: the naive conversion, in want of a profile
        c, m, y, k = (min(1.0, max(0.0, _part(v, 1.0))) for v in given)
        rgb = [1 - min(1.0, v * (1 - k) + k) for v in (c, m, y)]
    else:
        return None
    r, g, b = (int(round(255 * min(1.0, max(0.0, v)))) for v in rgb)
    return (r, g, b, opacity)


def _part(word: str, full: float) -> float:
    """A number, or a percentage of `full`."""
    if word.lower() == "none":
        return 0.0
    value = float(word[:-1]) / 100 * full if word.endswith("%") else float(word)
    if not math.isfinite(value):
        raise ValueError(word)
    return value


def _turn(word: str) -> float:
    """An angle as a fraction of a turn."""
    match = re.fullmatch(r"([-+.\deE]+?)(deg|grad|rad|turn)?", word, re.I)
    if not match:
        raise ValueError(word)
    return (
        float(match[1])
        / {"grad": 400.0, "rad": 2 * math.pi, "turn": 1.0}.get((match[2] or "").lower(), 360.0)
        % 1.0
    )


def _polar(chroma: float, hue: str) -> tuple[float, float]:
    angle = 2 * math.pi * _turn(hue)
    return chroma * math.cos(angle), chroma * math.sin(angle)


def _from_oklab(lightness: float, a: float, b: float) -> list[float]:
    """Components 0 to 1 (sRGB) of Oklab; matrices of B. Ottosson 2020, as in CSS Color 4 section 18."""
    l3 = (lightness + 0.3963377774 * a + 0.2158037573 * b) ** 3
    m3 = (lightness - 0.1055613458 * a - 0.0638541728 * b) ** 3
    s3 = (lightness - 0.0894841775 * a - 1.2914855480 * b) ** 3
    light = (
        4.0767416621 * l3 - 3.3077115913 * m3 + 0.2309699292 * s3,
        -1.2684380046 * l3 + 2.6097574011 * m3 - 0.3413193965 * s3,
        -0.0041960863 * l3 - 0.7034186147 * m3 + 1.7076147010 * s3,
    )
    return [12.92 * v if v <= 0.0031308 else 1.055 * v ** (1 / 2.4) - 0.055 for v in light]
