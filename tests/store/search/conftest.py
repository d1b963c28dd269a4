"""Small collections drawn at random, as searches find them: files, open connections, and the facts of every object."""

from __future__ import annotations

import shutil
import sqlite3
from collections.abc import Iterator
from pathlib import Path

import pytest
from small_collection import SEEDS, write_small

from collection.cli import run
from collection.records.facts import Facts
from collection.store.base import database, read


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> dict[int, Path]:
    folder = tmp_path_factory.mktemp("search")
    found = {}
    for seed in SEEDS:
        path = folder / f"{seed}.db"
        assert run(["init", str(path)]) == 0
        assert run(["ingest", str(path), str(write_small(folder / f"package-{seed}", seed))]) == 0
        found[seed] = path
    return found


@pytest.fixture(scope="module")
def opened(made: dict[int, Path]) -> Iterator[dict[int, database.Database]]:
    connections = {seed: database.connect(path, write=False) for seed, path in made.items()}
    yield connections
    for connection in connections.values():
        database.close(connection)


@pytest.fixture(scope="module")
def known(opened: dict[int, sqlite3.Connection]) -> dict[int, list[Facts]]:
    return {seed: list(read.facts_in_bulk(db)) for seed, db in opened.items()}


@pytest.fixture
def db(made: dict[int, Path], tmp_path: Path) -> Iterator[database.Database]:
    copy = tmp_path / "own.db"
    shutil.copy(made[1], copy)
    connection = database.connect(copy, write=True)
    yield connection
    database.close(connection)
