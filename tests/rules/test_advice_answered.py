"""Advice that is answered: no approval passes it unanswered, and what is published of it."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import objects as o
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from objects import advice
from published_secrets import document_of

from collection.cli import run
from collection.compute.case import Case
from collection.language.errors import GATE, USAGE, GateRefused, WrongCommand
from collection.output.published.assessments import public_assessment
from collection.output.site.publish import publish
from collection.rules.advice import ANSWERED
from collection.rules.assess import assess
from collection.store import check
from collection.store.base import database
from collection.store.changes import corrections
from collection.store.decide.decisions import Decision, decide, standing

# ---------------------------------------------------------------- the gate


SHEETS = {
    "objects": "object,title,kind\nT1,Trial door,door\n",
    "components": "object,component,name,area_m2\nT1,body,body,2\n",
    "proposals": "object,proposal,title,proposed_by,proposed_on,permission\nT1,P1,Wrap and dust it,N. N.,2024,letter\n",
    "proposal_steps": "object,proposal,step,place,action\nT1,P1,1,body,dust\nT1,P1,2,body,wrap\n",
}
HEAD = "object,advice,what,given_on,place,given_by,against,until\n"
AGAINST_DUST = "T1,A1,Leave the dust alone,2010,body,I. Advisor,dust,\n"
AGAINST_WRAP = "T1,A2,No plastic on it,2011,body,I. Advisor,wrap,\n"


@pytest.fixture
def made(tmp_path: Path) -> Callable[..., Any]:
    """A database with a proposal of two steps that take nothing, and advice as told."""

    def make(*rows: str) -> Path:
        db = tmp_path / "c.db"
        database.create(db)
        folder = tmp_path / "p"
        folder.mkdir()
        (folder / "survey.toml").write_text('code = "s"\ntitle = "t"\nlead = "N. N."\nstarted = "2024"\n')
        for sheet, text in {**SHEETS, **({"advice": HEAD + "".join(rows)} if rows else {})}.items():
            (folder / f"{sheet}.csv").write_text(text)
        assert run(["ingest", str(db), str(folder)]) == 0
        return db

    return make


def approve(db: Path, *words: str) -> int:
    return run(["decide", str(db), "T1/P1", "--approve", "--by", "A. Curator", "--reason", "for the fair", *words])


def test_an_approval_against_advice_is_refused_and_says_what_to_do(
    made: Callable[..., Any], capsys: pytest.CaptureFixture[str]
) -> None:
    db = made(AGAINST_DUST)
    before = db.read_bytes()
    capsys.readouterr()
    assert approve(db) == GATE
    said = capsys.readouterr().err
    assert "Advice A1 of 2010 speaks against step 1: “Leave the dust alone”" in said
    assert "--answer A1 REASON" in said
    assert db.read_bytes() == before
    assert approve(db, "--answer", "A1", "a museum vacuum with a screen, as she agreed") == 0


def test_an_answer_is_kept_chained_and_shown_with_the_decision(
    made: Callable[..., Any], capsys: pytest.CaptureFixture[str]
) -> None:
    db = made(AGAINST_DUST)
    capsys.readouterr()
    assert approve(db, "--answer", "A1", "she agreed", "--json") == 0
    told = json.loads(capsys.readouterr().out)
    assert told["answers"] == [{"advice": "A1", "reason": "she agreed"}]
    assert check.check(db).damage == ()
    with database.opened(db, write=False) as connection:
        stored = json.loads(connection.execute("SELECT assessment FROM decisions").fetchone()[0])
        assert [(r["id"], r["state"]) for r in stored["requirements"] if r["rule"] == ANSWERED] == [
            ("advice answered:body:A1", "met")
        ]
    with database.opened(db, write=True) as connection, pytest.raises(Exception, match="Nothing is altered in answers"):
        connection.execute("UPDATE answers SET reason = 'other'")
    _swap_reason(db)
    assert any("change" in fault for fault in map(str, check.check(db).damage))


def _swap_reason(db: Path) -> None:
    """What somebody does who takes the guard away first."""
    with database.opened(db, write=True) as connection:
        connection.execute("DROP TRIGGER answers_no_update")
        connection.execute("UPDATE answers SET reason = 'other'")
        connection.commit()


@pytest.mark.parametrize("decision", ["refuse", "defer"])
def test_a_refusal_or_a_deferral_asks_for_no_answer(made: Callable[..., Any], decision: str) -> None:
    db = made(AGAINST_DUST)
    assert decide(db, "T1", "P1", decision, by="A. Curator", reason="as advised").answers == ()


def test_what_is_answered_stays_answered_while_the_advice_stands_as_it_did(made: Callable[..., Any]) -> None:
    db = made(AGAINST_DUST)
    decide(db, "T1", "P1", "approve", by="A. C.", reason="r", answers={"A1": "she agreed"})
    again = decide(db, "T1", "P1", "approve", by="A. C.", reason="again")
    assert [(each.advice, each.reason) for each in again.answers] == [("A1", "she agreed")]
    # A note is no part of it.
    corrections.correct(db, "advice", "T1/A1", {"notes": "letter of 2010"}, "R. P.", "found")
    decide(db, "T1", "P1", "approve", by="A. C.", reason="again")
    corrections.correct(db, "advice", "T1/A1", {"why": "The gilding is loose"}, "R. P.", "from the letter")
    with database.opened(db, write=False) as connection:
        assert standing(connection, "T1", "P1").stale
    with pytest.raises(GateRefused, match="--answer A1"):
        decide(db, "T1", "P1", "approve", by="A. C.", reason="again")


def test_newer_advice_is_answered_for_itself(made: Callable[..., Any]) -> None:
    db = made(AGAINST_DUST, AGAINST_WRAP)
    with pytest.raises(GateRefused, match="Advice A2") as refused:
        decide(db, "T1", "P1", "approve", by="A. C.", reason="r", answers={"A1": "she agreed"})
    assert "Advice A1" not in str(refused.value)


def test_an_answer_holds_for_the_steps_that_it_was_given_for(made: Callable[..., Any]) -> None:
    """Advice against all work, answered for the dusting, is asked again for the wrapping."""
    db = made("T1,A1,Leave it alone,2010,body,I. Advisor,all,\n")
    first = decide(db, "T1", "P1", "approve", by="A. C.", reason="r", steps=(1,), answers={"A1": "a soft brush"})
    assert first.steps == (1,)
    with pytest.raises(GateRefused, match="against steps 1, 2"):
        decide(db, "T1", "P1", "approve", by="A. C.", reason="r")
    decide(db, "T1", "P1", "approve", by="A. C.", reason="r", answers={"A1": "a soft brush and clean linen"})
    decide(db, "T1", "P1", "approve", by="A. C.", reason="r", steps=(1,))


def test_only_the_steps_that_are_asked_for_are_held_against_advice(made: Callable[..., Any]) -> None:
    db = made(AGAINST_DUST, AGAINST_WRAP)
    decide(db, "T1", "P1", "approve", by="A. C.", reason="r", steps=(1,), answers={"A1": "she agreed"})
    decide(db, "T1", "P1", "approve", by="A. C.", reason="r", steps=(2,), answers={"A2": "linen"})


def test_what_somebody_answered_in_a_refusal_is_no_answer_to_an_approval(made: Callable[..., Any]) -> None:
    db = made(AGAINST_DUST)
    decide(db, "T1", "P1", "refuse", by="A. C.", reason="r", answers={"A1": "quite right"})
    with pytest.raises(GateRefused, match="--answer A1"):
        decide(db, "T1", "P1", "approve", by="A. C.", reason="r")


def test_an_answer_to_what_nobody_advised_and_one_that_says_nothing_are_refused(
    made: Callable[..., Any], capsys: pytest.CaptureFixture[str]
) -> None:
    db = made(AGAINST_DUST)
    with pytest.raises(WrongCommand, match=r"called A9\. The advice against them is: A1"):
        decide(db, "T1", "P1", "approve", by="A. C.", reason="r", answers={"A9": "x"})
    assert approve(db, "--answer", "A1", "  ") == USAGE
    assert "Say why for advice A1" in capsys.readouterr().err
    assert approve(db, "--override", "body/x", " ") == USAGE


# ---------------------------------------------------------------- what is published


def test_people_who_advised_are_named_only_where_names_are_published() -> None:
    facts = o.facts(o.base(advice(against="all", given_by="I. Advisor"), advice("A2", given_by="B. Sider")))
    whole = assess(Case(facts), o.proposal({"action": "wash"})).as_json()
    for names in (False, True):
        shown = json.dumps(public_assessment(whole, None, {}, {1}, names=names))
        assert ("I. Advisor" in shown, "B. Sider" in shown) == (names, names)
        assert "Do not wash it again" in shown


def test_advice_for_staff_alone_is_not_told_to_the_public() -> None:
    """Its requirement stays, without its words."""
    step = o.proposal({"action": "wash"})
    public = assess(Case(o.facts(o.base())), step).as_json()
    whole = assess(Case(o.facts(o.base(advice(against="all")))), step).as_json()
    shown = public_assessment(whole, public, {}, {1}, names=True)
    assert shown["advice"] == []
    assert "Do not wash it again" not in json.dumps(shown)
    assert ("not published", "open") in {(r["rule"], r["state"]) for r in shown["requirements"]}


def test_an_answer_is_published_with_its_decision_and_closes_the_requirement(
    made: Callable[..., Any], tmp_path: Path
) -> None:
    db = made(AGAINST_DUST)
    decide(db, "T1", "P1", "approve", by="A. C.", reason="r", answers={"A1": "she agreed"})
    publish(db, tmp_path / "site")
    (proposal,) = document_of(tmp_path / "site", "T1")["proposals"]
    assert proposal["decisions"][0]["answers"] == [{"advice": "A1", "reason": "she agreed"}]
    assert [r["state"] for r in proposal["assessment"]["requirements"] if r["rule"] == ANSWERED] == ["met"]


def test_an_answer_is_read_where_decisions_are(made: Callable[..., Any], capsys: pytest.CaptureFixture[str]) -> None:
    db = made(AGAINST_DUST)
    approve(db, "--answer", "A1", "she agreed")
    for words in (
        ("show", db, "T1"),
        ("show", db, "T1/P1"),
        ("show", db, "T1", "--history"),
        ("assess", db, "T1/P1"),
        ("assess", db, "T1/P1", "--sheet"),
    ):
        capsys.readouterr()
        run([str(word) for word in words])
        assert "she agreed" in capsys.readouterr().out, words


@pytest.mark.slow
@settings(max_examples=25)
@given(against=st.sets(st.sampled_from(["A1", "A2"])), answered=st.sets(st.sampled_from(["A1", "A2"])))
def test_an_approval_against_unanswered_advice_is_always_refused(
    tmp_path_factory: pytest.TempPathFactory, against: set[str], answered: set[str]
) -> None:
    db = _with_advice(tmp_path_factory.mktemp("law"), against)
    answers = dict.fromkeys(answered & against, "for a reason")
    if against <= answered:
        assert {each.advice for each in _approve(db, answers).answers} == against
    else:
        with pytest.raises(GateRefused) as refused:
            _approve(db, answers)
        for code in against - answered:
            assert f"--answer {code} REASON" in str(refused.value)


def _approve(db: Path, answers: dict[str, str]) -> Decision:
    return decide(db, "T1", "P1", "approve", by="A. C.", reason="r", answers=answers)


def _with_advice(folder: Path, against: set[str]) -> Path:
    db = folder / "c.db"
    database.create(db)
    (folder / "survey.toml").write_text('code = "s"\ntitle = "t"\nlead = "N. N."\nstarted = "2024"\n')
    rows = {"A1": AGAINST_DUST, "A2": AGAINST_WRAP}
    text = HEAD + "".join(
        rows[code] if code in against else rows[code].replace(",dust,", ",strip,").replace(",wrap,", ",strip,")
        for code in rows
    )
    for sheet, said in {**SHEETS, "advice": text}.items():
        (folder / f"{sheet}.csv").write_text(said)
    assert run(["ingest", str(db), str(folder)]) == 0
    return db
