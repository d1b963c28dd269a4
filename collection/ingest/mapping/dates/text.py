"""Reads a date as a list writes it in one cell: `c. 1905`, `between 1890 and 1910`, `late 18th-early 19th century`.

What is read is what has one meaning, or the wider of two, which is then noted; everything else is not read, and stays
as it was written.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import lru_cache

from collection.ingest.mapping.dates.pieces import Piece, after, before, span, valid, whole_years
from collection.ingest.mapping.dates.single import single_dates
from collection.ingest.mapping.dates.words import (
    BETWEEN,
    MAY_BE_MONTH,
    NEW_YEAR,
    NO_SECOND_YEAR,
    THE_DAY,
    THE_YEAR,
    DateWords,
    Reading,
    plain,
)
from collection.values import dates

LONGEST, MOST_SIGNS = 120, 5
"""Characters of a date, and hyphens or other signs of a range in it."""
_EDTF_ONLY = re.compile(r"[/~%?\[\]X]")
_DOUBTED_PAIR = re.compile(r"[0-9]{4}-[0-9]{2}\?|[0-9]{4}/[0-9]{1,2}\??")
"""A year and two digits with the one sign of EDTF that anybody writes: 1910-12?, which may be two years."""
_OLD = re.compile(r"\bb\.? ?c\.?(?: ?e\.?)?(?![a-z])|^-[0-9]+$")
_TWO_DIGITS = re.compile(r"(?:the )?'?[0-9]{2}(?:'?s)?")
_TWO_WAYS = re.compile(r"[0-9]{1,2}[./-] ?[0-9]{1,2}[./-] ?[0-9]{4}")
_GIVE_PHRASE = "Where it has one meaning, give it below phrases with its EDTF."


@dataclass(frozen=True, slots=True)
class Said:
    """What a text says: a stretch of time, and how it is meant."""

    piece: Piece
    form: str
    """One of `on`, `before`, `after`, `since`, `range`, `from to`, `between`; the last four have two ends, or may."""


Seen = dict[str, Said | None]


class DateText:
    """Reads the texts of one list, by its words."""

    def __init__(self, words: DateWords) -> None:
        self.words, self.single = words, single_dates(words)
        self._marks = _ordered((("~", words.about), ("?", words.uncertain)))
        self._forms = _ordered((("before", words.before), ("after", words.after), ("since", words.since)))
        self._between = _ordered((("between", words.between),))
        # A range binds less than a choice: 1767 or 9-1818 begins in one of two years.
        signs = [*_ordered((("range", words.to),)), *_ordered((("between", words.either),)), ("between", "/")]
        self._signs = [
            (form, re.compile(rf"\s+{re.escape(sign)}\s+" if sign[:1].isalpha() else rf"\s*{re.escape(sign)}\s*"))
            for form, sign in signs
        ]
        self._silent = frozenset(map(plain, words.no_date))
        self._phrases = {plain(phrase): edtf for phrase, edtf in words.phrases}

    def read(self, text: str) -> Reading:
        if (given := self._phrases.get(plain(text))) is not None:
            return Reading(given)
        if plain(text) in self._silent:
            return Reading(None, says_nothing=True, why="The list says that nobody knows.")
        if self._is_edtf(text.strip()):
            return self._finished(text.strip(), (), always=False)
        said = self.said(text)
        edtf = None if said is None else valid(self.written(said))
        if said is None or edtf is None:
            return Reading(None, why=why_not(text))
        return self._finished(edtf, said.piece.notes, always=said.piece.first != said.piece.last)

    def _finished(self, edtf: str, notes: tuple[str, ...], *, always: bool) -> Reading:
        """With 1 January and 31 December as years: at the ends of a range always, else where the column says so."""
        if self.words.new_year == THE_YEAR or (always and self.words.new_year != THE_DAY):
            years = whole_years(edtf)
            if years != edtf:
                return Reading(years, (*notes, NEW_YEAR))
        return Reading(edtf, notes)

    def _is_edtf(self, text: str) -> bool:
        return (
            _EDTF_ONLY.search(text) is not None
            and not any(sign == "/" for sign in self.words.to if sign in text)
            and not (_DOUBTED_PAIR.fullmatch(text) and self.single.read(plain(text)[:-1]) is None)
            and valid(text) is not None
        )

    def said(self, text: str) -> Said | None:
        """What a text says; None where it is not understood."""
        bare = plain(text)
        if len(bare) > LONGEST or not bare:
            return None
        bracketed = re.fullmatch(r"\[([^\[\]]+)\]", bare)
        inner = bracketed or re.fullmatch(r"\(([^()]+)\)", bare)
        said = self._said(self.single.normal(inner[1] if inner else text), {})
        # Square brackets of a catalogue: supplied by whoever wrote it, and not on the thing.
        return Said(said.piece.marked("?"), said.form) if said is not None and bracketed else said

    def _said(self, text: str, seen: Seen) -> Said | None:
        """A part of a text; `seen` keeps what each part says, because a text can be cut in many ways."""
        if text not in seen:
            seen[text] = self._parsed(text, seen)
        return seen[text]

    def _parsed(self, text: str, seen: Seen) -> Said | None:
        if (piece := self.single.read(text)) is not None:
            return Said(piece, "on")
        if not self.single.may_be_in(text):
            return None
        for form, name in self._forms + self._between:
            for rest in (_behind(text, name), _ahead(text, name) if form != "between" else None):
                if rest and (inner := self._said(rest, seen)) is not None:
                    return _limited(inner, form)
        rest, mark = self.without_marks(text)
        for tried, with_mark in dict.fromkeys(((rest, mark), (text, ""))):
            if (piece := self.single.read(tried)) is not None:
                return Said(piece.marked(with_mark), "on")
            if (said := self._range(tried, with_mark, seen)) is not None:
                return said
        if (found := re.fullmatch(r"([0-9]{4}) ?-", rest)) is not None:
            return Said(Piece(found[1] + mark, found[1] + mark, (NO_SECOND_YEAR,)), "after")
        return None

    def _range(self, text: str, mark: str, seen: Seen) -> Said | None:
        for form, sign in self._signs:
            cuts = list(sign.finditer(text))
            if len(cuts) > MOST_SIGNS:
                return None
            pieces = (self._joined(text[: cut.start()], text[cut.end() :], form, seen) for cut in cuts)
            found = dict.fromkeys(piece for piece in pieces if piece is not None)
            if found:
                return Said(next(iter(found)).marked(mark), form) if len(found) == 1 else None
        return None

    def _joined(self, left: str, right: str, form: str, seen: Seen) -> Piece | None:
        """The two ends of a range in one; each may leave out what it shares with the other."""
        start, end = self._end(left, seen), self._end(right, seen, opens=True)
        if start is None and end is not None:
            rest, mark = self.without_marks(left)
            shared, _ = self.without_marks(right)
            start = self.single.completed(rest, shared)
            start = None if start is None else start.marked(mark)
        elif end is None and start is not None:
            rest, mark = self.without_marks(right)
            end = self._shortened(self.without_marks(left)[0], rest)
            end = None if end is None else end.marked(mark)
        if start is None or end is None:
            return None
        if form == "between" and end.last:
            # A choice has no order, and one of its dates may hold the other.
            first = min((start.first, end.first), key=lambda date: dates.bounds(date).earliest)
            last = max((start.last, end.last), key=lambda date: dates.bounds(date).latest)
            return Piece(first, last).noted(*start.notes, *end.notes)
        return Piece(start.first, end.last).noted(*start.notes, *end.notes)

    def _end(self, text: str, seen: Seen, *, opens: bool = False) -> Piece | None:
        """One end of a range, which may itself be a choice, or open: 1742-after 1828."""
        said = self._said(text, seen) if text else None
        if said is not None and opens and said.form == "after":
            return replace(said.piece, last="", written=None)
        return said.piece if said is not None and said.form in ("on", "between") else None

    def _shortened(self, left: str, right: str) -> Piece | None:
        """1826-7, 1893-94 and 1920s-30s, whose end leaves out what it shares with the start."""
        if (found := re.fullmatch(r"(?:.* )?([0-9]{2})[0-9]{2}s", left)) and re.fullmatch(r"[0-9]0s", right):
            return self.single.read(found[1] + right)
        before_it = re.search(r"([0-9]{4})$", left)
        if before_it is None or not re.fullmatch(r"[0-9]{1,2}", right):
            return None
        first = before_it[1]
        whole = f"{int(first[:2]) + 1:02d}00" if right == "00" else first[: 4 - len(right)] + right
        may_be_month = len(right) == 2 and 1 <= int(right) <= 12
        if int(whole) <= int(first) or (may_be_month and self.words.short_years is False):
            return None
        return Piece(whole, whole, (MAY_BE_MONTH,) if may_be_month and self.words.short_years is None else ())

    def without_marks(self, text: str) -> tuple[str, str]:
        """The text without the words for about and uncertain before or behind it, and the mark that they make."""
        marks: set[str] = set()
        rest, earlier = text, ""
        while rest != earlier:
            earlier = rest
            for mark, name in self._marks:
                shorter: str | None = "" if rest == name else _behind(rest, name)
                shorter = _ahead(rest, name) if shorter is None else shorter
                if shorter is not None:
                    rest = shorter
                    marks.add(mark)
        return rest, "%" if len(marks) > 1 else "".join(marks)

    def written(self, said: Said) -> str:
        piece, between = said.piece, self.words.ranges == BETWEEN
        if said.form == "before":
            return before(piece, self.words.ranges)
        if said.form == "after":
            return after(piece, self.words.ranges)
        if said.form == "since":
            return span(piece.first, "", between=False)
        if said.form == "on":
            return piece.edtf
        return span(piece.first, piece.last, between=said.form == "between" or (said.form == "range" and between))


def is_before_christ(text: str) -> bool:
    return _OLD.search(plain(text)) is not None


def why_not(text: str) -> str:
    """The sentence why a text is not read, and what to do."""
    bare = plain(text)
    if is_before_christ(text):
        return f"Years before Christ are not kept: dates run from {dates.FIRST_DAY[:4]} to {dates.LAST_DAY[:4]}."
    if _TWO_WAYS.search(bare):
        return (
            'This may be day and month, or month and day: say which below [dates], days = "day first" or "month first".'
        )
    if _TWO_DIGITS.fullmatch(bare):
        return "A year of two digits leaves the century open. " + _GIVE_PHRASE
    return _GIVE_PHRASE


@lru_cache(maxsize=32)
def date_text(words: DateWords) -> DateText:
    return DateText(words)


def read_date(text: str, words: DateWords) -> Reading:
    """The EDTF of one cell, or None where it is not understood. What is EDTF already stays as it is written."""
    return date_text(words).read(text)


def _limited(inner: Said, form: str) -> Said | None:
    """`before`, `from` or `between` put before what it limits: before a range is said of nothing, between wants two."""
    if form == "between":
        return Said(inner.piece, "between") if inner.form in ("range", "between") else None
    if form == "since" and inner.form == "range":
        return Said(inner.piece, "from to")
    return Said(inner.piece, form) if inner.form in ("on", "between") else None


def _ordered(several: Iterable[tuple[str, Iterable[str]]]) -> list[tuple[str, str]]:
    """Names with what they stand for, the longest first."""
    pairs = dict.fromkeys((what, plain(name)) for what, names in several for name in names)
    return sorted(pairs, key=lambda pair: -len(pair[1]))


def _behind(text: str, name: str) -> str | None:
    """What follows a word; one that ends in a letter needs a gap or a digit after it."""
    if text.startswith(name) and len(text) > len(name):
        rest = text[len(name) :]
        if not name[-1].isalpha() or not rest[0].isalpha():
            return rest.strip(" :")
    return None


def _ahead(text: str, name: str) -> str | None:
    """What comes before a word at the end of the text."""
    if text.endswith(name) and len(text) > len(name):
        rest = text[: -len(name)]
        if not name[0].isalpha() or not rest[-1].isalnum():
            return rest.strip().removesuffix("(").strip(" ,")
    return None
