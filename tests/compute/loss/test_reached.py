"""What a proposal reaches and what its steps take there: masks, the arithmetic of loss worked by hand, and outcomes.

Tables of cases, each with what must come out and why. `mutants.py` changes the logic and asks whether these notice.
All objects are invented; what they show is common practice, no published source, unless a line says otherwise.
"""

from __future__ import annotations

from typing import Any

import objects as o
import pytest
from objects import ACETONE, COAT, GREEN, POLICY, RED, changed, door, fails, said, section, severity
from stacks import CAB, STRIPPING, WING

from collection.compute.case import Case
from collection.compute.loss.loss import StepEffect, losses
from collection.compute.loss.masks import spared, spares_reserve
from collection.compute.loss.outcome import Outcome, outcomes
from collection.records.sheets import Component, Decoration, Layer, Zone
from collection.rules.severity import severity_of

LINING = [Decoration(object=o.OBJ, decoration="D1", place="door", kind="lining", scheme="1", state="exposed")]


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


@pytest.mark.parametrize("area_m2", [0.0, 1e-320, 0.1])
def test_work_on_however_little_of_a_place_may_take_all_of_a_decoration_there(area_m2: float) -> None:
    """A lining has no area on record: the least that is scraped may be just where it is."""
    found = said([*door(), *LINING], {"action": "scrape", "area_m2": area_m2})
    lining = next(loss for loss in found.values() if loss.decoration == "D1")
    assert lining.share[2] == 1.0
