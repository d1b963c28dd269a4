"""What the cells of a column tell about forms that have more than one meaning.

Only what the mapping leaves unsaid is settled here, and only where the cells that can be read in one way alone speak
for one meaning; else the wider one is read. Every cell that a decision touches is noted in the report.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import replace
from typing import Any

from collection.ingest.mapping.dates.words import (
    DAY_FIRST,
    MONTH_FIRST,
    OPEN_END,
    THAT_YEAR,
    THE_YEAR,
    DateWords,
    plain,
)

FEWEST = 3
"""Cells that have to speak for a meaning. Common practice, no published source."""
NEW_YEARS_IN = 20
"""One day in so many may be 1 January or 31 December and still be a day, where one in 180 is by chance. Common
practice, no published source."""

_PAIR = re.compile(r"[0-9]{2}([0-9]{2})-([0-9]{2})")
_SHORT_YEAR = re.compile(r"(?<![0-9])[0-9]{4}-[0-9](?![0-9])")
_YEAR_FIRST = re.compile(r"(?<![0-9])[0-9]{4}-([0-9]{2})-([0-9]{2})(?![0-9])")
_YEAR_LAST = re.compile(r"(?<![0-9])([0-9]{1,2})[./-] ?([0-9]{1,2})[./-] ?[0-9]{4}(?![0-9])")


def settled(words: DateWords, texts: Iterable[str]) -> DateWords:
    """The words with what the texts of one column settle."""
    months = short_years = day_first = month_first = days = new_years = 0
    for text in map(plain, texts):
        if (pair := _PAIR.fullmatch(text)) is not None:
            months += int(pair[2]) <= min(12, int(pair[1]))
            short_years += int(pair[2]) > max(12, int(pair[1]))
        short_years += _SHORT_YEAR.search(text) is not None
        for found in _YEAR_FIRST.finditer(text):
            days += 1
            new_years += found.groups() in (("01", "01"), ("12", "31"))
        for found in _YEAR_LAST.finditer(text):
            first, second = int(found[1]), int(found[2])
            day_first += first > 12
            month_first += second > 12
            days += 1
            new_years += (first, second) in ((1, 1), (31, 12), (12, 31))
    if words.short_years is None and months >= FEWEST and not short_years:
        words = _settle(words, "short_years", False)
    if words.days is None and bool(day_first) != bool(month_first) and day_first + month_first >= FEWEST:
        words = _settle(words, "days", DAY_FIRST if day_first else MONTH_FIRST)
    if words.new_year is None and new_years * NEW_YEARS_IN > days:
        words = _settle(words, "new_year", THE_YEAR)
    return words


def blank_end(words: DateWords, pairs: Iterable[tuple[str, str]]) -> DateWords:
    """The words with what one year beside a blank second one is.

    Where a list gives most single years twice, a blank second year is one that nobody knew, and the end is open; where
    it gives a second year only for ranges, the one year is the date.
    """
    if words.blank_end is not None:
        return words
    alone = twice = 0
    for earliest, latest in pairs:
        alone += bool(earliest) and not latest
        twice += bool(earliest) and plain(earliest) == plain(latest)
    return _settle(words, "blank_end", OPEN_END if twice > alone else THAT_YEAR)


def _settle(words: DateWords, name: str, value: object) -> DateWords:
    changes: dict[str, Any] = {name: value, "by_column": words.by_column | {name}}
    return replace(words, **changes)
