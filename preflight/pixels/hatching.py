"""Hatching in a lossy picture: what ink its lines are in, and which inks are but its lines and gaps run into each other.

JPEG stores colour at half the resolution of lightness (ITU-T T.81 with T.871), so lines as fine as two or three pixels keep
their lightness while they and their gaps take on one colour, the mean of both.  No pixel then shows the ink, nor the sheet.
All over such a place the darkest pixels are alike and so are the lightest, and that tells it from a picture.
"""

from dataclasses import dataclass

import cv2
import numpy as np

from preflight.pixels.blends import shares
from preflight.pixels.detail import luma_step
from preflight.pixels.inks import Colour, assigned, new_colours
from preflight.pixels.lab import LUMA
from preflight.pixels.photographs import BLOCK, HATCHED_SPREAD, HATCHED_STEPS, blocks
from preflight.pixels.reduction import Work

#: In squares of so many pixels lightness changes by at least this much, 0 to 255, all over so large a part of a block.
SIDE, CONTRAST, FULL = 9, 24, 0.95
#: Hatching has so many blocks at least, none of them in a row of single ones: along an outline lightness changes, too.
LEAST_BLOCKS = 6
#: Places looked at, largest first: bounded work.
MOST_PLACES = 60
#: Of the darkest and of the lightest pixels those between these percentiles are alike: its rim is cut by other shapes.
MIDDLE = (15, 85)
#: A line as light as this share of a known ink, or less, and no more coloured beyond that than this, is a thin one in that ink.
AS_LIGHT, MORE_COLOUR, LESS_COLOUR = 1.2, 0.35, -0.08
#: It lies no further off than this, sRGB; the sheet is as light as the lightest or the darkest pixels within this, 0 to 255, or
#: within this part of the contrast: the finest gaps have lost some of theirs.
ASIDE, SHEET, SHEET_PART = 26.0, 20.0, 0.3
#: An ink met nowhere but in hatching: so much of it at least lies in whole blocks of that, and so much where lightness changes
#: (a large shape has parts where it does not); what lies between lines and sheet can be eroded no more than so often.
THERE, ONLY, MOST_THICKNESS = 0.05, 0.95, 3
#: It lies between the sheet and the lines up to this share of their lightness and of their colour.
BETWEEN_LIGHT, BETWEEN_COLOUR = 0.9, 1.4


@dataclass(frozen=True, slots=True)
class Hatching:
    """One place of lines: bool (h, w) of the reduced picture, and the looks of its darkest and lightest pixels, sRGB."""

    mask: np.ndarray
    looks: tuple[np.ndarray, np.ndarray]


def hatchings(work: Work, quality: float | None) -> tuple[list[Hatching], np.ndarray]:
    """The places of lines or dots in one ink on another, of a picture no part of which fades; and where lightness changes."""
    luma = cv2.cvtColor(np.ascontiguousarray(work.raw), cv2.COLOR_RGB2GRAY)
    kernel = np.ones((SIDE, SIDE), np.uint8)
    low, high = cv2.erode(luma, kernel), cv2.dilate(luma, kernel)
    changing = cv2.subtract(high, low) >= CONTRAST
    full = blocks(changing, FULL).astype(np.uint8)
    pair = np.ones((2, 2), np.uint8)
    # OpenCV's own opening would shift by half of an even kernel
    full = cv2.dilate(cv2.erode(full, pair), pair, anchor=(0, 0))
    _, labels, stats, _ = cv2.connectedComponentsWithStats(full, connectivity=4)
    found = []
    large = np.flatnonzero(stats[1:, cv2.CC_STAT_AREA] >= LEAST_BLOCKS) + 1
    for number in large[np.argsort(-stats[large, cv2.CC_STAT_AREA])][:MOST_PLACES]:
        mask = np.zeros(luma.shape, bool)
        inner = np.kron(labels == number, np.ones((BLOCK, BLOCK), bool))
        mask[: inner.shape[0], : inner.shape[1]] = inner
        ends = low[mask], high[mask]
        levels = [float(np.median(end)) for end in ends]
        contrast = levels[1] - levels[0]
        most = HATCHED_SPREAD * contrast + HATCHED_STEPS * luma_step(work.lossy, quality)
        if max(float(np.ptp(np.percentile(end, MIDDLE))) for end in ends) > most:
            continue
        own, pixels = luma[mask].astype(np.float32), work.raw[mask]
        near = max(HATCHED_SPREAD * contrast, 2.0)
        dark, light = (np.median(pixels[np.abs(own - level) <= near], 0) for level in levels)
        found.append(Hatching(mask, (dark, light)))
    return found, changing


def with_hatching(colours: list[Colour], work: Work, quality: float | None) -> list[Colour]:
    """The inks with those that only hatching is in, and without what its lines and gaps make of one.

    Args:
        colours: the inks with their `rgb`, the largest first.
        work: the reduced picture.
        quality: of the compression, 1 to 100, where known.
    """
    if not work.lossy or not colours:
        return colours
    found, changing = hatchings(work, quality)
    if not found:
        return colours
    lined = np.logical_or.reduce([place.mask for place in found])
    kept = list(colours)
    where = _placed(kept, work)
    for place in found:
        parted = _parted(place, kept)
        if parted is None:
            continue
        sheet, line = parted
        if not any(
            _is_in(line, sheet, other)
            or (_is_coloured(line, sheet, other) and _is_only(where == number, lined, changing))
            for number, other in enumerate(kept)
            if other is not sheet
        ):
            kept = kept + new_colours([line], kept)
            where = _placed(kept, work)
        fewer = _without_gaps(kept, sheet, line, where, (lined, changing))
        where = where if len(fewer) == len(kept) else _placed(fewer, work)
        kept = fewer
    return kept


def _parted(place: Hatching, colours: list[Colour]) -> tuple[Colour, np.ndarray] | None:
    """The ink that a place's gaps are of, by their lightness the largest such, and the look of its lines; None without one."""
    most = max(SHEET, SHEET_PART * (_light(place.looks[1]) - _light(place.looks[0])))
    for colour in colours:
        for gap, line in (place.looks, place.looks[::-1]):
            if abs(_light(gap) - _light(np.array(colour.rgb))) < most:
                return colour, line
    return None


def _is_in(line: np.ndarray, sheet: Colour, ink: Colour) -> bool:
    """Whether lines may be in a known ink, thinned and with some of its colour lost."""
    own = shares(line, np.array(sheet.rgb), np.array(ink.rgb))
    return (
        own.aside < ASIDE
        and own.raw_light < AS_LIGHT
        and LESS_COLOUR < own.colour < max(own.light, 0.0) + MORE_COLOUR
    )


def _is_coloured(line: np.ndarray, sheet: Colour, ink: Colour) -> bool:
    """Whether an ink is that of the lines, with more or less of their colour."""
    own = shares(np.array(ink.rgb), np.array(sheet.rgb), line)
    return own.aside < ASIDE and own.colour > 0


def _is_only(mine: np.ndarray, lined: np.ndarray, changing: np.ndarray) -> bool:
    """Whether the pixels of an ink, if it has any, are met nowhere but in hatching: all bool (h, w)."""
    return not mine.any() or bool(lined[mine].mean() > THERE and changing[mine].mean() > ONLY)


def _placed(colours: list[Colour], work: Work) -> np.ndarray:
    """The number of the nearest ink of each pixel, int (h, w)."""
    return assigned(colours, work.lab.reshape(-1, 3))[0].reshape(work.steps.shape)


def _without_gaps(
    colours: list[Colour],
    sheet: Colour,
    line: np.ndarray,
    where: np.ndarray,
    places: tuple[np.ndarray, np.ndarray],
) -> list[Colour]:
    """The inks without those met only in hatching that lie between the sheet and the lines.

    `where` is the number of the nearest ink of each pixel, int (h, w); `places` are bool (h, w): the blocks of hatching, and
    wherever lightness changes.
    """
    only = [
        colour
        for number, colour in enumerate(colours)
        if colour is not sheet and _is_only(where == number, *places)
    ]
    if len(only) < 2:
        return colours  # the only one is that of the lines
    own_ink = min(only, key=lambda colour: float(np.linalg.norm(np.array(colour.rgb) - line)))
    kept = []
    for colour in colours:
        own = shares(np.array(colour.rgb), np.array(sheet.rgb), line)
        between = (
            own.aside < ASIDE
            and own.raw_light < BETWEEN_LIGHT
            and 0 < own.colour < BETWEEN_COLOUR
            and colour.thickness <= MOST_THICKNESS
        )
        if colour is own_ink or not between or not any(colour is other for other in only):
            kept.append(colour)
    return kept


def _light(rgb: np.ndarray) -> float:
    """Lightness as a JPEG stores it, 0 to 255."""
    return float(rgb @ LUMA)
