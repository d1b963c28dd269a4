"""Pictures made fit for publishing: what is seen stays, what is hidden in the file goes.

SVG is written again from a short list of elements and attributes that draw and neither run, link nor load anything. Why
no library: those that clean HTML (nh3, bleach) do not keep SVG as XML, and what defusedxml refuses was refused already,
when the drawing was looked at.
"""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from xml.etree import ElementTree

from PIL import Image, ImageOps

from collection.ingest.pictures.drawings import LARGEST_SHOWN, look_at
from collection.ingest.pictures.image_files import NotAPicture, bare_jpeg, bare_png, picture_kind


def cleaned(content: bytes) -> tuple[str, bytes]:
    """The file's kind (`png`, `jpg`, `svg`) and its content without anything but the picture.

    :raises NotAPicture: with the reason, as half a sentence.
    """
    kind = picture_kind(content[:12])
    if kind == "PNG":
        return "png", bare_png(content)
    if kind == "JPEG":
        return "jpg", bare_jpeg(content)
    if content[:4096].lstrip(b"\xef\xbb\xbf \t\r\n").startswith(b"<"):
        return "svg", _clean_svg(content)
    raise NotAPicture("it is neither PNG, JPEG nor SVG")


SMALL = 320
"""The longest side of a small picture, in pixels."""

MOST_DECODED = 64_000_000
"""Pixels of the largest picture that is made smaller. Decoding takes some six bytes for each at once."""
# How many pixels a picture may have is judged by ourselves.
Image.MAX_IMAGE_PIXELS = None


def thumbnail(content: bytes) -> tuple[str, bytes] | None:
    """A small JPEG of a picture that was cleaned, upright, on white where it was transparent; None where it cannot be
    read."""
    try:
        with Image.open(io.BytesIO(content), formats=("PNG", "JPEG")) as picture:
            if picture.width * picture.height > MOST_DECODED:
                return None
            picture.draft("RGB", (2 * SMALL, 2 * SMALL))
            shown = ImageOps.exif_transpose(picture)
            if shown.mode in ("P", "PA"):
                shown = shown.convert("RGBA")
            shown.thumbnail((SMALL, SMALL))
            if shown.has_transparency_data:
                whole = shown.convert("RGBA")
                shown = Image.alpha_composite(Image.new("RGBA", whole.size, "white"), whole)
            made = io.BytesIO()
            shown.convert("RGB").save(made, "JPEG", quality=82)
    except (OSError, ValueError, SyntaxError, Image.DecompressionBombError):
        return None
    return "jpg", made.getvalue()


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
    if len(content) > LARGEST_SHOWN:
        raise NotAPicture(f"its SVG is larger than {LARGEST_SHOWN:,} bytes")
    if not look_at(content).whole:
        raise NotAPicture("its SVG is damaged, nested too deeply, too large, or declares a document type")
    try:
        root = ElementTree.fromstring(content)
    except ElementTree.ParseError as error:
        raise NotAPicture("its SVG is not well formed") from error
    found = _copied(root)
    if found is None or found.tag != "svg":
        raise NotAPicture("it is not an SVG drawing")
    found.set("xmlns", _SVG)
    written: bytes = ElementTree.tostring(found, encoding="utf-8", xml_declaration=True)
    return written


def _copied(element: ElementTree.Element) -> ElementTree.Element | None:
    namespace, _, tag = element.tag.rpartition("}")
    if namespace.removeprefix("{") not in ("", _SVG) or tag not in _SHAPES:
        return None
    copy = ElementTree.Element(tag)
    for name, value in [*_declarations(element.get("style", "")), *element.attrib.items()]:
        if name in _PLAIN and _is_harmless(value):
            copy.set(name, value)
    if tag in ("text", "tspan", "title", "desc"):
        copy.text = element.text
    for child in element:
        kept = _copied(child)
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
