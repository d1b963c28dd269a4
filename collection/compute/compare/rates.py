"""How fast something changes, from dated readings of one and the same thing: per year, as a straight line.

Three or more readings: least squares, with the 95 % interval of the slope by Student's t with n − 2 degrees of freedom
(N. R. Draper and H. Smith, Applied Regression Analysis, 3rd ed. 1998, chapter 1): it holds where readings scatter
evenly about a line, independently of each other. Two readings give their difference per year and no interval, because
they carry no uncertainty of their own; nor do readings that lie exactly on a line. A severity is a rank and has no rate.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from itertools import pairwise
from typing import Any

from collection.compute.build_up.readings import samples_of
from collection.compute.case import Case
from collection.compute.compare.conditions import CLOSED
from collection.compute.compare.sides import Sides
from collection.records.policy import Interval
from collection.values import dates
from collection.values.numbers import six

YEAR = 365.2425
"""Days, of the Gregorian calendar."""
EXTENT, COVERAGE, AREA = "extent_pct", "coverage_pct", "area_m2"

Reading = tuple[str, float, tuple[str, str]]
"""Date in EDTF, value, and the record that says so."""


@dataclass(frozen=True, slots=True)
class Rate:
    """How much a figure changed per year; `what` names the thing, `column` the figure and its unit."""

    what: str
    place: str
    column: str
    readings: tuple[Reading, ...]
    per_year: float
    interval: Interval | None

    def as_json(self) -> dict[str, Any]:
        return {
            "what": self.what,
            "place": self.place,
            "column": self.column,
            "per_year": six(self.per_year),
            "interval": None if self.interval is None else [six(end) for end in self.interval],
            "readings": [
                {"on": on, "value": six(value), "evidence": {"kind": kind, "key": key}}
                for on, value, (kind, key) in self.readings
            ],
        }


def rates(sides: Sides) -> tuple[Rate, ...]:
    """Every rate that a reading of the later side takes part in; readings of any survey up to then count."""
    new = {(row.sheet, row.key_text()) for row in (*sides.later.brought.conditions, *sides.later.brought.decorations)}
    new |= {("samples", row.key_text()) for row in sides.later.brought.samples}
    found = []
    for (what, place, column), readings in sorted(_series(sides.after).items()):
        made = _rate(what, place, column, readings)
        if made is not None and any(_of_sample(source) in new for *_, source in made.readings):
            found.append(made)
    return tuple(found)


def _series(case: Case) -> dict[tuple[str, str, str], list[Reading]]:
    """The dated readings of each thing that can be read again."""
    found: dict[tuple[str, str, str], list[Reading]] = defaultdict(list)
    for row in case.facts.conditions:
        extent = 0.0 if row.severity == 0 else row.extent_pct
        if extent is not None and row.phenomenon != CLOSED:
            what = f"{row.phenomenon} of scheme {row.scheme}" if row.scheme else row.phenomenon
            found[what, row.place, EXTENT].append((row.observed_on, extent, ("conditions", row.key_text())))
    samples = samples_of(case)
    for layer in case.facts.layers:
        sample = samples.get(layer.sample)
        # A spot is never read twice; a whole surface is.
        if sample and sample.extent == "whole place" and sample.taken_on and layer.coverage_pct is not None:
            what = f"cover by the {layer.role}" + (f" of scheme {layer.scheme}" if layer.scheme else "")
            found[what, sample.place, COVERAGE].append(
                (sample.taken_on, layer.coverage_pct, ("layers", layer.key_text()))
            )
    for state in case.facts.decorations:
        if state.observed_on and state.area_m2 is not None:
            what = f"{state.kind} {state.decoration}"
            found[what, state.place, AREA].append((state.observed_on, state.area_m2, ("decorations", state.key_text())))
    return found


def _of_sample(source: tuple[str, str]) -> tuple[str, str]:
    kind, key = source
    return ("samples", key.rpartition("/")[0]) if kind == "layers" else source


def _rate(what: str, place: str, column: str, readings: Sequence[Reading]) -> Rate | None:
    """The rate of readings whose order in time is sure; None with fewer than two of them, or where all are equal."""
    ordered = sorted(readings, key=lambda reading: dates.bounds(reading[0])[::-1])
    if len({value for _, value, _ in ordered}) < 2 or any(
        not dates.surely_before(one[0], other[0]) for one, other in pairwise(ordered)
    ):
        return None
    years = [_year(on) for on, *_ in ordered]
    slope, interval = line(years, [value for _, value, _ in ordered])
    return Rate(what, place, column, tuple(ordered), slope, interval)


def _year(on: str) -> float:
    """The middle of a date, in years."""
    first, last = (date.fromisoformat(day).toordinal() for day in dates.bounds(on))
    return (first + last) / 2 / YEAR


def line(years: Sequence[float], values: Sequence[float]) -> tuple[float, Interval | None]:
    """The slope of the line through at least two readings at different times, and its 95 % interval, None where nothing
    says how far it may be off."""
    n, t0, v0 = len(years), math.fsum(years) / len(years), math.fsum(values) / len(values)
    spread = math.fsum((t - t0) ** 2 for t in years)
    slope = math.fsum((t - t0) * (v - v0) for t, v in zip(years, values, strict=True)) / spread
    left = math.fsum((v - v0 - slope * (t - t0)) ** 2 for t, v in zip(years, values, strict=True))
    scale = max(math.fsum((v - v0) ** 2 for v in values), 1e-300)
    if n < 3 or left <= 1e-20 * scale:
        return slope, None
    reach = student(n - 2) * math.sqrt(left / (n - 2) / spread)
    return slope, (slope - reach, slope, slope + reach)


@lru_cache(maxsize=64)
def student(degrees: int) -> float:
    """The 97.5 % point of Student's t: halving, on the closed form of its distribution for whole degrees of freedom
    (M. Abramowitz and I. A. Stegun, Handbook of Mathematical Functions, 1964, 26.7.3 and 26.7.4)."""
    low, high = 1.9, 13.0
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if _within(middle, degrees) < 0.95 else (low, middle)
    return (low + high) / 2


def _within(t: float, degrees: int) -> float:
    """The chance that Student's t lies between −t and t."""
    angle = math.atan(t / math.sqrt(degrees))
    cos2 = math.cos(angle) ** 2
    term, total = (1.0, 0.0) if degrees % 2 == 0 else (math.cos(angle), 0.0)
    start = degrees % 2
    for k in range(1 + start, degrees, 2):
        total += term
        term *= cos2 * k / (k + 1)
    if degrees % 2 == 0:
        return math.sin(angle) * total
    return 2 / math.pi * (angle + math.sin(angle) * total)
