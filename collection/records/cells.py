"""Reads one cell: turns what a person wrote into the value that is stored, or says in a sentence why it cannot.

The same rules hold for a cell of a sheet and for `correct … column=value`. What the text refers to is not
looked up here, and a blank is no fault here: whoever reads a row knows what it needs.
"""

from __future__ import annotations

import enum
import math
import re
import unicodedata
from collections.abc import Collection
from typing import Final

from collection.language import words
from collection.language.errors import BadValue
from collection.language.words import parts_of
from collection.records.columns import BETWEEN, LONGEST_CODE, LONGEST_TEXT, Column
from collection.values import agents, dates, numbers, reference


class Clear(enum.Enum):
    """The type of `CLEAR`."""

    CLEAR = "not recorded"


CLEAR: Final = Clear.CLEAR
"""What the words `not recorded` mean: the stored value is to be cleared."""
NOT_RECORDED = "not recorded"
Value = str | float | int | None | Clear

EVERYWHERE = "all"
LONGEST_FILE = 255
LONGEST_NUMBER = 1e9
_LISTED_HOW = "Write one, or several with ; between them: a; b."
_FILE_HOW = "Name a file that lies in the package, with / between folders: pictures/front.jpg."
FEWEST_POINTS = 3

# Category Cc without tab and line ends, lone surrogates, noncharacters, line and paragraph separators, the signs that
# turn the direction of reading, which make a text look like another one, and tags, which hide a second text in it.
_NONCHARACTERS = "".join(chr(plane << 16 | last) for plane in range(1, 17) for last in (0xFFFE, 0xFFFF))
_HOSTILE = re.compile(
    "[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\ud800-\udfff\ufdd0-\ufdef\ufffe\uffff\ufff9-\ufffb"
    "\u061c\u200e\u200f\u202a-\u202e\u2066-\u206f\u2028\u2029\U000e0000-\U000e007f" + _NONCHARACTERS + "]"
)
# Where two writings have to look different: besides category Cf what Unicode calls default ignorable (from memory,
# DerivedCoreProperties.txt), the blank pattern of Braille, and private use, which looks otherwise in every font.
_IGNORED = re.compile(
    "[\u034f\u115f\u1160\u17b4\u17b5\u180b-\u180f\u2065\u2800\u3164\ufe00-\ufe0f\uffa0\ufff0-\ufff8"
    "\ue000-\uf8ff\U000e0080-\U000e0fff\U000f0000-\U0010ffff]"
)
_JOINERS = frozenset("\u200c\u200d")
# Variants of one sign are part of how some names are written.
_IN_NAMES = _JOINERS | frozenset(map(chr, (*range(0xFE00, 0xFE10), *range(0xE0100, 0xE01F0))))
_OPENS_FORMULA = "="
_RESERVED = re.compile(
    r"(?:con|prn|aux|nul|com[0-9\u00b9\u00b2\u00b3]|lpt[0-9\u00b9\u00b2\u00b3]|conin\$|conout\$)"
    r"(?:[ .].*)?",
    re.I,
)
_NOT_IN_NAMES = re.compile(r"[<>:\"|?*\x00-\x1f\x7f]")
_CODED_STEP = re.compile(r"%(?:2e|2f|5c|00)", re.I)
_COORDINATE = r"[+-]?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][+-]?[0-9]{1,3})?"
_POINTS = re.compile(rf"{_COORDINATE}(?:(?:\s*,\s*|\s+){_COORDINATE})*")
_SEPARATOR = re.compile(r"\s*,\s*|\s+")


def is_clearing(text: str) -> bool:
    """Whether a cell says `not recorded`."""
    return " ".join(clean(text).casefold().split()) == NOT_RECORDED


def read_cell(column: Column, text: str, *, decimal_comma: bool = False) -> Value:
    """The stored value of a cell; None for a blank one, `CLEAR` for `not recorded`.

    Text is kept after Unicode NFC and trimming. `decimal_comma` says that a comma may be the decimal mark.

    :raises BadValue: for what the column cannot hold; the message says what is allowed.
    """
    plain = clean(text)
    if not plain:
        return None
    if is_clearing(plain):
        if column.required:
            raise BadValue(f"{column.name} is always needed, so it cannot be cleared: write what it is.")
        return CLEAR
    try:
        if column.kind == "number":
            return _in_range(column, numbers.parse_number(plain, decimal_comma=decimal_comma))
        if column.kind == "integer":
            return int(_in_range(column, numbers.parse_integer(plain)))
        return _READERS[column.kind](column, plain)
    except BadValue as fault:
        raise _clearer(column, plain, fault) from None


def _clearer(column: Column, text: str, fault: BadValue) -> BadValue:
    """The fault of a cell, in a clearer sentence where the column shows what was meant."""
    if " ".join(text.casefold().split()) in SAYS_NOTHING:
        unknown = "unknown" if "?" in text and column.words is not None and "unknown" in column.words.words else None
        return BadValue(
            "Every row needs this cell: write what it is."
            if column.required
            else "A blank cell says nothing: empty this one.",
            unknown,
        )
    if column.kind == "integer" and column.low is not None and column.high is not None and column.high < _FEW:
        return BadValue(
            f"Write a whole number from {column.low:g} to {column.high:g} ({column.meaning}).", fault.nearest
        )
    if column.kind == "agent" and fault.nearest is None and (alone := _UNDILUTED.sub("", text).strip()) != text:
        try:
            return BadValue(str(fault), _agent(column, alone))
        except BadValue:
            return fault
    own = _OWN_UNIT.fullmatch(text) if column.kind == "number" and column.unit else None
    if own is not None and _unit(own["unit"]) == _unit(column.unit or ""):
        return BadValue(
            f"The unit of the column is {column.unit} already: write the number alone.", own["number"].replace(",", ".")
        )
    return fault


_FEW = 10
_UNDILUTED = re.compile(r"\b100 ?%|\b(?:pure|neat|undiluted)\b", re.I)
_OWN_UNIT = re.compile(r"(?P<number>[+-]?[0-9]+(?:[.,][0-9]{1,2})?) ?(?P<unit>\D[^0-9]*[23²³]?)")
SAYS_NOTHING = frozenset({"n/a", "n.a.", "na", "nil", "-", "--", "–", "—", "?", "??", "tbd", "tbc"})
"""What people write where they have nothing to write."""


def _unit(text: str) -> str:
    return unicodedata.normalize("NFKC", text).casefold().replace("µ", "μ").replace("um", "μm").replace(" ", "")


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
        raise BadValue(
            f"The cell holds a character that cannot be seen (U+{ord(sign):04X}, {name.lower()}): "
            "delete it, or type the cell again."
        )
    return unicodedata.normalize("NFC", text.replace("\r\n", "\n").replace("\r", "\n")).strip()


def code(column: Column, text: str) -> str:
    """A code as it is stored: one line, at most 80 characters, `/` only in the number of an object.

    :raises BadValue: for what is no code, and for `all` where a zone or part is named.
    """
    if len(text) > LONGEST_CODE:
        raise BadValue(f"A code has at most {LONGEST_CODE} characters; this one has {len(text)}.")
    unseen = unseen_in(text)
    if unseen is not None:
        raise BadValue(f"A code holds no line ends, tabs or invisible characters ({unseen} here).")
    if text.startswith(_OPENS_FORMULA):
        raise BadValue(
            "A code does not begin with '=', because a spreadsheet would read it as a formula: write the code itself.",
            text.lstrip(f"{_OPENS_FORMULA} ") or None,
        )
    if "/" in text and not _names_object(column):
        raise BadValue("Only the number of an object may hold '/': write this code without it.", text.replace("/", "-"))
    if text.casefold() == EVERYWHERE and (column.name in ("zone", "component", "parent", "within")):
        raise BadValue("'all' means the whole object, so no zone or part can have it as its code: choose another.")
    return EVERYWHERE if column.reference == "place" and text.casefold() == EVERYWHERE else text


def unseen_in(text: str, but: Collection[str] = ()) -> str | None:
    """The first character that nobody sees, or that looks otherwise elsewhere, as `U+200B`; `but` are allowed."""
    if text.isascii() and text.isprintable():
        return None
    for sign in text:
        if sign not in but and (
            sign in "\n\t" or unicodedata.category(sign) == "Cf" or _IGNORED.match(sign) or _HOSTILE.match(sign)
        ):
            return f"U+{ord(sign):04X}"
    return None


def file_refusal(name: str) -> str | None:
    """Why a file of this name, with / between folders, is not taken; None where nothing is wrong with it.

    The same names are refused for files and for the cells that name them: such as lead out of the package, such as
    nobody can tell from others, and such as some computer could not keep (Windows, "Naming Files, Paths, and
    Namespaces"; from memory).
    """
    if len(name) > LONGEST_FILE:
        return f"A file's name has at most {LONGEST_FILE} characters. {_FILE_HOW}"
    unseen = unseen_in(name, _JOINERS)
    if unseen is not None:
        return (
            f"The file's name holds a character that cannot be seen or is not the same everywhere ({unseen}). Give "
            "the file a plain name."
        )
    parts = name.split("/")
    if name.startswith("/") or ".." in parts or _CODED_STEP.search(name):
        return f"The file must lie in the package. {_FILE_HOW}"
    if "\\" in name or _NOT_IN_NAMES.search(name):
        return f"A file's name holds none of < > : \" | ? * \\ and is no address. {_FILE_HOW}"
    for part in parts:
        if part in ("", "."):
            return _FILE_HOW
        if part[-1] in ". ":
            return f"A file's name does not end in a full stop or a blank, which some computers drop. {_FILE_HOW}"
        if _RESERVED.fullmatch(part):
            return f"{part[:20]!r} is the name of a device on some computers. Give the file another name."
    return None


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
        raise BadValue(
            f"An outline has at least {FEWEST_POINTS} different corners; this one has {len(set(corners))}. {how}"
        )
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
        raise BadValue(
            f"A text has at most {LONGEST_TEXT} characters; this one has {len(text)}: keep the whole as a "
            "file among the sources."
        )
    return text


def _person(column: Column, text: str) -> str:
    unseen = unseen_in(" ".join(text.split()), _IN_NAMES)
    if unseen is not None:
        raise BadValue(f"A name holds no invisible characters ({unseen} here): type it again.")
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
    unseen = unseen_in(" ".join(text.split()), _IN_NAMES)
    if unseen is not None:
        raise BadValue(f"A word for {column.words.name} holds no invisible characters ({unseen} here): type it again.")
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
    code(column, scheme)
    return f"{scheme}/{role}" if role else scheme


def _listed(column: Column, text: str) -> str:
    """The parts of the cell, each read by itself and kept once, in the order written."""
    found: dict[str, None] = {}
    for part in parts_of(_text(column, text)):
        try:
            found[_word(column, part) if column.words is not None else code(column, part)] = None
        except BadValue as fault:
            raise BadValue(f"{part!r}: {fault}", fault.nearest) from None
    if not found:
        raise BadValue(f"There is nothing between two ; in this cell. {_LISTED_HOW}")
    return BETWEEN.join(found)


def _points(column: Column, text: str) -> str:
    points(_text(column, text))
    return text


def _file(column: Column, text: str) -> str:
    refusal = file_refusal(text)
    if refusal is not None:
        relative = text.replace("\\", "/")
        raise BadValue(refusal, relative if "\\" in text and file_refusal(relative) is None else None)
    return text


_READERS = {
    "code": code,
    "word": _word,
    "text": _text,
    "person": _person,
    "date": _date,
    "agent": _agent,
    "coat": _coat,
    "list": _listed,
    "points": _points,
    "file": _file,
}


def _in_range(column: Column, value: float) -> float:
    low, high, unit = column.low, column.high, f" {column.unit}" if column.unit else ""
    if (low is not None and value < low) or (high is not None and value > high):
        span = (
            f"{low:g} to {high:g}"
            if low is not None and high is not None
            else f"at least {low:g}"
            if low is not None
            else f"at most {high:g}"
        )
        raise BadValue(f"{column.name} is {span}{unit}; {value:g} lies outside.")
    # SQLite keeps no negative zero.
    return value + 0.0 if isinstance(value, float) else value
