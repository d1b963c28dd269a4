"""A temporary copy of the database with a survey package ingested, to assess what is not stored yet."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from collection.ingest.load import ingest
from collection.store.base import database
from collection.store.schema.database_copy import copy_database


@contextmanager
def with_package(db: Path, package: Path) -> Iterator[Path]:
    """A copy of the database with the package ingested, in a temporary folder that is deleted afterwards.

    Records that say something else in the package are taken as amended there.

    :raises InputRefused: when the package has faults, as an ingest would.
    """
    with tempfile.TemporaryDirectory(prefix="firstcoat-") as folder:
        copy = Path(folder) / db.name
        with database.opened(db, write=False) as source:
            copy_database(source, copy)
        ingest(copy, package, amend="assessed as if it were stored", by="not stored", derived=False)
        yield copy
