"""SVG becomes a one-page PDF with real vectors: cleaned, drawn once by typst, again by resvg for comparison."""

import functools
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

import numpy as np
import pymupdf
from lxml import etree

from preflight.artwork import Fact, Font
from preflight.errors import Unreadable
from preflight.load.inking import CUT_WORDS
from preflight.load.svg_clean import clean
from preflight.load.svg_cut import NAME, RESERVED, mark_cut_lines
from preflight.load.svg_draw import drawn_again, typeset
from preflight.load.svg_fonts import shipped_fonts
from preflight.load.svg_ledger import REMEDY, Ledger
from preflight.load.svg_limits import bound_effects
from preflight.load.svg_size import settle_size


@dataclass(frozen=True)
class Converted:
    """An SVG as PDF.

    Attributes:
        pdf: one page of exactly `width_mm` x `height_mm`.
        facts: what was hidden, removed, not understood or is drawn as a live effect.
        fonts: the families that live text asks for; all are drawn with one shipped font.
        spot_names: "#rrggbb" to the name of the spot colour that the file gives it.
        second: draws the cleaned file with another engine: pixels across in, (rows, columns, 4) uint8 RGBA out, alpha
            not multiplied in; raises Unreadable where that engine can't.
        pixel_sizes: (width, height) of each placed picture; a bitmap of another size in the PDF is a drawn effect.
    """

    pdf: bytes
    facts: tuple[Fact, ...]
    fonts: tuple[Font, ...]
    spot_names: Mapping[str, str]
    width_mm: float
    height_mm: float
    second: Callable[[int], np.ndarray] = field(repr=False, compare=False)
    pixel_sizes: tuple[tuple[int, int], ...] = ()


def to_pdf(data: bytes, cut_words: tuple[str, ...] = CUT_WORDS) -> Converted:
    """Convert an SVG or SVGZ file; whatever a layer or object names with `cut_words` becomes the spot of a cut outline.

    Raises:
        Unreadable: it is not well-formed, not SVG, states no drawing, or grows past a limit when it is drawn.
    """
    ledger = Ledger()
    try:
        root = clean(data, ledger)
        width, height = settle_size(root, ledger)
        bound_effects(root, width, height, ledger)
        if mark_cut_lines(root, cut_words):
            ledger.spot_names[RESERVED] = NAME
        cleaned = etree.tostring(root, encoding="utf-8")
        shipped = shipped_fonts(ledger)
        pdf = typeset(cleaned, width, height, shipped)
        with pymupdf.open(stream=pdf, filetype="pdf") as document:
            live = bool(document.get_page_fonts(0))
    except (RecursionError, MemoryError) as error:
        raise Unreadable("This SVG is built too deep or too large to be drawn.", REMEDY) from error
    except (etree.LxmlError, ValueError, RuntimeError, OverflowError) as error:
        raise Unreadable(f"This SVG can't be drawn ({type(error).__name__}).", REMEDY) from error
    fonts = tuple(Font(name, embedded=False, substituted=True) for name in ledger.fonts) if live else ()
    return Converted(
        pdf=pdf, facts=ledger.facts(), fonts=fonts, spot_names=dict(ledger.spot_names),
        width_mm=width * 25.4 / 96, height_mm=height * 25.4 / 96,
        second=functools.partial(drawn_again, cleaned, width, height, shipped), pixel_sizes=tuple(ledger.pixel_sizes),
    )  # fmt: skip
