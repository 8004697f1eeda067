"""Traces of resampling: a rhythm in the differences between neighbouring pixels that only interpolation leaves.

Interpolated pixels lie at places between the old ones that come back in turn, and how far neighbours differ depends on the
place (A. C. Gallagher, Detection of linear and cubic interpolation in JPEG compressed images, 2005, from memory).  A lens
that is out of focus widens edges as an enlargement does, but leaves no such rhythm.
"""

import cv2
import numpy as np

#: A rhythm stands out of the spectrum around it so many times, along rows and along columns.
STANDS_OUT = 4.5
#: Differences count up to this, luma, so that no edge is louder than the grain of the picture.
MOST_DIFFERENCE = 8.0
#: Frequencies looked at, cycles a pixel: slower ones are the subject's own.
SLOWEST = 0.12
#: Compression in blocks of 8 pixels (ITU-T T.81) has rhythms of its own: multiples of an eighth, this near.
BLOCK, NEAR_BLOCK = 8, 0.004
#: Parts of the spectrum that a frequency is held against; pictures shorter than LEAST_SIDE have too few of them.
AROUND, LEAST_SIDE = 25, 96
#: Side of the part looked at.
PART = 2000


def is_resampled(luma: np.ndarray, lossy: bool) -> bool:
    """Whether a picture bears the trace of an interpolation along both sides.

    Args:
        luma: uint8 (h, w).
        lossy: it was compressed, so that rhythms of its blocks tell nothing.
    """
    if min(luma.shape) < LEAST_SIDE:
        return False
    values = luma[:PART, :PART].astype(np.float32)
    return any(all(_rhythm(values, axis, order, lossy) > STANDS_OUT for axis in (0, 1)) for order in (1, 2))


def _rhythm(values: np.ndarray, axis: int, order: int, lossy: bool) -> float:
    """How far the loudest rhythm of the differences of an order along an axis stands out of the spectrum around it."""
    profile = np.minimum(np.abs(np.diff(values, order, axis=axis)), MOST_DIFFERENCE).mean(1 - axis)
    smooth = cv2.GaussianBlur(profile[None], (0, 0), 6)[0]
    spectrum = np.abs(np.fft.rfft((profile - smooth) * np.hanning(len(profile))))
    frequency = np.fft.rfftfreq(len(profile))
    padded = np.pad(spectrum, AROUND, mode="reflect")
    floor = np.median(np.lib.stride_tricks.sliding_window_view(padded, 2 * AROUND + 1), axis=1)
    heard = frequency > SLOWEST
    blocks = np.abs(frequency * BLOCK - np.rint(frequency * BLOCK)) / BLOCK < NEAR_BLOCK + 1 / len(profile)
    if lossy or _has_blocks(spectrum, frequency, floor):
        heard &= ~blocks
    return float((spectrum / np.maximum(floor, 1e-6))[heard].max())


def _has_blocks(spectrum: np.ndarray, frequency: np.ndarray, floor: np.ndarray) -> bool:
    """Whether a spectrum has the rhythm of blocks of 8 itself, which an enlargement of 2 or 4 times has not."""
    at = int(np.abs(frequency - 3 / BLOCK).argmin())
    return bool(spectrum[at - 1 : at + 2].max() > STANDS_OUT * floor[at])
