"""Artwork built from flat masks, for testing measurements without a file: the masks are the truth.

Each ink is a mask drawn at `FINE` pixels per mm; windows are taken from it by averaging, as an exact
renderer would.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np

from preflight import colour
from preflight.artwork import Artwork, Box, Ink

#: Pixels per mm of the masks that `Sheet` draws.
FINE = 20.0


@dataclass(frozen=True)
class FlatPlates:
    """Plates cut out of masks: uint8 (rows, columns) an ink, all at `pixels_per_mm`."""

    masks: tuple[np.ndarray, ...]
    shades: tuple[str, ...]
    pixels_per_mm: float

    def coverage(self, ink: int | None, box: Box, pixels_per_mm: float) -> np.ndarray:
        if ink is not None:
            return self._window(self.masks[ink], box, pixels_per_mm)
        columns, rows = _size(box, pixels_per_mm)
        total = np.zeros((rows, columns), np.uint16)
        for mask in self.masks:
            total += self._window(mask, box, pixels_per_mm)
        return np.minimum(total, 255).astype(np.uint8)

    def picture(self, box: Box, pixels_per_mm: float, ground: tuple[int, int, int]) -> np.ndarray:
        columns, rows = _size(box, pixels_per_mm)
        look = np.empty((rows, columns, 3), np.float32)
        look[:] = ground
        for mask, shade in zip(self.masks, self.shades, strict=True):
            part = self._window(mask, box, pixels_per_mm)[..., None].astype(np.float32) / 255
            look += part * (np.array(colour.rgb_of(shade), np.float32) - ground)
        return np.clip(np.rint(look), 0, 255).astype(np.uint8)

    def _window(self, mask: np.ndarray, box: Box, pixels_per_mm: float) -> np.ndarray:
        columns, rows = _size(box, pixels_per_mm)
        fine = self.pixels_per_mm
        coarser = int(fine / pixels_per_mm / 3)
        if coarser > 1:  # far too fine for this window: average first
            down, across = (-size % coarser for size in mask.shape)
            mask = cv2.copyMakeBorder(mask, 0, down, 0, across, cv2.BORDER_CONSTANT, value=0)
            mask = cv2.resize(mask, None, fx=1 / coarser, fy=1 / coarser, interpolation=cv2.INTER_AREA)
            fine /= coarser
        # Draw at a whole number of samples a pixel, then average: exact to the mask's own pixels.
        many = max(1, int(np.ceil(fine / pixels_per_mm)))
        step = fine / pixels_per_mm / many
        shift = np.array(
            [[step, 0, box[0] * fine + step / 2 - 0.5],
             [0, step, box[1] * fine + step / 2 - 0.5]]
        )  # fmt: skip
        drawn = cv2.warpAffine(
            mask, shift, (columns * many, rows * many), flags=cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP
        )
        return cv2.resize(drawn, (columns, rows), interpolation=cv2.INTER_AREA)


def _size(box: Box, pixels_per_mm: float) -> tuple[int, int]:
    return (
        max(1, round((box[2] - box[0]) * pixels_per_mm)),
        max(1, round((box[3] - box[1]) * pixels_per_mm)),
    )


class Sheet:
    """A page to draw on in mm.  Later shapes knock earlier ones out, as paint does; `None` is bare ground."""

    def __init__(self, width_mm: float, height_mm: float, pixels_per_mm: float = FINE):
        self.size = (width_mm, height_mm)
        self.fine = pixels_per_mm
        self.inks: list[tuple[str, str, str]] = []
        self.masks: list[np.ndarray] = []

    def ink(self, name: str, shade: str, kind: str = "spot") -> int:
        self.inks.append((name, shade, kind))
        rows, columns = round(self.size[1] * self.fine), round(self.size[0] * self.fine)
        self.masks.append(np.zeros((max(rows, 1), max(columns, 1)), np.uint8))
        return len(self.inks) - 1

    def paint(self, ink: int | None, shape: np.ndarray, overprint: bool = False) -> None:
        for number, mask in enumerate(self.masks):
            if number == ink:
                np.maximum(mask, shape, out=mask)
            elif not overprint:
                np.minimum(mask, 255 - shape, out=mask)

    def polygon(self, ink: int | None, *points: tuple[float, float], overprint: bool = False) -> None:
        shape = self._drawn(lambda m, p, s: cv2.fillPoly(m, [p], 255, cv2.LINE_8, s), points)
        self.paint(ink, shape, overprint)

    def box(
        self, ink: int | None, x0: float, y0: float, x1: float, y1: float, overprint: bool = False
    ) -> None:
        """Exact: its edges may lie between pixels."""
        for number, window, part in self._windows(x0, y0, x1, y1):
            if number == ink:
                np.maximum(window, part, out=window)
            elif not overprint:
                np.minimum(window, 255 - part, out=window)

    def disc(self, ink: int | None, x: float, y: float, radius: float, overprint: bool = False) -> None:
        rows, columns = self.masks[0].shape
        yy, xx = np.mgrid[0:rows, 0:columns].astype(np.float32) + 0.5
        far = np.hypot(xx - x * self.fine, yy - y * self.fine)
        self.paint(
            ink, np.rint(255 * np.clip(radius * self.fine - far + 0.5, 0, 1)).astype(np.uint8), overprint
        )

    def words(
        self, ink: int | None, text: str, x: float, y: float, height: float, pen: float | None = None
    ) -> None:
        """Plain capitals in strokes, baseline at y: `height` mm tall."""
        face, thick = cv2.FONT_HERSHEY_SIMPLEX, max(1, round((pen or height / 7) * self.fine))
        scale = (height * self.fine - thick) / 21.0
        shape = np.zeros_like(self.masks[0])
        at = (round(x * self.fine), round(y * self.fine))
        cv2.putText(shape, text, at, face, scale, 255, thick, cv2.LINE_AA)
        self.paint(ink, shape)

    def bits(self, ink: int | None, matrix: np.ndarray, x: float, y: float, module: float) -> None:
        """A pattern of squares `module` mm wide, top left at (x, y): True is printed."""
        for (row, column), on in np.ndenumerate(matrix):
            if on:
                left, top = x + column * module, y + row * module
                for number, window, part in self._windows(left, top, left + module, top + module):
                    # Neighbours share a pixel: what they cover of it adds up.
                    sign = 1 if number == ink else -1
                    window[:] = np.clip(window + sign * part.astype(np.int16), 0, 255)

    def _windows(
        self, x0: float, y0: float, x1: float, y1: float
    ) -> Iterator[tuple[int, np.ndarray, np.ndarray]]:
        """Of each mask the part around a rectangle, and the rectangle's coverage of it."""
        rows, columns = self.masks[0].shape
        f = self.fine
        r0, r1 = max(int(y0 * f) - 1, 0), min(int(y1 * f) + 2, rows)
        c0, c1 = max(int(x0 * f) - 1, 0), min(int(x1 * f) + 2, columns)
        if r0 < r1 and c0 < c1:
            down = _edge(r1 - r0, y0 * f - r0, y1 * f - r0)
            across = _edge(c1 - c0, x0 * f - c0, x1 * f - c0)
            part = np.rint(255 * np.outer(down, across)).astype(np.uint8)
            for number, mask in enumerate(self.masks):
                yield number, mask[r0:r1, c0:c1], part

    def _drawn(self, draw: Callable[..., Any], points: Sequence[tuple[float, float]]) -> np.ndarray:
        # Four times as fine, then averaged: edges to 1/80 mm.
        shape = np.zeros(tuple(4 * n for n in self.masks[0].shape), np.uint8)
        draw(shape, np.rint(np.array(points) * self.fine * 4 * 16 - 8).astype(np.int32), 4)
        return cv2.resize(shape, self.masks[0].shape[::-1], interpolation=cv2.INTER_AREA)

    def art(self, ground: str = "#ffffff", **more: Any) -> Artwork:
        """The Artwork of what was drawn."""
        inks = tuple(
            Ink(number=i, name=name, kind=kind, hex=shade, lab=colour.lab_of(shade))  # type: ignore[arg-type]
            for i, (name, shade, kind) in enumerate(self.inks)
        )
        plates = FlatPlates(tuple(self.masks), tuple(shade for _, shade, _ in self.inks), self.fine)
        width, height = self.size
        facts: dict[str, Any] = dict(
            format="pdf", kind="vector", page=1, pages=1, width_mm=width, height_mm=height,
            file_width_mm=width, file_height_mm=height, ground=ground, inks=inks, marks=(), text=(),
            pictures=(), fonts=(), fades=(), facts=(), plates=plates,
        )  # fmt: skip
        return Artwork(**(facts | more))


def _edge(count: int, start: float, end: float) -> np.ndarray:
    """How much of each of `count` unit cells lies between start and end."""
    cells = np.arange(count)
    return np.clip(np.minimum(cells + 1, end) - np.maximum(cells, start), 0, 1)
