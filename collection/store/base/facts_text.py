"""One object's facts document as text. Only the parts that are asked for are parsed.

This relies on canonical JSON in UTF-8, without spaces and with flat records: a `"` inside a text always has a
backslash before it, so a sheet's name with its bracket cannot occur inside a text.
"""

from __future__ import annotations

import json
from collections.abc import Iterable
from typing import Any

from collection.records.facts import FACT_SHEETS

Json = dict[str, Any]
OBJECT = "objects"
_OBJECT = b'"object":{'
_BEGINS = b'":[{'
_SHEETS = frozenset(sheet.encode() for sheet in FACT_SHEETS)


class FactsText:
    """The bytes of a facts document, parsed only where asked."""

    def __init__(self, text: bytes) -> None:
        self._text = text
        self._lower: bytes | None = None
        self._rows: dict[str, list[Json]] = {}
        self._one: dict[tuple[str, str], Json | None] = {}

    @property
    def object(self) -> Json:
        """The object's own row."""
        if OBJECT not in self._rows:
            start = self._text.index(_OBJECT) + len(_OBJECT) - 1
            try:
                row = json.loads(self._text[start : self._text.index(b"}", start) + 1])
            except json.JSONDecodeError:
                row = json.loads(self._text)["object"]
            self._rows[OBJECT] = [row]
        return self._rows[OBJECT][0]

    def rows(self, sheet: str) -> list[Json]:
        """Every row of a sheet."""
        if sheet not in self._rows:
            mark = b'"%s%s' % (sheet.encode(), _BEGINS)
            at = self._text.find(mark)
            if at < 0:
                self._rows[sheet] = []
            else:
                start = at + len(mark) - 2
                try:
                    self._rows[sheet] = json.loads(self._text[start : self._text.index(b"}]", start) + 2])
                except json.JSONDecodeError:
                    self._rows[sheet] = json.loads(self._text).get(sheet, [])
        return self._rows[sheet]

    def row(self, sheet: str, column: str, code: str) -> Json | None:
        """The first row of a sheet with a code in a column; None where there is none."""
        key = (sheet, code)
        if key not in self._one:
            found = None if sheet in self._rows else self._first(sheet, column, code)
            self._one[key] = found or next((row for row in self.rows(sheet) if row.get(column) == code), None)
        return self._one[key]

    def _first(self, sheet: str, column: str, code: str) -> Json | None:
        """The same, cut out of the text; None where that is not certain."""
        mark = b'"%s%s' % (sheet.encode(), _BEGINS)
        at = self._text.find(mark)
        if at < 0:
            return None
        cell = b'"%s":%s' % (column.encode(), json.dumps(code, ensure_ascii=False).encode())
        at = self._text.find(cell, at + len(mark))
        found = None if at < 0 else self._record(at)
        return found[1] if found is not None and found[0] == sheet and found[1].get(column) == code else None

    def rows_holding(self, words: Iterable[str], texts: Iterable[str] = ()) -> dict[str, list[Json]]:
        """At least those rows, by sheet, that contain one of some words (ignoring the case of a to z) or one of some
        texts exactly.

        :param words: in lower case, without quotes and signs, which JSON writes otherwise.
        """
        if self._lower is None:
            self._lower = self._text.lower()
        spots = sorted(
            {
                *_spots(self._lower, (word.encode() for word in words)),
                *_spots(self._text, (json.dumps(text, ensure_ascii=False).encode()[1:-1] for text in texts)),
            }
        )
        found: dict[str, list[Json]] = {}
        past = -1
        for at in spots:
            if at < past:
                continue
            record = self._record(at)
            if record is None:
                return {OBJECT: [self.object], **{sheet: self.rows(sheet) for sheet in FACT_SHEETS}}
            sheet, row, past = record
            found.setdefault(sheet, []).append(row)
        return found

    def _record(self, at: int) -> tuple[str, Json, int] | None:
        """The record around a position in the text, with its sheet and where it ends; None where a text in it contains
        a brace, or the position is in no record."""
        text = self._text
        start, end = text.rfind(b"{", 0, at), text.find(b"}", at)
        try:
            row = json.loads(text[start : end + 1])
        except json.JSONDecodeError:
            return None
        begin = text.rfind(_BEGINS, 0, start + 1)
        # A text may begin like that as well, and then no name stands before it.
        while begin >= 0 and (name := text[text.rfind(b'"', 0, begin) + 1 : begin]) not in _SHEETS:
            begin = text.rfind(_BEGINS, 0, begin)
        if begin < 0 or text.rfind(_OBJECT, begin, start + 1) > begin:
            return OBJECT, row, end
        return name.decode(), row, end


def _spots(text: bytes, wanted: Iterable[bytes]) -> Iterable[int]:
    for one in wanted:
        at = text.find(one)
        while at >= 0:
            yield at
            at = text.find(one, at + len(one))
