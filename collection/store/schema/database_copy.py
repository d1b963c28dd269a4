"""A whole copy of a database while others work on it, by SQLite's own way of copying (its backup API)."""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Callable
from pathlib import Path

PAGES = 1_000
"""Pages copied at a time, between which progress is told."""


def copy_database(
    db: sqlite3.Connection, target: Path, progress: Callable[[int, int], None] = lambda done, whole: None
) -> None:
    """Copy an open database to a new file, as it is at this moment, and make sure that the copy lasts.

    Everything is read in one transaction, so that whoever writes meanwhile neither waits nor is seen. What fails leaves
    no file.

    :param progress: told how many pages of how many are copied.
    """
    own = not db.in_transaction
    if own:
        db.execute("BEGIN")
    try:
        db.execute("SELECT 1 FROM sqlite_master LIMIT 1").fetchone()  # only now the moment is fixed
        copy = sqlite3.connect(target)
        try:
            db.backup(copy, pages=PAGES, progress=lambda _, left, whole: progress(whole - left, whole))
        finally:
            copy.close()
        with target.open("rb") as file:
            os.fsync(file.fileno())
    except BaseException:
        for end in ("", "-journal", "-wal", "-shm"):
            target.with_name(target.name + end).unlink(missing_ok=True)
        raise
    finally:
        if own:
            db.execute("ROLLBACK")
