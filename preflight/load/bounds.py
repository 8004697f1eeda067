"""Where the art begins and ends, to a few thousandths of a millimetre."""

import numpy as np

from preflight.artwork import Box, Plates

#: The first look: so many pixels along the longer side of the page.
COARSE = 1600
#: The second look at each edge, pixels per mm (kept lower on very long edges).
FINE = 120.0
#: Pixels of one strip at most.
STRIP = 6_000_000
#: Coverage, of 255, that counts as something in the first look: a hairline covers little of a coarse pixel.
TRACE = 6
#: ... and in the second, where half a pixel is the edge itself.
EDGE = 96


def art_bounds(plates: Plates, page: Box) -> Box | None:
    """The box of everything that would be produced, mm of the page; None when there is nothing.

    Two looks: the whole page small, then a strip along each of the four edges large.  The position inside the last pixel
    comes from its coverage.
    """
    width, height = page[2] - page[0], page[3] - page[1]
    density = min(COARSE / max(width, height), 40.0)
    seen = plates.coverage(None, page, density) >= TRACE
    if not seen.any():
        return None
    columns, rows = np.flatnonzero(seen.any(0)), np.flatnonzero(seen.any(1))
    step = 1 / density
    rough = (
        page[0] + columns[0] * step, page[1] + rows[0] * step, page[0] + (columns[-1] + 1) * step,
        page[1] + (rows[-1] + 1) * step,
    )  # fmt: skip
    rough = (max(rough[0], page[0]), max(rough[1], page[1]), min(rough[2], page[2]), min(rough[3], page[3]))
    left = _edge(plates, (rough[0] - step, rough[1], rough[0] + 2 * step, rough[3]), 0, rough[0])
    right = _edge(plates, (rough[2] - 2 * step, rough[1], rough[2] + step, rough[3]), 2, rough[2])
    top = _edge(plates, (rough[0], rough[1] - step, rough[2], rough[1] + 2 * step), 1, rough[1])
    bottom = _edge(plates, (rough[0], rough[3] - 2 * step, rough[2], rough[3] + step), 3, rough[3])
    found = (max(left, page[0]), max(top, page[1]), min(right, page[2]), min(bottom, page[3]))
    left, top, right, bottom = found if found[2] > found[0] and found[3] > found[1] else rough
    return (float(left), float(top), float(right), float(bottom))


def _edge(plates: Plates, strip: Box, side: int, fallback: float) -> float:
    """Where the ink begins in a strip; side 0 left, 1 top, 2 right, 3 bottom."""
    width, height = strip[2] - strip[0], strip[3] - strip[1]
    if width <= 0 or height <= 0:
        return fallback
    density = min(FINE, (STRIP / (width * height)) ** 0.5, 30_000 / max(width, height))
    cover = plates.coverage(None, strip, density).max(axis=0 if side % 2 == 0 else 1)
    if side >= 2:
        cover = cover[::-1]
    there = np.flatnonzero(cover >= EDGE)
    if not len(there):
        return fallback
    first = int(there[0])
    before = float(cover[first - 1]) if first else 0.0
    # the edge lies in this pixel or in the one before: what the two are covered by says how far in
    inside = (first + 1 - (float(cover[first]) + before) / 255) / density
    return strip[side] + inside if side < 2 else strip[side] - inside
