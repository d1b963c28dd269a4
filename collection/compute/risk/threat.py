"""What a threat is: one thing that may take original finish, with what its magnitude is made of.

A threat says which share of the object's painted surface would go in original finish (`share`), and by which row of
the policy's table it comes about (`soon`); how soon that is, and how much of what it reaches it takes, stands there,
so that what is stored of a threat rests on records alone. Which things count is common practice, no published source.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from collection.records.policy import Interval

DESTROYED, OVERTAKEN, FAILING, PAST, ADVISED, UNEXAMINED, UNTAGGED = KINDS = (
    "work that destroys",
    "approval overtaken",
    "finish that fails",
    "past its date",
    "advice not followed",
    "never examined",
    "tag missing or out of date",
)
"""The kinds of threat that make an object one at risk, gravest first: the site lists them."""
ENDANGERED, FORBIDDEN, CLAIMED, EXPOSED, COVERED, UNSEEN, EVIDENCE = BESIDE = (
    "work that endangers",
    "prohibition not answered",
    "open claim in the way",
    "wear, light and weather",
    "covered original",
    "not examined",
    "evidence in one copy",
)
"""Kinds that have a magnitude as well, and that nearly every object has: no reason to list one among those at risk."""
ALL_KINDS = (*KINDS, *BESIDE)

WHOLE: Interval = (1.0, 1.0, 1.0)
NOT_KNOWN: Interval = (0.0, 0.5, 1.0)
"""A share of which nothing is known: the whole interval, and its middle."""


@dataclass(frozen=True, slots=True)
class Planned:
    """A proposal as it is now: how many things it would destroy, the newest decision, and whether later records have
    changed what that rests on; further how many it would endanger or nobody has tested, the share of the object's
    painted surface that it would take in original finish, and the keys of the advice against it that nobody answered
    and of the claims that are open where it works, each with the share that goes there."""

    key: str
    title: str
    destroys: int
    decision: str | None
    overtaken: bool
    carried_out: bool
    endangers: int = 0
    untested: int = 0
    takes: Interval = NOT_KNOWN
    unanswered: tuple[str, ...] = ()
    claims: tuple[str, ...] = ()
    takes_forbidden: Interval = NOT_KNOWN
    takes_claimed: Interval = NOT_KNOWN

    @property
    def stands(self) -> str:
        return {"approve": "approved", "defer": "deferred"}.get(self.decision or "", "open")

    @property
    def may_happen(self) -> bool:
        return not self.carried_out and self.decision != "refuse"


@dataclass(frozen=True, slots=True)
class Hanging:
    """A tag that hangs on the object: its key, `OBJECT/NUMBER`, whether it is a tag or a label, and whether it says what
    is known now; None where that is not told."""

    key: str
    kind: str
    up_to_date: bool | None


@dataclass(frozen=True, slots=True)
class Paper:
    """A source of the object: its key, its kind, and whether a copy is kept with the records."""

    key: str
    kind: str
    copied: bool


@dataclass(frozen=True, slots=True)
class Threat:
    """One thing that threatens the original finish.

    :ivar soon: the row of the policy's table `[risk.soon]` by which it comes about.
    :ivar share: of the object's painted surface, how much original finish it reaches, [low, middle, high], 0-1.
    :ivar event: what would happen; threats with one event are one loss, the largest of them.
    :ivar act: the cheapest act that lowers it, a name of the policy's table `[risk.acts]`.
    :ivar amount: how many things the act has to be done to.
    :ivar pace_years: years until it has happened, at the pace of two looks; None = the policy's row alone.
    :ivar after: the last day on which it is none yet; None = it is one on every day.
    :ivar until: the last day on which it is one.
    :ivar action: of an act that is a treatment, the action, with the surface in m² where it is known.
    """

    kind: str
    place: str | None
    message: str
    remedy: str
    evidence: tuple[tuple[str, str], ...]
    soon: str = ""
    share: Interval = NOT_KNOWN
    event: str = ""
    act: str = ""
    amount: int = 1
    pace_years: float | None = None
    after: str | None = None
    until: str | None = None
    action: str | None = None
    area_m2: float | None = None

    def holds(self, on: str) -> bool:
        """Whether it is one on a day, YYYY-MM-DD."""
        return (self.after is None or self.after < on) and (self.until is None or on <= self.until)

    def as_json(self) -> dict[str, Any]:
        return {
            "kind": self.kind,
            "place": self.place,
            "message": self.message,
            "remedy": self.remedy,
            "evidence": [{"kind": kind, "key": key} for kind, key in self.evidence],
        }


def gravity(kinds: Iterable[str]) -> tuple[int, ...]:
    """The sort key of an object, the greatest first: how many threats it has of each kind, gravest kind first."""
    number: Mapping[str, int] = Counter(kinds)
    return tuple(number.get(kind, 0) for kind in KINDS)
