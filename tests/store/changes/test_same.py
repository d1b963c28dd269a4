"""Two codes that are one thing: read as the first, nothing stored altered, what disagrees refused, all reversible."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest
from coded_package import SHEETS, coded_package
from hypothesis import given, settings
from hypothesis import strategies as st
from read_back import documents, stored

from collection.cli import run
from collection.compute.case import Case
from collection.ingest import load
from collection.language.errors import InputRefused
from collection.output.site.publish import publish
from collection.records.facts import Facts
from collection.rules.assess import assess
from collection.store import derive
from collection.store.base import database, names, read
from collection.store.changes import corrections, statements
from collection.store.check import check
from collection.store.decide.consequences import carried_out
from collection.store.decide.decisions import decide, decisions

BY, WHY = "R. Registrar", "seen side by side, they are one"
TWO = {
    "objects": "object,title,kind\nT1,Tram 1,tram\nT2,Car no. 1,tram\n",
    "components": "object,component,name,support,area_m2,observed_on\nT1,body,body,steel,6,2001\n"
    "T1,hull,the old hull,,,2019\nT1,door,door,oak,1,\nT2,side,side,,,\n",
    "zones": "object,zone,component,name,area_m2\nT1,Z1,body,panel,3\nT1,Z2,body,lower panel,\nT1,Z3,door,,1\n",
    "schemes": "object,scheme,name,period,rank,basis\nT1,1,first,original,1,\nT1,1b,first again,original,,\n"
    "T1,2,green,later,2,lies on dirt\nT1,3,green too,later,,\nT2,T,first finish,original,1,\n",
    "samples": "object,sample,place,method,taken_on,reaches_support\nT1,S1,Z1,cross-section,2018,\n"
    "T1,S1x,Z1,cross-section,2018,no\nT1,S2,Z2,cross-section,2018,no\nT1,S3,Z1,cross-section,2018,no\n"
    "T2,U1,side,cross-section,2018,no\n",
    "layers": "object,sample,position,role,colour,scheme,coverage,thickness_um\nT1,S1,1,body colour,red,1,intact,20\n"
    "T1,S1x,1,body colour,red,1b,intact,\nT1,S1x,2,body colour,green,2,intact,40\n"
    "T1,S2,1,body colour,red,1b,partial,30\nT1,S3,1,body colour,red,1,trace,30\n"
    "T2,U1,1,body colour,red,T,intact,30\n",
    "decorations": "object,decoration,place,kind,scheme,state,observed_on\nT1,D1,Z1,lining,1,covered,2001\n"
    "T1,D2,Z1,lining,1b,exposed,2019\nT1,D3,Z1,lettering,1,covered,2001\n",
    "tests": "object,test,place,agent,dwell_s,application,tested_on\nT1,X1,Z1,acetone,60,rolled swab,2018\n"
    "T1,X2,Z1,acetone,,rolled swab,2018\nT1,X3,Z1,acetone,60,rolled swab,2018\nT2,Y1,side,acetone,9,,2018\n",
    "responses": "object,test,response,scheme,sample,position\nT1,X1,none seen,,S1,1\nT1,X2,none seen,2,,\n"
    "T1,X3,softened,,S1,1\nT2,Y1,removed,,U1,1\n",
    "hazards": "object,hazard,kind,status,observed_on\nT1,H1,lead,confirmed,2018\nT1,H2,lead,controlled,2019\n",
    "proposals": "object,proposal,title,proposed_by,proposed_on,permission\nT1,P1,clean it,N. N.,2020,letter\n"
    "T2,P1,clean that,N. N.,2020,letter\nT1,P2,dust it,N. N.,2020,letter\n",
    "proposal_steps": "object,proposal,step,place,action,agent,dwell_s,application\n"
    "T1,P1,1,Z1,solvent,acetone,30,rolled swab\nT2,P1,1,side,solvent,acetone,30,rolled swab\n"
    "T1,P2,1,all,dust,,,\n",
}


@pytest.fixture
def db(tmp_path: Path) -> Path:
    path = tmp_path / "collection.db"
    database.create(path)
    load.ingest(path, coded_package(tmp_path / "package", sheets=TWO))
    return path


def facts_of(path: Path, object_code: str = "T1") -> Facts:
    with database.opened(path, write=False) as connection:
        return read.facts_rows(connection, object_code)


def severity(path: Path, object_code: str, proposal: str) -> str:
    with database.opened(path, write=False) as connection:
        return assess(
            Case(read.facts_rows(connection, object_code)), read.load_proposal(connection, object_code, proposal)
        ).outcome


@pytest.mark.parametrize(
    ("kind", "first", "second"),
    [
        ("components", "body", "hull"),
        ("zones", "Z1", "Z2"),
        ("schemes", "1", "1b"),
        ("samples", "S1", "S1x"),
        ("decorations", "D1", "D2"),
        ("tests", "X1", "X2"),
        ("hazards", "H1", "H2"),
    ],
)
def test_both_codes_read_as_the_first_and_taking_it_back_gives_everything_back(
    kind: str, first: str, second: str, db: Path
) -> None:
    """Facts, survival and assessments know one thing; either order of words finds it; no stored row changes."""
    before, rows = documents(db, "T1"), stored(db)
    if kind in ("samples", "decorations"):
        statements.same(db, "schemes", "T1/1", "T1/1b", BY, WHY)
        before = documents(db, "T1")
    statements.same(db, kind, f"T1/{first}", f"T1/{second}", BY, WHY)
    assert stored(db) == rows
    document = documents(db, "T1")
    text = json.dumps(document["facts"])
    assert f'"{second}"' not in text
    codes = [row[kind.removesuffix("s")] for row in document["facts"][kind]]
    assert second not in codes
    assert len(codes) == len({(row[kind.removesuffix("s")], row.get("observed_on")) for row in document["facts"][kind]})
    assert (check(db).damage, check(db).notes) == ((), ())
    statements.same(db, kind, f"T1/{second}", f"T1/{first}", BY, "they are two after all", holds=False)
    assert documents(db, "T1") == before
    assert (check(db).damage, check(db).notes) == ((), ())


def test_what_one_record_leaves_blank_is_taken_from_the_other(db: Path) -> None:
    statements.same(db, "zones", "T1/Z2", "T1/Z1", BY, WHY)
    statements.same(db, "schemes", "T1/1b", "T1/1", BY, WHY)
    statements.same(db, "samples", "T1/S1", "T1/S1x", BY, WHY)
    known = facts_of(db)
    assert [(z.zone, z.name, z.area_m2) for z in known.zones] == [("Z2", "lower panel", 3.0), ("Z3", None, 1.0)]
    scheme, sample = known.schemes[0], known.samples[0]
    assert (scheme.scheme, scheme.name, scheme.rank) == ("1b", "first again", 1.0)
    assert (sample.sample, sample.place, sample.reaches_support) == ("S1", "Z2", "no")
    assert [(la.position, la.scheme, la.thickness_um) for la in known.layers if la.sample == "S1"] == [
        (1, "1b", 20.0),
        (2, "2", 40.0),
    ]


def test_dated_states_of_both_are_the_states_of_one(db: Path) -> None:
    """The newest is current, whichever code it was recorded under."""
    statements.same(db, "components", "T1/body", "T1/hull", BY, WHY)
    assert [(c.component, c.observed_on, c.support) for c in facts_of(db).components if c.component != "door"] == [
        ("body", "2001", "steel"),
        ("body", "2019", None),
    ]
    statements.same(db, "schemes", "T1/1", "T1/1b", BY, WHY)
    statements.same(db, "decorations", "T1/D1", "T1/D2", BY, WHY)
    assert [(d.decoration, d.state) for d in facts_of(db).decorations] == [
        ("D1", "covered"),
        ("D1", "exposed"),
        ("D3", "covered"),
    ]


@pytest.mark.parametrize(
    ("kind", "first", "second", "said"),
    [
        ("zones", "T1/Z1", "T1/Z3", ["component: body and door", "area_m2: 3.0 and 1.0"]),
        ("schemes", "T1/1", "T1/2", ["period: original and later", "rank: 1.0 and 2.0"]),
        ("schemes", "T1/2", "T1/3", ["whether it is shown, with a basis, to be later: not kept and kept"]),
        (
            "samples",
            "T1/S1",
            "T1/S3",
            ["layers T1/S1/1 and T1/S3/1", "coverage: intact and trace", "thickness_um: 20.0"],
        ),
        ("tests", "T1/X1", "T1/X3", ["response: none seen and softened"]),
        ("decorations", "T1/D1", "T1/D3", ["kind: lining and lettering"]),
        ("components", "T1/body", "T1/door", ["differ in support: oak and steel"]),
        ("zones", "T1/Z1", "T1/Z1", ["one thing already"]),
        ("zones", "T1/Z1", "T1/Z9", ["no such thing in zones"]),
        ("schemes", "T1/1", "T2/T", ["T1 and T2 are two objects"]),
        ("proposals", "T1/P1", "T1/P2", ["Two proposals were each decided"]),
        ("survey", "harbour-1", "harbour-1", ["Two surveys are two campaigns"]),
        ("layers", "T1/S1/1", "T1/S3/1", ["recorded twice", "there twice"]),
        ("objects", "T1", "T2", ["proposals T1/P1 and T2/P1 have the same code"]),
    ],
)
def test_what_cannot_be_one_is_refused_with_every_difference(
    db: Path, kind: str, first: str, second: str, said: list[str]
) -> None:
    before = db.read_bytes()
    with pytest.raises(InputRefused) as refused:
        statements.same(db, kind, first, second, BY, WHY)
    text = "\n".join(fault.message for fault in refused.value.faults)
    assert any(part in text for part in said) if kind == "layers" else all(part in text for part in said), text
    assert db.read_bytes() == before


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


@pytest.mark.parametrize(("column", "word"), [("counted_from", "surface"), ("extent", "whole place")])
def test_samples_that_speak_otherwise_where_one_is_blank_are_not_one(
    db: Path, tmp_path: Path, column: str, word: str
) -> None:
    """A blank says from the support, and of one spot: the other word would turn the coats over, or clear the place."""
    load.ingest(
        db,
        coded_package(
            tmp_path / "more",
            "harbour-2",
            {
                "samples": f"object,sample,place,method,taken_on,{column}\nT1,S4,Z1,cross-section,2018,{word}\n",
                "layers": "object,sample,position,role,colour,scheme,coverage\nT1,S4,1,body colour,red,1,intact\n",
            },
        ),
    )
    with pytest.raises(InputRefused) as refused:
        statements.same(db, "samples", "T1/S1", "T1/S4", BY, WHY)
    assert [f"{column}: nothing and {word}" in fault.message for fault in refused.value.faults] == [True]


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


def test_chains_and_rings_of_statements(db: Path) -> None:
    """A is B, C is A: all are C. A ring is refused, and a link that nobody stated cannot be taken back."""
    statements.same(db, "zones", "T1/Z1", "T1/Z2", BY, WHY)
    corrections.correct(db, "zones", "T1/Z3", {"component": "body", "area_m2": "not recorded"}, BY, "it is on the body")
    statements.same(db, "zones", "T1/Z3", "T1/Z1", BY, WHY)
    assert [z.zone for z in facts_of(db).zones] == ["Z3"]
    with pytest.raises(InputRefused) as refused:
        statements.same(db, "zones", "T1/Z2", "T1/Z3", BY, WHY)
    assert "one thing already" in refused.value.faults[0].message
    with pytest.raises(InputRefused) as refused:
        statements.same(db, "zones", "T1/Z2", "T1/Z3", BY, WHY, holds=False)
    assert "said was" in refused.value.faults[0].message
    statements.same(db, "zones", "T1/Z1", "T1/Z3", BY, "not that one", holds=False)
    assert [z.zone for z in facts_of(db).zones] == ["Z1", "Z3"]
    assert check(db).damage == ()


def test_a_thing_and_what_it_lies_in_are_not_one(db: Path, tmp_path: Path) -> None:
    load.ingest(
        db,
        coded_package(
            tmp_path / "in", "harbour-2", {"zones": "object,zone,component,within\nT1,Z4,body,Z1\nT1,Z5,body,Z4\n"}
        ),
    )
    for inner in ("Z4", "Z5"):
        with pytest.raises(InputRefused) as refused:
            statements.same(db, "zones", "T1/Z1", f"T1/{inner}", BY, WHY)
        assert "within itself" in refused.value.faults[0].message


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


def test_the_page_of_what_is_one_shows_one_and_staff_stays_staff(db: Path, tmp_path: Path) -> None:
    statements.same(db, "zones", "T1/Z1", "T1/Z2", BY, WHY)
    statements.same(db, "schemes", "T1/1", "T1/1b", BY, WHY)
    corrections.correct(db, "schemes", "T1/1b", {"audience": "staff"}, BY, WHY)
    publish(db, tmp_path / "site")
    import sqlite3

    connection = sqlite3.connect(next((tmp_path / "site").glob("*.db")))
    text = "\n".join(connection.iterdump())
    connection.close()
    assert "lower panel" not in text
    assert "first again" not in text
    assert '"zone":"Z2"' not in text.replace(" ", "")


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


@pytest.fixture(scope="module")
def filled(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("filled")
    database.create(folder / "c.db")
    load.ingest(
        folder / "c.db",
        coded_package(
            folder / "p",
            sheets={**TWO, "zones": "object,zone,component\n" + "".join(f"T1,Z{n},body\n" for n in range(1, 7))},
        ),
    )
    return folder / "c.db"


@settings(max_examples=15)
@given(st.lists(st.tuples(st.integers(1, 6), st.integers(1, 6), st.booleans()), max_size=8))
def test_any_statements_give_the_classes_of_a_plain_union(
    tmp_path_factory: pytest.TempPathFactory, filled: Path, acts: list[tuple[int, int, bool]]
) -> None:
    """Against a list of the links that hold and a walk over them; refused ones change nothing."""
    path = Path(shutil.copy(filled, tmp_path_factory.mktemp("same") / "c.db"))
    links: list[frozenset[int]] = []

    def classes() -> set[frozenset[int]]:
        groups = [{n} for n in range(1, 7)]
        for link in links:
            joined = set().union(*(g for g in groups if g & link))
            groups = [g for g in groups if not g & link] + [joined]
        return {frozenset(g) for g in groups}

    for one, two, holds in acts:
        link = frozenset({one, two})
        apart = not any(link <= group for group in classes())
        allowed = apart if holds else link in links
        try:
            statements.same(path, "zones", f"T1/Z{one}", f"T1/Z{two}", BY, WHY, holds=holds)
        except InputRefused:
            assert not allowed
            continue
        assert allowed
        links.append(link) if holds else links.remove(link)
    known = facts_of(path)
    with database.opened(path, write=False) as connection:
        stated = names.load(connection)
    shown: dict[str, set[int]] = {}
    for n in range(1, 7):
        shown.setdefault(f"Z{n}" if stated is None else stated.code("zones", "T1", f"Z{n}"), set()).add(n)
    assert {frozenset(group) for group in shown.values()} == classes()
    assert sorted(shown) == [z.zone for z in known.zones]
    with database.opened(path, write=False) as connection:
        assert list(derive.out_of_date(connection)) == []


def test_nothing_is_asked_where_nothing_was_stated(db: Path) -> None:
    """One look into an empty table, for a whole collection."""
    asked: list[str] = []
    with database.opened(db, write=False) as connection:
        connection.set_trace_callback(asked.append)
        list(read.facts_in_bulk(connection))
    assert [sql for sql in asked if "same_things" in sql] == ["SELECT 1 FROM same_things LIMIT 1"]


def test_the_package_that_tests_of_codes_rest_on_is_whole() -> None:
    """It has every sheet but the survey's own, so that a new sheet is met there as well."""
    from collection.records.sheets import BY_SHEET

    assert set(SHEETS) == set(BY_SHEET) - {"survey"}
