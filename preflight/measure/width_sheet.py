"""Many small windows on one sheet, so that OpenCV runs over them all at once."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from preflight.measure.width_source import Window

#: Side of a sheet in pixels, most and least; a larger window has a sheet of its own.
SIDE, LEAST_SIDE = 1536, 128
#: A few windows fill a small sheet better than a corner of a large one: its width is so many times the root of their area.
SPREAD = 0.9
#: Windows lie on a grid of this many pixels, so that a small table tells whose a pixel is.
CELL = 4


@dataclass(slots=True)
class Sheet:
    """Where the windows of one sheet lie: (number of the window, left, top), and the sheet's size."""

    places: list[tuple[int, int, int]]
    width: int
    height: int

    def owners(self, windows: Sequence[Window]) -> np.ndarray:
        """Number of the window in each CELL x CELL cell, −1 for none."""
        table = np.full((self.height // CELL + 2, self.width // CELL + 2), -1, np.int32)
        for number, left, top in self.places:
            window = windows[number]
            table[
                top // CELL : (top + window.height - 1) // CELL + 1,
                left // CELL : (left + window.width - 1) // CELL + 1,
            ] = number
        return table

    def valid(self, windows: Sequence[Window], ring: int) -> np.ndarray:
        """uint8: 255 inside the windows, less a ring along their edges."""
        mask = np.zeros((self.height, self.width), np.uint8)
        for number, left, top in self.places:
            window = windows[number]
            if min(window.width, window.height) > 2 * ring:
                inside = np.s_[
                    top + ring : top + window.height - ring, left + ring : left + window.width - ring
                ]
                mask[inside] = 255
        return mask


def sheets(windows: Sequence[Window], apart: int = 1) -> Iterator[Sheet]:
    """The windows laid out on shelves, tallest first, each on the first with room, at least so many bare pixels apart."""
    needed = sum((one.width + apart + CELL // 2) * (one.height + apart + CELL // 2) for one in windows)
    side = min(SIDE, max(LEAST_SIDE, int(SPREAD * needed**0.5)))

    def round_up(pixels: int) -> int:
        return (pixels + apart + CELL - 1) // CELL * CELL

    least = min((round_up(one.width) for one in windows), default=0)
    places: list[tuple[int, int, int]] = []
    shelves: list[list[int]] = []  # with room for the least: left and top of what is free, and its height
    width = height = 0
    for number in sorted(range(len(windows)), key=lambda i: (-windows[i].height, -windows[i].width)):
        wide, high = round_up(windows[number].width), round_up(windows[number].height)
        for shelf in shelves:
            if shelf[0] + wide <= side and shelf[2] >= high:
                break
        else:
            if height and height + high > SIDE:
                yield Sheet(places, width, height)
                places, shelves, width, height = [], [], 0, 0
            shelf = [0, height, high]
            shelves.append(shelf)
            height += high
        left, top, free = shelf
        if free >= 2 * high:  # what follows is no taller: two shelves fit into the rest of this one
            shelves.append([left, top + high, free - high])
            shelf[2] = high
        places.append((number, left, top))
        shelf[0] += wide
        width = max(width, shelf[0])
        if shelf[0] + least > side:
            shelves.remove(shelf)
    if places:
        yield Sheet(places, width, height)
