"""The program's own tables: who changed what, files, decisions, the dictionary, and what is derived."""

from __future__ import annotations

from collection.language import words
from collection.language.word_list import WordList
from collection.store.schema.reference_tables import REFERENCE_SOLVENTS, REFERENCE_SPHERES, REFERENCE_TERMS
from collection.store.schema.tables import Reference, StoredColumn, Table, any_of

CHANGE = StoredColumn(
    "change", "INTEGER NOT NULL", "the change that wrote this row", kind="integer", reference="changes"
)
BY_CHANGE = Reference(("change",), "changes", ("number",))
HASH = "SHA-256 (FIPS 180-4)"
_SHA = "CHECK (length({0}) = 64)"


def _text(name: str, meaning: str, sql: str = "TEXT NOT NULL", source: str = "the program") -> StoredColumn:
    return StoredColumn(name, sql, meaning, source=source)


def _hash(name: str, meaning: str, *, required: bool = True) -> StoredColumn:
    return _text(name, meaning, f"TEXT{' NOT NULL' if required else ''} {_SHA.format(name)}", HASH)


def _whole(name: str, meaning: str, *, unit: str | None = None, required: bool = True) -> StoredColumn:
    sql = f"INTEGER{' NOT NULL' if required else ''} CHECK ({name} >= 0)"
    return StoredColumn(name, sql, meaning, unit, kind="integer")


def _real(name: str, meaning: str, unit: str | None, high: float = 1e15, sql: str = "REAL") -> StoredColumn:
    return StoredColumn(
        name, f"{sql} CHECK ({name} BETWEEN 0.0 AND {high!r})", meaning, unit, kind="number", source="computed"
    )


def _word(name: str, words_: WordList, meaning: str, *, required: bool = True) -> StoredColumn:
    sql = f"TEXT{' NOT NULL' if required else ''} CHECK {any_of(name, words_.words)}"
    return StoredColumn(name, sql, meaning, kind="word", words=words_.words)


def _code(name: str, meaning: str, to: str | None = None, *, required: bool = True) -> StoredColumn:
    return StoredColumn(name, "TEXT NOT NULL" if required else "TEXT", meaning, kind="code", reference=to)


def _json(name: str, meaning: str, *, required: bool = True) -> StoredColumn:
    # json_valid(NULL) is 0 here, so a blank has to be let through by name.
    rule = f"json_valid({name})" if required else f"{name} IS NULL OR json_valid({name})"
    return _text(name, meaning, f"TEXT{' NOT NULL' if required else ''} CHECK ({rule})")


_SHEET = _text("sheet", "the sheet of the record")
_KEY = _text("key", "the record's key, written OBJECT/CODE[/POSITION]")
_COLUMN = _text("column", "the column of that sheet")
_OBJECT = _code("object", "the object", "objects")
_PROPOSAL = _code("proposal", "the proposal", "proposals")
_NUMBER = StoredColumn(
    "number",
    "INTEGER NOT NULL CHECK (number >= 1)",
    "the place of this decision among those on the proposal",
    kind="integer",
)
_TO_PROPOSAL = Reference(("object", "proposal"), "proposals", ("object", "proposal"))

MIGRATIONS = Table(
    "migrations",
    "The versions of the schema that this file has been through.",
    (
        StoredColumn("version", "INTEGER CHECK (version >= 1)", "the number of the migration", kind="integer"),
        _text("name", "the file name of the migration"),
        _hash("sha256", "the hash of the migration's text"),
        _text("applied_at", "when it was applied, UTC"),
        _text("tool_version", "the version of firstcoat that applied it"),
    ),
    ("version",),
    append_only=True,
    numbered=True,
)
CHANGES = Table(
    "changes",
    "Who changed what, why and when; each row is chained to the one before it by its hash. Numbers, not clocks,\n"
    "give the order.",
    (
        StoredColumn("number", "INTEGER CHECK (number >= 1)", "the change's place in the order", kind="integer"),
        _text("at", "when, UTC, by the clock of the machine"),
        _text("by", "who made it", "TEXT NOT NULL CHECK (trim(by) <> '')"),
        _text("why", "the reason given", "TEXT NOT NULL CHECK (trim(why) <> '')"),
        _text("action", "what kind of change: ingest, amend, correct, withdraw, reinstate, decide …"),
        _text("subject", "the survey, record or proposal that it is about"),
        _text("tool_version", "the version of firstcoat that wrote it"),
        _hash("package_sha256", "the hash of the survey package it came from", required=False),
        _hash(
            "content_sha256",
            "the hash of every row of history, decisions, files and the like that it wrote",
            required=False,
        ),
        _text("previous_hash", "the hash of the change before it; empty for the first", "TEXT"),
        _hash("hash", "the hash of this row; blank only inside the transaction that writes it", required=False),
    ),
    ("number",),
    numbered=True,
    indexes=("CREATE INDEX changes_open ON changes (number) WHERE hash IS NULL;",),
)
HISTORY = Table(
    "history",
    "Every content of a record that a later change replaced, written by trigger, never altered.",
    (
        StoredColumn("id", "INTEGER CHECK (id > 0)", "the order of writing", kind="integer"),
        _SHEET,
        _KEY,
        _whole("revision", "which content of the record this was"),
        _code("survey", "the survey that had brought this content; for a survey its own code", "surveys"),
        _json("content", "the whole row as it was, numbers with 17 digits so that they come back exactly"),
        StoredColumn(
            "change", "INTEGER NOT NULL", "the change that replaced this content", kind="integer", reference="changes"
        ),
    ),
    ("id",),
    (BY_CHANGE,),
    append_only=True,
    numbered=True,
    indexes=(
        "CREATE INDEX history_of_record ON history (sheet, key);",
        "CREATE INDEX history_by_change ON history (change);",
    ),
)
PLACES = Table(
    "places",
    "The one name space of zones and parts of an object, and `all` for the whole of it.",
    (
        _OBJECT,
        _code("place", "the code of the zone or part, or `all`"),
        _text(
            "kind",
            "whether it is a zone, a part or the whole",
            f"TEXT NOT NULL CHECK {any_of('kind', ('all', 'component', 'zone'))}"
            " CHECK ((kind = 'all') = (place = 'all'))",
        ),
    ),
    ("object", "place"),
    (Reference(("object",), "objects", ("object",)),),
    append_only=True,
)
PACKAGES = Table(
    "packages",
    "The survey packages that were read.",
    (
        _hash("sha256", "the hash of the package"),
        _code("survey", "the survey it held", "surveys"),
        _text("name", "the name of the folder, archive or workbook"),
        CHANGE,
    ),
    ("sha256",),
    (Reference(("survey",), "surveys", ("code",)), BY_CHANGE),
    append_only=True,
)
FILES = Table(
    "files",
    "The files that are kept in the folder beside the database, each under its hash.",
    (
        _hash("sha256", "the hash of the file, which is its name in the folder"),
        _whole("bytes", "how long the file is", unit="byte"),
        _text("name", "the name it had in the package that first brought it"),
        CHANGE,
    ),
    ("sha256",),
    (BY_CHANGE,),
    append_only=True,
    indexes=("CREATE INDEX files_by_change ON files (change);",),
)
FILE_USES = Table(
    "file_uses",
    "Which record names which file; of several rows the one with the newest change holds.",
    (_SHEET, _KEY, _COLUMN, _hash("sha256", "the file"), CHANGE),
    ("sheet", "key", "column", "change"),
    (Reference(("sha256",), "files", ("sha256",)), BY_CHANGE),
    append_only=True,
    indexes=("CREATE INDEX file_uses_by_change ON file_uses (change);",),
)
WARNINGS = Table(
    "warnings",
    "What was doubtful about a record when it was read; it stays attached to the record.",
    (
        StoredColumn("id", "INTEGER CHECK (id > 0)", "the order of writing", kind="integer"),
        _SHEET,
        _KEY,
        _text("column", "the column of that sheet, where one is doubtful", "TEXT"),
        _text("message", "what is doubtful, as a sentence"),
        CHANGE,
    ),
    ("id",),
    (BY_CHANGE,),
    append_only=True,
    numbered=True,
    indexes=(
        "CREATE INDEX warnings_of_record ON warnings (sheet, key);",
        "CREATE INDEX warnings_by_change ON warnings (change);",
    ),
)
UNMAPPED = Table(
    "unmapped_cells",
    "Cells of a foreign list for which its mapping named no column, kept with their record.",
    (
        _SHEET,
        _KEY,
        _text("heading", "the heading in the foreign list"),
        StoredColumn("value", "TEXT NOT NULL", "what the cell held", private=True, source="the foreign list"),
        CHANGE,
    ),
    ("sheet", "key", "heading", "change"),
    (BY_CHANGE,),
    append_only=True,
    indexes=("CREATE INDEX unmapped_cells_by_change ON unmapped_cells (change);",),
)
SAME = Table(
    "same_things",
    "Statements that two codes are one thing; of several the one with the newest change holds.",
    (
        _SHEET,
        _KEY,
        _text("same_as", "the key of the record that is the same thing"),
        StoredColumn(
            "holds",
            "INTEGER NOT NULL CHECK (holds = 0 OR holds = 1)",
            "1 = they are one thing, 0 = that was taken back",
            kind="integer",
        ),
        CHANGE,
    ),
    ("sheet", "key", "same_as", "change"),
    (BY_CHANGE,),
    append_only=True,
)
DECISIONS = Table(
    "decisions",
    "What was decided on a proposal, with all that was known of its losses on that day.",
    (
        _OBJECT,
        _PROPOSAL,
        _NUMBER,
        _word("decision", words.DECISION, "what was decided"),
        _json("steps", "the steps it is about; blank = the whole proposal", required=False),
        _json("conditions", "what was required along with it"),
        StoredColumn("decided_by", "TEXT NOT NULL CHECK (trim(decided_by) <> '')", "who decided", kind="person"),
        _text("reason", "the reason given"),
        _text("decided_at", "when, UTC"),
        _hash("inputs_sha256", "the hash of everything the assessment read"),
        _word("outcome", words.SEVERITY, "the worst severity that the assessment found"),
        _json("assessment", "the whole assessment as it was shown"),
        CHANGE,
    ),
    ("object", "proposal", "number"),
    (_TO_PROPOSAL, BY_CHANGE),
    append_only=True,
)
OVERRIDES = Table(
    "overrides",
    "Losses that an approval accepted, each with its reason; it holds up to the severity it saw.",
    (
        _OBJECT,
        _PROPOSAL,
        _NUMBER,
        _text("loss", "the loss, written PLACE/THING"),
        _word("severity", words.SEVERITY, "how bad it was when it was accepted"),
        _text("reason", "why it is accepted", "TEXT NOT NULL CHECK (trim(reason) <> '')"),
        CHANGE,
    ),
    ("object", "proposal", "number", "loss"),
    (Reference(("object", "proposal", "number"), "decisions", ("object", "proposal", "number")), BY_CHANGE),
    append_only=True,
)
ANSWERS = Table(
    "answers",
    "Advice that a decision answers, each with its reason; it holds while the advice stays as it was then.",
    (
        _OBJECT,
        _PROPOSAL,
        _NUMBER,
        _text("advice", "the code of the advice, as it was on that day"),
        _json("content", "the advice as it stood when it was answered, and the steps that it spoke against"),
        _text("reason", "why the work goes on against it", "TEXT NOT NULL CHECK (trim(reason) <> '')"),
        CHANGE,
    ),
    ("object", "proposal", "number", "advice"),
    (Reference(("object", "proposal", "number"), "decisions", ("object", "proposal", "number")), BY_CHANGE),
    append_only=True,
)
DICTIONARY = Table(
    "dictionary",
    "What every table and column of this file means.",
    (
        _text("table_name", "the table"),
        _text("column_name", "the column; empty for the table itself"),
        _text("meaning", "what it says", "TEXT NOT NULL CHECK (meaning <> '')"),
        _text("unit", "the unit of its numbers", "TEXT"),
        _text(
            "kind",
            "what kind of cell: code, word, text, person, number, integer, date, day, points, file, "
            "agent, coat; table for a table",
        ),
        _text("words", "the words it may hold, parted by |", "TEXT"),
        _text("reference", "the sheet whose key it points to", "TEXT"),
        StoredColumn(
            "private", "INTEGER NOT NULL CHECK (private = 0 OR private = 1)", "1 = never published", kind="integer"
        ),
        _text("source", "where the values, or the definition of the quantity, come from"),
    ),
    ("table_name", "column_name"),
)


SYSTEM: tuple[Table, ...] = (
    DICTIONARY,
    MIGRATIONS,
    CHANGES,
    HISTORY,
    PLACES,
    PACKAGES,
    FILES,
    FILE_USES,
    WARNINGS,
    UNMAPPED,
    SAME,
    DECISIONS,
    OVERRIDES,
    ANSWERS,
    REFERENCE_SOLVENTS,
    REFERENCE_SPHERES,
    REFERENCE_TERMS,
)

_ENGINE = _text("engine", "the version of the computation that wrote this row")
_AREA = _real("area_m2", "painted area; blank = not known", "m2")
_STATE = _word("state", words.ZONE_STATE, "what is left of the first finish, in one word")
_COUNTS = (
    _whole("present", "readings at which it was found"),
    _whole("read", "places at which it was looked for"),
    _whole("traces", "of those found, how many were only traces"),
)
_AS_OF = _text("as_of", "the date of the newest evidence it rests on", "TEXT")


def _interval(name: str, meaning: str, unit: str | None, high: float, *, suffix: str = "") -> tuple[StoredColumn, ...]:
    ends = {"low": "low end of 95 %", "middle": "middle", "high": "high end of 95 %"}
    return tuple(_real(f"{name}_{end}{suffix}", f"{meaning}, {of}", unit, high) for end, of in ends.items())


_SHARE = _interval("share", "surviving share of its area", None, 1.0)
DERIVED: tuple[Table, ...] = (
    Table(
        "facts",
        "Derived: one document per object, as the rules read it.",
        (
            _OBJECT,
            _json("document", "everything in account about the object, as canonical JSON"),
            _hash("sha256", "the hash of the document"),
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
            _OBJECT,
            _AREA,
            *_interval("surviving", "area of first finish that survives", "m2", 1e15, suffix="_m2"),
            _whole("places", "places the figures are summed over"),
            _whole("unmeasured_places", "of those, how many have no area: the totals are at least"),
            _whole("unexamined_places", "of those, how many nobody has examined"),
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
            _OBJECT,
            _code("place", "the zone or part", "place"),
            _code("component", "the part it lies on", "components", required=False),
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
            _OBJECT,
            _code("place", "the zone or part", "place"),
            _code("scheme", "the scheme", "schemes"),
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
            _OBJECT,
            _code("decoration", "the decoration", "decorations"),
            _code("place", "the zone or part it lies on", "place"),
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
            _OBJECT,
            StoredColumn(
                "number", "INTEGER NOT NULL CHECK (number >= 1)", "its place on the object's list", kind="integer"
            ),
            _text("threat", "what kind of threat"),
            _text("message", "the threat, as a sentence"),
            _text("remedy", "the cheapest act that lowers it"),
            _json("evidence", "the records behind it"),
            *_interval("magnitude", "magnitude by the ABC method", None, 15.0),
            _ENGINE,
        ),
        ("object", "number"),
    ),
    Table(
        "documents",
        "Derived: the words by which each object is searched.",
        (
            StoredColumn("id", "INTEGER CHECK (id > 0)", "the row in the full-text index", kind="integer"),
            _code("object", "the object", "objects"),
            _text("title", "what the object is called, and its number"),
            _text("words", "every distinct cell that may be searched"),
            _text("facets", "states, roles, periods and the like that searches are narrowed by"),
        ),
        ("id",),
        numbered=True,
        indexes=("CREATE UNIQUE INDEX documents_object ON documents (object);",),
    ),
)
FULL_TEXT = """\
-- The full-text index over documents.
CREATE VIRTUAL TABLE documents_fts USING fts5 (
  title, words, facets, content='documents', content_rowid='id', prefix='3'
);
"""
