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
#: Sides of the small and the large window, least span in the small one, and its least part of the large one's: an edge.
NEAR, FAR, EDGE_SPAN, EDGE_PART = 5, 11, 6.0, 0.75
#: Slope looked for at each level of the pyramid, Delta E a pixel of that level.
LEAST_SLOPE = (1.0, 0.7, 0.5, 0.4, 0.35, 0.35)
#: The mean slope vector is at least this part of the mean slope: the steps point one way.
COHERENCE = 0.86
#: A fade spans at least this much, Delta E; less is not seen.
LEAST_TRAVEL = 3.5
#: and this share of the picture.
LEAST_AREA = 0.0001
#: Under this quality (1 to 100) compression makes slopes of its own.
POOR_QUALITY = 45
#: Weights of L*, a* and b* below this level of a poor picture.
POOR_CHROMA, CHROMA_LEVEL = np.array([1.0, 0.35, 0.35], np.float32), 3
#: Side of the surrounding of a slope that may be a blurred edge, pixels, and how near to its path colours are on it, Delta E.
SURROUNDING, PATH_WIDTH = 11, 8.0
#: Part of the surrounding on the path, travel (Delta E) and part of it between the ends, of an edge: at the two finest levels
#: and at the others.
FINE_ON_PATH, EDGE_TRAVEL, FINE_AROUND, COARSE_AROUND = 0.97, 22.0, 0.32, 0.27
#: Or, at the others: part of the surrounding on the path, and part of the slope itself between its ends.
COARSE_ON_PATH, COARSE_BETWEEN = 0.95, 0.18
LIGHTNESS = np.array([1.0, 0.0, 0.0], np.float32)
#: Fades looked at in one level, largest first: bounded work.
MOST_PARTS = 400
#: Side of the blocks of the fitted surface, their least share of the picture, travel and explained variance.
BLOCK, FIT_AREA, FIT_TRAVEL, FIT_EXPLAINED = 8, 0.002, 2.2, 0.75
#: In a picture compressed with loss, a part of so many blocks is believed from a lower explained variance on: block by block,
#: nothing that compression does goes one way so far.  Up to so many blocks, at poor quality, only from a higher one on.
WIDE_BLOCKS, WIDE_EXPLAINED, NARROW_BLOCKS, NARROW_EXPLAINED = 300, 0.5, 100, 0.85
#: Parts too thin for blocks are fitted pixel by pixel: least and most pixels taken, least travel and explained variance.
THIN_LEAST, THIN_MOST, THIN_TRAVEL, THIN_EXPLAINED = 250, 4000, 6.0, 0.8
#: That travel at poor quality: compression colours a line by squares of 16 pixels (ITU-T T.81, 4:2:0), which may go one way.
THIN_TRAVEL_POOR = 9.0
#: Blocks that cover less than this of a part do not speak for it.
FEW_BLOCKS = 0.6
#: and least singular value of a term, of the largest: compression colours the sides of a line, which is no fade along it.
THIN_TELLING = 0.12


@dataclass(frozen=True, slots=True)
class Slope:
    """One place that fades.

    Attributes:
        box: in pixels of the reduced picture.
        mask: bool, of that box.
        travel: how far its colours span, Delta E.
        level: of the pyramid it was found at; -1 for a fitted surface.
    """

    box: tuple[int, int, int, int]
    mask: np.ndarray
    travel: float
    level: int

    @property
    def area(self) -> int:
        """Pixels."""
        return int(np.count_nonzero(self.mask))

    @property
    def window(self) -> tuple[slice, slice]:
        """Its box as slices of rows and columns."""
        x0, y0, x1, y1 = self.box
        return slice(y0, y1), slice(x0, x1)


def painted(slopes: list[Slope], shape: tuple[int, ...]) -> np.ndarray:
    """Where any of them is: bool (h, w)."""
    mask = np.zeros(shape[:2], bool)
    for slope in slopes:
        mask[slope.window] |= slope.mask
    return mask


def slopes(lab: np.ndarray, steps: np.ndarray, thickness: int, poor: bool = False) -> list[Slope]:
    """Fades by the pyramid.

    Args:
        lab: (h, w, 3) float32.
        steps: (h, w), largest step to a neighbour.
        thickness: fades narrower than this many pixels are soft edges of an enlarged picture.
        poor: compressed so far that colour, which is stored at half the resolution of lightness and more coarsely, blurs
            across edges: only lightness tells a narrow fade.
    """
    found: list[Slope] = []
    open_ = ~edges(lab, steps)
    level_lab = lab
    for level, least in enumerate(LEAST_SLOPE):
        if min(level_lab.shape[:2]) < 12:
            break
        told = level_lab * POOR_CHROMA if poor and level < CHROMA_LEVEL else level_lab
        soft = _steady(told, open_, least)
        side = thickness if level == 0 else max(thickness, 4)
        soft = cv2.morphologyEx(soft.astype(np.uint8), cv2.MORPH_OPEN, np.ones((side, side), np.uint8))
        found += _parts(soft, told, level, lab.shape[:2])
        h, w = level_lab.shape[0] // 2, level_lab.shape[1] // 2
        level_lab = cv2.resize(level_lab[: 2 * h, : 2 * w], (w, h), interpolation=cv2.INTER_AREA)
        open_ = np.asarray(open_[: 2 * h, : 2 * w].reshape(h, 2, w, 2).all((1, 3)))
    return found


def edges(lab: np.ndarray, steps: np.ndarray) -> np.ndarray:
    """Where an edge is, be it softened by compression: bool (h, w).

    The colours of a small window span as much as those of a large one on an edge, and much less on a slope.
    """
    near, far = _span(lab, NEAR), _span(lab, FAR)
    edge = (steps > EDGE_STEP) | ((near > EDGE_SPAN) & (near > EDGE_PART * far))
    return cv2.dilate(edge.astype(np.uint8), np.ones((3, 3), np.uint8)) > 0


def _span(lab: np.ndarray, side: int) -> np.ndarray:
    """How far the colours around each pixel span, Delta E."""
    kernel = np.ones((side, side), np.uint8)
    spread = cv2.dilate(lab, kernel) - cv2.erode(lab, kernel)
    return np.sqrt(np.einsum("ijk,ijk->ij", spread, spread))


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


def _parts(soft: np.ndarray, lab: np.ndarray, level: int, shape: tuple[int, ...]) -> list[Slope]:
    """The connected parts of one level that span enough colour and area, in pixels of the whole."""
    height, width = shape
    count, labels, stats, _ = cv2.connectedComponentsWithStats(soft, connectivity=4)
    size = 1 << level
    order = np.argsort(-stats[1:, cv2.CC_STAT_AREA])[:MOST_PARTS] + 1
    found = []
    for number in order:
        x, y, w, h, area = (int(v) for v in stats[number])
        if area < 24 or area * size * size < LEAST_AREA * height * width:
            break
        inside = labels[y : y + h, x : x + w] == number
        travel = _travel(lab[y : y + h, x : x + w][inside])
        if travel < LEAST_TRAVEL:
            continue
        box = (x * size, y * size, min((x + w) * size, width), min((y + h) * size, height))
        large = np.kron(inside, np.ones((size, size), bool)) if size > 1 else inside
        found.append(Slope(box, large[: box[3] - box[1], : box[2] - box[0]], travel, level))
    return found


def is_blurred_edge(slope: Slope, lab: np.ndarray) -> bool:
    """Whether a slope is only the edge between two flat colours, blurred by compression to a few pixels.

    The colours around it lie on one path, and nearly all of them at its ends; a fade's lie all along it, and the shape that
    throws a shadow has a colour aside from it.
    """
    x0, y0, x1, y1 = slope.box
    near = SURROUNDING // 2
    left, top = max(0, x0 - near), max(0, y0 - near)
    window = lab[top : y1 + near, left : x1 + near]
    mask = np.zeros(window.shape[:2], np.uint8)
    mask[y0 - top : y1 - top, x0 - left : x1 - left] = slope.mask
    colours = window[mask > 0]
    middle = colours.mean(0)
    _, directions = np.linalg.eigh(np.cov((colours - middle).T))
    along = (colours - middle) @ directions[:, -1]
    around = window[cv2.dilate(mask, np.ones((SURROUNDING, SURROUNDING), np.uint8)) > 0] - middle
    places = around @ directions[:, -1]
    on = np.linalg.norm(around - places[:, None] * directions[:, -1], axis=1) < PATH_WIDTH
    coarse = slope.level >= 2
    if coarse and on.mean() > COARSE_ON_PATH and _between(along) < COARSE_BETWEEN:
        return True
    most = COARSE_AROUND if coarse else FINE_AROUND
    return bool(slope.travel < EDGE_TRAVEL and on.mean() > FINE_ON_PATH and _between(places[on]) < most)


def _between(places: np.ndarray) -> float:
    """Part of the places on a path that lie apart from both of its ends, 0 to 1."""
    low, high = np.percentile(places, [3, 97])
    margin = 0.2 * (high - low)
    return float(np.mean((places > low + margin) & (places < high - margin)))


def _travel(lab: np.ndarray) -> float:
    """How far colours span, Delta E, leaving out the outermost 3 %."""
    low, high = np.percentile(lab, [3, 97], axis=0)
    return float(np.linalg.norm(high - low))


def surfaces(
    lab: np.ndarray, labels: np.ndarray, stats: np.ndarray, lossy: bool = False, poor: bool = False
) -> list[Slope]:
    """Gentle fades: quadratic surfaces through block means of flat parts.

    Args:
        lab: (h, w, 3) float32.
        labels: (h, w) int32, the flat parts by number from 1.
        stats: OpenCV's statistics of those parts.
        lossy: the picture was compressed with loss.
        poor: at poor quality.
    """
    height, width = labels.shape
    found: list[Slope] = []
    order = np.argsort(-stats[1:, cv2.CC_STAT_AREA])[:MOST_PARTS] + 1
    for number in order:
        x, y, w, h, area = (int(v) for v in stats[number])
        if area < FIT_AREA * height * width:
            break
        window = (slice(y, y + h), slice(x, x + w))
        part = labels[window] == number
        travel = _surface_travel(lab[window], part, lossy, poor)
        if travel >= FIT_TRAVEL:
            found.append(Slope((x, y, x + w, y + h), part, travel, -1))
    return found


def _surface_travel(lab: np.ndarray, part: np.ndarray, lossy: bool, poor: bool) -> float:
    """Span of the surface that explains a part's colours, Delta E; 0.0 when none does."""
    inner = cv2.erode(
        part.astype(np.uint8), np.ones((5, 5), np.uint8), borderType=cv2.BORDER_CONSTANT, borderValue=0
    )
    rows, columns = inner.shape[0] // BLOCK, inner.shape[1] // BLOCK
    if rows < 2 or columns < 2 or rows * columns < 10:
        return _thin_travel(lab, part, poor)
    inner = inner[: rows * BLOCK, : columns * BLOCK].astype(np.float32)
    share = cv2.resize(inner, (columns, rows), interpolation=cv2.INTER_AREA)
    full = share >= 0.5
    if full.sum() < 10:
        return _thin_travel(lab, part, poor)
    weighed = lab[: rows * BLOCK, : columns * BLOCK] * inner[..., None]
    means = cv2.resize(weighed, (columns, rows), interpolation=cv2.INTER_AREA)[full] / share[full][:, None]
    y, x = (axis / max(axis.max(), 1) for axis in np.nonzero(full))
    least = FIT_EXPLAINED
    if lossy and len(means) >= WIDE_BLOCKS:
        least = WIDE_EXPLAINED
    elif poor and len(means) < NARROW_BLOCKS:
        least = NARROW_EXPLAINED
    travel = _fitted(means, y, x, least)
    if not travel and poor and len(means) >= WIDE_BLOCKS:  # colour may be lost in what compression does to it
        travel = _fitted(means * LIGHTNESS, y, x, FIT_EXPLAINED)
    if not travel and full.sum() * BLOCK * BLOCK < FEW_BLOCKS * np.count_nonzero(part):
        return _thin_travel(lab, part, poor)  # a few blocks at its knots do not speak for an outline
    return travel


def _thin_travel(lab: np.ndarray, part: np.ndarray, poor: bool = False) -> float:
    """The same for a part without room for blocks, such as the lines of an outlined drawing: by its inner pixels."""
    inner = cv2.erode(
        part.astype(np.uint8), np.ones((3, 3), np.uint8), borderType=cv2.BORDER_CONSTANT, borderValue=0
    )
    y, x = np.nonzero(inner)
    if len(y) < THIN_LEAST:
        return 0.0
    taken = slice(None, None, -(-len(y) // THIN_MOST))
    y, x = y[taken], x[taken]
    size = max(np.ptp(y), np.ptp(x)) / 2
    down, across = (y - (y.max() + y.min()) / 2) / size, (x - (x.max() + x.min()) / 2) / size
    travel = _fitted(lab[y, x], down, across, THIN_EXPLAINED, THIN_TELLING)
    return travel if travel >= (THIN_TRAVEL_POOR if poor else THIN_TRAVEL) else 0.0


def _fitted(
    colours: np.ndarray, y: np.ndarray, x: np.ndarray, least: float, telling: float | None = None
) -> float:
    """Span of the quadratic surface through colours (n, 3) at places, where it explains `least` of their variance.

    Terms whose singular values are under `telling` of the largest are left out: those across a line.
    """
    terms = np.stack([np.ones_like(x), x, y, x * x, x * y, y * y], 1)
    surface = terms @ np.linalg.lstsq(terms, colours, rcond=telling)[0]
    centred = colours - colours.mean(0)
    explained = 1 - ((colours - surface) ** 2).sum() / ((centred**2).sum() + 1e-9)
    if explained < least:
        return 0.0
    _, directions = np.linalg.eigh(centred.T @ centred)
    along = centred @ directions[:, -1]
    low, high = np.percentile(along, [3, 97])
    margin = 0.2 * (high - low)
    between = ((along > low + margin) & (along < high - margin)).mean() if high > low else 0.0
    return _travel(surface) if between > 0.2 else 0.0  # two flat colours have nothing between them
