"""Live text is drawn with shipped fonts, whatever family it asks for: which ones, where they lie, which letters they lack."""

import functools
import re
import tempfile
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path

import pymupdf
import pymupdf_fonts

from preflight.load.svg_ledger import Ledger

#: Families drawn for all others: a plain one, and one of even pitch.
SANS, MONO = "FiraGO", "Fira Mono"


def stand_in(families: str) -> str:
    """The shipped family drawn for a `font-family` value, in quotes as CSS wants it."""
    return f"'{MONO}'" if re.search(r"mono\b|monospace|courier|typewriter", families, re.I) else f"'{SANS}'"


def shipped_fonts(ledger: Ledger) -> tuple[str, ...]:
    """Names of the shipped fonts that the live text needs; letters that none of them has are noted."""
    if not ledger.letters:
        return ()
    names = ["figo"]
    names += (
        ["figbo"] * ledger.bold + ["figit"] * ledger.slanted + ["figbi"] * (ledger.bold and ledger.slanted)
    )
    names += ["fimo"] * ledger.mono + ["fimbo"] * (ledger.mono and ledger.bold)
    missing = _without_glyph("figo", ledger.letters)
    for name in ("symbol1", "symbol2", "math"):
        left = _without_glyph(name, missing) if missing else missing
        if len(left) < len(missing):
            names.append(name)
        missing = left
    if missing:
        text = "Some letters or signs can't be drawn: their font is not in the file, and none here has them."
        ledger.notes["unsupported", text] = sum(ledger.letters[char] for char in missing)
    return tuple(names)


@contextmanager
def font_folder(names: tuple[str, ...]) -> Iterator[str]:
    """A folder with shipped fonts as NAME.ttf, gone afterwards: both engines take fonts as files only."""
    with tempfile.TemporaryDirectory(prefix="preflight-") as folder:
        for name in names:
            (Path(folder) / f"{name}.ttf").write_bytes(_font_data(name))
        yield folder


@functools.cache
def _font_data(name: str) -> bytes:
    return bytes(pymupdf_fonts.myfont(name))


def _without_glyph(font: str, letters: "Iterable[str]") -> list[str]:
    """The letters a shipped font doesn't have."""
    has = pymupdf.Font(fontbuffer=_font_data(font)).has_glyph
    return [char for char in letters if not has(ord(char))]
