"""The table of severity: from the rate of a step and the share lost to the word of the warning.

Tables of cases, each with what must come out and why. `mutants.py` changes the logic and asks whether these notice.
All objects are invented; what they show is common practice, no published source, unless a line says otherwise.
"""

from __future__ import annotations

from typing import Any

import objects as o
import pytest
from objects import COAT, GREEN, POLICY, RED, door, section, severity
from stacks import ONE_RED, WING, stack

from collection.compute.effects.contact import Rate
from collection.compute.effects.rates import Touch
from collection.compute.loss.outcome import BELOW, NOT_EXAMINED, Outcome, StepOutcome
from collection.rules.severity import severity_of

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
