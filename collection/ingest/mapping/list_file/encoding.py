"""How a list is written: the encodings that a mapping may state, and what to state where the list is written otherwise."""

from __future__ import annotations

import codecs
import io
import re

ENCODINGS = {
    "utf-8": "utf-8-sig",
    "utf-16": "utf-16",
    "latin-1": "latin-1",
    "iso-8859-1": "latin-1",
    "iso-8859-15": "iso-8859-15",
    "windows-1252": "cp1252",
    "windows-1250": "cp1250",
    "mac-roman": "mac-roman",
    "cp437": "cp437",
    "cp850": "cp850",
}
"""The commonest, each with Python's name for it; any other that Python knows is taken too. A byte-order mark of UTF-8 is
passed over."""
_NO_FILES = frozenset({"idna", "punycode", "unicode_escape", "raw_unicode_escape", "undefined", "mbcs", "oem", "utf_7"})
"""What Python reads as text and nobody saves a list in."""
_MARKS = (codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)
_ALL_CHARACTERS = ("utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "utf-32", "utf-32-le", "utf-32-be")
_OFTEN = (
    'Spreadsheets of Western Europe and America often save "windows-1252", of Central Europe "windows-1250", older Macs '
    '"mac-roman": write below [list] the one that it was saved in, and look whether its accents come out right.'
)


class Unreadable(ValueError):
    """A list that is not written as the mapping says; `line` is where that shows, from 1, or None."""

    def __init__(self, line: int | None, message: str) -> None:
        super().__init__(message)
        self.line = line


def codec_of(name: str) -> str | None:
    """Python's name for an encoding of text; None where there is none of this name."""
    known = ENCODINGS.get(name.strip().casefold())
    if known is not None:
        return known
    try:
        found = codecs.lookup(name.strip()).name
        io.TextIOWrapper(io.BytesIO(), encoding=found)  # refuses codecs that are none of text, such as hex
    except (LookupError, ValueError):
        return None
    return None if found.replace("-", "_") in _NO_FILES else ENCODINGS.get(found, found)


def read_text(data: bytes, codec: str) -> tuple[str, str | None]:
    """The text, without its byte-order mark, and what is doubtful about it.

    :raises Unreadable: where it is written in another encoding.
    """
    stated = codec.removesuffix("-sig")
    if codec == "utf-16" and not data.startswith(_MARKS):
        raise Unreadable(
            None, f"This list does not begin with the mark by which UTF-16 is known. {_likely(data, codec)}"
        )
    try:
        text = data.decode(codec)
    except UnicodeError as error:
        at = getattr(error, "start", 0)
        raise Unreadable(
            data[:at].count(b"\n") + 1 if at else None,
            f"This list is not written in {stated}, as the mapping says: a character here cannot be read. "
            + _likely(data, codec),
        ) from None
    if "\x00" in text:
        raise Unreadable(
            text[: text.index("\x00")].count("\n") + 1,
            "This row holds a character NUL, so the list is damaged or in another encoding than the mapping says. "
            + _likely(data, codec),
        )
    return text.removeprefix("\ufeff"), None if codec in _ALL_CHARACTERS else _doubt(data, text, stated)


def _doubt(data: bytes, text: str, stated: str) -> str | None:
    if not data.isascii() and _is_utf8(data):
        return (
            f"Every character of this list can be read as UTF-8, and the mapping says {stated}: look whether its accents "
            "come out right."
        )
    if (found := re.search("[\x80-\x9f]", text)) is not None:
        return (
            f"In {stated} this list holds characters that nobody can see (the first in line "
            f"{text[: found.start()].count(chr(10)) + 1}), so it may be written in windows-1252, where they are quotation "
            "marks, dashes and the like: look, and state that."
        )
    return None


def _likely(data: bytes, codec: str) -> str:
    """What the list seems to be written in, as a sentence that says how to state it."""
    if data.startswith(_MARKS):
        return 'It begins as UTF-16 does: write encoding = "utf-16" below [list].'
    nuls = [data[start : 1 << 16 : 2].count(0) for start in (0, 1)]
    if max(nuls) > len(data[: 1 << 16]) // 8:
        order = "utf-16-le" if nuls[1] > nuls[0] else "utf-16-be"
        return f'It looks like UTF-16 without its mark: write encoding = "{order}" below [list].'
    if codec != "utf-8-sig" and _is_utf8(data):
        return 'All of it can be read as UTF-8: write encoding = "utf-8" below [list].'
    return _OFTEN


def _is_utf8(data: bytes) -> bool:
    try:
        data.decode("utf-8")
    except UnicodeDecodeError:
        return False
    return True
