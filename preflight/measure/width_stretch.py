"""One narrow stretch, and whether it may be a tip: of a star, a wedge, a letter.  Everything here is in pixels."""

import math
from dataclasses import dataclass

import numpy as np

#: A stretch may be a tip that has to be looked at closer: (thinner than so many pixels, shorter than so many widths).
DOUBTFUL = ((5.0, 5.0), (9.0, 2.6))
#: A short stretch whose width grows by more than this a unit of length is a taper, as where two curves touch; and how
#: many widths are short.
TAPER, TAPER_SHORT = 0.045, 8.0
#: In a bitmap, a short stretch of at least so many points whose width grows by more than this a unit of length, from its waist
#: to both ends, is a neck: the opening of two wedges of 10 degrees.
WAIST, WAIST_POINTS = 0.17, 5
#: A bar that stands free in a bitmap may be shorter, and more of a taper, by so many times the unevenness: its sides and
#: ends lie on whole pixels.
UNEVEN_BAR = 2.0
#: What is longer than so many widths is a line anyway.
FREE_UP_TO = 16.0
#: Whether it stands free is looked up so many widths beyond its ridge, in a square that reaches so many widths.
BEYOND, AROUND = 1.5, 0.6
#: Thinner than so many pixels of a bitmap only a line of so many widths is believed: the tips of a bitmap fade away.
FAINT, FAINT_LENGTH = 1.0, 12.0
#: Thinner than so many pixels a neck is rounded by the grid, and a corner near an edge looks like one: shorter than so many
#: widths it is no line.
NECK, NECK_LENGTH = 2.0, 2.4
#: The same for a bitmap without greys, whose tips end in a pixel or two; and for a line that stands free at both ends.
STEPPED, STEPPED_FREE = ((1.2, 16.0), (2.3, 11.0)), ((1.5, 5.0),)


@dataclass(slots=True)
class Stretch:
    """A narrow stretch: its narrowest and usual width, its length, and points on its ridge with
    their width, normal and share of the length; `path` has every pixel of the ridge, (n, 2) columns and rows.

    `free`: in a bitmap, it is short and ends in the open on both sides.
    """

    width: float
    typical: float
    length: float
    x: np.ndarray
    y: np.ndarray
    widths: np.ndarray
    normals: np.ndarray
    lengths: np.ndarray
    path: np.ndarray
    free: bool = False


def doubtful_size(width: float, length: float) -> bool:
    """Could a stretch of this size, in pixels, be a tip?"""
    if width >= DOUBTFUL[-1][0]:
        return False
    return any(width < thin and length < short * width for thin, short in DOUBTFUL)


def too_short(stretch: Stretch, pixel: float, stepped: bool) -> bool:
    """Is it too thin and short to be more than a tip of a bitmap?

    Args:
        stretch: what is looked at.
        pixel: a pixel of the bitmap, in those of the stretch.
        stepped: the bitmap has no greys.
    """
    width, widths = stretch.width / pixel, stretch.length / max(stretch.width, 1e-9)
    if width < FAINT and widths < FAINT_LENGTH:
        return True
    if not stretch.free and width < NECK and widths < NECK_LENGTH:
        return True
    rules = (STEPPED_FREE if stretch.free else STEPPED) if stepped else ()
    return widths < next((least for under, least in rules if width < under), 0.0)


def waisted(stretch: Stretch) -> bool:
    """Is it short, and grows it steadily to both ends, as where a corner comes near an edge?"""
    if stretch.free or stretch.length > TAPER_SHORT * stretch.width or len(stretch.x) < WAIST_POINTS:
        return False
    place, weights = _lie(stretch)[2], np.sqrt(stretch.lengths)
    waist = float(place[int(stretch.widths.argmin())])
    # the narrowest place is where straight sides to both ends meet best
    fits = []
    for middle in np.linspace(float(place.min()), float(place.max()), 9)[2:-2].tolist() + [waist]:
        sides = np.stack([np.ones_like(place), np.abs(place - middle)], axis=1)
        (_, slope), off, rank, _ = np.linalg.lstsq(
            sides * weights[:, None], stretch.widths * weights, rcond=None
        )
        if rank == 2:
            fits.append((float(off[0]), float(slope)))
    return bool(fits) and min(fits)[1] > WAIST


def tapers(stretch: Stretch, uneven: float = 0.0) -> bool:
    """Is it short, and grows it steadily from one end to the other?

    Args:
        stretch: what is looked at.
        uneven: pixels by which widths may differ for the steps of a bitmap.
    """
    if stretch.length > TAPER_SHORT * stretch.width:
        return False
    weights = stretch.lengths
    total = float(weights.sum())
    if total <= 0:
        return False
    off = stretch.widths - float(weights @ stretch.widths) / total
    place = _lie(stretch)[2]
    spread = float((weights * place) @ place)
    most = TAPER + (UNEVEN_BAR * uneven / stretch.length if stretch.free else 0.0)
    return spread > 0 and abs(float((weights * place) @ off)) > most * spread


def stands_free(cover: np.ndarray, stretch: Stretch, uneven: float) -> bool:
    """Does a short stretch end in the open on both sides, as a bar does and a tip does not?"""
    if stretch.length > FREE_UP_TO * stretch.width or float(stretch.lengths.sum()) <= 0:
        return False
    for left, top, right, bottom in beyond_ends(stretch, uneven):
        around = cover[max(0, top) : max(0, bottom), max(0, left) : max(0, right)]
        if not around.size or int(around.max()) > 127:
            return False
    return True


def beyond_ends(stretch: Stretch, uneven: float) -> list[tuple[int, int, int, int]]:
    """Where it has to be bare beyond its two ends: left, top, right, bottom."""
    (x, y), (dx, dy) = _lie(stretch)[0], _along(stretch)
    place = dx * (stretch.x - x) + dy * (stretch.y - y)
    beyond = BEYOND * stretch.typical + UNEVEN_BAR * uneven
    reach = max(1, round(AROUND * stretch.typical))
    ends = (float(place.min()) - beyond, float(place.max()) + beyond)
    return [
        (column - reach, row - reach, column + reach + 1, row + reach + 1)
        for column, row in ((round(x + end * dx), round(y + end * dy)) for end in ends)
    ]


def _along(stretch: Stretch) -> tuple[float, float]:
    """The direction across its normals: points of a ridge no longer than it is thick don't tell which way it runs."""
    twice = 2 * np.arctan2(stretch.normals[:, 1], stretch.normals[:, 0])
    weights = stretch.lengths
    turn = 0.5 * math.atan2(float(weights @ np.sin(twice)), float(weights @ np.cos(twice)))
    return -math.sin(turn), math.cos(turn)


def _lie(stretch: Stretch) -> tuple[tuple[float, float], tuple[float, float], np.ndarray]:
    """Middle of a stretch, the direction of its longer axis, and where along that its points are."""
    weights = stretch.lengths
    total = float(weights.sum())
    middle = float(weights @ stretch.x) / total, float(weights @ stretch.y) / total
    x, y = stretch.x - middle[0], stretch.y - middle[1]
    weighted_x, weighted_y = weights * x, weights * y
    turn = 0.5 * math.atan2(2 * float(weighted_x @ y), float(weighted_x @ x) - float(weighted_y @ y))
    direction = math.cos(turn), math.sin(turn)
    return middle, direction, direction[0] * x + direction[1] * y
