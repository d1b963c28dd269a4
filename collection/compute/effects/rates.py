"""What one step does to a coat where it touches it: by contact, cut, heat or wear, or because the coat is failing."""

from __future__ import annotations

from dataclasses import dataclass, replace

from collection.compute.build_up.actions import GENTLE, KIND_OF_ACTION, LAYS, SECURES
from collection.compute.build_up.coats import Coat
from collection.compute.build_up.condition import ANY, Failing, failing
from collection.compute.build_up.places import places_of
from collection.compute.effects.contact import Rate, contact_rate
from collection.compute.effects.cutting import cut_rate
from collection.compute.effects.heat import heat_alarm
from collection.compute.effects.work import Work
from collection.records.policy import Interval
from collection.records.sheets import ProposalStep

UNTOUCHED = Rate(0.0, 0.0, 0.0, "It is not touched.")
LAY_FIRST = "lay or consolidate the failing finish first, with what a test on failing finish showed to be safe"


@dataclass(frozen=True, slots=True)
class Touch:
    """A rate; for a cut also the number of films measured, and whether it is to stop above or in the coat (`stops`)."""

    rate: Rate
    readings: int | None = None
    stops: bool = False


def rate_of(work: Work, coat: Coat | None) -> Touch:
    """What a step does to a coat where it touches it; `coat` is None where nobody has seen it."""
    step = work.step
    if coat is None:
        if KIND_OF_ACTION[step.action] == "whole":
            return Touch(_all(step))
        return _on_unseen(work)
    fails = failing(work.case, work.stack.place, coat.scheme)
    if fails is None:
        return _on_sound(work, coat)
    if step.action in SECURES:
        return Touch(_securing(work, coat, fails))
    return _on_failing(_on_sound(work, coat), work, fails)


def _on_unseen(work: Work) -> Touch:
    place = work.stack.place
    nobody = Touch(Rate(0.0, _guess(work), 1.0, "Nobody has looked.", wanting=f"one sample in {place}"))
    looked_at = work.stack.examined or work.step.action in SECURES
    fails = None if looked_at else failing(work.case, place, ANY)
    return nobody if fails is None else _on_failing(nobody, work, fails)


def _all(step: ProposalStep) -> Rate:
    return Rate(1.0, 1.0, 1.0, f"{step.action.capitalize()} takes all that is on the part.")


def _guess(work: Work) -> float:
    """The share that a step is expected to take when nothing is known about it."""
    return 0.5 * work.case.policy.model.taken_where_it_acts


WEARS = {
    "wear": "Running and handling it wears what lies open.",
    "exposure": "Light, wet and salt weather what lies open.",
}
TRIAL_FIRST = "a trial in an inconspicuous place"


def _on_sound(work: Work, coat: Coat) -> Touch:
    """A step on sound finish, by the kind of its action."""
    step, kind = work.step, KIND_OF_ACTION[work.step.action]
    if kind == "whole":
        return Touch(_all(step))
    if kind == "loose" or step.action in GENTLE:
        return Touch(UNTOUCHED)
    if kind in WEARS:
        season = "measure the finish now and again after a season, or leave it out"
        return Touch(Rate(0.0, 0.05, 1.0, WEARS[kind], wanting=season))
    if kind == "cut":
        cut = cut_rate(work, coat)
        return Touch(Rate(cut.low, cut.middle, cut.high, cut.why, wanting=cut.wanting), cut.readings, cut.stops)
    if kind == "adds" and step.agent is None:
        stated = "What liquid it brings is not stated."
        return Touch(Rate(0.0, _guess(work), 1.0, stated, wanting="name its solvents as the agent"))
    if kind in ("contact", "adds"):
        return Touch(contact_rate(work, coat))
    softened = heat_alarm(coat.may_be, step.temperature_c, work.case.policy) if kind == "heat" else None
    return Touch(_untried(work, coat) if softened is None else _heated(work, coat, *softened))


def _heated(work: Work, coat: Coat, span: Interval, why: str) -> Rate:
    return Rate(
        0.0,
        _guess(work),
        1.0,
        f"No trial of heat on this coat; {why}.",
        effect=_seen_to_hurt(work, coat),
        model=span,
        wanting=TRIAL_FIRST,
    )


def _untried(work: Work, coat: Coat) -> Rate:
    """Work that no model covers, with the trials of it that are on record."""
    action = work.step.action
    return Rate(
        0.0,
        _guess(work),
        1.0,
        f"No model says what {action} does to a coat.",
        effect=_seen_to_hurt(work, coat),
        tests=tuple(f"{t.object}/{t.test}" for t in work.case.facts.tests if t.action == action),
        wanting=TRIAL_FIRST,
    )


def _securing(work: Work, coat: Coat, fails: Failing) -> Rate:
    """Laying, facing and consolidating failing finish: judged by their agent, and only by tests on failing finish."""
    agent = work.step.agent
    if agent is None:
        return Rate(
            0.0,
            _guess(work),
            1.0,
            f"{fails.sentence()} What liquid the step brings is not stated.",
            wanting="name its liquid as the agent, and test it on the failing finish",
        )
    rate = contact_rate(work, coat, on_failing=True)
    if rate.cleared or rate.effect:
        return rate
    return replace(
        rate,
        why=f"{fails.sentence()} No test on failing finish clears {agent}.",
        wanting=f"one test of {agent} on the failing finish",
    )


def _on_failing(sound: Touch, work: Work, fails: Failing) -> Touch:
    """A step on failing finish: it comes off at a touch, unless it was laid first; then nobody knows yet what
    happens."""
    rate = replace(
        sound.rate,
        middle=max(sound.rate.middle, _share_failing(fails) / 2),
        high=1.0,
        cleared=False,
        why=fails.sentence(),
        wanting=LAY_FIRST,
    )
    laid = next(
        (
            each
            for each in work.before
            if each.action in LAYS
            and each.area_m2 is None
            and places_of(work.case).contains(each.place, work.stack.place)
        ),
        None,
    )
    if laid is not None:
        rate = replace(
            rate,
            why=f"{fails.sentence()} Step {laid.step} is to lay it; nobody has tested how it stands this step after that.",
            wanting="test it again when it is laid, and plan this step by the result",
        )
    elif fails.laid_by is not None:
        rate = replace(rate, wanting="look again whether it holds")
    elif not (fails.slight and KIND_OF_ACTION[work.step.action] == "loose"):
        rate = replace(rate, failing=True)
    return replace(sound, rate=rate)


def _share_failing(fails: Failing) -> float:
    """The share of the place that is recorded as failing; a tenth where no extent is recorded."""
    return max((row.extent_pct for row in fails.rows if row.extent_pct is not None), default=10.0) / 100


def _seen_to_hurt(work: Work, coat: Coat) -> bool:
    """Whether a recorded trial of the same action did something to a coat of the same scheme."""
    facts = work.case.facts
    tests = {t.test for t in facts.tests if t.action == work.step.action}
    if not tests:
        return False
    layers = {(la.sample, la.position): la.scheme for la in facts.layers}
    return any(
        r.test in tests
        and r.response != "none seen"
        and coat.scheme is not None
        and coat.scheme in (r.scheme, layers.get((r.sample or "", r.position or 0)))
        for r in facts.responses
    )
