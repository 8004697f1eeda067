"""Places that fade, and which of them are one to the eye: those that lie over each other, and those in a row."""

from dataclasses import dataclass

from preflight.pixels.tone import FadeKind, PixelBox

#: Boxes that lie over each other by this part of the smaller are one place.
NESTED = 0.5
#: Boxes are in a row when they share this part of the higher one's height, with gaps of less than this part of the lower one's.
SAME_LEVEL, ROW_GAP = 0.7, 0.12


@dataclass(frozen=True, slots=True)
class Place:
    """A place that fades: box in pixels of the reduced picture, how many of them fade, how sure; and the box of what of it is
    plainly seen, its narrow ends left out, where that is another.
    """

    kind: FadeKind
    box: PixelBox
    area: int
    sure: float
    plain: PixelBox | None = None

    @property
    def seen(self) -> PixelBox:
        """The box of what is plainly seen."""
        return self.plain or self.box


def union(one: Place, other: Place) -> Place:
    """Two places as one of the first's kind."""
    box, plain = _around([one.box, other.box]), _around([one.seen, other.seen])
    return Place(one.kind, box, one.area + other.area, max(one.sure, other.sure), plain)


def _around(boxes: list[PixelBox]) -> PixelBox:
    """The box around some."""
    left, top, right, bottom = zip(*boxes, strict=True)
    return min(left), min(top), max(right), max(bottom)


def nested(places: list[Place]) -> list[Place]:
    """Places of one kind made one whose boxes lie over each other by half (the parts of one shadow around a shape), or close in
    a row (a line of lettering, the tiles of a drawing).
    """
    kept: list[Place] = []
    for place in places:
        for number, other in enumerate(kept):
            together = _covers(place.seen, other.seen) > NESTED or _in_a_row(place.seen, other.seen)
            if place.kind == other.kind and together:
                kept[number] = union(place, other)
                break
        else:
            kept.append(place)
    return kept if len(kept) == len(places) else nested(kept)


def _in_a_row(one: PixelBox, other: PixelBox) -> bool:
    """Whether two boxes are about as high, on one level, and close beside each other; or the same one above the other."""
    for near, far in ((0, 1), (1, 0)):
        sides = [box[far + 2] - box[far] for box in (one, other)]
        common = min(one[far + 2], other[far + 2]) - max(one[far], other[far])
        gap = max(one[near] - other[near + 2], other[near] - one[near + 2])
        if common > SAME_LEVEL * max(sides) and gap < ROW_GAP * min(sides):
            return True
    return False


def _covers(one: PixelBox, other: PixelBox) -> float:
    """Common part of two boxes, of the smaller one."""
    w, h = min(one[2], other[2]) - max(one[0], other[0]), min(one[3], other[3]) - max(one[1], other[1])
    areas = [(b[2] - b[0]) * (b[3] - b[1]) for b in (one, other)]
    return w * h / max(min(areas), 1) if w > 0 and h > 0 else 0.0
