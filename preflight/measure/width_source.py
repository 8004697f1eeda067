"""Windows of an ink's plate on a grid of pixels, and where its pixels show continuous tone.

The grid of a resolution starts at the top left of the art; windows are whole pixels of it and may reach past the art,
where nothing is covered.
"""

from typing import NamedTuple

import cv2
import numpy as np

from preflight.artwork import Artwork, Box

cv2.setNumThreads(1)

#: A fade that fills this much of its box leaves no line art in it worth measuring.
FILLED_WITH_TONE = 0.5
#: Art this far covered with continuous tone has nothing else to measure.
ALL_TONE = 0.9


#: Pixels of windows kept for a second use.
MOST_KEPT = 24_000_000


class Window(NamedTuple):
    """Whole pixels of a grid: left, top, width and height."""

    x: int
    y: int
    width: int
    height: int

    def box(self, pixels_per_mm: float) -> Box:
        """The same in mm of the art."""
        return (
            self.x / pixels_per_mm,
            self.y / pixels_per_mm,
            (self.x + self.width) / pixels_per_mm,
            (self.y + self.height) / pixels_per_mm,
        )


def render(art: Artwork, ink: int | None, window: Window, pixels_per_mm: float) -> np.ndarray:
    """Coverage of a window, uint8 (height, width)."""
    cover = art.coverage(ink, window.box(pixels_per_mm), pixels_per_mm)
    if cover.shape != (window.height, window.width):  # a plate may round a half the other way
        cover = cv2.resize(cover, (window.width, window.height), interpolation=cv2.INTER_NEAREST)
    return cover


def kept_render(art: Artwork, ink: int | None, window: Window, pixels_per_mm: float) -> np.ndarray:
    """The same, taken from what `keep` has kept."""
    kept = art.once("widths.kept", dict).pop((ink, window, pixels_per_mm), None)
    return kept if kept is not None else render(art, ink, window, pixels_per_mm)


def keep(art: Artwork, ink: int | None, window: Window, pixels_per_mm: float, cover: np.ndarray) -> None:
    """Keep the coverage of a window that will be asked for once more; MOST_KEPT pixels are kept at most."""
    room = art.once("widths.room", lambda: [MOST_KEPT])
    if cover.size <= room[0]:
        room[0] -= cover.size
        art.once("widths.kept", dict)[ink, window, pixels_per_mm] = cover


def without_greys(art: Artwork) -> bool:
    """Were the edges of a bitmap steps of whole pixels, black or white with nothing between?"""
    return bool(getattr(art.plates, "stepped", False))


def label_type(most: int) -> int:
    """The type for labels of up to `most` components: with 16 bits OpenCV takes a third of the time."""
    return cv2.CV_16U if most < 65_535 else cv2.CV_32S


def finest_resolution(art: Artwork, pixels_per_mm: float) -> float:
    """The resolution worth asking for: of a bitmap no more than four times its own, the rest is interpolation."""
    if art.composite and art.plate_ppi:
        return min(pixels_per_mm, 4 * art.plate_ppi / 25.4)
    return pixels_per_mm


def pixel_of(art: Artwork) -> float:
    """Side of a pixel of the bitmap that the plates come from, mm; 0 for exact plates."""
    return 25.4 / art.plate_ppi if art.composite and art.plate_ppi else 0.0


def blurring_pixel(art: Artwork) -> float:
    """The same, where its edges were greyed by its pixels: stairs are as hard as they look."""
    return 0.0 if without_greys(art) else pixel_of(art)


def margin_of(art: Artwork, box: Box | None = None) -> float:
    """The measurement's own uncertainty, mm: half a pixel of a bitmap, or of a picture on the page that a box lies in."""
    if art.composite:
        return 12.7 / art.plate_ppi if art.plate_ppi else 0.0
    if box is None:
        return 0.0
    x, y = (box[0] + box[2]) / 2, (box[1] + box[3]) / 2
    under = [
        picture
        for picture in art.pictures
        if not picture.flat and min(picture.ppi) > 0 and _in(picture.box, x, y)
    ]
    if not under:
        return 0.0
    drawn = art.once("widths.drawn", lambda: _boxes_of_drawn(art))
    if ((drawn[:, 0] <= x) & (drawn[:, 1] <= y) & (drawn[:, 2] >= x) & (drawn[:, 3] >= y)).any():
        return 0.0  # it may be drawn upon the picture, with an outline of its own
    return max(12.7 / min(picture.ppi) for picture in under)


def _in(box: Box, x: float, y: float) -> bool:
    return box[0] <= x <= box[2] and box[1] <= y <= box[3]


def _boxes_of_drawn(art: Artwork) -> np.ndarray:
    """(n, 4) boxes of what has an outline."""
    boxes = [
        mark.box for mark in art.marks if mark.kind in ("fill", "stroke", "glyph") and mark.ink is not None
    ]
    return np.array(boxes, float).reshape(-1, 4)


def tone_boxes(art: Artwork) -> list[Box]:
    """Where a picture's plates show continuous tone and not shapes: nothing is measured there.

    Exact plates hold shapes only, whatever else is on the page, so nothing is left out of them.
    """
    if not art.composite:
        return []
    return [fade.box for fade in art.fades if fade.share >= FILLED_WITH_TONE]


def all_tone(art: Artwork) -> str:
    """A sentence when the art is continuous tone all over, so that it has no lines or gaps to measure; else empty."""
    boxes = [fade.box for fade in art.fades if fade.share >= FILLED_WITH_TONE]
    if not boxes or not (art.composite or not art.inks):
        return ""
    cells = 64
    hit = np.zeros((cells, cells), bool)
    for box in boxes:
        x0, x1 = (
            int(np.clip(round(v / max(art.width_mm, 1e-9) * cells), 0, cells)) for v in (box[0], box[2])
        )
        y0, y1 = (
            int(np.clip(round(v / max(art.height_mm, 1e-9) * cells), 0, cells)) for v in (box[1], box[3])
        )
        hit[y0:y1, x0:x1] = True
    if hit.mean() < ALL_TONE:
        return ""
    return "The art is a picture in continuous tone all over, so it has no lines and gaps that could be measured."
