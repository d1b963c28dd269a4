"""A first look at the bytes of a CSV or TOML file: whether it can be read, and whether the fast reading is enough."""

from __future__ import annotations

import codecs
import re
from dataclasses import dataclass
from pathlib import Path

from collection.ingest.package.characters import beyond_ascii, lowered, may_not_be_nfc, unseen_among
from collection.ingest.package.faults import SAVE_AS_UTF8

LONGEST_LINE = 4 << 20
BLOCK = 1 << 20
_STRAY_POINT = re.compile(rb"\.[^0-9]")


@dataclass(frozen=True, slots=True)
class Traits:
    """What the bytes of a file say about its cells, so that clean files need no second look."""

    undecodable: bool = False
    unseen: bool = False
    not_nfc: bool = False
    recorded: bool = False
    """Whether the word `recorded` occurs at all, as in `not recorded`."""
    odd_numbers: bool = False
    """Whether a number may be written in a way that a plain conversion takes and this program does not: 1_0, 5. and
    negative exponents."""
    returns: bool = False
    """Whether a cell may hold a carriage return: there are some, and there are quotation marks."""
    formulas: bool = True
    """Whether a text may look like a formula to a spreadsheet."""
    commas: bool = True
    """Whether a number may be written with a comma, where that is the decimal mark."""


def inspect(path: Path) -> tuple[Traits, str | None]:
    """The traits of a table from all its bytes, or the reason why it cannot be read as text at all."""
    look = _Look()
    with open(path, "rb") as file:
        start = file.read(4)
        if start[:2] in (b"\xff\xfe", b"\xfe\xff") or b"\x00" in start[:2]:
            wide = "UTF-32" if start in (b"\xff\xfe\x00\x00", b"\x00\x00\xfe\xff") else "UTF-16"
            return Traits(), f"This file is written in {wide}. {SAVE_AS_UTF8}"
        if start[:4] == b"PK\x03\x04":
            return Traits(), "This is a workbook or an archive under the name of a CSV. Save the sheet as CSV UTF-8."
        file.seek(3 if start[:3] == codecs.BOM_UTF8 else 0)
        head = file.readline(LONGEST_LINE)
        small, lines = look.at_text(head), 1
        if len(head) == LONGEST_LINE:
            return Traits(), _endless(lines)
        if b"\r" in head.rstrip(b"\r\n"):
            # Lines that end in a carriage return alone: these are no headings only.
            look.at_numbers(head, small)
        while block := file.read(BLOCK):
            rest = file.readline(LONGEST_LINE)
            lines += block.count(b"\n") + 1
            if len(rest) == LONGEST_LINE:
                return Traits(), _endless(lines)
            block += rest
            look.at_numbers(block, look.at_text(block))
    return look.traits(), None


def _endless(line: int) -> str:
    return (
        f"Line {line} of this file is over {LONGEST_LINE >> 20} MB long, which no sheet needs. Look there for a "
        "quotation mark that is not closed, or for a whole text in one cell: keep such a text as a file among the "
        "sources. Lines have to end in a line feed."
    )


class _Look:
    """What has been seen of a file so far, block by block, each ending at the end of a line."""

    def __init__(self) -> None:
        self._decoder = codecs.getincrementaldecoder("utf-8")()
        self._undecodable = self._unseen = self._not_nfc = self._recorded = self._odd = False
        self._quoted = self._returns = self._formulas = False

    def at_text(self, block: bytes) -> bytes:
        small = lowered(block)
        self._unseen = self._unseen or len(small) != len(block)
        self._recorded = self._recorded or b"recorded" in small
        self._quoted, self._returns = self._quoted or b'"' in block, self._returns or b"\r" in block
        self._formulas = self._formulas or b"=" in block or b"@" in block or b"|" in block
        if not block.isascii():
            self._decode(block)
            beyond = beyond_ascii(block)
            self._unseen = self._unseen or unseen_among(beyond)
            self._not_nfc = self._not_nfc or may_not_be_nfc(beyond)
        return small

    def at_numbers(self, block: bytes, small: bytes) -> None:
        # The headings are not looked at here: their underscores say nothing of the numbers below.
        self._odd = self._odd or b"_" in block or b"e-" in small or _STRAY_POINT.search(block) is not None

    def traits(self) -> Traits:
        self._decode(b"", final=True)
        return Traits(
            self._undecodable,
            self._unseen,
            self._not_nfc,
            self._recorded,
            self._odd,
            self._quoted and self._returns,
            self._formulas,
        )

    def _decode(self, block: bytes, final: bool = False) -> None:
        try:
            self._decoder.decode(block, final)
        except UnicodeDecodeError:
            self._undecodable = True
            self._decoder.reset()
