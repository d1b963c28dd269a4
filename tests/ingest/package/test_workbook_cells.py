"""A workbook's cells: what is taken as it is seen, what is refused, and how it is said."""

from __future__ import annotations

import datetime
from pathlib import Path
from typing import Any

import made_workbooks as made
import openpyxl
import pytest
from checked import check_package
from openpyxl.cell.rich_text import CellRichText, TextBlock
from openpyxl.cell.text import InlineFont
from small_workbook import OBJECTS, SMALL, kind, one_fault, refused, stored, with_cell

from collection.ingest import load
from collection.language.errors import BadValue, InputRefused
from collection.records import cells
from collection.records.sheets import BY_SHEET
from collection.store.base import database


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
    ("layers", "thickness_um", "1.200", None, "1.200", "write 1.2000 or 1200", None),
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
