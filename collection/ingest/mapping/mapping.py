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

ENCODINGS = {
    "utf-8": "utf-8-sig",
    "utf-16": "utf-16",
    "latin-1": "latin-1",
    "iso-8859-1": "latin-1",
    "iso-8859-15": "iso-8859-15",
    "windows-1252": "cp1252",
    "mac-roman": "mac-roman",
    "cp437": "cp437",
    "cp850": "cp850",
}
"""How a list may be written, each with Python's name for it; a byte-order mark of UTF-8 is passed over."""
SEPARATORS = (",", ";", "\t", "|")
NOT_FROM_A_LIST = {
    "survey": "The survey is described below [survey].",
    "pictures": "A picture needs its file, and a list brings none.",
    "drawings": "A drawing needs its file, and a list brings none.",
    "objects": "The objects have a table of their own, [objects].",
}
"""Sheets of which no [[rows]] can be made, and why."""


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
    """Where one column's text comes from, and what is done with it. Just one of the first five is set."""

    take: tuple[str, ...] = ()
    piece: bool = False
    say: str | None = None
    numbered: str | None = None
    date: DateFrom | None = None
    between: str = " "
    parted_by: str | None = None
    part: int | None = None
    characters: tuple[int, int] | None = None
    terms: Table[str, str] | None = None
    """Folded terms of the list with what they stand for; None where the text stays as it is."""
    terms_as_written: Table[str, str] = field(default_factory=dict)
    keep_untranslated: bool = False
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
class Mapping:
    """A mapping that was read and found sound, apart from the headings, which only the list can confirm."""

    encoding: str
    separator: str
    headings_row: int
    decimal_comma: bool
    object: Recipe
    objects: Table[str, Recipe]
    rows: tuple[RowsFrom, ...]
    rules: tuple[Rule, ...]
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
        'A mapping holds lines such as title = "Heading" below [objects].',
        "This file is over 1 MB, which no mapping needs.",
    )
    fault = Fault(path.name, "", line, None, None, refusal) if held is None else None
    return MapText(path.name, text), held, fault
