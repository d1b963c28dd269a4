"""How much surface each place has of its own, so that none is summed twice.

Areas come as stated, in m². A zone within another is taken from it; what a part has beyond its zones is
the part's own. Nested parts are surfaces of their own: a part's area is without the parts it carries.
An area that nobody stated is None, never 0.
"""

from __future__ import annotations

import math
from collections import defaultdict
from functools import lru_cache

from collection.compute.places import ALL, places_of
from collection.facts import Facts

_ROUNDING = 1e-9


def place_areas(facts: Facts) -> dict[str, float | None]:
    """Every place that has surface, in the order component, zone, with its own area in m² or None.

    A part is listed for the surface beyond its zones: where it has none left it is listed only if a
    sample was taken there. Missing parts have no surface. `all` is listed where the object has no parts,
    or where a sample is recorded for no nearer place; then it has no area of its own.
    """
    return dict(_place_areas(facts))


@lru_cache(maxsize=64)
def _place_areas(facts: Facts) -> dict[str, float | None]:
    places = places_of(facts)
    sampled = {s.place for s in facts.samples if s.method != "gauge"}
    inner: dict[str, list[str]] = defaultdict(list)
    for zone in places.zones:
        inner[holder(facts, zone)].append(zone)

    def stated(place: str) -> float | None:
        record = places.zones.get(place) or places.components.get(place)
        return record.area_m2 if record else None

    def beneath(place: str) -> float:
        """Stated area of the nearest measured zones inside a place."""
        areas = ((stated(z), z) for z in inner[place])
        return math.fsum(beneath(z) if area is None else area for area, z in areas)

    def own(place: str) -> float | None:
        whole = stated(place)
        if whole is None:
            return None
        rest = whole - beneath(place)
        return rest if rest > _ROUNDING * whole else 0.0

    found: dict[str, float | None] = {}
    for component in sorted(places.components):
        if not places.is_there(component):
            continue
        area = own(component)
        if area != 0.0 or component in sampled or not inner[component]:
            found[component] = area
        for zone in sorted(z for z in places.zones if places.zones[z].component == component):
            found[zone] = own(zone)
    if not places.components or ALL in sampled:
        found[ALL] = None
    return found


def holder(facts: Facts, zone: str) -> str:
    """The zone that a zone is a part of, else its component; a ring of zones within each other has none."""
    zones = places_of(facts).zones
    within = zones[zone].within
    if within is None or within not in zones or zones[within].component != zones[zone].component:
        return zones[zone].component
    seen = {zone}
    here: str | None = within
    while here in zones:
        if here in seen:
            return zones[zone].component
        seen.add(here)
        here = zones[here].within
    return within


def held_by_measured(facts: Facts, place: str) -> bool:
    """Whether a place without an area lies in a zone or part that has one: its surface is counted there."""
    places = places_of(facts)
    here = place
    while here in places.zones:
        here = holder(facts, here)
        record = places.zones.get(here) or places.components.get(here)
        if record is not None and record.area_m2 is not None:
            return True
    return False
