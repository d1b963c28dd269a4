"""What survives of the maker's finish on one object: where, how much, how surely, as of when.

Points are evidence, areas are inference. People are told counts first, intervals second; an interval is
[low, middle, high]: the central 95 % and the expected value. The model of the areas is in `posterior`,
which records count in `survival_evidence`. Draws belong to the object and its parts, not to the question.
"""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from collection.compute import posterior as model
from collection.compute.areas import held_by_measured, place_areas
from collection.compute.places import ALL, places_of
from collection.compute.survival_decorations import DecorationSurvival, decoration_survival
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
HOW_CHOSEN = {"random": "at random", "expected": "where it was expected", "at a loss": "at a loss",
              "": "not said how"}


@dataclass(frozen=True, slots=True)
class PlaceSurvival:
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


@dataclass(frozen=True, slots=True)
class SchemeSurvival(Total):
    """One scheme; `places` are those where it was looked for."""

    scheme: str
    period: str
    places: tuple[PlaceSurvival, ...]

    def as_json(self) -> dict[str, Any]:
        """The scheme as JSON; figures to 6 significant digits."""
        return {"scheme": self.scheme, "period": self.period, **self.figures(),
                "places": [place.as_json() for place in self.places]}


@dataclass(frozen=True, slots=True)
class ObjectSurvival(Total):
    """The maker's own finish on one object, and the same for each of its schemes.

    `chosen` counts the spots by how they were chosen, "" = not said: samples are rarely random.
    """

    object: str
    title: str
    places: tuple[PlaceSurvival, ...]
    schemes: tuple[SchemeSurvival, ...]
    decorations: tuple[DecorationSurvival, ...]
    chosen: tuple[tuple[str, int], ...]

    @property
    def sentence(self) -> str:
        """The counts, as people read them first."""
        if not self.places_read:
            return "No place has been looked at for original finish"
        noun = "place" if self.places_read == 1 else "places"
        traces = f" ({self.traces} trace{'s' if self.traces > 1 else ''})" if self.traces else ""
        return f"Original finish seen at {self.places_seen} of {self.places_read} {noun} looked at{traces}"

    @property
    def how_chosen(self) -> str:
        """How the places were chosen; empty where none was looked at."""
        parts = ", ".join(f"{count} {HOW_CHOSEN[word]}" for word, count in self.chosen)
        return f"Places chosen: {parts}" if parts else ""

    def as_json(self) -> dict[str, Any]:
        """The object as the `survival` command gives it; figures to 6 significant digits."""
        return {"object": self.object, "title": self.title, **self.figures(), "sentence": self.sentence,
                "how_chosen": self.how_chosen,
                "places": [place.as_json() for place in self.places],
                "schemes": [scheme.as_json() for scheme in self.schemes],
                "decorations": [decoration.as_json() for decoration in self.decorations]}


def object_survival(facts: Facts) -> ObjectSurvival:
    """What survives on an object, by place, scheme and decoration; equal facts always give equal figures."""
    return _object_survival(facts)


@lru_cache(maxsize=16)
def _object_survival(facts: Facts) -> ObjectSurvival:
    original = _original(facts)
    schemes = []
    for scheme in facts.schemes:
        own = _survey(facts, Subject(frozenset({scheme.scheme}), component=scheme.component))
        looked = tuple(p for p in own.places if p.place in own.evidence.own)
        schemes.append(SchemeSurvival(**own.total(), scheme=scheme.scheme, period=scheme.period, places=looked))
    how = Counter(original.evidence.chosen)
    return ObjectSurvival(**original.total(), object=facts.object.object, title=facts.object.title,
                          places=original.places, schemes=tuple(schemes),
                          decorations=decoration_survival(facts),
                          chosen=tuple((word, how[word]) for word in HOW_CHOSEN if how[word]))


def place_draws(facts: Facts) -> dict[str, Array]:
    """Joint draws of the surviving share of original finish, by place; each of shape (512,), 0-1.

    A place with nothing to go by is left out. Draw i of every place belongs to the same state of the
    object, so that sums over places keep their interval; every question gets the same draws. Weigh them
    with `areas.place_areas`. The arrays are read-only.
    """
    return dict(_original(facts).draws)


@dataclass(frozen=True)
class _Survey:
    """One subject on one object: every place with its draws."""

    facts: Facts
    evidence: Evidence
    places: tuple[PlaceSurvival, ...]
    draws: Mapping[str, Array]

    def total(self) -> dict[str, Any]:
        """The fields of `Total`."""
        located = [p for p in self.places if p.place != ALL or not places_of(self.facts).components]
        measured = [p for p in located if p.area_m2 is not None]
        unmeasured = [p for p in located if p.area_m2 is None
                      and (p.place in self.evidence.own or not held_by_measured(self.facts, p.place))]
        counted = self.evidence.counted
        return {
            "area_m2": math.fsum(p.area_m2 or 0.0 for p in measured) if measured else None,
            "surviving_m2": self._surviving([p for p in measured if p.share is not None]),
            "summed_places": len(located),
            "unmeasured_places": len(unmeasured),
            "unexamined_places": sum(p.state == "not examined" for p in located),
            "places_seen": sum(r.level != "absent" for r in counted),
            "places_read": len(counted),
            "traces": sum(r.level == "trace" for r in counted),
            "as_of": self.evidence.as_of,
            "at_least": bool(unmeasured) or any(p.share is None for p in located),
        }

    def _surviving(self, places: Sequence[PlaceSurvival]) -> Interval | None:
        """The surviving m² of places: the middle is the sum of their middles, the ends come from the draws."""
        import numpy as np

        if not places:
            return None
        ends = [math.fsum((p.area_m2 or 0.0) * (p.share or NONE_LEFT)[end] for p in places) for end in range(3)]
        surfaces: dict[int, list[float]] = defaultdict(list)
        shares: dict[int, Array] = {}
        for p in places:
            drawn = self.draws[p.place]
            if p.area_m2 and (p.share or NONE_LEFT)[0] < (p.share or NONE_LEFT)[2]:
                shares[id(drawn)] = drawn
                surfaces[id(drawn)].append(p.area_m2)
        if len(shares) < 2:
            return ends[0], ends[1], ends[2]
        certain = math.fsum((p.area_m2 or 0.0) * (p.share or NONE_LEFT)[0] for p in places
                            if id(self.draws[p.place]) not in shares)
        total = np.full(model.DRAWS, certain)
        for key, drawn in shares.items():
            total = total + math.fsum(surfaces[key]) * drawn
        low, high = model.interval_of(total)
        return min(low, ends[1]), ends[1], max(high, ends[1])


@lru_cache(maxsize=16)
def _original(facts: Facts) -> _Survey:
    return _survey(facts, original_subject(facts))


def _survey(facts: Facts, subject: Subject) -> _Survey:
    places, areas, evidence = places_of(facts), place_areas(facts), Evidence(facts, subject)
    by_part: dict[str | None, list[str]] = defaultdict(list)
    for place in areas:
        if subject.component is None or places.contains(subject.component, place):
            by_part[places.component_of(place)].append(place)
    found: dict[str, PlaceSurvival] = {}
    draws: dict[str, Array] = {}
    for component, members in by_part.items():
        part = _Part(facts, evidence, component, members)
        for place in members:
            share, drawn = part.share(place)
            at = evidence.at(place)
            found[place] = PlaceSurvival(place, component, at.state, areas[place], share, at.present, at.read,
                                         at.traces, at.as_of)
            if drawn is not None:
                draws[place] = drawn
    _hold_down(evidence, areas, found, draws)
    return _Survey(facts, evidence, tuple(found.values()), draws)


class _Part:
    """The places of one part, which share what is uncertain about it."""

    def __init__(self, facts: Facts, evidence: Evidence, component: str | None, members: Sequence[str]) -> None:
        own = [(evidence.own[place].counts, place) for place in members
               if place in evidence.own and evidence.own[place].state != REMOVED]
        self.evidence = evidence
        # Readings that are only known to lie somewhere on an object with parts tell nothing of any part.
        self.located = component is not None or not places_of(facts).components
        self.units = [place for counts, place in sorted(own) if counts != (0, 0)]
        self.posterior = model.posterior(tuple(evidence.own[place].counts for place in self.units))
        points = [evidence.own[p] for p in self.units if evidence.own[p].whole is None]
        without = sum(at.counts[1] for at in points)
        self.trace_share = sum(at.traces for at in points) / without if without else 0.0
        self.key = f"{facts.object.object}/{component or ALL}"
        self._made: dict[tuple[object, ...], tuple[Interval, Array]] = {}

    def share(self, place: str) -> tuple[Interval | None, Array | None]:
        """The share of one place and its draws; None where there is nothing to go by."""
        source = self.evidence.source(place)
        most = self.evidence.losses[0].get(place, 1.0)
        at = None if source is None else self.evidence.own[source]
        if at is not None and at.state == REMOVED:
            return self._same(NONE_LEFT)
        if at is not None and at.whole is not None and (self.located or at.whole[0] == at.whole[2]):
            low, middle, high = at.whole
            return self._same((min(low, most), min(middle, most), min(high, most)))
        if not self.located or not self.units:
            return None, None
        if source in self.units and at is not None:
            return self._inferred(self.units.index(source), at.trace_share, most)
        return self._inferred(None, self.trace_share, most)

    def _same(self, share: Interval) -> tuple[Interval, Array]:
        """A share that was read off the whole surface; readings that differ leave anything between them."""
        if share not in self._made:
            import numpy as np

            self._made[share] = share, _sealed(np.linspace(share[0], share[2], model.DRAWS)[self._order()])
        return self._made[share]

    def _inferred(self, position: int | None, traced: float, most: float) -> tuple[Interval, Array]:
        """A share inferred from points; of the rest, where traces were met, the little that these stand for."""
        made = self._made.get((position, traced, most))
        if made is None:
            import numpy as np

            low, middle, high = self.posterior.share(position, most)
            share = (low, min(most, middle + (1 - middle) * traced * TRACE_MIDDLE),
                     min(most, high + (1 - high) * traced * model.TRACE_MOST))
            drawn = self.posterior.draws[0 if position is None else position + 1]
            if traced:
                drawn = drawn + (1 - drawn) * traced * model.trace_width()
            made = self._made[position, traced, most] = share, _sealed(np.minimum(drawn, most)[self._order()])
        return made

    def _order(self) -> Any:
        return model.shuffled(self.key)


def _sealed(drawn: Array) -> Array:
    drawn.flags.writeable = False
    return drawn


def _hold_down(evidence: Evidence, areas: Mapping[str, float | None], found: dict[str, PlaceSurvival],
               draws: dict[str, Array]) -> None:
    """Visible loss over a surface of several places bounds what survives on all of them together."""
    import numpy as np

    for members, most_m2 in evidence.losses[1]:
        inside = [p for p in members if p in draws and areas[p]]
        surface = np.zeros(model.DRAWS)
        for place in inside:
            surface = surface + draws[place] * (areas[place] or 0.0)
        if not inside or float(surface.max()) <= most_m2:
            continue
        scale = np.where(surface > most_m2, most_m2 / np.where(surface > 0, surface, 1.0), 1.0)
        for place in inside:
            draws[place] = _sealed(draws[place] * scale)
            low, high = model.interval_of(draws[place])
            ends = (low, min(max(float(draws[place].mean()), low), high), high)
            old = found[place].share or ends
            # Draws give the ends less finely than before the bound; a bound must not raise any.
            found[place] = replace(found[place], share=(min(old[0], ends[0]), min(old[1], ends[1]),
                                                        min(old[2], ends[2])))
