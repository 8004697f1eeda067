"""The line a piece is cut along: found in the file by its name or as the outermost hairline, else derived from the art."""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Literal

import cv2
import numpy as np
from skimage.measure import find_contours

from preflight.artwork import Artwork, Box, Mark, Path
from preflight.measure.cut_shape import contains, thinned
from preflight.measure.rings import perimeter, signed_area

cv2.setNumThreads(1)

#: Strokes this thin in the file, mm, are no printed lines: an outermost closed one is taken for the cut line (0.25 pt,
#: common practice).
HAIRLINE_MM = 0.1
#: Ends this near to each other are meant to meet, mm.
_JOIN_MM = 0.1
#: A cut outline drawn as a thin band (an outlined stroke) is one line, mm.
_BAND_MM = 0.6
#: A sheet that reaches further past its trim box than this, mm, is no sheet made up for trimming.
_SLUG_MM = 40.0
#: So many rings, and points of all of them, are looked at.
_MOST_RINGS, _MOST_POINTS = 400, 12_000
#: Pixels per mm, and pixels at most, of the picture an outline is derived from.
_FINE, _MOST_PIXELS = 20.0, 6_000_000


@dataclass(frozen=True)
class Piece:
    """One piece that is cut out: rings in mm without the first point repeated."""

    outer: np.ndarray
    holes: tuple[np.ndarray, ...] = ()

    @property
    def rings(self) -> tuple[np.ndarray, ...]:
        """The outer ring and its holes."""
        return (self.outer, *self.holes)

    @property
    def box(self) -> Box:
        """The box around it."""
        (x0, y0), (x1, y1) = self.outer.min(0), self.outer.max(0)
        return (float(x0), float(y0), float(x1), float(y1))


@dataclass(frozen=True)
class Cut:
    """The cut of one page of art.

    Attributes:
        pieces: largest first.
        source: "named" in the file, the outermost "hairline", the file's "trim" box, or "art": derived.
        marks: numbers of the marks in `Artwork.marks` that draw it; they are not printed.
        pen_mm: width of the line as it is drawn.
        loose_ends: cut lines that do not close.
        grain_mm: how exactly its place is known; 0 when it is drawn.
    """

    pieces: tuple[Piece, ...] = ()
    source: Literal["named", "hairline", "trim", "art"] = "art"
    marks: frozenset[int] = field(default_factory=frozenset)
    pen_mm: float = 0.0
    loose_ends: tuple[Box, ...] = ()
    grain_mm: float = 0.0

    @property
    def derived(self) -> bool:
        """Nothing in the file says where to cut."""
        return self.source == "art"

    @property
    def printed_mm(self) -> float:
        """Width of a line that is printed although it only shows the cut, as a hairline is."""
        return self.pen_mm if self.source == "hairline" else 0.0

    @property
    def sure(self) -> float:
        """How certain it is that this is the line."""
        return {"named": 1.0, "trim": 0.95, "hairline": 0.8, "art": 0.7}[self.source]


def cut_of(art: Artwork) -> Cut:
    """The cut of the art, derived from it where the file holds none; cached."""
    return art.once("cut", lambda: cut_in_file(art) or _derived(art))


def cut_in_file(art: Artwork) -> Cut | None:
    """The cut the file holds; None where it holds none.  Cached, and cheap where there is none."""
    return art.once("cut in file", lambda: _in_file(art))


def _in_file(art: Artwork) -> Cut | None:
    found = _drawn(art) or _hairline(art)
    if found is None:
        trim = _trim(art)
        found = None if trim is None else Cut((Piece(trim),), "trim")
    return found


def _drawn(art: Artwork) -> Cut | None:
    """The cut lines the file names as such; None where it names none."""
    groups: dict[tuple[str, str], list[int]] = {}
    for number, mark in enumerate(art.marks):
        if mark.role == "cut" and mark.path is not None:
            groups.setdefault((mark.spot.lower(), mark.layer.lower()), []).append(number)
    # A sheet cut through around pieces that are kiss-cut is backing, not the piece.
    kiss = [key for key in groups if "kiss" in key[0] or "kiss" in key[1]]
    rings, loose = _closed(art.marks[n] for key in (kiss or groups) for n in groups[key])
    rings = sorted(rings, key=lambda ring: -abs(signed_area(ring)))[:_MOST_RINGS]
    most = max(300, _MOST_POINTS // max(len(rings), 1))
    rings = [thinned(ring, 0.0002, most) if len(ring) > most else ring for ring in rings]
    if not rings and not loose:
        return None
    every = frozenset(n for numbers in groups.values() for n in numbers)
    pens = [mark.pen.greatest_mm for n in every if (mark := art.marks[n]).pen]
    return Cut(_nested(rings), "named", every, max(pens, default=0.0), loose)


def _closed(marks: Iterable[Mark]) -> tuple[list[np.ndarray], tuple[Box, ...]]:
    """The closed rings of marks, open lines chained where their ends meet, and the boxes of those that stay open."""
    rings: list[np.ndarray] = []
    open_lines: list[np.ndarray] = []
    for mark in marks:
        assert mark.path is not None
        for line, closed in _subpaths(mark.path):
            if closed or mark.kind == "fill" or np.hypot(*(line[0] - line[-1])) <= _JOIN_MM:
                if len(line) > 2 and abs(signed_area(line)) > 0.02:
                    rings.append(line)
            elif len(open_lines) < 2000:
                open_lines.append(line)
    joined, loose = _chained(open_lines)
    return rings + joined, loose


def _subpaths(path: Path) -> list[tuple[np.ndarray, bool]]:
    """Each subpath flattened finely, and whether it closes."""
    found = []
    at = 0
    for steps in re.findall(r"m[^m]*", path.steps):
        count = sum({"m": 1, "l": 1, "c": 3}.get(step, 0) for step in steps)
        points = path.points[at : at + count]
        at += count
        closed = "h" in steps or (len(points) > 2 and bool(np.allclose(points[0], points[-1])))
        for line in Path(steps, points).polygons(0.0002):
            if len(line) > 1 and np.isfinite(line).all():
                found.append((_distinct(line), closed))
    return found


def _distinct(line: np.ndarray) -> np.ndarray:
    keep = np.concatenate([[True], np.hypot(*np.diff(line, axis=0).T) > 1e-7])
    return line[keep] if keep.sum() > 1 else line


def _chained(lines: list[np.ndarray]) -> tuple[list[np.ndarray], tuple[Box, ...]]:
    rings, loose = [], []
    waiting = list(lines)
    while waiting:
        chain = waiting.pop()
        while np.hypot(*(chain[0] - chain[-1])) > _JOIN_MM or len(chain) < 3:
            follow = _following(chain[-1], waiting)
            if follow is None:
                break
            chain = np.vstack([chain, follow[1:]])
        if len(chain) > 2 and np.hypot(*(chain[0] - chain[-1])) <= _JOIN_MM:
            rings.append(chain[:-1])
        else:
            (x0, y0), (x1, y1) = chain.min(0), chain.max(0)
            loose.append((float(x0), float(y0), float(x1), float(y1)))
    return [ring for ring in rings if abs(signed_area(ring)) > 0.02], tuple(loose)


def _following(end: np.ndarray, waiting: list[np.ndarray]) -> np.ndarray | None:
    for i, line in enumerate(waiting):
        if np.hypot(*(line[0] - end)) <= _JOIN_MM:
            return waiting.pop(i)
        if np.hypot(*(line[-1] - end)) <= _JOIN_MM:
            return waiting.pop(i)[::-1]
    return None


def _nested(rings: Sequence[np.ndarray]) -> tuple[Piece, ...]:
    """Rings sorted into pieces and their holes; a ring drawn twice, or as a thin band, counts once."""
    ordered = sorted(rings, key=lambda ring: -abs(signed_area(ring)))
    kept: list[np.ndarray] = []
    for ring in ordered:
        if not any(_same_line(ring, other) for other in kept):
            kept.append(ring)
    outside = [[j for j in range(i) if contains(kept[j], kept[i][:1])[0]] for i in range(len(kept))]
    holes: dict[int, list[np.ndarray]] = {}
    for i, around in enumerate(outside):
        if len(around) % 2:
            holes.setdefault(around[-1], []).append(kept[i])
    return tuple(
        Piece(kept[i], tuple(holes.get(i, ()))) for i, around in enumerate(outside) if len(around) % 2 == 0
    )


def _same_line(inner: np.ndarray, outer: np.ndarray) -> bool:
    """Is the inner ring the other edge of a thin band along the outer one, or the same ring again?"""
    (a0, b0), (a1, b1) = inner.min(0), outer.min(0)
    if max(abs(a0 - a1), abs(b0 - b1), *np.abs(inner.max(0) - outer.max(0))) > _BAND_MM:
        return False
    between = abs(signed_area(outer)) - abs(signed_area(inner))
    return between <= _BAND_MM * 0.5 * (perimeter(inner) + perimeter(outer))


def _hairline(art: Artwork) -> Cut | None:
    """The outermost closed hairline: it spans most of the art, and nothing lies wholly outside of it."""
    best: tuple[float, int, np.ndarray] | None = None
    for number, mark in enumerate(art.marks):
        thin = (
            mark.kind == "stroke"
            and mark.pen
            and mark.pen.least_mm <= HAIRLINE_MM * art.scale
            and not mark.pen.dash_mm
        )
        if not thin or mark.path is None:
            continue
        size = (mark.box[2] - mark.box[0]) * (mark.box[3] - mark.box[1])
        if size < 0.5 * art.width_mm * art.height_mm or len(mark.path.steps) > 20_000:
            continue
        for ring, closed in _subpaths(mark.path):
            area = abs(signed_area(ring)) if closed and len(ring) > 2 else 0.0
            if area > 0.4 * size and (best is None or area > best[0]):
                best = (area, number, ring)
    if best is None:
        return None
    _, number, ring = best
    others = [m.box for i, m in enumerate(art.marks) if i != number and (m.ink is not None or m.path is None)]
    middles = np.array([((b[0] + b[2]) / 2, (b[1] + b[3]) / 2) for b in others[:5000]])
    if not len(middles) or not contains(ring, middles).all():
        return None
    pen = art.marks[number].pen
    return Cut((Piece(ring),), "hairline", frozenset([number]), pen.greatest_mm if pen else 0.0)


def _trim(art: Artwork) -> np.ndarray | None:
    """The file's trim box as a ring, where the sheet goes on around it for bleed and marks."""
    if art.trim is None or art.kind == "bitmap":
        return None
    x0, y0, x1, y1 = art.trim
    if x1 - x0 < 1 or y1 - y0 < 1:
        return None
    sheet = art.page_box
    rims = (x0 - sheet[0], y0 - sheet[1], sheet[2] - x1, sheet[3] - y1)
    if not (min(rims) > 0.5 and max(rims) < _SLUG_MM):
        return None
    return np.array([[x0, y0], [x1, y0], [x1, y1], [x0, y1]], float)


def _derived(art: Artwork) -> Cut:
    """The outer outline of all that is printed, offset by nothing; holes are kept for widths of cut film."""
    if art.width_mm <= 0 or art.height_mm <= 0:
        return Cut()
    scale = min(_FINE, (_MOST_PIXELS / (art.width_mm * art.height_mm)) ** 0.5)
    if art.plate_ppi:
        scale = min(scale, max(art.plate_ppi / 25.4, 4.0))
    rim = 2 / scale
    box = (-rim, -rim, art.width_mm + rim, art.height_mm + rim)
    covered = art.coverage(None, box, scale)
    if covered.size == 0 or not (covered >= 128).any():
        return Cut(grain_mm=1 / scale)
    if art.composite:
        covered = cv2.GaussianBlur(covered, (0, 0), 1.0)
    rings = []
    for contour in find_contours(
        cv2.copyMakeBorder(covered, 1, 1, 1, 1, cv2.BORDER_CONSTANT, value=0), 127.5
    ):
        ring = (contour[:-1, ::-1] - 0.5) / scale - rim
        if len(ring) > 3 and abs(signed_area(ring)) > max(0.02, 4 / scale**2):
            rings.append(_distinct(ring))
    return Cut(_nested_pixels(rings), "art", grain_mm=1 / scale)


def _nested_pixels(rings: list[np.ndarray]) -> tuple[Piece, ...]:
    """Contours of coverage: those around ink are pieces, those around bare ground inside one are its holes."""
    # scikit-image walks with the higher values to one side, so outer rings and holes turn opposite ways.
    outer = [r for r in rings if signed_area(r) > 0]
    inner = [r for r in rings if signed_area(r) < 0]
    if outer and inner and max(map(abs, map(signed_area, inner))) > max(map(signed_area, outer)):
        outer, inner = inner, outer
    elif not outer:
        outer, inner = inner, []
    if not outer:
        return ()
    outer.sort(key=lambda r: -abs(signed_area(r)))
    low, high = np.array([r.min(0) for r in outer]), np.array([r.max(0) for r in outer])
    holes: dict[int, list[np.ndarray]] = {}
    for ring in inner[:2000]:
        around = np.flatnonzero((ring[0] > low).all(1) & (ring[0] < high).all(1))
        # The smallest of those around it holds it.
        owner = next((i for i in around[::-1] if contains(outer[i], ring[:1])[0]), None)
        if owner is not None:
            holes.setdefault(int(owner), []).append(ring)
    return tuple(Piece(ring, tuple(holes.get(i, ()))) for i, ring in enumerate(outer))
