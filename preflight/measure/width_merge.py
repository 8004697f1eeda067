"""One line, one entry: pieces that the windows cut a line into are put together again."""

from collections import defaultdict
from collections.abc import Iterable

import numpy as np
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components
from scipy.spatial import cKDTree

from preflight.artwork import union
from preflight.measure.width_narrow import Narrow

#: Pieces of one line have about the same width: no more than this factor apart.
ALIKE = 1.6
#: Points of one line lie no farther apart than its width and so many mm: lines side by side stay two.
BESIDE = 0.04

#: What was put together before, by the identities of its pieces, which live as long.
Known = dict[tuple[int, ...], list[Narrow]]


def merged(found: Iterable[Narrow], known: Known | None = None) -> list[Narrow]:
    """Pieces put together, thinnest first; what is `known` already is taken from there, and the rest is added to it."""
    groups: dict[tuple[str, tuple[int, ...]], list[Narrow]] = defaultdict(list)
    for one in found:
        groups[one.kind, one.inks].append(one)
    known = {} if known is None else known
    result = []
    for members in groups.values():
        key = tuple(map(id, members))
        if key not in known:
            known[key] = _merged(members)
        result += known[key]
    return sorted(result, key=lambda one: (one.width, one.box))


def _merged(members: list[Narrow]) -> list[Narrow]:
    if len(members) == 1:
        return members
    points = np.concatenate([one.points for one in members])
    owner = np.repeat(np.arange(len(members)), [len(one.points) for one in members])
    width = np.array([one.width for one in members])
    typical = np.array([one.typical for one in members])
    reach = np.array([one.reach for one in members])
    pairs = cKDTree(points).query_pairs(float(reach.max()), output_type="ndarray")
    pairs = pairs[owner[pairs[:, 0]] != owner[pairs[:, 1]]]  # most are of one piece
    a, b = owner[pairs[:, 0]], owner[pairs[:, 1]]
    apart = np.hypot(*(points[pairs[:, 0]] - points[pairs[:, 1]]).T)
    near = apart <= np.minimum(np.maximum(reach[a], reach[b]), BESIDE + np.minimum(width[a], width[b]))
    alike = np.maximum(typical[a], typical[b]) <= ALIKE * np.minimum(typical[a], typical[b])
    linked = near & alike
    graph = coo_matrix((np.ones(int(linked.sum())), (a[linked], b[linked])), shape=(len(members),) * 2)
    count, label = connected_components(graph, directed=False)
    together: list[list[Narrow]] = [[] for _ in range(count)]
    for number, one in zip(label, members, strict=True):
        together[number].append(one)
    return [_joined(pieces) for pieces in together]


def _joined(pieces: list[Narrow]) -> Narrow:
    if len(pieces) == 1:
        return pieces[0]
    thinnest = min(pieces, key=lambda one: one.width)
    by_look: dict[float, float] = defaultdict(float)  # two bands may both have seen the whole line
    for one in pieces:
        by_look[one.density] += one.own_length
    length = max(*(one.length for one in pieces), *by_look.values())
    return Narrow(
        thinnest.kind, thinnest.inks, thinnest.width,
        float(np.average([one.typical for one in pieces], weights=[one.length + 1e-9 for one in pieces])),
        length,
        union([one.box for one in pieces]), np.concatenate([one.points for one in pieces]), 0.0, thinnest.reach,
        thinnest.place, thinnest.density, thinnest.final,
    )  # fmt: skip
