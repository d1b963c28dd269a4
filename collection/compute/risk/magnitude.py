"""Magnitudes of risk by the ABC method.

S. Michalski and J. L. Pedersoli, The ABC Method: a risk management approach to the preservation of cultural heritage,
Canadian Conservation Institute and ICCROM 2016. A says how soon: 5 is every year. B says how much of the value of each
thing it reaches is lost, C how much of the collection that is: 5 is all. Each step of 1 is a factor of ten; the
magnitude of risk is their sum, at most 15. So 10^(MR - 15) of the collection's value is what is expected to be lost in
a year. The half-step scores and the bands are from memory (see the policy); the exact values follow from the scales.

Here B is the share of an object's painted surface that is original finish and would go, and C is the object's share of
the collection's value. Exact values are not cut at half a step: in a large collection C alone is below it, and the
order must not change with the number of objects.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from collection.compute.risk.threat import Threat
from collection.records.policy import Interval, RiskPolicy
from collection.values.numbers import six

MOST = 15.0
CENTURY = 100
NOTHING = 0.0


@dataclass(frozen=True, slots=True)
class Magnitude:
    """What makes a threat's magnitude: years until it has happened, the share of its object that it would take, the
    object's share of the collection; each [low, middle, high] as risks go, so the first years are the latest."""

    years: Interval
    share: Interval
    of_collection: float

    @property
    def loss(self) -> Interval:
        """The share of the collection's value that is expected to be lost in a year."""
        low, middle, high = (
            share * self.of_collection / max(1.0, years) for share, years in zip(self.share, self.years, strict=True)
        )
        return low, middle, high

    @property
    def exact(self) -> Interval:
        """The magnitude of risk, 0-15."""
        low, middle, high = (magnitude(loss) for loss in self.loss)
        return low, middle, high

    @property
    def width(self) -> float:
        return self.exact[2] - self.exact[0]

    def as_json(self, policy: RiskPolicy) -> dict[str, Any]:
        """Keys: `a` {years, score, half_step}, `b` {share, score, half_step}, `c` the same; `magnitude` [low, middle,
        high], `half_step`, `band`, `loss_per_year` [..], `loss_per_century` [..], both as shares of the collection's
        value, `advice` one of the method's four."""
        scores = {
            "a": [score_of_years(each) for each in self.years],
            "b": [score_of_share(each) for each in self.share],
            "c": [score_of_share(self.of_collection)] * 3,
        }
        exact = self.exact
        return {
            "a": {
                "years": [six(each) for each in self.years],
                "score": [six(each) for each in scores["a"]],
                "half_step": half_step_of_years(policy, self.years[1]),
            },
            "b": {
                "share": [six(each) for each in self.share],
                "score": [six(each) for each in scores["b"]],
                "half_step": half_step_of_share(policy, self.share[1]),
            },
            "c": {
                "share": [six(self.of_collection)] * 3,
                "score": [six(each) for each in scores["c"]],
                "half_step": half_step_of_share(policy, self.of_collection),
            },
            "magnitude": [six(each) for each in exact],
            "half_step": half_step(exact[1]),
            "band": band(policy, exact[1]),
            "loss_per_year": [six(each) for each in self.loss],
            "loss_per_century": [six(in_a_century(each)) for each in self.loss],
            "advice": advice(policy, self),
        }


def of(policy: RiskPolicy, threat: Threat, of_collection: float) -> Magnitude:
    """The magnitude of one threat to an object that is worth a share of the collection. Where two looks
    show a pace, the middle of the years lies halfway, by ratio, between it and the policy's, and the ends reach it:
    finish that hangs loose falls sooner than more of it comes loose, and how soon nobody has seen."""
    row = policy.soon[threat.soon]
    soonest, middle, latest = row.years
    if threat.pace_years is not None:
        soonest, latest = min(soonest, threat.pace_years), max(latest, threat.pace_years)
        middle = math.sqrt(middle * threat.pace_years)
    low, expected, high = (reached * taken for reached, taken in zip(threat.share, row.takes, strict=True))
    return Magnitude((latest, middle, soonest), (low, expected, high), of_collection)


def score_of_years(years: float) -> float:
    """A, exactly: 5 for a year or less."""
    return 5.0 - math.log10(max(1.0, years))


def score_of_share(share: float) -> float:
    """B or C, exactly: 5 for all; nothing has no score on a scale of powers of ten, and gets 0."""
    return 5.0 + math.log10(share) if share > 0 else NOTHING


def magnitude(loss: float) -> float:
    """The magnitude of a loss a year, as a share of the collection's value: 15 + log10, from 0 to 15."""
    return min(MOST, max(NOTHING, MOST + math.log10(loss))) if loss > 0 else NOTHING


def loss_of(exact: float) -> float:
    """The share of the collection's value that a magnitude stands for in a year."""
    return float(10 ** (exact - MOST))


def in_a_century(loss: float) -> float:
    """The chance of losing it within a hundred years that are all alike: 1 - (1 - loss a year)^100."""
    return 1.0 if loss >= 1 else -math.expm1(CENTURY * math.log1p(-loss))


def half_step(exact: float) -> float:
    """A magnitude, to the nearest half."""
    return round(2 * exact) / 2


def half_step_of_years(policy: RiskPolicy, years: float) -> float:
    """A by the method's table: the score whose years are nearest, by their ratio."""
    return _nearest(policy.score_of_years, max(1.0, years))


def half_step_of_share(policy: RiskPolicy, share: float) -> float:
    """B or C by the method's table; 0 for nothing."""
    return _nearest(policy.score_of_share, share) if share > 0 else NOTHING


def _nearest(table: tuple[tuple[float, float], ...], value: float) -> float:
    return min(table, key=lambda row: abs(math.log(row[1] / value)))[0]


def band(policy: RiskPolicy, exact: float) -> str:
    """The method's band of a magnitude (from memory)."""
    return next(name for name, least in policy.bands if half_step(exact) >= least)


TREAT, REVIEW, NO_ACTION, LATER = "treat soon", "review soon", "no action", "review later"


def advice(policy: RiskPolicy, found: Magnitude) -> str:
    """What the method's table 22 advises by magnitude and uncertainty."""
    wide = found.width >= policy.wide_from
    if found.exact[1] >= policy.high_from:
        return REVIEW if wide else TREAT
    return LATER if wide else NO_ACTION
