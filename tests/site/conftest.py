"""The invented harbour collection as a published site."""

from __future__ import annotations

from pathlib import Path

import pytest
from site_answers import harbour_site


@pytest.fixture(scope="session")
def harbour(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The published site of both surveys; for reading only."""
    return harbour_site(tmp_path_factory.mktemp("harbour"))
