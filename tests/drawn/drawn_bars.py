"""Drawings for bar codes, codes light on dark, and bitmaps of line art."""

from typing import Any

import segno
import shapely

from drawn.case import Drawn, draws, of
from drawn.drawn_order import bitmap
from drawn.drawn_words import modules
from drawn.paper import Paper
from preflight.rulebook import Rule

#: Bars and spaces of the digits on the left of a retail code, odd way (from memory; a bar-code reader reads them back).
ODD = "0001101 0011001 0010011 0111101 0100011 0110001 0101111 0111011 0110111 0001011".split()
FIRST = "OOOOOO OOEOEE OOEEOE OOEEEO OEOOEE OEEOOE OEEEOO OEOEOE OEOEEO OEEOEO".split()


def ean13(digits: str = "5901234123457") -> str:
    """The 95 modules of a retail code, "1" for a bar."""
    right = ["".join("10"[int(bit)] for bit in code) for code in ODD]
    even = [code[::-1] for code in right]
    ways = zip(FIRST[int(digits[0])], digits[1:7], strict=True)
    left = "".join((ODD if way == "O" else even)[int(digit)] for way, digit in ways)
    return "101" + left + "01010" + "".join(right[int(digit)] for digit in digits[7:]) + "101"


def bars(module: float, left: float = 14.0) -> tuple[Paper, float]:
    """A retail code 14 mm high; a solid stands so many modules to the left of it."""
    pattern = ean13()
    at = 4 + 6 * module + left * module
    paper = Paper(at + (len(pattern) + 14) * module + 4, 30)
    found = [
        shapely.box(at + n * module, 6, at + (n + 1) * module, 20)
        for n, bar in enumerate(pattern)
        if bar == "1"
    ]
    paper.fill(shapely.unary_union(found), "Black")
    return paper, at


@draws("codes.bar_module_size")
def bar_width(size: float, rule: Rule) -> Drawn:
    """A retail code whose narrowest bar is so wide."""
    return of(bars(size)[0], rule)


@draws("codes.bar_red_contrast")
def bars_in_red_light(share: float, rule: Rule) -> Drawn:
    """A retail code on white in a colour whose red is so much less than that of white (IEC 61966-2-1:1999)."""
    light = 1 - share / 100
    red = 12.92 * light if light <= 0.0031308 else 1.055 * light ** (1 / 2.4) - 0.055
    pattern, module = ean13(), 0.5
    paper = Paper((len(pattern) + 30) * module, 30, shades={"Bars": (red, 0.1, 0.1)})
    found = [
        shapely.box((15 + n) * module, 6, (16 + n) * module, 20)
        for n, bar in enumerate(pattern)
        if bar == "1"
    ]
    return of(paper.fill(shapely.unary_union(found), "Bars"), rule)


@draws("codes.bar_quiet_zone")
def bar_margin(share: float, rule: Rule) -> Drawn:
    """A retail code beside a solid, with such a share of the eleven modules it should have on that side."""
    module, clear = 0.4, 11 * share / 100
    paper, at = bars(module, clear)
    solid: Any = shapely.box(4, 6, at - clear * module, 20)
    return of(paper.fill(solid, "Black"), rule)


@draws("codes.inverse")
def inverse(count: float, rule: Rule) -> Drawn:
    """A QR code as it should be, or left open in a solid."""
    squares, module = modules(), 0.8
    side = len(squares) * module
    paper = Paper(side + 20, side + 20)
    found = shapely.unary_union(
        [
            shapely.box(10 + x * module, 10 + y * module, 10 + (x + 1) * module, 10 + (y + 1) * module)
            for y, line in enumerate(squares)
            for x, on in enumerate(line)
            if on
        ]
    )
    whole = shapely.box(4, 4, side + 16, side + 16)
    return of(paper.fill(whole.difference(found) if count else found, "Black"), rule)


@draws("codes.only_named")
def other_code(count: float, rule: Rule) -> Drawn:
    """A QR code, or a code of another kind in its place."""
    squares = segno.make("12345", micro=True).matrix if count else modules()
    side = len(squares) * 0.8
    paper = Paper(side + 20, side + 20)
    found = [
        shapely.box(10 + x * 0.8, 10 + y * 0.8, 10.8 + x * 0.8, 10.8 + y * 0.8)
        for y, line in enumerate(squares)
        for x, on in enumerate(line)
        if on
    ]
    return of(paper.fill(shapely.unary_union(found), "Black"), rule)


draws("structure.line_art_bitmaps")(bitmap)
