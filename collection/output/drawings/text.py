"""Text in drawings: how wide it is, lines it is broken into, and codes as parts of an address."""

from __future__ import annotations

import re
from collections.abc import Iterator

TYPE = 'font-family="Liberation Sans, Arial, sans-serif"'
_NARROW, _WIDE = frozenset("iljtfrI .,;:'·()|/-"), frozenset("mwMWABCDEGHKNOPQRSUVXYZ%—")
_PLAIN = frozenset("ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789_-")


def width_of(text: str, size: float) -> float:
    """The width of a text in pixels, rather too wide than too narrow: no font is measured."""
    return size * sum(0.34 if sign in _NARROW else 0.76 if sign in _WIDE else 0.575 for sign in text)


def fitted(text: str, room: float, size: float) -> str:
    """A text cut off at the end to fit, with a mark for what is cut."""
    if width_of(text, size) <= room:
        return text
    while text and width_of(text + "…", size) > room:
        text = text[:-1]
    return text.rstrip(" ,·") + "…" if text.strip(" ,·") else ""


def wrapped(text: str, room: float, size: float) -> list[str]:
    """A text in lines that fit, broken between words; a word that is too wide stands alone."""
    return list(_lines(text, room, size))


def _lines(text: str, room: float, size: float) -> Iterator[str]:
    line = ""
    for word in text.split():
        longer = f"{line} {word}".strip()
        if line and width_of(longer, size) > room:
            yield line
            line = word
        else:
            line = longer
    if line:
        yield line


def address(code: str) -> str:
    """A code as a part of an address, as the site writes it: what is not plain as its bytes after a tilde."""
    return "".join(
        sign if sign in _PLAIN else "+" if sign == " " else "".join(f"~{byte:02X}" for byte in sign.encode())
        for sign in code
    )


def unlinked(svg: str) -> str:
    """A drawing without its links, for a file that stands alone."""
    return re.sub(r'<a href="[^"]*">|</a>', "", svg)
