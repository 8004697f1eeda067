"""Where the thinnest things may be: a middle look into the windows in which the quick look saw anything narrow.

The quick look is too coarse to tell a line of a tenth of a millimetre from one of two, or to see the gap between two thin lines.
Whatever is narrow is looked at in windows anyway; seen as large as there, what is thinner than the first band stands out.
"""

from collections.abc import Sequence

import cv2
import numpy as np

from preflight.artwork import Artwork
from preflight.measure.width_coarse import BANDS, BLOCK, LEAST, NARROW, PAD, Coarse, look, thickness_of
from preflight.measure.width_sheet import CELL as SHEET_CELL
from preflight.measure.width_sheet import sheets
from preflight.measure.width_source import finest_resolution, keep, render
from preflight.measure.width_windows import Job, all_jobs

#: The band that is looked for, in the windows of NARROW.
THIN = 0
#: Of a square of so many pixels a line w pixels wide covers at most this times w, by rendering lines at every angle and offset;
#: and the most that is asked for.
SQUARE, MEAN_OF_LINE, MOST_MEAN = 3, 0.345, 0.9
#: Side of the cells, pixels, that the result is first noted in.
CELL = 4
#: Pixels looked at; in a crowd that has more, the rest counts as thin unseen.
MOST_PIXELS = 60_000_000
#: And how many at once.
GROUP = 6_000_000
_FIVE = np.ones((5, 5), np.uint8)


def look_for_thin(art: Artwork) -> Coarse:
    """The quick look, with the blocks of the first band filled in: taken once."""
    coarse = look(art)
    art.once("widths.middle", lambda: _fill(art, coarse))
    return coarse


def _fill(art: Artwork, coarse: Coarse) -> bool:
    density = finest_resolution(art, BANDS[NARROW].fine)
    mean = 255 * min(MOST_MEAN, MEAN_OF_LINE * density * BANDS[THIN].high)
    for blocks in (coarse.lines, coarse.gaps):
        for ink in art.inks:
            blocks[ink.number, THIN] = np.zeros_like(blocks[ink.number, NARROW])
    coarse.between[THIN] = np.zeros_like(coarse.between[NARROW])
    group: list[tuple[Job, np.ndarray]] = []
    pixels = looked_at = 0
    for job in all_jobs(art, coarse, NARROW, density):
        size = job.window.width * job.window.height
        looked_at += size
        if looked_at > MOST_PIXELS:
            _take_over(coarse, job, density)
            continue
        cover = render(art, job.ink, job.window, density)
        keep(art, job.ink, job.window, density, cover)
        group.append((job, cover))
        pixels += size
        if pixels > GROUP:
            _note_group(coarse, group, density, mean)
            group, pixels = [], 0
    _note_group(coarse, group, density, mean)
    coarse.between[THIN][coarse.between[NARROW] == 0] = 0
    return True


def _blocks(coarse: Coarse, ink: int | None, band: int, gap: bool) -> np.ndarray | None:
    """The blocks of lines or of gaps on an ink's plate; of all inks together those of gaps only."""
    if ink is None:
        return coarse.between[band] if gap else None
    return (coarse.gaps if gap else coarse.lines)[ink, band]


def _note_group(coarse: Coarse, group: Sequence[tuple[Job, np.ndarray]], density: float, mean: float) -> None:
    """Set the blocks in which something in these windows is thin, to how thick it looks (`thickness_of`)."""
    for sheet in sheets([job.window for job, _ in group]):
        cover = np.zeros((sheet.height, sheet.width), np.uint8)
        valid = np.zeros_like(cover)
        for number, left, top in sheet.places:
            part = group[number][1]
            inside = np.s_[top : top + part.shape[0], left : left + part.shape[1]]
            cover[inside], valid[inside] = part, 255
        owners = sheet.owners([job.window for job, _ in group])
        offset = np.zeros((len(group), 2), int)  # of the ink's pixels in the sheet's
        for number, left, top in sheet.places:
            window = group[number][0].window
            offset[number] = window.x - left, window.y - top
        ink_of = np.array([-1 if job.ink is None else job.ink for job, _ in group])
        for gap in (False, True):
            if gap:
                cover = cv2.bitwise_not(cover)
            wide = cv2.threshold(cv2.blur(cover, (SQUARE, SQUARE)), mean, 255, cv2.THRESH_BINARY)[1]
            there = cv2.bitwise_and(cv2.threshold(cover, LEAST - 1, 255, cv2.THRESH_BINARY)[1], valid)
            thin = cv2.subtract(there, cv2.dilate(wide, _FIVE))
            cells = thickness_of(cover, thin, CELL)
            points = cv2.findNonZero(cells)
            if points is None:
                continue
            columns, rows = points.reshape(-1, 2).T
            owner = owners[CELL * rows // SHEET_CELL, CELL * columns // SHEET_CELL]
            x, y = CELL * columns + offset[owner, 0], CELL * rows + offset[owner, 1]
            thickness = cells[rows, columns]
            for number in np.unique(ink_of[owner]).tolist():
                blocks = _blocks(coarse, None if number < 0 else number, THIN, gap)
                if blocks is not None:
                    own = ink_of[owner] == number
                    _set(coarse, density, blocks, x[own], y[own], thickness[own])


def _set(
    coarse: Coarse, density: float, blocks: np.ndarray, x: np.ndarray, y: np.ndarray, thickness: np.ndarray
) -> None:
    """Set the blocks that hold these cells, whose first pixels lie at x, y."""
    side, first = coarse.density / density / BLOCK[0], PAD / BLOCK[0]  # blocks a pixel
    for dx in (0, CELL - 1):  # a cell may lie in two blocks
        column = ((x + dx + 0.5) * side + first).astype(np.intp)
        for dy in (0, CELL - 1):
            row = ((y + dy + 0.5) * side + first).astype(np.intp)
            held = (row >= 0) & (row < blocks.shape[0]) & (column >= 0) & (column < blocks.shape[1])
            _keep_thinnest(blocks.reshape(-1), row[held] * blocks.shape[1] + column[held], thickness[held])


def _keep_thinnest(blocks: np.ndarray, at: np.ndarray, thickness: np.ndarray) -> None:
    """Put each thickness at its place where nothing thinner (or nothing, 0) is; of several for one place the thinnest."""
    order = np.argsort(thickness, kind="stable")[::-1]  # of several assignments to one place the last holds
    at, thickness = at[order], thickness[order]
    before = blocks[at]
    blocks[at] = np.where(before > 0, np.minimum(before, thickness), thickness)


def _take_over(coarse: Coarse, job: Job, density: float) -> None:
    """Take over a window's blocks unseen."""
    side, first = coarse.density / density / BLOCK[0], PAD / BLOCK[0]
    x, y = int(job.window.x * side + first), int(job.window.y * side + first)
    right = int((job.window.x + job.window.width) * side + first) + 1
    bottom = int((job.window.y + job.window.height) * side + first) + 1
    inside = np.s_[max(0, y) : bottom, max(0, x) : right]
    for gap in (False, True):
        thin, narrow = (_blocks(coarse, job.ink, band, gap) for band in (THIN, NARROW))
        if thin is not None and narrow is not None:
            thin[inside] = narrow[inside]
