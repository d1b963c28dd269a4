"""Reading records in account: the facts of one object, a proposal, what a record said before."""

from __future__ import annotations

import difflib
import json
import sqlite3
from typing import Any

from collection.compute import ENGINE
from collection.errors import Fault, InputRefused
from collection.facts import FACT_SHEETS, Facts, ProposalFacts, facts_of, proposal_of, read_document
from collection.records import BY_SHEET, Object, Proposal, ProposalStep, Record


def object_codes(db: sqlite3.Connection) -> list[str]:
    """The codes of all objects in account, sorted."""
    return [code for (code,) in db.execute("SELECT object FROM live_objects ORDER BY object")]


def nearest_object(db: sqlite3.Connection, text: str) -> str | None:
    """The stored object code most like a text."""
    close = difflib.get_close_matches(text, object_codes(db), n=1, cutoff=0.5)
    return close[0] if close else None


def facts_rows(db: sqlite3.Connection, object_code: str) -> Facts:
    """An object's facts straight from the records in account.

    :raises InputRefused: when no such object is in account; the nearest code is named.
    """
    found = _rows(db, Object, object_code)
    if not found:
        raise _unknown("objects", object_code, "No such object is in account.", nearest_object(db, object_code))
    about = found[0]
    assert isinstance(about, Object)
    return facts_of(about, [row for sheet in FACT_SHEETS for row in _rows(db, BY_SHEET[sheet], object_code)])


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
    heads = [row for row in _rows(db, Proposal, object_code) if isinstance(row, Proposal)]
    head = next((row for row in heads if row.proposal == proposal_code), None)
    if head is None:
        names = ", ".join(row.proposal for row in heads) or "none"
        raise _unknown("proposals", f"{object_code}/{proposal_code}",
                       f"No such proposal is in account; {object_code} has {names}.",
                       None if heads else nearest_object(db, object_code))
    return proposal_of(head, [row for row in _rows(db, ProposalStep, object_code) if isinstance(row, ProposalStep)])


def history_of(db: sqlite3.Connection, sheet: str, key: str) -> list[dict[str, Any]]:
    """What one record said before, oldest first, with who replaced it, when and why."""
    return _history(db, "h.sheet = ? AND h.key = ?", (sheet, key))


def object_history(db: sqlite3.Connection, object_code: str) -> list[dict[str, Any]]:
    """What an object's records said before, in the order of the changes."""
    return _history(db, "json_extract(h.content, '$.object') = ?", (object_code,))


def _history(db: sqlite3.Connection, where: str, values: tuple[str, ...]) -> list[dict[str, Any]]:
    rows = db.execute(
        "SELECT h.sheet, h.key, h.revision, h.content, c.number, c.at, c.by, c.why, c.action FROM history AS h "
        f"JOIN changes AS c ON c.number = h.change WHERE {where} ORDER BY h.id", values)
    return [{"sheet": sheet, "key": key, "revision": revision, "content": json.loads(content), "change": number,
             "at": at, "by": by, "why": why, "action": action}
            for sheet, key, revision, content, number, at, by, why, action in rows]


def _rows(db: sqlite3.Connection, record: type[Record], object_code: str) -> list[Record]:
    names = [column.name for column in record.columns()]
    listed = ", ".join(f'"{name}"' for name in names)
    # A blank part of a key is stored as empty text or 0, everything else that is blank as NULL.
    return [record.model_construct(**{name: value if value not in ("", None) and not (value == 0 and name in record.key)
                                      else None for name, value in zip(names, row, strict=True)})
            for row in db.execute(f"SELECT {listed} FROM live_{record.table} WHERE object = ?", (object_code,))]


def _unknown(sheet: str, key: str, message: str, nearest: str | None) -> InputRefused:
    return InputRefused([Fault("the database", sheet, None, None, key, message, nearest)])
