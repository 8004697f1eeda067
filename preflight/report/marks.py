"""Numbered marks on a picture: where labels go, and how outlines, leaders and labels are drawn.

Severities differ in three ways at once, so that no reader depends on colour: the outline (solid square corners, dashed
round corners, dotted), the label's shape (square, disc, pennant) and the colour (vermilion, blue, grey: a pair that
stays apart in every common form of colour blindness; Okabe and Ito 2008, "Color Universal Design").
"""

import functools
import io
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import pymupdf_fonts
from PIL import Image, ImageDraw, ImageFont

from preflight.artwork import Box, union
from preflight.findings import Severity

#: Colours of outline and label; also used by the HTML and PDF reports.
SHADES = {Severity.MUST: "#b33c00", Severity.QUERY: "#0a5a9c", Severity.NOTE: "#4c5256"}
CASING = "#ffffff"
#: Drawn this much larger, then reduced: smooth edges.
OVER = 2
LABEL = 58  # px, height of a label
CLEAR = 3  # px kept free around a label
_ROW = 76  # px, the breadth of a row of places that one outline may go around
_CELL = 4  # px of one cell of the map of what is taken
_POINT = tuple[float, float]


@dataclass(frozen=True)
class Mark:
    """One place on a picture, px.

    Attributes:
        number: of its finding.
        severity: of its finding.
        outline: the drawn outline; the place lies inside and untouched.
        label: centre of its label; None when it carries none (only the worst places of a finding do).
        tied: the label stands beside that of a neighbouring mark and shares its leader.
    """

    number: int
    severity: Severity
    outline: Box
    label: _POINT | None = None
    tied: bool = False


@functools.lru_cache(maxsize=16)
def font(pixels: int) -> ImageFont.FreeTypeFont:
    """The face of all lettering on pictures: one that ships with the program."""
    return ImageFont.truetype(io.BytesIO(pymupdf_fonts.myfont("figbo")), pixels)


def outlines(
    places: Sequence[tuple[int, Severity, Box]], size: tuple[int, int], least: float = 20
) -> list[Mark]:
    """Outlines around places (px), in the order given: grown outward, joined where those of one finding meet, nested where
    those of different findings would coincide.

    Args:
        places: number, severity and box.
        size: width and height of the canvas.
        least: smallest side of an outline; the place stays in its middle.
    """
    found: list[Mark] = []
    for number in dict.fromkeys(place[0] for place in places):
        mine = [(severity, _grown(box, least)) for n, severity, box in places if n == number]
        for box in _joined([box for _, box in mine]):
            found.append(Mark(number, mine[0][0], _nested(box, [m.outline for m in found], size)))
    return found


def _grown(box: Box, least: float) -> Box:
    x, y = (box[0] + box[2]) / 2, (box[1] + box[3]) / 2
    w, h = max((box[2] - box[0]) / 2 + 7, least / 2), max((box[3] - box[1]) / 2 + 7, least / 2)
    return (x - w, y - h, x + w, y + h)


def _joined(boxes: list[Box]) -> list[Box]:
    """Boxes that meet become one where that one is not much larger than they are; the first keeps its place."""
    done: list[Box] = []
    for box in boxes:
        at = len(done)
        while (hit := next((i for i, other in enumerate(done) if _joins(box, other)), None)) is not None:
            at = min(at, hit)
            box = union([box, done.pop(hit)])
        done.insert(at, box)
    return done


def _joins(a: Box, b: Box) -> bool:
    """They overlap and little else lies between them, or they stand in one row or knot, as the letters of a line do."""
    both = union([a, b])
    row = min(both[2] - both[0], both[3] - both[1]) <= _ROW and _overlap(a, b, 16)
    return row or (_overlap(a, b) and _area(both) <= 1.8 * (_area(a) + _area(b)))


def _area(box: Box) -> float:
    return (box[2] - box[0]) * (box[3] - box[1])


def _overlap(a: Box, b: Box, clear: float = 0) -> bool:
    return a[0] < b[2] + clear and b[0] < a[2] + clear and a[1] < b[3] + clear and b[1] < a[3] + clear


def _nested(box: Box, others: Sequence[Box], size: tuple[int, int]) -> Box:
    """The box, enlarged until none of its edges runs along one of an outline of about the same place."""
    for _ in range(8):
        if not any(sum(abs(a - b) < 6 for a, b in zip(box, other, strict=True)) >= 3 for other in others):
            break
        box = (box[0] - 8, box[1] - 8, box[2] + 8, box[3] + 8)
    return (max(3, box[0]), max(3, box[1]), min(size[0] - 3, box[2]), min(size[1] - 3, box[3]))


class _Taken:
    """What is taken on the canvas, in cells: outlines, small places, labels (never covered) and art (rather not)."""

    def __init__(self, marks: Sequence[Mark], art: np.ndarray) -> None:
        height, width = art.shape
        self.rows, self.columns = math.ceil(height / _CELL), math.ceil(width / _CELL)
        full: np.ndarray = np.zeros((self.rows * _CELL, self.columns * _CELL), bool)
        full[:height, :width] = art
        self.art: np.ndarray = np.asarray(full.reshape(self.rows, _CELL, self.columns, _CELL).any((1, 3)))
        self.held: np.ndarray = np.zeros_like(self.art)
        for mark in marks:
            x0, y0, x1, y1 = self._cells(mark.outline, 2)
            if (x1 - x0) * (
                y1 - y0
            ) < 0.12 * self.rows * self.columns:  # a small place: nothing may lie on it
                self.held[y0:y1, x0:x1] = True
            for rows, columns in ((slice(y0, y0 + 3), slice(x0, x1)), (slice(y1 - 3, y1), slice(x0, x1)),
                                  (slice(y0, y1), slice(x0, x0 + 3)), (slice(y0, y1), slice(x1 - 3, x1))):  # fmt: skip
                self.held[rows, columns] = True
        self._sum()

    def _sum(self) -> None:
        self.held_sum = np.pad(self.held.cumsum(0).cumsum(1), ((1, 0), (1, 0)))
        self.art_sum = np.pad(self.art.cumsum(0).cumsum(1), ((1, 0), (1, 0)))

    def _cells(self, box: Box, pad: float = 0) -> tuple[int, int, int, int]:
        x0, y0 = int((box[0] - pad) // _CELL), int((box[1] - pad) // _CELL)
        x1, y1 = math.ceil((box[2] + pad) / _CELL), math.ceil((box[3] + pad) / _CELL)
        return max(0, x0), max(0, y0), min(self.columns, x1), min(self.rows, y1)

    def under(self, box: Box) -> tuple[int, float]:
        """Taken cells under a box, and the part of it that art fills."""
        x0, y0, x1, y1 = self._cells(box)
        area = max(1, (x1 - x0) * (y1 - y0))
        held, art = (s[y1, x1] - s[y0, x1] - s[y1, x0] + s[y0, x0] for s in (self.held_sum, self.art_sum))
        return int(held), float(art) / area

    def along(self, start: _POINT, end: _POINT) -> tuple[int, int]:
        """Taken cells and cells of art under a line, its ends left out."""
        t = np.linspace(0.08, 0.92, max(4, int(math.dist(start, end) / _CELL)))
        x = ((start[0] + (end[0] - start[0]) * t) // _CELL).astype(int).clip(0, self.columns - 1)
        y = ((start[1] + (end[1] - start[1]) * t) // _CELL).astype(int).clip(0, self.rows - 1)
        return int(self.held[y, x].sum()), int(self.art[y, x].sum())

    def holds(self, box: Box) -> bool:
        """Is the box wholly on the canvas?"""
        return (
            box[0] >= 2
            and box[1] >= 2
            and box[2] <= self.columns * _CELL - 4
            and box[3] <= self.rows * _CELL - 4
        )

    def hold(self, box: Box) -> None:
        x0, y0, x1, y1 = self._cells(box, CLEAR)
        self.held[y0:y1, x0:x1] = True
        self._sum()


def labelled(marks: Sequence[Mark], art: np.ndarray, frame: Box, most: int = 26, each: int = 3) -> list[Mark]:
    """The marks, the worst `each` of every finding with a place for its label, `most` in all.

    A label goes near its outline, never on another label, outline or marked place, rather on bare ground than on art,
    and not across the edge of the art.

    Args:
        marks: outlines, worst first.
        art: bool (rows, columns), where the canvas shows art.
        frame: the art's bounds on the canvas, px.
        most: labels in all.
        each: labels a finding.
    """
    taken = _Taken(marks, art)
    leaders: list[tuple[_POINT, _POINT]] = []
    placed = list(marks)
    turns: dict[int, list[int]] = {}
    for index, mark in enumerate(marks):
        turns.setdefault(mark.number, []).append(index)
    rounds = [group[turn] for turn in range(each) for group in turns.values() if turn < len(group)]
    firsts = {group[0] for group in turns.values()}
    for index in rounds[:most]:
        mark = marks[index]
        free = [
            (_cost(at, mark, taken, leaders, frame), at, False) for at in _candidates(mark.outline, art.shape)
        ]
        beside = [(_cost_beside(at, mark, taken, frame), at, True) for at in _beside(mark, placed)]
        cost, at, tied = min(free + beside, default=(math.inf, (0.0, 0.0), False))
        if cost > (1e9 if index in firsts else 320):
            continue
        placed[index] = Mark(mark.number, mark.severity, mark.outline, at, tied)
        taken.hold(_around(at))
        if not tied:
            leaders.append((at, nearest(mark.outline, at)))
    return placed


def _beside(mark: Mark, placed: Sequence[Mark]) -> Iterator[_POINT]:
    """Centres that touch the label of a mark whose outline meets this one's."""
    step = LABEL + 2 * CLEAR
    for other in placed:
        if other.label and other.number != mark.number and _overlap(other.outline, mark.outline, 10):
            x, y = other.label
            yield from ((x + step, y), (x - step, y), (x, y + step), (x, y - step))


def _cost_beside(at: _POINT, mark: Mark, taken: _Taken, frame: Box) -> float:
    held, art = taken.under(_around(at))
    if held or not taken.holds(_around(at)):
        return math.inf
    away = math.dist(at, nearest(mark.outline, at))
    return 90 + 0.7 * away + 500 * art + (160 if _across(_around(at), frame) else 0)


def _across(box: Box, frame: Box) -> bool:
    """Does it lie across the edge of the art?"""
    inside = frame[0] <= box[0] and box[2] <= frame[2] and frame[1] <= box[1] and box[3] <= frame[3]
    return _overlap(box, frame) and not inside


def _around(at: _POINT) -> Box:
    return (at[0] - LABEL / 2, at[1] - LABEL / 2, at[0] + LABEL / 2, at[1] + LABEL / 2)


def _candidates(outline: Box, shape: tuple[int, ...]) -> Iterator[_POINT]:
    """Centres around an outline, near ones first, then along the four edges of the canvas."""
    height, width = shape[:2]
    half = LABEL / 2 + 6
    for away in (14, 34, 60, 95, 140, 200, 280, 380, 520):
        x0, y0, x1, y1 = (outline[0] - away - half, outline[1] - away - half,
                          outline[2] + away + half, outline[3] + away + half)  # fmt: skip
        for part in (0.5, 0.25, 0.75, 0.0, 1.0):
            x, y = x0 + (x1 - x0) * part, y0 + (y1 - y0) * part
            yield from ((x, y0), (x, y1), (x0, y), (x1, y))
    for x in np.arange(half, width - half + 1, LABEL / 2 + CLEAR):
        yield from ((float(x), half), (float(x), height - half))
    for y in np.arange(half, height - half + 1, LABEL / 2 + CLEAR):
        yield from ((half, float(y)), (width - half, float(y)))


def _cost(at: _POINT, mark: Mark, taken: _Taken, leaders: list[tuple[_POINT, _POINT]], frame: Box) -> float:
    box = _around(at)
    if not taken.holds(box):
        return math.inf
    held, art = taken.under(box)
    if held:
        return math.inf
    end = nearest(mark.outline, at)
    crossed, over = taken.along(at, end)
    crossings = sum(_cross((at, end), other) for other in leaders)
    return (
        math.dist(at, end)
        + 500 * art
        + 30 * crossed
        + 3 * over
        + 260 * crossings
        + (160 if _across(box, frame) else 0)
    )


def nearest(box: Box, at: _POINT) -> _POINT:
    """The point of a box's edge nearest to a point; of one inside, straight to the nearest side."""
    x, y = min(max(at[0], box[0]), box[2]), min(max(at[1], box[1]), box[3])
    if (x, y) != at:
        return (x, y)
    gaps = (at[0] - box[0], box[2] - at[0], at[1] - box[1], box[3] - at[1])
    side = gaps.index(min(gaps))
    return ((box[0], y), (box[2], y), (x, box[1]), (x, box[3]))[side]


def _cross(a: tuple[_POINT, _POINT], b: tuple[_POINT, _POINT]) -> bool:
    def side(p: _POINT, q: _POINT, r: _POINT) -> float:
        return (q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0])

    return (side(*a, b[0]) > 0) != (side(*a, b[1]) > 0) and (side(*b, a[0]) > 0) != (side(*b, a[1]) > 0)


def draw(canvas: Image.Image, marks: Sequence[Mark]) -> Image.Image:
    """The canvas (RGB) with the marks on it: leaders below, then outlines, then labels; the least severe first."""
    layer = Image.new("RGBA", (canvas.width * OVER, canvas.height * OVER), (255, 255, 255, 0))
    pen = ImageDraw.Draw(layer)
    order = sorted(marks, key=lambda mark: -list(Severity).index(mark.severity))
    for mark in order:
        if mark.label and not mark.tied:
            path = [mark.label, nearest(mark.outline, mark.label)]
            _line(pen, path, CASING, 6)
            _line(pen, path, SHADES[mark.severity], 2.5)
    for mark in order:
        outline(pen, mark.outline, mark.severity)
    for mark in order:
        if mark.label:
            label(pen, mark.label, mark.number, mark.severity)
    layer = layer.reduce(OVER)
    done = canvas.convert("RGB")
    done.paste(layer, (0, 0), layer)
    return done


def outline(pen: ImageDraw.ImageDraw, box: Box, severity: Severity, width: float = 3) -> None:
    """One outline, with a white casing so that it shows on any art."""
    path = _rectangle(
        box, 0 if severity is Severity.MUST else min(14.0, (box[2] - box[0]) / 3, (box[3] - box[1]) / 3)
    )
    _line(pen, path, CASING, width + 3)
    if severity is Severity.MUST:
        _line(pen, path, SHADES[severity], width)
        return
    on, off = (13, 7) if severity is Severity.QUERY else (1.5, 6.5)
    for dash in _dashes(path, on, off):
        _line(pen, dash, SHADES[severity], width if severity is Severity.QUERY else width + 1)


def _rectangle(box: Box, radius: float) -> list[_POINT]:
    x0, y0, x1, y1 = box
    if radius <= 0:
        return [(x0, y0), (x1, y0), (x1, y1), (x0, y1), (x0, y0)]
    points: list[_POINT] = []
    for cx, cy, begin in ((x1, y0, -90), (x1, y1, 0), (x0, y1, 90), (x0, y0, 180)):
        mx = cx - radius if cx == x1 else cx + radius
        my = cy - radius if cy == y1 else cy + radius
        points += [
            (mx + radius * math.cos(math.radians(begin + a)), my + radius * math.sin(math.radians(begin + a)))
            for a in range(0, 91, 15)
        ]
    return [*points, points[0]]


def _dashes(path: list[_POINT], on: float, off: float) -> Iterator[list[_POINT]]:
    """Stretches of a path, `on` long and `off` apart, fitted so that the last gap closes it."""
    lengths = [math.dist(a, b) for a, b in zip(path, path[1:], strict=False)]
    at = np.concatenate([[0.0], np.cumsum(lengths)])
    number = max(1, round(at[-1] / (on + off)))
    stretch = at[-1] / (number * (on + off))
    x, y = np.array(path).T
    for index in range(number):
        begin = index * (on + off) * stretch
        stops = [begin, *at[(at > begin) & (at < begin + on * stretch)], begin + on * stretch]
        yield list(zip(np.interp(stops, at, x).tolist(), np.interp(stops, at, y).tolist(), strict=True))


def _line(pen: ImageDraw.ImageDraw, path: Sequence[_POINT], shade: str, width: float) -> None:
    """A line with round ends and joints."""
    scaled = [(x * OVER, y * OVER) for x, y in path]
    thick = max(1, round(width * OVER))
    pen.line(scaled, fill=shade, width=thick, joint="curve")
    for x, y in (scaled[0], scaled[-1]):
        pen.ellipse((x - thick / 2, y - thick / 2, x + thick / 2 - 1, y + thick / 2 - 1), fill=shade)


def label(
    pen: ImageDraw.ImageDraw, at: _POINT, number: int, severity: Severity, height: float = LABEL
) -> None:
    """A numbered label: a square, a disc, or a pennant."""
    x, y, r = at[0] * OVER, at[1] * OVER, height / 2 * OVER
    shade, edge = SHADES[severity], 3 * OVER
    if severity is Severity.MUST:
        pen.rectangle((x - r, y - r, x + r, y + r), fill=CASING)
        pen.rectangle((x - r + edge, y - r + edge, x + r - edge, y + r - edge), fill=shade)
    elif severity is Severity.QUERY:
        pen.ellipse((x - r, y - r, x + r, y + r), fill=CASING)
        pen.ellipse((x - r + edge, y - r + edge, x + r - edge, y + r - edge), fill=shade)
    else:
        for inset, fill in ((0.0, CASING), (1.5 * OVER, shade), (5.0 * OVER, CASING)):
            k = r - inset
            pen.polygon(
                [(x - k, y - k), (x + k, y - k), (x + k, y + 0.45 * k), (x, y + k), (x - k, y + 0.45 * k)],
                fill=fill,
            )
    text = str(number)
    size = round(height * (0.6 if len(text) < 2 else 0.5 if len(text) < 3 else 0.36)) * OVER
    rise = 0.12 * r if severity is Severity.NOTE else 0.0
    pen.text(
        (x, y - rise), text, font=font(size), fill=shade if severity is Severity.NOTE else CASING, anchor="mm"
    )
