"""What changed on one object between two surveys or two dates, as plain data."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from collection.compute.advice import FOLLOWED as DONE
from collection.compute.advice import in_force
from collection.compute.build_up.places import ALL, places_of
from collection.compute.build_up.removals import treatment_span
from collection.compute.case import Case
from collection.compute.compare.conditions import BAD, CLOSED, ConditionChange, NotSeenAgain, condition_changes
from collection.compute.compare.finish import LOST, FinishChange, finish_changes
from collection.compute.compare.pictures import PicturePair, picture_pairs
from collection.compute.compare.rates import Rate, rates
from collection.compute.compare.samples import Disagreement, disagreements
from collection.compute.compare.sides import Side, Sides
from collection.language.words import parts_of
from collection.records.sheets import Advice
from collection.values import dates

FOLLOWED, AGAINST, LAPSED, REPLACED, STILL = "followed", "gone against", "lapsed", "replaced", "in force"


@dataclass(frozen=True, slots=True)
class AdviceOutcome:
    """What became of advice that was in force at the earlier side; `by` the treatments or the advice concerned."""

    kind: str
    advice: Advice
    by: tuple[str, ...] = ()

    def as_json(self) -> dict[str, Any]:
        return {
            "kind": self.kind,
            "advice": self.advice.advice,
            "place": self.advice.place,
            "what": self.advice.what,
            "given_on": self.advice.given_on,
            "until": self.advice.until,
            "by": list(self.by),
        }


@dataclass(frozen=True, slots=True)
class Comparison:
    """What changed on one object. `not_looked_at` are places that the earlier side looked at and the later one did
    not; nothing is said of them but what the record of work tells. `names` are those of zones and parts by code."""

    object: str
    title: str
    names: Mapping[str, str]
    conditions: tuple[ConditionChange, ...]
    finish: tuple[FinishChange, ...]
    disagreements: tuple[Disagreement, ...]
    advice: tuple[AdviceOutcome, ...]
    rates: tuple[Rate, ...]
    not_seen_again: tuple[NotSeenAgain, ...]
    not_looked_at: tuple[str, ...]
    pictures: tuple[PicturePair, ...]

    @property
    def worse(self) -> list[ConditionChange]:
        """Conditions that became active, got worse or are new."""
        return [change for change in self.conditions if change.kind in BAD]

    @property
    def losses(self) -> int:
        """How often original finish was lost: by the record of work, by a bare surface, or by what conditions say."""
        return sum(change.kind == LOST for change in self.finish) + sum(change.lost for change in self.conditions)

    @property
    def unexplained(self) -> list[Disagreement]:
        """Disagreements that no work between the samples may explain."""
        return [each for each in self.disagreements if not each.by]

    def as_json(self) -> dict[str, Any]:
        return {
            "object": self.object,
            "title": self.title,
            "place_names": dict(self.names),
            "conditions": [each.as_json() for each in self.conditions],
            "finish": [each.as_json() for each in self.finish],
            "disagreements": [each.as_json() for each in self.disagreements],
            "advice": [each.as_json() for each in self.advice],
            "rates": [each.as_json() for each in self.rates],
            "not_looked_at_again": {
                "conditions": [each.as_json() for each in self.not_seen_again],
                "places": list(self.not_looked_at),
            },
            "pictures": [each.as_json() for each in self.pictures],
        }


def compare(case: Case, sides: Sides) -> Comparison:
    """What changed on one object from the earlier side to the later."""
    conditions, unseen = condition_changes(case, sides)
    return Comparison(
        case.facts.object.object,
        case.facts.object.title,
        {row.component: row.name for row in case.facts.components}
        | {row.zone: row.name for row in case.facts.zones if row.name},
        conditions,
        finish_changes(case, sides),
        disagreements(case, sides),
        _advice(case, sides),
        rates(sides),
        unseen,
        _not_looked_at(case, sides),
        picture_pairs(case, sides),
    )


def _advice(case: Case, sides: Sides) -> tuple[AdviceOutcome, ...]:
    """What became of the advice that was in force by the end of the earlier side."""
    places = places_of(case)
    by_code = {t.treatment: t for t in case.facts.treatments}
    still = {row.advice for row in in_force(sides.after.facts, sides.later.span.latest)}
    found = []
    for row in in_force(sides.before.facts, sides.earlier.span.latest):
        done = by_code.get(row.done_by or "")
        named = parts_of(row.against)
        against = tuple(
            dict.fromkeys(
                step.treatment
                for step in case.facts.treatment_steps
                if (ALL in named or step.action in named)
                and places.overlap(row.place or ALL, step.place)
                and (treatment := by_code.get(step.treatment)) is not None
                and treatment is not done
                and sides.since(treatment)
                and not (row.until and dates.bounds(row.until).latest < treatment_span(treatment).earliest)
            )
        )
        if against:
            found.append(AdviceOutcome(AGAINST, row, against))
        elif done is not None and done.outcome in DONE and sides.since(done):
            found.append(AdviceOutcome(FOLLOWED, row, (done.treatment,)))
        elif row.advice in still:
            found.append(AdviceOutcome(STILL, row))
        elif row.replaced_by:
            found.append(AdviceOutcome(REPLACED, row, (row.replaced_by,)))
        else:
            found.append(AdviceOutcome(LAPSED, row))
    order = (AGAINST, LAPSED, FOLLOWED, REPLACED, STILL)
    return tuple(sorted(found, key=lambda each: (order.index(each.kind), each.advice.advice)))


def _not_looked_at(case: Case, sides: Sides) -> tuple[str, ...]:
    """Places where the earlier side read a sample, a condition or a decoration, and the later one none, in or around
    them."""
    places = places_of(case)
    looked = _looked(sides.later)
    return tuple(
        sorted(place for place in _looked(sides.earlier) if not any(places.overlap(place, other) for other in looked))
    )


def _looked(side: Side) -> set[str]:
    brought = side.brought
    return {
        *(row.place for row in brought.samples),
        *(row.place for row in brought.decorations),
        *(row.place for row in brought.conditions if row.phenomenon != CLOSED),
    }
