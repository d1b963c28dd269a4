"""Dates of a list as EDTF, from what a cell says or from a qualifier and two years.

A mapping names the words: which stand for about, for uncertain, for before. What is read is what has one meaning
only; everything else is not understood, and stays as it was written. The forms are those of the Extended Date/Time
Format (EDTF) Specification, Library of Congress, 4 February 2019 (loc.gov/standards/datetime).
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass

from collection.language.errors import BadValue
from collection.values import dates

FROM_TO, BETWEEN = "from to", "some time between"
RANGES = (FROM_TO, BETWEEN)
DAY_FIRST, MONTH_FIRST = "day first", "month first"
DAYS = (DAY_FIRST, MONTH_FIRST)

_EDTF_ONLY = re.compile(r"[/~%?\[\]X]")
_DOUBTED_PAIR = re.compile(r"[0-9]{4}-[0-9]{2}\?")
"""A year and two digits with the one sign of EDTF that anybody writes: 1910-12?, which may be two years."""


@dataclass(frozen=True, slots=True)
class DateWords:
    """The words of a list's dates. Words given by a mapping stand in place of these, which are the English ones.

    `ranges` says what 1890-1910 means: from the one to the other, or some time between them. `short_years` says
    whether 1910-12 is a range of years (True) or a month (False); where nobody says, it is not understood.
    `days` says which comes first in 3.5.1910; where nobody says, such a date is not understood either.
    """

    ranges: str = BETWEEN
    about: tuple[str, ...] = ("circa", "ca.", "ca", "c.", "c", "about", "around", "approximately")
    uncertain: tuple[str, ...] = ("?", "probably", "possibly", "perhaps")
    before: tuple[str, ...] = ("before", "not after", "not later than")
    after: tuple[str, ...] = ("after", "not before", "not earlier than")
    since: tuple[str, ...] = ("from", "since")
    between: tuple[str, ...] = ("between",)
    to: tuple[str, ...] = ("-", "–", "—", "to", "until", "and")
    decade: tuple[str, ...] = ("s", "'s")
    century: tuple[str, ...] = ("st century", "nd century", "rd century", "th century")
    short_years: bool | None = None
    days: str | None = None


@dataclass(frozen=True, slots=True)
class _Said:
    """A text without its qualifiers: one end or two, and what was said about them."""

    ends: tuple[str, ...]
    mark: str
    form: str
    """One of `on`, `before`, `after`, `since`, `range`, `between`."""


def read_date(text: str, words: DateWords) -> str | None:
    """The EDTF of one cell, or None where it is not understood. What is EDTF already stays as it is written."""
    plain = text.strip()
    if (
        _EDTF_ONLY.search(plain)
        and not any(sign in plain for sign in words.to if sign == "/")
        and not (_DOUBTED_PAIR.fullmatch(plain) and _single(plain[:-1], words) is None)
        and _valid(plain)
    ):
        return plain
    said = _said(text, words)
    return None if said is None else _written(said, words)


def read_years(qualifier: str, earliest: str, latest: str, words: DateWords) -> str | None:
    """The EDTF of a qualifier and of the earliest and the latest year beside it; blanks are ''.

    The years decide, the qualifier says how to take them. Two different years beside a single date, or beside
    words that are not understood, are the ends of what it may be: some time between. One year given twice beside
    words for a longer time leaves the longer one. One year alone leaves the other end open. None where a year is no
    year, where the later comes first, or where the qualifier names a date that the years exclude.
    """
    years = [_single(_plain(year), words) if year.strip() else "" for year in (earliest, latest)]
    if None in years:
        return None
    first, last = (year or "" for year in years)
    if not first and not last:
        return read_date(qualifier, words) if qualifier.strip() else None
    marks, form = _qualifier_alone(qualifier, words)
    said = None if marks is not None else _said(qualifier, words)
    built = _from_years(first, last, marks, form, said, words, understood=not qualifier.strip() or marks is not None)
    if built is None or (said is not None and _apart(built, _written(said, words))):
        return None
    return _valid(built)


def _from_years(
    first: str, last: str, marks: str | None, form: str, said: _Said | None, words: DateWords, *, understood: bool
) -> str | None:
    if not first or not last:
        only = first or last
        if form == "on" and said is not None and said.form in ("before", "after"):
            form = said.form
        if form == "on":
            form = "after" if first else "before"
        return _written(_Said((only,), marks or "", form), words)
    if first == last:
        # One year beside words for a longer time is what the list sorts by.
        worded = None if said is None else _written(said, words)
        if worded is not None and _covers(worded, first):
            return worded
        if form in ("before", "after"):
            return _written(_Said((first,), marks or "", form), words)
        if said is not None:
            mark = said.mark
        else:
            mark = (marks or "") if understood else "?"
        return _written(_Said((first,), mark, "on"), words)
    is_range = said is not None and said.form == "range"
    plain = understood and form == "on"
    return _written(_Said((first, last), marks or "", "range" if is_range or plain else "between"), words)


def _qualifier_alone(text: str, words: DateWords) -> tuple[str | None, str]:
    """The mark and the form of a cell that holds nothing but a qualifier; None where it holds more."""
    plain = _plain(text)
    if not plain:
        return "", "on"
    rest, mark = _without_marks(plain, words)
    for form, names in (("before", words.before), ("after", words.after)):
        if rest in map(_plain, names):
            return mark, form
    return (mark, "on") if not rest else (None, "on")


def _said(text: str, words: DateWords) -> _Said | None:
    plain = _plain(text)
    for form, names in (
        ("before", words.before),
        ("after", words.after),
        ("since", words.since),
        ("between", words.between),
    ):
        rest = _behind(plain, names)
        if rest is None:
            continue
        inner = _said(rest, words)
        if (
            inner is None
            or inner.form not in ("on", "range")
            or (len(inner.ends) > 1) != (form == "between" or (form == "since" and inner.form == "range"))
        ):
            return None
        return _Said(inner.ends, inner.mark, "span" if form == "since" and len(inner.ends) > 1 else form)
    rest, mark = _without_marks(plain, words)
    if (single := _single(rest, words)) is not None:
        return _Said((single,), mark, "on")
    return _range(rest, mark, words)


def _range(plain: str, mark: str, words: DateWords) -> _Said | None:
    found: list[_Said] = []
    for sign in sorted(map(_plain, words.to), key=len, reverse=True):
        spaced = rf"\s+{re.escape(sign)}\s+" if sign[:1].isalpha() else rf"\s*{re.escape(sign)}\s*"
        for cut in re.finditer(spaced, plain):
            start, end = plain[: cut.start()], plain[cut.end() :]
            left, left_mark = _without_marks(start, words)
            right, right_mark = _without_marks(end, words)
            first = _single(left, words)
            if first is None:
                continue
            last = _single(right, words) or _short_year(left, right, words)
            if last is not None:
                ends = (first + (left_mark or mark), last + (right_mark or mark))
                found.append(_Said(ends, "", "range"))
        if found:
            break
    return found[0] if len(found) == 1 else None


def _short_year(first: str, last: str, words: DateWords) -> str | None:
    """1826-7 and 1893-94, whose end leaves out what it shares with the start."""
    if not re.fullmatch(r"[0-9]{4}", first) or not re.fullmatch(r"[0-9]{1,2}", last):
        return None
    whole = first[: 4 - len(last)] + last
    may_be_month = len(last) == 2 and 1 <= int(last) <= 12
    if int(whole) <= int(first) or (may_be_month and words.short_years is not True):
        return None
    return whole


def _single(plain: str, words: DateWords) -> str | None:
    """One date: a year, a month or day, a decade, a century; None for what is none, or may be two things."""
    if re.fullmatch(r"[0-9]{4}", plain):
        return plain
    if (found := re.fullmatch(r"([0-9]{2})([0-9]{2})-([0-9]{2})", plain)) is not None:
        may_be_years = int(found[3]) > int(found[2])
        # Behind 12 EDTF has its seasons, which is not what a list means.
        is_month = words.short_years is False and int(found[3]) <= 12
        return _valid(plain) if is_month or not may_be_years else None
    if re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}|[0-9]{3}x|[0-9]{2}xx", plain):
        return _valid(plain.upper())
    if (found := re.fullmatch(r"([0-9]{1,2})[./-] ?([0-9]{1,2})[./-] ?([0-9]{4})", plain)) is not None and words.days:
        day, month = (found[1], found[2]) if words.days == DAY_FIRST else (found[2], found[1])
        return _valid(f"{found[3]}-{int(month):02d}-{int(day):02d}")
    for name in words.decade:
        # 1800s may be ten years or a hundred.
        if (found := re.fullmatch(rf"([0-9]{{2}}[1-9])0\s*{re.escape(_plain(name))}", plain)) is not None:
            return f"{found[1]}X"
    for name in words.century:
        if (found := re.fullmatch(rf"(?:the )?([0-9]{{1,2}})\s*{re.escape(_plain(name))}", plain)) is not None:
            return _valid(f"{int(found[1]) - 1:02d}XX") if int(found[1]) else None
    return None


def _without_marks(plain: str, words: DateWords) -> tuple[str, str]:
    """The text without the words for about and uncertain before or behind it, and the mark that they make."""
    marks: set[str] = set()
    rest, before = plain, None
    while rest != before:
        before = rest
        for mark, names in (("~", words.about), ("?", words.uncertain)):
            for name in sorted(map(_plain, names), key=len, reverse=True):
                cut = rest if rest == name else None
                behind = _behind(rest, (name,))
                ahead = _ahead(rest, name)
                if cut is not None:
                    rest = ""
                elif behind is not None:
                    rest = behind
                elif ahead is not None:
                    rest = ahead
                else:
                    continue
                marks.add(mark)
    return rest, "%" if len(marks) > 1 else "".join(marks)


def _behind(plain: str, names: Iterable[str]) -> str | None:
    """What follows one of these words; a word ending in a letter needs a gap or a digit after it."""
    for name in sorted(map(_plain, names), key=len, reverse=True):
        if plain.startswith(name) and len(plain) > len(name):
            rest = plain[len(name) :]
            if not name[-1].isalpha() or not rest[0].isalpha():
                return rest.strip()
    return None


def _ahead(plain: str, name: str) -> str | None:
    """What comes before one of these words at the end of the text."""
    if plain.endswith(name) and len(plain) > len(name):
        rest = plain[: -len(name)]
        if not name[0].isalpha() or not rest[-1].isalnum():
            return rest.strip().removesuffix("(").strip()
    return None


def _written(said: _Said, words: DateWords) -> str | None:
    between = words.ranges == BETWEEN
    if len(said.ends) == 1:
        only = said.ends[0] + said.mark
        if said.form == "before":
            return _valid(f"[..{only}]" if between else f"/{only}")
        if said.form == "after":
            return _valid(f"[{only}..]" if between else f"{only}/")
        return _valid(f"{only}/" if said.form == "since" else only)
    first, last = (end + said.mark for end in said.ends)
    is_between = said.form == "between" or (said.form == "range" and between)
    return _valid(f"[{first}..{last}]" if is_between else f"{first}/{last}")


def _valid(edtf: str | None) -> str | None:
    if edtf is None:
        return None
    try:
        dates.bounds(edtf)
    except BadValue:
        return None
    return edtf


def _apart(one: str, other: str | None) -> bool:
    """Whether two dates exclude each other, margins of about and uncertain included."""
    return other is not None and (dates.surely_before(one, other) or dates.surely_before(other, one))


def _covers(wider: str, date: str) -> bool:
    """Whether one date holds all of another, margins included."""
    outer, inner = dates.bounds(wider), dates.bounds(date)
    return outer.earliest <= inner.earliest and inner.latest <= outer.latest


def _plain(text: str) -> str:
    return " ".join(unicodedata.normalize("NFKC", text).casefold().split())
