"""How much documented work took off a place since a reading there: a share of the place, never more than was covered.

A removal acts on the share of its own place that it covered; nobody knows whether it reached any smaller place in it.
Only a measured area sets a lower limit to the share. Stripping that nobody checked afterwards is taken to leave
something in recesses (common practice, no published source).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from collection.compute.build_up.actions import KIND_OF_ACTION
from collection.compute.build_up.areas import place_areas, stated_area
from collection.compute.build_up.places import ALL, places_of
from collection.compute.case import Case, kept
from collection.records.policy import Interval, default_policy
from collection.records.sheets import Treatment, TreatmentStep
from collection.values import dates

NOTHING: Interval = (0.0, 0.0, 0.0)


@kept
def removal_steps(case: Case) -> tuple[tuple[Treatment, TreatmentStep], ...]:
    """The steps recorded as having taken a scheme or coat off, or as having tried to."""
    by_code = {t.treatment: t for t in case.facts.treatments}
    return tuple((by_code[s.treatment], s) for s in case.facts.treatment_steps if s.removed and s.treatment in by_code)


def treatment_span(treatment: Treatment) -> dates.Span:
    """When a treatment was carried out; one date alone stands for the whole of it."""
    first = dates.bounds(treatment.started or treatment.ended)
    last = dates.bounds(treatment.ended or treatment.started)
    return dates.Span(first.earliest, last.latest)


def taken(
    case: Case, scheme: str, role: str | None, place: str, seen_on: str | None, *, evenly: bool = False
) -> Interval:
    """The share of a coat's surface in `place` that work later than a reading took off, [low, middle, high].

    `low` counts only work that surely came after the reading, `high` also work whose date may. Work that surely came
    before the reading does not count. Several removals may have hit the same surface (low) or different surfaces
    (high). `evenly` treats work in a larger place as spread evenly over it: for sums, which must not count in both of
    two places what can have gone from only one of them.
    """
    seen = dates.bounds(seen_on)
    return _together(
        (share, 1.0 if seen.latest < span.earliest else 0.0)
        for span, share in _of_coat(case, scheme, role, place, evenly)
        if seen.earliest <= span.latest
    )


def taken_in_all(case: Case, scheme: str, place: str, *, evenly: bool = False) -> Interval:
    """The same for all work on record, whenever it was done."""
    return _together((share, 1.0) for _, share in _of_coat(case, scheme, None, place, evenly))


def _together(shares: Iterable[tuple[Interval, float]]) -> Interval:
    low, left, high = 0.0, 1.0, 0.0
    for share, sure in shares:
        low = max(low, share[0] * sure)
        left *= 1 - share[1] * (1 + sure) / 2
        high += share[2]
    if not high:
        return NOTHING
    high = min(1.0, high)
    return low, min(max(1 - left, low), high), high


def mostly_taken(share: Interval) -> bool:
    """Whether so much is gone that an earlier reading is history: what is left is no more than stripping is taken to
    leave."""
    return share[0] >= 1 - default_policy().stripping_leaves - 1e-9


def _of_coat(
    case: Case, scheme: str, role: str | None, place: str, evenly: bool
) -> Iterable[tuple[dates.Span, Interval]]:
    for span, names_role, share in _removed_at(case, place, evenly).get(scheme, ()):
        if not names_role or names_role == role:
            yield span, share


@kept
def _removed_at(case: Case, place: str, evenly: bool) -> Mapping[str, list[tuple[dates.Span, str, Interval]]]:
    """What each removal took off a place, by scheme: when, from which role ("" = every role), and what share."""
    found: dict[str, list[tuple[dates.Span, str, Interval]]] = {}
    for treatment, step in removal_steps(case):
        share = share_of_step(case, treatment, step, place, evenly=evenly)
        if share[2] > 0:
            scheme, _, role = (step.removed or "").partition("/")
            found.setdefault(scheme, []).append((treatment_span(treatment), role, share))
    return found


def share_of_step(
    case: Case, treatment: Treatment, step: TreatmentStep, place: str, *, evenly: bool = False
) -> Interval:
    """The share of `place` from which one step took what it names; `evenly` as in `taken`."""
    places = places_of(case)
    inside = places.contains(step.place, place)
    if not inside and not _may_lie_in(case, step.place, place):
        return NOTHING
    worked = _worked(step)
    own = _of_its_place(case, treatment, step, worked)
    if inside and (evenly or worked is None or (place == step.place and not places.held.get(place))):
        # Stripping, or work that nobody measured, says the same about every part of its place.
        return own
    # Nobody knows whether a smaller place, or the surface outside any zone, lay where the work was done; but no more
    # than the area worked on can be gone from it.
    area = place_areas(case).get(place)
    most = 1.0 if worked is None or not area else min(1.0, worked / area)
    return 0.0, min(own[1], most) if inside else 0.0, most


def _worked(step: TreatmentStep) -> float | None:
    """The most surface, in m², that a step can have taken from its place."""
    return min((m2 for m2 in (step.removed_m2, step.area_m2) if m2 is not None), default=None)


def _of_its_place(case: Case, treatment: Treatment, step: TreatmentStep, worked: float | None) -> Interval:
    """The share of the step's own place, including the zones in it, that was taken off."""
    done = (step.outcome or treatment.outcome or "done") == "done"
    if worked is None:
        leaves = default_policy().stripping_leaves
        stripped = done and KIND_OF_ACTION[step.action] == "whole"
        return (1 - leaves, 1 - leaves / 2, 1.0) if stripped else (0.0, 0.5, 1.0)
    area = stated_area(case, step.place)
    most = min(1.0, worked / area) if area else 1.0
    if done and area and step.removed_m2 == worked <= area:
        return most, most, most
    return 0.0, most / 2, most


def _may_lie_in(case: Case, step_place: str, place: str) -> bool:
    """Whether work in a place that is out of account may have reached this one; or whether readings that name only
    `all` may have been made where the work was."""
    places = places_of(case)
    return not places.is_known(step_place) or not places.is_known(place) or place == ALL


def stripped(case: Case, place: str, since: str | None = None) -> bool:
    """Whether work that takes everything, and does not say what it took, may have reached a place; with `since`, after
    that day."""
    by_code = {t.treatment: t for t in case.facts.treatments}
    return any(
        KIND_OF_ACTION[step.action] == "whole"
        and not step.removed
        and step.treatment in by_code
        and share_of_step(case, by_code[step.treatment], step, place)[2] > 0
        and (since is None or treatment_span(by_code[step.treatment]).latest >= dates.bounds(since).earliest)
        for step in case.facts.treatment_steps
    )


def newest_removals(case: Case, schemes: Iterable[str], place: str) -> list[str | None]:
    """The dates of the removals of some schemes that may have reached a place."""
    wanted = set(schemes)
    return [
        treatment.ended or treatment.started
        for treatment, step in removal_steps(case)
        if (step.removed or "").partition("/")[0] in wanted and share_of_step(case, treatment, step, place)[2] > 0
    ]
