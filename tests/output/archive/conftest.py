"""A small collection and its archive; for reading only."""

from __future__ import annotations

from pathlib import Path

import pytest
from archived import small_collection

from collection.output.archive.archive import archive


@pytest.fixture(scope="package")
def small(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return small_collection(tmp_path_factory.mktemp("small"))


@pytest.fixture(scope="package")
def kept(small: Path) -> Path:
    """The archive of everything."""
    archive(small, small.parent / "kept", papers=True)
    return small.parent / "kept"
