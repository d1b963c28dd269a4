"""Questions about a staged package as a whole, each answered by one statement over all rows.

With a database attached as `main` the answers take its records into account; `Against.NOTHING` asks the package
alone. Every function gives rows for the caller to put into sentences.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass
from enum import Enum

from collection.columns import Column
from collection.records import BY_SHEET, Record
from collection.store.stage import Stage
from collection.store.tables import blank_of, fills_blank
from collection.words import WordList

CODE_COLUMN = {sheet: record.key[-1] if sheet == "survey" else record.key[min(1, len(record.key) - 1)]
               for sheet, record in BY_SHEET.items()}
OWN_CODES = tuple(
    sheet for sheet, record in BY_SHEET.items()
    if sheet != "survey" and record.column(CODE_COLUMN[sheet]).kind == "code"
    and record.column(CODE_COLUMN[sheet]).reference is None
)
"""Sheets whose rows bring a code of their own: all but layers, steps, responses and conditions."""
PARENTS = {"objects": "part_of", "components": "parent", "zones": "within", "proposals": "instead_of"}
"""Columns that point from a thing to a thing of the same kind, and may not lead back to it."""


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
    """Rows whose key an earlier row has, each with that earlier row."""
    if record.sheet not in stage.doubled:
        return
    parts = [name for name in record.key if name in stage.columns[record.sheet]]
    same = " AND ".join(f"b.{part} IS a.{part}" for part in parts)
    whole = " AND ".join(f"a.{part} IS NOT NULL" for part in parts)
    for row in stage.select(
            f"SELECT a.row, min(b.row) FROM stage.{record.sheet} AS a JOIN stage.{record.sheet} AS b "
            f"ON {same} AND b.row < a.row WHERE {whole} GROUP BY a.row ORDER BY a.row"):
        yield row[0], row[1]


def lost_references(stage: Stage, record: type[Record], column: Column, against: Against) -> Iterator[Lost]:
    """Cells of one column that point to no record of the package and to none in account."""
    target = column.reference
    assert target is not None
    if not stage.holds(record.sheet, "object", column.name):
        return
    cell = f"s.{column.name}"
    given = f"{cell} <> {blank_of(column)!r}" if fills_blank(record, column) else f"{cell} IS NOT NULL"
    if target == "objects":
        found = [_found(stage, against, "objects", (("object", cell),))]
    elif target == "place":
        given += f" AND {cell} <> 'all'"
        found = [_found(stage, against, sheet, (("object", "s.object"), (sheet[:-1], cell)))
                 for sheet in ("zones", "components")]
    elif target == "layers":
        if not stage.holds(record.sheet, "sample"):
            return
        given += " AND s.sample <> ''"
        found = [_found(stage, against, "layers", (("object", "s.object"), ("sample", "s.sample"),
                                                   ("position", cell)))]
    else:
        own = "s.object" if record.sheet != "survey" else "''"
        found = [_found(stage, against, target, (("object", own), (CODE_COLUMN[target], cell)))]
    absent = " AND ".join(f"NOT ({here} OR {there})" for here, there, _ in found)
    kept = " OR ".join(stored for _, _, stored in found)
    for row in stage.select(f"SELECT s.row, s.object, {cell}, {kept} FROM stage.{record.sheet} AS s "
                            f"WHERE {given} AND {absent} ORDER BY s.row"):
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


def lost_coats(stage: Stage, sheet: str, column: str, against: Against) -> Iterator[Lost]:
    """Cells that name a scheme, or a scheme and role, of which the object has no such scheme."""
    if not stage.holds(sheet, "object", column):
        return
    cell, slash = f"s.{column}", f"instr(s.{column}, '/')"
    scheme = f"CASE {slash} WHEN 0 THEN {cell} ELSE substr({cell}, 1, {slash} - 1) END"
    here, there, stored = _found(stage, against, "schemes", (("object", "s.object"), ("scheme", scheme)))
    for row in stage.select(f"SELECT s.row, s.object, {scheme}, {stored} FROM stage.{sheet} AS s "
                            f"WHERE s.{column} IS NOT NULL AND NOT ({here} OR {there}) ORDER BY s.row"):
        yield Lost(row[0], row[1], row[2], bool(row[3]))


def codes_beside(stage: Stage, target: str, object_code: str, against: Against) -> list[str]:
    """Codes that a lost reference of an object may have meant; of objects those that begin alike."""
    sheets = ("zones", "components") if target == "place" else (target,)
    found: set[str] = set()
    for sheet in sheets:
        code = CODE_COLUMN[sheet]
        where, values = ("t.object = ?", [object_code]) if sheet != "objects" else ("substr(t.object, 1, 2) = ?",
                                                                                  [object_code[:2]])
        places = [f"stage.{sheet}"] if stage.holds(sheet, "object", code) else []
        if against is Against.DATABASE:
            places.append(f"main.{BY_SHEET[sheet].table}")
        for place in places:
            found.update(row[0] for row in stage.select(
                f"SELECT DISTINCT t.{code} FROM {place} AS t WHERE {where} AND t.{code} IS NOT NULL LIMIT 2000",
                values))
    return sorted(found)


def near_codes(stage: Stage, sheet: str, against: Against) -> Iterator[tuple[int, str, str, str]]:
    """New codes that differ from another of the same kind only in case, blanks, width or leading zeros:
    row, object, code, the other one. Parts and zones of an object share their codes."""
    stage.function("fold", 1, fold)
    code = CODE_COLUMN[sheet]
    if not stage.holds(sheet, "object", code):
        return
    kin = tuple(s for s in ("components", "zones") if sheet in ("components", "zones")) or (sheet,)
    new = ""
    if against is Against.DATABASE:
        new = (f" AND NOT EXISTS (SELECT 1 FROM main.{BY_SHEET[sheet].table} AS m WHERE m.object = s.object"
               f" AND m.{code} = s.{code})")
    for other in kin:
        theirs = CODE_COLUMN[other]
        if stage.holds(other, "object", theirs):
            yield from stage.select(_near_in_package(sheet, code, other, theirs, new))
        if against is Against.DATABASE:
            yield from stage.select(_near_in_database(sheet, code, BY_SHEET[other].table, theirs, new))


def _near_in_package(sheet: str, code: str, other: str, theirs: str, new: str) -> str:
    if sheet == other == "objects":
        pairs = (f"WITH f AS MATERIALIZED (SELECT fold({code}) AS folded, min({code}) AS least, max({code}) AS most "
                 f"FROM stage.{sheet} WHERE {code} IS NOT NULL GROUP BY 1 HAVING least <> most) "
                 f"SELECT s.row, s.object, s.{code}, f.least FROM stage.{sheet} AS s JOIN f "
                 f"ON fold(s.{code}) = f.folded WHERE s.{code} <> f.least")
        return pairs + new
    if sheet == other:
        # Few objects have two codes alike; only theirs are looked at one by one.
        return (f"WITH f AS MATERIALIZED (SELECT object, fold({code}) AS folded, min({code}) AS least "
                f"FROM stage.{sheet} WHERE {code} IS NOT NULL GROUP BY 1, 2 HAVING min({code}) <> max({code})) "
                f"SELECT s.row, s.object, s.{code}, f.least FROM f JOIN stage.{sheet} AS s ON s.object = f.object "
                f"WHERE fold(s.{code}) = f.folded AND s.{code} <> f.least{new}")
    return (f"SELECT DISTINCT s.row, s.object, s.{code}, t.{theirs} FROM stage.{sheet} AS s JOIN stage.{other} AS t "
            f"ON t.object = s.object WHERE s.{code} <> t.{theirs} AND fold(s.{code}) = fold(t.{theirs}){new}")


def _near_in_database(sheet: str, code: str, table: str, theirs: str, new: str) -> str:
    if table == "objects":
        # A cheap look by SQLite's own functions leaves few candidates: it drops every zero and blank.
        loose = "replace(replace(lower({0}), ' ', ''), '0', '')"
        return (f"WITH n AS MATERIALIZED (SELECT s.row, s.object, fold(s.object) AS folded, {loose.format('s.object')} "
                f"AS loose FROM stage.objects AS s WHERE s.object IS NOT NULL{new}) "
                f"SELECT n.row, n.object, n.object, t.object FROM main.objects AS t JOIN n "
                f"ON {loose.format('t.object')} = n.loose OR t.object GLOB '*[^ -~]*' OR n.object GLOB '*[^ -~]*' "
                f"WHERE t.object <> n.object AND fold(t.object) = n.folded")
    return (f"SELECT s.row, s.object, s.{code}, t.{theirs} FROM stage.{sheet} AS s CROSS JOIN main.{table} AS t "
            f"ON t.object = s.object WHERE s.{code} <> t.{theirs} AND fold(s.{code}) = fold(t.{theirs}){new}")


def fold(code: str | None) -> str | None:
    """What of a code stays when case, blanks, width and leading zeros go."""
    if code is None:
        return None
    if not code.isascii():
        code = unicodedata.normalize("NFKC", code).casefold()
        return re.sub(r"(?<![0-9])0+(?=[0-9])", "", re.sub(r"\s", "", code))
    return _LEADING.sub("", code.lower().replace(" ", ""))


_LEADING = re.compile(r"(?<![0-9])0+(?=[0-9])")


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
            taken.append(f"SELECT 1 FROM main.places AS p WHERE p.object = s.object AND p.place = s.{code} "
                         f"AND p.kind = '{other[:-1]}'")
        for row in stage.select(f"SELECT s.row, s.object, s.{code} FROM stage.{sheet} AS s WHERE "
                                f"{' OR '.join(f'EXISTS ({each})' for each in taken) or '0'} ORDER BY s.row"):
            yield sheet, row[0], row[1], row[2]


def parent_links(stage: Stage, sheet: str, against: Against) -> Iterator[tuple[str, str, str, int | None]]:
    """Object, thing, the thing it lies in or replaces, staged row: of every object with a staged link, in the
    order of the objects; what the package says wins over what is stored. Objects are one group."""
    parent, code = PARENTS[sheet], CODE_COLUMN[sheet]
    if not stage.holds(sheet, "object", code, parent):
        return
    group = "''" if sheet == "objects" else "{0}.object"
    links = (f"SELECT {group.format('s')} AS object, s.{code} AS thing, s.{parent} AS parent, s.row AS row "
             f"FROM stage.{sheet} AS s WHERE s.{parent} IS NOT NULL AND s.{code} IS NOT NULL")
    if against is Against.DATABASE:
        staged = f"FROM stage.{sheet} AS s WHERE s.{parent} IS NOT NULL"
        among = f"EXISTS (SELECT 1 {staged})" if sheet == "objects" else f"t.object IN (SELECT object {staged})"
        links += (f" UNION ALL SELECT {group.format('t')}, t.{code}, t.{parent}, NULL "
                  f"FROM main.{BY_SHEET[sheet].table} AS t WHERE t.{parent} IS NOT NULL AND {among} "
                  f"AND NOT EXISTS (SELECT 1 {staged} AND s.object = t.object AND s.{code} = t.{code})")
    for row in stage.select(f"{links} ORDER BY 1"):
        yield row[0], row[1], row[2], row[3]


def responses_without_one_coat(stage: Stage) -> Iterator[tuple[int, bool]]:
    """Rows of responses that name no coat, or more than one way; True where more than one is named."""
    if "responses" not in stage.columns:
        return
    have = {name: f"{name} <> {blank!r}" if stage.holds("responses", name) else "0"
            for name, blank in (("scheme", ""), ("role", ""), ("sample", ""), ("position", 0), ("decoration", ""))}
    forms = f"({have['scheme']}) + (({have['sample']}) AND ({have['position']})) + ({have['decoration']})"
    stray = (f"(({have['role']}) AND NOT ({have['scheme']})) OR (({have['sample']}) <> ({have['position']}))")
    for row in stage.select(f"SELECT row, {forms} > 1 FROM stage.responses "
                            f"WHERE {forms} <> 1 OR {stray} ORDER BY row"):
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
            for row in stage.select(f"SELECT row, {column.name} FROM stage.{record.sheet} "
                                    f"WHERE {column.name} IS NOT NULL ORDER BY row"):
                yield row[0], column.name, row[1]


def thickness_outside(stage: Stage) -> Iterator[tuple[int, float, float | None, float | None]]:
    """Layers whose thickness lies outside its least and greatest: row, thickness, least, greatest."""
    low, high = ("thickness_min_um" if stage.holds("layers", "thickness_min_um") else "NULL",
                 "thickness_max_um" if stage.holds("layers", "thickness_max_um") else "NULL")
    if stage.holds("layers", "thickness_um") and (low, high) != ("NULL", "NULL"):
        for row in stage.select(f"SELECT row, thickness_um, {low}, {high} FROM stage.layers "
                                f"WHERE thickness_um < {low} OR thickness_um > {high} ORDER BY row"):
            yield row[0], row[1], row[2], row[3]


def outlined_areas(stage: Stage, against: Against) -> Iterator[tuple[str, int, float, str, float]]:
    """Zones with an area and an outline on a drawing with a scale: sheet, row, m², outline, mm per unit."""
    if not stage.holds("zones", "outline", "area_m2", "drawing"):
        return
    scales = [f"(SELECT d.mm_per_unit FROM {place} AS d WHERE d.object = z.object AND d.drawing = z.drawing)"
              for place in _places(stage, against, "drawings", "drawing", "mm_per_unit")]
    if not scales:
        return
    scale = scales[0] if len(scales) == 1 else f"coalesce({', '.join(scales)})"
    for row in stage.select(f"SELECT row, area_m2, outline, {scale} AS scale FROM stage.zones AS z "
                            "WHERE outline IS NOT NULL AND area_m2 IS NOT NULL AND scale IS NOT NULL ORDER BY row"):
        yield "zones", row[0], row[1], row[2], row[3]


def placed_samples(stage: Stage, against: Against) -> Iterator[tuple[int, str, float, float, str]]:
    """Samples with a point, on a zone with an outline: row, zone, x, y, outline."""
    if not stage.holds("samples", "place", "x", "y"):
        return
    outlines = [f"(SELECT z.outline FROM {place} AS z WHERE z.object = s.object AND z.zone = s.place)"
                for place in _places(stage, against, "zones", "zone", "outline")]
    if not outlines:
        return
    outline = outlines[0] if len(outlines) == 1 else f"coalesce({', '.join(outlines)})"
    for row in stage.select(f"SELECT row, place, x, y, {outline} AS outline FROM stage.samples AS s "
                            "WHERE x IS NOT NULL AND y IS NOT NULL AND outline IS NOT NULL ORDER BY row"):
        yield row[0], row[1], row[2], row[3], row[4]


def staged_agents(stage: Stage) -> Iterator[tuple[str, int, str, str]]:
    """Every agent written: sheet, row, column, text."""
    for record, column in _staged_columns(stage):
        if column.kind == "agent":
            for row in stage.select(f"SELECT row, {column.name} FROM stage.{record.sheet} "
                                    f"WHERE {column.name} IS NOT NULL ORDER BY row"):
                yield record.sheet, row[0], column.name, row[1]


def open_words(stage: Stage) -> Iterator[tuple[str, int, str, str, WordList]]:
    """Words outside of a list that is open to new ones: sheet, row, column, word, list."""
    for record, column in _staged_columns(stage):
        if column.words is not None and column.words.open_list:
            listed = ", ".join("?" * len(column.words.words))
            for row in stage.select(f"SELECT row, {column.name} FROM stage.{record.sheet} WHERE {column.name} <> '' "
                                    f"AND {column.name} NOT IN ({listed}) ORDER BY row", column.words.words):
                yield record.sheet, row[0], column.name, row[1], column.words


def _staged_columns(stage: Stage) -> Iterator[tuple[type[Record], Column]]:
    for sheet in stage.columns:
        for column in BY_SHEET[sheet].columns():
            if stage.holds(sheet, column.name):
                yield BY_SHEET[sheet], column


def _places(stage: Stage, against: Against, sheet: str, *columns: str) -> list[str]:
    """Where a sheet's rows are looked up, the package first."""
    places = [f"stage.{sheet}"] if stage.holds(sheet, "object", *columns) else []
    return [*places, f"main.{BY_SHEET[sheet].table}"] if against is Against.DATABASE else places
