"""Questions about a staged package as a whole, each one SQL statement over all rows.

With a database attached as `main` the answers take its records into account; `Against.NOTHING` asks about the package
alone. Every function yields rows, which the caller puts into sentences.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from enum import Enum

from collection.records.codes import CODE_COLUMN, OWN_CODES, PARENTS, PLACE, fold, sheets_of
from collection.records.columns import Column
from collection.records.sheets import BY_SHEET, Record
from collection.store.schema.tables import BEYOND_ASCII, LOOSE, PARTS, blank_of, fills_blank
from collection.store.stage.stage import Stage


class Against(Enum):
    """What a package is compared with."""

    NOTHING = 0
    DATABASE = 1


@dataclass(frozen=True, slots=True)
class Lost:
    """A cell that points to nothing: its staged row, its object, the code written."""

    row: int
    object: str
    code: str
    withdrawn: bool


def repeated_keys(stage: Stage, record: type[Record]) -> Iterator[tuple[int, int]]:
    """Rows that repeat the key of an earlier row, each with that row."""
    if record.sheet not in stage.doubled:
        return
    parts = [name for name in record.key if name in stage.columns[record.sheet]]
    same = " AND ".join(f"b.{part} IS a.{part}" for part in parts)
    whole = " AND ".join(f"a.{part} IS NOT NULL" for part in parts)
    for row in stage.select(
        f"SELECT a.row, min(b.row) FROM stage.{record.sheet} AS a JOIN stage.{record.sheet} AS b "
        f"ON {same} AND b.row < a.row WHERE {whole} GROUP BY a.row ORDER BY a.row"
    ):
        yield row[0], row[1]


def same_rows(stage: Stage, sheet: str, row: int, other: int) -> bool:
    """Whether two staged rows of a sheet say the same in every cell."""
    same = " AND ".join(f'a."{name}" IS b."{name}"' for name in stage.columns[sheet])
    return bool(
        next(
            stage.select(
                f"SELECT {same} FROM stage.{sheet} AS a, stage.{sheet} AS b WHERE a.row = ? AND b.row = ?", (row, other)
            )
        )[0]
    )


def lost_references(stage: Stage, record: type[Record], column: Column, against: Against) -> Iterator[Lost]:
    """Cells of one column, or parts of them, that point to no record in the package or in account."""
    if column.kind == "coat":
        yield from _lost_coats(stage, record.sheet, column.name, against)
        return
    if column.kind == "list":
        yield from _lost_parts(stage, record.sheet, column, against)
        return
    target = column.reference
    assert target is not None
    if not stage.holds(record.sheet, "object", column.name):
        return
    cell = f"s.{column.name}"
    given = f"{cell} <> {blank_of(column)!r}" if fills_blank(record, column) else f"{cell} IS NOT NULL"
    if target != "objects":
        # A row whose own object is blank or wrong is a fault already.
        given += " AND s.object IS NOT NULL"
    if target == "objects":
        found = [_found(stage, against, "objects", (("object", cell),))]
    elif target == PLACE:
        given += f" AND {cell} <> 'all'"
        found = _found_in(stage, against, target, cell)
    elif target == "layers":
        if not stage.holds(record.sheet, "sample"):
            return
        given += " AND s.sample <> ''"
        found = [_found(stage, against, "layers", (("object", "s.object"), ("sample", "s.sample"), ("position", cell)))]
    else:
        own = "s.object" if record.sheet != "survey" else "''"
        found = [_found(stage, against, target, (("object", own), (CODE_COLUMN[target], cell)))]
    absent = " AND ".join(f"NOT ({here} OR {there})" for here, there, _ in found)
    if record.key[:2] == ("object", column.name) and record.sheet not in stage.doubled:
        # The staged index has every pair once, and asking them is several times faster than asking every row.
        pairs = f"(SELECT DISTINCT object, {column.name} FROM stage.{record.sheet})"
        if not next(stage.select(f"SELECT EXISTS (SELECT 1 FROM {pairs} AS s WHERE {given} AND {absent})"))[0]:
            return
    kept = " OR ".join(stored for _, _, stored in found)
    for row in stage.select(
        f"SELECT s.row, s.object, {cell}, {kept} FROM stage.{record.sheet} AS s "
        f"WHERE {given} AND {absent} ORDER BY s.row"
    ):
        yield Lost(row[0], row[1], str(row[2]), bool(row[3]))


def _found(stage: Stage, against: Against, sheet: str, on: tuple[tuple[str, str], ...]) -> tuple[str, str, str]:
    """SQL for: stands in the package; is in account; is stored at all."""
    record = BY_SHEET[sheet]
    same = " AND ".join(f"t.{name} = {cell}" for name, cell in on)
    staged = all(stage.holds(sheet, name) for name, _ in on)
    here = f"EXISTS (SELECT 1 FROM stage.{sheet} AS t WHERE {same})" if staged else "0"
    if against is Against.NOTHING:
        return here, "0", "0"
    there = f"EXISTS (SELECT 1 FROM main.live_{record.table} AS t WHERE {same})"
    stored = f"EXISTS (SELECT 1 FROM main.{record.table} AS t WHERE {same})"
    return here, there, stored


def _found_in(stage: Stage, against: Against, target: str, cell: str) -> list[tuple[str, str, str]]:
    return [
        _found(stage, against, sheet, (("object", "s.object"), (CODE_COLUMN[sheet], cell)))
        for sheet in sheets_of(target)
    ]


def _lost_parts(stage: Stage, sheet: str, column: Column, against: Against) -> Iterator[Lost]:
    """Parts of cells with several codes that point to no record in the package or in account."""
    if not stage.holds(sheet, "object", column.name):
        return
    assert column.reference is not None
    found = _found_in(stage, against, column.reference, "p.value")
    absent = " AND ".join(f"NOT ({here} OR {there})" for here, there, _ in found)
    for row in stage.select(
        f"SELECT s.row, s.object, p.value, {' OR '.join(stored for _, _, stored in found)} "
        f"FROM stage.{sheet} AS s, {PARTS.format(f's.{column.name}')} AS p "
        f"WHERE s.{column.name} IS NOT NULL AND s.object IS NOT NULL AND {absent} ORDER BY s.row"
    ):
        yield Lost(row[0], row[1], row[2], bool(row[3]))


def unclear_parts(stage: Stage, sheet: str, column: Column, against: Against) -> Iterator[tuple[int, str, str]]:
    """Cells with several codes of which one names both a reserve and a place: row, object, code."""
    if not stage.holds(sheet, "object", column.name):
        return
    assert column.reference is not None
    reserve, *places = (
        f"({here} OR {there})" for here, there, _ in _found_in(stage, against, column.reference, "p.value")
    )
    yield from stage.select(
        f"SELECT s.row, s.object, p.value FROM stage.{sheet} AS s, "
        f"{PARTS.format(f's.{column.name}')} AS p WHERE s.{column.name} IS NOT NULL "
        f"AND {reserve} AND ({' OR '.join(places)}) ORDER BY s.row"
    )


def _lost_coats(stage: Stage, sheet: str, column: str, against: Against) -> Iterator[Lost]:
    """Cells that name a scheme, alone or with a role, which the object does not have."""
    if not stage.holds(sheet, "object", column):
        return
    cell, slash = f"s.{column}", f"instr(s.{column}, '/')"
    scheme = f"CASE {slash} WHEN 0 THEN {cell} ELSE substr({cell}, 1, {slash} - 1) END"
    here, there, stored = _found(stage, against, "schemes", (("object", "s.object"), ("scheme", scheme)))
    for row in stage.select(
        f"SELECT s.row, s.object, {scheme}, {stored} FROM stage.{sheet} AS s "
        f"WHERE s.{column} IS NOT NULL AND s.object IS NOT NULL AND NOT ({here} OR {there}) "
        "ORDER BY s.row"
    ):
        yield Lost(row[0], row[1], row[2], bool(row[3]))


def knows_object(stage: Stage, object_code: str, against: Against) -> bool:
    """Whether an object is in the package, or stored in any state."""
    return object_code in _codes(stage, against, "objects", "t.object = ?", (object_code,))


def codes_beside(stage: Stage, target: str, object_code: str, against: Against) -> list[str]:
    """Codes of an object that a lost reference may have meant; for an object's number, those that begin most like it."""
    if target == "objects":
        for length in range(len(object_code) - 1, 0, -1):
            start = object_code[:length]
            found = _codes(stage, against, "objects", "t.object BETWEEN ? AND ?", (start, start + "\U0010ffff"))
            if found:
                return sorted(found)
        return []
    return sorted(
        set().union(*(_codes(stage, against, sheet, "t.object = ?", (object_code,)) for sheet in sheets_of(target)))
    )


def _codes(stage: Stage, against: Against, sheet: str, where: str, values: tuple[str | float, ...]) -> set[str]:
    code = CODE_COLUMN[sheet]
    places = [f"stage.{sheet}"] if stage.holds(sheet, "object", code) else []
    if against is Against.DATABASE:
        places.append(f"main.{BY_SHEET[sheet].table}")
    return {
        row[0]
        for place in places
        for row in stage.select(
            f"SELECT DISTINCT t.{code} FROM {place} AS t WHERE {where} AND t.{code} IS NOT NULL LIMIT 500", values
        )
    }


def codes_as_number(stage: Stage, against: Against, target: str, object_code: str, number: str) -> tuple[str, ...]:
    """Codes that a spreadsheet would turn into this number: 1979.10 into 1979.1, 007 into 7."""
    found: set[str] = set()
    for sheet in sheets_of(target):
        if sheet not in OWN_CODES:
            continue
        code = f"t.{CODE_COLUMN[sheet]}"
        where, values = f"CAST({code} AS REAL) = ? AND {code} NOT GLOB '*[^0-9.]*'", (float(number),)
        if sheet == "objects":
            found |= _codes(stage, against, sheet, where, values)
        else:
            found |= _codes(stage, against, sheet, f"t.object = ? AND {where}", (object_code, *values))
    return tuple(sorted(found))


def near_codes(stage: Stage, kin: tuple[str, ...], against: Against) -> Iterator[tuple[str, int, str, str, str]]:
    """New codes that differ from another of the same kind only in case, blanks, width or leading zeros:
    sheet, row, object, code, the other one."""
    held = [sheet for sheet in kin if stage.holds(sheet, "object", CODE_COLUMN[sheet])]
    if not held:
        return
    stage.function("fold", 1, fold)
    within = "''" if kin == ("objects",) else "object"
    codes = " UNION ALL ".join(
        f"SELECT '{sheet}' AS sheet, row, {within} AS within, object, {CODE_COLUMN[sheet]} AS code FROM stage.{sheet} "
        f"WHERE object IS NOT NULL AND {CODE_COLUMN[sheet]} IS NOT NULL"
        for sheet in held
    )
    alike = list(
        stage.select(
            f"SELECT within, fold(code) FROM ({codes}) GROUP BY 1, 2 HAVING min(code) <> max(code) ORDER BY 1, 2"
        )
    )
    for where, folded in alike:
        # The writing that comes first is the one to keep to.
        rows = list(
            stage.select(
                f"SELECT sheet, row, object, code FROM ({codes}) WHERE within = ? AND fold(code) = ?", (where, folded)
            )
        )
        rows.sort(key=lambda row: (held.index(row[0]), row[1]))
        for sheet, row, object_code, code in rows:
            if code != rows[0][3] and (against is Against.NOTHING or not _is_stored(stage, sheet, object_code, code)):
                yield sheet, row, object_code, code, rows[0][3]
    if against is Against.DATABASE:
        for sheet in kin:
            if next(stage.select(f"SELECT EXISTS (SELECT 1 FROM main.{BY_SHEET[sheet].table})"))[0]:
                yield from stage.select(_near_in_database(codes, held, sheet))


def _is_stored(stage: Stage, sheet: str, object_code: str, code: str) -> bool:
    own = f" AND {CODE_COLUMN[sheet]} = ?" if sheet != "objects" else ""
    values = [object_code, code] if sheet != "objects" else [object_code]
    return bool(
        next(stage.select(f"SELECT EXISTS (SELECT 1 FROM main.{BY_SHEET[sheet].table} WHERE object = ?{own})", values))[
            0
        ]
    )


def _near_in_database(codes: str, held: list[str], sheet: str) -> str:
    """SQL for staged codes that are not stored, each with a stored code of `sheet` that is nearly the same.

    SQLite's own functions go over all stored codes; only what they leave open is folded in Python.
    """
    table, theirs = BY_SHEET[sheet].table, f"t.{CODE_COLUMN[sheet]}"
    fresh = " AND ".join(
        f"(n.sheet <> '{own}' OR NOT EXISTS (SELECT 1 FROM main.{BY_SHEET[own].table} AS m WHERE m.object = n.object "
        f"AND m.{CODE_COLUMN[own]} = n.code))"
        for own in held
    )
    new = (
        f"WITH n AS MATERIALIZED (SELECT *, {LOOSE.format('code')} AS loose, {BEYOND_ASCII.format('code')} AS "
        f"beyond FROM ({codes}) AS n WHERE {fresh})"
    )
    near = (
        f"{theirs} <> n.code AND ({LOOSE.format(theirs)} = n.loose OR n.beyond OR {BEYOND_ASCII.format(theirs)}) "
        f"AND fold({theirs}) = fold(n.code)"
    )
    found = f"SELECT DISTINCT n.sheet, n.row, n.object, n.code, {theirs}"
    if sheet == "objects":
        differ = "t.object <> n.object AND fold(t.object) = fold(n.object)"
        # Each part of the union uses an index of its own; only a new code beyond ASCII is held against all.
        pairs = (
            f"main.objects AS t ON {LOOSE.format('t.object')} = n.loose",
            f"main.objects AS t ON {BEYOND_ASCII.format('t.object')}",
            "main.objects AS t ON n.beyond",
        )
        return f"{new} {' UNION '.join(f'{found} FROM n CROSS JOIN {pair} WHERE {differ}' for pair in pairs)}"
    return f"{new} {found} FROM n CROSS JOIN main.{table} AS t ON t.object = n.object AND {near}"


def shared_codes(stage: Stage, against: Against) -> Iterator[tuple[str, int, str, str]]:
    """Codes that are both a zone's and a part's: sheet, row, object, code."""
    for sheet, other in (("zones", "components"), ("components", "zones")):
        code, theirs = CODE_COLUMN[sheet], CODE_COLUMN[other]
        if not stage.holds(sheet, "object", code):
            continue
        taken = []
        if sheet == "zones" and stage.holds(other, "object", theirs):
            taken.append(f"SELECT 1 FROM stage.{other} AS t WHERE t.object = s.object AND t.{theirs} = s.{code}")
        if against is Against.DATABASE:
            taken.append(
                f"SELECT 1 FROM main.places AS p WHERE p.object = s.object AND p.place = s.{code} "
                f"AND p.kind = '{other[:-1]}'"
            )
        for row in stage.select(
            f"SELECT s.row, s.object, s.{code} FROM stage.{sheet} AS s WHERE "
            f"{' OR '.join(f'EXISTS ({each})' for each in taken) or '0'} ORDER BY s.row"
        ):
            yield sheet, row[0], row[1], row[2]


def parent_links(stage: Stage, sheet: str, against: Against) -> Iterator[tuple[str, str, str, int | None]]:
    """Links from a thing to the thing it lies in or replaces, for every object with a staged link: object, thing,
    parent, staged row.

    Sorted by object (the objects themselves are one group). For one thing the newest state comes last, and what the
    package says comes after what is stored.
    """
    parent, code = PARENTS[sheet], CODE_COLUMN[sheet]
    if not stage.holds(sheet, "object", code, parent):
        return
    own = "''" if sheet == "objects" else "{0}.object"
    dated = "observed_on" in BY_SHEET[sheet].key
    day = "coalesce(s.observed_on_latest, '')" if stage.holds(sheet, "observed_on_latest") else "''"
    staged = f"FROM stage.{sheet} AS s WHERE s.object IS NOT NULL AND s.{parent} IS NOT NULL"
    links = (
        f"SELECT {own.format('s')} AS object, s.{code} AS thing, s.{parent} AS parent, s.row AS row, {day} AS day "
        f"{staged} AND s.{code} IS NOT NULL"
    )
    if against is Against.DATABASE:
        day = "coalesce(t.observed_on_latest, '')" if dated else "''"
        among = f"EXISTS (SELECT 1 {staged})" if sheet == "objects" else f"t.object IN (SELECT object {staged})"
        links += (
            f" UNION ALL SELECT {own.format('t')}, t.{code}, t.{parent}, NULL, {day} "
            f"FROM main.{BY_SHEET[sheet].table} AS t WHERE t.{parent} IS NOT NULL AND t.withdrawn IS NULL "
            f"AND {among}"
        )
    for row in stage.select(f"{links} ORDER BY 1, 5, 4"):
        yield row[0], row[1], row[2], row[3]


def responses_without_one_coat(stage: Stage) -> Iterator[tuple[int, bool]]:
    """Rows of responses that name no coat, or name it in more than one way; True for the latter."""
    if "responses" not in stage.columns:
        return
    have = {
        name: f"{name} <> {blank!r}" if stage.holds("responses", name) else "0"
        for name, blank in (("scheme", ""), ("role", ""), ("sample", ""), ("position", 0), ("decoration", ""))
    }
    forms = f"({have['scheme']}) + (({have['sample']}) AND ({have['position']})) + ({have['decoration']})"
    stray = f"(({have['role']}) AND NOT ({have['scheme']})) OR (({have['sample']}) <> ({have['position']}))"
    for row in stage.select(f"SELECT row, {forms} > 1 FROM stage.responses WHERE {forms} <> 1 OR {stray} ORDER BY row"):
        yield row[0], bool(row[1])


def positions_without_sample(stage: Stage) -> Iterator[int]:
    """Rows of analyses that name a layer's position and no sample."""
    if stage.holds("analyses", "position"):
        sample = "sample IS NULL" if stage.holds("analyses", "sample") else "1"
        for row in stage.select(f"SELECT row FROM stage.analyses WHERE position IS NOT NULL AND {sample} ORDER BY row"):
            yield row[0]


def named_files(stage: Stage, record: type[Record]) -> Iterator[tuple[int, str, str]]:
    """Row, column and name of every file that a sheet names."""
    for column in record.columns():
        if column.kind == "file" and stage.holds(record.sheet, column.name):
            for row in stage.select(
                f"SELECT row, {column.name} FROM stage.{record.sheet} WHERE {column.name} IS NOT NULL ORDER BY row"
            ):
                yield row[0], column.name, row[1]
