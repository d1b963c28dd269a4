"""One cell read: what a person wrote becomes the value that is stored, or a sentence says why it cannot.

The same rules hold for a cell of a sheet and for `correct … column=value`. What the text refers to is not
looked up here, and a blank is no fault here: whoever reads a row knows what it needs.
"""

from __future__ import annotations

import enum
import math
import re
import unicodedata
from typing import Final

from collection import agents, dates, numbers, reference, words
from collection.columns import LONGEST_CODE, LONGEST_TEXT, Column
from collection.errors import BadValue


class Clear(enum.Enum):
    """The type of `CLEAR`."""

    CLEAR = "not recorded"


CLEAR: Final = Clear.CLEAR
"""What the words `not recorded` are read as: the stored value is to be cleared."""
NOT_RECORDED = "not recorded"
Value = str | float | int | None | Clear

EVERYWHERE = "all"
LONGEST_FILE = 255
LONGEST_NUMBER = 1e9
FEWEST_POINTS = 3

# Category Cc without tab and line ends, lone surrogates, noncharacters, line and paragraph separators, and the
# signs that turn the direction of reading, which make a text look like another one.
_HOSTILE = re.compile(
    "[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\ud800-\udfff\ufdd0-\ufdef\ufffe\uffff"
    "\u061c\u200e\u200f\u202a-\u202e\u2066-\u2069\u2028\u2029]"
)
_DRIVE = re.compile(r"[A-Za-z]:")
_COORDINATE = r"[+-]?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][+-]?[0-9]{1,3})?"
_POINTS = re.compile(rf"{_COORDINATE}(?:(?:\s*,\s*|\s+){_COORDINATE})*")
_SEPARATOR = re.compile(r"\s*,\s*|\s+")


def read_cell(column: Column, text: str, *, decimal_comma: bool = False) -> Value:
    """The stored value of a cell; None for a blank one, `CLEAR` for `not recorded`.

    Text is kept after Unicode NFC and trimming. `decimal_comma` says that a comma may be the decimal mark.

    :raises BadValue: for what the column cannot hold; the message says what is allowed.
    """
    plain = clean(text)
    if not plain:
        return None
    if " ".join(plain.casefold().split()) == NOT_RECORDED:
        if column.required:
            raise BadValue(f"{column.name} is always needed, so it cannot be cleared: write what it is.")
        return CLEAR
    if column.kind == "number":
        return _in_range(column, numbers.parse_number(plain, decimal_comma=decimal_comma))
    if column.kind == "integer":
        return int(_in_range(column, numbers.parse_integer(plain)))
    return _READERS[column.kind](column, plain)


def clean(text: str) -> str:
    """The text in Unicode NFC, trimmed, its lines ending in a line feed.

    :raises BadValue: for characters that cannot be seen and do harm in a record.
    """
    if text.isascii() and text.isprintable():
        return text.strip(" ")
    hostile = _HOSTILE.search(text)
    if hostile is not None:
        sign = hostile[0]
        name = unicodedata.name(sign, "a control character")
        raise BadValue(f"The cell holds a character that cannot be seen (U+{ord(sign):04X}, {name.lower()}): "
                       "delete it, or type the cell again.")
    return unicodedata.normalize("NFC", text.replace("\r\n", "\n").replace("\r", "\n")).strip()


def code(column: Column, text: str) -> str:
    """A code as it is stored: one line, at most 80 characters, `/` only in the number of an object.

    :raises BadValue: for what is no code, and for `all` where a zone or part is named.
    """
    if len(text) > LONGEST_CODE:
        raise BadValue(f"A code has at most {LONGEST_CODE} characters; this one has {len(text)}.")
    for sign in text:
        if sign in "\n\t" or unicodedata.category(sign) == "Cf":
            raise BadValue(f"A code holds no line ends, tabs or invisible characters (U+{ord(sign):04X} here).")
    if "/" in text and not _names_object(column):
        raise BadValue("Only the number of an object may hold '/': write this code without it.",
                       text.replace("/", "-"))
    if text.casefold() == EVERYWHERE and (column.name in ("zone", "component", "parent", "within")):
        raise BadValue("'all' stands for the whole object, so no zone or part can be called so: choose another code.")
    return EVERYWHERE if column.reference == "place" and text.casefold() == EVERYWHERE else text


def points(text: str) -> list[tuple[float, float]]:
    """The corners of an outline in SVG points syntax, in drawing units.

    :raises BadValue: for anything but pairs of numbers, and for fewer than three different corners.
    """
    how = "Write the corners as x,y x,y x,y in drawing units."
    if _POINTS.fullmatch(text) is None:
        raise BadValue(f"This is no outline. {how}")
    found = [float(part) for part in _SEPARATOR.split(text)]
    if len(found) % 2:
        raise BadValue(f"The last corner has no y: there are {len(found)} numbers. {how}")
    if any(not math.isfinite(number) or abs(number) > LONGEST_NUMBER for number in found):
        raise BadValue(f"A corner lies beyond {LONGEST_NUMBER:g} drawing units. {how}")
    corners = list(zip(found[::2], found[1::2], strict=True))
    if len(set(corners)) < FEWEST_POINTS:
        raise BadValue(f"An outline has at least {FEWEST_POINTS} different corners; this one has "
                       f"{len(set(corners))}. {how}")
    return corners


def coat(text: str) -> tuple[str, str | None]:
    """A scheme, or a scheme and the role of one of its coats: `2`, `1/varnish`.

    :raises BadValue: for more parts, a blank part or an unknown role.
    """
    scheme, slash, role = (part.strip() for part in text.partition("/"))
    if not scheme or (slash and not role) or "/" in role:
        raise BadValue("Write a scheme, or a scheme and a role: 2, or 1/varnish.")
    return scheme, words.ROLE.read(role) if role else None


def _names_object(column: Column) -> bool:
    return column.name == "object" or column.reference == "objects"


def _text(column: Column, text: str) -> str:
    if len(text) > LONGEST_TEXT:
        raise BadValue(f"A text has at most {LONGEST_TEXT} characters; this one has {len(text)}: keep the whole as a "
                       "file among the sources.")
    return text


def _person(column: Column, text: str) -> str:
    return _text(column, " ".join(text.split()))


def _word(column: Column, text: str) -> str:
    assert column.words is not None
    try:
        return column.words.read(text)
    except BadValue:
        if not column.words.open_list or " ".join(text.casefold().split()) in column.words.asks:
            raise
    if len(text) > LONGEST_CODE:
        raise BadValue(f"A word for {column.words.name} has at most {LONGEST_CODE} characters.")
    if "/" in text:
        raise BadValue(f"A word for {column.words.name} holds no '/'.", text.replace("/", " or "))
    return " ".join(text.split())


def _date(column: Column, text: str) -> str:
    dates.bounds(text)
    return text


def _agent(column: Column, text: str) -> str:
    agents.parse(text, reference.packaged().solvents)
    return text


def _coat(column: Column, text: str) -> str:
    scheme, role = coat(text)
    if len(scheme) > LONGEST_CODE:
        raise BadValue(f"A code has at most {LONGEST_CODE} characters.")
    return f"{scheme}/{role}" if role else scheme


def _points(column: Column, text: str) -> str:
    points(_text(column, text))
    return text


def _file(column: Column, text: str) -> str:
    how = "Name a file that lies in the package, with / between folders: pictures/front.jpg."
    if len(text) > LONGEST_FILE:
        raise BadValue(f"A file's name has at most {LONGEST_FILE} characters. {how}")
    if "\\" in text:
        raise BadValue(how, text.replace("\\", "/"))
    if text.startswith("/") or _DRIVE.match(text) or ".." in text.split("/") or "\n" in text:
        raise BadValue(f"The file must lie in the package. {how}")
    return text


_READERS = {"code": code, "word": _word, "text": _text, "person": _person, "date": _date, "agent": _agent,
            "coat": _coat, "points": _points, "file": _file}


def _in_range(column: Column, value: float) -> float:
    low, high, unit = column.low, column.high, f" {column.unit}" if column.unit else ""
    if (low is not None and value < low) or (high is not None and value > high):
        span = (f"{low:g} to {high:g}" if low is not None and high is not None
                else f"at least {low:g}" if low is not None else f"at most {high:g}")
        raise BadValue(f"{column.name} is {span}{unit}; {value:g} lies outside.")
    # SQLite keeps no negative zero.
    return value + 0.0 if isinstance(value, float) else value
