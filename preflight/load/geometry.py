"""From what the recorder noted, in points, to marks of the model, in mm of the page."""

import re
from collections.abc import Sequence
from typing import Any

import numpy as np

from preflight.artwork import Box, Font, Glyph, Mark, Path, Pen, TextRun, union
from preflight.load.device import MM, Matrix, Rect
from preflight.load.recorder import Drawn, FontNote, Recorder
from preflight.quantity import plain

#: How the names of shipped fonts begin.
STAND_INS = ("Fira", "Noto")


def area(box: Rect) -> float:
    """Area of a rectangle, in its own unit squared."""
    return max(0.0, box[2] - box[0]) * max(0.0, box[3] - box[1])


def in_mm(box: Rect) -> Box:
    """A rectangle in points as a box in mm."""
    return (box[0] * MM, box[1] * MM, box[2] * MM, box[3] * MM)


def moved(points: np.ndarray, matrix: Matrix) -> np.ndarray:
    """Points through a matrix, in mm."""
    a, b, c, d, e, f = matrix
    return (points @ np.array([[a, b], [c, d]]) + (e, f)) * MM


def path_of(one: Drawn) -> Path | None:
    """The outline of a call; None in a cell of a pattern, which appears elsewhere than it is drawn."""
    if one.tiled:
        return None
    return Path(one.steps, moved(one.points, one.matrix), one.even_odd)


def pen_of(one: Drawn) -> Pen | None:
    """The pen of a stroke."""
    if one.pen is None:
        return None
    least, most, dashes = one.pen
    return Pen(least * MM, most * MM, tuple(d * MM for d in dashes))


def font_of(note: FontNote) -> Font:
    """A font under the name it has in the trade: without the six letters that mark a subset (ISO 32000-2, 9.9.2)."""
    name = plain(re.sub(r"^[A-Z]{6}\+", "", note.name), 80)
    return Font(name, note.embedded, note.substituted and not note.embedded)


def named_font(note: FontNote, replaced: Sequence[Font]) -> Font:
    """The client's font behind one that a page uses, where an earlier loader had to draw with its own.

    PostScript keeps a font's name.  A drawing from SVG has lost it: its fonts are stand-ins for all that were asked for.
    """
    own = font_of(note)
    same = next((font for font in replaced if font.name == own.name), None)
    if same is not None or not any(own.name.startswith(name) for name in STAND_INS) or not replaced:
        return same or own
    if len(replaced) == 1:
        return replaced[0]
    return Font(
        plain("one of " + ", ".join(font.name for font in replaced), 120), embedded=False, substituted=True
    )


def add_text(
    one: Drawn,
    recorder: Recorder,
    replaced: Sequence[Font],
    common: dict[str, Any],
    marks: list[Mark],
    runs: list[TextRun],
) -> None:
    """A text call as one mark a letter and one run a font; `replaced` are the fonts an earlier loader drew stand-ins for."""
    for run in one.runs:
        glyphs, boxes = [], []
        for char, key, matrix in run.glyphs:
            steps, points = recorder.outlines[key]
            path = Path(steps, moved(points, matrix)) if steps else None
            glyphs.append(Glyph(char, path, (matrix[4] * MM, matrix[5] * MM)))
            if path is not None:
                box = path.box()
                boxes.append(box)
                marks.append(Mark("glyph", box, path=path, pen=pen_of(one), run=len(runs), **common))
        if not glyphs:
            continue
        a, b, c, d = run.trm[:4]
        length = float(np.hypot(a, b)) or 1.0
        along = (a / length, b / length)
        # slanted letters are no taller for it: heights are taken square to the baseline
        rise = c * -along[1] + d * along[0]
        side = -1.0 if rise < 0 else 1.0
        runs.append(
            TextRun(
                glyphs=tuple(glyphs),
                font=named_font(recorder.fonts[run.font], replaced),
                em_mm=abs(rise) * MM,
                along=along,
                up=(-along[1] * side, along[0] * side),
                ink=common["ink"],
                box=union(boxes) if boxes else in_mm(one.box or one.whole),
                text=plain("".join(g.char for g in glyphs), 120),
            )
        )
