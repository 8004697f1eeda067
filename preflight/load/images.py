"""Pictures on a page: their pixels, and what those say.

Pixels come out as sRGB through whatever profile the file gives them; the alpha of a soft mask comes with them.
"""

import math
from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np

from preflight import pixels
from preflight.errors import Unreadable
from preflight.load.bitmap import jpeg_quality
from preflight.load.device import Matrix, mu
from preflight.load.plates import grey_image, mask_image

#: More pixels than this in one picture is refused, in words: it bounds memory and time.
MOST_PIXELS = 120_000_000
#: Components that differ by no more than this, 0 to 255, over a whole picture make it a flat box.
FLAT = 2
_JPEG, _JPX, _JBIG2, _FAX = 10, 11, 9, 2  # MuPDF's compression types


@dataclass
class Placed:
    """One picture as it is drawn.  ppi = pixels per inch of the file's page, across and down."""

    pixels: tuple[int, int]
    ppi: tuple[float, float]
    bits: int
    space: str
    stencil: bool
    flat: bool
    rgb: np.ndarray | None  # None for a stencil
    alpha: np.ndarray | None
    lossy: bool
    jpeg_quality: float | None
    tone: Any  # pixels.Tone, None for flat ones and stencils
    mask: Any  # FzImage of the alpha


def place(image: Any, matrix: Matrix, stencil: bool, defaults: Any = None) -> Placed:
    """Decode and look at one picture; `defaults` says what device colours mean in it (`paints.Look`).

    Raises:
        Unreadable: when it has too many pixels.
    """
    width, height = image.w(), image.h()
    if width * height > MOST_PIXELS:
        raise Unreadable(
            f"A picture inside the file has {width} x {height} pixels, more than can be handled.",
            "Please send the picture at no more than 10 000 pixels on its long side.",
        )
    across, down = math.hypot(matrix[0], matrix[1]), math.hypot(matrix[2], matrix[3])
    ppi = (width * 72 / across if across else 0.0, height * 72 / down if down else 0.0)
    low = image.m_internal
    kind = mu.ll_fz_compressed_image_type(low)
    lossy = kind in (_JPEG, _JPX)
    if stencil:
        cover = _alpha_of(mu.fz_get_unscaled_pixmap_from_image(image))
        mask = mask_image(pixels.smoothed(cover))  # enlarged smoothly, as MuPDF itself doesn't
        flat = bool(cover.min() == cover.max())
        return Placed((width, height), ppi, 1, "1-bit", True, flat, None, cover, False, None, None, mask)
    rgb, alpha = _pixels_of(image, defaults)
    quality = _quality(image) if kind == _JPEG else None
    flat = bool((rgb.reshape(-1, 3).max(0).astype(int) - rgb.reshape(-1, 3).min(0)).max() <= FLAT)
    flat = flat and (alpha is None or int(alpha.min()) == 255)
    bits = int(low.bpc)
    space = "1-bit" if bits == 1 and low.n <= 1 else _space_name(image)
    tone = None
    if not flat:
        tone = pixels.analyse(rgb, alpha, lossy=lossy, quality=quality, bilevel=bits == 1)
    mask = image.mask() if low.mask is not None else mask_image(alpha) if alpha is not None else None
    return Placed((width, height), ppi, bits, space, False, flat, rgb, alpha, lossy, quality, tone, mask)


def _space_name(image: Any) -> str:
    space = image.m_internal.colorspace
    return (
        {1: "Grey", 2: "RGB", 3: "RGB", 4: "CMYK", 5: "Lab", 6: "Indexed", 7: "Spot"}.get(space.type, "")
        if space
        else ""
    )


def _array(pixmap: Any) -> np.ndarray:
    width, height, count, stride = pixmap.w(), pixmap.h(), pixmap.n(), pixmap.stride()
    flat = np.frombuffer(mu.fz_pixmap_samples_memoryview(pixmap), np.uint8).reshape(height, stride)
    return flat[:, : width * count].reshape(height, width, count)


def _alpha_of(pixmap: Any) -> np.ndarray:
    """The coverage of a mask picture: its only component."""
    return _array(pixmap)[:, :, -1].copy()


def _pixels_of(image: Any, defaults: Any = None) -> tuple[np.ndarray, np.ndarray | None]:
    pixmap = mu.fz_get_unscaled_pixmap_from_image(image)
    own_alpha = bool(pixmap.alpha())
    defaults = mu.FzDefaultColorspaces() if defaults is None else defaults
    space = pixmap.colorspace().m_internal
    if space is None or space.name != "DeviceRGB" or defaults.m_internal is not None:
        pixmap = mu.fz_convert_pixmap(
            pixmap, mu.FzColorspace(mu.FzColorspace.Fixed_RGB), mu.FzColorspace(), defaults, mu.FzColorParams(), 1,
        )  # fmt: skip
    samples = _array(pixmap)
    rgb, alpha = samples[:, :, :3], None
    if own_alpha:
        alpha = samples[:, :, 3].copy()
        safe = np.maximum(alpha, 1)[:, :, None].astype(np.uint16)
        rgb = np.minimum(255, (rgb.astype(np.uint16) * 255 + safe // 2) // safe).astype(
            np.uint8
        )  # was premultiplied
    rgb = np.array(rgb, order="C")  # a copy: the samples are gone with the pixmap
    if image.m_internal.mask is not None:
        mask = _alpha_of(mu.fz_get_unscaled_pixmap_from_image(image.mask()))
        if mask.shape != rgb.shape[:2]:
            if mask.size > rgb.shape[0] * rgb.shape[1]:  # the sharper of the two decides the edges
                rgb = cv2.resize(rgb, (mask.shape[1], mask.shape[0]), interpolation=cv2.INTER_LINEAR)
            else:
                mask = cv2.resize(mask, (rgb.shape[1], rgb.shape[0]), interpolation=cv2.INTER_LINEAR)
        alpha = mask if alpha is None or alpha.shape != mask.shape else np.minimum(alpha, mask)
    if alpha is not None and int(alpha.min()) == 255:
        alpha = None
    return rgb, alpha


def _quality(image: Any) -> float | None:
    """Quality 1 to 100 of a JPEG on the page, from its quantisation tables; None when it has none that can be read."""
    buffer = mu.fz_compressed_image_buffer(image)
    if not buffer.m_internal:
        return None
    kept = mu.FzBuffer(mu.ll_fz_keep_buffer(buffer.m_internal.buffer))
    return jpeg_quality(bytes(mu.fz_buffer_storage_memoryview(kept)))


def plates_of(placed: Placed, numbers: list[int]) -> tuple[dict[int, Any], Any]:
    """Grey images of a picture of flat colours: one an ink by its number, and one of all that is not paper.

    `numbers` names the ink of each of its tone's inks; below zero the colour is paper.
    """
    assert placed.rgb is not None and placed.tone is not None
    disturbed = pixels.disturbance(placed.lossy, placed.jpeg_quality)
    inks = [ink.hex for ink in placed.tone.inks]
    covers = pixels.plates(placed.rgb, placed.alpha, inks, disturbed, placed.tone.dithered)
    height, width = placed.rgb.shape[:2]
    art = placed.alpha.copy() if placed.alpha is not None else np.full((height, width), 255, np.uint8)
    summed: dict[int, np.ndarray] = {}
    for number, cover in zip(numbers, covers, strict=True):
        if number < 0:
            art = cv2.subtract(art, cover)
        else:
            summed[number] = cv2.add(summed[number], cover) if number in summed else cover
    if not any(fade.kind == "halftone" for fade in placed.tone.fades):  # the dots of a screen are no stairs
        art = pixels.smoothed(art)
        summed = {number: pixels.smoothed(cover) for number, cover in summed.items()}
    return {number: grey_image(cover) for number, cover in summed.items()}, grey_image(art)
