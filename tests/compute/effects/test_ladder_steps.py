"""How the bench goes on from a ladder: the next step, and where it goes no further.

Each case is one small door made by hand: a later varnish, 2, over the maker's varnish, 1, over red paint. What the
tests show is common practice, no published source.
"""

from __future__ import annotations

from typing import Any

import objects as o
import pytest
from tried_ladders import CITRATE, HAVE, HURT, KEPT, NO, OFF, bench, door, said, step, told, window

from collection.records import sheets
from collection.records.sheets import Condition, Response

CLIMBS = [
    ("a little higher pH", [step("T1", NO, ph=8)], (CITRATE, 8.5, 30, None, "rolled swab"), "ph"),
    (
        "between what did too little and what did too much",
        [step("T1", NO, NO, "acetone", dwell_s=10), step("T2", OFF, HURT, "acetone", dwell_s=30)],
        ("acetone", None, 17, None, "rolled swab"),
        "dwell_s",
    ),
    (
        "a few seconds more, where it began",
        [step("T1", "swelled", NO, "acetone")],
        ("acetone", None, 60, None, "rolled swab"),
        "dwell_s",
    ),
    (
        "one more pass, as before",
        [step("T1", NO, NO, "acetone"), step("T2", "colour on swab", NO, "acetone", passes=2)],
        ("acetone", None, 30, 3, "rolled swab"),
        "passes",
    ),
    (
        "a stronger share, where it began",
        [step("T1", "swelled", NO, "1 acetone + 3 isooctane")],
        ("1 acetone + 2 isooctane", None, 30, None, "rolled swab"),
        "agent",
    ),
    (
        "a stronger additive, where no higher pH stands there",
        [step("T1", NO, NO, ph=8), step("T2", NO, HURT, ph=8.5)],
        ("water + 2% ammonium citrate", 8, 30, None, "rolled swab"),
        "agent",
    ),
    (
        "a step that differs by more than pH is measured",
        [step("T1", NO, NO, "water", ph=8)],
        ("water", 8.5, 30, None, "rolled swab"),
        "ph",
    ),
    (
        "in the ladder that was worked on last",
        [step("T1", "swelled", NO, "acetone"), step("T2", NO, NO, "water", ph=7)],
        ("water", 8, 30, None, "rolled swab"),
        "ph",
    ),
    (
        "less time, of what only began on the kept coat",
        [step("T1", OFF, "colour on swab", "acetone", dwell_s=30)],
        ("acetone", None, 10, None, "rolled swab"),
        "dwell_s",
    ),
]


@pytest.mark.parametrize(("rows", "plan", "condition"), [row[1:] for row in CLIMBS], ids=[row[0] for row in CLIMBS])
def test_the_bench_goes_one_step_further_in_one_condition(
    rows: list[list[Any]], plan: tuple[Any, ...], condition: str
) -> None:
    at_hand: tuple[str, ...] = ("acetone", "isooctane") if "isooctane" in plan[0] else ("acetone",)
    if plan[1] is not None:
        at_hand = (*HAVE, "water pH 8.2", "water pH 8.5")
    found = bench(door(*(row for each in rows for row in each)), at_hand)
    assert (found.kind, found.rung.condition) == ("rung", condition)
    assert said(found.plan) == plan


def elsewhere(
    code: str, go: Any = None, stay: str | None = None, agent: str = "acetone", coat: str = "itself", **more: Any
) -> list[Any]:
    """A test on the lid: of this very varnish, or of its like on another part."""
    rows = [
        row if not isinstance(row, sheets.Test) else row.model_copy(update={"place": "lid"})
        for row in step(code, go, stay, agent, **more)
    ]
    if coat == "itself":
        return [sheets.Zone(object=o.OBJ, zone="lid", component="body"), *rows]
    return [
        sheets.Component(object=o.OBJ, component="lid", name="lid"),
        *(row.model_copy(update={"sample": "S2"}) if isinstance(row, Response) else row for row in rows),
        o.base()[4].model_copy(update={"sample": "S2", "place": "lid"}),
        o.layer(KEPT, "varnish", "1", None, sample="S2"),
    ]


IDLE = [
    ("as long as is proposed", step("T1", "swelled", NO, "acetone", dwell_s=110, passes=5)),
    ("softened at once: there is no less of it", step("T1", OFF, HURT, "acetone")),
    (
        "began on the kept coat twice",
        [*step("T1", OFF, "colour on swab", "acetone"), *step("T2", OFF, "colour on swab", "acetone", dwell_s=10)],
    ),
    (
        "began on it twice, whichever came first",
        [*step("T1", OFF, "colour on swab", "acetone", dwell_s=10), *step("T2", OFF, "colour on swab", "acetone")],
    ),
    ("neutral water harmed: no other is milder", step("T1", NO, "colour on swab", "water", ph=7)),
    (
        "a higher pH did too little, and harmed",
        [*step("T1", NO, NO, "water", ph=7), *step("T2", NO, HURT, "water", ph=9)],
    ),
    (
        "its like on another part was harmed by less",
        [
            *step("T1", NO, NO, "acetone", dwell_s=10),
            *step("T2", OFF, HURT, "acetone", dwell_s=60),
            *elsewhere("T3", stay=HURT, coat="like", dwell_s=15),
        ],
    ),
    (
        "less time of what does not stand there",
        [*step("T1", OFF, "colour on swab", "ethanol"), *step("T2", NO, NO, "acetone")],
    ),
    (
        "less of it was tried, and did too little",
        [*step("T1", OFF, "colour on swab", "acetone"), *step("T2", NO, NO, "acetone", dwell_s=20)],
    ),
    ("judged by nobody yet", step("T1", NO, NO, "acetone")),
]


@pytest.mark.parametrize("rows", [row[1] for row in IDLE], ids=[row[0] for row in IDLE])
def test_a_ladder_that_can_go_no_further_is_left(rows: list[Any]) -> None:
    water = ("water pH 7", "water pH 8", "water pH 9")
    assert (
        bench(
            door(*rows), water if any(row.sheet == "tests" and row.agent == "water" for row in rows) else ("acetone",)
        ).kind
        == "leave"
    )


def test_a_ladder_needs_its_jar_at_hand_and_a_test_that_can_be_read() -> None:
    began = door(*step("T1", "swelled", NO, "acetone"))
    assert bench(began, ("acetone",)).kind == "rung"
    assert bench(began, ("isooctane",)).kind != "rung"
    assert bench(began, ("acetone",), doubtful={"T1"}).kind == "leave"
    bare = door(*step("T1", OFF, agent="acetone"))
    assert [bench(bare, have).kind for have in (("acetone",), ("isooctane",))] == ["bare", "test"]
    assert bench(bare, ("acetone",), doubtful={"T1"}).kind == "leave"
    low = door(*step("T1", NO, NO, "water", ph=8))
    assert [bench(low, ("water pH 8", "water pH 9"), doubtful=unread).kind for unread in ((), {"T1"})] == [
        "rung",
        "test",
    ]
    old = door(*step("T1", OFF, NO, ph=8, tested_on="2001"))
    assert bench(old, (f"{CITRATE} pH 9",)).kind == "test", "what took it off long ago did not do too little"


def test_shares_of_a_solvent_that_has_not_begun_are_left_to_the_models() -> None:
    idle = [*step("T1", NO, NO, "1 acetone + 9 isooctane"), *step("T2", NO, NO, "1 acetone + 4 isooctane")]
    assert bench(door(*idle), ("acetone", "isooctane")).kind != "rung"


def test_a_stronger_share_of_what_harmed_in_another_mixture_is_not_tried() -> None:
    began = step("T1", "swelled", NO, "1 acetone + 3 isooctane")
    harmed = step("T2", stay=HURT, agent="1 acetone + 1 ethanol")
    found = bench(door(*began, *harmed), ("acetone", "isooctane", "ethanol"))
    assert found.plan is None or "acetone" not in found.plan.agent


def test_what_a_model_thinks_likely_to_act_on_the_kept_coat_is_not_tried_on_it_bare() -> None:
    """Acetone on oil paint; of a coat whose binder nobody knows no model warns."""
    off = step("T1", OFF, agent="acetone")
    assert bench(door(*off), ("acetone",)).kind == "bare"
    assert bench(door(*off, binders=("alkyd", "acrylic")), ("acetone",)).kind == "leave"


def test_what_parted_the_coats_elsewhere_is_tried_here_once_more() -> None:
    rows = door(*elsewhere("T1", OFF, NO))
    assert window(rows).proven
    assert bench(rows, ("acetone",)).kind == "again"
    assert bench(rows, ("isooctane",)).kind == "test"
    for dwell in (30, 60):
        there = elsewhere("T1", OFF, NO, dwell_s=dwell)
        assert bench(door(*there, *step("T2", OFF, NO, "acetone")), ("acetone",)).kind == "found"


def test_what_harmed_its_like_on_another_part_goes_up_no_ladder() -> None:
    began = step("T1", "swelled", agent="acetone")
    assert bench(door(*began), ("acetone",)).kind == "rung"
    assert bench(door(*began, *elsewhere("T2", stay=HURT, coat="like", dwell_s=10)), ("acetone",)).kind == "leave"


def test_no_mixture_that_an_assessment_would_warn_of_is_proposed() -> None:
    """Half xylene and more harmed the varnish on the lid; a quarter of it here may do nothing, but would alarm."""
    rows = door(*elsewhere("T1", stay=HURT, agent="3 xylene + 1 isooctane"), binders=("natural resin", "oil"))
    jar = "1 xylene + 3 isooctane"
    assert bench(door(binders=("natural resin", "oil")), (jar,)).plan.agent == "3 isooctane + 1 xylene"
    assert bench(rows, (jar,)).kind == "leave"


def test_the_window_reaches_to_nothing_that_is_milder_in_another_condition() -> None:
    ((_, said),) = told(door(*step("T1", OFF, NO, ph=8, dwell_s=60), *step("T2", stay=NO, ph=9, dwell_s=10)))
    assert said.startswith("T1 (pH 8, 60 s, rolled swab) took 2 off and left 1 as it was.")


def test_the_next_test_that_a_window_names_is_no_harsher_than_what_harmed() -> None:
    known = ("acrylic", "shellac")
    liquids = ("acetone", "isooctane", "toluene")
    assert "acetone" in {each.agent.text for each in window(door(binders=known), liquids).telling}
    asked = window(door(*step("T1", stay=HURT, agent="1 acetone + 3 isooctane"), binders=known), liquids).telling
    assert asked
    assert all(dict(each.agent.liquids).get("acetone", 0) < 0.25 for each in asked)


def test_a_window_on_failing_finish_names_no_test() -> None:
    flaking = Condition(object=o.OBJ, place="door", phenomenon="flaking", observed_on="2022", active="yes", severity=2)
    known = ("acrylic", "shellac")
    assert [
        (found.lay, bool(found.telling))
        for found in (
            window(door(binders=known), ("acetone", "toluene")),
            window(door(flaking, binders=known), ("acetone", "toluene")),
        )
    ] == [(False, True), (True, False)]


def test_water_is_not_hoped_to_act_because_other_water_did() -> None:
    """Citrate at pH 8 moved the later varnish: of plain water nothing is known, and it is not ranked by that."""
    rows = door(*step("T1", OFF, ph=8), *step("T2", stay=NO, agent="water", ph=8), binders=("natural resin", "shellac"))
    assert [each.jar.text for each in window(rows, ("water pH 8",)).ranked] == []


def test_what_moved_the_coat_in_minutes_is_not_said_to_move_it_in_a_swab() -> None:
    known = ("natural resin", "shellac")
    for dwell, sure in ((30, True), (120, False)):
        (one,) = window(door(*step("T1", OFF, agent="toluene", dwell_s=dwell), binders=known)).ranked
        assert (one.removes == (1.0, 1.0, 1.0)) is sure


def test_what_was_harmed_by_less_is_not_waiting_for_a_word() -> None:
    found = bench(
        door(*step("T1", OFF, NO, "acetone"), *step("T2", stay="gloss change", agent="acetone", dwell_s=10)),
        ("acetone",),
    )
    assert found.kind == "leave"


def test_the_bench_goes_up_water_by_its_ph_until_the_window_is_proven_and_says_so() -> None:
    """The varnish to go gives way from pH 8.5, the one to stay from pH 9."""
    rows: list[Any] = []
    made: list[Any] = []
    have = ("water pH 7", "water pH 8", "water pH 8.5", "water pH 9", "water pH 6")
    for number in range(1, 6):
        found = bench(door(*rows), have)
        if found.kind == "found":
            break
        made.append(found.plan.ph)
        rows += step(
            f"T{number}",
            OFF if found.plan.ph >= 8.5 else NO,
            HURT if found.plan.ph >= 9 else NO,
            found.plan.agent,
            ph=found.plan.ph,
            dwell_s=found.plan.dwell_s,
            application=found.plan.application,
        )
    assert made == [7, 8, 8.5]
    assert found.window.head() == "water: pH 8.5, 30 s, rolled swab"


def test_a_ladder_that_harmed_goes_no_further_and_does_not_bar_the_other_side_of_neutral() -> None:
    up = [*step("T1", NO, NO, "water", ph=7), *step("T2", OFF, HURT, "water", ph=8)]
    found = bench(door(*up), ("water pH 7", "water pH 7.5", "water pH 8", "water pH 9", "water pH 6"))
    assert said(found.plan)[:2] == ("water", 7.5)
    found = bench(door(*up, *step("T3", NO, NO, "water", ph=7.5)), ("water pH 7.5", "water pH 8", "water pH 6"))
    assert (found.kind, said(found.plan)[:2]) == ("test", ("water", 6))


def test_what_proves_nothing_only_for_want_of_a_word_is_asked_for_before_anything_new() -> None:
    found = bench(door(*step("T1", OFF, NO, ph=8, after_drying="no")))
    assert (found.kind, found.wanting) == ("settle", "look at the spot of T1 again dry: it was judged only wet")
    found = bench(door(*step("T1", OFF, NO, ph=8, dwell_s=None)))
    assert (found.kind, found.wanting) == ("settle", "state dwell_s of test T1")
    limited = [*step("T1", OFF, NO, ph=8, after_drying="no"), *step("T2", stay=HURT, ph=9.5)]
    assert bench(door(*limited)).kind == "settle"


def test_failing_finish_is_laid_before_any_swab() -> None:
    flaking = Condition(object=o.OBJ, place="door", phenomenon="flaking", observed_on="2022", active="yes", severity=2)
    assert (bench(door(flaking)).kind, bench(door(flaking)).plan) == ("lay", None)
    at_rest = flaking.model_copy(update={"active": "no"})
    assert bench(door(at_rest)).kind == "test"


def test_the_gentlest_means_at_hand_is_what_is_judged_and_proposed() -> None:
    rows = door(*step("T1", stay=NO, agent="acetone", application="rolled swab"), binders=("acrylic", "oil"))
    for application in ("rolled swab", "brush"):
        found = bench(rows, ("acetone",), application=application)
        assert found.plan is None or found.plan.application == application
