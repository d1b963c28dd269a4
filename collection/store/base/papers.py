"""The sources of objects as the threats read them; facts hold none, because no rule reads them."""

from __future__ import annotations

import sqlite3

from collection.compute.risk.threat import Paper
from collection.records.sheets import Source
from collection.store.base import names, read


def papers(db: sqlite3.Connection, object_code: str) -> tuple[Paper, ...]:
    """The sources in account of one object, in the order of their codes."""
    known = names.load(db)
    if known is None or known.touched.isdisjoint(known.objects(object_code)):
        table = "live_sources" if read.anything_withdrawn(db) else "sources"
        rows = db.execute(
            f"SELECT source, kind, file IS NOT NULL FROM {table} WHERE object = ? ORDER BY source", (object_code,)
        )
        return tuple(Paper(f"{object_code}/{code}", kind, bool(copied)) for code, kind, copied in rows)
    return tuple(
        Paper(row.key_text(), row.kind, row.file is not None)
        for row in read.joined_rows(db, known, Source, object_code)
        if isinstance(row, Source)
    )
