"""Puts a staged package under the codes that things are stored with, where it uses names they were given later."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from collection.records.codes import PLACE, SPARED, sheets_of
from collection.records.sheets import BY_SHEET
from collection.store.base import names
from collection.store.base.names import Names, Node
from collection.store.stage.stage import Stage


@dataclass(frozen=True, slots=True)
class Twice:
    """A staged row that names a thing by a later code, although another row has the same key under the stored one."""

    sheet: str
    row: int
    column: str
    code: str
    stored: str


@dataclass(frozen=True, slots=True)
class Former:
    """A staged row that brings a thing under a code it no longer has."""

    sheet: str
    row: int
    column: str
    code: str
    now: str
    by: str
    why: str
    at: str


def former_codes(stage: Stage) -> list[Former]:
    """Rows of the package whose own code is one that the thing had before; each code once."""
    known = names.load(stage.db)
    found = []
    for node in sorted(known.called) if known is not None else ():
        sheet, own, _ = node
        assert known is not None
        column = "object" if sheet == "objects" else BY_SHEET[sheet].key[1]
        made = [each for each in known.statements if each.action == names.RENAME and each.node == node]
        now = known.called[node]
        for former in (node, *(each.other for each in made if (each.other[2] or each.other[1]) != now)):
            if not stage.holds(sheet, "object", column):
                continue
            written = former[2] or former[1]
            numbers = {own} | {
                name[1] for name, thing in known.stored_as.items() if name[0] == "objects" and thing[1] == own
            }
            marks = ", ".join("?" * len(numbers))
            row = next(
                stage.select(
                    f"SELECT min(row) FROM stage.{sheet} WHERE {column} = ?"
                    + ("" if sheet == "objects" else f" AND object IN ({marks})"),
                    (written,) if sheet == "objects" else (written, *sorted(numbers)),
                )
            )[0]
            if row is not None:
                last = made[-1]
                found.append(Former(sheet, row, column, written, now, last.by, last.why, last.at))
    return found


def put_under_stored_codes(stage: Stage) -> list[Twice]:
    """Replace each present or former name of a thing by its stored code, in every staged cell.

    Where the package has another row with the same key under the stored code, the row is left out and returned.
    """
    known = names.load(stage.db)
    if known is None:
        return []
    # Objects first: the codes of the others are looked for under the stored numbers.
    renamed = sorted(known.stored_as.items(), key=lambda pair: (pair[0][0] != "objects", pair))
    return [twice for name, node in renamed for twice in _replaced(stage, known, name, node)]


def _replaced(stage: Stage, known: Names, name: Node, node: Node) -> Iterator[Twice]:
    kind = name[0]
    code, stored = (name[1], node[1]) if kind == "objects" else (name[2], node[2])
    targets = {kind} | ({PLACE} if kind in sheets_of(PLACE) else set())
    for sheet in stage.columns:
        if sheet == "survey" or not stage.holds(sheet, "object"):
            continue
        for column, target in names.coded_columns(BY_SHEET[sheet]):
            if not stage.holds(sheet, column):
                continue
            own, values = ("", ()) if kind == "objects" else (" AND object = ?", (node[1],))
            if target == "coat" and kind == "schemes":
                stage.db.execute(
                    f"UPDATE stage.{sheet} SET {column} = ? || substr({column}, ?) WHERE ({column} = ? OR "
                    f"substr({column}, 1, ?) = ?){own}",
                    (stored, len(code) + 1, code, len(code) + 1, f"{code}/", *values),
                )
            elif target == SPARED and kind in sheets_of(SPARED):
                # One of several, each with the sign between before and after it.
                cell = f"replace('; ' || {column} || '; ', '; ' || ? || '; ', '; ' || ? || '; ')"
                stage.db.execute(
                    f"UPDATE stage.{sheet} SET {column} = substr({cell}, 3, length({cell}) - 4) "
                    f"WHERE instr('; ' || {column} || '; ', '; ' || ? || '; '){own}",
                    (code, stored, code, stored, code, *values),
                )
            elif target in targets:
                stage.db.execute(
                    f"UPDATE OR IGNORE stage.{sheet} SET {column} = ? WHERE {column} = ?{own}", (stored, code, *values)
                )
                left = [
                    row
                    for (row,) in stage.select(
                        f"SELECT row FROM stage.{sheet} WHERE {column} = ?{own} ORDER BY row", (code, *values)
                    )
                ]
                # Said here, so that nothing else is said of the same cell.
                stage.db.execute(f"UPDATE stage.{sheet} SET {column} = NULL WHERE {column} = ?{own}", (code, *values))
                yield from (Twice(sheet, row, column, code, stored) for row in left)
