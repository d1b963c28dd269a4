"""Records as a surveyor hands them in: a package folder of them, and taking it in, for tests of storing."""

from __future__ import annotations

import csv
import json
import tempfile
from collections.abc import Collection, Iterable, Mapping
from pathlib import Path
from typing import Any

from site_packages import png

from collection.ingest.load import IngestReport, ingest
from collection.records.cells import CLEAR
from collection.records.row import Record
from collection.records.sheets import BY_SHEET
from collection.store.base import database, keys

LEAD, WHY = "A. Surveyor", "seen again"
Cells = Mapping[str, Any]


def cells_of(row: Record) -> dict[str, Any]:
    """A record as cells by column."""
    return {column.name: getattr(row, column.name) for column in row.columns()}


def written(value: Any) -> str:
    """A value as a person types it; CLEAR is the words that clear a cell."""
    if value is CLEAR:
        return "not recorded"
    return "" if value is None else value if isinstance(value, str) else repr(value)


def write_package(folder: Path, survey: str, rows: Iterable[tuple[str, Cells]]) -> Path:
    """A package of a survey with rows as (sheet, cells); every file that a row names lies in it."""
    folder.mkdir(parents=True)
    head = {"code": survey, "title": "trial", "lead": LEAD, "started": "2020"}
    by_sheet: dict[str, list[Cells]] = {}
    for sheet, cells in rows:
        if sheet == "survey":
            head.update({name: written(cell) for name, cell in cells.items() if cell is not None})
        else:
            by_sheet.setdefault(sheet, []).append(cells)
    told = "".join(f"{name} = {json.dumps(cell, ensure_ascii=False)}\n" for name, cell in head.items())
    (folder / "survey.toml").write_text(told, encoding="utf-8")
    for sheet, given in by_sheet.items():
        columns = [column for column in BY_SHEET[sheet].columns() if any(column.name in cells for cells in given)]
        with (folder / f"{sheet}.csv").open("w", encoding="utf-8", newline="") as file:
            lines = csv.writer(file)
            lines.writerow(column.name for column in columns)
            lines.writerows([written(cells.get(column.name)) for column in columns] for cells in given)
        for column in columns:
            for name in {cells.get(column.name) for cells in given} - {CLEAR}:
                if column.kind == "file" and name is not None:
                    (folder / name).parent.mkdir(exist_ok=True)
                    (folder / name).write_bytes(png())
    return folder


def hand_in(
    db: Path, survey: str, rows: Iterable[tuple[str, Cells]], *, amend: bool = False, meant: Collection[str] = ()
) -> IngestReport:
    """Take in a package of these rows; with `amend` what is stored otherwise is amended, with `meant` corrections too."""
    with tempfile.TemporaryDirectory() as work:
        package = write_package(Path(work) / "package", survey, rows)
        return ingest(db, package, amend=WHY if amend else None, by=LEAD if amend else None, amend_corrected=meant)


def needed(db: Path, sheet: str, key: tuple[Any, ...]) -> Cells:
    """What a package has to say of a stored record at least: its key, and the cells that the sheet requires."""
    record = BY_SHEET[sheet]
    columns = [column for column in record.columns() if column.required or column.name in record.key]
    sql = f"SELECT {', '.join(c.name for c in columns)} FROM {record.table} WHERE {keys.where(record)}"
    with database.opened(db, write=False) as connection:
        row = connection.execute(sql, key).fetchone()
    return {c.name: None if not c.required and cell in ("", 0) else cell for c, cell in zip(columns, row, strict=True)}


def amend(
    db: Path, survey: str, sheet: str, key: tuple[Any, ...], meant: Collection[str] = (), **cells: Any
) -> IngestReport:
    """A package of a survey that says something else of one stored record; of those in `meant`, corrections too."""
    return hand_in(db, survey, [(sheet, {**needed(db, sheet, key), **cells})], amend=True, meant=meant)


def store(db: Path, survey: str, rows: Iterable[Record]) -> IngestReport:
    """Take in records as a survey of their own."""
    return hand_in(db, survey, [(row.sheet, cells_of(row)) for row in rows])
