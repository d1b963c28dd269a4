"""Writes the published SQLite file: public columns and rows, laid out to read well in any SQLite browser.

Integer row numbers, one-column references, a label per row, full-text search, views and a dictionary serve those who
open the file without this program. Rows are numbered in the order of their keys, so that the same database gives the
same content again.
"""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from sqlite_utils import Database

from collection.language.errors import OurFault
from collection.language.phrases import BETWEEN, tokens
from collection.output.site.audience import Audience, PublicRows, Row, only, row_key
from collection.output.site.documents import Json, cells_of, searched, survey_json, words_of
from collection.output.site.site_tables import (
    DATABASE,
    FOR_STAFF,
    NARROWED,
    NOT_OF_AN_OBJECT,
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
ROWS_AT_ONCE = 20_000

_TYPES: dict[str, Any] = {"number": float, "integer": int}
_POINTS_TO_PLACES = ("place", "components", "zones")


class SiteFile:
    """Writes one new published file: number the objects, add each, then `finish`.

    For the public only the surveys that brought a published row are written, so that a survey for staff is not even
    named.
    """

    def __init__(self, path: Path, surveys: Mapping[str, Row], audience: Audience) -> None:
        self.audience = audience
        self.surveys = surveys
        self.database = Database(path, execute_plugins=False)
        self.database.execute("PRAGMA synchronous = OFF")  # VACUUM INTO makes the file that is kept
        self.columns = {record.sheet: audience.columns(record) for record in SHEETS}
        self._ids: dict[str, int] = {}
        self._object_ids: dict[str, int] = {}
        # Staff may know of every survey, the public only of those that brought something published.
        self._survey_ids = {code: number for number, code in enumerate(surveys, 1)} if audience.is_staff else {}
        self._waiting: dict[str, list[Row]] = {}
        self._references: list[tuple[str, str, str, str]] = []
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

    def add_object(self, public: PublicRows, document: Json, comparisons: Sequence[Json]) -> None:
        """One object's rows, its places, losses, decisions, document, comparisons of its surveys and search words."""
        code = document["object"]
        own: dict[tuple[str, Any], int] = {}
        links = {"object": code, "object_id": self._object_ids[code]}
        for row in self._places(public, document):
            own["place", row["place"]] = self._insert("places", {**links, **row})
        self._number_rows(public, own)
        files = {(sheet, row["key"]): row["file"] for sheet in WITH_FILES for row in document[sheet]}
        for record in SHEETS:
            for row in public.rows.get(record.sheet, ()):
                self._insert(record.table, self._stored(record, row, own, files))
        for proposal in document["proposals"]:
            self._add_judgement(
                links | {"proposal": proposal["proposal"], "proposal_id": own["proposals", proposal["proposal"]]},
                proposal,
            )
        survival = document["survival"]
        low, middle, high = survival["surviving_m2"] or (None, None, None)
        self._insert(
            "survival",
            {
                **links,
                **{
                    name: survival[name]
                    for name in (
                        "present",
                        "read",
                        "traces",
                        "unmeasured_places",
                        "unexamined_places",
                        "sentence",
                        "as_of",
                    )
                },
                "surviving_low_m2": low,
                "surviving_middle_m2": middle,
                "surviving_high_m2": high,
            },
        )
        brought = Counter((row["survey"], sheet) for sheet, rows in public.rows.items() for row in rows)
        for (survey, sheet), number in brought.items():
            self._insert(
                "brought",
                {
                    **links,
                    "survey": survey,
                    "sheet": BY_SHEET[sheet].table,
                    "number": number,
                    "survey_id": self._survey_ids[survey],
                },
            )
        for number, threat in enumerate(document["threats"], 1):
            self._insert(
                "threats",
                {**links, "number": number, **{name: threat[name] for name in ("kind", "place", "message", "remedy")}},
            )
        for cell in document.get("listed", ()):
            self._insert(LISTED, {**links, **{name: cell[name] for name in FOR_STAFF[LISTED][1]}})
        self._insert(
            "documents",
            {
                **links,
                "title": document["title"],
                "document": json.dumps(document, ensure_ascii=False, separators=(",", ":"), allow_nan=False),
            },
        )
        for found in comparisons:
            earlier, later = (survey["code"] for survey in found["surveys"])
            text = json.dumps(found, ensure_ascii=False, separators=(",", ":"), allow_nan=False)
            self._insert(
                "comparisons", {**links, "earlier": earlier, "later": later, **found["numbers"], "comparison": text}
            )
        self._insert("search", {**links, "title": f"{code} . {document['title']}", "words": words_of(document)})
        for sheet, row, place in searched(document):
            said = f" {BETWEEN}".join("".join(f" {token}" for token in tokens(cell)) for cell in cells_of(sheet, row))
            self._insert(
                "search_rows",
                {
                    **links,
                    "sheet": sheet,
                    "key": row["key"],
                    "place": place,
                    "sample": row.get("sample"),
                    "tokens": said,
                },
            )
        if sum(map(len, self._waiting.values())) > ROWS_AT_ONCE:
            self._write()

    def finish(self, path: Path, about: Mapping[str, str]) -> Json:
        """Adds the surveys and what the file says about itself, indexes it, writes it to `path`; returns the metadata."""
        for code in self._survey_ids:
            row = self.surveys[code]
            self._insert(
                "surveys", {"key": code, **survey_json(row, audience=self.audience), "from_row": row["from_row"]}
            )
        for name, value in about.items():
            self._insert("about", {"name": name, "value": value})
        for entry in dictionary_rows(self.columns, staff=self.audience.is_staff):
            self._insert("dictionary", entry)
        self._write()
        database = self.database
        astray = database.execute("PRAGMA foreign_key_check").fetchall()
        if astray:
            raise OurFault(f"The published rows point to rows that are not there: {astray[:3]}. Nothing was published.")
        for table in database.tables:
            for column in table.columns:
                if column.name.endswith("_id") or column.name in ("object", "key"):
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

    def _insert(self, table: str, row: Row) -> int:
        number = self._ids[table] = self._ids.get(table, 0) + 1
        self._waiting.setdefault(table, []).append({"id": number, **row})
        return number

    def _write(self) -> None:
        with self.database.atomic():
            for table, rows in self._waiting.items():
                self.database.table(table).insert_all(rows)
        self._waiting = {}

    def _number_rows(self, public: PublicRows, own: dict[tuple[str, Any], int]) -> None:
        """Says which number each row of an object will have, since rows may point to later ones."""
        for record in SHEETS:
            first = self._ids.get(record.table, 0) + 1
            for number, row in enumerate(public.rows.get(record.sheet, ()), first):
                if record.sheet == "layers":
                    own["layers", (row["sample"], row["position"])] = number
                elif len(record.key) > 1:
                    own[record.sheet, row[record.key[1]]] = number

    @property
    def used_surveys(self) -> list[Row]:
        """The surveys that brought a row published so far."""
        return [self.surveys[code] for code in self._survey_ids]

    def _stored(
        self,
        record: type[Record],
        row: Row,
        own: Mapping[tuple[str, Any], int],
        files: Mapping[tuple[str, str], str | None],
    ) -> Row:
        values = only(row, self.columns[record.sheet])
        key = row_key(record, row)
        links = {
            f"{column.name}_id": self._target(column, values, own)
            for column in self.columns[record.sheet]
            if column.reference and column.kind != "list"
        }
        file = {"file": files.get((record.sheet, key))} if record.sheet in WITH_FILES else {}
        return {
            "key": key,
            **values,
            **file,
            **links,
            "survey": row["survey"],
            "from_row": row["from_row"],
            "survey_id": self._survey_ids.setdefault(row["survey"], len(self._survey_ids) + 1),
        }

    def _target(self, column: Column, values: Row, own: Mapping[tuple[str, Any], int]) -> int | None:
        value = values[column.name]
        if value is None:
            return None
        if column.reference == "objects":
            return self._object_ids.get(value)
        if column.reference in _POINTS_TO_PLACES:
            return own.get(("place", value))
        if column.reference == "layers":
            return own.get(("layers", (values["sample"], value)))
        return own.get((column.reference or "", value))

    def _places(self, public: PublicRows, document: Json) -> list[Row]:
        states = {row["place"]: row for row in document["survival"]["places"]}
        found: dict[str, Row] = {}
        for row in public.rows.get("components", ()):
            found[row["component"]] = {
                "place": row["component"],
                "kind": "component",
                "name": row["name"],
                "component": row["component"],
            }
        for row in public.rows.get("zones", ()):
            found[row["zone"]] = {
                "place": row["zone"],
                "kind": "zone",
                "name": row["name"],
                "component": row["component"],
            }
        for place, row in found.items():
            state = states.get(place)
            if state:
                low, middle, high = state["share"] or (None, None, None)
                row |= {name: state[name] for name in ("state", "area_m2", "present", "read", "traces", "as_of")}
                row |= {"share_low": low, "share_middle": middle, "share_high": high}
        return list(found.values())

    def _add_judgement(self, links: Row, proposal: Json) -> None:
        for loss in proposal["assessment"]["losses"]:
            self._insert(
                "losses",
                {
                    **links,
                    "loss": loss["id"],
                    **{name: loss[name] for name in ("severity", "message", "would_change_it")},
                },
            )
        for decision in proposal["decisions"]:
            self._insert(
                "decisions",
                {
                    **links,
                    "stale": int(decision["stale"]),
                    **{
                        name: decision[name]
                        for name in ("number", "decision", "decided_at", "decided_by", "reason", "outcome")
                    },
                },
            )


def _table_of(column: Column) -> str:
    if column.reference in _POINTS_TO_PLACES:
        return "places"
    return BY_SHEET[column.reference or ""].table
