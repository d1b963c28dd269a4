"""`export --as csv`: what the tables hold, to the last bit, and what the description beside them says of it.

Data Package and Table Schema, version 1 (specs.frictionlessdata.io), read here by their text: types, constraints, keys.
"""

from __future__ import annotations

import csv
import hashlib
import json
import sqlite3
from pathlib import Path
from typing import Any

import pytest
from whole_copy import Left

from collection.cli import run
from collection.output.export.tables import export_tables
from collection.records.sheets import SHEETS
from collection.store.changes import collection_row

Rows = list[dict[str, str]]
READ: dict[str, Any] = {"string": str, "number": float, "integer": int}


@pytest.fixture(scope="module")
def out(left: Left, tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("tables") / "out"
    export_tables(left.source, folder)
    return folder


@pytest.fixture(scope="module")
def described(out: Path) -> dict[str, dict[str, Any]]:
    package = json.loads((out / "datapackage.json").read_text(encoding="utf-8"))
    return {resource["name"]: resource for resource in package["resources"]}


def rows_of(out: Path, resource: dict[str, Any]) -> Rows:
    with (out / resource["path"]).open(encoding=resource["encoding"], newline="") as file:
        return list(csv.DictReader(file, strict=True))


def values(resource: dict[str, Any], row: dict[str, str]) -> dict[str, Any]:
    """A row as Table Schema reads it: a blank is nothing, everything else what its type says."""
    return {
        field["name"]: None if row[field["name"]] == "" else READ[field["type"]](row[field["name"]])
        for field in resource["schema"]["fields"]
    }


def test_each_live_row_of_each_sheet_is_there_exactly(
    left: Left, out: Path, described: dict[str, dict[str, Any]]
) -> None:
    """Against plain SQL: numbers bit for bit, texts with their line ends; blanks of a key are '' or 0 in the file."""
    db = sqlite3.connect(left.source)
    db.row_factory = sqlite3.Row
    for record in SHEETS:
        resource = described[record.table]
        names = [field["name"] for field in resource["schema"]["fields"]]
        stored = [
            {
                name: None
                if name in record.key and not record.column(name).required and row[name] in ("", 0)
                else row[name]
                for name in names
            }
            for row in db.execute(f"SELECT * FROM live_{record.table} ORDER BY {', '.join(record.key)}")
        ]
        told = [values(resource, row) for row in rows_of(out, resource)]
        assert list(map(repr, told)) == list(map(repr, stored)), record.sheet
        assert {column.name for column in record.columns()} <= set(names)


def test_odd_texts_and_private_cells_are_there_as_they_were_written(
    out: Path, described: dict[str, dict[str, Any]]
) -> None:
    (tram,) = (row for row in rows_of(out, described["objects"]) if row["object"] == "T1")
    assert tram["dimensions"] == "9.2 m\n“over all”; Å ＝ Å"
    assert tram["owner"] == "=HYPERLINK(1)"
    (owner,) = (field for field in described["objects"]["schema"]["fields"] if field["name"] == "owner")
    assert owner["private"] is True
    (coat,) = (
        row
        for row in rows_of(out, described["layers"])
        if (row["object"], row["sample"], row["position"]) == ("T1", "S1", "3")
    )
    assert coat["thickness_um"] == "0.30000000000000004"
    cells = {(row["key"], row["heading"], row["value"]) for row in rows_of(out, described["unmapped_cells"])}
    assert ("T9", "Shelf", "12b") in cells


def test_what_was_withdrawn_is_not_there(out: Path, described: dict[str, dict[str, Any]]) -> None:
    assert "T9" not in {row["object"] for row in rows_of(out, described["objects"])}
    assert "list-1" not in {row["code"] for row in rows_of(out, described["surveys"])}
    assert "withdrawn" not in {field["name"] for field in described["objects"]["schema"]["fields"]}


def test_the_files_are_as_rfc_4180_has_it(out: Path, described: dict[str, dict[str, Any]]) -> None:
    """Lines end in CR LF, every record has as many fields as the heading, and the hash is that of the file."""
    assert {path.name for path in out.iterdir()} == {"datapackage.json", *(r["path"] for r in described.values())}
    for resource in described.values():
        content = (out / resource["path"]).read_bytes()
        assert content.endswith(b"\r\n")
        assert (resource["bytes"], resource["hash"]) == (len(content), f"sha256:{hashlib.sha256(content).hexdigest()}")
        with (out / resource["path"]).open(encoding="utf-8", newline="") as file:
            heading, *lines = csv.reader(file, strict=True)
        assert heading == [field["name"] for field in resource["schema"]["fields"]]
        assert {len(line) for line in lines} <= {len(heading)}


def test_every_row_keeps_to_its_description(out: Path, described: dict[str, dict[str, Any]]) -> None:
    """Required cells, closed lists, limits, keys that name one row each, and references that lead to a row."""
    tables = {name: [values(each, row) for row in rows_of(out, each)] for name, each in described.items()}
    pointed = 0
    for name, resource in described.items():
        schema = resource["schema"]
        for field in schema["fields"]:
            limits = field.get("constraints", {})
            assert field["description"]
            for row in tables[name]:
                value = row[field["name"]]
                assert value is not None or not limits.get("required"), (name, field["name"], row)
                if value is not None:
                    assert value in limits.get("enum", [value]), (name, field["name"], value)
                    assert limits.get("minimum", value) <= value <= limits.get("maximum", value), (name, field, value)
        keys = [tuple(row[part] for part in schema["primaryKey"]) for row in tables[name]]
        assert len(set(keys)) == len(keys), name
        for reference in schema.get("foreignKeys", ()):
            goal = reference["reference"]
            there = {tuple(row[part] for part in goal["fields"]) for row in tables[goal["resource"]]}
            for row in tables[name]:
                leads = tuple(row[part] for part in reference["fields"])
                assert None in leads or leads in there, (name, reference, leads)
                pointed += None not in leads
    assert pointed > 5_000


def test_the_description_says_whose_it_is_and_that_it_is_for_staff(left: Left, out: Path) -> None:
    package = json.loads((out / "datapackage.json").read_text(encoding="utf-8"))
    assert package["profile"] == "tabular-data-package"
    assert package["name"] == "hm"
    assert package["title"] == "Harbour Museum"
    assert package["homepage"] == "https://harbour.example/"
    assert package["licenses"] == [{"name": "CC0-1.0"}]
    assert "for staff" in package["description"]


def test_a_rights_statement_is_given_by_its_address(stated: Path, tmp_path: Path) -> None:
    export_tables(stated, tmp_path / "out")
    package = json.loads((tmp_path / "out" / "datapackage.json").read_text(encoding="utf-8"))
    assert package["licenses"] == [{"path": "https://rights.example/InC/1.0/"}]
    assert package["name"] == "collection"


@pytest.fixture
def stated(db: Path) -> Path:
    collection_row.state(db, {"licence": "https://rights.example/InC/1.0/"}, "R. Registrar", "as agreed")
    return db


def test_the_command_says_what_is_and_is_not_in_it(
    left: Left, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["export", str(left.source), str(tmp_path / "out"), "--as", "csv"]) == 0
    said = capsys.readouterr().out
    assert "Private columns, notes and the names of people are in it: it is for staff." in said
    assert "Not in it are withdrawn records, what was said before" in said
    assert run(["export", str(left.source), str(tmp_path / "more"), "--as", "csv", "--json"]) == 0
    answer = json.loads(capsys.readouterr().out)
    assert answer["format"] == 1
    assert answer["rows"]["collection"] == 2
    assert run(["export", str(left.source), str(tmp_path / "other"), "--as", "parquet"]) == 2
