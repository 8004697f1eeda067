"""How the file is built: bitmaps where outlines are wanted, hidden matter, transparency, overprint, what was not read."""

from collections.abc import Iterator

import numpy as np

from preflight.artwork import Artwork, Box, Mark, Picture
from preflight.measure import measures
from preflight.order import Order
from preflight.quantity import plain
from preflight.reading import Reading

#: Strokes thinner than this that overprint are traps, mm; inks darker than this L* are black (common practice).
TRAP_MM, BLACK_LIGHTNESS = 1.5, 20.0
#: So many objects are looked at, the largest first.
MOST_MARKS = 200


def counted(art: Artwork, what: str, *kinds: str) -> Reading:
    """One Reading: how many facts of these kinds the file has, with all their places; 0 when none.

    `what` stands when there is none or several; one fact alone speaks for itself.
    """
    found = list(art.facts_of(*kinds))
    texts = tuple(dict.fromkeys(plain(fact.text) for fact in found if fact.text))
    return Reading(
        value=float(sum(fact.count for fact in found)),
        what=texts[0] if len(texts) == 1 else what,
        where=tuple(fact.box for fact in found if fact.box),
        facts={"texts": texts[:20], "kinds": tuple(dict.fromkeys(fact.kind for fact in found))},
    )


def is_photograph(art: Artwork, picture: Picture) -> bool:
    """Is most of a picture continuous tone?  By what its pixels say, else by the fades found over it."""
    tone = picture.tone
    if tone is not None and hasattr(tone, "continuous"):
        return bool(tone.continuous)
    area = (picture.box[2] - picture.box[0]) * (picture.box[3] - picture.box[1])
    over = sum(
        _common(picture.box, f.box) * f.share for f in art.fades if f.kind in ("photograph", "halftone")
    )
    return area > 0 and over >= 0.5 * area


def _common(one: Box, other: Box) -> float:
    across = min(one[2], other[2]) - max(one[0], other[0])
    down = min(one[3], other[3]) - max(one[1], other[1])
    return max(0.0, across) * max(0.0, down)


def line_art_pictures(art: Artwork) -> tuple[Picture, ...]:
    """The bitmaps that carry flat-colour or line art: neither one flat colour all over nor photographs."""
    return tuple(p for p in art.pictures if not p.flat and (p.stencil or not is_photograph(art, p)))


@measures("")
def bitmap(art: Artwork, order: Order) -> Iterator[Reading]:
    """Bitmaps that stand where outlines should, a count: 1 for bitmap art, else the pictures of line art in it.

    A bitmap wrapped in a vector format counts as bitmap art.  0 when all is drawn.
    """
    if art.kind == "bitmap":
        yield Reading(value=1.0, what="the whole art", where=(art.box,))
        return
    pictures = line_art_pictures(art)
    what = "a bitmap in the art" if len(pictures) == 1 else "the bitmaps in the art"
    yield Reading(value=float(len(pictures)), what=what, where=tuple(p.box for p in pictures))


@measures("")
def line_art_bitmaps(art: Artwork, order: Order) -> Iterator[Reading]:
    """Bitmaps that carry line art, a count, photographs not among them; 0 when there are none."""
    pictures = line_art_pictures(art)
    what = "a bitmap of line art" if len(pictures) == 1 else "the bitmaps of line art"
    yield Reading(value=float(len(pictures)), what=what, where=tuple(p.box for p in pictures))


@measures("")
def hidden_layers(art: Artwork, order: Order) -> Iterator[Reading]:
    """Layers switched off that hold something, a count."""
    yield counted(art, "hidden layers", "hidden layer")


@measures("")
def hidden_objects(art: Artwork, order: Order) -> Iterator[Reading]:
    """Objects off the page, invisible text and hidden objects, a count."""
    yield counted(art, "objects that do not show", "off page", "invisible text", "hidden object")


@measures("")
def extra_pages(art: Artwork, order: Order) -> Iterator[Reading]:
    """Pages or frames besides the one checked, a count."""
    reading = counted(art, "more pages", "extra page")
    if not reading.value and art.pages > 1:
        yield Reading(value=float(art.pages - 1), what=f"page {art.page} of {art.pages}")
    else:
        yield reading


@measures("")
def further_channels(art: Artwork, order: Order) -> Iterator[Reading]:
    """Channels of a bitmap besides its colours and transparency that may hold an ink, a count."""
    yield counted(art, "further channels", "further channel")


@measures("")
def annotations(art: Artwork, order: Order) -> Iterator[Reading]:
    """Notes, comments and form fields laid over the page, a count."""
    yield counted(art, "notes on the page", "annotation")


@measures("")
def transparency(art: Artwork, order: Order) -> Iterator[Reading]:
    """Soft masks, blend modes and see-through objects, a count."""
    yield counted(art, "see-through objects", "soft mask", "blend mode", "opacity")


@measures("")
def overprint(art: Artwork, order: Order) -> Iterator[Reading]:
    """Objects whose overprint changes what is printed, a count; white ones are counted by `white_overprint`.

    Black objects and the thin strokes of a trap overprint by good practice and are not counted, nor is what lies over no
    other ink.
    """
    marks = art.once("mixing overprints", lambda: _mixing(art))
    what = "an object set to overprint" if len(marks) == 1 else "the objects set to overprint"
    yield Reading(value=float(len(marks)), what=what, where=tuple(mark.box for mark in marks))


def _mixing(art: Artwork) -> list[Mark]:
    wanted = [
        (number, mark) for number, mark in enumerate(art.marks)
        if mark.overprint and mark.ink is not None and mark.role != "cut"
        and not (mark.kind == "stroke" and mark.pen is not None and mark.pen.greatest_mm < TRAP_MM)
        and art.inks[mark.ink].lab[0] > BLACK_LIGHTNESS
    ]  # fmt: skip
    if not wanted:
        return []
    boxes = np.array([mark.box for mark in art.marks])
    inks = np.array([-1 if mark.ink is None else mark.ink for mark in art.marks])
    wanted.sort(key=lambda item: -_common(item[1].box, item[1].box))
    found = []
    for number, mark in wanted[:MOST_MARKS]:
        x0, y0, x1, y1 = mark.box
        below = boxes[:number]
        meet = (below[:, 0] < x1) & (below[:, 2] > x0) & (below[:, 1] < y1) & (below[:, 3] > y0)
        under = set(inks[:number][meet].tolist()) - {-1, mark.ink}
        if any(_printed_over(art, mark, other) for other in under):
            found.append(mark)
    return found


def _printed_over(art: Artwork, mark: Mark, other: int) -> bool:
    """Do both plates carry ink at one place of the mark, by more than a seam?"""
    x0, y0, x1, y1 = mark.box
    scale = min(20.0, 400 / max(x1 - x0, y1 - y0, 1e-6))
    both = (art.coverage(mark.ink, mark.box, scale) >= 128) & (art.coverage(other, mark.box, scale) >= 128)
    return float(both.sum()) / scale**2 > 0.05


@measures("")
def white_overprint(art: Artwork, order: Order) -> Iterator[Reading]:
    """White objects set to overprint, a count: they vanish in print."""
    yield counted(art, "white objects set to overprint", "white overprint")


@measures("")
def rendering(art: Artwork, order: Order) -> Iterator[Reading]:
    """Places where two independent drawing engines disagree, a count."""
    yield counted(art, "places that two drawing programs show differently", "rendering")


@measures("")
def unread(art: Artwork, order: Order) -> Iterator[Reading]:
    """What could not be read of the file: damage, unsupported features, links not followed, unread colours; a count."""
    yield counted(
        art, "parts that could not be read", "damaged", "unsupported", "unread colour", "removed link"
    )
