"""At the swab: which of the jars at hand to try next in one place, and how, or why to try none.

The sequence is a conservator's, common practice, no published source: from the mildest upward, one variable changed at
a time, in an inconspicuous spot first. A window that tests prove ends the search (`proven_windows`); a ladder under way
goes on (`ladder`); otherwise `choice` picks what is likely to part the two coats: among candidates with about equal
chances the mildest first, then the one that differs least from the last test. Nothing is proposed that may be as harsh
as what harmed the kept coat, and other mixtures of those liquids are not tried here.

All of this is only a suggestion for a spot test. It permits nothing and clears nothing.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from collection.compute.effects.clearing import why_it_no_longer_clears
from collection.compute.effects.ladders import step_of
from collection.compute.effects.trials import Trial
from collection.compute.windows.companion.at_hand import AtHand, at_hand, jar_of
from collection.compute.windows.companion.choice import barred, chance, is_feared, likeliest, one_step_up
from collection.compute.windows.companion.coats import Kind
from collection.compute.windows.companion.ladder import Rung, Tried, milder_rung, next_rung, worth_a_spot
from collection.compute.windows.mixtures import Jar
from collection.compute.windows.proven_windows import Proven, parted_but, proven_windows, within
from collection.compute.windows.windows import Pair, candidates, rate_on_kept, spot
from collection.records.sheets import ProposalStep
from collection.values import agents
from collection.values.agents import Agent


@dataclass(frozen=True, slots=True)
class Step:
    """What to do next. `plan` is the swab, with all its conditions, and `agent` what is in it. `chance` is that it acts
    on the coat to remove and not on the one to keep, `risk` the most that it acts on the kept one, both None where no
    model speaks; `tests` are the codes relied on; `rung` says how a ladder goes on, `window` what tests prove,
    `wanting` what is missing for the proof; `stopped` are liquids that harmed the kept coat here, with their tests;
    `unknown` are bottles that no table knows."""

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


def next_step(
    pair: Pair,
    bottles: Sequence[Jar],
    *,
    application: str | None = None,
    doubtful: Collection[str] = (),
    unplaced: Mapping[str, str | None] | None = None,
) -> Step:
    """The next swab to try, from the bottles and their mixtures.

    What tests of the coats prove comes first, then the ladder under way, then what models say, then the mildest of what
    nothing is known about.

    :param application: the gentlest at hand; None for the policy's.
    :param doubtful: tests that cannot be fully read: what they were made with is not tried again.
    :param unplaced: records that may report harm but do not say clearly to what, each with its test, if known.
    """
    at = at_hand(pair, bottles, application, doubtful)
    step = _to_write_first(at, unplaced or {}) or _proven(at) or _tried_next(at)
    solvents = pair.case.reference.solvents
    return replace(
        step,
        agent=None if step.plan is None or step.plan.agent is None else agents.parse(step.plan.agent, solvents),
        stopped=_stopped(at),
        unknown=tuple(dict.fromkeys(jar.agent.text for jar in bottles if jar.agent.unknown)),
    )


def _to_write_first(at: AtHand, unplaced: Mapping[str, str | None]) -> Step | None:
    """What has to be written down before anything else is tried: harm to an unknown coat, and tests without a
    result."""
    facts = at.pair.case.facts
    elsewhere = {test.test for test in facts.tests} - at.codes
    harm = tuple(row for row, test in unplaced.items() if test not in elsewhere)
    if harm:
        return Step("mend", tests=harm)
    answered = {row.test for row in facts.responses} | at.doubtful
    blank = tuple(test.test for test in facts.tests if test.test in at.codes and test.test not in answered)
    return Step("write", tests=blank) if blank else None


def _proven(at: AtHand) -> Step | None:
    """What tests prove here, or would prove if more were recorded of them; or what they prove elsewhere with a jar at
    hand."""
    pair, policy = at.pair, at.pair.case.policy
    windows = proven_windows(pair)
    for each in windows:
        stood = (t for t in at.on_kept if t.high == 0 and within(each.start, t, policy))
        moved_here = any(t.test.test in at.codes for t in each.moved)
        if moved_here and any(stood) and jar_of(each.start).text not in at.held_back:
            return Step("found", tests=each.tests, plan=each.step, window=each)
    for trial, wanting in parted_but(pair):
        if trial.test.test not in at.codes or jar_of(trial).text in at.held_back:
            continue
        if trial.test.after_drying == "no" or why_it_no_longer_clears(trial, pair.day, policy) is None:
            return Step("settle", tests=(trial.test.test,), wanting=wanting)
        plan = step_of(trial, pair.place)
        if at.holds(jar_of(trial)) and worth_a_spot(pair, plan):
            return Step("again", tests=(trial.test.test,), plan=plan, wanting=wanting)
    for each in windows:
        if at.holds(jar_of(each.start)) and worth_a_spot(pair, each.step):
            return Step("again", tests=each.tests, plan=each.step, window=each)
    return None


def _tried_next(at: AtHand) -> Step:
    """What to try when nothing is proven yet."""
    pair = at.pair
    if rate_on_kept(pair, spot(pair.case.policy)).failing:
        return Step("lay")
    tried = at.tried()
    bare = _on_the_bare_coat(at, tried)
    if bare is not None:
        return bare
    rung = next_rung(pair, tried, at.jars)
    if rung is not None:
        return Step("rung", plan=rung.plan, rung=rung, tests=(rung.base.test.test,))
    found = _another_jar(at)
    if found.kind == "test":
        return found
    milder = milder_rung(pair, tried, at.jars)
    if milder is not None:
        return Step("rung", plan=milder.plan, rung=milder, tests=(milder.base.test.test,))
    return found


def _on_the_bare_coat(at: AtHand, tried: Sequence[Tried]) -> Step | None:
    """The agent that took one coat off and has no result on the other yet."""
    for each in tried:
        plan = step_of(each.trial, at.pair.place)
        if each.moved and each.kept is None and at.holds(jar_of(each.trial)) and worth_a_spot(at.pair, plan):
            model = rate_on_kept(at.pair, plan).model
            return Step("bare", plan=plan, risk=None if model is None else model[2], tests=(each.trial.test.test,))
    return None


def _another_jar(at: AtHand) -> Step:
    """Another liquid: the likeliest to part the coats, else the mildest of those that no model covers; none where it is
    better to try none."""
    pair, case = at.pair, at.pair.case
    left_alone = barred(at)
    ranked = candidates(pair, at.jars, application=at.application)
    known = [each for each in ranked if each.jar.text not in left_alone]
    last = max((t.test for t in (*at.on_removed, *at.on_kept)), key=lambda t: (t.tested_on or "", t.test), default=None)
    order = likeliest(known, None if last is None else agents.parse(last.agent, case.reference.solvents), case.policy)
    chosen = next((each for each in order if not each.warned and worth_a_spot(pair, at.swab(each.jar))), None)
    if chosen is not None:
        return Step("test", plan=at.swab(chosen.jar), chance=chance(chosen), risk=chosen.keeps[2])
    spoken_of = left_alone | {each.jar.text for each in ranked}
    unmodelled = [
        jar for jar in at.jars if jar.text not in spoken_of and not jar.agent.unknown and not is_feared(pair, jar)
    ]
    for jar in _mildest_first(at, unmodelled):
        if worth_a_spot(pair, at.swab(jar)):
            return Step("test", plan=at.swab(jar))
    return Step("leave", chance=max(map(chance, known), default=None), tests=_codes(at.harmed()))


def _mildest_first(at: AtHand, unmodelled: Sequence[Jar]) -> Iterable[Jar]:
    """Jars that no model covers: solvents where nothing is known about a coat, then water by its pH."""
    unknown = at.pair.remove_region is None or at.pair.keep_region is None
    solvents = [jar.agent for jar in unmodelled if not jar.agent.aqueous] if unknown else []
    water = (jar for jar in unmodelled if jar.ph is not None)
    return (
        *map(Jar, one_step_up(at, solvents)),
        *sorted(water, key=lambda jar: (len(jar.agent.additives), jar.from_neutral, jar.text)),
    )


def _stopped(at: AtHand) -> tuple[tuple[str, tuple[str, ...]], ...]:
    by: dict[str, list[Trial]] = {}
    for t in at.harmed():
        by.setdefault(" with ".join(name for name, _ in (*t.agent.acting_families, *t.agent.additives)), []).append(t)
    return tuple((name, _codes(met)) for name, met in sorted(by.items()))


def _codes(met: Iterable[Trial]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(t.test.test for t in met))
