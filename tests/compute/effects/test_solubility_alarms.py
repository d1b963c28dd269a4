"""What the model of solubility says on an object, from records to severity. The objects are invented."""

from __future__ import annotations

import subprocess
import sys
from typing import Any

import numpy as np
import objects as o
from objects import POLICY
from published_points import INSIDE, RED, names

from collection.compute.case import Case
from collection.compute.loss.outcome import outcomes
from collection.rules.assess import assess
from collection.rules.severity import severity_of


def severity(agent: str, *rows: Any, binder: str | None = "oil", basis: str | None = None, **step: Any) -> str:
    """Of the varnish of the made door, bared, where its binder is said."""
    found = [
        row.model_copy(update={"binder": binder, "binder_basis": basis})
        if row.sheet == "layers" and row.position == 3
        else row
        for row in o.base(*rows, later_cover="absent")
    ]
    plan = o.proposal({"action": "solvent", "agent": agent, **step})
    return next(
        severity_of(each, each.steps[0], POLICY)
        for each in outcomes(Case(o.facts(found)), plan)
        if each.thing == "1/varnish"
    )


def test_models_alarm_and_never_clear_nor_destroy() -> None:
    assert severity("ethanol", binder="shellac") == "endangers"
    assert severity("toluene", binder="shellac") == "untested"
    assert severity("acetone", binder=None) == severity("acetone", binder="bitumen") == "untested"
    for binder in names:
        for agent in RED:
            assert severity(agent, binder=binder) in ("untested", "endangers")


def test_only_a_test_of_this_very_agent_as_harsh_clears_what_a_model_alarms_of() -> None:
    assert severity("acetone", *o.met("T1", 3, "none seen")) == "stood"
    assert severity("acetone", *o.met("T1", 3, "none seen", "butanone")) != "stood"
    many = [
        row
        for i, n in enumerate(("butanone", "ethyl acetate", "toluene", "ethanol", "dichloromethane"))
        for row in o.met(f"T{i}", 3, "none seen", n)
    ]
    assert severity("acetone", *many) in ("untested", "endangers"), "however many others it bore"
    assert severity("acetone", *o.met("T1", 3, "none seen", dwell=2)) == "endangers", "a milder one clears nothing"


def test_a_harmless_test_counts_with_the_model_only_where_it_was_as_harsh() -> None:
    """Butanone that did nothing for 30 s lowers what is to be expected of 10 s of acetone, not of 60 s."""

    def middle(dwell: Any) -> Any:
        rows = [
            row.model_copy(update={"binder": "oil"}) if row.sheet == "layers" else row
            for row in o.base(*o.met("T1", 3, "none seen", "butanone"), later_cover="absent")
        ]
        found = outcomes(Case(o.facts(rows)), o.proposal({"action": "solvent", "agent": "acetone", "dwell_s": dwell}))
        return next(each.steps[0].touch.rate.middle for each in found if each.thing == "1/varnish")

    assert middle(10.0) < middle(60.0)


def test_alkaline_water_on_an_oil_resin_varnish() -> None:
    """A weakly alkaline solution (about pH 9) moves a later oil-resin coat within seconds where neutral solvents do
    not: common practice, no published source."""
    water = {"action": "aqueous", "agent": "water"}
    assert severity(binder="oleoresin", ph=9.0, **water) == "endangers"
    assert severity(binder="oleoresin", ph=7.0, **water) == severity(binder="oleoresin", ph=5.5, **water) == "untested"
    assert severity(binder="oil", ph=9.0, **water) == "untested", "nothing published was seen for it"
    assert severity(binder="oleoresin", ph=None, **water) == "untested"
    assert severity(binder="oleoresin", action="aqueous", agent="water + 1% ammonium citrate") == "untested"
    # Galatis, Boyatzis and Theodorakopoulos 2012, e-Preservation Science 9, 72-83 (abstract): gels at pH 5.5 and 7.8.
    for ph in (5.5, 7.8):
        assert severity(binder="shellac", action="aqueous", agent="water + 2% bile soap", ph=ph) == "endangers"


def test_one_blank_reading_does_not_silence_what_another_says_of_the_binder() -> None:
    """What is left blank takes no alarm away."""
    rows = [
        row.model_copy(update={"binder": "shellac"}) if row.sheet == "layers" and row.position == 3 else row
        for row in o.base(later_cover="absent")
    ]
    blank = [
        row.model_copy(update={"sample": "S2", "binder": None}) for row in rows if row.sheet in ("samples", "layers")
    ]
    for found in (rows, [*rows, *blank]):
        losses = {
            loss.thing: loss
            for loss in assess(Case(o.facts(found)), o.proposal({"action": "solvent", "agent": "ethanol"})).losses
        }
        assert losses["1/varnish"].severity == "endangers"


def test_a_finding_tells_in_plain_words_what_a_model_rests_on() -> None:
    rows = [
        row.model_copy(update={"binder": "shellac", "binder_basis": "analysed"})
        if row.sheet == "layers" and row.position == 3
        else row
        for row in o.base(later_cover="absent")
    ]
    found = assess(Case(o.facts(rows)), o.proposal({"action": "solvent", "agent": "ethanol"}))
    lines = [loss for loss in found.losses if loss.thing == "1/varnish"]
    assert len(lines) == 1
    assert f"No test of ethanol on this coat; {INSIDE}" in lines[0].message
    assert lines[0].would_change_it.startswith("One test of ethanol on this coat")
    finding = next(f for f in found.findings if f.thing == "1/varnish")
    assert finding.reference is not None
    assert "chemicals 1.5.2" in finding.reference


def test_a_short_study_of_made_coats_catches_what_acts_with_fewer_false_alarms() -> None:
    """120 coats whose true region is hidden, a sphere, a tilted ellipsoid or two lobes; the full study, with its
    table in tests/bench/README.md, is tests/bench/models/calibration.py."""
    from models import calibration

    found = calibration.study(120, 5)
    acts = np.array([asked.acts for asked in found])
    ways = calibration.ways(found)
    assert (ways["this model"][acts] >= POLICY.model_rate).mean() >= 0.95
    false = {way: calibration.false_alarms(scores, acts)[0] for way, scores in ways.items()}
    assert false["this model"] <= 0.45
    assert false["this model"] < min(false["class alone"], false["nearest test"], false["kernel smoothing"]) - 0.1
    for low, count, share in calibration.reliability(found):
        assert abs(share - (low + 0.05)) < 0.08 + 1 / count**0.5, (low, count, share)


def test_start_up_needs_no_numpy() -> None:
    """What the models need of numpy is brought in where it is used."""
    code = (
        "import sys, collection.compute.effects.models, collection.compute.effects.solubility; "
        "print('numpy' in sys.modules)"
    )
    assert subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout == "False\n"
