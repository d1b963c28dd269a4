"""The words of a list's dates, and what a mapping may say of forms that have more than one meaning."""

from __future__ import annotations

import calendar
import unicodedata
from dataclasses import dataclass

FROM_TO, BETWEEN = "from to", "some time between"
RANGES = (FROM_TO, BETWEEN)
DAY_FIRST, MONTH_FIRST = "day first", "month first"
DAYS = (DAY_FIRST, MONTH_FIRST)
THAT_YEAR, OPEN_END = "that year", "open"
BLANK_ENDS = (THAT_YEAR, OPEN_END)
THE_YEAR, THE_DAY = "the year", "the day"
NEW_YEARS = (THE_YEAR, THE_DAY)

Pairs = tuple[tuple[str, str], ...]
"""A table whose order does not matter, as pairs, so that the words of a list can be compared and hashed."""


@dataclass(frozen=True, slots=True)
class DateWords:
    """The words of a list's dates. Words given by a mapping stand in place of these, which are the English ones.

    The first five say what a form means that has two meanings; None leaves it to the other cells of the column, and
    where they do not tell, the wider meaning is read or none (`columns.py`).
    """

    ranges: str = BETWEEN
    """What 1890-1910 means: from the one to the other, or some time between them."""
    short_years: bool | None = None
    """Whether 1901-05 is a range of years (True) or a month (False)."""
    days: str | None = None
    """Which comes first in 3.5.1910."""
    blank_end: str | None = None
    """What one year means beside a blank second year: that year, or that the end is open."""
    new_year: str | None = None
    """Whether 1905-01-01 and 1905-12-31 stand for the year or for the day."""
    about: tuple[str, ...] = (
        "circa",
        "ca.",
        "ca",
        "c.",
        "c",
        "about",
        "around",
        "approximately",
        "approx.",
        "approx",
        "~",
    )
    uncertain: tuple[str, ...] = (
        "?",
        "(?)",
        "probably",
        "possibly",
        "perhaps",
        "maybe",
        "presumably",
        "prob.",
        "poss.",
    )
    before: tuple[str, ...] = (
        *("before", "by", "until", "up to", "pre", "pre-", "prior to", "earlier than"),
        *("not after", "not later than", "no later than", "or earlier", "and earlier", "or before"),
    )
    after: tuple[str, ...] = (
        *("after", "post", "post-", "later than", "not before", "not earlier than", "no earlier than"),
        *("or later", "and later", "or after", "and after"),
    )
    since: tuple[str, ...] = ("from", "since", "onwards", "onward")
    between: tuple[str, ...] = ("between",)
    to: tuple[str, ...] = ("-", "to", "until", "till", "through", "and", "&")
    either: tuple[str, ...] = ("or",)
    decade: tuple[str, ...] = ("s", "'s")
    century: tuple[str, ...] = ("century", "centuries", "cent.", "cent", "c.", "c")
    """Words behind the number of a century; st, nd, rd, th or a point may stand between."""
    before_century: tuple[str, ...] = ("s.", "saec.", "saeculo")
    """Words before the number of a century."""
    months: tuple[str, ...] = tuple(calendar.month_name[1:])
    """January to December; three letters of a name are enough."""
    seasons: tuple[str, ...] = ("spring", "summer", "autumn", "winter")
    no_date: tuple[str, ...] = (
        *("n.d.", "n. d.", "nd", "no date", "undated", "not dated", "date unknown", "unknown", "unknown date"),
        *("not known", "s.d.", "s. d.", "?", "??", "-"),
    )
    """Words that say that nobody knows."""
    parts: Pairs = ()
    """Words for a part of a century, each with the English one that it stands for: ("Anfang", "beginning")."""
    phrases: Pairs = ()
    """Phrases that no rule reads, each with the EDTF that it stands for: ("Victorian", "1837/1901")."""
    by_column: frozenset[str] = frozenset()
    """Which of the first five the other cells of the column have settled, not the mapping."""


@dataclass(frozen=True, slots=True)
class Reading:
    """The EDTF of a cell, or of a word and two years, or None with the sentence why it is not read.

    `notes` say what was decided where it could have been read in another way.
    """

    edtf: str | None
    notes: tuple[str, ...] = ()
    why: str | None = None
    says_nothing: bool = False
    """Whether the list says that there is no date."""


# What is decided where a form has more than one meaning, as the report names it, and how a mapping says otherwise.
OPEN_AT_END = "left open at one end, because the other year is blank"
OPEN_BY_SHAPE = (
    "left open at its end, because the second year is blank and most single years of the list stand in both columns "
    '(blank_end = "that year" reads it as that year)'
)
ONE_YEAR = 'one year beside a blank second one is that year (blank_end = "open" leaves its end open)'
LIMIT_OF_TWO = "before or after two years is left open on its side"
NO_SECOND_YEAR = "left open at its end, because no year follows the dash"
MAY_BE_MONTH = (
    "a year and two digits may be a month or a shortened second year, and is read as years, which hold the month "
    "(short_years = false reads a month)"
)
IS_MONTH = (
    "a year and two digits is read as a month, because other cells of the column can only be months "
    "(short_years = true reads years)"
)
DAY_ORDER = "day and month are told apart by other cells of the column (days says it otherwise)"
NEW_YEAR = '1 January and 31 December are read as the whole year (new_year = "the day" keeps the day)'
HUNDRED = "1800s and its like may be ten years or a hundred, and are read as the hundred"
ALL_OF_IT = "early, mid or late in a year or in ten is read as all of it"
WORDS_PASSED_OVER = "the words were not understood, and the two years beside them were taken"

_DASHES = str.maketrans("‐‑‒–—−’‘ʼ", "------'''")


def plain(text: str) -> str:
    """A text as dates are compared: small letters, one kind of dash and of apostrophe, single blanks."""
    return " ".join(unicodedata.normalize("NFKC", text).casefold().translate(_DASHES).split())
