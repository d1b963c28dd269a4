"""The figures shown for one place, and for places summed: m², shares, counts, and as of when."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, NamedTuple

from collection.records.policy import Interval
from collection.values.numbers import six


def rounded(value: float | None) -> float | None:
    return None if value is None else six(value)


def rounded_interval(ends: Interval | None) -> list[float] | None:
    return None if ends is None else [six(end) for end in ends]


class PlaceSurvival(NamedTuple):
    """One place: `state` is a zone state; `area_m2` its own surface, None = not measured; `share` of that
    area that survives, None = nothing to go by; `present`, `read` and `traces` count readings."""

    place: str
    component: str | None
    state: str
    area_m2: float | None
    share: Interval | None
    present: int
    read: int
    traces: int
    as_of: str | None

    def as_json(self) -> dict[str, Any]:
        """The place as JSON; figures to 6 significant digits."""
        return {
            "place": self.place,
            "component": self.component,
            "state": self.state,
            "area_m2": rounded(self.area_m2),
            "share": rounded_interval(self.share),
            "present": self.present,
            "read": self.read,
            "traces": self.traces,
            "as_of": self.as_of,
        }


@dataclass(frozen=True, slots=True)
class Total:
    """Places summed.

    `area_m2` is of the measured places, `surviving_m2` of those of them that have anything to go by; None = there are
    none. `places_seen`, `places_read` and `traces` count the spots where somebody looked, one for each sample that says
    something. `as_of` is the newest date of any reading or treatment used. `at_least`: more may survive than is summed,
    because a place is unmeasured or there is nothing to go by.
    """

    area_m2: float | None
    surviving_m2: Interval | None
    summed_places: int
    unmeasured_places: int
    unexamined_places: int
    places_seen: int
    places_read: int
    traces: int
    as_of: str | None
    at_least: bool

    def figures(self) -> dict[str, Any]:
        """The figures as JSON, to 6 significant digits."""
        return {
            "area_m2": rounded(self.area_m2),
            "surviving_m2": rounded_interval(self.surviving_m2),
            "at_least": self.at_least,
            "unmeasured_places": self.unmeasured_places,
            "unexamined_places": self.unexamined_places,
            "present": self.places_seen,
            "read": self.places_read,
            "traces": self.traces,
            "as_of": self.as_of,
        }
