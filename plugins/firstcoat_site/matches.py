"""Why an object was found: the record that holds the words, and the places it is about."""

from __future__ import annotations

import json
import re
import sqlite3
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from collection.language.phrases import NOTATION, excerpt, folded, side_by_side
from collection.language.phrases import tokens as tokens_of
from collection.language.sentences import standing
from collection.output.tell.wording import SHEET_NAMES
from collection.store.base.listed_cells import LISTED
from firstcoat_site import filters

Json = dict[str, Any]
Wanted = tuple[tuple[str, ...], bool]
"""The tokens of one word of the search, and whether longer words that begin like it count."""

MOST_PLACES, LONGEST_VALUE = 6, 140
_SKIPPED = frozenset({"key", "survey", "file", "outline"})
EXACT = 99
"""What an exact key counts: more than any number of words."""
_TOKEN = re.compile(r"[^\W_]+")


@dataclass
class Match:
    """Why an object was found: the places, the record that says so, and its text in pieces, the hits marked."""

    number: int
    code: str
    title: str
    lead: str
    pieces: list[tuple[str, bool]] = field(default_factory=list)
    places: list[str] = field(default_factory=list)
    record: tuple[str, Json] | None = None

    @property
    def text(self) -> str:
        return "".join(text for text, _ in self.pieces)


def matched(
    connection: sqlite3.Connection,
    numbers: Sequence[int],
    asked: str,
    words: Sequence[Wanted],
    wanted: Mapping[str, str],
) -> list[Match]:
    """Some objects by row number, in that order, each with the places that fit the search and the best reason.

    A code that was asked for exactly is reason enough; else the record that holds most of the words is. Without words
    the reason is the first record that the search was narrowed to.

    :param words: what was asked, in tokens.
    :param wanted: what the search was narrowed by, as `filters.read` gives it.
    """
    found = {
        number: Match(number, code, title, lead, [(title, False)])
        for number, code, title, lead in connection.execute(
            "select o.id, o.object, o.title, s.sentence from objects as o join survival as s on "
            "s.object_id = o.id where o.id in (select value from json_each(?))",
            (_list(numbers),),
        )
    }
    narrowed = filters.records(connection, found, wanted)
    for number, rows in narrowed.items():
        _by_narrowing(found[number], rows)
    if words:
        _by_words(connection, found, asked.strip(), words)
        for number, rows in narrowed.items():
            held = [place for place in found[number].places if place in {row.place for row in rows}]
            found[number].places = held or found[number].places
    return [found[number] for number in numbers]


def asked_tokens(words: Sequence[str], shortest: int | None) -> list[Wanted]:
    """Words as tokens; a word of at least `shortest` letters also finds longer ones, none where it is None."""
    return [(tokens_of(word), shortest is not None and len(word) >= shortest) for word in words]


def marked(text: str, wanted: Sequence[Wanted]) -> list[tuple[str, bool]]:
    """A text in pieces; those that begin with a word of the search are marked."""
    starts = {(tokens[0], prefix) for tokens, prefix in wanted if tokens}
    pieces: list[tuple[str, bool]] = []
    end = 0
    for token in _TOKEN.finditer(text):
        word = folded(token[0])
        if any(word == start or (prefix and word.startswith(start)) for start, prefix in starts):
            pieces += [(text[end : token.start()], False), (token[0], True)]
            end = token.end()
    return [piece for piece in [*pieces, (text[end:], False)] if piece[0]]


def _by_words(connection: sqlite3.Connection, found: Mapping[int, Match], asked: str, words: Sequence[Wanted]) -> None:
    held = " + ".join("(instr(tokens || ' ', ?) > 0)" for _ in words)
    best: dict[int, tuple[int, str, str, str | None, str | None]] = {}
    places: dict[int, dict[str, None]] = {}
    sought = [f" {' '.join(tokens)}{'' if prefix else ' '}" for tokens, prefix in words]
    for number, sheet, key, place, sample, met in connection.execute(
        f"select object_id, sheet, key, place, sample, {held} + {EXACT} * (key = ?) as met from search_rows where "
        "object_id in (select value from json_each(?)) and met > 0 order by object_id, met desc, id",
        (*sought, asked, _list(list(found))),
    ):
        first = best.setdefault(number, (met, sheet, key, place, sample))
        if place and met == first[0]:
            places.setdefault(number, {})[place] = None
    for number, match in found.items():
        match.pieces, match.places, match.record = [(match.title or match.code, False)], [], None
        if asked == match.code:
            match.pieces = [("its number is ", False), (match.code, True)]
        elif number in best:
            met, sheet, key, place, sample = best[number]
            match.places = list(places.get(number, {}))[:MOST_PLACES]
            match.record = None if sheet == "objects" else (sheet, _linked(match, sheet, key, place, sample))
            match.pieces = (
                [(f"{SHEET_NAMES[sheet]} ", False), (key, True)]
                if met >= EXACT
                else _said(connection, match, sheet, key, words)
            )


def _said(
    connection: sqlite3.Connection, match: Match, sheet: str, key: str, words: Sequence[Wanted]
) -> list[tuple[str, bool]]:
    """The cells of one record that hold the words, each word once, after the record's name."""
    cursor = connection.execute(f"select * from {sheet} where key = ?", (key,))
    row = dict(zip((column[0] for column in cursor.description), cursor.fetchone(), strict=True))
    if sheet == LISTED:
        held = next((tokens[0] for tokens, prefix in words if _holds(row["text"], tokens, prefix)), "")
        return [(_named(match.code, sheet, row), False), *marked(excerpt(row["text"], held), words)]
    values: list[str] = []
    met: set[int] = set()
    for name, value in row.items():
        if isinstance(value, str) and name not in _SKIPPED and (name != "object" or sheet == "objects"):
            hit = {number for number, word in enumerate(words) if _holds(value, *word)}
            if hit - met or (hit and not values):
                values.append(value)
            met |= hit
    text = "; ".join(
        value if len(value) <= LONGEST_VALUE else value[:LONGEST_VALUE].rstrip() + "…" for value in values[:3]
    )
    return [(_named(match.code, sheet, row), False), *marked(text, words)]


def _by_narrowing(match: Match, rows: Sequence[filters.Met]) -> None:
    """The places where all that a search was narrowed to holds, else where any of it does, and one record of each kind,
    in such a place where there is one."""
    by_table: dict[str, list[filters.Met]] = {}
    for row in rows:
        by_table.setdefault(row.table, []).append(row)
    located = [
        {row.place for row in own if row.place and row.place != "all"}
        for own in by_table.values()
        if any(row.place for row in own)
    ]
    shared = set.intersection(*located) if located else set()
    match.places = list(
        dict.fromkeys(
            row.place for row in rows if row.place and row.place != "all" and (not shared or row.place in shared)
        )
    )[:MOST_PLACES]
    match.pieces = []
    for table, own in by_table.items():
        first = next((row for row in own if row.place in shared), own[0])
        name = f"{first.place}: " if table == "places" else _named(match.code, table, first.row)
        said = "nobody has examined any place of it" if table == "glances" else first.value
        match.pieces += [("; " if match.pieces else "", False), (name, False), (said, True)]
        if match.record is None and table in SHEET_NAMES and table not in ("places", "objects"):
            match.record = (table, _linked(match, table, first.row["key"], first.place, first.row.get("sample")))
    match.pieces = [piece for piece in match.pieces if piece[0]]


def _named(code: str, sheet: str, row: Json) -> str:
    """A record's name, and whether what it says still holds."""
    # An object's own row needs no name: the result carries it already.
    if sheet in ("objects", "glances"):
        return ""
    if sheet == "threats":
        return "at risk: "
    if sheet == LISTED:
        return f"cell of a list that no column took whole, {row['heading']}: "
    stands = standing(sheet, row)
    return f"{SHEET_NAMES[sheet]} {row['key'].removeprefix(f'{code}/')}{f' ({stands})' if stands else ''}: "


def _linked(match: Match, sheet: str, key: str, place: str | None, sample: str | None) -> Json:
    """As much of a record as its address needs."""
    code = key.removeprefix(f"{match.code}/").partition("/")[0]
    return {"key": key, "place": place, "sample": sample or code, "component": code, "zone": code, "proposal": code}


def _holds(value: str, tokens: tuple[str, ...], prefix: bool) -> bool:
    """Whether a text holds the tokens side by side, as the index finds a quoted phrase."""
    # A first look saves most texts from being taken apart; only the one word of a notation stands in none.
    if tokens and not tokens[0].startswith(NOTATION) and tokens[0] not in folded(value):
        return False
    return side_by_side(tokens_of(value), tokens, prefix)


def _list(numbers: Sequence[int]) -> str:
    return json.dumps(list(numbers))
