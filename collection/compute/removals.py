"""What documented work took off a place since a reading there: a share of the place, never more than was covered.

A removal acts on the share of its own place that it covered; of every smaller place in it nobody knows whether it was
reached. Only a measured area bounds the share from below. Stripping that nobody looked at again leaves something in
recesses (common practice, no published source).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import lru_cache

from collection import dates
from collection.compute.actions import KIND_OF_ACTION
from collection.compute.areas import place_areas, stated_area
from collection.compute.places import ALL, places_of
from collection.facts import Facts
from collection.policy import Interval, default_policy
from collection.records import Treatment, TreatmentStep

NOTHING: Interval = (0.0, 0.0, 0.0)


@lru_cache(maxsize=64)
def removal_steps(facts: Facts) -> tuple[tuple[Treatment, TreatmentStep], ...]:
    """The steps that are documented to have taken a scheme or coat off, or to have tried to."""
    by_code = {t.treatment: t for t in facts.treatments}
    return tuple((by_code[s.treatment], s) for s in facts.treatment_steps if s.removed and s.treatment in by_code)


def treatment_span(treatment: Treatment) -> dates.Span:
    """When a treatment was carried out; one date alone stands for the whole of it."""
    first = dates.bounds(treatment.started or treatment.ended)
    last = dates.bounds(treatment.ended or treatment.started)
    return dates.Span(first.earliest, last.latest)


def taken(facts: Facts, scheme: str, role: str | None, place: str, seen_on: str | None) -> Interval:
    """The share of a coat's surface in `place` that work later than a reading took off, [low, middle, high].

    `low` counts only work that surely came after the reading, `high` also work whose date may. What was read surely
    after the work is not touched by it. Several removals may have met the same surface (low) or each another (high).
    """
    low, left, high = 0.0, 1.0, 0.0
    for span, by_step in _shares(facts, place).get(scheme, ()):
        names_role, share = by_step
        if names_role and names_role != role:
            continue
        seen = dates.bounds(seen_on)
        if seen.earliest > span.latest:
            continue
        sure = seen.latest < span.earliest
        low = max(low, share[0] if sure else 0.0)
        left *= 1 - share[1] * (1.0 if sure else 0.5)
        high += share[2]
    if not high:
        return NOTHING
    high = min(1.0, high)
    return low, min(max(1 - left, low), high), high


def mostly_taken(share: Interval) -> bool:
    """Whether so much is gone that a reading from before is history: what stripping is taken to leave, or less."""
    return share[0] >= 1 - default_policy().stripping_leaves - 1e-9


@lru_cache(maxsize=4096)
def _shares(facts: Facts, place: str) -> Mapping[str, list[tuple[dates.Span, tuple[str, Interval]]]]:
    found: dict[str, list[tuple[dates.Span, tuple[str, Interval]]]] = {}
    for treatment, step in removal_steps(facts):
        share = share_of_step(facts, treatment, step, place)
        if share[2] > 0:
            scheme, _, role = (step.removed or "").partition("/")
            found.setdefault(scheme, []).append((treatment_span(treatment), (role, share)))
    return found


def share_of_step(facts: Facts, treatment: Treatment, step: TreatmentStep, place: str) -> Interval:
    """The share of `place` from which one step took what it names."""
    places = places_of(facts)
    inside = places.contains(step.place, place)
    if not inside and not _may_lie_in(facts, step.place, place):
        return NOTHING
    outcome = step.outcome or treatment.outcome or "done"
    worked = min((m2 for m2 in (step.removed_m2, step.area_m2) if m2 is not None), default=None)
    if outcome == "done" and worked is None and KIND_OF_ACTION[step.action] == "whole" and inside:
        leaves = default_policy().stripping_leaves
        return 1 - leaves, 1 - leaves / 2, 1.0
    area = stated_area(facts, step.place)
    expected = 0.5 if worked is None or not area else min(1.0, worked / area)
    if place != step.place or places.held.get(place):
        # Whether a smaller place, or a vague one, lay where the work went, nobody knows; more than was worked on is
        # not gone of it.
        own = place_areas(facts).get(place)
        most = 1.0 if worked is None or not own else min(1.0, worked / own)
        return (0.0, min(expected, most), most) if inside else (0.0, 0.0, most)
    most = 1.0 if worked is None or not area else min(1.0, worked / area)
    if outcome != "done" or not area or step.removed_m2 is None or step.removed_m2 > area:
        return 0.0, min(expected, most) / 2, most
    return most, most, most


def _may_lie_in(facts: Facts, step_place: str, place: str) -> bool:
    """Whether work in a place that is out of account, or in `all`, may have met this one; or whether readings that
    name no nearer place than `all` may have been where the work was."""
    places = places_of(facts)
    return not places.is_known(step_place) or not places.is_known(place) or place == ALL


def newest_removals(facts: Facts, schemes: Iterable[str], place: str) -> list[str | None]:
    """The dates of the removals of some schemes that may have met a place."""
    wanted = set(schemes)
    return [treatment.ended or treatment.started for treatment, step in removal_steps(facts)
            if (step.removed or "").partition("/")[0] in wanted
            and share_of_step(facts, treatment, step, place)[2] > 0]
