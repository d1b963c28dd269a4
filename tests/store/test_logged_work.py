"""The logged hours of a whole collection are those of its objects, with what was withdrawn left out and renames followed."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from collection.cli import run
from collection.compute.case import Case
from collection.compute.effort.logs import Logged, logged, together
from collection.store.base import database, read
from collection.store.logged_work import logged_work

BY = ("--by", "N. N.", "--reason", "put right")


@pytest.fixture
def own(harbour: Path, tmp_path: Path) -> Path:
    return Path(shutil.copytree(harbour.parent, tmp_path / "own")) / harbour.name


def found(db: Path) -> Logged:
    with database.opened(db, write=False) as connection:
        whole = logged_work(connection)
        each = together(logged(Case(facts)) for facts in read.facts_in_bulk(connection))
    assert whole == each, "reading only the objects with hours leaves nothing out"
    return whole


def test_a_withdrawn_treatment_no_longer_counts(own: Path) -> None:
    before = found(own)
    assert run(["withdraw", str(own), "treatments", "OHM-1974-21/T18", *BY]) == 0
    after = found(own)
    gone = {log.key for log in before.logs} - {log.key for log in after.logs}
    assert gone == {f"OHM-1974-21/T18/{step}" for step in (1, 2, 3)}
    assert after.steps == before.steps - 3


def test_a_renamed_object_keeps_its_logs_under_its_present_code(own: Path) -> None:
    before = found(own)
    assert run(["rename", str(own), "objects", "OHM-1974-21", "OHM-1974-99", *BY]) == 0
    after = found(own)
    assert after.steps == before.steps
    assert sum(log.part.startswith("OHM-1974-99/") for log in after.logs) == sum(
        log.part.startswith("OHM-1974-21/") for log in before.logs
    )


def test_of_an_object_without_hours_only_what_counts_is_counted(own: Path) -> None:
    """The bench has one step with hours; with that cell blank its nine steps are counted and not read, and eight once its
    oldest treatment is withdrawn."""
    before = found(own)
    assert run(["correct", str(own), "treatment_steps", "OHM-1962-40/T88/1", "hours=not recorded", *BY]) == 0
    assert found(own).why_not()["says no hours"] == before.why_not()["says no hours"] + 1
    assert run(["withdraw", str(own), "treatments", "OHM-1962-40/T05", *BY]) == 0
    assert found(own).steps == before.steps - 1
