"""Which zones are windows: small places opened to see what lies beneath, or zones that a reserve calls a window."""

from __future__ import annotations

from collections.abc import Mapping

from collection.compute.build_up.areas import holder, stated_area
from collection.compute.build_up.places import places_of
from collection.compute.build_up.removals import removal_steps
from collection.compute.case import Case, kept
from collection.records.sheets import Reserve

LARGEST_WINDOW_M2, WINDOW_WITHIN = 0.1, 0.5
"""A zone where something was taken off is a window if it is no larger than this, and smaller than this share of the
place it lies in. Common practice, no published source."""


@kept
def windows(case: Case) -> Mapping[str, frozenset[str]]:
    """The zones that are opened windows, each with the schemes that its opening took off: zones that a reserve calls a
    window, and small zones where something was taken off."""
    zones = places_of(case).zones
    found: dict[str, set[str]] = {
        r.place: set()
        for r in case.facts.reserves
        if r.kind == "window" and r.place in zones and _is_all_of(r, stated_area(case, r.place))
    }
    for _, step in removal_steps(case):
        if step.place in found or (step.place in zones and _is_small(case, step.place)):
            found.setdefault(step.place, set()).add((step.removed or "").partition("/")[0])
    return {place: frozenset(opened) for place, opened in found.items()}


def _is_all_of(reserve: Reserve, area: float | None) -> bool:
    """Whether a reserve is its whole zone, not a spot in it."""
    if reserve.area_m2 is None or not area:
        return reserve.area_m2 is None and reserve.outline is None
    return reserve.area_m2 > WINDOW_WITHIN * area


def _is_small(case: Case, zone: str) -> bool:
    own, around = stated_area(case, zone), stated_area(case, holder(case, zone))
    return own is not None and own <= LARGEST_WINDOW_M2 and (around is None or own < WINDOW_WITHIN * around)
