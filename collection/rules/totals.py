"""Areas in m²: what survives of the maker's finish, and how much of that a proposal would take."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import cached_property
from typing import TYPE_CHECKING

from collection.compute.case import Case
from collection.compute.loss.outcome import BELOW, Outcome
from collection.language.words import DECORATION_KIND
from collection.records.policy import Interval

if TYPE_CHECKING:
    from collection.compute.survival.survey import Survey

NOTHING: Interval = (0.0, 0.0, 0.0)
SMALL = frozenset(DECORATION_KIND.words) - {"metal leaf", "bronze paint"}
"""Roles of coats that cover only a little of their place: a line is not a panel. Leaf and bronze may be all of a
finish."""


class Totals:
    """What survives, and what the work would take, in m²; `lost` is the share of what survives at each place that would
    go, for the kept scheme that fares worst there; `named` is the same for what the work is meant to take off. Places
    that the work does not touch, or spares, are in neither. None = no place with an area has anything to go by."""

    def __init__(self, case: Case, lost: Mapping[str, Interval], named: Mapping[str, Interval]) -> None:
        self._case, self._lost, self._named = case, lost, named

    @cached_property
    def _original(self) -> Survey:
        from collection.compute.survival.survey import original  # numpy only where it is needed

        return original(self._case)

    @cached_property
    def _total(self) -> tuple[Interval | None, int]:
        from collection.compute.survival.survival import object_survival

        found = object_survival(self._case)
        return found.surviving_m2, found.unmeasured_places

    @property
    def surviving(self) -> Interval | None:
        return self._total[0]

    @property
    def unmeasured(self) -> int:
        """How many places have no area, so that the figures leave them out."""
        return self._total[1]

    @property
    def loss(self) -> Interval | None:
        return self._of(self._lost)

    @property
    def intended(self) -> Interval | None:
        return self._of(self._named)

    @property
    def share(self) -> Interval | None:
        """The loss as a share of what survives; None where nothing that survives has a figure."""
        return None if self.surviving is None or self.loss is None else self._original.share_of(self._lost)

    def _of(self, lost: Mapping[str, Interval]) -> Interval | None:
        if not lost:
            return NOTHING
        survey = self._original
        gone, most = survey.surviving([p for p in survey.places if p.place in lost], lost), self.surviving
        if gone is None or most is None:
            return None
        # The ends for a few places are wider than for all together; no more can go than survives.
        return min(gone[0], most[0]), min(gone[1], most[1]), min(gone[2], most[2])

    @cached_property
    def areas(self) -> Mapping[tuple[str, str | None], Interval | None]:
        """The surviving m² of each place's finish, by (place, None), and of each decoration, by (its place, its code);
        None = not known. A decoration has the area stated for it, or none; its place's area is not its own."""
        from collection.compute.survival.survival import decoration_survival

        found: dict[tuple[str, str | None], Interval | None] = {}
        for p in self._original.places:
            found[p.place, None] = (
                None
                if p.share is None or p.area_m2 is None
                else (p.area_m2 * p.share[0], p.area_m2 * p.share[1], p.area_m2 * p.share[2])
            )
        for d in decoration_survival(self._case):
            found[d.place, d.decoration] = d.surviving_m2
        return found


def is_small(role: str | None) -> bool:
    """Whether a coat covers so little of its place that the place's area says nothing about it."""
    return role in SMALL


def lost_by_place(case: Case, found: Iterable[Outcome], intended: frozenset[str] | None = None) -> dict[str, Interval]:
    """The share of what survives that goes, at each place that the work touches: for the original scheme that fares
    worst there or, where nobody looked, for whatever is there. With `intended`, only for the schemes and coats that it
    names.

    Decorations, and coats that cover only a little of their place, count only where nothing else does.
    """
    original = {s.scheme for s in case.facts.schemes if s.period == "original"}
    by_place: dict[str, list[tuple[bool, Interval]]] = {}
    for outcome in found:
        coat = outcome.coat
        if coat is None:
            if intended is None and outcome.thing != BELOW:
                by_place.setdefault(outcome.place, []).append((True, outcome.lost))
        elif (
            coat.scheme in original
            and coat.decoration is None
            and (intended is None or outcome.thing in intended or coat.scheme in intended)
        ):
            by_place.setdefault(outcome.place, []).append((is_small(coat.role), outcome.lost))
    return {
        place: _worst([lost for small, lost in rows if not small] or [lost for _, lost in rows])
        for place, rows in by_place.items()
    }


def _worst(rows: list[Interval]) -> Interval:
    return max(r[0] for r in rows), max(r[1] for r in rows), max(r[2] for r in rows)
