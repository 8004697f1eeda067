"""PDF files written by hand for the tests, through pikepdf: their truth is in the numbers given here."""

import io
from collections.abc import Sequence
from typing import Any

import pikepdf
from pikepdf import Array, Dictionary, Name, String

PT = 72 / 25.4  # points in a mm


def separation(pdf: pikepdf.Pdf, name: str, cmyk: Sequence[float]) -> Any:
    """A Separation colour space with a CMYK alternate."""
    function = Dictionary(FunctionType=2, Domain=[0, 1], C0=[0, 0, 0, 0], C1=list(cmyk), N=1)
    return pdf.make_indirect(Array([Name.Separation, Name("/" + name), Name.DeviceCMYK, function]))


def pdf_of(
    content: str | bytes, width_mm: float = 100, height_mm: float = 60, *, prepare: Any = None, pages: int = 1,
    page_keys: dict[str, Any] | None = None,
) -> bytes:  # fmt: skip
    """A PDF whose content stream is drawn in mm, y up.  `prepare(pdf)` returns the Resources dictionary."""
    pdf = pikepdf.new()
    for _ in range(pages):
        page = pdf.add_blank_page(page_size=(width_mm * PT, height_mm * PT))
    page = pdf.pages[0]
    body = content if isinstance(content, bytes) else content.encode("latin-1")
    page.obj.Contents = pdf.make_stream(b"q %.8f 0 0 %.8f 0 0 cm\n" % (PT, PT) + body + b"\nQ")
    if prepare:
        page.obj.Resources = prepare(pdf)
    for key, value in (page_keys or {}).items():
        page.obj[key] = value(pdf) if callable(value) else value
    out = io.BytesIO()
    pdf.save(out)
    return out.getvalue()


__all__ = ["PT", "Array", "Dictionary", "Name", "String", "pdf_of", "separation"]
