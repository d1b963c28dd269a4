"""The sheets of a workbook as the intake reads them: headings matched, cells as texts, faults for all others."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field, replace

from openpyxl.utils import get_column_letter

from collection.ingest.package.faults import Faults, shortened
from collection.ingest.package.headings import (
    MOST_HEADINGS,
    MOST_TITLES,
    headings_below,
    match_headings,
    plain,
    title_above,
)
from collection.ingest.package.sheets import OddRow, Refused
from collection.ingest.package.survey_file import SurveySheet
from collection.ingest.package.text_files import Traits
from collection.ingest.package.workbook.book import Book, BookSheet, Seen, corner
from collection.ingest.package.workbook.cells import cell_text
from collection.ingest.package.workbook.checked_parts import Broken
from collection.language.errors import Fault, OurFault
from collection.records.sheets import Record, Survey

KEY, VALUE = "key", "value"
"""The headings of the sheet `survey`."""
_KEY_AND_VALUE = (
    "The first row of this sheet names its two columns, key and value, and nothing stands above it; below stand code, "
    "title, lead, started and what else is said of the survey, each on a row."
)
_MERGED = (
    "These cells are merged into one, and only the first is seen. Unmerge them, and write in each what it should say."
)
_NOT_LOOKED_AT = Traits(unseen=True, not_nfc=True, recorded=True, odd_numbers=True, returns=True)
"""Nobody has looked at the texts, so each row is."""


def _no_heading(column: int) -> str:
    return (
        f"This cell stands below no heading (column {get_column_letter(column + 1)}). Give the column its heading, or "
        "empty it."
    )


@dataclass
class WorkbookSheet:
    """One sheet whose rows are records."""

    record: type[Record]
    file: str
    columns: tuple[str | None, ...]
    book: Book
    place: BookSheet
    faults: Faults
    heading_row: int
    traits: Traits = _NOT_LOOKED_AT
    unheaded: frozenset[int] = frozenset()
    decimal_comma: bool = True
    complete: bool = True
    seen: Seen = field(default_factory=Seen)
    last_row: int = 0
    last_filled: int = 0

    def row_of(self, row: int, column: str | None) -> int | None:
        return row

    def break_off(self, error: str) -> Fault:
        raise OurFault(f"A workbook's rows are not CSV, but a CSV error came: {error}")

    @contextmanager
    def rows(self) -> Iterator[Iterable[tuple[int, list[str]]]]:
        yield self._rows()

    def _rows(self) -> Iterator[tuple[int, list[str]]]:
        self.seen = Seen()
        known = {column.name: column for column in self.record.columns()}
        columns = [known[name] if name else None for name in self.columns]
        width = len(columns)
        try:
            for number, cells in self.book.rows(self.place, self.seen):
                self.last_row = number
                if number <= self.heading_row:
                    continue
                found = [""] * width
                for cell in cells:
                    at = cell["column"] - 1
                    if at < width:
                        found[at] = cell_text(self.book, columns[at], cell)
                    elif text := cell_text(self.book, None, cell).strip():
                        self.faults.add(self._fault(number, _no_heading(at), shortened(text)))
                if any(found):
                    self.last_filled = number
                yield number, OddRow(found) if Refused in map(type, found) else found
            self._look_at_merged()
        except Broken as error:
            self.complete = False
            self.faults.add(self._fault(self.last_row + 1 if self.last_row else None, str(error)))

    def _fault(self, row: int | None, message: str, value: str | None = None) -> Fault:
        return Fault(self.file, self.record.sheet, row, None, value, message)

    def _look_at_merged(self) -> None:
        for place in self.seen.merged:
            first = corner(place)
            if first is not None and first[0] < len(self.columns) and first[1] <= self.last_filled:
                self.faults.add(self._fault(first[1], _MERGED, place))

    def doubts(self) -> Iterator[Fault]:
        """What a person may not have seen, although it was read."""
        hidden = [row for row in self.seen.hidden_rows if row > self.heading_row]
        columns = [
            name
            for at, name in enumerate(self.columns, 1)
            if name and any(first <= at <= last for first, last in self.seen.hidden_columns)
        ]
        if hidden:
            yield self._fault(
                hidden[0], f"{len(hidden)} rows of this sheet are hidden. They were read like all others."
            )
        if columns:
            message = f"Hidden columns were read like all others: {', '.join(columns)}."
            yield replace(self._fault(None, message), column=columns[0])
        if self.place.hidden:
            yield self._fault(None, "This sheet is hidden. It was read like all others.")


def open_sheet(record: type[Record], file: str, book: Book, place: BookSheet, faults: Faults) -> WorkbookSheet | None:
    """A sheet with its headings matched; None where it is wholly blank, or has none that can be read.

    :raises Broken: where it cannot be read.
    """
    head = list(itertools.islice(filled(book, place), MOST_TITLES + 1))
    if not head:
        return None
    number, texts = head[0]
    before = faults.count
    below = headings_below([column.name for column in record.columns()], head)
    if below is not None:
        title = shortened(next(text for text in texts if text))
        faults.add(Fault(file, record.sheet, number, None, title, title_above(number, below)))
        return None
    columns = match_headings(record, file, number, texts, faults)
    if not any(columns) and faults.count > before:
        return None
    unheaded = frozenset(at for at, heading in enumerate(texts) if not plain(heading))
    return WorkbookSheet(record, file, columns, book, place, faults, number, unheaded=unheaded)


def filled(book: Book, place: BookSheet) -> Iterator[tuple[int, list[str]]]:
    """The rows in which anything stands, as texts, whatever their columns are.

    :raises Broken: where the sheet cannot be read.
    """
    for number, cells in book.rows(place, Seen()):
        texts = {cell["column"] - 1: text for cell in cells if (text := cell_text(book, None, cell)).strip()}
        if texts:
            yield number, [texts.get(at, "") for at in range(min(max(texts) + 1, MOST_HEADINGS + 1))]


def read_survey(file: str, book: Book, place: BookSheet, seen: Seen, faults: Faults) -> SurveySheet | None:
    """The survey's row; None where the sheet is wholly blank or has no key and value.

    :raises Broken: where it cannot be read.
    """
    keys: list[str] = []
    cells: list[str] = []
    places: list[int] = []
    known = {column.name: column for column in Survey.columns()}

    def fault(row: int, value: str | None, message: str) -> None:
        faults.add(Fault(file, "survey", row, None, None if value is None else shortened(value), message))

    headed = False
    for number, found in book.rows(place, seen):
        shown = {cell["column"] - 1: text for cell in found if (text := cell_text(book, None, cell)).strip()}
        if not shown:
            continue
        if not headed:
            headed = True
            if [plain(shown.get(at, "")) for at in (0, 1)] == [KEY, VALUE]:
                continue
            if plain(shown.get(0, "")) not in known:
                fault(number, shown.get(0), _KEY_AND_VALUE)
                return None
        if len(keys) == MOST_HEADINGS:
            fault(number, None, f"The sheet has more rows than the {len(known)} things that are said of a survey.")
            return None
        for at in shown:
            if at > 1:
                fault(number, shown[at], _no_heading(at))
        if 0 not in shown:
            fault(number, shown.get(1), "This value has no key. Write in the first column what it is.")
            continue
        column = known.get(plain(shown[0]))
        value = next((cell for cell in found if cell["column"] == 2), None)
        keys.append(shown[0])
        cells.append("" if value is None else cell_text(book, column, value))
        places.append(number)
    if not headed:
        return None
    columns = match_headings(Survey, file, places, keys, faults)
    return SurveySheet(columns, OddRow(cells), list(places), file, decimal_comma=True)
