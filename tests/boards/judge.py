"""Holds what was measured on a board against its truth."""

from dataclasses import dataclass, field

import numpy as np

from boards.plates import artwork, drawn
from boards.sheets import Board, Place
from preflight.artwork import Artwork
from preflight.load.plates import ALL, PixelPlates
from preflight.measure import widths
from preflight.pixels.stairs import smoothed

KINDS = ("line", "gap", "speck", "hole")


@dataclass
class Verdict:
    """Places missed, places that should have been quiet, and the errors (mm, true width) of those found."""

    violations: int = 0
    quiet: int = 0
    missed: list[str] = field(default_factory=list)
    false: list[str] = field(default_factory=list)
    errors: list[tuple[float, float, str]] = field(default_factory=list)

    def __add__(self, other: "Verdict") -> "Verdict":
        return Verdict(
            self.violations + other.violations, self.quiet + other.quiet, self.missed + other.missed,
            self.false + other.false, self.errors + other.errors,
        )  # fmt: skip

    def error(self, quantile: float) -> float:
        return float(np.quantile([e[0] for e in self.errors], quantile))

    def beyond(self, absolute: float, relative: float) -> list[tuple[float, float, str]]:
        """Errors past a tolerance that is the larger of the two."""
        return [e for e in self.errors if e[0] > max(absolute, relative * e[1])]


def art_of(board: Board) -> Artwork:
    return drawn(board.width, board.height, board.polygons)


def bitmap_of(board: Board, ppi: float, bilevel: bool = False) -> Artwork:
    """The board as a bitmap: its exact coverage at that many pixels an inch, or black and white without greys."""
    exact, density = art_of(board), ppi / 25.4
    height = np.ceil(board.height * density) / density
    width = np.ceil(board.width * density) / density
    plates = [exact.coverage(ink.number, (0, 0, width, height), density) for ink in exact.inks]
    if bilevel:
        plates = [smoothed(np.where(p > 127, 255, 0).astype(np.uint8)) for p in plates]
    by_number = dict(enumerate(plates)) | {ALL: np.maximum.reduce(plates)}
    drawer = PixelPlates(by_number, plates[0], None, (density, density), stepped=bilevel)
    return artwork(width, height, drawer, len(plates), kind="bitmap", composite=True, plate_ppi=ppi)


def judge(board: Board, art: Artwork, limit: float) -> Verdict:
    """Everything narrower than `limit` on the board, held against what is expected of each place."""
    found = [(kind, one) for kind in KINDS for one in widths.found(art, (kind,), limit).things]
    verdict = Verdict()
    for place in board.places:
        here = [(kind, one) for kind, one in found if _in(place, one.box)]
        if not place.expected:
            verdict.quiet += 1
            if here:
                listed = ", ".join(f"{kind} {one.width:.4f} x {one.length:.2f}" for kind, one in here)
                verdict.false.append(f"{place.note}: {listed}")
            continue
        verdict.violations += 1
        for kind, width in place.expected:
            measured = [one.width for k, one in here if k == kind]
            if measured:
                verdict.errors.append((abs(min(measured) - width), width, place.note))
            else:
                verdict.missed.append(f"{place.note}: {kind} {width:.4f}")
    return verdict


def _in(place: Place, box: tuple[float, float, float, float]) -> bool:
    x, y = (box[0] + box[2]) / 2, (box[1] + box[3]) / 2
    return place.box[0] <= x <= place.box[2] and place.box[1] <= y <= place.box[3]
