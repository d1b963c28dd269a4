"""The tables of a mapping's file, checked one by one; every fault is a sentence with its line."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import fields, replace
from typing import Any

from collection.ingest.mapping.cells import folded, nearest_term
from collection.ingest.mapping.dates import DAYS, RANGES, DateWords
from collection.ingest.mapping.honesty import why_not
from collection.ingest.mapping.mapping import (
    ENCODINGS,
    NOT_FROM_A_LIST,
    SEPARATORS,
    DateFrom,
    Mapping,
    MapText,
    Recipe,
    RowsFrom,
    Rule,
    plain_heading,
)
from collection.language.errors import BadValue, Fault
from collection.records.cells import CLEAR, SAYS_NOTHING, read_cell
from collection.records.columns import Column
from collection.records.sheets import BY_SHEET, Object, Record

TABLES = ("survey", "list", "dates", "words", "leave_out", "keep_only", "objects", "rows")
_LIST = ("encoding", "separator", "headings_row", "decimal_mark", "object", "blank", "none", "unknown")
_ROWS = ("sheet", "each", "parted_by", "columns")
_RULE = ("name", "heading", "is", "holds", "blank")
_FROM = ("take", "piece", "say", "numbered", "date", "earliest")
_RECIPE = (
    *_FROM,
    "latest",
    "between",
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
    "ranges",
)
_NOBODY_KNOWS = SAYS_NOTHING | {"unknown", "not known", "not recorded", "not examined"}
_SAYINGS = ("when_blank", "when_none", "when_unknown")
Given = dict[str, Any]


def read_mapping(text: MapText, held: Given) -> tuple[Mapping | None, list[Fault]]:
    """The mapping in these tables, or every fault in them."""
    reader = _Reader(text, held)
    mapping = reader.mapping()
    return (None if reader.faults else mapping), reader.faults


class _Reader:
    """The tables of one mapping while they are read."""

    def __init__(self, text: MapText, held: Given) -> None:
        self._text, self._held = text, held
        self._rule_names: set[str] = set()
        self.faults: list[Fault] = []

    def mapping(self) -> Mapping | None:
        self._known(self._held, TABLES, "", "A mapping has the tables")
        self._table("survey")
        listed = self._table("list")
        for name, what in (
            ("survey", "whose list this is: code, title, lead, started"),
            ("list", "how the list is written: encoding, separator, and the headings of its object numbers"),
        ):
            if name not in self._held:
                self._say("", None, f"The table [{name}] is missing. It says {what}.")
        self._words = {
            name: self._terms(f"words.{name}", None, terms)
            for name, terms in self._table("words").items()
            if isinstance(terms, dict)
        }
        self._dates = self._date_words()
        self._known(listed, _LIST, "list", "Below [list] stand")
        self._blank, self._none, self._unknown = (
            frozenset(map(folded, self._texts("list", key, listed.get(key, []))))
            for key in ("blank", "none", "unknown")
        )
        encoding = self._one_of("list", "encoding", listed, tuple(ENCODINGS), None)
        separator = self._one_of("list", "separator", listed, SEPARATORS, None)
        mark = self._one_of("list", "decimal_mark", listed, (".", ","), ".")
        row = listed.get("headings_row", 1)
        if not isinstance(row, int) or isinstance(row, bool) or row < 1:
            self._say("list", "headings_row", "This is the number of the row that holds the headings: 1, 2 …", row)
            row = 1
        number = self._recipe("list", "object", listed.get("object"), Object, Object.column("object"), None)
        if "list" in self._held and "object" not in listed:
            self._say(
                "list",
                None,
                'Say which heading holds the objects\' numbers: object = "Heading". Where a '
                'number is unique only with its part number, name both: object = { take = ["Number", '
                '"Part"], between = "." }.',
            )
        rules = [*self._rules("leave_out", False), *self._rules("keep_only", True)]
        objects = self._columns("objects", self._table("objects"), Object, None)
        rows = self._all_rows()
        if not (encoding and separator and mark and number):
            return None
        return Mapping(
            ENCODINGS[encoding],
            separator,
            row,
            mark == ",",
            number,
            objects,
            tuple(rows),
            tuple(rules),
            self._blank,
            self._none,
            self._unknown,
        )

    # Tables

    def _rules(self, table: str, keeps: bool) -> list[Rule]:
        found, names = [], self._rule_names
        for number, given in enumerate(self._tables(table)):
            where = f"{table} {number}"
            self._known(given, _RULE, where, f"Below [[{table}]] stand")
            name, heading = (self._text_of(where, key, given) for key in ("name", "heading"))
            if name in names:
                self._say(where, "name", "Two rules have this name, and the report counts by it.", name)
            names.add(name)
            asked = [key for key in ("is", "holds", "blank") if key in given]
            if len(asked) != 1:
                self._say(where, None, 'A rule asks one thing of the cell: is = ["…"], holds = ["…"] or blank = true.')
                continue
            blank = given.get("blank")
            if blank is not None and not isinstance(blank, bool):
                self._say(where, "blank", "Write blank = true or blank = false.", blank)
            words = self._texts(where, asked[0], given[asked[0]]) if asked[0] != "blank" else []
            if asked[0] != "blank" and not all(map(folded, words or [""])):
                self._say(where, asked[0], "Name at least one word, and no blank one: blank = true asks for blanks.")
            if name and heading:
                folds = tuple(map(folded, words))
                found.append(
                    Rule(
                        name,
                        plain_heading(heading),
                        keeps,
                        frozenset(folds if "is" in given else ()),
                        folds if "holds" in given else (),
                        blank,
                    )
                )
        return found

    def _all_rows(self) -> list[RowsFrom]:
        found = []
        for number, given in enumerate(self._tables("rows")):
            where = f"rows {number}"
            self._known(given, _ROWS, where, "Below [[rows]] stand")
            sheet = self._text_of(where, "sheet", given)
            if sheet in NOT_FROM_A_LIST:
                self._say(where, "sheet", f"No rows of {sheet} come from a list. {NOT_FROM_A_LIST[sheet]}", sheet)
                continue
            if sheet not in BY_SHEET:
                if sheet:
                    possible = [name for name in BY_SHEET if name not in NOT_FROM_A_LIST]
                    self._say(
                        where,
                        "sheet",
                        f"There is no such sheet. Sheets are {', '.join(possible)}.",
                        sheet,
                        nearest_term(sheet, possible),
                    )
                continue
            each, parted_by = given.get("each"), given.get("parted_by")
            if (each is None) != (parted_by is None):
                self._say(
                    where,
                    "each",
                    "`each` names a heading and `parted_by` what stands between the pieces of its "
                    "cells; one is nothing without the other.",
                )
            for key, value in (("each", each), ("parted_by", parted_by)):
                if value is not None and (not isinstance(value, str) or not value):
                    self._say(where, key, "This is a text in quotation marks, and not an empty one.", value)
            columns = given.get("columns")
            if not isinstance(columns, dict):
                self._say(where, None, "The table [rows.columns] is missing: it says where each column comes from.")
                continue
            record = BY_SHEET[sheet]
            recipes = self._columns(where, columns, record, each)
            missing = [c for c in record.columns() if c.required and c.name not in ("object", *columns)]
            for column in missing:
                self._say(
                    where,
                    None,
                    f"Every row of {sheet} needs {column.name} ({column.meaning}). Name where the "
                    "list says it; if it nowhere does, leave these rows out, and the cells stay with the object.",
                    column.name,
                )
            found.append(RowsFrom(sheet, recipes, plain_heading(each) if isinstance(each, str) else None, parted_by))
        return found

    def _columns(self, where: str, given: Given, record: type[Record], each: str | None) -> dict[str, Recipe]:
        found: dict[str, Recipe] = {}
        columns = {column.name: column for column in record.columns()}
        for name, value in given.items():
            if name == "object":
                self._say(where, name, "The objects' numbers are told once, below [list].")
            elif name not in columns:
                self._say(
                    where,
                    name,
                    f"The sheet {record.sheet} has no such column. Its columns are {', '.join(columns)}.",
                    name,
                    nearest_term(name, tuple(columns)),
                )
            elif columns[name].kind == "file":
                self._say(where, name, "This column names a file of the package, and a list brings none.")
            else:
                recipe = self._recipe(where, name, value, record, columns[name], each)
                if recipe is not None:
                    found[name] = recipe
        return found

    # One column

    def _recipe(
        self, where: str, key: str, value: object, record: type[Record], column: Column, each: str | None
    ) -> Recipe | None:
        before = len(self.faults)
        if value is None:
            return None
        if isinstance(value, str | list):
            value = {"take": value}
        if not isinstance(value, dict):
            self._say(where, key, f'Write {key} = "Heading", or a table: {key} = {{ take = "Heading", … }}.', value)
            return None
        self._known(value, _RECIPE, where, "A column is told with", key)
        sources = [name for name in ("take", "piece", "say", "numbered") if name in value]
        sources += ["date"] if {"date", "earliest", "latest"} & set(value) else []
        if len(sources) != 1:
            self._say(
                where,
                key,
                "Say where the text comes from, in one way: take (a heading, or several), piece, "
                "say, numbered, or date with earliest and latest.",
            )
            return None
        take = self._texts(where, key, value["take"]) if "take" in value else []
        recipe = Recipe(
            take=tuple(map(plain_heading, take)),
            between=self._plain(where, key, value, "between", " "),
            parted_by=self._plain(where, key, value, "parted_by", None),
            blank=self._own(where, key, value, "blank", self._blank),
            none=self._own(where, key, value, "none", self._none),
            unknown=self._own(where, key, value, "unknown", self._unknown),
        )
        recipe = self._parted(where, key, value, recipe)
        if "piece" in value:
            recipe = replace(recipe, piece=True)
            if value["piece"] is not True or each is None:
                self._say(
                    where,
                    key,
                    "`piece = true` takes one piece of the cell that `each` names, in [[rows]] that have an `each`.",
                )
        if "numbered" in value:
            recipe = replace(recipe, numbered=self._numbered(where, key, value["numbered"], record, column))
        if sources == ["date"]:
            recipe = replace(recipe, date=self._date(where, key, value, column))
        if "words" in value:
            recipe = self._translated(where, key, value, record, column, recipe)
        if "say" in value:
            recipe = replace(recipe, say=self._saying(where, key, value["say"], record, column))
        when = {
            name: self._saying(where, key, value[name], record, column) if name in value else None for name in _SAYINGS
        }
        recipe = replace(
            recipe, when_blank=when["when_blank"], when_none=when["when_none"], when_unknown=when["when_unknown"]
        )
        return recipe if len(self.faults) == before else None

    def _parted(self, where: str, key: str, value: Given, recipe: Recipe) -> Recipe:
        part, span = value.get("part"), value.get("characters")
        if part is not None and (not isinstance(part, int) or isinstance(part, bool) or part == 0):
            self._say(where, key, "`part` counts the pieces: 1 is the first, 2 the second, -1 the last.", part)
        if (part is None) != (recipe.parted_by is None):
            self._say(where, key, '`part` and `parted_by` go together: part = 1, parted_by = " / ".')
        if span is not None and not (
            isinstance(span, list)
            and len(span) == 2
            and all(isinstance(n, int) and not isinstance(n, bool) for n in span)
            and 1 <= span[0] <= span[1]
        ):
            self._say(where, key, "`characters` gives the first and the last character, counted from 1: [1, 4].", span)
            span = None
        one_cell = len(recipe.take) == 1 or "piece" in value
        if (part is not None or span is not None) and not one_cell:
            self._say(where, key, "Only a single cell, or a piece, is taken apart.")
        return replace(
            recipe, part=part if isinstance(part, int) else None, characters=(span[0], span[1]) if span else None
        )

    def _numbered(self, where: str, key: str, value: object, record: type[Record], column: Column) -> str | None:
        if not isinstance(value, str):
            self._say(
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
            self._say(
                where,
                key,
                "Only the code of a new row is numbered, or its step or position, which has no text before the number.",
                value,
            )
        return value

    def _date(self, where: str, key: str, value: Given, column: Column) -> DateFrom | None:
        if column.kind != "date":
            self._say(where, key, "This column holds no date: take its cell as it is.")
        named = {name: value.get(name) for name in ("date", "earliest", "latest")}
        for name, heading in named.items():
            if heading is not None and (not isinstance(heading, str) or not heading):
                self._say(where, key, f"`{name}` is a heading in quotation marks.", heading)
                return None
        words = self._dates
        if "ranges" in value:
            words = replace(words, ranges=self._one_of(where, "ranges", value, RANGES, words.ranges) or words.ranges)
        plain = [None if heading is None else plain_heading(heading) for heading in named.values()]
        return DateFrom(plain[0], plain[1], plain[2], words)

    def _translated(
        self, where: str, key: str, value: Given, record: type[Record], column: Column, recipe: Recipe
    ) -> Recipe:
        given, name = value["words"], value.get("untranslated")
        if isinstance(given, str):
            if given not in self._words:
                self._say(
                    where,
                    key,
                    f"There is no table [words.{given}]. Write it, or put the words here.",
                    given,
                    nearest_term(given, tuple(self._words)),
                )
                return recipe
            terms = self._words[given]
        else:
            terms = self._terms(where, key, given)
        if name not in (None, "as written"):
            self._say(
                where,
                key,
                'Terms without a translation stay unmapped, or are kept: untranslated = "as written".',
                name,
                "as written",
            )
        for term, word in terms.items():
            if folded(term) in recipe.blank or not folded(term):
                self._say(where, key, "A blank says nothing, so it is not translated into anything.", term)
            read = self._readable(where, key, column, word)
            if folded(term) in _NOBODY_KNOWS and read is not None and why_not(record, column, read) is not None:
                self._say(
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
            self._say(
                where, key, "What the mapping says itself is a text in quotation marks, and not an empty one.", value
            )
            return None
        if column.name == "object":
            self._say(where, key, "An object's number comes from the list.", value)
            return value
        read = self._readable(where, key, column, value)
        if read is not None and (sentence := why_not(record, column, read)) is not None:
            self._say(where, key, sentence, value)
        return value

    def _readable(self, where: str, key: str, column: Column, word: str) -> str | None:
        try:
            read = read_cell(column, word)
        except BadValue as fault:
            self._say(where, key, str(fault), word, fault.nearest)
            return None
        if read is CLEAR or read is None:
            self._say(where, key, "A list clears nothing that is stored: leave such a term out.", word)
            return None
        return str(read)

    # Small things

    def _date_words(self) -> DateWords:
        given = self._table("dates")
        known = tuple(each.name for each in fields(DateWords))
        self._known(given, known, "dates", "Below [dates] stand")
        found: dict[str, Any] = {}
        for name, value in given.items():
            if name in ("ranges", "days"):
                found[name] = self._one_of("dates", name, given, RANGES if name == "ranges" else DAYS, None)
            elif name == "short_years":
                if not isinstance(value, bool):
                    self._say(
                        "dates", name, "Does 1910-12 mean the years 1910 to 1912 (true) or December (false)?", value
                    )
                found[name] = value
            elif name in known:
                found[name] = tuple(self._texts("dates", name, value))
                for word in found[name]:
                    if not word.strip() or any(sign.isdigit() for sign in word):
                        self._say(
                            "dates", name, "A word that stands beside a date is not blank and holds no digit.", word
                        )
        return DateWords(**{name: value for name, value in found.items() if value is not None})

    def _terms(self, where: str, key: str | None, given: object) -> dict[str, str]:
        if not isinstance(given, dict) or not all(isinstance(word, str) and word.strip() for word in given.values()):
            self._say(
                where,
                key,
                'Words are a table of the list\'s terms, each with the term it stands for: { "Eiche" = "oak" }.',
            )
            return {}
        seen: dict[str, str] = {}
        for term in given:
            if folded(term) in seen and given[seen[folded(term)]] != given[term]:
                self._say(
                    where,
                    key,
                    f"This term is the same as {seen[folded(term)]!r}, but for capitals and "
                    "blanks, and is translated otherwise.",
                    term,
                )
            seen[folded(term)] = term
        return dict(given)

    def _own(self, where: str, key: str, value: Given, name: str, shared: frozenset[str]) -> frozenset[str]:
        return shared | frozenset(map(folded, self._texts(where, key, value.get(name, []))))

    def _plain(self, where: str, key: str, value: Given, name: str, default: Any) -> Any:
        given = value.get(name, default)
        if given is not default and (not isinstance(given, str) or (name == "parted_by" and not given)):
            self._say(where, key, f"`{name}` is a text in quotation marks.", given)
            return default
        return given

    def _texts(self, where: str, key: str, value: object) -> list[str]:
        several = [value] if isinstance(value, str) else value
        if not isinstance(several, list) or not all(isinstance(each, str) for each in several):
            self._say(where, key, "This is a text in quotation marks, or several in square brackets.", value)
            return []
        return several

    def _text_of(self, where: str, key: str, given: Given) -> str:
        value = given.get(key)
        if not isinstance(value, str) or not value.strip():
            self._say(where, key, f"`{key}` is missing here: a text in quotation marks.", value)
            return ""
        return value

    def _one_of(self, where: str, key: str, given: Given, allowed: Sequence[str], default: str | None) -> str | None:
        if key not in given and default is not None:
            return default
        value = given.get(key)
        if value in allowed:
            return str(value)
        if where in self._held or where.split(" ")[0] in self._held:
            shown = ", ".join(repr(word).replace("'", '"') for word in allowed)
            self._say(
                where,
                key,
                f"`{key}` is one of {shown}.",
                value,
                nearest_term(str(value), tuple(allowed)) if isinstance(value, str) else None,
            )
        return None

    def _table(self, name: str) -> Given:
        value = self._held.get(name, {})
        if isinstance(value, dict):
            return value
        self._say("", None, f"{name} is a table, written [{name}].", name)
        return {}

    def _tables(self, name: str) -> list[Given]:
        value = self._held.get(name, [])
        if isinstance(value, list) and all(isinstance(each, dict) for each in value):
            return value
        self._say(name, None, f"There may be several of these, so each is written [[{name}]].", name)
        return []

    def _known(self, given: Given, allowed: Sequence[str], where: str, lead: str, key: str | None = None) -> None:
        for name in given:
            if name not in allowed:
                self._say(
                    where,
                    key or name,
                    f"{lead} {', '.join(allowed)}; there is nothing else.",
                    name,
                    nearest_term(name, allowed),
                )

    def _say(self, where: str, key: str | None, message: str, value: object = None, nearest: str | None = None) -> None:
        self.faults.append(self._text.fault(where, key, message, value, nearest))
