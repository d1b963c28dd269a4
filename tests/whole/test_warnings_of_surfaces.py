"""What the warning says of failing finish, wear, exposure and opening: what must not be cleared or alarm.

Each case is one small object made by hand; all are invented, and what they show is common practice, no published
source, unless a line says otherwise.
"""

from __future__ import annotations

from typing import Any

import objects as o
import pytest
from objects import ACETONE, GREEN, RED, door, fails, said, section, severity

from collection.compute.case import Case
from collection.records.sheets import Component, Decoration, Treatment, TreatmentStep, Zone
from collection.rules.assess import assess

# Failing finish.


STOOD = door(*section("S1", RED), *o.met("T1", 1, "none seen", sample="S1"))


@pytest.mark.parametrize("phenomenon", ["flaking", "blistering", "delamination", "powdering", "chalking", "lifting"])
def test_active_failing_finish_is_not_cleared_by_a_test_on_a_sound_edge(phenomenon: str) -> None:
    assert severity(STOOD, ACETONE, of="door/1/body colour") == "stood"
    assert severity([*STOOD, *fails(phenomenon=phenomenon)], ACETONE, of="door/1/body colour") == "endangers"


@pytest.mark.parametrize(
    ("condition", "step", "expected"),
    [
        ({}, {"action": "dust"}, "endangers"),
        ({}, {"action": "dry sponge"}, "endangers"),
        ({}, {"action": "wrap"}, "endangers"),
        ({}, {"action": "move"}, "endangers"),
        ({}, {"action": "operate"}, "endangers"),
        ({}, {"action": "display outdoors"}, "endangers"),
        ({"active": None}, {"action": "dust"}, "endangers"),
        ({"active": "unknown"}, {"action": "dust"}, "endangers"),
        ({"active": "no"}, {"action": "dust"}, "clear"),
        ({"severity": 0}, {"action": "dust"}, "clear"),
        ({"severity": 1}, {"action": "dust"}, "untested"),
        ({"extent_pct": 4.0}, {"action": "dust"}, "untested"),
        ({"extent_pct": 6.0}, {"action": "dust"}, "endangers"),
        ({"severity": 1}, {"action": "wrap"}, "endangers"),
        ({"severity": 1}, ACETONE, "endangers"),
        ({}, {"action": "drain"}, "clear"),
        ({"place": "all"}, {"action": "dust"}, "endangers"),
        ({"scheme": "2"}, {"action": "dust"}, "clear"),
    ],
)
def test_whatever_touches_failing_finish_endangers_it_a_soft_brush_included(
    condition: dict[str, Any], step: dict[str, str], expected: str
) -> None:
    assert severity([*STOOD, *fails(**condition)], step, of="door/1/body colour") == expected


def test_laying_it_first_makes_what_follows_untested_and_only_in_its_place() -> None:
    lay = {"action": "lay flakes", "agent": "water"}
    for before, expected in (
        ([lay], "untested"),
        ([{**lay, "area_m2": 0.1}], "endangers"),
        ([], "endangers"),
        ([{"action": "facing", "agent": "water"}], "endangers"),
    ):
        steps = [*before, ACETONE]
        found = assess(Case(o.facts([*STOOD, *fails()])), o.proposal(*steps))
        last = [f for f in found.findings if f.step == len(steps) and f.thing == "1/body colour"]
        assert [f.severity for f in last] == [expected], before


@pytest.mark.parametrize(
    ("finish", "expected"), [("failing", "stood"), ("sound", "untested"), (None, "untested"), ("laid", "untested")]
)
def test_consolidating_is_judged_by_tests_on_failing_finish_alone(finish: str | None, expected: str) -> None:
    rows = door(*section("S1", RED), *fails(), *o.met("T1", 1, "none seen", sample="S1", finish=finish))
    step = {"action": "consolidate", "agent": "acetone"}
    assert severity(rows, step, of="door/1/body colour") == expected


@pytest.mark.parametrize(("done", "expected"), [("2023", "untested"), ("2022", "endangers"), ("2021", "endangers")])
def test_a_recorded_consolidation_surely_since_leaves_it_to_be_looked_at_again(done: str, expected: str) -> None:
    laid = [
        Treatment(object=o.OBJ, treatment="W1", purpose="consolidation", started=done, ended=done),
        TreatmentStep(object=o.OBJ, treatment="W1", step=1, place="door", action="consolidate", agent="water"),
    ]
    assert severity([*STOOD, *fails(on="2022"), *laid], {"action": "dust"}, of="door/1/body colour") == expected


# Wear, exposure, opening.


@pytest.mark.parametrize(
    ("step", "open_", "covered"),
    [
        ("operate", "untested", "clear"),
        ("wrap", "clear", "clear"),
        ("move", "clear", "clear"),
        ("display outdoors", "untested", "clear"),
        ("dust", "clear", "clear"),
        ("dry sponge", "clear", "clear"),
    ],
)
def test_wear_and_exposure_reach_what_lies_open(step: str, open_: str, covered: str) -> None:
    for rows, expected in (
        (door(*section("S1", RED)), open_),
        (door(*section("S1", RED, GREEN)), covered),
        (door(*section("S1", RED, (None, "dirt", None, "intact"))), open_),
    ):
        assert severity(rows, {"action": step}, of="door/1/body colour") == expected


@pytest.mark.parametrize("step", ["dismantle", "fix to", "fill"])
def test_opening_breaks_paint_over_joints_where_original_finish_is_known(step: str) -> None:
    joint = "door/paint over the joint"
    assert severity(door(*section("S1", RED)), {"action": step}, of=joint) == "endangers"
    assert severity(door(*section("S1", GREEN)), {"action": step}, of=joint) == "untested", "points clear no area"


def test_dust_and_wear_over_places_nobody_has_told_of_are_one_line() -> None:
    rows = door(Zone(object=o.OBJ, zone="a", component="door"), Zone(object=o.OBJ, zone="b", component="door"))
    for step in ("dust", "operate"):
        found = said(rows, {"action": step, "place": "all"})
        assert {key: loss.severity for key, loss in found.items()} == {"all/not examined": "untested"}, step
        assert "a, b, door" in found["all/not examined"].message
    unreached = fails(place="all", phenomenon="not accessible")
    assert severity([*rows, *unreached], {"action": "dust", "place": "all"}, of="all/not examined") == "untested"
    looked = fails(place="all", severity=0)
    assert said([*rows, *looked], {"action": "dust", "place": "all"}) == {}


LETTERS = ("1", "lettering", "white", "intact")


@pytest.mark.parametrize(
    ("colour", "part", "expected"),
    [("white", "door", "endangers"), ("black", "door", "untested"), ("white", "lid", "untested")],
)
def test_what_softened_the_same_letters_paint_elsewhere_on_the_part_endangers_it_here(
    colour: str, part: str, expected: str
) -> None:
    """A name lies under green that stood and was read whole in two sections, and letters of its scheme and colour were
    softened beside it by less than is planned: the same paint. In another colour or on another part they are its like,
    which is feared only where the name lies open."""
    rows = door(
        Component(object=o.OBJ, component="lid", name="lid"),
        Zone(object=o.OBJ, zone="a", component="door"),
        Zone(object=o.OBJ, zone="b", component=part),
        *(row for n in range(2) for row in section(f"S{n}", LETTERS, GREEN, place="a")),
        *o.met("T2", 2, "none seen", sample="S0", place="a"),
        *section("S8", ("1", "lettering", colour, "intact"), place="b"),
        Decoration(object=o.OBJ, decoration="DN", place="a", kind="lettering", scheme="1", state="covered"),
        *o.met("T1", 1, "softened", sample="S8", dwell=5, place="b"),
    )
    assert severity(rows, {**ACETONE, "place": "a"}, of="a/DN") == expected
