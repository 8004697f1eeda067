"""What of the objects of a page can be seen: shadings and pictures under others, and what shows through others.

All of it is looked at on display lists (`plates`), so clips of any form and covers of any number count as they are drawn.
"""

from collections.abc import Callable, Mapping, Sequence
from typing import Any

import numpy as np

from preflight.artwork import Box
from preflight.load.device import mu
from preflight.load.geometry import area, in_mm
from preflight.load.paints import Paint
from preflight.load.plates import ListPlates
from preflight.load.recorder import NOTHING, Drawn
from preflight.load.splitter import Assignment, Splitter

#: A picture or fade that shows less than this many mm² is not seen.
SEEN = 0.05
#: A rim that a cover leaves of what lies beneath it: so small a part of it, and nowhere half a pixel wide.
RIM = 0.005
#: Pixels a mm, and pixels, of the pictures that are looked at.
DENSITY, PIXELS = 12.0, 400_000
#: Components of a shading that differ by no more than this, of 255, are one colour.
ONE_COLOUR = 3
#: Objects with less opacity than this are see-through.
SEE_THROUGH = 0.98
#: See-through objects that are looked at one by one; of more it is taken that something shows through.
MOST_GHOSTS = 12


def is_seen(probe: int, box: Box, plates: ListPlates) -> bool:
    """Can the object of a probe list be seen in its box (mm), more than a sliver of it?"""
    density = _density(box)
    cover = plates.coverage(probe, box, density)
    seen = float(cover.sum()) / 255 / density**2
    if seen <= min(SEEN, 0.2 * area(box)):
        return False
    return seen >= RIM * area(box) or int(cover.max(initial=0)) >= 128


def one_colour(probe: int, box: Box, plates: ListPlates, ground: tuple[int, int, int]) -> Any:
    """The one colour, sRGB, in which all that can be seen of a shading shows; None where it fades or is too fine to tell."""
    density = _density(box)
    cover = plates.coverage(probe, box, density)
    pixels = plates.picture(box, density, ground)[cover >= 250].astype(int)
    if len(pixels) < 4 or int((pixels.max(0) - pixels.min(0)).max()) > ONE_COLOUR:
        return None
    return tuple(round(float(v)) for v in pixels.mean(0))


def _density(box: Box) -> float:
    return min(DENSITY, (PIXELS / max(area(box), 1e-6)) ** 0.5)


def shows_through(
    page: Any, drawn: Sequence[Drawn], leaves: Callable[[int], bool], masks: Mapping[int, Any]
) -> bool:
    """Does a see-through object lie over something that shows through it in a colour of its own?

    Spot colours are left out: over one another they stay inks of their own, each on its plate.

    Args:
        page: of pymupdf.
        drawn: its objects.
        leaves: does the object of that number leave a mark, other than bare paper?  A see-through one in the paper's
            colour does, on others.
        masks: the alpha of pictures, by the number of their object.
    """
    ghosts = [
        i
        for i, one in enumerate(drawn)
        if one.box is not None and NOTHING <= one.alpha < SEE_THROUGH and leaves(i)
    ]
    if not ghosts:
        return False
    left = np.array([leaves(i) for i in range(len(drawn))])
    boxes = np.array([one.box or (0, 0, -1, -1) for one in drawn], float)
    below: dict[int, set[int]] = {}
    for ghost in ghosts:
        x0, y0, x1, y1 = boxes[ghost]
        earlier = boxes[:ghost]
        meets = (earlier[:, 0] < x1) & (earlier[:, 2] > x0) & (earlier[:, 1] < y1) & (earlier[:, 3] > y0)
        found = {
            int(i)
            for i in np.flatnonzero(meets & left[:ghost])
            if not _both_spots(drawn[int(i)], drawn[ghost])
        }
        if found:
            below[ghost] = found
    if len(below) > MOST_GHOSTS:
        return True
    return bool(below) and _overlaps(page, drawn, leaves, masks, below)


def _both_spots(one: Drawn, other: Drawn) -> bool:
    return bool(only_spots(one.paint) and only_spots(other.paint))


def only_spots(paint: Paint | None) -> bool:
    """Is it one spot colour, or several?"""
    return bool(paint and paint.spots)


def _overlaps(
    page: Any, drawn: Sequence[Drawn], leaves: Callable[[int], bool], masks: Mapping[int, Any], below: dict[int, set[int]]
) -> bool:  # fmt: skip
    """Two lists a see-through object: itself alone, and what lies beneath it as far as it is not covered already."""
    order = list(below)
    alone = {ghost: 2 * k for k, ghost in enumerate(order)}
    beneath = {ghost: 2 * k + 1 for k, ghost in enumerate(order)}
    assigned = []
    for i, one in enumerate(drawn):
        lists = {beneath[ghost] for ghost in order if i in below[ghost]} | (
            {alone[i]} if i in alone else set()
        )
        opaque = one.box is not None and one.alpha >= SEE_THROUGH and i not in masks
        spares = {*alone.values(), *(beneath[ghost] for ghost in order if ghost <= i)} - lists
        assigned.append(
            Assignment(
                frozenset(lists), art=False, knocks_out=opaque, spares=frozenset(spares), mask=masks.get(i)
            )
            if lists or (opaque and not one.overprint)
            else Assignment(skipped=True)
        )
    cookie = mu.FzCookie()
    numbers = [*alone.values(), *beneath.values()]
    splitter = Splitter(cookie, mu.fz_bound_page(page.this), numbers, assigned)
    mu.fz_run_page_contents(page.this, splitter, mu.FzMatrix(), cookie)
    if splitter.error is not None:
        raise splitter.error
    mu.fz_close_device(splitter)
    splitter.close()
    plates = ListPlates(dict(zip(numbers, splitter.lists, strict=True)), None, keep=splitter)
    for ghost in order:
        whole = drawn[ghost].box
        assert whole is not None
        box = in_mm(whole)
        density = _density(box)
        shared = np.minimum(
            plates.coverage(alone[ghost], box, density), plates.coverage(beneath[ghost], box, density)
        )
        if float((shared >= 128).sum()) / density**2 > SEEN:
            return True
    return False
