"""The tables of the program itself: who changed what, files, warnings, decisions, the dictionary."""

from __future__ import annotations

from collection.language import words
from collection.store.schema.column_kinds import BY_CHANGE, CHANGE, OBJECT, code, digest, json_text, text, whole, word
from collection.store.schema.reference_tables import REFERENCE_SOLVENTS, REFERENCE_SPHERES, REFERENCE_TERMS
from collection.store.schema.tables import Reference, StoredColumn, Table, any_of

_SHEET = text("sheet", "the sheet of the record")
_KEY = text("key", "the record's key, written OBJECT/CODE[/POSITION]")
_COLUMN = text("column", "the column of that sheet")
_PROPOSAL = code("proposal", "the proposal", "proposals")
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
        text("name", "the file name of the migration"),
        digest("sha256", "the hash of the migration's text"),
        text("applied_at", "when it was applied, UTC"),
        text("tool_version", "the version of firstcoat that applied it"),
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
        text("at", "when, UTC, by the clock of the machine"),
        text("by", "who made it", "TEXT NOT NULL CHECK (trim(by) <> '')"),
        text("why", "the reason given", "TEXT NOT NULL CHECK (trim(why) <> '')"),
        text("action", "what kind of change: ingest, amend, correct, withdraw, reinstate, decide …"),
        text("subject", "the survey, record or proposal that it is about"),
        text("tool_version", "the version of firstcoat that wrote it"),
        digest("package_sha256", "the hash of the survey package it came from", required=False),
        digest(
            "content_sha256",
            "the hash of every row of history, decisions, files and the like that it wrote",
            required=False,
        ),
        text("previous_hash", "the hash of the change before it; empty for the first", "TEXT"),
        digest("hash", "the hash of this row; blank only inside the transaction that writes it", required=False),
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
        whole("revision", "which content of the record this was"),
        code("survey", "the survey that the record belonged to then; for a survey its own code", "surveys"),
        json_text("content", "the whole row as it was, numbers with 17 digits so that they come back exactly"),
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
        OBJECT,
        code("place", "the code of the zone or part, or `all`"),
        text(
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
        digest("sha256", "the hash of the package"),
        code("survey", "the survey it held", "surveys"),
        text("name", "the name of the folder, archive or workbook"),
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
        digest("sha256", "the hash of the file, which is its name in the folder"),
        whole("bytes", "how long the file is", unit="byte"),
        text("name", "the name it had in the package that first brought it"),
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
    (_SHEET, _KEY, _COLUMN, digest("sha256", "the file"), CHANGE),
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
        text("column", "the column of that sheet, where one is doubtful", "TEXT"),
        text("message", "what is doubtful, as a sentence"),
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
        text("heading", "the heading in the foreign list"),
        StoredColumn("value", "TEXT NOT NULL", "what the cell held", private=True, source="the foreign list"),
        StoredColumn(
            "list_row",
            "INTEGER CHECK (list_row >= 1)",
            "the row of the list; blank = kept before rows were",
            kind="integer",
            source="the foreign list",
        ),
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
        text("same_as", "the key of the record that is the same thing"),
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
        OBJECT,
        _PROPOSAL,
        _NUMBER,
        word("decision", words.DECISION, "what was decided"),
        json_text("steps", "the steps it is about; blank = the whole proposal", required=False),
        json_text("conditions", "what was required along with it"),
        StoredColumn("decided_by", "TEXT NOT NULL CHECK (trim(decided_by) <> '')", "who decided", kind="person"),
        text("reason", "the reason given"),
        text("decided_at", "when, UTC"),
        digest("inputs_sha256", "the hash of everything the assessment read"),
        word("outcome", words.SEVERITY, "the worst severity that the assessment found"),
        json_text("assessment", "the whole assessment as it was shown"),
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
        OBJECT,
        _PROPOSAL,
        _NUMBER,
        text("loss", "the loss, written PLACE/THING"),
        word("severity", words.SEVERITY, "how bad it was when it was accepted"),
        text("reason", "why it is accepted", "TEXT NOT NULL CHECK (trim(reason) <> '')"),
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
        OBJECT,
        _PROPOSAL,
        _NUMBER,
        text("advice", "the code of the advice, as it was on that day"),
        json_text("content", "the advice as it stood when it was answered, and the steps that it spoke against"),
        text("reason", "why the work goes on against it", "TEXT NOT NULL CHECK (trim(reason) <> '')"),
        CHANGE,
    ),
    ("object", "proposal", "number", "advice"),
    (Reference(("object", "proposal", "number"), "decisions", ("object", "proposal", "number")), BY_CHANGE),
    append_only=True,
)
COLLECTION = Table(
    "collection",
    "Whose collection this is, meant to be published; of several rows the one with the newest change holds.",
    (
        text("code", "the short code by which others name the collection", "TEXT CHECK (code <> '')"),
        text("name", "what the collection is called", "TEXT CHECK (name <> '')"),
        text("contact", "whom to ask about it: published with the name", "TEXT CHECK (contact <> '')"),
        text(
            "address",
            "the lasting web address below which its pages stand, ending in /",
            "TEXT CHECK (address LIKE 'http%://%/')",
            "RFC 3986",
        ),
        text(
            "licence",
            "under what its records may be used: words, an SPDX identifier or the address of a rights statement",
            "TEXT CHECK (licence <> '')",
        ),
        CHANGE,
    ),
    ("change",),
    (BY_CHANGE,),
    append_only=True,
    numbered=True,
)
FIRST_MADE = Table(
    "first_made",
    "Changes that came in with an export of another database: when each was made there. Other changes have no row.",
    (
        CHANGE,
        text("at", "when it was made first, UTC, by the clock of that machine"),
        text("tool_version", "the version of firstcoat that wrote it there"),
        digest("hash", "the hash that it had in the chain of that database"),
    ),
    ("change",),
    (BY_CHANGE,),
    append_only=True,
    numbered=True,
)
TAGS = Table(
    "tags",
    "What hangs on an object to warn whoever works on it; of several rows of one number the newest change holds.",
    (
        OBJECT,
        StoredColumn(
            "number",
            "INTEGER NOT NULL CHECK (number >= 1)",
            "the place of this tag among those of the object",
            kind="integer",
        ),
        word("kind", words.TAG, "whether it is a tag or a small label"),
        word(
            "audience", words.AUDIENCE, "for whom it was printed: what it says is from the records that they may read"
        ),
        digest("says_sha256", "the hash of what it says, its date and its address left out"),
        text("address", "the address in its code; blank where it has none", "TEXT", "RFC 3986"),
        StoredColumn("told_on", "TEXT NOT NULL CHECK (told_on <> '')", "the day that it gives as its date", kind="day"),
        StoredColumn(
            "hangs_at",
            "TEXT NOT NULL CHECK (trim(hangs_at) <> '')",
            "where it hangs, in words",
            kind="text",
            private=True,
        ),
        StoredColumn(
            "hung_by", "TEXT NOT NULL CHECK (trim(hung_by) <> '')", "who hung it there", kind="person", private=True
        ),
        StoredColumn("hung_on", "TEXT NOT NULL CHECK (hung_on <> '')", "since which day it hangs", kind="day"),
        StoredColumn("taken_off_on", "TEXT CHECK (taken_off_on <> '')", "on which day it was taken off", kind="day"),
        CHANGE,
    ),
    ("object", "number", "change"),
    (Reference(("object",), "objects", ("object",)), BY_CHANGE),
    append_only=True,
)
DICTIONARY = Table(
    "dictionary",
    "What every table and column of this file means.",
    (
        text("table_name", "the table"),
        text("column_name", "the column; empty for the table itself"),
        text("meaning", "what it says", "TEXT NOT NULL CHECK (meaning <> '')"),
        text("unit", "the unit of its numbers", "TEXT"),
        text(
            "kind",
            "what kind of cell: code, word, text, person, number, integer, date, day, points, file, "
            "agent, coat; table for a table",
        ),
        text("words", "the words it may hold, parted by |", "TEXT"),
        text("reference", "the sheet whose key it points to", "TEXT"),
        StoredColumn(
            "private", "INTEGER NOT NULL CHECK (private = 0 OR private = 1)", "1 = never published", kind="integer"
        ),
        text("source", "where the values, or the definition of the quantity, come from"),
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
    COLLECTION,
    FIRST_MADE,
    TAGS,
    REFERENCE_SOLVENTS,
    REFERENCE_SPHERES,
    REFERENCE_TERMS,
)
