"""Every change with what it wrote, in order, so that the whole can be written out and made again elsewhere."""

from __future__ import annotations

import sqlite3
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from heapq import merge
from operator import attrgetter
from typing import Any

from collection.records.row import Record
from collection.store.base.chain import DIGESTED
from collection.store.base.keys import Key
from collection.store.schema.system_tables import FIRST_MADE, HISTORY
from collection.store.schema.tables import Table, earlier_content, stored_names

CARRIED: tuple[Table, ...] = tuple(table for table in DIGESTED if table not in (HISTORY, FIRST_MADE))
"""The program's own tables whose rows go along as they are. The history comes again with the changes."""


@dataclass(frozen=True, slots=True)
class Step:
    """One change as it was made first: on this day, by that version, with that hash in the chain of then."""

    number: int
    at: str
    by: str
    why: str
    action: str
    subject: str
    tool_version: str
    package_sha256: str | None
    hash: str


@dataclass(frozen=True, slots=True)
class Written:
    """One content that a change gave a record: the whole stored row, and what stood there before, if anything."""

    change: int
    key: Key
    row: dict[str, Any]
    before: dict[str, Any] | None = None


def steps(db: sqlite3.Connection, since: int = 1) -> Iterator[Step]:
    """The changes from a number on, in order."""
    for row in db.execute(
        'SELECT c.number, coalesce(f.at, c.at), c."by", c.why, c.action, c.subject, '
        "coalesce(f.tool_version, c.tool_version), c.package_sha256, coalesce(f.hash, c.hash) "
        "FROM changes AS c LEFT JOIN first_made AS f ON f.change = c.number WHERE c.number >= ? ORDER BY c.number",
        (since,),
    ):
        yield Step(*row)


def contents(db: sqlite3.Connection, record: type[Record]) -> Iterator[Written]:
    """Every content that the records of a sheet ever had, by the change that gave it and then by key."""
    order = attrgetter("change", "key")
    return merge(_never_altered(db, record), sorted(_altered(db, record), key=order), key=order)


def carried(db: sqlite3.Connection, table: Table) -> Iterator[dict[str, Any]]:
    """The rows of one of the `CARRIED` tables, change by change in the order in which they were written."""
    names = [column.name for column in table.columns]
    quoted = ", ".join(f'"{name}"' for name in names)
    for row in db.execute(f"SELECT {quoted} FROM {table.name} ORDER BY change, rowid"):
        yield dict(zip(names, row, strict=True))


def _never_altered(db: sqlite3.Connection, record: type[Record]) -> Iterator[Written]:
    names = stored_names(record)
    for values in db.execute(
        f"SELECT {', '.join(names)} FROM {record.table} WHERE revision = 1 ORDER BY change, {', '.join(record.key)}"
    ):
        row = dict(zip(names, values, strict=True))
        yield Written(row["change"], _key(record, row), row)


def _altered(db: sqlite3.Connection, record: type[Record]) -> Iterator[Written]:
    """Each content of the records that have had several, beside the one before it."""
    names = stored_names(record)
    said: dict[Key, list[dict[str, Any]]] = defaultdict(list)
    for (content,) in db.execute("SELECT content FROM history WHERE sheet = ? ORDER BY id", (record.sheet,)):
        row = earlier_content(record, content)
        said[_key(record, row)].append(row)
    for values in db.execute(f"SELECT {', '.join(names)} FROM {record.table} WHERE revision > 1"):
        row = dict(zip(names, values, strict=True))
        said[_key(record, row)].append(row)
    for key, rows in said.items():
        for before, row in zip([None, *rows], rows, strict=False):
            yield Written(row["change"], key, row, before)


def _key(record: type[Record], row: dict[str, Any]) -> Key:
    return tuple(row[name] for name in record.key)
