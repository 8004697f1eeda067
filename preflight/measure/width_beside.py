"""Which two inks lie on either side of a gap in all of them together."""

import numpy as np

from preflight.artwork import Artwork
from preflight.measure.width_source import Window, render
from preflight.measure.width_stretch import Stretch

#: Windows of single inks kept while the sides of gaps are looked up.
MOST_HELD = 32
#: Pixels beyond either side of a gap where the ink is looked up.
BESIDE = 2.0


class Sides:
    """Looks up the inks beside gaps; keeps the windows it has drawn while they are asked for again."""

    def __init__(self, art: Artwork) -> None:
        self.art = art
        self._held: dict[tuple[int, Window, float], np.ndarray] = {}

    def of(self, window: Window, stretch: Stretch, density: float) -> tuple[int, ...]:
        """The numbers of the two inks on either side; nothing when one ink lies on both, as it is that ink's own gap then.

        Args:
            window: that the gap was found in, at so many pixels a mm.
            stretch: the gap, in pixels of the window.
            density: pixels a mm.
        """
        off = (stretch.widths / 2 + BESIDE)[:, None] * stretch.normals
        sides: list[dict[int, np.ndarray]] = [{}, {}]
        for ink in self.art.inks:
            cover = self._cover(ink.number, window, density)
            for side, sign in zip(sides, (1, -1), strict=True):
                x = np.clip(np.rint(stretch.x + sign * off[:, 0]).astype(int), 0, window.width - 1)
                y = np.clip(np.rint(stretch.y + sign * off[:, 1]).astype(int), 0, window.height - 1)
                side[ink.number] = cover[y, x] >= 128
        numbers = [ink.number for ink in self.art.inks]
        one, other = (np.stack([side[n] for n in numbers]) for side in sides)
        filled = one.any(0) & other.any(0)
        apart = filled & ~(one & other).any(0)
        if apart.sum() <= 0.5 * max(1, int(filled.sum())) or not apart.any():
            return ()
        first = numbers[int(one[:, apart].sum(1).argmax())]
        second = numbers[int(other[:, apart].sum(1).argmax())]
        return tuple(sorted((first, second)))

    def _cover(self, ink: int, window: Window, density: float) -> np.ndarray:
        key = (ink, window, density)
        if key not in self._held:
            if len(self._held) >= MOST_HELD:
                self._held.clear()
            self._held[key] = render(self.art, ink, window, density)
        return self._held[key]
