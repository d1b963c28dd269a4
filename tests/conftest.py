"""Shared set-up: the tests' own modules are importable, an empty database, the SQLite version in the header."""

from __future__ import annotations

import os
import sqlite3
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings

from collection.ingest.load import ingest
from collection.store.base import database
from collection.store.schema import draft

# The same examples in every run, so that a change is blamed for what it broke and for nothing else; asked for a number,
# each run draws others.
settings.register_profile(
    "firstcoat",
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow],
    derandomize="FIRSTCOAT_EXAMPLES" not in os.environ,
    max_examples=int(os.environ.get("FIRSTCOAT_EXAMPLES", "100")),
)
settings.load_profile("firstcoat")


@pytest.fixture
def db(tmp_path: Path) -> Path:
    """An empty database."""
    path = tmp_path / "collection.db"
    database.create(path)
    return path


@pytest.fixture(scope="session")
def harbour(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A database with both surveys of the invented sample; for reading only."""
    folder = Path(__file__).parents[1] / "sample_db" / "harbour"
    db = tmp_path_factory.mktemp("harbour") / "c.db"
    database.create(db)
    ingest(db, folder / "2014")
    ingest(db, folder / "2024", amend="second survey", by="N. N.")
    return db


def pytest_sessionstart() -> None:
    """Nothing can be stored where a migration is missing: say that once, and not in every test."""
    told = draft.asked_for(Path(__file__).parents[1] / "schema")
    if told:
        pytest.exit(told, returncode=pytest.ExitCode.TESTS_FAILED)


def pytest_report_header() -> str:
    return f"SQLite {sqlite3.sqlite_version}"
