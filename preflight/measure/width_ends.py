"""Ends of thin bars, by the outlines of what is filled: a spur on a solid, or a slit in one, too small for the quick look.

A spur that sticks out by a pixel of that look hides in the last grey of the solid's edge.  Its outline turns back on itself
within a tenth of a millimetre, whatever it stands on.  Such turns are found here; how wide it is, a closer look has to tell.
"""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from preflight.artwork import Artwork
from preflight.measure.width_coarse import OUTSIDE
from preflight.measure.width_outlines import outlines

#: An outline that turns by so many degrees within one of these lengths, mm, has an end there: a square one turns within its
#: width, a round one within 1.6 widths, and three widths farther on it may turn back already.
TURN, REACHES = 150.0, (0.06, 0.11, 0.21)
#: Sides closer than this, mm, meet in a tip.
TIP = 0.01
#: Points of a bar that are noted, in widths from its end.
ALONG = (0.0, 1.5, 3.0)
#: Moves shorter than this are none, mm.
NOTHING = 1e-5
#: Mm between one outline and the next in the row of all; no move counts as longer, so that none hides what comes after it.
FAR = 1.0
#: Points looked at together: more would not stay at hand.
CHUNK = 64_000
#: Ends taken, the thinnest first.
MOST = 5000


@dataclass(frozen=True, slots=True)
class Ends:
    """Places in bars near their ends: (n, 2) mm, how far the sides are apart, mm, and the ink, −1 for the ground's colour."""

    points: np.ndarray
    widths: np.ndarray
    inks: np.ndarray


@dataclass(frozen=True, slots=True)
class _Rows:
    """Points of outlines in a row: each point's place, and its move to the next one, mm.

    `first` are the first points of each outline and `count` how many it has; `at` is the number of each point in the art's
    outlines.
    """

    x: np.ndarray
    y: np.ndarray
    dx: np.ndarray
    dy: np.ndarray
    sizes: np.ndarray
    first: np.ndarray
    count: np.ndarray
    at: np.ndarray


def ends(art: Artwork, widest: float) -> Ends:
    """The ends of whatever is filled and no wider than so many mm, on the art and just beside it."""
    held = outlines(art)
    if held is None:
        return Ends(np.empty((0, 2)), np.empty(0), np.empty(0, int))
    found = []
    cuts = np.searchsorted(held.first, np.arange(0, held.first[-1] + 1, CHUNK))
    for start, stop in pairwise([*np.unique(cuts).tolist(), len(held.first)]):
        first, after = held.first[start:stop], held.after[start:stop]
        rows = _rows(held.points[first[0] : after[-1]], first - first[0], after - first[0])
        for one in (rows, _joints(rows)):
            middles, widths, inwards, at = _turns(one, widest)
            found.append((middles, widths, inwards, at + first[0]))
    middles, widths, inwards, at = (np.concatenate(parts) for parts in zip(*found, strict=True))
    thinnest = np.argsort(widths, kind="stable")[:MOST]
    middles, widths, inwards, at = (of[thinnest] for of in (middles, widths, inwards, at))
    owner = held.owner[np.searchsorted(held.first, at, side="right") - 1]
    inks = np.array([-1 if mark.ink is None else mark.ink for mark in held.marks])[owner]
    points = np.concatenate([middles + along * widths[:, None] * inwards for along in ALONG])
    on_art = ((points >= -OUTSIDE) & (points <= np.add((art.width_mm, art.height_mm), OUTSIDE))).all(axis=1)
    return Ends(points[on_art], np.tile(widths, len(ALONG))[on_art], np.tile(inks, len(ALONG))[on_art])


def _rows(points: np.ndarray, first: np.ndarray, after: np.ndarray) -> _Rows:
    """Whole outlines in a row, without points that lie on the next one; the last is followed by the first."""
    x, y = np.ascontiguousarray(points.T)

    def to_next(of: np.ndarray) -> np.ndarray:
        moves = np.empty_like(of)
        moves[:-1] = of[1:] - of[:-1]
        moves[after - 1] = of[first] - of[after - 1]
        return moves

    dx, dy = to_next(x), to_next(y)
    sizes = np.sqrt(dx * dx + dy * dy)
    goes = sizes > NOTHING
    at = np.flatnonzero(goes)
    count = np.add.reduceat(goes, first, dtype=int)
    count = count[count > 0]
    if len(at) < len(x):
        x, y, dx, dy, sizes = (of[at] for of in (x, y, dx, dy, sizes))
    return _Rows(x, y, dx, dy, sizes, np.cumsum(count) - count, count, at)


def _joints(rows: _Rows) -> _Rows:
    """What lies on both sides of the place where each outline begins, as far as a turn may reach."""
    reach = REACHES[-1]
    way = np.minimum(rows.sizes, FAR)
    travelled = np.cumsum(way)
    start = travelled[rows.first] - way[rows.first]
    stop = travelled[rows.first + rows.count - 1]
    after = np.minimum(np.searchsorted(travelled, start + reach) + 1 - rows.first, rows.count)
    from_last = np.searchsorted(travelled, stop - reach, side="right")
    before = np.minimum(rows.first + rows.count - from_last + 1, rows.count)
    total = before + after
    first = np.cumsum(total) - total
    ring = np.repeat(np.arange(len(total)), total)
    place = np.arange(len(ring)) - first[ring] - before[ring]
    chosen = rows.first[ring] + place % rows.count[ring]
    x, y, dx, dy, sizes, at = (of[chosen] for of in (rows.x, rows.y, rows.dx, rows.dy, rows.sizes, rows.at))
    return _Rows(x, y, dx, dy, sizes, first, total, at)


def _turns(rows: _Rows, widest: float) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Middles of ends (n, 2) mm, widths, unit vectors into the bar, and the number of the point that each begins at.

    None is noted that begins at an outline's first point, as nothing is known of what comes before.
    """
    heading = np.arctan2(rows.dy.astype(np.float32), rows.dx.astype(np.float32)).astype(float)
    turn = np.diff(heading, prepend=0.0)
    turn -= 2 * np.pi * np.rint(turn / (2 * np.pi))
    turn[rows.first] = 0
    turned = np.cumsum(turn)
    way = np.minimum(rows.sizes, FAR)
    way[rows.first[1:] - 1] += FAR
    travelled = np.cumsum(way) - way
    # few outlines turn so far to and fro within the longest reach
    bent = np.abs(turn)
    in_all = np.cumsum(bent)
    last = np.searchsorted(travelled, travelled + REACHES[-1], side="right") - 1
    may = np.flatnonzero((bent > 0) & (in_all[last] - in_all + bent >= np.radians(TURN)))
    found = []
    for reach in REACHES:
        last = np.searchsorted(travelled, travelled[may] + reach, side="right") - 1
        whole = np.abs(turned[last] - turned[may] + turn[may]) >= np.radians(TURN)
        here, to = may[whole], last[whole]
        side = np.stack([rows.x[to] - rows.x[here], rows.y[to] - rows.y[here]], axis=1)
        width = np.hypot(*side.T)
        kept = (width >= TIP) & (width <= widest)
        here, to, width, side = here[kept], to[kept], width[kept], side[kept]
        away, back = (
            np.stack([rows.dx[of], rows.dy[of]], axis=1) / rows.sizes[of, None] for of in (here - 1, to)
        )
        inwards = (back - away) / np.maximum(np.hypot(*(back - away).T), NOTHING)[:, None]
        middles = np.stack([rows.x[here], rows.y[here]], axis=1) + side / 2
        found.append((middles, width, inwards, rows.at[here]))
    middles, widths, inwards, at = (np.concatenate(parts) for parts in zip(*found, strict=True))
    return middles, widths, inwards, at
