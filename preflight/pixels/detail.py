"""True resolution: how much a bitmap was scaled up before it was sent.

An edge drawn or scanned at the bitmap's own resolution rises over about one pixel.  Scaled up, it rises over as many
pixels as the scale; scaled by repeating pixels, it stays sharp but every change falls on a coarser grid.
"""

from dataclasses import dataclass

import cv2
import numpy as np

#: Rows and columns looked at, spread evenly: enough for stable quantiles, and bounded on huge pictures.
PROFILES = 300
#: Luma steps up to this are noise, of the compression or of a scanner.
NOISE_STEP = 2
#: A rise counts as an edge from this contrast on, luma 0 to 255.
EDGE_CONTRAST = 40
#: Poor compression keeps luma in steps of 16 * 50 / quality (ITU-T T.81, annex K, at its usual scale): an edge of less than two
#: of them is as wide as the compression makes it.
LUMA_STEP, LEAST_STEPS = 800.0, 2
#: Where nobody knows the quality (WebP), this one is taken.
USUAL_QUALITY = 75.0
#: The sharpest edges speak: compression, shadows and out-of-focus parts widen others.  Percentiles that are averaged.
SHARPEST = (5, 10)
#: Those edges of a picture enlarged n times rise over about n pixels, divided by this.
RISE_OF_SCALE = 1.04
#: A rise up to this is an edge at the picture's own resolution: reduction by the softest common filter (a triangle) makes
#: 1.5 of it and poor compression no more than 1.65, while edges enlarged twice rise over 1.85 at least.
NATIVE_RISE = 1.7
#: Where nothing was compressed: a cubic enlargement to twice the size whose overshoots are cut off at black and white makes 1.69.
NATIVE_RISE_CLEAN = 1.62
#: Edges seen in one colour component alone are as coarse as JPEG's halved colour (ITU-T T.81): they rise over up to 2.3 pixels.
NATIVE_RISE_COLOUR = 2.6
#: At poorer quality, or where nobody knows it, they tell nothing.
COLOUR_QUALITY = 60
#: Halved colour has a grid of 2 pixels of its own, blocks one of 8; multiples of 3 on it look like 6.
REPEATS_COLOUR = (3, 4, 5)
#: Edges that rise over no more than this may be those of repeated pixels.
SHARP_RISE = 1.25
#: Fewer edges than this say nothing.
LEAST_EDGES = 40
#: Scales tried for repeated pixels, largest first.
REPEATS = (8, 7, 6, 5, 4, 3, 2.5, 2, 1.75, 1.5)
#: Share of all change that has to fall on the coarser grid.
ON_GRID = 0.93
#: Luma steps that count as a change: large ones, which compression does not make; small ones where there are few of those.
CHANGES = (40, 12)
#: Without loss, where this part of the coarser grid's places change and nothing between them does, pixels were repeated, be there
#: an edge or not: a soft photograph has none.
CHANGED = 0.5
#: Side of the part looked at for repeated pixels.
GRID_PART = 2000


@dataclass(frozen=True, slots=True)
class Detail:
    """How far a picture is enlarged.

    Attributes:
        scale: 1.0 or more.
        repeated: by repeating pixels.
        blur: lower quartile of the widths of its edges in pixels; 1.0 where there are too few edges.
        edges: how many edges are met along a row or a column, in the mean.
    """

    scale: float = 1.0
    repeated: bool = False
    blur: float = 1.0
    edges: float = 0.0


def detail(
    luma: np.ndarray, rgb: np.ndarray | None = None, *, lossy: bool = False, quality: float | None = None
) -> Detail:
    """How far a picture is enlarged.

    Args:
        luma: uint8 (h, w).
        rgb: uint8 (h, w, 3), looked at where luma has too few edges: colours may be as light as each other.
        lossy: it was compressed with loss.
        quality: of that compression, 1 to 100, where known.
    """
    contrast = EDGE_CONTRAST
    if lossy and quality:
        contrast = max(contrast, round(LEAST_STEPS * LUMA_STEP / quality))
    widths = edge_widths(luma, contrast)
    exact = 1 if lossy else _exact_repeat(luma[:GRID_PART, :GRID_PART])
    if exact > 1:
        return Detail(exact, True, edges=len(widths) / sum(min(PROFILES, side) for side in luma.shape))
    if len(widths) >= LEAST_EDGES:
        return _read(luma, widths, NATIVE_RISE if lossy else NATIVE_RISE_CLEAN)
    if rgb is None:
        return Detail()
    components = [np.ascontiguousarray(part) for part in cv2.split(rgb)]
    found = [edge_widths(part) for part in components]
    most = max(range(len(found)), key=lambda number: len(found[number]))
    if len(found[most]) < LEAST_EDGES:
        return Detail()
    if not lossy:
        return _read(components[most], found[most], NATIVE_RISE_CLEAN)
    if quality is None or quality < COLOUR_QUALITY:
        return Detail()
    read = _read(components[most], found[most], NATIVE_RISE_COLOUR)
    if read.scale > 1 and not read.repeated:
        return read
    repeat = _repeat(components[most][:GRID_PART, :GRID_PART])
    return Detail(repeat, True, read.blur, read.edges) if repeat in REPEATS_COLOUR else Detail()


def _read(component: np.ndarray, widths: np.ndarray, native: float) -> Detail:
    """What the widths of a component's edges say, when edges up to `native` are as sharp as its pixels allow."""
    rise = float(np.percentile(widths, SHARPEST).mean())
    blur = max(1.0, float(np.percentile(widths, 25)))
    edges = len(widths) / sum(min(PROFILES, side) for side in component.shape)
    if rise <= SHARP_RISE:
        repeat = _repeat(component[:GRID_PART, :GRID_PART])
        return Detail(repeat, repeat > 1, blur, edges)
    return Detail(rise * RISE_OF_SCALE if rise > native else 1.0, False, blur, edges)


def luma_step(lossy: bool, quality: float | None) -> float:
    """The step in which compression keeps luma, 0 to 255; 0.0 without loss."""
    return LUMA_STEP / max(quality or USUAL_QUALITY, 1.0) if lossy else 0.0


def edge_widths(luma: np.ndarray, contrast: int = EDGE_CONTRAST) -> np.ndarray:
    """Widths in pixels of the edges met along evenly spread rows and columns: total change over the steepest step.

    Args:
        luma: uint8 (h, w).
        contrast: least change of an edge, luma 0 to 255.
    """
    h, w = luma.shape
    rows = luma[np.linspace(0, h - 1, min(PROFILES, h)).astype(int)]
    columns = luma[:, np.linspace(0, w - 1, min(PROFILES, w)).astype(int)].T
    return np.concatenate([_rises(rows, contrast), _rises(columns, contrast)])


def _rises(profiles: np.ndarray, contrast: int) -> np.ndarray:
    """Widths of the monotonic runs of (n, length) profiles."""
    if profiles.shape[1] < 2:
        return np.zeros(0)
    change = np.diff(profiles.astype(np.int16), axis=1)
    change = np.pad(change, ((0, 0), (0, 1))).ravel()
    sign = np.sign(change) * (np.abs(change) > NOISE_STEP)
    starts = np.concatenate([[0], np.flatnonzero(np.diff(sign)) + 1])
    total = np.abs(np.add.reduceat(change.astype(np.int32), starts))
    steepest = np.maximum.reduceat(np.abs(change), starts)
    edge = (sign[starts] != 0) & (total >= contrast)
    return total[edge] / steepest[edge]


def _exact_repeat(luma: np.ndarray) -> int:
    """The whole number of times each pixel of a picture stands there both ways; 1 where any two neighbours may differ."""
    found = 1
    changes = [(luma[1:] != luma[:-1]).any(1), (luma[:, 1:] != luma[:, :-1]).any(0)]
    for scale in range(2, int(REPEATS[0]) + 1):
        if all(_changes_on_grid(change, scale) for change in changes):
            found = scale
    return found


def _changes_on_grid(change: np.ndarray, scale: int) -> bool:
    """Whether change (bool, between rows or columns) falls on every `scale`-th place alone, and on most of those."""
    places: np.ndarray = np.flatnonzero(change)
    if len(places) < CHANGED * len(change) / scale or len(places) < 2:
        return False
    return not bool(((places - places[0]) % scale).any())


def _repeat(luma: np.ndarray) -> float:
    """The scale by which pixels were repeated both ways; 1.0 when they were not."""
    return min(_repeat_along(luma, axis) for axis in (1, 0))


def _repeat_along(luma: np.ndarray, axis: int) -> float:
    step = np.abs(np.diff(luma.astype(np.int16), axis=axis))
    for least in CHANGES:
        change = (step > least).sum(1 - axis).astype(float)
        if change.sum() >= 50 and (change > 0).sum() >= 12:
            return _coarser_grid(change)
    return 1.0


def _coarser_grid(change: np.ndarray) -> float:
    """The scale whose grid all change falls on: change holds a count for each place between two rows or columns."""
    change = np.minimum(change, np.percentile(change[change > 0], 90))  # no single long edge may decide
    total = change.sum()
    place = np.arange(len(change) + 1)
    for scale in REPEATS:
        on_grid = np.diff(np.floor((place + 0.5) / scale)) > 0
        share = change[on_grid].sum() / total
        if scale == int(scale):
            share = max(change[shift :: int(scale)].sum() / total for shift in range(int(scale)))
        if share > ON_GRID:
            return float(scale)
    return 1.0
