"""Drawings for bitmaps: resolution, enlargement, halftones, soft edges, a careless cut-out; and PNG, JPEG, TIFF files."""

import functools
import io
import math
from typing import Any

import cv2
import numpy as np
import pymupdf
import tifffile
from PIL import Image

from drawn.case import Drawn, draws
from drawn.paper import Paper, capitals
from preflight.rulebook import Rule


def png(pixels: np.ndarray, ppi: float | None = None) -> bytes:
    """PNG of (h, w), (h, w, 3) or (h, w, 4) uint8."""
    out = io.BytesIO()
    Image.fromarray(pixels).save(out, "PNG", **({"dpi": (ppi, ppi)} if ppi else {}))
    return out.getvalue()


def jpeg(pixels: np.ndarray, ppi: float, quality: int = 92) -> bytes:
    """JPEG of (h, w, 3) uint8."""
    out = io.BytesIO()
    Image.fromarray(pixels).save(out, "JPEG", quality=quality, dpi=(ppi, ppi), subsampling=0)
    return out.getvalue()


def tiff(pixels: np.ndarray, ppi: float) -> bytes:
    """TIFF of uint8."""
    out = io.BytesIO()
    Image.fromarray(pixels).save(out, "TIFF", dpi=(ppi, ppi), compression="tiff_lzw")
    return out.getvalue()


def rendered(paper: Paper, ppi: float, alpha: bool = False) -> tuple[np.ndarray, float]:
    """A sheet as pixels, cut to its marks; and the width in mm of what is left."""
    x0, y0, x1, y1 = paper.printed.bounds
    with pymupdf.open(stream=paper.pdf(), filetype="pdf") as document:
        k = 72 / 25.4 * paper.scale
        zoom = ppi / 72 / paper.scale
        clip = pymupdf.Rect(x0 * k, y0 * k, x1 * k, y1 * k)
        picture = document[0].get_pixmap(matrix=pymupdf.Matrix(zoom, zoom), clip=clip, alpha=alpha)
        pixels = (
            np.frombuffer(picture.samples, np.uint8).reshape(picture.height, picture.width, picture.n).copy()
        )
    if alpha:  # samples come multiplied by their alpha
        part = np.maximum(pixels[..., 3:], 1).astype(np.float32) / 255
        pixels[..., :3] = np.clip(np.rint(pixels[..., :3] / part), 0, 255)
    return pixels, pixels.shape[1] / ppi * 25.4


def crest(spot: bool = True) -> Paper:
    """Art for pixels: two inks, lettering, 16 mm wide."""
    paper = Paper(24, 24, spot=spot)
    paper.disc(12, 12, 8).disc(12, 10, 4, "Sun yellow")
    return paper.fill(capitals("TIDE", 6.8, 18, 3.4), None)


@functools.cache
def photo(across: int, down: int, seed: int = 5) -> np.ndarray:
    """A picture of continuous tone with detail down to the pixel: noise at every scale over a sky and a marsh."""
    random = np.random.default_rng(seed)
    size = 2 ** math.ceil(math.log2(max(across, down)))
    tone = np.zeros((size, size, 3), np.float32)
    step = size // 2
    while step >= 1:
        coarse = random.normal(0, 1, (size // step, size // step, 3)).astype(np.float32)
        coarse += random.normal(0, 1, (size // step, size // step, 1)).astype(np.float32)
        tone += cv2.resize(coarse, (size, size), interpolation=cv2.INTER_CUBIC) * (step / size) ** 0.7
        step //= 2
    tone = tone[:down, :across]
    tone -= np.linspace(-0.8, 1.2, down, dtype=np.float32)[:, None, None]
    tone = (tone - tone.min()) / (tone.max() - tone.min())
    return np.clip(np.rint(30 + 210 * tone), 0, 255).astype(np.uint8)


@draws("resolution.line_art")
def line_art(ppi: float, rule: Rule) -> Drawn:
    """A bitmap of flat art at so many pixels an inch; the file itself says another number."""
    pixels, width = rendered(crest(), ppi)
    return Drawn(png(pixels, 72), {"width": f"{width:.4f}"})


@draws("resolution.pictures")
def picture(ppi: float, rule: Rule) -> Drawn:
    """A photograph 20 mm wide."""
    pixels = photo(round(20 / 25.4 * ppi), round(14 / 25.4 * ppi))
    return Drawn(jpeg(pixels, 96, 95), {"width": f"{pixels.shape[1] / ppi * 25.4:.4f}"})


@draws("resolution.scaled_up")
def enlarged(ratio: float, rule: Rule) -> Drawn:
    """A bitmap whose pixels were repeated so often; a ratio of 1.5 and less counts as none."""
    times = 2 if ratio > 1.5 else 1
    pixels, width = rendered(crest(), 300)
    return Drawn(png(pixels.repeat(times, 0).repeat(times, 1)), {"width": f"{width:.4f}"})


@draws("tone.halftone_ruling")
def halftone(lpi: float, rule: Rule) -> Drawn:
    """Round dots of a ruling at 45 degrees, from light to dark, 300 ppi black and white."""
    ppi, across, down = 900, 900, 500
    y, x = np.mgrid[0:down, 0:across].astype(np.float32)
    pitch = ppi / lpi
    u, v = (x + y) / math.sqrt(2) / pitch, (x - y) / math.sqrt(2) / pitch
    screen = (np.cos(2 * math.pi * u) + np.cos(2 * math.pi * v)) / 4 + 0.5
    wanted = 0.15 + 0.7 * x / across
    pixels = np.where(screen > 1 - wanted, 0, 255).astype(np.uint8)
    soft = cv2.resize(pixels, (across * 2 // 3, down * 2 // 3), interpolation=cv2.INTER_AREA)
    return Drawn(png(soft, 600), {"width": f"{across / ppi * 25.4:.4f}", "ground": "white"})


@draws("tone.soft_edges")
def soft_edge(count: float, rule: Rule) -> Drawn:
    """A shape with a soft shadow, or without."""
    pixels = np.zeros((480, 600, 4), np.uint8)
    pixels[..., :3] = (29, 43, 79)
    shape = np.zeros((480, 600), np.uint8)
    cv2.circle(shape, (300, 240), 160, 255, -1, cv2.LINE_AA)
    pixels[..., 3] = shape
    if count:
        shadow = cv2.GaussianBlur(np.roll(shape, (20, 25), (0, 1)), (0, 0), 24)
        pixels[..., 3] = np.maximum(shape, (0.7 * shadow).astype(np.uint8))
    return Drawn(png(pixels, 600), {"width": f"{321 / 600 * 25.4:.3f}" if not count else "20"})


@draws("ground.halo")
def halo(count: float, rule: Rule) -> Drawn:
    """A red badge cut out of white with a wand, its pale rim left on; or cut out cleanly."""
    size, over = 320, 4
    big = np.zeros((size * over, size * over), np.uint8)
    cv2.circle(big, (size * over // 2, size * over // 2), 140 * over, 255, -1)
    cover = cv2.resize(big, (size, size), interpolation=cv2.INTER_AREA).astype(np.float32)
    cover = cv2.GaussianBlur(cover, (0, 0), 1.6)[..., None] / 255
    red = np.array([200, 16, 46], np.float32)
    if count:
        rgb = red * cover + 255 * (1 - cover)
        alpha = np.where((255 - rgb).max(-1) < 12, 0, 255)
    else:
        rgb, alpha = np.broadcast_to(red, cover.shape[:2] + (3,)), 255 * cover[..., 0]
    pixels = np.dstack([np.rint(rgb), np.rint(alpha)]).astype(np.uint8)
    return Drawn(png(pixels, 600), {"width": "12", "ground": "#1d2b4f"})


def pasted(pixels: np.ndarray, width: float, height: float, quality: int | None = 92) -> bytes:
    """A bitmap placed on a PDF page of that size in mm."""
    document = pymupdf.open()
    page = document.new_page(width=width * 72 / 25.4, height=height * 72 / 25.4)
    page.insert_image(page.rect, stream=jpeg(pixels, 300, quality) if quality else png(pixels, 300))
    data: bytes = document.tobytes()
    document.close()
    return data


__all__: list[Any] = ["crest", "jpeg", "pasted", "photo", "png", "rendered", "tiff"]


@draws("structure.further_channels")
def spot_channels(count: float, rule: Rule) -> Drawn:
    """A picture of one colour, and channels besides that no picture shows (TIFF 6.0, ExtraSamples 0)."""
    colours = np.full((480, 480, 3), 255, np.uint8)
    cv2.circle(colours, (240, 240), 200, (20, 40, 90), -1)
    more = np.repeat(255 - colours[:, :, :1], round(count), 2)
    held = io.BytesIO()
    tifffile.imwrite(
        held, np.concatenate([colours, more], 2), photometric="rgb", resolution=(600, 600),
        extrasamples=["unspecified"] * round(count),
    )  # fmt: skip
    return Drawn(held.getvalue(), {"width": "20"})
