"""A file of text looked at once, byte by byte, before any of it is read: can it be read at all, and how fast?"""

from __future__ import annotations

import codecs
from dataclasses import dataclass
from pathlib import Path

from collection.ingest.characters import beyond_ascii, holds_unseen, may_not_be_nfc
from collection.ingest.faults import SAVE_AS_UTF8

LONGEST_LINE = 4 << 20
BLOCK = 1 << 20


@dataclass(frozen=True, slots=True)
class Traits:
    """What a look at a file's bytes says about its cells, so that clean files need no second look."""

    undecodable: bool = False
    unseen: bool = False
    not_nfc: bool = False
    recorded: bool = False
    """Whether the word `recorded` occurs at all, as in `not recorded`."""
    returns: bool = False
    """Whether a cell may hold a carriage return: there are some, and there are quotation marks."""


def inspect(path: Path) -> tuple[Traits, str | None]:
    """One look at all bytes of a table, or the reason why it cannot be read as text at all."""
    undecodable = unseen = not_nfc = recorded = quoted = returns = False
    decoder = codecs.getincrementaldecoder("utf-8")()
    with open(path, "rb") as file:
        start = file.read(4)
        if start[:2] in (b"\xff\xfe", b"\xfe\xff") or b"\x00" in start[:2]:
            return Traits(), f"This file is written in UTF-16. {SAVE_AS_UTF8}"
        if start[:4] == b"PK\x03\x04":
            return Traits(), "This is a workbook or an archive under the name of a CSV. Save the sheet as CSV UTF-8."
        file.seek(3 if start[:3] == codecs.BOM_UTF8 else 0)
        while block := file.read(BLOCK):
            rest = file.readline(LONGEST_LINE)
            if len(rest) == LONGEST_LINE:
                return Traits(), f"A line of this file is over {LONGEST_LINE >> 20} MB long, which no sheet needs."
            block += rest
            recorded = recorded or b"recorded" in block.lower()
            quoted, returns = quoted or b'"' in block, returns or b"\r" in block
            if not block.isascii():
                not_nfc = not_nfc or may_not_be_nfc(beyond_ascii(block))
                try:
                    decoder.decode(block, False)
                except UnicodeDecodeError:
                    undecodable = True
                    decoder.reset()
            unseen = unseen or holds_unseen(block)
        try:
            decoder.decode(b"", True)
        except UnicodeDecodeError:
            undecodable = True
    return Traits(undecodable, unseen, not_nfc, recorded, quoted and returns), None
