"""What the width search finds: one narrow thing."""

from dataclasses import dataclass

import numpy as np

from preflight.artwork import Box

#: What a width has to be good to, mm or a part of itself.
WANTED, WANTED_PART = 0.0035, 0.007
#: Pixels across a small spot, and how good, in pixels, a larger one's sides are.
SPOT_ACROSS, SPOT_ERROR = 24, 0.25
KINDS, SPOTS = ("line", "gap", "between", "speck", "hole"), ("speck", "hole")


@dataclass(slots=True)
class Narrow:
    """A line, gap, speck or hole.  All lengths mm.

    Attributes:
        kind: "line", "gap", "between" (a gap between two inks), "speck" or "hole".
        inks: the number of its ink, or of the two inks on either side.
        width: its narrowest; `typical` its usual width; of a speck the smaller of equivalent diameter and short side.
        points: (n, 2) along its middle.
        own_length: the part of the length that no neighbouring window has seen too.
        reach: how near a point of another piece of the same line would be.
        place: where it is narrowest.
        density: pixels a mm it was measured at.
        final: no finer measurement would change it.
    """

    kind: str
    inks: tuple[int, ...]
    width: float
    typical: float
    length: float
    box: Box
    points: np.ndarray
    own_length: float = 0.0
    reach: float = 0.0
    place: tuple[float, float] = (0.0, 0.0)
    density: float = 0.0
    final: bool = True


def density_for_spot(width: float) -> float:
    """Pixels a mm at which a speck or hole so many mm wide is measured to 0.0035 mm or 0.7 % of itself."""
    return max(SPOT_ACROSS / width, SPOT_ERROR / max(WANTED, WANTED_PART * width))
