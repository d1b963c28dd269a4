"""A database of the sample surveys, taken in by the command, and a copy to change."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from collection.cli import run

SAMPLE = Path(__file__).resolve().parents[3] / "sample_db" / "harbour"
AMENDED = ("--amend", "put right by the second look", "--by", "R. Person")


@pytest.fixture(scope="module")
def filled(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("show") / "c.db"
    assert run(["init", str(path)]) == 0
    for package in sorted(p for p in SAMPLE.iterdir() if (p / "survey.toml").is_file()):
        assert run(["ingest", str(path), str(package), *AMENDED]) == 0
    return path


@pytest.fixture
def db(filled: Path, tmp_path: Path) -> Path:
    shutil.copytree(filled.parent, tmp_path / "own")
    return tmp_path / "own" / filled.name
