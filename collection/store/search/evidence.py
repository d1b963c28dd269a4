"""On whose evidence a record rests: its sample or test, when, by which survey, from which source."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from typing import Any

from collection.records.sheets import BY_SHEET
from collection.store.base import keys
from collection.store.base.chain import MADE_AT
from collection.store.base.names import Names
from collection.store.schema.tables import blank_of, fills_blank

Json = dict[str, Any]
_HELD_BY = {
    "layers": ("samples", "sample"),
    "responses": ("tests", "test"),
    "treatment_steps": ("treatments", "treatment"),
    "analyses": ("samples", "sample"),
}
_WHEN = (
    "taken_on",
    "tested_on",
    "analysed_on",
    "observed_on",
    "made_on",
    "given_on",
    "ended",
    "started",
    "proposed_on",
)
_WHO = ("taken_by", "tested_by", "analysed_by", "observed_by", "made_by", "given_by", "treated_by", "proposed_by")


@dataclass(frozen=True)
class Evidence:
    """`read` is the sample, test or treatment; `by` the person who read it, else the survey's lead. Blank = not
    recorded. `amended` tells who said last what the record says now, and when, where that is not who brought it."""

    read: str | None
    method: str | None
    on: str | None
    survey: str | None
    source: str | None
    by: str | None
    amended: tuple[str, str] | None = None

    @property
    def text(self) -> str:
        """`sample S03 (cross-section), 2019-05-12, survey S24, N. N.; amended by O. O., 2026-02-03`"""
        read = self.read and f"{self.read}{f' ({self.method})' if self.method else ''}"
        parts = (
            read,
            self.on,
            self.survey and f"survey {self.survey}",
            self.source and f"source {self.source}",
            self.by,
        )
        later = "" if self.amended is None else f"; amended by {', '.join(self.amended)}"
        return ", ".join(part for part in parts if part) + later

    def as_json(self) -> Json:
        return {
            "read": self.read,
            "method": self.method,
            "on": self.on,
            "survey": self.survey,
            "source": self.source,
            "by": self.by,
            "amended": None if self.amended is None else dict(zip(("by", "on"), self.amended, strict=True)),
        }


def evidence_of(
    db: sqlite3.Connection,
    code: str,
    sheet: str,
    row: Json,
    find: Callable[[str, str, str], Json | None],
    known: Names | None = None,
) -> Evidence:
    """The evidence that one record of an object rests on.

    :param find: gives the object's row of a sheet with a code in a column.
    :param known: which stored codes are read as which.
    """
    held, column = _HELD_BY.get(sheet, (sheet, ""))
    outer = find(held, column, row[column]) if column and row.get(column) else None
    seen = {**(outer or {}), **row}
    read = f"{column} {row[column]}" if outer is not None else None
    sql, names, blanks = _stored(sheet)
    key = [code if name == "object" else row.get(name, blank) for name, blank in zip(names, blanks, strict=True)]
    stored = next(
        (
            found
            for each in ([key] if known is None else known.readings(BY_SHEET[sheet], tuple(key)))
            if (found := db.execute(sql, each).fetchone())
        ),
        None,
    )
    survey, lead, source, amended_by, amended_on = stored or (None, None, None, None, None)
    if source is None and outer is not None:
        source = outer.get("source")
    when = next((seen[name] for name in _WHEN if seen.get(name)), None)
    who = next((seen[name] for name in _WHO if seen.get(name)), None)
    method = seen.get("method") or seen.get("technique")
    amended = None if amended_by is None else (amended_by, str(amended_on)[:10])
    return Evidence(read, method, when, survey, source, who or lead, amended)


@cache
def _stored(sheet: str) -> tuple[str, tuple[str, ...], tuple[str | int | None, ...]]:
    """The question for a record's survey, source and who amended it last, the parts of its key, and what each is where it
    is blank."""
    record = BY_SHEET[sheet]
    blanks = tuple(blank_of(c) if fills_blank(record, c) else None for c in map(record.column, record.key))
    return (
        (
            f'SELECT s.code, s.lead, r.source, c."by", {MADE_AT} FROM {record.table} AS r '
            "JOIN surveys AS s ON s.code = r.survey LEFT JOIN changes AS c ON c.number = r.change AND r.revision > 1 "
            f"AND c.action IN ('amend', 'correct') WHERE {keys.where(record, 'r.')}"
        ),
        record.key,
        blanks,
    )
