"""Where a coat to be removed may come away from one to be kept: the two coats, and the mixtures that models rank.

What recorded tests prove comes first (`proven_windows`). For every other agent, two shares of the posterior over each
coat's region of solubility (`solubility`) are shown: that the agent acts on the coat to remove, and the most that it
acts on the coat to keep. The margin is the first minus the second, between −1 and 1 and without a unit; the score is
the margin minus a penalty for the liquids' hazards. Recorded tests of the kept coat count as everywhere (`rates`): an
agent that an assessment would clear under a spot test's conditions is said to be stood, one that harmed the coat under
conditions that the spot test may reach is left out, and one that harmed it only under harsher ones is a limit.

Every candidate is one for a spot test in an inconspicuous place, and no more. Margin and score are our own measures.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from collection.compute.build_up.coats import Coat, Stack
from collection.compute.build_up.condition import failing
from collection.compute.build_up.stack import stack_of
from collection.compute.case import Case
from collection.compute.effects.contact import Rate, contact_rate, tested_of
from collection.compute.effects.ladders import named, no_harsher
from collection.compute.effects.models import Question, by_class, candidate_points, observed, published
from collection.compute.effects.rates import rate_of
from collection.compute.effects.relations import harmful_trials, trials_of
from collection.compute.effects.solubility import Region, region
from collection.compute.effects.trials import Trial, conditions_of, may_be_milder
from collection.compute.effects.work import Work
from collection.compute.windows.mixtures import Jar
from collection.language.errors import BadValue
from collection.records.policy import Interval, Policy
from collection.records.sheets import ProposalStep
from collection.values import agents
from collection.values.agents import Agent
from collection.values.reference import Reference

if TYPE_CHECKING:
    from collection.compute.effects.solubility import Array

SPOT_TEST = "Candidate for a spot test in an inconspicuous place, and no more."


@dataclass(frozen=True, slots=True)
class Candidate:
    """One jar: shares that act on the coat to remove and to keep, [low, middle, high]; `margin`, `against` (the penalty
    for its liquids) and `score`; `trials` are the recorded ones in its favour. `stood` says that an assessment clears a
    spot test of it, `warned` names the tests for which it would alarm."""

    jar: Jar
    removes: Interval
    keeps: Interval
    margin: float
    against: float
    score: float
    trials: tuple[Trial, ...]
    stood: bool
    warned: tuple[str, ...] = ()

    @property
    def agent(self) -> Agent:
        return self.jar.agent

    @property
    def tests(self) -> tuple[str, ...]:
        return tuple(dict.fromkeys(t.test.test for t in self.trials))

    def as_json(self) -> dict[str, Any]:
        return {
            "agent": self.agent.text,
            "ph": self.jar.ph,
            "acts_on_removed": list(self.removes),
            "acts_on_kept": list(self.keeps),
            "margin": self.margin,
            "hazard": self.against,
            "score": self.score,
            "tests": list(self.tests),
            "stood": self.stood,
            "warned_by": list(self.warned),
        }

    def tests_in_words(self) -> str:
        """The tests in its favour, with their conditions, and those against it."""
        tests = ", ".join(dict.fromkeys(named(t) for t in self.trials)) or "no test of it on record"
        return f"{tests}; an assessment warns because of {', '.join(self.warned)}" if self.warned else tests


@dataclass(frozen=True, eq=False)
class Pair:
    """The coat to remove and the coat to keep in one place, with their tests and what models make of them.

    `keeps` are all coats of the place that an assessment reports together with the one to keep (two colours of one
    scheme, say). A region is None where nothing published or tested gives one; then no mixture can be ranked.
    """

    case: Case
    place: str
    stack: Stack
    remove: Coat
    keep: Coat
    keeps: tuple[Coat, ...]
    on_removed: tuple[Trial, ...]
    on_kept: tuple[Trial, ...]
    remove_region: Region | None
    keep_region: Region | None
    day: str | None

    def work(self, step: ProposalStep) -> Work:
        """A step in the pair's place, on its day."""
        return Work(self.case, self.stack, step, self.day)


def pair_of(case: Case, place: str, remove: str, keep: str, day: str | None) -> Pair:
    """The two coats of a place; `remove` and `keep` name a scheme, or a scheme and role (`2`, `1/varnish`).

    A scheme means its outermost coat.

    :raises BadValue: where a coat is not in the place's stack, naming those that are, or both are the same.
    """
    stack = stack_of(case, place)
    to_remove, to_keep = _coat(stack, remove), _coat(stack, keep)
    if to_remove.key == to_keep.key:
        raise BadValue(f"{remove} and {keep} are one coat in {place}: name two.")
    keeps = (
        to_keep,
        *(
            coat
            for coat in (*stack.coats, *stack.decorations)
            if coat.kept
            and coat.key != to_keep.key
            and coat.thing == to_keep.thing
            and coat.decoration == to_keep.decoration
        ),
    )
    on_kept = dict.fromkeys(t for coat in keeps for t in trials_of(case, stack, coat))
    swab = Work(case, stack, spot(case.policy), day)
    return Pair(
        case,
        place,
        stack,
        to_remove,
        to_keep,
        keeps,
        trials_of(case, stack, to_remove),
        tuple(on_kept),
        _region(swab, to_remove),
        _region(swab, to_keep),
        day,
    )


def _coat(stack: Stack, named: str) -> Coat:
    scheme, _, role = named.partition("/")
    for coat in (*stack.coats, *stack.decorations):
        if named in (coat.thing, coat.decoration) or (coat.scheme == scheme and (not role or coat.role == role)):
            return coat
    there = ", ".join(dict.fromkeys(coat.thing for coat in (*stack.coats, *stack.decorations))) or "none"
    raise BadValue(f"{stack.place} shows no coat {named!r}. Coats known there, outermost first: {there}.")


def spot(policy: Policy, jar: Jar | Agent | None = None, *, application: str | None = None) -> ProposalStep:
    """A spot test under the conditions that windows are made for."""
    agent, ph = (jar.agent, jar.ph) if isinstance(jar, Jar) else (jar, None)
    return ProposalStep(
        object="-",
        proposal="-",
        step=1,
        place="all",
        action="solvent",
        agent=None if agent is None else agent.text,
        ph=ph,
        dwell_s=policy.window.dwell_s,
        application=application or policy.window.application,
    )


def rate_on_kept(pair: Pair, step: ProposalStep) -> Rate:
    """What an assessment says about a step on the coat to keep; if it reports several together, the one that stands the
    step least. Failing finish stands nothing."""
    work = pair.work(step)
    rates = [rate_of(work, coat).rate for coat in pair.keeps]
    return max(rates, key=lambda rate: (rate.failing, not rate.cleared, rate.effect, rate.feared, rate.high, rate.low))


def surely_harms(pair: Pair, step: ProposalStep) -> list[Trial]:
    """The tests that did something to the coat to keep and that a step is surely as harsh as."""
    if step.agent is None:
        return []
    agent = agents.parse(step.agent, pair.case.reference.solvents)
    return [
        t for t in pair.on_kept if t.high > 0 and no_harsher(t, agent, conditions_of(step, agent), pair.case.policy)
    ]


def _region(swab: Work, coat: Coat) -> Region | None:
    case = swab.case
    spheres, bands = published(coat.may_be, case.reference)
    if not (spheres or bands):
        return None
    seen = observed(tested_of(swab, coat), case.reference, case.policy)
    return region(spheres, coat.basis, seen, case.policy, bands=bands)


def candidates(pair: Pair, jars: Sequence[Jar], *, application: str | None = None) -> list[Candidate]:
    """The jars that part the two coats, best score first; without those that a recorded test rules out, and those with
    no known point in Hansen space and no test."""
    policy = pair.case.policy
    points = {jar.agent.text: candidate_points(jar.agent, pair.case.reference, policy) for jar in jars}
    # A jar that harmed a similar coat on another part is left out as well, unless that coat stood a spot test of it.
    harmful = [t for coat in pair.keeps for t in harmful_trials(pair.case, pair.stack, coat)]
    shares = [_shares(which, points) for which in (pair.remove_region, pair.keep_region)]
    found = []
    for jar in jars:
        swab = spot(policy, jar, application=application)
        rate = _by_tests(pair, swab, jar.agent, harmful)
        alarms = rate is not None and (rate.effect or rate.feared)
        if alarms and any(_as_strong(t.agent, jar.agent) for t in harmful):
            continue
        acted = _acted(pair, swab, jar.agent)
        stood = rate is not None and rate.cleared
        removes = (1.0, 1.0, 1.0) if acted else _modelled_on_removed(pair, jar, shares[0])
        keeps = (0.0, 0.0, 0.0) if stood else _modelled(pair, pair.keep, jar, shares[1])
        if removes is None or keeps is None:
            continue
        margin, against = removes[1] - keeps[2], hazard(jar.agent, policy, pair.case.reference)
        relied_on = rate.tests if rate is not None else ()
        speaking = [t for t in pair.on_kept if stood and f"{t.test.object}/{t.test.test}" in relied_on]
        warned = tuple(key.rsplit("/", 1)[-1] for key in relied_on) if alarms else ()
        trials = (*acted, *speaking)
        found.append(Candidate(jar, removes, keeps, margin, against, margin - against, trials, stood, warned))
    return sorted(found, key=lambda each: (-each.score, len(each.agent.liquids), each.jar.text))


def _by_tests(pair: Pair, swab: ProposalStep, agent: Agent, harmful: Sequence[Trial]) -> Rate | None:
    """What an assessment says about a swab on the coat to keep; None where there is no test of its agent."""
    spoken_of = any(
        agents.same_agent(t.agent, agent) or agents.agent_alarms(t.agent, agent) or agents.shares_acting(t.agent, agent)
        for t in (*harmful, *pair.on_kept)
    )
    return rate_on_kept(pair, swab) if spoken_of or agent.aqueous else None


def _acted(pair: Pair, swab: ProposalStep, agent: Agent) -> list[Trial]:
    """The tests no harsher than a swab that did something to the coat to remove."""
    conditions = conditions_of(swab, agent)
    return [
        t
        for t in pair.on_removed
        if t.high > 0
        and agents.agent_alarms(t.agent, agent)
        and may_be_milder(t.conditions, conditions, aqueous=agent.aqueous, policy=pair.case.policy)
    ]


def _modelled_on_removed(pair: Pair, jar: Jar, shares: dict[str, Interval]) -> Interval | None:
    """What models say about a jar on the coat to remove. The effect of other water may alarm; it is no reason to hope
    that this one moves a coat."""
    if jar.agent.aqueous and not any(agents.same_agent(t.agent, jar.agent) for t in pair.on_removed):
        return _by_class(pair, pair.remove, jar)
    return _modelled(pair, pair.remove, jar, shares)


def _as_strong(tested: Agent, agent: Agent) -> bool:
    """Whether an agent has everything that acts in a tested one, at least as strong."""
    if agents.agent_alarms(tested, agent):
        return True
    amounts = dict(agent.families)
    return agents.same_agent(tested, agent) and all(
        amounts.get(name, 0.0) >= share for name, share in tested.acting_families
    )


def _modelled(pair: Pair, coat: Coat, jar: Jar, shares: dict[str, Interval]) -> Interval | None:
    """What models say about a jar on a coat; for water, which has no point in Hansen space, the same as in
    assessments."""
    if jar.agent.aqueous:
        return contact_rate(pair.work(spot(pair.case.policy, jar)), coat).model
    return _higher(shares.get(jar.agent.text), _by_class(pair, coat, Jar(jar.agent)))


def _by_class(pair: Pair, coat: Coat, jar: Jar) -> Interval | None:
    """What the content of a jar is known to do to a coat's binders."""
    question = Question(coat.may_be, coat.basis, jar.agent, jar.ph)
    return by_class(question, pair.case.policy, pair.case.reference)


def _higher(one: Interval | None, other: Interval | None) -> Interval | None:
    if one is None or other is None:
        return one or other
    return max(one[0], other[0]), max(one[1], other[1]), max(one[2], other[2])


def _shares(which: Region | None, points: dict[str, tuple[tuple[float, float, float], ...]]) -> dict[str, Interval]:
    """What a region says about each agent; the most, where it may lie at several points."""
    import numpy as np

    if which is None:
        return {}
    names = [(text, len(own)) for text, own in points.items() if own]
    every: Array = which.acts(np.asarray([point for own in points.values() for point in own], dtype=float))
    found, start = {}, 0
    for text, count in names:
        low, middle, high = (float(end) for end in every[start : start + count].max(axis=0))
        found[text], start = (low, middle, high), start + count
    return found


def hazard(agent: Agent, policy: Policy, reference: Reference) -> float:
    """The penalty for an agent's liquids: by volume, the largest of the policy's weights for each liquid's hazard
    statements; the policy's weight for the unknown where the table has no statement for a liquid; and something for
    each further liquid, because a simpler mixture is easier to make again and to stop."""
    weights, unknown = policy.window.hazards, policy.window.unknown_hazard
    total = policy.window.further_liquid * (len(agent.liquids) - 1)
    for name, share in agent.liquids:
        row = reference.solvents.find(name)
        if name == agents.WATER:
            continue
        codes = row.h_statements if row is not None else ()
        total += share * (max((weights.get(code[:4], 0.0) for code in codes), default=unknown) if codes else unknown)
    return total


def missing(pair: Pair) -> list[str]:
    """The evidence that the ranking lacks, in sentences."""
    found = []
    for coat, met, which, what in (
        (pair.remove, pair.on_removed, pair.remove_region, "to remove"),
        (pair.keep, pair.on_kept, pair.keep_region, "to keep"),
    ):
        name = f"the coat {what}, {coat.thing}"
        if not coat.may_be:
            found.append(f"The binder of {name} is not recorded.")
        elif which is None:
            found.append(f"No sphere is published for the binder of {name} ({', '.join(coat.may_be)}).")
        elif coat.basis not in ("analysed", "tested"):
            found.append(f"The binder of {name} was {coat.basis or 'recorded without a basis'}: no analysis or test.")
        if not met:
            found.append(f"There is no recorded test of {name}.")
        elif not any(t.test.place == pair.place for t in met):
            found.append(f"There is no recorded test of {name} in {pair.place} itself.")
        if not coat.seen_here:
            found.append(f"{coat.thing} was not seen in {pair.place}, only elsewhere on its part.")
    fails = failing(pair.case, pair.place, pair.keep.scheme)
    if fails is not None:
        found.append(f"{fails.sentence()} No test on sound finish counts in its favour.")
    if len(pair.keeps) > 1:
        found.append(
            f"{pair.keep.thing} is {len(pair.keeps)} coats in {pair.place}: "
            "where it is said to stand a test, all of them stood it."
        )
    bare = laid_open(pair)
    if bare:
        found.append(
            f"{pair.keep.thing} is not shown to cover all of {pair.place}: where it is broken, the mixture "
            f"meets {', '.join(bare)}. Ask for each of them as the coat to keep."
        )
    return found


def laid_open(pair: Pair) -> list[str]:
    """The kept coats beneath the one to keep that are expected to lie open where it is broken, outermost first, down to
    the first coat that was whole wherever it was read."""
    covers = pair.case.policy.cover["intact"][1]
    found: list[str] = []
    if pair.keep.cover[1] >= covers or pair.keep.decoration is not None:
        return found
    for coat in pair.stack.coats:
        if pair.keep.key in coat.above:
            if coat.kept and coat.thing != pair.keep.thing:
                found.append(coat.thing)
            if coat.cover[1] >= covers:
                break
    return list(dict.fromkeys(found))
