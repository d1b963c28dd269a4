"""A stretch of time while a date is read, and how it is written as EDTF.

The forms are those of the Extended Date/Time Format (EDTF) Specification, Library of Congress, 4 February 2019
(loc.gov/standards/datetime).
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace

from collection.ingest.mapping.dates.words import BETWEEN
from collection.language.errors import BadValue
from collection.values import dates

MARKS = "?~%"
_NEW_YEAR = re.compile(r"([0-9]{4})-(?:01-01|12-31)(?![0-9])")


@dataclass(frozen=True, slots=True)
class Piece:
    """A stretch of time as its first and its last date in EDTF; both are the same where one date says it."""

    first: str
    last: str
    notes: tuple[str, ...] = ()
    written: str | None = None
    """How a mapping writes it, where it does."""

    @property
    def edtf(self) -> str:
        if self.written is not None:
            return self.written
        return self.first if self.first == self.last else f"[{self.first}..{self.last}]"

    def marked(self, mark: str) -> Piece:
        """The same, about or uncertain; an end that is marked already keeps its own mark."""
        if not mark:
            return self
        first, last = (end if not end or end[-1] in MARKS + "." else end + mark for end in (self.first, self.last))
        written = self.written
        if written is not None:
            written = f"[{first}..{last}]" if written.startswith("[") else f"{first}/{last}"
        return replace(self, first=first, last=last, written=written if first != last else None)

    def noted(self, *notes: str) -> Piece:
        return replace(self, notes=tuple(dict.fromkeys((*self.notes, *notes))))


def one(date: str, *notes: str) -> Piece | None:
    """A single date; None for one that the calendar does not have."""
    return None if valid(date) is None else Piece(date, date, notes)


def piece_of(edtf: str) -> Piece:
    """The ends of a date that is EDTF already; an open one is blank."""
    if edtf.startswith("["):
        first, last = edtf[1:-1].split("..")
    else:
        first, _, last = edtf.partition("/") if "/" in edtf else (edtf, "", edtf)
    return Piece(first.removesuffix(".."), last.removesuffix(".."), written=edtf if first != last else None)


def span(first: str, last: str, *, between: bool) -> str:
    """From the one to the other, or some time between them; a blank end is open."""
    if first == last:
        return first
    return f"[{first}..{last}]" if between else f"{first}/{last}"


def before(piece: Piece, ranges: str) -> str:
    return span("", piece.last, between=ranges == BETWEEN)


def after(piece: Piece, ranges: str) -> str:
    return span(piece.first, "", between=ranges == BETWEEN)


def valid(edtf: str | None) -> str | None:
    """The date, or None where it is none of EDTF."""
    if edtf is None:
        return None
    try:
        dates.bounds(edtf)
    except BadValue:
        return None
    return edtf


def whole_years(edtf: str) -> str:
    """1 January and 31 December as the year that they stand for."""
    years = _NEW_YEAR.sub(r"\1", edtf)
    for sign in ("/", ".."):
        first, found, last = years.strip("[]").partition(sign)
        if found and first == last:
            return first
    return years


def apart(some: str, other: str | None) -> bool:
    """Whether two dates exclude each other, margins of about and uncertain included."""
    return other is not None and (dates.surely_before(some, other) or dates.surely_before(other, some))


def covers(wider: str, date: str) -> bool:
    """Whether one date holds all of another, margins included."""
    outer, inner = dates.bounds(wider), dates.bounds(date)
    return outer.earliest <= inner.earliest and inner.latest <= outer.latest
