"""Why an object answers a question: the records that hold its words, and the places they speak of."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

from collection.phrases import folded, side_by_side
from collection.sentences import standing
from firstcoat_site.queries import SHORTEST_PREFIX
from firstcoat_site.wording import SHEET_NAMES

Json = dict[str, Any]
Wanted = tuple[tuple[str, ...], bool]
"""The tokens of one word asked for, and whether longer words that begin so count."""

MOST_PLACES, LONGEST_VALUE = 6, 140
_NESTED = ("layers", "responses", "treatment_steps", "proposal_steps")
_SKIPPED = frozenset({"key", "survey", "file", "outline"})
_TOKEN = re.compile(r"[^\W_]+")


def why(document: Json, asked: str, words: list[str]) -> tuple[list[str], list[tuple[str, bool]]]:
    """The places that the question meets, and the best reason as pieces of text, the words asked for marked.

    A code that was asked for exactly is reason enough; else the record that holds most of the words is.
    """
    wanted = [(_tokens(word), len(word) >= SHORTEST_PREFIX) for word in words]
    if asked.strip() == document["object"]:
        return [], [("its number is ", False), (document["object"], True)]
    best: tuple[int, list[str], str, Json] | None = None
    places: list[tuple[int, str]] = []
    for sheet, row, place in _records(document):
        values: list[str] = []
        met: set[int] = set()
        if row.get("key") == asked.strip():
            return [place] if place else [], [(f"{SHEET_NAMES[sheet]} ", False), (row["key"], True)]
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
        return [], [(document["title"], False)]
    most = max((count for count, _ in places), default=0)
    found = list(dict.fromkeys(place for count, place in places if count == most))
    _, values, sheet, row = best
    # An object's own row needs no name: the result carries it already.
    stands = standing(sheet, row)
    name = "" if sheet == "objects" else (
        f"{SHEET_NAMES[sheet]} {row['key'].removeprefix(document['object'] + '/')}{f' ({stands})' if stands else ''}: ")
    text = "; ".join(value if len(value) <= LONGEST_VALUE else value[:LONGEST_VALUE].rstrip() + "…"
                     for value in values[:3])
    return found[:MOST_PLACES], [(name, False), *marked(text, wanted)]


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
            for nested in _NESTED:
                for inner in row.get(nested, ()):
                    yield nested, inner, inner.get("place") or place


def _holds(value: str, tokens: tuple[str, ...], prefix: bool) -> bool:
    """Whether a text holds the tokens side by side, as the index finds a quoted phrase."""
    return bool(tokens) and tokens[0] in folded(value) and side_by_side(_tokens(value), tokens, prefix)


def _tokens(text: str) -> tuple[str, ...]:
    return tuple(folded(token) for token in _TOKEN.findall(text))
