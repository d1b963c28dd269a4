"""Where a coat to be removed parts from one to be kept: mixtures, and water by its pH.

For each candidate two shares are told, of the posterior over each coat's region of solubility (`solubility`): that it
acts on the coat to remove, and the most that it acts on the coat to keep. The margin is the first less the second,
between −1 and 1 and without a unit; the score is the margin less what counts against the liquids' hazards. Recorded
tests come before any model: what did something to the coat to keep is out, whatever the model says, and what was
harmless to it under conditions as harsh as a swab of the policy's length counts as evidence.

Every candidate is one for a spot test in an inconspicuous place, and no more. Margin and score are our own measures.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from collection import agents
from collection.agents import Agent
from collection.compute.coats import Coat, Stack
from collection.compute.effects import contact_rate, harmful_trials, tested_of, trials_of
from collection.compute.models import by_class, candidate_points, observed, published
from collection.compute.solubility import Region, region
from collection.compute.stack import stack_of
from collection.compute.trials import Trial
from collection.errors import BadValue
from collection.facts import Facts
from collection.policy import Interval, Policy
from collection.records import ProposalStep
from collection.reference import Reference

if TYPE_CHECKING:
    from collection.compute.solubility import Array

SPOT_TEST = "Candidate for a spot test in an inconspicuous place, and no more."


@dataclass(frozen=True, slots=True)
class Candidate:
    """One agent: shares that act on the coat to remove and to keep, [low, middle, high]; `margin`, `against` (what
    counts against its liquids) and `score`; `tests` are the recorded ones that speak for it."""

    agent: Agent
    removes: Interval
    keeps: Interval
    margin: float
    against: float
    score: float
    tests: tuple[str, ...]

    def as_json(self) -> dict[str, Any]:
        return {"agent": self.agent.text, "acts_on_removed": list(self.removes), "acts_on_kept": list(self.keeps),
                "margin": self.margin, "hazard": self.against, "score": self.score, "tests": list(self.tests)}


@dataclass(frozen=True, slots=True)
class PhSpan:
    """Between which pH, on one side of 7, water with some additives moved the coat to remove and not the one to keep:
    from the mildest that moved it to the harshest that the kept coat stood; `harmed_at` is where it no longer did."""

    agent: str
    low: float
    high: float
    harmed_at: float | None
    tests: tuple[str, ...]

    def as_json(self) -> dict[str, Any]:
        return {"agent": self.agent, "ph": [self.low, self.high], "harmed_at": self.harmed_at,
                "tests": list(self.tests)}


@dataclass(frozen=True, eq=False)
class Pair:
    """The coat to remove and the coat to keep in one place, with the tests that met them and what models make of them.

    A region is None where nothing published or tested gives one: then no mixture can be ranked.
    """

    place: str
    stack: Stack
    remove: Coat
    keep: Coat
    on_removed: tuple[Trial, ...]
    on_kept: tuple[Trial, ...]
    remove_region: Region | None
    keep_region: Region | None
    day: str | None


def pair_of(facts: Facts, place: str, remove: str, keep: str, day: str | None, policy: Policy,
            reference: Reference) -> Pair:
    """The two coats of a place; `remove` and `keep` name a scheme, or a scheme and role (`2`, `1/varnish`).

    Of a scheme the outermost coat is meant.

    :raises BadValue: where a coat is not in the place's stack, naming those that are, or both are the same.
    """
    stack = stack_of(facts, place, policy)
    to_remove, to_keep = _coat(stack, remove), _coat(stack, keep)
    if to_remove.key == to_keep.key:
        raise BadValue(f"{remove} and {keep} are one coat in {place}: name two.")
    step = spot(policy)
    return Pair(place, stack, to_remove, to_keep,
                trials_of(facts, stack, to_remove, policy, reference),
                trials_of(facts, stack, to_keep, policy, reference),
                _region(facts, stack, to_remove, step, day, policy, reference),
                _region(facts, stack, to_keep, step, day, policy, reference), day)


def _coat(stack: Stack, named: str) -> Coat:
    scheme, _, role = named.partition("/")
    for coat in (*stack.coats, *stack.decorations):
        if named in (coat.thing, coat.decoration) or (coat.scheme == scheme and (not role or coat.role == role)):
            return coat
    there = ", ".join(dict.fromkeys(coat.thing for coat in (*stack.coats, *stack.decorations))) or "none"
    raise BadValue(f"{stack.place} shows no coat {named!r}. Coats known there, outermost first: {there}.")


def spot(policy: Policy, agent: str | None = None, ph: float | None = None) -> ProposalStep:
    """A spot test under the conditions that windows are made for."""
    return ProposalStep(object="-", proposal="-", step=1, place="all", action="solvent", agent=agent, ph=ph,
                        application=policy.window.application, dwell_s=policy.window.dwell_s)


def spots(policy: Policy, agent: str) -> tuple[ProposalStep, ...]:
    """The spot test as it may be put: old tests do not always state passes and temperature, and where neither the test
    nor the step does, that makes no difference."""
    plain = spot(policy, agent)
    return tuple(plain.model_copy(update={"passes": passes, "temperature_c": warmth})
                 for passes in (None, policy.window.passes) for warmth in (None, policy.window.temperature_c))


def _region(facts: Facts, stack: Stack, coat: Coat, step: ProposalStep, day: str | None, policy: Policy,
            reference: Reference) -> Region | None:
    spheres, bands = published(coat.may_be, reference)
    if not (spheres or bands):
        return None
    seen = observed(tested_of(facts, stack, coat, step, day, policy, reference), reference, policy)
    return region(spheres, coat.basis, seen, policy, bands=bands)


def candidates(facts: Facts, pair: Pair, liquids: Sequence[Agent], policy: Policy,
               reference: Reference) -> list[Candidate]:
    """The agents that part the two coats, best score first; those that a recorded test rules out are left away, as are
    those whose point in Hansen space is not known and of which no test speaks."""
    found = []
    points = {agent.text: candidate_points(agent, reference, policy) for agent in liquids}
    # What harmed the kept coat's like on another part is out as well.
    harmful = harmful_trials(facts, pair.stack, pair.keep, policy, reference)
    shares = [_shares(which, points) for which in (pair.remove_region, pair.keep_region)]
    for agent in liquids:
        if any(agents.agent_alarms(t.agent, agent) or (agents.same_agent(t.agent, agent)
                                                       and _at_least_as_much(agent, t.agent)) for t in harmful):
            continue
        acted = [t for t in pair.on_removed if t.high > 0 and agents.agent_alarms(t.agent, agent)]
        stood = _stood(facts, pair, agent, policy, reference)
        removes = (1.0, 1.0, 1.0) if acted else _louder(
            shares[0].get(agent.text), by_class(pair.remove, agent, None, policy, reference))
        keeps = (0.0, 0.0, 0.0) if stood else _louder(
            shares[1].get(agent.text), by_class(pair.keep, agent, None, policy, reference))
        if removes is None or keeps is None:
            continue
        margin = removes[1] - keeps[2]
        against = hazard(agent, policy, reference)
        found.append(Candidate(agent, removes, keeps, margin, against, margin - against,
                               tuple(dict.fromkeys([*(t.test.test for t in acted), *stood]))))
    return sorted(found, key=lambda each: (-each.score, len(each.agent.liquids), each.agent.text))


def _louder(one: Interval | None, other: Interval | None) -> Interval | None:
    if one is None or other is None:
        return one or other
    return max(one[0], other[0]), max(one[1], other[1]), max(one[2], other[2])


def _at_least_as_much(agent: Agent, tested: Agent) -> bool:
    """Whether of each acting liquid of a test there is at least as much."""
    amounts = dict(agent.families)
    return all(amounts.get(name, 0.0) >= share for name, share in tested.acting_families)


def _shares(which: Region | None, points: dict[str, tuple[tuple[float, float, float], ...]]) -> dict[str, Interval]:
    """What a region says of each agent, the most where it may lie at several points."""
    import numpy as np

    if which is None:
        return {}
    names = [(text, len(own)) for text, own in points.items() if own]
    every: Array = which.acts(np.asarray([point for own in points.values() for point in own], dtype=float))
    found, start = {}, 0
    for text, count in names:
        low, middle, high = (float(end) for end in every[start:start + count].max(axis=0))
        found[text], start = (low, middle, high), start + count
    return found


def _stood(facts: Facts, pair: Pair, agent: Agent, policy: Policy, reference: Reference) -> tuple[str, ...]:
    """The tests by which the kept coat is known to stand a spot test of this agent."""
    if not any(t.high == 0 for t in pair.on_kept):
        return ()
    for swab in spots(policy, agent.text):
        rate = contact_rate(facts, pair.stack, pair.keep, swab, pair.day, policy, reference)
        if rate.cleared:
            return tuple(key.rsplit("/", 1)[-1] for key in rate.tests)
    return ()


def hazard(agent: Agent, policy: Policy, reference: Reference) -> float:
    """What counts against an agent's liquids: the policy's weights of their hazard statements by volume, the most of
    each liquid; a liquid without any statement in the table counts as the policy says of the unknown; and something
    for each further liquid, as a simpler mixture is easier to make again and to stop."""
    weights, unknown = policy.window.hazards, policy.window.unknown_hazard
    total = policy.window.further_liquid * (len(agent.liquids) - 1)
    for name, share in agent.liquids:
        row = reference.solvents.find(name)
        if name == agents.WATER:
            continue
        codes = row.h_statements if row is not None else ()
        total += share * (max((weights.get(code[:4], 0.0) for code in codes), default=unknown) if codes else unknown)
    return total


def ph_spans(pair: Pair) -> list[PhSpan]:
    """What recorded tests with water part by pH, on either side of 7, per kind of agent; widest first."""
    found = []
    wet = [t for t in (*pair.on_removed, *pair.on_kept) if t.agent.aqueous and t.test.ph is not None]
    kinds = {tuple(name for name, _ in t.agent.additives): t.agent for t in wet}
    for agent in kinds.values():
        for side in (1, -1):
            moved = _reached(pair.on_removed, agent, side, True)
            stood = _reached(pair.on_kept, agent, side, False)
            harmed = _reached(pair.on_kept, agent, side, True)
            if not moved:
                continue
            first, limit = min(moved), min(harmed, default=None)
            last = max((away for away in stood if limit is None or away < limit), default=None)
            if last is None or last < first:
                continue
            tests = [t.test.test for t in wet if agents.same_agent(t.agent, agent) and t.test.ph is not None
                     and side * (t.test.ph - 7) >= 0]
            ends = sorted((7 + side * first, 7 + side * last))
            found.append(PhSpan(agent.text, ends[0], ends[1], None if limit is None else 7 + side * limit,
                                tuple(dict.fromkeys(tests))))
    return sorted(found, key=lambda span: (span.low - span.high, span.agent, span.low))


def _reached(met: Sequence[Trial], agent: Agent, side: int, acted: bool) -> list[float]:
    """How far from 7, on one side, the tests of this kind of agent lay that did something, or did nothing."""
    return [side * (t.test.ph - 7) for t in met if t.test.ph is not None and side * (t.test.ph - 7) >= 0
            and agents.same_agent(t.agent, agent) and (t.high > 0) == acted]


def missing(pair: Pair, policy: Policy) -> list[str]:
    """The evidence that the ranking lacks, in words."""
    found = []
    for coat, met, which, what in ((pair.remove, pair.on_removed, pair.remove_region, "to remove"),
                                   (pair.keep, pair.on_kept, pair.keep_region, "to keep")):
        name = f"the coat {what}, {coat.thing}"
        if not coat.may_be:
            found.append(f"The binder of {name} is not recorded.")
        elif which is None:
            found.append(f"No sphere is published for the binder of {name} ({', '.join(coat.may_be)}).")
        elif coat.basis not in ("analysed", "tested"):
            found.append(f"The binder of {name} was {coat.basis or 'told without a basis'}: no analysis or test.")
        if not met:
            found.append(f"No recorded test met {name}.")
        elif not any(t.test.place == pair.place for t in met):
            found.append(f"No recorded test met {name} in {pair.place} itself.")
        if not coat.seen_here:
            found.append(f"{coat.thing} was not seen in {pair.place}, only elsewhere on its part.")
    bare = laid_open(pair, policy)
    if bare:
        found.append(f"{pair.keep.thing} is not shown to cover all of {pair.place}: where it is broken, the mixture "
                     f"meets {', '.join(bare)}. Ask for each of them as the coat to keep.")
    return found


def laid_open(pair: Pair, policy: Policy) -> list[str]:
    """The kept coats beneath the one to keep that may lie open where it is broken, outermost first; what surely covers
    the whole of the place ends them."""
    covers = policy.cover["intact"][0]
    found: list[str] = []
    if pair.keep.cover[0] >= covers or pair.keep.decoration is not None:
        return found
    for coat in pair.stack.coats:
        if pair.keep.key in coat.above:
            if coat.kept and coat.thing != pair.keep.thing:
                found.append(coat.thing)
            if coat.cover[0] >= covers:
                break
    return list(dict.fromkeys(found))
