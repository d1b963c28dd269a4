"""The next step of a ladder at the swab: one condition a little further than what did too little, all others equal.

A ladder is under way where an agent did too little to the coat to remove and nothing is known to have happened to the
coat to keep: water with a further jar at hand, an agent that has begun to act, or tests that already rose in one
condition. It goes on in that condition; where the next step is known to be too much, it goes between. A step is worth a
spot only if, should the kept coat stand it, that would prove something; so it stays clear of everything that did
something to that coat. Common practice, no published source; how far a step goes is the policy's.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from collection.compute.effects.ladders import differences, is_milder, only_difference, step_of
from collection.compute.effects.relations import harmful_trials
from collection.compute.effects.trials import Trial, conditions_of, may_be_milder
from collection.compute.windows.mixtures import Jar
from collection.compute.windows.proven_windows import MOVED
from collection.compute.windows.windows import Pair, rate_on_kept, surely_harms
from collection.records.policy import Policy
from collection.records.sheets import ProposalStep
from collection.values import agents
from collection.values.agents import Agent
from collection.values.reference import Reference

LEAST_DWELL_S = 2.0
"""A hand cannot time a shorter contact."""


@dataclass(frozen=True, slots=True)
class Tried:
    """One test in the place, with what it did to the coat to remove and to the one to keep; None: not recorded."""

    removed: Trial | None
    kept: Trial | None

    @property
    def trial(self) -> Trial:
        found = self.removed or self.kept
        assert found is not None
        return found

    @property
    def moved(self) -> bool:
        return self.removed is not None and self.removed.low >= MOVED

    @property
    def harmed(self) -> bool:
        return self.kept is not None and self.kept.high > 0


@dataclass(frozen=True, slots=True)
class Rung:
    """One step of a ladder: the condition that goes further, or less far, than in test `base`."""

    plan: ProposalStep
    condition: str
    base: Trial
    less: bool = False

    def sentence(self) -> str:
        """Such as `a few seconds more`, or `less time`."""
        if self.condition == "ph":
            return f"a little {'higher' if (self.plan.ph or 7) > (self.base.test.ph or 7) else 'lower'} pH"
        return "less time" if self.less else FURTHER[self.condition]


FURTHER: Mapping[str, str] = {
    "ph": "a further pH",
    "dwell_s": "a few seconds more",
    "passes": "one more pass",
    "agent": "a stronger share",
}
"""The conditions that a ladder rises in, in words."""


def tried_here(on_removed: Sequence[Trial], on_kept: Sequence[Trial]) -> list[Tried]:
    """The tests of a place, oldest first; of a test with several responses, the worst."""
    codes = sorted({(t.test.tested_on or "", t.test.test) for t in (*on_removed, *on_kept)})
    return [
        Tried(
            *(
                max((t for t in met if t.test.test == code), key=lambda t: t.high, default=None)
                for met in (on_removed, on_kept)
            )
        )
        for _, code in codes
    ]


def worth_a_spot(pair: Pair, plan: ProposalStep, *, by_model: bool = True) -> bool:
    """Whether a plan stays clear of everything that did something to the kept coat or one like it and, with `by_model`,
    is no likelier to act on it than the policy allows."""
    rate = rate_on_kept(pair, plan)
    if rate.cleared or rate.effect or surely_harms(pair, plan):
        return rate.cleared
    if rate.feared:
        # Harm under harsher conditions is this ladder's limit; harm by another mixture, or to a coat like this one, is
        # not.
        agent = agents.parse(plan.agent or "", pair.case.reference.solvents)
        own = {f"{t.test.object}/{t.test.test}" for t in pair.on_kept if agents.same_agent(t.agent, agent)}
        likes = (t for coat in pair.keeps for t in harmful_trials(pair.case, pair.stack, coat))
        if not own.issuperset(rate.tests) or any(_may_reach(t, agent, plan, pair.case.policy) for t in likes):
            return False
    return not by_model or rate.model is None or rate.model[2] <= pair.case.policy.bench.most_risk


def _may_reach(harmful: Trial, agent: Agent, plan: ProposalStep, policy: Policy) -> bool:
    """Whether a plan may be as harsh as a test that did something."""
    return agents.may_be_weaker(harmful.agent, agent, policy.margin.factor) and may_be_milder(
        harmful.conditions, conditions_of(plan, agent), aqueous=agent.aqueous or harmful.agent.aqueous, policy=policy
    )


def next_rung(pair: Pair, tried: Sequence[Tried], jars: Sequence[Jar]) -> Rung | None:
    """The next step of the ladder that was worked on last; None where none is under way, or none can go on."""
    for kind in _kinds(tried):
        base = _top([each for each in kind if not each.moved and not each.harmed], pair.case.policy)
        if base is None:
            continue
        known = any(each.kept is not None and each.kept.high == 0 for each in kind)
        for condition in _conditions(base, kind):
            for plan in _further(pair, base.trial, condition, kind, jars):
                if (
                    _at_hand(plan, jars)
                    and not _idle(plan, kind, pair.case.policy, pair.case.reference)
                    and worth_a_spot(pair, plan, by_model=not known)
                ):
                    return Rung(plan, condition, base.trial)
    return None


def milder_rung(pair: Pair, tried: Sequence[Tried], jars: Sequence[Jar]) -> Rung | None:
    """Less of what took one coat off and only began to affect the other: water nearer to pH 7, or a shorter time. Only
    once for each agent, since a second harm shows that nothing lies between; never after the kept coat was softened or
    worse (in simulated hours such swabs harmed far more often than they parted the coats)."""
    for kind in _kinds(tried):
        harmed = [each for each in kind if each.harmed]
        if len(harmed) != 1 or not harmed[0].moved or harmed[0].kept is None or harmed[0].kept.low >= MOVED:
            continue
        base = harmed[0].trial
        nearer = sorted(
            (
                jar
                for jar in jars
                if jar.agent == base.agent
                and jar.ph is not None
                and base.test.ph is not None
                and (jar.ph - 7) * (base.test.ph - 7) >= 0
                and jar.from_neutral < abs(base.test.ph - 7)
            ),
            key=lambda jar: -jar.from_neutral,
        )
        plans = [("ph", _changed(base, pair.place, ph=jar.ph)) for jar in nearer]
        if base.test.dwell_s is not None and base.test.dwell_s / 3 >= LEAST_DWELL_S:
            plans.append(("dwell_s", _changed(base, pair.place, dwell_s=_seconds(base.test.dwell_s / 3))))
        for condition, plan in plans:
            if (
                _at_hand(plan, jars)
                and not _idle(plan, kind, pair.case.policy, pair.case.reference)
                and worth_a_spot(pair, plan, by_model=False)
            ):
                return Rung(plan, condition, base, less=True)
    return None


def _kinds(tried: Sequence[Tried]) -> list[list[Tried]]:
    """The tests by kind of agent, the kind that was tried last first."""
    found: list[list[Tried]] = []
    for each in tried:
        own = next((kind for kind in found if agents.same_agent(kind[0].trial.agent, each.trial.agent)), None)
        if own is None:
            found.append([each])
        else:
            own.append(each)
    return sorted(found, key=lambda kind: -max(tried.index(each) for each in kind))


def _top(able: Sequence[Tried], policy: Policy) -> Tried | None:
    """The harshest test; the newest of several."""
    return next(
        (
            each
            for each in reversed(able)
            if not any(
                is_milder(each.trial, other.trial, policy) and not is_milder(other.trial, each.trial, policy)
                for other in able
            )
        ),
        None,
    )


def _conditions(base: Tried, kind: Sequence[Tried]) -> list[str]:
    """The conditions in which this ladder can go on, likeliest first; empty where it is no ladder."""
    water, began = base.trial.agent.aqueous, base.removed is not None and base.removed.high > 0
    risen = [only_difference(each.trial, base.trial) for each in reversed(kind) if each.removed is not None]
    # A larger share of a solvent is another mixture, which models know better, unless it has begun to act.
    found = [name for name in risen if name is not None and name in FURTHER and (name != "agent" or water)]
    if water and base.trial.test.ph is not None:
        found += ["ph", "agent"]
    if began:
        found += ["agent", "dwell_s", "passes"]
    return list(dict.fromkeys(found))


def _further(
    pair: Pair, base: Trial, condition: str, kind: Sequence[Tried], jars: Sequence[Jar]
) -> Iterator[ProposalStep]:
    """Plans one step further in one condition, the smallest step first; in between, where it is known what is too
    much."""
    place, test = pair.place, base.test
    margin, bench = pair.case.policy.margin, pair.case.policy.bench
    if condition == "ph" and test.ph is not None:
        away = abs(test.ph - 7)
        further = [
            jar
            for jar in jars
            if jar.ph is not None
            and jar.agent == base.agent
            and jar.from_neutral > away + margin.ph
            and ((jar.ph - 7) * (test.ph - 7) > 0 or away <= margin.ph)
        ]
        for jar in sorted(further, key=lambda jar: (jar.from_neutral, -(jar.ph or 0))):
            yield _changed(base, place, ph=jar.ph)
    if condition == "agent":
        stronger = [jar for jar in jars if jar.ph == test.ph and _stronger(jar.agent, base.agent, margin.factor)]
        for jar in sorted(stronger, key=lambda jar: (_strength(jar.agent), jar.text)):
            yield _changed(base, place, agent=jar.agent.text)
    if condition == "dwell_s" and test.dwell_s is not None:
        over = [
            each.trial.test.dwell_s
            for each in kind
            if (each.moved or each.harmed)
            and each.trial.test.dwell_s is not None
            and differences(each.trial, base) == ["dwell_s"]
            and each.trial.test.dwell_s > test.dwell_s
        ]
        most = math.sqrt(test.dwell_s * min(over)) if over else bench.most_dwell_s
        longer = _seconds(min(test.dwell_s * bench.longer, most))
        if longer > test.dwell_s * margin.factor:
            yield _changed(base, place, dwell_s=longer)
    if condition == "passes":
        passes = int(base.conditions["passes"][0])
        more = max(passes + 1, math.floor(passes * margin.factor) + 1)
        if more <= bench.most_passes:
            yield _changed(base, place, passes=more)


def _strength(agent: Agent) -> float:
    return sum(share for _, share in (*agent.acting, *agent.additives))


def _stronger(agent: Agent, than: Agent, factor: float) -> bool:
    """Whether an agent has the same liquids and additives, with more of what acts or is dissolved."""
    if {name for name, _ in agent.liquids} != {name for name, _ in than.liquids} or not agents.same_agent(agent, than):
        return False
    ours, theirs = dict((*agent.acting, *agent.additives)), dict((*than.acting, *than.additives))
    more = [name for name in ours if ours[name] > theirs.get(name, 0.0) * factor]
    return bool(more) and all(ours[name] >= theirs.get(name, 0.0) for name in ours)


def _seconds(value: float) -> float:
    """A time that a person can keep to: whole seconds, and multiples of five from 20 s."""
    return float(round(value / 5) * 5 if value >= 20 else round(value))


def _changed(base: Trial, place: str, **changed: object) -> ProposalStep:
    return step_of(base, place).model_copy(update=changed)


def _at_hand(plan: ProposalStep, jars: Sequence[Jar]) -> bool:
    return any((plan.agent, plan.ph) == (jar.agent.text, jar.ph) for jar in jars)


def _idle(plan: ProposalStep, kind: Sequence[Tried], policy: Policy, reference: Reference) -> bool:
    """Whether a test here that may have been as harsh as a plan did too little to the coat to remove."""
    assert plan.agent is not None
    agent = agents.parse(plan.agent, reference.solvents)
    conditions = conditions_of(plan, agent)
    return any(
        each.removed is not None
        and not each.moved
        and each.trial.agent == agent
        and may_be_milder(conditions, each.trial.conditions, aqueous=agent.aqueous, policy=policy)
        for each in kind
    )
