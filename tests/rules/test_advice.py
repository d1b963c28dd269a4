"""Advice in force: which it is, and that it is never lost from an assessment."""

from __future__ import annotations

import json
from typing import Any

import objects as o
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from objects import advice

from collection.compute.advice import in_force
from collection.compute.build_up.places import ALL, places_of
from collection.compute.case import Case
from collection.language.work_words import ACTION
from collection.records.sheets import Advice, Treatment
from collection.rules.advice import ANSWERED
from collection.rules.assess import assess


def treated(outcome: str | None) -> Treatment:
    return Treatment(object=o.OBJ, treatment="W1", purpose="as advised", started="2012", outcome=outcome)


# ---------------------------------------------------------------- which advice is in force


@pytest.mark.parametrize(
    ("rows", "held"),
    [
        ([advice()], ["A1"]),
        ([advice(done_by="W1"), treated("done")], []),
        ([advice(done_by="W1"), treated(None)], []),
        # What was tried and given up, or done in part, is not done.
        ([advice(done_by="W1"), treated("tried and failed")], ["A1"]),
        ([advice(done_by="W1"), treated("partly")], ["A1"]),
        # The treatment that followed it is out of account.
        ([advice(done_by="W1")], ["A1"]),
        ([advice(until="2019")], []),
        # The work is planned for June 2024: the last day may lie after it.
        ([advice(until="2024")], ["A1"]),
        ([advice(until="2024-05-31")], []),
        ([advice(replaced_by="A2"), advice("A2")], ["A2"]),
        ([advice(replaced_by="A2"), advice("A2", replaced_by="A3"), advice("A3")], ["A3"]),
        # What took its place is out of account; and a circle leaves somebody's word standing.
        ([advice(replaced_by="A2")], ["A1"]),
        ([advice(replaced_by="A1")], ["A1"]),
        ([advice(replaced_by="A2"), advice("A2", replaced_by="A1")], ["A2", "A1"]),
        ([advice(given_on="1990"), advice("A2", given_on="2001")], ["A2", "A1"]),
    ],
)
def test_advice_holds_until_it_is_done_replaced_or_past_its_day(rows: list[Any], held: list[str]) -> None:
    assert [row.advice for row in in_force(o.facts(o.base(*rows)), "2024-06")] == held


@pytest.mark.parametrize(
    ("row", "step", "speaks"),
    [
        (advice(against="wash"), {"action": "wash"}, True),
        (advice(against="wash;strip"), {"action": "strip"}, True),
        (advice(against="wash"), {"action": "aqueous"}, False),
        (advice(against="all"), {"action": "dust"}, True),
        # Work that touches no coat is still work that somebody advised against.
        (advice(against="all"), {"action": "drain"}, True),
        (advice(against="operate"), {"action": "operate"}, True),
        (advice(against="wash", place="body"), {"action": "wash", "place": "door"}, True),
        (advice(against="wash", place="door"), {"action": "wash", "place": "body"}, True),
        (advice(against="wash", place=None), {"action": "wash"}, True),
        (advice(against="wash", place="sill"), {"action": "wash"}, False),
    ],
)
def test_it_speaks_against_a_step_of_its_action_on_an_overlapping_place(
    row: Advice, step: dict[str, str], speaks: bool
) -> None:
    zone = o.Zone(object=o.OBJ, zone="sill", component="body", area_m2=0.1)
    found = assess(Case(o.facts(o.base(zone, row))), o.proposal(step))
    assert [each.advice for each in found.advice] == (["A1"] if speaks else [])
    assert [r.subject for r in found.open_before_approval if r.rule == ANSWERED] == (["A1"] if speaks else [])
    # Advice that says what it speaks against is not told beside work that it does not speak against.
    assert found.advice_beside == ()


def test_advice_is_told_in_its_authors_words_and_keeps_the_name_out_of_what_is_published() -> None:
    row = advice(against="wash", given_by="I. Advisor", why="The tempera moves")
    found = assess(Case(o.facts(o.base(row))), o.proposal({"action": "dust"}, {"action": "wash"}))
    assert found.as_json()["advice"] == [
        {
            "advice": "A1",
            "what": "Do not wash it again",
            "given_by": "I. Advisor",
            "given_on": "2010-05",
            "why": "The tempera moves",
            "steps": [2],
            "place": "door",
        }
    ]
    assert found.advice[0].said() == "Do not wash it again. The tempera moves. (I. Advisor, May 2010, A1)"
    (need,) = [r for r in found.requirements if r.rule == ANSWERED]
    assert need.message == "Advice A1 of May 2010 speaks against step 2: “Do not wash it again”."
    assert "I. Advisor" not in json.dumps(found.as_json()["requirements"])


def test_advice_that_does_not_say_what_it_speaks_against_stands_beside_and_asks_nothing() -> None:
    found = assess(Case(o.facts(o.base(advice()))), o.proposal({"action": "strip"}))
    assert (found.advice, [row.advice for row in found.advice_beside]) == ((), ["A1"])
    assert [r for r in found.requirements if r.rule == ANSWERED] == []
    assert found.as_json()["advice_beside"][0]["steps"] == []


# ---------------------------------------------------------------- laws


CODES = ("A1", "A2", "A3")
PLACES = (None, "all", "body", "door", "sill")
ADVICE = st.builds(
    advice,
    st.sampled_from(CODES),
    against=st.sampled_from([None, "all", "wash", "strip", "dust", "drain", "coat"]),
    place=st.sampled_from(PLACES),
    until=st.sampled_from([None, "2019", "2024", "2030"]),
    done_by=st.sampled_from([None, "W1"]),
    replaced_by=st.sampled_from([None, *CODES]),
)
STEPS = st.lists(
    st.fixed_dictionaries({"action": st.sampled_from(ACTION.words), "place": st.sampled_from(PLACES[1:])}),
    min_size=1,
    max_size=3,
)


@settings(max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    rows=st.lists(ADVICE, max_size=3, unique_by=lambda row: row.advice),
    steps=STEPS,
    outcome=st.sampled_from([None, "done", "partly", "tried and failed"]),
)
def test_advice_in_force_is_never_lost_from_an_assessment(
    rows: list[Advice], steps: list[dict[str, str]], outcome: str | None
) -> None:
    """Whatever work is proposed: what holds on the day, on an overlapping place, is told, and what speaks against a
    step is asked for, until it is answered."""
    facts = o.facts(o.base(o.Zone(object=o.OBJ, zone="sill", component="body"), *rows, treated(outcome)))
    found, places = assess(Case(facts), o.proposal(*steps)), places_of(Case(facts))
    near = [
        row
        for row in in_force(facts, "2024-06-01")
        if any(places.overlap(row.place or ALL, step["place"]) for step in steps)
    ]
    against = {
        row.advice
        for row in near
        if row.against
        and any(
            row.against in ("all", step["action"]) and places.overlap(row.place or ALL, step["place"]) for step in steps
        )
    }
    told = found.as_json()
    assert {each["advice"] for each in told["advice"]} == against
    assert {each["advice"] for each in told["advice_beside"]} == {row.advice for row in near if not row.against}
    assert {r.subject for r in found.open_before_approval if r.rule == ANSWERED} == against
    # Only another record of the object takes it out of force: one that replaces it, follows it, or ends it.
    for row in rows:
        assert row in in_force(facts, "2024-06-01") or row.replaced_by or row.until or row.done_by
