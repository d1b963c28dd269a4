"""What is new or worse among the threats since a date: the records as they stood before it against those of now.

By the changes of the database, not by the dates in the records: a survey of last year that came in yesterday is new
since yesterday, since nobody could have read it here before.
"""

from __future__ import annotations

import sqlite3
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from collection.compute.risk.ranking import AtRisk
from collection.compute.risk.watch import Moved, moved, numbers
from collection.records.policy import Policy, RiskPolicy
from collection.store.base import names
from collection.store.rewound import Change, changes_since, rewound
from collection.store.risks import at_risk


@dataclass(frozen=True, slots=True)
class Watched:
    """What moved between two looks.

    :ivar since: the day, or moment in UTC, from which on changes count.
    :ivar on: the day of today, YYYY-MM-DD.
    :ivar changes: the changes that were made since, oldest first.
    :ivar first: nothing was recorded before.
    :ivar newest: the number and time of the newest change of all; None before the first.
    :ivar objects: today's objects with their threats.
    """

    since: str
    on: str
    changes: tuple[Change, ...]
    first: bool
    newest: tuple[int, str] | None
    moved: tuple[Moved, ...]
    objects: tuple[AtRisk, ...]

    @property
    def alarms(self) -> bool:
        """Whether anything is new or worse."""
        return any(row.alarms for row in self.moved)

    def as_json(self, policy: RiskPolicy) -> dict[str, Any]:
        """Keys: format, since, on, changes (how many), newest_change {number, at} or null, nothing_before, one number
        each of new, worse, better and gone, and `moved`: see `Moved.as_json`."""
        return {
            "format": 1,
            "since": self.since,
            "on": self.on,
            "changes": len(self.changes),
            "newest_change": None if self.newest is None else {"number": self.newest[0], "at": self.newest[1]},
            "nothing_before": self.first,
            **numbers(self.moved),
            "moved": [row.as_json(policy) for row in self.moved],
        }


def watched(db: sqlite3.Connection, policy: Policy, since: str, on: str) -> Watched:
    """Both looks, and what differs. What runs out by itself is judged on the day before `since`, and on `on`.

    :param since: YYYY-MM-DD, or a moment in UTC such as 2026-05-03T10:15:00.
    """
    changes = changes_since(db, since)
    now = at_risk(db, policy, on)
    day = date.fromisoformat(since[:10])
    earlier = (day if len(since) > len("2026-05-03") else day - timedelta(days=1)).isoformat()
    first = bool(changes) and changes[0].number == 1
    if first:
        then: list[AtRisk] = []
    elif changes:
        with rewound(db, changes[0].number) as copy:
            then = at_risk(copy, policy, earlier)
    else:
        then = at_risk(db, policy, earlier)
    known = names.load(db)
    called = (lambda code: code) if known is None else known.object
    newest = db.execute("SELECT number, at FROM changes ORDER BY number DESC LIMIT 1").fetchone()
    return Watched(since, on, tuple(changes), first, newest, tuple(moved(then, now, policy.risk, called)), tuple(now))
