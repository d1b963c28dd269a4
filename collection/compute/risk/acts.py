"""The acts that lower threats: what each leaves of a threat, what it is called, and the hours it takes.

An act never makes a threat worse: where the policy's rows would say so, it changes nothing. What an act leaves is counted
again like any threat. Which act lowers what is judgement.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace

from collection.compute.risk import magnitude
from collection.compute.risk.threat import (
    ADVISED,
    CLAIMED,
    COVERED,
    DESTROYED,
    EVIDENCE,
    FAILING,
    FORBIDDEN,
    OVERTAKEN,
    PAST,
    UNTAGGED,
    Threat,
)
from collection.language.sentences import counted
from collection.records.policy import Interval, RiskPolicy

TreatmentHours = Callable[[str, float], Interval | None]
"""The hours of an action on a surface in m², by logged work; None where none of its kind was logged."""

SECURED = {
    "failing, severe": "secured",
    "failing, moderate": "secured",
    "failing, slight": "secured",
    "failing, not said how badly": "secured",
    "other change": "slow change",
    "slow change": "slow change, held",
}
"""What becomes of a row of the policy when what it says is laid, held or arrested."""
SHELTERED = {
    "open to weather": "open, indoors",
    "open, sheltered": "open, indoors",
    "open, indoors": "open, indoors steady",
    "open, surroundings unknown": "open, indoors steady",
}
APPROVED, OPEN = "approved work", "open work"
JUDGED, LOGGED = "judgement", "logged work"


@dataclass(frozen=True, slots=True)
class Act:
    """One act on one object: its name in the policy, the event that it is about (for papers: what is lost), how many
    things it is done to, its hours [least, middle, most], what those rest on, and what to do, as a sentence."""

    name: str
    event: str
    amount: int
    hours: Interval
    hours_are: str
    what: str


def act_for(threat: Threat, policy: RiskPolicy, treatment_hours: TreatmentHours | None = None) -> Act | None:
    """The cheapest act that lowers a threat; None where there is none."""
    if not threat.act:
        return None
    logged = None
    if threat.action and threat.area_m2 and treatment_hours is not None:
        logged = treatment_hours(threat.action, threat.area_m2)
    least, middle, most = policy.acts[threat.act]
    if logged is None:
        hours = (least * threat.amount, middle * threat.amount, most * threat.amount)
    else:
        hours = tuple(own + work for own, work in zip(policy.acts["set up"], logged, strict=True))  # type: ignore[assignment]
    return Act(threat.act, threat.event, threat.amount, hours, JUDGED if logged is None else LOGGED, _what(threat))


def _what(threat: Threat) -> str:
    at = f" at {threat.place}" if threat.place else ""
    proposal = threat.event
    return {
        "tag": "Print a tag and hang it."
        if threat.kind != UNTAGGED or "no tag" in threat.message
        else "Print the tag again and hang the new one.",
        "sample": f"Take one sample{at} and read it." if threat.place else "Take one sample and read it.",
        "photograph": f"Photograph {counted(threat.amount, 'sample')}.",
        "copy": f"Copy {counted(threat.amount, 'paper')} into the record.",
        "assign": f"Give {counted(threat.amount, 'coat')} a scheme or a period, with whoever read them.",
        "refuse": f"Refuse {proposal}, or ask for another way of doing it."
        if threat.kind == DESTROYED
        else f"Send {proposal} back: it wants another way of doing it, or a test first.",
        "reassess": f"Assess {proposal} again and decide again.",
        "answer": f"Answer the advice against {proposal}.",
        "claim": f"Settle the open claims before {proposal}.",
        "take off": "Look whether the temporary measure is still on, and take it off.",
        "follow": f"Do what was advised{at}, or write down why not.",
        "secure": f"Lay and secure what is loose{at}.",
        "arrest": f"Find what drives it{at}, and stop that.",
        "shelter": threat.remedy,
    }[threat.act]


def after(act: Act, threats: Iterable[Threat], policy: RiskPolicy) -> tuple[Threat, ...]:
    """The threats to an object when an act is done."""
    return tuple(left for each in threats if (left := _left(act, each, policy)) is not None)


def _left(act: Act, threat: Threat, policy: RiskPolicy) -> Threat | None:
    if threat.event != act.event:
        return threat
    name, kind = act.name, threat.kind
    if name == "refuse":
        return None
    if name == "reassess":
        gone = kind == OVERTAKEN
        return None if gone else _later(threat, OPEN, policy) if threat.soon == APPROVED else threat
    if (name, kind) in (("answer", FORBIDDEN), ("claim", CLAIMED), ("take off", PAST)) or kind == EVIDENCE:
        return None
    if name in ("follow", "secure", "arrest"):
        if kind == ADVISED:
            return None
        return _later(threat, SECURED.get(threat.soon, threat.soon), policy) if kind == FAILING else threat
    if name == "tag":
        return None if kind == UNTAGGED else _later(threat, "tag hangs", policy) if kind == COVERED else threat
    if name == "sample":
        return _later(threat, "untold", policy)
    return _later(threat, SHELTERED.get(threat.soon, threat.soon), policy) if name == "shelter" else threat


def _later(threat: Threat, soon: str, policy: RiskPolicy) -> Threat:
    """A threat that comes about by another row, unless that would be worse at any end; nothing is left to do about it."""
    made = replace(threat, soon=soon, pace_years=None)
    now, then = (magnitude.of(policy, each, 1.0).loss for each in (threat, made))
    return replace(made, act="") if all(b <= a for a, b in zip(now, then, strict=True)) else threat


def loss_of(threats: Iterable[Threat], policy: RiskPolicy) -> Interval:
    """The share of an object's value that all its threats together are expected to cost in a year, [low, middle, high];
    of threats with one event the largest counts, since it happens once. It may pass 1: two things may each take it."""
    by_event: dict[str, Interval] = {}
    for each in threats:
        loss = magnitude.of(policy, each, 1.0).loss
        known = by_event.get(each.event)
        by_event[each.event] = (
            loss if known is None else (max(known[0], loss[0]), max(known[1], loss[1]), max(known[2], loss[2]))
        )
    low, middle, high = (sum(loss[end] for loss in by_event.values()) for end in range(3))
    return low, middle, high
