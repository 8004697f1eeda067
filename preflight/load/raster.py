"""A bitmap file becomes Artwork: its colours are the inks, its pixels the plates."""

import cv2
import numpy as np

from preflight import colour, pixels
from preflight.artwork import Artwork, Box, Fact, Fade, Mark, Picture
from preflight.load.bitmap import Bitmap
from preflight.load.bounds import art_bounds
from preflight.load.inking import Inking, Request
from preflight.load.plates import ALL, TONE, PixelPlates, farthest
from preflight.load.structure import at_bounds

#: A file that does not say its resolution is taken at the 96 pixels an inch of the web (CSS Values and Units 3).
UNSTATED_PPI = 96.0


def artwork_of(bitmap: Bitmap, ground: str | None, page: int = 1) -> Artwork:
    """The bitmap at the size its own resolution gives, origin at the art bounds."""
    height, width = bitmap.rgb.shape[:2]
    ppi = bitmap.ppi or (UNSTATED_PPI, UNSTATED_PPI)
    density = (ppi[0] / 25.4, ppi[1] / 25.4)
    sheet: Box = (0.0, 0.0, width / density[0], height / density[1])
    tone = pixels.analyse(
        bitmap.rgb, bitmap.alpha, lossy=bitmap.lossy, quality=bitmap.jpeg_quality, bilevel=bitmap.bits == 1
    )
    inking, plates = _plates(bitmap, tone, ground or "#ffffff", True)
    if ground is None and not plates[ALL].any():
        inking, plates = _plates(bitmap, tone, "#ffffff", False)  # white art whose ground nobody stated
    screened = any(fade.kind == "halftone" for fade in tone.fades)  # the dots of a screen are no stairs
    stepped = not screened and any(pixels.without_greys(cover) for cover in plates.values())
    if stepped:
        plates = {number: pixels.smoothed(cover) for number, cover in plates.items()}
    drawer = PixelPlates(plates, bitmap.rgb, bitmap.alpha, density, stepped=stepped)
    box = _whole_pixels(art_bounds(drawer, sheet) or sheet, density)
    inks = tuple(ink for ink in inking.inks() if plates[ink.number].any())
    fades = []
    for fade in tone.fades:
        place: Box = (
            fade.box[0] / density[0], fade.box[1] / density[1], fade.box[2] / density[0], fade.box[3] / density[1],
        )  # fmt: skip
        fades.append(
            Fade(fade.kind, place, fade.share, fade.sure, ppi[0] / fade.period if fade.period else None)
        )
    flat = len(tone.inks) == 1 and not tone.fades and bitmap.alpha is None
    picture = Picture(
        (width, height), sheet, ppi, (ppi[0] / tone.enlargement, ppi[1] / tone.enlargement), bitmap.bits, bitmap.space,
        bitmap.alpha is not None, False, flat, bitmap.jpeg_quality, tone,
    )  # fmt: skip
    facts = tuple(bitmap.facts)
    if bitmap.ppi is None:
        facts += (Fact("unsized", "The file does not say how large it is; its pixels alone were counted."),)
    art = Artwork(
        format=bitmap.format, kind="bitmap", page=page, pages=bitmap.pages, width_mm=sheet[2], height_mm=sheet[3],
        file_width_mm=sheet[2], file_height_mm=sheet[3], ground=ground or "#ffffff", inks=inks,
        marks=(Mark("picture", box),), text=(), pictures=(picture,), fonts=(), fades=tuple(fades), facts=facts,
        plates=drawer, page_box=sheet, composite=True, plate_ppi=min(ppi),
    )  # fmt: skip
    return at_bounds(art, box)


def _whole_pixels(box: Box, density: tuple[float, float]) -> Box:
    """A box reaching to the outer sides of the pixels it ends in: a soft edge pixel is part of the picture."""
    near = 0.02  # of a pixel
    x0, y0 = np.floor(box[0] * density[0] + near), np.floor(box[1] * density[1] + near)
    x1, y1 = np.ceil(box[2] * density[0] - near), np.ceil(box[3] * density[1] - near)
    return (float(x0 / density[0]), float(y0 / density[1]), float(x1 / density[0]), float(y1 / density[1]))


def _plates(
    bitmap: Bitmap, tone: pixels.Tone, ground: str, paper: bool
) -> tuple[Inking, dict[int, np.ndarray]]:
    inking = Inking(ground, paper)
    height, width = bitmap.rgb.shape[:2]
    art = bitmap.alpha.copy() if bitmap.alpha is not None else np.full((height, width), 255, np.uint8)
    plates: dict[int, np.ndarray] = {}
    if tone.continuous:
        # a sheet around a picture has the colour of the ground, and is not produced
        if paper:
            art[farthest(bitmap.rgb, colour.rgb_of(ground)) <= 6] = 0
        plates[ALL], plates[TONE] = art, art
        return inking, plates
    looks = [colour.rgb_of(ink.hex) for ink in tone.inks]
    requests = [
        Request(
            rgb,
            ink.share,
            kind="rgb",
            lossy=bitmap.lossy,
            lab=bitmap.source.lab(rgb) if bitmap.source else None,
        )
        for rgb, ink in zip(looks, tone.inks, strict=True)
    ]
    inking.add(requests)
    disturbed = pixels.disturbance(bitmap.lossy, bitmap.jpeg_quality)
    covers = pixels.plates(bitmap.rgb, bitmap.alpha, tone.inks, disturbed, tone.dithered)
    for request, cover in zip(requests, covers, strict=True):
        number = inking.ink_of(request)
        if number is None:
            art = cv2.subtract(art, cover)
        else:
            plates[number] = cv2.add(plates[number], cover) if number in plates else cover
    plates[ALL], plates[TONE] = art, np.zeros_like(art)
    return inking, plates
