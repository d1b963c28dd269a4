"""The runner of migrations: all of one or nothing, with a copy kept, whatever fails and whenever it is killed."""

from __future__ import annotations

import hashlib
import shutil
import sqlite3
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import killed_at
import pytest

from collection.language.errors import CouldNot, DamageFound, OurFault
from collection.records.sheets import BY_SHEET
from collection.store.base import database
from collection.store.schema import ddl, dictionary, freeze, guards, migrate
from collection.store.schema import packaged as shipped
from collection.store.schema.tables import record_table


def schema_of(db: sqlite3.Connection) -> dict[tuple[str, str], str]:
    return {
        (kind, name): sql
        for kind, name, sql in db.execute("SELECT type, name, sql FROM sqlite_master WHERE name NOT LIKE 'sqlite_%'")
    }


@pytest.fixture
def new_db(tmp_path: Path) -> Path:
    path = tmp_path / "collection.db"
    database.create(path)
    return path


NEWEST = shipped.newest_version()
NEXT = NEWEST + 1
FIRST = "CREATE TABLE things (code TEXT PRIMARY KEY, n INTEGER) STRICT;\n"


def runner_schema(folder: Path, **files: str) -> tuple[shipped.Migration, ...]:
    (folder / "migrations").mkdir(parents=True, exist_ok=True)
    for name, text in files.items():
        (folder / "migrations" / f"{name.removeprefix('m')}.sql").write_text(text)
    (folder / "CHECKSUMS").write_text(freeze.checksums(folder / "migrations"))
    return shipped.read_migrations(folder)


def later(text: str, version: int = NEXT) -> tuple[shipped.Migration, ...]:
    """The packaged migrations and one more."""
    return (
        *shipped.migrations(),
        shipped.Migration(version, f"{version:04d}_later.sql", text, hashlib.sha256(text.encode()).hexdigest()),
    )


def writable(path: Path) -> database.Database:
    return database.connect(path, write=True, any_version=True)


def test_only_the_newest_migration_may_still_change(tmp_path: Path) -> None:
    runner_schema(tmp_path, m0001_first=FIRST, m0002_second="CREATE TABLE more (x TEXT) STRICT;\n")
    newest = tmp_path / "migrations" / "0002_second.sql"
    newest.write_text("CREATE TABLE more (y TEXT) STRICT;\n")
    with pytest.raises(OurFault, match=r"0002_second.sql is not what CHECKSUMS lists.*in a checkout.*freeze"):
        shipped.read_migrations(tmp_path)
    freeze.freeze(tmp_path)
    assert len(shipped.read_migrations(tmp_path)) == 2
    (tmp_path / "migrations" / "0003_third.sql").write_text("CREATE TABLE third (x TEXT) STRICT;\n")
    with pytest.raises(OurFault, match=r"0003_third.sql is not in CHECKSUMS: run `python -m"):
        shipped.read_migrations(tmp_path)
    newest.write_text("CREATE TABLE more (z TEXT) STRICT;\n")
    before = (tmp_path / "CHECKSUMS").read_text()
    with pytest.raises(ValueError, match=r"0002_second.sql: a migration that has landed is never altered"):
        freeze.freeze(tmp_path)
    assert (tmp_path / "CHECKSUMS").read_text() == before


def test_create_leaves_one_file_that_names_itself(new_db: Path) -> None:
    assert sorted(p.name for p in new_db.parent.iterdir()) == [new_db.name]
    raw = new_db.read_bytes()[:100]
    assert raw[68:72] == b"fct1"
    assert int.from_bytes(raw[60:64]) == shipped.newest_version()
    db = sqlite3.connect(new_db)
    assert db.execute("PRAGMA journal_mode").fetchone() == ("wal",)
    assert db.execute("SELECT version, name, sha256 FROM migrations").fetchall() == [
        (m.version, m.name, m.sha256) for m in shipped.migrations()
    ]
    db.close()


def test_a_migration_is_applied_with_a_backup_and_guards_again(new_db: Path) -> None:
    """The rebuilt table loses its triggers; the runner brings all of them back."""
    columns = ", ".join(c.name for c in record_table(BY_SHEET["reserves"]).columns)
    rebuilt = schema_text("reserves").replace("CREATE TABLE reserves", "CREATE TABLE reserves_new")
    text = (
        f"-- a rebuilt table; with a semicolon in a comment\n{rebuilt};\n"
        f"INSERT INTO reserves_new ({columns}) SELECT {columns} FROM reserves;\nDROP VIEW live_reserves;\n"
        "DROP TABLE reserves;\nALTER TABLE reserves_new RENAME TO reserves;\n"
        f"{schema_text('live_reserves', 'view')};\n{schema_text('reserves_withdrawn', 'index')};\n"
    )
    before = new_db.read_bytes()
    db = writable(new_db)
    triggers = {name for (kind, name) in schema_of(db) if kind == "trigger"}
    report = migrate.upgrade(db, later(text))
    assert (report.before, report.after, report.applied) == (NEWEST, NEXT, (f"{NEXT:04d}_later.sql",))
    assert {name for (kind, name) in schema_of(db) if kind == "trigger"} == triggers
    assert db.execute("PRAGMA user_version").fetchone() == (NEXT,)
    assert db.execute("PRAGMA foreign_keys").fetchone() == (1,)
    database.close(db)
    assert report.backup is not None
    kept = sqlite3.connect(report.backup)
    assert kept.execute("PRAGMA user_version").fetchone() == (NEWEST,)
    assert kept.execute("PRAGMA integrity_check").fetchone() == ("ok",)
    assert kept.execute("SELECT count(*) FROM dictionary").fetchone()[0] == len(dictionary.rows())
    kept.close()
    assert len(report.backup.read_bytes()) == len(before)
    assert not list(new_db.parent.glob("*.partial"))


def schema_text(name: str, kind: str = "table") -> str:
    db = sqlite3.connect(":memory:")
    db.executescript(ddl.schema_sql())
    return schema_of(db)[kind, name]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("CREATE TABLE a (x TEXT) STRICT; COMMIT; CREATE TABLE b (x TEXT) STRICT;", "does not run"),
        ("CREATE TABLE a (x TEXT) STRICT; SAVEPOINT s;", "does not run"),
        ("CREATE TABLE a (x TEXT) STRICT; ATTACH 'other.db' AS other;", "does not run"),
        ("CREATE TABLE a (x TEXT) STRICT; CREATE TABLE a (x TEXT) STRICT;", "does not run"),
        ("CREATE TABLE a (x TEXT) STRICT; CREATE TABLE b (", "middle of a statement"),
    ],
)
def test_a_migration_that_fails_leaves_nothing(new_db: Path, text: str, said: str) -> None:
    db = writable(new_db)
    before = schema_of(db)
    with pytest.raises(OurFault, match=said):
        migrate.upgrade(db, later(text))
    assert not db.in_transaction
    assert schema_of(db) == before
    assert db.execute("PRAGMA user_version").fetchone() == (NEWEST,)
    database.close(db)


def test_a_migration_that_breaks_a_reference_leaves_nothing(new_db: Path) -> None:
    db = writable(new_db)
    with pytest.raises(DamageFound, match="points to a row"):
        migrate.upgrade(
            db,
            later(
                "DROP TRIGGER packages_no_overwrite; "
                "INSERT INTO packages (sha256, survey, name, change) "
                f"VALUES ('{'0' * 64}', 'none', 'x', 9);"
            ),
        )
    assert db.execute("SELECT count(*) FROM packages").fetchone() == (0,)
    database.close(db)


def test_statements_are_split_where_sqlite_sees_their_end() -> None:
    script = (
        "-- one; comment\nCREATE TABLE a (x TEXT DEFAULT ';');\n/* two; */ CREATE TRIGGER t AFTER INSERT ON a "
        "BEGIN SELECT 1; SELECT ';'; END;\nINSERT INTO a VALUES ('it''s; so');  -- end\n"
    )
    found = list(shipped.statements(script, "x"))
    assert len(found) == 3
    db = sqlite3.connect(":memory:")
    for statement in found:
        db.execute(statement)
    assert db.execute("SELECT x FROM a").fetchall() == [("it's; so",)]


def test_migrations_have_to_be_listed_whole_and_without_gap(tmp_path: Path) -> None:
    assert [m.version for m in runner_schema(tmp_path / "a", m0001_first=FIRST, m0002_second=FIRST)] == [1, 2]
    with pytest.raises(OurFault, match="without a gap"):
        runner_schema(tmp_path / "b", m0001_first=FIRST, m0003_third=FIRST)
    with pytest.raises(OurFault, match="not named like"):
        runner_schema(tmp_path / "c", m0001_first=FIRST, m2_second=FIRST)
    runner_schema(tmp_path / "d", m0001_first=FIRST)
    (tmp_path / "d" / "migrations" / "0001_first.sql").write_text(FIRST + " ")
    with pytest.raises(OurFault, match="not what CHECKSUMS lists"):
        shipped.read_migrations(tmp_path / "d")
    runner_schema(tmp_path / "e", m0001_first=FIRST, m0002_second=FIRST)
    (tmp_path / "e" / "migrations" / "0002_second.sql").unlink()
    with pytest.raises(OurFault, match="without a gap"):
        shipped.read_migrations(tmp_path / "e")


def test_an_altered_or_forgotten_migration_is_noticed(new_db: Path) -> None:
    db = writable(new_db)
    first, *others = shipped.migrations()
    with pytest.raises(DamageFound, match="migration 0001"):
        migrate.upgrade(db, (replace(first, sha256="f" * 64), *others))
    database.close(db)


def test_a_newer_database_is_refused(new_db: Path) -> None:
    db = sqlite3.connect(new_db)
    db.execute("PRAGMA user_version = 99")
    db.close()
    before = new_db.read_bytes()
    with pytest.raises(CouldNot, match="version 99"):
        database.migrate(new_db)
    with pytest.raises(CouldNot, match="newer firstcoat"):
        database.connect(new_db, write=False)
    assert new_db.read_bytes() == before


def test_an_older_database_asks_for_migrate(new_db: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    known = later("CREATE TABLE later (x TEXT) STRICT;")
    monkeypatch.setattr(shipped, "migrations", lambda: known)
    with pytest.raises(CouldNot, match="firstcoat migrate"):
        database.connect(new_db, write=False)
    report = database.migrate(new_db)
    assert report.after == NEXT
    assert f"from schema version {NEWEST} to {NEXT}" in report.sentence()
    database.connect(new_db, write=False).close()
    again = database.migrate(new_db)
    assert (again.applied, again.backup) == ((), None)


def test_two_backups_of_one_version_do_not_replace_each_other(new_db: Path) -> None:
    first = migrate._back_up(writable(new_db), new_db, 1)
    second = migrate._back_up(writable(new_db), new_db, 1)
    assert first != second
    assert first.exists()
    assert second.exists()


MIGRATED = """
from hashlib import sha256
from pathlib import Path
from collection.store.base import database
from collection.store.schema import migrate, packaged
def work(path, text, version):
    added = packaged.Migration(int(version), "later.sql", text, sha256(text.encode()).hexdigest())
    db = database.connect(Path(path), write=True, any_version=True)
    migrate.upgrade(db, (*packaged.migrations(), added))
    database.close(db)
"""
FILLER = "".join(f"CREATE TABLE filler_{i} (a TEXT, b TEXT) STRICT;\n" for i in range(400))


@pytest.mark.slow
def test_a_kill_leaves_the_version_before_or_after(new_db: Path, tmp_path: Path) -> None:
    """Killed at moments spread over the whole run; whatever is left opens, is whole, and can be migrated."""
    whole = killed_at.calls(MIGRATED, shutil.copy(new_db, tmp_path / "whole.db"), FILLER, str(NEXT))
    seen = []
    for moment in killed_at.moments(whole, 8):
        path = Path(shutil.copy(new_db, tmp_path / f"killed{moment}.db"))
        killed_at.kill(MIGRATED, path, FILLER, str(NEXT), at=moment)
        with closing(sqlite3.connect(path)) as db:
            version = db.execute("PRAGMA user_version").fetchone()[0]
            fillers = db.execute("SELECT count(*) FROM sqlite_master WHERE name GLOB 'filler_*'").fetchone()[0]
            assert (version, fillers) in {(NEWEST, 0), (NEXT, 400)}
            assert db.execute("PRAGMA integrity_check").fetchone() == ("ok",)
            assert db.execute("SELECT count(*) FROM migrations").fetchone() == (version,)
            triggers = db.execute("SELECT count(*) FROM sqlite_master WHERE type = 'trigger'").fetchone()[0]
            assert triggers == guards.guards_sql().count("CREATE TRIGGER")
        if version == NEWEST:
            with closing(writable(path)) as again:
                assert migrate.upgrade(again, later("CREATE TABLE later (x TEXT) STRICT;")).after == NEXT
        seen.append(version)
    assert seen == sorted(seen)
    assert set(seen) == {NEWEST, NEXT}
