"""Which tags hang: written once, chained, found by every number of an object, and found out where somebody alters them."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from coded_package import SHEETS, coded_package
from tram_records import raw

from collection.ingest import load
from collection.language.errors import WrongCommand
from collection.store.backup import backup
from collection.store.base import database
from collection.store.changes import corrections, statements
from collection.store.changes.tags import Tag, any_tags, hang, tags, take_off
from collection.store.check import check

BY, WHY = "R. Registrar", "so it hangs"
HUNG = Tag("T1", 0, "tag", "public", "a" * 64, None, "2026-05-01", "left door, inside", "Ada Penrose", "2026-05-03")


@pytest.fixture
def desk(db: Path, tmp_path: Path) -> Path:
    load.ingest(db, coded_package(tmp_path / "survey"))
    return db


def stated(db: Path, code: str | None = None) -> list[tuple[str, int, str, str | None]]:
    with database.opened(db, write=False) as connection:
        return [(tag.object, tag.number, tag.hangs_at, tag.taken_off_on) for tag in tags(connection, code)]


def test_what_was_hung_stays_when_it_came_off(desk: Path) -> None:
    assert hang(desk, HUNG).number == 1
    hang(desk, replace(HUNG, hangs_at="crate", kind="label"))
    ended = take_off(desk, "T1", 1, "2027-01-02", BY)
    assert (ended.hangs, ended.taken_off_on, ended.hung_by) == (False, "2027-01-02", "Ada Penrose")
    assert stated(desk, "T1") == [("T1", 1, "left door, inside", "2027-01-02"), ("T1", 2, "crate", None)]
    rows = raw(desk).execute("SELECT number, taken_off_on, change FROM tags ORDER BY change").fetchall()
    assert [row[:2] for row in rows] == [(1, None), (2, None), (1, "2027-01-02")]
    assert check(desk).damage == ()


def test_what_cannot_be_is_refused_and_changes_nothing(desk: Path) -> None:
    for wrong in (replace(HUNG, hangs_at=" "), replace(HUNG, hung_by=""), replace(HUNG, hung_on="May 2026")):
        with pytest.raises(WrongCommand):
            hang(desk, wrong)
    with pytest.raises(WrongCommand, match="No tag hangs on T1"):
        take_off(desk, "T1", None, "2026-06-01", BY)
    hang(desk, HUNG)
    with pytest.raises(WrongCommand, match="cannot have come off on 2026-05-02"):
        take_off(desk, "T1", None, "2026-05-02", BY)
    hang(desk, replace(HUNG, hangs_at="roof"))
    with pytest.raises(WrongCommand, match="2 tags hang on T1: 1 at left door, inside; 2 at roof"):
        take_off(desk, "T1", None, "2026-06-01", BY)
    assert [row[3] for row in stated(desk)] == [None, None]


def test_a_renamed_object_keeps_its_tag(desk: Path) -> None:
    hang(desk, HUNG)
    statements.rename(desk, "objects", "T1", "T1/A", BY, WHY)
    assert stated(desk, "T1/A") == [("T1/A", 1, "left door, inside", None)]
    hang(desk, replace(HUNG, object="T1/A", hangs_at="roof"))
    take_off(desk, "T1/A", 1, "2026-06-01", BY)
    assert stated(desk) == [("T1/A", 1, "left door, inside", "2026-06-01"), ("T1/A", 2, "roof", None)]


def test_tags_of_two_objects_that_are_one_are_numbered_together(db: Path, tmp_path: Path) -> None:
    twice = SHEETS["objects"] + "T3,Tram 1,tram,\n"
    load.ingest(db, coded_package(tmp_path / "survey", sheets={**SHEETS, "objects": twice}))
    desk = db
    hang(desk, HUNG)
    hang(desk, replace(HUNG, object="T3", hangs_at="bogie"))
    statements.same(desk, "objects", "T1", "T3", BY, WHY)
    assert [row[1:3] for row in stated(desk)] == [(1, "left door, inside"), (2, "bogie")]
    take_off(desk, "T1", 2, "2026-06-01", BY)
    assert [row[3] for row in stated(desk)] == [None, "2026-06-01"]


@pytest.mark.parametrize(
    ("guard", "sql"),
    [
        ("tags_no_update", "UPDATE tags SET hangs_at = 'the roof'"),
        ("tags_no_update", "UPDATE tags SET taken_off_on = '2026-06-01'"),
        ("tags_no_delete", "DELETE FROM tags"),
    ],
)
def test_whoever_alters_what_was_hung_is_found_out(desk: Path, guard: str, sql: str) -> None:
    """The guard forbids it; taken away and put back, the chain tells."""
    made = hang(desk, HUNG)
    db = raw(desk)
    with pytest.raises(Exception, match="tags"):
        db.execute(sql)
    (text,) = db.execute("SELECT sql FROM sqlite_master WHERE name = ?", (guard,)).fetchone()
    db.execute(f"DROP TRIGGER {guard}")
    db.execute(sql)
    db.execute(text)
    db.close()
    assert any(f"change {made.change} wrote" in line for line in check(desk).damage)


def test_a_change_without_tags_keeps_the_hash_it_had(desk: Path) -> None:
    """Changes of earlier versions were sealed before there was the table; theirs must hold all the same."""
    corrections.correct(desk, "objects", "T1", {"maker": "N. N."}, BY, WHY)
    db = raw(desk)
    before = db.execute("SELECT number, content_sha256, hash FROM changes").fetchall()
    db.close()
    hang(desk, HUNG)
    db = raw(desk)
    assert db.execute("SELECT number, content_sha256, hash FROM changes").fetchall()[:-1] == before
    db.close()


def test_a_backup_has_them(desk: Path, tmp_path: Path) -> None:
    hang(desk, HUNG)
    backup(desk, tmp_path / "copy.db")
    assert stated(tmp_path / "copy.db") == stated(desk) != []
    with database.opened(desk, write=False) as connection:
        assert any_tags(connection)


def test_it_says_what_is_known_only_where_all_of_it_agrees() -> None:
    assert HUNG.says("a" * 64, None)
    assert not HUNG.says("b" * 64, None)
    assert not HUNG.says(None, None)
    # The code leads elsewhere than the page now stands.
    assert not HUNG.says("a" * 64, "https://elsewhere.example/object/T1")
    assert replace(HUNG, address="https://x.example/object/T1").says("a" * 64, "https://x.example/object/T1")
    # Hung before the change that its words were recorded from; a day is a time zone's.
    assert replace(HUNG, hung_on="2026-04-30").says("a" * 64, None)
    assert not replace(HUNG, hung_on="2026-04-29").says("a" * 64, None)
