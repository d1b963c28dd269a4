"""What survives of each decoration: lining, lettering, ornament, leaf, transfer.

Decorations have small areas of their own and are never added to what survives of the finish. What was
recorded of the decoration as a whole comes first; samples that met it add to it. A sample without it may
have missed it, so only a recorded absence speaks against it. Common practice, no published source.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from collection import dates
from collection.compute import posterior as model
from collection.compute.places import places_of
from collection.compute.readings import coverage_level, layers_by_sample, overtaken, removal_steps
from collection.compute.survival_evidence import REMOVED, newest, rounded, rounded_interval
from collection.facts import Facts, current
from collection.policy import Interval
from collection.records import Decoration

_STATE = {"exposed": "original exposed", "covered": "original covered", "fragment": "original fragmentary",
          "lost": "original not found", "not found": "original not found"}
_AS_READINGS = {"exposed": (1, 0), "covered": (1, 0), "fragment": (1, 1), "lost": (0, 1), "not found": (0, 1)}
"""What a recorded state counts for: a fragment is one presence and one absence."""


@dataclass(frozen=True, slots=True)
class DecorationSurvival:
    """One decoration: `state` in the words for zones, `area_m2` as stated, `share` of it that survives as
    [low, middle, high], None = nothing to go by; counts are of readings, the recorded state being one."""

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
        return {"decoration": self.decoration, "place": self.place, "kind": self.kind, "scheme": self.scheme,
                "state": self.state, "area_m2": rounded(self.area_m2), "share": rounded_interval(self.share),
                "surviving_m2": rounded_interval(self.surviving_m2), "present": self.present, "read": self.read,
                "traces": self.traces, "as_of": self.as_of}


def decoration_survival(facts: Facts) -> tuple[DecorationSurvival, ...]:
    """What survives of each decoration, in the order of their codes."""
    found = current(facts.decorations, "decoration")
    return tuple(_one(facts, found[code], list(found.values())) for code in sorted(found))


def _one(facts: Facts, row: Decoration, others: list[Decoration]) -> DecorationSurvival:
    removed = row.scheme is not None and overtaken(facts, row.scheme, row.kind, row.place,
                                                   row.observed_on) == "removed"
    met = _met(facts, row, others)
    levels = [level for level, when in met if not (
        row.state in ("lost", "not found") and level != "absent" and dates.surely_before(when, row.observed_on))]
    stated = None if removed else _AS_READINGS.get(row.state or "")
    present = sum(level != "absent" for level in levels)
    traces = sum(level == "trace" for level in levels)
    counts = (present - traces, len(levels) - present + traces)
    if stated:
        counts = (counts[0] + stated[0], counts[1] + stated[1])
    share = _share(row, removed, present, counts)
    area = row.area_m2
    as_of = newest([*(when for _, when in met), row.observed_on, *_treated(facts, row)])
    return DecorationSurvival(
        row.decoration, row.place, row.kind, row.scheme, _state(row, removed, levels), area, share,
        None if area is None or share is None else (area * share[0], area * share[1], area * share[2]),
        present + int(bool(stated and stated[0])), len(levels) + int(bool(stated)), traces, as_of)


def _met(facts: Facts, row: Decoration, others: list[Decoration]) -> list[tuple[str, str | None]]:
    """The levels at which samples met it, each with its date, leaving out what was removed since.

    Where another decoration of the kind and scheme shares its surface, no sample tells which was met.
    """
    places = places_of(facts)
    if row.scheme is None or any(o.decoration != row.decoration and (o.scheme, o.kind) == (row.scheme, row.kind)
                                 and places.overlap(o.place, row.place) for o in others):
        return []
    levels: list[tuple[str, str | None]] = []
    for sample in facts.samples:
        if sample.method == "gauge" or not places.contains(row.place, sample.place):
            continue
        coats = [layer for layer in layers_by_sample(facts)[sample.sample]
                 if layer.scheme == row.scheme and layer.role == row.kind]
        fate = overtaken(facts, row.scheme, row.kind, sample.place, sample.taken_on)
        if coats and fate != "removed":
            best = "absent" if coats[0].coverage_pct == 0 else coverage_level(coats[0])
            levels.append(("partial" if fate == "partly" and best in ("intact", "present") else best,
                           sample.taken_on))
    return levels


def _share(row: Decoration, removed: bool, present: int, counts: tuple[int, int]) -> Interval | None:
    if (removed or row.state in ("lost", "not found")) and not present:
        return (0.0, 0.0, 0.0)
    return model.posterior((counts,)).share(0) if counts != (0, 0) else None


def _state(row: Decoration, removed: bool, levels: list[str]) -> str:
    present = [level for level in levels if level != "absent"]
    if not present:
        if removed:
            return REMOVED
        return _STATE.get(row.state or "", "original not found" if levels else "not examined")
    if removed or len(present) < len(levels) or any(level in ("partial", "trace") for level in present):
        return "original fragmentary"
    if row.state in ("lost", "not found"):
        return "original fragmentary"
    return _STATE.get(row.state or "", "original covered")


def _treated(facts: Facts, row: Decoration) -> list[str | None]:
    places = places_of(facts)
    return [treatment.ended or treatment.started for treatment, step in removal_steps(facts)
            if row.scheme is not None and step.removed in (row.scheme, f"{row.scheme}/{row.kind}")
            and places.overlap(step.place, row.place)]
