"""What a window says of a ladder: tests of one agent in rising steps.

Each case is one small door made by hand: a later varnish, 2, over the maker's varnish, 1, over red paint. What the
tests show is common practice, no published source.
"""

from __future__ import annotations

from typing import Any

import objects as o
import pytest
from objects import POLICY
from objects import REFERENCE as TABLES
from tried_ladders import CITRATE, DAY, HURT, NO, OFF, assessed, bench, door, step, told, window

from collection.compute.case import Case
from collection.compute.windows.mixtures import read_jar
from collection.compute.windows.windows import pair_of, spot
from collection.compute.windows.working_window import working_window
from collection.records.sheets import Condition, Layer

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
