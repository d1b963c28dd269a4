"""The XML parts of a workbook, handed to openpyxl in bounds.

The library bounds nothing: it would follow declared entities, and hold an endless tag, row or depth in memory. So the
start of each part is looked at first, a part that is read as a whole is looked through, and rows and texts are taken
from the stream one by one.
"""

from __future__ import annotations

import errno
import zipfile
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO, Any
from xml.etree.ElementTree import Element, iterparse
from xml.parsers import expat

from openpyxl.xml.constants import SHEET_MAIN_NS
from openpyxl.xml.functions import fromstring

from collection.ingest.package import zip_file
from collection.language.errors import OurFault

BOUNDS = zip_file.Bounds(entries=10_000, entry=300 * zip_file.MB, total=600 * zip_file.MB, ratio=200)
LARGEST_PART = 20 * zip_file.MB
"""Bytes of a part that is read as a whole."""
LONGEST_PIECE = 4 * zip_file.MB
"""Bytes between the ends of two rows, or of two texts; a cell has at most 32,767 characters."""
MOST_ELEMENTS, DEEPEST_PART = 200_000, 100
"""Elements of a part, but for those in its rows or texts, and in each other."""
SPLIT = "Split the survey into several workbooks, each with a sheet survey of its own."
DAMAGED = "The workbook is damaged here and was not read further. Open it, save it again and hand that in."
_DECLARES = "The workbook declares XML entities, as no spreadsheet does. Look where it comes from."
_STRICT = "This workbook was saved as “Strict Open XML”, which is not read. Save it as an ordinary .xlsx workbook."

# Part 2 of ECMA-376 allows the first two ("XML usage"; from memory); expat knows all four.
_ENCODINGS = frozenset({"utf-8", "utf-16", "iso-8859-1", "us-ascii"})
_ROOTS = ("worksheet", "sst", "styleSheet", "workbook", "comments")
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

    def check(self, part: str, *, largest: int = BOUNDS.entry, whole: bool = False) -> None:
        """:raises Broken: where the part is not there, declares entities or, read as a whole, is beyond the bounds."""
        if part in self._checked:
            return
        if part not in self.NameToInfo:
            raise Broken(DAMAGED)
        if self.NameToInfo[part].file_size > largest:
            raise Broken(f"A part of this workbook is over {largest // zip_file.MB} MB large. {SPLIT}")
        try:
            with zip_file.opened(self._path, part) as blocks:
                _check(blocks, whole)
        except zip_file.Damaged:
            raise Broken(DAMAGED) from None
        self._checked.add(part)

    def whole(self, part: str) -> Element:
        """:raises Broken: where it cannot be read, or is beyond the bounds."""
        self.check(part, largest=LARGEST_PART, whole=True)
        with reading():
            found: Element = fromstring(self.read(part))
            return found

    def open(self, name: str | zipfile.ZipInfo, *args: Any, **options: Any) -> IO[bytes]:
        if (name if isinstance(name, str) else name.filename) not in self._checked:
            raise OurFault(f"A part of a workbook was opened before it was checked: {name}")
        return super().open(name, *args, **options)


class _Metered:
    """A file that can be read only so far, until `read_so_far` is set back."""

    def __init__(self, file: IO[bytes]) -> None:
        self._file, self.read_so_far = file, 0

    def read(self, size: int = -1) -> bytes:
        block = self._file.read(size)
        self.read_so_far += len(block)
        if self.read_so_far > LONGEST_PIECE:
            raise Broken(DAMAGED)
        return block


def pieces(file: IO[bytes], tag: str, depth: int, inside: str = "") -> Iterator[Element]:
    """The elements of a part that stand so deep or less deep, each as soon as it ends; it is emptied afterwards.

    :param tag: of those that make up the part, such as its rows, which stand nowhere else.
    :param depth: at which they stand, 1 being the root.
    :param inside: the tag of those that stand right in them, and nowhere else.
    :raises Broken: where a piece is too long or too deep, or there are too many others.
    """
    metered, deepest, here, others = _Metered(file), DEEPEST_PART, 0, 0
    elements: Iterator[tuple[str, Element]] = iterparse(metered, ("start", "end"))
    for event, element in elements:
        if event == "start":
            here += 1
            if here > deepest:
                raise Broken(DAMAGED)
            continue
        here -= 1
        if here >= depth:
            if element.tag == (tag if here == depth else inside):
                raise Broken(DAMAGED)
            continue
        yield element
        element.clear()
        if element.tag == tag:
            metered.read_so_far = 0
        else:
            others += 1
            if others > MOST_ELEMENTS:
                raise Broken(DAMAGED)


@contextmanager
def reading() -> Iterator[None]:
    """Whatever the library and the zip file below it say of a part that they cannot read is damage.

    Only their calls stand inside, so that no error of ours is taken for it.
    """
    try:
        yield
    except (Broken, OurFault, MemoryError):
        raise
    except OSError as error:
        if error.errno not in (None, errno.EINVAL):
            raise
        raise Broken(DAMAGED) from error
    except Exception as error:
        raise Broken(DAMAGED) from error


class _Enough(Exception):
    """The start of a part is over, and what it may declare with it."""


def _check(blocks: Iterable[bytes], whole: bool) -> None:
    """Look at the start of a part, or through all of it.

    :raises Broken: where it is no XML, or none that a spreadsheet writes.
    """
    parser = expat.ParserCreate(namespace_separator=" ")
    elements = here = length = 0

    def start(name: str, _: object) -> None:
        nonlocal elements, here
        space, _, local = name.rpartition(" ")
        if not elements and local in _ROOTS and space != SHEET_MAIN_NS:
            raise Broken(_STRICT if space.startswith(_STRICT_NAMES) else DAMAGED)
        elements, here = elements + 1, here + 1
        if not whole:
            raise _Enough
        if elements > MOST_ELEMENTS or here > DEEPEST_PART:
            raise Broken(DAMAGED)

    def end(_: str) -> None:
        nonlocal here
        here -= 1

    parser.StartElementHandler, parser.EndElementHandler = start, end
    parser.XmlDeclHandler, parser.StartDoctypeDeclHandler = _refuse_encodings, _refuse_declarations
    try:
        for block in blocks:
            parser.Parse(block, False)
            length += len(block)
            if length > (LARGEST_PART if whole else LONGEST_PIECE):
                raise Broken(DAMAGED)
        parser.Parse(b"", True)
    except expat.ExpatError:
        raise Broken(DAMAGED) from None
    except _Enough:
        return


def _refuse_encodings(version: str, encoding: str | None, standalone: int) -> None:
    if encoding is not None and encoding.lower() not in _ENCODINGS:
        raise Broken(
            f"A part of the workbook says that it is written in {encoding[:40]!r}, and a workbook is written "
            "in UTF-8. Open it, save it again and hand that in."
        )


def _refuse_declarations(*_: object) -> None:
    raise Broken(_DECLARES)
