"""What one step does to one coat where it touches it: one door to contact, cuts, heat, wear and failing finish."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from collection.compute.build_up.actions import GENTLE, KIND_OF_ACTION, LAYS, SECURES, ActionKind
from collection.compute.build_up.coats import Coat, Stack
from collection.compute.build_up.condition import ANY, Failing, failing
from collection.compute.build_up.places import places_of
from collection.compute.case import Case
from collection.compute.effects.contact import Rate, contact_rate
from collection.compute.effects.cutting import cut_rate
from collection.compute.effects.heat import heat_word
from collection.records.policy import Policy
from collection.records.sheets import ProposalStep

UNTOUCHED = Rate(0.0, 0.0, 0.0, "It is not touched.")
LAY_FIRST = "lay or consolidate the failing finish first, with what a test on failing finish showed to be safe"


@dataclass(frozen=True, slots=True)
class Asked:
    """A rate; for a cut the number of films measured and whether it is to stop above or in the coat, `stops`."""

    rate: Rate
    readings: int | None = None
    stops: bool = False


def rate_of(
    case: Case,
    stack: Stack,
    coat: Coat | None,
    step: ProposalStep,
    before: Sequence[ProposalStep],
    thinned: bool,
    day: str,
) -> Asked:
    """The rate of a step on a coat; `coat` None: nobody has seen it. `before` are the steps before it in the place."""
    kind = KIND_OF_ACTION[step.action]
    if coat is None:
        if kind == "whole":
            return Asked(_all(step))
        return _on_unseen(case, stack, step, before)
    fails = failing(case, stack.place, coat.scheme)
    if fails is None:
        return _on_sound(case, stack, coat, step, kind, thinned, day)
    if step.action in SECURES:
        return Asked(_securing(case, stack, coat, step, fails, day))
    return _on_failing(_on_sound(case, stack, coat, step, kind, thinned, day), case, stack, step, fails, before)


def _on_unseen(case: Case, stack: Stack, step: ProposalStep, before: Sequence[ProposalStep]) -> Asked:
    nobody = Asked(Rate(0.0, _guess(case.policy), 1.0, "Nobody has looked.", wanting=f"one sample in {stack.place}"))
    fails = None if stack.examined or step.action in SECURES else failing(case, stack.place, ANY)
    return nobody if fails is None else _on_failing(nobody, case, stack, step, fails, before)


def _all(step: ProposalStep) -> Rate:
    return Rate(1.0, 1.0, 1.0, f"{step.action.capitalize()} takes all that is on the part.")


def _guess(policy: Policy) -> float:
    """What is expected of a step of which nothing is known."""
    return 0.5 * policy.model.taken_where_it_acts


def _on_sound(
    case: Case, stack: Stack, coat: Coat, step: ProposalStep, kind: ActionKind, thinned: bool, day: str
) -> Asked:
    if kind == "whole":
        return Asked(_all(step))
    if kind == "loose" or step.action in GENTLE:
        return Asked(UNTOUCHED)
    if kind in ("wear", "exposure"):
        why = (
            "Running and handling it wears what lies open."
            if kind == "wear"
            else "Light, wet and salt weather what lies open."
        )
        return Asked(
            Rate(0.0, 0.05, 1.0, why, wanting="measure the finish now and again after a season, or leave it out")
        )
    if kind == "cut":
        cut = cut_rate(case, stack, coat, step, thinned)
        return Asked(Rate(cut.low, cut.middle, cut.high, cut.why, wanting=cut.wanting), cut.readings, cut.stops)
    if kind in ("contact", "adds"):
        if kind == "adds" and step.agent is None:
            return Asked(
                Rate(
                    0.0,
                    _guess(case.policy),
                    1.0,
                    "What it brings with it is not stated.",
                    wanting="name its solvents as the agent",
                )
            )
        return Asked(contact_rate(case, stack, coat, step, day))
    said = heat_word(coat.may_be, step.temperature_c, case.policy) if kind == "heat" else None
    if said is not None:
        return Asked(
            Rate(
                0.0,
                _guess(case.policy),
                1.0,
                f"No trial of heat on this coat; {said[1]}.",
                effect=_seen_to_hurt(case, coat, step.action),
                model=said[0],
                wanting="a trial in an inconspicuous place",
            )
        )
    hurt = tuple(f"{t.object}/{t.test}" for t in case.facts.tests if t.action == step.action)
    return Asked(
        Rate(
            0.0,
            _guess(case.policy),
            1.0,
            f"No model says what {step.action} does to a coat.",
            effect=_seen_to_hurt(case, coat, step.action),
            tests=hurt,
            wanting="a trial in an inconspicuous place",
        )
    )


def _securing(case: Case, stack: Stack, coat: Coat, step: ProposalStep, fails: Failing, day: str) -> Rate:
    """Laying, facing and consolidating failing finish: judged by their agent, by tests on failing finish alone."""
    if step.agent is None:
        return Rate(
            0.0,
            _guess(case.policy),
            1.0,
            f"{fails.sentence()} What the step brings with it is not stated.",
            wanting="name its liquid as the agent, and test it on the failing finish",
        )
    rate = contact_rate(case, stack, coat, step, day, on_failing=True)
    if rate.cleared or rate.effect:
        return rate
    return replace(
        rate,
        why=f"{fails.sentence()} No test on failing finish clears {step.agent}.",
        wanting=f"one test of {step.agent} on the failing finish",
    )


def _on_failing(
    sound: Asked, case: Case, stack: Stack, step: ProposalStep, fails: Failing, before: Sequence[ProposalStep]
) -> Asked:
    """A step on failing finish: it comes off at a touch, unless it was laid first; then nobody knows yet."""
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
            for each in before
            if each.action in LAYS and each.area_m2 is None and places_of(case).contains(each.place, stack.place)
        ),
        None,
    )
    if laid is not None:
        rate = replace(
            rate,
            why=f"{fails.sentence()} Step {laid.step} is to lay it; how it stands this step then, nobody has tested.",
            wanting="test it again when it is laid, and plan this step by that",
        )
    elif fails.laid_by is not None:
        rate = replace(rate, wanting="look again whether it holds")
    elif not (fails.slight and KIND_OF_ACTION[step.action] == "loose"):
        rate = replace(rate, failing=True)
    return replace(sound, rate=rate)


def _share_failing(fails: Failing) -> float:
    """The share of the place that is told to be failing; a tenth where it is not told."""
    return max((row.extent_pct for row in fails.rows if row.extent_pct is not None), default=10.0) / 100


def _seen_to_hurt(case: Case, coat: Coat, action: str) -> bool:
    """Whether a recorded trial of the same action did something to a coat of the same scheme."""
    tests = {t.test for t in case.facts.tests if t.action == action}
    if not tests:
        return False
    layers = {(la.sample, la.position): la.scheme for la in case.facts.layers}
    return any(
        r.test in tests
        and r.response != "none seen"
        and coat.scheme is not None
        and coat.scheme in (r.scheme, layers.get((r.sample or "", r.position or 0)))
        for r in case.facts.responses
    )
