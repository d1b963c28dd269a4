"""What `show` prints, and the codes of a database's objects."""

from __future__ import annotations

from pathlib import Path

import pytest

from collection.cli import run
from collection.store.base import database, read


def shown(capsys: pytest.CaptureFixture[str], *words: object, code: int = 0) -> str:
    capsys.readouterr()
    assert run(["show", *map(str, words)]) == code
    out = capsys.readouterr()
    return out.out if code == 0 else out.err


def codes(path: Path) -> list[str]:
    with database.opened(path, write=False) as connection:
        return read.object_codes(connection)
