"""A bitmap taken apart into the coverage of each of its inks.

Inside an area a pixel belongs to the ink it looks like.  On an edge it is a mixture of the inks on either side, and is
shared between them by its place on the line between their colours, so that a width measured on the coverage is right to
a fraction of a pixel.  Which two inks mix is taken from the neighbourhood: the grey on the edge of black on white is no
grey ink.
"""

import math
from collections.abc import Sequence

import cv2
import numpy as np

from preflight.colour import rgb_of
from preflight.pixels import detail as details
from preflight.pixels import dither
from preflight.pixels.lab import lab_of_colours
from preflight.pixels.mixture import INSIDE, MOST_INKS, Mixture, Palette
from preflight.pixels.reduction import CLEAR_ALPHA, laid_on, stand_in
from preflight.pixels.tone import PixelInk

#: Pixels worked on at a time: bounds the memory.
STRIP_PIXELS = 1_000_000
#: Widest edge that is searched for its two sides, pixels.
MOST_RISE = 12
#: A pixel this far from the line between its neighbours' inks has a third one in it, 8-bit sRGB.
ASIDE = 26.0
#: The same for compressed pictures as a part of the contrast of the two inks: (from this quality on, part).
DISTURBED = ((90, 0.08), (80, 0.14), (65, 0.2), (45, 0.3), (0, 0.35))
USUAL_CONTRAST = 200.0
#: Crumbs of one ink looked at in one strip: bounded work.
MOST_CRUMBS = 2000
#: What is left of compression beside the edge of two other inks: no more than so many pixels, with at least this coverage, and
#: the edge within so many pixels.
CRUMB, CRUMB_SHARE, CRUMB_REACH = 14, 48, 4
#: Crumbs of up to so many pixels are left where compression disturbs an edge by more than its ink differs from one of those two.
CRUMB_ALIKE = 60
#: A crumb of no more pixels than this has none that lies inside its ink.
DOT = 4
#: An ink explains a thin line when it lies at least this part of the way to the line's strongest pixel.
REACHES = 0.85
#: What art is cut from.
SHEET = (255, 255, 255)
#: Of two equal explanations the weaker ink is taken, which needs more of itself: cost per sRGB unit of its contrast.
WEAKER = 0.02


def disturbance(lossy: bool, quality: float | None) -> float:
    """How far compression puts a pixel on an edge off the mixture of its two inks, as a part of their contrast.

    Args:
        lossy: the picture lost detail when it was saved.
        quality: 1 to 100 on the scale of the IJG library; None where it is not known.
    """
    if not lossy:
        return 0.0
    return next(part for least, part in DISTURBED if (70.0 if quality is None else quality) >= least)


def plates(
    rgb: np.ndarray,
    alpha: np.ndarray | None,
    inks: Sequence[PixelInk | str],
    disturbed: float = 0.0,
    dithered: bool = False,
) -> list[np.ndarray]:
    """Coverage of each ink: a list of uint8 (h, w), 0 bare to 255 covered.

    The coverages of a pixel add up to its alpha, the paper being an ink when it is in the list; in a picture with alpha
    to less where a rim still holds some of the white sheet that the art was cut from.

    Args:
        rgb: uint8 (h, w, 3), sRGB.
        alpha: uint8 (h, w), or None for an opaque picture.
        inks: the inks looked for, as found by `analyse` or as "#rrggbb".
        disturbed: see `disturbance`.
        dithered: as `Tone.dithered`; the coverage is then the mean over a few pixels where single pixels make the shades.

    Raises:
        ValueError: when there are more inks than can be told apart, or a colour cannot be read.
    """
    dots = dither.dither(rgb) if dithered and rgb.size else None
    if dots and dots.colours <= dither.ONE_INK:
        return [dither.blurred(cover, dots) for cover in plates(rgb, alpha, inks, disturbed)]
    if dots:
        return plates(dither.blurred(rgb, dots), alpha, inks, disturbed)
    if len(inks) > MOST_INKS:
        raise ValueError(f"at most {MOST_INKS} inks can be told apart in one picture")
    height, width = rgb.shape[:2]
    made = [np.zeros((height, width), np.uint8) for _ in inks]
    if not inks or not rgb.size:
        return made
    looks = [rgb_of(i if isinstance(i, str) else i.hex) for i in inks]
    if alpha is not None and len(inks) < MOST_INKS and _far_from_sheet(looks):
        # a cut-out keeps at its rim what its edges were mixed with: the white of a sheet, not another of its inks
        looks.append(SHEET)
    palette = Palette(np.array(looks, np.float32))
    reach = _reach(rgb, alpha)
    halo = 2 * reach + 2
    rows = max(halo, STRIP_PIXELS // width)
    for top in range(0, height, rows):
        bottom = min(height, top + rows)
        first, last = max(0, top - halo), min(height, bottom + halo)
        shares = _shares(
            palette, rgb[first:last], None if alpha is None else alpha[first:last], reach, disturbed
        )
        window = slice(top - first, bottom - first)
        for plate, share in zip(made, shares[: len(made)], strict=True):
            plate[top:bottom] = share[window]
    return made


def _far_from_sheet(looks: Sequence[tuple[int, int, int]]) -> bool:
    """Is white far enough from all of the inks that none of them is held the narrower for it?"""
    shades = lab_of_colours(np.array([SHEET, *looks], np.float32))
    return bool((np.linalg.norm(shades[1:] - shades[0], axis=1) > 3 * INSIDE).all())


def _reach(rgb: np.ndarray, alpha: np.ndarray | None) -> int:
    """Width of the edges in whole pixels, at least 1."""
    side = 2000  # enough of the picture to know its edges
    top, left = (max(0, (n - side) // 2) for n in rgb.shape[:2])
    part = rgb[top : top + side, left : left + side]
    if alpha is not None:
        cover = alpha[top : top + side, left : left + side]
        part = laid_on(part, cover, stand_in(part, cover))
    blur = details.detail(cv2.cvtColor(np.ascontiguousarray(part), cv2.COLOR_RGB2GRAY)).blur
    return int(np.clip(math.ceil(blur), 1, MOST_RISE))


def _shares(
    palette: Palette, rgb: np.ndarray, alpha: np.ndarray | None, reach: int, disturbed: float
) -> list[np.ndarray]:
    """Coverage of each ink in one strip."""
    labels, inside = palette.labels(rgb)
    if alpha is not None:
        inside &= alpha >= CLEAR_ALPHA
    solid = palette.solid(labels, inside, reach)
    weights = np.zeros((len(palette.rgb), *labels.shape), np.uint8)
    for number in range(len(palette.rgb)):
        weights[number][solid & (labels == number)] = 255
    edge = ~solid if alpha is None else ~solid & (alpha > 0)
    ys, xs = np.nonzero(edge)
    if len(ys):
        around = palette.around(labels, solid, reach, (ys, xs))
        alone = around == 0
        if alone.any():  # strokes too thin to be solid: what lies inside an ink nearby says which they are
            around[alone] = palette.around(labels, inside, reach, (ys[alone], xs[alone]))
        _share_edges(palette, rgb, (ys, xs), around, labels, weights, reach, disturbed)
        if disturbed:
            _without_crumbs(palette, rgb, labels, inside, solid, weights, disturbed)
    if alpha is None:
        return list(weights)
    return [cv2.multiply(weight, alpha, scale=1 / 255) for weight in weights]


def _without_crumbs(
    palette: Palette,
    rgb: np.ndarray,
    labels: np.ndarray,
    inside: np.ndarray,
    solid: np.ndarray,
    weights: np.ndarray,
    disturbed: float,
) -> None:
    """Give the crumbs that compression leaves beside the edge of two inks, or at a tip, back to those, in place.

    Args:
        palette: the inks.
        rgb: uint8 (h, w, 3).
        labels: uint8 (h, w), the nearest ink of each pixel.
        inside: bool (h, w), whether the pixel may lie inside it.
        solid: bool (h, w), whether the pixel lies solid in it.
        weights: uint8 (inks, h, w).
        disturbed: see `disturbance`.
    """
    held = np.where(solid, labels, np.uint8(255))  # no picture has so many inks
    for number in range(len(palette.rgb)):
        mask = cv2.threshold(weights[number], CRUMB_SHARE - 1, 255, cv2.THRESH_BINARY)[1]
        if not cv2.countNonZero(mask):
            continue
        _, parts, stats, _ = cv2.connectedComponentsWithStats(mask, connectivity=8)
        most = CRUMB_ALIKE if _is_within_reach(palette, number, disturbed) else CRUMB
        crumbs = np.flatnonzero(stats[1:, cv2.CC_STAT_AREA] <= most) + 1
        for crumb in crumbs[:MOST_CRUMBS].tolist():
            x, y, width, height = stats[crumb, :4].tolist()
            window = np.s_[
                max(0, y - CRUMB_REACH) : y + height + CRUMB_REACH,
                max(0, x - CRUMB_REACH) : x + width + CRUMB_REACH,
            ]
            ys, xs = np.nonzero(parts[y : y + height, x : x + width] == crumb)
            at = (ys + y, xs + x)
            near = np.unique(held[window]).tolist()
            present = [n for n in near if n not in (number, 255)]
            if len(present) < 2 or len(ys) > CRUMB:
                met = np.bincount(labels[window][inside[window]], minlength=len(palette.rgb))
                own = int(np.count_nonzero(inside[at] & (labels[at] == number)))
                around = [n for n in np.flatnonzero(met).tolist() if n != number]
                # not one pixel of it is of its ink: a tip of another, or a ripple
                none = len(present) < 2 and len(ys) <= DOT and not own
                if not around or not (
                    none or (number not in near and _is_within_edge(palette, number, around, met, disturbed))
                ):
                    continue
                present = around
            mixture = palette.mixed(rgb[at].astype(np.float32), present)
            share = np.rint(255 * mixture.part).astype(np.uint8)
            weights[(slice(None), *at)] = 0
            weights[(mixture.other, *at)] = share
            weights[(mixture.one, *at)] = np.where(mixture.one == mixture.other, 255, 255 - share)


def _is_within_reach(palette: Palette, number: int, disturbed: float) -> bool:
    """Whether any other ink is so near that `_is_within_edge` may hold."""
    apart = np.delete(np.linalg.norm(palette.rgb - palette.rgb[number], axis=1), number)
    return bool(len(apart)) and float(apart.min()) < disturbed * float(
        np.ptp(palette.rgb, axis=0).max()
    ) * math.sqrt(3)


def _is_within_edge(
    palette: Palette, number: int, around: list[int], met: np.ndarray, disturbed: float
) -> bool:
    """Whether an ink differs from one around it, met more often, by less than compression disturbs that one's edge on another.

    Args:
        palette: the inks.
        number: of the ink.
        around: those around it.
        met: int (inks,), how many pixels lie inside each.
        disturbed: see `disturbance`.
    """
    looks = palette.rgb[around]
    contrast = np.linalg.norm(looks[:, None] - looks[None], axis=2).max(1, initial=0.0)
    alike = np.linalg.norm(looks - palette.rgb[number], axis=1) < disturbed * contrast
    return bool((alike & (met[around] > met[number])).any())


def _share_edges(
    palette: Palette, rgb: np.ndarray, places: tuple[np.ndarray, np.ndarray], around: np.ndarray,
    labels: np.ndarray, weights: np.ndarray, reach: int, disturbed: float,
) -> None:  # fmt: skip
    """Share the edge pixels (rows, columns) between the inks of their neighbourhoods."""
    ys, xs = places
    colours = rgb[ys, xs].astype(np.float32)
    kinds, which = np.unique(around, return_inverse=True)
    order = np.argsort(which, kind="stable")
    bounds = np.searchsorted(which[order], np.arange(len(kinds) + 1))
    for number, kind in enumerate(kinds):
        chosen = order[bounds[number] : bounds[number + 1]]
        at = (ys[chosen], xs[chosen])
        present = palette.present(int(kind))
        if not present:
            weights[(labels[at], *at)] = 255
            continue
        mixture = palette.mixed(colours[chosen], present)
        odd = mixture.aside > (ASIDE if len(present) > 1 else ASIDE / 2)
        if disturbed:
            # deep in one ink the edge that disturbs it is not at hand: a usual contrast is assumed
            contrast = np.linalg.norm(palette.rgb[mixture.one] - palette.rgb[mixture.other], axis=1)
            odd &= mixture.aside > disturbed * (contrast if len(present) > 1 else USUAL_CONTRAST)
        if odd.any():
            where = chosen[odd]
            thin = _thin(palette, rgb, (ys[where], xs[where]), colours[where], present, reach)
            mixture.one[odd], mixture.other[odd], mixture.part[odd] = thin.one, thin.other, thin.part
        share = np.rint(255 * mixture.part).astype(np.uint8)
        weights[(mixture.other, *at)] = share
        weights[(mixture.one, *at)] = np.where(mixture.one == mixture.other, 255, 255 - share)


def _thin(
    palette: Palette, rgb: np.ndarray, places: tuple[np.ndarray, np.ndarray], colours: np.ndarray,
    present: list[int], reach: int,
) -> Mixture:  # fmt: skip
    """Mixtures with an ink that is nowhere solid nearby: a line thinner than the edges are wide.

    The strongest pixel of the line says how far its ink is at least from the ink around it.
    """
    ys, xs = places
    best = Mixture(np.full(len(ys), present[0]), np.full(len(ys), present[0]), np.zeros(len(ys), np.float32),
                   np.full(len(ys), np.inf, np.float32))  # fmt: skip
    margin = reach + 1
    top, left = max(0, ys.min() - margin), max(0, xs.min() - margin)
    window = rgb[top : ys.max() + 1 + margin, left : xs.max() + 1 + margin].astype(np.float32)
    kernel = np.ones((2 * reach + 1, 2 * reach + 1), np.uint8)
    for base in present:
        apart = np.linalg.norm(window - palette.rgb[base], axis=2).astype(np.float32)
        strongest = cv2.dilate(apart, kernel)[ys - top, xs - left]
        for ink in range(len(palette.rgb)):
            if ink == base:
                continue
            part, aside = palette.placed(colours, base, ink)
            length = float(np.linalg.norm(palette.rgb[ink] - palette.rgb[base]))
            short = np.maximum(0, REACHES * strongest - length)
            cost = aside + short + WEAKER * length
            closer = cost < best.aside
            best.one[closer], best.other[closer] = base, ink
            best.part[closer], best.aside[closer] = part[closer], cost[closer]
    return best
