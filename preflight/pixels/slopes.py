"""Gradients and soft shadows: places where colour changes steadily over a distance.

Two ways of looking.  A pyramid of slope fields finds fades that climb by a noticeable step a pixel at some scale, and
whose steps all point one way (noise and texture cancel out).  A curved surface fitted through the means of blocks finds
fades so gentle that every step is lost in noise.
"""

from dataclasses import dataclass

import cv2
import numpy as np

#: Steps above this are edges, Delta E: a fade does not cross them.
EDGE_STEP = 9.0
#: Slope looked for at each level of the pyramid, Delta E a pixel of that level.
LEAST_SLOPE = (1.0, 0.7, 0.5, 0.4, 0.35, 0.35)
#: The mean slope vector is at least this part of the mean slope: the steps point one way.
COHERENCE = 0.86
#: A fade spans at least this much, Delta E; less is not seen.
LEAST_TRAVEL = 3.5
#: and this share of the picture.
LEAST_AREA = 0.0005
#: Fades looked at in one level, largest first: bounded work.
MOST_PARTS = 400
#: Side of the blocks of the fitted surface, their least share of the picture, travel and explained variance.
BLOCK, FIT_AREA, FIT_TRAVEL, FIT_EXPLAINED = 8, 0.002, 2.2, 0.75


@dataclass(frozen=True, slots=True)
class Slope:
    """One place that fades: box in pixels of the reduced picture, area in pixels, travel in Delta E, how it was found."""

    box: tuple[int, int, int, int]
    area: int
    travel: float
    level: int  # of the pyramid; -1 for a fitted surface


def slopes(lab: np.ndarray, steps: np.ndarray, thickness: int) -> tuple[list[Slope], np.ndarray]:
    """Fades by the pyramid, and a mask of where they are.

    Args:
        lab: (h, w, 3) float32.
        steps: (h, w), largest step to a neighbour.
        thickness: fades narrower than this many pixels are soft edges of an enlarged picture.
    """
    height, width = lab.shape[:2]
    found: list[Slope] = []
    mask = np.zeros((height, width), bool)
    open_ = cv2.dilate((steps > EDGE_STEP).astype(np.uint8), np.ones((3, 3), np.uint8)) == 0
    level_lab = lab
    for level, least in enumerate(LEAST_SLOPE):
        if min(level_lab.shape[:2]) < 12:
            break
        soft = _steady(level_lab, open_, least)
        side = thickness if level == 0 else max(thickness, 4)
        soft = cv2.morphologyEx(soft.astype(np.uint8), cv2.MORPH_OPEN, np.ones((side, side), np.uint8))
        _collect(soft, level_lab, level, mask, found)
        h, w = level_lab.shape[0] // 2, level_lab.shape[1] // 2
        level_lab = cv2.resize(level_lab[: 2 * h, : 2 * w], (w, h), interpolation=cv2.INTER_AREA)
        open_ = open_[: 2 * h, : 2 * w].reshape(h, 2, w, 2).all((1, 3))
    return found, mask


def _steady(lab: np.ndarray, open_: np.ndarray, least: float) -> np.ndarray:
    """Where the slope is at least `least` and its neighbours point the same way."""
    clear = cv2.erode(open_.astype(np.uint8), np.array([[0, 1, 0], [1, 1, 1], [0, 1, 0]], np.uint8)) > 0
    clear[[0, -1]] = False
    clear[:, [0, -1]] = False
    weight = clear.astype(np.float32)
    count = cv2.blur(weight, (5, 5)) + 1e-6
    down = np.zeros_like(lab)
    across = np.zeros_like(lab)
    down[1:-1] = (lab[2:] - lab[:-2]) / 2
    across[:, 1:-1] = (lab[:, 2:] - lab[:, :-2]) / 2
    down *= weight[..., None]
    across *= weight[..., None]
    square = np.einsum("ijk,ijk->ij", down, down) + np.einsum("ijk,ijk->ij", across, across)
    steepness = cv2.blur(np.sqrt(square), (5, 5))
    mean_down, mean_across = cv2.blur(down, (5, 5)), cv2.blur(across, (5, 5))
    vector = np.sqrt(
        np.einsum("ijk,ijk->ij", mean_down, mean_down) + np.einsum("ijk,ijk->ij", mean_across, mean_across)
    )
    return clear & (count > 0.5) & (vector > least * count) & (vector > COHERENCE * steepness)


def _collect(soft: np.ndarray, lab: np.ndarray, level: int, mask: np.ndarray, found: list[Slope]) -> None:
    """Add the connected parts that span enough colour and area."""
    height, width = mask.shape
    count, labels, stats, _ = cv2.connectedComponentsWithStats(soft, connectivity=4)
    size = 1 << level
    order = np.argsort(-stats[1:, cv2.CC_STAT_AREA])[:MOST_PARTS] + 1 if count > 1 else []
    for number in order:
        x, y, w, h, area = (int(v) for v in stats[number])
        if area < 24 or area * size * size < LEAST_AREA * height * width:
            break
        inside = labels[y : y + h, x : x + w] == number
        travel = _travel(lab[y : y + h, x : x + w][inside])
        if travel < LEAST_TRAVEL:
            continue
        box = (x * size, y * size, min((x + w) * size, width), min((y + h) * size, height))
        found.append(Slope(box, area * size * size, travel, level))
        large = np.kron(inside, np.ones((size, size), bool)) if size > 1 else inside
        mask[box[1] : box[3], box[0] : box[2]] |= large[: box[3] - box[1], : box[2] - box[0]]


def _travel(lab: np.ndarray) -> float:
    """How far colours span, Delta E, leaving out the outermost 3 %."""
    low, high = np.percentile(lab, [3, 97], axis=0)
    return float(np.linalg.norm(high - low))


def surfaces(lab: np.ndarray, labels: np.ndarray, stats: np.ndarray) -> tuple[list[Slope], np.ndarray]:
    """Gentle fades: quadratic surfaces through block means of flat parts, and a mask of where they are.

    Args:
        lab: (h, w, 3) float32.
        labels: (h, w) int32, the flat parts by number from 1.
        stats: OpenCV's statistics of those parts.
    """
    height, width = labels.shape
    found: list[Slope] = []
    mask = np.zeros((height, width), bool)
    order = np.argsort(-stats[1:, cv2.CC_STAT_AREA])[:MOST_PARTS] + 1 if len(stats) > 1 else []
    for number in order:
        x, y, w, h, area = (int(v) for v in stats[number])
        if area < FIT_AREA * height * width:
            break
        window = (slice(y, y + h), slice(x, x + w))
        part = labels[window] == number
        travel = _surface_travel(lab[window], part)
        if travel >= FIT_TRAVEL:
            found.append(Slope((x, y, x + w, y + h), area, travel, -1))
            mask[window] |= part
    return found, mask


def _surface_travel(lab: np.ndarray, part: np.ndarray) -> float:
    """Span of the surface that explains a part's colours, Delta E; 0.0 when none does."""
    inner = cv2.erode(
        part.astype(np.uint8), np.ones((5, 5), np.uint8), borderType=cv2.BORDER_CONSTANT, borderValue=0
    )
    rows, columns = inner.shape[0] // BLOCK, inner.shape[1] // BLOCK
    if rows < 2 or columns < 2 or rows * columns < 10:
        return 0.0
    inner = inner[: rows * BLOCK, : columns * BLOCK].astype(np.float32)
    share = cv2.resize(inner, (columns, rows), interpolation=cv2.INTER_AREA)
    full = share >= 0.5
    if full.sum() < 10:
        return 0.0
    weighed = lab[: rows * BLOCK, : columns * BLOCK] * inner[..., None]
    means = cv2.resize(weighed, (columns, rows), interpolation=cv2.INTER_AREA)[full] / share[full][:, None]
    y, x = (axis / max(axis.max(), 1) for axis in np.nonzero(full))
    terms = np.stack([np.ones_like(x), x, y, x * x, x * y, y * y], 1)
    surface = terms @ np.linalg.lstsq(terms, means, rcond=None)[0]
    centred = means - means.mean(0)
    explained = 1 - ((means - surface) ** 2).sum() / ((centred**2).sum() + 1e-9)
    along = centred @ np.linalg.svd(centred, full_matrices=False)[2][0]
    low, high = np.percentile(along, [3, 97])
    margin = 0.2 * (high - low)
    between = ((along > low + margin) & (along < high - margin)).mean() if high > low else 0.0
    if explained < FIT_EXPLAINED or between <= 0.2:  # two flat colours have nothing between them
        return 0.0
    return _travel(surface)
