"""The rows of one object in the published file, before they are numbered among those of all objects.

In each table they count from 1, and refer to each other so. Other objects and the surveys they name by code.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from collection.language.phrases import BETWEEN, tokens
from collection.output.published.audience import Audience, PublicRows, Row, only, row_key
from collection.output.published.documents import Json, cells_of, searched, words_of
from collection.output.published.filed_object import as_text, packed, parts_of
from collection.output.published.whole_records import whole_records
from collection.output.site.site_tables import FOR_STAFF, POINTS_TO_PLACES, WITH_FILES, published_columns
from collection.records.columns import Column
from collection.records.sheets import BY_SHEET, SHEETS, Record
from collection.store.base.listed_cells import LISTED

SURVIVAL = ("present", "read", "traces", "area_m2", "unmeasured_places", "unexamined_places", "sentence", "as_of")
DECISION = ("number", "decision", "decided_at", "decided_by", "reason", "outcome")


@dataclass
class ObjectRows:
    """One object as published: its rows by table, what was held back, and why pictures were left out."""

    code: str
    rows: dict[str, list[Row]] = field(default_factory=dict)
    withheld: dict[str, int] = field(default_factory=dict)
    left_out: dict[str, str] = field(default_factory=dict)
    taken_over: bool = False

    def add(self, table: str, row: Row) -> int:
        rows = self.rows.setdefault(table, [])
        rows.append(row)
        return len(rows)


def object_rows(
    public: PublicRows,
    document: Json,
    comparisons: Iterable[Json],
    strata: Json,
    figures: Mapping[str, str],
    *,
    audience: Audience,
) -> ObjectRows:
    """Everything that the file holds of an object: its records, what was computed of them, words to search.

    :param strata: the correlation of the published samples.
    :param figures: the kept figures by name.
    """
    made = _Rows(public, document, audience)
    made.records()
    made.judgements()
    made.survival()
    made.counts()
    for found in comparisons:
        earlier, later = (survey["code"] for survey in found["surveys"])
        made.add("comparisons", {"earlier": earlier, "later": later, **found["numbers"], "comparison": as_text(found)})
    whole = as_text(whole_records(document, published_columns(audience)))
    made.add("documents", {"title": document["title"], "document": packed(whole)})
    for part in parts_of(document, strata, figures):
        made.add("parts", part)
    made.words()
    return made.found


class _Rows:
    def __init__(self, public: PublicRows, document: Json, audience: Audience) -> None:
        self.public, self.document = public, document
        self.columns = {record.sheet: audience.columns(record) for record in SHEETS}
        self.found = ObjectRows(document["object"], withheld=dict(public.withheld))
        self.own: dict[tuple[str, Any], int] = {}

    def add(self, table: str, row: Row) -> int:
        return self.found.add(table, {"object": self.found.code, **row})

    def records(self) -> None:
        """The places, and every record of every sheet."""
        for row in self._places():
            self.own["place", row["place"]] = self.add("places", row)
        # Rows may point to later ones, so they are numbered before any is written.
        for record in SHEETS:
            for number, row in enumerate(self.public.rows.get(record.sheet, ()), 1):
                if record.sheet == "layers":
                    self.own["layers", (row["sample"], row["position"])] = number
                elif len(record.key) > 1:
                    self.own[record.sheet, row[record.key[1]]] = number
        files = {(sheet, row["key"]): row["file"] for sheet in WITH_FILES for row in self.document[sheet]}
        for record in SHEETS:
            for row in self.public.rows.get(record.sheet, ()):
                self.found.add(record.table, self._stored(record, row, files))

    def judgements(self) -> None:
        """The losses that each proposal would or might cause, and the decisions on it."""
        for proposal in self.document["proposals"]:
            code = proposal["proposal"]
            links = {"proposal": code, "proposal_id": self.own["proposals", code]}
            for loss in proposal["assessment"]["losses"]:
                said = {name: loss[name] for name in ("severity", "message", "would_change_it")}
                self.add("losses", {**links, "loss": loss["id"], **said})
            for made in proposal["decisions"]:
                said = {name: made[name] for name in DECISION}
                self.add("decisions", {**links, "stale": int(made["stale"]), **said})

    def survival(self) -> None:
        """What survives, and what threatens it."""
        survival = self.document["survival"]
        low, middle, high = survival["surviving_m2"] or (None, None, None)
        areas = {"surviving_low_m2": low, "surviving_middle_m2": middle, "surviving_high_m2": high}
        self.add("survival", {**{name: survival[name] for name in SURVIVAL}, **areas})
        for number, threat in enumerate(self.document["threats"], 1):
            said = {name: threat[name] for name in ("kind", "place", "message", "remedy")}
            self.add("threats", {"number": number, **said})
        for number, risk in enumerate(self.document["risks"], 1):
            low, middle, high = risk["share"]
            said = {name: risk[name] for name in ("kind", "place", "message", "remedy", "event", "soon", "pace_years")}
            ends = {"share_low": low, "share_middle": middle, "share_high": high}
            self.add("risks", {"number": number, **said, **ends})

    def counts(self) -> None:
        """What each survey brought; cells of lists that no column took whole."""
        brought = Counter((row["survey"], sheet) for sheet, rows in self.public.rows.items() for row in rows)
        for (survey, sheet), number in brought.items():
            self.add("brought", {"survey": survey, "sheet": BY_SHEET[sheet].table, "number": number})
        for cell in self.document.get("listed", ()):
            self.add(LISTED, {name: cell[name] for name in FOR_STAFF[LISTED][1]})

    def words(self) -> None:
        """The words by which the object is found, and those of each record."""
        document = self.document
        self.add("search", {"title": f"{self.found.code} . {document['title']}", "words": words_of(document)})
        for sheet, row, place in searched(document):
            said = f" {BETWEEN}".join("".join(f" {token}" for token in tokens(cell)) for cell in cells_of(sheet, row))
            about = {"sheet": sheet, "key": row["key"], "place": place, "sample": row.get("sample")}
            self.add("search_rows", {**about, "tokens": said})

    def _stored(self, record: type[Record], row: Row, files: Mapping[tuple[str, str], str | None]) -> Row:
        values = only(row, self.columns[record.sheet])
        key = row_key(record, row)
        links = {
            f"{column.name}_id": self._target(column, values)
            for column in self.columns[record.sheet]
            if column.reference and column.reference != "objects" and column.kind != "list"
        }
        file = {"file": files.get((record.sheet, key))} if record.sheet in WITH_FILES else {}
        return {"key": key, **values, **file, **links, "survey": row["survey"], "from_row": row["from_row"]}

    def _target(self, column: Column, values: Row) -> int | None:
        value = values[column.name]
        if value is None:
            return None
        if column.reference in POINTS_TO_PLACES:
            return self.own.get(("place", value))
        if column.reference == "layers":
            return self.own.get(("layers", (values["sample"], value)))
        return self.own.get((column.reference or "", value))

    def _places(self) -> list[Row]:
        states = {row["place"]: row for row in self.document["survival"]["places"]}
        found: dict[str, Row] = {}
        for kind, sheet in (("component", "components"), ("zone", "zones")):
            for row in self.public.rows.get(sheet, ()):
                own = {"place": row[kind], "kind": kind, "name": row["name"], "component": row["component"]}
                found[row[kind]] = own
        for place, row in found.items():
            state = states.get(place)
            if state:
                low, middle, high = state["share"] or (None, None, None)
                row |= {name: state[name] for name in ("state", "area_m2", "present", "read", "traces", "as_of")}
                row |= {"share_low": low, "share_middle": middle, "share_high": high}
        return list(found.values())
