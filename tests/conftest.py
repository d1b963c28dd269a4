"""Shared set-up: the tests' own modules are importable, and the SQLite version stands in the header."""

from __future__ import annotations

import os
import sqlite3
import sys
from pathlib import Path

from hypothesis import HealthCheck, settings

sys.path.insert(0, str(Path(__file__).parent))

settings.register_profile("firstcoat", deadline=None, suppress_health_check=[HealthCheck.too_slow],
                          max_examples=int(os.environ.get("FIRSTCOAT_EXAMPLES", "100")))
settings.load_profile("firstcoat")


def pytest_report_header() -> str:
    return f"SQLite {sqlite3.sqlite_version}"
