"""Which places contain which: zones within zones, zones on parts, parts within parts."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cached_property

from collection.compute.case import Case, kept
from collection.records.facts import current, surely_in_state
from collection.records.sheets import Component, Zone

ALL = "all"
FILLED = 0.99
"""Once the zones in a part or zone add up to this share of its area, they count as the whole of it: areas are rarely
known more exactly."""


class Places:
    """The places of one object. The name of a part also means the surface that none of its zones covers."""

    def __init__(self, case: Case) -> None:
        self.components: dict[str, Component] = current(case.facts.components, "component")
        self._gone = surely_in_state(case.facts.components, "component", "presence", ("missing",))
        self.zones: dict[str, Zone] = {z.zone: z for z in case.facts.zones}
        self._within: dict[str, tuple[str, ...]] = {}
        self._around: dict[str, tuple[str, ...]] = {}
        self._loose = not self.components or any(s.place == ALL for s in case.facts.samples)

    def component_of(self, place: str) -> str | None:
        """The part a place lies on; None for `all` and for a place that is not recorded."""
        if place in self.zones:
            return self.zones[place].component
        return place if place in self.components else None

    def around(self, place: str) -> tuple[str, ...]:
        """The place, then every place that contains it, outward, ending in `all`."""
        if place not in self._around:
            self._around[place] = self._outward(place)
        return self._around[place]

    def _outward(self, place: str) -> tuple[str, ...]:
        chain = []
        here: str | None = place
        while here is not None and here != ALL and here not in chain:
            chain.append(here)
            if here in self.zones:
                here = self.zones[here].within or self.zones[here].component
            elif here in self.components:
                here = self.components[here].parent
            else:
                here = None
        return (*chain, ALL)

    def contains(self, outer: str, inner: str) -> bool:
        """Whether all of `inner` lies in `outer`."""
        return outer in self.around(inner)

    def overlap(self, a: str, b: str) -> bool:
        """Whether two places may share surface; a place that is out of account may lie anywhere."""
        return not (self.is_known(a) and self.is_known(b)) or self.contains(a, b) or self.contains(b, a)

    def is_known(self, place: str) -> bool:
        return place == ALL or place in self.zones or place in self.components

    def within(self, place: str) -> tuple[str, ...]:
        """Every place in `place`, itself first; parts that are missing hold no surface.

        `all` is itself a place only where the object has no parts, or samples with no nearer place.
        """
        if place not in self._within:
            inside = [
                p for p in (*sorted(self.components), *sorted(self.zones)) if p != place and self.contains(place, p)
            ]
            found = inside if place == ALL and not self._loose else [place, *inside]
            self._within[place] = tuple(p for p in found if self.is_there(p) and not self._filled(p))
        return self._within[place]

    def holder(self, zone: str) -> str:
        """The zone of the same part that contains a zone, else its part; zones that contain each other in a ring have
        none."""
        zones = self.zones
        outer = zones[zone].within
        seen = {zone}
        here = outer
        while here is not None and here in zones and here not in seen:
            seen.add(here)
            here = zones[here].within
        in_ring = here in seen
        if outer is None or outer not in zones or in_ring or zones[outer].component != zones[zone].component:
            return zones[zone].component
        return outer

    @cached_property
    def held(self) -> Mapping[str, list[str]]:
        """The zones that each part or zone holds directly; those that hold none are left out."""
        found: dict[str, list[str]] = {}
        for zone in self.zones:
            found.setdefault(self.holder(zone), []).append(zone)
        return found

    def _filled(self, place: str) -> bool:
        """Whether the zones in a part or zone take up all of its measured area, so that it has no surface beside
        them."""
        record = self.components.get(place) or self.zones.get(place)
        if record is None:
            return False
        whole = record.area_m2
        own = [self.zones[zone].area_m2 for zone in self.held.get(place, ())]
        if not whole or not own or any(area is None for area in own):
            return False
        return sum(area or 0.0 for area in own) >= FILLED * whole

    def is_there(self, place: str) -> bool:
        """False where the part, or one that holds it, is surely missing now."""
        return not self._gone.intersection(self.around(place))


@kept
def places_of(case: Case) -> Places:
    """The places of an object, set up once because they are needed so often."""
    return Places(case)
