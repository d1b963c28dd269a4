"""Reading records in account: the facts of one object, a proposal, what a record said before."""

from __future__ import annotations

import difflib
import json
import sqlite3
from collections.abc import Iterable, Iterator
from functools import cache
from itertools import groupby
from operator import itemgetter
from typing import Any

from collection.compute import ENGINE
from collection.errors import Fault, InputRefused
from collection.facts import FACT_SHEETS, LEFT_OUT, Facts, ProposalFacts, facts_of, proposal_of, read_document
from collection.records import BY_SHEET, SHEETS, Object, Proposal, ProposalStep
from collection.row import Record
from collection.store import keys
from collection.store.tables import fills_blank

OBJECTS_AT_ONCE = 200
"""Objects whose rows are held together while facts are read in bulk."""


def object_codes(db: sqlite3.Connection) -> list[str]:
    """The codes of all objects in account, sorted."""
    return [code for (code,) in db.execute("SELECT object FROM live_objects ORDER BY object")]


def nearest_object(db: sqlite3.Connection, text: str) -> str | None:
    """The stored object code most like a text."""
    close = difflib.get_close_matches(text, object_codes(db), n=1, cutoff=0.5)
    return close[0] if close else None


def facts_rows(db: sqlite3.Connection, object_code: str) -> Facts:
    """An object's facts straight from the records in account; they equal those of its derived document.

    :raises InputRefused: when no such object is in account; the nearest code is named.
    """
    views = _views(db)
    found = _rows(db, Object, object_code, views)
    if not found:
        raise _unknown("objects", object_code, "No such object is in account.", nearest_object(db, object_code))
    about = found[0]
    assert isinstance(about, Object)
    return facts_of(about, [row for sheet in FACT_SHEETS for row in _rows(db, BY_SHEET[sheet], object_code, views)])


def facts_in_bulk(db: sqlite3.Connection, object_codes: Iterable[str] | None = None) -> Iterator[Facts]:
    """The facts of many objects, in the order of their codes; of all in account where none are named.

    Codes that are not in account are passed over. Rows are read for a few hundred objects at a time.
    """
    views = _views(db)
    codes = sorted(set(object_codes)) if object_codes is not None else [
        code for (code,) in db.execute(f"SELECT object FROM {views}objects ORDER BY object")]
    for start in range(0, len(codes), OBJECTS_AT_ONCE):
        some = codes[start:start + OBJECTS_AT_ONCE]
        abouts = _grouped(db, Object, some, views)
        by_sheet = [_grouped(db, BY_SHEET[sheet], some, views) for sheet in FACT_SHEETS]
        for code in some:
            for about in abouts.get(code, ()):
                assert isinstance(about, Object)
                yield facts_of(about, [row for sheet in by_sheet for row in sheet.get(code, ())])


def load_facts(db: sqlite3.Connection, object_code: str) -> Facts:
    """An object's facts from its derived document, or from the records where that is not up to date."""
    row = db.execute("SELECT document FROM facts WHERE object = ? AND stale = 0 AND engine = ?",
                     (object_code, ENGINE)).fetchone()
    return facts_rows(db, object_code) if row is None else read_document(json.loads(row[0]))


def proposal_keys(db: sqlite3.Connection) -> list[tuple[str, str]]:
    """(object, proposal) of every proposal in account, sorted."""
    return [(o, p) for o, p in db.execute("SELECT object, proposal FROM live_proposals ORDER BY object, proposal")]


def load_proposal(db: sqlite3.Connection, object_code: str, proposal_code: str) -> ProposalFacts:
    """A proposal with its steps in account.

    :raises InputRefused: when there is none; the object's proposals are named.
    """
    views = _views(db)
    heads = [row for row in _rows(db, Proposal, object_code, views) if isinstance(row, Proposal)]
    head = next((row for row in heads if row.proposal == proposal_code), None)
    if head is None:
        names = ", ".join(row.proposal for row in heads) or "none"
        raise _unknown("proposals", f"{object_code}/{proposal_code}",
                       f"No such proposal is in account; {object_code} has {names}.",
                       None if heads else nearest_object(db, object_code))
    steps = _rows(db, ProposalStep, object_code, views)
    return proposal_of(head, [row for row in steps if isinstance(row, ProposalStep)])


def history_of(db: sqlite3.Connection, sheet: str, key: str) -> list[dict[str, Any]]:
    """What one record said before, oldest first, with who replaced it, when and why.

    :raises InputRefused: when there is no such record; the nearest key is named.
    """
    parts = keys.find(db, sheet, key)
    names = BY_SHEET[sheet].key
    return [entry for entry in _history(db, "h.sheet = ? AND h.key = ?", (sheet, keys.shown(sheet, parts)))
            if tuple(entry["content"][name] for name in names) == parts]


def object_history(db: sqlite3.Connection, object_code: str) -> list[dict[str, Any]]:
    """What an object's records said before, in the order of the changes."""
    return _history(db, "json_extract(h.content, '$.object') = ?", (object_code,))


def anything_withdrawn(db: sqlite3.Connection) -> bool:
    """Whether any record at all is out of account; while none is, tables and their live views hold the same."""
    return bool(db.execute(_ANYTHING).fetchone()[0])


_ANYTHING = "SELECT " + " OR ".join(f"EXISTS (SELECT 1 FROM {record.table} WHERE withdrawn IS NOT NULL)"
                                    for record in SHEETS)


def _views(db: sqlite3.Connection) -> str:
    """The prefix of what to read from: the views look up what each row hangs on, which costs ten times the row."""
    return "live_" if anything_withdrawn(db) else ""


def _history(db: sqlite3.Connection, where: str, values: tuple[str, ...]) -> list[dict[str, Any]]:
    rows = db.execute(
        "SELECT h.sheet, h.key, h.revision, h.content, c.number, c.at, c.by, c.why, c.action FROM history AS h "
        f"JOIN changes AS c ON c.number = h.change WHERE {where} ORDER BY h.id", values)
    return [{"sheet": sheet, "key": key, "revision": revision, "content": json.loads(content), "change": number,
             "at": at, "by": by, "why": why, "action": action}
            for sheet, key, revision, content, number, at, by, why, action in rows]


@cache
def _selection(record: type[Record]) -> tuple[tuple[str, ...], str]:
    """The columns that facts hold, and the SQL that gives them: blank parts of a key, stored as '' or 0, are None."""
    columns = [c for c in record.columns() if c.name not in LEFT_OUT and not c.private]
    listed = []
    for column in columns:
        blank = ("0" if column.is_number else "''") if fills_blank(record, column) else None
        listed.append(column.name if blank is None else f"nullif({column.name}, {blank})")
    return tuple(column.name for column in columns), ", ".join(listed)


def _rows(db: sqlite3.Connection, record: type[Record], object_code: str, views: str) -> list[Record]:
    names, listed = _selection(record)
    return [_built(record, names, row)
            for row in db.execute(f"SELECT {listed} FROM {views}{record.table} WHERE object = ?", (object_code,))]


def _grouped(db: sqlite3.Connection, record: type[Record], codes: list[str], views: str) -> dict[str, list[Record]]:
    names, listed = _selection(record)
    marks = ", ".join("?" * len(codes))
    rows = db.execute(f"SELECT object, {listed} FROM {views}{record.table} WHERE object IN ({marks}) ORDER BY object",
                      codes)
    return {code: [_built(record, names, row[1:]) for row in some] for code, some in groupby(rows, itemgetter(0))}


@cache
def _blank(record: type[Record]) -> dict[str, Any]:
    return dict.fromkeys(record.model_fields)


@cache
def _given(names: tuple[str, ...]) -> set[str]:
    """One set for all rows of a sheet, which are frozen."""
    return set(names)


_set = object.__setattr__


def _built(record: type[Record], names: tuple[str, ...], values: tuple[Any, ...]) -> Record:
    """A record from stored values, which were checked when they were written.

    As `model_construct`, which takes four times as long; a collection has a million of them.
    """
    row = record.__new__(record)
    cells = _blank(record).copy()
    cells.update(zip(names, values, strict=True))
    _set(row, "__dict__", cells)
    _set(row, "__pydantic_fields_set__", _given(names))
    _set(row, "__pydantic_extra__", None)
    _set(row, "__pydantic_private__", None)
    return row


def _unknown(sheet: str, key: str, message: str, nearest: str | None) -> InputRefused:
    return InputRefused([Fault("the database", sheet, None, None, key, message, nearest)])
