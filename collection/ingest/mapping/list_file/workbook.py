"""A list that is a sheet of a workbook: its rows, with cells that know what a spreadsheet may have made of them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Protocol

from openpyxl.utils import get_column_letter

from collection.ingest.mapping.list_file.table import Numbered
from collection.ingest.package.faults import shortened
from collection.ingest.package.headings import nearest, plain
from collection.ingest.package.package_format import kind_of
from collection.ingest.package.workbook.book import Book, BookSheet, Cell, Seen, corner, open_book
from collection.ingest.package.workbook.cells import cell_text, digits
from collection.ingest.package.workbook.checked_parts import Broken
from collection.ingest.package.workbook.number_formats import PLAIN, Look, as_seen, moment
from collection.ingest.package.workbook.remarks import Spots, remarks
from collection.language.errors import BadValue, Fault
from collection.records.columns import Column

_SUFFIXES = (".xlsx", ".xltx", ".xlsm", ".xls", ".xlsb", ".ods", ".fods", ".numbers")
_ZIP, _COMPOUND = b"PK\x03\x04", b"\xd0\xcf\x11\xe0"


class SpreadsheetCell(str):
    """A cell as it is shown, where a spreadsheet may have made something else of what was typed: a fraction, a date, a
    formula. Which columns can take it, and as what, is the same as for the sheets of a survey."""

    __slots__ = ("_book", "_cell", "among_dates")

    _book: Book
    _cell: Cell
    among_dates: bool
    """Whether most cells of its column are dates, so that nobody typed something else that became one."""

    def __new__(cls, shown: str, book: Book, cell: Cell) -> SpreadsheetCell:
        made = super().__new__(cls, shown)
        made._book, made._cell, made.among_dates = book, cell, False
        return made

    def read_for(self, column: Column) -> str:
        """The text for a column; may be `Refused`."""
        if self.among_dates and column.kind == "text":
            return str(self)
        return cell_text(self._book, column, self._cell)

    @property
    def is_date(self) -> bool:
        return self._cell["data_type"] == "n" and self._book.shown(self._cell["style_id"]).look is Look.DATE

    @property
    def is_formula(self) -> bool:
        return self._cell["data_type"] == "f"


@dataclass
class WorkbookRows:
    """The filled rows of one sheet; `numbers` counts, by column from 0, the cells that are whole numbers."""

    rows: list[Numbered] = field(default_factory=list)
    numbers: dict[int, int] = field(default_factory=dict)
    faults: list[Fault] = field(default_factory=list)
    doubts: list[Fault] = field(default_factory=list)


def is_workbook(path: Path) -> bool:
    """Whether a list has to be read as a workbook, by its first bytes or, where it is damaged, by its name."""
    with open(path, "rb") as file:
        return file.read(4) in (_ZIP, _COMPOUND) or path.suffix.lower() in _SUFFIXES


def read_workbook(name: str, path: Path, sheet: str | None) -> WorkbookRows:
    """The rows of the sheet that the mapping names, or of the only one that holds any.

    :raises InputRefused: when the file is no workbook, or one that cannot be taken as a whole.
    """
    found = WorkbookRows()

    def fault(row: int | None, value: str | None, message: str, near: str | None = None) -> None:
        found.faults.append(Fault(name, "", row, None, value, message, near))

    if kind_of(path) != "workbook":
        fault(None, None, "This is an archive, and no list. Hand in the CSV file or the workbook that is in it.")
        return found
    seen, last = Seen(), 0
    try:
        book = open_book(path)
        place = _sheet(book, sheet, fault)
        if place is None:
            return found
        for last, cells in book.rows(place, seen):
            found.rows.append((last, _texts(found, book, cells)))
    except Broken as error:
        fault(last + 1 if last else None, None, str(error))
        return found
    width = max((len(cells) for _, cells in found.rows), default=0)
    found.rows = [(row, [*cells, *[""] * (width - len(cells))]) for row, cells in found.rows]
    _mark_dates(found.rows, width)
    found.doubts += [Fault(name, "", row, None, value, message) for row, value, message in _doubts(found, place, seen)]
    try:
        found.doubts += [doubt for doubt, _ in remarks(book, place, seen, Spots(name, ""))]
    except Broken as error:
        fault(None, None, str(error))
    return found


class _Say(Protocol):
    def __call__(self, row: int | None, value: str | None, message: str, near: str | None = None) -> None: ...


def _sheet(book: Book, named: str | None, fault: _Say) -> BookSheet | None:
    with_cells = [place for place in book.sheets if place.part is not None]
    names = ", ".join(shortened(place.name) for place in with_cells)
    if named is not None:
        for place in with_cells:
            if plain(place.name) == plain(named):
                return place
        fault(
            None,
            named,
            f"The workbook has no such sheet. Its sheets are {names}.",
            nearest(named, [place.name for place in with_cells]),
        )
        return None
    filled = [place for place in with_cells if next(book.rows(place, Seen()), None) is not None]
    if len(filled) == 1:
        return filled[0]
    if not filled:
        fault(None, None, "All sheets of this workbook are blank.")
    else:
        names = ", ".join(shortened(place.name) for place in filled)
        fault(
            None,
            None,
            f"This workbook has several sheets ({names}). Say below [list] which one is the list: "
            f'sheet = "{filled[0].name}".',
        )
    return None


def _texts(found: WorkbookRows, book: Book, cells: list[Cell]) -> list[str]:
    texts = [""] * cells[-1]["column"]
    for cell in cells:
        at = cell["column"] - 1
        texts[at] = _text(book, cell)
        if cell["data_type"] == "n" and type(texts[at]) is str:
            found.numbers[at] = found.numbers.get(at, 0) + 1
    return texts


def _text(book: Book, cell: Cell) -> str:
    """A cell as it is shown; a text, a truth value or a whole number in a plain format is just that."""
    kind, value = cell["data_type"], cell["value"]
    if kind == "s":
        return str(value)
    if kind == "b":
        return str(bool(value)).upper()
    if kind != "n":
        return SpreadsheetCell(cell_text(book, None, cell), book, cell)
    seen, text = book.shown(cell["style_id"]), digits(value)
    if seen is PLAIN and text.isdecimal():
        return text.zfill(book.noughts(cell["style_id"]))
    if seen.look in (Look.DATE, Look.LOCAL):
        try:
            when = moment(value, book.base_1904)
            text = as_seen(when, seen) if seen.look is Look.DATE else when.date().isoformat()
        except BadValue:
            pass  # The number is shown, and no column takes it: `read_for` says why.
    return SpreadsheetCell(text, book, cell)


def _mark_dates(rows: list[Numbered], width: int) -> None:
    """Mark the dates of those columns in which at least half of the cells are dates."""
    for place in range(width):
        filled = [cells[place] for _, cells in rows if cells[place]]
        dates = [cell for cell in filled if isinstance(cell, SpreadsheetCell) and cell.is_date]
        for cell in dates:
            cell.among_dates = len(dates) * 2 >= len(filled)


def _doubts(found: WorkbookRows, place: BookSheet, seen: Seen) -> Iterator[tuple[int | None, str | None, str]]:
    """What a person may not have seen in the sheet, although it was read."""
    filled = {number for number, _ in found.rows}
    rows = [row for row in seen.hidden_rows if row in filled]
    if rows:
        yield rows[0], None, f"{len(rows)} rows of this sheet are hidden. They were read like all others."
    if seen.hidden_columns:
        shown = ", ".join(
            get_column_letter(first) + (f" to {get_column_letter(last)}" if last > first else "")
            for first, last in seen.hidden_columns
        )
        yield None, None, f"Hidden columns were read like all others: {shown}."
    if place.hidden:
        yield None, place.name, "This sheet is hidden. It was read like all others."
    merged = [each for each in seen.merged if corner(each) is not None]
    if merged:
        first = corner(merged[0])
        yield (
            None if first is None else first[1],
            merged[0],
            f"{len(merged)} groups of cells are merged into one. What is seen stands in the first row and column of each, "
            "and the rest is blank.",
        )
    formulas = [
        row for row, cells in found.rows for cell in cells if isinstance(cell, SpreadsheetCell) and cell.is_formula
    ]
    if formulas:
        yield (
            formulas[0],
            None,
            f"{len(formulas)} cells of this sheet are formulas: what they show may change, and is not read. Copy the cells "
            "and paste them as values.",
        )
