"""Looks for people's names in texts that are published: what is known as a name, as whole words.

Known are the names in every column that holds a person, whoever may read it. A name that stands in a text and in no such
column is not found.
"""

from __future__ import annotations

import json
import re
import sqlite3
from collections import defaultdict
from collections.abc import Iterable, Mapping
from typing import Any

from collection.output.published.filed_object import unpacked
from collection.records.sheets import BY_SHEET, SHEETS

Json = dict[str, Any]

MOST_TOLD = 100
"""How many texts are listed; all are counted."""
_WORD = re.compile(r"\w+")
_CAPITAL = re.compile(r"\b[^\W\d_a-z]")
_WITHIN = re.compile(r"[^\W_][,;]?[ \n(“\"]+\Z")
"""What stands before a word within a sentence."""
_BETWEEN = re.compile(r"\s*(?:;|&|\band\b)\s*")


class People:
    """The names that are known, and the public texts in which one was found.

    :ivar found: for each such text its object (None for a survey's own), sheet, record, column and the name.
    """

    def __init__(self, connection: sqlite3.Connection) -> None:
        columns = [
            (record.table, column.name) for record in SHEETS for column in record.columns() if column.kind == "person"
        ]
        told = " UNION ".join(
            f'SELECT "{name}" FROM {table} WHERE "{name}" IS NOT NULL'
            for table, name in (*columns, ("decisions", "decided_by"))
        )
        self.names = sorted(
            {name for (text,) in connection.execute(told) for name in _BETWEEN.split(text.strip()) if _is_name(name)}
        )
        self._by_word: dict[str, list[str]] = defaultdict(list)
        for name in self.names:
            self._by_word[_WORD.findall(name)[0]].append(name)
        self.found: list[Json] = []

    def look(self, code: str, rows: Mapping[str, list[Json]]) -> None:
        """Looks through the texts of an object's published records.

        :param rows: the object's rows of the published file, by table.
        """
        for record in SHEETS:
            for row in rows.get(record.table, ()):
                self._look_at(code, record.sheet, row["key"], row)
        judged = next((part for part in rows.get("parts", ()) if part["name"] == "proposals"), None)
        if judged is not None:
            self._look_at_decisions(code, json.loads(judged["content"] or unpacked(judged["packed"])))

    def look_at_surveys(self, surveys: Iterable[Json]) -> None:
        """Looks through the texts of the surveys that are published."""
        for survey in surveys:
            self._look_at(None, "survey", survey["code"], survey)

    def _look_at_decisions(self, code: str, proposals: list[Json]) -> None:
        for proposal in proposals:
            for decision in proposal["decisions"]:
                texts = [decision["reason"], *decision["conditions"]]
                texts += [each["reason"] for each in (*decision["overrides"], *decision["answers"])]
                for text in texts:
                    self._note(code, "decisions", f"{proposal['key']}/{decision['number']}", "reason", text)

    def in_text(self, text: str) -> list[str]:
        """The known names in a text, as whole words.

        A name with one capital letter alone, as Joiner, counts only within a sentence: at the start of one every word
        has a capital.
        """
        return [
            name
            for word in _WORD.finditer(text)
            for name in self._by_word.get(word[0], ())
            if text.startswith(name, word.start())
            and not text[word.start() + len(name) :][:1].isalnum()
            and (len(_CAPITAL.findall(name)) > 1 or _WITHIN.search(text, 0, word.start()))
        ]

    def _look_at(self, code: str | None, sheet: str, key: str, row: Mapping[str, Any]) -> None:
        for column in BY_SHEET[sheet].columns():
            if column.kind == "text" and row.get(column.name):
                self._note(code, sheet, key, column.name, row[column.name])

    def _note(self, code: str | None, sheet: str, key: str, column: str, text: str) -> None:
        for name in dict.fromkeys(self.in_text(text)):
            self.found.append({"object": code, "sheet": sheet, "record": key, "column": column, "name": name})


def _is_name(text: str) -> bool:
    """Whether a text can be told from other words: `unknown` and initials cannot."""
    return len(text) > 3 and text[:1].isupper() and not text.isupper()
