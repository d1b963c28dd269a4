"""Dates as EDTF: turns what a person wrote into the earliest and the latest day that it can mean.

Read: levels 0 and 1 of EDTF, and of level 2 the one-of-a-range form `[1939..1991]`, either end of which
may be open. Source: Extended Date/Time Format (EDTF) Specification, Library of Congress, 4 February 2019
(loc.gov/standards/datetime), which is the profile of ISO 8601-2:2019 in use.

The standard says neither how wide "about" is nor when a season falls. The margins below and the season
bounds are common practice, no published source; they are wide on purpose, because two dates that may
overlap are read in the way that clears less.
"""

from __future__ import annotations

import calendar
import re
import unicodedata
from datetime import date, timedelta
from functools import lru_cache
from typing import NamedTuple

from collection.language.errors import BadValue

FIRST_DAY, LAST_DAY = "0000-01-01", "9999-12-31"
"""How an open or unknown end is stored, so that dates sort as text."""

MARGIN_DAYS, MARGIN_MONTHS, MARGIN_YEARS = 15, 3, 5
"""What `?`, `~` and `%` add at both ends of a day, a month or season, a year; a masked decade or century
gets one more decade or century. Common practice, no published source."""

LONGEST_DATE = 60

HOW = (
    "Dates are EDTF, year first: 1910, 1910-05, 1910-05-12; 1908~ for about, 1908? for uncertain, 190X for a "
    "decade, 1924/1931 for from-to, [1939..1991] for some time between."
)

Day = tuple[int, int, int]


class Span(NamedTuple):
    """The earliest and the latest day that a date can mean, as YYYY-MM-DD text which sorts."""

    earliest: str
    latest: str


UNKNOWN = Span(FIRST_DAY, LAST_DAY)


@lru_cache(maxsize=65_536)
def bounds(text: str | None) -> Span:
    """The earliest and latest day that a date can mean; a blank date may be any day.

    :raises BadValue: for text that is not EDTF of these levels, a day that the calendar does not have, an end before
        its start, or a year outside 0000–9999. The message says what to write instead and `nearest` is the EDTF form
        where only one meaning is likely.
    """
    written = (text or "").strip()
    if not written:
        return UNKNOWN
    if len(written) > LONGEST_DATE:
        raise BadValue(f"This is too long for a date. {HOW}")
    try:
        return _read(written)
    except BadValue as fault:
        from_advice = _advice(written)
        if from_advice is None:
            raise fault
        raise from_advice from None


def from_to(start: str | None, end: str | None) -> str | None:
    """One date of a beginning and an end, either of which may be blank, or lie before the other by a slip.

    >>> from_to("1910", "1912-05"), from_to(None, "1912"), from_to("1912", "1910")
    ('1910-01-01/1912-05-31', '1912', '1910-01-01/1912-12-31')

    :raises BadValue: as `bounds`.
    """
    if start is None or end is None or start == end:
        return start or end
    one, other = bounds(start), bounds(end)
    return f"{min(one.earliest, other.earliest)}/{max(one.latest, other.latest)}"


def surely_before(a: str | None, b: str | None) -> bool:
    """Whether `a` ended before `b` can have begun; False where either is blank or open on that side.

    :raises BadValue: as `bounds`.
    """
    return bounds(a).latest < bounds(b).earliest


class _Extent(NamedTuple):
    """First and last day as written, and widened by the qualifier."""

    first: Day
    last: Day
    widest: Span


_DATE = re.compile(
    r"(?P<year>[0-9]{4}|[0-9]{3}X|[0-9]{2}XX)"
    r"(?:-(?P<month>[0-9]{2}|XX)(?:-(?P<day>[0-9]{2}|XX))?)?(?P<mark>[?~%])?"
)
_CLOCK = re.compile(
    r"(?P<date>[0-9]{4}-[0-9]{2}-[0-9]{2})T(?:[01][0-9]|2[0-3]):[0-5][0-9]:(?:[0-5][0-9]|60)"
    r"(?:Z|[+-][0-9]{2}(?::[0-9]{2})?)?"
)


def _read(text: str) -> Span:
    if (clock := _CLOCK.fullmatch(text)) is not None:
        return _extent(clock["date"]).widest
    if text.startswith("[") and text.endswith("]"):
        if "," in text or text.count("..") != 1:
            raise BadValue("In square brackets only ranges are read: [1939..1991], [..1939], [1939..].")
        return _between(*text[1:-1].split(".."), open_end="", text=text)
    if text.count("/") == 1:
        return _between(*text.split("/"), open_end="..", text=text)
    return _extent(text).widest


def _between(start: str, end: str, *, open_end: str, text: str) -> Span:
    blank = ("", open_end)
    if start in blank and end in blank:
        raise BadValue(f"{text} says nothing about the date: leave the cell blank.")
    from_ = None if start in blank else _extent(start)
    to = None if end in blank else _extent(end)
    if from_ and to and to.last < from_.first:
        raise BadValue(f"The end, {end}, lies before the start, {start}: write the earlier date first.")
    return Span(from_.widest.earliest if from_ else FIRST_DAY, to.widest.latest if to else LAST_DAY)


def _extent(text: str) -> _Extent:
    match = _DATE.fullmatch(text)
    if match is None:
        raise BadValue(HOW)
    year, month, day = match["year"], match["month"], match["day"]
    margin = 1 if match["mark"] else 0
    if "X" in year:
        if month:
            raise BadValue(f"{year} leaves the year open, so no month can follow: write {year}.")
        size = 10 ** year.count("X")
        start = int(year.replace("X", "0"))
        return _widened((start, 1, 1), (start + size - 1, 12, 31), years=size * margin)
    number = int(year)
    if month is None or (month == "XX" and day in (None, "XX")):
        return _widened((number, 1, 1), (number, 12, 31), years=MARGIN_YEARS * margin)
    if month == "XX":
        raise BadValue(f"A day without its month cannot be placed: write {year}.")
    part = int(month)
    if 21 <= part <= 24 and day is None:
        return _season(number, part, MARGIN_MONTHS * margin)
    if not 1 <= part <= 12:
        raise BadValue(f"There is no month {month}: months are 01 to 12, seasons 21 (spring) to 24.")
    length = _length(number, part)
    if day in (None, "XX"):
        return _widened((number, part, 1), (number, part, length), months=MARGIN_MONTHS * margin)
    if not 1 <= int(day) <= length:
        raise BadValue(f"There is no day {day} in {year}-{month}, which has {length} days.")
    only = (number, part, int(day))
    return _widened(only, only, days=MARGIN_DAYS * margin)


def _season(year: int, season: int, months: int) -> _Extent:
    """Level 1 seasons belong to no hemisphere, so each is taken wide enough for both: spring and autumn as the whole
    year, summer and winter as December of the year before to March of the year after."""
    if season in (21, 23):
        return _widened((year, 1, 1), (year, 12, 31), months=months)
    return _widened((year - 1, 12, 1), (year + 1, 3, 31), months=months)


def _widened(first: Day, last: Day, *, years: int = 0, months: int = 0, days: int = 0) -> _Extent:
    low = _iso(_shifted(first, -years, -months, -days))
    high = _iso(_shifted(last, years, months, days))
    return _Extent(first, last, Span(low, high))


def _shifted(day: Day, years: int, months: int, days: int) -> Day:
    """The day moved; by months it goes to the first or the last day of the month it reaches."""
    year, month, number = day[0] + years, day[1], day[2]
    if months:
        year, month = year + (month - 1 + months) // 12, (month - 1 + months) % 12 + 1
        number = 1 if months < 0 else _length(year, month)
    number += days
    if number < 1:
        year, month = (year, month - 1) if month > 1 else (year - 1, 12)
        number += _length(year, month)
    elif number > _length(year, month):
        number -= _length(year, month)
        year, month = (year, month + 1) if month < 12 else (year + 1, 1)
    return year, month, number


def _length(year: int, month: int) -> int:
    # The calendar repeats every 400 years; the standard library knows no year 0.
    return calendar.monthrange(year % 400 + 400, month)[1]


def _iso(day: Day) -> str:
    if day[0] < 0:
        return FIRST_DAY
    if day[0] > 9999:
        return LAST_DAY
    return f"{day[0]:04d}-{day[1]:02d}-{day[2]:02d}"


def _advice(text: str) -> BadValue | None:
    """Advice on common wrong forms, with the EDTF that they most likely mean; None where the first fault already says
    it best."""
    plain = " ".join(unicodedata.normalize("NFKC", text).translate(_DASHES).casefold().split())
    for pattern, sentence in _SPECIAL:
        if pattern.fullmatch(plain):
            return BadValue(f"{sentence} {HOW}")
    if _SERIAL.fullmatch(plain):
        day = timedelta(days=int(float(plain)))
        by_1900, by_1904 = date(1899, 12, 30) + day, date(1904, 1, 1) + day
        return BadValue(
            f"This is a spreadsheet's day number: {by_1900} where days count from 1900, {by_1904} where they "
            f"count from 1904. Format the column as text and write the date. {HOW}"
        )
    likely = _likely(plain)
    forms = list(dict.fromkeys(form for form in likely if _is_date(form)))
    if not forms:
        return _fault_of(likely[0]) if likely else None
    if len(forms) == 1:
        return BadValue(f"This date is written {forms[0]} in EDTF.", forms[0])
    return BadValue(f"This could be {' or '.join(forms)}: write the one that is meant.")


def _fault_of(form: str) -> BadValue | None:
    try:
        _read(form)
    except BadValue as fault:
        return fault
    return None


def _is_date(form: str) -> bool:
    return _fault_of(form) is None


_DASHES = str.maketrans("‐‑‒–—−", "------")
_MONTHS = {name.casefold(): number for number, name in enumerate(calendar.month_name) if name}
_SEASONS = {"spring": 21, "summer": 22, "autumn": 23, "fall": 23, "winter": 24}
_NAME = r"(?P<name>[a-z]{3,9})\.?"
_NUMBERED = r"(?P<day>[0-9]{1,2})(?:st|nd|rd|th)?"
_PART_OF = r"(?:(?:early|mid|late)[ -]?)?(?:the )?"
_SERIAL = re.compile(r"[1-9][0-9]{4}(?:\.[0-9]{1,12})?")
_SPECIAL = tuple(
    (re.compile(pattern), sentence)
    for pattern, sentence in (
        (
            r"unknown|undated|n\.? ?d\.?|not known|no date|none|n/a|\?+|-+|x{4}|\.\./\.\.|/",
            "An unknown date is left blank.",
        ),
        (r"[0-9]x{3}.*", "At most the decade or the century may be left open: 190X, 19XX."),
        (r"-[0-9]+|y-?[0-9]+|-?[0-9]{6,7}|[0-9]+ ?b\.?c\.?(?:e\.?)?", "Years run from 0000 to 9999 here."),
        (
            r"[0-9]{1,2}[/. -](?:[0-9]{1,2}|[a-z]{3,9})[/. -]'?[0-9]{2}|'[0-9]{2}|[a-z]{3,9}[. -]+'?[0-9]{2}",
            "A year of two digits leaves the century open: write all four.",
        ),
    )
)
_ABOUT = ((re.compile(r"(?:circa|ca?|about|abt|approximately|approx|around)(?:\b|(?=\d))\.? ?(?P<rest>.+)"), "{}~"),)
_PREFIXES = (
    (re.compile(r"(?P<rest>.+?) ?(?:\?~|~\?)"), "{}%"),
    (re.compile(r"(?P<rest>.+?) ?(?:approximately|approx|circa|ca|~)\.?"), "{}~"),
    (re.compile(r"(?:probably|possibly|perhaps|prob|poss|maybe)\b\.? ?(?P<rest>.+)"), "{}?"),
    (re.compile(r"[?] ?(?P<rest>[^?]+)"), "{}?"),
    (re.compile(r"(?P<rest>.+?) ?(?:\?|\(\?\))"), "{}?"),
    (re.compile(r"(?:before|by|pre|until|not after)\b[ -]?(?P<rest>.+)"), "[..{}]"),
    (re.compile(r"(?:after|post|not before)\b[ -]?(?P<rest>.+)"), "[{}..]"),
    (re.compile(r"(?:since|from)\b ?(?P<rest>.+)"), "{}/.."),
    (re.compile(r"(?P<rest>.+?) ?(?:-|/|to|onwards?) ?(?:open|now|present|today|onwards?|date)"), "{}/.."),
    (re.compile(r"(?P<rest>[0-9]{4}) ?[-+]"), "{}/.."),
    (re.compile(r"(?:unknown|open) ?(?:/|-|to) ?(?P<rest>.+)"), "/{}"),
    (re.compile(r"(?P<rest>.+?) ?(?:/|-|to) ?(?:unknown|\?)"), "{}/"),
)
_PAIRS = (
    (re.compile(r"between (.+?) (?:and|-|to) (.+)"), "[{}..{}]"),
    (re.compile(r"([^,\[{]+?) or ([^,]+)"), "[{}..{}]"),
    (re.compile(r"\[(.+?)(?: ?, ?.+)? ?(?:,|\.\.) ?(.+)\]"), "[{}..{}]"),
    (re.compile(r"\{(.+?)(?: ?, ?.+)? ?(?:,|\.\.) ?(.+)\}"), "{}/{}"),
    (re.compile(r"(?:from )?(.{4,}?) ?(?:to|until|till|/|\.\.) ?(.{4,})"), "{}/{}"),
    (re.compile(r"(.{4,}?) ?- ?([^-]{4,})"), "{}/{}"),
)


def _likely(plain: str, depth: int = 0) -> list[str]:
    """Every EDTF form that a plain-language date may mean; some of them may not be valid dates."""
    if _is_date(exact := plain.upper().replace(" ", "")):
        years = re.fullmatch(r"([0-9]{2})([0-9]{2})-([0-9]{2})", plain)
        if years and depth and years[3] > years[2]:
            return [exact, f"{years[1]}{years[2]}/{years[1]}{years[3]}"]
        return [exact]
    if (single := _likely_single(plain)) or depth > 2:
        return single
    if about := _likely_marked(plain, depth, _ABOUT):
        return about
    for pattern, form in _PAIRS:
        if (match := pattern.fullmatch(plain)) is not None:
            starts, ends = (_likely(side, depth + 1) for side in match.groups())
            found = [form.format(a, b) for a in starts for b in ends if not {"/", "["} & {*a, *b}]
            if any(map(_is_date, found)):
                return found
    return _likely_marked(plain, depth, _PREFIXES)


def _likely_marked(plain: str, depth: int, forms: tuple[tuple[re.Pattern[str], str], ...]) -> list[str]:
    for pattern, form in forms:
        if (match := pattern.fullmatch(plain)) is not None:
            found = [_put(form, rest) for rest in _likely(match["rest"], depth + 1)]
            if any(map(_is_date, found)):
                return found
    return []


def _put(form: str, rest: str) -> str:
    """Puts one date, or both ends of an interval, into a form."""
    mark = form[-1]
    if mark in "?~%":
        ends = (end if end in ("", "..") else end.rstrip("?~%") + mark for end in rest.split("/"))
        return "/".join(ends)
    return form.format(rest)


def _likely_single(plain: str) -> list[str]:
    def match(pattern: str) -> re.Match[str] | None:
        return re.fullmatch(pattern, plain)

    if found := match(r"([0-9]{4}(?:-(?!00)[0-9]{2})?)(?:-00){1,2}"):
        return [found[1]]
    if found := match(r"([0-9]{4})(?:\.0+| ?a\.?d\.?| ?ce)"):
        return [found[1]]
    if found := match(r"([0-9]{4})([0-9]{2})([0-9]{2})|([0-9]{4})[/. -]([0-9]{1,2})[/. -]([0-9]{1,2})"):
        year, month, day = (part for part in found.groups() if part)
        return [_dashed(year, month, day)]
    if found := match(r"([0-9]{4}-[0-9]{2}-[0-9]{2})[ t][0-9:.]+(?:z|[+-][0-9:]+)?"):
        return [found[1]]
    if found := match(r"([0-9]{1,2})[/. -]([0-9]{1,2})[/. -]([0-9]{4})"):
        return [_dashed(found[3], found[2], found[1]), _dashed(found[3], found[1], found[2])]
    if found := match(r"([0-9]{1,2})[/. -]([0-9]{4})"):
        return [_dashed(found[2], found[1])]
    if found := match(r"([0-9]{2})([0-9]{2})[/. -]([0-9]{1,2})"):
        until = f"{found[1]}{found[3]}" if len(found[3]) == 2 else f"{found[1]}{found[2][0]}{found[3]}"
        return [_dashed(found[1] + found[2], found[3]), f"{found[1]}{found[2]}/{until}"]
    if found := match(rf"(?:{_NUMBERED}[ -]?(?:of )?)?{_NAME},?[ -]?(?P<year>[0-9]{{4}})"):
        return _named(found["year"], found["name"], found["day"])
    if found := match(rf"{_NAME} {_NUMBERED},? (?P<year>[0-9]{{4}})"):
        return _named(found["year"], found["name"], found["day"])
    if found := match(rf"(?P<year>[0-9]{{4}})[ -]{_NAME}(?:[ -](?P<day>[0-9]{{1,2}}))?"):
        return _named(found["year"], found["name"], found["day"])
    if found := match(_PART_OF + r"([0-9]{3})0'?s"):
        century = [f"{found[1][:2]}XX"] if found[1].endswith("0") else []
        return [f"{found[1]}X", *century]
    if found := match(_PART_OF + r"([0-9]{1,2})(?:st|nd|rd|th) ?(?:century|cent\.?|c\.?)"):
        return [f"{int(found[1]) - 1:02d}XX"]
    if found := match(r"([0-9]{2})([0-9])?[xu*_.?-]{1,2}(~?)"):
        return [f"{found[1]}{found[2] or 'X'}X{found[3]}"]
    if (found := match(r"([0-9]{4})([?~%]?)-([0-9]{2})([?~%]?)(?:-([0-9]{2})([?~%]?))?")) is not None:
        marks = {mark for mark in (found[2], found[4], found[6]) if mark}
        mark = marks.pop() if len(marks) == 1 else "%"
        return [_dashed(found[1], found[3], found[5]) + mark]
    return []


def _dashed(year: str, *parts: str | None) -> str:
    return "-".join([year, *(f"{int(part):02d}" for part in parts if part)])


def _named(year: str, name: str, day: str | None) -> list[str]:
    if name in _SEASONS and day is None:
        return [f"{year}-{_SEASONS[name]}"]
    return [_dashed(year, str(number), day) for month, number in _MONTHS.items() if month.startswith(name)]
