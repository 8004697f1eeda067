"""The outlines of everything that is filled, in one array: a call of numpy for each of many thousands would take long."""

from dataclasses import dataclass

import numpy as np

from preflight.artwork import Artwork, Mark, Path


@dataclass(frozen=True, slots=True)
class Outlines:
    """All subpaths of the filled shapes of an art, closed, by their control points.

    Attributes:
        marks: the shapes.
        points: (n, 2) of all subpaths, mm.
        following: of each point the next one of its subpath; the first follows the last.
        owner: of each subpath, which mark it belongs to.
        first, after: of each subpath, its first point and the one after its last.
        steps: of each subpath, its segments, as of `Path`, after its beginning.
    """

    marks: list[Mark]
    points: np.ndarray
    following: np.ndarray
    owner: np.ndarray
    first: np.ndarray
    after: np.ndarray
    steps: list[str]

    def subpath(self, number: int) -> Path:
        """One subpath, closed, by its number."""
        return Path(
            "m" + self.steps[number].replace("h", "") + "h",
            self.points[self.first[number] : self.after[number]],
        )


def outlines(art: Artwork) -> Outlines | None:
    """The outlines of all shapes and letters that are filled; None where there are none."""
    return art.once("widths.outlines", lambda: _outlines(art))


def _outlines(art: Artwork) -> Outlines | None:
    marks = [mark for mark in art.marks if mark.kind in ("fill", "glyph") and mark.path is not None]
    paths = [mark.path for mark in marks if mark.path is not None]
    joined = "".join(path.steps for path in paths)
    steps = np.frombuffer(joined.encode(), np.uint8)
    counts = np.array([len(path.points) for path in paths], int)
    sizes = np.select([steps == ord("c"), steps == ord("h")], [3, 0], 1)
    first = (np.cumsum(sizes) - sizes)[steps == ord("m")]
    if not len(first):
        return None
    shifts = np.cumsum(counts) - counts
    points = np.concatenate([path.points for path in paths])
    after = np.append(first[1:], len(points))
    following = np.arange(1, len(points) + 1)
    following[after - 1] = first
    owner = np.searchsorted(shifts, first, side="right") - 1
    return Outlines(marks, points, following, owner, first, after, joined.split("m")[1:])
