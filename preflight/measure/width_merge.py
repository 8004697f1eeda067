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
    keys = [tuple(map(id, members)) for members in groups.values()]
    new = {key: members for key, members in zip(keys, groups.values(), strict=True) if key not in known}
    known |= zip(new, _merged(list(new.values())), strict=True)
    return sorted((one for key in keys for one in known[key]), key=lambda one: (one.width, one.box))


def _merged(groups: list[list[Narrow]]) -> list[list[Narrow]]:
    """The wholes of each group: of all groups at once, as scipy's calls take longer than what they do for one."""
    members = [one for group in groups for one in group]
    if len(members) == len(groups):
        return groups
    group_of = np.repeat(np.arange(len(groups)), [len(group) for group in groups])
    sizes = [len(one.points) for one in members]
    points, owner = np.concatenate([one.points for one in members]), np.repeat(np.arange(len(members)), sizes)
    width = np.array([one.width for one in members])
    typical = np.array([one.typical for one in members])
    reach = np.array([one.reach for one in members])
    farthest = float(reach.max())
    # groups lie on floors of their own, farther apart than anything reaches
    floors = np.column_stack([points, 2 * farthest * group_of[owner]])
    pairs = cKDTree(floors).query_pairs(farthest, output_type="ndarray")
    pairs = pairs[owner[pairs[:, 0]] != owner[pairs[:, 1]]]  # most are of one piece
    a, b = owner[pairs[:, 0]], owner[pairs[:, 1]]
    apart = np.hypot(*(points[pairs[:, 0]] - points[pairs[:, 1]]).T)
    near = apart <= np.minimum(np.maximum(reach[a], reach[b]), BESIDE + np.minimum(width[a], width[b]))
    alike = np.maximum(typical[a], typical[b]) <= ALIKE * np.minimum(typical[a], typical[b])
    linked = near & alike
    graph = coo_matrix((np.ones(int(linked.sum())), (a[linked], b[linked])), shape=(len(members),) * 2)
    count, label = connected_components(graph, directed=False)
    together: list[list[Narrow]] = [[] for _ in range(count)]
    for number, one in zip(label.tolist(), members, strict=True):
        together[number].append(one)
    found: list[list[Narrow]] = [[] for _ in groups]
    for number, first in zip(*np.unique(label, return_index=True), strict=True):
        found[group_of[first]].append(_joined(together[number]))
    return found


def _joined(pieces: list[Narrow]) -> Narrow:
    if len(pieces) == 1:
        return pieces[0]
    thinnest = min(pieces, key=lambda one: one.width)
    by_look: dict[float, float] = defaultdict(float)  # two bands may both have seen the whole line
    for one in pieces:
        by_look[one.density] += one.own_length
    length = max(*(one.length for one in pieces), *by_look.values())
    weights = [one.length + 1e-9 for one in pieces]
    typical = sum(one.typical * weight for one, weight in zip(pieces, weights, strict=True)) / sum(weights)
    return Narrow(
        thinnest.kind, thinnest.inks, thinnest.width, typical, length,
        union([one.box for one in pieces]), np.concatenate([one.points for one in pieces]), 0.0, thinnest.reach,
        thinnest.place, thinnest.density, thinnest.final,
    )  # fmt: skip
