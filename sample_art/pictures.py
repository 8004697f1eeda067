"""Pictures made of pixels: a dawn over the marsh, a web banner, one-bit line art."""

import designs
import numpy as np
from designs import MARSH, OCHRE, RED, SAND, SLATE, TIDE
from letters import line
from motifs import kite, reeds, swell
from PIL import Image
from shapes import panel, within
from writers import Drawing, coverage, flattened, pixels, saved

PPI = 300


def _noise(rng: np.random.Generator, height: int, width: int, across: float, down: float) -> np.ndarray:
    """Soft noise from 0 to 1, its grains `across` x `down` pixels."""
    rows, columns = np.fft.fftfreq(height)[:, None], np.fft.rfftfreq(width)[None]
    field = np.fft.irfft2(
        np.fft.rfft2(rng.random((height, width))) * np.exp(-((columns * across) ** 2) - (rows * down) ** 2),
        (height, width),
    )
    low, high = np.percentile(field, (1, 99))
    return np.clip((field - low) / (high - low), 0, 1)


def dawn(width: int, height: int) -> np.ndarray:
    """A marsh at dawn in RGB, 0 to 1: sky, sun, far banks, water with its glitter, reeds, grain."""
    rng = np.random.default_rng(7)
    y, x = np.mgrid[0:height, 0:width] / height
    horizon, sun = 0.56, (0.98, 0.47)
    stops = np.array([0, 0.22, 0.42, 0.56])
    sky = np.stack([np.interp(y, stops, channel) for channel in np.array(
        [(0.25, 0.41, 0.55), (0.55, 0.62, 0.68), (0.94, 0.74, 0.56), (0.99, 0.83, 0.60)]).T], axis=-1)  # fmt: skip
    far = np.hypot(x - sun[0], (y - sun[1]) * 1.1)
    clouds = (_noise(rng, height, width, 260, 40) ** 2 * np.exp(-(((y - 0.25) / 0.16) ** 2)))[..., None]
    sky = sky * (1 - 0.55 * clouds) + np.array([0.98, 0.78, 0.66]) * 0.55 * clouds
    glow = np.exp(-far / 0.16)[..., None]
    sky = sky + glow * np.array([0.35, 0.22, 0.06])
    disc = np.clip((0.055 - far) * height / 2, 0, 1)[..., None]
    sky = sky * (1 - disc) + np.array([1.0, 0.93, 0.74]) * disc
    for level, shade, rough in ((0.535, (0.60, 0.56, 0.55), 90), (0.552, (0.34, 0.38, 0.40), 40)):
        ridge = level - 0.022 * _noise(rng, 1, width, rough, 0)[0] - 0.005 * _noise(rng, 1, width, 7, 0)[0]
        bank = np.clip((y - ridge) * height, 0, 1)[..., None]
        sky = sky * (1 - bank) + np.array(shade) * bank
    # Water: the sky upside down, broken by ripples that lengthen towards the viewer.
    depth = np.clip((y - horizon) / (1 - horizon), 0, 1)
    ripple = _noise(rng, height, width, 60, 3.5) - 0.5
    mirror = np.clip(2 * horizon - y * 1.15 + 0.085 + ripple * 0.16 * (0.25 + depth), 0, horizon - 0.03)
    water = sky[
        (mirror * (height - 1)).astype(int),
        np.clip(np.arange(width)[None] + (ripple * 40 * depth).astype(int), 0, width - 1),
    ]
    water = water * (0.82 - 0.25 * depth[..., None]) + np.array([0.02, 0.06, 0.08])
    path = np.exp(-(((x - sun[0]) / (0.03 + 0.16 * depth)) ** 2)) * (ripple > 0.08 + 0.2 * depth)
    water = water + path[..., None] * np.array([0.42, 0.30, 0.14])
    picture = np.where((y > horizon)[..., None], water, sky)
    # Reeds before it all, and three kites far off.
    per_mm = PPI / 25.4
    mm_w, mm_h = width / per_mm, height / per_mm
    for count, low, high, tone in (
        (18, 0.24, 0.38, (0.17, 0.23, 0.24)),
        (13, 0.34, 0.58, (0.03, 0.05, 0.055)),
    ):
        for _ in range(count):
            side = rng.random()
            place = mm_w * (0.24 * side**1.2 if rng.random() < 0.62 else 1 - 0.18 * side)
            scale = mm_h * (low + (high - low) * rng.random()) / 100 * 1.3
            tuft = reeds(1.2, 0.55, 4, 0.42).at(place, mm_h * (1.02 - 0.4 * low), scale,
                                 turn=float(rng.normal(0, 6)), mirror=bool(rng.random() < 0.5))  # fmt: skip
            cover = coverage(tuft, width, height, per_mm, 2)[..., None]
            picture = picture * (1 - cover) + np.array(tone) * cover
    for px, py, scale, turn in ((0.36, 0.17, 0.075, 18), (0.50, 0.28, 0.045, -10), (0.60, 0.13, 0.055, 8)):
        first, second, tail = kite(gap=0, bows=2)
        for part, tone in (
            (tail, (0.25, 0.24, 0.26)),
            (second, (0.86, 0.70, 0.48)),
            (first, (0.72, 0.22, 0.18)),
        ):
            cover = coverage(
                part.at(mm_w * px, mm_h * py, scale=scale * mm_h / 32, turn=turn), width, height, per_mm, 3
            )[..., None]
            picture = picture * (1 - cover) + np.array(tone) * cover
    grain = rng.normal(0, 0.012, (height, width, 1))
    return np.clip(picture + grain, 0, 1)


def marsh_dawn() -> bytes:
    """The dawn as a CMYK TIFF, 72 x 48 mm at 300 ppi; under-colour removal by hand, no profile."""
    width, height = round(72 / 25.4 * PPI), round(48 / 25.4 * PPI)
    cmy = 1 - dawn(width, height)
    black = np.clip(cmy.min(axis=2, keepdims=True) - 0.2, 0, 1)
    inks = np.concatenate([np.clip(cmy - black, 0, 1), black], axis=2)
    picture = Image.fromarray(np.rint(inks * 255).astype(np.uint8), "CMYK")
    return saved(picture, "TIFF", compression="tiff_adobe_deflate", dpi=(PPI, PPI), tiffinfo={317: 2})


def web_banner() -> bytes:
    """The fair's name as a web page has it: 340 x 150 pixels, strongly compressed."""
    per_mm, w, h = 72 / 25.4, 120.0, 53.0
    drawing = Drawing(w, h).add(panel(0, 0, w, h), SAND)
    drawing.add(within(swell(0, w, 42, 2.2, 13, h), panel(0, 0, w, h)), TIDE)
    first, second, tail = (part.at(19, 20, scale=0.31, turn=14) for part in kite(gap=0, bows=2))
    drawing.add(tail, SLATE).add(second, OCHRE).add(first, RED)
    drawing.add(line("SALTMARSH", 9, spacing=0.7, x=76, y=20), MARSH)
    drawing.add(line("KITE FAIR", 9, spacing=1.9, x=76, y=33.5), MARSH)
    assert round(w * per_mm) == 340
    return saved(flattened(pixels(drawing, 72)), "JPEG", quality=38)


def one_bit() -> bytes:
    """The curlew's mark in black and white pixels of 600 ppi."""
    drawing = designs.fitted(designs.curlew_mark(45, designs.BLACK), 45)
    grey = flattened(pixels(drawing, 600, fine=2)).convert("L")
    return saved(
        grey.point(lambda v: 255 if v > 127 else 0).convert("1"), "TIFF", compression="group4", dpi=(600, 600)
    )
