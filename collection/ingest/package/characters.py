"""Characters that need a second look: invisible ones, and those that Unicode NFC may change.

Nothing is refused here. A file without any of them, which is nearly every file, can be read the fast way.
"""

from __future__ import annotations

import unicodedata
from functools import lru_cache

from collection.records.cells import unseen_in as unseen_of

_ASCII = bytes(range(128))
_ASCII_CONTROLS = bytes(b for b in [*range(32), 127] if b not in b"\t\n\r")
_SMALL = bytes(range(256)).lower()
_UNSEEN = frozenset({"Cc", "Cf", "Cs", "Cn", "Co", "Zl", "Zp"})


def lowered(block: bytes) -> bytes:
    """ASCII letters made small, and control characters left out: shorter than the block if it held any."""
    return block.translate(_SMALL, _ASCII_CONTROLS)


def unseen_among(characters: str) -> bool:
    """Whether any of these characters is invisible."""
    return any(map(_unseen, set(characters)))


def unseen_in(text: str) -> bool:
    """Whether a text holds an invisible character; tabs and line ends do not count."""
    if text.isascii() and text.isprintable():
        return False
    return any(sign not in "\t\n\r" and _unseen(sign) for sign in set(text))


def beyond_ascii(block: bytes) -> str:
    """The characters of a block of UTF-8 that are not ASCII, in order.

    Whole sequences stay together when the ASCII between them goes, and few bytes are left to look at.
    """
    return block.translate(None, _ASCII).decode("utf-8", "replace")


def may_not_be_nfc(characters: str) -> bool:
    """Whether text made of these characters beside ASCII could change under NFC; true when in doubt."""
    return any(map(_may_compose, set(characters)))


def visible(text: str) -> str:
    """The text with every invisible character, and every blank but the ordinary one, written as its number."""
    return "".join(f"\\u{ord(sign):04x}" if _unseen(sign) or not sign.isprintable() else sign for sign in text)


@lru_cache(maxsize=8192)
def _unseen(sign: str) -> bool:
    return unicodedata.category(sign) in _UNSEEN or unseen_of(sign) is not None


@lru_cache(maxsize=8192)
def _may_compose(sign: str) -> bool:
    if sign < "\u0300":
        return False
    return (
        unicodedata.category(sign).startswith("M")
        or "\u1160" <= sign <= "\u11ff"
        or not unicodedata.is_normalized("NFC", sign)
    )
