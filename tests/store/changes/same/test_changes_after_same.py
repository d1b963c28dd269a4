"""What comes after two codes were made one: corrections, withdrawals, new codes, severities, and taking it back."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from coded_package import coded_package
from read_back import stored
from same_things import BY, WHY, facts_of, severity

from collection.cli import run
from collection.ingest import load
from collection.language.errors import InputRefused
from collection.store.base import database
from collection.store.changes import corrections, statements
from collection.store.check import check
from collection.store.decide.consequences import carried_out


def test_no_later_change_makes_an_object_a_part_of_itself(db: Path, tmp_path: Path) -> None:
    load.ingest(
        db,
        coded_package(
            tmp_path / "more",
            "harbour-2",
            {"objects": "object,title,kind,part_of\nT3,Bogie,bogie,T1\nT4,Car no. 1,tram,\n"},
        ),
    )
    statements.same(db, "objects", "T1", "T4", BY, WHY)
    with pytest.raises(InputRefused) as refused:
        corrections.correct(db, "objects", "T4", {"part_of": "T3"}, BY, WHY)
    assert "part of itself" in refused.value.faults[0].message


def test_taking_it_back_tells_only_of_the_one_that_comes_back(db: Path) -> None:
    """Z1 keeps its losses under its code, and Z2's come beside them."""
    corrections.correct(
        db, "proposal_steps", "T1/P1/1", {"place": "all", "action": "strip", "agent": "not recorded"}, BY, WHY
    )
    statements.same(db, "zones", "T1/Z1", "T1/Z2", BY, WHY)
    _, told = carried_out(
        db,
        lambda c: statements.touched_by(c, "zones", "T1/Z1", "T1/Z2"),
        lambda c: statements.same(c, "zones", "T1/Z1", "T1/Z2", BY, WHY, holds=False),
        dry_run=True,
    )
    losses = next(p for p in told.proposals if p.proposal == "T1/P1").losses
    assert {before for _, before, _ in losses} == {None}
    assert {name.split("/")[0] for name, _, _ in losses} == {"Z2"}


def test_a_later_change_may_not_make_one_thing_say_two(db: Path, tmp_path: Path) -> None:
    """By correction, by a package, by bringing a survey back: refused with the difference, until it is taken back."""
    statements.same(db, "schemes", "T1/1", "T1/1b", BY, WHY)
    with pytest.raises(InputRefused) as refused:
        corrections.correct(db, "schemes", "T1/1b", {"period": "later"}, BY, WHY)
    assert "period: original and later" in refused.value.faults[0].message
    load.ingest(
        db,
        coded_package(
            tmp_path / "a",
            "harbour-2",
            {"conditions": "object,place,phenomenon,observed_on,scheme,extent_pct\nT1,Z1,loss,2022,1b,5\n"},
        ),
    )
    rows = stored(db)
    with pytest.raises(InputRefused) as refused:
        load.ingest(
            db,
            coded_package(
                tmp_path / "b",
                "harbour-3",
                {"conditions": "object,place,phenomenon,observed_on,scheme,extent_pct\nT1,Z1,loss,2022,1,40\n"},
            ),
        )
    assert "extent_pct: 40.0 and 5.0" in refused.value.faults[0].message
    assert stored(db) == rows
    statements.same(db, "schemes", "T1/1", "T1/1b", BY, WHY, holds=False)
    corrections.correct(db, "schemes", "T1/1b", {"period": "later"}, BY, WHY)
    assert check(db).damage == ()


def test_a_record_out_of_account_is_not_made_one_and_one_that_leaves_takes_only_itself(db: Path) -> None:
    corrections.withdraw(db, "zones", "T1/Z2", BY, WHY)
    with pytest.raises(InputRefused) as refused:
        statements.same(db, "zones", "T1/Z1", "T1/Z2", BY, WHY)
    assert "out of account" in refused.value.faults[0].message
    corrections.reinstate(db, "zones", "T1/Z2", BY, WHY)
    statements.same(db, "zones", "T1/Z1", "T1/Z2", BY, WHY)
    corrections.withdraw(db, "zones", "T1/Z1", BY, WHY)
    known = facts_of(db)
    assert [(z.zone, z.name) for z in known.zones] == [("Z1", "lower panel"), ("Z3", None)]
    assert [s.sample for s in known.samples] == ["S2"]
    assert check(db).damage == ()


def test_a_renamed_thing_is_made_one_under_its_present_code(db: Path) -> None:
    statements.rename(db, "zones", "T1/Z1", "front", BY, WHY)
    statements.same(db, "zones", "T1/front", "T1/Z2", BY, WHY)
    assert [z.zone for z in facts_of(db).zones] == ["Z3", "front"]
    statements.rename(db, "zones", "T1/Z2", "face", BY, "either code names it")
    assert [z.zone for z in facts_of(db).zones] == ["Z3", "face"]
    assert {s.place for s in facts_of(db).samples} == {"face"}
    with database.opened(db, write=False) as connection:
        assert len(statements.told(connection, "zones", "T1/Z1")) == 3
    with pytest.raises(InputRefused, match="1 fault"):
        statements.rename(db, "zones", "T1/face", "Z2", BY, "that is the other record's")


def test_severities_before_and_after_are_told(db: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A test that softened the coat under the other code makes the work worse once both are one; undone, it is as it
    was. The dry run says the same and keeps the file as it is."""
    before = db.read_bytes()
    arguments = ["same", str(db), "schemes", "T1/1", "T1/1b", "--by", BY, "--reason", WHY]
    assert run([*arguments, "--dry-run", "--json"]) == 0
    dry = json.loads(capsys.readouterr().out)
    assert db.read_bytes() == before
    assert run([*arguments, "--json"]) == 0
    wet = json.loads(capsys.readouterr().out)
    assert (wet["severities"], wet["change"]) == (dry["severities"], 2)
    now = {p["proposal"]: p for p in wet["severities"]}
    assert now["T1/P1"]["after"] == severity(db, "T1", "P1")
    assert run([*arguments, "--not"]) == 0
    assert run(["same", str(db), "zones", "T1/Z1", "T1/Z3", "--by", BY, "--reason", WHY]) == 1
