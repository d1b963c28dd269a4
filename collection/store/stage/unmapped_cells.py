"""What a list from elsewhere brings besides its records: the rows they came from, and the cells that no column takes.

These cells are kept privately with the object and are never altered. Under one heading the newest of each survey holds;
`collection.store.base.listed_cells` reads them.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator

from collection.compute.safety import HAZARD_WORDS
from collection.store.stage.stage import Stage

Cell = tuple[int, str, str, int, bool]
"""The staged row of the object, heading, content, row of the list, and whether a record took all of its words."""
_HAZARD = re.compile(rf"\b({'|'.join(map(re.escape, HAZARD_WORDS))})\b", re.IGNORECASE)


def stage_list(stage: Stage, rows: Iterable[tuple[str, int, int]], cells: Iterable[Cell]) -> None:
    """Stage what comes with the list: sheet, staged row and row of the list; then the cells that are kept.

    The object is named by its staged row, because its code may still be corrected.
    """
    stage.listed = True
    stage.db.execute(
        "CREATE TABLE stage.list_rows (sheet TEXT, row INTEGER, list_row INTEGER, "
        "PRIMARY KEY (sheet, row)) WITHOUT ROWID"
    )
    stage.db.execute(
        "CREATE TABLE stage.list_cells (row INTEGER, heading TEXT, value TEXT, list_row INTEGER, taken INTEGER, "
        "PRIMARY KEY (row, heading)) WITHOUT ROWID"
    )
    stage.db.execute("BEGIN")
    stage.db.executemany("INSERT INTO stage.list_rows VALUES (?, ?, ?)", rows)
    stage.db.executemany("INSERT INTO stage.list_cells VALUES (?, ?, ?, ?, ?)", cells)
    stage.db.execute("COMMIT")


def count_cells(stage: Stage) -> dict[str, int]:
    """How many cells are new, and how many changed since this survey brought them; blanks say nothing."""
    if not stage.listed or "objects" not in stage.columns:
        return {"new": 0, "changed": 0}
    every, known = stage.db.execute(f"SELECT count(*), count({_STORED}) {_NEW}").fetchone()
    return {"new": every - known, "changed": known}


def keep_cells(stage: Stage, change: int) -> None:
    """Store every cell that is new or different, with its object."""
    if "objects" in stage.columns:
        stage.db.execute(
            'INSERT INTO main.unmapped_cells (sheet, "key", heading, value, list_row, change) '
            f"SELECT 'objects', s.object, c.heading, c.value, c.list_row, ? {_NEW} ORDER BY s.object, c.heading",
            (change,),
        )


def touch(stage: Stage) -> None:
    """Note the objects of which a cell is new or different: people search for its words."""
    if stage.listed and "objects" in stage.columns:
        stage.db.execute(f"INSERT OR IGNORE INTO stage.touched SELECT DISTINCT s.object {_NEW}")


def hazards_named(stage: Stage, *, stored: bool) -> Iterator[tuple[int, int, str, str]]:
    """Cells with a word of a hazard that no column takes: staged row, row of the list, heading, the word.

    Left out where a hazard of that word is recorded for the object.

    :param stored: whether there is a database; then cells that it holds already are left out too.
    """
    if not stage.listed or "objects" not in stage.columns:
        return
    cells = _NEW if stored else "FROM stage.list_cells AS c JOIN stage.objects AS s ON s.row = c.row WHERE true"
    recorded = [
        *(["SELECT kind FROM stage.hazards WHERE object = ?1"] if stage.holds("hazards", "object", "kind") else []),
        *(["SELECT kind FROM main.live_hazards WHERE object = ?1"] if stored else []),
    ]
    for row, code, list_row, heading, value in stage.db.execute(
        f"SELECT s.row, s.object, c.list_row, c.heading, c.value {cells} AND NOT c.taken ORDER BY c.list_row, c.heading"
    ).fetchall():
        named = dict.fromkeys(word.lower() for word in _HAZARD.findall(value))
        if named and recorded:
            kinds = [kind.casefold() for (kind,) in stage.db.execute(" UNION ALL ".join(recorded), (code,)) if kind]
            named = dict.fromkeys(word for word in named if not any(word in kind for kind in kinds))
        for word in named:
            yield row, list_row, heading, word


def objects_not_stored(stage: Stage) -> list[tuple[int, str]]:
    """Objects of the list that the database does not hold, each with the staged row that first names it."""
    return list(
        stage.db.execute(
            "SELECT s.row, s.object FROM stage.objects AS s WHERE NOT EXISTS (SELECT 1 FROM main.objects AS m "
            "WHERE m.object = s.object) ORDER BY s.row"
        )
    )


_UNDER = "FROM main.unmapped_cells AS u WHERE u.sheet = 'objects' AND u.\"key\" = s.object AND u.heading = c.heading"
_STORED = (
    f"(SELECT u.value {_UNDER} AND EXISTS (SELECT 1 FROM main.changes AS h JOIN stage.survey AS y ON y.code = h.subject "
    "WHERE h.number = u.change) ORDER BY u.change DESC LIMIT 1)"
)
"""What this survey said under the heading last."""
_NEW = (
    "FROM stage.list_cells AS c JOIN stage.objects AS s ON s.row = c.row WHERE c.value IS NOT "
    f"coalesce({_STORED}, (SELECT u.value {_UNDER} AND NOT EXISTS (SELECT 1 FROM main.changes AS h "
    "JOIN main.surveys AS y ON y.code = h.subject WHERE h.number = u.change AND y.withdrawn IS NOT NULL) "
    "ORDER BY u.change DESC LIMIT 1))"
)
"""Cells that say other than this survey said last or, where it said nothing, than was said last at all."""
