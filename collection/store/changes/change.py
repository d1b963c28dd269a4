"""A change: the one place in the program where a row of a sheet is inserted or updated.

Everybody who changes records, be it many rows or one, opens a change, hands it the rows and names the objects they are
about. A trigger copies each replaced content to the history. When the block ends, records that are read as one have to
agree, the change is sealed, and what is derived of the objects is computed again or marked as out of date.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from collection.language.errors import Fault, InputRefused
from collection.records.row import Record
from collection.store import derive
from collection.store.base import database
from collection.store.base.chain import begin_change, seal_change
from collection.store.base.keys import Key
from collection.store.changes import agreement

LIFTED_FROM = 5_000
"""How many new rows it takes until the guard against overwriting is lifted while they are inserted."""
PLACED = {"objects": ("'all'", "all"), "components": ("s.component", "component"), "zones": ("s.zone", "zone")}
"""Sheets whose rows are places, with the place and its kind."""

INGEST, AMEND, WITHDRAW, REINSTATE, CORRECT = "ingest", "amend", "withdraw", "reinstate", "correct"
Where = sqlite3.Connection | Path | str
"""A file, which is opened and closed again, or a connection, inside or outside a transaction."""


@dataclass(frozen=True, slots=True)
class Rows:
    """Rows of one sheet for its table, as SQL.

    `cells` has an expression for every column given, the key's included. It may use the source `s` and, in an update,
    the stored row `m`. `where` picks rows of the source, `values` are the parameters, `count` is the number of rows.
    """

    record: type[Record]
    cells: Mapping[str, str]
    values: Mapping[str, Any]
    source: str = "(SELECT 1) AS s"
    where: str = "true"
    count: int = 1


def one_row(record: type[Record], key: Key, values: Mapping[str, Any]) -> Rows:
    """One record, its cells as plain values."""
    given = {**values, **dict(zip(record.key, key, strict=True))}
    return Rows(record, {name: f":{name}" for name in given}, given)


@dataclass(slots=True)
class Change:
    """One change: its number, and the objects that it touches."""

    db: sqlite3.Connection
    number: int
    touched: set[str] = field(default_factory=set)

    def touch(self, objects: Iterable[str]) -> None:
        """Note objects, by their stored numbers, whose records this change enters or alters."""
        self.touched.update(objects)

    def insert(self, rows: Rows) -> None:
        """Insert new records, sorted by key: a package in any order is then stored as fast, and reads come in that
        order."""
        given = ", ".join(f"{sql} AS {name}" for name, sql in rows.cells.items())
        with _triggers_lifted(self.db, rows) as lifted:
            self.db.execute(
                f"INSERT INTO main.{rows.record.table} ({', '.join(rows.cells)}, change) SELECT {given}, :change "
                f"FROM {rows.source} WHERE {rows.where} ORDER BY {', '.join(rows.record.key)}",
                {**rows.values, "change": self.number},
            )
            if lifted and rows.record.sheet in PLACED:
                self._add_places(rows)

    def update(self, rows: Rows) -> None:
        """Update stored records; what each said before goes to the history, and its revision goes up by one."""
        key = rows.record.key
        cells = ", ".join(f"{name} = {sql}" for name, sql in rows.cells.items() if name not in key)
        # The plus keeps SQLite from walking through all that is stored to look each up in the source.
        same = " AND ".join(f"m.{part} = +{rows.cells[part]}" for part in key)
        self.db.execute(
            f"UPDATE main.{rows.record.table} AS m SET {cells}, revision = m.revision + 1, change = :change "
            f"FROM {rows.source} WHERE {same} AND {rows.where}",
            {**rows.values, "change": self.number},
        )

    def _add_places(self, rows: Rows) -> None:
        """Do for all rows at once what the trigger does for one: add them to the name space of places."""
        place, kind = PLACED[rows.record.sheet]
        self.db.execute(
            f"INSERT INTO main.places (object, place, kind) SELECT DISTINCT s.object, {place}, '{kind}' "
            f"FROM {rows.source} WHERE NOT EXISTS (SELECT 1 FROM main.places AS p WHERE p.object = s.object "
            f"AND p.place = {place}) ORDER BY 1, 2"
        )


@contextmanager
def change(
    db: sqlite3.Connection,
    by: str,
    why: str,
    action: str,
    subject: str,
    *,
    package: str | None = None,
    derived_up_to: int | None = None,
) -> Iterator[Change]:
    """Open a change inside the caller's transaction, for the length of a block.

    :param derived_up_to: touched objects up to which what is derived of them is made anew here; of more it is marked
        as not up to date.
    :raises InputRefused: where records that are read as one would no longer say the same; the caller's transaction
        is then to be undone.
    :raises WrongCommand: when nobody, or no reason, is named.
    """
    made = Change(db, begin_change(db, by, why, action, subject, package))
    yield made
    agreement.hold(db, made.touched)
    seal_change(db, made.number)
    if derived_up_to is None or len(made.touched) <= derived_up_to:
        derive.derive(db, made.touched)
    else:
        derive.mark_stale(db, made.touched)


def refused(sheet: str, key: str, message: str) -> InputRefused:
    """The refusal of a change to one record."""
    return InputRefused([Fault(f"{sheet} {key}", sheet, None, None, None, message)])


@contextmanager
def transaction(db: Where) -> Iterator[sqlite3.Connection]:
    """A write transaction of its own, or the one that the caller has already begun."""
    if isinstance(db, sqlite3.Connection):
        if db.in_transaction:
            yield db
        else:
            with database.writing(db):
                yield db
        return
    with database.opened(db, write=True) as connection, database.writing(connection):
        yield connection


@contextmanager
def _triggers_lifted(db: sqlite3.Connection, rows: Rows) -> Iterator[bool]:
    """Drop the triggers on each insert while many rows go in; yields whether it did.

    One looks for a key that is taken, to stop INSERT OR REPLACE. A plain INSERT stops at a taken key by itself, and
    the trigger would take nearly as long again as the insert. The other adds zones and parts to `places`. They are
    made again from their own text in the same transaction, so that no other connection and no crash ever finds the
    table without them.
    """
    if rows.count < LIFTED_FROM:
        yield False
        return
    table = rows.record.table
    names = [f"{table}_no_overwrite"]
    if rows.record.sheet in PLACED:
        names += [f"{table}_place", "places_no_overwrite"]
    texts = []
    for name in names:
        (text,) = db.execute("SELECT sql FROM main.sqlite_master WHERE name = ?", (name,)).fetchone()
        texts.append(text)
        db.execute(f"DROP TRIGGER main.{name}")
    yield True
    for text in texts:
        db.execute(text)
