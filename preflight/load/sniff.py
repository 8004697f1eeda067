"""What a file is, from its bytes alone: never from its name, which is only what somebody called it.

Signatures are those of the formats' own public specifications and of the magic(5) file.  Nothing is parsed
here, only looked at, in time linear in the first few megabytes.
"""

import re
import zlib
from typing import NoReturn

from preflight.errors import Unreadable

#: Signatures at offset 0 of the bitmap formats that `preflight.load.bitmap` opens.
_BITMAPS = (
    b"\x89PNG\r\n\x1a\n", b"\xff\xd8\xff", b"II*\0", b"MM\0*", b"II+\0", b"MM\0+", b"GIF87a", b"GIF89a",
    b"8BPS", b"\0\0\0\x0cjP  \r\n\x87\n", b"\xff\x4f\xff\x51", b"qoif",
)  # fmt: skip
_DOS_EPS = b"\xc5\xd0\xd3\xc6"
#: How much of a compressed or very long file is looked at.
_WINDOW = 4 << 20

_ARTWORK = "Please send the artwork itself as PDF, SVG, EPS, PNG, TIFF or JPEG."
_EXPORT = (
    "Please open it in the program it was made with and export it as PDF, SVG or EPS, lettering as outlines."
)
_PICTURE = (
    "Please convert it to PNG, TIFF or JPEG at full size, or better send the drawing as PDF, SVG or EPS."
)
_LOGO = "Please send the logo as its own file: PDF, SVG or EPS, or a large PNG."
_UNPACK = "Please unpack it and send the artwork files by themselves."
_ATTACHMENT = "Please send the attachment by itself, as PDF, SVG or EPS."
_STITCHES = "Please send the drawing the stitches were made from, as PDF, SVG or EPS."
_AGAIN = "Please send it again; if it still can't be opened, export it anew as PDF."

_WORDS = ("This is a word-processor document, not artwork.", _LOGO)
_SHEET = ("This is a spreadsheet, not artwork.", _LOGO)
_SLIDES = ("This is a set of slides, not artwork.", _LOGO)
_ZIP = ("This is a packed archive (zip), not artwork.", _UNPACK)
_FONT = ("This is a font file, not artwork.", _ARTWORK)
_SOUND = ("This is a sound or film recording, not artwork.", _ARTWORK)
_MAIL = ("This is an e-mail, not artwork.", _ATTACHMENT)
_PROGRAM = ("This is a program, not artwork.", _ARTWORK)
_MODEL = ("This is a 3D model, not artwork.", _EXPORT)
_CAD = ("This is a CAD drawing, whose colours and line widths can't be trusted as artwork.", _EXPORT)
_DRAWING = ("This is a drawing program's own file, which can't be opened here.", _EXPORT)
_PAINTING = ("This is a painting program's own file, which can't be opened here.", _PICTURE)
_METAFILE = ("This is an office program's metafile, which draws differently on every machine.", _EXPORT)
_SEWING = (
    "This is a stitch file for an embroidery machine: stitches can't be measured as artwork.",
    _STITCHES,
)
_JXL = ("This is a JPEG XL picture, which can't be opened here.", _PICTURE)
_PAGE = ("This is a web page, not artwork; perhaps a download link led to a sign-in page.", _ARTWORK)

#: What a file is: the (offset, signature) pairs that say so.
_FOREIGN: tuple[tuple[tuple[str, str], tuple[tuple[int, bytes], ...]], ...] = (
    (("This is a packed archive (7z), not artwork.", _UNPACK), ((0, b"7z\xbc\xaf\x27\x1c"),)),
    (("This is a packed archive (rar), not artwork.", _UNPACK), ((0, b"Rar!\x1a\x07"),)),
    (("This is a packed archive (cab), not artwork.", _UNPACK), ((0, b"MSCF"),)),
    (("This is a packed archive (tar), not artwork.", _UNPACK), ((257, b"ustar"),)),
    (
        ("This is a compressed file, not artwork.", _UNPACK),
        ((0, b"BZh"), (0, b"\xfd7zXZ\0"), (0, b"\x28\xb5\x2f\xfd")),
    ),
    (_WORDS, ((0, b"{\\rtf"),)),
    (
        _FONT,
        (
            (0, b"wOFF"), (0, b"wOF2"), (0, b"OTTO\0"), (0, b"true\0"), (0, b"ttcf\0"), (0, b"\0\1\0\0\0"),
            (0, b"\x80\x01"), (0, b"%!PS-AdobeFont"), (0, b"%!FontType"),
        ),
    ),
    (_JXL, ((0, b"\0\0\0\x0cJXL \r\n\x87\n"), (0, b"\xff\x0a"))),
    (
        _SOUND,
        (
            (0, b"ID3"), (0, b"OggS"), (0, b"fLaC"), (0, b"MThd"), (0, b"\x1a\x45\xdf\xa3"), (0, b"FLV\x01"),
            (0, b"\x30\x26\xb2\x75\x8e\x66\xcf\x11"), (0, b"\0\0\x01\xba"), (0, b"\0\0\x01\xb3"),
        ),
    ),
    (_METAFILE, ((0, b"\xd7\xcd\xc6\x9a"), (40, b" EMF"))),
    (_PAINTING, ((5, b"xcf "),)),
    (
        ("This is a page-layout program's own file, which can't be opened here.", _EXPORT),
        ((0, b"\x06\x06\xed\xf5\xd8\x1d\x46\xe5\xbd\x31\xef\xe7\xfe\x74\xb7\x1d"),),
    ),
    (_DRAWING, ((0, b"\0\xffKA"), (0, b"SQLite format 3\0"))),
    (_CAD, ((0, b"ISO-10303-21;"), (0, b"AC10"))),
    (_MODEL, ((0, b"glTF\x02"),)),
    (_PROGRAM, ((0, b"\x7fELF"),)),
    (
        ("This is only a shortcut to a file, not the file itself.", _ARTWORK),
        ((0, b"\x4c\0\0\0\x01\x14\x02\0"), (0, b"[InternetShortcut]")),
    ),
    (
        ("This is a hidden companion that a computer packed beside a file, not the file itself.", _ARTWORK),
        ((0, b"\0\x05\x16\x07"),),
    ),
    (
        _SEWING,
        ((0, b"#PES"), (0, b"#PEC"), (0, b"%vsm%"), (0, b"\x5b\xaf\xc8\0"), (0, b"\x5d\xfc\x90\x01")),
    ),
)  # fmt: skip

#: Names of entries inside a zip archive (Office Open XML, OpenDocument, OpenRaster and others): what it is.
_ZIP_ENTRIES = (
    (b"word/", _WORDS),
    (b"xl/workbook", _SHEET),
    (b"ppt/", _SLIDES),
    (b"application/vnd.oasis.opendocument.text", _WORDS),
    (b"application/vnd.oasis.opendocument.spreadsheet", _SHEET),
    (b"application/vnd.oasis.opendocument.presentation", _SLIDES),
    (b"application/vnd.oasis.opendocument.graphics", _DRAWING),
    (b"application/epub+zip", ("This is an electronic book, not artwork.", _LOGO)),
    (b"riffData", _DRAWING),
    (b"image/openraster", _PAINTING),
    (b"3D/3dmodel.model", _MODEL),
)
_OLE = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
#: Stream names inside an OLE compound file, in UTF-16.
_OLE_STREAMS = (
    ("WordDocument", _WORDS),
    ("PowerPoint Document", _SLIDES),
    ("Workbook", _SHEET),
    ("__substg1.0_", _MAIL),
)
#: "ftyp" brands of ISO base media files (ISO/IEC 14496-12) that are still pictures.
_AVIF = (b"avif", b"avis")
_HEIF = (b"heic", b"heix", b"heim", b"heis", b"hevc", b"hevx", b"mif1", b"msf1")

_MAIL_HEADER = re.compile(
    r"^(from|to|subject|date|received|return-path|delivered-to|message-id|mime-version|reply-to|x-[a-z-]+):",
    re.I | re.M,
)
_DIB_HEADERS = (12, 16, 40, 52, 56, 64, 108, 124)


def identify(data: bytes) -> str:
    """Which loader opens it: "pdf", "svg", "postscript" or "bitmap".

    Args:
        data: the whole file.

    Raises:
        Unreadable: it is none of these; says in one sentence what it is and what to send instead.
    """
    if not data:
        raise Unreadable("The file is empty.", _AGAIN)
    if len(data) >= 16 and not any(data[:4096]):
        raise Unreadable("The file holds nothing but zeros: its transfer failed.", _AGAIN)
    if (
        data.startswith(_BITMAPS)
        or _is_bmp(data)
        or _is_lesser_bitmap(data)
        or _is_isobmff(data, _AVIF)
        or _is_webp(data)
    ):
        return "bitmap"
    if data.startswith(_DOS_EPS):
        return "postscript"
    _refuse_containers(data)
    for sentences, signatures in _FOREIGN:
        if any(data.startswith(signature, offset) for offset, signature in signatures):
            raise Unreadable(*sentences)
    if data[:2] == b"\x1f\x8b":
        return _inside_gzip(data)
    text = as_text(data)
    root = root_element(text)
    if root and root.rpartition(":")[2] == "svg":
        return "svg"
    # Appendix H of PDF 1.7 (ISO 32000-1): viewers accept the header anywhere in the first 1024 bytes.
    if b"%PDF-" in data[:1024]:
        return "pdf"
    if _is_postscript(data):
        return "postscript"
    _refuse_text(data, text, root)


def as_text(data: bytes) -> str:
    """The first megabytes as text, for looking at only: by byte-order mark, else UTF-8, else Latin-1."""
    head = data[:_WINDOW]
    if head.startswith((b"\xff\xfe", b"\xfe\xff")):
        return head.decode("utf-16", "replace")
    if head[:4] in (b"<\0?\0", b"<\0s\0", b"<\0!\0"):
        return head.decode("utf-16-le", "replace")
    if head[:4] in (b"\0<\0?", b"\0<\0s", b"\0<\0!"):
        return head.decode("utf-16-be", "replace")
    try:
        return head.removeprefix(b"\xef\xbb\xbf").decode("utf-8")
    except UnicodeDecodeError:
        return head.removeprefix(b"\xef\xbb\xbf").decode("latin-1")


def root_element(text: str) -> str | None:
    """Name of the first element of an XML or HTML text, with its prefix; None when it has none."""
    at = 0
    while True:
        while at < len(text) and text[at] in " \t\r\n\ufeff":
            at += 1
        if text.startswith("<!--", at):
            end = text.find("-->", at + 4)
            at = end + 3
        elif text.startswith("<?", at):
            end = text.find("?>", at + 2)
            at = end + 2
        elif text[at : at + 9].upper() == "<!DOCTYPE":
            end = at = _after_doctype(text, at + 9)
        else:
            match = re.compile(r"<([A-Za-z_][\w.:-]{0,100})").match(text, at)
            return match[1] if match else None
        if end < 0:
            return None


def _after_doctype(text: str, at: int) -> int:
    """Where a document type declaration that began before `at` ends; -1 when it doesn't."""
    depth = 0
    token = re.compile(r"[\[\]>\"']|<!--")
    while match := token.search(text, at):
        at = match.end()
        if match[0] == "[":
            depth += 1
        elif match[0] == "]":
            depth -= 1
        elif match[0] == ">":
            if depth <= 0:
                return at
        else:
            closing = "-->" if match[0] == "<!--" else match[0]
            end = text.find(closing, at)
            if end < 0:
                return -1
            at = end + len(closing)
    return -1


def _is_tga(data: bytes) -> bool:
    """Is this a Truevision TGA picture?  It has no signature: its header has to be sound, and its pixels as many as it says."""
    if len(data) < 18:
        return False
    with_palette, kind, width, height, bits = data[1], data[2], data[12:14], data[14:16], data[16]
    pixels = int.from_bytes(width, "little") * int.from_bytes(height, "little")
    plain = pixels * (bits // 8) + 18 + data[0] <= len(data)
    return (
        kind in (1, 2, 3, 9, 10, 11) and with_palette == (kind in (1, 9)) and bits in (8, 15, 16, 24, 32)
        and pixels > 0 and (plain or kind > 8)
    )  # fmt: skip


def _is_bmp(data: bytes) -> bool:
    return data[:2] == b"BM" and int.from_bytes(data[14:18], "little") in _DIB_HEADERS


def _is_webp(data: bytes) -> bool:
    return data[:4] == b"RIFF" and data[8:12] == b"WEBP"


def _is_lesser_bitmap(data: bytes) -> bool:
    """Portable anymap, PCX, SGI and icon files, whose signatures are short and need a second look."""
    if len(data) < 8:
        return False
    if data[0] == 0x0A:  # PCX: version, run-length coding, bits a pixel
        return data[1] in (0, 2, 3, 4, 5) and data[2] == 1 and data[3] in (1, 2, 4, 8) and len(data) > 128
    if data[:2] == b"\x01\xda":  # SGI: storage, bytes a channel
        return data[2] in (0, 1) and data[3] in (1, 2)
    if data[:4] == b"\0\0\1\0":  # icon: number of pictures, reserved byte of the first
        return 0 < int.from_bytes(data[4:6], "little") <= 256 and data[9:10] == b"\0"
    return re.match(rb"P[1-7]\s[\s#\dW]", data) is not None


def _is_isobmff(data: bytes, brands: tuple[bytes, ...]) -> bool:
    return data[4:8] == b"ftyp" and (
        data[8:12] in brands or any(data[i : i + 4] in brands for i in range(16, min(64, data[3]), 4))
    )


def _is_postscript(data: bytes) -> bool:
    """ "%!" at the start, perhaps after a Ctrl-D, a byte-order mark, blanks, or job lines for a printer."""
    head = data[:4096].lstrip(b"\xef\xbb\xbf\x04\r\n\t ")
    if head.startswith(b"\x1b%-12345X"):
        return re.search(rb"[\r\n]%!", head) is not None
    return head.startswith(b"%!") and not head.startswith((b"%!PS-AdobeFont", b"%!FontType"))


def _inside_gzip(data: bytes) -> str:
    try:
        inner = zlib.decompressobj(31).decompress(data[:_WINDOW], _WINDOW)
    except zlib.error:
        raise Unreadable("This is a compressed file that is damaged.", _AGAIN) from None
    root = root_element(as_text(inner))
    if root and root.rpartition(":")[2] == "svg":
        return "svg"
    raise Unreadable("This is a compressed file (gzip) that holds no SVG drawing.", _UNPACK)


def _refuse_containers(data: bytes) -> None:
    """Families that share one signature: zip, OLE compound, RIFF and ISO base media files."""
    if data.startswith((b"PK\x03\x04", b"PK\x05\x06")):
        # Entry names stand uncompressed before each entry and again in the directory at the end.
        seen = data[: 256 << 10] + data[-(256 << 10) :]
        raise Unreadable(*next((sentences for entry, sentences in _ZIP_ENTRIES if entry in seen), _ZIP))
    if data.startswith(_OLE):
        for stream, sentences in _OLE_STREAMS:
            if stream.encode("utf-16-le") in data:
                raise Unreadable(*sentences)
        raise Unreadable("This is an office program's own file, not artwork.", _LOGO)
    if data[:4] in (b"RIFF", b"RIFX"):
        raise Unreadable(*(_SOUND if data[8:12] in (b"AVI ", b"WAVE", b"RMID", b"ACON") else _DRAWING))
    if _is_isobmff(data, _HEIF):
        raise Unreadable("This is a phone camera's picture (HEIC), which can't be opened here.", _PICTURE)
    if data[4:8] in (b"ftyp", b"moov", b"mdat"):
        raise Unreadable(*_SOUND)
    if _is_tga(data):
        raise Unreadable("This is a TGA picture, which can't be opened here.", _PICTURE)
    if data[:2] == b"MZ" and b"This program" in data[:512]:
        raise Unreadable(*_PROGRAM)
    if re.match(rb"LA:.{16}\rST:\s*\d+", data, re.S):
        raise Unreadable(*_SEWING)


def _refuse_text(data: bytes, text: str, root: str | None) -> NoReturn:
    """What is left: texts of many kinds, drawings of machines, or bytes that nobody knows."""
    head = text[:8192].lstrip("\ufeff \t\r\n")
    lower = head.lower()
    if not head:
        raise Unreadable("The file holds nothing but blanks.", _AGAIN)
    if (root or "").lower() == "html" or re.match(r"<(!doctype html|html|head|body|div|table|meta)\b", lower):
        raise Unreadable(*_PAGE)
    if re.match(r"0\s*[\r\n]+\s*section\b", lower):
        raise Unreadable(*_CAD)
    if re.match(r"solid [^\n]*\n\s*facet", lower):
        raise Unreadable(*_MODEL)
    if re.match(r"(\x1b\.[^;:]*[;:])*\s*(in|df|sp\d+|pu|ip)[;\d]", lower) and lower.count(";") > 4:
        raise Unreadable("This is a plotter or cutter job, not artwork.", _EXPORT)
    if lower.startswith("begin:vcard"):
        raise Unreadable("This is an address card, not artwork.", _ARTWORK)
    if _MAIL_HEADER.match(head) and len(_MAIL_HEADER.findall(head[:4096])) >= 2:
        raise Unreadable(*_MAIL)
    if root:
        raise Unreadable("This is an XML file, but not an SVG drawing.", _ARTWORK)
    if lower.startswith(("<?xml", "<!--", "<!doctype svg")):
        raise Unreadable("This is only the torn-off beginning of an XML file.", _AGAIN)
    if len(data) < 8 and not text.isprintable():
        raise Unreadable("The file is only a few bytes long: it was cut off on its way.", _AGAIN)
    sample = text[:65536]
    odd = sum(char < " " and char not in "\t\r\n\f\x1a" or "\x7f" <= char < "\xa0" for char in sample)
    if "\0" not in sample and (odd + sample.count("\ufffd")) * 200 <= len(sample):
        raise Unreadable("This is plain text, not artwork.", _ARTWORK)
    raise Unreadable("This is no kind of file that artwork comes in, or it is damaged.", _ARTWORK)
