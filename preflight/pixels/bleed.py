"""Inks that are none: what lossy compression makes of small shapes, by keeping their lightness better than their colour.

JPEG and lossy WebP keep colour at half the resolution of lightness and quantise it in blocks.  Within a block's reach of a
shape in another colour an ink takes on some of that colour (or, where the block rings, of its opposite) at its own lightness:
a dirty rim round small lettering, that no eye counts.
Source: ITU-T T.81 (JPEG) with T.871 (JFIF): blocks of 8 samples, which at half resolution are 16 pixels wide.
"""

from dataclasses import dataclass

import cv2
import numpy as np

from preflight.pixels.inks import Colour, assigned
from preflight.pixels.lab import difference
from preflight.pixels.reduction import Work

#: Pixels of the picture that the colour of a shape reaches: a block at half resolution.
REACH = 16
#: Only a colour whose flat parts cover less than this part of the picture, and can be eroded no more than so often, is doubted.
MOST_CORE, MOST_THICKNESS = 0.012, 3
#: The ink that it is a rim of has at least so many times its flat parts; or only as many, if they look so much alike, CIEDE2000.
LARGER, ALIKE = 3.0, 10.0
#: A rim is as light as its ink, L*, or has this part at most of the step to the other ink; its colour lies on the line from
#: its ink to the other one, a* and b*.  The two distances are parts of these, and together no more than 1.
AS_LIGHT, ASIDE, LIGHTNESS_PART = 8.0, 11.0, 0.15
#: From here to here on that line, of at least this length: where a block rings its colour is the opposite of the other's.
FROM, TO, LEAST_STEP = -0.5, 0.95, 14.0
#: A colour with flat parts of less than this part of the picture may also be the softened edge between two inks that have so
#: many times as much each: it lies on the line between them, from here to here, within so much, L*a*b*.
EDGE_CORE, EDGE_LARGER, EDGE_FROM, EDGE_TO, EDGE_ASIDE = 0.0012, 8.0, 0.2, 0.8, 9.0
#: This part of it lies within reach of both.
BESIDE = 0.85
#: Inks whose places are looked for: bounded work.
MOST_NEAR = 24


@dataclass(slots=True)
class _Places:
    """Which pixels are nearest to which colour, and what lies within reach of them."""

    number: np.ndarray
    reach: int
    near: dict[int, np.ndarray]

    def of(self, number: int) -> np.ndarray:
        return self.number == number

    def near_to(self, number: int) -> np.ndarray:
        if number not in self.near:
            side = 2 * self.reach + 1
            self.near[number] = (
                cv2.dilate(self.of(number).astype(np.uint8), np.ones((side, side), np.uint8)) > 0
            )
        return self.near[number]


def without_bleed(colours: list[Colour], work: Work) -> list[Colour]:
    """The inks of a lossy picture without those that are but another ink near a third.

    Args:
        colours: the inks, in any order.
        work: the reduced picture.
    """
    total = work.steps.size
    doubted = [c for c in colours if c.core < MOST_CORE * total and c.thickness <= MOST_THICKNESS]
    if not work.lossy or len(colours) < 3 or not doubted:
        return colours
    kept = list(colours)
    places = _placed(kept, work)
    for colour in sorted(doubted, key=lambda c: c.core):
        if _is_rim(colour, kept, places):
            kept = [other for other in kept if other is not colour]
            places = _placed(kept, work)
    return kept


def _placed(colours: list[Colour], work: Work) -> _Places:
    numbers, _ = assigned(colours, work.lab.reshape(-1, 3))
    where = numbers.reshape(work.steps.shape)
    if work.clear is not None:
        where = np.where(work.clear, -1, where)
    return _Places(where, max(2, round(REACH / work.scale)), {})


def _is_rim(colour: Colour, kept: list[Colour], places: _Places) -> bool:
    """Whether a colour is that of a larger one near a third."""
    own = next(number for number, other in enumerate(kept) if other is colour)
    mine = places.of(own)
    if not mine.any():
        return True  # all its pixels are nearer to other inks
    for number, ink in enumerate(kept[:MOST_NEAR]):
        least = 1.0 if difference(colour.lab, ink.lab) < ALIKE else LARGER
        if number == own or ink.core < least * colour.core:
            continue
        for second, other in enumerate(kept[:MOST_NEAR]):
            if second in (own, number):
                continue
            edge = colour.core < EDGE_CORE * places.number.size and _is_edge(colour, ink, other)
            if not edge and not _is_between(colour, ink, other):
                continue
            beside = places.near_to(number) & places.near_to(second)
            if beside[mine].mean() >= BESIDE:
                return True
    return False


def _is_between(colour: Colour, ink: Colour, other: Colour) -> bool:
    """Whether a colour has the lightness of an ink, and its colour in part from another."""
    lighter, across = float(colour.lab[0] - ink.lab[0]), float(other.lab[0] - ink.lab[0])
    if 0 < lighter / (across or 1e-6) < LIGHTNESS_PART:
        lighter = 0.0
    along, offset = other.lab[1:] - ink.lab[1:], colour.lab[1:] - ink.lab[1:]
    step = float(along @ along)
    if step < LEAST_STEP**2:
        return False
    part = float(offset @ along) / step
    aside = float(np.linalg.norm(offset - part * along))
    return FROM < part < TO and (lighter / AS_LIGHT) ** 2 + (aside / ASIDE) ** 2 < 1


def _is_edge(colour: Colour, ink: Colour, other: Colour) -> bool:
    """Whether a colour is a mixture of two much larger inks."""
    if min(ink.core, other.core) < EDGE_LARGER * colour.core:
        return False
    along, offset = other.lab - ink.lab, colour.lab - ink.lab
    part = float(offset @ along / max(float(along @ along), 1e-6))
    aside = float(np.linalg.norm(offset - part * along))
    return EDGE_FROM < part < EDGE_TO and aside < EDGE_ASIDE
