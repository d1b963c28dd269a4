"""What the gate lets through, what it asks for, and what it records.

All objects and people are invented; what they show is common practice, no published source, unless a line says otherwise.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import objects as o
import pytest
from objects import RED, section
from trial_doors import (
    ACETONE,
    BOTH,
    HELD,
    RED_LOSS,
    TAKEN,
    VARNISH_LOSS,
    advice,
    approve,
    claim,
    ingested,
    now,
    stored,
)

from collection.compute.case import Case
from collection.language.errors import GateRefused, WrongCommand
from collection.records.policy import default_policy
from collection.rules.assess import assess
from collection.store.base import database, read
from collection.store.changes import statements
from collection.store.decide.decisions import answers_so_far, decide, decisions, standing
from collection.store.decide.staleness import is_stale


@pytest.mark.parametrize(
    ("overrides", "refused"), [({}, {RED_LOSS, VARNISH_LOSS}), ({RED_LOSS: "worn"}, {VARNISH_LOSS}), (BOTH, set())]
)
def test_an_approval_names_every_loss_that_it_lets_happen(tmp_path: Path, overrides: Any, refused: Any) -> None:
    db = stored(tmp_path, HELD, ("P", [TAKEN]))
    before = db.read_bytes()
    if refused:
        with pytest.raises(GateRefused, match="nothing was recorded") as told:
            approve(db, overrides=overrides)
        lines = [line for line in str(told.value).splitlines() if line.startswith("  - ")]
        assert {line.removeprefix("  - ").split(" (")[0] for line in lines} == refused
        assert all("(destroys): door: " in line for line in lines)
        assert db.read_bytes() == before
        return
    made = approve(db, overrides=overrides)
    assert made.overrides == ((RED_LOSS, "destroys", "worn through"), (VARNISH_LOSS, "destroys", "perished"))
    assert (made.number, made.decision, made.steps, made.outcome, made.stale) == (1, "approve", None, "destroys", False)
    assert now(db) == made
    with database.opened(db, write=False) as connection:
        assert decisions(connection, o.OBJ, "P") == [made]
        assert tuple(connection.execute("SELECT by, why FROM changes WHERE number = ?", (made.change,)).fetchone()) == (
            "A. Curator",
            "for the fair",
        )


def test_a_refusal_asks_for_nothing_and_an_unknown_loss_or_step_is_a_mistake(tmp_path: Path) -> None:
    db = stored(tmp_path, HELD, ("P", [TAKEN]))
    made = decide(db, o.OBJ, "P", "refuse", by="A. Curator", reason="too much")
    assert (made.decision, made.overrides) == ("refuse", ())
    with pytest.raises(WrongCommand, match=r"No loss is called door/9/varnish\. The losses are: .*door/1/varnish"):
        approve(db, overrides={**BOTH, "door/9/varnish": "x"})
    with pytest.raises(WrongCommand, match="The proposal has no step 2, 5; its steps are 1"):
        approve(db, steps=(1, 5, 2))
    with database.opened(db, write=False) as connection:
        assert [each.decision for each in decisions(connection, o.OBJ, "P")] == ["refuse"]
        assert decisions(connection, o.OBJ, "no such") == []
        assert standing(connection, o.OBJ, "no such") is None


@pytest.mark.parametrize(
    ("change", "conditions", "open_"),
    [
        ([], (), set()),
        ([claim()], (), {"open claim:door:C1"}),
        ([claim()], ("open C1 first; then go on",), set()),
        ([claim()], ("open C1",), set()),
        ([claim()], ("open C11",), {"open claim:door:C1"}),
        ([claim(place=None)], ("C1, by section",), set()),
        ([advice()], ("V1",), {"advice answered:V1"}),
        ([advice(against="blast")], (), set()),
    ],
)
def test_open_requirements_hold_an_approval_and_a_claim_may_become_its_condition(
    tmp_path: Path, change: Any, conditions: Any, open_: Any
) -> None:
    """All the losses are overridden; what is asked before work holds nothing."""
    db = stored(tmp_path, [*HELD, *change], ("P", [TAKEN]))
    if open_:
        with pytest.raises(GateRefused) as told:
            approve(db, overrides=BOTH, conditions=conditions)
        lines = str(told.value).splitlines()[1:]
        assert {line.removeprefix("  - ").split(" (open)")[0] for line in lines} == open_
    else:
        assert approve(db, overrides=BOTH, conditions=conditions).conditions == conditions


def test_advice_is_answered_with_a_reason_that_holds_until_the_advice_changes(tmp_path: Path) -> None:
    """The first advice is answered; the answer holds for a second approval. A refusal asks for none."""
    db = stored(
        tmp_path,
        [*HELD, advice(), advice(advice="V2", against="wash")],
        ("P", [TAKEN, {"action": "wash", "agent": "water", "spares": "wing"}]),
    )
    with pytest.raises(GateRefused, match=r"advice answered:V2 \(open\): .* --answer V2 REASON"):
        approve(db, overrides=BOTH, answers={"V1": "it is perished"})
    with pytest.raises(WrongCommand, match="No advice in force against these steps is called V9"):
        approve(db, overrides=BOTH, answers={"V9": "x"})
    with pytest.raises(WrongCommand, match="Say why for advice V1"):
        approve(db, overrides=BOTH, answers={"V1": " "})
    with pytest.raises(WrongCommand, match="Say why for loss door/1/varnish"):
        approve(db, overrides={VARNISH_LOSS: ""})
    first = approve(db, steps=(1,), overrides=BOTH, answers={"V1": "it is perished"})
    assert [(each.advice, each.reason) for each in first.answers] == [("V1", "it is perished")]
    with database.opened(db, write=False) as connection:
        facts = read.facts_rows(connection, o.OBJ)
        found = assess(Case(facts), read.load_proposal(connection, o.OBJ, "P").up_to(1))
        assert answers_so_far(connection, o.OBJ, "P", facts, found) == {"V1": "it is perished"}
    again = approve(db, steps=(1,))
    assert [(each.advice, each.reason) for each in again.answers] == [("V1", "it is perished")]
    assert again.as_json()["answers"] == [{"advice": "V1", "reason": "it is perished"}]
    assert now(db) == again
    assert decide(db, o.OBJ, "P", "refuse", by="A. Curator", reason="no").answers == ()
    with pytest.raises(GateRefused, match="V2"):
        approve(db, steps=(2,))
    whole = approve(db, answers={"V2": "only with a damp swab"})
    assert [each.advice for each in whole.answers] == ["V1", "V2"]


def test_steps_are_approved_in_turn_each_with_what_comes_before_it(tmp_path: Path) -> None:
    """Step 2 strips; step 1 is a dusting. To approve the first asks for no override, to approve the second does."""
    db = stored(tmp_path, HELD, ("P", [{"action": "dust"}, TAKEN, {"action": "dust"}]))
    made = approve(db, steps=(1,))
    assert (made.steps, made.outcome, made.overrides) == ((1,), "clear", ())
    with pytest.raises(GateRefused):
        approve(db, steps=(2,))
    assert approve(db, steps=(3,)).outcome == "destroys", "the strip before it is no matter of the third step"
    assert approve(db, steps=(2,), overrides=BOTH).number == 3


def test_what_is_recorded_since_makes_a_decision_stale_and_another_policy_too(tmp_path: Path) -> None:
    db = stored(tmp_path, HELD, ("P", [{"action": "dust"}, TAKEN]))
    approve(db, steps=(1,))
    assert not now(db).stale
    assert now(db, policy=replace(default_policy(), version="2", sha256="0" * 64)).stale
    ingested(tmp_path / "second", db, section("S8", RED))
    assert now(db).stale
    approve(db, steps=(1,))
    assert not now(db).stale


def test_a_decision_on_a_step_that_is_no_more_is_overtaken(tmp_path: Path) -> None:
    db = stored(tmp_path, HELD, ("P", [{"action": "dust"}, TAKEN]))
    made = approve(db, steps=(1,))
    with database.opened(db, write=False) as connection:
        facts, wanted = read.facts_rows(connection, o.OBJ), read.load_proposal(connection, o.OBJ, "P")
    for steps, expected in (((1,), False), ((1, 9), True)):
        assert is_stale(replace(made, steps=steps).basis, Case(facts), wanted) == expected


def test_an_override_carries_over_to_what_is_no_worse_and_to_nothing_else(tmp_path: Path) -> None:
    """After a further section the loss is the same, and the earlier reasons still hold; a new loss needs its own."""
    db = stored(tmp_path, HELD, ("P", [TAKEN]))
    approve(db, overrides=BOTH)
    ingested(tmp_path / "second", db, section("S8", RED))
    made = approve(db, overrides={RED_LOSS: "worn, and read again"})
    assert made.overrides == ((RED_LOSS, "destroys", "worn, and read again"), (VARNISH_LOSS, "destroys", "perished"))
    ingested(tmp_path / "third", db, section("S9", ("1", "glaze", None, "intact"), RED))
    with pytest.raises(GateRefused) as told:
        approve(db)
    assert [line.split(" (")[0] for line in str(told.value).splitlines()[1:]] == ["  - door/1/glaze"]
    refused = decide(db, o.OBJ, "P", "refuse", by="A. Curator", reason="no")
    assert refused.overrides == ()


def test_an_override_is_asked_for_again_once_codes_have_changed(tmp_path: Path) -> None:
    """The id of a loss holds codes: after a scheme was renamed there and back it may be another's."""
    db = stored(tmp_path, HELD, ("P", [TAKEN]))
    approve(db, overrides=BOTH)
    for old, new in (("1", "first"), ("first", "1")):
        statements.rename(db, "schemes", f"{o.OBJ}/{old}", new, "A. Penrose", "as the book has it")
    with pytest.raises(GateRefused):
        approve(db)


def test_a_decision_rests_on_the_policy_it_was_made_by(tmp_path: Path) -> None:
    db = stored(tmp_path, HELD, ("P", [{"action": "dust"}]))
    other = replace(default_policy(), version="2", sha256="0" * 64)
    approve(db, policy=other)
    assert (now(db, policy=other).stale, now(db).stale) == (False, True)


def test_an_override_covers_the_severity_it_saw_and_no_worse_one(tmp_path: Path) -> None:
    """Acetone endangers the varnish when it is approved; then a test shows that it takes it off."""
    rows = [*HELD, *o.met("T1", 2, "softened", sample="S1")]
    liquid = {**ACETONE, "dwell_s": 30.0, "application": "rolled swab", "spares": "wing"}
    db = stored(tmp_path, rows, ("P", [liquid]))
    made = approve(db, overrides={VARNISH_LOSS: "thin it"})
    assert made.overrides == ((VARNISH_LOSS, "endangers", "thin it"),)
    ingested(tmp_path / "second", db, o.met("T2", 2, "removed", sample="S1"))
    with pytest.raises(GateRefused, match=VARNISH_LOSS):
        approve(db)


def test_a_decision_as_data_says_who_what_and_why(tmp_path: Path) -> None:
    db = stored(tmp_path, HELD, ("P", [{"action": "dust"}, TAKEN]))
    made = approve(db, steps=(1, 2), overrides=BOTH, conditions=("in daylight",))
    told = made.as_json()
    assert {
        key: told[key]
        for key in (
            "format",
            "proposal",
            "number",
            "decision",
            "steps",
            "conditions",
            "by",
            "reason",
            "outcome",
            "stale",
        )
    } == {
        "format": 1,
        "proposal": "T.1/P",
        "number": 1,
        "decision": "approve",
        "steps": [1, 2],
        "conditions": ["in daylight"],
        "by": "A. Curator",
        "reason": "for the fair",
        "outcome": "destroys",
        "stale": False,
    }
    assert told["at"] == made.at
    assert len(made.at) == len("2024-06-01T12:00:00+00:00")
    assert told["inputs_sha256"] == made.inputs_sha256
    assert told["overrides"] == [
        {"loss": RED_LOSS, "severity": "destroys", "reason": "worn through"},
        {"loss": VARNISH_LOSS, "severity": "destroys", "reason": "perished"},
    ]
    assert approve(db, overrides=BOTH).as_json()["steps"] is None
