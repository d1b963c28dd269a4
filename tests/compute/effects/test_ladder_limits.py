"""The limits of a ladder: the harshest test that stood, the mildest that harmed, and how far they lie apart.

Tables of cases, each with what must come out and why. `mutants.py` changes the logic and asks whether these notice.
All objects are invented; what they show is common practice, no published source, unless a line says otherwise.
"""

from __future__ import annotations

from typing import Any

import objects as o
import pytest
from objects import POLICY, RED, door, section

from collection.compute.case import Case
from collection.compute.effects.ladders import at_most, conditions_in_words, differences, ladder_of, nearest_limit
from collection.compute.effects.trials import trials


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
