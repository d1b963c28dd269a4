"""Ladders: tests of one agent in rising steps, read alike by assessments, windows and the bench.

Each case is one small door made by hand: a later varnish, 2, over the maker's varnish, 1, over red paint. What the
tests show is common practice, no published source.
"""

from __future__ import annotations

from typing import Any

import objects as o
import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from collection.compute.case import Case
from collection.compute.effects.ladders import step_of
from collection.compute.windows.companion.next_step import Step, next_step
from collection.compute.windows.mixtures import jars_of, read_jar
from collection.compute.windows.proven_windows import MOVED
from collection.compute.windows.windows import Pair, pair_of, spot, surely_harms
from collection.compute.windows.working_window import Window, working_window
from collection.records import sheets
from collection.records.policy import default_policy
from collection.records.sheets import Condition, Layer, Response, Treatment, TreatmentStep
from collection.rules.assess import assess
from collection.values import agents, reference

POLICY, TABLES = default_policy(), reference.packaged()
DAY = "2024-06-01"
CITRATE = "water + 1% ammonium citrate"
HAVE = (
    "acetone",
    "isooctane",
    "water pH 7",
    "water pH 8",
    "water pH 9",
    f"{CITRATE} pH 8",
    f"{CITRATE} pH 8.5",
    f"{CITRATE} pH 9",
    "water pH 8 + 2% ammonium citrate",
    "water pH 6",
)
GONE, KEPT = 3, 2


def door(*more: Any, binders: tuple[Any, ...] = (None, None)) -> list[Any]:
    rows = [row for row in o.base() if not isinstance(row, Layer)]
    return [
        *rows,
        *more,
        o.layer(1, "body colour", "1", "red"),
        o.layer(KEPT, "varnish", "1", None, binder=binders[1]),
        o.layer(GONE, "varnish", "2", None, binder=binders[0]),
    ]


def step(
    code: str, go: str | None = None, stay: str | None = None, agent: str = CITRATE, **conditions: Any
) -> list[Any]:
    """One test and what it did to the coat to go and to the coat to stay; None: not told."""
    given = {
        "application": "rolled swab",
        "dwell_s": 30.0,
        "after_drying": "yes",
        "tested_on": "2020-05-02",
        **conditions,
    }
    return [
        sheets.Test(object=o.OBJ, test=code, place="door", agent=agent, **given),
        *(
            Response(object=o.OBJ, test=code, sample="S1", position=at, response=word)
            for at, word in ((GONE, go), (KEPT, stay))
            if word is not None
        ),
    ]


NO, OFF, HURT = "none seen", "removed", "softened"


def window(rows: list[Any], liquids: tuple[Any, ...] = ("toluene",), day: str = DAY) -> Window:
    return working_window(pair_of(Case(o.facts(rows)), "door", "2", "1/varnish", day), liquids)


def bench(rows: list[Any], have: tuple[Any, ...] = HAVE, day: str = DAY, **more: Any) -> Step:
    facts = o.facts(rows)
    pair = pair_of(Case(facts), "door", "2", "1/varnish", day)
    return next_step(pair, [read_jar(text, TABLES.solvents) for text in have], **more)


def assessed(rows: list[Any], plan: sheets.ProposalStep, day: str = DAY) -> str:
    """The severity of the maker's varnish by a whole assessment of one step."""
    proposal = o.proposal(
        {
            "action": plan.action,
            "agent": plan.agent,
            "ph": plan.ph,
            "dwell_s": plan.dwell_s,
            "passes": plan.passes,
            "temperature_c": plan.temperature_c,
            "conductivity_mscm": plan.conductivity_mscm,
            "application": plan.application,
        }
    )
    found = {loss.id: loss.severity for loss in assess(Case(o.facts(rows)), proposal.planned_for(day)).losses}
    return found.get("door/1/varnish", "clear")


def told(rows: list[Any], **more: Any) -> list[tuple[str, str]]:
    """Each proven window: its conditions and what it says."""
    found = window(rows, **more)
    return [(each.head(), " ".join(each.sentences("2", "1"))) for each in found.proven]


# What a window says of a ladder

LADDERS = [
    # One condition rises: where the one came off, how far the other stood, where it no longer did.
    (
        "pH",
        [step("T1", NO, NO, ph=7.5), step("T2", OFF, NO, ph=8.5), step("T3", OFF, HURT, ph=9.5)],
        "pH 8.5, 30 s",
        "stood at pH 8.5 for 30 s by rolled swab (T2), softened at pH 9.5 (T3): keep to pH 8.5, 30 s",
    ),
    (
        "acid",
        [step("T1", OFF, NO, ph=5.5), step("T2", OFF, HURT, ph=4.5), step("T3", OFF, HURT, ph=9)],
        "pH 5.5, 30 s",
        "stood at pH 5.5 for 30 s by rolled swab (T1), softened at pH 4.5 (T2): keep to pH 5.5, 30 s",
    ),
    (
        "dwell",
        [
            step("T1", NO, NO, ph=8, dwell_s=10),
            step("T2", OFF, NO, ph=8, dwell_s=30),
            step("T3", OFF, HURT, ph=8, dwell_s=90),
        ],
        "pH 8, 30 s",
        "softened for 90 s (T3): keep to pH 8, 30 s",
    ),
    (
        "passes",
        [step("T1", OFF, NO, ph=8, passes=2), step("T2", OFF, HURT, ph=8, passes=4)],
        "pH 8, 30 s, 2 passes",
        "softened in 4 passes (T2): keep to pH 8, 30 s, 2 passes",
    ),
    (
        "application",
        [step("T1", OFF, NO, "acetone"), step("T2", OFF, HURT, "acetone", application="gel")],
        "acetone: 30 s, rolled swab",
        "softened by gel (T2): keep to 30 s, rolled swab",
    ),
    (
        "share",
        [step("T1", OFF, NO, "1 acetone + 3 isooctane"), step("T2", OFF, HURT, "1 acetone + 1 isooctane")],
        "1 acetone + 3 isooctane: 30 s",
        "softened with 1 acetone + 1 isooctane (T2): keep to 1 acetone + 3 isooctane",
    ),
    (
        "additive",
        [step("T1", OFF, NO, ph=8), step("T2", OFF, HURT, "water + 2% ammonium citrate", ph=8)],
        f"{CITRATE}: pH 8",
        "softened with water + 2% ammonium citrate (T2): keep to water + 1% ammonium citrate",
    ),
    (
        "temperature",
        [step("T1", OFF, NO, "acetone"), step("T2", OFF, HURT, "acetone", temperature_c=40)],
        "acetone: 30 s",
        "softened at 40 °C (T2): keep to 30 s, rolled swab",
    ),
]


@pytest.mark.parametrize(("rows", "head", "limit"), [row[1:] for row in LADDERS], ids=[row[0] for row in LADDERS])
def test_a_window_lies_between_what_took_the_one_off_and_what_harmed_the_other(
    rows: list[list[Any]], head: str, limit: str
) -> None:
    ((found, said),) = told(door(*(row for each in rows for row in each)))
    assert head in found
    assert limit in said


def test_a_window_reaches_from_the_mildest_that_moved_to_the_harshest_that_stood() -> None:
    rows = door(
        *step("T1", NO, NO, ph=7.5), *step("T2", OFF, ph=8), *step("T3", stay=NO, ph=9), *step("T4", stay=HURT, ph=10)
    )
    ((head, said),) = told(rows)
    assert "pH 8, 30 s" in head
    assert said.startswith(
        "It took 2 off (T2 (pH 8, 30 s, rolled swab)), and 1 stood up to T3 (pH 9, 30 s, rolled swab)."
    )
    assert window(rows).as_json("T.1", 1)["ph"] == [
        {"agent": CITRATE, "ph": [8.0, 9.0], "harmed_at": 10.0, "tests": ["T2", "T3"]}
    ]


def test_two_short_ladders_do_not_make_a_long_one() -> None:
    """Nothing seen at pH 8.5 for 10 s and at pH 8 for 60 s says nothing of pH 8.5 for 60 s."""
    short = [*step("T1", NO, NO, ph=8.5, dwell_s=10), *step("T2", NO, NO, ph=8, dwell_s=60)]
    assert told(door(*short, *step("T3", OFF, ph=8.5, dwell_s=60))) == []
    assert [head for head, _ in told(door(*short, *step("T3", OFF, ph=8, dwell_s=10)))] == [
        f"{CITRATE}: pH 8, 10 s, rolled swab"
    ]


def test_a_limit_is_told_of_one_condition_only_where_all_others_are_equal() -> None:
    ((_, said),) = told(door(*step("T1", OFF, NO, ph=8), *step("T2", stay=HURT, ph=9, dwell_s=60)))
    assert "keep to" not in said
    assert "Softened at T2 (pH 9, 60 s, rolled swab), which differs in more than one condition" in said
    ((_, said),) = told(door(*step("T1", OFF, NO, ph=8), *step("T2", stay=HURT, ph=5)))
    assert "No test has found where 1 stops standing it." in said, "what acid did is no limit of the alkaline side"


@pytest.mark.parametrize(
    ("rows", "why"),
    [
        (step("T1", "swelled", NO, ph=8), "swelling is not yet off"),
        (step("T1", OFF, NO, ph=8, dwell_s=None), "a blank time clears nothing"),
        (step("T1", OFF, NO), "a blank pH clears nothing"),
        (step("T1", OFF, NO, ph=8, after_drying="no"), "judged wet"),
        (step("T1", OFF, NO, ph=8, tested_on="2001"), "23 years old"),
        ([*step("T1", OFF, NO, ph=8), *step("T2", stay="gloss change", ph=7.5)], "a milder test did something"),
        ([*step("T1", OFF, NO, ph=8), *step("T2", stay=HURT, ph=8.2)], "pH is not measured that closely"),
        (
            [
                *step("T1", OFF, NO, ph=8),
                Condition(
                    object=o.OBJ, place="door", phenomenon="flaking", observed_on="2022", active="yes", severity=2
                ),
            ],
            "what fails stands nothing",
        ),
        ([*step("T1", OFF, ph=8), *step("T2", stay=NO, ph=7)], "it stood less than what moved the other"),
        (step("T1", OFF, NO, "white spirit"), "several liquids go by that name"),
    ],
)
def test_nothing_is_proven(rows: list[Any], why: str) -> None:
    assert told(door(*rows)) == [], why
    assert bench(door(*rows)).kind != "found", why


def test_a_window_of_another_day_is_another() -> None:
    rows = door(*step("T1", OFF, NO, ph=8))
    plan = spot(POLICY, read_jar(f"{CITRATE} pH 8", TABLES.solvents))
    assert told(rows, day="2034")
    assert told(rows, day="2036") == []
    assert [assessed(rows, plan, day) for day in ("2034", "2036")] == ["stood", "untested"]
    assert (bench(rows, day="2034").kind, bench(rows, day="2036").kind) == ("found", "again")


def test_of_two_colours_of_one_scheme_both_have_to_stand_it() -> None:
    """An assessment tells of them together, so a window does."""
    black = o.layer(4, "body colour", "1", "black")
    rows = [row for row in o.base() if not isinstance(row, Layer)]
    rows += [
        o.layer(1, "primer", "1", "grey"),
        o.layer(2, "body colour", "1", "red"),
        o.layer(3, "body colour", "2", "green"),
    ]
    one = [*rows, *step("T1", OFF, NO, ph=8)]
    assert working_window(pair_of(Case(o.facts(one)), "door", "2", "1/body colour", DAY), ()).proven
    second = o.base()[4].model_copy(update={"sample": "S2"})
    two = [*one, second, *(row.model_copy(update={"sample": "S2"}) for row in (rows[-3], black, rows[-1]))]
    found = working_window(pair_of(Case(o.facts(two)), "door", "2", "1/body colour", DAY), ())
    assert found.proven == []
    assert any("2 coats" in text for text in found.missing)


def test_what_harmed_under_harsher_conditions_rules_no_milder_swab_out() -> None:
    """Toluene softened the kept varnish in two minutes and left it alone in one: a swab of 30 s stands, with the
    limit told."""
    rows = door(
        *step("T1", stay=NO, agent="toluene", dwell_s=60),
        *step("T2", stay=HURT, agent="toluene", dwell_s=120),
        binders=("natural resin", "shellac"),
    )
    (one,) = (each for each in window(rows).ranked if each.agent.text == "toluene")
    assert one.stood
    assert one.keeps == (0.0, 0.0, 0.0)
    assert one.tests_in_words() == "T1 (60 s, rolled swab)"
    without = door(*step("T2", stay=HURT, agent="toluene", dwell_s=120), binders=("natural resin", "shellac"))
    assert [each for each in window(without).ranked if each.agent.text == "toluene"] == []
    assert window(rows).held[0].sentence() == (
        "toluene: stood for 60 s by rolled swab (T1), softened for 120 s (T2): keep to 60 s, rolled swab."
    )


# How the bench goes on


def said(plan: sheets.ProposalStep) -> tuple[Any, ...]:
    return (plan.agent, plan.ph, plan.dwell_s, plan.passes, plan.application)


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


# Laws: drawn ladders, read three ways


def mostly(usual: int | str | None, *rare: int | str | None) -> st.SearchStrategy[Any]:
    """Drawn so that most tests say enough to be read together."""
    return st.sampled_from((*[usual] * 9, *rare))


drawn = st.fixed_dictionaries(
    {
        "go": st.sampled_from((OFF, OFF, NO, None, "swelled")),
        "stay": st.sampled_from((NO, NO, NO, None, "colour on swab", HURT)),
        "agent": st.sampled_from(
            (
                CITRATE,
                CITRATE,
                CITRATE,
                "water + 2% ammonium citrate",
                "water",
                "acetone",
                "1 acetone + 3 isooctane",
                "1 acetone + 1 isooctane",
            )
        ),
        "ph": st.sampled_from((None, 5.0, 7.0, 8.0, 8.0, 8.5, 9.0, 9.5)),
        "dwell_s": mostly(30, None, 10, 10, 60, 60),
        "passes": mostly(None, 1, 2, 4),
        "application": mostly("rolled swab", None, "rubbed swab", "gel", "immersion"),
        "temperature_c": mostly(None, 40, 60),
        "after_drying": mostly("yes", None, "no"),
        "tested_on": mostly("2020-05-02", None, "2001"),
    }
)
extra = st.sampled_from(
    (
        *[()] * 8,
        (Condition(object=o.OBJ, place="door", phenomenon="flaking", observed_on="2022", active="yes", severity=2),),
        (
            Treatment(object=o.OBJ, treatment="W", purpose="wax", started="2021"),
            TreatmentStep(object=o.OBJ, treatment="W", step=1, place="door", action="wax"),
        ),
    )
)
binders = st.sampled_from(((None, None), (None, None), ("alkyd", "oil")))
ladders = st.builds(
    lambda tests, more, known: door(*rows_of(tests), *more, binders=known),
    st.lists(drawn, min_size=1, max_size=6),
    extra,
    binders,
)
heavy = settings(suppress_health_check=[HealthCheck.filter_too_much, HealthCheck.too_slow])


def rows_of(tests: list[Any], start: int = 1) -> list[Any]:
    return [
        row
        for number, test in enumerate(tests, start)
        if test["go"] or test["stay"]
        for row in step(f"T{number}", **{**test, "ph": test["ph"] if "water" in test["agent"] else None})
    ]


def plans_of(rows: list[Any]) -> tuple[Pair, dict[str, sheets.ProposalStep]]:
    """Every test as a step, and a spot test of each of its agents."""
    facts = o.facts(rows)
    pair = pair_of(Case(facts), "door", "2", "1/varnish", DAY)
    return pair, {t.test.test: step_of(t, "door") for t in (*pair.on_removed, *pair.on_kept)}


@heavy
@given(ladders)
def test_assessment_window_and_bench_never_contradict_each_other(rows: list[Any]) -> None:
    found, now = window(rows, HAVE), bench(rows)
    pair, plans = plans_of(rows)
    # What a window tells as standing, an assessment of that very step says stood.
    tried: list[Any] = [*found.proven, *found.held]
    standing = [
        *(each.step for each in found.proven),
        *(plans[t.test.test] for each in tried for t in each.stood),
        *(spot(POLICY, each.jar) for each in found.ranked if each.stood),
    ]
    for plan in standing:
        assert assessed(rows, plan) in ("stood", "clear"), said(plan)
    # And what an assessment says stood, and took the other coat off, a window proves.
    for trial in pair.on_removed:
        if trial.low >= MOVED and assessed(rows, plans[trial.test.test]) in ("stood", "clear"):
            assert found.proven, trial.test.test
    for trial in pair.on_kept:
        if trial.high == 0 and assessed(rows, plans[trial.test.test]) in ("stood", "clear"):
            assert any(
                each.stood
                for each in found.held
                if agents.same_agent(agents.parse(each.agent, TABLES.solvents), trial.agent)
            ), trial.test.test
    # The bench says proven where the window does, and nowhere else.
    assert (now.kind == "found") == bool(found.proven)
    if now.window is not None:
        assert assessed(rows, now.plan) in ("stood", "clear")


@heavy
@given(ladders, st.sampled_from((HAVE, ("acetone", "isooctane"), ("water pH 8.5", f"{CITRATE} pH 9", "acetone"))))
def test_the_bench_never_proposes_what_harmed_the_kept_coat(rows: list[Any], have: tuple[Any, ...]) -> None:
    found = bench(rows, have)
    assume(found.plan is not None and found.kind not in ("found", "again"))
    pair, plans = plans_of(rows)
    assert surely_harms(pair, found.plan) == []
    for trial in pair.on_kept:
        if trial.high > 0:
            assert not as_harsh(found.plan, plans[trial.test.test]), trial.test.test
    jars = [read_jar(text, TABLES.solvents) for text in have]
    assert (found.plan.agent, found.plan.ph) in {(jar.agent.text, jar.ph) for jar in jars_of(jars, TABLES, most=2)}
    # Nor the same twice: what did too little to the coat to go under conditions that may be as harsh.
    for trial in pair.on_removed:
        if trial.high == 0:
            assert not as_harsh(plans[trial.test.test], found.plan), trial.test.test


def as_harsh(plan: sheets.ProposalStep, test: sheets.ProposalStep) -> bool:
    """The order of harshness once more, plainly, where both state everything that counts."""
    ours, theirs = (agents.parse(each.agent, TABLES.solvents) for each in (plan, test))
    if ours != theirs or plan.application != test.application or plan.temperature_c != test.temperature_c:
        return False
    if None in (plan.dwell_s, test.dwell_s, plan.application) or (ours.aqueous and None in (plan.ph, test.ph)):
        return False
    if ours.aqueous and not ((plan.ph - 7) * (test.ph - 7) >= 0 and abs(plan.ph - 7) >= abs(test.ph - 7)):
        return False
    return plan.dwell_s >= test.dwell_s and (plan.passes or 1) >= (test.passes or 1)


further = st.sampled_from(
    (
        {"ph": 10.0},
        {"dwell_s": 100.0},
        {"passes": 6},
        {"temperature_c": 60.0},
        {"application": "immersion"},
        {"agent": "water + 3% ammonium citrate"},
    )
)


@heavy
@given(st.lists(drawn, max_size=4), extra, further, st.sampled_from((HURT, "gloss change", OFF)))
def test_a_harsher_step_that_harmed_never_changes_a_milder_one_that_stood(
    tests: list[Any], more: tuple[Any, ...], beyond: dict[str, Any], response: str
) -> None:
    """Whatever else was tested: what stood at pH 8 for 30 s is judged as before once pH 10, 100 s, six passes, 60 °C, a
    bath or a stronger additive harmed."""
    rows = door(*rows_of(tests), *more, *step("A", OFF, NO, ph=8.0))
    harder = [*rows, *step("B", stay=response, **{"ph": 8.0, **beyond})]
    plan = spot(POLICY, read_jar(f"{CITRATE} pH 8", TABLES.solvents))
    assume(assessed(rows, plan) == "stood")
    assert assessed(harder, plan) == "stood"
    before, after = window(rows), window(harder)
    assert [each.head() for each in after.proven if "pH 8, 30 s, rolled swab" in each.head()] == [
        each.head() for each in before.proven if "pH 8, 30 s, rolled swab" in each.head()
    ]
    assert after.proven
    assert bench(harder).kind == "found"


@heavy
@given(ladders, st.sampled_from((HURT, "gloss change")), drawn)
def test_harm_to_the_kept_coat_opens_no_window(rows: list[Any], response: str, test: dict[str, Any]) -> None:
    before = {each.start.test.test for each in window(rows).proven}
    after = window(
        [
            *rows,
            *step(
                "X", **{**test, "go": None, "stay": response, "ph": test["ph"] if "water" in test["agent"] else None}
            ),
        ]
    )
    if not before:
        assert after.proven == []


# The jars


@pytest.mark.parametrize(
    ("written", "agent", "ph", "back"),
    [
        ("water pH 8.5", "water", 8.5, "water, pH 8.5"),
        ("water pH 8.5 + 1% ammonium citrate", CITRATE, 8.5, f"{CITRATE}, pH 8.5"),
        ("Water + 1% ammonium citrate, pH 8,5", CITRATE, 8.5, f"{CITRATE}, pH 8.5"),
        ("1 ethanol + 3 water pH 6", "1 ethanol + 3 water", 6.0, "1 ethanol + 3 water, pH 6"),
        ("acetone", "acetone", None, "acetone"),
    ],
)
def test_a_jar_is_an_agent_with_the_ph_of_its_water(written: str, agent: str, ph: float | None, back: str) -> None:
    jar = read_jar(written, TABLES.solvents)
    assert (jar.agent.text, jar.ph, jar.text) == (agent, ph, back)
    assert read_jar(jar.text, TABLES.solvents) == jar


@pytest.mark.parametrize(
    ("written", "sentence"),
    [
        ("acetone pH 8", "Only water has a pH, and none is in acetone"),
        ("water pH 15", "between 0 and 14"),
        ("water pH", "cannot be read"),
        ("water pH 8 + 1% ammonium citrate pH 9", "stands there twice"),
        ("water pH eight", "cannot be read"),
        ("pH 8", "1 to 300 characters"),
    ],
)
def test_a_jar_that_cannot_be_read_is_refused_in_a_sentence(written: str, sentence: str) -> None:
    with pytest.raises(ValueError, match=sentence):
        read_jar(written, TABLES.solvents)


def test_water_set_to_a_ph_is_mixed_no_further() -> None:
    jars = [read_jar(text, TABLES.solvents) for text in ("acetone", "water pH 8", "ethanol")]
    found = [jar.text for jar in jars_of(jars, TABLES)]
    assert "water, pH 8" in found
    assert not any("water" in text and "acetone" in text for text in found)
    assert "1 acetone + 1 ethanol" in found
