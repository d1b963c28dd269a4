"""The collection's threats, ranked by what they would cost it, and the work of a small team in the order that saves
most by the hour.

**Ranked by the middle** of the magnitude, then by its high end: where nothing is known the middle is half of
everything, so that an object nobody has examined stands among those that may lose half.

**What each object is worth.** Value points by item, equal shares where nobody gave any; an item without points beside
items with some counts as the average of those. A set (`part_of`) is one item: its points are those of the object that
the others belong to, and its members share them, by their own points where they have some. Objects that have left count
for nothing.

**The plan** is greedy: the act with the largest drop by the hour first, and what is left of its object counted again
after it. The drop is the share of the collection's value that is expected to be lost in a year, before less after.
"""

from __future__ import annotations

import heapq
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from collection.compute.risk import magnitude
from collection.compute.risk.acts import Act, TreatmentHours, act_for, after, loss_of
from collection.compute.risk.magnitude import Magnitude
from collection.compute.risk.threat import Threat
from collection.records.codes import natural
from collection.records.policy import Interval, RiskPolicy
from collection.values.numbers import six

RANKED_BY = (
    "the middle of the magnitude, then its high end; where nothing is known of a place, its share is 0 to 1 and its "
    "middle half"
)
FROM_MEMORY = (
    "The method's half-step scores and bands are from memory, not checked against its manual; years, shares and hours "
    "of the policy are judgement."
)


@dataclass(frozen=True, slots=True)
class Item:
    """What says how much an object is worth: the object it belongs to, its points (None = nobody gave any), and whether
    it has left the collection."""

    object: str
    part_of: str | None = None
    points: float | None = None
    left: bool = False


def values(items: Iterable[Item]) -> dict[str, float]:
    """The share of the collection's value that each object is, by its number; they add up to 1 where any has some."""
    held = {item.object: item for item in items if not item.left}
    sets: dict[str, list[Item]] = defaultdict(list)
    for item in held.values():
        sets[_root(item, held)].append(item)
    given = {root: _points(held[root], members) for root, members in sets.items()}
    known = [points for points in given.values() if points is not None]
    usual = sum(known) / len(known) if known else 1.0
    whole = sum(usual if points is None else points for points in given.values())
    found: dict[str, float] = {}
    for root, members in sets.items():
        points = given[root]
        share = (usual if points is None else points) / whole if whole else 0.0
        weights = _weights(root, members)
        for member, weight in zip(members, weights, strict=True):
            found[member.object] = share * weight
    return found


def _root(item: Item, held: Mapping[str, Item]) -> str:
    """The object a set is named after; of a ring, the first number of it."""
    seen = [item.object]
    while (above := held[seen[-1]].part_of) in held and above is not None:
        if above in seen:
            return min(seen[seen.index(above) :])
        seen.append(above)
    return seen[-1]


def _points(root: Item, members: Sequence[Item]) -> float | None:
    if root.points is not None:
        return root.points
    own = [member.points for member in members if member.points is not None]
    return sum(own) if own else None


def _weights(root: str, members: Sequence[Item]) -> list[float]:
    """How the members of a set share its value; points of the object that it is named after are those of the set."""
    own = [None if member.object == root else member.points for member in members]
    known = [points for points in own if points is not None]
    usual = sum(known) / len(known) if known else 1.0
    weights = [usual if points is None else points for points in own]
    whole = sum(weights)
    return [weight / whole if whole else 1 / len(weights) for weight in weights]


@dataclass(frozen=True, slots=True)
class AtRisk:
    """An object with its threats; `value` is its share of the collection's."""

    object: str
    title: str
    value: float
    threats: tuple[Threat, ...]


@dataclass(frozen=True, slots=True)
class Lowered:
    """The cheapest act against a threat: the magnitude of what it leaves of it (None = nothing), and by how much a year
    the object's expected loss drops, as a share of the collection's value."""

    act: Act
    left: Magnitude | None
    drop: float

    def as_json(self) -> dict[str, Any]:
        return {
            "act": self.act.name,
            "what": self.act.what,
            "hours": [six(each) for each in self.act.hours],
            "hours_are": self.act.hours_are,
            "magnitude_after": None if self.left is None else [six(each) for each in self.left.exact],
            "drop_per_year": six(self.drop),
        }


@dataclass(frozen=True, slots=True)
class Ranked:
    """One threat in its place on the list."""

    rank: int
    object: str
    title: str
    threat: Threat
    magnitude: Magnitude
    lowered: Lowered | None

    def as_json(self, policy: RiskPolicy) -> dict[str, Any]:
        """Keys: rank, object, title, kind, place, message, remedy, evidence [{kind, key}], event, soon, those of
        `Magnitude.as_json`, and `cheapest_act` {act, what, hours [..], hours_are, magnitude_after [..] or null,
        drop_per_year} or null."""
        return {
            "rank": self.rank,
            "object": self.object,
            "title": self.title,
            **self.threat.as_json(),
            "event": self.threat.event,
            "soon": self.threat.soon,
            **self.magnitude.as_json(policy),
            "cheapest_act": None if self.lowered is None else self.lowered.as_json(),
        }


def order(objects: Iterable[AtRisk], policy: RiskPolicy, most: int | None = None) -> list[tuple[AtRisk, Threat]]:
    """Every threat with its object, the gravest first, or the first of them."""
    found = []
    for each in objects:
        for at, threat in enumerate(each.threats):
            _, middle, high = magnitude.of(policy, threat, each.value).loss
            found.append((-middle, -high, each, at))

    def key(row: tuple[float, float, AtRisk, int]) -> tuple[float, float, Any, int]:
        return row[0], row[1], natural(row[2].object), row[3]

    rows = sorted(found, key=key) if most is None else heapq.nsmallest(most, found, key=key)
    return [(each, each.threats[at]) for _, _, each, at in rows]


def rank(
    objects: Iterable[AtRisk],
    policy: RiskPolicy,
    treatment_hours: TreatmentHours | None = None,
    most: int | None = None,
) -> list[Ranked]:
    """The list: every threat in order, with its magnitude and the cheapest act that lowers it."""
    return [
        Ranked(
            number,
            each.object,
            each.title,
            threat,
            magnitude.of(policy, threat, each.value),
            lowered(each, threat, policy, treatment_hours),
        )
        for number, (each, threat) in enumerate(order(objects, policy, most), 1)
    ]


def lowered(
    each: AtRisk, threat: Threat, policy: RiskPolicy, treatment_hours: TreatmentHours | None = None
) -> Lowered | None:
    """What the cheapest act against a threat leaves of it, counted again; None where no act lowers it."""
    act = act_for(threat, policy, treatment_hours)
    if act is None:
        return None
    left = after(act, [threat], policy)
    drop = each.value * (loss_of(each.threats, policy)[1] - loss_of(after(act, each.threats, policy), policy)[1])
    return Lowered(act, magnitude.of(policy, left[0], each.value) if left else None, max(0.0, drop))


@dataclass(frozen=True, slots=True)
class Step:
    """One act of the plan: when it begins and ends in hours of work from the start, by the middle of its hours; the drop
    a year and what is left of the object's expected loss after it, as shares of the collection's value."""

    number: int
    object: str
    title: str
    act: Act
    begins: float
    ends: float
    drop: float
    left: float

    def weeks(self, hours_per_week: float) -> tuple[int, int]:
        """The first and the last week that it falls in, from 1."""
        return int(self.begins / hours_per_week) + 1, max(
            int(self.begins / hours_per_week), _before(self.ends, hours_per_week)
        ) + 1

    def as_json(self, hours_per_week: float) -> dict[str, Any]:
        """Keys: number, object, title, act, what, hours [..], hours_are, weeks [first, last], drop_per_year,
        drop_per_hour, left_per_year; the last three as shares of the collection's value."""
        return {
            "number": self.number,
            "object": self.object,
            "title": self.title,
            "act": self.act.name,
            "what": self.act.what,
            "hours": [six(each) for each in self.act.hours],
            "hours_are": self.act.hours_are,
            "weeks": list(self.weeks(hours_per_week)),
            "drop_per_year": six(self.drop),
            "drop_per_hour": six(self.drop / self.act.hours[1]),
            "left_per_year": six(self.left),
        }


def _before(hours: float, hours_per_week: float) -> int:
    """The week, from 0, in which some hours end: a full week ends in itself."""
    week = hours / hours_per_week
    return int(week) - 1 if week == int(week) and week > 0 else int(week)


def plan(
    objects: Iterable[AtRisk], policy: RiskPolicy, hours: float, treatment_hours: TreatmentHours | None = None
) -> list[Step]:
    """What to do with some hours of work, by drop per hour, counted again after each act. The last act may end after
    them: work that is begun is finished."""
    queue = [(-_bound(each, policy), natural(each.object), at, False, each) for at, each in enumerate(objects)]
    heapq.heapify(queue)
    steps: list[Step] = []
    worked = 0.0
    while queue and worked < hours:
        _, name, at, looked, each = heapq.heappop(queue)
        best = _best(each, policy, treatment_hours)
        if best is None:
            continue
        act, drop = best
        if not looked:
            heapq.heappush(queue, (-drop / act.hours[1], name, at, True, each))
            continue
        left = replace(each, threats=after(act, each.threats, policy))
        steps.append(
            Step(
                len(steps) + 1,
                each.object,
                each.title,
                act,
                worked,
                worked + act.hours[1],
                drop,
                each.value * loss_of(left.threats, policy)[1],
            )
        )
        worked += act.hours[1]
        heapq.heappush(queue, (-_bound(left, policy), name, at, False, left))
    return steps


def _bound(each: AtRisk, policy: RiskPolicy) -> float:
    """More than any act on an object can save by the hour: all that it is expected to lose, in the shortest of its acts."""
    hours = [
        policy.acts["set up"][1] if threat.action else policy.acts[threat.act][1] * threat.amount
        for threat in each.threats
        if threat.act
    ]
    return each.value * loss_of(each.threats, policy)[1] / min(hours) if hours else 0.0


def _best(each: AtRisk, policy: RiskPolicy, treatment_hours: TreatmentHours | None) -> tuple[Act, float] | None:
    """The act on an object that saves most by the hour, and what it saves."""
    now = loss_of(each.threats, policy)[1]
    found = [
        (each.value * (now - loss_of(after(act, each.threats, policy), policy)[1]), act)
        for act in _acts(each.threats, policy, treatment_hours)
    ]
    better = [(drop, act) for drop, act in found if drop > 0]
    if not better:
        return None
    drop, act = max(better, key=lambda row: (row[0] / row[1].hours[1], row[1].name, row[1].event))
    return act, drop


def _acts(threats: Iterable[Threat], policy: RiskPolicy, treatment_hours: TreatmentHours | None) -> Iterator[Act]:
    seen = set()
    for threat in threats:
        act = act_for(threat, policy, treatment_hours)
        if act is not None and (act.name, act.event) not in seen:
            seen.add((act.name, act.event))
            yield act


def together(objects: Iterable[AtRisk], policy: RiskPolicy) -> Interval:
    """The share of the collection's value that all threats are expected to cost in a year."""
    low = middle = high = 0.0
    for each in objects:
        loss = loss_of(each.threats, policy)
        low, middle, high = low + each.value * loss[0], middle + each.value * loss[1], high + each.value * loss[2]
    return low, middle, high


def as_json(
    ranked: Sequence[Ranked],
    steps: Sequence[Step],
    policy: RiskPolicy,
    *,
    on: str,
    objects: int,
    threats: int,
    cost: Interval,
    hours_per_week: float,
    asked: bool,
) -> dict[str, Any]:
    """What `risks --json` answers; keys may come, none goes.

    format, on, ranked_by, from_memory, objects and threats (how many in all), loss_per_year [low, middle, high] of the
    whole collection as a share of its value, hours_per_week and hours_per_week_is; `risks`: see `Ranked.as_json`, the
    gravest first; `plan`: see `Step.as_json`, in order.
    """
    return {
        "format": 1,
        "on": on,
        "ranked_by": RANKED_BY,
        "from_memory": FROM_MEMORY,
        "objects": objects,
        "threats": threats,
        "loss_per_year": [six(each) for each in cost],
        "hours_per_week": hours_per_week,
        "hours_per_week_is": "as asked" if asked else "judgement of the policy",
        "risks": [each.as_json(policy) for each in ranked],
        "plan": [each.as_json(hours_per_week) for each in steps],
    }
