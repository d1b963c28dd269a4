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
from collection.compute.actions import CLEANING_OR_COATING, KIND_OF_ACTION
from collection.compute.models import Tested, Word, word
from collection.compute.places import places_of
from collection.compute.readings import treatment_span
from collection.compute.stack import Coat, Stack, colour_of, stack_of
from collection.facts import Facts, current
from collection.policy import Interval, Policy
from collection.records import Layer, ProposalStep, Response, Test
from collection.reference import Reference
from collection.sentences import ended
from collection.words import CLEAR_ROLES, WETTING_RUBBING

Bounds = tuple[float, float]


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


@dataclass(frozen=True, slots=True)
class Met:
    """A coat that a test met. Empty colour: not known, or not one; role None: not known."""

    scheme: str | None
    role: str | None
    colour: str
    layer: tuple[str, int] | None
    decoration: str | None


@dataclass(frozen=True, slots=True)
class Trial:
    """One recorded response: the test's conditions as intervals, and the share it stands for."""

    test: Test
    agent: Agent
    component: str | None
    met: Met
    low: float
    high: float
    response: str
    conditions: Mapping[str, Bounds]
    ended_by: str | None


CONDITIONS = ("dwell_s", "passes", "temperature_c", "conductivity_mscm", "wetting", "rubbing", "acid", "alkaline")
_NEVER_SKIPPED = frozenset({"dwell_s", "wetting", "rubbing", "acid", "alkaline"})
"""Conditions of which a blank never clears, not even where neither the test nor the step states them: else a step that
leaves its application out would be cleared by a test that, against any application named, clears nothing."""
_AQUEOUS_ONLY = frozenset({"acid", "alkaline", "conductivity_mscm"})


def conditions_of(row: Test | ProposalStep, agent: Agent | None, policy: Policy) -> Mapping[str, Bounds]:
    """A row's conditions as intervals, from what is stated or from the policy's mildest to harshest.

    What is blank is left out of the result's `stated` half: see `surely_as_harsh`. pH is two distances
    from 7, one to each side; it and conductivity only count where the agent holds water.
    """
    stated: dict[str, Bounds] = {}
    for name in ("dwell_s", "passes", "temperature_c", "conductivity_mscm"):
        value = getattr(row, name)
        if value is not None:
            stated[name] = (float(value), float(value))
    if row.application is not None:
        wetting, rubbing = WETTING_RUBBING[row.application]
        stated["wetting"], stated["rubbing"] = (wetting, wetting), (rubbing, rubbing)
    if row.ph is not None:
        acid, alkaline = max(0.0, 7 - row.ph), max(0.0, row.ph - 7)
        stated["acid"], stated["alkaline"] = (acid, acid), (alkaline, alkaline)
    if agent is not None and not agent.aqueous:
        stated = {name: span for name, span in stated.items() if name not in _AQUEOUS_ONLY}
    return stated


def surely_as_harsh(harsh: Mapping[str, Bounds], mild: Mapping[str, Bounds], *, aqueous: bool, policy: Policy) -> bool:
    """Whether conditions `harsh` are at least as harsh as `mild` whatever the blanks were."""
    return all(a[0] >= b[1] for a, b in _compared(harsh, mild, aqueous, policy))


def may_be_milder(mild: Mapping[str, Bounds], than: Mapping[str, Bounds], *, aqueous: bool, policy: Policy) -> bool:
    """Whether conditions `mild` may have been no harsher than `than`."""
    return all(a[0] <= b[0] for a, b in _compared(mild, than, aqueous, policy))


def _compared(one: Mapping[str, Bounds], other: Mapping[str, Bounds], aqueous: bool,
              policy: Policy) -> list[tuple[Bounds, Bounds]]:
    pairs = []
    for name in CONDITIONS:
        if name in _AQUEOUS_ONLY and not aqueous:
            continue
        if name not in one and name not in other and name not in _NEVER_SKIPPED:
            continue
        blank = policy.blank[name]
        pairs.append((one.get(name, blank), other.get(name, blank)))
    return pairs


@lru_cache(maxsize=64)
def trials(facts: Facts, policy: Policy, reference: Reference) -> tuple[Trial, ...]:
    """Every recorded response as a trial, in the order of its key."""
    tests = {t.test: t for t in facts.tests}
    places = places_of(facts)
    layers = {(la.sample, la.position): la for la in facts.layers}
    found = []
    for response in facts.responses:
        test = tests.get(response.test)
        if test is None or KIND_OF_ACTION[test.action or "solvent"] not in ("contact", "adds"):
            continue
        agent = agents.parse(test.agent, reference.solvents)
        low, high = policy.response[response.response]
        found.append(Trial(test, agent, places.component_of(test.place),
                           _met(facts, response, test, stack_of(facts, test.place, policy), layers),
                           low, high, response.response, conditions_of(test, agent, policy),
                           _ended_by(facts, test)))
    return tuple(found)


def _met(facts: Facts, response: Response, test: Test, stack: Stack,
         layers: Mapping[tuple[str, int], Layer]) -> Met:
    if response.decoration:
        row = current(facts.decorations, "decoration").get(response.decoration)
        return Met(row.scheme if row else None, row.kind if row else None, "", None, response.decoration)
    if response.sample and response.position:
        layer = layers.get((response.sample, response.position))
        if layer is None:
            return Met(None, None, "", (response.sample, response.position), None)
        return Met(layer.scheme, layer.role, colour_of(layer), (layer.sample, layer.position), None)
    here = [c for c in stack.coats if c.scheme == response.scheme and c.seen_here]
    if response.role:
        here = [c for c in here if c.role == response.role]
        colours = {c.key.colour for c in here}
        return Met(response.scheme or None, response.role, colours.pop() if len(colours) == 1 else "", None, None)
    # A whole scheme's response is that of its outermost coat where the test was made.
    outermost = here[0] if here else None
    return Met(response.scheme or None, outermost.role if outermost else None,
               outermost.key.colour if outermost else "", None, None)


def _ended_by(facts: Facts, test: Test) -> str | None:
    """The later work in the place after which the test no longer clears; its date may overlap the test's."""
    places = places_of(facts)
    by_code = {t.treatment: t for t in facts.treatments}
    tested = dates.bounds(test.tested_on)
    for step in facts.treatment_steps:
        treatment = by_code.get(step.treatment)
        if treatment is None or step.action not in CLEANING_OR_COATING or not places.overlap(step.place, test.place):
            continue
        if treatment_span(treatment).latest >= tested.earliest:
            return treatment.treatment
    return None


def _relation(coat: Coat, component: str | None, trial: Trial) -> str | None:
    """`itself` where the trial surely met this very coat, and may clear it; `same` where it may have been
    another coat that the records do not tell apart; `alarm` where it met its like; else None.

    An effect counts in full against what is itself or the same: what is left blank never clears, and never
    takes an effect away either.
    """
    met = trial.met
    met_here = met.layer is not None and met.layer in coat.layers
    if coat.decoration is not None:
        if met.decoration == coat.decoration:
            return "itself"
        if met_here:
            return "itself" if coat.told_apart else "same"
        return "alarm" if met.scheme is not None and met.scheme == coat.scheme else None
    if met_here:
        return "itself" if coat.told_apart else "same"
    if met.scheme is None or met.scheme != coat.scheme:
        return None
    if met.decoration is not None or met.role != coat.role or trial.component != component:
        return "alarm"
    if coat.role in CLEAR_ROLES or (coat.key.colour and met.colour == coat.key.colour):
        return "itself"
    return "alarm" if met.colour and coat.key.colour else "same"


@lru_cache(maxsize=4096)
def _related(facts: Facts, component: str | None, coat: Coat, policy: Policy,
             reference: Reference) -> tuple[tuple[str, Trial], ...]:
    """The trials that say anything of a coat, each with how it is related to it."""
    return tuple((relation, trial) for trial in trials(facts, policy, reference)
                 if (relation := _relation(coat, component, trial)) is not None)


def trials_of(facts: Facts, stack: Stack, coat: Coat, policy: Policy, reference: Reference) -> tuple[Trial, ...]:
    """The trials that met a coat itself, or what the records do not tell apart from it."""
    return tuple(t for relation, t in _related(facts, stack.component, coat, policy, reference) if relation != "alarm")


def tested_of(facts: Facts, stack: Stack, coat: Coat, step: ProposalStep, on_day: str | None, policy: Policy,
              reference: Reference) -> tuple[Tested, ...]:
    """A coat's own tests as models read them: every effect, and what this very coat stood, surely as harshly as the
    step, where nothing has ended it since."""
    return _tested(_related(facts, stack.component, coat, policy, reference), step, on_day, policy, reference)


def _tested(related: Sequence[tuple[str, Trial]], step: ProposalStep, on_day: str | None, policy: Policy,
            reference: Reference) -> tuple[Tested, ...]:
    agent = None if step.agent is None else agents.parse(step.agent, reference.solvents)
    planned = conditions_of(step, agent, policy)
    found = [Tested(t.agent, t.test.ph, True, t.test.test) for relation, t in related
             if relation != "alarm" and t.high > 0]
    for relation, t in related:
        if relation == "itself" and t.high == 0 and _why_it_no_longer_speaks(t, on_day, policy) is None:
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
    key = (tuple((relation, id(trial)) for relation, trial in related), coat.binders, coat.may_be, coat.basis,
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
    own = [t for relation, t in related if relation != "alarm"]
    itself = [t for relation, t in related if relation == "itself"]
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
    likes = [t for relation, t in related if relation == "alarm" and t.high > 0 and _same_side(t.test.ph, step.ph)]
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
    return a is None or b is None or (a - 7) * (b - 7) >= 0


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
