"""The build-up of one place: from its own samples, and from the rest of its part where they say nothing.

Only its own samples say how deep a place was read. A kept coat of the part leaves the stack only where a reading of the
whole surface did not find it; one looked for at points and not found stays, as something that may be there. Order is
superposition (Harris 1979, World Archaeology 11).
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from collection.compute.build_up.coats import FINISH, Coat, CoatKey, Stack, not_found, thing_of
from collection.compute.build_up.condition import failing
from collection.compute.build_up.decorations import decorations_in
from collection.compute.build_up.places import places_of
from collection.compute.build_up.readings import coverage_level, is_absent, kept_layers, samples_of, shown_later
from collection.compute.build_up.removals import mostly_taken, removal_steps, share_of_step, stripped, taken
from collection.compute.build_up.sections import (
    Absent,
    absent_in,
    coats_of,
    complete_samples,
    names,
    own_samples,
    speaks_of,
)
from collection.compute.build_up.tested_coats import with_tested_coats
from collection.compute.case import Case, kept
from collection.language.words import FOREIGN_ROLES, PREPARATION_ROLES, ROLE_DEPTH
from collection.records.policy import Interval, Policy
from collection.records.sheets import Layer, Sample


@kept
def stack_of(case: Case, place: str) -> Stack:
    """The stack of one place."""
    shown = _shown(case, place)
    coats = [coat for key in _sorted(shown.rows, shown.above) if (coat := _coat(shown, key)) is not None]
    coats = _labelled(with_tested_coats(case, place, coats, bool(shown.complete)))
    return Stack(
        place,
        places_of(case).component_of(place),
        tuple(coats),
        decorations_in(case, place, tuple(coats)),
        bool(shown.own),
        bool(shown.complete),
        (*_unfound(shown, coats), *_prepared_only(shown, coats)),
    )


@dataclass(frozen=True)
class _Shown:
    """What samples show of one place: its `own`, those of them that are `complete` to the support, and what they show
    to be `absent`; the `rows` of each coat, and the coats that surely lie `above` it; `here` are the coats that its own
    samples found."""

    case: Case
    place: str
    own: tuple[Sample, ...]
    complete: Sequence[Sample]
    absent: Absent
    rows: Mapping[CoatKey, list[Layer]]
    above: Mapping[CoatKey, frozenset[CoatKey]]
    here: frozenset[CoatKey]


def _shown(case: Case, place: str) -> _Shown:
    places = places_of(case)
    component = places.component_of(place)
    own = own_samples(case, place)
    rest = tuple(
        s
        for s in case.facts.samples
        if s.method != "gauge" and s not in own and places.component_of(s.place) == component
    )
    absent = absent_in(case, place, own)
    seen = [
        [(key, layer) for key, layer in coats_of(case, s, place) if not names(absent.gone, layer.scheme, layer.role)]
        for s in own
    ]
    elsewhere = [
        [
            (key, layer)
            for key, layer in coats_of(case, s, s.place)
            if not names(absent.gone, layer.scheme, layer.role) and _may_stand(case, place, layer, absent)
        ]
        for s in rest
    ]
    here = frozenset(key for sequence in seen for key, layer in sequence if not is_absent(layer))
    known_here = {(k.scheme, k.role, k.colour) for k in here}
    complete = complete_samples(own)
    rows: dict[CoatKey, list[Layer]] = defaultdict(list)
    for sequence in seen:
        for key, layer in sequence:
            rows[key].append(layer)
    for sequence in elsewhere:
        for key, layer in sequence:
            if key in here or (key.scheme is not None and (key.scheme, key.role, key.colour) in known_here):
                continue
            if key.scheme is None and complete:
                continue
            rows[key].append(layer)
    return _Shown(case, place, own, complete, absent, rows, _order(case, seen, elsewhere), here)


def _labelled(coats: Sequence[Coat]) -> list[Coat]:
    """The coats, those that were looked for and not found under a label of their own."""
    found_here = {coat.scheme for coat in coats if coat.found}
    roles_here = {(coat.scheme, coat.role) for coat in coats if coat.found}
    return [
        coat
        if coat.found or coat.scheme is None or (coat.scheme, coat.role) in roles_here
        else replace(coat, thing=not_found(coat.scheme, coat.role if coat.scheme in found_here else None))
        for coat in coats
    ]


def _coat(shown: _Shown, key: CoatKey) -> Coat | None:
    """One coat as its readings show it; None where none of them found it."""
    case, place, here = shown.case, shown.place, key in shown.here
    layers = [layer for layer in shown.rows[key] if not is_absent(layer)]
    if not layers:
        return None
    left = [_taken(case, place, layer, here) for layer in layers]
    missing = names(shown.absent.not_found, key.scheme, key.role)
    kept = any(kept_layers(case)[layer.sample, layer.position] for layer in layers)
    if not kept and missing:
        return None
    # A coat of the part is not found here if none of the place's own sections shows it, though one goes down to the
    # support.
    found = not (kept and (missing or (shown.complete and not here) or all(mostly_taken(share) for share in left)))
    return Coat(
        key=key,
        thing=thing_of(layers[0]),
        kept=kept,
        cover=_cover(shown, key) if found else (0.0, 0.0, 1.0),
        seen_here=here,
        above=shown.above[key],
        evidence=tuple(("layers", f"{layer.object}/{layer.sample}/{layer.position}") for layer in layers),
        layers=tuple((layer.sample, layer.position) for layer in layers),
        binders=_binders(layers),
        basis=_basis(layers),
        may_be=_may_be(layers),
        found=found,
    )


def _leaks(shown: _Shown, key: CoatKey) -> bool:
    """Whether a coat lets liquids through: it is failing, or may have been stripped since it was read."""
    case, place = shown.case, shown.place
    if failing(case, place, key.scheme) is not None or failing(case, place, None) is not None:
        return True
    there = (layer for layer in shown.rows[key] if not is_absent(layer))
    return any(stripped(case, place, _taken_on(case, layer)) for layer in there)


def _may_stand(case: Case, place: str, layer: Layer, absent: Absent) -> bool:
    """Whether a coat that only the rest of the part shows may be here: a kept one always; any other only if the place's
    own samples do not lack it and no step took it off the whole place."""
    if kept_layers(case)[layer.sample, layer.position]:
        return True
    return not (names(absent.not_found, layer.scheme, layer.role) or mostly_taken(_taken(case, place, layer, False)))


def _taken(case: Case, place: str, layer: Layer, here: bool) -> Interval:
    """The share of a coat that later work took off a place; for a coat that was read elsewhere, work at any time
    counts."""
    if layer.scheme is None:
        return (0.0, 0.0, 0.0)
    if here:
        return taken(case, layer.scheme, layer.role, place, _taken_on(case, layer))
    most = (0.0, 0.0, 0.0)
    for treatment, step in removal_steps(case):
        scheme, _, role = (step.removed or "").partition("/")
        if scheme == layer.scheme and role in ("", layer.role):
            share = share_of_step(case, treatment, step, place)
            most = (max(most[0], share[0]), max(most[1], share[1]), max(most[2], share[2]))
    return most


def _taken_on(case: Case, layer: Layer) -> str | None:
    return samples_of(case)[layer.sample].taken_on


def _unfound(shown: _Shown, coats: Sequence[Coat]) -> tuple[tuple[str, str, tuple[str, ...]], ...]:
    """Kept schemes that no sample of the part shows but that may be in a place all the same: only where its own samples
    found nothing that is kept, on a part that may be the maker's."""
    if not shown.complete or any(coat.kept and coat.found and coat.seen_here for coat in coats):
        return ()
    places, place, absent = places_of(shown.case), shown.place, shown.absent
    part = places.components.get(places.component_of(place) or "")
    known = {coat.scheme for coat in coats}
    return tuple(
        (s.scheme, not_found(s.scheme), absent.without.get(s.scheme, ()))
        for s in shown.case.facts.schemes
        if not shown_later(s)
        and s.scheme not in known
        and s.scheme not in absent.gone
        and (s.component is None or places.contains(s.component, place))
        and not (s.period == "original" and part is not None and part.origin in NOT_THE_MAKERS)
    )


def _prepared_only(shown: _Shown, coats: Sequence[Coat]) -> Iterator[tuple[str, str, tuple[str, ...]]]:
    """Kept schemes of which a place and its part show nothing but the preparation: nobody stops at a primer, so what
    stood on it may survive where nobody looked. Only a reading of the whole surface says otherwise, if the preparation lies
    open everywhere: beneath a later coat some of it may be left."""
    open_everywhere = {_outermost(shown, sample) for sample in shown.own if sample.extent == "whole place"}
    known = [coat for coat in coats if coat.kept]
    for scheme in dict.fromkeys(coat.scheme for coat in known if coat.found):
        roles = {coat.role for coat in known if coat.scheme == scheme}
        if scheme is not None and roles <= PREPARATION_ROLES and (scheme, "intact") not in open_everywhere:
            yield scheme, not_found(scheme, FINISH), ()


def _outermost(shown: _Shown, sample: Sample) -> tuple[str | None, str] | None:
    """The scheme of the outermost coat that a sample shows, and how much of it is left; None for bare support."""
    rows = (layer for _, layer in coats_of(shown.case, sample, shown.place))
    found = next((row for row in rows if row.role not in FOREIGN_ROLES and not is_absent(row)), None)
    return None if found is None else (found.scheme, coverage_level(found))


NOT_THE_MAKERS = frozenset({"replaced", "added"})
"""Origins of a part that never had the maker's finish."""


def _binders(layers: Sequence[Layer]) -> tuple[str, ...]:
    return _may_be(layers) if all(layer.binder not in (None, "unknown", "mixed") for layer in layers) else ()


def _may_be(layers: Sequence[Layer]) -> tuple[str, ...]:
    return tuple(sorted({layer.binder for layer in layers if layer.binder} - {"unknown", "mixed"}))


def _basis(layers: Sequence[Layer]) -> str | None:
    return layers[0].binder_basis if len({layer.binder_basis for layer in layers}) == 1 else None


def _cover(shown: _Shown, key: CoatKey) -> Interval:
    """How much of the place a coat covers: the span of what samples show there, less what work has taken off since.
    Points cover no area: nothing is surely covered unless enough readings found the coat whole for it to shield."""
    case, layers, here = shown.case, shown.rows[key], key in shown.here
    spans = []
    for layer in layers:
        low, middle, high = _as_read(layer, case.policy)
        gone = _taken(case, shown.place, layer, here)
        spans.append((low * (1 - gone[2]), middle * (1 - gone[1]), high * (1 - gone[0])))
    if key.scheme is not None and any(
        s.sample not in {la.sample for la in layers} and speaks_of(case, s, shown.place, key.scheme, key.role)
        for s in shown.complete
    ):
        spans.append((0.0, 0.0, 0.0))
    low, high = min(s[0] for s in spans), max(s[2] for s in spans)
    middle = sum(s[1] for s in spans) / len(spans)
    shields = here and not _leaks(shown, key) and _whole_at(case, layers, case.policy.whole_sections)
    return (low if shields else 0.0, middle, high)


def _as_read(layer: Layer, policy: Policy) -> Interval:
    if layer.coverage_pct is not None and layer.coverage in (None, "intact", "partial", "trace"):
        share = layer.coverage_pct / 100
        return share, share, share
    return policy.cover[layer.coverage or ""]


def _whole_at(case: Case, layers: Sequence[Layer], enough: int) -> bool:
    """Whether enough readings, or one of the whole surface, show a coat intact, and none shows it otherwise."""
    if any(coverage_level(layer) != "intact" for layer in layers):
        return False
    whole = {s.sample for s in case.facts.samples if s.extent == "whole place"}
    return len({layer.sample for layer in layers}) >= enough or any(layer.sample in whole for layer in layers)


def _order(
    case: Case, own: Sequence[Sequence[tuple[CoatKey, Layer]]], rest: Sequence[Sequence[tuple[CoatKey, Layer]]]
) -> Mapping[CoatKey, frozenset[CoatKey]]:
    """For each coat, the coats that surely lie above it.

    The place's own samples come first, then the part's others, then the schemes' ranks; a relation that
    contradicts an earlier one is left out, so that no contradiction can hide a coat.
    """
    above: dict[CoatKey, set[CoatKey]] = defaultdict(set)
    below: dict[CoatKey, set[CoatKey]] = defaultdict(set)
    for sequences in (own, rest):
        for sequence in sequences:
            for key, _ in sequence:
                above[key] |= set()
            # A coat that was looked for and not found lies on nothing and under nothing.
            for upper, lower in pairwise([key for key, layer in sequence if not is_absent(layer)]):
                _put_above(above, below, upper, lower)
    ranks = {s.scheme: s.rank for s in case.facts.schemes}
    ranked = sorted(
        ((rank, key) for key in above if key.scheme is not None and (rank := ranks.get(key.scheme)) is not None),
        key=lambda pair: (pair[0], _label(pair[1])),
    )
    for rank_low, lower in ranked:
        for rank_high, upper in ranked:
            if rank_high > rank_low:
                _put_above(above, below, upper, lower)
    return {key: frozenset(keys) for key, keys in above.items()}


def _put_above(
    above: dict[CoatKey, set[CoatKey]], below: dict[CoatKey, set[CoatKey]], upper: CoatKey, lower: CoatKey
) -> None:
    """Note that a coat lies above another, and so do all that lie above it, unless the contrary is known."""
    if upper == lower or lower in above[upper] or upper in above[lower]:
        return
    over, under = above[upper] | {upper}, below[lower] | {lower}
    for key in under:
        above[key] |= over
    for key in over:
        below[key] |= under


def _sorted(rows: Mapping[CoatKey, object], above: Mapping[CoatKey, frozenset[CoatKey]]) -> list[CoatKey]:
    """Outermost first: by what surely lies above, ties by the usual order within a scheme."""
    left = set(rows)
    found = []
    while left:
        free = [k for k in left if not (above[k] & left)]
        outermost = max(free, key=lambda k: (-len(above[k]), ROLE_DEPTH[k.role], _label(k)))
        found.append(outermost)
        left.remove(outermost)
    return found


def _label(key: CoatKey) -> tuple[str, ...]:
    return (key.scheme or "", key.role, key.colour, str(key.occurrence), key.sample or "", str(key.position or 0))
