"""Blank surveys for the tests: opened, filled in by headings alone, and what a surveyor writes into them."""

from __future__ import annotations

import csv
from pathlib import Path
from typing import Any

import openpyxl
from openpyxl.worksheet.worksheet import Worksheet

from collection.ingest.blank import blank_survey
from collection.ingest.blank.contents import Blank
from collection.ingest.load import ingest
from collection.ingest.package.sheets import ASIDE
from collection.records.sheets import BY_SHEET, SHEETS, Survey
from collection.store.base import database

SAMPLE = Path(__file__).resolve().parents[2] / "sample_db" / "harbour"
TRAM, PUMP, HORSE = "OHM-1962-7", "OHM-1937/3", "OHM-1974-21"

Cells = dict[str, Any]

SURVEY = {
    "code": "N1",
    "title": "One cabinet",
    "lead": "Tamsin Hollowell",
    "started": "2031-04-02",
    "scope": "The door only",
}
NOTEBOOK: list[Cells] = [
    {"object": "1979.10", "title": "Cabinet", "kind": "furniture", "made": "1908~"},
    {"object": "1979.10", "component": "0012", "name": "Carcase", "area_m2": 1.25, "observed_on": "2031-04-02"},
    {"object": "1979.10", "zone": "1E5", "component": "0012", "area_m2": 0.1, "area_basis": "measured"},
    {
        "object": "1979.10",
        "scheme": "1",
        "name": "Green japan",
        "period": "original",
        "rank": 1,
        "made": "[1905..1910]",
    },
    {"object": "1979.10", "scheme": "2.10", "name": "Not a number", "period": "later", "rank": 1.5},
    {
        "object": "1979.10",
        "sample": "S-1",
        "place": "1E5",
        "method": "cross-section",
        "reaches_support": "yes",
        "taken_on": "2031-04-03",
    },
    {"object": "1979.10", "sample": "S-1", "position": 1, "role": "primer", "scheme": "1", "thickness_um": 12.5},
    {"object": "1979.10", "sample": "S-1", "position": 2, "role": "varnish", "scheme": "1", "colour": "3/4"},
    {"object": "1979.10", "test": "1-2", "place": "1E5", "agent": "1 ethanol + 3 isooctane", "dwell_s": 20},
    {"object": "1979.10", "test": "1-2", "response": "softened", "scheme": "1", "role": "varnish"},
    {"object": "1979.10", "place": "all", "phenomenon": "flaking", "observed_on": "2031-04", "severity": 0},
]
"""One object as its surveyor writes it down: what each cell is called, and no word of sheets."""


def harbour(path: Path) -> Path:
    """A database that the two sample surveys were taken into."""
    database.create(path)
    for package in sorted(each for each in SAMPLE.iterdir() if each.is_dir()):
        ingest(path, package, amend="put right by a second look", by="T. Ester")
    return path


def prepared(db: Path, *objects: str, survey: str = "H34") -> Blank:
    with database.opened(db, write=False) as connection:
        return blank_survey.prepare(connection, objects, survey)


def headings(sheet: Worksheet) -> dict[str, int]:
    return {str(cell.value): cell.column for cell in sheet[1] if cell.value is not None}


def needed(sheet: Worksheet) -> set[str]:
    """The headings that a reader sees to be required: they are bold in a thick border."""
    return {str(cell.value) for cell in sheet[1] if cell.font.bold and cell.border.left.style == "medium"}


def allowed(sheet: Worksheet, column: int) -> list[str] | None:
    """The words of the drop-down below a heading, where it has one that holds to its list."""
    return offered(sheet, column, holds=True)


def offered(sheet: Worksheet, column: int, *, holds: bool = False) -> list[str] | None:
    """The words of the drop-down below a heading, whether or not it `holds` to its list."""
    for rule in sheet.data_validations.dataValidation:
        if (
            rule.type == "list"
            and (rule.showErrorMessage or not holds)
            and any(span.min_col <= column <= span.max_col for span in rule.sqref.ranges)
        ):
            name, _, span = rule.formula1.lstrip("=").partition("!")
            return [str(row[0].value) for row in sheet.parent[name][span.replace("$", "")]]
    return None


def fill_workbook(path: Path, survey: Cells, notebook: list[Cells]) -> None:
    """Write down a notebook in a blank workbook: each entry goes where all its words are headings and no needed
    heading is left blank, into the first row that is free."""
    book = openpyxl.load_workbook(path)
    for row in book["survey"].iter_rows(min_row=2):
        if row[0].value in survey:
            row[1].value = survey[row[0].value]
    pages = [sheet for sheet in book.worksheets if sheet.title not in ASIDE | {"survey"}]
    for entry in notebook:
        fitting = [sheet for sheet in pages if set(entry) <= set(headings(sheet)) and needed(sheet) <= set(entry)]
        assert len(fitting) == 1, (entry, [sheet.title for sheet in fitting])
        sheet = fitting[0]
        free = next(row for row in range(2, sheet.max_row + 2) if sheet.cell(row, 1).value is None)
        for name, column in headings(sheet).items():
            if name in entry:
                words = allowed(sheet, column)
                assert words is None or entry[name] in words, (sheet.title, name, entry[name])
                cell = sheet.cell(free, column)
                cell.value = entry[name]
                if isinstance(entry[name], str):
                    cell.data_type = "s"
    book.save(path)


def fill_folder(folder: Path, survey: Cells, notebook: list[Cells]) -> None:
    """The same in a blank folder, whose required columns are those of the declared records."""
    lines = [
        line
        for line in (folder / "survey.toml").read_text("utf-8").splitlines()
        if line.partition(" = ")[0].lstrip("# ") not in survey
    ]
    written = [f'{name} = "{value}"' for name, value in survey.items()]
    (folder / "survey.toml").write_text("\n".join([*lines, *written, ""]), "utf-8")
    heads = {path: path.read_text("utf-8").splitlines()[0].split(",") for path in sorted(folder.glob("*.csv"))}
    for entry in notebook:
        path = next(
            path
            for path, names in heads.items()
            if set(entry) <= set(names)
            and {column.name for column in BY_SHEET[path.stem].columns() if column.required} <= set(entry)
        )
        with path.open("a", newline="", encoding="utf-8") as file:
            csv.DictWriter(file, heads[path], restval="").writerow(entry)


def stored(db: Path, entry: Cells) -> list[str]:
    """The tables in which a record says what a notebook's entry says."""
    found = []
    with database.opened(db, write=False) as connection:
        for record in BY_SHEET.values():
            names = {column.name for column in record.columns()}
            if (
                record is not Survey
                and set(entry) <= names
                and {c.name for c in record.columns() if c.required} <= set(entry)
            ):
                where = " AND ".join(f"{name} = ?" for name in entry)
                if connection.execute(f"SELECT 1 FROM {record.table} WHERE {where}", tuple(entry.values())).fetchone():
                    found.append(record.sheet)
    return found


FORMS = ("folder", "workbook")
COLUMNS = [(record, column) for record in SHEETS for column in record.columns()]
IDS = [f"{record.sheet}.{column.name}" for record, column in COLUMNS]


def write_form(blank: Blank, folder: Path, form: str) -> Path:
    out = folder / ("blank.xlsx" if form == "workbook" else "blank")
    blank_survey.write(blank, out)
    return out


def fill(form: str, path: Path, survey: dict[str, str], notebook: list[dict[str, object]]) -> None:
    (fill_workbook if form == "workbook" else fill_folder)(path, survey, notebook)
