"""Cells as the intake reads them: separators, marks and headings, codes, and the fast reading of numbers and texts."""

from __future__ import annotations

from pathlib import Path

import pytest
from asked import ask
from faulty_package import refused
from small_package import LAYERS, only, package

from collection.ingest import load
from collection.ingest.validate import Hearer
from collection.language.errors import BadValue
from collection.records import cells
from collection.records.columns import Column
from collection.records.sheets import BY_SHEET, SHEETS


def test_separators_marks_and_headings_are_read_alike(db: Path, tmp_path: Path) -> None:
    """Comma, semicolon and tab, a byte order mark, other headings' spelling and decimal commas give equal rows."""
    load.ingest(db, package(tmp_path / "p"))
    for number, (mark, bom) in enumerate(((";", ""), ("\t", "\ufeff"))):
        layers = bom + LAYERS.replace(",", mark).replace("35.5", "35,5").replace("\n", "\r\n")
        layers = layers.replace("thickness_um", " Thickness-UM ")
        report = load.ingest(db, package(tmp_path / f"q{number}", layers=layers))
        assert (report.added, report.changed, report.unchanged["layers"]) == ({}, {}, 2)


@pytest.mark.parametrize("mark", [";", "\t"])
def test_one_point_two_hundred_is_asked_back_where_commas_mark_decimals(db: Path, tmp_path: Path, mark: str) -> None:
    """A thickness of 1.200 may be 1.2 or 1200 µm in a sheet of a program whose decimal mark is the comma; in a sheet
    with commas between its cells it is 1.2."""
    spoiled = LAYERS.replace("35.5", "1.200")
    faults = refused(db, package(tmp_path / "p", layers=spoiled.replace(",", mark)))
    assert [(f.file, f.row, f.column, f.value) for f in faults] == [("layers.csv", 3, "thickness_um", "1.200")]
    assert "write 1.2000 or 1200" in faults[0].message
    load.ingest(db, package(tmp_path / "q", layers=spoiled))
    assert ask(db, "SELECT thickness_um FROM layers WHERE thickness_um < 20") == [(1.2,)]


def test_codes_are_kept_as_written_after_nfc(db: Path, tmp_path: Path) -> None:
    """Two ways to write the same letter are one code; leading zeros stay."""
    load.ingest(db, only(tmp_path / "p", objects="object,title,kind\ne\u0301-007 ,Plate,sign\n"))
    assert ask(db, "SELECT object FROM objects") == [("\u00e9-007",)]


NUMBERS = [
    "0",
    "-0",
    "12",
    "+3",
    "1.5",
    ".5",
    "-2.25",
    "1e3",
    "2E-3",
    "1e999",
    "007",
    " 4 ",
    "4.0",
    "1_0",
    "5.",
    "1e-400",
    "nan",
    "inf",
    "1,5",
    "0x10",
    "٣",
    "1 000",
    "--1",
    "",
    "1e",
    "e1",
    "12.5.1",
    "1e-05",
    "9" * 30,
]


@pytest.mark.parametrize("text", NUMBERS)
@pytest.mark.parametrize(
    "sheet_column",
    [("layers", "thickness_um"), ("samples", "x"), ("tests", "passes"), ("layers", "position"), ("schemes", "rank")],
)
def test_the_fast_reading_of_numbers_is_the_exact_one(tmp_path: Path, text: str, sheet_column: tuple[str, str]) -> None:
    """The compiled validator takes no number that the exact reading refuses, and gives the same value."""
    same_reading(tmp_path, *sheet_column, text)


TEXTS = [
    "primer",
    "Primer",
    " primer ",
    "overpaint",
    "size",
    "x",
    "Ada  Penrose",
    "all",
    "ALL",
    "a/b",
    "a\tb",
    "not recorded",
    "Not_Recorded",
    "e\u0301",
    "a\u200bb",
    "a\u00adb",
    "1908~",
    "Tram\r\n1",
    "x" * 81,
    "\u00a0a\u00a0",
    "acetone",
    "1/varnish",
    "flakin",
]


@pytest.mark.parametrize("text", TEXTS)
def test_the_fast_reading_of_texts_is_the_exact_one(tmp_path: Path, text: str) -> None:
    """The same for every text column of every sheet."""
    for record in SHEETS:
        for column in record.columns():
            if not column.is_number:
                same_reading(tmp_path, record.sheet, column.name, text)


def same_reading(tmp_path: Path, sheet: str, name: str, text: str) -> None:
    from collection.ingest.package.csv_sheet import CsvSheet
    from collection.ingest.package.text_files import inspect
    from collection.ingest.validate import RowReader

    record, column = BY_SHEET[sheet], BY_SHEET[sheet].column(name)
    path = tmp_path / "one.csv"
    path.write_text(f'"{name}"\n"' + text.replace('"', '""') + '"\n', encoding="utf-8", newline="")
    traits, refusal = inspect(path)
    assert refusal is None
    reader = RowReader(CsvSheet(record, "one.csv", path, ",", 2, (name,), traits))
    heard: list[str] = []

    class Heard(Hearer):
        def fault(self, row: int, column: str | None, value: str | None, message: str, nearest: str | None) -> None:
            heard.append(message)

        def meant(self, column: Column, object_code: str | None, written: str) -> str | None:
            return None

        def cleared(self, row: int, column: str) -> None:
            heard.append("cleared")

        def broken_off(self, error: str) -> None:
            raise AssertionError(error)

    rows = list(reader.read(Heard(), [(2, [text])]))
    value, refused = None, None
    try:
        value = cells.read_cell(column, text)
    except BadValue as fault:
        refused = str(fault)
    if refused is not None:
        assert heard == [refused]
    elif value is cells.CLEAR:
        cannot = column.required or name in record.key
        assert len(heard) == 1
        assert (heard == ["cleared"]) != cannot
    elif value is None:
        assert rows == [] or rows[0][0] is None
    else:
        assert (heard, rows[0][0]) == ([], value)
        assert type(rows[0][0]) is type(value)
