"""Drawings for lettering, fonts and codes."""

from typing import Any

import segno
import shapely

from drawn.case import Drawn, draws, of
from drawn.paper import (
    BOLD,
    NAVY,
    PLAIN,
    SERIF,
    Dictionary,
    Lettering,
    Name,
    Paper,
    capitals,
    disc,
    height_of,
    lettering,
    live,
    rounded,
)
from preflight.rulebook import Rule

WORDS = "KITE FAIR"
LINK = "KITES 2031"


def spaced(words: Lettering, clear: float = 1.0) -> tuple[Paper, float, float]:
    """A sheet for words set at (clear, baseline)."""
    x0, y0, x1, y1 = words.bounds
    return Paper(x1 + 4, y1 + 4), x0, y0


def worded(words: Lettering, rule: Rule) -> Drawn:
    """Words alone on a sheet."""
    paper, _, _ = spaced(words)
    return of(paper.fill(words), rule)


@draws("lettering.cap_height", "lettering.cap_or_equivalent", "lettering.shortest_letter")
def outlined_capitals(height: float, rule: Rule) -> Drawn:
    """Capitals in outlines, a cut line round each letter's own place where film is cut."""
    return worded(capitals(WORDS, 4, 4 + height, height), rule)


@draws("lettering.cap_height", "lettering.cap_or_equivalent")
def live_capitals(height: float, rule: Rule) -> Drawn:
    """Capitals of live text."""
    words = capitals("MITE HALL", 4, 4 + height, height, PLAIN)  # flat-topped letters alone: no overshoot
    x0, _, x1, _ = words.bounds
    data = live("MITE HALL", 4, 4 + height, height / height_of("H", PLAIN), width=x1 + 4, height=height + 8)
    return Drawn(data, {"width": f"{x1 - x0:.4f}"})


@draws("lettering.cap_height", "lettering.cap_or_equivalent")
def serif_capitals(height: float, rule: Rule) -> Drawn:
    """Capitals with serifs, in outlines."""
    return worded(capitals("MARSH TIDE", 4, 4 + height, height, SERIF), rule)


@draws("lettering.x_height", "lettering.cap_or_equivalent")
def outlined_lower_case(height: float, rule: Rule) -> Drawn:
    """Lower-case words; a cap-height limit looks at the capitals that go with them, x-height / 0.74."""
    if rule.measure.__name__ == "cap_or_equivalent":
        height *= 0.74
    return worded(lettering("over marsh winds", 4, 4 + 2 * height, height / height_of("x"), BOLD), rule)


@draws("lettering.x_height")
def live_lower_case(height: float, rule: Rule) -> Drawn:
    """The same as live text."""
    em = height / height_of("x", PLAIN)
    x0, _, x1, _ = lettering("vixen zxuv", 4, 4 + 2 * height, em, PLAIN).bounds
    data = live("vixen zxuv", 4, 4 + 2 * height, em, width=x1 + 4, height=3 * height + 8)
    return Drawn(data, {"width": f"{x1 - x0:.4f}"})


@draws("lettering.knocked_out_height")
def knocked_out(height: float, rule: Rule) -> Drawn:
    """White capitals in a slab."""
    words = capitals(WORDS, 8, 8 + height, height)
    _, _, x1, y1 = words.bounds
    paper = Paper(x1 + 8, y1 + 8)
    paper.fill(rounded(4, 4, x1, y1, 1.5)).fill(words, None)
    return of(paper, rule)


@draws("lettering.serif_height")
def serifs(height: float, rule: Rule) -> Drawn:
    """Capitals with serifs."""
    return worded(capitals("MARSH TIDE", 4, 4 + height, height, SERIF), rule)


@draws("lettering.counters")
def counters(opening: float, rule: Rule) -> Drawn:
    """Capitals whose smallest enclosed opening takes a circle of that diameter."""
    words = "BOARD ROAD"
    unit = capitals(words, 0, 0, 10).openings[0] / 10
    return worded(capitals(words, 4, 4 + opening / unit, opening / unit), rule)


@draws("lettering.unsure")
def script(count: float, rule: Rule) -> Drawn:
    """Words in a script without capitals, or plain ones."""
    if not count:
        return worded(capitals(WORDS, 4, 12, 8), rule)
    return Drawn(live("風箏市集", 4, 14, 10, "cjk", width=60, height=24), {"width": "40"})


@draws("fonts.not_embedded")
def font(count: float, rule: Rule) -> Drawn:
    """Live text in a font the file carries, or does not carry."""
    if not count:
        return Drawn(live(WORDS, 4, 14, 10), {"width": "44"})
    paper = Paper(60, 30).box(2, 2, 4, 4)

    def adds(pdf: Any, found: Any) -> None:
        found.Font = Dictionary(F0=Dictionary(Type=Name.Font, Subtype=Name.TrueType, BaseFont=Name("/KiteGrotesk-Bold"),
                                              Encoding=Name.WinAnsiEncoding))  # fmt: skip

    paper.resources.append(adds)
    paper.say(f"q 1 0 0 -1 4 20 cm BT /F0 9 Tf ({WORDS}) Tj ET Q", shapely.box(4, 12, 50, 20))
    return of(paper, rule)


# ------------------------------------------------------------------ codes


def modules(text: str = LINK) -> list[list[bool]]:
    """The squares of a QR code."""
    code = segno.make(text, error="m", micro=False, boost_error=False)
    return [[bool(square) for square in row] for row in code.matrix]


def code(
    module: float,
    *,
    ink: str = "Black",
    quiet: float | None = None,
    shades: Any = None,
    damaged: bool = False,
) -> Paper:
    """A QR code; at `quiet` modules from it a frame comes near, else nothing does."""
    squares = modules()
    side, clear = len(squares) * module, (6 if quiet is None else quiet) * module
    thick = 2 * module
    paper = Paper(side + 2 * (clear + thick) + 8, side + 2 * (clear + thick) + 8, shades=dict(shades or {}))
    at = 4 + thick + clear
    boxes = []
    for row, line in enumerate(squares):
        for column, on in enumerate(line):
            finder = (row < 8 or row > len(squares) - 9) and (column < 8 or column > len(squares) - 9)
            if damaged and not finder and (row * 7 + column * 3) % 5 < 2:
                on = not on
            if on:
                x, y = at + column * module, at + row * module
                boxes.append(shapely.box(x, y, x + module, y + module))
    paper.fill(shapely.unary_union(boxes), ink)
    if quiet is not None:
        outer = shapely.box(4, 4, 4 + side + 2 * (clear + thick), 4 + side + 2 * (clear + thick))
        paper.fill(
            outer.difference(shapely.box(at - clear, at - clear, at + side + clear, at + side + clear)), ink
        )
    return paper


@draws("codes.module_size")
def code_module(size: float, rule: Rule) -> Drawn:
    """A QR code of such modules."""
    return of(code(size), rule)


@draws("codes.quiet_zone")
def code_margin(quiet: float, rule: Rule) -> Drawn:
    """A QR code with a frame so many modules away."""
    return of(code(0.8, quiet=quiet), rule)


@draws("codes.contrast")
def code_contrast(ratio: float, rule: Rule) -> Drawn:
    """A QR code in a grey of that contrast with white."""
    from drawn.drawn_colour import grey_of

    return of(code(0.8, ink="Grey", shades={"Grey": grey_of(ratio)}), rule)


@draws("codes.unreadable")
def code_damaged(count: float, rule: Rule) -> Drawn:
    """A QR code, sound or with altered squares."""
    return of(code(0.8, damaged=bool(count)), rule)


__all__ = ["NAVY", "disc"]
