"""Beside the swab: which jar of those at hand to try next in one place, and how, or why to try none.

The sequence is a conservator's, common practice, no published source: from the mildest upward, one variable changed at
a time, in an inconspicuous spot first. What tests prove ends it (`proven`); a ladder that is under way goes on
(`bench_ladder`); else what is likely to part the two coats comes from `windows`: of candidates whose chances are about
equal the mildest is tried first, then the one that differs least from the last. Nothing is proposed that may be as
harsh as what harmed the kept coat, and other mixtures of its liquids are left alone here.

All of it is a suggestion for a spot test. It permits nothing, and clears nothing.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from collection.compute.build_up.coats import Coat
from collection.compute.build_up.places import places_of
from collection.compute.build_up.stack import stack_of
from collection.compute.case import Case
from collection.compute.effects.contact import contact_rate, why_it_no_longer_speaks
from collection.compute.effects.ladders import step_of
from collection.compute.effects.models import candidate_points
from collection.compute.effects.trials import Trial, conditions_of, may_be_milder
from collection.compute.windows.companion_ladder import Rung, milder_rung, next_rung, tried_here, worth_a_spot
from collection.compute.windows.mixtures import Jar, jars_of
from collection.compute.windows.proven_windows import Proven, parted_but, proven_windows, within
from collection.compute.windows.windows import Candidate, Pair, candidates, hazard, rate_on_kept, spot
from collection.language.words import FOREIGN_ROLES
from collection.records.policy import Policy
from collection.records.sheets import ProposalStep, Test
from collection.values import agents
from collection.values.agents import Agent
from collection.values.reference import Reference
from collection.values.reference_rows import Triple

Kind = Literal[
    "test",
    "rung",
    "again",
    "bare",
    "found",
    "settle",
    "write",
    "mend",
    "leave",
    "lay",
    "no coats",
    "kept",
    "nothing beneath",
]
LIQUIDS_MIXED = 2
"""A mixture of three changes two things at once, and nobody at a bench mixes one by eye; jars mixed before may hold
more."""


@dataclass(frozen=True, slots=True)
class Coats:
    """What to remove and what to keep in a place; a coat is None where there is none, and `kind` says why."""

    remove: Coat | None
    keep: Coat | None
    kind: Kind


@dataclass(frozen=True, slots=True)
class Step:
    """What to do next. `plan` is the swab, with all its conditions, and `agent` what is in it. `chance` is that it acts
    on the coat to remove and not on the one to keep, `risk` the most that it acts on the kept one, both None where no
    model speaks; `tests` are the codes relied on; `rung` says how a ladder goes on, `window` what tests prove,
    `wanting` what keeps them from proving it; `stopped` are liquids that harmed the kept coat here, with their tests;
    `unknown` bottles of which no table knows anything."""

    kind: Kind
    agent: Agent | None = None
    chance: float | None = None
    risk: float | None = None
    tests: tuple[str, ...] = ()
    stopped: tuple[tuple[str, tuple[str, ...]], ...] = ()
    unknown: tuple[str, ...] = ()
    plan: ProposalStep | None = None
    rung: Rung | None = None
    window: Proven | None = None
    wanting: str | None = None


def coats_of(case: Case, place: str) -> Coats:
    """The outermost later coat that nothing keeps, and the next kept coat beneath it; dirt and wax only where no other
    coat is to be removed."""
    stack = stack_of(case, place)
    if not stack.coats:
        return Coats(None, None, "no coats")
    first = next(
        (
            at
            for foreign in (False, True)
            for at, coat in enumerate(stack.coats)
            if not coat.kept and (coat.role in FOREIGN_ROLES) == foreign
        ),
        None,
    )
    if first is None or any(coat.kept for coat in stack.coats[:first]):
        return Coats(None, next(coat for coat in stack.coats if coat.kept), "kept")
    keep = next((coat for coat in stack.coats[first + 1 :] if coat.kept), None)
    return Coats(stack.coats[first], keep, "test" if keep is not None else "nothing beneath")


def kept_below(case: Case, place: str, named: str) -> Coat | None:
    """The next kept coat beneath the one that is named; None where there is none, or no such coat."""
    stack = stack_of(case, place)
    scheme, _, role = named.partition("/")
    at = next(
        (
            at
            for at, coat in enumerate(stack.coats)
            if coat.thing == named or (coat.scheme == scheme and (not role or coat.role == role))
        ),
        None,
    )
    return None if at is None else next((coat for coat in stack.coats[at + 1 :] if coat.kept), None)


def tests_here(case: Case, place: str) -> tuple[Test, ...]:
    """The tests of which a spot may lie in this place."""
    places = places_of(case)
    return tuple(test for test in case.facts.tests if places.overlap(test.place, place))


@dataclass(frozen=True)
class _Met:
    """What tests did to the coat to remove and to the one to keep; `held_back` are jars whose tests cannot be read."""

    on_removed: tuple[Trial, ...]
    on_kept: tuple[Trial, ...]
    held_back: frozenset[str]

    def harmed(self) -> list[Trial]:
        return [t for t in self.on_kept if t.high > 0]

    def idle(self) -> list[Trial]:
        """The tests of jars that were tried on the coat to remove and never did anything to it."""
        acted = {_jar(t).text for t in self.on_removed if t.high > 0}
        return [t for t in self.on_removed if _jar(t).text not in acted]

    def told(self, plan: Jar, step: ProposalStep, policy: Policy) -> bool:
        """Whether tests that may have been as harsh as a spot test of a jar were seen on both coats, or did nothing to
        the one to remove: one more would tell nothing new."""
        conditions = conditions_of(step, plan.agent)
        removed, kept = (
            [
                t
                for t in met
                if _jar(t).text == plan.text
                and may_be_milder(conditions, t.conditions, aqueous=plan.agent.aqueous, policy=policy)
            ]
            for met in (self.on_removed, self.on_kept)
        )
        return bool(removed and (kept or all(t.high == 0 for t in removed)))


def _jar(trial: Trial) -> Jar:
    return Jar(trial.agent, trial.test.ph)


def next_step(
    pair: Pair,
    bottles: Sequence[Jar],
    *,
    application: str | None = None,
    doubtful: Collection[str] = (),
    unplaced: Mapping[str, str | None] | None = None,
) -> Step:
    """The next swab to try, from the bottles and their mixtures.

    What tests of the coats prove comes first, then the ladder that is under way, then what models say, then the mildest
    of what nobody knows of.

    :param application: the gentlest at hand; the policy's, where nothing is said.
    :param doubtful: tests that cannot be read whole: what they were made with is not tried again.
    :param unplaced: where harm may be written of which it cannot be read what it harmed, each with its test, if known.
    """
    own = tests_here(pair.case, pair.place)
    codes = {test.test for test in own}
    elsewhere = {test.test for test in pair.case.facts.tests} - codes
    here = _Met(
        tuple(t for t in pair.on_removed if t.test.test in codes),
        tuple(t for t in pair.on_kept if t.test.test in codes),
        frozenset(
            Jar(agents.parse(test.agent, pair.case.reference.solvents), test.ph).text
            for test in own
            if test.test in doubtful
        ),
    )
    harm = tuple(spot for spot, test in (unplaced or {}).items() if test not in elsewhere)
    said = {row.test for row in pair.case.facts.responses}
    blank = tuple(test.test for test in own if test.test not in said and test.test not in doubtful)
    if harm:
        step = Step("mend", tests=harm)
    elif blank:
        step = Step("write", tests=blank)
    else:
        step = _proven(pair, here, bottles, codes) or _tried_next(pair, here, bottles, set(doubtful), application)
    agent = (
        None
        if step.plan is None or step.plan.agent is None
        else agents.parse(step.plan.agent, pair.case.reference.solvents)
    )
    return replace(
        step,
        agent=agent,
        stopped=_stopped(here),
        unknown=tuple(dict.fromkeys(jar.agent.text for jar in bottles if jar.agent.unknown)),
    )


def _proven(pair: Pair, here: _Met, bottles: Sequence[Jar], codes: Collection[str]) -> Step | None:
    """What tests prove here, or would if more were written of them; or elsewhere, with what stands at hand."""
    windows = proven_windows(pair)
    for each in windows:
        stood = (t for t in here.on_kept if t.high == 0 and within(each.start, t, pair.case.policy))
        if any(t.test.test in codes for t in each.moved) and any(stood) and _jar(each.start).text not in here.held_back:
            return Step("found", tests=each.tests, plan=each.step, window=each)
    at_hand = {jar.text for jar in jars_of(bottles, pair.case.reference, most=LIQUIDS_MIXED)} - here.held_back
    for trial, wanting in parted_but(pair):
        if trial.test.test not in codes or _jar(trial).text in here.held_back:
            continue
        if trial.test.after_drying == "no" or why_it_no_longer_speaks(trial, pair.day, pair.case.policy) is None:
            return Step("settle", tests=(trial.test.test,), wanting=wanting)
        plan = step_of(trial, pair.place)
        if _jar(trial).text in at_hand and worth_a_spot(pair, plan):
            return Step("again", tests=(trial.test.test,), plan=plan, wanting=wanting)
    for each in windows:
        if _jar(each.start).text in at_hand and worth_a_spot(pair, each.step):
            return Step("again", tests=each.tests, plan=each.step, window=each)
    return None


def _tried_next(
    pair: Pair, here: _Met, bottles: Sequence[Jar], doubtful: Collection[str], application: str | None
) -> Step:
    """What to try where nothing is proven yet."""
    if rate_on_kept(pair, spot(pair.case.policy)).failing:
        return Step("lay")
    tried = [each for each in tried_here(here.on_removed, here.on_kept) if each.trial.test.test not in doubtful]
    jars = [jar for jar in jars_of(bottles, pair.case.reference, most=LIQUIDS_MIXED) if jar.text not in here.held_back]
    at_hand = {jar.text for jar in jars}
    for each in tried:
        plan = step_of(each.trial, pair.place)
        if each.moved and each.kept is None and _jar(each.trial).text in at_hand and worth_a_spot(pair, plan):
            rate = rate_on_kept(pair, plan)
            return Step(
                "bare", plan=plan, risk=None if rate.model is None else rate.model[2], tests=(each.trial.test.test,)
            )
    rung = next_rung(pair, tried, jars)
    if rung is not None:
        return Step("rung", plan=rung.plan, rung=rung, tests=(rung.base.test.test,))

    def plan_of(jar: Jar) -> ProposalStep:
        return spot(pair.case.policy, jar, application=application).model_copy(update={"place": pair.place})

    barred = _barred(pair, here, jars, plan_of)
    ranked = candidates(pair, jars, application=application)
    known = [each for each in ranked if each.jar.text not in barred]
    last = max(
        (t.test for t in (*here.on_removed, *here.on_kept)), key=lambda t: (t.tested_on or "", t.test), default=None
    )
    order = _likeliest(
        known, None if last is None else agents.parse(last.agent, pair.case.reference.solvents), pair.case.policy
    )
    chosen = next((each for each in order if not each.warned and worth_a_spot(pair, plan_of(each.jar))), None)
    if chosen is not None:
        return Step("test", plan=plan_of(chosen.jar), chance=_chance(chosen), risk=chosen.keeps[2])
    told = {each.jar.text for each in ranked}
    silent = [jar for jar in jars if jar.text not in barred | told and not jar.agent.unknown and not _feared(pair, jar)]
    unknown = pair.remove_region is None or pair.keep_region is None
    solvents = [jar.agent for jar in silent if not jar.agent.aqueous] if unknown else []
    water = sorted(
        (jar for jar in silent if jar.ph is not None),
        key=lambda jar: (len(jar.agent.additives), jar.from_neutral, jar.text),
    )
    for jar in (*map(Jar, _one_step_up(solvents, here, pair.case.policy, pair.case.reference)), *water):
        if worth_a_spot(pair, plan_of(jar)):
            return Step("test", plan=plan_of(jar))
    milder = milder_rung(pair, tried, jars)
    if milder is not None:
        return Step("rung", plan=milder.plan, rung=milder, tests=(milder.base.test.test,))
    return Step("leave", chance=max(map(_chance, known), default=None), tests=_codes(here.harmed()))


def calmest(pair: Pair, active: Agent, bottles: Iterable[Agent]) -> Agent | None:
    """The bottle that is least likely to touch the kept coat, where none is known to arrest: of those that no test
    shows to have done anything to either, and no more likely to than not. None where there is no such bottle."""
    found: list[tuple[float, float, float, str, Agent]] = []
    for agent in bottles:
        if agent.text == active.text or agent.aqueous or active.aqueous:
            continue
        rates = [
            contact_rate(pair.case, pair.stack, coat, spot(pair.case.policy, agent), pair.day)
            for coat in (pair.keep, pair.remove)
        ]
        most = [0.0 if rate.cleared else 1.0 if rate.model is None else rate.model[2] for rate in rates]
        if most[0] < 0.5 and not any(rate.effect for rate in rates):
            found.append((most[0], most[1], hazard(agent, pair.case.policy, pair.case.reference), agent.text, agent))
    return min(found)[-1] if found else None


def _chance(candidate: Candidate) -> float:
    return candidate.removes[1] * (1 - candidate.keeps[2])


def _likeliest(known: Iterable[Candidate], last: Agent | None, policy: Policy) -> list[Candidate]:
    """The candidates that are worth a spot and no danger: those about as likely as the best to part the coats first,
    the mildest before all others; then the rest by their chance."""
    able = [
        each for each in known if each.keeps[2] <= policy.bench.most_risk and _chance(each) >= policy.bench.least_chance
    ]
    equal = policy.bench.about_equal * max(map(_chance, able), default=0.0)
    near = sorted(
        (each for each in able if _chance(each) >= equal),
        key=lambda each: (
            round(10 * each.keeps[2]),
            _changed(each.agent, last),
            len(each.agent.liquids),
            each.against,
            each.agent.text,
        ),
    )
    return near + sorted(
        (each for each in able if _chance(each) < equal), key=lambda each: (-_chance(each), each.agent.text)
    )


def _changed(agent: Agent, last: Agent | None) -> int:
    """How many variables differ from the last test: liquids that came or went, and one for other proportions."""
    if last is None:
        return 0
    ours, theirs = dict(agent.liquids), dict(last.liquids)
    return len(ours.keys() ^ theirs.keys()) or int(ours != theirs)


def _barred(pair: Pair, here: _Met, jars: Sequence[Jar], plan_of: Callable[[Jar], ProposalStep]) -> frozenset[str]:
    """What is not tried here as another liquid: what acts in something that harmed the kept coat, with whatever else
    and in any strength, unless tests show that the coat stands it or water lies on the other side of neutral; what was
    tried; what is weaker than something that did nothing to the coat to remove, or as good as the same."""
    harmed = [(t, {name for name, _ in (*t.agent.acting_families, *t.agent.additives)}) for t in here.harmed()]
    idle = here.idle()
    lie = {
        agent.text: candidate_points(agent, pair.case.reference, pair.case.policy)
        for agent in (*(jar.agent for jar in jars), *(t.agent for t in idle))
    }

    def is_barred(jar: Jar) -> bool:
        agent, step = jar.agent, plan_of(jar)
        if here.told(jar, step, pair.case.policy):
            return True
        names = {name for name, _ in (*agent.families, *agent.additives)}
        if (
            any(acting <= names and not _other_side(t, jar) for t, acting in harmed)
            and not rate_on_kept(pair, step).cleared
        ):
            return True
        conditions = conditions_of(step, agent)
        return any(
            may_be_milder(conditions, t.conditions, aqueous=agent.aqueous, policy=pair.case.policy)
            and (
                (agents.same_agent(agent, t.agent) and _no_more(agent, t.agent))
                or _apart(lie[agent.text], lie[t.agent.text]) < pair.case.policy.bench.least_apart
            )
            for t in idle
        )

    return frozenset(jar.text for jar in jars if is_barred(jar))


def _other_side(trial: Trial, jar: Jar) -> bool:
    return trial.test.ph is not None and jar.ph is not None and (trial.test.ph - 7) * (jar.ph - 7) < 0


def _apart(one: Sequence[Triple], other: Sequence[Triple]) -> float:
    """The longest way between the points at which two agents may lie, in MPa^½; endless where one has none."""
    return max((agents.ra(a, b) for a in one for b in other), default=math.inf)


def _no_more(agent: Agent, tested: Agent) -> bool:
    """Whether an agent holds no more of any acting liquid or additive than one that did nothing."""
    amounts = dict((*tested.acting, *tested.additives))
    return all(share <= amounts.get(name, 0.0) for name, share in (*agent.acting, *agent.additives))


def _feared(pair: Pair, jar: Jar) -> bool:
    return any(
        t.high > 0
        and not _other_side(t, jar)
        and (agents.agent_alarms(t.agent, jar.agent) or agents.shares_acting(t.agent, jar.agent))
        for t in pair.on_kept
    )


def _stopped(here: _Met) -> tuple[tuple[str, tuple[str, ...]], ...]:
    by: dict[str, list[Trial]] = {}
    for t in here.harmed():
        by.setdefault(" with ".join(name for name, _ in (*t.agent.acting_families, *t.agent.additives)), []).append(t)
    return tuple((name, _codes(met)) for name, met in sorted(by.items()))


def _codes(met: Iterable[Trial]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(t.test.test for t in met))


def _one_step_up(silent: Sequence[Agent], here: _Met, policy: Policy, reference: Reference) -> list[Agent]:
    """Where nothing is known of a coat: the mildest agents first, and once something was tried those that reach no more
    than one step further than what did nothing, and less than what harmed the kept coat (`reach`)."""
    far = {agent.text: each for agent in silent if (each := reach(agent, policy, reference)) is not None}
    able = sorted(
        (agent for agent in silent if agent.text in far),
        key=lambda agent: (round(far[agent.text], 2), len(agent.liquids), hazard(agent, policy, reference), agent.text),
    )
    harmed = [each for t in here.harmed() if (each := reach(t.agent, policy, reference)) is not None]
    able = [agent for agent in able if far[agent.text] < min(harmed, default=math.inf)]
    idle = [each for t in here.idle() if (each := reach(t.agent, policy, reference)) is not None]
    if not idle:
        return able
    up = [agent for agent in able if far[agent.text] > max(idle)]
    most = max((far[agent.text] for agent in up if far[agent.text] <= max(idle) + policy.bench.step), default=0.0)
    return [agent for agent in up if far[agent.text] >= most]


def reach(agent: Agent, policy: Policy, reference: Reference) -> float | None:
    """How far an agent reaches among the binders with a published sphere, 0 to 1: the mean of 1 / (1 + RED⁴), by the
    nearest sphere of each and the nearest point at which the agent may lie; ½ on an edge. Our own measure of mildness.
    None where its point is not known, and for water."""
    points = candidate_points(agent, reference, policy)
    if not points:
        return None
    near = (
        min(agents.ra(point, sphere.centre) / sphere.radius for point in points for sphere in own)
        for own in reference.spheres.values()
    )
    return sum(1 / (1 + red**4) for red in near) / len(reference.spheres)


def colours_of(case: Case, coat: Coat) -> tuple[str, ...]:
    """The colours that the readings of a coat are written with, in words, each once; Munsell where there are none."""
    rows = {(layer.sample, layer.position): layer for layer in case.facts.layers}
    found = (rows[spot].colour or rows[spot].munsell for spot in coat.layers if spot in rows)
    return tuple(dict.fromkeys(" ".join(each.split()) for each in found if each))
