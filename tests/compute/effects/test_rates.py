"""What a step does to a coat where it touches it, beyond liquids.

Tables of cases, each with what must come out and why. `mutants.py` changes the logic and asks whether these notice.
All objects are invented; what they show is common practice, no published source, unless a line says otherwise.
"""

from __future__ import annotations

from typing import Any

import objects as o
import pytest
from objects import ACETONE, GREEN, GUESS, RED, changed, door, fails, once, section, work
from stacks import NOBODY, ONE_RED, WING, stack

from collection.compute.build_up.stack import stack_of
from collection.compute.case import Case
from collection.compute.effects.rates import Touch, rate_of
from collection.compute.effects.work import Work
from collection.records.sheets import Layer


def does(rows: list[Any], step: dict[str, Any], *before: dict[str, Any], of: str | None = "body colour") -> Touch:
    facts = o.facts(rows)
    found = stack_of(Case(facts), "door")
    coat = None if of is None else next(c for c in found.coats if c.role == of)
    steps = o.proposal(*before, step).steps
    return rate_of(Work(Case(facts), found, steps[-1], "2024-06-01", steps[:-1]), coat)


EXTENT = fails(extent_pct=40.0)


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
