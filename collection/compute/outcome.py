"""What a proposal does to every kept thing in every place it touches, step by step."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from collection.compute.actions import KIND_OF_ACTION, ActionKind
from collection.compute.cutting import cut_rate
from collection.compute.effects import Rate, contact_rate
from collection.compute.heat import heat_word
from collection.compute.loss import StepEffect, losses
from collection.compute.places import places_of
from collection.compute.stack import Coat, CoatKey, Stack, decorations_in, stack_of
from collection.facts import Facts, ProposalFacts
from collection.policy import Interval, Policy
from collection.records import ProposalStep
from collection.reference import Reference

NOT_EXAMINED = "not examined"
BELOW = "below what was seen"
_UNKNOWN = CoatKey(None, "other", "", 0, BELOW, None)


@dataclass(frozen=True, slots=True)
class StepOutcome:
    """One step on one kept thing: `lost` so far and `gained` by this step's low end, both shares of the
    thing's own area; `contact` the largest share touched; `rate` what the step does where it touches."""

    step: ProposalStep
    kind: ActionKind
    rate: Rate
    lost: Interval
    gained: float
    contact: float
    readings: int | None


@dataclass(frozen=True, slots=True)
class Outcome:
    """Everything a proposal does to one coat or decoration of one place."""

    place: str
    stack: Stack
    coat: Coat | None
    thing: str
    steps: tuple[StepOutcome, ...]

    @property
    def lost(self) -> Interval:
        return self.steps[-1].lost if self.steps else (0.0, 0.0, 0.0)


def planned_day(proposal: ProposalFacts) -> str:
    """The day the work is meant for: as planned, else the day it was proposed."""
    return proposal.proposal.planned_for or proposal.proposal.proposed_on


def touched(facts: Facts, proposal: ProposalFacts) -> dict[str, list[ProposalStep]]:
    """Every place that some step can touch, with those steps in order; work that reaches no coat left out."""
    places = places_of(facts)
    found: dict[str, list[ProposalStep]] = {}
    for step in proposal.steps:
        if KIND_OF_ACTION[step.action] == "none":
            continue
        for place in places.within(step.place):
            found.setdefault(place, []).append(step)
    return found


def outcomes(facts: Facts, proposal: ProposalFacts, policy: Policy, reference: Reference) -> list[Outcome]:
    """What the proposal does, for each place it touches, to each kept coat and decoration there; then, where
    a place was not examined or no sample of its part reaches the support, to what nobody has seen."""
    day = planned_day(proposal)
    found = []
    for place, every in sorted(touched(facts, proposal).items()):
        # What opening does to paint is a finding of its own: it breaks it at the joints and leaves the rest.
        steps = [step for step in every if KIND_OF_ACTION[step.action] != "opens"]
        if not steps:
            continue
        stack = stack_of(facts, place, policy)
        decorations = stack.decorations
        if any(step.place == place for step in steps):
            decorations += decorations_in(facts, place, stack.coats, around=True)
        rates = _Rates(facts, stack, steps, day, policy, reference)
        named = {spot for decoration in decorations for spot in decoration.layers}
        for coat in (*stack.coats, *decorations):
            if coat.kept and (coat.decoration is not None or not named.issuperset(coat.layers)):
                found.append(_outcome(rates, coat, coat.thing, steps))
        if not stack.examined:
            found.append(_outcome(rates, None, NOT_EXAMINED, steps))
        elif not stack.bottom_seen:
            found.append(_outcome(rates, None, BELOW, steps))
    return found


_Asked = tuple[Rate, int | None]
"""A rate, and for a cut the number of films measured."""


class _Rates:
    """The rates of one place, by step: each coat is asked for once, though it covers several. Whether an earlier step
    may have thinned what lies above makes a difference to cuts alone."""

    def __init__(self, facts: Facts, stack: Stack, steps: Sequence[ProposalStep], day: str, policy: Policy,
                 reference: Reference) -> None:
        self.stack, self._steps = stack, steps
        self._asked = (facts, stack, day, policy, reference)
        self._known: dict[tuple[int, bool], dict[CoatKey | None, _Asked]] = defaultdict(dict)

    def of(self, coat: Coat | None, at: int, thinned: bool) -> _Asked:
        step = self._steps[at]
        kind = KIND_OF_ACTION[step.action]
        known, key = self._known[at, thinned and kind == "cut"], None if coat is None else coat.key
        found = known.get(key)
        if found is None:
            facts, stack, day, policy, reference = self._asked
            found = known[key] = _rate(facts, stack, coat, step, kind, thinned, day, policy, reference)
        return found


def _outcome(known: _Rates, coat: Coat | None, thing: str, steps: Sequence[ProposalStep]) -> Outcome:
    stack = known.stack
    if coat is None:
        covers = () if thing == NOT_EXAMINED else stack.coats
        sure = tuple(True for _ in covers)
    elif coat.decoration is not None:
        covers = tuple(c for c in stack.coats if c.key in coat.above)
        sure = tuple(True for _ in covers)
    else:
        covers = stack.coats[:stack.coats.index(coat)]
        sure = tuple(c.key in coat.above for c in covers)
    effects, rates, readings = [], [], []
    thinned = False
    for at, step in enumerate(steps):
        kind = KIND_OF_ACTION[step.action]
        over = [known.of(c, at, thinned) for c in covers]
        on, count = known.of(coat, at, thinned)
        effects.append(StepEffect(tuple((r.low, r.middle, r.high) for r, _ in over), (on.low, on.middle, on.high),
                                  cut=kind in ("cut", "whole"), adds=kind == "adds"))
        rates.append(on)
        readings.append(count)
        thinned = thinned or any(r.high > 0 for r, _ in over)
    found, before = [], 0.0
    for step, rate, count, after in zip(steps, rates, readings, losses([c.cover for c in covers], effects, sure),
                                        strict=True):
        found.append(StepOutcome(step, KIND_OF_ACTION[step.action], rate, after.lost, after.lost[0] - before,
                                 after.contact, count))
        before = after.lost[0]
    return Outcome(stack.place, stack, coat, thing, tuple(found))


def _rate(facts: Facts, stack: Stack, coat: Coat | None, step: ProposalStep, kind: ActionKind, thinned: bool,
          day: str, policy: Policy, reference: Reference) -> tuple[Rate, int | None]:
    """The rate on one coat, and for a cut the number of films measured. `coat` None: nobody has seen it."""
    if kind == "whole":
        return Rate(1.0, 1.0, 1.0, f"{step.action.capitalize()} takes all that is on the part."), None
    if coat is None:
        return Rate(0.0, 0.5, 1.0, "Nobody has looked.", wanting=f"one sample in {stack.place}"), None
    if kind == "cut":
        cut = cut_rate(facts, stack, coat, step, thinned, policy)
        return Rate(cut.low, cut.middle, cut.high, cut.why, wanting=cut.wanting), cut.readings
    if kind in ("contact", "adds"):
        if kind == "adds" and step.agent is None:
            return Rate(0.0, 0.5, 1.0, "What it brings with it is not stated.",
                        wanting="name its solvents as the agent"), None
        return contact_rate(facts, stack, coat, step, day, policy, reference), None
    if kind == "heat":
        said = heat_word(coat.may_be, step.temperature_c, policy)
        if said is not None:
            return Rate(0.0, 0.5, 1.0, f"No trial of heat on this coat; {said[1]}.",
                        effect=_seen_to_hurt(facts, coat, step.action), model=said[0],
                        wanting="a trial in an inconspicuous place"), None
    hurt = tuple(f"{t.object}/{t.test}" for t in facts.tests if t.action == step.action)
    return Rate(0.0, 0.5, 1.0, f"No model says what {step.action} does to a coat.",
                effect=_seen_to_hurt(facts, coat, step.action), tests=hurt,
                wanting="a trial in an inconspicuous place"), None


def _seen_to_hurt(facts: Facts, coat: Coat, action: str) -> bool:
    """Whether a recorded trial of the same action did something to a coat of the same scheme."""
    tests = {t.test for t in facts.tests if t.action == action}
    if not tests:
        return False
    layers = {(la.sample, la.position): la.scheme for la in facts.layers}
    return any(r.test in tests and r.response != "none seen" and coat.scheme is not None
               and coat.scheme in (r.scheme, layers.get((r.sample or "", r.position or 0)))
               for r in facts.responses)
