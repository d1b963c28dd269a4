"""A mapping: which cells of a list become which columns, written in TOML, without code.

`mapping_file.read_mapping` checks all of it and reports every fault at once, each with its line.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping as Table
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from collection.ingest.mapping.dates.words import DateWords
from collection.ingest.package.survey_file import read_toml
from collection.language.errors import Fault
from collection.records.sheets import Record

SEPARATORS = (",", ";", "\t", "|")
NOT_FROM_A_LIST = {
    "survey": "The survey is described below [survey].",
    "pictures": "A picture needs its file, and a list brings none.",
    "drawings": "A drawing needs its file, and a list brings none.",
    "objects": "The objects have a table of their own, [objects].",
}
"""Sheets of which no [[rows]] can be made, and why."""


def is_ordered(record: type[Record]) -> bool:
    """Whether the rows of a sheet are told apart by their position: coats and steps."""
    return record.column(record.key[-1]).kind == "integer"


def plain_heading(heading: str) -> str:
    """A heading as it is compared: in Unicode NFC, its blanks and line ends single blanks."""
    return " ".join(unicodedata.normalize("NFC", heading).split())


@dataclass(frozen=True, slots=True)
class DateFrom:
    """A date from one cell, or from a word and two years. Where one column of years is named, a row has one year."""

    qualifier: str | None
    earliest: str | None
    latest: str | None
    words: DateWords

    @property
    def headings(self) -> tuple[str, ...]:
        return tuple(dict.fromkeys(h for h in (self.qualifier, self.earliest, self.latest) if h))


@dataclass(frozen=True, slots=True)
class Recipe:
    """Where one column's text comes from, and what is done with it. Just one of the first six is set."""

    take: tuple[str, ...] = ()
    piece: bool = False
    part_row: bool = False
    """The part that a row is about, where rows of a list are parts; see `PartRows`."""
    say: str | None = None
    numbered: str | None = None
    date: DateFrom | None = None
    between: str | tuple[str, ...] = " "
    """What stands between several cells: the same everywhere, or before each but the first its own."""
    languages: tuple[str, ...] = ()
    """The languages of several cells, or of the pieces of one, which are marked with them and all kept."""
    parted_by: str | None = None
    part: int | None = None
    characters: tuple[int, int] | None = None
    terms: Table[str, str] | None = None
    """Folded terms of the list with what they stand for; None where the text stays as it is."""
    terms_as_written: Table[str, str] = field(default_factory=dict)
    keep_untranslated: bool = False
    every_list: Table[str, str] = field(default_factory=dict)
    """Folded terms that the mapping translates for all columns with a list of words, where this one has no own."""
    blank: frozenset[str] = frozenset()
    none: frozenset[str] = frozenset()
    unknown: frozenset[str] = frozenset()
    when_blank: str | None = None
    when_none: str | None = None
    when_unknown: str | None = None

    @property
    def headings(self) -> tuple[str, ...]:
        return self.date.headings if self.date is not None else self.take


@dataclass(frozen=True, slots=True)
class Rule:
    """One rule that leaves rows out, or keeps only some; words are folded, `blank` asks whether a cell is blank."""

    name: str
    heading: str
    keeps: bool
    words: frozenset[str] = frozenset()
    holding: tuple[str, ...] = ()
    blank: bool | None = None


@dataclass(frozen=True, slots=True)
class RowsFrom:
    """Rows of one sheet, one from each row of the list, or one from each piece of a cell."""

    sheet: str
    columns: Table[str, Recipe]
    each: str | None = None
    parted_by: str | None = None


@dataclass(frozen=True, slots=True)
class PartRows:
    """How the number of a part is told from its object's: 45.1 is part of 45.

    Either what stands between, and how many pieces of the number are the object's, or a pattern of two groups.
    """

    parted_by: str | None = None
    pieces: int = 1
    pattern: re.Pattern[str] | None = None
    whole: frozenset[str] = frozenset()
    """Folded words in the place of the part that mean the whole object: 45.0."""
    first_stands: bool = False
    """Whether an object without a row of its own is named by its first part."""

    def split(self, number: str) -> tuple[str, str | None]:
        """The object's number, and the part's code where it is the number of a part."""
        if self.pattern is not None:
            found = self.pattern.fullmatch(number)
            thing, part = (each or "" for each in found.groups()) if found else ("", "")
        else:
            pieces = number.split(self.parted_by)
            thing, part = ((self.parted_by or "").join(each) for each in (pieces[: self.pieces], pieces[self.pieces :]))
        thing, part = thing.strip(), part.strip()
        if not thing or not part:
            return number, None
        if " ".join(part.casefold().split()) in self.whole:
            return thing, None
        return thing, number.replace("/", "-")


@dataclass(frozen=True, slots=True)
class Written:
    """How the list is written, and where its table lies. A workbook needs neither encoding nor separator.

    `headings_rows` are the row of the headings, or both where there are two; None where the mapping does not say it.
    """

    encoding: str | None
    separator: str | None
    sheet: str | None = None
    headings_rows: tuple[int, ...] | None = None
    rows_below_headings: int | None = None
    remark_below: bool | None = None


@dataclass(frozen=True, slots=True)
class Mapping:
    """A mapping that was read and found sound, apart from the headings, which only the list can confirm."""

    written: Written
    decimal_comma: bool
    object: Recipe
    objects: Table[str, Recipe]
    rows: tuple[RowsFrom, ...]
    rules: tuple[Rule, ...]
    parts: PartRows | None = None
    blank: frozenset[str] = frozenset()
    none: frozenset[str] = frozenset()
    unknown: frozenset[str] = frozenset()

    def headings(self) -> list[tuple[str, str, str]]:
        """Every heading that is named, each with the table and the key that name it."""
        found = [(heading, "list", "object") for heading in self.object.headings]
        found += [(heading, "objects", name) for name, recipe in self.objects.items() for heading in recipe.headings]
        for number, block in enumerate(self.rows):
            if block.each:
                found.append((block.each, f"rows {number}", "each"))
            found += [
                (heading, f"rows {number}", name)
                for name, recipe in block.columns.items()
                for heading in recipe.headings
            ]
        kinds = {True: 0, False: 0}
        for rule in self.rules:
            found.append((rule.heading, f"{'keep_only' if rule.keeps else 'leave_out'} {kinds[rule.keeps]}", "heading"))
            kinds[rule.keeps] += 1
        return found


@dataclass
class MapText:
    """The text of a mapping, to find the line that a table and key stand on."""

    name: str
    text: str = ""

    def line(self, table: str, key: str | None = None) -> int | None:
        """The line of a key in a table, or of the table's head; `rows 2` is the third [[rows]]."""
        name, _, number = table.partition(" ")
        lines = self.text.splitlines()
        heads = [
            at for at, line in enumerate(lines) if re.match(rf"\s*\[{{1,2}}\s*{re.escape(name)}\s*\]{{1,2}}", line)
        ]
        place = int(number or 0)
        if place >= len(heads):
            return None
        if key is None:
            return heads[place] + 1
        for at in range(heads[place] + 1, len(lines)):
            if re.match(rf"\s*\[{{1,2}}\s*(?!{re.escape(name)}\s*\.)", lines[at]) or at in heads:
                break
            if re.match(rf"\s*(?:columns\s*\.\s*)?[\"']?{re.escape(key)}[\"']?\s*[=.]", lines[at]):
                return at + 1
        return heads[place] + 1

    def fault(
        self, table: str, key: str | None, message: str, value: object = None, nearest: str | None = None
    ) -> Fault:
        shown = table.split(" ")[0] + (f".{key}" if key else "")
        return Fault(
            self.name, "", self.line(table, key), shown or None, None if value is None else str(value), message, nearest
        )


def load_map(path: Path) -> tuple[MapText, dict[str, Any] | None, Fault | None]:
    """The tables of a mapping's file; a fault where it is no TOML."""
    text, held, (line, refusal) = read_toml(
        path,
        'A mapping holds lines such as title = "Heading" below [objects]; words with blanks or letters such as ü stand in '
        "quotation marks.",
        "This file is over 1 MB, which no mapping needs.",
    )
    fault = Fault(path.name, "", line, None, None, refusal) if held is None else None
    return MapText(path.name, text), held, fault
