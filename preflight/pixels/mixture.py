"""Pixels as mixtures of inks: inside an area a pixel is one ink, on an edge a mixture of the two on either side.

Which two mix is taken from the neighbourhood: the grey on the edge of black on white is no grey ink.
"""

import functools
import itertools
from dataclasses import dataclass

import cv2
import numpy as np

from preflight.pixels.lab import lab_of_colours, nearest_of

#: A pixel within this of an ink may lie inside it, Delta E (CIE 1976); less where two inks are closer than thrice that.
INSIDE = 12.0
#: Inks that can be told apart in one picture: as many as bits of a neighbourhood.
MOST_INKS = 60
#: Sharpening filters and compression take thin lines past their ink by this part of the contrast.
OVERSHOOT = 0.25
#: Colours held against all pairs at a time: bounded memory.
OFF_CHUNK = 4096
#: Of a neighbourhood with more inks than this only these many pairs are tried: bounded work.
MOST_PAIRS = 66


@dataclass(slots=True)
class Mixture:
    """For n pixels: numbers of the two inks, the second's part 0 to 1, and the distance from the line between them (sRGB)."""

    one: np.ndarray
    other: np.ndarray
    part: np.ndarray
    aside: np.ndarray


@functools.cache
def _cube() -> np.ndarray:
    """Lab of the middles of all colours of 6 bits a component, float32 (3, 64³)."""
    level = (np.arange(64, dtype=np.uint8) << 2) + 2
    cube = np.stack(np.meshgrid(level, level, level, indexing="ij"), -1).reshape(-1, 3)
    return np.ascontiguousarray(lab_of_colours(cube).T)


class Palette:
    """A set of inks: for every colour (6 bits a component) the nearest of them, and whether it is near enough."""

    def __init__(self, rgb: np.ndarray) -> None:
        """Take the inks, float32 (n, 3), sRGB 0 to 255."""
        self.rgb = rgb
        centres = lab_of_colours(rgb)
        nearest, square = nearest_of(_cube(), centres)
        best, self._nearest = np.sqrt(square), nearest.astype(np.uint8)
        self._apart = np.minimum(best, 255).astype(np.uint8)
        between = np.linalg.norm(centres[:, None] - centres[None], axis=2) + 1e3 * np.eye(len(centres))
        self._inside = best < np.minimum(INSIDE, between.min(1) / 3)[self._nearest]

    def labels(self, rgb: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Number of the nearest ink of each pixel, uint8 (h, w), and whether it may lie inside it, bool (h, w)."""
        code = _code(rgb)
        return self._nearest[code], self._inside[code]

    def apart(self, rgb: np.ndarray) -> np.ndarray:
        """Distance of each pixel from the nearest ink, Delta E (CIE 1976) in whole steps: uint8 (h, w)."""
        return self._apart[_code(rgb)]

    def solid(self, labels: np.ndarray, inside: np.ndarray, reach: int) -> np.ndarray:
        """Pixels that lie in a square of one ink which is larger than any edge is wide (`reach` pixels)."""
        size = reach + 1
        kernel = np.ones((size, size), np.uint8)
        marked = np.where(inside, labels + np.uint8(1), np.uint8(0))
        one = (cv2.erode(marked, kernel) == cv2.dilate(marked, kernel)) & (marked > 0)
        back = size - 1 - size // 2  # undoes the shift of an even kernel
        return cv2.dilate(one.astype(np.uint8), kernel, anchor=(back, back)) > 0

    def around(
        self, labels: np.ndarray, solid: np.ndarray, reach: int, at: tuple[np.ndarray, np.ndarray]
    ) -> np.ndarray:
        """Bits of the inks that lie solid within reach of the pixels at (rows, columns): uint64 (n,)."""
        kernel = np.ones((2 * reach + 1, 2 * reach + 1), np.uint8)
        marked = np.where(solid, labels + np.uint8(1), np.uint8(0))
        bits = np.zeros(len(at[0]), np.uint64)
        for number in np.flatnonzero(np.bincount(marked.ravel(), minlength=1)[1:]):
            near = cv2.dilate(cv2.compare(marked, float(number + 1), cv2.CMP_EQ), kernel)[at] > 0
            bits |= near.astype(np.uint64) << np.uint64(number)
        return bits

    def present(self, bits: int) -> list[int]:
        """The inks whose bits are set."""
        return [number for number in range(len(self.rgb)) if bits >> number & 1]

    def mixed(self, colours: np.ndarray, present: list[int]) -> Mixture:
        """The two of the inks present whose line each colour lies nearest to: colours float32 (n, 3)."""
        count = len(colours)
        first = np.full(count, present[0])
        nothing = np.zeros(count, np.float32)
        if len(present) == 1:
            return Mixture(
                first, first.copy(), nothing, np.linalg.norm(colours - self.rgb[present[0]], axis=1)
            )
        best = Mixture(first, first.copy(), nothing, np.full(count, np.inf, np.float32))
        for one, other in itertools.islice(itertools.combinations(present, 2), MOST_PAIRS):
            part, aside = self.placed(colours, one, other)
            closer = aside < best.aside
            best.one[closer], best.other[closer] = one, other
            best.part[closer], best.aside[closer] = part[closer], aside[closer]
        return best

    def placed(self, colours: np.ndarray, one: int, other: int) -> tuple[np.ndarray, np.ndarray]:
        """The second ink's part in each colour, and the colour's distance from the line between the two."""
        along = self.rgb[other] - self.rgb[one]
        offset = colours - self.rgb[one]
        part = np.clip(offset @ along / max(float(along @ along), 1e-6), 0, 1)
        return part, np.linalg.norm(offset - part[:, None] * along, axis=1)


def _code(rgb: np.ndarray) -> np.ndarray:
    """The upper 6 bits of the components as one number."""
    code = (rgb[..., 0] >> 2).astype(np.int32) << 12
    code |= (rgb[..., 1] >> 2).astype(np.int32) << 6
    code |= rgb[..., 2] >> 2
    return code


def unexplained(
    rgb: np.ndarray, palette: Palette, tolerance: float, relative: float, reach: int, thin: float = 0.0
) -> np.ndarray:
    """Pixels that are neither inside an ink nor on an edge between two: bool (h, w).

    Args:
        rgb: uint8 (h, w, 3).
        palette: the inks.
        tolerance: distance from the line between two inks that is still an edge, 8-bit sRGB.
        relative: the same as a part of the contrast of that edge, where it is more (compression rings so far).
        reach: inks further away than this many pixels do not mix.
        thin: a pixel may also be of a line in any of the inks, too thin or too disturbed for a pixel to lie inside it, if
            it is so near to that ink: 1.0 for all mixtures with it, 0.0 for none.
    """
    labels, inside = palette.labels(rgb)
    solid = palette.solid(labels, inside, 1)
    ys, xs = np.nonzero(~solid)
    odd = np.zeros(labels.shape, bool)
    if not len(ys):
        return odd
    colours = rgb[ys, xs].astype(np.float32)
    around = palette.around(labels, solid, reach, (ys, xs))
    kinds, which = np.unique(around, return_inverse=True)
    order = np.argsort(which, kind="stable")
    bounds = np.searchsorted(which[order], np.arange(len(kinds) + 1))
    strange = np.ones(len(ys), bool)
    for number, kind in enumerate(kinds):
        chosen = order[bounds[number] : bounds[number + 1]]
        present = palette.present(int(kind))
        if present:
            mixture = palette.mixed(colours[chosen], present)
            contrast = np.linalg.norm(palette.rgb[mixture.one] - palette.rgb[mixture.other], axis=1)
            strange[chosen] = mixture.aside > np.maximum(tolerance, relative * contrast)
        if thin and strange[chosen].any():
            left = chosen[strange[chosen]]
            strange[left] = _off_lines(palette, colours[left], present, tolerance, relative, thin)
    odd[ys, xs] = strange
    return odd


def _off_lines(
    palette: Palette, colours: np.ndarray, present: list[int], tolerance: float, relative: float, thin: float
) -> np.ndarray:
    """Which colours are no mixture of an ink present and any other; of any two inks where none is present.

    A mixture has at most the part `thin` of the one present.
    """
    numbers = range(len(palette.rgb))
    pairs = itertools.product(present, numbers) if present else itertools.permutations(numbers, 2)
    ends = np.array(list(itertools.islice(pairs, MOST_PAIRS)))
    off = np.ones(len(colours), bool)
    if not len(ends):
        return off
    starts = palette.rgb[ends[:, 0]]
    along = palette.rgb[ends[:, 1]] - starts
    square = np.einsum("ij,ij->i", along, along)
    least = np.maximum(tolerance, relative * np.sqrt(square)) ** 2
    for first in range(0, len(colours), OFF_CHUNK):
        part_of = slice(first, first + OFF_CHUNK)
        offset = colours[part_of, None] - starts
        part = np.einsum("ijk,jk->ij", offset, along) / np.maximum(square, 1e-6)
        np.clip(part, 0, 1 + OVERSHOOT, out=part)
        offset -= part[..., None] * along
        aside = np.einsum("ijk,ijk->ij", offset, offset)
        off[part_of] = ((aside > least) | (part < 1 - thin)).all(1)
    return off
