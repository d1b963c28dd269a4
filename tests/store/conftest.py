"""A database of the newest version: empty, or with the records of tram_records."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from packaged_rows import store
from tram_records import ROWS

from collection.store.base import database as opening


@pytest.fixture(scope="session")
def empty(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Not to be written to."""
    path = tmp_path_factory.mktemp("empty") / "empty.db"
    opening.create(path)
    return path


@pytest.fixture
def database(empty: Path, tmp_path: Path) -> Path:
    return Path(shutil.copy(empty, tmp_path / "collection.db"))


@pytest.fixture(scope="session")
def taken_in(empty: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = Path(shutil.copy(empty, tmp_path_factory.mktemp("taken_in") / "collection.db"))
    store(path, "A", ROWS)
    return path


@pytest.fixture
def filled(taken_in: Path, tmp_path: Path) -> Path:
    """The records of tram_records, handed in by survey A."""
    shutil.copytree(taken_in.parent, tmp_path / "kept")
    return tmp_path / "kept" / "collection.db"
