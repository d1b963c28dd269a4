"""What survives, summed over the places of a part, and over the objects of a collection.

Counts come first. How many places can still have original finish is an exact range (`designs.finite_range`), with no
width after a census. Objects are independent of each other, so the distance of each end of a collection's total from
its middle is the root of the summed squares; places and parts that nobody examined have no figure and are counted.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Any

from collection.compute.build_up.places import places_of
from collection.compute.case import Case
from collection.compute.survival.figures import rounded, rounded_interval
from collection.compute.survival.model.designs import finite_range
from collection.compute.survival.survey import original
from collection.compute.survival.survival import ObjectSurvival, PlaceSurvival
from collection.records.policy import Interval

UNREAD = "not examined"
GONE = ("original not found", "original removed")


@dataclass(frozen=True)
class PlaceCounts:
    """Places (not spots): how many there are, how many were read, at how many there is original finish, and the range
    of how many can have it if the read ones were chosen at random; None where none was read."""

    whole: int
    read: int
    found: int
    range: tuple[int, int] | None

    def as_json(self) -> dict[str, Any]:
        return {
            "places": self.whole,
            "read": self.read,
            "found": self.found,
            "range": None if self.range is None else list(self.range),
        }


@dataclass(frozen=True)
class PartSurvival:
    """One part with its zones; `warning` where nothing, or everything, was found at the places read."""

    component: str | None
    name: str
    places: PlaceCounts
    area_m2: float | None
    surviving_m2: Interval | None
    unmeasured_places: int
    warning: str | None

    def as_json(self) -> dict[str, Any]:
        return {
            "component": self.component,
            "name": self.name,
            **self.places.as_json(),
            "area_m2": rounded(self.area_m2),
            "surviving_m2": rounded_interval(self.surviving_m2),
            "unmeasured_places": self.unmeasured_places,
            "warning": self.warning,
        }


@dataclass(frozen=True)
class CollectionSurvival:
    """Objects summed; the figures cover the objects that have any, and `without` counts the others."""

    objects: int
    without: int
    places: PlaceCounts
    spots_seen: int
    spots_read: int
    surviving_m2: Interval | None
    at_least: bool
    as_of: str | None = field(default=None)

    def as_json(self) -> dict[str, Any]:
        return {
            "objects": self.objects,
            "without_figure": self.without,
            **self.places.as_json(),
            "present": self.spots_seen,
            "spots_read": self.spots_read,
            "surviving_m2": rounded_interval(self.surviving_m2),
            "at_least": self.at_least,
            "as_of": self.as_of,
        }


def place_counts(places: Sequence[PlaceSurvival]) -> PlaceCounts:
    """Places by what was found at them."""
    read = [p for p in places if p.state != UNREAD]
    found = sum(p.state not in GONE for p in read)
    return PlaceCounts(len(places), len(read), found, finite_range(len(places), len(read), found) if read else None)


def by_part(case: Case) -> tuple[PartSurvival, ...]:
    """Every part of an object that has surface, in the order of their codes."""
    whole = original(case)
    records = places_of(case).components
    groups: dict[str | None, list[PlaceSurvival]] = defaultdict(list)
    for place in whole.places:
        groups[place.component].append(place)
    spots: dict[str | None, list[bool]] = defaultdict(list)
    for reading in whole.counted:
        spots[places_of(case).component_of(reading.place)].append(reading.level != "absent")
    found = []
    for component in sorted(groups, key=lambda code: code or ""):
        places = groups[component]
        measured = [p for p in places if p.area_m2 is not None]
        counts = place_counts(places)
        found.append(
            PartSurvival(
                component,
                records[component].name if component in records else "the whole object",
                counts,
                math.fsum(p.area_m2 or 0.0 for p in measured) if measured else None,
                whole.surviving(places),
                len(places) - len(measured),
                _warning(spots[component], counts),
            )
        )
    return tuple(found)


def of_collection(objects: Iterable[ObjectSurvival]) -> CollectionSurvival:
    """Objects summed."""
    number = without = seen = read = whole = read_places = found = 0
    middle, below, above, figures = 0.0, 0.0, 0.0, 0
    at_least = False
    newest: str | None = None
    for one in objects:
        number += 1
        counts = place_counts(one.places)
        whole, read_places, found = whole + counts.whole, read_places + counts.read, found + counts.found
        seen, read = seen + one.places_seen, read + one.places_read
        at_least = at_least or one.at_least
        newest = max(filter(None, (newest, one.as_of)), default=None)
        if one.surviving_m2 is None:
            without += 1
            continue
        figures += 1
        low, expected, high = one.surviving_m2
        middle, below, above = middle + expected, below + (expected - low) ** 2, above + (high - expected) ** 2
    total = (max(0.0, middle - math.sqrt(below)), middle, middle + math.sqrt(above)) if figures else None
    counts = PlaceCounts(
        whole, read_places, found, finite_range(whole, read_places, found) if read_places and whole <= 2000 else None
    )
    return CollectionSurvival(number, without, counts, seen, read, total, at_least or bool(without), newest)


def _warning(spots: Sequence[bool], counts: PlaceCounts) -> str | None:
    """If all spots say the same, a sentence on how little that proves: the exact one-sided 95 % bound 1 - 0.05^(1/n),
    near 3/n (the rule of three: B. Jovanovic and P. Levy, The American Statistician 51 (1997) 137-139)."""
    read, seen = len(spots), sum(spots)
    if not read or 0 < seen < read:
        return None
    bound = 1 - 0.05 ** (1 / read)
    if seen:
        return (
            (
                f"Found at every one of {_counted(read, 'spot')}: up to {bound:.0%} of such spots could still be "
                "without it."
            )
            if counts.read < counts.whole or read < 10
            else None
        )
    return (
        f"Not found at {_counted(read, 'spot')}: no proof that none is left, up to {bound:.0%} of spots could have it."
    )


def _counted(count: int, word: str) -> str:
    return f"{count} {word}{'' if count == 1 else 's'}"
