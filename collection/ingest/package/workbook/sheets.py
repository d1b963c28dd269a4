"""The sheets of a workbook as the intake reads them: headings matched, cells as texts, faults for all others."""

from __future__ import annotations

import itertools
import re
import unicodedata
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from operator import itemgetter

from collection.ingest.package.characters import unseen_in
from collection.ingest.package.faults import Faults, shortened
from collection.ingest.package.headings import MOST_HEADINGS, match_headings, plain
from collection.ingest.package.sheets import OddRow, Refused
from collection.ingest.package.text_files import Traits
from collection.ingest.package.workbook.cells import Meanings, cell_text
from collection.ingest.package.workbook.parts import Book, BookSheet, Broken
from collection.ingest.package.workbook.rows import MOST_FRAMES, Frame, Row, Seen, letters_of, place_of, rows
from collection.language.errors import Fault, OurFault
from collection.records.columns import Column
from collection.records.sheets import Record, Survey

KEY, VALUE = "key", "value"
"""The headings of the sheet `survey`."""
_AT_ONCE = 10_000
_DIGITS = re.compile(r"[+-]?[0-9]{1,30}(?:\.[0-9]{1,30})?")
_LIKE_A_NUMBER = re.compile(r"\s*[+−-]?\s*(?:[\d.,][\d_.,eE+-]*|inf(?:inity)?|nan)\s*", re.I)


def traits_of(book: Book) -> Traits:
    """What a look at all texts of the workbook says, so that clean ones need no second look."""
    unseen = not_nfc = recorded = returns = odd = False
    for start in range(0, len(book.texts), _AT_ONCE):
        texts = book.texts[start : start + _AT_ONCE]
        text = "\n".join(texts)
        unseen = unseen or unseen_in(text)
        not_nfc = not_nfc or not unicodedata.is_normalized("NFC", text)
        recorded, returns = recorded or "recorded" in text.lower(), returns or "\r" in text
        odd = odd or any(_LIKE_A_NUMBER.fullmatch(each) and not _DIGITS.fullmatch(each) for each in texts)
    return Traits(unseen=unseen, not_nfc=not_nfc, recorded=recorded, odd_numbers=odd, returns=returns, commas=odd)


@dataclass
class WorkbookSheet:
    """One sheet whose rows are records."""

    record: type[Record]
    file: str
    columns: tuple[str | None, ...]
    traits: Traits
    book: Book
    place: BookSheet
    faults: Faults
    heading_row: int
    unheaded: frozenset[int] = frozenset()
    decimal_comma: bool = True
    complete: bool = True
    seen: Seen = field(default_factory=Seen)
    last_row: int = 0
    last_filled: int = 0

    def row_of(self, row: int, column: str | None) -> int | None:
        return row

    def break_off(self, error: str) -> Fault:
        raise OurFault(f"A workbook's rows are no CSV, and broke off: {error}")

    @contextmanager
    def rows(self) -> Iterator[Iterable[tuple[int, list[str]]]]:
        yield self._rows()

    def _rows(self) -> Iterator[tuple[int, list[str]]]:
        assert self.place.part is not None
        self.seen = Seen()
        known = {column.name: column for column in self.record.columns()}
        columns = [known[name] if name else None for name in self.columns]
        plain = _PlainRows(self.book, columns)
        try:
            for row in rows(self.book, self.place.part, self.seen):
                self.last_row = row.number
                if row.number <= self.heading_row:
                    continue
                cells = plain.read(row) if row.frame is not None else None
                if cells is None:
                    cells = self._exact_row(row, columns)
                if any(cells):
                    self.last_filled = row.number
                yield row.number, cells
            self._look_at_merged()
        except Broken as error:
            self.complete = False
            self._fault(self.last_row + 1 if self.last_row else None, str(error))

    def _exact_row(self, row: Row, columns: Sequence[Column | None]) -> list[str]:
        found = OddRow([""] * len(columns))
        for cell in row.cells():
            if cell.column < len(columns):
                found[cell.column] = cell_text(self.book, columns[cell.column], cell)
            elif text := cell_text(self.book, None, cell).strip():
                self._fault(
                    row.number,
                    f"This cell stands below no heading (column {letters_of(cell.column)}). Give "
                    "the column its heading, or empty it.",
                    shortened(text),
                )
        return found

    def _fault(self, row: int | None, message: str, value: str | None = None) -> None:
        self.faults.add(Fault(self.file, self.record.sheet, row, None, value, message))

    def _look_at_merged(self) -> None:
        for place in self.seen.merged:
            first, last = _corners(place)
            if first[1] > self.last_filled or first[0] >= len(self.columns) or first == last:
                continue
            self._fault(
                first[1],
                "These cells are merged into one, of which only the first is seen. Part them, and "
                "write in each what it should say.",
                place,
            )

    def doubts(self) -> Iterator[Fault]:
        """What a person may not have seen, although it was read."""
        hidden = [row for row in self.seen.hidden_rows if row > self.heading_row]
        if hidden:
            yield Fault(
                self.file,
                self.record.sheet,
                hidden[0],
                None,
                None,
                f"{len(hidden)} rows of this sheet are hidden. They were read like all others.",
            )
        columns = [
            name
            for at, name in enumerate(self.columns, 1)
            if name and any(first <= at <= last for first, last in self.seen.hidden_columns)
        ]
        if columns:
            yield Fault(
                self.file,
                self.record.sheet,
                None,
                columns[0],
                None,
                f"Hidden columns were read like all others: {', '.join(columns)}.",
            )
        if self.place.hidden:
            yield Fault(
                self.file, self.record.sheet, None, None, None, "This sheet is hidden. It was read like all others."
            )


class _PlainRows:
    """Plain rows as rows of texts, as fast as rows that are made alike allow."""

    def __init__(self, book: Book, columns: Sequence[Column | None]) -> None:
        self._columns = columns
        self._own = [Meanings(book, column) for column in columns]
        # A number means the same in every column of numbers, and a text in every column.
        self._common = Meanings(book, next((column for column in columns if column and column.is_number), None))
        self._plans: dict[Frame, _Plan | None] = {}

    def read(self, row: Row) -> list[str] | None:
        """The cells of a row; None where a cell stands below no heading or out of order."""
        frame = row.frame
        assert frame is not None
        try:
            plan = self._plans[frame]
        except KeyError:
            plan = self._plan(frame)
            if len(self._plans) < MOST_FRAMES:
                self._plans[frame] = plan
        if plan is None:
            return None
        if plan.own is None:
            common = self._common
            found = [common[token] for token in row.tokens]
            refusing = common.refuses and Refused in map(type, found)
        else:
            found = [meaning[token] for meaning, token in zip(plan.own, row.tokens, strict=True)]
            refusing = Refused in map(type, found)
        if plan.in_order is not None:
            found = list(plan.in_order((*found, "")))
        return OddRow(found) if refusing else found

    def _plan(self, frame: Frame) -> _Plan | None:
        width = len(self._columns)
        if any(after <= before for before, after in itertools.pairwise((-1, *frame.columns, width))):
            return None
        alike = all(
            is_text or ((column := self._columns[at]) is not None and column.is_number)
            for at, is_text in zip(frame.columns, frame.texts, strict=True)
        )
        stands = {column: at for at, column in enumerate(frame.columns)}
        order = [stands.get(column, len(stands)) for column in range(width)]
        return _Plan(
            None if alike else [self._own[column] for column in frame.columns],
            None if order == list(range(len(stands))) else _picker(order),
        )


@dataclass(frozen=True, slots=True)
class _Plan:
    """How rows of one frame become cells: what their tokens mean if not the same everywhere, and their order."""

    own: Sequence[Meanings] | None
    in_order: Callable[[Sequence[str]], Sequence[str]] | None


def _picker(places: Sequence[int]) -> Callable[[Sequence[str]], Sequence[str]]:
    if len(places) > 1:
        return itemgetter(*places)
    return lambda values: tuple(values[place] for place in places)


def _corners(place: str) -> tuple[tuple[int, int], tuple[int, int]]:
    """Column from 0 and row of both ends of a range such as A2:B7."""
    ends = [place_of(end) for end in place.split(":")]
    return ends[0], ends[-1]


@dataclass
class SurveyKeys:
    """The survey's own row, which a workbook keeps as a key and a value on each row."""

    file: str
    columns: tuple[str | None, ...]
    cells: list[str]
    places: list[int]
    record: type[Record] = Survey
    traits: Traits = field(default_factory=Traits)
    unheaded: frozenset[int] = frozenset()
    decimal_comma: bool = True
    complete: bool = True

    @contextmanager
    def rows(self) -> Iterator[Iterable[tuple[int, list[str]]]]:
        yield [(1, OddRow(self.cells))]

    def break_off(self, error: str) -> Fault:
        raise OurFault(f"The sheet survey was read whole, and broke off: {error}")

    def row_of(self, row: int, column: str | None) -> int | None:
        return self.places[self.columns.index(column)] if column in self.columns else None


def open_sheet(
    record: type[Record], file: str, book: Book, place: BookSheet, traits: Traits, faults: Faults
) -> WorkbookSheet | None:
    """A sheet with its headings matched; None where it is wholly blank, or has none that can be read.

    :raises Broken: where it cannot be read.
    """
    head = next(filled(book, place), None)
    if head is None:
        return None
    number, texts = head
    before = faults.count
    columns = match_headings(record, file, number, texts, faults)
    if not any(columns) and faults.count > before:
        return None
    unheaded = frozenset(at for at, heading in enumerate(texts) if not plain(heading))
    return WorkbookSheet(record, file, columns, traits, book, place, faults, number, unheaded)


def filled(book: Book, place: BookSheet) -> Iterator[tuple[int, list[str]]]:
    """The rows in which anything stands, as texts, whatever their columns are.

    :raises Broken: where the sheet cannot be read.
    """
    if place.part is None:
        return
    for row in rows(book, place.part, Seen()):
        texts: dict[int, str] = {}
        for cell in row.cells():
            text = cell_text(book, None, cell)
            if text.strip():
                texts[cell.column] = text
        if texts:
            width = min(max(texts) + 1, MOST_HEADINGS + 1)
            yield row.number, [texts.get(at, "") for at in range(width)]


def read_survey(file: str, book: Book, place: BookSheet, faults: Faults) -> SurveyKeys | None:
    """The survey's row; None where the sheet is wholly blank or has no key and value.

    :raises Broken: where it cannot be read.
    """
    assert place.part is not None
    keys: list[str] = []
    cells: list[str] = []
    places: list[int] = []
    known = {column.name: column for column in Survey.columns()}

    def fault(row: int, value: str | None, message: str) -> None:
        faults.add(Fault(file, "survey", row, None, None if value is None else shortened(value), message))

    headed = False
    for row in rows(book, place.part, Seen()):
        found = row.cells()
        shown = {cell.column: text for cell in found if (text := cell_text(book, None, cell)).strip()}
        if not shown:
            continue
        if not headed:
            headed = True
            if [plain(shown.get(at, "")) for at in (0, 1)] == [KEY, VALUE]:
                continue
            if plain(shown.get(0, "")) not in known:
                fault(
                    row.number,
                    shown.get(0),
                    "The first row of this sheet names its two columns, key and value; "
                    "below stand code, title, lead, started and what else is said of the survey, each on a row.",
                )
                return None
        if len(keys) == MOST_HEADINGS:
            fault(row.number, None, f"The sheet has more rows than the {len(known)} things that are said of a survey.")
            return None
        for at in shown:
            if at > 1:
                fault(row.number, shown[at], f"This cell stands below no heading (column {letters_of(at)}). Empty it.")
        if 0 not in shown:
            fault(row.number, shown.get(1), "This value has no key. Write in the first column what it is.")
            continue
        column = known.get(plain(shown[0]))
        value = next((cell for cell in found if cell.column == 1), None)
        keys.append(shown[0])
        cells.append("" if value is None else cell_text(book, column, value))
        places.append(row.number)
    if not headed:
        return None
    return SurveyKeys(file, match_headings(Survey, file, places, keys, faults), cells, places)


def count_filled(book: Book, place: BookSheet) -> int:
    """How many rows anything stands in.

    :raises Broken: where the sheet cannot be read.
    """
    if place.part is None:
        return 0
    meanings = Meanings(book, None)
    count = 0
    for row in rows(book, place.part, Seen()):
        texts = (
            (cell_text(book, None, cell) for cell in row.cells())
            if row.frame is None
            else (meanings[token] for token in row.tokens)
        )
        count += any(text.strip() for text in texts)
    return count
