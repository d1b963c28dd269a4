"""Conditions that still stand, and what they mean for the work: broken paint lets liquids through."""

from __future__ import annotations

from collections import defaultdict
from functools import lru_cache

from collection import dates
from collection.compute.places import places_of
from collection.facts import Facts
from collection.records import Condition

OPEN = frozenset({"flaking", "blistering", "delamination"})
"""Paint that stands off: whatever is put on it may get under it. Common practice, no published source."""
BROKEN = OPEN | {"loss", "cracking", "corrosion under paint", "abrasion"}
"""Paint with ways through to what carries it."""


@lru_cache(maxsize=64)
def standing(facts: Facts) -> tuple[Condition, ...]:
    """The newest row of each phenomenon, place and scheme that was seen to be there; of dates that may overlap every
    row, which clears less."""
    same: dict[tuple[str, str, str | None], list[Condition]] = defaultdict(list)
    for row in facts.conditions:
        same[row.place, row.phenomenon, row.scheme].append(row)
    return tuple(row for rows in same.values() for row in rows if row.severity != 0 and not any(
        dates.bounds(other.observed_on).earliest > dates.bounds(row.observed_on).latest for other in rows))


@lru_cache(maxsize=1024)
def seen_at(facts: Facts, place: str, phenomena: frozenset[str]) -> tuple[Condition, ...]:
    """The standing conditions of these kinds that may lie in a place."""
    places = places_of(facts)
    return tuple(row for row in standing(facts) if row.phenomenon in phenomena and places.overlap(row.place, place))
