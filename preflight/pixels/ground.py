"""What the art stands on: nothing, a white sheet, a coloured box; and what a careless cut-out leaves at its rim."""

from dataclasses import dataclass

import cv2
import numpy as np

from preflight.pixels.lab import difference, lab_of
from preflight.pixels.reduction import CLEAR_ALPHA
from preflight.pixels.tone import Ground

#: Share of clear pixels that makes a picture a cut-out.
CLEAR_SHARE = 0.005
#: Share of the outermost ring that has one colour, within this Delta E.
RING_SHARE, RING_TOLERANCE = 0.9, 6.0
#: Where art runs over the edges of the sheet, the sheet is what this part of the picture shows.
SHEET_PART = 0.3
#: Nearer to white than this is a white sheet, CIEDE2000 (common practice: not told from white beside it).
WHITE_TOLERANCE = 2.5
#: Share of the rim that is whiter than the ink inside it: a halo.
HALO_SHARE = 0.25
#: Rim pixels are whiter when their distance to white is under this part of the inner ink's.
WHITER = 0.6
#: Side of the picture the rim is looked at.
RIM_SIDE = 2500


@dataclass(frozen=True, slots=True)
class Standing:
    """Kind of ground, its mean sRGB (None when clear or mixed), halo and raggedness of a cut-out."""

    kind: Ground
    rgb: tuple[float, float, float] | None = None
    halo: bool = False
    ragged: float = 1.0


def standing(rgb: np.ndarray, alpha: np.ndarray | None) -> Standing:
    """The ground of a picture: rgb uint8 (h, w, 3) as stored, alpha uint8 (h, w) or None."""
    if alpha is not None and np.count_nonzero(alpha < CLEAR_ALPHA) > CLEAR_SHARE * alpha.size:
        stride = max(1, -(-max(alpha.shape) // RIM_SIDE))
        halo, ragged = _rim(rgb[::stride, ::stride], alpha[::stride, ::stride])
        return Standing("transparent", None, halo, ragged)
    height, width = rgb.shape[:2]
    deep = max(2, min(height, width) // 100)
    ring = np.concatenate(
        [
            rgb[:deep].reshape(-1, 3),
            rgb[-deep:].reshape(-1, 3),
            rgb[:, :deep].reshape(-1, 3),
            rgb[:, -deep:].reshape(-1, 3),
        ]
    )
    ring = ring[:: max(1, len(ring) // 200_000)]
    lab = lab_of(ring[None])[0]
    middle = np.median(lab, 0)
    near = np.linalg.norm(lab - middle, axis=1) < RING_TOLERANCE
    if near.mean() < RING_SHARE:
        return Standing("mixed")
    white = float(difference(middle, np.array([100.0, 0, 0]))) < WHITE_TOLERANCE
    red, green, blue = (float(v) for v in np.median(ring[near], 0))
    return Standing("white" if white else "solid", (red, green, blue))


def commonest(rgb: np.ndarray) -> np.ndarray | None:
    """The colour of so much of a picture that the rest stands on it, sRGB; None where there is none."""
    code = (rgb >> 3).astype(np.int32) @ np.array([1024, 32, 1])
    counts = np.bincount(code.ravel())
    most = int(counts.argmax())
    if counts[most] < SHEET_PART * code.size:
        return None
    return np.asarray(np.median(rgb[code == most], 0), np.float32)


def _rim(rgb: np.ndarray, alpha: np.ndarray) -> tuple[bool, float]:
    """Whether the rim of a cut-out is whiter than what it encloses, and how ragged its outline is."""
    solid = alpha >= 128
    padded = cv2.copyMakeBorder(solid.astype(np.uint8), 1, 1, 1, 1, cv2.BORDER_CONSTANT, value=0)
    depth = cv2.distanceTransform(padded, cv2.DIST_L2, 5)[1:-1, 1:-1]
    smooth = cv2.GaussianBlur(solid.astype(np.float32), (0, 0), 2.5) > 0.5
    ragged = _outline(solid) / max(_outline(smooth), 1)
    shallow = (depth < 5).astype(np.uint8)
    if shallow.all():
        return False, ragged
    inward, nearest = cv2.distanceTransformWithLabels(shallow, cv2.DIST_L2, 5, labelType=cv2.DIST_LABEL_PIXEL)
    ys, xs = np.nonzero(solid & (depth <= 1.5) & (inward <= 6))
    if len(ys) <= 30:
        return False, ragged
    inner = np.zeros(int(nearest.max()) + 1, np.int64)
    deep = np.flatnonzero(shallow.ravel() == 0)
    inner[nearest.ravel()[deep]] = deep
    white = np.array([100.0, 0, 0])
    rim_colours = lab_of(rgb[ys, xs][None])[0]
    inner_colours = lab_of(rgb.reshape(-1, 3)[inner[nearest[ys, xs]]][None])[0]
    inside = difference(inner_colours, white)
    coloured = inside > 15
    if coloured.sum() <= 30:
        return False, ragged
    whiter = difference(rim_colours, white)[coloured] < WHITER * inside[coloured]
    return bool(whiter.mean() > HALO_SHARE), ragged


def _outline(mask: np.ndarray) -> int:
    """Pixel edges along a mask's outline."""
    return int(np.count_nonzero(mask[1:] != mask[:-1]) + np.count_nonzero(mask[:, 1:] != mask[:, :-1]))
