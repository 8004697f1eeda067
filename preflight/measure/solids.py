"""Solids: slabs of one ink.  Lines and lettering are no solids, however long: only what is wider than a pen stroke counts."""

from collections.abc import Iterator
from dataclasses import dataclass

import cv2
import numpy as np
from scipy.ndimage import find_objects

from preflight.artwork import Artwork, Box, Ink
from preflight.measure import inks, measures, strokes
from preflight.order import Order
from preflight.quantity import plain
from preflight.reading import Reading

cv2.setNumThreads(1)

#: Parts narrower than this are lines; they neither count nor join two solids, mm (our default).
NARROWEST = 2.0
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
    k, plate = whole.pixels_per_mm, whole.plates[ink.number]
    shape = (plate >= 128).astype(np.uint8)
    if not shape.any():
        return
    # The core of what is wider than NARROWEST; the edge of the sheet cuts nothing off.
    pad = max(1, round(NARROWEST / 2 * k)) + 1
    padded = cv2.copyMakeBorder(shape, pad, pad, pad, pad, cv2.BORDER_CONSTANT, value=0)
    inside = cv2.distanceTransform(padded, cv2.DIST_L2, cv2.DIST_MASK_PRECISE)
    reach = NARROWEST / 2 * k
    count, labels = cv2.connectedComponents((inside > reach).astype(np.uint8), connectivity=8)
    if count < 2:
        return
    # Grown back to the outline: each pixel of the shape within reach of a core belongs to that core.
    away, nearest = cv2.distanceTransformWithLabels(
        (labels == 0).astype(np.uint8), cv2.DIST_L2, cv2.DIST_MASK_5, labelType=cv2.DIST_LABEL_PIXEL
    )
    core_of = np.zeros(int(nearest.max()) + 1, np.int32)
    cores = labels > 0
    core_of[nearest[cores]] = labels[cores]
    # Corners lie further out than the core's own width: the square root of two.
    belongs = np.where(away <= 1.5 * reach + 1.5, core_of[nearest], 0)[pad:-pad, pad:-pad]
    belongs[plate == 0] = 0
    areas = np.bincount(belongs.ravel(), plate.ravel(), minlength=count) / 255 / k**2
    for number, place in enumerate(find_objects(belongs), start=1):
        if place is not None and areas[number] > 0:
            rows, columns = place
            yield Solid(
                ink,
                float(areas[number]),
                (columns.start / k, rows.start / k, columns.stop / k, rows.stop / k),
            )


@measures("mm2")
def largest(art: Artwork, order: Order) -> Iterator[Reading]:
    """Area of each ink's largest solid, mm²; nothing where all of it is lines."""
    seen = set()
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
