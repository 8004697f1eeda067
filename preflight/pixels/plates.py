"""A bitmap taken apart into the coverage of each of its inks.

Inside an area a pixel belongs to the ink it looks like.  On an edge it is a mixture of the inks on either side, and is
shared between them by its place on the line between their colours, so that a width measured on the coverage is right to
a fraction of a pixel.  Which two inks mix is taken from the neighbourhood: the grey on the edge of black on white is no
grey ink.
"""

import itertools
import math
from collections.abc import Sequence

import cv2
import numpy as np

from preflight.colour import rgb_of
from preflight.pixels import detail as details
from preflight.pixels.lab import lab_of_colours
from preflight.pixels.reduction import CLEAR_ALPHA, laid_on, stand_in
from preflight.pixels.tone import PixelInk

#: Pixels worked on at a time: bounds the memory.
STRIP_PIXELS = 1_000_000
#: A pixel within this of an ink may lie inside it, Delta E (CIE 1976); less where two inks are closer than four times that.
INSIDE = 12.0
#: Widest edge that is searched for its two sides, pixels.
MOST_RISE = 12
#: A pixel this far from the line between its neighbours' inks has a third one in it, 8-bit sRGB.
ASIDE = 26.0
#: An ink explains a thin line when it lies at least this part of the way to the line's strongest pixel.
REACHES = 0.85
#: Inks that can be told apart in one picture: as many as bits of the neighbourhood.
MOST_INKS = 60


def plates(rgb: np.ndarray, alpha: np.ndarray | None, inks: Sequence[PixelInk | str]) -> list[np.ndarray]:
    """Coverage of each ink: a list of uint8 (h, w), 0 bare to 255 covered.

    The coverages of a pixel add up to its alpha, the paper being an ink when it is in the list.

    Args:
        rgb: uint8 (h, w, 3), sRGB.
        alpha: uint8 (h, w), or None for an opaque picture.
        inks: the inks looked for, as found by `analyse` or as "#rrggbb".

    Raises:
        ValueError: when there are more inks than can be told apart, or a colour cannot be read.
    """
    if len(inks) > MOST_INKS:
        raise ValueError(f"at most {MOST_INKS} inks can be told apart in one picture")
    height, width = rgb.shape[:2]
    made = [np.zeros((height, width), np.uint8) for _ in inks]
    if not inks or not rgb.size:
        return made
    palette = _Palette(np.array([rgb_of(i if isinstance(i, str) else i.hex) for i in inks], np.float32))
    reach = _reach(rgb, alpha)
    halo = 2 * reach + 2
    rows = max(halo, STRIP_PIXELS // width)
    for top in range(0, height, rows):
        bottom = min(height, top + rows)
        first, last = max(0, top - halo), min(height, bottom + halo)
        shares = palette.shares(rgb[first:last], None if alpha is None else alpha[first:last], reach)
        window = slice(top - first, bottom - first)
        for plate, share in zip(made, shares, strict=True):
            plate[top:bottom] = share[window]
    return made


def _reach(rgb: np.ndarray, alpha: np.ndarray | None) -> int:
    """Width of the edges in whole pixels, at least 1."""
    side = 2000  # enough of the picture to know its edges
    top, left = (max(0, (n - side) // 2) for n in rgb.shape[:2])
    part = rgb[top : top + side, left : left + side]
    if alpha is not None:
        cover = alpha[top : top + side, left : left + side]
        part = laid_on(part, cover, stand_in(part, cover))
    rise = details.detail(cv2.cvtColor(np.ascontiguousarray(part), cv2.COLOR_RGB2GRAY)).rise or 1.0
    return int(np.clip(math.ceil(rise), 1, MOST_RISE))


class _Palette:
    """The inks, and for every colour (6 bits a component) the nearest of them."""

    def __init__(self, rgb: np.ndarray) -> None:
        self.rgb = rgb
        level = (np.arange(64, dtype=np.uint8) << 2) + 2
        cube = np.stack(np.meshgrid(level, level, level, indexing="ij"), -1).reshape(-1, 3)
        colours = lab_of_colours(cube)
        centres = lab_of_colours(rgb)
        best = np.full(len(cube), np.inf, np.float32)
        self.nearest = np.zeros(len(cube), np.uint8)
        for number, centre in enumerate(centres):
            apart = np.linalg.norm(colours - centre, axis=1)
            closer = apart < best
            best[closer], self.nearest[closer] = apart[closer], number
        between = np.linalg.norm(centres[:, None] - centres[None], axis=2) + 1e3 * np.eye(len(centres))
        self.inside = best < np.minimum(INSIDE, between.min(1) / 3)[self.nearest]

    def shares(self, rgb: np.ndarray, alpha: np.ndarray | None, reach: int) -> list[np.ndarray]:
        """Coverage of each ink in one strip."""
        code = (rgb[..., 0] >> 2).astype(np.int32)
        code = (code << 12) | ((rgb[..., 1] >> 2).astype(np.int32) << 6) | (rgb[..., 2] >> 2)
        label, inside = self.nearest[code], self.inside[code]
        if alpha is not None:
            inside &= alpha >= CLEAR_ALPHA
        solid = self._solid(label, inside, reach)
        count = len(self.rgb)
        weights = np.zeros((count, *label.shape), np.uint8)
        for number in range(count):
            weights[number][solid & (label == number)] = 255
        edge = ~solid if alpha is None else ~solid & (alpha >= 1)
        ys, xs = np.nonzero(edge)
        if len(ys):
            around = self._around(label, solid, reach)[ys, xs]
            self._share(rgb, ys, xs, around, weights, label, reach)
        if alpha is None:
            return list(weights)
        return [cv2.multiply(weight, alpha, scale=1 / 255) for weight in weights]

    @staticmethod
    def _solid(label: np.ndarray, inside: np.ndarray, reach: int) -> np.ndarray:
        """Pixels in a square of one ink, the square larger than any edge is wide."""
        kernel = np.ones((reach + 1, reach + 1), np.uint8)
        marked = np.where(inside, label + np.uint8(1), np.uint8(0))
        one = (cv2.erode(marked, kernel) == cv2.dilate(marked, kernel)) & (marked > 0)
        return cv2.dilate(one.astype(np.uint8), cv2.flip(kernel, -1), anchor=_opposite(reach + 1)) > 0

    def _around(self, label: np.ndarray, solid: np.ndarray, reach: int) -> np.ndarray:
        """Bits of the inks that lie solid within reach of each pixel: uint64 (h, w)."""
        kernel = np.ones((2 * reach + 1, 2 * reach + 1), np.uint8)
        bits = np.zeros(label.shape, np.uint64)
        for number in range(len(self.rgb)):
            mine = (solid & (label == number)).astype(np.uint8)
            if mine.any():
                bits |= cv2.dilate(mine, kernel).astype(np.uint64) << np.uint64(number)
        return bits

    def _share(
        self, rgb: np.ndarray, ys: np.ndarray, xs: np.ndarray, around: np.ndarray, weights: np.ndarray,
        label: np.ndarray, reach: int,
    ) -> None:  # fmt: skip
        """Share the edge pixels between the inks of their neighbourhoods."""
        colours = rgb[ys, xs].astype(np.float32)
        kinds, which = np.unique(around, return_inverse=True)
        for kind_number, kind in enumerate(kinds):
            present = [n for n in range(len(self.rgb)) if int(kind) >> n & 1]
            chosen = np.flatnonzero(which == kind_number)
            if not present:
                weights[label[ys[chosen], xs[chosen]], ys[chosen], xs[chosen]] = 255
                continue
            one, other, part, aside = self._mixture(
                colours[chosen], list(itertools.combinations(present, 2)), present
            )
            odd = aside > ASIDE
            if len(present) == 1:
                odd = aside > ASIDE / 2
            if odd.any():
                where = chosen[odd]
                found = self._thin(rgb, ys[where], xs[where], colours[where], present, reach)
                one[odd], other[odd], part[odd] = found
            at = (ys[chosen], xs[chosen])
            share = np.rint(255 * part).astype(np.uint8)
            weights[(other, *at)] = share
            weights[(one, *at)] = np.where(one == other, 255, 255 - share)

    def _mixture(
        self, colours: np.ndarray, pairs: list[tuple[int, int]], present: list[int]
    ) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
        """The pair of inks whose line each colour lies nearest to, the second's part of it, and the distance from it."""
        count = len(colours)
        one = np.full(count, present[0])
        other = one.copy()
        part = np.zeros(count, np.float32)
        aside = np.full(count, np.inf, np.float32)
        if not pairs:
            return one, other, part, np.linalg.norm(colours - self.rgb[present[0]], axis=1)
        for first, second in pairs:
            along = self.rgb[second] - self.rgb[first]
            place = np.clip((colours - self.rgb[first]) @ along / max(float(along @ along), 1e-6), 0, 1)
            distance = np.linalg.norm(colours - self.rgb[first] - place[:, None] * along, axis=1)
            closer = distance < aside
            one[closer], other[closer] = first, second
            part[closer], aside[closer] = place[closer], distance[closer]
        return one, other, part, aside

    def _thin(
        self,
        rgb: np.ndarray,
        ys: np.ndarray,
        xs: np.ndarray,
        colours: np.ndarray,
        present: list[int],
        reach: int,
    ) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Mixtures with an ink that is nowhere solid nearby: a line thinner than the edges are wide.

        The strongest pixel of the line says how far its ink is at least from the ink around it.
        """
        one = np.full(len(ys), present[0])
        other = one.copy()
        part = np.zeros(len(ys), np.float32)
        best = np.full(len(ys), np.inf, np.float32)
        top, left, bottom, right = ys.min(), xs.min(), ys.max() + 1, xs.max() + 1
        margin = reach + 1
        y0, x0 = max(0, top - margin), max(0, left - margin)
        window = rgb[y0 : bottom + margin, x0 : right + margin].astype(np.float32)
        kernel = np.ones((2 * reach + 1, 2 * reach + 1), np.uint8)
        for base in present:
            apart = np.linalg.norm(window - self.rgb[base], axis=2).astype(np.float32)
            strongest = cv2.dilate(apart, kernel)[ys - y0, xs - x0]
            for ink in range(len(self.rgb)):
                if ink == base:
                    continue
                along = self.rgb[ink] - self.rgb[base]
                length = float(np.linalg.norm(along))
                place = np.clip((colours - self.rgb[base]) @ along / max(length * length, 1e-6), 0, 1)
                distance = np.linalg.norm(colours - self.rgb[base] - place[:, None] * along, axis=1)
                short = np.maximum(0, REACHES * strongest - length)
                cost = (
                    distance + short + 0.02 * length
                )  # of equal explanations the weaker ink, which needs more of it
                closer = cost < best
                best[closer], one[closer], other[closer], part[closer] = (
                    cost[closer],
                    base,
                    ink,
                    place[closer],
                )
        return one, other, part


def _opposite(size: int) -> tuple[int, int]:
    """The anchor that makes a dilation undo the shift of an erosion with an even kernel."""
    place = size - 1 - size // 2
    return (place, place)
