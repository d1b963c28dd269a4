"""Days and number formats of a workbook, against the standard and other readers."""

from __future__ import annotations

import datetime
from pathlib import Path

import made_workbooks as made
import openpyxl
import pytest
from hypothesis import given
from hypothesis import strategies as st
from openpyxl.styles.numbers import is_date_format
from openpyxl.utils import datetime as openpyxl_dates

from collection.ingest.package.sheets import Refused
from collection.ingest.package.workbook import number_formats as formats
from collection.ingest.package.workbook.book import Seen, open_book
from collection.ingest.package.workbook.cells import cell_text
from collection.ingest.package.workbook.number_formats import Look
from collection.language.errors import BadValue
from collection.records.sheets import BY_SHEET

TAKEN_ON = BY_SHEET["samples"].column("taken_on")


# ECMA-376 Part 1, 18.17.4.1: in the 1900 system serial 1 is 1900-01-01, serial 60 the false 29 February 1900, the last
# is 2958465 = 9999-12-31; in the 1904 system 0 is 1904-01-01 and the last 2957003 = 9999-12-31.
PUBLISHED = [
    (1, False, "1900-01-01"),
    (59, False, "1900-02-28"),
    (61, False, "1900-03-01"),
    (2_958_465, False, "9999-12-31"),
    (0, True, "1904-01-01"),
    (1, True, "1904-01-02"),
    (2_957_003, True, "9999-12-31"),
]


@pytest.mark.parametrize(("serial", "base_1904", "day"), PUBLISHED)
def test_the_published_days(serial: float, base_1904: bool, day: str) -> None:
    """The ends of both date systems, and the days around the one that never was."""
    assert formats.moment(serial, base_1904).date().isoformat() == day


@pytest.mark.parametrize(
    ("serial", "base_1904"),
    [
        (0, False),
        (-1, False),
        (60, False),
        (60.5, False),
        (2_958_466, False),
        (-1, True),
        (2_957_004, True),
        (1e308, False),
        (float("inf"), False),
        (float("-inf"), True),
    ],
)
def test_numbers_that_stand_for_no_day(serial: float, base_1904: bool) -> None:
    """Nought, the false leap day, what lies before the first and after the last day, and what no reckoning reaches."""
    with pytest.raises(BadValue, match="stands for no day"):
        formats.moment(serial, base_1904)


@given(st.integers(61, 2_958_464), st.integers(0, 86_399), st.booleans())
def test_days_are_those_that_openpyxl_reads(day: int, second: int, base_1904: bool) -> None:
    """Every day and second from 1 March 1900 on, in both systems."""
    epoch = openpyxl_dates.MAC_EPOCH if base_1904 else openpyxl_dates.WINDOWS_EPOCH
    serial = (day - 1462 if base_1904 and day > 1462 else day) + second / 86_400
    expected = openpyxl_dates.from_excel(serial, epoch)
    assert abs(formats.moment(serial, base_1904) - expected) < datetime.timedelta(seconds=1)


# Codes of 18.8.30 and usual ones: what they show, and which parts of a date.


CODES = [
    ("General", Look.PLAIN, ""),
    ("0", Look.PLAIN, ""),
    ("#,##0.00", Look.PLAIN, ""),
    ("0.00E+00", Look.PLAIN, ""),
    ("# ??/??", Look.PLAIN, ""),
    ("@", Look.PLAIN, ""),
    ("0_);[Red](0)", Look.PLAIN, ""),
    ("[>=100]0;0.0", Look.PLAIN, ""),
    ("[$€-407] #,##0.00", Look.PLAIN, ""),
    ("0%", Look.PERCENT, ""),
    ("0.0 %", Look.PERCENT, ""),
    ('0"%"', Look.PERCENT, ""),
    ("0,", Look.SCALED, ""),
    ("0.0,,", Look.SCALED, ""),
    ('0.0" µm"', Look.UNIT, ""),
    (r"0.0\ \m\m", Look.UNIT, ""),
    ('"about "0', Look.UNIT, ""),
    (";;;", Look.HIDDEN, ""),
    ("0;;0", Look.HIDDEN, ""),
    ("yyyy-mm-dd", Look.DATE, "ymd"),
    ("d/m/yy", Look.DATE, "ymd"),
    ("mmm-yy", Look.DATE, "ym"),
    ("yyyy", Look.DATE, "y"),
    ("d-mmm", Look.DATE, "md"),
    ("h:mm", Look.DATE, "t"),
    ("mm:ss", Look.DATE, "t"),
    ("[h]:mm:ss", Look.DATE, "t"),
    ("mmss.0", Look.DATE, "t"),
    ("h:mm AM/PM", Look.DATE, "t"),
    ("yyyy-mm-dd hh:mm", Look.DATE, "ymdt"),
    ("[$-F800]dddd, mmmm dd, yyyy", Look.DATE, "ymd"),
    ('d. mmmm yyyy" at sea"', Look.DATE, "ymd"),
    ("[h]", Look.DATE, "t"),
    ("gge", Look.LOCAL, ""),
    ('"d"0', Look.UNIT, ""),
    (r"\y0", Look.UNIT, ""),
    ("[Red]0", Look.PLAIN, ""),
    ("[Magenta][<=9]0;[Yellow]0", Look.PLAIN, ""),
]


@pytest.mark.parametrize(("code", "look", "parts"), CODES)
def test_what_a_format_shows(code: str, look: Look, parts: str) -> None:
    """Percentages, thousands, units and hidden numbers are told from plain ones; of dates, which parts are seen."""
    seen = formats.shown(200, code)
    shown = "".join(
        letter for letter, on in zip("ymdt", (seen.year, seen.month, seen.day, seen.clock), strict=True) if on
    )
    assert (seen.look, shown) == (look, parts)


@pytest.mark.parametrize("number", [*range(23), *range(37, 50)])
def test_the_formats_without_a_code_are_those_of_openpyxl(number: int) -> None:
    """The numbers of 18.8.30 that mean the same in every language."""
    code = openpyxl.styles.numbers.BUILTIN_FORMATS[number]
    assert formats.shown(number, None).look in (formats.shown(number, code).look, Look.PLAIN)
    assert (formats.shown(number, None).look is Look.DATE) == is_date_format(code)
    assert (formats.shown(number, None).look is Look.PERCENT) == ("%" in code)


def test_formats_that_differ_by_language_are_refused() -> None:
    """27 to 36 and 50 to 58 show another date in every language (18.8.30)."""
    assert {formats.shown(number, None).look for number in (*range(27, 37), *range(50, 59))} == {Look.LOCAL}


def test_real_dates_of_other_kinds(tmp_path: Path) -> None:
    """Both systems give the day that openpyxl wrote, and an ISO date cell is a date as well (18.18.11)."""
    for epoch in (openpyxl_dates.WINDOWS_EPOCH, openpyxl_dates.MAC_EPOCH):
        written = openpyxl.Workbook()
        written.epoch = epoch
        written.active.append([datetime.date(2019, 5, 12), datetime.datetime(1987, 3, 1, 23, 59, 59)])
        written.save(tmp_path / "b.xlsx")
        book = open_book(tmp_path / "b.xlsx")
        ((_, row),) = book.rows(book.sheets[0], Seen())
        found = [cell_text(book, TAKEN_ON, cell) for cell in row]
        assert found == ["2019-05-12", "1987-03-01T23:59:59"]
    iso = "".join(f'<c t="d"><v>{text}</v></c>' for text in ("2019-05-12", "2019-05-12T09:30:00", "09:30:00"))
    book = open_book(made.by_hand(tmp_path / "b.xlsx", {"objects": f"<row>{iso}</row>"}))
    ((_, row),) = book.rows(book.sheets[1], Seen())
    assert [cell_text(book, TAKEN_ON, cell) for cell in row] == ["2019-05-12", "2019-05-12T09:30:00", "09:30:00"]
    assert isinstance(cell_text(book, TAKEN_ON, row[2]), Refused)
