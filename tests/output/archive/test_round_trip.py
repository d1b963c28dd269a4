"""Database, archive, database: every row of every table with its type, the history and its chain, every file.

Compared with plain SQL. The second way, from the tables, is walked with the script that lies in the archive, by a Python
that has nothing else.
"""

from __future__ import annotations

import shutil
import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path

import pytest
from archived import BY, DATA, WHY, copied, flip, sealed_again, stored, unlike
from coded_package import SHEETS, coded_package
from hypothesis import Phase, given, settings
from hypothesis import strategies as st
from play import ACTS, Play
from registrars_years import registrars_years
from strategies import object_rows
from whole_copy import contents as files_in

from collection.cli import run
from collection.ingest import load
from collection.language.errors import CouldNot
from collection.output.archive import contents
from collection.output.archive.archive import archive
from collection.output.archive.checked import check_archive
from collection.output.archive.restore import restore
from collection.output.site.site_contents import About
from collection.records.row import Record
from collection.store.base import chain, database, files
from collection.store.changes import corrections
from collection.store.changes.collection_row import Collection
from collection.store.check import check
from collection.store.load_tables import load_tables
from collection.store.schema import packaged
from collection.store.schema.migrate import APPLICATION_ID, run_script


def test_what_comes_back_is_what_was_archived(small: Path, kept: Path, tmp_path: Path) -> None:
    report = restore(kept, tmp_path / "back.db")
    assert unlike(stored(small), stored(tmp_path / "back.db")) == []
    assert (tmp_path / "back.db").read_bytes()[18:20] == b"\x02\x02", "it is in write-ahead mode, as every new database"
    assert (report.damage, report.from_tables, report.version) == ((), False, packaged.newest_version())
    assert check(tmp_path / "back.db").damage == ()
    corrections.correct(tmp_path / "back.db", "objects", "T1", {"maker": "N. N."}, BY, WHY)
    assert check(tmp_path / "back.db").damage == ()
    assert check_archive(kept).damage == (), "nothing was written into the archive"


@pytest.mark.slow
def test_the_same_database_gives_the_same_bytes(small: Path, kept: Path, tmp_path: Path) -> None:
    archive(small, tmp_path / "again", papers=True)
    assert files_in(tmp_path / "again") == files_in(kept)


def test_the_tables_alone_give_the_same_rows(small: Path, kept: Path, tmp_path: Path) -> None:
    """By the script in the archive, with no module but Python's own (-I -S)."""
    script = kept / "data" / "database" / "load_tables.py"
    subprocess.run([sys.executable, "-I", "-S", script, kept, tmp_path / "made.db"], check=True)
    shutil.copytree(files.folder_of(small), files.folder_of(tmp_path / "made.db"))
    assert unlike(stored(small), stored(tmp_path / "made.db")) == []
    assert check(tmp_path / "made.db").damage == ()


def test_a_damaged_sqlite_file_is_made_again_of_the_tables(
    small: Path, kept: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    spoiled = copied(kept, tmp_path / "spoiled")
    flip(spoiled / DATA, 40_000)
    assert run(["restore", str(spoiled), str(tmp_path / "back.db")]) == 5
    said = capsys.readouterr().out
    assert "The database was made of its tables, which are whole and hold every row." in said
    assert f"{DATA} is not what was archived" in said
    assert unlike(stored(small), stored(tmp_path / "back.db")) == []


@pytest.mark.slow
def test_tables_of_others_stay_in_the_file_alone_and_are_told(
    small: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "c.db"
    shutil.copy(small, path)
    shutil.copytree(files.folder_of(small), files.folder_of(path))
    with closing(sqlite3.connect(path)) as db:
        db.execute("CREATE TABLE loans (object TEXT, due TEXT)")
        db.execute("INSERT INTO loans VALUES ('T1', '2031')")
        db.commit()
    assert run(["archive", str(path), str(tmp_path / "out")]) == 0
    assert "Tables that other programs made stand in the SQLite file alone: loans." in capsys.readouterr().out
    assert "alone: loans." in " ".join((tmp_path / "out" / "data" / "README.txt").read_text().split())
    restore(tmp_path / "out", tmp_path / "back.db")
    assert unlike(stored(path), stored(tmp_path / "back.db")) == []


@pytest.mark.slow
def test_a_new_database_with_nothing_in_it_goes_and_comes_back(db: Path, tmp_path: Path) -> None:
    report = archive(db, tmp_path / "out")
    assert (report.object_count, report.on) == (0, None)
    restore(tmp_path / "out", tmp_path / "back.db")
    assert unlike(stored(db), stored(tmp_path / "back.db")) == []


@pytest.mark.slow
def test_a_registrars_years_go_and_come_back(tmp_path: Path) -> None:
    years = registrars_years(tmp_path)
    archive(years, tmp_path / "out")
    restore(tmp_path / "out", tmp_path / "back.db")
    assert unlike(stored(years), stored(tmp_path / "back.db")) == []
    load_tables(tmp_path / "out" / "data", tmp_path / "made.db")
    shutil.copytree(files.folder_of(years), files.folder_of(tmp_path / "made.db"))
    assert unlike(stored(years), stored(tmp_path / "made.db")) == []


EVER = {
    **{
        sheet: SHEETS[sheet]
        for sheet in ("objects", "sources", "components", "zones", "drawings", "schemes", "samples", "layers")
    },
    "advice": "object,advice,what,given_on,place\nT1,V1,keep it dry,2016,Z1\n",
    "claims": "object,claim,statement,status,place\nT1,C1,a number lies under,untested,Z1\n",
}
"""What every version could hold."""


def of_version(newest: Path, version: int, path: Path) -> Path:
    """A database of an earlier version: its migrations alone, and of the newest what fits its tables."""
    with closing(sqlite3.connect(path, isolation_level=None)) as db:
        db.execute("BEGIN")
        for migration in packaged.migrations()[:version]:
            run_script(db, migration.text, migration.name)
            db.execute(
                "INSERT INTO migrations VALUES (?, ?, ?, '2026-11-01T10:00:00+00:00', '0.1')",
                (migration.version, migration.name, migration.sha256),
            )
        db.execute("COMMIT")
        db.execute(f"PRAGMA application_id = {APPLICATION_ID}")
        db.execute(f"PRAGMA user_version = {version}")
        db.execute("ATTACH ? AS newest", (str(newest),))
        db.execute("BEGIN")
        for name, kind in db.execute("SELECT name, type FROM pragma_table_list WHERE schema = 'main'").fetchall():
            # No version before 8 wrote into `risks`, which had other columns.
            if kind == "table" and not name.startswith("sqlite_") and name not in ("migrations", "risks"):
                names = ", ".join(f'"{row[1]}"' for row in db.execute(f'PRAGMA main.table_info("{name}")'))
                db.execute(f"INSERT INTO main.{name} ({names}) SELECT {names} FROM newest.{name} ORDER BY rowid")
        before = ""
        for (number,) in db.execute("SELECT number FROM changes ORDER BY number").fetchall():
            db.execute(
                "UPDATE changes SET content_sha256 = ?, previous_hash = ? WHERE number = ?",
                (chain.content_digest(db, number), before, number),
            )
            before = chain.chain_hash(chain.chained(db, number).fetchone())
            db.execute("UPDATE changes SET hash = ? WHERE number = ?", (before, number))
        db.execute("COMMIT")
        db.execute("INSERT INTO documents_fts (documents_fts) VALUES ('rebuild')")
    shutil.copytree(files.folder_of(newest), files.folder_of(path))
    return path


@pytest.fixture(scope="module")
def plain(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A survey, a correction and a withdrawal, which every version could hold."""
    folder = tmp_path_factory.mktemp("plain")
    database.create(folder / "plain.db")
    load.ingest(folder / "plain.db", coded_package(folder / "survey", sheets=EVER))
    corrections.correct(folder / "plain.db", "objects", "T1", {"maker": "N. N."}, BY, WHY)
    corrections.withdraw(folder / "plain.db", "claims", "T1/C1", BY, WHY)
    return folder / "plain.db"


@pytest.mark.slow
@pytest.mark.parametrize("version", range(1, packaged.newest_version()))
def test_an_archive_of_an_earlier_version_comes_back_as_it_was_and_migrates(
    version: int, plain: Path, kept: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """It is given back as it was put away; `migrate`, which keeps a copy, is said to be the next step."""
    old = of_version(plain, version, tmp_path / "old.db")
    assert check(old).damage == ()
    theirs = copied(kept, tmp_path / "theirs")
    shutil.rmtree(theirs / "data" / "database")
    shutil.rmtree(theirs / "data" / "tables")
    held = theirs / DATA
    held.parent.mkdir()
    shutil.copy(old, held)
    shutil.copytree(files.folder_of(old), files.folder_of(held))
    contents.put_tables(held, theirs / "data", About(Collection(), "of then", None, ()), lambda done, whole: None)
    sealed_again(theirs)
    assert run(["check", str(theirs)]) == 0
    assert run(["restore", str(theirs), str(tmp_path / "back.db")]) == 0
    assert f"Next: firstcoat migrate {tmp_path / 'back.db'}" in capsys.readouterr().out
    assert unlike(stored(old), stored(tmp_path / "back.db")) == []
    flip(held, 30_000)
    assert run(["restore", str(theirs), str(tmp_path / "made.db")]) == 5
    assert unlike(stored(old), stored(tmp_path / "made.db")) == []
    assert run(["migrate", str(tmp_path / "back.db")]) == 0
    assert run(["refresh", str(tmp_path / "back.db")]) == 0
    assert check(tmp_path / "back.db").damage == ()


@pytest.mark.slow
def test_an_archive_of_a_newer_version_is_refused(kept: Path, tmp_path: Path) -> None:
    newer = copied(kept, tmp_path / "newer")
    with closing(sqlite3.connect(newer / DATA)) as db:
        db.execute(f"PRAGMA user_version = {packaged.newest_version() + 1}")
    sealed_again(newer)
    with pytest.raises(CouldNot, match="Install a newer firstcoat"):
        restore(newer, tmp_path / "back.db")
    assert not list(tmp_path.glob("*back*"))


PLAYED = given(st.data(), object_rows(), st.lists(st.sampled_from(ACTS), min_size=1, max_size=6))


@pytest.mark.slow
@settings(max_examples=max(settings().max_examples // 4, 1))
@PLAYED
def test_whatever_stands_in_a_collection_goes_through_the_tables(
    tmp_path_factory: pytest.TempPathFactory, data: st.DataObject, rows: list[Record], acts: list[object]
) -> None:
    """Odd characters, long texts, dates, extreme numbers, blanks and empty tables, corrected, withdrawn, renamed."""
    room = tmp_path_factory.mktemp("tables")
    path = played(room, data, rows, acts)
    (room / "data").mkdir()
    with database.opened(path, write=False) as db:
        copy = contents.put_database(db, path, room / "data", lambda what: lambda done, whole: None)
    contents.put_tables(copy, room / "data", About(Collection(), "of then", None, ()), lambda done, whole: None)
    load_tables(room / "data", room / "made.db")
    shutil.copytree(files.folder_of(path), files.folder_of(room / "made.db"))
    assert unlike(stored(path), stored(room / "made.db")) == []
    assert check(room / "made.db").damage == ()
    shutil.rmtree(room)


@pytest.mark.slow
@settings(max_examples=max(settings().max_examples // 12, 1), phases=[Phase.explicit, Phase.generate])
@PLAYED
def test_whatever_stands_in_a_collection_is_archived_and_comes_back(
    tmp_path_factory: pytest.TempPathFactory, data: st.DataObject, rows: list[Record], acts: list[object]
) -> None:
    room = tmp_path_factory.mktemp("archive")
    path = played(room, data, rows, acts)
    archive(path, room / "out", processes=1)
    assert check_archive(room / "out").damage == ()
    restore(room / "out", room / "back.db")
    assert unlike(stored(path), stored(room / "back.db")) == []
    shutil.rmtree(room)


def played(room: Path, data: st.DataObject, rows: list[Record], acts: list[object]) -> Path:
    path = room / "play.db"
    database.create(path)
    play = Play(path, rows)
    try:
        for act in acts:
            act(play, data)  # type: ignore[operator]
    finally:
        database.close(play.db)
    return path
