"""Letters in pieces put together: stencil faces have bridges in them, and thin strokes break in coarse bitmaps.

The pieces of one letter lie closer together than letters do, and together they read as a letter better than apart.
"""

from collections.abc import Sequence

import numpy as np

from preflight.measure.letter_frame import Fit
from preflight.measure.letter_portrait import letters, portrait
from preflight.measure.letter_shapes import Shape, together

#: Pieces of one letter are so close at most, its width so great at most, in heights of the line; and so many at most.
_GREATEST_GAP, _WIDEST, _MOST = 0.16, 1.5, 4
#: Pieces of a letter are closer together than letters: their gap is at most so much of the row's wide ones.
_CLOSER = 0.85
#: What a join costs in the logarithm of the likeness, so that "rn" does not become an "m"; and what it gains for every
#: height of the line that the gap is narrower than most gaps of the row, within the bounds.
_JOIN, _NARROW, _BOUNDS = 0.35, 5.0, (-0.5, 0.6)
#: Narrow bars read as i or l but are as often the stem of a letter in pieces: so much likelier to be letters when narrow.
_BAR, _BAR_WIDTH = 0.6, 0.35
#: Bars are parts of many a Han character too: one that may be a letter at least so much is one as much as this, in a row.
_MAY_BE, _LEAST_BAR = 0.5, 0.9
#: Pieces are put together only where the whole row then reads so much better (mean likeness).
_BETTER = 0.07
_MOST_PIECES = 120


def put_together(members: Sequence[Shape], line: Fit, likeness: np.ndarray) -> list[Shape] | None:
    """A row with the pieces of its letters put together; None where it reads no better so.

    Args:
        members: the shapes of the row.
        line: the row in its frame, the right way up.
        likeness: (n,) how like a letter each member is, in a script whose letters stand apart.
    """
    n = len(members)
    if not 2 < n <= _MOST_PIECES:
        return None
    wide, tall = line.spans[:, 1] - line.spans[:, 0], line.levels[:, 1] - line.levels[:, 0]
    bars = (wide < _BAR_WIDTH * tall) & (likeness > _MAY_BE)
    likeness = np.where(bars, np.maximum(likeness, _LEAST_BAR), likeness)
    if likeness.mean() > 1 - _BETTER:
        return None
    order = np.argsort(line.spans[:, 0])
    spans, levels = line.spans[order], line.levels[order]
    height = float(np.percentile(levels[:, 1] - levels[:, 0], 85))
    gaps = spans[1:, 0] - np.maximum.accumulate(spans[:, 1])[:-1]
    usual = float(np.percentile(gaps, 75))
    groups = _groups(spans, levels, height, min(_GREATEST_GAP * height, max(_CLOSER * usual, 0.01 * height)))
    if not groups:
        return None
    rings = [[line.frame.place(r[:: max(1, len(r) // 150)]) for r in members[i].rings] for i in order]
    read = letters(np.array([portrait([r for k in range(a, b) for r in rings[k]]) for a, b in groups]))
    slim = spans[:, 1] - spans[:, 0] < _BAR_WIDTH * height
    worth = {
        (k, k + 1): float(np.log(likeness[i] * (_BAR if slim[k] else 1.0) + 0.02))
        for k, i in enumerate(order)
    }
    alike = {(k, k + 1): float(likeness[i]) for k, i in enumerate(order)}
    narrow = np.clip(_NARROW * (usual - gaps) / height, *_BOUNDS) - _JOIN
    for (a, b), chance in zip(groups, read, strict=True):
        worth[a, b] = (b - a) * float(np.log(chance + 0.02)) + float(narrow[a : b - 1].sum())
        alike[a, b] = float(chance)
    cuts = _best_cuts(n, worth)
    after = float(np.mean([alike[cut] for cut in cuts]))
    if len(cuts) == n or after < float(likeness.mean()) + _BETTER:
        return None
    return [members[order[a]] if b == a + 1 else together([members[i] for i in order[a:b]]) for a, b in cuts]


def _groups(
    spans: np.ndarray, levels: np.ndarray, height: float, greatest_gap: float
) -> list[tuple[int, int]]:
    """Runs of two and more neighbours that may be pieces of one letter."""
    found = []
    for a in range(len(spans)):
        end, low, high = float(spans[a, 1]), float(levels[a, 0]), float(levels[a, 1])
        for b in range(a + 1, min(a + _MOST, len(spans))):
            if spans[b, 0] - end > greatest_gap:
                break
            end = max(end, float(spans[b, 1]))
            low, high = min(low, float(levels[b, 0])), max(high, float(levels[b, 1]))
            if end - spans[a, 0] > _WIDEST * height or high - low > 1.4 * height:
                break
            found.append((a, b + 1))
    return found


def _best_cuts(n: int, worth: dict[tuple[int, int], float]) -> list[tuple[int, int]]:
    """The division of a row of n pieces into letters that is worth most (dynamic programming)."""
    best = [0.0] + [-np.inf] * n
    start = [0] * (n + 1)
    for b in range(1, n + 1):
        for a in range(max(0, b - _MOST), b):
            if (a, b) in worth and best[a] + worth[a, b] > best[b]:
                best[b], start[b] = best[a] + worth[a, b], a
    cuts, b = [], n
    while b:
        cuts.append((start[b], b))
        b = start[b]
    return cuts[::-1]
