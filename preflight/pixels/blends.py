"""Inks that are none: what a scanner's glass and a JPEG leave of thin lines, between their ink and the sheet.

The thinner a line is, the less of its ink is left after a blur: lines of one ink and several widths look like several inks
that lie on one straight line in sRGB, from the sheet to the strongest of them.

A JPEG stores colour at half the resolution of lightness (ITU-T T.81, as commonly used: 4:2:0).  Beside a thin line the colour
is already the line's and the lightness still the sheet's; on it the lightness is the line's and the colour half the sheet's.
"""

import numpy as np

from preflight.pixels.inks import Colour
from preflight.pixels.reduction import Work

#: A mixture has more than this part of each ink, and lies so near to their line, sRGB, or within this part of its length.
LEAST_PART, ASIDE, ASIDE_PART = 0.1, 26.0, 0.16
#: Edges of a scan are wider than this, pixels; its lines can be eroded no more than so often and cover less than this part.
SCAN_BLUR, LINE_THICKNESS, LINE_SHARE = 1.88, 3, 0.02
#: What a JPEG smears around a line can be eroded no more than so often.
SMEAR_THICKNESS = 1
#: Weights of R, G and B in the lightness that a JPEG stores apart (Y' of ITU-R BT.601).
LIGHTNESS = np.array([0.299, 0.587, 0.114])
#: Lightness and colour are further apart than this, as parts of the way from the sheet to an ink, where only a JPEG parts them.
PARTED = 0.15
#: and this part of the way at least is the colour's: lightness alone is a line of its own, grey.
LEAST_COLOUR = 0.25
#: The two inks differ in lightness and in colour by more than this, sRGB.
LEAST_APART = (30.0, 50.0)


def without_blends(colours: list[Colour], work: Work, faint: bool = False) -> list[Colour]:
    """The inks of a blurred picture without those of thin lines that are but a mixture of the sheet and another.

    Args:
        colours: the inks with their `rgb`, the largest first.
        work: the reduced picture.
        faint: it has too few edges of any contrast to tell how blurred it is.
    """
    if not work.lossy or len(colours) < 3:
        return colours
    blurred = faint or work.blur > SCAN_BLUR
    kept = list(colours)
    ground = colours[0]
    for colour in sorted(colours[1:], key=lambda c: _apart(c, ground)):  # the palest first
        others = [other for other in kept if other is not colour]
        line = colour.thickness <= LINE_THICKNESS and colour.core < LINE_SHARE * work.steps.size
        if line and any(
            (colour.thickness <= SMEAR_THICKNESS and _is_smeared(colour, ground, other))
            or (blurred and _is_between(colour, ground, other))
            for other in others
            if other is not ground
        ):
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


def _is_smeared(colour: Colour, one: Colour, other: Colour) -> bool:
    """Whether an ink has the lightness of one mixture of two others and the colour of another mixture of them."""
    whole, own = np.subtract(other.rgb, one.rgb), np.subtract(colour.rgb, one.rgb)
    whole_light, own_light = float(LIGHTNESS @ whole), float(LIGHTNESS @ own)
    whole_colour, own_colour = whole - whole_light, own - own_light
    if abs(whole_light) < LEAST_APART[0] or float(np.linalg.norm(whole_colour)) < LEAST_APART[1]:
        return False  # greys, or colours as light as each other: nothing is parted
    light = min(max(own_light / whole_light, 0.0), 1.0)
    part = min(max(float(own_colour @ whole_colour) / float(whole_colour @ whole_colour), 0.0), 1.0)
    aside = float(np.linalg.norm(own - light * whole_light - part * whole_colour))
    return abs(light - part) > PARTED and part > LEAST_COLOUR and aside < ASIDE
