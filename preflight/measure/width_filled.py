"""Gaps of one ink that another ink fills: nothing stays bare there that could close.

Lettering of a second colour cut out of the first is a matter of how well the two register, and of the lettering's own
width, not of a gap: the trade's limit is on the unprinted gap.
"""

import cv2
import numpy as np

from preflight.artwork import Artwork
from preflight.measure.width_coarse import STEP, look
from preflight.measure.width_narrow import Narrow
from preflight.measure.width_source import Window, render

#: Looked up at so many places of each gap, at so many pixels a mm; filled when so much of them is.
PLACES, DENSITY, MOSTLY = 15, 24.0, 0.7
#: Coverage of all inks together from which a place is printed.
PRINTED = 128
#: Side of the tiles rendered for that, pixels, and how many; gaps beyond count as open.
TILE, MOST_TILES = 256, 400


def open_ones(art: Artwork, things: list[Narrow]) -> list[Narrow]:
    """The narrow things less the gaps and holes of one ink that other inks fill."""
    if len(art.inks) < 2:
        return things
    looked_up: dict[tuple[int, int], np.ndarray] = {}
    return [one for one in things if one.kind not in ("gap", "hole") or not _filled(art, one, looked_up)]


def _filled(art: Artwork, one: Narrow, looked_up: dict[tuple[int, int], np.ndarray]) -> bool:
    if not any(may_reach(art, ink.number, one) for ink in art.inks if ink.number not in one.inks):
        return False
    chosen = np.unique(np.linspace(0, len(one.points) - 1, PLACES).astype(int))
    printed = [_printed(art, one.points[at], looked_up) for at in chosen]
    return sum(printed) >= MOSTLY * len(printed)


def may_reach(art: Artwork, ink: int, one: Narrow) -> bool:
    """Does the small picture of another ink show anything in the box of a narrow thing, or a pixel beside it?"""
    coarse = look(art)
    level = coarse.levels[ink][0]
    k, origin = coarse.density / STEP, coarse.origin(1)
    x0, y0, x1, y1 = ((v + origin) * k for v in one.box)
    part = level[max(0, int(y0) - 1) : int(y1) + 2, max(0, int(x0) - 1) : int(x1) + 2]
    return bool(part.size) and cv2.minMaxLoc(part)[1] > 0


def _printed(art: Artwork, point: np.ndarray, looked_up: dict[tuple[int, int], np.ndarray]) -> bool:
    """Is there any ink at a point?"""
    x, y = (int(v) for v in np.floor(point * DENSITY))
    key = (x // TILE, y // TILE)
    if key not in looked_up:
        if len(looked_up) >= MOST_TILES:
            return False
        looked_up[key] = render(art, None, Window(key[0] * TILE, key[1] * TILE, TILE, TILE), DENSITY)
    return bool(looked_up[key][y - key[1] * TILE, x - key[0] * TILE] >= PRINTED)
