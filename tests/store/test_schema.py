"""The frozen schema against the records it was made from, and SQLite's measured traps."""

from __future__ import annotations

import csv
import io
import re
import shutil
import sqlite3
import subprocess
from collections.abc import Callable
from pathlib import Path

import pytest

from collection.records.sheets import BY_SHEET, SHEETS
from collection.store.base import database
from collection.store.schema import ddl, dictionary, draft, freeze, guards
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
def new_db(tmp_path: Path) -> Path:
    path = tmp_path / "collection.db"
    database.create(path)
    return path


# ---------------------------------------------------------------- frozen = generated


def first_difference(frozen: str, given: str) -> str:
    """The first line that two texts do not share, as each has it."""
    ours, theirs = frozen.splitlines(), given.splitlines()
    at = next(
        (n for n, pair in enumerate(zip(ours, theirs, strict=False)) if pair[0] != pair[1]), min(len(ours), len(theirs))
    )
    return f"line {at + 1} is {' '.join(ours[at : at + 1])!r}, and the records give {' '.join(theirs[at : at + 1])!r}"


@pytest.mark.parametrize(
    ("name", "given"),
    [
        ("guards.sql", guards.guards_sql),
        ("dictionary.csv", dictionary.as_csv),
        ("CHECKSUMS", lambda: freeze.checksums(SCHEMA / "migrations")),
    ],
)
def test_frozen_files_are_what_the_records_give(name: str, given: Callable[[], str]) -> None:
    frozen, text = (SCHEMA / name).read_text(encoding="utf-8"), given()
    same = frozen == text
    assert same, f"Run `{freeze.COMMAND}`: in schema/{name} {first_difference(frozen, text)}"


def test_checksums_are_those_that_other_tools_compute() -> None:
    """`sha256sum -c`, of coreutils, agrees with our list."""
    tool = shutil.which("sha256sum")
    if tool is None:
        pytest.skip("sha256sum is not installed")
    ran = subprocess.run([tool, "--strict", "-c", "CHECKSUMS"], cwd=SCHEMA, capture_output=True, text=True, check=False)
    assert ran.returncode == 0, ran.stdout + ran.stderr


def test_the_migrations_make_what_the_records_say() -> None:
    assert draft.asked_for(SCHEMA) == ""


def test_a_migrated_file_has_the_generated_schema(new_db: Path, fresh: sqlite3.Connection) -> None:
    """With its triggers, and made by our runner."""
    with database.opened(new_db, write=False) as db:
        migrated = schema_of(db)
    assert migrated.keys() == schema_of(fresh).keys()
    assert migrated == schema_of(fresh)


def test_every_sheet_has_its_table_guards_and_view(fresh: sqlite3.Connection) -> None:
    made = schema_of(fresh)
    for record in SHEETS:
        assert ("view", f"live_{record.table}") in made
        for guard in ("no_delete", "no_overwrite", "history"):
            assert ("trigger", f"{record.table}_{guard}") in made
        names = [row[1] for row in fresh.execute(f"PRAGMA table_info({record.table})")]
        assert names == [column.name for column in record_table(record).columns]
        strict = fresh.execute("SELECT strict FROM pragma_table_list WHERE name = ?", (record.table,)).fetchone()
        assert strict == (1,)


def test_views_can_be_read(fresh: sqlite3.Connection) -> None:
    for kind, name in schema_of(fresh):
        if kind == "view":
            assert fresh.execute(f"SELECT * FROM {name}").fetchall() == []


def test_what_a_row_hangs_on_is_a_reference_of_its_sheet() -> None:
    assert HANGS_ON.keys() == BY_SHEET.keys() - {"survey", "objects"}
    for sheet, names in HANGS_ON.items():
        assert all(BY_SHEET[sheet].column(name).reference for name in names)


# ---------------------------------------------------------------- the dictionary


def test_every_table_and_column_is_described(new_db: Path) -> None:
    """Also inside the file, so that it explains itself to someone who has nothing else."""
    with database.opened(new_db, write=False) as db:
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


def test_every_description_is_a_real_one() -> None:
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


def test_units_lists_and_privacy_are_those_of_the_records() -> None:
    rows = {(t, c): (unit, words, private) for t, c, _, unit, _, words, _, private, _ in dictionary.rows()}
    for record in SHEETS:
        for column in record.columns():
            expected = (column.unit, "|".join(column.words.words) if column.words else None, int(column.private))
            assert rows[record.table, column.name] == expected
    assert rows["layers", "gloss_gu"][0] == "GU at 60°"
    assert rows["objects", "owner"][2] == 1


def test_the_dictionary_in_the_file_is_the_one_beside_it(new_db: Path) -> None:
    with (SCHEMA / "dictionary.csv").open(encoding="utf-8", newline="") as file:
        beside = [tuple(cell or None for cell in row) for row in list(csv.reader(file))[1:]]
    with database.opened(new_db, write=False) as db:
        inside = [
            tuple(None if cell in (None, "") else str(cell) for cell in row)
            for row in db.execute("SELECT * FROM dictionary ORDER BY rowid")
        ]
    assert inside == beside


@pytest.mark.parametrize("file", REFERENCE)
def test_reference_tables_hold_the_packaged_values(new_db: Path, file: str) -> None:
    table = REFERENCE[file]
    text = resources.schema_file(f"reference/{file}").read_bytes().decode("utf-8")
    packaged = list(csv.DictReader(io.StringIO(text, newline="")))
    with database.opened(new_db, write=False) as db:
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


def test_closed_lists_are_or_chains(fresh: sqlite3.Connection) -> None:
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


def test_the_test_above_would_notice_a_list() -> None:
    db = sqlite3.connect(":memory:")
    db.execute("CREATE TABLE t (role TEXT CHECK (role IN ('a', 'b', 'c', 'd')))")
    assert "OpenEphemeral" in [row[1] for row in db.execute("EXPLAIN INSERT INTO t VALUES (?)", ("a",))]


def test_numbers_keep_17_digits_where_json_functions_keep_15(fresh: sqlite3.Connection) -> None:
    third = 0.1 + 0.2
    assert float(fresh.execute("SELECT json_quote(?)", (third,)).fetchone()[0]) != third
    assert float(fresh.execute("SELECT printf('%!.17g', ?)", (third,)).fetchone()[0]) == third


def test_every_number_is_written_to_the_history_by_printf() -> None:
    for table in record_tables():
        record = next(r for r in SHEETS if r.table == table.name)
        sql = guards.record_guards(record)
        for column in table.columns:
            form = "printf('%!.17g', OLD.{})" if column.sql.startswith("REAL") else "json_quote(OLD.{})"
            assert form.format(column.name) in sql


def test_infinity_is_refused_and_nan_would_be_null(fresh: sqlite3.Connection) -> None:
    """x > 0 lets infinity through, BETWEEN does not; NaN becomes NULL on binding, so it must be caught before."""
    found = fresh.execute("SELECT 9e999 > 0, 9e999 BETWEEN 0 AND 100, ? IS NULL", (float("nan"),)).fetchone()
    assert found == (1, 0, 1)
    bounded = [c for table in record_tables() for c in table.columns if c.sql.startswith("REAL")]
    assert bounded
    assert all(" BETWEEN " in c.sql and "inf" not in c.sql for c in bounded)
