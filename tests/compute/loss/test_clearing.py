"""What keeps a test of a liquid from clearing: its conditions, age and pH, and what is said of the share it takes.

Tables of cases, each with what must come out and why. `mutants.py` changes the logic and asks whether these notice.
All objects are invented; what they show is common practice, no published source, unless a line says otherwise.
"""

from __future__ import annotations

from typing import Any

import objects as o
import pytest
from objects import ACETONE, COAT, GUESS, POLICY, RED, WATER, door, once, said, section, severity, work

from collection.compute.build_up.stack import stack_of
from collection.compute.case import Case
from collection.compute.effects import contact
from collection.compute.effects.contact import contact_rate
from collection.compute.effects.work import Work
from collection.records.sheets import Component
from collection.rules.assess import assess

# What keeps a test from clearing.


@pytest.mark.parametrize(
    ("test", "plan", "expected", "wanted"),
    [
        ({}, {}, "stood", None),
        ({"agent": "ethanol"}, {}, "untested", "One test of acetone on this coat"),
        ({"agent": "white spirit"}, {"agent": "white spirit"}, "untested", "Name the exact liquid"),
        ({"agent": "isooctane"}, {"agent": "white spirit"}, "untested", "Name the exact liquid"),
        ({"dwell": None}, {}, "untested", "State dwell_s of test T1."),
        ({"application": None}, {}, "untested", "State application of test T1."),
        ({"dwell": None, "application": None}, {}, "untested", "State dwell_s and application of test T1."),
        ({"dwell": 9}, {}, "untested", "One test at least as harsh as planned (T1 was milder"),
        ({"dwell": 10}, {}, "stood", None),
        ({"application": "rolled swab"}, {"application": "cloth"}, "untested", "One test at least as harsh"),
        ({"application": "gel"}, {"application": "rolled swab"}, "untested", "One test at least as harsh"),
        ({"application": "rubbed swab"}, {"application": "rolled swab"}, "stood", None),
        ({}, {"application": None}, "untested", "One test at least as harsh"),
        ({}, {"dwell_s": None}, "untested", "One test at least as harsh"),
        ({"on": None}, {}, "untested", "Date T1: it may be over 15 years old."),
        ({"on": "2009-07"}, {}, "stood", None),
        (
            {"on": "2008-12"},
            {},
            "untested",
            "Test again: T1 of December 2008 is 16 years old, and a test clears for 15.",
        ),
        ({"on": "2008/2012"}, {}, "untested", "Test again: T1 of 2008 to 2012 is 16 years old"),
        ({"after_drying": "no"}, {}, "untested", "Look at the spot of T1 again dry: it was judged only wet."),
        # Conductivity clears between half the tested value and it; a liquid without water has none, and no pH.
        (
            {"agent": "water", "ph": 7.0, "conductivity_mscm": 4.0},
            {**WATER, "ph": 7.0, "conductivity_mscm": 2.0},
            "stood",
            None,
        ),
        (
            {"agent": "water", "ph": 7.0, "conductivity_mscm": 4.0},
            {**WATER, "ph": 7.0, "conductivity_mscm": 1.9},
            "untested",
            "One test at least as harsh",
        ),
        (
            {"agent": "water", "ph": 7.0},
            {**WATER, "ph": 7.0, "conductivity_mscm": 2.0},
            "untested",
            "One test at least",
        ),
        # Neutral is the mildest that water can be; else a pH left blank clears nothing.
        ({"agent": "water"}, {**WATER, "ph": 7.0}, "stood", None),
        ({"agent": "water"}, {**WATER, "ph": 7.1}, "untested", "State ph of test T1."),
        ({"agent": "water"}, {**WATER, "ph": 6.9}, "untested", "State ph of test T1."),
        ({"agent": "water", "ph": 7.0}, WATER, "untested", "One test at least as harsh"),
        ({"agent": "water", "ph": 5.0}, {**WATER, "ph": 9.0}, "untested", "One test at least as harsh"),
        ({}, {"ph": 9.0, "conductivity_mscm": 3.0}, "stood", None),
        # A room has 15 to 25 °C, and a blank means a room.
        ({}, {"temperature_c": 25.0}, "stood", None),
        ({}, {"temperature_c": 26.0}, "untested", "One test at least as"),
        ({"temperature_c": 15.0}, {}, "stood", None),
        ({"temperature_c": 14.0}, {}, "untested", "One test at least as"),
        # Heat and light on the same spot are no swab of what is named beside them.
        ({"action": "laser"}, {}, "untested", "Test in an inconspicuous place"),
        ({"action": "wax"}, {}, "stood", None),
        # Another mixture of the same liquids stands for none, stronger or, where no binder is known, weaker.
        ({"agent": "1 acetone + 1 isooctane"}, {"agent": "1 acetone + 1 isooctane"}, "stood", None),
        (
            {"agent": "1 acetone + 1 isooctane"},
            {"agent": "1 acetone + 3 isooctane"},
            "untested",
            "One test of 1 acetone + 3 isooctane on this coat",
        ),
        (
            {"agent": "1 acetone + 3 isooctane"},
            {"agent": "1 acetone + 1 isooctane"},
            "untested",
            "One test of 1 acetone",
        ),
        # Additives: the same kinds, at least as strong.
        ({"agent": "water + 2% ammonium citrate", "ph": 8.0}, {**WATER, "ph": 8.0}, "untested", "One test of water"),
        (
            {"agent": "water + 2% ammonium citrate", "ph": 8.0},
            {**WATER, "agent": "water + 3% ammonium citrate", "ph": 8.0},
            "untested",
            "One test of water",
        ),
    ],
)
def test_a_test_clears_what_it_met_at_least_as_harshly_lately_and_dry(
    test: dict[str, Any], plan: dict[str, Any], expected: str, wanted: str | None
) -> None:
    rows = once(**test)
    found = said(rows, {**ACETONE, **plan})[COAT]
    assert found.severity == expected, found.message
    assert (found.would_change_it or "").startswith(wanted or "")
    assert wanted is None or found.would_change_it is not None
    assert ("tests", "T.1/T1") in found.evidence or expected != "stood"
    assert ("layers", "T.1/S1/1") in found.evidence


def test_of_several_reasons_the_test_that_came_nearest_says_what_is_wanting() -> None:
    """Another liquid says least; a milder one more; one that is only too old most."""
    milder = o.met("T2", 1, "none seen", sample="S1", dwell=5)
    old = o.met("T3", 1, "none seen", sample="S1", on="1999")
    rows = once(agent="ethanol")
    for more, wanted in (
        ([], "One test of acetone"),
        (milder, "One test at least as harsh as planned (T2"),
        ([*milder, *old], "Test again: T3"),
    ):
        assert said([*rows, *more], ACETONE)[COAT].would_change_it.startswith(wanted)


def test_on_failing_finish_a_test_of_sound_finish_comes_nearer_than_a_milder_one() -> None:
    for milder in ({"dwell": 5}, {"dwell": None}):
        rows = door(
            *section("S1", RED),
            *o.met("T1", 1, "none seen", sample="S1", finish="failing", **milder),
            *o.met("T2", 1, "none seen", sample="S1", finish="sound"),
        )
        assert rate(rows, ACETONE, on_failing=True).wanting.endswith("(T2 was made on sound finish, or does not say)")
        assert rate(rows, ACETONE).cleared
    rows = door(
        *section("S1", RED),
        *o.met("T1", 1, "none seen", sample="S1", finish="sound"),
        *o.met("T2", 1, "none seen", sample="S1", finish="failing", after_drying="no"),
    )
    assert rate(rows, ACETONE, on_failing=True).wanting.startswith("look at the spot of T2 again dry")


def test_the_day_that_counts_is_the_one_the_work_is_meant_for() -> None:
    """A test of 2012 clears until 2027."""
    facts = o.facts(once(on="2012-05"))
    for planned, expected in (("2027", "stood"), ("2028", "untested"), (None, "stood")):
        asked = o.proposal(ACETONE)
        asked = o.proposal_of(asked.proposal.model_copy(update={"planned_for": planned}), list(asked.steps))
        assert [loss.severity for loss in assess(Case(facts), asked).losses] == [expected], planned


@pytest.mark.parametrize(
    ("done", "expected"),
    [
        (work("wax", on="2021"), "untested"),
        (work("wash", on="2021"), "untested"),
        (work("strip", on="2021"), "untested"),
        (work("wax", on="2020-05-02"), "untested"),
        (work("wax", on="2020"), "untested"),
        (work("wax", on=None), "untested"),
        (work("wax", on="2020-05-01"), "stood"),
        (work("wax", on="2019"), "stood"),
        (work("dust"), "stood"),
        (work("operate"), "stood"),
        (work("dismantle"), "stood"),
        (work("drain"), "stood"),
        (work("wax", place="cab"), "stood"),
        (work("wax", place="all"), "untested"),
    ],
)
def test_cleaning_or_coating_in_the_place_since_a_test_ends_its_clearing(done: list[Any], expected: str) -> None:
    rows = [*once(), Component(object=o.OBJ, component="cab", name="cab"), *done]
    found = said(rows, ACETONE)[COAT]
    assert found.severity == expected
    assert expected == "stood" or found.would_change_it == (
        "Test again: W9 changed the surface after T1, or their dates may overlap."
    )


def test_a_test_whose_day_is_not_sure_may_be_older_than_the_work_that_ends_it() -> None:
    for on, expected in (("2020/2022", "untested"), ("2022", "stood"), ("2021", "untested")):
        assert severity([*once(on=on), *work("wax", on="2021")], ACETONE, of=COAT) == expected, on


# How far off an effect is to be feared: pH.


@pytest.mark.parametrize(
    ("harmed", "planned", "expected"),
    [
        (9.5, 9.5, "effect"),
        (9.5, 7.5, "feared"),
        (9.5, 7.0, ""),
        (9.5, 6.9, ""),
        (9.5, 5.0, ""),
        (4.0, 5.0, "feared"),
        (4.0, 4.0, "effect"),
        (4.0, 3.0, "effect"),
        (4.0, 9.0, ""),
        # Beside neutral less than a unit of pH apart is near enough; blank may be any.
        (7.4, 6.5, "feared"),
        (6.0, 7.0, ""),
        (6.1, 7.0, "feared"),
        (None, 7.0, "effect"),
        (9.5, None, "effect"),
    ],
)
def test_what_water_did_on_one_side_of_neutral_is_not_feared_on_the_other(
    harmed: float | None, planned: float | None, expected: str
) -> None:
    found = rate(once("softened", agent="water", ph=harmed), {**WATER, "ph": planned})
    assert ("effect" if found.effect else "feared" if found.feared else "") == expected


@pytest.mark.parametrize(
    ("agent", "expected"),
    [
        ("acetone", "endangers"),
        ("1 acetone + 1 isooctane", "endangers"),
        ("ethanol", "untested"),
        ("isooctane", "untested"),
        ("1 ethanol + 1 acetone", "endangers"),
    ],
)
def test_what_a_liquid_did_is_feared_of_what_holds_it(agent: str, expected: str) -> None:
    assert severity(once("softened"), {"action": "solvent", "agent": agent}, of=COAT) == expected


# What is said of a rate: the share taken, and by which tests.


def rate(rows: list[Any], step: dict[str, Any], of: str = "body colour", on_failing: bool = False) -> contact.Rate:
    facts = o.facts(rows)
    stack = stack_of(Case(facts), "door")
    coat = next(c for c in (*stack.coats, *stack.decorations) if c.role == of)
    asked = o.proposal(step)
    return contact_rate(Work(Case(facts), stack, asked.steps[0], "2024-06-01"), coat, on_failing=on_failing)


ONE_RED = door(*section("S1", RED))


@pytest.mark.parametrize(
    ("evidence", "step", "expected", "tests"),
    [
        ([], ACETONE, (0.0, GUESS, 1.0), ()),
        # As harsh as the test: bounded from both sides; harsher: from below alone; milder: from above alone.
        ([("T1", "lifted", 10)], ACETONE, (0.3, 0.6, 0.9), ("T.1/T1",)),
        ([("T1", "lifted", 5)], ACETONE, (0.3, 0.6, 1.0), ("T.1/T1",)),
        ([("T1", "lifted", 30)], ACETONE, (0.0, GUESS, 0.9), ("T.1/T1",)),
        # The most of what is surely no harsher, and the least of what is surely as harsh.
        ([("T1", "colour on swab", 5), ("T2", "swelled", 10)], ACETONE, (0.1, 0.25, 0.4), ("T.1/T2", "T.1/T1")),
        ([("T1", "softened", 30), ("T2", "colour on swab", 20)], ACETONE, (0.0, GUESS, 0.3), ("T.1/T1", "T.1/T2")),
        # An odd harmless test is overruled by a milder one that did something.
        ([("T1", "none seen", 30), ("T2", "gloss change", 5)], ACETONE, (0.0, 0.05, 0.1), ("T.1/T2",)),
        # A milder effect that may have been no milder, by a quarter of its seconds, overrules as well.
        ([("T1", "none seen", 30), ("T2", "swelled", 37)], ACETONE, (0.0, GUESS, 0.4), ("T.1/T2",)),
        ([("T1", "none seen", 30), ("T2", "swelled", 38)], ACETONE, (0.0, 0.0, 0.0), ("T.1/T1",)),
        # Of several that are no harsher the one that did most bounds it from below.
        ([("T1", "lifted", 5), ("T2", "colour on swab", 10)], ACETONE, (0.3, 0.6, 0.9), ("T.1/T1", "T.1/T2")),
    ],
)
def test_recorded_responses_bound_what_a_plan_takes(
    evidence: list[tuple[str, str, int]],
    step: dict[str, str],
    expected: tuple[float, float, float],
    tests: tuple[Any, ...],
) -> None:
    rows = door(
        *section("S1", RED),
        *(row for code, response, dwell in evidence for row in o.met(code, 1, response, sample="S1", dwell=dwell)),
    )
    found = rate(rows, step)
    assert (found.low, found.middle, found.high) == pytest.approx(expected)
    assert set(found.tests) == set(tests)


@pytest.mark.parametrize(
    ("step", "doses"),
    [
        ({}, 1),
        ({"dwell_s": 20.0}, 2),
        ({"passes": 3}, 3),
        ({"dwell_s": 5.0, "passes": 4}, 2),
        ({"dwell_s": None}, None),
        ({"dwell_s": 7200.0}, None),
    ],
)
def test_what_is_expected_grows_with_seconds_and_passes(step: dict[str, Any], doses: int | None) -> None:
    """Each ten seconds take the policy's share of what is left, at most 0.95; that it acts at all is half known. A
    time left blank may be long."""
    takes = 0.95 if doses is None else 1 - (1 - POLICY.model.taken_where_it_acts) ** doses
    assert rate(ONE_RED, {**ACETONE, **step}).middle == pytest.approx(min(0.5 * takes, 0.5))


def test_a_step_that_names_no_agent_may_be_any() -> None:
    assert rate(once("gloss change"), {"action": "solvent"}).effect
    nothing, hurt = (rate(rows, {"action": "solvent"}) for rows in (once(), once("removed")))
    assert (nothing.low, nothing.high, nothing.effect, nothing.tests) == (0.0, 1.0, False, ())
    assert (hurt.low, hurt.high, hurt.effect, hurt.tests) == (0.0, 1.0, True, ("T.1/T1",))
    assert nothing.wanting == "name the agent"


def test_a_clearance_tells_its_limit_and_what_it_leaves_open() -> None:
    rows = once(dwell=30, passes=2, after_drying="yes")
    assert rate(rows, ACETONE).why == "Stood T1 (acetone, 30 s, 2 passes, rolled swab, door, 2 May 2020)."
    assert not rate(rows, ACETONE).undried
    harsher = [
        *o.met("T2", 1, "lifted", sample="S1", dwell=60, passes=2),
        *o.met("T3", 1, "removed", "ethanol", sample="S1", dwell=60, passes=2),
        *o.met("T4", 1, "removed", sample="S1", dwell=90, application="brush"),
    ]
    limit = "Lifted at T2 (acetone, 60 s, 2 passes, rolled swab, door, 2 May 2020): that is the limit."
    assert rate([*rows, *harsher], ACETONE).why.endswith(limit)
    dull = [*rows, *o.met("T5", 1, "gloss change", sample="S1", dwell=60, passes=2)]
    assert "Gloss change at T5" in rate(dull, ACETONE).why, "an alteration is a limit too"
    washed = [*once(agent="water", ph=8.0), *o.met("T2", 1, "lifted", "water", sample="S1", ph=5.0)]
    assert "limit" not in rate(washed, {**WATER, "ph": 8.0}).why, "the other side of neutral is another ladder"
    open_ = rate(once(), ACETONE)
    assert open_.undried
    assert "T1 does not say how many passes: it counts as one." in open_.why
    assert "Whether T1 was looked at again when dry is not recorded." in open_.why


def test_where_tests_harmed_the_advice_is_milder_and_where_the_colour_is_wanting_to_write_it_down() -> None:
    assert rate(once("removed", dwell=10), ACETONE).wanting == (
        "choose another agent, or milder conditions that a test of this coat stood"
    )
    assert rate(once("removed", dwell=30), ACETONE).wanting is None
    assert rate(once("gloss change", agent="ethanol"), ACETONE).wanting is None
    plain = ("1", "body colour", None, "intact")
    rows = door(*section("S1", plain), *section("S2", plain), *o.met("T1", 1, "none seen", sample="S1"))
    assert rate(rows, ACETONE).why == (
        "A coat that the records do not tell apart from it stood as much; nothing is certain about this one."
    )
    assert rate(rows, ACETONE).wanting == (
        "record the colour of the coat that was tested, so that it can be told apart from others"
    )
