"""Writes the published SQLite file: public columns and rows, laid out to read well in any SQLite browser.

Integer row numbers, one-column references, a label per row, full-text search, views and a dictionary serve those who
open the file without this program. Rows are numbered in the order of their keys, so that the same database gives the
same content again.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from sqlite_utils import Database

from collection.language.errors import OurFault
from collection.output.published.audience import Audience, Row
from collection.output.published.documents import Json, survey_json
from collection.output.site.object_rows import ObjectRows
from collection.output.site.site_tables import (
    COUNTED,
    DATABASE,
    NARROWED,
    NOT_OF_AN_OBJECT,
    POINTS_TO_PLACES,
    VIEWS,
    WITH_FILES,
    dictionary_rows,
    metadata,
    own_tables,
)
from collection.records.columns import Column
from collection.records.sheets import BY_SHEET, SHEETS, Record
from collection.store.base.listed_cells import LISTED

FILE_NAME = f"{DATABASE}.db"
ROWS_AT_ONCE = 5_000
BY_OBJECT = {("objects", "object"), ("documents", "object")}
"""Tables that are asked by an object's own number; the others are by its row number."""
BY_WORDS = ("search_rows", LISTED)
"""Tables that are asked for an object's words, never for one key."""

_TYPES: dict[str, Any] = {"number": float, "integer": int}


class SiteFile:
    """Writes one new published file: number the objects, add the rows of each, then `finish`.

    Staff may know of every survey; where it is not to be `every_survey`, only those that brought a published row are
    written, so that for the public a survey for staff is not even named.
    """

    def __init__(self, path: Path, surveys: Mapping[str, Row], audience: Audience, *, every_survey: bool) -> None:
        self.audience = audience
        self.surveys = surveys
        self.database = Database(path, execute_plugins=False)
        self.database.execute("PRAGMA synchronous = OFF")  # VACUUM INTO makes the file that is kept
        self.columns = {record.sheet: audience.columns(record) for record in SHEETS}
        self._ids: dict[str, int] = {}
        self._object_ids: dict[str, int] = {}
        self._survey_ids = {code: number for number, code in enumerate(surveys, 1)} if every_survey else {}
        self._waiting: dict[str, list[Row]] = {}
        self._references: list[tuple[str, str, str, str]] = []
        self._links: dict[str, list[tuple[str, str]]] = {}
        self._columns: dict[str, list[str]] = {}
        for record in SHEETS:
            self._create(record.table, self._sheet_types(record), self._sheet_references(record))
        for table, (_, columns) in own_tables(staff=audience.is_staff).items():
            types = {name: kind for name, (kind, _) in columns.items()}
            if table not in NOT_OF_AN_OBJECT:
                types = {"object": str, "object_id": int, **types}
            if table in ("losses", "decisions"):
                types["proposal_id"] = int
            if table == "brought":
                types["survey_id"] = int
            references = [
                (name, {"object_id": "objects", "proposal_id": "proposals", "survey_id": "surveys"}[name])
                for name in ("object_id", "proposal_id", "survey_id")
                if name in types
            ]
            self._create(table, types, references)
        # Tables refer to each other both ways, so the references are added when all tables are there.
        self.database.add_foreign_keys(self._references)

    def number_objects(self, codes: list[str]) -> None:
        """Sets the row numbers of the objects, so that one can refer to another."""
        self._object_ids = {code: number for number, code in enumerate(codes, 1)}

    def add_object(self, found: ObjectRows) -> None:
        """One object's rows, numbered after those that stand there already."""
        first = dict(self._ids)
        for table, links in self._links.items():
            rows = found.rows.get(table)
            if not rows:
                continue
            waiting = self._waiting.setdefault(table, [])
            number = first.get(table, 0)
            for row in rows:
                number += 1
                linked = {name: self._linked(found.code, name, target, row, first) for name, target in links}
                waiting.append({"id": number, **row, **linked})
            self._ids[table] = number
        if sum(map(len, self._waiting.values())) > ROWS_AT_ONCE:
            self._write()

    def _linked(self, code: str, name: str, target: str, row: Row, first: Mapping[str, int]) -> int | None:
        """The number of the row that a reference leads to."""
        if target == "surveys":
            return self._survey_ids.setdefault(row["survey"], len(self._survey_ids) + 1)
        if target == "objects":
            return self._object_ids.get(code if name == "object_id" else row[name.removesuffix("_id")])
        own: int | None = row[name]
        return None if own is None else own + first.get(target, 0)

    def finish(self, path: Path, about: Mapping[str, str], ranking: Mapping[str, str]) -> Json:
        """Adds the surveys and what the file says about itself, indexes it, writes it to `path`; returns the metadata."""
        for code in self._survey_ids:
            row = self.surveys[code]
            self._insert(
                "surveys", {"key": code, **survey_json(row, audience=self.audience), "from_row": row["from_row"]}
            )
        counts = {f"count_{table}": str(self._ids.get(table, 0)) for table in COUNTED}
        for name, value in {**about, **counts}.items():
            self._insert("about", {"name": name, "value": value})
        for name, value in ranking.items():
            self._insert("ranking", {"name": name, "content": value})
        for entry in dictionary_rows(self.columns, staff=self.audience.is_staff):
            self._insert("dictionary", entry)
        self._write()
        database = self.database
        astray = database.execute("PRAGMA foreign_key_check").fetchall()
        if astray:
            raise OurFault(f"The published rows point to rows that are not there: {astray[:3]}. Nothing was published.")
        for table in database.tables:
            for column in table.columns:
                by_key = column.name == "key" and table.name not in BY_WORDS
                if column.name.endswith("_id") or by_key or (table.name, column.name) in BY_OBJECT:
                    table.create_index([column.name], if_not_exists=True)
            for columns in NARROWED.get(table.name, []):
                table.create_index(columns)
        database.table("search").enable_fts(["title", "words"])
        for name, (_, sql) in VIEWS.items():
            database.create_view(name, sql)
        database.execute("PRAGMA optimize")
        database.execute("VACUUM INTO ?", [str(path)])
        database.close()
        return metadata(about["title"], self.columns, staff=self.audience.is_staff)

    def _create(self, table: str, columns: dict[str, Any], references: Sequence[tuple[str, str]]) -> None:
        self.database.table(table).create({"id": int, **columns}, pk="id", strict=True)
        self._references += [(table, column, other, "id") for column, other in references]
        self._links[table] = list(references)
        self._columns[table] = ["id", *columns]

    def _sheet_types(self, record: type[Record]) -> dict[str, Any]:
        columns = self.columns[record.sheet]
        types: dict[str, Any] = {"key": str}
        types |= {column.name: _TYPES.get(column.kind, str) for column in columns}
        types |= dict.fromkeys((name for name, _ in self._sheet_references(record)), int)
        if record.sheet in WITH_FILES:
            types["file"] = str
        if record.sheet != "survey":
            types["survey"] = str
        types["from_row"] = int
        return types

    def _sheet_references(self, record: type[Record]) -> list[tuple[str, str]]:
        found = [
            (f"{column.name}_id", _table_of(column))
            for column in self.columns[record.sheet]
            if column.reference and column.kind != "list"
        ]
        return found if record.sheet == "survey" else [*found, ("survey_id", "surveys")]

    def _insert(self, table: str, row: Row) -> None:
        number = self._ids[table] = self._ids.get(table, 0) + 1
        self._waiting.setdefault(table, []).append({"id": number, **row})

    def _write(self) -> None:
        with self.database.atomic():
            for table, rows in self._waiting.items():
                names = self._columns[table]
                quoted, marks = ", ".join(f'"{name}"' for name in names), ", ".join("?" * len(names))
                sql = f'INSERT INTO "{table}" ({quoted}) VALUES ({marks})'
                self.database.conn.executemany(sql, ([row.get(name) for name in names] for row in rows))
        self._waiting = {}

    @property
    def used_surveys(self) -> list[Row]:
        """The surveys that brought a row published so far."""
        return [self.surveys[code] for code in self._survey_ids]


def _table_of(column: Column) -> str:
    if column.reference in POINTS_TO_PLACES:
        return "places"
    return BY_SHEET[column.reference or ""].table
