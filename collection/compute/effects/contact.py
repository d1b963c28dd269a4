"""What a step that brings a liquid does to one coat: the share taken where it touches, [low, middle, high], and why.

Recorded responses are compared by a partial order of harshness (`ladders`). Only harmless tests of the coat itself that
were surely as harsh clear it, and a milder test that did something overrules a harsher one that did not. Without such a
test the upper rate is 1. What happened to coats like it, and what models say (`models`), may raise an alarm but never
clear one. Common practice, no published source.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from collection.compute.build_up.coats import Coat
from collection.compute.case import Case, kept
from collection.compute.effects.clearing import Contact, lacking, why_it_no_longer_clears
from collection.compute.effects.ladders import at_most, nearest_limit, no_harsher
from collection.compute.effects.models import Opinion, Question, Tested, opinion
from collection.compute.effects.relations import related
from collection.compute.effects.trials import Bounds, Trial, may_be_milder, surely_as_harsh
from collection.compute.effects.work import Work
from collection.language.sentences import described, ended
from collection.records.policy import Interval, Policy
from collection.records.sheets import Test
from collection.values import agents
from collection.values.spoken_dates import in_words


@dataclass(frozen=True, slots=True)
class Rate:
    """Share of a coat taken where a step touches it.

    `effect` marks a recorded effect on this coat of something no harsher than the step; `feared` an effect of something
    harsher, or on a coat like it, that no evidence contradicts; `cleared` that U = 0 rests on recorded tests. `tests`
    are the tests relied on, and `wanting` says what would let one clear. `model` is what models say about an agent that
    no test cleared, [low, middle, high], None where no model has anything to go by, and `reference` the published
    values it rests on: similar coats and models may alarm, and clear nothing. `failing` marks finish that comes off at
    a touch, `undried` a clearance by a test that does not say whether it was looked at again when dry.
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
    feared: bool = False
    failing: bool = False
    undried: bool = False


def contact_rate(work: Work, coat: Coat, *, on_failing: bool = False) -> Rate:
    """The rate of a step that brings a liquid onto a coat, from recorded responses first.

    A test older than the policy's years on the day of the work clears nothing. With `on_failing` only tests on failing
    finish may clear.
    """
    step, tests = work.step, related(work.case, work.stack.component, coat)
    # Coats of one binder with the same trials get the same answer, and most coats have no trials.
    rests_on = (
        contact_rate,
        tests,
        coat.binders,
        coat.may_be,
        coat.basis,
        step.agent,
        step.ph,
        step.dwell_s,
        step.passes,
        step.temperature_c,
        step.conductivity_mscm,
        step.application,
        work.day,
        on_failing,
    )
    return work.case.once(rests_on, lambda: _judged(Contact(work, coat, tests, on_failing)))


def _judged(contact: Contact) -> Rate:
    """The rate of one contact: cleared by a test, else by what harmed the coat or one like it, and what models say."""
    if contact.work.agent is None:
        return _unnamed_agent(contact)
    known = _known_from_tests(contact)
    if known.high == 0 and known.cleared_by is not None:
        return _stood(contact, known.cleared_by)
    effects, harsher, likes = _effects(contact, known)
    model = None if known.stood_as_much else _opinion(contact)
    alarmed = model is not None and model.high >= contact.work.case.policy.model_rate and not effects and not likes
    relied_on = [t for t in (known.low_by, *effects, *likes) if t is not None]
    return Rate(
        known.low,
        _expected(contact, known.low, known.high, model),
        known.high,
        _why(contact, known, effects or harsher, likes, model if alarmed else None) or _nothing_known(model),
        bool(effects),
        False,
        _names(relied_on or ([known.cleared_by] if known.cleared_by else [])),
        _wanting(contact, known, effects, alarmed),
        None if model is None else model.span,
        model.reference if model is not None and alarmed else None,
        feared=bool(likes),
    )


def _unnamed_agent(contact: Contact) -> Rate:
    """A step that names no liquid: it may be the one of any test that harmed the coat or one like it."""
    hurt = [t for _, t in contact.related if t.high > 0]
    return Rate(
        0.0,
        _expected(contact, 0.0, 1.0, None),
        1.0,
        "No agent is named, so it may be any.",
        effect=bool(hurt),
        tests=_names(hurt),
        wanting="name the agent",
    )


@dataclass(frozen=True, slots=True)
class _Known:
    """What recorded tests of a coat say about a step.

    `low` and `high` are the least and the most that it takes, with the tests that say so. `stood_as_much`: the coat, or
    one that the records do not tell apart from it, stood as much, so that no model is asked. `one_of_several`: only the
    latter is certain, with this very agent. `stronger_stood`: a mixture with as much of the liquids that act did
    nothing, so that harsher effects are limits, though a model may give the weaker one a higher chance. `lacking` says
    what the test that came nearest to clearing lacks.
    """

    low: float
    low_by: Trial | None
    high: float
    cleared_by: Trial | None
    stood_as_much: bool
    one_of_several: bool
    stronger_stood: bool
    lacking: str | None


def _known_from_tests(contact: Contact) -> _Known:
    case, own = contact.work.case, contact.own
    low, low_by = _least_taken(contact)
    high: float = 1.0
    cleared_by: Trial | None = None
    stood_as_much = one_of_several = stronger_stood = False
    shortfalls: list[tuple[int, str]] = []
    for how, trial in contact.related:
        if how == "alarm":
            continue
        short = lacking(contact, trial)
        if short is None or lacking(contact, trial, to_clear=False) is None:
            most = at_most(trial, own, case.policy)
            stood = most == 0
            stronger_stood |= stood
            one_of_several |= stood and short is None
            stood_as_much |= stood and (short is None or not case.reference.spheres_of(contact.coat.binders))
            if short is None and how == "itself" and (most < high or cleared_by is None):
                high, cleared_by = min(high, most), trial
        if short is not None and trial.high == 0:
            shortfalls.append(short)
    nearest = max(shortfalls, key=lambda each: each[0], default=(0, None))[1]
    harmless = low == 0
    return _Known(
        low,
        low_by,
        max(low, high),
        cleared_by,
        stood_as_much and harmless,
        one_of_several and harmless,
        stronger_stood and harmless,
        nearest,
    )


def _least_taken(contact: Contact) -> tuple[float, Trial | None]:
    """The least that the step takes: the largest such share among the tests that were surely no harsher, with that
    test."""
    low, low_by = 0.0, None
    for trial in contact.own:
        if trial.low > low and _is_no_harsher(contact, trial):
            low, low_by = trial.low, trial
    return low, low_by


def _stood(contact: Contact, by: Trial) -> Rate:
    """The rate of a coat cleared by a test of its own, with the limit that a harsher test found, and what stays
    open."""
    why = f"Stood {_with_conditions(by)}."
    limit = nearest_limit(by, [t for t in contact.own if _same_side(t.test.ph, contact.work.step.ph)])
    if limit is not None:
        why += f" {limit.response.capitalize()} at {_with_conditions(limit)}: that is the limit."
    if by.test.passes is None:
        why += f" {by.test.test} does not say how many passes: it counts as one."
    if by.test.after_drying is None:
        why += f" Whether {by.test.test} was looked at again when dry is not recorded."
    return Rate(0.0, 0.0, 0.0, why, cleared=True, tests=_names([by]), undried=by.test.after_drying is None)


def _effects(contact: Contact, known: _Known) -> tuple[list[Trial], list[Trial], list[Trial]]:
    """The tests that alarm: those no harsher than the step that affected the coat; harsher ones that did; and, if there
    is none of the first, what is to be feared: the harsher ones, else effects on coats like it."""
    if known.stronger_stood:
        return [], [], []
    effects, harsher = _own_effects(contact)
    return effects, harsher, [] if effects else harsher or _effects_on_its_like(contact)


def _own_effects(contact: Contact) -> tuple[list[Trial], list[Trial]]:
    """The tests of the coat that did something: those that were no stronger than the step, in liquid and conditions, as
    closely as such things are measured; and those that were harsher, or used another liquid that has an acting part in
    common with it."""
    work, agent, policy = contact.work, contact.work.agent, contact.work.case.policy
    assert agent is not None
    harmful = [t for t in contact.own if t.high > 0 and _same_side(t.test.ph, work.step.ph)]
    no_stronger = [
        t
        for t in harmful
        if agents.may_be_weaker(t.agent, agent, policy.margin.factor)
        and may_be_milder(t.conditions, work.conditions, aqueous=contact.is_wet(t), policy=policy)
    ]
    similar = [
        t
        for t in harmful
        if agents.same_agent(t.agent, agent)
        or agents.shares_acting(t.agent, agent)
        or agents.agent_alarms(t.agent, agent)
    ]
    return no_stronger, [t for t in similar if t not in no_stronger]


def _effects_on_its_like(contact: Contact) -> list[Trial]:
    """Effects on coats like this one, except those coats that are known to stand the step."""
    work, agent, policy = contact.work, contact.work.agent, contact.work.case.policy
    assert agent is not None
    groups: dict[tuple[object, ...], list[Trial]] = defaultdict(list)
    for how, t in contact.related:
        if how == "alarm":
            groups[t.met.scheme, t.met.role, t.met.colour, t.met.decoration, t.component].append(t)
    on_sound = replace(contact, on_failing=False) if contact.on_failing else contact
    found = []
    for group in groups.values():
        if any(at_most(t, group, policy) == 0 for t in group if lacking(on_sound, t, to_clear=False) is None):
            continue
        found += [
            t
            for t in group
            if t.high > 0
            and _same_side(t.test.ph, work.step.ph)
            and (agents.same_agent(t.agent, agent) or agents.agent_alarms(t.agent, agent))
        ]
    return found


def _opinion(contact: Contact) -> Opinion:
    """What models say about the step's agent on the coat, also from the coat's own tests."""
    work, coat = contact.work, contact.coat
    assert work.agent is not None
    tested = _tested(contact)
    return _asked_once(work.case, Question(coat.may_be, coat.basis, work.agent, work.step.ph, tested))


@kept
def _asked_once(case: Case, question: Question) -> Opinion:
    return opinion(question, case.policy, case.reference)


def tested_of(work: Work, coat: Coat) -> tuple[Tested, ...]:
    """A coat's own tests for the models: every effect, and the tests surely as harsh as the step that did nothing to
    the coat, or to one that the records do not tell apart from it, and that nothing has ended since."""
    return _tested(Contact(work, coat, related(work.case, work.stack.component, coat)))


def _tested(contact: Contact) -> tuple[Tested, ...]:
    work, policy = contact.work, contact.work.case.policy
    found = [Tested(t.agent, t.test.ph, True, t.test.test) for t in contact.own if t.high > 0]
    for t in contact.own:
        if t.high == 0 and why_it_no_longer_clears(t, work.day, policy) is None:
            # The pH is left out here: the model itself works out how far a test's pH counts.
            but_ph = ({**each, "acid": (0.0, 0.0), "alkaline": (0.0, 0.0)} for each in (t.conditions, work.conditions))
            if surely_as_harsh(*but_ph, aqueous=contact.is_wet(t), policy=policy):
                found.append(Tested(t.agent, t.test.ph, False, t.test.test))
    return tuple(found)


def _expected(contact: Contact, low: float, high: float, model: Opinion | None) -> float:
    """The expected share: what tests no harsher than the step did, or the chance that the agent acts times what an
    acting agent takes, whichever is more, but no more than halfway between the two limits that the tests set."""
    chance = 0.5
    if model is not None and model.span is not None:
        chance = model.span[1] if model.expects else max(model.span[1], 0.5)
    did = max(((t.low + t.high) / 2 for t in contact.own if _is_no_harsher(contact, t)), default=0.0)
    takes = chance * taken_where_it_acts(contact.work.conditions, contact.work.case.policy)
    return max(low, min(max(did, takes), (low + high) / 2))


def taken_where_it_acts(conditions: Mapping[str, Bounds], policy: Policy) -> float:
    """The share of a coat that an agent is expected to take if it acts at all: the policy's share for ten seconds in
    one pass, and the same share of the rest for each further ten. A time left blank may be long."""
    dwell = conditions.get("dwell_s", policy.blank["dwell_s"])[1]
    doses = dwell * conditions.get("passes", (1.0, 1.0))[0] / TEN_SECONDS
    return float(min(1 - (1 - policy.model.taken_where_it_acts) ** doses, MOST_EXPECTED))


TEN_SECONDS, MOST_EXPECTED = 10.0, 0.95


def _is_no_harsher(contact: Contact, trial: Trial) -> bool:
    """Whether the step is surely as harsh as a test."""
    work = contact.work
    return work.agent is not None and no_harsher(trial, work.agent, work.conditions, work.case.policy)


def _why(
    contact: Contact, known: _Known, effects: Sequence[Trial], likes: Sequence[Trial], alarm: Opinion | None
) -> str | None:
    """What the rate rests on, in a sentence; None where there is no evidence for or against the step."""
    agent = contact.work.agent
    assert agent is not None
    if effects:
        return f"{effects[0].response.capitalize()} at {_with_conditions(effects[0])}."
    if likes:
        met, test = likes[0].met, _with_conditions(likes[0])
        return f"{likes[0].response.capitalize()} on a similar coat, {met.scheme}/{met.role or '?'}, at {test}."
    if known.one_of_several:
        return "A coat that the records do not tell apart from it stood as much; nothing is certain about this one."
    if alarm is not None:
        tried = any(agents.same_agent(t.agent, agent) for t in contact.own)
        return ended(f"No test of {agent.text} on this coat{' as harsh as planned' if tried else ''}; {alarm.why}")
    return None


def _nothing_known(model: Opinion | None) -> str:
    plain = "No recorded test of this agent on this coat is as harsh as what is planned."
    return f"{plain} {model.why}" if model is not None and model.span is None else plain


def _wanting(contact: Contact, known: _Known, effects: Sequence[Trial], alarmed: bool) -> str | None:
    """What would let a test clear, as advice."""
    if effects:
        # The effect of this agent is on record; only another agent or milder conditions would change the answer.
        return "choose another agent, or milder conditions that a test of this coat stood"
    if known.one_of_several or (known.lacking is None and any(t.high == 0 for t in contact.own)):
        return "record the colour of the coat that was tested, so that it can be told apart from others"
    if known.lacking is not None:
        return known.lacking
    if alarmed and contact.work.agent is not None:
        return f"one test of {contact.work.agent.text} on this coat, in an inconspicuous place and as harsh as planned"
    return None


def _same_side(a: float | None, b: float | None) -> bool:
    # Neutral water is on neither side: an effect a whole unit of pH away says nothing about it.
    return a is None or b is None or (a - 7) * (b - 7) > 0 or abs(a - b) < 1


def _names(found: Sequence[Trial]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(f"{t.test.object}/{t.test.test}" for t in found))


def _with_conditions(trial: Trial) -> str:
    """A test with all the conditions that make it more or less harsh."""
    return f"{trial.test.test} ({test_told(trial.test)})"


def test_told(test: Test) -> str:
    """A test with its conditions, its place and its date, in words."""
    return described({**vars(test), "tested_on": in_words(test.tested_on)})
