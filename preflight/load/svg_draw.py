"""A cleaned SVG drawn: by typst as a PDF page of real vectors, by resvg as pixels for comparison."""

from collections.abc import Iterator
from contextlib import contextmanager
from io import BytesIO
from pathlib import Path

import numpy as np
import resvg_py
import typst
from lxml import etree
from PIL import Image

from preflight.errors import Unreadable
from preflight.load.svg_fonts import MONO, SANS, font_folder
from preflight.load.svg_ledger import REMEDY
from preflight.load.svg_limits import MAX_PIXELS


def typeset(svg: bytes, width: float, height: float, fonts: tuple[str, ...]) -> bytes:
    """The drawing as one PDF page of width x height px (96 to the inch), `fonts` as `shipped_fonts` names them.

    Raises Unreadable where the engine gives up.
    """
    size = f"width: {width * 0.75:.6f}pt, height: {height * 0.75:.6f}pt"
    source = f'#set page({size}, margin: 0pt, fill: none)\n#image("art.svg", {size}, fit: "stretch")'
    with font_folder(fonts) as folder:
        (Path(folder) / "art.svg").write_bytes(svg)
        found = typst.Fonts(include_system_fonts=False, include_embedded_fonts=False, font_paths=[folder])
        with _panics_caught():
            compiler = typst.Compiler(source.encode(), root=folder, font_paths=found)
            made = compiler.compile(format="pdf", pdf_tags=False, timestamp=0)
    pdf = made[0] if isinstance(made, list) else made
    assert pdf is not None
    return pdf


def drawn_again(
    svg: bytes, width: float, height: float, fonts: tuple[str, ...], pixels_across: int
) -> np.ndarray:
    """The drawing of width x height px (96 to the inch) by the other engine, `pixels_across` wide.

    Returns (rows, columns, 4) uint8 RGBA, alpha not multiplied in.  Raises Unreadable where it is too large or the engine
    gives up.
    """
    if pixels_across < 1 or pixels_across**2 * height / width > MAX_PIXELS:
        raise Unreadable(f"A picture {pixels_across} pixels wide is more than can be drawn.", REMEDY)
    # the engine rounds a drawing's own size to whole pixels: stated in the pixels asked for, that costs nothing
    root = etree.fromstring(svg, etree.XMLParser(resolve_entities=False, no_network=True, huge_tree=True))
    if not root.get("viewBox"):
        root.set("viewBox", f"0 0 {width!r} {height!r}")
    root.set("width", str(pixels_across))
    root.set("height", repr(pixels_across * height / width))
    with font_folder(fonts) as folder, _panics_caught():
        png = resvg_py.svg_to_bytes(
            svg_string=etree.tostring(root, encoding="unicode"), width=pixels_across, dpi=96, languages=["en"],
            skip_system_fonts=True, font_files=[str(Path(folder) / f"{name}.ttf") for name in fonts],
            resources_dir=folder, font_family=SANS, serif_family=SANS, sans_serif_family=SANS,
            cursive_family=SANS, fantasy_family=SANS, monospace_family=MONO,
        )  # fmt: skip
        with Image.open(BytesIO(bytes(png))) as image:
            return np.array(image.convert("RGBA"))


@contextmanager
def _panics_caught() -> Iterator[None]:
    """Turn an engine's failure into Unreadable: a panic of theirs is no Exception in Python, and must not end the batch."""
    try:
        yield
    except Unreadable:
        raise
    except BaseException as error:
        if isinstance(error, Exception) or type(error).__name__ == "PanicException":
            raise Unreadable("This SVG can't be drawn: the drawing engine gives up on it.", REMEDY) from error
        raise
