"""The frozen schema against the records it was made from, the runner of migrations, and SQLite's measured traps."""

from __future__ import annotations

import csv
import hashlib
import re
import shutil
import sqlite3
import subprocess
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import killed_at
import pytest

from collection.language.errors import CouldNot, DamageFound, OurFault
from collection.records.sheets import BY_SHEET, SHEETS
from collection.store.base import database as opening
from collection.store.schema import ddl, dictionary, freeze, guards, migrate
from collection.store.schema import packaged as shipped
from collection.store.schema.reference_tables import REFERENCE
from collection.store.schema.tables import HANGS_ON, record_table, record_tables
from collection.values import resources

SCHEMA = Path(__file__).resolve().parents[2] / "schema"


def schema_of(db: sqlite3.Connection) -> dict[tuple[str, str], str]:
    return {
        (kind, name): sql
        for kind, name, sql in db.execute("SELECT type, name, sql FROM sqlite_master WHERE name NOT LIKE 'sqlite_%'")
    }


@pytest.fixture(scope="module")
def fresh() -> sqlite3.Connection:
    """The schema as the records give it, made by SQLite's own script runner and not by ours."""
    db = sqlite3.connect(":memory:")
    db.executescript(ddl.schema_sql())
    db.executescript(guards.guards_sql())
    return db


@pytest.fixture
def database(tmp_path: Path) -> Path:
    path = tmp_path / "collection.db"
    opening.create(path)
    return path


# ---------------------------------------------------------------- frozen = generated


def test_frozen_files_are_what_the_records_give():
    assert (SCHEMA / "guards.sql").read_text(encoding="utf-8") == guards.guards_sql()
    assert (SCHEMA / "dictionary.csv").read_text(encoding="utf-8") == dictionary.as_csv()
    assert (SCHEMA / "CHECKSUMS").read_text(encoding="utf-8") == freeze.checksums(SCHEMA / "migrations")


def test_checksums_are_those_that_other_tools_compute():
    """`sha256sum -c`, of coreutils, agrees with our list."""
    tool = shutil.which("sha256sum")
    if tool is None:
        pytest.skip("sha256sum is not installed")
    ran = subprocess.run([tool, "--strict", "-c", "CHECKSUMS"], cwd=SCHEMA, capture_output=True, text=True, check=False)
    assert ran.returncode == 0, ran.stdout + ran.stderr


def test_a_migrated_file_has_the_generated_schema(database: Path, fresh: sqlite3.Connection):
    with opening.opened(database, write=False) as db:
        migrated = schema_of(db)
    assert migrated.keys() == schema_of(fresh).keys()
    assert migrated == schema_of(fresh)


def test_every_sheet_has_its_table_guards_and_view(fresh: sqlite3.Connection):
    made = schema_of(fresh)
    for record in SHEETS:
        assert ("view", f"live_{record.table}") in made
        for guard in ("no_delete", "no_overwrite", "history"):
            assert ("trigger", f"{record.table}_{guard}") in made
        names = [row[1] for row in fresh.execute(f"PRAGMA table_info({record.table})")]
        assert names == [column.name for column in record_table(record).columns]
        strict = fresh.execute("SELECT strict FROM pragma_table_list WHERE name = ?", (record.table,)).fetchone()
        assert strict == (1,)


def test_views_can_be_read(fresh: sqlite3.Connection):
    for kind, name in schema_of(fresh):
        if kind == "view":
            assert fresh.execute(f"SELECT * FROM {name}").fetchall() == []


def test_what_a_row_hangs_on_is_a_reference_of_its_sheet():
    assert HANGS_ON.keys() == BY_SHEET.keys() - {"survey", "objects"}
    for sheet, names in HANGS_ON.items():
        assert all(BY_SHEET[sheet].column(name).reference for name in names)


# ---------------------------------------------------------------- the dictionary


def test_every_table_and_column_is_described(database: Path):
    """Also inside the file, so that it explains itself to someone who has nothing else."""
    with opening.opened(database, write=False) as db:
        real: set[tuple[str, str]] = set()
        for kind, name in db.execute(
            "SELECT type, name FROM sqlite_master WHERE type IN ('table', 'view') "
            "AND name NOT LIKE 'sqlite_%' AND name NOT LIKE 'documents_fts_%'"
        ):
            real.add((name, ""))
            if kind == "table" and name != "documents_fts":
                real |= {(name, row[1]) for row in db.execute(f"PRAGMA table_info({name})")}
        described = set(db.execute("SELECT table_name, column_name FROM dictionary"))
    assert real - described == set(), "not described"
    assert described - real == set(), "described and not there"


def test_every_description_is_a_real_one():
    """Two words or a word that is not the name; no table says one thing of two of its columns."""
    for table, column, meaning, _unit, kind, words, _reference, _private, source in dictionary.rows():
        assert meaning.strip() == meaning
        assert len(meaning) >= 3
        assert meaning.casefold().replace(" ", "_") != column
        assert not re.search(r"\b(todo|tbd|fixme|xxx)\b", meaning, re.I), (table, column)
        assert source.strip()
        if kind == "word":
            assert words, (table, column)
    for record in record_tables():
        meanings = [c.meaning for c in record.columns]
        assert len(set(meanings)) == len(meanings), record.name


def test_units_lists_and_privacy_are_those_of_the_records():
    rows = {(t, c): (unit, words, private) for t, c, _, unit, _, words, _, private, _ in dictionary.rows()}
    for record in SHEETS:
        for column in record.columns():
            expected = (column.unit, "|".join(column.words.words) if column.words else None, int(column.private))
            assert rows[record.table, column.name] == expected
    assert rows["layers", "gloss_gu"][0] == "GU at 60°"
    assert rows["objects", "owner"][2] == 1


def test_the_dictionary_in_the_file_is_the_one_beside_it(database: Path):
    with (SCHEMA / "dictionary.csv").open(encoding="utf-8", newline="") as file:
        beside = [tuple(cell or None for cell in row) for row in list(csv.reader(file))[1:]]
    with opening.opened(database, write=False) as db:
        inside = [
            tuple(None if cell in (None, "") else str(cell) for cell in row)
            for row in db.execute("SELECT * FROM dictionary ORDER BY rowid")
        ]
    assert inside == beside


@pytest.mark.parametrize("file", REFERENCE)
def test_reference_tables_hold_the_packaged_values(database: Path, file: str):
    table = REFERENCE[file]
    with resources.schema_file(f"reference/{file}").open(encoding="utf-8", newline="") as text:
        packaged = list(csv.DictReader(text))
    with opening.opened(database, write=False) as db:
        stored = [
            dict(zip([c.name for c in table.columns], row, strict=True))
            for row in db.execute(f"SELECT {', '.join(c.name for c in table.columns)} FROM {table.name} ORDER BY rowid")
        ]
    assert len(stored) == len(packaged)
    for ours, theirs in zip(stored, packaged, strict=True):
        assert ours.keys() == theirs.keys()
        for name, cell in theirs.items():
            value = ours[name]
            assert (value in (None, "")) if cell == "" else (value == cell or value == float(cell)), (name, cell, value)


# ---------------------------------------------------------------- the traps that were measured on SQLite 3.40.1


def test_closed_lists_are_or_chains(fresh: sqlite3.Connection):
    """CHECK (x IN (…)) builds its list anew for every row of executemany and cost 78 % of a load; SQLite's
    own program for the insert shows whether it does."""
    unguarded = sqlite3.connect(":memory:")
    unguarded.executescript(ddl.schema_sql())
    for record in SHEETS:
        names = [c.name for c in record_table(record).columns]
        program = [
            row[1]
            for row in unguarded.execute(
                f"EXPLAIN INSERT INTO {record.table} ({', '.join(names)}) VALUES ({', '.join('?' * len(names))})",
                [None] * len(names),
            )
        ]
        assert "OpenEphemeral" not in program, record.table
        assert " IN (" not in schema_of(fresh)["table", record.table]


def test_the_test_above_would_notice_a_list():
    db = sqlite3.connect(":memory:")
    db.execute("CREATE TABLE t (role TEXT CHECK (role IN ('a', 'b', 'c', 'd')))")
    assert "OpenEphemeral" in [row[1] for row in db.execute("EXPLAIN INSERT INTO t VALUES (?)", ("a",))]


def test_numbers_keep_17_digits_where_json_functions_keep_15(fresh: sqlite3.Connection):
    third = 0.1 + 0.2
    assert float(fresh.execute("SELECT json_quote(?)", (third,)).fetchone()[0]) != third
    assert float(fresh.execute("SELECT printf('%!.17g', ?)", (third,)).fetchone()[0]) == third


def test_every_number_is_written_to_the_history_by_printf():
    for table in record_tables():
        record = next(r for r in SHEETS if r.table == table.name)
        sql = guards.record_guards(record)
        for column in table.columns:
            form = "printf('%!.17g', OLD.{})" if column.sql.startswith("REAL") else "json_quote(OLD.{})"
            assert form.format(column.name) in sql


def test_infinity_is_refused_and_nan_would_be_null(fresh: sqlite3.Connection):
    """x > 0 lets infinity through, BETWEEN does not; NaN becomes NULL on binding, so it must be caught before."""
    found = fresh.execute("SELECT 9e999 > 0, 9e999 BETWEEN 0 AND 100, ? IS NULL", (float("nan"),)).fetchone()
    assert found == (1, 0, 1)
    bounded = [c for table in record_tables() for c in table.columns if c.sql.startswith("REAL")]
    assert bounded
    assert all(" BETWEEN " in c.sql and "inf" not in c.sql for c in bounded)


# ---------------------------------------------------------------- the runner

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


def writable(path: Path) -> opening.Database:
    return opening.connect(path, write=True, any_version=True)


def test_create_leaves_one_file_that_names_itself(database: Path):
    assert sorted(p.name for p in database.parent.iterdir()) == [database.name]
    raw = database.read_bytes()[:100]
    assert raw[68:72] == b"fct1"
    assert int.from_bytes(raw[60:64]) == shipped.newest_version()
    db = sqlite3.connect(database)
    assert db.execute("PRAGMA journal_mode").fetchone() == ("wal",)
    assert db.execute("SELECT version, name, sha256 FROM migrations").fetchall() == [
        (m.version, m.name, m.sha256) for m in shipped.migrations()
    ]
    db.close()


def test_a_migration_is_applied_with_a_backup_and_guards_again(database: Path):
    """The rebuilt table loses its triggers; the runner brings all of them back."""
    columns = ", ".join(c.name for c in record_table(BY_SHEET["reserves"]).columns)
    rebuilt = schema_text("reserves").replace("CREATE TABLE reserves", "CREATE TABLE reserves_new")
    text = (
        f"-- a rebuilt table; with a semicolon in a comment\n{rebuilt};\n"
        f"INSERT INTO reserves_new ({columns}) SELECT {columns} FROM reserves;\nDROP VIEW live_reserves;\n"
        "DROP TABLE reserves;\nALTER TABLE reserves_new RENAME TO reserves;\n"
        f"{schema_text('live_reserves', 'view')};\n{schema_text('reserves_withdrawn', 'index')};\n"
    )
    before = database.read_bytes()
    db = writable(database)
    triggers = {name for (kind, name) in schema_of(db) if kind == "trigger"}
    report = migrate.upgrade(db, later(text))
    assert (report.before, report.after, report.applied) == (NEWEST, NEXT, (f"{NEXT:04d}_later.sql",))
    assert {name for (kind, name) in schema_of(db) if kind == "trigger"} == triggers
    assert db.execute("PRAGMA user_version").fetchone() == (NEXT,)
    assert db.execute("PRAGMA foreign_keys").fetchone() == (1,)
    opening.close(db)
    assert report.backup is not None
    kept = sqlite3.connect(report.backup)
    assert kept.execute("PRAGMA user_version").fetchone() == (NEWEST,)
    assert kept.execute("PRAGMA integrity_check").fetchone() == ("ok",)
    assert kept.execute("SELECT count(*) FROM dictionary").fetchone()[0] == len(dictionary.rows())
    kept.close()
    assert len(report.backup.read_bytes()) == len(before)
    assert not list(database.parent.glob("*.partial"))


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
def test_a_migration_that_fails_leaves_nothing(database: Path, text: str, said: str):
    db = writable(database)
    before = schema_of(db)
    with pytest.raises(OurFault, match=said):
        migrate.upgrade(db, later(text))
    assert not db.in_transaction
    assert schema_of(db) == before
    assert db.execute("PRAGMA user_version").fetchone() == (NEWEST,)
    opening.close(db)


def test_a_migration_that_breaks_a_reference_leaves_nothing(database: Path):
    db = writable(database)
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
    opening.close(db)


def test_statements_are_split_where_sqlite_sees_their_end():
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


def test_migrations_have_to_be_listed_whole_and_without_gap(tmp_path: Path):
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


def test_an_altered_or_forgotten_migration_is_noticed(database: Path):
    db = writable(database)
    first, *others = shipped.migrations()
    with pytest.raises(DamageFound, match="migration 0001"):
        migrate.upgrade(db, (replace(first, sha256="f" * 64), *others))
    opening.close(db)


def test_a_newer_database_is_refused(database: Path):
    db = sqlite3.connect(database)
    db.execute("PRAGMA user_version = 99")
    db.close()
    before = database.read_bytes()
    with pytest.raises(CouldNot, match="version 99"):
        migrate.migrate(database)
    with pytest.raises(CouldNot, match="newer firstcoat"):
        opening.connect(database, write=False)
    assert database.read_bytes() == before


def test_an_older_database_asks_for_migrate(database: Path, monkeypatch: pytest.MonkeyPatch):
    known = later("CREATE TABLE later (x TEXT) STRICT;")
    monkeypatch.setattr(shipped, "migrations", lambda: known)
    with pytest.raises(CouldNot, match="firstcoat migrate"):
        opening.connect(database, write=False)
    report = migrate.migrate(database)
    assert report.after == NEXT
    assert f"from schema version {NEWEST} to {NEXT}" in report.sentence()
    opening.connect(database, write=False).close()
    again = migrate.migrate(database)
    assert (again.applied, again.backup) == ((), None)


def test_two_backups_of_one_version_do_not_replace_each_other(database: Path):
    first = migrate._back_up(writable(database), database, 1)
    second = migrate._back_up(writable(database), database, 1)
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


def test_a_kill_leaves_the_version_before_or_after(database: Path, tmp_path: Path):
    """Killed at moments spread over the whole run; whatever is left opens, is whole, and can be migrated."""
    whole = killed_at.calls(MIGRATED, shutil.copy(database, tmp_path / "whole.db"), FILLER, str(NEXT))
    seen = []
    for moment in killed_at.moments(whole, 8):
        path = shutil.copy(database, tmp_path / f"killed{moment}.db")
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
