"""A database with two trams and pairs of codes that may be one thing."""

from __future__ import annotations

from pathlib import Path

import pytest
from coded_package import coded_package
from same_things import TWO

from collection.ingest import load
from collection.store.base import database


@pytest.fixture
def db(tmp_path: Path) -> Path:
    path = tmp_path / "collection.db"
    database.create(path)
    load.ingest(path, coded_package(tmp_path / "package", sheets=TWO))
    return path
