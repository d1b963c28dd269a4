"""One row of one sheet, and the columns that every sheet but `survey` also has."""

from __future__ import annotations

from functools import cache
from typing import Any, ClassVar

from pydantic import BaseModel, ConfigDict, model_validator

from collection.language import words
from collection.language.words import parts_of
from collection.records import columns as c
from collection.records.columns import Column


class Record(BaseModel):
    """One row of one sheet. Blank is None; in a key's optional part it is stored as empty text."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    sheet: ClassVar[str]
    table: ClassVar[str]
    key: ClassVar[tuple[str, ...]]
    meaning: ClassVar[str]

    def __init_subclass__(cls, sheet: str = "", key: tuple[str, ...] = (), table: str = "", **kwargs: Any) -> None:
        super().__init_subclass__(**kwargs)
        cls.sheet, cls.key, cls.table = sheet, key, table or sheet
        cls.meaning = (cls.__doc__ or "").strip()

    @classmethod
    def columns(cls) -> tuple[Column, ...]:
        """The sheet's columns, in order."""
        return _columns(cls)

    @classmethod
    def column(cls, name: str) -> Column:
        return next(column for column in cls.columns() if column.name == name)

    @model_validator(mode="after")
    def _closed_lists(self) -> Record:
        for column in self.columns():
            value = getattr(self, column.name)
            words_of = column.words
            if not words_of or words_of.open_list or value is None:
                continue
            if any(word not in words_of.words for word in (parts_of(value) if column.kind == "list" else (value,))):
                raise ValueError(f"{column.name}: {value!r} is not a word for {words_of.name}")
        return self

    def key_text(self) -> str:
        """`OBJECT/CODE[/POSITION]`, as people and messages write it."""
        return key_text(self.sheet, [getattr(self, name) for name in self.key])


@cache
def _columns(cls: type[Record]) -> tuple[Column, ...]:
    found: list[Column] = []
    shared = list(Evidence.model_fields) if issubclass(cls, Evidence) else []
    for name in [n for n in cls.model_fields if n not in shared] + shared:
        extra = cls.model_fields[name].json_schema_extra
        assert isinstance(extra, dict)
        column = extra["column"]
        assert isinstance(column, Column)
        found.append(
            Column(
                name,
                column.kind,
                column.meaning,
                column.required,
                column.words,
                column.unit,
                column.low,
                column.high,
                column.reference,
                column.private,
            )
        )
    return tuple(found)


def key_text(sheet: str, parts: list[Any]) -> str:
    """The key of a record as one text; blank parts at the end are left out."""
    shown = ["" if part is None else str(part) for part in parts]
    while len(shown) > 1 and not shown[-1]:
        shown.pop()
    return "/".join(shown)


class Evidence(Record):
    """The columns that every sheet but survey also has."""

    source: str | None = c.code("the source that reports it", to="sources")
    audience: str | None = c.word(words.AUDIENCE, "who may see it; blank = public")
    notes: str | None = c.text("working notes, never published", private=True)
