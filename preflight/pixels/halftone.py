"""Halftone dots: a regular screen shows as two equal peaks at right angles in the spectrum of small tiles."""

import math
from dataclasses import dataclass

import cv2
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
#: The extent is looked for by averaging over so many dots, in strips of so many rows.
EXTENT_DOTS, STRIP = 3.0, 512
#: A place has dots where they swing by this much of luma, and by this part of the strongest place.
EXTENT_LEAST, EXTENT_PART = 2.5, 0.15


@dataclass(frozen=True, slots=True)
class Screen:
    """A halftone screen.

    Attributes:
        period: distance of the dots along the screen, pixels.
        box: where they are (left, top, right, bottom), pixels.
        part: of the box that has dots, 0 to 1.
        share: of the tiles looked at that show them.
    """

    period: float
    box: tuple[int, int, int, int]
    part: float
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
        frequency = spectrum.frequency(luma[top : top + side, left : left + side])
        if frequency:
            found.append(frequency)
    if not found:
        return None
    periods = np.array([1 / math.hypot(*frequency) for frequency in found])
    middle = float(np.median(periods))
    agreed = np.abs(periods - middle) < AGREEMENT * middle
    share = float(agreed.sum()) / len(order)
    if agreed.sum() < LEAST_HITS or share <= LEAST_SHARE:
        return None
    box, part = _extent(luma, [f for f, fits in zip(found, agreed, strict=True) if fits], middle)
    return Screen(middle, box, part, share)


def _extent(
    luma: np.ndarray, frequencies: list[tuple[float, float]], period: float
) -> tuple[tuple[int, int, int, int], float]:
    """Where a picture swings with the screen: the box, and the part of it that does.

    The picture is multiplied with a wave of the screen's frequency and averaged over a few dots: what is left is the
    strength of the swing around each place.
    """
    height, width = luma.shape
    fy, fx = np.median(np.array(frequencies), axis=0) if _alike(frequencies) else frequencies[0]
    side = max(3, round(EXTENT_DOTS * period)) | 1
    stride = max(1, side // 4)
    across = np.exp(-2j * np.pi * fx * np.arange(width)).astype(np.complex64)
    rows = []
    for top in range(0, height, STRIP):
        first, last = max(0, top - side), min(height, top + STRIP + side)
        down = np.exp(-2j * np.pi * fy * np.arange(first, last)).astype(np.complex64)
        strip = luma[first:last].astype(np.float32)
        strip -= cv2.blur(strip, (side, side))
        wave = strip * down[:, None] * across
        power = np.hypot(cv2.blur(wave.real, (side, side)), cv2.blur(wave.imag, (side, side)))
        inside = np.arange(top, min(height, top + STRIP))
        rows.append(power[inside[inside % stride == 0] - first][:, ::stride])
    strength = np.concatenate(rows)
    mask = (strength > max(EXTENT_LEAST, EXTENT_PART * float(np.percentile(strength, 98)))).astype(np.uint8)
    mask = cv2.morphologyEx(mask, cv2.MORPH_OPEN, np.ones((3, 3), np.uint8)) if min(mask.shape) > 8 else mask
    ys, xs = np.nonzero(mask)
    if not len(ys):
        return (0, 0, width, height), 1.0
    low, high = int(ys.min()), int(ys.max())
    left, right = int(xs.min()), int(xs.max())
    part = float(mask[low : high + 1, left : right + 1].mean())
    box = (left * stride, low * stride, min(width, (right + 1) * stride), min(height, (high + 1) * stride))
    return box, part


def _alike(frequencies: list[tuple[float, float]]) -> bool:
    """Whether the peaks of the tiles are all of one direction of the screen, so that their median means something."""
    spread = np.ptp(np.array(frequencies), axis=0)
    return bool(spread.max() < 0.02)


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

    def frequency(self, tile: np.ndarray) -> tuple[float, float] | None:
        """Cycles a pixel down and across of the screen's main direction, None when the tile shows no screen."""
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
            return fy, fx
        return None

    def _around(self, power: np.ndarray, fy: float, fx: float) -> np.ndarray:
        """The 5 x 5 cells of the spectrum around a frequency."""
        if fx < 0 or (fx == 0 and fy < 0):  # the half spectrum holds positive frequencies across
            fy, fx = -fy, -fx
        row, column = round(fy * self.side), round(fx * self.side)
        rows = [(row + k) % self.side for k in (-2, -1, 0, 1, 2)]
        columns = [k for k in range(column - 2, column + 3) if 0 <= k < power.shape[1]]
        return power[np.ix_(rows, columns)]
