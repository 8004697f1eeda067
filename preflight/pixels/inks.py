"""The flat colours of a picture, counted as the eye counts them.

Pixels on edges are left out, the flat parts that remain are joined by colour (CIEDE2000), largest first, and what is only
the fringe of an edge between two larger colours is dropped.
"""

from dataclasses import dataclass

import cv2
import numpy as np

from preflight.pixels.lab import difference, lab_of_colours, nearest_of

#: A pixel whose neighbours all differ by less is flat, Delta E.
FLAT_STEP = 4.0
#: Parts join a colour within this CIEDE2000; smaller parts are less sure of theirs.
SAME, SAME_SMALL, SAME_TINY = 4.5, 7.0, 9.5
#: Areas in pixels that make a part small or tiny; tiny ones never shift a mean.
SMALL, TINY, LEAST_PART = 400, 60, 9
#: A colour covers this share of the picture, one part of it that one.
LEAST_SHARE, LEAST_LARGEST = 0.0008, 0.0003
#: Or it covers this much in parts of at least so many pixels: bricks, stripes, small print.
SCATTERED, LEAST_SCATTERED = 0.004, 16
#: Thin lines are a colour of their own from this Delta E and share of the picture on.
THIN_APART, THIN_SHARE = 12.0, 0.0016
#: Edges make parts that can be eroded so often at most, without and with loss: only compression levels one over 5 x 5 pixels.
MOST_FRINGE, MOST_FRINGE_LOSSY = 1, 2
#: Pixels further than this from every colour found are none of theirs, Delta E.
UNEXPLAINED = 10.0
#: Pixels this near to a colour show its look, Delta E.
LOOK = 8.0
#: Pixels looked at for it: enough for stable medians.
LOOK_PIXELS = 200_000
#: Parts looked at, largest first: bounded work.
MOST_PARTS, MOST_STRAYS = 1500, 300


@dataclass(slots=True)
class Colour:
    """A flat colour being gathered.

    Attributes:
        lab: mean of its parts, D65.
        weight: area that the mean is of.
        core: area of its flat parts, pixels.
        largest: of the largest of them.
        thickness: how often that could be eroded, up to four times.
        rgb: its look, sRGB 0 to 255.
    """

    lab: np.ndarray
    weight: float
    core: int
    largest: int
    thickness: int
    rgb: tuple[float, float, float] = (0.0, 0.0, 0.0)


def flat_parts(flat: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Connected flat parts: labels (h, w) int32 and OpenCV's statistics."""
    _, labels, stats, _ = cv2.connectedComponentsWithStats(flat.astype(np.uint8), connectivity=4)
    return labels, stats


def _by_area(stats: np.ndarray) -> np.ndarray:
    """Numbers of the connected parts, largest first."""
    return np.argsort(-stats[1:, cv2.CC_STAT_AREA]) + 1


def colours(lab: np.ndarray, flat: np.ndarray, lossy: bool, shown: np.ndarray | None = None) -> list[Colour]:
    """The flat colours, largest first.

    Args:
        lab: (h, w, 3) float32.
        flat: bool (h, w), the pixels that are flat and belong to no fade.
        lossy: compressed with loss, or as noisy.
        shown: bool (h, w), pixels that may hold a colour at all; None for all.
    """
    total = int(flat.size if shown is None else shown.sum())
    gathered = _gather(lab, flat)
    kept: list[Colour] = []
    for colour in sorted(gathered, key=lambda c: -c.core):
        scattered = colour.core > SCATTERED * total and colour.largest >= LEAST_SCATTERED
        large = colour.core > LEAST_SHARE * total and colour.largest > max(12, LEAST_LARGEST * total)
        if (large or scattered) and not _is_fringe(colour, kept, lossy):
            kept.append(colour)
    if lossy and kept:
        kept += _unexplained(lab, kept, total, shown)
    return kept


def thin_colours(lab: np.ndarray, level: np.ndarray, kept: list[Colour], total: int) -> list[Colour]:
    """Colours of lines so thin that the reduced picture has no flat part of them, though the picture itself has.

    Args:
        lab: float32 (h, w, 3), the reduced picture.
        level: bool (h, w), pixels that are flat in the picture itself.
        kept: colours already found.
        total: pixels that may hold a colour.
    """
    pixels = lab[level]
    _, apart = assigned(kept, pixels)
    pixels = pixels[apart > THIN_APART * THIN_APART]
    if len(pixels) < THIN_SHARE * total:
        return []
    cells, owner, counts = np.unique(
        np.rint(pixels / 4).astype(np.int16), axis=0, return_inverse=True, return_counts=True
    )
    found: list[Colour] = []
    for number in np.argsort(-counts)[:MOST_STRAYS]:
        middle = cells[number] * 4.0
        near = _nearest(middle, found)
        if near and near[1] < SAME_SMALL:
            near[0].core += int(counts[number])
        else:
            own = pixels[owner.ravel() == number].mean(0)
            found.append(Colour(own, 1, int(counts[number]), int(counts[number]), 1))
    return [colour for colour in found if colour.core > THIN_SHARE * total]


def new_colours(looks: list[np.ndarray], kept: list[Colour]) -> list[Colour]:
    """Those of some looks (sRGB) that are no colour already kept, nor another of the same."""
    found: list[Colour] = []
    for look in looks:
        lab = lab_of_colours(look[None])[0]
        if not any(difference(lab, other.lab) < SAME_SMALL for other in kept + found):
            red, green, blue = (float(v) for v in look)
            found.append(Colour(lab, 0, 0, 0, 2, (red, green, blue)))
    return found


def look_up(colours: list[Colour], lab: np.ndarray, rgb: np.ndarray, flat: np.ndarray) -> None:
    """Give each colour its look: the median of the flat pixels nearest to it.

    Args:
        colours: to be given their `rgb`.
        lab: float32 (h, w, 3).
        rgb: the same pixels, uint8.
        flat: bool (h, w), the pixels to look at.
    """
    pixels, looks = lab[flat], rgb[flat]
    stride = max(1, len(pixels) // LOOK_PIXELS)
    pixels, looks = pixels[::stride], looks[::stride]
    nearest, apart = assigned(colours, pixels)
    near = apart < LOOK * LOOK
    nearest, looks = nearest[near].astype(np.uint8), looks[near]
    order = np.argsort(nearest, kind="stable")
    bounds = np.searchsorted(nearest[order], np.arange(len(colours) + 1))
    for number, colour in enumerate(colours):
        mine = looks[order[bounds[number] : bounds[number + 1]]]
        if len(mine):
            red, green, blue = (float(v) for v in np.median(mine, 0))
        else:
            red, green, blue = _rgb_of_lab(colour.lab)
        colour.rgb = (red, green, blue)


def shares(colours: list[Colour], lab: np.ndarray, shown: np.ndarray | None) -> np.ndarray:
    """Share of the shown pixels that is nearest to each colour: float (n,)."""
    pixels = lab[::2, ::2].reshape(-1, 3) if shown is None else lab[::2, ::2][shown[::2, ::2]]
    nearest, _ = assigned(colours, pixels)
    return np.bincount(nearest, minlength=len(colours)) / max(len(pixels), 1)


def assigned(colours: list[Colour], pixels: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Number of the nearest colour of each pixel, and the square of its distance."""
    components = np.ascontiguousarray(pixels.T, np.float32)
    return nearest_of(components, np.array([colour.lab for colour in colours]).reshape(-1, 3))


def _rgb_of_lab(lab: np.ndarray) -> tuple[float, float, float]:
    """Components 0 to 255 in sRGB of a Lab (D65) colour."""
    red, green, blue = cv2.cvtColor(lab.astype(np.float32)[None, None], cv2.COLOR_Lab2RGB)[0, 0] * 255
    return float(red), float(green), float(blue)


def _gather(lab: np.ndarray, flat: np.ndarray) -> list[Colour]:
    """Join the flat parts by colour."""
    labels, stats = flat_parts(flat)
    count = len(stats)
    if count < 2:
        return []
    areas = stats[:, cv2.CC_STAT_AREA]
    thickness = _thickness(flat, labels, count)
    plain = labels.ravel()
    sums = [np.bincount(plain, lab[..., c].ravel(), count) for c in range(3)]
    means = np.stack(sums, 1) / np.maximum(areas, 1)[:, None]
    order = np.argsort(-areas[1:]) + 1
    order = order[areas[order] >= LEAST_PART]
    found: list[Colour] = []
    large = order[areas[order] > TINY][:MOST_PARTS]
    for number in large:
        area = int(areas[number])
        near = _nearest(means[number], found)
        if near and near[1] < (SAME if area > SMALL else SAME_SMALL):
            _join(near[0], means[number], area, int(thickness[number]), counts=True)
        else:
            found.append(Colour(means[number], area, area, area, int(thickness[number])))
    tiny = order[areas[order] <= TINY]
    if found and len(tiny):
        apart = difference(means[tiny][:, None], np.array([c.lab for c in found])[None])
        for number, row in zip(tiny, apart, strict=True):
            if row.min() < SAME_TINY:
                _join(
                    found[int(row.argmin())],
                    means[number],
                    int(areas[number]),
                    int(thickness[number]),
                    counts=False,
                )
        tiny = tiny[apart.min(1) >= SAME_TINY]
    strays: list[Colour] = []
    for number in tiny[:MOST_STRAYS]:
        area = int(areas[number])
        near = _nearest(means[number], strays)
        if near and near[1] < SAME_TINY:
            _join(near[0], means[number], area, int(thickness[number]), counts=False)
        else:
            strays.append(Colour(means[number], area, area, area, int(thickness[number])))
    return found + strays


def _nearest(lab: np.ndarray, found: list[Colour]) -> tuple[Colour, float] | None:
    if not found:
        return None
    apart = difference(lab, np.array([c.lab for c in found]))
    best = int(apart.argmin())
    return found[best], float(apart[best])


def _join(colour: Colour, lab: np.ndarray, area: int, thickness: int, counts: bool) -> None:
    if counts:
        colour.lab = (colour.lab * colour.weight + lab * area) / (colour.weight + area)
        colour.weight += area
    colour.core += area
    colour.thickness = max(colour.thickness, thickness)


def _thickness(flat: np.ndarray, labels: np.ndarray, count: int) -> np.ndarray:
    """How often each part can be eroded, up to four times."""
    thickness = np.zeros(count, np.int16)
    left = flat.astype(np.uint8)
    kernel = np.ones((3, 3), np.uint8)
    for times in range(1, 5):
        thickness[np.unique(labels[left > 0])] = times
        left = cv2.erode(left, kernel)
    return thickness


def _is_fringe(colour: Colour, kept: list[Colour], lossy: bool) -> bool:
    """A thin colour that only edges of larger ones make."""
    if colour.thickness > (MOST_FRINGE_LOSSY if lossy else MOST_FRINGE) or not kept:
        return False
    if (
        lossy
        and colour.core < 0.01 * kept[0].core
        and any(k.core > 50 * colour.core and difference(k.lab, colour.lab) < 12 for k in kept)
    ):
        return True  # the colour that compression bleeds beside a large area
    for number, one in enumerate(kept):
        for other in kept[:number]:
            if colour.core >= 0.12 * min(one.core, other.core):
                continue
            along = other.lab - one.lab
            place = float((colour.lab - one.lab) @ along / (along @ along + 1e-9))
            aside = float(np.linalg.norm(one.lab + place * along - colour.lab))
            if 0.08 < place < 0.92 and aside < 9:
                return True
    return False


def _unexplained(lab: np.ndarray, kept: list[Colour], total: int, shown: np.ndarray | None) -> list[Colour]:
    """Colours of thick areas that no found ink explains, because compression noise broke them up."""
    apart = lab - kept[0].lab.astype(np.float32)
    rest = np.einsum("ijk,ijk->ij", apart, apart) > UNEXPLAINED * UNEXPLAINED
    left = np.flatnonzero(rest if shown is None else rest & shown)
    _, square = assigned(kept, lab.reshape(-1, 3)[left])  # the largest is behind: few pixels are left
    left = left[square > UNEXPLAINED * UNEXPLAINED]
    away = np.zeros(lab.shape[:2], bool)
    away.ravel()[left] = True
    solid = cv2.morphologyEx(away.astype(np.uint8), cv2.MORPH_OPEN, np.ones((5, 5), np.uint8))
    solid = cv2.erode(solid, np.ones((3, 3), np.uint8))
    count, labels, stats, _ = cv2.connectedComponentsWithStats(solid, connectivity=4)
    found: list[Colour] = []
    known = np.array([c.lab for c in kept])
    order = _by_area(stats)[:200]
    for number in order:
        x, y, w, h, area = (int(v) for v in stats[number])
        if area < max(12, 0.00015 * total):
            break
        pixels = lab[y : y + h, x : x + w][labels[y : y + h, x : x + w] == number]
        middle = np.median(pixels, 0)
        spread = float(np.median(np.abs(pixels - middle).sum(-1)))
        if spread > 14 or difference(middle, known).min() < 6:
            continue
        near = _nearest(middle, found)
        if near and near[1] < 7:
            near[0].core += area
        else:
            found.append(Colour(middle, area, area, area, 3))
    return [colour for colour in found if colour.core > 0.0005 * total]
