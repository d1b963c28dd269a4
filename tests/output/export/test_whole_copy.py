"""`export --as package`, taken into an empty database, gives the same database: facts, rows, history, decisions, files."""

from __future__ import annotations

import re
import shutil
import sqlite3
import tomllib
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from play import ACTS, Play
from registrars_years import BY, LONG_AGO
from site_packages import png
from strategies import object_rows
from whole_copy import Left, contents, copied, everything, told_apart

from collection.cli import run
from collection.ingest import load
from collection.output.export.package import export_package
from collection.records.row import Record
from collection.store.base import database, read
from collection.store.changes.history import changes_of
from collection.store.check import check
from collection.store.decide.decisions import standing
from collection.values.resources import sample_folder


def test_the_years_hold_something_of_everything(left: Left) -> None:
    """Else the tests below would compare what is not there."""
    full = everything(left.source)
    assert [table for table, rows in full.items() if not rows] == []
    acts = sqlite3.connect(left.source).execute("SELECT DISTINCT action FROM changes").fetchall()
    assert {act for (act,) in acts} == {
        *("ingest", "amend", "correct", "withdraw", "reinstate", "same", "rename", "collection"),
        *("decide approve", "decide refuse", "decide defer"),
        *("hang tag", "take off tag"),
    }


def test_every_row_of_every_table_is_the_same(left: Left) -> None:
    """All but the clock's time and the hashes of the chain, which is the copy's own."""
    assert told_apart(left.source, left.copy) == {}
    report = check(left.copy)
    assert report.damage == ()
    assert report.notes == ()


def test_facts_and_standing_decisions_are_the_same(left: Left) -> None:
    """By the hash of each object's facts, and by whether each approval still stands."""
    told = []
    for path in (left.source, left.copy):
        with database.opened(path, write=False) as db:
            facts = db.execute("SELECT object, sha256, stale FROM facts ORDER BY object").fetchall()
            stand = [standing(db, *key) for key in read.proposal_keys(db)]
            told.append((facts, [each and (each.decision, each.stale, each.at) for each in stand]))
    assert told[0] == told[1]
    assert len(told[0][0]) > 14
    assert {each[1] for each in told[0][1] if each} == {False, True}


def test_who_changed_what_why_and_when_is_told_as_it_was(left: Left) -> None:
    """The source was made from 2016 on, the copy today; the history of both tells the days of then."""
    with database.opened(left.source, write=False) as old, database.opened(left.copy, write=False) as new:
        for code in read.object_codes(old):
            assert changes_of(new, code) == changes_of(old, code)
            assert read.object_history(new, code) == read.object_history(old, code)
        days = {change.at[:4] for change in changes_of(new, "T1")}
        assert str(LONG_AGO.year) in days
        stamped = {at[:4] for (at,) in new.execute("SELECT at FROM changes")}
    assert stamped.isdisjoint(days), "the chain of the copy is stamped by its own clock"


def test_an_export_of_the_copy_is_the_same_byte_for_byte(left: Left, tmp_path: Path) -> None:
    export_package(left.copy, tmp_path / "again")
    assert contents(tmp_path / "again") == contents(left.out)


def test_the_index_says_what_each_change_was(left: Left) -> None:
    """As TOML, for whoever has no firstcoat any more."""
    listed = tomllib.loads((left.out / "order.toml").read_text())["step"]
    changes = sqlite3.connect(left.source).execute('SELECT number, action, subject, "by", why, at FROM changes')
    names = ("number", "action", "subject", "by", "why", "at")
    assert [tuple(step[name] for name in names) for step in listed] == changes.fetchall()
    assert listed[0]["folder"] == "0001-ingest-H14"
    assert (left.out / listed[0]["folder"] / "pictures").is_dir()


def test_what_a_change_did_can_be_read_in_its_folder(left: Left) -> None:
    """A corrected cell stands there beside what its row needs, and a cleared one says so."""
    step = next(
        step
        for step in tomllib.loads((left.out / "order.toml").read_text())["step"]
        if step["subject"] == "components T1/door"
    )
    assert step["by"] == BY
    sheet = (left.out / step["folder"] / "components.csv").read_text(encoding="utf-8")
    assert sheet == "object,component,name,area_m2,observed_on\nT1,door,door,not recorded,\n"


@pytest.mark.parametrize(("sheet", "name"), [("pictures", "front.png"), ("sources", "old.png")])
def test_a_file_that_was_replaced_lies_beside_its_row_again(left: Left, sheet: str, name: str) -> None:
    """Under the same name and with another content, so the change that brought it brings it here too."""
    folders = sorted(left.out.glob("*-harbour-1"))
    first, turned = (folder / name for folder in folders if (folder / name).exists())
    assert first.read_bytes() != turned.read_bytes()
    assert turned.read_bytes() == png(width=9)
    assert name in (turned.parent / f"{sheet}.csv").read_text()


def test_each_folder_is_a_survey_package_of_its_own(tmp_path: Path) -> None:
    """The two surveys of the sample, handed in from the export like any survey, give the same facts."""
    harbour, source, other = Path(str(sample_folder())) / "harbour", tmp_path / "a.db", tmp_path / "b.db"
    for path in (source, other):
        database.create(path)
    for survey in ("2014", "2024"):
        load.ingest(source, harbour / survey, amend="second look", by=BY)
    export_package(source, tmp_path / "out")
    for folder in sorted((tmp_path / "out").glob("0*")):
        report = load.ingest(other, folder, amend="second look", by=BY)
        assert report.added
    facts = [
        sqlite3.connect(path).execute("SELECT object, sha256 FROM facts ORDER BY object").fetchall()
        for path in (source, other)
    ]
    assert facts[0] == facts[1]


def test_a_package_that_came_in_before_is_known_to_the_copy(left: Left, tmp_path: Path) -> None:
    """The survey as it was handed in, not only as it was exported: nothing is new in it."""
    copy = tmp_path / "copy.db"
    shutil.copy(left.copy, copy)
    shutil.copytree(left.copy.with_name("copy.db.files"), tmp_path / "copy.db.files")
    report = load.ingest(copy, Path(str(sample_folder())) / "harbour" / "2024", dry_run=True)
    assert not report.added
    kept = {name for (name,) in sqlite3.connect(left.source).execute("SELECT sha256 FROM files")}
    assert kept == {path.parent.name + path.name for path in (tmp_path / "copy.db.files").rglob("*") if path.is_file()}


def play_out(empty: Path, room: Path, data: st.DataObject, rows: list[Record], acts: list[object]) -> None:
    path = Path(shutil.copy(empty, room / "play.db"))
    play = Play(path, rows)
    try:
        for act in acts:
            act(play, data)  # type: ignore[operator]
    finally:
        database.close(play.db)
    out, copy = copied(path, room)
    assert told_apart(path, copy) == {}
    assert check(copy).damage == ()
    export_package(copy, room / "again")
    assert contents(room / "again") == contents(out)
    shutil.rmtree(room)


@pytest.fixture(scope="session")
def empty(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("empty") / "empty.db"
    database.create(path)
    return path


PLAYED = given(st.data(), object_rows(), st.lists(st.sampled_from(ACTS), min_size=1, max_size=10))


@pytest.mark.slow
@settings(max_examples=max(settings().max_examples // 20, 1))
@PLAYED
def test_whatever_was_done_to_a_collection_is_done_to_its_copy(
    empty: Path, tmp_path_factory: pytest.TempPathFactory, data: st.DataObject, rows: list[Record], acts: list[object]
) -> None:
    """Packages with odd characters, dates, extremes and blanks, corrections, withdrawals and names in any order."""
    play_out(empty, tmp_path_factory.mktemp("play"), data, rows, acts)


@pytest.mark.slow
@settings(max_examples=settings().max_examples)
@PLAYED
def test_the_same_for_many_collections(
    empty: Path, tmp_path_factory: pytest.TempPathFactory, data: st.DataObject, rows: list[Record], acts: list[object]
) -> None:
    play_out(empty, tmp_path_factory.mktemp("play"), data, rows, acts)


def test_the_commands_say_what_went_out_and_what_came_in(
    left: Left, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    assert run(["export", str(left.source), "out", "--as", "package"]) == 0
    said = capsys.readouterr().out
    assert "withdraw 4" in said
    assert "It is whole, for staff: names of people, private columns, notes, withdrawn records" in said
    assert "Not in it is what is computed" in said
    assert run(["init", "new.db"]) == 0
    assert run(["ingest", "new.db", "out"]) == 0
    assert run(["ingest", "new.db", "out"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert re.fullmatch(r"out: \d+ changes of another database were taken in\.", lines[1])
    assert lines[-1] == "out: the same as what is stored; nothing was changed."
