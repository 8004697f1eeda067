"""Photographs and paintings: places where colour keeps changing by middling steps away from any edge."""

import cv2
import numpy as np

from preflight.pixels.lab import lab_of, steps

#: Steps of continuous tone, Delta E between neighbours of the half-size picture.
LEAST_STEP, MOST_STEP = 2.0, 20.0
#: Pixels this far from any harder edge are not smeared by compression around it.
CLEAR_OF_EDGES = 8
#: Share of such pixels that makes a picture continuous.
LEAST_SHARE = 0.03
#: Blocks of this side with this many distinct colours and share of middling steps are busy.
BLOCK, BUSY_COLOURS, BUSY_SHARE = 16, 10, 0.35
#: Share of busy blocks that makes a picture continuous, without and with loss.
BUSY_BLOCKS, BUSY_BLOCKS_LOSSY = 0.04, 0.36


def busy_blocks(rgb: np.ndarray, faded: np.ndarray, lossy: bool) -> tuple[np.ndarray, bool]:
    """Blocks of the picture that look like continuous tone, and whether they are enough to say so.

    Args:
        rgb: uint8 (h, w, 3), the reduced picture.
        faded: bool (h, w), places already known as gradients.
        lossy: compressed with loss, or as noisy.

    Returns:
        bool (rows, columns) of blocks of 2 * BLOCK pixels, and the verdict.
    """
    height, width = rgb.shape[0] // (2 * BLOCK) * BLOCK, rgb.shape[1] // (2 * BLOCK) * BLOCK
    if not height or not width:
        return np.zeros((0, 0), bool), False
    half = cv2.resize(rgb[: 2 * height, : 2 * width], (width, height), interpolation=cv2.INTER_AREA)
    known = faded[: 2 * height : 2, : 2 * width : 2]
    lab = lab_of(half)
    step = steps(lab)
    far = cv2.distanceTransform((step <= MOST_STEP).astype(np.uint8), cv2.DIST_L2, 5) > CLEAR_OF_EDGES
    middling = (step > LEAST_STEP) & (step < MOST_STEP) & ~known
    shape = (height // BLOCK, BLOCK, width // BLOCK, BLOCK)
    steady = middling & far
    share = middling.reshape(shape).mean((1, 3))
    busy = (_distinct(lab, shape) >= BUSY_COLOURS) & (share > BUSY_SHARE)
    busy |= steady.reshape(shape).mean((1, 3)) > 0.25
    enough = steady.mean() > LEAST_SHARE or busy.mean() > (BUSY_BLOCKS_LOSSY if lossy else BUSY_BLOCKS)
    return busy, bool(enough)


def _distinct(lab: np.ndarray, shape: tuple[int, int, int, int]) -> np.ndarray:
    """How many colours, to 6 Delta E, at least three pixels of each block have."""
    level = np.rint(lab / 6).astype(np.int32)
    code = ((level[..., 0] * 64 + level[..., 1] + 32) * 64 + level[..., 2] + 32).reshape(shape)
    rows = np.sort(code.transpose(0, 2, 1, 3).reshape(shape[0] * shape[2], -1), axis=1)
    starts = np.diff(rows, axis=1, prepend=-1) != 0
    lengths = np.bincount(np.cumsum(starts.ravel()) - 1)
    owner = np.flatnonzero(starts.ravel()) // rows.shape[1]
    return np.bincount(owner[lengths >= 3], minlength=len(rows)).reshape(shape[0], shape[2])
