"""A small sound workbook, one with a cell replaced, its faults, and what was stored of it."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import made_workbooks as made
import pytest
import xlsxwriter
from checked import check_package

from collection.ingest import load
from collection.language.errors import Fault, InputRefused
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


def kind(place: str) -> str:
    return f'<c r="{place}" t="inlineStr"><is><t>tram</t></is></c></row>'
