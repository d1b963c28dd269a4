"""A closed list of the trade's words: other names for them, words that ask back, and the nearest word to a slip."""

from __future__ import annotations

import difflib
import re
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache

from collection.language.errors import BadValue


@dataclass(frozen=True)
class WordList:
    """One closed list: its words in their usual order, aliases, and words that mean two things.

    `open_list` marks a list that will grow: SQL does not check it, and the intake only warns.
    """

    name: str
    words: tuple[str, ...]
    aliases: Mapping[str, str] = field(default_factory=dict)
    asks: Mapping[str, str] = field(default_factory=dict)
    open_list: bool = False
    offers: Mapping[str, str] = field(default_factory=dict)
    """What is written for a word in other languages or by a sign: offered, and never taken for it."""

    def read(self, text: str) -> str:
        """The stored word for what was written.

        :raises BadValue: for a word that is not in the list, or that means two things; the message
            gives the question or the allowed words, `nearest` the likely one.
        """
        word = _fold(text)
        if word in self._lookup:
            return self._lookup[word]
        if word in self.asks:
            raise BadValue(f"This word means two things in the trade. {self.asks[word]}")
        nearest = self.nearest(word)
        raise BadValue(f"Not a word for {self.name}. Allowed: {', '.join(self.words)}.", nearest)

    def nearest(self, text: str) -> str | None:
        """The word that was probably meant: the last one that stands whole in the text, else one that is spelled like it."""
        word = _fold(text)
        if word in self.offers:
            return self.offers[word]
        held = _held(word, self._lookup)
        if held is not None:
            return self._lookup[held]
        for close in difflib.get_close_matches(word, list(self._lookup), n=3, cutoff=_ALIKE):
            if _spelled_like(word, close):
                return self._lookup[close]
        return None

    @property
    def _lookup(self) -> dict[str, str]:
        return _lookup(self)

    def __hash__(self) -> int:
        return hash((self.name, self.words))


@cache
def _lookup(words: WordList) -> dict[str, str]:
    table = {_fold(word): word for word in words.words}
    table.update({_fold(alias): word for alias, word in words.aliases.items()})
    return table


_ALIKE, _SURELY_ALIKE, _SAME_START = 0.6, 0.75, 4
"""Shares of equal letters at which a word may be, and surely is, a misspelling; and how many equal first letters
are enough."""
_TURNS = frozenset({"not", "no", "non", "none", "never", "without", "un"})


def _spelled_like(word: str, other: str) -> bool:
    """Whether one is a misspelling of the other: `wiped` is none of `weld`, and `not original` none of `original`."""
    if _turned(word) != _turned(other):
        return False
    return (
        word[:_SAME_START] == other[:_SAME_START] or difflib.SequenceMatcher(None, word, other).ratio() >= _SURELY_ALIKE
    )


def _turned(word: str) -> bool:
    return not _TURNS.isdisjoint(re.findall(r"[^\W_]+", word))


def _held(word: str, among: Mapping[str, str]) -> str | None:
    """The longest key at the end of a text of several words, which is the noun that the others describe. None where the
    text says no or not, or names several things."""
    tokens = re.findall(r"[^\W_]+", word)
    if _turned(word) or re.search(r"[,;+&]|\b(?:and|or|over|on)\b", word):
        return None
    for start in range(len(tokens)):
        tail = " ".join(tokens[start:])
        if tail in among:
            return tail
    ends = [" ".join(tokens[start:end]) for end in range(len(tokens) - 1, 0, -1) for start in range(end)]
    return next((part for part in ends if part in among), None)


def _fold(text: str) -> str:
    return " ".join(unicodedata.normalize("NFKC", text).casefold().replace("_", " ").split())
