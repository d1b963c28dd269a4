"""Rows of a sheet that are no records: titles, headings once more, remarks; extra columns, and sheets called otherwise.

Each is one fault that says what the row looks like, in the same words for a CSV file and a workbook.
"""

from __future__ import annotations

import csv
from pathlib import Path

import made_workbooks as made
import pytest
from checked import check_package
from small_workbook import SMALL, refused

from collection.ingest.package.headings import headings_below, nearest_sheet, no_record
from collection.records.sheets import Component

HEADINGS, *RECORDS = SMALL["layers"]
TITLE = ("Layers of the tram, 2019",)


def handed_in(place: Path, form: str, layers: made.Rows, mark: str = ",", **others: made.Rows) -> Path:
    """The small survey with these rows in its sheet `layers`, as a workbook or a folder."""
    sheets = {**SMALL, "layers": layers, **others}
    if form == "workbook":
        return made.written(place / "harbour.xlsx", sheets)
    for name, rows in sheets.items():
        with open(place / f"{name}.csv", "w", encoding="utf-8", newline="") as file:
            csv.writer(file, delimiter=mark).writerows(rows)
    (place / "survey.toml").write_text(
        "".join(f'{key} = "{value}"\n' for key, value in made.SURVEY[1:]), encoding="utf-8"
    )
    return place


def test_a_first_record_that_clears_a_date_is_a_record() -> None:
    """All in words, as a second row of headings would be, but that the words are those which clear a cell."""
    columns = ("object", "component", "name", "fitted")
    assert no_record(Component, columns, ("tram", "door", "rear door", "Not  recorded"), first=True) is None
    assert "second row of headings" in str(no_record(Component, columns, ("no.", "code", "what", "when"), first=True))


@pytest.mark.parametrize("form", ["folder", "workbook"])
@pytest.mark.parametrize(
    ("layers", "row", "said"),
    [
        (
            [TITLE, HEADINGS, *RECORDS],
            1,
            "Row 1 looks like a title: the headings seem to stand in row 2. Delete the row above them.",
        ),
        (
            [TITLE, ("seen by daylight",), HEADINGS, *RECORDS],
            1,
            "Rows 1 to 2 look like a title: the headings seem to stand in row 3. Delete the rows above them.",
        ),
        ([HEADINGS, *RECORDS, HEADINGS], 4, "This row repeats the headings. Delete it"),
        (
            [HEADINGS, ("no.", "which", "order", "what", "µm", "no.", "name"), *RECORDS],
            2,
            "looks like a second row of headings, because words stand where numbers or dates belong",
        ),
        (
            [HEADINGS, *RECORDS, ("S01 was broken in the post.",)],
            4,
            "looks like a title or a remark and not like a record. Delete the row: a remark on one record goes into its "
            "notes",
        ),
    ],
)
def test_a_row_that_is_no_record_is_one_fault_that_says_what_it_looks_like(
    tmp_path: Path, form: str, layers: made.Rows, row: int, said: str
) -> None:
    (fault,) = refused(handed_in(tmp_path, form, layers))
    assert (fault.sheet, fault.row, fault.column) == ("layers", row, None)
    assert said in fault.message


@pytest.mark.parametrize("mark", [",", ";", "\t"])
def test_a_title_hides_no_separator(tmp_path: Path, mark: str) -> None:
    """A title with a comma in it says nothing of what stands between the cells below it."""
    (fault,) = refused(handed_in(tmp_path, "folder", [TITLE, HEADINGS, *RECORDS], mark))
    assert fault.message.startswith("Row 1 looks like a title: the headings seem to stand in row 2.")


@pytest.mark.parametrize("form", ["folder", "workbook"])
def test_headings_among_the_records_are_no_object_called_object(tmp_path: Path, form: str) -> None:
    """Of a sheet in which any text may stand, such a row reads like a record, and was one."""
    objects = [*SMALL["objects"], ("Object", "Title", "Kind"), ("T2", "Tram 2", "tram")]
    (fault,) = refused(handed_in(tmp_path, form, [*SMALL["layers"]], objects=objects))
    assert (fault.sheet, fault.row) == ("objects", 3)
    assert fault.message.startswith("This row repeats the headings.")


@pytest.mark.parametrize("form", ["folder", "workbook"])
def test_rows_that_only_look_a_little_odd_are_read(tmp_path: Path, form: str) -> None:
    """A record in which a word of the headings stands, and one without a figure in it, are records."""
    objects = [("object", "title", "kind", "made"), ("tram", "title", "kind", ""), ("T1", "Tram 1", "tram", "1908~")]
    layers = [HEADINGS, *RECORDS, ("T1", "S01", 3, "varnish", "", "1", "scheme")]
    assert check_package(handed_in(tmp_path, form, layers, objects=objects)) == []


@pytest.mark.parametrize("form", ["folder", "workbook"])
def test_a_column_too_many_is_told_where_it_goes(tmp_path: Path, form: str) -> None:
    """`binder` is a column of layers, `dwell_s` of two sheets; `seen with` is none, and goes into the notes."""
    extra = ("binder", "dwell_s", "seen with")
    samples = [(*SMALL["samples"][0], *extra), (*SMALL["samples"][1], "oil", "10", "a loupe")]
    faults = refused(handed_in(tmp_path, form, [*SMALL["layers"]], samples=samples))
    said = {fault.column: (fault.message, fault.nearest) for fault in faults}
    assert said["binder"] == (
        "The sheet samples has no such column: binder belongs to the sheet layers. Move it there, or write it into "
        "notes.",
        None,
    )
    assert "dwell_s belongs to the sheets tests, proposal_steps, treatment_steps." in said["dwell_s"][0]
    assert (
        "What has no column goes into notes; a list with columns of its own comes in by --map." in said["seen with"][0]
    )


@pytest.mark.parametrize(
    ("name", "sheet"),
    [
        ("Layers (final)", "layers"),
        ("layers 2", "layers"),
        ("Copy of treatment-steps v3", "treatment_steps"),
        ("Layer", "layers"),
        ("smaples", "samples"),
        ("Sheet1", None),
    ],
)
def test_a_sheet_called_otherwise_is_offered_its_name(tmp_path: Path, name: str, sheet: str | None) -> None:
    assert nearest_sheet(name) == sheet
    faults = refused(made.written(tmp_path / "harbour.xlsx", {**SMALL, name: [("a", "b"), ("1", "2")]}))
    assert [(f.value, f.nearest) for f in faults] == [(name, sheet)]
    assert faults[0].message.startswith("No sheet of a survey has this name.")


def test_headings_are_looked_for_only_where_the_first_row_has_few() -> None:
    """A row of records that holds two of the headings' words makes no title of the headings."""
    rows = [(1, ("object", "sample", "role")), (2, ("object", "sample", "primer"))]
    assert headings_below({"object", "sample", "role"}, rows) is None
    assert headings_below({"object", "sample", "role"}, [(1, ("My list",)), *((n + 1, row) for n, row in rows)]) == 2
    assert headings_below({"object"}, []) is None
