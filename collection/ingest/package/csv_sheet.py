"""One CSV file as a sheet: its separator, its headings, its rows."""

from __future__ import annotations

import csv
import itertools
import re
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import IO

from collection.ingest.package.faults import SAVE_AS_UTF8, Faults, broken, shortened
from collection.ingest.package.headings import (
    MOST_TITLES,
    count_known,
    headings_below,
    match_headings,
    plain,
    title_above,
)
from collection.ingest.package.sheets import Attached
from collection.ingest.package.text_files import Traits, inspect
from collection.language.errors import Fault
from collection.records.sheets import Record

_SEPARATORS = ",;\t"


@dataclass
class CsvSheet:
    """One CSV file."""

    record: type[Record]
    file: str
    path: Path
    separator: str
    first_row: int
    columns: tuple[str | None, ...]
    traits: Traits
    unheaded: frozenset[int] = frozenset()
    complete: bool = True

    @property
    def decimal_comma(self) -> bool:
        return self.separator != ","

    def row_of(self, row: int, column: str | None) -> int | None:
        return row

    @contextmanager
    def rows(self) -> Iterator[Iterable[tuple[int, list[str]]]]:
        with _text(self.path, self.traits.undecodable) as lines:
            reader = csv.reader(lines, delimiter=self.separator, strict=True)
            for _ in range(self.first_row - 1):
                next(reader)
            yield enumerate(reader, self.first_row)

    def break_off(self, error: str) -> Fault:
        self.complete = False
        return Fault(self.file, self.record.sheet, self._broken_row(), None, None, broken(error))

    def _broken_row(self) -> int:
        with _text(self.path, self.traits.undecodable) as lines:
            row = 0
            try:
                for _ in csv.reader(lines, delimiter=self.separator, strict=True):
                    row += 1
            except csv.Error:
                pass
            return row + 1


def read_csv_sheet(record: type[Record], file: Attached, faults: Faults) -> CsvSheet | None:
    """A sheet with its headings matched; None, and a fault, where it has none or is no text."""
    traits, refusal = inspect(file.path)
    if refusal is not None:
        faults.add(Fault(file.name, record.sheet, None, None, None, refusal))
        return None
    with _text(file.path, traits.undecodable) as lines:
        head = list(itertools.islice(lines, 2))
    stated = re.fullmatch(r"sep=([,;\t])\r?\n?", head[0], re.I) if head else None
    if stated:
        head = head[1:]
    if not head or not head[0].strip():
        faults.add(
            Fault(
                file.name,
                record.sheet,
                1,
                None,
                None,
                "The file has no headings. Its first row names the columns: "
                f"{', '.join(column.name for column in record.columns() if column.required)} …",
            )
        )
        return None
    separator = stated[1] if stated else max(_SEPARATORS, key=lambda mark: _rank(record, head[0], mark))
    sheet = CsvSheet(record, file.name, file.path, separator, 3 if stated else 2, (), traits)
    heading_row = sheet.first_row - 1
    with _text(file.path, traits.undecodable) as lines:
        reader = csv.reader(lines, delimiter=separator, strict=True)
        try:
            headings = next(itertools.islice(reader, heading_row - 1, None))
        except csv.Error as error:
            faults.add(Fault(file.name, record.sheet, heading_row, None, None, broken(str(error))))
            return None
    below = _headings_below(sheet, heading_row, stated[1] if stated else _SEPARATORS)
    if below is not None:
        title = shortened(next((cell for cell in headings if cell.strip()), ""))
        faults.add(Fault(file.name, record.sheet, heading_row, None, title, title_above(heading_row, below)))
        return None
    before = faults.count
    sheet.columns = match_headings(record, file.name, heading_row, headings, faults)
    sheet.unheaded = frozenset(place for place, heading in enumerate(headings) if not plain(heading))
    if traits.undecodable:
        faults.add(_undecodable(sheet))
    if not any(sheet.columns) and faults.count > before:
        return None
    return sheet


def _headings_below(sheet: CsvSheet, heading_row: int, separators: str) -> int | None:
    """The row of the headings where titles stand above them, whichever mark stands between its cells."""
    known = [column.name for column in sheet.record.columns()]
    for mark in separators:
        rows: list[tuple[int, list[str]]] = []
        with _text(sheet.path, sheet.traits.undecodable) as lines:
            try:
                for number, cells in enumerate(csv.reader(lines, delimiter=mark, strict=True), 1):
                    if number >= heading_row and (any(map(str.strip, cells)) or number == heading_row):
                        rows.append((number, cells))
                    if number == heading_row + MOST_TITLES:
                        break
            except csv.Error:
                # The reading of the rows says where and why; what was read up to there is enough here.
                pass
        below = headings_below(known, rows)
        if below is not None:
            return below
    return None


def _rank(record: type[Record], line: str, separator: str) -> tuple[int, int]:
    try:
        headings = next(csv.reader([line], delimiter=separator), [])
    except csv.Error:
        # Cut in this way a cell is too long; cut in another it may not be, and else the reading says so.
        return 0, 0
    return count_known(record, headings), len(headings)


def _undecodable(sheet: CsvSheet) -> Fault:
    """The first cell that is not UTF-8; the others are most likely wrong in the same way."""
    with open(sheet.path, encoding="utf-8-sig", errors="surrogateescape", newline="") as lines:
        try:
            for row, cells in enumerate(csv.reader(lines, delimiter=sheet.separator), 1):
                for place, cell in enumerate(cells):
                    if re.search("[\udc80-\udcff]", cell):
                        column = sheet.columns[place] if place < len(sheet.columns) else None
                        shown = cell.encode("utf-8", "surrogateescape").decode("utf-8", "replace")
                        return Fault(
                            sheet.file,
                            sheet.record.sheet,
                            row,
                            column,
                            shortened(shown),
                            f"This is not written in UTF-8. {SAVE_AS_UTF8}",
                        )
        except csv.Error:
            pass
    return Fault(sheet.file, sheet.record.sheet, None, None, None, f"This file is not written in UTF-8. {SAVE_AS_UTF8}")


def _text(path: Path, undecodable: bool) -> IO[str]:
    return open(path, encoding="utf-8-sig", errors="replace" if undecodable else "strict", newline="")


_MAYBE_BLANK = re.compile(rb"\n[\r\n,;\t ]")


def count_rows(record: type[Record], file: Attached) -> int:
    """Rows of a sound sheet that are not blank; without quotation marks every line is one, which is fast."""
    lines = 0
    with open(file.path, "rb") as read:
        last = b"\n"
        while block := read.read(1 << 20):
            if b'"' in block or _MAYBE_BLANK.search(last + block):
                return _count_slowly(record, file)
            lines += block.count(b"\n")
            last = block[-1:]
    return lines - 1 + (last != b"\n") if lines else _count_slowly(record, file)


def _count_slowly(record: type[Record], file: Attached) -> int:
    with _text(file.path, False) as lines:
        head = lines.readline()
    stated = re.fullmatch(r"sep=([,;\t])\r?\n?", head, re.I)
    separator = stated[1] if stated else max(_SEPARATORS, key=lambda mark: _rank(record, head, mark))
    with _text(file.path, False) as lines:
        reader = csv.reader(lines, delimiter=separator, strict=True)
        return sum(any(cell.strip() for cell in cells) for cells in reader) - (2 if stated else 1)
