"""The parts of a workbook beside its rows: which sheets there are, its texts, its number formats, its dates.

Source: ECMA-376 Part 1 (Office Open XML, also ISO/IEC 29500-1) for SpreadsheetML, Part 2 for the package. Nothing
outside of the file is ever looked up: links to other workbooks are left alone.
"""

from __future__ import annotations

import posixpath
import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from xml.parsers import expat

from collection.ingest.package import zip_file
from collection.ingest.package.workbook.number_formats import PLAIN, Shown, shown

BOUNDS = zip_file.Bounds(entries=10_000, entry=600 * zip_file.MB, total=1_000 * zip_file.MB, ratio=200)
MOST_TEXTS = 100 * zip_file.MB
"""Bytes of the part that holds the texts, which is read into memory as a whole."""
LARGEST_PART = 20 * zip_file.MB
"""Bytes of any part that tells how the workbook is made."""

DEEPEST_PART = 200
"""Elements in each other; the parser keeps all that are open in memory."""
LONGEST_PIECE = 16 * zip_file.MB
"""Bytes between one tag's start and the next; a spreadsheet's longest cell has 32,767 characters."""
SPLIT = "Split the survey into several workbooks, each with a sheet survey of its own."

Attributes = Mapping[str, str]


class Broken(Exception):
    """A part that cannot be read; the message is a sentence."""


DAMAGED = "The workbook is damaged here and was not read further. Open it, save it anew and hand that in."
_ENCODINGS = frozenset({"utf-8", "utf-16", "iso-8859-1", "us-ascii"})
"""A package is written in one of the first two (Part 2, "XML usage"; from memory); the parser knows all four."""
_DECLARES = "The workbook declares XML entities, as no spreadsheet does. Look where it comes from."
MADE_IN_BOOK = (
    "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet.main+xml",
    "application/vnd.openxmlformats-officedocument.spreadsheetml.template.main+xml",
)


@dataclass(frozen=True, slots=True)
class BookSheet:
    """One sheet of the workbook; `part` is its entry in the zip file, None for a chart or macro sheet."""

    name: str
    part: str | None
    hidden: bool


@dataclass
class Book:
    """A workbook's parts, all but the rows."""

    path: Path
    sheets: list[BookSheet] = field(default_factory=list)
    texts: list[str] = field(default_factory=list)
    formats: list[Shown] = field(default_factory=list)
    base_1904: bool = False

    def shown(self, style: int) -> Shown:
        return self.formats[style] if style < len(self.formats) else PLAIN


def local(name: str) -> str:
    """A name without its prefix. Names are told apart by this alone: two editions of the standard have different
    namespaces for the same elements."""
    return name.rpartition(":")[2]


class Reader:
    """A streaming XML reader that gives local names, takes no declared entities and holds no endless piece."""

    def __init__(
        self,
        start: Callable[[str, Attributes], None],
        end: Callable[[str], None] | None = None,
        text: Callable[[str], None] | None = None,
    ) -> None:
        self._parser = expat.ParserCreate()
        self._parser.buffer_text = True
        depth = 0

        def begin(name: str, attributes: Attributes) -> None:
            nonlocal depth
            depth += 1
            if depth > DEEPEST_PART:
                raise Broken(DAMAGED)
            start(local(name), attributes)

        def finish(name: str) -> None:
            nonlocal depth
            depth -= 1
            if end is not None:
                end(local(name))

        self._parser.StartElementHandler, self._parser.EndElementHandler = begin, finish
        if text is not None:
            self._parser.CharacterDataHandler = text
        self._parser.XmlDeclHandler = _refuse_encodings
        self._parser.StartDoctypeDeclHandler = _refuse_declarations
        self._fed = 0

    def feed(self, block: bytes, *, last: bool = False) -> None:
        """:raises Broken: where the bytes are no XML."""
        try:
            self._parser.Parse(block, last)
        except expat.ExpatError:
            raise Broken(DAMAGED) from None
        self._fed += len(block)
        if self._fed - self._parser.CurrentByteIndex > LONGEST_PIECE:
            raise Broken(DAMAGED)

    def feed_all(self, blocks: Iterable[bytes]) -> None:
        for block in blocks:
            self.feed(block)
        self.feed(b"", last=True)


def _refuse_encodings(version: str, encoding: str | None, standalone: int) -> None:
    if encoding is not None and encoding.lower() not in _ENCODINGS:
        raise Broken(
            f"A part of the workbook says that it is written in {encoding[:40]!r}, and a workbook is written "
            "in UTF-8. Open it, save it anew and hand that in."
        )


def _refuse_declarations(*_: object) -> None:
    raise Broken(_DECLARES)


def read_book(path: Path) -> Book:
    """A workbook's parts.

    :raises InputRefused: when the file as a whole cannot be taken.
    :raises Broken: when a part cannot be read.
    """
    listed = zip_file.look_over(path, BOUNDS, "workbook", SPLIT)
    entries = {entry.filename: entry.file_size for entry in listed}
    if len({name.casefold() for name in entries}) < len(listed):
        raise Broken("The workbook holds a part twice. Open it, save it anew and hand that in.")
    try:
        return _read_book(path, entries)
    except zip_file.Damaged:
        raise Broken(DAMAGED) from None


def _read_book(path: Path, entries: Mapping[str, int]) -> Book:
    main = next((target for kind, target in _related(path, entries, "").values() if kind == "officeDocument"), None)
    if main is None or main not in entries:
        raise Broken("This file is no workbook: it names no main part. Save it as .xlsx.")
    book = Book(path)
    related = _related(path, entries, main)
    listed: list[tuple[str, str, bool]] = []

    def start(name: str, attributes: Attributes) -> None:
        if name == "workbookPr":
            book.base_1904 = attributes.get("date1904", "0") in ("1", "true", "on")
        elif name == "sheet":
            by_name = {local(key): value for key, value in attributes.items()}
            listed.append(
                (unescape(by_name.get("name", "")), by_name.get("id", ""), by_name.get("state", "visible") != "visible")
            )

    _parse(path, entries, main, start)
    for name, link, hidden in listed:
        kind, target = related.get(link, ("", ""))
        if kind == "worksheet" and target not in entries:
            raise Broken(
                f"The workbook names a sheet {name!r} that it does not hold. Open it, save it anew and hand that in."
            )
        book.sheets.append(BookSheet(name, target if kind == "worksheet" else None, hidden))
    parts = {kind: target for kind, target in related.values() if target in entries}
    if "styles" in parts:
        book.formats = _formats(path, entries, parts["styles"])
    if "sharedStrings" in parts:
        book.texts = _texts(path, entries, parts["sharedStrings"])
    return book


def main_type(path: Path, entries: Mapping[str, int]) -> str:
    """The content type that the package declares for its main part; blank where it declares none.

    :param entries: the size of each entry.
    :raises Broken: where that cannot be read.
    """
    main = next((target for kind, target in _related(path, entries, "").values() if kind == "officeDocument"), "")
    found = {"": ""}

    def start(name: str, attributes: Attributes) -> None:
        if name == "Override":
            found[attributes.get("PartName", "").lstrip("/")] = attributes.get("ContentType", "")

    _parse(path, entries, "[Content_Types].xml", start)
    return found.get(main, "")


def _related(path: Path, entries: Mapping[str, int], part: str) -> dict[str, tuple[str, str]]:
    """What a part points to inside the file, by id: the last word of the relation's type, and the entry."""
    folder, name = posixpath.split(part)
    relations = posixpath.join(folder, "_rels", f"{name}.rels")
    found: dict[str, tuple[str, str]] = {}

    def start(name: str, attributes: Attributes) -> None:
        if name == "Relationship" and attributes.get("TargetMode") != "External":
            target = attributes.get("Target", "")
            target = target[1:] if target.startswith("/") else posixpath.normpath(posixpath.join(folder, target))
            found[attributes.get("Id", "")] = attributes.get("Type", "").rpartition("/")[2], target

    if relations in entries:
        _parse(path, entries, relations, start)
    return found


def _parse(path: Path, entries: Mapping[str, int], part: str, start: Callable[[str, Attributes], None]) -> None:
    if entries.get(part, 0) > LARGEST_PART:
        raise Broken(
            f"A part of this workbook that holds no rows is over {LARGEST_PART // zip_file.MB} MB large. Open "
            "it, save it anew and hand that in."
        )
    with zip_file.opened(path, part) as blocks:
        Reader(start).feed_all(blocks)


def _formats(path: Path, entries: Mapping[str, int], part: str) -> list[Shown]:
    """What each style of a cell shows (18.8.10, 18.8.45)."""
    codes: dict[int, str] = {}
    numbers: list[int] = []
    inside = False

    def start(name: str, attributes: Attributes) -> None:
        nonlocal inside
        if name in ("cellXfs", "cellStyleXfs", "dxfs"):
            inside = name == "cellXfs"
        elif name == "numFmt":
            codes[_whole(attributes.get("numFmtId"))] = attributes.get("formatCode", "")
        elif name == "xf" and inside:
            numbers.append(_whole(attributes.get("numFmtId", "0")))

    _parse(path, entries, part, start)
    return [shown(number, codes.get(number)) for number in numbers]


def _whole(text: str | None) -> int:
    if text is None or not re.fullmatch("[0-9]{1,9}", text):
        raise Broken(DAMAGED)
    return int(text)


def _texts(path: Path, entries: Mapping[str, int], part: str) -> list[str]:
    """The texts that cells point to by number (18.4.9); what only tells how to say them aloud is left out."""
    if entries[part] > MOST_TEXTS:
        raise Broken(f"The texts of this workbook take more than {MOST_TEXTS // zip_file.MB} MB. {SPLIT}")
    found: list[str] = []
    gathered = Text()

    def start(name: str, _: Attributes) -> None:
        gathered.start(name)

    def end(name: str) -> None:
        gathered.end(name)
        if name == "si":
            found.append(gathered.taken())

    with zip_file.opened(path, part) as blocks:
        Reader(start, end, gathered.characters).feed_all(blocks)
    return found


class Text:
    """The text of a shared or inline string, run after run, gathered while it is read."""

    def __init__(self) -> None:
        self._pieces: list[str] = []
        self._run: list[str] | None = None
        self._spoken = 0

    def start(self, name: str) -> None:
        if name == "rPh":
            self._spoken += 1
        elif name == "t" and not self._spoken:
            self._run = []

    def end(self, name: str) -> None:
        if name == "rPh":
            self._spoken -= 1
        elif name == "t" and self._run is not None:
            self._pieces.append(unescape("".join(self._run)))
            self._run = None

    def characters(self, data: str) -> None:
        if self._run is not None:
            self._run.append(data)

    def taken(self) -> str:
        text = "".join(self._pieces)
        self._pieces = []
        return text


_ESCAPED = re.compile("_x([0-9A-Fa-f]{4})_")


def unescape(text: str) -> str:
    """Characters that XML cannot hold are written `_x000D_` (22.9.2.19); `_x005F_` stands for `_` before such."""
    return _ESCAPED.sub(lambda found: chr(int(found[1], 16)), text) if "_x" in text else text
