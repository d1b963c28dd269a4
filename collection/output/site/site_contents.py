"""The tables of a published file as whoever opens it without this program would read them."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

from collection.output.site.site_file import FILE_NAME
from collection.store.base import database
from collection.store.changes.collection_row import Collection
from collection.store.schema.tables import Reference, StoredColumn, Table

FOR_PAGES = frozenset({"parts", "documents", "computed", "glances", "search", "search_rows"})
"""Made for the pages alone: what stands in them is in the other tables, or computed from these."""


def site_tables(db: sqlite3.Connection) -> list[Table]:
    """The tables that say something by themselves, with what each column means, in the order in which they were made."""
    said: dict[tuple[str, str], tuple[str, str | None, str | None]] = {
        (table, column or ""): (meaning, unit, words)
        for table, column, meaning, unit, words in db.execute(
            "SELECT table_name, column_name, meaning, unit, words FROM dictionary"
        )
    }
    names = [
        name
        for name, kind in db.execute(
            "SELECT m.name, l.type FROM sqlite_master AS m JOIN pragma_table_list AS l "
            "ON l.name = m.name AND l.schema = 'main' WHERE m.type = 'table' ORDER BY m.rowid"
        )
        if kind == "table" and name not in FOR_PAGES and not name.startswith("sqlite_")
    ]
    return [_table(db, name, names, said) for name in names]


def _table(
    db: sqlite3.Connection, name: str, names: list[str], said: dict[tuple[str, str], tuple[str, str | None, str | None]]
) -> Table:
    columns = []
    for column, kind in db.execute("SELECT name, type FROM pragma_table_info(?) ORDER BY cid", (name,)):
        meaning, unit, _ = said.get((name, column), (_plain_meaning(column), None, None))
        columns.append(StoredColumn(column, kind, meaning, unit, source=""))
    references = [
        Reference((column,), target, (to,))
        for target, column, to in db.execute('SELECT "table", "from", "to" FROM pragma_foreign_key_list(?)', (name,))
        if target in names
    ]
    meaning = said.get((name, ""), (name.replace("_", " "), None, None))[0]
    return Table(name, meaning, tuple(columns), ("id",), tuple(references), numbered=True)


def _plain_meaning(column: str) -> str:
    if column == "id":
        return "the number of the row"
    if column.endswith("_id"):
        return f"the row that {column.removesuffix('_id')} names, by its number"
    return column.replace("_", " ")


@dataclass(frozen=True)
class About:
    """What a published file says of itself.

    :ivar state: of which change it is, as people say it; `on` is the day of that change, None before the first.
    :ivar codes: the objects that are published in it.
    """

    collection: Collection
    state: str
    on: str | None
    codes: tuple[str, ...]


def about(folder: Path) -> About:
    """What the published file of a site says of itself."""
    with closing(database.open_still(folder / FILE_NAME)) as db:
        said = dict(db.execute("SELECT name, value FROM about"))
        codes = tuple(code for (code,) in db.execute("SELECT object FROM objects ORDER BY id"))
    whose = Collection(
        **{name: said.get(f"collection_{name}") for name in ("code", "name", "contact", "address", "licence")}
    )
    return About(whose, said["state"], said.get("as_of"), codes)
