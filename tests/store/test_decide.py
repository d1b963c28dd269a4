"""What is told of a proposal before it is decided, what has to be true first, and what the gate lets through: tables of
cases, each with what must come out and why. All objects and people are invented; what they show is common practice, no
published source, unless a line says otherwise."""

from __future__ import annotations

import csv
from dataclasses import replace
from pathlib import Path

import objects as o
import pytest
from objects import GREEN, RED, door, fails, said, section

from collection.compute.case import Case
from collection.compute.survival.survival import object_survival
from collection.ingest.load import ingest
from collection.language.errors import GateRefused, WrongCommand
from collection.records.policy import default_policy
from collection.records.sheets import (
    Advice,
    Analysis,
    Claim,
    Component,
    Decoration,
    Hazard,
    Object,
    Picture,
    Proposal,
    ProposalStep,
    Reserve,
    Scheme,
    Treatment,
    TreatmentStep,
    Zone,
)
from collection.records.sheets import Test as Trial
from collection.rules.advice import advice_against, advice_beside
from collection.rules.assess import assess
from collection.rules.effect import looked_for, takes_off
from collection.store.base import database, read
from collection.store.changes import same
from collection.store.decide.decisions import answers_so_far, decide, decisions, is_overtaken, standing

ACETONE = {"action": "solvent", "agent": "acetone"}
STRIP = {"action": "strip"}
WING = Zone(object=o.OBJ, zone="wing", component="door", area_m2=0.5)
CAB = Component(object=o.OBJ, component="cab", name="cab")
ONE = door(*section("S1", RED))


# What has to be true before the work.


def asked(rows, *steps, **head):
    """Each requirement, by its id: when it has to be met, and whether it is."""
    wanted = o.proposal(*steps)
    wanted = o.proposal_of(wanted.proposal.model_copy(update=head), list(wanted.steps))
    return {r.id: ("" if r.met else "open ") + r.when for r in assess(Case(o.facts(rows)), wanted).requirements}


LATER = next(row for row in door() if isinstance(row, Scheme) and row.scheme == "2")


def scheme(**change):
    return [
        row.model_copy(update=change) if isinstance(row, Scheme) and row.scheme == "2" else row
        for row in door(*section("S1", RED, GREEN))
    ]


def claim(status="untested", place="door", on="2020", **more):
    return Claim(
        object=o.OBJ, claim="C1", statement="a number lies beneath", status=status, place=place, observed_on=on, **more
    )


def hazard(kind="asbestos", status="confirmed", part=None, on="2020"):
    return Hazard(object=o.OBJ, hazard="H1", kind=kind, status=status, component=part, observed_on=on)


def picture(place="door"):
    return Picture(object=o.OBJ, picture="I1", file="i.png", place=place)


def trial(code="T1", place="door", agent="acetone", action=None):
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
def test_what_is_asked_before_a_proposal_is_approved_or_carried_out(rows, step, head, key, expected):
    assert asked(rows, step, **head).get(key) == expected


def test_a_decoration_that_is_stripped_keeps_a_piece_of_itself():
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


def test_tests_that_were_not_looked_at_dry_are_named_together():
    rows = door(*section("S1", RED), *o.met("T1", 1, "none seen", sample="S1"))
    found = {r.rule: r for r in assess(Case(o.facts(rows)), o.proposal(ACETONE)).requirements}
    assert found["look again dry"].message == "T1: not recorded whether it was looked at again when dry."
    open_first = [r.met for r in assess(Case(o.facts(rows)), o.proposal(ACETONE)).requirements]
    assert open_first == sorted(open_first)


# Advice in force.


def advice(**more):
    return Advice(
        **{"object": o.OBJ, "advice": "V1", "what": "do not strip it", "given_on": "2010", "against": "strip", **more}
    )


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
def test_advice_holds_until_it_is_followed_replaced_or_over(rows, expected):
    facts, wanted = o.facts([*ONE, WING, CAB, *rows]), o.proposal(STRIP, ACETONE)
    assert [(row.advice, row.steps) for row in advice_against(Case(facts), wanted)] == expected
    open_ = [r.subject for r in assess(Case(facts), wanted).open_before_approval if r.rule == "advice answered"]
    assert sorted(open_) == sorted(code for code, _ in expected)


def test_advice_that_says_against_nothing_stands_beside_and_is_said_in_its_own_words():
    beside = advice(against=None, place="wing", given_by="Cy Orme", why="it flakes")
    facts = o.facts(
        [*ONE, WING, CAB, beside, advice(advice="V2", against=None, place="cab"), advice(advice="V3", against=None)]
    )
    assert [row.advice for row in advice_beside(Case(facts), o.proposal(STRIP))] == ["V3", "V1"]
    assert [row.said() for row in advice_beside(Case(facts), o.proposal(STRIP))] == [
        "do not strip it. (2010, V3)",
        "do not strip it. it flakes. (Cy Orme, 2010, V1)",
    ]


# What is told: reserves, lines, order.


@pytest.mark.parametrize(
    ("step", "reserve", "expected"),
    [
        (STRIP, {}, "destroys"),
        ({"action": "abrade"}, {}, "destroys"),
        ({**ACETONE, "removes": "2"}, {}, "destroys"),
        (ACETONE, {}, "endangers"),
        ({"action": "wash", "agent": "water"}, {}, "endangers"),
        ({"action": "dust"}, {}, None),
        ({"action": "operate"}, {}, None),
        ({"action": "drain"}, {}, None),
        ({**STRIP, "spares": "R1"}, {}, None),
        ({**STRIP, "spares": "wing"}, {}, None),
        ({**STRIP, "spares": "R2"}, {}, "destroys"),
        ({"action": "replace", "spares": "R1"}, {}, "destroys"),
        ({**STRIP, "place": "cab"}, {}, None),
        ({**STRIP, "place": "wing"}, {}, "destroys"),
        ({**STRIP, "place": "wing"}, {"place": "door"}, "destroys"),
        # Until its last day; the work is planned for 1 June 2024.
        (STRIP, {"until": "2024-05-31"}, None),
        (STRIP, {"until": "2024-06-01"}, "destroys"),
        (STRIP, {"until": "2024"}, "destroys"),
    ],
)
def test_a_reserve_is_lost_to_what_takes_off_and_endangered_by_what_touches_until_it_is_spared(step, reserve, expected):
    kept = Reserve(object=o.OBJ, **{"reserve": "R1", "place": "wing", "kind": "window", **reserve})
    found = said([*ONE, WING, CAB, kept], step).get(f"{kept.place}/reserve R1")
    assert (found.severity if found else None) == expected
    if found:
        assert "touches a window that must stay" in found.message
        assert found.evidence == (("reserves", "T.1/R1"),)
        assert {each.rule for each in found.causes} == {"reserve"}
        assert ("Mask it and name R1" in found.would_change_it) == (step["action"] != "replace")


def test_work_takes_off_what_it_names_or_what_it_cannot_leave():
    for step, expected in (
        (STRIP, True),
        ({"action": "polish"}, True),
        (ACETONE, False),
        ({"action": "dust"}, False),
        ({**ACETONE, "removes": "2"}, True),
        ({"action": "coat"}, False),
    ):
        assert takes_off(o.proposal(step).steps[0]) == expected, step


def test_losses_stand_worst_first_and_lettering_before_plain_colour():
    coats = [("1", role, "gold", "intact") for role in ("primer", "body colour", "lining", "metal leaf", "lettering")]
    rows = door(
        WING,
        *section("S1", *coats),
        Reserve(object=o.OBJ, reserve="R1", place="wing", kind="reserve"),
        *section("S2", *coats, place="wing"),
    )
    order = [loss.thing for loss in assess(Case(o.facts(rows)), o.proposal(STRIP)).losses]
    assert order == [
        "reserve R1",
        *(
            thing
            for thing in ("1/lettering", "1/metal leaf", "1/lining", "1/body colour", "1/preparation")
            for _ in range(2)
        ),
    ]
    mixed = assess(Case(o.facts([*rows, *o.met("T1", 5, "none seen", sample="S1")])), o.proposal(ACETONE)).losses
    assert [loss.severity for loss in mixed] == sorted(
        (loss.severity for loss in mixed), key=["destroys", "endangers", "untested", "stood"].index
    )


def test_a_line_tells_what_it_is_which_steps_do_it_and_whether_it_is_meant():
    rows = door(*section("S1", RED, ("1", "varnish", None, "intact")))
    found = said(rows, {"action": "wash", "agent": "water"}, {**STRIP, "removes": "1/varnish"}, STRIP)
    varnish, red = found["door/1/varnish"], found["door/1/body colour"]
    assert (varnish.steps, varnish.intended, red.intended) == ((2, 3), True, False)
    assert varnish.share == pytest.approx((1.0, 1.0, 1.0))
    assert varnish.message.startswith(
        "door: varnish 1/varnish (maker's red, period original) would be destroyed. "
        "Step 2 (strip): Strip takes all that is on the part."
    )
    assert all(loss.intended for loss in said(rows, {**STRIP, "removes": "1"}).values())
    assert red.would_change_it == "Choose a method that cannot reach it, or leave this place as a reserve."
    assert said(rows, ACETONE)["door/1/varnish"].would_change_it == (
        "Test in an inconspicuous place, as harshly as planned, and record what each coat did."
    )


@pytest.mark.parametrize(
    ("rows", "step", "of", "message"),
    [
        (door(), ACETONE, "door/not examined", "door was never examined: what it holds is untested."),
        (
            door(),
            {"action": "dust"},
            "all/not examined",
            "Never looked at: finish there is untested. Step 1 (dust): nobody has told of the surface of door.",
        ),
        (
            door(*section("S1", RED, reaches="no")),
            ACETONE,
            "door/below what was seen",
            "door: what lies below the deepest coat seen is untested.",
        ),
        (
            door(*section("S1", GREEN)),
            ACETONE,
            "door/1/not found so far",
            "door: 1/not found so far is untested. Step 1 (solvent): Not found at 1 of 1 spot; up to ",
        ),
        (
            door(*section("S1", GREEN), *section("S2", GREEN)),
            ACETONE,
            "door/1/not found so far",
            "door: 1/not found so far is untested. Step 1 (solvent): Not found at 2 of 2 spots; up to ",
        ),
        (
            door(
                *section("S1", RED), Decoration(object=o.OBJ, decoration="D1", place="door", kind="lining", scheme="1")
            ),
            STRIP,
            "door/D1",
            "door: lining decoration D1 (maker's red, period original) would be destroyed.",
        ),
        (
            door(*section("S1", (None, "body colour", "grey", "intact"))),
            STRIP,
            "door/S1/1",
            "door: body colour S1/1 would be destroyed.",
        ),
    ],
)
def test_the_first_words_say_what_is_lost_and_where(rows, step, of, message):
    assert said(rows, step)[of].message.startswith(message)


@pytest.mark.parametrize(
    ("rows", "step", "of", "area"),
    [
        (ONE, STRIP, "door/1/body colour", 2.0),
        (ONE, {**STRIP, "area_m2": 0.5}, "door/1/body colour", 0.5),
        (door(*section("S1", RED, reaches="no")), ACETONE, "door/below what was seen", None),
        (door(), ACETONE, "door/not examined", None),
        (
            [*ONE, WING, Reserve(object=o.OBJ, reserve="R1", place="wing", kind="reserve")],
            STRIP,
            "wing/reserve R1",
            None,
        ),
        (door(*section("S1", RED, ("1", "lining", "gold", "intact"))), STRIP, "door/1/lining", None),
        (
            door(
                *section("S1", RED),
                Decoration(
                    object=o.OBJ, decoration="D1", place="door", kind="lining", scheme="1", state="exposed", area_m2=0.1
                ),
            ),
            STRIP,
            "door/D1",
            0.1,
        ),
    ],
)
def test_a_figure_is_told_of_what_has_an_area_of_its_own(rows, step, of, area):
    """A line of lining is no door of it, and of what nobody has seen no figure is known."""
    found = said(rows, step)[of].area_m2
    assert (found if area is None else found[2]) == (area if area is None else pytest.approx(area, rel=0.02))


def test_places_of_which_nobody_has_told_are_named_up_to_six():
    zones = [Zone(object=o.OBJ, zone=f"z{n}", component="door") for n in range(7)]
    for more, told in ((zones[:5], "door, z0, z1, z2, z3, z4."), (zones, "door, z0, z1, z2, z3, z4 and 2 more.")):
        assert said(door(*more), {"action": "dust", "place": "all"})["all/not examined"].message.endswith(told)


def test_what_happens_if_nothing_is_done_is_told_of_what_goes_on_here():
    def told(*more):
        return said([*ONE, WING, CAB, *more], STRIP)["door/1/body colour"].if_nothing_is_done

    assert told() == told(*fails(active="no")) == told(*fails("cab")) == "Nothing recorded here is getting worse."
    assert told(*fails()) == "Flaking goes on here (seen 2022)."
    assert told(*fails("wing"), *fails("all", "lifting")) == (
        "Lifting goes on here (seen 2022); flaking goes on here (seen 2022)."
    )


def test_a_place_never_examined_tells_of_its_parts_coats_only_where_they_are_in_danger():
    """The wing was never read; the door's red is untested there with the rest of it, and stripped with it."""
    rows = door(WING, *section("S1", RED))
    assert set(said(rows, {**ACETONE, "place": "wing"})) == {"wing/not examined"}
    assert set(said(rows, {**STRIP, "place": "wing"})) == {"wing/not examined", "wing/1/body colour"}
    harmed = [*rows, *o.met("T1", 1, "removed", sample="S1", dwell=10)]
    assert set(said(harmed, {**ACETONE, "place": "wing"})) == {"wing/not examined", "wing/1/body colour"}
    line = Decoration(object=o.OBJ, decoration="D1", place="wing", kind="lining", scheme="1")
    assert "wing/D1" in said([*rows, line], {**ACETONE, "place": "wing"})


def test_where_a_scheme_was_taken_off_and_nobody_looked_since_that_is_said():
    rows = door(
        *section("S1", RED),
        Treatment(object=o.OBJ, treatment="W1", purpose="strip", started="2021"),
        TreatmentStep(object=o.OBJ, treatment="W1", step=1, place="door", action="strip", removed="1"),
    )
    assert (
        "Taken off by record, and not looked for since; remains are the rule."
        in said(rows, STRIP)["door/1/not found so far"].message
    )
    assert looked_for(Case(o.facts(door(*section("S1", GREEN)))), "1", "door").read == 1


def test_of_the_makers_own_all_is_looked_for_together_unless_another_scheme_of_theirs_was_found():
    """Scheme 3 is the maker's too. Found in the panel, it is no word on scheme 1; found elsewhere only, what the panel
    could still have is told of both together, as `survival` does."""
    blue = ("3", "body colour", "blue", "intact")
    maker = Scheme(object=o.OBJ, scheme="3", name="maker's blue", period="original", rank=1)
    found = looked_for(Case(o.facts(door(maker, *section("S1", blue)))), "1", "door")
    assert (found.read, found.present) == (1, 0)
    facts = o.facts(
        door(
            WING, maker, *(row for n in range(4) for row in section(f"S{n}", blue)), *section("S9", GREEN, place="wing")
        )
    )
    together = next(each for each in object_survival(Case(facts)).places if each.place == "wing")
    assert looked_for(Case(facts), "1", "wing").share == together.share
    assert together.present == 0


# The gate.


def stored(tmp_path: Path, rows, *proposals) -> Path:
    """A database that holds one object's records and proposals, each (code, steps)."""
    db = tmp_path / "c.db"
    database.create(db)
    _ingested(
        tmp_path / "first",
        db,
        [
            Object(object=o.OBJ, title="trial door", kind="door"),
            *rows,
            *(row for code, steps in proposals for row in proposed(code, *steps)),
        ],
    )
    return db


def proposed(code, *steps):
    head = Proposal(
        object=o.OBJ, proposal=code, title="trial", proposed_by="N. N.", proposed_on="2024-06-01", permission="letter"
    )
    return [
        head,
        *(
            ProposalStep(object=o.OBJ, proposal=code, step=n, **{"place": "door", **step})
            for n, step in enumerate(steps, 1)
        ),
    ]


def _ingested(folder: Path, db: Path, rows) -> None:
    folder.mkdir()
    (folder / "survey.toml").write_text(f'code = "{folder.name}"\ntitle = "t"\nlead = "N. N."\nstarted = "2024"\n')
    for sheet in {row.sheet for row in rows}:
        held = [row.model_dump(exclude_none=True) for row in rows if row.sheet == sheet]
        with open(folder / f"{sheet}.csv", "w", newline="", encoding="utf-8") as file:
            writer = csv.DictWriter(file, list(dict.fromkeys(name for row in held for name in row)))
            writer.writeheader()
            writer.writerows(held)
    ingest(db, folder)


def approve(db, code="P", **more):
    return decide(db, o.OBJ, code, "approve", **{"by": "A. Curator", "reason": "for the fair", **more})


def now(db, code="P", policy=None):
    with database.opened(db, write=False) as connection:
        return standing(connection, o.OBJ, code, policy)


KEPT = Reserve(object=o.OBJ, reserve="R1", place="wing", kind="reserve")
HELD = door(WING, KEPT, *section("S1", RED, ("1", "varnish", None, "intact")))
TAKEN = {**STRIP, "spares": "wing"}
RED_LOSS, VARNISH_LOSS = "door/1/body colour", "door/1/varnish"
BOTH = {RED_LOSS: "worn through", VARNISH_LOSS: "perished"}


@pytest.mark.parametrize(
    ("overrides", "refused"), [({}, {RED_LOSS, VARNISH_LOSS}), ({RED_LOSS: "worn"}, {VARNISH_LOSS}), (BOTH, set())]
)
def test_an_approval_names_every_loss_that_it_lets_happen(tmp_path, overrides, refused):
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


def test_a_refusal_asks_for_nothing_and_an_unknown_loss_or_step_is_a_mistake(tmp_path):
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
def test_open_requirements_hold_an_approval_and_a_claim_may_become_its_condition(tmp_path, change, conditions, open_):
    """All the losses are overridden; what is asked before work holds nothing."""
    db = stored(tmp_path, [*HELD, *change], ("P", [TAKEN]))
    if open_:
        with pytest.raises(GateRefused) as told:
            approve(db, overrides=BOTH, conditions=conditions)
        lines = str(told.value).splitlines()[1:]
        assert {line.removeprefix("  - ").split(" (open)")[0] for line in lines} == open_
    else:
        assert approve(db, overrides=BOTH, conditions=conditions).conditions == conditions


def test_advice_is_answered_with_a_reason_that_holds_until_the_advice_changes(tmp_path):
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


def test_steps_are_approved_in_turn_each_with_what_comes_before_it(tmp_path):
    """Step 2 strips; step 1 is a dusting. To approve the first asks for no override, to approve the second does."""
    db = stored(tmp_path, HELD, ("P", [{"action": "dust"}, TAKEN, {"action": "dust"}]))
    made = approve(db, steps=(1,))
    assert (made.steps, made.outcome, made.overrides) == ((1,), "clear", ())
    with pytest.raises(GateRefused):
        approve(db, steps=(2,))
    assert approve(db, steps=(3,)).outcome == "destroys", "the strip before it is no matter of the third step"
    assert approve(db, steps=(2,), overrides=BOTH).number == 3


def test_what_is_recorded_since_makes_a_decision_stale_and_another_policy_too(tmp_path):
    db = stored(tmp_path, HELD, ("P", [{"action": "dust"}, TAKEN]))
    approve(db, steps=(1,))
    assert not now(db).stale
    assert now(db, policy=replace(default_policy(), version="2", sha256="0" * 64)).stale
    _ingested(tmp_path / "second", db, section("S8", RED))
    assert now(db).stale
    approve(db, steps=(1,))
    assert not now(db).stale


def test_a_decision_on_a_step_that_is_no_more_is_overtaken(tmp_path):
    db = stored(tmp_path, HELD, ("P", [{"action": "dust"}, TAKEN]))
    made = approve(db, steps=(1,))
    with database.opened(db, write=False) as connection:
        facts, wanted = read.facts_rows(connection, o.OBJ), read.load_proposal(connection, o.OBJ, "P")
    for steps, expected in (((1,), False), ((1, 9), True)):
        assert is_overtaken(replace(made, steps=steps), facts, wanted, default_policy()) == expected


def test_an_override_carries_over_to_what_is_no_worse_and_to_nothing_else(tmp_path):
    """After a further section the loss is the same, and the earlier reasons still hold; a new loss needs its own."""
    db = stored(tmp_path, HELD, ("P", [TAKEN]))
    approve(db, overrides=BOTH)
    _ingested(tmp_path / "second", db, section("S8", RED))
    made = approve(db, overrides={RED_LOSS: "worn, and read again"})
    assert made.overrides == ((RED_LOSS, "destroys", "worn, and read again"), (VARNISH_LOSS, "destroys", "perished"))
    _ingested(tmp_path / "third", db, section("S9", ("1", "glaze", None, "intact"), RED))
    with pytest.raises(GateRefused) as told:
        approve(db)
    assert [line.split(" (")[0] for line in str(told.value).splitlines()[1:]] == ["  - door/1/glaze"]
    refused = decide(db, o.OBJ, "P", "refuse", by="A. Curator", reason="no")
    assert refused.overrides == ()


def test_an_override_is_asked_for_again_once_codes_have_changed(tmp_path):
    """The id of a loss holds codes: after a scheme was renamed there and back it may be another's."""
    db = stored(tmp_path, HELD, ("P", [TAKEN]))
    approve(db, overrides=BOTH)
    for old, new in (("1", "first"), ("first", "1")):
        same.rename(db, "schemes", f"{o.OBJ}/{old}", new, "A. Penrose", "as the book has it")
    with pytest.raises(GateRefused):
        approve(db)


def test_a_decision_rests_on_the_policy_it_was_made_by(tmp_path):
    db = stored(tmp_path, HELD, ("P", [{"action": "dust"}]))
    other = replace(default_policy(), version="2", sha256="0" * 64)
    approve(db, policy=other)
    assert (now(db, policy=other).stale, now(db).stale) == (False, True)


def test_an_override_covers_the_severity_it_saw_and_no_worse_one(tmp_path):
    """Acetone endangers the varnish when it is approved; then a test shows that it takes it off."""
    rows = [*HELD, *o.met("T1", 2, "softened", sample="S1")]
    liquid = {**ACETONE, "dwell_s": 30.0, "application": "rolled swab", "spares": "wing"}
    db = stored(tmp_path, rows, ("P", [liquid]))
    made = approve(db, overrides={VARNISH_LOSS: "thin it"})
    assert made.overrides == ((VARNISH_LOSS, "endangers", "thin it"),)
    _ingested(tmp_path / "second", db, o.met("T2", 2, "removed", sample="S1"))
    with pytest.raises(GateRefused, match=VARNISH_LOSS):
        approve(db)


def test_a_decision_as_data_says_who_what_and_why(tmp_path):
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
