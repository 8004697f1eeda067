"""Artwork built from shapely polygons: plates of known geometry, without any loader.

Every shape is given in mm of the art.  Plates are drawn 4 x 4 oversampled, in drawing order, knock-outs cut, by
OpenCV; nothing of the code under test takes part.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from typing import Any, Literal

import cv2
import numpy as np
import shapely
from shapely.geometry import LineString, MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from preflight.artwork import Artwork, Box, Ink, Mark, Path, Pen, Picture
from preflight.colour import lab_of, rgb_of

_OVER = 4


@dataclass(frozen=True)
class Shape:
    """A filled shapely geometry (or a stroked line, with `pen_mm`) in an ink; `ink` None has the colour of the ground."""

    geometry: BaseGeometry
    ink: int | None = 0
    pen_mm: float | None = None
    kind: Literal["fill", "stroke", "glyph"] = "fill"
    layer: str = ""
    run: int | None = None
    overprint: bool = False

    @property
    def area(self) -> BaseGeometry:
        if self.pen_mm is None:
            return self.geometry
        return self.geometry.buffer(max(self.pen_mm, 0.01) / 2, join_style="mitre")

    @property
    def path(self) -> Path:
        return path_of(self.geometry)


def path_of(geometry: BaseGeometry) -> Path:
    """The outline of a shapely geometry as an artwork path of straight steps."""
    steps, points = "", []
    for part in getattr(geometry, "geoms", [geometry]):
        rings = [part.exterior, *part.interiors] if isinstance(part, Polygon) else [part]
        for ring in rings:
            coords = np.asarray(ring.coords)
            closed = len(coords) > 2 and np.allclose(coords[0], coords[-1])
            coords = coords[:-1] if closed else coords
            steps += "m" + "l" * (len(coords) - 1) + ("h" if closed else "")
            points.append(coords)
    return Path(steps, np.vstack(points) if points else np.zeros((0, 2)), even_odd=True)


@dataclass
class ShapePlates:
    """`artwork.Plates` over shapes."""

    shapes: Sequence[Shape]
    inks: Sequence[Ink]
    calls: list[tuple[Any, ...]] = field(default_factory=list)

    def coverage(self, ink: int | None, box: Box, pixels_per_mm: float) -> np.ndarray:
        self.calls.append((ink, box, pixels_per_mm))
        columns = round((box[2] - box[0]) * pixels_per_mm)
        rows = round((box[3] - box[1]) * pixels_per_mm)
        if columns < 1 or rows < 1:
            return np.zeros((max(rows, 0), max(columns, 0)), np.uint8)
        plate = np.zeros((rows * _OVER, columns * _OVER), np.uint8)
        for shape in self.shapes:
            on = shape.ink is not None if ink is None else shape.ink == ink
            if shape.overprint and not on:
                continue
            _draw(plate, shape.area, box, pixels_per_mm * _OVER, 255 if on else 0)
        return cv2.resize(plate, (columns, rows), interpolation=cv2.INTER_AREA)

    def picture(self, box: Box, pixels_per_mm: float, ground: tuple[int, int, int]) -> np.ndarray:
        columns = round((box[2] - box[0]) * pixels_per_mm)
        rows = round((box[3] - box[1]) * pixels_per_mm)
        image = np.empty((rows * _OVER, columns * _OVER, 3), np.uint8)
        image[:] = ground
        for shape in self.shapes:
            rgb = ground if shape.ink is None else rgb_of(self.inks[shape.ink].hex)
            for channel in range(3):
                plane = np.ascontiguousarray(image[:, :, channel])
                _draw(plane, shape.area, box, pixels_per_mm * _OVER, rgb[channel])
                image[:, :, channel] = plane
        return cv2.resize(image, (columns, rows), interpolation=cv2.INTER_AREA)


def _draw(plate: np.ndarray, geometry: BaseGeometry, box: Box, scale: float, value: int) -> None:
    for part in getattr(geometry, "geoms", [geometry]):
        if not isinstance(part, Polygon) or part.is_empty:
            continue
        rings = []
        for ring in [part.exterior, *part.interiors]:
            pixels = (np.asarray(ring.coords) - (box[0], box[1])) * scale - 0.5
            rings.append(np.round(pixels * 256).astype(np.int32))
        cv2.fillPoly(plate, rings, value, lineType=cv2.LINE_8, shift=8)


def ink(number: int, hex: str = "#1d2b4f", name: str = "", kind: str = "spot", **more: Any) -> Ink:
    return Ink(number, name or f"ink {number}", kind, hex, lab_of(hex), **more)  # type: ignore[arg-type]


_HEXES = ("#1d2b4f", "#c8102e", "#f2b632", "#1f8a4c", "#7a3b8f", "#111111")


def shape_art(
    shapes: Iterable[Shape | BaseGeometry],
    size: tuple[float, float] | None = None,
    inks: Sequence[Ink] | None = None,
    **more: Any,
) -> Artwork:
    """An Artwork of shapes; `size` defaults to the right and bottom ends of what is drawn."""
    drawn = [s if isinstance(s, Shape) else Shape(s) for s in shapes]
    if inks is None:
        count = 1 + max((s.ink for s in drawn if s.ink is not None), default=-1)
        inks = tuple(ink(i, _HEXES[i % len(_HEXES)]) for i in range(count))
    if size is None:
        ends = [s.area.bounds for s in drawn if not s.area.is_empty] or [(0, 0, 0, 0)]
        size = (max(e[2] for e in ends), max(e[3] for e in ends))
    marks = tuple(
        Mark(
            kind="stroke" if s.pen_mm is not None else s.kind,
            box=tuple(map(float, s.area.bounds)),  # type: ignore[arg-type]
            ink=s.ink,
            path=s.path,
            pen=None if s.pen_mm is None else Pen(s.pen_mm, s.pen_mm),
            hex=inks[s.ink].hex if s.ink is not None else "",
            run=s.run,
            overprint=s.overprint,
            layer=s.layer,
        )
        for s in drawn
    )
    facts: dict[str, Any] = {
        "format": "pdf", "kind": "vector", "page": 1, "pages": 1,
        "width_mm": float(size[0]), "height_mm": float(size[1]),
        "file_width_mm": float(size[0]), "file_height_mm": float(size[1]),
        "ground": "#ffffff", "inks": tuple(inks), "marks": marks, "text": (), "pictures": (), "fonts": (),
        "fades": (), "facts": (), "plates": ShapePlates(drawn, inks), "page_box": (0.0, 0.0, *map(float, size)),
    }  # fmt: skip
    return Artwork(**{**facts, **more})


def bitmap_art(
    shapes: Iterable[Shape | BaseGeometry], size: tuple[float, float], ppi: float = 300, **more: Any
) -> Artwork:
    """The same as a bitmap: one picture mark, plates sampled at its resolution."""
    art = shape_art(shapes, size, **more)
    pixels = (max(1, round(size[0] / 25.4 * ppi)), max(1, round(size[1] / 25.4 * ppi)))
    box = (0.0, 0.0, float(size[0]), float(size[1]))
    picture = Picture(pixels=pixels, box=box, ppi=(ppi, ppi), space="RGB")
    return replace(
        art, format="png", kind="bitmap", composite=True, plate_ppi=ppi, pictures=(picture,),
        marks=(Mark(kind="picture", box=box),), plates=PixelPlates(art.plates, art.inks, size, pixels), cache={},
    )  # fmt: skip


@dataclass
class PixelPlates:
    """Plates that hold no more detail than a bitmap of so many pixels."""

    exact: Any
    inks: Sequence[Ink]
    size: tuple[float, float]
    pixels: tuple[int, int]

    def _sampled(self, full: np.ndarray, box: Box, pixels_per_mm: float) -> np.ndarray:
        columns = round((box[2] - box[0]) * pixels_per_mm)
        rows = round((box[3] - box[1]) * pixels_per_mm)
        kx, ky = self.pixels[0] / self.size[0], self.pixels[1] / self.size[1]
        xs = np.floor((box[0] + (np.arange(columns) + 0.5) / pixels_per_mm) * kx).astype(int)
        ys = np.floor((box[1] + (np.arange(rows) + 0.5) / pixels_per_mm) * ky).astype(int)
        inside = (xs >= 0) & (xs < full.shape[1]), (ys >= 0) & (ys < full.shape[0])
        out = full[np.clip(ys, 0, full.shape[0] - 1)][:, np.clip(xs, 0, full.shape[1] - 1)].copy()
        return out, inside  # type: ignore[return-value]

    def coverage(self, ink: int | None, box: Box, pixels_per_mm: float) -> np.ndarray:
        full = self.exact.coverage(ink, (0, 0, *self.size), self.pixels[0] / self.size[0])
        out, (across, down) = self._sampled(full, box, pixels_per_mm)
        out[:, ~across] = 0
        out[~down] = 0
        return out

    def picture(self, box: Box, pixels_per_mm: float, ground: tuple[int, int, int]) -> np.ndarray:
        full = self.exact.picture((0, 0, *self.size), self.pixels[0] / self.size[0], ground)
        out, (across, down) = self._sampled(full, box, pixels_per_mm)
        out[:, ~across] = ground
        out[~down] = ground
        return out


def blank_art(width: float = 50.0, height: float = 30.0, **more: Any) -> Artwork:
    """A page with nothing on it."""
    return shape_art([], (width, height), **more)


def rounded(x: float, y: float, width: float, height: float, radius: float) -> Polygon:
    """A rectangle with round corners, arcs flattened within a micrometre or so."""
    inner = shapely.box(x + radius, y + radius, x + width - radius, y + height - radius)
    return inner.buffer(radius, quad_segs=256) if radius else shapely.box(x, y, x + width, y + height)


def circle(x: float, y: float, radius: float) -> Polygon:
    """A disc."""
    return shapely.Point(x, y).buffer(radius, quad_segs=256)


def line(*points: tuple[float, float]) -> LineString:
    """A line through points."""
    return LineString(points)


def joined(*parts: BaseGeometry) -> Polygon | MultiPolygon:
    """The union."""
    return shapely.unary_union(parts)
