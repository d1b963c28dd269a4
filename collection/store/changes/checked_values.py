"""Checks the values of one record before they are written, so that whatever the schema would refuse becomes a
sentence."""

from __future__ import annotations

import difflib
import sqlite3
from collections.abc import Mapping
from typing import Any

from pydantic import ValidationError

from collection.language.errors import BadValue, Fault, InputRefused
from collection.language.words import parts_of
from collection.records import cells
from collection.records.codes import CODE_COLUMN, PARENTS, PLACE, SPARED, sheets_of
from collection.records.columns import Column
from collection.records.row import Record
from collection.records.sheets import BY_SHEET
from collection.store.base import keys, withdrawals
from collection.store.base.keys import Key
from collection.store.schema.tables import fills_blank, stored_values

Values = Mapping[str, Any]


def read(record: type[Record], key: str, texts: Mapping[str, str]) -> dict[str, Any]:
    """Stored values from texts, one for each column that is to change; None clears a cell.

    :raises InputRefused: with every fault among them.
    """
    by_name = {column.name: column for column in record.columns()}
    found: dict[str, Any] = {}
    faults: list[Fault] = []
    for name, text in texts.items():
        column = by_name.get(name)
        try:
            if column is None:
                close = difflib.get_close_matches(name, list(by_name), n=1, cutoff=0.5)
                raise BadValue(
                    f"{record.sheet} has no such column; it has {', '.join(by_name)}.", close[0] if close else None
                )
            if name in record.key:
                raise BadValue(
                    "This is part of the record's key, which stays as it is: withdraw the record and enter it anew."
                )
            value = cells.read_cell(column, text, decimal_comma=True)
            if value is None:
                raise BadValue("A blank changes nothing. Write `not recorded` to clear the cell.")
            found[name] = None if value is cells.CLEAR else value
        except BadValue as fault:
            faults.append(_fault(record, key, name, text, fault))
    if faults:
        raise InputRefused(faults)
    return found


def whole(record: type[Record], key: Key, row: Values) -> dict[str, Any]:
    """A row's cells as they are stored, with the bounds of its dates.

    :raises InputRefused: with every fault among them.
    """
    name = keys.shown(record.sheet, key)
    by_name = {column.name: column for column in record.columns()}
    values = {n: None if fills_blank(record, c) and row[n] in ("", 0) else row[n] for n, c in by_name.items()}
    try:
        return stored_values(record.model_validate(values))
    except ValidationError as error:
        raise InputRefused(
            [
                _fault(
                    record,
                    name,
                    str(e["loc"][0]) if e["loc"] else None,
                    _text(e["input"]),
                    BadValue(_sentence(by_name.get(str(e["loc"][0])) if e["loc"] else None, e["msg"])),
                )
                for e in error.errors()
            ]
        ) from error


def references(db: sqlite3.Connection, record: type[Record], key: Key, row: Values, changed: Values) -> None:
    """Check that changed references lead to records in account, and that nothing comes to lie within itself.

    :raises InputRefused: with every reference that leads nowhere.
    """
    faults = []
    name = keys.shown(record.sheet, key)
    for column in record.columns():
        value = row[column.name]
        moved = column.name in changed or (column.reference == "layers" and "sample" in changed)
        if column.reference == "layers" and row["sample"] in (None, ""):
            continue
        if moved and value not in (None, "", 0):
            for part in parts_of(value) if column.kind == "list" else (value,):
                fault = _lost(db, column, row, part)
                if fault is not None:
                    faults.append(_fault(record, name, column.name, str(part), fault))
    if record.sheet == "analyses" and row["position"] is not None and row["sample"] is None:
        faults.append(
            _fault(
                record,
                name,
                "position",
                str(row["position"]),
                BadValue("A position says which layer of a sample is meant, so the sample has to be named as well."),
            )
        )
    if PARENTS.get(record.sheet) in changed:
        fault = _circle(db, record, key, row)
        if fault is not None:
            faults.append(_fault(record, name, PARENTS[record.sheet], None, fault))
    if record.sheet == "zones" and {"within", "component"} & set(changed):
        for inner, outer in _across_parts(db, row):
            faults.append(
                _fault(
                    record,
                    name,
                    None,
                    None,
                    BadValue(
                        f"{inner} would lie within {outer}, which is on another part. A zone is a part of a zone on the same "
                        "part: correct within or component."
                    ),
                )
            )
    if faults:
        raise InputRefused(faults)


def _across_parts(db: sqlite3.Connection, row: Values) -> list[tuple[str, str]]:
    """A zone and the one it would lie within, where these are on two parts; for the zone itself and those in it."""
    own = (row["object"], row["component"])
    return [
        *(
            (str(row["zone"]), str(outer))
            for (outer,) in db.execute(
                "SELECT zone FROM live_zones WHERE object = ? AND component <> ? AND zone = ?", (*own, row["within"])
            )
        ),
        *(
            (str(inner), str(row["zone"]))
            for (inner,) in db.execute(
                "SELECT zone FROM live_zones WHERE object = ? AND component <> ? AND within = ? AND zone <> within",
                (*own, row["zone"]),
            )
        ),
    ]


def _lost(db: sqlite3.Connection, column: Column, row: Values, value: Any) -> BadValue | None:
    target, object_code = column.reference, row.get("object")
    names: tuple[str, ...]
    parts: tuple[Any, ...]
    if column.kind == "coat":
        value, target = cells.coat(value)[0], "schemes"
    if target is None:
        return None
    if target == PLACE:
        table, names, parts = "live_places", ("object", "place"), (object_code, value)
    elif target == SPARED:
        return _not_spared(db, object_code, value)
    elif target == "layers":
        table, names, parts = "live_layers", ("object", "sample", "position"), (object_code, row["sample"], value)
    elif target == "objects":
        table, names, parts = "live_objects", ("object",), (value,)
    else:
        goal = BY_SHEET[target]
        table, names, parts = f"live_{goal.table}", goal.key[:2], (object_code, value)
    same = " AND ".join(f"{part} = ?" for part in names)
    if db.execute(f"SELECT 1 FROM {table} WHERE {same}", parts).fetchone() is not None:
        return None
    before = " AND ".join(f"{part} = ?" for part in names[:-1]) or "1"
    near = [
        str(code)
        for (code,) in db.execute(f"SELECT DISTINCT {names[-1]} FROM {table} WHERE {before} LIMIT 20000", parts[:-1])
    ]
    close = difflib.get_close_matches(str(value), near, n=1, cutoff=0.5)
    gone = None if target == "layers" else withdrawals.of_code(db, target, object_code, str(value))
    if gone is not None:
        return BadValue(gone.sentence())
    what = "zone or part" if target == "place" else f"record in {target}"
    return BadValue(f"There is no such {what} in account.", close[0] if close else None)


def _not_spared(db: sqlite3.Connection, object_code: Any, code: Any) -> BadValue | None:
    """What is wrong with a code that is to be left out: it has to name one reserve, or one zone or part."""
    known = [
        (sheet == "reserves", str(found))
        for sheet in sheets_of(SPARED)
        for (found,) in db.execute(
            f"SELECT DISTINCT {CODE_COLUMN[sheet]} FROM live_{sheet} WHERE object = ?", (object_code,)
        )
    ]
    kinds = {is_reserve for is_reserve, found in known if found == code}
    if len(kinds) == 1:
        return None
    if kinds:
        return BadValue("Both a reserve and a place have this code, so nobody can tell which is left out: rename one.")
    close = difflib.get_close_matches(str(code), [found for _, found in known], n=1, cutoff=0.5)
    return BadValue("There is no such reserve, zone or part in account.", close[0] if close else None)


def _circle(db: sqlite3.Connection, record: type[Record], key: Key, row: Values) -> BadValue | None:
    column, code = PARENTS[record.sheet], CODE_COLUMN[record.sheet]
    start, above = row[code], row[column]
    order = " ORDER BY observed_on_latest DESC" if "observed_on" in record.key else ""
    within = "" if record.sheet == "objects" else "object = ? AND "
    way: list[Any] = []
    while above is not None and above not in way:
        if above == start:
            by_way = f", by way of {' and '.join(way)}" if way else ""
            where = "take its own place" if column in ("instead_of", "replaced_by") else "lie within itself"
            return BadValue(f"{start} would come to {where}{by_way}.")
        way.append(above)
        parts = (above,) if record.sheet == "objects" else (key[0], above)
        found = db.execute(
            f"SELECT {column} FROM live_{record.table} WHERE {within}{code} = ? AND {column} IS NOT NULL"
            f"{order} LIMIT 1",
            parts,
        ).fetchone()
        above = found[0] if found else None
    return None


def _sentence(column: Column | None, message: str) -> str:
    if column is None:
        return message
    if column.is_number and column.low is not None and column.high is not None:
        return f"{column.name} is {column.low:g} to {column.high:g}{' ' + column.unit if column.unit else ''}."
    if column.words is not None:
        return f"Allowed: {', '.join(column.words.words)}."
    return f"{column.name} is always needed." if column.required else f"{column.name} cannot hold this."


def _text(value: object) -> str | None:
    return value if isinstance(value, str) else None if value is None or isinstance(value, dict) else str(value)


def _fault(record: type[Record], key: str, column: str | None, value: str | None, fault: BadValue) -> Fault:
    return Fault(f"{record.sheet} {key}", record.sheet, None, column, value, str(fault), fault.nearest)
