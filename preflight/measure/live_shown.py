"""Can live text be seen, or does something cover it, or the very ink it stands on?"""

from collections.abc import Sequence

import cv2
import numpy as np

from preflight.artwork import Artwork, Box, TextRun, union

cv2.setNumThreads(1)

#: Pixels that a line is drawn tall, and pixels of a line at most.
TALL, PIXELS = 40.0, 400_000
#: Share by which letters have to differ from what is around them on their plate.
TOLD_APART = 0.1


def shown(art: Artwork, runs: Sequence[TextRun]) -> bool:
    """Is anything of a line to be seen?

    Letters in the colour of bare ground are let through: the goods they are meant for may not have been said.
    """
    outlines = [glyph.path for run in runs for glyph in run.glyphs if glyph.path is not None]
    if not outlines or not art.inks:
        return True
    x0, y0, x1, y1 = union([path.box() for path in outlines])
    if not _may_be_hidden(art, runs, (x0, y0, x1, y1)):
        return True
    margin = 0.2 * max(run.em_mm for run in runs)
    box = (x0 - margin, y0 - margin, x1 + margin, y1 + margin)
    width, height = box[2] - box[0], box[3] - box[1]
    scale = min(TALL / min(width, height), (PIXELS / (width * height)) ** 0.5)
    ink = next((ink for ink in art.inks if ink.number == runs[0].ink), None)
    cover = art.coverage(ink, box, scale)
    if ink is None and not cover.any():
        return True
    letters = np.zeros(cover.shape, np.uint8)
    for path in outlines:
        rings = [
            np.round((ring - (box[0], box[1])) * scale * 16).astype(np.int32) for ring in path.polygons()
        ]
        if rings:
            cv2.fillPoly(letters, rings, 1, shift=4)
    inside = letters > 0
    if not inside.any() or inside.all():
        return True
    return abs(float(cover[inside].mean()) - float(cover[~inside].mean())) > TOLD_APART * 255


def _may_be_hidden(art: Artwork, runs: Sequence[TextRun], box: Box) -> bool:
    """Does anything but letters lie where the line is, later than it or in its own ink?"""
    numbers = {number for number, run in enumerate(art.text) if any(run is one for one in runs)}
    later = False
    for mark in art.marks:
        if mark.run in numbers:
            later = True
        elif (
            mark.kind != "glyph"
            and not mark.role
            and (later or mark.ink == runs[0].ink)
            and _meet(mark.box, box)
        ):
            return True
    return False


def _meet(one: Box, other: Box) -> bool:
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]
