"""What a place's own samples show, and what they show to be absent.

Points are evidence and clear no area: absence at points counts only for work with liquids, only after several sections,
and only for a finish that nobody has found anywhere on the part.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from collection.compute.build_up.coats import CoatKey, colour_of
from collection.compute.build_up.places import places_of
from collection.compute.build_up.readings import is_absent, layers_by_sample, reaching_support
from collection.compute.build_up.removals import mostly_taken, newest_removals, removal_steps, stripped, taken
from collection.compute.case import Case, kept
from collection.language.words import FOREIGN_ROLES
from collection.records.policy import Policy
from collection.records.sheets import Layer, Sample
from collection.values import dates

Roles = frozenset[str] | None
"""Roles of a scheme; None = every role."""


def own_samples(case: Case, place: str) -> tuple[Sample, ...]:
    """The samples read in a place; a zone that has none uses those of the zone it is part of.

    A sample in a zone within the place counts for that zone only: nobody looked around it. A window is different: its
    samples also count for the place it was opened in, except for what the opening took off.
    """
    places = places_of(case)
    here = place
    while True:
        spots = {here, *windows_in(case, here)}
        found = tuple(s for s in case.facts.samples if s.method != "gauge" and s.place in spots)
        if found or here not in places.zones:
            return found
        parent = places.holder(here)
        if parent not in places.zones:
            return ()
        here = parent


@kept
def windows_in(case: Case, place: str) -> tuple[str, ...]:
    """The windows opened in a place: zones directly in it where a recorded step took something off."""
    opened = {step.place for _, step in removal_steps(case)}
    return tuple(zone for zone in places_of(case).held.get(place, ()) if zone in opened)


@kept
def _opened(case: Case, zone: str) -> Mapping[str, Roles]:
    """What the opening of a window took off."""
    found: dict[str, Roles] = {}
    for _, step in removal_steps(case):
        if step.place == zone:
            scheme, _, role = (step.removed or "").partition("/")
            found[scheme] = _joined(found.get(scheme, frozenset()), role)
    return found


def _joined(known: Roles, role: str) -> Roles:
    return None if not role or known is None else known | {role}


def names(gone: Mapping[str, Roles], scheme: str | None, role: str) -> bool:
    """Whether `gone` names a scheme and role."""
    if scheme is None or scheme not in gone:
        return False
    roles = gone[scheme]
    return roles is None or role in roles


@dataclass(frozen=True, slots=True)
class Absent:
    """What a place's own samples do not show: `not_found` was looked for and found in none of them (None = in every
    role); `gone` is ruled out by a reading of the whole surface; `without` gives for each scheme the sections that rule
    out harm by liquids, empty where there are too few."""

    not_found: Mapping[str, Roles]
    gone: Mapping[str, Roles]
    without: Mapping[str, tuple[str, ...]]


def speaks_of(case: Case, sample: Sample, place: str, scheme: str | None, role: str) -> bool:
    """Whether a sample counts for a coat in a place: not if it was read in a window whose opening took that coat
    off."""
    return sample.place == place or not names(_opened(case, sample.place), scheme, role)


def coats_of(case: Case, sample: Sample, place: str) -> list[tuple[CoatKey, Layer]]:
    """One sample's coats that count for a place, outermost first, each with its key; repeats are counted from the
    support."""
    counts: dict[tuple[str | None, str, str], int] = defaultdict(int)
    keyed = []
    for layer in reversed(layers_by_sample(case)[sample.sample]):
        if layer.scheme is None:
            key = CoatKey(None, layer.role, colour_of(layer), 0, layer.sample, layer.position)
        else:
            same = (layer.scheme, layer.role, colour_of(layer))
            key = CoatKey(*same, counts[same])
            counts[same] += 1
        if speaks_of(case, sample, place, layer.scheme, layer.role):
            keyed.append((key, layer))
    keyed.reverse()
    if sample.method == "surface":
        # A surface sample shows the outermost finish through whatever merely lies on it, and nothing below it.
        there = [pair for pair in keyed if pair[1].coverage != "absent"]
        first = next((i for i, (_, layer) in enumerate(there) if layer.role not in FOREIGN_ROLES), len(there))
        return there[: first + 1]
    return keyed


def absent_in(case: Case, place: str, own: Sequence[Sample]) -> Absent:
    """What a place's own samples show to be absent: by a row (with its roles), or by a complete sample in which it does
    not occur (None = every role). A coat that any of them found after the last reading of the whole surface is not
    absent."""
    shows = {sample.sample: _shows(case, sample, place) for sample in own}
    gone: dict[str, Roles] = {}
    for sample in own:
        if sample.extent == "whole place":
            for scheme, roles in shows[sample.sample].absent.items():
                since = [s for s in own if not dates.surely_before(s.taken_on, sample.taken_on)]
                if not any(scheme in shows[other.sample].seen for other in since):
                    gone[scheme] = roles
    met = {scheme for each in shows.values() for scheme in each.present}
    missing: dict[str, Roles] = {}
    for each in shows.values():
        for scheme, roles in each.absent.items():
            known = missing.get(scheme, frozenset())
            missing[scheme] = None if roles is None or known is None else known | roles
    missing = {scheme: roles for scheme, roles in missing.items() if scheme not in met}
    # Where work took a scheme off, some of it usually remains in recesses, whatever points show.
    remains = {scheme for scheme in missing if newest_removals(case, (scheme,), place)}
    if stripped(case, place):
        remains = set(missing)
    return Absent(
        missing,
        gone,
        {scheme: () if scheme in remains else _clearing(own, shows, scheme, case.policy) for scheme in missing},
    )


@dataclass(frozen=True, slots=True)
class _Shows:
    """What one sample says about schemes: those `seen` in it, those of them that nothing has taken off since
    (`present`), and those it shows to be absent; `complete` where it goes down to the support and every coat has a
    scheme."""

    seen: frozenset[str]
    present: frozenset[str]
    absent: Mapping[str, Roles]
    complete: bool


def _shows(case: Case, sample: Sample, place: str) -> _Shows:
    rows = layers_by_sample(case)[sample.sample]
    bare = sample.sample in reaching_support(case) and all(is_absent(row) for row in rows)
    opened = {} if sample.place == place else _opened(case, sample.place)
    seen = frozenset(row.scheme for row in rows if row.scheme and not is_absent(row))
    present = frozenset(
        row.scheme
        for row in rows
        if row.scheme
        and not is_absent(row)
        and not mostly_taken(taken(case, row.scheme, row.role, place, sample.taken_on))
    )
    if sample.method == "surface" and not bare:
        return _Shows(seen, present, {}, False)
    absent: dict[str, Roles] = {}
    for row in rows:
        if row.scheme and is_absent(row):
            absent[row.scheme] = _joined(absent.get(row.scheme, frozenset()), row.role)
    recorded = any(not is_absent(row) for row in rows) or sample.sample in reaching_support(case)
    complete = (
        (sample.reaches_support == "yes" or bare)
        and recorded
        and all(row.scheme or row.role in FOREIGN_ROLES or is_absent(row) for row in rows)
    )
    if complete:
        absent |= {scheme.scheme: None for scheme in case.facts.schemes if scheme.scheme not in seen}
    return _Shows(
        seen,
        present,
        {scheme: roles for scheme, roles in absent.items() if not (scheme in opened and opened[scheme] is None)},
        complete,
    )


def _clearing(own: Sequence[Sample], shows: Mapping[str, _Shows], scheme: str, policy: Policy) -> tuple[str, ...]:
    """The complete sections at different spots that rule out harm to a scheme by liquids; empty where there are too
    few, or where one of the spots was chosen at a loss."""
    without = [s for s in own if shows[s.sample].complete and scheme in shows[s.sample].absent]
    if any(s.chosen == "at a loss" for s in without):
        return ()
    spots = {(s.x, s.y) if s.x is not None or s.y is not None else s.sample for s in without}
    return tuple(s.sample for s in without) if len(spots) >= policy.clearing_sections else ()


def complete_samples(own: Iterable[Sample]) -> list[Sample]:
    """The samples that go down to the support."""
    return [s for s in own if s.reaches_support == "yes" and s.method != "surface"]
