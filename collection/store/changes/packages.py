"""What a package brings besides its records: its files and warnings, and that it was read. Also what is known of
earlier packages.

All functions work inside the caller's transaction.
"""

from __future__ import annotations

import sqlite3

from collection.records.codes import fold
from collection.store.changes.comparison import same_key, staged_records
from collection.store.schema.guards import key_sql
from collection.store.stage.stage import Stage


def any_proposals(stage: Stage) -> bool:
    """Whether any proposal is stored or staged at all."""
    stored = stage.db.execute("SELECT EXISTS (SELECT 1 FROM main.proposals)").fetchone()[0]
    return bool(stage.counts.get("proposals") or stored)


def attach_warnings(stage: Stage, change: int) -> None:
    """Store the warnings about those records that this change wrote."""
    for record in staged_records(stage):
        stage.db.execute(
            'INSERT INTO main.warnings (sheet, key, "column", message, change) '
            f"SELECT w.sheet, {key_sql(record, 'm')}, w.col, w.message || coalesce(' Did you mean ''' || w.nearest "
            f"|| '''?', ''), m.change FROM stage.warnings AS w CROSS JOIN stage.{record.sheet} AS s ON s.row = w.at "
            f"CROSS JOIN main.{record.table} AS m ON {same_key(stage, record)} "
            "WHERE w.sheet = ? AND m.change = ? ORDER BY w.rowid",
            (record.sheet, change),
        )


def note_files(stage: Stage, package: str, change: int) -> None:
    """Store which files are kept, which record names each, and which files made up the package."""
    db = stage.db
    db.execute(
        "INSERT INTO main.files (sha256, bytes, name, change) SELECT f.sha256, f.bytes, min(f.name), ? "
        "FROM stage.files AS f WHERE f.named AND NOT EXISTS (SELECT 1 FROM main.files AS m "
        "WHERE m.sha256 = f.sha256) GROUP BY f.sha256",
        (change,),
    )
    db.execute(
        'INSERT INTO main.file_uses (sheet, key, "column", sha256, change) '
        "SELECT 'packages', ?, name, sha256, ? FROM stage.files WHERE named ORDER BY name",
        (package, change),
    )
    for record in staged_records(stage):
        for column in record.columns():
            if column.kind == "file" and stage.holds(record.sheet, column.name):
                db.execute(
                    'INSERT INTO main.file_uses (sheet, key, "column", sha256, change) '
                    f"SELECT '{record.sheet}', {key_sql(record, 'm')}, '{column.name}', f.sha256, m.change "
                    f"FROM stage.{record.sheet} AS s JOIN main.{record.table} AS m ON {same_key(stage, record)} "
                    f"JOIN stage.files AS f ON f.name = s.{column.name} "
                    f"WHERE m.change = ? AND m.{column.name} = s.{column.name} ORDER BY s.row",
                    (change,),
                )


def note_package(stage: Stage, sha256: str, survey: str, name: str, change: int) -> None:
    stage.db.execute(
        "INSERT INTO main.packages (sha256, survey, name, change) SELECT ?, ?, ?, ? "
        "WHERE NOT EXISTS (SELECT 1 FROM main.packages WHERE sha256 = ?)",
        (sha256, survey, name, change, sha256),
    )


def known_package(db: sqlite3.Connection, sha256: str) -> tuple[str, int] | None:
    """The survey of a package that was read before, and the change that stored it."""
    row = db.execute("SELECT survey, change FROM packages WHERE sha256 = ?", (sha256,)).fetchone()
    return None if row is None else (row[0], row[1])


def last_replacement(db: sqlite3.Connection) -> int:
    """The newest change that replaced the content of any record; 0 where none did."""
    row = db.execute("SELECT change FROM history ORDER BY id DESC LIMIT 1").fetchone()
    return 0 if row is None else int(row[0])


def last_change(db: sqlite3.Connection) -> int:
    return int(db.execute("SELECT coalesce(max(number), 0) FROM changes").fetchone()[0])


def stored_survey(db: sqlite3.Connection, code: str) -> tuple[str, bool] | None:
    """The code of a stored survey, and whether the survey is withdrawn."""
    row = db.execute("SELECT code, withdrawn IS NOT NULL FROM surveys WHERE code = ?", (code,)).fetchone()
    return None if row is None else (row[0], bool(row[1]))


def near_survey(db: sqlite3.Connection, code: str) -> str | None:
    """A stored survey whose code differs from this one only in case, blanks, width or leading zeros."""
    return next(
        (
            other
            for (other,) in db.execute("SELECT code FROM surveys ORDER BY code")
            if other != code and fold(other) == fold(code)
        ),
        None,
    )
