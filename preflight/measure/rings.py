"""Area and length of closed outlines: an (n, 2) array of points each, the first one not repeated."""

import numpy as np


def signed_area(ring: np.ndarray) -> float:
    """Area of a ring in square units, positive where it turns from x towards y."""
    # about its own corner: the closing edge adds nothing, and small rings far out keep their digits
    x, y = (ring - ring[0]).T
    return 0.5 * float(np.dot(x[:-1], y[1:]) - np.dot(y[:-1], x[1:]))


def perimeter(ring: np.ndarray) -> float:
    """Length of a ring with the edge that closes it."""
    return float(np.hypot(*(np.roll(ring, -1, 0) - ring).T).sum())
