"""What each sample says about each scheme: intact, partial, trace, absent, or nothing.

Points are evidence. A surface sample shows only what lies outermost; a sample that stops short says nothing about what
lies deeper; an `absent` row, or a complete sample in which a scheme does not occur, is evidence of absence. What
documented work has taken off since is a share of the place (`removals`): a reading is history only where all of it, or
nearly all, is gone. Common practice, no published source.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from operator import attrgetter
from typing import NamedTuple

from collection.compute.build_up.removals import NOTHING, mostly_taken, removal_steps, taken
from collection.compute.build_up.removals import treatment_span as treatment_span
from collection.compute.case import Case, kept
from collection.language.words import FINISH_ROLES, FOREIGN_ROLES, LATER_PERIODS
from collection.records.policy import Interval, default_policy
from collection.records.sheets import Layer, Sample, Scheme

PRESENT = ("intact", "present", "partial", "trace")
_RANK = {level: rank for rank, level in enumerate(PRESENT)}
INTACT_FROM_PCT, TRACE_TO_PCT = 98.0, 10.0
"""Measured coverage that counts as intact, and as a trace. Common practice, no published source."""


WHOLE: Interval = (1.0, 1.0, 1.0)


class Reading(NamedTuple):
    """What one sample says about one scheme. `level` is intact, present (extent not recorded), partial, trace or
    absent; `implied` marks an absence concluded from a complete sample; `history` a reading of finish that later work
    took off, all of it or nearly all. `share` is how much of its spot the finish covered when it was read, `role` that
    of the coat that shows it (None: absent)."""

    sample: str
    place: str
    level: str
    implied: bool
    history: bool
    taken_on: str | None = None
    share: Interval = NOTHING
    scheme: str | None = None
    role: str | None = None


@kept
def samples_of(case: Case) -> Mapping[str, Sample]:
    """The samples of an object by their codes."""
    return {s.sample: s for s in case.facts.samples}


@kept
def layers_by_sample(case: Case) -> Mapping[str, tuple[Layer, ...]]:
    """Each sample's coats, outermost first; the bare support is not a coat."""
    counted_from = {s.sample: s.counted_from for s in case.facts.samples}
    found: dict[str, list[Layer]] = {s.sample: [] for s in case.facts.samples}
    for layer in case.facts.layers:
        if layer.role != "support":
            found.setdefault(layer.sample, []).append(layer)
    return {
        sample: tuple(sorted(rows, key=attrgetter("position"), reverse=counted_from.get(sample) != "surface"))
        for sample, rows in found.items()
    }


def shown_later(scheme: Scheme) -> bool:
    """Whether a scheme is shown, with a basis, to be later than what must be kept.

    Without a basis, or only possibly later, it is kept; so is a later one that a person decided to keep.
    """
    return (
        scheme.period in LATER_PERIODS
        and bool(scheme.basis)
        and scheme.certainty != "possible"
        and scheme.keep != "keep"
    )


def is_absent(layer: Layer) -> bool:
    """Whether the row documents that the coat was looked for and is not there: no part of the stack."""
    return layer.coverage == "absent" or layer.coverage_pct == 0


@kept
def kept_layers(case: Case) -> Mapping[tuple[str, int], bool]:
    """For each coat, by (sample, position): whether it is kept."""
    schemes = {s.scheme: s for s in case.facts.schemes}
    kept: dict[tuple[str, int], bool] = {}
    for sample, rows in layers_by_sample(case).items():
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


def reading(case: Case, sample: Sample, schemes: Iterable[str], *, period: str | None = None) -> Reading | None:
    """What one sample says about a set of schemes taken together (and about unassigned coats of `period`).

    None where the sample says nothing.
    """
    profile = profiles(case).get(sample.sample)
    return None if profile is None else reading_of(profile, sample, schemes, period)


def reading_of(profile: Profile, sample: Sample, schemes: Iterable[str], period: str | None) -> Reading | None:
    """The same as `reading`, from the sample's sorted coats."""
    found: Met = _SILENT_MET
    keys: Iterable[Key] = schemes if period is None else (*schemes, ("", period))
    for key in keys:
        met = profile.best.get(key)
        if met is not None and met.order < found.order:
            found = met
    rank = found.order[0]
    if rank < _HISTORY:
        return Reading(
            sample.sample,
            sample.place,
            PRESENT[rank],
            False,
            False,
            sample.taken_on,
            found.share,
            found.scheme,
            found.role,
        )
    implied = rank == _SILENT
    if implied and not (profile.dated if period is not None else profile.assigned):
        return None
    return Reading(
        sample.sample,
        sample.place,
        "absent",
        implied,
        rank == _HISTORY,
        sample.taken_on,
        found.share,
        found.scheme,
        found.role,
    )


_HISTORY, _ABSENT, _SILENT = len(PRESENT), len(PRESENT) + 1, len(PRESENT) + 2
"""Ranks below every presence: taken off since the sample was read, looked for and not found, does not occur. A coat
that was once there comes before an absence, which the removal then explains."""

Key = str | tuple[str, str | None]
"""A scheme's code, or ("", period) for coats without a scheme."""


class Met(NamedTuple):
    """How a coat was found. The best one comes first by `order`: its rank, the middle share taken off since, and how
    little of it there was."""

    order: tuple[int, float, float]
    share: Interval = NOTHING
    scheme: str | None = None
    role: str | None = None


_SILENT_MET = Met((_SILENT, 0.0, 0.0))


@dataclass(frozen=True, slots=True)
class Profile:
    """One sample's coats by scheme: the best of each, what may lie outermost, and whether a scheme that does not occur
    is absent (because every coat has a scheme, or at least a known period)."""

    best: Mapping[Key, Met]
    outermost: frozenset[Key]
    assigned: bool
    dated: bool


def key_of(layer: Layer) -> Key:
    """The key that a coat is sorted under."""
    return layer.scheme or ("", layer.period)


@kept
def profiles(case: Case) -> Mapping[str, Profile]:
    """The profile of each sample that says anything, by its code."""
    layers = layers_by_sample(case)
    found = {s.sample: _profile(case, s, layers.get(s.sample, ())) for s in case.facts.samples if s.method != "gauge"}
    return {sample: profile for sample, profile in found.items() if profile is not None}


def _profile(case: Case, sample: Sample, rows: tuple[Layer, ...]) -> Profile | None:
    coated = any(not is_absent(r) for r in rows)
    bare = not coated and sample.sample in reaching_support(case)
    if not (rows or bare):
        return None
    if sample.method == "surface" and not bare:
        rows = tuple(r for r in rows if r.coverage != "absent" and r.role not in FOREIGN_ROLES)[:1]
    best: dict[Key, Met] = {}
    outermost: list[Key] = []
    open_still = True
    taken_off = bool(removal_steps(case))
    # Where neither a coat nor the bare support is recorded, perhaps nobody has written them down yet.
    assigned = dated = sample.reaches_support == "yes" and (bare or (coated and sample.method != "surface"))
    for layer in rows:
        if layer.role in FOREIGN_ROLES:
            continue
        if not (layer.scheme or is_absent(layer)):
            assigned = False
            dated = dated and layer.period not in (None, "unknown")
        key, (rank, share) = key_of(layer), as_met(layer.role, layer.coverage, layer.coverage_pct)
        gone = NOTHING
        if taken_off and layer.scheme and rank != _ABSENT:
            gone = taken(case, layer.scheme, layer.role, sample.place, sample.taken_on)
            if mostly_taken(gone):
                rank = _HISTORY
        order = (rank, gone[1], -share[1])
        if key not in best or order < best[key].order:
            best[key] = Met(order, share, layer.scheme, layer.role)
        if open_still and rank < _HISTORY:
            outermost.append(key)
            # Where work may have taken a cover off, nothing of it is surely left, and what lies beneath may be open.
            open_still = mostly_taken((gone[2], gone[2], gone[2]))
    return Profile(best, frozenset(outermost), assigned, dated)


@lru_cache(maxsize=4096)
def as_met(role: str, coverage: str | None, coverage_pct: float | None) -> tuple[int, Interval]:
    """The rank of a coat and the share of its spot that it covers, as its row records them, whatever has happened to it
    since: as measured, else as the policy reads the word. An intact coat covers its spot, and so does one recorded only
    as being there."""
    if coverage == "absent" or coverage_pct == 0:
        return _ABSENT, NOTHING
    level, cover = _level(coverage, coverage_pct), default_policy().cover
    if role not in FINISH_ROLES:
        return _RANK["trace"], cover["trace"]
    if coverage_pct is not None:
        share = coverage_pct / 100
        return _RANK[level], (share, share, share)
    return _RANK[level], WHOLE if level in ("intact", "present") else cover[level]


def coverage_level(layer: Layer) -> str:
    """How much of a coat is left where it was found; where the word is blank, the measured share decides."""
    return _level(layer.coverage, layer.coverage_pct)


def _level(coverage: str | None, coverage_pct: float | None) -> str:
    if coverage:
        return coverage
    if coverage_pct is None:
        return "present"
    if coverage_pct >= INTACT_FROM_PCT:
        return "intact"
    return "partial" if coverage_pct > TRACE_TO_PCT else "trace"


@kept
def reaching_support(case: Case) -> frozenset[str]:
    """The samples in which the bare support itself is recorded."""
    return frozenset(layer.sample for layer in case.facts.layers if layer.role == "support")


def original_schemes(case: Case) -> tuple[str, ...]:
    """The codes of the schemes whose period is original."""
    return tuple(s.scheme for s in case.facts.schemes if s.period == "original")


def is_original(scheme: str | None, period: str | None, originals: Collection[str]) -> bool:
    """Whether a coat counts as the maker's: by its scheme, and by its own period where it has none.

    :param originals: the codes of the original schemes.
    """
    return scheme in originals if scheme else period == "original"


def original_reading(case: Case, sample: Sample) -> Reading | None:
    """What a sample says about the maker's own finish."""
    return reading(case, sample, original_schemes(case), period="original")
