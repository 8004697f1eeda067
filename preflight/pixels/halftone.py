"""Halftone dots: a regular screen shows as two equal peaks at right angles in the spectrum of small tiles."""

import math
from dataclasses import dataclass

import cv2
import numpy as np

TILE = 128
#: Tiles looked at, those with most contrast first: bounded work.
MOST_TILES = 48
#: Tiles flatter than this (standard deviation of luma) hold no dots.
LEAST_DEVIATION = 5
#: Screens looked for: dots from 2.2 to 26 pixels apart.
LEAST_FREQUENCY, MOST_FREQUENCY = 1 / 26, 0.46
#: A peak stands this many times over the median of its ring.
PEAK = 7
#: The right-angle twin has at least this part of the first peak's energy, and both this part of the tile's,
TWIN, PAIR = 0.25, 0.22
#: counted from this part of their frequency on: what is below is the picture's own.
LOWEST = 0.6
#: Periods of the tiles of one screen agree this closely.
AGREEMENT = 0.12
LEAST_HITS, LEAST_SHARE = 2, 0.25
#: Fewer tiles will do where the outline of a shape runs through the others, if their peaks lie as near as this (cycles a
#: pixel) and each holds so many dots in a row;
LEAST_SHARE_ALIKE, ALIKE, ALIKE_DOTS = 0.12, 0.008, 10
#: or so many tiles each hold so many dots.
ALIKE_HITS, ALIKE_DOTS_SURE = 3, 6
#: Side of the tiles that fine dots are looked for in where the large ones show none, and how many dots each holds in a row:
#: outlines make coarser waves.
SMALL_TILE, SMALL_DOTS = 64, 8
#: Dots swing around their surroundings: in the middle by the first, luma 0 to 255, and one in ten places by more than the
#: second and by more than this part of the tile's deviation.  The squares of a JPEG (so many pixels, along the picture's sides)
#: and those of a small picture drawn large, in which something fades, repeat as dots do but are mere stairs.
DOT_SWING, STAIR_SWING, STAIR_PART = 5.0, 2.5, 0.25
JPEG_BLOCK, ON_BLOCKS = 8, 0.04
#: Sheet is what lies this near to the commonest luma in squares of so many pixels, larger than the gaps between dots; tiles that
#: are bare by a part between these are looked at without it, for dots so many of which lie in a row (the filling makes waves), or
#: fewer where so many tiles and no other one show the same: no two fillings make the same waves.
SHEET_NEAR, SHEET_SIDE, SHEET_SHARE, FILLED_DOTS, COARSE_HITS = 6, 13, (0.1, 0.85), 10, 3
#: A channel is looked at beside luma when it varies this much more, all over or in what is no sheet, if that is this part of it.
COLOURFUL, LEAST_SHOWN = 3.0, 0.01
#: Four-colour art has this deviation of black (0 to 255), and each of the other inks, where a component lies so far below the
#: largest, on that part of it.
LEAST_BLACK, LEAST_INK = 20.0, 100
#: The extent is looked for by averaging over so many dots, in strips of so many rows.
EXTENT_DOTS, STRIP = 3.0, 512
#: A place has dots where they swing by this much of luma, and by this part of the strongest place.
EXTENT_LEAST, EXTENT_PART = 2.5, 0.15


@dataclass(frozen=True, slots=True)
class Screen:
    """A halftone screen.

    Attributes:
        period: distance of the dots along the screen, pixels; None where they follow no pattern.
        box: where they are (left, top, right, bottom), pixels.
        part: of the box that has dots, 0 to 1.
        share: of the tiles looked at that show them.
    """

    period: float | None
    box: tuple[int, int, int, int]
    part: float
    share: float


def any_screen(rgb: np.ndarray, luma: np.ndarray) -> Screen | None:
    """The halftone screen of a picture, uint8 (h, w, 3), that its colour, its luma or its black shows."""
    channel = telling_channel(rgb, luma)
    found = None if channel is None else screen(channel)
    found = screen(luma) if found is None else found
    if found is None:
        black = black_plate(rgb)
        found = None if black is None else screen(black)
    return found


def screen(luma: np.ndarray) -> Screen | None:
    """The halftone screen of a picture at its full resolution, luma uint8 (h, w); None when there is none."""
    if min(luma.shape) < 32:
        return None
    side = min(TILE, 1 << int(math.log2(min(luma.shape))))
    found = _screen(luma, side)
    if found is None and side == TILE:  # fine dots in lines and small shapes
        fine = _screen(luma, SMALL_TILE)
        if fine is not None and (fine.period or 0) * SMALL_DOTS < SMALL_TILE:
            return fine
    return found


def _screen(luma: np.ndarray, side: int) -> Screen | None:
    """The screen that square tiles of one side show."""
    h, w = luma.shape
    down, across = h // side, w // side
    tiles = luma[: down * side, : across * side].reshape(down, side, across, side)
    deviation = tiles[:, ::4, :, ::4].std(axis=(1, 3)).ravel()
    order = np.argsort(-deviation)[:MOST_TILES]
    order = order[deviation[order] > LEAST_DEVIATION]
    if len(order) < LEAST_HITS:
        return None
    spectrum = _Spectrum(side)
    sheet = int(np.bincount(luma[:: max(1, h // 500), :: max(1, w // 500)].ravel()).argmax())
    found: list[tuple[float, float]] = []
    coarse: list[tuple[float, float]] = []
    for number in order:
        top, left = number // across * side, number % across * side
        tile = luma[top : top + side, left : left + side]
        frequency = spectrum.frequency(tile)
        shown = None
        if frequency is None:
            inner, shown = _without_sheet(tile, sheet)
            tile = tile if inner is None else inner
            frequency = None if inner is None else spectrum.frequency(inner)
        if frequency and not _is_stairs(tile, frequency, shown):
            filled = shown is not None and math.hypot(*frequency) * side < FILLED_DOTS
            (coarse if filled else found).append(frequency)
    if len(found + coarse) >= COARSE_HITS and _alike(found + coarse, ALIKE):
        found += coarse
    if not found:
        return None
    periods = np.array([1 / math.hypot(*frequency) for frequency in found])
    middle = float(np.median(periods))
    agreed = np.abs(periods - middle) < AGREEMENT * middle
    share = float(agreed.sum()) / len(order)
    fitting = [f for f, fits in zip(found, agreed, strict=True) if fits]
    alike = _alike(fitting, ALIKE) and (
        middle * ALIKE_DOTS < side or (len(fitting) >= ALIKE_HITS and middle * ALIKE_DOTS_SURE < side)
    )
    least = LEAST_SHARE_ALIKE if alike else LEAST_SHARE
    if len(fitting) < LEAST_HITS or share <= least:
        return None
    box, part = _extent(luma, fitting, middle)
    return Screen(middle, box, part, share)


def _without_sheet(tile: np.ndarray, sheet: int) -> tuple[np.ndarray | None, np.ndarray | None]:
    """A tile whose bare sheet (luma) is filled with the mean of the rest, and where that rest is, bool; None where little or
    nearly all of it is bare.

    So no outline of a shape is louder than the dots in it.
    """
    bare = (cv2.absdiff(tile, float(sheet)) <= SHEET_NEAR).astype(np.uint8)
    bare = cv2.morphologyEx(bare, cv2.MORPH_OPEN, np.ones((SHEET_SIDE, SHEET_SIDE), np.uint8))
    bare = cv2.dilate(bare, np.ones((3, 3), np.uint8)) > 0  # the edge is no dot either
    if not SHEET_SHARE[0] < bare.mean() < SHEET_SHARE[1]:
        return None, None
    inner = tile.copy()
    inner[bare] = round(float(tile[~bare].mean()))
    return (inner, ~bare) if float(inner.std()) > LEAST_DEVIATION else (None, None)


def _is_stairs(tile: np.ndarray, frequency: tuple[float, float], shown: np.ndarray | None = None) -> bool:
    """Whether what repeats in a tile, or in the shown part of it, are the steps of something that fades by squares."""
    side = round(1 / math.hypot(*frequency)) | 1
    level = tile.astype(np.float32)
    swing = np.abs(level - cv2.blur(level, (side, side)))
    if shown is not None:
        level, swing = level[shown], swing[shown]
    if float(np.percentile(swing, 90)) < max(STAIR_SWING, STAIR_PART * float(level.std())):
        return True
    on_blocks = all(abs(JPEG_BLOCK * f - round(JPEG_BLOCK * f)) < ON_BLOCKS for f in frequency)
    return on_blocks and float(np.median(swing)) < DOT_SWING


def telling_channel(rgb: np.ndarray, luma: np.ndarray) -> np.ndarray | None:
    """The channel that shows dots which are as light as their paper, uint8 (h, w); None when luma shows all there is."""
    stride = max(1, int(math.sqrt(luma.size / 250_000)))
    colours, light = rgb[::stride, ::stride].reshape(-1, 3), luma[::stride, ::stride].ravel()
    shown = np.abs(light.astype(np.int16) - int(np.bincount(light).argmax())) > SHEET_NEAR
    if shown.mean() < LEAST_SHOWN:
        shown[:] = True
    for some in (slice(None), shown):  # all of it, and what stands on the sheet
        deviations = colours[some].std(0)
        best = int(np.argmax(deviations))
        if deviations[best] >= max(LEAST_DEVIATION, COLOURFUL * float(light[some].std())):
            return np.ascontiguousarray(rgb[..., best])
    return None


def black_plate(rgb: np.ndarray) -> np.ndarray | None:
    """What four-colour art holds of black, uint8 (h, w), light where there is none; None where it is not of so many inks.

    Each of the three coloured inks leaves one component alone, so the largest is black's (J. Yule, "Principles of color
    reproduction", 1967, from memory: the grey component).  Its dots show by themselves there: in luma four screens lie over
    each other.
    """
    stride = max(1, int(math.sqrt(rgb.shape[0] * rgb.shape[1] / 250_000)))
    some = rgb[::stride, ::stride].reshape(-1, 3)
    most = some.max(1)
    coloured = np.mean(most[:, None].astype(np.int16) - some > LEAST_INK, 0)
    if most.std() < LEAST_BLACK or coloured.min() < LEAST_SHOWN:
        return None
    red, green, blue = cv2.split(rgb)
    return cv2.max(cv2.max(red, green), blue)


def _extent(
    luma: np.ndarray, frequencies: list[tuple[float, float]], period: float
) -> tuple[tuple[int, int, int, int], float]:
    """Where a picture swings with the screen: the box, and the part of it that does.

    The picture is multiplied with a wave of the screen's frequency and averaged over a few dots: what is left is the
    strength of the swing around each place.
    """
    height, width = luma.shape
    fy, fx = np.median(np.array(frequencies), axis=0) if _alike(frequencies, 0.02) else frequencies[0]
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


def _alike(frequencies: list[tuple[float, float]], within: float) -> bool:
    """Whether the peaks of the tiles are all of one direction of the screen, so that their median means something."""
    return bool(frequencies) and bool(np.ptp(np.array(frequencies), axis=0).max() < within)


class _Spectrum:
    """The power spectrum of square tiles and the search for two peaks at right angles."""

    def __init__(self, side: int) -> None:
        self.side = side
        hann = np.hanning(side).astype(np.float32)
        self.window = hann[:, None] * hann
        cycles = np.fft.fftfreq(side)
        self.down, self.across = cycles[:, None], cycles[None]
        self.radius = np.hypot(self.down, self.across)
        # one half of the plane is enough: the other mirrors it
        self.band = (self.radius > LEAST_FREQUENCY) & (self.radius < MOST_FREQUENCY) & (self.across >= 0)

    def frequency(self, tile: np.ndarray) -> tuple[float, float] | None:
        """Cycles a pixel down and across of the screen's main direction, None when the tile shows no screen.

        Every frequency is held against the one at right angles to it, and counts as much as the weaker of the two: an
        outline through the tile, however strong, has no such twin.
        """
        level = tile - tile.mean(dtype=np.float32)
        power = (np.abs(np.fft.fft2(level * self.window)) ** 2).astype(np.float32)
        near = cv2.boxFilter(
            np.tile(power, (2, 2)), -1, (3, 3), normalize=False
        )  # tiled: the spectrum wraps around
        near = np.roll(near[1 : self.side + 1, 1 : self.side + 1], (1, 1), (0, 1))
        turned = np.roll(near[::-1].T, 1, 1)  # turned[y, x] is near[-x, y]
        both = np.where(self.band, np.minimum(near, turned), 0)
        row, column = np.unravel_index(int(both.argmax()), both.shape)
        frequency = float(self.radius[row, column])
        ring = (self.radius > 0.75 * frequency) & (self.radius < 1.33 * frequency)
        first, twin = float(near[row, column]), float(turned[row, column])
        if both[row, column] <= PEAK * float(np.median(near[ring])) or min(first, twin) < TWIN * max(
            first, twin
        ):
            return None
        rest = float(power[self.band & (self.radius > LOWEST * frequency)].sum()) + 1e-9
        if (first + twin) / rest < PAIR:
            return None
        return float(self.down[row, 0]), float(self.across[0, column])
