"""A PDF page becomes Artwork: what is drawn, in which inks, and the plates that draw it.

SVG and PostScript arrive here too, as the PDF page their loaders made of them.
"""

import gc
from collections.abc import Sequence
from dataclasses import replace
from typing import Any, Literal

import numpy as np
import pymupdf

from preflight import colour
from preflight.artwork import Artwork, Box, Fact, Fade, Font, Ink, Mark, Picture, Plates, TextRun
from preflight.errors import Unreadable
from preflight.load import construction, geometry, images, seen, structure
from preflight.load.bounds import art_bounds
from preflight.load.device import mu, times
from preflight.load.furniture import furniture
from preflight.load.geometry import in_mm, moved, path_of, pen_of
from preflight.load.inking import CUT_WORDS, Inking, Request, requests_of
from preflight.load.page import Page, record
from preflight.load.plates import TONE, page_rect
from preflight.load.recorder import Drawn, TooMuch
from preflight.quantity import plain

pymupdf.TOOLS.mupdf_display_errors(False)  # it would print on standard output
pymupdf.TOOLS.mupdf_display_warnings(False)

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


class _Reading(Page):
    """The state of one `read`."""

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
