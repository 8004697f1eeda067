"""What both passes over a page share: MuPDF's device with callbacks that can fail, and plain numbers of its matrices.

Rules of these callbacks: pointers handed to one are borrowed, so numbers are copied at once; an exception inside one
would be swallowed by MuPDF, so it is kept and the run is aborted; `begin_tile` has to return an int.
"""

import ctypes
import math
from collections.abc import Callable
from typing import Any

import pymupdf

mu: Any = pymupdf.mupdf
MM = 25.4 / 72  # mm in a PDF point

#: Type 3 glyphs that draw type 3 glyphs that ...: deeper than this is a bomb.
DEEPEST_TYPE3 = 4
#: A type 3 font has so many glyphs, in MuPDF's tables and in ISO 32000-1, 9.6.5.
TYPE3_GLYPHS = 256

Rect = tuple[float, float, float, float]
Matrix = tuple[float, float, float, float, float, float]


def times(a: Matrix, b: Matrix) -> Matrix:
    """Matrix of "first a, then b" (PDF row vectors)."""
    return (
        a[0] * b[0] + a[1] * b[2], a[0] * b[1] + a[1] * b[3], a[2] * b[0] + a[3] * b[2], a[2] * b[1] + a[3] * b[3],
        a[4] * b[0] + a[5] * b[2] + b[4], a[4] * b[1] + a[5] * b[3] + b[5],
    )  # fmt: skip


def matrix_of(c: Any) -> Matrix:
    """Plain numbers of a fz_matrix."""
    return (c.a, c.b, c.c, c.d, c.e, c.f)


def stretches(matrix: Matrix) -> tuple[float, float]:
    """How much a matrix stretches a pen, least and most: its singular values."""
    a, b, c, d = matrix[:4]
    e, f, g, h = (a + d) / 2, (a - d) / 2, (b + c) / 2, (b - c) / 2
    q, r = math.hypot(e, h), math.hypot(f, g)
    return abs(q - r), q + r


def rect_of(r: Any) -> Rect:
    """Plain numbers of a fz_rect."""
    return (r.x0, r.y0, r.x1, r.y1)


def overlap(a: Rect | None, b: Rect | None) -> Rect | None:
    """Where two rectangles overlap; None where they do not.  Zero width is kept: hairlines have boxes too."""
    if a is None or b is None:
        return None
    found = (max(a[0], b[0]), max(a[1], b[1]), min(a[2], b[2]), min(a[3], b[3]))
    return found if found[0] <= found[2] and found[1] <= found[3] else None


def is_bare(font: Any, gid: int) -> bool:
    """Is a glyph of a type 3 font a shape alone (`d1`), painted with the colour of the text (ISO 32000-1, table 113)?"""
    if font.t3flags is None or not 0 <= gid < TYPE3_GLYPHS:
        return False
    # an array of unsigned shorts, which the bindings hand out as a bare pointer
    flags = ctypes.c_ushort.from_address(int(font.t3flags) + ctypes.sizeof(ctypes.c_ushort) * gid)
    return bool(flags.value & mu.FZ_DEVFLAG_MASK)


class PathWalker(mu.FzPathWalker2):
    """Copies a path's segments."""

    def __init__(self) -> None:
        super().__init__()
        for name in ("moveto", "lineto", "curveto", "closepath"):
            getattr(self, "use_virtual_" + name)()
        self.steps: list[str] = []
        self.points: list[float] = []

    def moveto(self, ctx: Any, x: float, y: float) -> None:
        self.steps.append("m")
        self.points += (x, y)

    def lineto(self, ctx: Any, x: float, y: float) -> None:
        self.steps.append("l")
        self.points += (x, y)

    def curveto(self, ctx: Any, a: float, b: float, c: float, d: float, e: float, f: float) -> None:
        self.steps.append("c")
        self.points += (a, b, c, d, e, f)

    def closepath(self, ctx: Any) -> None:
        self.steps.append("h")


def guarded(name: str, call: Callable[..., Any]) -> Callable[..., Any]:
    """A callback that keeps its exception and aborts the run: MuPDF itself would only warn and go on."""

    def callback(self: Any, *given: Any) -> Any:
        if self.error is not None:
            return 0 if name == "begin_tile" else None
        try:
            return call(self, *given)
        except BaseException as error:  # re-raised by `run_page`
            self.error = error
            self.cookie.m_internal.abort = 1
            return 0 if name == "begin_tile" else None

    return callback


CALLBACKS = (
    "fill_path stroke_path clip_path clip_stroke_path fill_text stroke_text clip_text clip_stroke_text ignore_text "
    "fill_shade fill_image fill_image_mask clip_image_mask pop_clip begin_mask end_mask begin_group end_group "
    "begin_tile end_tile begin_layer end_layer set_default_colorspaces"
).split()


class Device(mu.FzDevice2):
    """What both passes share: guarded callbacks and type 3 glyphs replayed as ordinary drawing."""

    def __init__(self, cookie: Any) -> None:
        super().__init__()
        self.cookie = cookie
        self.error: BaseException | None = None
        self.type3_depth = 0
        self.in_bare_glyph = 0
        for name in CALLBACKS:
            if name in type(self).__dict__:
                getattr(self, "use_virtual_" + name)()

    def __init_subclass__(cls) -> None:
        for name in CALLBACKS:
            if name in cls.__dict__:
                setattr(cls, name, guarded(name, cls.__dict__[name]))

    def replay_type3(self, text: Any, ctm: Any) -> bool:
        """Draw the glyphs of a text call whose fonts are type 3 through this device; False when they are not."""
        span = text.head
        if span is None or mu.ll_fz_font_t3_procs(span.font) is None:
            return False
        if self.type3_depth >= DEEPEST_TYPE3:
            return True
        base = matrix_of(ctm)
        self.type3_depth += 1
        try:
            while span is not None:
                t = matrix_of(span.trm)
                items = mu.FzTextSpan(span)
                for i in range(span.len):
                    item = items.items(i)
                    if item.gid >= 0:
                        glyph = times((t[0], t[1], t[2], t[3], item.x, item.y), base)
                        bare = is_bare(span.font, item.gid)
                        self.in_bare_glyph += bare
                        mu.ll_fz_run_t3_glyph(
                            span.font, item.gid, mu.ll_fz_make_matrix(*glyph), self.m_internal
                        )
                        self.in_bare_glyph -= bare
                span = span.next
        finally:
            self.type3_depth -= 1
        return True
