"""Searches what is derived of the objects: exact codes first, then words by rank, narrowed by filters.

The index has one document per object. Places, reasons and evidence are looked up only for the few best, after ranking:
an index of places takes up to three times as long for words that are everywhere.
"""

from __future__ import annotations

import heapq
import sqlite3
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import islice
from typing import Any

from collection.compute import ENGINE
from collection.language.errors import WrongCommand
from collection.language.phrases import Phrase, phrase
from collection.records.row import Record
from collection.records.sheets import SHEETS, Object, Survey
from collection.store import derive
from collection.store.base import keys, names
from collection.store.search.filters import Filters
from collection.store.search.hits import Hit, hits
from collection.store.search.matches import Asked
from collection.store.search.near import Near, near

MOST_WORDS = 32
SHORTEST_BEGINNING = 3
TITLE_WEIGHT = 6.0
"""How much more a word in an object's title counts than one in its records."""
FEW = 400
"""How many objects are fetched one by one to be sorted, at most."""
RANKED = 2_000
"""How many matches are ranked, at most; among more, the frequency of a word says nothing any more."""
WORDS = "title words listed"
"""The columns of the index that hold words of people; `listed` has the cells of lists that no column took whole."""
NO_FILTERS = Filters()


@dataclass(frozen=True)
class Answer:
    """What a search found: how many objects there are, and the first of them; `behind` counts the objects whose
    derived rows are not up to date. Where nothing was found, `near` says what would have been."""

    total: int
    hits: tuple[Hit, ...]
    behind: int
    near: Near | None = None

    def as_json(self) -> dict[str, Any]:
        """The answer as the `search` command gives it."""
        return {
            "format": 1,
            "total": self.total,
            "results": [hit.as_json() for hit in self.hits],
            "not_up_to_date": self.behind,
            "near": None if self.near is None else self.near.as_json(),
        }


def search(db: sqlite3.Connection, words: Sequence[str], filters: Filters = NO_FILTERS, limit: int = 20) -> Answer:
    """The objects in account that hold every word and meet every filter.

    :param words: each is looked for as written, several words in one side by side; `*` at the end takes in
        longer words.
    :raises WrongCommand: where there is nothing to look for, or a word cannot be.
    """
    asked = phrases(words)
    if not asked and not filters.given:
        raise WrongCommand(
            "There is nothing to look for. Give a word, an accession number, a key OBJECT/CODE, or one of the filters."
        )
    found = _Matching(db, asked, filters)
    best = found.best(limit)
    total = found.total
    shown = hits(db, best, Asked(tuple(asked), filters, found.named, found.known))
    return Answer(total, shown, behind(db), None if total else near(asked, filters, lambda p, f: count(db, p, f), db))


def count(db: sqlite3.Connection, asked: Sequence[Phrase], filters: Filters) -> int:
    """How many objects there are."""
    return _Matching(db, asked, filters).total


def phrases(words: Iterable[str]) -> list[Phrase]:
    """What is looked for; words without a letter or figure ask for nothing, because the index holds no signs.

    :raises WrongCommand: for too many words, or too short a beginning.
    """
    found = [one for one in map(phrase, words) if one.tokens]
    if len(found) > MOST_WORDS:
        raise WrongCommand(f"{len(found)} words are too many; give up to {MOST_WORDS}.")
    for one in found:
        if one.longer and len(one.tokens[-1]) < SHORTEST_BEGINNING:
            raise WrongCommand(f"{one.text!r}: write at least {SHORTEST_BEGINNING} letters before the *.")
    return found


def behind(db: sqlite3.Connection) -> int:
    """How many objects have derived rows that are known not to be up to date."""
    if names.load(db) is not None:
        # The numbers that objects are stored under are not those that their derived rows have.
        return len(derive.behind(db))
    stale: int = db.execute("SELECT count(*) FROM facts WHERE stale = 1").fetchone()[0]
    oldest = db.execute("SELECT engine FROM survival_objects ORDER BY rowid LIMIT 1").fetchone()
    stored, known = (db.execute(f"SELECT count(*) FROM {table}").fetchone()[0] for table in ("objects", "documents"))
    if stored == known and (oldest is None or oldest[0] == ENGINE):
        # Rows are written anew when they are derived, so the first one is of the oldest version.
        return stale
    missing = db.execute(
        "SELECT count(*) FROM live_objects AS o WHERE NOT EXISTS (SELECT 1 FROM facts AS f WHERE f.object = o.object)"
    ).fetchone()[0]
    older = db.execute("SELECT count(*) FROM survival_objects WHERE engine <> ?", (ENGINE,)).fetchone()[0]
    return int(max(stale, older) + missing)


class _Matching:
    """The numbers of the documents that match, those named by a code first."""

    def __init__(self, db: sqlite3.Connection, asked: Sequence[Phrase], filters: Filters) -> None:
        self.db = db
        self.known = names.load(db)
        self.named: dict[int, tuple[str, tuple[Any, ...]] | None] = {}
        """Documents whose code, or the key of one of whose records, was asked for, with that record."""
        self.words = list(asked)
        self.filters = filters
        picked: set[int] | None = None
        exact = self._exact(asked[0].text) if len(asked) == 1 else []
        for one in asked if len(asked) > 1 else ():
            # Among other words a key picks its object; the index does not hold keys as people write them.
            if "/" in one.text and (own := self._keys(one.text)):
                self.words.remove(one)
                picked = set(own) if picked is None else picked & set(own)
        self.other = self._matching(self.words, picked)
        narrowed = self._matching([], picked) if exact and filters.given else None
        self.exact = [number for number in exact if narrowed is None or number in narrowed]
        self.other.difference_update(self.exact)

    @property
    def total(self) -> int:
        return len(self.exact) + len(self.other)

    def best(self, limit: int) -> list[int]:
        """The first few: codes; then by rank where words give one and not too many match; then by number, those
        first whose title holds every word."""
        first = self.exact[:limit]
        left = limit - len(first)
        if not self.words or not left:
            return [*first, *self._by_code(self.other, left)]
        if len(self.other) <= RANKED:
            return [*first, *(number for _, number in heapq.nsmallest(left, self._ranks()))]
        titled = self.other & self._matching(self.words, None, "title")
        first += self._by_code(titled, left)
        return [*first, *self._by_code(self.other - titled, limit - len(first))]

    def _matching(self, words: Sequence[Phrase], picked: set[int] | None, columns: str = WORDS) -> set[int]:
        """The documents that hold the words and meet the filters, of those `picked`."""
        parts, check = [self.filters.match()], self.filters.check
        if words:
            parts.append(_match(words, columns))
        match = " AND ".join(f"({part})" for part in parts if part)
        if not match:
            return set(picked or ())
        if check is None:
            rows = self.db.execute("SELECT rowid FROM documents_fts WHERE documents_fts MATCH ?", (match,))
            found = {number for (number,) in rows}
        else:
            found = {
                number
                for number, facets in self.db.execute(
                    "SELECT d.id, d.facets FROM documents_fts AS f JOIN documents AS d ON d.id = f.rowid "
                    "WHERE documents_fts MATCH ?",
                    (match,),
                )
                if check(facets)
            }
        return found if picked is None else found & picked

    def _ranks(self) -> list[tuple[float, int]]:
        # The words alone: the rank would weigh filters as words. It takes longer than a match, and is worked out only
        # for what is asked about.
        self.db.create_function("wanted", 1, self.other.__contains__, deterministic=True)
        return self.db.execute(
            "SELECT rank, rowid FROM documents_fts WHERE documents_fts MATCH ? "
            f"AND rank MATCH 'bm25({TITLE_WEIGHT}, 1.0, 0.0, 1.0)' AND wanted(+rowid)",
            (_match(self.words, WORDS),),
        ).fetchall()

    def _by_code(self, numbers: set[int], limit: int) -> list[int]:
        if len(numbers) > FEW:
            return list(
                islice(
                    (
                        number
                        for (number,) in self.db.execute("SELECT id FROM documents ORDER BY object")
                        if number in numbers
                    ),
                    limit,
                )
            )
        codes = [
            (self.db.execute("SELECT object FROM documents WHERE id = ?", (number,)).fetchone()[0], number)
            for number in numbers
        ]
        return [number for _, number in heapq.nsmallest(limit, codes)]

    def _exact(self, text: str) -> list[int]:
        code = text if self.known is None else self.known.object(text)
        found = [number for (number,) in self.db.execute("SELECT id FROM documents WHERE object = ?", (code,))]
        self.named.update(dict.fromkeys(found))
        if "/" in text:
            found += self._keys(text)
        if len(text) > 1:
            above = f"{text}\U0010ffff"
            found += [
                number
                for (number,) in self.db.execute(
                    "SELECT id FROM documents WHERE object > ? AND object < ? ORDER BY object", (text, above)
                )
            ]
        return list(dict.fromkeys(found))

    def _keys(self, text: str) -> list[int]:
        """The documents of objects that have a record in account with this key, in present or former codes."""
        found = []
        for record in SHEETS:
            if record in (Survey, Object):
                continue
            for asked in keys.readings(record, text):
                for key in [asked] if self.known is None else self.known.readings(record, asked):
                    number = self._document(record, key)
                    if number is not None:
                        found.append(number)
                        if self.named.get(number) is None:
                            self.named[number] = record.sheet, self._present(record, key)
        return found

    def _document(self, record: type[Record], key: Sequence[Any]) -> int | None:
        # The table is asked before the view, which looks up all that a row hangs on.
        for table in (record.table, f"live_{record.table}"):
            row = self.db.execute(f"SELECT r.object FROM {table} AS r WHERE {keys.where(record, 'r.')}", key).fetchone()
            if row is None:
                return None
        code = row[0] if self.known is None else self.known.object(row[0])
        number = self.db.execute("SELECT id FROM documents WHERE object = ?", (code,)).fetchone()
        return None if number is None else int(number[0])

    def _present(self, record: type[Record], key: Sequence[Any]) -> tuple[Any, ...]:
        if self.known is None:
            return tuple(key)
        row = self.known.translate(record, dict(zip(record.key, key, strict=True)))
        return tuple(row[name] for name in record.key)


def _match(words: Sequence[Phrase], columns: str) -> str:
    return f"{{{columns}}} : (" + " AND ".join(one.match() for one in words) + ")"
