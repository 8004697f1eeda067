"""Lettering as outlines, from the open fonts that pymupdf-fonts carries; nothing of the machine's own fonts is used."""

import functools
import io
import math
from typing import Any

import pymupdf_fonts
from fontTools.pens.recordingPen import DecomposingRecordingPen
from fontTools.ttLib import TTFont
from shapes import Point, Shape, together

BOLD, REGULAR = "figbo", "figo"  # FiraGO, SIL Open Font Licence 1.1


@functools.cache
def font(name: str) -> Any:
    return TTFont(io.BytesIO(pymupdf_fonts.myfont(name)))


def line(
    text: str, capitals: float, face: str = BOLD, spacing: float = 0.0, x: float = 0.0, y: float = 0.0
) -> Shape:
    """One line, its baseline's middle at (x, y); `capitals` their height and `spacing` the extra room, mm."""
    glyphs = _set(text, capitals, face, spacing)
    width = glyphs[-1][1] + glyphs[-1][2]
    return together(g.at(x + start - width / 2, y) for g, start, _ in glyphs)


def arch(text: str, capitals: float, radius: float, face: str = BOLD, spacing: float = 0.0,
         x: float = 0.0, y: float = 0.0, below: bool = False) -> Shape:  # fmt: skip
    """A line on a circle round (x, y), centred at the top, or `below` at the bottom and still read from the left."""
    glyphs = _set(text, capitals, face, spacing)
    width = glyphs[-1][1] + glyphs[-1][2]
    out = []
    for glyph, start, advance in glyphs:
        middle = start + advance / 2 - width / 2
        degrees = math.degrees(middle / (radius + (capitals * (-0.5 if below else 0.5))))
        moved = glyph.at(-advance / 2, 0)
        if below:
            out.append(moved.at(0, radius).at(x, y, turn=-degrees))
        else:
            out.append(moved.at(0, -radius).at(x, y, turn=degrees))
    return together(out)


def _set(text: str, capitals: float, face: str, spacing: float) -> list[tuple[Shape, float, float]]:
    """Glyphs at the origin with their starts and advances, mm."""
    ttf = font(face)
    scale = capitals / ttf["OS/2"].sCapHeight
    glyphs, cmap, place, out = ttf.getGlyphSet(), ttf.getBestCmap(), 0.0, []
    for letter in text:
        name = cmap[ord(letter)]
        advance = glyphs[name].width * scale
        out.append((_outline(face, name).map(scale, 0, 0, -scale, 0, 0), place, advance))
        place += advance + spacing
    return out


@functools.cache
def _outline(face: str, name: str) -> Shape:
    """A glyph in font units, its quadratic curves raised to cubics."""
    pen = DecomposingRecordingPen(font(face).getGlyphSet())
    font(face).getGlyphSet()[name].draw(pen)
    contours: list[tuple[Point, tuple[tuple[Point, ...], ...]]] = []
    start, here, segments = (0.0, 0.0), (0.0, 0.0), []
    for operator, points in pen.value:
        if operator == "moveTo":
            start = here = points[0]
            segments = []
        elif operator == "lineTo":
            segments.append((points[0],))
        elif operator == "curveTo":
            segments.append(tuple(points))
        elif operator == "qCurveTo":
            segments += _cubics(here, points)
        elif operator in ("closePath", "endPath"):
            contours.append((start, tuple(segments)))
        if segments:
            here = segments[-1][-1]
    return Shape(tuple(contours))


def _cubics(here: Point, points: tuple[Point, ...]) -> list[tuple[Point, ...]]:
    out = []
    for i, control in enumerate(points[:-1]):
        last = i == len(points) - 2
        end = (
            points[-1] if last else ((control[0] + points[i + 1][0]) / 2, (control[1] + points[i + 1][1]) / 2)
        )
        out.append(
            (
                (here[0] + (control[0] - here[0]) * 2 / 3, here[1] + (control[1] - here[1]) * 2 / 3),
                (end[0] + (control[0] - end[0]) * 2 / 3, end[1] + (control[1] - end[1]) * 2 / 3),
                end,
            )
        )
        here = end
    return out
