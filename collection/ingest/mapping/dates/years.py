"""Reads a date from a word and two years in three cells: the commonest shape of a list's dates.

The years decide, the word says how to take them.
"""

from __future__ import annotations

import re

from collection.ingest.mapping.dates.pieces import Piece, after, apart, before, covers, span, valid, whole_years
from collection.ingest.mapping.dates.text import DateText, Said, date_text, is_before_christ, why_not
from collection.ingest.mapping.dates.words import (
    BETWEEN,
    LIMIT_OF_TWO,
    NEW_YEAR,
    ONE_YEAR,
    OPEN_AT_END,
    OPEN_BY_SHAPE,
    OPEN_END,
    THE_DAY,
    WORDS_PASSED_OVER,
    DateWords,
    Reading,
    plain,
)

_NO_YEAR = "This is no year, or may be two things."
_UNKNOWN_WORD = (
    "The word beside the year is not understood: name it below [dates], or give it below phrases with its EDTF."
)
_APART = "The words and the years beside them exclude each other."
_BACKWARDS = "The later year comes first."
_RANGES = ("range", "from to")


def read_years(word: str, earliest: str, latest: str, words: DateWords) -> Reading:
    """The EDTF of a word and of the earliest and the latest year beside it; blanks are ''.

    Two different years beside a single date, or beside words that are not understood, are the ends of what it may be:
    some time between; `before` or `after` alone leaves its side open. One year given twice beside words for a longer
    time leaves the longer one. One year beside a blank second one is that year (`DateWords.blank_end`), or one end of
    what the word says; every other blank end leaves it open, which is noted. None where a year is no year, where the
    later comes first, where the word names a date that the years exclude, or where one year stands beside a word that
    is not understood.
    """
    reader = date_text(words)
    ends = [_end(cell, reader) if cell.strip() else Piece("", "") for cell in (earliest, latest)]
    first, last = ends
    if first is None or last is None:
        return Reading(None, why=next((why_not(c) for c in (earliest, latest) if is_before_christ(c)), _NO_YEAR))
    if not first.first and not last.last:
        return reader.read(word) if word.strip() else Reading(None, says_nothing=True)
    if first.first and last.last and valid(span(first.first, last.last, between=True)) is None:
        return Reading(None, why=_BACKWARDS)
    mark, form = _word_alone(word, reader)
    said = reader.said(word) if mark is None else None
    worded = None if said is None else valid(reader.written(said))
    undated = plain(word) in map(plain, words.no_date)
    known = not word.strip() or mark is not None or worded is not None or undated
    if first.first and last.last and first != last:
        built, note = _two_years(first, last, mark, form, said, known, words)
    elif known:
        doubted = "?" if undated and word.strip() != "-" else mark
        built, note = _one_year(first, last, doubted, form, said, worded, words)
    else:
        return Reading(None, why=_UNKNOWN_WORD)
    if valid(built) is None or apart(built, worded):
        return Reading(None, why=_APART)
    return Reading(built, tuple(dict.fromkeys((*first.notes, *last.notes, *note))))


def _two_years(
    first: Piece, last: Piece, mark: str | None, form: str, said: Said | None, known: bool, words: DateWords
) -> tuple[str, list[str]]:
    """A date between two years that differ."""
    piece = Piece(first.first, last.last).marked(mark or "")
    if form == "before":
        return before(piece, words.ranges), [LIMIT_OF_TWO]
    if form == "after":
        return after(piece, words.ranges), [LIMIT_OF_TWO]
    if form == "since":
        return span(piece.first, piece.last, between=False), []
    is_range = known and form in ("on", "range") and (mark is not None or (said is not None and said.form in _RANGES))
    edtf = span(piece.first, piece.last, between=not is_range or words.ranges == BETWEEN)
    return edtf, [] if known else [WORDS_PASSED_OVER]


def _one_year(
    first: Piece, last: Piece, mark: str | None, form: str, said: Said | None, worded: str | None, words: DateWords
) -> tuple[str, list[str]]:
    """A date with one year, in one of its cells or the same in both."""
    only = first if first.first else last
    twice = first == last
    if said is not None and said.form in ("before", "after", "since"):
        form = said.form
    if worded is not None and covers(worded, only.edtf):
        # Words for a longer time beside one year: the year is what the list sorts by.
        return worded, []
    piece = only.marked(mark or "")
    if form == "before":
        return before(piece, words.ranges), []
    if form == "after":
        return after(piece, words.ranges), []
    if form == "since":
        return span(piece.first, "", between=False), []
    if not twice and (form in ("between", "range") or not first.first or words.blank_end == OPEN_END):
        by_shape = form == "on" and first.first and "blank_end" in words.by_column
        open_end = (after if first.first else before)(piece, words.ranges)
        return open_end, [OPEN_BY_SHAPE if by_shape else OPEN_AT_END]
    return piece.edtf, [] if twice else [ONE_YEAR]


def _end(cell: str, reader: DateText) -> Piece | None:
    """One year, or one day; 1 January and 31 December are the year that they most often stand for."""
    said = reader.said(cell)
    piece = said.piece if said is not None and said.form == "on" else None
    if piece is not None and reader.words.new_year != THE_DAY:
        first, last = whole_years(piece.first), whole_years(piece.last)
        if (first, last) != (piece.first, piece.last):
            return Piece(first, last, (*piece.notes, NEW_YEAR))
    return piece


def _word_alone(text: str, reader: DateText) -> tuple[str | None, str]:
    """The mark and the form of a cell that holds nothing but words beside a year; None where it holds more."""
    bare, words = plain(text), reader.words
    if not bare:
        return "", "on"
    rest, mark = reader.without_marks(bare)
    for form, names in (
        ("before", words.before),
        ("after", words.after),
        ("since", words.since),
        ("between", (*words.between, *words.either)),
        ("range", words.to),
    ):
        if rest.rstrip(":") in map(plain, names):
            return mark, form
    return (mark, "on") if not re.sub(r"[\s,:()]", "", rest) else (None, "on")
