"""Pictures made fit for publishing: what is seen stays, what is hidden in the file goes.

Only the structure of the files is read: PNG by its chunks (ISO/IEC 15948), JPEG by its segments (ISO/IEC
10918-1; APP segments are where EXIF, XMP and maker's notes lie). SVG is written anew from a short list of
elements and attributes that draw and neither run, link nor load anything.
"""

from __future__ import annotations

import re
import zlib
from collections.abc import Iterator
from typing import Final
from xml.etree import ElementTree
from xml.parsers import expat

LARGEST_SVG = 2_000_000
DEEPEST_SVG = 60

_PNG: Final = b"\x89PNG\r\n\x1a\n"
_PNG_CHUNKS = frozenset(
    {b"IHDR", b"PLTE", b"IDAT", b"IEND", b"tRNS", b"gAMA", b"cHRM", b"sRGB", b"pHYs", b"sBIT", b"bKGD"}
)
_NO_PAYLOAD = frozenset({0x01, *range(0xD0, 0xD8)})


class NotAPicture(ValueError):
    """The file is none of the three kinds, is broken, or holds nothing that may be published."""


def cleaned(content: bytes) -> tuple[str, bytes]:
    """The file's kind (`png`, `jpg`, `svg`) and its content without anything but the picture.

    :raises NotAPicture: with the reason, as half a sentence.
    """
    if content.startswith(_PNG):
        return "png", _clean_png(content)
    if content.startswith(b"\xff\xd8\xff"):
        return "jpg", _clean_jpeg(content)
    if content[:4096].lstrip(b"\xef\xbb\xbf \t\r\n").startswith(b"<"):
        return "svg", _clean_svg(content)
    raise NotAPicture("it is neither PNG, JPEG nor SVG")


def _clean_png(content: bytes) -> bytes:
    kept, position, ended = [_PNG], len(_PNG), False
    while position + 12 <= len(content) and not ended:
        length = int.from_bytes(content[position : position + 4], "big")
        kind, end = content[position + 4 : position + 8], position + 12 + length
        if end > len(content) or int.from_bytes(content[end - 4 : end], "big") != zlib.crc32(
            content[position + 4 : end - 4]
        ):
            raise NotAPicture("its PNG is damaged")
        if kind in _PNG_CHUNKS:
            kept.append(content[position:end])
        elif not kind[0] & 0x20:
            raise NotAPicture("its PNG has a part that this program does not know")
        position, ended = end, kind == b"IEND"
    if not ended or kept[1][4:8] != b"IHDR":
        raise NotAPicture("its PNG is incomplete")
    return b"".join(kept)


def _clean_jpeg(content: bytes) -> bytes:
    return b"".join(_jpeg_parts(content))


def _jpeg_parts(content: bytes) -> Iterator[bytes]:
    yield b"\xff\xd8"
    position = 2
    while True:
        if position + 2 > len(content) or content[position] != 0xFF:
            raise NotAPicture("its JPEG is damaged")
        marker = content[position + 1]
        if marker == 0xFF:
            position += 1
            continue
        if marker == 0xD9:
            yield b"\xff\xd9"
            return
        if marker in _NO_PAYLOAD:
            position += 2
            continue
        end = position + 2 + int.from_bytes(content[position + 2 : position + 4], "big")
        if end > len(content) or end < position + 4:
            raise NotAPicture("its JPEG is incomplete")
        segment = content[position:end]
        # APP14 says how the colours are coded; without it some pictures come out in wrong colours.
        is_adobe = marker == 0xEE and segment[4:9] == b"Adobe" and len(segment) == 16
        if not (0xE0 <= marker <= 0xEF or marker == 0xFE) or is_adobe:
            yield segment
        position = end
        if marker == 0xDA:
            end = _end_of_scan(content, position)
            yield content[position:end]
            position = end


def _end_of_scan(content: bytes, position: int) -> int:
    while True:
        position = content.find(b"\xff", position)
        if position < 0 or position + 1 >= len(content):
            raise NotAPicture("its JPEG is incomplete")
        following = content[position + 1]
        if following != 0x00 and not 0xD0 <= following <= 0xD7:
            return position
        position += 2


_SVG = "http://www.w3.org/2000/svg"
_SHAPES = frozenset(
    {
        "svg",
        "g",
        "path",
        "rect",
        "circle",
        "ellipse",
        "line",
        "polyline",
        "polygon",
        "text",
        "tspan",
        "title",
        "desc",
        "defs",
        "pattern",
        "linearGradient",
        "radialGradient",
        "stop",
        "clipPath",
        "symbol",
    }
)
_PLAIN = frozenset(
    {
        "viewBox",
        "width",
        "height",
        "x",
        "y",
        "x1",
        "y1",
        "x2",
        "y2",
        "cx",
        "cy",
        "r",
        "rx",
        "ry",
        "d",
        "points",
        "transform",
        "fill",
        "fill-opacity",
        "fill-rule",
        "stroke",
        "stroke-width",
        "stroke-opacity",
        "stroke-linecap",
        "stroke-linejoin",
        "stroke-dasharray",
        "stroke-dashoffset",
        "stroke-miterlimit",
        "opacity",
        "font-size",
        "font-weight",
        "font-style",
        "font-family",
        "text-anchor",
        "dominant-baseline",
        "dx",
        "dy",
        "preserveAspectRatio",
        "id",
        "offset",
        "stop-color",
        "stop-opacity",
        "gradientUnits",
        "gradientTransform",
        "patternUnits",
        "patternTransform",
        "patternContentUnits",
        "clip-path",
        "clip-rule",
        "clipPathUnits",
        "fx",
        "fy",
    }
)
_SAFE_VALUE = re.compile(r"[\w\s.,;:#%()+\-'\"/*&]*", re.UNICODE)
_LOCAL_URL = re.compile(r"url\(\s*#[\w.-]+\s*\)")
_FORBIDDEN = re.compile(r"url\s*\(|javascript|data:|expression|import|//|\\", re.IGNORECASE)


def _clean_svg(content: bytes) -> bytes:
    if len(content) > LARGEST_SVG:
        raise NotAPicture(f"its SVG is larger than {LARGEST_SVG:,} bytes")
    root = _parse(content)
    found = _copied(root, 0)
    if found is None or found.tag != "svg":
        raise NotAPicture("it is no SVG drawing")
    found.set("xmlns", _SVG)
    written: bytes = ElementTree.tostring(found, encoding="utf-8", xml_declaration=True)
    return written


def _parse(content: bytes) -> ElementTree.Element:
    """The tree of an XML file that declares no entities and no document type."""
    builder = ElementTree.TreeBuilder()
    parser = expat.ParserCreate(namespace_separator="}")
    depth = 0

    def start(tag: str, attributes: dict[str, str]) -> None:
        nonlocal depth
        depth += 1
        if depth > DEEPEST_SVG:
            raise NotAPicture("its SVG is nested too deeply")
        builder.start(tag, attributes)

    def end(tag: str) -> None:
        nonlocal depth
        depth -= 1
        builder.end(tag)

    def refuse(*_: object) -> None:
        raise NotAPicture("its SVG declares a document type or entities")

    parser.StartElementHandler, parser.EndElementHandler = start, end
    parser.CharacterDataHandler = builder.data
    parser.StartDoctypeDeclHandler = parser.EntityDeclHandler = refuse
    try:
        parser.Parse(content, True)
    except (expat.ExpatError, UnicodeDecodeError, LookupError) as error:
        raise NotAPicture("its SVG is not well formed") from error
    return builder.close()


def _copied(element: ElementTree.Element, depth: int) -> ElementTree.Element | None:
    namespace, _, tag = element.tag.rpartition("}")
    if namespace not in ("", _SVG) or tag not in _SHAPES:
        return None
    copy = ElementTree.Element(tag)
    for name, value in [*_declarations(element.get("style", "")), *element.attrib.items()]:
        if name in _PLAIN and _is_harmless(value):
            copy.set(name, value)
    if tag in ("text", "tspan", "title", "desc"):
        copy.text = element.text
    for child in element:
        kept = _copied(child, depth + 1)
        if kept is not None:
            kept.tail = child.tail if tag in ("text", "tspan") else None
            copy.append(kept)
    return copy


def _declarations(style: str) -> Iterator[tuple[str, str]]:
    for declaration in style.split(";"):
        name, colon, value = declaration.partition(":")
        if colon:
            yield name.strip(), value.strip()


def _is_harmless(value: str) -> bool:
    rest = _LOCAL_URL.sub("", value)
    return _SAFE_VALUE.fullmatch(rest) is not None and _FORBIDDEN.search(rest) is None
