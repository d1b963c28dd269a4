"""A thing that is called otherwise: everything reads so, either code finds it, nothing stored is altered."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from coded_package import HELD_IN, SHEETS, coded_package, in_other_words
from hypothesis import given, settings
from hypothesis import strategies as st
from read_back import documents, stored

from collection.cli import run
from collection.compute.case import Case
from collection.ingest import load
from collection.language.errors import GateRefused, InputRefused
from collection.output.site.publish import publish
from collection.records.sheets import DATED_STATES
from collection.rules.assess import assess
from collection.store.base import database, keys, names, read
from collection.store.changes import corrections, statements
from collection.store.check import check
from collection.store.decide.consequences import carried_out
from collection.store.decide.decisions import decide, standing

BY, WHY = "R. Registrar", "the museum renumbers"
NEW = {kind: "T 9/2" if kind == "objects" else "neu-1" for kind in HELD_IN}


@pytest.fixture
def db(tmp_path: Path) -> Path:
    path = tmp_path / "collection.db"
    database.create(path)
    load.ingest(path, coded_package(tmp_path / "package"))
    return path


@pytest.mark.parametrize("kind", HELD_IN)
def test_a_renamed_thing_reads_as_if_it_had_always_been_called_so(kind: str, db: Path, tmp_path: Path) -> None:
    """Against the same package written in the new code from the start: facts, survival, proposals and assessments are
    equal to the last figure; no stored row changes; the new package and the old one are both what is stored."""
    old, new = HELD_IN[kind][0], NEW[kind]
    other = tmp_path / "other.db"
    database.create(other)
    rewritten = coded_package(tmp_path / "rewritten", sheets=in_other_words(kind, old, new))
    load.ingest(other, rewritten)
    before = stored(db)
    statements.rename(db, kind, old if kind == "objects" else f"T1/{old}", new, BY, WHY)
    assert stored(db) == before
    shown = new if kind == "objects" else "T1"
    assert documents(db, shown) == documents(other, shown)
    for object_code in {"T1", shown}:
        assert documents(db, object_code) == documents(other, shown)
    again = load.ingest(db, rewritten)
    assert (again.added, again.changed) == ({}, {})
    assert (
        again.unchanged
        == load.ingest(other, coded_package(tmp_path / "same", sheets=in_other_words(kind, old, new))).unchanged
    )
    report = check(db)
    assert (report.damage, report.notes) == ((), ())
    with database.opened(db, write=False) as connection:
        assert read.facts_rows(connection, "T2").object.part_of == shown if kind == "objects" else True
        for code in (old, new):
            text = code if kind == "objects" else f"T1/{code}"
            if kind not in DATED_STATES:
                assert keys.find(connection, kind, text) == keys.find(
                    connection, kind, old if kind == "objects" else f"T1/{old}"
                )


@pytest.mark.parametrize("kind", HELD_IN)
def test_a_rename_is_told_as_no_loss_and_no_requirement_more_or_less(kind: str, db: Path) -> None:
    """Each is compared with itself under its other code; the package has a loss of a coat, a decoration and a reserve,
    and requirements of places, claims, schemes and hazards."""
    old = HELD_IN[kind][0]
    key = old if kind == "objects" else f"T1/{old}"
    _, told = carried_out(
        db,
        lambda c: statements.touched_by(c, kind, key),
        lambda c: statements.rename(c, kind, key, NEW[kind], BY, WHY),
        dry_run=True,
    )
    assert len(told.proposals) == 2
    assert [(p.before == p.after, p.losses, p.requirements) for p in told.proposals] == [(True, (), ())] * 2


@pytest.mark.parametrize("kind", HELD_IN)
def test_a_name_is_taken_back_and_everything_is_as_it_was(kind: str, db: Path) -> None:
    """Renamed twice, then back to the stored code: documents and derived rows are the first ones, history whole."""
    old = HELD_IN[kind][0]
    key = old if kind == "objects" else f"T1/{old}"
    first = documents(db, "T1")
    statements.rename(db, kind, key, "x-1", BY, WHY)
    statements.rename(db, kind, "x-1" if kind == "objects" else "T1/x-1", "x-2", BY, WHY)
    assert documents(db, "T1") != first or kind in ("sources", "drawings")
    statements.rename(db, kind, "x-2" if kind == "objects" else "T1/x-2", old, BY, "a slip")
    assert documents(db, "T1") == first
    assert (check(db).damage, check(db).notes) == ((), ())
    with database.opened(db, write=False) as connection:
        assert [row[0] for row in connection.execute("SELECT action FROM changes")] == ["ingest", *["rename"] * 3]
        assert statements.told(connection, kind, key) == []


def test_a_package_in_the_old_code_is_told_what_the_thing_is_called_now(db: Path, tmp_path: Path) -> None:
    statements.rename(db, "zones", "T1/Z1", "front", BY, WHY)
    again = load.ingest(
        db,
        coded_package(
            tmp_path / "again", sheets={**SHEETS, "claims": SHEETS["claims"] + ("T1,C2,it was blue,untested,Z1,,\n")}
        ),
    )
    assert (again.added, again.changed) == ({"claims": 1}, {})
    (warning,) = again.warnings
    assert (warning.file, warning.row, warning.column, warning.value) == ("zones.csv", 2, "zone", "Z1")
    assert "called front now (renamed by R. Registrar" in warning.message
    assert {c["place"] for c in documents(db, "T1")["facts"]["claims"]} == {"front"}


def test_a_new_package_may_use_either_code_but_not_both_for_one_row(db: Path, tmp_path: Path) -> None:
    statements.rename(db, "zones", "T1/Z1", "front", BY, WHY)
    conditions = "object,place,phenomenon,observed_on\nT1,front,chalking,2022\nT1,Z1,{},2022\n"
    load.ingest(db, coded_package(tmp_path / "a", "harbour-2", {"conditions": conditions.format("fading")}))
    assert {c["place"] for c in documents(db, "T1")["facts"]["conditions"]} == {"front"}
    with pytest.raises(InputRefused) as refused:
        load.ingest(db, coded_package(tmp_path / "b", "harbour-3", {"conditions": conditions.format("chalking")}))
    (fault,) = refused.value.faults
    assert (fault.row, fault.column, fault.value) == (2, "place", "front")
    assert "one thing" in fault.message


def test_a_correction_may_name_things_by_either_code(db: Path) -> None:
    statements.rename(db, "zones", "T1/Z2", "panel", BY, WHY)
    statements.rename(db, "schemes", "T1/2", "green", BY, WHY)
    corrections.correct(db, "reserves", "T1/R1", {"shows": "red"}, BY, WHY)
    corrections.correct(db, "samples", "T1/S1", {"place": "panel"}, BY, WHY)
    corrections.correct(db, "treatment_steps", "T1/W1/1", {"removed": "green/body colour"}, BY, WHY)
    corrections.withdraw(db, "zones", "T1/panel", BY, WHY)
    facts = documents(db, "T1")["facts"]
    assert "panel" not in {z["zone"] for z in facts["zones"]}
    assert facts["reserves"][0]["place"] == "panel"
    corrections.reinstate(db, "zones", "T1/Z2", BY, WHY)
    facts = documents(db, "T1")["facts"]
    assert {s["sample"]: s["place"] for s in facts["samples"]} == {"S1": "panel", "S2": "panel"}
    assert facts["treatment_steps"][0]["removed"] == "green/body colour"
    assert check(db).damage == ()


@pytest.mark.parametrize(
    ("kind", "key", "code", "said"),
    [
        ("zones", "T1/Z1", "Z2", "another record in zones"),
        ("zones", "T1/Z1", "body", "another record in components"),
        ("zones", "T1/Z1", "z 2", "differs from Z2 only in case"),
        ("zones", "T1/Z1", "Z1", "called Z1 already"),
        ("zones", "T1/Z1", "all", "means the whole object"),
        ("zones", "T1/Z1", "a/b", "Only the number of an object may hold '/'"),
        ("zones", "T1/Z1", " ", "Write the new code"),
        ("zones", "T1/Z7", "Z8", "no such thing in zones"),
        ("objects", "T1", "T2", "another record in objects"),
        ("survey", "harbour-1", "h1", "stands with every record that it brought"),
        ("layers", "T1/S1/1", "9", "has no code of its own"),
    ],
)
def test_a_name_that_cannot_be_given_is_refused_and_nothing_changes(
    db: Path, kind: str, key: str, code: str, said: str
) -> None:
    before = db.read_bytes()
    with pytest.raises(InputRefused) as refused:
        statements.rename(db, kind, key, code, BY, WHY)
    assert said in refused.value.faults[0].message
    assert db.read_bytes() == before


def test_a_code_never_comes_to_mean_another_thing(db: Path) -> None:
    """Neither the stored code of a renamed thing nor a name it had is free for another."""
    statements.rename(db, "schemes", "T1/1", "maker", BY, WHY)
    statements.rename(db, "schemes", "T1/1", "M", BY, WHY)
    for taken in ("1", "maker", "M"):
        with pytest.raises(InputRefused, match="1 fault"):
            statements.rename(db, "schemes", "T1/2", taken, BY, WHY)
    statements.rename(db, "schemes", "T1/M", "maker", BY, "the first name was right")
    assert [s["scheme"] for s in documents(db, "T1")["facts"]["schemes"]] == ["2", "maker"]


def test_a_rename_leaves_severities_and_clears_no_gate(db: Path) -> None:
    """An approval with overrides is reopened, not cleared; its overrides are asked for again in the new codes."""
    with pytest.raises(GateRefused) as refused:
        decide(db, "T1", "P1", "approve", by="A. Curator", reason="for the fair", conditions=("C1",))
    wanted = [
        line.split(" (")[0].removeprefix("  - ") for line in str(refused.value).splitlines() if "destroys" in line
    ]
    with database.opened(db, write=False) as connection:
        found = assess(Case(read.facts_rows(connection, "T1")), read.load_proposal(connection, "T1", "P1"))
    losses = [loss.id for loss in found.losses if loss.severity == "destroys"]
    assert losses
    assert set(losses) <= set(wanted)
    made = decide_over(db, "T1", losses)
    assert not made.stale
    statements.rename(db, "schemes", "T1/2", "9", BY, WHY)
    statements.rename(db, "schemes", "T1/1", "7", BY, WHY)
    with database.opened(db, write=False) as connection:
        now = standing(connection, "T1", "P1")
        assert now is not None
        assert (now.decision, now.stale, len(now.overrides)) == ("approve", True, len(losses))
    with pytest.raises(GateRefused):
        decide(db, "T1", "P1", "approve", by="A. Curator", reason="again", conditions=("C1",))
    statements.rename(db, "schemes", "T1/7", "1", BY, "back")
    statements.rename(db, "schemes", "T1/9", "2", BY, "back")
    with database.opened(db, write=False) as connection:
        assert not standing(connection, "T1", "P1").stale


def decide_over(db: Path, object_code: str, losses: list[str]) -> Any:
    with database.opened(db, write=False) as connection:
        steps = assess(
            Case(read.facts_rows(connection, object_code)), read.load_proposal(connection, object_code, "P1")
        )
    for requirement in steps.open_before_approval:
        assert requirement.rule in ("open claim", "decision on a later scheme", "one reserve per part"), requirement
    corrections.correct(db, "schemes", f"{object_code}/2", {"keep": "may go", "decided_by": "B. Board"}, BY, "decided")
    return decide(
        db,
        object_code,
        "P1",
        "approve",
        by="A. Curator",
        reason="for the fair",
        conditions=("C1",),
        overrides=dict.fromkeys(losses, "accepted"),
    )


def test_decisions_follow_a_renamed_proposal_and_object(db: Path) -> None:
    decide(db, "T1", "P2", "approve", by="A. Curator", reason="dusting")
    statements.rename(db, "proposals", "T1/P2", "dusting", BY, WHY)
    statements.rename(db, "objects", "T1", "2030.1", BY, WHY)
    made = decide(db, "2030.1", "dusting", "approve", by="A. Curator", reason="still dusting")
    assert (made.proposal, made.number) == ("2030.1/dusting", 2)
    with database.opened(db, write=False) as connection:
        assert read.proposal_keys(connection) == [("2030.1", "P1"), ("2030.1", "dusting")]
        for object_code, code in (("T1", "P2"), ("2030.1", "dusting")):
            now = standing(connection, object_code, code)
            assert now is not None
            assert (now.number, now.stale) == (2, False)
    assert check(db).damage == ()


def test_the_published_page_uses_the_present_codes(db: Path, tmp_path: Path) -> None:
    statements.rename(db, "objects", "T1", "2030.1", BY, WHY)
    statements.rename(db, "samples", "2030.1/S1", "cut-1", BY, WHY)
    report = publish(db, tmp_path / "site")
    assert report.objects == 2
    site = next((tmp_path / "site").glob("*.db"))
    import sqlite3

    connection = sqlite3.connect(site)
    text = "\n".join(connection.iterdump())
    connection.close()
    assert "2030.1/cut-1" in text
    assert "T1/S1" not in text


def test_the_command_tells_what_becomes_of_proposed_work_and_a_dry_run_changes_nothing(
    db: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    decide(db, "T1", "P2", "approve", by="A. Curator", reason="dusting")
    before = db.read_bytes()
    arguments = ["rename", str(db), "zones", "T1/Z1", "front", "--by", BY, "--reason", WHY]
    assert run([*arguments, "--dry-run", "--json"]) == 0
    said = json.loads(capsys.readouterr().out)
    assert (said["change"], said["dry_run"]) == (None, True)
    assert [
        (p["proposal"], p["before"] == p["after"], p["losses"], p["approval_overtaken"]) for p in said["severities"]
    ] == [("T1/P1", True, [], False), ("T1/P2", True, [], True)]
    assert db.read_bytes() == before
    assert not db.with_name(db.name + "-wal").exists()
    assert run(arguments) == 0
    assert "Its approval is out of date" in capsys.readouterr().out
    assert run(["show", str(db), "T1"]) == 0
    assert "front" in capsys.readouterr().out


@pytest.mark.slow
@settings(max_examples=15)
@given(
    st.lists(
        st.tuples(
            st.sampled_from(["zones", "schemes", "samples", "components", "objects"]),
            st.sampled_from(["a1", "b2", "c3"]),
        ),
        max_size=6,
    )
)
def test_after_any_renames_every_code_ever_given_still_finds_its_thing(
    tmp_path_factory: pytest.TempPathFactory, acts: list[tuple[str, str]]
) -> None:
    """Against a plain list of the codes that were accepted for each thing."""
    folder = tmp_path_factory.mktemp("renames")
    path = folder / "c.db"
    database.create(path)
    load.ingest(path, coded_package(folder / "p"))
    ever = {kind: [HELD_IN[kind][0]] for kind in ("zones", "schemes", "samples", "components", "objects")}
    for kind, code in acts:
        own = ever["objects"][-1]
        key = own if kind == "objects" else f"{own}/{ever[kind][-1]}"
        try:
            statements.rename(path, kind, key, code, BY, WHY)
        except InputRefused:
            continue
        ever[kind].append(code)
    with database.opened(path, write=False) as connection:
        known = names.load(connection)
        for own in ever["objects"]:
            facts = read.facts_rows(connection, own)
            assert facts.object.object == ever["objects"][-1]
            assert ever["zones"][-1] in {z.zone for z in facts.zones}
            assert {s.component for s in facts.schemes if s.component} == {ever["components"][-1]}
            for kind in ("zones", "schemes", "samples"):
                for code in ever[kind]:
                    assert keys.find(connection, kind, f"{own}/{code}") == ("T1", ever[kind][0])
    assert known is not None or all(len(codes) == 1 for codes in ever.values())
    assert check(path).damage == ()
