"""The only table of severities, for each step, place and kept thing."""

from __future__ import annotations

from collections.abc import Iterable

from collection.compute.build_up.actions import GENTLE
from collection.compute.loss.outcome import BELOW, NOT_EXAMINED, Outcome, StepOutcome
from collection.language.words import SEVERITY_RANK
from collection.records.policy import Policy


def severity_of(outcome: Outcome, step: StepOutcome, policy: Policy) -> str:
    """Severity of one step on one kept thing; see the rows of the table, from worst to least."""
    found = (
        _of_seen(outcome, step, policy)
        if outcome.thing not in (NOT_EXAMINED, BELOW)
        else _of_unseen(outcome, step, policy)
    )
    # A coat that was looked for and not found is not documented there: it may be endangered, but not destroyed.
    return "endangers" if found == "destroys" and outcome.unfound else found


def _of_unseen(outcome: Outcome, step: StepOutcome, policy: Policy) -> str:
    """What nobody has seen is untested wherever an action reaches it, unless a coat that stood lies above it;
    endangered where it is failing."""
    if step.touch.rate.failing:
        return "endangers"
    return "stood" if outcome.thing == BELOW and not _touched(step, policy) else "untested"


def _of_seen(outcome: Outcome, step: StepOutcome, policy: Policy) -> str:
    rate, touched = step.touch.rate, _touched(step, policy)
    if step.kind == "whole":
        return "destroys" if outcome.coat is not None else "untested"
    if step.lost[0] >= policy.destroys_low_loss and step.gained > 0:
        return "destroys"
    if rate.low >= policy.destroys_low_loss and touched:
        return "destroys"
    if touched and (rate.failing or rate.effect):
        return "endangers"
    if step.kind in ("loose", "wear", "exposure"):
        return _on_the_surface(step, policy)
    suspected = rate.feared or (rate.model is not None and rate.model[2] >= policy.model_rate and not rate.cleared)
    if suspected and _lies_open(step, policy) and not outcome.unfound:
        return "endangers"
    if step.kind == "cut":
        return _of_a_cut(step, policy)
    return "stood" if rate.cleared or not touched else "untested"


def _on_the_surface(step: StepOutcome, policy: Policy) -> str:
    """Dusting, handling and exposing reach what lies open; a brush or a wrapping does nothing to sound finish."""
    if step.touch.rate.high == 0 or (
        not _lies_open(step, policy) and step.step.action not in GENTLE and step.kind != "loose"
    ):
        return "clear"
    return "untested" if _touched(step, policy) else "clear"


def _of_a_cut(step: StepOutcome, policy: Policy) -> str:
    touch = step.touch
    if touch.stops or (touch.readings and touch.rate.high >= policy.cut_loss):
        return "endangers"
    return "stood" if touch.rate.high < policy.cut_loss and (touch.readings or 0) >= policy.cut_readings else "untested"


def _touched(step: StepOutcome, policy: Policy) -> bool:
    """Whether the step may touch more of the thing than the share that is ignored; 1 − 0.98 is a hair over 0.02 in
    binary."""
    return step.contact > policy.contact + 1e-9


def _lies_open(step: StepOutcome, policy: Policy) -> bool:
    """Whether more of the thing than the share that is ignored is expected to lie open to the step. Where only a
    similar coat or a model gives the alarm, that decides, and not whether a gap in a coat that stood can be ruled
    out."""
    return step.opened > policy.contact + 1e-9


def worst(severities: Iterable[str]) -> str:
    """The worst of some severities; `clear` if there are none."""
    return max(severities, key=SEVERITY_RANK.__getitem__, default="clear")
