"""Reads and checks the recipe for one column: how it is filled from a list."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace

from collection.ingest.mapping.cells import NONE, SILENT, folded, nearest_term
from collection.ingest.mapping.dates.options import BESIDE_A_DATE, beside_a_date
from collection.ingest.mapping.dates.words import DateWords
from collection.ingest.mapping.honesty import why_not
from collection.ingest.mapping.mapping import DateFrom, Recipe, is_ordered, plain_heading
from collection.ingest.mapping.tables import Given, Tables
from collection.language.errors import BadValue
from collection.records.cells import CLEAR, SAYS_NOTHING, read_cell
from collection.records.columns import Column
from collection.records.sheets import Record

_FROM = ("take", "piece", "part_row", "say", "numbered", "date", "earliest")
_RECIPE = (
    *_FROM,
    "latest",
    "between",
    "languages",
    "parted_by",
    "part",
    "characters",
    "words",
    "untranslated",
    "blank",
    "none",
    "unknown",
    "when_blank",
    "when_none",
    "when_unknown",
    *BESIDE_A_DATE,
)
_NOBODY_KNOWS = SAYS_NOTHING | {"unknown", "not known", "not recorded", "not examined"}
_SAYINGS = ("when_blank", "when_none", "when_unknown")


@dataclass(frozen=True, slots=True)
class ListWords:
    """What a mapping says once for all columns: tables of terms, words in dates, words for blank, none and unknown, terms
    for every column with a list of words; and whether rows of the list are parts of objects."""

    words: Mapping[str, Mapping[str, str]]
    dates: DateWords
    blank: frozenset[str]
    none: frozenset[str]
    unknown: frozenset[str]
    every_list: Mapping[str, str]
    has_part_rows: bool


class Recipes:
    """The recipes of one mapping; the faults go to its tables."""

    def __init__(self, tables: Tables, shared: ListWords) -> None:
        self._tables, self._shared = tables, shared

    def recipe(
        self, where: str, key: str, value: object, record: type[Record], column: Column, each: str | None
    ) -> Recipe | None:
        before = len(self._tables.faults)
        if value is None:
            return None
        if isinstance(value, str | list):
            value = {"take": value}
        if not isinstance(value, dict):
            self._tables.say(
                where, key, f'Write {key} = "Heading", or a table: {key} = {{ take = "Heading", … }}.', value
            )
            return None
        self._tables.known(value, _RECIPE, where, "A column is told with", key)
        sources = [name for name in ("take", "piece", "part_row", "say", "numbered") if name in value]
        sources += ["date"] if {"date", "earliest", "latest"} & set(value) else []
        if len(sources) != 1:
            self._tables.say(
                where,
                key,
                "Say where the text comes from, in one way: take (a heading, or several), piece, part_row, "
                "say, numbered, or date with earliest and latest.",
            )
            return None
        take = self._tables.texts(where, key, value["take"]) if "take" in value else []
        recipe = Recipe(
            take=tuple(map(plain_heading, take)),
            between=self._between(where, key, value, len(take)),
            languages=self._languages(where, key, value, column, len(take)),
            parted_by=self._tables.plain(where, key, value, "parted_by", None),
            blank=self._own(where, key, value, "blank", self._shared.blank),
            none=self._own(where, key, value, "none", self._shared.none),
            unknown=self._own(where, key, value, "unknown", self._shared.unknown),
        )
        recipe = self._parted(where, key, value, recipe)
        if "piece" in value:
            recipe = replace(recipe, piece=True)
            if value["piece"] is not True or each is None:
                self._tables.say(
                    where,
                    key,
                    "`piece = true` takes one piece of the cell that `each` names, in [[rows]] that have an `each`.",
                )
        if "part_row" in value:
            recipe = replace(recipe, part_row=True)
            self._part_row(where, key, value["part_row"], record, column)
        if "numbered" in value:
            recipe = replace(recipe, numbered=self._numbered(where, key, value["numbered"], record, column))
        if sources == ["date"]:
            recipe = replace(recipe, date=self._date(where, key, value, column))
        elif stray := [name for name in BESIDE_A_DATE if name in value]:
            self._tables.say(where, key, f"`{stray[0]}` stands beside a `date` only.", stray[0])
        if "words" in value:
            recipe = self._translated(where, key, value, record, column, recipe)
        elif column.kind == "word":
            recipe = replace(recipe, every_list=self._every_list(record, column))
        if makes_the_row(record, column):
            translated = {*(recipe.terms or ()), *recipe.every_list, *recipe.unknown}
            recipe = replace(
                recipe,
                blank=recipe.blank | (SILENT - translated),
                none=recipe.none | (NONE - translated - recipe.blank),
            )
        if "say" in value:
            recipe = replace(recipe, say=self._saying(where, key, value["say"], record, column))
        when = {
            name: self._saying(where, key, value[name], record, column) if name in value else None for name in _SAYINGS
        }
        recipe = replace(
            recipe, when_blank=when["when_blank"], when_none=when["when_none"], when_unknown=when["when_unknown"]
        )
        return recipe if len(self._tables.faults) == before else None

    def _parted(self, where: str, key: str, value: Given, recipe: Recipe) -> Recipe:
        part, span = value.get("part"), value.get("characters")
        if part is not None and (not isinstance(part, int) or isinstance(part, bool) or part == 0):
            self._tables.say(where, key, "`part` counts the pieces: 1 is the first, 2 the second, -1 the last.", part)
        if (part is None) != (recipe.parted_by is None or bool(recipe.languages)):
            self._tables.say(where, key, '`part` and `parted_by` go together: part = 1, parted_by = " / ".')
        if span is not None and not (
            isinstance(span, list)
            and len(span) == 2
            and all(isinstance(n, int) and not isinstance(n, bool) for n in span)
            and 1 <= span[0] <= span[1]
        ):
            self._tables.say(
                where, key, "`characters` gives the first and the last character, counted from 1: [1, 4].", span
            )
            span = None
        one_cell = len(recipe.take) == 1 or "piece" in value
        if (part is not None or span is not None) and not one_cell:
            self._tables.say(where, key, "Only a single cell, or a piece, is taken apart.")
        return replace(
            recipe, part=part if isinstance(part, int) else None, characters=(span[0], span[1]) if span else None
        )

    def _between(self, where: str, key: str, value: Given, takes: int) -> str | tuple[str, ...]:
        given = value.get("between", " / " if "languages" in value else " ")
        if isinstance(given, str):
            return given
        several = tuple(self._tables.texts(where, key, given))
        if len(several) != takes - 1:
            self._tables.say(
                where,
                key,
                "`between` is one text, or one for each gap between the cells: two cells have one gap.",
                given,
            )
        return several

    def _languages(self, where: str, key: str, value: Given, column: Column, takes: int) -> tuple[str, ...]:
        languages = tuple(self._tables.texts(where, key, value.get("languages", [])))
        if "languages" not in value:
            return ()
        if column.kind != "text":
            self._tables.say(where, key, "Only a text is kept in several languages; a word of a list is translated.")
        if len(languages) < 2 or not all(re.fullmatch("[A-Za-z]{2,3}(-[A-Za-z0-9]+)*", each) for each in languages):
            self._tables.say(
                where,
                key,
                'Name the languages in their order by their short marks: languages = ["de", "en"].',
                languages,
            )
        elif (takes > 1) == ("parted_by" in value) or (takes > 1 and takes != len(languages)):
            self._tables.say(
                where,
                key,
                "Each language needs a column of its own in `take`, or its piece of one cell that `parted_by` parts, and "
                "then no `part`: all pieces are kept.",
            )
        return languages

    def _part_row(self, where: str, key: str, value: object, record: type[Record], column: Column) -> None:
        own = record.sheet == "components" and column.name == "component"
        if value is not True or not (own or column.reference in ("place", "components")):
            self._tables.say(
                where,
                key,
                "`part_row = true` gives the part that a row is about. It stands for the code of a component, or where a "
                "place or a component is pointed to.",
            )
        if not self._shared.has_part_rows:
            self._tables.say(
                where,
                key,
                'Say in a table [parts] how parts are told from their object: parted_by = "." makes 45.1 a part of 45.',
            )

    def _every_list(self, record: type[Record], column: Column) -> dict[str, str]:
        """Those terms for all columns that stand for a word of this one."""
        found = {}
        for term, word in self._shared.every_list.items():
            try:
                read = column.words.read(word) if column.words is not None else None
            except BadValue:
                continue
            if read is not None and not (folded(term) in _NOBODY_KNOWS and why_not(record, column, read) is not None):
                found[folded(term)] = read
        return found

    def _numbered(self, where: str, key: str, value: object, record: type[Record], column: Column) -> str | None:
        if not isinstance(value, str):
            self._tables.say(
                where, key, '`numbered` is the text before the running number: numbered = "M" gives M1, M2 …', value
            )
            return None
        if (
            column.name not in record.key
            or column.reference is not None
            or column.kind not in ("code", "integer")
            or column.name == "object"
            or (column.kind == "integer" and value)
        ):
            self._tables.say(
                where,
                key,
                "Only the code of a new row is numbered, or its step or position, which has no text before the number.",
                value,
            )
        return value

    def _date(self, where: str, key: str, value: Given, column: Column) -> DateFrom | None:
        if column.kind != "date":
            self._tables.say(where, key, "This column holds no date: take its cell as it is.")
        named = {name: value.get(name) for name in ("date", "earliest", "latest")}
        for name, heading in named.items():
            if heading is not None and (not isinstance(heading, str) or not heading):
                self._tables.say(where, key, f"`{name}` is a heading in quotation marks.", heading)
                return None
        words = beside_a_date(self._tables, where, key, value, self._shared.dates, self._shared.words)
        plain = [None if heading is None else plain_heading(heading) for heading in named.values()]
        return DateFrom(plain[0], plain[1], plain[2], words)

    def _translated(
        self, where: str, key: str, value: Given, record: type[Record], column: Column, recipe: Recipe
    ) -> Recipe:
        given, name = value["words"], value.get("untranslated")
        if isinstance(given, str):
            if given not in self._shared.words:
                self._tables.say(
                    where,
                    key,
                    f"There is no table [words.{given}]. Write it, or put the words here.",
                    given,
                    nearest_term(given, tuple(self._shared.words)),
                )
                return recipe
            terms = self._shared.words[given]
        else:
            terms = self._tables.terms(where, key, given)
        if name not in (None, "as written"):
            self._tables.say(
                where,
                key,
                'Terms without a translation stay unmapped, or are kept: untranslated = "as written".',
                name,
                "as written",
            )
        for term, word in terms.items():
            if folded(term) in recipe.blank or not folded(term):
                self._tables.say(where, key, "A blank says nothing, so it is not translated into anything.", term)
            read = self._readable(where, key, column, word)
            if folded(term) in _NOBODY_KNOWS and read is not None and why_not(record, column, read) is not None:
                self._tables.say(
                    where,
                    key,
                    "This term says nothing, so it stands for nothing that somebody found: name it "
                    "below unknown or blank.",
                    term,
                )
        return replace(
            recipe,
            terms={folded(term): word for term, word in terms.items()},
            terms_as_written=terms,
            keep_untranslated=name is not None,
        )

    def _saying(self, where: str, key: str, value: object, record: type[Record], column: Column) -> str | None:
        if not isinstance(value, str) or not value.strip():
            self._tables.say(
                where, key, "What the mapping says itself is a text in quotation marks, and not an empty one.", value
            )
            return None
        if column.name == "object":
            self._tables.say(where, key, "An object's number comes from the list.", value)
            return value
        read = self._readable(where, key, column, value)
        if read is not None and (sentence := why_not(record, column, read)) is not None:
            self._tables.say(where, key, sentence, value)
        return value

    def _readable(self, where: str, key: str, column: Column, word: str) -> str | None:
        try:
            read = read_cell(column, word)
        except BadValue as fault:
            self._tables.say(where, key, str(fault), word, fault.nearest)
            return None
        if read is CLEAR or read is None:
            self._tables.say(where, key, "A list clears nothing that is stored: leave such a term out.", word)
            return None
        return str(read)

    def _own(self, where: str, key: str, value: Given, name: str, shared: frozenset[str]) -> frozenset[str]:
        return shared | frozenset(map(folded, self._tables.texts(where, key, value.get(name, []))))


def makes_the_row(record: type[Record], column: Column) -> bool:
    """Whether a row of a further sheet stands or falls with this column, so that a cell that says "none" makes none.

    Not in a stack of coats or the steps of a work: there a dash may be a coat that nobody could name.
    """
    is_open = column.kind == "text" or (column.words is not None and column.words.open_list)
    return column.required and is_open and record.sheet != "objects" and not is_ordered(record)
