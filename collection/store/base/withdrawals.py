"""Tells what took a record out of account: who withdrew it, its survey or what it hangs on, when and why."""

from __future__ import annotations

import shlex
import sqlite3
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from collection.language.words import SHEET_NAMES
from collection.records.codes import CODE_COLUMN, PLACE, sheets_of
from collection.records.row import Record
from collection.records.sheets import BY_SHEET
from collection.store.base import keys
from collection.store.base.chain import MADE_AT
from collection.store.base.keys import Key
from collection.store.schema.tables import HANGS_ON


@dataclass(frozen=True, slots=True)
class Withdrawal:
    """A record or survey that somebody withdrew, and the change that did it; `at` is UTC."""

    sheet: str
    key: str
    by: str
    at: str
    why: str

    def as_json(self) -> dict[str, str]:
        return {"kind": self.sheet, "key": self.key, "by": self.by, "at": self.at, "why": self.why}

    def sentence(self) -> str:
        """Who withdrew it, and how it is brought back."""
        return (
            f"The {SHEET_NAMES.get(self.sheet, self.sheet)} {self.key} was withdrawn by {self.by} on {self.at[:10]} "
            f"({self.why}). firstcoat reinstate DB {self.sheet} {shlex.quote(self.key)} --by NAME --reason TEXT "
            "brings it back."
        )


def withdrawal(db: sqlite3.Connection, sheet: str, key: Key) -> Withdrawal | None:
    """What took a stored record out of account; None where it is in account."""
    record = BY_SHEET[sheet]
    cursor = db.execute(f"SELECT * FROM {record.table} WHERE {keys.where(record)}", key)
    row = dict(zip((column[0] for column in cursor.description), cursor.fetchone(), strict=True))
    if row["withdrawn"] is not None:
        return _by(db, sheet, keys.shown(sheet, key), row["withdrawn"])
    if sheet != "survey":
        (change,) = db.execute("SELECT withdrawn FROM surveys WHERE code = ?", (row["survey"],)).fetchone()
        if change is not None:
            return _by(db, "survey", row["survey"], change)
    for name in HANGS_ON.get(sheet, ()):
        if row[name] not in (None, "", 0):
            found = [withdrawal(db, *other) for other in _hung_on(db, record, row, name)]
            if found and all(found):
                return found[0]
    return None


def of_code(db: sqlite3.Connection, target: str, object_code: str | None, code: str) -> Withdrawal | None:
    """What took the records out of account that a code names; None where there is none, or one in account."""
    found = []
    for sheet in sheets_of(target):
        record = BY_SHEET[sheet]
        where, values = f"{CODE_COLUMN[sheet]} = ?", [code]
        if sheet not in ("objects", "survey"):
            where, values = f"object = ? AND {where}", [str(object_code), code]
        rows = db.execute(f"SELECT {', '.join(record.key)} FROM {record.table} WHERE {where}", values).fetchall()
        found += [withdrawal(db, sheet, tuple(row)) for row in rows]
    return found[0] if found and all(found) else None


def made_by(db: sqlite3.Connection, change: int) -> tuple[str, str, str]:
    """Who made a change, when it was first made, and why."""
    by, at, why = db.execute(
        f'SELECT c."by", {MADE_AT}, c.why FROM changes AS c WHERE c.number = ?', (change,)
    ).fetchone()
    return by, at, why


def _hung_on(db: sqlite3.Connection, record: type[Record], row: dict[str, Any], name: str) -> Iterator[tuple[str, Key]]:
    """The stored records that a cell points to; a place may be a part with several dated states."""
    target = record.column(name).reference
    assert target is not None
    if target == "objects" or (target == PLACE and row[name] == "all"):
        yield "objects", (row["object"] if target == PLACE else row[name],)
        return
    for sheet in sheets_of(target):
        goal = BY_SHEET[sheet]
        parts = {"object": row["object"], CODE_COLUMN[sheet]: row[name]}
        if target == "layers":
            parts = {"object": row["object"], "sample": row["sample"], "position": row[name]}
        where = " AND ".join(f"{part} = ?" for part in parts)
        for key in db.execute(f"SELECT {', '.join(goal.key)} FROM {goal.table} WHERE {where}", [*parts.values()]):
            yield sheet, tuple(key)


def _by(db: sqlite3.Connection, sheet: str, key: str, change: int) -> Withdrawal:
    return Withdrawal(sheet, key, *made_by(db, change))
