"""Turns rows of text into rows of values: one compiled validator per sheet, and a second, exact reading of every
row that it refuses.

The compiled one takes only the plain cases: a word exactly as in its list, a number as digits with a point. Whatever
it refuses is read again cell by cell, with aliases, decimal commas and `not recorded`, and every fault gets its
sentence. So the first may take less than the second, never more; a test checks that.
"""

from __future__ import annotations

import csv
import itertools
import unicodedata
from collections.abc import Callable, Iterable, Iterator
from typing import Any, Protocol

from pydantic_core import SchemaValidator, ValidationError
from pydantic_core import core_schema as cs

from collection.ingest.package.characters import unseen_in
from collection.ingest.package.faults import shortened
from collection.ingest.package.headings import no_record
from collection.ingest.package.sheets import OddRow, Refused, Sheet
from collection.language.errors import BadValue
from collection.records.cells import CLEAR, read_cell
from collection.records.columns import LONGEST_CODE, LONGEST_TEXT, Column
from collection.records.sheets import Survey
from collection.values import dates
from collection.values.dates import LONGEST_DATE
from collection.values.numbers import LONGEST_NUMBER

Cells = list[str]
Values = tuple[Any, ...]

REMEMBERED = 20_000
"""Different texts of one column whose reading is kept; a longer list is read again and again."""

MAY_NOT_BE_ALL = frozenset({"zone", "component", "parent", "within"})

_DIGITS = r"^[+-]?(?:[0-9]+(?:\.[0-9]+)?|\.[0-9]+)(?:[eE][+-]?[0-9]{1,2})?$"
_WHOLE = r"^[+-]?[0-9]{1,12}$"
_ANY_VALUE = cs.union_schema([cs.str_schema(), cs.float_schema(), cs.int_schema()])
_NAME = r"^\S+(?: \S+)*$"
_CODE, _OBJECT_CODE = r"^[^=/\r\n\t][^/\r\n\t]*$", r"^[^=\r\n\t][^\r\n\t]*$"


class Hearer(Protocol):
    """Receives what a row says besides its values."""

    def fault(self, row: int, column: str | None, value: str | None, message: str, nearest: str | None) -> None: ...

    def meant(self, column: Column, object_code: str | None, written: str) -> str | None:
        """The known code that a spreadsheet may have turned into this number."""
        ...

    def cleared(self, row: int, column: str) -> None: ...

    def broken_off(self, error: str) -> None: ...


class Memo(dict[str, Any]):
    """The meaning of each text of one column, read once."""

    def __init__(self, read: Callable[[str], Any]) -> None:
        super().__init__()
        self._read = read

    def __missing__(self, text: str) -> Any:
        value = self._read(text)
        if len(self) < REMEMBERED:
            self[text] = value
        return value


class RowReader:
    """The rows of one sheet as values.

    `columns` are those of the staged table: the sheet's own in the order of the file, then the earliest
    and the latest day of each date.
    """

    def __init__(self, sheet: Sheet) -> None:
        self._sheet = sheet
        self._record = sheet.record
        by_name = {column.name: column for column in sheet.record.columns()}
        self._columns = tuple(by_name[name] if name else None for name in sheet.columns)
        dated = [(i, c) for i, c in enumerate(self._columns) if c is not None and c.kind == "date"]
        self.columns = (
            *(name or f"unread {place}" for place, name in enumerate(sheet.columns)),
            *(f"{c.name}_{end}" for _, c in dated for end in ("earliest", "latest")),
        )
        self._dates = [(i, Memo(_bounds)) for i, _ in dated]
        self._memos = [
            (i, Memo(self._exactly(c)))
            for i, c in enumerate(self._columns)
            if c is not None and _needs_reading(c, _reads_commas(sheet))
        ]
        self._outcomes = [Memo(self._outcome(c)) if c is not None else None for c in self._columns]
        self._validate = SchemaValidator(
            cs.tuple_schema([_schema(sheet, c, place in sheet.unheaded) for place, c in enumerate(self._columns)])
        ).validate_python
        self._suspect = self._suspicion()
        self._first_row = 0

    def read(self, hearer: Hearer, rows: Iterable[tuple[int, Cells]]) -> Iterator[Values]:
        """Values of every row that is not blank, each ending in its row number.

        A cell with a fault is reported to the hearer and left blank in the row, so that what points to the row
        is not found missing as well.
        """
        validate, suspect, memos, spans = self._validate, self._suspect, self._memos, self._dates
        width = len(self._columns)
        try:
            first = next(rows := iter(rows), None)
            if first is None:
                return
            self._first_row = first[0]
            for row, cells in itertools.chain([first], rows):
                if type(cells) is not OddRow and (suspect is None or not suspect(cells)):
                    try:
                        values = [cell or None for cell in cells]
                        if memos or spans:
                            if len(cells) != width:
                                raise BadValue("")
                            for place, memo in memos:
                                if (text := values[place]) is not None:
                                    values[place] = memo[text]
                            if spans:
                                days = [day for place, memo in spans for day in memo[cells[place]]]
                                yield (*validate(values), *days, row)
                                continue
                        yield (*validate(values), row)
                        continue
                    except (ValidationError, BadValue):
                        pass
                exact = self._read_exactly(hearer, row, cells)
                if exact is not None:
                    yield exact
        except csv.Error as error:
            hearer.broken_off(str(error))

    def _read_exactly(self, hearer: Hearer, row: int, cells: Cells) -> Values | None:
        if not any(cell.strip() for cell in cells):
            return None
        why = None
        if self._record is not Survey:
            why = no_record(self._record, self._sheet.columns, cells, first=row == self._first_row)
        if why is not None:
            hearer.fault(row, None, shortened(next(cell for cell in cells if cell.strip())), why, None)
            return None
        width, given = len(self._columns), len(cells)
        if given < width or any(cell.strip() for cell in cells[width:]):
            hearer.fault(
                row,
                None,
                None,
                f"This row has {given} cells and the headings are {width}. A comma or "
                "semicolon inside a cell needs quotation marks around the cell.",
                None,
            )
            cells = cells + [""] * width
        values: list[Any] = []
        for place, (column, outcome) in enumerate(zip(self._columns, self._outcomes, strict=True)):
            cell = cells[place]
            if column is None or outcome is None:
                if cell.strip() and place in self._sheet.unheaded:
                    hearer.fault(
                        row,
                        None,
                        shortened(cell),
                        f"This cell stands below no heading (column {place + 1}"
                        " from the left). Give the column its heading, or empty it.",
                        None,
                    )
                values.append(None)
                continue
            value, fault = (None, cell.fault) if type(cell) is Refused else outcome[cell] if cell else (None, None)
            if fault is not None:
                near = fault.nearest
                if near is None and type(cell) is Refused and column.kind in ("code", "coat", "list"):
                    near = hearer.meant(column, self._object_in(cells), cell)
                hearer.fault(row, column.name, shortened(cell), str(fault), near)
            elif value is CLEAR:
                self._clear(hearer, row, column, cell)
                value = None
            elif value is None and column.required and place < given:
                needs = "a survey" if self._record is Survey else f"every row of {self._record.sheet}"
                hearer.fault(
                    row, column.name, None, f"This cell is blank, and {needs} needs it ({column.meaning}).", None
                )
            values.append(value)
        days = [day for place, _ in self._dates for day in _bounds(values[place] or "")]
        return (*values, *days, row)

    def _object_in(self, cells: Cells) -> str | None:
        place = self._sheet.columns.index("object") if "object" in self._sheet.columns else -1
        return cells[place].strip() if place >= 0 and type(cells[place]) is not Refused else None

    def _clear(self, hearer: Hearer, row: int, column: Column, cell: str) -> None:
        if column.required or column.name in self._record.key:
            hearer.fault(
                row,
                column.name,
                shortened(cell),
                f"Every row of {self._record.sheet} needs this cell, so it cannot be cleared.",
                None,
            )
        else:
            hearer.cleared(row, column.name)

    def _outcome(self, column: Column) -> Callable[[str], tuple[Any, BadValue | None]]:
        read = self._exactly(column)

        def outcome(text: str) -> tuple[Any, BadValue | None]:
            try:
                return read(text), None
            except BadValue as fault:
                return None, fault

        return outcome

    def _exactly(self, column: Column) -> Callable[[str], Any]:
        comma = self._sheet.decimal_comma
        return lambda text: read_cell(column, text, decimal_comma=comma)

    def _suspicion(self) -> Callable[[Cells], bool] | None:
        """Tells which rows of this file need the exact reading although the validator would take them."""
        traits = self._sheet.traits
        looks: list[Callable[[str], object]] = []
        if traits.unseen:
            looks.append(unseen_in)
        if traits.not_nfc:
            looks.append(lambda text: not unicodedata.is_normalized("NFC", text))
        if traits.recorded:
            looks.append(lambda text: "recorded" in text.lower())
        if traits.returns:
            looks.append(lambda text: "\r" in text)
        if not looks:
            return None

        def suspect(cells: Cells) -> bool:
            # Blanks between them, because a line end is not printable and would make each look slow.
            text = " ".join(cells)
            return any(look(text) for look in looks)

        return suspect


def _bounds(text: str) -> tuple[str | None, str | None]:
    stripped = text.strip()
    return dates.bounds(stripped) if stripped else (None, None)


def _reads_commas(sheet: Sheet) -> bool:
    return sheet.decimal_comma and sheet.traits.commas


def _needs_reading(column: Column, decimal_comma: bool) -> bool:
    """Whether a column's cells follow a grammar that no pattern holds, so that each text is read once."""
    if column.kind == "list":
        return True
    if column.words is not None:
        return column.words.open_list
    if column.kind == "code" and (column.reference == "place" or column.name in MAY_NOT_BE_ALL):
        return True
    return column.kind in ("agent", "coat", "points", "file") or (column.is_number and decimal_comma)


def _schema(sheet: Sheet, column: Column | None, unheaded: bool) -> cs.CoreSchema:
    if column is None:
        return cs.none_schema() if unheaded else cs.any_schema()
    inner = _value_schema(sheet, column)
    return inner if column.required else cs.nullable_schema(inner)


def _value_schema(sheet: Sheet, column: Column) -> cs.CoreSchema:
    if _needs_reading(column, _reads_commas(sheet)):
        # Read already; a blank gives None, which a required column refuses here.
        return _ANY_VALUE if column.required else cs.any_schema()
    if column.words is not None:
        return cs.literal_schema(list(column.words.words))
    if column.kind == "number":
        number = cs.float_schema(ge=column.low, le=column.high, allow_inf_nan=False)
        if not sheet.traits.odd_numbers:
            return number
        return cs.chain_schema(
            [cs.str_schema(strip_whitespace=True, max_length=LONGEST_NUMBER, pattern=_DIGITS), number]
        )
    if column.kind == "integer":
        low, high = column.low, column.high
        assert low is not None
        assert high is not None
        return cs.chain_schema(
            [cs.str_schema(strip_whitespace=True, pattern=_WHOLE), cs.int_schema(ge=int(low), le=int(high))]
        )
    if column.kind == "code":
        slashed = column.name == "object" or column.reference == "objects"
        return cs.str_schema(
            strip_whitespace=True, min_length=1, max_length=LONGEST_CODE, pattern=_OBJECT_CODE if slashed else _CODE
        )
    if column.kind == "person":
        return cs.str_schema(strip_whitespace=True, min_length=1, max_length=LONGEST_TEXT, pattern=_NAME)
    longest = LONGEST_DATE if column.kind == "date" else LONGEST_TEXT
    return cs.str_schema(strip_whitespace=True, min_length=1, max_length=longest)
