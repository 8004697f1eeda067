"""Inks that are none: what a blur or lossy compression makes of two others.

A blur mixes the lightness and the colour of two inks alike: lines of one ink and several widths look, after a scanner's glass,
like several inks on one straight line in sRGB, from the sheet to the strongest of them.

JPEG and lossy WebP store colour at half the resolution of lightness and quantise it in blocks (ITU-T T.81 with T.871; blocks
of 8 samples, which at half resolution are 16 pixels wide).  Near the edge of two inks a pixel so has one share of the other
ink's lightness and another share of its colour: on a thin line the lightness is the line's and the colour half the sheet's,
beside it the lightness is the sheet's and the colour already the line's, and where a block rings the colour is the opposite
of the other ink's.  The two shares tell all of these from an ink of its own; where the pixels lie and how many they are tells
the rest.
"""

from dataclasses import dataclass

import cv2
import numpy as np

from preflight.pixels.inks import Colour, assigned
from preflight.pixels.lab import LUMA, difference
from preflight.pixels.reduction import Work

#: Two inks that differ by less than this in lightness or in colour, sRGB, have no shares of it.
LEAST_STEP = (8.0, 25.0)
#: A blend lies no further from its shares than this, sRGB; after a scanner's blur also this part of the way between the inks.
ASIDE, ASIDE_PART = 26.0, 0.16
#: Shares further apart than this are of lightness and colour stored apart.
PARTED = 0.15
#: A blurred line has more than this part of each ink.
LEAST_PART = 0.1
#: Edges of a scan are wider than this, pixels; its lines can be eroded no more than so often and cover less than this part.
SCAN_BLUR, LINE_THICKNESS, LINE_SHARE = 1.88, 3, 0.02
#: What a JPEG smears around a line can be eroded no more than so often; and this share of the way at least is the colour's:
#: lightness alone is a line of its own, grey.  The two inks differ in lightness and in colour by more than this, sRGB.
SMEAR_THICKNESS, LEAST_COLOUR, LEAST_APART = 1, 0.25, (30.0, 50.0)
#: Pixels of the picture that the colour of a shape reaches: a block at half resolution.
REACH = 16
#: Only a colour whose flat parts cover less than this part of the picture, and can be eroded no more than so often, is doubted.
MOST_CORE, MOST_THICKNESS = 0.012, 3
#: The ink that it is a rim of has at least so many times its flat parts; or only as many, if they look so much alike, CIEDE2000.
LARGER, ALIKE = 3.0, 10.0
#: A rim has this share of the lightness of the other ink at most, and a share of its colour from here to here: where a block
#: rings it is the opposite.
RIM_LIGHTNESS, RIM_FROM, RIM_TO = 0.15, -0.5, 0.95
#: An ink whose thin strokes have lost some of their colour to what is around them is there twice.  The strokes look so much like
#: it (ALIKE), have so much of the other colour, and cover less than this part of the picture; where the ink itself was left it
#: has flat parts of at least this part of theirs.
FADED_LARGER, MOST_FADED, FADED_FROM = 0.1, 0.05, 0.03
#: The softened edge between two inks has a share of both from here to here.  It lies within so many pixels of both; or only
#: within REACH, when its flat parts cover less than this part of the picture and both inks have so many times as much.
EDGE_FROM, EDGE_TO, EDGE_REACH, EDGE_CORE, EDGE_LARGER = 0.2, 0.8, 3, 0.0012, 8.0
#: This part of it lies within reach of both.
BESIDE = 0.85
#: Inks whose places are looked for: bounded work.
MOST_NEAR = 24


@dataclass(frozen=True, slots=True)
class Shares:
    """How far a colour lies on the way from one ink to another, and how far off, sRGB.

    Attributes:
        light: its share of the lightness, 0 to 1; 0 between inks as light as each other.
        colour: its share of the colour; 0 between greys.  Where a block rings, less than 0.
        aside: distance from the colour that has these shares.
        contrast: of the two inks, in lightness and in colour.
        raw_light: the share of the lightness before it is held within 0 and 1.
    """

    light: float
    colour: float
    aside: float
    contrast: tuple[float, float]
    raw_light: float


@dataclass(frozen=True, slots=True)
class _Places:
    """Which pixels are nearest to which colour, and what lies within reach of them."""

    number: np.ndarray
    scale: float
    near: dict[tuple[int, int], np.ndarray]

    def of(self, number: int) -> np.ndarray:
        return self.number == number

    def near_to(self, number: int, reach: int) -> np.ndarray:
        """What lies within reach of a colour, pixels of the picture: bool (h, w)."""
        if (number, reach) not in self.near:
            side = 2 * max(2, round(reach / self.scale)) + 1
            own = self.of(number).astype(np.uint8)
            self.near[number, reach] = cv2.dilate(own, np.ones((side, side), np.uint8)) > 0
        return self.near[number, reach]

    def beside(self, mask: np.ndarray, numbers: tuple[int, ...], reach: int) -> bool:
        """Whether nearly all of a mask lies within reach of each of some colours."""
        near = np.logical_and.reduce([self.near_to(number, reach)[mask] for number in numbers])
        return bool(near.mean() >= BESIDE)


def without_blends(colours: list[Colour], work: Work, faint: bool = False) -> list[Colour]:
    """The inks of a lossy picture without those that are but a blend of two others.

    An ink without flat parts was found because its pixels are no mixture of others: it is never doubted.

    Args:
        colours: the inks with their `rgb`, the largest first.
        work: the reduced picture.
        faint: it has too few edges of any contrast to tell how blurred it is.
    """
    if not work.lossy or len(colours) < 3:
        return colours
    return _without_rims(_without_lines(colours, work, faint or work.blur > SCAN_BLUR), work)


def _without_lines(colours: list[Colour], work: Work, blurred: bool) -> list[Colour]:
    """The inks without those of thin lines on the sheet that are what is left of another ink, wherever that one is."""
    kept = list(colours)
    ground = colours[0]
    for colour in sorted(colours[1:], key=lambda c: _apart(c, ground)):  # the palest first
        others = [other for other in kept if other is not colour]
        line = colour.thickness <= LINE_THICKNESS and 0 < colour.core < LINE_SHARE * work.steps.size
        if line and any(
            (colour.thickness <= SMEAR_THICKNESS and _is_smeared(colour, ground, other))
            or (blurred and _is_blurred(colour, ground, other))
            for other in others
            if other is not ground
        ):
            kept = others
    return kept


def _without_rims(colours: list[Colour], work: Work) -> list[Colour]:
    """The inks without those that are but another ink near a third, the smallest first; thin strokes before all rims."""
    total = work.steps.size
    kept = list(colours)
    for is_none, most in ((_is_faded, MOST_FADED), (_is_rim, MOST_CORE)):
        doubted = [c for c in kept if 0 < c.core < most * total and c.thickness <= MOST_THICKNESS]
        if len(kept) < 3 or not doubted:
            continue
        places = _placed(kept, work)
        for colour in sorted(doubted, key=lambda c: c.core):
            if is_none(colour, kept, places):
                kept = [other for other in kept if other is not colour]
                places = _placed(kept, work)
    return kept


def _placed(colours: list[Colour], work: Work) -> _Places:
    numbers, _ = assigned(colours, work.lab.reshape(-1, 3))
    where = numbers.reshape(work.steps.shape)
    if work.clear is not None:
        where = np.where(work.clear, -1, where)
    return _Places(where, work.scale, {})


def _others(colour: Colour, kept: list[Colour]) -> tuple[int, list[tuple[int, Colour]]]:
    """The number of an ink, and those of the first others with them."""
    own = next(number for number, other in enumerate(kept) if other is colour)
    return own, [(number, other) for number, other in enumerate(kept[:MOST_NEAR]) if number != own]


def _is_faded(colour: Colour, kept: list[Colour], places: _Places) -> bool:
    """Whether a colour is that of an ink whose thin strokes have lost some of it to the ink around them."""
    own, others = _others(colour, kept)
    mine = places.of(own)
    alike = [
        ink for _, ink in others
        if ink.core >= FADED_LARGER * colour.core and difference(colour.lab, ink.lab) < ALIKE
    ]  # fmt: skip
    return bool(mine.any()) and any(
        ink is not other
        and _is_bled(colour, ink, other, FADED_FROM)
        and places.beside(mine, (second,), REACH)
        for ink in alike
        for second, other in others
    )


def _is_rim(colour: Colour, kept: list[Colour], places: _Places) -> bool:
    """Whether a colour is that of a larger ink near a third, or the edge between the two."""
    own, others = _others(colour, kept)
    mine = places.of(own)
    if not mine.any():
        return True  # all its pixels are nearer to other inks
    small = colour.core < EDGE_CORE * places.number.size
    for number, ink in others:
        least = 1.0 if difference(colour.lab, ink.lab) < ALIKE else LARGER
        if ink.core < least * colour.core:
            continue
        for second, other in others:
            if second == number:
                continue
            edge = _is_edge(colour, ink, other)
            wide = _is_bled(colour, ink, other) or (
                edge and small and min(ink.core, other.core) > EDGE_LARGER * colour.core
            )
            if (wide or edge) and places.beside(mine, (number, second), REACH if wide else EDGE_REACH):
                return True
    return False


def _shares(colour: Colour, one: Colour, other: Colour) -> Shares:
    """The shares of an ink, of lightness and of colour apart."""
    return shares(np.array(colour.rgb), np.array(one.rgb), np.array(other.rgb))


def shares(colour: np.ndarray, one: np.ndarray, other: np.ndarray) -> Shares:
    """The shares of a colour on the way from one to another, of lightness and of colour apart: all sRGB, (3,)."""
    whole, own = other - one, colour - one
    whole_light, own_light = float(LUMA @ whole), float(LUMA @ own)
    whole_colour, own_colour = whole - whole_light, own - own_light
    contrast = abs(whole_light), float(np.linalg.norm(whole_colour))
    raw = own_light / whole_light if contrast[0] > LEAST_STEP[0] else 0.0
    light = min(max(raw, 0.0), 1.0)
    part = float(own_colour @ whole_colour) / contrast[1] ** 2 if contrast[1] > LEAST_STEP[1] else 0.0
    aside = float(np.linalg.norm(own - light * whole_light - part * whole_colour))
    return Shares(light, part, aside, contrast, raw)


def _mixed(colour: Colour, one: Colour, other: Colour) -> tuple[float, float, float]:
    """The share of another ink in a colour, of lightness and colour alike; its distance from that mixture; that of the inks."""
    along, own = np.subtract(other.rgb, one.rgb), np.subtract(colour.rgb, one.rgb)
    length = float(np.linalg.norm(along))
    part = float(own @ along) / max(length * length, 1e-6)
    return part, float(np.linalg.norm(own - part * along)), length


def _is_blurred(colour: Colour, ground: Colour, other: Colour) -> bool:
    """Whether a colour is what a scanner's glass leaves of a thin line of another ink."""
    part, aside, length = _mixed(colour, ground, other)
    return LEAST_PART < part < 1 - LEAST_PART and aside < max(ASIDE, ASIDE_PART * length)


def _is_smeared(colour: Colour, ground: Colour, other: Colour) -> bool:
    """Whether a colour is what halved colour leaves of a thin line of another ink."""
    shares = _shares(colour, ground, other)
    if shares.contrast[0] < LEAST_APART[0] or shares.contrast[1] < LEAST_APART[1]:
        return False  # greys, or colours as light as each other: nothing is parted
    parted = abs(shares.light - min(max(shares.colour, 0.0), 1.0)) > PARTED
    return parted and shares.colour > LEAST_COLOUR and shares.colour < 1 + PARTED and shares.aside < ASIDE


def _is_bled(colour: Colour, ink: Colour, other: Colour, least: float = RIM_FROM) -> bool:
    """Whether a colour has the lightness of an ink, and its colour in part from another."""
    shares = _shares(colour, ink, other)
    if shares.contrast[1] <= LEAST_STEP[1]:
        return False
    return shares.light < RIM_LIGHTNESS and least < shares.colour < RIM_TO and shares.aside < ASIDE


def _is_edge(colour: Colour, ink: Colour, other: Colour) -> bool:
    """Whether a colour is the softened edge between two larger inks."""
    if min(ink.core, other.core) < LARGER * colour.core:
        return False
    part, aside, _ = _mixed(colour, ink, other)
    return EDGE_FROM < part < EDGE_TO and aside < ASIDE


def _apart(one: Colour, other: Colour) -> float:
    """Distance of the looks of two inks, sRGB."""
    return float(np.linalg.norm(np.subtract(one.rgb, other.rgb)))
