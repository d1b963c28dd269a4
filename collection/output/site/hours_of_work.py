"""The hours by kind of work, for the site for staff: a picture, and what it says as a table."""

from __future__ import annotations

import sqlite3
from dataclasses import dataclass
from typing import Any

from collection.compute.effort import hours
from collection.compute.effort.rates import Rates
from collection.language.sentences import around
from collection.output.drawings import hours_bars
from collection.records.policy import default_policy
from collection.store.logged_work import logged_work


@dataclass(frozen=True, slots=True)
class HoursOfWork:
    """Hours per m² of one more step of each kind of work that was logged; `rows` are {work, logs, said}."""

    picture: str
    rows: tuple[dict[str, Any], ...]


def hours_of_work(connection: sqlite3.Connection) -> HoursOfWork | None:
    """What the logged steps of all objects tell; None where none counts. What somebody's work took is for staff."""
    logged = logged_work(connection)
    if not logged.logs:
        return None
    table = hours.table(logged, Rates(logged.logs, default_policy().effort))
    rows = tuple(
        {
            "work": row.whole.kind.action,
            "logs": row.whole.logs,
            "said": "no figure" if row.whole.hours_per_m2 is None else around(row.whole.hours_per_m2),
        }
        for row in table
        if row.kinds
    )
    return HoursOfWork(hours_bars.draw("Hours by kind of work", table, logged.sentence(), name="hours"), rows)
