"""What is new or worse among the threats of a collection between two looks at its records.

Both looks count an object as the share of the collection that it is today: an object that comes or goes, or is valued
otherwise, makes no other one worse. A threat is the same one when its object, kind and event are; of several such, those
of the same place and records are put together first. Only a change that is more than counting is told: by how many
steps a magnitude has to move is a value of the policy, and judgement.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from collection.compute.risk import magnitude
from collection.compute.risk.magnitude import Magnitude
from collection.compute.risk.ranking import AtRisk
from collection.compute.risk.threat import Threat
from collection.records.codes import natural
from collection.records.policy import RiskPolicy
from collection.values.numbers import six

NEW, WORSE, BETTER, GONE = TOLD = ("new", "worse", "better", "gone")


@dataclass(frozen=True, slots=True)
class Moved:
    """One threat that is not as it was: None stands for a look at which it was none."""

    object: str
    title: str
    then: tuple[Threat, Magnitude] | None
    now: tuple[Threat, Magnitude] | None
    what: str

    @property
    def shown(self) -> tuple[Threat, Magnitude]:
        """The threat as it is, or as it was."""
        found = self.now or self.then
        assert found is not None
        return found

    @property
    def alarms(self) -> bool:
        return self.what in (NEW, WORSE)

    def as_json(self, policy: RiskPolicy) -> dict[str, Any]:
        """Keys: what (new, worse, better or gone), object, title, kind, place, message, remedy, evidence [{kind, key}],
        event, `before` and `now`, each null or {message, soon, magnitude [low, middle, high], half_step, band}."""
        threat, _ = self.shown
        return {
            "what": self.what,
            "object": self.object,
            "title": self.title,
            **threat.as_json(),
            "event": threat.event,
            "before": _as_json(self.then, policy),
            "now": _as_json(self.now, policy),
        }


def _as_json(look: tuple[Threat, Magnitude] | None, policy: RiskPolicy) -> dict[str, Any] | None:
    if look is None:
        return None
    threat, found = look
    return {
        "message": threat.message,
        "soon": threat.soon,
        "magnitude": [six(each) for each in found.exact],
        "half_step": magnitude.half_step(found.exact[1]),
        "band": magnitude.band(policy, found.exact[1]),
    }


def moved(
    then: Iterable[AtRisk], now: Iterable[AtRisk], policy: RiskPolicy, called: Callable[[str], str] = lambda code: code
) -> list[Moved]:
    """What differs, new threats first, then worse, better and gone ones, the gravest of each first.

    :param called: what an object's number of then is today.
    """
    today = {each.object: each for each in now}
    before: dict[str, list[AtRisk]] = defaultdict(list)
    for each in then:
        before[called(each.object)].append(each)
    found: list[Moved] = []
    for code in today.keys() | before.keys():
        old, new = before.get(code, []), today.get(code)
        found += _object(new or old[0], [threat for each in old for threat in each.threats], new, policy)
    return sorted(found, key=_order)


def _object(whose: AtRisk, then: list[Threat], now: AtRisk | None, policy: RiskPolicy) -> Iterator[Moved]:
    def look(threat: Threat | None) -> tuple[Threat, Magnitude] | None:
        return None if threat is None else (threat, magnitude.of(policy, threat, whose.value))

    for one, other in _paired(then, list(now.threats) if now else []):
        before, after = look(one), look(other)
        what = _told(before and before[1], after and after[1], policy.told_from)
        if what is not None:
            yield Moved(whose.object, whose.title, before, after, what)


def _told(then: Magnitude | None, now: Magnitude | None, least: float) -> str | None:
    if then is None or now is None:
        return NEW if then is None else GONE
    _, middle, high = (b - a for a, b in zip(then.exact, now.exact, strict=True))
    # The middle decides, as it ranks; where it stays, what may be graver is worse.
    if abs(middle) < least:
        return WORSE if high >= least else None
    return WORSE if middle > 0 else BETTER


def _paired(then: list[Threat], now: list[Threat]) -> Iterator[tuple[Threat | None, Threat | None]]:
    """Each threat with itself at the other look, the likest first."""
    for alike in (
        lambda each: (each.kind, each.event, each.place, each.evidence),
        lambda each: (each.kind, each.event, each.place),
        lambda each: (each.kind, each.event),
    ):
        waiting: dict[Any, list[Threat]] = defaultdict(list)
        for each in now:
            waiting[alike(each)].append(each)
        left = []
        for each in then:
            same = waiting.get(alike(each))
            if same:
                yield each, same.pop(0)
            else:
                left.append(each)
        then, now = left, [each for rest in waiting.values() for each in rest]
    yield from ((each, None) for each in then)
    yield from ((None, each) for each in now)


def _order(row: Moved) -> tuple[Any, ...]:
    threat, found = row.shown
    _, middle, high = found.loss
    return TOLD.index(row.what), -middle, -high, natural(row.object), threat.kind, threat.place or "", threat.event


def numbers(found: Iterable[Moved]) -> Mapping[str, int]:
    """How many of each."""
    rows = list(found)
    return {what: sum(row.what == what for row in rows) for what in TOLD}
