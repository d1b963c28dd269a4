"""The tables and views that the published file has beside the sheets, and what each table and column means."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from collection.output.published.audience import Audience
from collection.records.columns import Column
from collection.records.sheets import SHEETS
from collection.store.base.listed_cells import LISTED

Row = dict[str, Any]
Json = dict[str, Any]

DATABASE = "collection"

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
        "What survives of the maker's finish on each object: counts were seen, areas are worked out from them.",
        {
            "present": (int, "readings at which it was found"),
            "read": (int, "readings at which it was looked for"),
            "traces": (int, "of those found, how many were only traces"),
            "area_m2": (float, "painted area, m2; blank = not known"),
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
        "What each proposal would or might take: one line per kept thing and place.",
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
        "What endangers the original finish of each object.",
        {
            "number": (int, "its place among the object's, worst first"),
            "kind": (str, "the kind of threat"),
            "place": (str, "where; blank = the whole object"),
            "message": (str, "what it is, as a sentence"),
            "remedy": (str, "the cheapest thing that helps"),
        },
    ),
    "risks": (
        "Everything that may take original finish of an object, with what its magnitude is made of.",
        {
            "number": (int, "its place among the object's, gravest kind first"),
            "kind": (str, "the kind of threat"),
            "place": (str, "where; blank = the whole object"),
            "message": (str, "what it is, as a sentence"),
            "remedy": (str, "the cheapest thing that helps"),
            "event": (str, "what would happen: threats with one event are one loss"),
            "soon": (str, "how it comes about: a row of the policy, which says how soon and how much it takes"),
            "pace_years": (float, "years until it has happened, at the pace of two looks; blank = the policy alone"),
            "share_low": (float, "share of the painted surface that it reaches, low end"),
            "share_middle": (float, "share of the painted surface that it reaches, middle"),
            "share_high": (float, "share of the painted surface that it reaches, high end"),
        },
    ),
    "reviews": (
        "The days on which somebody has to look at an object again.",
        {
            "day": (str, "the day, YYYY-MM-DD"),
            "kind": (str, "temporary measure, advice, reserve or approved work"),
            "key": (str, "the key of the record that names the day"),
            "title": (str, "what it is about"),
            "message": (str, "what is to be done, as a sentence"),
        },
    ),
    "documents": (
        "Everything published about an object, as one JSON document.",
        {
            "title": (str, "what the object is called"),
            "document": (bytes, "the document: JSON, compressed by zlib (RFC 1950)"),
        },
    ),
    "parts": (
        "The same by its parts as the pages show them, with what was computed and drawn once.",
        {
            "name": (str, "the part of the document, or what was computed: strata; figure and its name"),
            "content": (str, "the part, where it is short: JSON, or a figure as SVG"),
            "packed": (bytes, "the part, where it is long, compressed by zlib (RFC 1950)"),
        },
    ),
    "computed": (
        "From what each object's rows were computed, so that publishing again computes only what changed.",
        {
            "inputs": (str, "SHA-256 of all that was read, and of the program"),
            "changed_on": (str, "the day of the newest change when it was last computed anew"),
            "left_out": (str, "why files of pictures and drawings are not published, by the record's key: JSON"),
        },
    ),
    "comparisons": (
        "What changed on an object between two surveys.",
        {
            "earlier": (str, "the earlier survey"),
            "later": (str, "the later survey"),
            "lost": (int, "how often original finish or an original part was lost"),
            "may_be_lost": (int, "how often it may have been lost"),
            "worse_original": (int, "conditions of original finish that became active, got worse or are new"),
            "exposed": (int, "places where original finish was laid open"),
            "worse": (int, "conditions in all that became active, got worse or are new"),
            "disagree": (int, "samples that disagree with earlier ones, and no work explains it"),
            "comparison": (str, "all that changed, JSON"),
        },
    ),
    "glances": (
        "What the lists of the site show of each object at a glance.",
        {
            "title": (str, "what the object is called"),
            "kind": (str, "what kind of thing it is"),
            "thumb": (str, "the file of a small picture of it"),
            "exposed": (int, "places where original finish lies open"),
            "covered": (int, "places where it lies under later coats"),
            "fragmentary": (int, "places where only fragments of it are left"),
            "not_found": (int, "places where it was looked for and not found"),
            "removed": (int, "places from which it was taken off"),
            "not_examined": (int, "places that nobody has examined"),
            "seen": (float, "share of the readings that found it; blank = none was made"),
            "looked": (str, "yes, or never where nobody has examined any place"),
            "risk": (str, "how many threats of each kind, four digits each, gravest kind first; blank = none"),
            "newest": (str, "when the newest survey that brought a record of it began"),
        },
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
        "The words of each object's records, to say why it was found.",
        {
            "sheet": (str, "the kind of record"),
            "key": (str, "its key"),
            "place": (str, "where"),
            "sample": (str, "the sample it is about"),
            "tokens": (str, "its words without case and accents, each after a space; cells are parted by ǀ"),
        },
    ),
    "ranking": (
        "The gravest threats of the whole collection, and its pictures.",
        {"name": (str, "listed, or the name of a picture"), "content": (str, "JSON, or a picture as SVG")},
    ),
    "about": ("What this file is.", {"name": (str, "the subject"), "value": (str, "what is said about it")}),
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
"""Tables of the file beside the sheets: their meaning, and each column's type and meaning."""
FOR_STAFF: dict[str, tuple[str, dict[str, tuple[type, str]]]] = {
    LISTED: (
        "Cells of lists from elsewhere that no column took whole, as they were written.",
        {
            "key": (str, "the object, the survey that brought the list, and the heading"),
            "heading": (str, "the heading in the list"),
            "text": (str, "what the cell says"),
            "list": (str, "the file of the list"),
            "row": (int, "the row of the list; blank = kept before rows were"),
            "on": (str, "the day on which it came in"),
            "survey": (str, "the survey that brought it"),
        },
    )
}
"""Tables that only a site for staff has."""


def own_tables(*, staff: bool) -> dict[str, tuple[str, dict[str, tuple[type, str]]]]:
    """The tables beside the sheets that a site has."""
    return {**OWN_TABLES, **FOR_STAFF} if staff else OWN_TABLES


NARROWED: dict[str, list[list[str]]] = {
    "layers": [["colour", "object_id"]],
    "places": [["state", "object_id"]],
    "objects": [["maker"]],
    "schemes": [["period", "object_id"], ["name", "object_id"]],
    "comparisons": [["earlier", "later"]],
    "glances": [
        ["title"],
        ["kind", "object_id"],
        ["looked", "object_id"],
        ["risk"],
        ["seen"],
        ["not_examined"],
        ["newest"],
        ["thumb"],
    ],
    "threats": [["kind", "object_id"]],
    "pictures": [["file"]],
    "drawings": [["file"]],
}
"""Indexes for the columns that narrow a search of the site."""
WITH_FILES = ("pictures", "drawings")
"""Sheets whose rows name a published file."""
POINTS_TO_PLACES = ("place", "components", "zones")
"""References that lead to a row of `places`."""
COUNTED = ("objects", "places", "samples", "layers", "tests", "treatments", "proposals")
"""Tables whose rows the file says the number of, so that no page counts them."""
NOT_OF_AN_OBJECT = ("about", "dictionary", "ranking")

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


def published_columns(audience: Audience) -> dict[str, list[str]]:
    """The names of the described columns of each table, in order."""
    sheets = {record.table: [column.name for column in audience.columns(record)] for record in SHEETS}
    return sheets | {table: list(columns) for table, (_, columns) in own_tables(staff=audience.is_staff).items()}


def dictionary_rows(columns: Mapping[str, Sequence[Column]], *, staff: bool) -> list[Row]:
    """The rows of the file's own dictionary; `columns` are those published of each sheet."""
    found = []
    for record in SHEETS:
        found.append(_entry(record.table, "", record.meaning))
        found += [
            _entry(record.table, column.name, column.meaning, column.unit, column.words.words if column.words else ())
            for column in columns[record.sheet]
        ]
    for table, (meaning, own) in own_tables(staff=staff).items():
        found.append(_entry(table, "", meaning))
        found += [_entry(table, name, column_meaning) for name, (_, column_meaning) in own.items()]
    return found


def metadata(title: str, columns: Mapping[str, Sequence[Column]], *, staff: bool) -> Json:
    """What Datasette shows of the file and its tables; `columns` are those published of each sheet."""
    tables: Json = {}
    for record in SHEETS:
        tables[record.table] = {
            "description": record.meaning,
            "columns": {
                column.name: column.meaning + (f" ({column.unit})" if column.unit else "")
                for column in columns[record.sheet]
            },
            "label_column": "title" if record.sheet == "objects" else "key",
        }
    for table, (meaning, own) in own_tables(staff=staff).items():
        tables[table] = {"description": meaning, "columns": {name: m for name, (_, m) in own.items()}}
    tables["places"]["label_column"] = "name"
    for view, (meaning, _) in VIEWS.items():
        tables[view] = {"description": meaning}
    return {
        "title": title,
        "databases": {
            DATABASE: {
                "description": "What survives of the makers' finishes in this collection, published for reading.",
                "tables": tables,
            }
        },
    }


def _entry(table: str, column: str, meaning: str, unit: str | None = None, words: tuple[str, ...] = ()) -> Row:
    return {
        "table_name": table,
        "column_name": column,
        "meaning": meaning,
        "unit": unit,
        "words": "|".join(words) or None,
    }
