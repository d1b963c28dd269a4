"""An .xlsx workbook as openpyxl reads it: its sheets, the formats of its cells, and its rows one by one.

Why openpyxl: it says of a cell what we have to tell (formula, error, format, type as written), which faster readers
such as calamine leave out. Its reader of rows is used below its public reader, because the one of those that streams
knows no hidden rows and no merged cells, and the other keeps every cell. Nothing outside of the file is looked up.
"""

from __future__ import annotations

import posixpath
import warnings
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, TypedDict
from xml.etree.ElementTree import Element

from openpyxl.cell.text import Text
from openpyxl.packaging.manifest import Manifest, Override
from openpyxl.packaging.relationship import get_dependents, get_rels_path
from openpyxl.packaging.workbook import WorkbookPackage
from openpyxl.utils import range_boundaries
from openpyxl.utils.escape import unescape
from openpyxl.worksheet._reader import CELL_TAG, COL_TAG, DATA_TAG, ROW_TAG, WorkSheetParser
from openpyxl.xml.constants import ARC_CONTENT_TYPES, SHEET_MAIN_NS, XLSX, XLTX

from collection.ingest.package import zip_file
from collection.ingest.package.sheets import LONGEST_CELL
from collection.ingest.package.workbook.checked_parts import (
    BOUNDS,
    DAMAGED,
    LARGEST_PART,
    SPLIT,
    Broken,
    CheckedParts,
    pieces,
    reading,
)
from collection.ingest.package.workbook.number_formats import PLAIN, Shown, shown
from collection.ingest.package.workbook.struck_text import (
    STRIKE,
    Struck,
    StruckText,
    mark_inline,
    striking_styles,
    with_struck,
)

MOST_TEXTS = 100 * zip_file.MB
"""Bytes of the part that holds the texts, which stay in memory."""
MOST_CELLS = 1_000_000
"""Cells of a workbook's sheets, with those that are blank and only have a format."""
MOST_STRUCK = 10_000
"""Struck-out rows, cells and parts of a sheet that are listed one by one."""
LAST_ROW, LAST_COLUMN = 1_048_576, 16_384
"""The largest sheet that a spreadsheet program opens."""
WORKBOOK_TYPES = frozenset({XLSX, XLTX})
_TEXT_TAG, _MERGED_TAG = f"{{{SHEET_MAIN_NS}}}si", f"{{{SHEET_MAIN_NS}}}mergeCell"
_TRUE = ("1", "true")
_DISORDER = "The {} of this sheet do not stand in order. Open the workbook, save it again and hand that in."
_TOO_LARGE = (
    f"This workbook has more than {MOST_CELLS:,} cells, counting those that are blank and only have a format. Delete "
    "the rows and columns that nothing stands in, or hand the survey in as a folder of CSV files."
)
_LONG = (
    "A cell here is longer than any text may be (20,000 characters), so the rest of the sheet was not read. Keep a "
    "long text as a file among the sources."
)


@dataclass(frozen=True, slots=True)
class BookSheet:
    """One sheet of the workbook; `part` is its entry in the zip file, None for a chart or macro sheet."""

    name: str
    part: str | None
    hidden: bool


class Cell(TypedDict):
    """One cell as the library has it: column from 1; data_type f, n, s, b, d or e; None where it is blank."""

    row: int
    column: int
    value: Any
    data_type: str
    style_id: int


@dataclass
class Seen:
    """What a sheet shows beside its cells; complete when its rows have been read to the end."""

    hidden_rows: list[int] = field(default_factory=list)
    hidden_columns: list[tuple[int, int]] = field(default_factory=list)
    """The first and the last of each group, counted from 1."""
    merged: list[str] = field(default_factory=list)
    """Ranges such as A2:B7."""
    struck: list[Struck] = field(default_factory=list)
    struck_inside: bool = False
    """Whether texts that stand in the sheet itself, and not among the shared ones, may be struck out."""
    more_struck: int = 0
    """How many rows, cells and parts are struck out beyond the first `MOST_STRUCK`."""

    def note_struck(self, row: int, cells: list[Cell], styles: frozenset[int]) -> None:
        """Keep what is struck out in a row's filled cells; `styles` strike a whole cell out."""
        found = [
            Struck(row, cell["column"], str(value), "" if cell["style_id"] in styles else value.part)
            for cell in cells
            if type(value := cell["value"]) is StruckText or cell["style_id"] in styles
        ]
        if not found:
            return
        if len(found) == len(cells) and not any(each.part for each in found):
            found = [Struck(row)]
        room = MOST_STRUCK - len(self.struck)
        self.struck += found[:room]
        self.more_struck += len(found[room:])


@dataclass
class Book:
    """A workbook, all but the rows."""

    path: Path
    sheets: list[BookSheet] = field(default_factory=list)
    texts: dict[int, str] = field(default_factory=dict)
    """The texts that cells point to by number."""
    formats: list[Shown] = field(default_factory=list)
    codes: list[str | None] = field(default_factory=list)
    struck_styles: frozenset[int] = frozenset()
    """The styles that strike a cell out."""
    struck_texts: bool = False
    """Whether any of the texts is struck out."""
    base_1904: bool = False
    _checked: set[str] = field(default_factory=set)
    _counted: dict[str, int] = field(default_factory=dict)

    def parts(self) -> CheckedParts:
        with reading():
            return CheckedParts(self.path, self._checked)

    def shown(self, style: int) -> Shown:
        return self.formats[style] if 0 <= style < len(self.formats) else PLAIN

    def noughts(self, style: int) -> int:
        """How many digits a format such as 000 shows at least, which puts noughts before a number; 0 for any other."""
        code = self.codes[style] if 0 <= style < len(self.codes) else None
        return len(code) if code and not code.strip("0") else 0

    def rows(self, sheet: BookSheet, seen: Seen) -> Iterator[tuple[int, list[Cell]]]:
        """Every row in which a cell is not blank, with its number and those cells, in order.

        :raises Broken: where the sheet cannot be read further.
        """
        part = sheet.part or ""
        last = self._counted[part] = 0
        with self.parts() as parts:
            parts.check(part)
            rows = _rows(parts, part, self.texts, seen)
            while True:
                with reading():
                    row = next(rows, None)
                if row is None:
                    return
                number, cells = row
                if not last < number <= LAST_ROW:
                    raise Broken(_DISORDER.format("rows"))
                last = number
                self._counted[part] += len(cells)
                if sum(self._counted.values()) > MOST_CELLS:
                    raise Broken(_TOO_LARGE)
                if filled := _filled(number, cells):
                    if self.struck_styles or self.struck_texts or seen.struck_inside:
                        seen.note_struck(number, filled, self.struck_styles)
                    yield number, filled


def _rows(parts: CheckedParts, part: str, texts: dict[int, str], seen: Seen) -> Iterator[tuple[int, list[Cell]]]:
    """The rows of a sheet as the library has them."""
    ended = False
    with parts.open(part) as file:
        parser = WorkSheetParser(file, texts)
        for element in pieces(file, ROW_TAG, 3, CELL_TAG):
            if element.tag == ROW_TAG:
                number, cells = parser.parse_row(element)
                parser.row_dimensions.clear()
                if ended or number > LAST_ROW:
                    raise Broken(_DISORDER.format("rows"))
                if element.get("hidden") in _TRUE:
                    seen.hidden_rows.append(number)
                if next(element.iter(STRIKE), None) is not None:
                    mark_inline(element, cells)
                    seen.struck_inside = True
                if cells:
                    yield number, cells
            elif element.tag == DATA_TAG:
                ended = True
            elif element.tag == COL_TAG and element.get("hidden") in _TRUE:
                seen.hidden_columns.append((int(element.get("min", "")), int(element.get("max", ""))))
            elif element.tag == _MERGED_TAG:
                seen.merged.append(element.get("ref", ""))


def _filled(row: int, cells: list[Cell]) -> list[Cell]:
    """Those cells that are not blank, after making sure that all stand in this row and in order."""
    filled, last = [], 0
    for cell in cells:
        column, value = cell["column"], cell["value"]
        if cell["row"] != row or not last < column <= LAST_COLUMN:
            raise Broken(_DISORDER.format("cells"))
        last = column
        if value is None:
            continue
        filled.append(cell)
        kind = type(value)
        if kind is str or kind is StruckText:
            if len(value) > LONGEST_CELL:
                raise Broken(_LONG)
            if "_x" in value:
                # Characters that XML cannot hold are written `_x000D_` (ECMA-376 Part 1, 22.9.2.19).
                text = unescape(value)
                cell["value"] = StruckText(text, unescape(value.struck)) if kind is StruckText else text
    return filled


def corner(place: str) -> tuple[int, int] | None:
    """The first column, from 0, and the first row of a range such as A2:B7; None where it is one cell only.

    :raises Broken: where it is no range of cells.
    """
    with reading():
        column, row, *last = range_boundaries(place)
    if None in (column, row, *last):
        raise Broken(DAMAGED)
    return None if [column, row] == last else (column - 1, row)


def open_book(path: Path) -> Book:
    """A workbook without its rows.

    :raises InputRefused: when the file as a whole cannot be taken.
    :raises Broken: when a part cannot be read.
    """
    listed = zip_file.check_zip(path, BOUNDS, "workbook", SPLIT)
    sizes = {entry.filename: entry.file_size for entry in listed}
    if len({name.casefold() for name in sizes}) < len(listed):
        raise Broken("The workbook holds a part twice. Open it, save it again and hand that in.")
    book = Book(path)
    with book.parts() as parts:
        _read_book(book, parts)
    return book


def _read_book(book: Book, parts: CheckedParts) -> None:
    main = next((part.PartName[1:] for part in _declared(parts) if part.ContentType in WORKBOOK_TYPES), "")
    links = get_rels_path(main)
    parts.check(links, largest=LARGEST_PART, whole=True)
    root = parts.whole(main)
    with reading(), warnings.catch_warnings():
        # The library warns of what it leaves out, and nothing of that is read here.
        warnings.simplefilter("ignore")
        package = WorkbookPackage.from_tree(root)
        related = {link.id: link for link in get_dependents(parts, links) if link.TargetMode != "External"}
    book.base_1904 = bool(package.properties.date1904)
    for sheet in package.sheets:
        link = related.get(sheet.id)
        part = link.target if link is not None and posixpath.basename(link.Type) == "worksheet" else None
        if part is not None and part not in parts.NameToInfo:
            raise Broken(
                f"The workbook names a sheet {sheet.name!r} that it does not hold. Open it, save it again and hand "
                "that in."
            )
        book.sheets.append(BookSheet(unescape(sheet.name), part, sheet.state != "visible"))
    others = {posixpath.basename(link.Type): link.target for link in related.values()}
    if others.get("styles") in parts.NameToInfo:
        root = parts.whole(others["styles"])
        with reading():
            formats, book.struck_styles = _formats(root), striking_styles(root)
        book.formats = [shown(number, code) for number, code in formats]
        book.codes = [code for _, code in formats]
    if others.get("sharedStrings") in parts.NameToInfo:
        parts.check(others["sharedStrings"], largest=MOST_TEXTS)
        with reading():
            book.texts = _texts(parts, others["sharedStrings"])
        book.struck_texts = StruckText in map(type, book.texts.values())


def content_types(path: Path) -> frozenset[str]:
    """The content types that the package declares for its parts.

    :raises Broken: where that cannot be read.
    """
    with Book(path).parts() as parts:
        return frozenset(part.ContentType for part in _declared(parts))


def _declared(parts: CheckedParts) -> list[Override]:
    root = parts.whole(ARC_CONTENT_TYPES)
    with reading():
        return list(Manifest.from_tree(root).Override)


def _formats(styles: Element) -> list[tuple[int, str | None]]:
    """The number and the own code of each style's format.

    Not by the library's own list of styles, which refuses a workbook for a colour or a font that it does not know.
    """
    codes = {
        int(each.get("numFmtId", "")): each.get("formatCode", "")
        for each in styles.findall(f"{{{SHEET_MAIN_NS}}}numFmts/*")
    }
    numbers = [int(each.get("numFmtId", "0")) for each in styles.findall(f"{{{SHEET_MAIN_NS}}}cellXfs/*")]
    return [(number, codes.get(number)) for number in numbers]


def _texts(parts: CheckedParts, part: str) -> dict[int, str]:
    """The texts by number; not by the library's own list, which takes `_x005F_` for nothing and -1 for the last."""
    found: dict[int, str] = {}
    with parts.open(part) as file:
        for element in pieces(file, _TEXT_TAG, 2):
            if element.tag == _TEXT_TAG:
                if len(found) == MOST_CELLS:
                    raise Broken(_TOO_LARGE)
                text = Text.from_tree(element).content
                found[len(found)] = text if next(element.iter(STRIKE), None) is None else with_struck(text, element)
    return found
