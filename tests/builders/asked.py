"""Questions put to a database in plain SQL, for the tests."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from collection.store.base import database


def ask(db: Path, sql: str, *values: Any) -> list[tuple[Any, ...]]:
    with database.opened(db, write=False) as connection:
        return connection.execute(sql, values).fetchall()
