"""Slivers: colour that peeps out a hair beside another colour drawn over its edge, as fills do beneath an outline, or the ground
between two colours that are to meet.

A colour field is drawn a little past the outline that covers its edge, by a hundredth of a millimetre here and there.  Any
shift between the two colours is greater, so that nobody will see it, and no craftsman would send the art back.  A thin line
that is meant lies on one colour, or is as wide all along; a stroke's width is known from its pen and never in doubt.
"""

import math

import cv2
import numpy as np

from preflight.artwork import Artwork
from preflight.measure.width_filled import may_reach
from preflight.measure.width_narrow import Narrow
from preflight.measure.width_source import Window, label_type, render

#: Mm: colours shift against each other by this much at the least (handbook section 17: 0.05 to 0.1 from colour to white, 0.1 to
#: 0.2 in one jig, from memory).
SHIFT = 0.1
#: Mm: beside another colour nothing so thin is meant, however even it is: a thread of the finest mesh has 0.034 (handbook).
HAIR = 0.03
#: Pixels across its narrowest place, and how many times its width is looked at on either side of its middle: close by, and again
#: from farther off, as a long one is even for a while; and pixels looked at in all.
CLOSE, FAR, BUDGET = (6.0, 60.0), (2.5, 250.0), 20_000_000
#: What is thinner than so many shifts hangs together; the rest of its colour does not belong to it.
TAIL = 1.2
#: Pixels from its edge in which the colours beside it are looked up, past the blended ones.
RING = (2, 4)
#: A colour beside it has at least this part of the ring; so much of it has to lie between two of them.
BESIDE, BETWEEN = 0.1, 0.6
#: Mean width by greatest: 1 for a line, 2/3 for two arcs that cross, 1/2 for a wedge.  So much of it is narrower than what counts
#: as its greatest, which leaves out its corners.
TAPERS, GREATEST = 0.85, 0.9
#: A width is the mean of a square of so many pixels, or so many times the greatest; an outline's length is taken between points
#: so far apart, past its stairs.
MEAN_OF, CHORD = (24, 3.0), 6
_SQUARE = np.ones((3, 3), np.uint8)


def without_slivers(art: Artwork, things: list[Narrow]) -> list[Narrow]:
    """The narrow things less lines and specks that are slivers beside another ink, and less bare slivers between two inks.

    Inks with a bare sliver between them count as touching where their overlap is measured.

    Args:
        art: whose plates are exact; a bitmap has none so thin.
        things: thinnest first.
    """
    if len(art.inks) < 2 or art.composite:
        return things
    left = art.once("widths.slivers left", lambda: [BUDGET])
    return [one for one in things if not (_may_be(one) and _judged(art, one, left))]


def _may_be(one: Narrow) -> bool:
    # a pen's line has no one place
    return one.kind in ("line", "speck", "between") and one.width < SHIFT and any(one.place)


def _judged(art: Artwork, one: Narrow, left: list[int]) -> bool:
    return bool(
        art.once(
            ("widths.sliver", one.kind, one.inks, one.place, one.box), lambda: _is_sliver(art, one, left)
        )
    )


def _is_sliver(art: Artwork, one: Narrow, left: list[int]) -> bool:
    bare = one.kind == "between"
    others = [ink.number for ink in art.inks if ink.number not in one.inks]
    if not bare and not any(may_reach(art, number, one) for number in others):
        return False
    for look in (CLOSE, FAR):
        density, window = _window(art, one, *look)
        left[0] -= window.width * window.height
        if left[0] < 0:
            return False  # too many of them
        cover = render(art, None if bare else one.inks[0], window, density)
        cover = cv2.bitwise_not(cover) if bare else cover
        piece = _piece(cover, one, window, density)
        if piece is None:
            return False
        if look is CLOSE and not bare and not _lies_between(art, cover, piece, window, density):
            return False
        if one.width < HAIR or _tapers(cover, piece):
            return True
    return False


def _window(art: Artwork, one: Narrow, across: float, widths: float) -> tuple[float, Window]:
    """Pixels a mm, and the window round its middle as far as the art goes."""
    density = across / one.width
    size = art.width_mm, art.height_mm
    # its ends lie where the colours meet, and are no example of what lies beside it
    off = one.points - one.points.mean(axis=0)
    middle = one.points[int((off**2).sum(axis=1).argmin())].tolist()
    low = [max(-SHIFT, at - widths * one.width) for at in middle]
    high = [min(most + SHIFT, at + widths * one.width) for at, most in zip(middle, size, strict=True)]
    return density, Window(
        math.floor(low[0] * density), math.floor(low[1] * density),
        math.ceil((high[0] - low[0]) * density), math.ceil((high[1] - low[1]) * density),
    )  # fmt: skip


def _piece(cover: np.ndarray, one: Narrow, window: Window, density: float) -> np.ndarray | None:
    """What is thin in a plate and holds the thing, uint8 0 or 255."""
    shape = cv2.threshold(cover, 127, 255, cv2.THRESH_BINARY)[1]
    side = math.ceil(TAIL * SHIFT * density) | 1
    # edges beyond the window may be anything: what lies there is no end of the thing
    wide = cv2.morphologyEx(
        shape, cv2.MORPH_OPEN, cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (side, side)), borderType=cv2.BORDER_REPLICATE
    )  # fmt: skip
    thin = cv2.subtract(shape, wide)
    _, labels = cv2.connectedComponents(thin, connectivity=8, ltype=label_type(cv2.countNonZero(thin)))
    at = np.floor(one.points * density).astype(int) - (window.x, window.y)
    at = at[(at >= 0).all(axis=1) & (at < (window.width, window.height)).all(axis=1)]
    own = labels[at[:, 1], at[:, 0]]
    own = own[own > 0]
    if not len(own):
        return None
    return np.where(labels == np.bincount(own).argmax(), np.uint8(255), np.uint8(0))


def _tapers(cover: np.ndarray, piece: np.ndarray) -> bool:
    """Is it much thinner for the most part than where it is widest?"""
    contours, _ = cv2.findContours(piece, cv2.RETR_CCOMP, cv2.CHAIN_APPROX_NONE)
    length = np.zeros(piece.shape, np.float32)  # of half its outline
    for contour in contours:
        points = contour.reshape(-1, 2)
        chord = points - np.roll(points, min(CHORD, len(points) // 2), axis=0)
        steps = np.hypot(*chord.T) / max(1, min(CHORD, len(points) // 2))
        np.add.at(length, (points[:, 1], points[:, 0]), (steps / 2).astype(np.float32))
    area = np.where(cv2.dilate(piece, _SQUARE) > 0, cover, 0).astype(np.float32) / 255
    widest = 2 * cv2.minMaxLoc(cv2.distanceTransform(piece, cv2.DIST_L2, 5))[1]
    side = max(MEAN_OF[0], math.ceil(MEAN_OF[1] * widest)) | 1
    near_area, near_length = (
        cv2.boxFilter(each, -1, (side, side), normalize=False, borderType=cv2.BORDER_CONSTANT) for each in (area, length)
    )  # fmt: skip
    seen = (piece > 0) & (near_length >= side / 2)
    if not seen.any():
        return True  # shorter than it is wide: a crumb
    widths = near_area[seen] / near_length[seen]
    return float(area.sum() / length.sum()) < TAPERS * float(np.quantile(widths, GREATEST))


def _lies_between(art: Artwork, cover: np.ndarray, piece: np.ndarray, window: Window, density: float) -> bool:
    """Does one colour lie along one of its sides, and another colour or the bare ground along the other?"""
    near, far = (cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (2 * r + 1,) * 2) for r in RING)
    own = cv2.threshold(cover, 0, 255, cv2.THRESH_BINARY)[1]
    ring = cv2.subtract(cv2.dilate(piece, far), cv2.dilate(own, near)) > 0
    look = art.picture(window.box(density), density)[: window.height, : window.width]
    if look.shape[:2] != ring.shape or not ring.any():
        return False
    shades = look[..., 0].astype(np.int32) << 16 | look[..., 1].astype(np.int32) << 8 | look[..., 2]
    found, count = np.unique(shades[ring], return_counts=True)
    beside = found[count >= BESIDE * count.sum()]
    if len(beside) < 2:
        return False
    reach = 2 * cv2.minMaxLoc(cv2.distanceTransform(piece, cv2.DIST_L2, 5))[1] + RING[1]
    hit = np.zeros(piece.shape, np.uint8)
    for shade in beside:
        away = cv2.distanceTransform(
            np.where(ring & (shades == shade), np.uint8(0), np.uint8(255)), cv2.DIST_L2, 5
        )
        hit += away <= reach
    return float((hit[piece > 0] >= 2).mean()) >= BETWEEN
