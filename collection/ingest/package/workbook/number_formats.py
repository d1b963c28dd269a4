"""Number formats of a workbook: what a person sees of a number, and which day a date cell shows.

Source: ECMA-376 Part 1 (Office Open XML, also ISO/IEC 29500-1), 18.8.30 and 18.8.31 for formats, 18.17.4.1 for
the two date systems.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import Enum

from openpyxl.styles.numbers import builtin_format_code

from collection.language.errors import BadValue


class Look(Enum):
    """How a format shows a number."""

    PLAIN = "as it is"
    PERCENT = "as a percentage"
    SCALED = "in thousands"
    UNIT = "with a unit or words"
    HIDDEN = "not at all"
    DATE = "as a date"
    LOCAL = "as a date in a way that depends on the language"


@dataclass(frozen=True, slots=True)
class Shown:
    """What a format shows; the last four say which parts of a date."""

    look: Look
    year: bool = False
    month: bool = False
    day: bool = False
    clock: bool = False


PLAIN = Shown(Look.PLAIN)
# Built-in formats that show another date in every language (18.8.30).
_LOCAL = frozenset({*range(27, 37), *range(50, 59)})

_LITERAL = re.compile(r'"([^"]*)"|\\(.)|_.|\*.')
_ELAPSED = re.compile(r"\[(h+|m+|s+)\]", re.I)
_BRACKETS = re.compile(r"\[[^\]]*\]")
_NOON = re.compile(r"AM/PM|A/P", re.I)
_SCIENCE = re.compile(r"E[+-]", re.I)
_SCALING = re.compile(r"[0#?],+(?![0#?,])")
_DATE_PARTS = re.compile(r"y+|m+|d+|h+|s+|e+|b+|g+", re.I)


def shown(number: int, code: str | None) -> Shown:
    """What the format with this number shows; `code` is its own code where the workbook declares one."""
    if code is None:
        if number in _LOCAL:
            return Shown(Look.LOCAL)
        code = builtin_format_code(number) or "General"
    sections = [_section(part) for part in _split(code)[:3]]
    for section in sections:
        if section is not None and section.look is not Look.PLAIN:
            return section
    return Shown(Look.HIDDEN) if None in sections else PLAIN


def _split(code: str) -> list[str]:
    """The sections of a format, apart at semicolons that are no literals."""
    parts, here = [], ""
    for piece in re.findall(r'"[^"]*"|\\.|_.|\*.|;|.', code, re.S):
        if piece == ";":
            parts.append(here)
            here = ""
        else:
            here += piece
    return [*parts, here]


def _section(text: str) -> Shown | None:
    """What one section shows; None where it shows nothing."""
    words = "".join(found[1] or found[2] or "" for found in _LITERAL.finditer(text))
    rest = _LITERAL.sub("", text)
    elapsed = _ELAPSED.search(rest) is not None
    rest = _BRACKETS.sub("", _ELAPSED.sub("", rest))
    if not rest.strip() and not words.strip() and not elapsed:
        return None
    if re.fullmatch(r"\s*(?:general|standard|@)?\s*", rest, re.I) and not elapsed:
        return Shown(Look.UNIT) if any(map(str.isalpha, words)) else PLAIN
    if "%" in rest or "%" in words:
        return Shown(Look.PERCENT)
    clock = elapsed or _NOON.search(rest) is not None
    rest = _SCIENCE.sub("", _NOON.sub("", rest))
    dated = _dated(rest, clock)
    if dated is not None:
        return dated
    if _SCALING.search(rest):
        return Shown(Look.SCALED)
    return Shown(Look.UNIT) if any(map(str.isalpha, words)) else PLAIN


def _dated(rest: str, clock: bool) -> Shown | None:
    tokens = [token[0].lower() for token in _DATE_PARTS.findall(rest)]
    if not tokens and not clock:
        return None
    month = False
    for place, token in enumerate(tokens):
        # 18.8.31: m is minutes right after h or right before s.
        minutes = tokens[place - 1 : place] == ["h"] or tokens[place + 1 : place + 2] == ["s"]
        month = month or (token == "m" and not minutes)
    if "b" in tokens or "e" in tokens or "g" in tokens:
        return Shown(Look.LOCAL)
    return Shown(Look.DATE, "y" in tokens, month, "d" in tokens, clock or bool({"h", "s"} & set(tokens)))


_NO_DAY = (
    "This number is formatted as a date and stands for no day: a spreadsheet knows none before 1900, nor 29 "
    "February 1900. Format the cell as text and write the date."
)
LAST_SERIAL = 2_958_465
"""31 December 9999 where days count from 1900."""


def moment(serial: float, base_1904: bool) -> datetime:
    """The day and time, to the second, that a date cell shows.

    Where days count from 1900, 1 is 1 January 1900 and 60 a 29 February 1900 that never was; where they count
    from 1904, 0 is 1 January 1904 (18.17.4.1).

    :raises BadValue: for a number that stands for no day.
    """
    if not 0 <= serial < LAST_SERIAL + 1:
        raise BadValue(_NO_DAY)
    days, seconds = divmod(round(serial * 86_400), 86_400)
    if base_1904:
        if not 0 <= days <= LAST_SERIAL - 1462:
            raise BadValue(_NO_DAY)
        first = datetime(1904, 1, 1)
    else:
        if not 1 <= days <= LAST_SERIAL or days == 60:
            raise BadValue(_NO_DAY)
        first = datetime(1899, 12, 30) if days > 60 else datetime(1899, 12, 31)
    return first + timedelta(days=days, seconds=seconds)


def as_seen(when: datetime, seen: Shown) -> str:
    """The date in ISO 8601 as exactly as the cell shows it: no day, month or hour is kept that nobody sees.

    :raises BadValue: where the cell shows no year, which the spreadsheet then made up, or no date at all.
    """
    if not (seen.year or seen.month or seen.day):
        raise BadValue("This cell holds a time of day, not a date. Format it as text and write the date.")
    if not seen.year or (seen.day and not seen.month):
        raise BadValue(
            f"This cell shows no whole date; the spreadsheet added what is missing ({when.date()}). Format "
            "it as text and write the date."
        )
    if not seen.month:
        return f"{when.year:04d}"
    if not seen.day:
        return f"{when.year:04d}-{when.month:02d}"
    timed = seen.clock and (when.hour or when.minute or when.second)
    return when.isoformat(timespec="seconds") if timed else when.date().isoformat()
