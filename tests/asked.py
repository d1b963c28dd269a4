"""Questions put to a database in plain SQL, for the tests."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from collection.store import open as opening


def ask(db: Path, sql: str, *values: Any) -> list[tuple[Any, ...]]:
    with opening.opened(db, write=False) as connection:
        return connection.execute(sql, values).fetchall()
