"""The list of bottles at hand."""

from __future__ import annotations

from pathlib import Path

import pytest
from open_surveys import HAVE


@pytest.fixture
def have(tmp_path: Path) -> Path:
    path = tmp_path / "bottles.toml"
    path.write_text(HAVE)
    return path
