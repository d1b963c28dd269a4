"""A temporary copy of the database with a survey package ingested, to assess what is not stored yet."""

from __future__ import annotations

import sqlite3
import tempfile
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

from collection.ingest.load import ingest
from collection.store.base import database


@contextmanager
def with_package(db: Path, package: Path) -> Iterator[Path]:
    """A copy of the database with the package ingested, in a temporary folder that is deleted afterwards.

    Records that say something else in the package are taken as amended there.

    :raises InputRefused: when the package has faults, as an ingest would.
    """
    with tempfile.TemporaryDirectory(prefix="firstcoat-") as folder:
        copy = Path(folder) / db.name
        source = database.connect(db, write=False)
        try:
            with closing(sqlite3.connect(copy)) as target:
                source.backup(target)
        finally:
            database.close(source)
        ingest(copy, package, amend="assessed as if it were stored", by="not stored", derived=False)
        yield copy
