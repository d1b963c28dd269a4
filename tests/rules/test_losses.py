"""What is told of a loss: which things are lost to which step, in which order and in which words.

All objects and people are invented; what they show is common practice, no published source, unless a line says otherwise.
"""

from __future__ import annotations

from typing import Any

import objects as o
import pytest
from objects import GREEN, RED, door, fails, said, section
from trial_doors import ACETONE, CAB, ONE, STRIP, WING

from collection.compute.case import Case
from collection.compute.survival.survival import object_survival
from collection.records.sheets import Decoration, Reserve, Scheme, Treatment, TreatmentStep, Zone
from collection.rules.assess import assess
from collection.rules.effect import looked_for, takes_off


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
def test_a_reserve_is_lost_to_what_takes_off_and_endangered_by_what_touches_until_it_is_spared(
    step: Any, reserve: Any, expected: Any
) -> None:
    kept = Reserve(object=o.OBJ, **{"reserve": "R1", "place": "wing", "kind": "window", **reserve})
    found = said([*ONE, WING, CAB, kept], step).get(f"{kept.place}/reserve R1")
    assert (found.severity if found else None) == expected
    if found:
        assert "touches a window that must stay" in found.message
        assert found.evidence == (("reserves", "T.1/R1"),)
        assert {each.rule for each in found.causes} == {"reserve"}
        assert ("Mask it and name R1" in found.would_change_it) == (step["action"] != "replace")


def test_work_takes_off_what_it_names_or_what_it_cannot_leave() -> None:
    for step, expected in (
        (STRIP, True),
        ({"action": "polish"}, True),
        (ACETONE, False),
        ({"action": "dust"}, False),
        ({**ACETONE, "removes": "2"}, True),
        ({"action": "coat"}, False),
    ):
        assert takes_off(o.proposal(step).steps[0]) == expected, step


def test_losses_stand_worst_first_and_lettering_before_plain_colour() -> None:
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


def test_a_line_tells_what_it_is_which_steps_do_it_and_whether_it_is_meant() -> None:
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
        (door(), ACETONE, "door/not examined", "door was never examined: any finish there is untested."),
        (
            door(),
            {"action": "dust"},
            "all/not examined",
            "Finish that nobody has looked at is untested. Step 1 (dust): nobody has described the surface of door.",
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
def test_the_first_words_say_what_is_lost_and_where(rows: Any, step: Any, of: Any, message: Any) -> None:
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
def test_a_figure_is_told_of_what_has_an_area_of_its_own(rows: Any, step: Any, of: Any, area: Any) -> None:
    """A line of lining is no door of it, and of what nobody has seen no figure is known."""
    found = said(rows, step)[of].area_m2
    assert (found if area is None else found[2]) == (area if area is None else pytest.approx(area, rel=0.02))


def test_places_of_which_nobody_has_told_are_named_up_to_six() -> None:
    zones = [Zone(object=o.OBJ, zone=f"z{n}", component="door") for n in range(7)]
    for more, told in ((zones[:5], "door, z0, z1, z2, z3, z4."), (zones, "door, z0, z1, z2, z3, z4 and 2 more.")):
        assert said(door(*more), {"action": "dust", "place": "all"})["all/not examined"].message.endswith(told)


def test_what_happens_if_nothing_is_done_is_told_of_what_goes_on_here() -> None:
    def told(*more: Any) -> Any:
        return said([*ONE, WING, CAB, *more], STRIP)["door/1/body colour"].if_nothing_is_done

    assert told() == told(*fails(active="no")) == told(*fails("cab")) == "Nothing recorded here is getting worse."
    assert told(*fails()) == "Flaking continues here (seen 2022)."
    assert told(*fails("wing"), *fails("all", "lifting")) == (
        "Lifting continues here (seen 2022); flaking continues here (seen 2022)."
    )


def test_a_place_never_examined_tells_of_its_parts_coats_only_where_they_are_in_danger() -> None:
    """The wing was never read; the door's red is untested there with the rest of it, and stripped with it."""
    rows = door(WING, *section("S1", RED))
    assert set(said(rows, {**ACETONE, "place": "wing"})) == {"wing/not examined"}
    assert set(said(rows, {**STRIP, "place": "wing"})) == {"wing/not examined", "wing/1/body colour"}
    harmed = [*rows, *o.met("T1", 1, "removed", sample="S1", dwell=10)]
    assert set(said(harmed, {**ACETONE, "place": "wing"})) == {"wing/not examined", "wing/1/body colour"}
    line = Decoration(object=o.OBJ, decoration="D1", place="wing", kind="lining", scheme="1")
    assert "wing/D1" in said([*rows, line], {**ACETONE, "place": "wing"})


def test_where_a_scheme_was_taken_off_and_nobody_looked_since_that_is_said() -> None:
    rows = door(
        *section("S1", RED),
        Treatment(object=o.OBJ, treatment="W1", purpose="strip", started="2021"),
        TreatmentStep(object=o.OBJ, treatment="W1", step=1, place="door", action="strip", removed="1"),
    )
    assert (
        "Recorded as taken off, and not looked for since; some of it usually remains."
        in said(rows, STRIP)["door/1/not found so far"].message
    )
    assert looked_for(Case(o.facts(door(*section("S1", GREEN)))), "1", "door").read == 1


def test_of_the_makers_own_all_is_looked_for_together_unless_another_scheme_of_theirs_was_found() -> None:
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
