"""Inks of marks so thin that no pixel lies flat inside them: small lettering, hairlines, a blurred scan's writing.

Such a mark is all edge.  Its pixels are no mixture of the inks already known; they are mixtures of one of those with an
ink whose colour the strongest pixels come nearest to.
"""

import cv2
import numpy as np

from preflight.pixels.inks import Colour
from preflight.pixels.lab import lab_of_colours
from preflight.pixels.mixture import Palette, unexplained

#: Distance from every mixture of known inks that tells a mark, sRGB, and as a part of the contrast of the edge it may be of.
MARK, MARK_RELATIVE = 40.0, 0.15
#: The same in pictures compressed with loss.
MARK_LOSSY, MARK_RELATIVE_LOSSY = 45.0, 0.22
#: Inks further away than this many pixels do not mix.
REACH = 4
#: Pixels that an ink of thin marks has at least, as a number and as a share of the picture; and where nothing else was found.
LEAST_PIXELS, LEAST_SHARE, LEAST_SHARE_LOSSY, LEAST_ALONE = 40, 0.0003, 0.0008, 16
#: A mark has this many pixels that touch each other; less is a speck of noise.
LEAST_MARK = 6
#: Marks are thin when so large a part of them is gone after an opening by this many pixels.
THIN_SIDE, THIN_PART = 8, 0.85
#: Marks that are thicker have a colour: so large a part of their pixels is this near to it, sRGB.
PLATEAU, PLATEAU_PART = 30.0, 0.4
#: Or lines in it take turns with the sheet: in squares of so many pixels both are met, in this part of the place at least.
LINED_SIDE, LINED_HIGH, LINED_LOW, LINED_PART = 9, 0.7, 0.3, 0.7
#: The strongest of a mark's pixels, this part of them, show its ink: not the very strongest, which sharpening and
#: compression make, but the farthest distance (in steps of BIN, sRGB) that is met this often, against the most frequent.
STRONGEST, BIN, TOLD = 0.3, 12.0, 0.5
#: So many inks of thin marks are looked for, and they explain this part of all that is strange: else it is a photograph.
MOST_THIN, EXPLAINED = 3, 0.85
#: Inks of less than this part of the picture may be such edges.
EDGE_SHARE = 0.004
#: An ink is new when it is this far from any known one, sRGB.
NEW = 45.0


def thin_inks(
    rgb: np.ndarray,
    known: list[Colour],
    usable: np.ndarray | None,
    lossy: bool,
    alone: bool,
    thick: bool = True,
) -> list[Colour]:
    """Inks that only thin marks are printed in, those with most pixels first.

    Args:
        rgb: uint8 (h, w, 3).
        known: the inks found so far, with their `rgb`; at least one.
        usable: bool (h, w), pixels that may hold a mark; None for all.
        lossy: compressed with loss, or as noisy.
        alone: nothing but the sheet was found, so whatever differs from it is the art.
        thick: marks may be thicker than that, where compression has left no pixel flat in them.
    """
    colours = np.array([colour.rgb for colour in known], np.float32)
    tolerance = (MARK_LOSSY, MARK_RELATIVE_LOSSY) if lossy and not alone else (MARK, MARK_RELATIVE)
    palette = Palette(colours)
    strange = unexplained(rgb, palette, *tolerance, REACH, thin=1.0)
    if usable is not None:
        strange &= usable
    strange = _without_specks(strange)
    total = int(strange.size if usable is None else usable.sum())
    least = LEAST_ALONE if alone else max(LEAST_PIXELS, (LEAST_SHARE_LOSSY if lossy else LEAST_SHARE) * total)
    count = int(np.count_nonzero(strange))
    if count < least:
        return []
    thin = alone or _is_thin(strange)
    if not thin and not thick:
        return []
    ys, xs = np.nonzero(strange)
    pixels = rgb[strange].astype(np.float32)
    left = np.ones(len(pixels), bool)
    found: list[Colour] = []
    for _ in range(MOST_THIN):
        if left.sum() < least:
            break
        ink = _strongest(pixels[left], colours)
        if np.linalg.norm(colours - ink, axis=1).min() < NEW:
            break
        explained = left & _on_a_line(pixels, ink, colours, tolerance)
        core = int(explained.sum())
        left &= ~explained
        if not thin and not (
            np.mean(np.linalg.norm(pixels[explained] - ink, axis=1) < PLATEAU) > PLATEAU_PART
            or _is_lined(rgb, (ys[explained], xs[explained]), ink, colours)
        ):
            break
        colours = np.vstack([colours, ink])
        if core >= least:
            red, green, blue = (float(v) for v in ink)
            found.append(Colour(lab_of_colours(ink[None])[0], core, core, core, 1, (red, green, blue)))
    if not found or (not alone and left.mean() > 1 - EXPLAINED):
        return []
    own = [
        ink for ink in found
        if not any(_is_mixture(ink, other, colour, tolerance) for other in found if other is not ink for colour in known)
    ]  # fmt: skip
    return sorted(own, key=lambda colour: -colour.core)


def without_edges(known: list[Colour], found: list[Colour], total: int) -> list[Colour]:
    """The known inks without small ones that are but the blurred edge of a thin mark's ink on one of the larger."""
    small = EDGE_SHARE * total
    large = [colour for colour in known if colour.core >= small]
    return [
        colour
        for colour in known
        if colour.core >= small
        or not any(
            _is_mixture(colour, ink, other, (MARK_LOSSY, MARK_RELATIVE_LOSSY))
            for ink in found
            for other in large
        )
    ]


def _is_mixture(ink: Colour, other: Colour, known: Colour, tolerance: tuple[float, float]) -> bool:
    """Whether an ink is but the edge of another one on a known one."""
    ends = np.array([known.rgb], np.float32), np.array(other.rgb, np.float32)
    middle = np.array([ink.rgb], np.float32)
    nearer = np.linalg.norm(middle - ends[0]) < np.linalg.norm(ends[1] - ends[0])
    return bool(nearer and _on_a_line(middle, ends[1], ends[0], tolerance)[0])


def _strongest(pixels: np.ndarray, colours: np.ndarray) -> np.ndarray:
    """The colour of the pixels that lie farthest from every known ink."""
    apart = np.linalg.norm(pixels[:, None] - colours[None], axis=2).min(1)
    farthest = apart >= np.quantile(apart, 1 - STRONGEST)
    bins = (apart[farthest] / BIN).astype(int)
    counts = np.bincount(bins)
    told = int(np.flatnonzero(counts >= TOLD * counts.max()).max())
    shown = pixels[farthest][np.abs(bins - told) <= 1]
    middle = np.median(shown, 0)
    near = np.linalg.norm(shown - middle, axis=1)
    return np.asarray(np.median(shown[near <= np.median(near) + 1], 0), np.float32)


def _on_a_line(
    pixels: np.ndarray, ink: np.ndarray, colours: np.ndarray, tolerance: tuple[float, float]
) -> np.ndarray:
    """Which pixels are mixtures of an ink with one of the known colours."""
    on = np.zeros(len(pixels), bool)
    for colour in colours:
        along = ink - colour
        part = np.clip((pixels - colour) @ along / max(float(along @ along), 1e-6), 0, 1)
        aside = np.linalg.norm(pixels - colour - part[:, None] * along, axis=1)
        on |= aside < max(tolerance[0], tolerance[1] * float(np.linalg.norm(along)))
    return on


def _without_specks(mask: np.ndarray) -> np.ndarray:
    """The mask without its smallest pieces."""
    _, labels, stats, _ = cv2.connectedComponentsWithStats(mask.astype(np.uint8), connectivity=8)
    kept = stats[:, cv2.CC_STAT_AREA] >= LEAST_MARK
    kept[0] = False
    return np.asarray(kept[labels])


def _is_lined(
    rgb: np.ndarray, places: tuple[np.ndarray, np.ndarray], ink: np.ndarray, colours: np.ndarray
) -> bool:
    """Whether an ink and what it lies on take turns everywhere among the pixels at (rows, columns): hatching, or dots."""
    ys, xs = places
    top, left = max(0, int(ys.min()) - LINED_SIDE), max(0, int(xs.min()) - LINED_SIDE)
    window = rgb[top : int(ys.max()) + LINED_SIDE, left : int(xs.max()) + LINED_SIDE].astype(np.float32)
    kernel = np.ones((LINED_SIDE, LINED_SIDE), np.uint8)
    at = (ys - top, xs - left)
    for colour in colours:
        along = ink - colour
        part = (window - colour) @ (along / max(float(along @ along), 1e-6))
        high, low = cv2.dilate(part, kernel)[at], cv2.erode(part, kernel)[at]
        if np.mean((high > LINED_HIGH) & (low < LINED_LOW)) > LINED_PART:
            return True
    return False


def _is_thin(mask: np.ndarray) -> bool:
    opened = cv2.morphologyEx(
        mask.astype(np.uint8), cv2.MORPH_OPEN, np.ones((THIN_SIDE, THIN_SIDE), np.uint8)
    )
    return bool(np.count_nonzero(opened) < (1 - THIN_PART) * np.count_nonzero(mask))
