"""What clears, and what does not: tables of cases, each with what must come out and why, over the clearing logic line
by line. `mutants.py` changes that logic and asks whether these notice. All objects are invented; what they show is
common practice, no published source, unless a line says otherwise."""

from __future__ import annotations

from typing import Any

import objects as o
import pytest
from objects import (
    ACETONE,
    COAT,
    GREEN,
    GUESS,
    POLICY,
    RED,
    VARNISH,
    WATER,
    changed,
    door,
    fails,
    once,
    said,
    section,
    severity,
    work,
)

from collection.compute.build_up.coats import Stack
from collection.compute.build_up.readings import kept_layers, layers_by_sample, profiles, reading
from collection.compute.build_up.removals import mostly_taken, share_of_step, stripped, taken, taken_in_all
from collection.compute.build_up.sections import own_samples
from collection.compute.build_up.stack import stack_of
from collection.compute.case import Case
from collection.compute.effects import contact
from collection.compute.effects.contact import contact_rate
from collection.compute.effects.relations import harmful_trials, trials_of
from collection.compute.effects.work import Work
from collection.records.sheets import Component, Decoration, Layer, Sample, Scheme, Treatment, TreatmentStep, Zone
from collection.rules.assess import assess

# What keeps a test from clearing.


@pytest.mark.parametrize(
    ("test", "plan", "expected", "wanted"),
    [
        ({}, {}, "stood", None),
        ({"agent": "ethanol"}, {}, "untested", "One test of acetone on this coat"),
        ({"agent": "white spirit"}, {"agent": "white spirit"}, "untested", "Name the very liquid"),
        ({"agent": "isooctane"}, {"agent": "white spirit"}, "untested", "Name the very liquid"),
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
        ({"on": "2008-12"}, {}, "untested", "Test again: T1 of 2008-12 is 16 years old, and a test clears for 15."),
        ({"on": "2008/2012"}, {}, "untested", "Test again: T1 of 2008/2012 is 16 years old"),
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
        assert rate(rows, ACETONE, on_failing=True).wanting.endswith("(T2 met sound finish, or does not say)")
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


# Which coat a test speaks of.

OIL = {"binder": "oil", "binder_basis": "analysed"}


def met_as(response: str, **columns: Any) -> list[Any]:
    """A test of acetone on the door with one response, told as a scheme, a coat of it, or a decoration."""
    test, answer = o.met("T1", 1, response, sample="S1", dwell=10)
    return [test, answer.model_copy(update={"sample": None, "position": None, **columns})]


CAB = [
    Component(object=o.OBJ, component="cab", name="cab"),
    *section("S7", ("1", "body colour", "red", "partial"), place="cab"),
]
LINING = [Decoration(object=o.OBJ, decoration="D1", place="door", kind="lining", scheme="1", state="exposed")]
TWO = door(*section("S1", ("1", "body colour", "red", "partial"), ("1", "varnish", None, "partial")))


@pytest.mark.parametrize(
    ("rows", "columns", "harmless", "harmful"),
    [
        # The very coat, by its place in the section; by its scheme and role; its scheme's outermost coat is the varnish.
        (TWO, {"sample": "S1", "position": 1}, "stood", "destroys"),
        (TWO, {"scheme": "1", "role": "body colour"}, "stood", "destroys"),
        (TWO, {"scheme": "1"}, "untested", "endangers"),
        (TWO, {"sample": "S1", "position": 2}, "untested", "endangers"),
        # Another scheme, a sample that does not exist, a decoration: nothing, or fear for its like.
        (TWO, {"scheme": "2"}, "untested", "untested"),
        (TWO, {"sample": "S9", "position": 1}, "untested", "untested"),
        ([*TWO, *LINING], {"decoration": "D1"}, "untested", "endangers"),
        ([*TWO, *LINING], {"decoration": "D9"}, "untested", "untested"),
        # On another part's section in the place of the test.
        ([*TWO, *CAB], {"sample": "S7", "position": 1}, "stood", "destroys"),
    ],
)
def test_a_response_speaks_of_the_coat_that_was_met(
    rows: list[Any], columns: dict[str, Any], harmless: str, harmful: str
) -> None:
    """The maker's red beneath its varnish, both in part: acetone that did nothing, and that took it off."""
    assert severity([*rows, *met_as("none seen", **columns)], ACETONE, of=COAT) == harmless
    assert severity([*rows, *met_as("removed", **columns)], ACETONE, of=COAT) == harmful


@pytest.mark.parametrize(
    ("colour", "met", "role", "harmless", "harmful"),
    [
        ("red", "red", "body colour", "cleared", "effect"),
        ("red", "Red ", "body colour", "cleared", "effect"),
        ("red", "black", "body colour", "", "feared"),
        ("red", None, "body colour", "", "effect"),
        (None, "red", "body colour", "", "effect"),
        ("red", "amber", "varnish", "", "feared"),
        (None, None, "varnish", "cleared", "effect"),
        ("clear", "amber", "varnish", "cleared", "effect"),
    ],
)
def test_coats_are_told_apart_by_their_colour_and_clear_ones_need_none(
    colour: str | None, met: str | None, role: str, harmless: str, harmful: str
) -> None:
    """One coat of the scheme in S1, another in S2, which is the one that was met."""
    own = role if colour in (None, "clear") else "body colour"
    found = []
    for response in ("none seen", "removed"):
        rows = door(
            *section("S1", ("1", own, colour, "intact")),
            *section("S2", ("1", role, met, "intact")),
            *o.met("T1", 1, response, sample="S2", dwell=10),
        )
        facts = o.facts(rows)
        stack = stack_of(Case(facts), "door")
        coat = next(c for c in stack.coats if ("S1", 1) in c.layers)
        got = contact_rate(Work(Case(facts), stack, o.proposal(ACETONE).steps[0], "2024"), coat)
        found.append("cleared" if got.cleared else "effect" if got.effect else "feared" if got.feared else "")
    assert found == [harmless, harmful]


def test_the_same_coat_of_another_part_may_alarm_and_never_clears() -> None:
    on_cab = [
        row.model_copy(update={"place": "cab"}) if row.sheet == "tests" else row
        for response in ("none seen", "removed")
        for row in met_as(response, sample="S7", position=1)
    ]
    assert severity([*TWO, *CAB, *on_cab[:2]], ACETONE, of=COAT) == "untested"
    assert severity([*TWO, *CAB, *on_cab[2:]], ACETONE, of=COAT) == "endangers"


@pytest.mark.parametrize(
    ("varnish", "colour", "expected"),
    [
        ("natural resin", "oil", "untested"),
        ("oil", "oil", "endangers"),
        (None, "oil", "endangers"),
        ("natural resin", None, "endangers"),
        ("unknown", "oil", "endangers"),
        ("mixed", "oil", "endangers"),
    ],
)
def test_what_was_done_to_the_varnish_is_not_feared_for_a_coat_of_another_known_binder(
    varnish: str | None, colour: str | None, expected: str
) -> None:
    rows = [
        row.model_copy(update={"binder": varnish if row.role == "varnish" else colour})
        if isinstance(row, Layer)
        else row
        for row in TWO
    ]
    step = {"action": "solvent", "agent": "isooctane"}
    test, answer = o.met("T1", 2, "swelled", "isooctane", sample="S1")
    by_name = answer.model_copy(update={"sample": None, "position": None, "scheme": "1", "role": "varnish"})
    for told in (answer, by_name):
        assert severity([*rows, test, told], step, of=COAT) == expected


def test_a_decoration_is_cleared_by_what_met_it_alone() -> None:
    """D1 and D2 are both linings of the maker's: what D1 stood says nothing of D2, and what harmed it is feared."""
    two = [*TWO, *LINING, LINING[0].model_copy(update={"decoration": "D2"})]
    for response, here, other in (("none seen", "stood", "untested"), ("removed", "destroys", "endangers")):
        found = said([*two, *met_as(response, decoration="D1")], ACETONE)
        assert (found["door/D1"].severity, found["door/D2"].severity) == (here, other)
    read = [*section("S2", ("1", "lining", "gold", "intact")), *o.met("T2", 1, "none seen", sample="S2")]
    assert said([*TWO, *LINING, *read], ACETONE)["door/D1"].severity == "stood", "the one lining there is, as read"
    assert said([*two, *read], ACETONE)["door/D1"].severity == "untested", "which of the two was read, nobody knows"


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
    assert rate(rows, ACETONE).why == "Stood T1 (acetone, 30 s, 2 passes, rolled swab, door, 2020-05-02)."
    assert not rate(rows, ACETONE).undried
    harsher = [
        *o.met("T2", 1, "lifted", sample="S1", dwell=60, passes=2),
        *o.met("T3", 1, "removed", "ethanol", sample="S1", dwell=60, passes=2),
        *o.met("T4", 1, "removed", sample="S1", dwell=90, application="brush"),
    ]
    limit = "Lifted at T2 (acetone, 60 s, 2 passes, rolled swab, door, 2020-05-02): that is the limit."
    assert rate([*rows, *harsher], ACETONE).why.endswith(limit)
    dull = [*rows, *o.met("T5", 1, "gloss change", sample="S1", dwell=60, passes=2)]
    assert "Gloss change at T5" in rate(dull, ACETONE).why, "an alteration is a limit too"
    washed = [*once(agent="water", ph=8.0), *o.met("T2", 1, "lifted", "water", sample="S1", ph=5.0)]
    assert "limit" not in rate(washed, {**WATER, "ph": 8.0}).why, "the other side of neutral is another ladder"
    open_ = rate(once(), ACETONE)
    assert open_.undried
    assert "T1 does not say how many passes: it stands for one." in open_.why
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
        "A coat that the records do not tell apart from it stood as much; of this very one nothing is sure."
    )
    assert rate(rows, ACETONE).wanting == (
        "record the colour of the coat that was met, so that it is told apart from others"
    )


# The stack of a place: which coats, in which order, and how much they cover.


def stack(rows: list[Any], place: str = "door") -> Stack:
    return stack_of(Case(o.facts(rows)), place)


def names_of(found: Stack) -> list[str]:
    """The coats of a stack, outermost first; in brackets those that are not known to be there."""
    return [coat.thing if coat.found else f"({coat.thing})" for coat in found.coats]


WING = Zone(object=o.OBJ, zone="wing", component="door", area_m2=0.5)
PRIMER = ("1", "primer", "grey", "intact")


@pytest.mark.parametrize(
    ("rows", "expected"),
    [
        # A section as it was read, from the outside inward.
        (section("S1", PRIMER, RED, VARNISH, GREEN), ["2/body colour", "1/varnish", "1/body colour", "1/preparation"]),
        # The part's other sections fill in, by superposition; where none decides, the ranks of the schemes do.
        (
            [*section("S1", RED, reaches="no"), *section("S2", PRIMER, RED, GREEN, place="wing")],
            ["2/body colour", "1/body colour", "1/preparation"],
        ),
        (
            [*section("S1", RED, reaches="no"), *section("S2", GREEN, place="wing", reaches="no")],
            ["2/body colour", "1/body colour"],
        ),
        (
            [*section("S1", GREEN, reaches="no"), *section("S2", RED, place="wing", reaches="no")],
            ["2/body colour", "1/body colour"],
        ),
        # A contradiction hides no coat.
        ([*section("S1", RED, GREEN), *section("S2", GREEN, RED)], ["2/body colour", "1/body colour"]),
        # What its own complete section lacks: a kept coat may be there, one that may go is not; what it has, it has.
        ([*section("S1", GREEN), *section("S2", RED, GREEN, place="wing")], ["2/body colour", "(1/not found so far)"]),
        ([*section("S1", RED), *section("S2", RED, GREEN, place="wing")], ["1/body colour"]),
        (
            [*section("S1", VARNISH), *section("S2", RED, VARNISH, place="wing")],
            ["1/varnish", "(1/body colour not found so far)"],
        ),
        # The same of a row that says so.
        (
            [
                *section("S1", ("1", "varnish", None, "absent"), reaches="no"),
                *section("S2", RED, VARNISH, place="wing"),
            ],
            ["(1/varnish not found so far)", "1/body colour"],
        ),
        # A coat that is assigned to no scheme is only itself, and a complete own section leaves no room for another's.
        (
            [
                *section("S1", (None, "body colour", "grey", "intact"), reaches="no"),
                *section("S2", (None, "body colour", "grey", "intact"), place="wing", reaches="no"),
            ],
            ["S2/1", "S1/1"],
        ),
        (
            [*section("S1", RED), *section("S2", (None, "body colour", "grey", "intact"), place="wing")],
            ["1/body colour"],
        ),
        # Two coats of one colour in one section are two.
        (section("S1", RED, VARNISH, RED), ["1/body colour", "1/varnish", "1/body colour"]),
        # A gauge reads thicknesses and no coats.
        ([*section("S1", RED), *section("S2", GREEN, method="gauge")], ["1/body colour"]),
        ([*section("S1", RED, reaches="no"), *section("S2", GREEN, place="wing", method="gauge")], ["1/body colour"]),
        # Another part's coats are not this one's; and what work took of one coat leaves the others.
        ([*section("S1", RED, reaches="no"), *section("S7", GREEN, place="cab")], ["1/body colour"]),
        (
            [
                *section("S1", VARNISH, reaches="no"),
                *section("S2", RED, GREEN, place="wing"),
                *work("strip", removed="1"),
            ],
            ["2/body colour", "(1/not found so far)", "(1/not found so far)"],
        ),
        (
            [
                *section("S1", RED, reaches="no"),
                *section("S2", RED, GREEN, place="wing"),
                *work("strip", removed="2/glaze"),
            ],
            ["2/body colour", "1/body colour"],
        ),
        (
            [*section("S1", RED, reaches="no"), *section("S2", RED, GREEN, place="wing"), *work("strip", removed="2")],
            ["1/body colour"],
        ),
    ],
)
def test_a_place_is_built_up_of_what_its_samples_and_its_part_show(rows: list[Any], expected: list[str]) -> None:
    found = stack(door(WING, *CAB[:1], *rows))
    assert names_of(found) == expected
    assert all(coat.cover == (0.0, 0.0, 1.0) for coat in found.coats if not coat.found), "it shields nothing"


def test_coats_of_one_rank_lie_above_each_other_only_where_a_section_shows_it() -> None:
    for second, above in (
        (section("S2", VARNISH, place="wing", reaches="no"), False),
        (section("S2", RED, VARNISH, place="wing", reaches="no"), True),
    ):
        red = next(
            c for c in stack(door(WING, *section("S1", RED, reaches="no"), *second)).coats if c.role == "body colour"
        )
        assert any(key.role == "varnish" for key in red.above) == above


@pytest.mark.parametrize(
    ("coverage", "expected"),
    [
        ("intact", (0.98, 0.99, 1.0)),
        ("partial", (0.1, 0.54, 0.98)),
        ("trace", (0.0, 0.05, 0.1)),
        (None, (0.0, 0.5, 1.0)),
        (40.0, (0.4, 0.4, 0.4)),
        (99.0, (0.99, 0.99, 0.99)),
        ("intact 90", (0.9, 0.9, 0.9)),
    ],
)
def test_what_is_not_intact_covers_nothing_surely_and_a_measured_share_speaks_before_the_word(
    coverage: float | str | None, expected: tuple[float, float, float]
) -> None:
    """The green in three sections that say the same; only what is intact in all of them surely covers."""
    word, _, pct = coverage.partition(" ") if isinstance(coverage, str) else (None, "", coverage)
    rows = door(*(row for n in range(3) for row in section(f"S{n}", RED, ("2", "body colour", "green", word))))
    rows = [
        row.model_copy(update={"coverage_pct": float(pct) if pct else None})
        if isinstance(row, Layer) and row.scheme == "2"
        else row
        for row in rows
    ]
    green = stack(rows).coats[0]
    assert green.cover[1:] == pytest.approx(expected[1:])
    sure = expected[0] if coverage in ("intact", 99.0, "intact 90") else 0.0
    assert green.cover[0] == pytest.approx(sure)


@pytest.mark.parametrize(
    ("others", "expected"),
    [
        (["intact", "intact"], (0.98, 0.99, 1.0)),
        (["intact"], (0.0, 0.99, 1.0)),
        ([], (0.0, 0.99, 1.0)),
        (["intact", "partial"], (0.0, 0.84, 1.0)),
        (["intact", "intact", "partial"], (0.0, 0.8775, 1.0)),
        (["intact", "trace"], (0.0, 0.67666667, 1.0)),
        (["lacking", "intact"], (0.0, 0.66, 1.0)),
        (["intact", "intact", "lacking"], (0.0, 0.7425, 1.0)),
    ],
)
def test_a_cover_spans_what_its_sections_read_and_one_that_lacks_it_reads_none(
    others: list[str], expected: tuple[float, float, float]
) -> None:
    """The green is intact in S1, and in the others as told; from three whole readings on something is sure."""
    rows = door(*section("S1", RED, GREEN))
    for number, word in enumerate(others, 2):
        coats = (RED,) if word == "lacking" else (RED, ("2", "body colour", "green", word))
        rows += section(f"S{number}", *coats)
    green = stack(rows).coats[0]
    assert green.cover == pytest.approx(expected)


def test_one_reading_of_the_whole_surface_covers_surely() -> None:
    rows = door(
        *section("S1", GREEN, method="surface", extent="whole place"), *section("S2", RED, GREEN, place="wing"), WING
    )
    assert stack(rows).coats[0].cover[0] == 0.98
    grey = (None, "body colour", "grey", "intact")
    assert stack(door(*section("S1", grey, method="surface", extent="whole place"))).coats[0].cover[0] == 0.98


def test_failing_finish_shields_nothing_and_only_where_it_fails() -> None:
    rows = door(WING, *CAB[:1], *(row for n in range(3) for row in section(f"S{n}", RED, GREEN)))
    for more, expected in (
        ([], 0.98),
        (fails(), 0.0),
        (fails(scheme="2"), 0.0),
        (fails(scheme="1"), 0.98),
        (fails("wing"), 0.98),
        (fails(active="no"), 0.98),
        # Work that takes all there is may have met it since, though nobody wrote down what it took.
        (work("strip"), 0.0),
        (work("strip", on="2020"), 0.0),
        (work("strip", on="2019"), 0.98),
        (work("strip", place="cab"), 0.98),
        (work("solvent"), 0.98),
    ):
        assert stack([*rows, *more]).coats[0].cover[0] == expected, more


@pytest.mark.parametrize(
    ("binders", "basis", "expected"),
    [
        (("oil", "oil"), ("analysed", "analysed"), (("oil",), ("oil",), "analysed")),
        (("oil", "alkyd"), ("analysed", "guessed"), (("alkyd", "oil"), ("alkyd", "oil"), None)),
        (("oil", None), ("analysed", None), ((), ("oil",), None)),
        (("oil", "unknown"), ("looked", "looked"), ((), ("oil",), "looked")),
        (("mixed", "mixed"), (None, None), ((), (), None)),
    ],
)
def test_a_binder_is_known_only_where_every_reading_names_it(
    binders: tuple[Any, ...], basis: tuple[Any, ...], expected: tuple[Any, ...]
) -> None:
    rows = door(*section("S1", RED), *section("S2", RED))
    rows = [
        row.model_copy(
            update=dict(
                zip(
                    ("binder", "binder_basis"),
                    ((binders[0], basis[0]) if row.sample == "S1" else (binders[1], basis[1])),
                    strict=True,
                )
            )
        )
        if isinstance(row, Layer)
        else row
        for row in rows
    ]
    red = stack(rows).coats[0]
    assert (red.binders, red.may_be, red.basis) == expected


@pytest.mark.parametrize(
    ("change", "expected"),
    [
        ({}, [("1", ())]),
        ({"period": "later", "basis": "lies on dirt"}, []),
        ({"period": "later"}, [("1", ())]),
        ({"component": "cab"}, []),
        ({"component": "door"}, [("1", ())]),
    ],
)
def test_a_scheme_that_no_sample_shows_may_be_there_all_the_same(
    change: dict[str, str], expected: list[tuple[str, tuple[Any, ...]]]
) -> None:
    """Only green was ever found on the door; the list of schemes has the maker's."""
    rows = [
        row.model_copy(update=change) if isinstance(row, Scheme) and row.scheme == "1" else row
        for row in door(*CAB[:1], *section("S1", GREEN))
    ]
    assert list(stack(rows).unfound) == expected
    for reaches, coats in (("no", (GREEN,)), ("yes", (RED, GREEN))):
        assert stack(door(*section("S1", *coats, reaches=reaches))).unfound == ()


@pytest.mark.parametrize(
    ("origin", "expected"),
    [("original", ["1"]), ("reused", ["1"]), ("unknown", ["1"]), (None, ["1"]), ("replaced", []), ("added", [])],
)
def test_parts_that_are_not_the_makers_never_bore_their_finish(origin: str | None, expected: list[str]) -> None:
    rows = changed(door(*section("S1", GREEN)), Component, origin=origin)
    assert [scheme for scheme, _ in stack(rows).unfound] == expected


# Which samples speak for a place, and which sections clear liquids of what they lack.


@pytest.mark.parametrize(
    ("place", "expected"), [("door", {"S1"}), ("wing", {"S2"}), ("corner", {"S2"}), ("edge", set()), ("lost", set())]
)
def test_a_zone_that_has_no_sample_keeps_those_of_the_zone_around_it(place: str, expected: set[str]) -> None:
    """The corner is in the wing and nobody read it; the edge is a zone of the door itself."""
    zones = [
        WING,
        Zone(object=o.OBJ, zone="corner", component="door", within="wing"),
        Zone(object=o.OBJ, zone="edge", component="door"),
    ]
    facts = o.facts(
        door(
            *zones,
            *section("S1", RED),
            *section("S2", RED, place="wing"),
            *section("S3", RED, place="edge", method="gauge"),
        )
    )
    assert {s.sample for s in own_samples(Case(facts), place)} == expected


@pytest.mark.parametrize(
    ("removed", "sees", "middle"),
    [
        ("2", {"S1", "S2"}, 0.99),
        ("2/body colour", {"S1", "S2"}, 0.99),
        ("2/varnish", {"S1", "S2"}, 0.52),
        ("1", {"S1", "S2"}, 0.52),
        (None, {"S1"}, 0.99),
    ],
)
def test_what_was_read_in_a_window_counts_for_the_place_around_it_but_for_what_the_opening_took(
    removed: str | None, sees: set[str], middle: float
) -> None:
    """A trace of green was read in the opening: where the opening took the green that says nothing of the door's, which
    is intact in the door's own section. What was opened elsewhere, or not opened, is another matter."""
    panes = [Zone(object=o.OBJ, zone=zone, component="door", area_m2=0.01) for zone in ("pane", "hatch")]
    trace = ("2", "body colour", "green", "trace")
    rows = door(
        *panes,
        *section("S1", GREEN, reaches="no"),
        *section("S2", RED, VARNISH, trace, place="pane"),
        *work("solvent", place="hatch", on="2019", code="W8", removed="2"),
    )
    rows += work("solvent", place="pane", on="2019", removed=removed)
    assert {s.sample for s in own_samples(Case(o.facts(rows)), "door")} == sees
    green, *others = stack(rows).coats
    assert (green.key.colour, green.cover[1]) == ("green", pytest.approx(middle))
    assert {coat.role for coat in others} == ({"varnish", "body colour"} if removed != "1" else set())


def bare(number: int, code: str = "S", **more: Any) -> list[Any]:
    """Sections to the support that show green alone."""
    return [row for n in range(number) for row in section(f"{code}{n}", GREEN, **more)]


@pytest.mark.parametrize(
    ("rows", "expected"),
    [
        (bare(3), "clear"),
        (bare(2), "untested"),
        (bare(3, reaches="no"), "clear"),
        (bare(3, x=1.0, y=1.0), "untested"),
        ([*bare(2), *bare(1, "L", chosen="at a loss")], "untested"),
        ([*bare(3), *bare(1, "L", chosen="at a loss")], "untested"),
        (bare(3, chosen="random"), "clear"),
        ([*bare(1, x=1.0), *bare(1, "Y", y=1.0), *bare(1, "Z", x=1.0, y=1.0)], "clear"),
        ([*bare(2, x=1.0), *bare(1, "Z")], "untested"),
        ([*bare(2), *section("S9", GREEN, (None, "body colour", "grey", "intact"))], "untested"),
        ([*bare(2), *section("S9", (None, "dirt", None, "intact"), GREEN)], "clear"),
        ([*bare(2), *section("S9", GREEN, method="surface")], "untested"),
        ([*bare(2), *section("S9", GREEN, ("1", "body colour", None, "absent"), reaches="no")], "untested"),
        ([*bare(3), *work("strip", on="1990", removed="1")], "untested"),
        ([*bare(3), *work("strip", on="1990", removed="1", place="cab"), *CAB[:1]], "clear"),
        ([*bare(3), *work("strip", on="1990", removed="1", place="under the step")], "untested"),
        ([*bare(3), *work("strip", on="1990")], "untested"),
        ([*bare(3), *work("strip", on="1990", place="cab"), *CAB[:1]], "clear"),
        ([*bare(3), *work("solvent", on="1990")], "clear"),
    ],
)
def test_liquids_are_cleared_of_the_makers_finish_by_three_whole_sections_at_three_spots(
    rows: list[Any], expected: str
) -> None:
    """Where it was once stripped, remains in recesses are the rule, and no section clears it."""
    if rows == bare(3, reaches="no"):
        assert severity(door(*rows), ACETONE, of="door/below what was seen") == "untested"
    assert severity(door(*rows), ACETONE, of="door/1/not found so far") == expected


def test_what_the_part_shows_elsewhere_is_cleared_of_liquids_by_three_whole_sections_without_it() -> None:
    """The door has the maker's red; the wing was read down to the support at so many spots, and green was all there."""
    for number, expected in ((2, "untested"), (3, "clear")):
        rows = door(WING, *section("S9", RED, GREEN), *bare(number, place="wing"))
        step = {**ACETONE, "place": "wing"}
        assert severity(rows, step, of="wing/1/not found so far") == expected
        assert severity(rows, {"action": "strip", "place": "wing"}, of="wing/1/not found so far") == "endangers"


def test_a_surface_is_seen_through_dirt_and_no_deeper_than_its_finish() -> None:
    rows = door(*section("S1", RED, GREEN, (None, "dirt", None, "intact"), method="surface"))
    assert names_of(stack(rows)) == ["S1/3", "2/body colour"]
    gone = door(*section("S1", RED, ("2", "body colour", "green", "absent"), method="surface"))
    assert names_of(stack(gone)) == ["1/body colour"]


def test_a_whole_surface_read_without_a_coat_ends_it_unless_it_was_seen_since() -> None:
    """In 2020 a section met the red; in 2022 the whole surface was read without it; then a section met it again."""
    lacking = section("S2", ("1", "body colour", None, "absent"), GREEN, extent="whole place", on="2022")
    rows = door(*section("S1", RED, GREEN), *lacking)
    assert names_of(stack(rows)) == ["2/body colour"]
    for on, expected in (("2023", True), ("2022", True), ("2021", False), ("2021/2023", True)):
        again = section("S3", RED, GREEN, on=on)
        assert ("1/body colour" in names_of(stack([*rows, *again]))) == expected, on
    assert "1/body colour" in names_of(stack(changed(rows, Sample, extent="spot"))), "a spot clears no area"


@pytest.mark.parametrize(
    ("role", "coverage", "pct", "level", "share"),
    [
        ("body colour", "intact", None, "intact", (1.0, 1.0, 1.0)),
        ("body colour", None, None, "present", (1.0, 1.0, 1.0)),
        ("body colour", "partial", None, "partial", (0.1, 0.54, 0.98)),
        ("body colour", "trace", None, "trace", (0.0, 0.05, 0.1)),
        ("body colour", None, 98.0, "intact", (0.98, 0.98, 0.98)),
        ("body colour", None, 97.0, "partial", (0.97,) * 3),
        ("body colour", None, 11.0, "partial", (0.11,) * 3),
        ("body colour", None, 10.0, "trace", (0.1,) * 3),
        ("body colour", "intact", 40.0, "intact", (0.4,) * 3),
        ("body colour", "absent", None, "absent", (0.0,) * 3),
        ("body colour", None, 0.0, "absent", (0.0,) * 3),
        ("primer", "intact", 90.0, "trace", (0.0, 0.05, 0.1)),
    ],
)
def test_a_reading_says_how_much_of_its_spot_was_covered(
    role: str, coverage: str | None, pct: float | None, level: str, share: tuple[float, float, float]
) -> None:
    """As measured, else as the policy takes the word; preparation alone is a trace of the finish."""
    rows = door(*section("S1", ("1", role, "red", coverage), (None, "dirt", None, "intact")))
    rows = [
        row.model_copy(update={"coverage_pct": pct}) if isinstance(row, Layer) and row.scheme else row for row in rows
    ]
    facts = o.facts(rows)
    found = reading(Case(facts), facts.samples[0], ["1"])
    assert (found.level, found.share) == (level, pytest.approx(share))


def test_of_several_coats_the_best_kept_speaks_and_of_equals_the_one_that_most_is_left_of() -> None:
    coats = [("1", "body colour", "red", "partial"), ("1", "varnish", None, "partial")]
    rows = [
        row.model_copy(update={"coverage_pct": 60.0}) if isinstance(row, Layer) and row.role == "varnish" else row
        for row in door(*section("S1", *coats))
    ]
    little = [
        row.model_copy(update={"coverage_pct": 30.0}) if isinstance(row, Layer) and row.role == "varnish" else row
        for row in rows
    ]
    facts = o.facts(little)
    assert reading(Case(facts), facts.samples[0], ["1"]).role == "body colour", "54 % are expected of what is partial"
    for more, role, share in (
        ([], "varnish", 0.6),
        (work("solvent", on="2022", removed="1/varnish"), "body colour", 0.54),
        (work("strip", on="2022", removed="1/varnish"), "body colour", 0.54),
    ):
        facts = o.facts([*rows, *more])
        found = reading(Case(facts), facts.samples[0], ["1"])
        assert (found.role, found.level, found.share[1]) == (role, "partial", pytest.approx(share)), more
        assert not found.history


@pytest.mark.parametrize(
    ("removed", "outermost"),
    [
        (None, {"2"}),
        ({"removed_m2": 1.9}, {"1"}),
        ({"removed_m2": 0.5}, {"2"}),
        ({}, {"2", "1"}),
        ({"action": "strip"}, {"1"}),
    ],
)
def test_what_may_lie_outermost_since_work_took_a_share_of_the_green(
    removed: dict[str, Any] | None, outermost: set[str]
) -> None:
    more = [] if removed is None else work(**{"action": "solvent", "on": "2022", "removed": "2", **removed})
    facts = o.facts(door(*section("S1", RED, GREEN), *more))
    assert profiles(Case(facts))["S1"].outermost == outermost


# What documented work took.


@pytest.mark.parametrize(
    ("step", "place", "expected"),
    [
        ({"removed_m2": 0.5}, "door", (0.25, 0.25, 0.25)),
        ({"removed_m2": 2.0}, "door", (1.0, 1.0, 1.0)),
        # More than the place has, or no area of what was taken: bounds from above alone.
        ({"removed_m2": 2.5}, "door", (0.0, 0.5, 1.0)),
        ({"area_m2": 0.5}, "door", (0.0, 0.125, 0.25)),
        ({}, "door", (0.0, 0.5, 1.0)),
        ({"removed_m2": 0.5, "area_m2": 0.2}, "door", (0.0, 0.05, 0.1)),
        ({"removed_m2": 0.2, "area_m2": 0.5}, "door", (0.1, 0.1, 0.1)),
        # Done in part, or tried: the same.
        ({"removed_m2": 0.5, "outcome": "partly"}, "door", (0.0, 0.125, 0.25)),
        ({"removed_m2": 0.5, "outcome": "tried and failed"}, "door", (0.0, 0.125, 0.25)),
        ({"removed_m2": 0.5, "step": "partly"}, "door", (0.0, 0.125, 0.25)),
        ({"removed_m2": 0.5, "outcome": "partly", "step": "done"}, "door", (0.25, 0.25, 0.25)),
        # Stripping leaves up to a tenth; not where it was done in part, nor where an area says how much.
        ({"action": "strip"}, "door", (0.9, 0.95, 1.0)),
        ({"action": "strip", "outcome": "partly"}, "door", (0.0, 0.5, 1.0)),
        ({"action": "strip", "removed_m2": 0.5}, "door", (0.25, 0.25, 0.25)),
        # A smaller place in it may be where the work went, or not; another place is not.
        ({"action": "strip"}, "wing", (0.9, 0.95, 1.0)),
        ({"removed_m2": 0.2}, "wing", (0.0, 0.1, 0.4)),
        ({"removed_m2": 0.8}, "wing", (0.0, 0.4, 1.0)),
        ({"place": "wing", "removed_m2": 0.2}, "wing", (0.4, 0.4, 0.4)),
        ({"place": "cab", "removed_m2": 0.2}, "door", (0.0, 0.0, 0.0)),
        ({"place": "cab"}, "wing", (0.0, 0.0, 0.0)),
        # Somewhere, nobody knows where.
        ({"place": "under the step", "removed_m2": 0.2}, "wing", (0.0, 0.0, 0.4)),
    ],
)
def test_a_removal_acts_on_the_share_of_its_own_place_that_it_covered(
    step: dict[str, Any], place: str, expected: tuple[float, float, float]
) -> None:
    step = dict(step)
    """A door of 2 m²; the wing is 0.5 m² of it where the work is told of another place or of the wing itself."""
    zones = [WING] if place == "wing" else []
    own = step.pop("step", None)
    facts = o.facts(
        door(
            *zones,
            *CAB[:1],
            *changed(work(**{"action": "solvent", "removed": "1", **step}), TreatmentStep, outcome=own),
        )
    )
    assert share_of_step(Case(facts), facts.treatments[0], facts.treatment_steps[0], place) == pytest.approx(expected)


@pytest.mark.parametrize(
    ("on", "removed", "role", "expected"),
    [
        ("2021", "1", "varnish", (0.25, 0.25, 0.25)),
        ("2019", "1", "varnish", (0.0, 0.0, 0.0)),
        ("2020", "1", "varnish", (0.0, 0.125, 0.25)),
        ("2019/2020-05-01", "1", "varnish", (0.0, 0.125, 0.25)),
        (None, "1", "varnish", (0.0, 0.125, 0.25)),
        ("2021", "1/varnish", "varnish", (0.25, 0.25, 0.25)),
        ("2021", "1/varnish", "body colour", (0.0, 0.0, 0.0)),
        ("2021", "2", "varnish", (0.0, 0.0, 0.0)),
    ],
)
def test_what_was_read_before_a_removal_lost_its_share_and_dates_that_may_overlap_count_by_half(
    on: str | None, removed: str, role: str, expected: tuple[float, float, float]
) -> None:
    """Read on 1 May 2020; a quarter of the door was worked on."""
    facts = o.facts(door(*work("solvent", on=on, removed=removed, removed_m2=0.5)))
    assert taken(Case(facts), "1", role, "door", "2020-05-01") == pytest.approx(expected)


@pytest.mark.parametrize(
    ("action", "place", "on", "since", "expected"),
    [
        ("strip", "door", "2021", "2020", True),
        ("strip", "door", "2021", "2022", False),
        ("strip", "door", "2021", None, True),
        ("strip", "door", "2021", "2020/2022", True),
        ("strip", "door", "2021", "2021-05", True),
        ("blast", "door", "2021", "2020", True),
        ("solvent", "door", "2021", "2020", False),
        ("strip", "cab", "2021", "2020", False),
        ("strip", "all", "2021", "2020", True),
    ],
)
def test_work_that_takes_all_there_is_may_have_met_a_place_since(
    action: str, place: str, on: str, since: str | None, expected: bool
) -> None:
    facts = o.facts(door(*CAB[:1], *work(action, place=place, on=on)))
    assert stripped(Case(facts), "door", since) == expected
    assert not stripped(Case(o.facts(door(*CAB[:1], *work(action, place=place, on=on, removed="1")))), "door", since)


def test_several_removals_may_have_met_one_surface_or_each_another() -> None:
    """A quarter and a half of the door: at least the half, at most three quarters; taken as independent, 0.625."""
    rows = [*work("solvent", removed="1", removed_m2=0.5), *work("solvent", code="W8", removed="1", removed_m2=1.0)]
    assert taken(Case(o.facts(door(*rows))), "1", None, "door", "2020") == pytest.approx((0.5, 0.625, 0.75))
    assert taken_in_all(Case(o.facts(door(*rows))), "1", "door") == pytest.approx((0.5, 0.625, 0.75))
    assert taken_in_all(Case(o.facts(door(*rows))), "2", "door") == (0.0, 0.0, 0.0)
    assert taken_in_all(Case(o.facts(door(WING, *rows))), "1", "wing", evenly=True)[0] == pytest.approx(0.5)
    assert taken_in_all(Case(o.facts(door(WING, *rows))), "1", "wing")[0] == 0.0
    third = work("solvent", code="W7", removed="1", removed_m2=1.0)
    assert taken(Case(o.facts(door(*rows, *third))), "1", None, "door", "2020")[2] == 1.0


def test_a_treatment_is_dated_by_what_is_known_of_it() -> None:
    """Begun in 2019 and ended in 2021, it may have met what was read in 2020; one date stands for the whole."""
    whole = changed(work("solvent", removed="1", removed_m2=0.5), Treatment, started="2019", ended="2021")
    for change, expected in (
        ({}, (0.0, 0.125, 0.25)),
        ({"ended": None}, (0.0, 0.0, 0.0)),
        ({"started": None}, (0.25, 0.25, 0.25)),
    ):
        rows = door(*changed(whole, Treatment, **change))
        assert taken(Case(o.facts(rows)), "1", None, "door", "2020") == pytest.approx(expected), change
    assert [mostly_taken(share) for share in ((0.9, 0.95, 1.0), (0.89, 1.0, 1.0))] == [True, False]


# What is kept: coats by scheme, by period, and by what they lie on.


@pytest.mark.parametrize(
    ("coats", "expected"),
    [
        # From the support outward, each (scheme, role, period, certainty, coverage).
        ([("1", "body colour", None, None, "intact"), ("2", "body colour", None, None, "intact")], [True, False]),
        ([(None, "body colour", None, None, "intact")], [True]),
        ([(None, "body colour", "later", "confirmed", "intact")], [False]),
        ([(None, "body colour", "later", "probable", "intact")], [True]),
        ([(None, "body colour", "original", "confirmed", "intact")], [True]),
        # What lies on a coat shown to be later is later still, unless it is said to be early; an absent one shows nothing.
        ([("2", "body colour", None, None, "intact"), (None, "varnish", None, None, "intact")], [False, False]),
        ([("2", "body colour", None, None, "intact"), (None, "varnish", "early", None, "intact")], [False, True]),
        ([("2", "body colour", None, None, "absent"), (None, "varnish", None, None, "intact")], [False, True]),
        (
            [(None, "body colour", "later", "confirmed", "intact"), (None, "varnish", None, None, "intact")],
            [False, False],
        ),
        (
            [(None, "body colour", "later", "confirmed", "absent"), (None, "varnish", None, None, "intact")],
            [False, True],
        ),
        ([(None, "varnish", None, None, "intact"), ("2", "body colour", None, None, "intact")], [True, False]),
        # Dirt is never kept, wax only as the maker's.
        ([("1", "dirt", None, None, "intact")], [False]),
        ([("1", "wax", None, None, "intact")], [True]),
        ([("2", "wax", None, None, "intact")], [False]),
        ([(None, "wax", None, None, "intact")], [False]),
    ],
)
def test_what_is_kept_is_told_by_scheme_period_and_what_it_lies_on(coats: list[Any], expected: list[bool]) -> None:
    rows = [
        Sample(object=o.OBJ, sample="S1", place="door", method="cross-section"),
        *(
            o.layer(n, role, scheme, None, coverage, period=period, certainty=certainty)
            for n, (scheme, role, period, certainty, coverage) in enumerate(coats, 1)
        ),
    ]
    kept = kept_layers(Case(o.facts(door(*rows))))
    assert [kept["S1", n] for n in range(1, len(coats) + 1)] == expected


@pytest.mark.parametrize(
    ("change", "expected"),
    [
        ({}, False),
        ({"basis": None}, True),
        ({"certainty": "possible"}, True),
        ({"certainty": "probable"}, False),
        ({"keep": "keep"}, True),
        ({"keep": "sample"}, False),
        ({"keep": None}, False),
        ({"period": "early"}, True),
        ({"period": "unknown"}, True),
        ({"period": "recent"}, False),
        ({"period": "restoration"}, False),
    ],
)
def test_a_later_scheme_may_go_where_it_is_shown_to_be_later_and_nobody_keeps_it(
    change: dict[str, Any], expected: bool
) -> None:
    rows = [
        row.model_copy(update=change) if isinstance(row, Scheme) and row.scheme == "2" else row
        for row in door(*section("S1", GREEN))
    ]
    assert kept_layers(Case(o.facts(rows)))["S1", 1] == expected


def test_positions_are_counted_from_the_end_that_the_sample_says() -> None:
    for end, expected in ((None, [2, 1]), ("support", [2, 1]), ("surface", [1, 2])):
        rows = door(*section("S1", RED, GREEN, counted_from=end))
        assert [layer.position for layer in layers_by_sample(Case(o.facts(rows)))["S1"]] == expected


# What models are told, and what windows are made of.


@pytest.mark.parametrize(
    ("rows", "step", "expected"),
    [
        (once(), ACETONE, [("T1", False)]),
        (once("softened"), ACETONE, [("T1", True)]),
        (once("gloss change", agent="ethanol", dwell=500), ACETONE, [("T1", True)]),
        (once(agent="ethanol"), ACETONE, [("T1", False)]),
        # What it stood as harshly as planned, lately, and looked at dry; an effect of whatever age.
        (once(dwell=5), ACETONE, []),
        (once(on="1990"), ACETONE, []),
        (once(after_drying="no"), ACETONE, []),
        (once("lifted", on="1990"), ACETONE, [("T1", True)]),
        (once(agent="water", ph=5.0), {**WATER, "ph": 9.0}, [("T1", False)]),
        (once(agent="water", ph=8.0, conductivity_mscm=1.0), {**WATER, "ph": 8.0, "conductivity_mscm": 2.0}, []),
        # Of its like nothing.
        (door(*section("S1", RED, VARNISH), *o.met("T1", 2, "lifted", sample="S1")), ACETONE, []),
    ],
)
def test_models_are_told_what_a_coat_did_and_what_it_stood_as_harshly_as_planned(
    rows: list[Any], step: dict[str, Any], expected: list[tuple[str, bool]]
) -> None:
    facts = o.facts(rows)
    found = stack_of(Case(facts), "door")
    red = next(c for c in found.coats if c.role == "body colour")
    heard = contact.tested_of(Work(Case(facts), found, o.proposal(step).steps[0], "2024-06-01"), red)
    assert [(each.name, each.acted) for each in heard] == expected


def test_a_coats_trials_are_those_that_met_it_and_the_harmful_ones_those_of_its_like_too() -> None:
    rows = door(
        *section("S1", RED, VARNISH),
        *o.met("T1", 1, "none seen", sample="S1"),
        *o.met("T2", 1, "lifted", sample="S1"),
        *o.met("T3", 2, "lifted", sample="S1"),
        *o.met("T4", 2, "none seen", sample="S1"),
    )
    facts = o.facts(rows)
    found = stack_of(Case(facts), "door")
    red = next(c for c in found.coats if c.role == "body colour")
    assert [t.test.test for t in trials_of(Case(facts), found, red)] == ["T1", "T2"]
    assert [t.test.test for t in harmful_trials(Case(facts), found, red)] == ["T2", "T3"]


# Coats that only tests met.


def met_only(
    response: str = "lifted", scheme: str = "1", role: str | None = "varnish", place: str = "door"
) -> list[Any]:
    test, answer = o.met("T1", 1, response, sample="S1", place=place)
    return [test, answer.model_copy(update={"sample": None, "position": None, "scheme": scheme, "role": role})]


@pytest.mark.parametrize(
    ("met", "expected"),
    [
        (met_only(), ["2/body colour", "1/varnish", "1/body colour", "1/preparation"]),
        (met_only(role="primer"), ["2/body colour", "1/body colour", "1/preparation"]),
        (met_only(role="glaze"), ["2/body colour", "1/glaze", "1/body colour", "1/preparation"]),
        (met_only(role="sealer"), ["2/body colour", "1/body colour", "1/preparation", "1/preparation"]),
        (met_only("none seen"), ["2/body colour", "1/body colour", "1/preparation"]),
        (met_only(role="dirt"), ["2/body colour", "1/body colour", "1/preparation"]),
        (met_only(scheme="2"), ["2/body colour", "1/body colour", "1/preparation"]),
        (met_only(role=None), ["2/body colour", "1/body colour", "1/preparation"]),
        (met_only(place="cab"), ["2/body colour", "1/body colour", "1/preparation"]),
        # Met elsewhere on the part: not found in a place whose own section goes to the support.
        (met_only(place="wing"), ["2/body colour", "(1/varnish not found so far)", "1/body colour", "1/preparation"]),
    ],
)
def test_a_kept_coat_that_a_test_did_something_to_is_there_though_no_section_shows_it(
    met: list[Any], expected: list[str]
) -> None:
    rows = door(WING, *CAB[:1], *section("S1", PRIMER, RED, GREEN), *met)
    found = stack(rows)
    assert names_of(found) == expected
    varnish = [coat for coat in found.coats if coat.role == "varnish"]
    assert all(
        coat.kept and coat.evidence == (("tests", "T.1/T1"),) and coat.seen_here == (coat.found) for coat in varnish
    )
    assert all(coat.cover == ((0.0, 0.5, 1.0) if coat.found else (0.0, 0.0, 1.0)) for coat in varnish)
    assert all({key.scheme for key in coat.above} == {"2"} for coat in varnish)


COACH = (
    ("primer", "oil", "N 8"),
    ("primer", "oil", "N 6"),
    ("filler", "oil", "10YR 6/6"),
    ("ground", "oil", "10R 3/6"),
    ("body colour", "oil", "7.5R 3/8"),
    ("varnish", "oleoresin", None),
    ("body colour", "alkyd", "5G 3/6"),
)


def test_coats_without_a_scheme_that_the_sequence_of_all_sections_joins_are_the_same() -> None:
    """Seven coats alike in both sections, none assigned: acetone that lifted the red of S2 lifts that of S1, and not
    its green; what the red of S2 stood clears nothing; on another part it is feared."""

    def alike(code: str, place: str = "door") -> list[Any]:
        rows = section(code, *[(None, role, None, "intact") for role, _, _ in COACH], place=place)
        return [
            row.model_copy(update=dict(zip(("binder", "munsell"), COACH[row.position - 1][1:], strict=True)))
            if isinstance(row, Layer)
            else row
            for row in rows
        ]

    for place, response, red, green in (
        ("door", "lifted", "effect", ""),
        ("door", "none seen", "", ""),
        ("cab", "lifted", "feared", ""),
    ):
        rows = door(
            *CAB[:1],
            *alike("S1"),
            *alike("S2", place),
            *o.met("T1", 5, response, "1 acetone + 3 isooctane", sample="S2", place=place, dwell=10),
        )
        facts = o.facts(rows)
        case = Case(facts)
        found = stack_of(case, "door")
        work = Work(case, found, o.proposal({**ACETONE, "agent": "1 acetone + 3 isooctane"}).steps[0], "2024")
        got = {
            position: contact_rate(work, next(c for c in found.coats if ("S1", position) in c.layers))
            for position in (5, 7)
        }
        told = {
            at: "cleared" if r.cleared else "effect" if r.effect else "feared" if r.feared else ""
            for at, r in got.items()
        }
        assert told == {5: red, 7: green}, (place, response)


def test_what_a_whole_scheme_did_where_none_of_it_was_seen_counts_against_all_its_coats() -> None:
    """The wing was never read: which of the scheme's coats acetone lifted there, nobody wrote down."""
    rows = door(WING, *section("S1", RED))
    for response, expected in (("removed", "destroys"), ("none seen", "untested")):
        test, answer = o.met("T1", 1, response, sample="S1", place="wing", dwell=10)
        told = [test, answer.model_copy(update={"sample": None, "position": None, "scheme": "1"})]
        assert severity([*rows, *told], ACETONE, of=COAT) == expected


def test_an_alarm_of_a_model_says_whether_the_agent_was_tried_at_all() -> None:
    """Ethanol acts on shellac by its published sphere; a shorter test of ethanol clears nothing, and is not passed over."""
    varnish = o.layer(1, "varnish", "1", None, binder="shellac", binder_basis="analysed")
    rows = door(*section("S1"), varnish, *o.met("T1", 1, "none seen", "isooctane"))
    step = {"action": "solvent", "agent": "ethanol", "dwell_s": 30.0, "application": "rolled swab"}
    never = o.said(rows, step)["door/1/varnish"].message
    shorter = o.said([*rows, *o.met("T2", 1, "none seen", "ethanol", dwell=5)], step)["door/1/varnish"].message
    assert "No test of ethanol on this coat; " in never
    assert "No test of ethanol on this coat as harsh as planned; " in shorter
