"""Whose a stored sample, test or treatment is, and rows by which another survey would add to it.

Such a record belongs to the survey that brought it. Two people who use one code for two things are found out by rows
that would go under the other's.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import count

from collection.language.words import SHEET_NAMES
from collection.records.codes import CODE_COLUMN, fold
from collection.records.columns import LONGEST_CODE
from collection.records.sheets import BY_SHEET
from collection.store.base import names, withdrawals
from collection.store.changes.comparison import same_key
from collection.store.schema.guards import key_sql
from collection.store.stage.stage import Stage

PARTS_OF = {"layers": "samples", "responses": "tests", "treatment_steps": "treatments"}
"""Sheets whose rows are a part of a record of another sheet. What only points to one, such as an analysis or a picture
of a sample, may come from anybody."""
_DAY = {"samples": "taken_on", "tests": "tested_on", "treatments": "started"}


@dataclass(frozen=True, slots=True)
class Further:
    """A staged row that would become a part of a record of another survey."""

    row: int
    object: str
    code: str


def further_rows(stage: Stage, sheet: str, survey: str) -> Iterator[Further]:
    """New rows of one sheet whose sample, test or treatment another survey brought, and this one never held."""
    record, owner = BY_SHEET[sheet], BY_SHEET[PARTS_OF[sheet]]
    code = CODE_COLUMN[owner.sheet]
    if not stage.holds(sheet, *record.key[:2]):
        return
    (any_stored,) = next(stage.select(f"SELECT EXISTS (SELECT 1 FROM main.{owner.table})"))
    if not any_stored:
        return
    stage.db.execute("DROP TABLE IF EXISTS stage.of_others")
    stage.db.execute("CREATE TABLE stage.of_others (object TEXT, code TEXT, PRIMARY KEY (object, code))")
    # The staged index has every pair once, so that each sample is asked for once and not for each of its coats.
    stage.db.execute(
        f"INSERT INTO stage.of_others SELECT p.object, p.{code} FROM (SELECT DISTINCT object, {code} FROM stage.{sheet}) "
        f"AS s CROSS JOIN main.{owner.table} AS p ON p.object = s.object AND p.{code} = s.{code} "
        "WHERE p.survey <> ? AND NOT EXISTS (SELECT 1 FROM main.history AS h "
        f"WHERE h.sheet = '{owner.sheet}' AND h.key = {key_sql(owner, 'p')} AND h.survey = ?)",
        (survey, survey),
    )
    for found in stage.select(
        f"SELECT s.row, s.object, s.{code} FROM stage.of_others AS o CROSS JOIN stage.{sheet} AS s "
        f"ON s.object = o.object AND s.{code} = o.code WHERE NOT EXISTS "
        f"(SELECT 1 FROM main.{record.table} AS m WHERE {same_key(stage, record)}) ORDER BY s.row"
    ):
        yield Further(*found)


def whose(stage: Stage, sheet: str, object_code: str, code: str) -> str:
    """Whose a stored sample, test or treatment is, and what to do where another thing is meant: one sentence or two."""
    record, db = BY_SHEET[sheet], stage.db
    day, survey, lead = db.execute(
        f"SELECT r.{_DAY[sheet]}, r.survey, s.lead FROM main.{record.table} AS r "
        f"JOIN main.surveys AS s ON s.code = r.survey WHERE r.object = ? AND r.{CODE_COLUMN[sheet]} = ?",
        (object_code, code),
    ).fetchone()
    gone = withdrawals.withdrawal(db, sheet, (object_code, code))
    return (
        f"{code} is {lead}'s {SHEET_NAMES[sheet]} of {day or f'the survey {survey}'}"
        + (f", and does not count. {gone.sentence()} If" if gone else "; if")
        + f" yours is another, give it a free code, such as {free_code(stage, sheet, object_code, code)}."
    )


def free_code(stage: Stage, sheet: str, object_code: str, code: str) -> str:
    """The next code after one that neither the object's records nor the package use for this kind, or nearly so."""
    record, column = BY_SHEET[sheet], CODE_COLUMN[sheet]
    taken = {
        fold(found)
        for (found,) in stage.db.execute(f"SELECT {column} FROM main.{record.table} WHERE object = ?", (object_code,))
    }
    if stage.holds(sheet, "object", column):
        taken |= {
            fold(found)
            for (found,) in stage.select(f"SELECT {column} FROM stage.{sheet} WHERE object = ?", (object_code,))
        }
    known = names.load(stage.db)
    taken |= {fold(name[2]) for name in (known.stored_as if known is not None else ()) if name[0] == sheet}
    return next(free for free in _after(code) if fold(free) not in taken and len(free) <= LONGEST_CODE)


def _after(code: str) -> Iterator[str]:
    """`S61`, `S62` and so on after `S60`; the last number in the code counts up, and keeps its width."""
    number = re.search(r"[0-9]{1,9}(?=[^0-9]*\Z)", code)
    start, digits, end = (
        (f"{code[: LONGEST_CODE - 10]}-", "1", "")
        if number is None
        else (code[: number.start()], number[0], code[number.end() :])
    )
    for follower in count(int(digits) + 1):
        yield f"{start}{follower:0{len(digits)}d}{end}"
