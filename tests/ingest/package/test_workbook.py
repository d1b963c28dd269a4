"""A workbook's cells: what is taken as it is seen, what is refused and how it is said, row and column as the person
sees them."""

from __future__ import annotations

import datetime
import os
import re
import time
import zipfile
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import made_workbooks as made
import openpyxl
import pytest
import xlsxwriter
from openpyxl.cell.rich_text import CellRichText, TextBlock
from openpyxl.cell.text import InlineFont

from collection.ingest import load
from collection.ingest.package.package_format import open_source
from collection.ingest.package.workbook.workbook import open_workbook
from collection.ingest.staging import check_package
from collection.language.errors import BadValue, CouldNot, Fault, InputRefused
from collection.records import cells
from collection.records.sheets import BY_SHEET
from collection.store.base import database

OBJECTS = (("object", "title", "kind"), ("T1", "Tram 1", "tram"))
SMALL: dict[str, made.Rows] = {
    "objects": OBJECTS,
    "components": (("object", "component", "name", "area_m2", "observed_on"), ("T1", "body", "body", 2.5, "2019")),
    "zones": (("object", "zone", "component"), ("T1", "Z1", "body")),
    "schemes": (("object", "scheme", "name", "period"), ("T1", "1", "first finish", "original")),
    "samples": (("object", "sample", "place", "method", "taken_on", "x"), ("T1", "S01", "Z1", "cross-section", "", "")),
    "layers": (
        ("object", "sample", "position", "role", "thickness_um", "scheme", "colour"),
        ("T1", "S01", 1, "primer", 20, "1", "grey"),
        ("T1", "S01", 2, "body colour", 35.5, "1", "red"),
    ),
}


def refused(package: Path) -> list[Fault]:
    with pytest.raises(InputRefused) as caught:
        check_package(package)
    assert caught.value.count == len(caught.value.faults)
    assert all(fault.message[-1] in ".?…" for fault in caught.value.faults)
    return caught.value.faults


def one_fault(package: Path) -> Fault:
    (fault,) = refused(package)
    return fault


def stored(tmp_path: Path, package: Path, sql: str) -> list[tuple[Any, ...]]:
    db_path = tmp_path / "collection.db"
    database.create(db_path)
    load.ingest(db_path, package, derived=False)
    with database.opened(db_path, write=False) as db:
        return db.execute(sql).fetchall()


def with_cell(path: Path, sheet: str, heading: str, value: Any, number_format: str | None = None) -> Path:
    """The small sound workbook with one cell of its first row of data replaced, by XlsxWriter."""
    with xlsxwriter.Workbook(str(path)) as book:
        for name, rows in {"survey": made.SURVEY, **SMALL}.items():
            page = book.add_worksheet(name)
            page.write_row(0, 0, rows[0])
            headings = list(rows[0])
            for at, row in enumerate(rows[1:], 1):
                for place, cell in enumerate(row):
                    page.write(at, place, cell) if not isinstance(cell, str) else page.write_string(at, place, cell)
            if name == sheet:
                page.write(
                    1,
                    headings.index(heading),
                    value,
                    book.add_format({"num_format": number_format}) if number_format else None,
                )
    return path


def test_the_sound_workbook_is_taken(tmp_path: Path) -> None:
    """Texts are texts, numbers numbers, whole ones without a point; file and row are those of the workbook."""
    book = made.written(tmp_path / "harbour.xlsx", SMALL)
    assert check_package(book) == []
    assert stored(
        tmp_path,
        book,
        "SELECT object, sample, position, role, thickness_um, scheme, from_file, from_row "
        "FROM layers ORDER BY position",
    ) == [
        ("T1", "S01", 1, "primer", 20.0, "1", "harbour.xlsx", 2),
        ("T1", "S01", 2, "body colour", 35.5, "1", "harbour.xlsx", 3),
    ]


DAY = datetime.date(2019, 5, 12)
# sheet, heading, value, number format, shown in the fault, in its message, nearest
REFUSED_CELLS: list[tuple[str, str, Any, str | None, str, str, str | None]] = [
    ("objects", "object", 1979.10, None, "1979.1", "1979.10 is kept as 1979.1", None),
    ("objects", "object", 7, None, "7", "007 as 7", None),
    ("layers", "scheme", 1, None, "1", "Format the cell as text", "1"),
    ("layers", "scheme", DAY, "yyyy-mm-dd", "2019-05-12", "made a date of this", None),
    ("layers", "colour", 7.5, None, "7.5", "7.50 is kept as 7.5", None),
    ("layers", "colour", 1e16, None, "10000000000000000", "7.50 is kept as 7.5", None),
    ("layers", "thickness_um", 0.5, "0%", "0.5", "as a percentage", None),
    ("layers", "thickness_um", 0.5, "0.00%", "0.5", "as a percentage", None),
    ("layers", "thickness_um", 20000, "#,##0,", "20000", "in thousands", None),
    ("layers", "thickness_um", 20, '0" mm"', "20", "a unit", None),
    ("layers", "thickness_um", 20, ";;;", "20", "hides the number", None),
    ("layers", "thickness_um", DAY, "d/m/yyyy", "2019-05-12", "made a date of this", None),
    ("layers", "thickness_um", True, None, "TRUE", "truth value", None),
    ("layers", "position", 1.5, None, "1.5", "whole number", None),
    ("layers", "role", False, None, "FALSE", "truth value", None),
    ("samples", "taken_on", datetime.datetime(2019, 5, 12, 9, 30), "h:mm", "2019-05-12 09:30", "time of day", None),
    ("samples", "taken_on", DAY, "d-mmm", "2019-05-12", "no whole date", None),
    ("samples", "taken_on", 43597, None, "43597", "as a date it would be 2019-05-12", "2019-05-12"),
    ("samples", "taken_on", 2019.05, None, "2019.05", "no date", None),
    ("samples", "taken_on", -3, "yyyy-mm-dd", "-3", "stands for no day", None),
    ("samples", "taken_on", 60, "yyyy-mm-dd", "60", "stands for no day", None),
    ("layers", "thickness_um", "=10+10", None, "=10+10", "paste them as values", None),
    ("layers", "colour", '="grey"', None, '="grey"', "paste them as values", None),
    ("layers", "thickness_um", "2,500", None, "2,500", "decimals or thousands", None),
]


@pytest.mark.parametrize(("sheet", "heading", "value", "form", "shown", "said", "nearest"), REFUSED_CELLS)
def test_a_cell_that_may_not_say_what_was_typed_is_refused(
    tmp_path: Path, sheet: str, heading: str, value: Any, form: str | None, shown: str, said: str, nearest: str | None
) -> None:
    """One fault, at the cell, with what is seen, what is wrong and what to do; nothing that only follows from it."""
    fault = one_fault(with_cell(tmp_path / "b.xlsx", sheet, heading, value, form))
    assert (fault.file, fault.sheet, fault.row, fault.column, fault.value, fault.nearest) == (
        "b.xlsx",
        sheet,
        2,
        heading,
        shown,
        nearest,
    )
    assert said in fault.message
    assert fault.sentence().startswith(f"b.xlsx, sheet {sheet}, row 2, {heading}: ")


# sheet, heading, value, number format, stored
TAKEN_CELLS: list[tuple[str, str, Any, str | None, Any]] = [
    ("layers", "thickness_um", 2.5, None, 2.5),
    ("layers", "thickness_um", 2500.0, None, 2500.0),
    ("layers", "thickness_um", 2.5, "#,##0.00", 2.5),
    ("layers", "thickness_um", 2.5, "0.00E+00", 2.5),
    ("layers", "thickness_um", 2.5, "[Red]0.0;[Blue]-0.0", 2.5),
    ("layers", "thickness_um", 1.25e-05, None, 1.25e-05),
    ("layers", "thickness_um", "2,5", None, 2.5),
    ("layers", "thickness_um", "2.5", None, 2.5),
    ("layers", "position", "7", None, 7),
    ("layers", "position", 7.0, "0.00", 7),
    ("layers", "colour", 12, None, "12"),
    ("layers", "colour", "007", None, "007"),
    ("layers", "colour", " grey ", None, "grey"),
    ("samples", "taken_on", DAY, "yyyy-mm-dd", "2019-05-12"),
    ("samples", "taken_on", DAY, "dd/mm/yyyy", "2019-05-12"),
    ("samples", "taken_on", DAY, "[$-409]mmmm d, yyyy;@", "2019-05-12"),
    ("samples", "taken_on", DAY, "mmm-yy", "2019-05"),
    ("samples", "taken_on", DAY, "yyyy", "2019"),
    ("samples", "taken_on", datetime.datetime(2019, 5, 12, 9, 30), "dd/mm/yyyy hh:mm", "2019-05-12T09:30:00"),
    ("samples", "taken_on", datetime.datetime(2019, 5, 12, 9, 30), "dd/mm/yyyy", "2019-05-12"),
    ("samples", "taken_on", datetime.datetime(2019, 5, 12), "dd/mm/yyyy hh:mm", "2019-05-12"),
    ("samples", "taken_on", 1908, None, "1908"),
    ("samples", "taken_on", "1908~", None, "1908~"),
]


@pytest.mark.parametrize(("sheet", "heading", "value", "form", "expected"), TAKEN_CELLS)
def test_a_cell_is_kept_as_it_is_seen(
    tmp_path: Path, sheet: str, heading: str, value: Any, form: str | None, expected: Any
) -> None:
    """Numbers as numbers whatever their format rounds, dates as exactly as they are shown, texts as typed."""
    book = with_cell(tmp_path / "b.xlsx", sheet, heading, value, form)
    assert (expected,) in stored(tmp_path, book, f"SELECT {heading} FROM {sheet}")


def meaning(text: str) -> float | str:
    """What `correct` makes of a thickness, or why it cannot."""
    try:
        value = cells.read_cell(BY_SHEET["layers"].column("thickness_um"), text, decimal_comma=True)
    except BadValue as fault:
        return str(fault)
    assert isinstance(value, float)
    return value


@pytest.mark.parametrize(
    "text",
    [
        "1_0",
        "5.",
        ".5",
        "nan",
        "inf",
        " 5 ",
        "1e2",
        "1e-400",
        "１２",
        "+7",
        "2,5",
        "2,500",
        "−3",
        "5 µm",
        "0x10",
        "٣",
        "1e400",
    ],
)
def test_a_number_written_as_text_is_read_as_in_any_cell(tmp_path: Path, text: str) -> None:
    """However fast a workbook is read, its texts mean what they mean in `correct`, with a comma as decimal mark."""
    book, expected = with_cell(tmp_path / "b.xlsx", "layers", "thickness_um", text), meaning(text)
    if isinstance(expected, str):
        assert one_fault(book).message == expected
    else:
        assert (expected,) in stored(tmp_path, book, "SELECT thickness_um FROM layers WHERE position = 1")


def test_the_known_code_that_a_number_was_is_named(tmp_path: Path) -> None:
    """1979.10 typed as a number is 1979.1, and the object 1979.10 in the database or the package is what was meant."""
    db_path = tmp_path / "collection.db"
    database.create(db_path)
    first = {"objects": (("object", "title", "kind"), ("1979.10", "Tram", "tram"), ("1979.2", "Bus", "bus"))}
    load.ingest(db_path, made.written(tmp_path / "first.xlsx", first), derived=False)
    survey = [*made.SURVEY]
    survey[1] = ("code", "harbour-2")
    second = made.written(
        tmp_path / "second.xlsx",
        {
            "components": (("object", "component", "name"), (1979.10, "body", "body"), ("1979.2", "01", "door")),
            "zones": (("object", "zone", "component"), ("1979.2", "Z1", 1)),
        },
        survey,
    )
    with pytest.raises(InputRefused) as caught:
        load.ingest(db_path, second)
    assert [(f.sheet, f.row, f.column, f.value, f.nearest) for f in caught.value.faults] == [
        ("components", 2, "object", "1979.1", "1979.10"),
        ("zones", 2, "component", "1", "01"),
    ]


def test_errors_and_truth_values_are_told_apart(tmp_path: Path) -> None:
    """Error cells name the error, TRUE in a column of yes and no has the word beside it."""
    rows = {
        "samples": (
            ("object", "sample", "place", "method", "reaches_support"),
            ("T1", "S01", "Z1", "cross-section", True),
        )
    }
    fault = one_fault(made.written(tmp_path / "b.xlsx", {**SMALL, **rows}))
    assert (fault.column, fault.value, fault.nearest) == ("reaches_support", "TRUE", "yes")
    error = '<c r="B2" t="e"><v>#N/A</v></c>'
    book = made.by_hand(
        tmp_path / "e.xlsx",
        {
            "objects": made.inline_row(1, OBJECTS[0])
            + made.inline_row(2, ["T1", error, '<c r="C2" t="inlineStr"><is><t>tram</t></is></c>'])
        },
    )
    fault = one_fault(book)
    assert (fault.row, fault.column, fault.value) == (2, "title", "#N/A")
    assert "could not compute" in fault.message


def test_a_formula_is_found_wherever_it_hides(tmp_path: Path) -> None:
    """Array and shared formulas, and one whose last result is text or nothing, written by openpyxl and by hand."""
    book = openpyxl.Workbook()
    page = book.active
    page.title = "objects"
    for row in OBJECTS:
        page.append(row)
    page["B2"] = openpyxl.worksheet.formula.ArrayFormula("B2:B2", "=A2&A2")
    page["A4"] = "=A2"
    survey = book.create_sheet("Survey ")
    for pair in made.SURVEY:
        survey.append(pair)
    book.save(tmp_path / "o.xlsx")
    assert [(f.row, f.column, f.value) for f in refused(tmp_path / "o.xlsx")] == [
        (2, "title", "=A2&A2"),
        (4, "object", "=A2"),
        (4, "title", None),
        (4, "kind", None),
    ]
    shared = '<c r="B{0}" t="str"><f t="shared" si="0">{1}</f><v>{2}</v></c>'
    data = (
        made.inline_row(1, OBJECTS[0])
        + made.inline_row(2, ["T1", shared.format(2, "A2", "T1")]).replace("</row>", kind("C2"))
        + made.inline_row(3, ["T2", shared.format(3, "", "T2")]).replace("</row>", kind("C3"))
    )
    assert [(f.row, f.column, f.value) for f in refused(made.by_hand(tmp_path / "s.xlsx", {"objects": data}))] == [
        (2, "title", "=A2"),
        (3, "title", "=A3"),
    ]


def kind(place: str) -> str:
    return f'<c r="{place}" t="inlineStr"><is><t>tram</t></is></c></row>'


def test_rows_and_columns_are_those_that_the_person_sees(tmp_path: Path) -> None:
    """Blank rows and columns before the headings, blank rows between, and columns in any order."""
    path = tmp_path / "b.xlsx"
    with xlsxwriter.Workbook(str(path)) as book:
        survey = book.add_worksheet("survey")
        for at, (key, value) in enumerate(made.SURVEY):
            survey.write_row(at + 2, 0, [key, value if key != "started" else "yesterday"])
        page = book.add_worksheet("Objects")
        page.write_row(3, 2, ["kind", "", "Object", "title"])
        page.write_row(5, 2, ["tram", "", "T1", "Tram"])
        page.write_row(9, 2, ["tram", "", "T2", ""])
        page.write_row(10, 2, ["tram", "stray", "T3", "Bus"])
        page.write_string(11, 8, "far")
    assert [(f.sheet, f.row, f.column, f.value) for f in refused(path)] == [
        ("survey", 7, "started", "yesterday"),
        ("objects", 10, "title", None),
        ("objects", 11, None, "stray"),
        ("objects", 12, None, "far"),
    ]
    far = refused(path)[-1]
    assert "column I" in far.message


SURVEY_SHEETS: list[tuple[Sequence[Sequence[Any]], int | None, str | None, str]] = [
    (
        (("key", "value"), ("code", "h"), ("title", "t"), ("leed", "l"), ("started", "2019")),
        4,
        "leed",
        "no such column",
    ),
    ((("key", "value"), ("code", 1979.1), ("title", "t"), ("lead", "l"), ("started", "2019")), 2, "code", "number"),
    ((("key", "value"), ("code", "h"), ("title", "t"), ("lead", "l"), ("started", "")), 5, "started", "needs it"),
    ((("key", "value"), ("code", "h"), ("title", "t"), ("lead", "l")), None, "started", "column is missing"),
    (
        (("key", "value"), ("code", "h"), ("code", "i"), ("title", "t"), ("lead", "l"), ("started", "2019")),
        3,
        "code",
        "twice",
    ),
    (
        (("key", "value"), ("code", "h"), ("title", "t"), ("", "l"), ("lead", "l"), ("started", "2019")),
        4,
        None,
        "no key",
    ),
    (
        (("key", "value"), ("code", "h", "x"), ("title", "t"), ("lead", "l"), ("started", "2019")),
        2,
        None,
        "below no heading",
    ),
    ((("a", "b"), ("code", "h"), ("title", "t"), ("lead", "l"), ("started", "2019")), 1, None, "key and value"),
    ((), None, None, "no sheet survey"),
]


@pytest.mark.parametrize(("survey", "row", "column", "said"), SURVEY_SHEETS)
def test_the_sheet_survey_says_each_thing_on_its_own_row(
    tmp_path: Path, survey: made.Rows, row: int | None, column: str | None, said: str
) -> None:
    """Key and value below each other; a fault names the row of its key."""
    faults = [f for f in refused(made.written(tmp_path / "b.xlsx", {"objects": OBJECTS}, survey)) if said in f.message]
    assert [(f.sheet, f.row, f.column) for f in faults] == [("survey", row, column)]


def test_the_survey_needs_no_headings(tmp_path: Path) -> None:
    """Where the first row is a key of the survey, it is read as one."""
    book = made.written(tmp_path / "b.xlsx", SMALL, made.SURVEY[1:])
    assert stored(tmp_path, book, "SELECT code, started FROM surveys") == [("harbour-1", "2019-05")]


def test_other_sheets_are_named_unless_they_are_blank_or_for_people(tmp_path: Path) -> None:
    """A mistyped name has its nearest, a blank sheet is nothing, and a sheet twice is one too many."""
    rows = (("anything", 1, "=A1"),)
    sound = made.written(
        tmp_path / "a.xlsx", {**SMALL, "Sheet7": (), "Instructions": rows, "known": rows, "hazards": ()}
    )
    assert check_package(sound) == []
    faults = refused(
        made.written(tmp_path / "b.xlsx", {**SMALL, "layrs": rows, "treatment steps": (), "Remarks": rows})
    )
    assert [(f.value, f.nearest) for f in faults] == [("layrs", "layers"), ("Remarks", None)]
    twice = one_fault(
        made.written(
            tmp_path / "c.xlsx", {"objects": OBJECTS, "tests": (), "treatment-steps": (), "treatment steps": ()}
        )
    )
    assert (twice.sheet, twice.value) == ("treatment_steps", "treatment steps")


@pytest.mark.parametrize(
    ("place", "blanked", "expected"),
    [
        ((1, 2), True, [(2, None, "C2:C3"), (3, "kind", None)]),
        ((1, 2), False, [(2, None, "C2:C3")]),
        ((40, 41), True, []),
    ],
)
def test_merged_cells_in_the_data_are_told(
    tmp_path: Path, place: tuple[int, int], blanked: bool, expected: list[tuple[int, str | None, str | None]]
) -> None:
    """A merged range hides what its other cells hold, or that they hold nothing; one below the data is nothing."""
    path = tmp_path / "b.xlsx"
    with xlsxwriter.Workbook(str(path)) as book:
        format_of_blanks = book.add_format({"bold": True}) if blanked else None
        for name, rows in {"survey": made.SURVEY, "objects": [*OBJECTS, ("T2", "Bus", "bus")]}.items():
            page = book.add_worksheet(name)
            for at, row in enumerate(rows):
                page.write_row(at, 0, row)
        page.merge_range(place[0], 2, place[1], 2, "tram" if expected else "", format_of_blanks)
    if not expected:
        assert check_package(path) == []
        return
    faults = refused(path)
    assert [(f.row, f.column, f.value) for f in faults] == expected
    assert "merged" in faults[0].message


def test_hidden_rows_columns_and_sheets_are_read_and_told(tmp_path: Path) -> None:
    """A filter hides rows without taking them away: they are read, and one warning says so."""
    path = tmp_path / "b.xlsx"
    with xlsxwriter.Workbook(str(path)) as book:
        objects = [*OBJECTS, ("T2", "Bus", "bus"), ("T3", "Van", "van")]
        for name, rows in {"survey": made.SURVEY, "objects": objects}.items():
            page = book.add_worksheet(name)
            for at, row in enumerate(rows):
                page.write_row(at, 0, row)
        page.set_row(2, None, None, {"hidden": True})
        page.set_column(2, 2, None, None, {"hidden": True})
        page.hide()
    said = check_package(path)
    assert [(f.sheet, f.row, f.column) for f in said] == [
        ("objects", 3, None),
        ("objects", None, "kind"),
        ("objects", None, None),
    ]
    assert all("hidden" in f.message.lower() for f in said)
    assert stored(tmp_path, path, "SELECT count(*) FROM objects") == [(3,)]


def test_what_says_that_it_is_not_hidden_is_not(tmp_path: Path) -> None:
    """A spreadsheet program may write of every row, column and sheet that it is not hidden (18.3.1.13, 18.3.1.73,
    18.2.19): hidden is what says 1 or true, and a sheet that is not visible."""
    rows = "".join(
        made.inline_row(at, row).replace("<row ", f'<row hidden="{hidden}" ')
        for at, (row, hidden) in enumerate(
            ((OBJECTS[0], "false"), (OBJECTS[1], "0"), (("T2", "Bus", "bus"), "false")), 1
        )
    )
    columns = (
        '<cols><col min="1" max="1" hidden="false"/><col min="2" max="2" hidden="0"/>'
        '<col min="3" max="3" hidden="{}"/></cols><sheetData>'
    )

    def told(hidden: str, state: str) -> list[tuple[str, int | None, str | None]]:
        sheet = made.worksheet(rows if hidden == "false" else rows.replace('hidden="0"', f'hidden="{hidden}"'))
        path = made.by_hand(tmp_path / "b.xlsx", {"objects": sheet.replace("<sheetData>", columns.format(hidden))})
        with zipfile.ZipFile(path) as archive:
            listed = archive.read("xl/workbook.xml").decode()
        made.by_hand(
            path,
            {"objects": sheet.replace("<sheetData>", columns.format(hidden))},
            parts={"xl/workbook.xml": listed.replace("<sheet ", f'<sheet state="{state}" ')},
        )
        return [(f.sheet, f.row, f.column) for f in check_package(path)]

    assert told("false", "visible") == []
    for hidden, state in (("1", "hidden"), ("true", "veryHidden")):
        assert told(hidden, state) == [("objects", 2, None), ("objects", None, "kind"), ("objects", None, None)]


def test_no_number_of_hidden_columns_takes_the_day(tmp_path: Path) -> None:
    """A sheet that says of all its columns 20,000 times that they are hidden is read at once (it took a minute)."""
    sheet = made.worksheet("".join(made.inline_row(at, row) for at, row in enumerate(OBJECTS, 1))).replace(
        "<sheetData>", "<cols>" + '<col min="1" max="16384" hidden="1"/>' * 20_000 + "</cols><sheetData>"
    )
    began = time.process_time()
    said = check_package(made.by_hand(tmp_path / "b.xlsx", {"objects": sheet}))
    assert time.process_time() - began < 20
    assert [(f.column, f.message) for f in said] == [
        ("object", "Hidden columns were read like all others: object, title, kind.")
    ]


@pytest.mark.parametrize("value", ["1e999", "-1e999", "1e308"])
@pytest.mark.parametrize("style", ["", ' s="1"'])
def test_a_date_beyond_all_reckoning_is_refused(tmp_path: Path, value: str, style: str) -> None:
    """A number that no computer holds, or whose seconds none does, is no day."""
    rows = [("object", "title", "kind", "made"), ("T1", "Tram", "tram", f'<c r="D2"{style}><v>{value}</v></c>')]
    fault = one_fault(
        made.by_hand(
            tmp_path / "b.xlsx",
            {"objects": "".join(made.inline_row(at, row) for at, row in enumerate(rows, 1))},
            formats=["yyyy-mm-dd"],
        )
    )
    assert (fault.row, fault.column) == (2, "made")
    assert "no day" in fault.message if style else "no date" in fault.message


def test_texts_are_read_to_the_letter(tmp_path: Path) -> None:
    """Runs, readings aloud, blanks and escapes of shared and inline strings (ECMA-376 Part 1, 18.4.8, 18.4.12,
    22.9.2.19)."""
    book = openpyxl.Workbook(write_only=False)
    page = book.active
    page.title = "objects"
    page.append(OBJECTS[0])
    page.append(["T1", CellRichText("first ", TextBlock(InlineFont(b=True), "red"), " finish"), "tram"])
    page.append(["T2", "first line\nsecond", "tram"])
    page.append(["T3", "Größe 漆 ½", "tram"])
    survey = book.create_sheet("survey")
    for row in made.SURVEY:
        survey.append(row)
    book.save(tmp_path / "o.xlsx")
    assert stored(tmp_path, tmp_path / "o.xlsx", "SELECT title FROM objects ORDER BY object") == [
        ("first red finish",),
        ("first line\nsecond",),
        ("Größe 漆 ½",),
    ]
    texts = (
        '<si><r><t xml:space="preserve">a </t></r><r><rPr><b/></rPr><t>b</t></r>'
        '<rPh sb="0" eb="1"><t>spoken</t></rPh>'
        '<phoneticPr fontId="1"/></si><si><t>x_x000D_&#10;y</t></si><si><t>_x005F_x0041_</t></si>'
        "<si><t>a&amp;b &lt;c&gt; &#x6F06;</t></si>"
    )
    rows = "".join(
        f'<row r="{at + 2}"><c r="A{at + 2}" t="inlineStr"><is><t>U{at}</t></is></c>'
        f'<c r="B{at + 2}" t="s"><v>{at}</v></c>{kind(f"C{at + 2}")}'
        for at in range(4)
    )
    by_hand = made.by_hand(tmp_path / "h.xlsx", {"objects": made.inline_row(1, OBJECTS[0]) + rows}, texts=texts)
    (tmp_path / "collection.db").unlink()
    assert stored(tmp_path, by_hand, "SELECT title FROM objects ORDER BY object") == [
        ("a b",),
        ("x\ny",),
        ("_x0041_",),
        ("a&b <c> 漆",),
    ]


def test_characters_that_nobody_sees_are_refused_as_in_any_sheet(tmp_path: Path) -> None:
    """What hides in a shared string is found, written as it is or as an escape."""
    for texts, name in (
        ("<si><t>tr\u202eam</t></si>", "U+202E"),
        ("<si><t>tr_x0007_am</t></si>", "U+0007"),
        ("<si><t>tr&#x202E;am</t></si>", "U+202E"),
    ):
        rows = (
            made.inline_row(1, OBJECTS[0]) + '<row r="2"><c r="A2" t="inlineStr"><is><t>T1</t></is></c>'
            f'<c r="B2" t="s"><v>0</v></c>{kind("C2")}'
        )
        fault = one_fault(made.by_hand(tmp_path / "b.xlsx", {"objects": rows}, texts=texts))
        assert (fault.row, fault.column) == (2, "title")
        assert name in fault.message


def test_not_recorded_clears_and_a_blank_says_nothing(tmp_path: Path) -> None:
    """The two words mean in a workbook what they mean in a folder."""
    db_path = tmp_path / "collection.db"
    database.create(db_path)
    load.ingest(db_path, made.written(tmp_path / "a.xlsx", SMALL), derived=False)
    layers = (SMALL["layers"][0], ("T1", "S01", 1, "primer", "", "1", "Not recorded"))
    load.ingest(db_path, made.written(tmp_path / "b.xlsx", {"layers": layers}), derived=False, amend="a slip", by="A")
    with database.opened(db_path, write=False) as db:
        assert db.execute("SELECT thickness_um, colour FROM layers WHERE position = 1").fetchall() == [(20.0, None)]


def test_every_fault_of_a_workbook_is_in_one_report(tmp_path: Path) -> None:
    """Faults of cells, headings, references and sheets come at once, in the order of sheets and rows."""
    faults = refused(
        made.written(
            tmp_path / "b.xlsx",
            {
                **SMALL,
                "objects": (("object", "title", "kind", "color"), ("T1", "Tram", "tram", "red")),
                "layers": (
                    SMALL["layers"][0],
                    ("T1", "S01", 1, "primr", 20, 1, "grey"),
                    ("T1", "S1", 2, "primer", "x", "1", ""),
                ),
                "drawings": (("object", "drawing", "file", "title"), ("T1", "D1", "gone.svg", "left side")),
            },
        )
    )
    assert [(f.sheet, f.row, f.column) for f in faults] == [
        ("objects", 1, "color"),
        ("drawings", 2, "file"),
        ("layers", 2, "role"),
        ("layers", 2, "scheme"),
        ("layers", 3, "thickness_um"),
        ("layers", 3, "sample"),
    ]


@pytest.mark.parametrize("sheet", [name for name in BY_SHEET if name != "survey"])
def test_every_sheet_is_known_by_its_name(tmp_path: Path, sheet: str) -> None:
    """Names compare without capitals, with blanks or hyphens for the low line."""
    headings = [tuple(column.name for column in BY_SHEET[sheet].columns())]
    for name in {sheet, sheet.replace("_", " ").title(), sheet.replace("_", "-").upper()}:
        assert check_package(made.written(tmp_path / "b.xlsx", {name: headings})) == []


def test_only_named_files_beside_the_workbook_are_taken(tmp_path: Path) -> None:
    """Neighbours that no sheet names are nobody's business; links and folders are refused; capitals count."""
    (tmp_path / "pictures").mkdir()
    for name in ("front.png", "Back.png"):
        (tmp_path / "pictures" / name).write_bytes(b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR\0\0\0\x01\0\0\0\x01")
    (tmp_path / "secret.txt").write_text("none of the survey's business")
    pictures = (("object", "picture", "file"), ("T1", "F1", "pictures/front.png"))
    sound = made.written(tmp_path / "b.xlsx", {"objects": OBJECTS, "pictures": pictures})
    assert sorted(open_workbook(sound).files) == ["b.xlsx", "pictures/front.png"]
    assert not any("secret" in f.sentence() for f in check_package(sound))
    (tmp_path / "link.png").symlink_to(tmp_path / "pictures" / "front.png")
    (tmp_path / "away").symlink_to(tmp_path / "pictures")
    wrong = (
        "pictures/back.png",
        "link.png",
        "away/front.png",
        "pictures",
        "../x.png",
        "/etc/passwd",
        "nowhere.png",
        "pictures/front.png/x",
    )
    faults = refused(
        made.written(
            tmp_path / "c.xlsx",
            {"objects": OBJECTS, "pictures": [pictures[0], *(("T1", f"F{at}", name) for at, name in enumerate(wrong))]},
        )
    )
    assert [(f.row, f.column, f.value) for f in faults] == [(at, "file", name) for at, name in enumerate(wrong, 2)]
    said = [
        "there is 'Back.png'",
        "link",
        "link",
        "folder",
        "in the package",
        "in the package",
        "no such file",
        "no such file",
    ]
    assert all(re.search(word, fault.message) for word, fault in zip(said, faults, strict=True))


def test_a_folder_of_many_pictures_is_listed_once(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Looking for each picture among all others takes a time that grows with their square."""
    (tmp_path / "pictures").mkdir()
    names = [f"pictures/{at}.png" for at in range(30)]
    for name in names:
        (tmp_path / name).write_bytes(b"x")
    listed: list[Path] = []
    scandir = os.scandir

    def listing(path: Path) -> Any:
        listed.append(path)
        return scandir(path)

    monkeypatch.setattr(os, "scandir", listing)
    book = made.written(
        tmp_path / "b.xlsx",
        {
            "objects": OBJECTS,
            "pictures": [("object", "picture", "file"), *(("T1", f"F{at}", name) for at, name in enumerate(names))],
        },
    )
    assert sorted(open_workbook(book).files) == sorted(["b.xlsx", *names])
    assert listed == [tmp_path, tmp_path / "pictures"]


@pytest.mark.parametrize("form", ["folder", "workbook"])
@pytest.mark.parametrize("changed", ["the sheets", "a picture", "a picture that is gone"])
def test_a_package_that_is_written_to_meanwhile_is_not_stored(tmp_path: Path, form: str, changed: str) -> None:
    """What was checked is what is stored: a file saved anew between the two is named, and nothing is stored."""
    package = tmp_path / "package"
    package.mkdir()
    picture = package / "front.png"
    picture.write_bytes(b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR\0\0\0\x01\0\0\0\x01")
    book = package / "b.xlsx"
    sheets = book if form == "workbook" else package / "survey.toml"
    if form == "workbook":
        made.written(book, {"objects": OBJECTS, "pictures": (("object", "picture", "file"), ("T1", "F1", "front.png"))})
    else:
        sheets.write_text('code = "h"\ntitle = "t"\nlead = "l"\nstarted = "2019"\n')
    with open_source(book if form == "workbook" else package) as source:
        source.unchanged_since_read()
        touched = sheets if changed == "the sheets" else picture
        touched.unlink() if changed.endswith("gone") else touched.write_bytes(touched.read_bytes() + b"\n")
        with pytest.raises(CouldNot, match=f"{touched.name} was changed while it was being read"):
            source.unchanged_since_read()
