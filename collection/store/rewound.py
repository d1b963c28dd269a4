"""The database as it stood before a moment: a copy of it from which every later change is taken back.

The copy is a file of SQLite's own that nobody else sees, and goes with the connection. Each record gets the content
that the history kept when the first later change replaced it; what a later change brought is not there. What is derived
of the objects concerned is out of date in it, so readers ask the records.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from collection.records.row import Record
from collection.records.sheets import SHEETS, Survey
from collection.store.base import names
from collection.store.base.chain import MADE_AT
from collection.store.base.database import Database
from collection.store.derive import mark_stale
from collection.store.schema.tables import earlier_content, record_table, stored_names

_NEITHER = {"history", "changes"}
"""Tables with a column `change` that are no statements of their own."""


@dataclass(frozen=True, slots=True)
class Change:
    """A change: its number, when it was made (UTC), and what it is about."""

    number: int
    at: str
    action: str
    subject: str


def changes_since(db: sqlite3.Connection, moment: str) -> list[Change]:
    """The changes since a day, YYYY-MM-DD, or a moment in UTC, that counted, oldest first. Numbers give the order, so
    whatever came after the first of them is one too."""
    first = db.execute(f"SELECT min(c.number) FROM changes AS c WHERE {MADE_AT} >= ?", (moment,)).fetchone()[0]
    if first is None:
        return []
    rows = db.execute(
        f"SELECT c.number, {MADE_AT}, c.action, c.subject FROM changes AS c WHERE c.number >= ? ORDER BY c.number",
        (first,),
    )
    return [Change(*row) for row in rows]


@contextmanager
def rewound(db: sqlite3.Connection, before: int) -> Iterator[Database]:
    """A copy of an open database without the change of a number and all after it."""
    copy: Database = sqlite3.connect("", isolation_level=None, factory=Database)
    try:
        copy.path, copy.writable = Path(":rewound:"), True
        db.backup(copy)
        copy.execute("BEGIN")
        for (trigger,) in copy.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall():
            copy.execute(f'DROP TRIGGER "{trigger}"')
        copy.execute("PRAGMA defer_foreign_keys = ON")
        touched = _stated(copy, before)
        for record in SHEETS:
            touched |= _take_back(copy, record, before)
        _take_back_statements(copy, before)
        mark_stale(copy, touched)
        # Of an object's number of then nothing may be derived that its number of today left.
        copy.executemany("UPDATE facts SET stale = 1 WHERE object = ?", ((code,) for code in touched))
        copy.execute("COMMIT")
        yield copy
    finally:
        copy.close()


def _stated(db: Database, before: int) -> set[str]:
    """The objects whose codes were read otherwise before a change."""
    rows = db.execute('SELECT sheet, "key", same_as FROM same_things WHERE change >= ?', (before,))
    codes = {names.node_of(sheet, text)[1] for sheet, *both in rows for text in both}
    known = names.load(db)
    return codes if known is None else {own for code in codes for own in known.objects(code)}


def _take_back(db: Database, record: type[Record], before: int) -> set[str]:
    """Put the contents of then into the table of a sheet; gives the objects concerned."""
    table, keys = record_table(record).name, record.key
    quoted = [f'"{name}"' for name in keys]
    where = " AND ".join(f"{name} = ?" for name in quoted)
    then: dict[tuple[Any, ...], dict[str, Any]] = {}
    for (content,) in db.execute(
        "SELECT content FROM history WHERE sheet = ? AND change >= ? ORDER BY id", (record.sheet, before)
    ):
        row = earlier_content(record, content)
        then.setdefault(tuple(row[name] for name in keys), row)
    now = db.execute(f"SELECT {', '.join(quoted)} FROM {table} WHERE change >= ?", (before,)).fetchall()
    columns = stored_names(record)
    setting = ", ".join(f'"{name}" = ?' for name in columns)
    for key in now:
        row = then.get(tuple(key))  # type: ignore[assignment]
        if row is None or row["change"] >= before:
            db.execute(f"DELETE FROM {table} WHERE {where}", key)
        else:
            db.execute(f"UPDATE {table} SET {setting} WHERE {where}", (*(row[name] for name in columns), *key))
    if record is not Survey:
        return {str(key[0]) for key in now}
    # A survey that was withdrawn or came back takes all that it brought with it.
    return {code for (survey,) in now for code in _objects_of(db, survey)}


def _objects_of(db: Database, survey: str) -> Iterator[str]:
    for record in SHEETS:
        if record is not Survey:
            for (code,) in db.execute(
                f"SELECT DISTINCT object FROM {record_table(record).name} WHERE survey = ?", (survey,)
            ):
                yield code


def _take_back_statements(db: Database, before: int) -> None:
    """Drop what only ever grows and came later: decisions, answers, names, tags, files and the like."""
    records = {record_table(record).name for record in SHEETS}
    grow = [
        name
        for (name,) in db.execute(
            "SELECT m.name FROM sqlite_master AS m JOIN pragma_table_info(m.name) AS c ON c.name = 'change' "
            "WHERE m.type = 'table'"
        ).fetchall()
        if name not in records | _NEITHER
    ]
    for name in grow:
        db.execute(f"DELETE FROM {name} WHERE change >= ?", (before,))
    db.execute("DELETE FROM history WHERE change >= ?", (before,))
    db.execute("DELETE FROM changes WHERE number >= ?", (before,))
