"""A desk for every hostile package, and no more memory than a small computer has."""

from __future__ import annotations

import resource
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest
from faults import spoiled
from hostile_desk import Desk

from collection.store.base import database


@pytest.fixture
def desk(tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Desk:
    made = Desk(tmp_path, capsys)
    database.create(made.db)
    for name in ("temporary", "here"):
        (tmp_path / name).mkdir()
    monkeypatch.chdir(tmp_path / "here")
    monkeypatch.setenv("TMPDIR", str(tmp_path / "temporary"))
    monkeypatch.setenv("SQLITE_TMPDIR", str(tmp_path / "temporary"))
    monkeypatch.setattr(tempfile, "tempdir", None)
    spoiled.write(made.package, spoiled.SOUND)
    return made


@pytest.fixture(autouse=True)
def _limits() -> Iterator[None]:
    """No test may need more address space than a small computer has."""
    before = resource.getrlimit(resource.RLIMIT_AS)
    resource.setrlimit(resource.RLIMIT_AS, (min(8 << 30, before[1]) if before[1] > 0 else 8 << 30, before[1]))
    yield
    resource.setrlimit(resource.RLIMIT_AS, before)
