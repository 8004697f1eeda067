"""Halftone dots: a regular screen shows as two equal peaks at right angles in the spectrum of small tiles."""

import math
from dataclasses import dataclass

import numpy as np

TILE = 128
#: Tiles looked at, those with most contrast first: bounded work.
MOST_TILES = 48
#: Tiles flatter than this (standard deviation of luma) hold no dots.
LEAST_DEVIATION = 12
#: Screens looked for: dots from 2.2 to 26 pixels apart.
LEAST_FREQUENCY, MOST_FREQUENCY = 1 / 26, 0.46
#: A peak stands this many times over the median of its ring.
PEAK = 60
#: The right-angle twin has at least this part of the first peak's energy, and both this part of the tile's.
TWIN, PAIR = 0.15, 0.28
#: Periods of the tiles of one screen agree this closely.
AGREEMENT = 0.12
LEAST_HITS, LEAST_SHARE = 2, 0.25


@dataclass(frozen=True, slots=True)
class Screen:
    """A halftone screen: period in pixels, the tiles (left, top, right, bottom) that show it, their share of those looked at."""

    period: float
    tiles: tuple[tuple[int, int, int, int], ...]
    share: float


def screen(luma: np.ndarray) -> Screen | None:
    """The halftone screen of a picture at its full resolution, luma uint8 (h, w); None when there is none."""
    h, w = luma.shape
    if min(h, w) < 32:
        return None
    side = min(TILE, 1 << int(math.log2(min(h, w))))
    down, across = h // side, w // side
    tiles = luma[: down * side, : across * side].reshape(down, side, across, side)
    deviation = tiles[:, ::4, :, ::4].std(axis=(1, 3)).ravel()
    order = np.argsort(-deviation)[:MOST_TILES]
    order = order[deviation[order] > LEAST_DEVIATION]
    if len(order) < LEAST_HITS:
        return None
    spectrum = _Spectrum(side)
    found = []
    for number in order:
        top, left = number // across * side, number % across * side
        period = spectrum.period(luma[top : top + side, left : left + side])
        if period:
            found.append((period, (int(left), int(top), int(left + side), int(top + side))))
    if not found:
        return None
    middle = float(np.median([period for period, _ in found]))
    agreed = tuple(tile for period, tile in found if abs(period - middle) < AGREEMENT * middle)
    share = len(agreed) / len(order)
    if len(agreed) < LEAST_HITS or share <= LEAST_SHARE:
        return None
    return Screen(middle, agreed, share)


class _Spectrum:
    """The power spectrum of square tiles and the search for two peaks at right angles."""

    def __init__(self, side: int) -> None:
        self.side = side
        hann = np.hanning(side).astype(np.float32)
        self.window = hann[:, None] * hann
        self.down = np.fft.fftfreq(side)[:, None]
        self.across = np.fft.rfftfreq(side)[None]
        self.radius = np.hypot(self.down, self.across)
        self.band = (self.radius > LEAST_FREQUENCY) & (self.radius < MOST_FREQUENCY)

    def period(self, tile: np.ndarray) -> float | None:
        """Distance of the dots in pixels, None when the tile shows no screen."""
        level = tile - tile.mean(dtype=np.float32)
        power = np.abs(np.fft.rfft2(level * self.window)) ** 2
        banded = np.where(self.band, power, 0)
        peak = np.unravel_index(int(banded.argmax()), banded.shape)
        frequency = float(self.radius[peak])
        fy, fx = float(self.down[peak[0], 0]), float(self.across[0, peak[1]])
        first, twin = self._around(power, fy, fx), self._around(power, -fx, fy)
        ring = float(np.median(power[(self.radius > 0.75 * frequency) & (self.radius < 1.33 * frequency)]))
        total = float(banded.sum()) + 1e-9
        clear = power[peak] > PEAK * ring and twin.max(initial=0) > PEAK * ring
        if clear and twin.sum() > TWIN * first.sum() and (first.sum() + twin.sum()) / total > PAIR:
            return 1 / frequency
        return None

    def _around(self, power: np.ndarray, fy: float, fx: float) -> np.ndarray:
        """The 5 x 5 cells of the spectrum around a frequency."""
        if fx < 0 or (fx == 0 and fy < 0):  # the half spectrum holds positive frequencies across
            fy, fx = -fy, -fx
        row, column = round(fy * self.side), round(fx * self.side)
        rows = [(row + k) % self.side for k in (-2, -1, 0, 1, 2)]
        columns = [k for k in range(column - 2, column + 3) if 0 <= k < power.shape[1]]
        return power[np.ix_(rows, columns)]
