"""What a list from elsewhere brings besides its records: the rows they came from, and the cells that no column takes.

These cells are kept privately with the object and are never altered; of several under one heading the newest holds.
"""

from __future__ import annotations

from collections.abc import Iterable

from collection.store.stage.stage import Stage


def stage_list(stage: Stage, rows: Iterable[tuple[str, int, int]], cells: Iterable[tuple[int, str, str]]) -> None:
    """Stage what comes with the list: sheet, staged row and row of the list; then staged object, heading and cell.

    The object is named by its staged row, because its code may still be corrected.
    """
    stage.listed = True
    stage.db.execute(
        "CREATE TABLE stage.list_rows (sheet TEXT, row INTEGER, list_row INTEGER, "
        "PRIMARY KEY (sheet, row)) WITHOUT ROWID"
    )
    stage.db.execute(
        "CREATE TABLE stage.list_cells (row INTEGER, heading TEXT, value TEXT, "
        "PRIMARY KEY (row, heading)) WITHOUT ROWID"
    )
    stage.db.execute("BEGIN")
    stage.db.executemany("INSERT INTO stage.list_rows VALUES (?, ?, ?)", rows)
    stage.db.executemany("INSERT INTO stage.list_cells VALUES (?, ?, ?)", cells)
    stage.db.execute("COMMIT")


def count_new_cells(stage: Stage) -> int:
    """How many cells are not stored yet, or differ from what is stored."""
    return int(stage.db.execute(f"SELECT count(*) {_NEW}").fetchone()[0]) if "objects" in stage.columns else 0


def keep_cells(stage: Stage, change: int) -> None:
    """Store every cell that is new or different, with its object."""
    if "objects" in stage.columns:
        stage.db.execute(
            'INSERT INTO main.unmapped_cells (sheet, "key", heading, value, change) '
            f"SELECT 'objects', s.object, c.heading, c.value, ? {_NEW} ORDER BY s.object, c.heading",
            (change,),
        )


def objects_not_stored(stage: Stage) -> list[tuple[int, str]]:
    """Objects of the list that the database does not hold, each with the staged row that first names it."""
    return list(
        stage.db.execute(
            "SELECT s.row, s.object FROM stage.objects AS s WHERE NOT EXISTS (SELECT 1 FROM main.objects AS m "
            "WHERE m.object = s.object) ORDER BY s.row"
        )
    )


_NEW = (
    "FROM stage.list_cells AS c JOIN stage.objects AS s ON s.row = c.row WHERE c.value IS NOT (SELECT u.value "
    "FROM main.unmapped_cells AS u WHERE u.sheet = 'objects' AND u.\"key\" = s.object AND u.heading = c.heading "
    "ORDER BY u.change DESC LIMIT 1)"
)
