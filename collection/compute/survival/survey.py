"""One scheme, or all original ones together, on one object: every place with its share, and sums over places.

Draws are made only when a sum is asked for.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import TYPE_CHECKING, Any

from collection.compute.build_up.areas import held_by_measured, place_areas
from collection.compute.build_up.places import ALL, places_of
from collection.compute.build_up.readings import Reading
from collection.compute.build_up.removals import NOTHING
from collection.compute.case import Case, kept
from collection.compute.survival.evidence import Evidence, Subject, original_subject
from collection.compute.survival.figures import PlaceSurvival
from collection.compute.survival.model import posterior as model
from collection.compute.survival.model.lattice import DRAWS
from collection.compute.survival.model.weighing import ENDS
from collection.compute.survival.parts import Drawing, Part, sealed
from collection.records.policy import Interval

if TYPE_CHECKING:
    from collection.compute.survival.model.posterior import Array


@dataclass(frozen=True)
class Survey:
    """One subject on one object: every place, or only those looked at, with what the draws are made from.

    `counted` are the readings that are present evidence, `read` the places with readings of their own, `as_of` the
    newest date of anything used; `losses` the places that visible loss limits together, with the m² that it leaves.
    `evenly` holds the shares used in sums, where they differ from the share of the place by itself.
    """

    places: tuple[PlaceSurvival, ...]
    made_of: dict[str, tuple[Part, Drawing]]
    counted: tuple[Reading, ...]
    read: frozenset[str]
    as_of: str | None
    losses: tuple[tuple[tuple[str, ...], float], ...]
    evenly: dict[str, Interval] = field(default_factory=dict)
    held_down: dict[str, Array] = field(default_factory=dict)

    @cached_property
    def draws(self) -> dict[str, Array]:
        """Joint draws of the share of each place that has one, at its three ends; each of shape (3, 512)."""
        return {place: self.drawn(place) for place in self.made_of}

    def drawn(self, place: str) -> Array:
        import numpy as np

        if place in self.held_down:
            return self.held_down[place]
        part, how = self.made_of[place]
        low, middle, high = (part.draws(how, end) for end in ENDS)
        return sealed(np.array((np.minimum(low, middle), middle, np.maximum(middle, high))))

    def total(self, case: Case) -> dict[str, Any]:
        """The fields of `Total`."""
        located = [p for p in self.places if p.place != ALL or not places_of(case).components]
        measured = [p for p in located if p.area_m2 is not None]
        unmeasured = [
            p for p in located if p.area_m2 is None and (p.place in self.read or not held_by_measured(case, p.place))
        ]
        return {
            "area_m2": math.fsum(p.area_m2 or 0.0 for p in measured) if measured else None,
            "surviving_m2": self.surviving(measured),
            "summed_places": len(located),
            "unmeasured_places": len(unmeasured),
            "unexamined_places": sum(p.state == "not examined" for p in located),
            "places_seen": sum(r.level != "absent" for r in self.counted),
            "places_read": len(self.counted),
            "traces": sum(r.level == "trace" for r in self.counted),
            "as_of": self.as_of,
            "at_least": bool(unmeasured) or any(p.share is None for p in located),
        }

    def surviving(self, places: Iterable[PlaceSurvival], lost: Mapping[str, Interval] | None = None) -> Interval | None:
        """The surviving m² of some of its places together; with `lost` (shares of what survives, by place; a place not
        in it loses nothing), how much of that would go. None where no place is measured and has anything to go by. The
        middle is the sum of their middles, the ends come from the draws."""
        summed = []
        for p in places:
            share = self.evenly.get(p.place, p.share)
            if p.area_m2 is not None and share is not None:
                part = (1.0, 1.0, 1.0) if lost is None else lost.get(p.place, NOTHING)
                summed.append((p.place, (p.area_m2 * part[0], p.area_m2 * part[1], p.area_m2 * part[2]), share))
        if not summed:
            return None
        middle = math.fsum(area[1] * share[1] for _, area, share in summed)
        low, high = self._ends(summed)
        return min(low, middle), middle, max(middle, high)

    def share_of(self, lost: Mapping[str, Interval]) -> Interval | None:
        """How much of all that survives would go, as a share; None where nothing with an area survives.

        The ends are taken over the draws at each end of what survives: what goes and what is left belong to the same
        state of the object.
        """
        import numpy as np

        known = [
            (p.place, p.area_m2, self.evenly.get(p.place, p.share))
            for p in self.places
            if p.area_m2 and p.place in self.made_of
        ]
        whole = math.fsum(area * share[1] for _, area, share in known if share)
        if not whole:
            return None
        gone = math.fsum(area * share[1] * lost.get(place, NOTHING)[1] for place, area, share in known if share)
        shares: dict[int, list[Array]] = {0: [], 2: []}
        for row in ENDS:
            surviving = [(place, area * self.draws[place][row]) for place, area, _ in known]
            left = np.sum([drawn for _, drawn in surviving], axis=0)
            some = left > 0
            for end, found in shares.items():
                taken = np.sum([drawn * lost.get(place, NOTHING)[end] for place, drawn in surviving], axis=0)
                found.append(np.where(some, taken / np.where(some, left, 1.0), gone / whole))
        low = min(model.interval_of(drawn)[0] for drawn in shares[0])
        high = max(model.interval_of(drawn)[1] for drawn in shares[2])
        return min(low, gone / whole), gone / whole, max(gone / whole, high)

    def _ends(self, places: Sequence[tuple[str, Interval, Interval]]) -> tuple[float, float]:
        """Both ends of the m² of places together, each with its area and its share."""
        # Places with the same draws count as one surface: split or whole, they give the same sum.
        surfaces: dict[Part, dict[Drawing, list[Interval]]] = {}
        held, certain, uncertain = [], [], []
        for place, area, share in places:
            if share[0] == share[2] or not area[2]:
                certain.append((area, share))
                continue
            uncertain.append((area, share))
            if place in self.held_down:
                held.append((area, self.held_down[place]))
            else:
                part, how = self.made_of[place]
                surfaces.setdefault(part, {}).setdefault(how, []).append(area)
        if len(held) + sum(map(len, surfaces.values())) < 2:
            low, high = (math.fsum(area[end] * share[end] for area, share in (*certain, *uncertain)) for end in (0, 2))
            return low, high
        found: list[tuple[float, float]] = []
        for end in (0, 2):
            if (
                end
                and not held
                and all(area[0] == area[2] for _, area, _ in places)
                and all(part.exact(how) for part, of_part in surfaces.items() for how in of_part)
            ):
                found.append(found[0])
                continue
            total = math.fsum(area[end] * share[end] for area, share in certain) + sum(
                (area[end] * drawn[end] for area, drawn in held), _zeros()
            )
            for part, of_part in surfaces.items():
                total += part.in_own_order(
                    sum(
                        (
                            math.fsum(area[end] for area in areas) * part.drawn(how, end)
                            for how, areas in of_part.items()
                        ),
                        _zeros(),
                    )
                )
            found.append(model.interval_of(total))
        return found[0][0], found[1][1]


@kept
def original(case: Case) -> Survey:
    """All that counts as original, at every place."""
    return survey(case, original_subject(case))


def survey(case: Case, subject: Subject, *, only_read: bool = False) -> Survey:
    """One subject at every place, or with `only_read` only where it was looked for."""
    places, areas, evidence = places_of(case), place_areas(case), Evidence(case, subject)
    by_part: dict[str | None, list[str]] = defaultdict(list)
    for place in areas:
        if (not only_read or place in evidence.own) and (
            subject.component is None or places.contains(subject.component, place)
        ):
            by_part[places.component_of(place)].append(place)
    found: dict[str, PlaceSurvival] = {}
    made_of: dict[str, tuple[Part, Drawing]] = {}
    evenly: dict[str, Interval] = {}
    for component, members in by_part.items():
        part = Part(case, evidence, component, members)
        for place in members:
            source = evidence.source(place)
            at = evidence.at(place, source)
            made = part.share(evidence, place, source, at)
            share = None
            if made is not None:
                share, even, how = made
                made_of[place] = part, how
                if even != share:
                    evenly[place] = even
            found[place] = PlaceSurvival(
                place, component, at.state, areas[place], share, at.present, at.read, at.traces, at.as_of
            )
    whole = Survey(
        tuple(found.values()),
        made_of,
        tuple(evidence.counted),
        frozenset(evidence.own),
        evidence.as_of,
        evidence.losses[1],
        evenly,
    )
    return _held_down(whole) if whole.losses else whole


def _held_down(whole: Survey) -> Survey:
    """Visible loss over several places limits what survives on all of them together."""
    import numpy as np

    found = {p.place: p for p in whole.places}
    held: dict[str, Array] = {}
    evenly = dict(whole.evenly)
    for members, most_m2 in whole.losses:
        inside = [(p, found[p].area_m2 or 0.0) for p in members if p in whole.made_of and found[p].area_m2]
        surface = np.zeros((3, DRAWS))
        for place, area in inside:
            surface = surface + held.get(place, whole.drawn(place)) * area
        if float(surface.max()) <= most_m2:
            continue
        scale = np.where(surface > most_m2, most_m2 / np.where(surface > 0, surface, 1.0), 1.0)
        for place, _ in inside:
            drawn = np.sort(held.get(place, whole.drawn(place)) * scale, axis=0)
            held[place] = sealed(drawn)
            low, high = model.interval_of(drawn[0])[0], model.interval_of(drawn[2])[1]
            ends = (low, min(max(float(drawn[1].mean()), low), high), high)
            # Draws give the ends less finely than before the limit, and a limit must not raise any of them.
            found[place] = found[place]._replace(share=_no_more(found[place].share or ends, ends))
            if place in evenly:
                evenly[place] = _no_more(evenly[place], ends)
    return replace(whole, places=tuple(found.values()), held_down=held, evenly=evenly)


def _no_more(old: Interval, most: Interval) -> Interval:
    return min(old[0], most[0]), min(old[1], most[1]), min(old[2], most[2])


def _zeros() -> Array:
    import numpy as np

    return np.zeros(DRAWS)
