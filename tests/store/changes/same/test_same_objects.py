"""Two objects that are one: all their rows together, and each code and plan still told apart where it has to be."""

from __future__ import annotations

from pathlib import Path

import pytest
from coded_package import coded_package
from read_back import documents
from same_things import BY, WHY, facts_of, severity

from collection.ingest import load
from collection.language.errors import InputRefused
from collection.store.base import database, read
from collection.store.changes import corrections, statements
from collection.store.check import check
from collection.store.decide.consequences import carried_out
from collection.store.decide.decisions import decide, decisions


def test_two_objects_become_one_with_all_their_rows(db: Path) -> None:
    """Once the codes that both use are told apart: facts, derived rows, proposals and the list of objects know one."""
    statements.rename(db, "proposals", "T2/P1", "P9", BY, "both objects had a P1")
    whole = documents(db, "T1"), documents(db, "T2")
    judged = severity(db, "T2", "P9")
    statements.same(db, "objects", "T1", "T2", BY, WHY)
    one = facts_of(db)
    assert facts_of(db, "T2").canonical == one.canonical
    assert (one.object.object, one.object.title) == ("T1", "Tram 1")
    assert {s.sample for s in one.samples} == {"S1", "S1x", "S2", "S3", "U1"}
    assert {row.object for sheet in (one.samples, one.layers, one.responses, one.components) for row in sheet} == {"T1"}
    with database.opened(db, write=False) as connection:
        assert read.object_codes(connection) == ["T1"]
        assert read.proposal_keys(connection) == [("T1", "P1"), ("T1", "P2"), ("T1", "P9")]
        assert read.load_proposal(connection, "T2", "P9").steps[0].place == "side"
        for table in ("facts", "documents", "survival_objects"):
            assert connection.execute(f"SELECT object FROM {table}").fetchall() == [("T1",)], table
    assert severity(db, "T1", "P9") == judged == "endangers"
    report = check(db)
    assert (report.damage, report.notes) == ((), ())
    statements.same(db, "objects", "T1", "T2", BY, "two after all", holds=False)
    assert (documents(db, "T1"), documents(db, "T2")) == whole
    assert (check(db).damage, check(db).notes) == ((), ())


def test_a_code_that_both_objects_use_for_one_and_the_same_needs_no_name(db: Path, tmp_path: Path) -> None:
    """A part that stands on both and says the same is that part; a sample that stands on both is two samples."""
    load.ingest(
        db,
        coded_package(
            tmp_path / "more",
            "harbour-2",
            {
                "objects": "object,title,kind\nT3,Car 1,tram\n",
                "components": "object,component,name,support,area_m2,observed_on\nT3,door,door,oak,1,\n",
                "samples": "object,sample,place,method\nT3,V1,door,scraping\n",
            },
        ),
    )
    statements.same(db, "objects", "T1", "T3", BY, WHY)
    assert [c.component for c in facts_of(db).components] == ["body", "door", "hull"]
    assert [s.place for s in facts_of(db, "T3").samples if s.sample == "V1"] == ["door"]
    statements.same(db, "objects", "T1", "T3", BY, WHY, holds=False)
    load.ingest(
        db,
        coded_package(tmp_path / "yet", "harbour-3", {"samples": "object,sample,place,method\nT3,S1,door,scraping\n"}),
    )
    with pytest.raises(InputRefused) as refused:
        statements.same(db, "objects", "T1", "T3", BY, WHY)
    assert ["samples T1/S1 and T3/S1" in fault.message for fault in refused.value.faults] == [True]


def test_two_plans_that_had_one_code_keep_their_own_decisions(db: Path) -> None:
    """What was decided of the one is not read of the other, under whichever key either is asked for."""
    statements.rename(db, "proposals", "T2/P1", "P9", BY, "both objects had a P1")
    statements.same(db, "objects", "T1", "T2", BY, WHY)
    made = decide(db, "T1", "P9", "approve", by="A. Curator", reason="for the fair")
    assert (made.proposal, made.number) == ("T1/P9", 1)
    with database.opened(db, write=False) as connection:
        for asked, meant in ((("T1", "P1"), "P1"), (("T2", "P1"), "P9"), (("T1", "P9"), "P9"), (("T2", "P9"), "P9")):
            assert read.load_proposal(connection, *asked).proposal.proposal == meant
            assert len(decisions(connection, *asked)) == (meant == "P9")
    assert decide(db, "T1", "P1", "defer", by="A. Curator", reason="later").number == 1


def test_what_a_change_does_to_a_plan_is_told_under_its_own_code(db: Path, tmp_path: Path) -> None:
    """Also where another plan of the same object has the code it was stored under."""
    load.ingest(
        db,
        coded_package(tmp_path / "more", "harbour-2", {"reserves": "object,reserve,place,kind\nT2,R1,side,reserve\n"}),
    )
    statements.rename(db, "proposals", "T2/P1", "P9", BY, "both objects had a P1")
    statements.same(db, "objects", "T1", "T2", BY, WHY)
    _, told = carried_out(
        db,
        lambda c: corrections.touched_by(c, "reserves", "T2/R1"),
        lambda c: corrections.withdraw(c, "reserves", "T2/R1", BY, WHY),
        dry_run=True,
    )
    assert [p.proposal for p in told.proposals] == ["T1/P1", "T1/P2", "T1/P9"]
    assert [(p.proposal, p.losses) for p in told.proposals if p.changed] == [
        ("T1/P9", (("side/reserve R1", "endangers", None),))
    ]


@pytest.mark.parametrize("left", ["renamed", "withdrawn"])
def test_a_code_of_one_object_does_not_become_what_another_thing_was_called(
    left: str, db: Path, tmp_path: Path
) -> None:
    """T1's P1 has another name now, or is out of account; T2's P1 would be read as T1/P1. By a statement, and by what
    comes in after it."""
    if left == "renamed":
        statements.rename(db, "proposals", "T1/P1", "A", BY, WHY)
    else:
        corrections.withdraw(db, "proposals", "T1/P1", BY, WHY)
    with pytest.raises(InputRefused) as refused:
        statements.same(db, "objects", "T1", "T2", BY, WHY)
    assert [
        "It would be T1/P1, which another record in proposals was called" in fault.message
        for fault in refused.value.faults
    ] == [True]
    statements.rename(db, "proposals", "T2/P1", "B", BY, WHY)
    statements.same(db, "objects", "T1", "T2", BY, WHY)
    statements.rename(db, "zones", "T1/Z1", "front", BY, WHY)
    with pytest.raises(InputRefused) as refused:
        load.ingest(db, coded_package(tmp_path / "more", "harbour-2", {"zones": "object,zone,component\nT2,Z1,side\n"}))
    assert "It would be T1/Z1" in refused.value.faults[0].message


def test_a_present_code_is_found_before_a_former_one(db: Path, tmp_path: Path) -> None:
    """T5 is read as one with T3 and T4, which both had a zone V; T3's has another name now."""
    load.ingest(
        db,
        coded_package(
            tmp_path / "more",
            "harbour-2",
            {
                "objects": "object,title,kind\nT3,Car 3,tram\nT4,Car 4,tram\nT5,Car 5,tram\n",
                "components": "object,component,name\nT3,c,c\nT4,d,d\n",
                "zones": "object,zone,component\nT3,V,c\nT4,V,d\n",
            },
        ),
    )
    statements.rename(db, "zones", "T3/V", "W", BY, WHY)
    for other in ("T3", "T4"):
        statements.same(db, "objects", "T5", other, BY, WHY)
    statements.rename(db, "zones", "T5/V", "X", BY, WHY)
    assert {(z.zone, z.component) for z in facts_of(db, "T5").zones} == {("W", "c"), ("X", "d")}


def test_what_two_objects_have_in_common_is_one_thing_while_they_are_one(db: Path) -> None:
    statements.rename(db, "proposals", "T2/P1", "P9", BY, "both objects had a P1")
    apart = documents(db, "T1"), documents(db, "T2")
    statements.same(db, "objects", "T1", "T2", BY, WHY)
    statements.same(db, "components", "T1/hull", "T2/side", BY, WHY)
    assert "side" not in {c.component for c in facts_of(db).components}
    statements.same(db, "objects", "T1", "T2", BY, "two after all", holds=False)
    assert (documents(db, "T1"), documents(db, "T2")) == apart
    assert (check(db).damage, check(db).notes) == ((), ())
    statements.same(db, "objects", "T1", "T2", BY, WHY)
    assert "side" not in {c.component for c in facts_of(db).components}
