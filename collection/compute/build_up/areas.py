"""How much surface each place has of its own, so that none is counted twice.

Areas come as stated, in m². The area of a zone within another is subtracted from the outer one; what a part has beyond
its zones is the part's own. Nested parts have surfaces of their own: a part's area leaves out the parts it carries. An
area that nobody stated is None, never 0.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

from collection.compute.build_up.places import ALL, places_of
from collection.compute.case import Case, kept

_ROUNDING = 1e-9


@kept
def place_areas(case: Case) -> Mapping[str, float | None]:
    """Every place that has surface, with its own area in m²: the parts in order, each followed by its zones.

    A part or zone here means its surface beyond the zones in it; where those fill it, it is listed only if a sample
    names it and no smaller place. Missing parts have no surface. None = not measured, as `all` always is on an object
    with parts.
    """
    places = places_of(case)
    listed = {place for place in places.within(ALL) if place not in places.held or _own(case, place) != 0.0}
    listed |= {
        s.place
        for s in case.facts.samples
        if s.method != "gauge" and places.component_of(s.place) is not None and places.is_there(s.place)
    }
    return {
        place: _own(case, place)
        for place in sorted(listed, key=lambda p: (places.component_of(p) or "", p in places.zones, p))
    }


def _own(case: Case, place: str) -> float | None:
    """The area of a place beyond the zones in it."""
    whole = stated_area(case, place)
    if whole is None:
        return None
    rest = whole - _beneath(case, place)
    return rest if rest > _ROUNDING * whole else 0.0


def _beneath(case: Case, place: str) -> float:
    """Stated area of the nearest measured zones inside a place."""
    return math.fsum(
        _beneath(case, zone) if (area := stated_area(case, zone)) is None else area
        for zone in places_of(case).held.get(place, ())
    )


def stated_area(case: Case, place: str) -> float | None:
    """The recorded area of a whole place in m², zones within it included."""
    places = places_of(case)
    record = places.zones.get(place) or places.components.get(place)
    return record.area_m2 if record else None


def holder(case: Case, zone: str) -> str:
    """The zone of the same part that contains a zone, else its part; zones that contain each other in a ring have
    none."""
    return places_of(case).holder(zone)


def held_by_measured(case: Case, place: str) -> bool:
    """Whether a place lies in a zone or part whose area is stated: if it has no area itself, it is counted there."""
    zones = places_of(case).zones
    here = place
    while here in zones:
        here = holder(case, here)
        if stated_area(case, here) is not None:
            return True
    return False
