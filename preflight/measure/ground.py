"""What would be produced behind the art: boxes, sheets, and the pale rim of a careless cut-out."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

import cv2
import numpy as np

from preflight import colour
from preflight.artwork import Artwork, Box, Ink
from preflight.measure import inks, measures
from preflight.order import Order
from preflight.quantity import plain
from preflight.reading import Reading

cv2.setNumThreads(1)

#: Share of the border strip that one ink has to cover, and width of the strip (share of the short side).
BORDER, STRIP = 0.9, 0.01
#: A box is filled: at least so much of it is its own ink.  It is only a frame when one bare place takes more than
#: this share of its area, and more than that of both its sides.
FILLED, HOLE, SPAN = 0.3, 0.3, 0.7
#: Something has to be on it, as a share of the box; else the box is the art.  What is bare from the edge inwards (rounded
#: corners, the gap between two panels) is not on it.
ON_IT = 0.002
#: CIEDE2000 up to which a box is white, a lossy picture's white among it.
WHITE = 5.0
#: Smaller pictures are not looked at, as a share of the print box.
SMALL = 0.02


@dataclass(frozen=True)
class Backing:
    """A filled box behind something."""

    ink: Ink
    box: Box
    white: bool


def backings(art: Artwork) -> list[Backing]:
    """The filled boxes that would be produced: behind the whole art, or behind a picture placed in it."""

    def make() -> list[Backing]:
        whole = _backing(art, art.box)
        found = [whole] if whole else []
        for picture in art.pictures:
            box = _clipped(picture.box, art.box)
            opaque = not (picture.stencil or picture.flat or picture.has_alpha)
            plain_edge = picture.tone is None or picture.tone.ground in ("white", "solid")
            if opaque and plain_edge and _area(box) >= SMALL * _area(art.box) and not _same(box, art.box):
                behind = _backing(art, box)
                if behind:
                    found.append(behind)
        return found

    return art.once("backings", make)


def _backing(art: Artwork, box: Box) -> Backing | None:
    whole = inks.survey(art)
    k = whole.pixels_per_mm
    rows, columns = slice(round(box[1] * k), round(box[3] * k)), slice(round(box[0] * k), round(box[2] * k))
    height, width = whole.together[rows, columns].shape
    strip = max(2, round(STRIP * min(height, width)))
    if min(height, width) < 4 * strip:
        return None
    edge = np.ones((height, width), bool)
    edge[strip:-strip, strip:-strip] = False
    for ink in art.inks:
        plate = whole.plates[ink.number][rows, columns]
        filled = float(plate.mean()) / 255
        if float(plate[edge].mean()) < BORDER * 255 or filled < FILLED or 1 - filled < ON_IT:
            continue
        if _share_on(plate, whole.together[rows, columns]) < ON_IT:
            continue
        if not _frames(whole.together[rows, columns]) and _ends(whole.plates[ink.number], rows, columns):
            return Backing(ink, box, _white(ink.lab))
    return None


def _share_on(plate: np.ndarray, together: np.ndarray) -> float:
    """Share of the window that is on the ink or left open inside it, not bare from the window's edge inwards."""
    bare = (together < 128).astype(np.uint8)
    _, labels = cv2.connectedComponents(bare, connectivity=4)
    outside = set(np.unique(np.concatenate((labels[0], labels[-1], labels[:, 0], labels[:, -1])))) - {0}
    on = (255.0 - plate) * ~np.isin(labels, list(outside))
    return float(on.mean()) / 255


def _frames(together: np.ndarray) -> bool:
    """Is it only a frame: bare inside, over much of its area and most of its width and height?"""
    bare = (together < 128).astype(np.uint8)
    count, _, stats, _ = cv2.connectedComponentsWithStats(bare, connectivity=4)
    if count < 2:
        return False
    hole = stats[1:][stats[1:, cv2.CC_STAT_AREA].argmax()]
    wide = hole[cv2.CC_STAT_WIDTH] / together.shape[1], hole[cv2.CC_STAT_HEIGHT] / together.shape[0]
    return bool(hole[cv2.CC_STAT_AREA] > HOLE * together.size and min(wide) > SPAN)


def _ends(plate: np.ndarray, rows: slice, columns: slice) -> bool:
    """Does the ink end at the window's edge?  A picture on a panel of its own colour makes no box."""
    reach = 3
    outer = plate[
        max(rows.start - reach, 0) : rows.stop + reach, max(columns.start - reach, 0) : columns.stop + reach
    ]
    beyond = int(outer.sum(dtype=np.int64)) - int(plate[rows, columns].sum(dtype=np.int64))
    size = outer.size - plate[rows, columns].size
    return size == 0 or beyond / size < 0.5 * 255


@measures("")
def boxes(art: Artwork, order: Order) -> Iterator[Reading]:
    """How many filled boxes lie behind the art, or behind a picture in it, and would be produced with it.

    `facts["kind"]` is "white" or "coloured"; white is an ink only on goods that are not.
    """
    if not art.inks:
        return
    found = sorted(backings(art), key=lambda one: not one.white)
    what = "the art"
    if found:
        what = "a white box" if found[0].white else f"a box in {plain(found[0].ink.name, 60)}"
    yield Reading(
        value=float(len(found)),
        what=what,
        where=tuple(one.box for one in found),
        facts={"kind": "white" if found[0].white else "coloured"} if found else {},
    )


def sheets(art: Artwork) -> frozenset[int]:
    """Numbers of the inks that are a white box behind the art: what is said of the box need not be said again of them."""
    if not any(_white(ink.lab) for ink in art.inks):
        return frozenset()  # without a drawing of every plate
    return frozenset(one.ink.number for one in backings(art) if one.white)


@measures("colours")
def colours_on_it(art: Artwork, order: Order) -> Iterator[Reading]:
    """How many inks have to be produced, as `inks.count`, without the white of a box behind the art (`boxes` asks about it)."""
    left_out = sheets(art)
    for reading in inks.count(art, order):
        if reading.value is not None and left_out:
            yield replace(reading, value=reading.value - len(left_out))
        else:
            yield reading


@measures("")
def white_sheet(art: Artwork, order: Order) -> Iterator[Reading]:
    """How many white sheets lie behind the art while nobody said what colour the goods are; nothing when it was said.

    On white goods such a sheet is no harm, on others it would be a white box.
    """
    if order.ground or not (art.inks or art.marks):
        return
    sheets = [
        mark.box
        for mark in art.marks
        if mark.ink is None
        and mark.kind == "fill"
        and mark.hex
        and _white(colour.lab_of(mark.hex))
        and _holds(mark.box, art.box)
    ]
    sheets += [
        picture.box
        for picture in art.pictures
        if picture.tone is not None
        and picture.tone.ground == "white"
        and not picture.has_alpha
        and _holds(picture.box, art.box)
    ]
    yield Reading(
        value=float(len(sheets)),
        what="the white sheet behind the art" if sheets else "the art",
        where=(art.box,) if sheets else (),
    )


@measures("")
def halo(art: Artwork, order: Order) -> Iterator[Reading]:
    """How many pictures carry a pale rim of the paper they were cut from."""
    looked_at = [picture for picture in art.pictures if picture.tone is not None]
    if looked_at:
        found = [picture for picture in looked_at if picture.tone.halo]
        yield Reading(
            value=float(len(found)),
            what="a picture that was cut out" if found else "the art",
            where=tuple(picture.box for picture in found),
        )


def _white(lab: tuple[float, float, float]) -> bool:
    return colour.difference(lab, (100.0, 0.0, 0.0)) < WHITE


def _holds(outer: Box, inner: Box) -> bool:
    """Does one box hold another, give or take 2 % of it?"""
    x, y = 0.02 * (inner[2] - inner[0]), 0.02 * (inner[3] - inner[1])
    return (
        outer[0] <= inner[0] + x
        and outer[1] <= inner[1] + y
        and outer[2] >= inner[2] - x
        and outer[3] >= inner[3] - y
    )


def _same(one: Box, other: Box) -> bool:
    return _holds(one, other) and _holds(other, one)


def _clipped(box: Box, to: Box) -> Box:
    return (max(box[0], to[0]), max(box[1], to[1]), min(box[2], to[2]), min(box[3], to[3]))


def _area(box: Box) -> float:
    return max(0.0, box[2] - box[0]) * max(0.0, box[3] - box[1])
