"""Changing records: each change says who and why, and leaves every earlier content readable."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from itertools import pairwise
from pathlib import Path
from typing import Any

from collection.language.errors import Fault, InputRefused
from collection.records import cells
from collection.records.row import Record
from collection.records.sheets import BY_SHEET, SHEETS
from collection.store import derive
from collection.store.base import database, keys, names
from collection.store.base.chain import begin_change, seal_change, seal_open_changes
from collection.store.base.keys import Key, split_key
from collection.store.changes import checked_values
from collection.store.derive import mark_stale
from collection.store.schema.tables import earlier_content, stored_names, stored_values

__all__ = [
    "amend",
    "begin_change",
    "bulk_inserts",
    "correct",
    "finish",
    "insert",
    "mark_stale",
    "refused",
    "reinstate",
    "seal_change",
    "seal_open_changes",
    "split_key",
    "touched_by",
    "transaction",
    "withdraw",
]

WITHDRAW, REINSTATE, CORRECT = "withdraw", "reinstate", "correct"
Values = Mapping[str, Any]
Where = sqlite3.Connection | Path | str
"""A file, which is opened and closed again, or a connection, inside or outside a transaction."""


def insert(
    db: sqlite3.Connection, record: Record, *, change: int, survey: str, from_file: str, from_row: int | None
) -> Key:
    """Store one new record and give its key; for a survey's own row `survey` is its code."""
    row = stored_values(record)
    row.update(from_file=from_file, from_row=from_row, revision=1, change=change)
    if record.sheet != "survey":
        row["survey"] = survey
    db.execute(
        f"INSERT INTO {record.table} ({', '.join(row)}) VALUES ({', '.join('?' * len(row))})", tuple(row.values())
    )
    return tuple(row[name] for name in record.key)


def amend(
    db: sqlite3.Connection,
    sheet: str,
    key: Key,
    values: Values,
    change: int,
    survey: str,
    from_file: str,
    from_row: int | None,
) -> None:
    """Replace cells of a stored record by what another survey says; the old content goes to the history.

    `values` are stored values, `None` or `CLEAR` for one to be cleared; each date's bounds follow by themselves.

    :raises InputRefused: when there is no such record, or the schema would refuse the content.
    """
    record = BY_SHEET[sheet]
    row = _stored(db, record, key)
    wanted = {name: None if value is cells.CLEAR else value for name, value in values.items()}
    content = checked_values.whole(record, key, {**row, **wanted})
    provenance: dict[str, Any] = {"from_file": from_file, "from_row": from_row}
    if sheet != "survey":
        provenance["survey"] = survey
    _replace(db, record, key, row, {**content, **provenance}, change)
    mark_stale(db, _object_of(record, key))


def correct(db: Where, sheet: str, key: str, values: Mapping[str, str], by: str, why: str) -> int:
    """Mend cells of one record from texts, as `column=value`; `not recorded` clears one. Gives the change.

    :raises InputRefused: for an unknown key or column, a value the column cannot hold, a reference to nothing
        in account, or where nothing would change; the record stays as it is.
    """
    record = BY_SHEET[sheet]
    with transaction(db) as connection:
        parts = keys.find(connection, sheet, key)
        name = keys.shown(sheet, parts)
        row = _stored(connection, record, parts)
        given = checked_values.read(record, name, values)
        known = names.load(connection)
        if known is not None and "object" in row:
            given = known.to_stored(record, given, row["object"])
        content = checked_values.whole(record, parts, {**row, **given})
        if all(content[column] == row[column] for column in content):
            raise refused(sheet, name, "The record says this already; nothing was changed.")
        checked_values.references(connection, record, parts, content, given)
        change = begin_change(connection, by, why, CORRECT, f"{sheet} {name}")
        _replace(connection, record, parts, row, content, change)
        finish(connection, change, _object_of(record, parts))
        return change


def withdraw(db: Where, sheet: str, key: str, by: str, why: str) -> int:
    """Take a record out of account; it stays readable. Gives the change.

    With a survey everything it brought leaves, and what its amendments had replaced comes back as a new
    revision, unless something newer stands there.

    :raises InputRefused: for an unknown key, or a record that is out of account already.
    """
    return _set_withdrawn(db, sheet, key, by, why, withdrawn=True)


def reinstate(db: Where, sheet: str, key: str, by: str, why: str) -> int:
    """Undo a withdrawal, of a survey together with what it restored. Gives the change.

    :raises InputRefused: for an unknown key, or a record that was not withdrawn.
    """
    return _set_withdrawn(db, sheet, key, by, why, withdrawn=False)


@contextmanager
def bulk_inserts(db: sqlite3.Connection, tables: Iterable[str]) -> Iterator[None]:
    """For a load of many rows: inside the running transaction the guard against overwriting is set aside, and
    put back at the end.

    Having the trigger costs half as much again as the insert itself. Meanwhile the write lock keeps every
    other program out, a plain INSERT still stops at a key that is taken, and a kill undoes all of it.
    """
    guards = [
        (
            f"{table}_no_overwrite",
            *db.execute(
                "SELECT sql FROM main.sqlite_master WHERE type = 'trigger' AND name = ?", (f"{table}_no_overwrite",)
            ).fetchone(),
        )
        for table in tables
    ]
    for name, _ in guards:
        db.execute(f"DROP TRIGGER main.{name}")
    try:
        yield
    finally:
        # A full disk ends the transaction by itself, and then the guards are there again already.
        if db.in_transaction:
            for _, sql in guards:
                db.execute(sql)


def refused(sheet: str, key: str, message: str) -> InputRefused:
    """A record that cannot be changed so, as one fault."""
    return InputRefused([Fault(f"{sheet} {key}", sheet, None, None, None, message)])


def _set_withdrawn(db: Where, sheet: str, key: str, by: str, why: str, *, withdrawn: bool) -> int:
    record = BY_SHEET[sheet]
    with transaction(db) as connection:
        parts = keys.find(connection, sheet, key)
        name = keys.shown(sheet, parts)
        row = _stored(connection, record, parts)
        if withdrawn == (row["withdrawn"] is not None):
            raise refused(
                sheet,
                name,
                "The record is out of account already; nothing was changed."
                if withdrawn
                else "The record was not withdrawn; nothing was changed.",
            )
        change = begin_change(connection, by, why, WITHDRAW if withdrawn else REINSTATE, f"{sheet} {name}")
        _replace(connection, record, parts, row, {"withdrawn": change if withdrawn else None}, change)
        if sheet == "survey":
            _settle(connection, name, change)
            finish(connection, change, _objects_of_survey(connection, name))
        else:
            finish(connection, change, _object_of(record, parts))
        return change


def touched_by(db: sqlite3.Connection, sheet: str, key: str) -> list[str]:
    """The objects that a change to a record, or to everything of a survey, concerns.

    :raises InputRefused: for an unknown key.
    """
    parts = keys.find(db, sheet, key)
    return _objects_of_survey(db, str(parts[0])) if sheet == "survey" else _object_of(BY_SHEET[sheet], parts)


def finish(db: sqlite3.Connection, change: int, objects: list[str]) -> None:
    """Seal the change and bring up to date what is derived of the objects it touched.

    :raises InputRefused: where records that are read as one would no longer say the same.
    """
    from collection.store.changes import same

    same.hold(db, objects)
    seal_change(db, change)
    derive.derive(db, sorted(objects))


def _settle(db: sqlite3.Connection, survey: str, change: int) -> None:
    """Give every record that a survey ever spoke of the content that the surveys in account make of it.

    Each content is read as what it altered in the one before it. What a withdrawn survey altered is left out;
    what other surveys and named persons altered stands, in its order. Contents that a withdrawal or its undoing
    wrote are copies and say nothing of their own.
    """
    gone = {code for (code,) in db.execute("SELECT code FROM surveys WHERE withdrawn IS NOT NULL")}
    actions = dict(
        db.execute(
            "SELECT number, action FROM changes WHERE action = ? OR action = ? OR action = ?",
            (WITHDRAW, REINSTATE, CORRECT),
        )
    )
    for record in SHEETS:
        if record.sheet == "survey":
            continue
        for key in _spoken_of(db, record, survey):
            row = _stored(db, record, key)
            wanted = _standing(record, key, [*_contents(db, record, key), row], gone, actions)
            if any(row[name] != value for name, value in wanted.items()):
                _replace(db, record, key, row, wanted, change)


def _standing(
    record: type[Record], key: Key, contents: list[dict[str, Any]], gone: set[str], actions: Mapping[int, str]
) -> dict[str, Any]:
    """What a record says once the surveys `gone` are left out, with where it comes from.

    Where nobody who is heard ever altered a cell, it says what the survey that brought the record said last. A
    record of which every survey is gone stays with the last of them, and so out of account.
    """
    provenance = ("survey", "from_file", "from_row")
    given = [name for name in contents[0] if name not in (*provenance, "revision", "change", "withdrawn")]
    content = {name: contents[0][name] for name in given}
    settled: set[str] = set()
    standing = [] if contents[0]["survey"] in gone else [contents[0]]
    for before, after in pairwise(contents):
        action = actions.get(after["change"])
        if action in (WITHDRAW, REINSTATE):
            continue
        altered = {name: after[name] for name in given if after[name] != before[name]}
        if action == CORRECT or after["survey"] not in gone:
            content.update(altered)
            settled.update(altered)
        elif after["survey"] == contents[0]["survey"]:
            content.update({name: value for name, value in altered.items() if name not in settled})
        if after["survey"] not in gone:
            standing.append(after)
    # A date and its bounds may have been altered by different surveys, so the bounds are read anew.
    last = (standing or contents)[-1]
    return {**checked_values.whole(record, key, content), **{name: last[name] for name in provenance}}


def _spoken_of(db: sqlite3.Connection, record: type[Record], survey: str) -> list[Key]:
    """The keys of records with more than one content, one of them by the survey."""
    keyed = {
        tuple(earlier_content(record, content)[part] for part in record.key)
        for (content,) in db.execute(
            "SELECT content FROM history WHERE sheet = ? AND survey = ?", (record.sheet, survey)
        )
    }
    keyed.update(
        db.execute(f"SELECT {', '.join(record.key)} FROM {record.table} WHERE survey = ? AND revision > 1", (survey,))
    )
    return sorted(keyed)


def _contents(db: sqlite3.Connection, record: type[Record], key: Key) -> list[dict[str, Any]]:
    """The earlier contents of one record, oldest first."""
    rows = db.execute(
        "SELECT content FROM history WHERE sheet = ? AND key = ? ORDER BY id",
        (record.sheet, keys.shown(record.sheet, key)),
    )
    contents = [earlier_content(record, content) for (content,) in rows]
    return [content for content in contents if tuple(content[name] for name in record.key) == key]


def _replace(db: sqlite3.Connection, record: type[Record], key: Key, row: Values, values: Values, change: int) -> None:
    names = [name for name in values if name not in record.key and name not in ("revision", "change")]
    assignments = ", ".join(f"{name} = ?" for name in names)
    db.execute(
        f"UPDATE {record.table} SET {assignments}, revision = ?, change = ? WHERE {keys.where(record)}",
        (*(values[name] for name in names), row["revision"] + 1, change, *key),
    )


def _stored(db: sqlite3.Connection, record: type[Record], key: Key) -> dict[str, Any]:
    names = stored_names(record)
    row = db.execute(f"SELECT {', '.join(names)} FROM {record.table} WHERE {keys.where(record)}", key).fetchone()
    if row is None:
        raise refused(record.sheet, keys.shown(record.sheet, key), "There is no such record.")
    return dict(zip(names, row, strict=True))


def _object_of(record: type[Record], key: Key) -> list[str]:
    return [str(key[0])] if record.key[0] == "object" else []


def _objects_of_survey(db: sqlite3.Connection, survey: str) -> list[str]:
    """Every object that a survey's records, present or replaced, are about, or that one of them lies on."""
    tables = [record.table for record in SHEETS if record.sheet != "survey"]
    union = " UNION ".join(f"SELECT object FROM {table} WHERE survey = :survey" for table in tables)
    history = "SELECT json_extract(content, '$.object') FROM history WHERE survey = :survey AND sheet <> 'survey'"
    return [code for (code,) in db.execute(f"{union} UNION {history}", {"survey": survey})]


@contextmanager
def transaction(db: Where) -> Iterator[sqlite3.Connection]:
    """A write transaction of its own, or the one that the caller has begun already."""
    if isinstance(db, sqlite3.Connection):
        if db.in_transaction:
            yield db
        else:
            with database.writing(db):
                yield db
        return
    with database.opened(db, write=True) as connection, database.writing(connection):
        yield connection
