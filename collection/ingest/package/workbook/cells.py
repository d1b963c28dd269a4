"""One cell of a workbook for one column: the text that is read on, or why the cell cannot be taken.

What is kept is what the person sees. A spreadsheet turns 1979.10 into 1979.1, 007 into 7 and 1/4 into a day of April
before it saves, and what was typed is gone; so a number is taken only where a number says all that was typed, and a
date only where a date belongs.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import datetime

from collection.ingest.package.sheets import Refused
from collection.ingest.package.workbook.number_formats import Look, Shown, as_seen, day_of, moment
from collection.ingest.package.workbook.parts import DAMAGED, Book, Broken
from collection.ingest.package.workbook.rows import Cell, token
from collection.language.errors import BadValue
from collection.records.columns import Column

TYPE_AGAIN = "Format the cell as text and type it again."
FORMULA = "This cell is a formula, and what it shows may change. Copy the cells and paste them as values."
ERROR = "The spreadsheet could not compute this cell. Type what it should say."
TRUTH = "This cell is a truth value of the spreadsheet, which no column holds. Type the word itself."
CODE = (
    "This is a number, and what was typed may have been another code: 1979.10 is kept as 1979.1 and 007 as 7. "
    + TYPE_AGAIN
)
TEXT = "This is a number, and what was typed may have been more: 7.50 is kept as 7.5. " + TYPE_AGAIN
_NO_DATE = "The spreadsheet made a date of this ({}). " + TYPE_AGAIN
_MISSHOWN: Mapping[Look, str] = {
    Look.PERCENT: "This cell shows {} as a percentage, so what is seen is not what is kept. Format the column as a "
    "plain number and type the number again.",
    Look.SCALED: "This cell shows {} in thousands, so what is seen is not what is kept. Format the column as a plain "
    "number and look whether it is right.",
    Look.UNIT: "The format of this cell shows words or a unit beside {}, and the column has a unit of its own. Format "
    "the column as a plain number and look whether it is right.",
    Look.HIDDEN: "The format of this cell hides the number {}. Format the column as a plain number and look whether it "
    "is right.",
}
_LOCAL = "This cell shows a date in a way that depends on the language. Format it as text and write the date."

EXACT_DIGITS = 15
"""Digits that a spreadsheet keeps of what is typed (ECMA-376 Part 1, 18.17.2.3, names the double; common practice)."""
REMEMBERED = 200_000
"""Different cells whose reading is kept; more are read again and again."""
_IDENTIFIERS = frozenset({"other_numbers"})
"""Columns of text in which noughts at the front count."""
_NUMBER = re.compile(r"[+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]{1,3})?")
_ISO = re.compile(r"([0-9]{4})-([0-9]{2})-([0-9]{2})(?:T([0-9]{2}):([0-9]{2})(?::([0-9]{2})(?:\.[0-9]+)?)?)?Z?")


class Meanings(dict[bytes, str]):
    """What the plain cells of one column say, by their tokens; each is thought of once."""

    def __init__(self, book: Book, column: Column | None) -> None:
        super().__init__()
        self._book, self._column = book, column
        self.refuses = False
        """Whether any of them is `Refused`."""

    def __missing__(self, written: bytes) -> str:
        kind, style, value = token(written)
        text = shared(self._book, value) if kind == "s" else number_text(self._book, self._column, style, value)
        self.refuses = self.refuses or type(text) is Refused
        if len(self) < REMEMBERED:
            self[written] = text
        return text


def cell_text(book: Book, column: Column | None, cell: Cell) -> str:
    """What a cell says, for a column of the survey or for none; may be `Refused`.

    :raises Broken: where the cell is none that a workbook can hold.
    """
    if cell.formula is not None:
        return _refused(column, f"={cell.formula}" if cell.formula else cell.value or "=", FORMULA)
    if cell.kind == "s":
        return shared(book, cell.value)
    if cell.kind in ("str", "inlineStr") or not cell.value:
        return cell.value
    if cell.kind == "n":
        return number_text(book, column, cell.style, cell.value)
    if cell.kind == "b":
        truth = cell.value in ("1", "true")
        known = column.words.words if column is not None and column.words is not None else ()
        meant = "yes" if truth else "no"
        return _refused(column, "TRUE" if truth else "FALSE", TRUTH, meant if meant in known else None)
    if cell.kind == "e":
        return _refused(column, cell.value, ERROR)
    if cell.kind == "d":
        return _iso_text(column, cell.value)
    raise Broken(DAMAGED)


def shared(book: Book, written: str) -> str:
    """The text that a cell points to."""
    if not written:
        return ""
    try:
        number = int(written)
        if number < 0:
            raise ValueError
        return book.texts[number]
    except (ValueError, IndexError):
        raise Broken(DAMAGED) from None


def number_text(book: Book, column: Column | None, style: int, written: str) -> str:
    """What a number says; `written` as the workbook keeps it.

    :raises Broken: where it is no number.
    """
    if _NUMBER.fullmatch(written) is None:
        raise Broken(DAMAGED)
    value, seen = float(written), book.shown(style)
    text = digits(value)
    if column is None:
        return text
    if seen.look in (Look.DATE, Look.LOCAL):
        return _date_text(column, value, text, seen, book.base_1904)
    if seen.look is not Look.PLAIN:
        return _refused(column, text, _MISSHOWN[seen.look].format(text))
    if column.is_number:
        return text
    if column.kind == "date":
        return _day_number(column, value, text, book.base_1904)
    if column.kind in ("code", "coat", "list", "file", "person"):
        return _refused(column, text, CODE)
    whole = value.is_integer() and abs(value) < 10**EXACT_DIGITS
    if column.kind == "text" and (column.name in _IDENTIFIERS or not whole):
        return _refused(column, text, CODE if column.name in _IDENTIFIERS else TEXT)
    return text if whole else _refused(column, text, TEXT)


def digits(value: float) -> str:
    """A number as people write it: a whole one without a point."""
    return str(int(value)) if value.is_integer() and abs(value) < 1e17 else repr(value)


def _date_text(column: Column, value: float, text: str, seen: Shown, base_1904: bool) -> str:
    try:
        when = moment(value, base_1904)
    except BadValue as fault:
        return _refused(column, text, str(fault))
    return _dated(column, when, seen)


def _dated(column: Column, when: datetime, seen: Shown) -> str:
    shown = f"{when:%Y-%m-%d}" if not seen.clock else f"{when:%Y-%m-%d %H:%M}"
    if column.kind != "date":
        return _refused(column, shown, _NO_DATE.format(shown))
    if seen.look is Look.LOCAL:
        return _refused(column, shown, _LOCAL)
    try:
        return as_seen(when, seen)
    except BadValue as fault:
        return _refused(column, shown, str(fault))


def _iso_text(column: Column | None, written: str) -> str:
    """A date cell that is written in ISO 8601 (18.18.11, type d)."""
    found = _ISO.fullmatch(written)
    if found is None or column is None:
        return written
    try:
        year, month, day, hour, minute, second = (int(part or 0) for part in found.groups())
        when = datetime(year, month, day, hour, minute, second)
    except ValueError:
        raise Broken(DAMAGED) from None
    return _dated(column, when, Shown(Look.DATE, True, True, True, found[4] is not None))


def _day_number(column: Column, value: float, text: str, base_1904: bool) -> str:
    """A number without the format of a date, in a column of dates: a year is taken, a day's number is not."""
    if re.fullmatch("[0-9]{4}", text):
        return text
    day = day_of(value, base_1904)
    if day is None or value < 10_000:
        return _refused(column, text, f"This is a number and no date. {TYPE_AGAIN}")
    return _refused(
        column,
        text,
        f"This is a number; as a date it would be {day}. Format the cell as a date, or as text and write the date.",
        str(day),
    )


def _refused(column: Column | None, shown: str, message: str, nearest: str | None = None) -> str:
    return shown if column is None else Refused(shown, BadValue(message, nearest))
