"""Laws of drawn ladders, read alike by assessments, windows and the bench.

Each case is one small door made by hand: a later varnish, 2, over the maker's varnish, 1, over red paint. What the
tests show is common practice, no published source.
"""

from __future__ import annotations

from typing import Any

import objects as o
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st
from objects import POLICY
from objects import REFERENCE as TABLES
from tried_ladders import CITRATE, DAY, HAVE, HURT, NO, OFF, assessed, bench, door, said, step, window

from collection.compute.case import Case
from collection.compute.effects.ladders import step_of
from collection.compute.windows.mixtures import jars_of, read_jar
from collection.compute.windows.proven_windows import MOVED
from collection.compute.windows.windows import Pair, pair_of, spot, surely_harms
from collection.records import sheets
from collection.records.sheets import Condition, Treatment, TreatmentStep
from collection.values import agents


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
