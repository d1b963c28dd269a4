"""What each sample says of each scheme: intact, partial, trace, absent, or nothing.

Points are evidence. A surface sample speaks only of what lies outermost; a sample that stops short is
silent below its depth; an `absent` row, or a complete sample in which a scheme does not occur, is
evidence of absence. Common practice, no published source.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from operator import attrgetter
from typing import NamedTuple

from collection import dates
from collection.compute.places import places_of
from collection.facts import Facts
from collection.records import Layer, Sample, Scheme, Treatment, TreatmentStep
from collection.words import FINISH_ROLES, FOREIGN_ROLES, LATER_PERIODS

PRESENT = ("intact", "present", "partial", "trace")
_RANK = {level: rank for rank, level in enumerate(PRESENT)}
INTACT_FROM_PCT, TRACE_TO_PCT = 98.0, 10.0
"""Measured coverage that counts as intact, and as a trace. Common practice, no published source."""


class Reading(NamedTuple):
    """One sample's word on one scheme. `level` is intact, present (extent not recorded), partial, trace or
    absent; `implied` marks an absence concluded from a complete sample; `history` a reading that a later
    removal has overtaken."""

    sample: str
    place: str
    level: str
    implied: bool = False
    history: bool = False
    taken_on: str | None = None


@lru_cache(maxsize=64)
def layers_by_sample(facts: Facts) -> Mapping[str, tuple[Layer, ...]]:
    """Each sample's coats, outermost first; the bare support is no coat."""
    counted_from = {s.sample: s.counted_from for s in facts.samples}
    found: dict[str, list[Layer]] = {s.sample: [] for s in facts.samples}
    for layer in facts.layers:
        if layer.role != "support":
            found.setdefault(layer.sample, []).append(layer)
    return {sample: tuple(sorted(rows, key=attrgetter("position"), reverse=counted_from.get(sample) != "surface"))
            for sample, rows in found.items()}


def shown_later(scheme: Scheme) -> bool:
    """Whether a scheme is shown, with a basis, to be later than what must be kept.

    Without a basis, or only possibly later, it is kept; so is a later one that a person decided to keep.
    """
    return (scheme.period in LATER_PERIODS and bool(scheme.basis) and scheme.certainty != "possible"
            and scheme.keep != "keep")


def is_absent(layer: Layer) -> bool:
    """Whether the row documents that the coat was looked for and is not there: no part of the stack."""
    return layer.coverage == "absent" or layer.coverage_pct == 0


def kept_layers(facts: Facts) -> Mapping[tuple[str, int], bool]:
    """For each coat, by (sample, position): whether it is kept."""
    return _kept_layers(facts)


@lru_cache(maxsize=64)
def _kept_layers(facts: Facts) -> Mapping[tuple[str, int], bool]:
    schemes = {s.scheme: s for s in facts.schemes}
    kept: dict[tuple[str, int], bool] = {}
    for sample, rows in layers_by_sample(facts).items():
        later_beneath = False
        for layer in reversed(rows):
            scheme = schemes.get(layer.scheme or "")
            if layer.role in FOREIGN_ROLES:
                keep = layer.role == "wax" and scheme is not None and not shown_later(scheme)
            elif scheme is not None:
                keep = not shown_later(scheme)
                later_beneath = later_beneath or not (keep or is_absent(layer))
            elif layer.period in LATER_PERIODS and layer.certainty == "confirmed":
                keep, later_beneath = False, later_beneath or not is_absent(layer)
            else:
                # What lies on a coat shown to be later is later still (superposition).
                keep = not (later_beneath and layer.period not in ("original", "early"))
            kept[sample, layer.position] = keep
    return kept


def removal_steps(facts: Facts) -> tuple[tuple[Treatment, TreatmentStep], ...]:
    """The steps that are documented to have taken a scheme or coat off; failed trials left away."""
    return _removal_steps(facts)


@lru_cache(maxsize=64)
def _removal_steps(facts: Facts) -> tuple[tuple[Treatment, TreatmentStep], ...]:
    by_code = {t.treatment: t for t in facts.treatments}
    return tuple((by_code[s.treatment], s) for s in facts.treatment_steps
                 if s.removed and s.treatment in by_code and by_code[s.treatment].outcome != "tried and failed")


def treatment_span(treatment: Treatment) -> dates.Span:
    """When a treatment was carried out; one date alone stands for the whole of it."""
    first = dates.bounds(treatment.started or treatment.ended)
    last = dates.bounds(treatment.ended or treatment.started)
    return dates.Span(first.earliest, last.latest)


def overtaken(facts: Facts, scheme: str, role: str | None, place: str, seen_on: str | None) -> str | None:
    """What a later documented removal did to a reading: `removed`, `partly`, or None.

    The removal must surely come after the reading and surely take in its whole place; where dates may
    overlap, the reading counts.
    """
    outcome = None
    for treatment, step in removal_steps(facts):
        names_scheme, _, names_role = (step.removed or "").partition("/")
        if names_scheme != scheme or (names_role and names_role != role):
            continue
        if not places_of(facts).contains(step.place, place):
            continue
        if not dates.bounds(seen_on).latest < treatment_span(treatment).earliest:
            continue
        if treatment.outcome == "partly":
            outcome = outcome or "partly"
        else:
            return "removed"
    return outcome


def reading(facts: Facts, sample: Sample, schemes: Iterable[str], *, period: str | None = None) -> Reading | None:
    """What one sample says of a set of schemes taken together (and of unassigned coats of `period`).

    None where the sample is silent.
    """
    profile = profiles(facts).get(sample.sample)
    return None if profile is None else reading_of(profile, sample, schemes, period)


def reading_of(profile: Profile, sample: Sample, schemes: Iterable[str], period: str | None) -> Reading | None:
    """`reading`, from what the sample's coats were sorted into."""
    best, ranks = _SILENT, profile.best
    keys: Iterable[Key] = schemes if period is None else (*schemes, ("", period))
    for key in keys:
        rank = ranks.get(key, _SILENT)
        if rank < best:
            best = rank
    if best < _HISTORY:
        return Reading(sample.sample, sample.place, PRESENT[best], taken_on=sample.taken_on)
    implied = best == _SILENT
    if implied and not (profile.dated if period is not None else profile.assigned):
        return None
    return Reading(sample.sample, sample.place, "absent", implied, best == _HISTORY, sample.taken_on)


_HISTORY, _ABSENT, _SILENT = len(PRESENT), len(PRESENT) + 1, len(PRESENT) + 2
"""Ranks below every presence: what a removal took since the sample was read, what was not found, and what
does not occur. A coat that was there once counts before an absence, which is then the removal's doing."""

Key = str | tuple[str, str | None]
"""A scheme's code, or ("", period) for coats that are assigned to none."""


@dataclass(frozen=True, slots=True)
class Profile:
    """One sample's coats, sorted by scheme: the best rank of each, what lies outermost, and whether a scheme
    that does not occur is absent: every coat is assigned, or else at least of a known period."""

    best: Mapping[Key, int]
    outermost: Key | None
    assigned: bool
    dated: bool


def key_of(layer: Layer) -> Key:
    """What a coat is sorted under."""
    return layer.scheme or ("", layer.period)


def profiles(facts: Facts) -> Mapping[str, Profile]:
    """What each sample that can speak says, by its code."""
    return _profiles(facts)


@lru_cache(maxsize=64)
def _profiles(facts: Facts) -> Mapping[str, Profile]:
    layers = layers_by_sample(facts)
    found = {s.sample: _profile(facts, s, layers.get(s.sample, ())) for s in facts.samples if s.method != "gauge"}
    return {sample: profile for sample, profile in found.items() if profile is not None}


def _profile(facts: Facts, sample: Sample, rows: tuple[Layer, ...]) -> Profile | None:
    coated = any(not is_absent(r) for r in rows)
    bare = not coated and sample.sample in reaching_support(facts)
    if not (rows or bare):
        return None
    if sample.method == "surface" and not bare:
        rows = tuple(r for r in rows if r.coverage != "absent" and r.role not in FOREIGN_ROLES)[:1]
    best: dict[Key, int] = {}
    outermost: Key | None = None
    taken_off = removal_steps(facts)
    # Where neither a coat nor the bare support is recorded, it may be that nobody has written them down yet.
    assigned = dated = sample.reaches_support == "yes" and (bare or (coated and sample.method != "surface"))
    for layer in rows:
        if layer.role in FOREIGN_ROLES:
            continue
        if not (layer.scheme or is_absent(layer)):
            assigned = False
            dated = dated and layer.period not in (None, "unknown")
        key, rank = key_of(layer), _rank_as_met(layer.role, layer.coverage, layer.coverage_pct)
        if taken_off and layer.scheme and rank != _ABSENT:
            rank = _rank_since(rank, overtaken(facts, layer.scheme, layer.role, sample.place, sample.taken_on))
        if rank < best.get(key, _SILENT):
            best[key] = rank
        if outermost is None and rank < _HISTORY:
            outermost = key
    return Profile(best, outermost, assigned, dated)


def _rank_since(rank: int, fate: str | None) -> int:
    """The rank of a coat after what a removal did to it since."""
    if fate == "removed":
        return _HISTORY
    return max(rank, _RANK["partial"]) if fate == "partly" else rank


@lru_cache(maxsize=4096)
def _rank_as_met(role: str, coverage: str | None, coverage_pct: float | None) -> int:
    """The rank of a coat as its row tells it, whatever became of it since."""
    if coverage == "absent" or coverage_pct == 0:
        return _ABSENT
    return _RANK[_level(coverage, coverage_pct) if role in FINISH_ROLES else "trace"]


def coverage_level(layer: Layer) -> str:
    """How much of a coat is left where it was met; a measured share speaks where the word is blank."""
    return _level(layer.coverage, layer.coverage_pct)


def _level(coverage: str | None, coverage_pct: float | None) -> str:
    if coverage:
        return coverage
    if coverage_pct is None:
        return "present"
    if coverage_pct >= INTACT_FROM_PCT:
        return "intact"
    return "partial" if coverage_pct > TRACE_TO_PCT else "trace"


@lru_cache(maxsize=64)
def reaching_support(facts: Facts) -> frozenset[str]:
    """The samples in which the bare support itself is recorded."""
    return frozenset(layer.sample for layer in facts.layers if layer.role == "support")


def original_schemes(facts: Facts) -> tuple[str, ...]:
    """The codes of the schemes whose period is original."""
    return tuple(s.scheme for s in facts.schemes if s.period == "original")


def original_reading(facts: Facts, sample: Sample) -> Reading | None:
    """What a sample says of the maker's own finish."""
    return reading(facts, sample, original_schemes(facts), period="original")
