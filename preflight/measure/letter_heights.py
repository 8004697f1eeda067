"""Heights of the letters of a found line: which shapes count, the shortest, the capitals, the x-height."""

from dataclasses import dataclass

import numpy as np

from preflight.measure.letter_frame import Fit
from preflight.measure.letter_portrait import Likeness

#: Lower than this against the line's height it is a dot or a comma; floating higher than this above the baseline, an accent.
_LEAST, _FLOATING = 0.36, 0.3


@dataclass(frozen=True, slots=True)
class Heights:
    """Heights in mm; `counts` tells which members are letters that count, `lowest` which one is the shortest."""

    shortest: float
    cap: float | None
    x_height: float | None
    counts: np.ndarray
    lowest: int


def letter_heights(fit: Fit, likeness: Likeness) -> Heights | None:
    """The heights of a line whose frame is the right way up; None where no shape of it is a letter that counts."""
    tall = fit.levels[:, 1] - fit.levels[:, 0]
    tops, bottoms = fit.levels[:, 1] - fit.base, fit.levels[:, 0] - fit.base
    reference = float(np.percentile(tall, 85))
    counts = (tall >= _LEAST * reference) & (bottoms < _FLOATING * reference) & (tops > 0.25 * reference)
    unlike = (likeness.letter < 0.02) & (likeness.others[:, 0] > 0.9)
    if (counts & ~unlike).sum() >= max(2, 0.5 * counts.sum()):
        counts &= ~unlike
    if not counts.any():
        return None
    standing = counts & (np.abs(bottoms) < 0.16 * reference)
    pool = np.flatnonzero(standing if standing.any() else counts)
    order = pool[np.argsort(tall[pool])]
    lowest = order[0]
    # A lone low shape among letters is something else, unless it looks like a letter and stands well.
    if (
        len(order) >= 3
        and tall[lowest] < 0.72 * tall[order[1]]
        and tall[lowest] < 0.62 * np.median(tall[order])
    ):
        lowest = order[1]
    shortest = float(tall[lowest])
    low, high = _levels(tops[pool])
    upper = np.zeros(len(tall), bool)
    if high > 1.18 * low:
        upper[pool] = tops[pool] > (low + high) / 2
        capitals = upper & (likeness.capital >= 0.5)
        lower = standing & ~upper
        return Heights(
            shortest,
            float(tall[capitals].min()) if capitals.any() else None,
            max(shortest, float(tall[lower].min())) if lower.any() else None,
            counts,
            int(lowest),
        )
    weight = np.clip(likeness.letter[pool], 0.05, 1)
    in_capitals = float((likeness.capital[pool] * weight).sum() / weight.sum()) >= 0.5
    if in_capitals:
        return Heights(shortest, shortest, None, counts, int(lowest))
    return Heights(shortest, None, shortest, counts, int(lowest))


def _levels(tops: np.ndarray) -> tuple[float, float]:
    """The two heights at which the tops of a line lie (Otsu's division); the same twice where there is one only."""
    ordered = np.sort(tops)
    if len(ordered) < 2 or ordered[-1] <= 1.18 * ordered[0]:
        middle = float(np.median(ordered))
        return middle, middle
    sums = np.cumsum(ordered)
    counts = np.arange(1, len(ordered))
    below = sums[:-1] / counts
    above = (sums[-1] - sums[:-1]) / (len(ordered) - counts)
    cut = int(np.argmax(counts * (len(ordered) - counts) * (above - below) ** 2))
    return float(np.median(ordered[: cut + 1])), float(np.median(ordered[cut + 1 :]))
