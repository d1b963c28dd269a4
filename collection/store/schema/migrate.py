"""Brings a database to the newest version: plain SQL, all of it or nothing, with the old file kept beside it.

The runner begins and ends the one transaction; a migration can neither end it nor reach another file. Foreign keys are
off while tables are rebuilt, and checked before the end. The guards are made again each time, because a rebuilt table
has lost its triggers.
"""

from __future__ import annotations

import sqlite3
import textwrap
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import collection
from collection.language.errors import CouldNot, DamageFound, OurFault
from collection.store.schema import packaged
from collection.store.schema.database_copy import copy_database
from collection.store.schema.dictionary import COLUMNS
from collection.store.schema.packaged import Migration
from collection.store.schema.tables import Table

APPLICATION_ID = 0x66637431
"""Says that a file is a firstcoat database; SQLite keeps it in the header."""
AGAINST_SINCE = 2
"""The version of the schema since which advice says what it speaks against."""
FIRST_WORDS = 60
FORBIDDEN = frozenset(
    {sqlite3.SQLITE_TRANSACTION, sqlite3.SQLITE_SAVEPOINT, sqlite3.SQLITE_ATTACH, sqlite3.SQLITE_DETACH}
)


@dataclass(frozen=True, slots=True)
class MigrationReport:
    """What `migrate` did: versions before and after, files applied, and where the old database was kept.

    `to_answer` is the advice in account, by key and with its first words, of which version 1 could not keep what it
    speaks against.
    """

    path: Path
    before: int
    after: int
    applied: tuple[str, ...]
    backup: Path | None
    to_answer: tuple[tuple[str, str], ...] = ()

    def sentence(self) -> str:
        """The report as a registrar reads it."""
        if not self.applied:
            return f"{self.path} has schema version {self.after} already; its guards and dictionary were renewed."
        kept = f" The database as it was is kept as {self.backup}." if self.backup else ""
        return f"{self.path} went from schema version {self.before} to {self.after}.{kept}"

    def questions(self) -> list[str]:
        """What somebody now has to say: a sentence, then a line for each record; empty where nothing is open."""
        if not self.to_answer:
            return []
        many = f"{len(self.to_answer)} pieces" if len(self.to_answer) > 1 else "One piece"
        return [
            f"{many} of advice cannot warn yet, because nobody has said which actions it speaks against: "
            f'firstcoat correct {self.path} advice KEY "against=strip; blast" --by NAME --reason WHY '
            "(all = every action).",
            *(f"  {key}  {words}" for key, words in self.to_answer),
        ]

    def as_json(self) -> dict[str, Any]:
        return {
            "format": 1,
            "before": self.before,
            "after": self.after,
            "applied": list(self.applied),
            "backup": None if self.backup is None else str(self.backup),
            "to_answer": [
                {"kind": "advice", "key": key, "column": "against", "what": words} for key, words in self.to_answer
            ],
        }


def upgrade(
    db: sqlite3.Connection, known: tuple[Migration, ...] | None = None, path: Path | None = None
) -> MigrationReport:
    """Bring an open database to the newest version.

    :param known: stands for the packaged migrations in tests of the runner.
    :param path: the file as messages name it; where it is not given, as SQLite does.
    :raises CouldNot: when it is newer, was migrated by another program meanwhile, or a copy cannot be made.
    :raises DamageFound: when an applied migration is not the one known, or rows point to nothing.
    """
    known = packaged.migrations() if known is None else known
    path = path or Path(db.execute("SELECT file FROM pragma_database_list WHERE name = 'main'").fetchone()[0])
    before = _version(db)
    check_applied(db, known, path)
    backup = _back_up(db, path, before) if 0 < before < known[-1].version else None
    db.execute("PRAGMA foreign_keys = OFF")
    try:
        db.execute("BEGIN IMMEDIATE")
        try:
            if _version(db) != before:
                raise CouldNot(f"{path} was migrated by another program just now. Nothing was changed; try again.")
            applied = tuple(_apply(db, migration) for migration in known if migration.version > before)
            _make_guards(db)
            _fill_tables(db)
            broken = db.execute("PRAGMA foreign_key_check").fetchone()
            if broken is not None:
                raise DamageFound(
                    f"{path}: a row of {broken[0]} points to a row of {broken[2]} that is not there. "
                    "Nothing was changed; restore from a copy."
                )
            db.execute("COMMIT")
        except BaseException:
            if db.in_transaction:
                db.execute("ROLLBACK")
            raise
    finally:
        db.execute("PRAGMA foreign_keys = ON")
    asked = _without_against(db) if 0 < before < AGAINST_SINCE <= _version(db) else ()
    return MigrationReport(path, before, _version(db), applied, backup, asked)


def _without_against(db: sqlite3.Connection) -> tuple[tuple[str, str], ...]:
    return tuple(
        (f"{object_code}/{code}", textwrap.shorten(what, FIRST_WORDS, placeholder=" …"))
        for object_code, code, what in db.execute(
            "SELECT object, advice, what FROM live_advice WHERE against IS NULL ORDER BY object, advice"
        )
    )


def check_applied(db: sqlite3.Connection, known: tuple[Migration, ...], path: Path) -> None:
    """Whether the migrations that the database went through are the ones known.

    :raises CouldNot: when the database is newer.
    :raises DamageFound: when one of them had another text, is missing, or is not recorded.
    """
    version = _version(db)
    if version > known[-1].version:
        raise CouldNot(
            f"{path} has schema version {version}; this firstcoat knows versions up to "
            f"{known[-1].version}. Install a newer firstcoat; nothing was changed."
        )
    recorded = dict(db.execute("SELECT version, sha256 FROM migrations")) if version else {}
    expected = {migration.version: migration.sha256 for migration in known if migration.version <= version}
    for number in sorted(recorded.keys() | expected.keys()):
        if recorded.get(number) != expected.get(number):
            raise DamageFound(
                f"{path}: migration {number:04d} is not the one this firstcoat knows, so its tables "
                "cannot be relied on. Nothing was changed; restore from a copy."
            )


def run_script(db: sqlite3.Connection, script: str, name: str) -> None:
    """Run a script inside the open transaction; it can neither end the transaction nor attach a file.

    :raises OurFault: when it tries to, or a statement fails.
    """
    db.set_authorizer(lambda action, *_: sqlite3.SQLITE_DENY if action in FORBIDDEN else sqlite3.SQLITE_OK)
    try:
        for statement in packaged.statements(script, name):
            try:
                db.execute(statement)
            except sqlite3.DatabaseError as error:
                code = (getattr(error, "sqlite_errorcode", None) or 0) & 0xFF
                if code in (sqlite3.SQLITE_ERROR, sqlite3.SQLITE_AUTH, sqlite3.SQLITE_CONSTRAINT):
                    raise OurFault(f"{name} does not run ({error}). Nothing was changed; please report it.") from error
                raise
    finally:
        db.set_authorizer(None)


def _apply(db: sqlite3.Connection, migration: Migration) -> str:
    run_script(db, migration.text, migration.name)
    db.execute(
        "INSERT INTO migrations (version, name, sha256, applied_at, tool_version) VALUES (?, ?, ?, ?, ?)",
        (
            migration.version,
            migration.name,
            migration.sha256,
            datetime.now(UTC).isoformat(timespec="seconds"),
            collection.__version__,
        ),
    )
    db.execute(f"PRAGMA user_version = {migration.version}")
    db.execute(f"PRAGMA application_id = {APPLICATION_ID}")
    return migration.name


def _make_guards(db: sqlite3.Connection) -> None:
    for (name,) in db.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall():
        db.execute(f'DROP TRIGGER "{name}"')
    run_script(db, packaged.guards(), "guards.sql")


def _fill_tables(db: sqlite3.Connection) -> None:
    db.execute("DELETE FROM dictionary")
    _insert(db, "dictionary", COLUMNS, packaged.dictionary_rows())
    for table, rows in packaged.reference_tables():
        db.execute(f"DELETE FROM {table.name}")
        _insert(db, table.name, _names(table), rows)


def _names(table: Table) -> tuple[str, ...]:
    return tuple(column.name for column in table.columns)


def _insert(db: sqlite3.Connection, table: str, names: tuple[str, ...], rows: object) -> None:
    marks = ", ".join("?" * len(names))
    db.executemany(f"INSERT INTO {table} ({', '.join(names)}) VALUES ({marks})", rows)  # type: ignore[arg-type]


def _version(db: sqlite3.Connection) -> int:
    return int(db.execute("PRAGMA user_version").fetchone()[0])


def _back_up(db: sqlite3.Connection, path: Path, version: int) -> Path:
    """A whole copy of the database beside it, under its name only when it is complete."""
    count, backup = 1, path.with_name(f"{path.name}.version-{version}.backup")
    while backup.exists():
        count += 1
        backup = path.with_name(f"{path.name}.version-{version}-{count}.backup")
    partial = backup.with_name(backup.name + ".partial")
    partial.unlink(missing_ok=True)
    copy_database(db, partial)
    partial.rename(backup)
    return backup
