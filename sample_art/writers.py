"""Files of every format from one drawing: PDF, SVG, EPS and pixels."""

from __future__ import annotations

import gzip
import io
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import pikepdf
from pikepdf import Array, Dictionary, Name
from PIL import Image, ImageDraw
from shapes import Shape

PT = 72 / 25.4  # points in a mm


@dataclass(frozen=True)
class Ink:
    """A colour with the name it goes by; `cmyk` is the stand-in of a spot colour."""

    name: str
    rgb: tuple[int, int, int]
    cmyk: tuple[float, float, float, float]

    @property
    def hex(self) -> str:
        return "#{:02x}{:02x}{:02x}".format(*self.rgb)


@dataclass
class Drawing:
    """Painted shapes on a sheet, in mm from its top left."""

    width: float
    height: float
    layers: list[tuple[Shape, Ink]] = field(default_factory=list)

    def add(self, shape: Shape, ink: Ink) -> Drawing:
        self.layers.append((shape, ink))
        return self


def _n(value: float) -> str:
    return f"{value:.3f}".rstrip("0").rstrip(".") or "0"


def _p(point: tuple[float, float]) -> str:
    return f"{_n(point[0])} {_n(point[1])}"


# ------------------------------------------------------------------------------------------------ PDF


def separation(pdf: pikepdf.Pdf, ink: Ink) -> Any:
    function = Dictionary(FunctionType=2, Domain=[0, 1], C0=[0, 0, 0, 0], C1=list(ink.cmyk), N=1)
    return pdf.make_indirect(Array([Name.Separation, Name("/" + ink.name), Name.DeviceCMYK, function]))


def operators(shape: Shape) -> str:
    """Path operators, without the painting one."""
    out = []
    for start, segments in shape.contours:
        out.append(f"{_p(start)} m")
        out += [f"{_p(g[0])} l" if len(g) == 1 else f"{_p(g[0])} {_p(g[1])} {_p(g[2])} c" for g in segments]
        out.append("h")
    return "\n".join(out)


def pdf(drawing: Drawing, *, spot: bool = True, extra: Callable[[pikepdf.Pdf, Any], str] | None = None,
        before: str = "", title: str = "Saltmarsh Kite Fair") -> bytes:  # fmt: skip
    """A one-page PDF 1.6; `extra(pdf, page)` may add objects and gives content to go on top, in mm, y downwards."""
    out = pikepdf.new()
    page = out.add_blank_page(page_size=(round(drawing.width * PT, 4), round(drawing.height * PT, 4)))
    spaces, names, content = Dictionary(), {}, [before]
    for shape, ink in drawing.layers:
        if spot and ink.name not in names:
            names[ink.name] = f"Ink{len(names) + 1}"
            spaces[f"/{names[ink.name]}"] = separation(out, ink)
        colour = f"/{names[ink.name]} cs 1 scn" if spot else " ".join(_n(c / 255) for c in ink.rgb) + " rg"
        content.append(f"{colour}\n{operators(shape)}\nf*")
    page.obj.Resources = Dictionary(ColorSpace=spaces)
    if extra:
        content.append(extra(out, page))
    head = f"q {PT:.6f} 0 0 {-PT:.6f} 0 {drawing.height * PT:.4f} cm\n"
    page.obj.Contents = out.make_stream((head + "\n".join(content) + "\nQ").encode("latin-1"))
    out.docinfo["/Title"] = title
    stream = io.BytesIO()
    out.save(
        stream,
        deterministic_id=True,
        compress_streams=True,
        object_stream_mode=pikepdf.ObjectStreamMode.disable,
    )
    return stream.getvalue()


# ------------------------------------------------------------------------------------------------ SVG and EPS


def d(shape: Shape) -> str:
    out = []
    for start, segments in shape.contours:
        out.append(f"M{_p(start)}")
        out += [f"L{_p(g[0])}" if len(g) == 1 else f"C{_p(g[0])} {_p(g[1])} {_p(g[2])}" for g in segments]
        out.append("Z")
    return "".join(out)


def svg(drawing: Drawing, title: str = "Saltmarsh Kite Fair", extra: str = "") -> bytes:
    paths = "\n".join(
        f'  <path id="{ink.name.lower().replace(" ", "-")}-{i}" fill="{ink.hex}" fill-rule="evenodd" d="{d(shape)}"/>'
        for i, (shape, ink) in enumerate(drawing.layers, 1)
    )
    w, h = _n(drawing.width), _n(drawing.height)
    return (
        f'<?xml version="1.0" encoding="UTF-8"?>\n<svg xmlns="http://www.w3.org/2000/svg" width="{w}mm" height="{h}mm" '
        f'viewBox="0 0 {w} {h}">\n  <title>{title}</title>\n{paths}\n{extra}</svg>\n'
    ).encode()


def svgz(drawing: Drawing) -> bytes:
    return gzip.compress(svg(drawing), mtime=0)


def eps(drawing: Drawing, title: str) -> bytes:
    """Level 2 PostScript as a person would write it: one procedure a letter, paths, even-odd fills."""
    w, h = drawing.width * PT, drawing.height * PT
    lines = [
        "%!PS-Adobe-3.0 EPSF-3.0",
        f"%%BoundingBox: 0 0 {int(np.ceil(w))} {int(np.ceil(h))}",
        f"%%HiResBoundingBox: 0 0 {w:.3f} {h:.3f}",
        f"%%Title: ({title})",
        "%%LanguageLevel: 2",
        "%%EndComments",
        "/m {moveto} bind def /l {lineto} bind def /c {curveto} bind def /h {closepath} bind def",
        "gsave",
        f"0 {h:.3f} translate {PT:.6f} {-PT:.6f} scale   % millimetres, downwards",
    ]
    for shape, ink in drawing.layers:
        lines.append(f"[/Separation ({ink.name}) /DeviceCMYK")
        lines.append(
            "  {"
            + " ".join(
                f"{'dup ' if i < 3 else ''}{c:g} mul{' exch' if i < 3 else ''}"
                for i, c in enumerate(ink.cmyk)
            )
            + "}]"
        )
        lines += ["setcolorspace 1 setcolor newpath", operators(shape), "eofill"]
    return "\n".join([*lines, "grestore", "showpage", "%%EOF", ""]).encode("ascii")


# ------------------------------------------------------------------------------------------------ pixels


def coverage(shape: Shape, width: int, height: int, per_mm: float, fine: int = 4) -> np.ndarray:
    """How much of each pixel the shape covers, 0 to 1: `fine` x `fine` samples averaged."""
    out = np.zeros((height, width))
    rings = [ring * per_mm for ring in shape.rings(16)]
    low = np.floor(np.min([r.min(axis=0) for r in rings], axis=0)).astype(int)
    high = np.ceil(np.max([r.max(axis=0) for r in rings], axis=0)).astype(int)
    (x0, y0), (x1, y1) = np.clip(low, 0, None), np.minimum(high, (width, height))
    if x1 <= x0 or y1 <= y0:
        return out
    total = np.zeros(((y1 - y0) * fine, (x1 - x0) * fine), bool)
    for ring in rings:
        mask = Image.new("1", total.shape[::-1])
        ImageDraw.Draw(mask).polygon([tuple(q) for q in (ring - (x0, y0)) * fine - 0.5], fill=1)
        total ^= np.asarray(mask)
    out[y0:y1, x0:x1] = total.reshape(y1 - y0, fine, x1 - x0, fine).mean(axis=(1, 3))
    return out


def pixels(drawing: Drawing, ppi: float, fine: int = 4) -> Image.Image:
    """The drawing as RGBA, clear where nothing is painted."""
    per_mm = ppi / 25.4
    width, height = round(drawing.width * per_mm), round(drawing.height * per_mm)
    colour, alpha = np.zeros((height, width, 3)), np.zeros((height, width, 1))
    for shape, ink in drawing.layers:
        cover = coverage(shape, width, height, per_mm, fine)[..., None]
        new = cover + alpha * (1 - cover)
        colour = np.where(
            new > 0, (np.array(ink.rgb) * cover + colour * alpha * (1 - cover)) / np.where(new > 0, new, 1), 0
        )
        alpha = new
    rgba = np.concatenate([np.rint(colour), np.rint(alpha * 255)], axis=2).astype(np.uint8)
    return Image.fromarray(rgba, "RGBA")


def flattened(picture: Image.Image, paper: tuple[int, int, int] = (255, 255, 255)) -> Image.Image:
    under = Image.new("RGBA", picture.size, (*paper, 255))
    return Image.alpha_composite(under, picture).convert("RGB")


def saved(picture: Image.Image, form: str, **options: Any) -> bytes:
    stream = io.BytesIO()
    picture.save(stream, form, **options)
    return stream.getvalue()
