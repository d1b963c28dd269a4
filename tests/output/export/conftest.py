"""A database with everything that can happen in one, its export, and the copy made of that; for reading only."""

from __future__ import annotations

import pytest
from registrars_years import registrars_years
from whole_copy import Left, copied


@pytest.fixture(scope="package")
def left(tmp_path_factory: pytest.TempPathFactory) -> Left:
    room = tmp_path_factory.mktemp("years")
    source = registrars_years(room)
    return Left(source, *copied(source, room))
