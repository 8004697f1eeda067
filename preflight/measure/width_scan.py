"""Everything narrow in one band of widths: lines, gaps, specks and holes of each ink, and gaps between inks.

Blocks that the coarse look names are rendered finely, many on one sheet, and measured there.  What is only a few pixels
thin is looked at again, closer.  Work is bounded: of a crowd the windows that look thinnest come first, and those
never looked at are counted.
"""

import math
from collections import Counter
from collections.abc import Collection, Sequence
from dataclasses import replace

import cv2
import numpy as np

from preflight.artwork import Artwork, union
from preflight.measure.width_beside import Sides
from preflight.measure.width_coarse import BANDS, look
from preflight.measure.width_merge import merged
from preflight.measure.width_middle import look_for_thin
from preflight.measure.width_narrow import KINDS, SPOTS, Narrow, density_for_spot
from preflight.measure.width_pieces import TIERS
from preflight.measure.width_ridge import stretches
from preflight.measure.width_sheet import CELL, sheets
from preflight.measure.width_source import (
    Window,
    blurring_pixel,
    finest_resolution,
    kept_render,
    pixel_of,
    render,
    without_greys,
)
from preflight.measure.width_spots import spots
from preflight.measure.width_stretch import Stretch, beyond_ends, doubtful_size, tapers, too_short, waisted
from preflight.measure.width_turns import in_batches, pixels_of, thinnest_first
from preflight.measure.width_windows import CROWDED, HALO, Job, all_jobs, parts_with_gaps, places

#: Within so many limits of a window's edge no ridge is believed.
RING = 0.6
#: Fine pixels rendered for one band (60 x 40 mm full of lines has 8 million), and for large art this part of its coarse
#: look's besides.  And how many are held at once.
MOST_FINE, MOST_FINE_SHARE, GROUP = 9_000_000, 0.6, 6_000_000
#: In a crowded band the windows that look thinnest come first, and no more are looked at once there are so many things narrower
#: than what is asked for: pieces, as windows cut long lines, and put together.
ENOUGH, ENOUGH_WHOLE = 250, 100
#: The same where one of the finest bands has more pixels than this, on exact plates: how thick something looks is nearly how
#: thick it is.  The steps of a bitmap hide that.
VAST, ENOUGH_OF_VAST, ENOUGH_WHOLE_OF_VAST = 7_000_000, 125, 40
#: The last band in which nearly every job asks for lines, gaps, specks and holes alike.
ALWAYS_ASKED = 1
#: A run that is thin and short is looked at again, so much finer, for widths up to so many pixels of the first look;
#: under so many pixels it is thin even then.
CLOSER_FACTOR, CLOSER_LIMIT, CLOSER_UNDER = 3, 12.0, 5.0
#: Pixels kept round such a run, and how many are looked at in one band; of a batch that adds to a crowd, so many.
CLOSER_MARGIN, MOST_CLOSER, CLOSER_OF_MANY = 12, 300, 60
#: So many are waited for, as a look takes long for one and hardly longer for many.
CLOSER_AT_ONCE = 20
#: Still under CLOSER_UNDER pixels then: only a run of so many widths is believed.
CLOSER_LENGTH = 10.0
#: So many widths long a run is a line even where the closer look finds nothing.
SURE_LENGTH = 25.0
#: Thinner than any plate can hold, mm, and how many times that long it has to be: a true hairline, not a tip.
FLOOR, FLOOR_LENGTH = 0.012, 40
#: Spots under this are crumbs of tips that fade away, mm.
FLOOR_SPOT = 0.02
#: A bitmap's edges step by a pixel: widths along a line may differ by this part of one of its pixels.
UNEVEN_BITMAP = 0.5
#: Where a pixel of the bitmap is smaller than so many rendered, its steps are too fine to be seen.
COARSE_PIXEL = 1.2
#: Coverage, of 255, that tells a line in the first band: of one thinner than a pixel two pixels may have a third each.
FAINT = 84
#: Points of one line kept at least for its place, of every so many pixels of its ridge; and how near, in pixels, two windows'
#: points of one line lie.
SOME_POINTS, PATH_STEP, SPACING_REACH = 24, 2, 7.0
#: Thinner than so many pixels a run is broken up by the grid and is always looked at closer, at its narrowest place.
BROKEN_UNDER, CLOSER_PLACE = 2.2, 20
#: Bands whose specks and holes are taken here; larger ones are few and are found in the small picture.
SPOT_BANDS = 3
#: A spot seen with this part of the pixels that one is measured with is measured well enough.
WELL_ENOUGH = 2 / 3
#: Nor is one of fewer pixels of a bitmap without greys measured any better by looking closer.
FEW_STEPS = 5.0
#: Pixels between two windows of a bitmap with steps: whether a short line ends in the open is looked up beyond its ends.
STEPS_APART = 8
#: Bands overlap by these factors, so that a width at their border is in one of them whatever its error.
BELOW, ABOVE = 0.96, 1.03
#: The same for spots: an oval of a few pixels is taken for a bar and looks so much narrower, until it is measured again.
SPOT_BELOW = 0.8


def scan(art: Artwork, band: int) -> "Scanner":
    """The one scanner of a band."""
    return art.once(("widths.scan", band), lambda: Scanner(art, band))


class Scanner:
    """Measures the windows of one band, thinnest first, as far as it is asked to.

    Attributes:
        found: everything measured so far.
        enough: so many pieces narrower than what is asked for are a crowd.
    """

    def __init__(self, art: Artwork, band: int) -> None:
        self.art, self.band = art, band
        self.limits = BANDS[band]
        self.density = finest_resolution(art, self.limits.fine)
        self.found: list[Narrow] = []
        self._counts: Counter[str] = Counter()
        self.pixel = pixel_of(art)
        self._stepped = without_greys(art)
        self._sides = Sides(art)
        self._closer: list[tuple[Job, Stretch, str, bool]] = []
        self._closer_left = MOST_CLOSER
        self._out_of_reach = 0
        jobs = self._within_budget()
        self._vast = band <= ALWAYS_ASKED and not self.pixel and pixels_of(jobs) > VAST
        self.enough, self._whole = ENOUGH, ENOUGH_WHOLE
        if self._vast:
            self.enough, self._whole = ENOUGH_OF_VAST, ENOUGH_WHOLE_OF_VAST
        self._batches = in_batches(jobs)
        self._answered: set[str] = set()  # kinds that were asked for, and of which there is a crowd
        self._next = dict.fromkeys(KINDS, 0)
        if band >= SPOT_BANDS:
            self._next |= {"speck": len(self._batches), "hole": len(self._batches)}

    def done(self, kinds: Sequence[str]) -> tuple[int, ...]:
        """How far it is with these kinds."""
        return tuple(self._next[kind] for kind in kinds)

    def go_on(
        self, kinds: Sequence[str], up_to: float, others: Sequence[Narrow] = (), enough: Collection[str] = ()
    ) -> list[Narrow]:
        """Measure until nothing is left, or until there are enough things of these kinds narrower than `up_to` mm.

        Args:
            kinds: as of `Narrow`.
            up_to: mm.
            others: what other bands hold of them already.
            enough: kinds of which there are enough: they are not looked for on the way.

        Returns:
            What there is of them now, of any width, with the others.
        """
        while True:
            all_of_them = [*others, *(one for one in self.found if one.kind in kinds)]
            at = min(self._next[kind] for kind in kinds)
            if at >= len(self._batches) or self._is_crowd(all_of_them, up_to):
                self._answered.update(kinds)
                if not self._closer:
                    return all_of_them
                self._look_closer()
                continue
            # what every job asks for too is measured while the windows are at hand
            due = {
                kind
                for kind in KINDS
                if self._next[kind] == at
                and (
                    kind in kinds
                    or (
                        self.band <= ALWAYS_ASKED
                        and kind not in enough
                        and kind not in self._answered
                        and self.count([kind]) < self.enough
                    )
                )
            }
            self._look_at(self._batches[at], self.density, False, due)
            if len(self._closer) >= CLOSER_AT_ONCE:
                self._look_closer()
            for kind in due:
                self._next[kind] += 1

    def _is_crowd(self, pieces: Sequence[Narrow], up_to: float) -> bool:
        if sum(one.width < up_to for one in pieces) < self.enough:
            return False
        known = self.art.once("widths.wholes", dict)
        return sum(one.width < up_to for one in merged(pieces, known)) >= self._whole

    def unseen(self, kinds: Sequence[str]) -> int:
        """How many places that may hold these kinds were not looked at."""
        left = {
            id(job)
            for kind in kinds
            for batch in self._batches[self._next[kind] :]
            for job in batch
            if job.may_hold(kind)
        }
        return self._out_of_reach + len(left)

    def count(self, kinds: Sequence[str]) -> int:
        """How many things of these kinds were found so far, in pieces."""
        return sum(self._counts[kind] for kind in set(kinds))

    def _add(self, one: Narrow) -> None:
        self.found.append(one)
        self._counts[one.kind] += 1

    def _within_budget(self) -> list[Job]:
        held = places(self.art, self.band) if self.band else look_for_thin(self.art)
        jobs = all_jobs(self.art, held, self.band, self.density)
        if pixels_of(jobs) <= CROWDED:
            return jobs
        jobs = thinnest_first(jobs)
        budget = (
            MOST_FINE + MOST_FINE_SHARE * self.art.width_mm * self.art.height_mm * look(self.art).density ** 2
        )
        sizes = np.cumsum([job.window.width * job.window.height for job in jobs])
        kept = jobs[: int(np.searchsorted(sizes, budget, side="right"))]
        self._out_of_reach = len(jobs) - len(kept)
        return kept

    def _look_at(self, jobs: Sequence[Job], density: float, closer: bool, kinds: Collection[str]) -> None:
        """Render jobs at a density and measure these kinds in them, a group at a time."""
        jobs = [job for job in jobs if job.may_hold_any(kinds)]
        group: list[Job] = []
        pixels = 0
        for number, job in enumerate(jobs):
            group.append(job)
            pixels += job.window.width * job.window.height
            if pixels > GROUP or number == len(jobs) - 1:
                covers = [kept_render(self.art, one.ink, one.window, density) for one in group]
                for wanted in (("line", "speck"), ("gap", "hole", "between")):
                    due = [kind for kind in wanted if kind in kinds]
                    chosen = [n for n, one in enumerate(group) if one.may_hold_any(due)]
                    seen = [(group[n], covers[n]) for n in chosen]
                    # elsewhere what is cut into more pieces would sooner count as a crowd
                    if "gap" in wanted and self._vast:
                        seen = [part for job, cover in seen for part in parts_with_gaps(job, cover)]
                    self._look_for(
                        due, [job for job, _ in seen], [cover for _, cover in seen], density, closer
                    )
                group, pixels = [], 0

    def _look_for(
        self,
        kinds: Sequence[str],
        jobs: Sequence[Job],
        covers: Sequence[np.ndarray],
        density: float,
        closer: bool,
    ) -> None:
        """Lines and specks, or gaps and holes, in windows that are rendered."""
        if not jobs:
            return
        kind = "line" if "line" in kinds or "speck" in kinds else "gap"
        no_spots = [kind for kind in kinds if kind not in SPOTS]
        ridged = {n for n, job in enumerate(jobs) if job.may_hold_any(no_spots)}
        frames = [job.window for job in jobs]
        ring = 4 * CLOSER_FACTOR if closer else math.ceil(RING * self.limits.high * density) + 1
        lowest, limit = BELOW * self.limits.low * density, ABOVE * self.limits.high * density
        if closer:
            limit = min(limit, CLOSER_LIMIT * CLOSER_FACTOR)
        uneven = self._uneven(density)
        for sheet in sheets(frames, STEPS_APART if uneven else 1):
            owners = sheet.owners(frames)
            cover = np.zeros((sheet.height, sheet.width), np.uint8)
            places = {n: (left, top) for n, left, top in sheet.places}
            for n, (left, top) in places.items():
                inside = np.s_[top : top + frames[n].height, left : left + frames[n].width]
                cover[inside] = covers[n] if kind == "line" else cv2.bitwise_not(covers[n])
            if not closer and any(k in SPOTS for k in kinds):
                self._take_spots(jobs, cover, owners, places, kind, density)
            if not any(n in places for n in ridged):
                continue
            least = FAINT if self.band == 0 and not (closer or self.pixel) else 128
            ridges = stretches(cover, sheet.valid(frames, ring), limit, lowest, uneven, closer, least)
            self._out_of_reach += int((ridges.unmeasured < limit).sum())
            for stretch in ridges.found:
                n = int(owners[int(stretch.y[0]) // CELL, int(stretch.x[0]) // CELL])
                if n not in ridged:
                    continue
                stretch.x -= places[n][0]
                stretch.y -= places[n][1]
                stretch.path -= places[n]
                self._take(jobs[n], stretch, kind, density, closer)

    def _take_spots(
        self, jobs: Sequence[Job], cover: np.ndarray, owners: np.ndarray,
        places: dict[int, tuple[int, int]], kind: str, density: float,
    ) -> None:  # fmt: skip
        # nothing lies in the frames of what is looked for between inks: no spots
        frames = np.zeros((len(jobs) + 1, 4), int)
        for n, (left, top) in places.items():
            if jobs[n].ink is not None:
                window = jobs[n].window
                frames[n] = (left, top, left + window.width, top + window.height)

        def frame_at(points: np.ndarray) -> np.ndarray:
            columns, rows = points.astype(int).T // CELL
            return frames[owners[rows, columns]]

        low, high = SPOT_BELOW * self.limits.low * density, ABOVE * self.limits.high * density
        for spot in spots(cover, low, high, frame_at, blurring_pixel(self.art) * density):
            n = int(owners[int(spot.y) // CELL, int(spot.x) // CELL])
            if n < 0 or (ink := jobs[n].ink) is None:
                continue
            window, (left, top) = jobs[n].window, places[n]
            x0, y0, x1, y1 = spot.box
            size = spot.size / density
            if size < FLOOR_SPOT:
                continue
            dx, dy = window.x - left, window.y - top
            box = ((x0 + dx) / density, (y0 + dy) / density, (x1 + dx) / density, (y1 + dy) / density)
            middle = np.array([[(box[0] + box[2]) / 2, (box[1] + box[3]) / 2]])
            self._add(
                Narrow(
                    "speck" if kind == "line" else "hole", (ink,), size, spot.diameter / density,
                    spot.long_side / density, box, middle, 0.0, size / 2,
                    (float(middle[0, 0]), float(middle[0, 1])), density,
                    density >= WELL_ENOUGH * density_for_spot(size) or (self._stepped and size < FEW_STEPS * self.pixel),
                )
            )  # fmt: skip

    def _take(self, job: Job, stretch: Stretch, kind: str, density: float, closer: bool) -> None:
        """Keep a stretch, have it looked at closer, or let it go."""
        width = stretch.width / density
        if not BELOW * self.limits.low <= width < ABOVE * self.limits.high:
            return
        thin = stretch.width < CLOSER_UNDER
        if closer and thin and stretch.length < CLOSER_LENGTH * stretch.width:
            return
        if closer and job.fallback:
            job.fallback.clear()
        if not closer and not self._uneven(density):
            broken = stretch.width < BROKEN_UNDER and len(self._closer) < self._closer_left
            doubtful = doubtful_size(stretch.width, stretch.length)
            if broken or doubtful:
                self._closer.append((job, stretch, kind, doubtful))
                return
        self._keep(job, stretch, kind, density)

    def _uneven(self, density: float) -> float:
        """Pixels by which widths may differ along a line because a bitmap has steps."""
        pixel = self.pixel * density
        return UNEVEN_BITMAP * pixel if pixel >= COARSE_PIXEL else 0.0

    def _keep(self, job: Job, stretch: Stretch, kind: str, density: float) -> None:
        """It is a line or a gap."""
        width, length = stretch.width / density, stretch.length / density
        if width < FLOOR and length < FLOOR * FLOOR_LENGTH:
            return
        if stretch.free and not self._ends_in_the_open(job, stretch, kind, density):
            stretch.free = False
            if stretch.length < TIERS[0][2] * stretch.width or tapers(stretch, self._uneven(density)):
                return
        if self.pixel and (too_short(stretch, self.pixel * density, self._stepped) or waisted(stretch)):
            return
        inks: tuple[int, ...] = (job.ink,) if job.ink is not None else ()
        if job.ink is None:
            inks = self._sides.of(job.window, stretch, density)
            if not inks:
                return
            kind = "between"
        left, top = job.window.x + 0.5, job.window.y + 0.5
        half = stretch.typical / 2
        box = (
            (left + float(stretch.x.min()) - half) / density,
            (top + float(stretch.y.min()) - half) / density,
            (left + float(stretch.x.max()) + half) / density,
            (top + float(stretch.y.max()) + half) / density,
        )
        points, own = self._points(job, stretch, density)
        reach = SPACING_REACH / self.density
        at = int(np.abs(stretch.widths - stretch.width).argmin())
        place = ((left + float(stretch.x[at])) / density, (top + float(stretch.y[at])) / density)
        final = density > self.density  # the closer look is as fine as a second measurement
        one = Narrow(
            kind, inks, width, stretch.typical / density, length, box, points, own, reach, place, density, final
        )  # fmt: skip
        self._add(self._as_part(one, job))

    def _as_part(self, one: Narrow, job: Job) -> Narrow:
        """What a closer look measured at one place of a long line, as long as the line."""
        if job.part_of is None:
            return one
        first, whole = job.part_of
        points, own = self._points(first, whole, self.density)
        if not len(points):
            return one
        half = one.typical / 2
        box = (*(points.min(axis=0) - half).tolist(), *(points.max(axis=0) + half).tolist())
        return replace(
            one, length=max(one.length, whole.length / self.density), box=union([one.box, box]),
            points=np.concatenate([one.points, points]), own_length=max(one.own_length, own),
        )  # fmt: skip

    def _ends_in_the_open(self, job: Job, stretch: Stretch, kind: str, density: float) -> bool:
        """Is it bare beyond both ends also where that lies outside the window?"""
        for left, top, right, bottom in beyond_ends(stretch, self._uneven(density)):
            if min(left, top) >= 0 and right <= job.window.width and bottom <= job.window.height:
                continue  # that was seen
            beyond = Window(job.window.x + left, job.window.y + top, right - left, bottom - top)
            cover = render(self.art, job.ink, beyond, density)
            if (int(cover.max()) > 127) if kind == "line" else (int(cover.min()) < 128):
                return False
        return True

    def _points(self, job: Job, stretch: Stretch, density: float) -> tuple[np.ndarray, float]:
        """Points worth keeping, mm: some, and all where a neighbouring window may hold the line's next piece; and the length
        that is this window's own."""  # noqa: D209
        halo = HALO * self.limits.high * density
        wide, high = job.window.width, job.window.height

        def inside(x: np.ndarray, y: np.ndarray) -> np.ndarray:
            return np.minimum(np.minimum(x, wide - x), np.minimum(y, high - y))

        own = float(stretch.lengths @ (inside(stretch.x, stretch.y) >= halo)) / density
        path = stretch.path[::PATH_STEP]
        kept = inside(path[:, 0], path[:, 1]) < halo + (HALO - RING) * self.limits.high * density
        kept[:: max(1, len(path) // SOME_POINTS)] = True
        return (path[kept] + (job.window.x + 0.5, job.window.y + 0.5)) / density, own

    def _look_closer(self) -> None:
        """Look again at what is only a few pixels thin and short: tips and tangent curves fall away."""
        waiting = sorted(self._closer, key=lambda item: item[1].width)
        self._closer = []
        for kind in ("line", "gap"):
            if self.count([kind]) >= self.enough:  # in a crowd only the thinnest may still matter
                of_kind = [item for item in waiting if item[2] == kind]
                waiting = [item for item in waiting if item[2] != kind] + of_kind[:CLOSER_OF_MANY]
                self._out_of_reach += max(0, len(of_kind) - CLOSER_OF_MANY)
        waiting.sort(key=lambda item: item[1].width)
        self._out_of_reach += max(0, len(waiting) - self._closer_left)
        density = self.density * CLOSER_FACTOR
        jobs = []
        for job, stretch, kind, doubtful in waiting[: self._closer_left]:
            at = int(stretch.widths.argmin())
            near = np.hypot(stretch.x - stretch.x[at], stretch.y - stretch.y[at]) <= CLOSER_PLACE
            low_x, low_y = stretch.x[near].min() - CLOSER_MARGIN, stretch.y[near].min() - CLOSER_MARGIN
            high_x, high_y = stretch.x[near].max() + CLOSER_MARGIN, stretch.y[near].max() + CLOSER_MARGIN
            window = Window(
                round((job.window.x + low_x) * CLOSER_FACTOR), round((job.window.y + low_y) * CLOSER_FACTOR),
                round((high_x - low_x) * CLOSER_FACTOR) + 1, round((high_y - low_y) * CLOSER_FACTOR) + 1,
            )  # fmt: skip
            again = Job(job.ink, window, kind == "line", kind == "gap", job.looks)
            if not doubtful and stretch.length > SURE_LENGTH * stretch.width:
                again.fallback.append((job, stretch, kind))
                again.part_of = (job, stretch)
            jobs.append(again)
        self._closer_left = max(0, self._closer_left - len(jobs))
        self._look_at(jobs, density, True, ("line", "gap", "between"))
        for again in jobs:
            for job, stretch, kind in again.fallback:
                self._keep(job, stretch, kind, self.density)
