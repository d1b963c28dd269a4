"""What a step leaves out: the reserves and smaller places that it names in `spares`, where a mask can protect them."""

from __future__ import annotations

from collection.compute.build_up.actions import KIND_OF_ACTION, NEVER_MASKED
from collection.compute.build_up.places import places_of
from collection.compute.case import Case
from collection.language.words import parts_of
from collection.records.sheets import ProposalStep


def can_be_masked(step: ProposalStep) -> bool:
    """Whether a mask can keep a step off a place: not if the step takes the part away, soaks it, heats it, handles it
    or exposes it."""
    return (
        step.action not in NEVER_MASKED
        and step.application != "immersion"
        and KIND_OF_ACTION[step.action] not in ("wear", "exposure")
    )


def spared(case: Case, step: ProposalStep, place: str) -> bool:
    """Whether a step leaves a place out: the place is named in `spares` and lies inside the step's own, or lies within
    such a place."""
    named = parts_of(step.spares)
    if not named or not can_be_masked(step):
        return False
    places = places_of(case)
    return any(
        places.contains(code, place)
        for code in named
        if code in places.zones and code != step.place and places.contains(step.place, code)
    )


def spares_reserve(step: ProposalStep, reserve: str) -> bool:
    """Whether a step masks a reserve that it names."""
    return reserve in parts_of(step.spares) and can_be_masked(step)
