"""Shapes with a known width, as shapely polygons in mm, y down.

Letters are outlines of open fonts read with fontTools; their stems are measured in the font itself.
"""

import math
import subprocess
from functools import cache
from pathlib import Path

import numpy as np
from fontTools.pens.recordingPen import DecomposingRecordingPen
from fontTools.ttLib import TTFont
from shapely import affinity
from shapely.geometry import LineString, Polygon
from shapely.geometry import box as rectangle
from shapely.ops import unary_union


@cache
def installed_fonts() -> dict[str, Path]:
    """Font files that fontconfig knows, by their name without the ending."""
    listed = subprocess.run(
        ["fc-list", "--format", "%{file}\n"], capture_output=True, text=True, check=True
    ).stdout
    return {Path(line).stem: Path(line) for line in sorted(listed.splitlines())}


def bar(x: float, y: float, width: float, length: float, angle: float = 0.0) -> Polygon:
    """A straight bar, its middle at x, y."""
    return affinity.rotate(
        rectangle(x - length / 2, y - width / 2, x + length / 2, y + width / 2), angle, origin=(x, y)
    )


def disc(x: float, y: float, radius: float, tolerance: float = 2e-4) -> Polygon:
    """A polygon with the area of the disc, flat sides within `tolerance`."""
    count = max(16, int(math.pi / math.acos(max(1 - tolerance / radius, 0.2))) + 1)
    angles = np.arange(count) * 2 * math.pi / count
    r = radius * math.sqrt(2 * math.pi / count / math.sin(2 * math.pi / count))
    return Polygon(np.c_[x + r * np.cos(angles), y + r * np.sin(angles)])


def ring(x: float, y: float, radius: float, width: float) -> Polygon:
    return disc(x, y, radius).difference(disc(x, y, radius - width))


def star(x: float, y: float, outer: float, inner: float, points: int, turn: float = 0.0) -> Polygon:
    angles = turn + np.arange(2 * points) * math.pi / points
    radius = np.where(np.arange(2 * points) % 2, inner, outer)
    return Polygon(np.c_[x + radius * np.cos(angles), y + radius * np.sin(angles)])


def wedge(degrees: float, length: float, angle: float = 0.0) -> Polygon:
    half = length * math.tan(math.radians(degrees) / 2)
    return affinity.rotate(Polygon([(0, 0), (length, -half), (length, half)]), angle, origin=(0, 0))


def curve(points: np.ndarray, width: float) -> Polygon:
    """A ribbon of even width along a cubic Bezier curve, with flat ends."""
    t = np.linspace(0, 1, 300)[:, None]
    b = (
        (1 - t) ** 3 * points[0]
        + 3 * t * (1 - t) ** 2 * points[1]
        + 3 * t * t * (1 - t) * points[2]
        + t**3 * points[3]
    )
    return LineString(b).buffer(width / 2, cap_style="flat", quad_segs=64)


def swelling(least: float, most: float) -> Polygon:
    """A curved stroke that is `least` wide in the middle and `most` at its ends."""
    points = np.array([(0, 0), (3, -4), (3, 4), (7, 0)], float)
    t = np.linspace(0, 1, 400)[:, None]
    b = (
        (1 - t) ** 3 * points[0]
        + 3 * t * (1 - t) ** 2 * points[1]
        + 3 * t * t * (1 - t) * points[2]
        + t**3 * points[3]
    )
    along = np.gradient(b, axis=0)
    along /= np.hypot(*along.T)[:, None]
    across = np.c_[-along[:, 1], along[:, 0]]
    half = (least + (most - least) * (0.5 + 0.5 * np.cos(2 * math.pi * t))) / 2
    return Polygon(np.r_[b + across * half, (b - across * half)[::-1]]).buffer(0)


def blob(x: float, y: float, radius: float, nodes: int, seed: int, noise: float = 0.01) -> Polygon:
    """The ragged outline that tracing a scan gives."""
    random = np.random.default_rng(seed)
    t = np.arange(nodes) * 2 * math.pi / nodes
    r = radius * (1 + 0.25 * np.sin(3 * t) + 0.1 * np.sin(7 * t + 1)) + random.normal(0, noise, nodes)
    return Polygon(np.c_[x + r * np.cos(t), y + r * np.sin(t)]).buffer(0)


@cache
def font(name: str) -> TTFont:
    found = installed_fonts().get(name)
    if found is None:
        raise FileNotFoundError(f"the font {name} is not installed")
    return TTFont(found)


def letters(
    text: str, size: float, name: str = "DejaVuSans", tracking: float = 0.0, x: float = 0.0, y: float = 0.0
) -> list:
    """Outlines of a line of text, one polygon a glyph; `size` is the em."""
    face = font(name)
    glyphs, chars = face.getGlyphSet(), face.getBestCmap()
    scale = size / face["head"].unitsPerEm
    found = []
    for char in text:
        glyph = glyphs[chars[ord(char)]]
        pen = DecomposingRecordingPen(glyphs)
        glyph.draw(pen)
        shape = None
        for outline in _flattened(pen.value):
            piece = Polygon(np.asarray(outline) * (scale, -scale)).buffer(0)
            shape = piece if shape is None else shape.symmetric_difference(piece)
        if shape is not None:
            found.append(affinity.translate(shape, x, y))
        x += glyph.width * scale + tracking
    return found


def stem(name: str, char: str = "l") -> float:
    """Width of a letter that is nothing but a stem, as a part of the em."""
    face = font(name)
    outline = letters(char, 1.0, name)[0]
    x0, _, x1, _ = outline.bounds
    assert len(outline.exterior.coords) == 5, f"{char} of {name} is no plain stem"
    del face
    return x1 - x0


def _flattened(record: list, steps: int = 12) -> list[list[tuple[float, float]]]:
    """Polygons of a pen record."""
    outlines: list[list[tuple[float, float]]] = []
    current: list[tuple[float, float]] = []
    t = np.arange(1, steps + 1)[:, None] / steps
    for call, given in record:
        if call == "moveTo":
            current = [given[0]]
        elif call == "lineTo":
            current.append(given[0])
        elif call == "curveTo":
            a, (b, c, d) = np.array(current[-1], float), np.array(given, float)
            current += map(
                tuple, (1 - t) ** 3 * a + 3 * t * (1 - t) ** 2 * b + 3 * t * t * (1 - t) * c + t**3 * d
            )
        elif call == "qCurveTo":
            start = np.array(current[-1], float)
            for i in range(len(given) - 1):
                handle = np.array(given[i], float)
                end = np.array(given[i + 1], float)
                if i < len(given) - 2:
                    end = (handle + end) / 2
                current += map(tuple, (1 - t) ** 2 * start + 2 * t * (1 - t) * handle + t * t * end)
                start = end
        elif len(current) > 2:
            outlines.append(current)
            current = []
    return outlines


def pieces(shape: object) -> list[Polygon]:
    """The polygons of any shapely result."""
    return [p for p in getattr(shape, "geoms", [shape]) if p.geom_type == "Polygon" and not p.is_empty]


__all__ = [
    "affinity", "bar", "blob", "curve", "disc", "font", "letters", "pieces", "rectangle", "ring", "star", "stem",
    "swelling", "unary_union", "wedge",
]  # fmt: skip
