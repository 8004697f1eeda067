"""Shadings with hard stops: flat stripes that a file draws as a gradient, each a colour of its own."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Any

import cv2
import numpy as np

from preflight.artwork import Box
from preflight.load.paints import RGB
from preflight.load.plates import ListPlates, grey_image

#: More colours than these are a fade in steps, or nearly one.
MOST_COLOURS = 6
#: Components of one colour differ by no more than this, of 255, and two colours by this at least: a faint fade has all between.
ONE_COLOUR, TWO_COLOURS = 1, 8
#: A colour that has less than this share is an edge; all edges together have no more than the second.
LEAST, EDGES = 0.01, 0.02
#: Pixels a mm, and pixels, that the stripes are drawn with.
DENSITY, PIXELS = 24.0, 4_000_000
#: ... and at least so many across its narrow side: a fade that short would show in a few colours only.
ACROSS = 64.0
#: Pixels of the first look, which tells most fades.
GLANCE = 40_000


@dataclass(frozen=True)
class Steps:
    """A shading as flat colours: each with its share, and which of them each pixel of the box has."""

    colours: tuple[RGB, ...]
    shares: tuple[float, ...]
    labels: np.ndarray  # (rows, columns) uint8

    def images(self, numbers: Sequence[int]) -> tuple[dict[int, Any], Any]:
        """Grey images for the lists of its inks, by their numbers, and one for all of them; below zero is paper."""
        covers: dict[int, np.ndarray] = {}
        for label, number in enumerate(numbers):
            cover = np.where(self.labels == label, 255, 0).astype(np.uint8)
            covers[number] = cv2.max(covers[number], cover) if number in covers else cover
        bare = [cover for number, cover in covers.items() if number < 0]
        art = np.full(self.labels.shape, 255, np.uint8)
        for cover in bare:
            art = cv2.subtract(art, cover)
        return {n: grey_image(cover) for n, cover in covers.items() if n >= 0}, grey_image(art)


def steps_of(probe: int, box: Box, plates: ListPlates, ground: RGB) -> Steps | None:
    """The flat colours in which a shading shows; None where it fades.

    Args:
        probe: the list that tells where it can be seen.
        box: its visible box, mm of the page.
        plates: the lists of the page.
        ground: of the goods.
    """
    found = _flat(_drawn(probe, box, plates, ground, GLANCE)[0])
    if found is None:  # a fade: most shadings end here, and cheaply
        return None
    seen, picture = _drawn(probe, box, plates, ground, PIXELS)
    found = _flat(seen)
    if found is None:
        return None
    colours, shares = found
    away = np.stack([cv2.absdiff(picture, np.array(one, np.float64)).max(2) for one in colours])
    return Steps(tuple(colours), tuple(shares), away.argmin(0).astype(np.uint8))


def _drawn(
    probe: int, box: Box, plates: ListPlates, ground: RGB, most: int
) -> tuple[np.ndarray, np.ndarray]:  # fmt: skip
    """The pixels (n, 3) that show nothing but the shading, and the picture they are of."""
    width, height = max(box[2] - box[0], 1e-3), max(box[3] - box[1], 1e-3)
    density = min(max(DENSITY, ACROSS / min(width, height)), (most / (width * height)) ** 0.5)
    picture = plates.picture(box, density, ground)
    return picture[plates.coverage(probe, box, density) >= 250], picture


def _flat(seen: np.ndarray) -> tuple[list[RGB], list[float]] | None:
    """The few colours of pixels (n, 3), most frequent first, with their shares; None where they are not few."""
    if len(seen) < 100:
        return None
    packed = seen.astype(np.uint32) @ np.array([65536, 256, 1], np.uint32)
    counted, how_many = np.unique(packed, return_counts=True)
    order = np.argsort(-how_many)[:400]
    colours: list[RGB] = []
    shares: list[float] = []
    for number in order:
        value, share = int(counted[number]), float(how_many[number]) / len(seen)
        shade = (value >> 16, value >> 8 & 255, value & 255)
        near = next((i for i, one in enumerate(colours) if _apart(one, shade) <= ONE_COLOUR), None)
        if near is not None:
            shares[near] += share
        elif share >= LEAST:
            colours.append(shade)
            shares.append(share)
    few = 2 <= len(colours) <= MOST_COLOURS and sum(shares) >= 1 - EDGES
    few = few and all(_apart(*two) >= TWO_COLOURS for two in combinations(colours, 2))
    return (colours, shares) if few else None


def _apart(one: RGB, other: RGB) -> int:
    return max(abs(a - b) for a, b in zip(one, other, strict=True))
