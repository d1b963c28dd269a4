"""Which jar to try where no test decides: the likeliest by the models, else one step further than what did nothing."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

from collection.compute.effects.contact import contact_rate
from collection.compute.effects.models import candidate_points
from collection.compute.effects.trials import Trial, conditions_of, may_be_milder
from collection.compute.windows.companion.at_hand import AtHand
from collection.compute.windows.mixtures import Jar
from collection.compute.windows.windows import Candidate, Pair, hazard, rate_on_kept, spot
from collection.records.policy import Policy
from collection.values import agents
from collection.values.agents import Agent
from collection.values.reference import Reference
from collection.values.reference_rows import Triple


def calmest(pair: Pair, active: Agent, bottles: Iterable[Agent]) -> Agent | None:
    """The bottle least likely to touch the kept coat, for when none is known to arrest: one that no test shows to have
    done anything to either coat, and that is not more likely than not to do so. None where there is no such bottle."""
    found: list[tuple[float, float, float, str, Agent]] = []
    for agent in bottles:
        if agent.text == active.text or agent.aqueous or active.aqueous:
            continue
        rates = [contact_rate(pair.work(spot(pair.case.policy, agent)), coat) for coat in (pair.keep, pair.remove)]
        most = [0.0 if rate.cleared else 1.0 if rate.model is None else rate.model[2] for rate in rates]
        if most[0] < 0.5 and not any(rate.effect for rate in rates):
            found.append((most[0], most[1], hazard(agent, pair.case.policy, pair.case.reference), agent.text, agent))
    return min(found)[-1] if found else None


def chance(candidate: Candidate) -> float:
    """The chance that a jar acts on the coat to remove and not on the one to keep."""
    return candidate.removes[1] * (1 - candidate.keeps[2])


def likeliest(known: Iterable[Candidate], last: Agent | None, policy: Policy) -> list[Candidate]:
    """The candidates that are worth a spot and not too dangerous: first those about as likely as the best to part the
    coats, mildest first; then the rest by their chance."""
    able = [
        each for each in known if each.keeps[2] <= policy.bench.most_risk and chance(each) >= policy.bench.least_chance
    ]
    equal = policy.bench.about_equal * max(map(chance, able), default=0.0)
    near = sorted(
        (each for each in able if chance(each) >= equal),
        key=lambda each: (
            round(10 * each.keeps[2]),
            _changed(each.agent, last),
            len(each.agent.liquids),
            each.against,
            each.agent.text,
        ),
    )
    return near + sorted(
        (each for each in able if chance(each) < equal), key=lambda each: (-chance(each), each.agent.text)
    )


def _changed(agent: Agent, last: Agent | None) -> int:
    """How many variables differ from the last test: liquids added or dropped, and one more for other proportions."""
    if last is None:
        return 0
    ours, theirs = dict(agent.liquids), dict(last.liquids)
    return len(ours.keys() ^ theirs.keys()) or int(ours != theirs)


def barred(at: AtHand) -> frozenset[str]:
    """Jars not to try here as another liquid: those with anything that acts in something that harmed the kept coat,
    with whatever else and at any strength, unless tests show that the coat stands it, or the water's pH is on the other
    side of 7; those already tried; and those weaker than something that did nothing to the coat to remove, or nearly
    the same."""
    pair, policy = at.pair, at.pair.case.policy
    harmed = [(t, {name for name, _ in (*t.agent.acting_families, *t.agent.additives)}) for t in at.harmed()]
    idle = at.idle()
    lie = {
        agent.text: candidate_points(agent, pair.case.reference, policy)
        for agent in (*(jar.agent for jar in at.jars), *(t.agent for t in idle))
    }

    def is_barred(jar: Jar) -> bool:
        agent, step = jar.agent, at.swab(jar)
        if at.tells_nothing_new(jar):
            return True
        names = {name for name, _ in (*agent.families, *agent.additives)}
        if (
            any(acting <= names and not _other_side(t, jar) for t, acting in harmed)
            and not rate_on_kept(pair, step).cleared
        ):
            return True
        conditions = conditions_of(step, agent)
        return any(
            may_be_milder(conditions, t.conditions, aqueous=agent.aqueous, policy=policy)
            and (
                (agents.same_agent(agent, t.agent) and _no_more(agent, t.agent))
                or _apart(lie[agent.text], lie[t.agent.text]) < policy.bench.least_apart
            )
            for t in idle
        )

    return frozenset(jar.text for jar in at.jars if is_barred(jar))


def _other_side(trial: Trial, jar: Jar) -> bool:
    return trial.test.ph is not None and jar.ph is not None and (trial.test.ph - 7) * (jar.ph - 7) < 0


def _apart(one: Sequence[Triple], other: Sequence[Triple]) -> float:
    """The longest distance between the points at which two agents may lie, in MPa^½; infinite where one has no
    point."""
    return max((agents.ra(a, b) for a in one for b in other), default=math.inf)


def _no_more(agent: Agent, tested: Agent) -> bool:
    """Whether an agent holds no more of any acting liquid or additive than one that did nothing."""
    amounts = dict((*tested.acting, *tested.additives))
    return all(share <= amounts.get(name, 0.0) for name, share in (*agent.acting, *agent.additives))


def is_feared(pair: Pair, jar: Jar) -> bool:
    """Whether a jar has an acting part of something that harmed the kept coat."""
    return any(
        t.high > 0
        and not _other_side(t, jar)
        and (agents.agent_alarms(t.agent, jar.agent) or agents.shares_acting(t.agent, jar.agent))
        for t in pair.on_kept
    )


def one_step_up(at: AtHand, silent: Sequence[Agent]) -> list[Agent]:
    """For a coat about which nothing is known: the mildest agents first; once something was tried, those that reach at
    most one step further than what did nothing, and less far than what harmed the kept coat (`reach`)."""
    policy, reference = at.pair.case.policy, at.pair.case.reference
    far = {agent.text: each for agent in silent if (each := reach(agent, policy, reference)) is not None}
    able = sorted(
        (agent for agent in silent if agent.text in far),
        key=lambda agent: (round(far[agent.text], 2), len(agent.liquids), hazard(agent, policy, reference), agent.text),
    )
    harmed = [each for t in at.harmed() if (each := reach(t.agent, policy, reference)) is not None]
    able = [agent for agent in able if far[agent.text] < min(harmed, default=math.inf)]
    idle = [each for t in at.idle() if (each := reach(t.agent, policy, reference)) is not None]
    if not idle:
        return able
    up = [agent for agent in able if far[agent.text] > max(idle)]
    most = max((far[agent.text] for agent in up if far[agent.text] <= max(idle) + policy.bench.step), default=0.0)
    return [agent for agent in up if far[agent.text] >= most]


def reach(agent: Agent, policy: Policy, reference: Reference) -> float | None:
    """How far an agent reaches among the binders with a published sphere, 0 to 1: the mean of 1 / (1 + RED⁴), with the
    nearest sphere of each binder and the nearest point at which the agent may lie; ½ on an edge. Our own measure of
    mildness. None for water, and where the agent's point is not known."""
    points = candidate_points(agent, reference, policy)
    if not points:
        return None
    near = (
        min(agents.ra(point, sphere.centre) / sphere.radius for point in points for sphere in own)
        for own in reference.spheres.values()
    )
    return sum(1 / (1 + red**4) for red in near) / len(reference.spheres)
