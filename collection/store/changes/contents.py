"""What one record says now, and what it said before."""

from __future__ import annotations

import sqlite3
from typing import Any

from collection.records.row import Record
from collection.store.base import keys
from collection.store.base.keys import Key
from collection.store.schema.tables import earlier_content, stored_names


def present(db: sqlite3.Connection, record: type[Record], key: Key) -> dict[str, Any]:
    """The stored row with this key, by column."""
    names = stored_names(record)
    row = db.execute(f"SELECT {', '.join(names)} FROM {record.table} WHERE {keys.where(record)}", key).fetchone()
    return dict(zip(names, row, strict=True))


def earlier(db: sqlite3.Connection, record: type[Record], key: Key) -> list[dict[str, Any]]:
    """What the row said before, oldest first."""
    rows = db.execute(
        "SELECT content FROM history WHERE sheet = ? AND key = ? ORDER BY id",
        (record.sheet, keys.shown(record.sheet, key)),
    )
    contents = [earlier_content(record, content) for (content,) in rows]
    return [content for content in contents if tuple(content[name] for name in record.key) == key]
