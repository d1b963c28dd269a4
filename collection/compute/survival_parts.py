"""One scheme, or all original ones together, on one object: the share of every place, and sums over places.

Places of one part share what is uncertain about it; parts are independent of each other. Draws are made
only where somebody asks for a sum.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property, lru_cache
from typing import TYPE_CHECKING, Any, NamedTuple

from collection.compute import posterior as model
from collection.compute.areas import held_by_measured, place_areas
from collection.compute.places import ALL, places_of
from collection.compute.survival_evidence import (
    REMOVED,
    Evidence,
    Subject,
    original_subject,
    rounded,
    rounded_interval,
)
from collection.facts import Facts
from collection.policy import Interval

if TYPE_CHECKING:
    from collection.compute.posterior import Array

NONE_LEFT: Interval = (0.0, 0.0, 0.0)
TRACE_MIDDLE = model.TRACE_MOST / 2


class PlaceSurvival(NamedTuple):
    """One place: `state` is a zone state; `area_m2` its own surface, None = not measured; `share` of that
    area that survives, None = nothing to go by; `present`, `read` and `traces` count readings."""

    place: str
    component: str | None
    state: str
    area_m2: float | None
    share: Interval | None
    present: int
    read: int
    traces: int
    as_of: str | None

    def as_json(self) -> dict[str, Any]:
        """The place as JSON; figures to 6 significant digits."""
        return {"place": self.place, "component": self.component, "state": self.state,
                "area_m2": rounded(self.area_m2), "share": rounded_interval(self.share),
                "present": self.present, "read": self.read, "traces": self.traces, "as_of": self.as_of}


@dataclass(frozen=True, slots=True)
class Total:
    """Places summed.

    `area_m2` is of the measured places, `surviving_m2` of those of them with anything to go by; None =
    there are none. `places_seen`, `places_read` and `traces` count the spots where somebody looked, one
    per sample that speaks. `as_of` is the newest date of any reading or treatment used. `at_least`: more
    may survive than is summed, because a place is unmeasured or there is nothing to go by.
    """

    area_m2: float | None
    surviving_m2: Interval | None
    summed_places: int
    unmeasured_places: int
    unexamined_places: int
    places_seen: int
    places_read: int
    traces: int
    as_of: str | None
    at_least: bool

    def figures(self) -> dict[str, Any]:
        """The figures as JSON, to 6 significant digits."""
        return {"area_m2": rounded(self.area_m2), "surviving_m2": rounded_interval(self.surviving_m2),
                "at_least": self.at_least, "unmeasured_places": self.unmeasured_places,
                "unexamined_places": self.unexamined_places, "present": self.places_seen,
                "read": self.places_read, "traces": self.traces, "as_of": self.as_of}


class Drawing(NamedTuple):
    """How the draws of a place are made: from an area's readings (`position` among those of its part, None =
    never read), with `traced` of the rest as traces, at most `most`; or evenly over a `whole` that was read off."""

    position: int | None = None
    traced: float = 0.0
    most: float = 1.0
    whole: Interval | None = None


class Part:
    """The places of one part, which share what is uncertain about it."""

    def __init__(self, facts: Facts, evidence: Evidence, component: str | None, members: Sequence[str]) -> None:
        own = [(at.counts, place) for place in members
               if (at := evidence.own.get(place)) is not None and at.state != REMOVED and at.counts != (0, 0)]
        self.evidence = evidence
        # Readings that are only known to lie somewhere on an object with parts tell nothing of any part.
        self.located = component is not None or not places_of(facts).components
        self.position = {place: position for position, (_, place) in enumerate(sorted(own))}
        self.posterior = model.posterior(model.counts_in_order([counts for counts, _ in own]))
        points = [at for place in self.position if (at := evidence.own[place]).whole is None]
        without = sum(at.counts[1] for at in points)
        self.trace_share = sum(at.traces for at in points) / without if without else 0.0
        self.key = f"{facts.object.object}/{component or ALL}"
        self._made: dict[Drawing, Array] = {}

    def share(self, place: str, source: str | None) -> tuple[Interval, Drawing] | None:
        """The share of one place for which the readings of `source` speak; None where there is nothing to go by."""
        most = self.evidence.losses[0].get(place, 1.0)
        at = None if source is None else self.evidence.own[source]
        if at is not None and at.state == REMOVED:
            return NONE_LEFT, Drawing(whole=NONE_LEFT)
        if at is not None and at.whole is not None and (self.located or at.whole[0] == at.whole[2]):
            low, middle, high = at.whole
            whole = (min(low, most), min(middle, most), min(high, most))
            return whole, Drawing(whole=whole)
        if not self.located or not self.position:
            return None
        position = None if source is None else self.position.get(source)
        traced = self.trace_share if position is None or at is None else at.trace_share
        low, middle, high = self.posterior.share(position, most)
        return ((low, min(most, middle + (1 - middle) * traced * TRACE_MIDDLE),
                 min(most, high + (1 - high) * traced * model.TRACE_MOST)), Drawing(position, traced, most))

    def draws(self, how: Drawing) -> Array:
        """Joint draws of the shares of this part's places; of shape (512,), read-only."""
        if how not in self._made:
            self._made[how] = _sealed(self.in_own_order(self.drawn(how)))
        return self._made[how]

    def drawn(self, how: Drawing) -> Array:
        """The same, before the part puts them in its own order: draws of places of one part belong together."""
        import numpy as np

        if how.whole is not None:
            # Readings of the whole that differ leave anything between them.
            return np.linspace(how.whole[0], how.whole[2], model.DRAWS)
        drawn: Array = self.posterior.draws[0 if how.position is None else how.position + 1]
        if how.traced:
            # Of the rest, where traces were met, the little that these stand for.
            drawn = drawn + (1 - drawn) * (how.traced * model.trace_width())
        return drawn if how.most >= 1 else np.minimum(drawn, how.most)

    def in_own_order(self, drawn: Array) -> Array:
        """Draws in the order in which this part takes them, so that no part's go with another's."""
        reordered: Array = drawn[model.shuffled(self.key)]
        return reordered


@dataclass(frozen=True)
class Survey:
    """One subject on one object: every place, or only those looked at, with what its draws are made of."""

    facts: Facts
    evidence: Evidence
    places: tuple[PlaceSurvival, ...]
    made_of: dict[str, tuple[Part, Drawing]]
    held_down: dict[str, Array] = field(default_factory=dict)

    @cached_property
    def draws(self) -> dict[str, Array]:
        """Joint draws of the share of each place that has one."""
        return {place: self.drawn(place) for place in self.made_of}

    def drawn(self, place: str) -> Array:
        if place in self.held_down:
            return self.held_down[place]
        part, how = self.made_of[place]
        return part.draws(how)

    def total(self) -> dict[str, Any]:
        """The fields of `Total`."""
        located = [p for p in self.places if p.place != ALL or not places_of(self.facts).components]
        measured = [p for p in located if p.area_m2 is not None]
        unmeasured = [p for p in located if p.area_m2 is None
                      and (p.place in self.evidence.own or not held_by_measured(self.facts, p.place))]
        counted = self.evidence.counted
        return {
            "area_m2": math.fsum(p.area_m2 or 0.0 for p in measured) if measured else None,
            "surviving_m2": self.surviving(measured),
            "summed_places": len(located),
            "unmeasured_places": len(unmeasured),
            "unexamined_places": sum(p.state == "not examined" for p in located),
            "places_seen": sum(r.level != "absent" for r in counted),
            "places_read": len(counted),
            "traces": sum(r.level == "trace" for r in counted),
            "as_of": self.evidence.as_of,
            "at_least": bool(unmeasured) or any(p.share is None for p in located),
        }

    def surviving(self, places: Sequence[PlaceSurvival]) -> Interval | None:
        """The surviving m² of some of its places together; None where none is measured and has anything to go by."""
        return self._surviving([(p, p.area_m2, p.share) for p in places if p.area_m2 is not None and p.share])

    def _surviving(self, places: Sequence[tuple[PlaceSurvival, float, Interval]]) -> Interval | None:
        """The surviving m² of places: the middle is the sum of their middles, the ends come from the draws."""
        import numpy as np

        if not places:
            return None
        low, middle, high = (math.fsum(area * share[end] for _, area, share in places) for end in range(3))
        # Places with the same draws are one surface: split or whole, they give the same sum.
        surfaces: dict[Part, dict[Drawing, list[float]]] = {}
        held: list[Array] = []
        certain = []
        for p, area, share in places:
            if share[0] == share[2] or not area:
                certain.append(area * share[0])
            elif p.place in self.held_down:
                held.append(area * self.held_down[p.place])
            else:
                part, how = self.made_of[p.place]
                surfaces.setdefault(part, {}).setdefault(how, []).append(area)
        if len(held) + sum(map(len, surfaces.values())) < 2:
            return low, middle, high
        total = np.full(model.DRAWS, math.fsum(certain))
        for drawn in held:
            total = total + drawn
        for part, of_part in surfaces.items():
            summed = np.zeros(model.DRAWS)
            for how, areas in of_part.items():
                summed += math.fsum(areas) * part.drawn(how)
            total = total + part.in_own_order(summed)
        ends = model.interval_of(total)
        return min(ends[0], middle), middle, max(ends[1], middle)


@lru_cache(maxsize=16)
def original(facts: Facts) -> Survey:
    """All that counts as original, at every place."""
    return survey(facts, original_subject(facts))


def survey(facts: Facts, subject: Subject, *, only_read: bool = False) -> Survey:
    """One subject at every place, or with `only_read` where it was looked for."""
    places, areas, evidence = places_of(facts), place_areas(facts), Evidence(facts, subject)
    by_part: dict[str | None, list[str]] = defaultdict(list)
    for place in areas:
        if ((not only_read or place in evidence.own)
                and (subject.component is None or places.contains(subject.component, place))):
            by_part[places.component_of(place)].append(place)
    found: dict[str, PlaceSurvival] = {}
    made_of: dict[str, tuple[Part, Drawing]] = {}
    for component, members in by_part.items():
        part = Part(facts, evidence, component, members)
        for place in members:
            source = evidence.source(place)
            at = evidence.speaks(source)
            made = part.share(place, source)
            share, how = (None, None) if made is None else made
            found[place] = PlaceSurvival(place, component, at.state, areas[place], share, at.present, at.read,
                                         at.traces, at.as_of)
            if how is not None:
                made_of[place] = part, how
    whole = Survey(facts, evidence, tuple(found.values()), made_of)
    return _held_down(whole) if evidence.losses[1] else whole


def _held_down(whole: Survey) -> Survey:
    """Visible loss over a surface of several places bounds what survives on all of them together."""
    import numpy as np

    found = {p.place: p for p in whole.places}
    held: dict[str, Array] = {}
    for members, most_m2 in whole.evidence.losses[1]:
        inside = [(p, found[p].area_m2 or 0.0) for p in members if p in whole.made_of and found[p].area_m2]
        surface = np.zeros(model.DRAWS)
        for place, area in inside:
            surface = surface + held.get(place, whole.drawn(place)) * area
        if float(surface.max()) <= most_m2:
            continue
        scale = np.where(surface > most_m2, most_m2 / np.where(surface > 0, surface, 1.0), 1.0)
        for place, _ in inside:
            drawn = _sealed(held.get(place, whole.drawn(place)) * scale)
            low, high = model.interval_of(drawn)
            ends = (low, min(max(float(drawn.mean()), low), high), high)
            old = found[place].share or ends
            # Draws give the ends less finely than before the bound; a bound must not raise any.
            held[place] = drawn
            found[place] = found[place]._replace(share=(min(old[0], ends[0]), min(old[1], ends[1]),
                                                        min(old[2], ends[2])))
    return replace(whole, places=tuple(found.values()), held_down=held)


def _sealed(drawn: Array) -> Array:
    drawn.flags.writeable = False
    return drawn
