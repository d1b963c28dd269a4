"""One assessment that can be checked by hand; README.md beside this goes through it step by step. The object is invented."""

from __future__ import annotations

from pathlib import Path

import objects as o
import pytest

from collection.compute.case import Case
from collection.rules.assess import assess
from collection.rules.findings import Assessment

PAGE = Path(__file__).with_name("README.md").read_text(encoding="utf-8")


def judged() -> Assessment:
    rows = o.base(*o.met("T1", 4, "removed"), *o.met("T2", 3, "colour on swab"), later_cover="partial")
    step = {"action": "solvent", "agent": "acetone", "dwell_s": 30.0, "application": "rolled swab", "removes": "2"}
    return assess(Case(o.facts(rows)), o.proposal(step))


def test_the_varnish_loses_what_the_page_says() -> None:
    """Cover of the green: partial = 0.1, 0.54, 0.98. Rates: green 0.9, 0.95, 1; varnish 0.05, 0.175, 0.3."""
    loss = next(each for each in judged().losses if each.id == "door/1/varnish")
    low = 1 - (1 - 0.05 * (1 - (0.98 - 0.9 * 0.98)))
    middle = (0.46 + 0.54 * 0.95) * 0.175
    high = 1 - 1 * (1 - 0.3)
    assert loss.share == pytest.approx((low, middle, high))
    assert (loss.severity, loss.intended) == ("endangers", False)
    for figure in (f"{low:.4f}", f"{middle:.4f}", f"{high:.1f}"):
        assert figure in PAGE


def test_the_body_colour_beneath_was_never_met_and_may_go_whole() -> None:
    loss = next(each for each in judged().losses if each.id == "door/1/body colour")
    assert loss.severity == "endangers"
    assert "on a similar coat, 1/varnish" in loss.message
    assert loss.share[0] == 0
    assert loss.share[2] == 1


def test_the_square_metres_are_of_what_survives() -> None:
    """Of 2 m², one reading of one says that original finish survives: the middle is the model's mean, the worst kept
    coat of the place is the body colour."""
    found = judged()
    worst = [max(each.share[end] for each in found.losses if each.place == "door") for end in range(3)]
    assert found.loss_m2[1] == pytest.approx(found.surviving_m2[1] * worst[1], rel=0.02)
    assert found.loss_m2[2] <= 2.0
