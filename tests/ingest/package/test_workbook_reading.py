"""How a workbook's rows are read: days and formats against the standard and other readers, and files that are damaged
or made to harm."""

from __future__ import annotations

import contextlib
import datetime
import random
import re
import struct
import zipfile
from collections.abc import Iterator
from pathlib import Path
from types import ModuleType
from typing import Any

import made_workbooks as made
import openpyxl
import pytest
import python_calamine
import xlsxwriter
from hypothesis import given
from hypothesis import strategies as st
from openpyxl.styles.numbers import is_date_format
from openpyxl.utils import datetime as openpyxl_dates

from collection.ingest.package import package_format, zip_file
from collection.ingest.package.sheets import Refused
from collection.ingest.package.workbook import book as workbook_book
from collection.ingest.package.workbook import checked_parts, sheets
from collection.ingest.package.workbook import number_formats as formats
from collection.ingest.package.workbook.book import Seen, open_book
from collection.ingest.package.workbook.cells import cell_text
from collection.ingest.package.workbook.checked_parts import Broken
from collection.ingest.package.workbook.number_formats import Look
from collection.ingest.staging import check_package
from collection.language.errors import BadValue, Fault, InputRefused, OurFault
from collection.records.sheets import BY_SHEET

TAKEN_ON = BY_SHEET["samples"].column("taken_on")
X = BY_SHEET["samples"].column("x")

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


NUMBERS = st.floats(allow_nan=False, allow_infinity=False, min_value=-1e12, max_value=1e12) | st.integers(
    -(10**9), 10**9
)
TEXTS = st.text(st.characters(exclude_categories=("Cs", "Cc", "Cn")), max_size=12) | st.sampled_from(
    ("_x000D_", "a\nb", " a ", "&amp;", "<v>", "]]>", "</row>", "007", "2,5")
)
TABLES = st.lists(st.lists(st.none() | NUMBERS | TEXTS, max_size=30), max_size=8)


def write_xlsxwriter(path: Path, table: list[list[Any]]) -> None:
    with xlsxwriter.Workbook(str(path)) as book:
        page = book.add_worksheet("objects")
        for at, row in enumerate(table):
            for place, value in enumerate(row):
                if isinstance(value, str):
                    page.write_string(at, place, value)
                elif value is not None:
                    page.write_number(at, place, value)


def write_openpyxl(path: Path, table: list[list[Any]]) -> None:
    book = openpyxl.Workbook()
    page = book.active
    page.title = "objects"
    for at, row in enumerate(table, 1):
        for place, value in enumerate(row, 1):
            if value is not None:
                cell = page.cell(at, place, value)
                if isinstance(value, str):
                    cell.data_type = "s"
    book.save(path)


def cells(path: Path, sheet: int = 0) -> dict[tuple[int, int], Any]:
    """Everything that stands in a sheet: texts, and numbers as floats, by row and column from 0."""
    book = open_book(path)
    return {
        (number - 1, cell["column"] - 1): (
            float(cell["value"]) if cell["data_type"] == "n" else cell_text(book, None, cell)
        )
        for number, row in book.rows(book.sheets[sheet], Seen())
        for cell in row
        if cell["value"] != ""
    }


@pytest.mark.parametrize("write", [write_xlsxwriter, write_openpyxl])
@given(table=TABLES)
def test_cells_are_read_as_calamine_reads_them(
    write: Any, tmp_path_factory: pytest.TempPathFactory, table: list[list[Any]]
) -> None:
    """Of workbooks by two writers every cell is what python-calamine finds, and what was written."""
    path = tmp_path_factory.mktemp("b") / "b.xlsx"
    write(path, table)
    found = cells(path)
    sheet = python_calamine.CalamineWorkbook.from_path(path).get_sheet_by_index(0)
    first_row, first_column = sheet.start or (0, 0)
    other = {
        (at + first_row, place + first_column): value
        for at, row in enumerate(sheet.to_python())
        for place, value in enumerate(row)
        if value != ""
    }
    assert found == other
    for (at, place), value in found.items():
        written = table[at][place]
        if write is write_openpyxl and isinstance(written, str) and "_x" in written:
            continue  # openpyxl writes what looks like an escape as it stands, and so it is one.
        assert value == (written if isinstance(written, str) else pytest.approx(written, rel=1e-15))


SOUND = (
    made.inline_row(1, ["object", "title", "kind"])
    + '<row r="2"><c r="A2" t="s"><v>0</v></c><c r="B2" t="s"><v>1</v></c><c r="C2"><v>7</v></c></row>'
    + '<row r="3" spans="1:3" hidden="1"><c r="A3" t="s"><v>1</v></c><c r="B3" s="1"/></row>'
    + '<row r="4"/><row r="5"><c r="A5"><f>1+1</f><v>2</v></c><c r="C5"><v>3</v></c></row>'
)
SLIPS = st.text(st.sampled_from('<>/"= rcvfst012AB&;'), max_size=4) | st.sampled_from(
    [
        "<!--",
        "-->",
        "<![CDATA[",
        "]]>",
        "<?x ",
        "?>",
        "</row>",
        '<row r="4">',
        "</sheetData>",
        "<sheetData>",
        "<x>",
        "</x>",
        '<row r="6"><c r="A6"><v>6</v></c></row>',
        '<row r="7" hidden="false"><c r="B7" t="n"><v>7</v></c></row>',
    ]
)


@given(st.lists(st.tuples(st.integers(0, len(SOUND)), st.integers(0, 6), SLIPS), min_size=1, max_size=4))
def test_a_spoiled_sheet_is_read_or_refused(
    tmp_path_factory: pytest.TempPathFactory, slips: list[tuple[int, int, str]]
) -> None:
    """Whatever the library makes of such a sheet, nothing is raised but the refusal."""
    data = SOUND
    for place, gone, put in slips:
        data = data[:place] + put + data[place + gone :]
    path = made.by_hand(
        tmp_path_factory.mktemp("b") / "b.xlsx",
        {"objects": data},
        formats=["0"],
        texts="<si><t>T1</t></si><si><t>tram</t></si>",
    )
    with contextlib.suppress(Broken):
        cells(path, 1)


PLAIN = '<row r="9"><c r="A9"><v>1</v></c></row>'
HEADED = made.inline_row(1, ["object", "title", "kind"])
NO_ROWS = {
    "in a comment": made.worksheet(f"{HEADED}<!-- </row>{PLAIN} -->"),
    "in a text as it stands": made.worksheet(
        f'{HEADED}<row r="2"><c r="D2" t="inlineStr"><is><t><![CDATA[</row>{PLAIN}]]></t></is></c></row>'
    ),
    "in an instruction": made.worksheet(f"{HEADED}<?x </row>{PLAIN} ?>"),
    "in an instruction before the rows": made.worksheet(HEADED).replace(
        "<sheetData>", f"<?x <sheetData>{PLAIN}?><sheetData>"
    ),
}


@pytest.mark.parametrize("sheet", NO_ROWS.values(), ids=NO_ROWS)
def test_what_looks_like_a_row_and_is_none_is_not_read(tmp_path: Path, sheet: str) -> None:
    """A row in a comment, in a text or in an instruction is no row."""
    path = made.by_hand(tmp_path / "b.xlsx", {"objects": ""}, parts={"xl/worksheets/sheet2.xml": sheet})
    found = {place: text for place, text in cells(path, 1).items() if place[1] < 3}
    assert found == {(0, 0): "object", (0, 1): "title", (0, 2): "kind"}


def test_much_text_beside_the_cells_is_no_long_cell(tmp_path: Path) -> None:
    """Headers, rules for input, and the blanks between rows that somebody's program sets in, count for no cell."""
    rows = made.inline_row(2, ["T1", "Tram", "tram"])
    header = f"<headerFooter><oddHeader>{'x' * 200_000}</oddHeader></headerFooter>"
    blank = "".join(f'\n{" " * 30}<row r="{at}"/>' for at in range(3, 8_000))
    for sheet in (
        made.worksheet(HEADED + rows, header),
        made.worksheet(HEADED + rows + blank + made.inline_row(9_000, ["T2", "Bus", "bus"])),
    ):
        assert (
            check_package(made.by_hand(tmp_path / "b.xlsx", {"objects": ""}, parts={"xl/worksheets/sheet2.xml": sheet}))
            == []
        )


def test_hidden_rows_are_those_that_say_so(tmp_path: Path) -> None:
    """A spreadsheet program may write on every row that it is not hidden."""
    row = '<row r="{0}" customFormat="false" hidden="{1}" outlineLevel="0"><c r="A{0}" t="n"><v>7</v></c></row>'
    said = ["false", "0", "1", "true", "false"]
    path = made.by_hand(
        tmp_path / "b.xlsx", {"objects": "".join(row.format(at, hidden) for at, hidden in enumerate(said, 1))}
    )
    book, seen = open_book(path), Seen()
    assert len(list(book.rows(book.sheets[1], seen))) == 5
    assert seen.hidden_rows == [3, 4]


def test_texts_are_those_that_were_typed(tmp_path: Path) -> None:
    """What XML cannot hold is written `_x000D_`, and `_x005F_` stands for a low line before such (22.9.2.19); how a
    text is said aloud is no part of it (18.4.6)."""
    texts = (
        "<si><t>a_x000D_b</t></si><si><t>a_x005F_x000D_b</t></si>"
        "<si><r><t>red</t></r><r><rPr><b/></rPr><t> lead</t></r><rPh sb='0' eb='1'><t>aloud</t></rPh></si>"
    )
    row = "".join(f'<c t="s"><v>{at}</v></c>' for at in range(3)) + '<c t="inlineStr"><is><t>c_x000D_d</t></is></c>'
    path = made.by_hand(tmp_path / "b.xlsx", {"objects": f"<row>{row}</row>"}, texts=texts)
    assert list(cells(path, 1).values()) == ["a\rb", "a_x000D_b", "red lead", "c\rd"]


def test_fonts_and_colours_that_nobody_knows_do_no_harm(tmp_path: Path) -> None:
    """Some programs write colours and fonts that openpyxl refuses; of a cell's style only the number's format counts."""
    path = made.by_hand(tmp_path / "b.xlsx", {"objects": HEADED + made.inline_row(2, ["T1", "Tram", "tram"])})
    with zipfile.ZipFile(path) as archive:
        styles = archive.read("xl/styles.xml").decode()
    odd = styles.replace("<cellXfs>", '<fonts><font><color rgb="reddish"/></font></fonts><cellXfs>')
    made.by_hand(path, {"objects": HEADED + made.inline_row(2, ["T1", "Tram", "tram"])}, parts={"xl/styles.xml": odd})
    with pytest.raises(ValueError, match="could not read stylesheet"):
        openpyxl.load_workbook(path)
    assert check_package(path) == []


def test_a_million_cells_are_the_most(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Cells of all sheets count together, and blank ones that only have a format; beyond, CSV is the way."""
    cells_without_text = '<c s="0"/>' * 100
    blank = "".join(f'<row r="{at}">{cells_without_text}</row>' for at in range(3, 103))
    path = made.by_hand(
        tmp_path / "b.xlsx", {"objects": HEADED + made.inline_row(2, ["T1", "Tram", "tram"]) + blank, "Notes": blank}
    )
    monkeypatch.setattr(workbook_book, "MOST_CELLS", 20_000)
    faults = refused(path)
    assert any("folder of CSV files" in fault.message for fault in faults)
    monkeypatch.setattr(workbook_book, "MOST_CELLS", 20_100)
    assert check_package(path) == []


def test_the_strict_kind_of_workbook_is_told_how_to_save(tmp_path: Path) -> None:
    """A spreadsheet program may save with the names of the standard's strict part (Part 1), which openpyxl reads as
    blank sheets."""
    path = made.by_hand(tmp_path / "b.xlsx", {"objects": HEADED + made.inline_row(2, ["T1", "Tram", "tram"])})
    strict = tmp_path / "strict.xlsx"
    with zipfile.ZipFile(path) as archive, zipfile.ZipFile(strict, "w") as made_strict:
        for name in archive.namelist():
            text = archive.read(name).replace(
                b"http://schemas.openxmlformats.org/spreadsheetml/2006/main",
                b"http://purl.oclc.org/ooxml/spreadsheetml/main",
            )
            made_strict.writestr(name, text)
    (fault,) = refused(strict)
    assert "Strict Open XML" in fault.message
    assert "Save it as an ordinary .xlsx" in fault.message


OURS = {
    "the listing": (package_format, "content_types"),
    "the check of a part": (checked_parts, "_check"),
    "the formats": (workbook_book, "shown"),
    "the rows": (workbook_book, "_filled"),
    "the cells": (sheets, "cell_text"),
}


@pytest.mark.parametrize(("module", "name"), OURS.values(), ids=OURS)
@pytest.mark.parametrize("error", [ValueError, RuntimeError, NotImplementedError, EOFError])
def test_an_error_of_ours_is_not_told_as_damage(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, module: ModuleType, name: str, error: type[Exception]
) -> None:
    """Only what the library and the zip file below it say is damage; anything else comes out as what it is."""

    def fails(*_: object) -> None:
        raise error("ours")

    path = made.by_hand(tmp_path / "b.xlsx", {"objects": HEADED}, formats=["0"])
    monkeypatch.setattr(module, name, fails)
    with pytest.raises(error, match="ours"):
        check_package(path)


def test_no_part_is_opened_unchecked(tmp_path: Path) -> None:
    """Whoever forgets the check of a part is told at once."""
    path = made.by_hand(tmp_path / "b.xlsx", {})
    with checked_parts.CheckedParts(path, set()) as parts:
        parts.check("xl/workbook.xml", whole=True)
        assert parts.read("xl/workbook.xml")
        with pytest.raises(OurFault, match="before it was checked"):
            parts.read("xl/styles.xml")


def test_a_million_rows_without_a_cell_are_passed_over(tmp_path: Path) -> None:
    """A height set for the whole sheet leaves a row for each, and more of them than are held at a time."""
    blank = "".join(f'<row r="{at}" spans="1:3" ht="15" customHeight="1"/>' for at in range(2, 1_000_000))
    data = made.inline_row(1, ["object", "title", "kind"]) + blank + made.inline_row(1_000_000, ["T1", "Tram", ""])
    (fault,) = refused(made.by_hand(tmp_path / "b.xlsx", {"objects": data}))
    assert (fault.row, fault.column) == (1_000_000, "kind")


def refused(path: Path) -> list[Fault]:
    with pytest.raises(InputRefused) as caught:
        check_package(path)
    return caught.value.faults


def test_prefixes_other_encodings_and_missing_places_are_read(tmp_path: Path) -> None:
    """Other programs write prefixes, UTF-16, or cells and rows without their place; all of it is the standard's."""
    inside = (
        '<row><c t="inlineStr"><is><t>a</t></is></c><c><v>2.5</v></c></row>'
        '<row><c/><c t="d"><v>2019-05-12</v></c></row>'
    )
    plain = made.worksheet(inside)
    prefixed = re.sub(r"<(/?)(?!\?)", r"<\1x:", plain).replace("xmlns=", "xmlns:x=")
    expected = {(0, 0): "a", (0, 1): 2.5, (1, 1): "2019-05-12"}
    for text in (
        plain.encode(),
        prefixed.encode(),
        plain.replace("UTF-8", "UTF-16").encode("utf-16"),
        b"\xef\xbb\xbf" + plain.encode(),
    ):
        path = made.by_hand(tmp_path / "b.xlsx", {"objects": ""}, parts={"xl/worksheets/sheet2.xml": text})
        assert cells(path, 1) == expected


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


SPREADSHEET = 'xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"'
ENTITIES = '<?xml version="1.0"?><!DOCTYPE x [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;&a;&a;">]>'


def harmful(path: Path, kind: str) -> Path:
    objects = made.inline_row(1, ["object", "title", "kind"]) + made.inline_row(2, ["T1", "Tram", "tram"])
    sheet = "xl/worksheets/sheet2.xml"
    if kind == "entities in a sheet":
        return made.by_hand(
            path, {"objects": objects}, parts={sheet: ENTITIES + f"<worksheet {SPREADSHEET}><sheetData/></worksheet>"}
        )
    if kind == "entities in the texts":
        return made.by_hand(
            path, {"objects": objects}, parts={"xl/sharedStrings.xml": ENTITIES + f"<sst {SPREADSHEET}/>"}
        )
    if kind == "entities in the workbook":
        return made.by_hand(
            path, {"objects": objects}, parts={"xl/workbook.xml": ENTITIES + f"<workbook {SPREADSHEET}/>"}
        )
    if kind == "a bomb":
        return made.by_hand(path, {"objects": objects + " " * 60_000_000})
    if kind == "a far cell":
        return made.by_hand(path, {"objects": objects + '<row r="1048576"><c r="XFD1048576"><v>1</v></c></row>'})
    if kind == "beyond the last column":
        return made.by_hand(path, {"objects": objects + '<row r="3"><c r="XFE3"><v>1</v></c></row>'})
    if kind == "rows out of order":
        return made.by_hand(path, {"objects": objects + made.inline_row(2, ["T2", "Bus", "bus"])})
    if kind == "cells out of order":
        return made.by_hand(
            path, {"objects": objects + '<row r="3"><c r="B3"><v>1</v></c><c r="A3"><v>1</v></c></row>'}
        )
    if kind == "a cell of another row":
        return made.by_hand(
            path,
            {"objects": objects + '<row r="3"><c r="A4"><v>1</v></c></row><row r="4"><c r="B4"><v>1</v></c></row>'},
        )
    if kind == "a cell with a formula of another row":
        return made.by_hand(path, {"objects": objects + '<row r="3"><c r="A2"><f>1</f><v>1</v></c></row>'})
    if kind == "a row in a row":
        return made.by_hand(
            path,
            {"objects": objects + '<row r="3"><c r="A3"><v>1</v></c><row r="4"><c r="A4"><v>1</v></c></row></row>'},
        )
    if kind == "a cell in a cell":
        return made.by_hand(
            path, {"objects": objects + '<row r="3"><c r="A3"><c r="B3"><v>1</v></c><v>2</v></c></row>'}
        )
    if kind in ("an encoding of no name", "an encoding of several bytes"):
        other = "nonsense" if kind.endswith("no name") else "shift_jis"
        return made.by_hand(path, {"objects": made.worksheet(objects).replace("UTF-8", other)})
    if kind == "an encoding of no name in the list":
        return made.by_hand(
            path,
            {"objects": objects},
            parts={
                "[Content_Types].xml": (
                    '<?xml version="1.0" encoding="nonsense"?>' + made.content_types(made.CONTENT_TYPE)
                )
            },
        )
    if kind == "a text that is not there":
        return made.by_hand(path, {"objects": objects + '<row r="3"><c r="A3" t="s"><v>99</v></c></row>'})
    if kind == "a negative text":
        return made.by_hand(path, {"objects": objects + '<row r="3"><c r="A3" t="s"><v>-1</v></c></row>'})
    if kind == "no number":
        return made.by_hand(path, {"objects": objects + '<row r="3"><c r="A3"><v>nan</v></c></row>'})
    if kind == "an unknown type":
        return made.by_hand(path, {"objects": objects + '<row r="3"><c r="A3" t="z"><v>1</v></c></row>'})
    if kind == "a merged range of no cells":
        return made.by_hand(
            path,
            {"objects": objects},
            parts={sheet: made.worksheet(objects, '<mergeCells><mergeCell ref="A:A"/></mergeCells>')},
        )
    if kind == "no end":
        return made.by_hand(path, {"objects": objects}, parts={sheet: made.worksheet(objects)[:-20]})
    if kind == "a sheet that is not there":
        made.by_hand(path, {"objects": objects})
        with zipfile.ZipFile(path) as archive:
            kept = {name: archive.read(name) for name in archive.namelist() if name != sheet}
        with zipfile.ZipFile(path, "w") as archive:
            for name, content in kept.items():
                archive.writestr(name, content)
        return path
    if kind == "a part twice":
        made.by_hand(path, {"objects": objects})
        with zipfile.ZipFile(path, "a") as archive:
            archive.writestr("xl/Workbook.xml", b"")
        return path
    if kind == "a row behind the rows":
        behind = '<extLst><row r="9"><c r="A9" t="inlineStr"><is><t>T9</t></is></c></row></extLst>'
        return made.by_hand(path, {"objects": objects}, parts={sheet: made.worksheet(objects, behind)})
    if kind == "a text of five megabytes":
        return made.by_hand(
            path, {"objects": objects + made.inline_row(3, ["T2", random.Random(1).randbytes(2_500_000).hex(), "bus"])}
        )
    if kind == "a text without end":
        return made.by_hand(path, {"objects": objects + made.inline_row(3, ["T2", "x" * 200_000, "bus"])})
    if kind == "a link outside":
        made.by_hand(path, {"objects": objects})
        with zipfile.ZipFile(path) as archive:
            links = archive.read("xl/_rels/workbook.xml.rels").decode()
        return made.by_hand(
            path,
            {"objects": objects},
            parts={
                "xl/_rels/workbook.xml.rels": links.replace(
                    'Target="worksheets/sheet2.xml"', 'Target="http://127.0.0.1:9/sheet.xml" TargetMode="External"'
                )
            },
        )
    assert kind == "macros"
    return made.by_hand(path, {"objects": objects}, parts={"xl/vbaProject.bin": b"x"})


HARMFUL = {
    "entities in a sheet": "declares XML entities",
    "entities in the texts": "declares XML entities",
    "entities in the workbook": "declares XML entities",
    "a bomb": "times its size",
    "a far cell": "below no heading",
    "beyond the last column": "do not stand in order",
    "rows out of order": "do not stand in order",
    "a cell of another row": "do not stand in order",
    "a cell with a formula of another row": "do not stand in order",
    "a row in a row": "damaged here",
    "a cell in a cell": "damaged here",
    "an encoding of no name": "'nonsense'",
    "an encoding of several bytes": "'shift_jis'",
    "an encoding of no name in the list": "'nonsense'",
    "cells out of order": "do not stand in order",
    "a text that is not there": "damaged here",
    "a negative text": "damaged here",
    "no number": "damaged here",
    "an unknown type": "damaged here",
    "a merged range of no cells": "damaged here",
    "no end": "damaged here",
    "a sheet that is not there": "does not hold",
    "a part twice": "twice",
    "a text without end": "longer than any text",
    "a text of five megabytes": "damaged here",
    "a row behind the rows": "do not stand in order",
    "macros": "holds macros",
}


@pytest.mark.parametrize("kind", HARMFUL)
def test_a_harmful_or_damaged_workbook_gets_its_sentence(tmp_path: Path, kind: str) -> None:
    """Entities, bombs, absurd places and broken parts are one fault each, quickly and without a traceback; a row that
    is read before it is known to stand in another has its own faults."""
    with pytest.raises(InputRefused) as caught:
        check_package(harmful(tmp_path / "b.xlsx", kind))
    assert HARMFUL[kind] in caught.value.faults[-1].message
    assert {fault.file for fault in caught.value.faults} == {"b.xlsx"}
    assert len(caught.value.faults) == 1


def test_links_to_other_places_are_not_followed(tmp_path: Path) -> None:
    """A sheet that lies elsewhere is no sheet of this workbook; it is left aside, and nothing is fetched."""
    said = check_package(harmful(tmp_path / "b.xlsx", "a link outside"))
    assert [(fault.value, "left aside" in fault.message) for fault in said] == [("objects", True)]


@pytest.mark.parametrize(
    ("bound", "said"),
    [
        ({"entries": 3}, "at most 3 are taken"),
        ({"entry": 100}, "One file in this workbook"),
        ({"total": 1000}, "becomes"),
    ],
)
def test_the_bounds_of_a_workbook_come_before_its_reading(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, bound: dict[str, int], said: str
) -> None:
    """Too many parts, a part too large, too much in all: nothing is unpacked, and splitting is advised."""
    usual = {"entries": 10_000, "entry": 10**9, "total": 10**9, "ratio": 200}
    monkeypatch.setattr(workbook_book, "BOUNDS", zip_file.Bounds(**{**usual, **bound}))
    monkeypatch.setattr(workbook_book, "_read_book", None)
    with pytest.raises(InputRefused) as caught:
        check_package(made.written(tmp_path / "b.xlsx", {}))
    assert said in caught.value.faults[0].message
    assert "Split the survey" in caught.value.faults[0].message


def damaged(path: Path) -> Iterator[tuple[str, bytes]]:
    whole = path.read_bytes()
    yield "cut off", whole[: len(whole) // 2]
    yield "its end gone", whole[:-30]
    yield "bytes changed", whole[:200] + bytes(byte ^ 0x55 for byte in whole[200:400]) + whole[400:]
    yield "no zip", b"not a workbook at all"
    yield "nothing", b""


def test_damaged_files_get_a_sentence(tmp_path: Path) -> None:
    """Cut, spoiled, empty or other bytes under the name of a workbook: one fault, of the whole file."""
    sound = made.written(tmp_path / "b.xlsx", {"objects": (("object", "title", "kind"), ("T1", "Tram", "tram"))})
    for kind, content in list(damaged(sound)):
        path = tmp_path / f"{kind}.xlsx"
        path.write_bytes(content)
        with pytest.raises(InputRefused) as caught:
            check_package(path)
        (fault,) = caught.value.faults
        assert (fault.file, "damaged" in fault.message) == (path.name, True), kind


OTHER_KINDS: dict[str, tuple[Any, str]] = {
    "old.xls": (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(600), "older kind"),
    "locked.xlsx": (
        b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(600) + "EncryptedPackage".encode("utf-16-le") + bytes(9),
        "encrypted",
    ),
    "open.ods": ("mimetype:application/vnd.oasis.opendocument.spreadsheet", "OpenDocument"),
    "macros.xlsm": ("application/vnd.ms-excel.sheet.macroEnabled.main+xml", "macros"),
    "binary.xlsb": ("application/vnd.ms-excel.sheet.binary.macroEnabled.main", "macros"),
    "letter.docx": ("application/vnd.openxmlformats-officedocument.wordprocessingml.document.main+xml", "not an .xlsx"),
}


@pytest.mark.parametrize("name", OTHER_KINDS)
def test_other_kinds_of_workbook_are_told_how_to_save(tmp_path: Path, name: str) -> None:
    """Old, locked, OpenDocument, macro and binary workbooks and letters are told by content, with what to do."""
    content, said = OTHER_KINDS[name]
    path = tmp_path / name
    if isinstance(content, bytes):
        path.write_bytes(content)
    elif content.startswith("mimetype:"):
        with zipfile.ZipFile(path, "w") as archive:
            archive.writestr("mimetype", content[9:])
    else:
        made.by_hand(path, {}, parts={"[Content_Types].xml": made.content_types(content)})
    with pytest.raises(InputRefused) as caught:
        check_package(path)
    (fault,) = caught.value.faults
    assert said in fault.message
    assert "ave" in fault.message


def test_an_encrypted_zip_entry_is_refused(tmp_path: Path) -> None:
    """The mark of encryption in the listing is enough (APPNOTE 4.4.4, bit 0)."""
    path = made.written(tmp_path / "b.xlsx", {})
    content = bytearray(path.read_bytes())
    place = content.find(b"PK\x01\x02")
    (flags,) = struct.unpack_from("<H", content, place + 8)
    struct.pack_into("<H", content, place + 8, flags | 1)
    path.write_bytes(bytes(content))
    with pytest.raises(InputRefused) as caught:
        check_package(path)
    assert "encrypted" in caught.value.faults[0].message


def test_numbers_are_kept_to_the_last_digit(tmp_path: Path) -> None:
    """All digits of a double come back, however they are written."""
    numbers = [0.1 + 0.2, 1 / 3, 1e-9, 123456789.12345679, -0.0, 5e-324, 1e9, 1e300]
    written = "".join(f"<c><v>{number!r}</v></c>" for number in numbers)
    book = open_book(made.by_hand(tmp_path / "b.xlsx", {"objects": f"<row>{written}</row>"}))
    ((_, row),) = book.rows(book.sheets[1], Seen())
    assert [float(cell_text(book, X, cell)) for cell in row] == numbers
