"""What the pixels of a bitmap say: inks, fades, halftones, true detail.  Arrays in, plain data out; no page, no mm."""

import cv2

from preflight.pixels.plates import disturbance, plates
from preflight.pixels.stairs import smoothed, without_greys
from preflight.pixels.survey import analyse
from preflight.pixels.tone import PixelBox, PixelFade, PixelInk, Tone

cv2.setNumThreads(1)  # many jobs run beside each other, one a core

__all__ = [
    "PixelBox",
    "PixelFade",
    "PixelInk",
    "Tone",
    "analyse",
    "disturbance",
    "plates",
    "smoothed",
    "without_greys",
]
