"""What became of the original finish between two sides: lost, exposed or covered, and by which work.

Only documented work and dated readings speak. What was read for the first time, or found where it had not been found,
is new knowledge and no change of the object; a place that reads as fragmentary since may always have been so.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import product
from typing import Any

from collection.compute.build_up.actions import KIND_OF_ACTION
from collection.compute.build_up.places import places_of
from collection.compute.build_up.readings import original_schemes
from collection.compute.case import Case
from collection.compute.compare.sides import Sides, newest
from collection.compute.survival.survival import SURVIVING, object_survival
from collection.records.facts import current, surely_in_state
from collection.records.sheets import Decoration, Treatment, TreatmentStep
from collection.values import dates

LOST, PART, MAY_BE_LOST, EXPOSED, COVERED, FRAGMENT, FOUND, FIRST = KINDS = (
    "lost",
    "part missing",
    "may be lost",
    "exposed",
    "covered",
    "fragmentary",
    "found",
    "first read",
)
"""What became of it, gravest first. Fragmentary = it reads so now; it may always have been so."""
EVENTS = frozenset({LOST, PART, MAY_BE_LOST, EXPOSED, COVERED})
"""The kinds that are changes of the object; the others are changes of what is known."""
_DECORATED = {
    "exposed": "original exposed",
    "covered": "original covered",
    "fragment": "original fragmentary",
    "not found": "original not found",
    "lost": "lost",
}

Work = list[tuple[Treatment, TreatmentStep, bool | None]]
"""Steps of work, and whether they were surely done between the sides (None = perhaps)."""


@dataclass(frozen=True, slots=True)
class FinishChange:
    """One change of the original finish in a place: of one `scheme` (or scheme/role) or `decoration`, else of the finish
    as a whole. `then` and `now` are states, None where they say nothing; `by` the treatments that did it, empty = none
    on record; `area_m2` how much of it the record of the work says."""

    kind: str
    place: str
    scheme: str | None = None
    decoration: str | None = None
    then: str | None = None
    now: str | None = None
    by: tuple[str, ...] = ()
    area_m2: float | None = None

    def as_json(self) -> dict[str, Any]:
        return {name: list(self.by) if name == "by" else getattr(self, name) for name in self.__slots__}


def finish_changes(case: Case, sides: Sides) -> tuple[FinishChange, ...]:
    """What became of the original finish, gravest first."""
    work: Work = [
        (treatment, step, since)
        for treatment in case.facts.treatments
        if (since := sides.since(treatment)) is not False and treatment.outcome != "tried and failed"
        for step in case.facts.treatment_steps
        if step.treatment == treatment.treatment and step.outcome != "tried and failed"
    ]
    removals = list(_removals(case, sides, work))
    found = [*removals, *_places(case, sides, work, removals), *_decorations(case, sides, work), *_parts(sides)]
    return tuple(
        sorted(
            found, key=lambda each: (KINDS.index(each.kind), each.place, each.scheme or each.decoration or "", each.by)
        )
    )


def _removals(case: Case, sides: Sides, work: Work) -> Iterator[FinishChange]:
    """Work whose own record says that it took original finish off, or that does not say what it took."""
    original = set(original_schemes(case))
    then, now = ({row.place: row.state for row in object_survival(one).places} for one in (sides.before, sides.after))
    places = places_of(case)
    for treatment, step, since in work:
        if (step.removed or "").partition("/")[0] in original:
            kind = LOST if since else MAY_BE_LOST
            yield FinishChange(
                kind,
                step.place,
                step.removed,
                None,
                then.get(step.place),
                now.get(step.place),
                (treatment.treatment,),
                step.removed_m2,
            )
        elif (
            KIND_OF_ACTION[step.action] == "whole"
            and not step.removed
            and any(state in SURVIVING and places.overlap(step.place, place) for place, state in then.items())
        ):
            yield FinishChange(MAY_BE_LOST, step.place, by=(treatment.treatment,), area_m2=step.area_m2)


def _places(case: Case, sides: Sides, work: Work, removals: list[FinishChange]) -> Iterator[FinishChange]:
    """Places whose zone state is another than it was."""
    places = places_of(case)
    then = {row.place: row.state for row in object_survival(sides.before).places}
    for row in object_survival(sides.after).places:
        was, now = then.get(row.place, "not examined"), row.state
        if was == now:
            continue
        here = [(t, step) for t, step, _ in work if places.overlap(step.place, row.place)]
        took = _codes(t for t, step in here if step.removed or step.stopped_at)
        put = _codes(t for t, step in here if step.adds or step.action == "coat")
        told = any(places.overlap(each.place, row.place) for each in removals)
        if now in ("original removed", "original not found") and was in SURVIVING:
            if not told:
                yield FinishChange(LOST, row.place, None, None, was, now)
        elif now == "original exposed" and (was in SURVIVING or took):
            yield FinishChange(EXPOSED, row.place, None, None, was, now, took)
        elif was == "original exposed" and now == "original covered":
            yield FinishChange(COVERED, row.place, None, None, was, now, put)
        elif was == "not examined":
            yield FinishChange(FIRST, row.place, None, None, was, now)
        elif now == "original fragmentary" and was in SURVIVING and not told:
            yield FinishChange(FRAGMENT, row.place, None, None, was, now, took)
        elif now in SURVIVING and was not in SURVIVING:
            yield FinishChange(FOUND, row.place, None, None, was, now)


def _decorations(case: Case, sides: Sides, work: Work) -> Iterator[FinishChange]:
    """Decorations whose recorded state is another, where the later state is surely the later one."""
    places = places_of(case)
    codes = dict.fromkeys(row.decoration for row in sides.later.brought.decorations)
    for code in codes:
        before, after = (
            newest([row for row in side.brought.decorations if row.decoration == code])
            for side in (sides.earlier, sides.later)
        )
        was, now = _one_state(before), _one_state(after)
        if was is None or now is None or was == now:
            continue
        if any(not dates.surely_before(a.observed_on, b.observed_on) for a, b in product(before, after)):
            continue
        row = after[-1]
        by = _codes(t for t, step, _ in work if places.overlap(step.place, row.place))
        kind = (
            LOST
            if now == "lost"
            else MAY_BE_LOST
            if now == "original not found" and was in SURVIVING
            else EXPOSED
            if now == "original exposed" and was in SURVIVING
            else COVERED
            if now == "original covered" and was == "original exposed"
            else FRAGMENT
            if now == "original fragmentary" and was in SURVIVING
            else FOUND
            if now in SURVIVING and was not in SURVIVING
            else None
        )
        if kind is not None:
            yield FinishChange(kind, row.place, row.scheme, code, was, now, by)


def _one_state(rows: list[Decoration]) -> str | None:
    """The state that all rows give; None where they differ or say nothing."""
    states = {_DECORATED.get(row.state or "") for row in rows}
    return states.pop() if len(states) == 1 else None


def _parts(sides: Sides) -> Iterator[FinishChange]:
    """Parts of the maker's, or of unknown origin, that are missing now and were recorded before as being there."""
    before, after = (
        surely_in_state(case.facts.components, "component", "presence", ("missing",))
        for case in (sides.before, sides.after)
    )
    known = current(sides.before.facts.components, "component")
    for code in sorted(after - before):
        if code in known and known[code].origin in (None, "original", "unknown"):
            yield FinishChange(PART, code, None, None, "present", "missing")


def _codes(treatments: Iterable[Treatment]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(t.treatment for t in treatments))
