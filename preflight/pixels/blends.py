"""Inks that are none: what a scanner's glass leaves of thin lines, between their ink and the sheet.

The thinner a line is, the less of its ink is left after a blur: lines of one ink and several widths look like several inks
that lie on one straight line in sRGB, from the sheet to the strongest of them.
"""

import numpy as np

from preflight.pixels.inks import Colour
from preflight.pixels.reduction import Work

#: A mixture has more than this part of each ink, and lies so near to their line, sRGB, or within this part of its length.
LEAST_PART, ASIDE, ASIDE_PART = 0.1, 26.0, 0.16
#: Edges of a scan are wider than this, pixels; its lines can be eroded no more than so often and cover less than this part.
SCAN_BLUR, LINE_THICKNESS, LINE_SHARE = 1.88, 3, 0.02


def without_blends(colours: list[Colour], work: Work) -> list[Colour]:
    """The inks of a blurred picture without those of thin lines that are but a mixture of the sheet and another.

    Args:
        colours: the inks with their `rgb`, the largest first.
        work: the reduced picture.
    """
    if not work.lossy or work.blur <= SCAN_BLUR or len(colours) < 3:
        return colours
    kept = list(colours)
    ground = colours[0]
    for colour in sorted(colours[1:], key=lambda c: _apart(c, ground)):  # the palest first
        others = [other for other in kept if other is not colour]
        line = colour.thickness <= LINE_THICKNESS and colour.core < LINE_SHARE * work.steps.size
        if line and any(_is_between(colour, ground, other) for other in others if other is not ground):
            kept = others
    return kept


def _apart(one: Colour, other: Colour) -> float:
    """Distance of the looks of two inks, sRGB."""
    return float(np.linalg.norm(np.subtract(one.rgb, other.rgb)))


def _is_between(colour: Colour, one: Colour, other: Colour) -> bool:
    """Whether an ink lies on the line between two others."""
    along = np.subtract(other.rgb, one.rgb)
    length = float(np.linalg.norm(along))
    offset = np.subtract(colour.rgb, one.rgb)
    part = float(offset @ along) / max(length * length, 1e-6)
    aside = float(np.linalg.norm(offset - part * along))
    return LEAST_PART < part < 1 - LEAST_PART and aside < max(ASIDE, ASIDE_PART * length)
