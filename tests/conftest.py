"""Shared set-up: the tests' own modules are importable, an empty database, the SQLite version in the header."""

from __future__ import annotations

import os
import sqlite3
import sys
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings

from collection.store import open as opening

sys.path.insert(0, str(Path(__file__).parent))

settings.register_profile("firstcoat", deadline=None, suppress_health_check=[HealthCheck.too_slow],
                          max_examples=int(os.environ.get("FIRSTCOAT_EXAMPLES", "100")))
settings.load_profile("firstcoat")


@pytest.fixture
def db(tmp_path: Path) -> Path:
    """An empty database."""
    path = tmp_path / "collection.db"
    opening.create(path)
    return path


def pytest_report_header() -> str:
    return f"SQLite {sqlite3.sqlite_version}"
