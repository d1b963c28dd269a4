"""The XML parts of a workbook, each looked through before openpyxl gets it, and handed to it in bounds.

The library bounds nothing: it would follow declared entities, and hold an endless tag or row in memory. So a part is
first read through by expat, which builds nothing, and stops at what no spreadsheet writes.
"""

from __future__ import annotations

import errno
import zipfile
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO, Any
from xml.parsers import expat

from openpyxl.xml.constants import SHEET_MAIN_NS

from collection.ingest.package import zip_file
from collection.language.errors import OurFault

BOUNDS = zip_file.Bounds(entries=10_000, entry=300 * zip_file.MB, total=600 * zip_file.MB, ratio=200)
LONGEST_PIECE = 4 * zip_file.MB
"""Bytes between the ends of two rows, or of two texts; a cell has at most 32,767 characters."""
SPLIT = "Split the survey into several workbooks, each with a sheet survey of its own."
DAMAGED = "The workbook is damaged here and was not read further. Open it, save it again and hand that in."
_DECLARES = "The workbook declares XML entities, as no spreadsheet does. Look where it comes from."
_STRICT = "This workbook was saved as “Strict Open XML”, which is not read. Save it as an ordinary .xlsx workbook."

# Part 2 of ECMA-376 allows the first two ("XML usage"; from memory); expat knows all four.
_ENCODINGS = frozenset({"utf-8", "utf-16", "iso-8859-1", "us-ascii"})
_ROOTS = ("worksheet", "sst", "styleSheet", "workbook")
_STRICT_NAMES = "http://purl.oclc.org/ooxml/"


class Broken(Exception):
    """A part that cannot be read; the message is a sentence."""


class CheckedParts(zipfile.ZipFile):
    """A workbook's zip file, of which only those parts can be opened that were checked.

    :param checked: the parts that were; kept up to date.
    """

    def __init__(self, path: Path, checked: set[str]) -> None:
        super().__init__(path)
        self._path, self._checked = path, checked

    def check(self, part: str, largest: int = BOUNDS.entry) -> None:
        """:raises Broken: where the part is not there, declares entities or goes beyond the bounds."""
        if part in self._checked:
            return
        if part not in self.NameToInfo:
            raise Broken(DAMAGED)
        if self.NameToInfo[part].file_size > largest:
            raise Broken(f"A part of this workbook is over {largest // zip_file.MB} MB large. {SPLIT}")
        try:
            with zip_file.opened(self._path, part) as blocks:
                _check(blocks)
        except zip_file.Damaged:
            raise Broken(DAMAGED) from None
        self._checked.add(part)

    def open(self, name: str | zipfile.ZipInfo, *args: Any, **options: Any) -> IO[bytes]:
        if (name if isinstance(name, str) else name.filename) not in self._checked:
            raise OurFault(f"A part of a workbook was opened before it was checked: {name}")
        return super().open(name, *args, **options)


class Metered:
    """A part that can be read until a piece of it gets too long; whoever reads it says where each piece ends."""

    def __init__(self, file: IO[bytes]) -> None:
        self._file, self._read = file, 0

    def read(self, size: int = -1) -> bytes:
        """:raises Broken: where a piece has no end."""
        block = self._file.read(size)
        self._read += len(block)
        if self._read > LONGEST_PIECE:
            raise Broken(DAMAGED)
        return block

    def piece_ends(self) -> None:
        self._read = 0


@contextmanager
def reading() -> Iterator[None]:
    """Whatever the library and the zip file below it say of a part that they cannot read is damage.

    Only their calls stand inside, so that no error of ours is taken for it.
    """
    try:
        yield
    except (OurFault, MemoryError):
        raise
    except OSError as error:
        if error.errno not in (None, errno.EINVAL):
            raise
        raise Broken(DAMAGED) from error
    except Exception as error:
        raise Broken(DAMAGED) from error


def _check(blocks: Iterable[bytes]) -> None:
    """Read one part through.

    :raises Broken: where it is no XML, or none that a spreadsheet writes.
    """
    parser = expat.ParserCreate(namespace_separator=" ")

    def root(name: str, _: object) -> None:
        space, _, local = name.rpartition(" ")
        if local in _ROOTS and space != SHEET_MAIN_NS:
            raise Broken(_STRICT if space.startswith(_STRICT_NAMES) else DAMAGED)
        parser.StartElementHandler = None

    parser.StartElementHandler = root
    parser.XmlDeclHandler, parser.StartDoctypeDeclHandler = _refuse_encodings, _refuse_declarations
    fed = 0
    try:
        for block in blocks:
            parser.Parse(block, False)
            fed += len(block)
            if fed - parser.CurrentByteIndex > LONGEST_PIECE:
                raise Broken(DAMAGED)
        parser.Parse(b"", True)
    except expat.ExpatError:
        raise Broken(DAMAGED) from None


def _refuse_encodings(version: str, encoding: str | None, standalone: int) -> None:
    if encoding is not None and encoding.lower() not in _ENCODINGS:
        raise Broken(
            f"A part of the workbook says that it is written in {encoding[:40]!r}, and a workbook is written "
            "in UTF-8. Open it, save it again and hand that in."
        )


def _refuse_declarations(*_: object) -> None:
    raise Broken(_DECLARES)
