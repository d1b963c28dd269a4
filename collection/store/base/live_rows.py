"""Every row that counts, table by table, as it is stored."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from typing import Any

from collection.records.sheets import SHEETS
from collection.store.base.chain import DIGESTED
from collection.store.schema.system_tables import CHANGES, HISTORY, PLACES
from collection.store.schema.tables import StoredColumn, Table, record_table

VIEWED = frozenset(record.table for record in SHEETS) | {PLACES.name}
"""Tables of which only some rows count; their view holds those."""


def live_tables() -> list[tuple[Table, tuple[StoredColumn, ...]]]:
    """The tables of the sheets, and the program's own but for the history, with the columns that say anything."""
    own = (table for table in DIGESTED if table is not HISTORY)
    listed = [*(record_table(record) for record in SHEETS), PLACES, *own, CHANGES]
    return [(table, tuple(column for column in table.columns if column.name != "withdrawn")) for table in listed]


def live_rows(db: sqlite3.Connection, table: Table, columns: tuple[StoredColumn, ...]) -> Iterator[tuple[Any, ...]]:
    """The rows of a table that count, sorted by key."""
    names = ", ".join(f'"{column.name}"' for column in columns)
    source = f"live_{table.name}" if table.name in VIEWED else table.name
    order = ", ".join(f'"{part}"' for part in table.key)
    yield from db.execute(f"SELECT {names} FROM {source} ORDER BY {order}")
