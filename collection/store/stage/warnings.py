"""Finds warnings in a staged package: what is not a fault but doubtful, and is kept with the record.

Every function yields rows, which the caller puts into sentences.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator

from collection.language.word_list import WordList
from collection.records.codes import CODE_COLUMN
from collection.records.columns import Column
from collection.records.sheets import BY_SHEET, Record
from collection.store.stage.checks import Against
from collection.store.stage.stage import Stage


def thickness_outside(stage: Stage) -> Iterator[tuple[int, float, float | None, float | None]]:
    """Layers whose thickness lies outside its least and greatest: row, thickness, least, greatest."""
    low, high = (
        "thickness_min_um" if stage.holds("layers", "thickness_min_um") else "NULL",
        "thickness_max_um" if stage.holds("layers", "thickness_max_um") else "NULL",
    )
    if stage.holds("layers", "thickness_um") and (low, high) != ("NULL", "NULL"):
        for row in stage.select(
            f"SELECT row, thickness_um, {low}, {high} FROM stage.layers "
            f"WHERE thickness_um < {low} OR thickness_um > {high} ORDER BY row"
        ):
            yield row[0], row[1], row[2], row[3]


def supports_outside(stage: Stage, against: Against) -> Iterator[tuple[int, int, bool]]:
    """Supports that are not the innermost coat of their sample: row, position, and whether the sample counts from the
    surface."""
    if not stage.holds("layers", "object", "sample", "position", "role"):
        return
    here = "m.object = l.object AND m.sample = l.sample"
    counted = _cell_of(stage, against, "samples", "counted_from", "l.object", "l.sample", "'support'")
    ends = (
        f"(SELECT m.role FROM stage.layers AS m WHERE {here} AND m.position IS NOT NULL ORDER BY m.position {{}} "
        "LIMIT 1) <> 'support'"
    )
    # A sample is looked up only where its support does not stand first, or may have to stand last.
    for row in stage.select(
        f"SELECT row, position, {counted} = 'surface' FROM stage.layers AS l WHERE l.role = 'support' "
        f"AND ((l.position > 1 AND {ends.format('ASC')} AND {counted} <> 'surface') "
        f"OR ({counted} = 'surface' AND {ends.format('DESC')})) ORDER BY row"
    ):
        yield row[0], row[1], bool(row[2])


SAYS_NOTHING = (
    "N/A",
    "n/a",
    "N.A.",
    "n.a.",
    "NA",
    "nil",
    "Nil",
    "NIL",
    "-",
    "--",
    "\u2013",
    "\u2014",
    "?",
    "??",
    "tbd",
    "TBD",
)


def texts_of_nothing(stage: Stage) -> Iterator[tuple[str, int, str, str]]:
    """Texts that mean "nothing here": sheet, row, column, text."""
    listed = ", ".join(repr(text) for text in SAYS_NOTHING)
    for record in (BY_SHEET[sheet] for sheet in stage.columns):
        names = [
            column.name
            for column in record.columns()
            if stage.holds(record.sheet, column.name)
            and (column.kind in ("text", "person") or (column.words is not None and column.words.open_list))
        ]
        conditions = [f"(length({name}) < 5 AND {name} IN ({listed}))" for name in names]
        if conditions:
            for row, *texts in stage.select(
                f"SELECT row, {', '.join(names)} FROM stage.{record.sheet} WHERE {' OR '.join(conditions)} ORDER BY row"
            ):
                for name, text in zip(names, texts, strict=True):
                    if text in SAYS_NOTHING:
                        yield record.sheet, row, name, text


def outlined_areas(stage: Stage, against: Against) -> Iterator[tuple[str, int, float, str, float]]:
    """Zones with an area and an outline on a drawing with a scale: sheet, row, m², outline, mm per unit."""
    if not stage.holds("zones", "outline", "area_m2", "drawing"):
        return
    scale = _cell_of(stage, against, "drawings", "mm_per_unit", "z.object", "z.drawing")
    for row in stage.select(
        f"SELECT row, area_m2, outline, {scale} AS scale FROM stage.zones AS z "
        "WHERE outline IS NOT NULL AND area_m2 IS NOT NULL AND scale IS NOT NULL ORDER BY row"
    ):
        yield "zones", row[0], row[1], row[2], row[3]


def opened_parts(stage: Stage, against: Against) -> Iterator[tuple[int, float, str, float]]:
    """Steps that took something off less than half of their place: row, m² worked on, place, m² of the place."""
    if not stage.holds("treatment_steps", "place", "removed", "area_m2"):
        return
    part = _cell_of(stage, against, "components", "area_m2", "w.object", "w.place")
    area = _cell_of(stage, against, "zones", "area_m2", "w.object", "w.place", part)
    for row in stage.select(
        f"SELECT row, area_m2, place, {area} AS whole FROM stage.treatment_steps AS w "
        "WHERE removed IS NOT NULL AND area_m2 IS NOT NULL AND area_m2 < whole / 2 ORDER BY row"
    ):
        yield row[0], row[1], row[2], row[3]


def placed_samples(stage: Stage, against: Against) -> Iterator[tuple[int, str, float, float, str]]:
    """Samples with a point, on a zone with an outline: row, zone, x, y, outline."""
    if not stage.holds("samples", "place", "x", "y"):
        return
    outline = _cell_of(stage, against, "zones", "outline", "s.object", "s.place")
    for row in stage.select(
        f"SELECT row, place, x, y, {outline} AS outline FROM stage.samples AS s "
        "WHERE x IS NOT NULL AND y IS NOT NULL AND outline IS NOT NULL ORDER BY row"
    ):
        yield row[0], row[1], row[2], row[3], row[4]


def drawn_outlines(stage: Stage) -> Iterator[tuple[int, str, str]]:
    """Zones with an outline on a drawing of the same package: row, the drawing's file, outline."""
    if stage.holds("zones", "outline", "drawing") and stage.holds("drawings", "object", "drawing", "file"):
        for row in stage.select(
            "SELECT z.row, d.file, z.outline FROM stage.zones AS z JOIN stage.drawings AS d "
            "ON d.object = z.object AND d.drawing = z.drawing "
            "WHERE z.outline IS NOT NULL AND d.file IS NOT NULL ORDER BY z.row"
        ):
            yield row[0], row[1], row[2]


def drawn_points(stage: Stage) -> Iterator[tuple[int, str, float, float]]:
    """Samples with a point, in a zone on a drawing of the same package: row, the drawing's file, x, y."""
    if (
        stage.holds("samples", "place", "x", "y")
        and stage.holds("zones", "zone", "drawing")
        and stage.holds("drawings", "object", "drawing", "file")
    ):
        for row in stage.select(
            "SELECT s.row, d.file, s.x, s.y FROM stage.samples AS s "
            "JOIN stage.zones AS z ON z.object = s.object AND z.zone = s.place "
            "JOIN stage.drawings AS d ON d.object = z.object AND d.drawing = z.drawing "
            "WHERE s.x IS NOT NULL AND s.y IS NOT NULL AND d.file IS NOT NULL ORDER BY s.row"
        ):
            yield row[0], row[1], row[2], row[3]


def staged_agents(stage: Stage) -> Iterator[tuple[str, int, str, str]]:
    """Every agent written: sheet, row, column, text."""
    for record, column in _staged_columns(stage):
        if column.kind == "agent":
            for row in stage.select(
                f"SELECT row, {column.name} FROM stage.{record.sheet} WHERE {column.name} IS NOT NULL ORDER BY row"
            ):
                yield record.sheet, row[0], column.name, row[1]


SPANS_OF_YEARS = frozenset({"made", "dated", "fitted", "started", "ended"})
"""Columns of dates of what may have taken years. A survey's own are days."""


def months_of_years(stage: Stage) -> Iterator[tuple[str, int, str, str]]:
    """Months in columns in which people write spans of years: sheet, row, column, text."""
    for record, column in _staged_columns(stage):
        if column.kind == "date" and column.name in SPANS_OF_YEARS and record.sheet != "survey":
            for row in stage.select(
                f"SELECT row, {column.name} FROM stage.{record.sheet} "
                f"WHERE {column.name} GLOB '[0-9][0-9][0-9][0-9]-[01][0-9]*' AND length({column.name}) < 9 ORDER BY row"
            ):
                yield record.sheet, row[0], column.name, row[1]


def open_words(stage: Stage) -> Iterator[tuple[str, int, str, str, WordList]]:
    """Words outside of a list that is open to new ones: sheet, row, column, word, list."""
    for record, column in _staged_columns(stage):
        if column.words is not None and column.words.open_list:
            listed = ", ".join("?" * len(column.words.words))
            for row in stage.select(
                f"SELECT row, {column.name} FROM stage.{record.sheet} WHERE {column.name} <> '' "
                f"AND {column.name} NOT IN ({listed}) ORDER BY row",
                column.words.words,
            ):
                yield record.sheet, row[0], column.name, row[1], column.words


def formula_texts(stage: Stage, sheets: Collection[str]) -> Iterator[tuple[str, int, str, str]]:
    """Texts that a spreadsheet would compute: sheet, row, column, text."""
    for record, column in _staged_columns(stage):
        if record.sheet in sheets and (
            column.kind in ("text", "person") or (column.words is not None and column.words.open_list)
        ):
            name = column.name
            for row in stage.select(
                f"SELECT row, {name} FROM stage.{record.sheet} WHERE substr({name}, 1, 1) IN "
                f"('=', '@') OR (substr({name}, 1, 1) IN ('+', '-') AND instr({name}, '|') AND "
                f"instr({name}, '!')) "
                "ORDER BY row"
            ):
                yield record.sheet, row[0], name, row[1]


def _staged_columns(stage: Stage) -> Iterator[tuple[type[Record], Column]]:
    for sheet in stage.columns:
        for column in BY_SHEET[sheet].columns():
            if stage.holds(sheet, column.name):
                yield BY_SHEET[sheet], column


def _cell_of(
    stage: Stage, against: Against, sheet: str, column: str, own: str, code: str, otherwise: str = "NULL"
) -> str:
    """SQL for a cell of the thing that a row points to by object and code: what the package says, else what is stored,
    else `otherwise`."""
    places = [f"stage.{sheet}"] if stage.holds(sheet, "object", CODE_COLUMN[sheet], column) else []
    if against is Against.DATABASE:
        places.append(f"main.{BY_SHEET[sheet].table}")
    cells = [
        f"(SELECT t.{column} FROM {place} AS t WHERE t.object = {own} AND t.{CODE_COLUMN[sheet]} = {code})"
        for place in places
    ]
    return f"coalesce({', '.join([*cells, otherwise])})" if cells else otherwise
