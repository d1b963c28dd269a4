"""How much of an object's painted surface is original finish, place by place, as shares that add up to one object.

A place that nobody measured counts as large as the average measured one of its object, and where none is measured all
count alike (judgement): without that it would weigh nothing. Where nothing is known of a place, its share is the whole
interval from 0 to 1. Sums take the low ends together and the high ends together, which is never too narrow.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import NamedTuple

from collection.compute.build_up.places import ALL, places_of
from collection.compute.case import Case, kept
from collection.compute.risk.threat import NOT_KNOWN
from collection.compute.survival.figures import PlaceSurvival
from collection.compute.survival.survival import object_survival
from collection.records.policy import Interval

NOT_EXAMINED = "not examined"
NONE: Interval = (0.0, 0.0, 0.0)


class Surface(NamedTuple):
    """One place: its share of the object's painted surface, how much of that is original finish, [low, middle, high],
    its zone state, and its area in m² (None = not measured)."""

    part: float
    original: Interval
    state: str
    area_m2: float | None


@kept
def surfaces(case: Case) -> Mapping[str, Surface]:
    """Every place that has surface; an object without any is one place of which nothing is known."""
    found = object_survival(case).places
    if not found:
        return {ALL: Surface(1.0, NOT_KNOWN, NOT_EXAMINED, None)}
    measured = [place.area_m2 for place in found if place.area_m2 is not None]
    usual = sum(measured) / len(measured) if sum(measured) else 1.0
    areas = {p.place: usual if p.area_m2 is None or not sum(measured) else p.area_m2 for p in found}
    whole = sum(areas.values())
    return {p.place: Surface(areas[p.place] / whole, _original(p), p.state, p.area_m2) for p in found}


def _original(place: PlaceSurvival) -> Interval:
    return NOT_KNOWN if place.share is None else place.share


def reached(case: Case, where: Iterable[str], of: Interval = (1.0, 1.0, 1.0)) -> Interval:
    """The share of the object that is original finish in some places, and in all that may share surface with them,
    times a share of those."""
    places, some = places_of(case), tuple(where)
    return total(case, lambda code, _: of if any(places.overlap(code, each) for each in some) else NONE)


def total(case: Case, taken: Callable[[str, Surface], Interval]) -> Interval:
    """The share of the object that is original finish and is taken, when `taken` of it goes at each place."""
    low = middle = high = 0.0
    for code, surface in surfaces(case).items():
        share = taken(code, surface)
        if share[2]:
            low += surface.part * surface.original[0] * share[0]
            middle += surface.part * surface.original[1] * share[1]
            high += surface.part * surface.original[2] * share[2]
    return min(low, 1.0), min(middle, 1.0), min(high, 1.0)
