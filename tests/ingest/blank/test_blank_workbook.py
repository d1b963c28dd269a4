"""A blank workbook: its sheets, headings, notes, lists and bounds, and the example beside it."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import openpyxl
import pytest
import python_calamine
from blank_forms import COLUMNS, IDS, allowed, fill_folder, headings, needed, offered

from collection.ingest.blank import blank_survey
from collection.ingest.blank.contents import KINDS_LEFT_AS_TYPED, ORDER, Blank, example, note
from collection.ingest.blank.example import EXAMPLE, SHOWN
from collection.ingest.load import ingest
from collection.ingest.package.sheets import ASIDE
from collection.records.cells import read_cell
from collection.records.columns import Column
from collection.records.sheets import BY_SHEET, SHEETS, Survey
from collection.store.base import database


def test_a_blank_workbook_has_every_sheet_once_and_those_to_read(book: openpyxl.Workbook) -> None:
    """Every sheet of the survey is there under its own name, beside those that the intake leaves aside."""
    assert set(ORDER) | {"survey"} == set(BY_SHEET)
    assert len(ORDER) == len(set(ORDER))
    assert set(book.sheetnames) - set(BY_SHEET) == {"instructions", "example", "lists"} <= ASIDE
    assert book["lists"].sheet_state == "veryHidden"


@pytest.mark.parametrize(("record", "column"), COLUMNS, ids=IDS)
def test_every_heading_says_what_belongs_below_it(book: openpyxl.Workbook, record: Any, column: Column) -> None:
    """The note has the meaning, whether it is required, unit, bounds and words, as the records declare them."""
    sheet = book[record.sheet]
    cell = (
        next(row[0] for row in sheet.iter_rows() if row[0].value == column.name)
        if record is Survey
        else sheet.cell(1, headings(sheet)[column.name])
    )
    said = cell.comment.text
    assert column.meaning in said
    assert ("Required" in said) == column.required
    assert column.unit is None or column.unit in said
    assert all(word in said for word in (column.words.words if column.words else ()))
    assert all(bound is None or f"{bound:g}" in said for bound in (column.low, column.high))
    assert (cell.font.bold, cell.border.left.style == "medium") == (column.required, column.required)


@pytest.mark.parametrize(("record", "column"), COLUMNS, ids=IDS)
def test_the_example_in_a_note_can_be_written_in_its_cell(record: Any, column: Column) -> None:
    """What a note gives as an example is read without a fault."""
    assert read_cell(column, example(record, column)) is not None
    assert note(record, column).endswith(f"Example: {example(record, column)}")


@pytest.mark.parametrize("record", SHEETS[1:], ids=lambda record: record.sheet)
def test_cells_are_kept_as_they_are_typed(book: openpyxl.Workbook, record: Any) -> None:
    """Every column but the numbers is text down to its end, so that 1979.10, 0012 and 1/2 stay what they are."""
    sheet = book[record.sheet]
    assert list(headings(sheet)) == [column.name for column in record.columns()]
    assert sheet.freeze_panes is not None
    assert int(re.sub("[A-Z]", "", sheet.freeze_panes)) == 2
    assert needed(sheet) == {column.name for column in record.columns() if column.required}
    for column in record.columns():
        letter = sheet.cell(1, headings(sheet)[column.name]).column_letter
        held = next(
            d
            for d in sheet.column_dimensions.values()
            if d.min <= openpyxl.utils.column_index_from_string(letter) <= d.max
        )
        assert (held.number_format == "@") == (column.kind in KINDS_LEFT_AS_TYPED) == (not column.is_number)


@pytest.mark.parametrize("record", SHEETS[1:], ids=lambda record: record.sheet)
def test_closed_lists_drop_down_and_numbers_have_bounds(book: openpyxl.Workbook, record: Any) -> None:
    """Each closed list offers its words and no others; an open one lets other words pass; bounds are as declared."""
    sheet = book[record.sheet]
    rules = {span.min_col: rule for rule in sheet.data_validations.dataValidation for span in rule.sqref.ranges}
    for place, column in enumerate(record.columns(), 1):
        rule = rules.get(place)
        if column.words is not None:
            assert (allowed if column.kind != "list" else offered)(sheet, place) == list(column.words.words)
            if column.kind == "list":
                assert not rule.showErrorMessage, "several words in one cell are in no list"
                continue
            assert (rule.errorStyle in (None, "stop")) == (column.required and not column.words.open_list)
        elif column.is_number:
            assert rule.type == ("whole" if column.kind == "integer" else "decimal")
            ends = [float(end) for end in (rule.formula1, rule.formula2) if end]
            assert ends == [bound for bound in (column.low, column.high) if bound is not None]
            assert rule.error
        else:
            assert rule is None or not rule.showErrorMessage


def test_a_workbook_opens_elsewhere_and_is_the_same_each_time(full: Blank, tmp_path: Path) -> None:
    """The reader that the intake uses opens it too, and equal surveys give equal files."""
    paths = [tmp_path / name for name in ("a.xlsx", "b.xlsx")]
    for path in paths:
        blank_survey.write(full, path)
    assert paths[0].read_bytes() == paths[1].read_bytes()
    book = python_calamine.CalamineWorkbook.from_path(paths[0])
    assert {"survey", "known", "questions", *ORDER} <= set(book.sheet_names)
    assert book.get_sheet_by_name("zones").to_python()[0] == [column.name for column in BY_SHEET["zones"].columns()]


def test_the_example_is_a_survey_that_is_taken_in(tmp_path: Path) -> None:
    """The filled example has no fault and no doubt, and covers every sheet but those that need a file or a proposal."""
    blank_survey.write(blank_survey.empty(), tmp_path / "example")
    fill_folder(
        tmp_path / "example",
        dict(EXAMPLE["survey"][0]),
        [dict(row) for sheet in ORDER for row in EXAMPLE.get(sheet, ())],
    )
    database.create(tmp_path / "c.db")
    report = ingest(tmp_path / "c.db", tmp_path / "example")
    assert report.warnings == ()
    assert report.added == {record.sheet: len(EXAMPLE[record.sheet]) for record in SHEETS if record.sheet in EXAMPLE}
    assert set(BY_SHEET) - set(EXAMPLE) == {"drawings", "pictures", "proposals", "proposal_steps"}
    assert set(SHOWN) <= set(EXAMPLE)
    assert all("(invented)" in row["title"] for sheet in ("survey", "objects") for row in EXAMPLE[sheet])
