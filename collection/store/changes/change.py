"""A change under way: the one place in the program where a row of a sheet is entered or altered.

Whoever changes records, for many rows or for one, opens a change, gives it the rows and says which objects they are
about. At its end the change is sealed, records that are read as one have to say the same, and what is derived of the
objects is brought up to date or marked. The contents that it replaced went to the history by trigger meanwhile.
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
"""New rows from which on the guard against overwriting is lifted while they are inserted."""
PLACED = {"objects": ("'all'", "all"), "components": ("s.component", "component"), "zones": ("s.zone", "zone")}
"""Sheets whose rows are places, with the place and its kind."""

WITHDRAW, REINSTATE, CORRECT = "withdraw", "reinstate", "correct"
Where = sqlite3.Connection | Path | str
"""A file, which is opened and closed again, or a connection, inside or outside a transaction."""


@dataclass(frozen=True, slots=True)
class Rows:
    """Rows of one sheet on their way into its table.

    `cells` is the SQL of every column given, the key's among them, over the source `s`; where a stored row is altered
    it may name that row's present cells as `m`. `where` picks among the rows of the source, `values` are the
    parameters of all this SQL, and `count` says how many rows there are.
    """

    record: type[Record]
    cells: Mapping[str, str]
    values: Mapping[str, Any]
    source: str = "(SELECT 1) AS s"
    where: str = "true"
    count: int = 1


def one_row(record: type[Record], key: Key, values: Mapping[str, Any]) -> Rows:
    """The cells of one record, as values."""
    given = {**values, **dict(zip(record.key, key, strict=True))}
    return Rows(record, {name: f":{name}" for name in given}, given)


@dataclass(slots=True)
class Change:
    """One change: its number, and the objects that it touches."""

    db: sqlite3.Connection
    number: int
    touched: set[str] = field(default_factory=set)

    def touch(self, objects: Iterable[str]) -> None:
        """Say that something of these objects, by their stored numbers, is no longer what it was."""
        self.touched.update(objects)

    def insert(self, rows: Rows) -> None:
        """Enter new records, in the order of their keys, so that a package in any order is stored as fast, and read in
        that order later."""
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
        """Give stored records other cells; each keeps what it said in the history, and counts one content more."""
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
        """What the trigger on one row adds to the name space of places, for all rows at once."""
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
    """A change inside the caller's transaction, open for a block.

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
    """A record that cannot be changed so, as one fault."""
    return InputRefused([Fault(f"{sheet} {key}", sheet, None, None, None, message)])


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


@contextmanager
def _triggers_lifted(db: sqlite3.Connection, rows: Rows) -> Iterator[bool]:
    """Without the triggers on every insert, for the length of a long one; tells whether it is so.

    One looks for a taken key, to stop INSERT OR REPLACE; a plain INSERT stops at a taken key by itself, and the
    trigger would take nearly as long again as the insert. The other enters zones and parts into `places`. They come
    back from their own text in the same transaction, so that no other connection and no crash ever finds the table
    without them.
    """
    table = rows.record.table
    names = [f"{table}_no_overwrite"]
    if rows.record.sheet in PLACED:
        names += [f"{table}_place", "places_no_overwrite"]
    found = [
        db.execute("SELECT name, sql FROM main.sqlite_master WHERE type = 'trigger' AND name = ?", (name,)).fetchone()
        for name in names
    ]
    if rows.count < LIFTED_FROM or None in found:
        yield False
        return
    for name, _ in found:
        db.execute(f"DROP TRIGGER main.{name}")
    yield True
    for _, sql in found:
        db.execute(sql)
