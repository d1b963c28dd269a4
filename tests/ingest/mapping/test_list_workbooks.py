"""Lists that are sheets of a workbook, written by XlsxWriter: what a spreadsheet makes of a cell is told or taken as seen."""

from __future__ import annotations

import datetime
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import pytest
import xlsxwriter
from asked import ask
from mapped_lists import OBJECTS, SURVEY, report_of

from collection.ingest import load
from collection.language.errors import InputRefused

HEADS = ["No", "Title", "Kind", "Made", "Size", "Points"]
MAPPING = (
    SURVEY
    + '[list]\nobject = "No"\n'
    + OBJECTS
    + 'made = { date = "Made" }\ndimensions = "Size"\nvalue_points = "Points"\n'
)


def made(folder: Path, sheets: Mapping[str, Sequence[Sequence[Any]]], mapping: str = MAPPING) -> tuple[Path, Path]:
    """A workbook of these cells, each a value or (value, number format); and its mapping."""
    folder.mkdir(exist_ok=True)
    with xlsxwriter.Workbook(str(folder / "list.xlsx")) as book:
        for name, rows in sheets.items():
            page = book.add_worksheet(name)
            for at, row in enumerate(rows):
                for place, cell in enumerate(row):
                    value, code = cell if isinstance(cell, tuple) else (cell, None)
                    page.write(at, place, value, book.add_format({"num_format": code}) if code else None)
    (folder / "map.toml").write_text(mapping, encoding="utf-8")
    return folder / "list.xlsx", folder / "map.toml"


DAY = datetime.datetime(1910, 12, 3)


@pytest.mark.parametrize(
    ("column", "cell", "stored"),
    [
        ("made", (DAY, "yyyy-mm-dd"), "1910-12-03"),
        ("made", (DAY, "d.m.yyyy"), "1910-12-03"),
        # What is seen is a month, and 1910-12 in a date cell is no span of years.
        ("made", (DAY, "mm/yyyy"), "1910-12"),
        ("made", (DAY, "yyyy"), "1910"),
        # In a list 1 January stands for the year more often than for the day, in a date cell as in a text.
        ("made", (datetime.datetime(1905, 1, 1), "yyyy-mm-dd"), "1905"),
        ("made", 1910, "1910"),
        ("made", "um 1910", None),
        ("made", (DAY, "d mmm"), None),
        ("made", 4000.5, None),
        ("value_points", 12.125, 12.125),
        ("value_points", (0.25, "0%"), None),
        ("value_points", "1,5", None),
        ("dimensions", 12, "12"),
        ("dimensions", 7.5, None),
        ("dimensions", (DAY, "d.m.yyyy"), None),
        ("dimensions", True, "TRUE"),
        ("dimensions", "=1+1", None),
    ],
)
def test_a_cell_is_taken_as_it_is_seen_or_kept_and_told(
    db: Path, tmp_path: Path, column: str, cell: Any, stored: object
) -> None:
    """Real dates are dates, as exactly as they are shown; what may have been something else is not read, and is kept."""
    row: list[Any] = ["1", "Gate", "door", "", "", ""]
    heading = {"made": "Made", "dimensions": "Size", "value_points": "Points"}[column]
    row[HEADS.index(heading)] = cell
    # Other rows have texts in the column, so that one date among them may be no date.
    others = [[str(n), "Sign", "sign", "", "", ""] for n in range(2, 6)]
    for other in others:
        other[HEADS.index(heading)] = "n. d."
    _, told = report_of(db, made(tmp_path / "a", {"Sheet1": [HEADS, row, *others]}))
    assert ask(db, f"SELECT {column} FROM objects WHERE object = '1'") == [(stored,)]
    kept = ask(db, "SELECT heading FROM unmapped_cells WHERE \"key\" = '1'")
    assert kept == ([] if stored is not None and str(stored) != "1905" else [(heading,)])
    texts = [each["text"] for each in told["not_read"].get(f"objects.{column}", [])]
    texts += [each["text"] for each in told["dates_not_understood"].get(f"objects.{column}", [])]
    assert bool(set(texts) - {"n. d."}) is (stored is None)


def test_a_number_of_an_object_is_never_a_fraction(db: Path, tmp_path: Path) -> None:
    """45.1 and 45.10 are one number to a spreadsheet: such rows are set aside with the reason; noughts that are seen stay."""
    rows: list[list[Any]] = [
        [*HEADS],
        [(7, "000"), "Gate", "door"],
        [45, "Box", "box"],
        [45.1, "Lid", "box"],
        ["45.10", "Base", "box"],
        [(45.2, "0.00"), "Handle", "box"],
    ]
    report, told = report_of(db, made(tmp_path / "a", {"Sheet1": rows}))
    assert ask(db, "SELECT object, title FROM objects ORDER BY from_row") == [
        ("007", "Gate"),
        ("45", "Box"),
        ("45.10", "Base"),
    ]
    assert told["set_aside"] == [{"reason": "the object's number is blank or no code", "count": 2, "rows": [4, 6]}]
    assert "1979.10 is kept as 1979.1" in told["not_read"]["objects.object"][0]["message"]
    assert any("2 cells of No are numbers of the spreadsheet" in each.message for each in report.warnings)


def test_the_sheet_is_stated_or_the_only_one(db: Path, tmp_path: Path) -> None:
    """Blank sheets do not count; among several the mapping chooses, and a wrong name is told with the right ones."""
    one: list[list[Any]]
    notes: list[list[Any]]
    one, notes = [HEADS, ["1", "Gate", "door"]], [["a note"]]
    report_of(db, made(tmp_path / "a", {"Blank": [], "List": one}))
    assert ask(db, "SELECT object FROM objects") == [("1",)]
    for sheets, lines, sentence in (
        (
            {"List": one, "Notes": notes},
            "",
            'several sheets (List, Notes). Say below [list] which one is the list: sheet = "List"',
        ),
        ({"List": one, "Notes": notes}, 'sheet = "Lists"\n', "no such sheet. Its sheets are List, Notes."),
        ({"Blank": []}, "", "All sheets of this workbook are blank"),
    ):
        files = made(tmp_path / "b", sheets, MAPPING.replace("[list]\n", f"[list]\n{lines}"))
        with pytest.raises(InputRefused) as caught:
            load.ingest(db, files[0], mapping=files[1])
        assert sentence in caught.value.faults[0].message
    files = made(
        tmp_path / "c",
        {"Notes": notes, "List": [HEADS, ["2", "Sign", "sign"]]},
        MAPPING.replace("[list]\n", '[list]\nsheet = "list"\n'),
    )
    report_of(db, files)
    assert ask(db, "SELECT object FROM objects ORDER BY 1") == [("1",), ("2",)]


def test_what_nobody_sees_in_the_sheet_is_told(db: Path, tmp_path: Path) -> None:
    """Hidden rows and columns, a hidden sheet, merged cells, formulas, comments and struck-out text, each in a sentence."""
    path = tmp_path / "list.xlsx"
    with xlsxwriter.Workbook(str(path)) as book:
        book.add_worksheet("Front")
        page = book.add_worksheet("List")
        for at, cells in enumerate([HEADS, ["1", "Gate", "door"], ["2", "Sign", "sign"], ["3", "Flag", "flag"]]):
            page.write_row(at, 0, cells)
        page.merge_range("D2:D3", "1910")
        page.write_formula("E2", "=1+1")
        page.write_comment("B3", "sold in 1999", {"author": "N. Pike"})
        page.write_string("C4", "flag", book.add_format({"font_strikeout": True}))
        page.set_row(2, None, None, {"hidden": True})
        page.set_column("E:F", None, None, {"hidden": True})
        page.hide()
    (tmp_path / "map.toml").write_text(MAPPING, encoding="utf-8")
    report, _ = report_of(db, (path, tmp_path / "map.toml"))
    told = [(each.row, each.message) for each in report.warnings]
    for row, sentence in (
        (3, "1 rows of this sheet are hidden"),
        (None, "Hidden columns were read like all others: E to F."),
        (None, "This sheet is hidden"),
        (2, "1 groups of cells are merged into one"),
        (2, "1 cells of this sheet are formulas"),
        (3, "This cell has the comment “sold in 1999”"),
        (4, "This cell is struck out"),
    ):
        assert any(at == row and sentence in message for at, message in told), (sentence, told)
    assert ask(db, "SELECT object, made FROM objects ORDER BY 1") == [("1", "1910"), ("2", None), ("3", None)]


def test_what_is_no_workbook_is_refused(db: Path, tmp_path: Path) -> None:
    """By its content: an archive, a workbook of an older kind, a damaged one; and a sheet named for a CSV file."""
    (tmp_path / "map.toml").write_text(MAPPING, encoding="utf-8")
    for name, content, sentence in (
        ("old.xls", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(600), "an older kind (.xls)"),
        ("list.csv", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(600), "an older kind (.xls)"),
        ("list.xlsx", b"PK\x03\x04" + bytes(60), "damaged"),
        ("list.ods", b"no zip", "not an .xlsx workbook"),
    ):
        (tmp_path / name).write_bytes(content)
        with pytest.raises(InputRefused) as caught:
            load.ingest(db, tmp_path / name, mapping=tmp_path / "map.toml")
        assert sentence in caught.value.faults[0].message, caught.value.faults
    (tmp_path / "map.toml").write_text(
        MAPPING.replace("[list]\n", '[list]\nsheet = "List"\nencoding = "utf-8"\nseparator = ","\n'), encoding="utf-8"
    )
    (tmp_path / "list.csv").write_text("No,Title,Kind\n")
    with pytest.raises(InputRefused) as caught:
        load.ingest(db, tmp_path / "list.csv", mapping=tmp_path / "map.toml")
    assert "this list is no workbook" in caught.value.faults[0].message
