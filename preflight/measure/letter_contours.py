"""Letters drawn as outlines, and contours drawn round letters: which edge is the letter's.

A hollow letter is as tall as its outline prints, pen and all.  A contour round a filled letter is not the letter; nor is a heavy
contour round an open one.
"""

from collections.abc import Callable, Sequence

import cv2
import numpy as np

from preflight.measure.letter_shapes import Shape, shape_of
from preflight.measure.rings import signed_area

#: An opening is the body of a letter drawn as an outline if it takes at least this share of what the outline encloses ...
_LEAST_BODY = 0.2
#: ... and the outline is no thicker than this against the letter; thicker ones are contours round it.
_THICKEST_PEN = 0.12
#: The rim of a counter encloses at least this share that is not its own, and two lines of one pen differ by less than this.
_HOLLOW, _SAME_PEN = 0.3, 1.3
#: What is larger than this against a hollow shape in it is no letter that the shape could be a counter of.
_LARGEST_FRAME = 4.0


def body_in(outline: Shape) -> Shape | None:
    """The opening that is the body of a letter, where the shape is an outline or a contour round one."""
    bodies = [s for s in outline.inner if s.is_open and s.size > 0.5 * outline.size]
    if len(bodies) != 1:
        return None
    body = bodies[0]
    enclosed = outline.area / max(1 - outline.openings, 1e-9)
    return body if enclosed * _LEAST_BODY < body.area else None


def printed_letters(bodies: Sequence[Shape]) -> list[Shape] | None:
    """The letters as they print, where a row of openings are the bodies of letters drawn as outlines; else None."""
    letters = []
    for body in bodies:
        outline = body.around
        if outline is None:
            continue
        if body_in(outline) is not body:
            letter = _within_shared(body, outline)
            letters += [letter] if letter is not None else []
            continue
        if (outline.size - body.size) / 2 > _THICKEST_PEN * body.size:
            continue
        counters = [ring for island in body.inner for ring in island.rings[1:]]
        letter = shape_of([outline.rings[0], *counters], outline.ink, False)
        if letter is not None:
            letters.append(letter)
    return letters if len(letters) >= 0.7 * len(bodies) else None


def _within_shared(body: Shape, outline: Shape) -> Shape | None:
    """The letter as it prints, of a body in an outline that touches those of other letters: grown by the outline's pen."""
    if outline.stroke > _THICKEST_PEN * body.size:
        return None  # a panel with letters left open in it
    ring = body.rings[0]
    step = np.roll(ring, -3, 0) - np.roll(ring, 3, 0)
    normal = np.stack([step[:, 1], -step[:, 0]], 1) / np.maximum(np.hypot(*step.T), 1e-9)[:, None]
    outward = normal if signed_area(ring) > 0 else -normal
    counters = [inner for island in body.inner for inner in island.rings[1:]]
    return shape_of([ring + outline.stroke * outward, *counters], outline.ink, False)


def filled_out(row: Sequence[Shape]) -> list[Shape] | None:
    """A row of outlines with the bodies between them filled in: the letters as they print; None where few are hollow.

    Only the openings of the islands inside stay open: they are the letters' counters.
    """
    letters, hollow = [], 0
    for shape in row:
        bodies = [s for s in shape.inner if s.is_open]
        enclosed = shape.area / max(1 - shape.openings, 1e-9)
        if sum(s.area for s in bodies) > _LEAST_BODY * enclosed:
            hollow += 1
            counters = [ring for body in bodies for island in body.inner for ring in island.rings[1:]]
            shape = shape_of([shape.rings[0], *counters], shape.ink, False) or shape
        letters.append(shape)
    return letters if hollow >= 0.6 * len(row) else None


def without_rims(shapes: Sequence[Shape]) -> list[Shape]:
    """Shapes less the rims of counters: the inner of two lines that a letter with a counter is drawn with as an outline.

    Such a rim is hollow, lies in the body of its letter with nothing but rims, and is drawn with the same pen.
    """
    return [s for s in shapes if not _is_rim(s)]


def _is_rim(shape: Shape) -> bool:
    body = shape.around
    outline = body.around if body is not None else None
    if body is None or outline is None or shape.is_open or outline.stroke > _THICKEST_PEN * body.size:
        return False
    if outline.size > _LARGEST_FRAME * shape.size:
        return False  # a frame round lettering
    return all(
        inner.openings > _HOLLOW and 1 / _SAME_PEN < inner.stroke / outline.stroke < _SAME_PEN
        for inner in body.inner
    )


def lies_apart(row: Sequence[Shape]) -> bool:
    """Are these openings each inside a shape of its own, as counters and the bodies of outlined letters are?"""
    around = {id(s.around) for s in row if s.around is not None}
    return len(around) >= max(2, 0.5 * len(row))


def is_contour(shape: Shape, filled: Callable[[Shape], bool]) -> bool:
    """Does a good part of what a shape leaves open belong to another ink, as inside a contour drawn round letters?"""
    bodies = [s for s in shape.inner if s.is_open]
    if sum(s.area for s in bodies) < 0.25 * shape.area:
        return False
    return sum(s.area for s in bodies if filled(s)) >= 0.25 * shape.area


def is_filled(body: Shape, inked: np.ndarray, corner: tuple[float, float], scale: float) -> bool:
    """Does another ink fill an opening?

    Args:
        body: the opening.
        inked: coverage of all inks together, uint8.
        corner: mm of its top left corner.
        scale: its pixels per mm.
    """
    low = ((np.array(body.box[:2]) - corner) * scale).astype(int)
    high = ((np.array(body.box[2:]) - corner) * scale).astype(int) + 1
    window = inked[low[1] : high[1], low[0] : high[0]]
    inside = raster_in(body, low, window.shape, corner, scale)
    return bool(inside.any() and float(np.mean(window[inside] >= 128)) > 0.5)


def raster_in(
    body: Shape, low: np.ndarray, shape: tuple[int, ...], corner: tuple[float, float], scale: float
) -> np.ndarray:
    """Where a shape is in a window of a plate, as booleans; its outermost pixels are left out."""
    mask = np.zeros(shape, np.uint8)
    corners = [np.round(((r - corner) * scale - low - 0.5) * 16).astype(np.int32) for r in body.rings]
    cv2.fillPoly(mask, corners, 1, shift=4)
    core = cv2.erode(mask, np.ones((3, 3), np.uint8))
    return (core if core.any() else mask) > 0
