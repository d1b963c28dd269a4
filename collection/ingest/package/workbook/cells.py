"""One cell of a workbook for one column: the text that is read on, or why the cell cannot be taken.

What is kept is what the person sees. A spreadsheet turns 1979.10 into 1979.1, 007 into 7 and 1/4 into a day of April
before it saves, and what was typed is gone; so a number is taken only where a number says all that was typed, and a
date only where a date belongs.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import date, datetime

from collection.ingest.package.sheets import Refused
from collection.ingest.package.workbook.book import Book, Cell
from collection.ingest.package.workbook.checked_parts import DAMAGED, Broken
from collection.ingest.package.workbook.number_formats import PLAIN, Look, Shown, as_seen, moment
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
_IDENTIFIERS = frozenset({"other_numbers"})
"""Columns of text in which noughts at the front count."""


def cell_text(book: Book, column: Column | None, cell: Cell) -> str:
    """What a cell says, for a column of the survey or for none; may be `Refused`.

    :raises Broken: where the cell is none that a workbook can hold.
    """
    kind, value = cell["data_type"], cell["value"]
    if kind == "s":
        return str(value)
    if kind == "n":
        return _number_text(book, column, cell["style_id"], value)
    if kind == "f":
        return _refused(
            column, value if isinstance(value, str) else f"={getattr(value, 'text', '').lstrip('=')}", FORMULA
        )
    if kind == "b":
        known = column.words.words if column is not None and column.words is not None else ()
        meant = "yes" if value else "no"
        return _refused(column, str(value).upper(), TRUTH, meant if meant in known else None)
    if kind == "e":
        return _refused(column, value, ERROR)
    if kind != "d":
        raise Broken(DAMAGED)
    if column is None or not isinstance(value, date):
        return _refused(column, str(value), _NO_DATE.format(value))
    if isinstance(value, datetime):
        return _dated(column, value, Shown(Look.DATE, True, True, True, True))
    return _dated(column, datetime.combine(value, datetime.min.time()), Shown(Look.DATE, True, True, True))


def _number_text(book: Book, column: Column | None, style: int, number: float) -> str:
    seen, text = book.shown(style), digits(number)
    if column is None:
        return text
    if column.is_number and seen is PLAIN:
        # A number cell is a number; as a text, 1.234 would be asked back.
        return f"{text}0" if text[-4:-3] == "." else text
    if seen.look in (Look.DATE, Look.LOCAL):
        when, why = _moment(number, book.base_1904)
        return _dated(column, when, seen) if when is not None else _refused(column, text, why)
    if seen is not PLAIN:
        return _refused(column, text, _MISSHOWN[seen.look].format(text))
    if column.kind == "date":
        return _day_number(column, number, text, book.base_1904)
    if column.kind in ("code", "coat", "list", "file", "person") or column.name in _IDENTIFIERS:
        return _refused(column, text, CODE)
    return text if abs(number) < 10**EXACT_DIGITS and number == int(number) else _refused(column, text, TEXT)


def digits(number: float) -> str:
    """A number as people write it: a whole one without a point.

    :raises Broken: where it is larger than any that a spreadsheet holds.
    """
    if type(number) is float and not number.is_integer():
        return repr(number)
    if abs(number) < 1e17:
        return str(int(number))
    try:
        return repr(float(number))
    except OverflowError:
        raise Broken(DAMAGED) from None


def _moment(value: float, base_1904: bool) -> tuple[datetime | None, str]:
    try:
        return moment(value, base_1904), ""
    except BadValue as fault:
        return None, str(fault)


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


def _day_number(column: Column, value: float, text: str, base_1904: bool) -> str:
    """A number without the format of a date, in a column of dates: a year is taken, a day's number is not."""
    if re.fullmatch("[0-9]{4}", text):
        return text
    day, _ = _moment(value, base_1904)
    if day is None or value < 10_000:
        return _refused(column, text, f"This is a number and no date. {TYPE_AGAIN}")
    return _refused(
        column,
        text,
        f"This is a number; as a date it would be {day:%Y-%m-%d}. Format the cell as a date, or as text and write the "
        "date.",
        f"{day:%Y-%m-%d}",
    )


def _refused(column: Column | None, shown: str, message: str, nearest: str | None = None) -> str:
    return shown if column is None else Refused(shown, BadValue(message, nearest))
