"""The invented European list with its mapping."""

from __future__ import annotations

from pathlib import Path

import pytest
from mapped_lists import GERMAN_LIST, GERMAN_MAP, write


@pytest.fixture
def german(tmp_path: Path) -> tuple[Path, Path]:
    return write(tmp_path / "german", GERMAN_LIST, GERMAN_MAP, "latin-1", "liste.csv")
