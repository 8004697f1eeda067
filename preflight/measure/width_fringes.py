"""Fringes: pixels of a bitmap where two colours blend into what looks like a third ink.

A pixel on the edge between blue and white is light blue.  Where the art has a light blue of its own, such pixels are taken for
it here and there, a pixel wide, and make lines and specks that nobody drew.  JPEG keeps colour at half the resolution of
lightness (ITU-T T.81; common practice), so that along an edge it leaves pixels lighter or darker than either of the two, but of
their hue.
"""

from itertools import combinations

import cv2
import numpy as np

from preflight.artwork import Artwork, Ink
from preflight.colour import rgb_of
from preflight.measure.width_narrow import Narrow
from preflight.measure.width_source import Window, pixel_of, render

#: Pixels of the bitmap: what is wider is no fringe; how far round its narrowest place is looked; how many a pixel is drawn with.
WIDEST, AROUND, FINE = 2.0, 8, 3
#: Of the ring round it, so far from its edge in pixels of the bitmap, another colour has at least this part.
RING, BESIDE = (0.7, 2.4), 0.12
#: A blend has between so much and so much of one of its two colours, and differs from it by so many steps of sRGB at most.
SHARE, NEAR = (0.12, 0.88), 30.0
#: Two colours are of one hue: CIE 1976 chroma of both at least, and degrees between their hues at most.
CHROMATIC, ONE_HUE = 15.0, 25.0
#: Places along a line that are looked at; most have to be fringe.
PLACES = 5


def without_fringes(art: Artwork, things: list[Narrow]) -> list[Narrow]:
    """The narrow things less lines and specks of a bitmap that are the blended edge of two other colours."""
    pixel = pixel_of(art)
    if not pixel or len(art.inks) < 2:
        return things
    return [
        one
        for one in things
        if one.kind not in ("line", "speck") or one.width >= WIDEST * pixel or not _judged(art, one, pixel)
    ]


def _judged(art: Artwork, one: Narrow, pixel: float) -> bool:
    return bool(art.once(("widths.fringe", one.kind, one.inks, one.box), lambda: _is_fringe(art, one, pixel)))


def _is_fringe(art: Artwork, one: Narrow, pixel: float) -> bool:
    places = one.points[np.unique(np.linspace(0, len(one.points) - 1, PLACES).astype(int))]
    return 2 * sum(_is_fringe_at(art, one, (float(x), float(y)), pixel) for x, y in places) > len(places)


def _is_fringe_at(art: Artwork, one: Narrow, at: tuple[float, float], pixel: float) -> bool:
    density = FINE / pixel
    half = AROUND * FINE
    window = Window(round(at[0] * density) - half, round(at[1] * density) - half, 2 * half, 2 * half)
    own = cv2.threshold(render(art, one.inks[0], window, density), 127, 255, cv2.THRESH_BINARY)[1]
    near, far = (_disc(round(reach * FINE)) for reach in RING)
    middle = np.zeros_like(own)
    cv2.circle(middle, (half, half), round(WIDEST * FINE), 255, -1)
    ring = cv2.subtract(cv2.dilate(cv2.bitwise_and(own, middle), far), cv2.dilate(own, near)) > 0
    if not ring.any():
        return False
    beside: list[str] = []
    bare = ring.copy()
    for ink in art.inks:
        if ink.number in one.inks:
            continue
        held = render(art, ink.number, window, density) > 127
        bare &= ~held
        if (held & ring).sum() >= BESIDE * ring.sum():
            beside.append(ink.hex)
    if bare.sum() >= BESIDE * ring.sum():
        beside.append(art.ground)
    ink = next(ink for ink in art.inks if ink.number == one.inks[0])
    if any(_is_blend(ink.hex, first, second) for first, second in combinations(beside, 2)):
        return True
    alike = any(_of_one_hue(ink, other) for other in art.inks if other.hex in beside)
    return len(beside) > 1 and alike and _is_lossy(art)


def _is_lossy(art: Artwork) -> bool:
    # of a WebP nothing tells here whether it is; most are
    return art.format == "webp" or any(picture.jpeg_quality is not None for picture in art.pictures)


def _of_one_hue(one: Ink, other: Ink) -> bool:
    (_, a, b), (_, c, d) = one.lab, other.lab
    if min(np.hypot(a, b), np.hypot(c, d)) < CHROMATIC:
        return False
    apart = abs(np.degrees(np.arctan2(b, a) - np.arctan2(d, c)))
    return bool(min(apart, 360 - apart) <= ONE_HUE)


def _disc(reach: int) -> np.ndarray:
    return cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (2 * reach + 1,) * 2)


def _is_blend(colour: str, first: str, second: str) -> bool:
    """Does a colour lie between two others, all as hex?"""
    own, low, high = (np.array(rgb_of(shade), float) for shade in (colour, first, second))
    way = high - low
    length = float(way @ way)
    share = float((own - low) @ way) / length if length else 0.0
    return SHARE[0] <= share <= SHARE[1] and float(np.linalg.norm(own - low - share * way)) <= NEAR
