"""Pass two: one MuPDF display list an ink, and what draws them: the plates of the art.

Every call of the page is forwarded to one list device an ink, that ink's objects painted black and everything else
white, clips untouched; an object set to overprint paints only its own list.  Each list is then that ink's plate with
true knock-outs, and any window of it can be rendered at any resolution with exact anti-aliased coverage.

Letters are forwarded as outlines, because MuPDF draws small glyphs from a cache on a coarse sub-pixel grid.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from preflight.load.device import MM, Device, Matrix, PathWalker, matrix_of, mu, times
from preflight.load.paints import PLAIN
from preflight.load.plates import ALL

#: Clips that are given exact edges, and the steps of their outlines: each costs a mask of its own while rendering.
MOST_EXACT_CLIPS, MOST_CLIP_STEPS = 200, 400
#: Steps of clips looked through in all.
MOST_WALKED = 200_000
#: Half the height of the spikes that tell MuPDF so, their distance in mm, and how many a side has at most; and a side that
#: is so nearly level, mm.
SPIKE, SPIKE_EVERY, MOST_SPIKES, NEARLY = 0.01, 0.2, 300, 0.0005


@dataclass(frozen=True)
class Assignment:
    """Where one paint call goes.

    Attributes:
        lists: the lists it paints black: ink numbers, TONE, and probes (numbers below TONE).
        art: it would be produced (it is not paper, and not a mark for the workshop), so ALL gets it.
        knocks_out: it paints the other lists white.
        spares: lists it leaves as they are even so.
        skipped: it leaves nothing.
        images: of a picture: grey images (255 = bare) by list number.
        mask: of a picture: its alpha as an image mask; of a one-bit picture what is drawn in its place.
        place: of the images of a shading: where they lie, as a matrix of the page.
    """

    lists: frozenset[int] = frozenset()
    art: bool = True
    knocks_out: bool = True
    spares: frozenset[int] = frozenset()
    skipped: bool = False
    images: Mapping[int, Any] = field(default_factory=dict)
    mask: Any = None
    place: Matrix | None = None


class Splitter(Device):
    """The device of pass two."""

    def __init__(
        self, cookie: Any, page: Any, numbers: Sequence[int], assigned: Sequence[Assignment]
    ) -> None:
        super().__init__(cookie)
        self.numbers = tuple(numbers)
        self.assigned = assigned
        self.call = -1
        self.page = page
        self.exact_clips = self.walked = 0
        self._walker = PathWalker()
        self.lists = [mu.FzDisplayList(page) for _ in self.numbers]
        self.devices = [mu.FzDevice(one) for one in self.lists]
        self.low = [device.m_internal for device in self.devices]
        self.gray = mu.ll_fz_device_gray()
        self.plain = PLAIN
        self.black, self.white = mu.new_floats(4), mu.new_floats(4)
        for i in range(4):
            mu.floats_setitem(self.black, i, 0.0)
            mu.floats_setitem(self.white, i, 1.0)
        self._outlines: dict[tuple[int, int], Any] = {}
        self._held: list[Any] = []

    def close(self) -> None:
        """End the lists; they can be rendered after that."""
        for device in self.devices:
            mu.fz_close_device(device)

    def _targets(self) -> list[tuple[Any, Any]]:
        """(list device, black or white) of this paint call; advances to it."""
        self.call += 1
        a = self.assigned[self.call]
        if a.skipped:
            return []
        targets = []
        for number, device in zip(self.numbers, self.low, strict=True):
            if number in a.lists or (number == ALL and a.art and a.lists):
                targets.append((device, self.black))
            elif a.knocks_out and number not in a.spares:
                targets.append((device, self.white))
        return targets

    # -- painting

    def fill_path(
        self, ctx: Any, path: Any, even_odd: int, ctm: Any, space: Any, colour: Any, alpha: float, cp: Any
    ) -> None:
        for device, shade in self._targets():
            mu.ll_fz_fill_path(device, path, even_odd, ctm, self.gray, shade, 1.0, self.plain)

    def stroke_path(
        self, ctx: Any, path: Any, stroke: Any, ctm: Any, space: Any, colour: Any, alpha: float, cp: Any
    ) -> None:
        for device, shade in self._targets():
            mu.ll_fz_stroke_path(device, path, stroke, ctm, self.gray, shade, 1.0, self.plain)

    def _glyphs(self, text: Any) -> list[tuple[Any, Any, tuple[float, float, float, float, float, float]]]:
        """(font, outline in em units, matrix to user space) of every glyph that has an outline."""
        found = []
        span = text.head
        while span is not None:
            t = matrix_of(span.trm)
            items = mu.FzTextSpan(span)
            address = int(span.font.this)
            for i in range(span.len):
                item = items.items(i)
                if item.gid < 0:
                    continue
                key = (address, item.gid)
                if key not in self._outlines:
                    path = mu.ll_fz_outline_glyph(span.font, item.gid, mu.ll_fz_make_matrix(1, 0, 0, 1, 0, 0))
                    self._outlines[key] = path
                    self._held.append(
                        (mu.FzFont(mu.ll_fz_keep_font(span.font)), mu.FzPath(path) if path else None)
                    )
                if self._outlines[key] is not None:
                    found.append((span.font, self._outlines[key], (t[0], t[1], t[2], t[3], item.x, item.y)))
            span = span.next
        return found

    def fill_text(
        self, ctx: Any, text: Any, ctm: Any, space: Any, colour: Any, alpha: float, cp: Any
    ) -> None:
        if self.replay_type3(text, ctm):
            return
        targets = self._targets()
        if not targets:
            return
        base = matrix_of(ctm)
        for _, outline, matrix in self._glyphs(text):
            placed = mu.ll_fz_make_matrix(*times(matrix, base))
            for device, shade in targets:
                mu.ll_fz_fill_path(device, outline, 0, placed, self.gray, shade, 1.0, self.plain)

    def stroke_text(
        self, ctx: Any, text: Any, stroke: Any, ctm: Any, space: Any, colour: Any, alpha: float, cp: Any
    ) -> None:
        if self.replay_type3(text, ctm):
            return
        targets = self._targets()
        if not targets:
            return
        span = text.head
        while span is not None:
            t = matrix_of(span.trm)
            items = mu.FzTextSpan(span)
            for i in range(span.len):
                item = items.items(i)
                if item.gid < 0:
                    continue
                # the pen is in user space, so the outline has to be brought there before it is stroked
                path = mu.ll_fz_outline_glyph(
                    span.font, item.gid, mu.ll_fz_make_matrix(t[0], t[1], t[2], t[3], item.x, item.y)
                )
                if path is None:
                    continue
                for device, shade in targets:
                    mu.ll_fz_stroke_path(device, path, stroke, ctm, self.gray, shade, 1.0, self.plain)
                mu.ll_fz_drop_path(path)
            span = span.next

    def fill_shade(self, ctx: Any, shade: Any, ctm: Any, alpha: float, cp: Any) -> None:
        targets = self._targets()
        if not targets:
            return
        a = self.assigned[self.call]
        if a.place is not None:
            where = mu.ll_fz_make_matrix(*a.place)
            for number, device in zip(self.numbers, self.low, strict=True):
                if number in a.images:
                    mu.ll_fz_fill_image(device, a.images[number].m_internal, where, 1.0, self.plain)
            covered = [
                device for number, device in zip(self.numbers, self.low, strict=True) if number in a.images
            ]
            targets = [(device, colour) for device, colour in targets if device not in covered]
        r = mu.ll_fz_bound_shade(shade, mu.ll_fz_make_matrix(1, 0, 0, 1, 0, 0))
        big = 1e5  # an extended shading has no bounds; the clips around it do
        path = mu.FzPath(mu.ll_fz_new_path())
        x0, y0, x1, y1 = max(r.x0, -big), max(r.y0, -big), min(r.x1, big), min(r.y1, big)
        mu.ll_fz_rectto(path.m_internal, x0, y0, x1, y1)
        for device, colour in targets:
            mu.ll_fz_fill_path(device, path.m_internal, 0, ctm, self.gray, colour, 1.0, self.plain)
        self._held.append(path)

    def fill_image(self, ctx: Any, image: Any, ctm: Any, alpha: float, cp: Any) -> None:
        targets = self._targets()
        a = self.assigned[self.call]
        if not targets:
            return
        whole = mu.ll_fz_transform_rect(mu.ll_fz_make_rect(0, 0, 1, 1), ctm)
        square = mu.FzPath(mu.ll_fz_new_path())
        mu.ll_fz_rectto(square.m_internal, 0, 0, 1, 1)
        self._held.append(square)
        for number, device in zip(self.numbers, self.low, strict=True):
            colour = next((shade for target, shade in targets if target is device), None)
            gray = a.images.get(number)
            if colour is None and gray is None:
                continue
            if a.mask is not None:
                mu.ll_fz_clip_image_mask(device, a.mask.m_internal, ctm, whole)
            if gray is not None:
                mu.ll_fz_fill_image(device, gray.m_internal, ctm, 1.0, self.plain)
            else:
                mu.ll_fz_fill_path(device, square.m_internal, 0, ctm, self.gray, colour, 1.0, self.plain)
            if a.mask is not None:
                mu.ll_fz_pop_clip(device)

    def fill_image_mask(
        self, ctx: Any, image: Any, ctm: Any, space: Any, colour: Any, alpha: float, cp: Any
    ) -> None:
        targets = self._targets()
        smooth = self.assigned[self.call].mask  # its stairs as the slanted edges they stand for
        drawn = image if smooth is None else smooth.m_internal
        for device, shade in targets:
            mu.ll_fz_fill_image_mask(device, drawn, ctm, self.gray, shade, 1.0, self.plain)

    # -- clips and tiles go to every list

    def clip_path(self, ctx: Any, path: Any, even_odd: int, ctm: Any, scissor: Any) -> None:
        spiked = self._spiked(path, ctm)
        given = path if spiked is None else spiked.m_internal
        for device in self.low:
            mu.ll_fz_clip_path(device, given, even_odd, ctm, scissor)

    def _spiked(self, path: Any, ctm: Any) -> Any:
        """The path with spikes across its upright and level sides; None when it has none or cuts nothing.

        Where a window shows no more of a clip than an upright rectangle, MuPDF clips by whole pixels, which would move the
        edge of a shape cut by it; what is no plain rectangle is clipped with exact edges.  A spike, a line there and back,
        has no area and changes nothing else.
        """
        if self.exact_clips >= MOST_EXACT_CLIPS or self.walked > MOST_WALKED:
            return None
        around, page = mu.ll_fz_bound_path(path, None, ctm), self.page
        if mu.ll_fz_path_is_rect(path, ctm) and (
            around.x0 <= page.x0 and around.y0 <= page.y0 and around.x1 >= page.x1 and around.y1 >= page.y1
        ):
            return None
        walker = self._walker
        walker.steps, walker.points = [], []
        mu.ll_fz_walk_path(path, walker.m_internal, walker.m_internal)
        self.walked += len(walker.steps)
        a, b, c, d = matrix_of(ctm)[:4]
        turn = np.array([[a, b], [c, d]])
        if len(walker.steps) > MOST_CLIP_STEPS or abs(np.linalg.det(turn)) < 1e-12:
            return None
        starts, sides = _sides(walker.steps, walker.points)
        seen = sides @ turn  # points
        length = np.hypot(*seen.T)
        level = (np.abs(seen).min(1) < NEARLY * MM) & (length > SPIKE_EVERY * MM)
        if not level.any():
            return None
        self.exact_clips += 1
        reach = np.full(2, SPIKE * MM) @ np.linalg.inv(turn)  # slanted on the page, whatever the matrix
        made = mu.FzPath(mu.ll_fz_clone_path(path))
        for start, side, points in zip(starts[level], sides[level], length[level], strict=True):
            count = int(min(MOST_SPIKES, np.ceil(points / (SPIKE_EVERY * MM))))
            for k in range(count):
                x, y = start + side * (k + 0.5) / count
                mu.ll_fz_moveto(made.m_internal, float(x - reach[0]), float(y - reach[1]))
                mu.ll_fz_lineto(made.m_internal, float(x + reach[0]), float(y + reach[1]))
                mu.ll_fz_closepath(made.m_internal)
        self._held.append(made)
        return made

    def clip_stroke_path(self, ctx: Any, path: Any, stroke: Any, ctm: Any, scissor: Any) -> None:
        for device in self.low:
            mu.ll_fz_clip_stroke_path(device, path, stroke, ctm, scissor)

    def clip_text(self, ctx: Any, text: Any, ctm: Any, scissor: Any) -> None:
        for device in self.low:
            mu.ll_fz_clip_text(device, text, ctm, scissor)

    def clip_stroke_text(self, ctx: Any, text: Any, stroke: Any, ctm: Any, scissor: Any) -> None:
        for device in self.low:
            mu.ll_fz_clip_stroke_text(device, text, stroke, ctm, scissor)

    def clip_image_mask(self, ctx: Any, image: Any, ctm: Any, scissor: Any) -> None:
        for device in self.low:
            mu.ll_fz_clip_image_mask(device, image, ctm, scissor)

    def pop_clip(self, ctx: Any) -> None:
        for device in self.low:
            mu.ll_fz_pop_clip(device)

    def begin_tile(
        self, ctx: Any, area: Any, view: Any, xstep: float, ystep: float, ctm: Any, tile: int, doc: int
    ) -> int:
        for device in self.low:
            mu.ll_fz_begin_tile_tid(device, area, view, xstep, ystep, ctm, 0, 0)
        return 0

    def end_tile(self, ctx: Any) -> None:
        for device in self.low:
            mu.ll_fz_end_tile(device)


def _sides(steps: Sequence[str], points: Sequence[float]) -> tuple[np.ndarray, np.ndarray]:
    """Starts and extents, (n, 2) each, of the straight sides of an outline that a walker noted."""
    placed = np.asarray(points, float).reshape(-1, 2)
    starts, ends = [], []
    at = 0
    first = last = np.zeros(2)
    for step in steps:
        if step == "m":
            first = last = placed[at]
        elif step == "l":
            starts.append(last)
            last = placed[at]
            ends.append(last)
        elif step == "c":
            last = placed[at + 2]
        else:
            starts.append(last)
            last = first
            ends.append(last)
        at += {"m": 1, "l": 1, "c": 3}.get(step, 0)
    begin = np.array(starts).reshape(-1, 2)
    return begin, np.array(ends).reshape(-1, 2) - begin
