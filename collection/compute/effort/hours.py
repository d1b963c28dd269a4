"""Hours and weeks of work that is planned: for the steps of a proposal, and for the rest around what was uncovered.

Each step gets hours where work of its kind was logged and its surface is known; no others. The sum is drawn jointly,
so that what the steps have in common (the part, the worker, how sure the model is) does not cancel out.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence, Set
from dataclasses import dataclass
from typing import Any

from collection.compute.build_up.areas import held_by_measured, holder, place_areas, stated_area
from collection.compute.build_up.places import places_of
from collection.compute.build_up.removals import removal_steps, taken_in_all
from collection.compute.case import Case
from collection.compute.effort.logs import FAILED, WHOLE, Kind, Logged, came_out, kind_of, part_of, worked_m2
from collection.compute.effort.rates import CONFIDENCE, Rates, Wanted
from collection.compute.loss.masks import can_be_masked
from collection.compute.survival.model.lattice import uniform
from collection.compute.survival.opened_windows import windows
from collection.language.words import parts_of
from collection.records.facts import ProposalFacts
from collection.records.policy import EffortPolicy, Interval
from collection.records.sheets import ProposalStep
from collection.values.numbers import six

DRAWS = 8192
"""Joint draws of a sum: its ends stand to within some 3 %."""


@dataclass(frozen=True, slots=True)
class Surface:
    """How much surface some work is on, [low, middle, high] in m² (None = not measured), and how many places of unknown
    area that leaves out."""

    area_m2: Interval | None
    unmeasured: int = 0


@dataclass(frozen=True, slots=True)
class StepHours:
    """One step: what it is and where, its surface, hours per m² and hours at 90 % (None = no figure, and `why`), and how
    many logged steps of its action and of its own kind there are."""

    label: str
    place: str
    kind: Kind
    surface: Surface
    hours_per_m2: Interval | None
    hours: Interval | None
    why: str | None
    logs_of_action: int
    logs_of_kind: int

    def as_json(self) -> dict[str, Any]:
        return {
            "step": self.label,
            "place": self.place,
            "action": self.kind.action,
            "binder": self.kind.binder,
            "area_m2": _figures(self.surface.area_m2),
            "unmeasured_places": self.surface.unmeasured,
            "hours_per_m2": _figures(self.hours_per_m2),
            "hours": _figures(self.hours),
            "why_no_hours": self.why,
            "logs_of_action": self.logs_of_action,
            "logs_of_kind": self.logs_of_kind,
        }


@dataclass(frozen=True)
class Planned:
    """Some work: its steps, and the hours of those that have any, together."""

    key: str
    steps: tuple[StepHours, ...]
    hours: Interval | None
    hours_per_week: float

    @property
    def weeks(self) -> Interval | None:
        """Calendar weeks at so many hours a week."""
        return None if self.hours is None else _scaled(self.hours, 1 / self.hours_per_week)

    @property
    def without(self) -> tuple[str, ...]:
        """The steps that the sum leaves out."""
        return tuple(step.label for step in self.steps if step.hours is None)

    def as_json(self) -> dict[str, Any]:
        return {
            "key": self.key,
            "steps": [step.as_json() for step in self.steps],
            "hours": _figures(self.hours),
            "weeks": _figures(self.weeks),
            "without_hours": list(self.without),
        }


@dataclass(frozen=True)
class Rest:
    """A place that was uncovered within a larger one: hours and surface of the work that did it, as logged (None = not
    logged), the surface of the larger place that was not uncovered, and what it would take there."""

    place: str
    within: str
    hours: float | None
    area_m2: float | None
    surface: Surface
    planned: Planned | None

    def as_json(self) -> dict[str, Any]:
        return {
            "place": self.place,
            "within": self.within,
            "hours": self.hours,
            "area_m2": self.area_m2,
            "rest_m2": _figures(self.surface.area_m2),
            "unmeasured_places": self.surface.unmeasured,
            "rest": None if self.planned is None else self.planned.as_json(),
        }


@dataclass(frozen=True, slots=True)
class Work:
    """Work whose hours are asked for: one step's label, place, kind, part and surface."""

    label: str
    place: str
    kind: Kind
    part: str
    surface: Surface


def plan(key: str, works: Sequence[Work], logged: Logged, rates: Rates | None, hours_per_week: float) -> Planned:
    """The hours of some steps, one by one and together. `rates` is None where no logged step counts at all.

    :param key: what the draws of the sum are seeded with.
    """
    logs = {} if rates is None else rates.actions
    figured = [work for work in works if work.kind.action in logs]
    wanted = [Wanted(work.kind, work.part) for work in figured]
    predicted = rates.predict(wanted) if rates is not None and wanted else None
    at = {id(work): index for index, work in enumerate(figured)}
    numbers = uniform(key, 1 + 3 * len(figured), DRAWS)
    drawn = None if predicted is None else predicted.draws(numbers[: 1 + 2 * len(figured)])
    steps, sums = [], []
    for work in works:
        index, area, rate, hours = at.get(id(work)), work.surface.area_m2, None, None
        if index is not None and predicted is not None and drawn is not None:
            rate = predicted.interval(index)
            if area is not None:
                share = numbers[1 + 2 * len(figured) + index]
                sums.append(drawn[:, index] * _spread(area, share))
                # Where the surface is one figure nothing has to be drawn.
                hours = _scaled(rate, area[1]) if area[0] == area[2] else _quantiles(sums[-1])
        steps.append(
            StepHours(
                work.label,
                work.place,
                work.kind,
                work.surface,
                rate,
                hours,
                None if hours is not None else _why(work, logged, rate),
                logs.get(work.kind.action, 0),
                0 if rates is None else rates.kinds[work.kind],
            )
        )
    with_hours = [step.hours for step in steps if step.hours is not None]
    whole = with_hours[0] if len(with_hours) == 1 else _quantiles(sum(sums)) if with_hours else None
    return Planned(key, tuple(steps), whole, hours_per_week)


def of_proposal(
    case: Case, proposal: ProposalFacts, logged: Logged, rates: Rates | None, hours_per_week: float
) -> Planned:
    """The hours of a proposal, step by step."""
    key = f"{proposal.proposal.object}/{proposal.proposal.proposal}"
    works = [
        Work(f"{step.step}", step.place, kind_of(case, step), part_of(case, step.place), _of_step(case, step))
        for step in proposal.steps
    ]
    return plan(key, works, logged, rates, hours_per_week)


def rests(case: Case, logged: Logged, rates: Rates | None, hours_per_week: float) -> list[Rest]:
    """What the rest would take around each opened window, and around each larger place that was uncovered down to a
    coat, by doing there what was done in it."""
    opened = windows(case).keys() | {
        step.place for _, step in removal_steps(case) if step.stopped_at and step.place in places_of(case).zones
    }
    return [_rest(case, zone, opened, logged, rates, hours_per_week) for zone in sorted(opened)]


def _rest(case: Case, zone: str, opened: Set[str], logged: Logged, rates: Rates | None, hours_per_week: float) -> Rest:
    done = [
        (treatment, step)
        for treatment, step in removal_steps(case)
        if step.place == zone and came_out(treatment, step) != FAILED
    ]
    within = holder(case, zone)
    if not done:
        return Rest(zone, within, None, stated_area(case, zone), _own(case, within, opened), None)
    works = [
        Work(
            f"{step.treatment}/{step.step}",
            within,
            kind_of(case, step),
            part_of(case, zone),
            # What was left of the coat in the window itself is part of the rest.
            _own(case, within, opened - {zone}, (step.removed or "").partition("/")[0]),
        )
        for _, step in done
    ]
    hours = [step.hours for _, step in done if step.hours]
    return Rest(
        zone,
        within,
        math.fsum(hours) if hours else None,
        max((area for _, step in done if (area := worked_m2(step))), default=stated_area(case, zone)),
        max((work.surface for work in works), key=lambda surface: surface.area_m2 or (0.0, 0.0, 0.0)),
        plan(f"{case.facts.object.object}/{zone}", works, logged, rates, hours_per_week),
    )


@dataclass(frozen=True, slots=True)
class KindRate:
    """Hours per m² of one more step of an action, or of one of its kinds, by anybody on another part (None = no figure);
    and those of the steps that were logged."""

    kind: Kind
    logged: tuple[float, ...]
    hours_per_m2: Interval | None

    @property
    def logs(self) -> int:
        return len(self.logged)


@dataclass(frozen=True, slots=True)
class ActionRate:
    """An action with logged steps: its own rate on whatever binder, and those of its kinds."""

    whole: KindRate
    kinds: tuple[KindRate, ...]

    def as_json(self, logged: Logged) -> dict[str, Any]:
        action = self.whole.kind.action
        return {
            "action": action,
            "logs": self.whole.logs,
            "hours_per_m2": _figures(self.whole.hours_per_m2),
            "not_counted": logged.why_not(action),
            "hours_alone": list(dict(logged.hours_alone).get(action, ())),
            "binders": [
                {"binder": each.kind.binder, "logs": each.logs, "hours_per_m2": _figures(each.hours_per_m2)}
                for each in self.kinds
            ],
        }


def table(logged: Logged, rates: Rates | None) -> list[ActionRate]:
    """Every action with a logged step, by name; those of which none counts have no figure."""
    of: dict[str, list[Kind]] = {action: [] for action, _, _ in logged.not_counted}
    for kind in [] if rates is None else sorted(rates.kinds, key=Kind.said):
        of.setdefault(kind.action, []).append(kind)
    asked = [
        wanted
        for action, kinds in of.items()
        if kinds
        for wanted in (Wanted(Kind(action), any_binder=True), *map(Wanted, kinds))
    ]
    found = rates.predict(asked) if rates is not None and asked else None
    spans = {wanted: found.interval(at) for at, wanted in enumerate(asked)} if found is not None else {}
    steps: dict[Kind, list[float]] = {}
    for log in logged.logs:
        steps.setdefault(log.kind, []).append(log.hours / log.area_m2)
    return [
        ActionRate(
            KindRate(
                Kind(action),
                tuple(rate for kind in kinds for rate in steps[kind]),
                spans.get(Wanted(Kind(action), any_binder=True)),
            ),
            tuple(KindRate(kind, tuple(steps[kind]), spans[Wanted(kind)]) for kind in kinds),
        )
        for action, kinds in sorted(of.items())
    ]


def head(logged: Logged, hours_per_week: float, policy: EffortPolicy) -> dict[str, Any]:
    """What every JSON answer begins with."""
    return {
        "format": 1,
        "confidence": CONFIDENCE,
        "intervals": "[5th, 50th, 95th percentile] of one more such piece of work",
        "hours_per_week": hours_per_week,
        "hours_per_week_is": "judgement of the policy" if hours_per_week == policy.hours_per_week else "as asked",
        "steps_logged": logged.steps,
        "steps_counted": len(logged.logs),
        "not_counted": logged.why_not(),
    }


def _why(work: Work, logged: Logged, rate: Interval | None) -> str:
    """Why a step has no hours, and what would give it some."""
    action = work.kind.action
    if rate is not None:
        return f"{work.place} is not measured: record its area."
    hours = ", ".join(f"{each:g} h" for each in dict(logged.hours_alone).get(action, ()))
    if action in WHOLE:
        return f"not work by the square metre{f'; logged so far: {hours}' if hours else ', and none logged'}."
    if hours:
        return f"no log of this kind of work with its surface ({hours} without): note the m² beside the hours."
    if logged.why_not(action):
        return f"no log of this kind of work ({logged.sentence(action)[:-1]}): note hours and m² next time."
    return "no log of this kind of work: note hours and m² when it is next done."


def _of_step(case: Case, step: ProposalStep) -> Surface:
    """The surface of a proposed step: as it says, else of its place without what it spares."""
    if step.area_m2 is not None:
        return Surface((step.area_m2,) * 3)
    spared = [code for code in parts_of(step.spares) if can_be_masked(step)]
    places = places_of(case)
    if not spared and (area := stated_area(case, step.place)) is not None and step.place in places.zones:
        return Surface((area,) * 3)
    reserves = {row.reserve: row for row in case.facts.reserves}
    surface = _own(case, step.place, [code for code in spared if places.is_known(code)])
    less = math.fsum(reserves[code].area_m2 or 0.0 for code in spared if code in reserves)
    if surface.area_m2 is None or not less:
        return surface
    return Surface((max(0.0, surface.area_m2[1] - less),) * 3, surface.unmeasured)


def _own(case: Case, place: str, without: Iterable[str], scheme: str | None = None) -> Surface:
    """The surface of a place beyond some smaller ones in it; of a scheme, only what recorded work may have left of it."""
    places, areas = places_of(case), place_areas(case)
    within = [
        each
        for each in areas
        if places.contains(place, each) and not any(places.contains(left_out, each) for left_out in without)
    ]
    measured = [(each, area) for each in within if (area := areas[each]) is not None]
    unmeasured = sum(areas[each] is None and not held_by_measured(case, each) for each in within)
    low = middle = high = 0.0
    for each, area in measured:
        gone = (0.0, 0.0, 0.0) if scheme is None else taken_in_all(case, scheme, each)
        low, middle, high = (
            end + area * (1 - share) for end, share in zip((low, middle, high), gone[::-1], strict=True)
        )
    return Surface((low, middle, high) if measured else None, unmeasured)


def _spread(area: Interval, share: Any) -> Any:
    import numpy as np

    return np.interp(share, (0.0, 0.5, 1.0), area)


def _scaled(span: Interval, by: float) -> Interval:
    low, middle, high = (end * by for end in span)
    return low, middle, high


def _quantiles(drawn: Any) -> Interval:
    import numpy as np

    low, middle, high = (float(each) for each in np.quantile(drawn, (0.05, 0.5, 0.95)))
    return low, middle, high


def _figures(span: Interval | None) -> list[float] | None:
    return None if span is None else [six(end) for end in span]
