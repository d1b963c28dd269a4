"""The records of an object that a code such as `OBJECT/S03` names."""

from __future__ import annotations

import difflib
import sqlite3
from typing import Any

from collection.language.errors import Fault, NotFound
from collection.language.words import SHEET_NAMES
from collection.records.codes import OWN_CODES
from collection.records.facts import FACT_SHEETS, Facts, row_values
from collection.records.sheets import BY_SHEET, SHEETS, Object, Survey
from collection.store.base import names, read
from collection.store.schema.tables import fills_blank

Json = dict[str, Any]
MOST_NEAR = 5
_FIRST = ("zones", "components", "samples", "schemes", "decorations", "tests", "treatments", "proposals")
"""Kinds that are listed first where several records share a code."""


def named(db: sqlite3.Connection, text: str) -> tuple[Facts, list[tuple[str, Json]]]:
    """An object's facts, and the records that a text OBJECT/CODE[/…] names among them; none for OBJECT alone.

    Dated states of one code are all given, oldest first.

    :raises NotFound: when there is no such object, or no such record of it; the nearest are named.
    """
    parts = text.split("/")
    for end in range(len(parts), 0, -1):
        code, rest = "/".join(parts[:end]), "/".join(parts[end:])
        try:
            facts = read.facts_rows(db, code)
        except NotFound as error:
            refused = error
            continue
        if not rest:
            return facts, []
        records = _records(db, facts)
        asked = {rest, *_present(db, code, rest)}
        exact = [(sheet, row) for sheet, key, row in records if key in asked]
        found = exact or _without_inner([(sheet, row) for sheet, key, row in records if key.split("/")[0] in asked])
        if found:
            return facts, found
        near = difflib.get_close_matches(rest, dict.fromkeys(key for _, key, _ in records), n=MOST_NEAR, cutoff=0.4)
        raise NotFound(
            [
                Fault(
                    "the database",
                    "objects",
                    None,
                    None,
                    text,
                    f"{code} has no record of this code in "
                    "account; there are zones, parts, samples, schemes and more: see `firstcoat show`.",
                    ", ".join(near) or None,
                )
            ]
        )
    raise _refused(db, text, refused)


def _present(db: sqlite3.Connection, object_code: str, rest: str) -> set[str]:
    """The present codes of things that once had this code."""
    known = names.load(db)
    if known is None:
        return set()
    code, _, inner = rest.partition("/")
    return {"/".join(part for part in (known.code(sheet, object_code, code), inner) if part) for sheet in OWN_CODES}


def doubts_on(db: sqlite3.Connection, object_code: str) -> int:
    """How many warnings are attached to the records of an object."""
    known = names.load(db)
    codes = (object_code,) if known is None else known.objects(object_code)
    return sum(
        int(
            db.execute(
                'SELECT count(*) FROM warnings WHERE "key" = ? OR ("key" > ? AND "key" < ?)',
                (code, f"{code}/", f"{code}0"),
            ).fetchone()[0]
        )
        for code in codes
    )


def listed_conditions(db: sqlite3.Connection, object_code: str) -> list[str]:
    """What lists say of an object's condition as a whole, which is no fact; one for each code that it is stored under."""
    known = names.load(db)
    codes = (object_code,) if known is None else known.objects(object_code)
    said = "SELECT listed_condition FROM live_objects WHERE object = ? AND listed_condition IS NOT NULL"
    return list(dict.fromkeys(text for code in codes for (text,) in db.execute(said, (code,))))


def _refused(db: sqlite3.Connection, text: str, last: NotFound) -> NotFound:
    whole = read.nearest_object(db, text)
    return (
        NotFound([Fault("the database", "objects", None, None, text, "No such object is in account.", whole)])
        if whole
        else last
    )


def _records(db: sqlite3.Connection, facts: Facts) -> list[tuple[str, str, Json]]:
    """Every record of an object, with its key without the object."""
    found = [(sheet, row_values(row)) for sheet in FACT_SHEETS for row in getattr(facts, sheet)]
    known = names.load(db)
    for record in SHEETS:
        if record.sheet in FACT_SHEETS or record in (Object, Survey):
            continue
        columns = [c.name for c in record.columns() if not c.private and c.name != "audience"]
        for code in (facts.object.object,) if known is None else known.objects(facts.object.object):
            for values in db.execute(f"SELECT {', '.join(columns)} FROM live_{record.table} WHERE object = ?", (code,)):
                row = dict(zip(columns, values, strict=True))
                row = row if known is None else known.translate(record, row)
                found.append((record.sheet, {name: value for name, value in row.items() if value is not None}))
    order = {sheet: rank for rank, sheet in enumerate((*_FIRST, *(s for s in SHEET_NAMES if s not in _FIRST)))}
    return [(sheet, _code(sheet, row), row) for sheet, row in sorted(found, key=lambda pair: order[pair[0]])]


def _code(sheet: str, row: Json) -> str:
    record = BY_SHEET[sheet]
    parts = [row.get(name) for name in record.key[1:]]
    while len(parts) > 1 and parts[-1] in (None, "", 0) and fills_blank(record, record.column(record.key[len(parts)])):
        parts.pop()
    return "/".join("" if part is None else str(part) for part in parts)


def _without_inner(found: list[tuple[str, Json]]) -> list[tuple[str, Json]]:
    """Only the things themselves that have a code, without what belongs to them: a sample, but not each of its coats."""
    inner = ("layers", "responses", "treatment_steps", "proposal_steps", "conditions")
    return [pair for pair in found if pair[0] not in inner] or found
