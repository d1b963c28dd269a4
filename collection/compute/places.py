"""Which surface lies within which: zones within zones, zones on parts, parts within parts."""

from __future__ import annotations

from functools import lru_cache

from collection.facts import Facts, current, surely_in_state
from collection.records import Component, Zone

ALL = "all"
FILLED = 0.99
"""Share of a part's area from which its zones count as the whole of it: areas are rarely surer."""


class Places:
    """The places of one object. A part stands for the surface that none of its zones covers as well."""

    def __init__(self, facts: Facts) -> None:
        self.components: dict[str, Component] = current(facts.components, "component")
        self._gone = surely_in_state(facts.components, "component", "presence", ("missing",))
        self.zones: dict[str, Zone] = {z.zone: z for z in facts.zones}
        self._loose = not self.components or any(s.place == ALL for s in facts.samples)

    def component_of(self, place: str) -> str | None:
        """The part a place lies on; None for `all` and for a place that is not recorded."""
        if place in self.zones:
            return self.zones[place].component
        return place if place in self.components else None

    def around(self, place: str) -> tuple[str, ...]:
        """The place, then every place that contains it, outward, ending in `all`."""
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
        return not (self._is_known(a) and self._is_known(b)) or self.contains(a, b) or self.contains(b, a)

    def _is_known(self, place: str) -> bool:
        return place == ALL or place in self.zones or place in self.components

    def within(self, place: str) -> tuple[str, ...]:
        """Every place in `place`, itself first; parts that are missing hold no surface.

        `all` is itself a place only where the object has no parts, or samples with no nearer place.
        """
        inside = [p for p in (*sorted(self.components), *sorted(self.zones))
                  if p != place and self.contains(place, p)]
        found = inside if place == ALL and not self._loose else [place, *inside]
        return tuple(p for p in found if self.is_there(p) and not self._filled(p))

    def _filled(self, place: str) -> bool:
        """Whether a part's zones take up all of its measured area, so that it has no surface beside them."""
        if place not in self.components:
            return False
        whole = self.components[place].area_m2
        own = [z.area_m2 for z in self.zones.values() if z.component == place and z.within is None]
        if not whole or not own or any(area is None for area in own):
            return False
        return sum(area or 0.0 for area in own) >= FILLED * whole

    def is_there(self, place: str) -> bool:
        """False where the part, or one that holds it, is surely missing now."""
        return not self._gone.intersection(self.around(place))


@lru_cache(maxsize=64)
def places_of(facts: Facts) -> Places:
    """The places of a facts document; one document is asked many times."""
    return Places(facts)
