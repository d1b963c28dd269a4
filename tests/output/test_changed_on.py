"""The day on a report or tag: that of the newest change that touched the object, and of no other object's."""

from __future__ import annotations

import shutil
import sqlite3
from collections.abc import Callable
from datetime import datetime, tzinfo
from pathlib import Path

import pytest

from collection.output.published.audience import STAFF
from collection.output.site.computed_objects import told_object
from collection.store.base import chain, database, files
from collection.store.changes import corrections, statements
from collection.store.decide import decisions

BY = "R. Registrar"
ONE, OTHER = "OHM-1962-7", "OHM-1974-21"


@pytest.fixture
def desk(harbour: Path, tmp_path: Path) -> Path:
    db = tmp_path / "collection.db"
    shutil.copy(harbour, db)
    shutil.copytree(files.folder_of(harbour), files.folder_of(db))
    return db


@pytest.fixture
def on(monkeypatch: pytest.MonkeyPatch) -> Callable[[str], None]:
    def set_clock(day: str) -> None:
        class Clock(datetime):
            @classmethod
            def now(cls, tz: tzinfo | None = None) -> Clock:
                return cls.fromisoformat(f"{day}T12:00:00").replace(tzinfo=tz)

        monkeypatch.setattr(chain, "datetime", Clock)

    return set_clock


def day_of(db: Path, code: str, folder: Path) -> str:
    with database.opened(db, write=False) as connection:
        found: str = told_object(connection, db, code, STAFF, folder)["changed_on"]
        return found


def test_each_kind_of_change_to_an_object_moves_its_day_and_no_other(
    desk: Path, tmp_path: Path, on: Callable[[str], None]
) -> None:
    before = day_of(desk, OTHER, tmp_path / "p")
    with sqlite3.connect(desk) as connection:
        (sample,) = connection.execute("SELECT sample FROM live_layers WHERE object = ? LIMIT 1", (ONE,)).fetchone()
        (test,) = connection.execute("SELECT test FROM live_tests WHERE object = ? LIMIT 1", (ONE,)).fetchone()
    done: list[tuple[str, Callable[[], object]]] = [
        ("2031-01-01", lambda: corrections.correct(desk, "objects", ONE, {"title": "Another"}, BY, "seen again")),
        ("2031-01-02", lambda: corrections.correct(desk, "layers", f"{ONE}/{sample}/1", {"colour": "red"}, BY, "seen")),
        ("2031-01-03", lambda: corrections.withdraw(desk, "tests", f"{ONE}/{test}", BY, "another object's")),
        ("2031-01-04", lambda: corrections.reinstate(desk, "tests", f"{ONE}/{test}", BY, "it was this one's")),
        ("2031-01-05", lambda: decisions.decide(desk, ONE, "P1", "refuse", by=BY, reason="enough")),
        ("2031-01-06", lambda: statements.rename(desk, "samples", f"{ONE}/{sample}", "S-NEW", BY, "its label")),
    ]
    for day, change in done:
        on(day)
        change()
        assert day_of(desk, ONE, tmp_path / "p") == day
    assert day_of(desk, OTHER, tmp_path / "p") == before
