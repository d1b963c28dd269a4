"""What one step does to one coat: the share taken where it touches, [low, middle, high], and why.

Recorded responses speak through a partial order of harshness; a coat is cleared only by harmless tests
of itself that were surely as harsh, and a milder test that did something overrules a harsher one that
did not. Without such a test the upper rate is 1, and what models say (`models`) may raise an alarm, never
clear one. Common practice, no published source.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

from collection import agents, dates
from collection.agents import Agent
from collection.compute.models import Tested, Word, word
from collection.compute.stack import Coat, Stack
from collection.compute.trials import Bounds, Trial, conditions_of, may_be_milder, relation, surely_as_harsh, trials
from collection.facts import Facts
from collection.policy import Interval, Policy
from collection.records import ProposalStep
from collection.reference import Reference
from collection.sentences import ended


@dataclass(frozen=True, slots=True)
class Rate:
    """Share of a coat taken where a step touches it.

    `effect` marks a recorded effect of this agent on this coat, `cleared` that U = 0 rests on recorded
    tests; `tests` are the tests relied on and `wanting` says what would let one clear. `model` is what models say of
    an agent that no test cleared, [low, middle, high], None where none speaks, and `reference` the published values
    it rests on: it may alarm, and clears nothing.
    """

    low: float
    middle: float
    high: float
    why: str
    effect: bool = False
    cleared: bool = False
    tests: tuple[str, ...] = ()
    wanting: str | None = None
    model: Interval | None = None
    reference: str | None = None


@lru_cache(maxsize=4096)
def _related(facts: Facts, component: str | None, coat: Coat, policy: Policy,
             reference: Reference) -> tuple[tuple[str, Trial], ...]:
    """The trials that say anything of a coat, each with how it is related to it."""
    return tuple((how, trial) for trial in trials(facts, policy, reference)
                 if (how := relation(coat, component, trial)) is not None)


def trials_of(facts: Facts, stack: Stack, coat: Coat, policy: Policy, reference: Reference) -> tuple[Trial, ...]:
    """The trials that met a coat itself, or what the records do not tell apart from it."""
    return tuple(t for how, t in _related(facts, stack.component, coat, policy, reference) if how != "alarm")


def harmful_trials(facts: Facts, stack: Stack, coat: Coat, policy: Policy, reference: Reference) -> tuple[Trial, ...]:
    """The trials that did something to a coat or to its like."""
    return tuple(t for _, t in _related(facts, stack.component, coat, policy, reference) if t.high > 0)


def tested_of(facts: Facts, stack: Stack, coat: Coat, step: ProposalStep, on_day: str | None, policy: Policy,
              reference: Reference) -> tuple[Tested, ...]:
    """A coat's own tests as models read them: every effect, and what this very coat stood, surely as harshly as the
    step, where nothing has ended it since."""
    return _tested(_related(facts, stack.component, coat, policy, reference), step, on_day, policy, reference)


def _tested(related: Sequence[tuple[str, Trial]], step: ProposalStep, on_day: str | None, policy: Policy,
            reference: Reference) -> tuple[Tested, ...]:
    agent = None if step.agent is None else agents.parse(step.agent, reference.solvents)
    planned = conditions_of(step, agent, policy)
    found = [Tested(t.agent, t.test.ph, True, t.test.test) for how, t in related
             if how != "alarm" and t.high > 0]
    for how, t in related:
        if how == "itself" and t.high == 0 and _why_it_no_longer_speaks(t, on_day, policy) is None:
            # How far the pH of a test reaches is the model's to say.
            but_ph = ({**each, "acid": (0.0, 0.0), "alkaline": (0.0, 0.0)} for each in (t.conditions, planned))
            wet = t.agent.aqueous or (agent is not None and agent.aqueous)
            if surely_as_harsh(*but_ph, aqueous=wet, policy=policy):
                found.append(Tested(t.agent, t.test.ph, False, t.test.test))
    return tuple(found)


def contact_rate(facts: Facts, stack: Stack, coat: Coat, step: ProposalStep, on_day: str | None, policy: Policy,
                 reference: Reference) -> Rate:
    """The rate of a step that brings a liquid onto a coat, from recorded responses alone.

    `on_day` is when the work is meant to happen: a test older than the policy's years clears nothing.
    """
    related = _related(facts, stack.component, coat, policy, reference)
    # Coats of one binder that the same trials met are answered alike, and most were met by none.
    key = (tuple((how, id(trial)) for how, trial in related), coat.binders, coat.may_be, coat.basis,
           step.agent, step.ph, step.dwell_s, step.passes, step.temperature_c, step.conductivity_mscm,
           step.application, on_day)
    answers = _answers(facts, policy, reference)
    found = answers.get(key)
    if found is None:
        found = answers[key] = _contact_rate(related, coat, step, on_day, policy, reference)
    return found


class _Answers(dict[tuple[object, ...], Rate]):
    """Rates by what they rest on; the trials are held, so that their identities stay theirs."""

    def __init__(self, held: tuple[Trial, ...]) -> None:
        super().__init__()
        self._held = held


@lru_cache(maxsize=64)
def _answers(facts: Facts, policy: Policy, reference: Reference) -> _Answers:
    return _Answers(trials(facts, policy, reference))


def _contact_rate(related: Sequence[tuple[str, Trial]], coat: Coat, step: ProposalStep, on_day: str | None,
                  policy: Policy, reference: Reference) -> Rate:
    if step.agent is None:
        hurt = [t for _, t in related if t.high > 0]
        return Rate(0.0, 0.5, 1.0, "No agent is named, so it may be any.", effect=bool(hurt),
                    tests=_names(hurt), wanting="name the agent")
    agent = agents.parse(step.agent, reference.solvents)
    planned = conditions_of(step, agent, policy)
    aqueous = agent.aqueous
    own = [t for how, t in related if how != "alarm"]
    itself = [t for how, t in related if how == "itself"]
    low, low_by = 0.0, None
    for t in own:
        if t.low > low and agents.agent_alarms(t.agent, agent) and surely_as_harsh(
                planned, t.conditions, aqueous=aqueous, policy=policy):
            low, low_by = t.low, t
    high, cleared_by, wanting = 1.0, None, None
    for t in itself:
        refusal = _why_not_clearing(t, agent, planned, on_day, coat, policy, reference)
        if refusal is not None:
            if t.high == 0:
                wanting = wanting or refusal
            continue
        worst = max(s.high for s in own if s is t or (
            agents.agent_alarms(s.agent, t.agent)
            and may_be_milder(s.conditions, t.conditions, aqueous=s.agent.aqueous or aqueous, policy=policy)))
        if worst < high or cleared_by is None:
            high, cleared_by = min(high, worst), t
    high = max(low, high)
    hurting = [t for t in own if t.high > 0 and _same_side(t.test.ph, step.ph)]
    likes = [t for how, t in related if how == "alarm" and t.high > 0 and _same_side(t.test.ph, step.ph)]
    strong = [t for t in hurting if agents.agent_alarms(t.agent, agent)]
    weak = [t for t in hurting if agents.same_agent(t.agent, agent) or agents.shares_acting(t.agent, agent)]
    weak += [t for t in likes if agents.same_agent(t.agent, agent) or agents.agent_alarms(t.agent, agent)]
    cleared = high == 0.0
    alarming = strong if cleared else strong + [t for t in weak if t not in strong]
    relied = ([low_by] if low_by else []) + alarming + ([cleared_by] if cleared_by and not alarming else [])
    said = None if cleared else word(coat, agent, step.ph,
                                     _tested(related, step, on_day, policy, reference), policy, reference)
    alarmed = said is not None and said.high >= policy.model_rate and not alarming
    if cleared and not alarming and cleared_by is not None:
        why = f"Stood {_spoken(cleared_by)}."
    elif alarming:
        on = "" if alarming[0] in own else f" on its like, {alarming[0].met.scheme}/{alarming[0].met.role or '?'}"
        why = f"{alarming[0].response.capitalize()}{on} at {_spoken(alarming[0])}."
    else:
        why = "No recorded test of this agent on this coat is as harsh as what is planned."
        if said is not None and alarmed:
            tried = any(agents.same_agent(t.agent, agent) for t in own)
            why = ended(f"No test of {agent.text} on this coat{' as harsh as planned' if tried else ''}; {said.why}")
        elif said is not None and said.span is None:
            why = f"{why} {said.why}"
    if wanting is None and any(t.high == 0 for t in own):
        wanting = "record the colour of the coat that was met, so that it is told apart from others"
    if strong:
        # What this agent did stands; another test of it would change nothing.
        wanting = "choose another agent, or milder conditions that a test of this coat stood"
    if wanting is None and alarmed:
        wanting = f"one test of {agent.text} on this coat, in an inconspicuous place and as harsh as planned"
    return Rate(low, _middle(low, high, said), high, why, bool(alarming), cleared, _names(relied), wanting,
                None if said is None else said.span, said.reference if said is not None and alarmed else None)


def _middle(low: float, high: float, said: Word | None) -> float:
    """What is to be expected: what the models say, held within what the tests leave; without them the middle of it."""
    halfway = (low + high) / 2
    if said is None or said.span is None:
        return halfway
    return min(max(said.span[1] if said.expects else max(said.span[1], halfway), low), high)


def _why_not_clearing(trial: Trial, agent: Agent, planned: Mapping[str, Bounds], on_day: str | None, coat: Coat,
                      policy: Policy, reference: Reference) -> str | None:
    """What keeps a test from clearing, as advice; None where nothing does."""
    if trial.ended_by is not None:
        return _why_it_no_longer_speaks(trial, on_day, policy)
    if trial.agent.several or agent.several:
        return "name the very liquid: white spirit and its like are several"
    if not agents.agent_clears(trial.agent, agent, reference.spheres_of(coat.binders)):
        return f"one test of {agent.text} on this coat"
    if (ended := _why_it_no_longer_speaks(trial, on_day, policy)) is not None:
        return ended
    if not surely_as_harsh(trial.conditions, planned, aqueous=agent.aqueous or trial.agent.aqueous, policy=policy):
        missing = [name for name in ("dwell_s", "application") if getattr(trial.test, name) is None]
        if missing:
            return f"state {' and '.join(missing)} of test {trial.test.test}"
        return (f"one test at least as harsh as planned ({trial.test.test} was milder, or the step leaves its "
                "conditions blank)")
    return None


def _why_it_no_longer_speaks(trial: Trial, on_day: str | None, policy: Policy) -> str | None:
    if trial.ended_by is not None:
        return f"test again: {trial.ended_by} changed the surface after {trial.test.test}, or their dates may overlap"
    oldest, day = dates.bounds(trial.test.tested_on).earliest, dates.bounds(on_day).latest
    if int(day[:4]) - int(oldest[:4]) > policy.clearing_years:
        return f"date {trial.test.test}, or test again: it may be over {policy.clearing_years:g} years old"
    return None


def _same_side(a: float | None, b: float | None) -> bool:
    # Neutral water is on neither side: what did something a whole unit of pH away says nothing of it.
    return a is None or b is None or (a - 7) * (b - 7) > 0 or abs(a - b) < 1


def _names(found: Sequence[Trial]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(f"{t.test.object}/{t.test.test}" for t in found))


def _spoken(trial: Trial) -> str:
    test = trial.test
    parts = [f"test {test.test}", f"({trial.agent.text}"]
    if test.dwell_s is not None:
        parts.append(f"{test.dwell_s:g} s")
    if test.application:
        parts.append(test.application)
    return f"{parts[0]} {', '.join(parts[1:])}, {test.place}" + (f", {test.tested_on})" if test.tested_on else ")")
