"""Reads the records in account: one object's facts, a proposal, and what a record said before."""

from __future__ import annotations

import difflib
import json
import sqlite3
from collections.abc import Callable, Iterable, Iterator
from functools import cache
from itertools import groupby
from operator import itemgetter
from typing import Any

from pydantic import BaseModel

from collection.compute import ENGINE
from collection.language.errors import Fault, NotFound
from collection.records.facts import FACT_SHEETS, LEFT_OUT, Facts, ProposalFacts, facts_of, proposal_of, read_document
from collection.records.row import Record
from collection.records.sheets import BY_SHEET, SHEETS, Object, Proposal, ProposalStep
from collection.store.base import names, withdrawals
from collection.store.base.chain import MADE_AT
from collection.store.base.merged_records import Disagreement, join
from collection.store.base.names import Names
from collection.store.schema.tables import earlier_content, fills_blank

OBJECTS_AT_ONCE = 200
"""How many objects are read at a time when facts are read in bulk."""


def object_codes(db: sqlite3.Connection) -> list[str]:
    """The present numbers of all objects in account, sorted."""
    codes = [code for (code,) in db.execute("SELECT object FROM live_objects ORDER BY object")]
    known = names.load(db)
    return codes if known is None else sorted({known.object(code) for code in codes})


def nearest_object(db: sqlite3.Connection, text: str) -> str | None:
    """The stored object code most like a text."""
    close = difflib.get_close_matches(text, object_codes(db), n=1, cutoff=0.5)
    return close[0] if close else None


def facts_rows(db: sqlite3.Connection, object_code: str) -> Facts:
    """An object's facts straight from the records in account; they equal those of its derived document.

    :raises NotFound: when no such object is in account; the nearest code is named.
    """
    views, known = _views(db), names.load(db)
    if known is not None:
        joined = _joined_facts(db, known, object_code, views)
        if joined is not None:
            return joined
    found = _rows(db, Object, object_code, views)
    if not found:
        for own in (object_code,) if known is None else (object_code, *known.objects(object_code)):
            gone = withdrawals.of_code(db, "objects", None, own)
            if gone is not None:
                raise _unknown("objects", object_code, gone.sentence(), None)
        raise _unknown("objects", object_code, "No such object is in account.", nearest_object(db, object_code))
    about = found[0]
    assert isinstance(about, Object)
    return _facts(about, {sheet: _rows(db, BY_SHEET[sheet], object_code, views) for sheet in FACT_SHEETS})


def facts_in_bulk(db: sqlite3.Connection, object_codes: Iterable[str] | None = None) -> Iterator[Facts]:
    """The facts of many objects in the order of their codes, or of all objects in account.

    Codes that are not in account are skipped. An object with several numbers comes once, under its present one.
    """
    views, known = _views(db), names.load(db)
    codes = (
        sorted(set(object_codes))
        if object_codes is not None
        else [code for (code,) in db.execute(f"SELECT object FROM {views}objects ORDER BY object")]
    )
    if known is not None:
        codes = sorted({known.object(code) for code in codes})
    for start in range(0, len(codes), OBJECTS_AT_ONCE):
        some = codes[start : start + OBJECTS_AT_ONCE]
        abouts = _grouped(db, Object, some, views)
        by_sheet = {sheet: _grouped(db, BY_SHEET[sheet], some, views) for sheet in FACT_SHEETS}
        for code in some:
            joined = None if known is None else _joined_facts(db, known, code, views)
            if joined is not None:
                yield joined
                continue
            for about in abouts.get(code, ()):
                assert isinstance(about, Object)
                yield _facts(about, {sheet: rows.get(code, []) for sheet, rows in by_sheet.items()})


def load_facts(db: sqlite3.Connection, object_code: str) -> Facts:
    """An object's facts from its derived document, or from the records where that is not up to date."""
    (shown,) = names.shown_objects(db, [object_code])
    row = db.execute(
        "SELECT document FROM facts WHERE object = ? AND stale = 0 AND engine = ?", (shown, ENGINE)
    ).fetchone()
    return facts_rows(db, object_code) if row is None else read_document(json.loads(row[0]))


def proposal_keys(db: sqlite3.Connection) -> list[tuple[str, str]]:
    """(object, proposal) of every proposal in account under their present codes, sorted."""
    keys = [(o, p) for o, p in db.execute("SELECT object, proposal FROM live_proposals ORDER BY object, proposal")]
    known = names.load(db)
    return keys if known is None else sorted({(known.object(o), known.code("proposals", o, p)) for o, p in keys})


def stored_proposal(db: sqlite3.Connection, object_code: str, proposal_code: str) -> tuple[str, str] | None:
    """The stored key of the one proposal that a stored, present or former code names; its decisions are kept under
    that key. None where there is no such proposal, or several once had the code and none has it now."""
    asked, known = (object_code, proposal_code), names.load(db)
    if known is None:
        return asked
    found = [
        (str(o), str(p))
        for o, p in known.readings(Proposal, asked)
        if db.execute("SELECT 1 FROM proposals WHERE object = ? AND proposal = ?", (o, p)).fetchone()
    ]
    if asked in found:
        return asked
    found = [key for key in found if known.code("proposals", *key) == proposal_code] or found
    return found[0] if len(found) == 1 else None


def disagreements(db: sqlite3.Connection, objects: Iterable[str]) -> list[Disagreement]:
    """The disagreements between records of some objects that are read as one."""
    known = names.load(db)
    if known is None:
        return []
    found: list[Disagreement] = []
    views = _views(db)
    for code in sorted({known.object(code) for code in objects}):
        if not known.touched.isdisjoint(known.objects(code)):
            for sheet, record in BY_SHEET.items():
                if sheet != "survey":
                    found += _joined(db, known, record, code, views)[1]
    return found


def load_proposal(db: sqlite3.Connection, object_code: str, proposal_code: str) -> ProposalFacts:
    """A proposal with its steps in account.

    :raises NotFound: when there is none; the object's proposals are named.
    """
    views, known = _views(db), names.load(db)
    heads, steps = (
        [
            *(
                _rows(db, record, object_code, views)
                if known is None
                else _joined(db, known, record, object_code, views)[0]
            )
        ]
        for record in (Proposal, ProposalStep)
    )
    stored = stored_proposal(db, object_code, proposal_code)
    asked = None if stored is None else stored[1] if known is None else known.code("proposals", *stored)
    head = next((row for row in heads if isinstance(row, Proposal) and row.proposal == asked), None)
    if head is None:
        gone = None if stored is None else withdrawals.of_code(db, "proposals", *stored)
        if gone is not None:
            raise _unknown("proposals", f"{object_code}/{proposal_code}", gone.sentence(), None)
        listed = ", ".join(row.proposal for row in heads if isinstance(row, Proposal)) or "none"
        raise _unknown(
            "proposals",
            f"{object_code}/{proposal_code}",
            f"No such proposal is in account; {object_code} has {listed}.",
            None if heads else nearest_object(db, object_code),
        )
    return proposal_of(head, [row for row in steps if isinstance(row, ProposalStep)])


def object_history(db: sqlite3.Connection, object_code: str) -> list[dict[str, Any]]:
    """What an object's records said before, under each number it has had, in the order of the changes."""
    known = names.load(db)
    codes = (object_code,) if known is None else known.objects(object_code)
    return _history(db, f"json_extract(h.content, '$.object') IN ({', '.join('?' * len(codes))})", codes)


def anything_withdrawn(db: sqlite3.Connection) -> bool:
    """Whether any record at all is out of account; while none is, tables and their live views hold the same."""
    return bool(db.execute(_ANYTHING).fetchone()[0])


_ANYTHING = "SELECT " + " OR ".join(
    f"EXISTS (SELECT 1 FROM {record.table} WHERE withdrawn IS NOT NULL)" for record in SHEETS
)


def _views(db: sqlite3.Connection) -> str:
    """The prefix of the tables to read. The views check everything that a row hangs on, which costs ten times as much
    as the row, so they are read only when something is withdrawn."""
    return "live_" if anything_withdrawn(db) else ""


def _history(db: sqlite3.Connection, where: str, values: tuple[str, ...]) -> list[dict[str, Any]]:
    rows = db.execute(
        f"SELECT h.sheet, h.key, h.revision, h.content, c.number, {MADE_AT}, c.by, c.why, c.action FROM history AS h "
        f"JOIN changes AS c ON c.number = h.change WHERE {where} ORDER BY h.id",
        values,
    )
    return [
        {
            "sheet": sheet,
            "key": key,
            "revision": revision,
            "content": earlier_content(BY_SHEET[sheet], content),
            "change": number,
            "at": at,
            "by": by,
            "why": why,
            "action": action,
        }
        for sheet, key, revision, content, number, at, by, why, action in rows
    ]


def _joined_facts(db: sqlite3.Connection, known: Names, object_code: str, views: str) -> Facts | None:
    """The facts of an object with codes that are read as others; None where it has none, or is out of account."""
    if known.touched.isdisjoint((object_code, *known.objects(object_code))):
        return None
    about, _ = _joined(db, known, Object, object_code, views)
    if not about or not isinstance(about[0], Object):
        return None
    return facts_of(
        about[0], [row for sheet in FACT_SHEETS for row in _joined(db, known, BY_SHEET[sheet], object_code, views)[0]]
    )


def joined_rows(db: sqlite3.Connection, known: Names, record: type[Record], object_code: str) -> list[Record]:
    """The rows in account of one sheet of an object, under their present codes."""
    return _joined(db, known, record, object_code, _views(db))[0]


def _joined(
    db: sqlite3.Connection, known: Names, record: type[Record], object_code: str, views: str
) -> tuple[list[Record], list[Disagreement]]:
    return join(known, record, [row for code in known.objects(object_code) for row in _rows(db, record, code, views)])


def _facts(about: Object, by_sheet: dict[str, list[Record]]) -> Facts:
    """Like `facts_of`, for rows that SQLite has sorted by key."""
    return Facts(about, **{sheet: tuple(rows) for sheet, rows in by_sheet.items()})  # type: ignore[arg-type]


@cache
def _selection(record: type[Record]) -> tuple[tuple[str, ...], str, str]:
    """Every field of a record by name, the SQL that gives them, and its order.

    What facts do not hold is NULL, and so are blank parts of a key, which are stored as '' or 0. SQLite orders
    text by its UTF-8 and Python by code points, which is the same order.
    """
    readable = {c.name: c for c in record.columns() if c.name not in LEFT_OUT and not c.private}
    listed = []
    fields = tuple(sorted(record.model_fields))
    for name in fields:
        column = readable.get(name)
        if column is None:
            listed.append("NULL")
        elif fills_blank(record, column):
            listed.append(f"nullif({name}, {0 if column.is_number else chr(39) * 2})")
        else:
            listed.append(name)
    return fields, ", ".join(listed), ", ".join(record.key)


def _rows(db: sqlite3.Connection, record: type[Record], object_code: str, views: str) -> list[Record]:
    _, listed, order = _selection(record)
    build = _builder(record)
    return [
        build(row)
        for row in db.execute(
            f"SELECT {listed} FROM {views}{record.table} AS r WHERE r.object = ? ORDER BY {order}", (object_code,)
        )
    ]


def _grouped(db: sqlite3.Connection, record: type[Record], codes: list[str], views: str) -> dict[str, list[Record]]:
    names, listed, order = _selection(record)
    build, code = _builder(record), itemgetter(names.index("object"))
    marks = ", ".join("?" * len(codes))
    rows = db.execute(
        f"SELECT {listed} FROM {views}{record.table} AS r WHERE r.object IN ({marks}) ORDER BY {order}", codes
    )
    return {name: [build(row) for row in some] for name, some in groupby(rows, code)}


@cache
def _builder(record: type[Record]) -> Callable[[tuple[Any, ...]], Record]:
    """Makes records from stored values, which were checked when they were written.

    This does what `model_construct` does in a quarter of the time; a collection has a million records. The values are
    in the order of their names, as the canonical text needs them.
    """
    names, _, _ = _selection(record)
    filled = set(names)
    new = record.__new__
    put_values, put_filled, put_extra, put_private = (
        vars(BaseModel)[slot].__set__
        for slot in ("__dict__", "__pydantic_fields_set__", "__pydantic_extra__", "__pydantic_private__")
    )

    def build(values: tuple[Any, ...]) -> Record:
        row = new(record)
        put_values(row, dict(zip(names, values, strict=True)))
        put_filled(row, filled)
        put_extra(row, None)
        put_private(row, None)
        return row

    return build


def _unknown(sheet: str, key: str, message: str, nearest: str | None) -> NotFound:
    return NotFound([Fault("the database", sheet, None, None, key, message, nearest)])
