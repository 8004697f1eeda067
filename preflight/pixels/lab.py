"""Lab for telling pixels apart, fast.

Steps between pixels are judged in Lab relative to D65, which OpenCV converts to many times faster than the exact route;
colours that are handed out go through `preflight.colour` (D50).
"""

import cv2
import numpy as np
from skimage.color import deltaE_ciede2000

#: Colours held against all centres at a time: so many stay in a processor's cache.
NEAREST_CHUNK = 16_384
#: Weights of R, G and B in the lightness that a JPEG stores apart from colour (Y' of ITU-R BT.601).
LUMA = np.array([0.299, 0.587, 0.114], np.float32)


def lab_of(rgb: np.ndarray) -> np.ndarray:
    """Lab (D65) of sRGB pixels: uint8 (h, w, 3) in, float32 (h, w, 3) out."""
    return cv2.cvtColor(rgb.astype(np.float32) * np.float32(1 / 255), cv2.COLOR_RGB2Lab)


def lab_of_colours(rgb: np.ndarray) -> np.ndarray:
    """Lab (D65) of colours with components 0 to 255: (n, 3) in, float32 (n, 3) out."""
    return cv2.cvtColor((np.asarray(rgb, np.float32) / 255)[None], cv2.COLOR_RGB2Lab)[0]


def difference(ones: np.ndarray, others: np.ndarray) -> np.ndarray:
    """CIEDE2000 of Lab colours (..., 3), broadcast."""
    return deltaE_ciede2000(*np.broadcast_arrays(np.asarray(ones, float), np.asarray(others, float)))


def steps(lab: np.ndarray) -> np.ndarray:
    """Largest Delta E (CIE 1976) of each pixel to its four neighbours: float32 (h, w)."""
    across = _length(lab[:, 1:] - lab[:, :-1])
    down = _length(lab[1:] - lab[:-1])
    most = np.zeros(lab.shape[:2], np.float32)
    np.maximum(most[1:], down, out=most[1:])
    np.maximum(most[:-1], down, out=most[:-1])
    np.maximum(most[:, 1:], across, out=most[:, 1:])
    np.maximum(most[:, :-1], across, out=most[:, :-1])
    return most


def nearest_of(components: np.ndarray, centres: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """The nearest centre of each colour, the first of several.

    Args:
        components: Lab of the colours, float32 (3, n): rows of their own, which are summed several times as fast.
        centres: Lab, (k, 3).

    Returns:
        int32 (n,), its number; float32 (n,), the square of its distance.
    """
    count = components.shape[1]
    best, nearest = np.full(count, np.inf, np.float32), np.zeros(count, np.int32)
    for first in range(0, count, NEAREST_CHUNK):
        some = slice(first, first + NEAREST_CHUNK)
        rows, best_here, nearest_here = components[:, some], best[some], nearest[some]
        square, part = np.empty_like(best_here), np.empty_like(best_here)
        for number, centre in enumerate(np.asarray(centres, np.float32)):
            square.fill(0)
            for row, value in zip(rows, centre, strict=True):
                np.subtract(row, value, out=part)
                np.multiply(part, part, out=part)
                np.add(square, part, out=square)
            closer = square < best_here
            np.copyto(best_here, square, where=closer)
            np.copyto(nearest_here, number, where=closer)
    return nearest, best


def _length(vectors: np.ndarray) -> np.ndarray:
    """Euclidean length along the last axis of (h, w, 3)."""
    if not vectors.size:
        return np.zeros(vectors.shape[:2], np.float32)
    return np.sqrt(np.einsum("ijk,ijk->ij", vectors, vectors))
