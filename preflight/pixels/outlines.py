"""Fades along lines and small shapes: gradients in outlined art, which has no room for a slope to be seen across.

A shape that stands on the sheet is cut into its level parts; the parts' colours, averaged by cells so that what compression
does cancels out, are held against a surface over the sheet.  Where the surface explains nearly all of them, the part fades.
"""

from dataclasses import dataclass

import cv2
import numpy as np

from preflight.pixels.ground import commonest
from preflight.pixels.lab import lab_of_colours, steps
from preflight.pixels.reduction import Work
from preflight.pixels.slopes import POOR_QUALITY, Slope

#: A shape is what lies this far from the sheet, Delta E.
APART = 12.0
#: Its inside is this far from its outline, pixels, and changes by no more than this from pixel to pixel, Delta E.
INSIDE, LEVEL_STEP = 2.0, 6.0
#: Weights of L*, a* and b*: compression stores colour more coarsely than lightness.
CHROMA = np.array([1.0, 0.6, 0.6], np.float32)
LIGHTNESS = np.array([1.0, 0.0, 0.0], np.float32)
#: Side of the cells, pixels; a cell has so many pixels at least, a part so many pixels and cells.
CELL, LEAST_IN_CELL, LEAST_PIXELS, LEAST_CELLS = 8, 4, 60, 8
#: Under this quality, or where nobody knows it, a part has so many cells: colour is stored by squares of 16 pixels (ITU-T T.81,
#: 4:2:0), a few of which may go one way.
CLEAN_QUALITY, LEAST_CELLS_POOR = 75, 20
#: A part of so many cells may fade along a curve: a quadratic surface.
CURVED_CELLS = 14
#: Cells count by their pixels, up to so many.
MOST_WEIGHT = 24
#: Parts looked at, largest first: bounded work.
MOST_PARTS = 150
#: A surface explains this part of the variance (adjusted for its terms), and spans this much, Delta E; of the lightness alone.
EXPLAINED, TRAVEL, TRAVEL_LIGHTNESS = 0.8, 5.0, 3.5
#: With loss, where lightness does not tell: of lines no deeper inside than this in the middle, pixels, whose colour changes
#: with the way they run, and of parts of fewer cells; and at poor quality, whatever tells.
SHALLOW, FEW_CELLS, EXPLAINED_SHALLOW = 5.0, 30, 0.92
EXPLAINED_POOR, TRAVEL_POOR = 0.9, 8.0
#: The same beside a part that was found so.
EXPLAINED_BESIDE, TRAVEL_BESIDE = 0.7, 2.5
#: A part that lies deeper in its shape than so many times its own half width, and so many pixels more, is the line of a hatching,
#: which swells and shrinks with the grid of the pixels.
HATCHED, HATCHED_MORE = 3.0, 3.0
#: Part of the cells that lie between the ends: two flat colours have nothing between them.
BETWEEN = 0.2


@dataclass(frozen=True, slots=True)
class _Part:
    """A level part of a shape: its slope as it would be, how deep inside the shape the middle of its pixels lies, how well a
    surface explains its colours, all and lightness alone, and of how many cells.
    """

    slope: Slope
    depth: float
    explained: float
    travel: float
    lightness: float
    lightness_travel: float
    cells: int

    def fades(self, lossy: bool, poor: bool) -> bool:
        """Whether it fades by itself."""
        if poor:
            return self.explained > EXPLAINED_POOR and self.travel > TRAVEL_POOR
        little = lossy and (self.depth < SHALLOW or self.cells < FEW_CELLS)
        least = EXPLAINED_SHALLOW if little else EXPLAINED
        return (self.explained > least and self.travel > TRAVEL) or (
            self.lightness > EXPLAINED and self.lightness_travel > TRAVEL_LIGHTNESS
        )

    def fades_beside(self) -> bool:
        """Whether it may be taken to fade where another one does."""
        return max(self.explained, self.lightness) > EXPLAINED_BESIDE and self.travel > TRAVEL_BESIDE


def outlines(work: Work, ground: np.ndarray | None, quality: float | None) -> list[Slope]:
    """The parts of shapes that fade along a surface.

    Args:
        work: the reduced picture.
        ground: sRGB of the sheet, float32 (3,); None where there is none or it is transparent.
        quality: of the compression, 1 to 100, where known.
    """
    if work.clear is not None:
        shapes = ~work.clear
    else:
        sheet = commonest(work.rgb) if ground is None else ground
        if sheet is None:
            return []
        shapes = np.linalg.norm(work.lab - lab_of_colours(sheet[None])[0], axis=2) > APART
    shapes[[0, -1]] = False  # what leaves the sheet has an outline there
    shapes[:, [0, -1]] = False
    depth = cv2.distanceTransform(shapes.astype(np.uint8), cv2.DIST_L2, 5)
    core = ((depth >= INSIDE) & (steps(work.lab * CHROMA) < LEVEL_STEP)).astype(np.uint8)
    _, labels, stats, _ = cv2.connectedComponentsWithStats(core, connectivity=8)
    blurred = work.lossy and (quality is None or quality < CLEAN_QUALITY)
    least = LEAST_CELLS_POOR if blurred else LEAST_CELLS
    parts = []
    for number in np.argsort(-stats[1:, cv2.CC_STAT_AREA])[:MOST_PARTS] + 1:
        if stats[number, cv2.CC_STAT_AREA] < LEAST_PIXELS:
            break
        part = _part(work.lab, labels, int(number), stats[number], depth, least)
        if part:
            parts.append(part)
    poor = work.lossy and quality is not None and quality < POOR_QUALITY
    sure = [part.fades(work.lossy, poor) for part in parts]
    if not any(sure):
        return []
    return [part.slope for part, fades in zip(parts, sure, strict=True) if fades or part.fades_beside()]


def _part(
    lab: np.ndarray, labels: np.ndarray, number: int, stats: np.ndarray, depth: np.ndarray, least: int
) -> _Part | None:
    """One level part; None where it is too small to say anything: it has fewer cells than `least`."""
    x, y, w, h, _ = (int(v) for v in stats)
    window = (slice(y, y + h), slice(x, x + w))
    mask = labels[window] == number
    inside = float(np.median(depth[window][mask]))
    own = cv2.copyMakeBorder(mask.astype(np.uint8), 1, 1, 1, 1, cv2.BORDER_CONSTANT, value=0)
    if inside > HATCHED * float(cv2.distanceTransform(own, cv2.DIST_L2, 5).max()) + HATCHED_MORE:
        return None
    ys, xs = np.nonzero(mask)
    colours = lab[window][mask]
    cell = ys // CELL * (w // CELL + 1) + xs // CELL
    counts = np.bincount(cell)
    full = counts >= LEAST_IN_CELL
    if np.count_nonzero(full) < least:
        return None
    sums = [np.bincount(cell, value)[full] for value in (ys, xs, *colours.T)]
    means = np.stack(sums, 1) / counts[full][:, None]
    weights = np.minimum(counts[full], MOST_WEIGHT).astype(np.float64)
    size = max(h, w) / 2
    down, across = (means[:, :2] - means[:, :2].mean(0)).T / size
    explained, travel = _fitted(means[:, 2:] * CHROMA, down, across, weights)
    lightness, lightness_travel = _fitted(means[:, 2:] * LIGHTNESS, down, across, weights)
    reach = np.ones((5, 5), np.uint8)  # back to the outline
    slope = Slope((x, y, x + w, y + h), cv2.dilate(mask.astype(np.uint8), reach) > 0, travel, -1)
    return _Part(slope, inside, explained, travel, lightness, lightness_travel, len(means))


def _fitted(colours: np.ndarray, y: np.ndarray, x: np.ndarray, weights: np.ndarray) -> tuple[float, float]:
    """How much of the variance of colours (n, 3) a surface over their places explains, adjusted, and its span.

    The better of a plane and, with enough cells, a quadratic surface (weighted least squares; the adjusted coefficient of
    determination, from memory: 1 - (1 - R²)(n - 1) / (n - terms)).
    """
    middle = weights @ colours / weights.sum()
    centred = colours - middle
    whole = float(weights @ (centred**2).sum(1)) + 1e-9
    _, directions = np.linalg.eigh(centred.T @ centred)
    along = centred @ directions[:, -1]
    low, high = np.percentile(along, [4, 96])
    margin = 0.2 * (high - low)
    if np.mean((along > low + margin) & (along < high - margin)) < BETWEEN:
        return 0.0, 0.0
    terms = [np.ones_like(x), x, y]
    best, span = 0.0, 0.0
    for more in ([], [x * x, x * y, y * y]):
        if more and len(x) < CURVED_CELLS:
            break
        matrix = np.stack(terms + more, 1)
        root = np.sqrt(weights)[:, None]
        surface = matrix @ np.linalg.lstsq(matrix * root, colours * root, rcond=None)[0]
        left = float(weights @ ((colours - surface) ** 2).sum(1)) / whole
        explained = 1 - left * (len(x) - 1) / max(len(x) - matrix.shape[1], 1)
        if explained > best:
            ends = np.percentile(surface, [4, 96], axis=0)
            best, span = explained, float(np.linalg.norm(ends[1] - ends[0]))
    return best, span
