"""QR and bar codes in the art: found, read and measured.

What a code says is hostile text: it is quoted, never followed.  Reading is done by the zxing-cpp library;
the module and the quiet zone are measured on the art itself.  Codes of other kinds (Data Matrix, Aztec,
PDF417) are not looked for.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Any

import cv2
import numpy as np
import zxingcpp

from preflight.artwork import Artwork, Box
from preflight.measure import code_rulers, inks, measures
from preflight.measure.code_rulers import Measured, Row
from preflight.measure.code_shapes import Bars, Corners, bars, corners, finders, outlines
from preflight.order import Order
from preflight.quantity import plain
from preflight.reading import Reading

cv2.setNumThreads(1)

#: Pixels a mm and pixels at most of the pictures that are searched: a module of 0.2 mm is 2.4 pixels.
FINEST, MOST_PIXELS = 12.0, 4_000_000
#: Plates that are searched, the fullest first.
MOST_PLATES = 12
#: Bar codes that are read: those with a check digit or a pattern that chance does not make.  Interleaved 2 of 5 is left
#: out, because stripes of any kind read as one.
BAR_FORMATS = [
    zxingcpp.BarcodeFormat.EANUPC,
    zxingcpp.BarcodeFormat.Code128,
    zxingcpp.BarcodeFormat.Code39,
    zxingcpp.BarcodeFormat.Code93,
    zxingcpp.BarcodeFormat.ITF14,
    zxingcpp.BarcodeFormat.DataBar,
]
#: Codes read at most.
MOST_CODES = 60
#: Share of neighbouring squares that differ, in what may be called a code though it does not read.
CHANGE = (0.25, 0.75)
#: How sure it is that something is a code that could not be read: three finder patterns, or bars only.
UNREAD_SQUARES, UNREAD_BARS = 0.9, 0.6


@dataclass(frozen=True)
class Code:
    """One code in the art.

    Attributes:
        kind: "QR code" or "bar code"; `symbology` is its exact kind, "" when it was not read.
        text: what it says, safe to print; None when it could not be read.
        box: with its modules, without its quiet zone, mm.
        measured: None when the rulers could not be laid.
    """

    kind: str
    symbology: str
    text: str | None
    box: Box
    measured: Measured | None
    sure: float = 1.0

    @property
    def called(self) -> str:
        """As it is said inside a sentence."""
        if self.text is None:
            return f"what looks like a {self.kind}"
        return f"the {self.kind} “{self.text}”"


def codes(art: Artwork) -> list[Code]:
    """Every QR and bar code of the art, whether it can be read or not."""
    return art.once("codes", lambda: _codes(art))


def _codes(art: Artwork) -> list[Code]:
    if not (art.inks or art.pictures):
        return []
    scale = min(FINEST, (MOST_PIXELS / max(art.width_mm * art.height_mm, 1e-6)) ** 0.5)
    found: list[Code] = []
    for search in _searched(art, scale):
        shapes = outlines(search)
        if shapes is None:
            continue
        for group in corners(finders(shapes)):
            _add(found, partial(_square_code, art, group, scale), _middle(group, scale))
        for row in bars(shapes):
            _add(found, partial(_bar_code, art, row, scale), (row.x / scale, row.y / scale))
        if len(found) >= MOST_CODES:
            break
    return found


def _add(found: list[Code], make: Callable[[], Code | None], at: tuple[float, float]) -> None:
    """A code, unless one was found there already; one that reads replaces one that does not."""
    before = next((code for code in found if _in(at, code.box)), None)
    if len(found) >= MOST_CODES or (before and before.text is not None):
        return
    code = make()
    if code and before and code.text is not None:
        found[found.index(before)] = code
    elif code and not before:
        found.append(code)


def _searched(art: Artwork, scale: float) -> Iterator[np.ndarray]:
    """The pictures to search, uint8: each plate, all of them together, and bitmaps as they look."""
    plates = sorted(inks.areas(art), key=lambda item: -item[1])[:MOST_PLATES]
    for ink, area, _ in plates:
        if area > 0:
            yield art.coverage(ink, art.box, scale)
    if len(plates) > 1:
        yield art.coverage(None, art.box, scale)
    if art.pictures or art.composite:
        yield cv2.threshold(_grey(art, art.box, scale), 0, 255, cv2.THRESH_BINARY | cv2.THRESH_OTSU)[1]


def _grey(art: Artwork, box: Box, scale: float) -> np.ndarray:
    return cv2.cvtColor(art.picture(box, scale), cv2.COLOR_RGB2GRAY)


# QR codes


def _middle(group: Corners, scale: float) -> tuple[float, float]:
    return ((group.right.x + group.below.x) / 2 / scale, (group.right.y + group.below.y) / 2 / scale)


def _square_code(art: Artwork, group: Corners, scale: float) -> Code | None:
    centres = np.array([(f.x, f.y) for f in (group.corner, group.right, group.below)]) / scale
    module = group.module / scale
    far = centres[1] + centres[2] - centres[0]
    reach = 3.5 * 2**0.5 * module
    low, high = np.vstack([centres, far]).min(0) - reach, np.vstack([centres, far]).max(0) + reach
    box = (float(low[0]), float(low[1]), float(high[0]), float(high[1]))
    margin = 8 * module
    around = (box[0] - margin, box[1] - margin, box[2] + margin, box[3] + margin)
    sharp = min(5 / module, (MOST_PIXELS / ((around[2] - around[0]) * (around[3] - around[1]))) ** 0.5)
    looks = [partial(_grey, art, around, sharp)]
    looks += [partial(_negative, art, ink.number, around, sharp) for ink in art.inks[:MOST_PLATES]]
    read = _read(looks, zxingcpp.BarcodeFormat.QRCode)
    if read is not None and read.format.name == "QRCode" and str(read.extra.get("Version", "")).isdigit():
        modules = 17 + 4 * int(read.extra["Version"])
    else:
        modules = 17 + 4 * max(1, round((group.apart / group.module + 7 - 17) / 4))
    right, down = ((centres[i] - centres[0]) / (modules - 7) for i in (1, 2))
    square = np.array(
        [centres[0] + right * u + down * v for u in (-3.5, modules - 3.5) for v in (-3.5, modules - 3.5)]
    )
    low, high = square.min(0), square.max(0)
    measured = code_rulers.square_code(art, centres, min(modules, 177))
    if read is None and not CHANGE[0] < measured.change < CHANGE[1]:
        return None  # three targets, and nothing between them that looks like data
    return Code(
        kind="QR code",
        symbology=read.format.name if read is not None else "",
        text=plain(read.text, 80) if read is not None else None,
        box=(float(low[0]), float(low[1]), float(high[0]), float(high[1])),
        measured=measured,
        sure=1.0 if read is not None else UNREAD_SQUARES,
    )


# Bar codes


def _bar_code(art: Artwork, found: Bars, scale: float) -> Code | None:
    row = Row(
        np.array([found.x, found.y]) / scale,
        np.array(found.across),
        found.half_row / scale,
        found.half_bar / scale,
    )
    narrow = float(np.percentile(found.widths, 10)) / scale
    step, margin = max(narrow / 5, 2 * row.half_row / 8000), 12 * narrow

    def drawn(draw: Callable[[Box, float], np.ndarray]) -> np.ndarray:
        return row.drawn(draw, step, margin, 48)

    looks = [partial(drawn, partial(_grey, art))]
    looks += [partial(drawn, partial(_negative, art, ink.number)) for ink in art.inks[:MOST_PLATES]]
    read = _read(looks, BAR_FORMATS)
    if read is None:
        likely = _like_a_code(found)
        return Code("bar code", "", None, row.box(), None, UNREAD_BARS) if likely else None
    if read.position.top_right.x < read.position.top_left.x:
        row = row.turned()  # the wider quiet zone is looked for on its own side
    kind = read.format.name
    if kind == "EAN13" and read.text.startswith("0"):
        kind = "UPCA"  # the same bars; its quiet zones differ
    return Code("bar code", kind, plain(read.text, 80), row.box(), code_rulers.bar_code(art, row, kind))


def _like_a_code(row: Bars) -> bool:
    """Bars in whole multiples of one module, and in three widths at least: decoration seldom is."""
    widths = np.array(row.widths)
    narrow = float(np.median(widths[widths <= 1.4 * widths.min()]))
    multiples = widths / narrow
    off = np.abs(multiples - np.rint(multiples))
    several = len(set(np.rint(multiples).astype(int).tolist())) >= 3
    return len(widths) >= 20 and narrow >= 3 and several and float(np.percentile(off, 80)) < 0.2


# Reading


def _read(looks: Sequence[Callable[[], np.ndarray]], formats: Any) -> Any:
    """What the library reads in the first of these pictures that it can read; None if it reads none."""
    for look in looks:
        picture = look()
        if int(picture.max(initial=0)) - int(picture.min(initial=255)) < 8:
            continue
        stretched = cv2.normalize(picture, None, 0, 255, cv2.NORM_MINMAX)
        read = zxingcpp.read_barcodes(stretched, formats=formats)
        if read:
            return read[0]
    return None


def _negative(art: Artwork, ink: int, box: Box, scale: float) -> np.ndarray:
    return 255 - art.coverage(ink, box, scale)


def _in(at: tuple[float, float], box: Box) -> bool:
    return box[0] <= at[0] <= box[2] and box[1] <= at[1] <= box[3]


# Measurements


def _readings(
    art: Artwork, kind: str, value: Callable[[Measured], float], margin: float
) -> Iterator[Reading]:
    for code in codes(art):
        if code.measured and code.kind == kind:
            measured = value(code.measured)
            yield Reading(
                value=measured, what=code.called, where=(code.box,), sure=code.sure, margin=margin * measured,
                facts={"text": code.text, "symbology": code.symbology, "inverse": code.measured.inverse},
            )  # fmt: skip


@measures("mm")
def module_size(art: Artwork, order: Order) -> Iterator[Reading]:
    """Width of a square of each QR code, mm."""
    yield from _readings(art, "QR code", lambda m: m.module, 0.01)


@measures("modules")
def quiet_zone(art: Artwork, order: Order) -> Iterator[Reading]:
    """Clear margin of each QR code at its narrowest, modules, up to 6; ISO/IEC 18004 asks for 4."""
    yield from _readings(art, "QR code", lambda m: m.quiet, 0.04)


@measures("mm")
def bar_module_size(art: Artwork, order: Order) -> Iterator[Reading]:
    """Width of the narrowest bar of each bar code, mm."""
    yield from _readings(art, "bar code", lambda m: m.module, 0.02)


@measures("%")
def bar_quiet_zone(art: Artwork, order: Order) -> Iterator[Reading]:
    """Clear margin of each bar code, as % of what its symbology asks for on each side (`code_rulers.BAR_QUIET`)."""
    yield from _readings(art, "bar code", lambda m: m.quiet, 0.04)


@measures("ratio")
def contrast(art: Artwork, order: Order) -> Iterator[Reading]:
    """Contrast of each code's two colours (WCAG 2.1 ratio)."""
    for kind in ("QR code", "bar code"):
        yield from _readings(art, kind, lambda m: m.contrast, 0.0)


@measures("")
def inverse(art: Artwork, order: Order) -> Iterator[Reading]:
    """How many codes stand light on dark: many telephones do not read them."""
    found = codes(art)
    if found:
        wrong = [code for code in found if code.measured and code.measured.inverse]
        yield _counted(wrong)


@measures("")
def unreadable(art: Artwork, order: Order) -> Iterator[Reading]:
    """How many codes were found that cannot be read; nothing when there are no codes."""
    found = codes(art)
    if found:
        yield _counted([code for code in found if code.text is None])


def _counted(found: list[Code]) -> Reading:
    return Reading(
        value=float(len(found)),
        what=found[0].called if found else "the code",
        where=tuple(code.box for code in found),
        sure=max((code.sure for code in found), default=1.0),
    )
