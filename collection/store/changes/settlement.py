"""Works out what records say when a survey is withdrawn or reinstated: its amendments go or come back with it.

A record belongs to the survey that brought it. Another survey that amends it alters cells and leaves it where it
belongs; the change says which survey that was. Only a record whose survey is withdrawn is taken over.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

from collection.records.row import Record
from collection.records.sheets import SHEETS
from collection.store.base.chain import MADE_AT
from collection.store.base.keys import Key
from collection.store.changes import checked_values, contents
from collection.store.changes.change import AMEND, CORRECT, REINSTATE, WITHDRAW, Change, one_row
from collection.store.schema.tables import earlier_content

PROVENANCE = ("survey", "from_file", "from_row")


@dataclass(frozen=True, slots=True)
class Altering:
    """A change that altered records: what kind it was, and for an amendment the survey that made it."""

    number: int
    action: str
    survey: str | None
    by: str
    at: str
    why: str


Alterings = Mapping[int, Altering]


def alterings(db: sqlite3.Connection) -> Alterings:
    """Every amendment, correction, withdrawal and reinstatement, by the number of the change."""
    return {
        number: Altering(number, action, subject if action == AMEND else None, by, at, why)
        for number, action, subject, by, at, why in db.execute(
            f'SELECT c.number, c.action, c.subject, c."by", {MADE_AT}, c.why FROM changes AS c '
            "WHERE action = ? OR action = ? OR action = ? OR action = ?",
            (AMEND, CORRECT, WITHDRAW, REINSTATE),
        )
    }


def withdrawn_surveys(db: sqlite3.Connection) -> frozenset[str]:
    return frozenset(code for (code,) in db.execute("SELECT code FROM surveys WHERE withdrawn IS NOT NULL"))


def settle(change: Change, survey: str) -> None:
    """Give every record that a survey ever spoke of the content that follows from the surveys in account.

    Each content counts for the cells it altered. What a withdrawn survey altered is left out; what other surveys and
    named persons altered stays, in its order. Contents written by a withdrawal or a reinstatement are copies and count
    for nothing.
    """
    db = change.db
    gone, known = withdrawn_surveys(db), alterings(db)
    for record in SHEETS:
        if record.sheet == "survey":
            continue
        for key in _spoken_of(db, record, survey):
            row = contents.present(db, record, key)
            said = [*contents.earlier(db, record, key), row]
            cells, _ = standing_cells(said, gone, known)
            # A date and its bounds may have been altered by different surveys, so the bounds are read anew.
            wanted = {**checked_values.whole(record, key, cells), **_provenance(said, gone, known)}
            if any(row[name] != value for name, value in wanted.items()):
                change.update(one_row(record, key, wanted))


def standing_cells(
    said: list[dict[str, Any]], gone: Collection[str], known: Alterings
) -> tuple[dict[str, Any], dict[str, Altering]]:
    """What a record says without the surveys in `gone`, and for each altered cell what altered it last.

    Where only those surveys altered a cell, it keeps what the survey that brought the record said last.

    :param said: every content it had, oldest first.
    """
    given = [name for name in said[0] if name not in (*PROVENANCE, "revision", "change", "withdrawn")]
    content = {name: said[0][name] for name in given}
    settled: dict[str, Altering] = {}
    for before, after in pairwise(said):
        altering = known.get(after["change"])
        if altering is None or altering.action in (WITHDRAW, REINSTATE):
            continue
        altered = {name: after[name] for name in given if after[name] != before[name]}
        if altering.survey is None or altering.survey not in gone:
            content.update(altered)
            settled.update(dict.fromkeys(altered, altering))
        elif altering.survey == said[0].get("survey"):
            content.update({name: value for name, value in altered.items() if name not in settled})
    return content, settled


def _provenance(said: list[dict[str, Any]], gone: Collection[str], known: Alterings) -> dict[str, Any]:
    """Where a record comes from: the last survey in account that it belonged to. A record whose every survey is gone
    stays with the last of them, and so out of account."""
    held = [said[0], *(each for each in said[1:] if (by := known.get(each["change"])) and by.action == AMEND)]
    last = next((each for each in reversed(held) if each["survey"] not in gone), held[-1])
    return {name: last[name] for name in PROVENANCE}


def _spoken_of(db: sqlite3.Connection, record: type[Record], survey: str) -> list[Key]:
    """The keys of records that have had several contents, and that a survey brought, took over or amended."""
    found = {
        tuple(earlier_content(record, content)[part] for part in record.key)
        for (content,) in db.execute(
            "SELECT content FROM history WHERE sheet = ? AND (survey = ? OR change IN "
            "(SELECT number FROM changes WHERE action = ? AND subject = ?))",
            (record.sheet, survey, AMEND, survey),
        )
    }
    return sorted(found)
