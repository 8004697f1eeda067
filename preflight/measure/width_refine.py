"""A second, finer measurement of the few things that are reported; and spots too large for the first one."""

import math
from collections.abc import Sequence

import cv2
import numpy as np

from preflight.artwork import Artwork
from preflight.measure.width_coarse import BANDS, STEP, look
from preflight.measure.width_narrow import SPOTS, WANTED, WANTED_PART, Narrow, density_for_spot
from preflight.measure.width_ridge import narrow_quantile, widths_near
from preflight.measure.width_scan import SPOT_BANDS
from preflight.measure.width_sheet import sheets
from preflight.measure.width_source import Window, blurring_pixel, finest_resolution, margin_of, render
from preflight.measure.width_spots import spot_in, spots

#: How much finer, at least.
FINER = 3
#: A width is good to so many pixels.
ERROR_PIXELS = 0.15
#: What is wider, mm, may have been looked at closely and still be too coarse.
WIDE = 1.0
#: The window round the narrowest place reaches this many widths and pixels, and ridge points count within so many.
REACH, MARGIN, NEAR = 1.6, 14, 0.9
#: Pixels across a large spot when it is measured, and how many of one ink are.
SPOT_PIXELS, MOST_SPOTS = 80, 40
#: Measured again, a width is the same within so many pixels of the first measurement or this part of it.
SAME_PIXELS, SAME = 0.64, 0.06


def refine(art: Artwork, things: Sequence[Narrow]) -> None:
    """Measure lines and gaps again at their narrowest places; changes their `width` in place, once."""
    # the edges of a bitmap waver by parts of a pixel: the middle of that is its width
    stepped = margin_of(art) > 0
    by_density: dict[float, list[Narrow]] = {}
    for one in things:
        needed = ERROR_PIXELS / max(WANTED, WANTED_PART * one.width)
        if one.kind in SPOTS:
            continue
        if not one.final:
            by_density.setdefault(_step_up(one.density * FINER, needed), []).append(one)
        elif one.width > WIDE and 0 < one.density < needed and not stepped:  # pens have none
            by_density.setdefault(_step_up(one.density, needed), []).append(one)
    _refine_spots(art, [one for one in things if one.kind in SPOTS and not one.final])
    for first_density, members in by_density.items():
        density = finest_resolution(art, first_density)
        windows = []
        for one in members:
            half = round(REACH * one.width * density) + MARGIN
            x, y = (round(v * density) for v in one.place)
            windows.append(Window(x - half, y - half, 2 * half, 2 * half))
        for sheet in sheets(windows):
            cover = np.zeros((sheet.height, sheet.width), np.uint8)
            valid = np.full((sheet.height, sheet.width), -1, np.int32)
            for number, left, top in sheet.places:
                one, window = members[number], windows[number]
                ink = None if one.kind == "between" else one.inks[0]
                grey = render(art, ink, window, density)
                inside = np.s_[top : top + window.height, left : left + window.width]
                cover[inside] = grey if one.kind == "line" else cv2.bitwise_not(grey)
                reach = round(NEAR * one.width * density) + 3
                middle = window.width // 2
                inside = np.s_[
                    top + middle - reach : top + middle + reach, left + middle - reach : left + middle + reach
                ]
                valid[inside] = number
            expected = np.array([one.width * density for one in members])
            columns, rows, widths, lengths = widths_near(cover, valid, expected)
            owner = valid[rows, columns]
            for number, _, _ in sheet.places:
                own = owner == number
                if not stepped:
                    # a notch beside the place is not what was measured
                    one = members[number]
                    apart = np.maximum(
                        SAME_PIXELS * density / max(one.density, 1e-9), SAME * one.width * density
                    )
                    same = own & (np.abs(widths - one.width * density) <= apart)
                    own = same if same.any() else own
                if own.any():
                    if stepped:
                        members[number].width = float(np.median(widths[own])) / density
                    else:
                        members[number].width = narrow_quantile(widths[own], lengths[own]) / density
        for one in members:
            one.final = True


def _refine_spots(art: Artwork, spots_again: Sequence[Narrow]) -> None:
    """Measure small specks and holes again, each in a window of its own; changes them in place, once."""
    for one in spots_again:
        density = finest_resolution(art, _step_up(one.density, density_for_spot(one.width)))
        x0, y0, x1, y1 = one.box
        left, top = int(x0 * density) - MARGIN, int(y0 * density) - MARGIN
        window = Window(
            left, top, math.ceil(x1 * density) + MARGIN - left, math.ceil(y1 * density) + MARGIN - top
        )
        cover = render(art, one.inks[0], window, density)
        spot = spot_in(
            cover if one.kind == "speck" else cv2.bitwise_not(cover), blurring_pixel(art) * density
        )
        if spot is not None:
            one.width, one.typical, one.length = (
                v / density for v in (spot.size, spot.diameter, spot.long_side)
            )
        one.final = True


def _step_up(density: float, needed: float) -> float:
    """The density doubled until it is enough: few different ones, so that many windows share a sheet."""
    while density < needed:
        density *= 2
    return density


def larger_spots(art: Artwork, kind: str) -> list[Narrow]:
    """Specks or holes too large for the scans, found in the small picture of each ink."""
    return art.once(("widths.larger", kind), lambda: _larger_spots(art, kind))


def _larger_spots(art: Artwork, kind: str) -> list[Narrow]:
    coarse = look(art)
    density = coarse.density / STEP
    least, most = BANDS[SPOT_BANDS].low, BANDS[-1].high
    found = []
    for ink in art.inks:
        level = coarse.levels[ink.number][0]
        if kind == "hole":
            level = cv2.bitwise_not(level)
        rough = sorted(spots(level, 0.9 * least * density, 1.1 * most * density), key=lambda spot: spot.size)
        for spot in rough[:MOST_SPOTS]:
            x0, y0, x1, y1 = (v / density - coarse.origin(1) for v in spot.box)
            fine = finest_resolution(art, SPOT_PIXELS / max(x1 - x0, y1 - y0))
            window = Window(
                int(x0 * fine) - MARGIN, int(y0 * fine) - MARGIN,
                int((x1 - x0) * fine) + 2 * MARGIN, int((y1 - y0) * fine) + 2 * MARGIN,
            )  # fmt: skip
            cover = render(art, ink.number, window, fine)
            if kind == "hole":
                cover = cv2.bitwise_not(cover)
            inside = [s for s in spots(cover, 0, 1e6) if s.box[0] > 0 and s.box[1] > 0]
            if not inside:
                continue
            best = max(inside, key=lambda s: s.diameter)
            size = best.size / fine
            if least <= size < most:
                a, b, c, d = best.box
                box = (
                    (window.x + a) / fine, (window.y + b) / fine, (window.x + c) / fine, (window.y + d) / fine,
                )  # fmt: skip
                middle = np.array([[(box[0] + box[2]) / 2, (box[1] + box[3]) / 2]])
                found.append(
                    Narrow(
                        kind,
                        (ink.number,),
                        size,
                        best.diameter / fine,
                        best.long_side / fine,
                        box,
                        middle,
                        0.0,
                        size / 2,
                    )
                )
    return found
