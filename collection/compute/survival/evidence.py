"""What the records of one object say about one scheme, or about all original ones, place by place.

Counts, states and bounds only: no area is inferred here. Readings of a whole surface are kept apart from readings of
points. Rules of reading: common practice, no published source.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import NamedTuple

from collection.compute.build_up.areas import held_by_measured, holder, place_areas
from collection.compute.build_up.places import places_of
from collection.compute.build_up.readings import (
    INTACT_FROM_PCT,
    Key,
    Profile,
    Reading,
    coverage_level,
    key_of,
    layers_by_sample,
    original_schemes,
    profiles,
    reading_of,
)
from collection.compute.build_up.removals import (
    NOTHING,
    mostly_taken,
    newest_removals,
    removal_steps,
    taken,
    taken_in_all,
    treatment_span,
)
from collection.compute.case import Case, kept
from collection.compute.survival.opened_windows import windows
from collection.language.words import FOREIGN_ROLES
from collection.records.policy import Interval
from collection.records.sheets import Sample, Treatment
from collection.values import dates

REMOVED = "original removed"


@dataclass(frozen=True, slots=True)
class Subject:
    """What is asked about: schemes taken together, with unassigned coats of `period`; `component` is the only part that
    has them, where that is recorded."""

    schemes: frozenset[str]
    period: str | None = None
    component: str | None = None

    @property
    def keys(self) -> frozenset[Key]:
        """The keys that its coats are sorted under."""
        return self.schemes if self.period is None else self.schemes | {("", self.period)}


def original_subject(case: Case) -> Subject:
    """All that counts as original."""
    return Subject(frozenset(original_schemes(case)), "original")


class At(NamedTuple):
    """What the readings of one place say, or those that count for it.

    `rows` are those readings, history included. `whole` is the share that readings of the whole surface showed when
    they were made, None where only points were read; `whole_rows` are the readings of the whole.
    """

    state: str
    present: int = 0
    read: int = 0
    traces: int = 0
    rows: tuple[Reading, ...] = ()
    whole: Interval | None = None
    whole_rows: tuple[Reading, ...] = ()
    as_of: str | None = None


NOT_READ = At("not examined")


class Evidence:
    """The readings of one subject on one object, and what follows from them."""

    def __init__(self, case: Case, subject: Subject) -> None:
        self.case, self.subject = case, subject
        self._keys, self._profiles, self._coatings = subject.keys, profiles(case), _coatings(case)
        self._whole_samples = whole_samples(case)
        self.worked_on = bool(removal_steps(case))
        self._read: dict[str, list[Reading]] = defaultdict(list)
        for sample, profile in _speaking(case):
            if subject.component is None or places_of(case).contains(subject.component, sample.place):
                found = reading_of(profile, sample, subject.schemes, subject.period)
                if found is not None:
                    self._read[sample.place].append(found)
        self.windows = {place: opened for place, opened in windows(case).items() if place in self._read}
        self._lent: dict[str, list[Reading]] = defaultdict(list)
        for window, opened in self.windows.items():
            if opened.isdisjoint(subject.schemes):
                self._lent[holder(case, window)] += self._read[window]
        self.own = {
            place: self._at(place, [*self._read.get(place, ()), *self._lent.get(place, ())])
            for place in [*self._read, *(p for p in self._lent if p not in self._read)]
        }

    @property
    def counted(self) -> list[Reading]:
        """The readings that are present evidence."""
        return [r for place in self._read for r in self.own[place].rows if not r.history and r.place == place]

    def source(self, place: str) -> str | None:
        """The place whose readings count for `place`: itself, else the zone it is part of, else what contains it, if
        its whole surface was read; None where nobody looked."""
        places = places_of(self.case)
        here = place
        while here in places.zones and here not in self.own:
            here = holder(self.case, here)
        if here in self.own and (here == place or here in places.zones):
            return here
        for outer in places.around(place)[1:]:
            if outer in self.own and self.own[outer].whole is not None:
                return outer
        return None

    def at(self, place: str, source: str | None = None) -> At:
        """What is known about a place, from its own readings or those of `source`, which count for it."""
        source = source or self.source(place)
        if source is None:
            return NOT_READ
        found = self.own[source]
        # Work in a smaller place counts only there.
        return found if place == source or not self.worked_on else self._at(place, found.rows)

    @property
    def as_of(self) -> str | None:
        """The newest date of anything used."""
        return newest(at.as_of for at in self.own.values())

    def gone(self, found: Reading, place: str, *, evenly: bool = False) -> Interval:
        """The share of a place that documented work took off since a reading; where the reading found nothing, the
        least share of any scheme asked about."""
        if not self.worked_on:
            return NOTHING
        if found.role is not None:
            return (
                NOTHING
                if found.scheme is None
                else taken(self.case, found.scheme, found.role, place, found.taken_on, evenly=evenly)
            )
        return _least(
            taken(self.case, scheme, None, place, found.taken_on, evenly=evenly) for scheme in self.subject.schemes
        )

    def ever_gone(self, place: str, *, evenly: bool = False) -> Interval:
        """The share of a place that all work on record took off, the least of any scheme asked about."""
        if not self.worked_on:
            return NOTHING
        return _least(taken_in_all(self.case, scheme, place, evenly=evenly) for scheme in self.subject.schemes)

    def _at(self, place: str, rows: Sequence[Reading]) -> At:
        if self.worked_on:
            rows = [
                r
                if r.history or r.place == place or not mostly_taken(self.gone(r, place))
                else r._replace(history=True)
                for r in rows
            ]
        whole, by = self._whole(place, rows)
        if whole is not None and whole[2] == 0:
            # The whole place was read bare: whatever was seen before is gone, whether or not anybody wrote down how.
            rows = [r._replace(history=True) if r.level != "absent" and _surely_before_all(r, by) else r for r in rows]
        levels = [r.level for r in rows if not r.history]
        absent, traces = levels.count("absent"), levels.count("trace")
        present = len(levels) - absent
        return At(
            self._state(place, rows, present, absent, traces + levels.count("partial")),
            present,
            len(levels),
            traces,
            tuple(rows),
            whole,
            by,
            self._as_of(place, rows),
        )

    def _state(self, place: str, rows: Sequence[Reading], present: int, absent: int, broken: int) -> str:
        if not present:
            removed = self.worked_on and all(r.history or self._removed_since(place, r.taken_on) for r in rows)
            return REMOVED if removed else "original not found"
        standing = [r for r in rows if not r.history]
        if absent or broken or any(self.gone(r, place)[0] > 1 - INTACT_FROM_PCT / 100 for r in standing):
            return "original fragmentary"
        return "original exposed" if all(self._outermost(r, place) for r in standing) else "original covered"

    def _removed_since(self, place: str, seen_on: str | None) -> bool:
        return any(mostly_taken(taken(self.case, scheme, None, place, seen_on)) for scheme in self.subject.schemes)

    def _outermost(self, found: Reading, place: str) -> bool:
        """Whether only dirt, wax or the finish's own coats lie on it, as far as is recorded. Finish that lies open in a
        window is still covered around it."""
        if found.place in self.windows and found.place != place:
            return False
        if any(
            places_of(self.case).contains(coated, found.place)
            and dates.bounds(found.taken_on).latest < treatment_span(treatment).earliest
            for treatment, coated in self._coatings
        ):
            return False
        return not self._profiles[found.sample].outermost.isdisjoint(self._keys)

    def _whole(self, place: str, rows: Sequence[Reading]) -> tuple[Interval | None, tuple[Reading, ...]]:
        """The share that samples of the whole place showed, and those samples; none where points of the place
        contradict them. The later of several counts; if they are undated, anything between them."""
        if self._whole_samples.isdisjoint([r.sample for r in rows]):
            return None, ()
        standing = [r for r in rows if not r.history]
        shares = {r.sample: share for r in standing if (share := self._whole_share(r, place)) is not None}
        latest = [
            r
            for r in standing
            if r.sample in shares
            and not any(dates.surely_before(r.taken_on, other.taken_on) for other in standing if other.sample in shares)
        ]
        if not latest:
            return None, ()
        found = [shares[r.sample] for r in latest]
        low, high = min(found), max(found)
        points = [r for r in standing if r.sample not in shares]
        if (
            low == 1
            and any(
                r.level in ("absent", "partial", "trace") and not self._worked_between(latest, r, place) for r in points
            )
        ) or (high == 0 and any(r.level != "absent" and not _surely_before_all(r, latest) for r in points)):
            return None, ()
        return (low, min(max(math.fsum(found) / len(found), low), high), high), tuple(latest)

    def _worked_between(self, earlier: Iterable[Reading], later: Reading, place: str) -> bool:
        """Whether a documented removal may lie between earlier readings of the whole and a later one, and explains the
        later one."""
        return all(self.gone(r, place)[2] > self.gone(later, place)[2] for r in earlier)

    def _whole_share(self, found: Reading, place: str) -> float | None:
        if found.sample not in self._whole_samples or (found.place != place and found.place in self.windows):
            return None
        if found.level == "absent":
            return 0.0
        coats = [
            layer
            for layer in layers_by_sample(self.case)[found.sample]
            if key_of(layer) in self._keys and layer.role not in FOREIGN_ROLES and layer.coverage != "absent"
        ]
        measured = [layer.coverage_pct / 100 for layer in coats if layer.coverage_pct is not None]
        if any(layer.coverage_pct is None and coverage_level(layer) == "intact" for layer in coats):
            return 1.0
        return max(measured, default=None)

    def _as_of(self, place: str, rows: Iterable[Reading]) -> str | None:
        written = {r.taken_on for r in rows}
        if self.worked_on:
            written.update(newest_removals(self.case, self.subject.schemes, place))
        return newest(written)

    @cached_property
    def losses(self) -> tuple[Mapping[str, float], tuple[tuple[tuple[str, ...], float], ...]]:
        """The most that visible loss leaves: the share of each place, and the m² of places taken together."""
        areas = place_areas(self.case)
        most: dict[str, float] = {}
        together: list[tuple[tuple[str, ...], float]] = []
        for place, left in sorted(self._left_by_loss().items()):
            members = tuple(p for p in areas if places_of(self.case).contains(place, p))
            spoken_for = tuple(
                p
                for p in members
                if areas[p] is None
                and p != place
                and self.source(p) in (None, place)
                and held_by_measured(self.case, p)
            )
            summed = tuple(p for p in members if p not in spoken_for)
            if summed == (place,):
                for p in members:
                    most[p] = min(left, most.get(p, 1.0))
                continue
            measured = [area for p in summed if (area := areas[p]) is not None]
            if len(measured) < len(summed):
                # Unless every area is known the loss may lie anywhere, so it limits no single place.
                continue
            together.append((summed, left * math.fsum(measured)))
        # The smallest surfaces first: a limit on a zone counts before a limit on its part.
        return most, tuple(sorted(together, key=lambda pair: (len(pair[0]), pair)))

    def _left_by_loss(self) -> Mapping[str, float]:
        """For each place, the largest share left by visible loss that is recorded on every scheme asked about."""
        lost: dict[str, dict[str, float]] = defaultdict(dict)
        for row in self.case.facts.conditions:
            if row.phenomenon == "loss" and row.extent_pct and row.scheme in self.subject.schemes:
                here = lost[row.place]
                here[row.scheme] = max(here.get(row.scheme, 0.0), row.extent_pct / 100)
        if not lost:
            return {}
        places = places_of(self.case)
        carriers = {s.scheme: s.component for s in self.case.facts.schemes}
        return {
            place: max(
                1 - shares.get(scheme, 0.0)
                for scheme in self.subject.schemes
                if (carrier := carriers.get(scheme)) is None or places.overlap(carrier, place) or scheme in shares
            )
            for place, shares in lost.items()
        }


@kept
def _speaking(case: Case) -> tuple[tuple[Sample, Profile], ...]:
    """The samples that can say something about a place with surface, each with its profile."""
    surfaces, known = place_areas(case), profiles(case)
    return tuple(
        (sample, known[sample.sample])
        for sample in case.facts.samples
        if sample.place in surfaces and sample.sample in known
    )


def newest(written: Iterable[str | None]) -> str | None:
    """The date that reaches furthest, as written; None where none is known."""
    texts = {text for text in written if text}
    return texts.pop() if len(texts) == 1 else max(map(_reach, texts))[2] if texts else None


@lru_cache(maxsize=4096)
def _reach(text: str) -> tuple[str, str, str]:
    span = dates.bounds(text)
    return (span.latest if span.latest != dates.LAST_DAY else span.earliest, span.earliest, text)


@kept
def whole_samples(case: Case) -> frozenset[str]:
    """The samples that show the whole of their place, not one spot in it."""
    return frozenset(s.sample for s in case.facts.samples if s.extent == "whole place")


def _surely_before_all(found: Reading, others: Iterable[Reading]) -> bool:
    return all(dates.surely_before(found.taken_on, other.taken_on) for other in others)


def _least(shares: Iterable[Interval]) -> Interval:
    found = list(shares)
    return (min(s[0] for s in found), min(s[1] for s in found), min(s[2] for s in found)) if found else NOTHING


@kept
def _coatings(case: Case) -> tuple[tuple[Treatment, str], ...]:
    """Treatments that laid a coat on a place."""
    by_code = {t.treatment: t for t in case.facts.treatments}
    return tuple(
        (by_code[s.treatment], s.place)
        for s in case.facts.treatment_steps
        if s.action == "coat"
        and s.treatment in by_code
        and (s.outcome or by_code[s.treatment].outcome) != "tried and failed"
    )
