"""Where further samples would tell the most about the original finish that survives.

Each further reading is a yes or no whose chance is the surviving share of its place. How much it would say about the
surviving area follows from the joint draws of all shares by Bayes linear adjustment, in which the variance of the area
after readings y is Var(T) - Cov(T, y) Var(y)^-1 Cov(y, T) (M. Goldstein and D. Wooff, Bayes Linear Statistics, 2007,
chapter 3). Readings are picked one by one, each the best after those before it, because two readings of one place
partly say the same. Hidden and inconspicuous places go before visible ones, a part that nobody has examined before the
unmeasured surface around the zones of another, and settling an open claim counts too. The weights are our own; common
practice, no published source.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from collection.compute.build_up.areas import place_areas
from collection.compute.build_up.places import ALL, places_of
from collection.compute.case import Case
from collection.compute.survival.figures import rounded
from collection.compute.survival.model import posterior as model
from collection.compute.survival.model.lattice import DRAWS, shuffled
from collection.compute.survival.survival import object_survival, place_draws
from collection.language.sentences import figure
from collection.records.facts import open_claims

if TYPE_CHECKING:
    from collection.compute.survival.model.posterior import Array

SEEN_BY_VISITORS = {"hidden": 1.0, "inconspicuous": 0.9, None: 0.7, "visible": 0.5}
"""The weight of a reading at a place, by whether visitors see it: a sample takes something away."""
CLAIM = 0.1
"""The weight of settling one open claim, as a share of all the uncertainty."""
NEVER_LOOKED = "not examined"


@dataclass(frozen=True)
class NextSample:
    """One further sample: where, why, how much of the uncertainty it removes (0-1 of the variance left before it), and
    roughly how wide the surviving area's 95 % interval would then be, in m²."""

    place: str
    name: str
    visibility: str | None
    area_m2: float | None
    reasons: tuple[str, ...]
    takes: float
    claims: tuple[str, ...]
    width_after_m2: float | None


@dataclass(frozen=True)
class NextSamples:
    """Where to look next, best first; `width_m2` is how wide the surviving area's 95 % interval is now, over every
    place that has an area, examined or not; None where no place has one."""

    object: str
    width_m2: float | None
    samples: tuple[NextSample, ...]
    unmeasured: tuple[str, ...]

    def as_json(self) -> dict[str, Any]:
        return {
            "format": 1,
            "object": self.object,
            "width_m2": rounded(self.width_m2),
            "unmeasured": list(self.unmeasured),
            "samples": [
                {
                    "place": s.place,
                    "name": s.name,
                    "visibility": s.visibility,
                    "area_m2": s.area_m2,
                    "takes": rounded(s.takes),
                    "width_after_m2": rounded(s.width_after_m2),
                    "claims": list(s.claims),
                    "reasons": list(s.reasons),
                }
                for s in self.samples
            ],
        }


def where_next(case: Case, count: int = 3) -> NextSamples:
    """The places for `count` further samples; fewer where nothing is left to learn."""
    import numpy as np

    areas, drawn = place_areas(case), _shares(case)
    open_to_it = [place for place in areas if place in drawn]
    candidates = [place for place in open_to_it if not _left_untouched(case, place)]
    known = [areas[p] for p in open_to_it if areas[p]]
    if not candidates:
        return NextSamples(case.facts.object.object, None, (), ())
    # A place without an area counts like one of middling size, so that it is neither first nor forgotten.
    middling = float(np.median(np.array(known))) if known else 1.0
    weights = {p: areas[p] or middling for p in open_to_it}
    # The middle draws are used: a reading cannot settle how much a word such as `partial` means.
    middle = {p: drawn[p][1] for p in open_to_it}
    total = sum((weights[p] * middle[p] for p in open_to_it), np.zeros(DRAWS))
    measured = sum(((areas[p] or 0.0) * drawn[p] for p in open_to_it), np.zeros((3, DRAWS)))
    width = _width(measured) if known else None
    picked: list[NextSample] = []
    uncertainty = _Uncertainty(case, total, middle)
    for _ in range(count):
        worth = {p: value for p in candidates if (value := uncertainty.worth(p)) > 1e-6}
        if not worth:
            break
        best = max(worth, key=lambda p: (worth[p], p))
        if areas[best] is None and places_of(case).held.get(best):
            best = max(_never_looked_at(case, worth, uncertainty.asked) or [best], key=lambda p: (worth[p], p))
        again, left = Counter(uncertainty.asked)[best], uncertainty.left
        claims = uncertainty.claims(best)
        after = uncertainty.sampled(best)
        takes = 0.0 if left <= 0 else max(0.0, (left - after) / left)
        remains = (
            None if width is None or uncertainty.whole <= 0 else width * math.sqrt(max(0.0, after) / uncertainty.whole)
        )
        reasons = _reasons(case, best, again, takes, claims)
        picked.append(
            NextSample(best, _name(case, best), _visibility(case, best), areas[best], reasons, takes, claims, remains)
        )
    unmeasured = tuple(p for p in open_to_it if areas[p] is None)
    return NextSamples(case.facts.object.object, width, tuple(picked), unmeasured)


def _never_looked_at(case: Case, candidates: Iterable[str], asked: list[str]) -> list[str]:
    """The candidates on parts that nobody has examined and that have none of the new samples: they come before the
    unmeasured surface around another part's zones."""
    places = places_of(case)
    looked_at = {places.component_of(p.place) for p in object_survival(case).places if p.state != NEVER_LOOKED}
    looked_at |= {places.component_of(p) for p in asked}
    return [p for p in candidates if places.component_of(p) not in looked_at]


def _shares(case: Case) -> dict[str, Array]:
    """Joint draws of every place's share, each of shape (3, 512) from low end to high; for a part where nobody has
    looked at all, draws of what could be there."""
    import numpy as np

    drawn = place_draws(case)
    places = places_of(case)
    for place in place_areas(case):
        if place not in drawn and (place != ALL or not places.components):
            part = places.component_of(place) or ALL
            order = shuffled(f"{case.facts.object.object}/{part}")
            drawn[place] = np.tile(model.posterior(()).draws()[order], (3, 1))
    return drawn


def _variance(total: Array, readings: list[Array]) -> float:
    """The variance of the total that is left after readings with these chances."""
    import numpy as np

    if not readings:
        return float(total.var())
    chances = np.array(readings)
    centred, away = chances - chances.mean(axis=1, keepdims=True), total - total.mean()
    between = centred @ centred.T / total.size
    means = chances.mean(axis=1)
    spread = between.copy()
    # A yes or no has variance p(1-p); two readings of one place are correlated only through the uncertainty of its
    # share.
    np.fill_diagonal(spread, np.maximum(means * (1 - means), 1e-9))
    with_total = centred @ away / total.size
    return float(total.var() - with_total @ np.linalg.solve(spread + np.eye(len(readings)) * 1e-12, with_total))


class _Uncertainty:
    """What is uncertain about the surviving area, and about claims, after the samples in `asked`: the variance of the
    area at first (`whole`) and what is `left` of it; `middle` holds the middle draws of each place's share."""

    def __init__(self, case: Case, total: Array, middle: dict[str, Array]) -> None:
        self._case, self._total, self._middle = case, total, middle
        self.whole = self.left = float(total.var())
        self.asked: list[str] = []
        self._settled: set[str] = set()

    def worth(self, place: str) -> float:
        """How much one more sample at a place is worth."""
        gain = max(0.0, self.left - self._after(place)) / self.whole if self.whole > 0 else 0.0
        return (gain + CLAIM * len(self.claims(place))) * SEEN_BY_VISITORS[_visibility(self._case, place)]

    def claims(self, place: str) -> tuple[str, ...]:
        """The claims that a sample there would settle and that no earlier one settles."""
        return tuple(sorted(set(_claims(self._case, place)) - self._settled))

    def sampled(self, place: str) -> float:
        """Add a sample at a place. Returns the variance that is then left."""
        self._settled.update(self.claims(place))
        self.left = self._after(place)
        self.asked.append(place)
        return self.left

    def _after(self, place: str) -> float:
        return _variance(self._total, [self._middle[p] for p in [*self.asked, place]])


def _claims(case: Case, place: str) -> list[str]:
    """Open claims about a place, or about a decoration in it, which a sample there would settle."""
    at = {d.decoration: d.place for d in case.facts.decorations}
    return [
        c.claim
        for c in open_claims(case.facts)
        if c.status == "untested" and (c.place or at.get(c.decoration or "")) == place
    ]


def _left_untouched(case: Case, place: str) -> bool:
    """Whether all of a place is a reserve: the reserve's place contains it, and nobody drew or measured the reserve as
    only a part."""
    return any(
        r.kind == "reserve" and r.outline is None and r.area_m2 is None and places_of(case).contains(r.place, place)
        for r in case.facts.reserves
    )


def _visibility(case: Case, place: str) -> str | None:
    zone = places_of(case).zones.get(place)
    return zone.visibility if zone else None


def _name(case: Case, place: str) -> str:
    places = places_of(case)
    record = places.zones.get(place) or places.components.get(place)
    if record is None:
        return "the whole object"
    beside = (
        " beside its zones"
        if place in places.components and any(z.component == place for z in case.facts.zones)
        else ""
    )
    return f"{record.name or place}{beside}"


def _reasons(case: Case, place: str, again: int, takes: float, claims: tuple[str, ...]) -> tuple[str, ...]:
    at = next((p for p in object_survival(case).places if p.place == place), None)
    found = []
    if again:
        found.append("one more spot in the same place")
    elif at is None or not at.read:
        looked = any(s.place == place and s.method != "gauge" for s in case.facts.samples)
        found.append("looked at; the sample stops short" if looked else "nobody has looked here")
    elif 0 < at.present < at.read:
        found.append(f"seen at {at.present} of {at.read} spots read here")
    else:
        found.append(f"only {at.read} spot{'s' if at.read > 1 else ''} read here")
    if at is not None and at.area_m2:
        found.append(f"{figure(at.area_m2)} m²")
    else:
        found.append("its area is not measured, so it counts like a place of middling size")
    if takes >= 0.005:
        found.append(f"would take about {takes:.0%} off the uncertainty")
    found += [f"would settle claim {claim}" for claim in claims]
    visibility = _visibility(case, place)
    found.append(
        {
            "hidden": "hidden",
            "inconspicuous": "inconspicuous",
            "visible": "visitors see it: look for an edge",
            None: "nobody has said whether visitors see it",
        }[visibility]
    )
    kept = [r.reserve for r in case.facts.reserves if places_of(case).overlap(place, r.place)]
    if kept:
        found.append(f"keep out of reserve {', '.join(sorted(kept))}")
    return tuple(found)


def _width(total: Array) -> float:
    return model.interval_of(total[2])[1] - model.interval_of(total[0])[0]
