"""A database of the newest version: empty, or with the records of tram_records."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from packaged_rows import store
from tram_records import ROWS

from collection.records.sheets import Layer, Object, Sample
from collection.store.base import database


@pytest.fixture(scope="session")
def empty(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Not to be written to."""
    path = tmp_path_factory.mktemp("empty") / "empty.db"
    database.create(path)
    return path


@pytest.fixture
def new_db(empty: Path, tmp_path: Path) -> Path:
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


@pytest.fixture
def stored(new_db: Path) -> Path:
    """Two objects, a sample and two layers of survey A."""
    rows = [
        Object(object="1/2", title="hand pump", kind="pump"),
        Object(object="3", title="tram", kind="tram"),
        Sample(object="3", sample="S1", place="all", method="cross-section"),
        Layer(object="3", sample="S1", position=1, role="primer", thickness_um=0.1 + 0.2),
        Layer(object="3", sample="S1", position=2, role="body colour", colour="naïve 漆 'red'"),
    ]
    store(new_db, "A", rows)
    return new_db
