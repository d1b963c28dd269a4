"""The one table of severity, per step, place and kept thing."""

from __future__ import annotations

from collections.abc import Iterable

from collection.compute.outcome import BELOW, NOT_EXAMINED, Outcome, StepOutcome
from collection.policy import Policy
from collection.words import SEVERITY_RANK


def severity_of(outcome: Outcome, step: StepOutcome, policy: Policy) -> str:
    """Severity of one step on one kept thing; see the rows of the table, from worst to least."""
    unseen = outcome.thing in (NOT_EXAMINED, BELOW)
    # 1 − 0.98 is a hair over 0.02 in binary.
    touched = step.contact > policy.contact + 1e-9
    if not unseen:
        if step.kind == "whole":
            return "destroys"
        if step.lost[0] >= policy.destroys_low_loss and step.gained > 0:
            return "destroys"
        if step.rate.low >= policy.destroys_low_loss and touched:
            return "destroys"
        if step.rate.effect and touched:
            return "endangers"
        if step.rate.model is not None and step.rate.model[2] >= policy.model_rate and touched \
                and not step.rate.cleared:
            return "endangers"
        if step.kind == "cut" and step.readings and step.rate.high >= policy.cut_loss:
            return "endangers"
        if step.kind == "cut":
            stood = step.rate.high < policy.cut_loss and (step.readings or 0) >= policy.cut_readings
            return "stood" if stood else "untested"
        if step.rate.cleared or not touched:
            return "stood"
    elif outcome.thing == BELOW and not touched:
        return "stood"
    return "untested"


def worst(severities: Iterable[str]) -> str:
    """The worst of some severities; `clear` of none."""
    return max(severities, key=SEVERITY_RANK.__getitem__, default="clear")
