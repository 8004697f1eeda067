"""Live text, measured exactly: letter by letter from the glyphs' outlines, after every transform."""

import unicodedata
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from preflight.artwork import Artwork, Box, Glyph, TextRun, union
from preflight.measure.letter_line import LetterLine
from preflight.measure.letter_outline import (
    nominal_stroke,
    serif_share,
    smallest_counter,
)
from preflight.measure.live_shown import shown
from preflight.measure.rings import signed_area

#: Lower-case letters, accents taken off, whose height is the x-height.
_X_LETTERS = frozenset("acemnorsuvwxzıαεικνοπστυωавгежзиклмнопстхчшъыьэюяі")
#: Lower-case letters that reach from the x-height below the baseline.
_HANGING = frozenset("gpqyjγημρχруțş")
#: Words of the foot of letters in the names of fonts.
_SERIF_WORDS = ("serif", "roman", "times", "garamond", "bodoni", "didot", "slab", "antiqua", "script")


@dataclass(frozen=True, slots=True)
class _Letter:
    """One letter that counts, its rings as (along, up) from the baseline, mm."""

    char: str
    rings: list[np.ndarray]
    bottom: float
    top: float
    box: Box
    even_odd: bool

    @property
    def height(self) -> float:
        return self.top - self.bottom


def live_lines(art: Artwork) -> list[LetterLine]:
    """Every line of live text that can be seen; text without a letter or figure in it is none."""
    visible = [run for run in art.text if run.visible and run.glyphs and run.em_mm > 0]
    return [line for group in _lines_of(visible) if (line := _measured(group)) and shown(art, group)]


def script_of(text: str) -> str:
    """The script most letters of a text are in, as its Unicode name begins ("latin", "arabic", "cjk"); "" without letters."""
    counts: dict[str, int] = {}
    for char in text:
        if char.isalpha():
            word = unicodedata.name(char, "unnamed").split()[0].lower()
            word = {"fullwidth": "latin", "feminine": "latin", "masculine": "latin", "micro": "greek"}.get(
                word, word
            )
            counts[word] = counts.get(word, 0) + 1
        elif char.isnumeric():
            counts.setdefault("latin", 0)
    return max(counts, key=lambda word: counts[word]) if counts else ""


def _lines_of(runs: Sequence[TextRun]) -> Iterator[list[TextRun]]:
    """Runs that follow each other on one baseline, straight or bent, in drawing order."""
    group: list[TextRun] = []
    for run in runs:
        if group and not _follows(group[-1], run):
            yield group
            group = []
        group.append(run)
    if group:
        yield group


def _follows(before: TextRun, after: TextRun) -> bool:
    em = max(before.em_mm, after.em_mm)
    if min(before.em_mm, after.em_mm) < 0.95 * em or before.ink != after.ink:
        return False
    turn = float(np.dot(before.along, after.along))
    last, first = np.array(before.glyphs[-1].origin), np.array(after.glyphs[0].origin)
    step = first - last
    ahead, aside = float(step @ np.array(before.along)), abs(float(step @ np.array(before.up)))
    if turn > 0.9998:
        return aside < 0.05 * em and -0.2 * em < ahead < 2.2 * em
    return turn > 0.8 and aside < 0.6 * em and 0 < ahead < 1.8 * em  # letters set along a curve


def _measured(runs: list[TextRun]) -> LetterLine | None:
    text = "".join(run.text or "".join(g.char for g in run.glyphs) for run in runs)
    letters = [letter for run in runs for g in run.glyphs if (letter := _letter(g, run))]
    if not letters:
        return None
    least = min(letters, key=lambda one: one.height)
    capitals = [one.height for one in letters if _is_capital(one.char)]
    substituted = next((run.font.name for run in runs if run.font.substituted), None)
    tallest = max(one.height for one in letters)
    rings = [one.rings for one in letters]
    even_odd = letters[0].even_odd
    names = " ".join(run.font.name.lower() for run in runs)
    plainly_sans = "sans" in names
    serif = not plainly_sans and (
        any(w in names for w in _SERIF_WORDS) or serif_share(rings, even_odd) >= 0.4
    )
    return LetterLine(
        shortest=least.height,
        cap=min(capitals) if capitals else None,
        x_height=_x_height(letters),
        stroke=nominal_stroke(rings, tallest, even_odd),
        counter=smallest_counter(rings, tallest, even_odd),
        box=union([one.box for one in letters]),
        small=least.box,
        text=" ".join(text.split()),
        script=script_of(text),
        kind="live",
        live=True,
        serif=serif,
        ink=runs[0].ink,
        letters=tuple(one.box for one in letters),
        knocked_out=all(run.ink is None for run in runs),
        note=(
            "The file does not carry its font; it was measured in the font shipped with this program."
            if substituted
            else ""
        ),
    )


def _letter(glyph: Glyph, run: TextRun) -> _Letter | None:
    """The glyph as a letter that counts, without its accents and dots; None for whatever is no letter or figure."""
    char = glyph.char[:1]
    if glyph.path is None or not char or unicodedata.category(char)[0] not in "LN":
        return None
    rings = glyph.path.polygons()
    if not rings:
        return None
    axes = np.array([run.along, run.up]).T
    upright = [(ring - np.array(glyph.origin)) @ axes for ring in rings]
    if len(unicodedata.normalize("NFD", char)) > 1 or char in "ij":
        kept = _body(upright)
        rings, upright = [rings[i] for i in kept], [upright[i] for i in kept]
    heights = np.concatenate([ring[:, 1] for ring in upright])
    points = np.vstack(rings)
    (x0, y0), (x1, y1) = points.min(0), points.max(0)
    if heights.max() <= heights.min():
        return None
    return _Letter(
        glyph.char,
        upright,
        float(heights.min()),
        float(heights.max()),
        (float(x0), float(y0), float(x1), float(y1)),
        glyph.path.even_odd,
    )


def _body(rings: list[np.ndarray]) -> list[int]:
    """The rings beside or inside the largest one: what floats above it or hangs below is an accent or a dot."""
    largest = max(rings, key=lambda ring: abs(signed_area(ring)))
    bottom, top = largest[:, 1].min(), largest[:, 1].max()
    return [i for i, ring in enumerate(rings) if ring[:, 1].max() > bottom and ring[:, 1].min() < top]


def _bare(char: str) -> str:
    return unicodedata.normalize("NFD", char)[:1]


def _is_capital(char: str) -> bool:
    return char[:1].isupper() or char[:1].isnumeric()


def _x_height(letters: list[_Letter]) -> float | None:
    flat = [one.height for one in letters if _bare(one.char) in _X_LETTERS or one.char == "i"]
    if flat:
        return min(flat)
    hanging = [one.top for one in letters if _bare(one.char) in _HANGING]
    return min(hanging) if hanging else None
