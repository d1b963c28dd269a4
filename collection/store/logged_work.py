"""Reads the logged hours of a whole collection; see `compute.effort`."""

from __future__ import annotations

import sqlite3

from collection.compute.case import Case
from collection.compute.effort.logs import NO_HOURS, Logged, logged, together
from collection.store.base import names, read


def logged_work(db: sqlite3.Connection) -> Logged:
    """The logged steps of all objects in account. Only objects with hours, or with records under several codes, are
    read in full; of the others the steps are counted."""
    table = "live_treatment_steps" if read.anything_withdrawn(db) else "treatment_steps"
    counted = db.execute(
        f"SELECT object, action, count(*), total(hours) FROM {table} GROUP BY object, action ORDER BY object, action"
    ).fetchall()
    in_full = {code for code, _, _, hours in counted if hours}
    known = names.load(db)
    if known is not None:
        in_full = {known.object(code) for code in in_full | set(known.touched)}
    without = tuple(
        (action, NO_HOURS, count)
        for code, action, count, _ in counted
        if (code if known is None else known.object(code)) not in in_full
    )
    return together([*(logged(Case(facts)) for facts in read.facts_in_bulk(db, in_full)), Logged(not_counted=without)])
