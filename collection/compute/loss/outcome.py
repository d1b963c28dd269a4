"""What a proposal does to every kept thing in every place it touches, step by step."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from collection.compute.build_up.actions import KIND_OF_ACTION, ON_THE_SURFACE, ActionKind
from collection.compute.build_up.areas import place_areas, stated_area
from collection.compute.build_up.coats import Coat, Stack
from collection.compute.build_up.condition import ANY, failing, looked_at
from collection.compute.build_up.decorations import decorations_in
from collection.compute.build_up.places import places_of
from collection.compute.build_up.stack import stack_of
from collection.compute.case import Case
from collection.compute.effects.rates import Touch, rate_of
from collection.compute.effects.work import Work
from collection.compute.loss.loss import StepEffect, losses
from collection.compute.loss.masks import spared
from collection.language.words import FOREIGN_ROLES
from collection.records.facts import ProposalFacts
from collection.records.policy import Interval
from collection.records.sheets import ProposalStep

NOT_EXAMINED = "not examined"
BELOW = "below what was seen"
WHOLE: Interval = (1.0, 1.0, 1.0)


@dataclass(frozen=True, slots=True)
class StepOutcome:
    """One step on one kept thing: `lost` so far and `gained` at the low end by this step, both as shares of the thing's
    own area if the step covered all of the place; `of_place` what is lost with the area that it really covers;
    `contact` the largest share touched, `opened` the share expected to be touched; `touch` what the step does where it
    touches; `shield` the coat above that protects the rest, with the tests that it stood."""

    step: ProposalStep
    kind: ActionKind
    touch: Touch
    lost: Interval
    of_place: Interval
    gained: float
    contact: float
    opened: float
    shield: Coat | None
    shield_tests: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Outcome:
    """Everything a proposal does to one coat or decoration of one place."""

    place: str
    stack: Stack
    coat: Coat | None
    thing: str
    steps: tuple[StepOutcome, ...]

    @property
    def lost(self) -> Interval:
        return self.steps[-1].of_place if self.steps else (0.0, 0.0, 0.0)

    @property
    def unfound(self) -> bool:
        """Whether it was looked for here and not found so far."""
        return (self.coat is None and self.thing not in (NOT_EXAMINED, BELOW)) or (
            self.coat is not None and not self.coat.found
        )


def planned_day(proposal: ProposalFacts) -> str:
    """The day the work is meant for: as planned, else the day it was proposed."""
    return proposal.proposal.planned_for or proposal.proposal.proposed_on


def touched(case: Case, proposal: ProposalFacts) -> dict[str, list[ProposalStep]]:
    """Every place that some step can touch, with those steps in order; work that reaches no coat, and places that are
    masked or left out, are not in it."""
    places = places_of(case)
    found: dict[str, list[ProposalStep]] = {}
    for step in proposal.steps:
        if KIND_OF_ACTION[step.action] == "none":
            continue
        for place in places.within(step.place):
            if not spared(case, step, place):
                found.setdefault(place, []).append(step)
    return found


def worked_on(case: Case, proposal: ProposalFacts) -> dict[str, list[ProposalStep]]:
    """The same for the steps that do more than dust, handle or expose."""
    found = {
        place: [step for step in steps if KIND_OF_ACTION[step.action] not in ON_THE_SURFACE]
        for place, steps in touched(case, proposal).items()
    }
    return {place: steps for place, steps in found.items() if steps}


def outcomes(case: Case, proposal: ProposalFacts) -> list[Outcome]:
    """What the proposal does in each place it touches: to each kept coat and decoration there, to what was looked for
    and not found, and, if the place was not examined or none of its samples reaches the support, to what nobody has
    seen."""
    day = planned_day(proposal)
    found = []
    for place, every in sorted(touched(case, proposal).items()):
        # Opening has a finding of its own: it breaks the paint at the joints and leaves the rest.
        steps = [step for step in every if KIND_OF_ACTION[step.action] != "opens"]
        if not steps:
            continue
        stack = stack_of(case, place)
        decorations = stack.decorations
        if any(step.place == place for step in steps):
            decorations += decorations_in(case, place, stack.coats, around=True)
        known = _StepsOnPlace(case, stack, steps, day)
        named = {spot for decoration in decorations for spot in decoration.layers}
        for coat in (*stack.coats, *decorations):
            if coat.kept and not (coat.decoration is None and coat.layers and named.issuperset(coat.layers)):
                found += _outcome(known, coat, coat.thing, steps)
        deeper = [step for step in steps if KIND_OF_ACTION[step.action] not in ON_THE_SURFACE]
        if not stack.examined:
            fails = failing(case, place, ANY) is not None
            found += _outcome(known, None, NOT_EXAMINED, steps if fails else deeper)
        elif not stack.bottom_seen:
            found += _outcome(known, None, BELOW, deeper)
        for _, thing, sections in stack.unfound:
            found += _outcome(known, None, thing, _reaching(deeper, sections))
    return found


def never_looked_at(case: Case, proposal: ProposalFacts) -> dict[int, list[str]]:
    """The places whose surface nobody has described, by the step that only dusts, handles or exposes them."""
    found: dict[int, list[str]] = defaultdict(list)
    for place, steps in sorted(touched(case, proposal).items()):
        for step in steps:
            if KIND_OF_ACTION[step.action] in ON_THE_SURFACE and not looked_at(case, place):
                found[step.step].append(place)
    return dict(found)


class _TouchByCoat(dict[Coat | None, Touch]):
    """What one step does to each coat of a place, computed when it is asked for."""

    def __init__(self, work: Work) -> None:
        self._work = work

    def __missing__(self, coat: Coat | None) -> Touch:
        found = self[coat] = rate_of(self._work, coat)
        return found


class _StepsOnPlace:
    """The steps on one place, with what each does to every coat there: computed once for a coat, even if it covers
    several others. Whether an earlier step may have thinned what lies above matters only for cuts."""

    def __init__(self, case: Case, stack: Stack, steps: Sequence[ProposalStep], day: str) -> None:
        self.case, self.stack = case, stack
        self._steps, self._day = steps, day
        self._known: dict[tuple[int, bool], _TouchByCoat] = {}
        self._areas = {step.step: area_share(case, step, stack.place) for step in steps if step.area_m2 is not None}

    def by(self, step: ProposalStep, thinned: bool) -> _TouchByCoat:
        """What a step does to each coat."""
        which = step.step, thinned and KIND_OF_ACTION[step.action] == "cut"
        found = self._known.get(which)
        if found is None:
            before = [each for each in self._steps if each.step < step.step]
            work = Work(self.case, self.stack, step, self._day, before, which[1])
            found = self._known[which] = _TouchByCoat(work)
        return found

    def area(self, step: ProposalStep, coat: Coat | None) -> Interval:
        """The share of a coat's own surface that a step covers: the area worked on may be just where all of the coat
        is."""
        low, middle, high = self._areas.get(step.step, WHOLE)
        if coat is None or low == 1:
            return low, middle, (high if low == 1 else 1.0)
        whole = max(coat.cover[1], high)
        return low, middle, min(1.0, high / whole) if whole else 1.0


def _outcome(known: _StepsOnPlace, coat: Coat | None, thing: str, steps: Sequence[ProposalStep]) -> list[Outcome]:
    """What the steps do to one thing; empty where none of them can reach it."""
    stack = known.stack
    if not steps:
        return []
    covers, sure = _coats_over(known.case, stack, coat, thing)
    effects, touches = [], []
    thinned = False
    for step in steps:
        kind = KIND_OF_ACTION[step.action]
        touches_of = known.by(step, thinned)
        over = [touches_of[c].rate for c in covers]
        on = touches_of[coat]
        rates = tuple((r.low, r.middle, r.high) for r in over)
        if kind in ON_THE_SURFACE:
            # Dirt or wax that merely lies on a finish does not protect it from handling or weather.
            rates = tuple((0.0, 1.0, 1.0) if c.role in FOREIGN_ROLES else (0.0, 0.0, 0.0) for c in covers)
        effects.append(
            StepEffect(
                rates,
                (on.rate.low, on.rate.middle, on.rate.high),
                cut=kind in ("cut", "whole"),
                adds=kind == "adds",
                area=known.area(step, coat),
            )
        )
        touches.append(on)
        thinned = thinned or any(r.high > 0 for r in over)
    fails = any(each.rate.failing for each in touches)
    # Failing finish takes with it whatever lies on it.
    cover = [(0.0 if fails else c.cover[0], *c.cover[1:]) for c in covers]
    found, before = [], 0.0
    shields = _shields(known, covers, cover, sure, steps)
    for step, on, after, (shield, by) in zip(steps, touches, losses(cover, effects, sure), shields, strict=True):
        found.append(
            StepOutcome(
                step,
                KIND_OF_ACTION[step.action],
                on,
                after.lost,
                after.of_place,
                after.lost[0] - before,
                after.contact,
                after.opened,
                shield,
                by,
            )
        )
        before = after.lost[0]
    return [Outcome(stack.place, stack, coat, thing, tuple(found))]


def _reaching(steps: Sequence[ProposalStep], sections: tuple[str, ...]) -> Sequence[ProposalStep]:
    """The steps that may reach something looked for at enough spots (`sections`) and not found: all but those with
    liquids."""
    return [step for step in steps if KIND_OF_ACTION[step.action] not in ("contact", "adds")] if sections else steps


def _coats_over(case: Case, stack: Stack, coat: Coat | None, thing: str) -> tuple[tuple[Coat, ...], tuple[bool, ...]]:
    """The coats over a thing, outermost first, and which of them surely lie above it."""
    if coat is None:
        covers = (
            ()
            if thing == NOT_EXAMINED
            else stack.coats
            if thing == BELOW
            else tuple(c for c in stack.coats if _is_later(case, c, stack, thing))
        )
        return covers, tuple(True for _ in covers)
    if coat.decoration is not None:
        covers = tuple(c for c in stack.coats if c.key in coat.above)
        return covers, tuple(True for _ in covers)
    covers = stack.coats[: stack.coats.index(coat)]
    return covers, tuple(c.key in coat.above for c in covers)


def _is_later(case: Case, coat: Coat, stack: Stack, unfound: str) -> bool:
    """Whether a coat's scheme is ranked after the scheme of a thing that was not found."""
    ranks = {scheme.scheme: scheme.rank for scheme in case.facts.schemes}
    first = next((ranks.get(scheme) for scheme, thing, _ in stack.unfound if thing == unfound), None)
    own = ranks.get(coat.scheme or "")
    return first is not None and own is not None and own > first


def _shields(
    known: _StepsOnPlace,
    covers: Sequence[Coat],
    cover: Sequence[Interval],
    sure: Sequence[bool],
    steps: Sequence[ProposalStep],
) -> Iterable[tuple[Coat | None, tuple[str, ...]]]:
    """After each step, the coat with the largest cover among those that nothing so far has harmed, and the tests that
    show it."""
    left = {at: () for at, still in enumerate(sure) if still and cover[at][0] > 0}
    tests: dict[int, tuple[str, ...]] = dict(left)
    for step in steps:
        touches_of = known.by(step, False)
        for at in list(tests):
            rate = touches_of[covers[at]].rate
            if rate.high > 0:
                del tests[at]
            else:
                tests[at] = tuple(dict.fromkeys((*tests[at], *rate.tests)))
        best = max(tests, key=lambda at: cover[at][0], default=None)
        yield (None, ()) if best is None else (covers[best], tests[best])


def area_share(case: Case, step: ProposalStep, place: str) -> Interval:
    """The share of a place that a step covers: all of it, unless the step states an area."""
    if step.area_m2 is None:
        return WHOLE
    whole, own = stated_area(case, step.place), place_areas(case).get(place)
    most = min(1.0, step.area_m2 / own) if own else 1.0
    if place == step.place and not places_of(case).held.get(place):
        return (most, most, most) if own else (0.0, 0.5, 1.0)
    return 0.0, min(min(1.0, step.area_m2 / whole) if whole else 0.5, most), most
