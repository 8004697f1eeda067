"""Solids: slabs of one ink.  Lines and lettering are no solids, however long: only what is wider than a pen stroke counts."""

from collections.abc import Iterator
from dataclasses import dataclass

import cv2
import numpy as np
from scipy.ndimage import find_objects

from preflight.artwork import Artwork, Box, Ink
from preflight.measure import ground, inks, measures, strokes
from preflight.order import Order
from preflight.quantity import plain
from preflight.reading import Reading

cv2.setNumThreads(1)

#: Parts narrower than this are lines; they neither count nor join two solids, mm (our default).
NARROWEST = 2.0
#: Pixels of the picture that solids are looked for in, and pixels across the narrowest of them.
PIXELS, LEAST_ACROSS = 200_000, 4
#: Print boxes from this size up are large: on them the share of solid ink matters, mm² (200 cm², from
#: memory).
LARGE_BOX = 20_000.0


@dataclass(frozen=True)
class Solid:
    """One connected slab of one ink: its area in mm² and its box."""

    ink: Ink
    area: float
    box: Box


def solids(art: Artwork) -> list[Solid]:
    """Every solid of every ink, the largest first."""

    def make() -> list[Solid]:
        found = [solid for ink in art.inks for solid in _solids(art, ink)]
        return sorted(found, key=lambda solid: -solid.area)

    return art.once("solids", make)


def _solids(art: Artwork, ink: Ink) -> Iterator[Solid]:
    whole = inks.survey(art)
    plate = whole.plates[ink.number]
    k = whole.pixels_per_mm
    shrunk = max(1, int(min((plate.size / PIXELS) ** 0.5, k * NARROWEST / LEAST_ACROSS)))
    if shrunk > 1:  # averaged, so that areas stay what they are
        down, across = (-side % shrunk for side in plate.shape)
        plate = cv2.copyMakeBorder(plate, 0, down, 0, across, cv2.BORDER_CONSTANT, value=0)
        size = (plate.shape[1] // shrunk, plate.shape[0] // shrunk)
        plate = cv2.resize(plate, size, interpolation=cv2.INTER_AREA)
        k /= shrunk
    reach = NARROWEST / 2 * k
    # The edge of the sheet cuts nothing off.
    pad = max(1, round(reach)) + 1
    padded = cv2.copyMakeBorder(plate, pad, pad, pad, pad, cv2.BORDER_CONSTANT, value=0)
    inside = cv2.distanceTransform((padded >= 128).astype(np.uint8), cv2.DIST_L2, cv2.DIST_MASK_5)
    # The cores of what is wider than NARROWEST.
    core = inside > reach
    if not core.any():
        return
    count, labels = cv2.connectedComponents(core.astype(np.uint8), connectivity=8)
    # Grown back to the outline: each pixel of the shape within reach of a core belongs to that core.
    away, nearest = cv2.distanceTransformWithLabels(
        (labels == 0).astype(np.uint8), cv2.DIST_L2, cv2.DIST_MASK_5, labelType=cv2.DIST_LABEL_PIXEL
    )
    core_of = np.zeros(int(nearest.max()) + 1, np.int32)
    core_of[nearest[core]] = labels[core]
    # Corners lie further out than the core's own width: the square root of two.
    belongs = np.where((away <= 1.5 * reach + 1.5) & (padded > 0), core_of[nearest], 0)
    areas = np.bincount(belongs.ravel(), padded.ravel(), minlength=count) / 255 / k**2
    for number, place in enumerate(find_objects(belongs), start=1):
        if place is not None and areas[number] > 0:
            rows, columns = place
            corners = (columns.start - pad, rows.start - pad, columns.stop - pad, rows.stop - pad)
            yield Solid(ink, float(areas[number]), (*(max(0.0, side / k) for side in corners),))


@measures("mm2")
def largest(art: Artwork, order: Order) -> Iterator[Reading]:
    """Area of each ink's largest solid, mm²; nothing where all of it is lines, nor for a white box behind the art."""
    seen = set(ground.sheets(art))  # a white box behind the art is asked about as a box
    for solid in solids(art):
        if solid.ink.number not in seen:
            seen.add(solid.ink.number)
            yield Reading(
                value=solid.area, what=f"the solid in {plain(solid.ink.name, 60)}", where=(solid.box,),
                margin=0.01 * solid.area, facts={"ink": solid.ink.number},
            )  # fmt: skip


@measures("%")
def share(art: Artwork, order: Order) -> Iterator[Reading]:
    """Share of the print box that each ink's solids cover together, %."""
    box = max(art.width_mm * art.height_mm, 1e-9)
    found = solids(art)
    for ink in art.inks:
        own = [solid for solid in found if solid.ink.number == ink.number]
        if own:
            yield Reading(
                value=min(100.0, 100 * sum(solid.area for solid in own) / box),
                what=f"the solids in {plain(ink.name, 60)}",
                where=tuple(solid.box for solid in own),
                facts={"ink": ink.number},
            )


@measures("%")
def share_of_large_box(art: Artwork, order: Order) -> Iterator[Reading]:
    """The same, only where the print box is large (over 200 cm²): small prints may well be all solid."""
    if art.width_mm * art.height_mm > LARGE_BOX:
        yield from share(art, order)


@measures("mm")
def narrowest_side(art: Artwork, order: Order) -> Iterator[Reading]:
    """Diameter of the largest circle that fits in each ink's areas, mm: what a blade dips into."""
    yield from strokes.widest(art, order)
