"""Soft edges: what fades into the ground, and what else in a picture fades the same way.

Art that throws a soft shadow in one place throws it in all: a layer's effect, or a filter.  Its colours lie on one straight
path in sRGB, from the ground to the shadow's own colour (a layer of any strength over the ground is a mixture of the two),
so one shadow that was found tells of those too narrow or too disturbed to be found by themselves.
"""

import cv2
import numpy as np

from preflight.pixels.lab import lab_of_colours
from preflight.pixels.reduction import CLEAR_ALPHA, SOLID_ALPHA, Work
from preflight.pixels.slopes import Slope

#: A soft edge's lightest or darkest colours come this near to the ground, Delta E, and this part of its rim is ground.
INTO_GROUND, GROUND_RIM = 8.0, 0.3
#: Soft edges smaller than this many pixels say nothing of others, and so many paths are looked for at most.
LEAST_TELLING, MOST_PATHS = 60, 3
#: Colours this near to a path, sRGB, without and with loss, are on it; so many of a shadow's own are.
NEAR_PATH, OWN_ON_PATH = (8.0, 14.0), 0.75
#: What is cast differs from the ground by more than this, Delta E, without and with loss, without a step larger than the third;
CAST_APART, CAST_STEP = (4.0, 5.0), 12.0
#: it is wider than so many pixels, as no edge between two inks is, without and with loss; goes on past the darkest found by
#: this part; and gets as dark as this part of that in one of ten of its pixels.
CAST_WIDTH, PAST, AS_DARK = (3, 4), 1.6, 0.3
#: Flat shapes in a colour on the path are no shadow: more than this part of them changes by no more over so many pixels,
#: sRGB, without and with loss.
FLAT_PART, FLAT_SPAN, FLAT_SIDE = 0.7, (2.0, 6.0), 5
_FAR = 1e3  # beyond every colour
#: So near to the ground, Delta E, nobody sees where a shadow ends that itself lies this far from it.
FAINT, DEEP = 5.0, 20.0
#: Alpha that rises over so many pixels, by so much, over this share of the picture, is no edge.
VEIL_WIDTH, VEIL_SPAN, VEIL_SHARE = 4, 50.0, 0.0006
#: A place of which this part is seen through fades into nothing: the rest is what it fades from.
SEEN_THROUGH = 0.35
#: Soft edges looked at, largest first: bounded work.
MOST_PARTS = 200


def is_soft_edge(
    work: Work, mask: np.ndarray, box: tuple[int, int, int, int], ground: np.ndarray | None
) -> bool:
    """Whether a place (bool, of its box) fades into the ground (Lab, D65), or into nothing."""
    x0, y0, x1, y1 = box
    if work.alpha is not None:
        part = work.alpha[y0:y1, x0:x1][mask]
        return bool(np.mean(part < SOLID_ALPHA) > SEEN_THROUGH)
    if ground is None:
        return False
    apart = np.linalg.norm(work.lab[y0:y1, x0:x1] - ground, axis=2)
    if np.percentile(apart[mask], 3) > INTO_GROUND:
        return False
    rim = cv2.dilate(mask.astype(np.uint8), np.ones((5, 5), np.uint8)).astype(bool) & ~mask
    return bool(rim.any() and np.mean(apart[rim] < INTO_GROUND) > GROUND_RIM)


def veils(work: Work) -> list[Slope]:
    """Where a cut-out fades into nothing: its alpha rises over more pixels than any edge is wide."""
    if work.alpha is None:
        return []
    part = (work.alpha >= CLEAR_ALPHA) & (work.alpha < SOLID_ALPHA)
    wide = cv2.morphologyEx(
        part.astype(np.uint8), cv2.MORPH_OPEN, np.ones((VEIL_WIDTH, VEIL_WIDTH), np.uint8)
    )
    _, labels, stats, _ = cv2.connectedComponentsWithStats(wide, connectivity=8)
    found = []
    for number in np.argsort(-stats[1:, cv2.CC_STAT_AREA])[:MOST_PARTS] + 1:
        x, y, w, h, area = (int(v) for v in stats[number])
        if area < LEAST_TELLING:
            break
        mask = labels[y : y + h, x : x + w] == number
        low, high = np.percentile(work.alpha[y : y + h, x : x + w][mask], [5, 95])
        if high - low > VEIL_SPAN:
            found.append(Slope((x, y, x + w, y + h), mask, float(high - low) * 100 / 255, -1))
    return found if sum(slope.area for slope in found) > VEIL_SHARE * work.alpha.size else []


def cast(work: Work, fades: np.ndarray, ground: np.ndarray | None) -> tuple[np.ndarray, np.ndarray]:
    """Where else a picture fades into its ground as it does in a soft edge already found, and where that is hardly seen: bool
    (h, w).

    Args:
        work: the reduced picture.
        fades: bool (h, w), where it fades.
        ground: sRGB of the sheet, float32 (3,); None where there is none or it is transparent.
    """
    nothing = np.zeros(fades.shape, bool)
    clear = work.clear
    if clear is not None and clear.any():
        ground = np.median(work.rgb[clear], 0).astype(np.float32)
    if ground is None:
        return nothing, nothing
    ground_lab = lab_of_colours(ground[None])[0]
    offsets = work.rgb.astype(np.float32) - ground
    paths = _paths(work, fades, offsets, ground_lab)
    if not paths:
        return nothing, nothing
    apart = np.linalg.norm(work.lab - ground_lab, axis=2)
    open_ = (apart > CAST_APART[work.lossy]) & (work.steps < CAST_STEP)
    if clear is not None:
        open_ &= ~clear
    found = nothing.copy()
    for direction, far in paths:
        along = offsets @ direction
        aside = np.linalg.norm(offsets - along[..., None] * direction, axis=2)
        on = open_ & (aside < NEAR_PATH[work.lossy]) & (along > 0) & (along < PAST * far)
        side = CAST_WIDTH[work.lossy]
        wide = cv2.morphologyEx(on.astype(np.uint8), cv2.MORPH_OPEN, np.ones((side, side), np.uint8))
        count, labels, stats, _ = cv2.connectedComponentsWithStats(wide, connectivity=8)
        dark = np.bincount(labels.ravel(), along.ravel() > AS_DARK * far, count)
        kernel = np.ones((FLAT_SIDE, FLAT_SIDE), np.uint8)
        # over its own pixels only: the colours round a narrow flat shape say nothing of it
        most, least = np.where(on, along, -_FAR), np.where(on, along, _FAR)
        span = cv2.dilate(most, kernel) - cv2.erode(least, kernel)
        flat = np.bincount(labels.ravel(), span.ravel() < FLAT_SPAN[work.lossy], count)
        areas = stats[:, cv2.CC_STAT_AREA]
        kept = (dark > 0.1 * areas) & (flat < FLAT_PART * areas)
        kept[0] = False
        found |= kept[labels]
    ends = [lab_of_colours((ground + far * direction).clip(0, 255)[None])[0] for direction, far in paths]
    deep = max(float(np.linalg.norm(end - ground_lab)) for end in ends) > DEEP
    return found, apart < FAINT if deep else nothing


def _paths(
    work: Work, fades: np.ndarray, offsets: np.ndarray, ground: np.ndarray
) -> list[tuple[np.ndarray, float]]:
    """The paths of the soft edges among the fades: unit vector from the ground in sRGB, and how far they go along it."""
    count, labels, stats, _ = cv2.connectedComponentsWithStats(fades.astype(np.uint8), connectivity=8)
    paths: list[tuple[np.ndarray, float]] = []
    for number in np.argsort(-stats[1:, cv2.CC_STAT_AREA])[:MOST_PARTS] + 1:
        x, y, w, h, area = (int(v) for v in stats[number])
        if area < LEAST_TELLING or len(paths) == MOST_PATHS:
            break
        mask = labels[y : y + h, x : x + w] == number
        own = offsets[y : y + h, x : x + w][mask]
        if any(_on_path(own, path, work.lossy) > OWN_ON_PATH for path, _ in paths):
            continue
        if not is_soft_edge(work, mask, (x, y, x + w, y + h), ground):
            continue
        path = np.median(own / np.linalg.norm(own, axis=1, keepdims=True).clip(1), axis=0)
        path /= max(float(np.linalg.norm(path)), 1e-6)
        if _on_path(own, path, work.lossy) > OWN_ON_PATH:
            paths.append((path, float(np.percentile(own @ path, 98))))
    return paths


def _on_path(offsets: np.ndarray, path: np.ndarray, lossy: bool) -> float:
    """The part of some colours that lie on a path, 0 to 1."""
    aside = np.linalg.norm(offsets - (offsets @ path)[:, None] * path, axis=1)
    return float(np.mean(aside < NEAR_PATH[lossy]))
