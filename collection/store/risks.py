"""Reads what threatens each object of a collection: derived rows, proposals, tags and values; see `compute.risk`."""

from __future__ import annotations

import json
import sqlite3
from collections import defaultdict
from collections.abc import Collection, Iterable

from collection.compute.case import Case
from collection.compute.risk.ranking import AtRisk, Item, values
from collection.compute.risk.standing import standing_threats
from collection.compute.risk.threat import Hanging, Threat
from collection.compute.risk.threats import all_threats
from collection.records.policy import Policy
from collection.store.base import names, read
from collection.store.base.papers import papers
from collection.store.changes import collection_row
from collection.store.changes.tags import any_tags, tags
from collection.store.decide.standing_proposals import planned_by_object
from collection.store.derive import behind

STORED = (
    "SELECT object, threat, place, message, remedy, evidence, soon, reaches_low, reaches_middle, reaches_high, event, "
    "act, amount, pace_years, after, until, action, area_m2 FROM risks ORDER BY object, number"
)


def at_risk(db: sqlite3.Connection, policy: Policy, on: str) -> list[AtRisk]:
    """Every object in account that has not left, with its threats on a day, YYYY-MM-DD.

    What the records alone show is read as it was derived; only what is not up to date, and objects with proposals, are
    read in full. A tag counts as long as it hangs: `tags` tells which are out of date.
    """
    worth = values(_items(db))
    titles = _titles(db)
    standing = _standing(db, worth.keys())
    planned = planned_by_object(db, policy, worth.keys())
    hanging: dict[str, list[Hanging]] = defaultdict(list)
    for tag in tags(db):
        if tag.hangs:
            hanging[tag.object].append(Hanging(f"{tag.object}/{tag.number}", tag.kind, None))
    used = any_tags(db)
    site, closed, lent = collection_row.present(db).address is not None, _staff_only(db), _on_loan(db)
    found = []
    for code, value in worth.items():
        threats = all_threats(
            standing.get(code, ()),
            planned.get(code, ()),
            on,
            hanging=hanging.get(code, ()),
            tags_used=used,
            on_loan=code in lent,
            published=site and code not in closed,
        )
        found.append(AtRisk(code, titles.get(code, ""), value, threats))
    return found


def _standing(db: sqlite3.Connection, wanted: Collection[str]) -> dict[str, list[Threat]]:
    """The threats that records alone show, by object."""
    old = set(behind(db))
    found: dict[str, list[Threat]] = defaultdict(list)
    for row in db.execute(STORED):
        if row[0] not in old:
            found[row[0]].append(_threat(row))
    for facts in read.facts_in_bulk(db, old.intersection(wanted)):
        code = facts.object.object
        found[code] = list(standing_threats(Case(facts), papers(db, code)))
    return found


def _threat(row: tuple[object, ...]) -> Threat:
    _, kind, place, message, remedy, evidence, soon, low, middle, high, event, act, amount, pace, *rest = row
    return Threat(
        kind,  # type: ignore[arg-type]
        place,  # type: ignore[arg-type]
        message,  # type: ignore[arg-type]
        remedy,  # type: ignore[arg-type]
        tuple((sheet, key) for sheet, key in json.loads(evidence)),  # type: ignore[arg-type]
        soon,  # type: ignore[arg-type]
        (low, middle, high),  # type: ignore[arg-type]
        event,  # type: ignore[arg-type]
        act,  # type: ignore[arg-type]
        amount,  # type: ignore[arg-type]
        pace,  # type: ignore[arg-type]
        *rest,  # type: ignore[arg-type]
    )


def _items(db: sqlite3.Connection) -> Iterable[Item]:
    known = names.load(db)
    found: dict[str, Item] = {}
    for code, above, points, status in db.execute(
        "SELECT object, part_of, value_points, status FROM live_objects ORDER BY object"
    ):
        shown = code if known is None else known.object(code)
        root = above if above is None or known is None else known.object(above)
        before = found.get(shown)
        found[shown] = Item(
            shown,
            root if root is not None or before is None else before.part_of,
            points if points is not None or before is None else before.points,
            status == "left" or (before is not None and before.left),
        )
    return found.values()


def _titles(db: sqlite3.Connection) -> dict[str, str]:
    known = names.load(db)
    rows = db.execute("SELECT object, title FROM live_objects ORDER BY object DESC")
    return {code if known is None else known.object(code): title for code, title in rows}


def _staff_only(db: sqlite3.Connection) -> set[str]:
    return names.shown_objects(db, _codes(db, "audience = 'staff'"))


def _on_loan(db: sqlite3.Connection) -> set[str]:
    return names.shown_objects(db, _codes(db, "status = 'on loan'"))


def _codes(db: sqlite3.Connection, where: str) -> list[str]:
    return [code for (code,) in db.execute(f"SELECT object FROM live_objects WHERE {where}")]
