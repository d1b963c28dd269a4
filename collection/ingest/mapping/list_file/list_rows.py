"""Reads the list itself: one CSV file in a stated encoding, or a sheet of a workbook; its headings and its rows."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path

from collection.ingest.mapping.list_file.encoding import Unreadable, read_text
from collection.ingest.mapping.list_file.table import LOOKED_THROUGH, Numbered, Table, find_table, named_once
from collection.ingest.mapping.list_file.workbook import is_workbook, read_workbook
from collection.ingest.mapping.mapping import SEPARATORS, Mapping
from collection.ingest.package.faults import broken, shortened
from collection.language.errors import Fault

LARGEST_LIST = 256 << 20
"""Bytes of a list that is read whole."""
_SPOKEN = {",": "a comma", ";": "a semicolon", "\t": "a tab", "|": "an upright stroke"}


@dataclass(frozen=True, slots=True)
class ListRow:
    """One row of a list: the row that the person sees, and its cells by heading, as written."""

    row: int
    cells: dict[str, str]


@dataclass
class ForeignList:
    """The headings of a list, each once, and its rows that are not blank."""

    name: str
    headings: tuple[str, ...] = ()
    rows: list[ListRow] = field(default_factory=list)
    blank_rows: int = 0
    doubts: list[Fault] = field(default_factory=list)
    faults: list[Fault] = field(default_factory=list)

    def fault(self, row: int | None, message: str, value: str | None = None) -> None:
        self.faults.append(Fault(self.name, "", row, None, value, message))

    def doubt(self, row: int | None, message: str, value: str | None = None) -> None:
        self.doubts.append(Fault(self.name, "", row, None, value, message))


def read_list(name: str, path: Path, mapping: Mapping) -> ForeignList:
    """The list, or the faults that keep it from being read; a repeated heading gets its number, `Date (2)`.

    :raises InputRefused: when it is a workbook that cannot be taken as a whole.
    """
    found = ForeignList(name)
    if path.stat().st_size > LARGEST_LIST:
        found.fault(None, f"This list is over {LARGEST_LIST >> 20} MB. Hand it in as several lists.")
    elif is_workbook(path):
        read = read_workbook(name, path, mapping.written.sheet)
        found.faults += read.faults
        found.doubts += read.doubts
        if not found.faults and (table := _table(found, read.rows, mapping)) is not None:
            _look_at_numbers(found, table, mapping, read.numbers)
    else:
        rows = _csv_rows(found, path, mapping)
        if not _runs_together(found, rows, mapping):
            _table(found, rows, mapping)
    return found


def _csv_rows(found: ForeignList, path: Path, mapping: Mapping) -> list[Numbered]:
    """The rows of a CSV file, each with its number."""
    rows: list[Numbered] = []
    if mapping.written.sheet is not None:
        found.fault(None, "The mapping names a sheet, and this list is no workbook. Take `sheet` out of [list].")
        return rows
    if mapping.written.encoding is None or mapping.written.separator is None:
        found.fault(
            None,
            "This list is no workbook, so say below [list] how it is written, for example "
            'encoding = "utf-8" and separator = ";".',
        )
        return rows
    try:
        text, doubt = read_text(path.read_bytes(), mapping.written.encoding)
    except Unreadable as error:
        found.fault(error.line, str(error))
        return rows
    if doubt is not None:
        found.doubt(None, doubt)
    try:
        for row in enumerate(
            csv.reader(io.StringIO(text, newline=""), delimiter=mapping.written.separator, strict=True), 1
        ):
            rows.append(row)
    except csv.Error as error:
        found.fault(len(rows) + 1, broken(str(error)))
    return rows


def _table(found: ForeignList, rows: Sequence[Numbered], mapping: Mapping) -> Table | None:
    """Put the rows below their headings."""
    if not rows and found.faults:
        return None
    table = find_table(rows, mapping)
    if not isinstance(table, Table):
        for told in table:
            found.fault(told.row, told.message, told.value)
        return None
    found.headings = table.headings
    width = len(found.headings)
    for row, cells in table.rows:
        if not any(cell.strip() for cell in cells):
            found.blank_rows += 1
        elif len(cells) < width or any(cell.strip() for cell in cells[width:]):
            found.fault(
                row,
                f"This row has {len(cells)} cells and the headings are {width}, so it cannot be told which cell "
                "is which. A separator inside a cell needs quotation marks around the cell.",
            )
        else:
            found.rows.append(ListRow(row, dict(zip(found.headings, cells, strict=False))))
    for row, cells in table.remark:
        if text := " ".join(cell.strip() for cell in cells).strip():
            found.doubt(row, "This remark under the table is no part of the list. It stays in the list's file.", text)
    return table


def _runs_together(found: ForeignList, rows: Sequence[Numbered], mapping: Mapping) -> bool:
    """Whether another separator than the mapping's stands in the headings: every row is one cell, or a row that is parted
    so holds more headings that the mapping names than any row does as it is."""
    separator = mapping.written.separator
    if separator is None or found.faults:
        return False
    wanted = {heading for heading, _, _ in mapping.headings()}
    most = max((len(wanted.intersection(named_once(cells))) for _, cells in rows[:LOOKED_THROUGH]), default=0)
    alone = all(len(cells) < 2 for _, cells in rows)
    for row, cells in rows[:LOOKED_THROUGH]:
        whole = separator.join(cells)
        for other in SEPARATORS:
            named = len(wanted.intersection(named_once(whole.split(other))))
            if other in whole and other != separator and (alone or named > most):
                found.fault(
                    row,
                    f"All headings are in one cell. The columns seem to be separated by {_SPOKEN[other]}, but the mapping "
                    f"says {_SPOKEN[separator]}.",
                    shortened(whole),
                )
                return True
    return False


def _look_at_numbers(found: ForeignList, table: Table, mapping: Mapping, numbers: dict[int, int]) -> None:
    """A spreadsheet drops noughts at the front of what it takes for a number, and nobody can see that any more."""
    for heading in mapping.object.headings:
        count = numbers.get(table.headings.index(heading), 0) if heading in table.headings else 0
        if count:
            found.doubt(
                None,
                f"{count} cells of {heading} are numbers of the spreadsheet. They were taken as they are shown; if noughts "
                "stood before them (007), they were lost when they were typed.",
            )
