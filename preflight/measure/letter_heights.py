"""Heights of the letters of a found line: which shapes count, the shortest, the capitals, the x-height."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from preflight.measure.letter_frame import Fit, median
from preflight.measure.letter_portrait import Likeness
from preflight.measure.letter_shapes import Shape

#: Lower than this against the line's height it is a dot or a comma; floating higher than this above the baseline, an accent.
_LEAST, _FLOATING, _FLOATING_LETTER = 0.36, 0.3, 0.42
#: Among so many shapes that read as letters so surely, the outermost one that reads so little like one is an ornament.
_MANY, _SURELY, _HARDLY = 6, 0.9, 0.3
#: An O is at least so tall against the low letters of its line.
_LEAST_O = 0.8
#: Where so many letters stand on the base, what hangs from the others' tops is the upper part of one that is in pieces.
_MOST_STAND = 0.75
#: So is what is lower than this part of the usual height and reads as a letter no surer than this; so many at most are.
_PIECES, _MOST_PIECES = ((0.7, 0.3), (0.6, 0.5)), 1 / 3
#: A lone low shape is a letter if it reads so surely as one and stands so near the base, in heights of the line.
_READS, _STANDS = 0.95, 0.08
#: What lies inside a shape of its own plate that is up to so many heights of the line large is the inline of a letter.
_WITHIN = 1.7


@dataclass(frozen=True, slots=True)
class Heights:
    """Heights in mm; `counts` tells which members are letters that count, `lowest` which one is the shortest."""

    shortest: float
    cap: float | None
    x_height: float | None
    counts: np.ndarray
    lowest: int


def letter_heights(members: Sequence[Shape], fit: Fit, likeness: Likeness) -> Heights | None:
    """The heights of a line whose frame is the right way up; None where no shape of it is a letter that counts."""
    tall = fit.levels[:, 1] - fit.levels[:, 0]
    tops, bottoms = fit.levels[:, 1] - fit.base, fit.levels[:, 0] - fit.base
    reference = float(np.percentile(tall, 85))
    # What floats is an accent or a quotation mark, unless it reads as a letter among figures that hang below the line.
    floats = bottoms >= np.where(likeness.letter > 0.6, _FLOATING_LETTER, _FLOATING) * reference
    counts = (tall >= _LEAST * reference) & ~floats & (tops > 0.25 * reference)
    # Among shapes that read as letters one that does not is an icon at the end of the line.  A plain ring reads as an
    # ornament, but as tall as letters it is an O.
    usual = float(median(likeness.letter[counts])) if counts.any() else 0.0
    unlike = (likeness.letter < 0.15 * usual) & (likeness.others[:, 0] > 0.6)
    if counts.sum() >= _MANY and usual > _SURELY:
        along = fit.spans.mean(1)
        outermost = (along == along.min()) | (along == along.max())
        unlike |= outermost & (likeness.letter < _HARDLY) & (likeness.others[:, :2].sum(1) > 0.5)
    if unlike.any() and (counts & ~unlike).any():
        unlike &= ~(_rings(members) & (tall >= _LEAST_O * np.percentile(tall[counts & ~unlike], 20)))
    if (counts & ~unlike).sum() >= max(2, 0.6 * counts.sum()):
        counts &= ~unlike
    if not counts.any():
        return None
    inner = _inlines(members, reference)
    if inner[counts].mean() <= 0.5:
        counts &= ~inner
    # Letters stand on the base, or share their tops with most (round a base that more letters hang from).
    top = _commonest(tops[counts], 0.06 * reference)
    on_base = counts & (np.abs(bottoms) < 0.16 * reference)
    hanging = counts & ~on_base & (np.abs(tops - top) < 0.08 * reference)
    if not fit.frame.arched and on_base.sum() >= _MOST_STAND * counts.sum():
        hanging &= bottoms < 0
    standing = on_base | hanging
    pool = np.flatnonzero(standing if standing.any() else counts)
    order = _without_pieces(pool[np.argsort(tall[pool])], tall, likeness.letter)
    lowest = order[0]
    # A lone low shape among letters is something else, unless it looks like a letter and stands well.
    stands = likeness.letter[lowest] >= _READS and abs(bottoms[lowest]) <= _STANDS * reference
    alone = (
        len(order) >= 3 and tall[lowest] < 0.72 * tall[order[1]] and tall[lowest] < 0.62 * median(tall[order])
    )
    if alone and not stands:
        lowest = order[1]
    shortest = float(tall[lowest])
    tops = tops - _baseline(bottoms[pool], reference)
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


def _without_pieces(order: np.ndarray, tall: np.ndarray, letter: np.ndarray) -> np.ndarray:
    """Letters, lowest first, without the pieces of broken ones among the lowest."""
    usual = median(tall[order])
    pieces = 0
    while len(order) - pieces >= 3 and pieces < _MOST_PIECES * len(order):
        at = order[pieces]
        if not any(tall[at] < part * usual and letter[at] < surely for part, surely in _PIECES):
            break
        pieces += 1
    return order[pieces:]


def _inlines(members: Sequence[Shape], height: float) -> np.ndarray:
    """Which shapes lie in an opening of a shape that is hardly larger than letters of this height, mm."""
    around = [one.around.around if one.around is not None else None for one in members]
    return np.array([one is not None and one.size <= _WITHIN * height for one in around])


def _rings(members: Sequence[Shape]) -> np.ndarray:
    """Which shapes are round or oval with one opening, as an O is, and in no other shape of the row, as counters are."""
    boxes = np.array([s.box for s in members])
    within = np.all(boxes[:, None, :2] > boxes[None, :, :2], 2) & np.all(
        boxes[:, None, 2:] < boxes[None, :, 2:], 2
    )
    alike = np.array([len(s.rings) == 2 and s.filled > 0.93 and s.openings > 0.03 for s in members])
    return alike & ~within.any(1)


def _commonest(values: np.ndarray, near: float) -> float:
    """The value that most values are near to."""
    close = np.abs(values[:, None] - values[None]) < near
    return median(values[close[int(close.sum(1).argmax())]])


def _baseline(bottoms: np.ndarray, height: float) -> float:
    """The highest level that a fifth of the letters stand on: what hangs lower has descenders."""
    close = (np.abs(bottoms[:, None] - bottoms[None]) < 0.06 * height).sum(1)
    shared = bottoms[(close >= max(2, 0.2 * len(bottoms))) & (bottoms < 0.35 * height)]
    return _commonest(shared[shared > shared.max() - 0.06 * height], height) if len(shared) else 0.0


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
