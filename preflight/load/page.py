"""One page: the calls that draw it, which ink each goes to, and the plates made of them."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import cv2
import numpy as np

from preflight import colour, pixels
from preflight.artwork import Box, Fact, Font, Ink, Plates
from preflight.errors import Unreadable
from preflight.load import images, seen
from preflight.load.device import MM, mu
from preflight.load.geometry import area, in_mm
from preflight.load.inking import PROCESS_NAMES, SAME, Inking, Request, names_a_cut, requests_of
from preflight.load.paints import Look, Paint, labs_of
from preflight.load.plates import ALL, TONE, ListPlates, PixelPlates, farthest, page_rect, render_on
from preflight.load.recognise import SpotLook, recognised, snapped, spot_looks
from preflight.load.recorder import NOTHING, Drawn, Recorder
from preflight.load.splitter import Assignment, Splitter
from preflight.load.steps import Steps, steps_of

#: The composite picture that stands in for plates where transparency is live: its resolution and size.
COMPOSITE_PER_MM, COMPOSITE_PIXELS = 24.0, 16_000_000
#: Objects x lists forwarded in pass two; above it inks share lists.
MOST_FORWARDED = 6_000_000
MOST_LISTS = 64
#: Pages larger than this, mm, are refused.
LARGEST_PAGE = 20_000.0
#: Stands for an ink number where a colour is paper.
PAPER = -1000


def record(page: Any) -> tuple[Recorder, int]:
    """Pass one over a page's contents; the second value counts what was damaged."""
    cookie = mu.FzCookie()
    recorder = Recorder(cookie, page_rect(page), Look(page.parent))
    mu.fz_run_page_contents(page.this, recorder, mu.FzMatrix(), cookie)
    if recorder.error is not None:
        raise recorder.error
    mu.fz_close_device(recorder)
    return recorder, int(cookie.m_internal.errors)


class Page:
    """What one page draws, the inks it uses, and the plates that draw it."""

    def __init__(
        self, document: Any, number: int, ground: str | None, form: str, facts: Sequence[Fact], fonts: Sequence[Font],
        spot_names: dict[str, str], cut_words: Sequence[str],
    ) -> None:  # fmt: skip
        self.document, self.number, self.form = document, number, form
        self.page = document[number - 1]
        self.stated = ground
        self.ground = ground or "#ffffff"
        self.ground_rgb = colour.rgb_of(self.ground)
        self.facts = list(facts)
        self.given_fonts = list(fonts)
        self.spot_names = spot_names
        self.cut_words = cut_words
        rect = page_rect(self.page)
        self.sheet: Box = (0.0, 0.0, rect[2] * MM, rect[3] * MM)
        if not 0 < max(self.sheet[2:]) <= LARGEST_PAGE or min(self.sheet[2:]) <= 0:
            raise Unreadable(
                "The page has no usable size.", "Please save it again at the size it is to be made."
            )
        self.recorder, damaged = record(self.page)
        self.drawn = self.recorder.drawn
        if document.is_repaired and not any(one.box for one in self.drawn):
            raise Unreadable("The PDF is damaged or was cut off on its way.", "Please send it once more.")
        if damaged or document.is_repaired:
            self.facts.append(
                Fact("damaged", "The file is damaged; parts of it may be missing.", count=max(1, damaged))
            )
        self.placed: dict[int, images.Placed] = {}
        self.steps: dict[int, Steps] = {}  # shadings with hard stops
        self.unseen: set[int] = set()  # pictures and shadings that lie hidden under others
        for index, one in enumerate(self.drawn):
            if one.kind in ("image", "stencil") and one.box is not None:
                self.placed[index] = self._place(one)

    def _place(self, one: Drawn) -> images.Placed:
        address = (int(one.image.m_internal.this), one.kind)
        for index, placed in self.placed.items():  # one picture drawn many times is decoded once
            other = self.drawn[index]
            if (int(other.image.m_internal.this), other.kind) == address:
                across = np.hypot(*one.matrix[:2]), np.hypot(*one.matrix[2:4])
                ppi = tuple(n * 72 / a if a else 0.0 for n, a in zip(placed.pixels, across, strict=True))
                return replace(placed, ppi=ppi)  # type: ignore[arg-type]
        return images.place(one.image, one.matrix, one.kind == "stencil", one.defaults)

    # -- inks

    def _cuts(self, one: Drawn) -> bool:
        """Is it a cut outline?  A layer of that name may hold printed shapes too, so there only strokes are."""
        spot = one.paint.spots[0][0] if one.paint and one.paint.spots else ""
        if not spot and one.paint and self.spot_names:
            spot = self.spot_names.get(colour.hex_of(one.paint.rgb), "")
        if one.kind == "stroke":
            return names_a_cut(spot, self.cut_words) or names_a_cut(one.layer, self.cut_words)
        return one.kind == "fill" and names_a_cut(spot, self.cut_words)

    def _paint_of(self, index: int, one: Drawn) -> Paint | None:
        """The one colour a call paints; None for pictures with several, fades, and whatever leaves nothing."""
        if index in self.placed and self.placed[index].flat and not self.placed[index].stencil:
            placed = self.placed[index]
            assert placed.rgb is not None
            rgb = tuple(int(v) for v in np.median(placed.rgb.reshape(-1, 3)[:4096], axis=0))
            return Paint("RGB", tuple(v / 255 for v in rgb), rgb, rgb)  # type: ignore[arg-type]
        paint = one.paint
        if paint and self.spot_names and not paint.spots:
            name = self.spot_names.get(colour.hex_of(paint.rgb))
            if name:
                return replace(paint, spots=((name, 1.0),))
        return paint

    def _ink(self, paper: bool) -> tuple[Inking, list[list[Request]]]:
        inking = Inking(self.ground, paper)
        wanted: list[list[Request]] = []
        for index, one in enumerate(self.drawn):
            paint = self._paint_of(index, one)
            requests: list[Request] = []
            if one.box is not None and not self._cuts(one):
                weight = round(area(one.box), 1)
                if paint is not None:
                    requests = requests_of(paint, one.alpha, self.ground_rgb, weight)
                elif index in self.steps:
                    steps = self.steps[index]
                    requests = [
                        Request(rgb, round(weight * share, 1))
                        for rgb, share in zip(steps.colours, steps.shares, strict=True)
                    ]
                elif (
                    index in self.placed
                    and self.placed[index].tone is not None
                    and not self.placed[index].tone.continuous
                ):
                    placed = self.placed[index]
                    spots = self._spots_of_picture(one)
                    requests = [
                        replace(
                            recognised(colour.rgb_of(ink.hex), round(weight * ink.share, 1), spots),
                            lossy=placed.lossy,
                        )
                        for ink in placed.tone.inks
                    ]
            wanted.append(requests)
        inking.add([request for requests in wanted for request in requests])
        return inking, wanted

    def _spots_of_picture(self, one: Drawn) -> list[SpotLook]:
        """The spot colours that a picture's pixels are given in, and how each looks undiluted."""
        space = one.image.m_internal.colorspace
        if space is None or space.type != 7:  # neither Separation nor DeviceN
            return []
        paint = self.recorder.look.paint(space, (1.0,) * space.n)
        names = [name for name, _ in paint.spots]
        return [
            SpotLook(n, rgb, rgb)
            for n, rgb in zip(names, paint.solids, strict=True)
            if n not in PROCESS_NAMES
        ]

    # -- plates

    def _assignments(
        self, inking: Inking, wanted: list[list[Request]], probes: dict[int, int]
    ) -> list[Assignment]:
        assigned = []
        # grey and RGB paint that overprints cuts the process inks, but not the spots (ISO 32000-1:2008, table 148)
        spots = frozenset(n for n, cluster in enumerate(inking.clusters) if cluster.spot)
        for index, one in enumerate(self.drawn):
            paint = self._paint_of(index, one)
            extra = frozenset({probes[index]}) if index in probes else frozenset()
            if (
                one.alpha < NOTHING
                or self._cuts(one)
                or (paint and paint.spots and paint.spots[0][0] == "None")
            ):
                assigned.append(Assignment(skipped=True))
            elif one.box is None:
                assigned.append(Assignment(lists=extra, art=False))
            elif index in self.placed and paint is None:
                assigned.append(self._picture(index, inking, wanted[index], extra))
            elif index in self.steps:
                assert one.box is not None
                stripes = [n if (n := inking.ink_of(r)) is not None else PAPER for r in wanted[index]]
                greys, everything = self.steps[index].images(stripes)
                x0, y0, x1, y1 = one.box
                assigned.append(
                    Assignment(
                        lists=extra,
                        images={**greys, ALL: everything},
                        place=(x1 - x0, 0, 0, y1 - y0, x0, y0),
                    )
                )
            elif one.kind == "shading" and paint is None:
                assigned.append(Assignment(lists=frozenset({TONE}) | extra))
            else:
                numbers = {n for r in wanted[index] if (n := inking.ink_of(r)) is not None}
                keeps = one.overprint and paint is not None and paint.space in ("CMYK", "Separation")
                ghost = one.alpha < seen.SEE_THROUGH  # spots beneath stay, and what fades beneath is seen
                keeps = keeps or (ghost and seen.only_spots(paint))
                mask = self.placed[index].mask if index in self.placed else None
                spares = spots if one.overprint and not keeps else frozenset()
                spares |= frozenset(probes.values()) if ghost else frozenset()
                assigned.append(
                    Assignment(frozenset(numbers) | extra, art=bool(numbers),
                               knocks_out=not keeps, spares=spares, mask=mask)
                )  # fmt: skip
        return assigned

    def _picture(
        self, index: int, inking: Inking, requests: list[Request], extra: frozenset[int]
    ) -> Assignment:
        placed = self.placed[index]
        if placed.tone is None or placed.tone.continuous or not requests:
            return Assignment(lists=frozenset({TONE}) | extra, mask=placed.mask)
        numbers = [n if (n := inking.ink_of(r)) is not None else PAPER for r in requests]
        greys, everything = images.plates_of(placed, numbers)
        return Assignment(lists=extra, images={**greys, ALL: everything}, mask=placed.mask)

    def _list_plates(self, inking: Inking, wanted: list[list[Request]], probes: dict[int, int]) -> ListPlates:
        shown = range(
            min(len(inking.clusters), MOST_LISTS, max(2, MOST_FORWARDED // max(1, len(self.drawn))))
        )
        numbers = [*shown, ALL, TONE, *probes.values()]
        assigned = self._assignments(inking, wanted, probes)
        cookie = mu.FzCookie()
        area = mu.fz_bound_page(self.page.this)
        splitter = Splitter(cookie, area, numbers, assigned)
        mu.fz_run_page_contents(self.page.this, splitter, mu.FzMatrix(), cookie)
        if splitter.error is not None:
            raise splitter.error
        mu.fz_close_device(splitter)
        splitter.close()
        lists = dict(zip(numbers, splitter.lists, strict=True))
        for surplus in range(len(shown), len(inking.clusters)):
            lists[surplus] = lists[len(shown) - 1]
        page = mu.fz_new_display_list_from_page_contents(self.page.this)
        return ListPlates(lists, page, keep=(self.document, splitter))

    def _composite(self, paper: bool) -> tuple[Inking, PixelPlates, float, Any]:
        """Plates from the finished picture, where transparency is live."""
        width, height = self.sheet[2:]
        density = min(COMPOSITE_PER_MM, (COMPOSITE_PIXELS / (width * height)) ** 0.5)
        page = mu.fz_new_display_list_from_page_contents(self.page.this)
        rgb = render_on(page, self.sheet, density, self.ground_rgb)
        tone = pixels.analyse(rgb)
        inking = Inking(self.ground, paper)
        paints = [(one.paint, one.alpha) for one in self.drawn if one.paint and one.box is not None]
        looks = spot_looks(paints, self.recorder.group_strengths, self.ground_rgb)
        solid = {paint.rgb for paint, _ in paints}
        unclipped = labs_of(paint for paint, _ in paints)
        requests = [recognised(snapped(ink.hex, solid), ink.share, looks) for ink in tone.inks]
        requests = [replace(request, lab=unclipped.get(request.rgb)) for request in requests]
        inking.add(requests)
        covers = pixels.plates(rgb, None, [ink.hex for ink in tone.inks])
        plates: dict[int, np.ndarray] = {}
        for request, cover in zip(requests, covers, strict=True):
            number = inking.ink_of(request)
            if number is not None:
                plates[number] = np.maximum(plates[number], cover) if number in plates else cover
        far = farthest(rgb, self.ground_rgb)
        plates[ALL] = np.where(far > 6, cv2.multiply(far, 3), 0).astype(np.uint8)
        plates[TONE] = np.zeros_like(plates[ALL])
        flat = PixelPlates(plates, rgb, None, (density, density))
        return inking, flat, density * 25.4, tone

    # -- the result

    def _has_paper_marks(self) -> bool:
        return any(
            d.box is not None and d.kind in ("fill", "stroke", "text", "stencil", "image") for d in self.drawn
        )

    def _visible(self, inks: Sequence[Ink], plates: Plates) -> tuple[Ink, ...]:
        """The inks that leave something: one hidden under the others needs no screen."""
        density = min(8.0, (2_000_000 / (self.sheet[2] * self.sheet[3])) ** 0.5)
        shown = []
        for ink in inks:
            if plates.coverage(ink.number, self.sheet, density).any():
                shown.append(ink)
            else:
                self.facts.append(
                    Fact("hidden object", f"Everything in {ink.name} lies hidden under other objects.")
                )
        return tuple(shown)

    def _leaves(self, index: int) -> bool:
        """Does a call leave a mark other than bare paper?"""
        one = self.drawn[index]
        if one.box is None or one.alpha < NOTHING or self._cuts(one):
            return False
        paint = self._paint_of(index, one)
        if paint is None or paint.spots:
            return paint is None or paint.spots[0][0] != "None"
        if one.alpha < seen.SEE_THROUGH:
            return True
        far = colour.difference(colour.lab_of(colour.hex_of(paint.rgb)), colour.lab_of(self.ground))
        return far >= SAME

    def _look_at_shades(self, plates: ListPlates, probes: dict[int, int]) -> bool:
        """Note what of pictures and shadings is seen; True where a shading proves to be flat, so that plates change."""
        changed = False
        for index, probe in probes.items():
            one = self.drawn[index]
            assert one.box is not None
            box = in_mm(one.box)
            if not seen.is_seen(probe, box, plates):
                self.unseen.add(index)
            elif one.kind == "shading":
                rgb = seen.one_colour(probe, box, plates, self.ground_rgb)
                stripes = steps_of(probe, box, plates, self.ground_rgb) if rgb is None else None
                if stripes is not None:
                    self.steps[index] = stripes
                    changed = True
                if rgb is not None:
                    one.flat_shade, changed = True, True
                    one.paint = Paint("RGB", tuple(v / 255 for v in rgb), rgb, rgb)
        return changed
