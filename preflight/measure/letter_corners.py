"""Letters drawn in squares that meet at corners only, as in pixel faces: their pieces put together before rows are sought."""

from collections.abc import Sequence

import numpy as np

from preflight.measure.letter_chains import chains
from preflight.measure.letter_shapes import Shape, together

#: A corner is looked at so far along its two edges, against the size of its shape, and at least so far, mm.
_EDGE, _LEAST_EDGE_MM = 0.1, 0.12
#: Its angle is a right one within this (cosine); and the two that meet look at each other (cosine of their bisectors).
_SQUARE, _OPPOSITE = 0.42, -0.8
#: More shapes than this are texture; and a letter has so many pieces at most.
_MOST_SHAPES, _MOST_PIECES = 400, 12


def rows_of_squares(shapes: list[Shape], gap: float) -> list[list[Shape]]:
    """The rows with letters whose pieces meet at corners only, which the other rows have in pieces; `gap` as below."""
    letters = over_corners(shapes, gap)
    if not letters:
        return []
    pieces = {id(ring) for letter in letters for ring in letter.rings}
    rest = [s for s in shapes if id(s.rings[0]) not in pieces]
    own = {id(letter) for letter in letters}
    return [row for row in chains([*letters, *rest]) if any(id(s) in own for s in row)]


def over_corners(shapes: Sequence[Shape], gap: float) -> list[Shape]:
    """The letters made of shapes that meet at right-angled corners; none where no shapes do.

    What touches at one point only hangs together in neither a plate nor its negative, or by chance.

    Args:
        shapes: the covered shapes of a plate, or the open ones.
        gap: mm that corners which meet may lie apart, for the pixels of the plate.
    """
    if not 1 < len(shapes) <= _MOST_SHAPES:
        return []
    boxes = np.array([s.box for s in shapes])
    near = np.all(boxes[:, None, :2] <= boxes[None, :, 2:] + gap, 2)
    near &= near.T & np.triu(np.ones_like(near), 1)
    # A counter lies in its letter: shapes that meet at a corner hardly overlap by their boxes.
    shared = np.minimum(boxes[:, None, 2:], boxes[None, :, 2:]) - np.maximum(
        boxes[:, None, :2], boxes[None, :, :2]
    )
    sizes = (boxes[:, 2:] - boxes[:, :2]).min(1)
    near &= shared.min(2) < 0.7 * np.minimum(sizes[:, None], sizes[None])
    groups = list(range(len(shapes)))
    for i, j in np.argwhere(near).tolist():
        if groups[i] != groups[j] and _meet(shapes[i], shapes[j], gap):
            old = groups[j]
            groups = [groups[i] if group == old else group for group in groups]
    found = [[s for s, group in zip(shapes, groups, strict=True) if group == one] for one in set(groups)]
    return [together(parts) for parts in found if 1 < len(parts) <= _MOST_PIECES]


def _meet(one: Shape, other: Shape, gap: float) -> bool:
    """Do two shapes meet at a right-angled corner of each, and nowhere else?"""
    a, b = one.rings[0], other.rings[0]
    low = np.maximum(a.min(0), b.min(0)) - gap
    high = np.minimum(a.max(0), b.max(0)) + gap
    at_a = np.flatnonzero(((a >= low) & (a <= high)).all(1))
    at_b = np.flatnonzero(((b >= low) & (b <= high)).all(1))
    if not len(at_a) or not len(at_b) or len(at_a) * len(at_b) > 200_000:
        return False
    away = np.hypot(*(a[at_a][:, None] - b[at_b][None]).transpose(2, 0, 1))
    i, j = np.unravel_index(int(away.argmin()), away.shape)
    if away[i, j] > gap:
        return False
    reach = max(_LEAST_EDGE_MM, _EDGE * min(one.size, other.size))
    first, second = _corner(a, int(at_a[i]), reach), _corner(b, int(at_b[j]), reach)
    return first is not None and second is not None and float(first @ second) < _OPPOSITE


def _corner(ring: np.ndarray, at: int, reach: float) -> np.ndarray | None:
    """The bisector, as a unit vector, of a right-angled corner of a ring near one of its points; None if it is none."""
    step = float(np.hypot(*(np.roll(ring, -1, 0) - ring).T).mean())
    ahead = max(2, round(reach / max(step, 1e-9)))
    if 4 * ahead > len(ring):
        return None
    best: np.ndarray | None = None
    sharpest = _SQUARE
    for place in range(at - ahead // 2, at + ahead // 2 + 1):
        n = len(ring)
        corner = ring[place % n]
        out = ring[(place + ahead) % n] - corner
        back = ring[(place - ahead) % n] - corner
        out, back = out / max(np.hypot(*out), 1e-9), back / max(np.hypot(*back), 1e-9)
        # Both edges are straight: half-way along they run the same way.
        half = ring[(place + ahead // 2) % n] - corner, ring[(place - ahead // 2) % n] - corner
        straight = all(float(h @ e) > 0.9 * np.hypot(*h) for h, e in zip(half, (out, back), strict=True))
        square = abs(float(out @ back))
        if straight and square < sharpest:
            sharpest, both = square, out + back
            best = both / max(np.hypot(*both), 1e-9)
    return best
