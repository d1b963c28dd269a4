"""What survives of the first finish on objects, as it was derived; of what is not up to date, by the records."""

from __future__ import annotations

import sqlite3
from collections.abc import Collection

from collection.compute.case import Case
from collection.compute.survival.survival import object_survival
from collection.records.policy import Interval
from collection.store.base import read
from collection.store.derive import behind

Found = tuple[float | None, Interval | None, int, int]
"""Painted area in m², the area that survives [low, middle, high] in m², at how many places it was seen, of how many."""


def surviving(db: sqlite3.Connection, objects: Collection[str]) -> dict[str, Found]:
    """By the present numbers of objects that are in account."""
    old = set(behind(db)).intersection(objects)
    found: dict[str, Found] = {}
    for code in objects:
        if code in old:
            continue
        row = db.execute(
            "SELECT area_m2, surviving_low_m2, surviving_middle_m2, surviving_high_m2, present, read "
            "FROM survival_objects WHERE object = ?",
            (code,),
        ).fetchone()
        area, low, middle, high, present, looked = row
        found[code] = (area, None if low is None else (low, middle, high), present, looked)
    for facts in read.facts_in_bulk(db, sorted(old)):
        one = object_survival(Case(facts))
        found[facts.object.object] = (one.area_m2, one.surviving_m2, one.places_seen, one.places_read)
    return found
