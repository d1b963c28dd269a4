"""Publishing on all cores, and again over a site: the same bytes as by one process, and anew."""

from __future__ import annotations

import os
import shutil
import signal
import sqlite3
import subprocess
import sys
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from published_secrets import Secrets
from site_packages import database_of, object_rows, write_package

from collection.ingest.load import ingest
from collection.language.errors import DamageFound
from collection.output.published.audience import Audience
from collection.output.site import computed_objects, publish, workers
from collection.output.site.checksums import CHECKSUMS
from collection.store.base import database, files
from collection.store.changes import collection_row, corrections, statements
from collection.store.changes.tags import Tag, hang

pytestmark = pytest.mark.slow

BY, WHY = "R. Registrar", "seen again"
CODES = ("A-1", "B-1", "C-1", "D-1")
SURVEY = {"code": "S1", "title": "a survey", "lead": "A. Surveyor", "started": "2019-05-01"}


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Four objects with a row in every sheet, pictures among them, and their site."""
    folder = tmp_path_factory.mktemp("made")
    rows: dict[str, list[dict[str, Any]]] = {}
    for code in CODES:
        for sheet, own in object_rows(code, Secrets(f"W{code[0]}")).items():
            rows.setdefault(sheet, []).extend(own)
    publish.publish(database_of(folder / "c.db", write_package(folder / "p", SURVEY, rows)), folder / "site")
    return folder


@pytest.fixture
def desk(made: Path, tmp_path: Path) -> tuple[Path, Path]:
    """A database of one's own, and its site."""
    shutil.copytree(made, tmp_path / "own")
    return tmp_path / "own" / "c.db", tmp_path / "own" / "site"


def test_any_number_of_processes_gives_the_same_site(
    desk: tuple[Path, Path], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """One object at a time, so that each of the workers is given two."""
    monkeypatch.setattr(workers, "AT_ONCE", 1)
    publish.publish(desk[0], tmp_path / "by two", processes=2)
    assert (tmp_path / "by two" / CHECKSUMS).read_text() == (desk[1] / CHECKSUMS).read_text()


@pytest.mark.slow
def test_what_is_written_meanwhile_is_not_published(desk: tuple[Path, Path]) -> None:
    """A correction between the beginning and the start of the workers: they see another state, and say so."""
    with database.opened(desk[0], write=False) as connection:
        connection.execute("BEGIN")
        shown = [code for (code,) in connection.execute("SELECT object FROM live_objects ORDER BY object")]
        state = computed_objects.state_of(connection)
        task = computed_objects.Task(
            desk[0], desk[0].parent / "pictures", Audience(), frozenset(shown), state, "2024-07-01", "", None
        )
        corrections.correct(desk[0], "objects", CODES[1], {"title": "A later title"}, BY, WHY)
        found = {rows.code: rows for rows in workers.computed(connection, task, shown, processes=2)}
    assert list(found) == shown
    assert found[CODES[1]].rows["objects"][0]["title"] != "A later title"


@pytest.mark.slow
def test_what_a_worker_meets_is_told_as_by_one_process(desk: tuple[Path, Path], tmp_path: Path) -> None:
    for path in files.folder_of(desk[0]).rglob("*"):
        if path.is_file() and path.read_bytes()[:4] == b"\x89PNG":
            path.chmod(0o600)
            path.write_bytes(path.read_bytes() + b"more")
    said = []
    for processes in (0, 2):
        with pytest.raises(DamageFound) as told:
            publish.publish(desk[0], tmp_path / "out", processes=processes)
        said.append(str(told.value))
    assert said[0] == said[1]
    assert not (tmp_path / "out").exists()


KILLED = """
import sys
from pathlib import Path
from collection.output.site import workers
from collection.output.site.publish import publish
if __name__ == "__main__":
    workers.AT_ONCE = 1
    publish(Path(sys.argv[1]), Path(sys.argv[2]), processes=2)
"""


@pytest.mark.slow
def test_workers_end_with_the_process_that_started_them(desk: tuple[Path, Path], tmp_path: Path) -> None:
    script = tmp_path / "killed.py"
    script.write_text(KILLED)
    begun = subprocess.Popen([sys.executable, script, desk[0], tmp_path / "out"])
    while len(started := children(begun.pid)) < 2 and begun.poll() is None:
        time.sleep(0.02)
    begun.send_signal(signal.SIGKILL)
    begun.wait()
    while any(is_alive(pid) for pid in started):  # the time limit of the tests ends this where they never end
        time.sleep(0.05)
    assert not (tmp_path / "out").exists()


def children(pid: int) -> list[int]:
    """The processes that work for another, by what Linux tells of it."""
    try:
        numbers = Path(f"/proc/{pid}/task/{pid}/children").read_text().split()
        return [int(n) for n in numbers if b"spawn_main" in Path(f"/proc/{n}/cmdline").read_bytes()]
    except OSError:
        return []


def is_alive(pid: int) -> bool:
    try:
        os.kill(pid, 0)
        return "State:\tZ" not in Path(f"/proc/{pid}/status").read_text()
    except OSError:
        return False


def again(db: Path, site: Path, **options: Any) -> int:
    """Publishes over the site and beside it, which gives the same bytes and report; how many objects were taken over."""
    fresh = site.parent / "fresh"
    told = publish.publish(db, fresh, **options)
    report = publish.publish(db, site, replace=True, **options)
    assert (site / CHECKSUMS).read_text() == (fresh / CHECKSUMS).read_text()
    assert report == replace(told, folder=str(site), taken_over=report.taken_over)
    return report.taken_over


TAG = Tag("", 0, "tag", "public", "a" * 64, None, "2026-05-01", "left door", "N. N.", "2026-05-03")
CHANGES: dict[str, tuple[Callable[[Path], Any], int]] = {
    "nothing": (lambda db: None, 0),
    "one cell corrected": (
        lambda db: corrections.correct(db, "objects", CODES[1], {"title": "A better title"}, BY, WHY),
        1,
    ),
    "a note for staff corrected": (
        lambda db: corrections.correct(db, "objects", CODES[1], {"notes": "kept in the shed"}, BY, WHY),
        1,
    ),
    "an object withdrawn": (lambda db: corrections.withdraw(db, "objects", CODES[0], BY, WHY), 0),
    "a tag hung": (lambda db: hang(db, replace(TAG, object=CODES[1])), 1),
    "an object renamed": (lambda db: statements.rename(db, "objects", CODES[1], "A-0", BY, WHY), 1),
}
"""What changes, and how many of the objects that are left are computed again."""


@pytest.mark.parametrize("what", CHANGES)
def test_replacing_computes_again_only_what_changed(desk: tuple[Path, Path], what: str) -> None:
    """And gives byte for byte what publishing anew gives: rows before and after it are numbered as there."""
    db, site = desk
    change, anew = CHANGES[what]
    change(db)
    left = len(CODES) - (what == "an object withdrawn")
    assert again(db, site) == left - anew


def test_replacing_after_a_survey_came_and_was_withdrawn(desk: tuple[Path, Path], tmp_path: Path) -> None:
    """A second survey brings one object a letter: that object alone is computed again, when it comes and when it goes."""
    db, site = desk
    letter = {"object": CODES[2], "source": "Q7", "kind": "letter", "title": "a letter"}
    ingest(db, write_package(tmp_path / "p2", {**SURVEY, "code": "S2", "title": "another"}, {"sources": [letter]}))
    assert again(db, site) == len(CODES) - 1
    shutil.rmtree(site.parent / "fresh")
    corrections.withdraw(db, "survey", "S2", BY, WHY)
    assert again(db, site) == len(CODES) - 1


def test_replacing_after_the_collection_has_another_contact(desk: tuple[Path, Path]) -> None:
    """That is on its tags: the one object with a tag is computed again, for the tag names nobody to ask."""
    db, site = desk
    hang(db, replace(TAG, object=CODES[1]))
    publish.publish(db, site, replace=True)
    collection_row.state(db, {"contact": "the registrar"}, BY, WHY)
    assert again(db, site) == len(CODES) - 1


def test_another_program_computes_everything_anew(
    desk: tuple[Path, Path], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setattr(publish, "program_checksum", lambda: "another")
    assert again(*desk) == 0


def test_people_who_were_not_named_are_named_in_every_object(desk: tuple[Path, Path]) -> None:
    assert again(*desk, names=True) == 0


def test_what_runs_out_is_looked_at_again_on_another_day(tmp_path: Path) -> None:
    """Of two objects the one with advice that has a last day is computed again, for its threats may be others now."""
    db, site = tmp_path / "c.db", tmp_path / "site"
    database.create(db)
    advice = {"object": "A-1", "advice": "A1", "place": "all", "what": "Look again", "given_on": "2020-01-01"}
    rows = {
        "objects": [{"object": code, "title": "a door", "kind": "door"} for code in ("A-1", "B-1")],
        "advice": [{**advice, "until": "2024-06-30"}],
    }
    ingest(db, write_package(tmp_path / "p1", SURVEY, rows))
    publish.publish(db, site)
    with sqlite3.connect(site / "collection.db") as connection:
        stored = connection.execute("SELECT inputs FROM computed ORDER BY object").fetchall()
    with database.opened(db, write=False) as connection:
        found = []
        for day in ("2024-06-01", "2024-07-01"):
            task = computed_objects.Task(
                db, site, Audience(), frozenset(("A-1", "B-1")), None, day, computed_objects.program_checksum(), None
            )
            made = computed_objects.ComputedObjects(connection, task)
            found.append([made[code].rows["computed"][0]["inputs"] for code in ("A-1", "B-1")])
    assert found[0][0] != found[1][0]
    assert found[0][1] == found[1][1] == stored[1][0]


def test_nothing_is_taken_over_from_a_file_that_was_changed(desk: tuple[Path, Path]) -> None:
    """A title changed in the published file by hand is gone after publishing over it."""
    db, site = desk
    with sqlite3.connect(site / "collection.db") as connection:
        connection.execute("UPDATE objects SET title = 'changed by hand'")
    connection.close()
    assert again(db, site) == 0


def test_an_image_that_was_changed_is_made_again(desk: tuple[Path, Path]) -> None:
    db, site = desk
    image = sorted((site / "pictures").iterdir())[0]
    image.write_bytes(b"changed")
    assert again(db, site) == 0
