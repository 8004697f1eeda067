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
#: A turn by more than this, radians, goes back the way it came.
BACK = 3.1
#: Mm between one outline and the next in the row of all; no move counts as longer, so that none hides what comes after it.
FAR = 1.0
#: Points looked at together: more would not stay at hand.
CHUNK = 64_000
#: Ends taken, the thinnest first.
MOST = 5000


@dataclass(frozen=True, slots=True)
class Ends:
    """Places in bars near their ends.

    Attributes:
        points: (n, 2) mm.
        widths: how far the sides are apart there, mm.
        inks: numbers of the inks, −1 for the ground's colour.
        senses: 1 for an end of the shape, as of a spur, −1 for one of what is cut into it, as of a slit, 0 for either.
    """

    points: np.ndarray
    widths: np.ndarray
    inks: np.ndarray
    senses: np.ndarray


@dataclass(frozen=True, slots=True)
class _Rows:
    """Points of outlines in a row, each outline's last followed by its first.

    Attributes:
        x, y: place of each point, mm.
        heading: direction of its move to the next one, radians.
        sizes: of that move, mm.
        at: number of each point in the art's outlines.
        first, count: of each outline, its first point and how many it has.
        round: 1 or −1 for an outline that turns once round in all, to the one side or the other; 0 for others.
    """

    x: np.ndarray
    y: np.ndarray
    heading: np.ndarray
    sizes: np.ndarray
    at: np.ndarray
    first: np.ndarray
    count: np.ndarray
    round: np.ndarray


def ends(art: Artwork, widest: float) -> Ends:
    """The ends of whatever is filled and no wider than so many mm, on the art and just beside it."""
    held = outlines(art)
    if held is None:
        return Ends(np.empty((0, 2)), np.empty(0), np.empty(0, int), np.empty(0, int))
    found = []
    cuts = np.searchsorted(held.first, np.arange(0, held.first[-1] + 1, CHUNK))
    for start, stop in pairwise([*np.unique(cuts).tolist(), len(held.first)]):
        first, after = held.first[start:stop], held.after[start:stop]
        rows = _rows(held.points[first[0] : after[-1]], first - first[0], after - first[0])
        for one in (rows, _joints(rows)):
            *rest, at = _turns(one, widest)
            found.append((*rest, at + first[0]))
    middles, inwards, widths, senses, at = (np.concatenate(parts) for parts in zip(*found, strict=True))
    on_art = ((middles >= -OUTSIDE) & (middles <= np.add((art.width_mm, art.height_mm), OUTSIDE))).all(axis=1)
    thinnest = np.flatnonzero(on_art)
    thinnest = thinnest[np.argsort(widths[thinnest], kind="stable")[:MOST]]
    middles, inwards, widths, senses, at = (of[thinnest] for of in (middles, inwards, widths, senses, at))
    owner = held.owner[np.searchsorted(held.first, at, side="right") - 1]
    # an outline inside another one may bound either
    senses[np.bincount(held.owner)[owner] > 1] = 0
    inks = np.array([-1 if mark.ink is None else mark.ink for mark in held.marks])[owner]
    points = np.concatenate([middles + along * widths[:, None] * inwards for along in ALONG])
    return Ends(points, *(np.tile(of, len(ALONG)) for of in (widths, inks, senses)))


def _rows(points: np.ndarray, first: np.ndarray, after: np.ndarray) -> _Rows:
    """Whole outlines in a row, without points that lie on the next one."""
    x, y = np.ascontiguousarray(points.T)

    def to_next(of: np.ndarray, first: np.ndarray, after: np.ndarray) -> np.ndarray:
        moves = np.empty_like(of)
        moves[:-1] = of[1:] - of[:-1]
        moves[after - 1] = of[first] - of[after - 1]
        return moves

    dx, dy = to_next(x, first, after), to_next(y, first, after)
    sizes = np.sqrt(dx * dx + dy * dy)
    goes = sizes > NOTHING
    count = np.add.reduceat(goes, first, dtype=int)
    count = count[count > 0]
    at = np.flatnonzero(goes)
    if len(at) < len(x):
        x, y, dx, dy, sizes = (of[at] for of in (x, y, dx, dy, sizes))
    heading = np.arctan2(dy.astype(np.float32), dx.astype(np.float32)).astype(float)
    first = np.cumsum(count) - count
    if not len(first):
        return _Rows(x, y, heading, sizes, at, first, count, count)
    turn = _wrapped(to_next(heading, first, first + count))
    whole = np.add.reduceat(turn, first) / (2 * np.pi)
    sides = np.rint(whole).astype(int)
    # what goes back the way it came may have turned to either side
    sides[(np.abs(sides) != 1) | (np.maximum.reduceat(np.abs(turn), first) > BACK)] = 0
    return _Rows(x, y, heading, sizes, at, first, count, sides)


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
    x, y, heading, sizes, at = (of[chosen] for of in (rows.x, rows.y, rows.heading, rows.sizes, rows.at))
    return _Rows(x, y, heading, sizes, at, first, total, rows.round)


def _turns(rows: _Rows, widest: float) -> tuple[np.ndarray, ...]:
    """Middles of ends (n, 2) mm, unit vectors into the bar, widths mm, senses, and the number of the point each begins at.

    None is noted that begins at an outline's first point, as nothing is known of what comes before.
    """
    turn = _wrapped(np.diff(rows.heading, prepend=0.0))
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
        by = turned[last] - turned[may] + turn[may]
        side = np.stack([rows.x[last] - rows.x[may], rows.y[last] - rows.y[may]], axis=1)
        width = np.hypot(*side.T)
        kept = (np.abs(by) >= np.radians(TURN)) & (width >= TIP) & (width <= widest)
        here, to = may[kept], last[kept]
        middles = np.stack([rows.x[here], rows.y[here]], axis=1) + side[kept] / 2
        away, back = (
            np.stack([np.cos(of), np.sin(of)], axis=1) for of in (rows.heading[here - 1], rows.heading[to])
        )
        inwards = (back - away) / np.maximum(np.hypot(*(back - away).T), NOTHING)[:, None]
        outline = np.searchsorted(rows.first, here, side="right") - 1
        senses = rows.round[outline] * np.sign(by[kept]).astype(int)
        found.append((middles, inwards, width[kept], senses, rows.at[here]))
    return tuple(np.concatenate(parts) for parts in zip(*found, strict=True))


def _wrapped(turn: np.ndarray) -> np.ndarray:
    """Turns between −π and π, radians."""
    return turn - 2 * np.pi * np.rint(turn / (2 * np.pi))
