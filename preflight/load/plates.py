"""What draws the art, plate by plate: display lists, exact at any resolution, or the pixels of a bitmap."""

from collections.abc import Callable, Mapping
from functools import cache
from typing import Any

import cv2
import numpy as np
import pymupdf

from preflight.artwork import Box
from preflight.load.cells import Cells
from preflight.load.device import MM, Rect, mu

cv2.setNumThreads(1)

_GREY, _RGB, _AS_IT_IS = mu.ll_fz_device_gray(), mu.ll_fz_device_rgb(), mu.ll_fz_make_matrix(1, 0, 0, 1, 0, 0)

#: Names of the lists that are not inks: everything that would be produced, and what is neither ink nor paper.
ALL, TONE = -1, -2
#: A window larger than this is a programming error, not a measurement.
MOST_PIXELS = 400_000_000
#: Windows with no longer side are drawn in one pixmap that is kept: to make one takes as long as to draw a small window.
DESK = 640


def grey_image(coverage: np.ndarray) -> Any:
    """An image for a list: 255 where bare, 0 where covered; enlarged smoothly, so that its edges stay where they are."""
    bare = np.ascontiguousarray(255 - coverage)
    pixmap = pymupdf.Pixmap(pymupdf.csGRAY, bare.shape[1], bare.shape[0], bare.tobytes(), False)
    image = mu.fz_new_image_from_pixmap(pixmap.this, mu.FzImage())
    image.m_internal.interpolate = 1
    return image


def mask_image(alpha: np.ndarray) -> Any:
    """An image mask of an alpha channel."""
    height, width = alpha.shape
    pixmap = mu.fz_new_pixmap(mu.FzColorspace(), width, height, mu.FzSeparations(), 1)
    samples = np.frombuffer(mu.fz_pixmap_samples_memoryview(pixmap), np.uint8)
    samples.setflags(write=True) if not samples.flags.writeable else None
    samples.reshape(height, -1)[:, :width] = alpha
    image = mu.fz_new_image_from_pixmap(pixmap, mu.FzImage())
    image.m_internal.interpolate = 1
    return image


def _size(box: Box, pixels_per_mm: float) -> tuple[int, int]:
    """Columns and rows of a window."""
    width = max(1, round((box[2] - box[0]) * pixels_per_mm))
    height = max(1, round((box[3] - box[1]) * pixels_per_mm))
    if width * height > MOST_PIXELS:
        raise ValueError(f"a window of {width} x {height} pixels is too large")
    return width, height


def _draw(one: Any, device: Any, box: Box, pixels_per_mm: float, width: int, height: int) -> None:
    """A display list's window on a device, which is closed and dropped.

    MuPDF's plain functions do without the objects that its classes make for every argument: small windows take half the time.
    """
    try:
        k = pixels_per_mm * MM
        matrix = mu.ll_fz_make_matrix(k, 0, 0, k, -box[0] * pixels_per_mm, -box[1] * pixels_per_mm)
        mu.ll_fz_run_display_list(
            one.m_internal, device, matrix, mu.ll_fz_make_rect(0, 0, width, height), None
        )
        mu.ll_fz_close_device(device)
    finally:
        mu.ll_fz_drop_device(device)


def _render(
    one: Any, box: Box, pixels_per_mm: float, space: Any, clear: int,
    copied: Callable[[np.ndarray], np.ndarray] = np.copy,
) -> np.ndarray:  # fmt: skip
    """A display list's window as (rows, columns, components), in memory of its own; box in mm of the page.

    `copied` takes what is wanted of the pixels, which live as long as the pixmap does.
    """
    width, height = _size(box, pixels_per_mm)
    pixmap = mu.ll_fz_new_pixmap_with_bbox(space, mu.ll_fz_make_irect(0, 0, width, height), None, 0)
    try:
        mu.ll_fz_clear_pixmap_with_value(pixmap, clear)
        _draw(one, mu.ll_fz_new_draw_device(_AS_IT_IS, pixmap), box, pixels_per_mm, width, height)
        samples = np.frombuffer(mu.ll_fz_pixmap_samples_memoryview(pixmap), np.uint8).reshape(height, -1)
        components = pixmap.n
        return copied(samples[:, : width * components].reshape(height, width, components))
    finally:
        mu.ll_fz_drop_pixmap(pixmap)


@cache
def _desk() -> tuple[Any, np.ndarray]:
    """The pixmap that small windows are drawn in, and its pixels."""
    pixmap = mu.ll_fz_new_pixmap_with_bbox(_GREY, mu.ll_fz_make_irect(0, 0, DESK, DESK), None, 0)
    samples = np.frombuffer(mu.ll_fz_pixmap_samples_memoryview(pixmap), np.uint8)
    return pixmap, samples.reshape(DESK, -1)[:, :DESK]


def _coverage(one: Any, box: Box, pixels_per_mm: float) -> np.ndarray:
    """Coverage (rows, columns) of a display list's window, in memory of its own; box in mm of the page."""
    width, height = _size(box, pixels_per_mm)
    if max(width, height) > DESK:
        return _render(one, box, pixels_per_mm, _GREY, 255, lambda bare: cv2.bitwise_not(bare[:, :, 0]))
    pixmap, bare = _desk()
    window = mu.ll_fz_make_irect(0, 0, width, height)
    mu.ll_fz_clear_pixmap_rect_with_value(pixmap, 255, window)
    device = mu.ll_fz_new_draw_device_with_bbox(_AS_IT_IS, pixmap, window)
    _draw(one, device, box, pixels_per_mm, width, height)
    return cv2.bitwise_not(bare[:height, :width])


class ListPlates:
    """Plates over display lists: exact at any resolution."""

    def __init__(self, lists: Mapping[int, Any], page: Any, keep: Any = None) -> None:
        self.lists = dict(lists)
        self.page = page
        self._cells: dict[int, Cells] = {}
        self.keep = keep  # the open document and the splitter: the lists borrow from them

    def coverage(self, ink: int | None, box: Box, pixels_per_mm: float) -> np.ndarray:
        """See `preflight.artwork.Plates`."""
        number = ALL if ink is None else ink
        if number not in self._cells:
            if number not in self.lists:
                raise KeyError(f"the art has no ink number {ink}")
            self._cells[number] = Cells(self.lists[number])
        x0, y0, x1, y1 = box
        near = self._cells[number].near(x0 / MM, y0 / MM, x1 / MM, y1 / MM)
        return _coverage(near, box, pixels_per_mm)

    def picture(self, box: Box, pixels_per_mm: float, ground: tuple[int, int, int]) -> np.ndarray:
        """See `preflight.artwork.Plates`."""
        return render_on(self.page, box, pixels_per_mm, ground)


def render_on(page: Any, box: Box, pixels_per_mm: float, ground: tuple[int, int, int]) -> np.ndarray:
    """A page's display list on a ground, (rows, columns, 3) sRGB."""
    if ground == (255, 255, 255):
        return _render(page, box, pixels_per_mm, _RGB, 255)
    # MuPDF clears to greys only: the ground is found by drawing on black and on white, which gives colour and alpha
    on_white = _render(page, box, pixels_per_mm, _RGB, 255).astype(np.int16)
    on_black = _render(page, box, pixels_per_mm, _RGB, 0).astype(np.int16)
    bare = (on_white - on_black).clip(0, 255)
    mixed = on_black + (bare * np.array(ground, np.int32) + 127) // 255
    return mixed.clip(0, 255).astype(np.uint8)


class PixelPlates:
    """Plates of a bitmap: one 8-bit coverage a plate at the picture's own resolution, enlarged smoothly.

    `origin` is where the top left pixel lies, mm of the page.  `stepped`: the picture has no greys at its edges, and what
    stands in the plates was made from stairs.
    """

    def __init__(
        self, plates: Mapping[int, np.ndarray], rgb: np.ndarray, alpha: np.ndarray | None,
        pixels_per_mm: tuple[float, float], origin: tuple[float, float] = (0.0, 0.0), stepped: bool = False,
    ) -> None:  # fmt: skip
        self.plates = dict(plates)
        self.rgb, self.alpha = rgb, alpha
        self.density = pixels_per_mm
        self.origin = origin
        self.stepped = stepped

    def _window(self, source: np.ndarray, box: Box, pixels_per_mm: float, outside: int) -> np.ndarray:
        width = max(1, round((box[2] - box[0]) * pixels_per_mm))
        height = max(1, round((box[3] - box[1]) * pixels_per_mm))
        if width * height > MOST_PIXELS:
            raise ValueError(f"a window of {width} x {height} pixels is too large")
        kx, ky = (
            self.density[0] / pixels_per_mm,
            self.density[1] / pixels_per_mm,
        )  # source pixels a target pixel
        x0, y0 = (box[0] - self.origin[0]) * self.density[0], (box[1] - self.origin[1]) * self.density[1]
        reach = 3
        left, top = max(0, int(np.floor(x0)) - reach), max(0, int(np.floor(y0)) - reach)
        right = min(source.shape[1], int(np.ceil(x0 + width * kx)) + reach)
        bottom = min(source.shape[0], int(np.ceil(y0 + height * ky)) + reach)
        empty = np.full((height, width, *source.shape[2:]), outside, np.uint8)
        if right <= left or bottom <= top:
            return empty
        part = source[top:bottom, left:right]
        if max(kx, ky) > 1.3:
            # average first: a warp would step over pixels.  INTER_AREA wants whole targets, so shrink about evenly
            fx, fy = max(1.0, kx), max(1.0, ky)
            small = (max(1, round(part.shape[1] / fx)), max(1, round(part.shape[0] / fy)))
            fx, fy = part.shape[1] / small[0], part.shape[0] / small[1]
            part = cv2.resize(part, small, interpolation=cv2.INTER_AREA)
        else:
            fx = fy = 1.0
        # target pixel centre (i + .5) -> source pixel index
        matrix = np.array(
            [[kx / fx, 0, (x0 + 0.5 * kx - left) / fx - 0.5], [0, ky / fy, (y0 + 0.5 * ky - top) / fy - 0.5]]
        )
        return cv2.warpAffine(
            part, matrix, (width, height), flags=cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP,
            borderMode=cv2.BORDER_CONSTANT, borderValue=(outside,) * 4,
        )  # fmt: skip

    def coverage(self, ink: int | None, box: Box, pixels_per_mm: float) -> np.ndarray:
        """See `preflight.artwork.Plates`."""
        number = ALL if ink is None else ink
        if number not in self.plates:
            raise KeyError(f"the art has no ink number {ink}")
        return self._window(self.plates[number], box, pixels_per_mm, 0)

    def picture(self, box: Box, pixels_per_mm: float, ground: tuple[int, int, int]) -> np.ndarray:
        """See `preflight.artwork.Plates`."""
        rgb = self._window(self.rgb, box, pixels_per_mm, 0).astype(np.int32)
        alpha = self.alpha if self.alpha is not None else np.full(self.rgb.shape[:2], 255, np.uint8)
        cover = self._window(alpha, box, pixels_per_mm, 0).astype(np.int32)[:, :, None]
        # outside the picture the window is (0, uncovered); inside, colours of clear pixels must not bleed in
        mixed = (rgb * cover + np.array(ground, np.int32) * (255 - cover) + 127) // 255
        return mixed.clip(0, 255).astype(np.uint8)


def farthest(rgb: np.ndarray, colour: tuple[int, int, int]) -> np.ndarray:
    """How far each pixel is from a colour in the component that differs most, 0 to 255."""
    apart = cv2.absdiff(rgb, np.array(colour, np.float64))  # a constant of three is taken for each pixel
    first, second, third = cv2.split(apart)
    return cv2.max(cv2.max(first, second), third)


def page_rect(page: Any) -> Rect:
    """The visible page in points, top left at 0, 0."""
    r = mu.fz_bound_page(page.this)
    return (r.x0, r.y0, r.x1, r.y1)
