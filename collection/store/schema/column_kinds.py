"""Kinds of column that the program's own tables share, each with its type and its check."""

from __future__ import annotations

from collection.language.word_list import WordList
from collection.store.schema.tables import Reference, StoredColumn, any_of

CHANGE = StoredColumn(
    "change", "INTEGER NOT NULL", "the change that wrote this row", kind="integer", reference="changes"
)
BY_CHANGE = Reference(("change",), "changes", ("number",))
HASH = "SHA-256 (FIPS 180-4)"
_SHA = "CHECK (length({0}) = 64)"


def text(name: str, meaning: str, sql: str = "TEXT NOT NULL", source: str = "the program") -> StoredColumn:
    return StoredColumn(name, sql, meaning, source=source)


def digest(name: str, meaning: str, *, required: bool = True) -> StoredColumn:
    return text(name, meaning, f"TEXT{' NOT NULL' if required else ''} {_SHA.format(name)}", HASH)


def whole(name: str, meaning: str, *, unit: str | None = None, required: bool = True) -> StoredColumn:
    sql = f"INTEGER{' NOT NULL' if required else ''} CHECK ({name} >= 0)"
    return StoredColumn(name, sql, meaning, unit, kind="integer")


def real(name: str, meaning: str, unit: str | None, high: float = 1e15, sql: str = "REAL") -> StoredColumn:
    return StoredColumn(
        name, f"{sql} CHECK ({name} BETWEEN 0.0 AND {high!r})", meaning, unit, kind="number", source="computed"
    )


def word(name: str, words_: WordList, meaning: str, *, required: bool = True) -> StoredColumn:
    sql = f"TEXT{' NOT NULL' if required else ''} CHECK {any_of(name, words_.words)}"
    return StoredColumn(name, sql, meaning, kind="word", words=words_.words)


def code(name: str, meaning: str, to: str | None = None, *, required: bool = True) -> StoredColumn:
    return StoredColumn(name, "TEXT NOT NULL" if required else "TEXT", meaning, kind="code", reference=to)


def json_text(name: str, meaning: str, *, required: bool = True) -> StoredColumn:
    # json_valid(NULL) is 0 here, so a blank has to be let through by name.
    rule = f"json_valid({name})" if required else f"{name} IS NULL OR json_valid({name})"
    return text(name, meaning, f"TEXT{' NOT NULL' if required else ''} CHECK ({rule})")


OBJECT = code("object", "the object", "objects")
