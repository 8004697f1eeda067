"""The bytes of an SVG or SVGZ become a tree of elements; nothing outside the file is read and nothing multiplies."""

import re
import zlib
from typing import Any

from lxml import etree

from preflight.errors import Unreadable
from preflight.load.svg_ledger import REMEDY
from preflight.load.svg_limits import MAX_BYTES
from preflight.load.svg_syntax import SVG, XLINK, local_name

#: Entities of the file itself are put in; ones that name a file are refused (lxml 5, not yet in its stubs).
_INTERNAL_ENTITIES: Any = "internal"


def unpacked(data: bytes) -> bytes:
    """The file itself, SVGZ unpacked.  Raises Unreadable where that is damaged or too large."""
    if data[:2] == b"\x1f\x8b":
        unpacker = zlib.decompressobj(31)
        try:
            data = unpacker.decompress(data, MAX_BYTES + 1)
        except zlib.error:
            raise Unreadable("This compressed SVG is damaged.", REMEDY) from None
        if len(data) <= MAX_BYTES and not unpacker.eof:
            raise Unreadable("This compressed SVG is cut off.", REMEDY)
    if len(data) > MAX_BYTES:
        raise Unreadable(f"This SVG is larger than {MAX_BYTES >> 20} MB when it is unpacked.", REMEDY)
    return data


def root_of(data: bytes) -> "etree._Element":
    """The `svg` element of an unpacked file, all names in the namespace of SVG.  Raises Unreadable."""
    return _in_svg_namespace(_parsed(data))


def _parsed(data: bytes) -> "etree._Element":
    """The root element; nothing outside the file is read, and entities can't multiply."""
    if b"\0" not in data[:4]:  # not in UTF-16
        data = data.strip(b"\0 \t\r\n")
    for _ in range(8):
        parser = etree.XMLParser(
            resolve_entities=_INTERNAL_ENTITIES, no_network=True, load_dtd=False, dtd_validation=False, remove_comments=True,
            remove_pis=True, huge_tree=_entities_are_harmless(data),
        )  # fmt: skip
        try:
            return etree.fromstring(data, parser)
        except etree.XMLSyntaxError as error:
            repaired = _repaired(data, str(error))
            if repaired is None or repaired == data:
                line = f" (line {error.lineno})" if error.lineno else ""
                raise Unreadable(
                    f"This SVG is not well-formed XML{line}: it is damaged or cut off.", REMEDY
                ) from error
            data = repaired
    raise Unreadable("This SVG is not well-formed XML.", REMEDY)


def _repaired(data: bytes, trouble: str) -> bytes | None:
    """The two faults that drawing programs leave and browsers forgive: an undeclared prefix and an undeclared encoding."""
    prefix = re.search(r"Namespace prefix ([\w.-]+) .*not defined", trouble)
    if prefix:
        name = prefix[1].encode()
        space = XLINK if prefix[1] == "xlink" else f"urn:undeclared:{prefix[1]}"
        return re.sub(
            rb"<((?:[\w.-]+:)?svg)\b", rb"<\1 xmlns:" + name + b'="' + space.encode() + b'"', data, count=1
        )
    try:
        data.decode("utf-8")
    except UnicodeDecodeError:
        if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
            return None
        return re.sub(rb"^<\?xml[^>]*\?>", b"", data).decode("cp1252", "replace").encode("utf-8")
    return None


def _entities_are_harmless(data: bytes) -> bool:
    """Whether the parser's limits may be lifted, which pictures over 7 MB placed in the file need."""
    try:
        head = data[:1024].decode("ascii", "replace")
        data.decode("utf-8")
    except UnicodeDecodeError:
        return False
    encoding = re.search(r"encoding\s*=\s*[\"']([\w.-]+)", head)
    if encoding and encoding[1].lower() not in ("utf-8", "us-ascii", "ascii", "iso-8859-1"):
        return False
    entities = re.findall(rb"<!ENTITY\s+([\w.-]{1,60})\s+(?:\"([^\"]*)\"|'([^']*)')\s*>", data)
    if len(entities) != data.count(b"<!ENTITY") or len(entities) > 60:
        return False
    if any(b"&" in one + other or b"%" in one + other for _, one, other in entities):
        return False
    return (
        sum(data.count(b"&" + name + b";") * len(one + other) for name, one, other in entities) <= MAX_BYTES
    )


def _in_svg_namespace(root: "etree._Element") -> "etree._Element":
    """The root, checked to be `svg`; one that forgot its namespace is given it."""
    name = etree.QName(root)
    if name.localname != "svg":
        raise Unreadable("This is an XML file, but not an SVG drawing.", REMEDY)
    if name.namespace != SVG:
        for element in root.iter():
            if isinstance(element.tag, str) and etree.QName(element).namespace == name.namespace:
                element.tag = f"{{{SVG}}}{local_name(element)}"
    return root
