"""The MuPDF device that notes every drawing object of a page: pass one of two.

A page is run twice through the same callbacks.  This pass writes down what is drawn: paints with their real colour
spaces, outlines, pens, clips, pictures, text.  Pass two (`splitter`) runs the page again and sends each object to the
display list of its ink.  Both passes meet the paint calls in the same order, so the number of a call names it.
"""

from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from preflight.load.device import (
    Device,
    Matrix,
    PathWalker,
    Rect,
    matrix_of,
    mu,
    overlap,
    rect_of,
    stretches,
    times,
)
from preflight.load.paints import PLAIN, Look, Paint

#: More objects than this on one page is not artwork for goods; it also bounds time and memory.
MOST_OBJECTS = 400_000
#: With less opacity than this nothing is seen of an object.
NOTHING = 0.02

NO_POINTS = np.empty((0, 2))

BLENDS = (
    "Normal Multiply Screen Overlay Darken Lighten ColorDodge ColorBurn HardLight SoftLight Difference Exclusion "
    "Hue Saturation Color Luminosity"
).split()  # PDF 2.0 (ISO 32000-2), 11.3.5


@dataclass(slots=True)
class Drawn:
    """One paint call.  `box` is what of it is visible, in points of the page; None where all is clipped away."""

    kind: str  # fill, stroke, text, stencil, image, shading
    box: Rect | None
    whole: Rect  # without clips
    paint: Paint | None = None
    alpha: float = 1.0
    overprint: bool = False
    even_odd: bool = False
    steps: str = ""
    points: np.ndarray = field(default_factory=lambda: NO_POINTS)
    matrix: Matrix = (1, 0, 0, 1, 0, 0)
    pen: tuple[float, float, tuple[float, ...]] | None = None  # least, greatest width, dashes; points
    image: Any = None  # kept FzImage
    runs: list["Run"] = field(default_factory=list)
    layer: str = ""
    flat_shade: bool = False
    defaults: Any = None  # MuPDF's default colour spaces where a picture is drawn
    tiled: bool = False  # in a cell of a pattern: where it appears is not where it is drawn


@dataclass(slots=True)
class Run:
    """Glyphs of one font in one text call: (character, outline key, matrix to the page)."""

    font: int
    trm: Matrix
    glyphs: list[tuple[str, tuple[int, int], Matrix]]


@dataclass(slots=True)
class FontNote:
    """What a font is."""

    name: str
    embedded: bool
    substituted: bool
    type3: bool


@dataclass(frozen=True, slots=True)
class Lettering:
    """How a text call is painted: what the bare glyphs of its type 3 fonts are painted with."""

    paint: Paint | None
    alpha: float
    overprint: bool


class TooMuch(Exception):
    """The page holds more than is reasonable."""


class Recorder(Device):
    """Pass one: notes every object, its visible box and its real colour."""

    def __init__(self, cookie: Any, page: Rect, look: Look) -> None:
        super().__init__(cookie)
        self.look = look
        self.drawn: list[Drawn] = []
        self.clips: list[Rect | None] = [page]
        self.tiles: list[Rect | None] = []
        self.layers: list[str] = []
        self.fonts: list[FontNote] = []
        self.outlines: dict[tuple[int, int], tuple[str, np.ndarray]] = {}
        self.invisible: list[tuple[Rect, int]] = []
        self.soft_masks: list[Rect] = []
        self.blends: list[tuple[str, Rect]] = []
        self.group_alphas: list[Rect] = []
        self.group_strengths: list[float] = []
        self.masked_depth = 0
        self.groups: list[bool] = []  # of the groups around: are they wholly see-through?
        self.clear_groups = 0
        self._font_numbers: dict[int, int] = {}
        self._held: list[Any] = []  # fonts kept alive, so that their addresses stay their own
        self._paints: dict[Any, Paint] = {}
        self._walker = PathWalker()
        self._lettering: list[Lettering] = []

    # -- readers

    def set_default_colorspaces(self, ctx: Any, defaults: Any) -> None:
        self.look.use(defaults)
        self._paints.clear()

    def _note(self, drawn: Drawn) -> None:
        if self.masked_depth:
            return
        if self._lettering:
            text = self._lettering[-1]
            drawn.alpha *= text.alpha
            if self.in_bare_glyph and drawn.paint is not None:
                drawn.paint, drawn.overprint = text.paint, text.overprint
        if self.clear_groups or drawn.alpha < NOTHING:
            drawn.alpha, drawn.box = 0.0, None
        drawn.layer = self.layers[-1] if self.layers else ""
        drawn.tiled = bool(self.tiles)
        self.drawn.append(drawn)
        if len(self.drawn) > MOST_OBJECTS:
            raise TooMuch(f"more than {MOST_OBJECTS} objects")

    def _walk(self, path: Any) -> tuple[str, np.ndarray]:
        """The steps of a path and its (n, 2) points."""
        walker = self._walker
        walker.steps, walker.points = [], []
        # the second walker argument is passed on to each call as context; None there crashes
        mu.ll_fz_walk_path(path, walker.m_internal, walker.m_internal)
        return "".join(walker.steps), np.array(walker.points, float).reshape(-1, 2)

    def _paint(self, space: Any, colour: Any) -> Paint:
        count = space.n if space is not None else 0
        values = tuple(round(mu.floats_getitem(colour, i), 4) for i in range(count))
        key = (space.name if space is not None else "", values)
        if key not in self._paints:
            self._paints[key] = self.look.paint(space, values)
        return self._paints[key]

    def _pen(self, stroke: Any, ctm: Any) -> tuple[float, float, tuple[float, ...]]:
        least, most = stretches(matrix_of(ctm))
        dashes: tuple[float, ...] = ()
        if stroke.dash_len:
            given = stroke.dash_list
            listed = (
                given
                if isinstance(given, tuple | list)
                else [mu.floats_getitem(given, i) for i in range(stroke.dash_len)]
            )
            dashes = tuple(v * most for v in listed[: stroke.dash_len])
        return stroke.linewidth * least, stroke.linewidth * most, dashes

    def _seen(self, whole: Rect) -> Rect | None:
        """What is visible of a rectangle."""
        return self.tiles[-1] if self.tiles else overlap(whole, self.clips[-1])

    def _clip(self, box: Rect) -> None:
        self.clips.append(overlap(self.clips[-1], box))

    # -- paths

    def fill_path(
        self, ctx: Any, path: Any, even_odd: int, ctm: Any, space: Any, colour: Any, alpha: float, cp: Any
    ) -> None:
        steps, points = self._walk(path)
        whole = rect_of(mu.ll_fz_bound_path(path, None, ctm))
        self._note(
            Drawn("fill", self._seen(whole), whole, self._paint(space, colour), alpha, bool(cp.op),
                  bool(even_odd), steps, points, matrix_of(ctm))
        )  # fmt: skip

    def stroke_path(
        self, ctx: Any, path: Any, stroke: Any, ctm: Any, space: Any, colour: Any, alpha: float, cp: Any
    ) -> None:
        steps, points = self._walk(path)
        whole = rect_of(mu.ll_fz_bound_path(path, stroke, ctm))
        self._note(
            Drawn("stroke", self._seen(whole), whole, self._paint(space, colour), alpha, bool(cp.op),
                  False, steps, points, matrix_of(ctm), self._pen(stroke, ctm))
        )  # fmt: skip

    def clip_path(self, ctx: Any, path: Any, even_odd: int, ctm: Any, scissor: Any) -> None:
        self._clip(rect_of(mu.ll_fz_bound_path(path, None, ctm)))

    def clip_stroke_path(self, ctx: Any, path: Any, stroke: Any, ctm: Any, scissor: Any) -> None:
        self._clip(rect_of(mu.ll_fz_bound_path(path, stroke, ctm)))

    # -- text

    def _font(self, font: Any) -> int:
        address = int(font.this)
        if address not in self._font_numbers:
            type3 = mu.ll_fz_font_t3_procs(font) is not None
            flags = mu.ll_fz_font_flags(font)
            embedded = bool(type3 or (font.buffer is not None and not font.buffer.shared))
            self._held.append(mu.FzFont(mu.ll_fz_keep_font(font)))
            self._font_numbers[address] = len(self.fonts)
            self.fonts.append(
                FontNote(mu.ll_fz_font_name(font), embedded, bool(flags.ft_substitute) or not embedded, type3)
            )
        return self._font_numbers[address]

    def _outline(self, number: int, font: Any, gid: int) -> tuple[int, int]:
        key = (number, gid)
        if key not in self.outlines:
            path = mu.ll_fz_outline_glyph(font, gid, mu.ll_fz_make_matrix(1, 0, 0, 1, 0, 0))
            steps, points = "", NO_POINTS
            if path is not None:
                steps, points = self._walk(path)
                mu.ll_fz_drop_path(path)
            self.outlines[key] = (steps, points)
        return key

    def _runs(self, text: Any, ctm: Any) -> list[Run]:
        base, runs, span = matrix_of(ctm), [], text.head
        while span is not None:
            number = self._font(span.font)
            t = matrix_of(span.trm)
            items = mu.FzTextSpan(span)
            glyphs = []
            for i in range(span.len):
                item = items.items(i)
                if item.gid < 0:
                    continue
                matrix = times((t[0], t[1], t[2], t[3], item.x, item.y), base)
                char = chr(item.ucs) if 0 < item.ucs < 0x110000 and not 0xD800 <= item.ucs < 0xE000 else ""
                glyphs.append((char, self._outline(number, span.font, item.gid), matrix))
            runs.append(Run(number, times(t, base), glyphs))
            span = span.next
        return runs

    def _text(self, text: Any, stroke: Any, ctm: Any, space: Any, colour: Any, alpha: float, cp: Any) -> None:
        own = Lettering(self._paint(space, colour), alpha, bool(cp.op))
        if self._lettering:
            around = self._lettering[-1]
            own = replace(around if self.in_bare_glyph else own, alpha=alpha * around.alpha)
        self._lettering.append(own)
        replayed = self.replay_type3(text, ctm)
        self._lettering.pop()
        if replayed:
            return
        whole = rect_of(mu.ll_fz_bound_text(text, stroke, ctm))
        drawn = Drawn("text", self._seen(whole), whole, self._paint(space, colour), alpha, bool(cp.op))
        drawn.runs = self._runs(text, ctm)
        drawn.pen = self._pen(stroke, ctm) if stroke is not None else None
        self._note(drawn)

    def fill_text(
        self, ctx: Any, text: Any, ctm: Any, space: Any, colour: Any, alpha: float, cp: Any
    ) -> None:
        self._text(text, None, ctm, space, colour, alpha, cp)

    def stroke_text(
        self, ctx: Any, text: Any, stroke: Any, ctm: Any, space: Any, colour: Any, alpha: float, cp: Any
    ) -> None:
        self._text(text, stroke, ctm, space, colour, alpha, cp)

    def clip_text(self, ctx: Any, text: Any, ctm: Any, scissor: Any) -> None:
        self._clip(rect_of(mu.ll_fz_bound_text(text, None, ctm)))

    def clip_stroke_text(self, ctx: Any, text: Any, stroke: Any, ctm: Any, scissor: Any) -> None:
        self._clip(rect_of(mu.ll_fz_bound_text(text, stroke, ctm)))

    def ignore_text(self, ctx: Any, text: Any, ctm: Any) -> None:
        count, span = 0, text.head
        while span is not None:
            count += span.len
            span = span.next
        self.invisible.append((rect_of(mu.ll_fz_bound_text(text, None, ctm)), count))

    # -- shadings and pictures

    def fill_shade(self, ctx: Any, shade: Any, ctm: Any, alpha: float, cp: Any) -> None:
        whole = rect_of(mu.ll_fz_bound_shade(shade, ctm))
        box = self._seen(whole)
        drawn = Drawn("shading", box, whole, None, alpha, bool(cp.op))
        if box is not None and box[2] > box[0] and box[3] > box[1]:
            colour = _one_colour(shade, ctm, box, self.look)
            if colour is not None:
                drawn.flat_shade = True
                drawn.paint = Paint("RGB", tuple(v / 255 for v in colour), colour, colour)
        self._note(drawn)

    def _picture(self, kind: str, image: Any, ctm: Any, alpha: float, cp: Any, paint: Paint | None) -> None:
        whole = rect_of(mu.ll_fz_transform_rect(mu.ll_fz_make_rect(0, 0, 1, 1), ctm))
        drawn = Drawn(kind, self._seen(whole), whole, paint, alpha, bool(cp.op), matrix=matrix_of(ctm))
        drawn.image = mu.FzImage(mu.ll_fz_keep_image(image))
        drawn.defaults = self.look.defaults
        self._note(drawn)

    def fill_image(self, ctx: Any, image: Any, ctm: Any, alpha: float, cp: Any) -> None:
        self._picture("image", image, ctm, alpha, cp, None)

    def fill_image_mask(
        self, ctx: Any, image: Any, ctm: Any, space: Any, colour: Any, alpha: float, cp: Any
    ) -> None:
        self._picture("stencil", image, ctm, alpha, cp, self._paint(space, colour))

    def clip_image_mask(self, ctx: Any, image: Any, ctm: Any, scissor: Any) -> None:
        self._clip(rect_of(mu.ll_fz_transform_rect(mu.ll_fz_make_rect(0, 0, 1, 1), ctm)))

    # -- structure

    def pop_clip(self, ctx: Any) -> None:
        if len(self.clips) > 1:
            self.clips.pop()

    def begin_mask(self, ctx: Any, area: Any, luminosity: int, space: Any, colour: Any, cp: Any) -> None:
        box = overlap(rect_of(area), self.clips[-1])
        if box and not self.masked_depth:
            self.soft_masks.append(box)
        self.masked_depth += 1

    def end_mask(self, ctx: Any, function: Any) -> None:
        self.masked_depth -= 1
        self.clips.append(self.clips[-1])  # what follows, up to pop_clip, is seen through the mask

    def begin_group(
        self, ctx: Any, area: Any, space: Any, isolated: int, knockout: int, blend: int, alpha: float
    ) -> None:
        clear = alpha < NOTHING
        self.groups.append(clear)
        self.clear_groups += clear
        box = overlap(rect_of(area), self.clips[-1])
        if box is None or self.masked_depth or self.clear_groups:
            return
        if blend & 15:
            self.blends.append((BLENDS[blend & 15], box))
        if alpha < 0.999:
            self.group_alphas.append(box)
            self.group_strengths.append(round(alpha, 4))

    def end_group(self, ctx: Any) -> None:
        if self.groups:
            self.clear_groups -= self.groups.pop()

    def begin_tile(
        self, ctx: Any, area: Any, view: Any, xstep: float, ystep: float, ctm: Any, tile: int, doc: int
    ) -> int:
        # what the cell draws is repeated all over the area: its marks are taken to lie anywhere in it
        whole = rect_of(mu.ll_fz_transform_rect(area, ctm))
        self.tiles.append(self._seen(whole))
        return 0

    def end_tile(self, ctx: Any) -> None:
        if self.tiles:
            self.tiles.pop()

    def begin_layer(self, ctx: Any, name: str) -> None:
        self.layers.append(name or "")

    def end_layer(self, ctx: Any) -> None:
        if self.layers:
            self.layers.pop()


def _one_colour(shade: Any, ctm: Any, box: Rect, look: Look) -> tuple[int, int, int] | None:
    """The colour of a shading that looks flat in its visible box; None when it fades.  Painted small, and looked at."""
    size = 48
    scale_x, scale_y = size / (box[2] - box[0]), size / (box[3] - box[1])
    matrix = times(matrix_of(ctm), (scale_x, 0, 0, scale_y, -box[0] * scale_x, -box[1] * scale_y))
    pixmap = mu.FzPixmap(
        mu.FzColorspace(mu.FzColorspace.Fixed_RGB), mu.FzIrect(0, 0, size, size), mu.FzSeparations(), 1
    )
    mu.fz_clear_pixmap(pixmap)
    device = mu.fz_new_draw_device(mu.FzMatrix(), pixmap)
    look.hand_to(device)
    mu.ll_fz_fill_shade(device.m_internal, shade, mu.ll_fz_make_matrix(*matrix), 1.0, PLAIN)
    mu.fz_close_device(device)
    pixels = (
        np.frombuffer(mu.fz_pixmap_samples_memoryview(pixmap), np.uint8)
        .reshape(size, -1)[:, : size * 4]
        .reshape(-1, 4)
    )
    opaque = pixels[pixels[:, 3] > 250][:, :3].astype(int)
    if not len(opaque):
        return (255, 255, 255)
    if int((opaque.max(0) - opaque.min(0)).max()) > 3:
        return None
    middle = opaque.mean(0)
    return (round(float(middle[0])), round(float(middle[1])), round(float(middle[2])))
