"""What a person said about cells beside what stands in them, as warnings: comments, and text that is struck out.

No column holds either, so nothing of it would be left when the survey is stored.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from openpyxl.utils import get_column_letter

from collection.ingest.package.faults import shortened
from collection.ingest.package.headings import written_since
from collection.ingest.package.workbook.book import Book, BookSheet, Seen
from collection.ingest.package.workbook.comments import comments_of
from collection.language.errors import Fault

MOST_COMMENTS = 10_000
"""Comments of a sheet that are listed one by one."""
_KEPT = "A comment is no part of a record: this warning keeps it, cut to one line. Write what counts into a column."
_HEADING = "No record keeps a comment on a heading: write what counts into the survey's method, or into notes."
_ROW = (
    "This row is struck out, and was read like all others. If it does not hold, delete it here, and withdraw its record "
    "where that is stored."
)
_CELL = "This cell is struck out, and was read like all others. If it does not hold, empty it."


@dataclass(frozen=True, slots=True)
class Spots:
    """Where the cells of a sheet belong in the survey. `keys` are the columns by row, where a row is a column."""

    file: str
    sheet: str
    columns: tuple[str | None, ...] = ()
    heading_row: int = 0
    keys: Mapping[int, str | None] | None = None

    def column(self, row: int, column: int) -> str | None:
        """The survey's column for a cell, counted from 1."""
        if self.keys is not None:
            return self.keys.get(row)
        return self.columns[column - 1] if column <= len(self.columns) else None

    def record(self, row: int) -> int | None:
        """The number of the staged row that a row became; None for headings."""
        if self.keys is not None:
            return 1 if row in self.keys else None
        return row if row > self.heading_row else None

    def is_heading(self, row: int, column: int) -> bool:
        if self.keys is not None:
            return column == 1 or row not in self.keys
        return row == self.heading_row


def remarks(book: Book, place: BookSheet, seen: Seen, spots: Spots) -> Iterator[tuple[Fault, int | None]]:
    """Every warning, with the number of the staged row that it belongs to.

    :raises Broken: where the comments cannot be read.
    """

    def doubt(row: int, column: int | None, message: str, value: str | None = None) -> tuple[Fault, int | None]:
        name = spots.column(row, column) if column is not None else None
        where = "" if column is None or name else f" (column {get_column_letter(column)})"
        return Fault(spots.file, spots.sheet, row, name, value, message + where), spots.record(row)

    def rest(count: int, what: str) -> Iterator[tuple[Fault, int | None]]:
        if count:
            yield Fault(spots.file, spots.sheet, None, None, None, f"{count:,} more {what} on this sheet."), None

    for struck in seen.struck:
        if struck.column is None:
            yield doubt(struck.row, None, _ROW)
        elif struck.part:
            part = (
                f"Of this cell “{shortened(struck.part)}” is struck out, and was read with the rest. Write what holds."
            )
            yield doubt(struck.row, struck.column, part, shortened(struck.text))
        else:
            yield doubt(struck.row, struck.column, _CELL, shortened(struck.text))
    yield from rest(seen.more_struck, "rows and cells are struck out")
    with book.parts() as parts:
        comments = comments_of(parts, place.part or "")
    count = 0
    for comment in comments:
        heading = spots.is_heading(comment.row, comment.column)
        text = written_since(comment.author, comment.text) if heading else comment.text
        if text and (count := count + 1) <= MOST_COMMENTS:
            message = f"This cell has the comment “{shortened(text)}”. {_HEADING if heading else _KEPT}"
            yield doubt(comment.row, comment.column, message)
    yield from rest(max(0, count - MOST_COMMENTS), "comments stand")
