"""Beside the swab: which mixture of the bottles at hand to try next in one place, or why to try none.

The sequence is a conservator's, common practice, no published source: from the mildest liquid upward, one variable
changed at a time, in an inconspicuous spot first, and nothing again that harmed the coat to keep. What is likely to
part the two coats comes from `windows`; of candidates whose chances are about equal the mildest is tried first, then
the one that differs least from the last. A harmful response on the kept coat here stops its liquids here for good.

All of it is a suggestion for a spot test. It permits nothing, and clears nothing.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from collection import agents
from collection.agents import Agent
from collection.compute.coats import Coat
from collection.compute.effects import contact_rate
from collection.compute.mixtures import mixed
from collection.compute.models import candidate_points
from collection.compute.places import places_of
from collection.compute.stack import stack_of
from collection.compute.trials import Trial
from collection.compute.windows import Candidate, Pair, candidates, hazard, spot
from collection.facts import Facts
from collection.policy import Policy
from collection.records import Test
from collection.reference import Reference
from collection.reference_rows import Triple
from collection.words import FOREIGN_ROLES

Kind = Literal["test", "again", "bare", "found", "write", "mend", "leave", "no coats", "kept", "nothing beneath"]
MOVED = 0.2
"""The least share of a coat that a response has to stand for, so that it counts as taken off: swelling does not."""
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
    """What to do next. `chance` is that the agent acts on the coat to remove and not on the one to keep, `risk` the
    most that it acts on the kept one, both None where no model speaks; `tests` are the codes relied on; `stopped` are
    liquids that harmed the kept coat here, each with its tests; `unknown` bottles of which no table knows anything."""

    kind: Kind
    agent: Agent | None = None
    chance: float | None = None
    risk: float | None = None
    tests: tuple[str, ...] = ()
    stopped: tuple[tuple[str, tuple[str, ...]], ...] = ()
    unknown: tuple[str, ...] = ()


def coats_of(facts: Facts, place: str, policy: Policy) -> Coats:
    """The outermost later coat that nothing keeps, and the next kept coat beneath it; dirt and wax only where no other
    coat is to be removed."""
    stack = stack_of(facts, place, policy)
    if not stack.coats:
        return Coats(None, None, "no coats")
    first = next((at for foreign in (False, True) for at, coat in enumerate(stack.coats)
                  if not coat.kept and (coat.role in FOREIGN_ROLES) == foreign), None)
    if first is None or any(coat.kept for coat in stack.coats[:first]):
        return Coats(None, next(coat for coat in stack.coats if coat.kept), "kept")
    keep = next((coat for coat in stack.coats[first + 1:] if coat.kept), None)
    return Coats(stack.coats[first], keep, "test" if keep is not None else "nothing beneath")


def kept_below(facts: Facts, place: str, named: str, policy: Policy) -> Coat | None:
    """The next kept coat beneath the one that is named; None where there is none, or no such coat."""
    stack = stack_of(facts, place, policy)
    scheme, _, role = named.partition("/")
    at = next((at for at, coat in enumerate(stack.coats)
               if coat.thing == named or (coat.scheme == scheme and (not role or coat.role == role))), None)
    return None if at is None else next((coat for coat in stack.coats[at + 1:] if coat.kept), None)


def tests_here(facts: Facts, place: str) -> tuple[Test, ...]:
    """The tests of which a spot may lie in this place."""
    places = places_of(facts)
    return tuple(test for test in facts.tests if places.overlap(test.place, place))


@dataclass(frozen=True)
class _Met:
    """What tests did to the coat to remove and to the one to keep; `held_back` are agents of tests that cannot be
    read."""

    on_removed: tuple[Trial, ...]
    on_kept: tuple[Trial, ...]
    held_back: frozenset[str]

    def of(self, agent: Agent) -> list[Trial]:
        return [t for t in (*self.on_removed, *self.on_kept) if t.agent.text == agent.text]

    def harmed(self) -> list[Trial]:
        return [t for t in self.on_kept if t.high > 0]

    def idle(self) -> list[Agent]:
        """What was tried on the coat to remove and never did anything to it."""
        acted = {t.agent.text for t in self.on_removed if t.high > 0}
        return list({t.agent.text: t.agent for t in self.on_removed if t.agent.text not in acted}.values())

    def parted(self) -> list[Agent]:
        """What took the one coat off and was seen to leave the other as it was, and never did anything to it."""
        harmed, stood = ({t.agent.text for t in self.on_kept if (t.high > 0) == did} for did in (True, False))
        moved = {t.agent.text: t.agent for t in self.on_removed if t.low >= MOVED}
        return [agent for text, agent in moved.items() if text in stood - harmed - self.held_back]

    def told(self) -> frozenset[str]:
        """The agents of which another test would tell nothing new: seen on both coats, idle, or harmful."""
        removed, kept = ({t.agent.text for t in met} for met in (self.on_removed, self.on_kept))
        return frozenset((removed & kept) | {agent.text for agent in self.idle()}
                         | {t.agent.text for t in self.harmed()})


def next_step(facts: Facts, pair: Pair, bottles: Sequence[Agent], policy: Policy, reference: Reference, *,
              doubtful: Collection[str] = (), unplaced: Mapping[str, str | None] | None = None) -> Step:
    """The next mixture to try, from the bottles and their mixtures.

    What tests of the coats showed to part them comes first, then what models say, then the mildest of what nobody
    knows of.

    :param doubtful: tests that cannot be read whole: what they were made with is not tried again.
    :param unplaced: where harm may be written of which it cannot be read what it harmed, each with its test, if known.
    """
    own = tests_here(facts, pair.place)
    codes = {test.test for test in own}
    elsewhere = {test.test for test in facts.tests} - codes
    said = {row.test for row in facts.responses}
    here = _Met(tuple(t for t in pair.on_removed if t.test.test in codes),
                tuple(t for t in pair.on_kept if t.test.test in codes),
                frozenset(agents.parse(test.agent, reference.solvents).text for test in own if test.test in doubtful))
    stopped, unknown = _stopped(here), tuple(agent.text for agent in bottles if agent.unknown)
    harm = tuple(spot for spot, test in (unplaced or {}).items() if test not in elsewhere)
    if harm:
        return Step("mend", tests=harm, stopped=stopped, unknown=unknown)
    blank = tuple(test.test for test in own if test.test not in said and test.test not in doubtful)
    if blank:
        return Step("write", tests=blank, stopped=stopped, unknown=unknown)

    def alarmed(agent: Agent) -> bool:
        # Whether it did anything to the kept coat or its like, here or on another part.
        return contact_rate(facts, pair.stack, pair.keep, spot(policy, agent.text), pair.day, policy, reference).effect

    parted = [agent for agent in here.parted() if not alarmed(agent)]
    if parted:
        return Step("found", parted[0], tests=_codes(here.of(parted[0])), stopped=stopped, unknown=unknown)
    mixtures = mixed((agent.text for agent in bottles), reference, most=LIQUIDS_MIXED)
    barred = _barred(here, mixtures, policy, reference)
    at_hand = {agent.text for agent in mixtures} - barred
    everywhere = _Met(pair.on_removed, pair.on_kept, here.held_back)
    for agent in everywhere.parted():
        if agent.text in at_hand and not alarmed(agent):
            return Step("again", agent, tests=_codes(everywhere.of(agent)), stopped=stopped, unknown=unknown)
    ranked = candidates(facts, pair, mixtures, policy, reference)
    known = [each for each in ranked if each.agent.text in at_hand]
    last = max((t.test for t in (*here.on_removed, *here.on_kept)), key=lambda t: (t.tested_on or "", t.test),
               default=None)
    order = _likeliest(known, None if last is None else agents.parse(last.agent, reference.solvents), policy)
    chosen = next((each for each in order if not alarmed(each.agent)), None)
    if chosen is not None:
        moved = [t for t in here.on_removed if t.agent.text == chosen.agent.text and t.low >= MOVED]
        return Step("bare" if moved else "test", chosen.agent, _chance(chosen), chosen.keeps[2], _codes(moved), stopped,
                    unknown)
    if pair.remove_region is None or pair.keep_region is None:
        told = {each.agent.text for each in ranked}
        silent = [agent for agent in mixtures if agent.text in at_hand - told and not agent.unknown
                  and not _feared(pair, agent)]
        for agent in _one_step_up(silent, here, policy, reference):
            if not alarmed(agent):
                return Step("test", agent, stopped=stopped, unknown=unknown)
    return Step("leave", None, max(map(_chance, known), default=None), None, _codes(here.harmed()), stopped, unknown)


def calmest(facts: Facts, pair: Pair, active: Agent, bottles: Sequence[Agent], policy: Policy,
            reference: Reference) -> Agent | None:
    """The bottle that is least likely to touch the kept coat, where none is known to arrest: of those that no test
    shows to have done anything to either, and no more likely to than not. None where there is no such bottle."""
    found: list[tuple[float, float, float, str, Agent]] = []
    for agent in bottles:
        if agent.text == active.text or agent.aqueous:
            continue
        rates = [contact_rate(facts, pair.stack, coat, spot(policy, agent.text), pair.day, policy, reference)
                 for coat in (pair.keep, pair.remove)]
        most = [0.0 if rate.cleared else 1.0 if rate.model is None else rate.model[2] for rate in rates]
        if most[0] < 0.5 and not any(rate.effect for rate in rates):
            found.append((most[0], most[1], hazard(agent, policy, reference), agent.text, agent))
    return min(found)[-1] if found else None


def _chance(candidate: Candidate) -> float:
    return candidate.removes[1] * (1 - candidate.keeps[2])


def _likeliest(known: Iterable[Candidate], last: Agent | None, policy: Policy) -> list[Candidate]:
    """The candidates that are worth a spot and no danger: those about as likely as the best to part the coats first,
    the mildest before all others; then the rest by their chance."""
    able = [each for each in known if each.keeps[2] <= policy.bench.most_risk
            and _chance(each) >= policy.bench.least_chance]
    equal = policy.bench.about_equal * max(map(_chance, able), default=0.0)
    near = sorted((each for each in able if _chance(each) >= equal), key=lambda each: (
        round(10 * each.keeps[2]), _changed(each.agent, last), len(each.agent.liquids), each.against, each.agent.text))
    return near + sorted((each for each in able if _chance(each) < equal),
                         key=lambda each: (-_chance(each), each.agent.text))


def _changed(agent: Agent, last: Agent | None) -> int:
    """How many variables differ from the last test: liquids that came or went, and one for other proportions."""
    if last is None:
        return 0
    ours, theirs = dict(agent.liquids), dict(last.liquids)
    return len(ours.keys() ^ theirs.keys()) or int(ours != theirs)


def _barred(here: _Met, mixtures: Sequence[Agent], policy: Policy, reference: Reference) -> frozenset[str]:
    """What is not tried here again: what harmed the kept coat, in any strength and with whatever else; what was tried;
    what is weaker than something that did nothing to the coat to remove, or as good as the same."""
    harmed = [{name for name, _ in (*t.agent.acting_families, *t.agent.additives)} for t in here.harmed()]
    idle, done = here.idle(), here.told() | here.held_back
    lie = {agent.text: candidate_points(agent, reference, policy) for agent in (*mixtures, *idle)}

    def is_barred(agent: Agent) -> bool:
        names = {name for name, _ in (*agent.families, *agent.additives)}
        return (agent.text in done or any(acting <= names for acting in harmed) or any(
            (agents.same_agent(agent, weak) and _no_more(agent, weak))
            or _apart(lie[agent.text], lie[weak.text]) < policy.bench.least_apart for weak in idle))

    return frozenset(agent.text for agent in mixtures if is_barred(agent))


def _apart(one: Sequence[Triple], other: Sequence[Triple]) -> float:
    """The longest way between the points at which two agents may lie, in MPa^½; endless where one has none."""
    return max((agents.ra(a, b) for a in one for b in other), default=math.inf)


def _no_more(agent: Agent, tested: Agent) -> bool:
    """Whether an agent holds no more of any acting liquid or additive than one that did nothing."""
    amounts = dict((*tested.acting, *tested.additives))
    return all(share <= amounts.get(name, 0.0) for name, share in (*agent.acting, *agent.additives))


def _feared(pair: Pair, agent: Agent) -> bool:
    return any(t.high > 0 and (agents.agent_alarms(t.agent, agent) or agents.shares_acting(t.agent, agent))
               for t in pair.on_kept)


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
    able = sorted((agent for agent in silent if agent.text in far), key=lambda agent: (
        round(far[agent.text], 2), len(agent.liquids), hazard(agent, policy, reference), agent.text))
    harmed = [each for t in here.harmed() if (each := reach(t.agent, policy, reference)) is not None]
    able = [agent for agent in able if far[agent.text] < min(harmed, default=math.inf)]
    idle = [each for agent in here.idle() if (each := reach(agent, policy, reference)) is not None]
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
    near = (min(agents.ra(point, sphere.centre) / sphere.radius for point in points for sphere in own)
            for own in reference.spheres.values())
    return sum(1 / (1 + red ** 4) for red in near) / len(reference.spheres)


def colours_of(facts: Facts, coat: Coat) -> tuple[str, ...]:
    """The colours that the readings of a coat are written with, in words, each once; Munsell where there are none."""
    rows = {(layer.sample, layer.position): layer for layer in facts.layers}
    found = (rows[spot].colour or rows[spot].munsell for spot in coat.layers if spot in rows)
    return tuple(dict.fromkeys(" ".join(each.split()) for each in found if each))
