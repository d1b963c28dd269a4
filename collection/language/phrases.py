"""Words of a search, as the full-text index reads them, and whether a text holds them.

A word with signs in it (`OHM-1962-7`, `7.5R 3/8`) is several tokens of the index side by side: a phrase. Case
and diacritics do not count, as in SQLite's unicode61 tokenizer. `*` at the end also finds longer words.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

NOTATION = "munsell"
"""Prefix of the one word that stands for a Munsell notation."""
LONGEST_EXCERPT = 160
BETWEEN = "ǀ"
"""Stands between the cells of an indexed text as a token of its own, so that no phrase runs into the next cell."""

_TOKEN = re.compile(r"[^\W_]+")
_DIACRITICS = re.compile("[\u0300-\u036f]+")
_NUMBER = r"\d{1,2}(?:[.,]\d+)?"
_NOTATION = re.compile(
    rf"(?<![\w.,])(?:({_NUMBER})\s*(RP|YR|GY|BG|PB|[RYGBP])\s*({_NUMBER})\s*/\s*({_NUMBER})"
    rf"|(N)\s*({_NUMBER})\s*/)(?![\w/])",
    re.IGNORECASE,
)
"""A colour in Munsell notation (ASTM D1535): hue, value/chroma; N value/ for a neutral."""


@dataclass(frozen=True, slots=True)
class Phrase:
    """One word or phrase of a search: as written, its tokens, and whether longer words that begin like it count."""

    text: str
    tokens: tuple[str, ...]
    longer: bool = False

    def match(self) -> str:
        """The phrase in the index's syntax, quoted, so that nothing in it is an operator."""
        # The text itself, because the index folds a few letters differently from `folded`.
        text = _NOTATION.sub(_notation, self.text)
        text = "".join(" " if sign in f'"{BETWEEN}' or sign < " " else sign for sign in text)
        return f'"{text.rstrip("*")}"' + ("*" if self.longer else "")

    def match_tokens(self, before: str) -> str:
        """The same for a column of tokens that each have `before` in front."""
        return '"' + " ".join(before + token for token in self.tokens) + '"' + ("*" if self.longer else "")

    def in_text(self, value: str) -> bool:
        """Whether a text holds the tokens side by side."""
        return side_by_side(tokens(value), self.tokens, self.longer)

    @property
    def start(self) -> str:
        """A word that nearly every text with the phrase holds: its first word, or the hue of a Munsell notation."""
        found = _NOTATION.match(self.text)
        return self.tokens[0] if found is None else folded(f"{found[1] or found[5]}{found[2] or ''}")


def side_by_side(held: Sequence[str], wanted: Sequence[str], longer: bool = False) -> bool:
    """Whether tokens hold others side by side; with `longer` the last may be longer."""
    last = len(wanted) - 1
    if last < 0 or (wanted[0] not in held and (last or not longer)):
        return False
    if not longer:
        return any(held[at : at + last + 1] == wanted for at in range(len(held) - last))
    return any(
        held[at : at + last] == wanted[:last] and held[at + last].startswith(wanted[last])
        for at in range(len(held) - last)
    )


def phrase(text: str, *, longer: bool | None = None) -> Phrase:
    """A word, or several side by side; without letters or figures it has no tokens.

    :param longer: whether longer words count; None = where the text ends in `*`.
    """
    text = " ".join(unicodedata.normalize("NFC", text).split())
    bare = text.rstrip("*")
    parts = tuple(_TOKEN.findall(folded(_NOTATION.sub(_notation, bare.replace(BETWEEN, " ")))))
    return Phrase(text, parts, text != bare if longer is None else longer)


def one_word(text: str) -> str:
    """A search text with each Munsell notation as the one word by which the index knows it."""
    return _NOTATION.sub(_notation, text) if "/" in text else text


def indexed(text: str) -> str:
    """A cell as the index has it: a Munsell notation as its hue and one word for the whole.

    Its figures alone mean nothing and stand in every other object, and `5R 3/8` must not be found in `7.5R 3/8`.
    """
    return _indexed(text) if "/" in text else text


@lru_cache(maxsize=65536)
def _indexed(text: str) -> str:
    return _NOTATION.sub(lambda found: f"{found[1] or found[5]}{found[2] or ''} {_notation(found)}", text)


def _notation(found: re.Match[str]) -> str:
    figures = [f"{float(part.replace(',', '.')):g}".replace(".", "p") for part in found.group(1, 3, 4, 6) if part]
    return f"{NOTATION}{(found[2] or found[5]).lower()}{'x'.join(figures)}"


def folded(text: str) -> str:
    """The text without case and diacritics."""
    if text.isascii():
        return text.lower()
    return _DIACRITICS.sub("", unicodedata.normalize("NFD", text.lower()))


@lru_cache(maxsize=65536)
def tokens(text: str) -> tuple[str, ...]:
    """The words and numbers of a cell as they are compared."""
    return tuple(_TOKEN.findall(folded(indexed(text))))


def excerpt(text: str, word: str) -> str:
    """The part of a long text around a word, on one line."""
    text = " ".join(text.split())
    if len(text) <= LONGEST_EXCERPT:
        return text
    start = max(0, min(text.casefold().find(word) - LONGEST_EXCERPT // 3, len(text) - LONGEST_EXCERPT))
    cut = text[start : start + LONGEST_EXCERPT].strip()
    return f"{'…' * (start > 0)}{cut}{'…' * (start + LONGEST_EXCERPT < len(text))}"
