"""Why an object answers a question: the records that hold its words, and the places they speak of."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from collection.phrases import folded, side_by_side
from collection.sentences import standing
from firstcoat_site import narrowing
from firstcoat_site.queries import SHORTEST_PREFIX, asked_words
from firstcoat_site.told import NESTED, Told
from firstcoat_site.wording import SHEET_NAMES

Json = dict[str, Any]
Wanted = tuple[tuple[str, ...], bool]
"""The tokens of one word asked for, and whether longer words that begin so count."""

MOST_PLACES, LONGEST_VALUE = 6, 140
_SKIPPED = frozenset({"key", "survey", "file", "outline"})
_TOKEN = re.compile(r"[^\W_]+")


@dataclass(frozen=True)
class Match:
    """Why an object was found: the places, the record that says so, and its words in pieces, those asked for marked."""

    told: Told
    places: list[str]
    pieces: list[tuple[str, bool]]
    record: tuple[str, Json] | None

    @property
    def text(self) -> str:
        return "".join(text for text, _ in self.pieces)


def matched(told: Told, asked: str, wanted: Mapping[str, str]) -> Match:
    """The places that a question meets, and the best reason.

    A code that was asked for exactly is reason enough; else the record that holds most of the words is. Without words
    the reason is the first record that the search was narrowed to.

    :param wanted: what the search was narrowed by, as `narrowing.read` gives it.
    """
    words = asked_words(asked)
    found = _by_words(told, asked, words) if words else Match(told, [], [], None)
    narrowed = _by_narrowing(told, wanted)
    if narrowed is None:
        return found
    if not words:
        return narrowed
    both = [place for place in found.places if place in narrowed.places]
    return Match(told, both or found.places, found.pieces, found.record)


def _by_words(told: Told, asked: str, words: list[str]) -> Match:
    document = told.document
    wanted = [(_tokens(word), len(word) >= SHORTEST_PREFIX) for word in words]
    if asked.strip() == document["object"]:
        return Match(told, [], [("its number is ", False), (document["object"], True)], None)
    best: tuple[int, list[str], str, Json] | None = None
    places: list[tuple[int, str]] = []
    for sheet, row, place in _records(document):
        values: list[str] = []
        met: set[int] = set()
        if row.get("key") == asked.strip():
            return Match(told, [place] if place else [], [(f"{SHEET_NAMES[sheet]} ", False), (row["key"], True)],
                         (sheet, row))
        for name, value in row.items():
            if isinstance(value, str) and name not in _SKIPPED:
                hit = {number for number, word in enumerate(wanted) if _holds(value, *word)}
                if hit - met or (hit and not values):
                    values.append(value)
                met |= hit
        if not met:
            continue
        if place:
            places.append((len(met), place))
        if best is None or len(met) > best[0]:
            best = (len(met), values, sheet, row)
    if best is None:
        return Match(told, [], [(document["title"], False)], None)
    most = max((count for count, _ in places), default=0)
    found = list(dict.fromkeys(place for count, place in places if count == most))
    _, values, sheet, row = best
    text = "; ".join(value if len(value) <= LONGEST_VALUE else value[:LONGEST_VALUE].rstrip() + "…"
                     for value in values[:3])
    return Match(told, found[:MOST_PLACES], [(_named(document, sheet, row), False), *marked(text, wanted)],
                 None if sheet == "objects" else (sheet, row))


def _by_narrowing(told: Told, wanted: Mapping[str, str]) -> Match | None:
    """The records that a search was narrowed to; None where it was not."""
    asked = {name: text for name, text in wanted.items() if text}
    if not asked:
        return None
    found: list[tuple[str, str, Json, str | None]] = []
    states: Iterator[tuple[str, Json, str | None]] = (
        ("places", row, row["place"]) for row in told["survival"]["places"])
    for table, row, place in (*states, *_records(told.document)):
        found += [(name, table, row, place) for name, text in asked.items() if narrowing.is_met(name, text, table, row)]
    if not found:
        return Match(told, [], [(told.title, False)], None)
    name, table, row, _ = found[0]
    places = list(dict.fromkeys(place for *_, place in found if place and place != "all"))
    if table == "places":
        return Match(told, places[:MOST_PLACES], [(f"{row['place']}: ", False), (row["state"], True)], None)
    value = next(row[column] for column in narrowing.COLUMNS[name][1]
                 if narrowing.is_met(name, asked[name], table, {column: row.get(column)}))
    return Match(told, places[:MOST_PLACES], [(_named(told.document, table, row), False), (value, True)],
                 None if table == "objects" else (table, row))


def _named(document: Json, sheet: str, row: Json) -> str:
    """A record by its name, and whether what it speaks of stands."""
    # An object's own row needs no name: the result carries it already.
    if sheet == "objects":
        return ""
    stands = standing(sheet, row)
    return (f"{SHEET_NAMES[sheet]} {row['key'].removeprefix(document['object'] + '/')}"
            f"{f' ({stands})' if stands else ''}: ")


def marked(text: str, wanted: list[Wanted]) -> list[tuple[str, bool]]:
    """A text in pieces, those that begin with a word asked for marked."""
    starts = {(tokens[0], prefix) for tokens, prefix in wanted if tokens}
    pieces: list[tuple[str, bool]] = []
    end = 0
    for token in _TOKEN.finditer(text):
        word = folded(token[0])
        if any(word == start or (prefix and word.startswith(start)) for start, prefix in starts):
            pieces += [(text[end:token.start()], False), (token[0], True)]
            end = token.end()
    return [piece for piece in [*pieces, (text[end:], False)] if piece[0]]


def _records(document: Json) -> Iterator[tuple[str, Json, str | None]]:
    yield "objects", document["record"], None
    for sheet in SHEET_NAMES:
        for row in document.get(sheet, ()):
            place = row.get("zone") or row.get("component") if sheet in ("zones", "components") else row.get("place")
            yield sheet, row, place
            for nested in NESTED:
                for inner in row.get(nested, ()):
                    yield nested, inner, inner.get("place") or place


def _holds(value: str, tokens: tuple[str, ...], prefix: bool) -> bool:
    """Whether a text holds the tokens side by side, as the index finds a quoted phrase."""
    return bool(tokens) and tokens[0] in folded(value) and side_by_side(_tokens(value), tokens, prefix)


def _tokens(text: str) -> tuple[str, ...]:
    return tuple(folded(token) for token in _TOKEN.findall(text))
