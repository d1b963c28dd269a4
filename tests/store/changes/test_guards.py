"""The triggers: no program, whatever it knows of ours, can lose or overwrite anything."""

from __future__ import annotations

import json
import shutil
import sqlite3
from pathlib import Path
from typing import Any

import pytest
from packaged_rows import store
from tram_records import raw

from collection.language.errors import OurFault
from collection.records.row import Record
from collection.records.sheets import SHEETS, Component, Layer, Object, Zone
from collection.store.base import chain, database
from collection.store.changes import change as changing
from collection.store.check import check
from collection.store.schema.tables import record_table, stored_values

BY, WHY = "A. Surveyor", "the register says otherwise"


def dump(db: sqlite3.Connection) -> list[str]:
    return list(db.iterdump())


HISTORY_ROW = "INTO history (id, sheet, key, revision, survey, content, change)"


@pytest.mark.parametrize("recursive", [False, True])
@pytest.mark.parametrize(
    "sql",
    [
        "DELETE FROM layers",
        "DELETE FROM surveys",
        "UPDATE layers SET colour = 'green'",
        "UPDATE layers SET colour = 'green', change = change + 1",
        "UPDATE layers SET colour = 'green', revision = revision + 1",
        "UPDATE layers SET colour = 'green', revision = revision + 1, change = 0",
        "UPDATE layers SET colour = 'green', revision = revision + 1, change = NULL",
        "UPDATE OR IGNORE layers SET colour = 'green'",
        "UPDATE OR REPLACE layers SET position = 2, revision = 2, change = 2 WHERE position = 1",
        "UPDATE OR REPLACE layers SET rowid = 2, revision = 2, change = 2 WHERE rowid = 1",
        "INSERT OR REPLACE INTO layers (object, sample, position, role, survey, from_file, change) "
        "VALUES ('3', 'S1', 1, 'varnish', 'A', 'f', 1)",
        "REPLACE INTO layers (rowid, object, sample, position, role, survey, from_file, change) "
        "VALUES (1, '3', 'S1', 9, 'varnish', 'A', 'f', 1)",
        "INSERT INTO layers (rowid, object, sample, position, role, survey, from_file, change) "
        "VALUES (-1, '3', 'S1', 9, 'varnish', 'A', 'f', 1)",
        "INSERT INTO layers (object, sample, position, role, survey, from_file, change) "
        "VALUES ('3', 'S1', 1, 'varnish', 'A', 'f', 1) ON CONFLICT DO UPDATE SET role = 'wax'",
        "DELETE FROM changes",
        "UPDATE changes SET why = 'another'",
        "UPDATE changes SET hash = NULL",
        "INSERT OR REPLACE INTO changes (number, at, by, why, action, subject, tool_version) "
        "VALUES (1, '', 'x', 'y', '', '', '')",
        "INSERT INTO changes (number, at, by, why, action, subject, tool_version) VALUES (7, '', 'x', 'y', '', '', '')",
        "INSERT INTO changes (at, by, why, action, subject, tool_version) VALUES ('', 'x', 'y', '', '', '')",
        "INSERT INTO changes (number, at, by, why, action, subject, tool_version) VALUES (2, '', ' ', 'y', '', '', '')",
        "DELETE FROM places",
        "UPDATE places SET kind = 'zone'",
        "INSERT OR REPLACE INTO places VALUES ('3', 'all', 'all')",
        f"INSERT {HISTORY_ROW} VALUES (NULL, 'layers', '3/S1/1', 1, 'A', '{{}}', 1)",
        f"INSERT {HISTORY_ROW} VALUES (-1, 'layers', '3/S1/1', 1, 'A', '{{}}', 1)",
        "DELETE FROM migrations",
        "UPDATE migrations SET sha256 = sha256",
    ],
)
def test_other_programs_cannot_lose_anything(stored: Path, sql: str, recursive: bool) -> None:
    db = raw(stored, recursive=recursive)
    before = dump(db)
    with pytest.raises(sqlite3.IntegrityError):
        db.execute(sql)
    assert dump(db) == before
    db.close()


@pytest.mark.parametrize("cls", SHEETS, ids=lambda cls: cls.sheet)
def test_every_sheet_is_guarded(empty: Path, tmp_path: Path, cls: type[Record]) -> None:
    """One row of each sheet, against deletion, silent update and INSERT OR REPLACE."""
    path = Path(shutil.copy(empty, tmp_path / "collection.db"))
    db = raw(path)
    db.execute("BEGIN")
    chain.begin_change(db, BY, WHY, "ingest", "A")
    fixed = {c.name: "3" for c in cls.columns() if c.required and c.reference}
    row = stored_values(_plain(cls, fixed))
    row.update(from_file="f", change=1, **({} if cls.sheet == "survey" else {"survey": "A"}))
    insert = f"INTO {cls.table} ({', '.join(row)}) VALUES ({', '.join('?' * len(row))})"
    db.execute(f"INSERT {insert}", tuple(row.values()))
    db.execute("COMMIT")
    before = dump(db)
    for sql, values in (
        (f"DELETE FROM {cls.table}", ()),
        (f"UPDATE {cls.table} SET from_row = 5", ()),
        (f"INSERT OR REPLACE {insert}", tuple(row.values())),
    ):
        with pytest.raises(sqlite3.IntegrityError):
            db.execute(sql, values)
    assert dump(db) == before
    db.execute("BEGIN")
    chain.begin_change(db, BY, WHY, "amend", "A")
    db.execute(f"UPDATE {cls.table} SET from_row = 5, revision = 2, change = 2")
    kept = json.loads(db.execute("SELECT content FROM history WHERE sheet = ?", (cls.sheet,)).fetchone()[0])
    assert {name: kept[name] for name in row} == row
    assert list(kept) == [column.name for column in record_table(cls).columns]
    db.close()


def _plain(cls: type[Record], fixed: dict[str, Any]) -> Record:
    """A record with every column filled that no reference needs."""
    values: dict[str, Any] = dict(fixed)
    samples = {
        "number": 0.125,
        "integer": 1,
        "date": "1924/1931",
        "agent": "acetone",
        "points": "0,0 1,0 0,1",
        "file": "a.png",
        "coat": "1/varnish",
        "code": "Ö 1",
        "text": "a \"b\"\n'c' \\ ĝ",
        "person": "N. N.",
    }
    for column in cls.columns():
        if column.name not in values and not column.reference:
            values[column.name] = column.words.words[0] if column.words else samples[column.kind]
    return cls.model_validate(values)


def test_a_refused_update_leaves_no_history_behind(stored: Path) -> None:
    """UPDATE OR IGNORE passes over a row that a constraint refuses; its before-image must not be written."""
    db = raw(stored)
    db.execute("UPDATE OR IGNORE layers SET role = NULL, revision = 2, change = 2")
    assert db.execute("SELECT count(*) FROM history").fetchone() == (0,)
    with pytest.raises(sqlite3.IntegrityError):
        db.execute("UPDATE layers SET role = 'no such role', revision = 2, change = 2")
    assert db.execute("SELECT count(*) FROM history").fetchone() == (0,)
    db.close()


def test_a_code_of_a_part_cannot_become_a_zone(stored: Path) -> None:
    db = raw(stored)
    head = "(object, {0}, {1}, survey, from_file, change) VALUES ('3', 'body', 'x', 'A', 'f', 1)"
    db.execute(
        "INSERT INTO components (object, component, name, observed_on, survey, from_file, change) "
        "VALUES ('3', 'body', 'x', '', 'A', 'f', 1)"
    )
    for verb in ("INSERT", "INSERT OR REPLACE", "INSERT OR IGNORE"):
        with pytest.raises(sqlite3.IntegrityError, match="share their codes"):
            db.execute(f"{verb} INTO zones " + head.format("zone", "component"))
    db.close()


def test_a_sealed_change_takes_nothing_more(stored: Path) -> None:
    db = raw(stored)
    for sql in (
        "INSERT INTO warnings (sheet, key, message, change) VALUES ('layers', '3/S1/1', 'x', 1)",
        f"INSERT INTO files VALUES ('{'a' * 64}', 1, 'x', 1)",
        "UPDATE layers SET colour = 'x', revision = 2, change = 2",
    ):
        if sql.startswith("UPDATE"):
            db.execute("BEGIN")
            chain.begin_change(db, BY, WHY, "amend", "A")
            chain.seal_change(db, 2)
        with pytest.raises(sqlite3.IntegrityError, match="not sealed yet"):
            db.execute(sql)
    db.close()


def test_refusals_of_raw_programs_say_why(stored: Path) -> None:
    db = raw(stored)
    with pytest.raises(sqlite3.IntegrityError, match="Nothing is deleted from layers: withdraw the record"):
        db.execute("DELETE FROM layers")
    with pytest.raises(sqlite3.IntegrityError, match="stored already: amend or correct it"):
        db.execute(
            "REPLACE INTO objects (object, title, kind, survey, from_file, change) VALUES ('3', 'x', 'x', 'A', 'f', 1)"
        )
    db.close()


@pytest.mark.parametrize("lifted_from", [1, 5_000])
def test_a_long_load_is_guarded_again_afterwards(
    stored: Path, lifted_from: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whether or not the guards are lifted while many rows go in: afterwards they stand as before, and zones and parts
    are in the one name space of places."""
    monkeypatch.setattr(changing, "LIFTED_FROM", lifted_from)
    triggers = "SELECT name, sql FROM sqlite_master WHERE type = 'trigger' ORDER BY name"
    with database.opened(stored, write=False) as db:
        before = db.execute(triggers).fetchall()
    rows = [
        Object(object="9", title="cart", kind="cart"),
        *(Component(object="9", component=f"p{number}", name="wheel") for number in range(3)),
        *(Zone(object="9", zone=f"z{number}", component="p0") for number in range(3)),
    ]
    store(stored, "B", rows)
    with database.opened(stored, write=False) as db:
        assert db.execute(triggers).fetchall() == before
        assert db.execute("SELECT place, kind FROM places WHERE object = '9' ORDER BY 1").fetchall() == [
            ("all", "all"),
            *((f"p{number}", "component") for number in range(3)),
            *((f"z{number}", "zone") for number in range(3)),
        ]
    assert check(stored).damage == ()
    with pytest.raises(sqlite3.IntegrityError):
        raw(stored).execute("DELETE FROM layers")


@pytest.mark.parametrize("lifted_from", [1, 5_000])
def test_a_taken_key_stops_an_insert(stored: Path, lifted_from: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """With the guard that says so, or lifted, by the key itself; what broke off leaves every guard in its place."""
    monkeypatch.setattr(changing, "LIFTED_FROM", lifted_from)
    before = raw(stored).execute("SELECT count(*) FROM sqlite_master WHERE type = 'trigger'").fetchone()
    row = changing.one_row(Layer, ("3", "S1", 1), {"role": "wax", "survey": "A", "from_file": "f"})
    with (
        pytest.raises(OurFault, match="refused"),
        changing.transaction(stored) as db,
        changing.change(db, BY, WHY, "ingest", "A") as made,
    ):
        made.insert(row)
    db = raw(stored)
    assert db.execute("SELECT role FROM layers ORDER BY position").fetchall() == [("primer",), ("body colour",)]
    assert db.execute("SELECT count(*) FROM sqlite_master WHERE type = 'trigger'").fetchone() == before
