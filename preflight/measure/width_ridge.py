"""Narrow stretches in a picture of coverage: the ridges of its distance map, and which of them are lines.

A stretch counts as a line when its width stays nearly the same over a length of almost twice that width.  Tips of
stars, serifs, wedges, inner corners and tangent curves have a ridge too, but its width runs away too fast; a neck
shorter than it is wide has too little of it.  Everything here is in pixels.
"""

from dataclasses import dataclass

import cv2
import numpy as np

from preflight.measure import width_profile
from preflight.measure.width_pieces import NARROWEST, TIERS, Measured, between
from preflight.measure.width_source import label_type
from preflight.measure.width_stretch import UNEVEN_BAR, Stretch, doubtful_size, stands_free, tapers

cv2.setNumThreads(1)

#: |gradient|² of the distance map under which a pixel lies on a ridge: 0.5 in a square corner, at most 0.25 on a line.
RIDGE_SLOPE = 0.45
#: Where the largest distance nearby is under this, lines are one or two pixels thin and the slope says nothing.
THIN = 1.7
#: At first sight, a few pixels wide, lengths are a little short: so many widths get a stretch its closer look.
LENIENT = 1.4
#: The same for the rough test on the distance map, whose widths are good to a pixel.
ROUGH = (1.25, 1.0, 1.5)
#: A ridge shorter than this many pixels is noise of the grid: at first sight, and in a second look that is 3 x finer.
SHORTEST, SHORTEST_CLOSER = 3.5, 6.0
#: Ridge pixels touch at edges or corners: at most this long each.
DIAGONAL = 1.42
#: Ridges measured in one picture; the thinnest of a crowd are taken.
MOST_RIDGES = 3000
#: Points measured on one ridge: one in so many pixels, at least, at most.
SPACING, LEAST_POINTS, MOST_POINTS = 12, 32, 80
#: Multiples of it, less their whole part, spread evenly.
GOLDEN = 0.618034
#: A point whose width is larger than twice its distance to the edge, by so many pixels and this part of it, is not on a
#: middle line: the distance map is good to about one pixel.
OFF_MIDDLE = (1.6, 0.05)
#: A point is at an end of its ridge where the ridge's middle nearby is so many pixels off; a ridge of so many times its width
#: in pixels is long.
END, LONG_RIDGE = 1.6, 12.0
#: So often a ridge is tried again whose narrow points are scattered.
MOST_SCATTERED = 3
#: Measured again, a width may differ by this part: what differs more is something else nearby.
UNLIKE = 0.2
#: Points that have to agree on the width of a stretch.
FEWEST = 3
_SQUARE = np.ones((3, 3), np.uint8)
#: Distances are taken in 16 steps a pixel where a byte holds them, for limits under so many pixels.
FINE_STEPS_UNDER = 29.0
#: (2∇D)² by the difference of two distances in steps a pixel, in a unit in which 2 RIDGE_SLOPE**0.5 squared is under 255.
_UNIT = 128.0
_SQUARES = {
    steps: np.minimum(255, np.rint(_UNIT * (np.arange(256) / steps) ** 2)).astype(np.uint8)
    for steps in (16, 8)
}
FLAT_UNDER = 4 * RIDGE_SLOPE * _UNIT
_APART = 1e5  # more than any width: keeps the ridges of one sort key apart


@dataclass(slots=True)
class Ridges:
    """What `stretches` found: measured stretches, and rough widths of those a crowd left unmeasured."""

    found: list[Stretch]
    unmeasured: np.ndarray


def stretches(
    cover: np.ndarray,
    valid: np.ndarray,
    limit: float,
    lowest: float = 0.0,
    uneven: float = 0.0,
    closer: bool = False,
    least: int = 128,
) -> Ridges:
    """Stretches narrower than `limit`.

    Args:
        cover: uint8 coverage.
        valid: uint8, 255 where a ridge may lie: not near an edge of the window, which makes ridges of its own.
        limit: pixels.
        lowest: pixels; what is narrower is left out.
        uneven: pixels by which widths may differ more, for the steps of a bitmap.
        closer: this is a second, finer look at one place.
        least: coverage from which a pixel away from all others belongs to a shape: a line thinner than a pixel may cover half
            of none.
    """
    nothing = Ridges([], np.empty(0))
    shape = cv2.threshold(cover, 127, 255, cv2.THRESH_BINARY)[1]
    if least < 128:  # only what is no edge of anything
        faint = cv2.threshold(cover, least - 1, 255, cv2.THRESH_BINARY)[1]
        shape = cv2.bitwise_or(shape, cv2.subtract(faint, cv2.dilate(shape, _SQUARE)))
    distance = cv2.distanceTransform(shape, cv2.DIST_L2, 5)
    ridge = _ridge(shape, distance, limit)
    ridge &= valid
    points = cv2.findNonZero(ridge)
    if points is None:
        return nothing
    count, labels = cv2.connectedComponents(ridge, connectivity=8, ltype=label_type(len(points)))
    x, y = points.reshape(-1, 2).T
    label = labels[y, x].astype(np.int32)
    near = 2 * distance[y, x].astype(np.float64) - 0.5
    shortest = SHORTEST_CLOSER if closer else SHORTEST
    rough = _rough_widths(label, near, count, limit, shortest, uneven)
    candidates = np.flatnonzero(np.isfinite(rough))
    if not len(candidates):
        return nothing
    chosen = candidates[np.argsort(rough[candidates], kind="stable")]
    chosen, left_out = chosen[:MOST_RIDGES], chosen[MOST_RIDGES:]
    is_chosen = np.zeros(count, bool)
    is_chosen[chosen] = True
    mine = is_chosen[label]
    x, y, label, near = x[mine], y[mine], label[mine], near[mine]
    order = np.argsort(_small(label, count), kind="stable")
    x, y, label, near = x[order], y[order], label[order], near[order]
    picked, weight = _sample(label, near, rough)
    sampled = label[picked]
    profiles = width_profile.measure(cover, labels, x[picked], y[picked], near[picked])
    # in a corner the ridge runs off the middle: there the width across is not twice the distance to the edge
    middle = profiles.width <= near[picked] + OFF_MIDDLE[0] + OFF_MIDDLE[1] * near[picked]
    # a line's last pixels are only partly covered; of a long line they say nothing, and a lattice has many ends
    pixels = np.bincount(label, minlength=count)[sampled]
    middle &= (profiles.off < END) | (pixels < LONG_RIDGE * np.maximum(near[picked], 1.0))
    picked, weight, sampled = picked[middle], weight[middle], sampled[middle]
    profiles = profiles[middle]
    length = profiles.length * weight
    floor = np.full(count, lowest)
    lenient = not closer and not uneven
    narrowest = _by_ridge(sampled, profiles.width, length, floor, shortest, limit, uneven, lenient)
    if not closer:
        # a short thin stretch may turn out to be a tip: then the rest of its ridge still counts
        doubtful = [n for n, (low, high, total) in narrowest if doubtful_size(low, total)]
        floor[:] = np.inf
        for number, (_, high, _) in narrowest:
            floor[number] = high if number in doubtful else np.inf
        if doubtful:
            narrowest += _by_ridge(sampled, profiles.width, length, floor, shortest, limit, uneven, lenient)
    first_sample = np.searchsorted(sampled, np.arange(count + 1))
    ridges = Measured(
        np.stack([x, y], axis=1), near, np.searchsorted(label, np.arange(count + 1)),
        picked, profiles.width, profiles.normal, length, first_sample,
    )  # fmt: skip
    result = []
    again: set[int] = set()
    scattered: dict[int, int] = {}
    while narrowest:
        in_turn = [(number, low, high) for number, (low, high, _) in narrowest]
        narrowest = []
        for (number, low, high), stretch in zip(in_turn, between(ridges, in_turn), strict=True):
            own = slice(first_sample[number], first_sample[number + 1])
            wider = False
            if stretch is None:  # scattered: what is hardly wider may lie together
                scattered[number] = scattered.get(number, 0) + 1
                wider = not closer and scattered[number] <= MOST_SCATTERED
            else:
                stretch.free = bool(uneven) and stands_free(cover, stretch, uneven)
                if uneven:
                    # the steps of a bitmap make it narrower and wider by turns: the middle of that is its width
                    steps = (profiles.width[own] >= low) & (profiles.width[own] <= high + uneven)
                    stretch.width = stretch.typical = float(np.median(profiles.width[own][steps]))
                    if stretch.free:
                        stretch.length = max(stretch.length, float(length[own][steps].sum()))
                looked_at_again = lenient and doubtful_size(stretch.width, stretch.length)
                short = UNEVEN_BAR * uneven if stretch.free else 0.0
                long_enough = not (lenient or uneven) or stretch.length + short >= TIERS[0][2] * low
                if looked_at_again or (long_enough and not tapers(stretch, uneven)):
                    result.append(stretch)
                elif uneven and number not in again:
                    again.add(number)  # the steps of a bitmap may make a taper at one end of a line
                    wider = True
            if wider:
                floor[number] = high
                narrowest += _by_ridge(
                    sampled[own], profiles.width[own], length[own], floor, shortest, limit, uneven, lenient
                )
    return Ridges(result, rough[left_out])


def widths_near(
    cover: np.ndarray, valid: np.ndarray, expected: np.ndarray
) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Widths at all ridge points where `valid` allows, as (columns, rows, widths, shares of the length).

    Args:
        cover: uint8 coverage.
        valid: int32, the number of the place a pixel belongs to, −1 for none.
        expected: width of each place, pixels; ridges much thinner or wider than that are left out, the thinner
            only where there are others.
    """
    shape = cv2.threshold(cover, 127, 255, cv2.THRESH_BINARY)[1]
    distance = cv2.distanceTransform(shape, cv2.DIST_L2, 5)
    ridge = _ridge(shape, distance, float(expected.max()) * (1 + UNLIKE))
    ridge[valid < 0] = 0
    points = cv2.findNonZero(ridge)
    if points is None:
        return np.empty(0, int), np.empty(0, int), np.empty(0), np.empty(0)
    x, y = points.reshape(-1, 2).T
    near = 2 * distance[y, x].astype(np.float64) - 0.5
    place = valid[y, x]
    wanted = expected[place]
    like = np.abs(near - wanted) <= UNLIKE * wanted + 1.0
    # two things hardly apart were taken for one: nothing is as wide as that, and both are thinner
    like |= (np.bincount(place[like], minlength=len(expected)) == 0)[place] & (near < wanted)
    x, y, near = x[like], y[like], near[like]
    _, labels = cv2.connectedComponents(ridge, connectivity=8, ltype=label_type(len(points)))
    profiles = width_profile.measure(cover, labels, x, y, near)
    middle = profiles.width <= near + OFF_MIDDLE[0] + OFF_MIDDLE[1] * near
    return x[middle], y[middle], profiles.width[middle], profiles.length[middle]


def narrow_quantile(widths: np.ndarray, lengths: np.ndarray) -> float:
    """The width that NARROWEST of the length stays under."""
    order = np.argsort(widths, kind="stable")
    share = np.cumsum(lengths[order])
    return float(widths[order][np.searchsorted(share, NARROWEST * share[-1])])


def _ridge(shape: np.ndarray, distance: np.ndarray, limit: float) -> np.ndarray:
    """uint8 mask of the ridge pixels of everything up to about `limit` wide.

    In whole steps of 1/16 pixel (1/8 for wide limits), as bytes take OpenCV a third of the time that floats do.
    """
    steps = 16 if limit < FINE_STEPS_UNDER else 8
    near = cv2.convertScaleAbs(distance, alpha=steps)
    framed = cv2.copyMakeBorder(near, 1, 1, 1, 1, cv2.BORDER_REPLICATE)
    squares = _SQUARES[steps]
    along_x = cv2.LUT(cv2.absdiff(framed[1:-1, 2:], framed[1:-1, :-2]), squares)
    along_y = cv2.LUT(cv2.absdiff(framed[2:, 1:-1], framed[:-2, 1:-1]), squares)
    flat = cv2.threshold(cv2.add(along_x, along_y), int(FLAT_UNDER), 255, cv2.THRESH_BINARY_INV)[1]
    ridge = cv2.bitwise_and(flat, cv2.inRange(near, steps // 2, int((limit + 1.5) / 2 * steps)))
    thin = cv2.threshold(cv2.dilate(near, _SQUARE), int(THIN * steps), 255, cv2.THRESH_BINARY_INV)[1]
    return cv2.bitwise_or(ridge, cv2.bitwise_and(thin, shape))


def _small(numbers: np.ndarray, most: int) -> np.ndarray:
    """Whole numbers as 16 bits where they fit: numpy then sorts them by counting, in a fifth of the time."""
    return numbers.astype(np.uint16) if most < 65_536 else numbers


def _rough_widths(
    label: np.ndarray, near: np.ndarray, count: int, limit: float, shortest: float, uneven: float
) -> np.ndarray:
    """By ridge number, the least width that the distance map lets hope for; infinite where there is none."""
    rough = np.full(count, np.inf)
    size = np.bincount(label, minlength=count)
    least = np.full(count, np.inf)
    np.minimum.at(least, label, near)
    hopeful = size * DIAGONAL >= np.maximum(TIERS[0][2] * np.maximum(least, 1.0), shortest)
    hopeful[0] = False
    some = hopeful[label]
    growth, slack, widths = ROUGH
    numbers, found, _ = _narrowest(
        label[some],
        near[some],
        np.full(int(some.sum()), DIAGONAL),
        (growth, slack + uneven, widths),
        shortest,
        limit + 1.5,
    )
    rough[numbers] = found
    return rough


def _narrowest(
    label: np.ndarray,
    width: np.ndarray,
    length: np.ndarray,
    tier: tuple[float, float, float],
    shortest: float,
    limit: float,
    fewest: int = 1,
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """(ridge numbers, widths, lengths): the least width of each ridge from which enough of its length is hardly wider."""
    growth, slack, widths = tier
    key = label * _APART + np.minimum(width, _APART / 4)
    order = np.argsort(key, kind="stable")
    key, label, width = key[order], label[order], width[order]
    summed = np.concatenate([[0.0], np.cumsum(length[order])])
    stop = np.searchsorted(key, label * _APART + np.minimum(width * growth + slack, _APART / 2), side="right")
    total = summed[stop] - summed[:-1]
    good = (total >= widths * np.maximum(width, 1.0)) & (total >= shortest) & (width < limit)
    if fewest > 1:  # as many points that agree closely: one alone may lie in a corner
        growth, slack = TIERS[0][:2]
        close = np.searchsorted(
            key, label * _APART + np.minimum(width * growth + slack, _APART / 2), side="right"
        )
        good &= close - np.arange(len(width)) >= fewest
    at = np.flatnonzero(good)
    if not len(at):
        return np.empty(0, int), np.empty(0), np.empty(0)
    numbers = label[at]
    first = np.concatenate([[True], numbers[1:] != numbers[:-1]])
    return numbers[first], width[at[first]], total[at[first]]


def _sample(label: np.ndarray, near: np.ndarray, rough: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Which points to measure, in order of their ridges, and how many points each stands for.

    Every ridge gives an even choice of its points; its narrow part gives a choice of its own, so that a short narrow
    piece of a long line is met.
    """
    narrow = near <= rough[label] * TIERS[1][0] + 1.5
    stratum = label.astype(np.int64) * 2 + narrow
    order = np.argsort(_small(stratum, 2 * len(rough)), kind="stable")
    ordered = stratum[order]
    starts = np.flatnonzero(np.concatenate([[True], np.diff(ordered) > 0]))
    sizes = np.diff(np.concatenate([starts, [len(ordered)]]))
    wanted = np.minimum(sizes, np.clip(sizes // SPACING, LEAST_POINTS, MOST_POINTS))
    place = np.arange(len(ordered)) - np.repeat(starts, sizes)
    share = np.repeat(wanted, sizes) / np.repeat(sizes, sizes)
    # a ridge is several pixels across, and every so many of them would keep to one side of it
    taken = (GOLDEN * place) % 1.0 < share
    picked = order[taken]
    weight = np.repeat(sizes / np.maximum(1, np.add.reduceat(taken, starts)), sizes)[taken]
    back = np.argsort(_small(label[picked], len(rough)), kind="stable")
    return picked[back], weight[back]


def _by_ridge(
    label: np.ndarray, width: np.ndarray, length: np.ndarray, floor: np.ndarray, shortest: float, limit: float,
    uneven: float, lenient: bool,
) -> list[tuple[int, tuple[float, float, float]]]:  # fmt: skip
    """Of each ridge the (least width, most width, length) of its narrowest stretch above `floor`."""
    above = width >= floor[label]
    label, width, length = label[above], width[above], length[above]
    best: dict[int, tuple[float, float, float]] = {}
    for growth, slack, widths in TIERS:
        if (lenient or uneven) and widths == TIERS[0][2]:
            widths = LENIENT
        tier = (growth, slack + uneven, widths)
        for number, low, total in zip(
            *_narrowest(label, width, length, tier, shortest, limit, FEWEST), strict=True
        ):
            if number not in best or low < best[number][0]:
                best[int(number)] = (float(low), float(low) * growth + slack + uneven, float(total))
    return list(best.items())
