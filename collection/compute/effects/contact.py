"""What one step does to one coat: the share taken where it touches, [low, middle, high], and why.

Recorded responses speak through a partial order of harshness (`ladders`); a coat is cleared only by harmless tests of
itself that were surely as harsh, and a milder test that did something overrules a harsher one that did not. Without
such a test the upper rate is 1, and what its like did, or what models say (`models`), may raise an alarm, never clear
one. Common practice, no published source.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from collection.compute.build_up.coats import Coat, Stack
from collection.compute.case import Case, kept
from collection.compute.effects.ladders import at_most, nearest_limit, no_harsher
from collection.compute.effects.models import Tested, Word, word
from collection.compute.effects.trials import (
    Bounds,
    Trial,
    conditions_of,
    may_be_milder,
    relation,
    surely_as_harsh,
    trials,
)
from collection.language.sentences import described, ended
from collection.records.policy import Interval, Policy
from collection.records.sheets import ProposalStep
from collection.values import agents, dates
from collection.values.agents import Agent
from collection.values.reference import Reference


@dataclass(frozen=True, slots=True)
class Rate:
    """Share of a coat taken where a step touches it.

    `effect` marks a recorded effect on this coat of no more than what is planned, `feared` a harsher one, or one on
    its like, that nothing speaks against, `cleared` that U = 0 rests on recorded tests; `tests` are the tests relied
    on and `wanting` says what would let one clear. `model` is what models say of an agent that no test cleared, [low,
    middle, high], None where none speaks, and `reference` the published values it rests on: likes and models may
    alarm, and clear nothing. `failing` marks finish that comes off at a touch, `undried` a clearance by a test that
    does not say whether it was looked at again when dry.
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


Related = tuple[tuple[str, Trial], ...]
"""Trials, each with how it is related to a coat: `itself`, `same` or `alarm`."""


@kept
def _related(case: Case, component: str | None, coat: Coat) -> Related:
    """The trials that say anything of a coat, each with how it is related to it."""
    return tuple((how, trial) for trial in trials(case) if (how := relation(case, coat, component, trial)) is not None)


def trials_of(case: Case, stack: Stack, coat: Coat) -> tuple[Trial, ...]:
    """The trials that met a coat itself, or what the records do not tell apart from it."""
    return tuple(t for how, t in _related(case, stack.component, coat) if how != "alarm")


def harmful_trials(case: Case, stack: Stack, coat: Coat) -> tuple[Trial, ...]:
    """The trials that did something to a coat or to its like."""
    return tuple(t for _, t in _related(case, stack.component, coat) if t.high > 0)


def tested_of(case: Case, stack: Stack, coat: Coat, step: ProposalStep, on_day: str | None) -> tuple[Tested, ...]:
    """A coat's own tests as models read them: every effect, and what it, or what the records do not tell apart from it,
    stood surely as harshly as the step, where nothing has ended it since."""
    return _tested(_related(case, stack.component, coat), _plan(step, on_day, case.reference), case.policy)


@dataclass(frozen=True, slots=True)
class _Plan:
    """What a step brings onto a coat, and when."""

    agent: Agent | None
    ph: float | None
    conditions: Mapping[str, Bounds]
    day: str | None

    def wet_beside(self, trial: Trial) -> bool:
        return trial.agent.aqueous or (self.agent is not None and self.agent.aqueous)


def _plan(step: ProposalStep, on_day: str | None, reference: Reference) -> _Plan:
    agent = None if step.agent is None else agents.parse(step.agent, reference.solvents)
    return _Plan(agent, step.ph, conditions_of(step, agent), on_day)


def _tested(related: Related, plan: _Plan, policy: Policy) -> tuple[Tested, ...]:
    found = [Tested(t.agent, t.test.ph, True, t.test.test) for how, t in related if how != "alarm" and t.high > 0]
    for how, t in related:
        if how != "alarm" and t.high == 0 and why_it_no_longer_speaks(t, plan.day, policy) is None:
            # How far the pH of a test reaches is the model's to say.
            but_ph = ({**each, "acid": (0.0, 0.0), "alkaline": (0.0, 0.0)} for each in (t.conditions, plan.conditions))
            if surely_as_harsh(*but_ph, aqueous=plan.wet_beside(t), policy=policy):
                found.append(Tested(t.agent, t.test.ph, False, t.test.test))
    return tuple(found)


def contact_rate(
    case: Case, stack: Stack, coat: Coat, step: ProposalStep, on_day: str | None, *, on_failing: bool = False
) -> Rate:
    """The rate of a step that brings a liquid onto a coat, from recorded responses first.

    `on_day` is when the work is meant to happen: a test older than the policy's years clears nothing. With
    `on_failing` only tests on failing finish may clear.
    """
    related = _related(case, stack.component, coat)
    # Coats of one binder that the same trials met are answered alike, and most were met by none.
    key = (
        tuple((how, id(trial)) for how, trial in related),
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
        on_day,
        on_failing,
    )
    answers = _answers(case)
    found = answers.get(key)
    if found is None:
        found = answers[key] = _contact_rate(
            related, coat, _plan(step, on_day, case.reference), case.policy, case.reference, on_failing
        )
    return found


class _Answers(dict[tuple[object, ...], Rate]):
    """Rates by what they rest on; the trials are held, so that their identities stay theirs."""

    def __init__(self, held: tuple[Trial, ...]) -> None:
        self._held = held


@kept
def _answers(case: Case) -> _Answers:
    return _Answers(trials(case))


@dataclass(frozen=True, slots=True)
class _Heard:
    """What recorded tests say of a plan: the share it takes at least and at most, by which tests; `quiet` where the
    records of the coat, or of what they do not tell apart from it, show that it stood as much, `untold` where only the
    latter do, by this very agent; `outdone` where a
    mixture with as much of what acts did nothing, so that harsher effects are limits, though a model may fear the
    weaker one more; `refusal` tells what kept the test that came nearest to clearing from it."""

    low: float
    low_by: Trial | None
    high: float
    cleared_by: Trial | None
    quiet: bool
    untold: bool
    outdone: bool
    refusal: str | None


def _contact_rate(
    related: Related, coat: Coat, plan: _Plan, policy: Policy, reference: Reference, on_failing: bool
) -> Rate:
    own = [t for how, t in related if how != "alarm"]
    if plan.agent is None:
        hurt = [t for _, t in related if t.high > 0]
        return Rate(
            0.0,
            _expected(0.0, 1.0, own, plan, None, policy),
            1.0,
            "No agent is named, so it may be any.",
            effect=bool(hurt),
            tests=_names(hurt),
            wanting="name the agent",
        )
    heard = _heard(related, plan, coat, policy, reference, on_failing)
    if heard.high == 0 and heard.cleared_by is not None:
        return _stood(heard.cleared_by, own, plan)
    effects, harsher = ([], []) if heard.outdone else _own_effects(own, plan, policy)
    likes = [] if heard.outdone or effects else harsher or _likes(related, plan, coat, policy, reference)
    said = None if heard.quiet else word(coat, plan.agent, plan.ph, _tested(related, plan, policy), policy, reference)
    alarmed = said is not None and said.high >= policy.model_rate and not effects and not likes
    relied = [t for t in (heard.low_by, *effects, *likes) if t is not None]
    return Rate(
        heard.low,
        _expected(heard.low, heard.high, own, plan, said, policy),
        heard.high,
        _why(effects or harsher, likes, heard, own, plan, None if heard.quiet else said, alarmed),
        bool(effects),
        False,
        _names(relied or ([heard.cleared_by] if heard.cleared_by else [])),
        _wanting(effects, heard, plan, alarmed, bool(own and any(t.high == 0 for t in own))),
        None if said is None else said.span,
        said.reference if said is not None and alarmed else None,
        feared=bool(likes),
    )


def _heard(related: Related, plan: _Plan, coat: Coat, policy: Policy, reference: Reference, on_failing: bool) -> _Heard:
    assert plan.agent is not None
    own = [t for how, t in related if how != "alarm"]
    low, low_by = 0.0, None
    for t in own:
        if t.low > low and _is_no_harsher(t, plan, policy):
            low, low_by = t.low, t
    high, cleared_by, quiet, untold, outdone = 1.0, None, False, False, False
    refusals: list[tuple[int, str]] = []
    for how, t in related:
        if how == "alarm":
            continue
        refusal = _refusal(t, plan, coat, policy, reference, on_failing)
        if refusal is None or _refusal(t, plan, coat, policy, reference, on_failing, to_clear=False) is None:
            most = at_most(t, own, policy)
            outdone = outdone or most == 0
            untold = untold or (most == 0 and refusal is None)
            quiet = quiet or (most == 0 and (refusal is None or not reference.spheres_of(coat.binders)))
            if refusal is None and how == "itself" and (most < high or cleared_by is None):
                high, cleared_by = min(high, most), t
        if refusal is not None and t.high == 0:
            refusals.append(refusal)
    nearest = max(refusals, key=lambda each: each[0], default=(0, None))[1]
    high = max(low, high)
    return _Heard(low, low_by, high, cleared_by, quiet and low == 0, untold and low == 0, outdone and low == 0, nearest)


def _stood(by: Trial, own: Sequence[Trial], plan: _Plan) -> Rate:
    """A coat cleared by a test of itself, with the limit that a harsher test found, and what is left open."""
    why = f"Stood {_spoken(by)}."
    limit = nearest_limit(by, [t for t in own if _same_side(t.test.ph, plan.ph)])
    if limit is not None:
        why += f" {limit.response.capitalize()} at {_spoken(limit)}: that is the limit."
    if by.test.passes is None:
        why += f" {by.test.test} does not say how many passes: it stands for one."
    if by.test.after_drying is None:
        why += f" Whether {by.test.test} was looked at again when dry is not recorded."
    return Rate(0.0, 0.0, 0.0, why, cleared=True, tests=_names([by]), undried=by.test.after_drying is None)


def _own_effects(own: Sequence[Trial], plan: _Plan, policy: Policy) -> tuple[list[Trial], list[Trial]]:
    """The tests of the coat that did something: those that were no stronger than the plan, by liquid and conditions, as
    far as such things are measured; and those that were harsher, or of another liquid with a part that acts."""
    agent = plan.agent
    assert agent is not None
    hurting = [t for t in own if t.high > 0 and _same_side(t.test.ph, plan.ph)]
    strong = [
        t
        for t in hurting
        if agents.may_be_weaker(t.agent, agent, policy.margin.factor)
        and may_be_milder(t.conditions, plan.conditions, aqueous=plan.wet_beside(t), policy=policy)
    ]
    weak = [
        t
        for t in hurting
        if agents.same_agent(t.agent, agent)
        or agents.shares_acting(t.agent, agent)
        or agents.agent_alarms(t.agent, agent)
    ]
    return strong, [t for t in weak if t not in strong]


def _likes(related: Related, plan: _Plan, coat: Coat, policy: Policy, reference: Reference) -> list[Trial]:
    """Effects on the coat's like, where that like is not itself known to stand the plan."""
    agent = plan.agent
    assert agent is not None
    groups: dict[tuple[object, ...], list[Trial]] = defaultdict(list)
    for how, t in related:
        if how == "alarm":
            groups[t.met.scheme, t.met.role, t.met.colour, t.met.decoration, t.component].append(t)
    found = []
    for group in groups.values():
        stands = any(
            at_most(t, group, policy) == 0
            for t in group
            if _refusal(t, plan, coat, policy, reference, False, to_clear=False) is None
        )
        found += (
            []
            if stands
            else [
                t
                for t in group
                if t.high > 0
                and _same_side(t.test.ph, plan.ph)
                and (agents.same_agent(t.agent, agent) or agents.agent_alarms(t.agent, agent))
            ]
        )
    return found


def _expected(low: float, high: float, own: Sequence[Trial], plan: _Plan, said: Word | None, policy: Policy) -> float:
    """What is to be expected: what tests no harsher than the plan did, or the chance that the agent acts times what an
    acting agent takes, whichever is more, but no more than halfway between what the tests leave."""
    chance = 0.5 if said is None or said.span is None else said.span[1] if said.expects else max(said.span[1], 0.5)
    did = max(((t.low + t.high) / 2 for t in own if _is_no_harsher(t, plan, policy)), default=0.0)
    return max(low, min(max(did, chance * taken_where_it_acts(plan.conditions, policy)), (low + high) / 2))


def taken_where_it_acts(conditions: Mapping[str, Bounds], policy: Policy) -> float:
    """The share of a coat that an agent is expected to take where it acts at all: the policy's for ten seconds, once,
    and of what is left the same again for each further ten. A time that is left blank may be long."""
    dwell = conditions.get("dwell_s", policy.blank["dwell_s"])[1]
    doses = dwell * conditions.get("passes", (1.0, 1.0))[0] / TEN_SECONDS
    return float(min(1 - (1 - policy.model.taken_where_it_acts) ** doses, MOST_EXPECTED))


TEN_SECONDS, MOST_EXPECTED = 10.0, 0.95


def _is_no_harsher(trial: Trial, plan: _Plan, policy: Policy) -> bool:
    """Whether a plan is surely as harsh as a test."""
    return plan.agent is not None and no_harsher(trial, plan.agent, plan.conditions, policy)


def _why(
    effects: Sequence[Trial],
    likes: Sequence[Trial],
    heard: _Heard,
    own: Sequence[Trial],
    plan: _Plan,
    said: Word | None,
    alarmed: bool,
) -> str:
    assert plan.agent is not None
    if effects:
        return f"{effects[0].response.capitalize()} at {_spoken(effects[0])}."
    if likes:
        met = likes[0].met
        return f"{likes[0].response.capitalize()} on its like, {met.scheme}/{met.role or '?'}, at {_spoken(likes[0])}."
    if heard.untold:
        return "A coat that the records do not tell apart from it stood as much; of this very one nothing is sure."
    tried = any(agents.same_agent(t.agent, plan.agent) for t in own)
    if said is not None and alarmed:
        return ended(f"No test of {plan.agent.text} on this coat{' as harsh as planned' if tried else ''}; {said.why}")
    plain = "No recorded test of this agent on this coat is as harsh as what is planned."
    return f"{plain} {said.why}" if said is not None and said.span is None else plain


def _wanting(effects: Sequence[Trial], heard: _Heard, plan: _Plan, alarmed: bool, stood_once: bool) -> str | None:
    """What would let a test clear, as advice."""
    assert plan.agent is not None
    if effects:
        # What this agent did stands; only milder conditions would change it.
        return "choose another agent, or milder conditions that a test of this coat stood"
    if heard.untold or (heard.refusal is None and stood_once):
        return "record the colour of the coat that was met, so that it is told apart from others"
    if heard.refusal is not None:
        return heard.refusal
    if alarmed:
        return f"one test of {plan.agent.text} on this coat, in an inconspicuous place and as harsh as planned"
    return None


def _refusal(
    trial: Trial,
    plan: _Plan,
    coat: Coat,
    policy: Policy,
    reference: Reference,
    on_failing: bool,
    *,
    to_clear: bool = True,
) -> tuple[int, str] | None:
    """What keeps a test from clearing, as advice, and how near it came; None where nothing does. With `to_clear` False,
    what keeps it from making a limit of a harsher effect: a mixture with no more of what acts is then as good."""
    agent = plan.agent
    assert agent is not None
    if trial.agent.several or agent.several:
        return 1, "name the very liquid: white spirit and its like are several"
    if not (
        agents.agent_clears(trial.agent, agent, reference.spheres_of(coat.binders))
        or (not to_clear and agents.holds_no_more(trial.agent, agent))
    ):
        return 0, f"one test of {agent.text} on this coat"
    if not surely_as_harsh(trial.conditions, plan.conditions, aqueous=plan.wet_beside(trial), policy=policy):
        missing = [
            name
            for name in ("dwell_s", "application", *(("ph",) if agent.aqueous else ()))
            if getattr(trial.test, name) is None
        ]
        if missing:
            return 2, f"state {' and '.join(missing)} of test {trial.test.test}"
        return 2, (
            f"one test at least as harsh as planned ({trial.test.test} was milder, or the step leaves its "
            "conditions blank)"
        )
    if on_failing and trial.test.finish != "failing":
        return 3, (
            f"one test of {agent.text} on the failing finish ({trial.test.test} met sound finish, or does not say)"
        )
    spoken = why_it_no_longer_speaks(trial, plan.day, policy)
    return None if spoken is None else (4, spoken)


def why_it_no_longer_speaks(trial: Trial, on_day: str | None, policy: Policy) -> str | None:
    """What keeps a harmless test from clearing on a day, as advice: judged wet, overtaken by later work, too old."""
    test = trial.test
    if test.after_drying == "no":
        return f"look at the spot of {test.test} again dry: it was judged only wet"
    if trial.ended_by is not None:
        return f"test again: {trial.ended_by} changed the surface after {test.test}, or their dates may overlap"
    oldest, day = dates.bounds(test.tested_on).earliest, dates.bounds(on_day).latest
    years = int(day[:4]) - int(oldest[:4])
    if years > policy.clearing_years:
        if not test.tested_on:
            return f"date {test.test}: it may be over {policy.clearing_years:g} years old"
        return (
            f"test again: {test.test} of {test.tested_on} is {years} years old, and a test clears for "
            f"{policy.clearing_years:g}"
        )
    return None


def _same_side(a: float | None, b: float | None) -> bool:
    # Neutral water is on neither side: what did something a whole unit of pH away says nothing of it.
    return a is None or b is None or (a - 7) * (b - 7) > 0 or abs(a - b) < 1


def _names(found: Sequence[Trial]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(f"{t.test.object}/{t.test.test}" for t in found))


def _spoken(trial: Trial) -> str:
    """A test with all that its harshness rests on."""
    return f"{trial.test.test} ({described(vars(trial.test))})"
