"""A PDF page becomes Artwork: what is drawn, in which inks, and the plates that draw it.

SVG and PostScript arrive here too, as the PDF page their loaders made of them.
"""

import gc
from collections.abc import Sequence
from dataclasses import replace
from typing import Any, Literal

import cv2
import numpy as np
import pymupdf

from preflight import colour, pixels
from preflight.artwork import (
    Artwork,
    Box,
    Fact,
    Fade,
    Font,
    Ink,
    Mark,
    Picture,
    Plates,
    TextRun,
)
from preflight.errors import Unreadable
from preflight.load import construction, geometry, images, seen, structure
from preflight.load.bounds import art_bounds
from preflight.load.furniture import furniture
from preflight.load.geometry import area, in_mm, moved, path_of, pen_of
from preflight.load.inking import CUT_WORDS, PROCESS_NAMES, SAME, Inking, Request, names_a_cut, requests_of
from preflight.load.paints import Look, Paint
from preflight.load.plates import (
    ALL,
    TONE,
    Assignment,
    ListPlates,
    PixelPlates,
    Splitter,
    farthest,
    page_rect,
    render_on,
)
from preflight.load.recognise import SpotLook, recognised, snapped, spot_looks
from preflight.load.recorder import MM, NOTHING, Drawn, Recorder, TooMuch, mu, times
from preflight.load.steps import Steps, steps_of
from preflight.quantity import plain

pymupdf.TOOLS.mupdf_display_errors(False)  # it would print on standard output
pymupdf.TOOLS.mupdf_display_warnings(False)

#: The composite picture that stands in for plates where transparency is live: its resolution and size.
COMPOSITE_PER_MM, COMPOSITE_PIXELS = 24.0, 16_000_000
#: Objects x lists forwarded in pass two; above it inks share lists.
MOST_FORWARDED = 6_000_000
MOST_LISTS = 64
#: Pages larger than this, mm, are refused.
LARGEST_PAGE = 20_000.0
#: Stands for an ink number where a colour is paper.
PAPER = -1000
#: Probes: lists that tell whether a picture or a fade is hidden under later objects.
MOST_PROBES = 24


def open_document(data: bytes) -> Any:
    """The opened PDF.

    Raises:
        Unreadable: locked, damaged beyond use, or without pages.
    """
    pymupdf.TOOLS.reset_mupdf_warnings()
    try:
        document = pymupdf.open(stream=data, filetype="pdf")
        locked = document.needs_pass and not document.authenticate("")
        count = document.page_count if not locked else 1
    except (RuntimeError, ValueError, mu.FzErrorBase) as error:
        raise Unreadable(
            "The PDF is damaged and cannot be opened.", "Please save it again and send it once more."
        ) from error
    if locked:
        raise Unreadable(
            "The PDF is locked with a password.",
            "Please send it without a password, or tell us the password.",
        )
    if count < 1:
        raise Unreadable("The PDF has no pages.", "Please save it again and send it once more.")
    tail = data[-2048:]
    if (
        document.is_repaired and b"startxref" not in tail and b"%%EOF" not in tail
    ):  # ISO 32000-2, 7.5.5: how a PDF ends
        raise Unreadable("The PDF was cut off on its way: its end is missing.", "Please send it once more.")
    return document


def read(
    data: bytes, *, page: int = 1, ground: str | None = None, form: str = "pdf", facts: Sequence[Fact] = (),
    fonts: Sequence[Font] = (), spot_names: dict[str, str] | None = None, cut_words: Sequence[str] = CUT_WORDS,
) -> Artwork:  # fmt: skip
    """The page as Artwork at the file's own size, origin at the art bounds.

    Args:
        data: the PDF.
        page: counted from 1.
        ground: the article's colour, or None when nobody said: white is assumed.
        form: what the client sent.
        facts: what an earlier loader found.
        fonts: the fonts an earlier loader had to replace.
        spot_names: names of colours ("#rrggbb") that a format without spot colours names otherwise.
        cut_words: words in a spot's or layer's name that mean a cut outline.

    Raises:
        Unreadable: with one sentence for the client.
    """
    document = open_document(data)
    if page > document.page_count:
        pages = "1 page" if document.page_count == 1 else f"{document.page_count} pages"
        raise Unreadable(
            f"Page {page} was ordered, but the file has {pages}.", "Please tell us which page to produce."
        )
    collecting = gc.isenabled()
    gc.disable()  # nothing is dropped while recording, and the collector would take a third of the time
    try:
        art = _Reading(document, page, ground, form, facts, fonts, spot_names or {}, cut_words).artwork()
        return replace(art, page_pdf=data, cache={})
    except TooMuch as error:
        raise Unreadable(
            f"The page is too complicated to check ({error}).", "Please simplify it, or send a picture."
        ) from error
    except (mu.FzErrorBase, RuntimeError) as error:
        raise Unreadable(
            "The page is damaged and cannot be drawn.", "Please save it again and send it once more."
        ) from error
    finally:
        if collecting:
            gc.enable()


def record(page: Any) -> tuple[Recorder, int]:
    """Pass one over a page's contents; the second value counts what was damaged."""
    cookie = mu.FzCookie()
    recorder = Recorder(cookie, page_rect(page), Look(page.parent))
    mu.fz_run_page_contents(page.this, recorder, mu.FzMatrix(), cookie)
    if recorder.error is not None:
        raise recorder.error
    mu.fz_close_device(recorder)
    return recorder, int(cookie.m_internal.errors)


class _Reading:
    """The state of one `read`."""

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
        requests = [recognised(snapped(ink.hex, solid), ink.share, looks) for ink in tone.inks]
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

    def artwork(self) -> Artwork:
        recorder = self.recorder
        trim = structure.trim_box(self.page)
        for index in furniture(self.drawn, trim, self._leaves):
            self.drawn[index].box = None  # nothing of it will be produced
        live = (
            [b for b in recorder.soft_masks] + [b for _, b in recorder.blends] + list(recorder.group_alphas)
        )
        masks = {i: p.mask for i, p in self.placed.items() if p.mask is not None and not p.stencil}
        composite = bool(live) or seen.shows_through(self.page, self.drawn, self._leaves, masks)
        paper, looked_at = True, False
        candidates = [
            i for i, d in enumerate(self.drawn)
            if d.box is not None and (i in self.placed or (d.kind == "shading" and not d.flat_shade))
        ]  # fmt: skip
        probes = (
            {i: TONE - 1 - k for k, i in enumerate(candidates[:MOST_PROBES])}
            if len(self.drawn) < 20_000
            else {}
        )
        plates: Plates
        plate_ppi, tone = None, None
        while True:
            if composite:
                inking, plates, plate_ppi, tone = self._composite(paper)
                wanted: list[list[Request]] = [[] for _ in self.drawn]
            else:
                inking, wanted = self._ink(paper)
                plates = self._list_plates(inking, wanted, probes)
                if not looked_at:
                    looked_at = True
                    if self._look_at_shades(plates, probes):
                        continue  # a shading that shows in one colour is a flat shape, and has an ink
            bounds = art_bounds(plates, trim or self.sheet)
            if bounds is None and paper and self.stated is None and self._has_paper_marks():
                paper = False  # white art whose ground nobody stated: the white is the ink
                continue
            break
        inks = self._visible(inking.inks(), plates)
        art = self._assemble(inking, inks, wanted, plates, bounds, trim, composite, plate_ppi, tone)
        return art

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

    def _assemble(
        self, inking: Inking, inks: tuple[Ink, ...], wanted: list[list[Request]], plates: Plates, bounds: Box | None,
        trim: Box | None, composite: bool, plate_ppi: float | None, tone: Any,
    ) -> Artwork:  # fmt: skip
        marks: list[Mark] = []
        runs: list[TextRun] = []
        pictures: list[Picture] = []
        fades: list[Fade] = []
        numbers = {ink.number for ink in inks}
        for index, one in enumerate(self.drawn):
            if one.box is None:
                continue
            box = in_mm(one.box)
            paint = self._paint_of(index, one)
            if composite:
                asked = requests_of(paint, one.alpha, self.ground_rgb, 0.0) if paint else []
                ink = next((n for r in asked if (n := inking.nearest(r)) in numbers), None)
            else:
                ink = next((n for r in wanted[index] if (n := inking.ink_of(r)) in numbers), None)
            common: dict[str, Any] = {
                "ink": ink, "opacity": round(one.alpha, 3), "overprint": one.overprint,
                "layer": plain(one.layer, 60), "hex": colour.hex_of(paint.rgb) if paint else "",
                "spot": plain(paint.spots[0][0], 60) if paint and paint.spots else "",
                "role": "cut" if self._cuts(one) else "",
            }  # fmt: skip
            if one.kind in ("fill", "stroke"):
                how: Literal["fill", "stroke"] = "fill" if one.kind == "fill" else "stroke"
                path = path_of(one)
                marks.append(Mark(how, box, path=path, pen=pen_of(one), even_odd=one.even_odd, **common))
            elif one.kind == "text":
                geometry.add_text(one, self.recorder, self.given_fonts, common, marks, runs)
            elif index in self.placed:
                if index not in self.unseen:
                    pictures.append(self._picture_facts(self.placed[index], box, fades, one))
                    kind: Literal["stencil", "picture"] = "stencil" if one.kind == "stencil" else "picture"
                    marks.append(Mark(kind, box, **common))
            elif one.flat_shade or index in self.steps:
                marks.append(Mark("fill", box, **common))
            elif index not in self.unseen:
                fades.append(Fade("gradient", box))
                marks.append(Mark("shading", box, **common))
        if composite and tone is not None and plate_ppi is not None:
            k = 25.4 / plate_ppi
            for fade in tone.fades:
                place: Box = (fade.box[0] * k, fade.box[1] * k, fade.box[2] * k, fade.box[3] * k)
                if fade.kind == "soft edge" or not any(f.kind == "gradient" for f in fades):
                    fades.append(
                        Fade(
                            "soft edge" if fade.kind == "gradient" else fade.kind,
                            place,
                            fade.share,
                            fade.sure,
                        )
                    )
        self.facts += construction.facts_of(self.recorder, page_rect(self.page))
        self.facts += structure.page_facts(self.document, self.page, self.number, len(self.drawn), record)
        sheet = self.sheet
        box = bounds or sheet
        art = Artwork(
            format=self.form, kind=_kind(marks, pictures), page=self.number, pages=self.document.page_count,
            width_mm=sheet[2], height_mm=sheet[3], file_width_mm=sheet[2], file_height_mm=sheet[3], ground=self.ground,
            inks=inks, marks=tuple(marks), text=tuple(runs), pictures=tuple(pictures), fonts=self._fonts(),
            fades=tuple(fades), facts=tuple(self.facts), plates=plates, trim=trim, page_box=sheet, composite=composite,
            plate_ppi=plate_ppi,
        )  # fmt: skip
        return structure.at_bounds(art, box)

    def _fonts(self) -> tuple[Font, ...]:
        used = {run.font for one in self.drawn if one.kind == "text" and one.box for run in one.runs}
        found: dict[str, Font] = {}
        for number in sorted(used):
            font = geometry.font_of(self.recorder.fonts[number])
            found.setdefault(font.name, font)
        replaced = [font for font in self.given_fonts if not font.embedded]
        # a drawing made by an earlier loader carries stand-ins for the fonts it lacked: those are not the client's fonts
        if replaced and (used or self.form != "svg"):  # not for text of a drawing that nobody sees
            return tuple(replaced)
        return tuple(found.values())

    def _picture_facts(self, placed: images.Placed, box: Box, fades: list[Fade], one: Drawn) -> Picture:
        tone = placed.tone
        true_ppi = None
        if tone is not None:
            true_ppi = (placed.ppi[0] / tone.enlargement, placed.ppi[1] / tone.enlargement)
            to_page = times((1 / placed.rgb.shape[1], 0, 0, 1 / placed.rgb.shape[0], 0, 0), one.matrix)  # type: ignore[union-attr]
            for fade in tone.fades:
                place = moved(np.array([fade.box[:2], fade.box[2:]], float), to_page)
                corners: Box = (*place.min(0), *place.max(0))  # type: ignore[assignment]
                seen = structure.overlap_mm(corners, box)
                if seen:
                    per_mm = (placed.ppi[0] or 1) / 25.4
                    lpi = 25.4 * per_mm / fade.period if fade.period else None
                    fades.append(Fade(fade.kind, seen, fade.share, fade.sure, lpi))
        return Picture(
            placed.pixels, box, placed.ppi, true_ppi, placed.bits, placed.space, placed.alpha is not None,
            placed.stencil, placed.flat, placed.jpeg_quality, tone,
        )  # fmt: skip


def _kind(marks: Sequence[Mark], pictures: Sequence[Picture]) -> Literal["vector", "bitmap", "mixed"]:
    if all(picture.flat for picture in pictures):
        return "vector"
    drawn = any(
        m.kind == "shading" or (m.kind in ("fill", "stroke", "glyph") and not m.role and m.ink is not None)
        for m in marks
    )
    return "mixed" if drawn else "bitmap"
