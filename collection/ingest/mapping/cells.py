"""Splits, joins and translates the cells of a list, and remembers which part of each cell was used.

A `Part` is what was taken of one cell, with its place in it; what no part covers has not been used, and is
kept with the record.
"""

from __future__ import annotations

import difflib
import unicodedata
from collections.abc import Container, Iterable, Mapping, Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Part:
    """What was taken of one cell: its heading and the characters from `start` up to `end`."""

    heading: str
    start: int
    end: int


@dataclass(frozen=True, slots=True)
class Taken:
    """A text taken from one cell or several, and the parts of the cells that it came from.

    `at` is where the text begins in its cell, where it comes from one.
    """

    text: str
    parts: tuple[Part, ...] = ()
    at: int = 0


NOTHING = Taken("")

_NONE = {
    "en": ("none", "nil", "no"),
    "de": ("keine", "kein", "keiner", "keines", "nein"),
    "fr": ("aucun", "aucune", "néant", "non"),
    "it": ("nessuno", "nessuna"),
    "es": ("ninguno", "ninguna"),
    "pt": ("nenhum", "nenhuma"),
    "nl": ("geen", "nee"),
    "sv": ("ingen", "inga", "inget", "nej"),
    "pl": ("brak", "nic"),
}
NONE = frozenset(word for words in _NONE.values() for word in words)
"""What people write in a cell, in some languages, where they looked and there is none. Common practice, no published
source."""
SILENT = frozenset({"n/a", "n.a.", "n.a", "na", "-", "--", "–", "—", "/", "k. a.", "k.a.", "s.o.", "not applicable"})
"""What they write where they have nothing to write."""


def folded(text: str) -> str:
    """A word as it is compared: without regard to case, width and the number of blanks."""
    return " ".join(unicodedata.normalize("NFKC", text).casefold().split())


def is_among(word: str, words: Container[str]) -> bool:
    """Whether a folded word is one of these, a full stop behind it or not: `None.` is none."""
    return word in words or (word.rstrip(". ") or word) in words


def whole(heading: str, cell: str) -> Taken:
    """All of a cell, trimmed."""
    return _cut(heading, cell, 0, len(cell))


def pieces(taken: Taken, separator: str) -> list[Taken]:
    """The pieces of a text from one cell between its separators, trimmed and in order, blank ones too.

    Each covers what lies between it and the pieces beside it as well, so that using every piece that is not blank uses
    all of the text.
    """
    heading, texts = taken.parts[0].heading, taken.text.split(separator)
    starts, at = [], taken.at
    for text in texts:
        starts.append(at)
        at += len(text) + len(separator)
    found, before = [NOTHING] * len(texts), taken.at
    filled = [number for number, text in enumerate(texts) if text.strip()]
    for number, following in zip(filled, [*filled[1:], None], strict=False):
        text, start = texts[number], starts[number]
        end = start + len(text)
        after = starts[following] if following is not None else taken.at + len(taken.text)
        found[number] = Taken(
            text.strip(),
            (Part(heading, start, end), Part(heading, before, start), Part(heading, end, after)),
            start + len(text) - len(text.lstrip()),
        )
        before = end
    return found


def piece(taken: Taken, separator: str, number: int) -> Taken:
    """One piece by its number, 1 for the first, -1 for the last; nothing where there are not so many."""
    if not taken.text:
        return NOTHING
    found = pieces(taken, separator)
    place = number - 1 if number > 0 else len(found) + number
    return found[place] if 0 <= place < len(found) and found[place].text else NOTHING


def characters(taken: Taken, first: int, last: int) -> Taken:
    """The characters from `first` to `last`, counted from 1, both included, trimmed."""
    if not taken.text:
        return NOTHING
    text = taken.text[first - 1 : last]
    start = taken.at + first - 1
    return _cut(taken.parts[0].heading, " " * start + text, start, start + len(text))


def join(several: Iterable[Taken], between: str | Sequence[str]) -> Taken:
    """The texts that are not blank with `between` between them: one text for all gaps, or one for each gap.

    A gap's own text goes with the cell behind it, as in `; stable: yes`; at the front it loses its separators.
    """
    text = ""
    parts: list[Part] = []
    for number, each in enumerate(several):
        if each.text:
            if isinstance(between, str):
                gap = between if text else ""
            else:
                gap = between[number - 1] if number else ""
            text += (gap if text else gap.lstrip(" ,;/|·–-")) + each.text
            parts += each.parts
    return Taken(text, tuple(parts))


def join_marked(several: Sequence[Taken], languages: Sequence[str], between: str | Sequence[str]) -> Taken:
    """The texts that are not blank, each with the mark of its language, `Tür [de] / door [en]`; a text that is the same
    in all of them stands once and without."""
    given = [each for each in several if each.text]
    if len(given) > 1 and len({folded(each.text) for each in given}) == 1:
        return Taken(given[0].text, tuple(part for each in given for part in each.parts))
    marked = [
        Taken(f"{each.text} [{language}]", each.parts) if each.text else each
        for each, language in zip(several, languages, strict=True)
    ]
    return join(marked, between)


def is_used_up(cell: str, parts: Iterable[Part]) -> bool:
    """Whether these parts leave nothing of a cell but blanks."""
    left = list(cell)
    for part in parts:
        left[part.start : part.end] = " " * (min(part.end, len(cell)) - part.start)
    return not "".join(left).strip()


def translate(text: str, terms: Mapping[str, str]) -> str | None:
    """What a term of the list stands for; `terms` has folded keys."""
    return terms.get(folded(text))


def nearest_term(text: str, terms: Iterable[str]) -> str | None:
    """The most similar known term."""
    by_fold = {folded(term): term for term in terms}
    close = difflib.get_close_matches(folded(text), list(by_fold), n=1, cutoff=0.5)
    return by_fold[close[0]] if close else None


def _cut(heading: str, cell: str, start: int, end: int) -> Taken:
    """The text between two places of a cell, trimmed."""
    text = cell[start:end]
    if not text.strip():
        return NOTHING
    return Taken(text.strip(), (Part(heading, start, end),), start + len(text) - len(text.lstrip()))
