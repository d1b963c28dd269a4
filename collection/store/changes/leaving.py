"""Counts the records that a withdrawal takes out of account, and says who brought and who corrected them."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from collection.language.sentences import counted
from collection.records.sheets import SHEETS
from collection.store.changes.change import CORRECT
from collection.store.schema.guards import key_sql


@dataclass(frozen=True, slots=True)
class Leaving:
    """Records that leave the account, beside the survey itself: how many of each sheet; survey, lead and number for each
    survey that brought any; person and number for each who corrected any."""

    records: dict[str, int]
    brought: tuple[tuple[str, str, int], ...]
    corrected: tuple[tuple[str, int], ...]

    @property
    def count(self) -> int:
        return sum(self.records.values())

    def sentences(self, verb: str) -> list[str]:
        """How many of what, then who brought them, then who corrected them; `verb` as in takes, or took."""
        if not self.count:
            return [f"It {verb} no record out of account."]
        lines = [
            f"It {verb} {counted(self.count, 'record')} of {counted(len(self.records), 'sheet')} out of account: "
            + ", ".join(f"{sheet.replace('_', ' ')} {number}" for sheet, number in self.records.items())
            + ".",
            "Brought by " + ", ".join(f"{lead}, survey {code} ({number})" for code, lead, number in self.brought) + ".",
        ]
        if self.corrected:
            lines.append("Corrected by " + ", ".join(f"{by} ({number})" for by, number in self.corrected) + ".")
        return lines

    def as_json(self) -> dict[str, Any]:
        return {
            "records": self.records,
            "brought": [{"survey": code, "lead": lead, "records": number} for code, lead, number in self.brought],
            "corrected": [{"by": by, "records": number} for by, number in self.corrected],
        }


class Watch:
    """Notes the records in account of some objects before a change; `left` tells which are out of it afterwards.

    Both run in the transaction of the change.
    """

    def __init__(self, db: sqlite3.Connection, objects: Iterable[str]) -> None:
        self._db = db
        db.execute("CREATE TEMP TABLE IF NOT EXISTS in_account (sheet TEXT, row INTEGER, key TEXT, survey TEXT)")
        db.execute("DELETE FROM temp.in_account")
        self._note(objects)

    def _note(self, objects: Iterable[str]) -> None:
        codes = json.dumps(sorted(objects))
        for record in SHEETS:
            if record.sheet != "survey":
                same = " AND ".join(f"r.{part} = v.{part}" for part in record.key)
                self._db.execute(
                    f"INSERT INTO temp.in_account SELECT '{record.sheet}', r.rowid, {key_sql(record, 'r')}, r.survey "
                    f"FROM live_{record.table} AS v CROSS JOIN {record.table} AS r ON {same} "
                    "WHERE v.object IN (SELECT value FROM json_each(?))",
                    (codes,),
                )

    def left(self) -> Leaving:
        """What was in account and no longer is."""
        db = self._db
        for record in SHEETS:
            if record.sheet != "survey":
                same = " AND ".join(f"r.{part} = v.{part}" for part in record.key)
                db.execute(
                    f"DELETE FROM temp.in_account WHERE sheet = '{record.sheet}' AND row IN (SELECT r.rowid "
                    f"FROM temp.in_account AS a CROSS JOIN {record.table} AS r ON r.rowid = a.row "
                    f"CROSS JOIN live_{record.table} AS v ON {same} WHERE a.sheet = '{record.sheet}')"
                )
        number = dict(db.execute("SELECT sheet, count(*) FROM temp.in_account GROUP BY sheet"))
        found = Leaving(
            {record.sheet: number[record.sheet] for record in SHEETS if record.sheet in number},
            tuple(
                db.execute(
                    "SELECT s.code, s.lead, count(*) FROM temp.in_account AS a JOIN surveys AS s ON s.code = a.survey "
                    "GROUP BY s.code ORDER BY 3 DESC, 1"
                )
            ),
            tuple(
                db.execute(
                    "SELECT c.\"by\", count(DISTINCT a.sheet || '/' || a.key) FROM temp.in_account AS a "
                    "CROSS JOIN history AS h ON h.sheet = a.sheet AND h.key = a.key "
                    'CROSS JOIN changes AS c ON c.number = h.change WHERE c.action = ? GROUP BY c."by" ORDER BY 2 DESC, 1',
                    (CORRECT,),
                )
            ),
        )
        db.execute("DROP TABLE temp.in_account")
        return found
