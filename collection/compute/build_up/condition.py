"""Conditions that still apply, and what they mean for the work: failing finish comes off at a touch, broken paint lets
liquids through. Common practice, no published source."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass

from collection.compute.build_up.actions import LAYS
from collection.compute.build_up.places import ALL, places_of
from collection.compute.build_up.removals import treatment_span
from collection.compute.case import Case, kept
from collection.records.sheets import Condition
from collection.values import dates
from collection.values.spoken_dates import in_words

FAILS = frozenset({"flaking", "blistering", "delamination", "powdering", "chalking", "lifting"})
"""Finish that no longer holds, and so also lets liquids through."""
BROKEN = FAILS | {"loss", "cracking", "corrosion under paint", "abrasion"}
"""Conditions that leave ways through the paint to the support."""


@kept
def standing(case: Case) -> tuple[Condition, ...]:
    """The newest row of each phenomenon, place and scheme, left out where it says none was seen; where dates may
    overlap, every such row, since that clears less."""
    same: dict[tuple[str, str, str | None], list[Condition]] = defaultdict(list)
    for row in case.facts.conditions:
        same[row.place, row.phenomenon, row.scheme].append(row)
    return tuple(
        row
        for rows in same.values()
        for row in rows
        if row.severity != 0
        and row.extent_pct != 0
        and not any(dates.bounds(other.observed_on).earliest > dates.bounds(row.observed_on).latest for other in rows)
    )


@kept
def seen_at(case: Case, place: str, phenomena: frozenset[str]) -> tuple[Condition, ...]:
    """The conditions of these kinds that still apply and may lie in a place."""
    places = places_of(case)
    return tuple(row for row in standing(case) if row.phenomenon in phenomena and places.overlap(row.place, place))


@dataclass(frozen=True, slots=True)
class Failing:
    """Finish in a place that is failing, or not known to be at rest, with the rows that say so; `slight` where every
    row has severity 1 or an extent below the policy's; `laid_by` names a recorded consolidation surely later than all
    of them."""

    rows: tuple[Condition, ...]
    slight: bool
    laid_by: str | None

    def sentence(self) -> str:
        seen = ", ".join(dict.fromkeys(f"{row.phenomenon} ({in_words(row.observed_on)})" for row in self.rows))
        if self.laid_by is not None:
            return f"The finish was failing ({seen}); {self.laid_by} laid it since, and nobody has looked again."
        return f"The finish is failing here ({seen}): it comes off at a touch."


ANY = "*"
"""Stands for any scheme."""


@kept
def failing(case: Case, place: str, scheme: str | None) -> Failing | None:
    """The failing finish of a scheme (or `ANY`) in a place; a row that names no scheme applies to any finish there."""
    rows = tuple(
        row
        for row in standing(case)
        if row.phenomenon in FAILS
        and _lies_in(case, row.place, place)
        and row.active != "no"
        and (scheme == ANY or row.scheme in (None, "", scheme))
    )
    if not rows:
        return None
    slight = all(
        row.severity == 1 or (row.extent_pct is not None and row.extent_pct < case.policy.failing_extent_pct)
        for row in rows
    )
    return Failing(rows, slight, _laid_since(case, place, rows))


def _laid_since(case: Case, place: str, rows: tuple[Condition, ...]) -> str | None:
    places = places_of(case)
    by_code = {t.treatment: t for t in case.facts.treatments}
    for step in case.facts.treatment_steps:
        treatment = by_code.get(step.treatment)
        if (
            treatment is None
            or step.action not in LAYS
            or not places.contains(step.place, place)
            or (step.outcome or treatment.outcome) in ("partly", "tried and failed")
        ):
            continue
        if all(dates.bounds(row.observed_on).latest < treatment_span(treatment).earliest for row in rows):
            return treatment.treatment
    return None


def _lies_in(case: Case, seen: str, place: str) -> bool:
    """Whether a condition seen in one place may also be in another. One seen in a zone does not count for the surface
    around it."""
    places = places_of(case)
    return places.contains(seen, place) or not places.is_known(seen) or place == ALL


@kept
def looked_at(case: Case, place: str) -> bool:
    """Whether anybody has recorded what the surface of a place is like: by a sample in it, or by looking for a
    condition there. A record that it could not be reached does not count."""
    places = places_of(case)
    return any(places.contains(s.place, place) or places.contains(place, s.place) for s in case.facts.samples) or any(
        places.contains(row.place, place) for row in case.facts.conditions if row.phenomenon != "not accessible"
    )
