"""Works out what records say when a survey is withdrawn or reinstated: its amendments go or come back with it."""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping
from itertools import pairwise
from typing import Any

from collection.records.row import Record
from collection.records.sheets import SHEETS
from collection.store.base.keys import Key
from collection.store.changes import checked_values, contents
from collection.store.changes.change import CORRECT, REINSTATE, WITHDRAW, Change, one_row
from collection.store.schema.tables import earlier_content


def settle(change: Change, survey: str) -> None:
    """Give every record that a survey ever spoke of the content that follows from the surveys in account.

    Each content counts for the cells it altered. What a withdrawn survey altered is left out; what other surveys and
    named persons altered stays, in its order. Contents written by a withdrawal or a reinstatement are copies and count
    for nothing.
    """
    db = change.db
    gone = {code for (code,) in db.execute("SELECT code FROM surveys WHERE withdrawn IS NOT NULL")}
    actions = dict(
        db.execute(
            "SELECT number, action FROM changes WHERE action = ? OR action = ? OR action = ?",
            (WITHDRAW, REINSTATE, CORRECT),
        )
    )
    for record in SHEETS:
        if record.sheet == "survey":
            continue
        for key in _spoken_of(db, record, survey):
            row = contents.present(db, record, key)
            wanted = _standing(record, key, [*contents.earlier(db, record, key), row], gone, actions)
            if any(row[name] != value for name, value in wanted.items()):
                change.update(one_row(record, key, wanted))


def _standing(
    record: type[Record], key: Key, said: list[dict[str, Any]], gone: set[str], actions: Mapping[int, str]
) -> dict[str, Any]:
    """What a record says without the surveys in `gone`, and where that comes from.

    Where only those surveys altered a cell, it keeps what the survey that brought the record said last. A record whose
    every survey is gone stays with the last of them, and so out of account.
    """
    provenance = ("survey", "from_file", "from_row")
    given = [name for name in said[0] if name not in (*provenance, "revision", "change", "withdrawn")]
    content = {name: said[0][name] for name in given}
    settled: set[str] = set()
    standing = [] if said[0]["survey"] in gone else [said[0]]
    for before, after in pairwise(said):
        action = actions.get(after["change"])
        if action in (WITHDRAW, REINSTATE):
            continue
        altered = {name: after[name] for name in given if after[name] != before[name]}
        if action == CORRECT or after["survey"] not in gone:
            content.update(altered)
            settled.update(altered)
        elif after["survey"] == said[0]["survey"]:
            content.update({name: value for name, value in altered.items() if name not in settled})
        if after["survey"] not in gone:
            standing.append(after)
    # A date and its bounds may have been altered by different surveys, so the bounds are read anew.
    last = (standing or said)[-1]
    return {**checked_values.whole(record, key, content), **{name: last[name] for name in provenance}}


def _spoken_of(db: sqlite3.Connection, record: type[Record], survey: str) -> list[Key]:
    """The keys of records that have had several contents, at least one of them by the survey."""
    keyed = {
        tuple(earlier_content(record, content)[part] for part in record.key)
        for (content,) in db.execute(
            "SELECT content FROM history WHERE sheet = ? AND survey = ?", (record.sheet, survey)
        )
    }
    keyed.update(
        db.execute(f"SELECT {', '.join(record.key)} FROM {record.table} WHERE survey = ? AND revision > 1", (survey,))
    )
    return sorted(keyed)
