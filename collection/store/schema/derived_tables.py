"""The tables of what is computed from the records: facts, survival, threats, and each object's words for search."""

from __future__ import annotations

from collection.language import words
from collection.store.schema.column_kinds import OBJECT, code, digest, json_text, real, text, whole, word
from collection.store.schema.tables import StoredColumn, Table

_ENGINE = text("engine", "the version of the computation that wrote this row")
_AREA = real("area_m2", "painted area; blank = not known", "m2")
_STATE = word("state", words.ZONE_STATE, "what is left of the first finish, in one word")
_COUNTS = (
    whole("present", "readings at which it was found"),
    whole("read", "places at which it was looked for"),
    whole("traces", "of those found, how many were only traces"),
)
_AS_OF = text("as_of", "the date of the newest evidence it rests on", "TEXT")


def _interval(name: str, meaning: str, unit: str | None, high: float, *, suffix: str = "") -> tuple[StoredColumn, ...]:
    ends = {"low": "low end of 95 %", "middle": "middle", "high": "high end of 95 %"}
    return tuple(real(f"{name}_{end}{suffix}", f"{meaning}, {of}", unit, high) for end, of in ends.items())


_SHARE = _interval("share", "surviving share of its area", None, 1.0)
DERIVED: tuple[Table, ...] = (
    Table(
        "facts",
        "Derived: one document per object, as the rules read it.",
        (
            OBJECT,
            json_text("document", "everything in account about the object, as canonical JSON"),
            digest("sha256", "the hash of the document"),
            _ENGINE,
            StoredColumn(
                "stale",
                "INTEGER NOT NULL DEFAULT 0 CHECK (stale = 0 OR stale = 1)",
                "1 = not up to date",
                kind="integer",
            ),
        ),
        ("object",),
        indexes=("CREATE INDEX facts_stale ON facts (object) WHERE stale = 1;",),
    ),
    Table(
        "survival_objects",
        "Derived: what survives of the first finish on each object.",
        (
            OBJECT,
            _AREA,
            *_interval("surviving", "area of first finish that survives", "m2", 1e15, suffix="_m2"),
            whole("places", "places the figures are summed over"),
            whole("unmeasured_places", "of those, how many have no area: the totals are at least"),
            whole("unexamined_places", "of those, how many nobody has examined"),
            *_COUNTS,
            _AS_OF,
            _ENGINE,
        ),
        ("object",),
    ),
    Table(
        "survival_places",
        "Derived: what survives of the first finish at each place.",
        (
            OBJECT,
            code("place", "the zone or part", "place"),
            code("component", "the part it lies on", "components", required=False),
            _STATE,
            _AREA,
            *_SHARE,
            *_COUNTS,
            _AS_OF,
            _ENGINE,
        ),
        ("object", "place"),
        indexes=("CREATE INDEX survival_places_state ON survival_places (state);",),
    ),
    Table(
        "survival_schemes",
        "Derived: what survives of each scheme at each place.",
        (
            OBJECT,
            code("place", "the zone or part", "place"),
            code("scheme", "the scheme", "schemes"),
            _STATE,
            *_SHARE,
            *_COUNTS,
            _AS_OF,
            _ENGINE,
        ),
        ("object", "place", "scheme"),
    ),
    Table(
        "survival_decorations",
        "Derived: what survives of each decoration; never added to the object's total.",
        (
            OBJECT,
            code("decoration", "the decoration", "decorations"),
            code("place", "the zone or part it lies on", "place"),
            _STATE,
            _AREA,
            *_SHARE,
            *_COUNTS,
            _AS_OF,
            _ENGINE,
        ),
        ("object", "decoration"),
    ),
    Table(
        "risks",
        "Derived: the threats found by the program, each with the records behind it.",
        (
            OBJECT,
            StoredColumn(
                "number", "INTEGER NOT NULL CHECK (number >= 1)", "its place on the object's list", kind="integer"
            ),
            text("threat", "what kind of threat"),
            code("place", "where", "place", required=False),
            text("message", "the threat, as a sentence"),
            text("remedy", "what lowers it, as a sentence"),
            json_text("evidence", "the records behind it"),
            text("soon", "the row of the policy's table [risk.soon] by which it comes about"),
            *_interval(
                "reaches", "original finish that it reaches, as a share of the object's painted surface", None, 1.0
            ),
            text("event", "what would happen; threats with one event are one loss"),
            text("act", "the cheapest act that lowers it, a name of the policy's table [risk.acts]"),
            whole("amount", "how many things that act has to be done to"),
            real("pace_years", "years until it has happened, by the pace of two looks; blank = by the policy", "years"),
            text("after", "the last day on which it is no threat yet", "TEXT"),
            text("until", "the last day on which it is one", "TEXT"),
            text("action", "of an act that is a treatment, what would be done", "TEXT"),
            _AREA,
            _ENGINE,
        ),
        ("object", "number"),
    ),
    Table(
        "documents",
        "Derived: the words by which each object is searched.",
        (
            StoredColumn("id", "INTEGER CHECK (id > 0)", "the row in the full-text index", kind="integer"),
            code("object", "the object", "objects"),
            text("title", "what the object is called, and its number"),
            text("words", "every distinct cell that may be searched"),
            text("facets", "states, roles, periods and the like that searches are narrowed by"),
            StoredColumn(
                "listed",
                "TEXT NOT NULL DEFAULT ''",
                "the cells of lists from elsewhere that no column took whole",
                private=True,
            ),
        ),
        ("id",),
        numbered=True,
        indexes=("CREATE UNIQUE INDEX documents_object ON documents (object);",),
    ),
)
FULL_TEXT = """\
-- The full-text index over documents.
CREATE VIRTUAL TABLE documents_fts USING fts5 (
  title, words, facets, listed, content='documents', content_rowid='id', prefix='3'
);
"""
