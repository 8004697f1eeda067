"""How thick what goes on from block to block looks: a line stays as thick, a tip does not."""

from collections.abc import Sequence

import numpy as np
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components

#: What goes on for so many blocks that touch is a line, not the tip of something.
GOES_ON = 5
#: Thicker than anything looks: there is nothing.
NONE = 256


def looks_of(
    plates: np.ndarray, rows: np.ndarray, columns: np.ndarray, thickness: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """How thick the lines (or gaps) look that go on for some blocks, and the others, uint8, 0 elsewhere.

    A line is as thick in the blocks next to it, while the tip of a star or a letter gets thicker from block to block: what counts
    is the thickest of the thinnest three that touch.

    Args:
        plates: of square blocks, which plate each lies on.
        rows: of the blocks, each at least 0.
        columns: the same.
        thickness: uint8, how thick a line (or a gap) in each looks, 0 where there is none.
    """
    there = np.flatnonzero(thickness)
    found = np.zeros((2, len(thickness)), np.uint8)
    if not len(there):
        return found[0], found[1]
    # no row's end touches the next one's beginning, nor a plate the next one
    high, wide = int(rows.max()) + 2, int(columns.max()) + 2
    key = ((high * plates[there].astype(np.int64)) + rows[there]) * wide + columns[there]
    order = np.argsort(key)
    there, key = there[order], key[order]
    own = thickness[there].astype(np.uint16)
    least, second = np.full_like(own, NONE), np.full_like(own, NONE)
    pairs = touching(key, wide)
    for one, other in pairs:
        for at, value in ((one, own[other]), (other, own[one])):
            second[at] = np.minimum(second[at], np.maximum(least[at], value))
            least[at] = np.minimum(least[at], value)
    count, group = grouped(pairs, len(key))
    goes_on = (second < NONE) & (np.bincount(group, minlength=count)[group] >= GOES_ON)
    found[0, there] = np.where(goes_on, np.maximum(own, second), 0)
    found[1, there] = np.where(goes_on, 0, own)
    return found[0], found[1]


def touching(key: np.ndarray, wide: int) -> list[tuple[np.ndarray, np.ndarray]]:
    """Pairs of blocks that touch, also at corners, direction by direction: a block is in each direction's once at most.

    Args:
        key: of each block, its row times `wide` and its column, in order.
        wide: more than the columns there are, so that no row's end touches the next one's beginning.
    """
    pairs = []
    for step in (1, wide - 1, wide, wide + 1):
        at = np.minimum(np.searchsorted(key, key + step), len(key) - 1)
        one = np.flatnonzero(key[at] == key + step)
        pairs.append((one, at[one]))
    return pairs


def grouped(pairs: Sequence[tuple[np.ndarray, np.ndarray]], blocks: int) -> tuple[int, np.ndarray]:
    """How many groups these pairs join so many blocks to, and the number of each block's group."""
    first, second = (np.concatenate(of) for of in zip(*pairs, strict=True))
    graph = coo_matrix((np.ones(len(first), bool), (first, second)), shape=(blocks, blocks))
    count, group = connected_components(graph, directed=False)
    return int(count), group.astype(np.int64)
