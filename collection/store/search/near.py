"""What to say when a search finds nothing: how many would match with less, and what is spelled nearly the same."""

from __future__ import annotations

import difflib
import sqlite3
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from collection.language.phrases import BETWEEN, Phrase, phrase
from collection.language.words import SHEET_NAMES
from collection.records.sheets import SHEETS, Survey
from collection.store.base import keys
from collection.store.base.search_document import liquids
from collection.store.search.filters import Filters

MOST = 6
SHORTEST_ALIKE = 3
AMONG = 50_000
_KNOWN = {
    "kind": "SELECT DISTINCT kind FROM live_objects",
    "hazard": "SELECT DISTINCT kind FROM live_hazards WHERE status <> 'not found'",
    "agent": "SELECT agent FROM live_tests UNION SELECT agent FROM live_treatment_steps WHERE agent IS NOT NULL",
    "colour": "SELECT DISTINCT colour FROM live_layers WHERE colour IS NOT NULL",
}
"""What an open filter can ask for, by the records."""


@dataclass(frozen=True)
class Near:
    """`without` counts objects once one word or filter is left out; `alike` gives words that the records hold
    beside those that no record holds; `gone` names records with a key that was asked for and is out of account."""

    without: tuple[tuple[str, int], ...]
    alike: tuple[tuple[str, tuple[str, ...]], ...]
    gone: tuple[str, ...] = ()

    def as_json(self) -> dict[str, Any]:
        return {
            "without": [{"left_out": what, "total": total} for what, total in self.without],
            "alike": [{"asked": what, "known": list(known)} for what, known in self.alike],
            "out_of_account": list(self.gone),
        }


def near(
    asked: Sequence[Phrase], filters: Filters, count: Callable[[Sequence[Phrase], Filters], int], db: sqlite3.Connection
) -> Near:
    """What a search that found nothing would have found otherwise; `count` counts the objects of another search."""
    without = []
    if len(asked) + len(filters.given) > 1:
        without += [(f"the word {one.text!r}", count([p for p in asked if p is not one], filters)) for one in asked]
        without += [(f"--{name}", count(asked, filters.without(name))) for name in filters.given]
    apart = [phrase(word) for one in asked for word in one.text.split()]
    if len(apart) > len(asked):
        without.append(("the quotes, each word by itself", count([one for one in apart if one.tokens], filters)))
    nothing = Filters()
    alike = [(one.text, known) for one in asked if not count([one], nothing) and (known := _words_like(db, one))]
    for name in filters.given:
        if name in _KNOWN and not count([], Filters(**{name: getattr(filters, name)})):
            known = _values_like(db, name, getattr(filters, name))
            if known:
                alike.append((f"--{name} {', '.join(getattr(filters, name))}", known))
    return Near(
        tuple((what, total) for what, total in without if total),
        tuple(alike),
        tuple(name for one in asked for name in _gone(db, one.text)),
    )


def _gone(db: sqlite3.Connection, text: str) -> list[str]:
    """The stored records that a text is the key of."""
    return [
        f"{SHEET_NAMES[record.sheet]} {text}"
        for record in SHEETS
        if record is not Survey
        for key in keys.readings(record, text)
        if db.execute(f"SELECT 1 FROM {record.table} WHERE {keys.where(record)}", key).fetchone()
    ]


def _words_like(db: sqlite3.Connection, asked: Phrase) -> tuple[str, ...]:
    """Words of the index that look like one word, among those with the same first letter."""
    if len(asked.tokens) != 1 or len(asked.tokens[0]) < SHORTEST_ALIKE:
        return ()
    word = asked.tokens[0]
    db.execute("CREATE VIRTUAL TABLE IF NOT EXISTS temp.search_words USING fts5vocab(main, documents_fts, col)")
    terms = {
        term
        for (term,) in db.execute(
            "SELECT term FROM temp.search_words WHERE term >= ? AND term < ? AND col <> 'facets' "
            "AND length(term) BETWEEN ? AND ? LIMIT ?",
            (word[0], chr(ord(word[0]) + 1), len(word) - 2, len(word) + 3, AMONG),
        )
    } - {BETWEEN}
    return tuple(difflib.get_close_matches(word, sorted(terms), n=MOST, cutoff=0.7))


def _values_like(db: sqlite3.Connection, name: str, asked: Sequence[str]) -> tuple[str, ...]:
    known = sorted(
        {value for (text,) in db.execute(_KNOWN[name]) for value in (liquids(text) if name == "agent" else [text])}
    )
    if len(known) <= MOST:
        return tuple(known)
    return tuple(
        dict.fromkeys(value for text in asked for value in difflib.get_close_matches(text, known, n=MOST, cutoff=0.5))
    )
