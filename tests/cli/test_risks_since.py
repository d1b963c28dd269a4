"""`risks --since`: what is new or worse by the changes of the database and by the calendar, its exit code, its letter."""

from __future__ import annotations

import io
import json
import shutil
from pathlib import Path
from typing import Any

import packaged_rows as p
import pikepdf
import pytest
from two_looks import DOOR, GREEN, NOW, OBJ, RED, THEN, VARNISH, read, seen, work

from collection.cli import run
from collection.compute.risk.ranking import AtRisk
from collection.compute.risk.watch import moved
from collection.language.errors import DONE, USAGE, WARNED
from collection.output.report.letter import letter_pdf, letter_told
from collection.records.policy import default_policy
from collection.records.sheets import Object, Proposal, ProposalStep, Record, Survey
from collection.store.base import database
from collection.store.base import read as stored
from collection.store.changes import corrections, statements
from collection.store.decide.decisions import decide
from collection.store.derive import mark_stale
from collection.store.rewound import changes_since, rewound
from collection.store.risks import at_risk
from collection.store.watch import Watched, watched

POLICY = default_policy()
BY, WHY = "N. N.", "put right"


def bring(db: Path, code: str, *rows: Record) -> None:
    p.store(db, code, [Survey(code=code, title="trial", lead=p.LEAD, started="2020"), *rows])


@pytest.fixture
def door(db: Path) -> Path:
    """A door whose red is the maker's, under green; it flakes slightly."""
    about: list[Record] = [Object(object=OBJ, title="a door", kind="door"), *DOOR]
    bring(db, "A", *about, *read("S1", THEN, RED, VARNISH, GREEN), seen(THEN, severity=1, extent_pct=5.0, active="yes"))
    return db


def answer(capsys: pytest.CaptureFixture[str], db: Path, *words: str, code: int) -> dict[str, Any]:
    assert run(["risks", str(db), *words, "--json"]) == code
    found: dict[str, Any] = json.loads(capsys.readouterr().out)
    return found


def newest(db: Path) -> str:
    """When the newest change was made."""
    with database.opened(db, write=False) as connection:
        at: str = connection.execute("SELECT at FROM changes ORDER BY number DESC LIMIT 1").fetchone()[0]
    return at


def test_a_second_look_that_saw_more_flaking_is_worse_and_a_scheduler_is_told(
    door: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """From slight on 5 % to severe on 25 % of the top: the same threat, graver. Nothing else about it is new."""
    bring(door, "B", seen(NOW, severity=3, extent_pct=25.0, active="yes"))
    found = answer(capsys, door, "--since", newest(door), code=WARNED)
    (worse,) = [row for row in found["moved"] if row["what"] == "worse"]
    assert (worse["object"], worse["kind"], worse["place"]) == (OBJ, "finish that fails", "top")
    assert {"kind": "conditions", "key": f"{OBJ}/top/flaking/{NOW}"} in worse["evidence"]
    assert worse["now"]["magnitude"][1] > worse["before"]["magnitude"][1] + POLICY.risk.told_from
    assert (found["worse"], found["new"], found["changes"], found["nothing_before"]) == (1, 0, 1, False)


def test_flaking_that_stopped_is_gone_and_no_alarm(door: Path, capsys: pytest.CaptureFixture[str]) -> None:
    bring(door, "B", seen(NOW, severity=1, extent_pct=5.0, active="no"))
    found = answer(capsys, door, "--since", newest(door), code=DONE)
    assert [(row["what"], row["kind"], row["now"]) for row in found["moved"]] == [("gone", "finish that fails", None)]


def test_where_nothing_was_recorded_nothing_is_told(door: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["risks", str(door), "--since", "2999-01-01", "--on", "2999-01-02"]) == DONE
    assert "Nothing was recorded since then." in capsys.readouterr().out


def test_everything_is_new_where_nothing_was_recorded_before(door: Path, capsys: pytest.CaptureFixture[str]) -> None:
    found = answer(capsys, door, "--since", "2000-01-01", code=WARNED)
    assert found["nothing_before"]
    assert {row["what"] for row in found["moved"]} == {"new"}


def test_a_temporary_facing_that_runs_out_is_new_on_the_day_after(
    door: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """It was to stay until the last of June 2990. A run that asks what is new since the first of July, and so compares
    with the evening before, is told on that day; one that asks since the second was told before. Nobody changed anything."""
    step = {"action": "coat"}
    bring(door, "B", *work("T1", "2024", step, temporary_until="2990-06-30"))
    found = answer(capsys, door, "--since", "2990-07-01", "--on", "2990-07-01", code=WARNED)
    assert [(row["what"], row["kind"]) for row in found["moved"]] == [("new", "past its date")]
    assert found["changes"] == 0
    answer(capsys, door, "--since", "2990-06-30", "--on", "2990-06-30", code=DONE)
    answer(capsys, door, "--since", "2990-07-02", "--on", "2990-07-05", code=DONE)


def test_an_object_that_comes_makes_no_other_one_worse_or_better(
    door: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The door is half of the collection then, and not all of it, which is no good news of the door."""
    bring(door, "B", Object(object="T.2", title="a cart", kind="cart"))
    found = answer(capsys, door, "--since", newest(door), code=WARNED)
    assert {row["object"] for row in found["moved"]} == {"T.2"}
    only = answer(capsys, door, OBJ, "--since", newest(door), code=DONE)
    assert only["moved"] == []


def test_a_renamed_object_is_the_same_one(door: Path, capsys: pytest.CaptureFixture[str]) -> None:
    statements.rename(door, "objects", OBJ, "T.9", BY, WHY)
    assert answer(capsys, door, "--since", newest(door), code=DONE)["moved"] == []


@pytest.mark.parametrize("since", ["last week", "2026-13-01", "2026-05"])
def test_what_is_no_day_is_refused(door: Path, since: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["risks", str(door), "--since", since]) == USAGE
    assert "write it as 2026-05-03" in capsys.readouterr().err


def test_a_day_to_come_and_a_letter_of_no_time_are_refused(door: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["risks", str(door), "--since", "2030-01-01", "--on", "2026-01-01"]) == USAGE
    assert run(["risks", str(door), "--letter", "x.pdf"]) == USAGE
    assert "say since when" in capsys.readouterr().err


def test_every_change_taken_back_leaves_the_database_as_it_stood(door: Path, tmp_path: Path) -> None:
    """A copy is kept before each job; what the records say and what threatens is the same in the copy and in the
    database of the end with the job and all later ones taken back."""

    def again(db: Path) -> None:
        corrections.reinstate(db, "survey", "B", BY, WHY)

    plan = [
        Proposal(object=OBJ, proposal="P1", title="Strip it", proposed_by=BY, proposed_on="2020"),
        ProposalStep(object=OBJ, proposal="P1", step=1, place="top", action="scrape"),
    ]
    jobs = [
        lambda db: bring(db, "B", seen(NOW, severity=3, extent_pct=25.0, active="yes"), *plan),
        lambda db: p.amend(db, "A", "objects", (OBJ,), surroundings="outdoors"),
        lambda db: corrections.correct(db, "zones", f"{OBJ}/top", {"area_m2": "3"}, BY, WHY),
        lambda db: decide(db, OBJ, "P1", "refuse", by=BY, reason=WHY),
        lambda db: corrections.withdraw(db, "survey", "B", BY, WHY),
        again,
        lambda db: statements.rename(db, "zones", f"{OBJ}/top", "head", BY, WHY),
        lambda db: statements.rename(db, "objects", OBJ, "T.9", BY, WHY),
        lambda db: bring(db, "C", Object(object="T.3", title="a chest", kind="chest")),
        lambda db: statements.same(db, "objects", "T.3", OBJ, BY, WHY),
    ]
    copies = []
    for number, job in enumerate(jobs):
        copy = tmp_path / f"{number}.db"
        shutil.copy(door, copy)
        with database.opened(door, write=False) as db:
            copies.append((db.execute("SELECT max(number) FROM changes").fetchone()[0] + 1, copy))
        job(door)
    for before, copy in copies:
        with database.opened(copy, write=True) as then, database.opened(door, write=False) as now:
            # What is derived is kept to six figures; both ask the records.
            mark_stale(then, stored.object_codes(then))
            with rewound(now, before) as back:
                assert said(back) == said(then), before


def said(db: database.Database) -> list[Any]:
    return [
        [facts.canonical for facts in stored.facts_in_bulk(db, stored.object_codes(db))],
        at_risk(db, POLICY, "2026-01-01"),
    ]


def test_the_letter_is_one_page_however_much_changed_and_counts_what_it_leaves_out(harbour: Path) -> None:
    with database.opened(harbour, write=False) as db:
        found = watched(db, POLICY, changes_since(db, "2000-01-01")[1].at, "2026-01-01")
    told = letter_told(found, POLICY.risk, {})
    counts = {row["text"]: row for row in told["blocks"] if row["block"] == "heading"}
    assert f"New ({sum(row.what == 'new' for row in found.moved)})" in counts
    shown = sum(len(row["items"]) for row in told["blocks"] if row["block"] == "points")
    left = sum(
        int(row["text"].split()[0]) for row in told["blocks"] if row["block"] == "sentence" and "no room" in row["text"]
    )
    assert 8 <= shown < shown + left == len(found.moved)
    assert pages(letter_pdf(found, POLICY.risk, {})) == 1
    assert letter_pdf(found, POLICY.risk, {}) == letter_pdf(found, POLICY.risk, {})


def test_long_names_do_not_make_a_second_page(harbour: Path) -> None:
    """Of every threat the title is as long as a title gets, and its words the widest letters."""
    with database.opened(harbour, write=False) as db:
        now = at_risk(db, POLICY, "2026-01-01")
    wide = [AtRisk(each.object, "WWW MMM " * 40, each.value, each.threats) for each in now]
    for then in ([], wide[:7]):
        rows = moved(then, wide[5:], POLICY.risk)
        found = Watched("2026-01-01", "2026-01-02", (), False, (1, "2026-01-01T00:00:00"), tuple(rows), tuple(wide))
        assert (
            pages(letter_pdf(found, POLICY.risk, {"collection_name": "W" * 300, "collection_contact": "M" * 300})) == 1
        )


def pages(content: bytes) -> int:
    with pikepdf.open(io.BytesIO(content)) as pdf:
        return len(pdf.pages)
