"""Reads a mapping's file and checks its tables one by one; every fault is a sentence with its line."""

from __future__ import annotations

import re

from collection.ingest.mapping.cells import folded, nearest_term
from collection.ingest.mapping.dates.options import date_words
from collection.ingest.mapping.list_file.encoding import ENCODINGS, codec_of
from collection.ingest.mapping.mapping import (
    NOT_FROM_A_LIST,
    SEPARATORS,
    Mapping,
    MapText,
    PartRows,
    Recipe,
    RowsFrom,
    Rule,
    Written,
    plain_heading,
)
from collection.ingest.mapping.recipes import ListWords, Recipes
from collection.ingest.mapping.tables import Given, Tables
from collection.language.errors import BadValue, Fault
from collection.language.word_list import WordList
from collection.records.sheets import BY_SHEET, SHEETS, Object, Record

TABLES = ("survey", "list", "parts", "dates", "words", "leave_out", "keep_only", "objects", "rows")
_LIST = (
    "encoding",
    "separator",
    "sheet",
    "headings_row",
    "rows_below_headings",
    "remark_below",
    "decimal_mark",
    "object",
    "blank",
    "none",
    "unknown",
)
_PARTS = ("parted_by", "pieces", "pattern", "whole", "without_whole")
_ROWS = ("sheet", "each", "parted_by", "columns")
_RULE = ("name", "heading", "is", "holds", "blank")


def read_mapping(text: MapText, held: Given) -> tuple[Mapping | None, list[Fault]]:
    """The mapping in these tables, or every fault in them."""
    reader = _MappingFile(text, held)
    mapping = reader.mapping()
    return (None if reader.faults else mapping), reader.faults


class _MappingFile:
    """One mapping while its tables are read."""

    def __init__(self, text: MapText, held: Given) -> None:
        self._tables = Tables(text, held)
        self.faults = self._tables.faults
        self._rule_names: set[str] = set()

    def mapping(self) -> Mapping | None:
        self._tables.known(self._tables.held, TABLES, "", "A mapping has the tables")
        self._tables.table("survey")
        listed = self._tables.table("list")
        for name, what in (
            ("survey", "whose list this is: code, title, lead, started"),
            ("list", "how the list is written: encoding, separator, and the headings of its objects' numbers"),
        ):
            if name not in self._tables.held:
                self._tables.say("", None, f"The table [{name}] is missing. It says {what}.")
        given = self._tables.table("words")
        words = {
            name: self._tables.terms(f"words.{name}", None, terms)
            for name, terms in given.items()
            if isinstance(terms, dict)
        }
        every_list = self._every_list({name: word for name, word in given.items() if not isinstance(word, dict)})
        dates = date_words(self._tables, words)
        self._tables.known(listed, _LIST, "list", "Below [list] stand")
        blank, none, unknown = (
            frozenset(map(folded, self._tables.texts("list", key, listed.get(key, []))))
            for key in ("blank", "none", "unknown")
        )
        self._recipes = Recipes(
            self._tables, ListWords(words, dates, blank, none, unknown, every_list, "parts" in self._tables.held)
        )
        written = self._written(listed)
        mark = self._tables.one_of("list", "decimal_mark", listed, (".", ","), ".")
        number = self._recipes.recipe("list", "object", listed.get("object"), Object, Object.column("object"), None)
        if "list" in self._tables.held and "object" not in listed:
            self._tables.say(
                "list",
                None,
                'Say which heading holds the objects\' numbers: object = "Heading". Where a '
                'number is unique only with its part number, name both: object = { take = ["Number", '
                '"Part"], between = "." }.',
            )
        rules = [*self._rules("leave_out", False), *self._rules("keep_only", True)]
        objects = self._columns("objects", self._tables.table("objects"), Object, None)
        rows = self._all_rows()
        parts = self._parts(rows)
        if not (mark and number):
            return None
        return Mapping(written, mark == ",", number, objects, tuple(rows), tuple(rules), parts, blank, none, unknown)

    def _written(self, listed: Given) -> Written:
        """How the list is written; encoding and separator are not asked for where a sheet of a workbook is named."""
        encoding = separator = sheet = None
        if "encoding" in listed:
            encoding = codec_of(str(listed["encoding"]))
            if encoding is None:
                self._tables.say(
                    "list",
                    "encoding",
                    f"There is no encoding of this name. Often it is {', '.join(ENCODINGS)}; any other that Python knows "
                    "may stand here.",
                    listed["encoding"],
                    nearest_term(str(listed["encoding"]), tuple(ENCODINGS)),
                )
        if "separator" in listed:
            separator = self._tables.one_of("list", "separator", listed, SEPARATORS, None)
        if "sheet" in listed:
            sheet = self._tables.text_of("list", "sheet", listed) or None
        remark = listed.get("remark_below")
        if remark is not None and not isinstance(remark, bool):
            self._tables.say(
                "list",
                "remark_below",
                "Is the row at the end a remark under the table (true) or an object (false)?",
                remark,
            )
        below = listed.get("rows_below_headings")
        if below is not None and not _is_count(below, 0):
            self._tables.say(
                "list", "rows_below_headings", "This is how many rows below the headings explain them: 0, 1 …", below
            )
            below = None
        return Written(encoding, separator, sheet, self._headings_rows(listed), below, remark)

    def _headings_rows(self, listed: Given) -> tuple[int, ...] | None:
        if "headings_row" not in listed:
            return None
        given = listed["headings_row"]
        rows = [row for row in (given if isinstance(given, list) else [given]) if _is_count(row, 1)]
        if len(rows) == 1 and given in (rows[0], rows):
            return (rows[0],)
        if len(rows) == 2 and given == rows and rows[1] == rows[0] + 1:
            return (rows[0], rows[1])
        self._tables.say(
            "list",
            "headings_row",
            "This is the number of the row that holds the headings, 1, 2 …, or of two rows one below the other: [2, 3].",
            given,
        )
        return None

    def _every_list(self, given: Given) -> dict[str, str]:
        """The terms for every column with a list of words; each has to stand for a word of one of them."""
        terms = self._tables.terms("words", None, given) if given else {}
        lists = [column.words for record in SHEETS for column in record.columns() if column.words is not None]
        for term, word in terms.items():
            if not any(_knows(each, word) for each in lists):
                self._tables.say(
                    "words",
                    term,
                    "No list of words holds this one. Terms for a text stand in a table of their own, such as "
                    "[words.kinds], which the column names.",
                    word,
                    nearest_term(word, {known for each in lists for known in each.words}),
                )
        return terms

    def _parts(self, rows: list[RowsFrom]) -> PartRows | None:
        if "parts" not in self._tables.held:
            return None
        given = self._tables.table("parts")
        self._tables.known(given, _PARTS, "parts", "Below [parts] stand")
        before = len(self.faults)
        pattern = None
        if ("parted_by" in given) == ("pattern" in given):
            self._tables.say(
                "parts",
                None,
                'Say how a part is told from its object, in one way: parted_by = "." for 45.1, or a pattern such as '
                "pattern = '([0-9]+)([a-z])' for 45a.",
            )
        for name in ("parted_by", "pattern"):
            if name in given:
                self._tables.text_of("parts", name, given)
        pieces = given.get("pieces", 1)
        if not _is_count(pieces, 1):
            self._tables.say(
                "parts", "pieces", "This is how many pieces of the number are the object's: 2 for 1979.10.1.", pieces
            )
        if isinstance(given.get("pattern"), str):
            try:
                pattern = re.compile(given["pattern"])
            except re.error as error:
                self._tables.say("parts", "pattern", f"This is no pattern ({error}).", given["pattern"])
            if pattern is not None and pattern.groups != 2:
                self._tables.say(
                    "parts",
                    "pattern",
                    "The pattern has two groups: the object's number, and the part.",
                    given["pattern"],
                )
        if given.get("without_whole", "first part") != "first part":
            self._tables.say(
                "parts",
                "without_whole",
                'An object without a row of its own is set aside, or named by its first part: write "first part".',
                given["without_whole"],
            )
        whole = frozenset(map(folded, self._tables.texts("parts", "whole", given.get("whole", []))))
        if not any(
            recipe.part_row for block in rows for recipe in block.columns.values() if block.sheet == "components"
        ):
            self._tables.say(
                "parts",
                None,
                'The parts are rows of components: write [[rows]] with sheet = "components", and below [rows.columns] '
                "component = { part_row = true } and the heading of their name.",
            )
        if len(self.faults) > before:
            return None
        return PartRows(given.get("parted_by"), pieces, pattern, whole, "without_whole" in given)

    def _rules(self, table: str, keeps: bool) -> list[Rule]:
        found, names = [], self._rule_names
        for number, given in enumerate(self._tables.several(table)):
            where = f"{table} {number}"
            self._tables.known(given, _RULE, where, f"Below [[{table}]] stand")
            name, heading = (self._tables.text_of(where, key, given) for key in ("name", "heading"))
            if name in names:
                self._tables.say(where, "name", "Two rules have this name, and the report counts by it.", name)
            names.add(name)
            asked = [key for key in ("is", "holds", "blank") if key in given]
            if len(asked) != 1:
                self._tables.say(
                    where, None, 'A rule asks one thing of the cell: is = ["…"], holds = ["…"] or blank = true.'
                )
                continue
            blank = given.get("blank")
            if blank is not None and not isinstance(blank, bool):
                self._tables.say(where, "blank", "Write blank = true or blank = false.", blank)
            words = self._tables.texts(where, asked[0], given[asked[0]]) if asked[0] != "blank" else []
            if asked[0] != "blank" and not all(map(folded, words or [""])):
                self._tables.say(
                    where, asked[0], "Name at least one word, and no blank one: blank = true asks for blanks."
                )
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
        for number, given in enumerate(self._tables.several("rows")):
            where = f"rows {number}"
            self._tables.known(given, _ROWS, where, "Below [[rows]] stand")
            sheet = self._tables.text_of(where, "sheet", given)
            if sheet in NOT_FROM_A_LIST:
                self._tables.say(
                    where, "sheet", f"No rows of {sheet} come from a list. {NOT_FROM_A_LIST[sheet]}", sheet
                )
                continue
            if sheet not in BY_SHEET:
                if sheet:
                    possible = [name for name in BY_SHEET if name not in NOT_FROM_A_LIST]
                    self._tables.say(
                        where,
                        "sheet",
                        f"There is no such sheet. The sheets are {', '.join(possible)}.",
                        sheet,
                        nearest_term(sheet, possible),
                    )
                continue
            each, parted_by = given.get("each"), given.get("parted_by")
            if (each is None) != (parted_by is None):
                self._tables.say(
                    where,
                    "each",
                    "`each` names a heading and `parted_by` what stands between the pieces of its "
                    "cells; one is nothing without the other.",
                )
            for key, value in (("each", each), ("parted_by", parted_by)):
                if value is not None and (not isinstance(value, str) or not value):
                    self._tables.say(where, key, "This is a text in quotation marks, and not an empty one.", value)
            columns = given.get("columns")
            if not isinstance(columns, dict):
                self._tables.say(
                    where, None, "The table [rows.columns] is missing: it says where each column comes from."
                )
                continue
            record = BY_SHEET[sheet]
            recipes = self._columns(where, columns, record, each)
            missing = [c for c in record.columns() if c.required and c.name not in ("object", *columns)]
            for column in missing:
                self._tables.say(
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
                self._tables.say(where, name, "The objects' numbers are told once, below [list].")
            elif name not in columns:
                self._tables.say(
                    where,
                    name,
                    f"The sheet {record.sheet} has no such column. Its columns are {', '.join(columns)}.",
                    name,
                    nearest_term(name, tuple(columns)),
                )
            elif columns[name].kind == "file":
                self._tables.say(where, name, "This column names a file of the package, and a list brings none.")
            else:
                recipe = self._recipes.recipe(where, name, value, record, columns[name], each)
                if recipe is not None:
                    found[name] = recipe
        return found


def _is_count(value: object, least: int) -> bool:
    return isinstance(value, int) and not isinstance(value, bool) and value >= least


def _knows(words: WordList, word: str) -> bool:
    try:
        words.read(word)
    except BadValue:
        return False
    return True
