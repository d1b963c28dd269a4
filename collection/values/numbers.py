"""Reads one cell as a number: sign, digits, one decimal mark, exponent, and nothing else.

A point is the decimal mark. A comma is one only where the file says so, and is refused before exactly three digits,
where it may just as well separate thousands: a thickness of 1,234 µm and one of 1.234 µm differ by the whole coat.
Where a comma may be the decimal mark, a point may separate thousands, so `1.200` is refused there in the same way.
In a CSV file with commas between its cells it is 1.2: whatever wrote that file has the point for its decimal mark.
"""

from __future__ import annotations

import math
import re

from collection.language.errors import BadValue

LONGEST_NUMBER = 40
LARGEST_INTEGER = 2**63 - 1
"""What SQLite keeps exactly."""

HOW = "Write digits with one decimal point and no unit, such as 12.5 or -3 or 2.1e-3."
HOW_WHOLE = "Write a whole number in digits, such as 12."

_NUMBER = re.compile(r"[+-]?(?:[0-9]+(?:[.,][0-9]+)?|[.,][0-9]+)(?:[eE][+-]?[0-9]{1,4})?")
_THOUSANDS = re.compile(r"[+-]?[0-9]+,[0-9]{3}(?![0-9]).*")
_POINTED_THOUSANDS = re.compile(r"[+-]?[1-9][0-9]{0,2}\.[0-9]{3}")
"""No group of thousands begins with 0 or has over three digits before it, so 0.125 and 1234.567 leave no doubt."""
_INTEGER = re.compile(r"[+-]?[0-9]+")
_GROUPED = re.compile(
    r"([+-]?[0-9]{1,3})((?P<mark>[ _'’.,\u00a0\u202f])[0-9]{3}(?:(?P=mark)[0-9]{3})*)((?:[.,][0-9]+)?)"
)
_WITH_UNIT = re.compile(r"[+-]?[0-9]+(?:[.,][0-9]+)?\s*(?!e[0-9]|x)[a-zµμ%°][a-zµμ%°/. ]*[²³23]?", re.I)
_SIGNS = str.maketrans({"−": "-", "–": "-", "‐": "-", "‑": "-", "＋": "+"})


def parse_number(text: str, *, decimal_comma: bool) -> float:
    """The number in a cell; `decimal_comma` says that in this file a comma may be the decimal mark.

    :raises BadValue: for anything but sign, digits, one decimal mark and exponent; for a comma where it is no decimal
        mark; for a mark that may separate thousands; for a number too large or too small to keep.
    """
    written = text.strip()
    if len(written) > LONGEST_NUMBER or _NUMBER.fullmatch(written) is None:
        raise _refusal(written)
    if "," in written:
        _check_comma(written, decimal_comma)
    elif decimal_comma and _POINTED_THOUSANDS.fullmatch(written):
        raise _ambiguous("point", written, decimal_comma)
    value = float(written.replace(",", "."))
    if math.isinf(value):
        raise BadValue("This number is too large to keep (beyond 1.8e308).")
    if value == 0 and re.search(r"[1-9]", re.split("[eE]", written)[0]):
        raise BadValue("This number is too small to keep and would become 0 (below 5e-324).")
    return value


def parse_integer(text: str) -> int:
    """The whole number in a cell.

    :raises BadValue: for anything but sign and digits, or beyond what the database keeps exactly.
    """
    written = text.strip()
    if _INTEGER.fullmatch(written) is None or len(written) > LONGEST_NUMBER:
        # 1.000 and 1,000 may be one or a thousand.
        whole = re.fullmatch(r"([+-]?[0-9]{1,18})(?:\.0{1,2}|\.0{4,}|,00?)", written)
        nearest = whole[1] if whole else _meant(written)
        if nearest is not None and _INTEGER.fullmatch(nearest) is None:
            nearest = None
        raise BadValue(HOW_WHOLE, nearest)
    value = int(written)
    if abs(value) > LARGEST_INTEGER:
        raise BadValue("This whole number is too large to keep (at most 18 digits are certain).")
    return value


def six(x: float) -> float:
    """The number rounded to 6 significant digits, as every stored and printed figure is; -0.0 becomes 0.0.

    :raises ValueError: for nan and infinity, which no figure may be.
    """
    if not math.isfinite(x):
        raise ValueError(f"{x} is no figure: a computed value has to be finite")
    return float(f"{x:.6g}") + 0.0


def _check_comma(written: str, decimal_comma: bool) -> None:
    if _THOUSANDS.fullmatch(written):
        raise _ambiguous("comma", written, decimal_comma)
    if not decimal_comma:
        pointed = written.replace(",", ".")
        raise BadValue(
            f"In this file a comma is no decimal mark: write {pointed}, or save the sheet with semicolons or "
            "tabs between its columns.",
            pointed,
        )


def _ambiguous(mark: str, written: str, decimal_comma: bool) -> BadValue:
    """The refusal of a number with three digits after its mark; either reading that it offers is taken in this file."""
    decimal, thousands = written.replace(",", "."), re.sub("[,.]", "", written)
    if decimal_comma and _POINTED_THOUSANDS.fullmatch(decimal):
        decimal += "0"
    return BadValue(f"A {mark} before three digits may mark decimals or thousands: write {decimal} or {thousands}.")


def _refusal(written: str) -> BadValue:
    if not written:
        return BadValue(f"A blank cell is no number. {HOW}")
    if len(written) > LONGEST_NUMBER:
        return BadValue(f"This is too long for a number. {HOW}")
    plain = written.translate(_SIGNS)
    if re.fullmatch(r"[+-]?(?:nan|inf|infinity)", plain, re.IGNORECASE):
        return BadValue(f"A value that was not measured is left blank. {HOW}")
    if re.search(r"[<>≤≥±~≈]|[0-9]\s*(?:-|\.\.|/|to)\s*[0-9]", plain):
        return BadValue(
            f"A cell holds one number: limits and ranges have columns of their own, or belong in notes. {HOW}"
        )
    if _WITH_UNIT.fullmatch(plain):
        # No nearest value: 0.5 mm in a column of micrometres is not 0.5.
        return BadValue(f"The column has its own unit, so none is written: convert to it. {HOW}")
    return BadValue(HOW, _meant(written))


def _meant(written: str) -> str | None:
    """The number that a frequent slip stands for, where only one reading is likely."""
    plain = written.translate(_SIGNS)
    if plain != written and _NUMBER.fullmatch(plain) and "," not in plain:
        return plain
    if re.fullmatch(r"[+-]?[0-9]+\.", plain):
        return plain[:-1]
    if (grouped := _GROUPED.fullmatch(plain)) is not None and not _one_mark(grouped):
        return grouped[1] + re.sub("[^0-9]", "", grouped[2]) + grouped[4].replace(",", ".")
    return None


def _one_mark(grouped: re.Match[str]) -> bool:
    """Whether the only mark is one comma or point, which may be the decimal mark."""
    return grouped["mark"] in ",." and len(grouped[2]) == 4 and not grouped[4]
