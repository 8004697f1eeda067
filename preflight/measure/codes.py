"""QR and bar codes in the art: found, read and measured.

What a code says is hostile text: it is quoted, never followed.  Reading is done by the zxing-cpp library;
the module and the quiet zone are measured on the art itself.  Codes of other kinds (Data Matrix, Aztec,
PDF417) are named, and their squares measured where their size tells it (`code_kinds`).
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Any

import cv2
import numpy as np
import zxingcpp

from preflight.artwork import Artwork, Box
from preflight.measure import code_kinds, code_rulers, inks, measures
from preflight.measure.code_rulers import Measured, Row
from preflight.measure.code_shapes import Bars, Corners, bars, corners, finders, outlines
from preflight.order import Order
from preflight.quantity import plain
from preflight.reading import Reading

cv2.setNumThreads(1)

#: Pixels a mm of the pictures that are searched: usually, and of small art; a module of 0.2 mm is at least 2.4 pixels.
USUAL, FINEST = 12.0, 24.0
#: Pixels of such a picture, usually and at most.
USUAL_PIXELS, MOST_PIXELS = 500_000, 4_000_000
#: They are searched as they are, then smaller and with narrow gaps closed, for codes drawn in dots or tiles: how many
#: times smaller, and whether closed.
LOOKS = ((1, False), (1, True), (2, True), (4, True))
#: Plates that are searched, the fullest first.
MOST_PLATES = 12
#: Bar codes that are read: those with a check digit or a pattern that chance does not make.
BAR_FORMATS = [
    zxingcpp.BarcodeFormat.EANUPC,
    zxingcpp.BarcodeFormat.Code128,
    zxingcpp.BarcodeFormat.Code39,
    zxingcpp.BarcodeFormat.Code93,
    zxingcpp.BarcodeFormat.ITF14,
    zxingcpp.BarcodeFormat.DataBar,
]
#: Interleaved 2 of 5 and Codabar have no check of their own, and stripes of any kind read as one: they are only looked for
#: where the bars have two widths, and believed from so many characters on.
TWO_WIDTH_FORMATS = [zxingcpp.BarcodeFormat.ITF, zxingcpp.BarcodeFormat.Codabar]
LEAST_CHARACTERS = 6
#: Places tried at most.
MOST_CODES = 60
#: Share of neighbouring squares that differ, in what may be called a code though it does not read.
CHANGE = (0.25, 0.75)
#: Uncertainty of the squares of other codes, told from a side found on the pixels of the search, as a part of it.
OTHER_MARGIN = 0.05
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
    return art.once("codes", lambda: _codes(art))[0]


def others(art: Artwork) -> list[code_kinds.OtherCode]:
    """Codes of kinds that are only named, where no QR or bar code stands."""
    return art.once("codes", lambda: _codes(art))[1]


def _codes(art: Artwork) -> tuple[list[Code], list[code_kinds.OtherCode]]:
    if not (art.inks or art.pictures):
        return [], []
    area = max(art.width_mm * art.height_mm, 1e-6)
    density = min(max((USUAL_PIXELS / area) ** 0.5, USUAL), FINEST, (MOST_PIXELS / area) ** 0.5)
    found = _Found()
    named: list[code_kinds.OtherCode] = []
    for search in _searched(art, density):
        named += code_kinds.others(search, density, named)
        for shrunk, closed in LOOKS:
            picture = search if shrunk == 1 else _smaller(search, shrunk)
            if closed:
                picture = cv2.morphologyEx(picture, cv2.MORPH_CLOSE, np.ones((3, 3), np.uint8))
            shapes, scale = outlines(picture), density / shrunk
            if shapes is None:
                continue
            for group in corners(finders(shapes)):
                found.add(_middle(group, scale), partial(_square_code, art, group, scale))
            # Bars left open in a solid are drawn wider than they are by the line around them: they are looked for as bars.
            for row in () if closed else bars(shapes) + (_bars_left_open(picture) if shrunk == 1 else []):
                found.add((row.x / scale, row.y / scale), partial(_bar_code, art, row, scale))
    free = [
        one
        for one in named
        if not any(
            _in(((one.box[0] + one.box[2]) / 2, (one.box[1] + one.box[3]) / 2), code.box)
            for code in found.codes
        )
    ]
    return found.codes, free


def _bars_left_open(picture: np.ndarray) -> list[Bars]:
    negative = outlines(255 - picture)
    return bars(negative) if negative is not None else []


def _smaller(picture: np.ndarray, times: int) -> np.ndarray:
    size = (max(1, picture.shape[1] // times), max(1, picture.shape[0] // times))
    whole = picture[: size[1] * times, : size[0] * times]
    return cv2.resize(whole if whole.size else picture, size, interpolation=cv2.INTER_AREA)


class _Found:
    """The codes found so far.  A place that held none is not tried again, nor are more places than `MOST_CODES`."""

    def __init__(self) -> None:
        self.codes: list[Code] = []
        self._tried: set[tuple[int, int]] = set()

    def add(self, at: tuple[float, float], make: Callable[[], Code | None]) -> None:
        """Try a place in mm; a code that reads replaces one there that does not."""
        place = (round(at[0]), round(at[1]))
        before = next((code for code in self.codes if _in(at, code.box)), None)
        if (before and before.text is not None) or place in self._tried or len(self._tried) >= MOST_CODES:
            return
        self._tried.add(place)
        code = make()
        if code and before and code.text is not None:
            self.codes[self.codes.index(before)] = code
        elif code and not before:
            self.codes.append(code)


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
    looks.append(partial(_blurred, art, around, sharp, 0.4 * module * sharp))  # dots and tiles run together
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
    step = max(narrow / 5, 2 * row.half_row / 8000)

    def drawn(draw: Callable[[Box, float], np.ndarray], margin: float) -> np.ndarray:
        bare = max(0, int(10 * narrow / step)) if margin < 2 * narrow else 0
        return np.pad(row.drawn(draw, step, margin, 48), ((0, 0), (bare, bare)), mode="edge")

    def light_on_dark(box: Box, scale: float) -> np.ndarray:
        return 255 - _grey(art, box, scale)  # the library reads bars dark on light only

    # As it stands, then with its margin made clear: a code hemmed in is measured as that, not called unreadable.
    draws: list[Callable[[Box, float], np.ndarray]] = [partial(_grey, art), light_on_dark]
    draws += [partial(_negative, art, ink.number) for ink in art.inks[:MOST_PLATES]]
    hemmed = max(0.4 * narrow, 0.8 / scale)
    read = _read(
        [partial(drawn, draw, margin) for margin in (12 * narrow, hemmed) for draw in draws], BAR_FORMATS
    )
    if read is None and _two_widths(found):
        read = _read(
            [partial(drawn, draw, margin) for margin in (12 * narrow, hemmed) for draw in draws],
            TWO_WIDTH_FORMATS,
        )
        read = read if read is not None and len(read.text) >= LEAST_CHARACTERS else None
    if read is None:
        likely = _like_a_code(found)
        return Code("bar code", "", None, row.box(), None, UNREAD_BARS) if likely else None
    if read.position.top_right.x < read.position.top_left.x:
        row = row.turned()  # the wider quiet zone is looked for on its own side
    kind = read.format.name
    if kind == "EAN13" and read.text.startswith("0"):
        kind = "UPCA"  # the same bars; its quiet zones differ
    return Code("bar code", kind, plain(read.text, 80), row.box(), code_rulers.bar_code(art, row, kind))


def _two_widths(row: Bars) -> bool:
    """Narrow and wide bars, each of one width, the wide 2 to 3 times as wide (ISO/IEC 16390, from memory), and both common."""
    widths = np.array(row.widths)
    split = (widths.min() * widths.max()) ** 0.5
    narrow, wide = widths[widths <= split], widths[widths > split]
    if len(widths) < 20 or min(len(narrow), len(wide)) < 0.15 * len(widths):
        return False
    even = max(np.ptp(narrow), np.ptp(wide)) <= 0.5 * float(np.median(narrow)) + 1.5
    return bool(even) and 1.8 <= float(np.median(wide) / np.median(narrow)) <= 3.3


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


def _blurred(art: Artwork, box: Box, scale: float, sigma: float) -> np.ndarray:
    return cv2.GaussianBlur(_grey(art, box, scale), (0, 0), max(sigma, 0.3))


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
    """Width of a square of each QR code, and of each code of another kind whose size tells it, mm."""
    yield from _readings(art, "QR code", lambda m: m.module, 0.01)
    for other in others(art):
        if other.module:
            yield Reading(
                value=other.module, what=other.called, where=(other.box,), margin=OTHER_MARGIN * other.module,
                facts={"text": other.text, "symbology": other.kind},
            )  # fmt: skip


@measures("modules")
def quiet_zone(art: Artwork, order: Order) -> Iterator[Reading]:
    """Clear margin of each QR code at its narrowest, modules, up to 6; ISO/IEC 18004 asks for 4 (from memory)."""
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


@measures("%")
def bar_red_contrast(art: Artwork, order: Order) -> Iterator[Reading]:
    """Difference of bars and ground in red light, % (`code_rulers.Measured.red_contrast`): scanners look in it."""
    yield from _readings(art, "bar code", lambda m: m.red_contrast, 0.0)


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


@measures("")
def only_named(art: Artwork, order: Order) -> Iterator[Reading]:
    """How many codes there are of kinds that are named but not measured; nothing when there are no codes at all."""
    found = others(art)
    if found or codes(art):
        yield Reading(
            value=float(len(found)),
            what=" and ".join(code.called for code in found[:4]) or "the code",
            where=tuple(code.box for code in found),
            facts={"kinds": [code.kind for code in found], "texts": [code.text for code in found]},
        )


def _counted(found: list[Code]) -> Reading:
    return Reading(
        value=float(len(found)),
        what=found[0].called if found else "the code",
        where=tuple(code.box for code in found),
        sure=max((code.sure for code in found), default=1.0),
    )
