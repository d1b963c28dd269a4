"""Finds the cells of stored records whose present value a named person gave by a correction.

An amendment leaves these as they are, unless the record is named: an old package would else undo what was found out
since.
"""

from __future__ import annotations

from collections.abc import Collection

from collection.records.sheets import Record
from collection.store.base import keys
from collection.store.changes import contents
from collection.store.changes.change import CORRECT
from collection.store.changes.settlement import alterings, standing_cells, withdrawn_surveys
from collection.store.schema.guards import key_sql
from collection.store.stage.stage import Stage


def note(
    stage: Stage, record: type[Record], rows: str, columns: Collection[str], meant: Collection[str] | None
) -> None:
    """Note in the stage which cells of the differing rows were corrected, and which of them stay.

    :param rows: SQL for the differing rows, staged as `s` and stored as `m`.
    :param meant: keys of records whose corrections are to be replaced; None where nothing is amended, and so no
        difference left out.
    """
    found = list(
        stage.select(
            f"SELECT s.row, {', '.join(f'm.{part}' for part in record.key)} {rows} "
            f"WHERE {key_sql(record, 'm')} IN (SELECT h.key FROM main.history AS h CROSS JOIN main.changes AS c "
            "ON c.number = h.change WHERE h.sheet = ? AND c.action = ?)",
            (record.sheet, CORRECT),
        )
    )
    if not found:
        return
    known, gone = alterings(stage.db), withdrawn_surveys(stage.db)
    for row, *parts in found:
        key = tuple(parts)
        said = [*contents.earlier(stage.db, record, key), contents.present(stage.db, record, key)]
        _, altered = standing_cells(said, gone, known)
        stays = meant is not None and keys.shown(record.sheet, key) not in meant
        stage.add_corrected(
            (record.sheet, row, name, altered[name].number, stays)
            for name in columns
            if name in altered and altered[name].action == CORRECT
        )
