"""What survives of each decoration: lining, lettering, ornament, leaf, transfer.

Decorations have small areas of their own and are never added to what survives of the finish. What was recorded of the
decoration as a whole comes first; samples that found it add to that. A sample without it may have missed it, so only a
recorded absence counts against it. A decoration without a stated area has no surviving area: it is never assumed to be
as large as its place. Common practice, no published source.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, NamedTuple

from collection.compute.build_up.places import places_of
from collection.compute.build_up.readings import PRESENT, as_met, is_absent, layers_by_sample
from collection.compute.build_up.removals import NOTHING, mostly_taken, newest_removals, taken, taken_in_all
from collection.compute.case import Case
from collection.compute.survival.evidence import REMOVED, newest
from collection.compute.survival.figures import rounded, rounded_interval
from collection.compute.survival.model import posterior as model
from collection.compute.survival.model.weighing import ENDS, Seen, Weight, weighed, weights_of
from collection.records.facts import current
from collection.records.policy import Interval, default_policy
from collection.records.sheets import Decoration
from collection.values import dates

_STATE = {
    "exposed": "original exposed",
    "covered": "original covered",
    "fragment": "original fragmentary",
    "lost": "original not found",
    "not found": "original not found",
}
_AS_LEVEL = {"exposed": "intact", "covered": "intact", "fragment": "partial", "lost": "absent", "not found": "absent"}
"""The share that a recorded state counts for, as one reading."""


@dataclass(frozen=True, slots=True)
class DecorationSurvival:
    """One decoration: `state` in the words for zones, `area_m2` as stated, `share` of it that survives as [low, middle,
    high], None = nothing to go by; the counts are of readings, and the recorded state is one of them."""

    decoration: str
    place: str
    kind: str
    scheme: str | None
    state: str
    area_m2: float | None
    share: Interval | None
    surviving_m2: Interval | None
    present: int
    read: int
    traces: int
    as_of: str | None

    def as_json(self) -> dict[str, Any]:
        """The decoration as JSON; figures to 6 significant digits."""
        return {
            "decoration": self.decoration,
            "place": self.place,
            "kind": self.kind,
            "scheme": self.scheme,
            "state": self.state,
            "area_m2": rounded(self.area_m2),
            "share": rounded_interval(self.share),
            "surviving_m2": rounded_interval(self.surviving_m2),
            "present": self.present,
            "read": self.read,
            "traces": self.traces,
            "as_of": self.as_of,
        }


def decoration_survival(case: Case) -> tuple[DecorationSurvival, ...]:
    """What survives of each decoration, in the order of their codes."""
    found = current(case.facts.decorations, "decoration")
    return tuple(_one(case, found[code], list(found.values())) for code in sorted(found))


class _DecorationReading(NamedTuple):
    """One reading of a decoration: `history` where work has since taken all of it off, or nearly all."""

    level: str
    on: str | None
    seen: Seen

    @property
    def history(self) -> bool:
        return mostly_taken(self.seen.gone)


def _one(case: Case, row: Decoration, others: list[Decoration]) -> DecorationSurvival:
    sampled = [
        m
        for m in _sample_readings(case, row, others)
        if not (
            row.state in ("lost", "not found") and m.level != "absent" and dates.surely_before(m.on, row.observed_on)
        )
    ]
    stated = _stated(case, row)
    rows = [*sampled, *stated]
    standing = [m for m in rows if not m.history]
    ever = NOTHING if row.scheme is None else taken_in_all(case, row.scheme, row.place)
    share = _share(rows, ever)
    if share is not None and row.state in ("lost", "not found") and not any(m.level != "absent" for m in rows):
        share = NOTHING
    area = row.area_m2
    as_of = newest(
        [
            *(m.on for m in rows),
            row.observed_on,
            *(newest_removals(case, (row.scheme,), row.place) if row.scheme else ()),
        ]
    )
    return DecorationSurvival(
        row.decoration,
        row.place,
        row.kind,
        row.scheme,
        _state(row, rows),
        area,
        share,
        None if area is None or share is None else (area * share[0], area * share[1], area * share[2]),
        sum(m.level != "absent" for m in standing),
        len(standing),
        sum(m.level == "trace" for m in standing),
        as_of,
    )


def _stated(case: Case, row: Decoration) -> list[_DecorationReading]:
    """Its recorded state as one reading of it."""
    level = _AS_LEVEL.get(row.state or "")
    if level is None:
        return []
    cover = default_policy().cover[level]
    share = (1.0, 1.0, 1.0) if level == "intact" else cover
    return [_DecorationReading(level, row.observed_on, Seen(share, _gone(case, row, row.place, row.observed_on)))]


def _gone(case: Case, row: Decoration, place: str, seen_on: str | None) -> Interval:
    return NOTHING if row.scheme is None else taken(case, row.scheme, row.kind, place, seen_on)


def _sample_readings(case: Case, row: Decoration, others: list[Decoration]) -> list[_DecorationReading]:
    """The readings of the samples that found it.

    Where another decoration of the same kind and scheme shares its surface, a sample cannot tell which of them it
    found.
    """
    places = places_of(case)
    if row.scheme is None or any(
        o.decoration != row.decoration
        and (o.scheme, o.kind) == (row.scheme, row.kind)
        and places.overlap(o.place, row.place)
        for o in others
    ):
        return []
    found = []
    for sample in case.facts.samples:
        if sample.method == "gauge" or not places.contains(row.place, sample.place):
            continue
        coats = [
            layer
            for layer in layers_by_sample(case)[sample.sample]
            if layer.scheme == row.scheme and layer.role == row.kind
        ]
        if coats:
            rank, share = as_met(coats[0].role, coats[0].coverage, coats[0].coverage_pct)
            found.append(
                _DecorationReading(
                    "absent" if is_absent(coats[0]) else PRESENT[rank],
                    sample.taken_on,
                    Seen(share, _gone(case, row, sample.place, sample.taken_on)),
                )
            )
    return found


def _share(rows: list[_DecorationReading], ever: Interval) -> Interval | None:
    if not rows:
        return None
    low, middle, high = (
        _end(weight, end) for end, weight in zip(ENDS, weights_of([m.seen for m in rows], ever), strict=True)
    )
    return min(low, middle), middle, max(middle, high)


def _end(weight: Weight, end: int) -> float:
    # A decoration stands alone: the readings of other places say nothing about it.
    believed = model.posterior(model.pattern_of([weight.every]))
    return weighed(weight, lambda counts, left: left * believed.share(counts)[end], min, max)


def _state(row: Decoration, rows: list[_DecorationReading]) -> str:
    standing = [m for m in rows if not m.history]
    present = [m for m in standing if m.level != "absent"]
    if rows and not standing:
        return REMOVED
    if not present:
        return _STATE.get(row.state or "", "original not found" if standing else "not examined")
    if len(present) < len(rows) or any(m.level in ("partial", "trace") for m in present):
        return "original fragmentary"
    return _STATE.get(row.state or "", "original covered")
