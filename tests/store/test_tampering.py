"""Whoever takes a guard away and alters something is found out by `check`."""

from __future__ import annotations

import hashlib
import json
from pathlib import Path

import pytest
from tram_records import raw

from collection.store.base import chain
from collection.store.changes import corrections
from collection.store.check import check

BY, WHY = "A. Surveyor", "the register says otherwise"


def test_the_hash_of_a_change_can_be_computed_by_anyone(stored: Path) -> None:
    """By SHA-256 of JSON as `changes` says: of the change's own row, and before that of the rows it wrote beside the
    records; a package with no file to keep but its own sheets writes packages, files and their uses."""
    db = raw(stored)
    *row, found = db.execute("SELECT * FROM changes WHERE number = 1").fetchone()
    assert found == hashlib.sha256(json.dumps(row, separators=(",", ":"), ensure_ascii=False).encode()).hexdigest()
    lines = [
        json.dumps([table, *values], separators=(",", ":"), ensure_ascii=False) + "\n"
        for table, key in (("packages", "sha256"), ("files", "sha256"), ("file_uses", 'sheet, key, "column"'))
        for values in db.execute(f"SELECT * FROM {table} WHERE change = 1 ORDER BY {key}")
    ]
    assert len(lines) == 1 + 4 + 4
    expected = hashlib.sha256("".join(lines).encode()).hexdigest()
    assert db.execute("SELECT content_sha256 FROM changes").fetchone() == (expected,)
    db.close()


def tampered(path: Path, guard: str, *statements: str) -> tuple[str, ...]:
    """What `check` says after somebody took a guard away, wrote, and put it back."""
    db = raw(path)
    sql = db.execute("SELECT sql FROM sqlite_master WHERE name = ?", (guard,)).fetchone()[0]
    db.execute(f"DROP TRIGGER {guard}")
    for statement in statements:
        db.execute(statement)
    db.execute(sql)
    db.close()
    return check(path).damage


@pytest.fixture
def lived(stored: Path) -> Path:
    """A database in which things were corrected, withdrawn and reinstated."""
    corrections.correct(stored, "layers", "3/S1/1", {"colour": "grey"}, BY, WHY)
    corrections.correct(stored, "layers", "3/S1/1", {"colour": "pale grey"}, BY, WHY)
    corrections.withdraw(stored, "objects", "1/2", BY, WHY)
    assert check(stored).damage == ()
    return stored


@pytest.mark.parametrize(
    ("guard", "sql", "said"),
    [
        (
            "changes_sealed_once",
            "UPDATE changes SET why = 'nothing' WHERE number = 2",
            "Change 2 is not what was written",
        ),
        ("changes_sealed_once", "UPDATE changes SET at = '1999' WHERE number = 4", "Change 4 is not what was written"),
        ("changes_no_delete", "DELETE FROM changes WHERE number = 2", "Change 2 is missing"),
        ("changes_no_delete", "DELETE FROM changes WHERE number = 4", "points to a row of changes"),
        (
            "history_no_update",
            "UPDATE history SET content = replace(content, 'grey', 'gray') WHERE id = 2",
            "change 3 wrote",
        ),
        ("history_no_delete", "DELETE FROM history WHERE id = 1", "change 2 wrote"),
        ("history_no_delete", "DELETE FROM history WHERE id = 1", "not all earlier contents"),
        ("layers_history", "UPDATE layers SET scheme = 'x' WHERE position = 1", "points to a row of schemes"),
        ("layers_history", "UPDATE layers SET role = 'varnish' WHERE position = 1", "is not what its records give"),
        ("objects_no_delete", "DELETE FROM objects WHERE object = '1/2'", "points to a row of objects"),
        ("layers_no_delete", "DELETE FROM layers WHERE position = 2", "is not what its records give"),
    ],
)
def test_tampering_is_found(lived: Path, guard: str, sql: str, said: str) -> None:
    assert any(said in line for line in tampered(lived, guard, sql)), tampered(lived, guard)


def test_a_rewritten_change_is_found_even_with_a_right_hash_of_its_own(lived: Path) -> None:
    """Whoever alters a change and computes its hash again has to alter every later one."""
    db = raw(lived)
    row = list(chain.chained(db, 2).fetchone())
    row[3] = "nothing"
    db.close()
    damage = tampered(
        lived,
        "changes_sealed_once",
        f"UPDATE changes SET why = 'nothing', hash = '{chain.chain_hash(tuple(row))}' WHERE number = 2",
    )
    assert any("Change 3 is not what was written" in line for line in damage)


@pytest.mark.parametrize("kind", ["trigger", "view", "index", "table"])
def test_a_missing_or_altered_part_of_the_schema_is_found(lived: Path, kind: str) -> None:
    name = {
        "trigger": "layers_no_delete",
        "view": "live_layers",
        "index": "history_by_change",
        "table": "survival_decorations",
    }[kind]
    db = raw(lived)
    sql = db.execute("SELECT sql FROM sqlite_master WHERE name = ?", (name,)).fetchone()[0]
    db.execute(f"DROP {kind} {name}")
    db.close()
    assert any(f"The {kind} {name} is missing" in line for line in check(lived).damage)
    db = raw(lived)
    db.execute(sql if kind != "trigger" else sql.replace("Nothing", "Something"))
    db.execute("CREATE TABLE mine (x)")
    db.close()
    report = check(lived)
    assert any("mine is none of firstcoat's" in line for line in report.notes)
    assert bool(report.damage) == (kind == "trigger")
