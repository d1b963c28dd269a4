"""The build-up of one place: its own samples, and what the rest of its part shows where they are silent.

A coat leaves the stack only by recorded absence or removal; order is superposition (Harris 1979, World Archaeology 11).
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from typing import NamedTuple

from collection.compute.condition import OPEN, seen_at
from collection.compute.places import places_of
from collection.compute.readings import (
    is_absent,
    kept_layers,
    layers_by_sample,
    overtaken,
    reaching_support,
    removal_steps,
    shown_later,
)
from collection.facts import Facts, current, surely_in_state
from collection.policy import Interval, Policy
from collection.records import Decoration, Layer, Sample
from collection.words import CLEAR_ROLES, FOREIGN_ROLES, PREPARATION_ROLES, ROLE_DEPTH

PREPARATION = "preparation"


class CoatKey(NamedTuple):
    """What makes two coats of one part the same coat. An unassigned coat is only itself."""

    scheme: str | None
    role: str
    colour: str
    occurrence: int = 0
    sample: str | None = None
    position: int | None = None


@dataclass(frozen=True, slots=True)
class Coat:
    """One coat in the stack of a place.

    `cover` is the share of the place it covers, [low, middle, high]; `seen_here` is False where only
    the rest of the part shows it; `thing` is the label of the loss it would be; `decoration` its code;
    `binders` are empty unless every reading of it names one, `may_be` are all that any names, and `basis` how
    they were told; `alone` is False for a decoration that is not the only one of its kind and scheme in its place,
    or that is read as several coats.
    """

    key: CoatKey
    thing: str
    kept: bool
    cover: Interval
    seen_here: bool
    above: frozenset[CoatKey]
    evidence: tuple[tuple[str, str], ...]
    layers: tuple[tuple[str, int], ...] = ()
    decoration: str | None = None
    binders: tuple[str, ...] = ()
    alone: bool = True
    basis: str | None = None
    may_be: tuple[str, ...] = ()

    @property
    def told_apart(self) -> bool:
        """Whether its records tell it from any other coat: by its role, its colour, or being a single reading."""
        return self.alone and (self.role in CLEAR_ROLES or bool(self.key.colour) or len(self.layers) == 1)

    @property
    def scheme(self) -> str | None:
        return self.key.scheme

    @property
    def role(self) -> str:
        return self.key.role


@dataclass(frozen=True)
class Stack:
    """A place's coats, outermost first; `decorations` are targets that shield nothing.

    `examined` is False where no sample was read in the place itself; `bottom_seen` tells whether any
    sample of its part goes down to the support.
    """

    place: str
    component: str | None
    coats: tuple[Coat, ...]
    decorations: tuple[Coat, ...]
    examined: bool
    bottom_seen: bool


def thing_of(layer: Layer) -> str:
    """The label of the loss a coat belongs to: `1/varnish`, `1/preparation`, or its own `S3/4`."""
    if layer.scheme is None:
        return f"{layer.sample}/{layer.position}"
    return f"{layer.scheme}/{PREPARATION if layer.role in PREPARATION_ROLES else layer.role}"


def colour_of(layer: Layer) -> str:
    """The colour that tells coats of one role apart; clear coats have none."""
    return "" if layer.role in CLEAR_ROLES else " ".join((layer.colour or "").casefold().split())


def own_samples(facts: Facts, place: str) -> tuple[Sample, ...]:
    """The samples read in a place; a zone that has none keeps those of the zone it is a part of.

    What was read in a zone within it speaks for that zone: around it nobody looked.
    """
    places = places_of(facts)
    here = place
    while True:
        found = tuple(s for s in facts.samples if s.method != "gauge" and s.place == here)
        if found or here not in places.zones:
            return found
        parent = places.holder(here)
        if parent not in places.zones:
            return ()
        here = parent


@lru_cache(maxsize=4096)
def stack_of(facts: Facts, place: str, policy: Policy) -> Stack:
    """The stack of one place."""
    places = places_of(facts)
    component = places.component_of(place)
    own = own_samples(facts, place)
    rest = tuple(s for s in facts.samples if s.method != "gauge" and s not in own
                 and places.component_of(s.place) == component)
    seen = [_coats_in(facts, s) for s in own]
    gone = _absent_here(facts, own)
    taken = _taken_here(facts, place)
    elsewhere = [[(key, layer) for key, layer in _coats_in(facts, s)
                  if not (_is_gone(layer, gone) or _is_gone(layer, taken))] for s in rest]
    above = _order(facts, seen, elsewhere)
    rows: dict[CoatKey, list[Layer]] = defaultdict(list)
    here: set[CoatKey] = set()
    for sequence in seen:
        for key, layer in sequence:
            rows[key].append(layer)
            here.add(key)
    complete = [s for s in own if s.reaches_support == "yes" and s.method != "surface"]
    known_here = {(k.scheme, k.role, k.colour) for k in here if k.scheme is not None}
    for sequence in elsewhere:
        for key, layer in sequence:
            if key in here or (key.scheme is not None and (key.scheme, key.role, key.colour) in known_here):
                continue
            if key.scheme is None and complete:
                continue
            rows[key].append(layer)
    coats, leaky = [], {row.scheme for row in seen_at(facts, place, OPEN)}
    for key in _sorted(rows, above):
        layers = rows[key]
        if all(layer.coverage == "absent" or layer.coverage_pct == 0 for layer in layers):
            continue
        standing = [layer for layer in layers
                    if layer.scheme is None or _fate(facts, layer) != "removed"]
        if not standing:
            continue
        coats.append(Coat(
            key=key, thing=thing_of(standing[0]),
            kept=any(kept_layers(facts)[layer.sample, layer.position] for layer in standing),
            cover=_cover(facts, key, layers, complete, key in here and not leaky & {None, key.scheme},
                         policy),
            seen_here=key in here,
            above=frozenset(k for k in above[key] if k in rows),
            evidence=tuple(("layers", f"{layer.object}/{layer.sample}/{layer.position}") for layer in standing),
            layers=tuple((layer.sample, layer.position) for layer in standing),
            binders=_binders(standing), basis=_basis(standing), may_be=_may_be(standing),
        ))
    decorations = decorations_in(facts, place, tuple(coats))
    bottom = any(s.reaches_support == "yes" for s in (*own, *rest))
    return Stack(place, component, tuple(coats), decorations, bool(own), bottom)


def _binders(layers: Sequence[Layer]) -> tuple[str, ...]:
    return _may_be(layers) if all(layer.binder not in (None, "unknown", "mixed") for layer in layers) else ()


def _may_be(layers: Sequence[Layer]) -> tuple[str, ...]:
    return tuple(sorted({layer.binder for layer in layers if layer.binder} - {"unknown", "mixed"}))


def _basis(layers: Sequence[Layer]) -> str | None:
    return layers[0].binder_basis if len({layer.binder_basis for layer in layers}) == 1 else None


def _coats_in(facts: Facts, sample: Sample) -> list[tuple[CoatKey, Layer]]:
    """One sample's coats, outermost first, each with its key; repeats are counted from the support."""
    counts: dict[tuple[str | None, str, str], int] = defaultdict(int)
    keyed = []
    for layer in reversed(layers_by_sample(facts)[sample.sample]):
        if layer.scheme is None:
            key = CoatKey(None, layer.role, colour_of(layer), 0, layer.sample, layer.position)
        else:
            same = (layer.scheme, layer.role, colour_of(layer))
            key = CoatKey(*same, counts[same])
            counts[same] += 1
        keyed.append((key, layer))
    keyed.reverse()
    if sample.method == "surface":
        # The outermost finish is seen through what merely lies on it; below it nothing is seen.
        there = [pair for pair in keyed if pair[1].coverage != "absent"]
        first = next((i for i, (_, layer) in enumerate(there) if layer.role not in FOREIGN_ROLES), len(there))
        return there[:first + 1]
    return keyed


def _absent_here(facts: Facts, own: Iterable[Sample]) -> Mapping[str, frozenset[str] | None]:
    """Schemes the place's own samples show to be absent: by a row (with its roles), or by a complete
    sample in which they do not occur (None = every role)."""
    absent: dict[str, frozenset[str] | None] = {}
    present: set[str] = set()
    for sample in own:
        rows = layers_by_sample(facts)[sample.sample]
        if sample.method == "surface":
            continue
        met = {r.scheme for r in rows if r.scheme and not is_absent(r)}
        present |= met
        for row in rows:
            if row.scheme and is_absent(row):
                known = absent.get(row.scheme, frozenset())
                absent[row.scheme] = None if known is None else known | {row.role}
        recorded = any(not is_absent(r) for r in rows) or sample.sample in reaching_support(facts)
        if sample.reaches_support == "yes" and recorded and all(
                r.scheme or r.role in FOREIGN_ROLES or is_absent(r) for r in rows):
            for scheme in facts.schemes:
                if scheme.scheme not in met:
                    absent[scheme.scheme] = None
    return {scheme: roles for scheme, roles in absent.items() if scheme not in present}


def _taken_here(facts: Facts, place: str) -> Mapping[str, frozenset[str] | None]:
    """Schemes that a treatment is documented to have taken off the whole of a place (None = every role): what stands
    of them elsewhere on the part does not stand here, whenever it was read.

    A removal of which a sample shows that it left something, anywhere where it may have been at work, is none.
    """
    places = places_of(facts)
    taken: dict[str, frozenset[str] | None] = {}
    for treatment, step in removal_steps(facts):
        if treatment.outcome == "partly" or not places.contains(step.place, place):
            continue
        scheme, _, role = (step.removed or "").partition("/")
        if any(layer.scheme == scheme and not (role and layer.role != role) and not is_absent(layer)
               and places.overlap(step.place, _sample(facts, layer.sample).place) and _fate(facts, layer) != "removed"
               for layer in facts.layers):
            continue
        known = taken.get(scheme, frozenset())
        taken[scheme] = None if not role or known is None else known | {role}
    return taken


def _is_gone(layer: Layer, gone: Mapping[str, frozenset[str] | None]) -> bool:
    if layer.scheme is None or layer.scheme not in gone:
        return False
    roles = gone[layer.scheme]
    return roles is None or layer.role in roles


def _fate(facts: Facts, layer: Layer) -> str | None:
    sample = _sample(facts, layer.sample)
    return overtaken(facts, layer.scheme or "", layer.role, sample.place, sample.taken_on)


@lru_cache(maxsize=64)
def _samples(facts: Facts) -> Mapping[str, Sample]:
    return {s.sample: s for s in facts.samples}


def _sample(facts: Facts, code: str) -> Sample:
    return _samples(facts)[code]


def _cover(facts: Facts, key: CoatKey, layers: Sequence[Layer], complete: Sequence[Sample], here: bool,
           policy: Policy) -> Interval:
    """How much of the place a coat covers: the span of what its samples read there."""
    spans = []
    for layer in layers:
        if layer.coverage_pct is not None and layer.coverage in (None, "intact", "partial", "trace"):
            share = layer.coverage_pct / 100
            span: Interval = (share, share, share)
        else:
            span = policy.cover[layer.coverage or ""]
        fate = _fate(facts, layer) if layer.scheme is not None else None
        if fate == "removed":
            span = (0.0, 0.0, 0.0)
        elif fate == "partly":
            span = (0.0, min(span[1], policy.cover["partial"][1]), span[2])
        spans.append(span)
    if key.scheme is not None and any(s.sample not in {la.sample for la in layers} for s in complete):
        spans.append((0.0, 0.0, 0.0))
    low, high = min(s[0] for s in spans), max(s[2] for s in spans)
    middle = sum(s[1] for s in spans) / len(spans)
    return (low, middle, high) if here else (0.0, middle, high)


def _order(facts: Facts, own: Sequence[Sequence[tuple[CoatKey, Layer]]],
           rest: Sequence[Sequence[tuple[CoatKey, Layer]]]) -> Mapping[CoatKey, frozenset[CoatKey]]:
    """For each coat, the coats that surely lie above it.

    The place's own samples come first, then the part's others, then the schemes' ranks; a relation that
    contradicts an earlier one is left out, so that no contradiction can hide a coat.
    """
    above: dict[CoatKey, set[CoatKey]] = defaultdict(set)
    for sequences in (own, rest):
        for sequence in sequences:
            for key, _ in sequence:
                above[key] |= set()
            # What was looked for and not found lies on nothing and under nothing.
            for upper, lower in pairwise([key for key, layer in sequence if not is_absent(layer)]):
                _put_above(above, upper, lower)
    ranks = {s.scheme: s.rank for s in facts.schemes}
    ranked = sorted(((rank, key) for key in above
                     if key.scheme is not None and (rank := ranks.get(key.scheme)) is not None),
                    key=lambda pair: (pair[0], _label(pair[1])))
    for rank_low, lower in ranked:
        for rank_high, upper in ranked:
            if rank_high > rank_low:
                _put_above(above, upper, lower)
    return {key: frozenset(keys) for key, keys in above.items()}


def _put_above(above: dict[CoatKey, set[CoatKey]], upper: CoatKey, lower: CoatKey) -> None:
    if upper == lower or lower in above[upper] or upper in above[lower]:
        return
    over = above[upper] | {upper}
    for key in list(above):
        if key == lower or lower in above[key]:
            above[key] |= over


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


def decorations_in(facts: Facts, place: str, coats: tuple[Coat, ...], *, around: bool = False) -> tuple[Coat, ...]:
    """The decorations of a place as kept things of their own, each under what surely covers it.

    With `around`, those recorded only for a larger place that holds this one.
    """
    places = places_of(facts)
    schemes = {s.scheme: s for s in facts.schemes}
    found = []
    gone = surely_in_state(facts.decorations, "decoration", "state", ("lost", "not found"))
    for code, row in sorted(current(facts.decorations, "decoration").items()):
        here = row.place != place and places.contains(row.place, place) if around else row.place == place
        scheme = schemes.get(row.scheme or "")
        if not here or code in gone or (scheme is not None and shown_later(scheme)):
            continue
        same = [c for c in coats if c.scheme == row.scheme and c.role == row.kind and row.scheme is not None]
        # Read in the place itself, it is that coat; one that only the rest of the part shows stays its own.
        same = [c for c in same if c.seen_here] or same
        like = [other for other in current(facts.decorations, "decoration").values()
                if (other.scheme, other.kind) == (row.scheme, row.kind) and places.overlap(other.place, row.place)]
        colour = same[0].key.colour if len(same) == 1 else ""
        key = CoatKey(row.scheme, row.kind, colour, 0, f"decoration {code}", None)
        found.append(Coat(key=key, thing=code, kept=True, cover=(0.0, 0.0, 0.0), seen_here=not around,
                          above=_over_decoration(row, same, coats),
                          evidence=(("decorations", row.key_text()),),
                          layers=tuple(spot for coat in same for spot in coat.layers), decoration=code,
                          may_be=tuple(sorted({binder for coat in same for binder in coat.may_be})),
                          basis=same[0].basis if len(same) == 1 else None,
                          alone=len(same) == 1 and len(like) == 1))
    return tuple(found)


def _over_decoration(row: Decoration, same: Sequence[Coat], coats: tuple[Coat, ...]) -> frozenset[CoatKey]:
    """The coats that surely lie over a decoration: none where it is exposed or its scheme is not known."""
    if row.state == "exposed" or row.scheme is None:
        return frozenset()
    if same:
        return frozenset.intersection(*(coat.above for coat in same))
    own = [i for i, coat in enumerate(coats) if coat.scheme == row.scheme]
    if not own:
        return frozenset()
    last = min(own)
    if row.lies == "under varnish":
        while last < len(coats) and coats[last].scheme == row.scheme and coats[last].role in CLEAR_ROLES:
            last += 1
    return frozenset(coat.key for coat in coats[:last])
