"""A bitmap file becomes upright sRGB pixels, its alpha, and what it says about its resolution and coding."""

import re
import struct
import warnings
from dataclasses import dataclass
from io import BytesIO
from typing import Any, cast

import numpy as np
from PIL import ExifTags, Image, ImageCms, ImageOps, UnidentifiedImageError

from preflight.artwork import Fact
from preflight.colour import to_srgb
from preflight.errors import Unreadable
from preflight.load import tiff_alpha
from preflight.load.channels import Further, further
from preflight.load.ungamut import Source

#: Pillow's names of the formats that are opened.  Left out: formats that start other programs, hold several
#: unrelated pictures, have no signature, or that nobody sends artwork in.
FORMATS = (
    "PNG", "JPEG", "TIFF", "GIF", "WEBP", "BMP", "PSD", "AVIF", "JPEG2000", "PPM", "PCX", "SGI", "QOI", "ICO",
)  # fmt: skip
MAX_PIXELS = 120_000_000
#: A resolution outside this range is a placeholder that some program wrote (common practice).
LEAST_PPI, GREATEST_PPI = 30.0, 2400.0
MAX_PAGES = 500
#: Pixels kept as the file gives them: enough to tell the colour of an ink.
SOURCE_PIXELS = 60_000

_AGAIN = "Please open it, save it anew as PNG or TIFF, and send that."
_SPACES = {
    "1": "1-bit", "L": "Grey", "LA": "Grey", "La": "Grey", "I": "Grey", "F": "Grey", "P": "Indexed",
    "PA": "Indexed", "CMYK": "CMYK", "LAB": "Lab",
}  # fmt: skip
#: Luminance quantisation table of ITU-T T.81 Annex K, table K.1, which the IJG library scales by quality.
_K1 = np.array(
    [
        16, 11, 10, 16, 24, 40, 51, 61, 12, 12, 14, 19, 26, 58, 60, 55, 14, 13, 16, 24, 40, 57, 69, 56, 14, 17, 22,
        29, 51, 87, 80, 62, 18, 22, 37, 56, 68, 109, 103, 77, 24, 35, 55, 64, 81, 104, 113, 92, 49, 64, 78, 87, 103,
        121, 120, 101, 72, 92, 95, 98, 112, 100, 103, 99,
    ]
)  # fmt: skip


@dataclass(frozen=True)
class Bitmap:
    """Pixels as they should be looked at: upright, in sRGB.

    Attributes:
        format: "png", "jpeg", "tiff" ...
        rgb: (rows, columns, 3) uint8 sRGB; not multiplied by alpha.
        alpha: (rows, columns) uint8; None when everything is opaque.
        ppi: pixels per inch across and down as the file states them, turned upright; None when it states none
            that is credible.
        page: the one decoded, from 1.
        pages: how many pages it has; the frames of an animation and previews are not pages.
        bits: bits a component in the file; 1 for two-colour art.
        lossy: its coding loses detail (JPEG and the like).
        jpeg_quality: 1 to 100 on the scale of the IJG library; None where it is no JPEG.
        space: "RGB", "CMYK", "Grey", "Lab", "Indexed" or "1-bit".
        source: some of its pixels before they were clipped to sRGB; None where its own space is that.
    """

    format: str
    rgb: np.ndarray
    alpha: np.ndarray | None
    ppi: tuple[float, float] | None
    page: int
    pages: int
    bits: int
    lossy: bool
    jpeg_quality: float | None
    space: str
    facts: tuple[Fact, ...]
    source: Source | None = None


def decode(data: bytes, page: int = 1, cmyk_profile: bytes | None = None) -> Bitmap:
    """Decode one page of a bitmap file.

    Args:
        data: the whole file.
        page: from 1; only TIFF files have several.
        cmyk_profile: an ICC profile for CMYK pictures that carry none.

    Raises:
        Unreadable: damaged, cut off, over `MAX_PIXELS`, of an unknown kind, or without that page.
    """
    try:
        with warnings.catch_warnings():
            # Pillow's alarm at 89 megapixels is replaced by our cap; its refusal at twice that stays in force.
            warnings.simplefilter("ignore")
            return _decode(data, page, cmyk_profile)
    except Unreadable:
        raise
    except Image.DecompressionBombError:
        raise _too_large() from None
    except UnidentifiedImageError:
        if data.startswith(b"8BPS"):
            says = "This layered picture has a depth or a colour mode that can't be opened."
        else:
            says = "This picture is damaged, or of a variety that can't be opened."
        raise Unreadable(says, _AGAIN) from None
    except MemoryError:
        raise Unreadable(
            "This picture needs more memory than there is.", "Please send a smaller one."
        ) from None
    except (
        Exception
    ) as error:  # Pillow's readers raise a dozen kinds at damaged files: all mean the same to the client
        if isinstance(error, (OSError, EOFError)) and "truncated" in str(error).lower():
            says = "This picture is cut off: the end of the file is missing."
        else:
            says = f"This picture is damaged and can't be decoded ({type(error).__name__})."
        raise Unreadable(says, _AGAIN) from error


def _decode(data: bytes, page: int, cmyk_profile: bytes | None) -> Bitmap:
    if data[:6] == b"8BPS\0\2":
        raise Unreadable("This is a layered picture in the variety for very large documents.", _AGAIN)
    opened, cut_out = _opened(data)
    _check_size(opened)
    name = (opened.format or "").lower().replace("mpo", "jpeg")
    frames = _tiff_pages(opened) if name == "tiff" else [0]
    if not 1 <= page <= len(frames):
        raise Unreadable(
            f"The file has {len(frames)} page(s); page {page} was asked for.",
            "Please say which page to check.",
        )
    facts = []
    if name == "tiff":
        opened.seek(frames[page - 1])
        _check_size(opened)
    elif (pictures := _animation(opened, name, data)) > 1:
        facts.append(
            Fact("extra page", "It is an animation; only its first picture is looked at.", count=pictures - 1)
        )
    if name == "psd" and _without_composite(opened):
        raise Unreadable(
            "This layered picture was saved without the flat picture that other programs show.", _AGAIN
        )
    upright = opened.getexif().get(ExifTags.Base.Orientation, 1) == 1
    own_alpha = tiff_alpha.alpha(data, opened.size) if cut_out and page == 1 and upright else None
    more = Further() if own_alpha is not None else further(opened, name, data)
    if more.inks:
        facts.append(
            Fact("further channel", "Channels besides its colours are not looked at.", count=more.inks)
        )
    turned = opened.getexif().get(ExifTags.Base.Orientation, 1) in (5, 6, 7, 8)
    ppi = _ppi(opened, name)
    lossy, quality = _coding(opened, name, data)
    bits = _bits(opened, name, data)
    space = _SPACES.get(opened.mode, "Grey" if opened.mode.startswith("I;16") else "RGB")
    opened.load()
    ImageOps.exif_transpose(opened, in_place=True)
    _check_size(opened)
    image: Image.Image = opened
    if image.mode.startswith(("I", "F")):
        image = _eight_bits(image, bits, facts)
    if more.instead_of_alpha and image.mode == "RGBA":
        image = image.convert("RGB")
    alpha = _alpha(image) if own_alpha is None or own_alpha.min() == 255 else own_alpha
    rgb, source = _srgb(image, cmyk_profile, facts)
    return Bitmap(
        format=name, rgb=rgb, alpha=alpha, ppi=(ppi[1], ppi[0]) if ppi and turned else ppi, page=page,
        pages=len(frames), bits=bits, lossy=lossy, jpeg_quality=quality, space=space, facts=tuple(facts),
        source=source,
    )  # fmt: skip


def _opened(data: bytes) -> tuple[Image.Image, bool]:
    """The picture, not yet decoded; and whether it is a CMYK TIFF with transparency, whose alpha Pillow does not read."""
    try:
        return Image.open(BytesIO(data), formats=FORMATS), False
    except UnidentifiedImageError:
        renamed = tiff_alpha.unnamed(data)
        if renamed is None:
            raise
        return Image.open(BytesIO(renamed), formats=FORMATS), True


def _too_large() -> Unreadable:
    return Unreadable(
        f"This picture has more than {MAX_PIXELS // 1_000_000} million pixels, more than any print needs.",
        "Please send it at 300 pixels per inch of the finished size.",
    )


def _check_size(image: Image.Image) -> None:
    if image.width * image.height > MAX_PIXELS:
        raise _too_large()
    if not image.width or not image.height:
        raise Unreadable("This picture has no pixels.", _AGAIN)


def _tiff_pages(image: Image.Image) -> list[int]:
    """Frames of a TIFF that are pages: thumbnails (NewSubfileType bit 0, TIFF 6.0 page 36) are not."""
    found = []
    for frame in range(MAX_PAGES):
        try:
            image.seek(frame)
        except EOFError:
            break
        if not int(cast(Any, image).tag_v2.get(254, 0)) & 1:
            found.append(frame)
    image.seek(0)
    return found or [0]


def _animation(image: Image.Image, name: str, data: bytes) -> int:
    """Pictures of an animation; 1 for formats whose further pictures are previews, sizes or layers."""
    if name not in ("gif", "png", "webp", "avif") or not getattr(image, "is_animated", False):
        return 1
    # A GIF is counted by walking it; one made of millions of empty frames is estimated from its control blocks.
    blocks = data.count(b"!\xf9\x04") if name == "gif" else 0
    return blocks if blocks > 2000 else int(getattr(image, "n_frames", 1))


def _without_composite(image: Image.Image) -> bool:
    """Version info, image resource 1057 of the PSD file format: byte 4 says whether the flat picture is real."""
    return any(number == 1057 and content[4:5] == b"\0" for number, _, content in cast(Any, image).resources)


def _credible(x: Any, y: Any) -> tuple[float, float] | None:
    try:
        across, down = float(x), float(y)
    except (TypeError, ValueError, ZeroDivisionError):
        return None
    credible = LEAST_PPI <= across <= GREATEST_PPI and LEAST_PPI <= down <= GREATEST_PPI
    return (across, down) if credible else None


def _ppi(image: Image.Image, name: str) -> tuple[float, float] | None:
    """The stated resolution: the format's own field first, then Exif (CIPA DC-008 tags 282, 283 and 296)."""
    info = image.info
    if name == "psd":  # resolution info, image resource 1005: fixed-point pixels per inch
        for number, _, content in cast(Any, image).resources:
            if number == 1005 and len(content) >= 12:
                return _credible(
                    struct.unpack(">I", content[:4])[0] / 65536, struct.unpack(">I", content[8:12])[0] / 65536
                )
        return None
    own = None
    if name == "jpeg":  # Pillow fills in 72 where Exif has none, so the JFIF field is read as it stands
        unit, density = info.get("jfif_unit"), info.get("jfif_density", (0, 0))
        if unit in (1, 2):
            own = _credible(*(d * (2.54 if unit == 2 else 1) for d in density))
    elif "dpi" in info:
        own = _credible(*info["dpi"])
    if own:
        return own
    exif = image.getexif()
    across, down = exif.get(ExifTags.Base.XResolution), exif.get(ExifTags.Base.YResolution)
    unit = exif.get(ExifTags.Base.ResolutionUnit, 2)
    if across is None or down is None or unit not in (2, 3):
        return None
    factor = 2.54 if unit == 3 else 1.0
    try:
        return _credible(float(across) * factor, float(down) * factor)
    except (TypeError, ValueError, ZeroDivisionError):
        return None


def _bits(image: Image.Image, name: str, data: bytes) -> int:
    if image.mode == "1":
        return 1
    if name == "png":
        return data[24]
    if name == "tiff":
        return int(cast(Any, image).tag_v2.get(258, (8,))[0])
    return 16 if image.mode.startswith("I") else 32 if image.mode == "F" else 8


def _coding(image: Image.Image, name: str, data: bytes) -> tuple[bool, float | None]:
    """Whether the coding loses detail, and a JPEG's quality."""
    if name == "jpeg":
        return True, jpeg_quality(data)
    if name == "tiff":
        tags = cast(Any, image).tag_v2
        if tags.get(259) in (6, 7):
            return True, jpeg_quality(bytes(tags.get(347) or b"")) or jpeg_quality(data)
        return tags.get(259) in (
            33003,
            33005,
            34712,
            50001,
            52546,
        ), None  # JPEG 2000, WebP and JPEG XL inside TIFF
    if name == "webp":
        return _webp_is_lossy(data), None
    if name == "jpeg2000":  # COD marker, ITU-T T.800 table A.20: wavelet 0 is the irreversible one
        at = data.find(b"\xff\x52")
        return at < 0 or data[at + 13 : at + 14] != b"\1", None
    return name == "avif", None


def jpeg_quality(stream: bytes) -> float | None:
    """Quality 1 to 100 on the IJG scale of a JPEG, from its luminance quantisation table; None when it has none.

    The IJG library scales table K.1 of ITU-T T.81 by 5000/q below quality 50 and by 200 - 2q from there on.
    """
    table = _luminance_table(stream)
    if table is None:
        return None
    qualities = np.arange(1, 101)
    scale = np.where(qualities < 50, 5000 // qualities, 200 - 2 * qualities)
    # Baseline tables stop at 255; the extended ones that TIFF writers use do not.
    most = 255 if table.max() <= 255 else 32767
    sums = np.clip((_K1[None, :] * scale[:, None] + 50) // 100, 1, most).sum(1)
    return round(float(np.interp(table.sum(), sums[::-1], qualities[::-1])), 1)


def _luminance_table(stream: bytes) -> np.ndarray | None:
    """The 64 entries of the first quantisation table (ITU-T T.81 B.2.4.1) of a JPEG stream, in zigzag order."""
    for match in re.finditer(rb"\xff\xdb..([\x00\x10])", stream, re.S):
        wide = match[1] == b"\x10"
        raw = stream[match.end() : match.end() + (128 if wide else 64)]
        if len(raw) == (128 if wide else 64) and any(raw):
            return np.frombuffer(raw, ">u2" if wide else "u1").astype(np.int64)
    return None


def _webp_is_lossy(data: bytes) -> bool:
    """The first picture chunk (RFC 9649) tells: "VP8 " is lossy, "VP8L" is not."""
    at = 12
    while at + 8 <= len(data):
        chunk, size = data[at : at + 4], int.from_bytes(data[at + 4 : at + 8], "little")
        if chunk in (b"VP8 ", b"VP8L"):
            return chunk == b"VP8 "
        # A frame of an animation holds its own chunks after 16 bytes of frame data.
        at += 24 if chunk == b"ANMF" else 8 + size + (size & 1)
    return True


def _eight_bits(image: Image.Image, bits: int, facts: list[Fact]) -> Image.Image:
    """Deep grey pixels scaled to 8 bits without clipping; Pillow's own conversion clips them."""
    tags = getattr(image, "tag_v2", {})
    stored = np.asarray(image)
    if image.mode == "I" and bits == 32 and tags.get(339, (1,))[0] == 1:  # unsigned, in a mode that is signed
        stored = stored.view(np.uint32)
    deep = stored.astype(np.float64)
    if image.mode.startswith("I;16"):
        deep /= 2.0 ** (bits if 8 < bits <= 16 else 16) - 1
        if (
            getattr(image, "tag_v2", {}).get(262) == 0
        ):  # white is zero, which Pillow leaves alone at this depth
            deep = 1 - deep
    elif image.mode == "I" and bits == 16 and deep.min() >= 0 and deep.max() <= 65535:
        deep /= 65535
    else:
        valued = np.isfinite(deep)
        deep = np.where(valued, deep, 0.0)
        low, high = float(deep.min()), float(deep.max())
        if image.mode != "F" or low < 0 or high > 1:
            facts.append(
                Fact("unread colour", "Its grey levels have a scale of their own; they were stretched.")
            )
            deep = (deep - low) / ((high - low) or 1.0)
        if not valued.all():
            facts.append(Fact("damaged", "Some of its pixels have no value.", count=int((~valued).sum())))
    flat = Image.fromarray(np.round(np.clip(deep, 0, 1) * 255).astype(np.uint8))
    key = image.info.get("transparency")
    if isinstance(key, int):
        flat.putalpha(Image.fromarray(np.where(np.asarray(image) == key, 0, 255).astype(np.uint8)))
    if profile := image.info.get("icc_profile"):
        flat.info["icc_profile"] = profile
    return flat


def _alpha(image: Image.Image) -> np.ndarray | None:
    if image.mode in ("LA", "La", "RGBA", "RGBa", "PA"):
        alpha = np.array(image.getchannel("A"))
    elif "transparency" in image.info and image.mode in ("1", "L", "P", "RGB"):
        alpha = np.array(image.convert("RGBA").getchannel("A"))
    else:
        return None
    return None if alpha.min() == 255 else alpha


def _srgb(
    image: Image.Image, cmyk_profile: bytes | None, facts: list[Fact]
) -> tuple[np.ndarray, Source | None]:
    """(rows, columns, 3) uint8 sRGB, and where it came from; what is lost on the way goes to `facts`."""
    profile = image.info.get("icc_profile")
    if image.mode == "LAB":
        # TIFF 6.0 section 23: 8-bit Lab is relative to D50, and an embedded profile can only be of another space.
        profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("LAB")).tobytes()
    elif image.mode in ("La", "RGBa"):  # multiplied by alpha
        image = image.convert(image.mode[:-1] + "A").convert(image.mode[:-1])
    elif image.mode in ("P", "PA"):
        # By way of RGBA: the plain conversion of a palette with transparent entries may mix colours in.
        image = image.convert("RGBA").convert("RGB")
    elif image.mode in ("1", "LA"):
        image = image.convert("L")
    elif image.mode not in ("L", "RGB", "CMYK"):
        image = image.convert("RGB")
    image.info = {"icc_profile": profile} if profile else {}
    shown, note = to_srgb(image, cmyk_profile)
    if note:
        # a profile that could not be used was lost; where there was none, the usual conversion is all that can be had
        kind = "unread colour" if profile else "approximate colour"
        facts.append(Fact(kind, f"Its colours are only approximate: {note}."))
    used = profile if not note else None
    if used is None and image.mode == "CMYK":
        used = cmyk_profile
    return np.array(shown), _source(image, shown, used)


def _source(image: Image.Image, shown: Image.Image, profile: bytes | None) -> Source | None:
    """Some pixels of a picture beside how they are shown, and the profile that says so."""
    if not profile or image.mode not in ("RGB", "CMYK"):
        return None
    step = max(1.0, (image.width * image.height / SOURCE_PIXELS) ** 0.5)
    size = (max(1, int(image.width / step)), max(1, int(image.height / step)))
    given, look = (
        np.asarray(one.resize(size, Image.Resampling.NEAREST)).reshape(size[0] * size[1], -1)
        for one in (image, shown)
    )
    return Source(profile, look, given)
