"""The records of an object that a code such as `OBJECT/S03` names."""

from __future__ import annotations

import difflib
import sqlite3
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from collection.language.errors import Fault, NotFound
from collection.language.words import SHEET_NAMES
from collection.records.codes import OWN_CODES
from collection.records.facts import FACT_SHEETS, Facts, row_values
from collection.records.row import Record
from collection.records.sheets import BY_SHEET, SHEETS, Object, Survey
from collection.store.base import keys, names, read
from collection.store.base.withdrawals import Withdrawal, withdrawal
from collection.store.schema.tables import fills_blank

Json = dict[str, Any]
MOST_NEAR = 5
_FIRST = ("zones", "components", "samples", "schemes", "decorations", "tests", "treatments", "proposals")
"""Kinds that are listed first where several records share a code."""
_INNER = ("layers", "responses", "treatment_steps", "proposal_steps", "conditions")
"""Kinds that belong to another record."""


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


@dataclass(frozen=True, slots=True)
class OutOfAccount:
    """A stored record that does not count: its key, its cells without private ones, and what took it out."""

    sheet: str
    key: str
    row: Json
    by: Withdrawal


def out_of_account(db: sqlite3.Connection, text: str) -> list[OutOfAccount]:
    """The stored records that a text OBJECT[/CODE[/…]] names and that are out of account, with what belongs to them;
    none where it names nothing, or what is in account."""
    parts, known = text.split("/"), names.load(db)
    for end in range(len(parts), 0, -1):
        code, rest = "/".join(parts[:end]), "/".join(parts[end:])
        for own in (code,) if known is None else dict.fromkeys((code, *known.objects(code))):
            if db.execute("SELECT 1 FROM objects WHERE object = ?", (own,)).fetchone() is None:
                continue
            if not rest:
                return list(_out_of_account(db, Object, own))
            asked = {rest, *_present(db, own, rest)}
            sheets = [record for record in SHEETS if record not in (Object, Survey)]
            every = [each for record in sheets for each in _out_of_account(db, record, own)]
            inner = [(each, each.key.removeprefix(f"{own}/")) for each in every]
            return [each for each, key in inner if key in asked or key.split("/")[0] in asked]
    return []


def _out_of_account(db: sqlite3.Connection, record: type[Record], own: str) -> Iterator[OutOfAccount]:
    columns = [c.name for c in record.columns() if not c.private and c.name != "audience"]
    for values in db.execute(f"SELECT {', '.join(columns)} FROM {record.table} WHERE object = ?", (own,)).fetchall():
        row = dict(zip(columns, values, strict=True))
        key = tuple(row[name] for name in record.key)
        by = withdrawal(db, record.sheet, key)
        if by is not None:
            said = {name: value for name, value in row.items() if value not in (None, "")}
            yield OutOfAccount(record.sheet, keys.shown(record.sheet, key), said, by)


def _present(db: sqlite3.Connection, object_code: str, rest: str) -> set[str]:
    """The present codes of things that once had this code."""
    known = names.load(db)
    if known is None:
        return set()
    code, _, inner = rest.partition("/")
    return {"/".join(part for part in (known.code(sheet, object_code, code), inner) if part) for sheet in OWN_CODES}


@dataclass(frozen=True, slots=True)
class Noted:
    """A warning that a record has from when it came in. `key` is the one it was stored under."""

    sheet: str
    key: str
    column: str | None
    message: str

    def sentence(self) -> str:
        where = f"{SHEET_NAMES.get(self.sheet, self.sheet)} {self.key}"
        return f"{where}{f', {self.column}' if self.column else ''}: {self.message}"

    def of(self, sheet: str, key: str) -> bool:
        """Whether it is one of this record, or of what belongs to it, as a coat does to its sample."""
        return (self.sheet, self.key) == (sheet, key) or (
            self.sheet in _INNER and self.key.startswith(f"{key}/") and sheet not in _INNER
        )


def noted_on(db: sqlite3.Connection, object_code: str) -> list[Noted]:
    """The warnings attached to the records of an object, in the order in which they were stored."""
    known = names.load(db)
    codes = (object_code,) if known is None else known.objects(object_code)
    return [
        Noted(*row)
        for code in codes
        for row in db.execute(
            'SELECT sheet, "key", "column", message FROM warnings '
            'WHERE sheet <> \'survey\' AND ("key" = ? OR ("key" > ? AND "key" < ?)) ORDER BY id',
            (code, f"{code}/", f"{code}0"),
        )
    ]


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
    return [pair for pair in found if pair[0] not in _INNER] or found
