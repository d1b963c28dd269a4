"""`check` finds what is gone, altered or left over, and changes nothing."""

from __future__ import annotations

import sqlite3
from pathlib import Path

import pytest

from collection.store.base import chain, database, files
from collection.store.check import check

BY, WHY = "A. Surveyor", "seen again"


@pytest.fixture
def pictured(filled: Path) -> tuple[Path, Path]:
    """A database with one kept file that a record names."""
    sha256 = files.put(filled, b"a drawing")
    with database.opened(filled, write=True) as db, database.writing(db):
        change = chain.begin_change(db, BY, WHY, "ingest", "A")
        db.execute("INSERT INTO files (sha256, bytes, name, change) VALUES (?, 9, 'front.svg', ?)", (sha256, change))
    assert check(filled).damage == ()
    return filled, files.path_of(filled, sha256)


def test_check_finds_files_that_are_gone_or_altered(pictured: tuple[Path, Path]) -> None:
    path, kept = pictured
    content = kept.read_bytes()
    kept.write_bytes(bytes([content[0] ^ 1]) + content[1:])
    assert any("front.svg" in line and "no longer" in line for line in check(path).damage)
    kept.unlink()
    assert any("front.svg" in line and "missing" in line for line in check(path).damage)


def test_orphans_are_listed_and_no_damage(pictured: tuple[Path, Path]) -> None:
    path, kept = pictured
    orphan = files.path_of(path, files.put(path, b"left by a kill"))
    stray = kept.with_name("x.partial")
    stray.write_bytes(b"half")
    with database.opened(path, write=False) as db:
        assert files.orphans(db) == sorted([orphan, stray])
    report = check(path)
    assert report.damage == ()
    assert sum("may be removed" in line for line in report.notes) == 2


@pytest.mark.parametrize(
    ("sql", "said"),
    [
        (
            "INSERT INTO responses (object, test, response, scheme, role, sample, position, decoration, survey, from_file, "
            "change) VALUES ('1962.7', 'T1', 'softened', '9', '', '', 0, '', 'A', 'f', 1)",
            "scheme names 9",
        ),
        (
            "INSERT INTO claims (object, claim, statement, status, decoration, observed_on, survey, from_file, change) "
            "VALUES ('1962.7', 'C', 'x', 'untested', 'D9', '', 'A', 'f', 1)",
            "decoration names D9",
        ),
        (
            "INSERT INTO hazards (object, hazard, kind, status, component, observed_on, survey, from_file, change) "
            "VALUES ('1962.7', 'H', 'lead', 'suspected', 'door', '', 'A', 'f', 1)",
            "component names door",
        ),
        (
            "INSERT INTO proposal_steps (object, proposal, step, place, action, spares, survey, from_file, change) "
            "VALUES ('1962.7', 'P', 1, 'all', 'strip', 'door; R\"7', 'A', 'f', 1)",
            'spares names R"7',
        ),
        (
            "INSERT INTO treatment_steps (object, treatment, step, place, action, removed, survey, from_file, change) "
            "VALUES ('1962.7', 'T', 1, 'all', 'strip', '7/varnish', 'A', 'f', 1)",
            "removed names 7/varnish",
        ),
        ("UPDATE facts SET document = json_set(document, '$.object.title', 'bus')", "is not what its records give"),
        ("DELETE FROM survival_places", "is not what its records give"),
        ("INSERT INTO places VALUES ('no such', 'x', 'zone')", "points to a row of objects"),
    ],
)
def test_check_finds_what_no_foreign_key_holds(filled: Path, sql: str, said: str) -> None:
    db = sqlite3.connect(filled, isolation_level=None)
    db.execute(sql)
    db.close()
    damage = check(filled).damage
    assert any(said in line for line in damage), damage


def test_check_lists_a_few_and_counts_the_rest(filled: Path) -> None:
    db = sqlite3.connect(filled)
    db.executemany(
        "INSERT INTO claims (object, claim, statement, status, decoration, observed_on, survey, from_file, "
        "change) VALUES ('1962.7', ?, 'x', 'untested', 'D9', '', 'A', 'f', 1)",
        ((str(i),) for i in range(80)),
    )
    db.commit()
    db.close()
    damage = check(filled).damage
    assert len(damage) == 51
    assert damage[-1] == "… and 30 more of this kind; --json lists up to 10,000."


def test_check_changes_nothing(filled: Path) -> None:
    before = filled.read_bytes()
    check(filled)
    assert filled.read_bytes() == before
