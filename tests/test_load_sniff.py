"""A file is told by its bytes: every artwork format is recognised, everything else is refused by what it is."""

import bz2
import contextlib
import gzip
import io
import lzma
import tarfile
import time
import wave
import zipfile

import pikepdf
import pytest
from fontTools.fontBuilder import FontBuilder
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image
from reportlab.pdfgen.canvas import Canvas

from preflight.errors import Unreadable
from preflight.load.sniff import identify

SVG = '<svg xmlns="http://www.w3.org/2000/svg" width="9" height="9"><path d="M0 0h9v9z"/></svg>'
KINDS = {"pdf", "svg", "postscript", "bitmap"}


def pdf() -> bytes:
    buffer = io.BytesIO()
    page = Canvas(buffer, pagesize=(100, 50))
    page.rect(10, 10, 20, 20, fill=1)
    page.save()
    return buffer.getvalue()


def picture(form: str, mode: str = "RGB", **options) -> bytes:
    buffer = io.BytesIO()
    Image.new(mode, (32, 16), 1).save(buffer, form, **options)
    return buffer.getvalue()


def zipped(*names: str, stored: str = "") -> bytes:
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as archive:
        if stored:
            archive.writestr(zipfile.ZipInfo("mimetype"), stored)
        for name in names:
            archive.writestr(name, "content of the entry" * 5)
    return buffer.getvalue()


def font() -> bytes:
    builder = FontBuilder(1000, isTTF=True)
    builder.setupGlyphOrder([".notdef"])
    builder.setupCharacterMap({})
    builder.setupGlyf(
        {".notdef": __import__("fontTools.ttLib.tables._g_l_y_f").ttLib.tables._g_l_y_f.Glyph()}
    )
    builder.setupHorizontalMetrics({".notdef": (500, 0)})
    builder.setupHorizontalHeader()
    builder.setupNameTable({})
    builder.setupOS2()
    builder.setupPost()
    buffer = io.BytesIO()
    builder.save(buffer)
    return buffer.getvalue()


def sound() -> bytes:
    buffer = io.BytesIO()
    with wave.open(buffer, "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(1)
        file.setframerate(8000)
        file.writeframes(b"\x80" * 100)
    return buffer.getvalue()


def tarred() -> bytes:
    buffer = io.BytesIO()
    with tarfile.open(fileobj=buffer, mode="w") as archive:
        archive.addfile(tarfile.TarInfo("kite.txt"), io.BytesIO())
    return buffer.getvalue()


ARTWORK = {
    "pdf": ("pdf", pdf()),
    "pdf after a job header of 900 bytes": ("pdf", b"\x1b%-12345X@PJL\r\n" + b" " * 900 + pdf()),
    "pdf made by another writer": ("pdf", (lambda b: (pikepdf.new().save(b), b.getvalue())[1])(io.BytesIO())),
    "svg": ("svg", SVG.encode()),
    "svg after blanks": ("svg", b"\n\n  " + SVG.encode()),
    "svg with byte-order mark": ("svg", b"\xef\xbb\xbf" + SVG.encode()),
    "svg in UTF-16": ("svg", ('<?xml version="1.0" encoding="utf-16"?>' + SVG).encode("utf-16")),
    "svg in UTF-16 without a mark": ("svg", SVG.encode("utf-16-le")),
    "svg in Latin-1": ("svg", ("<!-- Möwe -->" + SVG).encode("latin-1")),
    "svg with a prefix": ("svg", b'<s:svg xmlns:s="http://www.w3.org/2000/svg"/>'),
    "svg behind a long comment": ("svg", b"<!--" + b"reed > <svg > " * 5000 + b"-->" + SVG.encode()),
    "svg behind a doctype with entities": (
        "svg",
        b"<?xml version='1.0'?><!DOCTYPE svg PUBLIC '-//W3C//DTD SVG 1.1//EN' 'x.dtd' [\n"
        b'<!ENTITY ns "http://www.w3.org/2000/svg"> <!-- ]> --> <!ENTITY gt2 ">]">]>' + SVG.encode(),
    ),
    "svg that quotes a pdf": ("svg", b"<!-- %PDF-1.4 -->" + SVG.encode()),
    "svgz": ("svg", gzip.compress(SVG.encode())),
    "eps": ("postscript", b"%!PS-Adobe-3.0 EPSF-3.0\n%%BoundingBox: 0 0 9 9\n"),
    "postscript after Ctrl-D": ("postscript", b"\x04%!PS\nshowpage"),
    "postscript after job lines": ("postscript", b"\x1b%-12345X@PJL JOB\r\n@PJL ENTER\r\n%!PS-Adobe-3.0\r\n"),
    "dos eps": ("postscript", b"\xc5\xd0\xd3\xc6" + bytes(26) + b"%!PS"),
    **{
        form: ("bitmap", picture(form))
        for form in ("PNG", "JPEG", "TIFF", "GIF", "WEBP", "BMP", "PCX", "SGI", "JPEG2000")
    },
    **{f"{mode} PPM": ("bitmap", picture("PPM", mode)) for mode in ("1", "L", "RGB")},
    "ICO": ("bitmap", picture("ICO")),
    "AVIF": ("bitmap", picture("AVIF")),
    "layered picture": ("bitmap", b"8BPS\0\1" + bytes(20)),
    "big TIFF": ("bitmap", b"II+\0\x08\0\0\0" + bytes(8)),
}

OTHERS = {
    "empty": (b"", "empty"),
    "zeros": (bytes(5000), "zeros"),
    "blanks": (b" \n\t \n", "blanks"),
    "two bytes": (b"\x9d\x01", "few bytes"),
    "word processor": (zipped("[Content_Types].xml", "word/document.xml"), "word-processor"),
    "open document": (
        zipped("content.xml", stored="application/vnd.oasis.opendocument.text"),
        "word-processor",
    ),
    "old word processor": (
        b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(600) + "WordDocument".encode("utf-16-le"),
        "word-processor",
    ),
    "rich text": (rb"{\rtf1\ansi Kite fair}", "word-processor"),
    "spreadsheet": (zipped("xl/workbook.xml"), "spreadsheet"),
    "open spreadsheet": (zipped(stored="application/vnd.oasis.opendocument.spreadsheet"), "spreadsheet"),
    "old spreadsheet": (
        b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(600) + "Workbook".encode("utf-16-le"),
        "spreadsheet",
    ),
    "slides": (zipped("ppt/presentation.xml"), "slides"),
    "zip": (zipped("otter.svg"), "zip"),
    "empty zip": (zipped(), "zip"),
    "drawing in a zip": (zipped("content/riffData.cdr"), "drawing program"),
    "7z": (b"7z\xbc\xaf\x27\x1c\0\4", "7z"),
    "rar": (b"Rar!\x1a\x07\x01\0", "rar"),
    "tar": (tarred(), "tar"),
    "bzip2": (bz2.compress(b"reed"), "compressed"),
    "xz": (lzma.compress(b"reed"), "compressed"),
    "gzip of something else": (gzip.compress(b"reed bed"), "gzip"),
    "broken gzip": (b"\x1f\x8b\x08\0\0\0\0\0\0\0" + b"\xff" * 20, "damaged"),
    "web page": (b"<!DOCTYPE html>\n<html><svg></svg></html>", "web page"),
    "web page without doctype": (b"<HTML><body>sign in</body></HTML>", "web page"),
    "e-mail": (b"From: otter@marsh.invalid\r\nTo: print@shop.invalid\r\nSubject: logo\r\n\r\n%PDX", "e-mail"),
    "stitches with a header": (b"LA:OTTER           \rST:   4123\rCO:  3\r" + b" " * 470, "stitch file"),
    "stitches with a mark": (b"#PES0001" + bytes(100), "stitch file"),
    "font": (font(), "font"),
    "web font": (b"wOF2" + bytes(40), "font"),
    "type 1 font": (b"%!PS-AdobeFont-1.0: Marsh\n", "font"),
    "film": (b"\0\0\0\x18ftypmp42\0\0\0\0mp42isom", "film"),
    "sound": (sound(), "sound"),
    "drawing": (b"RIFF\x10\0\0\0VECTvrsn\2\0\0\0", "drawing program"),
    "page layout": (b"\x06\x06\xed\xf5\xd8\x1d\x46\xe5\xbd\x31\xef\xe7\xfe\x74\xb7\x1d", "page-layout"),
    "CAD text": (b"  0\r\nSECTION\r\n  2\r\nHEADER\r\n", "CAD"),
    "CAD exchange": (b"ISO-10303-21;\nHEADER;", "CAD"),
    "3D": (b"solid kite\n facet normal 0 0 1\n", "3D"),
    "plotter": (b"IN;SP1;PU0,0;PD100,100;PU;SP0;", "plotter"),
    "HEIC": (b"\0\0\0\x18ftypheic\0\0\0\0mif1heic", "HEIC"),
    "JPEG XL": (b"\xff\x0a\xfa\x1f", "JPEG XL"),
    "metafile": (b"\xd7\xcd\xc6\x9a" + bytes(40), "metafile"),
    "link": (b"[InternetShortcut]\r\nURL=x", "shortcut"),
    "program": (b"\x7fELF\2\1\1", "program"),
    "other XML": (b'<?xml version="1.0"?><kml><Placemark/></kml>', "not an SVG"),
    "torn XML": (b'<?xml version="1.0"?><!-- made for the kite', "torn-off"),
    "plain text": ("Bitte die Möwe größer drucken, danke!\n".encode(), "plain text"),
    "unknown": (bytes(range(256)) * 20, "no kind of file"),
    "pixels without a header": (bytes([40, 0, 0, 0, 64, 0, 0, 0]) + b"\xff" * 4096, "no kind of file"),
    "TGA": (picture("TGA"), "TGA"),
    "packed TGA": (picture("TGA", compression="tga_rle"), "TGA"),
}


@pytest.mark.parametrize("name", ARTWORK)
def test_artwork_is_recognised(name):
    kind, data = ARTWORK[name]
    assert identify(data) == kind


@pytest.mark.parametrize("name", OTHERS)
def test_other_files_are_named_and_something_better_is_asked_for(name):
    data, word = OTHERS[name]
    with pytest.raises(Unreadable) as caught:
        identify(data)
    assert word in caught.value.says
    for sentence in (caught.value.says, caught.value.remedy):
        assert sentence[0].isupper() and sentence.endswith(".") and "\n" not in sentence


def test_an_ending_plays_no_part_and_a_header_past_the_first_kilobyte_is_none():
    # ISO 32000-1 Appendix H note 13: the header is accepted within the first 1024 bytes.
    with pytest.raises(Unreadable):
        identify(b"\x80" * 1024 + pdf())


@given(st.binary(max_size=300))
@settings(max_examples=300, deadline=None)
def test_any_bytes_are_a_kind_or_refused(data):
    try:
        assert identify(data) in KINDS
    except Unreadable as refusal:
        assert refusal.says and refusal.remedy


@given(st.sampled_from(sorted(ARTWORK) + sorted(OTHERS)), st.data())
@settings(max_examples=300, deadline=None)
def test_cut_and_changed_files_are_a_kind_or_refused(name, data):
    whole = (ARTWORK.get(name) or ("", OTHERS[name][0]))[1]
    cut = whole[: data.draw(st.integers(0, len(whole)))]
    at = data.draw(st.integers(0, max(0, len(cut) - 1)))
    with contextlib.suppress(Unreadable):
        assert identify(cut[:at] + data.draw(st.binary(max_size=3)) + cut[at + 1 :]) in KINDS


@pytest.mark.parametrize(
    "data",
    [
        b"<!--" * 500_000,
        b"<!DOCTYPE svg [" + b"<!--" * 300_000,
        b"<!DOCTYPE svg [" + b"\"'" * 300_000,
        b"<?" * 500_000,
        b"<!DOCTYPE svg " + b"[" * 1_000_000,
        b"\x1b." * 500_000,
        b"from:" * 500_000,
        gzip.compress(bytes(64 << 20), 1),
    ],
    ids=[
        "comments",
        "comments in a doctype",
        "quotes",
        "instructions",
        "brackets",
        "escapes",
        "headers",
        "bomb",
    ],
)
def test_nothing_takes_long(data):
    begun = time.perf_counter()
    with pytest.raises(Unreadable):
        identify(data)
    assert time.perf_counter() - begun < 2
