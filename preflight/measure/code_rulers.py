"""Measuring codes: the module, the quiet zone and the two colours of a QR code or a bar code."""

from collections.abc import Callable
from dataclasses import dataclass, replace

import cv2
import numpy as np

from preflight import colour
from preflight.artwork import Artwork, Box

cv2.setNumThreads(1)

#: Modules beyond a symbol that are looked at for its quiet zone.
LOOK = 6
#: Pixels a module in the straightened picture.
FINE = 6
#: A pixel belongs to the quiet zone up to half way from the light colour to the dark: an edge is where it is.
CLEAR = 0.5
#: Quiet zones that bar codes ask for, left and right, in modules: ISO/IEC 15420 for retail codes; 10 for others, as
#: ISO/IEC 15417 (Code 128) and 16388 (Code 39) do.  All from memory: the standards were not at hand.
BAR_QUIET = {"EAN13": (11, 7), "EAN8": (7, 7), "UPCA": (9, 9), "UPCE": (9, 7)}


#: Codes whose wide bars are 2 to 3 times the narrow ones, not whole multiples.
TWO_WIDTHS = frozenset({"Code39", "Code39Std", "Code39Ext", "Code32", "ITF", "ITF14", "Codabar"})
#: Pixels of one straightened picture at most.
MOST_PIXELS = 6e6


@dataclass(frozen=True)
class Row:
    """A row of bars in mm: its middle, the unit vector along it in reading direction, half its length, half its height."""

    centre: np.ndarray
    across: np.ndarray
    half_row: float
    half_bar: float

    def drawn(
        self, draw: Callable[[Box, float], np.ndarray], step: float, margin: float, rows: int
    ) -> np.ndarray:
        """The middle of the row upright: `step` mm a pixel along it, `margin` mm more at both ends, `rows` pixels high."""
        along = np.array([-self.across[1], self.across[0]])
        start = self.centre - self.across * (self.half_row + margin) - along * self.half_bar * 0.4
        down = along * (self.half_bar * 0.8 / rows)
        columns = int(2 * (self.half_row + margin) / step)
        return straightened(draw, start, self.across * step, down, columns, rows, pixels=1)

    def turned(self) -> "Row":
        """The row read from its other end."""
        return Row(self.centre, -self.across, self.half_row, self.half_bar)

    def box(self) -> Box:
        """The box of its bars."""
        along = np.array([-self.across[1], self.across[0]])
        right, down = self.across * self.half_row, along * self.half_bar
        ends = np.array([self.centre + right * u + down * v for u in (-1, 1) for v in (-1, 1)])
        low, high = ends.min(0), ends.max(0)
        return (float(low[0]), float(low[1]), float(high[0]), float(high[1]))


@dataclass(frozen=True, slots=True)
class Measured:
    """What a ruler says of one code.

    Attributes:
        module: width of a square or of the narrowest bar, mm.
        quiet: clear margin at its narrowest: modules for a QR code, % of what is asked for a bar code.
        dark, light: its two colours, "#rrggbb"; `inverse` when it stands light on dark.
        change: share of neighbouring squares inside a QR code that differ: about one half in every real one, since
            the data are masked for it (ISO/IEC 18004:2015, 7.8, from memory); 0.5 for bar codes.
    """

    module: float
    quiet: float
    dark: str
    light: str
    inverse: bool
    change: float = 0.5

    @property
    def contrast(self) -> float:
        """WCAG ratio of its colours."""
        return colour.contrast(self.dark, self.light)

    @property
    def red_contrast(self) -> float:
        """What the two throw back of red light differs by this much, % of white: the symbol contrast of ISO/IEC 15416.

        That is measured at 660 nm; the red of sRGB stands in for it here.
        """
        dark, light = (
            float(colour.linear(np.array(colour.rgb_of(shade)[0] / 255.0)))
            for shade in (self.dark, self.light)
        )
        return 100 * abs(light - dark)


def square_code(art: Artwork, centres: np.ndarray, modules: int) -> Measured:
    """Measure a QR code of `modules` x `modules`.

    Args:
        art: the art it is in.
        centres: (3, 2) mm: centre of the finder pattern at the right angle, of that to its right, of that below.
        modules: 21, 25 ... 177.
    """
    right, down = ((centres[i] - centres[0]) / (modules - 7) for i in (1, 2))  # one module, mm
    module = float(np.hypot(*right) + np.hypot(*down)) / 2
    start = centres[0] - 3.5 * (right + down)
    span = modules + 2 * LOOK
    picture = straightened(art.picture, start - LOOK * (right + down), right, down, span, span)
    picture = picture.astype(np.float32)

    def cells(u: int, v: int) -> np.ndarray:
        row, column = (LOOK + v) * FINE, (LOOK + u) * FINE
        return picture[row + 2 : row + FINE - 2, column + 2 : column + FINE - 2].reshape(-1, 3)

    far = modules - 7
    origins = [(0, 0), (far, 0), (0, far)]
    # The ring of a finder pattern is printed as the data are, the ring inside it as the quiet zone is.
    on = np.vstack([cells(u + i, v + j) for u, v in origins for i, j in ((3, 0), (0, 3), (6, 3), (3, 6))])
    off = np.vstack([cells(u + i, v + j) for u, v in origins for i, j in ((3, 1), (1, 3), (5, 3), (3, 5))])
    mark, paper = np.median(on, 0), np.median(off, 0)
    disturbed = _disturbed(picture, mark, paper)
    rows, columns = np.nonzero(disturbed)
    inner, outer = LOOK * FINE, (LOOK + modules) * FINE
    # Distance outward of each disturbed pixel, in modules; half a pixel of the symbol's own soft edge is
    # let go.
    away = np.maximum.reduce(
        [inner - 1 - rows, rows - outer, inner - 1 - columns, columns - outer, np.zeros_like(rows)]
    )
    outside = (rows < inner) | (rows >= outer) | (columns < inner) | (columns >= outer)
    beyond = away[outside & (away >= 2)]
    quiet = float(beyond.min()) / FINE if len(beyond) else float(LOOK)
    return replace(_measured(module, quiet, mark, paper), change=_change(picture, mark, paper, modules))


def _change(picture: np.ndarray, mark: np.ndarray, paper: np.ndarray, modules: int) -> float:
    centre = slice(LOOK * FINE + FINE // 2, (LOOK + modules) * FINE, FINE)
    cells = picture[centre, centre]
    on = np.linalg.norm(cells - mark, axis=2) < np.linalg.norm(cells - paper, axis=2)
    own = np.ones((modules, modules), bool)  # all but the finder patterns
    own[:8, :8] = own[-8:, :8] = own[:8, -8:] = False
    down, across = own[1:] & own[:-1], own[:, 1:] & own[:, :-1]
    return float(np.concatenate([(on[1:] != on[:-1])[down], (on[:, 1:] != on[:, :-1])[across]]).mean())


def bar_code(art: Artwork, row: Row, kind: str) -> Measured | None:
    """Measure a bar code that reads along its row; `kind` is its symbology as `BAR_QUIET` names it."""
    # About a module: no code is narrower than 20 modules or wider than 400; refined on the bars themselves.
    module = row.half_row / 100
    for _ in range(2):
        step, look = module / 8, 14 * module
        if 2 * (row.half_row + look) / step > 40_000:
            return None
        picture = row.drawn(art.picture, step, look, 24).astype(np.float32)
        profile = np.median(picture, 0)
        level, mark, paper = _levels(profile, int(look / step), int(1.5 * module / step))
        edges = _crossings(level) * step - look - row.half_row
        edges = edges[np.abs(edges) <= row.half_row + 1.5 * module]
        if len(edges) < 8:
            return None
        module = _bar_module(np.diff(edges), kind)
    clear = np.abs(level) < CLEAR
    first, last = (int((edge + look + row.half_row) / step) for edge in (edges[0], edges[-1]))
    # The two pixels next to a bar are its own soft edge.
    left = (_run(clear[: max(first - 2, 0)][::-1]) + 2) * step / module
    right = (_run(clear[last + 3 :]) + 2) * step / module
    need = BAR_QUIET.get(kind, (10, 10))
    quiet = min(left / need[0], right / need[1]) * 100
    return _measured(module, min(quiet, 100.0), mark, paper)


def _levels(profile: np.ndarray, start: int, near: int) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """The profile (n, 3) as 0 on paper to 1 on bars, and the two colours; the first bar starts about `start`."""
    paper = np.median(profile[max(start - near, 0) : max(start - 2, 1)], 0)
    middle = profile[start : len(profile) - start]
    far = np.linalg.norm(middle - paper, axis=1)
    mark = np.median(middle[far >= np.percentile(far, 75)], 0)
    axis = (mark - paper) / max(float(((mark - paper) ** 2).sum()), 1e-9)
    return (profile - paper) @ axis, mark, paper


def _bar_module(widths: np.ndarray, kind: str) -> float:
    """The module of a row of bars and spaces: all are whole multiples of it, but for codes of two widths."""
    narrow = float(np.median(widths[widths <= 1.5 * np.percentile(widths, 5)]))
    if kind in TWO_WIDTHS:
        return float(widths[widths <= 1.5 * narrow].mean())
    return float(widths.sum() / np.maximum(np.rint(widths / narrow), 1).sum())


def _measured(module: float, quiet: float, mark: np.ndarray, paper: np.ndarray) -> Measured:
    marked, bare = colour.hex_of(mark), colour.hex_of(paper)
    inverse = colour.luminance(marked) > colour.luminance(bare)
    return Measured(module, quiet, bare if inverse else marked, marked if inverse else bare, inverse)


def straightened(
    draw: Callable[[Box, float], np.ndarray],
    start: np.ndarray,
    right: np.ndarray,
    down: np.ndarray,
    columns: int,
    rows: int,
    pixels: int = FINE,
) -> np.ndarray:
    """A picture of a turned window.

    Args:
        draw: draws an upright window (box in mm, pixels a mm) as uint8.
        start: the window's corner, mm.
        right: one cell along it, mm; `down` likewise.
        down: see `right`.
        columns: its cells; `rows` likewise.
        rows: see `columns`.
        pixels: of the result in one cell.
    """
    whole = np.array(
        [start, start + right * columns, start + down * rows, start + right * columns + down * rows]
    )
    low, high = whole.min(0), whole.max(0)
    cell = min(np.hypot(*right), np.hypot(*down))
    scale = min(1.5 * pixels / cell, (MOST_PIXELS / max(float(np.prod(high - low)), 1e-9)) ** 0.5)
    picture = draw((float(low[0]), float(low[1]), float(high[0]), float(high[1])), scale)
    # Pixel (i, j) of the result lies at start + right * (i + .5) / pixels + down * (j + .5) / pixels.
    shift = (
        np.column_stack([right / pixels, down / pixels, start + (right + down) / 2 / pixels - low]) * scale
    )
    shift[:, 2] -= 0.5
    return cv2.warpAffine(
        picture, shift, (columns * pixels, rows * pixels), flags=cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP,
        borderMode=cv2.BORDER_REPLICATE,
    )  # fmt: skip


def _disturbed(picture: np.ndarray, mark: np.ndarray, paper: np.ndarray) -> np.ndarray:
    """What is not the light colour (the dark one where the code is inverse); single pixels are let go."""
    far = np.linalg.norm(picture - paper, axis=2) > CLEAR * max(float(np.linalg.norm(mark - paper)), 12.0)
    # An opening by 2 x 2 pixels, with anchors that leave its edges where they are.
    square = np.ones((2, 2), np.uint8)
    core = cv2.erode(far.astype(np.uint8), square, anchor=(0, 0))
    return cv2.dilate(core, square, anchor=(1, 1)) > 0


def _crossings(level: np.ndarray) -> np.ndarray:
    """Where a profile crosses one half, in pixels from its start, between samples."""
    above = level >= 0.5
    at = np.flatnonzero(above[1:] != above[:-1])
    return at + 0.5 + (0.5 - level[at]) / (level[at + 1] - level[at])


def _run(clear: np.ndarray) -> int:
    """How many leading values are true."""
    stop = np.flatnonzero(~clear)
    return int(stop[0]) if len(stop) else len(clear)
