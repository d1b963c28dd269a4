"""What has to be true before a proposal is approved or carried out: tables of cases, each with what must come out.

All objects and people are invented; what they show is common practice, no published source, unless a line says otherwise.
"""

from __future__ import annotations

from typing import Any

import objects as o
import pytest
from objects import GREEN, RED, door, section
from trial_doors import ACETONE, CAB, ONE, STRIP, WING, advice, claim

from collection.compute.case import Case
from collection.records.sheets import Analysis, Decoration, Hazard, Picture, Reserve, Scheme, Treatment
from collection.records.sheets import Test as Trial
from collection.rules.advice import advice_against, advice_beside
from collection.rules.assess import assess

# What has to be true before the work.


def asked(rows: Any, *steps: Any, **head: Any) -> Any:
    """Each requirement, by its id: when it has to be met, and whether it is."""
    wanted = o.proposal(*steps)
    wanted = o.proposal_of(wanted.proposal.model_copy(update=head), list(wanted.steps))
    return {r.id: ("" if r.met else "open ") + r.when for r in assess(Case(o.facts(rows)), wanted).requirements}


def scheme(**change: Any) -> Any:
    return [
        row.model_copy(update=change) if isinstance(row, Scheme) and row.scheme == "2" else row
        for row in door(*section("S1", RED, GREEN))
    ]


def hazard(kind: Any = "asbestos", status: Any = "confirmed", part: Any = None, on: Any = "2020") -> Any:
    return Hazard(object=o.OBJ, hazard="H1", kind=kind, status=status, component=part, observed_on=on)


def picture(place: Any = "door") -> Any:
    return Picture(object=o.OBJ, picture="I1", file="i.png", place=place)


def trial(code: Any = "T1", place: Any = "door", agent: Any = "acetone", action: Any = None) -> Any:
    return Trial(object=o.OBJ, test=code, place=place, agent=agent, action=action)


HIDDEN = WING.model_copy(update={"visibility": "hidden"})
REMOVE = {**ACETONE, "removes": "2"}
MASK, PANEL, SECOND = "mask:door:1", "trial panel:door:1", "second test place:door:1"


@pytest.mark.parametrize(
    ("rows", "step", "head", "key", "expected"),
    [
        (ONE, STRIP, {}, "owner's permission", "open approval"),
        (ONE, STRIP, {"permission": "letter of 2024"}, "owner's permission", "approval"),
        (ONE, {"action": "dust"}, {}, "owner's permission", None),
        (ONE, {"action": "drain"}, {}, "lead suspected", None),
        (ONE, {"action": "dust"}, {}, "lead suspected", "open work"),
        # Of a later scheme a named person decides; the maker's is no later scheme.
        (scheme(), REMOVE, {}, "decision on a later scheme:2", "approval"),
        (scheme(keep="sample"), REMOVE, {}, "decision on a later scheme:2", "approval"),
        (scheme(keep="keep"), REMOVE, {}, "decision on a later scheme:2", "open approval"),
        (scheme(keep=None), REMOVE, {}, "decision on a later scheme:2", "open approval"),
        (scheme(decided_by=None), REMOVE, {}, "decision on a later scheme:2", "open approval"),
        (
            scheme(keep=None),
            {**REMOVE, "removes": "2/body colour"},
            {},
            "decision on a later scheme:2",
            "open approval",
        ),
        (scheme(keep=None), ACETONE, {}, "decision on a later scheme:2", None),
        (ONE, {**REMOVE, "removes": "1"}, {}, "decision on a later scheme:1", None),
        (ONE, {**REMOVE, "removes": "9"}, {}, "decision on a later scheme:9", None),
        # Claims that are open in the place.
        ([*ONE, claim()], ACETONE, {}, "open claim:door:C1", "open approval"),
        ([*ONE, claim("supported")], ACETONE, {}, "open claim:door:C1", "open approval"),
        ([*ONE, claim("confirmed")], ACETONE, {}, "open claim:door:C1", None),
        ([*ONE, claim(), claim("refuted", on="2021")], ACETONE, {}, "open claim:door:C1", None),
        ([*ONE, claim(), claim("refuted", on="2020-05")], ACETONE, {}, "open claim:door:C1", "open approval"),
        ([*ONE, claim(place=None)], ACETONE, {}, "open claim:C1", "open approval"),
        ([*ONE, CAB, claim(place="cab")], ACETONE, {}, "open claim:cab:C1", None),
        ([*ONE, claim()], {"action": "dust"}, {}, "open claim:door:C1", None),
        # A place that stays as it is, on each part that is cut, taken down or has something taken off.
        (ONE, STRIP, {}, "one reserve per part:door", "open approval"),
        (ONE, {"action": "abrade"}, {}, "one reserve per part:door", "open approval"),
        (ONE, {"action": "other"}, {}, "one reserve per part:door", "open approval"),
        (ONE, ACETONE, {}, "one reserve per part:door", None),
        (ONE, REMOVE, {}, "one reserve per part:door", "open approval"),
        (
            [*ONE, WING, Reserve(object=o.OBJ, reserve="R1", place="wing", kind="reserve")],
            STRIP,
            {},
            "one reserve per part:door",
            "approval",
        ),
        (
            [*ONE, CAB, Reserve(object=o.OBJ, reserve="R1", place="cab", kind="reserve")],
            STRIP,
            {},
            "one reserve per part:door",
            "open approval",
        ),
        ([*ONE, CAB], {**STRIP, "place": "all"}, {}, "one reserve per part:cab", "open approval"),
        # A picture of the place.
        (ONE, ACETONE, {}, "picture before work:door", "open work"),
        ([*ONE, picture()], ACETONE, {}, "picture before work:door", "work"),
        ([*ONE, picture("all")], ACETONE, {}, "picture before work:door", "work"),
        ([*ONE, CAB, picture("cab")], ACETONE, {}, "picture before work:door", "open work"),
        ([*ONE, picture(None)], ACETONE, {}, "picture before work:door", "open work"),
        # What stops the agent; what is masked.
        (scheme(), REMOVE, {}, "arresting liquid:door:1", "open work"),
        (scheme(), {**REMOVE, "arrest_with": "isooctane"}, {}, "arresting liquid:door:1", "work"),
        (scheme(), ACETONE, {}, "arresting liquid:door:1", None),
        (scheme(), {"action": "scrape", "removes": "2"}, {}, "arresting liquid:door:1", None),
        ([*ONE, WING], {**STRIP, "spares": "wing"}, {}, MASK, "open work"),
        (ONE, STRIP, {}, MASK, None),
        ([*ONE, WING], {"action": "replace", "spares": "wing"}, {}, MASK, None),
        # Trials: where nobody looks, and in a second place, of the same part, with the like agent or work.
        ([*scheme(), HIDDEN], REMOVE, {}, PANEL, "open work"),
        ([*scheme(), HIDDEN, trial(place="wing")], REMOVE, {}, PANEL, "work"),
        ([*scheme(), HIDDEN, trial(place="wing", agent="ethanol")], REMOVE, {}, PANEL, "open work"),
        ([*scheme(), WING, trial(place="wing")], REMOVE, {}, PANEL, "open work"),
        ([*scheme(), HIDDEN, trial(place="door")], REMOVE, {}, PANEL, "open work"),
        (
            [*scheme(), HIDDEN.model_copy(update={"visibility": "inconspicuous"}), trial(place="wing")],
            REMOVE,
            {},
            PANEL,
            "work",
        ),
        (
            [*scheme(), CAB, HIDDEN.model_copy(update={"component": "cab"}), trial(place="wing")],
            REMOVE,
            {},
            PANEL,
            "open work",
        ),
        (
            [*scheme(), HIDDEN, trial(place="wing", action="heat")],
            {"action": "heat", "removes": "2"},
            {},
            PANEL,
            "work",
        ),
        (
            [*scheme(), HIDDEN, trial(place="wing", action="laser")],
            {"action": "heat", "removes": "2"},
            {},
            PANEL,
            "open work",
        ),
        (scheme(), ACETONE, {}, PANEL, None),
        (scheme(), {**STRIP, "removes": "2"}, {}, PANEL, None),
        ([*scheme(), HIDDEN, trial(place="wing")], REMOVE, {}, SECOND, "open work"),
        ([*scheme(), HIDDEN, trial(place="wing"), trial("T2")], REMOVE, {}, SECOND, "work"),
        ([*scheme(), HIDDEN, trial(place="wing"), trial("T2", "wing")], REMOVE, {}, SECOND, "open work"),
        # Hazards, and lead where nothing says that there is or is not.
        ([*ONE, hazard()], ACETONE, {}, "hazard addressed:H1", "open work"),
        ([*ONE, hazard(status="suspected")], ACETONE, {}, "hazard addressed:H1", "open work"),
        ([*ONE, hazard(status="controlled")], ACETONE, {}, "hazard addressed:H1", "work"),
        ([*ONE, hazard(), hazard(status="not found", on="2021")], ACETONE, {}, "hazard addressed:H1", None),
        ([*ONE, hazard(), hazard(status="not found", on="2020-06")], ACETONE, {}, "hazard addressed:H1", "open work"),
        ([*ONE, CAB, hazard(part="cab")], ACETONE, {}, "hazard addressed:cab:H1", None),
        ([*ONE, hazard(part="door")], ACETONE, {}, "hazard addressed:door:H1", "open work"),
        (
            door(*section("S1", RED), *o.met("T1", 1, "none seen", sample="S1")),
            ACETONE,
            {},
            "look again dry",
            "open work",
        ),
        (
            door(*section("S1", RED), *o.met("T1", 1, "none seen", sample="S1", after_drying="yes")),
            ACETONE,
            {},
            "look again dry",
            None,
        ),
        ([*ONE, hazard(part="door")], {"action": "dust"}, {}, "hazard addressed:door:H1", "open work"),
        ([*ONE, hazard()], ACETONE, {}, "lead suspected", "open work"),
        ([*ONE, hazard("Lead paint")], ACETONE, {}, "lead suspected", None),
        (
            [*ONE, Analysis(object=o.OBJ, analysis="A1", technique="XRF", result="no lead")],
            ACETONE,
            {},
            "lead suspected",
            None,
        ),
        (
            [*ONE, Analysis(object=o.OBJ, analysis="A1", technique="XRF", result="none", material="Lead white")],
            ACETONE,
            {},
            "lead suspected",
            None,
        ),
    ],
)
def test_what_is_asked_before_a_proposal_is_approved_or_carried_out(
    rows: Any, step: Any, head: Any, key: Any, expected: Any
) -> None:
    assert asked(rows, step, **head).get(key) == expected


def test_a_decoration_that_is_stripped_keeps_a_piece_of_itself() -> None:
    line = Decoration(object=o.OBJ, decoration="D1", place="door", kind="lining", scheme="1", observed_on="2010")
    kept = Reserve(object=o.OBJ, reserve="R1", place="door", kind="reserve")
    key = "one reserve per decoration:door:D1"
    for rows, step, expected in (
        ([line], STRIP, "open approval"),
        ([line], {"action": "abrade"}, None),
        ([line, kept], STRIP, "approval"),
        ([line, line.model_copy(update={"state": "lost", "observed_on": "2020"})], STRIP, None),
        ([line, line.model_copy(update={"state": "lost", "observed_on": "2010-06"})], STRIP, "open approval"),
        ([line, line.model_copy(update={"state": "not found", "observed_on": "2020"})], STRIP, None),
        ([line, CAB], {**STRIP, "place": "cab"}, None),
    ):
        assert asked([*ONE, *rows], step).get(key) == expected, (rows, step)


def test_tests_that_were_not_looked_at_dry_are_named_together() -> None:
    rows = door(*section("S1", RED), *o.met("T1", 1, "none seen", sample="S1"))
    found = {r.rule: r for r in assess(Case(o.facts(rows)), o.proposal(ACETONE)).requirements}
    assert found["look again dry"].message == "T1: not recorded whether it was looked at again when dry."
    open_first = [r.met for r in assess(Case(o.facts(rows)), o.proposal(ACETONE)).requirements]
    assert open_first == sorted(open_first)


# Advice in force.


@pytest.mark.parametrize(
    ("rows", "expected"),
    [
        ([advice()], [("V1", (1,))]),
        ([advice(against="all")], [("V1", (1, 2))]),
        ([advice(against="blast")], []),
        ([advice(against="blast; solvent")], [("V1", (2,))]),
        ([advice(against=None)], []),
        ([advice(place="door")], [("V1", (1,))]),
        ([advice(place="wing")], [("V1", (1,))]),
        ([advice(place="cab")], []),
        # Done, replaced, past its last day; planned for 1 June 2024.
        ([advice(done_by="W1"), Treatment(object=o.OBJ, treatment="W1", purpose="x")], []),
        (
            [advice(done_by="W1"), Treatment(object=o.OBJ, treatment="W1", purpose="x", outcome="tried and failed")],
            [("V1", (1,))],
        ),
        ([advice(done_by="W2")], [("V1", (1,))]),
        ([advice(replaced_by="V2"), advice(advice="V2", against="blast")], []),
        ([advice(replaced_by="V9")], [("V1", (1,))]),
        ([advice(until="2024-05-31")], []),
        ([advice(until="2024-06-01")], [("V1", (1,))]),
        ([advice(until="2024")], [("V1", (1,))]),
        # The newest first.
        (
            [advice(), advice(advice="V2", given_on="2012"), advice(advice="V3", given_on="2011")],
            [("V2", (1,)), ("V3", (1,)), ("V1", (1,))],
        ),
    ],
)
def test_advice_holds_until_it_is_followed_replaced_or_over(rows: Any, expected: Any) -> None:
    facts, wanted = o.facts([*ONE, WING, CAB, *rows]), o.proposal(STRIP, ACETONE)
    assert [(row.advice, row.steps) for row in advice_against(Case(facts), wanted)] == expected
    open_ = [r.subject for r in assess(Case(facts), wanted).open_before_approval if r.rule == "advice answered"]
    assert sorted(open_) == sorted(code for code, _ in expected)


def test_advice_that_says_against_nothing_stands_beside_and_is_said_in_its_own_words() -> None:
    beside = advice(against=None, place="wing", given_by="Cy Orme", why="it flakes")
    facts = o.facts(
        [*ONE, WING, CAB, beside, advice(advice="V2", against=None, place="cab"), advice(advice="V3", against=None)]
    )
    assert [row.advice for row in advice_beside(Case(facts), o.proposal(STRIP))] == ["V3", "V1"]
    assert [row.said() for row in advice_beside(Case(facts), o.proposal(STRIP))] == [
        "do not strip it. (2010, V3)",
        "do not strip it. it flakes. (Cy Orme, 2010, V1)",
    ]
