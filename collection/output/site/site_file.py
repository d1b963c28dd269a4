"""The published SQLite file: the public columns and rows, laid out to read well in any SQLite browser.

Integer row numbers, one-column references, a label per row, full-text search, views and a dictionary are
for those who open the file without this program. The rows are numbered in the order of their keys, so the
same database gives the same content again.
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
from collection.records.columns import Column
from collection.records.sheets import BY_SHEET, SHEETS, Record

DATABASE = "collection"
FILE_NAME = f"{DATABASE}.db"
ROWS_AT_ONCE = 20_000

_TYPES: dict[str, Any] = {"number": float, "integer": int}
_POINTS_TO_PLACES = ("place", "components", "zones")

OWN_TABLES: dict[str, tuple[str, dict[str, tuple[type, str]]]] = {
    "places": (
        "Every part and zone of an object, with what survives there of the maker's finish.",
        {
            "place": (str, "the code of the part or zone"),
            "kind": (str, "component or zone"),
            "name": (str, "what it is called"),
            "component": (str, "the part it lies on"),
            "state": (str, "what is left of the maker's finish, in one word"),
            "area_m2": (float, "painted area, m2; blank = not known"),
            "share_low": (float, "surviving share of its area, low end of 95 %"),
            "share_middle": (float, "surviving share of its area, middle"),
            "share_high": (float, "surviving share of its area, high end of 95 %"),
            "present": (int, "readings at which it was found"),
            "read": (int, "readings at which it was looked for"),
            "traces": (int, "of those found, how many were only traces"),
            "as_of": (str, "the date of the newest evidence"),
        },
    ),
    "survival": (
        "What survives of the maker's finish on each object: counts are seen, areas are inferred.",
        {
            "present": (int, "readings at which it was found"),
            "read": (int, "readings at which it was looked for"),
            "traces": (int, "of those found, how many were only traces"),
            "surviving_low_m2": (float, "area that survives, m2, low end of 95 %"),
            "surviving_middle_m2": (float, "area that survives, m2, middle"),
            "surviving_high_m2": (float, "area that survives, m2, high end of 95 %"),
            "unmeasured_places": (int, "places without an area: the totals are at least"),
            "unexamined_places": (int, "places that nobody has examined"),
            "sentence": (str, "what was seen of it, as a sentence"),
            "as_of": (str, "the date of the newest evidence"),
        },
    ),
    "losses": (
        "What each proposal would or might take: one kept thing in one place a line.",
        {
            "proposal": (str, "the proposal"),
            "loss": (str, "place and kept thing"),
            "severity": (str, "from least to worst: clear, stood, untested, endangers, destroys"),
            "message": (str, "the loss, as a sentence"),
            "would_change_it": (str, "what would change it"),
        },
    ),
    "decisions": (
        "What was decided on a proposal.",
        {
            "proposal": (str, "the proposal"),
            "number": (int, "its place among the decisions on the proposal"),
            "decision": (str, "approve, refuse or defer"),
            "decided_at": (str, "when, UTC"),
            "decided_by": (str, "who decided, where names are published"),
            "reason": (str, "the reason given"),
            "outcome": (str, "the worst severity that the assessment found"),
            "stale": (int, "1 = records, the policy or what the rules say have changed since"),
        },
    ),
    "threats": (
        "What works against the original finish of each object.",
        {
            "number": (int, "its place among the object's, gravest first"),
            "kind": (str, "the kind of threat"),
            "place": (str, "where; blank = the whole object"),
            "message": (str, "what it is, as a sentence"),
            "remedy": (str, "the cheapest act that helps"),
        },
    ),
    "documents": (
        "Everything published about an object, as one JSON document.",
        {"title": (str, "what the object is called"), "document": (str, "the document, JSON")},
    ),
    "search": (
        "The words by which each object is found.",
        {
            "title": (str, "what the object is called, and its number"),
            "words": (str, "every distinct cell that may be searched"),
        },
    ),
    "brought": (
        "How many records of each kind a survey brought to an object.",
        {"survey": (str, "the survey"), "sheet": (str, "the kind of record"), "number": (int, "how many")},
    ),
    "search_rows": (
        "The records of each object by their words, for the reason why it was found.",
        {
            "sheet": (str, "the kind of record"),
            "key": (str, "its key"),
            "place": (str, "where"),
            "sample": (str, "the sample that it speaks of"),
            "tokens": (str, "its words without case and accents, each after a space; cells are parted by ǀ"),
        },
    ),
    "about": ("What this file is.", {"name": (str, "what is told"), "value": (str, "what is told of it")}),
    "dictionary": (
        "What every table and column of this file means.",
        {
            "table_name": (str, "the table"),
            "column_name": (str, "the column; empty for the table itself"),
            "meaning": (str, "what it says"),
            "unit": (str, "the unit of its numbers"),
            "words": (str, "the words it may hold, parted by |"),
        },
    ),
}
"""Tables of the file that are no sheets: their meaning, and each column's type and meaning."""
NARROWED: dict[str, list[list[str]]] = {
    "layers": [["colour", "object_id"]],
    "places": [["state", "object_id"]],
    "objects": [["maker"]],
    "schemes": [["period", "object_id"], ["name", "object_id"]],
}
"""What a search of the site is narrowed by, beside the objects that it leaves."""
WITH_FILES = ("pictures", "drawings")
"""Sheets whose rows name a published file."""
_NOT_OF_AN_OBJECT = ("about", "dictionary")

VIEWS = {
    "what_survives": (
        "What survives of the maker's finish, object by object.",
        "select o.object, o.title, o.kind, s.present, s.read, s.traces, s.surviving_low_m2, s.surviving_middle_m2, "
        "s.surviving_high_m2, s.unmeasured_places, s.unexamined_places, s.as_of "
        "from objects as o left join survival as s on s.object_id = o.id order by o.object",
    ),
    "build_up": (
        "Every coat with its sample, the place it was read in and the scheme it belongs to.",
        "select l.object, s.place, l.sample, l.position, l.role, l.colour, l.thickness_um, l.coverage, l.scheme, "
        "c.name as scheme_name, c.period from layers as l join samples as s on s.id = l.sample_id "
        "left join schemes as c on c.id = l.scheme_id order by l.object, l.sample, l.position",
    ),
    "at_stake": (
        "What the proposals would or might take, worst first.",
        "select l.object, l.proposal, p.title, l.loss, l.severity, l.message from losses as l "
        "join proposals as p on p.id = l.proposal_id order by case l.severity when 'destroys' then 0 "
        "when 'endangers' then 1 when 'untested' then 2 when 'stood' then 3 else 4 end, l.object, l.loss",
    ),
}


class SiteFile:
    """Writes one new published file: number the objects, add each, then `finish`.

    Of the surveys in account only those that brought a published row are written for the public, so that a survey
    for staff alone is not even named.
    """

    def __init__(self, path: Path, surveys: Mapping[str, Row], audience: Audience) -> None:
        self.audience = audience
        self.surveys = surveys
        self.database = Database(path, execute_plugins=False)
        self.database.execute("PRAGMA synchronous = OFF")  # VACUUM INTO makes the file that is kept
        self.columns = {record.sheet: audience.columns(record) for record in SHEETS}
        self._ids: dict[str, int] = {}
        self._object_ids: dict[str, int] = {}
        # Staff may know of every survey in account; the public only of those that brought what is published.
        self._survey_ids = {code: number for number, code in enumerate(surveys, 1)} if audience.is_staff else {}
        self._waiting: dict[str, list[Row]] = {}
        self._references: list[tuple[str, str, str, str]] = []
        for record in SHEETS:
            self._create(record.table, self._sheet_types(record), self._sheet_references(record))
        for table, (_, columns) in OWN_TABLES.items():
            types = {name: kind for name, (kind, _) in columns.items()}
            if table not in _NOT_OF_AN_OBJECT:
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
        # Tables refer to each other both ways, so the references come when all of them are there.
        self.database.add_foreign_keys(self._references)

    def number_objects(self, codes: list[str]) -> None:
        """Fixes the row numbers of the objects, so that one may point to another."""
        self._object_ids = {code: number for number, code in enumerate(codes, 1)}

    def add_object(self, public: PublicRows, document: Json) -> None:
        """One object's rows, its places, losses, decisions, document and search words."""
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
        self._insert(
            "documents",
            {
                **links,
                "title": document["title"],
                "document": json.dumps(document, ensure_ascii=False, separators=(",", ":"), allow_nan=False),
            },
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
        """Adds surveys and what the file says of itself, indexes it, writes it to `path`; gives the metadata."""
        for code in self._survey_ids:
            row = self.surveys[code]
            self._insert(
                "surveys", {"key": code, **survey_json(row, audience=self.audience), "from_row": row["from_row"]}
            )
        for name, value in about.items():
            self._insert("about", {"name": name, "value": value})
        for entry in self._dictionary():
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
        return self._metadata(about)

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

    def _dictionary(self) -> list[Row]:
        found = []
        for record in SHEETS:
            found.append(_entry(record.table, "", record.meaning))
            found += [
                _entry(
                    record.table, column.name, column.meaning, column.unit, column.words.words if column.words else ()
                )
                for column in self.columns[record.sheet]
            ]
        for table, (meaning, columns) in OWN_TABLES.items():
            found.append(_entry(table, "", meaning))
            found += [_entry(table, name, column_meaning) for name, (_, column_meaning) in columns.items()]
        return found

    def _metadata(self, about: Mapping[str, str]) -> Json:
        tables: Json = {}
        for record in SHEETS:
            tables[record.table] = {
                "description": record.meaning,
                "columns": {
                    column.name: column.meaning + (f" ({column.unit})" if column.unit else "")
                    for column in self.columns[record.sheet]
                },
                "label_column": "title" if record.sheet == "objects" else "key",
            }
        for table, (meaning, columns) in OWN_TABLES.items():
            tables[table] = {"description": meaning, "columns": {name: m for name, (_, m) in columns.items()}}
        tables["places"]["label_column"] = "name"
        for view, (meaning, _) in VIEWS.items():
            tables[view] = {"description": meaning}
        return {
            "title": about["title"],
            "databases": {
                DATABASE: {
                    "description": "What survives of the makers' finishes in this collection, published for reading.",
                    "tables": tables,
                }
            },
        }


def _table_of(column: Column) -> str:
    if column.reference in _POINTS_TO_PLACES:
        return "places"
    return BY_SHEET[column.reference or ""].table


def _entry(table: str, column: str, meaning: str, unit: str | None = None, words: tuple[str, ...] = ()) -> Row:
    return {
        "table_name": table,
        "column_name": column,
        "meaning": meaning,
        "unit": unit,
        "words": "|".join(words) or None,
    }
