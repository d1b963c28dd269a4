"""Checks after each change that records read as one say the same, and that every code still means one thing."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Iterator

from collection.language.errors import Fault, InputRefused
from collection.records.codes import CODE_COLUMN, KIN
from collection.records.facts import current
from collection.records.sheets import BY_SHEET, Component, Zone
from collection.store.base import names, read
from collection.store.base.merged_records import circle
from collection.store.base.names import Names, text_of


def hold(db: sqlite3.Connection, objects: Iterable[str]) -> None:
    """Check the records of some objects.

    :raises InputRefused: with every difference between them.
    """
    known = names.load(db)
    if known is None:
        return
    faults = [_fault(found.sheet, found.one, found.sentence()) for found in read.disagreements(db, objects)]
    touched = [
        code
        for code in sorted({known.object(code) for code in objects})
        if not known.touched.isdisjoint(known.objects(code))
    ]
    if touched:
        faults += _parts_of_themselves(db, known)
    for code in touched:
        faults += _had_before(db, known, code)
        zones = {row.zone: row.within for row in read.joined_rows(db, known, Zone, code) if isinstance(row, Zone)}
        parts = current(
            [row for row in read.joined_rows(db, known, Component, code) if isinstance(row, Component)], "component"
        )
        for sheet, parents in (("zones", zones), ("components", {c: row.parent for c, row in parts.items()})):
            way = circle(parents)
            if way:
                faults.append(_fault(sheet, f"{code}/{way[0]}", f"It would lie within itself: {' → '.join(way)}."))
    if faults:
        raise InputRefused(faults)


def _parts_of_themselves(db: sqlite3.Connection, known: Names) -> list[Fault]:
    parents: dict[str, str | None] = {}
    for own, part_of in db.execute(
        "SELECT object, part_of FROM live_objects WHERE part_of IS NOT NULL ORDER BY object"
    ):
        parents[known.object(own)] = known.object(part_of)
    way = circle(parents)
    return (
        [_fault("objects", way[0], f"One would be a part of itself: {' → '.join(way)}. Correct part_of first.")]
        if way
        else []
    )


def _had_before(db: sqlite3.Connection, known: Names, shown: str) -> Iterator[Fault]:
    """Things stored under a further number of an object that would get a code which another thing of its first number
    once had, so that an old list, tag or decision would name the wrong one."""
    first, *further = known.objects(shown)
    for kin in KIN if further else ():
        if kin == ("objects",):
            continue
        stored, live = (
            {
                (kind, own, str(code))
                for kind in kin
                for number in (first, *further)
                for own, code in db.execute(
                    f"SELECT DISTINCT object, {CODE_COLUMN[kind]} FROM {prefix}{BY_SHEET[kind].table} WHERE object = ?",
                    (number,),
                )
            }
            for prefix in ("", "live_")
        )
        had = {node[2]: node for node in stored if node[1] == first} | {
            name[2]: node for name, node in known.stored_as.items() if name[0] in kin and name[1] == first
        }
        for node in sorted(live):
            called = known.code(*node)
            other = had.get(called, node)
            one_thing = known.first.get(node, node) == known.first.get(other, other)
            # Two that are both called so now were compared as records already.
            if node[1] == first or one_thing or (other in live and known.code(*other) == called):
                continue
            yield _fault(
                node[0],
                text_of(node),
                f"It would be {shown}/{called}, which another record in {other[0]} "
                "was called before, or is out of account. Rename this one first.",
            )


def _fault(sheet: str, key: str, message: str) -> Fault:
    return Fault(f"{sheet} {key}", sheet, None, None, None, message)
