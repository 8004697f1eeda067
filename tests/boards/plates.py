"""Plates drawn from polygons, one PDF page an ink: what the measurements need and nothing else.

The truth of a board never passes through the loaders here; `write` makes files for those.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
import pymupdf

from preflight.artwork import Artwork, Box, Ink, Mark, Path, Pen
from preflight.load.plates import ALL, ListPlates

POINTS = 72 / 25.4
HEXES = ("#1f3a6e", "#c8402e", "#e0b020", "#2e7d4f", "#7a3fa0", "#404040", "#108090", "#a05020")


def ring_path(polygon: object) -> list[np.ndarray]:
    """The rings of a shapely polygon, not closed."""
    return [np.asarray(ring.coords)[:-1] for ring in (polygon.exterior, *polygon.interiors)]


def page_content(
    polygons: Sequence[object], strokes: Sequence[tuple[np.ndarray, float]], height: float
) -> bytes:
    """PDF drawing of polygons (even-odd) and strokes in black, mm from the top left."""
    lines = ["0 g 0 G", f"{POINTS:.8f} 0 0 {-POINTS:.8f} 0 {height * POINTS:.6f} cm"]
    for polygon in polygons:
        for ring in ring_path(polygon):
            lines.append(f"{ring[0][0]:.6f} {ring[0][1]:.6f} m")
            lines += [f"{x:.6f} {y:.6f} l" for x, y in ring[1:]]
            lines.append("h")
        lines.append("f*")
    for points, width in strokes:
        lines.append(f"{width:.6f} w {points[0][0]:.6f} {points[0][1]:.6f} m")
        lines += [f"{x:.6f} {y:.6f} l" for x, y in points[1:]]
        lines.append("S")
    return "\n".join(lines).encode()


def pdf_of_pages(contents: Sequence[bytes], width: float, height: float) -> bytes:
    """A bare PDF with one page a content stream; sizes in mm."""
    objects: list[bytes] = [b"<</Type/Catalog/Pages 2 0 R>>", b""]
    kids = []
    box = f"[0 0 {width * POINTS:.6f} {height * POINTS:.6f}]"
    for content in contents:
        objects.append(b"<</Length %d>>stream\n" % len(content) + content + b"\nendstream")
        objects.append(
            f"<</Type/Page/Parent 2 0 R/MediaBox{box}/Contents {len(objects)} 0 R/Resources<<>>>>".encode()
        )
        kids.append(f"{len(objects)} 0 R")
    objects[1] = f"<</Type/Pages/Count {len(kids)}/Kids[{' '.join(kids)}]>>".encode()
    out, offsets = b"%PDF-1.7\n", []
    parts = [out]
    at = len(out)
    for number, body in enumerate(objects, 1):
        offsets.append(at)
        piece = b"%d 0 obj" % number + body + b"endobj\n"
        parts.append(piece)
        at += len(piece)
    table = b"".join(b"%010d 00000 n \n" % o for o in offsets)
    parts.append(
        b"xref\n0 %d\n0000000000 65535 f \n" % (len(objects) + 1) + table
        + b"trailer<</Size %d/Root 1 0 R>>startxref\n%d\n%%%%EOF" % (len(objects) + 1, at)
    )  # fmt: skip
    return b"".join(parts)


class PolygonPlates:
    """`preflight.artwork.Plates` over one display list an ink, and one for all."""

    def __init__(self, contents: Sequence[bytes], width: float, height: float) -> None:
        self.document = pymupdf.open(
            "pdf", pdf_of_pages([*contents, b"\nQ q\n".join(contents)], width, height)
        )
        self.lists = [page.get_displaylist() for page in self.document]  # kept: the plates borrow from them
        *single, together = [one.this for one in self.lists]
        self.plates = ListPlates(dict(enumerate(single)) | {ALL: together}, together)
        self.pixels = 0

    def coverage(self, ink: int | None, box: Box, pixels_per_mm: float) -> np.ndarray:
        width = max(1, round((box[2] - box[0]) * pixels_per_mm))
        height = max(1, round((box[3] - box[1]) * pixels_per_mm))
        self.pixels += width * height
        return self.plates.coverage(ink, box, pixels_per_mm)

    def picture(self, box: Box, pixels_per_mm: float, ground: tuple[int, int, int]) -> np.ndarray:
        return self.plates.picture(box, pixels_per_mm, ground)


def inks(count: int) -> tuple[Ink, ...]:
    """As many inks, named after the shades of a marsh."""
    names = ("deep blue", "rust red", "reed yellow", "sedge green", "heather", "slate", "tide", "peat")
    return tuple(Ink(i, names[i], "spot", HEXES[i], (40.0, 0.0, 0.0)) for i in range(count))


def artwork(
    width: float, height: float, plates: object, count: int, marks: Sequence[Mark] = (), **more: object
) -> Artwork:
    """An Artwork with these plates."""
    given = dict(
        format="pdf", kind="vector", page=1, pages=1, width_mm=width, height_mm=height, file_width_mm=width,
        file_height_mm=height, ground="#ffffff", inks=inks(count), marks=tuple(marks), text=(), pictures=(), fonts=(),
        fades=(), facts=(), plates=plates,
    )  # fmt: skip
    return Artwork(**(given | more))


def drawn(
    width: float, height: float, polygons: Mapping[int, Sequence[object]],
    strokes: Mapping[int, Sequence[tuple[np.ndarray, float]]] | None = None,
) -> Artwork:  # fmt: skip
    """Art of shapely polygons and of strokes (points, width) by ink number, each a mark as a loader notes them."""
    strokes = strokes or {}
    count = max([*polygons, *strokes, 0]) + 1
    contents = [page_content(polygons.get(i, ()), strokes.get(i, ()), height) for i in range(count)]
    marks = []
    for ink, filled in polygons.items():
        for polygon in filled:
            rings = ring_path(polygon)
            path = Path(
                "".join("m" + "l" * (len(ring) - 1) + "h" for ring in rings), np.concatenate(rings), True
            )
            marks.append(Mark("fill", path.box(), ink, path, None, HEXES[ink], even_odd=True))
    for ink, drawn_strokes in strokes.items():
        for points, pen in drawn_strokes:
            low, high = points.min(0) - pen / 2, points.max(0) + pen / 2
            path = Path("m" + "l" * (len(points) - 1), np.asarray(points, float))
            marks.append(Mark("stroke", (*low, *high), ink, path, Pen(pen, pen), HEXES[ink]))
    return artwork(width, height, PolygonPlates(contents, width, height), count, marks)
