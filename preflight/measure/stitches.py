"""Stitches: an estimate from the art alone, as a range, never one exact number.

N = fill area x 1.86 + satin length x 5.9 + run length x 0.8 + letters x table + ties x 8, at the sewn size.

Published rules for the same art differ from 0.7 to 1.5 times this (example 1 of `tests/test_measure_stitches.py` by six of
them: 7 478 to 16 400), hence the range.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import cv2
import numpy as np

from preflight.artwork import Artwork, Box, Ink
from preflight.measure import lettering, measures
from preflight.measure.letter_line import CERTAIN
from preflight.measure.structure import is_photograph
from preflight.order import Order
from preflight.reading import Reading

cv2.setNumThreads(1)

#: Stitches that tie a thread off and on again, at each trim and colour change (from memory).
TIES = 8
#: How far an estimate from the art may be out: published rules against one another (computed).
LOW, HIGH = 0.7, 1.5
#: Columns narrower than the first are one run of stitches, wider than the second are filled, mm (common practice).
RUN_MM, FILL_MM = 1.0, 7.0
#: The longest stitch a machine lays, mm (from memory): nothing wider can be satin at all.
LONGEST_MM = 12.1
#: Height of letters in mm and stitches a letter of that height takes (common practice).
LETTERS = ((6.4, 100.0), (12.7, 200.0), (19.0, 350.0), (25.4, 500.0), (31.8, 600.0))
#: ... and so many more where it has serifs (common practice).
SERIF_STITCHES = 20.0
#: Bands that piece prices are quoted by (common practice).
BANDS = (5000, 7500, 10000, 15000)
#: Widths at which columns are told apart, mm; between two of them the mean counts.
_WIDTHS = (
    LONGEST_MM,
    10.0,
    8.4,
    FILL_MM,
    5.6,
    4.5,
    3.6,
    2.9,
    2.3,
    1.85,
    1.5,
    1.2,
    RUN_MM,
    0.8,
    0.65,
    0.5,
    0.4,
    0.3,
)
#: Pixels per mm and pixels of a plate at most.
_FINE, _MOST_PIXELS = 20.0, 5_000_000
#: Parts nearer to each other than this are sewn without a trim between, mm (from memory).
_JUMP_MM = 2.0


@dataclass(frozen=True)
class Coefficients:
    """Stitches in a mm² of fill with its underlay, in a mm of satin column, and in a mm of run sewn there and back.

    The defaults are common practice: 1 000 and 200 a square inch, 150 an inch, 2.5 mm stitches doubled.
    """

    fill_per_mm2: float = 1.86
    satin_per_mm: float = 5.9
    run_per_mm: float = 0.8


USUAL = Coefficients()


@dataclass(frozen=True)
class Column:
    """A satin column: the widest it gets, its length and where it is; mm."""

    width: float
    length: float
    box: Box


@dataclass(frozen=True)
class Sewing:
    """What one thread has to sew: mm², mm, and how often it is tied off."""

    ink: Ink | None
    fill_mm2: float = 0.0
    satin_mm: float = 0.0
    run_mm: float = 0.0
    area_mm2: float = 0.0
    letters: int = 0
    letter_stitches: float = 0.0
    parts: int = 0
    columns: tuple[Column, ...] = ()

    @property
    def stitches(self) -> float:
        """Stitches without the change of colour before it."""
        return counted(
            self.fill_mm2, self.satin_mm, self.run_mm, self.letter_stitches, max(self.parts - 1, 0)
        )


def counted(
    fill_mm2: float,
    satin_mm: float,
    run_mm: float,
    letters: float = 0.0,
    ties: float = 0.0,
    per: Coefficients = USUAL,
) -> float:
    """The formula: stitches for a filled area, satin and run lengths, letters (by `letter_stitches`), and ties."""
    return (
        fill_mm2 * per.fill_per_mm2
        + satin_mm * per.satin_per_mm
        + run_mm * per.run_per_mm
        + letters
        + ties * TIES
    )


def letter_stitches(height_mm: float) -> float:
    """Stitches of one satin letter by its height, between the heights of the table in proportion."""
    heights, stitches = zip(*LETTERS, strict=True)
    if height_mm <= heights[0]:
        return stitches[0] * height_mm / heights[0]
    if height_mm >= heights[-1]:
        return stitches[-1] * height_mm / heights[-1]
    return float(np.interp(height_mm, heights, stitches))


def band(stitches: float) -> str:
    """The price band a number of stitches falls in."""
    for top in BANDS:
        if stitches <= top:
            return f"to {top:,}".replace(",", " ")
    return f"over {BANDS[-1]:,}".replace(",", " ")


def sewings(art: Artwork) -> tuple[Sewing, ...]:
    """What each ink has to sew, in the order of the inks; a picture without inks counts as one thread.  Cached."""
    return art.once("sewings", lambda: tuple(_sewing(art, ink) for ink in (art.inks or (None,))))


def total(art: Artwork) -> float:
    """Stitches of the whole art, the ties at each change of colour counted."""
    used = [sewing for sewing in sewings(art) if sewing.area_mm2 > 0]
    return sum(sewing.stitches for sewing in used) + TIES * max(len(used) - 1, 0)


def _sewing(art: Artwork, ink: Ink | None) -> Sewing:
    if art.width_mm <= 0 or art.height_mm <= 0:
        return Sewing(ink)
    scale = min(_FINE, (_MOST_PIXELS / (art.width_mm * art.height_mm)) ** 0.5)
    if min(art.width_mm, art.height_mm) * scale < 1:
        return Sewing(ink)
    cover = art.coverage(ink, art.box, scale)
    sewn = cover >= 128
    if not sewn.any():
        return Sewing(ink)
    rows, columns = np.flatnonzero(sewn.any(1)), np.flatnonzero(sewn.any(0))
    top, left = int(rows[0]), int(columns[0])
    window = sewn[top : rows[-1] + 1, left : columns[-1] + 1]
    mask = np.pad(window, 2).astype(np.uint8)
    corner = (left - 2, top - 2)
    near = cv2.distanceTransform(1 - mask, cv2.DIST_L2, 5) <= _JUMP_MM * scale / 2
    parts = cv2.connectedComponents(near.astype(np.uint8), connectivity=8)[0] - 1
    # Pixels on the edge count whole or not at all in what follows; the covered area is exact.
    covered = float(cover.sum(dtype=np.float64)) / 255
    exact = covered / max(int(np.count_nonzero(mask)), 1)
    letters, letter_count = _without_letters(art, ink, mask, scale, corner)
    fill, satin, run, satins = _classified(mask, scale, corner)
    return Sewing(
        ink, fill * exact, satin * exact, run * exact, covered / scale**2, letters, letter_count, parts,
        tuple(sorted(satins, key=lambda column: -column.width)[:20]),
    )  # fmt: skip


def _without_letters(
    art: Artwork, ink: Ink | None, mask: np.ndarray, scale: float, corner: tuple[int, int]
) -> tuple[int, float]:
    """Takes the letters that stand alone out of the mask; how many they were, and their stitches by the table."""
    lines = [
        line for line in lettering.lines(art)
        if ink is not None and line.ink == ink.number and line.sure >= CERTAIN and not line.knocked_out
        and line.kind != "joined" and line.cap_or_equivalent
    ]  # fmt: skip
    if not lines:
        return 0, 0.0
    _, labels, stats, _ = cv2.connectedComponentsWithStats(mask, connectivity=8)
    low = (stats[:, :2] + corner) / scale
    high = low + stats[:, 2:4] / scale
    found, stitches = 0, 0.0
    gone = np.zeros(len(stats), bool)
    slack = 0.2 + 1 / scale
    for line in lines:
        height = line.cap_or_equivalent or 0.0
        if height > LETTERS[-1][0]:
            continue  # so large that its strokes are columns and fills like any other
        for box in line.letters:
            inside = (
                (low >= np.array(box[:2]) - slack).all(1) & (high <= np.array(box[2:]) + slack).all(1) & ~gone
            )
            inside[0] = False
            if inside.any():
                gone |= inside
                found += 1
                stitches += letter_stitches(height) + (SERIF_STITCHES if line.serif else 0.0)
    mask[gone[labels]] = 0
    return found, stitches


def _classified(
    mask: np.ndarray, scale: float, corner: tuple[int, int]
) -> tuple[float, float, float, list[Column]]:
    """Area of fill in mm², lengths of satin and run in mm, and the satin columns.

    From the widest down, what holds a disc of that width is taken away: its area by its width is its length.  Corners that
    a round disc does not reach have no middle line of their own and go with what they belong to.
    """
    distance = cv2.distanceTransform(mask, cv2.DIST_L2, cv2.DIST_MASK_PRECISE)
    ridge = _ridge(mask, distance)
    left = mask.copy()
    fill = satin = run = 0.0
    columns: list[Column] = []
    pixel = 1 / scale
    for number, width in enumerate((*_WIDTHS, 0.0)):
        part = _opened(left, distance, ridge, width * scale / 2) if width * scale >= 1.6 else left
        if width and width * scale < 1.6:
            continue
        area = float(np.count_nonzero(part)) * pixel**2
        if area:
            left = left & ~part & 1
            wider = _WIDTHS[number - 1] if number else None
            middle = distance[(ridge & part) > 0]
            mean = (
                float(np.clip((2 * middle.mean() - 0.5) * pixel, width, wider))
                if len(middle)
                else wider or width
            )
            if number <= _WIDTHS.index(FILL_MM):
                fill += area
            if width >= RUN_MM and wider and wider <= LONGEST_MM:
                columns += _columns(part, distance, scale, corner)
            if RUN_MM <= width < FILL_MM:
                satin += area / mean
            elif width < RUN_MM:
                run += area / max(mean, 0.15)
        if not left.any():
            break
    return fill, satin, run, columns


def _ridge(mask: np.ndarray, distance: np.ndarray) -> np.ndarray:
    """Middle lines: where the distance to the edge does not grow in any direction as it does towards one edge.

    On the bisector of a corner of less than about 84 degrees it still does not: a tip is part of its column.
    """
    dx = cv2.Sobel(distance, cv2.CV_32F, 1, 0, ksize=3, scale=1 / 8)
    dy = cv2.Sobel(distance, cv2.CV_32F, 0, 1, ksize=3, scale=1 / 8)
    return ((dx * dx + dy * dy < 0.45) & (mask > 0)).astype(np.uint8)


def _opened(left: np.ndarray, distance: np.ndarray, ridge: np.ndarray, radius: float) -> np.ndarray:
    """What of `left` holds a disc of this radius in pixels, with the corners that belong to it."""
    core = ((distance >= radius - 0.01) & (left > 0)).astype(np.uint8)
    if not core.any():
        return np.zeros_like(left)
    swept = (cv2.distanceTransform(1 - core, cv2.DIST_L2, cv2.DIST_MASK_PRECISE) <= radius + 0.5).astype(
        np.uint8
    ) & left
    rest = left & ~swept & 1
    count, labels = cv2.connectedComponents(rest, connectivity=8)
    if count > 1:
        own = np.zeros(count, bool)
        own[np.unique(labels[ridge > 0])] = True
        own[0] = True
        beside = np.zeros(count, bool)
        beside[np.unique(labels[cv2.dilate(swept, np.ones((3, 3), np.uint8)) > 0])] = True
        swept |= (~own & beside)[labels].astype(np.uint8)
    return swept


def _columns(part: np.ndarray, distance: np.ndarray, scale: float, corner: tuple[int, int]) -> list[Column]:
    """The long parts of what was taken away at one width."""
    count, labels, stats, _ = cv2.connectedComponentsWithStats(part, connectivity=8)
    if count < 2:
        return []
    widest = np.zeros(count, np.float32)
    at = np.flatnonzero(part)
    order = np.argsort(labels.ravel()[at], kind="stable")
    starts = np.searchsorted(labels.ravel()[at][order], np.arange(1, count))
    widest[1:] = np.maximum.reduceat(distance.ravel()[at][order], starts)
    found = []
    for number in np.argsort(-widest[1:])[:200] + 1:
        x, y, w, h, area = (int(v) for v in stats[number])
        # A column of n pixels has its middle n / 2 or (n + 1) / 2 from the bare pixels beside it, for n even or odd.
        width = max(2 * float(widest[number]) - 0.5, 0.5) / scale
        length = area / scale**2 / width
        if length >= 2.5 * width:
            box = ((x + corner[0]) / scale, (y + corner[1]) / scale)
            found.append(Column(width, length, (*box, box[0] + w / scale, box[1] + h / scale)))
    return found


def _unknown(art: Artwork) -> str:
    """Why there is nothing to count, one sentence; "" where there is."""
    whole = max(art.width_mm * art.height_mm, 1e-9)
    photographs = [p.box for p in art.pictures if not p.flat and is_photograph(art, p)]
    photographs += [f.box for f in art.fades if f.kind in ("photograph", "halftone") and f.share > 0.25]
    if max(((b[2] - b[0]) * (b[3] - b[1]) for b in photographs), default=0.0) > 0.5 * whole:
        return "The art is a photograph, which has no stitched areas to count."
    return ""


@measures("stitches")
def estimate(art: Artwork, order: Order) -> Iterator[Reading]:
    """Stitches of the whole art: the middle of a range from 30 % less to 50 % more (facts low, high, band)."""
    reason = _unknown(art)
    if reason:
        yield Reading(value=None, what="the stitches", reason=reason)
        return
    stitches = total(art)
    if stitches > 0:
        yield Reading(
            value=float(round(stitches)), what="the whole design", where=(art.box,), margin=(HIGH - 1) * stitches,
            facts={"low": round(LOW * stitches), "high": round(HIGH * stitches), "band": band(stitches)},
        )  # fmt: skip


@measures("stitches/mm2")
def density(art: Artwork, order: Order) -> Iterator[Reading]:
    """Stitches by the area of the box round the design, stitches/mm²."""
    if _unknown(art):
        yield Reading(value=None, what="the stitch density", reason=_unknown(art))
        return
    stitches = total(art)
    if stitches > 0:
        value = stitches / (art.width_mm * art.height_mm)
        yield Reading(value=value, what="the whole design", where=(art.box,), margin=(HIGH - 1) * value)


@measures("mm")
def satin_width(art: Artwork, order: Order, up_to: float | None = None) -> Iterator[Reading]:
    """Width of the widest column that can be sewn as satin, mm, one Reading an ink.

    A column is at least 2.5 times as long as it is wide, from 1 mm to the longest stitch of 12.1 mm; what is wider is
    always filled.
    """
    if _unknown(art):
        yield Reading(value=None, what="the columns", reason=_unknown(art))
        return
    for sewing in sewings(art):
        if sewing.columns:
            widest = sewing.columns[0]
            others = [c.box for c in sewing.columns[1:] if up_to is not None and c.width > up_to]
            name = f"the column in {sewing.ink.name}" if sewing.ink else "the column"
            yield Reading(
                value=widest.width,
                what=name,
                where=(widest.box, *others),
                margin=0.1,
                facts={"length_mm": widest.length},
            )
