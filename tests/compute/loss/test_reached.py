"""What work reaches and what it takes there: conditions, rates, cuts, masks, the arithmetic of loss, the table of
severity and ladders, in tables of cases, each with what must come out and why. All objects are invented; what they show
is common practice, no published source, unless a line says otherwise."""

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
from collection.compute.build_up.condition import failing, looked_at, standing
from collection.compute.build_up.stack import stack_of
from collection.compute.case import Case
from collection.compute.effects.contact import Rate
from collection.compute.effects.cutting import CutRate, cut_rate
from collection.compute.effects.ladders import at_most, conditions_in_words, differences, ladder_of, nearest_limit
from collection.compute.effects.rates import Touch, rate_of
from collection.compute.effects.thickness import chance_through, surely_through
from collection.compute.effects.trials import trials
from collection.compute.effects.work import Work
from collection.compute.loss.loss import StepEffect, losses
from collection.compute.loss.masks import spared, spares_reserve
from collection.compute.loss.outcome import BELOW, NOT_EXAMINED, Outcome, StepOutcome, outcomes
from collection.records.sheets import Component, Condition, Decoration, Layer, ProposalStep, TreatmentStep, Zone
from collection.rules.severity import severity_of

CAB = [
    Component(object=o.OBJ, component="cab", name="cab"),
    *section("S7", ("1", "body colour", "red", "partial"), place="cab"),
]
LINING = [Decoration(object=o.OBJ, decoration="D1", place="door", kind="lining", scheme="1", state="exposed")]
WING = Zone(object=o.OBJ, zone="wing", component="door", area_m2=0.5)
ONE_RED = door(*section("S1", RED))


def stack(rows: list[Any], place: str = "door") -> Stack:
    return stack_of(Case(o.facts(rows)), place)


# Conditions.


@pytest.mark.parametrize(
    ("rows", "expected"),
    [
        (fails(), ["2022"]),
        (fails(severity=0), []),
        (fails(extent_pct=0.0), []),
        (fails(extent_pct=1.0), ["2022"]),
        ([*fails(), *fails(on="2023")], ["2023"]),
        ([*fails(), *fails(on="2022-05")], ["2022", "2022-05"]),
        ([*fails(), *fails(on="2023", severity=0)], []),
        ([*fails(), *fails(on="2021", severity=0)], ["2022"]),
        ([*fails(), *fails(on="2023", phenomenon="lifting")], ["2022", "2023"]),
        ([*fails(), *fails(on="2023", scheme="1")], ["2022", "2023"]),
        ([*fails(), *fails("all", on="2023")], ["2022", "2023"]),
    ],
)
def test_the_newest_word_on_a_condition_stands_and_dates_that_may_overlap_leave_both(
    rows: list[Condition], expected: list[str]
) -> None:
    assert sorted(row.observed_on for row in standing(Case(o.facts(door(*rows))))) == expected


@pytest.mark.parametrize(
    ("rows", "scheme", "expected"),
    [
        (fails(), "1", "grave"),
        (fails(), None, "grave"),
        (fails(scheme="2"), "1", None),
        (fails(scheme="1"), "1", "grave"),
        (fails(scheme="2"), "*", "grave"),
        (fails(scheme="1"), None, None),
        (fails(phenomenon="cracking"), "1", None),
        (fails(active="no"), "1", None),
        (fails(active="unknown"), "1", "grave"),
        (fails(severity=1), "1", "slight"),
        (fails(extent_pct=4.9), "1", "slight"),
        (fails(extent_pct=5.0), "1", "grave"),
        ([*fails(severity=1), *fails(phenomenon="lifting")], "1", "grave"),
        (fails("all"), "1", "grave"),
        (fails("wing"), "1", None),
        (fails("cab"), "1", None),
        (fails("nowhere"), "1", "grave"),
        # A recorded consolidation surely later than all of it, in all of its place, and done.
        ([*fails(), *work("consolidate", on="2023")], "1", "laid by W9"),
        ([*fails(), *work("lay flakes", on="2023")], "1", "laid by W9"),
        ([*fails(), *work("facing", on="2023")], "1", "grave"),
        ([*fails(), *work("consolidate", on="2023", place="all")], "1", "laid by W9"),
        ([*fails(), *work("consolidate", on="2023", place="wing")], "1", "grave"),
        ([*fails(), *work("consolidate", on="2023", outcome="partly")], "1", "grave"),
        ([*fails(), *work("consolidate", on="2023", outcome="tried and failed")], "1", "grave"),
        (
            [*fails(), *changed(work("consolidate", on="2023", outcome="partly"), TreatmentStep, outcome="done")],
            "1",
            "laid by W9",
        ),
        ([*fails(), *fails(phenomenon="lifting", on="2024"), *work("consolidate", on="2023")], "1", "grave"),
    ],
)
def test_finish_is_failing_where_it_is_seen_to_and_not_known_to_be_at_rest(
    rows: list[Any], scheme: str | None, expected: str | None
) -> None:
    found = failing(Case(o.facts(door(WING, *CAB[:1], *rows))), "door", scheme)
    told = (
        None
        if found is None
        else f"laid by {found.laid_by}"
        if found.laid_by
        else ("slight" if found.slight else "grave")
    )
    assert told == expected


@pytest.mark.parametrize(
    ("rows", "expected"),
    [
        ([], False),
        (section("S1", RED), True),
        (section("S1", RED, place="all"), True),
        (section("S1", RED, place="wing"), True),
        (section("S1", RED, place="cab"), False),
        (fails(severity=0), True),
        (fails("wing", severity=0), False),
        (fails("all", severity=0), True),
    ],
)
def test_a_surface_is_told_of_by_a_sample_in_it_or_a_condition_looked_for_there(
    rows: list[Any], expected: bool
) -> None:
    assert looked_at(Case(o.facts(door(WING, *CAB[:1], *rows))), "door") == expected


# What a step does where it touches, beyond liquids.


def does(rows: list[Any], step: dict[str, Any], *before: dict[str, Any], of: str | None = "body colour") -> Touch:
    facts = o.facts(rows)
    found = stack_of(Case(facts), "door")
    coat = None if of is None else next(c for c in found.coats if c.role == of)
    steps = o.proposal(*before, step).steps
    return rate_of(Work(Case(facts), found, steps[-1], "2024-06-01", steps[:-1]), coat)


EXTENT = fails(extent_pct=40.0)
NOBODY, STRIPPING = door(WING), {"action": "strip"}


@pytest.mark.parametrize(
    ("rows", "step", "of", "expected", "word"),
    [
        (ONE_RED, {"action": "strip"}, "body colour", (1.0, 1.0, 1.0), "Strip takes all that is on the part."),
        (ONE_RED, {"action": "strip"}, None, (1.0, 1.0, 1.0), "Strip takes all that is on the part."),
        (ONE_RED, ACETONE, None, (0.0, GUESS, 1.0), "Nobody has looked."),
        (ONE_RED, {"action": "dust"}, "body colour", (0.0, 0.0, 0.0), "It is not touched."),
        (ONE_RED, {"action": "wrap"}, "body colour", (0.0, 0.0, 0.0), "It is not touched."),
        (
            ONE_RED,
            {"action": "operate"},
            "body colour",
            (0.0, 0.05, 1.0),
            "Running and handling it wears what lies open.",
        ),
        (ONE_RED, {"action": "display outdoors"}, "body colour", (0.0, 0.05, 1.0), "Light, wet and salt weather"),
        (ONE_RED, {"action": "wax"}, "body colour", (0.0, GUESS, 1.0), "What it brings with it is not stated."),
        (ONE_RED, {"action": "solvent"}, "body colour", (0.0, 0.475, 1.0), "No agent is named, so it may be any."),
        (
            ONE_RED,
            {"action": "wax", "agent": "isooctane"},
            "body colour",
            (0.0, GUESS, 1.0),
            "No recorded test of this agent",
        ),
        (ONE_RED, {"action": "laser"}, "body colour", (0.0, GUESS, 1.0), "No model says what laser does to a coat."),
        (
            ONE_RED,
            {"action": "heat", "temperature_c": 90.0},
            "body colour",
            (0.0, GUESS, 1.0),
            "No model says what heat does",
        ),
        (
            changed(ONE_RED, Layer, binder="wax"),
            {"action": "heat", "temperature_c": 90.0},
            "body colour",
            (0.0, GUESS, 1.0),
            "No trial of heat on this coat; ",
        ),
        # Failing finish: at least half of what is told to fail is expected to come off, a twentieth where it is not told.
        (
            [*ONE_RED, *fails()],
            {"action": "dust"},
            "body colour",
            (0.0, 0.05, 1.0),
            "The finish is failing here (flaking (2022))",
        ),
        (
            [*ONE_RED, *EXTENT],
            {"action": "dust"},
            "body colour",
            (0.0, 0.2, 1.0),
            "The finish is failing here (flaking (2022))",
        ),
        ([*ONE_RED, *fails()], ACETONE, "body colour", (0.0, GUESS, 1.0), "The finish is failing here"),
        (
            [*ONE_RED, *fails()],
            {"action": "consolidate"},
            "body colour",
            (0.0, GUESS, 1.0),
            "The finish is failing here (flaking (2022)): it comes off at a touch. What the step brings",
        ),
        (
            [*ONE_RED, *fails()],
            {"action": "facing", "agent": "water"},
            "body colour",
            (0.0, GUESS, 1.0),
            "The finish is failing here (flaking (2022)): it comes off at a touch. No test on failing finish clears water.",
        ),
        ([*NOBODY, *fails()], {"action": "dust"}, None, (0.0, GUESS, 1.0), "The finish is failing here"),
        ([*NOBODY, *fails()], {"action": "facing"}, None, (0.0, GUESS, 1.0), "Nobody has looked."),
    ],
)
def test_every_kind_of_work_has_its_rate_and_its_reason(
    rows: list[Any], step: dict[str, Any], of: str | None, expected: tuple[float, float, float], word: str
) -> None:
    found = does(rows, step, of=of).rate
    assert (found.low, found.middle, found.high) == pytest.approx(expected)
    assert found.why.startswith(word)
    assert not found.cleared


@pytest.mark.parametrize(
    ("before", "more", "failing_", "wanted"),
    [
        ([], [], True, "lay or consolidate the failing finish first"),
        ([{"action": "consolidate"}], [], False, "test it again when it is laid"),
        ([{"action": "lay flakes", "place": "all"}], [], False, "test it again when it is laid"),
        ([{"action": "consolidate", "place": "wing"}], [], True, "lay or consolidate the failing finish first"),
        ([{"action": "consolidate", "area_m2": 0.1}], [], True, "lay or consolidate the failing finish first"),
        ([{"action": "facing"}], [], True, "lay or consolidate the failing finish first"),
        ([], work("consolidate", on="2023"), False, "look again whether it holds"),
    ],
)
def test_failing_finish_is_laid_before_it_is_touched(
    before: list[Any], more: list[Any], failing_: bool, wanted: str
) -> None:
    found = does([*once(), WING, *fails(), *more], ACETONE, *before).rate
    assert (found.failing, found.cleared) == (failing_, False)
    assert found.wanting.startswith(wanted)


@pytest.mark.parametrize(
    ("trial", "effect"),
    [
        ({"action": "laser"}, True),
        ({"action": "laser", "response": "none seen"}, False),
        ({"action": "steam"}, False),
        ({"action": "laser", "scheme": "2"}, False),
        ({"action": "laser", "by": "layer"}, True),
        ({"action": "laser", "by": "layer", "position": 2}, False),
    ],
)
def test_a_trial_of_the_same_work_that_did_something_counts_against_the_scheme_it_met(
    trial: dict[str, Any], effect: bool
) -> None:
    test, answer = o.met("T1", trial.get("position", 1), trial.get("response", "lifted"), sample="S1")
    if trial.get("by") != "layer":
        answer = answer.model_copy(update={"sample": None, "position": None, "scheme": trial.get("scheme", "1")})
    rows = door(*section("S1", RED, GREEN), test.model_copy(update={"action": trial["action"]}), answer)
    red = next(c for c in stack(rows).coats if c.scheme == "1")
    facts = o.facts(rows)
    asked = o.proposal({"action": "laser"}).steps
    case = Case(facts)
    rate = rate_of(Work(case, stack_of(case, "door"), asked[0], "2024"), red).rate
    assert rate.effect == effect
    assert rate.tests == (("T.1/T1",) if trial["action"] == "laser" else ())


# Cuts: depth against films in µm. Red under varnish under green, each 30 µm, unless a case says otherwise.


def cut(
    step: dict[str, Any],
    *,
    films: int = 3,
    of: str = "1",
    role: str = "varnish",
    disturbed: bool = False,
    thickness: list[Any] | None = None,
    rows: list[Any] | tuple[Any, ...] = (),
) -> CutRate:
    """The rate of a cut on the varnish beneath 30 µm of green."""
    every = [row for n in range(films) for row in section(f"S{n}", RED, VARNISH, GREEN)]
    if thickness is not None:
        every = [
            row.model_copy(update={"thickness_um": thickness[int(row.sample[1]) % len(thickness)]})
            if isinstance(row, Layer) and row.scheme == "2"
            else row
            for row in every
        ]
    facts = o.facts(door(WING, *every, *rows))
    found = stack_of(Case(facts), "door")
    coat = next(c for c in found.coats if c.scheme == of and c.role == role)
    asked = ProposalStep(object=o.OBJ, proposal="P", step=1, place="door", action="scrape", **step)
    return cut_rate(Work(Case(facts), found, asked, None, thinned=disturbed), coat)


DEEP = {"depth_um": 45.0, "depth_sd_um": 1.0}
SHALLOW = {"depth_um": 5.0, "depth_sd_um": 0.5}
THROUGH_30 = chance_through(45.0, 1.0, [30.0] * 3, POLICY.least_log_sd)
THROUGH_60 = surely_through(45.0, 1.0, [60.0] * 3, POLICY.least_log_sd)


@pytest.mark.parametrize(
    ("given", "low", "middle", "high", "readings", "word"),
    [
        # To the support, unless it says where it stops; nothing of no depth.
        ((({}),), 1.0, 1.0, 1.0, 0, "Neither depth nor a coat to stop at is stated"),
        (({"depth_um": 0.0},), 0.0, 0.0, 0.0, 3, "The cut has no depth."),
        # Through 30 µm and into what lies beneath: as often as a film is thinner (`test_loss` holds that against scipy).
        (
            (DEEP,),
            THROUGH_60,
            (THROUGH_60 + THROUGH_30) / 2,
            THROUGH_30,
            3,
            "A cut of 45 ± 1 µm against 3 measured films of 30–30 µm above it.",
        ),
        ((SHALLOW,), 0.0, 0.0, 0.0, 3, "A cut of 5 ± 0.5 µm against 3 measured films"),
        (({"depth_um": 45.0},), 0.0, 0.5, 1.0, 3, "The spread of the depth is not stated."),
    ],
)
def test_a_cut_is_measured_against_the_films_above(
    given: tuple[dict[str, float]], low: float, middle: float, high: float, readings: int, word: str
) -> None:
    found = cut(*given)
    assert (found.low, found.middle, found.high) == pytest.approx((low, middle, high), abs=0.005)
    assert (found.readings, found.stops) == (readings, False)
    assert found.why.startswith(word)


def test_a_cut_goes_through_what_is_thinner_than_it_and_stays_above_what_is_thicker() -> None:
    """150 µm deep through 60 µm down to the red: gone; 75 µm in the middle of the red: reached."""
    assert cut({"depth_um": 150.0, "depth_sd_um": 1.0}, role="varnish").low > 0.95
    reached = cut({"depth_um": 75.0, "depth_sd_um": 1.0}, role="body colour")
    assert reached.low < 0.3 < 0.7 < reached.high


@pytest.mark.parametrize(
    ("depth", "options", "films", "readings", "wanted"),
    [
        (25.0, {"films": 1}, "half", 1, "measure at least 3 thicknesses"),
        (25.0, {"disturbed": True}, "half", 3, "measure again after the step before"),
        (25.0, {"thickness": [None]}, [], 0, "measure the thickness of every coat above it"),
        (25.0, {"thickness": [30.0, 30.0, None]}, [30.0, 30.0], 2, "measure the thickness of every coat above it"),
        (
            5.0,
            {"films": 4, "thickness": [30.0, 30.0, 30.0, None]},
            [30.0] * 3,
            0,
            "measure the thickness of every coat above it",
        ),
        (5.0, {"films": 2, "thickness": [30.0, None]}, [30.0], 1, "measure the thickness of every coat above it"),
        (
            5.0,
            {"films": 4, "thickness": [30.0, 30.0, 30.0, None], "sd": 30.0},
            [30.0] * 3,
            3,
            "measure the thickness of every coat above it",
        ),
    ],
)
def test_films_that_are_few_unmeasured_or_thinned_bound_nothing(
    depth: float, options: dict[str, Any], films: Any, readings: int, wanted: str
) -> None:
    """What was measured goes on telling that the cut may reach the coat; one film alone rules nothing out, and as much
    is expected as a hand misses."""
    sd = options.get("sd", 0.5)
    found = cut({"depth_um": depth, "depth_sd_um": sd}, **{key: v for key, v in options.items() if key != "sd"})
    reach = 0.5 if films == "half" else chance_through(depth, sd, films, POLICY.least_log_sd)
    expected = POLICY.hand_misses if reach is None else reach
    assert (found.low, found.middle, found.high) == pytest.approx((0.0, expected, 1.0), abs=0.02)
    assert (found.readings, found.wanting) == (readings, wanted)


def test_a_cut_that_surely_goes_through_does_so_whatever_is_not_known_of_it() -> None:
    cases: tuple[dict[str, Any], ...] = ({"disturbed": True}, {})
    for options in cases:
        found = cut({"depth_um": 150.0, "depth_sd_um": 1.0}, **options)
        assert found.low > 0.95
        assert found.middle == pytest.approx((found.low + found.high) / 2)
    assert cut({"depth_um": 150.0}).low == 0.0
    assert cut({"depth_um": 150.0, "depth_sd_um": 1.0}, films=2).low == 0.0, "two films are too few to say so"


def test_dirt_that_nobody_measured_counts_as_nothing_and_a_film_between_its_extremes() -> None:
    dirty = section("S9", RED, VARNISH, GREEN, (None, "dirt", None, "intact"))
    dirty = [
        row.model_copy(update={"thickness_um": None}) if isinstance(row, Layer) and row.role == "dirt" else row
        for row in dirty
    ]
    assert cut(SHALLOW, rows=dirty).readings == 4
    between = [
        row.model_copy(update={"thickness_um": None, "thickness_min_um": 20.0, "thickness_max_um": 40.0})
        if isinstance(row, Layer) and row.scheme == "2"
        else row
        for row in section("S9", RED, VARNISH, GREEN)
    ]
    assert "4 measured films of 30–30 µm" in cut(SHALLOW, rows=between).why
    half = changed(between, Layer, thickness_max_um=None)
    assert cut(SHALLOW, rows=half).wanting == "measure the thickness of every coat above it"


def test_a_place_with_few_films_of_its_own_takes_those_of_its_part() -> None:
    wing = [row for n in range(3, 6) for row in section(f"S{n}", RED, VARNISH, GREEN, place="wing")]
    cab = [row for n in range(6, 9) for row in section(f"S{n}", RED, VARNISH, GREEN, place="cab")]
    assert cut(SHALLOW, films=2, rows=[*wing, *CAB[:1], *cab]).readings == 5
    assert cut(SHALLOW, films=3, rows=wing).readings == 3


@pytest.mark.parametrize(
    ("stop", "of", "role", "low", "high", "stops"),
    [
        # At the scheme: its outermost coat, the varnish. What lies above goes; beneath it, a film deeper, may be reached.
        ("1", "2", "body colour", 1.0, 1.0, False),
        ("1", "1", "varnish", 0.0, 0.5, True),
        ("1", "1", "body colour", 0.0, 0.0, True),
        # At a coat of it: the varnish lies above and goes.
        ("1/body colour", "1", "varnish", 1.0, 1.0, False),
        ("1/body colour", "1", "body colour", 0.0, 0.5, True),
        # At a coat that was not seen here: anywhere.
        ("1/primer", "1", "varnish", 0.0, 1.0, True),
        ("9", "1", "varnish", 0.0, 1.0, True),
    ],
)
def test_a_cut_that_is_to_stop_at_a_coat_takes_what_lies_above_it(
    stop: str, of: str, role: str, low: float, high: float, stops: bool
) -> None:
    """A hand misses by a fifth of the film above where it stops: half of the time it goes too far."""
    found = cut({"stop_at": stop}, of=of, role=role)
    assert (found.low, found.high) == pytest.approx((low, high), abs=0.02)
    assert found.middle == pytest.approx((found.low + found.high) / 2)
    assert found.stops == stops


def test_a_hand_misses_by_a_share_of_the_film_and_the_place_has_films_of_its_own() -> None:
    """A fifth of 30 µm is 6 µm, against 40 µm down to the red; in the wing the green is only 5 µm, so 1 µm."""
    thin = [
        row.model_copy(update={"thickness_um": 10.0}) if isinstance(row, Layer) and row.role == "varnish" else row
        for n in range(3)
        for row in section(f"S{n}", RED, VARNISH, GREEN)
    ]
    wing = [
        row.model_copy(update={"thickness_um": 5.0}) if isinstance(row, Layer) and row.scheme == "2" else row
        for n in range(3, 6)
        for row in section(f"S{n}", RED, VARNISH, GREEN, place="wing")
    ]
    facts = o.facts(door(WING, *thin, *wing))
    for place, depth, films in (("door", 30.0, 40.0), ("wing", 5.0, 35.0)):
        found = stack_of(Case(facts), place)
        red = next(c for c in found.coats if c.role == "body colour" and c.scheme == "1")
        asked = ProposalStep(object=o.OBJ, proposal="P", step=1, place=place, action="scrape", stop_at="1/varnish")
        expected = chance_through(depth, POLICY.hand_misses * depth, [films] * 3, POLICY.least_log_sd)
        assert cut_rate(Work(Case(facts), found, asked, None), red).high == pytest.approx(expected), place


def test_a_hand_that_has_no_films_to_go_by_may_miss_by_all() -> None:
    for options in ({"films": 1}, {"thickness": [None]}, {"thickness": [30.0, None]}, {"thickness": [0.0]}):
        found = cut({"stop_at": "1/varnish"}, **options)
        assert (found.low, found.middle, found.high, found.stops) == (0.0, POLICY.hand_misses, 1.0, True), options
    assert cut({"stop_at": "2"}, of="2", role="body colour").high == 1.0, "nothing lies above it to measure by"
    assert cut({"stop_at": "1/varnish"}, films=2).high < 0.6


# What is left out.


@pytest.mark.parametrize(
    ("step", "place", "expected"),
    [
        ({"spares": "wing"}, "wing", True),
        ({"spares": "wing"}, "corner", True),
        ({"spares": "wing"}, "door", False),
        ({"spares": "corner"}, "wing", False),
        ({"spares": "corner; wing"}, "wing", True),
        ({}, "wing", False),
        ({"spares": "wing", "place": "wing"}, "wing", False),
        ({"spares": "door"}, "door", False),
        ({"spares": "door", "place": "all"}, "door", False),
        ({"spares": "wing", "place": "all"}, "wing", True),
        ({"spares": "wing", "place": "cab"}, "wing", False),
        ({"spares": "wing", "action": "replace"}, "wing", False),
        ({"spares": "wing", "action": "heat"}, "wing", False),
        ({"spares": "wing", "action": "electrolytic"}, "wing", False),
        ({"spares": "wing", "action": "operate"}, "wing", False),
        ({"spares": "wing", "action": "dust"}, "wing", True),
        ({"spares": "wing", "action": "display outdoors"}, "wing", False),
        ({"spares": "wing", "application": "immersion"}, "wing", False),
        ({"spares": "wing", "application": "gel"}, "wing", True),
    ],
)
def test_a_mask_keeps_work_from_a_smaller_place_that_the_step_names(
    step: dict[str, str], place: str, expected: bool
) -> None:
    facts = o.facts(door(WING, Zone(object=o.OBJ, zone="corner", component="door", within="wing"), *CAB[:1]))
    asked = o.proposal({"action": "strip", **step}).steps[0]
    assert spared(Case(facts), asked, place) == expected


def test_a_reserve_is_masked_by_its_own_code_where_a_mask_can_hold() -> None:
    for step, expected in (
        ({"spares": "R1"}, True),
        ({"spares": "R2; R1"}, True),
        ({"spares": "R2"}, False),
        ({}, False),
        ({"spares": "R1", "action": "replace"}, False),
    ):
        assert spares_reserve(o.proposal({"action": "strip", **step}).steps[0], "R1") == expected, step


# The arithmetic of loss, worked by hand.

NONE, HALF, ALL = (0.0, 0.0, 0.0), (0.5, 0.5, 0.5), (1.0, 1.0, 1.0)


@pytest.mark.parametrize(
    ("covers", "steps", "lost", "contact", "opened"),
    [
        # Two covers of which nothing moves. Least open: 1 − 0.6 − 0.3 = 0.1; as independent: 0.5 × 0.8 = 0.4; most: all but
        # the larger sure cover, 1 − 0.4.
        ([(0.4, 0.5, 0.6), (0.1, 0.2, 0.3)], [StepEffect((NONE, NONE), ALL)], (0.1, 0.4, 0.6), 0.6, 0.4),
        # The outer cover goes by half, the inner stands. Least: of 0.6, open to nothing above, 0.3 goes, so 1 − 0.3 − 0.3;
        # in the middle 0.25 moves, 0.2 of it to what lies beneath: 0.4 + 0.25 × 0.8 = 0.6; most: the inner's 0.1 shields.
        ([(0.4, 0.5, 0.6), (0.1, 0.2, 0.3)], [StepEffect((HALF, NONE), ALL)], (0.4, 0.6, 0.9), 0.9, 0.6),
        # Then the same again: of the outer 0.15 is left at least, 0.125 in the middle.
        ([(0.4, 0.5, 0.6), (0.1, 0.2, 0.3)], [StepEffect((HALF, NONE), ALL)] * 2, (0.55, 0.7, 0.9), 0.9, 0.6),
        # The inner goes, the outer stands: what the inner leaves open may all lie beneath the outer.
        ([(0.4, 0.5, 0.6), (0.1, 0.2, 0.3)], [StepEffect((NONE, ALL), ALL)], (0.1, 0.5, 0.6), 0.6, 0.5),
        # A step that takes the cover and leaves the coat, then one that takes the coat and leaves the cover.
        ([(0.98, 0.99, 1.0)], [StepEffect((ALL,), NONE), StepEffect((NONE,), ALL)], (1.0, 1.0, 1.0), 1.0, 1.0),
        ([(0.98, 0.99, 1.0)], [StepEffect((NONE,), ALL), StepEffect((ALL,), NONE)], (0.0, 0.01, 0.02), 1.0, 0.99),
        # A cut reaches through what lies above: its rates are of all that is there.
        ([(0.4, 0.5, 0.6)], [StepEffect((ALL,), HALF, cut=True)], (0.5, 0.5, 0.5), 1.0, 0.5),
        ([(0.4, 0.5, 0.6)], [StepEffect((HALF,), NONE, cut=True)], (0.0, 0.0, 0.0), 1.0, 0.5),
        ([(0.4, 0.5, 0.6)], [StepEffect((NONE,), NONE, cut=True)], (0.0, 0.0, 0.0), 0.6, 0.5),
        (
            [(0.4, 0.5, 0.6)],
            [StepEffect((HALF,), NONE, cut=True), StepEffect((NONE,), ALL)],
            (0.7, 0.75, 1.0),
            1.0,
            0.75,
        ),
        ([(0.4, 0.5, 0.6)], [StepEffect((ALL,), HALF, cut=True)] * 2, (0.75, 0.75, 0.75), 1.0, 0.5),
        (
            [(0.4, 0.5, 0.6)],
            [StepEffect(((0.2, 0.4, 0.6),), NONE, cut=True), StepEffect((NONE,), ALL)],
            (0.52, 0.7, 1.0),
            1.0,
            0.7,
        ),
        # A coat added lies outermost in the middle, takes half of each later step, and shields nothing in the high end.
        ([], [StepEffect((), NONE, adds=True), StepEffect((), ALL)], (0.0, 0.5, 1.0), 1.0, 1.0),
        ([], [StepEffect((), NONE, adds=True), StepEffect((), ALL), StepEffect((), ALL)], (0.0, 0.75, 1.0), 1.0, 1.0),
        ([], [StepEffect((), NONE, adds=True), StepEffect((), HALF, cut=True)], (0.5, 0.5, 0.5), 1.0, 1.0),
        (
            [(0.4, 0.5, 0.6)],
            [StepEffect((NONE,), NONE, adds=True), StepEffect((NONE,), ALL)],
            (0.0, 0.25, 0.6),
            0.6,
            0.5,
        ),
        ([(0.4, 0.5, 0.6)], [StepEffect((NONE,), ALL, adds=True)], (0.4, 0.5, 0.6), 0.6, 0.5),
    ],
)
def test_what_steps_take_beneath_covers_worked_by_hand(
    covers: list[tuple[float, float, float]],
    steps: list[StepEffect],
    lost: tuple[float, float, float],
    contact: float,
    opened: float,
) -> None:
    found = losses(covers, steps, [True] * len(covers))[-1]
    assert found.lost == pytest.approx(lost)
    assert (found.contact, found.opened) == pytest.approx((contact, opened))
    assert found.of_place == found.lost, "every step meets the whole place"


@pytest.mark.parametrize(
    ("steps", "of_place"),
    [
        # A quarter of the place; then again; then a half in which the quarter lies, and the other way about.
        ([(ALL, 0.25)], (0.25, 0.25, 0.25)),
        ([(ALL, 0.25), (ALL, 0.25)], (0.4375, 0.25, 0.5)),
        ([(ALL, 0.25), (ALL, 0.5)], (0.625, 0.5, 0.75)),
        ([(ALL, 0.5), (ALL, 0.25)], (0.625, 0.5, 0.75)),
        ([(HALF, 0.25), (HALF, 0.5)], (0.34375, 0.3125, 0.375)),
        ([(ALL, 1.0), (ALL, 0.25)], (1.0, 1.0, 1.0)),
        ([(HALF, 1.0), (HALF, 0.5)], (0.625, 0.625, 0.75)),
        ([(ALL, 0.75), (ALL, 0.75)], (0.9375, 0.75, 1.0)),
        ([((0.2, 0.4, 0.6), (0.0, 0.5, 1.0))], (0.0, 0.2, 0.6)),
    ],
)
def test_steps_that_meet_a_part_of_the_place_take_of_that_part(
    steps: list[Any], of_place: tuple[float, float, float]
) -> None:
    """The least wherever their parts lie; in the middle the smaller lies in the larger; at most each another part."""
    effects = [StepEffect((), taken, area=area if isinstance(area, tuple) else (area,) * 3) for taken, area in steps]
    each = [after.of_place for after in losses([], effects, [])]
    alone = effects[0].area[1] * effects[0].kept[1]
    assert each[0][1] == pytest.approx(alone), "what the first step alone takes"
    found = each[-1]
    least, middle, most = of_place
    assert found[1:] == pytest.approx((max(middle, found[0]), most))
    assert found[0] == pytest.approx(min(least, most))


def test_a_step_on_a_part_of_the_place_thins_what_covers_there_by_its_share() -> None:
    """On half of the place: a cover of at most 0.6 loses at least 0.2 of it there, so 0.54 is left in all; of what
    surely lies open, 0.46, the half goes. In the middle 0.5 + 0.5 × 0.4 lies open where the step works."""
    step = StepEffect(((0.2, 0.4, 0.6),), ALL, area=HALF)
    assert losses([(0.4, 0.5, 0.6)], [step], [True])[-1].of_place == pytest.approx((0.23, 0.35, 0.5))


# The table of severity.

RED_COAT = stack(ONE_RED).coats[0]


def step_outcome(
    kind: Any,
    rate_: Rate,
    *,
    contact: float = 1.0,
    opened: float = 1.0,
    lost: float = 0.0,
    gained: float = 0.0,
    readings: int | None = None,
    stops: bool = False,
    action: str = "solvent",
) -> StepOutcome:
    return StepOutcome(
        o.proposal({"action": action}).steps[0],
        kind,
        Touch(rate_, readings, stops),
        (lost, lost, 1.0),
        (lost, lost, 1.0),
        gained,
        contact,
        opened,
        None,
        (),
    )


UNKNOWN = Rate(0.0, 0.2, 1.0, "")
STANDS = Rate(0.0, 0.0, 0.0, "", cleared=True)
EDGE = POLICY.contact


@pytest.mark.parametrize(
    ("kind", "rate_", "more", "expected"),
    [
        ("whole", UNKNOWN, {}, "destroys"),
        ("contact", UNKNOWN, {}, "untested"),
        ("contact", STANDS, {}, "stood"),
        # The least that is lost, half and more, by this step; or half of what is touched.
        ("contact", UNKNOWN, {"lost": 0.5, "gained": 0.1}, "destroys"),
        ("contact", UNKNOWN, {"lost": 0.49, "gained": 0.1}, "untested"),
        ("contact", UNKNOWN, {"lost": 0.6, "gained": 0.0}, "untested"),
        ("contact", Rate(0.5, 0.6, 1.0, ""), {}, "destroys"),
        ("contact", Rate(0.49, 0.6, 1.0, ""), {}, "untested"),
        ("contact", Rate(0.5, 0.6, 1.0, ""), {"contact": EDGE}, "stood"),
        ("contact", Rate(0.5, 0.6, 1.0, ""), {"contact": EDGE + 1e-6}, "destroys"),
        # A recorded effect, or failing finish, that is touched.
        ("contact", Rate(0.0, 0.2, 1.0, "", effect=True), {}, "endangers"),
        ("contact", Rate(0.0, 0.2, 1.0, "", effect=True), {"contact": EDGE}, "stood"),
        ("loose", Rate(0.0, 0.2, 1.0, "", failing=True), {}, "endangers"),
        ("loose", Rate(0.0, 0.2, 1.0, "", failing=True), {"contact": EDGE}, "clear"),
        # What is feared, or a model speaks against, where it lies open.
        ("contact", Rate(0.0, 0.2, 1.0, "", feared=True), {}, "endangers"),
        ("contact", Rate(0.0, 0.2, 1.0, "", feared=True), {"opened": EDGE}, "untested"),
        ("contact", Rate(0.0, 0.2, 1.0, "", feared=True), {"opened": EDGE + 1e-6}, "endangers"),
        ("contact", Rate(0.0, 0.2, 1.0, "", feared=True), {"opened": EDGE + 1e-9}, "untested"),
        ("contact", Rate(0.0, 0.2, 1.0, "", model=(0.0, 0.1, POLICY.model_rate)), {}, "endangers"),
        ("contact", Rate(0.0, 0.2, 1.0, "", model=(0.0, 0.1, POLICY.model_rate - 0.01)), {}, "untested"),
        ("contact", Rate(0.0, 0.0, 0.0, "", cleared=True, model=(0.0, 0.1, 0.9)), {}, "stood"),
        # A shield leaves no more than counts.
        ("contact", UNKNOWN, {"contact": EDGE}, "stood"),
        ("contact", UNKNOWN, {"contact": EDGE + 1e-6}, "untested"),
        ("contact", UNKNOWN, {"contact": EDGE + 1e-9}, "stood"),
        # Cuts: what stops above or in the coat; what measured films let through; what is measured too little.
        ("cut", Rate(0.0, 0.2, 1.0, ""), {"stops": True}, "endangers"),
        ("cut", Rate(0.0, 0.2, POLICY.cut_loss, ""), {"readings": 3}, "endangers"),
        ("cut", Rate(0.0, 0.2, POLICY.cut_loss, ""), {"readings": 0}, "untested"),
        ("cut", Rate(0.0, 0.0, POLICY.cut_loss - 0.001, ""), {"readings": 3}, "stood"),
        ("cut", Rate(0.0, 0.0, POLICY.cut_loss - 0.001, ""), {"readings": 2}, "untested"),
        ("cut", Rate(0.0, 0.0, POLICY.cut_loss - 0.001, ""), {"readings": None}, "untested"),
        # On the surface: what is not touched, what lies open, what a gap may let through.
        ("loose", Rate(0.0, 0.0, 0.0, ""), {}, "clear"),
        ("loose", UNKNOWN, {}, "untested"),
        ("loose", UNKNOWN, {"opened": 0.0}, "untested"),
        ("loose", UNKNOWN, {"contact": EDGE}, "clear"),
        ("wear", UNKNOWN, {"action": "operate"}, "untested"),
        ("wear", UNKNOWN, {"action": "operate", "opened": EDGE}, "clear"),
        ("wear", UNKNOWN, {"action": "wrap", "opened": 0.0}, "untested"),
        ("exposure", UNKNOWN, {"action": "display outdoors", "opened": 0.0}, "clear"),
        ("exposure", UNKNOWN, {"action": "display outdoors", "contact": 0.0}, "clear"),
    ],
)
def test_the_table_of_severity(kind: str, rate_: Rate, more: dict[str, Any], expected: str) -> None:
    found = step_outcome(kind, rate_, **more)
    assert severity_of(Outcome("door", stack(ONE_RED), RED_COAT, "1/body colour", (found,)), found, POLICY) == expected


@pytest.mark.parametrize(
    ("thing", "kind", "rate_", "more", "expected"),
    [
        (NOT_EXAMINED, "whole", Rate(1.0, 1.0, 1.0, ""), {}, "untested"),
        (NOT_EXAMINED, "contact", UNKNOWN, {"contact": 0.0}, "untested"),
        (NOT_EXAMINED, "contact", Rate(0.0, 0.2, 1.0, "", failing=True), {}, "endangers"),
        (BELOW, "contact", UNKNOWN, {}, "untested"),
        (BELOW, "contact", UNKNOWN, {"contact": EDGE}, "stood"),
        ("1/not found so far", "whole", Rate(1.0, 1.0, 1.0, ""), {}, "untested"),
        ("1/not found so far", "contact", Rate(0.9, 0.9, 1.0, ""), {}, "endangers"),
    ],
)
def test_what_nobody_has_seen_is_untested_and_never_destroyed(
    thing: str, kind: str, rate_: Rate, more: dict[str, Any], expected: str
) -> None:
    found = step_outcome(kind, rate_, **more)
    assert severity_of(Outcome("door", stack(ONE_RED), None, thing, (found,)), found, POLICY) == expected


def test_what_was_looked_for_and_not_found_may_be_in_danger_and_is_not_destroyed() -> None:
    """The wing's own section lacks the red that the door shows."""
    rows = door(WING, *section("S1", RED, GREEN), *section("S2", GREEN, place="wing"))
    assert severity(rows, {"action": "strip", "place": "wing"}, of="wing/1/not found so far") == "endangers"
    assert severity(rows, {"action": "strip", "place": "wing"}, of="wing/1/body colour") == "clear"
    assert severity(rows, {"action": "strip"}, of=COAT) == "destroys"


# What a proposal reaches.


def found_by(rows: list[Any], *steps: dict[str, Any]) -> dict[str, Outcome]:
    facts = o.facts(rows)
    return {f"{each.place}/{each.thing}": each for each in outcomes(Case(facts), o.proposal(*steps))}


@pytest.mark.parametrize(
    ("rows", "step", "expected"),
    [
        ([*section("S1", RED)], ACETONE, {"door/1/body colour", "wing/not examined", "wing/1/body colour"}),
        ([*section("S1", RED)], {**ACETONE, "place": "wing"}, {"wing/not examined", "wing/1/body colour"}),
        ([*section("S1", RED)], {"action": "drain"}, set()),
        ([*section("S1", RED)], {"action": "dismantle"}, set()),
        ([*section("S1", RED)], {"action": "strip", "spares": "wing"}, {"door/1/body colour"}),
        # Short of the support there may be more; dust goes no deeper than what lies open.
        (
            [*section("S1", RED, reaches="no")],
            {**ACETONE, "spares": "wing"},
            {"door/1/body colour", "door/below what was seen"},
        ),
        ([*section("S1", RED, reaches="no")], {"action": "dust", "spares": "wing"}, {"door/1/body colour"}),
        ([*section("S1", GREEN)], {**ACETONE, "spares": "wing"}, {"door/1/not found so far"}),
        ([*section("S1", GREEN)], {"action": "dust", "spares": "wing"}, set()),
        # A place that nobody examined, and where it is seen to fail.
        ([], {"action": "dust"}, set()),
        (fails("wing"), {"action": "dust"}, {"wing/not examined"}),
        ([], {**ACETONE, "spares": "wing"}, {"door/not examined"}),
        # A decoration that was read as a coat is told once, as the decoration; told of a larger place, where that is asked.
        (
            [*section("S1", RED, ("1", "lining", "gold", "intact")), *LINING],
            {**ACETONE, "spares": "wing"},
            {"door/1/body colour", "door/D1"},
        ),
        (
            [*section("S1", RED), *changed(LINING, Decoration, place="all")],
            {**ACETONE, "spares": "wing"},
            {"door/1/body colour", "door/D1"},
        ),
    ],
)
def test_a_proposal_reaches_what_is_kept_and_what_nobody_has_seen(
    rows: list[Any], step: dict[str, str], expected: set[str]
) -> None:
    assert set(found_by(door(WING, *rows), step)) == expected


@pytest.mark.parametrize(
    ("area", "place", "expected"),
    [
        (None, "door", (1.0, 1.0, 1.0)),
        (0.3, "door", (0.0, 0.15, 0.2)),
        (0.3, "wing", (0.0, 0.15, 0.6)),
        (3.0, "door", (0.0, 1.0, 1.0)),
        (0.1, "cab", (0.1, 0.1, 0.1)),
        (2.0, "cab", (1.0, 1.0, 1.0)),
        (0.1, "sill", (0.0, 0.5, 1.0)),
    ],
)
def test_a_step_meets_the_share_of_a_place_that_its_area_allows(
    area: float | None, place: str, expected: tuple[float, float, float]
) -> None:
    """The door has 2 m², 0.5 m² of it the wing: of 0.3 m² on the door nobody knows where they lie. The cab has 1 m²,
    the sill no area."""
    from collection.compute.loss.outcome import area_share

    facts = o.facts(
        door(
            WING,
            Component(object=o.OBJ, component="cab", name="cab", area_m2=1.0),
            Component(object=o.OBJ, component="sill", name="sill"),
        )
    )
    on = place if place in ("cab", "sill") else "door"
    asked = o.proposal({"action": "strip", "place": on, "area_m2": area}).steps[0]
    assert area_share(Case(facts), asked, place) == pytest.approx(expected)


def test_steps_one_after_the_other_add_up_and_a_coat_put_on_takes_its_share_first() -> None:
    """Lifted at ten seconds: 0.3 to 0.9, 0.6 in the middle. Twice leaves 0.7² to 0.1² of it."""
    rows = door(*section("S1", RED), *o.met("T1", 1, "lifted", sample="S1", dwell=10))
    twice = found_by(rows, ACETONE, ACETONE)[COAT]
    assert twice.lost == pytest.approx((0.51, 0.84, 0.99))
    assert [step.gained for step in twice.steps] == pytest.approx([0.3, 0.21])
    stood = o.met("T2", 1, "none seen", "isooctane", sample="S1")
    waxed = found_by([*rows, *stood], {"action": "wax", "agent": "isooctane"}, ACETONE)[COAT]
    assert waxed.lost == pytest.approx((0.0, 0.3, 0.9)), "half of the wax goes, and of what it leaves open 0.6"


@pytest.mark.parametrize(("pct", "area", "most"), [(10.0, 0.1, 0.5), (10.0, 0.4, 1.0), (100.0, 0.5, 0.25)])
def test_a_part_of_the_place_may_lie_where_all_of_a_coat_is(pct: float, area: float, most: float) -> None:
    """Of a red that covers a tenth of the door, 0.1 of its 2 m² may meet a half."""
    rows = door(*section("S1", RED, reaches="no"))
    rows = [row.model_copy(update={"coverage_pct": pct}) if isinstance(row, Layer) else row for row in rows]
    assert found_by(rows, {**STRIPPING, "area_m2": area})[COAT].lost[2] == pytest.approx(most)


def test_weather_comes_through_whatever_merely_lies_on_a_finish() -> None:
    coats = (RED, (None, "dirt", None, "intact"))
    rows = door(*(row for n in range(3) for row in section(f"S{n}", *coats)))
    assert severity(rows, {"action": "display outdoors"}, of=COAT) == "untested"


def test_a_shield_stands_by_its_own_tests_until_one_step_harms_it() -> None:
    """Green, intact in three sections, stood acetone by T1 and isooctane by T2; ethanol softened it."""
    rows = door(
        *(row for n in range(3) for row in section(f"S{n}", RED, GREEN)),
        *o.met("T1", 2, "none seen", sample="S0"),
        *o.met("T2", 2, "none seen", "isooctane", sample="S0"),
        *o.met("T3", 2, "softened", "ethanol", sample="S0", dwell=10),
    )
    thinner, ethanol = {"action": "solvent", "agent": "isooctane"}, {"action": "solvent", "agent": "ethanol"}
    both = found_by(rows, ACETONE, thinner)[COAT].steps
    assert [step.shield_tests for step in both] == [("T.1/T1",), ("T.1/T1", "T.1/T2")]
    assert all(step.shield.thing == "2/body colour" for step in both)
    assert [step.contact for step in both] == pytest.approx([0.02, 0.02])
    then = found_by(rows, ACETONE, ethanol, thinner)[COAT].steps
    assert [step.shield is not None for step in then] == [True, False, False]
    assert [step.contact for step in then] == pytest.approx([0.02, 1.0, 1.0])
    loss = said(rows, ACETONE)[COAT]
    assert loss.severity == "stood"
    assert "2/body colour above it stood the test (T1) and shields all but 2 % of it." in loss.message
    assert ("tests", "T.1/T1") in loss.evidence


def test_what_was_not_found_beneath_a_coat_that_stood_stands_with_it() -> None:
    """The wing's one whole section lacks the red that the door shows; two more show the green intact, which stood."""
    rows = door(
        WING,
        *section("S1", RED, GREEN),
        *section("S2", GREEN, place="wing"),
        *(row for n in (3, 4) for row in section(f"S{n}", GREEN, place="wing", reaches="no")),
        *o.met("T1", 2, "none seen", sample="S1"),
    )
    loss = said(rows, {**ACETONE, "place": "wing"})["wing/1/not found so far"]
    assert loss.severity == "stood"
    assert "2/body colour above it stood the test (T1)" in loss.message
    assert "Not found" not in loss.message


def test_of_several_shields_the_one_that_covers_most_is_named() -> None:
    glaze = ("2", "glaze", None, "intact")
    rows = door(
        *(row for n in range(3) for row in section(f"S{n}", RED, GREEN, glaze)),
        *o.met("T1", 2, "none seen", sample="S0"),
        *o.met("T2", 3, "none seen", sample="S0"),
    )
    rows = [
        row.model_copy(update={"coverage_pct": 98.5}) if isinstance(row, Layer) and row.role == "glaze" else row
        for row in rows
    ]
    step = found_by(rows, ACETONE)[COAT].steps[0]
    assert (step.shield.role, step.shield_tests, round(step.contact, 6)) == ("glaze", ("T.1/T2",), 0.015)


def test_an_earlier_step_that_may_thin_the_film_leaves_a_cut_unmeasured() -> None:
    rows = door(
        *(row for n in range(3) for row in section(f"S{n}", RED, GREEN)),
        *o.met("T1", 2, "none seen", "isooctane", sample="S0"),
    )
    polish = {"action": "polish", "depth_um": 2.0, "depth_sd_um": 0.5}
    stood, unknown = {"action": "solvent", "agent": "isooctane"}, ACETONE
    for before, expected in (([], "stood"), ([stood], "stood"), ([unknown], "endangers")):
        found = found_by(rows, *before, polish)[COAT]
        assert severity_of(found, found.steps[-1], POLICY) == expected, before


# Ladders.


def rungs(*steps: tuple[Any, ...]) -> tuple[Any, ...]:
    """The tests of the red, each (code, response, conditions)."""
    rows = door(
        *section("S1", RED),
        *(
            row
            for code, response, given in steps
            for row in o.met(
                code,
                1,
                response,
                given.get("agent", "water"),
                sample="S1",
                **{"dwell": 30.0, **{k: v for k, v in given.items() if k != "agent"}},
            )
        ),
    )
    return trials(Case(o.facts(rows)))


@pytest.mark.parametrize(
    ("steps", "stood", "harmed", "sentences"),
    [
        (
            [
                ("T1", "none seen", {"ph": 7.5}),
                ("T2", "none seen", {"ph": 8.5}),
                ("T3", "softened", {"ph": 9.5}),
                ("T4", "removed", {"ph": 10.5}),
            ],
            ["T2"],
            ["T3"],
            [
                "stood at pH 8.5 for 30 s by rolled swab (T2), softened at pH 9.5 (T3): keep to pH 8.5, 30 s, rolled swab"
            ],
        ),
        # An odd harmless rung, overruled by a milder one that harmed, is none; nor are rungs of another liquid.
        ([("T1", "none seen", {"ph": 9.5}), ("T2", "softened", {"ph": 8.5})], [], ["T2"], []),
        ([("T1", "none seen", {"ph": 8.0}), ("T2", "softened", {"agent": "acetone"})], ["T1"], [], []),
        # Two coordinates differ: no limit is told of one alone; two that are not comparable both stand.
        ([("T1", "none seen", {"ph": 8.0}), ("T2", "softened", {"ph": 9.0, "dwell": 60.0})], ["T1"], ["T2"], []),
        ([("T1", "none seen", {"ph": 8.0, "dwell": 90.0}), ("T2", "none seen", {"ph": 9.0})], ["T1", "T2"], [], []),
        (
            [("T1", "none seen", {"ph": 8.0}), ("T2", "lifted", {"ph": 8.0, "dwell": 90.0})],
            ["T1"],
            ["T2"],
            ["stood at pH 8 for 30 s by rolled swab (T1), lifted for 90 s (T2): keep to pH 8, 30 s, rolled swab"],
        ),
        (
            [("T1", "none seen", {"ph": 8.0, "passes": 2}), ("T2", "lifted", {"ph": 8.0, "passes": 5})],
            ["T1"],
            ["T2"],
            [
                "stood at pH 8 for 30 s in 2 passes by rolled swab (T1), lifted in 5 passes (T2): keep to pH 8, 30 s, 2 passes, "
                "rolled swab"
            ],
        ),
        (
            [("T1", "none seen", {"ph": 8.0}), ("T2", "lifted", {"ph": 8.0, "application": "gel"})],
            ["T1"],
            ["T2"],
            ["stood at pH 8 for 30 s by rolled swab (T1), lifted by gel (T2): keep to pH 8, 30 s, rolled swab"],
        ),
        (
            [
                ("T1", "none seen", {"agent": "water + 1% ammonium citrate"}),
                ("T2", "lifted", {"agent": "water + 3% ammonium citrate"}),
            ],
            ["T1"],
            ["T2"],
            [
                "stood with water + 1% ammonium citrate for 30 s by rolled swab (T1), lifted with water + 3% ammonium citrate "
                "(T2): keep to water + 1% ammonium citrate, 30 s, rolled swab"
            ],
        ),
        # The two sides of neutral are two ladders.
        ([("T1", "none seen", {"ph": 6.0}), ("T2", "lifted", {"ph": 9.0})], ["T1"], ["T2"], []),
    ],
)
def test_a_ladder_has_the_harshest_that_stood_and_the_mildest_that_harmed(
    steps: list[Any], stood: list[str], harmed: list[str], sentences: list[str]
) -> None:
    met = rungs(*steps)
    found = ladder_of(met, met[0].agent, POLICY, lambda test: at_most(test, met, POLICY) == 0)
    assert [t.test.test for t in found.stood] == stood
    assert [t.test.test for t in found.harmed] == harmed
    assert [limit.sentence() for limit in found.limits()] == sentences
    assert ladder_of(met, met[0].agent, POLICY, lambda trial: False).stood == (), "none that an assessment clears"


def test_the_nearest_limit_differs_in_the_fewest_conditions() -> None:
    met = rungs(
        ("T1", "none seen", {"ph": 8.0}),
        ("T2", "softened", {"ph": 9.0, "dwell": 60.0}),
        ("T3", "softened", {"ph": 9.5}),
        ("T4", "removed", {"agent": "acetone"}),
    )
    assert nearest_limit(met[0], met).test.test == "T3"
    assert nearest_limit(met[0], met[:1]) is None
    assert differences(met[0], met[1]) == ["dwell_s", "ph"]
    assert differences(met[0], met[3]) == ["ph", "agent"]
    warm = rungs(
        ("T1", "none seen", {"temperature_c": 20.0}), ("T2", "none seen", {}), ("T3", "lifted", {"temperature_c": 40.0})
    )
    assert (differences(warm[0], warm[1]), differences(warm[0], warm[2])) == ([], ["temperature_c"])
    blank = rungs(("T1", "none seen", {"dwell": None, "application": None}))[0]
    assert (conditions_in_words(blank), conditions_in_words(blank, plain=True)) == (
        "under conditions not recorded",
        "those conditions",
    )
