"""Centuries, and what a part of one covers: `early 19th century`, `2nd quarter of the XIX c.`

What a part covers is the guideline for approximate dates of the Syriac Reference Portal (syriaca.org/documentation/
dates.html): a half, early, mid and late are fifty years, a quarter is 25, beginning and end are 25 years and 15 of the
century beside it; round years are in both of two parts that meet. A third as 34 years, its neighbours' first and last
included, is common practice, no published source. All of these are wide, so that dates which may overlap do.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

from collection.ingest.mapping.dates.words import plain

PARTS = {
    "first half": (0, 50),
    "second half": (50, 100),
    "first third": (0, 34),
    "second third": (33, 67),
    "third third": (66, 100),
    "first quarter": (0, 25),
    "second quarter": (25, 50),
    "third quarter": (50, 75),
    "fourth quarter": (75, 100),
    "beginning": (-15, 25),
    "early": (0, 50),
    "mid": (25, 75),
    "late": (50, 100),
    "end": (75, 115),
}
"""Parts of a century: the years from its first, which ends in 00, to the part's first and last."""

_ORDINALS = {"1st": "first", "2nd": "second", "3rd": "third", "4th": "fourth", "last": "last"}
_COUNTED = {"half": ("first", "second"), "third": ("first", "second", "third")} | {
    "quarter": ("first", "second", "third", "fourth")
}
_SAME = {
    "start": "beginning",
    "middle": "mid",
    "middle third": "second third",
    "latter half": "second half",
    "close": "end",
    "very early": "early",
    "very late": "late",
}
ORDINAL = r"(?:first|second|third|fourth|last|1st|2nd|3rd|4th)"
_ORDINAL_WORDS = (
    *("first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth", "tenth", "eleventh"),
    *("twelfth", "thirteenth", "fourteenth", "fifteenth", "sixteenth", "seventeenth", "eighteenth", "nineteenth"),
    *("twentieth", "twenty-first"),
)
_NUMERALS = (
    *("i", "ii", "iii", "iv", "v", "vi", "vii", "viii", "ix", "x", "xi", "xii", "xiii", "xiv", "xv", "xvi", "xvii"),
    *("xviii", "xix", "xx", "xxi"),
)
_ROMAN = {numeral: number for number, numeral in enumerate(_NUMERALS, 1)}
_ANY_ROMAN = "|".join(sorted(_ROMAN, key=len, reverse=True))
LONE_ROMAN = frozenset(numeral for numeral, number in _ROMAN.items() if number > 10)
"""Numerals that are a century without a word beside them; a lone V or X may be anything."""


class Centuries:
    """Turns the ways to write a century into one, `19th century`, and reads it."""

    def __init__(self, behind: Sequence[str], before: Iterable[str], parts: Iterable[tuple[str, str]]) -> None:
        # A hyphen before a bare c is one of a range: 5-c.1834.
        long, short = ([name for name in behind if (len(name.strip(" .")) > 1) is wanted] for wanted in (True, False))
        names = rf"[ -]*(?:{_any(long)})|[ ]?(?:{_any(short)})"
        end = r"(?![a-z0-9]|\.? ?[0-9])"
        number = rf"(?P<number>[0-9]{{1,2}}|\b(?:{_ANY_ROMAN}))"
        self._behind = re.compile(rf"(?<![0-9]){number}(?:st|nd|rd|th|e|\.)?(?:{names}){end}")
        self._before = re.compile(
            rf"(?<![a-z0-9])(?:(?:{_any(before)}) *(?P<numeral>{_ANY_ROMAN}|[0-9]{{1,2}})|c(?P<short>[0-9]{{1,2}})"
            r"(?:st|nd|rd|th)?)(?![a-z0-9])"
        )
        self._words = re.compile(rf"\b({'|'.join(reversed(_ORDINAL_WORDS))})(?=[ -](?:{_any(behind)}){end})")
        self._own = {plain(word): part for word, part in parts}
        own = "".join(rf"|{re.escape(word)}" for word in sorted(self._own, key=len, reverse=True))
        self._part = (
            rf"(?:{ORDINAL} (?:half|third|quarter)|latter half|middle third|very early|very late"
            rf"|{'|'.join(PARTS)}|start|middle|close{own})"
        )
        self._part_before = re.compile(rf"(?:the )?(?P<part>{self._part})(?: of)?(?: the)?[ -]+(?P<base>.+)")
        self._part_behind = re.compile(rf"(?P<base>.+?)(?:, ?| \(| )(?P<part>{self._part})\)?")

    def normal(self, text: str) -> str:
        """A plain text with every century that it names written `19th century`."""
        text = self._words.sub(lambda found: str(_ORDINAL_WORDS.index(found[1]) + 1), text)
        text = self._behind.sub(lambda found: f"{_number(found['number'])}th century", text)
        return self._before.sub(lambda found: f"{_number(found['numeral'] or found['short'])}th century", text)

    def parted(self, text: str) -> tuple[str, str] | None:
        """The part's name and what it is a part of; None where no part is named."""
        found = self._part_before.fullmatch(text) or self._part_behind.fullmatch(text)
        if found is None:
            return None
        name = self.part(found["part"])
        return None if name is None else (name, found["base"])

    def part(self, text: str) -> str | None:
        """The name of a part in PARTS for a word that stands for one."""
        text = self._own.get(text, text)
        text = _SAME.get(text, text)
        order, _, what = text.partition(" ")
        if what in _COUNTED:
            order = _ORDINALS.get(order, order)
            text = f"{_COUNTED[what][-1] if order == 'last' else order} {what}"
        return text if text in PARTS else None


def century(text: str, *, alone: bool = True) -> int | None:
    """The first year of a century, 1800 for `19th century`; `alone` wants the word or a numeral that needs none."""
    found = re.fullmatch(r"(?:the )?([0-9]{1,2})(?:st|nd|rd|th|\.)?(?P<word> century)?", text)
    if found is not None and (found["word"] or not alone):
        number = int(found[1])
    elif text in LONE_ROMAN or (not alone and text in _ROMAN):
        number = _ROMAN[text]
    else:
        return None
    return (number - 1) * 100 if number else None


def part_of_century(start: int, part: str) -> tuple[str, str]:
    """The first and the last year of a part, as EDTF."""
    first, last = (start + years for years in PARTS[part])
    return f"{max(first, 0):04d}", f"{last:04d}"


def _number(text: str) -> int:
    return _ROMAN.get(text) or int(text)


def _any(names: Iterable[str]) -> str:
    return "|".join(re.escape(plain(name)) for name in sorted(names, key=len, reverse=True)) or r"(?!)"
