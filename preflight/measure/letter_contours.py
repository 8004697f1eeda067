"""Letters drawn as outlines, and contours drawn round letters: which edge is the letter's.

A hollow letter is as tall as its outline prints, pen and all.  A contour round a filled letter is not the letter; nor is a heavy
contour round an open one.
"""

from collections.abc import Sequence

import cv2
import numpy as np

from preflight.measure.letter_shapes import Shape, shape_of

#: An opening is the body of a letter drawn as an outline if it takes at least this share of what the outline encloses ...
_LEAST_BODY = 0.3
#: ... and the outline is no thicker than this against the letter; thicker ones are contours round it.
_THICKEST_PEN = 0.12


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
        if outline is None or body_in(outline) is not body:
            continue
        if (outline.size - body.size) / 2 > _THICKEST_PEN * body.size:
            continue
        counters = [ring for island in body.inner for ring in island.rings[1:]]
        letter = shape_of([outline.rings[0], *counters], outline.ink, False)
        if letter is not None:
            letters.append(letter)
    return letters if len(letters) >= 0.7 * len(bodies) else None


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
