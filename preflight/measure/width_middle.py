"""Where the thinnest things may be: a middle look into the windows in which the quick look saw anything narrow.

The quick look is too coarse to tell a line of a tenth of a millimetre from one of two, or to see the gap between two thin lines.
Whatever is narrow is looked at in windows anyway; seen as large as there, what is thinner than the first band stands out.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field

import cv2
import numpy as np

from preflight.artwork import Artwork
from preflight.measure.width_blocks import AROUND, LEAST, spots_of, thickness_of, thickness_on_middle
from preflight.measure.width_coarse import BANDS, NARROW
from preflight.measure.width_ends import Ends, ends
from preflight.measure.width_sheet import CELL, sheets
from preflight.measure.width_source import finest_resolution, keep, pixel_of, render
from preflight.measure.width_windows import HALO, Job, Places, all_jobs, connected, places

#: The band that is looked for, in the windows of NARROW.
THIN = 0
#: Of a square of so many pixels a line w pixels wide covers at most this times w, by rendering lines at every angle and offset;
#: and the most that is asked for.  (A round spot is covered less at the ends of lettering's stems, which would all look thin.)
SQUARE, MEAN_OF_LINE, MOST_MEAN = 3, 0.345, 0.9
#: Pixels from a window's edge in which a line looks thinner than it is, as it is cut off there.
RIM = AROUND
#: How thick a cell with only one thin pixel counts, as one that is covered all over does: see `thickness_of`.
ONE_PIXEL = 255
#: Pixels looked at; in a crowd that has more, the rest counts as thin unseen.
MOST_PIXELS = 60_000_000
#: And how many at once.
GROUP = 6_000_000
_FIVE = np.ones((5, 5), np.uint8)


@dataclass(slots=True)
class _Cells:
    """Cells of CELL x CELL pixels on the plates' grid in which something is thin, some of them more than once.

    `corners` tells which were seen to hold no more than the last pixel of a corner.
    """

    plates: list[np.ndarray] = field(default_factory=list)
    rows: list[np.ndarray] = field(default_factory=list)
    columns: list[np.ndarray] = field(default_factory=list)
    thickness: list[np.ndarray] = field(default_factory=list)
    gaps: list[np.ndarray] = field(default_factory=list)
    corners: list[np.ndarray] = field(default_factory=list)

    def add(
        self, plates: np.ndarray, rows: np.ndarray, columns: np.ndarray,
        thickness: np.ndarray, gap: bool, corner: np.ndarray,
    ) -> None:  # fmt: skip
        self.plates.append(plates)
        self.rows.append(rows)
        self.columns.append(columns)
        self.thickness.append(thickness)
        self.gaps.append(np.full(len(rows), gap))
        self.corners.append(corner)

    def places(self, inks: tuple[int | None, ...], density: float, exact: bool) -> Places:
        """Each cell once, with the thinnest that was seen in it, in the order of the plates.

        Args:
            inks: whose plates they are.
            density: pixels a mm.
            exact: the plates are, so that the last pixel of a corner, where it is alone, is no more than that.
        """
        if not sum(map(len, self.rows)):
            return Places(CELL / density, 0.0, inks, *[np.empty(0, int)] * 5)
        plates, rows, columns, thickness, gaps, corners = map(
            np.concatenate, (self.plates, self.rows, self.columns, self.thickness, self.gaps, self.corners)
        )
        before = max(0, -int(rows.min()), -int(columns.min()))  # cells that begin outside the art
        rows, columns = rows + before, columns + before
        # the plates one below the other, none touching the next
        below = rows + plates * (int(rows.max()) + 2)
        key = below * (int(columns.max()) + 1) + columns
        order = np.argsort(key, kind="stable")
        first = np.flatnonzero(np.diff(key[order], prepend=-1))

        def thinnest(wanted: np.ndarray) -> np.ndarray:
            # 0 stands for nothing there: less one it is the thickest
            of_kind = np.where(wanted, thickness, 0).astype(np.uint8)[order] - np.uint8(1)
            return np.minimum.reduceat(of_kind, first) + np.uint8(1)

        at = order[first]
        found = Places(
            CELL / density, before * CELL / density, inks,
            plates[at], rows[at], columns[at], thinnest(~gaps), thinnest(gaps),
        )  # fmt: skip
        if exact:
            count, group = connected(below[at], columns[at])
            alone = np.bincount(group, minlength=count)[group] == 1
            found = found[~(alone & np.logical_and.reduceat(corners[order], first))]
        return found


def look_for_thin(art: Artwork) -> Places:
    """The places of the first band: looked for once."""
    return art.once("widths.middle", lambda: _look(art))


def _look(art: Artwork) -> Places:
    density = finest_resolution(art, BANDS[NARROW].fine)
    rim = max(0, min(RIM, int(HALO * BANDS[NARROW].high * density) - 1))
    mean = 255 * min(MOST_MEAN, MEAN_OF_LINE * density * BANDS[THIN].high)
    narrow = places(art, NARROW)
    found = _Cells()
    group: list[tuple[Job, np.ndarray]] = []
    unseen: list[Job] = []
    pixels = looked_at = 0
    for job in all_jobs(art, narrow, NARROW, density):
        size = job.window.width * job.window.height
        looked_at += size
        if looked_at > MOST_PIXELS:
            unseen.append(job)
            continue
        cover = render(art, job.ink, job.window, density)
        keep(art, job.ink, job.window, density, cover)
        group.append((job, cover))
        pixels += size
        if pixels > GROUP:
            _note_group(found, narrow.inks, group, mean, rim)
            group, pixels = [], 0
    _note_group(found, narrow.inks, group, mean, rim)
    _take_over(found, narrow, unseen, density)
    _take_ends(found, ends(art, BANDS[THIN].high), narrow.inks, density)
    return _within(found.places(narrow.inks, density, not pixel_of(art)), narrow)


def _note_group(
    found: _Cells, inks: Sequence[int | None], group: Sequence[tuple[Job, np.ndarray]], mean: float, rim: int
) -> None:
    """Note the cells in which something in these windows is thin, and how thick it looks (`thickness_of`)."""
    plate_of = np.array([inks.index(job.ink) for job, _ in group])
    together = np.array([job.ink is None for job, _ in group])
    for sheet in sheets([job.window for job, _ in group]):
        cover = np.zeros((sheet.height, sheet.width), np.uint8)
        valid = np.zeros_like(cover)
        for number, left, top in sheet.places:
            part = group[number][1]
            high, wide = part.shape
            cover[top : top + high, left : left + wide] = part
            # in the rim of a window a line is cut off and looks thinner; where it goes on there is another window
            valid[top + rim : top + high - rim, left + rim : left + wide - rim] = 255
        owners = sheet.owners([job.window for job, _ in group])
        # of the plate's cells in the sheet's: both grids have the same cells
        offset = np.zeros((len(group), 2), int)
        for number, left, top in sheet.places:
            window = group[number][0].window
            offset[number] = (window.x - left) // CELL, (window.y - top) // CELL
        covered, spots = cv2.blur(cover, (SQUARE, SQUARE)), spots_of(cover)
        for gap in (False, True):
            if gap:
                cover, covered, spots = (cv2.bitwise_not(of) for of in (cover, covered, spots))
            beside = cv2.dilate(cv2.threshold(covered, mean, 255, cv2.THRESH_BINARY)[1], _FIVE)
            there = cv2.bitwise_and(cv2.threshold(cover, LEAST - 1, 255, cv2.THRESH_BINARY)[1], valid)
            thin = cv2.subtract(there, beside)
            cells = thickness_of(spots, thin, CELL)
            points = cv2.findNonZero(cells)
            if points is None:
                continue
            columns, rows = points.reshape(-1, 2).T
            owner = owners[rows, columns]
            if not gap:  # of all plates together only gaps count
                counts = ~together[owner]
                columns, rows, owner = columns[counts], rows[counts], owner[counts]
            thickness = cells[rows, columns]
            corner = _last_of_corners(cover, thin, beside, rows, columns, thickness)
            dx, dy = offset[owner].T
            found.add(plate_of[owner], rows + dy, columns + dx, thickness, gap, corner)


def _last_of_corners(
    cover: np.ndarray, thin: np.ndarray, beside: np.ndarray,
    rows: np.ndarray, columns: np.ndarray, thickness: np.ndarray,
) -> np.ndarray:  # fmt: skip
    """Which cells hold one thin pixel only, and that the last of the corner of something wide: a dot as small stands free.

    Args:
        cover: uint8 coverage.
        thin: uint8, 255 where it is thin.
        beside: uint8, 255 in and beside what is wide.
        rows: of the cells.
        columns: the same.
        thickness: of each cell.
    """
    found = np.zeros(len(rows), bool)
    few = np.flatnonzero(thickness == ONE_PIXEL)
    inside = np.arange(CELL)
    y = (CELL * rows[few])[:, None] + np.repeat(inside, CELL)
    x = (CELL * columns[few])[:, None] + np.tile(inside, CELL)
    held = thin[y, x] > 0
    one = held.sum(axis=1) == 1
    few, at = few[one], held[one].argmax(axis=1)
    y, x = (np.take_along_axis(of[one], at[:, None], axis=1) for of in (y, x))
    # a corner grows from pixel to pixel towards what it belongs to
    near_y = np.clip(y + np.repeat((-1, 0, 1), 3), 0, cover.shape[0] - 1)
    near_x = np.clip(x + np.tile((-1, 0, 1), 3), 0, cover.shape[1] - 1)
    grows = (beside[near_y, near_x] > 0) & (cover[near_y, near_x] > cover[y, x])
    found[few] = grows.any(axis=1)
    return found


def _take_over(cells: _Cells, narrow: Places, unseen: Sequence[Job], density: float) -> None:
    """Take over the blocks of windows that nobody looked at: the cells that lie about where each lies."""
    if not unseen:
        return
    inside = np.zeros((len(narrow.inks), int(narrow.rows.max()) + 1, int(narrow.columns.max()) + 1), bool)
    for job in unseen:
        x0, y0, x1, y1 = (int((at + narrow.origin) / narrow.side) for at in job.window.box(density))
        inside[narrow.inks.index(job.ink), max(0, y0) : y1 + 1, max(0, x0) : x1 + 1] = True
    own = narrow[inside[narrow.plates, narrow.rows, narrow.columns]]
    a_cell = CELL / density
    row, column = (
        np.rint((of * narrow.side - narrow.origin) / a_cell).astype(int) for of in (own.rows, own.columns)
    )
    for down in range(max(1, round(narrow.side / a_cell))):
        for over in range(max(1, round(narrow.side / a_cell))):
            for gap, thickness in ((False, own.lines), (True, own.gaps)):
                there = thickness > 0
                cells.add(
                    own.plates[there],
                    row[there] + down,
                    column[there] + over,
                    thickness[there],
                    gap,
                    np.zeros(int(there.sum()), bool),
                )


def _take_ends(cells: _Cells, found: Ends, inks: tuple[int | None, ...], density: float) -> None:
    """Note the ends of thin bars that only their outlines show, as if they had been seen."""
    columns, rows = np.floor(found.points * (density / CELL)).astype(int).T
    thickness = thickness_on_middle(found.widths * density)
    for plate, ink in enumerate(inks):
        if ink is None:
            continue
        for gap in (False, True):
            # what is more in the ground's colour is less of every ink
            sense = -1 if gap else 1
            own = (found.inks == ink) & (found.senses != -sense) | (found.inks < 0) & (found.senses != sense)
            cells.add(
                np.full(int(own.sum()), plate), rows[own], columns[own], thickness[own], gap,
                np.zeros(int(own.sum()), bool),
            )  # fmt: skip


def _within(thin: Places, narrow: Places) -> Places:
    """Without the gaps between inks whose cells touch none of the quick look's blocks of them."""
    if None not in narrow.inks:
        return thin
    plate = narrow.inks.index(None)
    between = np.flatnonzero(thin.plates == plate)
    if not len(between):
        return thin
    blocks = narrow.plates == plate
    there = np.zeros((int(narrow.rows.max()) + 2, int(narrow.columns.max()) + 2), bool)
    there[narrow.rows[blocks], narrow.columns[blocks]] = True
    touch = np.zeros(len(between), bool)
    last = 1 - 1e-6
    for down in (0.0, last):
        for over in (0.0, last):
            row, column = (
                ((of[between] + part) * thin.side - thin.origin + narrow.origin) / narrow.side
                for of, part in ((thin.rows, down), (thin.columns, over))
            )
            y, x = (
                np.clip(np.floor(at), 0, size - 1).astype(int)
                for at, size in zip((row, column), there.shape, strict=True)
            )
            touch |= there[y, x]
    held = np.ones(len(thin.rows), bool)
    held[between] = touch
    return thin[held]
