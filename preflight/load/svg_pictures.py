"""Pictures placed in an SVG as data links, turned into ones that both drawing engines draw."""

import base64
import binascii
import re
import urllib.parse
import warnings
from io import BytesIO

from PIL import Image

from preflight import colour
from preflight.errors import Unreadable
from preflight.load.svg_ledger import REMEDY, Ledger
from preflight.load.svg_limits import MAX_PIXELS


def link_content(link: str) -> bytes:
    """The bytes that a data link (RFC 2397) holds, as they are; none where its coding is broken."""
    head, _, body = link.partition(",")
    try:
        if ";base64" in head.lower():
            body = re.sub(r"\s", "", urllib.parse.unquote(body) if "%" in body else body)
            return base64.b64decode(body + "=" * (-len(body) % 4))
        return urllib.parse.unquote_to_bytes(body)
    except (binascii.Error, ValueError):
        return b""


def holds_drawing(link: str, content: bytes) -> bool:
    """Whether a data link is an SVG or SVGZ by its own word or by the bytes it holds."""
    head = link.partition(",")[0]
    return "svg" in head.lower() or content[:2] == b"\x1f\x8b" or content.lstrip()[:1] == b"<"


def data_link(kind: str, content: bytes) -> str:
    """A picture as a data link; `kind` is the second half of its media type, such as "png" or "svg+xml"."""
    return f"data:image/{kind};base64," + base64.b64encode(content).decode()


def drawable_picture(content: bytes, ledger: Ledger) -> str | None:
    """A placed picture as a data link that both engines draw; None where it is damaged, which is noted.

    Raises Unreadable where all pictures together have more than `MAX_PIXELS`.
    """
    try:
        # Pillow's alarm at 89 megapixels is replaced by our cap, which counts all pictures together.
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            image = Image.open(BytesIO(content), formats=("PNG", "JPEG", "GIF", "WEBP", "BMP", "TIFF"))
            ledger.pixels += image.width * image.height
            if ledger.pixels > MAX_PIXELS:
                raise Unreadable(f"Its pictures have over {MAX_PIXELS // 10**6} million pixels.", REMEDY)
            kind = (image.format or "").lower()
            if kind not in ("png", "jpeg", "gif", "webp") or image.mode == "CMYK":
                kind, content = "png", _as_png(image)
            else:
                image.load()
    except Unreadable:
        raise
    except Exception as error:  # Pillow's readers raise a dozen kinds at damaged pictures
        ledger.note(
            "damaged", f"A picture placed in it is damaged and can't be drawn ({type(error).__name__})."
        )
        return None
    ledger.pixel_sizes.append(image.size)
    return data_link(kind, content)


def _as_png(image: Image.Image) -> bytes:
    """A picture that not every engine draws (BMP, TIFF, CMYK) as PNG in sRGB, alpha kept."""
    alpha = (
        image.convert("RGBA").getchannel("A")
        if image.mode != "CMYK" and image.has_transparency_data
        else None
    )
    shown, _ = colour.to_srgb(image)
    if alpha is not None:
        shown.putalpha(alpha)
    shown.info = {}
    buffer = BytesIO()
    shown.save(buffer, "PNG")
    return buffer.getvalue()
