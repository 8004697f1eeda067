"""What belongs to the sheet and not to the art: crop marks, register marks, colour bars, slug lines."""

from collections.abc import Callable, Sequence

from preflight.artwork import Box, union
from preflight.load.geometry import in_mm
from preflight.load.recorder import Drawn

#: What touches the trim box by less than this, mm, lies outside of it.
TOUCH = 0.05
#: Strokes of register and crop marks are this thin, mm (common practice: 0.25 to 1 pt).
MARK_PEN = 0.5


def furniture(drawn: Sequence[Drawn], trim: Box | None, leaves: Callable[[int], bool]) -> set[int]:
    """The numbers of the objects that nobody wants produced.

    That is whatever lies wholly outside the trim box, and thin lines in the registration colour beside all else.
    Where nothing else would be left, everything is art.

    Args:
        drawn: the objects of the page.
        trim: mm of the page; None where the file has none of its own.
        leaves: does the object of that number leave a mark, other than bare paper?
    """
    boxes = {i: in_mm(one.box) for i, one in enumerate(drawn) if one.box is not None}
    left = [i for i in boxes if leaves(i)]
    outside = {i for i, box in boxes.items() if trim is not None and _apart(box, trim)}
    if all(i in outside for i in left):
        outside = set()
    marks = {i for i in boxes if i not in outside and is_registration(drawn[i]) and _thin(drawn[i])}
    others = [boxes[i] for i in left if i not in marks and i not in outside]
    if not marks or not others:
        return outside
    around = union(others)
    return outside | {i for i in marks if _apart(boxes[i], around)}


def is_registration(one: Drawn) -> bool:
    """Is it painted in the colour that goes on every plate (ISO 32000-1:2008, 8.6.6.4)?"""
    return bool(one.paint and one.paint.spots and one.paint.spots[0][0] == "All")


def _thin(one: Drawn) -> bool:
    if one.kind != "stroke" or one.pen is None:
        return False
    return in_mm((0, 0, one.pen[1], 0))[2] <= MARK_PEN


def _apart(box: Box, other: Box) -> bool:
    return (
        box[2] <= other[0] + TOUCH or box[0] >= other[2] - TOUCH or box[3] <= other[1] + TOUCH or box[1] >= other[3] - TOUCH
    )  # fmt: skip
