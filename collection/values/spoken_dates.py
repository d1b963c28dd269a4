"""Dates in words, for people who have never heard of EDTF: `1908~` is "about 1908", `[1939..1991]` "between 1939 and 1991"."""

from __future__ import annotations

import calendar
import re

_DATE = re.compile(
    r"(?P<year>[0-9]{4}|[0-9]{3}X|[0-9]{2}XX)(?:-(?P<month>[0-9]{2}|XX))?(?:-(?P<day>[0-9]{2}|XX))?"
    r"(?:T[0-9:]+(?:Z|[+-][0-9:]+)?)?(?P<mark>[?~%])?"
)
_MARKS = {None: "{}", "~": "about {}", "?": "perhaps {}", "%": "perhaps about {}"}
_SEASONS = {"21": "spring", "22": "summer", "23": "autumn", "24": "winter"}


def in_words(text: str | None) -> str:
    """A date as people say it; empty for a blank one, and a text that is no date as it is.

    >>> in_words("2004-05~"), in_words("1910/1912"), in_words("1931/.."), in_words("192X"), in_words("19XX")
    ('about May 2004', '1910 to 1912', 'from 1931 on', 'the 1920s', 'between 1900 and 1999')
    """
    written = (text or "").strip()
    if written.startswith("[") and written.endswith("]") and written.count("..") == 1:
        start, end = map(_single, written[1:-1].split(".."))
        if None in (start, end):
            return written
        if start and end:
            return f"between {start} and {end}"
        return f"{start} or later" if start else f"{end} or earlier"
    if written.count("/") == 1:
        return _from_to(written)
    return written if (said := _single(written)) is None else said


def _from_to(written: str) -> str:
    ends = written.split("/")
    start, end = ("" if side == ".." else _single(side) for side in ends)
    if start is None or end is None or not (start or end):
        return written
    if not start:
        return f"until {end}"
    if not end:
        # An end left blank is not known; `..` says that there is none yet.
        return f"from {start} on" if ends[1] == ".." else f"from {start}, to when is not known"
    if start == end:
        return end
    first, last = start.split(), end.split()
    if len(first) == len(last) and not any(mark in written for mark in "?~%X"):
        while first[-1] == last.pop():
            first.pop()
    return f"{' '.join(first)} to {end}"


def _single(text: str) -> str | None:
    """One date; empty for a blank end, None for what is no date."""
    if not text:
        return ""
    found = _DATE.fullmatch(text)
    if found is None:
        return None
    year, month, day = found["year"], found["month"], found["day"]
    if year.endswith("XX"):
        said = f"between {year[:2]}00 and {year[:2]}99"
    elif year.endswith("X"):
        # "The 1900s" may mean the century as well.
        said = f"between {year[:3]}0 and {year[:3]}9" if year[2] == "0" else f"the {year[:3]}0s"
    elif month in (None, "XX"):
        said = year
    elif month in _SEASONS:
        said = f"{_SEASONS[month]} {year}"
    elif not 1 <= int(month) <= 12:
        return None
    else:
        said = f"{calendar.month_name[int(month)]} {year}"
        if day not in (None, "XX"):
            said = f"{int(day)} {said}"
    return _MARKS[found["mark"]].format(said)
