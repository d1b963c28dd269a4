"""Corrections, withdrawals and reinstatements: a named person changes one record, or takes a survey out of account.

Each says who and why, and everything that was said before stays readable.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping

from collection.records.row import Record
from collection.records.sheets import BY_SHEET, SHEETS
from collection.store.base import keys, names, withdrawals
from collection.store.base.keys import Key
from collection.store.changes import checked_values, contents
from collection.store.changes.change import (
    AMEND,
    CORRECT,
    REINSTATE,
    WITHDRAW,
    Where,
    change,
    one_row,
    refused,
    transaction,
)
from collection.store.changes.settlement import settle


def correct(db: Where, sheet: str, key: str, values: Mapping[str, str], by: str, why: str) -> int:
    """Correct cells of one record, given as texts by column; `not recorded` clears one. Returns the change.

    :raises InputRefused: for an unknown key or column, a value the column cannot hold, a reference to nothing
        in account, or where nothing would change; the record stays as it is.
    """
    record = BY_SHEET[sheet]
    with transaction(db) as connection:
        parts = keys.find(connection, sheet, key)
        name = keys.shown(sheet, parts)
        row = contents.present(connection, record, parts)
        given = checked_values.read(record, name, values)
        known = names.load(connection)
        if known is not None and "object" in row:
            given = known.to_stored(record, given, row["object"])
        content = checked_values.whole(record, parts, {**row, **given})
        if all(content[column] == row[column] for column in content):
            raise refused(sheet, name, "The record says this already; nothing was changed.")
        checked_values.references(connection, record, parts, content, given)
        with change(connection, by, why, CORRECT, f"{sheet} {name}") as made:
            made.update(one_row(record, parts, content))
            made.touch(_object_of(record, parts))
        return made.number


def withdraw(db: Where, sheet: str, key: str, by: str, why: str) -> int:
    """Take a record out of account; it stays readable. Returns the change.

    A survey takes everything along that it brought. Where its amendments replaced something, that comes back as a new
    revision, unless something newer stands there.

    :raises InputRefused: for an unknown key, or a record that is out of account already.
    """
    return _set_withdrawn(db, sheet, key, by, why, withdrawn=True)


def reinstate(db: Where, sheet: str, key: str, by: str, why: str) -> int:
    """Undo a withdrawal; for a survey also what it restored. Returns the change.

    :raises InputRefused: for an unknown key, or a record that was not withdrawn.
    """
    return _set_withdrawn(db, sheet, key, by, why, withdrawn=False)


def _set_withdrawn(db: Where, sheet: str, key: str, by: str, why: str, *, withdrawn: bool) -> int:
    record = BY_SHEET[sheet]
    with transaction(db) as connection:
        parts = keys.find(connection, sheet, key)
        name = keys.shown(sheet, parts)
        row = contents.present(connection, record, parts)
        if withdrawn == (row["withdrawn"] is not None):
            gone = withdrawals.withdrawal(connection, sheet, parts)
            told = f" {gone.sentence()}" if gone is not None else ""
            raise refused(
                sheet,
                name,
                f"The record is out of account already; nothing was changed.{told}"
                if withdrawn
                else f"The record was not withdrawn by itself; nothing was changed.{told}",
            )
        with change(connection, by, why, WITHDRAW if withdrawn else REINSTATE, f"{sheet} {name}") as made:
            made.update(one_row(record, parts, {"withdrawn": made.number if withdrawn else None}))
            if sheet == "survey":
                settle(made, name)
                made.touch(objects_of_survey(connection, name))
            else:
                made.touch(_object_of(record, parts))
        return made.number


def touched_by(db: sqlite3.Connection, sheet: str, key: str) -> list[str]:
    """The objects that a change to a record, or to a whole survey, is about.

    :raises InputRefused: for an unknown key.
    """
    parts = keys.find(db, sheet, key)
    return objects_of_survey(db, str(parts[0])) if sheet == "survey" else _object_of(BY_SHEET[sheet], parts)


def _object_of(record: type[Record], key: Key) -> list[str]:
    return [str(key[0])] if record.key[0] == "object" else []


def objects_of_survey(db: sqlite3.Connection, survey: str) -> list[str]:
    """Every object with a record that the survey brought or amended, now or before, or with a cell of its list."""
    tables = [record.table for record in SHEETS if record.sheet != "survey"]
    union = " UNION ".join(f"SELECT object FROM {table} WHERE survey = :survey" for table in tables)
    amended = "change IN (SELECT number FROM changes WHERE action = :amend AND subject = :survey)"
    history = (
        "SELECT json_extract(content, '$.object') FROM history "
        f"WHERE (survey = :survey OR {amended}) AND sheet <> 'survey'"
    )
    listed = (
        'SELECT u."key" FROM changes AS c CROSS JOIN unmapped_cells AS u ON u.change = c.number '
        "WHERE c.subject = :survey AND u.sheet = 'objects'"
    )
    found = db.execute(f"{union} UNION {history} UNION {listed}", {"survey": survey, "amend": AMEND})
    return [code for (code,) in found]
