"""A database with secrets, and the sites published from it."""

from __future__ import annotations

from pathlib import Path

import pytest
from published_secrets import filled_in_database

from collection.output.site.publish import publish


@pytest.fixture(scope="session")
def filled_in(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return filled_in_database(tmp_path_factory.mktemp("filled_in"))


@pytest.fixture(scope="session")
def site(filled_in: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    out = tmp_path_factory.mktemp("site") / "out"
    publish(filled_in, out)
    return out


@pytest.fixture(scope="session")
def staff_site(filled_in: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    out = tmp_path_factory.mktemp("staff") / "out"
    assert publish(filled_in, out, staff=True).withheld == {}
    return out
