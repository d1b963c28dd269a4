"""What happened to an object's records, change by change: who, when and why, and what a cell said before and after.

What private cells and notes said is left to the JSON, so that nobody shows it by accident.
"""

from __future__ import annotations

import json
import sqlite3
from collections import Counter, defaultdict
from dataclasses import dataclass, field
from typing import Any

from collection.language.sentences import counted
from collection.language.words import SHEET_NAMES
from collection.records.row import Record
from collection.records.sheets import SHEETS, Survey
from collection.store.base import keys, names
from collection.store.base.chain import MADE_AT
from collection.store.base.listed_cells import contents
from collection.store.schema.tables import earlier_content

BLANK = "not recorded"
_DECIDED = {"approve": "was approved", "refuse": "was refused", "defer": "was deferred"}


@dataclass(frozen=True)
class Change:
    """One change, with what it did to the object's records in sentences."""

    number: int
    at: str
    by: str
    why: str
    action: str
    sentences: tuple[str, ...]


@dataclass
class _Told:
    brought: dict[int, Counter[str]] = field(default_factory=lambda: defaultdict(Counter))
    said: dict[int, list[str]] = field(default_factory=lambda: defaultdict(list))


def changes_of(db: sqlite3.Connection, object_code: str) -> list[Change]:
    """Everything that was done to an object's records under each of its numbers, oldest first."""
    known = names.load(db)
    codes = (object_code,) if known is None else known.objects(object_code)
    told = _Told()
    surveys: set[str] = set()
    for record in SHEETS:
        if record is not Survey:
            for code in codes:
                _records(db, record, "object = ?", code, told)
                surveys |= {
                    survey
                    for (survey,) in db.execute(f"SELECT DISTINCT survey FROM {record.table} WHERE object = ?", (code,))
                }
    for survey in sorted(surveys):
        _records(db, Survey, "code = ?", survey, told)
    for code in codes:
        for proposal, decision, steps, reason, change in db.execute(
            "SELECT proposal, decision, steps, reason, change FROM decisions WHERE object = ?", (code,)
        ):
            some = f", step {', '.join(map(str, json.loads(steps)))}," if steps else ""
            told.said[change].append(f"proposal {proposal}{some} {_DECIDED[decision]}: {reason}")
        for proposal, advice, reason, change in db.execute(
            "SELECT proposal, advice, reason, change FROM answers WHERE object = ?", (code,)
        ):
            told.said[change].append(f"proposal {proposal} against advice {advice}: {reason}")
    _listed(db, object_code, told)
    for sheet, key, other, holds, change in db.execute(
        'SELECT sheet, "key", same_as, holds, change FROM same_things ORDER BY change'
    ):
        if names.node_of(sheet, key)[1] in codes or names.node_of(sheet, other)[1] in codes:
            told.said[change].append(
                f"{SHEET_NAMES[sheet]} {key} " + (f"is read as {other}" if holds else f"is no longer read as {other}")
            )
    return [_change(db, number, told) for number in sorted({*told.brought, *told.said})]


def _listed(db: sqlite3.Connection, object_code: str, told: _Told) -> None:
    """What changed in the cells of lists that no column took whole; what they said stands in `show --listed`."""
    seen: set[tuple[str, str]] = set()
    new: Counter[int] = Counter()
    for cell in contents(db, object_code):
        if (cell.survey, cell.heading) in seen:
            told.said[cell.change].append(f"cell of {cell.list or 'a list'}, {cell.heading}: changed (private)")
        else:
            new[cell.change] += 1
        seen.add((cell.survey, cell.heading))
    for change, count in new.items():
        told.said[change].insert(0, f"kept {counted(count, 'cell')} of a list that no column took whole (private)")


def _records(db: sqlite3.Connection, record: type[Record], where: str, code: str, told: _Told) -> None:
    path = "object" if record is not Survey else "code"
    before: dict[tuple[Any, ...], list[tuple[dict[str, Any], int]]] = defaultdict(list)
    for content, change in db.execute(
        f"SELECT content, change FROM history WHERE sheet = ? AND json_extract(content, '$.{path}') = ? ORDER BY id",
        (record.sheet, code),
    ):
        row = earlier_content(record, content)
        before[tuple(row[name] for name in record.key)].append((row, change))
    cursor = db.execute(f"SELECT * FROM {record.table} WHERE {where}", (code,))
    columns = [column[0] for column in cursor.description]
    for values in cursor:
        now = dict(zip(columns, values, strict=True))
        key = tuple(now[name] for name in record.key)
        earlier = before.get(key, [])
        told.brought[earlier[0][0]["change"] if earlier else now["change"]][record.sheet] += 1
        after = [*(row for row, _ in earlier[1:]), now]
        for (old, change), new in zip(earlier, after, strict=False):
            said = _difference(record, key, old, new)
            if said:
                told.said[change].append(said)


def _difference(record: type[Record], key: tuple[Any, ...], old: dict[str, Any], new: dict[str, Any]) -> str | None:
    shown = keys.shown(record.sheet, key)
    code = shown.removeprefix(f"{key[0]}/") if len(key) > 1 else shown
    name = f"{SHEET_NAMES.get(record.sheet, record.sheet)} {code}"
    if old.get("withdrawn") is None and new.get("withdrawn") is not None:
        return f"{name} was taken out of account"
    if old.get("withdrawn") is not None and new.get("withdrawn") is None:
        return f"{name} counts again"
    cells = [
        f"{column.name}: changed (private)"
        if column.private
        else f"{column.name}: {_cell(old.get(column.name))} → {_cell(new.get(column.name))}"
        for column in record.columns()
        if old.get(column.name) != new.get(column.name)
    ]
    if not cells:
        return f"{name}: brought again by survey {new['survey']}" if old.get("survey") != new.get("survey") else None
    return f"{name}, " + "; ".join(cells)


def _cell(value: Any) -> str:
    if value is None:
        return BLANK
    return f"{value:g}" if isinstance(value, float) else f"“{value}”" if isinstance(value, str) else str(value)


def _change(db: sqlite3.Connection, number: int, told: _Told) -> Change:
    at, by, why, action = db.execute(
        f'SELECT {MADE_AT}, c."by", c.why, c.action FROM changes AS c WHERE c.number = ?', (number,)
    ).fetchone()
    sentences = []
    if number in told.brought:
        own = {sheet: count for sheet, count in told.brought[number].items() if sheet != "survey"}
        if own:
            sentences.append(
                "brought "
                + ", ".join(
                    f"{count} {SHEET_NAMES[sheet] if count == 1 else sheet.replace('_', ' ')}"
                    for sheet, count in own.items()
                )
            )
    return Change(number, at, by, why, action, (*sentences, *told.said.get(number, ())))
