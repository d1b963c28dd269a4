"""What the records of one object say of one scheme, or of all original ones, place by place.

Counts, states and bounds only: no area is inferred here. What a whole surface showed is told apart from
what points showed. Rules of reading: common practice, no published source.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import NamedTuple

from collection import dates
from collection.compute.areas import held_by_measured, holder, place_areas
from collection.compute.places import places_of
from collection.compute.readings import (
    Key,
    Profile,
    Reading,
    coverage_level,
    key_of,
    layers_by_sample,
    original_schemes,
    overtaken,
    profiles,
    reading_of,
    removal_steps,
    treatment_span,
)
from collection.facts import Facts
from collection.numbers import six
from collection.policy import Interval
from collection.records import Sample, Treatment
from collection.words import FOREIGN_ROLES

MOSTLY_THERE, MOSTLY_GONE = 0.75, 0.25
"""A whole surface's share from which it speaks for the rest of its part as one presence, to which as one
absence; between them it speaks as one of each."""

REMOVED = "original removed"

Counts = tuple[int, int]


@dataclass(frozen=True, slots=True)
class Subject:
    """What is asked for: schemes taken together, with unassigned coats of `period`; `component` is the only
    part that carries them, where that is recorded."""

    schemes: frozenset[str]
    period: str | None = None
    component: str | None = None

    @property
    def keys(self) -> frozenset[Key]:
        """What its coats are sorted under."""
        return self.schemes if self.period is None else self.schemes | {("", self.period)}


def original_subject(facts: Facts) -> Subject:
    """All that counts as original."""
    return Subject(frozenset(original_schemes(facts)), "original")


class At(NamedTuple):
    """What the readings of one place say.

    `counts` are (present, absent) as the model of areas takes them: a trace adds no surface and counts as
    absent there. `whole` is the share that readings of the whole surface showed, None where points were read.
    """

    state: str
    present: int = 0
    read: int = 0
    traces: int = 0
    counts: Counts = (0, 0)
    whole: Interval | None = None
    as_of: str | None = None

    @property
    def trace_share(self) -> float:
        """Traces among the readings that show no more than a trace."""
        return self.traces / self.counts[1] if self.counts[1] and self.whole is None else 0.0


UNREAD = At("not examined")


class Evidence:
    """The readings of one subject on one object, with what they leave open."""

    def __init__(self, facts: Facts, subject: Subject) -> None:
        self.facts, self.subject = facts, subject
        self._keys, self._profiles, self._coatings = subject.keys, profiles(facts), _coatings(facts)
        self._surfaces = surface_samples(facts)
        self._samples: dict[str, Sample] = {s.sample: s for s in facts.samples}
        self._read: dict[str, list[Reading]] = defaultdict(list)
        for sample, profile in _speaking(facts):
            if subject.component is None or places_of(facts).contains(subject.component, sample.place):
                found = reading_of(profile, sample, subject.schemes, subject.period)
                if found is not None:
                    self._read[sample.place].append(found)
        self.own = {place: self._at(place, rows) for place, rows in self._read.items()}

    @property
    def counted(self) -> list[Reading]:
        """The readings that are present evidence."""
        return [r for rows in self._read.values() for r in rows if not r.history]

    @property
    def chosen(self) -> list[str]:
        """How each spot that counts was chosen; empty text = not said."""
        return [self._samples[r.sample].chosen or "" for r in self.counted]

    def source(self, place: str) -> str | None:
        """The place whose readings speak for `place`: its own, else those of the zone it is a part of, else a
        reading of the whole surface of what holds it; None where nobody looked."""
        places = places_of(self.facts)
        here = place
        while here in places.zones and here not in self.own:
            here = holder(self.facts, here)
        if here in self.own and (here == place or here in places.zones):
            return here
        for outer in places.around(place)[1:]:
            if outer in self.own and self.own[outer].whole is not None:
                return outer
        return None

    def at(self, place: str) -> At:
        """What is known of a place, by its own readings or those that speak for it."""
        return self.speaks(self.source(place))

    def speaks(self, source: str | None) -> At:
        """What a source says."""
        return UNREAD if source is None else self.own[source]

    @property
    def as_of(self) -> str | None:
        """The newest date of anything used."""
        return newest(at.as_of for at in self.own.values())

    def _at(self, place: str, rows: Sequence[Reading]) -> At:
        levels = [r.level for r in rows if not r.history]
        absent, traces = levels.count("absent"), levels.count("trace")
        present = len(levels) - absent
        whole = self._whole(rows)
        counts = (present - traces, absent + traces)
        if whole is not None:
            counts = (int(whole[1] > MOSTLY_GONE), int(whole[1] < MOSTLY_THERE))
        return At(self._state(place, rows, present, absent, traces + levels.count("partial")), present, len(levels),
                  traces, counts, whole, self._as_of(place, rows))

    def _state(self, place: str, rows: Sequence[Reading], present: int, absent: int, broken: int) -> str:
        if not present:
            taken = all(r.history or self._removed_since(place, r.taken_on) for r in rows)
            return REMOVED if taken else "original not found"
        if absent or broken:
            return "original fragmentary"
        return ("original exposed" if all(self._outermost(r) for r in rows if not r.history)
                else "original covered")

    def _removed_since(self, place: str, seen_on: str | None) -> bool:
        return any(overtaken(self.facts, scheme, None, place, seen_on) == "removed"
                   for scheme in self.subject.schemes)

    def _outermost(self, found: Reading) -> bool:
        """Whether nothing but dirt, wax or the finish's own coats lies on it, as far as is recorded."""
        if any(places_of(self.facts).contains(place, found.place)
               and dates.bounds(found.taken_on).latest < treatment_span(treatment).earliest
               for treatment, place in self._coatings):
            return False
        return self._profiles[found.sample].outermost in self._keys

    def _whole(self, rows: Sequence[Reading]) -> Interval | None:
        """The share that surface samples of the whole place showed; None unless nothing read at points of the
        place contradicts it. Of several the later holds; of undated ones, anything between them."""
        if self._surfaces.isdisjoint([r.sample for r in rows]):
            return None
        standing = [r for r in rows if not r.history]
        shares = {r.sample: share for r in standing if (share := self._whole_share(r)) is not None}
        latest = [r for r in standing if r.sample in shares and not any(
            dates.surely_before(r.taken_on, other.taken_on) for other in standing if other.sample in shares)]
        points = [r for r in standing if r.sample not in shares]
        if not latest:
            return None
        found = [shares[r.sample] for r in latest]
        low, high = min(found), max(found)
        if (low == 1 and any(r.level in ("absent", "partial", "trace") for r in points)) or (
                high == 0 and any(r.level != "absent" for r in points)):
            return None
        return low, min(max(math.fsum(found) / len(found), low), high), high

    def _whole_share(self, found: Reading) -> float | None:
        sample = self._samples[found.sample]
        if sample.method != "surface" or sample.x is not None or sample.y is not None:
            return None
        if found.level == "absent":
            return 0.0
        coats = [layer for layer in layers_by_sample(self.facts)[found.sample]
                 if key_of(layer) in self._keys and layer.role not in FOREIGN_ROLES
                 and layer.coverage != "absent"]
        if any(layer.scheme and overtaken(self.facts, layer.scheme, layer.role, found.place, found.taken_on)
               for layer in coats):
            return None
        measured = [layer.coverage_pct / 100 for layer in coats if layer.coverage_pct is not None]
        if any(layer.coverage_pct is None and coverage_level(layer) == "intact" for layer in coats):
            return 1.0
        return max(measured, default=None)

    def _as_of(self, place: str, rows: Iterable[Reading]) -> str | None:
        written = {r.taken_on for r in rows}
        for treatment, step in removal_steps(self.facts):
            if ((step.removed or "").partition("/")[0] in self.subject.schemes
                    and places_of(self.facts).overlap(step.place, place)):
                written.add(treatment.ended or treatment.started)
        return newest(written)

    @cached_property
    def losses(self) -> tuple[Mapping[str, float], tuple[tuple[tuple[str, ...], float], ...]]:
        """What visible loss leaves at most: the share of each place, and the m² of places taken together."""
        areas = place_areas(self.facts)
        most: dict[str, float] = {}
        together: list[tuple[tuple[str, ...], float]] = []
        for place, left in sorted(self._left_by_loss().items()):
            members = tuple(p for p in areas if places_of(self.facts).contains(place, p))
            spoken_for = tuple(p for p in members if areas[p] is None and p != place
                               and self.source(p) in (None, place) and held_by_measured(self.facts, p))
            summed = tuple(p for p in members if p not in spoken_for)
            if summed == (place,):
                for p in members:
                    most[p] = min(left, most.get(p, 1.0))
                continue
            measured = [area for p in summed if (area := areas[p]) is not None]
            if len(measured) < len(summed):
                # Without every area the loss may lie anywhere: it bounds no single place.
                continue
            together.append((summed, left * math.fsum(measured)))
        # The smallest surfaces first: what bounds a zone counts before what bounds its part.
        return most, tuple(sorted(together, key=lambda pair: (len(pair[0]), pair)))

    def _left_by_loss(self) -> Mapping[str, float]:
        """Per place the largest share that visible loss, recorded on every scheme asked for, leaves."""
        lost: dict[str, dict[str, float]] = defaultdict(dict)
        for row in self.facts.conditions:
            if row.phenomenon == "loss" and row.extent_pct and row.scheme in self.subject.schemes:
                here = lost[row.place]
                here[row.scheme] = max(here.get(row.scheme, 0.0), row.extent_pct / 100)
        if not lost:
            return {}
        places = places_of(self.facts)
        carriers = {s.scheme: s.component for s in self.facts.schemes}
        return {place: max(1 - shares.get(scheme, 0.0) for scheme in self.subject.schemes
                           if (carrier := carriers.get(scheme)) is None or places.overlap(carrier, place)
                           or scheme in shares)
                for place, shares in lost.items()}


@lru_cache(maxsize=64)
def _speaking(facts: Facts) -> tuple[tuple[Sample, Profile], ...]:
    """The samples that can speak of a place with surface, each with what it says."""
    surfaces, spoken = place_areas(facts), profiles(facts)
    return tuple((sample, spoken[sample.sample]) for sample in facts.samples
                 if sample.place in surfaces and sample.sample in spoken)


def newest(written: Iterable[str | None]) -> str | None:
    """The date that reaches furthest, as it was written; None where none is known."""
    texts = {text for text in written if text}
    return texts.pop() if len(texts) == 1 else max(map(_reach, texts))[2] if texts else None


@lru_cache(maxsize=4096)
def _reach(text: str) -> tuple[str, str, str]:
    span = dates.bounds(text)
    return (span.latest if span.latest != dates.LAST_DAY else span.earliest, span.earliest, text)


@lru_cache(maxsize=64)
def surface_samples(facts: Facts) -> frozenset[str]:
    """The samples that looked at the bare surface of a place, and not into it."""
    return frozenset(s.sample for s in facts.samples if s.method == "surface")


@lru_cache(maxsize=64)
def _coatings(facts: Facts) -> tuple[tuple[Treatment, str], ...]:
    """Treatments that laid a coat on a place."""
    by_code = {t.treatment: t for t in facts.treatments}
    return tuple((by_code[s.treatment], s.place) for s in facts.treatment_steps
                 if s.action == "coat" and s.treatment in by_code
                 and by_code[s.treatment].outcome != "tried and failed")


def rounded(value: float | None) -> float | None:
    return None if value is None else six(value)


def rounded_interval(ends: Interval | None) -> list[float] | None:
    return None if ends is None else [six(end) for end in ends]
