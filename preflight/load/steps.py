"""Shadings with hard stops: flat stripes that a file draws as a gradient, each a colour of its own."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np

from preflight.artwork import Box
from preflight.load.paints import RGB
from preflight.load.plates import ListPlates, grey_image

#: More colours than these are a fade in steps, or nearly one.
MOST_COLOURS = 6
#: Components of one colour differ by no more than this, of 255.
ONE_COLOUR = 3
#: A colour that has less than this share is an edge; all edges together have no more than the second.
LEAST, EDGES = 0.01, 0.02
#: Pixels a mm, and pixels, that the stripes are drawn with.
DENSITY, PIXELS = 24.0, 4_000_000


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
    area = max((box[2] - box[0]) * (box[3] - box[1]), 1e-6)
    density = min(DENSITY, (PIXELS / area) ** 0.5)
    cover = plates.coverage(probe, box, density)
    picture = plates.picture(box, density, ground)
    seen = picture[cover >= 250]
    if len(seen) < 100:
        return None
    counted, how_many = np.unique(seen, axis=0, return_counts=True)
    colours: list[np.ndarray] = []
    shares: list[float] = []
    for number in np.argsort(-how_many)[:400]:
        shade, share = counted[number].astype(int), float(how_many[number]) / len(seen)
        near = next((i for i, one in enumerate(colours) if np.abs(one - shade).max() <= ONE_COLOUR), None)
        if near is not None:
            shares[near] += share
        elif share >= LEAST:
            colours.append(shade)
            shares.append(share)
    if not 2 <= len(colours) <= MOST_COLOURS or sum(shares) < 1 - EDGES:
        return None
    away = np.stack([cv2.absdiff(picture, np.array(one, np.float64)).max(2) for one in colours])
    rgb = [(int(one[0]), int(one[1]), int(one[2])) for one in colours]
    return Steps(tuple(rgb), tuple(shares), away.argmin(0).astype(np.uint8))
