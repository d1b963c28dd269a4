"""A blank survey as a workbook: drop-downs for closed lists, a note on every heading, text kept as typed."""

from __future__ import annotations

import datetime
import io
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import xlsxwriter
from xlsxwriter.utility import xl_col_to_name

from collection.ingest.blank.codes import span
from collection.ingest.blank.contents import KINDS_LEFT_AS_TYPED, ORDER, Blank, cell_text, note
from collection.ingest.blank.example import EXAMPLE, INSTRUCTIONS, INVENTED, SHOWN
from collection.ingest.package.headings import signed
from collection.records.codes import CODE_COLUMN
from collection.records.columns import Column
from collection.records.sheets import BY_SHEET, Record, Survey

if TYPE_CHECKING:
    from xlsxwriter.format import Format
    from xlsxwriter.worksheet import Worksheet

LAST_ROW = 5_000
"""The row down to which a sheet has its drop-downs and bounds; rows below are read all the same."""
LISTS = "lists"
EXACT_DIGITS = 16
"""Digits to which the writer keeps a number; one that needs more is written out as text."""
LONGEST_MESSAGE, LONGEST_TITLE, LONGEST_CELL, TALLEST_ROW = 255, 32, 32_767, 409
"""What the file format allows: characters of a message, its title and a cell, points of a row (ECMA-376 part 1)."""
_WIDTHS = {
    "text": 28,
    "person": 20,
    "date": 14,
    "agent": 30,
    "points": 24,
    "file": 26,
    "word": 18,
    "code": 14,
    "coat": 14,
    "list": 20,
    "number": 12,
    "integer": 10,
}


def workbook(blank: Blank) -> bytes:
    """The workbook's file; equal surveys give equal files."""
    out = io.BytesIO()
    with xlsxwriter.Workbook(
        out, {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False, "strings_to_numbers": False}
    ) as book:
        book.set_properties({"title": "A survey to be filled in", "created": datetime.datetime(2000, 1, 1)})
        _Writer(book, blank).write()
    return out.getvalue()


@dataclass
class _Lists:
    """The sheet that holds every drop-down's words, each list once."""

    sheet: Worksheet
    text: Format
    places: dict[tuple[str, ...], str] = field(default_factory=dict)

    def range_of(self, words: Sequence[str]) -> str:
        key = tuple(words)
        if key not in self.places:
            column = len(self.places)
            self.sheet.write_column(0, column, key, self.text)
            name = xl_col_to_name(column, col_abs=True)
            self.places[key] = f"={LISTS}!{name}$1:{name}${len(key)}"
        return self.places[key]


class _Writer:
    def __init__(self, book: Any, blank: Blank) -> None:
        self._book, self._blank = book, blank
        thick: dict[str, Any] = {"num_format": "@", "valign": "top", "text_wrap": True}
        self._text = book.add_format({"num_format": "@"})
        self._known = book.add_format({"num_format": "@", "italic": True})
        self._known_number = book.add_format({"italic": True})
        self._required = book.add_format({**thick, "bold": True, "border": 2, "bg_color": "#E9E2D0"})
        self._optional = book.add_format({**thick, "border": 1, "font_color": "#444444"})
        self._title = book.add_format({"bold": True, "font_size": 16, "num_format": "@"})
        self._heading = book.add_format({"bold": True, "font_size": 12, "num_format": "@", "top": 1})
        self._prose = book.add_format({"text_wrap": True, "valign": "top", "num_format": "@"})
        self._caution = book.add_format(
            {"text_wrap": True, "valign": "top", "bold": True, "left": 5, "num_format": "@"}
        )

    def write(self) -> None:
        names = ["instructions", "survey", *(["known", "questions"] if self._blank.objects else []), *ORDER, "example"]
        sheets = {name: self._book.add_worksheet(name) for name in names}
        self._lists = _Lists(self._book.add_worksheet(LISTS), self._text)
        self._lists.sheet.very_hidden()
        self._instructions(sheets["instructions"])
        self._survey(sheets["survey"])
        if self._blank.objects:
            self._table(
                sheets["known"],
                ("object", "about", "where", "what", "as of"),
                (18, 18, 14, 110, 14),
                [
                    (known.object, line.about, line.where, line.what, line.as_of)
                    for known in self._blank.objects
                    for line in known.lines
                ]
                + self._codes(),
            )
            self._table(
                sheets["questions"],
                ("object", "about", "place", "question", "where the answer is written", "seen to"),
                (18, 18, 14, 70, 60, 12),
                [(q.object, q.about, q.place, q.question, q.answer, "") for q in self._blank.questions],
            )
        for sheet in ORDER:
            self._sheet(sheets[sheet], BY_SHEET[sheet])
        self._example(sheets["example"])
        sheets["instructions"].activate()

    def _codes(self) -> list[tuple[str, str, str, str, str]]:
        return [
            (own, "free codes", sheet.replace("_", " "), span(codes), "")
            for own in (known.object for known in self._blank.objects)
            for sheet, by_object in self._blank.codes.items()
            for codes in (by_object[own],)
        ]

    def _instructions(self, sheet: Worksheet) -> None:
        sheet.set_column(0, 0, 110)
        sheet.hide_gridlines(2)
        sheet.set_paper(9)
        sheet.fit_to_pages(1, 1)
        sheet.write_string(0, 0, "How to fill in a survey", self._title)
        row = 1
        for place, (heading, paragraphs) in enumerate(INSTRUCTIONS):
            row += 1
            sheet.write_string(row, 0, heading, self._heading)
            for paragraph in paragraphs:
                row += 1
                sheet.write_string(row, 0, paragraph, self._prose if place else self._caution)
                sheet.set_row(row, 15.5 * (1 + len(paragraph) // 112))
        sheet.protect()

    def _survey(self, sheet: Worksheet) -> None:
        sheet.set_column(0, 0, 18, self._text)
        sheet.set_column(1, 1, 80, self._prose)
        self._head(sheet, 0, 0, "key", True, "One line for each column of the survey.")
        self._head(sheet, 0, 1, "value", True, "What is asked in the note of the line's key.")
        for row, column in enumerate(Survey.columns(), 1):
            said = note(Survey, column)
            self._head(sheet, row, 0, column.name, column.required, said)
            sheet.write_string(row, 1, self._blank.survey.get(column.name, ""), self._prose)
            sheet.data_validation(
                row, 1, row, 1, {"validate": "any", "input_title": column.name, "input_message": _short(said)}
            )
        sheet.freeze_panes(1, 1)

    def _sheet(self, sheet: Worksheet, record: type[Record]) -> None:
        columns = record.columns()
        rows = self._blank.rows(record.sheet)
        for place, column in enumerate(columns):
            texts = [cell_text(column, getattr(row, column.name)) for row in rows]
            width = min(60, max([_WIDTHS[column.kind], len(column.name) + 3, *(len(text) + 1 for text in texts)]))
            as_text = column.kind in KINDS_LEFT_AS_TYPED
            sheet.set_column(place, place, width, self._text if as_text else None)
            self._head(sheet, 0, place, column.name, column.required, note(record, column, self._blank.codes))
            self._check(sheet, record, place, column)
            for row, (record_row, text) in enumerate(zip(rows, texts, strict=True), 1):
                value = getattr(record_row, column.name)
                if column.is_number and value is not None and float(f"{value:.{EXACT_DIGITS}G}") == value:
                    sheet.write_number(row, place, value, self._known_number)
                elif text:
                    sheet.write_string(row, place, text, self._known)
        sheet.freeze_panes(1, min(2, len(record.key)))
        sheet.repeat_rows(0)
        sheet.set_landscape()
        sheet.set_paper(9)
        sheet.fit_to_pages(1, 0)
        if rows:
            sheet.set_tab_color("#8A7B52")

    def _head(self, sheet: Worksheet, row: int, place: int, name: str, required: bool, said: str) -> None:
        sheet.write_string(row, place, name, self._required if required else self._optional)
        lines = sum(1 + len(line) // 46 for line in said.splitlines())
        sheet.write_comment(
            row, place, said, {"author": signed(said), "font_size": 9, "width": 300, "height": 14 * lines + 12}
        )

    def _check(self, sheet: Worksheet, record: type[Record], place: int, column: Column) -> None:
        """The drop-down or the bounds of a column.

        What is optional may say `not recorded`, and an open list may grow, so there a check warns and lets pass;
        a list of codes only offers.
        """
        options: dict[str, Any]
        kind = "stop" if column.required else "warning"
        if column.kind == "list":
            # A drop-down holds one word at a time: it offers, and lets several stand.
            if column.words is None:
                return
            options = {"validate": "list", "source": self._lists.range_of(column.words.words), "show_error": False}
        elif column.words is not None:
            kind = "warning" if column.words.open_list else kind
            options = {
                "validate": "list",
                "source": self._lists.range_of(column.words.words),
                "error_type": kind,
                "error_title": _title(column.name),
                "error_message": _short(
                    f"Not in the list of {column.words.name}. Choose a word of the list."
                    + (" Other words are kept and doubted." if column.words.open_list else "")
                ),
            }
        elif column.is_number:
            whole = column.kind == "integer"
            low, high = column.low, column.high
            ends = (
                ("between", low, high)
                if low is not None and high is not None
                else (">=", low, None)
                if low is not None
                else ("<=", high, None)
            )
            said = f"{column.name} is {'a whole number' if whole else 'a number'}"
            said += f" in {column.unit}" if column.unit else ""
            said += f", from {low:g}" if low is not None else ""
            said += f" to {high:g}" if high is not None else ""
            options = {
                "validate": "integer" if whole else "decimal",
                "criteria": ends[0],
                "error_type": kind,
                "error_title": _title(column.name),
                "error_message": _short(f"{said}."),
            }
            options |= {"minimum": ends[1], "maximum": ends[2]} if ends[2] is not None else {"value": ends[1]}
        else:
            offered = self._offered(record, column)
            if offered is None:
                return
            options = {"validate": "list", "source": offered, "show_error": False}
        sheet.data_validation(1, place, LAST_ROW - 1, place, options)

    def _offered(self, record: type[Record], column: Column) -> str | None:
        """Codes to choose from: those handed out for a row's own, those of the sheet it points to for others."""
        if column.kind != "code":
            return None
        handed_out = self._blank.codes.get(record.sheet)
        if column.reference is None:
            if handed_out is None or CODE_COLUMN[record.sheet] != column.name:
                return None
            return self._lists.range_of([code for codes in handed_out.values() for code in codes])
        if column.reference == "place" and self._blank.places():
            return self._lists.range_of(self._blank.places())
        target = "zones" if column.reference == "place" else column.reference
        if target not in ORDER:
            return None
        own = BY_SHEET[target]
        place = [each.name for each in own.columns()].index(CODE_COLUMN[target])
        name = xl_col_to_name(place, col_abs=True)
        # As long as there are rows, because a list that ends in blanks opens at its end.
        return f"=OFFSET({target}!{name}$2,0,0,MAX(1,COUNTA({target}!{name}$2:{name}${LAST_ROW})),1)"

    def _example(self, sheet: Worksheet) -> None:
        sheet.set_column(0, 30, 17, self._text)
        sheet.write_string(0, 0, INVENTED, self._title)
        row = 2
        for name in SHOWN:
            rows = EXAMPLE[name]
            columns = [column for column in BY_SHEET[name].columns() if any(column.name in each for each in rows)]
            sheet.write_string(row, 0, name, self._heading)
            for place, column in enumerate(columns):
                sheet.write_string(row + 1, place, column.name, self._required if column.required else self._optional)
                for down, each in enumerate(rows, 2):
                    sheet.write_string(row + down, place, each.get(column.name, ""), self._text)
            row += len(rows) + 3
        sheet.protect()

    def _table(
        self, sheet: Worksheet, headings: Sequence[str], widths: Sequence[int], rows: Sequence[Sequence[str]]
    ) -> None:
        for place, (heading, width) in enumerate(zip(headings, widths, strict=True)):
            sheet.set_column(place, place, width, self._prose)
            sheet.write_string(0, place, heading, self._required)
        for row, cells in enumerate(rows, 1):
            loud = "caution" in cells[:2] or "hazard" in cells[:2]
            for place, cell in enumerate(cells):
                said = cell if len(cell) <= LONGEST_CELL else cell[: LONGEST_CELL - 1] + "…"
                sheet.write_string(row, place, said, self._caution if loud and place == 3 else self._prose)
            lines = max(1 + len(cell) // max(1, int(width * 1.05)) for cell, width in zip(cells, widths, strict=True))
            sheet.set_row(row, min(TALLEST_ROW, 15 * lines))
        sheet.freeze_panes(1, 0)
        sheet.autofilter(0, 0, max(1, len(rows)), len(headings) - 1)
        sheet.set_landscape()
        sheet.set_paper(9)
        sheet.repeat_rows(0)
        sheet.fit_to_pages(1, 0)


def _short(text: str) -> str:
    return text if len(text) <= LONGEST_MESSAGE else text[: LONGEST_MESSAGE - 1] + "…"


def _title(text: str) -> str:
    return text[:LONGEST_TITLE]
